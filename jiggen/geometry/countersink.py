r"""The countersink that nests a dimpled skin, square to the chord plane in a sloping face.

A dimple's underside is the rivet head's cone, moved out by the thickness of the skin::

        \      head      /          Dh  head at the outside of the skin
      ___\______________/___
      ____ \          / ____  t     skin
            \________/
     __ _ _ _|______|_ _ _ __       D   the cone at the face of the part, wider than Dh
        \    :      :    /
          \  :      :  /      depth, along the axis
            \:______:/
             |  d   |               the hole

q is half the included angle of the cone. On a face that rises forward the same countersink cuts a
rim that is higher on its forward side and lower aft.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


def nesting_diameter(head: float, skin: float, half_angle: float) -> float:
    """Return the diameter of the countersink that a dimpled skin sits down into.

    Args:
        head: diameter of the rivet's head, mm.
        skin: thickness of the dimpled skin, mm; 0 for a head that sits in the part itself.
        half_angle: half the included angle of the head, radians.

    Returns:
        Diameter at the face of the part, mm: head + 2 t (1 - sin q) / cos q.

    Source: derived: a cone moved out by t along its normal, see DEVELOPERS.md, Countersink.
    """
    return head + 2.0 * skin * (1.0 - math.sin(half_angle)) / math.cos(half_angle)


def cone_depth(diameter: float, hole: float, half_angle: float) -> float | None:
    """Return how deep a countersink goes, from the face to where its cone meets the hole.

    Args:
        diameter: of the countersink at the face, mm.
        hole: diameter of the hole, mm.
        half_angle: half the included angle of the cone, radians.

    Returns:
        Depth along the axis, mm: (D - d) / (2 tan q); None where the hole is as wide as the
        countersink, so that no cone is left.

    Source: derived: a cone.
    """
    depth = (diameter - hole) / (2.0 * math.tan(half_angle))
    return depth if depth > 0.0 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rim:
    """Where the rim of a countersink lies on a sloping face.

    Attributes:
        far: distance from the axis of its high side, mm: forward where the face rises forward.
        near: distance from the axis of its low side, mm.
        high: height of the high side over the face at the axis, mm.
        low: how far the low side lies below the face at the axis, mm.
    """

    far: float
    near: float
    high: float
    low: float


def rim(diameter: float, half_angle: float, slope: float) -> Rim | None:
    """Return the rim that a countersink square to the chord plane cuts in a sloping face.

    Args:
        diameter: of the countersink at the height of the face on the axis, mm.
        half_angle: half the included angle of the cone, radians.
        slope: tan of the skin angle, ratio.

    Returns:
        The rim; None where the face is as steep as the cone, which then never ends.

    Source: derived: the cone's two lines in the section met by the face's: (D/2) / (1 - m tan q)
        on the side where the face rises by m, (D/2) / (1 + m tan q) where it falls.
    """
    rise = abs(slope)
    run = rise * math.tan(half_angle)
    if run >= 1.0 - 1e-9:
        return None
    far, near = diameter / 2.0 / (1.0 - run), diameter / 2.0 / (1.0 + run)
    return Rim(far=far, near=near, high=far * rise, low=near * rise)


def sunk_for_the_low_side(depth: float, diameter: float, slope: float) -> float:
    """Return how deep a countersink goes once the low side of a sloping face takes the dimple too.

    Args:
        depth: of the countersink on a face square to it, mm.
        diameter: of the countersink, mm.
        slope: tan of the skin angle, ratio.

    Returns:
        Depth along the axis from the face at the axis, mm: depth + (D/2) tan a. Enough for the
        whole dimple, which stands square to the skin, to lie inside the cone of a head of 75 deg
        and more.

    Source: derived: the face falls by (D/2) tan a from the axis to the countersink's low side.
    """
    return depth + diameter / 2.0 * abs(slope)


def travel_from_touch(depth: float, hole: float, slope: float) -> float:
    """Return how far a countersink goes in from where it first touches the edge of the hole.

    Args:
        depth: of the countersink along the axis, from the face at the axis, mm.
        hole: diameter of the hole that the pilot runs in, mm.
        slope: tan of the skin angle, ratio.

    Returns:
        What the stop is set to, mm: depth + (d/2) tan a. The cutter touches the high edge of the
        hole first.

    Source: derived: the face rises by (d/2) tan a from the axis to the edge of the hole.
    """
    return depth + hole / 2.0 * abs(slope)


def land(thickness: float, depth_a: float, depth_b: float) -> float:
    """Return what is left of a hole's wall between two opposed countersinks.

    Args:
        thickness: of the part along the axis, mm.
        depth_a: of one countersink, mm.
        depth_b: of the other, mm.

    Returns:
        mm; 0 or less where the cones meet in a knife edge.

    Source: derived: what the cones leave.
    """
    return thickness - depth_a - depth_b
