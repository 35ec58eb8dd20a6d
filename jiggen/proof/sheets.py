"""What came off the printer or the machine: may each piece be cut from it, or used as it was cut?

A page that is a little small all over changes no angle: its guides are good and its strips are
not. A page that is stretched along one axis bends the guides, and how much depends on how each
lies. So every piece gets a verdict of its own, from the sheet's bars, with the doubt that the rule
leaves; and it must be good in either order of two readings that may stand on each other's line.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TypeVar

from msgspec import Struct, field
from msgspec.structs import replace

from jiggen.geometry.distortion import (
    Bar,
    Estimate,
    corner,
    estimate,
    printed_angle,
    printed_length,
)
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.geometry.slips import orders, slips, unlike
from jiggen.proof.checks import (
    CANNOT_TELL,
    DO_NOT_USE,
    USE,
    Check,
    Judged,
    Question,
    Stage,
    angle_limit,
    asked_about,
    length_limit,
    question_of,
    worst_of,
)
from jiggen.proof.record import LengthRecord, PieceRecord, Point, SheetRecord
from jiggen.units import Length, Words, words


class SheetVerdict(Struct, frozen=True, kw_only=True):
    """The verdict on one sheet."""

    sheet: str
    printed: bool  # paper, not cut material
    bars: Mapping[str, Bar] = field(default_factory=dict)  # what was read on it
    found: Estimate | None = None  # what was done to it; None where that is asked about
    questions: tuple[Question, ...] = ()  # readings that are asked about, not averaged in
    pieces: tuple[Judged, ...] = ()  # a verdict for each piece on it

    @property
    def verdict(self) -> str:
        """Return the worst verdict of its pieces."""
        return worst_of(piece.verdict for piece in self.pieces)


class SheetsVerdict(Struct, frozen=True, kw_only=True):
    """The verdict on all sheets that were measured."""

    sheets: tuple[SheetVerdict, ...] = ()  # one verdict each
    found: Estimate | None = None  # of upright pages, by all readings; None: none, or unlike
    apart: tuple[str, ...] = ()  # names of the pages that came out unlike one another


#: What was done to a sheet by each order of its readings, with the names that were exchanged.
_Orders = list[tuple[tuple[str, ...], Estimate]]

_Name = TypeVar("_Name", str, tuple[str, str])


def judge_sheets(
    sheets: Sequence[SheetRecord],
    taken: Mapping[str, Mapping[str, Bar]],
    rows: Sequence[PieceRecord] = (),
    *,
    measured_on: str = "",
) -> SheetsVerdict:
    """Judge every piece on every sheet that was measured.

    Args:
        sheets: as drawn.
        taken: what was read on each, by its name; a sheet without readings is left out.
        rows: pieces that are put together: each part must be good as a part of the whole.
        measured_on: the page whose readings stand for all pages of one print run, or none.

    Returns:
        The verdict. Pages that came out alike are of one printer, and judged by all readings
        together; else each by its own.
    """
    if measured_on:
        lying = {sheet.name: sheet.lying for sheet in sheets if sheet.printed}
        own = taken[measured_on]
        other = _turned(own)
        stand = {n: own if it == lying[measured_on] else other for n, it in lying.items()}
        taken = {**taken, **stand}
    measured = [sheet for sheet in sheets if taken.get(sheet.name)]
    asked = {
        s.name: tuple(question_of(slip, _stage(s)) for slip in slips(taken[s.name]))
        for s in measured
    }
    good = [s for s in measured if not asked[s.name]]
    pages = {
        sheet.name: _turned(taken[sheet.name]) if sheet.lying else taken[sheet.name]
        for sheet in good
        if sheet.printed and (not measured_on or sheet.name == measured_on)
    }
    apart = unlike(pages)
    together = {(page, name): bar for page, bars in pages.items() for name, bar in bars.items()}
    known = bool(together) and not apart
    # By whether a page lies: what was done to it as it is read.
    done = {
        False: estimate(list(together.values())) if known else None,
        True: estimate(list(_turned(together).values())) if known else None,
    }
    founds: dict[str, _Orders] = {}
    for sheet in good:
        orders_of = orders(taken[sheet.name])
        founds[sheet.name] = [(names, estimate(list(b.values()))) for names, b in orders_of]
        if sheet.printed and (whole := done[sheet.lying]) is not None:
            founds[sheet.name][0] = ((), whole)
    judged = [
        SheetVerdict(
            sheet=sheet.name,
            printed=sheet.printed,
            bars=taken[sheet.name],
            found=founds[sheet.name][0][1] if sheet.name in founds else None,
            questions=asked[sheet.name],
            pieces=_each_once(
                (
                    piece.copy_of or piece.name,
                    _judge(piece, sheet, founds[sheet.name], taken[sheet.name])
                    if sheet.name in founds
                    else asked_about(piece.name, _stage(sheet), asked[sheet.name], sheet.name),
                )
                for piece in sheet.pieces
                if not piece.is_coupon
            ),
        )
        for sheet in measured
    ]
    for row in rows:
        judged = _as_parts(row, judged, good, founds)
    return SheetsVerdict(sheets=tuple(judged), found=done[False], apart=apart)


def scales_of(found: Estimate, on: Stage) -> list[tuple[str, float, float]]:
    """Return each scale that was measured: its way in words, the scale, about 95 % of doubt."""
    made = (found.distortion.scale_x, found.distortion.scale_y)
    ways = zip(
        ("across", f"up the {on}"), made, found.standards, found.scales_measured, strict=False
    )
    return [(way, scale, COVERAGE * doubt) for way, scale, doubt, known in ways if known]


def _each_once(judged: Iterable[tuple[str, Judged]]) -> tuple[Judged, ...]:
    """Return one verdict a name: of copies that lie otherwise, that which is not good."""
    worst: dict[str, Judged] = {}
    for name, one in judged:
        if name not in worst or worst_of([one.verdict, worst[name].verdict]) != worst[name].verdict:
            worst[name] = replace(one, name=name)
    return tuple(worst.values())


def _turned(bars: Mapping[_Name, Bar]) -> dict[_Name, Bar]:
    """Return readings of a page as the same page turned by a quarter would have them."""
    return {n: replace(bar, vector=(-bar.vector[1], bar.vector[0])) for n, bar in bars.items()}


def angle_checks(piece: PieceRecord, found: Estimate) -> list[Check]:
    """Return each check angle of a piece as it came out on its sheet, radians."""
    checks = []
    for angle in piece.angles:
        base, working = (_vector(*edge) for edge in (angle.base, angle.working))
        there = printed_angle(found, base, working)
        checks.append(
            Check(
                what=angle.name,
                nominal=angle.nominal,
                error=there.value - corner(base, working),
                doubt=COVERAGE * there.standard,
                limit=angle_limit(piece),
                is_angle=True,
            )
        )
    return checks


def length_checks(piece: PieceRecord, found: Estimate) -> list[Check]:
    """Return each check dimension of a piece as it came out on its sheet, mm."""
    limit = length_limit(piece)
    return [
        _length_check(size, found, math.inf if limit is None else limit)
        for size in piece.sizes.values()
    ]


def _length_check(size: LengthRecord, found: Estimate, limit: float) -> Check:
    there = printed_length(found, size.vector)
    share = size.nominal / math.hypot(*size.vector)
    return Check(
        what=size.name,
        nominal=size.nominal,
        error=there.value * share - size.nominal,
        doubt=COVERAGE * there.standard * share,
        limit=limit,
    )


def _vector(start: Point, end: Point) -> Point:
    return (end[0] - start[0], end[1] - start[1])


def _counted(piece: PieceRecord, found: Estimate) -> list[Check]:
    lengths = length_checks(piece, found)
    return [*angle_checks(piece, found), *(check for check in lengths if check.limit < math.inf)]


def _judge(
    piece: PieceRecord, sheet: SheetRecord, founds: _Orders, bars: Mapping[str, Bar]
) -> Judged:
    """Judge one piece on a sheet whose readings can be used."""
    found = founds[0][1]
    verdict, why, to_decide = _decided(piece, sheet, founds, bars)
    lengths = length_checks(piece, found) if all(found.scales_measured) else []
    return Judged(
        name=piece.name,
        stage=_stage(sheet),
        verdict=verdict,
        why=why,
        to_decide=to_decide,
        sheet=sheet.name,
        worst=max(angle_checks(piece, found), key=lambda c: c.share_of_limit, default=None),
        length_error_worst=max((abs(check.error) for check in lengths), default=None),
    )


def _stage(sheet: SheetRecord) -> Stage:
    return "page" if sheet.printed else "bed"


def _decided(
    piece: PieceRecord, sheet: SheetRecord, founds: _Orders, bars: Mapping[str, Bar]
) -> tuple[str, Words, Words | None]:
    """Return a piece's verdict, what it rests on, and what would decide it where it is open."""
    found = founds[0][1]
    checks = _counted(piece, found)
    if not checks:
        return CANNOT_TELL, words("it has no check angle and no check dimension"), None
    verdict = worst_of(check.verdict for check in checks)
    if verdict == USE:
        for names, other in founds[1:]:
            if worst_of(check.verdict for check in _counted(piece, other)) != USE:
                return CANNOT_TELL, *_if_exchanged(names, sheet, bars)
    why = max(
        [c for c in checks if c.verdict == verdict] or checks, key=lambda c: c.share_of_limit
    ).said()
    if verdict != DO_NOT_USE and not all(found.scales_measured):
        ways = zip(("across", f"up the {_stage(sheet)}"), found.scales_measured, strict=True)
        blind = " and ".join(way for way, known in ways if not known)
        verdict, why = CANNOT_TELL, words("nothing was measured {blind}", blind=blind)
    if verdict == CANNOT_TELL:
        return verdict, why, _what_would_decide(piece, sheet, found, bars)
    return verdict, why, None


