"""The shop checks of a trim plan: what a careful foreman asks before the stock is cut.

They judge the best placement; where no shift lines the holes up they say how near one comes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from jiggen.errors import Sentence
from jiggen.facts import rules
from jiggen.geometry.trim import START, Cut, Ligament, Part, Placement, TrimPlan
from jiggen.geometry.wedge import Wedge
from jiggen.job.sections import Job
from jiggen.shop.checks import OWN_LIMIT, PRACTICE, unchecked
from jiggen.shop.spacing import usual_source
from jiggen.solution import Check, Status
from jiggen.units import INCH, Words, fine, joined, size, words

DERIVED = "derived: circles and straight lines"
SLID_LEAST = 0.1
"""Degrees: what a taper gauge shows; less is no other angle."""


def trim_checks(job: Job, plan: TrimPlan, wedge: Wedge) -> Iterator[Check]:
    """Yield the shop checks of a trim plan, judged by its best placement."""
    best = plan.best
    yield _line_up(plan)
    if best is not None:
        yield _left_over(best)
        yield _notch(plan, best)
        yield from _half_holes(plan, best)
        yield from _thin(plan, best)
        yield _edge_distance(job, plan, best)
        yield from _spare(best)
        yield from _taper(job, plan, wedge)
    yield from _turn(job, plan)
    yield from _beyond(plan)
    yield from _lightening(plan)


def _taper(job: Job, plan: TrimPlan, wedge: Wedge) -> Iterator[Check]:
    """Warn where sliding the stock changes the section under the holes: the stations lie still."""
    rates = [
        abs((b.angle_a + b.angle_b) - (a.angle_a + a.angle_b)) / (b.at - a.at)
        for a, b in pairwise(wedge.stations)
    ]
    rate = math.degrees(max(rates, default=0.0))
    shifts = [end for one in plan.placements for end in one.window]
    slides = max(shifts) - min(shifts)
    if rate * slides <= SLID_LEAST:
        return
    each = 10.0 if job.units == "mm" else INCH / 2
    yield Check(
        id="trim-taper",
        act="Read the angles again where the stock will stay.",
        name="trim, taper",
        status="warn",
        why=words(
            "the stock tapers: slid along, it brings another angle under every hole, {per} deg "
            "for each {each}, this much over all the shifts; the angles hold for the stock as "
            "it lay when the stations were read: read them again where it will stay",
            per=f"{rate * each:.2f}",
            each=size(each),
        ),
        source="derived: change of the included angle along the stations by the slide",
        value=rate * slides,
        limit=SLID_LEAST,
        unit="deg",
        keys=("stock",),
    )


def _line_up(plan: TrimPlan) -> Check:
    status: Status = "ok"
    value = None
    why: Sentence
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
        status, why = "fail", _no_shift(plan)
    return Check(
        id="trim-holes",
        act="No shift of the stock brings its holes under.",
        name="trim, holes",
        status=status,
        why=why,
        source=OWN_LIMIT,
        value=value,
        limit=plan.match,
        unit="mm",
        keys=("stock.match", "stock.pitch", "holes.pitch"),
    )


def _no_shift(plan: TrimPlan) -> Sentence:
    """Say why no shift will do, and how near the best comes."""
    if plan.stock.length < plan.part.span[1] - plan.part.span[0]:
        return "the stock is shorter than the part"
    count = len(plan.part.wanted)
    if plan.short is not None:
        return words(
            "the holes line up only where the stock ends {short} short of a trim line: check "
            "stock.trim, or take a longer stock",
            short=fine(plan.short),
        )
    if plan.closest is None:
        return words(
            "no shift lines up a single one of {count} holes within {match}; check both patterns",
            count=count,
            match=fine(plan.match),
        )
    met, shift = plan.closest
    return words(
        "no shift lines up all {count} holes within {match}; the best, with the stock's start at "
        "{shift}, lines up {met}: check pitch and count of both patterns",
        count=count,
        match=fine(plan.match),
        shift=fine(shift),
        met=met,
    )


def _left_over(best: Placement) -> Check:
    return Check(
        id="trim-reach",
        name="trim, reach",
        status="ok",
        why="the stock reaches both trim lines; this is what is left of it beyond the nearer one",
        source="definition",
        value=min(cut.left for cut in best.cuts),
        limit=0.0,
        unit="mm",
        keys=("stock.length", "stock.trim"),
    )


def _notch(plan: TrimPlan, best: Placement) -> Check:
    """Judge the deepest notch, one that no fairing hides before one that is hidden."""
    notches = [
        (notch.hidden, -notch.depth, cut, notch) for cut in best.cuts for notch in cut.notches
    ]
    if not notches:
        why = "neither cut passes a lightening hole"
        return Check(id="trim-notch", name="trim, notch", status="ok", why=why, source=DERIVED)
    hidden, _, cut, notch = min(notches, key=lambda row: row[:2])
    cover = plan.part.fairing[0 if cut is best.cuts[0] else 1]
    covered: Sentence = "nothing hides it; state stock.fairing if an end fairing covers it"
    if hidden:
        covered = "the fairing hides it"
    elif cover > 0.0:
        covered = words("the fairing covers only {cover}: fill or patch it", cover=fine(cover))
    return Check(
        id="trim-notch",
        act=words("A notch shows at the {end}: fill or patch it.", end=cut.end),
        name="trim, notch",
        status="ok" if hidden else "warn",
        why=words(
            "{best} leaves one at the {end}, {wide} wide and {deep} deep; {covered}",
            best="no shift avoids the notch: the best"
            if all(one.notches for one in plan.placements)
            else "a shift without a notch is worse for the rivets: the best",
            end=cut.end,
            wide=fine(notch.widest),
            deep=fine(notch.depth),
            covered=covered,
        ),
        source=DERIVED,
        value=notch.depth,
        limit=cover,
        unit="mm",
        keys=("stock.fairing", "stock.trim"),
    )


def half_hole_depth(cut: Cut, at: float, part: Part) -> float:
    """Return how far half a hole goes into the part square to the cut, mm.

    Args:
        cut: that passes it.
        at: its middle along the part, mm.
        part: what is cut.

    Source: definition: the hole's radius, more by what its middle lies inward of the cut.
    """
    line = part.cuts[0 if cut.end == START else 1]
    return part.drill / 2.0 + float(line.inside(at, part.line))


def said_half_holes(one: Placement, part: Part) -> list[Words]:
    """Return a clause for each rivet hole of the stock that a cut passes.

    No rivet fills half a hole, a crack may start at it, and the metal to the nearest rivet is less
    than the cut alone would leave.
    """
    return [
        words(
            "the cut at the {end} passes a rivet hole of the stock and leaves {deep} of it in the "
            "part's end",
            end=cut.end,
            deep=fine(half_hole_depth(cut, at, part)),
        )
        for cut in one.cuts
        for at in cut.half_holes
    ]


def _half_holes(plan: TrimPlan, best: Placement) -> Iterator[Check]:
    """Warn where the best placement leaves half a rivet hole in an end of the part."""
    said = said_half_holes(best, plan.part)
    if not said:
        return
    deepest = max(half_hole_depth(cut, at, plan.part) for cut in best.cuts for at in cut.half_holes)
    avoided = any(not one.half_holes for one in plan.placements)
    why = "a shift without one is worse otherwise" if avoided else "no shift avoids it"
    dress = "move the trim line clear of the hole, or dress its edges smooth and fill it"
    yield Check(
        id="trim-half-hole",
        act="A cut passes a rivet hole: move the trim line.",
        name="trim, half hole",
        status="warn",
        why=joined([*said, f"{why}: {dress}"]),
        source=PRACTICE,
        value=deepest,
        limit=0.0,
        unit="mm",
        keys=("stock.trim",),
    )


def _thin(plan: TrimPlan, best: Placement) -> Iterator[Check]:
    for metal, cut in thin_metal(plan, best):
        why = words(
            "only {metal} is left between the cut at the {end} and a lightening hole: saw well "
            "outside the line and file to it, the wedge backed by a block, or move the trim line",
            metal=fine(metal),
            end=cut.end,
        )
        act = "Saw well outside the line at a lightening hole."
        yield _warning(f"trim-thin-metal-{cut.end}", "trim, thin metal", why, act, "stock.trim")


def thin_metal(plan: TrimPlan, one: Placement) -> list[tuple[float, Cut]]:
    """Return the thin metal that cuts leave to whole lightening holes, mm, the thinnest first."""
    part = plan.part
    found = [
        (one.to_lightening(line, part.depth), cut)
        for line, cut in zip(part.cuts, one.cuts, strict=True)
    ]
    thin = [(metal, cut) for metal, cut in found if metal is not None and metal < rules.THIN_METAL]
    return sorted(thin, key=lambda row: row[0])


def ligaments(one: Placement) -> tuple[Ligament, ...]:
    """Return the ligaments of a placement that are known, the least metal first."""
    found = (one.cuts[0].nearest, one.cuts[1].nearest, one.inner)
    return tuple(sorted((f for f in found if f is not None), key=lambda f: f.metal))


def _edge_distance(job: Job, plan: TrimPlan, best: Placement) -> Check:
    part = plan.part
    known = ligaments(best)
    status: Status = "ok"
    value, limit, source = None, part.usual_edge, usual_source(part)
    why: Sentence = "no rivet hole lies in the part"
    if not known:
        status = "not checked"
        if job.holes is None:
            why = "needs the skins' holes: state [holes]"
    else:
        worst, more = known[0], []
        value = worst.edge_distance
        if best.opened or best.under_least:
            status, limit, source = "fail", part.least_edge, rules.EDGE_DISTANCE_SOURCE
        if best.opened:
            more.append(f"{said_holes(best.opened)} will not hold a rivet")
        elif best.under_least:
            more.append(f"{part.least:g} are the least: look at {said_holes(best.under_least)}")
        elif best.under_usual:
            status = "warn"
            more.append(f"a countersunk rivet wants {part.usual:g}")
        metal = words("rivet hole {n} {metal}", n=worst.number, metal=said_metal(worst, part))
        why = joined([metal, *more, "your plans win"])
    return Check(
        id="trim-edge",
        act="A rivet stands near the cut: ask your plans.",
        name="trim, edge distance",
        status=status,
        why=why,
        source=source,
        value=value,
        limit=limit if job.holes is not None else None,
        unit="mm",
        keys=("stock.trim", "holes.line"),
    )


def said_metal(worst: Ligament, part: Part) -> Sentence:
    """Return how a rivet hole stands to the nearest edge, as words that follow its number."""
    if worst.metal <= 0.0:
        return f"runs into a {worst.to}"
    return words(
        "has {metal} of metal to a {to}, {times} {called} from its middle",
        metal=fine(worst.metal),
        to=worst.to,
        times=f"{worst.edge_distance / part.one:.1f}",
        called=part.called,
    )


def said_holes(numbers: Sequence[int], most: int = 8) -> str:
    """Return ``hole 3`` or ``holes 3, 4 and 2 more``."""
    shown = ", ".join(str(number) for number in numbers[:most])
    more = f" and {len(numbers) - most} more" if len(numbers) > most else ""
    return f"{'hole' if len(numbers) == 1 else 'holes'} {shown}{more}"


def _spare(best: Placement) -> Iterator[Check]:
    count = len(best.spare)
    if count:
        why = (
            f"{count} {'hole' if count == 1 else 'holes'} of the stock would lie in the part with "
            "no hole of the skins over it"
        )
        act = "Holes of the stock lie under whole skin: ask your plans."
        yield _warning("trim-spare-holes", "trim, spare holes", why, act, "stock.positions")


def _turn(job: Job, plan: TrimPlan) -> Iterator[Check]:
    ident, name, key = "trim-turn", "trim, end for end", "stock.turn"
    asked = job.stock is not None and job.stock.turn is None
    if plan.turn_refused:
        act = "The stock cannot lie end for end as stated."
        yield _warning(ident, name, plan.turning, act, key)
    elif asked and key in plan.turning:
        yield unchecked(ident, name, plan.turning, PRACTICE, key)


def _beyond(plan: TrimPlan) -> Iterator[Check]:
    inside = set(plan.part.numbers)
    beyond = [n for n in range(1, len(plan.part.holes) + 1) if n not in inside]
    if beyond:
        why = f"{said_holes(beyond)} of the skins lie beyond the trim lines: no wedge lies there"
        act = "Holes lie beyond the trim lines: check stock.trim."
        yield _warning("trim-holes-beyond", "trim, holes beyond", why, act, "stock.trim")


def _lightening(plan: TrimPlan) -> Iterator[Check]:
    """Judge the lightening holes against the wedge's rear and front."""
    ident, name, key = "trim-lightening", "trim, lightening holes", "stock.lightening"
    holes, depth = plan.stock.lightening, plan.part.depth
    if not holes:
        return
    if any(hole.line - hole.radius <= 0.0 for hole in holes):
        why = "one breaks out at the trailing edge: check its line and diameter"
    elif depth is None:
        why = "whether one is open to the front needs the wedge's depth: state wedge.depth"
        yield unchecked(ident, name, why, PRACTICE, key)
        return
    elif any(hole.line - hole.radius >= depth for hole in holes):
        why = "one lies wholly ahead of the wedge: check its line"
    elif any(hole.line + hole.radius > depth for hole in holes):
        why = "they run out at the front of the wedge, and were taken so"
    else:
        return
    yield _warning(ident, name, why, "A lightening hole breaks an edge: check the stock.", key)


def _warning(ident: str, name: str, why: Sentence, act: str, *keys: str) -> Check:
    return Check(id=ident, name=name, status="warn", why=why, source=PRACTICE, keys=keys, act=act)
