"""Rivets, their holes, lengths and countersinks against numbers from elsewhere.

Each test has its own copy of the number; READ, READ-2nd, MEM and DERIVED are told in DEVELOPERS.md.
"""

import math

import pytest

from jiggen.facts import rivets, rules
from jiggen.facts.drills import letter_drill, metric_drills, next_metric_drill, number_drill
from jiggen.facts.rivets import (
    FLUSH_RIVETS,
    HOLE_LIMITS,
    METRIC_FLUSH,
    METRIC_ROUND,
    UNIVERSAL_RIVETS,
    USUAL_DRILLS,
    rivet_code,
)
from jiggen.geometry.countersink import cone_depth, land, nesting_diameter, rim
from jiggen.geometry.riveting import rivet_length, standard_length

INCH = 25.4
FIFTY = math.radians(50)


@pytest.mark.parametrize(
    ("grip", "diameter", "needed", "sixteenths"),
    [
        (0.125, 1 / 8, 0.3125, 5),
        (0.090, 3 / 32, 0.2306, 4),
        (0.165, 3 / 32, 0.3056, 5),
        (0.080, 1 / 8, 0.2675, 5),
    ],
)
def test_rivet_length_of_a_bucked_head(grip, diameter, needed, sixteenths):
    """Too short a rivet cannot be bucked, too long a one lies over.

    Source: L = G + 1.5D, Navy training manual 14018 p. 547 (READ); the next length above, US
    Army TM 10-5410-229-13&P para 5-6 (READ). The last row is a riveting course's example: two .040
    sheets, .080 + .1875 (READ; it prints .267).
    """
    length = rivet_length(grip, diameter, rivets.BUCKED_ALLOWANCE)
    assert length == pytest.approx(needed, abs=5e-5)
    assert standard_length(length, 1 / 16) * 16 == pytest.approx(sixteenths)


def test_the_same_rivet_by_other_rules():
    """The rule for the next length is a choice, and so it has a name.

    Source: that course takes the nearest, -4 (READ); half sizes exist, AC 43.13-1B p. 4-16
    para 4-57a(4) "AD4-3.5" (READ).
    """
    length = rivet_length(0.080, 1 / 8, 1.5)
    assert standard_length(length, 1 / 16, nearest=True) * 16 == pytest.approx(4)
    assert standard_length(length, 1 / 32) * 16 == pytest.approx(4.5)
    assert rivet_code("-4", 3.5) == "4-3.5"
    assert rivet_code("-3", 4.0) == "3-4"


def test_the_flush_setting_allowance_fills_its_own_well():
    """A published allowance against the metal that has to go somewhere.

    Source: BS 4620:1970 Table 6, 90 degrees: 0.667D, head 2D wide and 0.5D high (READ); that
    the metal of the shank fills the cone round it: volumes, DERIVED.
    """
    wide, high = 2.0, 0.5
    frustum = math.pi * high / 12 * (wide**2 + wide + 1)
    fill = (frustum - math.pi / 4 * high) / (math.pi / 4)
    assert fill == pytest.approx(0.667, abs=5e-4)


def test_the_hole_for_a_three_thirty_second_rivet():
    """Source: .093 to .103 in, MIL-R-47196A Table I (READ-2nd): #40 passes, #37 is the no-go."""
    low, high = HOLE_LIMITS["-3"]
    assert (low / INCH, high / INCH) == pytest.approx((0.093, 0.103))
    assert low < number_drill(40) < high < number_drill(37)
    assert "-4" not in HOLE_LIMITS


@pytest.mark.parametrize(
    ("dash", "inches"),
    [("-2", 0.067), ("-3", 0.098), ("-4", 0.1285), ("-5", 0.159), ("-6", 0.191), ("-8", 0.257)],
)
def test_the_usual_drill_for_a_rivet(dash, inches):
    """The hand takes the drill that is named.

    Source: #30 for 1/8 in a 1940s fighter repair manual, para 16 (READ); F for 1/4, TM
    10-5410-221-14/1 Table 4-3, blind rivets (READ); #51, #40, #21, #11 MEM.
    """
    name = USUAL_DRILLS[dash][0]
    size = letter_drill(name[-1]) if name.startswith("letter") else number_drill(int(name[1:]))
    assert size / INCH == pytest.approx(inches, abs=5e-5)
    assert size > FLUSH_RIVETS[dash].diameter


@pytest.mark.parametrize(
    ("size", "head", "height"),
    [("2 mm", 3.5, 1.0), ("2.5 mm", 4.4, 1.2), ("3 mm", 5.2, 1.4), ("3.5 mm", 6.2, 1.8),
     ("4 mm", 7.0, 2.0), ("5 mm", 8.8, 2.5)],
)  # fmt: skip
def test_metric_flush_heads(size, head, height):
    """Source: DIN 661 as tabled at fasten.it (READ)."""
    rivet = METRIC_FLUSH[size]
    assert (rivet.head, rivet.head_height) == (head, height)


