"""The record for the builder's log: one page with readings, verdict and a place to sign."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from io import BytesIO

from jiggen.advice import spent_words
from jiggen.corrections import should_reprint
from jiggen.drawing.affine import Point
from jiggen.drawing.shapes import Bounds, Mark, Op, Path, Text
from jiggen.drawing.sheet import Sheet
from jiggen.drawing.table import Strip, flow, heading, paragraph, space, table
from jiggen.folder import print_lines
from jiggen.proof import Proof
from jiggen.units import say_length
from jiggen.verdict_text import (
    AS_IT_IS_NOW,
    coupon_lines,
    cut_rows,
    degrees,
    doubt_degrees,
    fore_or_aft,
    machine_sentences,
    printer_sentences,
    reasons,
    summary,
    verdict_words,
    why_sentence,
)
from jiggen.verify import USE, TestHoleVerdict

SIZES = (2.3, 2.1, 1.9, 1.75)
"""mm: capital heights that are tried until all of it stands on one page."""

MOST_ROWS = (1000, 40, 24, 14, 8, 4)
"""Rows of a table that are tried until all of it stands on one page."""

SIGN = 24.0
"""mm: height of the place to sign."""

CAUTION = (
    "A shop aid: the plans, the kit or type documents, local rules and the responsible inspector "
    "or licensed mechanic decide; where they differ from this page, they win."
)


def log_sheet(proof: Proof, *, today: str, paper: tuple[float, float], margin: float) -> bytes:
    """Return the record as a PDF of one page.

    Args:
        proof: what was judged.
        today: the date to put where the readings have none.
        paper: width and height, mm.
        margin: white on each side, mm.

    Returns:
        The bytes of the PDF.
    """
    from jiggen.write.pdf import write_pdf

    width, height = paper
    room = Bounds(margin, margin + SIGN, width - margin, height - margin)
    marks = _one_page(proof, today, room)
    stream = BytesIO()
    sheet = Sheet(
        name="record",
        width=width,
        height=height,
        marks=(*marks, *_place_to_sign(room, margin)),
        title=proof.job,
    )
    write_pdf([sheet], stream, title=f"{proof.job}: record of measurement")
    return stream.getvalue()


def _one_page(proof: Proof, today: str, room: Bounds) -> tuple[Mark, ...]:
    """Set the record smaller, then shorter, until it stands on one page."""
    for rows in MOST_ROWS:
        for size in SIZES:
            pages = flow(_strips(proof, today, room.width, size, rows), room)
            if len(pages) == 1:
                return pages[0]
    return pages[0]


def _strips(proof: Proof, today: str, width: float, size: float, rows: int) -> list[Strip]:
    def say(text: str) -> tuple[Strip, ...]:
        return paragraph(text, width, size) if text else ()

    day = f"Measured on {proof.date}" if proof.date else f"Judged on {today}"
    day += f" by {proof.by.rstrip('.')}" if proof.by else ""
    strips = [
        heading("Record of measurement", 4.2),
        *say(f"{proof.job}. {day}."),
        heading(verdict_words(proof), 8.0),
        space(1.0),
        *say(f"This holds {AS_IT_IS_NOW}. {proof.absent}" if proof.absent else ""),
        *say(summary(proof)),
        *say(spent_words(proof)),
        *(strip for said in printer_sentences(proof) for strip in say(said)),
        *(strip for said in machine_sentences(proof) for strip in say(said)),
        *(strip for note in proof.notes for strip in say(note)),
    ]
    for title, head, cells in _tables(proof):
        if cells:
            strips.append(heading(title))
            strips += table(head, cells[:rows], width, size)
            if len(cells) > rows:
                strips += say(f"and {len(cells) - rows} more")
    why = [r for r in reasons(proof) if r.verdict != USE] or list(reasons(proof))
    if why:
        strips.append(heading("Why"))
        for reason in why[:rows]:
            strips += say(why_sentence(reason))
        if len(why) > rows:
            strips += say(f"and {len(why) - rows} more")
    strips += _lines_for_the_job(proof, say)
    return [*strips, space(1.0)]


def _tables(proof: Proof) -> list[tuple[str, Sequence[str], list[list[str]]]]:
    """Return the tables: title, heading, rows."""
    return [
        (
            f"Readings, {proof.units}",
            ("on", "what", "drawn", "measured", "give or take"),
            [
                [
                    one.where,
                    one.name,
                    *(
                        ""
                        if mm is None
                        else say_length(mm, proof.units).removesuffix(f" {proof.units}")
                        for mm in (one.nominal, one.measured, one.plus_minus)
                    ),
                ]
                for one in proof.given
            ],
        ),
        (
            "Pieces on the sheets",
            ("piece", "on", "edge", "drawn", "came out", "give or take", "length off", "verdict"),
            [
                [
                    *(p.name, p.sheet, p.angle_name),
                    *(_deg(degrees(p.angle_nominal)), _deg(degrees(p.angle_as_printed))),
                    _deg(doubt_degrees(p.plus_minus)),
                    ""
                    if p.length_error_worst is None
                    else say_length(p.length_error_worst, proof.units),
                    p.verdict,
                ]
                for sheet in proof.printed.sheets
                for p in sheet.pieces
            ],
        ),
        (
            "Pieces as cut",
            ("piece", "edge", "drawn", "is", "give or take", "drift", "at hole", "verdict"),
            [
                [name, edge, *(_deg(cell) for cell in angles), drift, hole, verdict]
                for name, verdict, edge, *angles, drift, hole in cut_rows(proof)
            ],
        ),
        (
            "Test holes",
            ("drilled with", "off", "off along the edge", "give or take", "verdict"),
            [
                [name or "no piece named", *_hole_cells(hole), hole.verdict]
                for name, hole in proof.test_holes.items()
            ],
        ),
    ]


def _lines_for_the_job(proof: Proof, say: Callable[[str], tuple[Strip, ...]]) -> list[Strip]:
    """Return the lines that belong into the job file now."""
    lines: list[str] = []
    if should_reprint(proof):
        lines += print_lines(proof.printed.reprint)
    lines += coupon_lines(proof)
    if not lines:
        return []
    return [heading("For the job file"), *(strip for line in lines for strip in say(line))]


def _place_to_sign(room: Bounds, margin: float) -> tuple[Mark, ...]:
    """Draw two lines for name and date, and the caution below them."""
    y = margin + 12.0
    middle = room.left + room.width * 0.62
    marks = []
    for x0, x1, word in (
        (room.left, middle - 6.0, "Measured and signed by"),
        (middle, room.right, "Date"),
    ):
        marks.append(Mark(shape=Path.open([(x0, y), (x1, y)]), op=Op.NOTE, line=0.25))
        marks.append(Mark(shape=Text(Point(x0 + 0.5, y - 3.4), word, 2.0), op=Op.NOTE))
    for row, strip in enumerate(paragraph(CAUTION, room.width, 1.8)):
        for mark in strip.marks:
            if isinstance(mark.shape, Text):
                at = Point(room.left + 0.5, margin + 3.6 - 2.9 * row)
                marks.append(Mark(shape=Text(at, mark.shape.text, mark.shape.height), op=Op.NOTE))
    return tuple(marks)


def _hole_cells(hole: TestHoleVerdict) -> list[str]:
    """Return what a test hole is off, and the doubt; nothing where its readings are asked about."""
    if hole.questions:
        return ["", "", ""]
    x, y = (_deg(degrees(abs(off))) for off in hole.tilt)
    return [f"{x} {fore_or_aft(hole.tilt[0])}", y, _deg(doubt_degrees(max(hole.plus_minus)))]


def _deg(cell: str) -> str:
    """Return a number of degrees with its unit; words, and nothing, as they are."""
    return f"{cell} deg" if cell[:1].isdigit() else cell
