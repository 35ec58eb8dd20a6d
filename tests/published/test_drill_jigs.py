"""Jobber drills, bushings, hole limits and tools against numbers from elsewhere.

Each test has its own copy of the number; READ, READ-2nd, MEM and DERIVED are told in DEVELOPERS.md.
"""

import math
from fractions import Fraction
from itertools import pairwise

import pytest

from jiggen.facts.bushings import INCH_BODIES, METRIC_BODIES, body_for, bore_limits, usual_length
from jiggen.facts.drills import jobber, letter_drill, number_drill, smallest_drill
from jiggen.facts.rivets import BUCKED_LIMITS, HOLE_LIMITS
from jiggen.geometry import countersink
from jiggen.geometry.block import bearing
from jiggen.geometry.riveting import FlushSet

INCH = 25.4


def inches(text: str) -> float:
    """Return ``2 3/8`` in mm."""
    return float(sum(Fraction(part) for part in text.split())) * INCH


@pytest.mark.parametrize(
    ("size", "overall", "flutes"),
    [("1/8", "2 3/4", "1 5/8"), ("3/16", "3 1/2", "2 5/16"), ("17/64", "4 1/8", "2 7/8")],
)
def test_inch_jobber_drills_that_were_seen(size, overall, flutes):
    """A guide is drawn as tall as the bit allows.

    Source: two tool lists of jobber drills with flute and overall lengths (READ); the flutes of
    1/8 also a public encyclopedia's article on drill bit sizes (READ).
    """
    found = jobber(inches(size), inch=True)
    assert found.read
    assert (found.overall, found.flutes) == pytest.approx((inches(overall), inches(flutes)))


@pytest.mark.parametrize(
    ("drill", "overall", "flutes"),
    [
        (number_drill(51), "2", "1"),
        (number_drill(41), "2 3/8", "1 3/8"),
        (number_drill(40), "2 3/8", "1 3/8"),
        (number_drill(30), "2 3/4", "1 5/8"),
        (number_drill(22), "3 1/8", "2"),
        (number_drill(21), "3 1/4", "2 1/8"),
        (number_drill(11), "3 1/2", "2 5/16"),
        (number_drill(10), "3 5/8", "2 7/16"),
        (letter_drill("F"), "4 1/8", "2 7/8"),
    ],
)
def test_inch_jobber_drills_from_memory(drill, overall, flutes):
    """Source: ASME B94.11M (MEM): said to be from memory wherever it is printed."""
    found = jobber(drill, inch=True)
    assert not found.read
    assert (found.overall, found.flutes) == pytest.approx((inches(overall), inches(flutes)))


@pytest.mark.parametrize(
    ("size", "overall", "flutes"),
    [
        (1.0, 34, 12), (1.5, 40, 18), (3.2, 65, 36), (4.0, 75, 43), (7.0, 109, 69), (8.0, 117, 75),
        (8.5, 117, 75), (9.0, 125, 81), (9.5, 125, 81), (10.0, 133, 87),
    ],
)  # fmt: skip
def test_metric_jobber_drills_that_were_seen(size, overall, flutes):
    """1.5, 8.5 and 9.5 are the last of their steps: a step ends with its largest size.

    Source: tool lists of jobber drills to DIN 338 (READ).
    """
    found = jobber(size, inch=False)
    assert found.read
    assert (found.overall, found.flutes) == (overall, flutes)


@pytest.mark.parametrize(
    ("size", "overall", "flutes"),
    [(2.5, 57, 30), (3.0, 61, 33), (3.3, 65, 36), (4.1, 75, 43), (4.3, 80, 47), (4.9, 86, 52)],
)
def test_metric_jobber_drills_from_memory(size, overall, flutes):
    """3.0 belongs to the step below 3.3. Source: DIN 338 (MEM)."""
    found = jobber(size, inch=False)
    assert not found.read
    assert (found.overall, found.flutes) == (overall, flutes)


@pytest.mark.parametrize("inch", [True, False])
def test_a_thicker_jobber_drill_is_never_shorter(inch):
    """A slipped row would draw a guide for a bit that nobody has."""
    rows = [jobber(size / 1000, inch=inch) for size in range(1590, 6700, 5)]
    for before, after in pairwise(rows):
        assert before.overall <= after.overall
        assert before.flutes <= after.flutes
        assert after.overall - after.flutes > 20.0
    assert jobber(0.9, inch=inch) is None
    assert jobber(30.0, inch=inch) is None


@pytest.mark.parametrize(
    ("size", "least"), [(2.5, 2.486), (3.0, 2.986), (3.1, 3.082), (6.0, 5.982), (8, 7.978)]
)
def test_the_smallest_that_a_drill_may_be(size, least):
    """Source: a tool maker's table of drill tolerances, h8: -.014 to 3, -.018, -.022 (READ)."""
    assert smallest_drill(size) == pytest.approx(least)
    assert smallest_drill(12.0) is None


# Body: largest, least, lengths (READ, a public table after ASME B94.33 type P).
BODIES = {
    "5/32": (0.1578, 0.1575, "1/4 5/16 3/8 1/2"),
    "13/64": (0.2046, 0.2043, "1/4 5/16 3/8 1/2"),
    "1/4": (0.2516, 0.2513, "1/4 5/16 3/8 1/2 3/4"),
    "5/16": (0.3141, 0.3138, "1/4 5/16 3/8 1/2 3/4 1"),
}


