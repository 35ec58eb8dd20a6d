r"""A wedge laid with one face on a straight sloping seat: how far its chord plane is from level.

The seat falls forward and is level along the span. What is left of the wedge is then a matter of
two slopes of the face that lies down, forward and along the edge. The slope along the edge (the
lean) cannot be taken up by such a seat and stays whole. A table that tilts is such a seat too.

Seen in the section square to the trailing edge, x forward of it, z up from the table::

      TE            ______--------|
        |-------''''              |__
    _ _ |_ _ _ _ _ _ _ _ _ _ _ _ |  | _ _  chord plane, level
    |    '''---___                |  |      stop: ends below the upper face
    |       |     |'''---___      |  |
    |       |     |         '''---|  |      seat, falls forward
    |       |_____|               |  |      channel under the hole line
    |_____________________________|__|___
        0      c                  depth

Beyond the seat the wedge hangs free, and is held up by loose seats so far apart that it sags but
a little between the last of them and its end.

The face slopes by p forward and by q along the edge, off the chord plane. Turn the wedge so that
it lies on the seat with the edge along the stop. With e = (0, 1, -q) / sqrt(1 + q^2) along the
edge, n = (p, q, 1) / N with N^2 = 1 + p^2 + q^2 off the face, and e x n across both, the chord
normal (0, 0, 1) has the parts

    along the edge   -q / sqrt(1 + q^2)
    off the face      1 / N
    across           -p / (N sqrt(1 + q^2))

Seen along the stop it stands at f = atan(p / sqrt(1 + q^2)) to the face, so a seat of s = f
leaves only l = atan(q). For any other seat the chord plane is off level by acos(cos(f - s) cos
l), and l leaves, of an allowed error a, |f - s| <= acos(cos a / cos l); none where l > a. On a
taper f changes under one cradle: the ranges of all places on it are cut together before cradles
are shared out.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from typing import Literal

from msgspec import Struct

HOLDS = 0.2
"""Slope that dry aluminium holds on, ratio; less when shaken. Common practice, no published
source."""
ALUMINIUM = 70_000.0
"""Stiffness of a wedge's aluminium, N/mm2."""
WEIGHT = 2.7e-6 * 9.81
"""What it weighs, N/mm3."""
SAG = 0.5
"""How far the end of a wedge may sag, mm: common practice, no published source."""
CHECK_OVER = 100.0
"""A tilt is proved by its rise over this, mm."""
CUT_SHARE = 1.0 / 3.0
"""Of the error that is allowed, what is left to saw and calliper: common practice, no published
source."""
STEEPEST = math.radians(30.0)
"""No seat is steeper, radians: a wedge could no longer be clamped on it between two holes."""
STOP_BELOW = 0.8
"""The stop ends so far below the upper face at the front of the wedge, mm."""
CLEAR, BELOW = 2.0, 0.5
"""What the cutter's nose keeps from the jig sideways, and from above, mm."""
AFT = 22.0
"""The seat goes on aft of the trailing edge by this where the nose leaves room, mm: its slope can
be measured, and its name has room there."""
AHEAD, BEYOND, DEEPEST = 38.0, 8.0, 80.0
"""With the stop at the trailing edge the seat goes on forward of the hole line, and of a wedge that
is known, by this, and goes no farther, mm."""
SLOT_SIDE = 1.25
"""The channel under the hole line is wider than the drill on either side, mm."""
STRIP, LEAST_STOP = 2.0, 0.6
"""The least strip of seat on either side of the channel, and the lowest stop that holds, mm."""

SeatFault = Literal["steep", "stop", "line"]
Slopes = Sequence[tuple[float, float]]
"""Slopes of the face that lies down, forward and along the edge, at places along one seat."""


