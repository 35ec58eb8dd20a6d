"""From a solved job to every file of it: pieces, pages, beds, and what to measure on them."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from jiggen.drawing.piece import Piece
from jiggen.drawing.sheet import Sheet
from jiggen.jigs import build_pieces, jig_checks
from jiggen.job.model import drawn_from
from jiggen.readings.form import readings_template
from jiggen.readings.names import FORM
from jiggen.sheets import correction, cut_sheets, print_sheets, roll_sheets
from jiggen.solution import Check, Solution
from jiggen.units import say_length
from jiggen.write.looks import Looks
from jiggen.write.manifest import MANIFEST, PAGES, ROLL, relisted
from jiggen.write.output import FORMATS, make_files
from jiggen.write.record import sheet_record

COUPON = "coupon"
"""Kind of the kerf coupon, which is cut and measured, but guides no drill."""


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
        progress: told how many steps of how many are done: pieces, pages, beds, then each file.
        version: of jiggen, for the manifest.

    Returns:
        The files, the pieces and what to say about them.

    Raises:
        DoesNotFit: a piece that cannot be made or that neither paper nor bed holds, or a kerf
            that eats a detail.
    """
    done = 0

    def tell(ahead: int) -> None:
        nonlocal done
        done += 1
        if progress is not None:
            progress(done, done + ahead)

    machine = len({"svg", "dxf"} & set(formats))
    pieces = build_pieces(solution, tuple(only))
    # Of the files to come the pieces tell most: one bed, each piece by itself, pages and roll.
    likely = machine * (1 + sum(piece.for_cut for piece in pieces)) + 2 * ("pdf" in formats)
    tell(likely + 2)
    checks = _checks(solution, pieces, only)
    pages = _pages(solution, pieces, checks) if "pdf" in formats else []
    tell(likely + 1)
    rolls = roll_sheets(solution, pieces) if "pdf" in formats else []
    beds, singles = cut_sheets(solution, pieces) if machine else ([], [])
    left = (len(beds) + len(singles)) * machine + bool(pages) + bool(rolls)
    tell(left)
    last = done + left
    cut = solution.job.cut
    files = make_files(
        print_sheets=pages,
        cut_sheets=beds,
        piece_sheets=singles,
        roll_sheets=rolls,
        formats=formats,
        looks=Looks(colours=cut.colours, line=cut.line, live_text=cut.live_text),
        correction=correction(solution.job.print),
        title=f"{solution.job.name}: drill-angle jigs",
        job_name=solution.job.name,
        version=version,
        drawn_from=drawn_from(solution.job, only_coupon=_only_coupon(pieces)),
        on_file=lambda _path: tell(last - done - 1),
    )
    return Made(
        files=with_form(files, solution.job.units),
        pieces=pieces,
        checks=checks,
        open_first=next(iter(files)),
        measure=_measure(pieces, formats, solution.job.units),
    )


def _only_coupon(pieces: Sequence[Piece]) -> bool:
    return all(piece.kind == COUPON for piece in pieces)


def _checks(solution: Solution, pieces: Sequence[Piece], only: Sequence[str]) -> tuple[Check, ...]:
    """Return what is said of the job and its jigs; none of it touches a kerf coupon."""
    if _only_coupon(pieces):
        return ()
    return (*solution.checks, *jig_checks(solution, pieces, only))


def _pages(solution: Solution, pieces: Sequence[Piece], checks: Sequence[Check]) -> Sequence[Sheet]:
    """Return the pages of paper; none for a coupon alone, of which the cover has nothing to say.

    Other pieces that are only cut keep the cover, which says how they are put together.
    """
    return [] if _only_coupon(pieces) else print_sheets(solution, pieces, checks)


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
    checks = _checks(solution, pieces, only)
    turned = correction(solution.job.print)
    pages = [sheet_record(sheet) for sheet in _pages(solution, pieces, checks)]
    beds = [sheet_record(sheet) for sheet in cut_sheets(solution, pieces)[0]]
    with_correction = {} if turned is None else {"correction": list(turned[:4])}
    page_row = {"file": PAGES, "format": "pdf", **with_correction, "sheets": pages}
    bed_rows = [{"file": f"{b['sheet']}.svg", "format": "svg", "sheets": [b]} for b in beds]
    rolls = [sheet_record(sheet) for sheet in roll_sheets(solution, pieces)]
    roll_rows = [{"file": ROLL, "format": "pdf", "sheets": rolls}] if rolls else []
    return {"job": solution.job.name, "files": [*bed_rows, page_row, *roll_rows]}


def _measure(pieces: Sequence[Piece], formats: Collection[str], units: str) -> tuple[str, ...]:
    said = []
    page_bar, piece_bar = ("4 in", "2 in") if units == "in" else ("100 mm", "50 mm")
    if "pdf" in formats and any(p.for_print for p in pieces):
        said.append(
            f"Print at 100 % and measure on each page: the {page_bar} bar along x and along y, "
            "then the diagonals D1-D1 and D2-D2."
        )
    if {"svg", "dxf"} & set(formats) and any(p.for_cut and p.kind != COUPON for p in pieces):
        said.append(
            f"Cut one piece first and measure its {piece_bar} bars, or the longest there are, "
            "along x and y."
        )
    if any(p.kind == COUPON for p in pieces):
        said.append(
            "Push the loose bars of each row of the coupon together and measure over them, try "
            "the sheet in the slots, and write both into the readings form."
        )
    whole = next((p for p in pieces if p.name == "strip"), None)
    if whole is not None:
        from jiggen.jigs.strip import cross_to_cross

        long = cross_to_cross(whole)
        said.append(
            "Measure each tile of the hole strip from cross to cross, and the joined strip or the "
            f"roll from its first cross to its last: {say_length(long, units)}."
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
