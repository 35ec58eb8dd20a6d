"""Order sheets: in which order holes are riveted or drilled, with a box to tick for each.

Half way through sixty holes nobody remembers which is next, or from which side. An edge of two thin
skins bows toward the side that was worked last, so rivets are set in passes, each with its gaps
halved, half set until all are in, the made heads on the other side in each pass; after each pass a
straightedge tells whether the edge is still straight. A job without a rivet gets its drilling order
with the side that each pin goes in from; plain rows of holes in ribs and spars get theirs.

::

    PASS 1  half set   made heads top, shop heads bottom
    . . . o . . . . . . . o . . . . . . . o . . . .         which holes, hole 1 at its end
    [ ] 32   [ ] 40   [ ] 24   [ ] 48   ...                 in this order
    straight?  gap ______ mm  at hole ______  limit ______
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.lettering import LARGE, MIDDLE, SMALL, shortened, text_width
from jiggen.drawing.looks import FINE, FINE_WIDE, line, words
from jiggen.drawing.page import FOOT, Paper, Picture
from jiggen.drawing.shapes import Bounds, Circle, Mark, Path, Weight
from jiggen.errors import DoesNotFit
from jiggen.jigs.asked import PlainRow, asks_for_sequence, rows_of, sequence_of
from jiggen.jigs.plan import Jig, OwnPage, Plan
from jiggen.jigs.stand import hole_1_left
from jiggen.solution import Solution
from jiggen.units import Length
from jiggen.units import words as sentence

KIND = "sequence"

#: mm. A box to tick, from it to its number, white after the number, and a row of them.
BOX, TO_NUMBER, AFTER, ROW = 3.4, 1.3, 3.2, 6.0
#: mm. Heights of a heading, of the row of dots, of the line to write on, and white after a block.
HEADING, DOTS, WRITE, WHITE = 6.5, 4.5, 7.0, 4.0
#: mm. Radius of a dot, and the least distance at which dots are told apart.
DOT, DOT_STEP = 0.7, 1.6
#: mm. From the upper edge of a page to its first row, and room left above the foot.
HEAD, OVER_FOOT = 25.0, 4.0
#: mm. A blank to write in.
BLANK = 18.0


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a sheet: marks with its upper left corner at the origin, and its height, mm.

    `keeps` says that it does not stay behind on a page when the row after it goes on the next.
    """

    marks: tuple[Mark, ...]
    height: float
    keeps: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """Holes to tick, in order.

    Attributes:
        heading: in capitals.
        said: beside it.
        holes: number of each, with a letter for a side or nothing.
        asks: what is written down when all are ticked: words before each blank.
    """

    heading: str
    said: str
    holes: tuple[tuple[int, str], ...]
    asks: tuple[str, ...] = ()


def plan_sequence(solution: Solution) -> Plan:
    """Return the sheets of the order: passes to rivet, or holes to drill; and the plain rows.

    Raises:
        DoesNotFit: a job without holes and without plain rows.
    """
    job, rows = solution.job, rows_of(solution.job)
    if not solution.holes and not rows:
        raise DoesNotFit(
            "there is no hole to put in order",
            key="sequence",
            remedy="state [holes], or a [[row]] with pitch and count",
        )
    return Plan(
        kind=KIND,
        steps=("Tick each hole; lay the straightedge on after each pass.",),
        pages=lambda paper: _pages(solution, paper),
    )


JIG = Jig(kind=KIND, plan=plan_sequence, asked_for=lambda solution: asks_for_sequence(solution.job))


def _pages(solution: Solution, paper: Paper) -> tuple[OwnPage, ...]:
    """Return the sheets on a paper: the edge's own order, then the plain rows."""
    wide = paper.width - 2 * paper.margin
    sheets: list[tuple[str, list[Row]]] = []
    if solution.holes:
        rivets = solution.job.rivet is not None
        blocks = _riveting(solution) if rivets else _drilling(solution)
        sheets.append(("rivet in passes" if rivets else "drill from the middle out",
                       _edge_rows(solution, blocks, wide)))  # fmt: skip
    rows = [row for one in rows_of(solution.job) for row in _plain(one, solution.job.units, wide)]
    if rows:
        sheets.append(("plain rows", rows))
    low = paper.margin + FOOT + OVER_FOOT
    return tuple(
        OwnPage(
            title="SEQUENCE",
            subtitle=subtitle,
            picture=Picture(
                marks=_placed(some, paper.margin, paper.height - HEAD), width=0.0, height=0.0
            ),
            figure=False,
        )
        for subtitle, of_sheet in sheets
        for some in _filled(of_sheet, paper.height - HEAD - low)
    )


# --- what is in which order


def _riveting(solution: Solution) -> list[Cells]:
    """Return the passes of the riveting sequence, and after each what to measure."""
    raise NotImplementedError


