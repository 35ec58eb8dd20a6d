"""All that was measured on a job's drawings, and what it proves, piece by piece.

The manifest says what was drawn; readings come from options or from the forms that lie among the
drawings; the solved job says which pieces are what they would be today, and how thick the part is
where a piece is used. The last word on a piece is the test hole drilled with it, then the piece as
cut, then the page or bed that it lies on. Nothing is written here.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from jiggen.errors import Fault, JobError, Sentence
from jiggen.geometry.distortion import Distortion
from jiggen.geometry.finished import drift_from
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.job.fields import FaultList
from jiggen.proof.checks import (
    CANNOT_TELL,
    DO_NOT_USE,
    USE,
    CutAngle,
    Judged,
    angle_limit,
    worst_of,
)
from jiggen.proof.coupon import CouponFound, judge_coupon
from jiggen.proof.folder import drawings_in, filled_in
from jiggen.proof.holes import judge_holes
from jiggen.proof.pieces import judge_pieces
from jiggen.proof.readings import (
    HoleReading,
    LengthReading,
    Readings,
    bars_of,
    read_form,
    read_form_text,
    read_options,
)
from jiggen.proof.record import PieceRecord, Record, read_record
from jiggen.proof.sheets import SheetsVerdict, judge_sheets
from jiggen.solution import HoleResult, Solution
from jiggen.units import Words, words


class Changed(Struct, frozen=True, kw_only=True):
    """A piece that is another one now than it was when it was drawn."""

    name: str
    was: str  # the code that is lettered on it
    now: str  # the code that it would have today; empty where the job has no such piece any more


class Proof(Struct, frozen=True, kw_only=True):
    """What was measured and what it proves."""

    job: str  # its name
    units: str  # ``mm`` or ``in``
    record: Record  # what the drawings should measure
    readings: Readings
    sheets: SheetsVerdict
    cut: tuple[Judged, ...] = ()  # the verdicts on cut pieces and rows
    holes: tuple[Judged, ...] = ()  # the verdicts on the test holes of each piece
    coupon: CouponFound | None = None
    answers: tuple[Judged, ...] = ()  # the last word on each piece that was measured
    changed: tuple[Changed, ...] = ()  # pieces that the job would draw otherwise today
    notes: tuple[Words, ...] = ()  # what to know about the readings
    corrected_by: str = ""  # the mark of the readings of the pages; empty without any
    spent: bool = False  # these readings corrected the print that lies there, and are left out
    stop: Sentence = ""  # what the job itself says STOP for, first; empty where it does not

    @property
    def verdict(self) -> str:
        """Return the worst of all answers; a coupon that gave its kerf is good by itself."""
        words = [answer.verdict for answer in self.answers]
        if self.coupon is not None:
            words.append(CANNOT_TELL if self.coupon.questions else USE)
        return worst_of(words)

    @property
    def reprint(self) -> Distortion:
        """Return what the next print is corrected for: as this one, refined by what was found."""
        after = self.sheets.found.distortion if self.sheets.found else Distortion()
        return self.record.made_for.combined(after=after)

    @property
    def print_is_off(self) -> bool:
        """Return whether the print is off by more than its doubt: else there is no correction."""
        found = self.sheets.found
        if found is None:
            return False
        made = found.distortion
        off = (made.scale_x - 1.0, made.scale_y - 1.0, made.skew)
        return any(abs(o) > COVERAGE * s for o, s in zip(off, found.standards, strict=True))

    @property
    def given(self) -> Iterator[tuple[str, LengthReading]]:
        """Yield every reading with where it was taken; what counts for several pages once."""
        together: dict[tuple[LengthReading, ...], list[str]] = {}
        for name, taken in self.readings.sheets.items():
            together.setdefault(taken, []).append(name)
        groups = [(", ".join(names), taken) for taken, names in together.items()]
        groups += self.readings.pieces.items()
        if self.readings.coupon is not None:
            groups.append(("coupon", tuple(self.readings.coupon.rows.values())))
        for hole in self.readings.holes:
            groups.append((f"test hole {hole.piece}", (hole.thickness, *hole.entry, *hole.exit)))
        return ((where, one) for where, taken in groups for one in taken)


class Outcome(Struct, frozen=True, kw_only=True):
    """What was written beside the verdict."""

    written: tuple[str, ...] = ()
    reprint: str = ""  # path of the corrected page; empty for none
    not_reprinted: str = ""  # why a reprint that was asked for was not written, and what would do
    nothing_to_correct: str = ""  # the same where the print needs none, which is no failure


def prove(
    solution: Solution,
    *,
    folder: str,
    form: str = "",
    typed: Mapping[str, str] | None = None,
    step: str = "",
    page: int | None = None,
    forms: Mapping[str, str] | None = None,
) -> Proof:
    """Judge a job's drawings by what was measured on them.

    Args:
        solution: the solved job, with or without what the shop asks.
        folder: of the drawings.
        form: a filled-in form; empty for those that lie among the drawings.
        typed: readings as options, text by name; see `readings.OPTIONS`.
        step: of the rule that they were read by; empty for the default.
        page: the page that they were taken on, or None for all of one print run.
        forms: texts by path that count in the place of what those forms among the drawings hold.

    Raises:
        JobError: no drawings, those of another job, or readings that cannot be understood; it
            carries all faults.
        DrawingFileError: the drawings' manifest cannot be read.
    """
    job = solution.job
    manifest = drawings_in(folder)
    if manifest is None:
        problem = "holds no drawings: no manifest.json was found there"
        remedy = "run jiggen make first, or give the folder of the drawings with --out DIR"
        raise JobError([Fault(file=folder, key="", problem=problem, remedy=remedy)])
    record = read_record(manifest)
    if record.job.strip() != job.name.strip():
        raise JobError([_another_job(solution, record, folder)])
    found = FaultList(file="jiggen verify", units=job.units)
    texts = forms or {}
    readings, files = Readings(), [form] if form else filled_in(folder, manifest, texts)
    for file in files:
        try:
            held = file in texts
            taken = read_form_text(texts[file], file, record) if held else read_form(file, record)
            readings = taken.over(readings)
        except JobError as bad:
            found.faults.extend(bad.faults)
    by_options = read_options(typed or {}, step, page, record, job.units, found)
    if found.faults:
        raise JobError(found.faults)
    pages = {page.name for page in record.pages}
    aside = [name for name in readings.sheets if by_options and name in pages]
    kept = {name: some for name, some in readings.sheets.items() if name not in aside}
    readings = replace(readings, sheets={**kept, **by_options})
    mark = _mark_of(readings, pages)
    spent = bool(mark) and mark == record.corrected_by
    if spent:
        kept = {name: some for name, some in readings.sheets.items() if name not in pages}
        readings = replace(readings, sheets=kept)
    changed = _changed(solution, record)
    stands = next(iter(by_options), "") if page is None and not spent else ""
    sheets = _sheets(record, readings, changed, stands)
    cut = _cut(solution, record, readings, changed)
    holes = _holes(solution, record, readings, changed)
    return Proof(
        job=job.name,
        units=job.units,
        record=record,
        readings=readings,
        sheets=sheets,
        cut=cut,
        holes=holes,
        coupon=_coupon(record, readings),
        answers=tuple(_answers(record, sheets, cut, holes)),
        changed=tuple(changed.values()),
        notes=tuple(_notes(readings, aside, stands, len(pages), spent=spent)),
        corrected_by=mark,
        spent=spent,
        stop=next((c.act or c.name for c in solution.checks if c.status == "fail"), ""),
    )


def _another_job(solution: Solution, record: Record, folder: str) -> Fault:
    return Fault(
        file=solution.job.file,
        key="",
        problem=f'is the job "{solution.job.name}", but the drawings in {folder} are of another, '
        f'"{record.job}"',
        remedy="give the folder of its own drawings with --out DIR; if it was only given another "
        "name, run jiggen make again",
    )


def _changed(solution: Solution, record: Record) -> dict[str, Changed]:
    """Return the pieces that the job would draw otherwise today, by name.

    A coupon is never among them: what was read from it goes into the job, and changes what it
    would be.
    """
    drawn = {name: p for name, p in record.pieces.items() if not (p.is_coupon or p.parts)}
    changed = _other_than(drawn, solution)
    if changed and not solution.checks:
        # Some pieces are drawn by what the shop plans, and that takes longer.
        from jiggen.solve import solve

        changed = _other_than(drawn, solve(solution.job))
    for row in record.rows:
        if part := next((changed[name] for name, _ in row.parts if name in changed), None):
            changed[row.name] = replace(part, name=row.name)
    return changed


def _other_than(drawn: Mapping[str, PieceRecord], solution: Solution) -> dict[str, Changed]:
    """Return the pieces that a solved job has no more, or has otherwise, by name."""
    from jiggen.drawing.face import unlettered
    from jiggen.jigs.plan import all_jigs, plan_job

    kinds = {piece.kind for piece in drawn.values()} & {jig.kind for jig in all_jigs()}
    with unlettered():
        planned = plan_job(solution, tuple(kinds)).pieces if kinds else ()
    now = {piece.name: piece for piece in planned}
    return {
        name: Changed(name=name, was=piece.code, now=now[name].code if name in now else "")
        for name, piece in drawn.items()
        if name not in now or now[name].mark != piece.mark
    }


def _stale(judged: Judged, changed: Changed | None) -> Judged:
    """Return a verdict, or that on a piece which is not the job's any more."""
    if changed is None:
        return judged
    why = words(
        "the job was changed since: it was {was} when it was drawn, and {now}",
        was=changed.was,
        now=f"is {changed.now} now" if changed.now else "the job has no such piece now",
    )
    return replace(judged, verdict=DO_NOT_USE, why=why, to_decide=None)


