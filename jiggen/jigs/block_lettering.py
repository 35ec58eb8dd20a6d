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
    left = -half + max(lean, 0.0)
    aft = Bounds(left + keep, 3.2, min(lean, 0.0) - 1.6, top - 3.0)
    text = Bounds(max(lean, 0.0) + 1.6, 3.2 + across, half + min(lean, 0.0) - 3.2, top - keep - 0.6)
    return _panel(
        place,
        lying=Bounds(2.8, 2.8, p.base_end.x - keep - 2.0, 2.8 + across),
        standing=Bounds(left + 2.6, keep + 3.0, left + 2.6 + across, top - keep - 1.0),
        arrows=Bounds(max(aft.left, left + 3.4 + across), aft.bottom, aft.right, aft.top),
        text=text,
        lines=[
            Line(text=words.title, height=2.8, bold=True),
            Line(text=f"{words.angle:.2f}°", height=2.8, bold=True),
            *wrapped(words.line, 2.0, text.width),
            *wrapped(words.job, 2.0, text.width),
            *wrapped(words.drill, 1.9, text.width),
            *wrapped(words.total, 1.9, text.width),
        ],
    )


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
        max(column.left, standing.right + 0.8) if part == "aft" else column.left,
        column.bottom,
        column.right if part == "aft" else min(column.right, standing.left - 0.8),
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
            key="block.length",
            given=f"{p.sizes.length:g} mm",
            remedy=f"{math.ceil(p.sizes.length + 2 * (NARROWEST_COLUMN - column.width))} mm",
        )
    return _panel(
        place,
        lying=lying,
        standing=standing,
        arrows=Bounds(column.left, lying.top, column.right, lying.top + 7.2),
        text=Bounds(column.left, lying.top + 7.8, column.right, column.top),
        lines=lines,
    )


def _panel(
    place: Affine,
    *,
    lying: Bounds,
    standing: Bounds,
    arrows: Bounds,
    text: Bounds,
    lines: list[Line],
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return a layer's bars, arrows and words, each in its own box (given as for side A)."""
    lie, lie_sizes = bar_pair(lying.moved(place))
    stand, stand_sizes = bar_pair(standing.moved(place), along_y=True)
    words = text_block(text.moved(place), lines)
    pointers = _direction(arrows.moved(place), forward_right=place.a > 0)
    return (*lie, *stand, *words, *pointers), (*lie_sizes, *stand_sizes)


def _direction(box: Bounds, *, forward_right: bool) -> tuple[Mark, ...]:
    """Return FORWARD and TE with their arrows, one above the other, from the bottom of `box`."""
    rows: list[Mark] = []
    row, height, tail = 3.5, 1.8, 5.4
    for number, (name, right) in enumerate((("TE", not forward_right), ("FORWARD", forward_right))):
        y = box.bottom + row * number
        if box.width - tail < text_width(name, height):
            name = "FWD" if number else name
        anchor = Anchor.START if right else Anchor.END
        word = Bounds(box.left, y, box.right, y + row)
        marks = text_block(word, [Line(text=name, height=height)], anchor=anchor)
        if not marks:
            continue
        ink = marks[0].bounds()
        middle = (ink.bottom + ink.top) / 2
        start, end = (ink.right + 0.8, box.right) if right else (box.left, ink.left - 0.8)
        if end - start >= 3.0:
            wide = min(end - start, 6.0)
            start = start if right else end - wide
            rows += block_arrow(
                Bounds(start, middle - 1.4, start + wide, middle + 1.4), points_right=right
            )
        rows += marks
    return tuple(rows)
