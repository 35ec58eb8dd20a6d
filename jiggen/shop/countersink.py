"""The countersink in the wedge: how wide and deep, what land it leaves and how sure that is.

A punched hole is square to the chord plane. A countersink square to it too is led by its pilot,
but cuts its rim high on one side of the sloping face and low on the other; square to the face its
rim is round and it costs less metal, but its pilot stands askew in the hole. Both lands are told:
the plans decide which is cut, the job says it (`countersink.square_to`). A knife edge is claimed
only where the land lies below nothing by more than its plus-minus, and feared where it may be.

All of it is derived geometry: a pressed dimple is no exact offset of its rivet's head, and scrap is
cheaper than a wedge.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from jiggen.facts import rivets, rules
from jiggen.geometry import countersink as cone
from jiggen.geometry.countersink import CLICK, DOUBT, PILOT_CLEARANCE
from jiggen.geometry.frame import rise_out
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.geometry.uncertainty import root_of_squares
from jiggen.shop.checks import NEEDS_THICKNESS, OWN_LIMIT, unchecked
from jiggen.solution import Check, CountersinkAt, HoleResult, ShopLine, Status
from jiggen.units import Span, Words, bare, fine, span, words

if TYPE_CHECKING:
    from jiggen.job.sections import Job, Rivet

DEFINITION = "definition"
WHOLE_HEAD = "none is cut in the wedge: the skins hold the whole head"
SCRAP = "derived geometry: try it in scrap first"
TOOL_SOURCE = "derived: see the countersink; .001 in a click and a pilot .002 in smaller: read"

_HUNDRED = math.radians(100.0)
_SAME_ANGLE = math.radians(0.5)


def skins_of(job: Job) -> tuple[float, float] | None:
    """Return the thickness of skin A and of skin B, mm, or None."""
    return None if job.skin is None else job.skin.thickness


def call_rivet(rivet: Rivet) -> str | Words:
    """Return what a rivet is called, by its size or by its diameter: ``-3 flush rivet``."""
    if rivet.diameter is None:
        return f"{rivet.form} rivet"
    called = rivets.dash_of(rivet.diameter) or rivet.size or fine(rivet.diameter)
    return words("{called} {form} rivet", called=called, form=rivet.form)


# --- at each hole


def countersunk(job: Job, hole: HoleResult) -> HoleResult:
    """Return a hole with its countersinks and lands; unchanged where the job lacks an input."""
    rivet, skins = job.rivet, skins_of(job)
    if rivet is None or skins is None or job.holes is None or rivet.form != "flush":
        return hole
    angles = (hole.angles.skin_a, hole.angles.skin_b)
    a, b = (
        _countersink_at(job, rivet, job.holes.drill, skin, angle)
        for skin, angle in zip(skins, angles, strict=True)
    )
    hole = replace(hole, countersink_a=a, countersink_b=b)
    if a is None or b is None or hole.thickness is None:
        return hole
    opposed = _opposed(rivet)
    chord = cone.land(hole.thickness, a.sunk, b.sunk, opposed=opposed)
    face = None
    if a.walls is not None and b.walls is not None:
        pairs = zip(a.walls, b.walls, strict=True)
        face = min(cone.land(hole.thickness, *both, opposed=opposed) for both in pairs)
    by_chord = job.countersink.square_to == "chord"
    doubt = DOUBT | ({"diameter": 0.0} if job.countersink.tried else {})
    parts = cone.land_doubt(
        (math.tan(angles[0]), math.tan(angles[1])),
        rivet.angle / 2.0,
        doubt,
        let_in=by_chord and rivet.skins == "dimpled",
        sides=2 if opposed else 1,
    )
    return replace(
        hole,
        straight=cone.land(hole.thickness, a.depth, b.depth, opposed=opposed),
        land_chord=chord,
        land_face=face,
        land=chord if by_chord else face,
        land_doubt=COVERAGE * root_of_squares(parts),
    )


def _opposed(rivet: Rivet) -> bool:
    """Return whether both faces are countersunk; a round shop head needs one only."""
    return rivet.shop_head != "bucked"


def _countersink_at(
    job: Job, rivet: Rivet, drill: float, skin: float, skin_angle: float
) -> CountersinkAt | None:
    """Return the countersink under one skin; None where the head is no wider than the hole.

    A countersunk skin that holds the whole head leaves one of depth 0.
    """
    if rivet.head is None or rivet.head <= drill:
        return None
    half, slope, dimpled = rivet.angle / 2.0, math.tan(skin_angle), rivet.skins == "dimpled"
    if dimpled:
        diameter = cone.nesting_diameter(rivet.head, skin, half)
    else:  # what the cone in the skin still cuts of the wedge below it
        diameter = max(rivet.head - 2.0 * skin * math.tan(half), drill)
    depth = cone.cone_depth(diameter, drill, half)
    if depth is None:
        return CountersinkAt(
            diameter=drill, depth=0.0, sunk=0.0, stop=0.0, rim_high=None, rim_low=None,
            walls=(0.0, 0.0),
        )  # fmt: skip
    high, low = cone.rim(diameter, half, slope) or (None, None)
    by_chord = job.countersink.square_to == "chord"
    return CountersinkAt(
        diameter=diameter,
        depth=depth,
        sunk=depth + rise_out(diameter, slope) if dimpled else depth,
        stop=depth + rise_out(drill, slope) if by_chord else depth,
        rim_high=high,
        rim_low=low,
        walls=cone.face_walls(diameter, drill, half, slope),
    )


def least_land(holes: Sequence[HoleResult]) -> HoleResult | None:
    """Return the hole that is drilled now whose countersinks leave least; None where not known."""
    judged = [(hole.land, hole) for hole in holes if hole.drill_now and hole.land is not None]
    return min(judged, key=lambda row: row[0], default=(0.0, None))[1]


def has_land(hole: HoleResult) -> bool:
    """Return whether countersinks set on the axis leave something, or nobody knows."""
    return hole.straight is None or hole.straight > 0.0


def _both(holes: Sequence[HoleResult]) -> list[CountersinkAt]:
    return [one for h in holes for one in (h.countersink_a, h.countersink_b) if one is not None]


def _skins_hold(holes: Sequence[HoleResult]) -> bool:
    """Return whether thick, countersunk skins hold every head, so that the wedge is left alone."""
    both = _both(holes)
    return bool(both) and all(one.depth == 0.0 for one in both)


def _steepest(holes: Sequence[HoleResult]) -> float:
    return max(max(abs(h.angles.skin_a), abs(h.angles.skin_b)) for h in holes)


def _source(rivet: Rivet) -> str:
    return rules.NESTING_SOURCE if rivet.skins == "dimpled" else rules.COUNTERSUNK_SKIN_SOURCE


# --- checks


def countersink_checks(job: Job, drilled: Sequence[HoleResult]) -> tuple[Check, ...]:
    """Return the checks of a flush head: countersink, tools, land and sheets.

    Args:
        job: what was asked; none are made of a protruding head.
        drilled: the holes that are drilled now, at least one, with their countersinks.
    """
    rivet = job.rivet
    if rivet is None or rivet.form != "flush":
        return ()
    return (
        *_countersink(job, rivet, drilled),
        *_tools(job, drilled),
        _land(job, rivet, drilled),
        *_sheets(job, rivet),
    )


def _missing(job: Job, rivet: Rivet) -> list[str]:
    missing = [] if rivet.head is not None else ["rivet.size or rivet.head"]
    return missing if job.skin is not None else [*missing, "skin.thickness"]


def _countersink(job: Job, rivet: Rivet, holes: Sequence[HoleResult]) -> Iterator[Check]:
    """Say what a countersink needs, and where there can be none."""
    if missing := _missing(job, rivet):
        yield unchecked(
            "countersink", "countersink", f"needs {', '.join(missing)}", _source(rivet),
            "rivet.head", "skin.thickness",
        )  # fmt: skip
        return
    both = _both(holes)
    no_wider = not both
    if no_wider or any(one.depth > 0.0 and one.rim_high is None for one in both):
        yield Check(
            id="countersink",
            name="countersink",
            status="fail",
            value=rivet.head if no_wider else None,
            limit=None if job.holes is None or not no_wider else job.holes.drill,
            unit="mm",
            why=words(
                "a head {head} wide is no wider than the hole: check rivet.head and holes.drill",
                head=fine(rivet.head or 0.0),
            )
            if no_wider
            else "the face is as steep as the countersink's cone, whose rim then has no end",
            source=DEFINITION if no_wider else _source(rivet),
            keys=("rivet.head", "holes.drill") if no_wider else ("rivet.angle",),
            act="Check rivet.head: it is no wider than the hole."
            if no_wider
            else "Ask your plans: face as steep as the cone.",
        )


def _tools(job: Job, holes: Sequence[HoleResult]) -> Iterator[Check]:
    """Judge the cage's foot on a sloping face, or the pilot that stands askew in its hole."""
    asked, slope = job.countersink, math.tan(_steepest(holes))
    if asked.square_to == "chord" and asked.cage is not None:
        off = rise_out(asked.cage, slope)
        good = off <= CLICK
        yield Check(
            id="cage",
            name="cage on the sloping face",
            status="ok" if good else "warn",
            value=off,
            limit=CLICK,
            unit="mm",
            why=words(
                "its foot rides on the high side and leaves the countersink {off} too shallow",
                off=fine(off),
            ),
            source=TOOL_SOURCE,
            keys=("countersink.cage", "countersink.square_to"),
            act=words("Use the quill stop: the cage stands off {off}.", off=fine(off)),
        )
    if asked.square_to == "face" and asked.pilot is not None:
        gap = PILOT_CLEARANCE if asked.clearance is None else asked.clearance
        longest = cone.longest_pilot(gap, slope)
        good = asked.pilot <= longest
        yield Check(
            id="pilot",
            name="pilot in the hole",
            status="ok" if good else "warn",
            value=asked.pilot,
            limit=longest if math.isfinite(longest) else None,
            unit="mm",
            why=f"it binds above {math.degrees(cone.pilot_binds(asked.pilot, gap)):.2f} deg, the "
            f"face stands at {math.degrees(math.atan(slope)):.2f}: level the chord plane and use "
            "the quill stop, or a shorter pilot",
            source=TOOL_SOURCE,
            keys=("countersink.pilot", "countersink.clearance"),
            act="Level the chord plane: the pilot binds in its hole.",
        )


