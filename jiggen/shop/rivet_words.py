"""What to order and how to set the countersink, in words for the terminal and the cover page."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from jiggen.facts import rivets, rules
from jiggen.job.sections import Job
from jiggen.shop.rivet_plan import Lot, RivetPlan, lots
from jiggen.solution import CountersinkAt, HoleResult, ShopLine
from jiggen.units import say_angle, say_length

SCRAP = "derived geometry: try it in scrap first"
MOST_LOTS = 8
"""Runs of holes that are listed one by one."""


def shop_lines(
    job: Job, plan: RivetPlan | None, holes: Sequence[HoleResult]
) -> tuple[ShopLine, ...]:
    """Return the lines of rivet and countersink; none where the job states no rivet.

    Args:
        job: what was asked.
        plan: its rivet, or None.
        holes: along the span, with their rivets and countersinks.

    Source: each line names its own.
    """
    drilled = [hole for hole in holes if hole.drill_now]
    if plan is None or not drilled:
        return ()
    derived = [*_countersinks(job, plan, drilled), *_land(job, plan, drilled)]
    if derived:
        brief = f"{derived[-1].brief}. {SCRAP[:1].upper()}{SCRAP[1:]}"
        derived[-1] = replace(derived[-1], brief=brief)
    return (
        _rivet(job, plan),
        *_lengths(job, plan, drilled),
        *_order(job, plan, drilled),
        *_flush_shop_head(job, plan),
        *derived,
        *_axes(job, plan, drilled),
    )


def call_rivet(plan: RivetPlan, units: str) -> str:
    """Return what the rivet is called, by its size or by its diameter.

    Args:
        plan: the rivet.
        units: the job's, ``mm`` or ``in``.
    """
    rivet = plan.rivet
    kind = f"{rivet.form} rivet"
    if plan.dash or rivet.size:
        return f"{plan.dash or rivet.size} {kind}"
    return kind if rivet.diameter is None else f"{say_length(rivet.diameter, units)} {kind}"


def head_source(plan: RivetPlan) -> str:
    """Return where the rivet's head comes from."""
    rivet = plan.rivet
    if not rivet.size:
        return "the job's own numbers"
    if rivet.form == "flush":
        return rivets.SOURCE if plan.dash else rivets.METRIC_FLUSH_SOURCE
    return rivets.UNIVERSAL_SOURCE if plan.dash else rivets.METRIC_ROUND_SOURCE


def say_range(values: Sequence[float], units: str) -> str:
    """Return one length, or the least and the greatest, in the job's units.

    Args:
        values: mm.
        units: the job's, ``mm`` or ``in``.
    """
    low, high = (say_length(value, units) for value in (min(values), max(values)))
    return low if low == high else f"{low.rsplit(' ', 1)[0]} to {high}"


def say_lot(lot: Lot, units: str) -> str:
    """Return ``3-4 (0.2500 in): holes 2 to 18, 17 of them``.

    Args:
        lot: a run of holes.
        units: the job's, ``mm`` or ``in``.
    """
    length = say_length(lot.length, units)
    name = f"{lot.code} ({length})" if lot.code else f"{length} long"
    if lot.first == lot.last:
        return f"{name}: hole {lot.first}"
    return f"{name}: holes {lot.first} to {lot.last}, {lot.count} of them"


def _rivet(job: Job, plan: RivetPlan) -> ShopLine:
    rivet, units = plan.rivet, job.units
    parts = [call_rivet(plan, units)]
    if rivet.diameter is not None:
        parts.append(f"shank {say_length(rivet.diameter, units)}")
    if rivet.head is not None:
        angle = f", {math.degrees(rivet.angle):g} deg" if rivet.form == "flush" else ""
        parts.append(f"head {say_length(rivet.head, units)}{angle}")
    return ShopLine(
        what="rivet",
        said=", ".join(parts),
        source=head_source(plan),
        brief=f"Rivet: {call_rivet(plan, units).removesuffix(' rivet')}",
    )


