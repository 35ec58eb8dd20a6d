"""The cradle from ribs: upright ribs on a base plate, a seat plate on them, a fence across them.

The ribs' upper edges are cut to the seat angle; the seat plate lies on them, so its upper face has
the same angle and lies one sheet higher, square to the slope. Tabs hold ribs to base and seat;
they are a little shorter than the sheet is thick, since a tab that stands proud would lift the
wedge or rock the base. Rib and fence are lapped: the slot of each takes half the height.

If a rib were cut wrong it would be believed, for the seat plate bends to it: so each rib has its
own check edges. No rib stands under a hole.

::

                tab
       ______  D ___n__
      |      ||         C     D-C  seat edge: the seat plate lies on it
      |      ||         |     slot: takes the fence, whose forward side is at D
      A__n_______n______B     A-B  base edge: stands on the base plate
"""

from __future__ import annotations

import math
from itertools import pairwise

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import pair_room
from jiggen.drawing.labels import check_edge_marks, text_block, witness_band
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Bounds, Edge, Mark, Path
from jiggen.errors import DoesNotFit
from jiggen.jigs.cradle import (
    BEHIND,
    SLOT_SIDE,
    CradleLabels,
    CradleSizes,
    bars_in,
    corner_sizes,
    letter,
    notched,
    refuse_impossible,
)
from jiggen.jigs.cradle_joints import TAB_SHORT, base_tabs, lap_height, seat_start, tab_on_seat
from jiggen.jigs.cradle_plates import BELOW_EDGE, base_plate, fence_plate, seat_plate
from jiggen.jigs.guide_lettering import named_arrow
from jiggen.units import size, words

#: mm of clear seat. Ribs further apart let a thin seat plate sag under the countersink; common
#: practice, no published source.
RIBS_APART = 60.0
#: mm. Least height of a rib's front, without the two plates: room for a clamp and for lettering.
FRONT_LEAST = 35.0
#: mm. Sheet that is thinner bends, and thicker has no room for its slots.
SHEET_LEAST, SHEET_MOST = 1.5, 8.0


def build_ribs(name: str, sizes: CradleSizes, labels: CradleLabels) -> tuple[Piece, ...]:
    """Build the pieces of a cradle from ribs.

    Args:
        name: stem of the pieces' names.
        sizes: see `CradleSizes`.
        labels: see `CradleLabels`.

    Returns:
        Rib (with its count), seat plate, fence and base plate.

    Raises:
        DoesNotFit: the sheet, the height or the holes leave no such cradle.
    """
    _refuse_sheet(sizes)
    refuse_impossible(sizes, FRONT_LEAST + 2 * sizes.sheet, seat_start(sizes))
    places = rib_places(sizes)
    return (
        _rib(f"{name}-rib", sizes, labels, len(places)),
        seat_plate(f"{name}-seat", sizes, labels, places),
        fence_plate(f"{name}-fence", sizes, labels, places),
        base_plate(f"{name}-base", sizes, labels, places),
    )


def rib_places(sizes: CradleSizes) -> tuple[float, ...]:
    """Return the middles of the ribs, mm from the cradle's end at hole 1.

    Two stand just beyond the stop's reach, the others midway between holes.

    Args:
        sizes: see `CradleSizes`.

    Raises:
        DoesNotFit: holes too close, or unevenly spaced, for ribs between them.
    """
    half = sizes.sheet / 2
    first, last = sizes.post - half, sizes.length - sizes.post + half
    between = math.ceil((last - first - sizes.sheet) / RIBS_APART) - 1
    if between < 1 or sizes.holes < 2:
        return first, last
    room = (sizes.pitch or 0.0) / 2 - half - sizes.drill / 2
    if room < SLOT_SIDE:
        uneven = sizes.pitch is None
        raise DoesNotFit(
            "a rib would stand under a hole"
            + (", since the holes are not evenly spaced" if uneven else ""),
            key="cradle.build",
            given='"ribs"',
            remedy='build = "layers", or fewer cradle.holes',
        )
    centres = sizes.centres
    gaps = [(a + b) / 2 for a, b in pairwise(centres)]
    wanted = [first + (last - first) * k / (between + 1) for k in range(1, between + 1)]
    inner = sorted({min(gaps, key=lambda gap: abs(gap - place)) for place in wanted})
    return first, *inner, last


def _refuse_sheet(sizes: CradleSizes) -> None:
    if not SHEET_LEAST <= sizes.sheet <= SHEET_MOST:
        raise DoesNotFit(
            f"ribs of {sizes.sheet:g} mm sheet "
            + ("bend" if sizes.sheet < SHEET_LEAST else "leave no room for their slots"),
            key="cut.sheet",
            given=size(sizes.sheet),
            remedy=words(
                '{sheet_least} to {sheet_most}, or cradle.build = "layers"',
                sheet_least=size(SHEET_LEAST),
                sheet_most=size(SHEET_MOST),
            ),
        )


def _upper(sizes: CradleSizes, x: float) -> float:
    """Return the height of a rib's seat edge above its base edge, mm."""
    return sizes.above(x) - sizes.sheet / math.cos(sizes.seat) - sizes.sheet


