"""Trim template: one end of the part at 1:1, whose end edge is the cut.

It lies on the skin side of the wedge with its long edge flush with the trailing edge and pins
through the rivet holes; the cut is scribed along its end edge. What the cut passes is drawn on it
and, on paper, beyond it: so it can be seen before the saw that a notch is left, and how deep.

If it were wrong, the part would end short of its trim line, or be cut through the last rivet; a
template laid at the wrong end would do the same. So the corner ahead of the cut is cut away, with
a slope at the start and with a step at the end.

::

           _________________________________________ C      title, arrows, bars
          |                                         |
         /                                          |
     D /                                            |
      |  CUT     fairing        number, number ...  |      rows
      |-  -  -  -  -  -  -  -  -  -  -  -  -  -  -  |      front of the wedge
  ( ) |  ( )            (   )          (   )        |      lightening holes
      |         o          o          o          o  |      rivet holes
     A|_____________________________________________|B     TE edge
      0  u, inward from the cut
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.labels import check_edge_marks, witness_band
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Circle, Edge, Mark, Op, Path
from jiggen.jigs.trim_lettering import ROW, TrimLabels, bars, lettering

#: mm. White between the wedge as drawn and the rows ahead of it.
CLEAR = 2.0
#: mm. Height of the band with the title.
BAND = 42.0
#: mm. How far the corner ahead of the cut is cut away: seen at once, and no room for a saw.
CUT_AWAY = 14.0
#: mm. Column of the standing bars at the far end.
COLUMN = 9.0
#: mm. Least and greatest length: room for the title, and what a sheet of paper holds.
LEAST, MOST = 116.0, 160.0
#: Rivet holes that a template should reach.
HOLES = 3
#: Rivet holes whose place is a check dimension.
SIZED = 4
#: mm. How much of the waste is drawn beyond the cut, on paper only.
BEYOND = 18.0
#: mm. A hole nearer to an edge than this is drawn and not cut out.
RIM = 1.5
#: Degrees. A cut that is off square by more shows as a wedge of light against the next part.
SQUARE = 0.5
#: mm. How far the cut may lie from its place: half of what a saw takes.
PLACE = 0.25
#: mm. Length of a hole's cross beyond its rim.
ARM = 1.6


@dataclass(frozen=True, slots=True, kw_only=True)
class EndHole:
    """A rivet hole or a lightening hole near a cut, as it lies on the face.

    Attributes:
        inward: of its middle from the cut, mm; negative in the waste.
        forward: of the trailing edge, mm.
        radius: mm.
        number: of a rivet hole; None for a lightening hole.
        sound: whether a pin can hold in it: no edge runs into it.
    """

    inward: float
    forward: float
    radius: float
    number: int | None = None
    sound: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimEnd:
    """One end of the part, as it lies on the face.

    Attributes:
        rivets: rivet holes by their distance from the cut.
        lightening: lightening holes by their distance from the cut.
        depth: of the wedge along the face, mm, or None.
        fairing: how far in from the cut the fairing covers, mm; 0 if there is none.
        waste: what is left of the stock beyond the cut, mm.
    """

    rivets: tuple[EndHole, ...]
    lightening: tuple[EndHole, ...]
    depth: float | None
    fairing: float
    waste: float

    @property
    def length(self) -> float:
        """Return how long a template shows this end, mm."""
        row = [hole.inward for hole in self.rivets if hole.inward > 0.0][:HOLES]
        passed = [h.inward + h.radius for h in self.lightening if abs(h.inward) < h.radius]
        wanted = max([LEAST, *(at + CUT_AWAY + COLUMN for at in (*row, *passed))])
        while wanted > MOST and row:
            wanted = max([LEAST, *(at + CUT_AWAY + COLUMN for at in row)])
            row.pop()
        return min(wanted, MOST)

    @property
    def work_top(self) -> float:
        """Return how far forward the wedge is drawn, mm."""
        holes = (*self.rivets, *self.lightening)
        tops = [h.forward + h.radius + ARM for h in holes if -BEYOND < h.inward < self.length]
        return max([self.depth or 0.0, 12.0, *tops]) + CLEAR


def build_trim(name: str, end: TrimEnd, labels: TrimLabels, *, cut_right: bool) -> Piece:
    """Build the template of one end.

    Args:
        name: file name of the piece.
        end: what lies near the cut.
        labels: see `TrimLabels`.
        cut_right: the cut is at the right-hand end, forward being up.

    Returns:
        The piece; its TE edge lies along x.
    """
    place = Affine.mirror_x() if cut_right else Affine()
    length, work = end.length, end.work_top
    rows, top = work + 2 * ROW, work + 2 * ROW + BAND
    # Sloped at the start, stepped at the end: neither is the other turned over.
    shoulder = (CUT_AWAY, rows + (CUT_AWAY if cut_right else 0.0))
    corners = [
        *((0.0, 0.0), (length, 0.0), (length, top), (CUT_AWAY, top)),
        *(shoulder, (0.0, rows)),
    ]
    outline = Path.closed(corners).moved(place)
    a, b, c, d = (place.point(p) for p in (corners[0], corners[1], corners[2], corners[5]))
    te, cut = Edge(a, b), Edge(a, d)
    pinned = [hole for hole in end.rivets if _can_be_cut(hole, length)]
    bar_marks, bar_sizes = bars(CUT_AWAY, length, rows, top, COLUMN, place)
    return Piece(
        name=name,
        title=labels.title,
        kind="trim",
        outline=outline.reversed() if cut_right else outline,
        inner=tuple(
            Mark(shape=Circle(place.point((h.inward, h.forward)), h.radius), op=Op.CUT)
            for h in pinned
        ),
        marks=(
            *(mark.moved(place) for mark in _drawn(end, length, pinned)),
            *check_edge_marks(te, inside_left=not cut_right),
            *check_edge_marks(cut, inside_left=cut_right, at=(0.1, 0.9)),
            witness_band(te, waste_left=cut_right),
            witness_band(cut, waste_left=not cut_right),
            *bar_marks,
            *lettering(end_numbers(end, length), labels, (CUT_AWAY, length, work, top), place),
        ),
        angles=(CheckAngle(name="cut", nominal=90.0, base=te, working=cut),),
        dimensions=(
            *_sizes(a, b, c, d),
            *(_to_hole(hole, place) for hole in pinned[:SIZED]),
            *bar_sizes,
        ),
        side=labels.side_letter,
        notes=labels.notes,
        allowed_angle=SQUARE,
        allowed_length=PLACE,
    )


def end_numbers(end: TrimEnd, length: float) -> tuple[tuple[int, float], ...]:
    """Return number and place of the rivet holes that a template shows, mm from the cut.

    Args:
        end: what lies near the cut.
        length: of the template, mm.
    """
    return tuple(
        (hole.number, hole.inward)
        for hole in end.rivets
        if hole.number is not None and 0.0 <= hole.inward <= length - COLUMN - RIM
    )


def _can_be_cut(hole: EndHole, length: float) -> bool:
    clear = min(hole.inward, length - COLUMN - hole.inward, hole.forward) - hole.radius
    return hole.sound and clear >= RIM


def _sizes(a: Point, b: Point, c: Point, d: Point) -> tuple[CheckDimension, ...]:
    rows = (
        ("A-B", a, b, "along the TE edge"),
        ("A-D", a, d, "along the cut"),
        ("B-C", b, c, "the far end"),
        ("B-D", b, d, "corner to corner: square if it is true"),
        ("A-C", a, c, "corner to corner"),
    )
    return tuple(
        CheckDimension(name=name, nominal=math.dist(p, q), start=p, end=q, how=how)
        for name, p, q, how in rows
    )


def _to_hole(hole: EndHole, place: Affine) -> CheckDimension:
    """Return what a calliper reads from the cut over the far rim of a rivet hole."""
    far = hole.inward + hole.radius
    return CheckDimension(
        name=f"hole-{hole.number}",
        nominal=far,
        start=place.point((0.0, hole.forward)),
        end=place.point((far, hole.forward)),
        how="from the cut edge to the far side of the hole, square to the cut",
    )


def _drawn(end: TrimEnd, length: float, pinned: list[EndHole]) -> list[Mark]:
    """Return holes, notches, lines of front and fairing, and on paper the waste beyond the cut."""
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
    for hole in end.rivets:
        if hole not in pinned:
            marks += _rim(hole, inside)
        if _within(hole.inward, inside):
            marks += _cross(hole, hole.radius + 0.4, ARM - 0.4)
        marks += _rim(hole, waste, waste=True)
    if end.depth is not None:
        marks.append(_line((0.6, end.depth), (length - COLUMN, end.depth)))
    if 1.0 < end.fairing < length - COLUMN:
        marks.append(_line((end.fairing, 3.6), (end.fairing, end.work_top + ROW - 0.4)))
    if waste[0] < -2.0:
        marks += [
            _beyond((waste[0], 0.0)),
            *([_beyond((waste[0], end.depth))] if end.depth else []),
        ]
    return marks


def _within(inward: float, span: tuple[float, float]) -> bool:
    return span[0] + ARM + 1.5 <= inward <= span[1] - ARM - 1.5


def _line(start: tuple[float, float], stop: tuple[float, float]) -> Mark:
    return Mark(shape=Path.open([start, stop]), op=Op.SCORE, dashed=True)


def _beyond(start: tuple[float, float]) -> Mark:
    """Return an edge of the stock in the waste, clear of the grey beside the cut."""
    path = Path.open([start, (-1.6, start[1])])
    return Mark(shape=path, op=Op.NOTE, line=0.15, paper_only=True)


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
