"""From job to solution: stations, holes, guides and shop checks; no paper.

Everything that is wrong with the job's numbers is gathered and raised together, as far as one
fault does not hide the next.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from jiggen.errors import Fault, JobError
from jiggen.geometry import holes as hole_line
from jiggen.geometry.frame import Array, Side
from jiggen.geometry.guideset import allowed_errors, guide_set
from jiggen.geometry.wedge import Faces, Wedge, covers
from jiggen.job.sections import Job
from jiggen.shop.stations import (
    SIDES,
    Complaints,
    Reading,
    limit_sentences,
    read_station,
    worst_limit,
)
from jiggen.solution import QUARTER, AnglesAt, Check, GuideResult, HoleResult, Solution
from jiggen.units import size, words

if TYPE_CHECKING:
    from jiggen.geometry.trim import TrimPlan

__all__ = ["AnglesAt", "Check", "GuideResult", "HoleResult", "Solution", "solve"]

SAME_ANGLE = 1e-9
"""Two stations' guides within this, radians, are one guide."""


def solve(job: Job) -> Solution:
    """Solve a job: the angles, the holes, the guide set and the shop checks.

    Raises:
        JobError: no wedge can have these measurements, or it cannot hold these holes; carries
            every fault found.

    Source: see the functions of `jiggen.geometry`.
    """
    from jiggen.shop.rivet import allowed_drift

    complaints = Complaints(job.file, job.units)
    read = [
        read_station(job.wedge, number, complaints)
        for number in range(1, len(job.wedge.stations) + 1)
    ]
    wedge = _wedge(job, read, complaints)
    depth = _least_depth(job, wedge)
    _check_holes(job, depth, complaints)
    if wedge is None or complaints.faults:
        raise JobError(complaints.faults)
    line = None if job.holes is None else job.holes.line
    stations = _angles(wedge.faces_at([station.at for station in wedge.stations], line))
    found = _hole_results(job, wedge)
    readings = [one for one in read if one is not None]
    drift = allowed_drift(job, found)
    solution = Solution(
        job=job,
        wedge=wedge,
        stations=tuple(stations),
        holes=tuple(found),
        guides=tuple(_guides(job, stations, found, drift)),
        checks=(),
        section_at=tuple(one.section for one in readings),
        limits=tuple(
            sentence
            for number, one in enumerate(readings, start=1)
            for sentence in limit_sentences(job.sides, number, one)
        ),
        drift=drift,
    )
    return _with_shop(solution, readings, depth)


def _with_shop(solution: Solution, readings: Sequence[Reading], depth: float | None) -> Solution:
    """Return the solution with what the shop asks: rivets, trim plan, checks and numbers."""
    from jiggen.shop.checks import Facts, as_sure, shop_checks, shop_numbers
    from jiggen.shop.rivet import (
        flush_trials,
        plan_rivets,
        riveting_checks,
        shop_lines,
        with_rivets,
    )

    job = solution.job
    plan = plan_rivets(job)
    found = with_rivets(job, plan, list(solution.holes))
    trim, of_trim = _trimmed(solution, depth)
    facts = Facts(
        job=job,
        stations=solution.stations,
        holes=found,
        drift=solution.drift,
        allowed=_allowed(job, found, solution.drift),
        readings=readings,
        limiting=worst_limit(job.sides, readings),
    )
    checks = (
        *shop_checks(facts),
        *riveting_checks(job, plan, found, depth, trim, solution.drift),
        *of_trim,
    )
    return replace(
        solution,
        holes=tuple(found),
        checks=as_sure(facts, checks),
        numbers=shop_numbers(facts),
        trim=trim,
        riveting=shop_lines(job, plan, found, sure=not facts.unlined),
        trials=flush_trials(job, plan, found),
    )


def _trimmed(solution: Solution, depth: float | None) -> tuple[TrimPlan | None, tuple[Check, ...]]:
    job = solution.job
    if job.stock is None:
        return None, ()
    from jiggen.shop.trim_checks import trim_checks
    from jiggen.shop.trimming import trim_plan

    plan = trim_plan(job, job.stock, solution.wedge, depth)
    return plan, tuple(trim_checks(job, plan, solution.wedge))


def _wedge(job: Job, read: Sequence[Reading | None], complaints: Complaints) -> Wedge | None:
    stations = tuple(one.station for one in read if one is not None)
    if len(stations) < len(read):
        return None
    with complaints.heard("wedge"):
        return Wedge(stations=stations, extend=job.wedge.extend)
    return None


def _check_holes(job: Job, depth: float | None, complaints: Complaints) -> None:
    given = job.holes
    if given is None:
        return
    with complaints.heard():
        hole_line.check_rear_edge(given.line, given.drill)
    _check_rear_lines(job, given.line, complaints)
    if not job.wedge.extend:
        with complaints.heard():
            covers([station.at for station in job.wedge.stations], given.positions)
    if depth is not None:
        with complaints.heard():
            hole_line.check_depth(given.line, given.drill, depth)


