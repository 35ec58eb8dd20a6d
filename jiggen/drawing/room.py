"""Room on a piece: where a box of lettering may lie, clear of edges, holes, folds and other boxes.

Every box is looked for on a lattice of places, turned as it will be read, and the valid place
nearest to where it is wished wins. So a label slides along its edge, changes to another quarter or
stays off, by one rule for every shape of piece.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.shapes import Bounds, Circle, Path

#: mm. From lettering to an outline or a hole, to a fold or an axis, and to other lettering.
TO_EDGE, TO_LINE, TO_BOX = 3.5, 1.5, 1.5
#: mm. Distance of the places that are tried; how many are tried at once, the nearest first.
STEP, CHUNK = 1.25, 64
#: mm. Places are sorted by how far they lie from the wish only as far as they are looked at.
RINGS = (-1.0, 12.0, 48.0, math.inf)
#: rad. An arc is taken as chords of at most this sweep.
CHORD = math.radians(15.0)

Array = NDArray[np.float64]
Segments = list[tuple[Point, Point]]


def segments_of(shape: Path | Circle) -> Segments:
    """Return a cut line as straight segments, arcs in chords."""
    found: Segments = []
    for edge in shape.edges:
        parts = 1 if edge.bulge == 0.0 else max(2, math.ceil(abs(edge.sweep) / CHORD))
        points = [edge.start, *(edge.at(k / parts) for k in range(1, parts)), edge.end]
        found += pairwise(points)
    return found


def corners_of(shape: Path | Circle) -> list[Point]:
    """Return where these segments begin: the corners of a closed cut line, arcs in chords."""
    return [start for start, _ in segments_of(shape)]


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
        self._window = window
        self._cuts = _array([s for shape in (outline, *inner) for s in segments_of(shape)])
        self._lines = _array([])
        self._boxes = _array([])
        self._covered = _array([])
        self._tried: dict[float, tuple[Affine, Array, Array]] = {}

    @property
    def state(self) -> Array:
        """Return what is taken by lettering, to go back to."""
        return self._boxes

    @state.setter
    def state(self, boxes: Array) -> None:
        self._boxes = boxes

    def line(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """Keep lettering off a line that is drawn on the piece."""
        if self._is_away(start, end):
            return
        self._lines = np.concatenate([self._lines, _array([(Point(*start), Point(*end))])])

    def take(self, corners: Sequence[Point]) -> None:
        """Keep other lettering off a box: lower left, lower right, upper right, upper left."""
        if self._is_away(corners[0], corners[2]):
            return
        self._boxes = np.concatenate([self._boxes, _filled(corners)])

    def _is_away(self, p: tuple[float, float], q: tuple[float, float]) -> bool:
        w = self._window
        return w is not None and (max(p[0], q[0]) < w.left - 5.0 or min(p[0], q[0]) > w.right + 5.0)

    def cover(self, corners: Sequence[Point]) -> None:
        """Keep what must be seen off a box that another part will cover."""
        self._covered = np.concatenate([self._covered, _filled(corners)])

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
        seen: bool = True,
        exact: bool = False,
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
            seen: whether it must stay in sight when another part is glued on.
            exact: try the wish itself before all other places.

        Returns:
            The place that takes the box from its own frame, lower left corner at the origin, to
            the piece's.
        """
        back, tries, cuts = self._lattice(turn)
        half = np.array([width / 2, height / 2])
        shift = ((0.5 - hold[0]) * width, (0.5 - hold[1]) * height)
        middle = np.array(back.point(wish)) + shift
        if exact and _inside(middle[:1], middle[1:], cuts)[0, 0]:
            tries = np.concatenate([middle[None], tries])
        away = np.hypot(*(tries - middle).T).round(6)
        low, high = cuts.reshape(-1, 2).min(axis=0), cuts.reshape(-1, 2).max(axis=0)
        room = (tries - half >= low + to_edge - 1e-6) & (tries + half <= high - to_edge + 1e-6)
        fits = room.all(axis=1) & (away <= within + 1e-6)
        if self._window is not None:
            seen_in = self._window.moved(back)
            fits &= (tries[:, 0] - half[0] >= seen_in.left - 1e-9) & (
                tries[:, 0] + half[0] <= seen_in.right + 1e-9
            )
        covered = self._covered if seen else self._covered[:0]
        keep_off = [(cuts, to_edge)] + [
            (_turned(lines, back), off)
            for lines, off in ((self._lines, TO_LINE), (self._boxes, TO_BOX), (covered, TO_LINE))
            if lines.size
        ]
        for inner, outer in pairwise(RINGS):
            ring = np.flatnonzero(fits & (away > inner) & (away <= outer))
            ring = ring[np.argsort(away[ring], kind="stable")]
            for start in range(0, len(ring), CHUNK):
                some = tries[ring[start : start + CHUNK]]
                for lines, off in keep_off:
                    some = some[~_hits(some, half + off, lines)]
                    if not some.size:
                        break
                else:
                    corner = some[0] - half
                    return Affine.turn(turn) @ Affine.move(float(corner[0]), float(corner[1]))
        return None

    def _lattice(self, turn: float) -> tuple[Affine, Array, Array]:
        """Return the places on material that are tried in a direction and the cuts, both turned."""
        if turn not in self._tried:
            back = Affine.turn(-turn)
            lines = _turned(self._cuts, back)
            low, high = lines.reshape(-1, 2).min(axis=0), lines.reshape(-1, 2).max(axis=0)
            x, y = (np.arange(low[k], high[k] + STEP / 2, STEP) for k in (0, 1))
            if self._window is not None:
                ends = self._window.moved(back)
                x = x[(x >= ends.left) & (x <= ends.right)]
            row, column = np.nonzero(_inside(x, y, lines))
            tries = np.column_stack([x[column], y[row]])
            self._tried[turn] = (back, tries, lines)
        return self._tried[turn]

    def crosses(self, start: tuple[float, float], end: tuple[float, float]) -> bool:
        """Return whether a line would run through lettering."""
        return bool(self._boxes.size) and _cross(
            _array([(Point(*start), Point(*end))]), self._boxes
        )

    def reaches(self, start: tuple[float, float], corner: tuple[float, float]) -> bool:
        """Return whether the way from a place on the piece to a corner of it meets no cut.

        The last hundredth is left out: there the corner's own edges meet.
        """
        end = Point(*(s + 0.99 * (c - s) for s, c in zip(start, corner, strict=True)))
        way = _array([(Point(*start), end)])
        return not _cross(way, self._cuts)

    def holds(self, point: tuple[float, float]) -> bool:
        """Return whether a point lies on the material."""
        x, y = np.array([point], dtype=float).T
        return bool(_inside(x, y, self._cuts)[0, 0])


