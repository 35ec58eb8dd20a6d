"""The last pages: every number in full, and which corners a calliper goes over.

No piece carries what stands here: sizes over lettered corners, angles with their plus-minus, checks
that came out well, checks that could not be made, and what had no room on its piece.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from jiggen.drawing.lettering import LARGE, SMALL, shortened, text_width, wrap
from jiggen.drawing.looks import FINE, HATCH, NARROW, WIDE, area, line, moved, words
from jiggen.drawing.page import Paper
from jiggen.drawing.piece import CheckDimension, Piece
from jiggen.drawing.room import segments_of
from jiggen.drawing.shapes import Anchor, Mark, Weight
from jiggen.jigs.plan import Plan, Planned, Table
from jiggen.solution import Check, Solution
from jiggen.units import INCH, bare

#: mm. Room of a lettered outline with its calliper; height of a row; gap between blocks.
OUTLINE_WIDE, OUTLINE_HIGH = 108.0, 80.0
ROW, GAP, COLUMN_GAP = 5.5, 6.0, 8.0
#: mm. Above the first block, and below the last.
TOP, FOOT = 24.0, 14.0
#: Words of a sentence that a value may run over.
PLACES = {"mm": 2, "in": 4}

WORDS = (
    ("angle allowed", "how far the bit may lean before the hole misses at the far skin."),
    ("land", "straight hole left between the rims of two countersinks."),
    ("chord plane", "the plane that halves the wedge; the drill stands square to it."),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Block:
    """Something with a height that goes into a column, or across both."""

    marks: tuple[Mark, ...]
    height: float
    wide: bool = False


def numbers_pages(
    solution: Solution, paper: Paper, planned: Planned, checks: Sequence[Check]
) -> list[tuple[Mark, ...]]:
    """Return the marks of the pages of numbers, without their frame.

    Args:
        solution: the solved job.
        paper: its paper.
        planned: the plans.
        checks: all checks.
    """
    width = paper.width - 2 * paper.margin
    column = (width - COLUMN_GAP) / 2 if width >= 150.0 else width
    blocks: list[_Block] = []
    for plan in planned.plans:
        blocks += _lettered(plan, paper.units, width)
    tables = [_angles(solution), *(table for plan in planned.plans for table in plan.tables)]
    tables += [_checked(checks, paper.units, "ok", "checked, good")]
    tables += [_checked(checks, paper.units, "not checked", "not checked: your plans decide")]
    tables += [_numbers(solution), _left_out(planned.pieces)]
    most = int((paper.height - TOP - FOOT - paper.margin) / ROW) - 1
    blocks += [_table(t, column) for table in tables for t in _parted(table, most)]
    blocks.append(_words(width))
    return _flowed(blocks, paper, column)


def _flowed(blocks: Sequence[_Block], paper: Paper, column: float) -> list[tuple[Mark, ...]]:
    """Set blocks in columns, page by page; a wide one goes across both."""
    high = paper.height - TOP - FOOT - paper.margin
    many = 1 if column > (paper.width - 2 * paper.margin) * 0.6 else 2
    pages: list[list[Mark]] = [[]]
    used = [0.0] * many
    for block in blocks:
        if block.wide:
            start = max(used)
            if start + block.height > high and start > 0.0:
                pages.append([])
                start = 0.0
            used = [start + block.height + GAP] * many
            k = 0
        else:
            k = min(range(many), key=lambda n: used[n])
            if used[k] + block.height > high and used[k] > 0.0:
                pages.append([])
                used = [0.0] * many
                k = 0
            start = used[k]
            used[k] += block.height + GAP
        x = paper.margin + k * (column + COLUMN_GAP)
        y = paper.height - TOP - start
        pages[-1] += moved(block.marks, x, y)
    return [tuple(page) for page in pages]


# --- lettered outlines


def _lettered(plan: Plan, units: str, width: float) -> list[_Block]:
    """Return the first lettered outline of a jig with a calliper, and the sizes of its pieces."""
    sized = [p for p in plan.pieces if any(not d.is_bar for d in p.dimensions)]
    shown = next((p for p in sized if _letters(p)), None)
    tables = [
        Table(title=f"calliper, {p.title}, {units}", rows=tuple(_rows(p, units))) for p in sized
    ]
    if shown is None:
        return [_table(t, min(width, (width - COLUMN_GAP) / 2)) for t in tables]
    outline = _outline(shown, units)
    beside = width - OUTLINE_WIDE - COLUMN_GAP
    if beside < 50.0:
        return [outline, *(_table(t, width) for t in tables)]
    first = _table(tables[sized.index(shown)], beside)
    marks = (*outline.marks, *_shifted(first.marks, OUTLINE_WIDE + COLUMN_GAP))
    whole = _Block(marks=marks, height=max(outline.height, first.height), wide=True)
    rest = [t for n, t in enumerate(tables) if n != sized.index(shown)]
    return [whole, *(_table(t, (width - COLUMN_GAP) / 2) for t in rest)]


def _shifted(marks: Sequence[Mark], dx: float) -> tuple[Mark, ...]:
    return moved(marks, dx, 0.0)


def _letters(piece: Piece) -> dict[str, tuple[float, float]]:
    """Return the lettered corners that a piece's sizes are named by."""
    found: dict[str, tuple[float, float]] = {}
    for size in piece.dimensions:
        ends = size.name.split("-")
        if len(ends) == 2 and all(len(end) == 1 and end.isupper() for end in ends):
            found[ends[0]], found[ends[1]] = size.start, size.end
    return found


