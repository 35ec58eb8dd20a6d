"""Prints a job's pages again with the inverse of what the printer does to them.

Only ``print.pdf``, the manifest and the blank form are new; every other drawing stays as it lies
there. The bars on the page are corrected with it, so that the second print can be measured again.
"""

from __future__ import annotations

import datetime
import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from jiggen.errors import DoesNotFit, JobError
from jiggen.folder import drawings_in, printed_with
from jiggen.geometry.distortion import Distortion
from jiggen.job.fields import FaultList
from jiggen.job.sections import Print
from jiggen.proof import Outcome, Proof
from jiggen.proof_options import NO_PAGE
from jiggen.readings.names import FORM, earlier_prints, print_mark
from jiggen.solution import Solution
from jiggen.verify.records import recorded_sheets
from jiggen.write.files import names_beside, put, write_new
from jiggen.write.manifest import MANIFEST, PAGES, manifest_text, relisted

NOTHING_TO_CORRECT = "measure the bars along x and y and both diagonals of a printed page"

PRINT_IS_TRUE = (
    "the print is off by no more than the readings leave in doubt; print.pdf stays as it is"
)

MEASURE_THE_NEW = "print the page that lies there now, at 100 %, and measure that one"

UNPRINTED = 3.0
"""mm of paper along each edge that many printers leave white. Common practice, no published
source."""


def write_outcome(
    solution: Solution, proof: Proof, folder: str, *, reprint: bool, record: str, version: str
) -> Outcome:
    """Write what was asked for beside the verdict.

    Args:
        solution: the solved job.
        proof: what was judged.
        folder: of the drawings; to be held by `files.sole_writer` for a reprint.
        reprint: write ``print.pdf`` again, corrected.
        record: path of a record to sign; empty for none.
        version: of jiggen, for a manifest that is not there yet.

    Returns:
        What was written. A page that cannot be corrected is said there, not raised: why it is
        off matters more than why it cannot be mended.

    Raises:
        JobError: a record that would replace a file, or readings that were used before.
        DrawingFileError: a file in the way is the user's, or the disk refuses.
    """
    there = FaultList(file=record)
    _refuse_record(record, there)
    found = FaultList(file="jiggen verify", faults=there.faults)
    if reprint and proof.spent:
        found.add("--reprint", "was done by these very readings", remedy=MEASURE_THE_NEW)
    if found.faults:
        raise JobError(found.faults)
    written = []
    if record:
        from jiggen.logsheet import log_sheet

        asked = solution.job.print
        today = datetime.date.today().isoformat()
        page = log_sheet(proof, today=today, paper=asked.paper, margin=asked.margin)
        written.append(write_new(record, page))
    refused = _nothing_to_correct_by(proof) if reprint else ""
    if refused or not reprint:
        return Outcome(written=tuple(written), not_reprinted=refused)
    if not proof.print_is_off:
        return Outcome(written=tuple(written), nothing_to_correct=PRINT_IS_TRUE)
    made, mark = proof.printed.reprint, proof.corrected_by
    try:
        again = print_again(solution, made, folder, version, corrected_by=mark)
    except DoesNotFit as trouble:
        return Outcome(written=tuple(written), not_reprinted=str(trouble))
    return Outcome(written=(*written, *again), reprint=again[0])


def _refuse_record(record: str, found: FaultList) -> None:
    """Put down why a record cannot be written under the name that was given."""
    if not record:
        return
    above = os.path.dirname(record)
    if not record.lower().endswith(".pdf"):
        found.add("", "is no name of a PDF", remedy="give --record a name that ends in .pdf")
    elif os.path.lexists(record):
        found.add("", "is there already", remedy="give --record the name of a new file")
    elif above and not os.path.isdir(above):
        found.add(
            "",
            f"the folder {above} is not there",
            remedy="make it first, or give --record the name of a file in another folder",
        )


def _nothing_to_correct_by(proof: Proof) -> str:
    """Return why the readings tell no correction; empty where they do."""
    found = proof.printed.found
    if not proof.pages:
        return f"there is no printed page among the drawings; {NO_PAGE}"
    if proof.printed.apart:
        return (
            f"{' and '.join(proof.printed.apart)} came out unlike one another, and one correction "
            "for all spoils the good one and does not cure the bad one"
        )
    if found is None:
        if any(sheet.questions for sheet in proof.printed.sheets):
            return "the readings that it would correct by are asked about above"
        return f"no page has readings to correct by; {NOTHING_TO_CORRECT}"
    if not all(found.scales_measured):
        return f"there are readings along one axis only; {NOTHING_TO_CORRECT}"
    return ""


