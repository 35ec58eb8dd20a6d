"""The title band of a hole strip: name, holes, what the rows mean, arrows, bars, places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import SMALLEST, Line, block_arrow, fitted_height, text_block, wrapped
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Text
from jiggen.jigs.strip_marks import CROSS, UPPER_IN, Frame
from jiggen.units import say_length

#: mm. Columns of the band: the arrows', and the most that the lying bars take.
ARROWS, BARS = 22.0, 52.5
#: mm. A narrower column of words leaves the name too small to be read.
WORDS_MIN = 60.0
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
    name = Line(text=f"{title}: {hole_range(numbers)}", height=4.0, bold=True)
    lines = [
        *wrapped(plan.words[0], 2.6, band.width, most=1),
        *(Line(text=text, height=2.0) for text in plan.words[1:]),
    ]
    columns = _columns(band)
    marks: list[Mark] = []
    if columns.words.width < WORDS_MIN:
        # On a short tile the name gets the whole width above the columns.
        marks += text_block(Bounds(band.left, band.top - 4.6, band.right, band.top), [name])
        columns = _columns(Bounds(band.left, band.bottom, band.right, band.top - 4.8))
    else:
        lines = [name, *lines]
    lines = [row for line in lines for row in _broken(line, columns.words.width)]
    standing, standing_sizes = bar_pair(columns.standing, along_y=True)
    lying, lying_sizes = bar_pair(columns.lying)
    marks += text_block(columns.words, lines)
    if frame.tile.number == frame.tile.count:
        ending = [Line(text=text, height=2.0) for text in plan.ending]
        width = columns.ending.width
        marks += text_block(columns.ending, [r for line in ending for r in _broken(line, width)])
    marks += _arrows(columns.arrows)
    marks += (mark for at in frame.tile.crosses for mark in _cross_words(frame, at))
    return (*marks, *standing, *lying), (*lying_sizes, *standing_sizes)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Columns:
    """The title band's columns from left to right, mm: words, arrows, lying bars, standing bars.

    Attributes:
        words: the name and what the strip says of itself.
        arrows: FORWARD and TE.
        lying: bars along x, at the foot.
        ending: over the lying bars, for the last tile's words.
        standing: bars along y.
    """

    words: Bounds
    arrows: Bounds
    lying: Bounds
    ending: Bounds
    standing: Bounds


def _columns(band: Bounds) -> _Columns:
    bottom, top = band.bottom, band.top
    standing = Bounds(band.right - pair_room(), bottom, band.right, top)
    right = standing.left - 1.5
    lying = Bounds(right - min(BARS, 0.32 * band.width), bottom, right, bottom + pair_room())
    arrows = Bounds(lying.left - BETWEEN - ARROWS, bottom, lying.left - BETWEEN, top)
    return _Columns(
        words=Bounds(band.left, bottom, arrows.left - BETWEEN, top),
        arrows=arrows,
        lying=lying,
        ending=Bounds(lying.left, lying.top + 1.0, lying.right, top),
        standing=standing,
    )


def _broken(line: Line, width: float) -> tuple[Line, ...]:
    """Return a line as it is where it fits when set a little smaller, else broken into several."""
    if line.bold or fitted_height(line, width) >= SMALLEST:
        return (line,)
    return wrapped(line.text, line.height, width, most=3)


def hole_range(numbers: Sequence[int]) -> str:
    """Say which holes are on a tile.

    Args:
        numbers: of the holes on it.
    """
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
