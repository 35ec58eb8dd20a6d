"""Taper gauge: a plate with a V that fits the wedge, its thin and thick mates, and their master.

The wedge goes into the V with its trailing edge first. In a V of its own taper it touches all
along both faces and no light comes through. In one that is too open only its rear corners touch,
and there is light at the mouth; in one too narrow the mouth touches, and there is light at the
trailing edge. Between a V that is thin by the tolerance and one that is thick by it, the light
tells whether the wedge is inside. A gauge that is wrong calls a good wedge bad, or lets the wrong
piece through to the drill: so a male V of the same taper, which a calliper can measure, checks it.

Only the angle between the two flanks is the product; nothing rests on the plate's outer edges.

::

      ____________________________ top
     /                            |
    |                       ___---| Ma
    |                 R  _--      |
    )  words          (o_    V    |   mouth, FORWARD ->
    |        chord plane   --__   |
    |                          ---| Mb
    |_____________________________|
    ^ notches: one thin, two nominal, three thick
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from jiggen.drawing.affine import Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import (
    Line,
    block_arrow,
    check_edge_marks,
    fitted_height,
    text_block,
    witness_band,
)
from jiggen.drawing.lettering import wrap
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Anchor, Bounds, Edge, Mark, Op, Path
from jiggen.errors import DoesNotFit

#: mm. Radius of the hole that relieves the apex: a burr or a thick edge must not hold the wedge up.
RELIEF = 1.5
#: mm of plate behind the apex, and above and below the V: room for words and bars, and stiffness.
BEHIND, BESIDE = 50.0, 29.0
#: mm. Radius of a notch that tells thin, nominal and thick apart in the hand, and their distance.
NOTCH, NOTCH_STEP = 1.6, 7.0
#: mm. The corner cut off on side A, where the two sides differ.
CHAMFER = 9.0
#: mm. The master's tongue goes this much beyond the mouth, and is at least so thick at its tip.
BEYOND, TIP = 3.0, 0.8
#: mm. The master's handle.
HANDLE, HANDLE_HALF = 56.0, 22.0
#: The least share of the V that a wedge of nominal taper must still go into when the V is thin.
LEAST_SHARE = 0.5
#: degrees. What the gap is told for.
PER = 0.1

#: mm. A tongue so thick has room for a check mark at each flank.
STOUT = 3.2
#: mm. Capital height of the sentences.
WORDS = 2.3

#: notches by role.
ROLES = {"thin": 1, "nominal": 2, "thick": 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeSizes:
    """What a V is made to; mm and radians.

    Attributes:
        skin_a: skin angle on side A.
        skin_b: skin angle on side B.
        rear: thickness of the wedge at its trailing edge; None where it is not known.
        depth: how much of the wedge goes in, along the chord plane.
    """

    skin_a: float
    skin_b: float
    rear: float | None
    depth: float

    @property
    def opening(self) -> float:
        """Return what the V opens by for each mm forward."""
        return math.tan(self.skin_a) + math.tan(self.skin_b)

    @property
    def edge(self) -> float:
        """Return where the trailing edge stands, mm forward of the apex."""
        return (self.rear or 0.0) / self.opening

    @property
    def mouth(self) -> float:
        """Return where the mouth is, mm forward of the apex."""
        return self.edge + self.depth

    @property
    def touching(self) -> float:
        """Return the length along which a true wedge touches, mm along the chord plane."""
        return self.mouth - max(self.edge, RELIEF)


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeLabels:
    """What is lettered: job, place along the edge, names of the sides, how much light."""

    job: str
    place: str
    sides: tuple[str, str]
    light: str


def light_gap(touching: float, error: float) -> float:
    """Return the gap that an error of taper shows as, mm.

    Args:
        touching: length along which wedge and V would touch, mm.
        error: of the angle between the faces, radians.

    Returns:
        The gap at the end that does not touch, with the wedge held against one flank.

    Source: derived: two lines through one end, apart by the error at the other.
    """
    return touching * math.tan(abs(error))


def build_gauge(name: str, sizes: GaugeSizes, error: float, labels: GaugeLabels) -> Piece:
    """Build one plate with a V.

    Args:
        name: file name of the piece; its last word is its role, ``thin``, ``nominal`` or
            ``thick``.
        sizes: of the nominal V.
        error: what this V is more open than the nominal one, radians.
        labels: see `GaugeLabels`.

    Returns:
        The piece; the chord plane lies along x, the mouth to the right.

    Raises:
        DoesNotFit: a V that would not take the wedge.
    """
    role = name.rsplit("-", 1)[-1]
    a, b = sizes.skin_a + error / 2, sizes.skin_b + error / 2
    mouth = sizes.mouth
    _refuse_narrow(sizes, a, b)
    flank_a = _flank(a, RELIEF * math.cos(a), mouth, 1)
    flank_b = _flank(b, RELIEF * math.cos(b), mouth, -1)
    sided = abs(sizes.skin_a - sizes.skin_b) > 1e-6
    top, low, back = flank_a.end.y + BESIDE, flank_b.end.y - BESIDE, -BEHIND
    outline = Path(
        (
            Edge(Point(back, low), Point(mouth, low)),
            Edge(Point(mouth, low), flank_b.end),
            flank_b.reversed(),
            *_relief(flank_b.start, flank_a.start),
            flank_a,
            Edge(flank_a.end, Point(mouth, top)),
            *_back(Point(mouth, top), back, low, ROLES[role], CHAMFER if sided else 0.0),
        )
    )
    marks, bars = _plate_marks(sizes, labels, name, (flank_a, flank_b), (top, low, back), a + b)
    return Piece(
        name=name,
        title=f"Gauge {name.split('-')[1]} {role}",
        kind="gauge",
        outline=outline,
        marks=marks,
        angles=(
            CheckAngle(
                name="V",
                nominal=math.degrees(a + b),
                base=flank_b,
                working=flank_a,
            ),
        ),
        dimensions=(*_v_sizes(flank_a, flank_b), *bars),
        notes=(_how_to_read(role),),
    )


def build_master(name: str, sizes: GaugeSizes, labels: GaugeLabels) -> Piece:
    """Build the male V that the nominal gauge is checked with.

    Args:
        name: file name of the piece.
        sizes: of the nominal V.
        labels: see `GaugeLabels`.

    Returns:
        The piece; the chord plane lies along x, the tip to the left.

    Raises:
        DoesNotFit: a taper so slight that the tongue would have no tip.
    """
    tip = max(RELIEF + 0.5, TIP / sizes.opening)
    shoulder = sizes.mouth + BEYOND
    if tip > 0.5 * sizes.mouth:
        raise DoesNotFit(
            f"the master's tongue would be {sizes.mouth * sizes.opening:.2f} mm thick at its root",
            key="gauge.depth",
            given=f"{sizes.depth:.4g} mm",
            remedy="a deeper V makes a stouter tongue",
        )
    flank_a = _flank(sizes.skin_a, tip, shoulder, 1)
    flank_b = _flank(sizes.skin_b, tip, shoulder, -1)
    right = shoulder + HANDLE
    half = max(HANDLE_HALF, flank_a.end.y + 8.0, 8.0 - flank_b.end.y)
    outline = Path(
        (
            flank_b,
            *Path.open(
                [flank_b.end, (shoulder, -half), (right, -half), (right, half), (shoulder, half)]
            ).edges,
            Edge(Point(shoulder, half), flank_a.end),
            flank_a.reversed(),
            Edge(flank_a.start, flank_b.start),
        )
    )
    marks, bars = _master_marks(sizes, labels, name, shoulder, half)
    return Piece(
        name=name,
        title=f"Gauge {name.split('-')[1]} master",
        kind="gauge",
        outline=outline,
        marks=(
            witness_band(flank_a, waste_left=True),
            witness_band(flank_b, waste_left=False),
            *_tongue_marks(flank_a, flank_b),
            *marks,
        ),
        angles=(
            CheckAngle(
                name="V",
                nominal=math.degrees(sizes.skin_a + sizes.skin_b),
                base=flank_b,
                working=flank_a,
            ),
        ),
        dimensions=(*_tongue_sizes(flank_a, flank_b), *bars),
        notes=("goes into the nominal gauge: no light anywhere, or the gauge is wrong",),
    )


def _tongue_marks(flank_a: Edge, flank_b: Edge) -> tuple[Mark, ...]:
    """Return a check mark on each flank near the root, where the tongue is stout enough."""
    if math.dist(flank_a.at(0.85), flank_b.at(0.85)) < STOUT:
        return ()
    return (
        *check_edge_marks(flank_a, inside_left=False, size=0.8, at=(0.9,)),
        *check_edge_marks(flank_b, inside_left=True, size=0.8, at=(0.9,)),
    )


def _refuse_narrow(sizes: GaugeSizes, a: float, b: float) -> None:
    opening = math.tan(a) + math.tan(b)
    goes_in = (sizes.mouth * opening - (sizes.rear or 0.0)) / sizes.opening
    if a + b <= 0.0 or goes_in < LEAST_SHARE * sizes.depth:
        inc = math.degrees(sizes.skin_a + sizes.skin_b)
        raise DoesNotFit(
            f"a V of {math.degrees(a + b):.2f} deg takes only {max(goes_in, 0.0):.1f} mm of a "
            f"wedge of {inc:.2f} deg",
            key="gauge.tolerance",
            given=f"{inc - math.degrees(a + b):.4g} deg",
            remedy=f"{inc / 5:.2g} deg or less",
        )


def _flank(skin: float, start: float, end: float, way: int) -> Edge:
    """Return a flank from `start` to `end` mm forward of the apex, `way` 1 on side A."""
    tan = way * math.tan(skin)
    return Edge(Point(start, start * tan), Point(end, end * tan))


def _relief(start: Point, end: Point) -> tuple[Edge, ...]:
    """Return the hole round the apex from flank B clockwise to flank A, as four arcs.

    One arc of nearly a whole turn would lose its middle in the last digit of its ends.
    """
    first, last = math.atan2(start.y, start.x), math.atan2(end.y, end.x) - math.tau
    step = (last - first) / 4
    turns = [first + k * step for k in (1, 2, 3)]
    between = [Point(RELIEF * math.cos(turn), RELIEF * math.sin(turn)) for turn in turns]
    bulge = math.tan(step / 4)
    return tuple(Edge(p, q, bulge) for p, q in pairwise([start, *between, end]))


def _back(corner: Point, back: float, low: float, notches: int, chamfer: float) -> tuple[Edge, ...]:
    """Return top edge, chamfer and the back edge with its notches, down to the lower corner."""
    top = corner.y
    edges = [Edge(corner, Point(back + chamfer, top))]
    if chamfer:
        edges.append(Edge(Point(back + chamfer, top), Point(back, top - chamfer)))
    here = Point(back, top - chamfer)
    middle = (top - chamfer + low) / 2
    for k in range(notches):
        y = middle + NOTCH_STEP * ((notches - 1) / 2 - k)
        edges.append(Edge(here, Point(back, y + NOTCH)))
        # A half round into the plate, run clockwise about its middle.
        side = Point(back + NOTCH, y)
        quarter = -math.tan(math.pi / 8)
        edges.append(Edge(Point(back, y + NOTCH), side, quarter))
        edges.append(Edge(side, Point(back, y - NOTCH), quarter))
        here = Point(back, y - NOTCH)
    return (*edges, Edge(here, Point(back, low)))


def _v_sizes(flank_a: Edge, flank_b: Edge) -> tuple[CheckDimension, ...]:
    """Return what fixes the V: its width at mouth and relief, its flanks, one diagonal."""
    rows = (
        ("mouth", flank_a.end, flank_b.end, "across the V at the mouth, inside jaws"),
        (
            "root",
            flank_a.start,
            flank_b.start,
            "across the V where it meets the relief, by feeler blades or a drill's shank",
        ),
        ("flank-a", flank_a.start, flank_a.end, "along side A's flank, relief to mouth"),
        ("flank-b", flank_b.start, flank_b.end, "along side B's flank, relief to mouth"),
        ("across", flank_b.start, flank_a.end, "from side B's flank at the relief to A's mouth"),
    )
    return _sizes(rows)


def _tongue_sizes(flank_a: Edge, flank_b: Edge) -> tuple[CheckDimension, ...]:
    """Return what fixes the tongue: thickness at tip and root, its flanks, one diagonal."""
    rows = (
        ("root", flank_a.end, flank_b.end, "over the tongue at the shoulder"),
        ("tip", flank_a.start, flank_b.start, "over the tongue at its tip"),
        ("flank-a", flank_a.start, flank_a.end, "along side A, tip to shoulder"),
        ("flank-b", flank_b.start, flank_b.end, "along side B, tip to shoulder"),
        ("across", flank_b.start, flank_a.end, "from the tip on side B to the shoulder on side A"),
    )
    return _sizes(rows)


def _sizes(rows: tuple[tuple[str, Point, Point, str], ...]) -> tuple[CheckDimension, ...]:
    return tuple(
        CheckDimension(name=name, nominal=math.dist(p, q), start=p, end=q, how=how)
        for name, p, q, how in rows
    )


def _how_to_read(role: str) -> str:
    return {
        "thin": "a good wedge shows light at the TE; light at the mouth: too thin",
        "nominal": "no light anywhere: true taper",
        "thick": "a good wedge shows light at the mouth; light at the TE: too thick",
    }[role]


def _plate_marks(
    sizes: GaugeSizes,
    labels: GaugeLabels,
    name: str,
    flanks: tuple[Edge, Edge],
    box: tuple[float, float, float],
    angle: float,
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return bands, edge marks, words, arrow, TE mark and bars of a plate."""
    (flank_a, flank_b), (top, low, back) = flanks, box
    _, number, role = name.split("-")
    right, across = sizes.mouth, pair_room()
    lying, lying_sizes = bar_pair(Bounds(back + 3, low + 2, right - 3, low + 2 + across))
    column = back + NOTCH + 2.0
    standing, standing_sizes = bar_pair(
        Bounds(column, low + 3 + across, column + across, top - CHAMFER - 1), along_y=True
    )
    text = Bounds(column + across + 1.5, low + 3 + across, -RELIEF - 2.5, top - 3)
    lines = [
        Line(text=f"Gauge {number} {role.upper()}", height=3.4, bold=True),
        Line(text=f"{math.degrees(angle):.2f}° between faces", height=3.0, bold=True),
        *_rows(labels.place, text.width),
        *_rows(_how_to_read(role), text.width),
        *_rows(labels.light, text.width),
        *_rows(labels.job, text.width),
    ]
    marks = (
        witness_band(flank_a, waste_left=False),
        witness_band(flank_b, waste_left=True),
        *check_edge_marks(flank_a, inside_left=True, at=(0.3, 0.9)),
        *check_edge_marks(flank_b, inside_left=False, at=(0.3, 0.9)),
        *text_block(text, lines),
        *_jaw(Bounds(1.0, flank_a.end.y + 6.5, right - 2.5, top - 3), labels.sides[0], up=True),
        *_jaw(
            Bounds(1.0, low + 3 + across, right - 2.5, flank_b.end.y - 6.5),
            labels.sides[1],
            up=False,
        ),
        *_edge_mark(sizes, flanks),
    )
    return (*marks, *lying, *standing), (*lying_sizes, *standing_sizes)


