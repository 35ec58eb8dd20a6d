"""What a judgement needs to know: the sheets as they were drawn, and what was read on them.

The pieces come out of the records that travel with the drawings (angles in degrees there, in
radians here); the readings come from options or from a readings file.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from jiggen.geometry.distortion import Bar
from jiggen.geometry.leastsquares import standard_from_plus_minus, standard_from_step
from jiggen.verify.placed import (
    BAR_TO_BAR,
    PlacedAngle,
    PlacedLength,
    PlacedPiece,
    Point,
    RecordedSheet,
    is_inch_bar,
)

ROLL = "strip-roll.pdf"
"""The file whose long pages another machine prints, by the name that it is written under."""

DEFAULT_STEP = 0.5
"""mm: a steel rule with half-millimetre marks, when nothing is said about the rule."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthReading:
    """One length as measured.

    Attributes:
        name: of the bar, diagonal or check dimension.
        measured: mm.
        step: smallest step that the rule or calliper shows, mm; used if nothing better is known.
        plus_minus: stated uncertainty (about 95 %), mm; takes the place of the step.
    """

    name: str
    measured: float
    step: float = DEFAULT_STEP
    plus_minus: float | None = None

    @property
    def standard(self) -> float:
        """Return the standard uncertainty of the reading, mm."""
        if self.plus_minus is not None:
            return standard_from_plus_minus(self.plus_minus)
        return standard_from_step(self.step)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetReadings:
    """What was measured on one sheet.

    Attributes:
        bars: the measured bars and diagonals by name, as drawn and as measured.
        unread: vectors of those that could have been measured too, mm.
    """

    bars: dict[str, Bar] = field(default_factory=dict)
    unread: dict[str, Point] = field(default_factory=dict)


def sheet_of_record(record: Mapping[str, Any], *, printed: bool) -> RecordedSheet:
    """Return a sheet from the record that travels with its drawing.

    Args:
        record: ``sheet``, ``pieces``, ``dimensions`` as written beside the drawing; a piece may
            carry ``allowed_angle`` (degrees) and ``allowed_length`` (mm).
        printed: whether it is paper.

    Returns:
        The sheet, in mm and radians. Copies of a piece are called ``name-2``, ``name-3``.

    Raises:
        KeyError: the record lacks a part.
    """
    return RecordedSheet(
        name=str(record["sheet"]),
        pieces=_numbered([_piece(piece) for piece in record["pieces"]]),
        lengths=tuple(_length(length) for length in record["dimensions"]),
        printed=printed,
    )


def recorded_sheets(manifest: Mapping[str, Any]) -> tuple[RecordedSheet, ...]:
    """Return the sheets that a manifest lists: every page, then every bed once.

    The per-piece files and a bed's second format show nothing that is not on these.

    Args:
        manifest: as parsed from ``manifest.json``.

    Returns:
        The sheets, in the manifest's order.

    Raises:
        KeyError: the manifest lacks a part.
    """
    found: dict[tuple[str, bool], RecordedSheet] = {}
    for row in manifest["files"]:
        if "/" in row["file"]:
            continue
        for record in row["sheets"]:
            printed = row["format"] == "pdf" and row["file"] != ROLL
            sheet = sheet_of_record(record, printed=printed)
            found.setdefault((sheet.name, sheet.printed), sheet)
    return tuple(sorted(found.values(), key=lambda sheet: not sheet.printed))


def _numbered(pieces: list[PlacedPiece]) -> tuple[PlacedPiece, ...]:
    """Return the pieces, each copy of an earlier one with a name of its own."""
    taken = {piece.name for piece in pieces}
    seen: set[str] = set()
    named = []
    for piece in pieces:
        name, number = piece.name, 2
        while name in seen or (name != piece.name and name in taken):
            name, number = f"{piece.name}-{number}", number + 1
        seen.add(name)
        named.append(replace(piece, name=name, again=name != piece.name))
    return tuple(named)


def _point(pair: Any) -> Point:
    return (float(pair[0]), float(pair[1]))


