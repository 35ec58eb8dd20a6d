"""Kerf and the sheet's real thickness from what a calliper reads on a cut coupon.

The coupon is no jig, so it gets no verdict: it gives two lines for the job file. Each row of loose
bars is shorter than it was drawn by one kerf for each bar; the slots bracket the thickness. Those
lines go into every piece that is cut afterwards, so a row that cannot be meant is asked about.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from jiggen.geometry.coupon import (
    LOST_BAR_SHARE,
    PLAUSIBLE_SHARE,
    Found,
    kerf_from_fingers,
    kerf_pooled,
    sheet_from_slots,
)
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.geometry.plausible import Question
from jiggen.units import INCH, say_length
from jiggen.verify.placed import PlacedPiece, RecordedSheet
from jiggen.verify.records import LengthReading

_UNITS_MEANT = ((INCH, "inches"), (1.0 / INCH, "millimetres"), (10.0, "centimetres"))

SLOT, ROW = "slot-", "fingers-"
"""How the coupon's check dimensions are called."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponReadings:
    """What was measured on a coupon.

    Attributes:
        fingers_x: over all loose bars of the row along x, pushed together; None if not measured.
        fingers_y: the same along y.
        slot: drawn width of the narrowest slot that the sheet enters, mm; None if not tried.
    """

    fingers_x: LengthReading | None = None
    fingers_y: LengthReading | None = None
    slot: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponFound:
    """What a coupon says about machine and material.

    Attributes:
        kerf: full width of the slot, from both rows, mm; None if neither was measured.
        kerf_x: from the row along x alone, or None.
        kerf_y: from the row along y alone, or None.
        sheet: thickness of the material, mm, or None.
        alike: False where the two rows differ by more than the readings' doubts and the steps
            that they were read to.
    """

    kerf: Found | None
    kerf_x: Found | None
    kerf_y: Found | None
    sheet: Found | None
    alike: bool


def read_coupon(piece: PlacedPiece, readings: CouponReadings, bars: int) -> CouponFound:
    """Return kerf and sheet thickness from a coupon's readings.

    Args:
        piece: the coupon as drawn, without kerf.
        readings: what was measured on it.
        bars: loose bars in a row; each has lost one kerf.

    Returns:
        Both with their standard uncertainty.

    Raises:
        ValueError: a row longer than drawn, a slot that is not on the coupon or at an end of the
            stair, or a slot without any row.

    Source: derived: a sum of equal cuts; a bracket of slots.
    """
    drawn = {length.name: length.nominal for length in piece.lengths}
    kerfs = {
        row.name: kerf_from_fingers(drawn[row.name], row.measured, bars, row.standard)
        for row in (readings.fingers_x, readings.fingers_y)
        if row is not None
    }
    kerf = kerf_pooled(list(kerfs.values())) if kerfs else None
    sheet = None
    if readings.slot is not None:
        if kerf is None:
            raise ValueError("a slot says nothing without the kerf: measure a row of bars too")
        slots = [width for name, width in drawn.items() if name.startswith(SLOT)]
        sheet = sheet_from_slots(slots, readings.slot, kerf)
    x, y = kerfs.get(f"{ROW}x"), kerfs.get(f"{ROW}y")
    same = _alike(readings.fingers_x, readings.fingers_y)
    return CouponFound(kerf=kerf, kerf_x=x, kerf_y=y, sheet=sheet, alike=same)


def _alike(x: LengthReading | None, y: LengthReading | None) -> bool:
    """Return whether two rows of one drawn length were read alike, as well as can be told."""
    if x is None or y is None:
        return True
    return abs(x.measured - y.measured) <= math.hypot(_doubt(x), _doubt(y))


def _doubt(row: LengthReading) -> float:
    """Return about 95 % of a reading with the step beside it: jaws close a step off either way."""
    step = row.step if row.plus_minus is None else 0.0
    return math.hypot(COVERAGE * row.standard, step)


def only_coupon(sheets: Iterable[RecordedSheet]) -> bool:
    """Return whether a set of drawings holds the kerf coupon and no other piece.

    Args:
        sheets: all that were drawn.
    """
    kinds = {piece.kind for sheet in sheets for piece in sheet.pieces}
    return kinds == {"coupon"}


def questions_of_coupon(
    piece: PlacedPiece, readings: CouponReadings, bars: int, units: str = "mm"
) -> tuple[Question, ...]:
    """Return what must be asked about the rows of a coupon; empty if they can be meant.

    Args:
        piece: the coupon as drawn, without kerf.
        readings: what was measured on it.
        bars: loose bars in a row.
        units: ``mm`` or ``in``: what lengths are said in.

    Returns:
        A question for each row that no machine cuts, or one about two rows of which one looks to
        have lost a bar.
    """
    drawn = {length.name: length.nominal for length in piece.lengths}
    rows = [row for row in (readings.fingers_x, readings.fingers_y) if row is not None]
    asked = [q for row in rows if (q := _about_row(row, drawn[row.name], bars, units))]
    return tuple(asked or _about_lost_bar(rows, drawn, bars, units))


def _about_lost_bar(
    rows: Sequence[LengthReading], drawn: Mapping[str, float], bars: int, units: str
) -> Iterator[Question]:
    """Ask whether a bar was left out: a row of seven looks like eight with a wide cut.

    The other row tells the two apart.
    """
    if not rows:
        return
    short = max(rows, key=lambda row: _lost(row, drawn[row.name], bars))
    bar, wide = drawn[short.name] / bars, _lost(short, drawn[short.name], bars)
    least = min(_lost(row, drawn[row.name], bars) for row in rows)
    if wide < LOST_BAR_SHARE * bar:
        return
    if len(rows) > 1 and wide - least < LOST_BAR_SHARE * bar / 2.0:
        return
    other = (
        f"The other row says {say_length(least, units)}: measure both again"
        if len(rows) > 1
        else "If so, measure the other row too: two rows alike are believed"
    )
    text = (
        f"{_said(short, units)} would be a cut {say_length(wide, units)} wide: were all {bars} "
        f"bars pushed together? {other}"
    )
    yield Question(readings=(short.name,), likely="contradiction", text=text)


def _lost(row: LengthReading, drawn: float, bars: int) -> float:
    return (drawn - row.measured) / bars


def _said(row: LengthReading, units: str) -> str:
    return f"{row.name} of {say_length(row.measured, units)}"


def _about_row(row: LengthReading, drawn: float, bars: int, units: str) -> Question | None:
    """Ask about one row that no machine cuts."""
    lost, bar = _lost(row, drawn, bars), drawn / bars
    if lost >= -4.0 * row.standard / bars and lost <= PLAUSIBLE_SHARE * bar:
        return None
    opening = f"{_said(row, units)}, where {say_length(drawn, units)} were drawn"
    for factor, meant in _UNITS_MEANT:
        if 0.0 <= (drawn - row.measured * factor) / bars <= PLAUSIBLE_SHARE * bar:
            text = f"{opening}: were {meant} meant? If so, write it with its unit"
            return Question(readings=(row.name,), likely="unit", text=text)
    if lost < 0.0:
        text = (
            f"{opening}: a row comes out shorter than drawn, never longer. Is it the right row, "
            "and was the file cut without kerf correction? Measure it again"
        )
    else:
        text = (
            f"{opening}, would be a cut {say_length(lost, units)} wide: were all {bars} bars "
            "pushed together? If they were, the coupon is not for so wide a cut: measure one by "
            "itself, and write that into the job file"
        )
    return Question(readings=(row.name,), likely="scale", text=text)
