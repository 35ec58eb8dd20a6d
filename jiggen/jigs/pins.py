"""Room between sheet-holding pins: what stands at a hole stands between its neighbours' pins."""

from __future__ import annotations

#: mm. Clear room between a pin and anything of a jig.
PIN_CLEARANCE = 1.0


def room_between(pin: float, pitch: float) -> float:
    """Return how thick a jig may be that stands on a hole between two pinned ones, mm.

    Args:
        pin: diameter of a pin's body, mm.
        pitch: smallest distance between neighbouring holes, mm.

    Returns:
        At least 0.
    """
    return max(2 * (pitch - pin / 2 - PIN_CLEARANCE), 0.0)
