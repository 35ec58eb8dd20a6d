"""Hole strip: the edge at true size, to lay on the part with its lower edge on the trailing edge.

It shows where each hole is, when it is drilled, from which side its pin goes in, which holes are
left alone, where the stock's lightening holes and the trim lines lie, and which guide serves. If it
were short by one part in a thousand, the last hole of a long edge would be a hole's width off: so
every place on it is counted from the zero end, a tile's crosses say where along the edge they
stand, and each can be set to a tape measure by itself.

One corner is cut off: that corner points forward at the end toward hole 1. It goes where a tile is
cut for its join, so an arrow further in says the same.

::

      hand = 1                    forward
       ______________________________________________________
      /  +  Strip 2 of 8 ...                              +   |   W
     |   :  17        18        19        20        21    :   |
     |   :                                                :   |
     |___+__.____+____.____+____.____+____.____+____.___ _+___|   0: on the TE
        J1                                                J2
"""

from __future__ import annotations

from jiggen.drawing.affine import Point
from jiggen.drawing.labels import check_edge_marks, witness_band
from jiggen.drawing.piece import CheckDimension, Piece
from jiggen.drawing.shapes import Edge, Path
from jiggen.jigs.strip_frame import LOWER, UPPER_IN, Frame
from jiggen.jigs.strip_joins import join_marks
from jiggen.jigs.strip_lettering import hole_range, title_marks
from jiggen.jigs.strip_marks import work_marks
from jiggen.jigs.strip_plan import StripPlan
from jiggen.jigs.tiling import Tile

KIND = "strip"
#: mm. The corner that is cut off.
CORNER = 5.0
#: mm. Error of a tile's crosses beyond which a hole no longer stays inside the punched hole's edge.
LENGTH_ERROR = 0.25


def cross_to_cross(piece: Piece) -> float:
    """Return what a strip or a tile measures from its first cross to its last, mm.

    Args:
        piece: of `build_strip`.
    """
    return piece.dimensions[0].nominal


def build_strip(
    name: str, title: str, plan: StripPlan, tile: Tile, *, whole: bool = False
) -> Piece:
    """Build one tile of a hole strip, or the strip in one length.

    Args:
        name: file name of the piece.
        title: what it is called.
        plan: what the strip shows.
        tile: which part of it.
        whole: the strip in one length, for a roll and for cutting; its crosses are its bars.

    Returns:
        The piece, its lower edge along x at y = 0; x counts along the edge from the tile's end
        toward hole 1, to the left where ``plan.hand`` is -1.

    Raises:
        DoesNotFit: see `StripPlan.refuse_narrow`.
    """
    plan.refuse_narrow()
    frame = Frame(plan=plan, tile=tile)
    outline = _outline(frame)
    te = Edge(Point(frame.left, 0.0), Point(frame.right, 0.0))
    numbers = [hole.number for hole in frame.shown]
    bars, bar_sizes = title_marks(frame, title, numbers, whole=whole)
    return Piece(
        name=name,
        title=title,
        kind=KIND,
        outline=outline,
        marks=(
            *work_marks(frame),
            *join_marks(frame),
            *bars,
            *check_edge_marks(te, inside_left=True, at=(0.25, 0.75)),
            witness_band(te, waste_left=False),
        ),
        dimensions=(*_sizes(frame, whole=whole), *bar_sizes),
        side=plan.side,
        notes=(
            hole_range(numbers),
            "lower edge on the trailing edge, cut corner and arrow toward hole 1",
        ),
        allowed_length=LENGTH_ERROR,
        for_print=not whole,
        for_cut=whole,
        on_bed=False,
    )


def _outline(frame: Frame) -> Path:
    """Return the tile's outline, the forward corner toward hole 1 cut off."""
    left, right, top = frame.left, frame.right, frame.plan.width
    corners = [(left, 0.0), (right, 0.0)]
    if frame.plan.hand > 0:
        corners += [(right, top), (left + CORNER, top), (left, top - CORNER)]
    else:
        corners += [(right, top - CORNER), (right - CORNER, top), (left, top)]
    return Path.closed(corners)


def _sizes(frame: Frame, *, whole: bool) -> tuple[CheckDimension, ...]:
    """Return the lengths between the registration crosses.

    On the strip in one length they are its bars: nothing on it shows a wrong scale as well.
    """
    near, far = (frame.x(at) for at in frame.tile.crosses)
    high = frame.plan.width - UPPER_IN
    inch = "-in" if frame.plan.units == "in" else ""
    along, up = (f"bar-x-crosses{inch}", f"bar-y-crosses{inch}") if whole else ("crosses", "across")
    rows = (
        (along, (near, LOWER), (far, LOWER), "lower cross to lower cross, along the TE"),
        ("crosses-up", (near, high), (far, high), "upper cross to upper cross, along the edge"),
        (up, (near, LOWER), (near, high), "lower to upper cross, at the end toward hole 1"),
        ("diagonal", (near, LOWER), (far, high), "lower cross toward hole 1 to the far upper one"),
    )
    return tuple(
        CheckDimension(
            name=name,
            nominal=Edge(Point(*start), Point(*end)).length,
            start=Point(*start),
            end=Point(*end),
            how=how,
            is_bar=whole,
        )
        for name, start, end, how in rows
    )
