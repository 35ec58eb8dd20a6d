"""What is written on a trim template: numbers over the holes, name block, arrows, bars, letters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import Line, block_arrow, text_block, wrapped
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path, Text

#: mm. Height of one of the two rows ahead of the wedge: numbers, then places.
ROW = 4.4
#: mm. Room of the two arrows.
ARROWS = 17.0
#: mm. Least distance between the middles of two numbers over holes.
APART = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimLabels:
    """What is lettered on a trim template.

    Attributes:
        title: name of the piece.
        place: where the cut is, as the title's second half.
        job: name of the job.
        lay: how it is laid on the part.
        lines: what else is to be known, most important first.
        fairing: what stands beside the fairing's line; empty without one.
        waste: what stands in the waste; on paper only.
        side_letter: ``a`` or ``b``: the face that it lies on.
        notes: sentences for the cover page.
        fairing_at: mm from the cut.
    """

    title: str
    place: str
    job: str
    lay: str
    lines: tuple[str, ...]
    fairing: str
    waste: str
    side_letter: str
    notes: tuple[str, ...]
    fairing_at: float


def bars(
    start: float, length: float, rows: float, top: float, column: float, place: Affine
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return a pair of bars along each edge.

    Args:
        start: where the title band begins, mm from the cut.
        length: of the template, mm.
        rows: where the title band begins, mm.
        top: of the template, mm.
        column: width kept free for the standing bars, mm.
        place: as drawn with the cut at the left, to where it is.
    """
    left = length - column + (column - pair_room()) / 2
    standing, standing_sizes = bar_pair(
        Bounds(left, 5.0, left + pair_room(), top - 5.0).moved(place), along_y=True
    )
    low = rows + 1.4
    lying, lying_sizes = bar_pair(
        Bounds(start + ARROWS + 2.4, low, length - column - 1.0, low + pair_room()).moved(place)
    )
    return (*standing, *lying), (*standing_sizes, *lying_sizes)


def lettering(
    numbers: Sequence[tuple[int, float]],
    labels: TrimLabels,
    frame: tuple[float, float, float, float],
    place: Affine,
) -> tuple[Mark, ...]:
    """Return numbers, words, arrows and corner letters.

    Args:
        numbers: number and place of each rivet hole, mm from the cut.
        labels: what is said.
        frame: where the title band begins from the cut, length, where the rows begin and the
            top, mm.
        place: as drawn with the cut at the left, to where it is.
    """
    start, length, work, top = frame
    rows = work + 2 * ROW
    left = start + ARROWS + 2.4
    box = Bounds(left, rows + pair_room() + 2.2, length - 10.0, top - 1.0)
    words = text_block(
        box.moved(place),
        [
            Line(text=f"{labels.title}  {labels.place}", height=4.0, bold=True),
            Line(text=labels.lay, height=2.5),
            *wrapped(labels.job, 2.4, box.width),
            *(Line(text=text, height=2.1) for text in labels.lines),
        ],
    )
    return (
        *words,
        *_row_of_numbers(numbers, work, place),
        *_row_of_places(labels, work + ROW, length, place),
        *_arrows(Bounds(start + 1.2, rows + 1.4, start + 1.2 + ARROWS, top - 1.2), place),
        *_letters(length, rows, top, place),
        *_waste(labels.waste, work, place),
    )


def _row_of_numbers(numbers: Sequence[tuple[int, float]], work: float, place: Affine) -> list[Mark]:
    """Return each rivet hole's number ahead of it, with a short stroke toward it."""
    marks = []
    last = -APART
    for number, at in numbers:
        x = place.point((at, 0.0)).x
        marks.append(Mark(shape=Path.open([(x, work - 0.6), (x, work + 0.8)]), op=Op.SCORE))
        if at - last < APART or at < 2.4:
            continue
        last = at
        marks.append(
            Mark(
                shape=Text(Point(x, work + 1.4), str(number), 2.4, anchor=Anchor.MIDDLE),
                op=Op.ENGRAVE,
            )
        )
    return marks


def _row_of_places(
    labels: TrimLabels, low: float, length: float, place: Affine
) -> tuple[Mark, ...]:
    """Return CUT at the cut, and what the fairing's line is, in the room beside each other."""
    start = Anchor.START if place.a > 0 else Anchor.END
    cut = Bounds(4.4, low - 0.4, 13.0, low + 3.6)
    marks = text_block(cut.moved(place), [Line(text="CUT", height=2.6, bold=True)], anchor=start)
    if labels.fairing:
        left = max(labels.fairing_at + 1.2, 14.0)
        room = Bounds(left, low, length - 11.0, low + 3.6)
        if room.width > 20.0:
            line = Line(text=labels.fairing, height=2.2)
            marks += text_block(room.moved(place), [line], anchor=start)
    return marks


def _arrows(box: Bounds, place: Affine) -> tuple[Mark, ...]:
    """Return FORWARD over an arrow that points up, TE under one that points down."""
    there = box.moved(place)
    middle, half = (there.left + there.right) / 2, (there.bottom + there.top) / 2
    size = 2.4
    forward = Bounds(there.left, there.top - 4.0, there.right, there.top)
    rear = Bounds(there.left, there.bottom, there.right, there.bottom + 4.0)
    lie = Bounds(0.0, -2.6, there.height / 2 - 6.0, 2.6)
    arrow = block_arrow(lie, points_right=True)[0]
    up = Affine.move(middle, half + 1.0) @ Affine.turn(90.0)
    down = Affine.move(middle, half - 1.0) @ Affine.turn(-90.0)
    return (
        *text_block(forward, [Line(text="FORWARD", height=size, bold=True)], anchor=Anchor.MIDDLE),
        *text_block(rear, [Line(text="TE", height=size, bold=True)], anchor=Anchor.MIDDLE),
        arrow.moved(up),
        arrow.moved(down),
    )


def _letters(length: float, rows: float, top: float, place: Affine) -> list[Mark]:
    """Return the letters by which the check dimensions name the corners."""
    spots = {
        "A": (2.0, 1.0),
        "B": (length - 2.0, 1.0),
        "C": (length - 2.0, top - 3.2),
        "D": (2.2, rows - 3.2),
    }
    return [
        Mark(shape=Text(place.point(at), letter, 1.9, anchor=Anchor.MIDDLE), op=Op.ENGRAVE)
        for letter, at in spots.items()
    ]


def _waste(words: str, work: float, place: Affine) -> list[Mark]:
    """Return what is said of the waste, beside the cut, on paper only."""
    if not words:
        return []
    box = Bounds(-18.0, work, -1.6, work + 4.0).moved(place)
    return [
        Mark(shape=mark.shape, op=Op.NOTE, paper_only=True)
        for mark in text_block(box, [Line(text=words, height=2.2)], anchor=Anchor.MIDDLE)
    ]
