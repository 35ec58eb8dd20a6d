"""Straightness of a riveted edge: how far readings along it stray from a straight line.

Three straight lines are laid through the readings. The one through both end readings is what a
straightedge across the ends shows. The least-squares line lies as near as it can to all of them.
The minimum zone is the narrowest strip between two parallel lines that holds every reading; its
width is what a straightness limit on a drawing means::

      hollow: it rests on both ends        hump: held with equal end gaps
      ==============================       ==============================
      '.           ^             .'         ^          .--'''--.         ^
        '-._      gap        _.-'          gap     .-'           '-.    gap
            '-.____v_____.-'                v__.-'                  '-.__v

A straightedge that lies on the edge leaves gaps as wide as that strip or wider, whichever way it
is rocked; rocked until its largest gap is smallest it lies along one side of the strip, and that
gap is the width. On a hump that is where the gaps at both ends are equal.

One line of readings cannot say whether an edge is bowed or its section turns along the span. Two
lines can: forward and aft on one side, one on each face, or one line read twice.

Deviations are measured square to the position, so widths are taken that way too. Square to the
lines themselves they would be smaller by the cosine of the slope: 0.05 % at a slope of 1 in 32.
Positions and deviations are in mm; arrays have one value a reading, positions rising.

At a slope m the strip that holds all readings y at places x is

    w(m) = max(y - m x) - min(y - m x)

wide. Max and -min are convex in m and made of straight parts, so w is too; its corners, and its
least value, lie at the slopes of the edges of the readings' convex hull. Every edge of the hull
is tried with the reading farthest from it on the other side: no search, no step. Since w(m) moves
by at most 2 h where no reading moves by more than h, so does its least value: half a step of the
rule a reading, a whole one a zone.

Two lines d apart across the edge, f forward and r aft, read against one datum: bow (f + r) / 2,
twist atan((f - r) / d). Two faces, outward positive: bow (u - l) / 2, change of thickness u + l.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from msgspec import Struct

from jiggen.geometry.frame import Array

FEWEST = 3
"""Two readings always lie on a line: they say nothing of straightness."""

LOBE_SHARE = 0.25
"""A bow smaller than this share of the largest is not named: a choice, to keep advice short."""


class Line(NamedTuple):
    """A straight line over the positions."""

    slope: float  # mm of deviation per mm of position
    height: float  # deviation at position 0, mm

    def over(self, at: Array) -> Array:
        """Return the line's height at each position, mm."""
        return self.height + self.slope * at


class Deviation(NamedTuple):
    """How far one reading is from a line."""

    at: float  # its position, mm
    value: float  # mm, signed like the readings


class Zone(Struct, frozen=True, kw_only=True):
    """The narrowest strip between two parallel lines that holds every reading."""

    width: float  # between the two lines, mm, in the direction of the deviations
    middle: Line  # the line halfway between them
    # positions of the readings that hold the strip as narrow as it is, mm, rising
    touches: tuple[float, ...]


class Straightness(Struct, frozen=True, kw_only=True):
    """What the readings along one line say."""

    at: Array  # (n,) float64, positions, mm, rising
    off: Array  # (n,) float64, deviations, mm
    least_squares: Line  # the line of least squares
    least_squares_range: float  # from the lowest to the highest reading about it, mm
    least_squares_largest: Deviation  # the reading farthest from it
    ends: Line  # the line through the first and the last reading
    ends_range: float  # from the lowest to the highest reading about it, mm
    largest: Deviation  # the reading farthest from the line through the ends: the bow and its place
    zone: Zone  # the minimum zone


class Twist(Struct, frozen=True, kw_only=True):
    """How the section turns along the span."""

    at: Array  # (n,) float64, positions, mm
    # (n,) float64, radians, positive where the front line stands higher than the rear one; 0 means
    # nothing but the datum
    angle: Array
    end_to_end: float  # the angle at the last position less that at the first, radians
    largest: float  # the most by which any two places are turned to each other, radians
    rate: float  # radians per mm, by least squares


def straightness(at: Sequence[float] | Array, off: Sequence[float] | Array) -> Straightness:
    """Return how straight a line of readings is.

    Raises:
        ValueError: fewer than three readings, or positions that do not rise.

    Source: ISO 12780-1:2011 for least squares and minimum zone (read as a summary); the minimum
    condition is that of ISO 1101 (read as quoted).
    """
    x, y = _checked(at, off)
    fitted, ends = least_squares_line(x, y), end_line(x, y)
    from_fitted, from_ends = y - fitted.over(x), y - ends.over(x)
    return Straightness(
        at=x,
        off=y,
        least_squares=fitted,
        least_squares_range=float(np.ptp(from_fitted)),
        least_squares_largest=_farthest(x, from_fitted),
        ends=ends,
        ends_range=float(np.ptp(from_ends)),
        largest=_farthest(x, from_ends),
        zone=minimum_zone(x, y),
    )


