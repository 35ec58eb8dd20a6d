"""Which cradles a job needs: the fewest that hold every hole's chord plane level enough.

On a tapered wedge the skin angle changes along the edge, and the lying face is twisted a little:
under one cradle it has several skin angles at once. So a cradle is not placed at a hole but at a
stand, the run of holes that it serves without being moved, and must suit all of the face that
lies on it. Stands whose seats have an angle in common share a cradle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from jiggen.errors import DoesNotFit
from jiggen.geometry.frame import Side
from jiggen.geometry.guideset import guide_set
from jiggen.geometry.seat import left_by_lean, off_level, seated_angle
from jiggen.jigs.cradle import CradleSizes, seat_depth
from jiggen.jigs.cradle_seat import (
    CUT_SHARE,
    Slopes,
    hundredths,
    least_error,
    seat_range,
    suits,
)
from jiggen.jigs.stand import is_curved
from jiggen.job import sections
from jiggen.job.schema import keys_of
from jiggen.job.sections import Holes
from jiggen.solution import SAME_SHAPE, Solution
from jiggen.units import or_more, size, words

#: The skin that lies down: side B first, since side A is drilled and sunk first.
SIDES: tuple[Side, Side] = ("b", "a")
#: mm. Pitches that differ by less are even: well inside the slot's own spare.
EVEN = 0.1
#: Places along a stand at which the lying face is looked at.
LOOKS = 9


#: Radians. The most that a cradle may be allowed to hold the chord plane off level.
ERROR_MOST = keys_of(sections.Cradle)["error"].limits.at_most or 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cradle:
    """One cradle of the set, before it has a shape.

    Attributes:
        side: the skin that lies down; ``ab`` where it suits both.
        number: its number on its side, from 1.
        seat: angle of the seat, radians.
        stands: first and last hole of each place where it stands, hole numbers.
        worst: largest angle between chord plane and table anywhere on it, radians.
        lean: largest slope of the lying face along the edge, radians; None where not known.
        margin: what is left of the allowed error for cutting, radians of seat angle.
        upper: least height of the upper face at the hole line above the seat's aft end, mm.
    """

    side: str
    number: int
    seat: float
    stands: tuple[tuple[int, int], ...]
    worst: float
    lean: float | None
    margin: float
    upper: float

    @property
    def label(self) -> str:
        """Return its short name, ``b1``; ``1`` where it serves both sides."""
        return str(self.number) if self.side == "ab" else f"{self.side}{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stand:
    """A place where a cradle stands: the holes served there, and what lies on it."""

    first: int
    last: int
    slopes: Slopes
    known: bool
    upper: float


def cradles(solution: Solution) -> tuple[Cradle, ...]:
    """Return the fewest cradles for both faces, those that suit both only once.

    Args:
        solution: the solved job.

    Returns:
        Those on which side B lies down first, since side A is drilled and sunk first; a face
        that lies level on the bare table needs none.

    Raises:
        DoesNotFit: see `cradle_pieces`.
    """
    asked, holes = solution.job.cradle or sections.Cradle(), hole_line(solution)
    for side in SIDES:
        _refuse_curved(solution, side)
    down = _lying_down(solution, asked, holes)
    _refuse_twist(solution, down, asked, holes)
    on_b, on_a = (_set(side, down[side], asked.error) for side in SIDES)
    if len(on_a) == len(on_b) and all(_alike(a, b) for a, b in zip(on_a, on_b, strict=True)):
        return tuple(
            replace(
                b,
                side="ab",
                worst=max(a.worst, b.worst),
                margin=min(a.margin, b.margin),
                upper=min(a.upper, b.upper),
            )
            for a, b in zip(on_a, on_b, strict=True)
        )
    return (*on_b, *on_a)


def enough_error(solution: Solution) -> float:
    """Return the least `cradle.error` with which the job's cradles hold the wedge, radians.

    Args:
        solution: the solved job; flat skins.
    """
    asked, holes = solution.job.cradle or sections.Cradle(), hole_line(solution)
    return hundredths(least_error(_faces(_lying_down(solution, asked, holes))))


def common_sizes(solution: Solution, asked: sections.Cradle, holes: Holes) -> CradleSizes:
    """Return the sizes that all cradles of a job have in common, with a level seat.

    Args:
        solution: the solved job.
        asked: what the job asks for.
        holes: its holes.

    Raises:
        DoesNotFit: a stop that is smaller than the rivet's head.
    """
    positions = holes.positions
    count = min(asked.holes, len(positions))
    reaches = [b - a for a, b in zip(positions, positions[count - 1 :], strict=False)]
    gaps = [b - a for a, b in pairwise(positions)]
    even = bool(gaps) and max(gaps) - min(gaps) <= EVEN
    stop = asked.stop
    head = None if solution.job.rivet is None else solution.job.rivet.head
    if head is not None and stop < head:
        raise DoesNotFit(
            "the countersink's stop is given smaller than the rivet's head",
            key="cradle.stop",
            given=size(stop),
            remedy=words(
                "{head} or more: the diameter of what turns above the wedge", head=or_more(head)
            ),
        )
    return CradleSizes(
        seat=0.0,
        line=holes.line,
        holes=count,
        reach=max(reaches),
        pitch=sum(gaps) / len(gaps) if even else None,
        depth=seat_depth(holes.line, solution.job.wedge.depth),
        height=asked.height,
        fence=asked.fence,
        low=asked.fence,
        drill=holes.drill,
        stop=stop,
        sheet=solution.job.cut.sheet,
        fit=asked.fit,
        dowel=solution.job.block.dowel,
    )


def hole_line(solution: Solution) -> Holes:
    """Return the holes of a job.

    Args:
        solution: the solved job.

    Raises:
        DoesNotFit: the job has none.
    """
    holes = solution.job.holes
    if holes is None:
        raise DoesNotFit(
            "a cradle has a slot under the hole line, and the job has no holes",
            key="holes",
            remedy="state [holes] with drill, line, first, pitch and count",
        )
    return holes


def lying(solution: Solution, side: str) -> str:
    """Return what the skin that lies down is called, or both.

    Args:
        solution: the solved job.
        side: ``a``, ``b`` or ``ab``.
    """
    sides = solution.job.sides
    return {"a": sides[0], "b": sides[1], "ab": f"{sides[0]} or {sides[1]}"}[side]


def _refuse_curved(solution: Solution, side: Side) -> None:
    if is_curved(solution, side):
        raise DoesNotFit(
            f"the {lying(solution, side)} skin is curved and rocks on a straight seat",
            key="cradle",
            given="an outline whose faces bend",
            remedy="leave out [cradle], or shim the wedge level and check it with a level",
        )


def _set(side: Side, stands: list[_Stand], error: float) -> tuple[Cradle, ...]:
    """Return the cradles on which `side` lies down."""
    # Level on the bare table: a cradle would only be one more thing to go wrong.
    if all(
        off_level(*slope, 0.0) <= (1 - CUT_SHARE) * error
        for stand in stands
        for slope in stand.slopes
    ):
        return ()
    accepted = [seat_range(stand.slopes, error) or (0.0, 0.0) for stand in stands]
    runs = guide_set(
        [(low + high) / 2 for low, high in accepted],
        [(high - low) / 2 for low, high in accepted],
        np.full(len(stands), math.nan),
    )
    return tuple(
        _cradle(side, number, run.angle, stands[run.first : run.last + 1], error)
        for number, run in enumerate(runs, start=1)
    )


def _groups(solution: Solution, most: int) -> list[tuple[int, int]]:
    """Return the holes of each stand as first and last index: neighbours, `most` at a time."""
    drilled = {hole.number - 1 for hole in solution.holes if hole.drill_now}
    count = len(solution.holes)
    size = min(most, count)
    starts = [min(start, count - size) for start in range(0, count, size)]
    return [
        (start, start + size - 1) for start in starts if drilled & set(range(start, start + size))
    ]


def _stand(
    solution: Solution, side: Side, group: tuple[int, int], asked: sections.Cradle, holes: Holes
) -> _Stand:
    """Return a stand with all of the face that lies on it."""
    end = common_sizes(solution, asked, holes).end
    y0, y1 = (holes.positions[k] for k in group)
    faces = solution.wedge.faces_at(np.linspace(y0 - end, y1 + end, LOOKS).tolist(), holes.line)
    along = faces.slope_y_a if side == "a" else faces.slope_y_b
    slope = faces.slope_a if side == "a" else faces.slope_b
    rise = np.nan_to_num(faces.rear) + holes.line * np.maximum(
        faces.slope_b if side == "a" else faces.slope_a, 0.0
    )
    slopes = tuple(zip(slope.tolist(), np.nan_to_num(along).tolist(), strict=True))
    numbers = [h.number for h in solution.holes[group[0] : group[1] + 1] if h.drill_now]
    return _Stand(
        first=numbers[0],
        last=numbers[-1],
        slopes=slopes,
        known=bool(np.isfinite(along).all()),
        upper=float(rise.min()),
    )


def _lying_down(
    solution: Solution, asked: sections.Cradle, holes: Holes
) -> dict[Side, list[_Stand]]:
    """Return the stands of either face."""
    groups = _groups(solution, asked.holes)
    return {side: [_stand(solution, side, one, asked, holes) for one in groups] for side in SIDES}


def _faces(down: dict[Side, list[_Stand]]) -> list[Slopes]:
    return [stand.slopes for side in SIDES for stand in down[side]]


def _refuse_twist(
    solution: Solution, down: dict[Side, list[_Stand]], asked: sections.Cradle, holes: Holes
) -> None:
    """Refuse a face that leans, or changes under one cradle, so much that no seat suits it."""
    faces = _faces(down)
    if all(suits(slopes, asked.error) for slopes in faces):
        return
    lean, side = max(
        (max(abs(math.atan(along)) for _, along in stand.slopes), side)
        for side in SIDES
        for stand in down[side]
    )
    leans = lean > (1 - CUT_SHARE) * asked.error
    change, changing = max(
        (max(seats) - min(seats), side)
        for side in SIDES
        for stand in down[side]
        for seats in [[seated_angle(*slope) for slope in stand.slopes]]
    )
    problem = (
        f"the {lying(solution, side)} skin leans {math.degrees(lean):.2f} deg along the edge, "
        "more than a seat that is level along the edge may leave"
        if leans
        else f"under one cradle the {lying(solution, changing)} skin angle changes by "
        f"{math.degrees(change):.2f} deg"
    )
    enough, fewer = least_error(faces), _fewer(solution, asked, holes)
    most = hundredths(enough) <= ERROR_MOST
    ways = [
        *([f"{fewer} hole{'s' if fewer > 1 else ''}"] if fewer else []),
        *([f"a cradle.error of {enough / 100:.2f} deg"] if most else []),
        *(["shim one end of the wedge" if leans else "leave out [cradle]"] if not most else []),
    ]
    raise DoesNotFit(
        problem,
        key="cradle.holes" if fewer else "cradle.error",
        given=str(asked.holes)
        if fewer
        else f"{math.degrees(asked.error):g} deg, of which two thirds are for the wedge",
        remedy=", or ".join(ways),
    )


def _fewer(solution: Solution, asked: sections.Cradle, holes: Holes) -> int:
    """Return the most holes at a time, fewer than were asked for, that a seat suits; 0 for none."""
    for count in range(min(asked.holes, len(holes.positions)) - 1, 0, -1):
        down = _lying_down(solution, replace(asked, holes=count), holes)
        if all(suits(slopes, asked.error) for slopes in _faces(down)):
            return count
    return 0


def _cradle(side: Side, number: int, seat: float, stands: list[_Stand], error: float) -> Cradle:
    slopes = [slope for stand in stands for slope in stand.slopes]
    return Cradle(
        side=side,
        number=number,
        seat=seat,
        stands=tuple((stand.first, stand.last) for stand in stands),
        worst=max(off_level(*slope, seat) for slope in slopes),
        lean=max(math.atan(abs(s)) for _, s in slopes) if all(s.known for s in stands) else None,
        margin=min(
            (left_by_lean(s, error) or 0.0) - abs(seated_angle(x, s) - seat) for x, s in slopes
        ),
        upper=min(stand.upper for stand in stands),
    )


def _alike(one: Cradle, other: Cradle) -> bool:
    return abs(one.seat - other.seat) <= SAME_SHAPE and one.stands == other.stands
