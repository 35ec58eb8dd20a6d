"""The shop checks: what a careful foreman would ask before the first hole is drilled.

Each check says what was found, what it was held against, why, and where the limit comes from. A
check whose input is missing says so instead of passing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from jiggen.job.model import Form, Job
from jiggen.solution import AnglesAt, Check, HoleResult, Status
from jiggen.stations import REAR_AGREES, RearConflict
from jiggen.units import Words

OWN_LIMIT = "the job's own limit"
DERIVED = "derived: see DEVELOPERS.md, Drift"
PRACTICE = "common practice, no published source"
INCH = 25.4
NEEDS_THICKNESS = "wedge.rear_thickness, where the stations do not give it"
SMALL_SHARE = 0.25
"""Of the allowed angle error, what may be left out of a formula without a word of warning."""

FORWARD_MOST = 12.0
"""mm. Nobody draws the rear line of a thickness further forward of the edge than this."""

GAUGED = 0.1
"""Degrees: what a taper gauge shows, and no protractor does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What the checks look at.

    Attributes:
        job: what was asked.
        stations: the angles at each station.
        holes: each hole.
        allowed: smallest angle error that a drilled hole can bear, radians.
        conflicts: stations whose rear thickness contradicts the job's.
        limiting: which reading limits the worst angle, as a sentence; empty if none is known.
        drift: how far a hole may miss at the far skin, mm.
    """

    job: Job
    stations: Sequence[AnglesAt]
    holes: Sequence[HoleResult]
    allowed: float
    conflicts: Sequence[RearConflict]
    limiting: str
    drift: float


def shop_checks(facts: Facts) -> tuple[Check, ...]:
    """Return every shop check of a solved job.

    Args:
        facts: what to look at.

    Returns:
        The checks, in the order of the work: measuring, drilling, cutting.

    Source: each check names its own.
    """
    return (
        _measurement(facts),
        *_rear_thickness(facts),
        *_thins_forward(facts),
        *_held_beyond(facts),
        _lean(facts),
        *_swept_and_tapered(facts),
        _square_to_skin(facts, "a"),
        _square_to_skin(facts, "b"),
        _head_step(facts),
        _kerf(facts),
    )


def unchecked(ident: str, name: str, why: str | Words, source: str, *keys: str) -> Check:
    """Return a check that says what it would need.

    Args:
        ident: of the check.
        name: what would be looked at.
        why: which keys are missing, or that no rule was found.
        source: of the rule that would be used.
        keys: of the job file.
    """
    return Check(
        id=ident, name=name, status="not checked", value=None, limit=None, unit="mm", why=why,
        source=source, keys=keys,
    )  # fmt: skip


def say(mm: float, units: str) -> str:
    """Return a length in the job's own unit, for people."""
    return f"{mm / INCH:.4f} in" if units == "in" else f"{mm:.3f} mm"


def _measurement(facts: Facts) -> Check:
    known = [
        pm for at in facts.stations for pm in (at.plus_minus_a, at.plus_minus_b) if pm is not None
    ]
    limit = math.degrees(facts.allowed)
    if not known:
        return Check(
            name="measurement",
            status="not checked",
            value=None,
            limit=limit,
            unit="deg",
            why="no plus_minus is stated for the readings; a guide is no better than they are",
            source=OWN_LIMIT,
        )
    worst = math.degrees(max(known))
    within = worst <= limit
    why = (
        "the angles are known better than the holes need"
        if within
        else "the angles are known less well than the holes need: measure again, finer"
    )
    return Check(
        name="measurement",
        status="ok" if within else "warn",
        value=worst,
        limit=limit,
        unit="deg",
        why=f"{why}; {facts.limiting}" if facts.limiting else why,
        source="first-order propagation, JCGM 100:2008 (GUM) 5.1.2, from memory",
    )


def _rear_thickness(facts: Facts) -> list[Check]:
    found = [_rear_line(facts, one) for one in facts.conflicts]
    if not found and any(hole.thickness is None for hole in facts.holes):
        found.append(
            Check(
                name="rear thickness",
                status="not checked",
                value=None,
                limit=None,
                unit="mm",
                why="thickness, grip and drift at the holes need it: state wedge.rear_thickness",
                source=PRACTICE,
            )
        )
    return found


def _rear_line(facts: Facts, one: RearConflict) -> Check:
    """Judge a stated edge thickness against a station's rear: a rear line lies forward of it."""
    units = facts.job.units
    at = facts.stations[one.station - 1]
    opening = math.tan(at.skin_a) + math.tan(at.skin_b)
    forward = (one.own - one.stated) / opening if opening > 0.0 else math.inf
    drawn = facts.job.wedge.stations[one.station - 1].form in (Form.THICKNESS, Form.OFFSETS)
    believable = drawn and 0.0 <= forward <= FORWARD_MOST
    says = (
        f"station {one.station} says {say(one.own, units)}, wedge.rear_thickness says "
        f"{say(one.stated, units)}; {say(one.used, units)} is used there"
    )
    line = (
        f": by the taper the station's rear line lies {say(forward, units)} forward of the edge"
        if believable
        else ", and no rear line a little forward of the edge would explain it: measure again"
    )
    return Check(
        name="rear thickness",
        status="ok" if believable else "warn",
        value=abs(one.own - one.stated),
        limit=None if believable else REAR_AGREES,
        unit="mm",
        why=f"{says}{line}",
        source=PRACTICE,
    )


