"""First-order plus-or-minus of a skin angle, and which reading limits it.

A guide cannot be better than the measurement under it. Each reading's own plus-or-minus is carried
to each skin angle through the angle's change per unit of that reading; what the readings add is
independent, so the parts go together as the root of the sum of squares.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from jiggen.errors import ImpossibleWedge
from jiggen.geometry.frame import Side
from jiggen.geometry.measured import Effects

Parts = Mapping[str, tuple[float, float]]
"""What each reading adds to the uncertainty of skin angle A and of skin angle B, radians."""


def contributions(effects: Effects, plus_minus: Mapping[str, float]) -> Parts:
    """Return what each reading with a stated plus-or-minus adds.

    Args:
        effects: change of (skin angle A, skin angle B) in radians per unit of each reading.
        plus_minus: uncertainty of each reading in its own unit; readings left out add nothing.

    Raises:
        ImpossibleWedge: a plus-or-minus for a reading that this form does not have.

    Source: first-order propagation, JCGM 100:2008 (GUM) 5.1.2, from memory.
    """
    unknown = [name for name in plus_minus if name not in effects]
    if unknown:
        raise ImpossibleWedge(
            "there is no such reading",
            key=f"plus_minus.{unknown[0]}",
            remedy=f"one of {', '.join(effects)}",
        )
    return {
        name: (abs(effects[name][0] * pm), abs(effects[name][1] * pm))
        for name, pm in plus_minus.items()
    }


def together(parts: Parts) -> tuple[float, float] | None:
    """Return the plus-or-minus of skin angle A and of skin angle B.

    Returns:
        Root of the sum of squares for each side, radians; None if nothing was stated.

    Source: root-sum-square of independent parts, JCGM 100:2008 (GUM) 5.1.2, from memory.
    """
    if not parts:
        return None
    a, b = zip(*parts.values(), strict=True)
    return math.hypot(*a), math.hypot(*b)


def root_of_squares(parts: Mapping[str, float]) -> float:
    """Return what independent errors, each by its name and in one unit, come to together.

    Source: root-sum-square of independent parts, JCGM 100:2008 (GUM) 5.1.2, from memory.
    """
    return math.hypot(*parts.values())


def limiting(parts: Parts, side: Side) -> tuple[str, float] | None:
    """Return the reading that a better measurement should begin with.

    Returns:
        Its name and its part, radians, the first of equals; None if nothing adds anything.

    Source: definition.
    """
    of_side = {name: part[0 if side == "a" else 1] for name, part in parts.items()}
    largest = max(of_side, key=of_side.__getitem__, default="")
    return (largest, of_side[largest]) if any(of_side.values()) else None