def _if_exchanged(
    names: Sequence[str], sheet: SheetRecord, bars: Mapping[str, Bar]
) -> tuple[Words, Words]:
    """Say that a piece is good only if two readings are not on each other's line."""
    pairs = [f"{a} and {b}" for a, b in zip(names[::2], names[1::2], strict=True)]
    said = "; ".join(pairs[:2])
    why = words("good as it was read, but not if {said} stand on each other's line", said=said)
    more = [name for name in sheet.measurable() if name.startswith("side-") and name not in bars]
    if more and any(name.startswith("bar-") for name in names):
        return why, words("measure {more} too: they are unlike", more=" and ".join(more))
    again = "measure {said} again; if they stay, cut it and measure the piece"
    return why, words(again, said=said)


def _what_would_decide(
    piece: PieceRecord, sheet: SheetRecord, found: Estimate, bars: Mapping[str, Bar]
) -> Words:
    """Return the least that would decide an open verdict: more lengths, or the piece itself."""
    coarsest = max(bar.standard for bar in bars.values())
    unread = {name: one for name, one in sheet.measurable().items() if name not in bars}
    more: dict[str, Bar] = {}
    for start in ("bar-", "diagonal-", "side-"):
        for name, one in unread.items():
            if name.rpartition("/")[2].startswith(start):
                length = found.distortion.length(one.vector)
                more[name] = Bar(vector=one.vector, measured=length, standard=coarsest)
        then = estimate([*bars.values(), *more.values()])
        verdict = worst_of(check.verdict for check in _counted(piece, then))
        if more and verdict != CANNOT_TELL and all(then.scales_measured):
            return words("measure {more} too", more=" and ".join(more))
    again = ", or print it again, corrected" if sheet.printed else ""
    return words("cut it and measure the piece itself{again}", again=again)