#: What a land's verdict means: status, words, and what to do; without a limit, and with one.
_WANTED = "Ask your plans: land {land}, {limit} wanted."
_KNIFE_EDGE: dict[str, tuple[Status, str, str]] = {
    "fail": ("fail", "{meet} in a knife edge", "Ask your plans: {meet} at hole {n}."),
    "cannot tell": (
        "warn", "it may be a knife edge", "Ask your plans: least land {land} at hole {n}.",
    ),
    "ok": (
        "not checked", "no knife edge; what is too thin your plans say: state allow.land", "",
    ),
}  # fmt: skip
_LIMITED: dict[str, tuple[Status, str, str]] = {
    "fail": ("fail", "less than allow.land", _WANTED),
    "cannot tell": ("warn", "whether it is as much as allow.land cannot be told", _WANTED),
    "ok": ("ok", "more than allow.land", ""),
}


def _land(job: Job, rivet: Rivet, holes: Sequence[HoleResult]) -> Check:
    missing = _missing(job, rivet)
    if any(hole.thickness is None for hole in holes):
        missing.append(NEEDS_THICKNESS)
    least, limit = least_land(holes), job.allow.land
    keys = ("allow.land", "countersink.square_to", "holes.line", "countersink.tried")
    if missing or least is None or least.land is None or least.land_doubt is None:
        needs = f"needs {', '.join(missing)}" if missing else "needs a head wider than the hole"
        return unchecked("land", "land", needs, rules.LAND_SOURCE, "rivet.head", "skin.thickness")
    if _skins_hold(holes):
        return Check(
            id="land", name="land", status="ok", value=None, limit=None, unit="mm", why=WHOLE_HEAD,
            source=rules.COUNTERSUNK_SKIN_SOURCE, keys=keys,
        )  # fmt: skip
    verdict = cone.land_verdict(least.land, least.land_doubt, limit or 0.0)
    status, said, act = (_KNIFE_EDGE if limit is None else _LIMITED)[verdict]
    values = {
        "n": least.number,
        "land": fine(least.land),
        "limit": fine(limit or 0.0),
        "meet": "countersinks meet" if _opposed(rivet) else "the countersink goes through",
    }
    return Check(
        id="land",
        name="land",
        status=status,
        value=least.land,
        limit=limit,
        unit="mm",
        why=words(
            "at hole {n} {lands}, plus or minus {doubt}: {said}; {scrap}",
            n=least.number,
            lands=_lands(job, rivet, least),
            doubt=fine(least.land_doubt),
            said=words(said, **values),
            scrap=SCRAP,
        ),
        source=rules.LAND_SOURCE if limit is None else f"{OWN_LIMIT}; {rules.LAND_SOURCE}",
        keys=keys,
        act=words(act, **values),
    )