def _length(row: Mapping[str, Any]) -> PlacedLength:
    return PlacedLength(
        name=str(row["name"]),
        nominal=float(row["nominal"]),
        start=_point(row["ends"][0]),
        end=_point(row["ends"][1]),
        is_bar=bool(row["bar"]),
    )


def _angle(row: Mapping[str, Any]) -> PlacedAngle:
    return PlacedAngle(
        name=str(row["name"]),
        nominal=math.radians(float(row["nominal"])),
        base=(_point(row["base"][0]), _point(row["base"][1])),
        working=(_point(row["working"][0]), _point(row["working"][1])),
    )


def _piece(row: Mapping[str, Any]) -> PlacedPiece:
    angle, length = row.get("allowed_angle"), row.get("allowed_length")
    return PlacedPiece(
        name=str(row["name"]),
        kind=str(row["kind"]),
        angles=tuple(_angle(a) for a in row["angles"]),
        lengths=tuple(_length(d) for d in row["dimensions"]),
        allowed_angle=None if angle is None else math.radians(float(angle)),
        allowed_length=None if length is None else float(length),
    )


def sheet_readings(
    sheet: RecordedSheet, readings: Iterable[LengthReading]
) -> tuple[SheetReadings, tuple[str, ...]]:
    """Return readings matched with what they were taken on.

    Args:
        sheet: as drawn.
        readings: by name of the sheet's own bars and diagonals, or ``piece/name`` for a bar or
            dimension of a piece measured while it is still on the sheet.

    Returns:
        The readings, and the names among them that the sheet does not have.
    """
    drawn = sheet.measurable()
    bars: dict[str, Bar] = {}
    strange: list[str] = []
    for reading in readings:
        if reading.name not in drawn:
            strange.append(reading.name)
            continue
        bars[reading.name] = Bar(
            vector=drawn[reading.name].vector,
            measured=reading.measured,
            standard=reading.standard,
        )
    unread = {n: size.vector for n, size in sheet.to_measure().items() if n not in bars}
    return SheetReadings(bars=bars, unread=_worth_reading(unread, bars)), tuple(strange)


def _worth_reading(unread: Mapping[str, Point], bars: Collection[str]) -> dict[str, Point]:
    """Return what could be measured too, in the unit that was used first.

    Who measured bars in inches is not sent to those in mm, nor the other way round; and of the
    lengths from bar to bar one is enough.
    """
    inches = any(is_inch_bar(name) for name in bars)
    ordered = sorted(unread, key=lambda name: is_inch_bar(name) is not inches)
    aslant = [name for name in ordered if BAR_TO_BAR in name]
    enough = any(BAR_TO_BAR in name for name in bars)
    dropped = aslant if enough else aslant[1:]
    return {name: unread[name] for name in ordered if name not in dropped}


def readings_of_options(
    sheet: RecordedSheet,
    *,
    bar_x: float | None = None,
    bar_y: float | None = None,
    diagonal_1: float | None = None,
    diagonal_2: float | None = None,
    step: float = DEFAULT_STEP,
    units: str = "mm",
) -> tuple[LengthReading, ...]:
    """Return readings given as bar x, bar y and two diagonals, by the sheet's own names.

    The two bars along an axis differ by 1.6 %, so a reading by itself does not tell which one
    was measured; who measures in inches measures the inch bar, named ``...-in``.

    Args:
        sheet: as drawn.
        bar_x: mm; None where it was not measured. The same for the others.
        bar_y: mm.
        diagonal_1: mm.
        diagonal_2: mm.
        step: of the rule, mm.
        units: ``mm`` or ``in``: what the user measured in.

    Returns:
        One reading for each length given.

    Raises:
        ValueError: the sheet has no such bar or diagonal.
    """
    given = {
        "bar-x": bar_x,
        "bar-y": bar_y,
        "diagonal-1": diagonal_1,
        "diagonal-2": diagonal_2,
    }
    names = {length.name for length in sheet.lengths}
    found = []
    for name, measured in given.items():
        if measured is None:
            continue
        inch = f"{name}-in"
        chosen = inch if units == "in" and inch in names else name
        if chosen not in names:
            raise ValueError(f"{sheet.name} has no {name}")
        found.append(LengthReading(name=chosen, measured=measured, step=step))
    return tuple(found)
