"""The few widths, greys and arrows that every sheet is drawn with.

Two line widths in the ratio 1 : 2, a third for hatching, a thick one for the check bar; black says
it, and two greys only help. Source: ISO 128-2 (widths, chain and dashed lines) and ISO 128-3
(hatching), ISO 129-1 (dimensions), from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.lettering import SMALL, text_width
from jiggen.drawing.shapes import (
    SAME_POINT_MM,
    Anchor,
    Circle,
    Dash,
    Mark,
    Op,
    Path,
    Text,
    Weight,
    readable,
)

#: mm. True edge; dimension, leader, axis; hatching; the same in small pictures; the check bar.
WIDE, NARROW, HATCH, FINE_WIDE, FINE, BAR = 0.5, 0.25, 0.18, 0.35, 0.18, 1.0
#: Share of black: waste, and the band beside an edge that must be true.
TINT, BAND = 0.10, 0.45
#: mm. Width of the band.
BAND_WIDE = 1.25
#: mm on and off by kind of broken line; in small pictures, drawn with fine lines, half of it.
DASHES = {Dash.CHAIN: (9.0, 1.0, 1.0, 1.0), Dash.FOLD: (3.0, 1.0), Dash.HIDDEN: (1.5, 0.75)}
#: mm. Length and width of an arrowhead; of FORWARD's.
HEAD, FORWARD_HEAD = (3.0, 1.0), (6.0, 4.0)
#: mm. How long the FORWARD arrow is: as wished, and at least.
FORWARD_LONG, FORWARD_LEAST = 27.0, 15.0

Spot = tuple[float, float]


def line(*points: Spot, width: float = NARROW, dash: Dash = Dash.NONE, op: Op = Op.NOTE) -> Mark:
    """Return straight lines from point to point."""
    return Mark(shape=Path.open(points), op=op, line=width, dash=dash)


def area(points: Sequence[Spot], fill: float, width: float | None = None) -> Mark:
    """Return a closed area, filled with a share of black, with a line round it or none."""
    both = zip(points, (points[-1], *points), strict=False)
    corners = [p for p, before in both if math.dist(p, before) > SAME_POINT_MM]
    return Mark(shape=Path.closed(corners), op=Op.NOTE, line=width, fill=fill)


def words(
    at: Spot,
    text: str,
    height: float = SMALL,
    weight: Weight = Weight.MEDIUM,
    anchor: Anchor = Anchor.START,
    turn: float = 0.0,
    op: Op = Op.NOTE,
    white: bool = False,
) -> Mark:
    """Return a line of lettering."""
    return Mark(shape=Text(Point(*at), text, height, turn, anchor, weight, white), op=op)


def head(tip: Spot, direction: float, size: Spot = HEAD, op: Op = Op.NOTE) -> Mark:
    """Return a slim filled arrowhead that points along `direction`, radians."""
    long, wide = size
    turn = Affine.move(*tip) @ Affine.turn(math.degrees(direction))
    corners = [turn.point(p) for p in ((0.0, 0.0), (-long, wide / 2), (-long, -wide / 2))]
    return Mark(shape=Path.closed(corners), op=op, fill=1.0)


def leader(start: Spot, tip: Spot, op: Op = Op.NOTE) -> tuple[Mark, ...]:
    """Return one straight narrow line with an arrowhead at its tip."""
    direction = math.atan2(tip[1] - start[1], tip[0] - start[0])
    return (line(start, tip, op=op), head(tip, direction, op=op))


def label(at: Spot, text: str, tip: Spot) -> tuple[Mark, ...]:
    """Return words with a leader to what they name, from whichever end of them is nearer."""
    wide = text_width(text, SMALL)
    right = tip[0] > at[0] + wide / 2
    start = (at[0] + wide + 1.0, at[1] + SMALL / 2) if right else (at[0] - 1.0, at[1] + SMALL / 2)
    return (words(at, text), *leader(start, tip))


def dimension(
    start: Spot, end: Spot, text: str, *, off: float, height: float = SMALL
) -> tuple[Mark, ...]:
    """Return a dimension between two points, drawn `off` mm to the left of the way between them.

    The figure stands above the line and reads from below or from the right.
    """
    long = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / long, (end[1] - start[1]) / long
    nx, ny = -uy, ux
    side = math.copysign(1.0, off)
    a = (start[0] + nx * off, start[1] + ny * off)
    b = (end[0] + nx * off, end[1] + ny * off)
    reach, gap = off + 2.0 * side, 1.5 * side
    marks = [
        line((p[0] + nx * gap, p[1] + ny * gap), (p[0] + nx * reach, p[1] + ny * reach))
        for p in (start, end)
    ]
    way = math.atan2(uy, ux)
    inside = long > 3 * HEAD[0]
    outer = 0.0 if inside else 6.0
    marks.append(
        line((a[0] - ux * outer, a[1] - uy * outer), (b[0] + ux * outer, b[1] + uy * outer))
    )
    marks += [head(b, way if inside else way + math.pi), head(a, way + math.pi if inside else way)]
    turn = readable(math.degrees(way))
    up = math.radians(turn + 90.0)
    mid = ((a[0] + b[0]) / 2 + 1.2 * math.cos(up), (a[1] + b[1]) / 2 + 1.2 * math.sin(up))
    return (*marks, words(mid, text, height, Weight.SEMIBOLD, Anchor.MIDDLE, turn))


def cross(at: Spot, arm: float, ring: float) -> tuple[Mark, ...]:
    """Return a cross with arms of `arm` mm, and a ring of that radius round its middle."""
    x, y = at
    return (
        line((x - arm, y), (x + arm, y)),
        line((x, y - arm), (x, y + arm)),
        Mark(shape=Circle(Point(x, y), ring), op=Op.NOTE, line=NARROW),
    )


def forward_arrow(
    tail: Spot, tip: Spot, height: float = SMALL, op: Op = Op.NOTE, *, beside: bool = False
) -> tuple[Mark, ...]:
    """Return the FORWARD arrow: a bar with a filled head, and the word along it.

    With `beside` the word stands upright at the left of an arrow that points up.
    """
    way = math.atan2(tip[1] - tail[1], tip[0] - tail[0])
    neck = (tip[0] - FORWARD_HEAD[0] * math.cos(way), tip[1] - FORWARD_HEAD[0] * math.sin(way))
    turn = readable(math.degrees(way))
    up = math.radians(turn + 90.0)
    mid = ((tail[0] + tip[0]) / 2, (tail[1] + tip[1]) / 2)
    off = FORWARD_HEAD[1] / 2 + 1.0
    at = (mid[0] + off * math.cos(up), mid[1] + off * math.sin(up))
    word = words(at, "FORWARD", height, Weight.SEMIBOLD, Anchor.MIDDLE, turn, op)
    if beside:
        left = (mid[0] - off, mid[1] - height / 2)
        word = words(left, "FORWARD", height, Weight.SEMIBOLD, Anchor.END, 0.0, op)
    return (
        Mark(shape=Path.open([tail, neck]), op=op, line=BAR),
        head(tip, way, FORWARD_HEAD, op=op),
        word,
    )


def hatched(
    corners: Sequence[Spot], spacing: float = 6.0, width: float = HATCH
) -> tuple[Mark, ...]:
    """Return lines at 45 degrees, `spacing` apart, inside a polygon (ISO 128-3, from memory)."""
    root = math.sqrt(0.5)
    turned = [((x + y) * root, (y - x) * root) for x, y in corners]
    sides = list(zip(turned, [*turned[1:], turned[0]], strict=True))
    low, high = min(v for _, v in turned), max(v for _, v in turned)
    marks = []
    for k in range(math.floor(low / spacing) + 1, math.ceil(high / spacing)):
        v = k * spacing
        meets = sorted(
            a[0] + (b[0] - a[0]) * (v - a[1]) / (b[1] - a[1])
            for a, b in sides
            if (a[1] <= v) != (b[1] <= v)
        )
        for u, w in zip(meets[::2], meets[1::2], strict=False):
            if w - u > 0.2:
                ends = [((s - v) * root, (s + v) * root) for s in (u, w)]
                marks.append(line(*ends, width=width))
    return tuple(marks)


def moved(marks: Sequence[Mark], dx: float, dy: float) -> tuple[Mark, ...]:
    """Return marks shifted by (dx, dy) mm."""
    place = Affine.move(dx, dy)
    return tuple(mark.moved(place) for mark in marks)
