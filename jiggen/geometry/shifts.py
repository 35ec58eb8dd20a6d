"""Which shifts of the stock are worth looking at: those that line holes up, or clear the cuts.

A drilled stock has windows of shift in which each hole of the skins finds one of the stock's. An
undrilled one may lie anywhere in reach; see `jiggen.geometry.undrilled`.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

import numpy as np

from jiggen.geometry.placing import beside, nearest, placed
from jiggen.geometry.trim import Part, Placement, Stock, Window
from jiggen.geometry.undrilled import joined, undrilled_shifts

#: mm. Room that rounding may take: far below what a rule can show.
SLACK = 1e-9


def reach(stock: Stock, part: Part) -> Window | None:
    """Return the shifts at which the stock reaches both trim lines, or None if it is too short.

    Args:
        stock: as it comes.
        part: what is cut from it.

    Source: definition.
    """
    low, high = part.trim[1] - stock.length, part.trim[0]
    if low > high + SLACK:
        return None
    return min(low, high), high


def matching_windows(
    row: Sequence[float], wanted: Sequence[float], match: float, within: Window
) -> list[Window]:
    """Return the windows of shift in which every wanted hole finds one of the row.

    Args:
        row: holes of the stock, mm from its low end, rising.
        wanted: holes of the skins over the part, mm, rising.
        match: how far two holes may lie beside each other, mm.
        within: the shifts at which the stock reaches both trim lines.

    Returns:
        Windows, rising and apart.

    Source: derived: a hole p finds a hole u while p - u - match <= shift <= p - u + match; the
        windows are what all wanted holes have in common.
    """
    windows = [within]
    # The two ends of the row first: they leave the fewest shifts to look at.
    for p in (*wanted[-1:], *wanted[:-1]):
        kept: list[Window] = []
        for low, high in windows:
            first = bisect_left(row, p - high - match - SLACK)
            last = bisect_right(row, p - low + match + SLACK)
            kept += ((max(low, p - u - match), min(high, p - u + match)) for u in row[first:last])
        windows = joined((min(a, b), max(a, b)) for a, b in kept)
        if not windows:
            return []
    return windows


def best_in_window(row: Sequence[float], wanted: Sequence[float], window: Window) -> float:
    """Return the shift in a window at which the worst hole lies least beside its mate.

    Args:
        row: holes of the stock, mm from its low end, rising.
        wanted: holes of the skins over the part, mm.
        window: of shift, mm.

    Source: derived: with each hole's mate fixed the worst is least at the middle between the
        largest and the smallest of the differences.
    """
    stock, skins = np.asarray(row, dtype=float), np.asarray(wanted, dtype=float)
    tried = [(window[0] + window[1]) / 2.0]
    for _ in range(3):
        apart = skins - nearest(stock, skins - tried[-1])
        tried.append(float(np.clip((apart.max() + apart.min()) / 2.0, *window)))
    return min(tried, key=lambda shift: float(beside(stock + shift, skins).max()))


def closest_shift(
    row: Sequence[float], wanted: Sequence[float], match: float, within: Window
) -> tuple[int, float] | None:
    """Return how many of the wanted holes the best shift lines up, and that shift in mm.

    Args:
        row: holes of the stock, mm from its low end, rising.
        wanted: holes of the skins over the part, mm.
        match: how far two holes may lie beside each other, mm.
        within: the shifts at which the stock reaches both trim lines.

    Returns:
        None where no shift in reach lines up a single hole.

    Source: derived: every pair asks for one shift; the most pairs within twice `match` win.
    """
    stock, skins = np.asarray(row, dtype=float), np.asarray(wanted, dtype=float)
    asked = np.sort((skins[:, None] - stock[None, :]).ravel())
    asked = asked[(asked >= within[0] - match) & (asked <= within[1] + match)]
    if not asked.size:
        return None
    last = np.searchsorted(asked, asked + 2.0 * match + SLACK, side="right") - 1
    count = last - np.arange(len(asked)) + 1
    best = int(np.argmax(count))
    shift = float(np.clip((asked[best] + asked[last[best]]) / 2.0, *within))
    met = int((beside(stock + shift, skins) <= match + SLACK).sum())
    return (met, shift) if met else None


def short_of_trim(
    stock: Stock, part: Part, match: float, within: Window, *, turn: bool
) -> float | None:
    """Return by how much the stock misses a trim line where its holes line up, mm, or None.

    Args:
        stock: as it comes.
        part: what is cut from it.
        match: how far a hole of the stock may lie beside one of the skins, mm.
        within: the shifts at which the stock reaches both trim lines.
        turn: try it end for end as well.

    Returns:
        The least such miss; None where the holes line up at no shift at all.

    Source: definition.
    """
    anywhere = (part.trim[0] - stock.length, part.trim[1])
    return min(
        (
            max(within[0] - shift, shift - within[1])
            for lying in (stock, *((stock.turned(),) if turn else ()))
            for shift in (
                best_in_window(lying.holes, part.wanted, window)
                for window in matching_windows(lying.holes, part.wanted, match, anywhere)
            )
        ),
        default=None,
    )


def placements(stock: Stock, part: Part, match: float, *, turn: bool) -> list[Placement]:
    """Return every placement worth considering, the best first.

    Args:
        stock: as it comes.
        part: what is cut from it.
        match: how far a hole of the stock may lie beside one of the skins, mm.
        turn: try it end for end as well.

    Returns:
        Placements by rank; empty where the stock is too short or no shift lines the holes up.

    Source: the order of what matters is common practice, no published source.
    """
    within = reach(stock, part)
    if within is None:
        return []
    found = []
    for lying, turned in ((stock, False), *(((stock.turned(), True),) if turn else ())):
        for shift, window in _shifts(lying, part, match, within):
            found.append(placed(lying, part, match, shift, window, turned=turned))
    return sorted(found, key=_rank)


def _shifts(stock: Stock, part: Part, match: float, within: Window) -> list[tuple[float, Window]]:
    if not stock.holes or not part.wanted:
        return undrilled_shifts(stock, part, within)
    wanted = part.wanted
    return [
        (best_in_window(stock.holes, wanted, window), window)
        for window in matching_windows(stock.holes, wanted, match, within)
    ]


def _rank(one: Placement) -> tuple[float, ...]:
    """Return what a placement is ranked by, the worst trouble first."""
    metal = [cut.nearest.metal for cut in one.cuts if cut.nearest is not None]
    metal += [one.inner.metal] if one.inner is not None else []
    numbers = (
        len(one.opened),
        len(one.under_least),
        len(one.open_notches),
        # Worse than a whole one: no rivet fills it, and a crack starts at a cut edge.
        len(one.half_holes),
        len(one.spare),
        len(one.under_usual),
        len(one.notches),
        sum(notch.depth for notch in one.notches),
        one.turned,
        -min(metal, default=0.0),
        one.offset or 0.0,
        abs(one.cuts[0].left - one.cuts[1].left),
        one.shift,
    )
    # Rounded here alone, so that the last digit does not decide between equals.
    return tuple(round(float(number), 6) for number in numbers)
