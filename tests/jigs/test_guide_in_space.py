"""The guide put together from its flat pieces and stood on the wedge: where does the bit go?

The skins are planes or ruled faces given by their points; the pieces are read as a builder would
read them. Held against the normal of the chord plane, within 0.001 deg.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

import numpy as np
import pytest
from flatguide import Guide, off_on_outline, pieces_of_side, put_together, said, slot
from folding import RuledFace
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from offsetjobs import solved
from samplejobs import a_job, bulging, bulging_points, offsets, row_of_holes

from jiggen.drawing.affine import Affine
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Path
from jiggen.errors import DoesNotFit
from jiggen.jigs.guide import plan_guide
from jiggen.job import sections
from jiggen.job.sections import Strip
from jiggen.job.wedge import Outline, Station
from jiggen.solution import Solution
from jiggen.solve import solve

#: Degrees. What putting together may lose.
TRUE = 0.001
LINE, DEPTH, SHEET, DRILL = 8.0, 20.0, 3.0, 0.098 * 25.4

SKINS = st.floats(1.0, 30.0)
LEANS = st.floats(-2.0, 2.0)
HANDS = st.sampled_from(["", '"right"', '"left"'])
BASES = st.sampled_from(["solid", "skin"])


def pieces_of(solution: Solution, side: str) -> tuple[list[Piece], float]:
    return pieces_of_side(plan_guide(solution).pieces, solution.job.sides, side)


def built(solution: Solution, side: str) -> Guide:
    pieces, facing = pieces_of(solution, side)
    return put_together(*pieces, facing=facing, sheet=solution.job.guide_sheet)


def hand(solution: Solution) -> float:
    """Return the way that places along the row run in space: y of space, or against it.

    Space is right-handed: x forward, z out of side A, and so y to the left of who looks forward.
    """
    strip = solution.job.strip
    return -1.0 if strip is not None and strip.zero == "left" else 1.0


def a_plane(a: float, b: float, lean_a: float, lean_b: float, zero: str, **more: str) -> Solution:
    sections = dict(more)
    if zero:
        sections["strip"] = f"zero = {zero}"
    return solved(a, b, lean_a=lean_a, lean_b=lean_b, line=LINE, depth=DEPTH, sections=sections)


def slopes(angle: float, lean: float, of: Solution) -> tuple[float, float]:
    return math.tan(math.radians(angle)), hand(of) * math.tan(math.radians(lean))


@settings(max_examples=8)
@given(a=SKINS, b=SKINS, lean_a=LEANS, lean_b=LEANS, zero=HANDS, base=BASES)
def test_the_bit_stands_square_to_the_chord_plane_on_both_sides(a, b, lean_a, lean_b, zero, base):
    """Both lines and the edge, hole 1 at either hand, on skins that climb along the edge."""
    more = {"guide": f'base = "{base}"\nsheet = {SHEET}', "drill": "length = 90"}
    solution = a_plane(a, b, lean_a, lean_b, zero, **more)
    for side, angle, lean in (("a", a, lean_a), ("b", b, lean_b)):
        # A lean that nobody would see is left out of the slot, and counts as it is.
        lean_cut = lean if abs(lean) > 0.1 else 0.0
        one = built(solution, side)
        laid = one.laid(slopes(angle, lean_cut, solution), side)
        assert laid.off < TRUE


@settings(max_examples=5)
@given(a=st.floats(1.0, 20.0), lean=st.floats(0.2, 2.0), zero=HANDS)
def test_one_guide_serves_both_sides_turned_over_its_foot_turned_round(a, lean, zero):
    """A skin that climbs on both sides leans the foot's slot to opposite hands."""
    solution = a_plane(a, a, lean, lean, zero)
    pieces = plan_guide(solution).pieces
    assert [p.side for p in pieces][:2] == ["ab", "ab"]
    for side in "ab":
        assert built(solution, side).laid(slopes(a, lean, solution), side).off < TRUE
    ((back, edge, foot), facing) = pieces_of(solution, "b")
    wrong = put_together(back, edge, foot, facing=-facing, sheet=SHEET)
    assert wrong.laid(slopes(a, lean, solution), "b").off == pytest.approx(2 * lean, rel=0.1)


