"""What a reader finds in a file: lines of corners, and cubic curves between some of them.

        node 2
        *--.            A reader of any format walks a `Tracer` along what it finds. Circular
curve 1 |   `.          and elliptical arcs become cubics here, so that every matrix of a file
        *-----* node 1  can be applied to them; what was drawn edge by edge can be `joined`.
        node 0          All in mm, y up from the lower left corner of the page.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace
from numpy.typing import NDArray

from jiggen.remeasure.limits import FAR, Budget, no_number

Point = tuple[float, float]
#: a, b, c, d, e, f: x' = a x + c y + e, y' = b x + d y + f.
Matrix = tuple[float, float, float, float, float, float]
Cubic = tuple[Point, Point, Point]  # two control points and the end
Array = NDArray[np.float64]

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

#: An arc becomes cubics of at most this sweep, which leave a radius of 1 m by 0.2 nm.
LARGEST_CUBIC = math.radians(7.5)
#: mm. Two ends nearer than this are one point: a tenth of the coarsest last digit of a file that
#: is worth reading.
SAME_POINT = 1e-5
#: mm. How far a chord may run from its curve where a curve is measured as a row of points.
CHORD = 5e-4
PARTS_MOST = 500_000  # points along the curves of one line: there it is coarser than `CHORD`
REACH = 1e-4  # mm. Ends of loose lines nearer than this are joined
FLAT = 1e-12  # a bulge so small leaves its chord by less than a nanometre over a kilometre


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


def moved(point: Point, by: Matrix) -> Point:
    """Return where a matrix takes a point."""
    x, y = point
    return (by[0] * x + by[2] * y + by[4], by[1] * x + by[3] * y + by[5])


#: Exit status 1: the drawing, or what a printer or cutter will make of it, is not as it should be.
OFF = "off"
NOTE = "note"  # worth knowing, and harmless


class Finding(Struct, frozen=True):
    """One thing to say about a file."""

    severity: str  # `OFF` or `NOTE`
    text: str  # a sentence
    page: int = 0  # number of the page it is about, from 1; 0 for the whole file


class Contour(Struct, frozen=True, kw_only=True, dict=True):
    """One line, open or closed, as a file draws it; edge n runs from node n to the next one."""

    nodes: tuple[Point, ...]  # corners in order, mm, y up; of a closed one none is repeated
    curves: Mapping[int, tuple[Cubic, ...]] = field(default_factory=dict)  # by edge
    closed: bool = False  # whether the last node is joined to the first
    layer: str = ""  # the operation or layer that it is drawn in; empty where none is said
    filled: bool = False  # drawn as an area

    @cached_property
    def corners(self) -> Array:
        """The nodes as an (n, 2) array, mm."""
        return np.array(self.nodes, dtype=np.float64).reshape(-1, 2)

    @cached_property
    def walk(self) -> Array:
        """The line as points so close that chords stay within `CHORD`, (m, 2), mm.

        A closed one ends where it begins.
        """
        if not self.curves:
            return np.concatenate([self.corners, self.corners[:1]]) if self.closed else self.corners
        rows: list[tuple[Point, Point, Point, Point]] = []
        count = len(self.nodes) if self.closed else len(self.nodes) - 1
        for number in range(count):
            start = self.nodes[number]
            end = self.nodes[(number + 1) % len(self.nodes)]
            # A straight edge is a cubic whose bend is none.
            for cubic in self.curves.get(number) or (
                (_on(start, end, 1), _on(start, end, 2), end),
            ):
                rows.append((start, *cubic))
                start = cubic[2]
        return np.concatenate([self.corners[:1], _along(np.array(rows))])

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

    @property
    def area(self) -> float:
        """Enclosed area of a closed line in mm2, positive when it runs counter-clockwise."""
        x, y = self.walk[:-1].T
        to_x, to_y = self.walk[1:].T
        return float(np.sum(x * to_y - to_x * y) / 2.0)

    def through(self, by: Matrix) -> Contour:
        """Return the contour where a matrix takes it."""
        return replace(
            self,
            nodes=tuple(moved(node, by) for node in self.nodes),
            curves={
                number: tuple((moved(a, by), moved(b, by), moved(c, by)) for a, b, c in cubics)
                for number, cubics in self.curves.items()
            },
        )

    def backwards(self) -> Contour:
        """Return an open contour from its end to its beginning."""
        count = len(self.nodes) - 1
        curves: dict[int, tuple[Cubic, ...]] = {}
        for number, cubics in self.curves.items():
            points = [self.nodes[number], *(point for cubic in cubics for point in cubic)][::-1]
            curves[count - 1 - number] = tuple(
                (points[at], points[at + 1], points[at + 2]) for at in range(1, len(points), 3)
            )
        return replace(self, nodes=self.nodes[::-1], curves=curves)


class FoundPage(Struct, frozen=True, kw_only=True):
    """One page or sheet as the file draws it."""

    width: float | None  # of the page, mm; None in a format without pages
    height: float | None
    contours: tuple[Contour, ...]  # every line that is drawn, in order
    record: dict[str, Any] | None = None  # of nominal sizes, as it travels with the drawing
    words: tuple[str, ...] | None = ()  # live text, run by run; None where it cannot be read


class FoundDrawing(Struct, frozen=True, kw_only=True):
    """A file as a reader found it."""

    kind: str  # ``pdf``, ``svg`` or ``dxf``
    pages: tuple[FoundPage, ...]
    findings: tuple[Finding, ...] = ()  # of the reader itself: units, boxes, what it cannot read
    unit: str = ""  # that the file states for its numbers, in words; empty where it states none
    as_stated: float = 1.0  # mm that one of its numbers is worth by that unit


def _on(start: Point, end: Point, third: int) -> Point:
    return (
        start[0] + (end[0] - start[0]) * third / 3.0,
        start[1] + (end[1] - start[1]) * third / 3.0,
    )


def _along(rows: Array) -> Array:
    """Return points along cubics that follow one another, (k, 4, 2), their ends among them."""
    bends = np.hypot(*np.moveaxis(rows[:, :-2] - 2 * rows[:, 1:-1] + rows[:, 2:], 2, 0)).max(axis=1)
    # A cubic runs within 1/8 of its second difference from its chord, over the parts squared.
    parts = np.clip(np.ceil(np.sqrt(0.75 * bends / CHORD)), 1, max(1, PARTS_MOST // len(rows)))
    parts = np.minimum(parts, 200).astype(int)
    which = np.repeat(np.arange(len(rows)), parts)
    step = np.arange(len(which)) - np.repeat(parts.cumsum() - parts, parts) + 1
    t = step / parts[which]
    s = 1.0 - t
    weights = np.stack([s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t], axis=1)
    return np.asarray(np.einsum("nk,nkd->nd", weights, rows[which]))


class Tracer:
    """Follows the lines of a file and keeps them as contours in mm.

    Each point is paid from the budget. The matrix leads from the coordinates that are handed in to
    mm, y up.
    """

    def __init__(
        self, budget: Budget, matrix: Matrix = IDENTITY, *, layer: str = "", filled: bool = False
    ) -> None:
        self.budget = budget
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
        self.line(point)

    def line(self, point: Point) -> None:
        """Draw a straight edge to a point."""
        self.budget.spend("points")
        self._nodes.append(self._placed(point))

    def cubics(self, cubics: tuple[Cubic, ...]) -> None:
        """Draw one edge that is made of cubics."""
        self.budget.spend("points", len(cubics))
        made = tuple((self._placed(a), self._placed(b), self._placed(c)) for a, b, c in cubics)
        self._curves[len(self._nodes) - 1] = made
        self._nodes.append(made[-1][2])

    def arc(self, centre: Point, radii: Point, first: float, sweep: float, turn: float) -> None:
        """Draw an arc of an ellipse, a whole turn too, from its beginning; see `arc_cubics`."""
        # A whole turn as two edges: a closed line of one node would have no extent of corners.
        parts = 2 if abs(sweep) > math.pi else 1
        for part in range(parts):
            cubics = arc_cubics(centre, radii, first + part * sweep / parts, sweep / parts, turn)
            if part == 0:
                self.start(_on_ellipse(centre, radii, first, turn))
            self.cubics(cubics)
        self.end()

    def close(self) -> None:
        """Join the line to its beginning."""
        self._keep(closed=True)

    def end(self) -> None:
        """Leave the line as it is; one that ends where it began counts as closed."""
        self._keep(closed=False)

    def _placed(self, point: Point) -> Point:
        x, y = moved(point, self.matrix)
        # Not "> FAR": what is no number is not larger than anything.
        return (x, y) if -FAR <= x <= FAR and -FAR <= y <= FAR else no_number()

    def _keep(self, *, closed: bool) -> None:
        nodes, curves = self._nodes, self._curves
        self._nodes, self._curves = [], {}
        if len(nodes) < 2 and not (closed and curves):
            return
        if len(nodes) > 2 and math.dist(nodes[0], nodes[-1]) < SAME_POINT:
            closed = True
            nodes.pop()
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
        sweep: how far it runs, radians, positive counter-clockwise, at most a turn.
        turn: of the ellipse's first axis, radians.

    Returns:
        Cubics of at most `LARGEST_CUBIC`.

    Raises:
        DrawingFileError: one of these is no number.

    Source: the tangent length 4/3 tan(sweep/4) sets the middle of the cubic on the circle; derived.
    """
    if not all(map(math.isfinite, (*centre, *radii, first, sweep, turn))):
        no_number("an arc")
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


