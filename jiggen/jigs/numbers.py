"""The last pages: every number in full, and which corners a calliper goes over.

No piece carries what stands here: sizes over lettered corners, angles with their plus-minus, checks
that came out well, checks that could not be made, and what had no room on its piece.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct, field

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.lettering import LARGE, MIDDLE, SMALL, shortened, text_width, wrap
from jiggen.drawing.looks import FINE, HATCH, NARROW, WIDE, area, line, moved, words
from jiggen.drawing.page import Paper
from jiggen.drawing.piece import CheckDimension, Piece
from jiggen.drawing.room import corners_of
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Text, Weight
from jiggen.drawing.sketch import Sketch
from jiggen.errors import say
from jiggen.jigs.plan import CANNOT, Plan, Planned, Table
from jiggen.solution import Check, Solution
from jiggen.units import INCH, bare

#: mm. Most height of a lettered outline; from a corner of it to its letter.
OUTLINE_HIGH, LETTER_OFF = 56.0, 4.0
#: mm. Height of a row; gap between blocks, between columns of blocks, and of a table.
ROW, GAP, COLUMN_GAP, COLUMN_SPACE = 5.5, 6.0, 8.0, 3.0
#: mm. From the tips of a calliper's jaws to its beam, as it is drawn.
BEAM = 14.0
#: mm. Above the first block, and below the last.
TOP, FOOT = 24.0, 14.0
#: Most words of a page, besides its frame; in steps of so many they are evened out.
MOST_WORDS, EVEN = 380, 20
#: Decimal places of a length, and mm in one, by unit.
PLACES, ONE = {"mm": 2, "in": 4}, {"mm": 1.0, "in": INCH}

UNCHECKED = "not checked: your plans decide"
WORDS = (
    ("angle allowed", "how far the bit may lean before the hole misses at the far skin."),
    ("land", "straight hole that the countersink leaves."),
    ("chord plane", "the plane that halves the wedge; the drill stands square to it."),
)


class _Block(Struct, frozen=True, kw_only=True):
    """Something with a height that goes into a column, or across both."""

    marks: tuple[Mark, ...]
    height: float
    wide: bool = False

    @property
    def count(self) -> int:
        """Return how many words it says."""
        return sum(len(m.shape.text.split()) for m in self.marks if isinstance(m.shape, Text))


class _Grid(Struct, frozen=True, kw_only=True):
    """A table with a column for each of its heads; one without heads has one column."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def needs(self) -> tuple[float, list[float]]:
        """Return the width of what is said of the rows, and that of each column, mm."""
        first = max(text_width(what, SMALL) for what, _ in self.rows)
        some = range(len(self.rows[0][1]))
        wides = [max(_wide(values[k]) for _, values in self.rows) for k in some]
        if self.heads:
            wides = [max(w, text_width(h, SMALL)) for w, h in zip(wides, self.heads, strict=True)]
        return first, [wide + COLUMN_SPACE for wide in wides]

    def part(self, rows: slice = slice(None), columns: slice = slice(None)) -> _Grid:
        """Return some rows and columns of it."""
        some = tuple((what, values[columns]) for what, values in self.rows[rows])
        return _Grid(title=self.title, heads=self.heads[columns], rows=some)


def numbers_pages(
    solution: Solution, paper: Paper, planned: Planned, checks: Sequence[Check]
) -> list[tuple[Mark, ...]]:
    """Return the marks of the pages of numbers, without their frame."""
    width = paper.width - 2 * paper.margin
    column = (width - COLUMN_GAP) / 2 if width >= 150.0 else width
    high = paper.height - TOP - FOOT - paper.margin
    sized = [_lettered(plan, paper.units, width, column, high) for plan in planned.plans]
    first = [_angles(solution), _checked(checks, paper.units, "not checked", UNCHECKED)]
    last = [
        _checked(checks, paper.units, "ok", "checked, good"),
        _numbers(solution),
        _left_out(planned.pieces),
    ]

    def laid(grids: Sequence[_Grid]) -> list[_Block]:
        return [block for grid in grids for block in _laid(grid, column, width, high)]

    blocks = [*_stops(checks, column, paper.units), *next(iter(sized), ())]
    blocks += laid([_plain(table) for table in first if table.rows])
    blocks += [block for some in sized[1:] for block in some]
    blocks += laid([_plain(table) for table in last if table.rows])
    for plan in planned.plans:
        own = [(table.title, table.rows) for table in plan.tables if table.rows]
        blocks += laid(_joined(own, column))
    blocks.append(_words(column))
    return _flowed(blocks, paper, column)


