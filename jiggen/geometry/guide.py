r"""The guide in numbers: it stands on solid wedge either side of the hole and takes the bit.

Seen in the section square to the trailing edge, in the axis frame: origin at the mouth of the
hole, v up the drill axis, u forward. The skin is the line v = m u, and s runs along it::

     back            v              front
      |______________|________________|___ top of the edge
      |    ____    | | |              |
      |   |    |   | | |              |        A  back plate: its face touches the bit
      | A | C  |   | | |  A, B on it  |        B  edge plate: A's outline forward of u = r,
      |   |    |   | | |              |           glued to A; its edge touches the bit
      |___|    |___| | |              |        C  cross plate: parallel to the axis, lapped into
          |    |   | | (___      __.--'           A; its forward corner is the aft foot
          |____|   | |     |____|              (  relief at the foot of the edge
          C's foot  bit     pad
          s0         0          s1
          |<------- base ------>|              on solid wedge, from the trailing edge to its front

Lengths in mm, angles in radians. The jig's drawing and the checks both take their numbers here.
"""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct

from jiggen.geometry.drill import GRIT
from jiggen.geometry.frame import guide_angle, lean_over
from jiggen.geometry.seat import slides

MARGIN = 1.0
"""A foot stays so far inside the solid wedge at either end, mm along the skin."""
PAD = 3.0
"""Length of a pad along the skin, mm."""
ARCH = 1.0
"""Height of the arch between the feet off the skin, mm."""
BAR = 9.0
"""Height of the bar that carries a long base, off the skin, mm."""
CLEAR = 2.0
"""Forward of the pad all clears the skin by this, aft of the cross plate mouth and edge, mm."""
RELIEF = 3.0
"""Radius of the relief at the foot of the edge where there is room for it, mm."""
LEAST_RELIEF = 1.5
"""Least radius of it, and least clearance between cross plate and bit, mm."""
BURR, LEAST_NIB = 0.6, 1.5
"""The arch begins this far aft of the bit, mm: a burr has room there. A nib between it and the
cross plate that is narrower than this would break, and is left out: the cross plate alone carries.
"""
BACK, FRONT = 34.0, 26.0
"""What plate A reaches aft of the axis and forward of the bit, mm: name and arrow have room aft of
the bit, and the weight stays between the feet."""
LOW = 28.0
"""A guide whose top is lower than this reaches farther aft by what it lacks, mm: name beside arrow.
"""
LEAST_FRONT, LEAST_TOWER = 8.0, 8.0
"""Least height of plate A's forward end, and on a long base the least of it forward of the bit, mm.
"""
LONG_BASE = 70.0
"""What a base that lies on the skin reaches forward of the hole, mm along the skin."""
BEHIND_CROSS = 24.0
"""What plate A keeps behind the cross plate, mm."""
CROSS_HEIGHT = 25.0
"""Height of the cross plate where the edge is no lower, mm; half of it is lapped."""
CROSS_WIDE, CROSS_LEAST = 60.0, 24.0
"""Largest and least width of the cross plate along the row, mm."""
TALLEST, LEAST_TOP = 60.0, 20.0
"""Highest and lowest top of the edge, mm: a lower one shows no error to the eye."""
LEAST_NECK = 2.0
"""Least width of plate B between its edge and the cut forward of its pad, mm."""
LEAST_BASE = 10.0
"""Least base, mm."""
OVER_WIDEST = 0.3
"""The edge plate reaches past the bit's widest line by this, mm."""
PAPER_GAP, SIGHTED_GAP = 0.1, 0.3
"""Gap between edge and bit that a strip of paper finds, and one that the eye does, mm."""
CUT = {"laser": 0.05, "printed": 0.10, "hand": 0.15}
"""What the feet of a guide may be cut off, mm: common practice, no published source."""

GuideFault = Literal["edge", "cross plate", "forward foot", "base", "cross width"]


