"""The pages that go with a hole strip: a map of its tiles, and the drilling order to tick off.

Whoever drills ticks each hole with the part in front of him and the page on the bench: large
boxes, one hole a line, and beside each its place in the order as the strip shows it, the guide to
reach for and the side that the pin goes in from.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from jiggen.drawing.affine import Point
from jiggen.drawing.labels import SMALLEST, Line, fitted_height
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path, Text
from jiggen.drawing.table import Setting, Strip, flow, heading, space
from jiggen.jigs.stand import stands
from jiggen.jigs.strip import KIND
from jiggen.jigs.strip_map import map_strips
from jiggen.solution import Solution
from jiggen.units import say_length

#: mm. Line to line of the order, side of a box, capital height; wide enough to tick with a pencil.
ROW, BOX, LETTERS = 5.4, 3.2, 2.3
#: mm. Capitals of the columns' names, which take two lines.
HEAD = 2.0
#: Most hole numbers that a sentence lists.
MOST_NUMBERS = 60
#: mm. Least width of a column of the order without and with guides, and white to the next one.
COLUMN, WITH_GUIDES, BETWEEN = 54.0, 66.0, 2.0
#: mm. Where the cells of the order's columns end, from the column's left; the guides' and, with
#: and without guides, the pins' begin.
ORDER_END, HOLE_END, AT_END, GUIDE, PIN, PIN_ALONE = 9.8, 17.4, 31.6, 33.6, 48.0, 34.6


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """One line of the order: a hole, or the heading of a run where `number` is empty.

    Attributes:
        number: of the hole.
        words: of a heading.
        order: place in the order.
        at: place along the edge, in the job's units.
        guides: that serve it; empty where one serves all.
        pin: the side that its pin goes in from.
    """

    number: str
    words: str = ""
    order: str = ""
    at: str = ""
    guides: str = ""
    pin: str = ""


#: A run from the middle to one end: which holes of it, where it goes, and the lines of its holes.
OrderRun = tuple[str, str, list[OrderLine]]


def strip_pages(
    solution: Solution, pieces: Sequence[Piece], room: Bounds, page_of: Mapping[str, int]
) -> list[tuple[Mark, ...]]:
    """Return the pages that go with the hole strip; none where no strip is drawn.

    Map and order share a page where both fit on it.

    Args:
        solution: the solved job.
        pieces: all pieces.
        room: on each page, mm.
        page_of: the page that each tile lies on, by its name; what is missing is left blank.
    """
    tiles = [piece for piece in pieces if piece.kind == KIND and piece.for_print]
    if not tiles:
        return []
    strips = map_strips(solution, tiles, Setting(width=room.width), page_of)
    orders = _Orders(solution=solution, width=room.width)
    together = orders.pages(room.height - sum(strip.height for strip in strips))
    if len(together) == 1:
        return flow([*strips, *together[0]], room)
    pages = [page for some in orders.pages(room.height) for page in flow(some, room)]
    return [*flow(strips, room), *pages]


@dataclass(frozen=True, kw_only=True)  # without slots: what every line asks is worked out once
class _Orders:
    """The drilling order as it is set.

    Attributes:
        solution: the solved job.
        width: of the room, mm.
    """

    solution: Solution
    width: float

    @cached_property
    def columns(self) -> int:
        return max(1, math.floor(self.width / (COLUMN if self.one_guide else WITH_GUIDES)))

    @property
    def column(self) -> float:
        """Return the width of a column with the white beside it, mm."""
        return self.width / self.columns

    @cached_property
    def guides(self) -> dict[int, list[str]]:
        return _labels(self.solution)

    @cached_property
    def one_guide(self) -> str:
        """Return the label of the guide that serves every hole, or nothing."""
        guides = self.guides
        served = {tuple(guides.get(h.number, ())) for h in self.solution.holes if h.drill_now}
        (labels, *others) = served or {()}
        return labels[0] if len(labels) == 1 and not others else ""

    @cached_property
    def named(self) -> bool:
        """Return whether the sides' names can be read in the column of the pins."""
        room = self.column - BETWEEN - self.pin
        lines = (Line(text=name, height=LETTERS) for name in self.solution.job.sides)
        return all(fitted_height(line, room) >= SMALLEST for line in lines)

    @property
    def pin(self) -> float:
        return PIN_ALONE if self.one_guide else PIN

    def pages(self, height: float) -> list[list[Strip]]:
        """Return what stands on each page of a height, mm, read down one column after the other."""
        opening = self._opening()
        fixed = sum(strip.height for strip in opening) + ROW
        deep = max(2, math.floor((height - fixed) / ROW))
        runs, columns = self._runs(), self.columns
        filled = in_columns(runs, deep)
        if len(filled) <= columns:
            while deep > 2 and len(in_columns(runs, deep - 1)) <= columns:
                deep -= 1
            filled = in_columns(runs, deep)
        return [
            [*opening, *self._set(filled[at : at + columns])]
            for at in range(0, max(len(filled), 1), columns)
        ]

    def _opening(self) -> list[Strip]:
        """Return heading and words over the columns."""
        setting, job = Setting(width=self.width), self.solution.job
        later = [str(hole.number) for hole in self.solution.holes if not hole.drill_now]
        more = f" and {len(later) - MOST_NUMBERS} more" if len(later) > MOST_NUMBERS else ""
        sides = "" if self.named else f": A is {job.sides[0]}, B is {job.sides[1]}"
        guide = (
            f"Guide {self.one_guide} serves every hole"
            if self.one_guide
            else "Guide: the one to use there"
        )
        return [
            heading("Drilling order", 4.0),
            *setting.paragraph(
                "From the middle out, in the order that the strip shows. Pin each hole again "
                f"before the next, from the side that is named{sides}. {guide}, for whichever "
                "side you drill from."
            ),
            *setting.paragraph(
                f"Not drilled now: {', '.join(later[:MOST_NUMBERS]) or 'none'}{more}. Leave them "
                "alone."
            ),
            space(2.0),
        ]

    def _runs(self) -> list[OrderRun]:
        """Return the runs with what each is called and the lines of its holes."""
        job, guides = self.solution.job, self.guides
        at = {hole.number: hole for hole in self.solution.holes}
        sides = dict(zip("ab", job.sides if self.named else "AB", strict=True))
        runs, found = self.solution.drilling_runs, []
        for turn, of_pass in enumerate(runs):
            which = "" if len(runs) == 1 else ("every other, " if turn == 0 else "those between, ")
            for run in of_pass:
                lines = [
                    OrderLine(
                        number=str(number),
                        order=str(at[number].order or ""),
                        at=say_length(at[number].at, job.units).rsplit(" ", 1)[0],
                        guides="" if self.one_guide else " ".join(guides.get(number, ())),
                        pin=sides.get(at[number].pin or "", ""),
                    )
                    for number in run
                ]
                found.append((which, f"toward hole {run[-1]}", lines))
        return found

    def _set(self, filled: Sequence[Sequence[OrderLine]]) -> list[Strip]:
        """Return one page's columns, line by line, under their names."""
        high = max((len(column) for column in filled), default=0)
        strips = [self._head(max(len(filled), 1))]
        for row in range(high):
            marks: list[Mark] = []
            for number, column in enumerate(filled):
                if row < len(column):
                    marks += self._line(column[row], number * self.column)
            strips.append(Strip(marks=tuple(marks), height=ROW))
        return strips

    def _head(self, columns: int) -> Strip:
        """Return the columns' names over each column."""
        units = self.solution.job.units
        marks = []
        for x in (number * self.column for number in range(columns)):
            rows = [
                (ORDER_END, "order", -3.9, Anchor.END),
                (HOLE_END, "hole", -3.9, Anchor.END),
                (AT_END, f"{units} from", -1.1, Anchor.END),
                (AT_END, "zero end", -3.9, Anchor.END),
                *([] if self.one_guide else [(GUIDE, "guide", -3.9, Anchor.START)]),
                (self.pin, "pin from", -3.9, Anchor.START),
            ]
            for place, text, y, anchor in rows:
                shape = Text(Point(x + place, y), text, HEAD, anchor=anchor, bold=True)
                marks.append(Mark(shape=shape, op=Op.NOTE))
        return Strip(marks=tuple(marks), height=ROW, keep=True)

    def _line(self, entry: OrderLine, x: float) -> list[Mark]:
        """Return one line of the order: a box to tick, order, hole, place, guide, pin."""
        y, room = -0.5 * ROW, self.column - BETWEEN
        if not entry.number:
            return [_cell(x, y, entry.words, room=room, bold=True)]
        low, high = y - BOX / 2.0, y + BOX / 2.0
        box = Path.closed(
            [(x + 0.4, low), (x + BOX + 0.4, low), (x + BOX + 0.4, high), (x + 0.4, high)]
        )
        return [
            Mark(shape=box, op=Op.NOTE, line=0.25),
            _cell(x + ORDER_END, y, entry.order, room=5.6, end=True),
            _cell(x + HOLE_END, y, entry.number, room=7.0, end=True, bold=True),
            _cell(x + AT_END, y, entry.at, room=13.4, end=True),
            *([_cell(x + GUIDE, y, entry.guides, room=PIN - GUIDE - 1.0)] if entry.guides else []),
            *([_cell(x + self.pin, y, entry.pin, room=room - self.pin)] if entry.pin else []),
        ]


def in_columns(runs: Sequence[OrderRun], deep: int) -> list[list[OrderLine]]:
    """Return the lines in columns; each begins with what its run is.

    Args:
        runs: from the middle to one end each.
        deep: most lines of a column, headings too; 2 or more.
    """
    columns: list[list[OrderLine]] = [[]]
    for which, way, lines in runs:
        for number, line in enumerate(lines):
            column = columns[-1]
            # A heading is never the last line of a column.
            if len(column) + (2 if number == 0 else 1) > deep:
                columns.append(column := [])
            if number == 0:
                column.append(OrderLine(number="", words=f"{which}{way}"))
            elif not column:
                column.append(OrderLine(number="", words=f"{which}still {way}"))
            column.append(line)
    return columns


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


def _cell(
    x: float, y: float, text: str, *, room: float, end: bool = False, bold: bool = False
) -> Mark:
    """Return a cell's text, its middle at `y`, smaller where it would outgrow its room."""
    height = fitted_height(Line(text=text, height=LETTERS, bold=bold), room)
    anchor = Anchor.END if end else Anchor.START
    shape = Text(Point(x, y - height / 2.0), text, height, anchor=anchor, bold=bold)
    return Mark(shape=shape, op=Op.NOTE)
