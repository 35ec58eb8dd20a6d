"""What would leave a land where countersinks run into each other: each remedy is tried first.

A remedy that does not help sends the builder round once more, so that only what leaves enough by
the same arithmetic as the land itself is offered.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from jiggen.facts import rivets, rules
from jiggen.facts.drills import Drill, next_metric_drill, read_drill
from jiggen.job.sections import Job, Rivet
from jiggen.shop.rivet_plan import RivetPlan, plan_rivets, with_rivets
from jiggen.shop.rivet_words import least_land
from jiggen.solution import HoleResult
from jiggen.units import say_length

SAME_SHANK = 0.01
"""Shanks within this, mm, are of one size."""

SAME_ANGLE = 0.5
"""Head angles within this, degrees, are the same."""

METRIC_ROOM = 0.1
"""mm. What the usual holes for metric rivets are wider than the shank (from memory)."""


def land_remedies(
    job: Job, plan: RivetPlan, holes: Sequence[HoleResult], depth: float | None
) -> str:
    """Say which smaller rivet, hole line or shop head leaves a land at every hole.

    Args:
        job: what was asked.
        plan: its rivet.
        holes: those that are drilled now, with their countersinks.
        depth: least depth of the wedge at a hole, mm, or None.

    Returns:
        Words that follow a semicolon; where nothing of it helps they say that.

    Source: derived geometry, as the land.
    """
    tried = {
        "smaller rivet in the table": _smaller(job, plan, holes),
        "hole line that the wedge has room for": _forward(job, plan, holes, depth),
        "bucked head": _bucked(job, plan, holes),
    }
    offered = [words for words in tried.values() if words]
    if offered:
        return f"what leaves more: {', or '.join(offered)}"
    none = [f"no {what}" for what, words in tried.items() if words is not None]
    if not none:
        return "a smaller rivet, or a thicker wedge, leaves more"
    return f"{' and '.join(none)} leaves enough: the wedge is too thin there"


def _enough(job: Job, land: float) -> bool:
    return land > 0.0 and land >= (job.allow.land or 0.0)


def _land_of(job: Job, rivet: Rivet, holes: Sequence[HoleResult]) -> float | None:
    """Return the least land with another rivet, mm, or None where it does not suit the hole."""
    changed = replace(job, rivet=rivet)
    least = least_land(with_rivets(changed, plan_rivets(changed), holes))
    return None if least is None else least.land


def _bucked(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> str | None:
    """Say what one countersink leaves; empty where too little, None where one is cut anyhow."""
    if not plan.opposed:
        return None
    land = _land_of(job, replace(plan.rivet, shop_head="bucked"), holes)
    if land is None or not _enough(job, land):
        return ""
    return f"a bucked head on one side ({say_length(land, job.units)} of land)"


def _smaller(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> str | None:
    """Return the largest smaller rivet that leaves enough; None where no table holds for the job.

    The head angle stays, so only a rivet of the angle that the table is for is looked up there.
    """
    row, old = job.holes, plan.rivet
    if row is None or old.diameter is None:
        return None
    for called, diameter, head, drill in _series(plan):
        if diameter >= old.diameter - SAME_SHANK:
            continue
        rivet = replace(old, size=called, diameter=diameter, head=head)
        smaller = replace(job, holes=replace(row, drill=drill.diameter, drill_name=drill.name))
        land = _land_of(smaller, rivet, holes)
        if land is not None and _enough(job, land):
            said = say_length(land, job.units)
            return f"a {called} rivet in {drill.name} holes ({said} of land)"
    return "" if _series(plan) else None


def _series(plan: RivetPlan) -> list[tuple[str, float, float, Drill]]:
    """Return size, shank, head and drill of the rivets of the same kind, the largest first."""
    angle = math.degrees(plan.rivet.angle)
    if plan.dash and abs(angle - rivets.INCH_FLUSH_ANGLE) < SAME_ANGLE:
        return [
            (dash, one.diameter, one.head, read_drill(rivets.usual_drills(dash)[0]))
            for dash, one in reversed(rivets.FLUSH_RIVETS.items())
        ]
    if not plan.dash and abs(angle - rivets.METRIC_FLUSH_ANGLE) < SAME_ANGLE:
        found = []
        for size, other in reversed(rivets.METRIC_FLUSH.items()):
            drill = next_metric_drill(other.diameter + METRIC_ROOM)
            if drill is not None:
                named = Drill(diameter=drill, name=f"{drill:g} mm")
                found.append((size, other.diameter, other.head, named))
        return found
    return []


def _forward(
    job: Job, plan: RivetPlan, holes: Sequence[HoleResult], depth: float | None
) -> str | None:
    """Return a hole line so far forward that the wedge is thick enough at every hole."""
    if job.holes is None:
        return None
    least, needed = job.allow.land or 0.0, job.holes.line
    for hole in (hole for hole in holes if hole.land is not None and hole.land <= least):
        opening = math.tan(hole.angles.skin_a) + math.tan(hole.angles.skin_b)
        if opening <= 0.0:
            return ""
        needed = max(needed, job.holes.line + (least - (hole.land or 0.0)) / opening)
    diameter = plan.rivet.diameter or job.holes.drill
    if depth is not None and needed > depth - rules.EDGE_DISTANCE_MIN * diameter:
        return ""
    return f"a hole line more than about {say_length(needed, job.units)} from the trailing edge"
