"""Taper rates and included angles against machine-shop tables and worked examples."""

import math

import pytest

from jiggen.geometry import measured as forms


def included(found: forms.Measured) -> float:
    """Return the included angle in degrees."""
    return math.degrees(math.atan(found.slope_a) + math.atan(found.slope_b))


# Taper per foot and included angle in degrees: DERIVED, 2 atan(TPF/24); the row "1 = 4.7719" is
# also READ-2nd. The handbook's own table was not read.
PER_FOOT = [
    (1 / 64, 0.0746, (0, 4, 29)),
    (1 / 32, 0.1492, (0, 8, 57)),
    (1 / 16, 0.2984, (0, 17, 54)),
    (1 / 8, 0.5968, (0, 35, 49)),
    (3 / 16, 0.8952, (0, 53, 43)),
    (1 / 4, 1.1936, (1, 11, 37)),
    (3 / 8, 1.7903, (1, 47, 25)),
    (1 / 2, 2.3870, (2, 23, 13)),
    (5 / 8, 2.9835, (2, 59, 1)),
    (3 / 4, 3.5798, (3, 34, 47)),
    (7 / 8, 4.1760, (4, 10, 33)),
    (1.0, 4.7719, (4, 46, 19)),
    (1.25, 5.9629, (5, 57, 47)),
    (1.5, 7.1527, (7, 9, 10)),
]


@pytest.mark.parametrize(("per_foot", "degrees", "dms"), PER_FOOT)
def test_taper_per_foot_gives_the_included_angle(
    per_foot: float, degrees: float, dms: tuple[int, int, int]
) -> None:
    """A rate read off a plan must give the plan's angle."""
    found = included(forms.from_taper_rate(per_foot / 12.0))
    assert found == pytest.approx(degrees, abs=5.1e-5)
    assert round(found * 3600) == (dms[0] * 60 + dms[1]) * 60 + dms[2]


# Turning and Boring Tapers (Derry-Collard, 1902), READ in an image caption: included angle in
# degrees and taper per inch. The caption's rows for 4 and 15 deg are misprinted and left out.
TABLE_1902 = [
    (1, 0.01746),
    (2, 0.03490),
    (3, 0.05236),
    (5, 0.08732),
    (10, 0.17498),
    (20, 0.35266),
    (25, 0.44338),
    (30, 0.53590),
    (35, 0.63060),
    (40, 0.72794),
    (45, 0.82842),
    (50, 0.93262),
]


@pytest.mark.parametrize(("degrees", "per_inch"), TABLE_1902)
def test_taper_per_inch_of_the_1902_table(degrees: float, per_inch: float) -> None:
    """Its last digit is good to .00002."""
    wedge = forms.from_included_angle(math.radians(degrees))
    assert wedge.slope_a + wedge.slope_b == pytest.approx(per_inch, abs=2.1e-5)
    back = included(forms.from_taper_rate(per_inch))
    assert back == pytest.approx(degrees, abs=2e-3)


def test_symmetric_and_one_faced_wedges_are_told_apart() -> None:
    """0.20 over 1.00 is 11.421 deg between the faces, 11.310 where one face is square.

    Source: DERIVED: 2 atan(dt/(2w)) and atan(dt/w).
    """
    assert included(forms.from_thickness(0.25, 0.05, 1.0)) == pytest.approx(11.4212, abs=5e-5)
    one_faced = forms.from_offsets(0.25, 0.0, 0.05, 0.0, 1.0)
    assert included(one_faced) == pytest.approx(11.3099, abs=5e-5)


def test_the_published_trap_of_the_two_formulas_is_not_fallen_into() -> None:
    """Diameters .146 and .218 over .758 are 5.4383 deg, not the 5.43 that was published.

    Source: a machining forum's question, READ: answered with atan(.072/.758) = 5.4261; DERIVED:
    2 atan(.036/.758).
    """
    found = included(forms.from_thickness(0.218, 0.146, 0.758))
    assert found == pytest.approx(5.4383, abs=5e-5)
    assert abs(found - 5.4261) > 0.01


# Discs laid against a taper. Source: Machinery's Handbook 31 p. 701, READ: discs of 1 and 1.5,
# centres 5 apart: 1.2015 in per foot; 3/4 in per foot with 1.25 and 1.5: centres 4.002; 20 deg with
# 1 and 3: 5.759 between centres.
def test_discs_one_and_one_and_a_half_five_apart_lie_in_the_published_taper() -> None:
    """The angle between the tangents is twice asin of the radii's difference over the distance."""
    tangents = 2 * math.asin((1.5 - 1.0) / 2 / 5.0)
    wedge = forms.from_included_angle(tangents)
    assert 12 * (wedge.slope_a + wedge.slope_b) == pytest.approx(1.2015, abs=5e-5)


@pytest.mark.parametrize(
    ("angle", "small", "large", "centres"),
    [(included(forms.from_taper_rate(0.75 / 12)), 1.25, 1.5, 4.002), (20.0, 1.0, 3.0, 5.759)],
)
def test_width_along_the_face_is_the_discs_problem(
    angle: float, small: float, large: float, centres: float
) -> None:
    """Centres lie on the chord, so the radii's difference over them is a sine: the `face` form."""
    found = forms.from_thickness(large, small, centres, "face")
    assert included(found) == pytest.approx(angle, abs=2e-3)


def test_a_hobby_instructors_three_degree_taper() -> None:
    """3 deg included has .02618 a side per unit length.

    Source: pages.cthome.net/errol.groff, Angle of Taper Examples, READ.
    """
    assert forms.from_included_angle(math.radians(3.0)).slope_a == pytest.approx(0.02618, abs=1e-5)
