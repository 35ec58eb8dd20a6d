"""Line art in the making: what is drawn first is kept free of the words that are set after it.

A figure that lies across a line is misread. So a picture draws its lines, then names things, most
wanted first: each word stands as near to where it is wished as lines and other words allow.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.lettering import SMALL, text_corners, text_width
from jiggen.drawing.looks import FORWARD_HEAD, forward_arrow, leader
from jiggen.drawing.room import Room, segments_of
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path, Text, Weight

#: mm. A word that stands farther than this from what it names has a leader to it.
NEAR = 4.0
#: mm. From a word to the beginning of its leader.
OFF = 1.0
#: mm. Length of the FORWARD arrow in a small picture.
FORWARD = 24.0

Spot = tuple[float, float]


class Sketch:
    """Gathers the marks of one picture, in a box that words may not leave."""

    def __init__(self, box: Bounds) -> None:
        self.room = Room(Path.closed(box.corners))
        self.marks: list[Mark] = []
        #: What had no room.
        self.left_out: list[str] = []

    def draw(self, marks: Iterable[Mark]) -> None:
        """Draw marks, and keep words off them."""
        for mark in marks:
            self.marks.append(mark)
            if isinstance(mark.shape, Text):
                self.room.take(text_corners(mark.shape))
                continue
            lines = segments_of(mark.shape)
            if mark.fill is not None and len(lines) == 4:
                self.room.cover([start for start, _ in lines])
            for start, end in lines:
                self.room.line(start, end)

    def say(
        self,
        wish: Spot,
        text: str,
        height: float = SMALL,
        weight: Weight = Weight.MEDIUM,
        hold: Spot = (0.0, 0.0),
        within: float = math.inf,
    ) -> Bounds | None:
        """Set a word as near as there is room to where it is wished, `within` mm of it.

        Wished is where the point `hold` of its box should lie, in shares of width and height.

        Returns:
            The box that it takes, or None where nothing is set for want of room.
        """
        wide = text_width(text, height, weight)
        at = self._place(wide, height, wish, hold, within)
        if at is None:
            # A word that may stand nowhere else is the caller's to place.
            self.left_out += [text] if within == math.inf else []
            return None
        return self._set(at, text, height, weight, wide)

    def name(
        self,
        wish: Spot,
        text: str,
        tip: Spot,
        height: float = SMALL,
        weight: Weight = Weight.MEDIUM,
        hold: Spot = (0.0, 0.5),
        *,
        always: bool = False,
    ) -> Bounds | None:
        """Name a thing: a word beside it, with a leader where it had to stand farther away.

        The leader points to `tip`; with `always` there is one however near the word stands.

        Returns:
            The box of the word, or None where nothing is set for want of room.
        """
        wide = text_width(text, height, weight)
        first: tuple[Affine, Spot] | None = None
        for spot in (wish, *_around(wish, tip)):
            at = self._place(wide, height, spot, hold, 8.0)
            if at is None:
                continue
            start = _start(at, wide, height, tip)
            near = _off(at, wide, height, tip) <= NEAR and not always
            if near or not self.room.crosses(start, tip):
                first = (at, tip if near else start)
                break
            first = first or (at, start)
        if first is None:
            return self.say(wish, text, height, weight, hold)
        at, start = first
        box = self._set(at, text, height, weight, wide)
        if start != tip:
            self.draw(leader(start, tip))
        return box

    def forward(self, tip: Spot, long: float = FORWARD, height: float = SMALL) -> None:
        """Draw the FORWARD arrow to the right, its tip as near to where it is wished as it can."""
        mid = FORWARD_HEAD[1] / 2
        high = FORWARD_HEAD[1] + 1.0 + height
        wish = (tip[0], tip[1] - mid)
        at = self._place(long, high, wish, (1.0, 0.0))
        if at is None:
            self.left_out.append("FORWARD")
            return
        left, low = at.e, at.f
        self.draw(forward_arrow((left, low + mid), (left + long, low + mid), height))

    def _place(
        self, wide: float, high: float, wish: Spot, hold: Spot, within: float = math.inf
    ) -> Affine | None:
        return self.room.place(wide, high, wish, hold=hold, within=within, to_edge=0.0, exact=True)

    def _set(self, at: Affine, text: str, height: float, weight: Weight, wide: float) -> Bounds:
        left, low = at.e, at.f
        # By its middle: the letters on paper may run narrower than the box that is kept for them.
        shape = Text(Point(left + wide / 2, low), text, height, anchor=Anchor.MIDDLE, weight=weight)
        self.draw([Mark(shape=shape, op=Op.NOTE)])
        return Bounds(left, low, left + wide, low + height)


def _start(at: Affine, wide: float, height: float, tip: Spot) -> Spot:
    """Return where the leader of a word begins: at the end of it that is nearer, or below it."""
    left, low, right, top = at.e, at.f, at.e + wide, at.f + height
    if left <= tip[0] <= right:
        return (tip[0], top + OFF) if tip[1] > top else (tip[0], low - OFF)
    x = right + OFF if tip[0] > right else left - OFF
    return (x, low + height / 2)


def _off(at: Affine, wide: float, height: float, tip: Spot) -> float:
    """Return how far a tip lies off the box of a word, mm."""
    x = max(at.e - tip[0], tip[0] - at.e - wide, 0.0)
    y = max(at.f - tip[1], tip[1] - at.f - height, 0.0)
    return math.hypot(x, y)


def _around(wish: Spot, tip: Spot) -> Iterable[Spot]:
    """Yield other places for a word, nearer ones first."""
    for off in (6.0, 12.0, 18.0, 26.0):
        for x, y in ((0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1)):
            yield (tip[0] + off * x, tip[1] + off * y)
            yield (wish[0] + off * x, wish[1] + off * y)
