r"""The trim plan: the stock, the part, and what comes of laying one under the other.

::

            start                                              end
     s        |                                                 |      s + L
     |--------|-------------------------------------------------|--------|   front, x = depth
     |  ( )   |   ( )        ( )        ( )        ( )        ( | )      |   lightening holes
     |   .  . |  .    .    .    .    .    .    .    .    .    . |  .     |   rivet holes
     |--------|-------------------------------------------------|--------|   TE, x = 0
              |<--------------------- the part ---------------->|  \__ a notch is left here

s is the shift: where the stock's low end lies along the part. Stock that is turned end for end is
the same stock counted from its other end. The rim of a lightening hole is a circle, a cut is a
straight line, and the distance from a rivet hole to the edge of the part is the least of all.

The stock reaches both trim lines t0, t1 while t1 - L <= s <= t0. Its hole u covers a hole p of
the skins within the match m while p - u - m <= s <= p - u + m; what will do is what all p have in
common of the union over u, and in each window the worst offset is least at the middle between the
largest and the smallest p - u. A lightening hole of radius r with its middle e inward of a cut
leaves, for |e| < r, a notch

    mouth 2 sqrt(r^2 - e^2)      depth r + e

both cut off at the front of the wedge. A cut may slant: it meets the trailing edge at the trim line
and a line c forward of it at t + c tan e, and all is counted square to it. What is not part is all
beyond the cut and all in the discs, so the edge distance of a rivet hole is the least of its
distance to the cut and of d - r to each disc: also where the foot of the way to the cut lies in a
notch, since the disc is then nearer still. A rivet hole of the stock that a cut passes and no hole
of the skins covers is such a disc too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import ArrayLike, NDArray

from jiggen.geometry.edge_rule import EdgeRule
from jiggen.geometry.frame import Array

START, END = "start", "end"

#: mm. What rounding may take from a distance before it counts as less than a limit.
ROUNDING = 1e-9

#: From which to which shift something holds, mm.
Window = tuple[float, float]


class RoundHole(Struct, frozen=True, kw_only=True):
    """A lightening hole."""

    at: float  # its middle along the stock or along the part, mm
    diameter: float  # mm
    line: float  # distance of its middle forward of the trailing edge, mm

    @property
    def radius(self) -> float:
        """Return half the diameter, mm."""
        return self.diameter / 2.0

    def half_span(self, depth: float | None) -> float:
        """Return half of its length along the edge inside the wedge, mm; 0 if ahead of it."""
        if depth is None or self.line <= depth:
            return self.radius
        return math.sqrt(max(self.radius**2 - (self.line - depth) ** 2, 0.0))


class CutLine(Struct, frozen=True):
    """The straight line of an end cut."""

    rear: float  # where it meets the trailing edge, mm along the part
    # from square, radians, positive where its front is farther from the zero end; within a quarter
    # turn
    angle: float = 0.0
    inward: float = 1.0  # 1 where the part lies at higher places, -1 at lower ones

    def at(self, forward: float) -> float:
        """Return where it crosses a line that far forward of the trailing edge, mm."""
        return self.rear + forward * math.tan(self.angle)

    def inside(self, at: ArrayLike, forward: float) -> Any:
        """Return how far places lie in the part, square to the cut, mm; negative beyond it.

        Source: derived: distance of a point to a line, (y - t - c tan e) cos e.
        """
        return (np.asarray(at) - self.at(forward)) * (self.inward * math.cos(self.angle))

    def half_span(self, hole: RoundHole, depth: float | None) -> float:
        """Return how far a hole's rim inside the wedge lies off its middle, square to it, mm."""
        return hole.radius if self.angle else hole.half_span(depth)


class Stock(Struct, frozen=True, kw_only=True):
    """The wedge as it comes."""

    length: float  # mm
    # its rivet holes, mm from its zero end, rising; empty if undrilled
    holes: tuple[float, ...] = ()
    lightening: tuple[RoundHole, ...] = ()  # its lightening holes, `at` counted from its zero end

    def turned(self) -> Stock:
        """Return the same stock end for end: counted from what was its far end."""
        return replace(
            self,
            holes=tuple(self.length - at for at in reversed(self.holes)),
            lightening=tuple(
                replace(hole, at=self.length - hole.at) for hole in reversed(self.lightening)
            ),
        )


