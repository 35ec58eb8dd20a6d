"""The cradle holds the wedge with its chord plane level under a drill press.

The wedge lies on one face, its trailing edge against the fence. The seat falls forward by the
skin angle of the face that lies down, so the chord plane is level and the countersink goes in
square to it, as the punched hole does. On a wrong seat each countersink is oval and each rivet
stands proud on one side. The slot under the hole line lets pilot and swarf through.

Between the two posts of the fence, where the countersink's stop turns, the fence is low, or
there is none. Clamps go on the two ends, beyond the reach of the stop.

::

     seen from the end                        seen from the front (forward)

       fence      chord plane, level            post                    post
          |  ___________________                 __                      __
          | |___________________|  wedge        |  |____________________|  |  fence, low
     ___F_|D__|slot|_                           |__|_:___:___:___:___:__|__|  seat
    |         |    | ---C  falls forward        clamp  |           |  clamp
    |                   |                              |           |
    A___________________B  table                      ribs, or layers

This module has what both builds share: sizes, places along the seat, refusals and words.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from jiggen.drawing.affine import Point
from jiggen.drawing.bars import bar_pair
from jiggen.drawing.labels import Line, wrapped
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Text
from jiggen.errors import DoesNotFit, refuse_together
from jiggen.units import Length, or_more, size, words

#: mm of body aft of the fence: it must not lean when the wedge is pushed against it.
BEHIND = 26.0
#: mm of seat forward of the hole line, beyond a known wedge, and the most: a short seat has no
#: angle that a calliper could find.
SEAT_AHEAD, SEAT_BEYOND, SEAT_MOST = 38.0, 8.0, 80.0
#: mm of each end beyond the outermost rib: room for a clamp's foot and for the fence's post.
POST = 21.0
#: mm between the stop and anything of the cradle.
CLEAR = 2.0
#: mm. Least length between the posts: room for lettering.
BETWEEN_POSTS = 34.0
#: mm on each side of the drill that the slot is wider.
SLOT_SIDE = 1.25
#: mm. The narrowest strip of seat between fence and slot that holds.
STRIP = 2.0
#: mm. A fence that is lower holds nothing, and how far a low one stays below the upper face.
FENCE_LEAST, FENCE_BELOW = 1.0, 0.5
#: radians. On a steeper seat the wedge slides before it is clamped; common practice, no published
#: source (the tangent is about that of smooth wood on metal).
STEEPEST = math.radians(20.0)
#: mm. Depth, half width and distance of the notches that number a cradle.
NOTCH, NOTCH_HALF, NOTCH_STEP = 1.8, 1.5, 4.5
#: More notches are not counted at a glance: the numbers begin again.
NOTCHES_MOST = 5
#: mm. The corner cut off each piece of a cradle on which side A lies down.
CLIP = 7.0
#: Said on the pieces that are in sight while the work is done.
CAUTION = "clamp the work, never hold it by hand under a drill press; drill scrap first"


@dataclass(frozen=True, slots=True, kw_only=True)
class CradleSizes:
    """What a cradle is made to, in mm and radians.

    Attributes:
        seat: angle of the seat to the table, radians, positive where it falls forward.
        line: distance of the hole line forward of the fence.
        holes: how many holes it serves without being moved.
        reach: from the first of them to the last.
        pitch: from hole to hole; None where they are not evenly spaced.
        depth: of the seat, from the fence forward, along the table.
        height: of the seat above the table at the fence.
        fence: height of the fence's posts above the seat.
        low: height of the fence between its posts; 0 for none.
        drill: diameter of the holes.
        stop: diameter of what turns about the countersink on the upper face.
        sheet: thickness of the material.
        fit: what a slot is wider than the sheet that goes into it.
        dowel: diameter of the pins that align layers.
    """

    seat: float
    line: float
    holes: int
    reach: float
    pitch: float | None
    depth: float
    height: float
    fence: float
    low: float
    drill: float
    stop: float
    sheet: float
    fit: float
    dowel: float

    @property
    def post(self) -> float:
        """Return the length of a post along the edge, with the rib below it, mm."""
        return POST + self.sheet

    @property
    def end(self) -> float:
        """Return how far each end goes beyond the outer holes, mm."""
        return max(self.stop / 2 + CLEAR, (BETWEEN_POSTS - self.reach) / 2) + self.post

    @property
    def length(self) -> float:
        """Return the length along the edge, mm."""
        return self.reach + 2 * self.end

    @property
    def slot(self) -> tuple[float, float]:
        """Return where the slot under the hole line begins and ends, mm forward of the fence."""
        half = self.drill / 2 + SLOT_SIDE
        return self.line - half, self.line + half

    @property
    def centres(self) -> tuple[float, ...]:
        """Return the places of evenly spaced holes, mm from the cradle's end at hole 1."""
        return tuple(self.end + (self.pitch or 0.0) * n for n in range(self.holes))

    def above(self, x: float) -> float:
        """Return the height of the seat's upper face above the table, mm, at `x` forward."""
        return self.height - x * math.tan(self.seat)


