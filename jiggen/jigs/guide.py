"""Angle guide: the corner of card or ply that shows the drill direction on a skin.

It stands on the skin beside the hole, square to the edge, and the eye lines the bit up with its
upright edge. One edge serves with the guide standing forward of the hole, the other with it
standing aft; both are parallel to the drill axis, so one piece shows both.

If it were wrong, every hole drilled by it would come out beside the punched hole of the far skin.
A guide the wrong way round is as bad as a wrong guide: so the outline itself is lopsided, and its
high corner always points forward.

::

                     ______------|        high corner: FORWARD
                    |   (O)     o|        finger hole, hang hole
        D ___cut-back            |cut-back___ E
         /                                  /
        /                                  /
       /  working edge                    /   working edge
      /   (guide forward of the hole)    /    (guide aft of the hole)
     C                                  F
      ) relief                         ( relief
       A_________________|  |_________B        base: sits on the skin
                         slot for the foot
"""

from __future__ import annotations

import math

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.labels import (
    witness_band,
)
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Circle, Mark, Op
from jiggen.errors import DoesNotFit
from jiggen.jigs.corner import (
    BEAK,
    CHUCK_CLEARANCE,
    FINGER_HOLE,
    HANG_HOLE,
    TOWER_MIN,
    Corner,
    GuideSizes,
)
from jiggen.jigs.guide_lettering import (
    GuideLabels,
    bars,
    checked_edges,
    corner_letters,
    edge_labels,
    lettering,
)
from jiggen.jigs.pins import room_between
from jiggen.units import Length, Span, or_less, or_more, size, words

#: mm. With less of the base on the skin a guide no longer stands by itself.
BASE_ON_SKIN_MIN = 15.0
#: mm. Shortest edge that shows half a degree as a quarter of a millimetre.
EDGE_MIN = 30.0


def build_guide(
    name: str,
    angle: float,
    bit: float,
    sizes: GuideSizes,
    labels: GuideLabels,
    *,
    pitch: float | None = None,
    mirrored: bool = False,
    feet: tuple[float, float] | None = None,
    side: str = "",
    notes: tuple[str, ...] = (),
) -> Piece:
    """Build one angle guide.

    Args:
        name: file name of the piece.
        angle: forward guide angle in degrees: between the skin, going forward, and the drill axis.
        bit: diameter of the drill, mm.
        sizes: see `GuideSizes`.
        labels: see `GuideLabels`.
        pitch: smallest distance between neighbouring holes, mm; None where there is one hole.
        mirrored: forward is to the left (side B, seen from the same end of the span).
        feet: for a curved skin, the middles of the two feet, mm from the corner along their
            common line; the guide then has a forward edge only.
        side: ``a``, ``b`` or ``ab``.
        notes: sentences for the cover page.

    Returns:
        The piece; its base lies along x.

    Raises:
        DoesNotFit: the sizes leave no guide that could be trusted; says which and what would do.
    """
    _refuse_impossible(sizes, bit, pitch)
    corner = Corner(angle, bit, sizes, feet)
    place = Affine.mirror_x() if mirrored else Affine()
    outline = corner.outline().moved(place)
    inner = tuple(m.moved(place) for m in _holes(corner))
    angles = tuple(a.moved(place) for a in corner.check_angles())
    sized = tuple(d.moved(place) for d in corner.check_dimensions())
    bar_marks, bar_sizes, label_box = bars(corner, place)
    marks = (
        *bar_marks,
        *lettering(corner, labels, label_box, place),
        *edge_labels(corner, angles, mirrored, labels.aft_use),
        *corner_letters(corner, place),
        *(
            witness_band(edge, waste_left=left != mirrored)
            for edge, left in checked_edges(corner, angles)
        ),
    )
    return Piece(
        name=name,
        title=labels.title,
        kind="guide",
        outline=outline.reversed() if mirrored else outline,
        inner=inner,
        marks=marks,
        angles=angles,
        dimensions=(*sized, *bar_sizes),
        side=side,
        notes=notes,
        count=sizes.layers,
    )


def _refuse_impossible(sizes: GuideSizes, bit: float, pitch: float | None) -> None:
    cut_back = sizes.chuck / 2 - bit / 2 + CHUCK_CLEARANCE
    least = 2 * max(cut_back, 0.0) + TOWER_MIN
    if sizes.foot < max(least, 40.0):
        raise DoesNotFit(
            words(
                "a guide with a foot of {foot} has no top left beside a chuck of {chuck}",
                foot=size(sizes.foot),
                chuck=size(sizes.chuck),
            ),
            key="guide.foot",
            given=size(sizes.foot),
            remedy=words("{least} or more", least=or_more(math.ceil(max(least, 40.0)))),
        )
    if sizes.edge < EDGE_MIN:
        raise DoesNotFit(
            "the working edge is too short to show half a degree",
            key="guide.edge",
            given=size(sizes.edge),
            remedy=words("{edge_min} or more", edge_min=or_more(EDGE_MIN)),
        )
    if sizes.height < sizes.edge + FINGER_HOLE + BEAK:
        raise DoesNotFit(
            "the guide is not tall enough for a finger hole above its working edges",
            key="guide.height",
            given=size(sizes.height),
            remedy=words(
                "{beak} or more, or a shorter guide.edge",
                beak=or_more(sizes.edge + FINGER_HOLE + BEAK),
            ),
        )
    if not 1.0 <= sizes.relief <= min(8.0, sizes.edge / 6):
        raise DoesNotFit(
            "the relieved corner leaves no trustworthy edge, or no room for a burr",
            key="guide.relief",
            given=size(sizes.relief),
            remedy=Span(size(1.0), or_less(min(8.0, sizes.edge / 6))),
        )
    if pitch is None:
        return
    room = room_between(sizes.pin, pitch)
    thick = sizes.stock * sizes.layers
    if thick > room:
        raise DoesNotFit(
            words(
                "a guide {thick} thick does not fit between pins of {pin} at a pitch of {pitch}, "
                "which leave {room}",
                thick=size(thick),
                pin=size(sizes.pin),
                pitch=size(pitch),
                room=Length(room, 1),
            ),
            key="guide.pin",
            given=size(sizes.pin),
            remedy="drill with every other hole pinned, thinner pins, or thinner stock",
        )


def _holes(corner: Corner) -> tuple[Mark, ...]:
    """Return the finger hole and, where it fits, the hang hole."""
    forward, aft = corner.beak()
    left, right = corner.tower_left, corner.tower_right
    middle = Point(
        (left.x + right.x + aft.x + forward.x) / 4, (left.y + right.y + aft.y + forward.y) / 4
    )
    wide = right.x - left.x
    radius = min(FINGER_HOLE, wide - 8.0) / 2
    hang = Point(forward.x - 5.0 - HANG_HOLE / 2, forward.y - 5.0 - HANG_HOLE / 2)
    marks = []
    if math.dist(hang, middle) < radius + HANG_HOLE / 2 + 3.0:
        # Make room: the hand wins over the nail only where both cannot be had.
        shifted = Point(middle.x - 6.0, middle.y - 0.8)
        if wide >= FINGER_HOLE + HANG_HOLE + 18.0:
            middle = shifted
    marks.append(Mark(shape=Circle(middle, radius), op=Op.CUT))
    if math.dist(hang, middle) >= radius + HANG_HOLE / 2 + 3.0 and wide > 24.0:
        marks.append(Mark(shape=Circle(hang, HANG_HOLE / 2), op=Op.CUT))
    return tuple(marks)
