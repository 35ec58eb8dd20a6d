"""The axes at the trailing edge, and the angle that a sloping skin shows at a heading.

Seen in the section square to the trailing edge, x forward and z square to the chord plane::

        z  drill axis
        |          .-'  skin A, slope dz/dx = tan(alpha_a)
        |      .-'
      TE|__.-'_________ x   chord plane
        |  '-.
               '-.      skin B, slope of its own height = tan(alpha_b)

y runs along the trailing edge, out of the page. A face is given by the slopes of its own height
off the chord plane: `slope_x` going forward and `slope_y` going along the edge, both plain ratios
and both counted away from the chord plane, so that side A and side B read alike.
"""

from __future__ import annotations

import math
from typing import Literal, TypeAlias

import numpy as np
import numpy.typing as npt

Array: TypeAlias = npt.NDArray[np.float64]
Side: TypeAlias = Literal["a", "b"]
Point: TypeAlias = tuple[float, float]


def guide_angle(slope_x: float, slope_y: float = 0.0, heading: float = 0.0) -> float:
    """Return the angle that a guide's corner must have at a heading on the skin.

    Args:
        slope_x: rise of the face going forward, ratio (tan of the skin angle).
        slope_y: rise of the face going along the edge, ratio.
        heading: direction of the guide's base seen from above, radians; 0 is forward, a quarter
            turn is along the edge toward larger y, a half turn is aft.

    Returns:
        Angle between the skin and the drill axis on that side of the hole, radians.

    Source: derived: the ray on the face at that heading against the axis square to the chord
        plane; a 12 deg wedge drilled with an 84 deg corner is common practice, no published source.
    """
    return math.pi / 2 - math.atan(slope_x * math.cos(heading) + slope_y * math.sin(heading))


def lean_over(off: float, over: float) -> float:
    """Return how far a thing leans that is off by a little over a length, radians.

    Args:
        off: at one end of it, mm.
        over: the length, mm.

    Source: a right-angled triangle, derived.
    """
    return math.atan(off / over) if over > 0.0 else math.copysign(math.pi / 2, off)


def rise_out(diameter: float, slope: float) -> float:
    """Return how far a sloping face rises, or falls, from an axis out to a circle round it, mm.

    Args:
        diameter: of the circle, mm.
        slope: of the face to the square to the axis, ratio.

    Source: a right-angled triangle, derived.
    """
    return diameter / 2.0 * abs(slope)


def square_to_edge(rib_slope: float, sweep: float) -> float:
    """Return the slope square to a swept trailing edge from the slope along a rib.

    Args:
        rib_slope: slope measured along the rib line, ratio.
        sweep: angle between the rib line and the square to the trailing edge, radians.

    Source: the relation of apparent to true dip in structural geology,
        tan(apparent) = tan(true) sin(angle from strike).
    """
    return rib_slope / math.cos(sweep)
