"""The pages that go with a hole strip: a map of its tiles, and the drilling order to tick off.

Whoever drills ticks each hole with the part in front of him and the page on the bench: large
boxes, one hole a line, and beside each the guide to reach for and the side that the pin goes in.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.labels import Line, fitted_height
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path, Text
from jiggen.drawing.table import Setting, Strip, flow, heading, space
from jiggen.jigs.stand import stands
from jiggen.jigs.strip import KIND
from jiggen.solution import Solution
from jiggen.units import say_length

#: mm. Line to line of the order, side of a box, capital height; wide enough to tick with a pencil.
ROW, BOX, LETTERS = 5.4, 3.2, 2.3
#: Most hole numbers that a sentence lists.
MOST_NUMBERS = 60
#: mm. Least width of a column of the order.
COLUMN = 54.0
#: mm. Height of a tile on the map; tiles in one row of it.
TILE, IN_ROW = 7.4, 8
#: mm. Where the cells of the order's columns end, from the column's left; the guides' begins.
HOLE_END, AT_END, GUIDE, PIN = 13.0, 29.5, 33.0, 48.0
JOINING = (
    "1. Measure each tile from cross to cross along the TE; it should read what the table says. "
    "2. Cut the tiles out. 3. On each tile but the first cut again along the dashed line at its "
    "end toward hole 1, through the crosses. 4. Lay that end on the tile before, so that crosses "
    "and lower edges run on, and tape it. 5. Measure from the first cross of the first tile to the "
    "last of the last; the last tile says what it should read. 6. Lower edge on the trailing edge, "
    "0 on the zero end. A long strip need not be joined at all: set each tile by itself, its "
    "crosses to a tape measure from the zero end."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Entry:
    """One line of the order: a hole, or words where `number` is empty."""

    number: str
    words: str = ""
    at: str = ""
    guides: str = ""
    pin: str = ""


def strip_pages(
    solution: Solution, pieces: Sequence[Piece], room: Bounds, page_of: Mapping[str, int]
) -> list[tuple[Mark, ...]]:
    """Return the pages that go with the hole strip; none where no strip is drawn.

    Args:
        solution: the solved job.
        pieces: all pieces.
        room: on each page, mm.
        page_of: the page that each tile lies on, by its name; what is missing is left blank.
    """
    tiles = [piece for piece in pieces if piece.kind == KIND and piece.for_print]
    if not tiles:
        return []
    setting = Setting(width=room.width)
    strips = [
        heading("Hole strip: the tiles", 4.0),
        *_map(tiles, setting.width, page_of),
        *_table(solution, tiles, setting, page_of),
        heading("Joining"),
        *setting.paragraph(JOINING),
    ]
    return [*flow(strips, room), *_order_pages(solution, room)]


def _map(tiles: Sequence[Piece], width: float, page_of: Mapping[str, int]) -> list[Strip]:
    """Draw the tiles to one scale as they follow each other along the edge, two by two in steps."""
    rows = [tiles[at : at + IN_ROW] for at in range(0, len(tiles), IN_ROW)]
    boxes = [Bounds.union(t.outline.bounds() for t in row) for row in rows]
    scale = min((width - 2.0) / max(box.width for box in boxes), 0.35)
    strips = []
    for row, box in zip(rows, boxes, strict=True):
        marks: list[Mark] = []
        for step, tile in enumerate(row):
            own = tile.outline.bounds()
            left, right = (1.0 + scale * (x - box.left) for x in (own.left, own.right))
            top = -1.0 - (step % 2) * (TILE + 1.0)
            marks += _small_tile(tile, Bounds(left, top - TILE, right, top), page_of)
        strips.append(Strip(marks=tuple(marks), height=2 * TILE + 4.0))
    return strips


def _small_tile(tile: Piece, box: Bounds, page_of: Mapping[str, int]) -> list[Mark]:
    """Draw one tile of the map with its number, its holes and its page."""
    own = tile.outline.bounds()
    place = Affine(
        a=box.width / own.width,
        d=box.height / own.height,
        e=box.left - own.left * box.width / own.width,
        f=box.bottom - own.bottom * box.height / own.height,
    )
    corners = [place.point(edge.start) for edge in tile.outline.edges]
    page = page_of.get(tile.name)
    number = tile.name.removeprefix(f"{KIND}-")
    rows = (
        (f"{number}, page {page}" if page else number, 2.2, box.top - 3.0, True),
        (tile.notes[0], 1.9, box.bottom + 1.2, False),
    )
    marks = [Mark(shape=Path.closed(corners), op=Op.NOTE, line=0.18)]
    for text, wanted, y, bold in rows:
        height = fitted_height(Line(text=text, height=wanted, bold=bold), box.width - 1.6)
        at = Point((box.left + box.right) / 2.0, y)
        marks.append(
            Mark(shape=Text(at, text, height, anchor=Anchor.MIDDLE, bold=bold), op=Op.NOTE)
        )
    return marks


def _table(
    solution: Solution, tiles: Sequence[Piece], setting: Setting, page_of: Mapping[str, int]
) -> tuple[Strip, ...]:
    """Return what each tile should measure."""
    units = solution.job.units
    places = 3 if units == "in" else 2
    rows = []
    for tile in tiles:
        sizes = {d.name: d for d in tile.dimensions}
        rows.append(
            [
                tile.title,
                str(page_of.get(tile.name, "")),
                tile.notes[0].removeprefix("holes ").removeprefix("hole "),
                *(
                    say_length(sizes[name].nominal, units, places)
                    for name in ("crosses", "across", "diagonal")
                ),
            ]
        )
    head = ["tile", "page", "holes", "cross to cross along the TE", "across", "diagonal"]
    return setting.table(head, rows)


def _order_pages(solution: Solution, room: Bounds) -> list[tuple[Mark, ...]]:
    """Return the drilling order in columns, each page read down one column after the other."""
    setting = Setting(width=room.width)
    job = solution.job
    later = [str(hole.number) for hole in solution.holes if not hole.drill_now]
    more = f" and {len(later) - MOST_NUMBERS} more" if len(later) > MOST_NUMBERS else ""
    opening = [
        heading("Drilling order", 4.0),
        *setting.paragraph(
            "From the middle out. Pin each hole again before the next, from the side that is "
            f"named: A is {job.sides[0]}, B is {job.sides[1]}. Guide: the one to use there, for "
            "whichever side you drill from."
        ),
        *setting.paragraph(
            f"Not drilled now: {', '.join(later[:MOST_NUMBERS]) or 'none'}{more}. Leave them alone."
        ),
        space(2.0),
    ]
    entries = _entries(solution)
    columns = max(1, math.floor(room.width / COLUMN))
    deep = max(1, math.floor((room.height - sum(s.height for s in opening)) / ROW) - 1)
    pages: list[tuple[Mark, ...]] = []
    for at in range(0, len(entries), columns * deep):
        some = entries[at : at + columns * deep]
        high = min(deep, math.ceil(len(some) / columns))
        used = math.ceil(len(some) / high)
        strips = [*opening, _head_row(room.width / columns, used, job.units)]
        strips += _rows(some, high, room.width / columns)
        pages += flow(strips, room)
    return pages


def _entries(solution: Solution) -> list[_Entry]:
    """Return the lines of the order: the holes of each run under what the run is."""
    at = {hole.number: hole for hole in solution.holes}
    runs, guides = solution.drilling_runs, _labels(solution)
    found = []
    for turn, of_pass in enumerate(runs):
        which = "" if len(runs) == 1 else ("every other, " if turn == 0 else "those between, ")
        for run in of_pass:
            found.append(_Entry(number="", words=f"{which}toward hole {run[-1]}"))
            found += [
                _Entry(
                    number=str(number),
                    at=say_length(at[number].at, solution.job.units).rsplit(" ", 1)[0],
                    guides=" ".join(guides.get(number, ())),
                    pin=(at[number].pin or "").upper(),
                )
                for number in run
            ]
    return found


def _labels(solution: Solution) -> dict[int, list[str]]:
    """Return the labels of the guides that serve each hole, by its number."""
    found: dict[int, list[str]] = {}
    for stand in stands(solution):
        served = {
            number
            for guide in stand.guides
            if guide.first_hole is not None and guide.last_hole is not None
            for number in range(guide.first_hole, guide.last_hole + 1)
        }
        for number in served:
            found.setdefault(number, []).append(stand.label)
    return found


def _cell(x: float, y: float, text: str, *, end: bool = False, bold: bool = False) -> Mark:
    anchor = Anchor.END if end else Anchor.START
    return Mark(shape=Text(Point(x, y), text, LETTERS, anchor=anchor, bold=bold), op=Op.NOTE)


def _head_row(width: float, columns: int, units: str) -> Strip:
    """Return the columns' names over each column."""
    marks = []
    for column in range(columns):
        x = column * width
        marks += [
            _cell(x + HOLE_END, -3.4, "hole", end=True, bold=True),
            _cell(x + AT_END, -3.4, f"at {units}", end=True, bold=True),
            _cell(x + GUIDE, -3.4, "guide", bold=True),
            _cell(x + PIN, -3.4, "pin", bold=True),
        ]
    return Strip(marks=tuple(marks), height=ROW, keep=True)


