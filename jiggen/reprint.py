"""Prints a job's pages again with the inverse of what the printer does to them.

Only ``print.pdf``, the manifest and the blank form are new; every other drawing stays as it lies
there. The check figure is corrected with the page, so that the second print can be measured again.
"""

from __future__ import annotations

import datetime
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from jiggen.errors import DoesNotFit, Fault, JobError
from jiggen.geometry.distortion import Distortion
from jiggen.make import correction, draw, make_drawings, with_form
from jiggen.proof.folder import FORM, drawings_in
from jiggen.proof.prove import Outcome, Proof
from jiggen.proof.readings import NO_PAGE
from jiggen.proof.record import Record
from jiggen.solution import Solution
from jiggen.write.files import names_beside, put, write_new
from jiggen.write.manifest import MANIFEST, PAGES, manifest_text, relisted

UNPRINTED = 3.0
"""mm of paper along each edge that many printers leave white. Common practice, no published
source."""

PRINT_IS_TRUE = (
    "the print is off by no more than the readings leave in doubt; print.pdf stays as it is"
)


def write_outcome(
    solution: Solution, proof: Proof, folder: str, *, reprint: bool, record: str, version: str
) -> Outcome:
    """Write what was asked for beside the verdict.

    Args:
        solution: the solved job.
        proof: what was judged.
        folder: of the drawings; held by `sole_writer` where they are printed again.
        reprint: write ``print.pdf`` again, corrected.
        record: path of a record to sign; empty for none.
        version: of jiggen.

    Returns:
        What was written. A page that cannot be corrected is said there, not raised: why it is
        off matters more than why it cannot be mended.

    Raises:
        JobError: a record that would replace a file, or readings that were used before.
        DrawingFileError: a file in the way is the user's, or the disk refuses.
    """
    faults = [Fault(file=record, key="", problem=p, remedy=r) for p, r in _refused(record)]
    if reprint and proof.spent:
        problem = "was done by these very readings"
        remedy = "print the page that lies there now, at 100 %, and measure that one"
        faults.append(Fault(file="jiggen verify", key="--reprint", problem=problem, remedy=remedy))
    if faults:
        raise JobError(faults)
    written = []
    if record:
        from jiggen.report.logsheet import log_sheet

        asked, today = solution.job.print, datetime.date.today().isoformat()
        page = log_sheet(proof, today=today, paper=asked.paper, margin=asked.margin)
        written.append(write_new(record, page))
    refused = _nothing_to_correct_by(proof) if reprint else ""
    if refused or not reprint:
        return Outcome(written=tuple(written), not_reprinted=refused)
    if not proof.print_is_off:
        return Outcome(written=tuple(written), nothing_to_correct=PRINT_IS_TRUE)
    try:
        again = print_again(solution, proof, folder, version)
    except DoesNotFit as trouble:
        return Outcome(written=tuple(written), not_reprinted=str(trouble))
    return Outcome(written=(*written, *again), reprint=again[0])


def _refused(record: str) -> list[tuple[str, str]]:
    above = os.path.dirname(record)
    if not record:
        return []
    if not record.lower().endswith(".pdf"):
        return [("is no name of a PDF", "give --record a name that ends in .pdf")]
    if os.path.lexists(record):
        return [("is there already", "give --record the name of a new file")]
    if above and not os.path.isdir(above):
        remedy = "make it first, or give --record the name of a file in another folder"
        return [(f"the folder {above} is not there", remedy)]
    return []


def _nothing_to_correct_by(proof: Proof) -> str:
    """Return why the readings tell no correction; empty where they do."""
    found, apart = proof.sheets.found, proof.sheets.apart
    if not proof.record.pages:
        return f"there is no printed page among the drawings; {NO_PAGE}"
    if apart:
        return (
            f"{' and '.join(apart)} came out unlike one another, and one correction for all spoils "
            "the good one and does not cure the bad one"
        )
    if found is None and any(sheet.questions for sheet in proof.sheets.sheets):
        return "the readings that it would correct by are asked about above"
    if found is None or not all(found.scales_measured):
        what = "no page has readings" if found is None else "there are readings along one axis only"
        return f"{what}; measure both bars and both diagonals of a printed page"
    return ""


