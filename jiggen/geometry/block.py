r"""The drill block in numbers: flat layers that carry a bushing, on ribs cut to the skin angle.

Seen in the section square to the trailing edge, in the axis frame: origin at the mouth of the
hole, v up the drill axis, u forward; and from above, r along the row toward the hole before::

     v                                            u forward
     |   tongue's land, parallel to the skin      |  foot                         tongue
     |__ ____ _                                   | ___________________________________ front
     |      | b |   |__ top                       ||#|            |                |###| fore
     |layers| u |   |                             ||#|    ( )     |      (=)       |###|
     |______| s |___| low                         ||#|  bushing   |  index pin     |###| aft
     | rib \  |_|  /      clear of the skin       ||_|____________|________________|___| back
     |__.--'  gap   \_.   skin: v = m u            near           0       pitch       far   r
    aft       0       fore

The layers lie square to the axis and their round holes hold the bushing all round, flush with the
top; as many as there is room for above the skin. Two ribs stand at the ends, tabbed into every
layer: the foot, and the tongue, whose tabs stand out at the top for the clamp. So the clamp presses
straight down through the tongue on the solid wedge, clear of the chuck.

Lengths in mm, angles in radians. The jig's drawing and the checks both take their numbers here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from jiggen.geometry.drill import GRIT, NOSE
from jiggen.geometry.frame import lean_over
from jiggen.geometry.guide import CUT

WALL = 3.0
"""Least wall of a block beside its bushing, mm."""
WEB = 2.5
"""Material between a notch or a hole and the rim, mm."""
CLEAR = 1.0
"""Between a fastener in the next hole and a block, and between its layers and the skin, mm."""
PAD = 3.0
"""Length of a rib's pad along the axis frame's u, mm."""
ARCH = 0.5
"""Height of the arch between a rib's pads, mm."""
NECK = 1.5
"""Least height of a rib between its arch and the layers, mm."""
FARTHEST = 24.0
"""Farthest that a pad stands from the axis, mm: a larger block is no truer in the hand."""
WIDE, WIDER, SHORT = 36.0, 46.0, 22.0
"""Least width of a layer, fore and aft, mm, and the same where the pitch is below the third: it
overhangs its pads, so that name and arrow have room and a hand has something to hold."""
NEAR = 18.0
"""What a block reaches along the row beyond its bushing at most, mm."""
FOOT_WIDE, TONGUE_WIDE = 3.0, 6.0
"""Least thickness of foot and tongue along the row, mm: as many ribs are glued together."""
PLAY = 3.0
"""What the index pin's slot is longer than the pin, mm: it keeps line and heading alone."""
LAND = 1.5
"""How far the tongue's lower tab stands out of the top, mm."""
BETWEEN_TABS = 3.0
"""Material of the layers between the tabs of a rib, mm."""
BEYOND, HEEL = 9.0, 3.0
"""What a rib reaches aft of its pads at most, and how high it is there, mm."""
SLACK = 0.05
"""What a pressed or glued bushing may lean by in its hole, mm: common practice."""

LEAST_GAP = 0.5
"""Between a bushing and the near side of a sloping skin, mm: a punched skin makes few chips."""
MOST_GAP = 1.5
"""A bushing stands at most so many drill diameters off the skin at its axis."""
LED = 2.0
"""So many drill diameters of a bushing touch the bit unless stated: long ones are counterbored."""
A_HOLE = 0.03
"""What each step by an index pin in a round hole may be off, mm: common practice."""

BlockFault = Literal["base", "stands out", "pitch", "drill too short"]


