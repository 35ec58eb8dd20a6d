"""Thickness, grip, drift and order at the holes, held against a drill's line in space."""

import math

import numpy as np
import pytest
from folding import CHORD_NORMAL, face_normal
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import skin_angle_pairs

from jiggen.errors import ImpossibleWedge
from jiggen.geometry import holes
from jiggen.geometry.frame import Side
from jiggen.geometry.holes import Holes
from jiggen.geometry.wedge import Station, Wedge

LINE = 8.0


def where_line_meets_plane(start, direction, point, normal):
    """Return where lines from `start` meet planes through `point`; arrays of shape (..., 3)."""
    along = np.sum((point - start) * normal, axis=-1) / np.sum(direction * normal, axis=-1)
    return start + along[..., None] * direction


def drilled(a: float, b: float, rear: float, square_to: Side | None) -> tuple[float, float]:
    """Return (distance drilled, drift along x) of a drill through two planes in space.

    The drill starts on face A (face B for `square_to` b) at the hole line.
    """
    side: Side = square_to or "a"
    other: Side = "b" if side == "a" else "a"
    slopes = {"a": math.tan(a), "b": math.tan(b)}
    sign = {"a": 1.0, "b": -1.0}
    on = {s: np.array([LINE, 0.0, sign[s] * (rear / 2 + LINE * slopes[s])]) for s in ("a", "b")}
    normal = {s: face_normal(slopes[s], side=s) for s in (side, other)}
    direction = -normal[side] if square_to else -CHORD_NORMAL * sign[side]
    out = where_line_meets_plane(on[side], direction, on[other], normal[other])
    return float(np.linalg.norm(out - on[side])), float(out[0] - LINE)


@given(skin_angle_pairs(), st.floats(0.0, 4.0))
@settings(max_examples=200)
def test_thickness_and_drift_are_those_of_a_drill_through_two_planes(
    pair: tuple[float, float], rear: float
) -> None:
    """Rivet length and allowed angle error both come from these."""
    a, b = pair
    station = Station(
        at=0.0, slope_a=math.tan(a), slope_b=math.tan(b), rear_a=rear / 2, rear_b=rear / 2
    )
    faces = Wedge(stations=(station,)).faces_at([0.0], LINE)
    h = holes.thickness(faces, LINE)
    length, no_drift = drilled(a, b, rear, None)
    assert float(h[0]) == pytest.approx(length, rel=1e-9, abs=1e-12)
    assert no_drift == pytest.approx(0.0, abs=1e-12)
    drift_a = holes.drift_if_square(h, faces.slope_a, faces.slope_b)
    drift_b = holes.drift_if_square(h, faces.slope_b, faces.slope_a)
    assert float(drift_a[0]) == pytest.approx(drilled(a, b, rear, "a")[1], rel=1e-6, abs=1e-9)
    assert float(drift_b[0]) == pytest.approx(drilled(a, b, rear, "b")[1], rel=1e-6, abs=1e-9)


def test_drift_on_20000_random_wedges_is_that_of_a_drill_in_space() -> None:
    """Closed form against vectors, in one sweep."""
    draw = np.random.default_rng(7)
    a, b = np.tan(np.radians(draw.uniform(0.1, 40.0, (2, 20_000))))
    h = draw.uniform(0.3, 40.0, 20_000)
    zero, one = np.zeros_like(h), np.ones_like(h)
    start = np.stack([zero, zero, h], axis=-1)
    inward, out_of_b = np.stack([a, zero, -one], axis=-1), np.stack([-b, zero, -one], axis=-1)
    out = where_line_meets_plane(start, inward, np.zeros(3), out_of_b)
    told = holes.drift_if_square(h, a, b)
    assert np.abs(told - out[:, 0]).max() < 1e-9


@pytest.mark.parametrize(
    ("a", "b", "h", "drift"), [(5.7, 5.7, 2.6, 0.2621), (7.5, 3.0, 3.4, 0.4507)]
)
def test_drift_worked_by_hand(a: float, b: float, h: float, drift: float) -> None:
    """Worked numbers of the drift formula.

    Source: DERIVED: h tan a / (1 - tan a tan b).
    """
    slopes = np.tan(np.radians([a, b]))
    found = holes.drift_if_square(np.array([h]), slopes[:1], slopes[1:])
    assert float(found[0]) == pytest.approx(drift, abs=5e-5)


