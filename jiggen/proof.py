"""What was measured on a job's drawings, and what it proves: the work of ``jiggen verify``.

The manifest says what was drawn and how the print was corrected; readings come from options or
from the form that lies among the drawings; the solved job says how thick the wedge is where a
piece is used. Nothing is written here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from jiggen.errors import JobError
from jiggen.folder import drawings_in, printed_with
from jiggen.geometry.distortion import Distortion, Estimate
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.given import Given, filled_form, given_on_pieces, given_on_sheets, mark_of
from jiggen.job.fields import FaultList
from jiggen.job.sections import drawn_from
from jiggen.proof_options import TypedReadings, measured_by_options
from jiggen.readings import Readings
from jiggen.solution import Solution
from jiggen.trials import Served, coupon_says, judge_holes, judge_pieces
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
from jiggen.verify.said import finished_in, hole_in, verdict_in


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
        corrected_by: the mark of the readings of the pages; empty without any.
        spent: these very readings corrected the print that lies there now, and say nothing of it.
        paper_only: names of the pieces that are printed and lie on no sheet for a machine.
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
    corrected_by: str
    spent: bool
    paper_only: frozenset[str]
    date: str
    by: str

    @property
    def print_is_off(self) -> bool:
        """Return whether the print is off by more than its doubt: else there is no correction."""
        return self.printed.found is not None and is_off(self.printed.found)

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


def is_off(found: Estimate) -> bool:
    """Return whether a page is off by more than its readings leave in doubt.

    Args:
        found: what was done to it.
    """
    made = found.distortion
    off = (made.scale_x - 1.0, made.scale_y - 1.0, made.skew)
    return any(abs(o) > COVERAGE * s for o, s in zip(off, found.standards, strict=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What was written beside the verdict.

    Attributes:
        written: paths of the files.
        reprint: path of the corrected page; empty for none.
        not_reprinted: why a reprint that was asked for was not written, and what would do; empty
            where it was, or was not asked for.
        nothing_to_correct: the same where the print needs none, which is no failure.
    """

    written: tuple[str, ...] = ()
    reprint: str = ""
    not_reprinted: str = ""
    nothing_to_correct: str = ""


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
    manifest, absent = _drawn(solution, folder)
    found = FaultList(file="jiggen verify", units=job.units)
    sheets = recorded_sheets(manifest)
    pages = [sheet for sheet in sheets if sheet.printed and sheet.pieces]
    readings, said = filled_form(readings_file, "" if absent else folder, manifest, found)
    by_options, more = measured_by_options(typed, pages, job.units, found)
    coupon = coupon_says(readings, sheets, found)
    if found.faults:
        raise JobError(found.faults)
    on_sheets = {**readings.sheets, **by_options} if by_options else readings.sheets
    judged = _to_judge(sheets, on_sheets, readings, typed.page)
    matched = {s.name: sheet_readings(s, on_sheets.get(s.name, ()))[0] for s in judged}
    mark = mark_of({s.name: matched[s.name] for s in judged if s.printed})
    spent = bool(mark) and mark == manifest.get("corrected_by")
    before = printed_with(manifest)
    printed = _printed(judged, matched, before, bool(by_options), job.units)
    holes, served = judge_holes(readings, sheets, solution)
    finished, more_served = judge_pieces(readings, sheets, solution)
    return Proof(
        job=job.name,
        units=job.units,
        printed=replace(printed, reprint=before) if spent else printed,
        printed_with=before,
        finished=tuple(finished_in(piece, job.units) for piece in finished),
        test_holes={name: hole_in(hole, job.units) for name, hole in holes.items()},
        served={**served, **more_served},
        coupon=coupon,
        given=(
            *given_on_sheets(matched, together=by_options),
            *given_on_pieces(readings, sheets),
        ),
        notes=(*said, *more, *_put_aside(readings, by_options)),
        pages=tuple(page.name for page in pages),
        absent=absent,
        corrected_by=mark,
        spent=spent,
        paper_only=_paper_only(sheets),
        date=readings.date,
        by=readings.by,
    )


def _put_aside(readings: Readings, by_options: Collection[str]) -> list[str]:
    """Say which pages of the form do not count, as readings of them were typed as options."""
    aside = [name for name, some in readings.sheets.items() if some and name in by_options]
    if not aside:
        return []
    return [
        f"Put aside: all that {readings.file} says of {', '.join(aside)}; the readings from the "
        "command line count in its place."
    ]


def _printed(
    judged: Sequence[RecordedSheet],
    matched: Mapping[str, SheetReadings],
    before: Distortion,
    one_run: bool,
    units: str,
) -> Verdict:
    """Judge the sheets by what was measured on them."""
    verdict = judge_sheets(
        [replace(s, pieces=_products(s.pieces)) for s in judged],
        {name: taken for name, taken in matched.items() if taken.bars},
        printed_with=before,
        one_run=one_run,
        units=units,
    )
    return verdict_in(verdict, units)


def _paper_only(sheets: Sequence[RecordedSheet]) -> frozenset[str]:
    """Return the names of the pieces that no machine cuts."""
    printed, cut = (
        {piece.name for sheet in sheets if sheet.printed is there for piece in sheet.pieces}
        for there in (True, False)
    )
    return frozenset(printed - cut)


def _drawn(solution: Solution, folder: str) -> tuple[Mapping[str, Any], str]:
    """Return the manifest of the drawings, and what to say where none lie in the folder."""
    manifest = drawings_in(folder)
    if manifest is not None:
        _refuse_changed(solution, manifest, folder)
        return manifest, ""
    from jiggen.make import drawn_records

    return drawn_records(solution), (
        f"There are no drawings in {folder}: no manifest.json was found there. What follows is "
        "for the job as it is now, as jiggen make would draw it; it says nothing of a page "
        "that was drawn from it earlier or otherwise. Give the folder of the drawings with "
        "--out DIR."
    )


def _refuse_changed(solution: Solution, manifest: Mapping[str, Any], folder: str) -> None:
    """Refuse drawings of another job, or of this one before it was changed.

    They may be true to size and still be for a wedge that the job no longer describes.
    """
    from jiggen.verify.coupon import only_coupon

    only = only_coupon(recorded_sheets(manifest))
    if manifest.get("drawn_from", "") == drawn_from(solution.job, only_coupon=only):
        return
    found = FaultList(file=solution.job.file)
    mine, theirs = solution.job.name.strip(), str(manifest["job"]).strip()
    if mine != theirs:
        found.add(
            "",
            f'is the job "{mine}", but the drawings in {folder} are of another, "{theirs}"',
            remedy="give the folder of its own drawings with --out DIR; if it was only given "
            "another name, move that folder away and run jiggen make again",
        )
        raise JobError(found.faults)
    found.add(
        "",
        f"is not the job that the drawings in {folder} were made from: it was changed since",
        remedy="run jiggen make again, print the new pages and measure those",
    )
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
