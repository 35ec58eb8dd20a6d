"""The curves of a DXF's entities, followed with a tracer."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from jiggen.remeasure.contour import Point, Tracer, arc_cubics, bulge_cubics

Pair = tuple[int, str]


def number_of(text: str) -> float:
    """Return a value as a number; NaN where it is none."""
    try:
        return float(text)
    except ValueError:
        return math.nan


def light_vertices(pairs: list[Pair]) -> list[tuple[float, float, float]]:
    """Return x, y and bulge of each vertex of an LWPOLYLINE."""
    rows: list[list[float]] = []
    for code, value in pairs:
        if code == 1001:
            break
        if code == 10:
            rows.append([float(value), 0.0, 0.0])
        elif code == 20 and rows:
            rows[-1][1] = float(value)
        elif code == 42 and rows:
            rows[-1][2] = float(value)
    return [(x, y, bulge) for x, y, bulge in rows]


def trace_polyline(
    rows: Sequence[tuple[float, float, float]], closed: bool, tracer: Tracer
) -> None:
    """Follow a polyline.

    Args:
        rows: x, y and bulge of each vertex.
        closed: whether the last is joined to the first.
        tracer: takes the line.
    """
    if len(rows) < 2:
        return
    tracer.start(rows[0][:2])
    following = [*rows[1:], rows[0]] if closed else rows[1:]
    for (x, y, bulge), (to_x, to_y, _) in zip(rows, following, strict=closed):
        start, end = (x, y), (to_x, to_y)
        if bulge and start != end:
            tracer.cubics(bulge_cubics(start, end, bulge))
        elif start != end:
            tracer.line(end)
    tracer.end()


def trace_arc(numbers: dict[int, float], tracer: Tracer, *, full: bool) -> None:
    """Follow an ARC or a CIRCLE by its numbers; angles are degrees, counter-clockwise."""
    centre: Point = (numbers.get(10, 0.0), numbers.get(20, 0.0))
    radius = numbers.get(40, 0.0)
    if radius <= 0:
        return
    first = 0.0 if full else math.radians(numbers.get(50, 0.0))
    sweep = math.tau if full else (math.radians(numbers.get(51, 360.0)) - first) % math.tau
    _trace_sweep(centre, (radius, radius), first, sweep or math.tau, 0.0, tracer)


def trace_ellipse(numbers: dict[int, float], tracer: Tracer) -> None:
    """Follow an ELLIPSE by its numbers; its parameters are radians."""
    centre: Point = (numbers.get(10, 0.0), numbers.get(20, 0.0))
    along = (numbers.get(11, 0.0), numbers.get(21, 0.0))
    long = math.hypot(*along)
    first, last = numbers.get(41, 0.0), numbers.get(42, math.tau)
    if long <= 0:
        return
    sweep = (last - first) % math.tau or math.tau
    turn = math.atan2(along[1], along[0])
    _trace_sweep(centre, (long, long * numbers.get(40, 1.0)), first, sweep, turn, tracer)


def _trace_sweep(
    centre: Point, radii: Point, first: float, sweep: float, turn: float, tracer: Tracer
) -> None:
    # A whole turn as two edges: a closed line of one node would have no extent of corners.
    parts = 2 if sweep > math.pi else 1
    for part in range(parts):
        cubics = arc_cubics(centre, radii, first + part * sweep / parts, sweep / parts, turn)
        if part == 0:
            tracer.start(_on(centre, radii, first, turn))
        tracer.cubics(cubics)
    tracer.end()


def _on(centre: Point, radii: Point, angle: float, turn: float) -> Point:
    x, y = radii[0] * math.cos(angle), radii[1] * math.sin(angle)
    cos, sin = math.cos(turn), math.sin(turn)
    return (centre[0] + cos * x - sin * y, centre[1] + sin * x + cos * y)


def trace_spline(pairs: list[Pair], numbers: dict[int, float], tracer: Tracer) -> bool:
    """Follow a spline whose knots make it a row of cubic Bezier curves or of straight lines."""
    xs = [number_of(v) for c, v in pairs if c == 10]
    ys = [number_of(v) for c, v in pairs if c == 20]
    points = list(zip(xs, ys, strict=False))
    knots = [number_of(v) for c, v in pairs if c == 40]
    degree = int(numbers.get(71, 3.0))
    if len(points) < 2 or any(c == 41 for c, _ in pairs):
        return False
    tracer.start(points[0])
    if degree == 1:
        for point in points[1:]:
            tracer.line(point)
        return True
    inner = Counter(knots[4:-4])
    clamped = len(set(knots[:4])) == 1 and len(set(knots[-4:])) == 1
    bezier = degree == 3 and len(points) % 3 == 1 and len(knots) == len(points) + 4
    if not (bezier and clamped) or any(count != 3 for count in inner.values()):
        return False
    for at in range(1, len(points), 3):
        tracer.cubics(((points[at], points[at + 1], points[at + 2]),))
    return True
