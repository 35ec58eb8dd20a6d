"""The angle of a finished piece from what a calliper reads on it.

The corner of a guide is relieved, so no jaw reaches it, and a protractor reads to half a degree.
Lengths across the piece are better: three of them fix a triangle, and the triangle fixes the
angle. Here the piece is a set of points, each of them a millimetre or so from where the drawing
has it; every reading pulls its two points together or apart; what comes out is the likeliest
shape, and the angle between the base line and the working line on it with a plus-minus.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from jiggen.geometry.frame import Array, Point
from jiggen.geometry.leastsquares import (
    BY_CALLIPER,
    Fit,
    chance_of_chi_square,
    propagated,
    standard_of_reading,
    weighted_fit,
    widening,
)

Edges = tuple[tuple[int, int], tuple[int, int]]
"""Base and working edge, each as the numbers of two points."""

LOOSE = 1.0
"""mm: how far a point of a cut piece may be from its drawing before anything is measured."""

STRAIGHT = 0.02
"""mm: how far a point on a check edge may be from the line through the edge's two ends."""

SAME_POINT = 1e-3
"""mm on the drawing below which two ends are one point."""

ON_LINE = 1e-3
"""mm on the drawing below which a point lies on a check edge."""

PARALLEL = 1e-9
"""Sine of the angle below which two edges are drawn parallel."""

UNDECIDED = 0.5
"""Share of the doubt before measuring above which the readings do not determine the angle."""

SUSPICIOUS = 0.01
"""Readings that would disagree this much less often are called contradictory."""

CALLIPER_STEP = 0.05
"""mm: what a workshop calliper is read to; with one of these the lengths are foreseen."""

UNTRUSTED = 10.0
"""mm: how far a corner may be from its drawing when it is worked out which lengths do. Looser than
a cut ever is, so that lengths that do here rest on no other that was left out."""

NEARLY_ALL = 2.0
"""Lengths that leave at most this many times the doubt of all lengths together are enough."""


class Reading(Struct, frozen=True, kw_only=True):
    """One length across a finished piece."""

    name: str  # of the check dimension
    start: Point  # one end on the drawing, mm
    end: Point  # the other end on the drawing, mm
    measured: float  # what the calliper read, mm
    standard: float  # standard uncertainty of the reading, mm


class RealAngle(Struct, frozen=True, kw_only=True):
    """The angle of a finished piece."""

    nominal: float  # as drawn, radians
    value: float  # as cut, radians
    standard: float  # standard uncertainty, radians
    residuals: dict[str, float]  # reading less fitted length by name, mm
    chance: float  # the chance that honest readings disagree this much; 1 if nothing is left over
    determined: bool  # False where the readings say little about this angle
    consistent: bool  # False where the readings contradict one another

    @property
    def error(self) -> float:
        """Return the angle as cut less the angle as drawn, radians."""
        return self.value - self.nominal


def real_angle(
    base: tuple[Point, Point],
    working: tuple[Point, Point],
    readings: Sequence[Reading],
    loose: float = LOOSE,
) -> RealAngle:
    """Return the angle between base and working edge of a piece from lengths across it.

    Each point that a reading or an edge ends at is free, held loosely to the drawing; a point
    that the drawing has on a check edge stays on it, as edges are cut straight. What the
    readings leave open keeps that loose hold, and shows in the plus-minus.

    Args:
        base: two points of the base edge on the drawing, pointing away from the corner, mm.
        working: two points of the working edge, pointing away from the corner, mm.
        readings: lengths measured across the piece.
        loose: standard uncertainty of a point's place before measuring, mm.

    Raises:
        ValueError: an edge or a dimension has no length, or a reading is not above zero.

    Source: derived: generalised law of cosines; JCGM 100:2008 H.2 and H.3 for the propagation.
    """
    for reading in readings:
        drawn = math.dist(reading.start, reading.end)
        if not (drawn > 0.0 and reading.measured > 0.0 and reading.standard > 0.0):
            raise ValueError(f"{reading.name}: a length and its reading must be above zero")
    piece = _laid_out(base, working, readings)
    fit = _shape(piece, loose)
    chi_square, freedom = _quarrel(fit, piece)
    value, slopes = _angle(fit.values, piece)
    before = _shape(replace(piece, readings=(), spans=()), loose)
    doubt = float(propagated(slopes[None, :], before.covariance)[0, 0])
    variance = float(propagated(slopes[None, :], fit.covariance)[0, 0])
    chance = chance_of_chi_square(chi_square, freedom)
    return RealAngle(
        nominal=_angle(piece.drawn, piece)[0],
        value=value,
        standard=math.sqrt(variance * widening(chi_square, freedom)),
        residuals={r.name: float(v) for r, v in zip(readings, fit.residuals, strict=False)},
        chance=chance,
        determined=variance < doubt * UNDECIDED**2,
        consistent=chance >= SUSPICIOUS,
    )


