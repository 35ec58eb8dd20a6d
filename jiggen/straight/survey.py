"""The readings taken along an edge, and what the plans ask of it, as frozen records.

A survey is one walk along the edge: a place, and how far the edge is off there, on one line or two.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

LINES = ("deviation", "turned", "front", "rear", "upper", "lower")
"""What a line of readings may be called."""

PAIRS = (("deviation", "turned"), ("front", "rear"), ("upper", "lower"))
"""Two lines that tell more together: each pair by itself."""

LIMIT_ON = ("zone", "ends")
"""What the plans' limit is on: the width of the minimum zone, or the farthest from the line
through the ends."""

DATUM = ("one", "each")
"""Whether both lines were read against one flat surface, or each against its own straightedge."""

WAYS = ("up", "down")
"""Which way a deviation above and below zero goes, where the user does not say."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What goes with the readings; None where it was not said. Lengths in mm.

    Attributes:
        units: ``mm`` or ``in``: what lengths are said in.
        name: of the edge.
        date: as written.
        by: who measured.
        ways: which way a deviation above zero goes, and one below.
        step: smallest step of what was read.
        plus_minus: stated largest error of one reading; goes before the step.
        limit: from the plans.
        limit_on: one of `LIMIT_ON`.
        over: length of edge that the limit is for; None for all that was read.
        twist_limit: radians, from the plans.
        apart: between the front and the rear line.
        datum: one of `DATUM`.
    """

    units: str | None = None
    name: str | None = None
    date: str | None = None
    by: str | None = None
    ways: tuple[str, str] | None = None
    step: float | None = None
    plus_minus: float | None = None
    limit: float | None = None
    limit_on: str | None = None
    over: float | None = None
    twist_limit: float | None = None
    apart: float | None = None
    datum: str | None = None

    @property
    def half(self) -> float | None:
        """Return the most by which one reading can be off, mm; None if it is not known."""
        if self.plus_minus is not None:
            return self.plus_minus
        return None if self.step is None else self.step / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """A walk along the edge.

    Attributes:
        file: where the readings came from, as the user gave it.
        settings: what goes with them.
        at: places along the edge, mm, rising, none twice.
        lines: by name, a deviation at each place, mm; None where it was not read.
    """

    file: str
    settings: Settings
    at: tuple[float, ...]
    lines: Mapping[str, tuple[float | None, ...]]

    @property
    def name(self) -> str:
        """Return the edge's name, or the file's where it has none."""
        return self.settings.name or self.file

    @property
    def units(self) -> str:
        """Return ``mm`` or ``in``."""
        return self.settings.units or "mm"

    @property
    def ways(self) -> tuple[str, str]:
        """Return which way a deviation above zero goes, and one below."""
        if self.settings.ways:
            return self.settings.ways
        return ("outward", "inward") if set(self.lines) & {"upper", "lower"} else WAYS

    @property
    def pair(self) -> tuple[str, str] | None:
        """Return the two lines that were read, in the order of `PAIRS`; None for a single one."""
        return next((pair for pair in PAIRS if set(pair) <= set(self.lines)), None)

    def both(self) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
        """Return the places where both lines were read, and the deviations of each, mm."""
        assert self.pair is not None
        one, two = (self.lines[name] for name in self.pair)
        rows = [
            (x, a, b)
            for x, a, b in zip(self.at, one, two, strict=True)
            if a is not None and b is not None
        ]
        places, firsts, seconds = zip(*rows, strict=True)
        return places, firsts, seconds

    def line(self, name: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Return the places where a line was read, and its deviations there, mm."""
        rows = [(x, y) for x, y in zip(self.at, self.lines[name], strict=True) if y is not None]
        places, deviations = zip(*rows, strict=True)
        return places, deviations
