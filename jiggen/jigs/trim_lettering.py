"""What is written on a trim template: numbers over the holes, name block, arrows, bars, letters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

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
from jiggen.drawing.lettering import text_width
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path, Text
from jiggen.jigs.trim_end import BEYOND, COLUMN, CUT_AWAY, TrimEnd

#: mm. Height of the rows ahead of the wedge: numbers, the fairing's words, and the cut's.
ROW, CUT_ROW = 4.4, 7.4
#: mm. Least height of the band with the title: the arrows stand in it.
BAND = 36.0
#: mm. Capitals of the words along an edge or a line.
ALONG = 1.9
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
        fairing: how far in the fairing covers; empty without one.
        waste: what stands in the waste; on paper only.
        side_letter: ``a`` or ``b``: the face that it lies on.
        notes: sentences for the cover page.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimRoom:
    """Where the bands of a trim template lie, mm; drawn with the cut at the left.

    Attributes:
        length: of the template.
        work: where the rows begin.
        rows: where they end and the title band begins.
        top: of the template.
        lines: of the title band.
    """

    length: float
    work: float
    rows: float
    top: float
    lines: tuple[Line, ...]

    @classmethod
    def of(cls, end: TrimEnd, labels: TrimLabels) -> Self:
        """Return the bands of a template, as high as what is said needs in letters to be read.

        Args:
            end: what lies near the cut.
            labels: what is said.
        """
        length, work = end.length, end.work_top
        rows = work + ROW + (ROW if labels.fairing else 0.0) + CUT_ROW
        wide = length - COLUMN - 1.0 - CUT_AWAY - ARROWS - 2.4
        lines = (
            Line(text=f"{labels.title}  {labels.place}", height=4.0, bold=True),
            *wrapped(labels.lay, 2.5, wide),
            *wrapped(labels.job, 2.4, wide),
            *(row for text in labels.lines for row in wrapped(text, 2.1, wide)),
        )
        tall = sum(fitted_height(line, wide) for line in lines) * LEADING
        band = max(BAND, tall + pair_room() + 3.6)
        return cls(length=length, work=work, rows=rows, top=rows + band, lines=lines)

    @property
    def title(self) -> Bounds:
        """Return the room of the title's lines."""
        left, right = CUT_AWAY + ARROWS + 2.4, self.length - COLUMN - 1.0
        return Bounds(left, self.rows + pair_room() + 2.2, right, self.top - 1.0)


def bars(room: TrimRoom, place: Affine) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return a pair of bars along each edge.

    Args:
        room: the template's bands.
        place: as drawn with the cut at the left, to where it is.
    """
    left = room.length - COLUMN + (COLUMN - pair_room()) / 2
    standing, standing_sizes = bar_pair(
        Bounds(left, 5.0, left + pair_room(), room.top - 5.0).moved(place), along_y=True
    )
    low = room.rows + 1.4
    lying, lying_sizes = bar_pair(
        Bounds(room.title.left, low, room.title.right, low + pair_room()).moved(place)
    )
    return (*standing, *lying), (*standing_sizes, *lying_sizes)


def lettering(
    end: TrimEnd, labels: TrimLabels, room: TrimRoom, drawn: Sequence[Mark], place: Affine
) -> tuple[Mark, ...]:
    """Return numbers, words, arrows and corner letters.

    Args:
        end: what lies near the cut.
        labels: what is said.
        room: the template's bands.
        drawn: what is drawn of the work, with the cut at the left.
        place: as drawn with the cut at the left, to where it is.
    """
    arrows = Bounds(CUT_AWAY + 1.2, room.rows + 1.4, CUT_AWAY + 1.2 + ARROWS, room.top - 1.2)
    return (
        *text_block(room.title.moved(place), room.lines),
        *_row_of_numbers(end_numbers(end), room.work, place),
        *_fairing(end, labels.fairing, room, place),
        *_cut(room, place),
        *_along_te(room, drawn, place),
        *_along_front(end, room, drawn, place),
        *_arrows(arrows, place),
        *_letters(room, place),
        *_waste(labels.waste, end, drawn, place),
    )


def end_numbers(end: TrimEnd) -> tuple[tuple[int, float], ...]:
    """Return number and place of the rivet holes that a template shows, mm from the cut.

    Args:
        end: what lies near the cut.
    """
    return tuple(
        (hole.number, hole.inward)
        for hole in end.shown()
        if hole.number is not None and hole.inward >= 0.0
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


def _fairing(end: TrimEnd, said: str, room: TrimRoom, place: Affine) -> tuple[Mark, ...]:
    """Return what the fairing covers, beside the end of its line, in a row of its own."""
    if not said:
        return ()
    low = room.work + ROW
    words = f"fairing covers to here, {said}" if end.fairing_drawn else f"fairing covers {said}"
    line = Line(text=words, height=2.2)
    marks: tuple[Mark, ...] = ()
    right = room.length - COLUMN - 1.6
    box = Bounds(2.4, low + 0.2, right, low + 3.8)
    start = Anchor.START if place.a > 0 else Anchor.END
    if end.fairing_drawn:
        at = Path.open([(end.fairing, low + 0.2), (end.fairing, low + ROW - 1.0)])
        marks = (Mark(shape=at, op=Op.SCORE).moved(place),)
        box = Bounds(end.fairing + 1.2, box.bottom, right, box.top)
        if fitted_height(line, box.width) < SMALLEST:
            box = Bounds(2.4, box.bottom, end.fairing - 1.2, box.top)
            start = Anchor.END if place.a > 0 else Anchor.START
    return (*marks, *text_block(box.moved(place), [line], anchor=start))


def _cut(room: TrimRoom, place: Affine) -> tuple[Mark, ...]:
    """Return an arrow at the edge that is the cut, and words that say so."""
    middle = room.rows - CUT_ROW + 2.6
    arrow = block_arrow(Bounds(1.4, middle - 1.2, 6.6, middle + 1.2), points_right=False)
    start = Anchor.START if place.a > 0 else Anchor.END
    at = place.point((8.0, middle - 1.3))
    words = Text(at, "CUT = this edge", 2.6, anchor=start, bold=True)
    return (*(mark.moved(place) for mark in arrow), Mark(shape=words, op=Op.ENGRAVE))


def _along_te(room: TrimRoom, drawn: Sequence[Mark], place: Affine) -> list[Mark]:
    """Return what the TE edge is, along it, where no hole is in the way."""
    for words in ("TE: this edge flush with the trailing edge", "TE: this edge flush", "TE edge"):
        wide = text_width(words, ALONG)
        # Between the triangles that mark a check edge.
        span = (0.12 * room.length + 2.0, 0.88 * room.length - 2.0)
        x = _free(span, wide, (0.8, 3.4), drawn)
        if x is not None:
            at = place.point((x, 1.2))
            return [Mark(shape=Text(at, words, ALONG, anchor=Anchor.MIDDLE), op=Op.ENGRAVE)]
    return []


def _along_front(end: TrimEnd, room: TrimRoom, drawn: Sequence[Mark], place: Affine) -> list[Mark]:
    """Return the name of the line that is the wedge's front, just behind it."""
    if end.depth is None:
        return []
    base = end.depth - 0.8 - 1.1 * ALONG
    span = (4.0, room.length - COLUMN - 1.0)
    for words in ("front of the wedge", "front"):
        wide = text_width(words, ALONG)
        x = _free(span, wide, (base - 0.5, end.depth - 0.4), drawn)
        if x is not None:
            at = place.point((x, base))
            return [Mark(shape=Text(at, words, ALONG, anchor=Anchor.MIDDLE), op=Op.ENGRAVE)]
    return []


