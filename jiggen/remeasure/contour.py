"""Curves as they are found in a file: corners, and cubic curves between some of them.

A reader of any format walks a `Tracer` along what it finds; circular and elliptical arcs become
cubics here, so that every matrix of a file can be applied to them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
#: a, b, c, d, e, f: x' = a x + c y + e, y' = b x + d y + f.
Matrix = tuple[float, float, float, float, float, float]
#: Two control points and the end.
Cubic = tuple[Point, Point, Point]
Array = NDArray[np.float64]

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

#: An arc becomes cubics of at most this sweep, which leave a radius of 1 m by 0.2 nm.
LARGEST_CUBIC = math.radians(7.5)
#: mm. Two ends nearer than this are one point: a tenth of the coarsest last digit of a file that
#: is worth reading.
SAME_POINT = 1e-5
#: mm. How far a chord may run from its curve where a curve is measured as a row of points.
CHORD = 5e-4
#: mm. Nothing lies this far off, not even on a sheet whose mm were taken as metres.
FAR = 1e7


def times(first: Matrix, then: Matrix) -> Matrix:
    """Return the matrix that applies `first`, and `then` after it."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return (
        p * a + r * b,
        q * a + s * b,
        p * c + r * d,
        q * c + s * d,
        p * e + r * f + t,
        q * e + s * f + u,
    )


def inverse(by: Matrix) -> Matrix:
    """Return the matrix that undoes another, which must not flatten the plane."""
    a, b, c, d, e, f = by
    area = a * d - b * c
    p, q, r, s = d / area, -b / area, -c / area, a / area
    return (p, q, r, s, -p * e - r * f, -q * e - s * f)


def moved(point: Point, by: Matrix) -> Point:
    """Return where a matrix takes a point."""
    x, y = point
    return (by[0] * x + by[2] * y + by[4], by[1] * x + by[3] * y + by[5])


