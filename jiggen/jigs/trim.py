"""Trim templates: both ends of the part at 1:1, whose end edge is the cut; and a tag for each end.

A template lies on the skin side of the wedge with its long edge flush with the trailing edge and
pins through the rivet holes; the cut is scribed along its end edge. On paper what the cut passes
is drawn on it: so it can be seen before the saw that a notch is left, and how deep.

If it were wrong, the part would end short of its trim line, or be cut through the last rivet; a
template laid at the wrong end would do the same. So the corner ahead of the cut is cut away, with
a slope at the start and with a step at the end. A tag stands on the waste of each end until all is
drilled, so that nobody turns the stock over between two holes.

Holes are drawn where they lie on the face, so distances forward of the trailing edge are longer
than in the chord plane by 1 / cos(skin angle) of the face at the hole itself; a slanting cut is
drawn as it crosses the face. Side A is seen from outside, forward up: the zero end then lies to
the right, or to the left where the job says so.

::

           _________________________________________ C
          |   name, number, arrow                   |
         /                                          |
     D /                                            |
      |<= the cut                                   |
      |- - - - - - - - - - - - - - - - - - - - - - -|      front of the wedge
  ( ) |  ( ):           (   )          (   )        |      lightening holes
      |     :   o          o           o            |      rivet holes
     A|_____________________________________________|B     TE edge
      0  u, inward from the cut
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.face import LEAST_WEB, Face, notches
from jiggen.drawing.lettering import SMALL, shortened, text_width
from jiggen.drawing.looks import (
    FINE,
    FINE_WIDE,
    FORWARD_LEAST,
    TINT,
    area,
    forward_arrow,
    line,
    words,
)
from jiggen.drawing.page import Picture
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Anchor, Bounds, Circle, Dash, Edge, Mark, On, Path
from jiggen.errors import DoesNotFit
from jiggen.geometry.trim import START, Cut, Part, Placement, TrimPlan
from jiggen.jigs.plan import Jig, Plan, Table
from jiggen.jigs.stand import hole_1_left
from jiggen.solution import Solution
from jiggen.units import Length

KIND = "trim"

#: mm. White between the wedge as drawn and what is ahead of it.
CLEAR = 2.0
#: mm. Ahead of the wedge as drawn: white, the row of a fairing's word if there is one, and what
#: the cut edge goes on for a saw to be led by it.
WHITE, FAIRING, AHEAD = 4.4, 4.4, 7.4
#: mm. Height of the band ahead of the cut edge: room for name and arrow, and for a hand.
BAND = 30.0
#: mm. How far the corner ahead of the cut is cut away: seen at once, and no room for a saw.
CUT_AWAY = 14.0
#: mm. What stays free of holes at the far end.
FAR = 9.0
#: mm. Least and greatest length: room for the name, and what a sheet of paper holds.
LEAST, MOST = 116.0, 160.0
#: Rivet holes that a template should reach.
HOLES = 3
#: mm. Holes that lie so far in the waste still tell how deep the template is.
BEYOND = 18.0
#: mm. What a hole takes beyond its rim.
ARM = 1.6
#: Rivet holes whose place is a check dimension.
SIZED = 4
#: Degrees. A cut that is off by more shows as a wedge of light against the next part.
SQUARE = 0.5
#: mm. How far the cut may lie from its place: half of what a saw takes.
PLACE = 0.25
#: mm. From the upper corner at the right to the middle of the arrow; room of a corner's letter.
ARROW_IN, LETTER_IN = 17.0, 8.0
#: mm. A tag, whose notches are filed into the waste as well; and the least waste that it stands on.
TAG_LONG, TAG_HIGH, TAG_ON = 60.0, 22.0, 5.0
#: mm. Width of the picture, and height of the wedge in it.
PICTURE, PICTURE_WEDGE = 135.0, 12.0


class EndHole(Struct, frozen=True, kw_only=True):
    """A rivet hole or a lightening hole near a cut, as it lies on the face, mm.

    Inward is counted from where the cut meets the TE, negative in the waste. A rivet hole has a
    number; in a sound one a pin can hold: no edge runs into it.
    """

    inward: float
    forward: float
    radius: float
    number: int | None = None
    sound: bool = True

    @property
    def reach(self) -> float:
        """Return how far inward it goes, with some white, mm."""
        return self.inward + self.radius + ARM + 0.5


class TrimEnd(Struct, frozen=True, kw_only=True):
    """One end of the part, as it lies on the face.

    Attributes:
        rivets: rivet holes by their distance from the cut.
        passed: lightening holes, and rivet holes of the stock that the cut passes.
        depth: of the wedge along the face at the cut, mm, or None.
        fairing: how far in from the cut the fairing covers, mm; 0 if there is none.
        slant: how far the cut runs inward for each mm forward on the face.
    """

    rivets: tuple[EndHole, ...]
    passed: tuple[EndHole, ...]
    depth: float | None
    fairing: float
    slant: float = 0.0

    @property
    def length(self) -> float:
        """Return how long a template shows this end, mm."""
        row = [hole.inward for hole in self.rivets if hole.inward > 0.0][:HOLES]
        notched = [h.inward + h.radius for h in self.passed if abs(h.inward) < h.radius]
        wanted = max([LEAST, *(at + CUT_AWAY + FAR for at in (*row, *notched))])
        while wanted > MOST and row:
            wanted = max([LEAST, *(at + CUT_AWAY + FAR for at in row)])
            row.pop()
        long = min(wanted, MOST)
        # A hole at the far end is shown whole, with white about it and for its pin, or not at all.
        for hole in self.rivets:
            whole = hole.reach + FAR
            if hole.inward - hole.radius < long - FAR < hole.reach and whole <= MOST:
                long = whole
        return long

    @property
    def work_top(self) -> float:
        """Return how far forward the wedge is drawn, mm."""
        holes, far = (*self.rivets, *self.passed), self.length
        tops = [h.forward + h.radius + ARM for h in holes if -BEYOND < h.inward < far]
        return max([self.depth or 0.0, 12.0, *tops]) + CLEAR

    @property
    def edge_top(self) -> float:
        """Return how far forward the cut edge goes, mm."""
        return self.work_top + WHITE + (FAIRING if self.fairing > 0.0 else 0.0) + AHEAD

    def from_cut(self, hole: EndHole) -> float:
        """Return how far a hole's middle lies from the cut, square to it, mm."""
        return (hole.inward - self.slant * hole.forward) / math.hypot(1.0, self.slant)

    def pinned(self) -> tuple[EndHole, ...]:
        """Return the rivet holes that are cut out for a pin, with enough left round each."""
        far = self.length - FAR
        found: list[EndHole] = []
        for hole in self.rivets:
            edges = (self.from_cut(hole), far - hole.inward, hole.forward)
            after = found and hole.inward - found[-1].inward < hole.radius * 2 + LEAST_WEB
            whole = hole.reach <= far and min(edges) - hole.radius >= LEAST_WEB
            if hole.sound and whole and not after:
                found.append(hole)
        return tuple(found)


