"""The flat plates of a cradle from ribs: seat plate, fence, base plate.

Each is drawn as it lies in the cradle: the span to the right, forward up (the fence: up is up),
hole 1 at the left where side A lies down and at the right where side B does.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import pair_room
from jiggen.drawing.labels import Line, arrow, fitted_height, text_block
from jiggen.drawing.piece import CheckDimension, Piece
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path, Text
from jiggen.jigs.cradle import BEHIND, CAUTION, POST, CradleLabels, CradleSizes, bars_in, notched
from jiggen.jigs.cradle_joints import base_tabs, lap_height, seat_start, tab_on_seat, tab_slots

#: mm of base plate beyond the ribs aft, and forward, where it is clamped to the table.
BASE_AFT, LEDGE = 6.0, 24.0
#: mm. A buttress, or a fence that is cut down, stays below the trailing edge by this.
BELOW_EDGE = 1.0
#: mm. The fence's slots are deeper than half a lap by this: it stands on the base plate.
LAP_SPARE = 0.5
#: What stands at the foot and at the head of the arrow on a plate that does not lie forward.
WAY_UP = {"fence": ("BASE", "UP")}
#: mm from the end at hole 1 to the first word beside the standing bars.
BESIDE_BARS = 13.2
#: mm of height that an upright word takes.
WORD_UP = 14.0
#: mm. A room that is wider is halved: words in one half, bars in the other.
TWO_ROOMS = 56.0


def seat_plate(
    name: str, sizes: CradleSizes, labels: CradleLabels, ribs: tuple[float, ...]
) -> Piece:
    """Return the seat plate: a slot under the hole line, slots for the ribs' upper tabs.

    Args:
        name: of the piece.
        sizes: see `CradleSizes`.
        labels: see `CradleLabels`.
        ribs: middles of the ribs, mm from the end at hole 1.
    """
    t, cos, length = sizes.sheet, math.cos(sizes.seat), sizes.length
    # The pilot goes straight down, so through the plate's thickness it moves along the slope.
    drawn_out = t * math.tan(sizes.seat)
    low = seat_start(sizes) / cos
    high = sizes.depth / cos
    side = sizes.slot[1] - sizes.line
    under = Bounds(
        sizes.end - side,
        sizes.slot[0] / cos + min(drawn_out, 0.0),
        length - sizes.end + side,
        sizes.slot[1] / cos + max(drawn_out, 0.0),
    )
    start, end = tab_on_seat(sizes)
    tabs = tab_slots(sizes, ribs, ((start, end),))
    ticks = sizes.centres if sizes.pitch is not None or sizes.holes == 1 else ()
    place = _place(labels)
    marks = tuple(
        Mark(shape=Path.open([(x, under.top + 1.2), (x, under.top + 4.2)]), op=Op.SCORE).moved(
            place
        )
        for x in ticks
    )
    gaps = [
        Bounds(one.right + 2.0, under.top + 5.0, other.left - 2.0, high - 2.0)
        for one, other in pairwise(tabs)
    ]
    widest = sorted(gaps, key=lambda gap: -round(gap.width, 6))
    plate = Bounds(0.0, low, length, high)
    words, bars = _words(sizes, labels, "seat plate", plate, widest[0], widest[:2][-1])
    return _plate(
        name,
        "seat plate",
        labels,
        _outline(length, low, high, labels),
        [under, *tabs],
        {
            "length": (Point(0.0, low), Point(length, low), "along the aft edge"),
            "width": (Point(0.0, low), Point(0.0, high), "aft edge to forward edge"),
        },
        (*marks, *words),
        bars,
        (f"lay it on the ribs, tabs in its slots; {CAUTION}",),
    )


def fence_plate(
    name: str, sizes: CradleSizes, labels: CradleLabels, ribs: tuple[float, ...]
) -> Piece:
    """Return the fence: high at its two posts, low between them where the stop turns.

    Args:
        name: of the piece.
        sizes: see `CradleSizes`.
        labels: see `CradleLabels`.
        ribs: middles of the ribs, mm from the end at hole 1.
    """
    length, floor = sizes.length, sizes.height - sizes.sheet
    top = floor + sizes.fence
    low = floor + (sizes.low if sizes.low > 0.0 else -BELOW_EDGE)
    half, lap = (sizes.sheet + sizes.fit) / 2, lap_height(sizes) + LAP_SPARE
    corners: list[tuple[float, float]] = [(0.0, 0.0)]
    for x in ribs:
        corners += [(x - half, 0.0), (x - half, lap), (x + half, lap), (x + half, 0.0)]
    corners.append((length, 0.0))
    clip = labels.clip
    corners += [(length, top - clip), (length - clip, top)] if clip else [(length, top)]
    if low < top:
        corners += [
            (length - sizes.post, top),
            (length - sizes.post, low),
            (sizes.post, low),
            (sizes.post, top),
        ]
    corners += notched((0.0, top), (0.0, 0.0), labels.notches)
    clear = _halved(Bounds(BESIDE_BARS, lap + 2.0, length - sizes.post, min(low, floor) - 2.0))
    words, bars = _words(sizes, labels, "fence", Bounds(0.0, 0.0, length, floor), *clear)
    return _plate(
        name,
        "fence",
        labels,
        corners,
        [],
        {
            "length": (Point(0.0, 0.0), Point(length, 0.0), "along the foot"),
            "width": (Point(0.0, 0.0), Point(0.0, top), "foot to the top of a post"),
        },
        words,
        bars,
        ("drop it over the ribs before the seat plate; TE of the wedge against it",),
    )


def base_plate(
    name: str, sizes: CradleSizes, labels: CradleLabels, ribs: tuple[float, ...]
) -> Piece:
    """Return the base plate: slots for the ribs' lower tabs, a ledge for clamps to the table.

    Args:
        name: of the piece.
        sizes: see `CradleSizes`.
        labels: see `CradleLabels`.
        ribs: middles of the ribs, mm from the end at hole 1.
    """
    length = sizes.length
    low, high = -BEHIND - BASE_AFT, sizes.depth + LEDGE
    aft, forward = base_tabs(sizes)
    clear = _halved(Bounds(BESIDE_BARS, aft[1] + 2.0, length - POST, forward[0] - 2.0))
    words, bars = _words(sizes, labels, "base plate", Bounds(0.0, low, length, high), *clear)
    ledge = Bounds(sizes.post, sizes.depth + 3.0, length - sizes.post, high - 3.0)
    clamp = text_block(
        ledge.moved(_place(labels)),
        [
            Line(text="CLAMP TO THE TABLE", height=4.0, bold=True),
            Line(text=CAUTION, height=2.4),
        ],
        anchor=Anchor.MIDDLE,
    )
    return _plate(
        name,
        "base plate",
        labels,
        _outline(length, low, high, labels),
        tab_slots(sizes, ribs, (aft, forward)),
        {
            "length": (Point(0.0, low), Point(length, low), "along the aft edge"),
            "width": (Point(0.0, low), Point(0.0, high), "aft edge to forward edge"),
        },
        (*words, *clamp),
        bars,
        (CAUTION,),
    )


def _place(labels: CradleLabels) -> Affine:
    return Affine() if labels.mirrored else Affine.mirror_x()


def _outline(
    length: float, low: float, high: float, labels: CradleLabels
) -> list[tuple[float, float]]:
    """Return a plate's corners: notches at the end of hole 1, a clipped corner for side A."""
    corners: list[tuple[float, float]] = [(0.0, low), (length, low)]
    if labels.clip:
        corners += [(length, high - labels.clip), (length - labels.clip, high)]
    else:
        corners.append((length, high))
    return [*corners, *notched((0.0, high), (0.0, low), labels.notches)]