def _check_rear_lines(job: Job, line: float, complaints: Complaints) -> None:
    """Complain of a rear line at or forward of the hole line: nothing was measured aft of it."""
    for number, station in enumerate(job.wedge.stations, start=1):
        if station.rear_at is not None and station.rear_at >= line:
            complaints.faults.append(
                Fault(
                    file=job.file,
                    key=f"wedge.station[{number}].rear_at",
                    problem=words(
                        "puts the rear line at or forward of the hole line ({line})",
                        line=size(line),
                    ),
                    given=size(station.rear_at),
                    remedy="rear_at is the distance from the trailing edge to the rear line",
                    units=job.units,
                    others=("holes.line",),
                )
            )


def _least_depth(job: Job, wedge: Wedge | None) -> float | None:
    """Return the least depth of the wedge at a hole, as stated or as measured, or None."""
    if job.wedge.depth is not None:
        return job.wedge.depth
    if wedge is None or job.holes is None or not job.holes.positions:
        return None
    depth = wedge.faces_at(job.holes.positions).depth
    known = depth[np.isfinite(depth)]
    return float(known.min()) if known.size else None


def _known(values: Array) -> list[float | None]:
    return [value if math.isfinite(value) else None for value in values.tolist()]


def _angles(faces: Faces) -> list[AnglesAt]:
    return [
        AnglesAt(
            at=at,
            skin_a=skin_a,
            skin_b=skin_b,
            slope_y_a=along_a,
            slope_y_b=along_b,
            plus_minus_a=pm_a,
            plus_minus_b=pm_b,
        )
        for at, skin_a, skin_b, along_a, along_b, pm_a, pm_b in zip(
            faces.at.tolist(),
            np.arctan(faces.slope_a).tolist(),
            np.arctan(faces.slope_b).tolist(),
            _known(faces.slope_y_a),
            _known(faces.slope_y_b),
            _known(faces.plus_minus_a),
            _known(faces.plus_minus_b),
            strict=True,
        )
    ]


def _hole_results(job: Job, wedge: Wedge) -> list[HoleResult]:
    holes = job.holes
    if holes is None:
        return []
    faces = wedge.faces_at(holes.positions, holes.line)
    order = len(holes.positions), holes.keep_out, holes.passes
    thick = hole_line.thickness(faces, holes.line)
    columns = zip(
        _angles(faces),
        _known(thick),
        _known(hole_line.grip(thick, faces, None if job.skin is None else job.skin.thickness)),
        _known(hole_line.drift_if_square(thick, faces.slope_a, faces.slope_b)),
        _known(hole_line.drift_if_square(thick, faces.slope_b, faces.slope_a)),
        hole_line.drilling_order(*order),
        hole_line.pin_sides(*order),
        strict=True,
    )
    return [
        HoleResult(
            number=number,
            angles=angles,
            thickness=thickness,
            grip=grip,
            drift_a=drift_a,
            drift_b=drift_b,
            drill_now=order is not None,
            order=order,
            pin=pin,
        )
        for number, (angles, thickness, grip, drift_a, drift_b, order, pin) in enumerate(
            columns, start=1
        )
    ]


def _errors_allowed(job: Job, drilled: Sequence[HoleResult], drift: float) -> tuple[Array, Array]:
    """Return the thickness (NaN where unknown) and the allowed angle error of each hole."""
    thick = np.array([math.nan if h.thickness is None else h.thickness for h in drilled])
    return thick, allowed_errors(thick, drift, job.allow.angle)


def _allowed(job: Job, found: Sequence[HoleResult], drift: float) -> float:
    drilled = [hole for hole in found if hole.drill_now]
    if not drilled:
        return job.allow.angle
    return float(_errors_allowed(job, drilled, drift)[1].min())


def _guides(
    job: Job, stations: Sequence[AnglesAt], found: Sequence[HoleResult], drift: float
) -> list[GuideResult]:
    if not found:
        return [guide for side in SIDES for guide in _station_guides(side, stations)]
    drilled = [hole for hole in found if hole.drill_now]
    if not drilled:
        return []
    thick, allowed = _errors_allowed(job, drilled, drift)
    return [
        GuideResult(
            name=f"{side}{n}",
            side=side,
            angle=QUARTER - guide.angle,
            first_hole=drilled[guide.first].number,
            last_hole=drilled[guide.last].number,
            worst_angle_error=guide.worst_angle_error,
            worst_drift=guide.worst_drift,
        )
        for side in SIDES
        for n, guide in enumerate(
            guide_set([hole.angles.skin(side) for hole in drilled], allowed, thick), start=1
        )
    ]


def _station_guides(side: Side, stations: Sequence[AnglesAt]) -> list[GuideResult]:
    """Return one guide a station, where no holes are known; stations of one angle share theirs."""
    angles: list[float] = []
    for at in stations:
        if all(abs(at.skin(side) - other) > SAME_ANGLE for other in angles):
            angles.append(at.skin(side))
    return [
        GuideResult(
            name=f"{side}{n}",
            side=side,
            angle=QUARTER - angle,
            first_hole=None,
            last_hole=None,
            worst_angle_error=0.0,
            worst_drift=None,
        )
        for n, angle in enumerate(angles, start=1)
    ]