def _on_ellipse(centre: Point, radii: Point, angle: float, turn: float) -> Point:
    x, y = radii[0] * math.cos(angle), radii[1] * math.sin(angle)
    cos, sin = math.cos(turn), math.sin(turn)
    return (centre[0] + cos * x - sin * y, centre[1] + sin * x + cos * y)


def bulge_cubics(start: Point, end: Point, bulge: float) -> tuple[Cubic, ...]:
    """Return an edge with a bulge as cubics that end exactly in `end`.

    The bulge is the tangent of a quarter of the sweep, positive counter-clockwise, past `FLAT`.

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


def trace_bulges(rows: Sequence[tuple[float, float, float]], closed: bool, tracer: Tracer) -> None:
    """Follow a polyline, given as x, y and bulge of each vertex."""
    if len(rows) < 2:
        return
    tracer.start(rows[0][:2])
    following = [*rows[1:], rows[0]] if closed else rows[1:]
    for (x, y, bulge), (to_x, to_y, _) in zip(rows, following, strict=closed):
        start, end = (x, y), (to_x, to_y)
        if start == end:
            continue
        if abs(bulge) > FLAT:
            tracer.cubics(bulge_cubics(start, end, bulge))
        else:
            tracer.line(end)
    tracer.end()


def joined(lines: Sequence[Contour]) -> list[Contour]:
    """Return open contours joined where exactly two ends meet on one layer, as a cutter must.

    In any order and direction; closed ones are passed through, and a row of open ones that comes
    back to its start is closed.
    """
    done = [contour for contour in lines if contour.closed]
    pieces = [contour for contour in lines if not contour.closed]
    ends: _Ends = defaultdict(list)
    for number, piece in enumerate(pieces):
        ends[_cell(piece, 0)].append((number, False))
        ends[_cell(piece, -1)].append((number, True))
    used: set[int] = set()
    for number, piece in enumerate(pieces):
        if number in used:
            continue
        used.add(number)
        row = _grown([piece], ends, pieces, used)
        if _after(_cell(row[0], 0), ends, used) is not None:
            row = _grown([piece.backwards() for piece in reversed(row)], ends, pieces, used)
        done.append(_one(row))
    return done


_Cell = tuple[str, int, int]
#: Which pieces end in a cell, and whether with their last node.
_Ends = dict[_Cell, list[tuple[int, bool]]]


def _cell(piece: Contour, at: int) -> _Cell:
    x, y = piece.nodes[at]
    return (piece.layer, round(x / REACH), round(y / REACH))


def _after(cell: _Cell, ends: _Ends, used: set[int]) -> tuple[int, bool] | None:
    """Return the one piece that goes on from an end; None where there is none, or several."""
    layer, x, y = cell
    # Three that meet are a branch already: of a thousand in one place three are enough.
    near = [
        found
        for dx in (-1, 0, 1)
        for dy in (-1, 0, 1)
        for found in ends.get((layer, x + dx, y + dy), ())[:3]
    ]
    free = [found for found in near if found[0] not in used]
    return free[0] if len(near) == 2 and len(free) == 1 else None


def _grown(
    row: list[Contour], ends: _Ends, pieces: Sequence[Contour], used: set[int]
) -> list[Contour]:
    """Return the row grown at its end as far as it goes."""
    while (found := _after(_cell(row[-1], -1), ends, used)) is not None:
        number, last = found
        used.add(number)
        row.append(pieces[number].backwards() if last else pieces[number])
    return row


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
    return replace(row[0], nodes=tuple(nodes), curves=curves, closed=closed)
