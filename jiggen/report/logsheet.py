"""The record for the builder's log: one page with answer, readings, reasons and a place to sign."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jiggen.drawing.lettering import LEADING, MIDDLE, SMALL, TITLE, shortened, text_width, wrap
from jiggen.drawing.looks import line, words
from jiggen.drawing.shapes import Mark, Weight
from jiggen.drawing.sheet import Sheet
from jiggen.proof.checks import CANNOT_TELL, DO_NOT_USE, USE
from jiggen.proof.prove import Proof
from jiggen.report.verdict import answer_rows, came_out, coupon_lines, reasons, tables_of

MOST_ROWS = (1000, 40, 24, 14, 8, 4, 2)
"""Rows of a table that are tried until all of it stands on one page."""

SIGN, GAP = 24.0, 4.0  # mm. Height of the place to sign, and white between two columns

#: Height and weight of the letters of a row, and where each of its texts begins, mm.
_Row = tuple[float, Weight, list[tuple[float, str]]]

CAUTION = (
    "A shop aid: the plans, the kit or type documents, local rules and the responsible inspector "
    "or licensed mechanic decide; where they differ from this page, they win."
)


def log_sheet(proof: Proof, *, today: str, paper: tuple[float, float], margin: float) -> bytes:
    """Return the record as a PDF of one page.

    The paper is width and height, the margin the white on each side, mm; `today` stands where the
    readings have no date.
    """
    from jiggen.write.pdf import pdf_bytes

    width, height = paper
    sheet = Sheet(
        name="record",
        width=width,
        height=height,
        marks=(
            *_one_page(proof, today, width, height, margin),
            *_place_to_sign(width, margin),
        ),
        title=proof.job,
    )
    return pdf_bytes([sheet], title=f"{proof.job}: record of measurement")[0]


def _one_page(proof: Proof, today: str, width: float, height: float, margin: float) -> list[Mark]:
    """Set the record with fewer rows until it stands on one page."""
    for most in MOST_ROWS:
        marks: list[Mark] = []
        y = height - margin
        for size, weight, cells in _rows(proof, today, width - 2 * margin, most):
            y -= LEADING * size
            marks += [words((margin + x, y), text, size, weight) for x, text in cells if text]
        if y >= margin + SIGN:
            break
    return marks


def _rows(proof: Proof, today: str, room: float, most: int) -> Iterator[_Row]:
    day = f"Measured on {proof.readings.date}" if proof.readings.date else f"Judged on {today}"
    day += f" by {proof.readings.by.rstrip('.')}" if proof.readings.by else ""
    units = proof.units
    yield _row("Record of measurement", TITLE, Weight.BOLD)
    yield from _paragraph(f"{proof.job}. {day}.", room)
    for text, _ in answer_rows(proof):
        yield from _paragraph(text, room, MIDDLE, Weight.SEMIBOLD)
    for text in (*came_out(proof), *(note.said(units) for note in proof.notes)):
        yield from _paragraph(text, room)
    for title, columns, _, rows in tables_of(proof):
        if rows:
            yield _row("")
            yield _row(title, SMALL, Weight.SEMIBOLD)
            yield from _table(columns, rows[:most], room)
            yield from _left_out(len(rows) - most)
    why = reasons(proof, (DO_NOT_USE, CANNOT_TELL)) or reasons(proof, (USE,))
    for title, lines in (("Why", why), ("For the job file", coupon_lines(proof))):
        if lines:
            yield _row("")
            yield _row(title, SMALL, Weight.SEMIBOLD)
        for text in lines[:most]:
            yield from _paragraph(text, room)
        yield from _left_out(len(lines) - most)


def _row(text: str, size: float = SMALL, weight: Weight = Weight.MEDIUM) -> _Row:
    return size, weight, [(0.0, text)]


def _paragraph(
    text: str, room: float, size: float = SMALL, weight: Weight = Weight.MEDIUM
) -> list[_Row]:
    return [_row(part, size, weight) for part in wrap(text, size, room, weight)]


def _left_out(count: int) -> list[_Row]:
    return [_row(f"and {count} more")] if count > 0 else []


def _table(columns: Sequence[str], rows: Sequence[Sequence[str]], room: float) -> list[_Row]:
    """Return a table whose columns are as wide as they need, the last ones cut if they must."""
    wide = [
        max(text_width(cell, SMALL) for cell in cells) for cells in zip(columns, *rows, strict=True)
    ]
    starts = [sum(wide[:n]) + n * GAP for n in range(len(wide))]
    return [
        (
            SMALL,
            Weight.SEMIBOLD if cells is columns else Weight.MEDIUM,
            [
                (x, shortened(cell, SMALL, room - x) if cell else "")
                for x, cell in zip(starts, cells, strict=True)
                if x < room
            ],
        )
        for cells in (columns, *rows)
    ]


def _place_to_sign(width: float, margin: float) -> list[Mark]:
    """Draw two lines for name and date, and the caution below them."""
    y, right = margin + 15.0, width - margin
    middle = margin + (right - margin) * 0.62
    marks = []
    for x0, x1, said in ((margin, middle - 6.0, "Measured and signed by"), (middle, right, "Date")):
        marks += [line((x0, y), (x1, y)), words((x0, y - 4.0), said, SMALL)]
    below = wrap(CAUTION, SMALL, right - margin)
    return marks + [
        words((margin, margin + LEADING * SMALL * (len(below) - 1 - n)), text, SMALL)
        for n, text in enumerate(below)
    ]