class SeatSection(Struct, frozen=True, kw_only=True):
    """A seat with its stop in the section square to the trailing edge: x forward, z up, mm."""

    seat: float  # angle of the seat, radians, positive where it falls forward
    height: float  # of the seat above the table at the trailing edge
    line: float  # distance of the hole line forward of the trailing edge
    drill: float  # diameter of the holes
    cutter: float  # diameter of what turns about the countersink
    # least height of the upper face at the hole line above the seat at the trailing edge
    upper: float
    # of the wedge, to the front face that meets the stop; None where the stop stands at the
    # trailing edge
    depth: float | None = None
    front: float | None = None  # least thickness of the wedge at that face; None with `depth`
    wedge: float | None = None  # depth of the wedge where it is known, whatever meets the stop

    @property
    def slope(self) -> float:
        """Return the fall of the seat for each mm forward."""
        return math.tan(self.seat)

    def level(self, x: float) -> float:
        """Return the height of the seat above the table, mm, `x` forward of the trailing edge."""
        return self.height - x * self.slope

    @property
    def stop(self) -> float:
        """Return where the face of the stop is, mm forward of the trailing edge."""
        return 0.0 if self.depth is None else self.depth

    @property
    def nose(self) -> float:
        """Return how high anything under the cutter's nose may be, mm above the table."""
        return self.height + self.upper - BELOW

    @property
    def stop_top(self) -> float:
        """Return how high the stop ends above the table, mm."""
        if self.depth is None or self.front is None:
            return self.nose
        return self.level(self.depth) + self.front - STOP_BELOW

    @property
    def over(self) -> float:
        """Return the rise of the upper face for each mm forward; the seat's where not known."""
        if self.depth is None or self.front is None:
            return self.slope
        high = self.level(self.depth) + self.front - self.height
        return (high - self.upper) / (self.depth - self.line)

    @property
    def channel(self) -> tuple[float, float]:
        """Return where the channel under the hole line begins and ends, mm forward of the TE."""
        half = self.drill / 2.0 + SLOT_SIDE
        return self.line - half, self.line + half

    def aft_of_edge(self, reach: float, below: float = 0.0) -> float:
        """Return how far the seat's slope may go on aft of the trailing edge, mm.

        Args:
            reach: how far it is wished to, mm.
            below: how far what follows the slope lies below the seat, mm.

        Returns:
            Less than `reach` where it would rise into the cutter's nose.
        """
        under = min(self.line - self.cutter / 2.0 - CLEAR, 0.0)
        if self.level(max(under, -reach)) - below <= self.nose:
            return reach
        return min(reach, max((self.nose - self.height + below) / self.slope, 0.0))

    @property
    def ends(self) -> tuple[float, float]:
        """Return where the seat begins and ends, mm forward of the trailing edge."""
        if self.depth is not None:
            return -self.aft_of_edge(AFT), self.depth
        least = self.line + AHEAD
        return 0.0, least if self.wedge is None else max(least, min(self.wedge + BEYOND, DEEPEST))

    def faults(self) -> Iterator[SeatFault]:
        """Return why such a seat would not hold the wedge; nothing where it does."""
        if abs(self.seat) > STEEPEST:
            yield "steep"
        if self.stop_top - self.level(self.stop) < LEAST_STOP:
            yield "stop"
        strips = self.channel[0], self.ends[1] - self.channel[1]
        if min(strips) < STRIP:
            yield "line"


def seated_angle(slope_x: float, slope_y: float) -> float:
    """Return the seat angle that levels the chord plane fore and aft.

    Args:
        slope_x: slope of the face that lies down, going forward, counted off the chord plane.
        slope_y: its slope going along the edge.

    Returns:
        Radians, positive where the seat falls forward. The skin angle, where slope_y is 0.

    Source: derived, see the head of the module.
    """
    return math.atan(slope_x / math.hypot(1.0, slope_y))


def off_level(slope_x: float, slope_y: float, seat: float) -> float:
    """Return the angle between the chord plane of a wedge on a seat and the table, radians.

    Args:
        slope_x: slope of the face that lies down, going forward, counted off the chord plane.
        slope_y: its slope going along the edge.
        seat: angle of the seat, radians, positive where it falls forward.

    Source: derived, see the head of the module.
    """
    off, lean = seated_angle(slope_x, slope_y) - seat, math.atan(slope_y)
    across = math.hypot(math.sin(off) * math.cos(lean), math.sin(lean))
    return math.atan2(across, math.cos(off) * math.cos(lean))


