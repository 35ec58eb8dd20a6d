"""The shop checks of edge distance and spacing: is there metal enough round every rivet.

Distances count in diameters of the rivet where the job states it, else of the hole, which is a
little wider and so a little stricter. A countersunk head wants more metal than a protruding one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec.structs import replace

from jiggen.facts import rules
from jiggen.geometry.edge_rule import EdgeRule
from jiggen.geometry.riveting import along_the_face
from jiggen.shop.checks import unchecked
from jiggen.solution import Check, HoleResult, Status
from jiggen.units import Words, fine, words

if TYPE_CHECKING:
    from jiggen.geometry.trim import TrimPlan
    from jiggen.job.sections import Holes, Job

EDGE = rules.EDGE_DISTANCE_SOURCE
ASK_PITCH = "Ask your plans: pitch {x}, {side} {limit}."


def edge_rule(job: Job) -> EdgeRule:
    """Return the rule of edge distance for a job's rivet, see `jiggen.facts.rules`."""
    # A head that is not known is taken as flush.
    countersunk = job.rivet is None or job.rivet.form == "flush"
    return EdgeRule(
        rivet=None if job.rivet is None else job.rivet.diameter,
        drill=0.0 if job.holes is None else job.holes.drill,
        least=rules.EDGE_DISTANCE_MIN,
        usual=rules.EDGE_DISTANCE_COUNTERSUNK if countersunk else rules.EDGE_DISTANCE_MIN,
    )


def usual_source(rule: EdgeRule) -> str:
    """Return where a rule's usual edge distance comes from."""
    return rules.EDGE_DISTANCE_COUNTERSUNK_SOURCE if rule.usual > rule.least else EDGE


def spacing_checks(
    job: Job,
    holes: Sequence[HoleResult],
    depth: float | None,
    trim: TrimPlan | None,
    drift: float,
) -> tuple[Check, ...]:
    """Return the checks of edge distance, pitch and the metal to lightening holes.

    Without a hole line only that of the pitch, which says what it needs.

    Args:
        job: what was asked.
        holes: as solved.
        depth: least depth of the wedge at a hole, mm, or None.
        trim: how the stock lies under the skins, or None.
        drift: how far a hole may miss at the far skin, mm.
    """
    if job.holes is None or not holes:
        return (_pitch(job, None),)
    return (
        _edge("edge-te", "edge distance, trailing edge", job.holes.line, job, "TE", "holes.line"),
        _front(job, job.holes, depth),
        *_ends(job),
        _exit(job, job.holes, holes, depth, drift),
        _lightening(job, trim),
        _pitch(job, job.holes),
        *_widest(job, job.holes),
    )


def _edge(
    ident: str,
    name: str,
    distance: float,
    job: Job,
    where: str,
    *keys: str,
    more: str | Words = "",
) -> Check:
    """Judge one edge: short of 2 D fails, short of the countersunk 2.5 D is worth a warning."""
    rule = edge_rule(job)
    status: Status = "ok"
    limit, source = rule.usual_edge, usual_source(rule)
    why = f"at least {rule.usual:g} {rule.called}"
    if rule.usual > rule.least:
        why += ", as countersunk rivets want"
    if distance < rule.least_edge:
        status, limit, source = "fail", rule.least_edge, EDGE
        why = f"less than {rule.least:g} {rule.called} from the hole's centre to the edge"
    elif distance < rule.usual_edge:
        status = "warn"
        why = f"at least {rule.least:g} {rule.called}, but a countersunk rivet wants {rule.usual:g}"
    return Check(
        id=ident,
        name=name,
        status=status,
        why=words("{why}{more}; your plans win", why=why, more=more),
        source=source,
        value=distance,
        limit=limit,
        unit="mm",
        keys=keys,
        act=words("Ask your plans: {x} of edge at the {where}.", x=fine(distance), where=where),
    )


def _front(job: Job, holes: Holes, depth: float | None) -> Check:
    name = "edge distance, front"
    if depth is None:
        why = "needs the wedge's depth: state wedge.depth"
        return unchecked("edge-front", name, why, EDGE, "wedge.depth")
    return _edge("edge-front", name, depth - holes.line, job, "front", "holes.line")


