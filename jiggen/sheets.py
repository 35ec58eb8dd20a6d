"""A job's pages of paper and beds of material, with everything that is drawn on them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import INCH_MM
from jiggen.drawing.labels import Line, fitted_height
from jiggen.drawing.layout import lay_out
from jiggen.drawing.page import PageWords, page_furniture, page_room
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Mark, Op, Text
from jiggen.drawing.sheet import Placed, Sheet
from jiggen.drawing.table import Setting, Strip, flow, pages_of
from jiggen.errors import DoesNotFit, DrawingError
from jiggen.facts.card import CARD_WIDTH
from jiggen.facts.papers import PAPERS
from jiggen.geometry.distortion import Distortion
from jiggen.jigs.cover import CAUTION, cover_strips
from jiggen.jigs.cover_details import MANY_PAGES, detail_strips
from jiggen.job.sections import Print
from jiggen.solution import Check, Solution
from jiggen.units import Length, Span, say_length, say_size, size, words

#: mm. White around two pieces on paper; scissors need no more.
PAPER_GAP = 2.0
#: mm. White around a bed and around a single piece's file.
BED_EDGE = 5.0
#: mm. Least margin above and below a roll's strip, for words.
LEAST_WORDS = 5.0
#: How often the front pages are set: their number is part of what they say.
TRIES = 4
#: What a bed's lines are for, by the names that SVG and DXF have for their layers: colours can be
#: changed, and mean nothing to a machine.
LAYERS = (
    "Layers: CUT through; SCORE shallow lines; ENGRAVE marks and words; NOTE, as this line, is not "
    "for the machine."
)
#: mm. Capital heights that the cover may be set in, best first.
COVER_TYPE = (2.15, 2.0, 1.85)


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
    placed = lay_out(
        for_paper, free=room, gap=PAPER_GAP, copies=False, papers=rooms, key="print.paper"
    )
    covers = _front_pages(solution, tuple(pieces), tuple(checks), room, placed)
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
                units=job.units,
                card=CARD_WIDTH,
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


def _front_pages(
    solution: Solution,
    pieces: tuple[Piece, ...],
    checks: tuple[Check, ...],
    room: Bounds,
    placed: Sequence[Sequence[Placed]],
) -> list[tuple[Mark, ...]]:
    """Return the pages before the pieces, which say on which page each piece is."""
    covers: list[tuple[Mark, ...]] = []
    for _ in range(TRIES):
        before = len(covers)
        # The strip's tiles have a map of their own.
        titles = [[_called(p.piece) for p in some if p.piece.kind != "strip"] for some in placed]
        pages = tuple(
            (number, tuple(some)) for number, some in enumerate(titles, start=before + 1) if some
        )
        covers = _covers(solution, pieces, checks, room, pages)
        covers += _strip_pages(solution, pieces, room, len(covers), placed)
        if len(covers) == before or len(pages) < MANY_PAGES:
            break  # with so few pages nothing says which piece is on which
    return covers


def _called(piece: Piece) -> str:
    """Return a piece's title, with how many of it are cut."""
    return piece.title if piece.count == 1 else f"{piece.title} (cut {piece.count})"


def _covers(
    solution: Solution,
    pieces: tuple[Piece, ...],
    checks: tuple[Check, ...],
    room: Bounds,
    pages: tuple[tuple[int, tuple[str, ...]], ...],
) -> list[tuple[Mark, ...]]:
    """Return the cover's pages: one, in smaller type if need be, rather than one and a bit.

    Where one page does not hold it all, the details of the pieces begin a page of their own, and
    the type is as large as what comes before them allows.
    """
    first: list[tuple[Strip, ...]] = []
    after: list[tuple[Strip, ...]] = []
    for height in COVER_TYPE:
        setting = Setting(width=room.width, height=height)
        details = detail_strips(solution, pieces, checks, setting, pages)
        after.append(details)
        for one_a_line in (True, False):
            read_first = cover_strips(solution, pieces, checks, setting, one_a_line=one_a_line)
            if pages_of((*read_first, *details), room) == 1:
                return flow((*read_first, *details), room)
            first.append(read_first)
    parts = [min(some, key=lambda strips: pages_of(strips, room)) for some in (first, after)]
    return [page for part in parts for page in flow(part, room)]


def _strip_pages(
    solution: Solution,
    pieces: Sequence[Piece],
    room: Bounds,
    before: int,
    placed: Sequence[Sequence[Placed]],
) -> list[tuple[Mark, ...]]:
    """Return the hole strip's map and the drilling order, which say on which page each tile is."""
    if not any(piece.kind == "strip" for piece in pieces):
        return []
    from jiggen.jigs.order_page import strip_pages

    first = before + len(strip_pages(solution, pieces, room, {})) + 1
    page_of = {p.piece.name: n for n, some in enumerate(placed, start=first) for p in some}
    return strip_pages(solution, pieces, room, page_of)


