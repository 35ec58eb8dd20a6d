"""A wedge laid with one face on a straight sloping seat: how far its chord plane is from level.

The seat falls forward and is level along the span. What is left of the wedge is then a matter of
two slopes of the face that lies down, forward and along the edge. The slope along the edge (the
lean) cannot be taken up by such a seat and stays whole. A table that tilts is such a seat too.

Beyond the seat the wedge hangs free, and is held up by loose seats so far apart that it sags but
a little between the last of them and its end.
"""

from __future__ import annotations

import math

HOLDS = 0.2
"""Slope that dry aluminium holds on, ratio; less when shaken. Common practice, no published
source."""
ALUMINIUM = 70_000.0
"""Stiffness of a wedge's aluminium, N/mm2."""
WEIGHT = 2.7e-6 * 9.81
"""What it weighs, N/mm3."""
SAG = 0.5
"""How far the end of a wedge may sag, mm: common practice, no published source."""
CHECK_OVER = 100.0
"""A tilt is proved by its rise over this, mm."""


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


def slides(slope: float) -> bool:
    """Return whether a thing slides down a slope by itself, so that it finds its stop.

    Args:
        slope: tan of the slope's angle, ratio.

    Source: common practice, no published source; see `HOLDS`. Below 11.3 deg it must be pushed.
    """
    return abs(slope) > HOLDS


def support_spacing(thickness: float, sag: float = SAG) -> float:
    """Return how far a wedge may hang free beyond a seat, and so how far apart seats stand.

    Args:
        thickness: mean thickness of the wedge, mm.
        sag: allowed at its end, mm.

    Returns:
        mm: (E t^2 f / (1.5 rho g))^(1/4). Between two seats it sags less than a ninth of that.

    Source: beam held at one end under its own weight, q L^4 / (8 E I).
    """
    return math.sqrt(math.sqrt(ALUMINIUM * thickness**2 * sag / (1.5 * WEIGHT)))


def free_sag(length: float, thickness: float) -> float:
    """Return how far the end of a wedge sags that hangs free, mm.

    Args:
        length: from the seat to its end, mm.
        thickness: mean thickness of the wedge, mm.

    Source: beam held at one end under its own weight; a wedge is stiffer than a strip of its mean
        thickness.
    """
    return 1.5 * WEIGHT * length**4 / (ALUMINIUM * thickness**2)


def set_ups(holes: int, at_a_time: int) -> int:
    """Return how often the wedge is clamped to countersink a row from both sides.

    Args:
        holes: how many there are.
        at_a_time: how many lie over the seat.

    Source: definition.
    """
    return 2 * math.ceil(holes / at_a_time)


def tilt_rise(angle: float) -> float:
    """Return the rise over 100 mm that proves a tilted table, mm.

    Args:
        angle: of the table, radians: the skin angle of the lower face to level the chord plane,
            both skin angles to level the upper face.

    Source: sine bar, derived.
    """
    return CHECK_OVER * math.sin(angle)
