"""The wedge's section drawn to scale: chord plane, drill axis, angles, hole line."""

from __future__ import annotations

import math

from jiggen.drawing.affine import Point
from jiggen.drawing.labels import Line, arrow, fitted_height
from jiggen.drawing.lettering import text_width
from jiggen.drawing.shapes import Anchor, Edge, Mark, Op, Path, Text
from jiggen.drawing.table import BODY, Strip, paragraph
from jiggen.geometry.frame import Side
from jiggen.jigs.stand import edge_ends, is_curved, section_at
from jiggen.solution import AnglesAt, Solution
from jiggen.units import say_length

#: Scales that a person would choose, largest first.
SCALES = (20.0, 15.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0, 0.5, 0.25, 0.1)
#: mm on paper: room for the picture, the drill axis' ends beyond the skins, radius of an arc.
#: Straight parts that a curved skin is drawn in.
CURVE_STEPS = 16
PICTURE_HEIGHT, AXIS_END, ARC = 66.0, 15.0, 9.0


def section_picture(solution: Solution, width: float) -> tuple[Strip, ...]:
    """Draw the wedge's section to scale with chord plane, drill axis and angles.

    Args:
        solution: the solved job; the picture is of the middle hole.
        width: of the page's room, mm.
    """
    picture = _Picture(solution, width)
    marks = (
        *picture.faces(),
        *picture.chord(),
        *picture.axis(),
        *picture.angles("a"),
        *picture.angles("b"),
        *picture.sizes(),
    )
    drawn = Strip(marks=marks, height=picture.height, keep=True)
    return (drawn, *paragraph(picture.caption(), width))


