"""What a solved job says: angles at stations and holes, guides, shop checks; mm and radians.

Records only. `solve` fills them, `checks` judges them, everybody else reads them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from jiggen.errors import Sentence
from jiggen.geometry.frame import Side
from jiggen.geometry.holes import MOST_DRIFT, drilling_runs

if TYPE_CHECKING:
    from jiggen.geometry.section import Section
    from jiggen.geometry.trim import TrimPlan
    from jiggen.geometry.wedge import Wedge
    from jiggen.job.sections import Job

Status = Literal["ok", "warn", "fail", "not checked"]

QUARTER = math.pi / 2

SAME_SHAPE = math.radians(0.001)
"""Two guides nearer than this are the same shape, radians: a thousandth of a degree."""

FLAT_SKIN = math.radians(0.05)
"""A skin that bends less than this over the fitted part is flat to a guide, radians."""


class AnglesAt(Struct, frozen=True, kw_only=True):
    """The nine angles at one place along the span."""

    at: float  # position along the span, mm
    skin_a: float  # skin angle A, radians
    skin_b: float  # skin angle B, radians
    # rise of face A along the span at the hole line, ratio; None where it needs an input that the
    # job lacks
    slope_y_a: float | None
    slope_y_b: float | None  # the same for face B
    plus_minus_a: float | None  # uncertainty of skin angle A, radians
    plus_minus_b: float | None  # uncertainty of skin angle B, radians

    @property
    def included(self) -> float:
        """Return the angle between the skins, radians."""
        return self.skin_a + self.skin_b

    @property
    def guide_forward_a(self) -> float:
        """Return the angle between skin A and the drill axis forward of the hole, radians."""
        return QUARTER - self.skin_a

    @property
    def guide_forward_b(self) -> float:
        """Return the angle between skin B and the drill axis forward of the hole, radians."""
        return QUARTER - self.skin_b

    @property
    def guide_aft_a(self) -> float:
        """Return the angle between skin A and the drill axis aft of the hole, radians."""
        return QUARTER + self.skin_a

    @property
    def guide_aft_b(self) -> float:
        """Return the angle between skin B and the drill axis aft of the hole, radians."""
        return QUARTER + self.skin_b

    @property
    def lean_a(self) -> float | None:
        """Return skin A's angle to the drill axis on the side of larger y, radians, or None."""
        return None if self.slope_y_a is None else QUARTER - math.atan(self.slope_y_a)

    @property
    def lean_b(self) -> float | None:
        """Return skin B's angle to the drill axis on the side of larger y, radians, or None."""
        return None if self.slope_y_b is None else QUARTER - math.atan(self.slope_y_b)

    def skin(self, side: Side) -> float:
        """Return the skin angle of a side, radians."""
        return self.skin_a if side == "a" else self.skin_b


class CountersinkAt(Struct, frozen=True, kw_only=True):
    """The countersink in one face of the wedge at one hole, square to the chord plane, mm."""

    diameter: float  # at the height of the face on the hole's axis
    depth: float  # along the axis, from the face at the axis to where the cone meets the hole
    # the same once the low side of the sloping face takes the whole dimple; under a skin that is
    # countersunk there is no dimple, and it is `depth`
    sunk: float
    stop: float  # travel to `depth` from where the cutter first touches the edge of the hole
    # how far the rim's high side stands over the face at the axis, forward where the face rises
    # forward; None where the face is as steep as the cone
    rim_high: float | None
    rim_low: float | None  # how far its other side lies below; the same
    # depth along the axis at the hole's forward and aft wall, were it square to the face; None
    # where it could not be
    walls: tuple[float, float] | None = None


class HoleResult(Struct, frozen=True, kw_only=True):
    """One hole."""

    number: int  # counted from 1 along the span
    angles: AnglesAt  # the angles there
    thickness: float | None  # of the wedge alone along the drill axis, mm
    grip: float | None  # with both skins along the drill axis, mm
    # where a hole drilled square to skin A would leave skin B, mm, positive forward
    drift_a: float | None
    # where a hole drilled square to skin B would leave skin A, mm, positive forward
    drift_b: float | None
    drill_now: bool  # false for a hole that is kept out
    order: int | None  # place in the drilling order counted from 1
    pin: Side | None = None  # the side that its sheet-holding pin goes in from
    rivet_length: float | None = None  # length that the rivet must have, as calculated, mm
    rivet_ordered: float | None = None  # the standard length that is taken for it, mm
    rivet_code: str = ""  # what that rivet is called, e.g. ``3-4``; empty where it has no such name
    countersink_a: CountersinkAt | None = None  # in face A
    countersink_b: CountersinkAt | None = None  # in face B
    # what the countersinks leave of the hole's wall as they are set at the axis, mm
    straight: float | None = None
    # the same with the countersinks sunk for the low side of each dimple, mm
    land_chord: float | None = None
    land_face: float | None = None  # the least that countersinks square to the faces leave, mm
    land: float | None = None  # whichever of the two the job asks for, mm
    land_doubt: float | None = None  # its plus-minus, mm

    @property
    def at(self) -> float:
        """Return the hole's position along the span, mm."""
        return self.angles.at


class GuideResult(Struct, frozen=True, kw_only=True):
    """One guide of the guide set."""

    name: str  # its short name, ``a1`` being the first on side A
    side: Side  # the skin that it stands on
    angle: float  # between skin and drill axis forward of the hole, radians
    # number of the first hole that it serves, or None in a job without holes
    first_hole: int | None
    last_hole: int | None  # number of the last
    worst_angle_error: float  # at the hole that it fits least, radians
    worst_drift: float | None  # what that moves the exit by, mm


