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
from jiggen.geometry.rivet_size import RivetSize
from jiggen.geometry.riveting import along_the_face
from jiggen.shop.checks import unchecked
from jiggen.solution import Check, HoleResult, Status
from jiggen.units import Words, fine, words

if TYPE_CHECKING:
    from jiggen.geometry.trim import TrimPlan
    from jiggen.job.sections import Holes, Job

EDGE = rules.EDGE_DISTANCE_SOURCE
ASK_PITCH = "Ask your plans: pitch {x}, {side} {limit}."


class EdgeRule(RivetSize, frozen=True, kw_only=True):
    """The least edge distance, and what the rivet's form wants.

    Attributes:
        countersunk: whether the head is flush, or not known and so taken as flush.
    """

    countersunk: bool

    @property
    def least(self) -> float:
        """Return what no rivet may go below, in diameters."""
        return rules.EDGE_DISTANCE_MIN

    @property
    def usual(self) -> float:
        """Return what the form wants, in diameters; for a protruding head the least will do."""
        return rules.EDGE_DISTANCE_COUNTERSUNK if self.countersunk else rules.EDGE_DISTANCE_MIN

    @property
    def usual_source(self) -> str:
        """Return where `usual` comes from."""
        if self.countersunk:
            return rules.EDGE_DISTANCE_COUNTERSUNK_SOURCE
        return EDGE


def edge_rule(job: Job) -> EdgeRule:
    """Return the rule of edge distance for a job's rivet.

    Args:
        job: what was asked.

    Source: see `jiggen.facts.rules`.
    """
    return EdgeRule(
        rivet=None if job.rivet is None else job.rivet.diameter,
        drill=0.0 if job.holes is None else job.holes.drill,
        countersunk=job.rivet is None or job.rivet.form == "flush",
    )


def spacing_checks(
    job: Job,
    holes: Sequence[HoleResult],
    depth: float | None,
    trim: TrimPlan | None,
    drift: float,
) -> tuple[Check, ...]:
    """Return the checks of edge distance, pitch and the metal to lightening holes.

    Args:
        job: what was asked.
        holes: as solved.
        depth: least depth of the wedge at a hole, mm, or None.
        trim: how the stock lies under the skins, or None.
        drift: how far a hole may miss at the far skin, mm.

    Returns:
        The checks; without a hole line only that of the pitch, which says what it needs.

    Source: each check names its own.
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
    limit, source = rule.usual, rule.usual_source
    why = f"at least {rule.usual:g} {rule.called}"
    if rule.countersunk:
        why += ", as countersunk rivets want"
    if distance < rule.least * rule.one:
        status, limit, source = "fail", rule.least, EDGE
        why = f"less than {rule.least:g} {rule.called} from the hole's centre to the edge"
    elif distance < rule.usual * rule.one:
        status = "warn"
        why = f"at least {rule.least:g} {rule.called}, but a countersunk rivet wants {rule.usual:g}"
    return Check(
        id=ident,
        name=name,
        status=status,
        why=words("{why}{more}; your plans win", why=why, more=more),
        source=source,
        value=distance,
        limit=limit * rule.one,
        unit="mm",
        keys=keys,
        act=""
        if status == "ok"
        else words("Ask your plans: {x} of edge at the {where}.", x=fine(distance), where=where),
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
    gaps = () if holes is None else tuple(b - a for a, b in pairwise(sorted(holes.positions)))
    rule, limit, value = edge_rule(job), None, None
    status: Status = "not checked"
    why = "needs two holes"
    if gaps:
        value, limit = min(gaps), rules.PITCH_MIN * rule.one
        status = "ok" if value >= limit else "fail"
        why = f"at least {rules.PITCH_MIN:g} {rule.called} between the closest holes"
        if status == "fail":
            why = f"less than {rules.PITCH_MIN:g} {rule.called} between the closest holes"
            why += "; your plans win"
    return Check(
        id="pitch",
        name="pitch",
        status=status,
        why=why,
        source=rules.PITCH_SOURCE,
        value=value,
        limit=limit,
        unit="mm",
        keys=("holes.pitch",),
        act=words(ASK_PITCH, x=fine(value or 0.0), side="least", limit=fine(limit or 0.0))
        if status == "fail"
        else "",
    )


def _widest(job: Job, holes: Holes) -> Iterator[Check]:
    """Judge the widest gap; plans for trailing edges go their own way in this."""
    if len(holes.positions) < 2:
        return
    rule = edge_rule(job)
    value = max(after - before for before, after in pairwise(sorted(holes.positions)))
    low, high = rules.PITCH_USUAL
    good = value <= rules.PITCH_MOST * rule.one
    yield Check(
        id="pitch-widest",
        name="pitch, widest",
        status="ok" if good else "warn",
        why=f"the widest gap is {value / rule.one:.1f} {rule.called}, "
        f"{'within' if good else 'more than'} the usual most of {rules.PITCH_MOST:g}; {low:g} to "
        f"{high:g} are usual; your plans win",
        source=f"{rules.PITCH_MOST_SOURCE}; {rules.PITCH_USUAL_SOURCE}",
        value=value,
        limit=rules.PITCH_MOST * rule.one,
        unit="mm",
        keys=("holes.pitch",),
        act=""
        if good
        else words(ASK_PITCH, x=fine(value), side="most", limit=fine(rules.PITCH_MOST * rule.one)),
    )
