"""Readings of a kerf coupon that cannot be meant: rows that nothing cut, bars left out.

What a coupon says goes into every piece that is cut afterwards, so it is asked about before it is
believed.
"""

from __future__ import annotations

from collections.abc import Sequence

from jiggen.geometry.coupon import (
    KERFS_APART,
    KERFS_APART_LEAST,
    LOST_BAR_SHARE,
    PLAUSIBLE_SHARE,
)
from jiggen.geometry.distortion import Estimate
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.geometry.plausible import Question
from jiggen.units import INCH, say_length
from jiggen.verify.coupon import (
    CouponReadings,
    Row,
    axis_of,
    is_off_scale,
    rows_alike,
    rows_of,
)
from jiggen.verify.placed import PlacedPiece

_UNITS_MEANT = ((INCH, "inches"), (1.0 / INCH, "millimetres"), (10.0, "centimetres"))


def questions_of_coupon(
    piece: PlacedPiece,
    readings: CouponReadings,
    bars: int,
    units: str = "mm",
    cut: Estimate | None = None,
) -> tuple[Question, ...]:
    """Return what must be asked about the rows of a coupon; empty if they can be meant.

    Args:
        piece: the coupon as drawn, without kerf, where it lies on its sheet.
        readings: what was measured on it.
        bars: loose bars in a row.
        units: ``mm`` or ``in``: what lengths are said in.
        cut: what the machine did to the sheet, by its engraved bars; None if none was measured.

    Returns:
        A question for each row that no machine cuts, or one about an axis whose engraved bar is
        wanted too, or about two rows of which one looks to have lost a bar or to be misread.
    """
    rows = rows_of(piece, readings, bars, cut)
    asked = [q for row in rows if (q := _about_row(row, units))]
    return tuple(
        [*asked, *_about_uncut([row for row in rows if _is_uncut(row)], units)]
        or _about_bars(piece, rows, cut)
        or _about_lost_bar(rows, units)
        or _about_rows_apart(rows, units)
    )


def _about_bars(
    piece: PlacedPiece, rows: Sequence[Row], cut: Estimate | None
) -> tuple[Question, ...]:
    """Ask for the other engraved bar, where one shows that the machine is not true to size."""
    unread = tuple(row.name for row in rows if not row.by_bars)
    if cut is None or not unread or not is_off_scale(cut):
        return ()
    axes = {n.name: "xy"[axis_of(n)] for n in piece.lengths}
    wanted = " and ".join(sorted({axes[name] for name in unread}))
    text = (
        f"the engraved bars show that the machine is not true to size, and along {wanted} nobody "
        f"measured one: {', '.join(unread)} would take its error for kerf. Measure the bar along "
        f"{wanted} too"
    )
    return (Question(readings=unread, likely="scale", text=text),)


def _about_lost_bar(rows: Sequence[Row], units: str) -> tuple[Question, ...]:
    """Ask whether a bar was left out: a row of seven looks like eight with a wide cut.

    The other row tells the two apart.
    """
    if not rows:
        return ()
    short = max(rows, key=lambda row: row.lost)
    least = min(row.lost for row in rows)
    bar, wide = short.drawn / short.bars, short.lost
    if wide < LOST_BAR_SHARE * bar:
        return ()
    if len(rows) > 1 and wide - least < LOST_BAR_SHARE * bar / 2.0:
        return ()
    other = (
        f"The other row says {say_length(least, units)}: measure both again"
        if len(rows) > 1
        else "If so, measure the other row too: two rows alike are believed"
    )
    text = (
        f"{_said(short, units)} would be a cut {say_length(wide, units)} wide: were all "
        f"{short.bars} bars pushed together? {other}"
    )
    return (Question(readings=(short.name,), likely="contradiction", text=text),)


def _about_rows_apart(rows: Sequence[Row], units: str) -> tuple[Question, ...]:
    """Ask about two rows whose kerfs differ by more than the two axes of one machine do."""
    if len(rows) < 2:
        return ()
    narrow, wide = sorted(rows, key=lambda row: row.lost)
    apart = wide.lost - narrow.lost
    if apart <= KERFS_APART_LEAST or wide.lost <= KERFS_APART * narrow.lost or rows_alike(rows):
        return ()
    said = [
        f"{_said(row, units)} says a cut {say_length(row.lost, units)} wide"
        for row in (narrow, wide)
    ]
    text = (
        f"{said[0]}, but {said[1]}: the two axes of a machine are more alike. Were all "
        f"{wide.bars} bars pushed hard together, burrs off? Measure both rows again; if they come "
        "out so again, cut another coupon"
    )
    return (Question(readings=(narrow.name, wide.name), likely="contradiction", text=text),)


def _said(row: Row, units: str) -> str:
    return f"{row.name} of {say_length(row.taken.measured, units)}"


def _opening(row: Row, units: str) -> str:
    """Return how long a row is, and how long it should have come out but for the cuts."""
    drawn = f"{_said(row, units)}, where {say_length(row.drawn, units)} were drawn"
    if not row.by_bars or abs(row.laid.value - row.drawn) <= COVERAGE * row.laid.standard:
        return drawn
    return f"{drawn} and, by the engraved bars, {say_length(row.laid.value, units)} laid out"


def _is_uncut(row: Row) -> bool:
    """Return whether a row is as long as it was laid out, as well as can be told."""
    return abs(row.lost) * row.bars <= row.doubt


def _about_uncut(rows: Sequence[Row], units: str) -> tuple[Question, ...]:
    """Ask about rows that no cut took anything from."""
    if not rows:
        return ()
    text = (
        f"{'; '.join(_opening(row, units) for row in rows)}: the cuts would have taken nothing. "
        f"Is it the right row, and was the file cut without kerf correction? A cutting program "
        "that allows for kerf by itself gives this reading: switch that off, and cut another "
        "coupon. A knife that takes nothing away needs no kerf in the job"
    )
    return (Question(readings=tuple(row.name for row in rows), likely="scale", text=text),)


def _about_row(row: Row, units: str) -> Question | None:
    """Ask about one row that no machine cuts."""
    lost, bar = row.lost, row.drawn / row.bars
    opening = _opening(row, units)
    if _is_uncut(row) or 0.0 < lost <= PLAUSIBLE_SHARE * bar:
        return None
    for factor, meant in _UNITS_MEANT:
        if (
            0.0
            <= (row.laid.value - row.taken.measured * factor) / row.bars
            <= PLAUSIBLE_SHARE * bar
        ):
            text = f"{opening}: were {meant} meant? If so, write it with its unit"
            return Question(readings=(row.name,), likely="unit", text=text)
    if lost < 0.0:
        text = (
            f"{opening}: a row comes out shorter than that, never longer. Is it the right row, "
            "and was the file cut without kerf correction? Measure it again"
        )
    else:
        text = (
            f"{opening}, would be a cut {say_length(lost, units)} wide: were all {row.bars} bars "
            "pushed together? If they were, the coupon is not for so wide a cut: measure one by "
            "itself, and write that into the job file"
        )
    return Question(readings=(row.name,), likely="scale", text=text)
