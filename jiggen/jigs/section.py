r"""The section square to the trailing edge, drawn to scale: what every angle of the job means.

::

                 drill axis
        95.7°  .--|--.  84.3°          FORWARD ->
              /   |   \           ____----
       TE  __|____|____\__----'''  skin A
           --------- chord plane ---------
             '''----....______     skin B
           |<-9.0->|

It is drawn from a few numbers, at any place along the span, also of a job that is half typed. What
is drawn has a role, so that a screen gives each part a look of its own where paper has greys.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from msgspec import Struct

from jiggen.drawing.affine import Point
from jiggen.drawing.lettering import LARGE, MIDDLE, SMALL, TITLE, text_width
from jiggen.drawing.looks import NARROW, WIDE, Spot, area, dimension, hatched, head, line
from jiggen.drawing.page import Picture
from jiggen.drawing.shapes import Bounds, Dash, Edge, Mark, Op, Path, Weight
from jiggen.drawing.sketch import Sketch
from jiggen.solution import AnglesAt, Solution
from jiggen.units import Length

#: The scales of ISO 5455 (from memory), and room for the wedge on paper, mm.
SCALES = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
WEDGE_LONG, WEDGE_HIGH = 150.0, 50.0
#: Forward of so many line distances a wedge that is too large is broken off.
BROKEN = 2.5
#: mm on paper. Radius of the arcs, the largest that fits; how far the axis goes beyond them; what
#: stands left of the trailing edge, and beside an aft arc; the dimension below the wedge; how far
#: the chord plane runs on; what a figure needs beside it between two arrows, and its place outside.
ARCS = (30.0, 27.0, 24.0, 21.0, 18.0, 15.0, 12.0, 10.0)
ARC_LEAST, AXIS, LEFT, AFT, DIMENSION, CHORD = 10.0, 4.0, 17.0, 16.0, 10.0, 28.0
FIGURE, OUTSIDE = 3.2, 8.0


class SectionView(Struct, frozen=True, kw_only=True):
    """What a section is drawn from, mm and radians.

    Attributes:
        skin_a: skin angle A.
        skin_b: skin angle B.
        rear_a: height of face A over the chord plane at the trailing edge.
        rear_b: the same of face B, counted outward.
        depth: of the wedge, or None.
        skin: thickness of skin A and of skin B; 0 where unknown.
        line: of the holes, forward of the trailing edge, or None.
        drill: diameter, or None.
        drill_name: as the user wrote it.
        sides: what the sides are called.
        units: of lengths.
        place: where along the edge, in words.
        lines: the rear and the front line between which it was measured, forward of the trailing
            edge; None where it was not measured so.
    """

    skin_a: float
    skin_b: float
    rear_a: float
    rear_b: float
    depth: float | None
    skin: tuple[float, float]
    line: float | None
    drill: float | None
    drill_name: str
    sides: tuple[str, str]
    units: str
    place: str
    lines: tuple[float, float] | None = None

    @property
    def reach(self) -> float:
        """Return how far forward the wedge is drawn, unless it is broken off."""
        known = self.depth or 0.0
        return max(known, (self.line or 8.0) * 1.5 + 4.0)

    def face(self, side: int, x: float) -> float:
        """Return the height of a face of the wedge off the chord plane, outward."""
        rear, angle = ((self.rear_a, self.skin_a), (self.rear_b, self.skin_b))[side]
        return rear + x * math.tan(angle)

    def outer(self, side: int, x: float) -> float:
        """Return the height of a skin's outside off the chord plane, outward."""
        return self.face(side, x) + self.skin[side] / math.cos((self.skin_a, self.skin_b)[side])


class Part(Struct, frozen=True, kw_only=True):
    """An area of the section, ``wedge``, ``skin-a`` or ``skin-b``.

    Its corners lie forward of the trailing edge, and off the chord plane with side A up, mm.
    """

    role: str
    corners: tuple[Spot, ...]


def parts(view: SectionView, x0: float, x1: float) -> tuple[Part, ...]:
    """Return the areas of a section from `x0` to `x1` mm forward of the trailing edge.

    The wedge, a triangle where its faces meet, and the skins that have a thickness; a wedge that is
    typed upside down is drawn so.
    """
    low, high = ((x0, -view.face(1, x0)), (x0, view.face(0, x0)))
    corners = (low, (x1, -view.face(1, x1)), (x1, view.face(0, x1)), high)
    found = [Part(role="wedge", corners=corners[:3] if math.dist(low, high) == 0 else corners)]
    for side, sign in ((0, 1.0), (1, -1.0)):
        if view.skin[side] > 0.0:
            inside = [(x, sign * view.face(side, x)) for x in (x0, x1)]
            outside = [(x, sign * view.outer(side, x)) for x in (x1, x0)]
            found.append(Part(role=f"skin-{'ab'[side]}", corners=(*inside, *outside)))
    return tuple(found)