def _rows(text: str, width: float) -> list[Line]:
    return [Line(text=row, height=WORDS) for row in wrap(text, WORDS, width)]


def _jaw(box: Bounds, side: str, *, up: bool) -> tuple[Mark, ...]:
    """Return what stands on a jaw: the side's name, and on the upper one where FORWARD is."""
    marks = text_block(box, [Line(text=side, height=2.6)], anchor=Anchor.MIDDLE)
    if not up:
        return marks
    word = Line(text="FORWARD", height=2.4)
    height = fitted_height(word, box.width)
    row = Bounds(box.left, box.bottom + 4.0, box.right, box.bottom + 4.0 + 1.6 * height)
    arrow = Bounds(box.left + 0.2 * box.width, box.bottom, box.right, box.bottom + 3.6)
    return (
        *marks,
        *text_block(row, [Line(text="FORWARD", height=height)], anchor=Anchor.MIDDLE),
        *block_arrow(arrow, points_right=True),
    )


def _edge_mark(sizes: GaugeSizes, flanks: tuple[Edge, Edge]) -> tuple[Mark, ...]:
    """Return the ticks beside the V where the trailing edge stands in a true wedge's gauge."""
    if sizes.rear is None or sizes.edge < RELIEF + 0.3:
        return ()
    x, (a, b) = sizes.edge, flanks
    marks = []
    for edge, way in ((a, 1), (b, -1)):
        y = edge.start.y + (x - edge.start.x) * edge.direction().y / edge.direction().x
        marks.append(Mark(shape=Path.open([(x, y + way * 1.0), (x, y + way * 4.5)]), op=Op.ENGRAVE))
    word = Bounds(x - 6.2, b.start.y - 5.2, x - 1.0, b.start.y - 1.6)
    return (*marks, *text_block(word, [Line(text="TE", height=2.2)], anchor=Anchor.END))


