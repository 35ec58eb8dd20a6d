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
from collections.abc import Callable
from dataclasses import dataclass

from jiggen.drawing.affine import Point
from jiggen.drawing.lettering import LARGE, MIDDLE, SMALL, TITLE, text_width
from jiggen.drawing.looks import (
    NARROW,
    WIDE,
    Spot,
    area,
    dimension,
    forward_arrow,
    hatched,
    head,
    leader,
    line,
    words,
)
from jiggen.drawing.page import Picture
from jiggen.drawing.shapes import Anchor, Dash, Edge, Mark, Op, Path, Weight
from jiggen.solution import AnglesAt, Solution
from jiggen.units import Length

#: The scales of ISO 5455 (from memory), and room for the wedge on paper, mm.
SCALES = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
WEDGE_LONG, WEDGE_HIGH = 150.0, 50.0
#: Forward of so many line distances a wedge that is too large is broken off.
BROKEN = 2.5
#: mm on paper. Radius of the arcs, and from which on a figure fits into one; how far the axis goes
#: beyond them; the left end of the wedge.
ARC, ROOMY, AXIS, LEFT = 30.0, 24.0, 4.0, 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionView:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """An area of the section.

    Attributes:
        role: ``wedge``, ``skin-a`` or ``skin-b``.
        corners: forward of the trailing edge, and off the chord plane with side A up, mm.
    """

    role: str
    corners: tuple[Spot, ...]


def parts(view: SectionView, x0: float, x1: float) -> tuple[Part, ...]:
    """Return the areas of a section from one distance forward of the trailing edge to another.

    Args:
        view: its numbers; a wedge that is typed upside down is drawn so.
        x0: mm.
        x1: mm.

    Returns:
        The wedge, a triangle where its faces meet, and the skins that have a thickness.
    """
    low, high = ((x0, -view.face(1, x0)), (x0, view.face(0, x0)))
    corners = [low, (x1, -view.face(1, x1)), (x1, view.face(0, x1)), high]
    found = [Part(role="wedge", corners=tuple(corners[:3] if math.dist(low, high) == 0 else corners))]
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
    """Return the section at a place along the span.

    Args:
        solution: the solved job.
        at: its angles there.
        place: what the place is called.
    """
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
    """Draw a section.

    Args:
        view: its numbers.
        width: of the picture, mm.
        height: of it, mm.
    """
    both = abs(view.skin_a - view.skin_b) > math.radians(0.05)
    arc = min(ARC, (0.26 if both else 0.38) * height)
    scale, reach, broken = _scale(view, width, height, arc, both)
    high = scale * view.outer(0, reach)
    low = scale * view.outer(1, reach)
    top = max(high, scale * view.outer(0, view.line or 0.0) + arc + AXIS)
    bottom = max(low, scale * view.outer(1, view.line or 0.0) + arc + 12.0) if both else low + 14.0
    spare = height - top - bottom
    middle = bottom + max(spare, 0.0) / 2

    left = max(LEFT, (width - scale * reach - 2 * LEFT) / 2)

    def at(x: float, z: float) -> Point:
        return Point(left + x * scale, middle + z * scale)

    marks = [*_wedge(view, at, reach, broken)]
    end = min(width, at(reach, 0.0).x + 30.0)
    marks.append(line((left - 14.0, middle), (end, middle), dash=Dash.CHAIN))
    marks.append(words((end, middle + 1.5), "chord plane", anchor=Anchor.END))
    for side, name in enumerate(view.sides):
        z = view.outer(side, reach) - (view.skin[side] or 0.0) / 2
        tip = at(reach, z if side == 0 else -z)
        marks.append(words((tip.x + 2.0, tip.y - SMALL / 2), name))
    below = middle - MIDDLE - 1.5
    marks.append(words((left - 2.0, below), "TE", MIDDLE, Weight.SEMIBOLD, Anchor.END))
    if view.line is not None:
        marks += _hole(view, at, scale, arc, both)
    said = f"{view.place}, {_said_scale(scale)}"
    marks.append(words((width, height - SMALL), said, anchor=Anchor.END))
    arrow = width - text_width("FORWARD", MIDDLE, Weight.SEMIBOLD) - 5.0
    marks += forward_arrow((arrow, height - 14.5), (width, height - 14.5), MIDDLE, op=Op.NOTE)
    return Picture(marks=tuple(marks), width=width, height=height)


