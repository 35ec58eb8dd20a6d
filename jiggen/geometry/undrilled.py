"""Where an undrilled stock may lie: the stretches of shift in which the same things go wrong.

An undrilled stock may lie anywhere between its two reaches. What its cuts and rivet holes run into
changes only at certain shifts: where the rim of a lightening hole passes a cut or its fairing, or
comes as near to a rivet hole as a rule allows. Between two of those the same holds, so the middles
stand for all shifts and none is overlooked, however short its stretch.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from jiggen.geometry.frame import Array
from jiggen.geometry.trim import Part, RoundHole, Stock, Window

#: How many kinds of trouble are shown: the best, and what one gets by going wrong.
KINDS_SHOWN = 3
#: Stretches that are shown of each.
STRETCHES_SHOWN = 4
#: mm. A shorter stretch cannot be met with a rule, and is what rounding leaves.
SHORTEST = 1e-6
#: mm. How far inside the end of a stretch a shift is taken that stands for that end.
INSIDE = 0.001


def joined(windows: Iterable[Window]) -> list[Window]:
    """Return windows rising, with those that overlap made one.

    Args:
        windows: of shift, mm.

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

    Args:
        stock: as it lies.
        part: what is cut from it.
        within: the shifts at which the stock reaches both trim lines.

    Returns:
        Shifts with the stretch that each stands for: its middle, and where there is a notch its
        ends too, since a notch is least deep at one of them. Stretches with the least trouble,
        and some of the next.

    Source: derived: see DEVELOPERS.md, Trim plan.
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
    low, high = part.trim
    at = np.array([hole.at for hole in holes])
    square = (np.array([hole.radius for hole in holes]) + distance) ** 2
    square -= (part.line - np.array([hole.line for hole in holes])) ** 2
    at, half = at[square > 0.0], np.sqrt(square[square > 0.0])
    found: list[Window] = []
    for p in part.wanted:
        if min(p - low, high - p) < distance:
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
    for trim, inward, fairing in zip(part.trim, (1.0, -1.0), part.fairing, strict=True):
        for hole in holes:
            half = hole.half_span(part.depth)
            # The middle's place inward of the cut, at which the notch begins, shows, and ends.
            begins, ends = -half, half
            shows = min(max(fairing - half, begins), ends)
            there = trim - hole.at
            notches.append(_rising(there + inward * begins, there + inward * ends))
            in_sight.append(_rising(there + inward * shows, there + inward * ends))
    return [w for w in notches if _meets(w, within)], [w for w in in_sight if _meets(w, within)]


def _rising(one: float, other: float) -> Window:
    return min(one, other), max(one, other)


def _meets(window: Window, within: Window) -> bool:
    return window[0] < window[1] and window[1] > within[0] and window[0] < within[1]


def _count(windows: Sequence[Window], at: Array) -> Array:
    """Return how many windows hold each place."""
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
