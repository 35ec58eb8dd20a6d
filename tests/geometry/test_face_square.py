"""A countersink square to the face, its tools, its setting and how sure its land is."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from jiggen.geometry import countersink as cone
from jiggen.geometry.countersink import (
    CLICK,
    DOUBT,
    cone_depth,
    face_walls,
    land_doubt,
    land_verdict,
    longest_pilot,
    loose_head,
    loose_head_edges,
    nesting_diameter,
    pilot_binds,
    rim,
)
from jiggen.geometry.frame import rise_out
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.geometry.uncertainty import root_of_squares

INCH = 25.4
FIFTY = math.radians(50)
HOLE = 0.098 * INCH
NESTING = nesting_diameter(0.179 * INCH, 0.016 * INCH, FIFTY)
HALVES = st.floats(math.radians(37.5), math.radians(60.0))


def slope(degrees: float) -> float:
    return math.tan(math.radians(degrees))


# Worked: -3 head .179, skin .016 in, 100 deg, hole #40. DERIVED, by hand: a; rim aft, forward;
# sunk for the low side; face walls forward, aft; foot R 13; land in h 2.6 chord, face.
WORKED = [
    (3.0, 2.279, 2.583, 1.114, 0.967, 1.011, 0.68, 0.37, 0.58),
    (5.7, 2.164, 2.748, 1.229, 0.953, 1.035, 1.30, 0.14, 0.53),
    (8.0, 2.074, 2.908, 1.328, 0.944, 1.057, 1.83, -0.06, 0.49),
    (15.0, 1.835, 3.557, 1.636, 0.936, 1.137, 3.48, -0.67, 0.33),
]


@pytest.mark.parametrize(
    ("a", "aft", "forward", "sunk", "fore", "behind", "foot", "chord", "face"), WORKED
)
def test_chord_against_face(a, aft, forward, sunk, fore, behind, foot, chord, face):
    """Which way to stand the wedge is decided by these numbers."""
    m = slope(a)
    high, low = rim(NESTING, FIFTY, m)
    depth = cone_depth(NESTING, HOLE, FIFTY)
    walls = face_walls(NESTING, HOLE, FIFTY, m)
    assert (low / m, high / m) == pytest.approx((aft, forward), abs=5e-4)
    assert depth == pytest.approx(0.987, abs=5e-4)
    deep = depth + rise_out(NESTING, m)
    assert deep == pytest.approx(sunk, abs=5e-4)
    assert walls == pytest.approx((fore, behind), abs=5e-4)
    assert rise_out(26.0, m) == pytest.approx(foot, abs=5e-3)
    assert round(cone.land(2.6, deep, deep), 2) == chord
    lands = [cone.land(2.6, wall, wall) for wall in walls]
    assert round(min(lands), 2) == face
    assert round(NESTING, 3) == 4.842


def wall_round_the_hole(diameter, hole, half, m):
    """Return the depth at the hole's wall all round it: each line of the wall met with the cone."""
    a = math.atan(m)
    normal = np.array([-math.sin(a), 0.0, math.cos(a)])
    apex = -diameter / 2 / math.tan(half) * normal
    turn = np.linspace(0, 2 * math.pi, 721)
    foot = np.stack([hole / 2 * np.cos(turn), hole / 2 * np.sin(turn), np.zeros_like(turn)], -1)
    # |w|^2 cos^2 q = (w . n)^2 with w = foot + z up - apex, the upper branch.
    up = np.array([0.0, 0.0, 1.0])
    w = foot - apex
    c2 = math.cos(half) ** 2
    lead = c2 - normal[2] ** 2
    mid = 2 * (c2 * (w @ up) - (w @ normal) * normal[2])
    rest = c2 * np.sum(w * w, -1) - (w @ normal) ** 2
    roots = np.stack(
        [(-mid + sign * np.sqrt(mid**2 - 4 * lead * rest)) / (2 * lead) for sign in (1, -1)]
    )
    ahead = (w @ normal) + roots * normal[2] > 0
    return turn, -np.where(ahead, roots, np.inf).min(axis=0)