def _halved(box: Bounds) -> tuple[Bounds, Bounds]:
    """Return the halves of a room that is wide enough for two, or the room twice."""
    middle = (box.left + box.right) / 2
    if box.width < TWO_ROOMS:
        return box, box
    return Bounds(box.left, box.bottom, middle - 1.0, box.top), Bounds(
        middle + 1.0, box.bottom, box.right, box.top
    )


def _words(
    sizes: CradleSizes,
    labels: CradleLabels,
    what: str,
    plate: Bounds,
    named: Bounds,
    barred: Bounds,
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return bars, name block, clamp words and the arrow forward of a plate.

    Args:
        sizes: see `CradleSizes`.
        labels: see `CradleLabels`.
        what: which plate.
        plate: all of it; its two ends are clear over the width of a post.
        named: room for the name block.
        barred: room for the lying bars; above them the names, where it is the same room.
    """
    place, across = _place(labels), pair_room()
    left = Bounds(
        BESIDE_BARS - 2.0 - across, plate.bottom + 2.0, BESIDE_BARS - 2.0, plate.top - 2.0
    )
    lying = Bounds(barred.left, barred.bottom, barred.right, barred.bottom + across)
    text = replace(named, bottom=lying.top + 0.8) if named == barred else named
    bars, bar_sizes = bars_in(
        lying.moved(place),
        left.moved(place),
    )
    angle = math.degrees(sizes.seat)
    size = 2.0 if what == "fence" else 2.2
    is_fence = what == "fence"
    # Seen from behind: the wedge lies on the other side of it.
    more = ("the wedge's TE goes to its other face",) if is_fence and named != barred else ()
    called = f"{what.upper()}, aft face" if is_fence else what.upper()
    name = text_block(text.moved(place), labels.lines(called, angle, text.width, size, more))
    end = sizes.post - sizes.sheet - sizes.fit
    right = Bounds(plate.right - end + 2.0, plate.bottom + 2.0, plate.right - 2.0, plate.top - 9.0)
    pointer = _pointer(right.moved(place), *WAY_UP.get(what, ("TE", "FORWARD")))
    ends = {"seat plate": "CLAMP", "fence": "POST"}.get(what)
    # Low down: above the fence's slots its name begins.
    first = Bounds(left.right + 1.2, left.bottom, end - 1.2, left.bottom + WORD_UP).moved(place)
    half = (right.left + right.right) / 2
    last = Bounds(half + 1.8, right.bottom + 5.0, right.right, right.top - 5.0).moved(place)
    clamp = () if ends is None else (_upright(first, ends), _upright(last, ends))
    return (*bars, *name, *pointer, *clamp), bar_sizes


def _upright(box: Bounds, text: str) -> Mark:
    """Return a word that reads upward in the middle of `box`: a narrow end takes no lying one."""
    line = Line(text=text, height=min(2.8, 0.6 * box.width), bold=True)
    height = fitted_height(line, box.height)
    at = Point((box.left + box.right + height) / 2, (box.bottom + box.top) / 2)
    return Mark(
        shape=Text(at, text, height, turn=90.0, anchor=Anchor.MIDDLE, bold=True), op=Op.ENGRAVE
    )


def _pointer(box: Bounds, foot: str, head: str) -> tuple[Mark, ...]:
    """Return a word, an arrow up from it, and what it points to above, from the foot of `box`."""
    middle = (box.left + box.right) / 2
    low = text_block(
        Bounds(box.left, box.bottom, box.right, box.bottom + 4.0),
        [Line(text=foot, height=2.4, bold=True)],
        anchor=Anchor.MIDDLE,
    )
    high = text_block(
        Bounds(box.left, box.top - 4.0, box.right, box.top),
        [Line(text=head, height=2.4, bold=True)],
        anchor=Anchor.MIDDLE,
    )
    shaft = arrow((middle, box.bottom + 5.0), (middle, box.top - 5.0), head=3.0)
    return (*low, *shaft, *high)


def _plate(
    name: str,
    what: str,
    labels: CradleLabels,
    outline: list[tuple[float, float]],
    holes: list[Bounds],
    sizes: dict[str, tuple[Point, Point, str]],
    marks: tuple[Mark, ...],
    bars: tuple[CheckDimension, ...],
    notes: tuple[str, ...] = (),
) -> Piece:
    """Return a flat plate; given with hole 1 at the left, where it lies when side A is down."""
    place = _place(labels)
    path = Path.closed(outline).moved(place)
    return Piece(
        name=name,
        title=f"{labels.title} {what}",
        kind="cradle",
        outline=path if labels.mirrored else path.reversed(),
        inner=tuple(Mark(shape=_rectangle(box.moved(place)), op=Op.CUT) for box in holes),
        marks=marks,
        dimensions=(
            *(
                CheckDimension(
                    name=key,
                    nominal=math.dist(p, q),
                    start=place.point(p),
                    end=place.point(q),
                    how=how,
                )
                for key, (p, q, how) in sizes.items()
            ),
            *bars,
        ),
        side=labels.side,
        notes=notes,
    )


def _rectangle(box: Bounds) -> Path:
    return Path.closed(
        [(box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top)]
    )
