"""Points, lines, arcs, circles, closed outlines and text: frozen, in mm, y up, arcs kept as arcs.

Every shape answers the same questions: `bounds()`, and `moved(place)` for a rigid place. A
page that is mis-scaled on purpose is the writer's business, so no shape ever has to be an ellipse.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from enum import StrEnum
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing.affine import Affine, Point
from jiggen.errors import DrawingError

#: mm. Ends nearer than this are the same point: a thousandth of what any workshop can see.
SAME_POINT_MM = 1e-6


class Op(StrEnum):
    """What is done along a shape; the names are SVG group ids and DXF layers."""

    CUT = "CUT"
    SCORE = "SCORE"
    ENGRAVE = "ENGRAVE"
    NOTE = "NOTE"


class Bounds(Struct, frozen=True):
    """An upright rectangle in mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Return the extent along x in mm."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Return the extent along y in mm."""
        return self.top - self.bottom

    @property
    def middle(self) -> Point:
        """Return the middle."""
        return Point((self.left + self.right) / 2, (self.bottom + self.top) / 2)

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """Return the corners counter-clockwise, the lower left first."""
        left, low, right, top = self.left, self.bottom, self.right, self.top
        return Point(left, low), Point(right, low), Point(right, top), Point(left, top)

    @classmethod
    def around(cls, points: Iterable[tuple[float, float]]) -> Bounds:
        """Return the smallest rectangle around `points` (at least one)."""
        xs, ys = zip(*points, strict=True)
        return cls(min(xs), min(ys), max(xs), max(ys))

    @classmethod
    def union(cls, boxes: Iterable[Bounds]) -> Bounds:
        """Return the smallest rectangle around `boxes` (at least one)."""
        some = list(boxes)
        return cls(
            min(b.left for b in some),
            min(b.bottom for b in some),
            max(b.right for b in some),
            max(b.top for b in some),
        )

    def moved(self, place: Affine) -> Bounds:
        """Return the rectangle at a `place` of quarter turns, mirror images and shifts."""
        corners = ((self.left, self.bottom), (self.right, self.top))
        return Bounds.around(place.point(corner) for corner in corners)

    def grown(self, by: float) -> Bounds:
        """Return the rectangle with each side moved out by `by` mm."""
        return Bounds(self.left - by, self.bottom - by, self.right + by, self.top + by)

    def overlaps(self, other: Bounds) -> bool:
        """Return whether the two rectangles share more than an edge."""
        return (
            self.left < other.right - SAME_POINT_MM
            and other.left < self.right - SAME_POINT_MM
            and self.bottom < other.top - SAME_POINT_MM
            and other.bottom < self.top - SAME_POINT_MM
        )


