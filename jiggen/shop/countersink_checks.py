"""The shop checks of the countersink: the land that is left, and which sheet may be countersunk.

Whatever is derived geometry says so: a dimple that was pressed is no exact offset of its rivet's
head, and scrap is cheaper than a wedge.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from jiggen.facts import rivets, rules
from jiggen.job.sections import Job
from jiggen.shop.land_remedies import land_remedies
from jiggen.shop.rivet_plan import RivetPlan
from jiggen.shop.rivet_words import (
    SCRAP,
    call_rivet,
    countersink_source,
    least_land,
    say_flush_well,
    skins_hold_heads,
)
from jiggen.solution import Check, HoleResult, Status
from jiggen.units import say_length

OWN_LIMIT = "the job's own limit"
DEFINITION = "definition"

WHOLE_HEAD = "none is cut in the wedge: the skins hold the whole head"

NEEDS_THICKNESS = "wedge.rear_thickness, where the stations do not give it"

_HUNDRED = math.radians(100.0)
_SAME_ANGLE = math.radians(0.5)


def countersink_checks(
    job: Job, plan: RivetPlan, drilled: Sequence[HoleResult], depth: float | None
) -> list[Check]:
    """Return the checks of a flush head: countersink, land, sheets, and a flush shop head.

    Args:
        job: what was asked.
        plan: its rivet.
        drilled: the holes that are drilled now, at least one, with their countersinks.
        depth: least depth of the wedge at a hole, mm, or None.

    Returns:
        The checks; none of the first for a protruding head.

    Source: each check names its own.
    """
    found = []
    if plan.rivet.form == "flush":
        found += [
            _countersink(job, plan, drilled),
            _land(job, plan, drilled, depth),
            *_sheets(job, plan),
            _wedge(job, plan, drilled),
            _axes(plan, drilled),
        ]
    if plan.rivet.shop_head == "flush":
        found.append(_flush_shop_head(job, plan))
    return found


def a_check(
    name: str,
    status: Status,
    why: str,
    source: str,
    *,
    value: float | None = None,
    limit: float | None = None,
    unit: str = "mm",
) -> Check:
    """Return a check from its words and its numbers.

    Args:
        name: what was looked at.
        status: how it came out.
        why: the reason in a sentence.
        source: where the limit comes from.
        value: what was found, or None.
        limit: what it was held against, or None.
        unit: of both.
    """
    return Check(
        name=name, status=status, value=value, limit=limit, unit=unit, why=why, source=source
    )


def not_checked(name: str, why: str, source: str) -> Check:
    """Return a check that says what it would need.

    Args:
        name: what would be looked at.
        why: which keys are missing, or that no rule was found.
        source: of the rule that would be used.
    """
    return a_check(name, "not checked", why, source)


def _countersink(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> Check:
    name = "countersink"
    missing = _missing_for_countersink(job, plan)
    if missing:
        return not_checked(name, f"needs {', '.join(missing)}", countersink_source(plan))
    both = [one for h in holes for one in (h.countersink_a, h.countersink_b) if one is not None]
    if not both or plan.rivet.head is None:
        head = say_length(plan.rivet.head or 0.0, job.units)
        why = f"a head {head} wide is no wider than the hole: check rivet.head and holes.drill"
        limit = None if job.holes is None else job.holes.drill
        return a_check(name, "fail", why, DEFINITION, value=plan.rivet.head, limit=limit)
    source = countersink_source(plan)
    if skins_hold_heads(holes):
        return a_check(name, "ok", WHOLE_HEAD, source)
    deepest = max(both, key=lambda one: one.depth)
    why = f"{say_length(deepest.diameter, job.units)} wide and this deep on the hole's axis"
    if any(one.depth > 0.0 and one.rim_high is None for one in both):
        why = "the face is as steep as the countersink's cone, whose rim then has no end"
        return a_check(name, "fail", f"{why}; {SCRAP}", source, value=deepest.depth)
    return a_check(name, "ok", f"{why}; {SCRAP}", source, value=deepest.depth)


def _missing_for_countersink(job: Job, plan: RivetPlan) -> list[str]:
    missing = []
    if plan.rivet.head is None:
        missing.append("rivet.size or rivet.head")
    if job.skin is None:
        missing.append("skin.thickness")
    return missing


def _land(job: Job, plan: RivetPlan, holes: Sequence[HoleResult], depth: float | None) -> Check:
    name, limit = "land", job.allow.land
    missing = _missing_for_countersink(job, plan)
    if any(hole.thickness is None for hole in holes):
        missing.append(NEEDS_THICKNESS)
    least = least_land(holes)
    if missing or least is None or least.land is None or least.straight is None:
        why = f"needs {', '.join(missing)}" if missing else "needs a head wider than the hole"
        return not_checked(name, why, rules.LAND_SOURCE)
    if skins_hold_heads(holes):
        return a_check(name, "ok", WHOLE_HEAD, rules.COUNTERSUNK_SKIN_SOURCE)
    status: Status = "ok"
    why = f"at hole {least.number}, where it is least"
    if plan.dimpled:
        why += ", with the low side of each dimple let in"
    play = _head_play(plan)
    if least.land <= 0.0:
        status = "fail"
        why = f"{_knife_edge(job, plan, holes, least)}; {land_remedies(job, plan, holes, depth)}"
    elif limit is not None and least.land < limit:
        status, why = "warn", f"{why}: less than allow.land, near a knife edge"
    elif limit is None and least.land < play:
        status, limit = "warn", play
        why += ": no more than the heads' tolerance moves it, so it may be a knife edge"
    elif limit is None:
        status = "not checked"
        why += "; it is no knife edge, but what is too thin your plans say: state allow.land"
    source = rules.LAND_SOURCE if job.allow.land is None else f"{OWN_LIMIT}; {rules.LAND_SOURCE}"
    return a_check(name, status, f"{why}; {SCRAP}", source, value=least.land, limit=limit)


def _knife_edge(job: Job, plan: RivetPlan, holes: Sequence[HoleResult], least: HoleResult) -> str:
    """Say where no land is left, and whether one countersink alone is too deep already."""
    meet = "the countersinks meet" if plan.opposed else "the countersink runs through the wedge"
    gone = sum(hole.land is not None and hole.land <= 0.0 for hole in holes)
    if gone == len(holes) > 1:
        where = f"at every hole, most at hole {least.number}"
    else:
        more = f", where it is worst of {gone} holes" if gone > 1 else ""
        where = f"at hole {least.number}{more}"
    why = f"{meet} in a knife edge {where}"
    if least.straight is not None and least.straight > 0.0:
        why += " once the low side of each dimple is let in; on the axis they leave "
        return why + say_length(least.straight, job.units)
    both = (least.countersink_a, least.countersink_b)
    deepest = max(one.sunk for one in both if one is not None)
    if plan.opposed and least.thickness is not None and deepest >= least.thickness:
        why += f"; one countersink alone, {say_length(deepest, job.units)} deep, goes through the "
        why += f"wedge, {say_length(least.thickness, job.units)} there"
    return why


def _head_play(plan: RivetPlan) -> float:
    """Return what the tolerance of the heads' diameters makes of the land, mm."""
    flush = rivets.FLUSH_RIVETS.get(plan.rivet.size)
    if flush is None:
        return 0.0
    one = flush.head_tolerance / (2.0 * math.tan(plan.rivet.angle / 2.0))
    return 2.0 * one if plan.opposed else one


