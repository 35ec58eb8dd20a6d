"""The card that hangs over the bench, and the sheet that is taken to the part with a pencil."""

from __future__ import annotations

from itertools import pairwise

from jiggen.drawing.lettering import MIDDLE, SMALL, TITLE, shortened, text_width
from jiggen.drawing.looks import (
    FINE,
    FINE_WIDE,
    NARROW,
    WIDE,
    area,
    dimension,
    forward_arrow,
    hatched,
    head,
    line,
    words,
)
from jiggen.drawing.page import Paper
from jiggen.drawing.shapes import Anchor, Bounds, Dash, Mark, Weight
from jiggen.errors import say
from jiggen.jigs.cover import fitted
from jiggen.jigs.plan import Planned
from jiggen.jigs.stand import thick_end, waiting
from jiggen.solution import Solution, band_of
from jiggen.units import Length

#: mm. The card: A6, or 4 x 6 in for a job in inches.
CARD = {"mm": (105.0, 148.0), "in": (101.6, 152.4)}
#: mm. Above the card.
TOP = 24.0
#: Most guides, and most runs of holes, that a card has room for.
GUIDES, RUNS = 4, 6

#: What is measured, by number: words, and the keys of the job file that they go to.
BLANKS = (
    ("thickness at the rear line", "thickness.rear"),
    ("thickness at the front line", "thickness.front"),
    ("from rear line to front line", "thickness.width"),
    ("rear line, forward of the edge", "rear_at"),
    ("holes, forward of the edge", "holes.line"),
    ("wedge, edge to front", "wedge.depth"),
    ("one skin", "skin.thickness"),
    ("drill", "holes.drill"),
    ("zero end to hole 1", "holes.first"),
    ("hole to hole", "holes.pitch"),
    ("number of holes", "holes.count"),
    ("holes that wait", "holes.keep_out"),
)


def card_page(paper: Paper) -> Paper:
    """Return the page that a card is printed on: upright where a lying one is too low for it."""
    return paper.upright if paper.height - TOP - CARD[paper.units][1] < paper.margin else paper


