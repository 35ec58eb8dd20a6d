"""From a solved job to every file of it: pieces, pages, beds, and what to measure on them."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.kerf import with_kerf
from jiggen.drawing.labels import Line, fitted_height
from jiggen.drawing.layout import lay_out
from jiggen.drawing.page import PageWords, page_furniture, page_room
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Mark, Op, Text
from jiggen.drawing.sheet import Placed, Sheet
from jiggen.drawing.table import Setting, flow
from jiggen.errors import DoesNotFit, DrawingError
from jiggen.facts.papers import PAPERS
from jiggen.geometry.distortion import Distortion
from jiggen.jigs import bore_checks, build_pieces, skin_checks
from jiggen.jigs.cover import CAUTION, cover_strips
from jiggen.job.model import PrintInput
from jiggen.readings.form import FORM, readings_template
from jiggen.solution import Check, Solution
from jiggen.units import say_length
from jiggen.write.looks import Looks
from jiggen.write.manifest import MANIFEST, relisted
from jiggen.write.output import FORMATS, make_files
from jiggen.write.record import sheet_record

#: mm. White around two pieces on paper; scissors need no more.
PAPER_GAP = 2.0
#: mm. White around a bed and around a single piece's file.
BED_EDGE = 5.0
#: mm. Capital heights that the cover may be set in, best first.
COVER_TYPE = (2.15, 2.0, 1.85)


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """All that `make` writes, in memory.

    Attributes:
        files: content by path in the folder.
        pieces: every piece, true size.
        checks: the solution's shop checks and the jigs' own.
        open_first: path of the file to open first.
        measure: sentences: what to measure on the sheets and on the pieces.
    """

    files: dict[str, bytes]
    pieces: tuple[Piece, ...]
    checks: tuple[Check, ...]
    open_first: str
    measure: tuple[str, ...]


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

    Returns:
        The files, the pieces and what to say about them.

    Raises:
        DoesNotFit: a piece that cannot be made or that neither paper nor bed holds, or a kerf
            that eats a detail.
    """
    pieces = build_pieces(solution, tuple(only))
    checks = (*solution.checks, *skin_checks(solution), *bore_checks(solution))
    pages = print_sheets(solution, pieces, checks) if "pdf" in formats else []
    beds: list[Sheet] = []
    singles: list[Sheet] = []
    if "svg" in formats or "dxf" in formats:
        beds, singles = cut_sheets(solution, pieces)
    total = bool(pages) + (len(beds) + len(singles)) * len({"svg", "dxf"} & set(formats))
    done = 0

    def tell(_path: str) -> None:
        nonlocal done
        done += 1
        if progress is not None:
            progress(done, total)

    cut = solution.job.cut
    files = make_files(
        print_sheets=pages,
        cut_sheets=beds,
        piece_sheets=singles,
        formats=formats,
        looks=Looks(colours=cut.colours, line=cut.line, live_text=cut.live_text),
        correction=correction(solution.job.print),
        title=f"{solution.job.name}: drill-angle jigs",
        job_name=solution.job.name,
        version=version,
        on_file=tell,
    )
    return Made(
        files=with_form(files, solution.job.units),
        pieces=pieces,
        checks=checks,
        open_first=next(iter(files)),
        measure=_measure(pieces, formats, solution.job.units),
    )


def with_form(files: Mapping[str, bytes], units: str) -> dict[str, bytes]:
    """Return drawings with the form for what is measured on them, and the manifest that lists it.

    Args:
        files: drawings and manifest by path; without a drawing there is nothing to measure.
        units: the job's: what the form counts in.
    """
    drawings = {path: data for path, data in files.items() if path != MANIFEST}
    if not drawings:
        return dict(files)
    form = readings_template(json.loads(files[MANIFEST]), units).encode("utf-8")
    manifest = relisted(files[MANIFEST], add={FORM: form})
    return {**drawings, FORM: form, MANIFEST: manifest}