class GuideSection(Struct, frozen=True, kw_only=True):
    """The guide in the section square to the trailing edge, in the axis frame of the head."""

    skin_angle: float  # of the face that it stands on, radians
    line: float  # distance c of the hole line forward of the trailing edge, mm
    drill: float  # diameter of the bit, mm
    sheet: float  # thickness of the plates, mm
    top: float  # height e of the edge's upper end over the mouth of the hole, mm
    aft: float  # where the base begins along the skin, mm, negative; s0
    forward: float  # where it ends, mm; s1
    margin: float  # of the feet inside the solid wedge, mm along the skin
    long: bool = False  # whether its base lies on the skin forward of the solid wedge too

    @property
    def slope(self) -> float:
        """Return tan of the skin angle, ratio."""
        return math.tan(self.skin_angle)

    @property
    def radius(self) -> float:
        """Return where the edge stands forward of the axis: half the bit, mm."""
        return self.drill / 2.0

    def on_skin(self, s: float, off: float = 0.0) -> tuple[float, float]:
        """Return the point (u, v) that lies s along the skin and `off` square to it, mm."""
        sin, cos = math.sin(self.skin_angle), math.cos(self.skin_angle)
        return s * cos - off * sin, s * sin + off * cos

    @property
    def base(self) -> float:
        """Return how much of the skin lies between the outer ends of the feet, mm; b."""
        return self.forward - self.aft

    @property
    def forward_pad(self) -> tuple[float, float]:
        """Return where the forward pad begins and ends along the skin, mm."""
        if self.long:
            return self.radius / math.cos(self.skin_angle) + RELIEF, self.forward
        return self.forward - PAD, self.forward

    @property
    def bar(self) -> float:
        """Return how high the bar stands that carries the base forward of plate A, mm.

        Off a short base all clears the skin instead; both are counted square to the skin.
        """
        return BAR if self.long else CLEAR

    @property
    def cross(self) -> tuple[float, float]:
        """Return from which to which u the cross plate stands, mm."""
        back = -(self.line - self.margin * math.cos(self.skin_angle))
        return back, back + self.sheet

    @property
    def touch(self) -> tuple[float, float]:
        """Return the corner (u, v) of the cross plate that stands on the skin, mm.

        It is cut square, so on a skin that rises forward its forward corner touches.
        """
        u = self.cross[1] if self.slope >= 0.0 else self.cross[0]
        return u, u * self.slope

    @property
    def nib(self) -> float:
        """Return how long plate A itself touches the skin aft of the bit, mm; 0 for not at all."""
        room = -(self.radius + BURR) - self.cross[1]
        thinnest = room - max(0.0, ARCH * math.sin(self.skin_angle))
        return room if thinnest >= LEAST_NIB else 0.0

    @property
    def stance(self) -> float:
        """Return the base from that corner to the forward pad's end along the skin, mm."""
        return self.forward - self.touch[0] / math.cos(self.skin_angle)

    @property
    def cross_top(self) -> float:
        """Return v of the cross plate's top, mm: no higher than the edge, under the chuck."""
        return min(self.touch[1] + CROSS_HEIGHT, self.top)

    @property
    def lap(self) -> float:
        """Return how far plate A and cross plate are slotted into each other, mm each."""
        return (self.cross_top - self.touch[1]) / 2.0

    @property
    def cross_clear(self) -> float:
        """Return the clearance between cross plate and bit, mm."""
        return -self.radius - self.cross[1]

    @property
    def thickest_cross(self) -> float:
        """Return the thickest sheet that leaves room for a cross plate, mm."""
        return self.cross_clear + self.sheet - LEAST_RELIEF

    @property
    def relief(self) -> float:
        """Return the radius of the relief at the foot of the edge, mm; it leaves the pad whole."""
        return min(RELIEF, self.forward_pad[0] - self.radius / math.cos(self.skin_angle))

    @property
    def edge_foot(self) -> float:
        """Return v of the edge's lower end, above the relief, mm."""
        return self.radius * self.slope + self.relief

    @property
    def edge(self) -> float:
        """Return the length of edge that touches the bit, mm."""
        return self.top - self.edge_foot

    @property
    def neck(self) -> float:
        """Return the width of plate B between its edge and the cut forward of its pad, mm."""
        return self.on_skin(self.forward, CLEAR)[0] - self.radius

    @property
    def back(self) -> float:
        """Return u of plate A's aft end, mm; aft of the cross plate nothing lies below `tail`."""
        return min(-BACK - max(0.0, LOW - self.top), self.cross[0] - BEHIND_CROSS)

    @property
    def tail(self) -> float:
        """Return v of plate A's lower edge aft of the cross plate, mm.

        It clears the trailing edge, which on a skin that falls forward stands above the mouth.
        """
        return CLEAR + max(0.0, -self.line * self.slope)

    @property
    def front(self) -> float:
        """Return u of its forward end, mm: on a steep skin where it is still high enough."""
        if self.slope <= 0.0:
            return self.radius + FRONT
        least = self._least_front
        high = (self.top - LEAST_FRONT - self.bar / math.cos(self.skin_angle)) / self.slope
        return min(self.radius + FRONT, max(least, high))

    @property
    def _least_front(self) -> float:
        if self.long:
            return self.radius + LEAST_TOWER
        return self.on_skin(self.forward)[0] + CLEAR

    @property
    def least_top(self) -> float:
        """Return the lowest top that shows an error to the eye, and carries a long base, mm."""
        if not self.long:
            return LEAST_TOP
        over = self._least_front * self.slope + self.bar / math.cos(self.skin_angle)
        return max(LEAST_TOP, over + LEAST_FRONT)

    @property
    def least_depth(self) -> float:
        """Return the least depth of solid wedge that has room for the forward foot, mm."""
        sin, cos = math.sin(self.skin_angle), math.cos(self.skin_angle)
        relieved = self.radius + (LEAST_RELIEF + PAD) * cos
        necked = self.radius + LEAST_NECK + CLEAR * sin
        return self.line + max(relieved, necked) + self.margin * cos

    @property
    def edge_sheets(self) -> int:
        """Return how many sheets the edge plate needs to reach past the bit's widest line."""
        return math.ceil((self.radius + OVER_WIDEST) / self.sheet - 1e-9)

    def climb(self, tilt: float, cross_width: float) -> float:
        """Return how far a skin that climbs along the span turns the guide, radians.

        Args:
            tilt: of the skin along the span, radians.
            cross_width: of the cross plate along the row, mm.

        Source: derived. The plates are cut square, so one side of their thickness stands, and the
        cross plate is cut for their middle: with a nib the guide rolls until an end of the cross
        plate stands too; without one it stands on the cross plate and the aft end of the pad.
        """
        thick = (0.5 + self.edge_sheets) * self.sheet
        lifted = thick * abs(math.tan(tilt))
        if self.nib:
            return lean_over(lifted, cross_width / 2.0 + thick)
        return lean_over(lifted, self.forward_pad[0] - self.touch[0] / math.cos(self.skin_angle))

    def faults(self, cross_width: float) -> tuple[GuideFault, ...]:
        """Return what forbids this guide; empty where nothing does.

        Args:
            cross_width: of the cross plate along the row, mm; see `cross_width`.

        Returns:
            ``edge``: too low to show an error; ``cross plate``: no room for it between trailing
            edge and bit; ``forward foot``: too little solid wedge forward of the hole; ``base``:
            the wedge is too narrow; ``cross width``: pins and pitch leave too little.

        Source: derived, with limits of common practice.
        """
        found: dict[GuideFault, bool] = {
            "edge": self.top < self.least_top - 1e-9,
            "cross plate": self.cross_clear < LEAST_RELIEF,
            "forward foot": self.relief < LEAST_RELIEF or self.neck < LEAST_NECK,
            "base": self.base < LEAST_BASE,
            "cross width": cross_width < CROSS_LEAST,
        }
        return tuple(fault for fault, holds in found.items() if holds)

    def stands_alone(self, centre: float) -> bool:
        """Return whether the guide neither topples nor slides on a part whose chord plane is level.

        Args:
            centre: u of the guide's centre of gravity, mm.

        Source: derived: a plumb line between the feet; friction is common practice.
        """
        forward = self.on_skin(self.forward)[0]
        return not slides(self.slope) and self.touch[0] < centre < forward