def plan_trim(solution: Solution) -> Plan:
    """Return the templates and the tags of both ends; none where no shift lines the holes up.

    Raises:
        DoesNotFit: the job has no stock.
    """
    plan = solution.trim
    if plan is None:
        raise DoesNotFit(
            "the trim templates need the stock that the part is cut from",
            key="stock",
            given="none",
            remedy="state [stock] with length, trim and its holes",
        )
    best = plan.best
    if best is None:
        return Plan(kind=KIND)
    left = hole_1_left(solution.job)
    templates = tuple(_template(solution, plan, best, cut) for cut in best.cuts)
    tags = tuple(
        _tag(solution, cut, number, outer_right=left == (number == 1))
        for number, cut in enumerate(best.cuts)
        if cut.left >= TAG_ON
    )
    pins = ", pins through its holes" if plan.part.holes else ""
    if counted := _stock_holes(solution, plan, best):
        pins = f", pins in the stock's holes {counted} from there"
    return Plan(
        kind=KIND,
        pieces=(*templates, *tags),
        steps=(
            *(["Glue each tag on the waste of its end; file its notches."] if tags else []),
            f"Lay each template on {solution.job.sides[0]}, TE flush{pins}.",
            "Scribe, saw beside the line, file to it, deburr.",
        ),
        pictures=(stock_picture(solution, plan, best),),
        tables=tuple(cut_table(solution, plan.part, cut) for cut in best.cuts),
    )