def _lengths(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> tuple[ShopLine, ...]:
    units = job.units
    grips = [hole.grip for hole in holes if hole.grip is not None]
    if not grips:
        return ()
    said = f"grip {say_range(grips, units)}"
    brief = f"Grip {say_range(grips, units)}"
    needed = [hole.rivet_length for hole in holes if hole.rivet_length is not None]
    if plan.allowance is None:
        said += "; for a flush shop head no published length was found: the grip only"
        brief += ", length as your plans say"
    elif needed:
        shop = "flush" if plan.rivet.shop_head == "flush" else "bucked"
        measured = "over all, head included" if plan.rivet.form == "flush" else "under the head"
        said += (
            f" + {plan.allowance:g} D for a {shop} shop head = {say_range(needed, units)} "
            f"{measured}"
        )
        if not plan.rivet.shop_head:
            said += "; not for a flush shop head: say which with rivet.shop_head"
        brief += f" + {plan.allowance:g} D for a {shop} head"
    return (ShopLine(what="length", said=said, source=plan.source, brief=brief),)


def _order(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> tuple[ShopLine, ...]:
    found = lots(holes)
    if not found:
        return ()
    said = "; ".join(say_lot(lot, job.units) for lot in found[:MOST_LOTS])
    if len(found) > MOST_LOTS:
        said += f"; and {len(found) - MOST_LOTS} more runs of holes"
    brief = f"Order {said.rsplit(', ', 1)[0] if len(found) == 1 else said}"
    if plan.rivet.shop_head != "flush" and plan.rivet.diameter is not None:
        wide, high = (
            say_length(times * plan.rivet.diameter, job.units) for times in rivets.BUCKED_HEAD
        )
        said += f". Bucked head at least {wide} wide, {high} high"
    sources = [plan.step_source]
    if plan.rivet.shop_head != "flush":
        sources.append(rivets.BUCKED_HEAD_SOURCE)
    return (ShopLine(what="order", said=said, source="; ".join(sources), brief=brief),)


def _countersinks(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> tuple[ShopLine, ...]:
    lines = []
    for letter, side in zip("ab", job.sides, strict=True):
        found = [getattr(hole, f"countersink_{letter}") for hole in holes]
        known: list[CountersinkAt] = [one for one in found if one is not None]
        if not known:
            continue
        # A stop that cuts through to the other side is no stop.
        kept = [getattr(hole, f"countersink_{letter}") for hole in holes if has_land(hole)]
        lines.append(
            ShopLine(
                what=f"countersink, {side}",
                said=f"{_one_side(job, plan, known[0], [one for one in kept if one])}; {SCRAP}",
                source=countersink_source(plan),
                brief=_brief_side(job, plan, known[0], [one for one in kept if one], side),
            )
        )
    if len(lines) == 2 and lines[0].said == lines[1].said:
        both = " and ".join(job.sides)
        what, brief = f"countersink, {both}", lines[0].brief.replace(job.sides[0], both, 1)
        return (replace(lines[0], what=what, brief=brief),)
    return tuple(lines)


def has_land(hole: HoleResult) -> bool:
    """Return whether countersinks set on the axis leave something of the hole's wall.

    Args:
        hole: with its countersinks; one whose thickness is not known is not judged.
    """
    return hole.straight is None or hole.straight > 0.0


def countersink_source(plan: RivetPlan) -> str:
    """Return where the countersink in the wedge comes from: under a dimple, or below a skin."""
    return rules.NESTING_SOURCE if plan.dimpled else rules.COUNTERSUNK_SKIN_SOURCE


def _brief_side(
    job: Job, plan: RivetPlan, first: CountersinkAt, kept: Sequence[CountersinkAt], side: str
) -> str:
    units = job.units
    if first.depth == 0.0:
        return f"No countersink in the wedge, {side}"
    said = (
        f"Countersink {side}: {say_length(first.diameter, units)} wide, "
        f"{say_length(first.depth, units)} deep on the axis, "
    )
    if not kept:
        return f"{said}no stop, as no hole keeps a land"
    said += f"stop {say_range([one.stop for one in kept], units)} from touch"
    if plan.dimpled:
        said += f", low side in at {say_range([_low_side_stop(one) for one in kept], units)}"
    return said


def _low_side_stop(one: CountersinkAt) -> float:
    """Return the travel from touch at which the low side of the sloping face takes the dimple."""
    return one.stop + one.sunk - one.depth


def _one_side(
    job: Job, plan: RivetPlan, first: CountersinkAt, kept: Sequence[CountersinkAt]
) -> str:
    units = job.units

    def said(number: Callable[[CountersinkAt], float | None]) -> str:
        values = [value for one in kept if (value := number(one)) is not None]
        return say_range(values, units) if values else "not to be had"

    if first.depth == 0.0:
        return "none in the wedge: the skin holds the whole head"
    for_what = "for the dimple" if plan.dimpled else "below the skin"
    wide = (
        f"{for_what} {say_length(first.diameter, units)} wide and {say_length(first.depth, units)} "
        "deep on the hole's axis."
    )
    if not kept:
        return f"{wide} No stop is told: at no hole does it leave a land"
    edge = "the hole's edge" if plan.dimpled else "the edge of the hole in the wedge"
    wide += (
        f" Stop: {said(lambda one: one.stop)} from where the cutter touches {edge}, pilot in the "
        f"hole. Rim {said(lambda one: one.rim_high)} higher where the wedge is thicker, "
        f"{said(lambda one: one.rim_low)} lower on the other side"
    )
    if not plan.dimpled:
        return wide
    return (
        f"{wide}. The dimple's low side goes in at {said(_low_side_stop)} from touch: begin at the "
        "first in scrap, and go on toward the second until the skin lies down"
    )


def say_flush_well(job: Job, plan: RivetPlan) -> str:
    """Return what the handbooks set a flush shop head into; empty where no table has the size.

    Args:
        job: what was asked.
        plan: its rivet.
    """
    well = rivets.flush_well(plan.dash)
    if well is None:
        return ""
    least, wide = (say_length(value, job.units) for value in well)
    return (
        f"handbooks set it into a machined 82 degree well {wide} wide, in metal at least {least} "
        "thick"
    )


def _flush_shop_head(job: Job, plan: RivetPlan) -> tuple[ShopLine, ...]:
    """Say what is not worked out where a protruding rivet's shop head is set flush."""
    if plan.rivet.form == "flush" or plan.rivet.shop_head != "flush":
        return ()
    parts = ["flush: its countersink, stop and land are not worked out", say_flush_well(job, plan)]
    return (
        ShopLine(
            what="shop head",
            said=f"{'; '.join(filter(None, parts))}; your plans must say",
            source=f"{rivets.FLUSH_SOURCE_NONE}; {rivets.WELL_SOURCE}",
            brief="Flush shop head: countersink, stop and land as your plans say",
        ),
    )


def _land(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> tuple[ShopLine, ...]:
    least = least_land(holes)
    if least is None or least.land is None or least.straight is None or skins_hold_heads(holes):
        return ()
    left, straight = say_length(least.land, job.units), say_length(least.straight, job.units)
    between = "between the two countersinks" if plan.opposed else "under the one countersink"
    where, on_axis, let_in = f"at hole {least.number}", "", ""
    if plan.dimpled:
        where += ", sunk for the low side"
        on_axis, let_in = f"{straight} as set on the axis", ", low side let in"
    axis = f" ({on_axis})" if on_axis else ""
    said = f"least {left} of straight hole {between}, {where}{axis}; {SCRAP}"
    brief = f"Least land {left}, hole {least.number}{let_in}"
    if least.land <= 0.0:
        said = f"none {between} {where}: {left}{axis}; {SCRAP}"
        through = (
            "the countersinks run into each other"
            if plan.opposed
            else ("the countersink runs through the wedge")
        )
        brief = f"No land at hole {least.number}: {through}"
    return (ShopLine(what="land", said=said, source=rules.LAND_SOURCE, brief=brief),)


def skins_hold_heads(holes: Sequence[HoleResult]) -> bool:
    """Return whether thick, countersunk skins hold every head, so that the wedge is left alone.

    Args:
        holes: with their countersinks.
    """
    both = [one for hole in holes for one in (hole.countersink_a, hole.countersink_b)]
    return bool(both) and all(one is not None and one.depth == 0.0 for one in both)


def least_land(holes: Sequence[HoleResult]) -> HoleResult | None:
    """Return the hole that is drilled now whose countersinks leave least; None where not known.

    Args:
        holes: with their countersinks.
    """
    known = [(hole.land, hole.number, hole) for hole in holes if hole.drill_now]
    judged = [(land, number, hole) for land, number, hole in known if land is not None]
    return min(judged, key=lambda row: row[:2])[2] if judged else None


def _axes(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> tuple[ShopLine, ...]:
    if plan.rivet.form != "flush" or not plan.dimpled:
        return ()
    parts = []
    for side, angles in zip(
        job.sides,
        ([h.angles.skin_a for h in holes], [h.angles.skin_b for h in holes]),
        strict=True,
    ):
        low, high = (say_angle(value) for value in (min(angles), max(angles)))
        low = low if low == high else f"{low.removesuffix(' deg')} to {high}"
        parts.append(f"{side} {low}")
    said = f"dimple square to the skin, countersink to the chord plane, apart by {', '.join(parts)}"
    return (ShopLine(what="dimple axis", said=said, source="definition: the skin angle"),)
