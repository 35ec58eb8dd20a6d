"""A measurement in words, for a person at the bench: verdict first, reasons, then the table."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from jiggen.remeasure.found import OFF
from jiggen.remeasure.measurement import MeasuredPiece, MeasuredSize, Measurement


def measurement_text(measured: Measurement, width: int = 100) -> str:
    """Return a measurement as text.

    Args:
        measured: the drawing.
        width: columns that sentences are wrapped to.

    Returns:
        Lines, each ended.
    """
    lines = [f"{_verdict(measured)}: {measured.file}"]
    lines += textwrap.wrap(_summary(measured), width)
    if measured.findings:
        lines.append("")
    for finding in measured.findings:
        where = f"page {finding.page}: " if finding.page and len(measured.pages) > 1 else ""
        lines += textwrap.wrap(
            f"{finding.severity:<6}{where}{finding.text}",
            width,
            subsequent_indent=" " * 6,
            break_long_words=False,
            break_on_hyphens=False,
        )
    rows = [_row(piece) for piece in measured.pieces if piece.inside is None]
    rows += [
        (f"(page {page.number})", str(page.number), "", "", *_bars(page.bars), "")
        for page in measured.pages
        if page.bars
    ]
    if rows:
        lines += ["", *_table(_HEADINGS, rows)]
    sizes = [_size_row(piece) for piece in measured.pieces if piece.inside is not None]
    if sizes:
        lines += ["", *_table(_SIZE_HEADINGS, sizes)]
    return "\n".join(lines) + "\n"


_HEADINGS = (
    "piece", "page", "angle deg", "should be", "bars", "worst bar mm", "outline off mm",
)  # fmt: skip

_SIZE_HEADINGS = ("outline", "page", "width mm", "height mm", "lines inside")


def _verdict(measured: Measurement) -> str:
    if measured.ok:
        return "True to size"
    if measured.known:
        return "Not as it should be"
    return "Cannot tell"


def _summary(measured: Measurement) -> str:
    lists = [page.bars for page in measured.pages] + [piece.bars for piece in measured.pieces]
    bars = sum(1 for row in lists for bar in row if bar.measured is not None)
    angles = sum(
        1 for piece in measured.pieces for angle in piece.angles if angle.measured is not None
    )
    outlines = _count(len(measured.pieces), "outline")
    words = [
        f"Measured in the {measured.kind.upper()} itself: {outlines}, {_count(angles, 'angle')}, "
        f"{_count(bars, 'bar')}."
    ]
    if measured.worst_length_error is not None:
        words.append(f"Worst length error {measured.worst_length_error:.4f} mm.")
    if measured.worst_angle_error is not None:
        words.append(f"Worst angle error {measured.worst_angle_error:.4f} degrees.")
    if not any(finding.severity == OFF for finding in measured.findings):
        words.append(
            "Lettering is not compared, and what a printer or a machine makes of it, only the bars "
            "on the work can tell."
        )
    return " ".join(words)


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _row(piece: MeasuredPiece) -> tuple[str, ...]:
    angle = piece.angles[0] if piece.angles else None
    shift = piece.worst_shift
    return (
        piece.name,
        str(piece.page),
        "" if angle is None else _number(angle.measured, 3),
        "" if angle is None else _number(angle.drawn, 3),
        *_bars(piece.bars),
        "" if shift is None else _number(shift, 3),
    )


def _size_row(piece: MeasuredPiece) -> tuple[str, ...]:
    """Return the row of an outline of which nothing is known but how large it is."""
    width, height = piece.extent or (None, None)
    return (piece.name, str(piece.page), _number(width, 3), _number(height, 3), str(piece.inside))


def _bars(bars: Sequence[MeasuredSize]) -> tuple[str, str]:
    errors = [abs(e) for bar in bars if (e := bar.error) is not None]
    count = f"{len(errors)} of {len(bars)}" if len(errors) < len(bars) else str(len(bars))
    return count, _number(max(errors), 4) if errors else "-"


def _number(value: float | None, decimals: int) -> str:
    return "not found" if value is None else f"{value:.{decimals}f}"


def _table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    widths = [max(len(row[at]) for row in (headings, *rows)) for at in range(len(headings))]
    for row in (headings, ["-" * width for width in widths], *rows):
        cells = [row[0].ljust(widths[0])]
        cells += [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        yield "  ".join(cells).rstrip()
