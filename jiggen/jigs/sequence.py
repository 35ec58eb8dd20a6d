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

from collections.abc import Callable, Iterable, Sequence

from msgspec import Struct

from jiggen.drawing.affine import Point
from jiggen.drawing.lettering import LARGE, MIDDLE, SMALL, shortened, text_width
from jiggen.drawing.looks import FINE, line, moved, words
from jiggen.drawing.page import FOOT, Paper, Picture
from jiggen.drawing.shapes import Circle, Mark, Weight
from jiggen.errors import DoesNotFit
from jiggen.geometry.riveting import made_head_sides, riveting_passes
from jiggen.jigs.plan import Jig, OwnPage, Plan
from jiggen.jigs.stand import hole_1_left, side_letters
from jiggen.job.sections import Row as PlainRow
from jiggen.job.sections import Sequence as Asked
from jiggen.solution import Solution
from jiggen.units import Length

KIND = "sequence"

#: mm. A box to tick, from it to its number, white after the number, and a row of them.
BOX, TO_NUMBER, AFTER, ROW = 3.4, 1.3, 5.0, 6.0
#: mm. Heights of a heading, of the row of dots, of the line to write on, and white after a block.
HEADING, DOTS, WRITE, WHITE = 6.5, 4.5, 7.0, 4.0
#: mm. Radius of a dot, the least distance at which dots are told apart, and the most.
DOT, DOT_STEP, DOT_MOST = 0.7, 1.6, 8.0
#: Most holes that wait that are named.
MOST_NAMED = 20
#: mm. From the upper edge of a page to its first row, and room left above the foot.
HEAD, OVER_FOOT = 25.0, 4.0
#: mm. A blank to write in.
BLANK = 18.0


class Row(Struct, frozen=True):
    """One row of a sheet: marks with its upper left corner at the origin, and its height, mm.

    `keeps` says that it does not stay behind on a page when the row after it goes on the next.
    """

    marks: tuple[Mark, ...]
    height: float
    keeps: bool = False


class Cells(Struct, frozen=True):
    """Holes to tick, in order, each by its number and a letter for a side or nothing.

    `asks` is what is written down when all are ticked: words before each blank.
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
    if not solution.holes and not solution.job.rows:
        raise DoesNotFit(
            "there is no hole to put in order",
            key="sequence",
            remedy="state [holes], or a [[row]] with pitch and count",
        )
    return Plan(
        kind=KIND,
        steps=(
            "Pin two holes in three, the middle first: both beside the hole at work.",
            "Tick each hole; lay the straightedge on after each pass.",
        ),
        pages=lambda paper: _pages(solution, paper),
    )


def _asked(solution: Solution) -> bool:
    return solution.job.sequence is not None or bool(solution.job.rows)


JIG = Jig(kind=KIND, plan=plan_sequence, asked_for=_asked)


def _pages(solution: Solution, paper: Paper) -> tuple[OwnPage, ...]:
    """Return the sheets on a paper: the edge's own order, then the plain rows."""
    wide = paper.width - 2 * paper.margin
    sheets: list[tuple[str, list[Row]]] = []
    if solution.holes:
        rivets, blocks = solution.job.rivet is not None, order_of(solution)
        waits = [hole.number for hole in solution.holes if not hole.drill_now]
        numbers = [hole.number for hole in solution.holes]
        right = not hole_1_left(solution.job)
        rows = _set(blocks, waits, wide, lambda cells: _dots(numbers, cells, wide, right=right))
        sheets.append(("rivet in passes" if rivets else "drill from the middle out", rows))
    plain = [row for one in solution.job.rows for row in _plain(one, solution.job.units, wide)]
    if plain:
        sheets.append(("plain rows", plain))
    top, low = paper.height - HEAD, paper.margin + FOOT + OVER_FOOT
    return tuple(
        OwnPage(
            title="SEQUENCE",
            subtitle=subtitle,
            picture=Picture(marks=_placed(some, paper.margin, top), width=0.0, height=0.0),
            figure=False,
        )
        for subtitle, of_sheet in sheets
        for some in _filled(of_sheet, top - low)
    )


# --- what is in which order


def order_of(solution: Solution) -> list[Cells]:
    """Return the passes to rivet; of a job without a rivet the runs to drill."""
    return drilling(solution) if solution.job.rivet is None else riveting(solution)


def riveting(solution: Solution) -> list[Cells]:
    """Return the passes of the riveting sequence, the last one to set all fully."""
    asked = solution.job.sequence or Asked()
    sides, letters = solution.job.sides, side_letters(solution.job.sides)
    waits = [hole.number for hole in solution.holes if not hole.drill_now]
    passes = riveting_passes(len(solution.holes), waits, asked.first)
    made = made_head_sides(passes, asked.side)  # type: ignore[arg-type]
    by_hole = asked.side == "hole"
    gap = f"straight? gap, {solution.job.units}"
    found = []
    for number, of_pass in enumerate(passes, start=1):
        side = made[of_pass[0]]
        a, b = sides if side == "a" else sides[::-1]
        said = f"half set, made heads {a}, shop heads {b}"
        if by_hole:
            said = f"half set, made head on {_letters_said(letters, sides)}"
        holes = tuple((n, letters[made[n]] if by_hole else "") for n in of_pass)
        found.append(Cells(f"PASS {number}", said, holes, (gap, "at hole", "limit")))
    every = tuple((n, "") for of_pass in passes for n in of_pass)
    if every:
        last = f"PASS {len(passes) + 1}"
        found.append(Cells(last, "set fully, same order", every, (gap, "at hole", "limit")))
    return found


