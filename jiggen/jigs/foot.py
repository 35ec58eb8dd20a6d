"""The foot that slides across any straight guide and keeps it from tipping.

Guide and foot are lapped: the slot of each stops where the other's begins.
"""

from __future__ import annotations

from jiggen.drawing.affine import Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import (
    Line,
    text_block,
    wrapped,
)
from jiggen.drawing.piece import CheckDimension, Piece
from jiggen.drawing.shapes import Bounds, Path
from jiggen.errors import DoesNotFit
from jiggen.jigs.corner import LAP, LAP_FIT, GuideSizes
from jiggen.jigs.pins import PIN_CLEARANCE, room_between
from jiggen.units import Length, or_more, say_size, size, words

#: mm. Widest and narrowest foot; below it the guide tips.
FOOT_WIDTH = 60.0
FOOT_WIDTH_MIN = 24.0
FOOT_HEIGHT = 30.0


def build_foot(
    name: str,
    bit: float,
    sizes: GuideSizes,
    job: str,
    *,
    units: str = "mm",
    pitch: float | None = None,
) -> Piece:
    """Build the foot that slides across any straight guide and keeps it from tipping.

    It stands clear of the pinned row and bridges it where the guide is long enough; else it is
    made narrow enough to stand between two pins.

    Args:
        name: file name of the piece.
        bit: diameter of the drill, mm.
        sizes: those of the guides.
        job: name of the job.
        units: ``mm`` or ``in``: what the slots' width is said in.
        pitch: smallest distance between neighbouring holes, mm, or None.

    Returns:
        The piece; its base lies along x.

    Raises:
        DoesNotFit: no foot wide enough to be of use fits between the pins.
    """
    width = foot_width(bit, sizes, pitch)
    half, height = width / 2, FOOT_HEIGHT
    slot = (sizes.stock * sizes.layers + LAP_FIT) / 2
    right = half - 3 - pair_room()
    outline = Path.closed(
        [
            (-half, 0),
            (half, 0),
            (half, height),
            (slot, height),
            (slot, LAP),
            (-slot, LAP),
            (-slot, height),
            (-half, height),
        ]
    )
    lying, lying_sizes = bar_pair(Bounds(-half + 2, 1.6, half - 10.5, LAP - 1.5))
    standing, standing_sizes = bar_pair(
        Bounds(half - 2 - pair_room(), 1.6, half - 2, height - 1.6), along_y=True
    )
    words = (
        *text_block(
            Bounds(-half + 2, LAP + 1, -slot - 1.5, height - 1.2),
            [
                Line(text="FOOT", height=3.5, bold=True),
                Line(text="fits every guide", height=2.2),
                Line(text=f"slots for {say_size(sizes.stock * sizes.layers, units)}", height=2.0),
            ],
        ),
        *text_block(
            Bounds(slot + 1.5, LAP + 1, right, height - 1.2),
            [*wrapped(job, 2.3, right - slot - 1.5, most=4)],
        ),
    )
    return Piece(
        name=name,
        title="Foot",
        kind="foot",
        outline=outline,
        marks=(*lying, *standing, *words),
        dimensions=(
            CheckDimension(
                name="width",
                nominal=width,
                start=Point(-half, 0),
                end=Point(half, 0),
                how="over the two ends",
            ),
            CheckDimension(
                name="height",
                nominal=height,
                start=Point(-half, 0),
                end=Point(-half, height),
                how="base to top",
            ),
            *lying_sizes,
            *standing_sizes,
        ),
        side="ab",
        count=sizes.layers,
        notes=("slides into the slot in the base of every guide, square to it",),
    )


def foot_width(bit: float, sizes: GuideSizes, pitch: float | None) -> float:
    """Return how wide the foot may be in mm.

    Args:
        bit: diameter of the drill, mm.
        sizes: those of the guides.
        pitch: smallest distance between neighbouring holes, mm, or None.

    Raises:
        DoesNotFit: less than `FOOT_WIDTH_MIN` is left between the pins.
    """
    from_row = sizes.foot / 2 + bit / 2 - sizes.stock / 2
    if pitch is None or from_row >= sizes.pin / 2 + PIN_CLEARANCE:
        return FOOT_WIDTH
    width = min(FOOT_WIDTH, room_between(sizes.pin, pitch))
    if width < FOOT_WIDTH_MIN:
        raise DoesNotFit(
            words(
                "the foot would be {width} wide between pins of {pin} at a pitch of {pitch}, and "
                "tips below {foot_width_min}",
                width=Length(width, 1),
                pin=size(sizes.pin),
                pitch=size(pitch),
                foot_width_min=size(FOOT_WIDTH_MIN),
            ),
            key="guide.foot",
            given=size(sizes.foot),
            remedy=words(
                "a guide.foot of {stock} or more stands clear of the pins",
                stock=or_more(sizes.pin + 2 * PIN_CLEARANCE + sizes.stock),
            ),
        )
    return width
