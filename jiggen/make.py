"""From a solved job to every file of it, in memory: pages, beds, manifest, and the form."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Sequence
from dataclasses import asdict, dataclass

from jiggen.drawing.affine import Affine
from jiggen.drawing.face import job_letters
from jiggen.drawing.page import Paper
from jiggen.drawing.piece import Joined, Piece
from jiggen.drawing.sheet import Sheet
from jiggen.folder import FORM
from jiggen.geometry.distortion import Distortion
from jiggen.jigs.beds import COUPON, Beds, lay_beds
from jiggen.jigs.pages import finished, piece_drafts
from jiggen.jigs.plan import Planned, plan_job
from jiggen.job.model import PrintInput
from jiggen.proof.form import form_text
from jiggen.record import read_record
from jiggen.solution import Check, Solution
from jiggen.write.colours import Looks
from jiggen.write.manifest import MANIFEST, manifest_text, relisted
from jiggen.write.output import FORMATS, make_files


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """All that is drawn for a job, before any file.

    Attributes:
        planned: the plans of its jigs.
        checks: the solution's shop checks and the jigs' own; what cannot be made comes first.
        pages: pages of paper, without kerf.
        beds: sheet material, with kerf.
    """

    planned: Planned
    checks: tuple[Check, ...]
    pages: tuple[Sheet, ...]
    beds: Beds


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """All that `make` writes, in memory.

    Attributes:
        files: content by path in the folder.
        drawn: what is on them.
        open_first: path of the file to open first.
    """

    files: dict[str, bytes]
    drawn: Drawn
    open_first: str

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Return every piece, true size."""
        return self.drawn.planned.pieces

    @property
    def checks(self) -> tuple[Check, ...]:
        """Return all checks."""
        return self.drawn.checks


def draw(
    solution: Solution,
    *,
    formats: Collection[str] = FORMATS,
    only: Sequence[str] = (),
    version: str = "",
) -> Drawn:
    """Draw a solved job on pages and beds.

    Args:
        solution: the solved job.
        formats: of ``pdf``, ``svg``, ``dxf``: what needs no pages or no beds gets none.
        only: kinds or names of pieces; empty for all that the job asks for.
        version: of jiggen, for the title block.

    Raises:
        DoesNotFit: a name in `only` that nothing has, or nothing that can be drawn.
    """
    planned = plan_job(solution, only)
    if not planned.pieces and planned.refused:
        raise next(iter(planned.refused.values()))
    beds = Beds(sheets=(), singles=(), refused={})
    if {"svg", "dxf"} & set(formats):
        beds = lay_beds(solution.job, planned.pieces)
    alone = all(piece.kind == COUPON for piece in planned.pieces)
    checks = () if alone else (*planned.checks, *solution.checks)
    pages: tuple[Sheet, ...] = ()
    if "pdf" in formats and not alone:
        pages = _pages(solution, planned, checks, beds, version)
    return Drawn(planned=planned, checks=checks, pages=pages, beds=beds)


def _pages(
    solution: Solution, planned: Planned, checks: Sequence[Check], beds: Beds, version: str
) -> tuple[Sheet, ...]:
    paper = paper_of(solution, version)
    drafts, _ = piece_drafts(planned, paper)
    letters = job_letters(solution.job.name)
    return tuple(
        finished(draft, number, len(drafts), letters) for number, draft in enumerate(drafts, 1)
    )


def paper_of(solution: Solution, version: str = "") -> Paper:
    """Return the job's paper."""
    job = solution.job
    width, height = job.print.paper
    name = job.print.paper_name
    return Paper(
        width=width,
        height=height,
        name=name.upper() if len(name) < 3 else name.capitalize() if name.isalpha() else name,
        margin=max(10.0, job.print.margin),
        units=job.units,
        job=job.name,
        version=version,
    )


def make_drawings(
    solution: Solution,
    *,
    formats: Collection[str] = FORMATS,
    only: Sequence[str] = (),
    progress: Callable[[int, int], None] | None = None,
    version: str = "",
) -> Made:
    """Draw every piece of a solved job and return the files' bytes.

    Args:
        solution: the solved job.
        formats: of ``pdf``, ``svg``, ``dxf``.
        only: kinds or names of pieces; empty for all.
        progress: told how many files of how many are ready.
        version: of jiggen, for the manifest.

    Raises:
        DoesNotFit: see `draw`.
    """
    drawn = draw(solution, formats=formats, only=only, version=version)
    beds, cut = drawn.beds, solution.job.cut
    total = (len(beds.sheets) + len(beds.singles)) * len({"svg", "dxf"} & set(formats))
    total += bool(drawn.pages)
    done = 0

    def tell(_path: str) -> None:
        nonlocal done
        done += 1
        if progress is not None:
            progress(done, total)

    files = make_files(
        print_sheets=drawn.pages,
        cut_sheets=beds.sheets,
        piece_sheets=beds.singles,
        formats=formats,
        looks=Looks(colours=cut.colours, line=cut.line, live_text=cut.live_text),
        correction=correction(solution.job.print),
        title=f"{solution.job.name}: drill-angle jigs",
        job_name=solution.job.name,
        version=version,
        on_file=tell,
    )
    files = with_form(files, solution.job.units, drawn.planned.joined)
    return Made(files=files, drawn=drawn, open_first=next(iter(files)))


def with_form(
    files: dict[str, bytes], units: str, joined: Sequence[Joined] = ()
) -> dict[str, bytes]:
    """Return drawings with the form for what is measured on them, and the manifest that lists it.

    Args:
        files: drawings and manifest by path; without a drawing there is nothing to measure.
        units: the job's: what the form counts in.
        joined: pieces that are put together and measured as one; those that the manifest names
            already if left out.
    """
    drawings = {path: data for path, data in files.items() if path != MANIFEST}
    if not drawings:
        return dict(files)
    manifest = json.loads(files[MANIFEST])
    if joined:
        manifest["joined"] = [asdict(row) for row in joined]
    form = form_text(read_record(manifest), units).encode("utf-8")
    listed = relisted(manifest_text(manifest), add={FORM: form})
    return {**drawings, FORM: form, MANIFEST: listed}


def correction(asked: PrintInput) -> Affine | None:
    """Return the map that undoes what the printer does, or None for a true printer."""
    if (asked.scale_x, asked.scale_y, asked.skew) == (1.0, 1.0, 0.0):
        return None
    inverse = Distortion(scale_x=asked.scale_x, scale_y=asked.scale_y, skew=asked.skew).inverse
    (a, c), (b, d) = inverse.tolist()
    return Affine(a=a, b=b, c=c, d=d)
