"""What is written on a guide: bars, name, arrows, what each edge is for, corner letters."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import (
    SMALLEST,
    Line,
    along_edge,
    block_arrow,
    check_edge_marks,
    fitted_height,
    text_block,
    wrapped,
)
from jiggen.drawing.piece import CheckAngle, CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Edge, Mark, Op, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.corner import ARCH, LAP, PAD, STEP, Corner
from jiggen.units import joined, or_more, size

#: mm of white between words and the bars beside them.
BESIDE = 2.4
#: mm from a corner to the first check mark: past the corner's letter.
PAST_LETTER = 6.6


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideLabels:
    """What is lettered on a guide.

    Attributes:
        job: name of the job.
        title: name of the piece.
        side: name of the skin it stands on.
        holes: the holes that it serves.
        face: which way the lettered face looks.
        extra: more lines, most important first.
        on_paper: lines that concern the print only, e.g. its grey bands.
        aft_use: what the aft edge is for.
    """

    job: str
    title: str
    side: str
    holes: str
    face: str
    extra: tuple[str, ...] = field(default=())
    on_paper: tuple[str, ...] = field(default=())
    aft_use: str = "bit here"


def bars(
    corner: Corner, place: Affine
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...], Bounds]:
    """Return bars, their dimensions, and the room that is left for lettering."""
    box = corner.free_box()
    across = pair_room()
    above_slot = LAP + 1.0 if corner.feet is None else STEP + 1.0
    column = Bounds(box.right - across, box.bottom, box.right, box.top)
    row = Bounds(box.left, above_slot, column.left - BESIDE, above_slot + across)
    standing, standing_sizes = bar_pair(column.moved(place), along_y=True)
    lying, lying_sizes = bar_pair(row.moved(place))
    free = Bounds(box.left, row.top + 0.6, column.left - BESIDE, box.top)
    return (*standing, *lying), (*standing_sizes, *lying_sizes), free


def lettering(corner: Corner, labels: GuideLabels, box: Bounds, place: Affine) -> tuple[Mark, ...]:
    """Return the name block, and the arrows FORWARD and TE in the base row."""
    lines = [
        Line(text=f"{corner.angle:.2f}°  {labels.title}", height=4.6, bold=True),
        *_served(labels, box.width),
        *wrapped(labels.job, 2.6, box.width),
        Line(text=labels.face, height=2.3),
        *(line for text in labels.extra for line in wrapped(text, 2.1, box.width)),
        *(Line(text=text, height=2.1) for text in labels.on_paper),
    ]
    words = tuple(
        replace(m, paper_only=isinstance(m.shape, Text) and m.shape.text in labels.on_paper)
        for m in text_block(box.moved(place), lines)
    )
    if len(words) < 4:
        raise DoesNotFit(
            f"{labels.title} has no room for its lettering at {corner.angle:.1f} deg",
            key="guide.foot",
            given=size(corner.sizes.foot),
            remedy=joined([or_more(corner.sizes.foot + 20), "would do"], " "),
        )
    free = corner.free_box()
    low, high = 3.2, LAP - 1.2
    if corner.feet is not None:
        low, high = ARCH + 2.8, STEP - 0.6
    first = max(corner.A.x + 6.0, 8.0)
    last = free.right - pair_room() - 1.6 if corner.feet is None else corner.B.x - 5.0
    x, half = corner.slot if corner.feet is None else ((first + last) / 2, 0.0)
    left = Bounds(first, low, x - half - 1.6, high)
    right = Bounds(x + half + 1.6, low, last, high)
    forward_right = place.a > 0
    # Both words in one size, that of the longer: neither direction shouts louder.
    height = fitted_height(
        Line(text="FORWARD", height=min(2.6, 0.55 * (high - low)), bold=True),
        max(right.width - 6.4, 1.0),
    )
    return (
        *words,
        *named_arrow(left.moved(place), "TE", height, points_right=not forward_right),
        *named_arrow(right.moved(place), "FORWARD", height, points_right=forward_right),
    )


def _served(labels: GuideLabels, width: float) -> list[Line]:
    """Return side and holes: on one line where that is read at arm's length, else on two."""
    whole = Line(text=f"{labels.side}, {labels.holes}", height=3.2)
    if fitted_height(whole, width) >= SMALLEST:
        return [whole]
    # A stroke is taller than a letter, and would reach into the row above.
    return [Line(text=text, height=3.2) for text in (labels.side, labels.holes.replace("/", "+"))]


