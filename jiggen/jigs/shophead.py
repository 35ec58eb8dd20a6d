r"""Shop head: the trial of three rivets where shop heads are set flush, as a sheet to fill in.

No published length was found for a rivet that is set flush on both sides, so the length follows
from what its metal fills: the hole, and a well as wide as its own head. A little too long and it
stands proud or puckers the skin; a little too short and nothing holds. So three lengths are tried
in scrap of the same grip, and what came out is written down.

::

        |~~|
    ____|  |____        _\~~~~/_   low: a head 1.5 D wide lies in its well, and does not fill it
    \   |  |   /        \\    //
     \  |  |  /          \|  |/
      | |  | |   grip     |  |     the metal fills the hole
     /  |  |  \           /  \
    /___|__|___\         /____\
"""

from __future__ import annotations

from collections.abc import Sequence

from jiggen.drawing.lettering import MIDDLE, SMALL
from jiggen.drawing.looks import (
    FINE,
    FINE_WIDE,
    HATCH,
    NARROW,
    WIDE,
    area,
    dimension,
    hatched,
    label,
    line,
    moved,
    words,
)
from jiggen.drawing.page import Paper, Picture
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Weight
from jiggen.errors import DoesNotFit
from jiggen.facts.rivets import FLUSH_HEAD_WIDE
from jiggen.geometry.riveting import FlushSet
from jiggen.jigs.plan import Jig, OwnPage, Plan, Table
from jiggen.solution import Solution, Trial
from jiggen.units import Length, bare, fine

KIND = "shophead"

#: mm. Room of a section, and of the metal that is drawn beside its well.
PICTURE_WIDE, PICTURE_HIGH, BESIDE = 76.0, 56.0, 1.2
#: Largest scale of a section.
SCALE = 8.0
#: mm. Below a page's head, and above its foot; row that is written in; a table's head; a note.
TOP, FOOT, ROW, HEAD_ROW, NOTE = 26.0, 26.0, 10.0, 7.0, 6.0
#: Where a table's columns begin, in shares of its width, and what they are called.
COLUMNS = (0.0, 0.28, 0.40, 0.58, 0.79)
#: mm. What a grip may be off by, for which the fill is told: .005 in.
GRIP_OFF = 0.127


def plan_shophead(solution: Solution) -> Plan:
    """Return the sheet of the trial.

    Raises:
        DoesNotFit: no shop head is set flush, or the grip is not known.
    """
    trials = solution.trials
    if not trials:
        raise DoesNotFit(
            "no rivet's length follows from its shop head: it is not said to be flush, or the grip "
            "is not known",
            key="rivet.shop_head",
            remedy='state rivet.shop_head = "flush", rivet.size, skin.thickness and holes',
        )
    return Plan(
        kind=KIND,
        pages=lambda paper: _pages(solution, paper),
        tables=tuple(_table(solution, trial) for trial in trials),
    )


JIG = Jig(kind=KIND, plan=plan_shophead, asked_for=lambda solution: bool(solution.trials))


def _set(solution: Solution) -> FlushSet:
    rivet, holes = solution.job.rivet, solution.job.holes
    assert rivet is not None and holes is not None  # noqa: PT018 - a trial has both
    return FlushSet(
        diameter=rivet.diameter or 0.0,
        head=rivet.head or 0.0,
        hole=holes.drill,
        half_angle=rivet.angle / 2.0,
    )


def _holes(trial: Trial) -> str:
    one = trial.first == trial.last
    return f"hole {trial.first}" if one else f"holes {trial.first} to {trial.last}"


def _table(solution: Solution, trial: Trial) -> Table:
    units = solution.job.units
    rows = tuple(
        (code or "length", f"{fine(length).said(units)}, fills {fill:.2f}")
        for length, code, fill in trial.rivets
    )
    return Table(title=f"rivets to try, {_holes(trial)}", rows=rows)


def _pages(solution: Solution, paper: Paper) -> tuple[OwnPage, ...]:
    """Return the sheet: two sections and the notes on the first page, a table for each run."""
    left, width = paper.margin, paper.width - 2 * paper.margin
    pages: list[list[Mark]] = [[]]
    y = paper.height - TOP
    for picture in _sections(solution, width):
        high = max(part.height for part in picture)
        x = left
        for part in picture:
            pages[-1] += part.at(x, y - high)
            x += (width + 6.0) / len(picture)
        y -= high + 8.0
    for note in _notes(solution):
        y -= NOTE
        pages[-1].append(words((left, y), note))
    y -= 8.0
    for trial in solution.trials:
        marks, high = _rows(solution, trial, width)
        if y - high < paper.margin + FOOT:
            pages.append([])
            y = paper.height - TOP
        pages[-1] += moved(marks, left, y)
        y -= high + 8.0
    return tuple(
        OwnPage(
            title="SHOP HEAD",
            subtitle="try three in scrap",
            picture=Picture(marks=tuple(marks), width=paper.width, height=paper.height),
            figure=False,
        )
        for marks in pages
    )