def print_again(
    solution: Solution, made: Distortion, folder: str, version: str, *, corrected_by: str = ""
) -> list[str]:
    """Put a corrected ``print.pdf`` in the folder of the drawings.

    Args:
        solution: the solved job.
        made: what the printer does, all corrections so far included.
        folder: of the drawings, held.
        version: of jiggen, for a manifest that is not there yet.
        corrected_by: mark of the readings, kept in the manifest.

    Returns:
        Paths of the page file and of the new blank form.

    Raises:
        DoesNotFit: the corrected page would run off the paper, or the job cannot be drawn.
        DrawingFileError: a file in the way is the user's, or the disk refuses.
    """
    asked = replace(solution.job.print, scale_x=made.scale_x, scale_y=made.scale_y, skew=made.skew)
    corrected = replace(solution, job=replace(solution.job, print=asked))
    old = drawings_in(folder)
    _refuse_run_off(corrected, printed_with(old) if old else Distortion(), solution)
    only = _asked_for(solution, old) if old else ()
    from jiggen.make import make_drawings

    new = make_drawings(corrected, formats=("pdf",), only=only, version=version).files
    if old is not None:
        new = _among_the_others(new, old, folder, solution.job.units)
    whole = {**json.loads(new[MANIFEST]), "corrected_by": corrected_by}
    if old is not None:
        whole |= _taking_the_place_of(old, whole)
    form = put(Path(folder), {**new, MANIFEST: manifest_text(whole)}, keep=FORM)
    return [os.path.join(folder, PAGES), os.path.join(folder, form)]


def _taking_the_place_of(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a manifest says of the prints that its own takes the place of.

    What was measured on a cut sheet stays true where all else stays the same.
    """
    same = old.get("drawn_from") == new.get("drawn_from")
    marks = [mark for mark in (*earlier_prints(old), print_mark(old)) if mark != print_mark(new)]
    if not (same and any(marks) and recorded_sheets(old) == recorded_sheets(new)):
        return {}
    return {"earlier_prints": [mark for mark in marks if mark]}


def _asked_for(solution: Solution, manifest: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the names of the pieces that were drawn; none where it was all that the job has.

    A page made without any choice tells on its cover of pieces that were never printed too.
    """
    printed = _names(row for row in manifest["files"] if row["file"] == PAGES)
    from jiggen.jigs import build_pieces

    usual = {piece.name for piece in build_pieces(solution) if piece.for_print}
    return () if set(printed) == usual else _names(manifest["files"])


def _names(rows: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    """Return the names of the pieces in drawings, each once."""
    sheets = (sheet for row in rows for sheet in row["sheets"])
    return tuple(dict.fromkeys(str(p["name"]) for sheet in sheets for p in sheet["pieces"]))


def _among_the_others(
    new: Mapping[str, bytes], old: Mapping[str, Any], folder: str, units: str
) -> dict[str, bytes]:
    """Return the new page with every other drawing that lies in the folder, as it lies there."""
    forms = set(names_beside(FORM))
    others: dict[str, bytes] = {}
    for row in old["files"]:
        place = Path(folder) / row["file"]
        if row["file"] not in {PAGES, *forms} and place.is_file():
            others[row["file"]] = place.read_bytes()
    rows = [row for row in json.loads(new[MANIFEST])["files"] if row["file"] == PAGES]
    listed = relisted(json.dumps(old).encode("utf-8"), rows=rows, drop=forms)
    from jiggen.make import with_form

    return with_form({**others, PAGES: new[PAGES], MANIFEST: listed}, units)


def _refuse_run_off(solution: Solution, before: Distortion, as_asked: Solution) -> None:
    """Refuse a correction that enlarges the page beyond what a printer reaches.

    Args:
        solution: with the whole correction.
        before: what the page that was measured was corrected for already.
        as_asked: the job as it stands.
    """
    asked = solution.job.print
    from jiggen.sheets import correction

    turned = correction(asked)
    if turned is None:
        return
    (width, height), margin = asked.paper, asked.margin
    x, y = width / 2 - margin, height / 2 - margin
    spare = min(UNPRINTED, margin)
    corners = [turned.point((sx * x, sy * y)) for sx in (1, -1) for sy in (1, -1)]
    if all(
        abs(p.x) <= width / 2 - spare + 1e-9 and abs(p.y) <= height / 2 - spare + 1e-9
        for p in corners
    ):
        return
    if before != Distortion():
        raise _runs_off_with(before, asked, as_asked)
    raise DoesNotFit(
        "the corrected page would run off the paper",
        key="print",
        given=f"a printer of scale {asked.scale_x:.4f} x {asked.scale_y:.4f}",
        remedy="print at 100 % (actual size), not fitted to the paper, and measure again; or "
        "give print.margin more room",
    )


def _runs_off_with(before: Distortion, asked: Print, as_asked: Solution) -> DoesNotFit:
    """Return what to say where the page that was measured carries a correction already.

    Nobody read the scale that both make together.
    """
    lines = as_asked.job.print
    in_job = (lines.scale_x, lines.scale_y, lines.skew) != (1.0, 1.0, 0.0)
    first = "take scale_x, scale_y and skew out of [print] in the job file, then " if in_job else ""
    now = (asked.scale_x / before.scale_x, asked.scale_y / before.scale_y)
    return DoesNotFit(
        "the corrected page would run off the paper: the page that was measured carries a "
        f"correction already, for a printer of scale {before.scale_x:.4f} x {before.scale_y:.4f}, "
        f"and came out at {now[0]:.4f} x {now[1]:.4f} on top of it",
        key="print",
        remedy=f"to clear that correction, {first}run jiggen make; print its page at 100 % (actual "
        "size), not fitted to the paper, and measure that one; or give print.margin more room",
    )
