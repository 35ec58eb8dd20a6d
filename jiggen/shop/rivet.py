"""The rivet: does the drill suit it, what drift does its hole bear, how long must it be.

What a hole needs follows from its own grip and its own slope, so nothing here is one number for the
whole edge unless the wedge is of one section. No length is told until the job says which shop head
is made, and no other size of rivet is ever proposed: the plans give it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from jiggen.facts import rivets
from jiggen.facts.drills import METRIC_SOURCE, next_metric_drill, read_drill
from jiggen.geometry import riveting
from jiggen.geometry.holes import LEAST_DRIFT, drift_left, skin_hole, usual_drift
from jiggen.geometry.riveting import FlushSet
from jiggen.shop.checks import NEEDS_THICKNESS, unchecked
from jiggen.shop.countersink import (
    DEFINITION,
    call_rivet,
    countersink_checks,
    countersink_lines,
    countersunk,
    skins_of,
)
from jiggen.shop.spacing import spacing_checks
from jiggen.solution import Check, HoleResult, ShopLine, Status, Trial
from jiggen.units import Angle, Length, Words, fine, joined, span, words

if TYPE_CHECKING:
    from jiggen.geometry.trim import TrimPlan
    from jiggen.job.sections import Holes, Job, Rivet

OWN_ALLOWANCE = "the job's own allowance"
SAY_WHICH = 'state rivet.shop_head, "bucked" or "flush": the length follows from the head'
SAME_HOLE = 0.04
"""Drills within this, mm, are the same hole: half of a step of metric drills."""
SAME_LENGTH = 1e-6
MOST_NAMED = 3
"""Lengths that are named one by one in a short line."""
MOST_LOTS = 8
"""Runs of holes that are listed one by one."""


class RivetPlan(Struct, frozen=True, kw_only=True):
    """The rivet of a job, with what the tables say of it."""

    rivet: Rivet  # as the job states it
    dash: str  # its dash number, e.g. ``-3``; empty for a metric rivet or an odd diameter
    step: float  # from one standard length to the next, mm
    # what stands out before the shop head is set, in diameters; None where the length goes by
    # volume, or by nothing that is known
    allowance: float | None
    source: str  # where the length comes from

    @property
    def by_volume(self) -> bool:
        """Return whether the length follows from what the shop head must fill."""
        r = self.rivet
        known = r.form == "flush" and r.diameter is not None and r.head is not None
        return r.shop_head == "flush" and known and self.allowance is None

    def flush_set(self, hole: float) -> FlushSet:
        """Return the rivet in its well, see `by_volume`; `hole` in mm."""
        r = self.rivet
        return FlushSet(
            diameter=r.diameter or 0.0, head=r.head or 0.0, hole=hole, half_angle=r.angle / 2.0
        )


class Lot(Struct, frozen=True, kw_only=True):
    """A run of neighbouring holes that take rivets of one length."""

    code: str  # what they are called, e.g. ``3-4``; empty where they have no such name
    length: float  # mm
    holes: tuple[HoleResult, ...]  # the holes that are drilled now


def plan_rivets(job: Job) -> RivetPlan | None:
    """Return the rivet of a job; None where it states none."""
    rivet = job.rivet
    if rivet is None:
        return None
    dash = rivets.dash_of(rivet.diameter)
    flush = rivet.shop_head == "flush"
    # A rivet called by a metric size comes in whole mm, whatever the job counts in.
    inches = bool(dash) or (job.units == "in" and rivet.size not in rivets.METRIC_FLUSH)
    step = rivets.METRIC_LENGTH_STEP
    if inches:
        step = rivets.HALF_LENGTH_STEP if rivet.half_sizes or flush else rivets.LENGTH_STEP
    allowance, source = rivet.allowance, OWN_ALLOWANCE
    if not rivet.shop_head:
        allowance, source = None, SAY_WHICH
    elif allowance is None and flush:
        source = rivets.FLUSH_LENGTH_SOURCE
    elif allowance is None:
        allowance, source = rivets.BUCKED_ALLOWANCE, rivets.BUCKED_SOURCE
    return RivetPlan(rivet=rivet, dash=dash, step=step, allowance=allowance, source=source)


def with_rivets(job: Job, plan: RivetPlan | None, holes: Sequence[HoleResult]) -> list[HoleResult]:
    """Return the holes with what each needs of rivet and countersink; None where not known."""
    if plan is None or job.holes is None:
        return list(holes)
    return [countersunk(job, _measured(plan, job.holes.drill, hole)) for hole in holes]


def _measured(plan: RivetPlan, drill: float, hole: HoleResult) -> HoleResult:
    """Return a hole with the length of its rivet."""
    grip, diameter = hole.grip, plan.rivet.diameter
    if grip is None or diameter is None:
        return hole
    if plan.by_volume:
        one = plan.flush_set(drill)
        if drill <= diameter or one.head <= drill or one.fill(grip, grip) is None:
            return hole
        needed, ordered = one.length(grip), one.trial(grip, plan.step)[1]
    elif plan.allowance is not None:
        needed = riveting.rivet_length(grip, diameter, plan.allowance)
        nearest = plan.rivet.rounding == "nearest"
        ordered = riveting.standard_length(needed, plan.step, nearest=nearest)
    else:
        return hole
    return replace(
        hole, rivet_length=needed, rivet_ordered=ordered, rivet_code=_code(plan, ordered)
    )


def _code(plan: RivetPlan, length: float) -> str:
    if not plan.dash:
        return ""
    return rivets.rivet_code(plan.dash, round(length / rivets.LENGTH_STEP, 1))


def lots(holes: Sequence[HoleResult]) -> list[Lot]:
    """Return the runs of neighbours, of the holes drilled now, that take one length of rivet."""
    riveted = [hole for hole in holes if hole.drill_now and hole.rivet_ordered is not None]
    runs = [tuple(run) for _, run in groupby(riveted, key=lambda hole: hole.rivet_ordered)]
    return [
        Lot(code=run[0].rivet_code, length=run[0].rivet_ordered or 0.0, holes=run) for run in runs
    ]


def flush_trials(
    job: Job, plan: RivetPlan | None, holes: Sequence[HoleResult]
) -> tuple[Trial, ...]:
    """Return for each run of holes the three rivets to try in scrap, see `FlushSet`.

    Empty where no shop head is set flush, or the grip is not known.
    """
    if plan is None or job.holes is None or not plan.by_volume:
        return ()
    one = plan.flush_set(job.holes.drill)
    trials = []
    for lot in lots(holes):
        grips = [hole.grip for hole in lot.holes if hole.grip is not None]
        grip = sum(grips) / len(grips)
        lengths = [lot.length + k * plan.step for k in (-1, 0, 1)]
        trials.append(
            Trial(
                first=lot.holes[0].number,
                last=lot.holes[-1].number,
                grip=grip,
                rivets=tuple((x, _code(plan, x), one.fill(x, grip) or 0.0) for x in lengths),
            )
        )
    return tuple(trials)


# --- the drift that the hole bears


def allowed_drift(job: Job, holes: Sequence[HoleResult]) -> float:
    """Return how far a hole may miss at the far skin, mm: as stated, else what its rivet bears."""
    if job.allow.drift is not None:
        return job.allow.drift
    limit, places = _hole_limit(job), _skin_places(job, holes)
    if limit is None or job.holes is None or not places:
        return usual_drift(None)
    drill = job.holes.drill
    return usual_drift(min(drift_left(drill, drill, m, t, limit) for m, t in places))


def _hole_limit(job: Job) -> float | None:
    """Return the widest hole of the job's rivet, mm, or None where none was found."""
    dash = "" if job.rivet is None else rivets.dash_of(job.rivet.diameter)
    return rivets.HOLE_LIMITS[dash][1] if dash in rivets.HOLE_LIMITS else None


