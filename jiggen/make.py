"""From a solved job to every file of it, in memory: pages, beds, manifest, and the form."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Sequence

from msgspec import Struct
from msgspec.structs import asdict

from jiggen.drawing.affine import Affine
from jiggen.drawing.face import job_letters
from jiggen.drawing.page import Paper, figure_of
from jiggen.drawing.piece import Joined, Piece
from jiggen.drawing.sheet import Sheet
from jiggen.drawing.solid import Solid
from jiggen.errors import DoesNotFit, Sentence, refuse_together
from jiggen.geometry.distortion import Distortion
from jiggen.jigs.beds import COUPON, Beds, lay_beds
from jiggen.jigs.cards import card_marks, card_page, measuring_sheet
from jiggen.jigs.cover import Contents, cover_marks
from jiggen.jigs.numbers import numbers_pages
from jiggen.jigs.pages import Draft, finished, job_mark, piece_drafts, roll_sheets, too_large
from jiggen.jigs.plan import CANNOT, Planned, assumed, failed, plan_job
from jiggen.job.sections import Print
from jiggen.proof.folder import FORM
from jiggen.proof.form import form_text
from jiggen.proof.record import read_record
from jiggen.solution import Check, Solution, band_of
from jiggen.units import INCH
from jiggen.write.colours import Looks
from jiggen.write.manifest import MANIFEST, SOLID_FOLDER, USUAL, manifest_text, relisted
from jiggen.write.output import make_files

PAGES = ("sheet", "card")  # pages that can be asked for by name and belong to no jig
SOLIDS = {"3mf", "stl"}  # formats of what a printer makes


class Drawn(Struct, frozen=True, kw_only=True):
    """All that is drawn for a job, before any file."""

    planned: Planned
    checks: tuple[Check, ...]  # the shop's and the jigs' own; what cannot be made comes first
    pages: tuple[Sheet, ...]  # pages of paper, without kerf
    beds: Beds  # sheet material, with kerf
    rolls: tuple[Sheet, ...] = ()  # long pages for a roll of paper, without kerf
    solids: tuple[Solid, ...] = ()  # bodies to print; none unless a format of theirs was asked for
    paper: str = ""  # what the pages are printed on, as lettered
    lasered: bool = False  # whether the cut files allow for a slot that a machine burns
    assumed: Sentence = ""  # what the slots are drawn for where the job does not state it
    diagonal: str = ""  # of the check figure, as lettered

    @property
    def refusals(self) -> tuple[Check, ...]:
        """Return what could not be made, as failed checks."""
        return tuple(c for c in self.checks if c.id.endswith(CANNOT))


class Made(Struct, frozen=True, kw_only=True):
    """All that `make` writes, in memory."""

    files: dict[str, bytes]  # content by path in the folder
    drawn: Drawn
    open_first: str  # path of the file to open first

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
    formats: Collection[str] = USUAL,
    only: Sequence[str] = (),
    version: str = "",
) -> Drawn:
    """Draw a solved job on pages and beds.

    Args:
        solution: the solved job.
        formats: of ``pdf``, ``svg``, ``dxf``, ``3mf``, ``stl``: what needs no pages, no beds or no
            solids gets none.
        only: kinds or names of pieces; empty for all that the job asks for.
        version: of jiggen, for the title block.

    Raises:
        DoesNotFit: a name in `only` that nothing has, or nothing that can be drawn.
        DrawingError: solids are asked for and the library that builds them is not installed.
    """
    pages_only = [name for name in only if name in PAGES]
    only = [name for name in only if name not in PAGES]
    planned = plan_job(solution, only) if only or not pages_only else Planned(plans=())
    if not planned.pieces:
        refuse_together(tuple(planned.refused.values()))
    if only and not any(plan.pieces or plan.pages or plan.solids for plan in planned.plans):
        raise DoesNotFit(
            "nothing is drawn of it for this job",
            key="--only",
            given=", ".join(only),
            remedy="jiggen angles JOB --all says why",
        )
    paper = paper_of(solution, version)
    beds = Beds(sheets=(), singles=(), refused={})
    if {"svg", "dxf"} & set(formats):
        beds = lay_beds(solution.job, planned.pieces)
    alone = bool(planned.pieces) and all(piece.kind == COUPON for piece in planned.pieces)
    checks = () if alone else (*planned.checks, *beds.checks, *solution.checks)
    pages: tuple[Sheet, ...] = ()
    rolls: tuple[Sheet, ...] = ()
    if "pdf" in formats and not alone:
        rolls = roll_sheets(planned, paper)
        drafts, on = piece_drafts(planned, paper)
        checks = (*_without_page(planned, paper, on, beds), *checks)
        pages = _pages(solution, planned, checks, beds, drafts, on, paper, pages_only)
    solids: tuple[Solid, ...] = ()
    if SOLIDS & set(formats):
        solids = tuple(s for plan in planned.plans if plan.solids for s in plan.solids())
    return Drawn(
        planned=planned,
        checks=checks,
        pages=pages,
        beds=beds,
        solids=solids,
        paper=paper.name,
        lasered=solution.job.cut.kerf is not None,
        assumed=assumed(solution.job) if any(plan.slotted for plan in planned.plans) else "",
        diagonal=figure_of(paper).said if any(sheet.dimensions for sheet in pages) else "",
        rolls=rolls,
    )


def _pages(
    solution: Solution,
    planned: Planned,
    checks: Sequence[Check],
    beds: Beds,
    drafts: list[Draft],
    on: dict[str, int],
    paper: Paper,
    asked: Sequence[str],
) -> tuple[Sheet, ...]:
    """Return the pages in order: cover, jigs, bench card, numbers; or those asked for by name."""
    letters = job_letters(solution.job.name)
    code = f"{letters}-{job_mark(planned)[:4].upper()}"
    if planned.plans or "card" in asked:
        whole = planned if planned.plans else plan_job(solution)
        page = card_page(paper)
        marks = list(card_marks(solution, page, whole, code))
        drafts.append(Draft("CARD", "cut out", page, [], marks, None, ()))
    if "sheet" in asked:
        drafts.append(sheet_draft(paper))
    if not planned.plans:
        return tuple(
            finished(draft, n, len(drafts), letters) for n, draft in enumerate(drafts, start=1)
        )
    lists = [
        Draft("NUMBERS", "", paper, [], list(marks), None)
        for marks in numbers_pages(solution, paper, planned, checks)
    ]
    drafts += lists
    count = len(drafts) + 1
    cover = Contents(
        planned=planned,
        band=band_of(checks),
        pages={name: n + 2 for name, n in on.items()},
        beds=_beds_of(beds),
        numbers_page=count - len(lists) + 1,
        count=count,
        code=code,
    )
    front = Sheet(
        name="page 1",
        width=paper.width,
        height=paper.height,
        marks=cover_marks(solution, paper, cover),
        title=solution.job.name,
        mark=job_mark(planned),
    )
    return (front, *(finished(d, n, count, letters) for n, d in enumerate(drafts, start=2)))


def _without_page(planned: Planned, paper: Paper, on: dict[str, int], beds: Beds) -> list[Check]:
    """Return failed checks for pieces too large for a page and on no bed; raise where all are."""
    drawn = {*on, *(sheet.name for sheet in beds.singles)}
    on_paper = [p for plan in planned.plans if not plan.pages for p in plan.pieces if p.on_paper]
    left = {piece.name: too_large(piece, paper) for piece in on_paper if piece.name not in drawn}
    if left and len(left) == len(planned.pieces):
        raise next(iter(left.values()))
    return [failed(name, why) for name, why in left.items()]


def sheet_draft(paper: Paper) -> Draft:
    """Return the measuring sheet, to be taken to the part with a pencil."""
    marks = list(measuring_sheet(paper))
    return Draft("MEASURE", "at the part, before the job file", paper, [], marks, None, ())


def _beds_of(beds: Beds) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for number, sheet in enumerate(beds.sheets, start=1):
        for placed in sheet.placed:
            numbers = found.setdefault(placed.piece.name, [])
            if number not in numbers:
                numbers.append(number)
    return found


def paper_of(solution: Solution, version: str = "") -> Paper:
    """Return the job's paper."""
    job = solution.job
    width, height = job.print.paper
    name = job.print.paper_name
    one = INCH if job.units == "in" else 1.0
    size = f"{width / one:.4g}×{height / one:.4g}"
    return Paper(
        width=width,
        height=height,
        name=name.upper() if len(name) < 3 else name.capitalize() if name.isalpha() else size,
        margin=max(10.0, job.print.margin),
        units=job.units,
        job=job.name,
        version=version,
    )