def _rows(piece: Piece, units: str) -> list[tuple[str, str]]:
    one = INCH if units == "in" else 1.0
    return [
        (_said(d), f"{d.nominal / one:.{PLACES[units] - (units == 'in')}f}")
        for d in piece.dimensions
        if not d.is_bar
    ]


def _said(size: CheckDimension) -> str:
    lettered = len(size.name) == 3 and size.name[1] == "-"
    return size.name.replace("-", "–" if lettered else " ")


def _outline(piece: Piece, units: str) -> _Block:
    """Draw a lettered outline, a calliper laid over the first of its sizes."""
    box = piece.outline.bounds()
    scale = next(
        s
        for s in (1.0, 0.5, 0.2, 0.1)
        if s * box.width <= OUTLINE_WIDE - 16.0 and s * box.height <= OUTLINE_HIGH - 26.0
    )
    dx, top = 8.0 - scale * box.left, -6.0 - scale * (box.top)

    def at(p: tuple[float, float]) -> tuple[float, float]:
        return (dx + scale * p[0], top + scale * p[1])

    corners = [at(start) for start, _ in segments_of(piece.outline)]
    marks = [line(*corners, corners[0], width=WIDE)]
    for hole in piece.inner:
        rim = [at(start) for start, _ in segments_of(hole)]
        marks.append(line(*rim, rim[0], width=NARROW))
    middle = ((box.left + box.right) / 2, (box.bottom + box.top) / 2)
    for letter, spot in _letters(piece).items():
        away = math.atan2(spot[1] - middle[1], spot[0] - middle[0])
        x, y = at(spot)
        place = (x + 4.0 * math.cos(away), y + 4.0 * math.sin(away) - 1.75)
        marks.append(words(place, letter, 3.5, Weight.SEMIBOLD, Anchor.MIDDLE))
    low = top + scale * box.bottom
    centre = at(middle)
    marks.append(words((centre[0], centre[1]), piece.label, LARGE, Weight.SEMIBOLD, Anchor.MIDDLE))
    said = "1:1" if scale == 1.0 else f"1:{1 / scale:g}"
    marks.append(words((centre[0], centre[1] - 6.0), said, SMALL, anchor=Anchor.MIDDLE))
    first = next(d for d in piece.dimensions if not d.is_bar)
    marks += _calliper(at(first.start), at(first.end), low - 14.0, first.nominal, units)
    return _Block(marks=tuple(marks), height=-low + 22.0, wide=True)


