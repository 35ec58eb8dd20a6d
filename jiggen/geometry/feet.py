"""Where a guide's two feet stand on a curved skin, so that their chord has a wanted slope.

::

        hole
         |   near             far
         |    v                v
      ___|___.-+---------------+    the base bridges the curve from foot to foot
     ----'   skin ''--..______.-'
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from jiggen.errors import ImpossibleWedge
from jiggen.geometry.frame import Side
from jiggen.geometry.section import Section
from jiggen.units import size, words

SEARCH_STEPS = 256
"""Even steps in the search for a foot, besides the outline's own corners."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Feet:
    """Where a guide's far foot stands on a curved skin.

    Attributes:
        far: distance of the far foot from the hole, mm; negative on the aft side.
        slope: slope of the straight line from foot to foot, ratio.
    """

    far: float
    slope: float


def feet_for_slope(
    section: Section,
    side: Side,
    hole_x: float,
    near: float,
    far_min: float,
    far_max: float,
    slope: float,
) -> Feet:
    """Find where a guide's far foot must stand on a curved skin to give a wanted slope.

    Args:
        section: the outline.
        side: the skin that the guide stands on.
        hole_x: distance of the hole forward of the trailing edge, mm.
        near: distance of the near foot from the hole, mm; negative for a guide aft of the hole.
        far_min: one end of the far foot's reach, from the hole, mm; beyond `near`.
        far_max: the other end.
        slope: wanted slope of the line from foot to foot, ratio.

    Returns:
        The far foot, and the slope that it really gives. Of several that give the slope the
        widest stance; if none does, the one that comes nearest.

    Raises:
        ImpossibleWedge: the feet would stand off the skin.

    Source: derived: halving the interval on an outline that is straight between its points.
    """
    low, high = sorted((far_min, far_max))
    low, high = max(low, -hole_x), min(high, section.chord - hole_x)
    on_skin = -hole_x <= near <= section.chord - hole_x
    if not on_skin or low > high or low <= near <= high:
        raise ImpossibleWedge(
            "the guide's feet do not both stand on the skin",
            key="guide.foot",
            given=words(
                "a hole {hole_x} from the trailing edge, feet {near} and {far_min} to {far_max} "
                "from it",
                hole_x=size(hole_x),
                near=size(near),
                far_min=size(far_min),
                far_max=size(far_max),
            ),
            remedy="use a shorter foot, or stand the guide on the other side of the hole",
        )

    def miss(far: float) -> float:
        rise = section.height(side, hole_x + far) - section.height(side, hole_x + near)
        return rise / (far - near) - slope

    corners = section.x_a if side == "a" else section.x_b
    inside = corners[(corners > hole_x + low) & (corners < hole_x + high)] - hole_x
    tries = np.unique(np.concatenate([np.linspace(low, high, SEARCH_STEPS + 1), inside]))
    wide_first = tries[np.argsort(-np.abs(tries - near), kind="stable")].tolist()
    misses = [miss(far) for far in wide_first]
    for k in range(len(wide_first) - 1):
        if misses[k] == 0.0 or misses[k] * misses[k + 1] < 0.0:
            far = _halve(miss, wide_first[k], wide_first[k + 1], misses[k])
            return Feet(far=far, slope=slope + miss(far))
    nearest = min(range(len(misses)), key=lambda k: abs(misses[k]))
    return Feet(far=wide_first[nearest], slope=slope + misses[nearest])


def _halve(miss: Callable[[float], float], one: float, other: float, miss_one: float) -> float:
    """Return the place between two where `miss` changes its sign, by halving."""
    if miss_one == 0.0:
        return one
    for _ in range(80):
        middle = (one + other) / 2.0
        if miss(middle) * miss_one > 0.0:
            one = middle
        else:
            other = middle
    return (one + other) / 2.0
