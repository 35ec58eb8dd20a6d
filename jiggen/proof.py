"""What was measured on a job's drawings, and what it proves: the work of ``jiggen verify``.

The manifest says what was drawn and how the print was corrected; readings come from options or
from the form that lies among the drawings; the solved job says how thick the wedge is where a
piece is used. Nothing is written here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from jiggen.errors import JobError
from jiggen.folder import FoundForms, drawings_in, filled_forms, printed_with
from jiggen.geometry.distortion import Distortion
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.job.fields import FaultList
from jiggen.job.model import drawn_from
from jiggen.mistaken import HEAD, READINGS, mistaken_for
from jiggen.proof_options import TypedReadings, measured_by_options
from jiggen.readings import Readings, read_readings
from jiggen.solution import Solution
from jiggen.trials import Served, coupon_says, judge_holes, judge_pieces, piece_named
from jiggen.verify import (
    CANNOT_TELL,
    USE,
    CouponFound,
    FinishedPiece,
    LengthReading,
    PlacedPiece,
    RecordedSheet,
    SheetReadings,
    TestHoleVerdict,
    Verdict,
    judge_sheets,
    recorded_sheets,
    sheet_readings,
)
from jiggen.verify.limits import worst_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """One reading as it was taken, for the record.

    Attributes:
        where: the page, sheet or piece.
        name: of the bar or check dimension.
        nominal: as drawn, mm; None for what is on no drawing.
        measured: mm.
        plus_minus: about 95 %, mm.
    """

    where: str
    name: str
    nominal: float | None
    measured: float
    plus_minus: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What was measured and what it proves.

    Attributes:
        job: name of the job.
        units: the job's, ``mm`` or ``in``.
        printed: the verdict on pages and beds, and the correction of the next print.
        printed_with: the correction that the print was drawn with.
        finished: the verdicts on cut pieces.
        test_holes: the verdict on the test holes of each piece, by its name; empty for no piece.
        served: by name of a piece the hole that makes most of its error.
        coupon: what the kerf coupon says, or None.
        given: every reading that was used.
        notes: what to know about the readings: where they came from, what was left out.
        pages: names of the printed pages with pieces on them.
        absent: what to know before all else where no drawings were found; empty where they were.
        date: of the readings as written; empty if not.
        by: who measured; empty if not.
    """

    job: str
    units: str
    printed: Verdict
    printed_with: Distortion
    finished: tuple[FinishedPiece, ...]
    test_holes: Mapping[str, TestHoleVerdict]
    served: Mapping[str, Served]
    coupon: CouponFound | None
    given: tuple[Given, ...]
    notes: tuple[str, ...]
    pages: tuple[str, ...]
    absent: str
    date: str
    by: str

    @property
    def coupon_alone(self) -> bool:
        """Return whether a kerf coupon was measured and nothing else: then nothing is judged."""
        judged = [p for sheet in self.printed.sheets for p in sheet.pieces]
        return self.coupon is not None and not (judged or self.finished or self.test_holes)

    @property
    def is_good(self) -> bool:
        """Return whether all that was judged may be used."""
        return self.verdict == USE or self.coupon_alone

    @property
    def verdict(self) -> str:
        """Return the verdict on all: a page's open verdict is settled by the finished piece."""
        settled = {piece.name for piece in self.finished}
        on_sheets = [
            piece.verdict
            for sheet in self.printed.sheets
            for piece in sheet.pieces
            if not (piece.verdict == CANNOT_TELL and piece.name in settled)
        ]
        cut = [piece.verdict for piece in self.finished]
        drilled = [hole.verdict for hole in self.test_holes.values()]
        return worst_of([*on_sheets, *cut, *drilled])


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What was written beside the verdict.

    Attributes:
        written: paths of the files.
        reprint: path of the corrected page; empty for none.
        not_reprinted: why a reprint that was asked for was not written, and what would do; empty
            where it was, or was not asked for.
    """

    written: tuple[str, ...] = ()
    reprint: str = ""
    not_reprinted: str = ""


def prove(solution: Solution, typed: TypedReadings, *, folder: str, readings_file: str) -> Proof:
    """Judge a job's drawings by what was measured on them.

    Args:
        solution: the solved job.
        typed: readings as options.
        folder: of the drawings.
        readings_file: a filled-in form; empty for the one that lies among the drawings.

    Returns:
        The verdicts.

    Raises:
        JobError: options or readings that cannot be understood; it carries all faults.
        DrawingFileError: the drawings' manifest cannot be read.
        DoesNotFit: nothing was drawn yet, and the job cannot be drawn.
    """
    job = solution.job
    manifest = drawings_in(folder)
    there = manifest is not None
    absent = ""
    if manifest is None:
        from jiggen.make import drawn_records

        manifest = drawn_records(solution)
        absent = (
            f"There are no drawings in {folder}: no manifest.json was found there. What follows is "
            "for the job as it is now, as jiggen make would draw it; it says nothing of a page "
            "that was drawn from it earlier or otherwise. Give the folder of the drawings with "
            "--out DIR."
        )
    else:
        _refuse_changed(solution, manifest, folder)
    found = FaultList(file="jiggen verify")
    sheets = recorded_sheets(manifest)
    pages = [sheet for sheet in sheets if sheet.printed and sheet.pieces]
    readings, said = _filled(readings_file, folder if there else "", manifest, found)
    by_options, more = measured_by_options(typed, pages, job.units, found)
    coupon = coupon_says(readings, sheets, found)
    if found.faults:
        raise JobError(found.faults)
    on_sheets = {**readings.sheets, **by_options} if by_options else readings.sheets
    judged = _to_judge(sheets, on_sheets, readings, typed.page)
    matched = {s.name: sheet_readings(s, on_sheets.get(s.name, ()))[0] for s in judged}
    before = printed_with(manifest)
    holes, served = judge_holes(readings, sheets, solution)
    finished, more_served = judge_pieces(readings, sheets, solution)
    return Proof(
        job=job.name,
        units=job.units,
        printed=judge_sheets(
            [replace(s, pieces=_products(s.pieces)) for s in judged],
            {name: taken for name, taken in matched.items() if taken.bars},
            printed_with=before,
            one_run=bool(by_options),
        ),
        printed_with=before,
        finished=finished,
        test_holes=holes,
        served={**served, **more_served},
        coupon=coupon,
        given=(*_given_on_sheets(matched, one_run=bool(by_options)), *_given(readings, sheets)),
        notes=(*said, *more),
        pages=tuple(page.name for page in pages),
        absent=absent,
        date=readings.date,
        by=readings.by,
    )


def _refuse_changed(solution: Solution, manifest: Mapping[str, Any], folder: str) -> None:
    """Refuse drawings of another job, or of this one before it was changed.

    They may be true to size and still be for a wedge that the job no longer describes.
    """
    if manifest.get("drawn_from", "") == drawn_from(solution.job):
        return
    found = FaultList(file=solution.job.file)
    found.add(
        "",
        f"is not the job that the drawings in {folder} were made from: it was changed since",
        remedy="run jiggen make again, print the new pages and measure those",
    )
    raise JobError(found.faults)


def _filled(
    file: str, folder: str, manifest: Mapping[str, Any], found: FaultList
) -> tuple[Readings, list[str]]:
    """Return the filled-in form, an empty one where there is none, and what to say about it."""
    try:
        if file:
            _refuse_mistaken(file)
            return read_readings(file, manifest), [f"Readings from {file}."]
        forms = filled_forms(folder, manifest) if folder else FoundForms(readings=None)
    except JobError as bad:
        found.faults.extend(bad.faults)
        return Readings(file=file), []
    notes = [f"Readings from {forms.readings.file}."] if forms.readings else []
    if forms.unused:
        notes.append(f"Not looked at: {', '.join(forms.unused)}.")
    if forms.earlier:
        notes.append(f"Left out, since it belongs to an earlier print: {', '.join(forms.earlier)}.")
    return forms.readings or Readings(file=""), notes


def _refuse_mistaken(file: str) -> None:
    """Refuse a job file, a manifest or a drawing in the place of a form, in one line."""
    try:
        with Path(file).open("rb") as stream:
            head = stream.read(HEAD)
    except (OSError, ValueError):
        return  # reading it will say what is wrong
    if mistake := mistaken_for(head, READINGS, file):
        found = FaultList(file=file)
        found.add("", mistake[0], remedy=mistake[1])
        raise JobError(found.faults)


def _to_judge(
    sheets: Sequence[RecordedSheet],
    on_sheets: Mapping[str, Sequence[LengthReading]],
    readings: Readings,
    page: int | None,
) -> list[RecordedSheet]:
    """Return the sheets that a verdict is due on.

    Every page where one was measured, since they come from one printer; a bed only where it was
    measured itself, as many users have no machine; and all pages where nothing was measured at
    all, to say so.
    """
    if page is not None:
        return [s for s in sheets if s.printed and s.name == f"page {page}"]
    some_page = any(on_sheets.get(s.name) for s in sheets if s.printed)
    nothing = readings.is_blank and not any(on_sheets.values())
    return [
        s
        for s in sheets
        if (s.pieces and (some_page or nothing) if s.printed else on_sheets.get(s.name))
    ]


def _products(pieces: Iterable[PlacedPiece]) -> tuple[PlacedPiece, ...]:
    """Return the pieces that a verdict is due on; a coupon is measured, not used."""
    return tuple(piece for piece in pieces if piece.kind != "coupon")


def _given_on_sheets(matched: Mapping[str, SheetReadings], *, one_run: bool) -> Iterable[Given]:
    """Yield every reading of a bar or diagonal; those that count for several pages once."""
    rows = list(matched.items())
    if one_run:
        rows = [(", ".join(matched), rows[0][1])]
    for where, taken in rows:
        for name, bar in taken.bars.items():
            yield Given(
                where=where,
                name=name,
                nominal=bar.nominal,
                measured=bar.measured,
                plus_minus=COVERAGE * bar.standard,
            )


def _given(readings: Readings, sheets: Sequence[RecordedSheet]) -> Iterable[Given]:
    """Yield every reading of a cut piece, of the coupon and of a test hole."""
    for where, some in readings.pieces.items():
        piece = piece_named(sheets, where)
        sizes = {n.name: n.nominal for n in piece.lengths} if piece else {}
        for one in some:
            yield _as_given(where, one, sizes[one.name])
    if readings.coupon:
        piece = next(p for s in sheets for p in s.pieces if p.kind == "coupon")
        sizes = {n.name: n.nominal for n in piece.lengths}
        for row in (readings.coupon.fingers_x, readings.coupon.fingers_y):
            if row is not None:
                yield _as_given(piece.name, row, sizes[row.name])
    for hole in readings.test_holes:
        for one in (hole.thickness, *hole.entry, *hole.exit):
            yield _as_given(f"test hole {hole.piece}".strip(), one, None)


def _as_given(where: str, one: LengthReading, nominal: float | None) -> Given:
    return Given(
        where=where,
        name=one.name,
        nominal=nominal,
        measured=one.measured,
        plus_minus=COVERAGE * one.standard,
    )