@settings(max_examples=10)
@given(
    fronts=st.tuples(st.floats(2.5, 6.0), st.floats(2.5, 6.0)),
    thinner=st.floats(0.4, 0.8),
    side=st.sampled_from("ab"),
    zero=st.sampled_from(["", "right", "left"]),
)
def test_on_the_ruled_faces_of_a_tapered_wedge_it_stands_square_too(fronts, thinner, side, zero):
    """The face is twisted: only its rulings are straight."""
    hole, rear, wide = 150.0, 0.4, 20.0
    rows = []
    for at, share in ((0.0, 1.0), (200.0, thinner)):
        up = tuple(rear + front * share for front in fronts)
        rows.append(offsets(up, (rear, rear), wide, at))
    strip = Strip(zero=zero) if zero else None
    job = a_job(*rows, holes=row_of_holes(1, positions=(hole,)), depth=24.0, strip=strip)
    solution = solve(job)
    front = fronts["ab".index(side)]
    first, last = ((rear, rear + front * share, wide) for share in (1.0, thinner))
    face = RuledFace(first, last, 200.0, side)
    forward, along = face.slopes(LINE, hole)
    # A lean that nobody would see is left out of the slot, and counts as it is.
    seen = along if abs(math.degrees(math.atan(along))) > 0.1 else 0.0
    laid = built(solution, side).laid((forward, hand(solution) * seen), side)
    assert laid.off < TRUE


@pytest.mark.parametrize("side", ["a", "b"])
@pytest.mark.parametrize(("a", "b"), [(5.7, 2.0), (20.0, 11.0), (-3.0, 9.0), (9.0, -3.0)])
@pytest.mark.parametrize("base", ["solid", "skin"])
def test_the_bit_stands_in_the_corner_and_the_guide_on_its_two_contacts(a, b, side, base):
    """A gap between edge and line leans the bit; a third contact rocks."""
    guide = f'base = "{base}"\nsheet = {SHEET}'
    solution = a_plane(a, b, 0.0, 0.0, "", guide=guide, drill="length = 90")
    angle = a if side == "a" else b
    one = built(solution, side)
    # The lines are a bit's width apart, and the edge lies along the forward one.
    apart = np.cross(one.axis[1], one.lines[1] - one.lines[0])
    assert float(np.linalg.norm(apart)) == pytest.approx(DRILL, abs=1e-6)
    for end in one.edge:
        assert float(np.linalg.norm(np.cross(one.axis[1], end - one.lines[1]))) < 1e-6
    laid = one.laid(slopes(angle, 0.0, solution), side)
    # On the skin: the foot's whole lower corner, and the back plate either side of the bit.
    assert len(laid.foot) == 2
    feet = laid.forward(laid.foot, LINE)
    pads = np.sort(laid.forward(laid.pads, LINE))
    assert feet.max() - feet.min() < 1e-9
    cos = math.cos(math.radians(angle))
    margin = 1.0 * cos
    touching = SHEET if angle >= 0 else 0.0
    assert feet[0] == pytest.approx(margin + touching, abs=1e-6)
    nib = pads[pads < LINE]
    # The nib runs from the foot to where the bit needs room for its burr.
    assert len(nib) == 2
    assert nib[0] == pytest.approx(margin + SHEET, abs=1e-6)
    assert nib[1] < LINE - DRILL / 2
    pad = pads[pads > LINE]
    assert len(pad) == 2
    if base == "solid":
        assert pad[1] == pytest.approx(DEPTH - margin, abs=1e-6)
        assert pad[1] - pad[0] == pytest.approx(3.0 * cos, abs=1e-6)
    else:
        assert pad[1] == pytest.approx(LINE + 70.0 * cos, abs=1e-6)
        assert pad[0] < DEPTH


@pytest.mark.parametrize("lean", [-2.0, -0.6, 0.6, 2.0])
@pytest.mark.parametrize(("line", "depth"), [(8.0, 20.0), (7.0, 14.0)])
def test_what_a_climbing_skin_does_to_plates_cut_square_is_counted(lean, line, depth):
    """The foot is cut for the middle of the plates, and one side of their thickness stands.

    By trial in space, on the worse of the two sides; the narrow wedge has no room for a nib.
    """
    angle = 6.0
    given = {"line": line, "depth": depth, "sections": {"guide": f'sheet = {SHEET}\ncut = "laser"'}}
    solution = solved(angle, angle, lean_a=lean, lean_b=lean, **given)
    found = []
    for side in "ab":
        one = built(solution, side)
        # The edge plate is glued to the lettered face: to the right of who looks forward.
        ends = (-SHEET / 2, SHEET / 2 + SHEET)
        thick = np.vstack([one.back + np.array([x, 0.0, 0.0]) for x in ends])
        real = replace(one, back=thick).laid(slopes(angle, lean, solution), side)
        found.append(real.off)
    (check,) = (c for c in plan_guide(solution).checks if c.id == "guide-error-1")
    counted = math.degrees(dict(check.why.values)["climb"].radians)
    assert max(found) == pytest.approx(counted, rel=0.02)
    assert max(found) > 0.1


