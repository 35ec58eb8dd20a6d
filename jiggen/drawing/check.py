"""Finds cut edges that lie on one another: a machine would run the same line twice.

A laser that passes twice burns the edge wide, and the check angle with it; a knife follows its old
slot badly. Drawing programs do not complain about it, so the writers ask here first.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from msgspec import Struct

from jiggen.drawing.shapes import Bounds, Circle, Edge, Path
from jiggen.errors import DrawingError

#: mm. Edges nearer than this are on one another, and this much of them must coincide: no machine
#: resolves a micrometre, and edges that only meet at a corner share less.
SAME_EDGE_MM = 1e-3


class Doubled(Struct, frozen=True):
    """Two edges that share a stretch, run in either direction."""

    first: Edge
    second: Edge


def doubled_edges(shapes: Iterable[Path | Circle]) -> tuple[Doubled, ...]:
    """Return each pair of cut edges that lie on one another over more than a point.

    Finds exact repeats in either direction, straight edges of which one holds part of the other,
    and arcs that share part of a circle; from left to right, none in a clean drawing.
    """
    edges = sorted(
        ((edge.bounds(), edge) for shape in shapes for edge in shape.edges),
        key=lambda row: (row[0].left, row[0].bottom, row[0].right, row[0].top),
    )
    found = []
    near: list[tuple[Bounds, Edge]] = []
    for box, edge in edges:
        near = [row for row in near if row[0].right >= box.left - SAME_EDGE_MM]
        for other_box, other in near:
            if (
                other_box.top >= box.bottom - SAME_EDGE_MM
                and box.top >= other_box.bottom - SAME_EDGE_MM
                and _coincide(other, edge)
            ):
                found.append(Doubled(other, edge))
        near.append((box, edge))
    return tuple(found)


def refuse_doubled(shapes: Iterable[Path | Circle]) -> None:
    """Refuse a drawing in which the machine would cut the same line twice.

    Raises:
        DrawingError: with the number of doubled edges and the place of the first.
    """
    found = doubled_edges(shapes)
    if found:
        x, y = found[0].second.at(0.5)
        raise DrawingError(
            f"{len(found)} cut edge(s) lie on one another, the first near x {x:.3f}, y {y:.3f} mm; "
            "leave a gap between the pieces or draw the shared line once"
        )


def _coincide(first: Edge, second: Edge) -> bool:
    if (first.bulge == 0.0) != (second.bulge == 0.0):
        return False
    return _lines_coincide(first, second) if first.bulge == 0.0 else _arcs_coincide(first, second)


def _lines_coincide(first: Edge, second: Edge) -> bool:
    longer, shorter = (first, second) if first.chord >= second.chord else (second, first)
    (a, off_a), (b, off_b) = (longer.along_and_off(end) for end in (shorter.start, shorter.end))
    if max(abs(off_a), abs(off_b)) > SAME_EDGE_MM:
        return False
    return min(max(a, b), longer.chord) - max(min(a, b), 0.0) > SAME_EDGE_MM


def _arcs_coincide(first: Edge, second: Edge) -> bool:
    radius = first.radius
    if max(abs(radius - second.radius), math.dist(first.centre, second.centre)) > SAME_EDGE_MM:
        return False
    start_1, span_1 = _ccw_span(first)
    start_2, span_2 = _ccw_span(second)
    # The second arc is laid beside the first one once as it is and once a turn back, so that an
    # overlap across the zero direction is seen as well.
    ahead = (start_2 - start_1) % math.tau
    shared = max(
        min(span_1, shift + span_2) - max(0.0, shift) for shift in (ahead, ahead - math.tau)
    )
    return shared * radius > SAME_EDGE_MM


def _ccw_span(arc: Edge) -> tuple[float, float]:
    ccw = arc if arc.bulge > 0 else arc.reversed()
    centre = ccw.centre
    return math.atan2(ccw.start.y - centre.y, ccw.start.x - centre.x), ccw.sweep
