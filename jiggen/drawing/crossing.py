"""Where lines and circles meet, and whether a path crosses or touches itself.

Source: the plane intersection formulas are elementary geometry; derived here. Differences of
squares are written as products, so that a near miss is not lost in rounding.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from jiggen.drawing.affine import Point
from jiggen.drawing.shapes import SAME_POINT_MM, Bounds, Circle, Edge, Path

# mm. How near to their common corner two neighbours may seem to meet again by rounding.
_NEIGHBOUR_MM = 1e-3

# mm. A shorter part of a rim is not worth a stroke.
_SHORTEST_MM = 0.2


def line_meets_circle(foot: Point, way: Point, centre: Point, radius: float) -> list[Point]:
    """Return the points where an endless line, through `foot` along a unit `way`, meets a circle.

    Two points, or none; a touching line gives the same point twice.
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
    """Return the points where the circle about `a` of radius `ra` meets that about `b`.

    Two points, or none (also for circles about one centre).
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
    """Return points that two edges share: crossings, touching ends, the ends of an overlap."""
    candidates = [*_curves_meet(one, other), one.start, one.end, other.start, other.end]
    return [p for p in candidates if _is_on(p, one) and _is_on(p, other)]


def first_crossing(path: Path) -> Point | None:
    """Return a point where a closed path crosses or touches itself, or None."""
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


def rim_parts(circle: Circle, within: Path, clear_of: Sequence[Bounds] = ()) -> list[Circle | Path]:
    """Return the parts of a circle that lie within an outline and outside some rectangles.

    Args:
        circle: whole, mm.
        within: closed, of straight edges, mm.
        clear_of: what stays white, mm.

    Returns:
        The circle itself, arcs of it in two edges each, or nothing.
    """
    c, r = circle.centre, circle.radius
    box = circle.bounds()
    near = [b for b in clear_of if b.overlaps(box)]
    edges = [*within.edges, *(edge for b in near for edge in Path.closed(b.corners).edges)]
    turns = []
    for edge in edges:
        for p in line_meets_circle(edge.start, edge.direction(), c, r):
            if 0.0 <= edge.along_and_off(p)[0] <= edge.chord:
                turns.append(math.atan2(p.y - c.y, p.x - c.x) % math.tau)

    def on(turn: float) -> Point:
        return Point(c.x + r * math.cos(turn), c.y + r * math.sin(turn))

    def shown(p: Point) -> bool:
        return _holds(within, p) and not any(
            b.left < p.x < b.right and b.bottom < p.y < b.top for b in near
        )

    if not turns:
        return [circle] if shown(on(0.0)) else []
    turns.sort()
    found: list[Circle | Path] = []
    for first, last in pairwise([*turns, turns[0] + math.tau]):
        middle = on((first + last) / 2.0)
        if (last - first) * r > _SHORTEST_MM and shown(middle):
            bulge = math.tan((last - first) / 8.0)
            found.append(Path((Edge(on(first), middle, bulge), Edge(middle, on(last), bulge))))
    return found


def _holds(outline: Path, point: Point) -> bool:
    """Return whether a point lies in an outline of straight edges, by the even-odd rule."""
    inside = False
    for edge in outline.edges:
        p, q = edge.start, edge.end
        if (p.y <= point.y) != (q.y <= point.y):
            meets = p.x + (q.x - p.x) * (point.y - p.y) / (q.y - p.y)
            inside ^= meets > point.x
    return inside


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
        along, off = edge.along_and_off(point)
        return abs(off) <= SAME_POINT_MM and 0.0 < along < edge.chord
    centre = edge.centre
    if abs(math.dist(point, centre) - edge.radius) > SAME_POINT_MM:
        return False
    first = math.atan2(edge.start.y - centre.y, edge.start.x - centre.x)
    here = math.atan2(point.y - centre.y, point.x - centre.x)
    past = (here - first) % math.tau if edge.sweep > 0 else (first - here) % math.tau
    return past < abs(edge.sweep)