@pytest.mark.parametrize("chord", [200.0, 300.0, 800.0])
@pytest.mark.parametrize("side", ["a", "b"])
@pytest.mark.parametrize("base", ["solid", "skin"])
def test_laid_on_the_outline_of_a_round_skin_the_bit_stands_square_too(chord, side, base):
    """Its corner is cut for where its feet stand, not for the skin under the hole."""
    asked = sections.Guide(base=base)
    of = a_job(bulging(chord=chord), holes=row_of_holes(5), depth=20.0, guide=asked)
    try:
        one = built(solve(of), side)
    except DoesNotFit as trouble:
        # A long base bridges a round skin, and would show the direction of its chord.
        told = (base, trouble.key)
        assert told == ("skin", "guide.base")
        return
    skin = round_skin(side, chord)
    assert abs(off_on_outline(one, skin, LINE)) < TRUE


def test_laid_on_a_hollow_skin_whose_edge_is_thicker_than_what_follows_it_stands_square():
    """Its foot is cut square and stands on its aft corner, though the skin at the hole rises."""
    chord, s = 300.0, np.linspace(0.0, 1.0, 201)
    high = (0.002 - 0.03 * s + 0.6 * s**2) * np.sqrt(1.0 - s)
    upper = list(zip(1.0 - s, high, strict=True))
    points = (*upper, *((x, -z) for x, z in reversed(upper[:-1])))
    outline = Outline(file="x.dat", begin=0.92, chord=chord, points=points)
    of = solve(a_job(Station(outline=outline), holes=row_of_holes(2), depth=24.0))
    skin = partial(np.interp, xp=s * chord, fp=high * chord)
    assert of.skin_at(0.0, "a") > 0.0
    assert skin(1.0) > skin(4.0)
    for side in "ab":
        assert abs(off_on_outline(built(of, side), skin, LINE)) < TRUE


def test_laid_on_waves_it_stands_square_where_it_leans_to_the_other_hand_than_they_do():
    """The foot stands on its other corner then than on a straight face through that skin."""
    x = np.array([0.0, 4.0, 6.0, 10.0, 15.0, 19.0, 20.0, 24.0, 150.0, 290.0, 300.0])
    high = np.array([1.7, 1.55, 1.4, 1.5, 2.1, 2.1, 1.5, 1.5, 1.5, 1.5, 0.0])
    other = np.interp(x, [0.0, 24.0, 290.0, 300.0], [0.5, 3.0, 3.0, 0.0])
    a, b = (list(zip(1.0 - x / 300.0, z / 300.0, strict=True)) for z in (high, -other))
    chord_line = (high[0] - other[0]) / 2.0 * (1.0 - x / 300.0)
    outline = Outline(file="x.dat", begin=0.92, chord=300.0, points=(*a, *b[-2::-1]))
    of = solve(a_job(Station(outline=outline), holes=row_of_holes(2), depth=24.0))
    one = built(of, "a")
    assert of.skin_at(0.0, "a") > 0.0
    assert (one.foot[:, 2] > 0.0).all()
    skin = partial(np.interp, xp=x, fp=high - chord_line)
    assert abs(off_on_outline(one, skin, LINE)) < TRUE


@pytest.mark.parametrize("angle", [-25.0, -16.0, -3.0, 0.0, 9.0])
def test_its_back_end_clears_the_trailing_edge(angle):
    """On a skin that falls forward the edge stands above the mouth, and would lift the foot."""
    solution = a_plane(angle, 30.0, 0.0, 0.0, "")
    slope = math.tan(math.radians(angle))
    assert abs(off_on_outline(built(solution, "a"), lambda x: x * slope, LINE)) < TRUE


def round_skin(side: str, chord: float) -> Callable[[np.ndarray], np.ndarray]:
    """Return the height of one side of the bulging section over the chord plane, from its file."""
    points = np.array(bulging_points()) * chord
    nose = int(np.argmin(points[:, 0]))
    rows = points[: nose + 1] if side == "a" else points[nose:]
    order = np.argsort(chord - rows[:, 0])
    x, z = (chord - rows[:, 0])[order], np.abs(rows[order, 1])
    off = float(points[nose, 1]) * (1.0 if side == "a" else -1.0)
    return lambda forward: np.interp(forward, x, z - off * x / chord)