def drilling(solution: Solution) -> list[Cells]:
    """Return the runs of the drilling order, with the side that each pin goes in from."""
    sides, letters = solution.job.sides, side_letters(solution.job.sides)
    pins = {hole.number: letters.get(hole.pin or "", "") for hole in solution.holes}
    runs = solution.drilling_runs
    found = []
    for turn, of_pass in enumerate(runs, start=1):
        which = "" if len(runs) == 1 else ("every other hole, " if turn == 1 else "between, ")
        for run in of_pass:
            said = f"{which}toward hole {run[-1]}, pin from {_letters_said(letters, sides)}"
            found.append(Cells(f"PASS {turn}", said, tuple((n, pins[n]) for n in run)))
    return found


def row_order(row: PlainRow) -> tuple[int, ...]:
    """Return the holes of a plain row in the order in which they are worked.

    Source: common practice, no published source.
    """
    if row.order == "every-other":  # first those between the pins
        passes = riveting_passes(row.count, row.keep_out, 2)[::-1]
        return tuple(n for some in passes for n in some)
    outward = tuple(n for some in riveting_passes(row.count, row.keep_out, 1) for n in some)
    return outward[::-1] if row.order == "ends-in" else outward


def _plain(row: PlainRow, units: str, wide: float) -> list[Row]:
    """Return the rows of one plain row of holes: its pins, its order, and blanks for the rivet."""
    pinned = riveting_passes(row.count, row.keep_out, 2)[:1]
    first, pitch = (Length(at, None).said(units) for at in (row.first, row.pitch))
    where = f"{row.count} holes, first at {first}, pitch {pitch}"
    order = {"middle-out": "from the middle out", "ends-in": "from the ends in"}
    blocks = [
        Cells("PIN", "every other hole", tuple((n, "") for n in (pinned or ((),))[0])),
        Cells(
            "WORK",
            order.get(row.order, "between the pins, then move the pins"),
            tuple((n, "") for n in row_order(row)),
            ("grip", "rivet", "length"),
        ),
    ]
    head = _heading(row.name, where, wide, LARGE)
    return [head, *_set(blocks, sorted(row.keep_out), wide, lambda _: [])]


def _letters_said(letters: dict[str, str], sides: tuple[str, str]) -> str:
    """Return which sides two letters stand for."""
    return " or ".join(f"{letters[side]} {name}" for side, name in zip("ab", sides, strict=True))


# --- how it is set


def _set(
    blocks: Iterable[Cells],
    waits: Iterable[int],
    wide: float,
    picture: Callable[[Cells], list[Row]],
) -> list[Row]:
    """Return the rows of some blocks, each with its picture, and of the holes that wait."""
    rows: list[Row] = []
    for block in blocks:
        rows.append(_heading(block.heading, block.said, wide))
        rows += picture(block)
        rows += _ticks(block.holes, wide)
        if block.asks:
            rows.append(_blanks(block.asks))
        rows.append(Row((), WHITE))
    later = [str(number) for number in waits]
    if later:
        more = f" and {len(later) - MOST_NAMED} more" if len(later) > MOST_NAMED else ""
        said = f"leave alone: {', '.join(later[:MOST_NAMED])}{more}"
        rows += [_heading("WAIT", said, wide), Row((), WHITE)]
    return rows


def _heading(text: str, said: str, wide: float, height: float = MIDDLE) -> Row:
    """Return a heading with a few words beside it."""
    x = text_width(text, height, Weight.SEMIBOLD) + 4.0
    rest = shortened(said, SMALL, wide - x)
    marks = (words((0.0, -height), text, height, Weight.SEMIBOLD), words((x, -height), rest))
    return Row(marks, HEADING + height - MIDDLE, keeps=True)


def _dots(numbers: Sequence[int], cells: Cells, wide: float, *, right: bool) -> list[Row]:
    """Return all holes as dots, those of the block black, hole 1 at the end where it lies."""
    ends = [str(number) for number in (numbers[-1], numbers[0])]
    left, last = ends if right else ends[::-1]
    start = text_width(left, SMALL) + 2.0 + DOT
    room = wide - start - DOT - 2.0 - text_width(last, SMALL)
    step = min(room / max(len(numbers) - 1, 1), DOT_MOST)
    if step < DOT_STEP or not cells.holes:
        return []
    filled = {number for number, _ in cells.holes}
    marks = [words((0.0, -DOT - SMALL / 2), left)]
    for n, number in enumerate(numbers):
        x = start + step * (len(numbers) - 1 - n if right else n)
        fill = 1.0 if number in filled else 0.0
        marks.append(Mark(shape=Circle(Point(x, -DOT), DOT), line=FINE, fill=fill))
    end = start + step * (len(numbers) - 1) + DOT + 2.0
    marks.append(words((end, -DOT - SMALL / 2), last))
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
        marks += moved(row.marks, left, top)
        top -= row.height
    return tuple(marks)