def view_of(solution: Solution) -> SectionView:
    """Return the section at the middle hole, or at the first station of a job without holes."""
    holes = solution.holes
    hole = holes[len(holes) // 2] if holes else None
    at = hole.angles if hole is not None else solution.stations[0]
    return view_at(solution, at, f"section at hole {hole.number}" if hole else "section")


def view_at(solution: Solution, at: AnglesAt, place: str) -> SectionView:
    """Return the section at a place along the span, and what that is called."""
    job = solution.job
    line_ = job.holes.line if job.holes else None
    rear = float(solution.wedge.faces_at([at.at], line_).rear[0])
    rear = 0.0 if math.isnan(rear) else rear
    nearest = min(solution.wedge.stations, key=lambda s: abs(s.at - at.at))
    own = (nearest.rear_a or 0.0, nearest.rear_b or 0.0)
    share = own[0] / sum(own) if sum(own) > 0.0 else 0.5
    return SectionView(
        skin_a=at.skin_a,
        skin_b=at.skin_b,
        rear_a=share * rear,
        rear_b=(1.0 - share) * rear,
        depth=job.wedge.depth,
        skin=(0.0, 0.0) if job.skin is None else job.skin.thickness,
        line=line_,
        drill=job.holes.drill if job.holes else None,
        drill_name=job.holes.drill_name if job.holes else "",
        sides=job.sides,
        units=job.units,
        place=place,
    )


def section_picture(view: SectionView, width: float, height: float) -> Picture:
    """Draw a section as large as leaves room in the picture for all that is said on it."""
    both = abs(view.skin_a - view.skin_b) > math.radians(0.05)
    best: Sketch | None = None
    for fit in _fits(view, width, height, both):
        sketch = _drawn(view, fit, Bounds(0.0, 0.0, width, height), both)
        if best is None or len(sketch.left_out) < len(best.left_out):
            best = sketch
        if not best.left_out:
            break
    assert best is not None
    return Picture(marks=tuple(best.marks), width=width, height=height)


def _said_line(line_: float, units: str) -> str:
    """Return how far the holes lie forward of the edge, as it is laid out."""
    return Length(line_, 2 if units == "in" else 1).said(units)


def _drawn(view: SectionView, fit: _Fit, box: Bounds, both: bool) -> Sketch:
    scale, reach, width, height = fit.scale, fit.reach, box.right, box.top

    def at(x: float, z: float) -> Point:
        return Point(fit.left + x * scale, fit.middle + z * scale)

    sketch = Sketch(box)
    end = min(width, at(reach, 0.0).x + CHORD)
    start = at(0.0, 0.0).x - CHORD / 2
    sketch.draw([line((start, fit.middle), (end, fit.middle), dash=Dash.CHAIN)])
    sketch.draw(_wedge(view, at, reach, fit.broken))
    if view.line is not None:
        _hole(sketch, view, at, fit, both)
    sketch.say(at(0.0, 0.0)._replace(x=fit.left - 2.0), "TE", MIDDLE, Weight.SEMIBOLD, (1.0, 0.0))
    for side, name in enumerate(view.sides):
        z = view.outer(side, reach) - (view.skin[side] or 0.0) / 2
        tip = at(reach, z if side == 0 else -z)
        sketch.name((tip.x + 2.0, tip.y), name, tip)
    sketch.say((end, fit.middle + 1.6), "chord plane", hold=(1.0, 0.0))
    said = f"{view.place}, {_said_scale(scale)}"
    sketch.say((width, height), said, hold=(1.0, 1.0))
    sketch.forward(
        (width, height - 14.5), text_width("FORWARD", MIDDLE, Weight.SEMIBOLD) + 5.0, MIDDLE
    )
    return sketch


class _Fit(Struct, frozen=True, kw_only=True):
    """How a section lies in its picture, mm on paper but for the reach.

    Attributes:
        scale: of ISO 5455.
        reach: how far forward the wedge is drawn, mm on the part.
        broken: whether it is broken off there.
        arc: radius of the arcs of the angles.
        left: of the trailing edge.
        middle: of the chord plane.
    """

    scale: float
    reach: float
    broken: bool
    arc: float
    left: float
    middle: float


def _fits(view: SectionView, width: float, height: float, both: bool) -> Iterator[_Fit]:
    """Yield the largest scale that leaves room for the angles, then smaller ones.

    Each has the largest arcs that fit; the last is what is left where nothing fits.
    """
    line_ = view.line or 0.0
    named = min(WEDGE_LONG / 4, max(text_width(name, SMALL) for name in view.sides) + 4.0)

    def rise(scale: float, reach: float, arc: float) -> tuple[float, float]:
        """Return how far the picture reaches above and below the chord plane."""
        up = scale * view.outer(0, line_) + arc + AXIS + 1.2 + SMALL
        down = scale * view.outer(1, line_) + (arc + AXIS + SMALL if both else 0.0) + DIMENSION
        return max(up, scale * view.outer(0, reach)), max(down, scale * view.outer(1, reach))

    def aft(scale: float, arc: float) -> float:
        """Return what stands left of the trailing edge: TE, and as much of the aft arc as does."""
        known = "" if view.line is None else _said_line(line_, view.units)
        figure = text_width(known, MIDDLE, Weight.SEMIBOLD) + FIGURE
        beside = figure + OUTSIDE if figure > scale * line_ else 0.0
        return max(LEFT, arc + 4.0 - scale * line_, 0.8 * arc + AFT - scale * line_, beside)

    def fits(scale: float, reach: float, arc: float) -> bool:
        high = scale * (view.outer(0, reach) + view.outer(1, reach))
        long = scale * reach
        return (
            long <= WEDGE_LONG
            and high <= WEDGE_HIGH
            and sum(rise(scale, reach, arc)) <= height
            and aft(scale, arc) + max(long + named, scale * line_ + arc + 4.0) <= width
        )

    def largest(reach: float) -> float:
        return next((s for s in SCALES if fits(s, reach, ARC_LEAST)), SCALES[-1])

    reach, broken = view.reach, view.depth is None
    scale, short = largest(reach), BROKEN * (view.line or 8.0)
    if scale < 5.0 and short < reach and largest(short) > scale:
        scale, reach, broken = largest(short), short, True
    for smaller in SCALES[SCALES.index(scale) :]:
        arc = next((r for r in ARCS if fits(smaller, reach, r)), ARC_LEAST)
        up, down = rise(smaller, reach, arc)
        spare = max(height - up - down, 0.0)
        left = max(aft(smaller, arc), (width - smaller * reach - 2 * LEFT) / 2)
        middle = down + spare / 2
        yield _Fit(scale=smaller, reach=reach, broken=broken, arc=arc, left=left, middle=middle)


def _wedge(
    view: SectionView, at: Callable[[float, float], Point], reach: float, broken: bool
) -> list[Mark]:
    """Draw the wedge hatched, the skins solid, the hole free of both."""
    c, r = view.line, (view.drill or 0.0) / 2
    spans = [(0.0, reach)] if c is None or not r else [(0.0, c - r), (c + r, reach)]
    marks: list[Mark] = []
    for x0, x1 in spans:
        wedge, *skins = parts(view, x0, x1)
        corners = [at(*corner) for corner in wedge.corners]
        if len(corners) == 4 and math.dist(corners[0], corners[3]) < 0.02:
            corners = corners[:3]
        marks += hatched(corners)
        if broken and x1 == reach:
            marks.append(line(corners[-1], corners[2], width=WIDE))
            marks.append(line(corners[0], corners[1], width=WIDE))
            if len(corners) == 4:
                marks.append(line(corners[0], corners[3], width=WIDE))
            marks.append(_zigzag(corners[1], corners[2]))
        else:
            marks.append(Mark(shape=Path.closed(corners), op=Op.NOTE, line=WIDE))
        marks += [area([at(*corner) for corner in skin.corners], 1.0) for skin in skins]
    return marks


def _zigzag(start: Point, end: Point) -> Mark:
    """Draw a break line: a long thin zigzag."""
    over = 3.0
    way = 1.0 if end.y > start.y else -1.0
    x, y0, y1 = start.x, start.y - way * over, end.y + way * over
    mid = (y0 + y1) / 2
    return line(
        (x, y0),
        (x, mid - way * 2.0),
        (x - 2.0, mid - way * 0.7),
        (x + 2.0, mid + way * 0.7),
        (x, mid + way * 2.0),
        (x, y1),
        width=NARROW,
    )


def _hole(
    sketch: Sketch, view: SectionView, at: Callable[[float, float], Point], fit: _Fit, both: bool
) -> None:
    """Draw the drill axis, its angles to the skins, its distance from the edge, and the drill."""
    c, arc, r = view.line or 0.0, fit.arc, fit.scale * (view.drill or 0.0) / 2
    mouth, foot = at(c, view.outer(0, c)), at(c, -view.outer(1, c))
    rims = [(mouth, view.skin_a, 1.0), *([(foot, view.skin_b, -1.0)] if both else [])]
    base = foot.y - DIMENSION + 2.0 - (arc + AXIS + SMALL if both else 0.0)
    axis = (foot.x, base - 2.0), (mouth.x, mouth.y + arc + AXIS)
    sketch.draw([line(*axis, dash=Dash.CHAIN)])
    edge = at(0.0, -view.outer(1, 0.0))
    sketch.draw([line((edge.x, edge.y - 1.5), (edge.x, base - 2.0))])
    for corner, skin, up in rims:
        sketch.draw(_arcs(corner, skin, arc, up))
        _runs_on(sketch, view, at, fit, 0 if up > 0 else 1)
    length = _said_line(c, view.units)
    wide = text_width(length, MIDDLE, Weight.SEMIBOLD)
    between = wide + FIGURE <= foot.x - edge.x
    drawn = dimension((edge.x, base + 0.01), (foot.x, base + 0.01), "", off=-0.005)[2:-1]
    sketch.draw(drawn)
    if between:
        sketch.say(
            ((edge.x + foot.x) / 2, base + 1.6), length, MIDDLE, Weight.SEMIBOLD, (0.5, 0.0), 4.0
        )
    else:
        # The line runs on under a figure that has no room between the two arrows.
        start = edge.x - OUTSIDE
        sketch.draw([line((edge.x, base), (start - wide, base))])
        sketch.say((start, base + 1.6), length, MIDDLE, Weight.SEMIBOLD, (1.0, 0.0))
    if view.drill_name:
        said, tip = f"drill {view.drill_name}", (foot.x + r, foot.y + 1.0)
        # Within the arc of the lower angle where it has room: no leader runs across it then.
        down = 9.0
        wide = r + 3.0 + text_width(said, SMALL, Weight.SEMIBOLD)
        within = both and math.hypot(wide, down) < arc
        size = SMALL if within else MIDDLE
        wish = (foot.x + r + 1.5, foot.y - down) if within else (foot.x + r + 5.0, base)
        sketch.name(wish, said, tip, size, Weight.SEMIBOLD, (0.0, 0.0), always=True)
    sketch.say((mouth.x, axis[1][1] + 1.2), "drill axis", hold=(0.5, 0.0))
    for corner, skin, up in rims:
        _degrees(sketch, corner, skin, arc, up)


def _runs_on(
    sketch: Sketch, view: SectionView, at: Callable[[float, float], Point], fit: _Fit, side: int
) -> None:
    """Draw a skin's line on to the arc, where that reaches beyond the wedge."""
    sign, c = (1.0, -1.0)[side], view.line or 0.0
    skin = (view.skin_a, view.skin_b)[side]
    far = (fit.arc + 2.0) / fit.scale * math.cos(skin)
    for end, stop in ((0.0, c - far), (fit.reach, c + far)):
        if (stop < end) == (end == 0.0) and abs(stop - end) > 1e-9:
            sketch.draw([line(*(at(x, sign * view.outer(side, x)) for x in (end, stop)))])


def _arcs(corner: Point, skin: float, arc: float, up: float) -> list[Mark]:
    """Draw the arcs of both angles between a skin and the axis, mirrored below the wedge."""

    def rim(angle: float) -> Point:
        return Point(corner.x + arc * math.cos(angle), corner.y + up * arc * math.sin(angle))

    marks = []
    for start, end in ((math.pi / 2, skin), (math.pi / 2, math.pi + skin)):
        bulge = math.tan((end - start) / 4) * up
        marks.append(
            Mark(shape=Path((Edge(rim(start), rim(end), bulge),)), op=Op.NOTE, line=NARROW)
        )
        toward = end + (math.pi / 2 if end > start else -math.pi / 2)
        marks.append(head(rim(end), up * toward))
        marks.append(head(rim(start), 0.0 if end > start else math.pi))
    return marks


def _degrees(sketch: Sketch, corner: Point, skin: float, arc: float, up: float) -> None:
    """Set both angles: in their arcs, or beside them where an arc has no room for a figure."""
    for said, size, weight, way in (
        (90.0 - math.degrees(skin), TITLE, Weight.BOLD, 1.0),
        (90.0 + math.degrees(skin), LARGE, Weight.SEMIBOLD, -1.0),
    ):
        text = f"{said:.1f}°"
        middle = math.radians(said) / 2
        x, y = way * math.sin(middle), up * math.cos(middle)
        within = (corner.x + 0.62 * arc * x, corner.y + 0.62 * arc * y)
        if sketch.say(within, text, size, weight, (0.5, 0.5), 0.12 * arc) is None:
            beside = (corner.x + (arc + 2.5) * x, corner.y + (arc + 2.5) * y)
            hold = (0.0 if way > 0 else 1.0, 0.0 if up > 0 else 1.0)
            tip = (corner.x + arc * x, corner.y + arc * y)
            sketch.name(beside, text, tip, size, weight, hold)


def _said_scale(scale: float) -> str:
    return f"{scale:g}:1" if scale >= 1.0 else f"1:{1.0 / scale:g}"
