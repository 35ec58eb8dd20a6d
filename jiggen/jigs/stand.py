"""What stands on the wedge, as jigs need it: the guide set, the skin under it, the bit beside it.

Side A's and side B's guide may be the same piece turned over; then it is made once and says so. A
base lies on the skin as the skin is there, under the first of its holes and under the last.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing.piece import Piece
from jiggen.errors import DoesNotFit, Sentence
from jiggen.facts.drills import jobber
from jiggen.geometry import drill as bit
from jiggen.geometry.frame import Array, Side
from jiggen.geometry.guideset import left_over
from jiggen.job.sections import Holes, Job
from jiggen.solution import SAME_SHAPE, GuideResult, Solution
from jiggen.units import Length, or_more, words

#: mm. Where a job has no holes yet: their line, the bit, and what it goes through.
USUAL_LINE, USUAL_BIT, USUAL_STACK = 10.0, 2.5, 10.0


#: Share by which one end of a row is thicker than the other, to be told apart by eye.
SEEN = 0.05
#: Most holes that are named where some wait.
WAITING = 6


class Stand(Struct, frozen=True, kw_only=True):
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

    def led(self, piece: Piece, forward: float, margin: float) -> Piece:
        """Return a piece as one that leads the bit at `forward` degrees, `margin` radians off."""
        return replace(
            piece,
            side=self.side,
            leads=forward,
            serves=self.serves,
            allowed_angle=math.degrees(margin),
        )


def stands(solution: Solution) -> tuple[Stand, ...]:
    """Return the guide set: side A's, each joined with its twin of side B, then side B's others."""
    twins = {a.name: (a, b) for a, b in solution.twins}
    joined = {b.name for _, b in twins.values()}
    found: list[Stand] = []
    for guide in sorted(solution.guides, key=lambda g: g.side):
        if guide.name in joined:
            continue
        guides = twins.get(guide.name, (guide,))
        some = [_allowed(solution, g) for g in guides]
        found.append(
            Stand(
                label=guide.name if len(guides) == 1 else guide.name[1:],
                side="".join(g.side for g in guides),
                guides=guides,
                allowed=min(allowed for allowed, _ in some),
                margin=min(margin for _, margin in some),
            )
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
        numbers = [str(n + 1) for n in _stations(solution, guide)]
        some = "station" if len(numbers) == 1 else "stations"
        return "" if len(solution.stations) == 1 else f"{some} {', '.join(numbers)}"
    return hole_range(guide.first_hole, guide.last_hole)


def hole_range(first: int, last: int) -> str:
    """Return a range of holes in words."""
    return f"hole {first}" if first == last else f"holes {first}-{last}"


def _stations(solution: Solution, guide: GuideResult) -> list[int]:
    """Return the indices of the stations that a guide serves in a job without holes."""
    off = [abs(math.pi / 2 - s.skin(guide.side) - guide.angle) for s in solution.stations]
    return [n for n, away in enumerate(off) if away <= min(off) + SAME_SHAPE]


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


def climb(solution: Solution, guide: GuideResult) -> float:
    """Return the rise of the skin along the row under the middle of a guide's holes, ratio.

    Positive toward the next hole on a part with hole 1 at the right hand, as jigs are drawn, toward
    the hole before on the other kind; 0 where it is unknown.
    """
    first, last = guide.first_hole, guide.last_hole
    served = (
        solution.stations
        if first is None or last is None
        else [hole.angles for hole in solution.holes[first - 1 : last]]
    )
    middle = served[len(served) // 2]
    rise = (middle.slope_y_a if guide.side == "a" else middle.slope_y_b) or 0.0
    return -rise if hole_1_left(solution.job) else rise


def side_letters(names: Sequence[str]) -> dict[str, str]:
    """Return what sides are called in one letter: how they begin, or A and B.

    These where both begin alike, or with a letter that beside a number is taken for a figure.
    """
    initials = [name[:1].upper() for name in names]
    plain = initials[0] != initials[1] and all(c.isalpha() and c not in "IO" for c in initials)
    return dict(zip("ab", initials if plain else "AB", strict=True))


def needed_holes(
    job: Job, problem: str, remedy: str = "state [holes] with drill, line, first, pitch and count"
) -> Holes:
    """Return the line of holes of a job; refuse a jig that has none to work at."""
    if job.holes is None:
        raise DoesNotFit(problem, key="holes", remedy=remedy)
    return job.holes


def forward_angle(slope: float) -> float:
    """Return the forward corner between a skin of that slope and the drill axis, degrees."""
    return 90.0 - math.degrees(math.atan(slope))


def smallest_pitch(solution: Solution) -> float | None:
    """Return the smallest distance between neighbouring holes, mm, or None."""
    job = solution.job
    if job.holes is None or len(job.holes.positions) < 2:
        return None
    return min(b - a for a, b in pairwise(job.holes.positions))


# --- the skin under a jig


class Rest(Struct, frozen=True, kw_only=True):
    """How two feet rest on the skin under the holes that a guide serves.

    Attributes:
        slope: of the line through both, going forward, ratio; the mean over these holes.
        height: of that line over the skin at the hole, mm; the same.
        bulge: how far the skin stands over that line between the feet, mm; the most of them.
        beyond: the same forward of the feet, as far as was asked, mm.
        spread: how far the line turns off that mean at the hole that it fits least, radians, over
            and above what the skin angles tell.
    """

    slope: float
    height: float
    bulge: float
    beyond: float
    spread: float


def rest_on_skin(
    solution: Solution,
    guide: GuideResult,
    *,
    aft: Array,
    fore: Array,
    slope: float,
    out: float,
    square: tuple[float, float] = (0.0, 0.0),
) -> Rest | None:
    """Lay two feet on the outline under a guide's first and last hole, as one stiff base.

    Args:
        solution: the solved job.
        guide: what stands there.
        aft: places of the aft foot forward of the hole, mm, rising.
        fore: the same of the forward foot.
        slope: of the skin at the hole, to begin with, ratio.
        out: how far forward of the hole the skin is looked at, mm.
        square: where the aft foot is cut square to the axis, aft and forward of its first place,
            mm: the highest skin under it carries that place.

    Returns:
        How it rests, or None where no section is known by its outline: its skins are straight.

    Source: derived: each foot touches where the skin stands highest against it, the two are found
        turn about; between stations the skin runs straight from outline to outline.
    """
    if not any(solution.section_at):
        return None
    found, bends = [], []
    for at in _ends(solution, guide):
        rest = _rest(_skin(solution, guide.side, at), aft, fore, slope, out, square)
        found.append(rest)
        bends.append(math.atan(rest.slope) - solution.skin_at(at, guide.side))
    bend = (min(bends) + max(bends)) / 2
    return Rest(
        slope=math.tan(math.pi / 2 - guide.angle + bend),
        height=sum(rest.height for rest in found) / len(found),
        bulge=max(rest.bulge for rest in found),
        beyond=max(rest.beyond for rest in found),
        spread=(max(bends) - min(bends)) / 2,
    )


def _ends(solution: Solution, guide: GuideResult) -> list[float]:
    """Return the places of the first and last hole that a guide serves, or of its stations."""
    if guide.first_hole is None or guide.last_hole is None:
        return [solution.stations[n].at for n in _stations(solution, guide)]
    served = [solution.holes[n - 1].at for n in (guide.first_hole, guide.last_hole)]
    return sorted(set(served))


def _skin(solution: Solution, side: Side, at: float) -> Callable[[Array], Array]:
    """Return what gives the skin's height over the mouth of a hole by the distance forward of it.

    All in mm. A station known otherwise than by an outline has a straight skin.
    """
    line = hole_line(solution.job)
    known = list(zip(solution.section_at, solution.stations, strict=True))
    share = float(np.interp(at, [s.at for _, s in known], np.arange(len(known), dtype=float)))
    low = min(int(share), len(known) - 1)
    ends = known[low : low + 2]

    def over_mouth(u: Array) -> Array:
        rows = [
            u * math.tan(station.skin(side))
            if section is None
            else section.heights(side, line + u) - section.height(side, line)
            for section, station in ends
        ]
        return np.asarray(rows[0] + (share - low) * (rows[-1] - rows[0]))

    return over_mouth


def _rest(
    skin: Callable[[Array], Array],
    aft: Array,
    fore: Array,
    slope: float,
    out: float,
    square: tuple[float, float],
) -> Rest:
    """Lay two feet on a skin."""
    back, front = skin(aft), skin(fore)
    back[0] = skin(aft[0] + np.linspace(*square, 25)).max()
    for _ in range(50):
        i, j = int((back - slope * aft).argmax()), int((front - slope * fore).argmax())
        new = float((front[j] - back[i]) / (fore[j] - aft[i]))
        if abs(new - slope) < 1e-12:
            break
        slope = new
    height = float(back[i] - slope * aft[i])

    def over(start: float, end: float) -> float:
        between = np.linspace(start, end, 100)
        return float((skin(between) - slope * between).max()) - height

    return Rest(
        slope=slope,
        height=height,
        bulge=over(aft[-1], fore[0]),
        beyond=over(fore[-1], max(out, fore[-1])),
        spread=0.0,
    )


# --- the solid wedge and the bit


def waiting(solution: Solution) -> str:
    """Return the numbers of the holes that are drilled later; empty where there are none."""
    wait = [hole.number for hole in solution.holes if not hole.drill_now]
    return ", ".join(map(str, wait[:WAITING])) + (" …" if len(wait) > WAITING else "")


def solid_depth(solution: Solution) -> float:
    """Return the depth of the solid wedge, mm.

    Raises:
        DoesNotFit: the job does not tell it.
    """
    if solution.job.wedge.depth is not None:
        return solution.job.wedge.depth
    faces = solution.wedge.faces_at([station.at for station in solution.stations])
    known = faces.depth[np.isfinite(faces.depth)]
    if known.size:
        return float(known.min())
    raise DoesNotFit(
        "jigs stand on the solid wedge, and the job does not say how deep it is",
        key="wedge.depth",
        remedy="state wedge.depth, from the trailing edge to the wedge's front",
    )


def hole_line(job: Job) -> float:
    """Return how far the line of holes lies forward of the trailing edge, mm."""
    return job.holes.line if job.holes else USUAL_LINE


def bit_size(job: Job) -> float:
    """Return the diameter of the job's drill, mm."""
    return job.holes.drill if job.holes else USUAL_BIT


