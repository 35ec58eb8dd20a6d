"""Kerf and the sheet's real thickness from what a calliper reads on a cut coupon.

The coupon is no jig, so it gets no verdict: it gives two lines for the job file. Each row of loose
bars is shorter than the machine laid it out by one kerf for each bar; the slots bracket the
thickness. How long the machine laid a row out the engraved bars tell: a scale that is one per cent
off adds 0.05 mm to what looks like kerf.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jiggen.geometry.coupon import Found, kerf_from_fingers, kerf_pooled, sheet_from_slots
from jiggen.geometry.distortion import Estimate, WithDoubt, printed_length
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.verify.placed import PlacedLength, PlacedPiece, RecordedSheet
from jiggen.verify.records import LengthReading

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
        by_bars: the engraved bars told how far off the machine lays things out along each row,
            and that is taken off; False where it is taken to lay them out true.
    """

    kerf: Found | None
    kerf_x: Found | None
    kerf_y: Found | None
    sheet: Found | None
    alike: bool
    by_bars: bool


def read_coupon(
    piece: PlacedPiece, readings: CouponReadings, bars: int, cut: Estimate | None = None
) -> CouponFound:
    """Return kerf and sheet thickness from a coupon's readings.

    Args:
        piece: the coupon as drawn, without kerf, where it lies on its sheet.
        readings: what was measured on it.
        bars: loose bars in a row; each has lost one kerf.
        cut: what the machine did to the sheet, by its engraved bars; None if none was measured.

    Returns:
        Both with their standard uncertainty, that of the engraved bars included.

    Raises:
        ValueError: a row longer than it was laid out, a slot that is not on the coupon or at an
            end of the stair, or a slot without any row.

    Source: derived: a sum of equal cuts; a bracket of slots.
    """
    rows = rows_of(piece, readings, bars, cut)
    kerfs = {
        row.name: kerf_from_fingers(row.laid.value, row.taken.measured, bars, row.standard)
        for row in rows
    }
    kerf = kerf_pooled(list(kerfs.values())) if kerfs else None
    sheet = None
    if readings.slot is not None:
        if kerf is None:
            raise ValueError("a slot says nothing without the kerf: measure a row of bars too")
        slots = [n for n in piece.lengths if n.name.startswith(SLOT)]
        scale = _laid(slots[0], cut)[0].value / slots[0].nominal if slots else 1.0
        sheet = sheet_from_slots([n.nominal for n in slots], readings.slot, kerf, scale)
    return CouponFound(
        kerf=kerf,
        kerf_x=kerfs.get(f"{ROW}x"),
        kerf_y=kerfs.get(f"{ROW}y"),
        sheet=sheet,
        alike=rows_alike(rows),
        by_bars=all(row.by_bars for row in rows),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A row of loose bars as measured, and as the machine laid it out.

    Attributes:
        taken: over all bars pushed together.
        drawn: the same on the drawing, mm.
        laid: from cut line to cut line as the machine went, mm.
        by_bars: the engraved bars told that; else it is as drawn.
        bars: in the row.
    """

    taken: LengthReading
    drawn: float
    laid: WithDoubt
    by_bars: bool
    bars: int

    @property
    def name(self) -> str:
        """Return the name of the reading."""
        return self.taken.name

    @property
    def lost(self) -> float:
        """Return what each cut took, mm."""
        return (self.laid.value - self.taken.measured) / self.bars

    @property
    def standard(self) -> float:
        """Return the standard uncertainty of what all cuts took, mm."""
        return math.hypot(self.taken.standard, self.laid.standard)

    @property
    def doubt(self) -> float:
        """Return about 95 % of it with the step beside: jaws close a step off either way."""
        step = self.taken.step if self.taken.plus_minus is None else 0.0
        return math.hypot(COVERAGE * self.standard, step)


def rows_of(
    piece: PlacedPiece, readings: CouponReadings, bars: int, cut: Estimate | None
) -> list[Row]:
    """Return the rows of a coupon that were measured, as the machine laid them out.

    Args:
        piece: the coupon as drawn, without kerf, where it lies on its sheet.
        readings: what was measured on it.
        bars: loose bars in a row.
        cut: what the machine did to the sheet, by its engraved bars; None if none was measured.
    """
    lengths = {length.name: length for length in piece.lengths}
    rows = []
    for taken in (readings.fingers_x, readings.fingers_y):
        if taken is not None:
            length = lengths[taken.name]
            laid, by_bars = _laid(length, cut)
            rows.append(
                Row(taken=taken, drawn=length.nominal, laid=laid, by_bars=by_bars, bars=bars)
            )
    return rows


def _laid(length: PlacedLength, cut: Estimate | None) -> tuple[WithDoubt, bool]:
    """Return a length as the machine laid it out, and whether the engraved bars told that."""
    if cut is None or not cut.scales_measured[axis_of(length)]:
        return WithDoubt(value=length.nominal, standard=0.0), False
    return printed_length(cut, length.vector), True


def axis_of(length: PlacedLength) -> int:
    """Return 0 for a length along x of its sheet, 1 along y: a coupon may lie turned on its bed.

    Args:
        length: where it lies.
    """
    return int(abs(length.vector[0]) < abs(length.vector[1]))


def rows_alike(rows: Sequence[Row]) -> bool:
    """Return whether two rows say one kerf, as well as can be told.

    Args:
        rows: one or both.
    """
    if len(rows) < 2:
        return True
    one, other = rows
    return abs(one.lost - other.lost) * one.bars <= math.hypot(one.doubt, other.doubt)


def only_coupon(sheets: Iterable[RecordedSheet]) -> bool:
    """Return whether a set of drawings holds the kerf coupon and no other piece.

    Args:
        sheets: all that were drawn.
    """
    kinds = {piece.kind for sheet in sheets for piece in sheet.pieces}
    return kinds == {"coupon"}


def is_off_scale(cut: Estimate) -> bool:
    """Return whether a machine is off its size by more than a step of the calliper on its bars.

    Args:
        cut: what it did to a sheet, by the engraved bars.

    Source: derived: a step is the square root of twelve standard uncertainties; common practice.
    """
    made = cut.distortion
    return any(
        known and abs(scale - 1.0) > 2.0 * COVERAGE * standard
        for known, scale, standard in zip(
            cut.scales_measured, (made.scale_x, made.scale_y), cut.standards, strict=False
        )
    )


def is_askew(cut: Estimate) -> bool:
    """Return whether a machine's axes are out of square by more than a step of the calliper.

    Args:
        cut: what it did to a sheet, by the engraved bars.

    Source: as `is_off_scale`.
    """
    return cut.skew_measured and abs(cut.distortion.skew) > 2.0 * COVERAGE * cut.standards[2]
