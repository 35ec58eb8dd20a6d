"""The countersink under a dimple, against cones and planes that know nothing of the formulas."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from jiggen.geometry.countersink import (
    cone_depth,
    land,
    nesting_diameter,
    rim,
)
from jiggen.geometry.frame import rise_out

HALVES = st.floats(math.radians(37.5), math.radians(60.0))
SLOPES = st.floats(-0.45, 0.45)
HEADS = st.floats(3.0, 12.0)


def offset_cone_at(head: float, skin: float, half: float) -> float:
    """Return the diameter, at the skin's underside, of the head's cone moved out by the skin.

    Two points of the head's own line in the section, each moved along the line's normal by the
    skin's thickness; the line through them met with the underside.
    """
    outside = np.array([[head / 2, 0.0], [head / 2 - math.tan(half), -1.0]])
    along = outside[1] - outside[0]
    normal = np.array([-along[1], along[0]]) / np.linalg.norm(along)
    if normal[1] > 0:
        normal = -normal
    moved = outside + skin * normal
    share = (-skin - moved[0, 1]) / (moved[1, 1] - moved[0, 1])
    return float(2 * (moved[0, 0] + share * (moved[1, 0] - moved[0, 0])))


@given(HEADS, st.floats(0.0, 2.0), HALVES)
def test_the_countersink_is_the_heads_cone_moved_out_by_the_skin(head, skin, half):
    """Too narrow and the skin stands off the wedge; too wide and it cracks at the rim."""
    found = nesting_diameter(head, skin, half)
    assert found == pytest.approx(offset_cone_at(head, skin, half), abs=1e-9)


@given(st.floats(1.0, 10.0), st.floats(0.05, 0.95), HALVES)
def test_the_depth_is_where_the_cone_meets_the_hole(diameter, share, half):
    """The stop is set from it, and the land is what it leaves."""
    hole = share * diameter
    depth = cone_depth(diameter, hole, half)
    assert depth is not None
    assert diameter / 2 - depth * math.tan(half) == pytest.approx(hole / 2, abs=1e-12)


def test_a_hole_as_wide_as_the_countersink_leaves_no_cone():
    """A depth of 0 or less would be added to the land."""
    assert cone_depth(3.0, 3.0, math.radians(50)) is None
    assert cone_depth(3.0, 3.1, math.radians(50)) is None


def heights_of_rim(diameter: float, half: float, slope: float) -> np.ndarray:
    """Return the rim's heights: rays down a cone, each met with the plane of the face."""
    turn = np.linspace(0.0, 2 * math.pi, 721)
    apex = np.array([0.0, 0.0, -diameter / 2 / math.tan(half)])
    way = np.stack(
        [
            np.sin(half) * np.cos(turn),
            np.sin(half) * np.sin(turn),
            np.full_like(turn, np.cos(half)),
        ],
        axis=-1,
    )
    normal = np.array([-slope, 0.0, 1.0])
    reach = -(apex @ normal) / (way @ normal)
    return (apex + reach[:, None] * way)[:, 2]


@given(HEADS, HALVES, SLOPES)
def test_the_rim_is_where_cone_and_sloping_face_meet(diameter, half, slope):
    """A rim that is lower than it is said to be leaves the edge of the dimple on the wedge."""
    assume(abs(slope) * math.tan(half) < 0.95)
    found = rim(diameter, half, slope)
    heights = heights_of_rim(diameter, half, slope)
    assert found is not None
    assert found == pytest.approx((heights.max(), -heights.min()), abs=1e-9)


def test_a_face_as_steep_as_the_cone_has_no_rim():
    """The cutter would run out over the whole face."""
    assert rim(5.0, math.radians(50), math.tan(math.radians(40))) is None
    assert rim(5.0, math.radians(50), math.tan(math.radians(39))) is not None


@given(HEADS, st.floats(0.5, 0.8), st.floats(0.0, 1.2), HALVES, st.floats(0.0, 0.45))
def test_a_countersink_sunk_for_the_low_side_holds_the_whole_tilted_dimple(
    head, share, skin, half, slope
):
    """The dimple is square to its skin, the countersink to the chord plane: it must still go in."""
    hole = share * head
    diameter = nesting_diameter(head, skin, half)
    depth = cone_depth(diameter, hole, half)
    assume(depth is not None and diameter <= 2 * hole)
    sunk = depth + rise_out(diameter, slope)
    assert dimple_sticks_out(diameter, hole, depth, half, slope, sunk) <= 1e-9


@given(HEADS, HALVES, st.floats(0.02, 0.45))
def test_a_countersink_that_is_not_sunk_holds_its_low_side_out(head, half, slope):
    """The test above would pass with any depth if the dimple were not really tilted."""
    hole = 0.6 * head
    depth = cone_depth(head, hole, half)
    assert dimple_sticks_out(head, hole, depth, half, slope, depth) > 1e-6


def dimple_sticks_out(diameter, hole, depth, half, slope, sunk):
    """Return by how much the dimple's two circles, square to the skin, pass the straight cone."""
    tilt = math.atan(slope)
    turn = np.linspace(0.0, 2 * math.pi, 361)
    normal = np.array([-math.sin(tilt), 0.0, math.cos(tilt)])
    along = np.array([math.cos(tilt), 0.0, math.sin(tilt)])
    across = np.array([0.0, 1.0, 0.0])
    circles = [
        -down * normal + radius * (np.cos(turn)[:, None] * along + np.sin(turn)[:, None] * across)
        for radius, down in ((diameter / 2, 0.0), (hole / 2, depth))
    ]
    points = np.concatenate(circles)
    room = diameter / 2 + (points[:, 2] + sunk - depth) * math.tan(half)
    return float((np.hypot(points[:, 0], points[:, 1]) - room).max())


@given(st.floats(1.0, 6.0), SLOPES)
def test_the_stop_counts_from_the_first_touch_of_the_holes_edge(hole, slope):
    """Set from the axis, where there is no metal to touch, the stop would be guesswork.

    The edge of the hole is a circle on a sloping face; a cone of any angle that comes down on its
    axis touches its highest point.
    """
    turn = np.linspace(0.0, 2 * math.pi, 721)
    highest = (slope * hole / 2 * np.cos(turn)).max()
    assert rise_out(hole, slope) == pytest.approx(highest, abs=1e-12)


@given(st.floats(0.5, 8.0), st.floats(0.0, 4.0), st.floats(0.0, 4.0))
def test_the_land_is_what_two_cones_leave_of_the_hole(thickness, one, other):
    """Countersinks that meet leave a knife edge, and a hole that is wider than the rivet."""
    samples = np.linspace(0.0, thickness, 4001)
    straight = (samples > one) & (samples < thickness - other)
    found = land(thickness, one, other)
    assert (found > 0.01) <= bool(straight.any())
    if found <= 0.0:
        assert not straight.any()


def test_the_example_of_the_derivation():
    """Inches: head 0.179, skin 0.016, 100 degrees, hole 0.098.

    Source: DERIVED, worked at the head of `jiggen.geometry.countersink`.
    """
    half = math.radians(50)
    diameter = nesting_diameter(0.179, 0.016, half)
    assert diameter == pytest.approx(0.19065, abs=5e-6)
    assert cone_depth(diameter, 0.098, half) == pytest.approx(0.03887, abs=5e-6)
    assert 0.03887 + rise_out(0.19065, -0.1) == pytest.approx(0.0484025)
