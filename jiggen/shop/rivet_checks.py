"""The shop checks of the rivet: does the drill suit it, is the one on the bag long enough.

A check whose input is missing says which key it needs; where no published rule was found it says
that, and judges nothing. No other size of rivet is ever proposed: the plans give it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from jiggen.errors import Sentence
from jiggen.facts import rivets
from jiggen.facts.drills import METRIC_SOURCE, next_metric_drill, read_drill
from jiggen.facts.rivet_names import SOURCE as NAMES_SOURCE
from jiggen.job.sections import Holes, Job
from jiggen.shop.checks import NEEDS_THICKNESS
from jiggen.shop.countersink_checks import DEFINITION, countersink_checks, unchecked
from jiggen.shop.rivet_plan import RivetPlan, lots
from jiggen.shop.rivet_words import SHOP_HEAD, call_rivet, countersink_source, say_lot
from jiggen.shop.spacing_checks import spacing_checks
from jiggen.solution import Check, HoleResult, Number, Status
from jiggen.units import fine, joined, words

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
        missing = []
        if plan is None:
            missing.append("the rivet: state rivet.size, or rivet.diameter and rivet.head")
        if job.holes is None or not drilled:
            missing.append("holes that are drilled now: state [holes]")
        why = f"drill, length, countersink and land need {'; '.join(missing)}"
        return [unchecked("rivet", "rivet", why, rivets.SOURCE, "rivet")]
    return [
        _drill(plan, job.holes),
        *_length(job, plan, drilled),
        *countersink_checks(job, plan, drilled, depth),
    ]


def riveting_numbers(plan: RivetPlan | None, holes: Sequence[HoleResult]) -> tuple[Number, ...]:
    """Return what is told of the rivets and needs no decision.

    Args:
        plan: the job's rivet, or None.
        holes: along the span, with their rivets and countersinks.
    """
    drilled = [hole for hole in holes if hole.drill_now]
    if plan is None or not drilled:
        return ()
    return tuple(_numbers(plan, drilled))


def _numbers(plan: RivetPlan, holes: Sequence[HoleResult]) -> Iterator[Number]:
    needed = [hole.rivet_length for hole in holes if hole.rivet_length is not None]
    if needed:
        yield Number(
            id="rivet-length",
            label="rivet length, longest",
            value=max(needed),
            unit="mm",
            source=f"{plan.source}; {plan.step_source}",
            note=f"for a {plan.rivet.shop_head} shop head; your plans win",
        )
    both = [one for h in holes for one in (h.countersink_a, h.countersink_b) if one is not None]
    if both and max(one.depth for one in both) > 0.0:
        deepest = max(both, key=lambda one: one.depth)
        yield Number(
            id="countersink-depth",
            label="countersink, deepest on the axis",
            value=deepest.depth,
            unit="mm",
            source=countersink_source(plan),
            note=words("{wide} wide there; try it in scrap first", wide=fine(deepest.diameter)),
        )
    if plan.rivet.form == "flush":
        steepest = max(max(abs(h.angles.skin_a), abs(h.angles.skin_b)) for h in holes)
        note = "a dimple stands square to its skin, its countersink square to the chord plane"
        if not plan.dimpled:
            note = "a head in a skin that is countersunk square to the chord plane is tilted by it"
        yield Number(
            id="dimple-mismatch",
            label="dimple mismatch, most",
            value=math.degrees(steepest),
            unit="deg",
            source="definition: the skin angle",
            note=note,
        )


def _drill(plan: RivetPlan, holes: Holes) -> Check:
    """Judge whether the drill suits the rivet: by hole limits, else by what is usual."""
    drill, diameter = holes.drill, plan.rivet.diameter
    if diameter is None:
        why = "needs the rivet's shank: state rivet.size or rivet.diameter"
        return unchecked("drill", "drill for the rivet", why, rivets.USUAL_DRILL_SOURCE, "rivet")
    called = call_rivet(plan)
    if drill <= diameter:
        usual = rivets.usual_drills(plan.dash)
        larger = next_metric_drill(diameter + 1e-6)
        other = ""
        if usual or larger is not None:
            other = f"; {usual[0] if usual else f'{larger:g} mm'} is the drill for it"
        no_wider = words(
            "a {called} does not go into a hole that is no wider than its shank{other}",
            called=called,
            other=other,
        )
        return _judged(holes, "fail", no_wider, DEFINITION, diameter)
    if (limits := rivets.hole_limits(plan.dash)) is not None:
        good = limits[0] <= drill <= limits[1]
        within = words(
            "a hole for a {called} is {low} to {high} wide{more}",
            called=called,
            low=fine(limits[0]),
            high=fine(limits[1]),
            more=_usual_words(plan) if good else f"; {holes.drill_name} is outside of that",
        )
        source = f"{rivets.HOLE_LIMIT_SOURCE}; {rivets.USUAL_DRILL_SOURCE}"
        nearer = limits[0] if drill < limits[0] else limits[1]
        return _judged(holes, "ok" if good else "fail", within, source, nearer)
    if drill > (most := rivets.OVERSIZE * diameter) + 1e-6:
        loose = words(
            "{drill} is wider than a {called} fills, whose shank is {shank}: ask your plans which "
            "of the two is meant{usual}",
            drill=holes.drill_name,
            called=called,
            shank=fine(diameter),
            usual=_usual_words(plan),
        )
        return _judged(holes, "fail", loose, rivets.OVERSIZE_SOURCE, most)
    return _usual_drill(plan, holes, diameter)


def _judged(
    holes: Holes, status: Status, why: Sentence, source: str, limit: float | None = None
) -> Check:
    return Check(
        id="drill",
        name="drill for the rivet",
        status=status,
        why=why,
        source=source,
        value=holes.drill,
        limit=limit,
        unit="mm",
        keys=("holes.drill", "rivet.size"),
    )


def _usual_words(plan: RivetPlan) -> str:
    drills = rivets.usual_drills(plan.dash)
    others = f", {' and '.join(drills[1:])} in use too" if drills[1:] else ""
    return f"; {drills[0]} is the usual drill{others}" if drills else ""


def _usual_drill(plan: RivetPlan, holes: Holes, diameter: float) -> Check:
    """Judge by the usual drills where no hole limits were found."""
    called = call_rivet(plan)
    metric = rivets.metric_hole(diameter)
    usual = [read_drill(drill).diameter for drill in rivets.usual_drills(plan.dash)]
    source = rivets.USUAL_DRILL_SOURCE
    more = _usual_words(plan)
    if not usual and metric is not None:
        usual, source = [metric], rivets.METRIC_HOLE_SOURCE
        more = f"; a {metric:g} mm drill is usual"
    if not usual:
        larger = next_metric_drill(diameter + 1e-6)
        next_one = "" if larger is None else f"; the next metric drill over it is {larger:g} mm"
        preferred = any(abs(diameter - iso) < 1e-6 for iso in rivets.ISO_DIAMETERS)
        untabled = words(
            "no table of holes for a {called} was found; the hole is wider than the shank by "
            "{play}{next_one}{odd}",
            called=called,
            play=fine(holes.drill - diameter),
            next_one=next_one,
            odd="" if plan.dash or preferred else "; no preferred diameter of rivet either",
        )
        return _judged(holes, "not checked", untabled, f"{METRIC_SOURCE}; {rivets.ISO_SOURCE}")
    off = min(abs(holes.drill - one) for one in usual)
    good = off <= SAME_HOLE
    why = words(
        "{drill} {suits} a {called}{more}",
        drill=holes.drill_name,
        suits="suits" if good else "is not usual for",
        called=called,
        more=more,
    )
    return _judged(holes, "ok" if good else "warn", why, source, usual[0])


def _length(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> Iterator[Check]:
    """Say what a length needs; compare the one that is on the bag with what each hole takes."""
    name, missing = "rivet length", []
    if not plan.rivet.shop_head:
        missing.append(SHOP_HEAD)
    if plan.rivet.diameter is None:
        missing.append("rivet.size or rivet.diameter")
    if job.skin is None:
        missing.append("skin.thickness")
    if any(hole.thickness is None for hole in holes):
        missing.append(NEEDS_THICKNESS)
    if missing:
        why = f"needs {', '.join(reversed(missing))}"
        yield unchecked("rivet-length", name, why, plan.source, "rivet.shop_head")
    elif plan.allowance is None:
        why = "no published length for a flush shop head was found, so that only the grip is told"
        why += "; state rivet.allowance, in diameters, from your plans"
        yield unchecked("rivet-length", name, why, plan.source, "rivet.allowance")
    elif plan.rivet.bag_length is not None:
        yield _on_the_bag(plan, plan.rivet.bag_length, holes)


def _on_the_bag(plan: RivetPlan, bag: float, holes: Sequence[HoleResult]) -> Check:
    found = lots(holes)
    other = [lot for lot in found if abs(lot.length - bag) > 1e-6]
    why = words("{bag} as on the bag does for every hole", bag=fine(bag))
    if other:
        shown = joined([say_lot(lot) for lot in other[:2]])
        why = words(
            "{bag} on the bag, but grip + {times} D wants {lots}{more}; your plans win",
            bag=fine(bag),
            times=f"{plan.allowance or 0.0:g}",
            lots=shown,
            more=f" and {len(other) - 2} more runs" if len(other) > 2 else "",
        )
    return Check(
        id="rivet-length",
        name="rivet length",
        status="warn" if other else "ok",
        why=why,
        source=f"{plan.source}; {plan.step_source}; {NAMES_SOURCE}",
        value=bag,
        limit=other[0].length if other else found[0].length if found else None,
        unit="mm",
        keys=("rivet.size", "rivet.shop_head"),
    )