def _skin_places(job: Job, holes: Sequence[HoleResult]) -> list[tuple[float, float]]:
    """Return slope and thickness of each skin at each hole that is drilled now."""
    skins = skins_of(job)
    if skins is None:
        return []
    return [
        (abs(math.tan(angle)), skin)
        for hole in holes
        if hole.drill_now
        for angle, skin in zip((hole.angles.skin_a, hole.angles.skin_b), skins, strict=True)
    ]


def _hole_check(job: Job, holes: Sequence[HoleResult]) -> Check:
    """Judge how wide a skin's hole comes out that misses by all that is allowed."""
    limit, places = _hole_limit(job), _skin_places(job, holes)
    keys = ("allow.drift", "holes.drill", "skin.thickness")
    if limit is None or not places or job.holes is None:
        needs = "needs skin.thickness" if limit is not None else "no limits for its hole were found"
        return unchecked("hole-limit", "hole limit", needs, rivets.HOLE_LIMIT_SOURCE, *keys)
    drift, drill = allowed_drift(job, holes), job.holes.drill
    wide, slope, skin = max((skin_hole(drill, drill, m, t, drift), m, t) for m, t in places)
    left = drift_left(drill, drill, slope, skin, limit)
    good = wide <= limit + 1e-9
    why = words(
        "punched, and drilled at {a} and {drift} beside it, a skin's hole comes out {wide} across; "
        "{limit} is allowed{more}",
        a=Angle(math.atan(slope)),
        drift=_micrometres(drift),
        wide=_micrometres(wide),
        limit=_micrometres(limit),
        more="" if good else words(": allow.drift {left} or less", left=Length(left, 3, -1, 4)),
    )
    act = words("Set allow.drift to {left} or less: hole limit.", left=Length(left, 3, -1, 4))
    if left < LEAST_DRIFT:
        act = words("Drill undersize and ream: the slope widens the hole.")
    if left <= 0.0:
        why = words(
            "no drift is left: the slope alone makes the hole oval beyond its limit; drill "
            "undersize and ream, or ask your plans"
        )
    return Check(
        id="hole-limit",
        name="hole limit",
        status="ok" if good else "fail",
        value=wide,
        limit=limit,
        unit="mm",
        why=why,
        source=f"{rivets.HOLE_LIMIT_SOURCE}; width derived: the two outlines together",
        keys=keys,
        act=act,
    )


