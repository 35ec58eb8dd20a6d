"""Where lines and circles meet, and whether a path crosses or touches itself.

Source: the plane intersection formulas are elementary geometry; derived here. Differences of
squares are written as products, so that a near miss is not lost in rounding.
"""

from __future__ import annotations

import math

from jiggen.drawing.affine import Point
from jiggen.drawing.shapes import SAME_POINT_MM, Edge, Path

# mm. How near to their common corner two neighbours may seem to meet again by rounding.
_NEIGHBOUR_MM = 1e-3


def line_meets_circle(foot: Point, way: Point, centre: Point, radius: float) -> list[Point]:
    """Return the points where an endless line meets a circle.

    Args:
        foot: a point of the line, mm.
        way: the line's unit direction.
        centre: of the circle, mm.
        radius: of the circle, mm.

    Returns:
        Two points, or none; a touching line gives the same point twice.

    Source: derived.
    """
    x, y = foot.x - centre.x, foot.y - centre.y
    along = -(x * way.x + y * way.y)
    off = x * way.y - y * way.x
    square = (radius - off) * (radius + off)
    if square < 0.0:
        return []
    half = math.sqrt(square)
    return [Point(foot.x + way.x * t, foot.y + way.y * t) for t in (along - half, along + half)]


def circles_meet(a: Point, ra: float, b: Point, rb: float) -> list[Point]:
    """Return the points where two circles meet.

    Args:
        a: centre of the first, mm.
        ra: radius of the first, mm.
        b: centre of the second, mm.
        rb: radius of the second, mm.

    Returns:
        Two points, or none (also for circles about one centre).

    Source: derived.
    """
    apart = math.dist(a, b)
    if apart <= SAME_POINT_MM:
        return []
    along = (apart + (ra - rb) * (ra + rb) / apart) / 2.0
    square = (ra - along) * (ra + along)
    if square < 0.0:
        return []
    half = math.sqrt(square)
    ux, uy = (b.x - a.x) / apart, (b.y - a.y) / apart
    return [Point(a.x + ux * along - uy * s, a.y + uy * along + ux * s) for s in (half, -half)]


def edges_meet(one: Edge, other: Edge) -> list[Point]:
    """Return points that two edges share: crossings, touching ends, the ends of an overlap.

    Args:
        one: a line or an arc.
        other: a line or an arc.

    Returns:
        Points in mm; none when the edges stay apart.

    Source: derived.
    """
    candidates = [*_curves_meet(one, other), one.start, one.end, other.start, other.end]
    return [p for p in candidates if _is_on(p, one) and _is_on(p, other)]


def first_crossing(path: Path) -> Point | None:
    """Return a point where a closed path crosses or touches itself, or None.

    Args:
        path: closed, mm.

    Source: derived.
    """
    edges = path.edges
    boxes = [edge.bounds().grown(SAME_POINT_MM) for edge in edges]
    last = len(edges) - 1
    for i, box in enumerate(boxes):
        for j in range(i + 1, len(edges)):
            if not box.overlaps(boxes[j]):
                continue
            shared = [edges[j].start] if j == i + 1 else []
            if i == 0 and j == last:
                shared.append(edges[0].start)
            for point in edges_meet(edges[i], edges[j]):
                if all(math.dist(point, corner) > _NEIGHBOUR_MM for corner in shared):
                    return point
    return None


def _curves_meet(one: Edge, other: Edge) -> list[Point]:
    """Return where the endless line or full circle of one edge meets that of the other."""
    if one.bulge == 0.0 and other.bulge == 0.0:
        u, v = one.direction(), other.direction()
        cross = u.x * v.y - u.y * v.x
        if cross == 0.0:
            return []
        x, y = other.start.x - one.start.x, other.start.y - one.start.y
        t = (x * v.y - y * v.x) / cross
        return [Point(one.start.x + u.x * t, one.start.y + u.y * t)]
    if one.bulge == 0.0:
        return line_meets_circle(one.start, one.direction(), other.centre, other.radius)
    if other.bulge == 0.0:
        return line_meets_circle(other.start, other.direction(), one.centre, one.radius)
    return circles_meet(one.centre, one.radius, other.centre, other.radius)


def _is_on(point: Point, edge: Edge) -> bool:
    """Return whether a point lies on an edge, ends included."""
    if min(math.dist(point, edge.start), math.dist(point, edge.end)) <= SAME_POINT_MM:
        return True
    if edge.bulge == 0.0:
        way = edge.direction()
        x, y = point.x - edge.start.x, point.y - edge.start.y
        along = x * way.x + y * way.y
        return abs(x * way.y - y * way.x) <= SAME_POINT_MM and 0.0 < along < edge.chord
    centre = edge.centre
    if abs(math.dist(point, centre) - edge.radius) > SAME_POINT_MM:
        return False
    first = math.atan2(edge.start.y - centre.y, edge.start.x - centre.x)
    here = math.atan2(point.y - centre.y, point.x - centre.x)
    past = (here - first) % math.tau if edge.sweep > 0 else (first - here) % math.tau
    return past < abs(edge.sweep)