@dataclass(frozen=True, kw_only=True)
class Contour:
    """One line, open or closed, as a file draws it.

    Attributes:
        nodes: corners in order, mm, y up; the first of a closed one is not repeated.
        curves: cubics of the edges that are not straight, by the number of the edge; edge n runs
            from node n to the next one.
        closed: whether the last node is joined to the first.
        layer: the operation or layer that it is drawn in; empty where none is said.
        filled: drawn as an area.
    """

    nodes: tuple[Point, ...]
    curves: Mapping[int, tuple[Cubic, ...]] = field(default_factory=dict)
    closed: bool = False
    layer: str = ""
    filled: bool = False

    @cached_property
    def corners(self) -> Array:
        """The nodes as an (n, 2) array, mm."""
        return np.array(self.nodes, dtype=np.float64).reshape(-1, 2)

    @cached_property
    def walk(self) -> Array:
        """The line as points so close that chords stay within `CHORD`, (m, 2), mm.

        A closed one ends where it begins.
        """
        points: list[Any] = [self.nodes[0]]
        count = len(self.nodes) if self.closed else len(self.nodes) - 1
        for number in range(count):
            start = self.nodes[number]
            cubics = self.curves.get(number)
            if cubics is None:
                points.append(self.nodes[(number + 1) % len(self.nodes)])
                continue
            for cubic in cubics:
                points.extend(_along(start, cubic))
                start = cubic[2]
        return np.array(points, dtype=np.float64)

    @cached_property
    def box(self) -> Array:
        """Left, bottom, right and top, mm."""
        return np.concatenate([self.walk.min(axis=0), self.walk.max(axis=0)])

    @cached_property
    def frame(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top of nodes and control points, mm: quick, a little large."""
        points = list(self.nodes)
        for cubics in self.curves.values():
            for cubic in cubics:
                points += cubic
        xs, ys = zip(*points, strict=True)
        return (min(xs), min(ys), max(xs), max(ys))

    @cached_property
    def area(self) -> float:
        """Enclosed area of a closed line in mm2, positive when it runs counter-clockwise."""
        x, y = self.walk[:-1].T
        to_x, to_y = self.walk[1:].T
        return float(np.sum(x * to_y - to_x * y) / 2.0)

    def through(self, by: Matrix) -> Contour:
        """Return the contour where a matrix takes it."""
        return Contour(
            nodes=tuple(moved(node, by) for node in self.nodes),
            curves={
                number: tuple((moved(a, by), moved(b, by), moved(c, by)) for a, b, c in cubics)
                for number, cubics in self.curves.items()
            },
            closed=self.closed,
            layer=self.layer,
            filled=self.filled,
        )


def _along(start: Point, cubic: Cubic) -> list[Point]:
    first, second, end = cubic
    # A cubic runs within 1/8 of its second difference from its chord, over the parts squared.
    bend = max(
        math.hypot(start[0] - 2 * first[0] + second[0], start[1] - 2 * first[1] + second[1]),
        math.hypot(first[0] - 2 * second[0] + end[0], first[1] - 2 * second[1] + end[1]),
    )
    parts = min(200, max(1, math.ceil(math.sqrt(0.75 * bend / CHORD))))
    points = []
    for part in range(1, parts):
        t = part / parts
        s = 1.0 - t
        weights = (s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t)
        row = (start, first, second, end)
        points.append(
            (
                sum(w * p[0] for w, p in zip(weights, row, strict=True)),
                sum(w * p[1] for w, p in zip(weights, row, strict=True)),
            )
        )
    return [*points, end]


class Tracer:
    """Follows the lines of a file and keeps them as contours in mm.

    Args:
        matrix: from the coordinates that are handed in to mm, y up.
        layer: of what is traced.
        filled: drawn as areas.
    """

    def __init__(self, matrix: Matrix = IDENTITY, *, layer: str = "", filled: bool = False) -> None:
        self.matrix = matrix
        self.layer = layer
        self.filled = filled
        self.contours: list[Contour] = []
        self._nodes: list[Point] = []
        self._curves: dict[int, tuple[Cubic, ...]] = {}

    @property
    def begun(self) -> bool:
        """Whether a line is under way."""
        return bool(self._nodes)

    def start(self, point: Point) -> None:
        """Begin a new line at a point."""
        self.end()
        self._nodes.append(moved(point, self.matrix))

    def line(self, point: Point) -> None:
        """Draw a straight edge to a point."""
        self._nodes.append(moved(point, self.matrix))

    def cubics(self, cubics: tuple[Cubic, ...]) -> None:
        """Draw one edge that is made of cubics."""
        by = self.matrix
        made = tuple((moved(a, by), moved(b, by), moved(c, by)) for a, b, c in cubics)
        self._curves[len(self._nodes) - 1] = made
        self._nodes.append(made[-1][2])

    def close(self) -> None:
        """Join the line to its beginning."""
        self._keep(closed=True)

    def end(self) -> None:
        """Leave the line as it is; one that ends where it began counts as closed."""
        self._keep(closed=False)

    def _keep(self, *, closed: bool) -> None:
        nodes, curves = self._nodes, self._curves
        self._nodes, self._curves = [], {}
        if len(nodes) < 2 and not (closed and curves):
            return
        if len(nodes) > 2 and math.dist(nodes[0], nodes[-1]) < SAME_POINT:
            closed = True
            nodes.pop()
        if len(nodes) < 2 and not curves:
            return
        self.contours.append(
            Contour(
                nodes=tuple(nodes),
                curves=curves,
                closed=closed,
                layer=self.layer,
                filled=self.filled,
            )
        )


def arc_cubics(
    centre: Point, radii: Point, first: float, sweep: float, turn: float = 0.0
) -> tuple[Cubic, ...]:
    """Return an arc of a circle or an ellipse as cubics.

    Args:
        centre: of the ellipse.
        radii: along its own two axes.
        first: where the arc begins, as a parameter angle of the ellipse, radians.
        sweep: how far it runs, radians, positive counter-clockwise.
        turn: of the ellipse's first axis, radians.

    Returns:
        Cubics of at most `LARGEST_CUBIC`.

    Source: the tangent length 4/3 tan(sweep/4) sets the middle of the cubic on the circle; derived.
    """
    count = max(1, math.ceil(abs(sweep) / LARGEST_CUBIC - 1e-9))
    step = sweep / count
    reach = 4.0 / 3.0 * math.tan(step / 4.0)
    cos, sin = math.cos(turn), math.sin(turn)
    place: Matrix = (
        radii[0] * cos,
        radii[0] * sin,
        -radii[1] * sin,
        radii[1] * cos,
        centre[0],
        centre[1],
    )
    made = []
    for number in range(count):
        a, b = first + number * step, first + (number + 1) * step
        ca, sa, cb, sb = math.cos(a), math.sin(a), math.cos(b), math.sin(b)
        made.append(
            (
                moved((ca - reach * sa, sa + reach * ca), place),
                moved((cb + reach * sb, sb - reach * cb), place),
                moved((cb, sb), place),
            )
        )
    return tuple(made)


def bulge_cubics(start: Point, end: Point, bulge: float) -> tuple[Cubic, ...]:
    """Return an edge with a bulge as cubics that end exactly in `end`.

    Args:
        start: of the edge.
        end: of the edge.
        bulge: tangent of a quarter of the arc's sweep, positive counter-clockwise.

    Source: the definition of the bulge in the DXF reference, LWPOLYLINE, group code 42 (from
    memory).
    """
    sweep = 4.0 * math.atan(bulge)
    dx, dy = end[0] - start[0], end[1] - start[1]
    # Centre: from the chord's middle, a share of the chord to its left.
    share = (1.0 - bulge * bulge) / (4.0 * bulge)
    centre = ((start[0] + end[0]) / 2 - share * dy, (start[1] + end[1]) / 2 + share * dx)
    radius = math.dist(start, centre)
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    cubics = arc_cubics(centre, (radius, radius), first, sweep)
    return (*cubics[:-1], (cubics[-1][0], cubics[-1][1], end))


def circle_contour(
    centre: Point, radius: float, matrix: Matrix = IDENTITY, layer: str = "", filled: bool = False
) -> Contour:
    """Return a full circle as a closed contour of two half-turn edges."""
    tracer = Tracer(matrix, layer=layer, filled=filled)
    tracer.start((centre[0] + radius, centre[1]))
    tracer.cubics(arc_cubics(centre, (radius, radius), 0.0, math.pi))
    tracer.cubics(arc_cubics(centre, (radius, radius), math.pi, math.pi))
    tracer.close()
    return tracer.contours[0]