def _calliper(
    start: tuple[float, float], end: tuple[float, float], y: float, nominal: float, units: str
) -> list[Mark]:
    """Draw a calliper whose jaws stand at two places, its beam at y."""
    left, right = sorted((start, end))
    marks = []

    def jaw(x: float, tip: float, way: float) -> Mark:
        return area([(x, tip), (x + way * 3.0, tip), (x + way * 3.0, y), (x, y)], 0.0, NARROW)

    beam = [
        (left[0] - 6.0, y - 5.0),
        (right[0] + 24.0, y - 5.0),
        (right[0] + 24.0, y),
        (left[0] - 6.0, y),
    ]
    marks += [
        jaw(left[0], min(left[1], y + 13.0), -1.0),
        jaw(right[0], min(right[1], y + 13.0), 1.0),
    ]
    marks.append(area(beam, 0.0, NARROW))
    count = int((right[0] - left[0] + 2.0) // 2.0)
    for k in range(count):
        x = left[0] + 2.0 * k
        marks.append(line((x, y - 5.0), (x, y - (2.4 if k % 5 == 0 else 3.6)), width=FINE))
    one = INCH if units == "in" else 1.0
    slide = [
        (right[0] - 4.0, y - 7.0),
        (right[0] + 16.0, y - 7.0),
        (right[0] + 16.0, y),
        (right[0] - 4.0, y),
    ]
    marks.append(area(slide, 0.0, NARROW))
    said = f"{nominal / one:.{1 if units == 'mm' else 3}f}"
    marks.append(words((right[0] + 6.0, y - 4.7), said, SMALL, Weight.SEMIBOLD, Anchor.MIDDLE))
    return marks


# --- tables


def _table(table: Table, width: float) -> _Block:
    marks = [words((0.0, -SMALL), table.title, SMALL, Weight.SEMIBOLD)]
    y = -ROW
    marks.append(line((0.0, y), (width, y), width=WIDE))
    for what, value in table.rows:
        base = y - (ROW + SMALL) / 2
        said = shortened(value, SMALL, width * 0.6, Weight.SEMIBOLD)
        room = width - text_width(said, SMALL, Weight.SEMIBOLD) - 3.0
        marks.append(words((0.0, base), shortened(what, SMALL, room)))
        marks.append(words((width, base), said, SMALL, Weight.SEMIBOLD, Anchor.END))
        y -= ROW
        marks.append(line((0.0, y), (width, y), width=HATCH))
    return _Block(marks=tuple(marks), height=-y)


def _parted(table: Table, most: int) -> list[Table]:
    """Return a table in parts of at most so many rows; none where it is empty."""
    starts = range(0, len(table.rows), most)
    return [Table(title=table.title, rows=table.rows[n : n + most]) for n in starts]


def _angles(solution: Solution) -> Table:
    rows = []
    for number, at in enumerate(solution.stations, start=1):
        where = f"station {number}, " if len(solution.stations) > 1 else ""
        for side, skin, off in (
            (solution.job.sides[0], at.skin_a, at.plus_minus_a),
            (solution.job.sides[1], at.skin_b, at.plus_minus_b),
        ):
            doubt = "" if off is None else f" ± {math.degrees(off):.2f}°"
            rows.append(
                (
                    f"{where}{side}, forward and aft",
                    f"{90 - math.degrees(skin):.2f}° {90 + math.degrees(skin):.2f}°{doubt}",
                )
            )
    return Table(title="angles and plus-minus", rows=tuple(rows))


def _checked(checks: Sequence[Check], units: str, status: str, title: str) -> Table:
    one = INCH if units == "in" else 1.0
    rows = []
    for check in checks:
        if check.status != status:
            continue
        value = "–"
        if check.value is not None:
            value = (
                f"{check.value:.2f}°"
                if check.unit == "deg"
                else f"{check.value / one:.{PLACES[units]}f} {units}"
                if check.unit == "mm"
                else f"{check.value:.4g}"
            )
        rows.append((check.name, value))
    return Table(title=title, rows=tuple(rows))


def _numbers(solution: Solution) -> Table:
    units = solution.job.units
    rows = tuple((line.what, bare(line.brief, units)) for line in solution.riveting)
    return Table(title=f"rivet and countersink, {units}", rows=rows)


def _left_out(pieces: Sequence[Piece]) -> Table:
    rows = tuple((p.title, ", ".join(p.left_out)) for p in pieces if p.left_out)
    return Table(title="beside the piece, not on it", rows=rows)


def _words(width: float) -> _Block:
    marks = [words((0.0, -SMALL), "words", SMALL, Weight.SEMIBOLD)]
    y = -ROW
    marks.append(line((0.0, y), (width, y), width=WIDE))
    for word, meaning in WORDS:
        lines = wrap(meaning, SMALL, width - 30.0)
        marks.append(words((0.0, y - ROW + 1.0), word, SMALL, Weight.SEMIBOLD))
        for text in lines:
            y -= ROW
            marks.append(words((29.0, y + 1.0), text))
    return _Block(marks=tuple(marks), height=-y, wide=True)
