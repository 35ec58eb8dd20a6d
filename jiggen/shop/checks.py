"""The shop checks: what a careful foreman would ask before the first hole is drilled.

Each check says what was found, what it was held against, why, and where the limit comes from. A
check whose input is missing says so instead of passing. What needs no decision is no check but a
number.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from jiggen.errors import Sentence
from jiggen.job.sections import Job
from jiggen.job.sizes import listed, sizes_of, standing_out
from jiggen.job.starters import example_stations
from jiggen.shop.stations import REAR_AGREES, SIDES, Reading
from jiggen.solution import AnglesAt, Check, HoleResult, Number
from jiggen.units import fine, joined, words

OWN_LIMIT = "the job's own limit"
DERIVED = "derived: straight lines in the section"
PRACTICE = "common practice, no published source"
NEEDS_THICKNESS = "wedge.rear_thickness, where the stations do not give it"

SMALL_SHARE = 0.25
"""Of the allowed angle error, what may be left out of a formula without a word of warning."""

FORWARD_MOST = 12.0
"""mm. Nobody draws the rear line of a thickness further forward of the edge than this."""

SLIP = 0.5
"""mm. Two places on the wedge that are said to be one by more is a slip."""

GAUGED = 0.1
"""Degrees: what a taper gauge shows, and no protractor does."""

APART = 8.0
"""Degrees between the faces that two neighbouring stations differ by at most: common sense, no
published source. A rudder of one taper has under 4."""

ON_THE_REAR = ("land", "rivet-length", "edge-te", "edge-front", "edge-exit")
"""Checks that rest on where the trailing edge lies behind the rear line."""


class Facts(Struct, frozen=True, kw_only=True):
    """What the checks look at."""

    job: Job  # what was asked
    stations: Sequence[AnglesAt]  # the angles at each station
    holes: Sequence[HoleResult]  # each hole
    allowed: float  # smallest angle error that a drilled hole can bear, radians
    readings: Sequence[Reading]  # what each station's readings say
    limiting: str  # which reading limits the worst angle, as a sentence; empty if none is known
    drift: float  # how far a hole may miss at the far skin, mm

    @property
    def doubts(self) -> list[float]:
        """Return the plus-or-minus of each skin angle at a station that is known, radians."""
        each = ((at.plus_minus_a, at.plus_minus_b) for at in self.stations)
        return [doubt for both in each for doubt in both if doubt is not None]

    @property
    def everywhere(self) -> Sequence[AnglesAt]:
        """Return the angles at every station and every hole."""
        return [*self.stations, *(hole.angles for hole in self.holes)]

    @property
    def places(self) -> Sequence[AnglesAt]:
        """Return the angles at every hole; at the stations where there is no hole."""
        return [hole.angles for hole in self.holes] or self.stations

    @property
    def unlined(self) -> list[int]:
        """Return the stations whose rear line lies nobody says where."""
        if self.job.wedge.rear_thickness is not None:
            return []
        numbered = enumerate(self.readings, start=1)
        return [number for number, one in numbered if one.lined and one.rear_at is None]


def shop_checks(facts: Facts) -> tuple[Check, ...]:
    """Return the checks of what was measured and of the angles, in the order of the work."""
    return (
        _size(facts.job),
        *_example(facts),
        *_apart(facts),
        _measurement(facts),
        *_rear_line(facts),
        *_rear_thickness(facts),
        *_front_line(facts),
        *_exchanged(facts),
        *_thins_forward(facts),
        *_held_beyond(facts),
        _lean(facts),
        *_swept_and_tapered(facts),
        *_kerf(facts.job),
    )


def shop_numbers(facts: Facts) -> tuple[Number, ...]:
    """Return what is told of the angles and needs no decision."""
    return (
        *_square_to_skin(facts),
        *_head_tilt(facts),
        *_inferred_lines(facts),
        *_slot(facts.job),
    )


def as_sure(facts: Facts, checks: Sequence[Check]) -> tuple[Check, ...]:
    """Return all checks, none of them good that rests on a rear line nobody knows the place of."""
    if not facts.unlined:
        return tuple(checks)
    reason = "not sure, as the rear line's distance from the trailing edge is not stated (rear_at)"
    return tuple(
        replace(check, status="not checked", why=joined([reason, check.why]))
        if check.id in ON_THE_REAR and check.value and check.status in ("ok", "not checked")
        else check
        for check in checks
    )


def unchecked(
    ident: str, name: str, why: Sentence, source: str, *keys: str, unit: str = ""
) -> Check:
    """Return a check that says in `why` what it would need; see `Check` for the rest."""
    return Check(
        id=ident, name=name, status="not checked", why=why, source=source, unit=unit, keys=keys
    )


def _size(job: Job) -> Check:
    out = standing_out(sizes_of(job.wedge, job.skin, job.holes))
    good = not out or bool(job.allow.size)
    return Check(
        id="size",
        act="Unusual sizes: is every unit right?",
        name="size",
        status="ok" if good else "warn",
        why="every length is one that such a part has"
        if not out
        else words(
            "{listed}: {asked}",
            listed=listed(out),
            asked="taken as stated"
            if good
            else 'unusual for such a part; the right unit? allow.size = "as stated" answers it',
        ),
        source=PRACTICE,
        keys=tuple(one.key for one in out),
    )


def _example(facts: Facts) -> Iterator[Check]:
    """Ask for the builder's own numbers where those of a starter job file stand yet."""
    stations, example = facts.job.wedge.stations, example_stations(facts.job.name)
    same = [
        number
        for number, (one, theirs) in enumerate(zip(stations, example, strict=False), start=1)
        if getattr(one, one.form) == getattr(theirs, one.form)
    ]
    if not same:
        return
    whose = "The wedge's numbers are the example's"
    if len(same) < len(stations):
        whose = f"Station {same[0]} has the example's numbers"
    yield Check(
        id="example",
        act=f"{whose}: put in yours.",
        name="example's numbers",
        status="warn",
        why="the readings are those of the starter job file, to the digit; if they are yours, give "
        "the job a name of its own",
        source=PRACTICE,
        keys=tuple(_reading_key(facts, number) for number in same),
    )