def guide_section(
    *,
    skin_angle: float,
    line: float,
    depth: float,
    drill: float,
    room: float,
    sheet: float,
    margin: float = MARGIN,
    long: bool = False,
) -> GuideSection:
    """Return the guide that stands on solid wedge either side of a hole, see `GuideSection`.

    It is sound or not: ask it for its `faults`. The top is a whole mm below the `room` beside the
    bit, see `jiggen.geometry.drill.room`, so that no chuck lands on it; the forward foot of a short
    base comes back to where a bar over it still lies under that top. `depth` is that of the solid
    wedge from the trailing edge forward, mm.

    Source: derived.
    """
    top = float(math.floor(min(room, TALLEST)))
    sin, cos = math.sin(skin_angle), math.cos(skin_angle)
    forward = LONG_BASE if long else (depth - line) / cos - margin
    if sin > 0.0 and not long:
        forward = min(forward, (top - BAR * cos) / sin)
    return GuideSection(
        skin_angle=skin_angle,
        line=line,
        drill=drill,
        sheet=sheet,
        top=top,
        aft=margin - line / cos,
        forward=forward,
        margin=margin,
        long=long,
    )


def cross_width(pitch: float, pin: float) -> float:
    """Return how wide a cross plate may be between the pins of the next holes, mm.

    Args:
        pitch: distance from hole to hole, mm.
        pin: diameter of a pin's head, mm.

    Source: definition: 1 mm clear of a pin on either side.
    """
    return min(CROSS_WIDE, 2.0 * (pitch - pin / 2.0 - 1.0))