def clearance(first: Segments, second: Segments) -> float:
    """Return the least distance between two sets of segments, mm; 0 where they cross."""
    a, b = _array(first), _array(second)
    if _cross(a, b):
        return 0.0
    return float(min(_off(a.reshape(-1, 2), b).min(), _off(b.reshape(-1, 2), a).min()))


def thinnest(shape: Path) -> tuple[float, Point]:
    """Return the thinnest neck of an outline's material and where it is, mm.

    A neck is where two places of the outline are nearer to one another than all places beside
    them; the sides of a corner come nearer and nearer until they meet, and are none.
    """
    corners = np.array(corners_of(shape))
    ahead = np.roll(corners, -1, axis=0) - corners
    lines = np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)
    ahead /= np.hypot(*ahead.T)[:, None]
    sides = np.stack([ahead, -np.roll(ahead, 1, axis=0)], axis=1)
    count, inside = len(corners), Room(shape)
    ways = np.stack(_to_feet(corners, lines), axis=2)
    off = np.hypot(ways[..., 0], ways[..., 1])
    own = np.arange(count)
    off[own, own] = off[own, own - 1] = math.inf
    for n, k in zip(*np.unravel_index(np.argsort(off, axis=None), off.shape), strict=True):
        if not 1e-9 < off[n, k] < math.inf:
            continue
        foot, away = corners[n] - ways[n, k], ways[n, k] / off[n, k]
        at = [(n, away)] + [
            (m, -away) for m in (k, (k + 1) % count) if math.dist(corners[m], foot) < 1e-9
        ]
        if all((sides[m] @ way >= -1e-9).all() for m, way in at):
            middle = (corners[n] + foot) / 2
            where = Point(float(middle[0]), float(middle[1]))
            if inside.holds(where):
                return float(off[n, k]), where
    return math.inf, shape.edges[0].start