def roll_sheets(solution: Solution, pieces: Sequence[Piece]) -> list[Sheet]:
    """Return the hole strip as long pages for a roll: the strip and a margin, nothing else.

    Args:
        solution: the solved job.
        pieces: all pieces; without the whole strip among them there is no roll.
    """
    asked = solution.job.strip
    if not any(p.name == "strip" for p in pieces) or (asked is not None and not asked.roll):
        return []
    from jiggen.jigs.strip_pieces import roll_pieces

    some = roll_pieces(solution)
    return [
        _roll_sheet(solution, piece, number, len(some))
        for number, piece in enumerate(some, start=1)
    ]


def _roll_sheet(solution: Solution, piece: Piece, number: int, count: int) -> Sheet:
    from jiggen.jigs.strip import cross_to_cross

    box, margin = piece.bounds(), solution.job.print.margin
    # Above and below there is always room for the words: a plotter's page has no other caution.
    edge = max(margin, LEAST_WORDS)
    width, height = box.width + 2 * margin, box.height + 2 * edge
    long = cross_to_cross(piece)
    words = (
        f"{solution.job.name}, hole strip, page {number} of {count}. Print at 100 %. Lower cross "
        f"to lower cross should read {long:.2f} mm, {long / INCH_MM:.3f} in."
    )
    rows = ((words, 0.35 * edge), (CAUTION, height - 0.65 * edge))
    marks = []
    for row, y in rows:
        tall = fitted_height(Line(text=row, height=min(2.4, 0.4 * edge)), box.width)
        marks.append(Mark(shape=Text(Point(margin, y), row, tall), op=Op.NOTE))
    return Sheet(
        name=f"roll {number}",
        width=width,
        height=height,
        placed=(Placed(piece=piece, place=Affine.move(margin - box.left, edge - box.bottom)),),
        marks=tuple(marks),
        title=solution.job.name,
    )


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
            given=size(cut.kerf or 0.0),
            remedy=words(
                "cut.kerf is the full width of the slot, {usual} for most lasers",
                usual=Span(Length(0.1, 1), Length(0.3, 1)),
            ),
        ) from trouble
    width, height = cut.bed
    edge = min(BED_EDGE, 0.02 * min(width, height))
    beds = lay_out(
        [p for p in with_slot if p.on_bed],
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
            marks=_bed_words(solution, placed, f"sheet {number} of {len(beds)}", edge),
            title=f"{name}, sheet {number} of {len(beds)}",
        )
        for number, placed in enumerate(beds, start=1)
    ]
    return sheets, [_single(p, name) for p in with_slot]


def _bed_words(
    solution: Solution, placed: Sequence[Placed], which: str, edge: float
) -> tuple[Mark, ...]:
    """Say on a bed's lower edge whose it is, for which material, and what its lines are for."""
    cut, units = solution.job.cut, solution.job.units
    kinds = {one.piece.kind for one in placed}
    if cut.kerf is None or kinds == {"coupon"}:
        kerf = "without kerf"
    else:
        kerf = f"kerf {say_length(cut.kerf, units, 3 if units == 'in' else 2)} allowed for"
        kerf += " except on the coupon" if "coupon" in kinds else ""
    words = (
        f"{solution.job.name}, {which}, material {say_size(cut.sheet, units)}, {kerf}, "
        f"drawn 1:1 in mm. {LAYERS}"
    )
    height = min(2.4, 0.45 * edge)
    line = Line(text=words, height=height)
    height = fitted_height(line, cut.bed[0] - 2 * edge)
    return (Mark(shape=Text(Point(edge, 0.28 * edge), words, height), op=Op.NOTE),)


def _with_slot(piece: Piece, kerf: float) -> Piece:
    """Return the piece with kerf; the coupon is cut without, since it is there to find it."""
    from jiggen.drawing.kerf import with_kerf

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


def _corrected(asked: Print) -> str:
    if correction(asked) is None:
        return ""
    return (
        f"Corrected for a printer of scale {asked.scale_x:.4f} x {asked.scale_y:.4f}, skew "
        f"{math.degrees(asked.skew):.3f}°. Print at 100 %, measure the bars again."
    )


def correction(asked: Print) -> Affine | None:
    """Return the map that undoes what the printer does, or None for a true printer."""
    if (asked.scale_x, asked.scale_y, asked.skew) == (1.0, 1.0, 0.0):
        return None
    inverse = Distortion(scale_x=asked.scale_x, scale_y=asked.scale_y, skew=asked.skew).inverse
    (a, c), (b, d) = inverse.tolist()
    return Affine(a=a, b=b, c=c, d=d)
