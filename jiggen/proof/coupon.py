"""Kerf and the material's real thickness from what a calliper reads on a cut coupon.

The coupon is no jig, so it gets no verdict: it gives two lines for the job file. Each row of loose
bars is shorter than the machine laid it out by one kerf for each bar; the slots bracket the
thickness. How long the machine laid a row out the engraved bars tell: a scale that is one per cent
off adds 0.05 mm to what looks like kerf. What it says goes into every piece that is cut afterwards,
so readings that cannot be meant are asked about before any of it is believed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from jiggen.geometry.coupon import (
    BARS,
    kerf_from_fingers,
    kerf_pooled,
    sheet_from_slots,
)
from jiggen.geometry.distortion import Bar, Estimate, estimate, printed_length
from jiggen.geometry.leastsquares import COVERAGE, WithDoubt
from jiggen.geometry.slips import slips
from jiggen.proof.checks import Question, question_of
from jiggen.proof.readings import CouponReading, LengthReading
from jiggen.proof.record import SLOT, LengthRecord, PieceRecord
from jiggen.proof.sheets import scales_of
from jiggen.units import INCH, Length, Words, joined, words

PLAUSIBLE_SHARE = 0.25
"""Share of a bar of the coupon that a machine burns or mills away with one cut at most; a kerf
above it is a misread row before it is a machine. Common practice, no published source."""

LOST_BAR_SHARE = 1.0 / BARS
"""Share of a bar that a row looks to lose by each cut when one bar of it is left out."""

KERFS_APART, KERFS_APART_LEAST = 2.0, 0.03
"""Times that a machine burns wider along one axis than along the other at most, and mm below which
that is not asked: a knife or a fine beam. Common practice, no published source."""


class CouponFound(Struct, frozen=True, kw_only=True):
    """What a coupon says about machine and material."""

    kerf: WithDoubt | None = None  # width of the slot, from both rows, mm, or None
    by_row: Mapping[str, WithDoubt]  # from each row alone, by the name of its dimension
    sheet: WithDoubt | None = None  # thickness of the material, mm, or None
    alike: bool = True  # False where the two rows differ by more than their doubts and steps
    by_bars: bool = False  # the engraved bars told how long the rows were laid out
    questions: tuple[Question, ...] = ()  # what must be asked first; no number then stands


class _Row(Struct, frozen=True, kw_only=True):
    """A row of loose bars as measured, and from cut line to cut line as the machine went."""

    taken: LengthReading
    drawn: LengthRecord
    laid: WithDoubt
    by_bars: bool

    @property
    def lost(self) -> float:
        """Return what each cut took, mm."""
        return (self.laid.value - self.taken.measured) / BARS

    @property
    def standard(self) -> float:
        """Return the standard uncertainty of what all cuts took, mm."""
        return math.hypot(self.taken.standard, self.laid.standard)

    @property
    def doubt(self) -> float:
        """Return about 95 % of it with the step beside: jaws close a step off either way."""
        return math.hypot(COVERAGE * self.standard, self.taken.step)

    def said(self) -> Words:
        return words(
            "{name} of {taken}, where {laid} were laid out",
            name=self.taken.name,
            taken=Length(self.taken.measured),
            laid=Length(self.laid.value),
        )


def judge_coupon(
    piece: PieceRecord, reading: CouponReading, bars: Mapping[str, Bar]
) -> CouponFound:
    """Return kerf and material from a coupon's readings, or what must be asked first.

    Args:
        piece: the coupon as drawn, without kerf, where it lies on its bed.
        reading: what was measured on it.
        bars: engraved bars of the same bed as measured, by name.

    Raises:
        ValueError: a slot that is not on the coupon or at an end of the stair, or a slot without
            any row.

    Source: derived: a sum of equal cuts; a bracket of slots.
    """
    asked = [question_of(slip, "bed") for slip in slips(bars)] if bars else []
    cut = estimate(list(bars.values())) if bars and not asked else None
    rows = []
    for name, taken in reading.rows.items():
        laid, by_bars = _laid(piece.sizes[name], cut)
        rows.append(_Row(taken=taken, drawn=piece.sizes[name], laid=laid, by_bars=by_bars))
    alone = [question for row in rows if (question := _of_row(row))]
    asked = asked or alone or list(_of_rows(rows, cut))
    if asked:
        return CouponFound(by_row={}, questions=tuple(asked))
    kerfs = {
        row.taken.name: kerf_from_fingers(row.laid.value, row.taken.measured, BARS, row.standard)
        for row in rows
    }
    kerf = kerf_pooled(list(kerfs.values())) if kerfs else None
    sheet = None
    if reading.slot is not None:
        if kerf is None:
            raise ValueError("a slot says nothing without the kerf: measure a row of bars too")
        slots = [size for name, size in piece.sizes.items() if name.startswith(SLOT)]
        scale = _laid(slots[0], cut)[0].value / slots[0].nominal if slots else 1.0
        sheet = sheet_from_slots([slot.nominal for slot in slots], reading.slot, kerf, scale)
    return CouponFound(
        kerf=kerf,
        by_row=kerfs,
        sheet=sheet,
        alike=_alike(rows),
        by_bars=all(row.by_bars for row in rows),
    )


def is_off_scale(cut: Estimate) -> bool:
    """Return whether a machine is off its size on a bed by clearly more than its bars' doubt.

    Source: common practice, no published source: twice the doubt.
    """
    return any(abs(scale - 1.0) > 2.0 * doubt for _, scale, doubt in scales_of(cut, "bed"))


def _laid(length: LengthRecord, cut: Estimate | None) -> tuple[WithDoubt, bool]:
    """Return a length as the machine laid it out, and whether the engraved bars told that."""
    if cut is None or not cut.scales_measured[length.axis or 0]:
        return WithDoubt(value=length.nominal, standard=0.0), False
    return printed_length(cut, length.vector), True


def _alike(rows: Sequence[_Row]) -> bool:
    """Return whether two rows say one kerf, as well as can be told."""
    if len(rows) < 2:
        return True
    one, other = rows
    return abs(one.lost - other.lost) * BARS <= math.hypot(one.doubt, other.doubt)


def _of_row(row: _Row) -> Question | None:
    """Ask about one row that no machine cuts."""
    bar = row.drawn.nominal / BARS
    likely, what = "scale", ""
    if abs(row.lost) * BARS <= row.doubt:
        what = (
            "the cuts would have taken nothing. Was the file cut without kerf correction? A "
            "cutting program that allows for kerf by itself gives this reading: switch that off, "
            "and cut another coupon. A knife that takes nothing away needs no kerf in the job"
        )
    elif not 0.0 < row.lost <= PLAUSIBLE_SHARE * bar:
        what = f"were all {BARS} bars of that row pushed together? Measure it again"
        for factor in (INCH, 1.0 / INCH, 10.0, 0.1):
            lost = (row.laid.value - row.taken.measured * factor) / BARS
            if 0.0 <= lost <= PLAUSIBLE_SHARE * bar:
                likely, what = "unit", "was another unit meant? Write it with its unit"
    if not what:
        return None
    text = words("{row}: {what}", row=row.said(), what=what)
    return Question(readings=(row.taken.name,), likely=likely, text=text)


def _of_rows(rows: Sequence[_Row], cut: Estimate | None) -> Iterator[Question]:
    """Ask about rows that may be meant each by itself: for a bar, a lost bar, a contradiction."""
    unread = [row for row in rows if not row.by_bars]
    if cut is not None and unread and is_off_scale(cut):
        ways = " and ".join(sorted({"up the bed" if r.drawn.axis else "across" for r in unread}))
        text = words(
            "the engraved bars show that the machine is not true to size: measure the bar {ways} "
            "too, or its error passes for kerf",
            ways=ways,
        )
        names = tuple(row.taken.name for row in unread)
        yield Question(readings=names, likely="scale", text=text)
    elif len(rows) == 1 and rows[0].lost >= LOST_BAR_SHARE * rows[0].drawn.nominal / BARS:
        text = words(
            "{row}, is a cut {lost} wide: were all {bars} bars pushed together? If so, measure the "
            "other row too: two rows alike are believed",
            row=rows[0].said(),
            lost=Length(rows[0].lost),
            bars=BARS,
        )
        yield Question(readings=(rows[0].taken.name,), likely="contradiction", text=text)
    elif len(rows) == 2 and not _alike(rows):
        narrow, wide = sorted(rows, key=lambda row: row.lost)
        least = wide.lost - narrow.lost > KERFS_APART_LEAST
        if least and wide.lost > KERFS_APART * narrow.lost:
            said = [
                words("{name} says a cut {lost} wide", name=r.taken.name, lost=Length(r.lost))
                for r in (narrow, wide)
            ]
            text = words(
                "{said}: these contradict each other. Were all {bars} bars pushed hard together, "
                "burrs off? Measure both rows again",
                said=joined(said, ", but "),
                bars=BARS,
            )
            names = (narrow.taken.name, wide.taken.name)
            yield Question(readings=names, likely="contradiction", text=text)