def needed_lengths(
    base: tuple[Point, Point],
    working: tuple[Point, Point],
    lengths: Mapping[str, tuple[Point, Point]],
) -> tuple[str, ...] | None:
    """Return which lengths to measure for an angle.

    As few as fix the angle nearly as well as all of them do, and one more than fix their shape:
    lengths that just fix it contradict nothing, so a burr under a jaw would not show.

    Args:
        base: as in `real_angle`, mm.
        working: as in `real_angle`, mm.
        lengths: both ends on the drawing by name, mm; the least wanted come last.

    Returns:
        Names in the order of `lengths`; None where even all of them do not fix the angle.

    Source: derived: the propagation of `real_angle`, at the drawn shape.
    """
    standard = standard_of_reading(CALLIPER_STEP, BY_CALLIPER)
    every = {
        name: Reading(name=name, start=p, end=q, measured=math.dist(p, q), standard=standard)
        for name, (p, q) in lengths.items()
    }

    def doubt(names: Collection[str]) -> tuple[float, bool]:
        return _foreseen(base, working, [every[name] for name in names])

    if not every or not doubt(every)[1]:
        return None
    best, kept = doubt(every)[0], list(every)
    for name in reversed(every):
        fewer = [other for other in kept if other != name]
        left, enough = doubt(fewer)
        if enough and left <= NEARLY_ALL * best:
            kept = fewer
    while (spare := [n for n in every if n not in kept]) and not _over(every, kept):
        closing = [name for name in spare if _over(every, [*kept, name])]
        kept.append(min(closing or spare, key=lambda name: doubt([*kept, name])[0]))
    return tuple(name for name in every if name in kept)


def _foreseen(
    base: tuple[Point, Point], working: tuple[Point, Point], readings: Sequence[Reading]
) -> tuple[float, bool]:
    """Return how well the angle would be known from these lengths, and whether they fix it."""
    piece = _laid_out(base, working, readings)
    rows = [slopes for _, slopes in piece.rows(piece.drawn)]
    tight = [row / standard for row, standard in zip(rows, piece.standards, strict=True)]
    read, straight = tight[: len(readings)], tight[len(readings) :]
    slopes = _angle(piece.drawn, piece)[1]

    def variance(rows: list[Array]) -> float:
        known = np.vstack([*rows, np.eye(piece.drawn.size) / UNTRUSTED])
        return float(slopes @ np.linalg.solve(known.T @ known, slopes))

    before, after = variance(straight), variance([*straight, *read])
    return math.sqrt(after), after < before * UNDECIDED**2


def _over(every: Mapping[str, Reading], names: Collection[str]) -> bool:
    """Return whether these are more lengths than fix their shape: one of them could be told."""
    points = _Points()
    spans = [points.pair(every[name].start, every[name].end) for name in names]
    rows = [_span(points.places().ravel(), span)[1] for span in spans]
    return len(rows) > int(np.linalg.matrix_rank(np.array(rows), tol=1e-6))


class _Piece(Struct, frozen=True, kw_only=True):
    """The points of a piece as drawn, and what holds them to one another."""

    places: Array  # (n, 2) float64, mm
    edges: Edges
    readings: Sequence[Reading]
    spans: Sequence[tuple[int, int]]  # between which points each reading lies
    kept: Sequence[tuple[int, int, int]]  # a point on a check edge, and the edge's ends

    @property
    def drawn(self) -> Array:
        """Return the places as 2 n coordinates, mm."""
        return self.places.ravel()

    @property
    def standards(self) -> Array:
        """Return the standard uncertainty of each reading, then of each point on an edge, mm."""
        return np.array([r.standard for r in self.readings] + [STRAIGHT] * len(self.kept))

    def rows(self, values: Array) -> list[tuple[float, Array]]:
        """Return lengths, then distances off edges, and their derivatives, at 2 n coordinates."""
        spans = [_span(values, span) for span in self.spans]
        return spans + [_off_line(values, who) for who in self.kept]


def _laid_out(
    base: tuple[Point, Point], working: tuple[Point, Point], readings: Sequence[Reading]
) -> _Piece:
    points = _Points()
    edges = (points.pair(*base), points.pair(*working))
    if any(first == second for first, second in edges):
        raise ValueError("a check edge needs two points that lie apart")
    spans = [points.pair(reading.start, reading.end) for reading in readings]
    places = points.places()
    kept = _kept_on_edges(places, edges)
    return _Piece(places=places, edges=edges, readings=readings, spans=spans, kept=kept)


def drift_from(angle_error: float, thickness: float) -> float:
    """Return where a hole drilled off its axis comes out, mm beside its place, signed as the error.

    Args:
        angle_error: radians.
        thickness: along the drill axis, mm.

    Source: derived: design geometry "At a hole", h tan(e).
    """
    return thickness * math.tan(angle_error)