def _inside(x: Array, y: Array, lines: Array) -> NDArray[np.bool_]:
    """Return which places of a lattice lie on material, row by row, by the even-odd rule."""
    p, q = lines[:, 0], lines[:, 1]
    up = y[:, None]
    spans = (p[:, 1] <= up) != (q[:, 1] <= up)
    rise = q[:, 1] - p[:, 1]
    rise = np.where(np.abs(rise) < 1e-12, 1.0, rise)
    meets = p[:, 0] + (q[:, 0] - p[:, 0]) * (up - p[:, 1]) / rise
    meets[~spans] = -math.inf
    return np.asarray((meets[:, None, :] > x[:, None]).sum(axis=2) % 2 == 1)


def _off(tries: Array, lines: Array) -> Array:
    """Return how far each place lies off the nearest segment."""
    x, y = _to_feet(tries, lines)
    return np.asarray(np.sqrt((x * x + y * y).min(axis=1)))


def _to_feet(points: Array, lines: Array) -> tuple[Array, Array]:
    """Return the way in x and in y from the nearest place on each segment to each point."""
    (px, py), (dx, dy) = lines[:, 0].T, (lines[:, 1] - lines[:, 0]).T
    x, y = points[:, :1] - px, points[:, 1:] - py
    share = np.clip((x * dx + y * dy) / (dx * dx + dy * dy), 0.0, 1.0)
    return x - share * dx, y - share * dy


def _cross(a: Array, b: Array) -> bool:
    def side(p: Array, q: Array, r: Array) -> Array:
        return np.asarray(
            (q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1])
            - (q[..., 1] - p[..., 1]) * (r[..., 0] - p[..., 0])
        )

    p, q = a[:, None, 0], a[:, None, 1]
    r, s = b[None, :, 0], b[None, :, 1]
    return bool(((side(p, q, r) * side(p, q, s) < 0) & (side(r, s, p) * side(r, s, q) < 0)).any())


def _hits(middles: Array, half: Array, lines: Array) -> NDArray[np.bool_]:
    """Return for each upright box whether a segment passes through it."""
    p, q = lines[:, 0], lines[:, 1]
    centre, reach = (p + q) / 2, np.abs(q - p) / 2
    off = centre[None, :, :] - middles[:, None, :]
    apart = (np.abs(off) >= half + reach).any(axis=2)
    d = q - p
    across = np.abs(off[..., 0] * d[:, 1] - off[..., 1] * d[:, 0])
    apart |= across >= half[0] * np.abs(d[:, 1]) + half[1] * np.abs(d[:, 0])
    return np.asarray((~apart).any(axis=1))


def _filled(corners: Sequence[Point]) -> Array:
    """Return a box as lines so close that no lettering lies between them."""
    a, b, c, d = corners
    rows = max(2, math.ceil(math.dist(a, d) / 2.0))
    lines = [(a, d), (b, c)]
    for k in range(rows + 1):
        s = k / rows
        left = Point(a.x + (d.x - a.x) * s, a.y + (d.y - a.y) * s)
        lines.append((left, Point(b.x + (c.x - b.x) * s, b.y + (c.y - b.y) * s)))
    return _array(lines)


def _array(lines: Segments) -> Array:
    return np.array(lines, dtype=float).reshape(-1, 2, 2)


def _turned(lines: Array, back: Affine) -> Array:
    return np.asarray(lines @ np.array([[back.a, back.b], [back.c, back.d]]))