@pytest.mark.parametrize("name", BODIES)
def test_inch_bushings(name):
    """Source: amesweb.info, press fit bushings type P (READ); B94.33 itself was not seen."""
    largest, least, lengths = BODIES[name]
    (body,) = (b for b in INCH_BODIES if b.name == f"{name} in")
    assert body.nominal == pytest.approx(inches(name))
    assert body.limits == pytest.approx((least * INCH, largest * INCH))
    assert body.lengths == pytest.approx([inches(part) for part in lengths.split()])
    assert body.limits[0] > body.nominal


def test_a_small_bushing_presses_into_its_hole_in_steel():
    """Source: 5/32 bodies .1575 to .1578 in a hole of .1565 to .1570 (READ, the same table)."""
    least, largest = INCH_BODIES[0].limits
    assert (least - 0.1570 * INCH) / INCH == pytest.approx(0.0005)
    assert (largest - 0.1565 * INCH) / INCH == pytest.approx(0.0013)


@pytest.mark.parametrize(
    ("drill", "body", "read"),
    [
        (number_drill(40), "13/64 in", False),
        (number_drill(30), "1/4 in", False),
        (number_drill(21), "5/16 in", True),
        (number_drill(11), "5/16 in", True),
        (number_drill(10), "5/16 in", True),
        (letter_drill("F"), "13/32 in", True),
    ],
)
def test_which_inch_bushing_a_drill_takes(drill, body, read):
    """The hole in the block is cut for it.

    Source: 5/16 in bodies to #10, 13/32 to F (READ, the same table); the smaller ones MEM.
    """
    found = body_for(drill, inch=True)
    assert (found.name, found.bore_read) == (body, read)
    assert usual_length(found) == pytest.approx(INCH / 2)


@pytest.mark.parametrize(
    ("drill", "body", "length"), [(2.5, "5 mm", 9), (3.3, "6 mm", 12), (4.1, "8 mm", 12)]
)
def test_which_metric_bushing_a_drill_takes(drill, body, length):
    """Source: DIN 179 (MEM); bodies of 4, 5, 6, 7, 8, 10 and 12 mm at docslib.org (READ)."""
    found = body_for(drill, inch=False)
    assert (found.name, usual_length(found)) == (body, length)
    assert {4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0} <= {b.nominal for b in METRIC_BODIES}
    assert not any(b.bore_read for b in METRIC_BODIES)
    assert body_for(9.0, inch=False) is None


def test_bores():
    """A bit tilts in what its bushing is wider.

    Source: inch +.0001/+.0004 to 1/4, +.0001/+.0005 to 3/4 (READ, amesweb.info); metric
    +.002/+.008 to 3 mm, +.004/+.012 to 6 (READ, docslib.org).
    """
    least, largest = bore_limits(number_drill(40), inch=True)
    assert (least / INCH, largest / INCH) == pytest.approx((0.0981, 0.0984))
    least, largest = bore_limits(letter_drill("F"), inch=True)
    assert (least / INCH, largest / INCH) == pytest.approx((0.2571, 0.2575))
    assert bore_limits(2.5, inch=False) == pytest.approx((2.502, 2.508))
    assert bore_limits(4.1, inch=False) == pytest.approx((4.104, 4.112))
    assert bore_limits(7.0, inch=False) is None


def test_what_a_dash_3_rivet_allows():
    """Its hole, and the head that is bucked elsewhere.

    Source: MIL-R-47196A Table I, hole .093 to .103; shop head .038 to .050 high and .122 wide or
    more (READ-2nd, both by builders who quote it).
    """
    assert HOLE_LIMITS["-3"] == pytest.approx((0.093 * INCH, 0.103 * INCH))
    assert BUCKED_LIMITS["-3"] == pytest.approx((0.038 * INCH, 0.050 * INCH, 0.122 * INCH))
    assert "-4" not in BUCKED_LIMITS


def test_the_volume_of_a_flush_head_gives_a_published_allowance():
    """Source: BS 4620:1970 Table 6, 90 degree head 2D wide: setting allowance .667D (READ)."""
    tight = FlushSet(diameter=1.0, head=2.0, hole=1.0, half_angle=math.radians(45))
    assert tight.length(5.0) - 5.0 == pytest.approx(0.667, abs=5e-4)


def test_stops_and_pilots():
    """What a countersink is set by.

    Source: stops marked in .001 in, pilots .002 in under their hole: makers of such tools (READ).
    """
    found = (countersink.CLICK / INCH, countersink.PILOT_CLEARANCE / INCH)
    assert found == pytest.approx((0.001, 0.002))


@pytest.mark.parametrize("number", [51, 40, 30, 21, 11])
def test_a_bushing_is_trusted_over_two_bores(number):
    """Source: 1.5 to 2.5 bores long, about 2: a handbook of workholding (READ)."""
    drill = number_drill(number)
    length = usual_length(body_for(drill, inch=True))
    assert bearing(length, drill) / drill == pytest.approx(2.0, abs=0.5)
