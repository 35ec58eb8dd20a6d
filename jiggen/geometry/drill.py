r"""The bit that is there: what of it shows, how far it bends, and how a bushing leads it.

::

       |  chuck  |  } grip                 A bushing alone leads the bit of a drill block:
       |___   ___|  _______
           | |         ^ ^                      |  | |  |
           | |   room  | | shows             OD |  | |  |  length; its bearing is what of it
         __| |__       | |                      |__|_|__|  touches the bit
        | guide |      v |                         | |    gap
    ____|__| |__|________|__ mouth           ______|_|_____ mouth, the skin rises by m
      skin | |        ^  |
      wedge| | needed |  |
      skin | |        |  v
    -------|_|---------------
            V

Lengths in mm, angles in radians. A guide may be as tall as `room`: its top then stays below the
chuck when the bit is through.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from jiggen.geometry.frame import lean_over

GRIP = 20.0
"""What a chuck swallows of a bit, mm: common practice, no published source."""
COLLET_GRIP = 15.0
"""The same for a collet, mm: common practice, no published source."""
NOSE = 36.0
"""Diameter of a chuck or collet where it comes down, mm: common practice, no published source."""
POINT = 0.3
"""Height of a 118 degree point in diameters: 1 / (2 tan 59 deg)."""
THROUGH = 1.0
"""How far the bit comes out of the far side, mm."""
SPARE = 1.5
"""Between the chuck and what stands on the skin when the bit is through, mm."""

STEEL = 210_000.0
"""Stiffness of a bit's steel, N/mm2."""
FLUTED = 0.45
"""What the flutes leave of a bit's stiffness: common practice, no published source."""

LEAST_GAP = 0.5
"""Between a bushing and the near side of a sloping skin, mm: a punched skin makes few chips."""
MOST_GAP = 1.5
"""A bushing stands at most so many drill diameters off the skin at its axis."""
LED = 2.0
"""So many drill diameters of a bushing touch the bit unless stated: long ones are counterbored."""
GRIT = 0.05
"""Grit or a burr under one foot, mm: common practice, no published source."""
WALL = 3.0
"""Least wall of a block beside its bushing, mm."""
BESIDE_INDEX = 6.0
"""What a block reaches beyond its index pin, mm."""
FORE = 18.0
"""What a block reaches along the row to the other side of its bushing at most, mm."""
CLEAR = 1.0
"""Between a pin in the next hole and a jig, and between the lowest layer and the skin, mm."""
PRESS_STEPS = (-0.10, -0.05, 0.0, 0.05, 0.10)
"""Holes of the coupon's ladder, mm over the body: the one that takes the bushing with a vice is
the press fit; where that is the fourth, glue it."""
A_HOLE = 0.03
"""What each step by an index pin in a round hole may be off, mm: common practice."""

