"""The guide set as pieces need it: twins joined, with what the holes leave for cutting.

Side A's and side B's guide may be the same piece turned over; then it is made once and says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from jiggen.drawing.labels import BAND
from jiggen.geometry.guideset import left_over
from jiggen.geometry.section import Section
from jiggen.jigs.corner import GuideSizes
from jiggen.jigs.profile import BlockSizes
from jiggen.job.sections import Job, Strip
from jiggen.solution import GuideResult, Solution
from jiggen.units import INCH

#: mm. How far a bit must come out of the wedge to have drilled through, chips and all.
BREAK_THROUGH = 6.0
#: mm. Length of a block along x.
BLOCK_LENGTH = 80.0
#: Letters of a side's name that small pieces have room for, beside the other side's too.
SIDE_MOST = 12


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
    def mirrored(self) -> bool:
        """Return whether the piece is drawn with forward to the left."""
        return self.side == "b"


def stands(solution: Solution) -> tuple[Stand, ...]:
    """Return the guide set with twins joined.

    Args:
        solution: the solved job.

    Returns:
        Side A's in order, each joined with side B's of the same shape, then side B's others.
    """
    twins = {a.name: (a, b) for a, b in solution.twins}
    joined = {b.name for _, b in twins.values()}
    left = [g for g in solution.guides if g.side == "b" and g.name not in joined]
    found: list[Stand] = []
    for guide in (g for g in solution.guides if g.side == "a"):
        if both := twins.get(guide.name):
            found.append(
                Stand(
                    label=guide.name[1:],
                    side="ab",
                    guides=both,
                    allowed=min(_allowed(solution, g)[0] for g in both),
                    margin=min(_allowed(solution, g)[1] for g in both),
                )
            )
        else:
            found.append(_single(solution, guide))
    return (*found, *(_single(solution, guide) for guide in left))


def hole_1_left(job: Job) -> bool:
    """Return whether hole 1 lies at the left hand of who stands at the trailing edge, side A up.

    Jigs are drawn for a part with hole 1 at the right hand; on the other kind their faces change
    places, and a lean along the edge changes its sign.

    Args:
        job: what was asked; its `[strip]` says at which hand the zero end lies.
    """
    strip = job.strip or Strip()
    return strip.zero == ("left" if strip.side == "a" else "right")


def edge_ends(job: Job) -> tuple[str, str]:
    """Return what the right end of the edge is called, side A up, and what the left one is.

    Args:
        job: what was asked.

    Returns:
        ``hole 1`` and ``the last hole``, or the other way round: see `hole_1_left`.
    """
    return ("the last hole", "hole 1") if hole_1_left(job) else ("hole 1", "the last hole")


def sliver(solution: Solution, stand: Stand) -> float:
    """Return how wide a sliver of the witness band still passes, mm.

    Half of what the holes leave is left to each of the two check edges. Never the whole band: it
    would look like a cut that was not made.
    """
    return min(solution.job.guide.edge * math.tan(stand.margin / 2), 0.75 * BAND)


def blocks_stand(solution: Solution) -> bool:
    """Return whether a flat-based block stands still on both skins."""
    return not any(is_curved(solution, side) for side in ("a", "b"))


def bit_reach(solution: Solution, beside: float) -> float | None:
    """Return how far the bit must stand out of the chuck, mm, rounded up to 5 mm or 1/4 in.

    Args:
        solution: the solved job.
        beside: height of the jig that it runs beside or through, mm.
    """
    grips = [h.grip if h.grip is not None else h.thickness for h in solution.holes]
    known = [g for g in grips if g is not None]
    if not known:
        return None
    step = INCH / 4 if solution.job.units == "in" else 5.0
    return step * math.ceil((beside + max(known) + BREAK_THROUGH) / step - 1e-9)


def holes_text(solution: Solution, guide: GuideResult) -> str:
    """Return the range of holes that a guide serves, in words."""
    if guide.first_hole is None or guide.last_hole is None:
        return "all stations" if len(solution.stations) == 1 else f"station {guide.name[1:]}"
    if guide.first_hole == guide.last_hole:
        return f"hole {guide.first_hole}"
    return f"holes {guide.first_hole}-{guide.last_hole}"


def short_sides(sides: tuple[str, str]) -> tuple[str, str]:
    """Return what side A and side B are called on a piece with little room.

    Where either name is too long both are called by their letters: the cover says which is which.

    Args:
        sides: the job's names of side A and side B.
    """
    return sides if max(map(len, sides)) <= SIDE_MOST else ("side A", "side B")


def smallest_pitch(solution: Solution) -> float | None:
    """Return the smallest distance between neighbouring holes, mm, or None."""
    job = solution.job
    if job.holes is None or len(job.holes.positions) < 2:
        return None
    p = job.holes.positions
    return min(b - a for a, b in pairwise(p))


def say_at_most(mm: float, units: str) -> str:
    """Return a limit for a label, rounded down: one decimal of a mm, three of an inch.

    Args:
        mm: the limit.
        units: the job's, ``mm`` or ``in``.
    """
    one, step, places = (1.0, 10, 1) if units == "mm" else (25.4, 1000, 3)
    return f"{math.floor(mm / one * step + 1e-9) / step:.{places}f} {units}"


def say_short(mm: float, units: str) -> str:
    """Return a length for a label: one decimal of a mm, two of an inch."""
    return f"{mm:.1f} mm".replace(".0 mm", " mm") if units == "mm" else f"{mm / 25.4:.2f} in"


def guide_sizes(solution: Solution) -> GuideSizes:
    """Return the sizes of the job's guides, mm."""
    g, cut = solution.job.guide, solution.job.cut
    return GuideSizes(
        foot=g.foot,
        edge=g.edge,
        height=g.height,
        pin=g.pin,
        chuck=g.chuck,
        relief=g.relief,
        stock=cut.sheet,
        layers=g.layers,
    )