def least_squares_line(at: Array, off: Array) -> Line:
    """Return the straight line whose squared distances from the readings add up to the least.

    Source: ISO 12780-1:2011, least squares reference line (read as a summary).
    """
    # About the mean place: far from 0 the products would swamp the deviations.
    middle, mean = float(np.mean(at)), float(np.mean(off))
    run = at - middle
    slope = float(run @ (off - mean) / (run @ run))
    return Line(slope, mean - slope * middle)


def end_line(at: Array, off: Array) -> Line:
    """Return the straight line through the first and the last reading.

    Source: what a straightedge across both ends shows; common practice, no published source.
    """
    slope = float((off[-1] - off[0]) / (at[-1] - at[0]))
    return Line(slope, float(off[0]) - slope * float(at[0]))


def minimum_zone(at: Array, off: Array) -> Zone:
    """Return the narrowest strip between two parallel lines that holds every reading.

    The width at a slope m is the highest of ``off - m at`` less the lowest: the upper hull of the
    readings less the lower one. It is a convex function of m made of straight parts, which meet
    where m is the slope of an edge of the hull. Its least value is therefore at such an edge: one
    line of the strip lies along an edge of the convex hull, the other touches the opposite
    side. All edges are tried, so the answer is exact but for the rounding of the arithmetic.

    Source: ISO 12780-1:2011, minimum zone (read as a summary); the proof is above.
    """
    lower, upper = _hull(at, off, 1.0), _hull(at, off, -1.0)
    best: tuple[float, float, tuple[int, ...]] | None = None
    for edge_side, far_side, sign in ((lower, upper, 1.0), (upper, lower, -1.0)):
        far_at, far_off = at[far_side], off[far_side]
        for i, j in pairwise(edge_side):
            slope = float((off[j] - off[i]) / (at[j] - at[i]))
            heights = sign * (far_off - off[i] - slope * (far_at - at[i]))
            far = int(np.argmax(heights))
            if best is None or heights[far] < best[0]:
                best = (float(heights[far]), slope, (i, j, far_side[far]))
    assert best is not None  # two readings make one edge
    width, slope, touching = best
    rest = off - slope * at
    middle = Line(slope, float(np.max(rest) + np.min(rest)) / 2.0)
    return Zone(
        width=max(width, 0.0),
        middle=middle,
        touches=tuple(float(at[k]) for k in sorted(set(touching))),
    )


def worst_stretch(
    at: Sequence[float] | Array, off: Sequence[float] | Array, length: float
) -> tuple[Zone, float, float] | None:
    """Return the least straight stretch of a given length along the edge.

    A stretch that begins between two readings holds no more of them than one that begins at the
    next, so only stretches that begin at a reading are tried.

    Args:
        at: positions, mm, rising.
        off: deviation at each, mm.
        length: of the stretch, mm.

    Returns:
        Its minimum zone, and the positions of its first and last reading; None where no stretch
        holds three readings.

    Raises:
        ValueError: fewer than three readings, or positions that do not rise.

    Source: definition: the minimum zone of each stretch, see `minimum_zone`.
    """
    x, y = _checked(at, off)
    worst: tuple[Zone, float, float] | None = None
    for first in range(len(x)):
        # A nanometre: an end at exactly the length shall not fall out by rounding.
        last = int(np.searchsorted(x, x[first] + length + 1e-6, side="right"))
        if last - first < FEWEST:
            continue
        near, off_near = x[first:last], y[first:last]
        # No zone is wider than the strip along any line: most stretches need no hull.
        fitted = least_squares_line(near, off_near).over(near)
        if worst is not None and np.ptp(off_near - fitted) <= worst[0].width:
            continue
        zone = minimum_zone(near, off_near)
        if worst is None or zone.width > worst[0].width:
            worst = (zone, float(x[first]), float(x[last - 1]))
    return worst


def without_own_error(first: Array, turned: Array) -> tuple[Array, Array]:
    """Tell the edge from the straightedge that it was read against, turned over in between.

    Either the part is turned, and read with one side up and then the other: the straightedge's own
    bow shows the same both times, the edge's the other way round. Or the straightedge is rolled
    half a turn about its own length, both ends where they were: then it is the other way about,
    where the bar is as thick at every place. Sag under its weight is not turned, and a change of
    the wedge's thickness, halved, counts with the straightedge. As the straightedge lies otherwise
    each time, either result is right but for a straight line.

    Args:
        first: (n,) float64, deviations read first, mm.
        turned: (n,) float64, read at the same places after the turn, with the sign that the edge
            has in `first`, mm.

    Returns:
        The edge's deviations, and the straightedge's own, (n,) float64 each, mm. From gaps g_a and
        g_b, with side A up and with side B up, ``first`` is -g_a and ``turned`` is g_b: the edge
        bows toward A by (g_b - g_a) / 2, and the straightedge's own is (g_a + g_b) / 2, its sign
        turned.

    Source: derived; reversal is common practice, no published source.
    """
    return (first + turned) / 2.0, (first - turned) / 2.0


