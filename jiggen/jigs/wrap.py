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
from jiggen.drawing.labels import check_edge_marks, witness_band
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Edge, Path
from jiggen.errors import DoesNotFit
from jiggen.jigs.pins import room_between
from jiggen.jigs.wrap_lettering import TAB, FaceWords, letter_faces
from jiggen.units import INCH, Length, or_less, say_size, size, words

#: mm. Width of the wooden block along x.
WIDTH = 40.0
#: mm. Depth along the span: the most that is useful, and the least that stands by itself.
DEPTH_MAX = 36.0
DEPTH_MIN = 16.0
#: The same for wood that is sawn by the inch, mm: a rule has lines for these and their depths.
WIDTH_INCH, DEPTH_MAX_INCH, DEPTH_MIN_INCH = 1.5 * INCH, 1.5 * INCH, 0.625 * INCH
#: mm. What the depth is a whole multiple of.
STEP, STEP_INCH = 1.0, INCH / 8


@dataclass(frozen=True, slots=True, kw_only=True)
class WrapSizes:
    """Sizes of the wooden block in mm.

    Attributes:
        height: length of the bore along the drill axis.
        pin: diameter of a sheet-holding pin's body.
    """

    height: float
    pin: float


def wrap_width(units: str) -> float:
    """Return the width of the wooden block along the chord, mm.

    Args:
        units: ``mm`` or ``in``: what the wood is measured in.
    """
    return WIDTH_INCH if units == "in" else WIDTH


def wrap_depth(pin: float, pitch: float | None, units: str = "mm") -> float:
    """Return how deep the wooden block may be along the span, mm.

    Args:
        pin: diameter of a sheet-holding pin's body, mm.
        pitch: smallest distance between neighbouring holes, mm, or None.
        units: ``mm`` or ``in``: it is a whole number of mm, or of eighths of an inch.

    Raises:
        DoesNotFit: a block that stands by itself does not fit between the pins.
    """
    most, least, step = (
        (DEPTH_MAX_INCH, DEPTH_MIN_INCH, STEP_INCH)
        if units == "in"
        else (DEPTH_MAX, DEPTH_MIN, STEP)
    )
    if pitch is None:
        return most
    room = room_between(pin, pitch)
    if room < least:
        # Told in inches it may be rounded up by half a thousandth.
        thin = math.floor(10 * (room_between(0.0, pitch) - least - 0.0005 * INCH)) / 10
        raise DoesNotFit(
            words(
                "pins of {pin} at a pitch of {pitch} leave {room} for a block, which tips below "
                "{least}",
                pin=size(pin),
                pitch=size(pitch),
                room=Length(room, 1),
                least=size(least),
            ),
            key="guide.pin",
            given=size(pin),
            remedy=words("pins of {thin} or thinner", thin=or_less(thin))
            if thin > 0.0
            else "the guides go between",
        )
    return step * math.floor(min(most, room) / step + 1e-9)


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
        title: what the wrap is called.
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
    depth, width = wrap_depth(sizes.pin, pitch, units), wrap_width(units)
    # Height of the base above the axis' foot, at the forward side; the aft side is the negative.
    rise = width / 2 / math.tan(math.radians(angle))
    left_rise = rise if mirrored else -rise
    folds = [0.0, width, width + depth, 2 * width + depth, 2 * (width + depth)]
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
    wood = (f"{say_size(width, units)} chordwise", f"{say_size(depth, units)} spanwise")
    words = FaceWords(
        title=title, job=job, side=side_name, holes=holes, angle=angle, drill=drill, wood=wood
    )
    marks, bars = letter_faces(folds, base, top, mirrored, words)
    return Piece(
        name=name,
        title=title,
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
                start=Point(width / 2, 0.0),
                end=Point(width / 2, top),
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
        notes=(f"hardwood, squared: {' x '.join(wood)}", *notes),
        for_cut=False,
    )
