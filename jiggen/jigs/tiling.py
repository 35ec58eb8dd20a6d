"""Cuts a long strip into tiles of one length that overlap, joined between two holes if it can be.

::

      start                                                              end
      |--+-----------------+--|                                            |
      |               |--+-----------------+--|                            |
      |  J0              J1 |            J2 |--+------------------------+--|
                            |<- overlap ->|                             J3

The crosses J stand at places along the strip, not at distances from the tile before: an error of
rounding or of drawing on one tile can not add to the next one's.
"""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

#: mm. From a join to a hole: their crosses and words stay apart.
CLEAR = 7.0
#: mm. What rounding may take of a tile's room.
SLACK = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One part of a strip, positions along the strip in mm.

    Attributes:
        number: from 1 at the zero end.
        count: of all tiles.
        start: its end toward the zero end.
        length: of every tile of the strip.
        crosses: the places of its two pairs of registration crosses; each but the strip's own
            ends repeats on the neighbour.
    """

    number: int
    count: int
    start: float
    length: float
    crosses: tuple[float, float]

    @property
    def end(self) -> float:
        """Return its end away from the zero end, mm."""
        return self.start + self.length


def tiles(
    start: float,
    end: float,
    room: float,
    overlap: float,
    holes: Sequence[float] = (),
    mark: float = 1.0,
) -> tuple[Tile, ...]:
    """Return the tiles of a strip.

    Args:
        start: of the strip, mm.
        end: of the strip, mm.
        room: the longest tile, mm; more than `overlap`.
        overlap: least length that two neighbours share, mm.
        holes: where holes are, mm, rising: a join keeps `CLEAR` of them where it can.
        mark: crosses stand at whole multiples of this, mm: marks that a tape measure has.

    Returns:
        As few as the room allows, all of one length, the zero end's first.

    Source: derived.
    """
    first, last = start + overlap / 2.0, end - overlap / 2.0
    step = room - overlap
    count = max(1, math.ceil((last - first) / step - SLACK))
    joins = [first]
    for number in range(1, count):
        left = count - number
        low, high = max(joins[-1] + overlap, last - left * step), joins[-1] + step
        even = min(max(joins[-1] + (last - joins[-1]) / (left + 1), low), high)
        joins.append(_between_holes(even, low, high, mark, holes))
    joins.append(last)
    length = max(b - a for a, b in pairwise(joins)) + overlap
    # The strip's own ends have nobody to agree with: their crosses move inward to a mark.
    crosses = [
        mark * math.ceil(first / mark - SLACK),
        *joins[1:-1],
        mark * math.floor(last / mark + SLACK),
    ]
    return tuple(
        Tile(number=n, count=count, start=at, length=length, crosses=(crosses[n - 1], crosses[n]))
        for n, at in enumerate(_starts(start, end, length, joins), start=1)
    )


def _between_holes(
    even: float, low: float, high: float, mark: float, holes: Sequence[float]
) -> float:
    """Return the mark for a join between `low` and `high`: nearest the even one, clear of holes."""
    marks = [mark * n for n in range(math.ceil(low / mark), math.floor(high / mark) + 1)]
    if not marks:
        return even
    return min(marks, key=lambda at: (max(CLEAR - _to_nearest(holes, at), 0.0), abs(at - even)))


def _to_nearest(holes: Sequence[float], at: float) -> float:
    """Return how far the nearest hole is, mm."""
    right = bisect(holes, at)
    return min((abs(hole - at) for hole in holes[max(right - 1, 0) : right + 1]), default=math.inf)


def _starts(start: float, end: float, length: float, joins: Sequence[float]) -> list[float]:
    """Return where each tile starts: the strip's own ends, else about the middle of its crosses."""
    middles = [(a + b) / 2.0 for a, b in pairwise(joins)]
    found = [middle - length / 2.0 for middle in middles]
    found[-1] = end - length
    found[0] = start
    return found