def print_again(solution: Solution, proof: Proof, folder: str, version: str) -> list[str]:
    """Put a corrected ``print.pdf`` in the folder of the drawings.

    The folder is held. Returns the paths of the page file and of the new blank form.

    Raises:
        DoesNotFit: the corrected page would run off the paper, or the job cannot be drawn.
        DrawingFileError: a file in the way is the user's, or the disk refuses.
    """
    made, old = proof.reprint, drawings_in(folder) or {}
    asked = replace(solution.job.print, scale_x=made.scale_x, scale_y=made.scale_y, skew=made.skew)
    corrected = replace(solution, job=replace(solution.job, print=asked))
    _refuse_run_off(corrected, proof.record.made_for, solution)
    new = make_drawings(
        corrected, formats=("pdf",), only=_asked_for(solution, proof.record), version=version
    ).files
    home, forms = Path(folder), set(names_beside(FORM))
    others = {
        row["file"]: (home / row["file"]).read_bytes()
        for row in old["files"]
        if row["file"] not in {PAGES, *forms} and (home / row["file"]).is_file()
    }
    rows = [row for row in json.loads(new[MANIFEST])["files"] if row["file"] == PAGES]
    listed = relisted(json.dumps(old).encode("utf-8"), rows=rows, drop=forms)
    whole: dict[str, Any] = {**json.loads(listed), "corrected_by": proof.corrected_by}
    files: Mapping[str, bytes] = with_form(
        {**others, PAGES: new[PAGES], MANIFEST: manifest_text(whole)}, solution.job.units
    )
    form = put(home, files, keep=FORM)
    return [os.path.join(folder, PAGES), os.path.join(folder, form)]


def _asked_for(solution: Solution, record: Record) -> tuple[str, ...]:
    """Return the names of the pieces that were drawn; none where it was all that the job has.

    Pages made without any choice tell on their cover of pieces that were never printed too.
    """
    printed = [piece.name for page in record.pages for piece in page.pieces]
    usual = draw(solution, formats=("pdf",)).pages
    if sorted(printed) == sorted(one.piece.name for page in usual for one in page.placed):
        return ()
    return tuple(dict.fromkeys(name for name, piece in record.pieces.items() if not piece.parts))


def _refuse_run_off(solution: Solution, before: Distortion, as_asked: Solution) -> None:
    """Refuse a correction that enlarges the page beyond what a printer reaches.

    `solution` has the whole correction, `before` is what the measured page had, `as_asked` the job
    as it stands.
    """
    asked = solution.job.print
    turned = correction(asked)
    (width, height), margin = asked.paper, asked.margin
    x, y, spare = width / 2 - margin, height / 2 - margin, min(UNPRINTED, margin)
    corners = (
        [] if turned is None else [turned.point((s * x, t * y)) for s in (1, -1) for t in (1, -1)]
    )
    if all(
        abs(p.x) <= width / 2 - spare + 1e-9 and abs(p.y) <= height / 2 - spare + 1e-9
        for p in corners
    ):
        return
    if before == Distortion():
        raise DoesNotFit(
            "the corrected page would run off the paper",
            key="print",
            given=f"a printer of scale {asked.scale_x:.4f} x {asked.scale_y:.4f}",
            remedy="print at 100 % (actual size), not fitted to the paper, and measure again; or "
            "give print.margin more room",
        )
    # Nobody read the scale that both corrections make together: tell them apart.
    lines = as_asked.job.print
    in_job = (lines.scale_x, lines.scale_y, lines.skew) != (1.0, 1.0, 0.0)
    first = "take scale_x, scale_y and skew out of [print] in the job file, then " if in_job else ""
    raise DoesNotFit(
        "the corrected page would run off the paper: the page that was measured carries a "
        f"correction already, for a printer of scale {before.scale_x:.4f} x {before.scale_y:.4f}, "
        f"and came out at {asked.scale_x / before.scale_x:.4f} x "
        f"{asked.scale_y / before.scale_y:.4f} on top of it",
        key="print",
        remedy=f"to clear that correction, {first}run jiggen make; print its page at 100 % (actual "
        "size) and measure that one; or give print.margin more room",
    )