def _apart(facts: Facts) -> Iterator[Check]:
    """Ask where two stations differ by more than a taper does: exchanged digits do."""
    changes = [
        (abs(math.degrees(two.included - one.included)), n)
        for n, (one, two) in enumerate(pairwise(facts.stations), start=1)
    ]
    most, n = max(changes, default=(0.0, 0))
    if most > APART:
        yield Check(
            id="stations-apart",
            act=f"Stations {n} and {n + 1} differ by {most:.1f} deg: measured right?",
            name="stations apart",
            status="warn",
            why=f"between stations {n} and {n + 1} the angle between the faces changes by more "
            "than a taper does: are digits exchanged in a reading?",
            source="common sense, no published source; a rudder of one taper has under 4 deg",
            value=most,
            limit=APART,
            unit="deg",
            keys=tuple(_reading_key(facts, number) for number in (n, n + 1)),
        )


def _measurement(facts: Facts) -> Check:
    known = facts.doubts
    limit = math.degrees(facts.allowed)
    keys = tuple(f"wedge.station[{n}].plus_minus" for n in range(1, len(facts.stations) + 1))
    if not known:
        return Check(
            id="measurement",
            name="measurement",
            status="not checked",
            why="no plus_minus is stated for the readings; a guide is no better than they are",
            source=OWN_LIMIT,
            limit=limit,
            unit="deg",
            keys=keys,
        )
    worst = math.degrees(max(known))
    within = worst <= limit
    why = (
        "the angles are known better than the holes need"
        if within
        else "the angles are known less well than the holes need: measure again, finer"
    )
    return Check(
        id="measurement",
        act="Measure the wedge again, finer.",
        name="measurement",
        status="ok" if within else "warn",
        why=f"{why}; {facts.limiting}" if facts.limiting else why,
        source="first-order propagation, JCGM 100:2008 (GUM) 5.1.2, from memory",
        value=worst,
        limit=limit,
        unit="deg",
        keys=keys,
    )


def _rear_line(facts: Facts) -> Iterator[Check]:
    """Ask where the rear line lies: taken for the edge, it makes the edge too thick."""
    if not facts.unlined:
        return
    which = "station" if len(facts.unlined) == 1 else "stations"
    numbers = ", ".join(str(number) for number in facts.unlined)
    yield Check(
        id="rear-line",
        act="Say how far the rear line lies forward of the edge.",
        name="rear line",
        status="warn",
        why=f"at {which} {numbers} the rear line is taken for the trailing edge itself; if it lies "
        "forward of it, the wedge is thinner than is said: state rear_at (0 if it is on the "
        "edge), or wedge.rear_thickness; land, grip and edge distance are not sure until then",
        source=PRACTICE,
        keys=tuple(f"wedge.station[{number}].rear_at" for number in facts.unlined),
    )


