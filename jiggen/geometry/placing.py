"""What comes of laying the stock at a shift: cuts, notches, and the metal that is left.

The rim of a lightening hole is a circle, a cut is a straight line, and the distance from a rivet
hole to the edge of the part is the least of all; see `jiggen.geometry.trim` for the picture.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from jiggen.geometry.frame import Array
from jiggen.geometry.trim import END, START, Cut, Ligament, Notch, Part, Placement, RoundHole, Stock

#: mm. What rounding may take from a distance before it counts as less than a limit.
ROUNDING = 1e-9


def placed(
    stock: Stock,
    part: Part,
    match: float,
    shift: float,
    window: tuple[float, float],
    *,
    turned: bool = False,
) -> Placement:
    """Return what comes of laying the stock at a shift.

    Args:
        stock: already counted from its far end where `turned`.
        part: what is cut from it.
        match: how far a hole of the stock may lie beside one of the skins, mm.
        shift: where the stock's low end lies along the part, mm.
        window: from which to which shift the same holds, mm.
        turned: the stock lies end for end.

    Returns:
        The placement with its cuts, notches and ligaments.

    Source: derived: see DEVELOPERS.md, Trim plan.
    """
    lightening = tuple(replace(hole, at=hole.at + shift) for hole in stock.lightening)
    row = np.asarray(stock.holes, dtype=float) + shift
    spare = _spare(row, part, match)
    numbers = _near_part(part)
    at = np.array([part.holes[n - 1] for n in numbers], dtype=float)
    ends = []
    to_hole = _to_holes(at, part.line, [hole for hole in lightening if _is_whole(hole, part)])
    least = to_hole
    for number, trim in enumerate(part.trim):
        inward = 1.0 if number == 0 else -1.0
        notches = _notches(lightening, part, trim, inward, part.fairing[number])
        half_holes = tuple(hole for hole in spare if abs(hole - trim) < part.drill / 2 - ROUNDING)
        by_kind = {
            "cut": (at - trim) * inward,
            "notch": _to_holes(at, part.line, [n.hole for n in notches]),
            "half hole": _to_holes(at, part.line, _as_round(half_holes, part)),
        }
        least = np.minimum.reduce([least, *by_kind.values()])
        along = trim - shift
        ends.append(
            Cut(
                end=(START, END)[number],
                at=trim,
                on_stock=stock.length - along if turned else along,
                left=along if number == 0 else stock.length - along,
                notches=notches,
                nearest=_least(numbers, part.drill, by_kind),
                half_holes=half_holes,
            )
        )
    return Placement(
        shift=shift,
        window=window,
        turned=turned,
        offset=_worst_offset(row, part.wanted),
        spare=spare,
        lightening=lightening,
        cuts=(ends[0], ends[1]),
        inner=_least(numbers, part.drill, {"lightening hole": to_hole}),
        opened=_numbers(numbers, least <= part.drill / 2 + ROUNDING),
        under_least=_numbers(numbers, least < part.least_edge - ROUNDING),
        under_usual=_numbers(numbers, least < part.usual_edge - ROUNDING),
    )


def _as_round(places: Sequence[float], part: Part) -> list[RoundHole]:
    """Return rivet holes of the stock, by their middles along the part, as round holes."""
    return [RoundHole(at=at, diameter=part.drill, line=part.line) for at in places]


def _near_part(part: Part) -> Array:
    """Return the numbers of the rivet holes that lie in the part with any of their width."""
    low, high = part.trim[0] - part.drill / 2, part.trim[1] + part.drill / 2
    found = [number for number, at in enumerate(part.holes, start=1) if low < at < high]
    return np.array(found, dtype=int)


def _numbers(numbers: Array, which: NDArray[np.bool_]) -> tuple[int, ...]:
    return tuple(int(n) for n in numbers[which])


def _least(numbers: Array, drill: float, by_kind: dict[str, Array]) -> Ligament | None:
    """Return the ligament with the least metal among rivet holes and kinds of edge."""
    found: Ligament | None = None
    for to, distances in by_kind.items():
        if not distances.size or not np.isfinite(distances).any():
            continue
        worst = int(np.argmin(distances))
        distance = float(distances[worst])
        if found is None or distance < found.edge_distance:
            found = Ligament(
                number=int(numbers[worst]),
                edge_distance=distance,
                metal=distance - drill / 2,
                to=to,
            )
    return found


def _worst_offset(row: Array, wanted: Sequence[float]) -> float | None:
    if not row.size or not wanted:
        return None
    return float(np.max(beside(row, np.asarray(wanted, dtype=float))))


def nearest(row: Array, at: Array) -> Array:
    """Return the place of a rising row that is nearest to each of some others, mm, shape of `at`.

    Args:
        row: rising places, mm, shape (m,), m at least 1.
        at: places, mm, shape (n,).

    Source: definition.
    """
    after = np.minimum(np.searchsorted(row, at), len(row) - 1)
    before = np.maximum(after - 1, 0)
    return np.asarray(
        np.where(np.abs(at - row[before]) <= np.abs(at - row[after]), row[before], row[after])
    )


def beside(row: Array, at: Array) -> Array:
    """Return how far each place lies from the nearest of a rising row, mm, shape of `at`.

    Args:
        row: rising places, mm, shape (m,), m at least 1.
        at: places, mm, shape (n,).

    Source: definition.
    """
    return np.asarray(np.abs(at - nearest(row, at)))


def _spare(row: Array, part: Part, match: float) -> tuple[float, ...]:
    """Return the stock's holes that come to lie in the part beside no hole of the skins."""
    low, high = part.trim[0] - part.drill / 2, part.trim[1] + part.drill / 2
    inside = row[(row > low) & (row < high)]
    if inside.size and part.holes:
        inside = inside[beside(np.asarray(part.holes, dtype=float), inside) > match + ROUNDING]
    return tuple(inside.tolist())


