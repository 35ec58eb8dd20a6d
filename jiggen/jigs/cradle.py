"""Cradle: it holds the wedge with its chord plane level under a drill press.

The wedge lies on one face, its thick front against the stop. The seat falls forward by the skin
angle of the face that lies down, so the chord plane is level and the countersink goes in square to
it, as the punched hole does. On a wrong seat every countersink is oval, and every rivet stands
proud on one side. No part of it comes up to the cutter's nose: nothing stands at the trailing edge,
and the stop ends below the upper face.

Ribs cut to the seat angle stand in a base; the stop goes up into them from below; the seat is glued
on top, against the stop. Each rib has a channel under the hole line, so one may stand anywhere.

::

      D ____  ___  C         z  up from the base
       |    ||   ||_____     |
       |    ||   |      |    |____ x  forward of the trailing edge
       |    |_|  |      |
       |   _  ___|| __  |    D-C  seat edge: the seat lies on it
      A|__|n||   || n|__|B   A-B  base edge; n tabs; || the stop's slot, open below

On a tapered wedge the skin angle changes along the edge: a cradle suits all of the face that lies
on it wherever it stands, and as few of them as will do are made. What hangs beyond it lies on loose
seats of the same ribs. It is never the only way: a table that tilts does the same.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing import looks
from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.exploded import Plate, exploded
from jiggen.drawing.face import Face
from jiggen.drawing.lettering import MIDDLE
from jiggen.drawing.looks import FINE, FINE_WIDE, area, label, line
from jiggen.drawing.page import Picture
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Dash, Edge, Mark, Path, Weight
from jiggen.errors import DoesNotFit
from jiggen.geometry import seat as numbers
from jiggen.geometry.frame import Side
from jiggen.geometry.guideset import guide_set
from jiggen.geometry.seat import SeatSection, Slopes, off_level, seat_range, seated_angle, suits
from jiggen.jigs.plan import Jig, Plan, Table
from jiggen.jigs.solids import cradle_solids
from jiggen.jigs.stand import needed_holes
from jiggen.job import sections
from jiggen.job.sections import Holes
from jiggen.solution import SAME_SHAPE, Check, Solution
from jiggen.units import Angle, Length, Words, joined, words

KIND = "cradle"

#: The skin that lies down: side B first, since side A is drilled and sunk first.
SIDES: tuple[Side, Side] = ("b", "a")
#: Places along a cradle at which the lying face is looked at.
LOOKS = 9
#: mm. What the cradle goes on beyond its outer holes, and its least length.
END, SHORTEST = 22.0, 92.0
#: mm. From an end of the seat to the rib there, and between the middles of two ribs: so far apart a
#: thin seat gives less than a click of the countersink's stop when 50 N press between them.
RIB_IN, RIBS_APART = 12.0, 45.0
#: mm. Ribs reach this far aft of the trailing edge, and forward of the stop; with the stop at the
#: trailing edge, aft of it.
BODY, BUTTRESS = 22.0, 24.0
#: mm. Depth of the channel in a rib: what a pilot or a bit sticks out of the wedge.
CHANNEL = 12.0
#: mm. Beside its slot a rib's upper edge steps down: the corner is sharp for a calliper.
STEP = 3.0
#: mm. Least height of a rib: there is room for the stop's slot and for lettering.
LOWEST = 30.0
#: mm. Length of a tab, from a rib's corner to it, and what it is shorter than the sheet is thick:
#: one that stands proud would rock the base.
TAB, TAB_IN, TAB_SHORT = 12.0, 6.0, 0.3
#: How high a rib's slot goes, in shares of its height there: the stop has room for its name below.
LAP = 0.56
#: mm. Slots of rib and stop are deeper together than they overlap: the stop stands on the base.
LAP_SPARE = 0.5
#: mm. Between the seat and the stop.
SEAT_GAP = 0.2
#: mm. The base goes on aft of the ribs, and forward of them, where it is clamped to the table.
BASE_AFT, LEDGE = 6.0, 22.0
#: mm. Length of a loose seat along the edge.
LOOSE = 56.0
#: mm. Sheet that is thinner bends, and thicker has no room for its slots.
SHEET_LEAST, SHEET_MOST = 1.5, 8.0
#: How large the picture of it at work is.
SMALLER = 0.75
#: mm. A rib that is off by more does not go together with the others.
LENGTH_ERROR = 0.3
#: mm. A narrower seat has no room for FORWARD; the line of the trailing edge tells it.
ARROW_WIDE = 26.0
#: radians. No job may allow more.
ERROR_MOST = math.radians(2.0)
SOURCE = "derived: the lying face's two slopes against a straight seat"


class Cradle(Struct, frozen=True, kw_only=True):
    """One cradle of the set.

    Attributes:
        side: the skin that lies down; ``ab`` where it suits both.
        number: its number on its side, from 1.
        section: its seat and stop.
        stands: first and last hole of each place where it stands.
        worst: largest angle between chord plane and table anywhere on it, radians.
        lean: largest slope of the lying face along the edge, radians; None where not known.
        margin: what is left of the allowed error for cutting, radians of seat angle.
    """

    side: str
    number: int
    section: SeatSection
    stands: tuple[tuple[int, int], ...]
    worst: float
    lean: float | None
    margin: float

    @property
    def label(self) -> str:
        """Return its short name, ``b1``; ``1`` where it serves both sides."""
        return str(self.number) if self.side == "ab" else f"{self.side}{self.number}"


class _Stand(Struct, frozen=True, kw_only=True):
    """A place where a cradle stands: the holes served there, and what lies on it."""

    first: int
    last: int
    slopes: Slopes
    known: bool
    upper: float
    front: float


def plan_cradle(solution: Solution) -> Plan:
    """Return the fewest cradles for both faces, those that suit both only once.

    Raises:
        DoesNotFit: no holes, a curved skin, a taper or a lean beyond the allowed error, or sizes
            that leave no cradle.
    """
    found, loose = cradles(solution), _loose_seats(solution)
    sheet = solution.job.cut.sheet
    built = [_Build(solution, cradle, cradle.section, sheet, loose) for cradle in found]
    for one in built:
        one.refuse()
    return Plan(
        kind=KIND,
        pieces=tuple(piece for one in built for piece in one.pieces),
        checks=(
            *(_level(solution, cradle) for cradle in found),
            *([_sag(solution)] if loose else ()),
        ),
        slotted=True,
        steps=_steps(solution, found, loose),
        pictures=(built[0].at_work(), built[0].apart()) if built else (),
        tables=tuple(_table(solution, cradle, loose) for cradle in found),
        card=(_clampings(solution),) if found else (),
        solids=lambda: cradle_solids(
            [(cradle.label, cradle.section) for cradle in found],
            depth=solution.job.wedge.depth or 2 * _holes(solution).line,
            edge=_holes(solution).positions[-1] + _holes(solution).positions[0],
            loose=loose,
        ),
    )


JIG = Jig(kind=KIND, plan=plan_cradle, asked_for=lambda solution: solution.job.cradle is not None)


# --- which cradles


def cradles(solution: Solution) -> tuple[Cradle, ...]:
    """Return the cradles of a job, those on which side B lies down first.

    Side A is drilled and sunk first. A face that lies level on the bare table needs none.

    Raises:
        DoesNotFit: see `plan_cradle`.
    """
    asked = _asked(solution)
    for side in SIDES:
        if solution.is_curved(side):
            raise DoesNotFit(
                f"the {_lying(solution, side)} skin is curved and rocks on a straight seat",
                key="cradle",
                given="an outline whose faces bend",
                remedy="leave out [cradle], or shim the wedge level and check it with a level",
            )
    down = {side: _stands(solution, side, asked.holes) for side in SIDES}
    _refuse_twist(solution, down, asked)
    on_b, on_a = (_set(solution, side, down[side], asked) for side in SIDES)
    if len(on_a) == len(on_b) and all(_alike(a, b) for a, b in zip(on_a, on_b, strict=True)):
        return tuple(_joined(a, b) for a, b in zip(on_a, on_b, strict=True))
    return (*on_b, *on_a)


def _asked(solution: Solution) -> sections.Cradle:
    return solution.job.cradle or sections.Cradle()


def _holes(solution: Solution) -> Holes:
    return needed_holes(
        solution.job, "a cradle has a channel under the hole line, and the job has no holes"
    )


def _lying(solution: Solution, side: str) -> str:
    sides = solution.job.sides
    return {"a": sides[0], "b": sides[1], "ab": f"{sides[0]} or {sides[1]}"}[side]


def _stands(solution: Solution, side: Side, most: int) -> list[_Stand]:
    """Return the places where a cradle stands, `most` neighbouring holes at a time."""
    holes, count = _holes(solution), len(solution.holes)
    size = min(most, count)
    drilled = {hole.number for hole in solution.holes if hole.drill_now}
    found = []
    for start in [min(start, count - size) for start in range(0, count, size)]:
        numbers_here = sorted(drilled & set(range(start + 1, start + size + 1)))
        if not numbers_here:
            continue
        low, high = holes.positions[start] - END, holes.positions[start + size - 1] + END
        faces = solution.wedge.faces_at(np.linspace(low, high, LOOKS).tolist(), holes.line)
        lying, over = faces.slope_a, faces.slope_b
        along = faces.slope_y_a
        if side == "b":
            lying, over, along = over, lying, faces.slope_y_b
        rear = np.nan_to_num(faces.rear)
        depth = solution.job.wedge.depth or 0.0
        found.append(
            _Stand(
                first=numbers_here[0],
                last=numbers_here[-1],
                slopes=tuple(zip(lying.tolist(), np.nan_to_num(along).tolist(), strict=True)),
                known=bool(np.isfinite(along).all()),
                upper=float((rear + holes.line * over).min()),
                front=float((rear + depth * (lying + over)).min()),
            )
        )
    return found


def _set(
    solution: Solution, side: Side, stands: list[_Stand], asked: sections.Cradle
) -> tuple[Cradle, ...]:
    """Return the fewest cradles on which `side` lies down."""
    # Level on the bare table: a cradle would only be one more thing to go wrong.
    most = (1.0 - numbers.CUT_SHARE) * asked.error
    if all(off_level(*slope, 0.0) <= most for stand in stands for slope in stand.slopes):
        return ()
    accepted = [seat_range(stand.slopes, asked.error) or (0.0, 0.0) for stand in stands]
    runs = guide_set(
        [(low + high) / 2 for low, high in accepted],
        [(high - low) / 2 for low, high in accepted],
        np.full(len(stands), math.nan),
    )
    return tuple(
        _cradle(solution, side, number, run.angle, stands[run.first : run.last + 1])
        for number, run in enumerate(runs, start=1)
    )


def _cradle(
    solution: Solution, side: Side, number: int, seat: float, stands: list[_Stand]
) -> Cradle:
    asked, holes = _asked(solution), _holes(solution)
    slopes = [slope for stand in stands for slope in stand.slopes]
    depth = solution.job.wedge.depth
    front = depth is not None and asked.stop_at == "front"
    return Cradle(
        side=side,
        number=number,
        section=SeatSection(
            seat=seat,
            height=asked.height,
            line=holes.line,
            drill=holes.drill,
            cutter=asked.stop,
            upper=min(stand.upper for stand in stands),
            depth=depth if front else None,
            front=min(stand.front for stand in stands) if front else None,
            wedge=depth,
        ),
        stands=tuple((stand.first, stand.last) for stand in stands),
        worst=max(off_level(*slope, seat) for slope in slopes),
        lean=max(math.atan(abs(s)) for _, s in slopes) if all(s.known for s in stands) else None,
        margin=min(
            (numbers.left_by_lean(s, asked.error) or 0.0) - abs(seated_angle(x, s) - seat)
            for x, s in slopes
        ),
    )


def _alike(one: Cradle, other: Cradle) -> bool:
    near = abs(one.section.seat - other.section.seat) <= SAME_SHAPE
    return near and one.stands == other.stands


def _joined(a: Cradle, b: Cradle) -> Cradle:
    """Return the cradle that serves both faces, as low as either of them needs it."""
    both = (a.section, b.section)
    fronts = [section.front for section in both if section.front is not None]
    return replace(
        b,
        side="ab",
        section=replace(
            b.section,
            upper=min(section.upper for section in both),
            front=min(fronts) if fronts else None,
        ),
        worst=max(a.worst, b.worst),
        margin=min(a.margin, b.margin),
    )


def _refuse_twist(
    solution: Solution, down: dict[Side, list[_Stand]], asked: sections.Cradle
) -> None:
    """Refuse a face that leans, or changes under one cradle, so much that no seat suits it."""
    faces = [stand.slopes for side in SIDES for stand in down[side]]
    if all(suits(slopes, asked.error) for slopes in faces):
        return
    lean = max(abs(math.atan(along)) for slopes in faces for _, along in slopes)
    leans = lean > (1.0 - numbers.CUT_SHARE) * asked.error
    seats = [[seated_angle(*slope) for slope in slopes] for slopes in faces]
    change = max(max(some) - min(some) for some in seats)
    fewer = _fewer(solution, asked)
    enough = numbers.least_error(faces)
    ways: list[str | Words] = [f"cradle.holes = {fewer}"] if fewer else []
    if enough <= ERROR_MOST + 1e-9:
        ways.append(words("cradle.error of {enough}", enough=Angle(enough)))
    if not ways:
        ways = ["shim one end of the wedge" if leans else "leave out [cradle]"]
    raise DoesNotFit(
        words(
            "the skin leans {by} along the edge, more than a seat that is level along it may leave"
            if leans
            else "under one cradle the skin angle changes by {by}",
            by=Angle(lean if leans else change),
        ),
        key="cradle.holes" if fewer else "cradle.error",
        given=str(asked.holes)
        if fewer
        else words("{error}, of which two thirds are for the wedge", error=Angle(asked.error)),
        remedy=joined(ways, " or "),
    )


def _fewer(solution: Solution, asked: sections.Cradle) -> int:
    """Return the most holes at a time, fewer than were asked for, that a seat suits; 0 for none."""
    for count in range(min(asked.holes, len(solution.holes)) - 1, 0, -1):
        faces = [stand.slopes for side in SIDES for stand in _stands(solution, side, count)]
        if all(suits(slopes, asked.error) for slopes in faces):
            return count
    return 0


# --- its plates


class _Build(Struct, frozen=True, dict=True):
    """What a cradle's plates are cut to: x forward of the trailing edge, z up from the base, mm."""

    solution: Solution
    cradle: Cradle
    section: SeatSection
    sheet: float
    loose: int

    @cached_property
    def reach(self) -> float:
        """From the first to the last of the holes that it serves without being moved."""
        positions = _holes(self.solution).positions
        count = min(_asked(self.solution).holes, len(positions))
        return max(b - a for a, b in zip(positions, positions[count - 1 :], strict=False))

    @cached_property
    def length(self) -> float:
        """Of seat, stop and base along the edge."""
        return max(self.reach + 2 * END, SHORTEST)

    @cached_property
    def ribs(self) -> tuple[float, ...]:
        """Middles of the ribs along the edge."""
        return _spread(self.length, self.sheet)

    @cached_property
    def wide(self) -> float:
        """Of a slot that takes a sheet."""
        return self.sheet + _asked(self.solution).fit

    @cached_property
    def slot(self) -> tuple[float, float]:
        """Where a rib's slot for the stop begins and ends."""
        face = self.section.stop
        return (face, face + self.wide) if self.section.depth is not None else (-self.wide, 0.0)

    def edge(self, x: float) -> float:
        """Return the height of a rib's seat edge: the seat lies on it, one sheet higher."""
        s, t = self.section, self.sheet
        return s.level(x) - t / math.cos(s.seat) - t

    @cached_property
    def seat_edge(self) -> tuple[float, float]:
        """Where a rib's seat edge begins and ends."""
        s = self.section
        if s.depth is None:
            return 0.0, s.ends[1]
        return -s.aft_of_edge(BODY, self.sheet / math.cos(s.seat)), s.depth

    @cached_property
    def body(self) -> tuple[float, float]:
        """Where a rib begins and ends."""
        if self.section.depth is None:
            return self.slot[0] - BUTTRESS, self.section.ends[1]
        return -BODY, self.slot[1] + BUTTRESS

    @cached_property
    def lap(self) -> float:
        """How high a rib's slot goes."""
        return LAP * (self.edge(self.section.stop) - STEP)

    @cached_property
    def stop_top(self) -> float:
        """How high the stop goes."""
        return self.section.stop_top - self.sheet

    @cached_property
    def tabs(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Where a rib's tabs begin and end."""
        aft, forward = self.body[0] + TAB_IN, self.body[1] - TAB_IN
        return (aft, aft + TAB), (forward - TAB, forward)

    def refuse(self) -> None:
        """Refuse sizes that would not hold the wedge, with the way out."""
        s, t = self.section, self.sheet
        if not SHEET_LEAST <= t <= SHEET_MOST:
            given, least, most = (Length(mm, None) for mm in (t, SHEET_LEAST, SHEET_MOST))
            what = "bend" if t < SHEET_LEAST else "leave no room for their slots"
            raise DoesNotFit(
                words("ribs of {t} {what}", t=given, what=what),
                key="cut.sheet",
                given=given,
                remedy=words("{least} to {most}", least=least, most=most),
            )
        for fault in s.faults():
            raise self._fault(fault)
        lowest = min(self.edge(x) for x in self.seat_edge) - STEP
        if lowest < LOWEST:
            need = math.ceil(s.height + LOWEST - lowest)
            raise DoesNotFit(
                "the seat is too low for a clamp, for swarf and for the stop's slots",
                key="cradle.height",
                given=Length(s.height, 1),
                remedy=words("{h} or more", h=Length(need, 1)),
            )

    def _fault(self, fault: str) -> DoesNotFit:
        s = self.section
        match fault:
            case "steep":
                return DoesNotFit(
                    words("a seat of {a} is too steep to clamp on", a=Angle(s.seat)),
                    key="cradle",
                    given=Angle(s.seat),
                    remedy=words(
                        "{most} or less; lay the other face down, or tilt the table",
                        most=Angle(numbers.STEEPEST),
                    ),
                )
            case "stop":
                high = s.stop_top - s.level(s.stop)
                return DoesNotFit(
                    words("a stop of {x} does not hold the wedge", x=Length(max(high, 0.0), 1)),
                    key="cradle.stop_at",
                    given='"TE"' if s.depth is None else '"front"',
                    remedy='state wedge.depth, and stop_at = "front"; or tilt the table'
                    if s.depth is None
                    else 'stop_at = "TE", or tilt the table',
                )
            case _:
                return DoesNotFit(
                    words(
                        "a channel for drill {d} leaves no strip of seat beside it",
                        d=Length(s.drill),
                    ),
                    key="holes.line",
                    given=Length(s.line),
                    remedy="tilt the table, the wedge on its bare top",
                )

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """Rib, seat, stop and base, and seat and base of the loose seats."""
        one = (
            self.rib,
            self._seat("seat", self.length),
            self._stop(),
            self._base("base", self.length, self.ribs),
        )
        if not self.loose:
            return one
        return (
            *one,
            self._seat("loose seat", LOOSE, count=self.loose),
            self._base("loose base", LOOSE, _spread(LOOSE, self.sheet), count=self.loose),
        )

    def _face(self) -> Face:
        return Face(self.solution.job.name, self.solution.job.units)

    def _piece(self, part: str, outline: Path, face: Face, *, count: int = 1, **more: Any) -> Piece:
        label = self.cradle.label
        return face.piece(
            KIND,
            f"{KIND}-{label}-{part.replace(' ', '-')}",
            f"CRADLE {label}",
            outline,
            variant=part if count == 1 else f"{part}, cut {count}",
            count=count,
            side=self.cradle.side,
            **more,
        )

    @cached_property
    def rib(self) -> Piece:
        """The rib: forward to the right, base edge along x."""
        (x_d, x_c), (aft, forward), slot = self.seat_edge, self.body, self.slot
        low, high = (x - side for x, side in zip(self.section.channel, (0.5, -0.5), strict=True))
        at = {x: Point(x, self.edge(x)) for x in (x_d, low, high, x_c)}
        floor = min(at[low].y, at[high].y) - CHANNEL
        corners = {"A": Point(aft, 0.0), "B": Point(forward, 0.0), "C": at[x_c], "D": at[x_d]}
        short = self.sheet - TAB_SHORT
        tabs = [[(a, 0.0), (a, -short), (b, -short), (b, 0.0)] for a, b in self.tabs]
        gap = [(slot[0], 0.0), (slot[0], self.lap), (slot[1], self.lap), (slot[1], 0.0)]
        rim = [corners["A"], *tabs[0], *gap, *tabs[1], corners["B"]]
        if forward > x_c:
            rim += [(forward, at[x_c].y - STEP), (x_c, at[x_c].y - STEP)]
        rim += [at[x_c], at[high], (high, floor), (low, floor), at[low], at[x_d]]
        if aft < x_d:
            rim += [(x_d, at[x_d].y - STEP), (aft, at[x_d].y - STEP)]
        feet = [(self.tabs[0][1], slot[0]), (slot[1], self.tabs[1][0])]
        left, right = max(feet, key=lambda foot: foot[1] - foot[0])
        seats = [Edge(at[x_d], at[low]), Edge(at[high], at[x_c])]
        degrees = abs(math.degrees(self.section.seat))
        face = self._face()
        base = Edge(Point(left, 0.0), Point(right, 0.0))
        face.angle("seat", degrees, base, max(seats, key=lambda edge: edge.chord))
        face.must_be_true(*seats)
        face.over(corners, ("AB", "BC", "CD", "AD", "AC", "BD"))
        return self._piece(
            "rib",
            Path.closed(rim),
            face,
            count=len(self.ribs) + 2 * self.loose,
            number=f"{degrees:.1f}°",
            letters=corners,
            allowed_angle=math.degrees(self.cradle.margin),
            allowed_length=LENGTH_ERROR,
        )

    @cached_property
    def seat_span(self) -> tuple[float, float]:
        """Where the seat begins and ends along its slope, its lower edge clear of the stop."""
        s, (begin, end) = self.section, self.section.ends
        cos, tilt = math.cos(s.seat), self.sheet * math.sin(s.seat)
        if s.depth is None:
            return begin / cos + SEAT_GAP + max(tilt, 0.0), end / cos
        return begin / cos, end / cos - SEAT_GAP + min(tilt, 0.0)

    def _seat(self, part: str, length: float, count: int = 1) -> Piece:
        """Return a seat as it lies: along the edge to the right, forward up, TE at y = 0."""
        (low, high), face = self.seat_span, self._face()
        if length > LOOSE:
            # A pilot goes straight down: through the seat's thickness it moves along the slope.
            shift, cos = self.sheet * self.section.slope, math.cos(self.section.seat)
            aft, forward = self.section.channel
            end = (length - self.reach - forward + aft) / 2
            face.slot(
                Bounds(
                    end, aft / cos + min(shift, 0.0), length - end, forward / cos + max(shift, 0.0)
                ).corners
            )
        edge = Edge(Point(length, 0.0), Point(0.0, 0.0))
        goes_on = low < -STEP
        if goes_on:
            face.line(edge.start, edge.end)
        return self._piece(
            part,
            Path.closed(Bounds(0.0, low, length, high).corners),
            face,
            count=count,
            forward=(0.0, 1.0) if high - low >= ARROW_WIDE else None,
            instruction=("TE HERE", edge) if goes_on and part == "seat" else None,
        )

    def _stop(self) -> Piece:
        """Return the stop, seen from the wedge: slots from above take the ribs."""
        top, half, foot = self.stop_top, self.wide / 2, self.lap - LAP_SPARE
        face, rim = self._face(), [*Bounds(0.0, 0.0, self.length, top).corners]
        for x in self.ribs:
            slot = [(x + half, top), (x + half, foot), (x - half, foot), (x - half, top)]
            rim[3:3] = [Point(*corner) for corner in slot]
        middle = len(self.ribs) // 2
        tooth = Edge(Point(self.ribs[middle] - half, top), Point(self.ribs[middle - 1] + half, top))
        return self._piece(
            "stop",
            Path.closed(rim),
            face,
            forward=None,
            instruction=("WEDGE HERE", tooth),
            name_at=(0.0, foot),
        )

    def _base(self, part: str, length: float, ribs: Sequence[float], count: int = 1) -> Piece:
        """Return a base as it lies: slots for the ribs' tabs, a ledge for clamps forward."""
        low, high = self.body[0] - BASE_AFT, self.body[1] + LEDGE
        spare, half, face = (self.wide - self.sheet) / 2, self.wide / 2, self._face()
        for x in ribs:
            for start, end in self.tabs:
                face.slot(Bounds(x - half, start - spare, x + half, end + spare).corners)
        ledge = Edge(Point(length, high), Point(0.0, high))
        return self._piece(
            part,
            Path.closed(Bounds(0.0, low, length, high).corners),
            face,
            count=count,
            forward=(0.0, 1.0),
            instruction=("CLAMP TO THE TABLE", ledge) if part == "base" else None,
        )

    # --- its pictures

    def at_work(self) -> Picture:
        """Draw the cradle from its end with the wedge on it, chord plane level, cutter above."""
        s, t = self.section, self.sheet
        (begin, end), aft, forward = s.ends, self.body[0], self.body[1] + LEDGE
        depth, face = s.depth or s.wedge or 2 * s.line, s.height + s.upper
        rear, tip = face - s.line * s.over, face + (depth - s.line) * s.over
        wedge = [(0.0, s.height), (depth, s.level(depth)), (depth, tip), (0.0, rear)]
        seat = [(x, s.level(x) - down) for x, down in ((begin, t), (end, t), (end, 0), (begin, 0))]
        half = [(1.2, face + 1.0), (8.0, face + 8.0), (8.0, face + 20.0)]
        cutter = [(s.line + x, z) for x, z in half] + [(s.line - x, z) for x, z in half[::-1]]
        level = (s.height + rear) / 2
        drawn = [
            area(Bounds(aft - BASE_AFT, 0.0, forward, t).corners, 0.0, FINE_WIDE),
            Mark(shape=self.rib.outline.moved(Affine.move(0.0, t)), fill=0.0, line=FINE_WIDE),
            area(Bounds(self.slot[0], t, self.slot[1], s.stop_top).corners, 0.0, FINE_WIDE),
            *(area(shape, 0.0, FINE_WIDE) for shape in (seat, wedge, cutter)),
            *looks.hatched(wedge, 2.0, FINE),
            line((aft - 6.0, level), (self.body[1] + 4.0, level), width=FINE, dash=Dash.CHAIN),
        ]
        small = Affine(a=SMALLER, d=SMALLER)
        marks = [mark.moved(small) for mark in drawn]
        down = "forward" if s.seat >= 0 else "aft"
        tilt = f"or tilt the table {abs(math.degrees(s.seat)):.1f}°, {down} side down"
        side = SMALLER * self.body[1]
        left, high = SMALLER * aft - 4.0, SMALLER * (face + 20.0)
        marks += [
            looks.words((left, high + 7.0), tilt, MIDDLE, Weight.SEMIBOLD),
            *label((left, high - 8.0), "seat", small.point((aft + 6.0, s.level(aft) - t / 2))),
            *label((side, high - 6.0), "quill stop, no cage", small.point((s.line + 8, face + 14))),
            looks.words((side + 4.0, SMALLER * level - 1.25), "chord plane, level"),
            *label(
                (side + 4.0, SMALLER * level - 10.0),
                "stop",
                small.point((self.slot[1], s.stop_top - 3.0)),
            ),
            *label((side + 4.0, 12.0), "base, clamped", small.point((self.body[1] + 5.0, t))),
        ]
        return Picture.around(marks)

    def apart(self) -> Picture:
        """Draw base, stop, ribs and seat apart."""
        t, s = self.sheet, self.section
        rib, seat, stop, base = self.pieces[:4]
        along, up, forward = (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
        fall = (math.cos(s.seat), 0.0, -math.sin(s.seat))
        high, drop, deep = s.height + 34.0, -self.stop_top - 22.0, -self.stop_top - 62.0
        face = self.slot[0] if s.depth is not None else self.slot[1] - t
        names = [*[""] * (len(self.ribs) - 1), f"rib, {len(self.ribs)}"]
        plates = [
            Plate(base.outline, (0.0, 0.0, deep), along, forward, t, "base", base.inner),
            Plate(stop.outline, (face, 0.0, drop), along, up, t, "stop, from below"),
            *(
                Plate(rib.outline, (0.0, x + t / 2, 0.0), forward, up, t, named)
                for x, named in zip(self.ribs, names, strict=True)
            ),
            Plate(seat.outline, (0.0, 0.0, high), along, fall, t, "seat", seat.inner),
        ]
        joins = [((self.tabs[1][0], x, deep), (self.tabs[1][0], x, 0.0)) for x in self.ribs]
        joins += [
            ((s.stop, x, self.edge(s.stop)), (s.stop, x, high - s.stop * s.slope))
            for x in (self.ribs[0], self.ribs[-1])
        ]
        return exploded(plates, joins, width=70.0, height=96.0)


def _spread(length: float, sheet: float) -> tuple[float, ...]:
    """Return the middles of ribs under a seat, mm: one near each end, others evenly between."""
    first, last = RIB_IN + sheet / 2, length - RIB_IN - sheet / 2
    gaps = math.ceil((last - first) / RIBS_APART)
    return tuple(first + (last - first) * k / gaps for k in range(gaps + 1))


# --- what it is held to, and what is said


def _loose_seats(solution: Solution) -> int:
    """Return how many loose seats hold up what hangs beyond a cradle that stands at one end."""
    positions, apart = _holes(solution).positions, _asked(solution).support
    count = min(_asked(solution).holes, len(positions))
    served = positions[count - 1] - positions[0]
    trim = solution.job.stock.trim if solution.job.stock is not None else None
    whole = positions[-1] - positions[0] + 2 * END if trim is None else trim[1] - trim[0]
    hangs = whole - served - 2 * END
    return 0 if hangs <= apart else max(math.ceil(hangs / apart) - 1, 1)


def _mean_thickness(solution: Solution) -> float | None:
    """Return the mean thickness of the wedge where it is least, mm, or None."""
    faces = solution.wedge.faces_at([station.at for station in solution.stations])
    depth = solution.job.wedge.depth or 2 * _holes(solution).line
    mean = faces.rear + depth / 2 * (faces.slope_a + faces.slope_b)
    return None if not np.isfinite(mean).all() else float(mean.min())


def _level(solution: Solution, cradle: Cradle) -> Check:
    asked = _asked(solution)
    lean: str | Words = "the lean along the edge is not known: state wedge.rear_thickness"
    if cradle.lean is not None:
        lean = words("the lean of {lean} along the edge counted", lean=Angle(cradle.lean))
    return Check(
        id=f"cradle-level-{cradle.label}",
        name=f"cradle {cradle.label}, chord plane off level",
        status="ok" if cradle.lean is not None else "not checked",
        value=math.degrees(cradle.worst),
        limit=math.degrees(asked.error),
        unit="deg",
        why=words(
            "{down} down, standing at {places}; {lean}",
            down=_lying(solution, cradle.side),
            places=_places(cradle),
            lean=lean,
        ),
        source=SOURCE,
        keys=("cradle.error", "wedge.rear_thickness"),
    )


def _places(cradle: Cradle) -> str:
    """Say at which holes a cradle stands: all of them where they are few."""
    said = [str(a) if a == b else f"{a}-{b}" for a, b in cradle.stands]
    return ", ".join(said) if len(said) <= 4 else f"{said[0]}, {said[1]} ... {said[-1]}"


def _sag(solution: Solution) -> Check:
    apart, thick = _asked(solution).support, _mean_thickness(solution)
    sags = None if thick is None else numbers.free_sag(apart, thick)
    good = sags is not None and sags <= numbers.SAG
    every = 0.0 if thick is None else math.floor(numbers.support_spacing(thick) / 5.0) * 5.0
    spacing = Length(every, 0)
    why: str | Words = "how far it sags needs wedge.rear_thickness"
    if sags is not None:
        why = words(
            "a wedge that hangs free by {apart} sags so much; at {spacing} {limit}",
            apart=Length(apart, 0),
            spacing=spacing,
            limit=Length(numbers.SAG, 1),
        )
    act = words("Put a loose seat every {spacing} under the wedge.", spacing=spacing)
    return Check(
        id="cradle-support",
        name="wedge between loose seats",
        status="not checked" if sags is None else "ok" if good else "warn",
        value=sags,
        limit=numbers.SAG,
        unit="mm",
        why=why,
        source="beam held at one end under its own weight; 0.5 mm allowed is common practice, "
        "no published source",
        keys=("cradle.support",),
        act="" if good else act,
    )


def _clampings(solution: Solution) -> str:
    """Say how often the wedge is clamped to countersink both faces."""
    drilled = sum(hole.drill_now for hole in solution.holes)
    count = min(_asked(solution).holes, len(solution.holes))
    return f"{numbers.set_ups(drilled, count)} clampings"


def _steps(solution: Solution, found: Sequence[Cradle], loose: int) -> tuple[str | Words, ...]:
    """Return how it is used: the way without a cradle first."""
    steepest = max(solution.stations, key=lambda at: at.included)
    sides = solution.job.sides
    bare = [s for s in SIDES if not any(s in cradle.side for cradle in found)]
    alike = abs(steepest.skin_a - steepest.skin_b) < SAME_SHAPE
    tilted = words(
        "Wedge on the bare table, table tilted forward side down: {b} with the {under} face down, "
        "{a} with the {upper} face down.",
        b=Angle(steepest.skin_b),
        a=Angle(steepest.skin_a),
        under=sides[1],
        upper=sides[0],
    )
    # A cradle's own picture says by how much to tilt the table in its place.
    first: list[str | Words] = [] if alike and found else [tilted]
    first += [
        f"{_lying(solution, side)} face down it lies level on the bare table." for side in bare
    ]
    if not found:
        return tuple(first)
    at_front = found[0].section.depth is not None
    steepest_seat = max(abs(cradle.section.slope) for cradle in found)
    pushed = "Push it to the stop: it does not slide there by itself."
    if not at_front:
        pushed = "A clamp pushes it aft to the stop: the seat falls away from it."
    elif numbers.slides(steepest_seat):
        pushed = "It slides to the stop by itself."
    apart = Length(_asked(solution).support, 0)
    under = words(
        "A loose seat every {apart} under what hangs over: {n} of them.", apart=apart, n=loose
    )
    return (
        "Stop up into the ribs, both onto the base, seat on top against the stop. Glue.",
        pushed,
        "Clamp on the seat between the holes, the jaw on a reversed offcut of the wedge.",
        *([under] if loose else ()),
        "Quill stop, not the cage: its foot would ride on the high side.",
        f"{_clampings(solution)}, {_asked(solution).holes} holes at a time.",
        *first,
    )


def _table(solution: Solution, cradle: Cradle, loose: int) -> Table:
    s, units = cradle.section, solution.job.units
    over = numbers.tilt_rise(abs(s.seat))
    rise = f"{over:.2f} mm in 100 mm" if units == "mm" else f"{over / 10:.3f} in in 10 in"
    first, last = cradle.stands[0][0], cradle.stands[-1][1]
    worst, allowed = math.degrees(cradle.worst), math.degrees(_asked(solution).error)
    rows = [
        ("seat falls forward", f"{math.degrees(s.seat):.2f}°"),
        ("lies down", _lying(solution, cradle.side)),
        ("holes", f"{first} to {last}"),
        ("off level, allowed", f"{worst:.2f}°, {allowed:.2f}°"),
        ("work", f"{_clampings(solution)}, {_asked(solution).holes} holes at a time"),
        ("or tilt the table by", f"{abs(math.degrees(s.seat)):.2f}°"),
        ("which rises", rise),
    ]
    if s.depth is None and _asked(solution).stop_at == "front":
        rows.append(("stop", "at the TE; state wedge.depth for the front"))
    if loose:
        rows.append(
            ("loose seats", f"{loose}, every {Length(_asked(solution).support, 0).said(units)}")
        )
    return Table(title=f"CRADLE {cradle.label}", rows=tuple(rows))