def _sheets(
    record: Record, readings: Readings, changed: Mapping[str, Changed], measured_on: str
) -> SheetsVerdict:
    sheets = (*record.pages, *record.beds)
    taken = {sheet.name: bars_of(sheet, readings.sheets.get(sheet.name, ())) for sheet in sheets}
    found = judge_sheets(sheets, taken, record.rows, measured_on=measured_on)
    return replace(
        found,
        sheets=tuple(
            replace(
                one,
                pieces=tuple(
                    _stale(piece, changed.get(piece.name))
                    for piece in one.pieces
                    if piece.name in changed or record.pieces[piece.name].is_checked
                ),
            )
            for one in found.sheets
        ),
    )


def _cut(
    solution: Solution, record: Record, readings: Readings, changed: Mapping[str, Changed]
) -> tuple[Judged, ...]:
    """Judge every cut piece that was measured, and tell its drift at the hole it fits least."""
    return tuple(
        _stale(_with_drift(one, record.pieces[name], solution), changed.get(name))
        for name, one in judge_pieces(record, readings.pieces).items()
    )


def _served(solution: Solution, piece: PieceRecord) -> list[tuple[HoleResult, float]]:
    """Return each hole that a piece is used at, with the forward corner that it needs, radians."""
    side: Literal["a", "b"] = "b" if piece.side == "b" else "a"
    return [
        (hole, math.pi / 2 - hole.angles.skin(side))
        for hole in solution.holes
        if hole.number in piece.serves and hole.thickness is not None
    ]


