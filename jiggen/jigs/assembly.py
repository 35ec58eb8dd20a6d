"""Thumb sketches for the cover: how the plates of a corner guide, and a cradle, go together.

Words alone do not tell which of three plates goes where. The sketches are not to scale: thin
sheet is drawn thick, so that it is seen which edge lies on which.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.labels import block_arrow
from jiggen.drawing.lettering import wrap
from jiggen.drawing.shapes import Anchor, Bounds, Circle, Mark, Op, Path, Text
from jiggen.drawing.table import INSET, Strip

#: Slanted view: what is along the edge goes up to the right, shortened.
SHORT, RISE = 0.55, math.radians(35.0)
#: mm. Capital height of the words, and pen of the outlines.
WORD, PEN = 2.0, 0.2
#: mm. Height of each sketch.
CORNER_HEIGHT, CRADLE_HEIGHT = 52.0, 50.0

_Flat = Sequence[tuple[float, float]]


def corner_sketch(width: float, seen_from: str = "hole 1") -> Strip:
    """Draw stop, cheek and cross plate on the skin, the bit in their corner.

    Seen from the right end of side A, forward to the right; on side B its mirror image.

    Args:
        width: of the page's room, mm.
        seen_from: what the hole at that end is called.

    Returns:
        The sketch, `CORNER_HEIGHT` high, its left end at x = 0.
    """
    slope, t, r, top = 0.1, 2.6, 1.4, 27.0
    cross = (24.0, 24.0 + t)

    def floor(x: float) -> float:
        return slope * x

    def plate(back: float) -> list[tuple[float, float]]:
        return [
            (back, floor(back)),
            (44.0, floor(44.0)),
            (44.0, top + 5.0),
            (36.0, top),
            (back, top),
        ]

    def half(y0: float, y1: float) -> list[tuple[float, float]]:
        low = floor(cross[1])
        return [(y0, low), (y1, low), (y1, top), (y0, top)]

    skin = [(-14.0, -26.0), (54.0, -26.0), (54.0, 24.0), (-14.0, 24.0)]
    marks = [
        _area([_seen(x, y, floor(x)) for x, y in skin]),
        *_along_x(half(r + t, 22.0), *cross),
        *_along_y(plate(-r - 3.0), r, r + t),
        *_along_y([(-r, 0.0), (r, 0.0), (r, top + 9.0), (-r, top + 9.0)], -r, r),
        *_along_y(plate(r), -r, r),
        *_along_x(half(-24.0, -r), *cross),
        *_named("cheek", (-r - 2.0, r, 18.0), (-16.0, 17.0)),
        *_named("bit", (0.0, -r, top + 5.0), (-16.0, 35.0)),
        *_named("stop", (12.0, -r, 12.0), (-16.0, 7.0)),
        *_named("cross plate", (cross[1], -16.0, 14.0), (47.5, -5.5), Anchor.START),
        _word((-27.0, -9.0), "skin"),
        _word((27.0, -12.5), "TE"),
        _word((34.0, -12.5), "FORWARD", Anchor.START),
        *block_arrow(Bounds(51.0, -12.7, 57.0, -9.9), points_right=True, op=Op.NOTE),
        *block_arrow(Bounds(15.5, -12.7, 21.5, -9.9), points_right=False, op=Op.NOTE),
    ]
    return _strip(
        marks,
        (
            "Corner guide, not to scale",
            f"Seen from the end of {seen_from}.",
            "Stop and cheek are glued back to back; the bit lies in the corner that they make.",
            "The cross plate goes over both from below and stands along the row of holes.",
            "All three bases rest on the skin, forward of the hole.",
        ),
        width,
        CORNER_HEIGHT,
    )


def cradle_sketch(width: float, words: Sequence[str] = ()) -> Strip:
    """Draw a cradle from ribs, from its end, with the wedge on it, chord plane level.

    Args:
        width: of the page's room, mm.
        words: sentences beside the sketch, after what it is.

    Returns:
        The sketch, `CRADLE_HEIGHT` high, its left end at x = 0.
    """
    t, seat, front, fall = 2.4, 24.0, 44.0, 0.12
    low = seat - fall * front
    marks = [
        _area([(-34.0, -6.0), (64.0, -6.0), (64.0, -6.6), (-34.0, -6.6)], fill=0.4),
        _area([(-28.0, -6.0), (58.0, -6.0), (58.0, -6.0 + t), (-28.0, -6.0 + t)]),
        _area([(-22.0, t - 6.0), (front, t - 6.0), (front, low), (0.0, seat), (-22.0, seat - 2)]),
        _area([(0.0, seat), (front, low), (front, low + t), (0.0, seat + t)]),
        _area([(-t, 8.0), (0.0, 8.0), (0.0, seat + t + 5.0), (-t, seat + t + 5.0)]),
        _area([(0.3, seat + t), (34.0, seat + t - fall * 34.0), (34.0, seat + t + fall * 34.0)]),
        _line([(-8.0, seat + t), (40.0, seat + t)], dashed=True),
        _area(
            [
                (14.3, seat - fall * 14.3),
                (17.7, seat - fall * 17.7),
                (17.7, seat + t - fall * 17.7),
                (14.3, seat + t - fall * 14.3),
            ]
        ),
        _line([(16.0, seat + t + 3.0), (16.0, seat + t + 10.0)]),
        *_pointed("fence", (-t / 2, seat + t + 4.0), (-12.0, seat + t + 8.0)),
        *_pointed("rib", (-14.0, 12.0), (-26.0, 12.0)),
        *_pointed("base plate", (-25.0, -4.8), (-26.0, 3.0)),
        *_pointed("chord plane, level", (40.0, seat + t), (46.0, seat + t + 3.5), Anchor.START),
        *_pointed("wedge", (31.0, seat + t - 1.5), (46.0, seat + t - 1.5), Anchor.START),
        *_pointed("seat plate", (42.0, low + 1.2), (50.0, low - 2.0), Anchor.START),
        *_pointed("slot for the pilot", (16.0, seat - 0.6), (13.0, 11.0), Anchor.START),
        _word((4.0, seat + t + 6.0), "TE"),
        _word((19.0, seat + t + 8.0), "countersink, square", Anchor.START),
        _word((52.0, 0.5), "FORWARD", Anchor.MIDDLE),
        *block_arrow(Bounds(60.0, 0.0, 66.0, 2.8), points_right=True, op=Op.NOTE),
    ]
    said = ("Cradle, not to scale", "Seen from its end.", *words)
    return _strip(marks, said, width, CRADLE_HEIGHT)


def _seen(x: float, y: float, z: float) -> tuple[float, float]:
    """Return where a point is drawn: x forward, y along the edge away from the eye, z up."""
    return x + SHORT * math.cos(RISE) * y, z + SHORT * math.sin(RISE) * y


def _along_y(profile: _Flat, near: float, far: float) -> list[Mark]:
    """Draw a plate whose profile lies in x and z, its corners counter-clockwise."""
    marks = []
    for (x0, z0), (x1, z1) in pairwise([*profile, profile[0]]):
        out = (z1 - z0, x0 - x1)
        if out[0] * math.cos(RISE) + out[1] * math.sin(RISE) > 1e-9:
            marks.append(
                _area(
                    [
                        _seen(x0, near, z0),
                        _seen(x1, near, z1),
                        _seen(x1, far, z1),
                        _seen(x0, far, z0),
                    ]
                )
            )
    return [*marks, _area([_seen(x, near, z) for x, z in profile])]


def _along_x(profile: _Flat, aft: float, forward: float) -> list[Mark]:
    """Draw a plate whose profile lies in y and z, its corners counter-clockwise from below near."""
    marks = []
    for (y0, z0), (y1, z1) in pairwise([*profile, profile[0]]):
        out = (z1 - z0, y0 - y1)
        if out[1] * SHORT * math.sin(RISE) - out[0] > 1e-9:
            marks.append(
                _area(
                    [
                        _seen(aft, y0, z0),
                        _seen(aft, y1, z1),
                        _seen(forward, y1, z1),
                        _seen(forward, y0, z0),
                    ]
                )
            )
    return [*marks, _area([_seen(forward, y, z) for y, z in profile])]


def _area(corners: _Flat, fill: float = 1.0) -> Mark:
    """Return an area that hides what was drawn before it."""
    return Mark(shape=Path.closed(list(corners)), op=Op.NOTE, fill=fill, line=PEN)


def _line(points: _Flat, *, dashed: bool = False) -> Mark:
    return Mark(shape=Path.open(list(points)), op=Op.NOTE, line=PEN, dashed=dashed)


def _word(at: tuple[float, float], text: str, anchor: Anchor = Anchor.END) -> Mark:
    return Mark(shape=Text(Point(*at), text, WORD, anchor=anchor), op=Op.NOTE)


def _named(
    text: str,
    part: tuple[float, float, float],
    at: tuple[float, float],
    anchor: Anchor = Anchor.END,
) -> list[Mark]:
    """Name a part of the slanted view by a line to it."""
    return _pointed(text, _seen(*part), at, anchor)


def _pointed(
    text: str, part: tuple[float, float], at: tuple[float, float], anchor: Anchor = Anchor.END
) -> list[Mark]:
    """Name a part by a line to it that ends in a dot."""
    aside = 1.0 if anchor is Anchor.END else -1.0
    return [
        _word(at, text, anchor),
        _line([(at[0] + aside, at[1] + WORD / 2), part]),
        Mark(shape=Circle(Point(*part), 0.4), op=Op.NOTE, fill=0.25),
    ]


def _strip(marks: Sequence[Mark], words: Sequence[str], width: float, height: float) -> Strip:
    """Set a sketch at the left of a strip, and sentences at its right, the first a heading."""
    boxes = [mark.bounds() for mark in marks]
    left, top = min(b.left for b in boxes), max(b.top for b in boxes)
    right = max(b.right for b in boxes) - left + 5.0
    place = Affine.move(-left, -1.0 - top)
    rows = [row for text in words for row in wrap(text, WORD, width - right - 2 * INSET)]
    lines = [
        Mark(
            shape=Text(Point(right, -6.0 - 1.7 * WORD * number), text, WORD, bold=number == 0),
            op=Op.NOTE,
        )
        for number, text in enumerate(rows)
    ]
    return Strip(marks=(*(m.moved(place) for m in marks), *lines), height=height)