@dataclass(frozen=True, slots=True, kw_only=True)
class CradleLabels:
    """What is lettered on a cradle.

    Attributes:
        title: name of the cradle.
        number: its number on its side; told by notches.
        job: name of the job.
        down: the skin that lies down, or both.
        holes: the holes that it serves, and how many at a time.
        mirrored: forward is to the left in the side view: side A lies down, and the lettered
            face still looks toward hole 1.
        side: ``a``, ``b`` or ``ab``, of the skin that lies down.
    """

    title: str
    number: int
    job: str
    down: str
    holes: str
    mirrored: bool = False
    side: str = ""

    @property
    def clip(self) -> float:
        """Return the corner that is cut off, mm; 0 for none."""
        return CLIP if self.side == "a" else 0.0

    @property
    def notches(self) -> int:
        """Return how many notches are cut."""
        return (self.number - 1) % NOTCHES_MOST + 1

    def lines(
        self, what: str, angle: float, width: float, size: float = 2.2, more: tuple[str, ...] = ()
    ) -> list[Line]:
        """Return the name block, set for `width` mm.

        Args:
            what: which part of the cradle this is, and how many are cut of it.
            angle: of the seat, degrees.
            width: of the room, mm.
            size: height of the plain lines, mm.
            more: what else this part says.
        """
        return [
            Line(text=what, height=1.7 * size, bold=True),
            Line(text=f"{self.title}, seat {angle:.2f}°", height=1.3 * size, bold=True),
            Line(text=f"{self.down} DOWN", height=1.3 * size, bold=True),
            *wrapped(self.holes, size, width),
            *(line for one in more for line in wrapped(one, size, width)),
            *wrapped(self.job, size, width),
        ]


def seat_depth(line: float, wedge: float | None) -> float:
    """Return how deep the seat is from the fence forward, mm.

    Args:
        line: distance of the hole line forward of the trailing edge, mm.
        wedge: depth of the wedge, mm, or None.
    """
    least = line + SEAT_AHEAD
    return least if wedge is None else max(least, min(wedge + SEAT_BEYOND, SEAT_MOST))


def low_fence(line: float, stop: float, upper: float, fence: float) -> float:
    """Return how high the fence may be where the countersink's stop turns, mm.

    The stop rests on the upper face and so never comes below it at the hole.

    Args:
        line: distance of the hole line forward of the fence, mm.
        stop: diameter of the stop, mm.
        upper: height of the upper face at the hole line above the seat at the fence, mm.
        fence: height of the fence that was asked for, mm.

    Returns:
        `fence` where the stop does not reach it, less where it does, 0 for none at all.
    """
    if line - stop / 2 >= CLEAR:
        return fence
    low = min(fence, upper - FENCE_BELOW)
    return low if low >= FENCE_LEAST else 0.0