@given(st.floats(3.0, 12.0), st.floats(0.3, 0.8), HALVES, st.floats(0.0, 25.0))
def test_the_walls_are_where_a_tilted_cone_meets_the_hole_in_space(diameter, share, half, degrees):
    """A land judged at two places must be the least of all places."""
    m, hole = slope(degrees), share * diameter
    walls = face_walls(diameter, hole, half, m)
    assume(walls is not None)
    turn, depths = wall_round_the_hole(diameter, hole, half, m)
    assert math.isclose(turn[360], math.pi)
    assert (depths[0], depths[360]) == pytest.approx(walls, abs=1e-9)
    assert depths.max() == pytest.approx(max(walls), abs=1e-9)


def test_a_square_face_has_the_plain_depth_all_round():
    """The two ways are one where nothing slopes."""
    walls = face_walls(NESTING, HOLE, FIFTY, 0.0)
    depth = cone_depth(NESTING, HOLE, FIFTY)
    assert walls == pytest.approx((depth, depth))
    mirrored, plain = face_walls(NESTING, HOLE, FIFTY, -0.1), face_walls(NESTING, HOLE, FIFTY, 0.1)
    assert mirrored == pytest.approx(plain[::-1])


def test_no_walls_where_the_cone_leaves_none():
    """A number here would be added to a land."""
    assert face_walls(2.6, 2.6, FIFTY, 0.0) is None
    assert face_walls(5.0, 2.5, math.radians(40), slope(40)) is None
    assert face_walls(4.8, 2.5, FIFTY, slope(39)) is None
    assert face_walls(4.8, 2.5, FIFTY, slope(38)) is not None


def test_letting_the_low_side_in_costs_a_quarter_of_a_millimetre():
    """Source: DERIVED: (D/2) tan 5.7 deg = 0.24; a cage's foot would leave 1.3 undone."""
    depth = cone_depth(NESTING, HOLE, FIFTY)
    saved = depth + rise_out(NESTING, slope(5.7)) - depth
    assert saved == pytest.approx(0.24, abs=5e-3)
    assert rise_out(26.0, slope(5.7)) == pytest.approx(1.3, abs=5e-3)


def test_when_a_pilot_binds():
    """Source: READ: a pilot .002 in under its hole; DERIVED: the angle."""
    assert pytest.approx(0.051, abs=5e-4) == cone.PILOT_CLEARANCE
    assert math.degrees(pilot_binds(4.0, 0.051)) == pytest.approx(0.73, abs=5e-3)
    assert longest_pilot(0.051, slope(5.7)) == pytest.approx(0.51, abs=5e-3)
    assert longest_pilot(0.051, 0.0) == math.inf


@given(st.floats(0.005, 0.1), st.floats(2.0, 7.0), st.floats(0.3, 8.0))
def test_a_pilot_that_is_not_said_to_bind_goes_into_its_hole(gap, hole, length):
    """A pilot that binds snaps, or drags the hole square to the skin."""
    angle = pilot_binds(length, gap)
    pilot = hole - gap
    across = pilot * math.cos(angle) + length * math.sin(angle)  # of a tilted square-ended pin
    assert across <= hole + 1e-9


@pytest.mark.parametrize(("skin", "more"), [(0.016, 4.9), (0.020, 6.1), (0.025, 7.6), (0.032, 9.8)])
def test_how_many_clicks_lie_between_a_flush_head_and_a_nested_dimple(skin, more):
    """Source: DERIVED, by hand; stops are marked in .001 in: READ."""
    assert loose_head(skin * INCH, FIFTY) / CLICK == pytest.approx(more, abs=0.05)
    assert 2 * math.tan(FIFTY) * 0.001 == pytest.approx(0.0024, abs=5e-5)


@given(st.floats(3.0, 12.0), st.floats(0.2, 1.5), HALVES)
def test_a_loose_head_lies_where_the_countersink_is_as_wide_as_it(head, skin, half):
    """The one test of a setting that needs no instrument."""
    wide = nesting_diameter(head, skin, half)
    assert loose_head(skin, half) == pytest.approx(cone_depth(wide, head, half))