def card_marks(solution: Solution, paper: Paper, planned: Planned, code: str) -> tuple[Mark, ...]:
    """Return the bench card in page coordinates, to be cut out along its frame.

    It lies in the upper left corner of the paper, with the picture of the jig that leads the drill.
    """
    wide, high = CARD[paper.units]
    left, top = paper.margin, paper.height - TOP
    right, low = left + wide, top - high
    box = Bounds(left, low, right, top).corners
    marks = [line(*box, box[0], width=WIDE)]
    inner, end = left + 6.0, right - 6.0
    plan = next((plan for plan in planned.plans if plan.leads_drill and plan.use), None)
    leading = {p.label: p for p in reversed(plan.pieces) if p.leads is not None} if plan else {}
    some = list(leading.values())[::-1][:GUIDES]
    angles = [f"{piece.leads:.1f}°" for piece in some]
    if len(set(angles)) == 1:
        marks.append(words((inner, top - 12.0), angles[0], TITLE, Weight.BOLD))
    else:
        for n, (piece, angle) in enumerate(zip(some, angles, strict=True)):
            x, y = inner + (end - inner) / 2 * (n % 2), top - 9.0 - 7.0 * (n // 2)
            said = f"{piece.label}  {angle}"
            marks.append(words((x, y), said, MIDDLE, Weight.SEMIBOLD))
            told = [part for part in piece.variant.split(", ") if not part.startswith("cut")]
            far = text_width(said, MIDDLE, Weight.SEMIBOLD) + 2.0
            room = (end - inner) / 2 - far - 1.0
            if told:
                of = shortened(told[-1].removeprefix("holes "), SMALL, room)
                marks.append(words((x + far, y), of))
        if at := thick_end(solution):
            marks.append(words((inner, top - 21.0), at))
    if band_of((*planned.checks, *solution.checks)).word == "STOP":
        told_where = (end, top - 21.0)
        marks.append(words(told_where, "STOP: see cover", MIDDLE, Weight.SEMIBOLD, Anchor.END))
    marks.append(words((end, low + 3.5), code, SMALL, Weight.SEMIBOLD, Anchor.END))
    if plan is not None and plan.use is not None:
        picture = fitted(plan.use, wide - 30.0, 56.0, forward=True)
        marks += picture.at(left + (wide - picture.width) / 2, top - 24.0 - picture.height)
        marks.append(words((inner, top - 86.0), "Line up with the drill stopped."))
    y = top - 88.0
    marks.append(line((inner, y), (end, y), width=NARROW))
    for what, value in _facts(solution):
        marks.append(words((inner, y - 6.5), what))
        room = end - inner - 28.0
        height = MIDDLE if text_width(value, MIDDLE, Weight.SEMIBOLD) <= room else SMALL
        said = shortened(value, height, room, Weight.SEMIBOLD)
        marks.append(words((inner + 28.0, y - 7.0), said, height, Weight.SEMIBOLD))
        y -= 9.5
        marks.append(line((inner, y), (end, y), width=NARROW))
    y -= 7.5
    if len(solution.drilling_runs) > 1:
        marks.append(words((inner, y), "every second drilled hole, outward:"))
        y -= 6.5
    for n, run in enumerate(_runs(solution)):
        x, base = inner + (end - inner) / 2 * (n % 2), y - 7.0 * (n // 2)
        marks.append(words((x, base), "then" if n else "first"))
        marks.append(words((x + 8.0, base), str(run[0]), MIDDLE, Weight.SEMIBOLD))
        if run[-1] != run[0]:
            marks.append(line((x + 18.0, base + 1.7), (x + 25.0, base + 1.7)))
            marks.append(head((x + 28.0, base + 1.7), 0.0))
            marks.append(words((x + 30.0, base), str(run[-1]), MIDDLE, Weight.SEMIBOLD))
    if wait := waiting(solution):
        marks.append(words((inner, low + 3.5), f"do not drill {wait}", SMALL, Weight.SEMIBOLD))
    return tuple(marks)


def _runs(solution: Solution) -> list[list[int]]:
    """Return the runs of holes in the order of drilling.

    Where holes wait, "every second" changes step behind them: a run is parted there if the parts
    have room.
    """
    runs = [run for passes in solution.drilling_runs for run in passes if run]
    step = len(solution.drilling_runs)
    if step == 1:
        return runs[:RUNS]
    even: list[list[int]] = []
    for run in runs:
        even.append(run[:1])
        for before, number in pairwise(run):
            if abs(number - before) == step:
                even[-1].append(number)
            else:
                even.append([number])
    return even if len(even) <= RUNS else runs[:RUNS]


def _facts(solution: Solution) -> list[tuple[str, str]]:
    job = solution.job
    rows = []
    if job.holes is not None:
        size = Length(job.holes.drill).said(job.units)
        name = job.holes.drill_name
        rows.append(("drill", name if name == size else f"{name}, {size}"))
    brief = {what.split()[0]: say(value, job.units) for what, value in solution.brief}
    named = {"stop": "countersink, stop", "rivet": "rivet"}
    return rows + [(said, brief[what]) for what, said in named.items() if what in brief]


def measuring_sheet(paper: Paper) -> tuple[Mark, ...]:
    """Return the sheet for measuring, in page coordinates: section, numbered blanks, boxes."""
    left, width = paper.margin, paper.width - 2 * paper.margin
    top = paper.height - 26.0
    marks = list(_numbered_section(left, top - 82.0, width))
    y = top - 94.0
    columns = [left + 0.52 * width, left + 0.78 * width]
    for x, name in zip(columns, ("zero end", "far end"), strict=True):
        marks.append(words((x, y + 2.0), name, SMALL, Weight.SEMIBOLD))
    marks.append(line((left, y), (left + width, y), width=WIDE))
    row = min(8.6, (y - paper.margin - 36.0) / len(BLANKS))
    for n, (what, key) in enumerate(BLANKS, start=1):
        base = y - row + 2.4
        marks.append(words((left, base), str(n), MIDDLE, Weight.SEMIBOLD))
        marks.append(words((left + 8.0, base), what))
        marks.append(words((left + 62.0, base), key))
        for x in columns[: 2 if n <= 4 or n == 6 else 1]:
            marks.append(line((x, base - 0.8), (x + 0.2 * width, base - 0.8), width=FINE))
        y -= row
    y -= 4.0
    for said in (
        ("unit", "mm", "in"),
        ("measured", "square to the edge", "along the ribs"),
        ("hole 1, side A up, at the", "right", "left"),
    ):
        marks.append(words((left, y), said[0], SMALL, Weight.SEMIBOLD))
        x = left + 50.0
        for choice in said[1:]:
            box = Bounds(x, y - 0.5, x + 3.5, y + 3.0).corners
            marks.append(line(*box, box[0], width=NARROW))
            marks.append(words((x + 5.5, y), choice))
            x += 45.0
        y -= 6.5
    return tuple(marks)


def _numbered_section(left: float, low: float, width: float) -> tuple[Mark, ...]:
    """Draw a wedge that nobody measured, with a number at each thing to measure."""
    x0, reach = left + 18.0, min(130.0, width - 50.0)
    middle = low + 42.0

    def top(x: float) -> float:
        return middle + 4.0 + 0.10 * x

    def bottom(x: float) -> float:
        return middle - 4.0 - 0.10 * x

    def at(x: float, y: float) -> tuple[float, float]:
        return (x0 + x, y)

    wedge = [at(0, bottom(0)), at(reach, bottom(reach)), at(reach, top(reach)), at(0, top(0))]
    rear, front, hole = 0.12 * reach, 0.86 * reach, 0.42 * reach
    marks: list[Mark] = [area(wedge, 0.0, WIDE), *hatched(wedge)]
    for off in (0.0, 2.2):
        for edge, sign in ((top, 1.0), (bottom, -1.0)):
            ends = [at(0, edge(0) + sign * off), at(reach + 22.0, edge(reach + 22.0) + sign * off)]
            marks.append(line(*ends, width=FINE_WIDE))
    marks.append(line(at(-8, middle), at(reach + 26, middle), width=NARROW, dash=Dash.CHAIN))
    marks.append(
        line(at(hole, bottom(hole) - 8), at(hole, top(hole) + 8), width=NARROW, dash=Dash.CHAIN)
    )
    for x in (rear, front):
        marks.append(line(at(x, bottom(x) - 3), at(x, top(x) + 3), width=NARROW, dash=Dash.HIDDEN))
    marks += _number(1, at(rear, top(rear) + 8.0))
    marks += _number(2, at(front, top(front) + 8.0))
    base = bottom(reach)
    for number, a, b, y in (
        (4, 0.0, rear, base - 2.0),
        (3, rear, front, base - 2.0),
        (5, 0.0, hole, base - 11.0),
        (6, 0.0, reach, base - 20.0),
    ):
        marks += dimension(at(a, y), at(b, y), str(number), off=-0.01, height=MIDDLE)[2:]
    for x in (0.0, rear, front, hole, reach):
        marks.append(line(at(x, bottom(x) - 1.5), at(x, base - 22.0), width=FINE))
    marks += _number(7, at(reach + 16.0, top(reach + 16.0) + 7.0))
    marks += _number(8, at(hole, top(hole) + 12.0))
    marks.append(words(at(-4, middle + 2.0), "TE", MIDDLE, Weight.SEMIBOLD, Anchor.END))
    marks += forward_arrow(at(reach - 6.0, low + 84.0 - 4.0), at(reach + 20.0, low + 84.0 - 4.0))
    return tuple(marks)


def _number(number: int, at: tuple[float, float]) -> list[Mark]:
    return [words(at, str(number), MIDDLE, Weight.SEMIBOLD, Anchor.MIDDLE)]
