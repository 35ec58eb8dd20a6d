r"""The countersink that nests a dimpled skin, square to the chord plane or to the sloping face.

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
rim that is higher on its forward side and lower aft. Square to the face its rim is round, but it
meets the hole's wall higher on one side than on the other.

Moved out by t along its normal, the cone's line goes t / cos q sideways in the section; the face
of the part lies t below the face of the skin, where the line is t tan q nearer to the axis. So

    D = Dh + 2 t (1 - sin q) / cos q        depth = (D - d) / (2 tan q)

Example, inches: Dh 0.179, t 0.016, q 50 deg, d 0.098: D 0.19065, depth 0.03887. With the origin
on the axis at a face that rises by m = tan a, the cone's lines are z = (|x| - D/2) / tan q; they
meet the face at x = (D/2) / (1 - m tan q) on the high side and at -(D/2) / (1 + m tan q) on the
low one, m |x| higher and lower there. The cutter touches the hole first at x = d/2, z = m d/2:
from touch to depth it travels depth + m d/2.

The dimple is square to its skin. The low point of its rim lies at x = -(D/2) cos a, z = -(D/2)
sin a, where the cone is narrower. Sunk deeper by s it holds that point if (D/2) + (s - (D/2) sin
a) tan q >= (D/2) cos a, and s = (D/2) tan a always does: the skin lies fully down. The circle at
the hole lies inside too, for heads of 75 deg and more that are at most twice as wide as the hole,
and a cone is convex, so all of the dimple does. Of a hole h long is left

    land = h - (depth_A + (D_A/2) tan a) - (depth_B + (D_B/2) tan b)

A skin that is countersunk itself has no dimple: D = Dh - 2 t tan q at the part, land = h less
depths.

Lengths in mm, angles in radians: `half_angle` is q, and `slope` is m, positive where the face rises
forward. A pilot's `clearance` is that of its diameter in the hole.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Literal

CLICK = 0.0254
"""Depth of one click of a countersink stop, mm: stops are marked in .001 in (read)."""

PILOT_CLEARANCE = 0.0508
"""A pilot is so much smaller than its hole, mm; a looser one cuts lopsided: .002 in (read)."""

DOUBT = {"thickness": 0.025, "line": 0.25, "diameter": 0.05, "hole": 0.02, "stop": 0.013}
"""Standard uncertainty, mm: of the wedge's thickness, of the hole line, of the diameter that the
countersink is made to, of the hole, and of the stop (half a click). Common practice; where the
depth is tried in scrap of the same metal the diameter's is 0."""


def nesting_diameter(head: float, skin: float, half_angle: float) -> float:
    """Return the diameter, at the part, of the countersink that a dimpled skin sits down into, mm.

    Args:
        head: diameter of the rivet's head, mm.
        skin: thickness of the dimpled skin, mm; 0 for a head that sits in the part itself.
        half_angle: half the included angle of the head, radians.

    Source: derived: a cone moved out by t along its normal.
    """
    return head + 2.0 * skin * (1.0 - math.sin(half_angle)) / math.cos(half_angle)


def cone_depth(diameter: float, hole: float, half_angle: float) -> float | None:
    """Return how deep a countersink goes, from the face to where its cone meets the hole.

    Returns:
        Depth along the axis, mm: (D - d) / (2 tan q); None where the hole is as wide as the
        countersink, so that no cone is left.

    Source: derived: a cone.
    """
    depth = (diameter - hole) / (2.0 * math.tan(half_angle))
    return depth if depth > 0.0 else None


def rim(diameter: float, half_angle: float, slope: float) -> tuple[float, float] | None:
    """Return the rim that a countersink square to the chord plane cuts in a sloping face.

    Returns:
        How far its high side stands over the face at the axis, forward where the face rises
        forward, and how far its low side lies below, mm; None where the face is as steep as the
        cone, which then never ends.

    Source: derived: the cone's two lines in the section met by the face's: (D/2) / (1 - m tan q)
        from the axis where the face rises by m, (D/2) / (1 + m tan q) where it falls.
    """
    rise = abs(slope)
    run = rise * math.tan(half_angle)
    if run >= 1.0 - 1e-9:
        return None
    return diameter / 2.0 / (1.0 - run) * rise, diameter / 2.0 / (1.0 + run) * rise


