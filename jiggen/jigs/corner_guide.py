"""Corner guide: three plates that stand on the skin and give the bit a corner to rest in.

An angle guide shows the drill direction in one plane, and the eye has to see to the other. Here
the bit is pushed into a corner instead. The stop's edge holds it true chordwise, as a guide's
does; the cheek, glued to the stop, holds it true spanwise with its face; and the cross plate, whose
slot takes both, keeps the cheek upright: that slot is cut at the lean angle.

If a plate were wrong, or its slot loose, the bit would lean by as much at every hole, and nothing
would be seen of it. So the lean that the slots' play permits is worked out, and lettered on the
cross plate.

::

             from hole 1                          from above
                            /|
         D ________________/ |         bit   cross plate ->  | |
          |                  |              _________________| |__________
          |      stop        |      cheek  |_________________| |__________|
          |        _         |              o |______________| |__________|
        C |       | |        |                   stop        | |
           )      | |        |             <- TE             | |  FORWARD ->
            A_____| |________B
                 slot
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import (
    Line,
    along_edge,
    check_edge_marks,
    fitted_height,
    text_block,
    witness_band,
    wrapped,
)
from jiggen.drawing.piece import CheckDimension, Piece
from jiggen.drawing.shapes import Anchor, Bounds, Edge, Mark, Op, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.corner import LAP
from jiggen.jigs.corner_plates import (
    CornerSizes,
    Plate,
    Play,
    Standing,
    chordwise_plate,
    cross_plate,
    refuse_impossible,
)
from jiggen.jigs.guide_lettering import named_arrow
from jiggen.units import joined, size

#: mm. Room along a check edge for its triangles and its label.
STRIP = 6.6
#: mm of white between words and the bars beside them.
BESIDE = 1.8
#: What the plates are called.
PARTS = {"stop": "stop", "cheek": "cheek", "cross": "cross plate"}


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerLabels:
    """What is lettered on a corner guide.

    Attributes:
        job: name of the job.
        title: name of the guide.
        side: name of the skin that it stands on.
        holes: the holes that it serves.
        faces: which way the lettered face of stop, cheek and cross plate looks; a semicolon
            parts what holds on one side from what holds on the other.
        ends: what lies on the stop's side of the cross plate, and on the cheek's.
        extra: more lines for the stop, most important first.
    """

    job: str
    title: str
    side: str
    holes: str
    faces: tuple[str, str, str]
    ends: tuple[str, str]
    extra: tuple[str, ...] = ()


def build_corner_guide(
    name: str,
    skin: float,
    rise: float,
    bit: float,
    sizes: CornerSizes,
    labels: CornerLabels,
    *,
    pitch: float | None = None,
    mirrored: bool = False,
    side: str = "",
    notes: tuple[str, ...] = (),
) -> tuple[Piece, ...]:
    """Build the three plates of one corner guide.

    Args:
        name: stem of the pieces' names.
        skin: the skin angle, radians.
        rise: how the skin rises along the span toward larger y, ratio.
        bit: diameter of the drill, mm.
        sizes: see `CornerSizes`.
        labels: see `CornerLabels`.
        pitch: smallest distance between neighbouring holes, mm; None where there is one hole.
        mirrored: for side B, seen from the same end of the span.
        side: ``a``, ``b`` or ``ab``.
        notes: sentences for the cover page.

    Returns:
        Stop, cheek and cross plate, each drawn as its lettered face is seen, its base along x.

    Raises:
        DoesNotFit: see `refuse_impossible`; or no room is left for the lettering.
    """
    standing = Standing(skin, rise, bit, sizes)
    refuse_impossible(standing, pitch)
    play = standing.play()
    # Stop and cheek are lettered on their outer faces, so they are drawn from opposite ends of
    # the span; the cross plate is seen from the trailing edge, with hole 1 on its right.
    plates = (
        ("stop", chordwise_plate(standing, cheek=False), mirrored),
        ("cheek", chordwise_plate(standing, cheek=True), not mirrored),
        ("cross", cross_plate(standing), not mirrored),
    )
    found = []
    for part, plate, turned in plates:
        place = Affine.mirror_x() if turned else Affine()
        letter = _letter_cross if part == "cross" else _letter_chordwise
        marks, bars = letter(part, plate, labels, play, place)
        outline = plate.outline.moved(place)
        found.append(
            Piece(
                name=f"{name}-{part}",
                title=f"{labels.title}, {PARTS[part]}",
                kind="corner",
                outline=outline.reversed() if turned else outline,
                marks=(*marks, *_edge_marks(part, plate, place)),
                angles=tuple(a.moved(place) for a in plate.angles),
                dimensions=(*(d.moved(place) for d in plate.dimensions), *bars),
                side=side,
                notes=notes if part == "stop" else (),
            )
        )
    return tuple(found)


_Lettered = tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]


def _letter_chordwise(
    part: str, plate: Plate, labels: CornerLabels, play: Play, place: Affine
) -> _Lettered:
    """Return bars, name block and arrows of the stop or the cheek."""
    at, across = plate.spots, pair_room()
    slot_top = max(at["slot-aft-top"].y, at["slot-forward-top"].y) + 1.4
    box = Bounds(
        max(at["C"].x, at["D"].x) + STRIP,
        3.4,
        min(at["B"].x, at["beak"].x) - 2.2,
        min(at["D"].y, at["shoulder"].y) - 1.6,
    )
    column = Bounds(box.right - across, box.bottom, box.right, box.top)
    row = Bounds(box.left, slot_top, column.left - BESIDE, slot_top + across)
    standing, standing_sizes = bar_pair(column.moved(place), along_y=True)
    lying, lying_sizes = bar_pair(row.moved(place))
    # The top falls forward, square to the drill: further aft there is more room under it.
    fall = (at["D"].y - at["shoulder"].y) / (at["shoulder"].x - at["D"].x)
    high = min(at["D"].y, at["D"].y - fall * (row.right - at["D"].x)) - 1.6
    free = Bounds(box.left, row.top + 0.6, row.right, high)
    glue = "glue the cheek to its back" if part == "stop" else "glue its back to the stop"
    lines = [
        *_name_lines(part, labels, free.width, f"{plate.degrees:.2f}°  {labels.title}"),
        *(
            line
            for face in labels.faces[0 if part == "stop" else 1].split("; ")
            for line in wrapped(face, 2.1, free.width)
        ),
        *wrapped(glue, 2.1, free.width),
        *(Line(text=text, height=2.1) for text in (labels.extra if part == "stop" else ())),
    ]
    spare = len(labels.extra) if part == "stop" else 0
    words = _words(free.moved(place), lines, labels.title, spare)
    slot_left = min(at["slot-aft"].x, at["slot-aft-top"].x) - 1.6
    slot_right = max(at["slot-forward"].x, at["slot-forward-top"].x) + 1.6
    first = at["A"].x + 4.4
    left = Bounds(first, 3.2, slot_left, LAP - 1.2)
    right = Bounds(slot_right, 3.2, column.left - 1.2, LAP - 1.2)
    arrows = _two_arrows(left, right, ("TE", "FORWARD"), place)
    return (
        (*standing, *lying, *words, *arrows),
        (*standing_sizes, *lying_sizes),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _CrossRooms:
    """The room for lettering on the cross plate: beside its slot, and below it."""

    lying: Bounds
    standing: Bounds
    name: Bounds
    more: Bounds
    arrows: tuple[Bounds, Bounds]


def _cross_rooms(plate: Plate) -> _CrossRooms:
    at, across, row = plate.spots, pair_room(), 5.0
    floor = min(at["F"].y, at["slot-far"].y)
    top = min(at["D"].y, at["shoulder"].y, at["E"].y) - 1.6
    left, right = max(at["A"].x, at["D"].x) + STRIP, min(at["F"].x, at["E"].x) - STRIP
    far_left = max(at["slot-far"].x, at["slot-far-top"].x) + 1.8
    end = min(at["B"].x, at["beak"].x) - 2.2
    far_right = end - across - BESIDE
    low, foot = floor + 0.8, floor - 1.6 - across
    return _CrossRooms(
        lying=Bounds(left, foot, end - 2.0, foot + across),
        standing=Bounds(end - across, low, end, top),
        name=Bounds(left, low + row + 0.8, right, top),
        more=Bounds(far_left, low + row + 0.8, far_right, top),
        arrows=(Bounds(left, low, right, low + row), Bounds(far_left, low, far_right, low + row)),
    )


def _letter_cross(
    part: str, plate: Plate, labels: CornerLabels, play: Play, place: Affine
) -> _Lettered:
    """Return bars, name block and arrows of the cross plate, on both sides of its slot."""
    rooms = _cross_rooms(plate)
    lying, lying_sizes = bar_pair(rooms.lying.moved(place))
    standing, standing_sizes = bar_pair(rooms.standing.moved(place), along_y=True)
    lines = [
        Line(text=f"{plate.degrees:.2f}°", height=4.2, bold=True),
        *_name_lines(part, labels, rooms.name.width, labels.title),
    ]
    said = [
        line
        for sentence in (
            labels.faces[2],
            "slot goes over both, glued back to back",
            f"loose slots: bit may lean {math.degrees(play.both):.2f}°",
        )
        for line in wrapped(sentence, 2.0, rooms.more.width, most=5)
    ]
    marks = (
        *lying,
        *standing,
        *_words(rooms.name.moved(place), lines, labels.title),
        *_words(rooms.more.moved(place), said, labels.title),
        *_two_arrows(*rooms.arrows, labels.ends, place),
    )
    return marks, (*lying_sizes, *standing_sizes)


def _name_lines(part: str, labels: CornerLabels, width: float, first: str) -> list[Line]:
    """Return what every plate says: its name, where it goes, whose it is."""
    return [
        Line(text=first, height=3.8, bold=True),
        Line(text=PARTS[part].upper(), height=3.2, bold=True),
        *wrapped(f"{labels.side}, {labels.holes}", 2.4, width, most=4),
        *wrapped(labels.job, 2.1, width, most=3),
    ]


def _words(box: Bounds, lines: list[Line], title: str, spare: int = 0) -> tuple[Mark, ...]:
    """Letter `lines`, of which the last `spare` may be left out for want of room."""
    words = text_block(box, lines)
    if len(words) < len(lines) - spare:
        raise DoesNotFit(
            f"{title} has no room for its lettering",
            key="corner.height",
            given=joined([size(box.width), "x", size(box.height), "of room"], " "),
            remedy="a larger corner.height, or a longer corner.foot",
        )
    return words


def _two_arrows(
    left: Bounds, right: Bounds, names: tuple[str, str], place: Affine
) -> tuple[Mark, ...]:
    """Return two words with arrows that point apart, both in the size of the longer one."""
    longer = max(names, key=len)
    height = min(
        fitted_height(Line(text=longer, height=2.6, bold=True), max(box.width - 6.4, 1.0))
        for box in (left, right)
    )
    away = place.a > 0
    return (
        *named_arrow(left.moved(place), names[0], height, points_right=not away),
        *named_arrow(right.moved(place), names[1], height, points_right=away),
    )


def _edge_marks(part: str, plate: Plate, place: Affine) -> tuple[Mark, ...]:
    """Return check-edge triangles, witness bands, edge labels and corner letters."""
    at, mirrored = plate.spots, place.a < 0
    base, working = plate.angles[0].base.moved(place), plate.angles[0].working.moved(place)
    says = {
        "stop": f"bit here {plate.degrees:.2f}°",
        "cheek": f"along the bit {plate.degrees:.2f}°",
        "cross": f"edge to base {plate.degrees:.2f}°",
    }
    marks = [
        *check_edge_marks(base, inside_left=not mirrored),
        *check_edge_marks(working, inside_left=mirrored),
        *along_edge(working, says[part], 1.8 if part == "cross" else 2.2, inside_left=mirrored),
        witness_band(base, waste_left=mirrored),
        witness_band(working, waste_left=not mirrored),
    ]
    if part == "cross":
        slot = plate.angles[1].working.moved(place)
        marks += [
            *check_edge_marks(slot, inside_left=not mirrored, at=(0.2, 0.8)),
            *along_edge(slot, f"slot to base {plate.degrees:.2f}°", 1.8, inside_left=not mirrored),
            witness_band(slot, waste_left=mirrored),
        ]
    return (*marks, *_corner_letters(part, at, place))


def _corner_letters(part: str, at: dict[str, Point], place: Affine) -> tuple[Mark, ...]:
    """Return the letters by which the check dimensions name the corners."""
    size, up = 1.9, Edge(at["A" if part == "cross" else "C"], at["D"]).direction()
    # What a leaning edge takes away beside a letter.
    ahead, astern = (max(way * up.x / up.y, 0.0) * 2 * size for way in (1, -1))
    offs = {
        "A": (1.9 + ahead, 1.0),
        "B": (-1.9 - astern, 1.0),
        "C": (2.1 + ahead, 1.0),
        "D": (2.1 + astern, -2.0 - size),
    }
    if part == "cross":
        offs = {**offs, "E": (-2.1 - ahead, -2.0 - size), "F": (-2.1 - astern, 0.8)}
        del offs["C"]
    return tuple(
        Mark(
            shape=Text(place.point((at[k].x + dx, at[k].y + dy)), k, size, anchor=Anchor.MIDDLE),
            op=Op.ENGRAVE,
        )
        for k, (dx, dy) in offs.items()
    )