def _sheets(job: Job, plan: RivetPlan) -> list[Check]:
    """Judge each skin: thick enough to be countersunk, or one to be dimpled."""
    names = [f"countersink or dimple, {side}" for side in job.sides]
    least, source, needs = _least_sheet(plan)
    if job.skin is None:
        needs = "needs skin.thickness"
    if job.skin is None or least is None:
        return [not_checked("countersink or dimple", needs, source)]
    return [
        _sheet(name, sheet, least, plan, job.units, source)
        for name, sheet in zip(names, job.skin.thickness, strict=True)
    ]


def _least_sheet(plan: RivetPlan) -> tuple[float | None, str, str]:
    """Return the thinnest sheet to be machine countersunk, its source, and what is missing."""
    rivet = plan.rivet
    if rivet.diameter is None:
        return None, rules.COUNTERSINK_MIN_SHEET_SOURCE, "needs rivet.size or rivet.diameter"
    if abs(rivet.angle - _HUNDRED) <= _SAME_ANGLE:
        tabled = rules.countersink_min_sheet(rivet.diameter)
        if tabled is not None:
            return tabled, rules.COUNTERSINK_MIN_SHEET_SOURCE, ""
    if rivet.head is None:
        return None, rules.HEAD_HEIGHT_SOURCE, "needs rivet.size or rivet.head"
    height = (rivet.head - rivet.diameter) / (2.0 * math.tan(rivet.angle / 2.0))
    return height, rules.HEAD_HEIGHT_SOURCE, ""