def drawn_records(solution: Solution, only: Sequence[str] = ()) -> dict[str, Any]:
    """Return what the manifest would say of pages and beds, without writing any of them.

    Args:
        solution: the solved job.
        only: kinds or names of pieces; empty for all.

    Returns:
        ``job`` and ``files`` with the records of their sheets, in SVG's stead for every bed.

    Raises:
        DoesNotFit: as `make_drawings`.
    """
    pieces = build_pieces(solution, tuple(only))
    checks = (*solution.checks, *skin_checks(solution), *bore_checks(solution))
    turned = correction(solution.job.print)
    pages = [sheet_record(sheet) for sheet in print_sheets(solution, pieces, checks)]
    beds = [sheet_record(sheet) for sheet in cut_sheets(solution, pieces)[0]]
    with_correction = {} if turned is None else {"correction": list(turned[:4])}
    page_row = {"file": "print.pdf", "format": "pdf", **with_correction, "sheets": pages}
    bed_rows = [{"file": f"{b['sheet']}.svg", "format": "svg", "sheets": [b]} for b in beds]
    return {"job": solution.job.name, "files": [*bed_rows, page_row]}


def correction(asked: PrintInput) -> Affine | None:
    """Return the map that undoes what the printer does, or None for a true printer."""
    if (asked.scale_x, asked.scale_y, asked.skew) == (1.0, 1.0, 0.0):
        return None
    inverse = Distortion(scale_x=asked.scale_x, scale_y=asked.scale_y, skew=asked.skew).inverse
    (a, c), (b, d) = inverse.tolist()
    return Affine(a=a, b=b, c=c, d=d)


def print_sheets(
    solution: Solution, pieces: Sequence[Piece], checks: Sequence[Check]
) -> list[Sheet]:
    """Return the pages of ``print.pdf``: the cover, then the pieces.

    Args:
        solution: the solved job.
        pieces: all pieces; those for paper are laid out.
        checks: those that warn are told on the cover.

    Raises:
        DoesNotFit: paper too small for the bars, or for a piece.
    """
    job = solution.job
    width, height = job.print.paper
    margin = job.print.margin
    room = page_room(width, height, margin)
    for_paper = [p for p in pieces if p.for_print]
    rooms = {
        name: page_room(*size, margin)
        for name, size in PAPERS.items()
        if min(size) - 2 * margin > 125.0
    }
    covers = _covers(solution, tuple(pieces), tuple(checks), room)
    placed = lay_out(
        for_paper, free=room, gap=PAPER_GAP, copies=False, papers=rooms, key="print.paper"
    )
    count = len(covers) + len(placed)
    contents: list[tuple[tuple[Mark, ...], tuple[Placed, ...]]] = [
        *((marks, ()) for marks in covers),
        *(((), some) for some in placed),
    ]
    sheets = []
    for number, (marks, some) in enumerate(contents, start=1):
        furniture, dimensions = page_furniture(
            width,
            height,
            margin,
            PageWords(
                job=job.name,
                number=number,
                count=count,
                caution=CAUTION,
                corrected=_corrected(job.print),
            ),
        )
        sheets.append(
            Sheet(
                name=f"page {number}",
                width=width,
                height=height,
                placed=some,
                marks=(*furniture, *marks),
                dimensions=dimensions,
                title=job.name,
            )
        )
    return sheets


def _covers(
    solution: Solution, pieces: tuple[Piece, ...], checks: tuple[Check, ...], room: Bounds
) -> list[tuple[Mark, ...]]:
    """Return the cover's pages: one, in smaller type if need be, rather than one and a bit."""
    pages: list[tuple[Mark, ...]] = []
    for height in COVER_TYPE:
        setting = Setting(width=room.width, height=height)
        tried = flow(cover_strips(solution, pieces, checks, setting), room)
        if not pages or len(tried) < len(pages):
            pages = tried
        if len(pages) == 1:
            break
    return pages