class _Picture:
    """The section at the middle hole: wedge mm to paper mm, forward to the right."""

    def __init__(self, solution: Solution, width: float) -> None:
        job = solution.job
        self.solution = solution
        self.width = width
        holes = solution.holes
        hole = holes[len(holes) // 2] if holes else None
        self.angles_at: AnglesAt = hole.angles if hole is not None else solution.stations[0]
        self.thickness = hole.thickness if hole is not None else None
        self.grip = hole.grip if hole is not None else None
        self.number = hole.number if hole is not None else None
        self.line = job.holes.line if job.holes is not None else None
        c = self.line or 10.0
        self.slope = (math.tan(self.angles_at.skin_a), math.tan(self.angles_at.skin_b))
        rear = float(solution.wedge.faces_at([self.angles_at.at], self.line).rear[0])
        nearest = min(solution.wedge.stations, key=lambda s: abs(s.at - self.angles_at.at))
        off = (nearest.rear_a or 0.0, nearest.rear_b or 0.0)
        share = off[0] / sum(off) if sum(off) > 0.0 else 0.5
        rear = 0.0 if math.isnan(rear) else rear
        self.rear = (share * rear, (1.0 - share) * rear)
        curved = any(is_curved(solution, side) for side in ("a", "b"))
        self.section = section_at(solution, self.angles_at.at) if curved else None
        self.skin = (0.0, 0.0) if job.skin is None else job.skin.thickness
        self.reach = max(2.4 * c, c + 10.0)
        high = self.outer("a", self.reach) + self.outer("b", self.reach)
        room_x = width - 52.0
        room_y = PICTURE_HEIGHT - 2 * AXIS_END - 10.0
        self.scale = next(
            (s for s in SCALES if s * self.reach <= room_x and s * high <= room_y), SCALES[-1]
        )
        self.left = 24.0
        self.height = self.scale * high + 2 * AXIS_END + 3.0
        self.middle = -(AXIS_END + self.scale * self.outer("a", self.reach) + 1.0)

    def face(self, side: Side, x: float) -> float:
        """Return the height of a wedge face off the chord plane at x, mm of the wedge."""
        if self.section is not None:
            return self.section.height(side, x)
        k = 0 if side == "a" else 1
        return self.rear[k] + x * self.slope[k]

    def outer(self, side: Side, x: float) -> float:
        """Return the height of a skin's outer face, mm of the wedge."""
        k = 0 if side == "a" else 1
        return self.face(side, x) + self.skin[k] / math.cos(math.atan(self.slope[k]))

    def point(self, x: float, z: float) -> Point:
        """Return a point of the wedge on paper, mm."""
        return Point(self.left + x * self.scale, self.middle + z * self.scale)

    def faces(self) -> list[Mark]:
        """Draw the wedge as a tint and both skins as bands."""
        steps = 1 if self.section is None else CURVE_STEPS
        xs = [self.reach * k / steps for k in range(steps + 1)]
        wedge = [self.point(x, -self.face("b", x)) for x in xs]
        wedge += [self.point(x, self.face("a", x)) for x in reversed(xs)]
        if math.dist(wedge[0], wedge[-1]) < 0.01:
            wedge = wedge[:-1]
        marks = [
            Mark(shape=Path.closed(wedge), op=Op.NOTE, fill=0.88),
            Mark(shape=Path.closed(wedge), op=Op.NOTE, line=0.2),
        ]
        for side, sign in (("a", 1), ("b", -1)):
            s: Side = "a" if side == "a" else "b"
            if self.skin[0 if s == "a" else 1] <= 0.0:
                continue
            inner = [self.point(x, sign * self.face(s, x)) for x in xs]
            outer = [self.point(x, sign * self.outer(s, x)) for x in reversed(xs)]
            band = Path.closed([*inner, *outer])
            marks += [
                Mark(shape=band, op=Op.NOTE, fill=0.6),
                Mark(shape=band, op=Op.NOTE, line=0.2),
            ]
        return marks

    def chord(self) -> list[Mark]:
        """Draw the chord plane and name both ends."""
        a, b = self.point(0, 0), self.point(self.reach, 0)
        return [
            Mark(
                shape=Path.open([(a.x - 9.0, a.y), (b.x + 5.0, b.y)]),
                op=Op.NOTE,
                line=0.15,
                dashed=True,
            ),
            Mark(shape=Text(Point(b.x + 6.0, b.y - BODY / 2), "chord plane", BODY), op=Op.NOTE),
            Mark(shape=Text(Point(b.x + 6.0, b.y + 3.4), "FORWARD", BODY, bold=True), op=Op.NOTE),
            *arrow(
                (b.x + 7.2 + text_width("FORWARD", BODY, True), b.y + 3.4 + BODY / 2),
                (b.x + 15.0 + text_width("FORWARD", BODY, True), b.y + 3.4 + BODY / 2),
                op=Op.NOTE,
            ),
            Mark(
                shape=Text(
                    Point(a.x - 10.5, a.y - BODY / 2), "TE", BODY, anchor=Anchor.END, bold=True
                ),
                op=Op.NOTE,
            ),
        ]

    def axis(self) -> list[Mark]:
        """Draw the drill axis through the hole, beyond both skins."""
        if self.line is None:
            return []
        top = self.point(self.line, self.outer("a", self.line))
        low = self.point(self.line, -self.outer("b", self.line))
        words = "drill axis"
        return [
            Mark(
                shape=Path.open([(top.x, top.y + AXIS_END - 3.0), (low.x, low.y - AXIS_END + 3.0)]),
                op=Op.NOTE,
                line=0.3,
            ),
            Mark(
                shape=Text(
                    Point(top.x - 1.4, top.y + AXIS_END - 3.4), words, BODY, anchor=Anchor.END
                ),
                op=Op.NOTE,
            ),
        ]

    def angles(self, side: Side) -> list[Mark]:
        """Draw the arcs of the guide angles on one skin, forward and aft, with their degrees."""
        if self.line is None:
            return []
        up = 1 if side == "a" else -1
        k = 0 if side == "a" else 1
        alpha = math.atan(self.slope[k])
        corner = self.point(self.line, up * self.outer(side, self.line))
        forward, aft = math.pi / 2 - alpha, math.pi / 2 + alpha
        marks: list[Mark] = []
        # On a curved skin nothing stands aft of the hole.
        uses = ((forward, True), (aft, False)) if self.section is None else ((forward, True),)
        for sweep, right in uses:
            # From the skin to the axis; the skin rises away from the chord plane by alpha.
            skin = alpha if right else math.pi + alpha
            first = Point(corner.x + ARC * math.cos(skin), corner.y + up * ARC * math.sin(skin))
            last = Point(corner.x, corner.y + up * ARC)
            bulge = math.tan(sweep / 4) * (1 if right else -1) * up
            marks.append(Mark(shape=Path((Edge(first, last, bulge),)), op=Op.NOTE, line=0.15))
            label = f"{math.degrees(sweep):.2f}°"
            bisector = (skin + math.pi / 2) / 2
            at = Point(
                corner.x + (ARC + 1.6) * math.cos(bisector),
                corner.y + up * (ARC + 1.6) * math.sin(bisector) - (BODY if up < 0 else 0.0),
            )
            anchor = Anchor.START if right else Anchor.END
            marks.append(Mark(shape=Text(at, label, 2.8, anchor=anchor, bold=True), op=Op.NOTE))
        return marks

    def sizes(self) -> list[Mark]:
        """Dimension the hole line, and name both skins with their angles."""
        job = self.solution.job
        marks: list[Mark] = []
        end = self.reach
        for side, up, name in (("a", 1, job.sides[0]), ("b", -1, job.sides[1])):
            s: Side = "a" if side == "a" else "b"
            p = self.point(end, up * (self.face(s, end) + self.outer(s, end)) / 2)
            words = f"{name} {math.degrees(self.angles_at.skin(s)):.2f}°"
            size = fitted_height(Line(text=words, height=BODY), self.width - p.x - 3.0)
            # Clear of the words on the chord plane, however thin the wedge is drawn.
            y = max(p.y, self.middle + 9.4) if up > 0 else min(p.y, self.middle - 5.2)
            marks.append(Mark(shape=Text(Point(p.x + 2.0, y - size / 2), words, size), op=Op.NOTE))
        if self.line is None:
            return marks
        low = self.point(self.line, -self.outer("b", self.line))
        edge = self.point(0, -self.outer("b", 0))
        y = low.y - AXIS_END + 5.0
        marks += [
            Mark(
                shape=Path.open([(edge.x, edge.y - 1.0), (edge.x, y - 1.5)]), op=Op.NOTE, line=0.1
            ),
            *arrow((low.x - 6.0, y), (low.x, y), head=1.6, op=Op.NOTE),
            *arrow((edge.x + 6.0, y), (edge.x, y), head=1.6, op=Op.NOTE),
        ]
        if low.x - edge.x > 12.5:
            marks.append(
                Mark(shape=Path.open([(edge.x + 6.0, y), (low.x - 6.0, y)]), op=Op.NOTE, line=0.12)
            )
        marks.append(
            Mark(
                shape=Text(
                    Point(edge.x - 1.6, y - BODY / 2),
                    say_length(self.line, job.units),
                    BODY,
                    anchor=Anchor.END,
                ),
                op=Op.NOTE,
            )
        )
        return marks

    def caption(self) -> str:
        """Say what is shown, at which scale."""
        units = self.solution.job.units
        where = f"hole {self.number}" if self.number is not None else "first station"
        seen_from, _ = edge_ends(self.solution.job)
        words = f"Section at {where}, scale {self.scale:g}:1, seen from {seen_from}."
        if self.thickness is not None:
            words += f" Wedge {say_length(self.thickness, units)} thick at the hole"
            if self.grip is not None:
                words += f", grip {say_length(self.grip, units)}"
            words += f"; {say_length(sum(self.rear), units)} thick at the trailing edge."
        return words