def block_sizes(solution: Solution) -> BlockSizes:
    """Return the sizes of the job's blocks, mm; the job must have holes."""
    job = solution.job
    assert job.holes is not None
    b = job.block
    return BlockSizes(
        bore=job.holes.drill if b.bore is None else b.bore,
        inside=b.inside,
        height=b.height,
        length=BLOCK_LENGTH,
        dowel=b.dowel,
        fit=b.fit,
        stock=job.cut.sheet,
        pin=job.guide.pin,
    )


def is_curved(solution: Solution, side: str) -> bool:
    """Return whether a skin bends more over its fitted part than a straight base bears."""
    return solution.is_curved(side)


def section_near(solution: Solution, guide: GuideResult) -> Section | None:
    """Return the outline nearest to the middle of a guide's holes, or None."""
    numbers = (guide.first_hole, guide.last_hole)
    at = [h.at for h in solution.holes if h.number in numbers]
    return section_at(solution, sum(at) / len(at) if at else 0.0)


def section_at(solution: Solution, at: float) -> Section | None:
    """Return the outline of the station nearest to `at` (mm along the span), or None."""
    sections = [
        (station.at, section)
        for station, section in zip(solution.job.wedge.stations, solution.section_at, strict=True)
        if section is not None
    ]
    if not sections:
        return None
    return min(sections, key=lambda pair: abs(pair[0] - at))[1]


def _single(solution: Solution, guide: GuideResult) -> Stand:
    allowed, margin = _allowed(solution, guide)
    return Stand(label=guide.name, side=guide.side, guides=(guide,), allowed=allowed, margin=margin)


def _allowed(solution: Solution, guide: GuideResult) -> tuple[float, float]:
    """Return the least angle error that the guide's holes allow, and what it leaves, radians."""
    allow = solution.job.allow
    first, last = guide.first_hole, guide.last_hole
    if first is None or last is None:
        return allow.angle, left_over(allow.angle, guide.worst_angle_error)
    served = [h for h in solution.holes if h.drill_now and first <= h.number <= last]
    allowed = [
        allow.angle if h.thickness is None else math.atan2(allow.drift, h.thickness) for h in served
    ]
    left = [
        left_over(error, abs(math.pi / 2 - h.angles.skin(guide.side) - guide.angle))
        for error, h in zip(allowed, served, strict=True)
    ]
    return min(allowed, default=allow.angle), min(left, default=allow.angle)
