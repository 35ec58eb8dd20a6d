"""A printed page's own marks: two bars along each axis, the check square, head and foot lines.

The bars are as far apart and as long as any sheet allows; the square's four crosses stand in the
corners of the page, so that its diagonals show a skewed print better than any smaller square.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.drawing.affine import Point
from jiggen.drawing.bars import INCH_MM, calibration_bar
from jiggen.drawing.labels import Line, fitted_height, text_block
from jiggen.drawing.lettering import text_width
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path, Text
from jiggen.errors import DoesNotFit
from jiggen.units import size, words

#: mm. Width of the strip on the left, of the strip at the foot, and of the head.
LEFT, FOOT, HEAD = 11.0, 19.0, 11.0
#: mm. From the printable area's corner to the middle of a cross, and half a cross.
CROSS_IN, CROSS_HALF = 3.0, 2.2
BAR = 100.0
#: mm. Smallest room for pieces that makes a page worth printing.
LEAST_ROOM = 40.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PageWords:
    """What stands at head and foot of a page.

    Attributes:
        job: name of the job.
        number: of this page, from 1.
        count: of all pages.
        caution: one line at the foot.
        corrected: a sentence if the page is mis-scaled on purpose; else empty.
        units: ``mm`` or ``in``: what the job's people measure in; it is said first.
        card: long side of a bank card, mm; its tick on each 100 mm bar serves whoever has no rule.
    """

    job: str
    number: int
    count: int
    caution: str
    corrected: str = ""
    units: str = "mm"
    card: float | None = None


def page_room(width: float, height: float, margin: float) -> Bounds:
    """Return the room for pieces on a page.

    Args:
        width: of the paper, mm.
        height: of the paper, mm.
        margin: white on each side, mm.

    Raises:
        DoesNotFit: the paper is too small for bars and a piece.
    """
    # A little white keeps pieces off the bars and off the head's rule.
    left, bottom = margin + LEFT + 1.0, margin + FOOT + 1.0
    far = margin + CROSS_IN + square_side(width, height, margin) - CROSS_HALF - 0.8
    # The far crosses stand to the right of the room on an upright page, above it on a lying one.
    right, top = width - margin, height - margin - HEAD - 2.0
    room = (
        Bounds(left, bottom, min(far, right), top)
        if height >= width
        else Bounds(left, bottom, right, min(far, top))
    )
    if min(room.width, room.height) < LEAST_ROOM or width - 2 * margin < BAR + LEFT + 8.0:
        raise DoesNotFit(
            "the paper is too small for the 100 mm bars and a piece",
            key="print.paper",
            given=words(
                "{width} x {height} with a margin of {margin}",
                width=size(width),
                height=size(height),
                margin=size(margin),
            ),
            remedy=words("A5 upright or larger, with a margin of {margin}", margin=size(10.0)),
        )
    return room


def square_side(width: float, height: float, margin: float) -> float:
    """Return the side of the check square in whole mm: as large as head and margins allow."""
    return float(
        math.floor(min(width - 2 * margin, height - 2 * margin - HEAD - 6.0) - 2 * CROSS_IN)
    )


def page_furniture(
    width: float, height: float, margin: float, words: PageWords
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Draw a page's bars, square, head and foot.

    Args:
        width: of the paper, mm.
        height: of the paper, mm.
        margin: white on each side, mm.
        words: what stands at head and foot.

    Returns:
        The marks and the page's check dimensions: ``bar-x``, ``bar-y``, ``bar-x-in``,
        ``bar-y-in``, ``diagonal-1``, ``diagonal-2``, ``square-x``, ``square-y``.
    """
    bars, bar_sizes = _bars(margin)
    if words.card is not None:
        bars = (*bars, *_card_ticks(margin, words.card))
    crosses, square_sizes = _square(width, height, margin)
    return (
        (
            *bars,
            *crosses,
            *_head(width, height, margin, words),
            *_foot(width, height, margin, words),
        ),
        (*bar_sizes, *square_sizes),
    )


def _card_ticks(margin: float, card: float) -> tuple[Mark, ...]:
    """Mark a bank card's long side on both 100 mm bars: laid from the first tick it ends here."""
    x0, y0 = margin + LEFT + 1.0, margin + FOOT + 1.0
    bar_x, bar_y = margin + 14.6, margin + 7.8
    size = 1.6
    return (
        Mark(
            shape=Path.open([(x0 + card, bar_x - 1.1), (x0 + card, bar_x + 1.1)]),
            op=Op.NOTE,
            line=0.15,
        ),
        Mark(
            shape=Text(Point(x0 + card, bar_x + 1.6), "card", size, anchor=Anchor.MIDDLE),
            op=Op.NOTE,
        ),
        Mark(
            shape=Path.open([(bar_y - 1.1, y0 + card), (bar_y + 1.1, y0 + card)]),
            op=Op.NOTE,
            line=0.15,
        ),
        Mark(
            shape=Text(
                Point(bar_y - 1.6, y0 + card), "card", size, turn=90.0, anchor=Anchor.MIDDLE
            ),
            op=Op.NOTE,
        ),
    )


def _bars(margin: float) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    x0, y0 = margin + LEFT + 1.0, margin + FOOT + 1.0
    rows = (
        ("bar-x-in", "4 in", 4 * INCH_MM, (x0, margin + 9.2), False),
        ("bar-x", "100 mm", BAR, (x0, margin + 14.6), False),
        ("bar-y-in", "4 in", 4 * INCH_MM, (margin + 2.6, y0), True),
        ("bar-y", "100 mm", BAR, (margin + 7.8, y0), True),
    )
    marks: list[Mark] = []
    sizes = []
    for name, label, length, start, along_y in rows:
        some, one = calibration_bar(
            label,
            length,
            start,
            along_y=along_y,
            tick=4.4,
            text_height=2.4,
            op=Op.NOTE,
            solid_ticks=True,
            name=name,
        )
        marks += some
        sizes.append(one)
    return tuple(marks), tuple(sizes)


