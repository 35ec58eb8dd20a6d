"""Pieces, their check angles and their lengths, as they lie on a page or a bed.

Angles are in radians; the records that travel with the drawings have degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

Point = tuple[float, float]

ON_AXIS = 0.02
"""A bar whose slope to an axis of the sheet is less than this lies along it."""

BAR_TO_BAR = "bar-to-bar"
"""How a length aslant from one bar of a piece to another is called; in inches with ``-in``."""

SAME_LEAN = math.radians(0.001)
"""The layers of one block lead the drill at angles that agree this well; the rest is rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedLength:
    """A length that can be measured, where it lies on the sheet.

    Attributes:
        name: of the check dimension.
        nominal: what it should measure, mm.
        start: one end on the sheet, mm.
        end: the other end, mm.
        is_bar: a calibration bar rather than a size of a piece.
        how: to measure it, in words, where its name and the record do not say; empty otherwise.
    """

    name: str
    nominal: float
    start: Point
    end: Point
    is_bar: bool = False
    how: str = ""

    @property
    def vector(self) -> Point:
        """Return the vector from one end to the other, mm."""
        return (self.end[0] - self.start[0], self.end[1] - self.start[1])

    @property
    def says_of_skew(self) -> float:
        """Return how much it changes when the sheet's axes close, mm per radian."""
        x, y = self.vector
        return abs(x * y) / self.nominal


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedAngle:
    """A check angle, where it lies on the sheet.

    Attributes:
        name: of the check angle.
        nominal: radians.
        base: two points of the base edge, away from the corner, mm.
        working: two points of the working edge, away from the corner, mm.
    """

    name: str
    nominal: float
    base: tuple[Point, Point]
    working: tuple[Point, Point]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPiece:
    """A piece as it lies on its sheet.

    Attributes:
        name: of the piece.
        kind: which jig made it.
        angles: its check angles.
        lengths: its check dimensions, its own bars included.
        allowed_angle: largest angle error, radians; None for the default.
        allowed_length: largest length error, mm; None for the default of its kind.
        again: it is a further copy of a piece that lies on the same sheet.
    """

    name: str
    kind: str
    angles: tuple[PlacedAngle, ...] = ()
    lengths: tuple[PlacedLength, ...] = ()
    allowed_angle: float | None = None
    allowed_length: float | None = None
    again: bool = False

    @property
    def lean(self) -> float | None:
        """Return the tilt along x that it gives a hole in flat scrap, radians.

        Negative toward the trailing edge: the axis leans forward going out of the skin, so the
        hole comes out nearer to it. None for a piece that has no angle of a drill to the skin.
        """
        for angle in self.angles:
            if angle.name == "forward":
                return angle.nominal - math.pi / 2
            if angle.name == "aft":
                return math.pi / 2 - angle.nominal
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedSheet:
    """One page or bed as it was drawn.

    Attributes:
        name: of the sheet.
        pieces: what lies on it.
        lengths: the sheet's own bars and diagonals.
        printed: a page of paper, neither cut material nor a roll, which come from another
            machine: only pages are corrected by a reprint.
    """

    name: str
    pieces: tuple[PlacedPiece, ...] = ()
    lengths: tuple[PlacedLength, ...] = ()
    printed: bool = True

    def measurable(self) -> dict[str, PlacedLength]:
        """Return every length that can be read on the sheet, by the name that a reading has.

        The sheet's own come first, then those of its pieces as ``piece/name``. A sheet without
        diagonals has one on each piece, from bar to bar, and one from inch bar to inch bar.
        """
        found = {length.name: length for length in self.lengths}
        for piece in self.pieces:
            across = () if self.lengths else _bar_to_bar(piece)
            found |= {f"{piece.name}/{n.name}": n for n in (*piece.lengths, *across)}
        return found

    def to_measure(self) -> dict[str, PlacedLength]:
        """Return what to measure on the sheet: its own lengths, or else its pieces' bars.

        Of the lengths from bar to bar only the one in each unit that says most of squareness.
        """
        if self.lengths:
            return {length.name: length for length in self.lengths}
        copies = tuple(f"{piece.name}/" for piece in self.pieces if piece.again)
        bars = {
            name: length
            for name, length in self.measurable().items()
            if length.is_bar and not name.startswith(copies)
        }
        aslant = [name for name, length in bars.items() if length.name.startswith(BAR_TO_BAR)]
        told = {
            max(some, key=lambda name: bars[name].says_of_skew)
            for inches in (False, True)
            if (some := [name for name in aslant if is_inch_bar(name) is inches])
        }
        return {n: length for n, length in bars.items() if n in told or n not in aslant}