def test_the_edges_of_a_loose_head_on_a_sloping_face():
    """-3 at 5.7 deg, inches: .0049 on the axis, .0040 proud aft, .0138 below forward; .0055 let in.

    Source: DERIVED, by hand.
    """
    below = loose_head(0.016, FIFTY)
    forward, aft = loose_head_edges(below, 0.179, slope(5.7))
    assert below == pytest.approx(0.0049, abs=5e-5)
    assert (aft, forward) == pytest.approx((-0.0040, 0.0138), abs=5e-5)
    let_in = below + NESTING / INCH / 2 * slope(5.7)
    assert loose_head_edges(let_in, 0.179, slope(5.7))[1] == pytest.approx(0.0055, abs=5e-5)


BOTH = (slope(5.7), slope(5.7))


def plus_minus(parts: dict[str, float]) -> float:
    return COVERAGE * root_of_squares(parts)


def test_how_sure_a_land_is():
    """Parts .025 .050 .042 .017 .026, together .076, plus or minus .15.

    Source: DERIVED, by hand; twice the standard uncertainty, GUM 6.2 (MEM).
    """
    parts = land_doubt(BOTH, FIFTY, DOUBT)
    wanted = [0.025, 0.050, 0.042, 0.017, 0.026]
    assert list(parts.values()) == pytest.approx(wanted, abs=5e-4)
    assert root_of_squares(parts) == pytest.approx(0.076, abs=5e-4)
    assert plus_minus(parts) == pytest.approx(0.15, abs=5e-3)


def test_what_trying_in_scrap_and_a_calliper_bring():
    """.08; .07 only where the hole is measured too: the depth of the wall hangs on it."""
    tried = {**DOUBT, "diameter": 0.0, "line": 0.1, "thickness": 0.013}
    assert plus_minus(land_doubt(BOTH, FIFTY, tried)) == pytest.approx(0.08, abs=5e-3)
    assert plus_minus(land_doubt(BOTH, FIFTY, {**tried, "hole": 0.0})) == pytest.approx(
        0.07, abs=5e-3
    )


@given(st.floats(1.0, 15.0), st.floats(1.0, 15.0), HALVES, st.booleans(), st.sampled_from([1, 2]))
def test_the_parts_are_what_the_land_changes_by(a, b, half, let_in, sides):
    """A wrong factor makes a knife edge look sure."""
    slopes = (slope(a), slope(b))

    def land_of(thickness, line, diameter, hole, stop):
        deep = []
        for m in slopes:
            depth = cone_depth(diameter, hole, half)
            deep.append((depth + rise_out(diameter, m) if let_in else depth) + stop)
        return cone.land(thickness + line * sum(slopes), *deep, opposed=sides == 2)

    at = {"thickness": 3.0, "line": 0.0, "diameter": 5.0, "hole": 2.5, "stop": 0.0}
    parts = land_doubt(slopes, half, dict.fromkeys(DOUBT, 1.0), let_in=let_in, sides=sides)
    for name, part in parts.items():
        step = 1e-6
        change = (land_of(**{**at, name: at[name] + step}) - land_of(**at)) / step
        assert part == pytest.approx(abs(change), rel=1e-4)


def test_the_plus_or_minus_holds_what_it_says():
    """95 of 100 wedges whose numbers are off by chance have their land inside it."""
    draw = np.random.default_rng(11)
    off = {name: draw.normal(0.0, u, 40_000) for name, u in DOUBT.items()}
    by_diameter = 1 / (2 * math.tan(FIFTY))
    land = (
        off["thickness"]
        + sum(BOTH) * off["line"]
        - 2 * by_diameter * (off["diameter"] - off["hole"])
        - 2 * off["stop"]
    )
    inside = float((np.abs(land) <= plus_minus(land_doubt(BOTH, FIFTY, DOUBT))).mean())
    assert inside == pytest.approx(0.954, abs=0.005)


@pytest.mark.parametrize(
    ("land", "limit", "said"),
    [
        (0.53, 0.3, "ok"),
        (0.53, 0.4, "cannot tell"),
        (0.53, 0.6, "cannot tell"),
        (0.53, 0.7, "fail"),
        (0.01, 0.0, "cannot tell"),
        (-0.1, 0.0, "cannot tell"),
        (-0.16, 0.0, "fail"),
    ],
)
def test_a_land_is_judged_with_its_plus_or_minus(land, limit, said):
    """Of 0.01 mm it was said that it is no knife edge."""
    assert land_verdict(land, 0.15, limit) == said