def _micrometres(mm: float) -> Length:
    return Length(mm, 3, inches=4)


# --- checks


def riveting_checks(
    job: Job,
    plan: RivetPlan | None,
    holes: Sequence[HoleResult],
    depth: float | None,
    trim: TrimPlan | None,
    drift: float,
) -> tuple[Check, ...]:
    """Return the checks of the rivet, its countersink, and the metal round each hole."""
    return (*_rivet_checks(job, plan, holes), *spacing_checks(job, holes, depth, trim, drift))


def _rivet_checks(
    job: Job, plan: RivetPlan | None, holes: Sequence[HoleResult]
) -> tuple[Check, ...]:
    drilled = [hole for hole in holes if hole.drill_now]
    if plan is None or job.holes is None or not drilled:
        missing = []
        if plan is None:
            missing.append("the rivet: state rivet.size, or rivet.diameter and rivet.head")
        if job.holes is None or not drilled:
            missing.append("holes that are drilled now: state [holes]")
        why = f"drill, length, countersink and land need {'; '.join(missing)}"
        return (unchecked("rivet", "rivet", why, rivets.SOURCE, "rivet"),)
    return (
        _drill(plan, job.holes),
        _hole_check(job, drilled),
        *_length(job, plan, drilled),
        *countersink_checks(job, drilled),
    )


