"""What still counts of a form that was filled in for a page which was printed again since.

A reprint draws the pages anew and touches nothing that a machine cut: what was measured on a bed,
on a piece or a hole of it, or on the coupon, is as true as before.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from jiggen.readings.names import earlier_prints
from jiggen.readings.read import Readings
from jiggen.verify.placed import RecordedSheet, drilled_with


def is_of_earlier(readings: Readings, manifest: Mapping[str, Any]) -> bool:
    """Return whether a form belongs to a page that was printed again since, the job unchanged.

    Args:
        readings: of the form.
        manifest: of the drawings as they lie there now.
    """
    return readings.print in earlier_prints(manifest)


def still_counting(readings: Readings, sheets: Sequence[RecordedSheet]) -> Readings:
    """Return a form of an earlier print without what was printed: the rest is as true as before.

    Args:
        readings: of the form.
        sheets: as drawn.

    Returns:
        What was measured on sheets that a machine cut, on pieces that lie on one, on holes drilled
        with these, and on the coupon. A piece that is only printed was cut from the old page.
    """
    beds = [sheet for sheet in sheets if not sheet.printed]
    cut = [piece for sheet in beds for piece in sheet.pieces]
    names = {piece.name for piece in cut}
    return replace(
        readings,
        sheets={n: r for n, r in readings.sheets.items() if n in {bed.name for bed in beds}},
        pieces={n: r for n, r in readings.pieces.items() if n in names},
        test_holes=tuple(h for h in readings.test_holes if drilled_with(cut, h.piece)),
    )


def laid_over(older: Readings, newer: Readings) -> Readings:
    """Return two forms as one: where both hold readings of one thing, the newer ones count.

    Args:
        older: filled in first.
        newer: filled in after it; its file, date and name stand for both.
    """
    return replace(
        newer,
        sheets={**older.sheets, **{n: r for n, r in newer.sheets.items() if r}},
        pieces={**older.pieces, **{n: r for n, r in newer.pieces.items() if r}},
        test_holes=tuple(dict.fromkeys((*older.test_holes, *newer.test_holes))),
        coupon=newer.coupon or older.coupon,
        date=newer.date or older.date,
        by=newer.by or older.by,
    )


def said_to_count(readings: Readings) -> str:
    """Return what a form still counts for, in a row; empty where that is nothing.

    Args:
        readings: of `still_counting`.
    """
    named = [n for group in (readings.sheets, readings.pieces) for n, r in group.items() if r]
    named += dict.fromkeys(f"test hole of {hole.piece}" for hole in readings.test_holes)
    return ", ".join([*named, *(["the coupon"] if readings.coupon else [])])