class Part(EdgeRule, frozen=True, kw_only=True):
    """What is cut from the stock, and the skins' holes over it."""

    # the two trim lines along the part, mm, where the cuts meet the trailing edge
    trim: tuple[float, float]
    angles: tuple[float, float] = (0.0, 0.0)  # of the two cuts from square, radians, see `CutLine`
    # how far in from each trim line the end fairing covers, mm
    fairing: tuple[float, float] = (0.0, 0.0)
    # the skins' holes along the part, mm, hole 1 first; empty where they are not known
    holes: tuple[float, ...] = ()
    line: float = 0.0  # distance of the hole line forward of the trailing edge, mm
    depth: float | None = None  # from the trailing edge to the front of the wedge, mm

    @property
    def cuts(self) -> tuple[CutLine, CutLine]:
        """Return the lines of its two cuts."""
        (start, end), (first, last) = self.trim, self.angles
        return CutLine(start, first, 1.0), CutLine(end, last, -1.0)

    def span_at(self, forward: float) -> tuple[float, float]:
        """Return from where to where the part reaches so far forward of the trailing edge, mm."""
        first, last = self.cuts
        return first.at(forward), last.at(forward)

    @property
    def span(self) -> tuple[float, float]:
        """Return from where to where it reaches at the trailing edge or at the front, mm."""
        (low, high), (low_front, high_front) = self.trim, self.span_at(self.depth or 0.0)
        return min(low, low_front), max(high, high_front)

    @property
    def numbers(self) -> tuple[int, ...]:
        """Return the numbers (from 1) of the skins' holes whose middle lies between the cuts."""
        low, high = self.span_at(self.line)
        return tuple(n for n, at in enumerate(self.holes, start=1) if low <= at <= high)

    @property
    def wanted(self) -> tuple[float, ...]:
        """Return where those holes lie, mm."""
        return tuple(self.holes[n - 1] for n in self.numbers)


class Notch(Struct, frozen=True, kw_only=True):
    """What a cut through a lightening hole leaves in the part."""

    hole: RoundHole  # the lightening hole, along the part
    width: float  # of its mouth along the cut, mm
    depth: float  # how far it goes into the part along the edge, mm
    rear: float  # from the trailing edge to its mouth, mm: the metal left behind it
    front: float  # from the trailing edge to the mouth's far end, mm
    # how wide it is in the part at most, mm: where the cut passes beyond the hole's middle, the
    # hole is wider than the mouth
    widest: float
    behind: float  # the least metal between it and the trailing edge, mm
    open_front: bool  # it runs out at the front of the wedge
    hidden: bool  # the end fairing covers all of its depth


class Ligament(Struct, frozen=True, kw_only=True):
    """The metal between a rivet hole and the nearest edge of a kind."""

    number: int  # of the rivet hole, from 1
    edge_distance: float  # from its middle to the edge, mm; negative where the edge is past it
    metal: float  # from its edge to that edge, mm; 0 or less where they run into one another
    to: str  # ``cut``, ``notch``, ``half hole`` (see `Cut.half_holes`) or ``lightening hole``


class Cut(Struct, frozen=True, kw_only=True):
    """One end of the part."""

    end: str  # ``start`` or ``end``
    at: float  # the trim line along the part, mm
    on_stock: float  # the same place from the stock's own zero end, mm
    left: float  # what is left of the stock beyond it, mm
    notches: tuple[Notch, ...]  # left by lightening holes that the cut passes
    nearest: Ligament | None  # the rivet hole with the least metal to this end
    # rivet holes of the stock that the cut passes and no hole of the skins covers, their middles
    # along the part, mm
    half_holes: tuple[float, ...] = ()


class Placement(Struct, frozen=True, kw_only=True):
    """One way to lay the stock under the skins."""

    shift: float  # where the stock's low end lies along the part, mm
    window: Window  # from which to which shift the same holds, mm
    turned: bool  # end for end
    # how far the worst hole of the stock lies beside its hole in the skins, mm; None where the
    # stock is undrilled or the skins' holes are not known
    offset: float | None
    # holes of the stock in the part that no hole of the skins covers, mm along the part
    spare: tuple[float, ...]
    lightening: tuple[RoundHole, ...]  # every lightening hole of the stock, along the part
    cuts: tuple[Cut, Cut]  # at the start and at the end
    inner: Ligament | None  # the rivet hole with the least metal to a whole lightening hole
    # numbers of rivet holes that run into a cut, a notch or a lightening hole
    opened: tuple[int, ...]
    under_least: tuple[int, ...]  # numbers of rivet holes nearer to an edge than the least rule
    under_usual: tuple[int, ...]  # numbers of rivet holes nearer to an edge than their form wants

    @property
    def notches(self) -> tuple[Notch, ...]:
        """Return the notches of both ends."""
        return (*self.cuts[0].notches, *self.cuts[1].notches)

    @property
    def open_notches(self) -> tuple[Notch, ...]:
        """Return the notches that no fairing hides."""
        return tuple(notch for notch in self.notches if not notch.hidden)

    @property
    def half_holes(self) -> tuple[float, ...]:
        """Return the rivet holes of the stock that the cuts of both ends pass, mm."""
        return (*self.cuts[0].half_holes, *self.cuts[1].half_holes)

    def to_lightening(self, cut: CutLine, depth: float | None) -> float | None:
        """Return the metal between a cut and the nearest lightening hole that it does not pass, mm.

        Source: definition; a hole's reach toward the cut is `CutLine.half_span`.
        """
        found = [
            float(cut.inside(hole.at, hole.line)) - half
            for hole in self.lightening
            if (half := cut.half_span(hole, depth)) > 0.0
        ]
        return min((metal for metal in found if metal >= 0.0), default=None)


