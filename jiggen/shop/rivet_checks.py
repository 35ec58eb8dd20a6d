"""The shop checks of the rivet: does the drill suit it, how long must it be.

A check whose input is missing says which key it needs; where no published rule was found it says
that, and judges nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from jiggen.facts import rivets
from jiggen.facts.drills import METRIC_SOURCE, next_metric_drill, read_drill
from jiggen.job.sections import Holes, Job
from jiggen.shop.countersink_checks import (
    DEFINITION,
    NEEDS_THICKNESS,
    a_check,
    countersink_checks,
    not_checked,
)
from jiggen.shop.rivet_plan import RivetPlan, lots
from jiggen.shop.rivet_words import call_rivet, say_lot
from jiggen.shop.spacing_checks import spacing_checks
from jiggen.solution import Check, HoleResult
from jiggen.units import say_length

if TYPE_CHECKING:
    from jiggen.geometry.trim import TrimPlan

SAME_HOLE = 0.04
"""Drills within this, mm, are the same hole: half of a step of metric drills."""


def riveting_checks(
    job: Job,
    plan: RivetPlan | None,
    holes: Sequence[HoleResult],
    depth: float | None,
    trim: TrimPlan | None,
) -> tuple[Check, ...]:
    """Return the checks of the rivet, its countersink, and the metal round each hole.

    Args:
        job: what was asked.
        plan: its rivet, or None.
        holes: along the span, with their rivets and countersinks.
        depth: least depth of the wedge at a hole, mm, or None.
        trim: how the stock lies under the skins, or None.

    Source: each check names its own.
    """
    return (*rivet_checks(job, plan, holes, depth), *spacing_checks(job, holes, depth, trim))


def rivet_checks(
    job: Job, plan: RivetPlan | None, holes: Sequence[HoleResult], depth: float | None
) -> list[Check]:
    """Return the checks of rivet and countersink.

    Args:
        job: what was asked.
        plan: its rivet, or None.
        holes: along the span, with their rivets and countersinks.
        depth: least depth of the wedge at a hole, mm, or None.

    Returns:
        The checks; a single one that says what they need where the job has no rivet.

    Source: each check names its own.
    """
    drilled = [hole for hole in holes if hole.drill_now]
    if plan is None or job.holes is None or not drilled:
        why = "drill, length, countersink and land need "
        missing = []
        if plan is None:
            missing.append("the rivet: state rivet.size, or rivet.diameter and rivet.head")
        if job.holes is None or not drilled:
            missing.append("holes that are drilled now: state [holes]")
        return [not_checked("rivet", why + "; ".join(missing), rivets.SOURCE)]
    return [
        _drill(job, plan, job.holes),
        _length(job, plan, drilled),
        *countersink_checks(job, plan, drilled, depth),
    ]


def _drill(job: Job, plan: RivetPlan, holes: Holes) -> Check:
    """Judge whether the drill suits the rivet: by hole limits, else by what is usual."""
    name, drill, diameter = "drill for the rivet", holes.drill, plan.rivet.diameter
    if diameter is None:
        why = "needs the rivet's shank: state rivet.size or rivet.diameter"
        return not_checked(name, why, rivets.USUAL_DRILL_SOURCE)
    called = call_rivet(plan, job.units)
    if drill <= diameter:
        why = f"a {called} does not go into a hole that is no wider than its shank"
        usual = rivets.usual_drills(plan.dash)
        larger = next_metric_drill(diameter + 1e-6)
        if usual or larger is not None:
            why += f"; {usual[0] if usual else f'{larger:g} mm'} is the drill for it"
        return a_check(name, "fail", why, DEFINITION, value=drill, limit=diameter)
    if (limits := rivets.hole_limits(plan.dash)) is not None:
        low, high = (say_length(limit, job.units) for limit in limits)
        good = limits[0] <= drill <= limits[1]
        why = f"a hole for a {called} is {low} to {high} wide"
        why += _usual_words(plan) if good else f"; {holes.drill_name} is outside of that"
        source = f"{rivets.HOLE_LIMIT_SOURCE}; {rivets.USUAL_DRILL_SOURCE}"
        nearer = limits[0] if drill < limits[0] else limits[1]
        return a_check(name, "ok" if good else "fail", why, source, value=drill, limit=nearer)
    if drill > (most := rivets.OVERSIZE * diameter) + 1e-6:
        why = f"{holes.drill_name} is for a larger rivet than a {called}, whose shank "
        why += (
            f"({say_length(diameter, job.units)}) would not fill it: take a rivet that fills the "
        )
        why += f"hole, or a smaller drill{_usual_words(plan)}"
        return a_check(name, "fail", why, rivets.OVERSIZE_SOURCE, value=drill, limit=most)
    return _usual_drill(name, job, plan, holes, diameter)


def _usual_words(plan: RivetPlan) -> str:
    drills = rivets.usual_drills(plan.dash)
    others = f", {' and '.join(drills[1:])} in use too" if drills[1:] else ""
    return f"; {drills[0]} is the usual drill{others}" if drills else ""


def _usual_drill(name: str, job: Job, plan: RivetPlan, holes: Holes, diameter: float) -> Check:
    """Judge by the usual drills where no hole limits were found."""
    called = call_rivet(plan, job.units)
    metric = rivets.metric_hole(diameter)
    usual = [read_drill(drill).diameter for drill in rivets.usual_drills(plan.dash)]
    source = rivets.USUAL_DRILL_SOURCE
    words = _usual_words(plan)
    if not usual and metric is not None:
        usual, source = [metric], rivets.METRIC_HOLE_SOURCE
        words = f"; a {metric:g} mm drill is usual"
    if not usual:
        why = f"no table of holes for a {called} was found; the hole is wider than the shank by "
        why += say_length(holes.drill - diameter, job.units)
        larger = next_metric_drill(diameter + 1e-6)
        if larger is not None:
            why += f"; the next metric drill over the shank is {larger:g} mm"
        preferred = any(abs(diameter - iso) < 1e-6 for iso in rivets.ISO_DIAMETERS)
        if not plan.dash and not preferred:
            why += "; no preferred diameter of rivet either"
        source = f"{METRIC_SOURCE}; {rivets.ISO_SOURCE}"
        return a_check(name, "not checked", why, source, value=holes.drill)
    off = min(abs(holes.drill - one) for one in usual)
    good = off <= SAME_HOLE
    why = f"{holes.drill_name} {'suits' if good else 'is not usual for'} a {called}{words}"
    return a_check(name, "ok" if good else "warn", why, source, value=holes.drill, limit=usual[0])


def _length(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> Check:
    name = "rivet length"
    missing = []
    if plan.rivet.diameter is None:
        missing.append("rivet.size or rivet.diameter")
    if job.skin is None:
        missing.append("skin.thickness")
    if any(hole.thickness is None for hole in holes):
        missing.append(NEEDS_THICKNESS)
    if missing:
        return not_checked(name, f"needs {', '.join(missing)}", plan.source)
    if plan.allowance is None:
        why = "no published length for a flush shop head was found, so that only the grip is told"
        why += "; state rivet.allowance, in diameters, from your plans"
        return not_checked(name, why, plan.source)
    needed = [hole.rivet_length for hole in holes if hole.rivet_length is not None]
    found = lots(holes)
    said = "; ".join(say_lot(lot, job.units) for lot in found[:2])
    why = f"one length does for every hole: {said}"
    if len(found) > 1:
        why = f"the length changes at hole {', '.join(str(lot.first) for lot in found[1:4])}"
        why += f"{' ...' if len(found) > 4 else ''}: {said}{' ...' if len(found) > 2 else ''}"
    shop = plan.rivet.shop_head or "bucked"
    why += f"; for a {shop} shop head, grip + {plan.allowance:g} D, then the "
    why += "nearest" if plan.rivet.rounding == "nearest" else "next"
    why += " standard length; your plans win"
    return a_check(name, "ok", why, f"{plan.source}; {plan.step_source}", value=max(needed))