BlockFault = Literal["base", "pitch", "drill too short", "flutes too short", "bushing stands out"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """What a sideways newton does to the free end of a bit.

    Attributes:
        aside: mm.
        turned: radians.
    """

    aside: float
    turned: float


def usual_grip(length: float, flutes: float, *, collet: bool = False) -> float:
    """Return what chuck or collet swallow of a bit: never any of its flutes.

    Args:
        length: of the bit, mm.
        flutes: length of its flutes, mm.
        collet: a collet, not a chuck.

    Source: common practice, no published source.
    """
    return min(COLLET_GRIP if collet else GRIP, length - flutes)


def needed(stack: float, drill: float) -> float:
    """Return how much of the bit goes into the work.

    Args:
        stack: skins and wedge along the drill axis, mm; see `jiggen.geometry.holes.grip`.
        drill: diameter, mm.

    Returns:
        mm: the stack, the point, and what comes out of the far side. An inch bit's length is
        counted to its shoulder, so that its point is there over and above.

    Source: derived.
    """
    return stack + POINT * drill + THROUGH


def room(length: float, grip: float, needs: float) -> float:
    """Return how tall a thing may be that stands on the skin beside the bit.

    Args:
        length: of the bit, mm.
        grip: what the chuck swallows of it, mm.
        needs: see `needed`, mm.

    Returns:
        mm; below 0 where the bit does not reach through the work at all.

    Source: derived.
    """
    return length - grip - needs - SPARE


def nose_needs(nose: float, slope: float) -> float:
    """Return the room that a chuck needs over a sloping skin.

    Args:
        nose: diameter of the chuck where it comes down, mm.
        slope: tan of the skin angle, ratio.

    Returns:
        mm; with less room the chuck touches the skin before the bit is through.

    Source: derived: the skin rises by (nose/2) tan a out to the chuck's rim.
    """
    return nose / 2.0 * abs(slope)


def bend(drill: float, shows: float) -> Bend:
    """Return how a bit bends under a newton at its tip.

    Args:
        drill: diameter, mm.
        shows: what of it stands out of the chuck, mm.

    Returns:
        Deflection and turn of the tip.

    Source: beam held at one end, F L^3 / (3 E I) and F L^2 / (2 E I), I = 0.45 pi d^4 / 64.
    """
    stiffness = STEEL * FLUTED * math.pi * drill**4 / 64.0
    return Bend(aside=shows**3 / (3.0 * stiffness), turned=shows**2 / (2.0 * stiffness))


def bearing(length: float, drill: float, stated: float | None = None) -> float:
    """Return what of a bushing touches the bit, mm.

    Args:
        length: of the bushing, mm.
        drill: diameter, mm.
        stated: what the user measured, mm, or None.

    Source: long bushings with small bores are often counterbored: handbook of workholding (read).
    """
    return min(length, LED * drill) if stated is None else stated


def chip_gap(body: float, slope: float, drill: float) -> tuple[float, bool]:
    """Return how far a bushing stands off a sloping skin.

    Args:
        body: outside diameter, mm.
        slope: tan of the skin angle, ratio.
        drill: diameter, mm.

    Returns:
        The gap at the axis, mm, and whether the bushing's end must be ground to the slope to stand
        so low.

    Source: on a slope the end stands as near as possible, best ground parallel to it: handbook of
        workholding (read); the least gap is common practice.
    """
    wanted = LEAST_GAP + body / 2.0 * abs(slope)
    most = MOST_GAP * drill
    return (most, True) if wanted > most else (wanted, False)


def layers(length: float, sheet: float) -> int:
    """Return how many flat layers carry a bushing over all of its length.

    Args:
        length: of the bushing, mm.
        sheet: thickness of a layer, mm.

    Source: definition.
    """
    return math.ceil(length / sheet - 1e-9)


def lowest_layer(reach: float, slope: float) -> float:
    """Return how high over the mouth of the hole the lowest layer must lie to clear the skin, mm.

    Args:
        reach: how far the layer reaches from the axis on the side where the skin rises, mm.
        slope: tan of the skin angle, ratio.

    Source: derived.
    """
    return reach * abs(slope) + CLEAR


def block_along(pitch: float, pin: float) -> tuple[float, float]:
    """Return from where to where a block reaches along the row, from its bushing, mm.

    Args:
        pitch: distance to the next hole, mm.
        pin: diameter of the pin that may stand in it, mm.

    Source: definition: over the index pin on one side, clear of the next pin on the other.
    """
    return -(pitch + BESIDE_INDEX), min(FORE, pitch - pin / 2.0 - CLEAR)


def block_faults(
    *,
    base: float,
    body: float,
    length: float,
    gap: float,
    reach: float,
    slope: float,
    room: float,
    needs: float,
    flutes: float,
    pitch: float,
    pin: float,
) -> tuple[BlockFault, ...]:
    """Return what forbids a drill block; empty where nothing does.

    Args:
        base: of its feet on solid wedge, mm.
        body: outside diameter of the bushing, mm.
        length: of the bushing, mm.
        gap: of the bushing over the skin, at the axis, mm; see `chip_gap`.
        reach: of its layers to where the skin rises, mm; see `lowest_layer`.
        slope: tan of the skin angle, ratio.
        room: see `room`, mm.
        needs: what of the bit goes into the work, mm; see `needed`.
        flutes: their length, mm; chips must come out above the bushing.
        pitch: distance to the next hole, mm.
        pin: diameter of the pin in it, mm.

    Returns:
        ``base``: no wall round the bushing; ``pitch``: no wall beside the next pin; ``drill too
        short``, ``flutes too short``; ``bushing stands out``: over half of it hangs below the
        layers.

    Source: derived, with the walls of common practice.
    """
    found: dict[BlockFault, bool] = {
        "base": base < body + 2.0 * WALL,
        "pitch": pitch - pin / 2.0 - CLEAR < body / 2.0 + WALL,
        "drill too short": room < gap + length,
        "flutes too short": flutes < gap + length + needs,
        "bushing stands out": lowest_layer(reach, slope) - gap > length / 2.0,
    }
    return tuple(fault for fault, holds in found.items() if holds)


def block_error(
    *, clearance: float, bearing: float, slack: float, length: float, base: float, cut: float
) -> dict[str, float]:
    """Return what may make the bit lean in a drill block, each part by its name, radians.

    Args:
        clearance: largest bore less smallest drill, mm.
        bearing: what of the bushing touches the bit, mm.
        slack: of the hole that the bushing was glued or pressed into, mm.
        length: of the bushing, mm.
        base: of its feet, mm.
        cut: what its feet may be cut off, mm.

    Source: derived; together they are the root of the sum of their squares.
    """
    return {
        "clearance": lean_over(clearance, bearing),
        "set in": lean_over(slack, length),
        "stand": lean_over(GRIT, base),
        "cut": lean_over(cut, base),
    }


def index_error(count: int, each: float = A_HOLE) -> tuple[float, float]:
    """Return how far a row drilled by a round index pin may be off at its end.

    Args:
        count: how many holes are stepped off.
        each: what a step may be off, mm.

    Returns:
        Root of the sum of squares, and the sum, mm.

    Source: derived: independent steps, and steps that all go one way.
    """
    return each * math.sqrt(count), each * count