def left_by_lean(slope_y: float, allowed: float) -> float | None:
    """Return how far a seat angle may be off where the lean has already taken its part.

    Args:
        slope_y: slope going along the edge of the face that lies down.
        allowed: largest angle between chord plane and table, radians, below a quarter turn.

    Returns:
        Radians; None where the lean alone is more than is allowed.

    Source: derived, see the head of the module.
    """
    lean = math.atan(abs(slope_y))
    if lean > allowed:
        return None
    # cos(off) = cos(allowed) / cos(lean), written so that small angles keep their digits.
    across = math.sqrt(math.sin(allowed - lean) * math.sin(allowed + lean))
    return math.atan2(across, math.cos(allowed))


def slides(slope: float) -> bool:
    """Return whether a thing slides down a slope, a ratio, by itself, so that it finds its stop.

    Source: common practice, no published source; see `HOLDS`. Below 11.3 deg it must be pushed.
    """
    return abs(slope) > HOLDS


def support_spacing(thickness: float, sag: float = SAG) -> float:
    """Return how far a wedge may hang free beyond a seat, and so how far apart seats stand.

    Args:
        thickness: mean thickness of the wedge, mm.
        sag: allowed at its end, mm.

    Returns:
        mm: (E t^2 f / (1.5 rho g))^(1/4). Between two seats it sags less than a ninth of that.

    Source: beam held at one end under its own weight, q L^4 / (8 E I).
    """
    return math.sqrt(math.sqrt(ALUMINIUM * thickness**2 * sag / (1.5 * WEIGHT)))


def free_sag(length: float, thickness: float) -> float:
    """Return how far the end of a wedge sags that hangs free, mm.

    Args:
        length: from the seat to its end, mm.
        thickness: mean thickness of the wedge, mm.

    Source: beam held at one end under its own weight; a wedge is stiffer than a strip of its mean
        thickness.
    """
    return 1.5 * WEIGHT * length**4 / (ALUMINIUM * thickness**2)


def set_ups(holes: int, at_a_time: int) -> int:
    """Return how often the wedge is clamped to countersink a row of holes from both sides.

    Source: definition.
    """
    return 2 * math.ceil(holes / at_a_time)


def tilt_rise(angle: float) -> float:
    """Return the rise over 100 mm that proves a tilted table, mm.

    Args:
        angle: of the table, radians: the skin angle of the lower face to level the chord plane,
            both skin angles to level the upper face.

    Source: sine bar, derived.
    """
    return CHECK_OVER * math.sin(angle)


def seat_range(slopes: Slopes, error: float) -> tuple[float, float] | None:
    """Return the lowest and the highest seat angle that all of a lying face accepts, radians.

    Args:
        slopes: see `Slopes`.
        error: allowed between chord plane and table, radians; `CUT_SHARE` of it is for cutting.

    Returns:
        The lowest above the highest where no seat suits; None where the lean alone is too much.

    Source: derived, see the head of the module.
    """
    left = [left_by_lean(along, (1.0 - CUT_SHARE) * error) for _, along in slopes]
    rest = [one for one in left if one is not None]
    if len(rest) < len(left):
        return None
    seats = [seated_angle(*slope) for slope in slopes]
    low = max(seat - off for seat, off in zip(seats, rest, strict=True))
    return low, min(seat + off for seat, off in zip(seats, rest, strict=True))


def suits(slopes: Slopes, error: float) -> bool:
    """Return whether one seat suits all of a lying face with an allowed error.

    Source: see `seat_range`.
    """
    found = seat_range(slopes, error)
    return found is not None and found[0] <= found[1]


def least_error(faces: Sequence[Slopes]) -> float:
    """Return the least error with which each lying face has a seat, radians.

    It is a whole number of hundredths of a degree.

    Source: see `seat_range`.
    """
    hundredths = 1 + bisect_left(
        range(1, 6000),
        True,
        key=lambda n: all(suits(slopes, math.radians(n / 100)) for slopes in faces),
    )
    return math.radians(hundredths / 100)