def _rear_thickness(facts: Facts) -> Iterator[Check]:
    stated = facts.job.wedge.rear_thickness
    for number, one in enumerate(facts.readings, start=1):
        if stated is not None and one.edge is not None and not _believed(facts, number):
            yield _contradiction(number, one, one.edge, stated)
    if any(hole.thickness is None for hole in facts.holes):
        why = "thickness, grip and the miss at the far skin need it: state wedge.rear_thickness"
        yield unchecked(
            "rear-thickness-unknown", "rear thickness", why, PRACTICE, "wedge.rear_thickness"
        )


def _front_line(facts: Facts) -> Iterator[Check]:
    """Ask where the front line lies forward of the wedge's own front: one of them is wrong."""
    depth = facts.job.wedge.depth
    for number, one in enumerate(facts.readings, start=1):
        front = one.station.width
        if depth is not None and front is not None and one.lined and front > depth + SLIP:
            yield Check(
                id=f"front-line-{number}",
                name=f"front line, station {number}",
                act=words("Station {n}: the front line lies forward of the wedge.", n=number),
                status="warn",
                why=words(
                    "the front line of station {n} lies {x} forward of the trailing edge and the "
                    "wedge ends at {depth}: measure both again, or state the depth of the wedge",
                    n=number,
                    x=fine(front),
                    depth=fine(depth),
                ),
                source="definition",
                value=front,
                limit=depth,
                unit="mm",
                keys=("wedge.depth", _reading_key(facts, number)),
            )


def _believed(facts: Facts, number: int) -> bool:
    """Return whether a station's own edge and the stated one go together."""
    one, stated = facts.readings[number - 1], facts.job.wedge.rear_thickness
    if stated is None or one.edge is None:
        return True
    if abs(one.edge - stated) <= max(REAR_AGREES, one.edge_doubt):
        return True
    forward = _forward(facts, number)
    return forward is not None and 0.0 <= forward <= FORWARD_MOST


def _forward(facts: Facts, number: int) -> float | None:
    """Return where a stated edge thickness puts a rear line whose place is not stated, mm."""
    one, stated = facts.readings[number - 1], facts.job.wedge.rear_thickness
    if stated is None or one.edge is None or not one.lined or one.rear_at is not None:
        return None
    at = facts.stations[number - 1]
    return (one.edge - stated) / (math.tan(at.skin_a) + math.tan(at.skin_b))


def _contradiction(number: int, one: Reading, own: float, stated: float) -> Check:
    reason = (
        "carried aft to the edge by rear_at"
        if one.rear_at is not None
        else "and no rear line a little forward of the edge would explain it"
    )
    return Check(
        id=f"rear-thickness-{number}",
        act=f"Measure the rear thickness again: station {number}.",
        name="rear thickness",
        status="warn",
        why=words(
            "station {n} says {own}, {reason}, wedge.rear_thickness says {stated}, which is used: "
            "measure again",
            n=number,
            own=fine(own),
            reason=reason,
            stated=fine(stated),
        ),
        source=PRACTICE,
        value=abs(own - stated),
        limit=max(REAR_AGREES, one.edge_doubt),
        unit="mm",
        keys=("wedge.rear_thickness", f"wedge.station[{number}].rear_at"),
    )


def _exchanged(facts: Facts) -> Iterator[Check]:
    """Ask whether readings were written down for one another: of two sides, or of two stations."""
    at = facts.stations
    noise = _noise(facts)
    for n, (one, following) in enumerate(pairwise(at), start=1):
        a, b = following.skin_a - one.skin_a, following.skin_b - one.skin_b
        if a * b < 0.0 and min(abs(a), abs(b)) > max(abs(a + b), noise):
            upper, lower = facts.job.sides
            yield Check(
                id="sides-exchanged",
                act=f"Were the two sides exchanged at station {n} or {n + 1}?",
                name="sides exchanged",
                status="warn",
                why=f"from station {n} to station {n + 1} the {upper} angle changes by "
                f"{math.degrees(a):+.2f} deg and the {lower} angle by {math.degrees(b):+.2f}, the "
                f"angle between them by {math.degrees(a + b):+.2f} only: were the two sides "
                "exchanged at one of them?",
                source=PRACTICE,
                value=math.degrees(min(abs(a), abs(b))),
                limit=math.degrees(max(abs(a + b), noise)),
                unit="deg",
                keys=tuple(_reading_key(facts, number) for number in (n, n + 1)),
            )
            return
    yield from _out_of_turn(facts, noise)


