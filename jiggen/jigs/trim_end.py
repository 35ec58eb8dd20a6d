"""One end of the part as a trim template shows it: holes, front and fairing, as they lie."""

from __future__ import annotations

from dataclasses import dataclass

#: mm. White between the wedge as drawn and the rows ahead of it.
CLEAR = 2.0
#: mm. How far the corner ahead of the cut is cut away: seen at once, and no room for a saw.
CUT_AWAY = 14.0
#: mm. Column of the standing bars at the far end.
COLUMN = 9.0
#: mm. Least and greatest length: room for the title, and what a sheet of paper holds.
LEAST, MOST = 116.0, 160.0
#: Rivet holes that a template should reach.
HOLES = 3
#: mm. How much of the waste is drawn beyond the cut, on paper only.
BEYOND = 18.0
#: mm. Length of a hole's cross beyond its rim.
ARM = 1.6


@dataclass(frozen=True, slots=True, kw_only=True)
class EndHole:
    """A rivet hole or a lightening hole near a cut, as it lies on the face.

    Attributes:
        inward: of its middle from the cut, mm; negative in the waste.
        forward: of the trailing edge, mm.
        radius: mm.
        number: of a rivet hole; None for a lightening hole.
        sound: whether a pin can hold in it: no edge runs into it.
    """

    inward: float
    forward: float
    radius: float
    number: int | None = None
    sound: bool = True

    @property
    def reach(self) -> float:
        """Return how far inward its cross goes, with some white, mm."""
        return self.inward + self.radius + ARM + 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimEnd:
    """One end of the part, as it lies on the face.

    Attributes:
        rivets: rivet holes by their distance from the cut.
        lightening: lightening holes by their distance from the cut.
        depth: of the wedge along the face at the cut, mm, or None.
        fairing: how far in from the cut the fairing covers, mm; 0 if there is none.
        waste: what is left of the stock beyond the cut, mm.
        half_holes: rivet holes of the stock that the cut passes and no hole of the skins covers.
    """

    rivets: tuple[EndHole, ...]
    lightening: tuple[EndHole, ...]
    depth: float | None
    fairing: float
    waste: float
    half_holes: tuple[EndHole, ...] = ()

    @property
    def length(self) -> float:
        """Return how long a template shows this end, mm."""
        row = [hole.inward for hole in self.rivets if hole.inward > 0.0][:HOLES]
        passed = [h.inward + h.radius for h in self.lightening if abs(h.inward) < h.radius]
        wanted = max([LEAST, *(at + CUT_AWAY + COLUMN for at in (*row, *passed))])
        while wanted > MOST and row:
            wanted = max([LEAST, *(at + CUT_AWAY + COLUMN for at in row)])
            row.pop()
        long = min(wanted, MOST)
        # A hole at the far end is shown whole, with its cross and for its pin, or not at all.
        for hole in self.rivets:
            whole = hole.reach + COLUMN
            if hole.inward - hole.radius < long - COLUMN < hole.reach and whole <= MOST:
                long = whole
        return long

    def shown(self) -> tuple[EndHole, ...]:
        """Return the rivet holes that a template shows, those in the waste too."""
        return tuple(hole for hole in self.rivets if hole.reach <= self.length - COLUMN)

    @property
    def fairing_drawn(self) -> bool:
        """Return whether the line up to which the fairing covers lies on the template."""
        return 1.0 < self.fairing < self.length - COLUMN

    @property
    def work_top(self) -> float:
        """Return how far forward the wedge is drawn, mm."""
        holes = (*self.rivets, *self.lightening, *self.half_holes)
        tops = [h.forward + h.radius + ARM for h in holes if -BEYOND < h.inward < self.length]
        return max([self.depth or 0.0, 12.0, *tops]) + CLEAR