def _flowed(blocks: Sequence[_Block], paper: Paper, column: float) -> list[tuple[Mark, ...]]:
    """Set blocks in columns on the fewest pages that hold them; a wide one goes across both.

    Of pages that are as few, those are best that say about as much as one another: no table is
    left alone on the last one.
    """
    high = paper.height - TOP - FOOT - paper.margin
    many = 1 if column > (paper.width - 2 * paper.margin) * 0.6 else 2
    tallest_first = sorted(blocks, key=lambda block: -block.height)
    for count in range(1, len(blocks) + 1):
        for order in (blocks, tallest_first):
            for most in range(EVEN, MOST_WORDS + 1, EVEN):
                pages = _tried(order, [_Filling(high, most, many) for _ in range(count)])
                if pages is not None:
                    return [_page_marks(page, paper, column) for page in pages]
    raise AssertionError("a page for each block always does")


def _tried(blocks: Sequence[_Block], pages: list[_Filling]) -> list[_Filling] | None:
    """Fill pages, the wide blocks first, from the last page on; None where they do not hold all."""
    for block in (b for b in blocks if b.wide):
        page = min(reversed(pages), key=lambda p: (not p.has_room(block), max(p.used)))
        if not page.take(block):
            return None
    for block in (b for b in blocks if not b.wide):
        if not any(page.take(block) for page in pages):
            return None
    return pages if all(page.placed for page in pages) else None


class _Filling(Struct):
    """A page while it is filled: its room, and what stands in which column how far down, mm."""

    high: float
    most: int
    columns: int
    used: list[float] = field(default_factory=list)
    placed: list[tuple[_Block, int, float]] = field(default_factory=list)
    count: int = 0

    def __post_init__(self) -> None:
        self.used = [0.0] * self.columns

    def has_room(self, block: _Block) -> bool:
        """Return whether a block fits; an empty page takes any."""
        start = max(self.used) if block.wide else min(self.used)
        full = self.count + block.count > self.most or start + block.height > self.high
        return not self.placed or not full

    def take(self, block: _Block) -> bool:
        """Place a block where there is room for it."""
        if not self.has_room(block):
            return False
        k = 0 if block.wide else self.used.index(min(self.used))
        start = max(self.used) if block.wide else self.used[k]
        self.placed.append((block, k, start))
        below = start + block.height + GAP
        self.used = [below if block.wide or n == k else used for n, used in enumerate(self.used)]
        self.count += block.count
        return True


def _page_marks(page: _Filling, paper: Paper, column: float) -> tuple[Mark, ...]:
    marks: list[Mark] = []
    for block, k, start in page.placed:
        x = paper.margin + k * (column + COLUMN_GAP)
        marks += moved(block.marks, x, paper.height - TOP - start)
    return tuple(marks)


# --- lettered outlines


def _lettered(plan: Plan, units: str, width: float, column: float, high: float) -> list[_Block]:
    """Return the first lettered outline of a jig with a calliper, and the sizes of its pieces."""
    sized = [p for p in plan.pieces if any(not d.is_bar for d in p.dimensions)]
    alike: dict[tuple[str, ...], list[Piece]] = {}
    for piece in sized:
        alike.setdefault(tuple(what for what, _ in _rows(piece, units)), []).append(piece)
    shown = next((p for p in sized if _letters(p)), None)
    blocks: list[_Block] = []
    for pieces in alike.values():
        if shown in pieces:
            blocks.append(_outline(shown, units, column))
        of = [(p.title, tuple(_rows(p, units))) for p in pieces]
        for grid in _joined(of, column, f"calliper, {{}}, {units}", width):
            blocks += _laid(grid, column, width, high)
    return blocks