def _drill(plan: RivetPlan, holes: Holes) -> Check:
    """Judge whether the drill suits the rivet: by hole limits, else by what is usual."""
    drill, diameter = holes.drill, plan.rivet.diameter
    if diameter is None:
        needs = "needs the rivet's shank: state rivet.size or rivet.diameter"
        return unchecked("drill", "drill for the rivet", needs, rivets.USUAL_DRILL_SOURCE, "rivet")
    called = call_rivet(plan.rivet)
    usual = rivets.USUAL_DRILLS.get(plan.dash, ())
    others = f", {' and '.join(usual[1:])} in use too" if usual[1:] else ""
    more = f"; {usual[0]} is the usual drill{others}" if usual else ""
    if drill <= diameter:
        larger = next_metric_drill(diameter + 1e-6)
        if not usual and larger is not None:
            more = f"; {larger:g} mm is the drill for it"
        no_wider = words(
            "a {called} does not go into a hole that is no wider than its shank{more}",
            called=called,
            more=more,
        )
        return _judged(holes, "fail", no_wider, DEFINITION, diameter)
    if (limits := rivets.HOLE_LIMITS.get(plan.dash)) is not None:
        good = limits[0] <= drill <= limits[1]
        within = words(
            "a hole for a {called} is {low} to {high} wide{more}",
            called=called,
            low=fine(limits[0]),
            high=fine(limits[1]),
            more=more if good else f"; {holes.drill_name} is outside of that",
        )
        source = f"{rivets.HOLE_LIMIT_SOURCE}; {rivets.USUAL_DRILL_SOURCE}"
        nearer = limits[0] if drill < limits[0] else limits[1]
        return _judged(holes, "ok" if good else "fail", within, source, nearer)
    if drill > (most := rivets.OVERSIZE * diameter) + 1e-6:
        loose = words(
            "{drill} is wider than a {called} fills, whose shank is {shank}: ask your plans which "
            "of the two is meant{more}",
            drill=holes.drill_name,
            called=called,
            shank=fine(diameter),
            more=more,
        )
        return _judged(holes, "fail", loose, rivets.OVERSIZE_SOURCE, most)
    known, source = [read_drill(one).diameter for one in usual], rivets.USUAL_DRILL_SOURCE
    if not known and (metric := rivets.METRIC_HOLES.get(round(diameter, 3))) is not None:
        known, source = [metric], rivets.METRIC_HOLE_SOURCE
        more = f"; a {metric:g} mm drill is usual"
    if not known:
        larger = next_metric_drill(diameter + 1e-6)
        untabled = words(
            "no table of holes for a {called} was found; the hole is wider than the shank by "
            "{play}{more}",
            called=called,
            play=fine(drill - diameter),
            more="" if larger is None else f"; the next metric drill over it is {larger:g} mm",
        )
        return _judged(holes, "not checked", untabled, METRIC_SOURCE)
    good = min(abs(drill - one) for one in known) <= SAME_HOLE
    why = words(
        "{drill} {suits} a {called}{more}",
        drill=holes.drill_name,
        suits="suits" if good else "is not usual for",
        called=called,
        more=more,
    )
    return _judged(holes, "ok" if good else "warn", why, source, known[0])


def _judged(
    holes: Holes, status: Status, why: str | Words, source: str, limit: float | None = None
) -> Check:
    act = words("Check drill and rivet: {drill} does not suit it.", drill=holes.drill_name)
    return Check(
        id="drill",
        name="drill for the rivet",
        status=status,
        value=holes.drill,
        limit=limit,
        unit="mm",
        why=why,
        source=source,
        keys=("holes.drill", "rivet.size"),
        act=act,
    )


def _length(job: Job, plan: RivetPlan, holes: Sequence[HoleResult]) -> Iterator[Check]:
    """Say what a length needs; compare the one that is on the bag with what each hole takes."""
    name, rivet = "rivet length", plan.rivet
    found = lots(holes)
    if not rivet.shop_head:
        yield unchecked("rivet-length", name, SAY_WHICH, plan.source, "rivet.shop_head")
    elif not found:
        missing = [] if rivet.diameter is not None else ["rivet.size or rivet.diameter"]
        missing += [] if job.skin is not None else ["skin.thickness"]
        missing += [NEEDS_THICKNESS] if any(h.thickness is None for h in holes) else []
        needs = f"needs {', '.join(missing)}" if missing else (
            "no length is known for a shop head that is set flush into this grip; state "
            "rivet.allowance, in diameters, from your plans"
        )  # fmt: skip
        yield unchecked("rivet-length", name, needs, plan.source, "rivet.allowance")
    elif rivet.bag_length is not None:
        yield _on_the_bag(plan, rivet.bag_length, found)
    elif plan.by_volume:
        why = "by volume; no published length was found: try three in scrap, see SHOP HEAD"
        yield unchecked("rivet-length", name, why, plan.source, "rivet.allowance")


