"""The frame that every page has: title, check figure, key, and the title block.

The check figure is a rectangle with sides 3 : 4, so that its diagonal is a whole number; crosses
stand at its true corners and a bar on two of its sides. Both diagonals as printed, both bars right:
the page is true. Its sides are unlike, so nobody takes one for the other.

::

     GUIDE 1                                   job
    o-----------------------------------------o
    |                                         |  |
    |   pieces and pictures                   |  | bar
    |                                         |  |
    o--------------|bar|----------------------o
     key                  | code | units | check | page |
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing.affine import Point
from jiggen.drawing.lettering import LARGE, MIDDLE, SMALL, TITLE, shortened, text_width
from jiggen.drawing.looks import BAND, BAR, FINE, TINT, WIDE, area, cross, head, line, moved, words
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Dash, Mark, Weight
from jiggen.errors import DoesNotFit
from jiggen.units import INCH

#: mm. What the figure leaves free above it, below it and beside it, and the least diagonal.
ABOVE, BELOW, BESIDE = 23.0, 25.0, 28.0
LEAST = {"mm": 160.0, "in": 6 * INCH}
#: mm. The diagonal's steps, and the bars on the figure's sides.
STEPS = {"mm": 20.0, "in": INCH}
BARS = {"mm": (100.0, 50.0), "in": (4 * INCH, 2 * INCH)}
#: mm. A figure stands this far from the left edge of an upright page.
LEFT = 12.0
#: mm. Arms and ring of the cross at a true corner.
CROSS, RING = 4.0, 1.5
#: mm. Height of the foot strip; width of its title block, with and without a check; room of the
#: blank that the check is written in.
FOOT, SLIM, SLIM_PLAIN, BLANK = 10.0, 112.0, 70.0, 18.0


class Picture(Struct, frozen=True, kw_only=True):
    """Line art with its own lower left corner at the origin, mm."""

    marks: tuple[Mark, ...]
    width: float
    height: float

    def at(self, x: float, y: float) -> tuple[Mark, ...]:
        """Return the marks with the lower left corner at (x, y), mm."""
        return moved(self.marks, x, y)

    @classmethod
    def around(cls, marks: Sequence[Mark]) -> Picture:
        """Return marks as a picture whose corner is theirs."""
        box = Bounds.union(mark.bounds() for mark in marks)
        drawn = moved(marks, -box.left, -box.bottom)
        return cls(marks=drawn, width=box.width, height=box.height)


class Paper(Struct, frozen=True, kw_only=True):
    """A page of paper and what is the same on each page of a job.

    Its name is as lettered, e.g. ``A4``; the margin stays white on each side; mm.
    """

    width: float
    height: float
    name: str
    margin: float
    units: str
    job: str
    version: str = ""

    @property
    def lying(self) -> Paper:
        """Return the same paper with its long side across."""
        long, short = max(self.width, self.height), min(self.width, self.height)
        return replace(self, width=long, height=short)

    @property
    def upright(self) -> Paper:
        """Return the same paper with its short side across."""
        lying = self.lying
        return replace(self, width=lying.height, height=lying.width)


class Figure(Struct, frozen=True, kw_only=True):
    """The check figure of a page, mm: its true corners, a whole diagonal, and the length of a bar.

    Both lengths also as they are lettered, e.g. ``300 mm``.
    """

    box: Bounds
    diagonal: float
    said: str
    bar: float
    bar_said: str


def figure_of(paper: Paper) -> Figure:
    """Return the largest check figure that a page has room for, its long side along the page's.

    Raises:
        DoesNotFit: the page has no room for one that could be measured well enough.
    """
    high = paper.height >= paper.width
    across, up = (0.6, 0.8) if high else (0.8, 0.6)
    step, least = STEPS[paper.units], LEAST[paper.units]
    room = min((paper.width - BESIDE) / across, (paper.height - ABOVE - BELOW) / up)
    diagonal = math.floor(room / step + 1e-9) * step
    if diagonal < least:
        raise DoesNotFit(
            "the page has no room for its check figure",
            key="print.paper",
            given=paper.name,
            remedy="take paper of A5 or larger",
        )
    width, height = across * diagonal, up * diagonal
    left = LEFT if high and LEFT + width + 8.0 <= paper.width else (paper.width - width) / 2
    bottom = paper.height - ABOVE - height
    unit = INCH if paper.units == "in" else 1.0
    bar = next(b for b in BARS[paper.units] if b <= min(width, height) - 2 * RING)
    return Figure(
        box=Bounds(left, bottom, left + width, bottom + height),
        diagonal=diagonal,
        said=f"{diagonal / unit:.0f} {paper.units}",
        bar=bar,
        bar_said=f"{bar / unit:.0f} {paper.units}",
    )


def figure_marks(figure: Figure) -> tuple[Mark, ...]:
    """Return the check figure as it is drawn."""
    b = figure.box
    marks = [line(*b.corners, b.corners[0], width=FINE)]
    for corner in b.corners:
        marks += cross(corner, CROSS, RING)
    for start, end in _bars(figure):
        marks += _bar(start, end, figure.bar_said)
    return tuple(marks)


def figure_sizes(figure: Figure) -> tuple[CheckDimension, ...]:
    """Return what the check figure should measure, mm: bars, diagonals and the two unlike sides."""
    low_left, low_right, up_right, up_left = figure.box.corners
    (x0, x1), (y0, y1) = _bars(figure)
    rows = (
        ("bar-x", figure.bar, x0, x1, "the bar, lower side", True),
        ("bar-y", figure.bar, y0, y1, "the bar, right side", True),
        ("diagonal-1", figure.diagonal, low_left, up_right, "lower left to upper right", False),
        ("diagonal-2", figure.diagonal, low_right, up_left, "lower right to upper left", False),
        ("side-x", figure.box.width, low_left, low_right, "lower left to lower right", False),
        ("side-y", figure.box.height, low_right, up_right, "lower right to upper right", False),
    )
    return tuple(
        CheckDimension(name=name, nominal=nominal, start=p, end=q, how=how, is_bar=bar)
        for name, nominal, p, q, how, bar in rows
    )


def heading(paper: Paper, title: str, subtitle: str = "") -> tuple[Mark, ...]:
    """Return the page's title, a few words beside it, and the job's name at the right."""
    y = paper.height - 17.0
    right = paper.width - paper.margin
    name = shortened(paper.job, MIDDLE, min(95.0, (right - paper.margin) / 2), Weight.SEMIBOLD)
    free = right - paper.margin - text_width(name, MIDDLE, Weight.SEMIBOLD) - 4.0
    size = TITLE if text_width(title, TITLE, Weight.BOLD) <= free else LARGE
    marks = [
        words((paper.margin, y), title, size, Weight.BOLD),
        words((right, y), name, MIDDLE, Weight.SEMIBOLD, Anchor.END),
    ]
    used = text_width(title, size, Weight.BOLD) + 4.0
    if subtitle and used + text_width(subtitle, MIDDLE) <= free:
        marks.append(words((paper.margin + used, y), subtitle, MIDDLE))
    return tuple(marks)


def foot(
    paper: Paper, code: str, number: int, count: int, check: str, keys: Sequence[str]
) -> tuple[Mark, ...]:
    """Return the foot strip: left the key, right the slim title block.

    `check` is the diagonal to measure, e.g. ``300 mm``; empty where the page has no figure.
    """
    units = "inches" if paper.units == "in" else "mm"
    said = [code, f"{units}  1:1  {paper.name}", *([f"check {check}:"] if check else [])]
    said.append(f"{number} / {count}")
    needs = [
        text_width(text, SMALL, Weight.SEMIBOLD) + (BLANK if text.startswith("check") else 6.0)
        for text in said
    ]
    room = paper.width - 2 * paper.margin
    wide = min(max(SLIM if check else SLIM_PLAIN, sum(needs)), room)
    left, low = paper.width - paper.margin - wide, paper.margin
    box = Bounds(left, low, left + wide, low + FOOT).corners
    marks = [line(*box, box[0], width=WIDE)]
    x, y = left, low + (FOOT - SMALL) / 2
    for n, (text, needed) in enumerate(zip(said, needs, strict=True)):
        cell = needed * wide / sum(needs)
        if n:
            marks.append(line((x, low), (x, low + FOOT)))
        if text.startswith("check"):
            marks.append(words((x + 2.0, y), text, SMALL, Weight.SEMIBOLD))
            start = x + 4.0 + text_width(text, SMALL, Weight.SEMIBOLD)
            marks.append(line((start, y - 0.5), (x + cell - 2.0, y - 0.5)))
        else:
            middle = (x + cell / 2, y)
            marks.append(words(middle, text, SMALL, Weight.SEMIBOLD, Anchor.MIDDLE))
        x += cell
    return (*marks, *key_row(keys, Bounds(paper.margin, low, left - 4.0, low + FOOT)))


def key_row(keys: Iterable[str], room: Bounds) -> tuple[Mark, ...]:
    """Return the key's signs with their words in one row, as many as there is room for."""
    marks: list[Mark] = []
    x, y = room.left, room.middle.y
    for name in keys:
        wide = 13.5 + text_width(name, SMALL)
        if x + wide > room.right:
            break
        marks += key_sign(name, x, y)
        marks.append(words((x + 11.0, y - SMALL / 2), name, SMALL))
        x += wide + 1.0
    return tuple(marks)


