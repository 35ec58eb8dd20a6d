"""Which shifts of the stock are worth looking at: those that line holes up, or clear the cuts.

A drilled stock has windows of shift in which each hole of the skins finds one of the stock's.

An undrilled stock may lie anywhere between its two reaches. What its cuts and rivet holes run into
changes only at certain shifts: where the rim of a lightening hole passes a cut or its fairing, or
comes as near to a rivet hole as a rule allows. Between two of those the same holds, so the middles
stand for all shifts and none is overlooked, however short its stretch.

A rivet hole at p with a lightening hole at a meets its rule where |s + a - p| reaches sqrt((r +
d)^2 - (c - l)^2), r and d being the radius and the distance, c and l the lines of both. A notch's
depth runs straight in s, so its least is at an end of a stretch.

Places, shifts and `match`, by which two holes may lie beside each other, are in mm; a `row` of the
stock rises from its low end, `wanted` are the skins' holes over the part, and `within` is where
the stock reaches both trim lines.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence

import numpy as np

from jiggen.geometry.frame import Array
from jiggen.geometry.trim import (
    Part,
    Placement,
    RoundHole,
    Stock,
    Window,
    beside,
    nearest,
    placed,
)

#: mm. Room that rounding may take: far below what a rule can show.
SLACK = 1e-9
#: How many kinds of trouble are shown: the best, and what one gets by going wrong.
KINDS_SHOWN = 3
#: Stretches that are shown of each.
STRETCHES_SHOWN = 4
#: mm. A shorter stretch cannot be met with a rule, and is what rounding leaves.
SHORTEST = 1e-6
#: mm. How far inside the end of a stretch a shift is taken that stands for that end.
INSIDE = 0.001


def reach(stock: Stock, part: Part) -> Window | None:
    """Return the shifts at which the stock reaches both trim lines, or None if it is too short.

    Source: definition.
    """
    low, high = part.span[1] - stock.length, part.span[0]
    if low > high + SLACK:
        return None
    return min(low, high), high


def matching_windows(
    row: Sequence[float], wanted: Sequence[float], match: float, within: Window
) -> list[Window]:
    """Return the windows of shift in which every wanted hole finds one of the row.

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

    Source: definition.
    """
    anywhere = (part.span[0] - stock.length, part.span[1])
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


def joined(windows: Iterable[Window]) -> list[Window]:
    """Return windows rising, with those that overlap made one.

    Source: definition.
    """
    found: list[Window] = []
    for low, high in sorted(windows):
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found


def undrilled_shifts(stock: Stock, part: Part, within: Window) -> list[tuple[float, Window]]:
    """Return shifts that stand for all that a stock without rivet holes may have.

    Returns:
        Shifts with the stretch that each stands for: its middle, and where there is a notch its
        ends too, since a notch is least deep at one of them. Stretches with the least trouble,
        and some of the next.

    Source: derived, see the head of the module.
    """
    holes = [hole for hole in stock.lightening if hole.half_span(part.depth) > 0.0]
    if within[1] - within[0] < SHORTEST or not holes:
        return [((within[0] + within[1]) / 2.0, within)]
    kinds = [
        *(_by_rivet(holes, part, d, within) for d in _distances(part)),
        *_by_cut(holes, part, within),
    ]
    edges = {edge for windows in kinds for window in windows for edge in window}
    at = np.array(sorted({*within, *(e for e in edges if within[0] < e < within[1])}))
    at = at[np.append(True, np.diff(at) > SHORTEST)]
    if len(at) < 2:
        return [((within[0] + within[1]) / 2.0, within)]
    middles = (at[1:] + at[:-1]) / 2.0
    opened, least, usual, notches, in_sight = (_count(windows, middles) for windows in kinds)
    trouble = np.stack([opened, least, in_sight, usual, notches], axis=1)
    return _shown(trouble, at)


def _distances(part: Part) -> tuple[float, float, float]:
    return part.drill / 2.0, part.least_edge, part.usual_edge


def _by_rivet(
    holes: Sequence[RoundHole], part: Part, distance: float, within: Window
) -> list[Window]:
    """Return for each rivet hole the shifts at which a rim is nearer than `distance`, mm.

    At a hole line |c - l| beside its middle, a circle of radius r + d reaches
    sqrt((r + d)^2 - (c - l)^2) along the edge. A rivet hole that is as near to a cut has that
    trouble at every shift, and counts at none.
    """
    at = np.array([hole.at for hole in holes])
    square = (np.array([hole.radius for hole in holes]) + distance) ** 2
    square -= (part.line - np.array([hole.line for hole in holes])) ** 2
    at, half = at[square > 0.0], np.sqrt(square[square > 0.0])
    found: list[Window] = []
    for p in part.wanted:
        if min(line.inside(p, part.line) for line in part.cuts) < distance:
            continue
        met = (p - at + half > within[0]) & (p - at - half < within[1])
        rows = zip((p - at - half)[met].tolist(), (p - at + half)[met].tolist(), strict=True)
        found += joined(rows)
    return found


def _by_cut(
    holes: Sequence[RoundHole], part: Part, within: Window
) -> tuple[list[Window], list[Window]]:
    """Return the shifts at which a cut passes a hole, and those at which the notch is in sight."""
    notches, in_sight = [], []
    for line, fairing in zip(part.cuts, part.fairing, strict=True):
        inward = line.inward / math.cos(line.angle)
        for hole in holes:
            half = line.half_span(hole, part.depth)
            # The middle's place inward of the cut, at which the notch begins, shows, and ends.
            begins, ends = -half, half
            shows = min(max(fairing - half, begins), ends)
            there = line.at(hole.line) - hole.at
            notches.append(_rising(there + inward * begins, there + inward * ends))
            in_sight.append(_rising(there + inward * shows, there + inward * ends))
    return [w for w in notches if _meets(w, within)], [w for w in in_sight if _meets(w, within)]


def _rising(one: float, other: float) -> Window:
    return min(one, other), max(one, other)


def _meets(window: Window, within: Window) -> bool:
    return window[0] < window[1] and window[1] > within[0] and window[0] < within[1]


def _count(windows: Sequence[Window], at: Array) -> Array:
    low = np.sort(np.array([window[0] for window in windows]))
    high = np.sort(np.array([window[1] for window in windows]))
    return np.asarray(np.searchsorted(low, at) - np.searchsorted(high, at))


def _shown(trouble: Array, at: Array) -> list[tuple[float, Window]]:
    """Return the stretches with the least trouble, neighbours of one kind made one."""
    kinds = sorted({tuple(row) for row in trouble.tolist()})[:KINDS_SHOWN]
    found: list[tuple[float, Window]] = []
    for kind in kinds:
        same = (trouble == np.array(kind)).all(axis=1)
        stretches = joined(
            (low, high)
            for low, high, meant in zip(at[:-1].tolist(), at[1:].tolist(), same, strict=True)
            if meant
        )
        widest = sorted(stretches, key=lambda w: w[0] - w[1])[:STRETCHES_SHOWN]
        for low, high in sorted(widest):
            found.append(((low + high) / 2.0, (low, high)))
            if kind[-1]:
                # Just inside: at the very end the next stretch's trouble may begin.
                step = min(INSIDE, (high - low) / 4.0)
                found += [(end, (end, end)) for end in (low + step, high - step)]
    return found