def _on_the_bag(plan: RivetPlan, bag: float, found: Sequence[Lot]) -> Check:
    """Compare the length on the bag; for a flush shop head any of the three to try will do."""
    reach = (plan.step if plan.by_volume else 0.0) + SAME_LENGTH
    other = [lot for lot in found if abs(lot.length - bag) > reach]
    why = words("{bag} as on the bag does for every hole", bag=fine(bag))
    if other:
        why = words(
            "{bag} on the bag, but {lots}{more}; your plans win",
            bag=fine(bag),
            lots=joined([_say_lot(lot) for lot in other[:2]]),
            more=f" and {len(other) - 2} more runs" if len(other) > 2 else "",
        )
    return Check(
        id="rivet-length",
        name="rivet length",
        status="warn" if other else "ok",
        value=bag,
        limit=(other or found)[0].length,
        unit="mm",
        why=why,
        source=f"{plan.source}; {_step_source(plan)}",
        keys=("rivet.size", "rivet.shop_head"),
        act=_about_the_bag(bag, other, found),
    )


def _about_the_bag(bag: float, other: Sequence[Lot], found: Sequence[Lot]) -> Words:
    """Say that a bag is a wrong one, or which holes it is not for."""
    if len(other) == len(found):
        return words("Check the bag: rivets {bag} long are not meant.", bag=fine(bag))
    some, every = (sum(len(lot.holes) for lot in lots) for lots in (other, found))
    which = f"{some} of {every} holes"
    if len(other) <= 2:
        runs = [(lot.holes[0].number, lot.holes[-1].number) for lot in other]
        said = [f"{first} to {last}" if last > first else f"{first}" for first, last in runs]
        which = f"hole{'s' if some > 1 else ''} {', '.join(said)}"
    return words("Rivets {bag} long: not for {which}.", bag=fine(bag), which=which)


def _step_source(plan: RivetPlan) -> str:
    if plan.step == rivets.METRIC_LENGTH_STEP:
        return rivets.METRIC_LENGTH_SOURCE
    nearest = plan.rivet.rounding == "nearest"
    return rivets.NEAREST_SOURCE if nearest else rivets.NEAREST_ABOVE_SOURCE


# --- what is told


def shop_lines(
    job: Job, plan: RivetPlan | None, holes: Sequence[HoleResult], *, sure: bool = True
) -> tuple[ShopLine, ...]:
    """Return the lines of rivet and countersink; none where the job states no rivet.

    Args:
        job: what was asked.
        plan: its rivet, or None.
        holes: along the span, with their rivets and countersinks.
        sure: whether it is known where the trailing edge lies, from which the grip counts.
    """
    drilled = [hole for hole in holes if hole.drill_now]
    if plan is None or not drilled:
        return ()
    return (
        _rivet(plan),
        *_grip(drilled, sure=sure),
        _length_line(plan, job, drilled),
        *countersink_lines(job, drilled),
    )


def _say_lot(lot: Lot) -> Words:
    """Return ``3-4 (0.2500 in): holes 2 to 18, 17 of them``."""
    first, last = lot.holes[0].number, lot.holes[-1].number
    return words(
        "{code} ({length}): {which}" if lot.code else "{length} long: {which}",
        code=lot.code,
        length=fine(lot.length),
        which=f"hole {first}"
        if first == last
        else f"holes {first} to {last}, {len(lot.holes)} of them",
    )


