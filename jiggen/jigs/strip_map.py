"""The map of a hole strip: its tiles side by side, what each measures, and how they are joined."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from jiggen.drawing.affine import Point
from jiggen.drawing.labels import Line, fitted_height
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path, Text
from jiggen.drawing.table import Setting, Strip, heading
from jiggen.jigs.strip import KIND
from jiggen.jigs.strip_frame import Frame
from jiggen.jigs.strip_lettering import hole_range
from jiggen.jigs.strip_pieces import strip_plan, strip_tiles
from jiggen.jigs.strip_plan import StripPlan
from jiggen.jigs.tiling import Tile
from jiggen.solution import Solution
from jiggen.units import say_length

#: mm. Height of a tile on the map, between two steps, of the row with the joins' places, and how
#: much of a tile's corner is cut off.
TILE, STEP, JOINS, CORNER = 7.4, 1.0, 4.0, 1.4
#: Most tiles in one row of the map, and the largest scale that it is drawn to.
IN_ROW, SCALE = 6, 0.35
#: mm. Capitals of the words in a tile and below a join.
NAME, WORDS = 2.2, 1.9
JOINING = (
    "1. Measure each tile from cross to cross along the TE; it should read what the table says.",
    "2. Cut the tiles out.",
    "3. On each tile but the first cut again along the dashed line at its end toward hole 1, "
    "through the crosses. The arrow marked HOLE 1 stays on the tile.",
    "4. Lay that end on the tile before, so that crosses and lower edges run on, all arrows one "
    "way; tape it.",
    "5. Measure from the first cross of the first tile to the last of the last; the last tile says "
    "what it should read.",
    "6. Lower edge on the trailing edge, 0 on the zero end.",
    "A long strip need not be joined at all: set each tile by itself, its crosses to a tape "
    "measure from the zero end.",
)


def map_strips(
    solution: Solution, pieces: Sequence[Piece], setting: Setting, page_of: Mapping[str, int]
) -> list[Strip]:
    """Return the map, the table of the tiles' sizes and the steps of joining.

    Args:
        solution: the solved job.
        pieces: the strip's tiles.
        setting: width of the page's room and size of the type.
        page_of: the page that each tile lies on, by its name; what is missing is left blank.
    """
    plan, tiles = strip_plan(solution), strip_tiles(solution)
    end = "right" if plan.hand < 0 else "left"
    side = solution.job.sides[0 if plan.side == "a" else 1]
    words = f"As it lies on {side}, FORWARD up: hole 1's end at the {end}."
    if len(tiles) > 1:
        words += " Dashed: the joins, with their places from the zero end."
    steps = JOINING if len(tiles) > 1 else (JOINING[0], "2. Cut it out.", f"3. {JOINING[5][3:]}")
    return [
        heading("Hole strip: the tiles" if len(tiles) > 1 else "Hole strip", 4.0),
        *setting.paragraph(words),
        *_rows(plan, tiles, setting.width, page_of),
        *_table(solution, pieces, setting, page_of),
        heading("Joining" if len(tiles) > 1 else "Use"),
        *(strip for step in steps for strip in setting.paragraph(step)),
    ]


def _rows(
    plan: StripPlan, tiles: Sequence[Tile], width: float, page_of: Mapping[str, int]
) -> list[Strip]:
    """Draw the tiles to one scale as they follow each other along the edge, in two steps."""
    count = math.ceil(len(tiles) / IN_ROW)
    each = math.ceil(len(tiles) / count)
    rows = [tiles[at : at + each] for at in range(0, len(tiles), each)]
    longest = max(row[-1].end - row[0].start for row in rows)
    scale = min((width - 2.0) / longest, SCALE)
    strips = []
    for row in rows:
        marks: list[Mark] = []
        # The row that holds hole 1 begins at that side of the page where the part's hole 1 lies.
        zero = 1.0 if plan.hand > 0 else 1.0 + scale * longest
        for step, tile in enumerate(row):
            ends = sorted(
                zero + plan.hand * scale * (at - row[0].start) for at in (tile.start, tile.end)
            )
            top = -1.0 - (step % 2) * (TILE + STEP)
            box = Bounds(ends[0], top - TILE, ends[1], top)
            room = scale * (tile.crosses[1] - tile.crosses[0]) - 1.2
            marks += _small_tile(plan, tile, box, room, page_of)
        for tile in row:
            if tile.number < tile.count:
                x = zero + plan.hand * scale * (tile.crosses[1] - row[0].start)
                marks += _join(x, tile.crosses[1], room, plan.units)
        strips.append(Strip(marks=tuple(marks), height=2 * TILE + STEP + JOINS + 2.4))
    return strips


def _small_tile(
    plan: StripPlan, tile: Tile, box: Bounds, room: float, page_of: Mapping[str, int]
) -> list[Mark]:
    """Draw one tile of the map with its number, its page and its holes."""
    corners = [(box.left, box.bottom), (box.right, box.bottom)]
    if plan.hand > 0:
        corners += [(box.right, box.top), (box.left + CORNER, box.top)]
        corners.append((box.left, box.top - CORNER))
    else:
        corners += [(box.right, box.top - CORNER), (box.right - CORNER, box.top)]
        corners.append((box.left, box.top))
    page = page_of.get(f"{KIND}-{tile.number}")
    frame = Frame(plan=plan, tile=tile)
    numbers = [hole.number for hole in frame.shown]
    rows = (
        (f"{tile.number}, page {page}" if page else f"{tile.number}", NAME, box.top - 3.0, True),
        (hole_range(numbers), WORDS, box.bottom + 1.3, False),
    )
    middle = (box.left + box.right) / 2.0
    marks = [Mark(shape=Path.closed(corners), op=Op.NOTE, line=0.18)]
    for text, wanted, y, bold in rows:
        height = fitted_height(Line(text=text, height=wanted, bold=bold), room)
        shape = Text(Point(middle, y), text, height, anchor=Anchor.MIDDLE, bold=bold)
        marks.append(Mark(shape=shape, op=Op.NOTE))
    return marks


def _join(x: float, at: float, room: float, units: str) -> list[Mark]:
    """Return the line of a join through both steps, with its place along the edge under it."""
    low = -1.0 - 2 * TILE - STEP - 0.8
    words = say_length(at, units, 0 if units == "mm" else 4)
    height = fitted_height(Line(text=words, height=WORDS), room)
    shape = Text(Point(x, low - 0.6 - height), words, height, anchor=Anchor.MIDDLE)
    return [
        Mark(shape=Path.open([(x, -0.4), (x, low)]), op=Op.NOTE, line=0.12, dashed=True),
        Mark(shape=shape, op=Op.NOTE),
    ]


def _table(
    solution: Solution, pieces: Sequence[Piece], setting: Setting, page_of: Mapping[str, int]
) -> tuple[Strip, ...]:
    """Return what each tile should measure."""
    units = solution.job.units
    places = 3 if units == "in" else 2
    rows = []
    for tile in pieces:
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