@pytest.mark.parametrize("size", sorted(METRIC_ROUND))
def test_metric_round_heads_are_seven_quarters_wide(size):
    """Source: DIN 660, 1.75D wide and 0.6D high (MEM)."""
    rivet = METRIC_ROUND[size]
    assert rivet.head / rivet.diameter == pytest.approx(1.75, abs=0.02)
    assert rivet.head_height / rivet.diameter == pytest.approx(0.6, abs=0.01)


@pytest.mark.parametrize(
    ("dash", "head", "height"),
    [("-3", 0.187, 0.040), ("-4", 0.250, 0.054), ("-5", 0.312, 0.067), ("-6", 0.375, 0.080)],
)
def test_universal_heads(dash, head, height):
    """Source: MS20470 (MEM): about 2D wide and 0.43D high."""
    rivet = UNIVERSAL_RIVETS[dash]
    assert (rivet.head / INCH, rivet.head_height / INCH) == pytest.approx((head, height))
    assert rivet.head / rivet.diameter == pytest.approx(2.0, abs=0.01)


def test_a_bucked_head_of_a_three_thirty_second_rivet():
    """Source: MIL-HDBK-5H p. 8-9: 1.3D wide, 0.3D high (READ); .122 in MIL-R-47196A (READ-2nd)."""
    wide, high = (times * 3 / 32 for times in rivets.BUCKED_HEAD)
    assert (wide, high) == pytest.approx((0.1219, 0.0281), abs=5e-5)


def test_the_depth_of_a_plain_countersink():
    """Source: 100 degrees, head .225 on a .125 shank: .0420 (DERIVED; dimensions MEM)."""
    assert cone_depth(0.225, 0.125, FIFTY) == pytest.approx(0.0420, abs=5e-5)


@pytest.mark.parametrize(
    ("skin", "degrees", "deeper"),
    [(0.025, 100, 0.00764), (0.020, 120, 0.00309), (0.032, 100, 0.00977)],
)
def test_a_dimple_goes_deeper_than_its_head(skin, degrees, deeper):
    """Source: T (1/sin(a/2) - 1), an offset cone moves T/sin along its axis (DERIVED); 1e-5 in."""
    half = math.radians(degrees / 2)
    wider = nesting_diameter(0.225, skin, half) - 0.225
    assert wider / 2 / math.tan(half) == pytest.approx(deeper, abs=1e-5)
    if degrees == 100:
        assert wider / skin == pytest.approx(0.72794, abs=5e-6)


@pytest.mark.parametrize(("wedge", "left"), [(0.125, 0.0418), (0.080, -0.0032)])
def test_the_land_between_two_countersinks(wedge, left):
    """The second wedge is left with a knife edge.

    Source: two -3 heads (.179, MEM), .025 skins, .098 hole (DERIVED); .0001 in.
    """
    depth = cone_depth(nesting_diameter(0.179, 0.025, FIFTY), 0.098, FIFTY)
    assert land(wedge, depth, depth) == pytest.approx(left, abs=1e-4)


@pytest.mark.parametrize(("tilt", "far", "near"), [(3, 1.0666, 0.9412), (5, 1.1164, 0.9056)])
def test_the_rim_on_a_tilted_face(tilt, far, near):
    """Source: radii r/(1 -+ tan b tan 50) of a coaxial 100 degree countersink (DERIVED)."""
    slope = math.tan(math.radians(tilt))
    high, low = rim(2.0, FIFTY, slope)
    assert (high / slope, low / slope) == pytest.approx((far, near), abs=5e-5)


def test_the_steepness_of_a_hundred_degree_countersink():
    """Source: AC 43.13-1B p. 4-15 Table 4-7: K = tan(A/2), 100 degrees 1.191 (READ)."""
    depth = cone_depth(1.0, 0.5, FIFTY)
    assert 0.25 / depth == pytest.approx(1.191, abs=1e-3)


def test_least_sheet_of_a_quarter_inch_rivet():
    """Source: US Army TM 9-2320-363-34-2 Table 4: .072 in (READ)."""
    assert rules.countersink_min_sheet(INCH / 4) == pytest.approx(0.072 * INCH)


def test_the_most_of_a_pitch():
    """Source: 10D, a trade article at aviationpros.com (READ): .9375 in for 3/32."""
    assert rules.PITCH_MOST * 3 / 32 == 0.9375


@pytest.mark.parametrize(
    ("hole", "drill"), [(1.0, 1.0), (2.41, 2.45), (2.96, 3.0), (3.175, 3.2), (13.95, 14.0)]
)
def test_the_next_metric_drill(hole, drill):
    """A drill that nobody sells is no answer.

    Source: series of BS 328 at piglix.com (READ): 1.00-2.95 by .05, 3.0-13.9 by .1, 14-25 by
    .25.
    """
    assert next_metric_drill(hole) == pytest.approx(drill)
    assert len(metric_drills()) == 40 + 110 + 45
    assert next_metric_drill(25.3) is None


@pytest.mark.parametrize(("name", "nearest"), [(40, 2.5), (30, 3.3), (11, 4.9)])
def test_the_metric_drill_nearest_to_a_number_drill(name, nearest):
    """Source: DERIVED from the two tables: #40 2.5, #30 3.3, #11 4.9 mm."""
    found = min(metric_drills(), key=lambda size: abs(size - number_drill(name)))
    assert found == nearest
