"""The shop checks of a trim plan: what a careful foreman asks before the stock is cut.

They judge the best placement; where no shift lines the holes up they say how near one comes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from jiggen.facts import rules
from jiggen.geometry.trim import Cut, Ligament, Part, Placement, TrimPlan
from jiggen.geometry.wedge import Wedge
from jiggen.job.model import Job
from jiggen.shop.spacing import edge_rule
from jiggen.shop.trim_half_holes import half_hole_checks
from jiggen.solution import Check, Status
from jiggen.units import say_length

OWN_LIMIT = "the job's own limit"
DERIVED = "derived: see DEVELOPERS.md, Trim plan"
PRACTICE = "common practice, no published source"
INCH = 25.4

SLID_LEAST = 0.1
"""Degrees: what a taper gauge shows; less is no other angle."""


def trim_checks(job: Job, plan: TrimPlan | None, wedge: Wedge) -> tuple[Check, ...]:
    """Return the shop checks of a trim plan, judged by its best placement.

    Args:
        job: what was asked.
        plan: of that job, or None.
        wedge: at its stations.

    Returns:
        The checks; none where there is no plan.

    Source: each check names its own.
    """
    if plan is None:
        return ()
    best = plan.best
    found = [_line_up(job, plan)]
    if best is not None:
        found += [
            _left_over(best),
            _notch(job, plan, best),
            *half_hole_checks(plan, best, job.units),
            *_thin(job, plan, best),
            _edge_distance(job, plan, best),
            *_spare(best),
        ]
    return (
        *found,
        *_taper(job, plan, wedge),
        *_turn(job, plan),
        *_beyond(plan),
        *_lightening(plan),
    )


def _taper(job: Job, plan: TrimPlan, wedge: Wedge) -> list[Check]:
    """Warn where sliding the stock changes the section under the holes: the stations lie still."""
    if plan.best is None:
        return []
    rates = [
        abs((b.angle_a + b.angle_b) - (a.angle_a + a.angle_b)) / (b.at - a.at)
        for a, b in pairwise(wedge.stations)
    ]
    rate = math.degrees(max(rates, default=0.0))
    shifts = [end for one in plan.placements for end in one.window]
    slides = max(shifts) - min(shifts)
    if rate * slides <= SLID_LEAST:
        return []
    each = say_length(10.0 if job.units == "mm" else INCH / 2, job.units)
    per = rate * (10.0 if job.units == "mm" else INCH / 2)
    return [
        Check(
            name="trim, taper",
            status="warn",
            value=rate * slides,
            limit=SLID_LEAST,
            unit="deg",
            why="the stock tapers: slid along, it brings another angle under every hole, "
            f"{per:.2f} deg for each {each}, this much over all the shifts; the angles hold for "
            "the stock as it lay when the stations were read: read them again where it will stay",
            source="derived: change of the included angle along the stations by the slide",
        )
    ]


def _line_up(job: Job, plan: TrimPlan) -> Check:
    status: Status = "ok"
    value = None
    if plan.unknown:
        status, why = "not checked", plan.unknown
    elif plan.best is not None and plan.best.offset is not None:
        value = plan.best.offset
        why = (
            f"all {len(plan.part.wanted)} holes of the skins over the part find a hole of the stock"
        )
    elif plan.best is not None:
        why = "there is nothing to line up: the holes of the part are drilled through the skins"
    else:
        status, why = "fail", _no_shift(job, plan)
    return Check(
        name="trim, holes",
        status=status,
        value=value,
        limit=plan.match,
        unit="mm",
        why=why,
        source=OWN_LIMIT,
    )


def _no_shift(job: Job, plan: TrimPlan) -> str:
    """Say why no shift will do, and how near the best comes."""
    if plan.stock.length < plan.part.trim[1] - plan.part.trim[0]:
        return "the stock is shorter than the part"
    count = len(plan.part.wanted)
    if plan.short is not None:
        return (
            f"the holes line up only where the stock ends {say_length(plan.short, job.units)} "
            "short of a trim line: check stock.trim, or take a longer stock"
        )
    within = f"within {say_length(plan.match, job.units)}"
    if plan.closest is None:
        return f"no shift lines up a single one of {count} holes {within}; check both patterns"
    met, shift = plan.closest
    return (
        f"no shift lines up all {count} holes {within}; the best, with the stock's low end at "
        f"{say_length(shift, job.units)}, lines up {met}: check pitch and count of both patterns"
    )


def _left_over(best: Placement) -> Check:
    return Check(
        name="trim, reach",
        status="ok",
        value=min(cut.left for cut in best.cuts),
        limit=0.0,
        unit="mm",
        why="the stock reaches both trim lines; this is what is left of it beyond the nearer one",
        source="definition",
    )


def _notch(job: Job, plan: TrimPlan, best: Placement) -> Check:
    """Judge the deepest notch, one that no fairing hides before one that is hidden."""
    notches = [
        (notch.hidden, -notch.depth, cut, notch) for cut in best.cuts for notch in cut.notches
    ]
    if not notches:
        why = "neither cut passes a lightening hole"
        return Check(
            name="trim, notch",
            status="ok",
            value=None,
            limit=None,
            unit="mm",
            why=why,
            source=DERIVED,
        )
    hidden, _, cut, notch = min(notches, key=lambda row: row[:2])
    cover = plan.part.fairing[0 if cut is best.cuts[0] else 1]
    why = (
        "no shift avoids the notch: the best"
        if all(one.notches for one in plan.placements)
        else "a shift without a notch is worse for the rivets: the best"
    )
    why += (
        f" leaves one at the {cut.end}, {say_length(notch.widest, job.units)} wide and "
        f"{say_length(notch.depth, job.units)} deep; "
    )
    if hidden:
        why += "the fairing hides it"
    elif cover > 0.0:
        why += f"the fairing covers only {say_length(cover, job.units)}: fill or patch it"
    else:
        why += "nothing hides it; state stock.fairing if an end fairing covers it"
    return Check(
        name="trim, notch",
        status="ok" if hidden else "warn",
        value=notch.depth,
        limit=cover,
        unit="mm",
        why=why,
        source=DERIVED,
    )


def _thin(job: Job, plan: TrimPlan, best: Placement) -> list[Check]:
    return [
        _warning(
            "trim, thin metal",
            f"only {say_length(metal, job.units)} is left between the cut at the {cut.end} and a "
            "lightening hole: saw well outside the line and file to it, the wedge backed by a "
            "block, or move the trim line",
        )
        for metal, cut in thin_metal(plan, best)
    ]


def thin_metal(plan: TrimPlan, one: Placement) -> list[tuple[float, Cut]]:
    """Return the thin metal that cuts leave to whole lightening holes, mm, the thinnest first.

    Args:
        plan: the whole.
        one: a placement of it.
    """
    found = [(one.to_lightening(cut, plan.part.depth), cut) for cut in one.cuts]
    thin = [(metal, cut) for metal, cut in found if metal is not None and metal < rules.THIN_METAL]
    return sorted(thin, key=lambda row: row[0])


def ligaments(one: Placement) -> tuple[Ligament, ...]:
    """Return the ligaments of a placement that are known, the least metal first.

    Args:
        one: a placement.
    """
    found = (one.cuts[0].nearest, one.cuts[1].nearest, one.inner)
    return tuple(sorted((f for f in found if f is not None), key=lambda f: f.metal))


def _edge_distance(job: Job, plan: TrimPlan, best: Placement) -> Check:
    part = plan.part
    known = ligaments(best)
    status: Status = "ok"
    value, limit, source = None, part.usual_edge, edge_rule(job).usual_source
    if not known:
        status, why = "not checked", "no rivet hole lies in the part"
        if job.holes is None:
            why = "needs the skins' holes: state [holes]"
    else:
        worst = known[0]
        value = worst.edge_distance
        why = f"rivet hole {worst.number} {said_metal(worst, part, job.units)}"
        if best.opened or best.under_least:
            status, limit, source = "fail", part.least_edge, rules.EDGE_DISTANCE_SOURCE
        if best.opened:
            why += f"; {said_holes(best.opened)} will not hold a rivet"
        elif best.under_least:
            why += f"; {part.least:g} are the least: look at {said_holes(best.under_least)}"
        elif best.under_usual:
            status = "warn"
            why += f"; a countersunk rivet wants {part.usual:g}"
        why += "; your plans win"
    return Check(
        name="trim, edge distance",
        status=status,
        value=value,
        limit=limit if job.holes is not None else None,
        unit="mm",
        why=why,
        source=source,
    )


def said_metal(worst: Ligament, part: Part, units: str) -> str:
    """Return how a rivet hole stands to the nearest edge, as words that follow its number.

    Args:
        worst: of its ligaments.
        part: whose rivet, or hole, distances count in.
        units: the job's, ``mm`` or ``in``.
    """
    if worst.metal <= 0.0:
        return f"runs into a {worst.to}"
    return (
        f"has {say_length(worst.metal, units)} of metal to a {worst.to}, "
        f"{worst.edge_distance / part.one:.1f} {part.called} from its middle"
    )


def said_holes(numbers: Sequence[int], most: int = 8) -> str:
    """Return ``hole 3`` or ``holes 3, 4 and 2 more``.

    Args:
        numbers: of rivet holes.
        most: how many are named one by one.
    """
    shown = ", ".join(str(number) for number in numbers[:most])
    more = f" and {len(numbers) - most} more" if len(numbers) > most else ""
    return f"{'hole' if len(numbers) == 1 else 'holes'} {shown}{more}"


def _spare(best: Placement) -> list[Check]:
    if not best.spare:
        return []
    count = len(best.spare)
    return [
        _warning(
            "trim, spare holes",
            f"{count} {'hole' if count == 1 else 'holes'} of the stock would lie in the part with "
            "no hole of the skins over it",
        )
    ]


def _turn(job: Job, plan: TrimPlan) -> list[Check]:
    if plan.turn_refused:
        return [_warning("trim, end for end", plan.turning)]
    asked = job.stock is not None and job.stock.may_turn is None
    if asked and "stock.turn" in plan.turning:
        return [_warning("trim, end for end", plan.turning, status="not checked")]
    return []


def _beyond(plan: TrimPlan) -> list[Check]:
    inside = set(plan.part.numbers)
    beyond = [n for n in range(1, len(plan.part.holes) + 1) if n not in inside]
    if not beyond:
        return []
    words = f"{said_holes(beyond)} of the skins lie beyond the trim lines: no wedge lies there"
    return [_warning("trim, holes beyond", words)]


def _lightening(plan: TrimPlan) -> list[Check]:
    """Judge the lightening holes against the wedge's rear and front."""
    holes, depth = plan.stock.lightening, plan.part.depth
    if not holes:
        return []
    name = "trim, lightening holes"
    if min(hole.line - hole.radius for hole in holes) <= 0.0:
        return [_warning(name, "one breaks out at the trailing edge: check its line and diameter")]
    if depth is None:
        words = "whether one is open to the front needs the wedge's depth: state wedge.depth"
        return [_warning(name, words, status="not checked")]
    if any(hole.line - hole.radius >= depth for hole in holes):
        return [_warning(name, "one lies wholly ahead of the wedge: check its line")]
    if any(hole.line + hole.radius > depth for hole in holes):
        return [_warning(name, "they run out at the front of the wedge, and were taken so")]
    return []


def _warning(name: str, why: str, status: Status = "warn") -> Check:
    return Check(
        name=name, status=status, value=None, limit=None, unit="", why=why, source=PRACTICE
    )