def _thins_forward(facts: Facts) -> list[Check]:
    places = [*facts.stations, *(hole.angles for hole in facts.holes)]
    found = []
    for side, name in zip(("a", "b"), facts.job.sides, strict=True):
        least = min(at.skin_a if side == "a" else at.skin_b for at in places)
        if least < 0.0:
            found.append(
                Check(
                    name=f"skin angle, {name}",
                    status="warn",
                    value=math.degrees(least),
                    limit=0.0,
                    unit="deg",
                    why=f"the {name} face thins forward; rare, so check the sign of the readings",
                    source=PRACTICE,
                )
            )
    return found


def _held_beyond(facts: Facts) -> list[Check]:
    if len(facts.stations) < 2 or not facts.holes:
        return []
    low, high = facts.stations[0].at, facts.stations[-1].at
    beyond = max(max(low - hole.at, hole.at - high) for hole in facts.holes)
    if beyond <= 0.0:
        return []
    return [
        Check(
            name="beyond the stations",
            status="warn",
            value=beyond,
            limit=0.0,
            unit="mm",
            why="holes beyond the end stations are given the end station's angles",
            source=OWN_LIMIT,
        )
    ]


def _lean(facts: Facts) -> Check:
    places: Sequence[AnglesAt] = [hole.angles for hole in facts.holes] or facts.stations
    slopes = [s for at in places for s in (at.slope_y_a, at.slope_y_b) if s is not None]
    limit = math.degrees(facts.allowed)
    status: Status = "not checked"
    value = None
    why = f"a tapered wedge's lean needs {_missing(facts)}"
    if slopes:
        value = math.degrees(max(abs(math.atan(slope)) for slope in slopes))
        status = "ok" if value <= limit else "warn"
        why = (
            "the skins lean along the span by less than the holes notice"
            if status == "ok"
            else "the skins lean along the span more than the holes can bear: sight the bit along "
            "the span as well, with the lean that is listed"
        )
    return Check(
        name="lean",
        status=status,
        value=value,
        limit=limit,
        unit="deg",
        why=why,
        source="derived: see DEVELOPERS.md, Along the span",
    )


def _missing(facts: Facts) -> str:
    """Return which keys the thickness at a hole needs that the job lacks."""
    missing = [] if facts.holes else ["[holes]"]
    unknown = any(hole.thickness is None for hole in facts.holes)
    if unknown or (not facts.holes and facts.job.wedge.rear_thickness is None):
        missing.append(NEEDS_THICKNESS)
    return " and ".join(missing)


def _swept_and_tapered(facts: Facts) -> list[Check]:
    """Judge what readings along the ribs of a swept edge leave out where the wedge tapers too.

    Along a rib the face rises by tan a cos L + q sin L, q being its rise along the span; the
    conversion leaves out the second part, which an even wedge does not have.
    """
    sweep = facts.job.wedge.sweep
    places: Sequence[AnglesAt] = [hole.angles for hole in facts.holes] or facts.stations
    rises = [abs(q) for at in places for q in (at.slope_y_a, at.slope_y_b) if q is not None]
    if sweep == 0.0 or not rises or max(rises) == 0.0:
        return []
    value = math.degrees(math.atan(max(rises) * math.tan(abs(sweep))))
    limit = min(SMALL_SHARE * math.degrees(facts.allowed), GAUGED)
    good = value <= limit
    return [
        Check(
            name="sweep and taper together",
            status="ok" if good else "warn",
            value=value,
            limit=limit,
            unit="deg",
            why="read along the ribs, the taper along the span is in the readings too, by this"
            if good
            else "read along the ribs, the taper along the span is in the readings too, by this, "
            "which is no longer small beside what the holes bear: measure square to the edge",
            source="derived: rise along the span by the tangent of the sweep",
        )
    ]


def _square_to_skin(facts: Facts, side: str) -> Check:
    near = facts.job.sides[0 if side == "a" else 1]
    drifts = [hole.drift_a if side == "a" else hole.drift_b for hole in facts.holes]
    known = [abs(drift) for drift in drifts if drift is not None]
    status: Status = "not checked"
    value = None
    missing = _missing(facts)
    why = f"needs {missing}" if missing else f"square to the {near} skin a bit never leaves"
    if known:
        # Told, not warned of: it is the reason for the guides, and they are the remedy.
        value, status = max(known), "ok"
        why = (
            f"a hole drilled square to the {near} skin would still meet the far one"
            if value <= facts.drift
            else f"a hole drilled square to the {near} skin would miss the far one by this, more "
            "than is allowed: that is what the guides are for"
        )
    return Check(
        name=f"drift if square to {near}",
        status=status,
        value=value,
        limit=None,
        unit="mm",
        why=why,
        source=DERIVED,
    )


def _head_step(facts: Facts) -> Check:
    head = facts.job.rivet_head
    places = [*facts.stations, *(hole.angles for hole in facts.holes)]
    steepest = max(max(abs(at.skin_a), abs(at.skin_b)) for at in places)
    return Check(
        name="head edge",
        status="not checked" if head is None else "ok",
        value=None if head is None else head / 2.0 * math.sin(steepest),
        limit=None,
        unit="mm",
        why="needs the diameter of the rivet's head: state rivet.head or rivet.size"
        if head is None
        else "a rivet square to the chord plane has one edge of its head proud of the skin and "
        "the other below it by this: the price of the right way",
        source="derived: half the head's diameter by the sine of the skin angle",
    )


def _kerf(facts: Facts) -> Check:
    kerf = facts.job.cut.kerf
    return Check(
        name="kerf",
        status="warn" if kerf is None else "ok",
        value=kerf,
        limit=None,
        unit="mm",
        why="not stated: cut files are drawn without it, so pieces come out small by half the "
        "kerf on each side, and their slots and holes wide by a whole kerf: what fits into them "
        "is loose; print files need none"
        if kerf is None
        else "full width of the slot, allowed for in the cut files",
        source=PRACTICE,
    )