def _drilling(solution: Solution) -> list[Cells]:
    """Return the runs of the drilling order, with the side that each pin goes in from."""
    letters = side_letters(solution.job.sides)
    hole = {one.number: one for one in solution.holes}
    runs, found = solution.drilling_runs, []
    for turn, of_pass in enumerate(runs):
        which = "" if len(runs) == 1 else ("every other hole, " if turn == 0 else "between, ")
        for run in of_pass:
            sides = " or ".join(f"{letters[s]} {name}" for s, name in
                                zip("ab", solution.job.sides, strict=True))  # fmt: skip
            found.append(
                Cells(
                    heading="PASS " + str(turn + 1),
                    said=f"{which}toward hole {run[-1]}, pin from {sides}",
                    holes=tuple((n, letters.get(hole[n].pin or "", "")) for n in run),
                )
            )
    return found


def _plain(row: PlainRow, units: str, wide: float) -> list[Row]:
    """Return the rows of one plain row of holes: its pins, its order, and blanks for the rivet."""
    raise NotImplementedError


# --- how it is set


def _edge_rows(solution: Solution, blocks: Sequence[Cells], wide: float) -> list[Row]:
    """Return the rows of the edge's sheet: its blocks, and the holes that wait."""
    numbers = [hole.number for hole in solution.holes]
    right = not hole_1_left(solution.job)
    rows: list[Row] = []
    for block in blocks:
        rows.append(_heading(block.heading, block.said, wide))
        rows += _dots(numbers, {n for n, _ in block.holes}, wide, right=right)
        rows += _ticks(block.holes, wide)
        if block.asks:
            rows.append(_blanks(block.asks))
        rows.append(Row((), WHITE))
    later = [str(hole.number) for hole in solution.holes if not hole.drill_now]
    if later:
        rows.append(_heading("WAIT", "leave alone: " + ", ".join(later), wide))
    return rows


def _heading(text: str, said: str, wide: float) -> Row:
    """Return a heading with a few words beside it."""
    x = text_width(text, MIDDLE, Weight.SEMIBOLD) + 4.0
    rest = shortened(said, SMALL, wide - x)
    marks = (words((0.0, -MIDDLE), text, MIDDLE, Weight.SEMIBOLD), words((x, -MIDDLE), rest))
    return Row(marks, HEADING, keeps=True)


def _dots(numbers: Sequence[int], filled: set[int], wide: float, *, right: bool) -> list[Row]:
    """Return all holes as dots, those of the block black, hole 1 at the end where it lies."""
    step = (wide - 2 * DOT) / max(len(numbers) - 1, 1)
    if step < DOT_STEP:
        return []
    marks = []
    for n, number in enumerate(numbers):
        x = DOT + min(step, 8.0) * (len(numbers) - 1 - n if right else n)
        fill = 1.0 if number in filled else 0.0
        marks.append(Mark(shape=Circle(Point(x, -DOT), DOT), line=FINE, fill=fill))
    return [Row(tuple(marks), DOTS, keeps=True)]


def _ticks(holes: Sequence[tuple[int, str]], wide: float) -> list[Row]:
    """Return boxes with their holes, line after line."""
    most = max((number for number, _ in holes), default=0)
    letter = max((text_width(side, SMALL) + 1.0 for _, side in holes if side), default=0.0)
    number_wide = text_width("0" * len(str(most)), MIDDLE)
    cell = BOX + TO_NUMBER + number_wide + letter + AFTER
    each = max(1, int((wide + AFTER) // cell))
    rows = []
    for first in range(0, len(holes), each):
        marks: list[Mark] = []
        for n, (number, side) in enumerate(holes[first : first + each]):
            x = n * cell
            box = [(x, 0.0), (x + BOX, 0.0), (x + BOX, -BOX), (x, -BOX), (x, 0.0)]
            marks += [line(*box), words((x + BOX + TO_NUMBER, -MIDDLE), str(number), MIDDLE)]
            if side:
                marks.append(words((x + cell - AFTER - letter + 1.0, -MIDDLE), side))
        rows.append(Row(tuple(marks), ROW))
    return rows


def _blanks(asks: Sequence[str]) -> Row:
    """Return a line to write on: words, each with a blank after it."""
    marks, x = [], 0.0
    for text in asks:
        marks.append(words((x, -MIDDLE), text))
        x += text_width(text, SMALL) + 1.5
        marks.append(line((x, -MIDDLE - 0.5), (x + BLANK, -MIDDLE - 0.5)))
        x += BLANK + 3.0
    return Row(tuple(marks), WRITE)


def _filled(rows: Sequence[Row], high: float) -> list[list[Row]]:
    """Return rows page by page; a heading stays with what it heads."""
    pages: list[list[Row]] = [[]]
    used = 0.0
    for n, row in enumerate(rows):
        ahead, k = row.height, n
        while rows[k].keeps and k + 1 < len(rows):
            k += 1
            ahead += rows[k].height
        if used + ahead > high and pages[-1]:
            pages.append([])
            used = 0.0
        if row.marks or pages[-1]:
            pages[-1].append(row)
            used += row.height
    return [page for page in pages if page]


def _placed(rows: Sequence[Row], left: float, top: float) -> tuple[Mark, ...]:
    """Return the marks of rows set one below the other."""
    marks: list[Mark] = []
    for row in rows:
        place = Affine.move(left, top)
        marks += [mark.moved(place) for mark in row.marks]
        top -= row.height
    return tuple(marks)
