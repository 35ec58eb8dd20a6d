"""Lettering in boxes, arrows and arrowheads: what is written on a piece, kept inside its room.

A label is always given the box it may use. It is set as large as asked for, smaller where the box
is narrow, and refused where it would be too small to read at the bench.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from jiggen.drawing.affine import Point
from jiggen.drawing.lettering import text_width, wrap
from jiggen.drawing.shapes import Anchor, Bounds, Edge, Mark, Op, Path, Text

#: mm. Smallest capital that is still read at arm's length on wood and card; common practice for
#: drawings (ISO 3098 starts its series at 1.8 mm), from memory.
SMALLEST = 1.8
#: mm. What is still read in the hand, where a small piece has to say much.
TINIEST = 1.35
#: Line to line, in capital heights.
LEADING = 1.5
#: mm. A column that holds fewer than four letters is no column.
NARROWEST = 6.0
#: mm. Width of a witness band.
BAND = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a label: the text, its wanted capital height in mm, and its weight."""

    text: str
    height: float
    bold: bool = False


def fitted_height(line: Line, width: float) -> float:
    """Return the line's height in mm, made smaller so that it fits `width` mm."""
    wide = text_width(line.text, line.height, line.bold)
    return line.height if wide <= width else line.height * width / wide


def wrapped(text: str, height: float, width: float, *, most: int = 2) -> tuple[Line, ...]:
    """Return `text` as up to `most` lines that fit `width` mm.

    It is set smaller before it is broken, and broken before it is cut short; a text that is cut
    short ends in two dots, so that nobody takes it for the whole.
    """
    if width < NARROWEST:
        return ()
    line = Line(text=text, height=height)
    if fitted_height(line, width) >= SMALLEST:
        return (line,)
    rows = wrap(text, SMALLEST, width)
    if len(rows) > most:
        last = rows[most - 1]
        while last and text_width(last + "..", SMALLEST) > width:
            last = last[:-1]
        rows = [*rows[: most - 1], last.rstrip() + ".."]
    return tuple(Line(text=row, height=SMALLEST) for row in rows)


def text_block(
    box: Bounds, lines: Sequence[Line], *, op: Op = Op.ENGRAVE, anchor: Anchor = Anchor.START
) -> tuple[Mark, ...]:
    """Stack `lines` from the top of `box` down; leave out what does not fit or could not be read.

    Args:
        box: the room, mm.
        lines: most important first.
        op: the operation that letters them.
        anchor: left, middle or right of the box.

    Returns:
        One mark a line, each wholly inside the box.
    """
    x = {
        Anchor.START: box.left,
        Anchor.MIDDLE: (box.left + box.right) / 2,
        Anchor.END: box.right,
    }[anchor]
    heights = _shrunk([fitted_height(line, box.width) for line in lines], box.height)
    marks: list[Mark] = []
    y = box.top
    for line, height in zip(lines, heights, strict=True):
        if height < min(TINIEST, line.height) - 1e-9 or y - height * LEADING < box.bottom - 1e-9:
            continue
        baseline = y - 1.12 * height
        marks.append(
            Mark(
                shape=Text(Point(x, baseline), line.text, height, anchor=anchor, bold=line.bold),
                op=op,
            )
        )
        y -= height * LEADING
    return tuple(marks)


def _shrunk(heights: list[float], room: float) -> list[float]:
    """Return line heights made smaller together where they are too tall for `room` mm.

    Small lettering beats a missing line, down to `TINIEST`.
    """
    total = sum(heights) * LEADING
    if total <= room:
        return heights
    share = room / total
    return [max(h * share, min(h, TINIEST)) for h in heights]


def arrow(
    tail: tuple[float, float], tip: tuple[float, float], *, head: float = 2.0, op: Op = Op.ENGRAVE
) -> tuple[Mark, ...]:
    """Draw a line from `tail` to `tip` with an open head of `head` mm at the tip."""
    ux, uy = tip[0] - tail[0], tip[1] - tail[1]
    length = math.hypot(ux, uy)
    ux, uy = ux / length, uy / length
    barbs = [
        (tip[0] - head * ux + side * head * 0.4 * uy, tip[1] - head * uy - side * head * 0.4 * ux)
        for side in (1, -1)
    ]
    return (
        Mark(shape=Path.open([tail, tip]), op=op),
        Mark(shape=Path.open([barbs[0], tip, barbs[1]]), op=op),
    )