def _notes(solution: Solution) -> tuple[str, ...]:
    units, trial, one = solution.job.units, solution.trials[0], _set(solution)
    length = trial.rivets[1][0]
    moves = one.fill(length, trial.grip - GRIP_OFF), one.fill(length, trial.grip)
    share, _ = one.head_of(min(FLUSH_HEAD_WIDE * one.diameter, one.head))
    moved_by = abs((moves[0] or 0.0) - (moves[1] or 0.0))
    return (
        "Set each in scrap of the same grip, drilled and dimpled as the work will be.",
        "Take the longest that is not proud and leaves the skin smooth, at least 1.5 D wide.",
        f"Fill: share of the well. 1.5 D wide is {share:.2f}; over 1.00 is proud, and puckers.",
        f"A grip off by {Length(GRIP_OFF, 2).said(units)} moves the fill by {moved_by:.2f}.",
        "Lengths are over all, head included. Your plans win.",
    )


def _rows(solution: Solution, trial: Trial, width: float) -> tuple[tuple[Mark, ...], float]:
    """Return the table of one run, its upper left corner at the origin, and its height."""
    units = solution.job.units
    at = [share * width for share in COLUMNS]
    title = f"{_holes(trial)}, grip {fine(trial.grip).said(units)}"
    marks = [words((0.0, -MIDDLE), title, MIDDLE, Weight.SEMIBOLD)]
    y = -MIDDLE - HEAD_ROW
    names = ("length, {u}", "fill", "width, {u}", "low or proud, {u}", "skin puckered")
    for x, name in zip(at, names, strict=True):
        marks.append(words((x, y + 2.0), name.format(u=units)))
    marks.append(line((0.0, y), (width, y), width=WIDE))
    for n, (length, code, fill) in enumerate(trial.rivets):
        base = y - ROW / 2 - MIDDLE / 2
        weight = Weight.SEMIBOLD if n == 1 else Weight.MEDIUM
        long = bare(fine(length), units)
        marks.append(words((0.0, base), f"{code}   {long}".strip(), MIDDLE, weight))
        marks.append(words((at[1], base), f"{fill:.2f}", MIDDLE, weight))
        marks += [line((x, base - 0.5), (x + 0.15 * width, base - 0.5)) for x in at[2:4]]
        for k, said in enumerate(("yes", "no")):
            x = at[4] + 0.105 * width * k
            box = Bounds(x, base, x + 3.5, base + 3.5).corners
            marks += [line(*box, box[0], width=NARROW), words((x + 5.0, base + 0.5), said)]
        y -= ROW
        marks.append(line((0.0, y), (width, y), width=HATCH))
    return tuple(marks), -y


# --- its pictures


def _sections(solution: Solution, width: float) -> list[list[Picture]]:
    """Return the rivet as it goes in and as it is wanted, side by side where there is room."""
    units, trial, one = solution.job.units, solution.trials[0], _set(solution)
    length, grip = trial.rivets[1][0], trial.grip
    stands, wide = length - grip, FLUSH_HEAD_WIDE * one.diameter
    room = min(PICTURE_WIDE, (width - 6.0) / 2) if width >= 120.0 else width
    scale = min(
        SCALE,
        (room - 26.0) / (one.head + 2 * BESIDE),
        PICTURE_HIGH / (grip + max(stands, 0.0)),
    )
    shank, head, hole = one.diameter / 2, one.head / 2, one.hole / 2
    cone, mouth = one.height(one.head, one.diameter), one.height(one.head, one.hole)
    block = [(hole, mouth), (head, 0.0), (head + BESIDE, 0.0), (head + BESIDE, grip),
             (head, grip), (hole, grip - mouth)]  # fmt: skip
    share, low = one.head_of(min(wide, one.head))
    put_in = [(shank, length), (shank, cone), (head, 0.0)]
    wanted = [
        (min(wide, one.head) / 2, grip - low),
        (hole, grip - mouth),
        (hole, mouth),
        (head, 0.0),
    ]
    out, left = (head + BESIDE) * scale, -(head + BESIDE) * scale
    span, rim = wide / 2 * scale, (grip - low) * scale
    drawn = (
        (
            "as it goes in",
            put_in,
            [
                *dimension((left, 0.0), (left, grip * scale), fine(grip).said(units), off=6.0),
                *label(
                    (out - 6.0, length * scale - 2.0),
                    f"{fine(stands).said(units)} out",
                    (shank * scale, (grip + length) / 2 * scale),
                ),
            ],
        ),
        (
            f"at least: fill {share:.2f}, {fine(low).said(units)} low",
            wanted,
            dimension((-span, rim), (span, rim), fine(wide).said(units), off=7.0),
        ),
    )
    pictures = []
    for title, half, more in drawn:
        marks = []
        for sign in (1.0, -1.0):
            marks.append(area(_scaled([(sign * x, z) for x, z in block], scale), 0.0, FINE_WIDE))
        metal = _scaled([*half, *((-x, z) for x, z in reversed(half))], scale)
        marks += [area(metal, 0.0, FINE_WIDE), *hatched(metal, 2.0, FINE), *more]
        marks.append(words((0.0, -5.0), title, SMALL, Weight.SEMIBOLD, Anchor.MIDDLE))
        pictures.append(Picture.around(marks))
    return [pictures] if width >= 120.0 else [[part] for part in pictures]


def _scaled(points: Sequence[tuple[float, float]], scale: float) -> list[tuple[float, float]]:
    return [(scale * x, scale * y) for x, y in points]