JIG = Jig(kind=KIND, plan=plan_trim, asked_for=lambda solution: solution.job.stock is not None)


def _stock_holes(solution: Solution, plan: TrimPlan, best: Placement) -> str:
    """Return which holes of the stock take the pins, counted from the end that is cut."""
    length = plan.stock.length
    holes = [length - at if best.turned else at for at in plan.stock.holes]
    said: dict[int, str] = {}
    for number, cut in enumerate(best.cuts):
        pinned = _end(solution, plan, best, cut).pinned()
        from_end = sorted(holes if number == 0 else (length - at for at in holes))
        if not from_end or not pinned:
            continue
        off = np.abs(np.subtract.outer([cut.left + hole.inward for hole in pinned], from_end))
        rank = 1 + off.argmin(axis=1)
        low, high = rank.min(), rank.max()
        said[number] = f"{low} to {high}" if high > low else f"{low}"
    if len(said) == len(best.cuts) and len(set(said.values())) == 1:
        return said[0]
    return ", ".join(f"{which} at end {number}" for number, which in said.items())


def end_angle(solution: Solution, cut: Cut) -> float:
    """Return a cut's angle from square, radians, positive where its front is farther from 0."""
    stock = solution.job.stock
    assert stock is not None
    return stock.end_angles[0 if cut.end == START else 1]


def cut_table(solution: Solution, part: Part, cut: Cut) -> Table:
    """Return a cut's places for the numbers page, and what it passes."""
    units, line = solution.job.units, part.cuts[0 if cut.end == START else 1]
    rows = [("at the TE", Length(cut.at))]
    if line.angle:
        rows.append(("on the hole line", Length(line.at(part.line))))
        if part.depth is not None:
            rows.append(("at the front", Length(line.at(part.depth))))
    rows.append(("from the stock's zero end", Length(cut.on_stock)))
    said = [(name, value.said(units)) for name, value in rows]
    for notch in cut.notches:
        seen = "hidden" if notch.hidden else "in sight"
        wide, deep = (Length(size, 1).said(units) for size in (notch.widest, notch.depth))
        said.append(("notch", f"{wide} wide, {deep} deep, {seen}"))
    nearest = cut.nearest
    if nearest is not None:
        to = f"hole {nearest.number} to the {nearest.to}"
        said.append((to, Length(nearest.metal, 1).said(units)))
    return Table(title=f"TRIM {cut.end}", rows=tuple(said))


# --- the template


def _template(solution: Solution, plan: TrimPlan, best: Placement, cut: Cut) -> Piece:
    """Return the template of one end; drawn with the cut at the left, turned over where it is not.

    Sloped at the start, stepped at the end: neither is the other turned over.
    """
    job, start = solution.job, cut is best.cuts[0]
    end = _end(solution, plan, best, cut)
    top, edge_top, lean = end.edge_top + BAND, end.edge_top, end.slant * end.edge_top
    length = end.length + max(lean, 0.0)
    shoulder = edge_top + (CUT_AWAY if start else 0.0)
    a, b, c, d = (0.0, 0.0), (length, 0.0), (length, top), (lean, edge_top)
    outline = Path.closed([a, b, c, (lean + CUT_AWAY, top), (lean + CUT_AWAY, shoulder), d])
    at_right = start != hole_1_left(job)
    face = Face(job.name, job.units, mirrored=at_right)
    base, cut_edge = Edge(Point(*a), Point(*b)), Edge(Point(*a), Point(*d))
    face.angle("cut", 90.0 - math.degrees(math.atan(end.slant)), base, cut_edge)
    face.over({"A": a, "B": b, "C": c, "D": d}, ("AB", "AD", "BC", "BD", "AC"))
    pinned = end.pinned()
    for hole in pinned:
        face.hole((hole.inward, hole.forward), hole.radius)
    for hole in pinned[:SIZED]:
        _from_cut(face, end, hole)
    _work(face, end, length, pinned)
    return face.piece(
        KIND,
        f"{KIND}-{cut.end}",
        "TRIM",
        outline,
        variant=cut.end,
        number=Length(cut.at, None).said(job.units),
        forward=(0.0, 1.0),
        letters={"A": a, "B": b, "C": c, "D": d},
        instruction=("TE FLUSH BELOW", base),
        # The name stands at the left, and leaves the corner there to its letter.
        name_at=(length - LETTER_IN, top) if at_right else None,
        arrow_at=(lean + CUT_AWAY + ARROW_IN, top) if at_right else (length - ARROW_IN, top),
        side="a",
        allowed_angle=SQUARE,
        allowed_length=PLACE,
    )


