"""The shop checks of the countersink: the land that is left, and which sheet may be countersunk.

Whatever is derived geometry says so: a dimple that was pressed is no exact offset of its rivet's
head, and scrap is cheaper than a wedge. Where no land is left, what would leave one is tried first
by the same arithmetic: a remedy that does not help sends the builder round once more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from jiggen.errors import Sentence
from jiggen.facts import rivets, rules
from jiggen.job.sections import Job
from jiggen.shop.checks import NEEDS_THICKNESS
from jiggen.shop.rivet_plan import RivetPlan, plan_rivets, with_rivets
from jiggen.shop.rivet_words import (
    SCRAP,
    call_rivet,
    countersink_source,
    least_land,
    say_flush_well,
    skins_hold_heads,
)
from jiggen.solution import Check, HoleResult, Status
from jiggen.units import fine, joined, words

OWN_LIMIT = "the job's own limit"
DEFINITION = "definition"
WHOLE_HEAD = "none is cut in the wedge: the skins hold the whole head"

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
    found: list[Check] = []
    if plan.rivet.form == "flush":
        found += [
            *_countersink(job, plan, drilled),
            _land(job, plan, drilled, depth),
            *_sheets(job, plan),
            _wedge(plan, drilled),
        ]
    if plan.rivet.shop_head == "flush":
        found.append(_flush_shop_head(plan))
    return found


def unchecked(ident: str, name: str, why: Sentence, source: str, *keys: str) -> Check:
    """Return a check that says what it would need.

    Args:
        ident: of the check.
        name: what would be looked at.
        why: which keys are missing, or that no rule was found.
        source: of the rule that would be used.
        keys: of the job file.
    """
    return Check(
        id=ident, name=name, status="not checked", why=why, source=source, unit="mm", keys=keys
    )


def _countersink(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> Iterator[Check]:
    """Say what a countersink needs, and where there can be none; its sizes are numbers."""
    source = countersink_source(plan)
    if missing := _missing_for_countersink(job, plan):
        why = f"needs {', '.join(missing)}"
        yield unchecked("countersink", "countersink", why, source, "rivet.head", "skin.thickness")
        return
    both = [one for h in holes for one in (h.countersink_a, h.countersink_b) if one is not None]
    if not both or plan.rivet.head is None:
        yield Check(
            id="countersink",
            name="countersink",
            status="fail",
            why=words(
                "a head {head} wide is no wider than the hole: check rivet.head and holes.drill",
                head=fine(plan.rivet.head or 0.0),
            ),
            source=DEFINITION,
            value=plan.rivet.head,
            limit=None if job.holes is None else job.holes.drill,
            unit="mm",
            keys=("rivet.head", "holes.drill"),
        )
    elif any(one.depth > 0.0 and one.rim_high is None for one in both):
        why = "the face is as steep as the countersink's cone, whose rim then has no end"
        yield Check(
            id="countersink",
            name="countersink",
            status="fail",
            why=f"{why}; {SCRAP}",
            source=source,
            keys=("rivet.angle",),
        )


def _missing_for_countersink(job: Job, plan: RivetPlan) -> list[str]:
    missing = []
    if plan.rivet.head is None:
        missing.append("rivet.size or rivet.head")
    if job.skin is None:
        missing.append("skin.thickness")
    return missing


def _land(job: Job, plan: RivetPlan, holes: Sequence[HoleResult], depth: float | None) -> Check:
    limit = job.allow.land
    missing = _missing_for_countersink(job, plan)
    if any(hole.thickness is None for hole in holes):
        missing.append(NEEDS_THICKNESS)
    least = least_land(holes)
    if missing or least is None or least.land is None or least.straight is None:
        why = f"needs {', '.join(missing)}" if missing else "needs a head wider than the hole"
        return unchecked("land", "land", why, rules.LAND_SOURCE, "rivet.head", "skin.thickness")
    source = rules.LAND_SOURCE if limit is None else f"{OWN_LIMIT}; {rules.LAND_SOURCE}"
    status: Status = "ok"
    where = f"at hole {least.number}, where it is least"
    if plan.dimpled:
        where += ", the skin fully down"
    said: Sentence = where
    play = _head_play(plan)
    if skins_hold_heads(holes):
        said, limit, source = WHOLE_HEAD, None, rules.COUNTERSUNK_SKIN_SOURCE
    elif least.land <= 0.0:
        status = "fail"
        said = joined([_knife_edge(plan, holes, least), _remedies(job, plan, holes, depth)])
    elif limit is not None and least.land < limit:
        status, said = "warn", f"{where}: less than allow.land, near a knife edge"
    elif limit is None and least.land < play:
        status, limit = "warn", play
        said = f"{where}: no more than the heads' tolerance moves it, so it may be a knife edge"
    elif limit is None:
        status = "not checked"
        said = f"{where}; what is too thin your plans say: state allow.land"
    return Check(
        id="land",
        name="land",
        status=status,
        why=said if said == WHOLE_HEAD else joined([said, SCRAP]),
        source=source,
        value=None if said == WHOLE_HEAD else least.land,
        limit=limit,
        unit="mm",
        keys=("allow.land", "rivet.size", "holes.line"),
    )


def _knife_edge(plan: RivetPlan, holes: Sequence[HoleResult], least: HoleResult) -> Sentence:
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
        on_axis = words("on the axis they leave {left}", left=fine(least.straight))
        return joined([f"{why} once each skin is fully down", on_axis])
    both = (least.countersink_a, least.countersink_b)
    deepest = max(one.sunk for one in both if one is not None)
    if plan.opposed and least.thickness is not None and deepest >= least.thickness:
        alone = words(
            "one countersink alone, {deep} deep, goes through the wedge, {thick} there",
            deep=fine(deepest),
            thick=fine(least.thickness),
        )
        return joined([why, alone])
    return why


def _head_play(plan: RivetPlan) -> float:
    """Return what the tolerance of the heads' diameters makes of the land, mm."""
    flush = rivets.FLUSH_RIVETS.get(plan.rivet.size)
    if flush is None:
        return 0.0
    one = flush.head_tolerance / (2.0 * math.tan(plan.rivet.angle / 2.0))
    return 2.0 * one if plan.opposed else one


