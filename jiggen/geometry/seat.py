"""A wedge laid with one face on a straight sloping seat: how far its chord plane is from level.

The seat falls forward and is level along the span; the trailing edge lies along its fence. What
is left of the wedge is then a matter of two slopes of the face that lies down, forward and along
the edge. The slope along the edge (the lean) cannot be taken up by such a seat and stays whole.
"""

from __future__ import annotations

import math


def seated_angle(slope_x: float, slope_y: float) -> float:
    """Return the seat angle that levels the chord plane fore and aft.

    Args:
        slope_x: slope of the face that lies down, going forward, counted off the chord plane.
        slope_y: its slope going along the edge.

    Returns:
        Radians, positive where the seat falls forward. The skin angle, where slope_y is 0.

    Source: derived, see DEVELOPERS.md, On a cradle.
    """
    return math.atan(slope_x / math.hypot(1.0, slope_y))


def off_level(slope_x: float, slope_y: float, seat: float) -> float:
    """Return the angle between the chord plane of a wedge on a seat and the table.

    Args:
        slope_x: slope of the face that lies down, going forward, counted off the chord plane.
        slope_y: its slope going along the edge.
        seat: angle of the seat, radians, positive where it falls forward.

    Returns:
        Radians, 0 or more; what the drill axis is off by.

    Source: derived, see DEVELOPERS.md, On a cradle.
    """
    off, lean = seated_angle(slope_x, slope_y) - seat, math.atan(slope_y)
    across = math.hypot(math.sin(off) * math.cos(lean), math.sin(lean))
    return math.atan2(across, math.cos(off) * math.cos(lean))


def left_by_lean(slope_y: float, allowed: float) -> float | None:
    """Return how far a seat angle may be off where the lean has already taken its part.

    Args:
        slope_y: slope going along the edge of the face that lies down.
        allowed: largest angle between chord plane and table, radians, below a quarter turn.

    Returns:
        Radians; None where the lean alone is more than is allowed.

    Source: derived, see DEVELOPERS.md, On a cradle.
    """
    lean = math.atan(abs(slope_y))
    if lean > allowed:
        return None
    # cos(off) = cos(allowed) / cos(lean), written so that small angles keep their digits.
    across = math.sqrt(math.sin(allowed - lean) * math.sin(allowed + lean))
    return math.atan2(across, math.cos(allowed))