def _end(solution: Solution, plan: TrimPlan, best: Placement, cut: Cut) -> TrimEnd:
    """Return what lies near a cut, along the face of side A."""
    part, first = plan.part, cut is best.cuts[0]
    inward = 1.0 if first else -1.0

    skin = solution.skin_at(cut.at, "a")

    def hole(at: float, forward: float, radius: float, number: int | None = None) -> EndHole:
        along = (at - cut.at) * inward
        # Far away, where none is drawn, the skin at the cut will do.
        there = solution.skin_at(at, "a") if abs(along) < 2.0 * MOST else skin
        return EndHole(
            inward=along,
            forward=_along_face(forward, there),
            radius=radius,
            number=number,
            sound=number is not None and number not in best.opened,
        )

    rivets = [hole(at, part.line, part.drill / 2.0, n) for n, at in enumerate(part.holes, start=1)]
    passed = [hole(one.at, one.line, one.radius) for one in best.lightening]
    passed += [hole(at, part.line, part.drill / 2.0) for at in cut.half_holes]
    return TrimEnd(
        rivets=tuple(sorted(rivets, key=lambda one: one.inward)),
        passed=tuple(sorted(passed, key=lambda one: one.inward)),
        depth=None if part.depth is None else _along_face(part.depth, skin),
        fairing=part.fairing[0 if first else 1],
        slant=inward * math.tan(end_angle(solution, cut)) * math.cos(skin),
    )


def _along_face(forward: float, skin: float) -> float:
    """Return how far a place is from the TE along a face whose angle there is `skin`, mm."""
    return forward / math.cos(skin)


def _from_cut(face: Face, end: TrimEnd, hole: EndHole) -> None:
    """State what a calliper reads from the cut over the far rim of a hole, square to the cut."""
    long = math.hypot(1.0, end.slant)
    way = (1.0 / long, -end.slant / long)
    off = end.from_cut(hole)
    foot = (hole.inward - off * way[0], hole.forward - off * way[1])
    if not 0.0 <= foot[1] <= end.edge_top:
        return
    rim = (hole.inward + hole.radius * way[0], hole.forward + hole.radius * way[1])
    how = "from the cut edge to the far side of the hole, square to the cut"
    face.size(f"hole-{hole.number}", foot, rim, how)


def _work(face: Face, end: TrimEnd, length: float, pinned: tuple[EndHole, ...]) -> None:
    """Draw on paper what lies under the template: holes, front, and where the fairing begins."""
    far, top = length - FAR, end.work_top
    within = Path.closed([(0.5, 0.5), (far, 0.5), (far, top), (end.slant * top + 0.5, top)])
    for hole in (*end.passed, *(one for one in end.rivets if one not in pinned)):
        face.hidden((hole.inward, hole.forward), hole.radius, within, on=On.PAPER)
    if end.depth is not None:
        start = (end.slant * end.depth + 1.0, end.depth)
        face.line(start, (far, end.depth), dash=Dash.HIDDEN, on=On.PAPER)
    if 1.0 < end.fairing < far:
        ends = [(end.fairing + end.slant * y, y) for y in (1.0, top)]
        face.line(*ends, dash=Dash.HIDDEN, on=On.PAPER)
        off = max(end.fairing, 2.0 + text_width("fairing", SMALL) / 2.0)
        face.say((off + end.slant * top, top + 1.0), "fairing")


