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
      |<= CUT = this edge                           |      rows
      |     | fairing covers to here                |
      |        number      number      number       |
      |-  - -  -  -  -  -  -  -  -  -  -  -  -  -  -|      front of the wedge
  ( ) |  ( ):           (   )          (   )        |      lightening holes
      |     :   o          o           o            |      rivet holes
     A|____________TE: this edge flush______________|B     TE edge
      0  u, inward from the cut
"""

from __future__ import annotations

import math

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.labels import check_edge_marks, witness_band
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Circle, Edge, Mark, Op, Path
from jiggen.jigs.trim_end import COLUMN, CUT_AWAY, EndHole, TrimEnd
from jiggen.jigs.trim_lettering import TrimLabels, TrimRoom, bars, lettering
from jiggen.jigs.trim_marks import work_marks

#: Rivet holes whose place is a check dimension.
SIZED = 4
#: mm. A hole nearer to an edge than this is drawn and not cut out.
RIM = 1.5
#: Degrees. A cut that is off square by more shows as a wedge of light against the next part.
SQUARE = 0.5
#: mm. How far the cut may lie from its place: half of what a saw takes.
PLACE = 0.25


def build_trim(
    name: str, end: TrimEnd, labels: TrimLabels, *, cut_right: bool, sloped: bool
) -> Piece:
    """Build the template of one end.

    Args:
        name: file name of the piece.
        end: what lies near the cut.
        labels: see `TrimLabels`.
        cut_right: the cut is at the right-hand end, forward being up.
        sloped: the corner ahead of the cut is cut away with a slope, as at the start; else with a
            step.

    Returns:
        The piece; its TE edge lies along x.
    """
    place = Affine.mirror_x() if cut_right else Affine()
    length = end.length
    room = TrimRoom.of(end, labels)
    rows, top = room.rows, room.top
    # Sloped at the start, stepped at the end: neither is the other turned over.
    shoulder = (CUT_AWAY, rows + (CUT_AWAY if sloped else 0.0))
    corners = [
        *((0.0, 0.0), (length, 0.0), (length, top), (CUT_AWAY, top)),
        *(shoulder, (0.0, rows)),
    ]
    outline = Path.closed(corners).moved(place)
    a, b, c, d = (place.point(p) for p in (corners[0], corners[1], corners[2], corners[5]))
    te, cut = Edge(a, b), Edge(a, d)
    pinned = [hole for hole in end.shown() if _can_be_cut(hole, length)]
    # Clear of the letters at the edge's ends.
    marked = (5.6 / rows, (room.work - 5.0) / rows)
    drawn = work_marks(end, length, pinned)
    bar_marks, bar_sizes = bars(room, place)
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
            *(mark.moved(place) for mark in drawn),
            *check_edge_marks(te, inside_left=not cut_right),
            *check_edge_marks(cut, inside_left=cut_right, at=marked),
            witness_band(te, waste_left=cut_right),
            witness_band(cut, waste_left=not cut_right),
            *bar_marks,
            *lettering(end, labels, room, drawn, place),
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