def cut_sheets(solution: Solution, pieces: Sequence[Piece]) -> tuple[list[Sheet], list[Sheet]]:
    """Return the beds of sheet material, and one sheet a piece, with kerf.

    Args:
        solution: the solved job.
        pieces: all pieces; those for cutting are laid out.

    Raises:
        DoesNotFit: a piece larger than the bed, or a kerf that eats a detail.
    """
    cut = solution.job.cut
    try:
        with_slot = [_with_slot(p, cut.kerf or 0.0) for p in pieces if p.for_cut]
    except DrawingError as trouble:
        raise DoesNotFit(
            str(trouble),
            key="cut.kerf",
            given=f"{cut.kerf:g} mm",
            remedy="cut.kerf is the full width of the slot, 0.1 to 0.3 mm for most lasers",
        ) from trouble
    width, height = cut.bed
    edge = min(BED_EDGE, 0.02 * min(width, height))
    beds = lay_out(
        with_slot,
        free=Bounds(edge, edge, width - edge, height - edge),
        gap=max(cut.gap, 2 * (cut.kerf or 0.0)),
        key="cut.bed",
    )
    name = solution.job.name
    sheets = [
        Sheet(
            name=f"cut-{number}",
            width=width,
            height=height,
            placed=placed,
            marks=_bed_words(solution, f"sheet {number} of {len(beds)}", edge),
            title=f"{name}, sheet {number} of {len(beds)}",
        )
        for number, placed in enumerate(beds, start=1)
    ]
    return sheets, [_single(p, name) for p in with_slot]


def _bed_words(solution: Solution, which: str, edge: float) -> tuple[Mark, ...]:
    """Say on a bed's lower edge whose it is, for which material, and that it is in mm."""
    cut = solution.job.cut
    kerf = "without kerf" if cut.kerf is None else f"kerf {cut.kerf:g} mm allowed for"
    words = f"{solution.job.name}, {which}, material {cut.sheet:g} mm, {kerf}, drawn 1:1 in mm"
    height = min(2.4, 0.45 * edge)
    line = Line(text=words, height=height)
    height = fitted_height(line, cut.bed[0] - 2 * edge)
    return (Mark(shape=Text(Point(edge, 0.28 * edge), words, height), op=Op.NOTE),)


def _with_slot(piece: Piece, kerf: float) -> Piece:
    """Return the piece with kerf; the coupon is cut without, since it is there to find it."""
    return piece if piece.kind == "coupon" else with_kerf(piece, kerf)


def _single(piece: Piece, job_name: str) -> Sheet:
    box = piece.bounds()
    return Sheet(
        name=piece.name,
        width=math.ceil(box.width + 2 * BED_EDGE),
        height=math.ceil(box.height + 2 * BED_EDGE),
        placed=(
            Placed(
                piece=replace(piece, count=1),
                place=Affine.move(BED_EDGE - box.left, BED_EDGE - box.bottom),
            ),
        ),
        title=f"{job_name}, {piece.title}",
    )


def _corrected(asked: PrintInput) -> str:
    if correction(asked) is None:
        return ""
    return (
        f"Corrected for a printer of scale {asked.scale_x:.4f} x {asked.scale_y:.4f}, skew "
        f"{math.degrees(asked.skew):.3f}°. Print at 100 %, measure the bars again."
    )


def _measure(pieces: Sequence[Piece], formats: Collection[str], units: str) -> tuple[str, ...]:
    said = []
    if "pdf" in formats:
        said.append(
            "Print at 100 % and measure on each page: the 100 mm bar along x and along y, then "
            "the diagonals D1-D1 and D2-D2."
        )
    if {"svg", "dxf"} & set(formats) and any(p.for_cut for p in pieces):
        said.append(
            "Cut one guide first and measure its 50 mm bars, or the longest there are, along x "
            "and y."
        )
    guides = [p for p in pieces if p.kind == "guide"]
    if guides:
        sizes = ", ".join(
            f"{d.name} {say_length(d.nominal, units, 2 if units == 'mm' else 3)}"
            for d in guides[0].dimensions
            if not d.is_bar
        )
        said.append(f"Then measure {guides[0].title} over its lettered corners: {sizes}.")
    return tuple(said)
