"""Room on a piece: where a box of lettering may lie, clear of edges, holes, folds and other boxes.

Every box is looked for on a lattice of places, turned as it will be read, and the valid place
nearest to where it is wished wins. So a label slides along its edge, changes to another quarter or
stays off, by one rule for every shape of piece.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.shapes import Bounds, Circle, Edge, Path

#: mm. From lettering to an outline or a hole, to a fold or an axis, and to other lettering.
TO_EDGE, TO_LINE, TO_BOX = 3.5, 1.5, 1.5
#: mm. Distance of the places that are tried.
STEP = 1.25
#: How many places are tried at first, the nearest ones.
FIRST_TRIES = 64
#: rad. An arc is taken as chords of at most this sweep.
CHORD = math.radians(15.0)

Array = NDArray[np.float64]
Segments = list[tuple[Point, Point]]


def segments_of(shape: Path | Circle) -> Segments:
    """Return a cut line as straight segments, arcs in chords."""
    if isinstance(shape, Circle):
        c, r = shape.centre, shape.radius
        right, left = Point(c.x + r, c.y), Point(c.x - r, c.y)
        shape = Path((Edge(right, left, 1.0), Edge(left, right, 1.0)))
    found: Segments = []
    for edge in shape.edges:
        parts = 1 if edge.bulge == 0.0 else max(2, math.ceil(abs(edge.sweep) / CHORD))
        points = [edge.start, *(edge.at(k / parts) for k in range(1, parts)), edge.end]
        found += zip(points, points[1:], strict=False)
    return found


class Room:
    """What is free on one piece.

    Args:
        outline: of the piece.
        inner: its holes and slots.
        window: the part of a long piece in which places are looked for; all of it if left out.
    """

    def __init__(
        self, outline: Path, inner: Iterable[Path | Circle] = (), window: Bounds | None = None
    ) -> None:
        self._cuts = _array([s for shape in (outline, *inner) for s in segments_of(shape)])
        self._lines: Segments = []
        self._boxes: Segments = []
        self._box = window or outline.bounds()

    def line(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """Keep lettering off a line that is drawn on the piece."""
        b = self._box
        if (
            max(start[0], end[0]) > b.left - TO_LINE
            and min(start[0], end[0]) < b.right + TO_LINE
            and max(start[1], end[1]) > b.bottom - TO_LINE
            and min(start[1], end[1]) < b.top + TO_LINE
        ):
            self._lines.append((Point(*start), Point(*end)))

    def take(self, corners: Sequence[Point]) -> None:
        """Keep other lettering off a box: lower left, lower right, upper right, upper left."""
        if not Bounds.around(corners).grown(TO_BOX).overlaps(self._box):
            return
        a, b, c, d = corners
        rows = max(2, math.ceil(math.dist(a, d) / 2.0))
        taken = []
        for k in range(rows + 1):
            s = k / rows
            taken.append(
                (
                    Point(a.x + (d.x - a.x) * s, a.y + (d.y - a.y) * s),
                    Point(b.x + (c.x - b.x) * s, b.y + (c.y - b.y) * s),
                )
            )
        self._boxes += [*taken, (a, d), (b, c)]

    def place(
        self,
        width: float,
        height: float,
        wish: tuple[float, float],
        turn: float = 0.0,
        *,
        hold: tuple[float, float] = (0.5, 0.5),
        within: float = math.inf,
        to_edge: float = TO_EDGE,
    ) -> Affine | None:
        """Return the place of a box that is nearest to where it is wished, or None.

        Args:
            width: of the box along its baseline, mm.
            height: across it, mm.
            wish: where its `hold` should lie, mm.
            turn: direction of its baseline, degrees.
            hold: the point of the box that is wished there, in shares of its width and height.
            within: the farthest from there that will do, mm.
            to_edge: the least distance to an outline or a hole, mm.

        Returns:
            The place that takes the box from its own frame, lower left corner at the origin, to
            the piece's.
        """
        back = Affine.turn(-turn)
        centre = np.array(back.point(wish)) + (
            (0.5 - hold[0]) * width,
            (0.5 - hold[1]) * height,
        )
        tries = self._lattice(centre, within, back)
        if not tries.size:
            return None
        half = np.array([width / 2, height / 2])
        lines_off = [
            (_turned(lines, back), half + off)
            for lines, off in (
                (self._cuts, to_edge),
                (_array(self._lines), TO_LINE),
                (_array(self._boxes), TO_BOX),
            )
            if lines.size
        ]
        # The nearest first, a few at a time: most labels find their place near where it is wished.
        tries = tries[np.argsort(np.hypot(*(tries - centre).T).round(6), kind="stable")]
        done, some = 0, FIRST_TRIES
        while done < len(tries):
            few = tries[done : done + some]
            good = self._inside(few, back)
            for lines, reach in lines_off:
                if good.any():
                    good[good] = ~_hits(few[good], reach, lines)
            if good.any():
                corner = few[good.argmax()] - half
                return Affine.turn(turn) @ Affine.move(float(corner[0]), float(corner[1]))
            done, some = done + some, some * 4
        return None

    def holds(self, point: tuple[float, float]) -> bool:
        """Return whether a point lies on the material."""
        return bool(self._inside(np.array([point]), Affine())[0])

    def _lattice(self, centre: Array, within: float, back: Affine) -> Array:
        """Return the middles that are tried, in the box's own direction."""
        b = self._box
        corners = [back.point(p) for p in ((b.left, b.bottom), (b.right, b.bottom),
                                           (b.right, b.top), (b.left, b.top))]
        low, high = np.min(corners, axis=0), np.max(corners, axis=0)
        if within < math.inf:
            low, high = np.maximum(low, centre - within), np.minimum(high, centre + within)
        axes = [
            centre[k] + STEP * np.arange(math.ceil((low[k] - centre[k]) / STEP),
                                         math.floor((high[k] - centre[k]) / STEP) + 1)
            for k in (0, 1)
        ]
        x, y = np.meshgrid(*axes)
        tries = np.column_stack([x.ravel(), y.ravel()])
        return tries[np.hypot(*(tries - centre).T) <= within + 1e-9]

    def _inside(self, tries: Array, back: Affine) -> NDArray[np.bool_]:
        """Return which places lie on material, by the even-odd rule."""
        lines = _turned(self._cuts, back)
        p, q = lines[:, 0], lines[:, 1]
        x, y = tries[:, :1], tries[:, 1:]
        spans = (p[:, 1] <= y) != (q[:, 1] <= y)
        rise = np.where(q[:, 1] == p[:, 1], 1.0, q[:, 1] - p[:, 1])
        meets = p[:, 0] + (q[:, 0] - p[:, 0]) * (y - p[:, 1]) / rise
        return np.asarray((spans & (meets > x)).sum(axis=1) % 2 == 1)