class Edge(Struct, frozen=True):
    """A straight line, or a circular arc, from `start` to `end`.

    Attributes:
        start: first point, mm.
        end: last point, mm.
        bulge: tangent of a quarter of the arc's sweep, positive counter-clockwise; 0 is a line.
            (The convention of the DXF reference, LWPOLYLINE, group 42.)
    """

    start: Point
    end: Point
    bulge: float = 0.0

    @property
    def chord(self) -> float:
        """Return the distance from start to end in mm."""
        return math.dist(self.start, self.end)

    @property
    def sweep(self) -> float:
        """Return the angle swept in radians, positive counter-clockwise; 0 for a line."""
        return 4.0 * math.atan(self.bulge)

    @property
    def radius(self) -> float:
        """Return the arc's radius in mm; infinite for a line."""
        if self.bulge == 0.0:
            return math.inf
        return self.chord * (1.0 + self.bulge * self.bulge) / (4.0 * abs(self.bulge))

    @property
    def centre(self) -> Point:
        """Return the arc's centre; a line has none and raises DrawingError."""
        if self.bulge == 0.0:
            raise DrawingError("a straight edge has no centre")
        across = (1.0 - self.bulge * self.bulge) / (4.0 * self.bulge)
        return Point(
            (self.start.x + self.end.x) / 2 - (self.end.y - self.start.y) * across,
            (self.start.y + self.end.y) / 2 + (self.end.x - self.start.x) * across,
        )

    def along_and_off(self, point: tuple[float, float]) -> tuple[float, float]:
        """Return how far a point lies along the line from the start, and to its right, mm."""
        way = self.direction()
        x, y = point[0] - self.start.x, point[1] - self.start.y
        return x * way.x + y * way.y, x * way.y - y * way.x

    @property
    def length(self) -> float:
        """Return the length along the edge in mm."""
        return self.chord if self.bulge == 0.0 else self.radius * abs(self.sweep)

    def direction(self, at_end: bool = False) -> Point:
        """Return the unit tangent at the start, or at the end."""
        chord = self.chord
        ux, uy = (self.end.x - self.start.x) / chord, (self.end.y - self.start.y) / chord
        turn = (0.5 if at_end else -0.5) * self.sweep
        cos, sin = math.cos(turn), math.sin(turn)
        return Point(ux * cos - uy * sin, ux * sin + uy * cos)

    def at(self, share: float) -> Point:
        """Return the point at `share` (0 to 1) of the way along the edge."""
        if self.bulge == 0.0:
            return Point(
                self.start.x + (self.end.x - self.start.x) * share,
                self.start.y + (self.end.y - self.start.y) * share,
            )
        c = self.centre
        angle = math.atan2(self.start.y - c.y, self.start.x - c.x) + self.sweep * share
        return Point(c.x + self.radius * math.cos(angle), c.y + self.radius * math.sin(angle))

    def bounds(self) -> Bounds:
        """Return the smallest upright rectangle around the edge."""
        points = [self.start, self.end]
        if self.bulge != 0.0:
            c, r, sweep = self.centre, self.radius, self.sweep
            first = math.atan2(self.start.y - c.y, self.start.x - c.x)
            for quarter in range(4):
                angle = quarter * math.pi / 2
                past = (angle - first) % math.tau if sweep > 0 else (first - angle) % math.tau
                if past < abs(sweep):
                    points.append(Point(c.x + r * math.cos(angle), c.y + r * math.sin(angle)))
        return Bounds.around(points)

    def reversed(self) -> Edge:
        """Return the same edge run the other way."""
        return Edge(self.end, self.start, -self.bulge)

    def moved(self, place: Affine) -> Edge:
        """Return the edge at a rigid `place`."""
        bulge = self.bulge if place.determinant > 0 else -self.bulge
        return Edge(place.point(self.start), place.point(self.end), bulge)


class Path(Struct, frozen=True):
    """Edges that follow one another; closed when the last one ends where the first starts.

    Raises:
        DrawingError: no edges, an edge without length, or a gap between two.
    """

    edges: tuple[Edge, ...]

    def __post_init__(self) -> None:
        if not self.edges:
            raise DrawingError("a path needs at least one edge")
        for edge in self.edges:
            if not edge.chord > SAME_POINT_MM:
                raise DrawingError(f"an edge at {edge.start} has no length")
        for before, after in pairwise(self.edges):
            if math.dist(before.end, after.start) > SAME_POINT_MM:
                raise DrawingError(f"the path has a gap at {before.end}")

    @property
    def is_closed(self) -> bool:
        """Return whether the path ends where it starts."""
        return math.dist(self.edges[0].start, self.edges[-1].end) <= SAME_POINT_MM

    @property
    def area(self) -> float:
        """Return the enclosed area in mm2 of a closed path, positive counter-clockwise."""
        total = 0.0
        for e in self.edges:
            total += (e.start.x * e.end.y - e.end.x * e.start.y) / 2
            if e.bulge != 0.0:
                total += e.radius * e.radius * (e.sweep - math.sin(e.sweep)) / 2
        return total

    @classmethod
    def closed(cls, corners: Iterable[tuple[float, float] | tuple[float, float, float]]) -> Path:
        """Return a closed path through `corners`: (x, y) or (x, y, bulge of the edge after it)."""
        rows = [(c[0], c[1], c[2] if len(c) == 3 else 0.0) for c in corners]
        following = [*rows[1:], rows[0]]
        return cls(
            tuple(
                Edge(Point(x, y), Point(nx, ny), bulge)
                for (x, y, bulge), (nx, ny, _) in zip(rows, following, strict=True)
            )
        )

    @classmethod
    def open(cls, points: Iterable[tuple[float, float]]) -> Path:
        """Return the open path of straight edges through `points`."""
        some = [Point(*p) for p in points]
        return cls(tuple(Edge(a, b) for a, b in pairwise(some)))

    def bounds(self) -> Bounds:
        """Return the smallest upright rectangle around the path."""
        return Bounds.union(e.bounds() for e in self.edges)

    def moved(self, place: Affine) -> Path:
        """Return the path at a rigid `place`."""
        return Path(tuple(e.moved(place) for e in self.edges))

    def reversed(self) -> Path:
        """Return the path run the other way."""
        return Path(tuple(e.reversed() for e in reversed(self.edges)))


