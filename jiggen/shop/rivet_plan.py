"""Which rivet goes where, and the countersink that lets it in: the numbers at each hole.

What a hole needs follows from its own grip and its own slope, so nothing here is one number for the
whole edge unless the wedge is of one section.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from jiggen.facts import rivets
from jiggen.geometry import countersink as cone
from jiggen.geometry import riveting
from jiggen.job.sections import Job, Rivet
from jiggen.solution import CountersinkAt, HoleResult

INCH = 25.4
OWN_ALLOWANCE = "the job's own allowance"
SAY_WHICH = "the length follows from the head that is made: bucked or flush"
METRIC_STEP = 1.0
"""From one metric length to the next, mm, where no list was read."""

_RIGHT_ANGLE = math.radians(90.0)
_SAME_ANGLE = math.radians(2.5)
"""BS 4620 calls 87.5 to 92.5 degrees a 90 degree head."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RivetPlan:
    """The rivet of a job, with what the tables say of it.

    Attributes:
        rivet: as the job states it.
        dash: its dash number, e.g. ``-3``; empty for a metric rivet or an odd diameter.
        allowance: what stands out before the shop head is set, in diameters; None where the job
            does not say which head is made, and where no published rule was found.
        source: where the allowance comes from.
        step: from one standard length to the next, mm.
    """

    rivet: Rivet
    dash: str
    allowance: float | None
    source: str
    step: float

    @property
    def opposed(self) -> bool:
        """Return whether both faces are countersunk; a round shop head needs one only."""
        return self.rivet.shop_head != "bucked"

    @property
    def dimpled(self) -> bool:
        """Return whether the skins are dimpled, so that a countersink has a low side to let in."""
        return self.rivet.skins == "dimpled"

    @property
    def step_source(self) -> str:
        """Return where the rule for the standard length comes from."""
        if self.step == METRIC_STEP:
            return rivets.METRIC_LENGTH_SOURCE
        nearest = self.rivet.rounding == "nearest"
        return rivets.NEAREST_SOURCE if nearest else rivets.NEAREST_ABOVE_SOURCE


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """A run of neighbouring holes that take rivets of one length.

    Attributes:
        code: what they are called; empty where they have no such name.
        length: mm.
        first: number of the first hole.
        last: number of the last.
        count: how many of them are drilled now.
    """

    code: str
    length: float
    first: int
    last: int
    count: int


def plan_rivets(job: Job) -> RivetPlan | None:
    """Return the rivet of a job; None where it states none.

    Args:
        job: what was asked.

    Source: see `jiggen.facts.rivets`.
    """
    rivet = job.rivet
    if rivet is None:
        return None
    dash = "" if rivet.diameter is None else rivets.dash_of(rivet.diameter)
    allowance, source = _allowance(rivet, dash)
    # A rivet called by a metric size comes in whole mm, whatever the job counts in.
    inches = bool(dash) or (job.units == "in" and rivet.size not in rivets.METRIC_FLUSH)
    return RivetPlan(
        rivet=rivet,
        dash=dash,
        allowance=allowance,
        source=source,
        step=(INCH / 32 if rivet.half_sizes else INCH / 16) if inches else METRIC_STEP,
    )


def _allowance(rivet: Rivet, dash: str) -> tuple[float | None, str]:
    if not rivet.shop_head:
        return None, SAY_WHICH
    if rivet.allowance is not None:
        return rivet.allowance, OWN_ALLOWANCE
    if rivet.shop_head != "flush":
        return rivets.BUCKED_ALLOWANCE, rivets.BUCKED_SOURCE
    if not dash and abs(rivet.angle - _RIGHT_ANGLE) <= _SAME_ANGLE:
        return rivets.FLUSH_ALLOWANCE_90, rivets.FLUSH_SOURCE_90
    return None, rivets.FLUSH_SOURCE_NONE


def with_rivets(job: Job, plan: RivetPlan | None, holes: Iterable[HoleResult]) -> list[HoleResult]:
    """Return the holes with what each needs of rivet and countersink.

    Args:
        job: what was asked.
        plan: its rivet, or None.
        holes: as solved, with their grip.

    Returns:
        The same holes; values stay None where the job lacks an input.
    """
    if plan is None or job.holes is None:
        return list(holes)
    return [_lands(plan, _countersunk(job, plan, _length(plan, hole))) for hole in holes]


