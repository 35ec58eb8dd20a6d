"""What a hole strip shows, as places and words, and the bands that it is shown in.

::

      W  _______________________________________________
        |  +  title, arrows, bars                    +  |    title band
        |-----------------------------------------------|
        |      one row a side: which guide serves       |
        |      stations; zero end and trim lines        |    rows
        |      pin side, drilling order, hole number    |
        |-----------------------------------------------|
        |   (  )      (  )      (  )     lightening     |    work: as it lies on the part
        |____.____.____.____.____.____.____.____.____.__|
      0    TE edge
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from jiggen.errors import DoesNotFit
from jiggen.geometry.frame import Side
from jiggen.units import or_more, size, words

#: mm. White between what lies on the part and the first row above it.
CLEAR = 2.0
#: mm. Heights of the rows: hole number, drilling order, pin side; then one each for the zero end
#: and the trim lines, for the stations, and for each row of guides.
NUMBER_ROW, ORDER_ROW, PIN_ROW, GUIDE_ROW, PLACE_ROW = 4.4, 3.4, 3.6, 3.8, 3.8
#: mm. Least and wished height of the title band.
TITLE_MIN = 20.0
#: mm. Least half width of a hole's mark, and how far its cross goes beyond the hole.
MARK_MIN, ARM = 2.2, 1.3


@dataclass(frozen=True, slots=True, kw_only=True)
class StripHole:
    """A rivet hole on the strip.

    Attributes:
        number: from 1.
        at: along the edge, mm.
        forward: of the trailing edge along the face that the strip lies on, mm.
        order: place in the drilling order, None where it is not drilled now.
        pin: the side that its pin goes in from, or None.
        angles: what is said of the angles there.
        room: to the nearest other hole, mm.
    """

    number: int
    at: float
    forward: float
    order: int | None
    pin: Side | None
    angles: str
    room: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A lightening hole on the strip: `at` along the edge, `forward` along the face; mm."""

    at: float
    forward: float
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """A stretch that one guide serves.

    Attributes:
        start: mm along the edge.
        end: mm along the edge.
        words: what is said of it, longest first.
        ends: whether the stretch ends where the next guide takes over.
    """

    start: float
    end: float
    words: tuple[str, ...]
    ends: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceLine:
    """A line across the strip: the zero end, a trim line, a station."""

    at: float
    kind: Literal["zero", "trim", "station"]
    words: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)  # without slots: what every hole asks is worked out once
class StripPlan:
    """All that a strip shows.

    Attributes:
        start: of the strip along the edge, mm.
        end: of the strip, mm.
        width: mm.
        drill: diameter, mm.
        depth: of the wedge along the face where it is steepest, mm; 0 where it is not known.
        side: the face that it lies on.
        hand: 1 where the zero end lies to the left of the reader, -1 where to the right.
        holes: every hole in the strip.
        openings: the lightening holes.
        guides: rows of stretches, one for each side that has guides of its own.
        places: lines across, the most important first.
        pin_words: which sides the pins' letters are.
        words: of the title band, without title and range of holes.
        ending: of the title band of the last tile; each sentence with a brief one;
            `rounding_words` follow.
        units: ``mm`` or ``in``.
    """

    start: float
    end: float
    width: float
    drill: float
    depth: float
    side: Side
    hand: int
    holes: tuple[StripHole, ...]
    openings: tuple[Opening, ...]
    guides: tuple[tuple[Served, ...], ...]
    places: tuple[PlaceLine, ...]
    pin_words: str
    words: tuple[str, ...]
    ending: tuple[tuple[str, str], ...]
    units: str

    @cached_property
    def arm(self) -> float:
        """Return half the width of a hole's mark, mm."""
        return max(self.drill / 2.0 + ARM, MARK_MIN)

    @cached_property
    def work_top(self) -> float:
        """Return how far up the strip shows the part itself, mm."""
        tops = [hole.forward + self.arm for hole in self.holes]
        tops += [opening.forward + opening.radius for opening in self.openings]
        return max(*tops, self.depth, 0.0) + CLEAR

    @property
    def title_bottom(self) -> float:
        """Return where the rows end and the title band begins, mm."""
        rows = NUMBER_ROW + ORDER_ROW + PIN_ROW + 2 * PLACE_ROW
        return self.work_top + rows + GUIDE_ROW * len(self.guides)

    @property
    def place_bottom(self) -> float:
        """Return where the two rows of places begin, above the holes' rows, mm."""
        return self.work_top + NUMBER_ROW + ORDER_ROW + PIN_ROW

    @cached_property
    def holes_at(self) -> tuple[float, ...]:
        """Return where the holes are along the edge, mm."""
        return tuple(hole.at for hole in self.holes)

    def refuse_narrow(self) -> None:
        """Refuse a strip that has no room for what it must say.

        Raises:
            DoesNotFit: with the width that would do.
        """
        least = self.title_bottom + TITLE_MIN
        if self.width < least - 1e-9:
            raise DoesNotFit(
                "the strip is too narrow to show the part and say what is on it",
                key="strip.width",
                given=size(self.width),
                remedy=words("{least} or more", least=or_more(least)),
            )


def along_face(forward: float, skin: float) -> float:
    """Return how far a place is from the TE measured along a face instead of the chord, mm.

    Args:
        forward: of the TE in the chord plane, mm.
        skin: that face's angle at the place itself, radians: on a taper no other will do.

    Source: definition of the cosine.
    """
    return forward / math.cos(skin)
