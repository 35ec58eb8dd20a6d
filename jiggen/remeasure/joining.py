"""Joins lines and arcs that meet end to end into outlines, as a cutter's program must."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from jiggen.remeasure.contour import Contour, Cubic, Point

#: mm. Ends nearer than this are joined.
REACH = 1e-4


def joined(loose: Sequence[Contour]) -> list[Contour]:
    """Return open contours joined where exactly two ends meet on one layer.

    Args:
        loose: in any order and direction; closed ones are passed through.

    Returns:
        Contours, closed where a row of them comes back to its start.
    """
    done = [contour for contour in loose if contour.closed]
    pieces = [contour for contour in loose if not contour.closed]
    ends: dict[tuple[str, int, int], list[tuple[int, bool]]] = defaultdict(list)
    for number, piece in enumerate(pieces):
        ends[_cell(piece, 0)].append((number, False))
        ends[_cell(piece, -1)].append((number, True))
    used: set[int] = set()
    for number, piece in enumerate(pieces):
        if number not in used:
            used.add(number)
            row = _follow(_follow([piece], ends, pieces, used), ends, pieces, used)
            done.append(_one(row))
    return done


def _cell(piece: Contour, at: int) -> tuple[str, int, int]:
    x, y = piece.nodes[at]
    return (piece.layer, round(x / REACH), round(y / REACH))


def _follow(
    row: list[Contour],
    ends: dict[tuple[str, int, int], list[tuple[int, bool]]],
    pieces: Sequence[Contour],
    used: set[int],
) -> list[Contour]:
    """Return the row grown at its end as far as it goes, turned so that the other end is next."""
    while True:
        layer, x, y = _cell(row[-1], -1)
        near = [
            (number, last)
            for dx in (-1, 0, 1)
            for dy in (-1, 0, 1)
            for number, last in ends.get((layer, x + dx, y + dy), ())
        ]
        free = [(number, last) for number, last in near if number not in used]
        if len(near) != 2 or len(free) != 1:
            return [backwards(piece) for piece in reversed(row)]
        number, last = free[0]
        used.add(number)
        row.append(backwards(pieces[number]) if last else pieces[number])


def backwards(contour: Contour) -> Contour:
    """Return an open contour from its end to its beginning."""
    count = len(contour.nodes) - 1
    curves: dict[int, tuple[Cubic, ...]] = {}
    for number, cubics in contour.curves.items():
        points: list[Point] = [contour.nodes[number]]
        for cubic in cubics:
            points += cubic
        points.reverse()
        curves[count - 1 - number] = tuple(
            (points[at], points[at + 1], points[at + 2]) for at in range(1, len(points), 3)
        )
    return Contour(
        nodes=contour.nodes[::-1], curves=curves, layer=contour.layer, filled=contour.filled
    )


def _one(row: Sequence[Contour]) -> Contour:
    if len(row) == 1:
        return row[0]
    nodes: list[Point] = [row[0].nodes[0]]
    curves: dict[int, tuple[Cubic, ...]] = {}
    for piece in row:
        for number, cubics in piece.curves.items():
            curves[len(nodes) - 1 + number] = cubics
        nodes += piece.nodes[1:]
    closed = len(nodes) > 2 and math.dist(nodes[0], nodes[-1]) < 3 * REACH
    if closed:
        nodes.pop()
    return Contour(
        nodes=tuple(nodes),
        curves=curves,
        closed=closed,
        layer=row[0].layer,
        filled=row[0].filled,
    )
