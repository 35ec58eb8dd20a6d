"""Words and tables for a page, set from the top down, that go on over the next page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.lettering import text_width, wrap
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path, Text

#: mm. Text of tables and paragraphs, and the white between two columns.
BODY, GUTTER = 2.15, 3.0
#: Line to line, in capital heights: a bracket above never meets an accent below.
LEADING = 1.65
#: mm. A letter's ink may begin this much before its place.
INSET = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A band of a page: marks whose top left corner is (0, 0), y down to ``-height``.

    Attributes:
        marks: what is drawn.
        height: mm.
        keep: stays on one page with the strip that follows.
    """

    marks: tuple[Mark, ...]
    height: float
    keep: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """How a column is set.

    Attributes:
        width: of the column, mm.
        height: capital height of its type, mm.
    """

    width: float
    height: float = BODY

    def paragraph(self, text: str) -> tuple[Strip, ...]:
        """Return `text` broken into lines, see `paragraph`."""
        return paragraph(text, self.width, self.height)

    def table(self, head: Sequence[str], rows: Sequence[Sequence[str]]) -> tuple[Strip, ...]:
        """Return a table, see `table`."""
        return table(head, rows, self.width, self.height)


def heading(text: str, height: float = 3.2) -> Strip:
    """Return a heading, kept with what follows."""
    mark = Mark(shape=Text(Point(0.0, -height - 2.2), text, height, bold=True), op=Op.NOTE)
    return Strip(marks=(mark,), height=height + 3.8, keep=True)


def paragraph(text: str, width: float, height: float = BODY) -> tuple[Strip, ...]:
    """Return `text` broken into lines of `width` mm, one strip a line."""
    return tuple(
        Strip(
            marks=(Mark(shape=Text(Point(0.0, -height * 1.27), row, height), op=Op.NOTE),),
            height=height * LEADING,
        )
        for row in wrap(text, height, width - 2 * INSET)
    )


def table(
    head: Sequence[str], rows: Sequence[Sequence[str]], width: float, height: float = BODY
) -> tuple[Strip, ...]:
    """Return a table, one strip a row: first column left, the others right-aligned.

    Args:
        head: the columns' names.
        rows: the cells, as many as `head` each.
        width: mm; the type is set smaller where the table is wider.
        height: wanted capital height, mm.
    """
    size = height
    width -= 2 * INSET

    def widths(at: float) -> list[float]:
        return [
            max(text_width(str(row[k]), at, bold) for row, bold in _all(head, rows))
            for k in range(len(head))
        ]

    total = sum(widths(size)) + GUTTER * (len(head) - 1)
    if total > width:
        size = height * (width - GUTTER * (len(head) - 1)) / sum(widths(height))
    columns = widths(size)
    strips = []
    for number, (row, bold) in enumerate(_all(head, rows)):
        marks = []
        x = 0.0
        for k, cell in enumerate(row):
            at = Point(x if k == 0 else x + columns[k], -size * 1.27)
            if cell:
                text = Text(
                    at, cell, size, anchor=Anchor.START if k == 0 else Anchor.END, bold=bold
                )
                marks.append(Mark(shape=text, op=Op.NOTE))
            x += columns[k] + GUTTER
        if number == 0:
            line = Path.open([(0.0, -size * 1.8), (x - GUTTER, -size * 1.8)])
            marks.append(Mark(shape=line, op=Op.NOTE, line=0.12))
        strips.append(
            Strip(
                marks=tuple(marks),
                height=size * (2.0 if number == 0 else LEADING),
                keep=number == 0,
            )
        )
    return tuple(strips)


def space(height: float) -> Strip:
    """Return white."""
    return Strip(marks=(), height=height)


def flow(strips: Sequence[Strip], room: Bounds) -> list[tuple[Mark, ...]]:
    """Set strips from the top of `room` down, over as many pages as it takes.

    Args:
        strips: in order.
        room: the room on each page, mm.

    Returns:
        The marks of each page, in page coordinates.
    """
    pages: list[list[Mark]] = []
    for strip, page, y in _placed(strips, room):
        if page == len(pages):
            pages.append([])
        place = Affine.move(room.left + INSET, y)
        pages[page] += [m.moved(place) for m in strip.marks]
    return [tuple(page) for page in pages]


def pages_of(strips: Sequence[Strip], room: Bounds) -> int:
    """Return how many pages `strips` take."""
    return max((page for _, page, _ in _placed(strips, room)), default=-1) + 1


def _placed(strips: Sequence[Strip], room: Bounds) -> Iterator[tuple[Strip, int, float]]:
    """Give each strip with its page, from 0, and the height of its top there, mm."""
    page, y = 0, room.top
    for number, strip in enumerate(strips):
        need = strip.height
        follow = number
        while strips[follow].keep and follow + 1 < len(strips):
            follow += 1
            need += strips[follow].height
        if y - need < room.bottom and y < room.top:
            page, y = page + 1, room.top
        yield strip, page, y
        y -= strip.height


def _all(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[tuple[Sequence[str], bool]]:
    return [(head, True), *((row, False) for row in rows)]