def _with_drift(judged: Judged, piece: PieceRecord, solution: Solution) -> Judged:
    """Return the verdict with the drift of each edge at the hole that the piece as cut fits least.

    A guide serves a run of holes and is cut for the middle of them: what it is off by as drawn
    adds to what the cut and the plates glued on are off by, or takes from it.
    """
    served = _served(solution, piece)
    if not served:
        return judged
    angles = tuple(
        _drifting(angle, piece, served) if angle.determined and piece.turns(angle.name) else angle
        for angle in judged.angles
    )
    told = [angle for angle in angles if angle.drift is not None]
    worst = max(told, key=lambda angle: abs(angle.drift or 0.0), default=None)
    return replace(judged, angles=angles, worst_hole=worst.hole if worst else None)


def _drifting(
    angle: CutAngle, piece: PieceRecord, served: Sequence[tuple[HoleResult, float]]
) -> CutAngle:
    off = angle.value + angle.added - angle.nominal
    led = (piece.leads or 0.0) + piece.turns(angle.name) * off

    def drift(hole: HoleResult, forward: float) -> float:
        return drift_from(led - forward, hole.thickness or 0.0)

    hole, forward = max(served, key=lambda pair: abs(drift(*pair)))
    return replace(
        angle,
        drift=drift(hole, forward),
        drift_plus_minus=drift_from(angle.plus_minus, hole.thickness or 0.0),
        hole=hole.number,
    )


