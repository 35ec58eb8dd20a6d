"""How long a rivet must be, and what metal a hole has round it, on faces that slope."""

from __future__ import annotations

import math

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
    """Return the standard length that is taken for a calculated one.

    Args:
        length: calculated, mm.
        step: from one standard length to the next, mm.
        nearest: take the nearest one, not the next above.

    Returns:
        A whole number of steps, mm.

    Source: the next above: US Army TM 10-5410-229-13&P para 5-6 (read).
    """
    steps = length / step
    count = math.floor(steps + 0.5) if nearest else math.ceil(steps - ROUNDING)
    return max(count, 1) * step


def along_the_face(distance: float, slope: float) -> float:
    """Return a distance in the chord plane as it is measured along a sloping face.

    Args:
        distance: square to the trailing edge, in the chord plane, mm.
        slope: tan of the skin angle, ratio.

    Returns:
        mm: distance / cos a, never shorter than the distance itself.

    Source: derived: a straight face.
    """
    return distance * math.hypot(1.0, slope)