def named_arrow(box: Bounds, name: str, height: float, *, points_right: bool) -> tuple[Mark, ...]:
    """Return a word and an arrow beside it, the arrow on the side it points to."""
    anchor = Anchor.START if points_right else Anchor.END
    x, y = box.left if points_right else box.right, (box.bottom + box.top) / 2
    word = Text(Point(x, y - height / 2), name, height, anchor=anchor, bold=True)
    edge = word.bounds()
    tall = min(box.height, 4.4)
    if points_right:
        room = Bounds(edge.right + 1.2, y - tall / 2, min(box.right, edge.right + 11), y + tall / 2)
    else:
        room = Bounds(max(box.left, edge.left - 11), y - tall / 2, edge.left - 1.2, y + tall / 2)
    return Mark(shape=word, op=Op.ENGRAVE), *block_arrow(room, points_right=points_right)


def checked_edges(corner: Corner, angles: tuple[CheckAngle, ...]) -> tuple[tuple[Edge, bool], ...]:
    """Return each check edge once, with whether the waste is to its left before mirroring."""
    edges = [(angles[0].working, True), (angles[0].base, False)]
    if len(angles) > 1:
        edges.append((angles[1].working, False))
    return tuple(edges)


def edge_labels(
    corner: Corner, angles: tuple[CheckAngle, ...], mirrored: bool, aft_use: str
) -> tuple[Mark, ...]:
    """Return the check-edge triangles and what each working edge is for."""
    marks: list[Mark] = []
    for edge, waste_left in checked_edges(corner, angles):
        if edge is angles[0].base and corner.feet is not None:
            continue
        share = max(0.12, PAST_LETTER / edge.length)
        marks += check_edge_marks(edge, inside_left=waste_left == mirrored, at=(share, 1 - share))
    if corner.feet is not None:
        for near, far in ((corner.A.x, corner.A.x + PAD), (corner.B.x - PAD, corner.B.x)):
            pad = Edge(Point(near, 0.0), Point(far, 0.0))
            place = Affine.mirror_x() if mirrored else Affine()
            marks += check_edge_marks(pad.moved(place), inside_left=not mirrored, at=(0.5,))
    forward = angles[0]
    marks += along_edge(
        forward.working,
        f"bit here, guide forward {forward.nominal:.2f}°",
        2.2,
        inside_left=mirrored,
    )
    if len(angles) > 1:
        aft = angles[1]
        marks += along_edge(
            aft.working,
            f"{aft_use}, guide aft {aft.nominal:.2f}°",
            2.2,
            inside_left=not mirrored,
        )
    else:
        plain = Edge(corner.along(STEP / corner.up.y, corner.foot), corner.E).moved(
            Affine.mirror_x() if mirrored else Affine()
        )
        marks += along_edge(plain, "not a check edge", 2.0, inside_left=not mirrored)
    return tuple(marks)


def corner_letters(corner: Corner, place: Affine) -> tuple[Mark, ...]:
    """Return the letters by which the check dimensions name the corners."""
    size = 1.9
    spots = {
        "A": (corner.A.x + 1.9, 1.0),
        "B": (corner.B.x - 1.9, 1.0),
        "C": (corner.C.x + 2.1, corner.C.y + 1.0),
        "D": (corner.D.x + 2.1, corner.D.y - 1.8 - size),
    }
    spots["E"] = (corner.E.x - 2.1, corner.E.y - 1.4 - size)
    spots["F"] = (corner.F.x - 2.1, corner.F.y + 1.0)
    if corner.feet is not None:
        spots["A"], spots["B"] = (corner.A.x + 2.6, 3.0), (corner.B.x - 2.2, 3.0)
        del spots["E"], spots["F"]
    return tuple(
        Mark(shape=Text(place.point(at), letter, size, anchor=Anchor.MIDDLE), op=Op.ENGRAVE)
        for letter, at in spots.items()
    )