def _is_whole(hole: RoundHole, part: Part) -> bool:
    """Return whether a lightening hole lies in the part and no cut passes it."""
    half = hole.half_span(part.depth)
    return half > 0.0 and part.trim[0] <= hole.at - half and hole.at + half <= part.trim[1]


def _notches(
    lightening: Sequence[RoundHole], part: Part, trim: float, inward: float, fairing: float
) -> tuple[Notch, ...]:
    """Return the notches that a cut at `trim` leaves; the part lies on its `inward` side."""
    found = []
    for hole in lightening:
        inside = (hole.at - trim) * inward
        half = hole.half_span(part.depth)
        if abs(inside) >= half - ROUNDING:  # a rim that only touches the cut leaves no notch
            continue
        chord = math.sqrt(hole.radius**2 - inside**2)
        far = hole.line + chord
        open_front = part.depth is not None and far >= part.depth
        front = part.depth if open_front and part.depth is not None else far
        rear = max(hole.line - chord, 0.0)
        depth = half + inside
        # With its middle in the part, the hole is there as wide as it is anywhere.
        reach = hole.radius if inside > 0.0 else chord
        behind = max(hole.line - reach, 0.0)
        most = hole.line + reach
        found.append(
            Notch(
                hole=hole,
                width=front - rear,
                depth=depth,
                rear=rear,
                front=front,
                widest=(most if part.depth is None else min(most, part.depth)) - behind,
                behind=behind,
                open_front=open_front,
                hidden=depth <= fairing + ROUNDING,
            )
        )
    return tuple(sorted(found, key=lambda notch: notch.rear))


def _to_holes(at: Array, line: float, holes: Sequence[RoundHole]) -> Array:
    """Return from each rivet hole's middle to the nearest rim of lightening holes, mm.

    What is not part is all that lies beyond a cut, and the holes. The nearest of it is the nearest
    of either, even where a notch has eaten the foot of the way to the cut: its rim is nearer.
    """
    least = np.full(at.shape, np.inf)
    for diameter, off in {(hole.diameter, hole.line) for hole in holes}:
        row = [h.at for h in holes if (h.diameter, h.line) == (diameter, off)]
        along = beside(np.sort(np.asarray(row, dtype=float)), at)
        least = np.minimum(least, np.hypot(along, line - off) - diameter / 2)
    return np.asarray(least)