def key_width(names: Iterable[str]) -> float:
    """Return how wide the key's signs are with their words, and the white after them, mm."""
    return sum(14.5 + text_width(name, SMALL) for name in names)


def key_sign(name: str, x: float, y: float) -> tuple[Mark, ...]:
    """Return one sign of the key, 9 mm wide from x, about the height y."""
    left, right = x, x + 9.0

    def box(low: float, high: float, fill: float) -> Mark:
        return area(Bounds(left, low, right, high).corners, fill)

    match name:
        case "true edge":
            return (line((left, y), (right, y), width=WIDE),)
        case "waste":
            return (box(y - 1.75, y + 1.75, TINT),)
        case "file this away":
            edge = line((left, y - 1.4), (right, y - 1.4), width=WIDE)
            return (box(y - 1.1, y + 2.4, TINT), box(y - 1.1, y + 0.4, BAND), edge)
        case "hidden":
            return (line((left, y), (right, y), dash=Dash.HIDDEN),)
        case "fold" | "join":
            return (line((left, y), (right, y), dash=Dash.FOLD),)
        case "axis, chord plane" | "axis":
            return (line((left, y), (right, y), width=FINE, dash=Dash.CHAIN),)
        case "true corner":
            return cross((left + 4.5, y), 3.0, RING)
        case _:
            shaft = line((left, y), (right - 5.0, y), width=BAR)
            return (shaft, head((right, y), 0.0, (5.0, 3.4)))


def _bars(figure: Figure) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
    b, half = figure.box, figure.bar / 2
    x, y = b.middle
    return (
        (Point(x - half, b.bottom), Point(x + half, b.bottom)),
        (Point(b.right, y - half), Point(b.right, y + half)),
    )


def _bar(start: tuple[float, float], end: tuple[float, float], said: str) -> list[Mark]:
    upright = start[0] == end[0]
    dx, dy = (2.0, 0.0) if upright else (0.0, 2.0)
    marks = [line(start, end, width=BAR)]
    marks += [line((x - dx, y - dy), (x + dx, y + dy)) for x, y in (start, end)]
    mid = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    at = (mid[0] + 2.0 + SMALL, mid[1]) if upright else (mid[0], mid[1] - 2.2 - SMALL)
    turn = 90.0 if upright else 0.0
    marks.append(words(at, said, SMALL, Weight.SEMIBOLD, Anchor.MIDDLE, turn))
    return marks
