"""Every jig stood on the real wedge in space: from its flat outline alone, where does the bit go?

The skins are planes or ruled faces given by their points; the pieces are read as a builder would
read them, by their edges. Held against the normal of the chord plane, within 0.001 deg.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
from folding import (
    CHORD_NORMAL,
    Leaf,
    RuledFace,
    Vector,
    crossing,
    face_normal,
    forward_on_face,
    lean_if_square_to_the_skin,
    off_drill_axis,
    unit,
)
from hypothesis import given, settings
from hypothesis import strategies as st
from samplejobs import a_job, bulging, bulging_points, offsets, row_of_holes, skins

from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Edge, Op
from jiggen.jigs import build_pieces
from jiggen.job.sections import Allow
from jiggen.solve import solve

#: Degrees. What the fold may lose.
TRUE = 0.001
#: mm. Where the hole of a one-hole job is.
HOLE, LINE = 150.0, 8.0

FRONTS = st.tuples(st.floats(1.4, 3.6), st.floats(0.8, 3.6))
SIDES = st.sampled_from("ab")


def straight_edges(piece: Piece) -> list[Edge]:
    return [e for e in piece.outline.edges if e.bulge == 0.0]


def base_edges(piece: Piece) -> list[Edge]:
    """Return what lies on the skin: the lowest level edges."""
    low = min(min(e.start.y, e.end.y) for e in piece.outline.edges)
    return [e for e in straight_edges(piece) if max(e.start.y, e.end.y) < low + 1e-9]


def upright(edge: Edge) -> Edge:
    return edge if edge.end.y > edge.start.y else edge.reversed()


def working_edges(piece: Piece) -> list[Edge]:
    """Return the long upright edges that are parallel to the longest of them."""
    ups = sorted(
        (upright(e) for e in straight_edges(piece)), key=lambda e: -abs(e.end.y - e.start.y)
    )
    first = ups[0].direction()
    return [
        e
        for e in ups
        if abs(first.x * e.direction().y - first.y * e.direction().x) < 1e-9 and e.chord > 20.0
    ]


def ways(piece: Piece) -> float:
    """Return which way forward lies on a piece as it is drawn: 1 to the right, -1 to the left.

    Side B's own pieces are drawn mirrored; one that fits both sides is turned over for side B.
    """
    return -1.0 if piece.side == "b" else 1.0


def plumb(piece: Piece, side: str, slope_x: float) -> Leaf:
    """Return a plate whose base lies straight forward on the face, its plane upright."""
    along = ways(piece) * forward_on_face(slope_x, side)
    up = CHORD_NORMAL * (1.0 if side == "a" else -1.0)
    return Leaf(np.zeros(3), along, unit(*(up - float(up @ along) * along)))


def square(piece: Piece, side: str, slope_x: float, slope_y: float) -> Leaf:
    """Return a plate whose base lies straight forward on the face and which stands square to it."""
    along = ways(piece) * forward_on_face(slope_x, side)
    return Leaf(np.zeros(3), along, face_normal(slope_x, slope_y, side))


def ruled_job(fronts, thinner: float, **more):
    """Return the solution of a job with one hole, and both faces of its wedge."""
    ends, rows = {"a": [], "b": []}, []
    for at, share in ((0.0, 1.0), (400.0, thinner)):
        for name, front in zip("ab", fronts, strict=True):
            ends[name].append((0.4, 0.4 + front * share, 20.0))
        up = (0.4 + fronts[0] * share, 0.4 + fronts[1] * share)
        rows.append(offsets(up, (0.4, 0.4), 20.0, at))
    solution = solve(a_job(*rows, holes=row_of_holes(1, positions=(HOLE,)), depth=24.0, **more))
    return solution, {s: RuledFace(*ends[s], 400.0, s) for s in "ab"}


def made_for(solution, kind: str, side: str) -> list[Piece]:
    return [p for p in build_pieces(solution, (kind,)) if side in p.side]


@settings(max_examples=40, deadline=None)
@given(fronts=FRONTS, thinner=st.floats(0.5, 1.0), side=SIDES)
def test_a_guide_stood_upright_on_the_face_has_both_working_edges_along_the_drill(
    fronts, thinner, side
):
    """What the eye lines the bit up with, forward of the hole and aft of it."""
    solution, faces = ruled_job(fronts, thinner)
    (guide,) = made_for(solution, "guide", side)
    slope_x, slope_y = faces[side].slopes(LINE, HOLE)
    leaf, slanted = plumb(guide, side, slope_x), square(guide, side, slope_x, slope_y)
    (left, right) = base_edges(guide)[0], base_edges(guide)[-1]
    ray = leaf.direction(left.start, right.end)
    assert off_face(faces[side], ray) < 1e-4
    edges = working_edges(guide)
    assert len(edges) >= 2
    for edge in edges:
        assert off_drill_axis(leaf.direction(edge.start, edge.end)) < TRUE
        # Held square to the skin, by its foot, it leans as the skin does along the span: as listed.
        lean = off_drill_axis(slanted.direction(edge.start, edge.end))
        assert lean == pytest.approx(lean_if_square_to_the_skin(slope_x, slope_y), abs=TRUE)
        assert lean <= math.degrees(math.atan(abs(slope_y))) + 1e-9


def off_face(face: RuledFace, ray: Vector) -> float:
    """Return how far a base line leaves the face over 1 mm, mm: a ruled face is nearly a plane."""
    at = face.point(LINE, HOLE)
    there = at + ray
    return abs(float(face.point(float(there[0]), float(there[1]))[2] - there[2]))


@settings(max_examples=30, deadline=None)
@given(
    along_rib=st.tuples(st.floats(2.0, 8.0), st.floats(1.0, 8.0)),
    sweep=st.floats(0, 30),
    side=SIDES,
)
def test_read_along_the_ribs_of_a_swept_edge_guide_and_block_stand_true(along_rib, sweep, side):
    """The face is that through the edge and a rib, whatever the formula says."""
    turn = math.radians(sweep)
    solution = solve(
        a_job(
            skins(*along_rib),
            holes=row_of_holes(3),
            rear_thickness=0.8,
            sweep=turn,
            depth=24.0,
            allow=Allow(drift=0.1),
        )
    )
    read = math.tan(math.radians(along_rib["ab".index(side)]))
    rib = np.array([math.cos(turn), math.sin(turn), read])
    normal = np.cross(rib, np.array([0.0, 1.0, 0.0]))
    slope = float(-normal[0] / normal[2])
    (guide,) = made_for(solution, "guide", side)
    blocks = made_for(solution, "block", side)
    for piece in (guide, *blocks):
        leaf = plumb(piece, side, slope)
        for edge in working_edges(piece):
            assert off_drill_axis(leaf.direction(edge.start, edge.end)) < TRUE


@settings(max_examples=30, deadline=None)
@given(fronts=FRONTS, thinner=st.floats(0.5, 1.0), side=SIDES)
def test_a_block_flat_on_the_face_has_its_channel_along_the_drill_but_for_the_lean(
    fronts, thinner, side
):
    """A block has a wide base: it stands square to the skin, and leans as the skin does."""
    solution, faces = ruled_job(fronts, thinner)
    slope_x, slope_y = faces[side].slopes(LINE, HOLE)
    known = lean_if_square_to_the_skin(slope_x, slope_y)
    layers = made_for(solution, "block", side)
    assert {p.name.split("-")[2] for p in layers} >= {"solid", "channel"}
    for piece in layers:
        leaf = square(piece, side, slope_x, slope_y)
        assert base_edges(piece)
        walls = working_edges(piece)
        axes = [m.shape.edges[0] for m in piece.marks if m.op is Op.SCORE]
        for edge in (*walls, *axes):
            off = off_drill_axis(leaf.direction(edge.start, edge.end))
            assert off == pytest.approx(known, abs=TRUE)
        if thinner == 1.0:
            assert known < TRUE


@settings(max_examples=30, deadline=None)
@given(fronts=FRONTS, side=SIDES)
def test_on_a_wedge_that_does_not_taper_a_block_and_its_wrap_have_no_lean_at_all(fronts, side):
    """Prismatic stock is the usual case, and there is nothing to be known there."""
    solution, faces = ruled_job(fronts, 1.0)
    slope_x, slope_y = faces[side].slopes(LINE, HOLE)
    for piece in made_for(solution, "block", side):
        leaf = square(piece, side, slope_x, slope_y)
        for edge in working_edges(piece):
            assert off_drill_axis(leaf.direction(edge.start, edge.end)) < TRUE
    (wrap,) = made_for(solution, "wrap", side)
    assert off_drill_axis(axis_of_wrapped(wrap, slope_x, slope_y, side)) < TRUE


@settings(max_examples=30, deadline=None)
@given(fronts=FRONTS, thinner=st.floats(0.5, 1.0), side=SIDES)
def test_a_wrap_folded_round_its_block_and_sawn_has_its_bore_along_the_drill_but_for_the_lean(
    fronts, thinner, side
):
    """The saw follows the base line, and the bore follows the axis that is drawn."""
    solution, faces = ruled_job(fronts, thinner)
    slope_x, slope_y = faces[side].slopes(LINE, HOLE)
    (wrap,) = made_for(solution, "wrap", side)
    off = off_drill_axis(axis_of_wrapped(wrap, slope_x, slope_y, side))
    assert off == pytest.approx(lean_if_square_to_the_skin(slope_x, slope_y), abs=TRUE)


def axis_of_wrapped(wrap: Piece, slope_x: float, slope_y: float, side: str) -> Vector:
    """Fold a wrap round its block, saw it, stand it on the skin; return where its bore points.

    The paper is folded at its four corners, all turned the same way by a right angle; the block is
    sawn through its base line, and the sawn end is laid on the skin, its first face forward.
    """
    base = [e.start for e in wrap.outline.edges][:5]
    # The block's own space: along the first face, from hole 1 into the block, up the bore.
    way, corner, corners = np.array([1.0, 0.0, 0.0]), np.zeros(3), []
    for here, there in pairwise(base):
        corners.append(corner + np.array([0.0, 0.0, here.y]))
        corner = corner + (there.x - here.x) * way
        way = np.array([-way[1], way[0], 0.0])
    assert np.linalg.norm(corner) < 1e-9, "the fourth face ends where the first begins"
    assert base[4].y == pytest.approx(base[0].y), "the base line meets itself at the glued corner"
    first, second, third, fourth = corners
    sawn = unit(*np.cross(second - first, fourth - first))
    assert abs(float((third - first) @ sawn)) < 1e-9, "the base line lies in one plane"
    forward = unit(*(second - first)) * ways(wrap)
    block = np.array([forward, np.cross(sawn, forward), sawn])
    ahead, outward = forward_on_face(slope_x, side), face_normal(slope_x, slope_y, side)
    skin = np.array([ahead, np.cross(outward, ahead), outward])
    # The bore is drawn square to the top edge, along the block.
    (drawn,) = {tuple(m.shape.edges[0].direction()) for m in wrap.marks if is_axis(m)}
    return np.asarray(skin.T @ block @ np.array([drawn[0], 0.0, drawn[1]]))


def is_axis(mark) -> bool:
    return mark.op is Op.SCORE and not mark.dashed


@settings(max_examples=30, deadline=None)
@given(fronts=FRONTS, thinner=st.floats(0.5, 1.0), side=SIDES)
def test_the_foot_holds_the_guide_square_to_the_skin_and_both_bases_reach_it(fronts, thinner, side):
    """A foot that leans the guide leans every hole; one that is too deep lifts it."""
    solution, faces = ruled_job(fronts, thinner)
    slope_x, slope_y = faces[side].slopes(LINE, HOLE)
    (guide,) = made_for(solution, "guide", side)
    (foot,) = made_for(solution, "foot", side)
    normal, ahead = face_normal(slope_x, slope_y, side), forward_on_face(slope_x, side)
    slots = [slot_walls(piece) for piece in (guide, foot)]
    corners = tuple(
        math.acos(float(np.clip(walls[0].direction().x * ways(guide), -1.0, 1.0)))
        for walls in slots
    )
    stands = crossing(ahead, normal, corners, 1.0)
    assert off_drill_axis(stands) == pytest.approx(off_drill_axis(normal), abs=TRUE)
    # The guide's slot ends as far above its base as the foot's begins above its own.
    ends = [max(w.end.y for w in slots[0]), min(w.start.y for w in slots[1])]
    assert ends[0] == pytest.approx(ends[1], abs=1e-9)
    up = stands - float(stands @ ahead) * ahead
    leaf = Leaf(np.zeros(3), ahead * ways(guide), unit(*up))
    for edge in working_edges(guide):
        off = off_drill_axis(leaf.direction(edge.start, edge.end))
        assert off == pytest.approx(lean_if_square_to_the_skin(slope_x, slope_y), abs=TRUE)


def slot_walls(piece: Piece) -> list[Edge]:
    """Return the two walls of a slot: upright neighbours of a short level edge inside the piece."""
    edges = list(piece.outline.edges)
    box = piece.outline.bounds()
    for n, edge in enumerate(edges):
        inside = box.bottom + 3.0 < edge.start.y < box.top - 3.0
        if inside and abs(edge.direction().y) < 1e-9 and edge.chord < 8.0:
            return [upright(edges[n - 1]), upright(edges[(n + 1) % len(edges)])]
    raise AssertionError(f"{piece.name} has no slot")


class RoundSkin:
    """One side of the bulging section, from the points of its outline file."""

    def __init__(self, side: str, chord: float) -> None:
        points = np.array(bulging_points()) * chord
        turn = int(np.argmin(points[:, 0]))
        rows = points[: turn + 1] if side == "a" else points[turn:]
        forward = chord - rows[:, 0]
        order = np.argsort(forward)
        self.x, self.z = forward[order], np.abs(rows[order, 1])
        # Heights count from the line that joins the middle of the trailing edge with the nose.
        nose = float(points[turn, 1]) * (1.0 if side == "a" else -1.0)
        self.z = self.z - nose * self.x / chord

    def height(self, x: float) -> float:
        """Return the skin's height off the chord plane, mm."""
        return float(np.interp(x, self.x, self.z))

    def settle(self, start: float, near: float, far: float) -> float:
        """Return how steeply a base line lies whose two contacts stand on the skin, radians.

        Args:
            start: where the base line's own zero is, mm forward of the trailing edge.
            near: one contact, mm from that zero along the base line.
            far: the other one.
        """

        def too_high(tilt: float) -> float:
            low, high = (start + d * math.cos(tilt) for d in (near, far))
            rise = self.height(high) - self.height(low)
            return (far - near) * math.sin(tilt) - rise

        low, high = -0.5, 0.9
        for _ in range(80):
            middle = (low + high) / 2
            if too_high(middle) > 0.0:
                high = middle
            else:
                low = middle
        return (low + high) / 2