def _letters(piece: Piece) -> dict[str, tuple[float, float]]:
    """Return the lettered corners that a piece's sizes are named by."""
    found: dict[str, tuple[float, float]] = {}
    for size in piece.dimensions:
        ends = size.name.split("-")
        if len(ends) == 2 and all(len(end) == 1 and end.isupper() for end in ends):
            found[ends[0]], found[ends[1]] = size.start, size.end
    return found


def _rows(piece: Piece, units: str) -> list[tuple[str, str]]:
    return [
        (_said(d), f"{d.nominal / ONE[units]:.{PLACES[units] - (units == 'in')}f}")
        for d in piece.dimensions
        if not d.is_bar
    ]


def _said(size: CheckDimension) -> str:
    lettered = len(size.name) == 3 and size.name[1] == "-"
    return size.name.replace("-", "–" if lettered else " ")


def _outline(piece: Piece, units: str, room: float) -> _Block:
    """Draw a lettered outline, a calliper laid over the first of its sizes."""
    box = piece.outline.bounds()
    scale = next(
        s
        for s in (1.0, 0.5, 0.2, 0.1)
        if s * box.width <= room - 28.0 and s * box.height <= OUTLINE_HIGH
    )
    dx, top = 10.0 - scale * box.left, -6.0 - scale * box.top
    at = Affine(a=scale, d=scale, e=dx, f=top).point
    first = next(d for d in piece.dimensions if not d.is_bar)
    calliper = _calliper(at(first.start), at(first.end), at(box.middle), first.nominal, units)
    low = min(top + scale * box.bottom, Bounds.union(m.bounds() for m in calliper).bottom)
    high = -low + 1.0
    sketch = Sketch(Bounds(0.0, -high, room, 0.0))
    sketch.draw(calliper)
    corners = [at(corner) for corner in corners_of(piece.outline)]
    sketch.draw([line(*corners, corners[0], width=WIDE)])
    for hole in piece.inner:
        rim = [at(corner) for corner in corners_of(hole)]
        if _spread(rim) > 0.3:
            sketch.draw([line(*rim, rim[0], width=NARROW)])
    middle = box.middle
    for letter, spot in _letters(piece).items():
        away = math.atan2(spot[1] - middle[1], spot[0] - middle[0])
        x, y = at(spot)
        wish = (x + LETTER_OFF * math.cos(away), y + LETTER_OFF * math.sin(away))
        sketch.name(wish, letter, (x, y), MIDDLE, Weight.SEMIBOLD, (0.5, 0.5))
    centre = at(middle)
    said = "1:1" if scale == 1.0 else f"1:{1 / scale:g}"
    for text, height, weight, y in (
        (piece.label, LARGE, Weight.SEMIBOLD, centre[1] + 2.0),
        (said, SMALL, Weight.MEDIUM, centre[1] - 4.0),
    ):
        sketch.say((centre[0], y), text, height, weight, (0.5, 0.0))
    return _Block(marks=tuple(sketch.marks), height=high)


def _spread(points: Sequence[tuple[float, float]]) -> float:
    return max(math.dist(p, points[0]) for p in points)