class Circle(Struct, frozen=True):
    """A full circle: a hole, or a round mark."""

    centre: Point
    radius: float

    def __post_init__(self) -> None:
        if not self.radius > SAME_POINT_MM:
            raise DrawingError(f"a circle needs a radius, given {self.radius} mm")

    @property
    def edges(self) -> tuple[Edge, Edge]:
        """Return its two halves as arcs."""
        c, r = self.centre, self.radius
        right, left = Point(c.x + r, c.y), Point(c.x - r, c.y)
        return Edge(right, left, 1.0), Edge(left, right, 1.0)

    def bounds(self) -> Bounds:
        """Return the smallest upright rectangle around the circle."""
        c, r = self.centre, self.radius
        return Bounds(c.x - r, c.y - r, c.x + r, c.y + r)

    def moved(self, place: Affine) -> Circle:
        """Return the circle at a rigid `place`."""
        return replace(self, centre=place.point(self.centre))


def readable(degrees: float) -> float:
    """Return a direction turned so that words along it read from below or from the right."""
    turn = (degrees + 90.0) % 180.0 - 90.0
    return 90.0 if abs(turn + 90.0) < 1e-9 else turn


class Anchor(StrEnum):
    """Which end of the text's baseline stands at its point."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


class Weight(StrEnum):
    """How heavy a text is on paper; a pen letters all of them with the same strokes."""

    MEDIUM = "Medium"
    SEMIBOLD = "SemiBold"
    BOLD = "Bold"


class Text(Struct, frozen=True):
    """One line of lettering.

    Attributes:
        at: the anchor, on the baseline, mm.
        text: what it says.
        height: of a capital, mm.
        turn: direction of the baseline, degrees counter-clockwise.
        anchor: which end of the baseline stands at `at`.
        weight: of the letters on paper.
        white: on a black area.
    """

    at: Point
    text: str
    height: float
    turn: float = 0.0
    anchor: Anchor = Anchor.START
    weight: Weight = Weight.MEDIUM
    white: bool = False

    def bounds(self) -> Bounds:
        """Return the upright rectangle that holds the text in every format (see `lettering`)."""
        from jiggen.drawing.lettering import text_corners

        return Bounds.around(text_corners(self))

    def moved(self, place: Affine) -> Text:
        """Return the text at a rigid `place`, still readable where it is mirrored or turned.

        A mirror image moves it and no more. One that a turn would stand on its head is set the
        other way round within the same box: it reads from below or from the right.
        """
        at = place.point(self.at)
        by = place.turn_degrees
        if place.determinant < 0 or by == 0.0:
            return replace(self, at=at)
        turn = self.turn + by
        if abs((turn - readable(turn)) % 360.0 - 180.0) > 90.0:
            return replace(self, at=at, turn=turn)
        cap = Affine.turn(turn).point((0.0, self.height))
        other = {Anchor.START: Anchor.END, Anchor.END: Anchor.START}
        return replace(
            self,
            at=Point(at.x + cap.x, at.y + cap.y),
            turn=readable(turn),
            anchor=other.get(self.anchor, self.anchor),
        )


Shape = Path | Circle | Text


class Dash(StrEnum):
    """The kinds of broken line; what each means is the same on every sheet."""

    NONE = ""
    CHAIN = "chain"
    """An axis, the chord plane, the line of holes."""
    FOLD = "fold"
    """A fold, a join."""
    HIDDEN = "hidden"
    """What lies behind, a hole that is there already."""


class On(StrEnum):
    """Where a mark is drawn."""

    BOTH = "both"
    PAPER = "paper"
    CUT = "cut"


class Mark(Struct, frozen=True, kw_only=True):
    """A shape with the operation that makes it and, on paper, how it looks.

    Attributes:
        shape: the geometry.
        op: CUT, SCORE, ENGRAVE or NOTE.
        line: pen width on paper in mm; None for the narrow line, and for no line where filled.
        fill: share of black of an area on paper, 1 black to 0 white; None for no fill.
        dash: the kind of broken line on paper.
        on: paper, cut files, or both.
    """

    shape: Shape
    op: Op = Op.ENGRAVE
    line: float | None = None
    fill: float | None = None
    dash: Dash = Dash.NONE
    on: On = On.BOTH

    def moved(self, place: Affine) -> Mark:
        """Return the mark at a rigid `place`."""
        return replace(self, shape=self.shape.moved(place))

    def bounds(self) -> Bounds:
        """Return the upright rectangle around the shape."""
        return self.shape.bounds()
