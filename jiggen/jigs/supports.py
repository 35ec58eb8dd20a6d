"""What holds the wedge, as solids to print: cradle seat, end support, and shim bar.

The seat is the cradle's, at the same angle, with the same stop and channel; an end support is a
short one without a channel, and stands where the wedge would sag. The shim bar lies under the whole
edge on a flat table and levels the chord plane; its lengths lap into each other. If any of them
were printed at another angle the wedge would lie askew under the drill press, hole after hole.

::

           seat, end support                     shim bar
       ___                                    ______
      |   '''---___        __ stop           |      '''---___
      |    _      '''---__|  |               |_______________|
      |   | | channel     |  |__             TE             front
      |___|_|_____________|_____|
          TE            front
"""

from __future__ import annotations

import math
from typing import Protocol

from jiggen.drawing.solid import Body, Solid, Turn
from jiggen.errors import DoesNotFit
from jiggen.units import Angle, words

#: mm. What a seat reaches aft of the trailing edge at most, the stop's thickness, and the ledge in
#: front of it that is clamped to the table, with its height.
AFT, STOP_THICK, LEDGE, LEDGE_HIGH = 8.0, 8.0, 16.0, 6.0
#: mm. Depth of the channel under the hole line.
CHANNEL = 12.0
#: mm. Length of a seat and of an end support along the edge.
SEAT_LONG, SUPPORT_LONG = 60.0, 24.0
#: mm. A bar of the shim, the step of its joint, and its least height: whole nozzle widths.
BAR, LAP, THIN = 200.0, 3.0, 3.2
#: A bar stands on its front face: the slope is then a wall, not steps.
ON_ITS_FRONT: Turn = ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0))


class Seat(Protocol):
    """What of a cradle's section a printed seat needs: mm, x forward of the trailing edge."""

    @property
    def slope(self) -> float:
        """Return the fall of the seat for each mm forward."""

    @property
    def stop(self) -> float:
        """Return where the face of the stop is."""

    @property
    def stop_top(self) -> float:
        """Return how high the stop ends above the table."""

    @property
    def ends(self) -> tuple[float, float]:
        """Return where the seat begins and ends."""

    @property
    def channel(self) -> tuple[float, float]:
        """Return where the channel under the hole line begins and ends."""

    def level(self, x: float) -> float:
        """Return the height of the seat above the table."""


def seat_solid(
    seat: Seat, name: str, title: str, *, long: float = SEAT_LONG, channel: bool = True
) -> Solid:
    """Return a seat with its stop, to print on its end.

    Args:
        seat: its section, as the cradle's.
        name: file name.
        title: as in lists.
        long: along the edge, mm.
        channel: whether bit or pilot go through the wedge over it; an end support has none.

    Raises:
        DrawingError: the library that builds solids is not installed.
        DoesNotFit: its thin end would be lower than its ledge.
    """
    low, high = max(seat.ends[0], -AFT), seat.ends[1]
    if min(seat.level(low), seat.level(high)) < LEDGE_HIGH:
        raise DoesNotFit(
            "the seat would end lower than its ledge",
            key="cradle.height",
            remedy="a higher seat",
        )
    top = [(low, seat.level(low)), (high, seat.level(high))]
    if seat.stop >= high - 1e-9:
        around = [
            (low, 0.0),
            (high + STOP_THICK + LEDGE, 0.0),
            (high + STOP_THICK + LEDGE, LEDGE_HIGH),
            (high + STOP_THICK, LEDGE_HIGH),
            (high + STOP_THICK, seat.stop_top),
            (high, seat.stop_top),
            *reversed(top),
        ]
    else:
        edge = seat.stop
        around = [
            (edge - STOP_THICK - LEDGE, 0.0),
            (high, 0.0),
            top[1],
            (edge, seat.level(edge)),
            (edge, seat.stop_top),
            (edge - STOP_THICK, seat.stop_top),
            (edge - STOP_THICK, LEDGE_HIGH),
            (edge - STOP_THICK - LEDGE, LEDGE_HIGH),
        ]
    body = Body.prism(around, 0.0, long)
    if channel:
        start, end = seat.channel
        under = min(seat.level(start), seat.level(end)) - CHANNEL
        above = seat.level(low) + 200.0
        slot = [(start, under), (end, under), (end, above), (start, above)]
        body = body.without(Body.prism(slot, -1.0, long + 1.0))
    over = math.hypot(1.0, seat.slope)
    return body.solid(
        name=name,
        title=title,
        turned="on its end, the edge upright: the section lies in the layers",
        base=(0.0, -1.0, 0.0),
        forward=(1.0, 0.0, 0.0),
        axis=(seat.slope / over, 1.0 / over, 0.0),
        at=(0.0, seat.level(0.0), 0.0),
    )


def shim_bar(slope: float, depth: float, edge: float, name: str, title: str) -> Solid:
    """Return one length of a shim bar, to print on its front face; all lengths are the same.

    Args:
        slope: of the face that lies down, going forward, ratio.
        depth: of the wedge, mm.
        edge: length of the whole edge, mm: so many bars lie under it.
        name: file name.
        title: as in lists.

    Raises:
        DrawingError: the library that builds solids is not installed.
        DoesNotFit: a face that does not rise forward needs no shim.
    """
    if slope <= 0.0:
        raise DoesNotFit(
            words("a face at {a} to the chord plane needs no shim bar", a=Angle(math.atan(slope))),
            key="wedge",
            remedy="lay it on the table as it is",
        )
    around = [(0.0, 0.0), (depth, 0.0), (depth, THIN), (0.0, THIN + slope * depth)]
    half = THIN / 2.0
    body = Body.prism(around, 0.0, BAR + LAP)
    lower = [(-1.0, -1.0), (depth + 1.0, -1.0), (depth + 1.0, half), (-1.0, half)]
    upper = [(-1.0, half), (depth + 1.0, half), (depth + 1.0, BAR), (-1.0, BAR)]
    body = body.without(Body.prism(lower, BAR, BAR + LAP + 1.0))
    body = body.without(Body.prism(upper, -1.0, LAP))
    over = math.hypot(1.0, slope)
    return body.solid(
        turn=ON_ITS_FRONT,
        name=name,
        title=title,
        turned="on its front face, the thin one: the slope stands as a wall",
        base=(0.0, -1.0, 0.0),
        forward=(1.0, 0.0, 0.0),
        axis=(slope / over, 1.0 / over, 0.0),
        at=(0.0, THIN + slope * depth, BAR / 2.0),
        count=max(1, math.ceil(edge / BAR - 1e-9)),
    )