def _as_parts(
    row: PieceRecord,
    judged: list[SheetVerdict],
    sheets: Sequence[SheetRecord],
    founds: Mapping[str, _Orders],
) -> list[SheetVerdict]:
    """Return the verdicts with each part of a row judged as a part of the whole too.

    One rule measured all parts, so their doubts add up as their errors do. Where a part lies on a
    sheet that nobody measured, the whole is told by its own length alone.
    """
    shares: dict[str, tuple[str, LengthRecord]] = {}
    for name, size in row.parts:
        for sheet in sheets:
            for piece in (p for p in sheet.pieces if p.name == name and size in p.sizes):
                shares.setdefault(name, (sheet.name, piece.sizes[size]))
    if len(shares) < len(row.parts):
        return judged
    most = max(len(founds[sheet]) for sheet, _ in shares.values())
    wholes = [_whole(row, list(shares.values()), founds, order) for order in range(most)]
    verdict = wholes[0].verdict
    if verdict == USE and any(check.verdict != USE for check in wholes):
        verdict = CANNOT_TELL
    why = wholes[0].said()
    join = words(
        "join them, and measure the whole {how}: {nominal}",
        how=row.lengths[0].how,
        nominal=Length(wholes[0].nominal),
    )

    def as_part(piece: Judged) -> Judged:
        if piece.name not in shares:
            return piece
        both = worst_of([piece.verdict, verdict])
        return replace(
            piece,
            verdict=both,
            why=why if both == verdict else piece.why,
            to_decide=join if both == CANNOT_TELL else None,
        )

    return [replace(one, pieces=tuple(as_part(piece) for piece in one.pieces)) for one in judged]


def _whole(
    row: PieceRecord,
    shares: Sequence[tuple[str, LengthRecord]],
    founds: Mapping[str, _Orders],
    order: int,
) -> Check:
    """Return a row's whole length as its parts came out, in one order of the readings."""
    error = doubt = 0.0
    for sheet, size in shares:
        found = founds[sheet][min(order, len(founds[sheet]) - 1)][1]
        check = _length_check(size, found, math.inf)
        error, doubt = error + check.error, doubt + check.doubt
    return Check(
        what="the whole",
        nominal=row.lengths[0].nominal,
        error=error,
        doubt=doubt,
        limit=row.allowed_length or 0.0,
    )
