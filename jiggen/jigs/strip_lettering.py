"""The title band of a hole strip: name, holes, what the rows mean, arrows, bars, places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import (
    LEADING,
    SMALLEST,
    Line,
    block_arrow,
    fitted_height,
    text_block,
    wrapped,
)
from jiggen.drawing.lettering import text_width, wrap
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Text
from jiggen.jigs.strip_frame import CROSS, EVERY, UPPER_IN, Frame
from jiggen.jigs.strip_words import rounding_words
from jiggen.units import say_length

#: mm. Columns of the band: the arrows', and the most that the lying bars take.
ARROWS, BARS = 22.0, 52.5
#: mm. A narrower column of words leaves the name too small to be read.
WORDS_MIN = 60.0
#: mm. The arrow toward hole 1, and the capitals beside it.
ARROW, HOLE_1 = 9.0, 2.4
#: mm. Between two columns, and from a join's words to the first.
BETWEEN = 3.0


def title_marks(
    frame: Frame, title: str, numbers: Sequence[int], *, whole: bool = False
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return what stands in the title band, and its calibration bars.

    Args:
        frame: the tile.
        title: what the piece is called.
        numbers: of the holes on it.
        whole: name and arrows again and again along the strip: it is used a stretch at a time.

    Returns:
        The marks, and the bars' check dimensions.
    """
    plan, (low, high) = frame.plan, frame.between
    top = plan.width - UPPER_IN - CROSS - 0.6
    band = Bounds(low + BETWEEN, plan.title_bottom + 0.8, high - BETWEEN, top)
    name = Line(text=f"{title}: {hole_range(numbers)}", height=4.0, bold=True)
    columns = _columns(band)
    marks: list[Mark] = []
    if columns.words.width < WORDS_MIN:
        # On a short tile the name gets the whole width above the columns.
        marks += text_block(Bounds(band.left, band.top - 4.6, band.right, band.top), [name])
        columns = _columns(Bounds(band.left, band.bottom, band.right, band.top - 4.8))
        lines = _word_lines((), plan.words, columns.words)
    else:
        lines = _word_lines((name,), plan.words, columns.words)
    standing, standing_sizes = bar_pair(columns.standing, along_y=True)
    lying, lying_sizes = bar_pair(columns.lying)
    words = text_block(columns.words, lines)
    marks += words
    if frame.tile.number == frame.tile.count:
        marks += text_block(columns.ending, _ending(frame, columns.ending))
    marks += _arrows(columns.arrows)
    marks += (mark for at in frame.tile.crosses for mark in _cross_words(frame, at))
    marks += _toward_hole_1(frame)
    if whole:
        right = max(mark.bounds().right for mark in words)
        free = Bounds(right, band.bottom, columns.arrows.left, band.top)
        marks += _again(free, f"{title}: {plan.words[0]}")
    return (*marks, *standing, *lying), (*lying_sizes, *standing_sizes)


def _ending(frame: Frame, box: Bounds) -> list[Line]:
    """Return what the last tile says of the whole strip, in brief where there is little room."""
    plan = frame.plan
    said = (*plan.ending, rounding_words(frame.tile.count, plan.units))
    full = [Line(text=text, height=2.0) for text, _ in said]
    rows = [row for line in full for row in _broken(line, box.width)]
    least = min(fitted_height(row, box.width) for row in rows)
    if least * _share(rows, box) >= SMALLEST:
        return rows
    return [Line(text=brief, height=2.0) for _, brief in said]


def _word_lines(first: Sequence[Line], words: Sequence[str], box: Bounds) -> list[Line]:
    """Return what the band says in lines that can be read, all of them if there is room at all.

    One sentence a line is read best; where the band is low they run on in one paragraph.
    """
    name, *rest = words
    top = [*first, *wrapped(name, 2.6, box.width, most=1)]
    apart = [row for text in rest for row in _broken(Line(text=text, height=2.0), box.width)]
    # text_block sets all lines smaller together, so the least share tells.
    if _share([*top, *apart], box) >= SMALLEST / 2.0:
        return [*top, *apart]
    for height in (2.0, SMALLEST):
        run_on = [Line(text=row, height=height) for row in wrap(" ".join(rest), height, box.width)]
        if _share([*top, *run_on], box) >= SMALLEST / height:
            return [*top, *run_on]
    return [*top, *run_on] if len(run_on) < len(apart) else [*top, *apart]


def _share(lines: Sequence[Line], box: Bounds) -> float:
    """Return by what share lines are set smaller for their box's height."""
    tall = sum(fitted_height(line, box.width) for line in lines) * LEADING
    return min(1.0, box.height / tall)


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
        ending=Bounds(lying.left, lying.top + 1.0, lying.right, top - 0.8),
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


def _toward_hole_1(frame: Frame) -> tuple[Mark, ...]:
    """Return an arrow toward hole 1 inward of the cross at that end, in line with its words.

    The cut corner goes where a tile is cut for its join; this stays on it.
    """
    plan, (low, high) = frame.plan, frame.between
    near, inward = frame.x(frame.tile.crosses[0]), plan.hand
    words = max(mark.bounds().width for mark in _cross_words(frame, frame.tile.crosses[0]))
    line = Line(text="HOLE 1", height=HOLE_1, bold=True)
    start = CROSS + 0.8 + words + BETWEEN
    far = start + ARROW + 1.2 + text_width(line.text, line.height, bold=True)
    other = max(mark.bounds().width for mark in _cross_words(frame, frame.tile.crosses[1]))
    if far > high - low - CROSS - 0.8 - other - BETWEEN:
        return ()
    y = plan.width - UPPER_IN
    ends = sorted(near + inward * along for along in (start, start + ARROW))
    lying = Bounds(ends[0], y - 1.5, ends[1], y + 1.5)
    text = Text(
        Point(near + inward * (start + ARROW + 1.2), y - line.height / 2.0),
        line.text,
        line.height,
        anchor=Anchor.START if inward > 0 else Anchor.END,
        bold=True,
    )
    return (*block_arrow(lying, points_right=inward < 0), Mark(shape=text, op=Op.ENGRAVE))


def _again(free: Bounds, words: str) -> list[Mark]:
    """Return arrows and the strip's name repeated along what is free of the band."""
    line = Line(text=words, height=3.0, bold=True)
    room = EVERY - ARROWS - 2 * BETWEEN
    wide = min(text_width(words, line.height, bold=True), room)
    marks: list[Mark] = []
    count = int((free.width - BETWEEN) // EVERY)
    for n in range(count):
        # Evenly spread, the last as far from the arrows at the end as from its neighbour.
        left = free.left + (n + 1) * free.width / (count + 1) - (wide + ARROWS) / 2.0
        marks += _arrows(Bounds(left, free.bottom, left + ARROWS, free.top))
        box = Bounds(left + ARROWS + BETWEEN, free.bottom, left + ARROWS + BETWEEN + wide, free.top)
        middle = (box.bottom + box.top) / 2.0
        marks += text_block(Bounds(box.left, middle - 3.0, box.right, middle + 3.0), [line])
    return marks
