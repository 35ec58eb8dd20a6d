"""Kerf and the sheet's real thickness from what a calliper reads on a cut coupon.

The coupon is no jig, so it gets no verdict: it gives two lines for the job file. Each row of loose
bars is shorter than it was drawn by one kerf for each bar; the slots bracket the thickness.
"""

from __future__ import annotations

from dataclasses import dataclass

from jiggen.geometry.coupon import Found, kerf_from_fingers, kerf_pooled, sheet_from_slots
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.verify.placed import PlacedPiece
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
        alike: False where the two rows differ by more than the readings' doubts.
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
    return CouponFound(kerf=kerf, kerf_x=x, kerf_y=y, sheet=sheet, alike=_alike(x, y))


def _alike(x: Found | None, y: Found | None) -> bool:
    if x is None or y is None:
        return True
    return abs(x.value - y.value) <= COVERAGE * float((x.standard**2 + y.standard**2) ** 0.5)