def _remedies(
    job: Job, plan: RivetPlan, holes: Sequence[HoleResult], depth: float | None
) -> Sentence:
    """Say which hole line or shop head would leave a land at every hole, if one does."""
    tried = (_forward(job, plan, holes, depth), _bucked(job, plan, holes))
    offered = [way for way in tried if way is not None]
    if offered:
        return words("what leaves more: {ways}; ask your plans", ways=joined(offered, ", or "))
    return "no hole line that the wedge has room for leaves enough: ask your plans"


def _enough(job: Job, land: float) -> bool:
    return land > 0.0 and land >= (job.allow.land or 0.0)


def _bucked(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> Sentence | None:
    """Say what one countersink leaves; None where too little, or where one is cut anyhow."""
    if not plan.opposed:
        return None
    changed = replace(job, rivet=replace(plan.rivet, shop_head="bucked"))
    least = least_land(with_rivets(changed, plan_rivets(changed), holes))
    if least is None or least.land is None or not _enough(job, least.land):
        return None
    return words("a bucked head on one side ({left} of land)", left=fine(least.land))


def _forward(
    job: Job, plan: RivetPlan, holes: Sequence[HoleResult], depth: float | None
) -> Sentence | None:
    """Return a hole line so far forward that the wedge is thick enough at every hole."""
    if job.holes is None:
        return None
    least, needed = job.allow.land or 0.0, job.holes.line
    for hole in (hole for hole in holes if hole.land is not None and hole.land <= least):
        opening = math.tan(hole.angles.skin_a) + math.tan(hole.angles.skin_b)
        if opening <= 0.0:
            return None
        needed = max(needed, job.holes.line + (least - (hole.land or 0.0)) / opening)
    diameter = plan.rivet.diameter or job.holes.drill
    if depth is not None and needed > depth - rules.EDGE_DISTANCE_MIN * diameter:
        return None
    return words("a hole line more than about {line} from the trailing edge", line=fine(needed))


def _sheets(job: Job, plan: RivetPlan) -> Iterator[Check]:
    """Judge each skin: thick enough to be countersunk, or thin enough to be dimpled."""
    name = "countersink or dimple"
    least, source, needs = _least_sheet(plan)
    if job.skin is None or least is None:
        missing = "needs skin.thickness" if job.skin is None else needs
        yield unchecked("sheet", name, missing, source, "skin.thickness", "rivet.size")
        return
    for letter, side, sheet in zip("ab", job.sides, job.skin.thickness, strict=True):
        status, why, limit, by = _sheet(plan, sheet, least, source)
        yield Check(
            id=f"sheet-{letter}",
            name=f"{name}, {side}",
            status=status,
            why=why,
            source=by,
            value=sheet,
            limit=limit,
            unit="mm",
            keys=("skin.thickness", "rivet.skins"),
        )


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
    plan: RivetPlan, sheet: float, least: float, source: str
) -> tuple[Status, Sentence, float, str]:
    """Return how a skin is judged, why, by which limit and by which source."""
    called = call_rivet(plan)
    if not plan.dimpled:
        good = sheet >= least
        why = words(
            "{thick} to be countersunk for a {called}{dimple}; your plans win",
            thick="thick enough" if good else "too thin",
            called=called,
            dimple="" if good else ": it must be dimpled",
        )
        return "ok" if good else "fail", why, least, source
    good = sheet <= rules.DIMPLE_MOST
    why = words(
        "dimpled, as the job has it; {could} for a {called}{best}",
        could="it could be countersunk" if sheet >= least else "too thin to be countersunk",
        called=called,
        best="" if good else "; a dimple is best in thinner sheet",
    )
    by = f"{rules.DIMPLE_SOURCE}; {source}"
    return "ok" if good else "warn", why, rules.DIMPLE_MOST, by