def _master_marks(
    sizes: GaugeSizes, labels: GaugeLabels, name: str, shoulder: float, half: float
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return words, arrow and bars of the master's handle."""
    right, across = shoulder + HANDLE, pair_room()
    lying, lying_sizes = bar_pair(Bounds(shoulder + 2, -half + 2, right - 2, -half + 2 + across))
    standing, standing_sizes = bar_pair(
        Bounds(right - 2 - across, -half + 3 + across, right - 2, half - 2), along_y=True
    )
    text = Bounds(shoulder + 2.5, -half + 8 + across, right - 3.5 - across, half - 2)
    angle = math.degrees(sizes.skin_a + sizes.skin_b)
    words = text_block(
        text,
        [
            Line(text=f"MASTER of gauge {name.split('-')[1]}", height=3.0, bold=True),
            Line(text=f"{angle:.2f}° between faces", height=2.8, bold=True),
            *_rows(labels.place, text.width),
            *_rows("into the nominal gauge: no light anywhere", text.width),
            *_rows(f"up {labels.sides[0]}, down {labels.sides[1]}", text.width),
            *_rows(labels.job, text.width),
        ],
    )
    row = Bounds(shoulder + 2.5, -half + 3.4 + across, right - 3.5 - across, -half + 7.2 + across)
    arrow = Bounds(row.left + 5.5, row.bottom, row.left + 14.0, row.top - 0.4)
    pointer = (
        *text_block(row, [Line(text="TE", height=2.2)]),
        *block_arrow(arrow, points_right=False),
        *text_block(
            Bounds(arrow.right + 2.0, row.bottom, row.right, row.top),
            [Line(text="tip", height=2.0)],
        ),
    )
    return (*words, *pointer, *lying, *standing), (*lying_sizes, *standing_sizes)
