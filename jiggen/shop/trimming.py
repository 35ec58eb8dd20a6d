"""From a job's stock to its trim plan.

May the stock be turned end for end? Turned, its face A lies on side B and its far end at the start.
So only a prismatic wedge whose two sides are alike may be; where the job does not say, such a wedge
is tried both ways, and the plan says so.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from jiggen.geometry.shifts import closest_shift, placements, reach, short_of_trim
from jiggen.geometry.trim import Part, RoundHole, Stock, TrimPlan
from jiggen.geometry.wedge import Wedge
from jiggen.job import sections
from jiggen.job.sections import Job
from jiggen.shop.spacing import edge_rule

#: Radians. Skin angles that differ by less are alike: half of what a taper gauge shows.
SAME_ANGLE = math.radians(0.05)
#: mm. Rear thicknesses that differ by less are alike: what a rule cannot show.
SAME_REAR = 0.05


def trim_plan(job: Job, given: sections.Stock, wedge: Wedge, depth: float | None) -> TrimPlan:
    """Return how the stock may lie under the skins, the best way first.

    Args:
        job: what was asked.
        given: its stock.
        wedge: the wedge at its stations.
        depth: from the trailing edge to the front of the wedge, mm, or None.
    """
    stock, part = _stock(given), _part(job, given, depth)
    turn, turning, refused = _turning(given, wedge)
    unknown = ""
    if stock.holes and not job.holes:
        unknown = "the skins' holes decide where the drilled stock may lie: state [holes]"
    found = [] if unknown else placements(stock, part, given.match, turn=turn)
    closest, short = None, None
    within = reach(stock, part)
    if not found and not unknown and within is not None:
        short = short_of_trim(stock, part, given.match, within, turn=turn)
        closest = closest_shift(stock.holes, part.wanted, given.match, within)
    return TrimPlan(
        stock=stock,
        part=part,
        match=given.match,
        placements=tuple(found),
        closest=closest,
        short=short,
        turning=turning,
        turn_refused=refused,
        unknown=unknown,
    )


def _stock(given: sections.Stock) -> Stock:
    return Stock(
        length=given.length,
        holes=given.positions,
        lightening=tuple(
            RoundHole(at=hole.at, diameter=hole.diameter, line=hole.line)
            for hole in given.lightening
        ),
    )


def _part(job: Job, given: sections.Stock, depth: float | None) -> Part:
    holes, rule = job.holes, edge_rule(job)
    return Part(
        trim=given.trim,
        angles=given.end_angles,
        fairing=given.fairing,
        # Holes that are kept out count as well: they are in the skins all the same.
        holes=() if holes is None else holes.positions,
        line=0.0 if holes is None else holes.line,
        drill=0.0 if holes is None else holes.drill,
        depth=depth,
        rivet=rule.rivet,
        least=rule.least,
        usual=rule.usual,
    )


def _turning(given: sections.Stock, wedge: Wedge) -> tuple[bool, str, bool]:
    """Return whether to try the stock end for end, why, and whether the wedge forbids it."""
    if given.turn is False:
        return False, "the stock is not turned end for end, as the job asks", False
    against = _against_turning(wedge)
    if against and given.turn:
        return False, f"the job lets the stock be turned, but {against}", True
    if against:
        return False, against, False
    if given.turn:
        return True, "the stock was tried both ways round", False
    return (
        True,
        "the job does not say whether the stock may be turned end for end; the wedge is the same "
        "from end to end and its sides are alike, so it was tried both ways round: state "
        "stock.turn",
        False,
    )


def _against_turning(wedge: Wedge) -> str:
    """Return why the wedge may not be turned end for end; empty if it may."""
    stations = wedge.stations
    columns: tuple[tuple[Sequence[float | None], float], ...] = (
        ([s.angle_a for s in stations], SAME_ANGLE),
        ([s.angle_b for s in stations], SAME_ANGLE),
        ([s.rear_a for s in stations], SAME_REAR),
        ([s.rear_b for s in stations], SAME_REAR),
    )
    for values, alike in columns:
        known = [value for value in values if value is not None]
        if known and max(known) - min(known) > alike:
            return "a tapered wedge may not be turned end for end: its angles differ along it"
    for station in stations:
        rears = (station.rear_a or 0.0) - (station.rear_b or 0.0)
        if abs(station.angle_a - station.angle_b) > SAME_ANGLE or abs(rears) > SAME_REAR:
            return (
                "the wedge may not be turned end for end: its sides differ, and turned, the face "
                "of side A would lie on side B"
            )
    return ""