def _lands(job: Job, rivet: Rivet, hole: HoleResult) -> Words:
    """Say both lands of a hole, the one that the job asks for first."""
    sunk = ", the skin fully down" if rivet.skins == "dimpled" else ""
    face = "none" if hole.land_face is None else fine(hole.land_face)
    by_chord = job.countersink.square_to == "chord"
    return words(
        f"{{chord}} square to the chord plane{sunk} ({{face}} square to the face)"
        if by_chord
        else f"{{face}} square to the face ({{chord}} square to the chord plane{sunk})",
        chord=fine(hole.land_chord or 0.0),
        face=face,
    )


def _sheets(job: Job, rivet: Rivet) -> Iterator[Check]:
    """Judge each skin: thick enough to be countersunk, or thin enough to be dimpled."""
    name, skins = "countersink or dimple", skins_of(job)
    least, source, needs = _least_sheet(rivet)
    if skins is None or least is None:
        missing = "needs skin.thickness" if skins is None else needs
        yield unchecked("sheet", name, missing, source, "skin.thickness", "rivet.size")
        return
    dimpled = rivet.skins == "dimpled"
    limit = rules.DIMPLE_MOST if dimpled else least
    for letter, side, sheet in zip("ab", job.sides, skins, strict=True):
        good = sheet <= limit if dimpled else sheet >= limit
        why = words(
            "dimpled, as the job has it{more}; it is {thick} to be countersunk for a {called}"
            if dimpled
            else "{thick} to be countersunk for a {called}{more}; your plans win",
            thick="thick enough" if sheet >= least else "too thin",
            called=call_rivet(rivet),
            more="" if good else "; a dimple is best in thinner sheet" if dimpled
            else ": it must be dimpled",
        )  # fmt: skip
        act = words("Dimple the {side} skin: too thin to countersink.", side=side)
        if dimpled:
            act = words("Ask your plans: {sheet} is thick for a dimple.", sheet=fine(sheet))
        yield Check(
            id=f"sheet-{letter}",
            name=f"{name}, {side}",
            status="ok" if good else "warn" if dimpled else "fail",
            value=sheet,
            limit=limit,
            unit="mm",
            why=why,
            source=f"{rules.DIMPLE_SOURCE}; {source}" if dimpled else source,
            keys=("skin.thickness", "rivet.skins"),
            act=act,
        )


