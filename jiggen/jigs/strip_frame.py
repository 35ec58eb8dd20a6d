"""A tile of a hole strip as it is drawn: from places along the edge to places on the drawing."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from jiggen.jigs.strip_plan import StripHole, StripPlan
from jiggen.jigs.tiling import Tile

#: mm. Height of the lower crosses above the TE, depth of the upper ones below the strip's top, and
#: half a cross.
LOWER, UPPER_IN, CROSS = 3.4, 4.0, 2.2
#: mm. Along a long strip its name, its arrows and its guides are said again about so far apart.
EVERY = 220.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """A tile of a strip as it is drawn: from places along the edge to x on the drawing, mm.

    x counts from the tile's own end toward hole 1, so that all tiles are the same size to the last
    digit and lie on their pages in order.
    """

    plan: StripPlan
    tile: Tile

    def x(self, at: float) -> float:
        """Return where a place along the edge is drawn, mm."""
        return self.plan.hand * (at - self.tile.start)

    @property
    def left(self) -> float:
        """Return the tile's left end on the drawing, mm."""
        return min(self.plan.hand * self.tile.length, 0.0)

    @property
    def right(self) -> float:
        """Return the tile's right end on the drawing, mm."""
        return max(self.plan.hand * self.tile.length, 0.0)

    @property
    def between(self) -> tuple[float, float]:
        """Return the crosses' places on the drawing, the left one first, mm."""
        low, high = sorted(self.x(at) for at in self.tile.crosses)
        return low, high

    def holds(self, low: float, high: float, clear: float = 0.3) -> bool:
        """Return whether a stretch of the drawing lies wholly on the tile."""
        return self.left + clear <= low and high <= self.right - clear

    @property
    def shown(self) -> list[StripHole]:
        """Return the holes whose marks lie wholly on the tile."""
        arm, at = self.plan.arm, self.plan.holes_at
        first, after = bisect_left(at, self.tile.start), bisect_right(at, self.tile.end)
        near = ((hole, self.x(hole.at)) for hole in self.plan.holes[first:after])
        return [hole for hole, x in near if self.holds(x - arm, x + arm)]