def refuse_impossible(sizes: CradleSizes, least_front: float, seat_from: float) -> None:
    """Refuse a cradle that would not hold the wedge, or that the stop would run into.

    Args:
        sizes: see `CradleSizes`.
        least_front: least height of the seat at its front, mm, for the build.
        seat_from: where the seat begins, mm forward of the fence, for the build.

    Raises:
        DoesNotFit: with the key to be changed.
    """
    if abs(sizes.seat) > STEEPEST:
        raise DoesNotFit(
            f"a seat of {math.degrees(sizes.seat):.1f} deg is too steep: the wedge slides off",
            key="cradle",
            given=f"{math.degrees(sizes.seat):.1f} deg",
            remedy=f"{math.degrees(STEEPEST):g} deg or less; lay the other face down, or hold the "
            "wedge in a tilting vice",
        )
    refuse_together(list(_misfits(sizes, least_front, seat_from)))


def _misfits(sizes: CradleSizes, least_front: float, seat_from: float) -> Iterator[DoesNotFit]:
    """Return each size that leaves no cradle, see `refuse_impossible`."""
    strip = sizes.slot[0] - seat_from
    if strip < STRIP:
        yield DoesNotFit(
            words(
                "a slot for drill {drill} leaves {strip} of seat at the fence, too little to carry "
                "the edge",
                drill=size(sizes.drill),
                strip=Length(max(strip, 0.0), 1),
            ),
            key="holes.line",
            given=size(sizes.line),
            remedy=words(
                "a cradle takes {strip} or more; thinner sheet leaves more of its seat",
                strip=or_more(sizes.line + STRIP - strip),
            ),
        )
    if sizes.fence < FENCE_LEAST:
        yield DoesNotFit(
            "so low a fence does not hold the edge",
            key="cradle.fence",
            given=size(sizes.fence),
            remedy=words("{fence_least} or more", fence_least=or_more(FENCE_LEAST)),
        )
    front = min(sizes.above(0.0), sizes.above(sizes.depth))
    if front < least_front:
        yield DoesNotFit(
            words(
                "the seat is {front} above the table at its lowest, too low for a clamp and for "
                "swarf",
                front=Length(front, 1),
            ),
            key="cradle.height",
            given=size(sizes.height),
            remedy=words(
                "{front} or more", front=or_more(math.ceil(sizes.height + least_front - front))
            ),
        )


def notched(start: tuple[float, float], end: tuple[float, float], count: int) -> list[Point]:
    """Return the corners of an edge with V notches about its middle, `start` in and `end` out.

    Args:
        start: where the edge begins, mm; the piece lies to its left.
        end: where it ends, mm.
        count: how many notches.
    """
    length = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    corners = [Point(*start)]
    for k in range(count):
        middle = length / 2 + NOTCH_STEP * (k - (count - 1) / 2)
        for along, deep in ((-NOTCH_HALF, 0.0), (0.0, NOTCH), (NOTCH_HALF, 0.0)):
            at = middle + along
            corners.append(Point(start[0] + at * ux - deep * uy, start[1] + at * uy + deep * ux))
    return corners


def corner_sizes(corners: dict[str, Point]) -> tuple[CheckDimension, ...]:
    """Return the six distances over four outside corners A B C D: they fix the seat angle."""
    pairs = combinations("ABCD", 2)
    return tuple(
        CheckDimension(
            name=f"{p}-{q}",
            nominal=math.dist(corners[p], corners[q]),
            start=corners[p],
            end=corners[q],
            how=f"over corners {p} and {q}",
        )
        for p, q in pairs
    )


def letter(at: tuple[float, float], text: str) -> Mark:
    """Return the letter by which the check dimensions name a corner, its middle at `at`."""
    return Mark(
        shape=Text(Point(at[0], at[1] - 0.9), text, 1.8, anchor=Anchor.MIDDLE), op=Op.ENGRAVE
    )


def bars_in(lying: Bounds, standing: Bounds) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return the pair of bars along x and the pair along y, each in its own room."""
    lie, lie_sizes = bar_pair(lying)
    stand, stand_sizes = bar_pair(standing, along_y=True)
    return (*lie, *stand), (*lie_sizes, *stand_sizes)