def _rib(name: str, sizes: CradleSizes, labels: CradleLabels, count: int) -> Piece:
    """Return the rib; its base edge lies along x, forward to the right before mirroring."""
    corners = {
        "A": Point(-BEHIND, 0.0),
        "B": Point(sizes.depth, 0.0),
        "C": Point(sizes.depth, _upper(sizes, sizes.depth)),
        "D": Point(0.0, _upper(sizes, 0.0)),
    }
    outline = _rib_outline(sizes, labels, corners)
    mirrored = labels.mirrored
    place = Affine.mirror_x() if mirrored else Affine()
    seat = CheckAngle(
        name="seat",
        nominal=abs(math.degrees(sizes.seat)),
        base=Edge(corners["A"], corners["B"]),
        working=Edge(corners["D"], corners["C"]),
    ).moved(place)
    marks, bars = _rib_marks(sizes, labels, count, place)
    return Piece(
        name=name,
        title=f"{labels.title} rib",
        kind="cradle",
        outline=outline.moved(place).reversed() if mirrored else outline,
        marks=(
            *marks,
            *check_edge_marks(seat.base, inside_left=not mirrored, at=(0.35, 0.7)),
            *check_edge_marks(seat.working, inside_left=mirrored, at=(0.12, 0.6)),
            *(letter(place.point(at), text) for text, at in _letters(sizes)),
            *(
                witness_band(edge.moved(place), waste_left=left != mirrored)
                for edge, left in _clear_runs(sizes, corners)
            ),
        ),
        angles=(seat,),
        dimensions=(*(d.moved(place) for d in corner_sizes(corners)), *bars),
        count=count,
        side=labels.side,
        notes=("glue the ribs upright: a square against each, on base and fence",),
    )


def _rib_outline(sizes: CradleSizes, labels: CradleLabels, corners: dict[str, Point]) -> Path:
    """Return the rib's outline counter-clockwise from A, before mirroring."""
    top, slot = sizes.height - sizes.sheet - BELOW_EDGE, -(sizes.sheet + sizes.fit)
    lap, short = lap_height(sizes), sizes.sheet - TAB_SHORT
    low: list[tuple[float, float]] = []
    for start, end in base_tabs(sizes):
        low += [(start, 0.0), (start, -short), (end, -short), (end, 0.0)]
    aft = [Point(-BEHIND + labels.clip, top), Point(-BEHIND, top - labels.clip)]
    return Path.closed(
        [
            corners["A"],
            *low,
            *notched(corners["B"], corners["C"], labels.notches),
            corners["C"],
            *_upper_tab(sizes, short),
            corners["D"],
            (0.0, lap),
            (slot, lap),
            (slot, top),
            *(aft if labels.clip else aft[:1]),
        ]
    )


def _upper_tab(sizes: CradleSizes, short: float) -> tuple[Point, ...]:
    """Return the corners of the rib's upper tab from front to aft, square to the slope."""
    sin, cos, t = math.sin(sizes.seat), math.cos(sizes.seat), sizes.sheet
    start, end = tab_on_seat(sizes)

    def at(along: float, out: float) -> Point:
        off = out - t
        return Point(along * cos + off * sin, sizes.height - t - along * sin + off * cos)

    return at(end, 0.0), at(end, short), at(start, short), at(start, 0.0)


def _clear_runs(sizes: CradleSizes, corners: dict[str, Point]) -> tuple[tuple[Edge, bool], ...]:
    """Return the longest clear run of each check edge, and whether its waste is to the left."""
    (_, first), (second, _) = base_tabs(sizes)
    foot = _upper_tab(sizes, 0.0)[3]
    return (
        (Edge(corners["D"], foot), True),
        (Edge(Point(first, 0.0), Point(second, 0.0)), False),
    )


def _letters(sizes: CradleSizes) -> tuple[tuple[str, tuple[float, float]], ...]:
    return (
        ("A", (-BEHIND + 2.4, 2.2)),
        ("B", (sizes.depth - 2.4, 2.2)),
        ("C", (sizes.depth - 2.4, _upper(sizes, sizes.depth) - 2.6)),
        ("D", (2.0, _upper(sizes, 2.0) - 2.6)),
    )


def _rib_marks(
    sizes: CradleSizes, labels: CradleLabels, count: int, place: Affine
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return bars, words and arrows of a rib."""
    across, front = pair_room(), sizes.depth
    row = 4.2 + across
    top = min(_upper(sizes, 0.0), _upper(sizes, front)) - 4.4
    standing = Bounds(
        -BEHIND + 1.8, row + 0.6, -BEHIND + 1.8 + across, sizes.height - sizes.sheet - 3.0 - 7.0
    )
    bars, bar_sizes = bars_in(
        Bounds(-BEHIND + 5.0, 3.4, front - 5.0, 3.4 + across).moved(place), standing.moved(place)
    )
    text = Bounds(2.4, row + 6.2, front - 5.6, top)
    forward = place.a > 0
    arrows = (
        *named_arrow(
            Bounds(standing.right + 1.0, row + 1.2, -0.8, row + 5.2).moved(place),
            "TE",
            2.4,
            points_right=not forward,
        ),
        *named_arrow(
            Bounds(2.4, row + 1.2, front - 5.6, row + 5.2).moved(place),
            "FORWARD",
            2.4,
            points_right=forward,
        ),
    )
    angle = math.degrees(sizes.seat)
    lines = labels.lines(f"RIB, cut {count}", angle, text.width, 2.0)
    return (*bars, *arrows, *text_block(text.moved(place), lines)), bar_sizes
