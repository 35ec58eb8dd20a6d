r"""The bit that is there: what of it shows, and how far it bends.

::

       |  chuck  |  } grip
       |___   ___|  _______
           | |         ^ ^
           | |   room  | | shows
         __| |__       | |
        | guide |      v |
    ____|__| |__|________|__ mouth of the hole
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

from msgspec import Struct

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

GRIT = 0.05
"""Grit or a burr under one foot, mm: common practice, no published source."""


class Bend(Struct, frozen=True, kw_only=True):
    """What a sideways newton does to the free end of a bit."""

    aside: float  # mm
    turned: float  # radians


def usual_grip(length: float, flutes: float, *, collet: bool = False) -> float:
    """Return what chuck or collet swallow of a bit: never any of its flutes.

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


def bend(drill: float, shows: float) -> Bend:
    """Return how a bit bends under a newton at its tip, `shows` mm out of the chuck.

    Source: beam held at one end, F L^3 / (3 E I) and F L^2 / (2 E I), I = 0.45 pi d^4 / 64.
    """
    stiffness = STEEL * FLUTED * math.pi * drill**4 / 64.0
    return Bend(aside=shows**3 / (3.0 * stiffness), turned=shows**2 / (2.0 * stiffness))