@pytest.mark.parametrize("chord", [300.0, 800.0])
@pytest.mark.parametrize("side", ["a", "b"])
def test_a_guide_on_its_two_feet_on_a_round_skin_has_its_edge_along_the_drill(side, chord):
    """Its corner is cut for where its feet stand, not for the skin under the hole."""
    solution = solve(a_job(bulging(chord=chord), holes=row_of_holes(5)))
    skin = RoundSkin(side, chord)
    (guide,) = made_for(solution, "guide", side)
    feet = sorted(abs(e.start.x + e.end.x) / 2 for e in base_edges(guide))
    assert len(feet) == 2
    # The corner of base and working edge stands half a bit forward of the hole.
    tilt = skin.settle(LINE + 1.25, feet[0], feet[1])
    leaf = plumb(guide, side, math.tan(tilt))
    edge = max(working_edges(guide), key=lambda e: ways(guide) * -e.start.x)
    assert off_drill_axis(leaf.direction(edge.start, edge.end)) < TRUE


@pytest.mark.parametrize("chord", [300.0, 800.0])
@pytest.mark.parametrize("side", ["a", "b"])
def test_a_block_on_its_two_pads_on_a_round_skin_has_its_channel_along_the_drill(side, chord):
    """A block is not sighted: what its pads do to it, nobody sees."""
    solution = solve(a_job(bulging(chord=chord), holes=row_of_holes(5)))
    skin = RoundSkin(side, chord)
    layers = made_for(solution, "block", side)
    (solid,) = (p for p in layers if p.name.endswith("solid"))
    pads = sorted(abs(e.start.x + e.end.x) / 2 for e in base_edges(solid))
    assert len(pads) == 2
    leaf = plumb(solid, side, math.tan(skin.settle(LINE, pads[0], pads[1])))
    for piece in layers:
        for edge in working_edges(piece):
            assert off_drill_axis(leaf.direction(edge.start, edge.end)) < TRUE
