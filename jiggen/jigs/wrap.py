"""Paper wrap: the drill block's four faces, unfolded, to glue round a squared hardwood block.

Plane a piece of hardwood square to the stated width and depth, glue the wrap round it with its
top edge flush with the squared top, and saw along the base line: the base then has the skin
angle, and the axis that is drawn on two of the faces stands square to the chord plane. Bore down
the axis from the top, under a drill press, before sawing.

If the wood is not the size that the wrap was drawn for, the base line does not meet itself at the
glued corner; that is the check, and it is drawn so that it can be seen.

::

        face to hole 1     forward     face to last hole     aft
       ________________________________________________________ __
      |        :        |          |        :        |          |  |   top edge, square
      |        :        |          |        :        |          |  |   glue tab
      |        :        |          |        :        |          |  |
      |        :     __-+----------+-__     :        |          |  |
      |    __--+---"    |          |   "----+--__    |          |  |
      |--"                                        "--+----------|__|   base line, saw here
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.drawing.affine import Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import (
    Line,
    block_arrow,
    check_edge_marks,
    text_block,
    witness_band,
    wrapped,
)
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Anchor, Bounds, Edge, Mark, Op, Path
from jiggen.errors import DoesNotFit
from jiggen.jigs.pins import room_between

#: mm. Width of the wooden block along x, and of the tab that is glued over the first face.
WIDTH = 40.0
TAB = 7.0
#: mm. Depth along the span: the most that is useful, and the least that stands by itself.
DEPTH_MAX = 36.0
DEPTH_MIN = 16.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WrapSizes:
    """Sizes of the wooden block in mm.

    Attributes:
        height: length of the bore along the drill axis.
        pin: diameter of a sheet-holding pin's body.
    """

    height: float
    pin: float


def wrap_depth(pin: float, pitch: float | None) -> float:
    """Return how deep the wooden block may be along the span, whole mm.

    Args:
        pin: diameter of a sheet-holding pin's body, mm.
        pitch: smallest distance between neighbouring holes, mm, or None.

    Raises:
        DoesNotFit: a block that stands by itself does not fit between the pins.
    """
    if pitch is None:
        return DEPTH_MAX
    room = room_between(pin, pitch)
    if room < DEPTH_MIN:
        raise DoesNotFit(
            f"pins of {pin:g} mm at a pitch of {pitch:g} mm leave {room:.1f} mm for a "
            f"block, which tips below {DEPTH_MIN:g} mm",
            key="guide.pin",
            given=f"{pin:g} mm",
            remedy="pin every other hole, or use thinner pins",
        )
    return float(math.floor(min(DEPTH_MAX, room)))


def build_wrap(
    name: str,
    angle: float,
    bit: float,
    sizes: WrapSizes,
    job: str,
    side_name: str,
    holes: str,
    title: str,
    *,
    drill: str = "",
    units: str = "mm",
    pitch: float | None = None,
    mirrored: bool = False,
    side: str = "",
    notes: tuple[str, ...] = (),
) -> Piece:
    """Build the wrap for one wooden drill block.

    Args:
        name: file name of the piece.
        angle: forward guide angle in degrees: between the skin, going forward, and the drill axis.
        bit: diameter of the drill, mm.
        sizes: see `WrapSizes`.
        job: name of the job.
        side_name: name of the skin it stands on.
        holes: the holes that it serves.
        title: what the block is called.
        drill: the drill as the user calls it.
        units: ``mm`` or ``in``: what the wood's size is said in.
        pitch: smallest distance between neighbouring holes, mm, or None.
        mirrored: the first face shows forward to the left (side B).
        side: ``a``, ``b`` or ``ab``.
        notes: sentences for the cover page.

    Returns:
        The piece, for paper only; its top edge lies along x.

    Raises:
        DoesNotFit: see `wrap_depth`.
    """
    depth = wrap_depth(sizes.pin, pitch)
    # Height of the base above the axis' foot, at the forward side; the aft side is the negative.
    rise = WIDTH / 2 / math.tan(math.radians(angle))
    left_rise = rise if mirrored else -rise
    folds = [0.0, WIDTH, WIDTH + depth, 2 * WIDTH + depth, 2 * (WIDTH + depth)]
    base = [left_rise, -left_rise, -left_rise, left_rise, left_rise]
    top = sizes.height
    end = folds[-1]
    outline = Path.closed(
        [
            *((x, y) for x, y in zip(folds, base, strict=True)),
            (end + TAB, base[-1] + 2.0),
            (end + TAB, top - 2.0),
            (end, top),
            (0.0, top),
        ]
    )
    first = Edge(Point(folds[0], base[0]), Point(folds[1], base[1]))
    third = Edge(Point(folds[2], base[2]), Point(folds[3], base[3]))
    # The corner is taken at the side of the face where the angle is the forward guide angle: the
    # aft end of the face, looking forward along the base.
    aft_x = folds[1] if mirrored else folds[0]
    aft = Point(aft_x, base[1] if mirrored else base[0])
    along = Edge(aft, first.start if mirrored else first.end)
    corner = CheckAngle(
        name="forward", nominal=angle, base=along, working=Edge(aft, Point(aft_x, top))
    )
    wood = _wood(depth, units)
    words = _FaceWords(
        title=title, job=job, side=side_name, holes=holes, angle=angle, drill=drill, wood=wood
    )
    marks, bars = _faces(folds, base, top, mirrored, words)
    return Piece(
        name=name,
        title=f"{title}, paper wrap",
        kind="wrap",
        outline=outline,
        marks=(
            *marks,
            *check_edge_marks(first, inside_left=True),
            *check_edge_marks(third, inside_left=True),
            witness_band(first, waste_left=False),
            witness_band(third, waste_left=False),
        ),
        angles=(corner,),
        dimensions=(
            *(
                CheckDimension(
                    name=label,
                    nominal=x1 - x0,
                    start=Point(x0, top),
                    end=Point(x1, top),
                    how=how,
                )
                for label, x0, x1, how in (
                    ("width", folds[0], folds[1], "first face, fold to fold at the top"),
                    ("depth", folds[1], folds[2], "second face, fold to fold at the top"),
                    ("all four", folds[0], folds[4], "all four faces at the top"),
                )
            ),
            *(
                CheckDimension(
                    name=label,
                    nominal=top - y,
                    start=Point(x, y),
                    end=Point(x, top),
                    how=how,
                )
                for label, x, y, how in (
                    ("left end", folds[0], base[0], "left end of the first face, base line to top"),
                    ("first fold", folds[1], base[1], "first fold, base line to top"),
                )
            ),
            CheckDimension(
                name="axis",
                nominal=top,
                start=Point(WIDTH / 2, 0.0),
                end=Point(WIDTH / 2, top),
                how="along the axis, base line to top",
            ),
            # With the fold at the corner these two make a triangle, which fixes the angle.
            *(
                CheckDimension(
                    name=label, nominal=math.dist(a, along.end), start=a, end=along.end, how=how
                )
                for label, a, how in (
                    ("base line", aft, "first face, along the sloping base line, fold to fold"),
                    (
                        "diagonal",
                        Point(aft_x, top),
                        f"first face, top of the {'first fold' if mirrored else 'left end'} to the "
                        "far end of the base line",
                    ),
                )
            ),
            *bars,
        ),
        side=side,
        notes=(f"hardwood block {wood}, squared", *notes),
        for_cut=False,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _FaceWords:
    title: str
    job: str
    side: str
    holes: str
    angle: float
    drill: str
    wood: str


def _wood(depth: float, units: str) -> str:
    """Return the size of the wood, as a person would plane it."""
    if units == "in":
        return f"{WIDTH / 25.4:.3f} x {depth / 25.4:.3f} in"
    return f"{WIDTH:g} x {depth:g} mm"


def _faces(
    folds: list[float], base: list[float], top: float, mirrored: bool, words: _FaceWords
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return folds, axes, words, arrows and bars of the four faces."""
    marks: list[Mark] = [
        Mark(shape=Path.open([(x, y + 0.6), (x, top - 0.6)]), op=Op.SCORE, dashed=True)
        for x, y in zip(folds[1:], base[1:], strict=True)
    ]
    for x in (WIDTH / 2, folds[2] + WIDTH / 2):
        marks.append(Mark(shape=Path.open([(x, 0.6), (x, top - 0.6)]), op=Op.SCORE, line=0.25))
    high = max(base) + 2.6
    across = pair_room()
    dimensions: list[CheckDimension] = []
    for face, forward_right in ((0, not mirrored), (2, mirrored)):
        x0, middle, x1 = folds[face], folds[face] + WIDTH / 2, folds[face] + WIDTH
        marks += text_block(
            Bounds(x0 + 1.8, high + 9.4, middle - 1.2, top - 1.0),
            [
                Line(text=words.title, height=2.6, bold=True),
                Line(text=f"{words.angle:.2f}°", height=2.6, bold=True),
                *wrapped(words.side, 2.0, WIDTH / 2 - 3.0),
                *wrapped(words.holes, 2.0, WIDTH / 2 - 3.0),
            ],
        )
        marks += text_block(
            Bounds(middle + 1.2, high + 9.4, x1 - 1.8, top - 1.0),
            [
                *wrapped(words.job, 2.0, WIDTH / 2 - 3.0, most=3),
                *wrapped(f"bore {words.drill}", 1.8, WIDTH / 2 - 3.0),
                Line(text="then saw", height=1.8),
            ],
        )
        marks += _named(Bounds(x0 + 1.8, high, middle - 1.2, high + 8.6), forward_right, left=True)
        marks += _named(Bounds(middle + 1.2, high, x1 - 1.8, high + 8.6), forward_right, left=False)
    for face, name in (
        (1, "aft" if mirrored else "forward"),
        (3, "forward" if mirrored else "aft"),
    ):
        x0, x1 = folds[face], folds[face + 1]
        marks += text_block(
            Bounds(x0 + 1.6, top - 13.0, x1 - 1.6, top - 1.0),
            [
                Line(text=f"{name} face", height=2.4, bold=True),
                Line(text=f"wood {words.wood}", height=1.8),
                Line(text="sawn end on the skin", height=1.8),
            ],
            anchor=Anchor.MIDDLE,
        )
    face_width = folds[2] - folds[1]
    x0 = folds[1]
    lying, lying_sizes = bar_pair(Bounds(x0 + 1.6, high, x0 + face_width - 1.6, high + across))
    x0 = folds[3] + (face_width - across) / 2
    standing, standing_sizes = bar_pair(Bounds(x0, high, x0 + across, top - 13.4), along_y=True)
    marks += (*lying, *standing)
    dimensions += (*lying_sizes, *standing_sizes)
    return tuple(marks), tuple(dimensions)


def _named(box: Bounds, forward_right: bool, *, left: bool) -> tuple[Mark, ...]:
    """Return FORWARD or TE above an arrow: whichever lies on that half of the face."""
    is_forward = left != forward_right
    points_right = not left
    words = text_block(
        Bounds(box.left, box.top - 3.4, box.right, box.top),
        [Line(text="FORWARD" if is_forward else "TE", height=2.0)],
        anchor=Anchor.MIDDLE,
    )
    wide = min(10.0, box.width)
    middle = (box.left + box.right) / 2
    return (
        *words,
        *block_arrow(
            Bounds(middle - wide / 2, box.bottom + 1.0, middle + wide / 2, box.bottom + 4.6),
            points_right=points_right,
        ),
    )
