"""Bow told from twist, from thickness and from the straightedge's own error; where the bows are.

One line of readings cannot say whether an edge is bowed or its section turns along the span. Two
lines, read forward and aft on one side against one datum, or one on each face, can.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from jiggen.geometry.straightness import (
    FEWEST,
    Array,
    Deviation,
    Straightness,
    least_squares_line,
    minimum_zone,
)

LOBE_SHARE = 0.25
"""A bow smaller than this share of the largest is not named: a choice, to keep advice short."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Twist:
    """How the section turns along the span.

    Attributes:
        at: (n,) float64, positions, mm.
        angle: (n,) float64, radians, positive where the front line stands higher than the rear
            one; 0 means nothing but the datum.
        end_to_end: the angle at the last position less that at the first, radians.
        largest: the most by which any two places are turned to each other, radians.
        rate: radians per mm, by least squares.
    """

    at: Array
    angle: Array
    end_to_end: float
    largest: float
    rate: float


def without_own_error(first: Array, turned: Array) -> tuple[Array, Array]:
    """Tell the edge from the straightedge that it was read against, turned over in between.

    Rolled half a turn about its own length, both ends where they were, a straightedge shows its
    own bow the other way round, the edge's as before. Sag under its weight is not turned.

    Args:
        first: (n,) float64, deviations read first, mm.
        turned: (n,) float64, read at the same places after it was rolled over, mm.

    Returns:
        The edge's deviations, and the straightedge's own, (n,) float64 each, mm.

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
    """Tell the bow of a wedge from a change of its thickness, from readings on both faces.

    Args:
        upper: (n,) float64, deviations on the upper face, outward positive, mm.
        lower: (n,) float64, on the lower face, outward positive, mm.

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

    Returns:
        Place and signed deviation of each summit, mm.

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
