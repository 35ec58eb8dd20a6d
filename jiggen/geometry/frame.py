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

Everything here works on vectors; the short formulas of the other modules are held against it.
"""

from __future__ import annotations

import math
from typing import Literal, TypeAlias

import numpy as np
import numpy.typing as npt

Array: TypeAlias = npt.NDArray[np.float64]
Side: TypeAlias = Literal["a", "b"]

FORWARD = 0.0
SPANWISE = math.pi / 2
AFT = math.pi


def guide_angle(slope_x: float, slope_y: float = 0.0, heading: float = FORWARD) -> float:
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


def square_to_edge(rib_slope: float, sweep: float) -> float:
    """Return the slope square to a swept trailing edge from the slope along a rib.

    Args:
        rib_slope: slope measured along the rib line, ratio.
        sweep: angle between the rib line and the square to the trailing edge, radians.

    Returns:
        Slope in the section square to the trailing edge, ratio.

    Source: the relation of apparent to true dip in structural geology,
        tan(apparent) = tan(true) sin(angle from strike).
    """
    return rib_slope / math.cos(sweep)


def drill_axis(side: Side) -> Array:
    """Return the direction in which the drill stands on a side: away from the chord plane.

    Args:
        side: the skin that the drill stands on.

    Returns:
        Unit vector (x, y, z), shape (3,).

    Source: definition: holes are drilled square to the chord plane.
    """
    return np.array([0.0, 0.0, 1.0 if side == "a" else -1.0])


def skin_normal(side: Side, slope_x: npt.ArrayLike, slope_y: npt.ArrayLike) -> Array:
    """Return the direction square to a skin, pointing out of the wedge.

    Args:
        side: which skin.
        slope_x: rise of the face going forward, ratio, shape (n,) or a number.
        slope_y: rise of the face going along the edge, ratio, same shape.

    Returns:
        Unit vectors (x, y, z), shape (n, 3) or (3,).

    Source: gradient of a plane, derived.
    """
    x, y = np.broadcast_arrays(np.asarray(slope_x, float), np.asarray(slope_y, float))
    up = np.full_like(x, 1.0 if side == "a" else -1.0)
    return _unit(np.stack([-x, -y, up], axis=-1))


def skin_ray(
    side: Side, slope_x: npt.ArrayLike, slope_y: npt.ArrayLike, heading: npt.ArrayLike
) -> Array:
    """Return the direction of a straight edge laid on a skin at a heading.

    Args:
        side: which skin.
        slope_x: rise of the face going forward, ratio, shape (n,) or a number.
        slope_y: rise of the face going along the edge, ratio.
        heading: direction seen from above, radians, as in `guide_angle`.

    Returns:
        Unit vectors (x, y, z), shape (n, 3) or (3,).

    Source: derived.
    """
    x, y, turn = np.broadcast_arrays(
        np.asarray(slope_x, float), np.asarray(slope_y, float), np.asarray(heading, float)
    )
    rise = x * np.cos(turn) + y * np.sin(turn)
    up = rise if side == "a" else -rise
    return _unit(np.stack([np.cos(turn), np.sin(turn), up], axis=-1))


def angle_between(u: Array, v: Array) -> Array:
    """Return the angle between two directions.

    Args:
        u: vectors, shape (..., 3).
        v: vectors, shape (..., 3).

    Returns:
        Angles from 0 to pi, radians. By the arc tangent: the arc cosine loses small angles.

    Source: cross and dot product, derived.
    """
    cross = np.linalg.norm(np.cross(u, v), axis=-1)
    return np.asarray(np.arctan2(cross, np.sum(u * v, axis=-1)))


def where_line_meets_plane(start: Array, direction: Array, point: Array, normal: Array) -> Array:
    """Return where a drill that starts at a point comes out through a face.

    Args:
        start: a point of the drill's line, mm, shape (..., 3).
        direction: the drill's direction, shape (..., 3).
        point: a point of the face, mm, shape (..., 3).
        normal: the face's normal, shape (..., 3); not square to `direction`.

    Returns:
        Points, mm, shape (..., 3).

    Source: line and plane, derived.
    """
    along = np.sum((point - start) * normal, axis=-1) / np.sum(direction * normal, axis=-1)
    return np.asarray(start + along[..., None] * direction)


def _unit(vectors: Array) -> Array:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=-1, keepdims=True))
