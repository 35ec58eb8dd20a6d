"""Which rivet, and how to set the countersink, in words for the terminal and the cover page."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from jiggen.errors import Sentence
from jiggen.facts import rivets, rules
from jiggen.job.sections import Job
from jiggen.shop.rivet_plan import Lot, RivetPlan, lots
from jiggen.solution import CountersinkAt, HoleResult, ShopLine
from jiggen.units import Words, fine, joined, say_angle, span, words

SCRAP = "derived geometry: try it in scrap first"
SHOP_HEAD = 'rivet.shop_head, "bucked" or "flush": no length is told before the head is known'
MOST_LOTS = 8
"""Runs of holes that are listed one by one."""


def shop_lines(
    job: Job, plan: RivetPlan | None, holes: Sequence[HoleResult], *, sure: bool = True
) -> tuple[ShopLine, ...]:
    """Return the lines of rivet and countersink; none where the job states no rivet.

    Args:
        job: what was asked.
        plan: its rivet, or None.
        holes: along the span, with their rivets and countersinks.
        sure: whether it is known where the trailing edge lies, from which the grip counts.

    Source: each line names its own.
    """
    drilled = [hole for hole in holes if hole.drill_now]
    if plan is None or not drilled:
        return ()
    derived = [*_countersinks(job, plan, drilled), *_land(plan, drilled)]
    if derived:
        scrap = f"{SCRAP[:1].upper()}{SCRAP[1:]}"
        derived[-1] = replace(derived[-1], brief=joined([derived[-1].brief, scrap], ". "))
    return (
        _rivet(plan),
        *_lengths(plan, drilled, sure=sure),
        *_to_buy(plan, drilled),
        *_flush_shop_head(plan),
        *derived,
        *_axes(job, plan, drilled),
    )


def call_rivet(plan: RivetPlan) -> Sentence:
    """Return what the rivet is called, by its size or by its diameter.

    Args:
        plan: the rivet.
    """
    rivet = plan.rivet
    kind = f"{rivet.form} rivet"
    if plan.dash or rivet.size:
        return f"{plan.dash or rivet.size} {kind}"
    if rivet.diameter is None:
        return kind
    return words("{wide} {kind}", wide=fine(rivet.diameter), kind=kind)


def head_source(plan: RivetPlan) -> str:
    """Return where the rivet's head comes from."""
    rivet = plan.rivet
    if not rivet.size:
        return "the job's own numbers"
    if rivet.form == "flush":
        return rivets.SOURCE if plan.dash else rivets.METRIC_FLUSH_SOURCE
    return rivets.UNIVERSAL_SOURCE if plan.dash else rivets.METRIC_ROUND_SOURCE


def say_lot(lot: Lot) -> Words:
    """Return ``3-4 (0.2500 in): holes 2 to 18, 17 of them``.

    Args:
        lot: a run of holes.
    """
    which = f"holes {lot.first} to {lot.last}, {lot.count} of them"
    return words(
        "{code} ({length}): {which}" if lot.code else "{length} long: {which}",
        code=lot.code,
        length=fine(lot.length),
        which=f"hole {lot.first}" if lot.first == lot.last else which,
    )


def _rivet(plan: RivetPlan) -> ShopLine:
    rivet = plan.rivet
    parts: list[Sentence] = [call_rivet(plan)]
    if rivet.diameter is not None:
        parts.append(words("shank {wide}", wide=fine(rivet.diameter)))
    if rivet.head is not None:
        angle = f", {math.degrees(rivet.angle):g} deg" if rivet.form == "flush" else ""
        parts.append(words("head {wide}{angle}", wide=fine(rivet.head), angle=angle))
    return ShopLine(
        what="rivet",
        said=joined(parts, ", "),
        source=head_source(plan),
        brief=words("Rivet: {called}", called=call_rivet(plan)),
    )


