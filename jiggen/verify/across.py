"""Lengths across a cut piece: from which corners they go, and which of them fix an angle.

Nobody should have to guess which blank of the form is worth the calliper. What each length would
add is worked out on the drawing, for any piece that states check angles and check dimensions.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from jiggen.geometry.finished import ON_LINE, Reading, foreseen, real_angle
from jiggen.geometry.leastsquares import standard_from_step
from jiggen.verify.placed import PlacedAngle, PlacedLength, PlacedPiece, Point
from jiggen.verify.records import LengthReading

SNAP = 1.0
"""mm: an edge of a cut file is drawn half a kerf off the corners that a calliper reaches; its
ends are taken for those corners within this distance."""

SNAP_TURN = math.radians(0.02)
"""Taking corners for edge ends may not turn the angle by more than this."""

CALLIPER_STEP = 0.05
"""mm: what a workshop calliper is read to; with one of these the lengths are foreseen."""

UNTRUSTED = 10.0
"""mm: how far a corner may be from its drawing when it is worked out which lengths do. Looser than
a cut ever is, so that lengths that do here rest on no other that was left out."""

NEARLY_ALL = 2.0
"""Lengths that leave at most this many times the doubt of all lengths together are enough."""


def across(reading: LengthReading, drawn: PlacedLength) -> Reading:
    """Return a reading as a length between two points of the drawing.

    Args:
        reading: as measured.
        drawn: the check dimension that was measured.
    """
    return Reading(
        name=reading.name,
        start=drawn.start,
        end=drawn.end,
        measured=reading.measured,
        standard=reading.standard,
    )


def sizes_of(piece: PlacedPiece) -> dict[str, PlacedLength]:
    """Return the check dimensions of the piece itself by name, without its bars."""
    return {length.name: length for length in piece.lengths if not length.is_bar}


def still_needed(
    piece: PlacedPiece, angle: PlacedAngle, have: Collection[str] = ()
) -> tuple[str, ...] | None:
    """Return which lengths must be measured for a check angle, beside those that were.

    Args:
        piece: as drawn.
        angle: one of its check angles.
        have: names of the lengths that were measured.

    Returns:
        Names in the order of the piece, as few as do; None where even all of its lengths together
        do not fix the angle.
    """
    standard = standard_from_step(CALLIPER_STEP)
    every = [
        Reading(name=n.name, start=n.start, end=n.end, measured=n.nominal, standard=standard)
        for n in sizes_of(piece).values()
    ]
    if not every:
        return None
    base, working = on_corners(angle, every)
    best, determined = foreseen(base, working, every, UNTRUSTED)
    if not determined:
        return None
    kept = every
    for one in reversed(every):
        if one.name not in have:
            fewer = [other for other in kept if other is not one]
            doubt, enough = foreseen(base, working, fewer, UNTRUSTED)
            if enough and doubt <= NEARLY_ALL * best:
                kept = fewer
    return tuple(one.name for one in kept if one.name not in have)


def on_corners(
    angle: PlacedAngle, across: Sequence[Reading]
) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
    """Return the edges with their ends taken for the corners that are measured from.

    Args:
        angle: as drawn.
        across: lengths across the piece.

    Returns:
        Base and working edge, two points each, mm.
    """
    corners = [corner for reading in across for corner in (reading.start, reading.end)]

    def snapped(point: Point) -> Point:
        near = min(corners, key=lambda corner: math.dist(corner, point))
        return near if ON_LINE < math.dist(near, point) <= SNAP else point

    base = (snapped(angle.base[0]), snapped(angle.base[1]))
    working = (snapped(angle.working[0]), snapped(angle.working[1]))
    apart = all(math.dist(*edge) > SNAP for edge in (base, working))
    if apart and abs(real_angle(base, working, []).nominal - angle.nominal) <= SNAP_TURN:
        return base, working
    return angle.base, angle.working
