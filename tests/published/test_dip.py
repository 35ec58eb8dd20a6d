"""Measuring along swept ribs against true and apparent dip of structural geology.

Source: tan(apparent dip) = tan(true dip) sin(angle between the section and the strike), formula
READ; the rows are DERIVED from it. A rib swept by L from the square to the edge stands at
90 deg - L to the edge (the strike).
"""

import math

import pytest

from jiggen.geometry import measured as forms

# true dip, angle from strike, apparent dip
ROWS = [(45.0, 30.0, 26.5651), (30.0, 60.0, 26.5651), (10.0, 45.0, 7.107), (5.0, 60.0, 4.333)]

# included angle square to the edge, sweep, included angle along the rib (DERIVED)
SWEPT = [(6.0, 10.0, 5.9090), (10.0, 15.0, 9.661), (12.0, 20.0, 11.2811), (8.0, 30.0, 6.9310)]


@pytest.mark.parametrize(("true", "from_strike", "apparent"), ROWS)
def test_the_true_dip_is_found_from_the_apparent_one(
    true: float, from_strike: float, apparent: float
) -> None:
    """The rib shows less than the edge has."""
    along_rib = forms.from_skin_angles(math.radians(apparent), 0.0)
    found = forms.square(along_rib, math.radians(90.0 - from_strike))
    assert math.degrees(math.atan(found.slope_a)) == pytest.approx(true, abs=1e-3)
    assert found.slope_b == 0.0


@pytest.mark.parametrize(("true", "sweep", "along_rib"), SWEPT)
def test_included_angles_along_the_rib_are_turned_square_to_the_edge(
    true: float, sweep: float, along_rib: float
) -> None:
    """Half the included angle to each side, each by the dip relation."""
    found = forms.square(forms.from_included_angle(math.radians(along_rib)), math.radians(sweep))
    assert math.degrees(2 * math.atan(found.slope_a)) == pytest.approx(true, abs=6e-4)