def _rivet(plan: RivetPlan) -> ShopLine:
    rivet = plan.rivet
    parts: list[str | Words] = [call_rivet(rivet)]
    if rivet.diameter is not None:
        parts.append(words("shank {wide}", wide=fine(rivet.diameter)))
    if rivet.head is not None:
        angle = f", {math.degrees(rivet.angle):g} deg" if rivet.form == "flush" else ""
        parts.append(words("head {wide}{angle}", wide=fine(rivet.head), angle=angle))
    source = "the job's own numbers"
    if rivet.size and rivet.form == "flush":
        source = rivets.SOURCE if plan.dash else rivets.METRIC_FLUSH_SOURCE
    elif rivet.size:
        source = rivets.UNIVERSAL_SOURCE if plan.dash else rivets.METRIC_ROUND_SOURCE
    size = plan.dash or rivet.size or (fine(rivet.diameter) if rivet.diameter else "")
    called = words("{size}, {form}" if size else "{form}", size=size, form=rivet.form)
    return ShopLine(what="rivet", said=joined(parts, ", "), source=source, brief=called)


def _grip(holes: Sequence[HoleResult], *, sure: bool) -> Iterator[ShopLine]:
    grips = [hole.grip for hole in holes if hole.grip is not None]
    if grips:
        said = words(
            "{grip}, both skins included{if_edge}",
            grip=span(grips),
            if_edge="" if sure else ", if the rear line is the trailing edge itself: state rear_at",
        )
        yield ShopLine(what="grip", said=said, source="derived", brief=span(grips))


def _length_line(plan: RivetPlan, job: Job, holes: Sequence[HoleResult]) -> ShopLine:
    found, rivet = lots(holes), plan.rivet
    said: str | Words = "state rivet.allowance, in diameters, from your plans"
    brief: str | Words = "see plans"
    sources = [plan.source]
    if not rivet.shop_head:
        said = SAY_WHICH
    elif found:
        parts: list[str | Words] = [_say_lot(lot) for lot in found[:MOST_LOTS]]
        if len(found) > MOST_LOTS:
            parts.append(f"and {len(found) - MOST_LOTS} more runs of holes")
        said = joined(parts)
        brief = words("{try_}{named}", try_="try " if plan.by_volume else "", named=_brief(found))
        if plan.by_volume:
            shown = flush_trials(job, plan, holes)[0]
            fills = ", ".join(f"{fill:.2f}" for _, _, fill in shown.rivets)
            said = words(
                "{said}; by volume: a step shorter, this, a step longer fill {fills} of the well; "
                "try all three in scrap",
                said=said, fills=fills,
            )  # fmt: skip
        elif rivet.shop_head == "bucked" and rivet.diameter is not None:
            head, by = _bucked_head(plan, rivet.diameter)
            said = joined([said, head])
            sources.append(by)
        sources.append(_step_source(plan))
    return ShopLine(what="length", said=said, source="; ".join(sources), brief=brief)


def _brief(found: Sequence[Lot]) -> Words:
    """Say the lengths, each with its holes where two runs are all; shortest first where not."""
    called = [lot.code or words("{x}", x=fine(lot.length)) for lot in found]
    if len(found) == 2:
        holes = [(lot.holes[0].number, lot.holes[-1].number) for lot in found]
        parts = [f"{{x}} holes {a}-{b}" if a != b else f"{{x}} hole {a}" for a, b in holes]
        return joined([words(part, x=x) for part, x in zip(parts, called, strict=True)], ", ")
    by_length = {lot.length: x for lot, x in zip(found, called, strict=True)}
    some = [by_length[length] for length in sorted(by_length)]
    if len(some) > MOST_NAMED:
        return joined([some[0], some[-1]], " to ")
    return joined(some, ", ")


def _bucked_head(plan: RivetPlan, diameter: float) -> tuple[Words, str]:
    """Say how wide and how high a bucked head must be, and where that comes from."""
    if (limits := rivets.BUCKED_LIMITS.get(plan.dash)) is not None:
        low, most, wide = (fine(size) for size in limits)
        said = "bucked head at least {wide} wide, {low} to {most} high"
        return words(said, wide=wide, low=low, most=most), rivets.BUCKED_LIMITS_SOURCE
    wide, high = (fine(times * diameter) for times in rivets.BUCKED_HEAD)
    said = "bucked head at least {wide} wide, {high} high"
    return words(said, wide=wide, high=high), rivets.BUCKED_HEAD_SOURCE