def bent(piece: Piece, moves: dict[int, tuple[float, float]]) -> Piece:
    """Return a piece with some corners of its outline moved."""
    corners = [(e.start.x, e.start.y, e.bulge) for e in piece.outline.edges]
    for k, (dx, dy) in moves.items():
        x, y, bulge = corners[k]
        corners[k] = (x + dx, y + dy, bulge)
    return replace(piece, outline=Path.closed(corners))


def mirrored(piece: Piece) -> Piece:
    place = Affine.mirror_x()
    moved = piece.moved(place)
    return replace(moved, forward=piece.forward)


def lowered(piece: Piece, by: float) -> Piece:
    """Return a piece whose slot is `by` mm deeper."""
    middle, out, wide = slot(piece)
    near = [
        k
        for k, e in enumerate(piece.outline.edges)
        if abs(math.dist(e.start, middle) - wide / 2) < 1e-6
    ]
    assert len(near) == 2
    return bent(piece, {k: (-by * out[0], -by * out[1]) for k in near})


def burred(piece: Piece) -> Piece:
    """Return a back plate whose forward pad stands 0.005 mm too low."""
    low = sorted(range(len(piece.outline.edges)), key=lambda k: piece.outline.edges[k].start.y)
    forward = max(low[:6], key=lambda k: piece.outline.edges[k].start.x)
    start = piece.outline.edges[forward].start
    pad = [
        k
        for k, e in enumerate(piece.outline.edges)
        if math.dist(e.start, start) < 3.0 + 1e-6 and e.start.y <= start.y + 1e-9
    ]
    return bent(piece, {k: (0.0, -0.005) for k in pad})


MUTANTS = {
    "the back plate turned over": lambda b, e, f: (mirrored(b), mirrored(e), f),
    "the foot turned round": lambda b, e, f: (b, e, mirrored(f)),
    "a foot for no lean": lambda b, e, f: (b, e, pieces_of(a_plane(6, 3, 0, 0, ""), "a")[0][2]),
    "a foot's slot 0.01 short": lambda b, e, f: (b, e, lowered(f, -0.01)),
    "a back plate's slot 0.01 short": lambda b, e, f: (lowered(b, -0.01), e, f),
    "a burr of 0.005 on the pad": lambda b, e, f: (burred(b), e, f),
    "another guide's edge": lambda b, e, f: (
        b, replace(e, outline=e.outline.moved(Affine(a=1.0, b=0.0, c=0.0005, d=1.0))), f),
}  # fmt: skip


@pytest.mark.parametrize("mutant", MUTANTS)
def test_what_is_cut_wrong_is_found(mutant):
    """A check in space that passes anything proves nothing."""
    solution = a_plane(6.0, 3.0, 0.8, 0.4, "")
    pieces, facing = pieces_of(solution, "a")
    good = put_together(*pieces, facing=facing)
    assert good.laid(slopes(6.0, 0.8, solution), "a").off < TRUE
    wrong = put_together(*MUTANTS[mutant](*pieces), facing=facing)
    assert wrong.laid(slopes(6.0, 0.8, solution), "a").off > 2 * TRUE


def test_a_part_with_hole_1_at_the_other_hand_takes_another_foot():
    """Its skin climbs to the other hand: the same foot would lean every hole by twice the climb."""
    right, left = (a_plane(6.0, 3.0, 0.8, 0.4, zero) for zero in ("", '"left"'))
    (back, edge, _), _ = pieces_of(right, "a")
    (_, _, foot), facing = pieces_of(left, "a")
    wrong = put_together(back, edge, foot, facing=facing)
    assert wrong.laid(slopes(6.0, 0.8, right), "a").off == pytest.approx(1.6, rel=0.05)


def test_a_lean_that_nobody_sees_is_not_cut():
    """A slot that is a tenth of a degree off square is taken for a slip of the saw."""
    (_, _, foot), _ = pieces_of(a_plane(6.0, 6.0, 0.09, 0.09, ""), "a")
    assert "FORWARD" not in said(foot)
    assert [angle.nominal for angle in foot.angles] == [90.0]
    (_, _, foot), _ = pieces_of(a_plane(6.0, 3.0, 0.11, 0.05, ""), "a")
    assert "THIS FACE FORWARD" in said(foot)


def test_a_skin_that_climbs_like_a_roof_carries_no_foot():
    """Its slot would run out of the foot."""
    sections = {"guide": "pin = 26", "drill": "length = 120"}
    with pytest.raises(DoesNotFit, match=r"climbs 22\.00 deg along the span") as caught:
        plan_guide(solved(4.0, 4.0, lean_a=22.0, count=2, sections=sections))
    assert caught.value.key == "wedge.station"