# --- the tag


def _tag(solution: Solution, cut: Cut, number: int, *, outer_right: bool) -> Piece:
    """Return the tag of one end, as it lies there with side A up and forward away from the reader.

    Its notched edge lies on the stock's end; hole 1 lies on the other side from either end.
    """
    job = solution.job
    face = Face(job.name, job.units)
    start = Anchor.START if outer_right else Anchor.END

    def x(along: float) -> float:
        return along if outer_right else TAG_LONG - along

    face.pointer((x(5.0), 15.0), (x(5.0), 0.8))
    face.say((x(6.5), 3.0), "TE", anchor=start)
    face.pointer((x(30.0), 4.25), (x(14.0), 4.25))
    face.say((x(31.5), 3.0), "hole 1", anchor=start)
    face.say((x(14.0), 7.5), shortened(f"{job.sides[0]} up", SMALL, 24.0), anchor=start)
    return face.piece(
        KIND,
        f"{KIND}-tag-{number}",
        "TRIM",
        _notched(number + 1, right=outer_right),
        variant=f"tag {number}",
        number=f"{math.degrees(solution.skin_at(cut.at, 'a')):.1f}°",
        forward=None,
        flat=True,
        shows=f"{number} {solution.skin_at(cut.at, 'a'):.5f}",
        side="a",
        on_bed=False,
        is_sheet=False,
    )


def _notched(count: int, *, right: bool) -> Path:
    """Return a tag's outline with half rounds in its right edge, or its left one."""
    low_left, low_right, up_right, up_left = Bounds(0.0, 0.0, TAG_LONG, TAG_HIGH).corners
    cut = notches(count, TAG_LONG, TAG_HIGH / 2.0, 1.0)
    path = Path.closed([low_left, low_right, *cut, up_right, up_left])
    return path if right else path.moved(Affine.move(TAG_LONG, 0.0) @ Affine.mirror_x()).reversed()


# --- the picture


def stock_picture(solution: Solution, plan: TrimPlan, best: Placement) -> Picture:
    """Return the stock from above, forward up: waste tinted, each end by the number of its tag."""
    stock, part = plan.stock, plan.part
    scale = PICTURE / stock.length
    hand = 1.0 if hole_1_left(solution.job) else -1.0
    high = PICTURE_WEDGE

    def x(at: float) -> float:
        along = (at - best.shift) * scale
        return along if hand > 0 else PICTURE - along

    marks = [area(Bounds(0.0, 0.0, PICTURE, high).corners, 0.0, FINE_WIDE)]
    for number, cut in enumerate(best.cuts):
        inward = hand if number == 0 else -hand
        end = x(best.shift) if number == 0 else x(best.shift + stock.length)
        here = x(cut.at)
        lean = hand * high * math.tan(end_angle(solution, cut))
        # Not beyond the stock's end, which is drawn shorter than it is.
        lean = math.copysign(min(abs(lean), 0.8 * abs(here - end)), lean)
        if cut.left > 0.0:
            waste = [(end, 0.0), (here, 0.0), (here + lean, high), (end, high)]
            marks += [area(waste, TINT), line((here, 0.0), (here + lean, high), width=FINE_WIDE)]
        outside = Anchor.END if inward > 0 else Anchor.START
        marks.append(words((end - inward * 2.0, (high - SMALL) / 2), str(number), anchor=outside))
    marks.append(line((0.0, 0.0), (PICTURE, 0.0), width=FINE_WIDE))
    drilled = [stock.length - at if best.turned else at for at in stock.holes]
    holes = [best.shift + at for at in drilled] or part.holes
    few = max(1, len(holes) // 40)
    for at in holes[::few]:
        hole = Circle(Point(x(at), high / 3), 0.6)
        marks.append(Mark(shape=hole, line=FINE, fill=0.0))
    marks += forward_arrow((PICTURE + 27.0, 0.0), (PICTURE + 27.0, FORWARD_LEAST), beside=True)
    return Picture.around(marks)