def _lengths(plan: RivetPlan, holes: Sequence[HoleResult], *, sure: bool) -> Iterator[ShopLine]:
    grips = [hole.grip for hole in holes if hole.grip is not None]
    if not grips:
        return
    said = words("grip {grip}", grip=span(grips))
    brief = words("Grip {grip}", grip=span(grips))
    needed = [hole.rivet_length for hole in holes if hole.rivet_length is not None]
    if not plan.rivet.shop_head:
        said = joined([said, f"state {SHOP_HEAD}"])
        brief = joined([brief, "length once rivet.shop_head is stated"], ", ")
    elif plan.allowance is None:
        said = joined([said, "for a flush shop head no published length was found: the grip only"])
        brief = joined([brief, "length as your plans say"], ", ")
    elif needed:
        head = plan.rivet.shop_head
        said = words(
            "{grip} + {times} D for a {head} shop head = {needed} {measured}",
            grip=said,
            times=f"{plan.allowance:g}",
            head=head,
            needed=span(needed),
            measured="over all, head included" if plan.rivet.form == "flush" else "under the head",
        )
        brief = joined([brief, f"+ {plan.allowance:g} D for a {head} head"], " ")
    if not sure:
        said = joined([said, "the grip holds if the rear line is the edge itself: state rear_at"])
        brief = joined([brief, "(rear_at not stated)"], " ")
    yield ShopLine(what="length", said=said, source=plan.source, brief=brief)


def _to_buy(plan: RivetPlan, holes: Sequence[HoleResult]) -> Iterator[ShopLine]:
    found = lots(holes)
    if not found:
        return
    parts: list[Sentence] = [say_lot(lot) for lot in found[:MOST_LOTS]]
    if len(found) > MOST_LOTS:
        parts.append(f"and {len(found) - MOST_LOTS} more runs of holes")
    said, one = joined(parts), found[0]
    brief = words("Rivets to buy: {said}", said=said)
    if len(found) == 1:
        brief = words(
            "Rivets to buy: {code}{length}, holes {first} to {last}",
            code=f"{one.code}, " if one.code else "",
            length=fine(one.length),
            first=one.first,
            last=one.last,
        )
    sources = [plan.step_source]
    if plan.rivet.shop_head == "bucked" and plan.rivet.diameter is not None:
        wide, high = (fine(times * plan.rivet.diameter) for times in rivets.BUCKED_HEAD)
        head = words("Bucked head at least {wide} wide, {high} high", wide=wide, high=high)
        said = joined([said, head], ". ")
        sources.append(rivets.BUCKED_HEAD_SOURCE)
    yield ShopLine(what="rivets to buy", said=said, source="; ".join(sources), brief=brief)


