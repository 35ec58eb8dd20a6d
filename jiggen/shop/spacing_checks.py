"""The shop checks of edge distance and spacing: is there metal enough round every rivet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from jiggen.facts import rules
from jiggen.geometry.riveting import along_the_face
from jiggen.job.sections import Holes, Job
from jiggen.shop.countersink_checks import not_checked
from jiggen.shop.edge_rule import edge_rule
from jiggen.solution import Check, HoleResult, Status
from jiggen.units import say_length

if TYPE_CHECKING:
    from jiggen.geometry.trim import TrimPlan


def spacing_checks(
    job: Job, holes: Sequence[HoleResult], depth: float | None, trim: TrimPlan | None
) -> tuple[Check, ...]:
    """Return the checks of edge distance, pitch and the metal to lightening holes.

    Args:
        job: what was asked.
        holes: as solved.
        depth: least depth of the wedge at a hole, mm, or None.
        trim: how the stock lies under the skins, or None.

    Returns:
        The checks; without a hole line only that of the pitch, which says what it needs.

    Source: each check names its own.
    """
    if job.holes is None or not holes:
        return (_pitch(job, None),)
    return (
        _edge_distance("edge distance, trailing edge", job.holes.line, job),
        _front(job, job.holes, depth),
        *_ends(job),
        _exit(job, job.holes, holes, depth),
        _lightening(job, trim),
        _pitch(job, job.holes),
        *_widest(job, job.holes),
    )


def _edge_distance(name: str, distance: float, job: Job, more: str = "") -> Check:
    """Judge one edge: short of 2 D fails, short of the countersunk 2.5 D is worth a warning."""
    rule = edge_rule(job)
    status: Status = "ok"
    limit, source = rule.usual, rule.usual_source
    why = f"at least {rule.usual:g} {rule.called}"
    if rule.countersunk:
        why += ", as countersunk rivets want"
    if distance < rule.least * rule.one:
        status, limit, source = "fail", rule.least, rules.EDGE_DISTANCE_SOURCE
        why = f"less than {rule.least:g} {rule.called} from the hole's centre to the edge"
    elif distance < rule.usual * rule.one:
        status = "warn"
        why = f"at least {rule.least:g} {rule.called}, but a countersunk rivet wants {rule.usual:g}"
    return Check(
        name=name,
        status=status,
        value=distance,
        limit=limit * rule.one,
        unit="mm",
        why=f"{why}{more}; your plans win",
        source=source,
    )


def _front(job: Job, holes: Holes, depth: float | None) -> Check:
    name = "edge distance, front"
    if depth is None:
        why = "needs the wedge's depth: state wedge.depth"
        return not_checked(name, why, rules.EDGE_DISTANCE_COUNTERSUNK_SOURCE)
    return _edge_distance(name, depth - holes.line, job)


def _ends(job: Job) -> tuple[Check, ...]:
    """Tell what the distance to the part's ends needs; with stock, trim_checks judges it."""
    if job.stock is not None:
        return ()
    why = "needs where the part ends: state stock.length and stock.trim"
    return (not_checked("edge distance, ends", why, rules.EDGE_DISTANCE_SOURCE),)


def _exit(job: Job, holes: Holes, found: Sequence[HoleResult], depth: float | None) -> Check:
    """Judge the far face, where the hole may come out beside its place by the allowed drift.

    It warns at worst: a hole that comes out where it should is judged where it goes in.
    """
    drift = job.allow.drift
    flattest = min(min(abs(hole.angles.skin_a), abs(hole.angles.skin_b)) for hole in found)
    front = math.inf if depth is None else depth - holes.line
    in_plane = min(holes.line, front) - drift
    slope = math.tan(flattest)
    more = (
        f", measured along the face where the drill comes out, {say_length(drift, job.units)} "
        "beside its place as allow.drift permits"
    )
    if depth is None:
        more += "; to the trailing edge alone: the front needs wedge.depth"
    check = _edge_distance("edge distance at the exit", along_the_face(in_plane, slope), job, more)
    if check.status == "ok" and depth is None:
        return replace(check, status="not checked")
    return replace(check, status="warn") if check.status == "fail" else check


def _lightening(job: Job, trim: TrimPlan | None) -> Check:
    name = "edge distance, lightening holes"
    if trim is None or not trim.stock.lightening:
        why = "needs the lightening holes, if there are any: state stock.lightening"
        return not_checked(name, why, rules.EDGE_DISTANCE_SOURCE)
    if trim.best is None:
        why = "no shift of the stock fits, so that it is not known where they lie: see Trim plan"
        return not_checked(name, why, rules.EDGE_DISTANCE_SOURCE)
    nearest = trim.best.inner
    if nearest is None:
        why = "no whole lightening hole lies in the part with a rivet hole"
        return not_checked(name, why, rules.EDGE_DISTANCE_SOURCE)
    more = (
        f": hole {nearest.number} is nearest to a lightening hole, "
        f"{say_length(nearest.metal, job.units)} of metal between them"
    )
    return _edge_distance(name, nearest.edge_distance, job, more)


def _pitch(job: Job, holes: Holes | None) -> Check:
    status: Status = "not checked"
    value = limit = None
    why = "needs two holes"
    if holes is not None and len(holes.positions) > 1:
        rule = edge_rule(job)
        value = min(after - before for before, after in pairwise(sorted(holes.positions)))
        limit = rules.PITCH_MIN * rule.one
        status = "ok" if value >= limit else "fail"
        why = (
            f"the closest holes are at least {rules.PITCH_MIN:g} {rule.called} apart"
            if status == "ok"
            else f"the closest holes are less than {rules.PITCH_MIN:g} {rule.called} apart; "
            "your plans win"
        )
    return Check(
        name="pitch",
        status=status,
        value=value,
        limit=limit,
        unit="mm",
        why=why,
        source=rules.PITCH_SOURCE,
    )


def _widest(job: Job, holes: Holes) -> tuple[Check, ...]:
    """Tell how wide the widest gap is; plans for trailing edges go their own way in this."""
    if len(holes.positions) < 2:
        return ()
    rule = edge_rule(job)
    one, called = rule.one, rule.called
    value = max(after - before for before, after in pairwise(sorted(holes.positions)))
    low, high = rules.PITCH_USUAL
    within = "within" if value <= rules.PITCH_MOST * one else "more than"
    return (
        Check(
            name="pitch, widest",
            status="ok",
            value=value,
            limit=rules.PITCH_MOST * one,
            unit="mm",
            why=f"the widest gap is {value / one:.1f} {called}, {within} the usual most of "
            f"{rules.PITCH_MOST:g}; {low:g} to {high:g} are usual; told, not judged: your plans "
            "win",
            source=f"{rules.PITCH_MOST_SOURCE}; {rules.PITCH_USUAL_SOURCE}",
        ),
    )
