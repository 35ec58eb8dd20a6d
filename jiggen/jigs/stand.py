"""The guide set as jigs need it: twins joined, with what the holes leave for cutting.

Side A's and side B's guide may be the same piece turned over; then it is made once and says so.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from jiggen.geometry.frame import Array, Side
from jiggen.geometry.guideset import left_over
from jiggen.geometry.section import Section
from jiggen.job.sections import Job
from jiggen.solution import GuideResult, Solution


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """A guide of the set with all that its pieces need.

    Attributes:
        label: short name on the piece, ``a1``; ``1`` where it fits both sides.
        side: ``a``, ``b`` or ``ab``.
        guides: the guide, or side A's and side B's.
        allowed: the least angle error that its holes allow, radians.
        margin: what is left of it at the worst hole for cutting and drilling, radians.
    """

    label: str
    side: str
    guides: tuple[GuideResult, ...]
    allowed: float
    margin: float

    @property
    def angle(self) -> float:
        """Return the forward guide angle in degrees."""
        return math.degrees(self.guides[0].angle)

    @property
    def serves(self) -> tuple[int, ...]:
        """Return the numbers of the holes that it is used at; none in a job without holes."""
        runs = ((g.first_hole, g.last_hole) for g in self.guides)
        found = {n for first, last in runs if first and last for n in range(first, last + 1)}
        return tuple(sorted(found))

    @property
    def mirrored(self) -> bool:
        """Return whether the piece is drawn with forward to the left."""
        return self.side == "b"


def stands(solution: Solution) -> tuple[Stand, ...]:
    """Return the guide set with twins joined.

    Returns:
        Side A's in order, each joined with side B's of the same shape, then side B's others.
    """
    twins = {a.name: (a, b) for a, b in solution.twins}
    joined = {b.name for _, b in twins.values()}
    left = [g for g in solution.guides if g.side == "b" and g.name not in joined]
    found: list[Stand] = []
    for guide in (g for g in solution.guides if g.side == "a"):
        both = twins.get(guide.name, (guide,))
        some = [_allowed(solution, g) for g in both]
        found.append(
            Stand(
                label=guide.name[1:] if len(both) == 2 else guide.name,
                side="ab" if len(both) == 2 else "a",
                guides=both,
                allowed=min(allowed for allowed, _ in some),
                margin=min(margin for _, margin in some),
            )
        )
    for guide in left:
        allowed, margin = _allowed(solution, guide)
        found.append(
            Stand(label=guide.name, side="b", guides=(guide,), allowed=allowed, margin=margin)
        )
    return tuple(found)


def variant(solution: Solution, stand: Stand, some: tuple[Stand, ...]) -> str:
    """Return what tells a guide from the others: its side where they differ, and its holes."""
    if len(some) == 1:
        return ""
    sides = dict(zip("ab", solution.job.sides, strict=True))
    words = [] if stand.side == "ab" else [sides[stand.side]]
    holes = holes_text(solution, stand.guides[0])
    if sum(1 for s in some if s.side == stand.side) > 1 and holes:
        words.append(holes)
    return ", ".join(words)


def holes_text(solution: Solution, guide: GuideResult) -> str:
    """Return the range of holes that a guide serves, in words."""
    if guide.first_hole is None or guide.last_hole is None:
        return "" if len(solution.stations) == 1 else f"station {guide.name[1:]}"
    if guide.first_hole == guide.last_hole:
        return f"hole {guide.first_hole}"
    return f"holes {guide.first_hole}-{guide.last_hole}"


def hole_1_left(job: Job) -> bool:
    """Return whether hole 1 lies at the left hand of who stands at the trailing edge, side A up.

    Jigs are drawn for a part with hole 1 at the right hand; on the other kind their faces change
    places, and a tilt along the edge changes its sign. The job's `[strip]` says at which hand the
    zero end lies.
    """
    strip = job.strip
    if strip is None:
        return False
    return strip.zero == ("left" if strip.side == "a" else "right")


def side_letters(names: Sequence[str]) -> dict[str, str]:
    """Return what sides are called in one letter: how they begin, or A and B.

    These where both begin alike, or with a letter that beside a number is taken for a figure.
    """
    initials = [name[:1].upper() for name in names]
    plain = initials[0] != initials[1] and all(c.isalpha() and c not in "IO" for c in initials)
    return dict(zip("ab", initials if plain else "AB", strict=True))


def smallest_pitch(solution: Solution) -> float | None:
    """Return the smallest distance between neighbouring holes, mm, or None."""
    job = solution.job
    if job.holes is None or len(job.holes.positions) < 2:
        return None
    return min(b - a for a, b in pairwise(job.holes.positions))


def section_near(solution: Solution, guide: GuideResult) -> Section | None:
    """Return the outline of the station nearest to the middle of a guide's holes, or None."""
    served = [
        hole.at
        for hole in solution.holes
        if guide.first_hole is not None
        and guide.last_hole is not None
        and guide.first_hole <= hole.number <= guide.last_hole
    ]
    at = (served[0] + served[-1]) / 2 if served else 0.0
    sections = [
        (abs(station.at - at), n, section)
        for n, (station, section) in enumerate(
            zip(solution.job.wedge.stations, solution.section_at, strict=True)
        )
        if section is not None
    ]
    return min(sections, key=lambda row: row[:2])[2] if sections else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """How two feet rest on the outline of a skin.

    Attributes:
        slope: of the line through both, going forward, ratio.
        height: of that line over the skin at the hole, mm.
        bulge: how far the skin stands over that line between the feet, mm.
    """

    slope: float
    height: float
    bulge: float


def rest_on(
    outline: Section, side: Side, line: float, *, aft: Array, fore: Array, slope: float
) -> Rest:
    """Lay two feet on the outline of a skin: each touches where the skin stands highest against it.

    Args:
        outline: of the section.
        side: which skin.
        line: distance of the hole line forward of the trailing edge, mm.
        aft: places of the aft foot forward of the hole, mm, rising.
        fore: the same of the forward foot.
        slope: of the skin at the hole, to begin with, ratio.

    Source: derived; the two are found turn about.
    """
    mouth = outline.height(side, line)

    def heights(places: Array) -> Array:
        return np.array([outline.height(side, line + u) - mouth for u in places])

    back, front = heights(aft), heights(fore)
    for _ in range(50):
        i = int((back - slope * aft).argmax())
        j = int((front - slope * fore).argmax())
        new = float((front[j] - back[i]) / (fore[j] - aft[i]))
        if abs(new - slope) < 1e-12:
            break
        slope = new
    height = float(back[i] - slope * aft[i])
    between = np.linspace(aft[-1], fore[0], 100)
    bulge = float((heights(between) - slope * between).max()) - height
    return Rest(slope=slope, height=height, bulge=bulge)


def _allowed(solution: Solution, guide: GuideResult) -> tuple[float, float]:
    """Return the least angle error that the guide's holes allow, and what it leaves, radians."""
    allow = solution.job.allow
    first, last = guide.first_hole, guide.last_hole
    if first is None or last is None:
        return allow.angle, left_over(allow.angle, guide.worst_angle_error)
    served = [h for h in solution.holes if h.drill_now and first <= h.number <= last]
    allowed = [
        allow.angle if h.thickness is None else math.atan2(solution.drift, h.thickness)
        for h in served
    ]
    left = [
        left_over(error, abs(math.pi / 2 - h.angles.skin(guide.side) - guide.angle))
        for error, h in zip(allowed, served, strict=True)
    ]
    return min(allowed, default=allow.angle), min(left, default=allow.angle)