def _noise(facts: Facts) -> float:
    """Return what two stations may differ by and say nothing, radians."""
    return 2.0 * max([math.radians(GAUGED), *facts.doubts])


def _reading_key(facts: Facts, number: int) -> str:
    return f"wedge.station[{number}].{facts.job.wedge.stations[number - 1].form.value}"


def _out_of_turn(facts: Facts, noise: float) -> Iterator[Check]:
    """Ask where the wedge grows steeper and flatter again along the span.

    Two stations say nothing of which end is which; from three on, the one that is out of turn
    stands between others that it does not lie between.
    """
    inc = [at.included for at in facts.stations]
    turns = [
        (min(abs(two - one), abs(three - two)), n)
        for n, (one, two, three) in enumerate(zip(inc, inc[1:], inc[2:], strict=False), start=2)
        if (two - one) * (three - two) < 0.0
    ]
    if not turns or max(turns)[0] <= noise:
        return
    most, n = max(turns)
    shown = ", ".join(f"{math.degrees(angle):.2f}" for angle in inc[n - 2 : n + 1])
    yield Check(
        id="ends-exchanged",
        act=f"Were stations {n - 1} to {n + 1} exchanged?",
        name="stations out of turn",
        status="warn",
        why=f"from station {n - 1} to {n + 1} the angle between the faces is {shown} deg: it turns "
        "back; were two stations' readings, or their places, exchanged?",
        source=PRACTICE,
        value=math.degrees(most),
        limit=math.degrees(noise),
        unit="deg",
        keys=tuple(_reading_key(facts, number) for number in (n - 1, n, n + 1)),
    )


def _thins_forward(facts: Facts) -> Iterator[Check]:
    for side, name in zip(SIDES, facts.job.sides, strict=True):
        least = min(at.skin(side) for at in facts.everywhere)
        if least < 0.0:
            yield Check(
                id=f"skin-angle-{side}",
                act=words("Check the sign of the readings on {side}.", side=name),
                name=f"skin angle, {name}",
                status="warn",
                why=f"the {name} face thins forward; rare, so check the sign of the readings",
                source=PRACTICE,
                value=math.degrees(least),
                limit=0.0,
                unit="deg",
                keys=tuple(_reading_key(facts, n) for n in range(1, len(facts.stations) + 1)),
            )


def _held_beyond(facts: Facts) -> Iterator[Check]:
    if len(facts.stations) < 2 or not facts.holes:
        return
    low, high = facts.stations[0].at, facts.stations[-1].at
    beyond = max(max(low - hole.at, hole.at - high) for hole in facts.holes)
    if beyond > 0.0:
        yield Check(
            id="beyond-stations",
            act="Holes beyond the end stations: measure out there.",
            name="beyond the stations",
            status="warn",
            why="holes beyond the end stations are given the end station's angles",
            source=OWN_LIMIT,
            value=beyond,
            limit=0.0,
            unit="mm",
            keys=("wedge.extend", "wedge.station"),
        )


def _lean(facts: Facts) -> Check:
    slopes = [s for at in facts.places for s in (at.slope_y_a, at.slope_y_b) if s is not None]
    limit = math.degrees(facts.allowed)
    lean = math.degrees(max((abs(math.atan(slope)) for slope in slopes), default=0.0))
    why = f"a tapered wedge's spanwise tilt needs {_missing(facts)}"
    if slopes:
        why = (
            "the skins tilt along the span by less than the holes notice"
            if lean <= limit
            else "the skins tilt along the span more than the holes can bear: sight the bit along "
            "the span as well, with the tilt that is listed"
        )
    return Check(
        id="lean",
        act="Sight the bit along the span too.",
        name="spanwise tilt",
        status="not checked" if not slopes else "ok" if lean <= limit else "warn",
        why=why,
        source="derived: straight rulings between stations",
        value=lean if slopes else None,
        limit=limit,
        unit="deg",
    )


