"""The title band of a hole strip: name, holes, what the rows mean, arrows, bars, places."""

from __future__ import annotations

from collections.abc import Sequence

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import SMALLEST, Line, block_arrow, fitted_height, text_block, wrapped
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Text
from jiggen.jigs.strip_marks import CROSS, UPPER_IN, Frame
from jiggen.units import say_length

#: mm. Columns of the band: the arrows', and the most that the lying bars take.
ARROWS, BARS = 22.0, 52.5
#: mm. Between two columns, and from a join's words to the first.
BETWEEN = 3.0


def title_marks(
    frame: Frame, title: str, numbers: Sequence[int]
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return what stands in the title band, and its calibration bars.

    Args:
        frame: the tile.
        title: what the piece is called.
        numbers: of the holes on it.

    Returns:
        The marks, and the bars' check dimensions.
    """
    plan, (low, high) = frame.plan, frame.between
    top = plan.width - UPPER_IN - CROSS - 0.6
    band = Bounds(low + BETWEEN, plan.title_bottom + 0.8, high - BETWEEN, top)
    bars = min(BARS, 0.32 * band.width)
    column = Bounds(band.right - pair_room(), band.bottom, band.right, band.top)
    row = Bounds(
        column.left - 1.5 - bars, band.bottom, column.left - 1.5, band.bottom + pair_room()
    )
    standing, standing_sizes = bar_pair(column, along_y=True)
    lying, lying_sizes = bar_pair(row)
    arrows = Bounds(row.left - BETWEEN - ARROWS, band.bottom, row.left - BETWEEN, band.top)
    words = Bounds(band.left, band.bottom, arrows.left - BETWEEN, band.top)
    last = frame.tile.number == frame.tile.count
    lines = [
        Line(text=f"{title}: {_range(numbers)}", height=4.0, bold=True),
        *wrapped(plan.words[0], 2.6, words.width, most=1),
        *(row for text in plan.words[1:] for row in wrapped(text, 2.0, words.width)),
    ]
    beside = Bounds(row.left, row.top + 1.0, row.right, band.top)
    ending = [row for text in plan.ending for row in wrapped(text, 2.0, beside.width, most=3)]
    return (
        (
            *text_block(words, lines),
            *(text_block(beside, ending) if last else ()),
            *_arrows(arrows),
            *standing,
            *lying,
            *(mark for at in frame.tile.crosses for mark in _cross_words(frame, at)),
        ),
        (*lying_sizes, *standing_sizes),
    )


def _range(numbers: Sequence[int]) -> str:
    """Say which holes are on a tile."""
    if not numbers:
        return "no holes"
    first, last = min(numbers), max(numbers)
    return f"hole {first}" if first == last else f"holes {first}-{last}"


def _arrows(box: Bounds) -> tuple[Mark, ...]:
    """Return an arrow up with FORWARD beside it, and one down with TE."""
    middle = (box.bottom + box.top) / 2.0
    tall = min(10.0, (box.height - 2.0) / 2.0)
    marks: list[Mark] = []
    for word, bottom, turn in (("FORWARD", middle + 0.6, 90.0), ("TE", middle - 0.6 - tall, -90.0)):
        lying = Bounds(-tall / 2.0, -2.4, tall / 2.0, 2.4)
        place = Affine.move(box.left + 2.4, bottom + tall / 2.0) @ Affine.turn(turn)
        marks += [m.moved(place) for m in block_arrow(lying, points_right=True)]
        line = Line(text="FORWARD", height=2.6, bold=True)
        height = fitted_height(line, box.width - 6.4)
        at = Point(box.left + 6.2, bottom + (tall - height) / 2.0)
        marks.append(Mark(shape=Text(at, word, height, bold=True), op=Op.ENGRAVE))
    return tuple(marks)


def _cross_words(frame: Frame, at: float) -> tuple[Mark, ...]:
    """Say where along the edge a pair of crosses stands, beside the upper one, inward."""
    plan, (low, high) = frame.plan, frame.between
    said = say_length(at, plan.units, 2 if plan.units == "mm" else 4)
    x = frame.x(at)
    inward = 1.0 if x < (low + high) / 2.0 else -1.0
    text = f"crosses at {said}"
    height = fitted_height(Line(text=text, height=SMALLEST), (high - low) / 2.0 - CROSS - 1.0)
    mark = Text(
        Point(x + inward * (CROSS + 0.8), plan.width - UPPER_IN - height / 2.0),
        text,
        height,
        anchor=Anchor.START if inward > 0 else Anchor.END,
    )
    return (Mark(shape=mark, op=Op.ENGRAVE),)
