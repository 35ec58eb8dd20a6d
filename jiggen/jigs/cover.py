"""The cover pages: this wedge's section drawn to scale, its angles, and what to measure.

Whoever finds the sheets a month later should learn from the cover alone which wedge they belong
to, which way round the pieces go, and how to prove that they are still true.
"""

from __future__ import annotations

import math

from jiggen.drawing.affine import Point
from jiggen.drawing.labels import Line, arrow, fitted_height
from jiggen.drawing.lettering import text_width
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Anchor, Edge, Mark, Op, Path, Text
from jiggen.drawing.table import BODY, Strip, heading, paragraph, space, table
from jiggen.geometry.frame import Side
from jiggen.jigs.plan import Stand, holes_text, sliver, stands
from jiggen.solution import AnglesAt, Check, Solution
from jiggen.units import say_length

#: Scales that a person would choose, largest first.
SCALES = (20.0, 15.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0, 0.5, 0.25, 0.1)
#: mm on paper: room for the picture, the drill axis' ends beyond the skins, radius of an arc.
PICTURE_HEIGHT, AXIS_END, ARC = 74.0, 17.0, 10.0
#: Most rows of stations that the cover shows.
MOST_STATIONS = 12

ON_FEET = (
    "On a curved skin a guide stands on two feet, forward of the hole only. Its corner is cut for "
    "where they stand, so it may differ from the fitted angle above."
)
CAUTION = (
    "Eye protection. Clamp the work. Deburr; swarf is sharp. "
    "Where plans, rules or inspector differ, they win."
)
STEPS = (
    "1. Measure the 100 mm and 4 in bars of each page along x and y, then the diagonals D1 and D2. "
    "Uniform scale does not change a corner; unequal scale does.",
    "2. Glue to card or thin ply. Cut on the hairline: the grey band lies in the waste and must be "
    "gone, the line must stay.",
    "3. Measure the piece over its lettered corners and compare with the table. "
    "4. Stand the base on the skin, high corner FORWARD, and sight the bit along the edge. "
    "5. Drill scrap first.",
)
CAUTIONS = (
    "Eye protection. Clamp the work, never hold it by hand under a drill press; no gloves or loose "
    "clothing there. Deburr; swarf is sharp. Laser: know the material (PVC and other chlorinated "
    "plastics give off toxic and corrosive gas) and never leave a laser alone. These numbers are "
    "shop aids: the plans, the kit or type documents, local rules and the responsible inspector or "
    "licensed mechanic decide; where they differ from this page, they win.",
)


def cover_strips(
    solution: Solution, pieces: tuple[Piece, ...], checks: tuple[Check, ...], width: float
) -> tuple[Strip, ...]:
    """Return the cover as strips, top first.

    Args:
        solution: the solved job.
        pieces: those on the printed pages.
        checks: shop checks; those that warn or fail are told.
        width: of the page's room, mm.
    """
    job = solution.job
    strips: list[Strip] = [
        heading("Drill-angle jigs", 5.0),
        *paragraph(
            "Drill square to the chord plane, not to either skin. "
            f"Side A is {job.sides[0]}, side B is {job.sides[1]}.",
            width,
        ),
        space(2.0),
        *section_picture(solution, width),
        *_angle_table(solution, width),
        *_guide_table(solution, pieces, width),
        *_size_tables(solution, pieces, width),
    ]
    told = [c for c in checks if c.status in ("warn", "fail")]
    if told:
        strips.append(heading("Look at this first"))
        for check in told:
            strips += paragraph(f"{check.status.upper()}  {check.name}: {check.why}.", width)
    strips.append(heading("How to use these pages"))
    for step in STEPS:
        strips += paragraph(step, width)
    strips.append(heading("Cautions"))
    for caution in CAUTIONS:
        strips += paragraph(caution, width)
    return tuple(strips)


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
        a, b = self.angles_at.skin_a, self.angles_at.skin_b
        c = self.line or 10.0
        total = self.thickness
        rear = 0.0 if total is None else max(total - c * (math.tan(a) + math.tan(b)), 0.0)
        self.rear = (rear / 2, rear / 2)
        self.slope = (math.tan(a), math.tan(b))
        self.skin = job.skin or (0.0, 0.0)
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
        r = self.reach
        wedge = [
            self.point(0, -self.face("b", 0)),
            self.point(r, -self.face("b", r)),
            self.point(r, self.face("a", r)),
            self.point(0, self.face("a", 0)),
        ]
        if math.dist(wedge[0], wedge[3]) < 0.01:
            wedge = wedge[:3]
        marks = [
            Mark(shape=Path.closed(wedge), op=Op.NOTE, fill=0.88),
            Mark(shape=Path.closed(wedge), op=Op.NOTE, line=0.2),
        ]
        for side, sign in (("a", 1), ("b", -1)):
            s: Side = "a" if side == "a" else "b"
            if self.skin[0 if s == "a" else 1] <= 0.0:
                continue
            band = Path.closed(
                [
                    self.point(0, sign * self.face(s, 0)),
                    self.point(r, sign * self.face(s, r)),
                    self.point(r, sign * self.outer(s, r)),
                    self.point(0, sign * self.outer(s, 0)),
                ]
            )
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
                    Point(top.x - 1.4, top.y + AXIS_END - 4.6), words, BODY, anchor=Anchor.END
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
        for sweep, right in ((forward, True), (aft, False)):
            # From the skin to the axis; the skin rises away from the chord plane by alpha.
            skin = alpha if right else math.pi + alpha
            first = Point(corner.x + ARC * math.cos(skin), corner.y + up * ARC * math.sin(skin))
            last = Point(corner.x, corner.y + up * ARC)
            bulge = math.tan(sweep / 4) * (1 if right else -1) * up
            marks.append(Mark(shape=Path((Edge(first, last, bulge),)), op=Op.NOTE, line=0.15))
            label = f"{math.degrees(sweep):.2f}°"
            bisector = (skin + math.pi / 2) / 2 if right else (skin + math.pi / 2) / 2
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
        words = f"Section at {where}, scale {self.scale:g}:1, seen from hole 1."
        if self.thickness is not None:
            words += f" Wedge {say_length(self.thickness, units)} thick at the hole"
            if self.grip is not None:
                words += f", grip {say_length(self.grip, units)}"
            words += f"; {say_length(sum(self.rear), units)} at the trailing edge."
        return words