def is_inch_bar(name: str) -> bool:
    """Return whether a bar by its name is for a rule or calliper in inches."""
    return name.endswith("-in")


def _bar_to_bar(piece: PlacedPiece) -> Iterator[PlacedLength]:
    """Yield a length aslant between the ends of a piece's bars, one along x and one along y.

    Only such a length tells whether a machine's axes stand square. Sizes of the piece would do
    too, but they go over cut edges, and change with the kerf. Bars in mm and in inches have one
    each, so that nobody is sent from his form to a bar that is not on it.
    """
    ways: tuple[list[PlacedLength], list[PlacedLength]] = ([], [])
    for bar in (length for length in piece.lengths if length.is_bar):
        x, y = (abs(part) for part in bar.vector)
        if min(x, y) <= ON_AXIS * max(x, y):
            ways[x < y].append(bar)
    for ending, inches in (("", False), ("-in", True)):
        along, up = ([b for b in bars if is_inch_bar(b.name) is inches] for bars in ways)
        if along and up:
            yield _from_bar_to_bar(
                max(along, key=lambda bar: bar.nominal),
                max(up, key=lambda bar: bar.nominal),
                f"{BAR_TO_BAR}{ending}",
            )


def _from_bar_to_bar(along: PlacedLength, up: PlacedLength, name: str) -> PlacedLength:
    """Return the longest length from an end of one bar to an end of the other."""
    pairs = [(a, b) for a in (along.start, along.end) for b in (up.start, up.end)]
    start, end = max(pairs, key=lambda pair: math.dist(*pair))
    side = "right" if start[0] == max(along.start[0], along.end[0]) else "left"
    height = "upper" if end[1] == max(up.start[1], up.end[1]) else "lower"
    return PlacedLength(
        name=name,
        nominal=math.dist(start, end),
        start=start,
        end=end,
        is_bar=True,
        how=f"from the {side} end of {along.name} to the {height} end of {up.name}, as they lie "
        "on the sheet",
    )


def drilled_with(pieces: Iterable[PlacedPiece], stem: str) -> tuple[PlacedPiece, ...]:
    """Return the pieces that a user may mean by the name of what a test hole was drilled with.

    Args:
        pieces: all that were drawn.
        stem: a piece's name, or the beginning of one: ``block-a1`` for the block whose layers
            are ``block-a1-solid`` and others.

    Returns:
        The piece of that name; else those whose names begin so and a dash, else those whose
        names begin so. Only pieces that lead a drill, copies left out; empty if there is none.
    """
    leading = [p for p in pieces if p.lean is not None and not p.again]
    exact = {p.name: p for p in leading if p.name == stem}
    layers = {p.name: p for p in leading if p.name.startswith(f"{stem}-")}
    begun = {p.name: p for p in leading if p.name.startswith(stem)}
    return tuple((exact or layers or begun).values())


def alike(pieces: Iterable[PlacedPiece]) -> bool:
    """Return whether pieces lead a drill at one and the same angle."""
    leans = [p.lean for p in pieces if p.lean is not None]
    return bool(leans) and max(leans) - min(leans) <= SAME_LEAN