class BlockSection(Struct, frozen=True, kw_only=True):
    """A drill block in its axis frame, mm."""

    slope: float  # rise of the skin going forward, ratio: tan of the skin angle
    along: float  # its rise going along the row toward the hole before, ratio
    rest: float  # height of the line through the pads over the mouth, at the axis; 0 on a flat skin
    drill: float  # diameter of the bit
    body: float  # outside diameter of the bushing
    length: float  # of the bushing
    gap: float  # of the bushing over the mouth of the hole
    sheet: float  # thickness of a layer
    count: int  # of layers
    aft: float  # where the pads begin, negative
    fore: float  # where they end
    near: float  # how far the block reaches along the row away from the index pin, positive
    pitch: float | None  # where the index pin stands; None where there is no hole before

    @property
    def top(self) -> float:
        """Return v of the top of layers and bushing."""
        return self.gap + self.length

    @property
    def carried(self) -> float:
        """Return the length of bushing that the layers hold."""
        return self.count * self.sheet

    @property
    def low(self) -> float:
        """Return v of the lowest layer's lower face."""
        return self.top - self.carried

    @property
    def base(self) -> float:
        """Return how much of the skin lies between the outer ends of the pads."""
        return (self.fore - self.aft) * math.hypot(1.0, self.slope)

    @property
    def wide(self) -> float:
        """Return how wide a layer is at least, fore and aft."""
        return WIDER if self.pitch is not None and self.pitch < SHORT else WIDE

    @property
    def front(self) -> float:
        """Return u of the layers' forward edge: beyond the pads as far as it clears the skin."""
        least = max(self.fore, self.body / 2.0 + WALL)
        wished = (self.aft + self.fore + self.wide) / 2.0
        if self.slope > 0.0:
            lift = max(self.lift(self.foot), self.lift(self.tongue))
            wished = min(wished, (self.low - lift - CLEAR) / self.slope)
        return max(least, wished)

    @property
    def back(self) -> float:
        """Return u of the layers' aft edge: beyond the trailing edge where the wedge is narrow."""
        return min(self.aft, -self.body / 2.0 - WALL, self.front - self.wide)

    @property
    def foot_sheets(self) -> int:
        """Return how many ribs make the foot."""
        return math.ceil(FOOT_WIDE / self.sheet - 1e-9)

    @property
    def tongue_sheets(self) -> int:
        """Return how many ribs make the tongue."""
        return math.ceil(TONGUE_WIDE / self.sheet - 1e-9)

    @property
    def foot(self) -> tuple[float, float]:
        """Return from which to which r the foot stands."""
        return -self.near, -self.near + self.foot_sheets * self.sheet

    @property
    def slot(self) -> tuple[float, float] | None:
        """Return from which to which r the index pin's slot reaches; None without a hole before."""
        if self.pitch is None:
            return None
        half = (self.drill + PLAY) / 2.0
        return self.pitch - half, self.pitch + half

    @property
    def tongue(self) -> tuple[float, float]:
        """Return from which to which r the tongue stands, beyond the index pin."""
        wide = self.tongue_sheets * self.sheet
        start = NEAR if self.slot is None else self.slot[1] + WEB
        return start, start + wide

    @property
    def far(self) -> float:
        """Return r of the block's end beyond the tongue."""
        return self.tongue[1]

    @property
    def heel(self) -> float:
        """Return u of a rib's aft end: its shoulders stand as far apart as they can."""
        return max(self.aft - BEYOND, self.back)

    @property
    def tabs(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Return from which to which u the aft and the fore tab of a rib reach.

        The aft one is the longer, so that no rib goes in the wrong way round.
        """
        start, end = self.heel + WEB, self.fore - WEB
        gap = start + 0.6 * (end - start - BETWEEN_TABS)
        return (start, gap), (gap + BETWEEN_TABS, end)

    def heel_at(self, lift: float) -> float:
        """Return v of a rib's lower edge aft of its pads."""
        return max(self.low - HEEL, self.base_at(self.aft, lift) + ARCH)

    def lift(self, reach: tuple[float, float]) -> float:
        """Return how much higher a rib's base lies than the skin on the axis' own section.

        Args:
            reach: from which to which r it stands: the skin touches its higher side.
        """
        return self.rest + max(self.along * r for r in reach)

    def base_at(self, u: float, lift: float) -> float:
        """Return v of a rib's base line."""
        return self.slope * u + lift

    def land_at(self, u: float) -> float:
        """Return v of the tongue's land, parallel to the skin, over the top by `LAND` at least."""
        (start, _), (_, end) = self.tabs
        lowest = start if self.slope >= 0.0 else end
        return self.top + LAND + self.slope * (u - lowest)

    def height(self, nose: float) -> float:
        """Return how high the block stands under a chuck; the tongue may stand clear of it.

        Args:
            nose: diameter of the chuck where it comes down, mm.
        """
        if self.tongue[0] >= nose / 2.0:
            return self.top
        return max(self.land_at(u) for tab in self.tabs for u in tab)

    def error(
        self, *, clearance: float, bearing: float, cut: float, slack: float
    ) -> dict[str, float]:
        """Return what may make the bit lean, each part by its name, radians; see `block_error`."""
        return block_error(
            clearance=clearance,
            bearing=bearing,
            slack=slack,
            length=self.carried,
            base=self.base,
            cut=cut,
        )

    def faults(self, *, room: float, nose: float = NOSE) -> tuple[BlockFault, ...]:
        """Return what forbids this block; empty where nothing does.

        Args:
            room: what may stand beside the bit, mm; see `jiggen.geometry.drill.room`.
            nose: diameter of the chuck where it comes down, mm.

        Returns:
            ``base``: the wedge is too narrow for it; ``stands out``: no room above the skin for
            layers that carry half of the bushing; ``pitch``: no room between bushing and the next
            fastener; ``drill too short``.

        Source: derived, with the walls of common practice.
        """
        found: dict[BlockFault, bool] = {
            "base": self.base < self.body + 2.0 * WALL or self.fore < PAD,
            "stands out": self.carried < self.length / 2.0,
            "pitch": self.near < self.least_near,
            "drill too short": room < self.height(nose),
        }
        return tuple(fault for fault, holds in found.items() if holds)

    @property
    def least_near(self) -> float:
        """Return what bushing, wall and foot need along the row."""
        return self.body / 2.0 + WEB + self.foot_sheets * self.sheet


def beside(pitch: float, pin: float) -> float:
    """Return how far a block may reach toward a fastener in the next hole, mm.

    Args:
        pitch: distance to the next hole, mm.
        pin: diameter of the fastener's body, mm.

    Source: definition.
    """
    return min(NEAR, pitch - pin / 2.0 - CLEAR)


def bearing(length: float, drill: float, stated: float | None = None) -> float:
    """Return what of a bushing touches the bit, mm: as `stated`, else `LED` drill diameters.

    Source: long bushings with small bores are often counterbored: handbook of workholding (read).
    """
    return min(length, LED * drill) if stated is None else stated


def chip_gap(body: float, slope: float, drill: float) -> tuple[float, bool]:
    """Return how far a bushing stands off a sloping skin.

    Args:
        body: outside diameter, mm.
        slope: tan of the skin angle, ratio.
        drill: diameter, mm.

    Returns:
        The gap at the axis, mm, and whether the bushing's end must be ground to the slope to stand
        so low.

    Source: on a slope the end stands as near as possible, best ground parallel to it: handbook of
        workholding (read); the least gap is common practice.
    """
    wanted = LEAST_GAP + body / 2.0 * abs(slope)
    most = MOST_GAP * drill
    return (most, True) if wanted > most else (wanted, False)


def block_error(
    *, clearance: float, bearing: float, slack: float, length: float, base: float, cut: float
) -> dict[str, float]:
    """Return what may make the bit lean in a drill block, each part by its name, radians.

    Args:
        clearance: largest bore less smallest drill, mm.
        bearing: what of the bushing touches the bit, mm.
        slack: of the hole that the bushing was glued or pressed into, mm.
        length: of the bushing, mm.
        base: of its feet, mm.
        cut: what its feet may be cut off, mm.

    Source: derived; together they are the root of the sum of their squares.
    """
    return {
        "clearance": lean_over(clearance, bearing),
        "set in": lean_over(slack, length),
        "stand": lean_over(GRIT, base),
        "cut": lean_over(cut, base),
    }


def index_error(count: int, each: float = A_HOLE) -> tuple[float, float]:
    """Return how far a row drilled by a round index pin may be off at its end.

    Args:
        count: how many holes are stepped off.
        each: what a step may be off, mm.

    Returns:
        Root of the sum of squares, and the sum, mm.

    Source: derived: independent steps, and steps that all go one way.
    """
    return each * math.sqrt(count), each * count


def layers(top: float, lowest: float, sheet: float) -> int:
    """Return how many flat layers there is room for to carry a bushing flush with their top.

    Args:
        top: of block and bushing over the mouth of the hole, mm.
        lowest: how low the lowest layer may lie, mm.
        sheet: thickness of a layer, mm.

    Source: definition.
    """
    return max(0, math.floor((top - lowest) / sheet + 1e-9))


def block_section(
    *,
    slope: float,
    line: float,
    depth: float,
    margin: float,
    drill: float,
    body: float,
    length: float,
    gap: float,
    sheet: float,
    pitch: float | None,
    pin: float,
    along: float = 0.0,
    rest: float = 0.0,
) -> BlockSection:
    """Return the block that leans least, sound or not: ask it for its `faults`.

    On a slope a shorter base lies lower, so that more layers hold the bushing; a longer one
    stands truer. Of all numbers of layers the one with the least lean is taken.

    Arguments are those of `BlockSection` and, mm: the hole's `line` forward of the trailing edge,
    the `depth` of the solid wedge, the pads' `margin` inside it, and the `pin`, a fastener's body.

    Source: derived.
    """
    near = NEAR if pitch is None else beside(pitch, pin)
    widest = BlockSection(
        slope=slope,
        along=along,
        rest=rest,
        drill=drill,
        body=body,
        length=length,
        gap=gap,
        sheet=sheet,
        count=0,
        aft=-min(line - margin, FARTHEST),
        fore=min(depth - line - margin, FARTHEST),
        near=near,
        pitch=pitch,
    )
    best, least = widest, math.inf
    for one in _of_each_count(widest):
        parts = one.error(clearance=0.0, bearing=1.0, cut=CUT["hand"], slack=SLACK)
        lean = math.hypot(*parts.values())
        if not {"base", "stands out"} & {*one.faults(room=math.inf)} and lean < least:
            best, least = one, lean
    return best


def _of_each_count(widest: BlockSection) -> Iterator[BlockSection]:
    """Yield a block for each number of layers that has room, its base cut back where it must be."""
    lift = max(widest.lift(widest.foot), widest.lift(widest.tongue))
    under = lift + ARCH * math.hypot(1.0, widest.slope) + NECK
    for count in range(1, layers(widest.top, 0.0, widest.sheet) + 1):
        one = replace(widest, count=count)
        if widest.slope > 0.0:
            one = replace(one, fore=min(widest.fore, (one.low - under) / widest.slope))
        rises = one.base_at(one.fore if one.slope > 0.0 else one.aft, under)
        wall = one.base_at(max(one.fore, one.body / 2.0 + WALL), lift + CLEAR)
        if one.fore > 0.0 and max(rises, wall) <= one.low + 1e-9:
            yield one