def _scale(
    view: SectionView, width: float, height: float, arc: float, both: bool
) -> tuple[float, float, bool]:
    """Return the scale, how far forward the wedge is drawn, and whether it is broken off there."""
    around = 2 * (arc + AXIS) + 8.0 if both else arc + AXIS + 10.0
    room = (min(WEDGE_LONG, width - LEFT - 24.0), min(WEDGE_HIGH, height - around))

    def fits(scale: float, reach: float) -> bool:
        high = view.outer(0, reach) + view.outer(1, reach)
        return scale * reach <= room[0] and scale * high <= room[1]

    reach = view.reach
    whole = next((s for s in SCALES if fits(s, reach)), SCALES[-1])
    short = BROKEN * (view.line or 8.0)
    if whole >= 5.0 or reach <= short:
        return whole, reach, view.depth is None
    part = next((s for s in SCALES if fits(s, short)), SCALES[-1])
    return (part, short, True) if part > whole else (whole, reach, view.depth is None)


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
        outline = Path.closed(corners)
        if broken and x1 == reach:
            marks += [
                Mark(
                    shape=Path.open([corners[-1 if len(corners) == 3 else 3], corners[2]]),
                    op=Op.NOTE,
                    line=WIDE,
                ),
                Mark(shape=Path.open([corners[0], corners[1]]), op=Op.NOTE, line=WIDE),
            ]
            if len(corners) == 4:
                marks.append(line(corners[0], corners[3], width=WIDE))
            marks.append(_zigzag(corners[1], corners[2]))
        else:
            marks.append(Mark(shape=outline, op=Op.NOTE, line=WIDE))
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
    view: SectionView, at: Callable[[float, float], Point], scale: float, arc: float, both: bool
) -> list[Mark]:
    """Draw the drill axis, its angles to the skins, its distance from the edge, and the drill."""
    c = view.line or 0.0
    mouth, foot = at(c, view.outer(0, c)), at(c, -view.outer(1, c))
    marks = [*_angles(mouth, view.skin_a, arc, up=True)]
    low = foot.y - (arc + AXIS if both else 9.0)
    if both:
        marks += _angles(foot, view.skin_b, arc, up=False)
    marks.append(line((mouth.x, low), (mouth.x, mouth.y + arc + AXIS), dash=Dash.CHAIN))
    said = words((mouth.x, mouth.y + arc + AXIS + 1.2), "drill axis", anchor=Anchor.MIDDLE)
    marks.append(said)
    edge = at(0.0, -view.outer(1, 0.0))
    length = Length(c, 1).said(view.units)
    base = foot.y - (arc + AXIS + MIDDLE if both else 9.0)
    marks += dimension(
        (edge.x, base + 0.01), (foot.x, base + 0.01), length, off=-0.005, height=MIDDLE
    )[2:]
    marks.append(line((edge.x, edge.y - 1.5), (edge.x, base - 2.0)))
    if view.drill_name:
        r = scale * (view.drill or 0.0) / 2
        tip = (foot.x + r, foot.y + 1.0)
        text_at = (foot.x + r + 5.0, base - 1.0)
        marks += leader((text_at[0] - 1.0, text_at[1] + MIDDLE / 2), tip)
        marks.append(words(text_at, f"drill {view.drill_name}", MIDDLE, Weight.SEMIBOLD))
    return marks


def _angles(mouth: Point, skin: float, arc: float, *, up: bool) -> list[Mark]:
    """Draw both angles between a skin and the axis, mirrored below the wedge."""
    sign = 1.0 if up else -1.0
    start, end = math.pi / 2, skin
    aft = math.pi - (-skin)

    def rim(angle: float) -> Point:
        return Point(mouth.x + arc * math.cos(angle), mouth.y + sign * arc * math.sin(angle))

    marks = []
    for a0, a1 in ((start, end), (start, aft)):
        bulge = math.tan((a1 - a0) / 4) * sign
        marks.append(Mark(shape=Path((Edge(rim(a0), rim(a1), bulge),)), op=Op.NOTE, line=NARROW))
        toward = a1 + (math.pi / 2 if a1 > a0 else -math.pi / 2)
        marks.append(head(rim(a1), toward if up else -toward))
        marks.append(head(rim(a0), (0.0 if a1 > a0 else math.pi)))
    # In a small arc there is no room for the figures: they stand beside it.
    inside = arc >= ROOMY
    reach = (0.42 * arc, 0.46 * arc) if inside else (arc + 2.0, arc + 2.0)
    anchors = (Anchor.MIDDLE,) * 2 if inside else (Anchor.START, Anchor.END)
    for said, x, size, weight, anchor in (
        (90.0 - math.degrees(skin), reach[0], TITLE, Weight.BOLD, anchors[0]),
        (90.0 + math.degrees(skin), -reach[1], LARGE, Weight.SEMIBOLD, anchors[1]),
    ):
        y = mouth.y + sign * 0.5 * arc - (0.0 if up else size)
        marks.append(words((mouth.x + x, y), f"{said:.1f}°", size, weight, anchor))
    return marks


def _said_scale(scale: float) -> str:
    return f"{scale:g}:1" if scale >= 1.0 else f"1:{1.0 / scale:g}"