def _least_sheet(rivet: Rivet) -> tuple[float | None, str, str]:
    """Return the thinnest sheet to be machine countersunk, its source, and what is missing."""
    if rivet.diameter is None:
        return None, rules.COUNTERSINK_MIN_SHEET_SOURCE, "needs rivet.size or rivet.diameter"
    if abs(rivet.angle - _HUNDRED) <= _SAME_ANGLE:
        tabled = rules.countersink_min_sheet(rivet.diameter)
        if tabled is not None:
            return tabled, rules.COUNTERSINK_MIN_SHEET_SOURCE, ""
    if rivet.head is None:
        return None, rules.HEAD_HEIGHT_SOURCE, "needs rivet.size or rivet.head"
    height = (rivet.head - rivet.diameter) / (2.0 * math.tan(rivet.angle / 2.0))
    return height, rules.HEAD_HEIGHT_SOURCE, ""


# --- what is told


def countersink_lines(job: Job, drilled: Sequence[HoleResult]) -> Iterator[ShopLine]:
    """Yield how the countersink is set: four lines for the cover, the rest for who sets it."""
    rivet, both = job.rivet, _both(drilled)
    if rivet is None or not both:
        return
    source = _source(rivet)

    def told(what: str, value: str | Span | Words, said: str | Words, by: str = source) -> ShopLine:
        return ShopLine(what=what, said=said, source=by, brief=value)

    if _skins_hold(drilled):
        yield told("countersink", "none", WHOLE_HEAD)
        return
    # A stop that cuts through to the other side is no stop.
    kept = [hole for hole in drilled if has_land(hole)]
    by_chord, dimpled = job.countersink.square_to == "chord", rivet.skins == "dimpled"
    wide = _sides(job, drilled, lambda one: one.diameter)
    deep: Span | Words = _sides(job, drilled, lambda one: one.depth)
    if not by_chord:
        deep = span(z for one in both for z in one.walls or (one.depth,))
    yield told("countersink wide", wide, words("{x}, {how}", x=wide, how=_how(job)))
    yield told(
        "deep on the axis" if by_chord else "deep at the wall",
        deep,
        words("{x}; {scrap}", x=deep, scrap=SCRAP),
    )
    if kept:
        stop = words(
            "{x} from where the cutter touches the edge of the hole, {n} clicks of .001 in{quill}; "
            "start two clicks short, in scrap",
            x=_sides(job, kept, lambda one: one.stop),
            n=_clicks(one.stop for one in _both(kept)),
            quill=", by the press's quill stop: a cage rides on the high side" if by_chord else "",
        )
        yield told("stop from touch", _sides(job, kept, lambda one: one.stop), stop)
    else:
        yield told("stop from touch", "no land", "none is told: at no hole does it leave a land")
    yield from _land_lines(job, rivet, drilled)
    slope = math.tan(_steepest(drilled))
    if by_chord and dimpled and kept:
        down = words(
            "{x} from touch, {n} clicks",
            x=_sides(job, kept, _down), n=_clicks(map(_down, _both(kept))),
        )  # fmt: skip
        yield told("skin fully down at", _sides(job, kept, _down), down)
    if dimpled and kept:
        yield _loose_rivet(job, rivet, slope if by_chord else 0.0)
    gap = job.countersink.clearance or PILOT_CLEARANCE
    longest = cone.longest_pilot(gap, slope)
    if not by_chord and math.isfinite(longest):
        pilot = words("at most {x}, or ball-nosed: it stands askew in the hole", x=fine(longest))
        yield told("pilot, longest", words("{x}", x=fine(longest)), pilot, TOOL_SOURCE)


