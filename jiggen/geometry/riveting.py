r"""How long a rivet must be, how its metal fills a flush well, and in which order rivets are set.

::

      \   made head   /      Dh   what goes in: the head's cone down to D, and the shank
    ___\_____________/___
         |  :     :  |       D
         |  :     :  |   G   d    what is filled: two cones down to d and the hole between
    _____|__:_____:__|___
        /   well      \      Dh
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import Literal

from msgspec import Struct

from jiggen.geometry.frame import Side

FIRST_STEP = 8
"""The first pass of riveting sets every so manieth rivet: common practice."""

RivetSides = Literal["pass", "hole", "a", "b"]

ROUNDING = 1e-6
"""Share of a step that a length may be over a standard one before the next is taken."""


def rivet_length(grip: float, diameter: float, allowance: float) -> float:
    """Return how long a rivet must be.

    Args:
        grip: what the rivet holds together, along its axis, mm.
        diameter: of the shank, mm.
        allowance: what stands out before the shop head is set, in diameters.

    Returns:
        Length, mm; of a flush rivet over all, of a protruding one under its head.

    Source: L = G + 1.5D: Navy training manual 14018 p. 547 (read).
    """
    return grip + allowance * diameter


def standard_length(length: float, step: float, *, nearest: bool = False) -> float:
    """Return the standard length, whole steps, that is taken for a calculated one, mm.

    Args:
        length: calculated, mm.
        step: from one standard length to the next, mm.
        nearest: take the nearest one, not the next above.

    Source: the next above: US Army TM 10-5410-229-13&P para 5-6 (read).
    """
    steps = length / step
    count = math.floor(steps + 0.5) if nearest else math.ceil(steps - ROUNDING)
    return max(count, 1) * step


def along_the_face(distance: float, slope: float) -> float:
    """Return a distance in the chord plane, mm, as it is measured along a sloping face.

    Args:
        distance: square to the trailing edge, in the chord plane, mm.
        slope: tan of the skin angle, ratio.

    Source: derived: a straight face.
    """
    return distance * math.hypot(1.0, slope)


class FlushSet(Struct, frozen=True, kw_only=True):
    """A rivet whose shop head is set flush into a well as wide as its own head; lengths in mm.

    Its `length` is over all, its `grip` what it holds together along its axis, skins included;
    `fill` is the share of the well that is filled.
    """

    diameter: float  # of the shank, mm; D
    head: float  # of the made head and of the well, mm; Dh
    hole: float  # mm; d
    half_angle: float  # half the included angle of head and well, radians

    def cone(self, wide: float, narrow: float) -> float:
        """Return the volume of a cone of that angle from one diameter to another, mm3."""
        return math.pi / 12.0 * self.height(wide, narrow) * (wide**2 + wide * narrow + narrow**2)

    def height(self, wide: float, narrow: float) -> float:
        """Return its height, mm."""
        return (wide - narrow) / (2.0 * math.tan(self.half_angle))

    @property
    def well(self) -> float:
        """Return the volume of the well down to the hole, mm3."""
        return self.cone(self.head, self.hole)

    def fill(self, length: float, grip: float) -> float | None:
        """Return the share of the well that a rivet fills.

        Returns:
            1 where the well is just full, 0 where the hole is; below 0 where the shank does not
            even fill the hole. None where the two cones meet inside the grip.

        Source: derived: the rivet's metal against the holes and the wells.
        """
        between = grip - 2.0 * self.height(self.head, self.hole)
        if between < 0.0:
            return None
        shank = length - self.height(self.head, self.diameter)
        metal = self.cone(self.head, self.diameter) + math.pi / 4.0 * self.diameter**2 * shank
        filled_first = self.well + math.pi / 4.0 * self.hole**2 * between
        return (metal - filled_first) / self.well

    def allowance(self, fill: float) -> float:
        """Return S0: what a rivet is longer than its grip, were its hole no wider than its shank.

        The clearance of the hole adds ((d/D)^2 - 1) G to it.

        Source: derived, from `fill`.
        """
        area = math.pi / 4.0 * self.diameter**2
        head = self.height(self.head, self.diameter) - self.cone(self.head, self.diameter) / area
        wells = (1.0 + fill) * self.well / area
        apart = 2.0 * self.height(self.head, self.hole) * (self.hole / self.diameter) ** 2
        return head + wells - apart

    def length(self, grip: float, fill: float = 1.0) -> float:
        """Return how long a rivet must be over all to fill a share of the well, mm.

        Source: derived: G + S, S = S0 + ((d/D)^2 - 1) G.
        """
        return grip + self.allowance(fill) + ((self.hole / self.diameter) ** 2 - 1.0) * grip

    def head_of(self, width: float) -> tuple[float, float]:
        """Return what a shop head of a width takes of the well, and how low it lies in it.

        Args:
            width: mm, not over the head's nor under the hole's.

        Returns:
            Share of the well, and the distance of its top below the face, mm.

        Source: derived.
        """
        return self.cone(width, self.hole) / self.well, self.height(self.head, width)

    def trial(self, grip: float, step: float) -> tuple[float, float, float]:
        """Return the three lengths to try in scrap, one `step` apart, the shortest first.

        The longest standard length that does not overfill the well stands in the middle.

        Source: common practice, no published source.
        """
        best = max(math.floor(self.length(grip) / step + ROUNDING), 2) * step
        return best - step, best, best + step


def riveting_passes(
    count: int, keep_out: Collection[int] = (), step: int = FIRST_STEP
) -> tuple[tuple[int, ...], ...]:
    """Return the holes in the order in which their rivets are half set, pass by pass.

    Args:
        count: how many holes there are.
        keep_out: numbers (from 1) of holes that are not riveted now.
        step: the first pass takes every so manieth hole; it is halved from pass to pass.

    Returns:
        Numbers from 1. Each pass takes the holes a multiple of its step from the middle one that
        are still open, from the middle outward, the one on the right before the one on the left.
        Afterwards all are set fully in the same order.

    Source: drilling and riveting from the middle outward: a military lesson on skins (read);
        half set first, and gaps halved from pass to pass: common practice.
    """
    holes = [number for number in range(1, count + 1) if number not in keep_out]
    middle = (len(holes) - 1) // 2
    left = sorted(range(len(holes)), key=lambda n: (abs(n - middle), n < middle))
    passes = []
    while left:
        now = [n for n in left if (n - middle) % step == 0]
        left = [n for n in left if (n - middle) % step]
        if now:
            passes.append(tuple(holes[n] for n in now))
        step = max(step // 2, 1)
    return tuple(passes)


def made_head_sides(passes: Sequence[Sequence[int]], sides: RivetSides = "pass") -> dict[int, Side]:
    """Return on which side each rivet's made head lies, by the number of its hole.

    Args:
        passes: see `riveting_passes`.
        sides: ``pass``: it changes from pass to pass, the first on side A; ``hole``: from hole to
            hole along the row; ``a`` or ``b``: one side for all.

    Source: common practice, no published source: rivets driven from one side bow the edge; a
        neighbour driven from the other side pushes a half-set rivet out again on a back plate.
    """
    if sides in ("a", "b"):
        return {number: sides for of_pass in passes for number in of_pass}
    if sides == "hole":
        row = sorted(number for of_pass in passes for number in of_pass)
        return {number: "b" if n % 2 else "a" for n, number in enumerate(row)}
    return {number: "b" if n % 2 else "a" for n, of_pass in enumerate(passes) for number in of_pass}