def make_drawings(
    solution: Solution,
    *,
    formats: Collection[str] = USUAL,
    only: Sequence[str] = (),
    progress: Callable[[int, int], None] | None = None,
    version: str = "",
) -> Made:
    """Draw every piece of a solved job and return the files' bytes.

    Arguments as in `draw`. `progress` is told how many steps of how many are done: pieces, pages,
    beds, then each file.

    Raises:
        DoesNotFit: see `draw`.
    """
    done = 0

    def tell(ahead: int) -> None:
        nonlocal done
        done += 1
        if progress is not None:
            progress(done, done + ahead)

    tell(2)
    drawn = draw(solution, formats=formats, only=only, version=version)
    beds, cut = drawn.beds, solution.job.cut
    left = (len(beds.sheets) + len(beds.singles)) * len({"svg", "dxf"} & set(formats))
    left += bool(drawn.pages) + bool(drawn.rolls) + len(drawn.solids) * len(SOLIDS & set(formats))
    tell(left)
    last = done + left
    files = make_files(
        print_sheets=drawn.pages,
        cut_sheets=beds.sheets,
        piece_sheets=beds.singles,
        roll_sheets=drawn.rolls,
        solids=drawn.solids,
        formats=formats,
        looks=Looks(colours=cut.colours.stated(), line=cut.line, live_text=cut.text == "live"),
        correction=correction(solution.job.print),
        title=f"{solution.job.name}: drill-angle jigs",
        job_name=solution.job.name,
        version=version,
        on_file=lambda _path: tell(last - done - 1),
    )
    files = with_form(files, solution.job.units, drawn.planned.joined)
    return Made(files=files, drawn=drawn, open_first=next(iter(files)))


