"""What a taper gauge is made to, and what is written on plate and master: words, bars, marks."""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import (
    BAND,
    Line,
    block_arrow,
    check_edge_marks,
    fitted_height,
    text_block,
    witness_band,
)
from jiggen.drawing.lettering import wrap
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Edge, Mark, Op, Path

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

NOTCHES = "notches: 1 thin, 2 nominal, 3 thick"

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
    def tip(self) -> float:
        """Return where the master's tongue ends, mm forward of the apex."""
        return max(RELIEF + 0.5, TIP / self.opening)

    @property
    def takes_master(self) -> bool:
        """Return whether the tongue is stout enough to be a master."""
        return self.tip <= 0.5 * self.mouth

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


def how_to_read(role: str) -> str:
    """Return what the light tells in a gauge of a role.

    Args:
        role: ``thin``, ``nominal`` or ``thick``.
    """
    return {
        "thin": "a good wedge shows light at the TE; light at the mouth: too thin",
        "nominal": "no light anywhere: true taper",
        "thick": "a good wedge shows light at the mouth; light at the TE: too thick",
    }[role]


def plate_marks(
    sizes: GaugeSizes,
    labels: GaugeLabels,
    name: str,
    flanks: tuple[Edge, Edge],
    box: tuple[float, float, float],
    angle: float,
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return bands, edge marks, words, arrow, TE mark and bars of a plate.

    Args:
        sizes: of the nominal V.
        labels: what is lettered.
        name: of the piece; its parts are kind, number of the set and role.
        flanks: of side A and of side B, from the relief to the mouth, mm.
        box: top, lower and back edge of the plate, mm.
        angle: between this V's flanks, radians.

    Returns:
        The marks, and the bars as check dimensions.
    """
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
        *_rows(how_to_read(role), text.width),
        *_rows(NOTCHES, text.width),
        *_rows(labels.light, text.width),
        *_rows(labels.job, text.width),
    ]
    marks = (
        *_bands(flank_a, flank_b),
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


def _bands(flank_a: Edge, flank_b: Edge) -> tuple[Mark, ...]:
    """Return the tint inside the V along both flanks, where it is wide enough to hold them."""
    wide = math.dist(flank_a.end, flank_b.end)
    narrow = math.dist(flank_a.start, flank_b.start)
    width = min(BAND, 0.3 * wide)
    share = max(0.0, (2.4 * width - narrow) / (wide - narrow))
    return tuple(
        witness_band(Edge(flank.at(share), flank.end), waste_left=left, width=width)
        for flank, left in ((flank_a, False), (flank_b, True))
    )


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


def master_marks(
    sizes: GaugeSizes, labels: GaugeLabels, name: str, shoulder: float, half: float
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return words, arrow and bars of the master's handle.

    Args:
        sizes: of the nominal V.
        labels: what is lettered.
        name: of the piece; its parts are kind, number of the set and ``master``.
        shoulder: where the handle begins, mm forward of the apex.
        half: half of the handle's height, mm.

    Returns:
        The marks, and the bars as check dimensions.
    """
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
            *_rows(f"{labels.sides[0]} side up", text.width),
            *_rows(labels.job, text.width),
        ],
    )
    row = Bounds(shoulder + 2.5, -half + 3.4 + across, right - 3.5 - across, -half + 7.2 + across)
    arrow = Bounds(row.left, row.bottom, row.left + 9.0, row.top - 0.4)
    pointer = (
        *block_arrow(arrow, points_right=False),
        *text_block(
            Bounds(arrow.right + 1.5, row.bottom, row.right, row.top),
            [Line(text="tip, TE", height=2.2)],
        ),
    )
    return (*words, *pointer, *lying, *standing), (*lying_sizes, *standing_sizes)


def tongue_marks(flank_a: Edge, flank_b: Edge) -> tuple[Mark, ...]:
    """Return a check mark on each flank near the root, where the tongue is stout enough.

    Args:
        flank_a: of side A, from tip to shoulder, mm.
        flank_b: of side B.
    """
    if math.dist(flank_a.at(0.85), flank_b.at(0.85)) < STOUT:
        return ()
    return (
        *check_edge_marks(flank_a, inside_left=False, size=0.8, at=(0.9,)),
        *check_edge_marks(flank_b, inside_left=True, size=0.8, at=(0.9,)),
    )