def test_symmetric_drift_is_half_the_thickness_by_the_tangent_of_the_included_angle() -> None:
    """Source: DERIVED: double-angle formula, (h/2) tan(2a)."""
    angles = np.radians(np.linspace(0.5, 40.0, 80))
    h = np.full_like(angles, 3.3)
    found = holes.drift_if_square(h, np.tan(angles), np.tan(angles))
    assert found == pytest.approx(1.65 * np.tan(2 * angles), rel=1e-12)


def test_a_drill_that_would_never_come_out_has_no_drift() -> None:
    """Both skins at 45 deg: square to one is along the other."""
    assert np.isnan(holes.drift_if_square(np.ones(1), np.ones(1), np.ones(1))).all()


def test_grip_adds_both_skins_along_the_drill_axis() -> None:
    """A rivet chosen by the wedge alone is two skins short."""
    station = Station(at=0.0, slope_a=0.75, slope_b=0.0, rear_a=0.5, rear_b=0.5)
    faces = Wedge(stations=(station,)).faces_at([0.0], LINE)
    h = holes.thickness(faces, LINE)
    assert float(h[0]) == pytest.approx(7.0)
    assert float(holes.grip(h, faces, (0.8, 0.5))[0]) == pytest.approx(7.0 + 0.8 * 1.25 + 0.5)
    assert np.isnan(holes.grip(h, faces, None)).all()


def test_head_edge_of_a_tilted_rivet() -> None:
    """Heads of .179, .225 and .286 in tilted 3 deg stand .00468, .00589 and .00748 in proud.

    Source: DERIVED: (Dh/2) sin(tilt).
    """
    slope = np.tan(np.radians([3.0]))
    steps = [float(holes.head_step(head, slope)[0]) for head in (0.179, 0.225, 0.286)]
    assert steps == pytest.approx([0.00468, 0.00589, 0.00748], abs=5e-6)


def test_holes_are_drilled_from_the_middle_to_one_end_and_then_back_to_the_other() -> None:
    """A seam pinned from its ends traps the bulge in its middle."""
    assert holes.drilling_order(5) == (5, 4, 1, 2, 3)
    assert holes.drilling_order(4) == (4, 3, 1, 2)
    assert holes.drilling_order(1) == (1,)
    assert holes.drilling_order(0) == ()


@given(st.integers(0, 60), st.sets(st.integers(1, 60)))
@settings(max_examples=100)
def test_each_drilled_hole_has_one_turn_and_kept_out_ones_have_none(
    count: int, keep_out: set[int]
) -> None:
    """A hole missed, or one drilled that belongs to another part."""
    order = holes.drilling_order(count, keep_out)
    row = Holes(
        drill=1.0,
        line=2.0,
        positions=tuple(float(n) for n in range(count)),
        keep_out=frozenset(keep_out),
    )
    assert tuple(n for n, turn in enumerate(order, start=1) if turn is not None) == row.drilled
    assert sorted(turn for turn in order if turn) == list(range(1, len(row.drilled) + 1))


def test_a_line_that_breaks_out_behind_or_ahead_of_the_wedge_is_refused() -> None:
    """Drilling it would spoil the part at the first hole."""
    row = Holes(drill=2.5, line=1.25, positions=(0.0,))
    with pytest.raises(ImpossibleWedge, match="run out at the trailing edge") as behind:
        holes.check_rear_edge(row)
    assert behind.value.key == "holes.line"
    holes.check_rear_edge(Holes(drill=2.5, line=1.26, positions=(0.0,)))
    ahead_of = Holes(drill=2.5, line=8.0, positions=(0.0,))
    holes.check_depth(ahead_of, 9.25)
    with pytest.raises(ImpossibleWedge, match="ahead of the wedge") as ahead:
        holes.check_depth(ahead_of, 9.2)
    assert ahead.value.key == "holes.line"
    with pytest.raises(ImpossibleWedge, match="wider than the wedge") as wide:
        holes.check_depth(Holes(drill=9.0, line=4.6, positions=(0.0,)), 9.0)
    assert wide.value.key == "holes.drill"