def _missing(facts: Facts) -> str:
    """Return which keys the thickness at a hole needs that the job lacks."""
    missing = [] if facts.holes else ["[holes]"]
    unknown = any(hole.thickness is None for hole in facts.holes)
    if unknown or (not facts.holes and facts.job.wedge.rear_thickness is None):
        missing.append(NEEDS_THICKNESS)
    return " and ".join(missing)


def _swept_and_tapered(facts: Facts) -> Iterator[Check]:
    """Judge what readings along the ribs of a swept edge leave out where the wedge tapers too.

    Along a rib the face rises by tan a cos L + q sin L, q being its rise along the span; the
    conversion leaves out the second part, which an even wedge does not have.
    """
    sweep = facts.job.wedge.sweep
    rises = [abs(q) for at in facts.places for q in (at.slope_y_a, at.slope_y_b) if q is not None]
    if sweep == 0.0 or not rises or max(rises) == 0.0:
        return
    value = math.degrees(math.atan(max(rises) * math.tan(abs(sweep))))
    limit = min(SMALL_SHARE * math.degrees(facts.allowed), GAUGED)
    good = value <= limit
    why = "read along the ribs, the taper along the span is in the readings too, by this"
    more = ", which is no longer small beside what the holes bear: measure square to the edge"
    yield Check(
        id="sweep-and-taper",
        act="Measure square to the edge, not along the ribs.",
        name="sweep and taper together",
        status="ok" if good else "warn",
        why=why if good else f"{why}{more}",
        source="derived: rise along the span by the tangent of the sweep",
        value=value,
        limit=limit,
        unit="deg",
        keys=("wedge.measured", "wedge.sweep"),
    )


def _kerf(job: Job) -> Iterator[Check]:
    """Ask for the kerf where a machine cuts: by the guide's own word, or by its bed."""
    cut_by_hand = job.guide.cut in ("hand", "printed")
    lasered = job.guide_cut == "laser" or ("cut" in job.stated and not cut_by_hand)
    if job.cut.kerf is None and lasered:
        yield Check(
            id="kerf",
            act="Find the kerf: make --only coupon.",
            name="kerf",
            status="warn",
            why="not stated: cut files are drawn without it, so pieces come out small by half the "
            "kerf on each side, and their slots and holes wide by a whole kerf: what fits into "
            "them is loose; print files need none",
            source=PRACTICE,
            keys=("cut.kerf",),
        )


def _slot(job: Job) -> Iterator[Number]:
    if job.cut.kerf is not None:
        yield Number(
            id="kerf",
            label="kerf",
            value=job.cut.kerf,
            unit="mm",
            source="the job's own number",
            note="full width of the slot, allowed for in the cut files",
        )


def _square_to_skin(facts: Facts) -> Iterator[Number]:
    """Tell what the guides avoid: where a hole drilled square to a skin would leave the other."""
    for side, near in zip(SIDES, facts.job.sides, strict=True):
        misses = [hole.drift_a if side == "a" else hole.drift_b for hole in facts.holes]
        known = [abs(miss) for miss in misses if miss is not None]
        if known:
            more = max(known) > facts.drift
            yield Number(
                id=f"drift-if-square-{side}",
                label=f"miss if drilled square to {near}",
                value=max(known),
                unit="mm",
                source=DERIVED,
                note="more than is allowed: that is what the guides are for"
                if more
                else "less than is allowed",
            )


def _head_tilt(facts: Facts) -> Iterator[Number]:
    head = None if facts.job.rivet is None else facts.job.rivet.head
    if head is None:
        return
    steepest = max(max(abs(at.skin_a), abs(at.skin_b)) for at in facts.everywhere)
    yield Number(
        id="head-tilt",
        label="head tilt",
        value=head / 2.0 * math.sin(steepest),
        unit="mm",
        source="derived: half the head's diameter by the sine of the skin angle",
        note="one edge of a head that is square to the chord plane stands proud by this, the other "
        "lies below: the price of the right way",
    )


def _inferred_lines(facts: Facts) -> Iterator[Number]:
    for number in range(1, len(facts.readings) + 1):
        forward = _forward(facts, number)
        if forward is not None and REAR_AGREES < forward <= FORWARD_MOST:
            yield Number(
                id=f"rear-line-{number}",
                label=f"rear line, station {number}",
                value=forward,
                unit="mm",
                source="derived: by the taper, from wedge.rear_thickness",
                note="forward of the trailing edge",
            )
