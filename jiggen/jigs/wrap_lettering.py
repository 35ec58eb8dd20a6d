"""What is written on a paper wrap: which face is which, what each of its lines is, bars, arrows."""

from __future__ import annotations

from dataclasses import dataclass

from jiggen.drawing.affine import Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import Line, block_arrow, fitted_height, text_block, wrapped
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path, Text

#: mm. Width of the tab that is glued over the first face.
TAB = 7.0
#: mm between a fold and the words and bars beside it, and height of the words over a blank face.
BESIDE_FOLD, HEADED = 3.4, 17.0
#: mm. A blank face with less room breaks its words, or cuts them short.
NARROW = 14.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceWords:
    """What is lettered on a wrap's faces.

    Attributes:
        title: what the wrap is called.
        job: name of the job.
        side: name of the skin that the block stands on.
        holes: the holes that it serves.
        angle: forward guide angle, degrees.
        drill: the drill as the user calls it.
        wood: size of the wood along the chord, and along the edge.
    """

    title: str
    job: str
    side: str
    holes: str
    angle: float
    drill: str
    wood: tuple[str, str]


def letter_faces(
    folds: list[float], base: list[float], top: float, mirrored: bool, words: FaceWords
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return folds, axes, words, arrows and bars of the four faces.

    Args:
        folds: where each face begins, and the end of the last, mm.
        base: height of the base line there, mm.
        top: height of the top edge, mm.
        mirrored: the first face shows forward to the left.
        words: what is lettered.
    """
    high, across = max(base) + 2.6, pair_room()
    marks = list(_lines(folds, base, top))
    for face, forward_right in ((0, not mirrored), (2, mirrored)):
        marks += _side_face(folds[face], folds[face + 1], high, top, forward_right, words)
    for face, name in (
        (1, "aft" if mirrored else "forward"),
        (3, "forward" if mirrored else "aft"),
    ):
        x0, x1 = folds[face], folds[face + 1]
        low = high + across + 0.6 if face == 1 else top - HEADED
        room = Bounds(x0 + BESIDE_FOLD, low, x1 - 1.6, top - 1.0)
        said = _blank_face(name, room.width, words.wood, sized=face == 1)
        marks += text_block(room, said, anchor=Anchor.MIDDLE)
    x0, x1 = folds[1] + BESIDE_FOLD, folds[2] - 1.6
    lying, lying_sizes = bar_pair(Bounds(x0, high, x1, high + across))
    x0 = folds[3] + (folds[2] - folds[1] - across) / 2
    standing, standing_sizes = bar_pair(
        Bounds(x0, base[3] + 1.6, x0 + across, top - HEADED - 0.4), along_y=True
    )
    return (*marks, *lying, *standing), (*lying_sizes, *standing_sizes)


def _blank_face(name: str, width: float, wood: tuple[str, str], *, sized: bool) -> list[Line]:
    """Return what a face without an axis says, in short rows where it is narrow.

    Args:
        name: ``forward`` or ``aft``.
        width: of its room, mm.
        wood: size of the wood along the chord, and along the edge.
        sized: whether a narrow face has the height to tell that size too.
    """
    if width >= NARROW:
        said = ("bore from this edge", "wood, squared:", *wood, "sawn end on the skin")
        return [
            Line(text=f"{name} face", height=2.4, bold=True),
            *(line for text in said for line in wrapped(text, 1.8, width, most=3)),
        ]
    sizes = [row for one in wood for row in one.rsplit(" ", 1)]
    rows = ["bore from", "this edge"]
    rows += ["squared:", *sizes] if sized else ["sawn end", "on skin"]
    title = fitted_height(Line(text=name, height=2.4, bold=True), width)
    return [
        *(Line(text=text, height=title, bold=True) for text in (name, "face")),
        *(Line(text=text, height=1.8) for text in rows),
    ]


def _side_face(
    x0: float, x1: float, high: float, top: float, forward_right: bool, words: FaceWords
) -> tuple[Mark, ...]:
    """Return what stands on a face with the axis on it, on both sides of that line."""
    middle = (x0 + x1) / 2
    wide = middle - x0 - 3.0
    left = [
        Line(text=words.title, height=2.4, bold=True),
        Line(text=f"{words.angle:.2f}°", height=2.4, bold=True),
        *wrapped(words.side, 2.0, wide),
        *wrapped(words.holes, 2.0, wide),
    ]
    right = [
        *wrapped(words.job, 2.0, wide, most=3),
        *wrapped(f"bore {words.drill}", 1.8, wide),
        Line(text="then saw", height=1.8),
    ]
    return (
        *text_block(Bounds(x0 + 1.8, high + 9.4, middle - 1.2, top - 1.0), left),
        *text_block(Bounds(middle + 3.4, high + 9.4, x1 - 1.8, top - 1.0), right),
        *_named(Bounds(x0 + 1.8, high, middle - 1.2, high + 8.6), forward_right, left=True),
        *_named(Bounds(middle + 1.2, high, x1 - 1.8, high + 8.6), forward_right, left=False),
    )


def _lines(folds: list[float], base: list[float], top: float) -> tuple[Mark, ...]:
    """Return folds and axes, and what each of these lines and the tab is, lettered along it."""
    width = folds[1] - folds[0]
    marks = [
        Mark(shape=Path.open([(x, y + 0.6), (x, top - 0.6)]), op=Op.SCORE, dashed=True)
        for x, y in zip(folds[1:], base[1:], strict=True)
    ]
    for x in (width / 2, folds[2] + width / 2):
        marks += [
            Mark(shape=Path.open([(x, 0.6), (x, top - 0.6)]), op=Op.SCORE, line=0.25),
            _along(x + 2.6, top - 1.8, "axis", end=True),
        ]
    # On the sides of the folds where no column of words begins.
    marks += [_along(folds[k] + 2.4, (base[k] + top) / 2, "fold") for k in (1, 3)]
    end = folds[-1]
    marks.append(_along(end + TAB / 2 + 0.9, (base[-1] + top) / 2, "glue under the first face"))
    return tuple(marks)


def _along(x: float, y: float, text: str, *, end: bool = False) -> Mark:
    """Return a word that reads upward, its baseline at `x`, its middle (or its end) at `y`."""
    anchor = Anchor.END if end else Anchor.MIDDLE
    return Mark(shape=Text(Point(x, y), text, 1.6, turn=90.0, anchor=anchor), op=Op.ENGRAVE)


def _named(box: Bounds, forward_right: bool, *, left: bool) -> tuple[Mark, ...]:
    """Return FORWARD or TE above an arrow: whichever lies on that half of the face."""
    is_forward = left != forward_right
    points_right = not left
    words = text_block(
        Bounds(box.left, box.top - 3.4, box.right, box.top),
        [Line(text="FORWARD" if is_forward else "TE", height=2.0)],
        anchor=Anchor.MIDDLE,
    )
    wide = min(10.0, box.width)
    middle = (box.left + box.right) / 2
    return (
        *words,
        *block_arrow(
            Bounds(middle - wide / 2, box.bottom + 1.0, middle + wide / 2, box.bottom + 4.6),
            points_right=points_right,
        ),
    )
