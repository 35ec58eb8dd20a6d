"""What a drawing measures, as records, as JSON and in words for a person at the bench."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import Struct

from jiggen.remeasure.shapes import OFF, Finding, Point

LINES_MOST = 15  # lines that a person is shown; ``--json`` has the rest

_FINDINGS_MOST = 7
"""Of these lines for what there is to say; the table of pieces takes what is left."""

_CELL_MOST = 40  # characters of a name; a file can hold any


class Measured(Struct, frozen=True, kw_only=True):
    """A length in mm, or an angle in degrees, as it measures in the file."""

    name: str
    measured: float | None  # tick to tick, corner to corner, edge to edge; None: not there
    nominal: float  # on the finished work
    drawn: float  # what the file should show: the nominal value, but for a print correction

    @property
    def error(self) -> float | None:
        """Return by how much it measures too much."""
        return None if self.measured is None else self.measured - self.drawn


class MeasuredPiece(Struct, frozen=True, kw_only=True):
    """A piece as it is in the file."""

    name: str  # of the piece; ``piece 1`` where no record tells its name
    page: int  # on which it lies, from 1
    outline: tuple[Point, ...]  # mm, y up from the page's lower left; arcs as chords within 0.5 um
    angles: tuple[Measured, ...] = ()
    bars: tuple[Measured, ...] = ()
    sizes: tuple[Measured, ...] = ()  # its other sizes, where both ends are corners in the file
    worst_shift: float | None = None  # how far outline and holes run off at most, mm, if known
    inside: int | None = None  # how many closed lines lie inside it, where no record tells

    @property
    def extent(self) -> tuple[float, float] | None:
        """Return width and height of its outline as it lies, mm; None where it is not there."""
        if not self.outline:
            return None
        xs, ys = zip(*self.outline, strict=True)
        return max(xs) - min(xs), max(ys) - min(ys)


class MeasuredPage(Struct, frozen=True, kw_only=True):
    """A page or sheet as it is in the file."""

    name: str  # of the sheet; empty where no record tells it
    number: int  # from 1
    width: float | None  # mm; None in a format without pages
    height: float | None
    bars: tuple[Measured, ...] = ()  # the page's own


class Measurement(Struct, frozen=True, kw_only=True):
    """A drawing, measured."""

    file: str  # its name as it was given
    kind: str  # ``pdf``, ``svg`` or ``dxf``
    pieces: tuple[MeasuredPiece, ...]
    pages: tuple[MeasuredPage, ...]
    findings: tuple[Finding, ...]  # what there is to say, worst first
    known: bool  # what it should measure is known, and lies where it should

    @property
    def ok(self) -> bool:
        """Return whether it was measured against its nominal sizes and nothing is off."""
        return self.known and not any(finding.severity == OFF for finding in self.findings)

    @property
    def worst_length_error(self) -> float | None:
        """Return the largest error of a bar or size, mm, without its sign; None without any."""
        lengths = [bar for page in self.pages for bar in page.bars]
        lengths += [size for piece in self.pieces for size in (*piece.bars, *piece.sizes)]
        return _worst(lengths)

    @property
    def worst_angle_error(self) -> float | None:
        """Return the largest error of a check angle, degrees, without its sign; None without."""
        return _worst([angle for piece in self.pieces for angle in piece.angles])

    def as_json(self) -> dict[str, Any]:
        """Return the object that ``remeasure --json`` prints: mm and degrees, full precision."""
        return {
            "file": self.file,
            "format": self.kind,
            "unit": "mm",
            "pieces": [_piece_as_json(piece) for piece in self.pieces],
            "worst_length_error": self.worst_length_error,
            "worst_angle_error": self.worst_angle_error,
            "ok": self.ok,
            "pages": [
                {
                    "name": page.name,
                    "page": page.number,
                    "width": page.width,
                    "height": page.height,
                    "bars": [_size_as_json(bar) for bar in page.bars],
                }
                for page in self.pages
            ],
            "findings": [
                {"severity": f.severity, "page": f.page or None, "text": f.text}
                for f in self.findings
            ],
        }


def _worst(measured: Sequence[Measured]) -> float | None:
    return max((abs(e) for one in measured if (e := one.error) is not None), default=None)


def _piece_as_json(piece: MeasuredPiece) -> dict[str, Any]:
    first = piece.angles[0] if piece.angles else None
    extent = piece.extent
    return {
        "name": piece.name,
        "outline": [[x, y] for x, y in piece.outline],
        "angle": first.measured if first else None,
        "angle_nominal": first.nominal if first else None,
        "bars": [_size_as_json(bar) for bar in piece.bars],
        "page": piece.page,
        "angles": [
            {"name": angle.name, "measured": angle.measured, "nominal": angle.nominal}
            for angle in piece.angles
        ],
        "sizes": [_size_as_json(size) for size in piece.sizes],
        "worst_shift": piece.worst_shift,
        "width": extent[0] if extent else None,
        "height": extent[1] if extent else None,
        "inside": piece.inside,
    }


def _size_as_json(size: Measured) -> dict[str, Any]:
    row = {"name": size.name, "measured": size.measured, "nominal": size.nominal}
    return row if size.drawn == size.nominal else row | {"drawn": size.drawn}


def measurement_text(measured: Measurement, width: int = 100) -> str:
    """Return a measurement as text: the answer, why, and the pieces, at most `LINES_MOST` lines."""
    file = " ".join(measured.file.splitlines())
    lines = [f"{_verdict(measured)}: {file}", *textwrap.wrap(_summary(measured), width)]
    room = _FINDINGS_MOST
    for at, finding in enumerate(measured.findings):
        where = f"page {finding.page}: " if finding.page and len(measured.pages) > 1 else ""
        said = textwrap.wrap(
            f"{finding.severity:<6}{where}{finding.text}",
            width,
            subsequent_indent=" " * 6,
            break_on_hyphens=False,
        )
        room -= len(said)
        if room < 0 and at:
            left = len(measured.findings) - at
            lines.append(f"      and {left} more: --json has all that there is to say")
            break
        lines += said[:_FINDINGS_MOST]
    return "\n".join([*lines, *_table(measured, LINES_MOST - len(lines))]) + "\n"


def _verdict(measured: Measurement) -> str:
    if measured.ok:
        return "True to size"
    return "Not as it should be" if measured.known else "Cannot tell"


def _summary(measured: Measurement) -> str:
    lists = [page.bars for page in measured.pages] + [piece.bars for piece in measured.pieces]
    bars = sum(1 for row in lists for bar in row if bar.measured is not None)
    angles = [a for piece in measured.pieces for a in piece.angles if a.measured is not None]
    outlines = sum(1 for piece in measured.pieces if piece.outline)
    words = (
        f"Measured in the {measured.kind.upper()} itself: {count_of(outlines, 'outline')}, "
        f"{count_of(len(angles), 'angle')}, {count_of(bars, 'bar')}"
    )
    if measured.worst_length_error is not None:
        words += f"; worst length error {measured.worst_length_error:.4f} mm"
    if measured.worst_angle_error is not None:
        words += f", worst angle error {measured.worst_angle_error:.4f} degrees"
    if measured.ok and measured.kind != "pdf":
        words += "; letters drawn in strokes are counted, not read"
    return f"{words}."


def count_of(number: int, thing: str) -> str:
    """Return how many of a thing there are, in words."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