def _square(
    width: float, height: float, margin: float
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    side = square_side(width, height, margin)
    x0 = y0 = margin + CROSS_IN
    x1, y1 = x0 + side, y0 + side
    corners = {
        "1 lower": (Point(x0, y0), 1, 1),
        "1 upper": (Point(x1, y1), -1, -1),
        "2 lower": (Point(x1, y0), -1, 1),
        "2 upper": (Point(x0, y1), 1, -1),
    }
    marks: list[Mark] = []
    h = CROSS_HALF
    for name, (p, inward_x, inward_y) in corners.items():
        marks += [
            Mark(shape=Path.open([(p.x - h, p.y), (p.x + h, p.y)]), op=Op.NOTE, line=0.15),
            Mark(shape=Path.open([(p.x, p.y - h), (p.x, p.y + h)]), op=Op.NOTE, line=0.15),
        ]
        # A short stroke points along the diagonal to the cross that belongs to this one.
        marks.append(
            Mark(
                shape=Path.open(
                    [
                        (p.x + inward_x * 0.5, p.y + inward_y * 0.5),
                        (p.x + inward_x * h, p.y + inward_y * h),
                    ]
                ),
                op=Op.NOTE,
                line=0.15,
            )
        )
        lower = inward_y > 0
        label = Text(
            Point(p.x + inward_x * (h + 0.7), p.y - 0.95) if lower else Point(p.x, p.y + h + 0.9),
            f"D{name[0]}",
            1.9,
            anchor=Anchor.MIDDLE if not lower else (Anchor.START if inward_x > 0 else Anchor.END),
        )
        marks.append(Mark(shape=label, op=Op.NOTE))
    rows = (
        ("diagonal-1", "1 lower", "1 upper", "cross D1, lower left, to cross D1, upper right"),
        ("diagonal-2", "2 lower", "2 upper", "cross D2, lower right, to cross D2, upper left"),
        ("square-x", "1 lower", "2 lower", "lower cross to lower cross"),
        ("square-y", "1 lower", "2 upper", "left cross to left cross"),
    )
    sizes = tuple(
        CheckDimension(
            name=name,
            nominal=math.dist(corners[a][0], corners[b][0]),
            start=corners[a][0],
            end=corners[b][0],
            how=how,
            is_bar=True,
        )
        for name, a, b, how in rows
    )
    return tuple(marks), sizes


def _head(width: float, height: float, margin: float, words: PageWords) -> tuple[Mark, ...]:
    top, left, right = height - margin, margin + 0.4, width - margin - 0.4
    page = f"page {words.number} of {words.count}"
    page_room = text_width(page, 3.0) + 4.0
    line = Line(text=words.job, height=3.4, bold=True)
    say = words.corrected or "Print at 100 %. Measure the bars before cutting."
    return (
        Mark(
            shape=Text(
                Point(left, top - 4.5),
                words.job,
                fitted_height(line, right - left - page_room),
                bold=True,
            ),
            op=Op.NOTE,
        ),
        Mark(shape=Text(Point(right, top - 4.5), page, 3.0, anchor=Anchor.END), op=Op.NOTE),
        Mark(
            shape=Text(
                Point(left, top - 8.9),
                say,
                fitted_height(Line(text=say, height=2.3), right - left),
            ),
            op=Op.NOTE,
        ),
        Mark(
            shape=Path.open([(left, top - HEAD + 0.8), (right, top - HEAD + 0.8)]),
            op=Op.NOTE,
            line=0.15,
        ),
    )


def _diagonals(width: float, height: float, margin: float, units: str) -> str:
    """Return what both diagonals should measure, in both units, the job's own first."""
    across = math.sqrt(2.0) * square_side(width, height, margin)
    said = [f"{across:.1f} mm", f"{across / INCH_MM:.3f} in"]
    return ", ".join(said if units == "mm" else said[::-1])


def _tolerances(units: str) -> tuple[str, str]:
    """Return what guides and wraps need of the bars; in inches rounded to the safe side."""
    if units == "in":
        return "guides: x and y bars alike within 0.019 in", "wraps: 4 in within 0.008 in"
    return "guides: x and y bars alike within 0.5 mm", "wraps: 100 mm within 0.2 mm"


def _foot(width: float, height: float, margin: float, words: PageWords) -> tuple[Mark, ...]:
    beside = CROSS_HALF + 5.2
    left = margin + CROSS_IN + beside
    right = margin + CROSS_IN + square_side(width, height, margin) - beside
    guides, wraps = _tolerances(words.units)
    after_bars = margin + LEFT + 4 * INCH_MM + 4.6
    tip = text_block(
        Bounds(after_bars, margin + 6.2, width - margin - 8.0, margin + 18.4),
        [
            Line(text="middle of tick to middle of tick", height=2.0),
            Line(text=guides, height=2.0),
            Line(text=wraps, height=2.0),
            Line(
                text=f"D1-D1 and D2-D2: {_diagonals(width, height, margin, words.units)}",
                height=2.0,
            ),
        ],
        op=Op.NOTE,
    )
    caution = Line(text=words.caution, height=2.1)
    return (
        *tip,
        Mark(
            shape=Text(
                Point((left + right) / 2, margin + 2.2),
                words.caution,
                fitted_height(caution, right - left),
                anchor=Anchor.MIDDLE,
            ),
            op=Op.NOTE,
        ),
    )