def block_arrow(box: Bounds, *, points_right: bool, op: Op = Op.ENGRAVE) -> tuple[Mark, ...]:
    """Draw a broad arrow that fills `box`, pointing right or left: it is seen across a bench."""
    w, h = box.width, box.height
    head = min(0.45 * w, 0.9 * h)
    rows = [
        (0.0, 0.25 * h),
        (w - head, 0.25 * h),
        (w - head, 0.0),
        (w, 0.5 * h),
        (w - head, h),
        (w - head, 0.75 * h),
        (0.0, 0.75 * h),
    ]
    if points_right:
        corners = [(box.left + x, box.bottom + y) for x, y in rows]
    else:
        corners = [(box.right - x, box.bottom + y) for x, y in reversed(rows)]
    return (Mark(shape=Path.closed(corners), op=op),)


def check_edge_marks(
    edge: Edge,
    *,
    inside_left: bool,
    size: float = 1.4,
    at: tuple[float, ...] = (0.12, 0.88),
    op: Op = Op.ENGRAVE,
) -> tuple[Mark, ...]:
    """Draw small triangles that point at a check edge from inside the piece.

    Args:
        edge: the straight check edge, mm.
        inside_left: the piece lies to the left of the edge's direction.
        size: height of a triangle, mm; its tip stays half of that clear of the cut line.
        at: where along the edge, as shares of its length.
        op: the operation that draws them.
    """
    d = edge.direction()
    n = Point(-d.y, d.x) if inside_left else Point(d.y, -d.x)
    marks = []
    for share in at:
        p = edge.at(share)
        tip = (p.x + n.x * size * 0.5, p.y + n.y * size * 0.5)
        base = [
            (tip[0] + n.x * size + s * d.x * size / 2, tip[1] + n.y * size + s * d.y * size / 2)
            for s in (1, -1)
        ]
        marks.append(Mark(shape=Path.closed([tip, *base]), op=op))
    return tuple(marks)


def along_edge(
    edge: Edge,
    text: str,
    height: float,
    *,
    inside_left: bool,
    clear: float = 2.6,
    op: Op = Op.ENGRAVE,
) -> tuple[Mark, ...]:
    """Letter `text` along the middle of an edge, inside the piece, made to fit its length.

    Args:
        edge: the straight edge, mm.
        text: what it says.
        height: wanted capital height, mm.
        inside_left: the piece lies to the left of the edge's direction.
        clear: from the edge to the nearest part of the text, mm.
        op: the operation that letters it.

    Returns:
        One mark, or none where it would be too small to read.
    """
    room = edge.length * 0.72
    height = fitted_height(Line(text=text, height=height), room)
    if height < TINIEST:
        return ()
    d = edge.direction()
    n = Point(-d.y, d.x) if inside_left else Point(d.y, -d.x)
    turn = math.degrees(math.atan2(d.y, d.x))
    # Text is read from below or from the right: never upside down.
    upright = -90.0 < turn <= 90.0
    turn = turn if upright else turn + (180.0 if turn <= -90.0 else -180.0)
    up_is_inward = (n.x * -math.sin(math.radians(turn)) + n.y * math.cos(math.radians(turn))) > 0
    off = clear + (0.25 * height if up_is_inward else height)
    p = edge.at(0.5)
    at = Point(p.x + n.x * off, p.y + n.y * off)
    return (Mark(shape=Text(at, text, height, turn=turn, anchor=Anchor.MIDDLE), op=op),)


def witness_band(edge: Edge, *, waste_left: bool, width: float = BAND) -> Mark:
    """Draw the tint on the waste side of a check edge, hard against the cut line.

    A true cut leaves none of it; a cut that stops short leaves a sliver that the eye catches.

    Args:
        edge: the straight check edge, mm.
        waste_left: the waste lies to the left of the edge's direction.
        width: of the band, mm. Its ends are cut back so that it stays clear of corners.
    """
    d = edge.direction()
    n = Point(-d.y, d.x) if waste_left else Point(d.y, -d.x)
    share = min(0.2, 0.4 / edge.length)
    a, b = edge.at(share), edge.at(1 - share)
    corners = [
        a,
        b,
        (b.x + n.x * width, b.y + n.y * width),
        (a.x + n.x * width, a.y + n.y * width),
    ]
    return Mark(shape=Path.closed(corners), op=Op.NOTE, fill=0.72, paper_only=True)
