"""Where the parts of a cradle from ribs meet: tabs in slots, rib and fence half into each other."""

from __future__ import annotations

import math
from collections.abc import Iterable

from jiggen.drawing.shapes import Bounds
from jiggen.jigs.cradle import BEHIND, CradleSizes

#: mm. Length of a tab, and what it is shorter than the sheet is thick.
TAB, TAB_SHORT = 12.0, 0.3
#: mm from a corner of the rib to its tab.
TAB_IN = 6.0
#: mm between the fence and the seat plate's lower aft corner.
SEAT_GAP = 0.2


def lap_height(sizes: CradleSizes) -> float:
    """Return how high above the base plate the fence's slot in a rib ends, mm.

    Args:
        sizes: see `CradleSizes`.
    """
    return (sizes.height - sizes.sheet) / 2


def seat_start(sizes: CradleSizes) -> float:
    """Return where the seat plate's upper face begins, mm forward of the fence.

    Its lower corner lies further aft by the slope, and must stay clear of the fence.

    Args:
        sizes: see `CradleSizes`.
    """
    return SEAT_GAP + sizes.sheet * max(math.sin(sizes.seat), 0.0)


def tab_on_seat(sizes: CradleSizes) -> tuple[float, float]:
    """Return where the rib's upper tab begins and ends, mm along the slope from the fence.

    Counted on the seat's upper face; the slope's normal takes it to the rib.

    Args:
        sizes: see `CradleSizes`.
    """
    end = sizes.depth / math.cos(sizes.seat) - TAB_IN - abs(sizes.sheet * math.tan(sizes.seat))
    return end - TAB, end


def base_tabs(sizes: CradleSizes) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return where the rib's lower tabs begin and end, mm forward of the fence.

    Args:
        sizes: see `CradleSizes`.
    """
    aft, forward = -BEHIND + TAB_IN, sizes.depth - TAB_IN
    return (aft, aft + TAB), (forward - TAB, forward)


def tab_slots(
    sizes: CradleSizes, ribs: tuple[float, ...], tabs: Iterable[tuple[float, float]]
) -> list[Bounds]:
    """Return the slots that take the ribs' tabs, longer and wider than these by the fit.

    Args:
        sizes: see `CradleSizes`.
        ribs: middles of the ribs, mm from the end at hole 1.
        tabs: where each of a rib's tabs begins and ends, mm across the plate.
    """
    half, spare = (sizes.sheet + sizes.fit) / 2, sizes.fit / 2
    return [
        Bounds(x - half, start - spare, x + half, end + spare) for start, end in tabs for x in ribs
    ]