_HEADINGS = ("piece", "page", "angle deg", "should be", "bars", "worst bar mm", "outline off mm")
_SIZE_HEADINGS = ("outline", "page", "width mm", "height mm", "lines inside")


def _table(measured: Measurement, room: int) -> list[str]:
    """Return the pieces in a table of so many lines, those that are most off first."""
    known = [piece for piece in measured.pieces if piece.inside is None]
    pieces = sorted(known, key=_merit) if known else list(measured.pieces)
    rows = [_row(piece) if known else _size_row(piece) for piece in pieces]
    if not rows:
        return []
    most = max(room, 4) - 2
    shown = rows if len(rows) <= most else rows[: most - 1]
    lines = list(_ruled(_HEADINGS if known else _SIZE_HEADINGS, shown))
    if len(shown) < len(rows):
        lines.append(f"and {len(rows) - len(shown)} more: --json has all pieces")
    return lines


def _merit(piece: MeasuredPiece) -> tuple[float, ...]:
    """Return what sorts the pieces: what is not there, then the most off, then those of angles."""
    there = piece.outline and all(angle.measured is not None for angle in piece.angles)
    off = max(_worst(piece.bars) or 0.0, piece.worst_shift or 0.0)
    return (1.0 if there else 0.0, -round(off, 3), 0.0 if piece.angles else 1.0)


def _row(piece: MeasuredPiece) -> tuple[str, ...]:
    angle = piece.angles[0] if piece.angles else None
    return (
        piece.name,
        str(piece.page),
        "" if angle is None else _number(angle.measured, 3),
        "" if angle is None else _number(angle.drawn, 3),
        *_bars(piece.bars),
        "not found" if not piece.outline else _number(piece.worst_shift, 3),
    )


def _size_row(piece: MeasuredPiece) -> tuple[str, ...]:
    """Return the row of an outline of which nothing is known but how large it is."""
    width, height = piece.extent or (None, None)
    return (piece.name, str(piece.page), _number(width, 3), _number(height, 3), str(piece.inside))


def _bars(bars: Sequence[Measured]) -> tuple[str, str]:
    found, worst = sum(bar.measured is not None for bar in bars), _worst(bars)
    count = f"{found} of {len(bars)}" if found < len(bars) else str(len(bars))
    return count, "-" if worst is None else _number(worst, 4)


def _number(value: float | None, decimals: int) -> str:
    return "not found" if value is None else f"{value:.{decimals}f}"


def _ruled(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    rows = [[" ".join(cell.split())[:_CELL_MOST] for cell in row] for row in rows]
    widths = [max(len(row[at]) for row in (headings, *rows)) for at in range(len(headings))]
    for row in (headings, ["-" * width for width in widths], *rows):
        cells = [row[0].ljust(widths[0])]
        cells += [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        yield "  ".join(cells).rstrip()