def _how(job: Job) -> str:
    chord = job.countersink.square_to == "chord"
    return "square to the chord plane" if chord else "square to the face"


def _down(one: CountersinkAt) -> float:
    """Return the travel from touch at which the low side of the sloping face takes the dimple."""
    return one.stop + one.sunk - one.depth


def _sides(
    job: Job, holes: Sequence[HoleResult], number: Callable[[CountersinkAt], float]
) -> Span | Words:
    """Say a number of the countersinks once, or for each side where they differ."""
    a = span(number(h.countersink_a) for h in holes if h.countersink_a is not None)
    b = span(number(h.countersink_b) for h in holes if h.countersink_b is not None)
    if a.said(job.units) == b.said(job.units):
        return a
    return words("{one} {a}, {two} {b}", one=job.sides[0], a=a, two=job.sides[1], b=b)


def _clicks(depths: Iterable[float]) -> str:
    some = sorted(round(depth / CLICK) for depth in depths)
    return f"{some[0]}" if some[0] == some[-1] else f"{some[0]} to {some[-1]}"


def _land_lines(job: Job, rivet: Rivet, holes: Sequence[HoleResult]) -> Iterator[ShopLine]:
    least = least_land(holes)
    if least is None or least.land is None or least.land_doubt is None:
        return
    check = _land(job, rivet, holes)
    grave = {"fail": "STOP", "warn": "LOOK"}.get(check.status)
    value = words(
        "{land} ± {doubt}", land=bare(fine(least.land), job.units), doubt=fine(least.land_doubt)
    )
    if grave:
        value = words("{grave} {land}", grave=grave, land=fine(least.land))
    told = words(
        "at hole {n}, {how}, plus or minus {doubt}",
        n=least.number,
        how=_how(job),
        doubt=fine(least.land_doubt),
    )
    yield ShopLine(what="land, least", said=told, source=check.source, brief=value)
    chord = job.countersink.square_to == "chord"
    other = least.land_face if chord else least.land_chord
    if other is not None:
        yield ShopLine(
            what="land square to face" if chord else "land square to chord",
            said=words("{x} at the same hole", x=fine(other)),
            source=check.source,
            brief=words("{x}", x=fine(other)),
        )


def _loose_rivet(job: Job, rivet: Rivet, slope: float) -> ShopLine:
    """Say where a loose rivet's head lies in a countersink that nests its dimple."""
    skins, half, head = skins_of(job) or (0.0, 0.0), rivet.angle / 2.0, rivet.head or 0.0
    below = [cone.loose_head(skin, half) for skin in skins]
    forward, aft = cone.loose_head_edges(below[0], head, slope)
    where = words(
        ": its forward edge {forward} below, its aft edge {aft} {proud}",
        forward=fine(forward),
        aft=fine(abs(aft)),
        proud="proud" if aft < 0.0 else "below",
    )
    return ShopLine(
        what="loose rivet, below",
        said=words(
            "the head of a loose rivet lies {x} below the face on the axis{where}; {n} clicks "
            "after it lies flush",
            x=span(below),
            where=where if slope else "",
            n=f"{below[0] / CLICK:.0f}",
        ),
        source=_source(rivet),
        brief=span(below),
    )