def heading_lean(slope: float, turn: float) -> float:
    """Return how far a guide leans along the row that is turned on its skin.

    Args:
        slope: tan of the skin angle, ratio.
        turn: of the guide from square to the trailing edge, radians.

    Returns:
        Radians: atan(m sin k). The angle itself changes far less: from atan m to atan(m cos k).

    Source: derived: what the skin rises along the foot of the cross plate.
    """
    return math.pi / 2.0 - guide_angle(slope, 0.0, math.pi / 2.0 - turn)


def guide_error(
    *,
    stance: float,
    edge: float,
    cut: float,
    gap: float = PAPER_GAP,
    slope: float = 0.0,
    turn: float = 0.0,
    sag: float = 0.0,
    climb: float = 0.0,
) -> dict[str, float]:
    """Return what may make the bit lean beside a guide, each part by its name, radians.

    Args:
        stance: distance between its feet, mm.
        edge: length of edge that touches the bit, mm.
        cut: what the feet may be cut off, mm; see `CUT`.
        gap: between edge and bit that is not seen, mm.
        slope: tan of the skin angle, ratio.
        turn: of the guide from square to the trailing edge, radians.
        sag: of a hollow skin under the far end of a base that lies on it, mm.
        climb: what a skin that climbs along the span does, radians; see `GuideSection.climb`.

    Returns:
        ``stand``, ``touch``, ``cut``, ``heading``, ``sag`` and ``climb``; together they are the
        root of the sum of their squares. A hole bears atan(drift / thickness); see
        `jiggen.geometry.guideset.allowed_errors`.

    Source: derived, with the grit under a foot of common practice.
    """
    return {
        "stand": lean_over(GRIT, stance),
        "touch": lean_over(gap, edge),
        "cut": lean_over(cut, stance),
        "heading": heading_lean(slope, turn),
        "sag": lean_over(sag, stance),
        "climb": climb,
    }