def _countersinks(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> tuple[ShopLine, ...]:
    lines = []
    for letter, side in zip("ab", job.sides, strict=True):
        found = [getattr(hole, f"countersink_{letter}") for hole in holes]
        known: list[CountersinkAt] = [one for one in found if one is not None]
        if not known:
            continue
        # A stop that cuts through to the other side is no stop.
        kept = [getattr(hole, f"countersink_{letter}") for hole in holes if has_land(hole)]
        stops = [one for one in kept if one is not None]
        lines.append(_one_side(plan, known[0], stops, side))
    if len(lines) == 2 and lines[0].said == lines[1].said:
        found = [hole.countersink_a for hole in holes]
        first = next(one for one in found if one is not None)
        kept = [hole.countersink_a for hole in holes if has_land(hole)]
        both = " and ".join(job.sides)
        return (_one_side(plan, first, [one for one in kept if one is not None], both),)
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


def _one_side(
    plan: RivetPlan, first: CountersinkAt, kept: Sequence[CountersinkAt], side: str
) -> ShopLine:
    return ShopLine(
        what=f"countersink, {side}",
        said=joined([_setting(plan, first, kept), SCRAP]),
        source=countersink_source(plan),
        brief=_brief_side(plan, first, kept, side),
    )


def _brief_side(
    plan: RivetPlan, first: CountersinkAt, kept: Sequence[CountersinkAt], side: str
) -> Sentence:
    if first.depth == 0.0:
        return words("No countersink in the wedge, {side}", side=side)
    stop: Sentence = "no stop, as no hole keeps a land"
    if kept:
        stop = words("stop {stop} from touch", stop=span(one.stop for one in kept))
    if kept and plan.dimpled:
        down = words("skin fully down at {stop}", stop=span(_fully_down(one) for one in kept))
        stop = joined([stop, down], ", ")
    return words(
        "Countersink {side}: {wide} wide, {deep} deep on the axis, {stop}",
        side=side,
        wide=fine(first.diameter),
        deep=fine(first.depth),
        stop=stop,
    )


def _fully_down(one: CountersinkAt) -> float:
    """Return the travel from touch at which the low side of the sloping face takes the dimple."""
    return one.stop + one.sunk - one.depth


def _setting(plan: RivetPlan, first: CountersinkAt, kept: Sequence[CountersinkAt]) -> Sentence:
    def said(number: Callable[[CountersinkAt], float | None]) -> object:
        values = [value for one in kept if (value := number(one)) is not None]
        return span(values) if values else "not to be had"

    if first.depth == 0.0:
        return "none in the wedge: the skin holds the whole head"
    wide = words(
        "{for_what} {wide} wide and {deep} deep on the hole's axis.",
        for_what="for the dimple" if plan.dimpled else "below the skin",
        wide=fine(first.diameter),
        deep=fine(first.depth),
    )
    if not kept:
        return joined([wide, "No stop is told: at no hole does it leave a land"], " ")
    stop = words(
        "Stop: {stop} from where the cutter touches {edge}, pilot in the hole. Rim {high} higher "
        "where the wedge is thicker, {low} lower on the other side",
        stop=said(lambda one: one.stop),
        edge="the hole's edge" if plan.dimpled else "the edge of the hole in the wedge",
        high=said(lambda one: one.rim_high),
        low=said(lambda one: one.rim_low),
    )
    if not plan.dimpled:
        return joined([wide, stop], " ")
    down = words(
        ". The skin lies fully down at {stop} from touch: begin at the first in scrap, and go on "
        "toward the second until it does",
        stop=said(_fully_down),
    )
    return joined([joined([wide, stop], " "), down], "")


def say_flush_well(plan: RivetPlan) -> Sentence:
    """Return what the handbooks set a flush shop head into; empty where no table has the size.

    Args:
        plan: the rivet.
    """
    well = rivets.flush_well(plan.dash)
    if well is None:
        return ""
    return words(
        "handbooks set it into a machined 82 degree well {wide} wide, in metal at least {least} "
        "thick",
        least=fine(well[0]),
        wide=fine(well[1]),
    )


def _flush_shop_head(plan: RivetPlan) -> Iterator[ShopLine]:
    """Say what is not worked out where a protruding rivet's shop head is set flush."""
    if plan.rivet.form == "flush" or plan.rivet.shop_head != "flush":
        return
    well = say_flush_well(plan)
    parts = ["flush: its countersink, stop and land are not worked out", *([well] if well else [])]
    yield ShopLine(
        what="shop head",
        said=joined([*parts, "your plans must say"]),
        source=f"{rivets.FLUSH_SOURCE_NONE}; {rivets.WELL_SOURCE}",
        brief="Flush shop head: countersink, stop and land as your plans say",
    )


def _land(plan: RivetPlan, holes: Sequence[HoleResult]) -> Iterator[ShopLine]:
    least = least_land(holes)
    if least is None or least.land is None or least.straight is None or skins_hold_heads(holes):
        return
    between = "between the two countersinks" if plan.opposed else "under the one countersink"
    axis: Sentence = ""
    if plan.dimpled:
        axis = words(" ({straight} as set on the axis)", straight=fine(least.straight))
    said = words(
        "{least} {between}, at hole {n}{down}{axis}; {scrap}",
        least="none" if least.land <= 0.0 else words("least {left} of straight hole",
                                                     left=fine(least.land)),
        between=between,
        n=least.number,
        down=words(", the skin fully down: {left}", left=fine(least.land))
        if least.land <= 0.0
        else (", the skin fully down" if plan.dimpled else ""),
        axis=axis,
        scrap=SCRAP,
    )  # fmt: skip
    brief = words(
        "Least land {left}, hole {n}{down}",
        left=fine(least.land),
        n=least.number,
        down=", skin fully down" if plan.dimpled else "",
    )
    if least.land <= 0.0:
        through = (
            "the countersinks run into each other"
            if plan.opposed
            else "the countersink runs through the wedge"
        )
        brief = words("No land at hole {n}: {through}", n=least.number, through=through)
    yield ShopLine(what="land", said=said, source=rules.LAND_SOURCE, brief=brief)


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


def _axes(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> Iterator[ShopLine]:
    if plan.rivet.form != "flush" or not plan.dimpled:
        return
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
    yield ShopLine(what="dimple mismatch", said=said, source="definition: the skin angle")