class TrimPlan(Struct, frozen=True, kw_only=True):
    """Every way to lay the stock under the skins, the best first."""

    stock: Stock  # as it comes
    part: Part  # what is cut from it
    match: float  # how far a hole of the stock may lie beside one of the skins, mm
    placements: tuple[Placement, ...]  # ranked; empty where no shift lines the holes up
    # where none does, how many of the skins' holes the best shift lines up, and that shift, mm;
    # else None
    closest: tuple[int, float] | None = None
    # where the holes line up but the stock then ends before a trim line, by how much at best, mm;
    # else None
    short: float | None = None
    turning: str = ""  # why the stock was, or was not, tried end for end, as a sentence
    turn_refused: bool = False  # the job allows turning, and the wedge forbids it
    unknown: str = ""  # why no plan could be made, as a sentence; empty if one was

    @property
    def best(self) -> Placement | None:
        """Return the first in rank, or None."""
        return self.placements[0] if self.placements else None


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

    Source: derived, see the head of the module.
    """
    lightening = tuple(replace(hole, at=hole.at + shift) for hole in stock.lightening)
    row = np.asarray(stock.holes, dtype=float) + shift
    spare = _spare(row, part, match)
    numbers = _near_part(part)
    at = np.array([part.holes[n - 1] for n in numbers], dtype=float)
    ends = []
    to_hole = _to_holes(at, part.line, [hole for hole in lightening if _is_whole(hole, part)])
    least = to_hole
    for number, line in enumerate(part.cuts):
        trim = line.rear
        notches = _notches(lightening, part, line, part.fairing[number])
        half_holes = tuple(
            hole for hole in spare
            if abs(line.inside(hole, part.line)) < part.drill / 2 - ROUNDING
        )  # fmt: skip
        by_kind = {
            "cut": line.inside(at, part.line),
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
    return [RoundHole(at=at, diameter=part.drill, line=part.line) for at in places]


def _near_part(part: Part) -> Array:
    """Return the numbers of the rivet holes that lie in the part with any of their width."""
    found = [number for number, at in enumerate(part.holes, start=1) if _any_in(part, at)]
    return np.array(found, dtype=int)


def _any_in(part: Part, at: ArrayLike) -> Any:
    """Return whether rivet holes lie in the part with any of their width."""
    first, last = (line.inside(at, part.line) > -part.drill / 2 for line in part.cuts)
    return first & last


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
    """Return the place of a rising row (m,), mm, nearest to each of others (n,), shape (n,).

    Source: definition.
    """
    after = np.minimum(np.searchsorted(row, at), len(row) - 1)
    before = np.maximum(after - 1, 0)
    return np.asarray(
        np.where(np.abs(at - row[before]) <= np.abs(at - row[after]), row[before], row[after])
    )


def beside(row: Array, at: Array) -> Array:
    """Return how far places (n,), mm, lie from the nearest of a rising row (m,), shape (n,).

    Source: definition.
    """
    return np.asarray(np.abs(at - nearest(row, at)))


def _spare(row: Array, part: Part, match: float) -> tuple[float, ...]:
    """Return the stock's holes that come to lie in the part beside no hole of the skins."""
    inside = row[_any_in(part, row)]
    if inside.size and part.holes:
        inside = inside[beside(np.asarray(part.holes, dtype=float), inside) > match + ROUNDING]
    return tuple(inside.tolist())


def _is_whole(hole: RoundHole, part: Part) -> bool:
    """Return whether a lightening hole lies in the part and no cut passes it."""
    return hole.half_span(part.depth) > 0.0 and all(
        line.inside(hole.at, hole.line) >= line.half_span(hole, part.depth) for line in part.cuts
    )


def _notches(
    lightening: Sequence[RoundHole], part: Part, line: CutLine, fairing: float
) -> tuple[Notch, ...]:
    found = []
    lean, cos = line.inward * math.sin(line.angle), math.cos(line.angle)
    for hole in lightening:
        inside, half = float(line.inside(hole.at, hole.line)), line.half_span(hole, part.depth)
        if abs(inside) >= half - ROUNDING:  # a rim that only touches the cut leaves no notch
            continue
        middle, chord = hole.line + inside * lean, math.sqrt(hole.radius**2 - inside**2) * cos
        low, far = middle - chord, middle + chord
        open_front = part.depth is not None and far >= part.depth
        front = part.depth if open_front and part.depth is not None else far
        rear = max(low, 0.0)
        depth = half + inside
        # Where its hindmost or foremost point lies in the part, it is there as wide as anywhere.
        swing = hole.radius * lean
        behind = max(hole.line - hole.radius if inside + swing > 0.0 else low, 0.0)
        most = hole.line + hole.radius if inside - swing > 0.0 else far
        found.append(
            Notch(
                hole=hole,
                width=(front - rear) / cos,
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