def _holes(
    solution: Solution, record: Record, readings: Readings, changed: Mapping[str, Changed]
) -> tuple[Judged, ...]:
    """Judge the test holes, those of one piece together."""
    groups: dict[str, list[HoleReading]] = {}
    for hole in readings.holes:
        groups.setdefault(hole.piece, []).append(hole)
    judged = []
    for name, some in groups.items():
        pieces = record.drilled_with(name)
        served = [hole for hole, _ in _served(solution, pieces[0])]
        thick = max(served, key=lambda hole: hole.thickness or 0.0, default=None)
        one = judge_holes(
            name,
            some,
            allowed_angle=angle_limit(pieces[0]),
            lean=pieces[0].lean or 0.0,
            thickness=thick.thickness if thick else None,
            units=solution.job.units,
        )
        together = record.put_together(name)
        stale = next((changed[piece.name] for piece in together if piece.name in changed), None)
        judged.append(_stale(replace(one, worst_hole=thick.number if thick else None), stale))
    return tuple(judged)


def _coupon(record: Record, readings: Readings) -> CouponFound | None:
    """Return what the coupon says, or a fault where its readings cannot be."""
    if readings.coupon is None:
        return None
    bed, piece = next((s, p) for s in record.sheets for p in s.pieces if p.is_coupon)
    try:
        return judge_coupon(piece, readings.coupon, bars_of(bed, readings.sheets.get(bed.name, ())))
    except ValueError as trouble:
        file = ", ".join(readings.files)
        fault = Fault(file=file, key="coupon", problem=str(trouble), remedy="correct the form")
        raise JobError([fault]) from None


def _answers(
    record: Record, sheets: SheetsVerdict, cut: Sequence[Judged], holes: Sequence[Judged]
) -> Iterator[Judged]:
    """Yield the last word on each piece: tests drilled, pieces cut, then pages and beds.

    A good test hole proves every part of what it was drilled with. The parts of a row that came out
    alike are told as the row.
    """
    yield from holes
    known = {piece.name for hole in holes for piece in record.drilled_with(hole.name)}
    for hole in (hole for hole in holes if hole.verdict == USE):
        for part in record.put_together(hole.name):
            if part.name not in known:
                known.add(part.name)
                yield replace(hole, name=part.name)
    yield from (piece for piece in cut if piece.name not in known)
    known |= {piece.name for piece in cut}
    rows = {name: row.name for row in record.rows for name, _ in row.parts}
    seen: set[tuple[str, str, str]] = set()
    for piece in (piece for sheet in sheets.sheets for piece in sheet.pieces):
        name = rows.get(piece.name, piece.name)
        key = (name, piece.verdict, piece.stage)
        if not known & {name, piece.name} and (piece.name not in rows or key not in seen):
            seen.add(key)
            yield replace(piece, name=name)


def _notes(
    readings: Readings, aside: Sequence[str], stands: str, pages: int, *, spent: bool
) -> Iterator[Words]:
    """Yield where the readings came from, and what was left out."""
    if spent:
        yield words(
            "These very readings corrected the print.pdf that lies there now. They are of the page "
            "before it, and a second correction by them would spoil it."
        )
    for old in readings.outdated:
        if old.is_print:
            said = "{name} was printed again since: its readings are left out, measure the new page"
        elif old.now:
            said = (
                "{name} was {was} when it was measured and is {now} now: its readings are left out"
            )
        else:
            said = "{name} ({was}) is not among the drawings now: its readings are left out"
        yield words(said, name=old.name, was=old.was, now=old.now)
    if readings.files:
        names = [Path(file).name for file in readings.files]
        yield words("Readings from {files}.", files=", ".join(names))
    if stands and pages > 1:
        yield words(
            "The readings typed are taken for those of {page}, and stand for all {n} pages of one "
            "print run; --page N is for one that went through by itself.",
            page=stands,
            n=pages,
        )
    if aside:
        yield words(
            "Put aside: what the form says of {pages}; the readings typed count in its place.",
            pages=", ".join(aside),
        )


def _mark_of(readings: Readings, pages: Collection[str]) -> str:
    """Return a mark of the readings of pages, so that one set does not correct twice.

    Without the pages' names: the same numbers given for one page or for all are one set; and
    without the step of the rule: stated anew, it makes no new measurement of them.
    """
    taken = {
        (one.name, one.measured)
        for name, some in readings.sheets.items()
        if name in pages
        for one in some
    }
    return hashlib.sha256(repr(sorted(taken)).encode("utf-8")).hexdigest()[:16] if taken else ""