class Check(Struct, frozen=True, kw_only=True):
    """One shop check: a decision, and the limit that it rests on."""

    id: str  # a name that stays the same, and never holds a word of the user's
    name: str  # what was looked at, for people
    status: Status  # how it came out
    why: Sentence  # the reason in a sentence
    source: str  # where the limit comes from
    value: float | None = None  # what was found, in `unit`
    limit: float | None = None  # what it was held against, in `unit`
    unit: str = ""  # ``mm``, ``deg`` or empty
    # the keys of the job file that it concerns, the one to look at first
    keys: tuple[str, ...] = ()
    act: Sentence = ""  # what to do about it where it warns or fails, in at most ten words


class Number(Struct, frozen=True, kw_only=True):
    """A number that is told and needs no decision."""

    id: str  # a name that stays the same, and never holds a word of the user's
    label: str  # what it is, for people
    value: float  # in `unit`
    unit: str  # ``mm`` or ``deg``
    source: str  # where it comes from
    note: Sentence = ""  # what it is good for, in a sentence; empty where the label says it all


class Band(Struct, frozen=True, kw_only=True):
    """The verdict on a job, as cover and terminal put it first."""

    word: str  # GO, LOOK or STOP
    lines: tuple[Sentence, ...]  # what to do, one sentence each, the gravest first


ASKED_FIRST = ("example", "stations-apart")
"""Warnings that a failed check may follow from: a wrong number is mended before its effects."""


def band_of(checks: Sequence[Check]) -> Band:
    """Return the verdict of checks: a failed one is STOP, a warning LOOK."""
    failed = [c for c in checks if c.status == "fail"]
    warned = [c for c in checks if c.status == "warn"]
    told = sorted((*failed, *warned), key=lambda c: c.id not in ASKED_FIRST)
    lines = tuple(c.act or c.name for c in told)
    if failed:
        return Band(word="STOP", lines=lines)
    if warned:
        return Band(word="LOOK", lines=lines)
    return Band(word="GO", lines=("Nothing stands out.", "Drill scrap first, then the work."))


class ShopLine(Struct, frozen=True, kw_only=True):
    """One line of which rivet to take and how to set the countersink, worded for people."""

    what: str  # what it is about
    said: Sentence  # the answer, with its assumptions
    source: str  # where it comes from, and how far that is to be trusted
    brief: Sentence = ""  # the value alone, for tables


class Trial(Struct, frozen=True, kw_only=True):
    """Three rivets to try in scrap where a shop head is set flush, for a run of holes."""

    first: int  # number of the first hole
    last: int  # number of the last
    grip: float  # mean grip of these holes, mm
    # length over all in mm, what it is called (empty where it has no such name), and the share of
    # the well that it fills; the shortest first
    rivets: tuple[tuple[float, str, float], ...]


class Solution(Struct, frozen=True, kw_only=True):
    """A solved job."""

    job: Job  # what was asked
    wedge: Wedge  # the wedge at its stations
    stations: tuple[AnglesAt, ...]  # the angles at each station
    holes: tuple[HoleResult, ...]  # each hole; empty if the job has none
    guides: tuple[GuideResult, ...]  # the guide set, side A first
    checks: tuple[Check, ...]  # the shop checks
    # for each station its outline, or None where it was measured otherwise
    section_at: tuple[Section | None, ...]
    limits: tuple[str, ...]  # sentences on which reading limits the angles
    # how the stock may lie under the skins, or None where the job has no stock
    trim: TrimPlan | None = None
    # rivet and countersink in words; empty where the job states no rivet
    riveting: tuple[ShopLine, ...] = ()
    numbers: tuple[Number, ...] = ()  # what is told and needs no decision
    trials: tuple[Trial, ...] = ()  # rivets to try in scrap; empty where no shop head is set flush
    drift: float = MOST_DRIFT  # how far a hole may miss at the far skin, mm

    @property
    def brief(self) -> tuple[tuple[str, Sentence], ...]:
        """Return rivet and countersink in a few words, for the cover: the first seven lines."""
        return tuple((line.what, line.brief) for line in self.riveting[:7] if line.brief)

    @property
    def drilling_runs(self) -> list[list[list[int]]]:
        """Return the numbers of the holes in the order of drilling, see `holes.drilling_runs`."""
        given = self.job.holes
        if given is None:
            return []
        return drilling_runs(len(self.holes), given.keep_out, given.passes)

    @property
    def twins(self) -> tuple[tuple[GuideResult, GuideResult], ...]:
        """Return each guide of side A with the one of side B that is the same piece turned over.

        None on curved skins, where a guide stands on two feet of its own.
        """
        left = [guide for guide in self.guides if guide.side == "b"]
        found = []
        for guide in (guide for guide in self.guides if guide.side == "a"):
            twin = next((b for b in left if abs(b.angle - guide.angle) <= SAME_SHAPE), None)
            if twin is not None and not self.is_curved("a") and not self.is_curved("b"):
                left.remove(twin)
                found.append((guide, twin))
        return tuple(found)

    def skin_at(self, at: float, side: Side) -> float:
        """Return the skin angle of a side anywhere along the edge, radians.

        Args:
            at: position along the span, mm; beyond the end stations their own angle holds.
            side: ``a`` or ``b``.
        """
        faces = self.wedge.faces_at([at])
        (slope,) = (faces.slope_a if side == "a" else faces.slope_b).tolist()
        return math.atan(slope)

    def is_curved(self, side: str) -> bool:
        """Return whether a skin bends more over its fitted part than a straight base bears."""
        for section, station in zip(self.section_at, self.job.wedge.stations, strict=True):
            if section is None:
                continue
            fit = section.fit(station.values["from"])
            if (fit.bend_a if side == "a" else fit.bend_b) > FLAT_SKIN:
                return True
        return False