def _free(
    span: tuple[float, float], wide: float, rows: tuple[float, float], drawn: Sequence[Mark]
) -> float | None:
    """Return where the middle of words may stand: in the widest gap of what is drawn, if it does.

    Args:
        span: from which x to which, mm.
        wide: the words, mm.
        rows: from which y to which they reach, mm.
        drawn: marks.
    """
    boxes = (mark.bounds() for mark in drawn)
    taken = sorted((b.left, b.right) for b in boxes if b.top > rows[0] and b.bottom < rows[1])
    gaps, reach = [], span[0]
    for left, right in [*taken, (span[1], span[1])]:
        gaps.append((min(left, span[1]) - reach, reach))
        reach = max(reach, right)
    room, start = max(gaps)
    return start + room / 2.0 if room >= wide + 1.0 else None


def _arrows(box: Bounds, place: Affine) -> tuple[Mark, ...]:
    """Return FORWARD under an arrow that points up, TE over one that points down.

    The words stand low in the band, so that FORWARD is not read as part of the title.
    """
    there = box.moved(place)
    middle, half = (there.left + there.right) / 2, (there.bottom + there.top) / 2
    forward = Bounds(there.left, half + 0.4, there.right, half + 4.4)
    rear = Bounds(there.left, half - 4.4, there.right, half - 0.4)
    lie = Bounds(0.0, -2.6, there.height / 2 - 5.4, 2.6)
    arrow = block_arrow(lie, points_right=True)[0]
    up = Affine.move(middle, half + 5.0) @ Affine.turn(90.0)
    down = Affine.move(middle, half - 5.0) @ Affine.turn(-90.0)
    words = (("FORWARD", forward), ("TE", rear))
    return (
        *(
            mark
            for text, room in words
            for mark in text_block(
                room, [Line(text=text, height=2.0, bold=True)], anchor=Anchor.MIDDLE
            )
        ),
        arrow.moved(up),
        arrow.moved(down),
    )


def _letters(room: TrimRoom, place: Affine) -> list[Mark]:
    """Return the letters by which the check dimensions name the corners."""
    spots = {
        "A": (2.0, 1.0),
        "B": (room.length - 2.0, 1.0),
        "C": (room.length - 2.0, room.top - 3.2),
        "D": (2.2, room.rows - 3.0),
    }
    return [
        Mark(shape=Text(place.point(at), letter, 1.9, anchor=Anchor.MIDDLE), op=Op.ENGRAVE)
        for letter, at in spots.items()
    ]


def _waste(words: str, end: TrimEnd, drawn: Sequence[Mark], place: Affine) -> list[Mark]:
    """Return what is said of the waste, within it and clear of its holes, on paper only."""
    if not words:
        return []
    tall, wide = 2.2, text_width(words, 2.2)
    span = (-min(BEYOND, end.waste) + 1.6, -1.6)
    depth = end.depth or end.work_top
    for share in (0.5, 0.2, 0.8, 0.35, 0.65):
        base = share * depth - tall / 2.0
        x = _free(span, wide, (base - 0.8, base + tall + 0.4), drawn)
        if x is not None:
            shape = Text(place.point((x, base)), words, tall, anchor=Anchor.MIDDLE)
            return [Mark(shape=shape, op=Op.NOTE, paper_only=True)]
    return []
