"""What lies under a trim template, as it is drawn on it: holes, notches, front, fairing, waste."""

from __future__ import annotations

import math
from collections.abc import Sequence

from jiggen.drawing.affine import Point
from jiggen.drawing.shapes import Circle, Edge, Mark, Op, Path
from jiggen.jigs.trim_end import ARM, BEYOND, COLUMN, EndHole, TrimEnd


def work_marks(end: TrimEnd, length: float, pinned: Sequence[EndHole]) -> list[Mark]:
    """Return holes, notches, lines of front and fairing, and on paper the waste beyond the cut.

    Args:
        end: what lies near the cut.
        length: of the template, mm.
        pinned: rivet holes that are cut out.

    Returns:
        The marks as drawn with the cut at the left.
    """
    inside = (0.0, length - COLUMN)
    waste = (-min(BEYOND, max(end.waste, 0.0)), 0.0)
    marks = []
    for hole in end.lightening:
        if abs(hole.inward) < hole.radius:
            marks.append(_notch(hole))
        marks += _rim(hole, inside, dashed=True)
        marks += _rim(hole, waste, waste=True)
        if _within(hole.inward, inside):
            marks += _cross(hole, 0.0, 1.5)
    for hole in end.half_holes:
        marks.append(_notch(hole))
        marks += _rim(hole, inside)
        marks += _rim(hole, waste, waste=True)
    for hole in end.shown():
        if hole not in pinned:
            marks += _rim(hole, inside)
        if _within(hole.inward, inside):
            marks += _cross(hole, hole.radius + 0.4, ARM - 0.4)
        marks += _rim(hole, waste, waste=True)
    if end.depth is not None:
        marks.append(_line((0.6, end.depth), (length - COLUMN, end.depth)))
    if end.fairing_drawn:
        marks.append(_line((end.fairing, 3.8), (end.fairing, end.work_top)))
    if waste[0] < -2.0:
        marks += _stock(end, waste[0])
    return marks


def _stock(end: TrimEnd, far: float) -> list[Mark]:
    """Return the edges of the stock in the waste as far as they are drawn, and a break there."""
    marks = [_beyond((far, 0.0), (-1.6, 0.0))]
    if end.depth:
        marks.append(_beyond((far, end.depth), (-1.6, end.depth)))
        step, middle = min(1.5, -far / 4.0), end.depth / 2.0
        zigzag = [(0.0, -1.2), (1.0, -0.6), (0.0, 0.6), (1.0, 1.2)]
        corners = [(far + step * x, middle + step * y) for x, y in zigzag]
        path = Path.open([(far, 0.0), *corners, (far, middle + 1.8 * step), (far, end.depth)])
        marks.append(Mark(shape=path, op=Op.NOTE, line=0.15, paper_only=True))
    return marks


def _within(inward: float, span: tuple[float, float]) -> bool:
    return span[0] + ARM + 1.5 <= inward <= span[1] - ARM - 1.5


def _line(start: tuple[float, float], stop: tuple[float, float]) -> Mark:
    return Mark(shape=Path.open([start, stop]), op=Op.SCORE, dashed=True)


def _beyond(start: tuple[float, float], stop: tuple[float, float]) -> Mark:
    """Return an edge of the stock in the waste, clear of the grey beside the cut."""
    return Mark(shape=Path.open([start, stop]), op=Op.NOTE, line=0.15, paper_only=True)


def _cross(hole: EndHole, clear: float, arm: float) -> list[Mark]:
    """Return four strokes toward a hole's middle, from `clear` mm off it, `arm` mm long."""
    x, y = hole.inward, hole.forward
    ways = ((1, 0), (0, 1), (-1, 0), (0, -1))
    return [
        Mark(
            shape=Path.open(
                [(x + i * clear, y + j * clear), (x + i * (clear + arm), y + j * (clear + arm))]
            ),
            op=Op.SCORE,
        )
        for i, j in ways
        if y + j * (clear + arm) > 0.5
    ]


def _rim(
    hole: EndHole, span: tuple[float, float], *, waste: bool = False, dashed: bool = False
) -> list[Mark]:
    """Return the part of a hole's rim between two lines across the edge."""
    # Clear of the edges themselves, so that no line lies on a cut.
    low, high = span[0] + (0.0 if waste else 0.5), span[1] - (1.6 if waste else 0.0)
    least = max((low - hole.inward) / hole.radius, -1.0)
    most = min((high - hole.inward) / hole.radius, 1.0)
    if least >= most:
        return []
    op = Op.NOTE if waste else Op.SCORE
    first, last = math.acos(most), math.acos(least)
    if most >= 1.0 and least <= -1.0:
        shapes: list[Path | Circle] = [Circle(Point(hole.inward, hole.forward), hole.radius)]
    elif most >= 1.0:
        shapes = [_arc(hole, -last, last)]
    elif least <= -1.0:
        shapes = [_arc(hole, first, math.tau - first)]
    else:
        shapes = [_arc(hole, first, last), _arc(hole, -last, -first)]
    line = 0.15 if waste else None
    return [Mark(shape=s, op=op, line=line, dashed=dashed, paper_only=waste) for s in shapes]


def _arc(hole: EndHole, start: float, stop: float) -> Path:
    """Return an arc about a hole's middle, counter-clockwise, in two halves."""
    bulge = math.tan((stop - start) / 8.0)
    points = [
        Point(
            hole.inward + hole.radius * math.cos(turn), hole.forward + hole.radius * math.sin(turn)
        )
        for turn in (start, (start + stop) / 2.0, stop)
    ]
    return Path((Edge(points[0], points[1], bulge), Edge(points[1], points[2], bulge)))


def _notch(hole: EndHole) -> Mark:
    """Return the tint over what the part lacks behind the cut."""
    half = math.acos(-hole.inward / hole.radius)
    arc = _arc(hole, -half, half)
    chord = Edge(arc.edges[-1].end, arc.edges[0].start)
    return Mark(shape=Path((*arc.edges, chord)), op=Op.NOTE, fill=0.85, paper_only=True)