def _ends(job: Job) -> Iterator[Check]:
    """Tell what the distance to the part's ends needs; with stock, trim_checks judges it."""
    if job.stock is None:
        why = "needs where the part ends: state stock.length and stock.trim"
        yield unchecked("edge-ends", "edge distance, ends", why, EDGE, "stock")


def _exit(
    job: Job,
    holes: Holes,
    found: Sequence[HoleResult],
    depth: float | None,
    drift: float,
) -> Check:
    """Judge the far face, where the hole may come out beside its place by the allowed miss.

    It warns at worst: a hole that comes out where it should is judged where it goes in.
    """
    flattest = min(min(abs(hole.angles.skin_a), abs(hole.angles.skin_b)) for hole in found)
    front = math.inf if depth is None else depth - holes.line
    in_plane = min(holes.line, front) - drift
    more = words(
        ", measured along the face where the drill comes out, {drift} beside its place as "
        "allow.drift permits{needs}",
        drift=fine(drift),
        needs="; to the trailing edge alone: the front needs wedge.depth" if depth is None else "",
    )
    check = _edge(
        "edge-exit",
        "edge distance at the exit",
        along_the_face(in_plane, math.tan(flattest)),
        job,
        "exit",
        "holes.line",
        "allow.drift",
        more=more,
    )
    if check.status == "ok" and depth is None:
        return replace(check, status="not checked")
    return replace(check, status="warn") if check.status == "fail" else check


def _lightening(job: Job, trim: TrimPlan | None) -> Check:
    ident, name = "edge-lightening", "edge distance, lightening holes"
    if trim is None or not trim.stock.lightening:
        why = "needs the lightening holes, if there are any: state stock.lightening"
        return unchecked(ident, name, why, EDGE, "stock.lightening")
    if trim.best is None:
        why = "no shift of the stock fits, so that it is not known where they lie: see Trim plan"
        return unchecked(ident, name, why, EDGE, "stock")
    nearest = trim.best.inner
    if nearest is None:
        why = "no whole lightening hole lies in the part with a rivet hole"
        return unchecked(ident, name, why, EDGE, "stock.lightening")
    more = words(
        ": hole {n} is nearest to a lightening hole, {metal} of metal between them",
        n=nearest.number,
        metal=fine(nearest.metal),
    )
    return _edge(
        ident, name, nearest.edge_distance, job, "lightening hole", "stock.lightening", more=more
    )


def _pitch(job: Job, holes: Holes | None) -> Check:
    gaps = _gaps(holes)
    if not gaps:
        why = "needs two holes"
        return unchecked("pitch", "pitch", why, rules.PITCH_SOURCE, "holes.pitch", unit="mm")
    rule = edge_rule(job)
    value, limit = min(gaps), rules.PITCH_MIN * rule.one
    within = f"{rules.PITCH_MIN:g} {rule.called} between the closest holes"
    return Check(
        id="pitch",
        name="pitch",
        status="ok" if value >= limit else "fail",
        why=f"at least {within}" if value >= limit else f"less than {within}; your plans win",
        source=rules.PITCH_SOURCE,
        value=value,
        limit=limit,
        unit="mm",
        keys=("holes.pitch",),
        act=words(ASK_PITCH, x=fine(value), side="least", limit=fine(limit)),
    )


def _gaps(holes: Holes | None) -> list[float]:
    places = () if holes is None else sorted(holes.positions)
    return [after - before for before, after in pairwise(places)]


def _widest(job: Job, holes: Holes) -> Iterator[Check]:
    """Judge the widest gap; plans for trailing edges go their own way in this."""
    gaps = _gaps(holes)
    if not gaps:
        return
    rule, value = edge_rule(job), max(gaps)
    limit = rules.PITCH_MOST * rule.one
    low, high = rules.PITCH_USUAL
    good = value <= limit
    yield Check(
        id="pitch-widest",
        name="pitch, widest",
        status="ok" if good else "warn",
        why=f"the widest gap is {value / rule.one:.1f} {rule.called}, "
        f"{'within' if good else 'more than'} the usual most of {rules.PITCH_MOST:g}; {low:g} to "
        f"{high:g} are usual; your plans win",
        source=f"{rules.PITCH_MOST_SOURCE}; {rules.PITCH_USUAL_SOURCE}",
        value=value,
        limit=limit,
        unit="mm",
        keys=("holes.pitch",),
        act=words(ASK_PITCH, x=fine(value), side="most", limit=fine(limit)),
    )