class _Points:
    """Points of the drawing, each kept once."""

    def __init__(self) -> None:
        self._found: list[Point] = []

    def number(self, point: Point) -> int:
        """Return the number of a point, a new one if it is not yet there."""
        for number, known in enumerate(self._found):
            if math.dist(known, point) <= SAME_POINT:
                return number
        self._found.append((float(point[0]), float(point[1])))
        return len(self._found) - 1

    def pair(self, start: Point, end: Point) -> tuple[int, int]:
        """Return the numbers of two points."""
        return self.number(start), self.number(end)

    def places(self) -> Array:
        """Return (n, 2) float64, mm."""
        return np.array(self._found, dtype=np.float64)


def _kept_on_edges(places: Array, edges: Edges) -> list[tuple[int, int, int]]:
    """Return the points that the drawing has on a check edge, each with the edge's ends."""
    kept = []
    for first, second in edges:
        for number in range(len(places)):
            if number not in (first, second):
                off = _off_line(places.ravel(), (number, first, second))[0]
                if abs(off) <= ON_LINE:
                    kept.append((number, first, second))
    return kept


def _shape(piece: _Piece, loose: float) -> Fit:
    """Return the likeliest places of all points, as a fit over 2 n coordinates."""
    drawn = piece.drawn

    def model(values: Array) -> tuple[Array, Array]:
        rows = piece.rows(values)
        lengths = np.array([value for value, _ in rows])
        slopes = np.array([slope for _, slope in rows]).reshape(-1, drawn.size)
        return np.concatenate([lengths, values]), np.vstack([slopes, np.eye(drawn.size)])

    measured = np.array([r.measured for r in piece.readings] + [0.0] * len(piece.kept))
    return weighted_fit(
        model,
        drawn,
        np.concatenate([measured, drawn]),
        np.concatenate([piece.standards, np.full(drawn.size, loose)]),
    )


def _quarrel(fit: Fit, piece: _Piece) -> tuple[float, int]:
    """Return how much readings and straight edges disagree, as chi-square and its freedom.

    The loose hold on the drawing is left out: it neither speaks for nor against a reading. Of
    the rest, those that fix the shape agree with it by themselves; the ones beyond are counted.
    """
    rows = [slopes for _, slopes in piece.rows(piece.drawn)]
    if not rows:
        return 0.0, 0
    needed = int(np.linalg.matrix_rank(np.array(rows), tol=1e-6))
    parts = fit.residuals[: len(rows)] / piece.standards
    return float(np.sum(parts**2)), len(rows) - needed


def _span(values: Array, ends: tuple[int, int]) -> tuple[float, Array]:
    """Return the distance between two points and its derivatives."""
    first, second = 2 * ends[0], 2 * ends[1]
    apart = values[second : second + 2] - values[first : first + 2]
    length = float(np.hypot(apart[0], apart[1]))
    slopes = np.zeros_like(values)
    slopes[second : second + 2] = apart / length
    slopes[first : first + 2] = -apart / length
    return length, slopes


def _off_line(values: Array, who: tuple[int, int, int]) -> tuple[float, Array]:
    """Return how far a point is off the line through two others, and the derivatives."""
    point, first, second = (values[2 * n : 2 * n + 2] for n in who)
    along = second - first
    length = float(np.hypot(along[0], along[1]))
    normal = np.array([-along[1], along[0]]) / length
    off = float(normal @ (point - first))
    share = float((point - first) @ along) / length**2
    slopes = np.zeros_like(values)
    for number, weight in zip(who, (1.0, share - 1.0, -share), strict=True):
        slopes[2 * number : 2 * number + 2] += weight * normal
    return off, slopes


def _opens(piece: _Piece) -> float:
    """Return the sign of the turn from base to working edge by which their angle grows, 1 or -1.

    Both point away from their corner, so edges drawn parallel open as they run apart.
    """
    (base, along), (working, ahead) = (piece.places[list(edge)] for edge in piece.edges)
    u, v = along - base, ahead - working
    turn = float(u[0] * v[1] - u[1] * v[0])
    if abs(turn) <= PARALLEL * float(np.hypot(*u) * np.hypot(*v)):
        turn = float(u[0] * (working - base)[1] - u[1] * (working - base)[0])
    return 1.0 if turn >= 0.0 else -1.0


def _angle(values: Array, piece: _Piece) -> tuple[float, Array]:
    """Return the angle between two edges as directions, radians, and its derivatives.

    Less than 0 where edges that were drawn nearly parallel close instead.
    """
    opens = _opens(piece)
    (u, u_slopes), (v, v_slopes) = (_direction(values, edge) for edge in piece.edges)
    cross, dot = opens * float(u[0] * v[1] - u[1] * v[0]), float(u @ v)
    return math.atan2(cross, dot), opens * (v_slopes - u_slopes)


def _direction(values: Array, edge: tuple[int, int]) -> tuple[Array, Array]:
    """Return an edge's vector and the derivatives of its direction, radians per mm."""
    first, second = 2 * edge[0], 2 * edge[1]
    along = values[second : second + 2] - values[first : first + 2]
    turn = np.array([-along[1], along[0]]) / float(along @ along)
    slopes = np.zeros_like(values)
    slopes[second : second + 2] = turn
    slopes[first : first + 2] = -turn
    return along, slopes