def clearance(first: Segments, second: Segments) -> float:
    """Return the least distance between two sets of segments, mm; 0 where they cross."""
    a, b = _array(first), _array(second)
    if _cross(a, b):
        return 0.0
    return min(_to_segments(a.reshape(-1, 2), b), _to_segments(b.reshape(-1, 2), a))


def thinnest(shape: Path) -> tuple[float, Point]:
    """Return the thinnest neck of an outline's material and where it is, mm.

    A neck is where two places of the outline are nearer to one another than all places beside
    them; the sides of a corner come nearer and nearer until they meet, and are none.
    """
    corners = np.array([start for start, _ in segments_of(shape)])
    ahead = np.roll(corners, -1, axis=0) - corners
    ahead /= np.hypot(*ahead.T)[:, None]
    back = -np.roll(ahead, 1, axis=0)
    lines = np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)
    count, inside = len(corners), Room(shape)
    best, where = math.inf, shape.edges[0].start
    for n, point in enumerate(corners):
        for k in range(count):
            if k in (n, (n - 1) % count):
                continue
            foot, off = _nearest(point, lines[k : k + 1])
            if not 1e-9 < off < best:
                continue
            away = (point - foot) / off
            at = [(n, away)] + [
                (m % count, -away)
                for m in (k, k + 1)
                if math.dist(corners[m % count], foot) < 1e-9
            ]
            if all((side[m] * way).sum() >= -1e-9 for m, way in at for side in (ahead, back)):
                middle = (point + foot) / 2
                if inside.holds(Point(float(middle[0]), float(middle[1]))):
                    best, where = off, Point(float(middle[0]), float(middle[1]))
    return best, where


def _nearest(point: Array, lines: Array) -> tuple[Array, float]:
    p, d = lines[:, 0], lines[:, 1] - lines[:, 0]
    share = np.clip(((point - p) * d).sum(axis=1) / (d * d).sum(axis=1), 0.0, 1.0)
    feet = p + share[:, None] * d
    off = np.hypot(*(feet - point).T)
    k = int(off.argmin())
    return feet[k], float(off[k])


def _to_segments(points: Array, lines: Array) -> float:
    return min(_nearest(point, lines)[1] for point in points)


def _cross(a: Array, b: Array) -> bool:
    def side(p: Array, q: Array, r: Array) -> Array:
        return np.asarray((q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1])
                          - (q[..., 1] - p[..., 1]) * (r[..., 0] - p[..., 0]))

    p, q = a[:, None, 0], a[:, None, 1]
    r, s = b[None, :, 0], b[None, :, 1]
    return bool(
        ((side(p, q, r) * side(p, q, s) < 0) & (side(r, s, p) * side(r, s, q) < 0)).any()
    )


def _hits(middles: Array, half: Array, lines: Array) -> NDArray[np.bool_]:
    """Return for each upright box whether a segment passes through it."""
    p, q = lines[:, 0], lines[:, 1]
    centre, reach = (p + q) / 2, np.abs(q - p) / 2
    off = centre[None, :, :] - middles[:, None, :]
    apart = (np.abs(off) >= half + reach[None, :, :]).any(axis=2)
    d = q - p
    across = np.abs(off[..., 0] * d[:, 1] - off[..., 1] * d[:, 0])
    apart |= across >= half[0] * np.abs(d[:, 1]) + half[1] * np.abs(d[:, 0])
    return np.asarray((~apart).any(axis=1))


def _array(lines: Segments) -> Array:
    return np.array(lines, dtype=float).reshape(-1, 2, 2)


def _turned(lines: Array, back: Affine) -> Array:
    return lines @ np.array([[back.a, back.b], [back.c, back.d]])
