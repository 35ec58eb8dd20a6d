"""The fewest guides that keep every hole inside the allowed drift.

A guide cut to one angle serves a run of neighbouring holes. A guide that is wrong by e moves the
exit of a hole in a wedge of thickness h by h tan(e), so each hole allows the angles from g - e to
g + e with e = atan(drift / h). Holes whose ranges have an angle in common can share a guide.

Why walking along the row and closing a guide only when the next hole no longer fits gives the
fewest: if some run can share a guide, every part of that run can too. So the first guide of the
walk reaches at least as far as the first guide of any other choice; the walk's second guide then
starts no earlier than the other's second, and ends no earlier, by the same argument; and so on.
No other choice can therefore have finished the row with fewer.

Closing each guide as late as it can also spends the whole of the allowed error on the first guides
and leaves the last one with room to spare. Among the choices with the fewest guides the one is
taken that leaves the worst hole most for cutting and drilling: the walk is repeated with a part of
every hole's allowance kept back, as much as can be without a further guide.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from jiggen.geometry.frame import Array

BALANCE_STEPS = 20
"""Halvings of what is kept back: to a millionth of the allowed error."""


ROUNDING = 1e-9
"""Radians. What is less is the last digit of a sum, and no room for anybody."""


class Guide(Struct, frozen=True, kw_only=True):
    """One guide and the run of holes that it serves."""

    first: int  # index of its first hole in the row given
    last: int  # index of its last hole
    angle: float  # skin angle that the guide is cut for, radians
    worst_angle_error: float  # largest difference from its holes' own angles, radians
    # largest drift that this gives, mm; None where the thickness is not known
    worst_drift: float | None


def allowed_errors(thickness: Array, drift: float, angle: float) -> Array:
    """Return the angle error e that each hole can bear, h tan(e) = drift, radians, shape (n,).

    Args:
        thickness: thickness of the wedge along the drill axis, mm, shape (n,); NaN where unknown.
        drift: largest mismatch at the exit, mm.
        angle: allowed angle error where the thickness is not known, radians.

    Source: derived, see the head of `jiggen.geometry.holes`.
    """
    known = np.isfinite(thickness)
    return np.where(known, np.arctan2(drift, np.where(known, thickness, 1.0)), angle)


def left_over(allowed: float, error: float) -> float:
    """Return what an error leaves of the one that a hole can bear.

    Args:
        allowed: error that the hole can bear, radians.
        error: what is spent of it already, radians.

    Returns:
        What is left for cutting and drilling, radians; 0 where that is nothing but rounding.

    Source: definition.
    """
    left = allowed - error
    return left if left > ROUNDING else 0.0


def guide_set(
    angles: Sequence[float] | Array, allowed: Sequence[float] | Array, thickness: Array
) -> tuple[Guide, ...]:
    """Return the fewest guides that serve a row of holes, each a run of neighbours.

    Args:
        angles: skin angle at each hole in the order of the row, radians, shape (n,).
        allowed: angle error that each hole can bear, radians, shape (n,).
        thickness: thickness at each hole, mm, shape (n,); NaN where unknown.

    Returns:
        Guides in the order of the row, each cut to the middle of its holes' angles (moved only
        as far as the tightest hole needs). None of its holes is off by more than it allows.

    Source: derived: the walk that closes a guide as late as it can uses the fewest (see the proof
        at the head of this module).
    """
    g = np.asarray(angles, dtype=np.float64)
    e = np.asarray(allowed, dtype=np.float64)
    least, most = (g - e).tolist(), (g + e).tolist()
    runs = _walk(least, most)
    if len(runs) > 1:
        runs = _balanced(least, most, float(e.min()), len(runs)) or runs
    return tuple(
        _guide(g, thickness, first, last, max(least[first : last + 1]), min(most[first : last + 1]))
        for first, last in runs
    )


def _walk(
    least: list[float], most: list[float], kept: float = 0.0, limit: int | None = None
) -> list[tuple[int, int]]:
    """Return runs (first, last), each closed as late as it can be, `kept` radians kept back.

    Gives up with more than `limit` runs as soon as there are so many.
    """
    runs: list[tuple[int, int]] = []
    first, count = 0, len(least)
    while first < count and (limit is None or len(runs) <= limit):
        low, high, last = least[first] + kept, most[first] - kept, first
        while last + 1 < count:
            new_low, new_high = least[last + 1] + kept, most[last + 1] - kept
            new_low, new_high = max(low, new_low), min(high, new_high)
            if new_low > new_high:
                break
            low, high, last = new_low, new_high, last + 1
        runs.append((first, last))
        first = last + 1
    return runs


def _balanced(
    least: list[float], most: list[float], tightest: float, fewest: int
) -> list[tuple[int, int]]:
    """Return `fewest` runs that leave the worst hole as much of its allowance as can be."""
    low, high = 0.0, tightest
    best: list[tuple[int, int]] = []
    for _ in range(BALANCE_STEPS):
        middle = (low + high) / 2.0
        runs = _walk(least, most, middle, fewest)
        if len(runs) <= fewest:
            low, best = middle, runs
        else:
            high = middle
    return best


def _guide(g: Array, thickness: Array, first: int, last: int, low: float, high: float) -> Guide:
    run = g[first : last + 1]
    middle = (float(run.min()) + float(run.max())) / 2.0
    angle = min(max(middle, low), high)
    errors = np.abs(run - angle)
    drift = float((thickness[first : last + 1] * np.tan(errors)).max())
    return Guide(
        first=first,
        last=last,
        angle=angle,
        worst_angle_error=float(errors.max()),
        worst_drift=drift if np.isfinite(drift) else None,
    )