def _calliper(
    start: Point, end: Point, middle: tuple[float, float], nominal: float, units: str
) -> list[Mark]:
    """Draw a calliper whose jaws stand at two places, its beam on the side away from `middle`."""
    way, off = (end.x - start.x, end.y - start.y), (middle[0] - start.x, middle[1] - start.y)
    if way[0] * off[1] < way[1] * off[0]:
        start, way = end, (-way[0], -way[1])
    long = math.hypot(*way)

    def jaw(x: float, way: float) -> Mark:
        return area([(x, 1.0), (x + way * 3.0, 1.0), (x + way * 3.0, -BEAM), (x, -BEAM)], 0.0)

    marks = [
        jaw(0.0, -1.0),
        jaw(long, 1.0),
        area(Bounds(-6.0, -BEAM - 5.0, long + 18.0, -BEAM).corners, 0.0, NARROW),
    ]
    for k in range(int((long + 2.0) // 2.0)):
        deep = 2.4 if k % 5 == 0 else 3.6
        marks.append(line((2.0 * k, -BEAM - 5.0), (2.0 * k, -BEAM - deep), width=FINE))
    slide = Bounds(long - 4.0, -BEAM - 7.0, long + 13.0, -BEAM).corners
    marks.append(area(slide, 0.0, NARROW))
    said = f"{nominal / ONE[units]:.{1 if units == 'mm' else 3}f}"
    reading = (long + 4.5, -BEAM - 4.7)
    marks.append(words(reading, said, SMALL, Weight.SEMIBOLD, Anchor.MIDDLE))
    turn = math.degrees(math.atan2(way[1], way[0]))
    place = Affine.move(start.x, start.y) @ Affine.turn(turn)
    return [mark.moved(place) for mark in marks]


# --- tables


def _plain(table: Table) -> _Grid:
    rows = tuple((what, (value,)) for what, value in table.rows)
    return _Grid(title=table.title, heads=(), rows=rows)


_Rows = tuple[tuple[str, str], ...]


def _joined(
    tables: Sequence[tuple[str, _Rows]], width: float, title: str = "{}", most: float = 0.0
) -> list[_Grid]:
    """Return tables with the same rows side by side, as many as a width holds.

    Args:
        tables: their names and rows.
        width: that they should have, mm.
        title: of each, with a place for their names.
        most: the width that they may have where they are many, mm.
    """
    found: list[_Grid] = []
    rest = list(tables)
    while rest:
        name, rows = rest.pop(0)
        same = [(name, rows)]
        for other in list(rest):
            if [what for what, _ in other[1]] == [what for what, _ in rows]:
                wider = _side_by_side([*same, other], title)
                first, needs = wider.needs
                if first + sum(needs) <= (width if len(same) < 3 else max(width, most)):
                    same.append(other)
                    rest.remove(other)
        found.append(_side_by_side(same, title))
    return found


def _side_by_side(tables: Sequence[tuple[str, _Rows]], title: str) -> _Grid:
    names = [name.split() for name, _ in tables]
    alike = 0
    while len(names) > 1 and all(len(n) > alike + 1 and n[alike] == names[0][alike] for n in names):
        alike += 1
    common = " ".join(names[0][:alike]) if len(names) > 1 else " ".join(names[0])
    heads = tuple(" ".join(name[alike:]) for name in names) if len(names) > 1 else ()
    values = zip(*(rows for _, rows in tables), strict=True)
    rows = tuple((row[0][0], tuple(value for _, value in row)) for row in values)
    return _Grid(title=title.format(common).replace(" ,", ""), heads=heads, rows=rows)


def _laid(grid: _Grid, column: float, width: float, high: float) -> list[_Block]:
    """Return a table as blocks: across the page where a column is too narrow, in parts if long."""
    first, needs = grid.needs
    wide = first + sum(needs) > column and len(needs) > 1
    most = int(high / ROW) - 2
    return [
        _table(grid.part(rows=slice(n, n + most)), width if wide else column, wide=wide)
        for n in range(0, len(grid.rows), most)
    ]


def _table(grid: _Grid, width: float, *, wide: bool = False) -> _Block:
    marks = [words((0.0, -SMALL), grid.title, SMALL, Weight.SEMIBOLD)]
    first, needs = grid.needs
    spare = max(width - first - sum(needs), 0.0) / len(needs)
    rights = [width - sum(needs[k + 1 :]) - spare * (len(needs) - 1 - k) for k in range(len(needs))]
    y = -ROW
    if grid.heads:
        y -= ROW
        marks += [
            words((x, y + 1.5), head, SMALL, anchor=Anchor.END)
            for x, head in zip(rights, grid.heads, strict=True)
        ]
    marks.append(line((0.0, y), (width, y), width=WIDE))
    for what, values in grid.rows:
        base = y - (ROW + SMALL) / 2
        room = width - sum(needs) - spare * (len(needs) - 1)
        if len(values) == 1:
            said = shortened(values[0], SMALL, width * 0.6, Weight.SEMIBOLD)
            room = width - _wide(said) - 3.0
            values = (said,)
        marks.append(words((0.0, base), shortened(what, SMALL, room)))
        marks += [
            words((x, base), value, SMALL, Weight.SEMIBOLD, Anchor.END)
            for x, value in zip(rights, values, strict=True)
        ]
        y -= ROW
        marks.append(line((0.0, y), (width, y), width=HATCH))
    return _Block(marks=tuple(marks), height=-y, wide=wide)


def _wide(text: str) -> float:
    return text_width(text, SMALL, Weight.SEMIBOLD)


def _angles(solution: Solution) -> Table:
    rows = []
    for number, at in enumerate(solution.stations, start=1):
        where = f"station {number}, " if len(solution.stations) > 1 else ""
        for side, skin, off in (
            (solution.job.sides[0], at.skin_a, at.plus_minus_a),
            (solution.job.sides[1], at.skin_b, at.plus_minus_b),
        ):
            doubt = "" if off is None else f" ± {math.degrees(off):.2f}°"
            said = f"{90 - math.degrees(skin):.2f}° {90 + math.degrees(skin):.2f}°{doubt}"
            rows.append((f"{where}{side}, forward and aft", said))
    return Table(title="angles and plus-minus", rows=tuple(rows))


def _checked(checks: Sequence[Check], units: str, status: str, title: str) -> Table:
    rows = []
    for check in checks:
        if check.status != status or (check.value is None and status == "ok"):
            continue
        if check.value is None:
            value = "–"
        elif check.unit == "deg":
            value = f"{check.value:.2f}°"
        elif check.unit == "mm":
            value = f"{check.value / ONE[units]:.{PLACES[units]}f} {units}"
        else:
            value = f"{check.value:.4g}"
        rows.append((check.name, value))
    return Table(title=title, rows=tuple(rows))


def _numbers(solution: Solution) -> Table:
    units = solution.job.units
    rows = tuple((line.what, bare(line.brief, units)) for line in solution.riveting)
    return Table(title=f"rivet and countersink, {units}", rows=rows)


def _left_out(pieces: Sequence[Piece]) -> Table:
    rows = tuple((p.title, ", ".join(p.left_out)) for p in pieces if p.left_out)
    return Table(title="beside the piece, not on it", rows=rows)


def _stops(checks: Sequence[Check], width: float, units: str) -> list[_Block]:
    """Return what stands in the way, each with its reason, the failed ones first."""
    found = []
    for word, status in (("STOP", "fail"), ("LOOK", "warn")):
        for check in (one for one in checks if one.status == status):
            why = say(check.why, units)
            why = f"{why[:1].upper()}{why[1:]}"
            told = why if check.id.endswith(CANNOT) else f"{say(check.act, units)} {why}".strip()
            marks = [words((0.0, -SMALL), f"{word}: {check.name}", SMALL, Weight.SEMIBOLD)]
            y = -ROW
            marks.append(line((0.0, y), (width, y), width=WIDE))
            for text in wrap(told, SMALL, width):
                y -= ROW
                marks.append(words((0.0, y + 1.0), text))
            found.append(_Block(marks=tuple(marks), height=-y))
    return found


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
    return _Block(marks=tuple(marks), height=-y)