def _rows(entries: Sequence[_Entry], high: int, width: float) -> list[Strip]:
    """Return the lines, filled column by column."""
    strips = []
    for row in range(high):
        marks: list[Mark] = []
        for column, entry in enumerate(entries[row::high]):
            marks += _line(entry, column * width, width)
        strips.append(Strip(marks=tuple(marks), height=ROW))
    return strips


def _line(entry: _Entry, x: float, width: float) -> list[Mark]:
    """Return one line of the order: a box to tick, the hole, its place, its guide, its pin."""
    y = -0.5 * ROW
    if not entry.number:
        line = Line(text=entry.words, height=LETTERS, bold=True)
        height = fitted_height(line, width - 4.0)
        at = Point(x, y - height / 2.0)
        return [Mark(shape=Text(at, entry.words, height, bold=True), op=Op.NOTE)]
    low, high = y - BOX / 2.0, y + BOX / 2.0
    box = Path.closed(
        [(x + 0.4, low), (x + BOX + 0.4, low), (x + BOX + 0.4, high), (x + 0.4, high)]
    )
    base = y - LETTERS / 2.0
    room = PIN - GUIDE - 1.0
    guides = fitted_height(Line(text=entry.guides, height=LETTERS), room)
    return [
        Mark(shape=box, op=Op.NOTE, line=0.25),
        _cell(x + HOLE_END, base, entry.number, end=True, bold=True),
        _cell(x + AT_END, base, entry.at, end=True),
        Mark(shape=Text(Point(x + GUIDE, base), entry.guides, guides), op=Op.NOTE),
        _cell(x + PIN, base, entry.pin),
    ]