def _length(plan: RivetPlan, hole: HoleResult) -> HoleResult:
    diameter = plan.rivet.diameter
    if hole.grip is None or diameter is None or plan.allowance is None:
        return hole
    needed = riveting.rivet_length(hole.grip, diameter, plan.allowance)
    ordered = riveting.standard_length(needed, plan.step, nearest=plan.rivet.rounding == "nearest")
    code = rivets.rivet_code(plan.dash, round(ordered * 16 / INCH, 1)) if plan.dash else ""
    return replace(hole, rivet_length=needed, rivet_ordered=ordered, rivet_code=code)


def _countersunk(job: Job, plan: RivetPlan, hole: HoleResult) -> HoleResult:
    if job.skin is None or job.holes is None or plan.rivet.form != "flush":
        return hole
    drill = job.holes.drill
    skins = zip(job.skin.thickness, (hole.angles.skin_a, hole.angles.skin_b), strict=True)
    a, b = (countersink_at(plan.rivet, drill, skin, angle) for skin, angle in skins)
    return replace(hole, countersink_a=a, countersink_b=b, straight=None, land=None)


def countersink_at(
    rivet: Rivet, drill: float, skin: float, skin_angle: float
) -> CountersinkAt | None:
    """Return the countersink in the wedge under one skin.

    Args:
        rivet: with a flush head.
        drill: diameter of the hole, mm.
        skin: thickness of the skin over the wedge, mm.
        skin_angle: of that face, radians.

    Returns:
        The countersink; None where the head is not known or is no wider than the hole. A
        countersunk skin that holds the whole head leaves one of depth 0.

    Source: derived geometry, see DEVELOPERS.md, Countersink.
    """
    if rivet.head is None or rivet.head <= drill:
        return None
    half, slope = rivet.angle / 2.0, math.tan(skin_angle)
    if rivet.skins == "dimpled":
        diameter = cone.nesting_diameter(rivet.head, skin, half)
    else:  # what the cone in the skin still cuts of the wedge below it
        diameter = max(rivet.head - 2.0 * skin * math.tan(half), drill)
    depth = cone.cone_depth(diameter, drill, half)
    if depth is None:
        return CountersinkAt(
            diameter=drill, depth=0.0, sunk=0.0, stop=0.0, rim_high=None, rim_low=None
        )
    rim = cone.rim(diameter, half, slope)
    dimpled = rivet.skins == "dimpled"
    return CountersinkAt(
        diameter=diameter,
        depth=depth,
        sunk=cone.sunk_for_the_low_side(depth, diameter, slope) if dimpled else depth,
        stop=cone.travel_from_touch(depth, drill, slope),
        rim_high=None if rim is None else rim.high,
        rim_low=None if rim is None else rim.low,
    )


def _lands(plan: RivetPlan, hole: HoleResult) -> HoleResult:
    a, b = hole.countersink_a, hole.countersink_b
    if a is None or b is None or hole.thickness is None:
        return hole
    if plan.opposed:
        return replace(
            hole,
            straight=cone.land(hole.thickness, a.depth, b.depth),
            land=cone.land(hole.thickness, a.sunk, b.sunk),
        )
    return replace(
        hole,
        straight=cone.land(hole.thickness, max(a.depth, b.depth), 0.0),
        land=cone.land(hole.thickness, max(a.sunk, b.sunk), 0.0),
    )


def lots(holes: Iterable[HoleResult]) -> list[Lot]:
    """Return the runs of neighbouring holes that take rivets of one length.

    Args:
        holes: along the span, with their rivets.

    Returns:
        Lots in the order of the span; holes that are not drilled now are not counted.
    """
    found: list[Lot] = []
    for hole in holes:
        if not hole.drill_now or hole.rivet_ordered is None:
            continue
        last = found[-1] if found else None
        if last is not None and abs(last.length - hole.rivet_ordered) < 1e-6:
            found[-1] = replace(last, last=hole.number, count=last.count + 1)
        else:
            found.append(
                Lot(
                    code=hole.rivet_code,
                    length=hole.rivet_ordered,
                    first=hole.number,
                    last=hole.number,
                    count=1,
                )
            )
    return found
