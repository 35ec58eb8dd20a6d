"""What is written on a drill block's layers: bars, arrows, name, which half and which layer."""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.drawing.affine import Affine
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import Line, block_arrow, text_block, wrapped
from jiggen.drawing.lettering import text_width
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Mark
from jiggen.errors import DoesNotFit
from jiggen.jigs.profile import LEDGE_HEIGHT, Profile
from jiggen.units import size

#: Which way round a layer lies, told by its shape: its high corner is at the TE.
CLAMP_FLAT = "low clamp flat goes forward"
#: mm. Height of a row with a word and its arrow, of the word, length and half height of the arrow.
ROW, WORD, ARROW, ARROW_HALF = 3.5, 1.8, 6.0, 1.4
#: mm. A shorter arrow has no direction.
LEAST_ARROW = 3.0
#: mm of white between words and the bars beside them.
BESIDE = 1.6
#: mm. Narrowest column that takes a half's name.
NARROWEST_COLUMN = 14.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """What is lettered on every layer: block, job, skin and holes, angle in degrees, layers."""

    title: str
    job: str
    line: str
    angle: float
    total: str
    drill: str = ""


def solid_lettering(
    p: Profile, words: Words, place: Affine
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return bars and words of a solid layer, clear of its axis, dowels and check marks."""
    lean, half, keep = p.lean, p.sizes.length / 2, p.keep
    top = min(p.top_forward.y, p.top_aft.y)
    across = pair_room()
    aft = Bounds(-half + max(lean, 0.0) + keep, 3.2, min(lean, 0.0) - 1.6, top - 3.0)
    text = Bounds(
        max(lean, 0.0) + 1.6, 3.8 + across + ROW, half + min(lean, 0.0) - 3.2, top - keep - 0.6
    )
    column = Bounds(aft.left, aft.bottom, aft.right - across - BESIDE, aft.top)
    said = (words.drill, f"stack: {words.total}", CLAMP_FLAT)
    more = text_block(
        Bounds(column.left, column.bottom + ROW + 0.6, column.right, column.top).moved(place),
        [line for one in said for line in wrapped(one, 1.9, column.width, most=8)],
    )
    marks, sizes = _panel(
        place,
        lying=Bounds(2.8, 2.8, p.base_end.x - keep - 2.0, 2.8 + across),
        standing=Bounds(aft.right - across, aft.bottom, aft.right, aft.top),
        arrows=(
            Bounds(column.left, column.bottom, column.right, column.bottom + ROW),
            Bounds(text.left, 3.2 + across, text.right, 3.2 + across + ROW),
        ),
        text=text,
        lines=[
            Line(text=f"{words.title}  {words.angle:.2f}°", height=2.8, bold=True),
            *wrapped(words.line, 2.0, text.width),
            *wrapped(words.job, 2.0, text.width),
        ],
    )
    return (*marks, *more), sizes


def half_lettering(
    p: Profile, words: Words, place: Affine, slot: float, part: str, kind: str
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return bars and words on one half: which block, which half, which layer."""
    lean, half, keep = p.lean, p.sizes.length / 2, p.keep
    across = pair_room()
    top = (p.at(-slot / 2, p.sizes.height) if part == "aft" else p.top_forward).y
    short = "fwd" if part == "forward" else part
    if part == "aft":
        left, right = -half + max(lean, 0.0), -slot / 2 + min(lean, 0.0) - 2.8
        column = Bounds(left + keep, 2.8, right, top - 1.6)
        standing = Bounds(left + 1.6, keep + 3.0, left + 1.6 + across, top - keep - 1.0)
        lying = Bounds(column.left, 2.8, right, 2.8 + across)
    else:
        left, right = slot / 2 + max(lean, 0.0) + 2.8, half + min(lean, 0.0)
        column = Bounds(left, 2.8, right - keep, top - 1.6)
        standing = Bounds(right - 1.0 - across, LEDGE_HEIGHT, right - 1.0, top - keep - 1.0)
        lying = Bounds(left, 2.8, p.base_end.x - keep - 2.0, 2.8 + across)
    column = Bounds(
        max(column.left, standing.right + BESIDE) if part == "aft" else column.left,
        column.bottom,
        column.right if part == "aft" else min(column.right, standing.left - BESIDE),
        column.top,
    )
    lines = [
        *wrapped(words.title, 2.1, column.width),
        *wrapped(f"{words.angle:.2f}° {kind} {short}", 2.1, column.width),
        *wrapped(words.line, 1.8, column.width),
        *wrapped(words.job, 1.8, column.width),
    ]
    if column.width < NARROWEST_COLUMN:
        raise DoesNotFit(
            "half a block has no room for its lettering beside dowels and bars",
            key="block.bore",
            given=size(p.sizes.bore),
            remedy=size(math.floor(p.sizes.bore - 2 * (NARROWEST_COLUMN - column.width))),
        )
    return _panel(
        place,
        lying=lying,
        standing=standing,
        arrows=tuple(
            Bounds(column.left, lying.top + k * ROW, column.right, lying.top + (k + 1) * ROW)
            for k in range(2)
        ),
        text=Bounds(column.left, lying.top + 7.8, column.right, column.top),
        lines=lines,
    )


def _panel(
    place: Affine,
    *,
    lying: Bounds,
    standing: Bounds,
    arrows: tuple[Bounds, ...],
    text: Bounds,
    lines: list[Line],
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return a layer's bars, arrows and words, each in its own box (given as for side A).

    Of `arrows` the first is the row of the word TE, the second that of FORWARD.
    """
    lie, lie_sizes = bar_pair(lying.moved(place))
    stand, stand_sizes = bar_pair(standing.moved(place), along_y=True)
    words = text_block(text.moved(place), lines)
    right = place.a > 0
    pointers = (
        *_pointer(arrows[0].moved(place), ("TE",), points_right=not right),
        *_pointer(arrows[1].moved(place), ("FORWARD", "FWD"), points_right=right),
    )
    return (*lie, *stand, *words, *pointers), (*lie_sizes, *stand_sizes)


def _pointer(box: Bounds, names: tuple[str, ...], *, points_right: bool) -> tuple[Mark, ...]:
    """Return a word hard against the side of the piece that it names, an arrow pointing to it.

    Args:
        box: the row, mm.
        names: what it may be called, longest first.
        points_right: which side that is, as the piece is drawn.
    """
    # Ink may begin a little before a word's place and end a little after its run.
    short = box.width - 1.2 - LEAST_ARROW
    name = next((n for n in names if text_width(n, WORD) <= short), names[-1])
    words = text_block(
        Bounds(box.left, box.bottom, box.right, box.top),
        [Line(text=name, height=WORD)],
        anchor=Anchor.START,
    )
    if not words:
        return ()
    ink = words[0].bounds()
    wide = min(box.width - ink.width - 0.8, ARROW)
    shift = box.right - ink.right if points_right else box.left - ink.left
    words = tuple(m.moved(Affine.move(shift, 0.0)) for m in words)
    if wide < LEAST_ARROW:
        return words
    inner = ink.left + shift - 0.8 - wide if points_right else ink.right + shift + 0.8
    middle = (ink.bottom + ink.top) / 2
    row = Bounds(inner, middle - ARROW_HALF, inner + wide, middle + ARROW_HALF)
    return (*words, *block_arrow(row, points_right=points_right))