def _sheet(
    name: str, sheet: float, least: float, plan: RivetPlan, units: str, source: str
) -> Check:
    thick = sheet >= least
    called = call_rivet(plan, units)
    if plan.rivet.skins == "countersunk":
        why = (
            f"thick enough to be countersunk for a {called}"
            if thick
            else f"too thin to be countersunk for a {called}: it must be dimpled"
        )
        why += "; your plans win"
        status: Status = "ok" if thick else "fail"
        return a_check(name, status, why, source, value=sheet, limit=least)
    why = f"too thin to be countersunk for a {called}, so it is dimpled, as the job has it"
    if thick:
        why = f"could be countersunk for a {called}; the job has it dimpled"
        if sheet > rules.DIMPLE_MOST:
            why += f", which is best up to {say_length(rules.DIMPLE_MOST, units)}"
    return a_check(name, "ok", why, f"{source}; {rules.DIMPLE_SOURCE}", value=sheet, limit=least)


def _wedge(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> Check:
    """Judge the wedge as a sheet that is countersunk; what opposed ones leave is the land."""
    name = "countersink in the wedge"
    least, source, needs = _least_sheet(plan)
    if skins_hold_heads(holes):
        return a_check(name, "ok", f"does not apply: {WHOLE_HEAD}", countersink_source(plan))
    known = [(h.thickness, h.number) for h in holes if h.thickness is not None]
    if least is None or len(known) < len(holes):
        return not_checked(name, needs or f"needs {NEEDS_THICKNESS}", source)
    thinnest, number = min(known)
    good = thinnest >= least
    why = (
        f"at hole {number}, where it is thinnest, the wedge is "
        f"{'thick enough' if good else 'too thin'} for one countersink; the rule knows of a plain "
        "sheet and one head: land says what two of them leave"
    )
    status: Status = "ok" if good else "warn"
    return a_check(name, status, f"{why}; your plans win", source, value=thinnest, limit=least)


def _axes(plan: RivetPlan, holes: Sequence[HoleResult]) -> Check:
    steepest = max(max(abs(h.angles.skin_a), abs(h.angles.skin_b)) for h in holes)
    why = "a dimple stands square to its skin, its countersink square to the chord plane: they are "
    why += "apart by the skin angle, most by this"
    if plan.rivet.skins == "countersunk":
        why = "a head in a skin that is countersunk square to the chord plane is tilted by this"
    return a_check(
        "dimple axis",
        "ok",
        why,
        "definition: the skin angle",
        value=math.degrees(steepest),
        unit="deg",
    )


def _flush_shop_head(job: Job, plan: RivetPlan) -> Check:
    """Tell what the handbooks say of a flush shop head: an 82 degree well in metal thick enough."""
    name = "flush shop head"
    said = say_flush_well(job, plan)
    none = (
        ""
        if plan.rivet.form == "flush"
        else (
            "countersink, stop and land for it are not worked out: the rivet's own head protrudes, "
            "and no published rule was found for the other side; "
        )
    )
    if not said:
        why = f"{none}no least thickness for a flush shop head on a "
        why += f"{call_rivet(plan, job.units)} was found: your plans must say"
        return not_checked(name, why, rivets.FLUSH_SOURCE_NONE)
    why = f"{none}{said}; that is no rule for a dimple: your plans must say"
    return not_checked(name, why, f"{rivets.FLUSH_SOURCE_NONE}; {rivets.WELL_SOURCE}")