def face_walls(
    diameter: float, hole: float, half_angle: float, slope: float
) -> tuple[float, float] | None:
    """Return how deep a countersink square to a sloping face goes, at the wall of a slanting hole.

    Returns:
        Depth along the axis from the face at the axis, mm, forward and aft; nowhere round the hole
        is it more than the deeper of the two. None where the rim does not clear the hole, or the
        cutter's point lies outside it.

    Source: derived: the cone's lines in the section met with the hole's wall,
        z_k = ((D/2) cos a - r) cot(q - k a) - k (D/2) sin a, k = +1 forward and -1 aft.
    """
    angle = math.atan(slope)
    across = diameter / 2.0 * math.cos(angle) - hole / 2.0
    point_off = diameter / 2.0 / math.tan(half_angle) * math.sin(abs(angle))
    if across <= 0.0 or point_off > hole / 2.0 or abs(angle) >= half_angle - 1e-9:
        return None
    rise = diameter / 2.0 * math.sin(angle)
    return (
        across / math.tan(half_angle - angle) - rise,
        across / math.tan(half_angle + angle) + rise,
    )


def pilot_binds(length: float, clearance: float) -> float:
    """Return the angle between cutter and hole above which a pilot binds, radians.

    Source: derived, to first order: a straight pin in a straight hole.
    """
    return math.atan(clearance / length)


def longest_pilot(clearance: float, slope: float) -> float:
    """Return how long a pilot may be that does not bind in a hole at an angle to it, mm.

    Source: derived, to first order: a straight pin in a straight hole.
    """
    return clearance / abs(slope) if slope else math.inf


def loose_head(skin: float, half_angle: float) -> float:
    """Return how far below the face a loose rivet's head lies in a countersink that nests a dimple.

    Returns:
        mm along the axis, t (1 - sin q) / sin q; the same for every rivet. So many more clicks of
        the stop after the head lies flush.

    Source: derived: a cone moved out by t along its normal.
    """
    return skin * (1.0 - math.sin(half_angle)) / math.sin(half_angle)


def loose_head_edges(below: float, head: float, slope: float) -> tuple[float, float]:
    """Return how far below a sloping face the edge of a head lies that is square to the chord.

    Returns:
        mm, of its forward and its aft edge; negative where that stands proud.

    Source: derived: the face rises and falls by (Dh/2) tan a across the head.
    """
    rise = head / 2.0 * slope
    return below + rise, below - rise


def land(thickness: float, depth_a: float, depth_b: float, *, opposed: bool = True) -> float:
    """Return what countersinks leave of a hole's wall.

    Args:
        thickness: of the part along the axis, mm.
        depth_a: of the countersink in face A, mm.
        depth_b: of the one in face B, mm.
        opposed: both are cut; else one of them, in either face, so that the deeper one counts.

    Returns:
        mm; 0 or less where the cones meet in a knife edge.

    Source: derived: what the cones leave.
    """
    return thickness - depth_a - depth_b if opposed else thickness - max(depth_a, depth_b)


def land_doubt(
    slopes: tuple[float, float],
    half_angle: float,
    doubt: Mapping[str, float],
    *,
    let_in: bool = False,
    sides: int = 2,
) -> dict[str, float]:
    """Return what each input adds to the standard uncertainty of a land.

    Args:
        slopes: tan of skin angle A and of skin angle B, ratios.
        half_angle: half the included angle of the cone, radians.
        doubt: standard uncertainty of each input, mm; see `DOUBT`.
        let_in: the countersinks are sunk for the dimple's low side, so that a wider one goes
            deeper still.
        sides: 2 where both faces are countersunk, 1 where one is.

    Returns:
        Parts by the name of the input, mm. One stop and one cutter serve both sides, so their
        errors go the same way and add up.

    Source: first-order propagation, JCGM 100:2008 (GUM) 5.1.2, from memory; derivatives of
        h - (D_a - d) / (2 tan q) - (D_b - d) / (2 tan q).
    """
    m_a, m_b = (abs(slope) for slope in slopes)
    by_diameter = sides / (2.0 * math.tan(half_angle))
    low_side = (m_a + m_b if sides == 2 else max(m_a, m_b)) / 2.0 if let_in else 0.0
    return {
        "thickness": doubt["thickness"],
        "line": abs(slopes[0] + slopes[1]) * doubt["line"],
        "diameter": (by_diameter + low_side) * doubt["diameter"],
        "hole": by_diameter * doubt["hole"],
        "stop": sides * doubt["stop"],
    }


def land_verdict(
    found: float, plus_minus: float, limit: float = 0.0
) -> Literal["ok", "fail", "cannot tell"]:
    """Return what can be said of a land against a limit.

    Args:
        found: the land, mm.
        plus_minus: twice its standard uncertainty, mm.
        limit: least land, mm. With 0 it is a knife edge that is claimed (``fail``) or feared
            (``cannot tell``).

    Source: definition.
    """
    if found - plus_minus > limit:
        return "ok"
    return "fail" if found + plus_minus < limit else "cannot tell"