def twist_of(at: Array, front: Array, rear: Array, apart: float) -> Twist:
    """Return how the section turns along the span, from two lines read on one side of it.

    Args:
        at: (n,) float64, positions, mm, rising.
        front: (n,) float64, deviations along the line farther forward, mm.
        rear: (n,) float64, along the other, against the same datum, mm.
        apart: between the two lines, mm.

    Returns:
        The twist; the bow is the straightness of the mean of both lines.

    Raises:
        ValueError: the lines are not apart.

    Source: derived: the section is a straight line between the two readings.
    """
    if not apart > 0.0:
        raise ValueError(f"the two lines must be apart, given {apart} mm")
    angle = np.arctan2(front - rear, apart)
    return Twist(
        at=at,
        angle=angle,
        end_to_end=float(angle[-1] - angle[0]),
        largest=float(np.ptp(angle)),
        rate=least_squares_line(at, angle).slope,
    )


def bow_and_thickness(upper: Array, lower: Array) -> tuple[Array, Array]:
    """Tell bow from change of thickness, by readings on both faces, outward positive.

    Returns:
        The bow of the middle, positive toward the upper face, and the change of thickness, mm.

    Source: derived: the middle lies halfway between the faces.
    """
    return (upper - lower) / 2.0, upper + lower


def bows(line: Straightness, doubt: float = 0.0) -> tuple[Deviation, ...]:
    """Return each bow's summit off the line through the ends, the largest first.

    A bow is a run of readings on one side of that line, and ends where the line is met. One no
    larger than the doubt, or smaller than `LOBE_SHARE` of the largest, is left out.

    Args:
        line: the readings along one line.
        doubt: of a deviation, mm.

    Source: definition: a run of one sign; what is left out, common practice, no published source.
    """
    away = line.off - line.ends.over(line.at)
    least = max(doubt, LOBE_SHARE * abs(line.largest.value), 1e-9)
    summits: list[Deviation] = []
    for at, value in zip(line.at.tolist(), away.tolist(), strict=True):
        if abs(value) <= least:
            if value * (summits[-1].value if summits else 0.0) <= 0.0:
                summits.append(Deviation(at, 0.0))  # back at the line: a new run
            continue
        if not summits or summits[-1].value * value <= 0.0:
            summits.append(Deviation(at, value))
        elif abs(value) > abs(summits[-1].value):
            summits[-1] = Deviation(at, value)
    named = [s for s in summits if s.value != 0.0]
    return tuple(sorted(named, key=lambda s: -abs(s.value)))


def doubtful_reading(line: Straightness, doubt: float = 0.0) -> Deviation | None:
    """Return a reading that makes the zone by itself: a slip, a burr or a dent.

    Args:
        line: the readings along one line.
        doubt: of a deviation, mm; a zone no wider has no reading to ask about.

    Returns:
        Its place and how far it is off the zone's middle line without it; None where the zone
        does not shrink to a third when one reading is left out, or there are fewer than six.

    Source: common practice, no published source: the zone with each reading left out in turn.
    """
    if len(line.at) < 2 * FEWEST or not line.zone.width > max(doubt, 1e-9):
        return None
    for touched in line.zone.touches:
        others = line.at != touched
        rest = minimum_zone(line.at[others], line.off[others])
        if rest.width < line.zone.width / 3.0:
            value = float(line.off[~others][0]) - (rest.middle.height + rest.middle.slope * touched)
            return Deviation(touched, value)
    return None


def _checked(at: Sequence[float] | Array, off: Sequence[float] | Array) -> tuple[Array, Array]:
    x, y = np.asarray(at, dtype=np.float64), np.asarray(off, dtype=np.float64)
    if x.ndim != 1 or x.shape != y.shape or len(x) < FEWEST:
        raise ValueError(f"straightness needs {FEWEST} readings or more, given {len(x)}")
    if not (np.isfinite(x).all() and np.isfinite(y).all() and (np.diff(x) > 0.0).all()):
        raise ValueError("positions must rise from reading to reading, and all be finite")
    return x, y


def _farthest(at: Array, away: Array) -> Deviation:
    place = int(np.argmax(np.abs(away)))
    return Deviation(float(at[place]), float(away[place]))


def _hull(at: Array, off: Array, side: float) -> list[int]:
    """Return the numbers of the readings on the lower (1) or upper (-1) convex hull, rising."""
    xs, ys = at.tolist(), (side * off).tolist()
    hull: list[int] = []
    for k in range(len(xs)):
        while len(hull) > 1:
            i, j = hull[-2], hull[-1]
            if (xs[j] - xs[i]) * (ys[k] - ys[i]) > (ys[j] - ys[i]) * (xs[k] - xs[i]):
                break
            hull.pop()
        hull.append(k)
    return hull
