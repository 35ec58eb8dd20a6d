"""Which seat angles suit a face that is twisted along a cradle, and what does where none suits.

A straight seat under a twisted face holds the chord plane level at one place only. How far it may
be off elsewhere is the error that the job allows, less what is left to saw and calliper.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence

from jiggen.geometry.seat import left_by_lean, seated_angle

#: Share of the allowed error that is left to the saw and to the calliper; common practice, no
#: published source.
CUT_SHARE = 1.0 / 3.0
#: The lying face's slopes forward and along the edge, at places along one cradle.
Slopes = tuple[tuple[float, float], ...]


def seat_range(slopes: Slopes, error: float) -> tuple[float, float] | None:
    """Return the lowest and the highest seat angle that all of a lying face accepts, radians.

    Args:
        slopes: the lying face's, forward and along the edge.
        error: allowed between chord plane and table, radians; a share of it is kept for cutting.

    Returns:
        The lowest above the highest where no seat suits; None where the lean alone is too much.
    """
    left = [left_by_lean(along, (1 - CUT_SHARE) * error) for _, along in slopes]
    rest = [one for one in left if one is not None]
    if len(rest) < len(left):
        return None
    seats = [seated_angle(*slope) for slope in slopes]
    low = max(seat - off for seat, off in zip(seats, rest, strict=True))
    return low, min(seat + off for seat, off in zip(seats, rest, strict=True))


def suits(slopes: Slopes, error: float) -> bool:
    """Return whether one seat suits all of a lying face.

    Args:
        slopes: the lying face's, forward and along the edge.
        error: allowed between chord plane and table, radians.
    """
    found = seat_range(slopes, error)
    return found is not None and found[0] <= found[1]


def least_error(faces: Sequence[Slopes]) -> int:
    """Return the least allowed error with which each lying face has a seat, hundredths of a degree.

    Args:
        faces: the slopes of each.
    """
    return 1 + bisect_left(
        range(1, 6000), True, key=lambda n: all(suits(s, hundredths(n)) for s in faces)
    )


def hundredths(number: int) -> float:
    """Return hundredths of a degree in radians."""
    return math.radians(number / 100)