def with_form(
    files: dict[str, bytes], units: str, joined: Sequence[Joined] = ()
) -> dict[str, bytes]:
    """Return drawings with the form for what is measured on them, and the manifest that lists it.

    Args:
        files: drawings and manifest by path; without a length on them there is nothing to
            measure, and a solid is measured by `remeasure`.
        units: the job's: what the form counts in.
        joined: pieces that are put together and measured as one; those that the manifest names
            already if left out.
    """
    drawings = {path: data for path, data in files.items() if path != MANIFEST}
    if all(path.startswith(f"{SOLID_FOLDER}/") for path in drawings):
        return dict(files)
    manifest = json.loads(files[MANIFEST])
    if joined:
        manifest["joined"] = [asdict(row) for row in joined]
    record = read_record(manifest)
    if not (record.pages or record.beds or record.pieces):
        return dict(files)
    form = form_text(record, units).encode("utf-8")
    listed = relisted(manifest_text(manifest), add={FORM: form})
    return {**drawings, FORM: form, MANIFEST: listed}


def correction(asked: Print) -> Affine | None:
    """Return the map that undoes what the printer does, or None for a true printer."""
    if (asked.scale_x, asked.scale_y, asked.skew) == (1.0, 1.0, 0.0):
        return None
    inverse = Distortion(scale_x=asked.scale_x, scale_y=asked.scale_y, skew=asked.skew).inverse
    (a, c), (b, d) = inverse.tolist()
    return Affine(a=a, b=b, c=c, d=d)