def _wedge(plan: RivetPlan, holes: Sequence[HoleResult]) -> Check:
    """Judge the wedge as a sheet that is countersunk; what opposed ones leave is the land."""
    ident, name = "wedge-countersink", "countersink in the wedge"
    least, source, needs = _least_sheet(plan)
    known = [(h.thickness, h.number) for h in holes if h.thickness is not None]
    if skins_hold_heads(holes):
        return Check(
            id=ident,
            name=name,
            status="ok",
            why=f"does not apply: {WHOLE_HEAD}",
            source=countersink_source(plan),
        )
    if least is None or len(known) < len(holes):
        why = needs or f"needs {NEEDS_THICKNESS}"
        return unchecked(ident, name, why, source, "wedge.rear_thickness")
    thinnest, number = min(known)
    good = thinnest >= least
    return Check(
        id=ident,
        name=name,
        status="ok" if good else "warn",
        why=f"at hole {number}, where it is thinnest, the wedge is "
        f"{'thick enough' if good else 'too thin'} for one countersink; the rule knows of a plain "
        "sheet and one head: land says what two of them leave; your plans win",
        source=source,
        value=thinnest,
        limit=least,
        unit="mm",
        keys=("holes.line",),
    )


def _flush_shop_head(plan: RivetPlan) -> Check:
    """Tell what the handbooks say of a flush shop head: an 82 degree well in metal thick enough."""
    ident, name, well = "flush-shop-head", "flush shop head", say_flush_well(plan)
    none = (
        ""
        if plan.rivet.form == "flush"
        else "countersink, stop and land for it are not worked out: the rivet's own head protrudes,"
        " and no published rule was found for the other side; "
    )
    told = words("{well}; that is no rule for a dimple", well=well)
    if not well:
        called = call_rivet(plan)
        told = words("no least thickness for one on a {called} was found", called=called)
    why = words("{none}{told}: your plans must say", none=none, told=told)
    source = rivets.FLUSH_SOURCE_NONE + (f"; {rivets.WELL_SOURCE}" if well else "")
    return unchecked(ident, name, why, source, "rivet.shop_head")