def _angle_table(solution: Solution, width: float) -> tuple[Strip, ...]:
    job = solution.job
    rows = []
    for s in solution.stations[:MOST_STATIONS]:
        cells = [say_length(s.at, job.units)]
        for skin, plus_minus in ((s.skin_a, s.plus_minus_a), (s.skin_b, s.plus_minus_b)):
            cells += [
                f"{math.degrees(skin):.2f}°",
                "" if plus_minus is None else f"± {math.degrees(plus_minus):.2f}°",
                f"{90 - math.degrees(skin):.2f}°",
                f"{90 + math.degrees(skin):.2f}°",
            ]
        rows.append(cells)
    head = ["station"]
    for letter in ("A", "B"):
        head += [f"skin {letter}", "", f"forward {letter}", f"aft {letter}"]
    more = len(solution.stations) - MOST_STATIONS
    tail = paragraph(f"and {more} more stations", width) if more > 0 else ()
    return (heading("Angles between skin and drill axis"), *table(head, rows, width), *tail)


def _guide_table(solution: Solution, pieces: tuple[Piece, ...], width: float) -> tuple[Strip, ...]:
    job = solution.job
    made = {p.name: p for p in pieces}
    rows = []
    on_feet = False
    for stand in stands(solution):
        piece = made.get(f"guide-{stand.label}")
        corners = [a.nominal for a in piece.angles] if piece is not None else [stand.angle]
        on_feet = on_feet or len(corners) == 1
        rows.append(
            [
                f"{stand.label}  {_side_names(solution, stand)}",
                f"{corners[0]:.2f}°",
                f"{corners[1]:.2f}°" if len(corners) > 1 else "",
                " / ".join(dict.fromkeys(holes_text(solution, g) for g in stand.guides)),
                f"{math.degrees(max(g.worst_angle_error for g in stand.guides)):.2f}°",
                _worst_drift(solution, stand),
                f"{math.degrees(stand.margin):.2f}°",
                say_length(sliver(solution, stand), job.units, 3 if job.units == "in" else 1),
            ]
        )
    head = ["guide, skin", "forward", "aft", "for", "off by", "drift", "left", "sliver"]
    return (
        heading("Guide set"),
        *table(head, rows, width),
        *paragraph(
            "off by, drift: at the hole that the guide fits least. left: what its holes leave for "
            "cutting. sliver: how wide a rest of grey at one end of a check edge still passes.",
            width,
        ),
        *(paragraph(ON_FEET, width) if on_feet else ()),
    )


def _side_names(solution: Solution, stand: Stand) -> str:
    sides = solution.job.sides
    if stand.side == "ab":
        return f"{sides[0]} and {sides[1]}"
    return sides[0] if stand.side == "a" else sides[1]


def _worst_drift(solution: Solution, stand: Stand) -> str:
    drifts = [g.worst_drift for g in stand.guides if g.worst_drift is not None]
    return say_length(max(drifts), solution.job.units) if drifts else ""


def _size_tables(solution: Solution, pieces: tuple[Piece, ...], width: float) -> tuple[Strip, ...]:
    """Return tables of what a calliper should read on the finished pieces, one a kind of size."""
    units = solution.job.units
    groups: dict[tuple[str, ...], list[Piece]] = {}
    for piece in pieces:
        names = tuple(d.name for d in piece.dimensions if not d.is_bar)
        if names:
            groups.setdefault(names, []).append(piece)
    if not groups:
        return ()
    strips: list[Strip] = [heading(f"What a calliper should read on the cut piece, {units}")]
    for names, some in groups.items():
        rows = []
        for piece in some:
            sizes = [d for d in piece.dimensions if not d.is_bar]
            rows.append(
                [
                    piece.title,
                    *(say_length(d.nominal, units).removesuffix(f" {units}") for d in sizes),
                ]
            )
        strips += table(["piece", *names], rows, width)
        strips.append(space(1.6))
    return tuple(strips)