def inch_drill(job: Job) -> bool:
    """Return whether the job's drill is of an inch size."""
    name = job.holes.drill_name if job.holes else ""
    return not name.endswith("mm") and (job.units == "in" or "#" in name)


def drill_length(job: Job) -> tuple[float, float, str]:
    """Return length and grip of the job's drill, mm, and where they come from.

    Raises:
        DoesNotFit: a size that no table has, and no length is stated.
    """
    asked = job.drill
    size = bit_size(job)
    found = jobber(size, inch=inch_drill(job))
    if asked.length is not None:
        return asked.length, asked.grip, "the job's own drill"
    if found is None:
        raise DoesNotFit(
            words("no common length is known for a drill of {d}", d=Length(size)),
            key="drill.length",
            remedy="measure the drill over all and state drill.length",
        )
    grip = min(asked.grip, bit.usual_grip(found.overall, found.flutes))
    source = "jobber, read" if found.read else "jobber, from memory"
    return found.overall, grip, source


def drill_needs(solution: Solution) -> float:
    """Return how much of the bit goes into the work, mm."""
    stacks = [h.grip if h.grip is not None else h.thickness for h in solution.holes if h.drill_now]
    known = [stack for stack in stacks if stack is not None]
    return bit.needed(max(known, default=USUAL_STACK), bit_size(solution.job))


def drill_room(solution: Solution) -> float:
    """Return what may stand on the skin beside the bit, mm."""
    length, grip, _ = drill_length(solution.job)
    return bit.room(length, grip, drill_needs(solution))


def chuck_comes_down(solution: Solution, high: float, also: Sentence = "") -> DoesNotFit:
    """Return why a block that stands `high` mm over the skin does not fit under the chuck."""
    length, room = drill_length(solution.job)[0], drill_room(solution)
    return DoesNotFit(
        words(
            "the chuck comes down on the block: it stands {h} high, and {room} may stand there",
            h=Length(high, 1),
            room=Length(max(room, 0.0), 1),
        ),
        key="drill.length",
        given=Length(length, 1),
        remedy=words(
            "a drill of {x} or longer{also}", x=or_more(length + (high - room)), also=also
        ),
    )


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


def thick_end(solution: Solution) -> str:
    """Return at which end hole 1 lies where a tapering row shows it; empty where it does not."""
    ends = [hole.thickness or 0.0 for hole in (*solution.holes[:1], *solution.holes[-1:])]
    if not ends or abs(ends[0] - ends[1]) < SEEN * max(ends):
        return ""
    return f"hole 1 at the {'thick' if ends[0] > ends[1] else 'thin'} end"
