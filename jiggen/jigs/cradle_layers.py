"""The cradle from layers: profiles cut from sheet, side by side on two dowels, as long as needed.

Every layer has base, seat and fence in one piece, so nothing has to be squared up, and a wrong
angle shows on the first layer. Two kinds differ in the fence alone: the posts at the two ends,
and the layers between, where the countersink's stop turns. The channel under the hole line is
open at both ends: swarf is raked out. A clamp's jaw goes into the window from the end.

::

            F  fence
           | |
         _/  |_D__|  |________     D-C  seat
        |         |__|        C    channel under the hole line
        | o        ________   |
     ___|         |_window_| o|___ ledge, for clamps to the table
    A_____________________________B
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import pair_room
from jiggen.drawing.labels import check_edge_marks, text_block, witness_band
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Bounds, Circle, Edge, Mark, Op, Path
from jiggen.jigs.cradle import (
    BEHIND,
    CAUTION,
    CradleLabels,
    CradleSizes,
    bars_in,
    corner_sizes,
    letter,
    notched,
    refuse_impossible,
)
from jiggen.jigs.guide_lettering import named_arrow
from jiggen.jigs.profile import LEDGE_HEIGHT, LEDGE_LENGTH

#: mm. Depth of the channel below the seat: what a pilot or a bit sticks out of the wedge.
CHANNEL = 10.0
#: mm. Width and depth of the relief at the foot of the fence: a burr must not lift the edge.
RELIEF, RELIEF_DEEP = 1.2, 1.0
#: mm. Thickness of the fence at its top, and how far its back slopes down to the body.
FENCE_THICK, BACK_BELOW = 8.0, 12.0
#: mm. Where there is no fence the body stays this much below the trailing edge.
BELOW_EDGE = 2.0
#: mm. Height of the window, and material round it.
WINDOW, WALL = 12.0, 6.0
#: mm. Room under the window for bars and lettering.
LETTERED = 25.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layers:
    """How many layers of each kind a cradle takes.

    Attributes:
        posts: at each end.
        between: between the posts.
    """

    posts: int
    between: int

    @property
    def all(self) -> int:
        """Return the number of layers."""
        return 2 * self.posts + self.between


def count_layers(sizes: CradleSizes) -> Layers:
    """Return how many layers make up the length, never less than is needed between the posts.

    Args:
        sizes: see `CradleSizes`.
    """
    between = math.ceil((sizes.length - 2 * sizes.post) / sizes.sheet - 1e-9)
    return Layers(posts=math.ceil(sizes.post / sizes.sheet - 1e-9), between=between)


def build_layers(name: str, sizes: CradleSizes, labels: CradleLabels) -> tuple[Piece, ...]:
    """Build the layers of a cradle.

    Args:
        name: stem of the pieces' names.
        sizes: see `CradleSizes`.
        labels: see `CradleLabels`.

    Returns:
        The layer with its count; where the fence is cut down between the posts, first the layer
        of the posts, then that between them.

    Raises:
        DoesNotFit: the seat is too steep or too low.
    """
    drop = sizes.height - sizes.above(sizes.depth - WALL)
    refuse_impossible(sizes, WALL + WINDOW + LETTERED + min(drop, 0.0), RELIEF)
    layers = count_layers(sizes)
    if sizes.low >= sizes.fence:
        return (_layer(f"{name}-layer", "layer", sizes, labels, sizes.fence, layers.all),)
    low = sizes.low if sizes.low > 0.0 else -BELOW_EDGE
    return (
        _layer(f"{name}-post", "post layer", sizes, labels, sizes.fence, 2 * layers.posts),
        _layer(f"{name}-layer", "layer", sizes, labels, low, layers.between),
    )


def _layer(
    name: str, what: str, sizes: CradleSizes, labels: CradleLabels, fence: float, count: int
) -> Piece:
    """Return one profile; its base lies along x, forward to the right before mirroring."""
    front = sizes.depth
    corners = {
        "A": Point(-BEHIND - LEDGE_LENGTH, 0.0),
        "B": Point(front + LEDGE_LENGTH, 0.0),
        "C": Point(front, sizes.above(front)),
        "D": Point(RELIEF, sizes.above(RELIEF)),
    }
    outline = Path.closed(_corners(sizes, labels, corners, fence))
    mirrored = labels.mirrored
    place = Affine.mirror_x() if mirrored else Affine()
    seat = CheckAngle(
        name="seat",
        nominal=abs(math.degrees(sizes.seat)),
        base=Edge(corners["A"], corners["B"]),
        working=Edge(corners["D"], corners["C"]),
    ).moved(place)
    marks, bars = _layer_marks(what, sizes, labels, count, place)
    near, far = sizes.slot[1] / front, 0.9
    clear = Edge(Point(sizes.slot[1], sizes.above(sizes.slot[1])), corners["C"]).moved(place)
    return Piece(
        name=name,
        title=f"{labels.title} {what}",
        kind="cradle",
        outline=outline.moved(place).reversed() if mirrored else outline,
        inner=tuple(Mark(shape=s, op=Op.CUT).moved(place) for s in _holes(sizes)),
        marks=(
            *marks,
            *check_edge_marks(seat.base, inside_left=not mirrored, at=(0.3, 0.7)),
            *check_edge_marks(seat.working, inside_left=mirrored, at=(near + 0.1, far)),
            *(letter(place.point(at), text) for text, at in _letters(sizes)),
            witness_band(clear, waste_left=not mirrored),
            witness_band(seat.base, waste_left=mirrored),
        ),
        angles=(seat,),
        dimensions=(*(d.moved(place) for d in corner_sizes(corners)), *bars),
        count=count,
        side=labels.side,
        notes=(f"{count} of them, glued face to face on two dowels, base on a flat; {CAUTION}",),
        for_print=False,
    )


def _corners(
    sizes: CradleSizes, labels: CradleLabels, named: dict[str, Point], fence: float
) -> list[tuple[float, float]]:
    """Return the profile's corners counter-clockwise from A."""
    front, ledge = sizes.depth, LEDGE_HEIGHT
    aft, forward = sizes.slot
    floor = min(sizes.above(aft), sizes.above(forward)) - CHANNEL
    relief = named["D"].y - RELIEF_DEEP
    end = -BEHIND - LEDGE_LENGTH
    clip = labels.clip
    return [
        named["A"],
        named["B"],
        (front + LEDGE_LENGTH, ledge),
        *notched((front, ledge), named["C"], labels.notches),
        named["C"],
        (forward, sizes.above(forward)),
        (forward, floor),
        (aft, floor),
        (aft, sizes.above(aft)),
        named["D"],
        (RELIEF, relief),
        (0.0, relief),
        (0.0, sizes.height + fence),
        (-FENCE_THICK, sizes.height + fence),
        (-BEHIND, sizes.height - BACK_BELOW),
        (-BEHIND, ledge),
        *([(end + clip, ledge), (end, ledge - clip)] if clip else [(end, ledge)]),
    ]


def _holes(sizes: CradleSizes) -> tuple[Path | Circle, ...]:
    """Return two dowel holes and the window for a clamp's jaw."""
    radius = sizes.dowel / 2
    left, right, low = _window(sizes)
    high = low + WINDOW
    return (
        Circle(Point(-BEHIND + WALL + radius, sizes.height - BACK_BELOW - WALL - radius), radius),
        Circle(Point(sizes.depth - WALL - radius, LEDGE_HEIGHT + WALL), radius),
        Path.closed([(left, low), (right, low), (right, high), (left, high)]),
    )


def _window(sizes: CradleSizes) -> tuple[float, float, float]:
    """Return left, right and foot of the window, mm."""
    left, right = sizes.slot[1] + WALL, sizes.depth - WALL
    return left, right, min(sizes.above(left), sizes.above(right)) - WALL - WINDOW


def _letters(sizes: CradleSizes) -> tuple[tuple[str, tuple[float, float]], ...]:
    return (
        ("A", (-BEHIND - LEDGE_LENGTH + 2.6, 2.4)),
        ("B", (sizes.depth + LEDGE_LENGTH - 2.6, 2.4)),
        ("C", (sizes.depth - 2.2, sizes.above(sizes.depth) - 4.2)),
        ("D", (-2.6, sizes.height - 4.6)),
    )


def _layer_marks(
    what: str, sizes: CradleSizes, labels: CradleLabels, count: int, place: Affine
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return bars, words and arrows of a layer."""
    across, front, row = pair_room(), sizes.depth, 3.2
    column = -BEHIND + 2 * WALL + sizes.dowel - 1.0
    high = row + across + 0.8
    bars, bar_sizes = bars_in(
        Bounds(-BEHIND + 1.0, row, front - 15.0, row + across).moved(place),
        Bounds(column, high, column + across, sizes.height - BACK_BELOW - 1.0).moved(place),
    )
    text = Bounds(
        column + across + 1.2, high, front - 2 * WALL - sizes.dowel + 3.0, _window(sizes)[2] - 1.0
    )
    forward = place.a > 0
    arrows = (
        *named_arrow(
            Bounds(-BEHIND - LEDGE_LENGTH + 2.4, 5.0, -BEHIND, 9.4).moved(place),
            "TE",
            2.4,
            points_right=not forward,
        ),
        *named_arrow(
            Bounds(front - 13.0, 5.0, front + LEDGE_LENGTH - 2.0, 9.4).moved(place),
            "FORWARD",
            2.4,
            points_right=forward,
        ),
    )
    angle = math.degrees(sizes.seat)
    lines = labels.lines(
        f"{what.upper()}, cut {count}", angle, text.width, 2.0, ("clamp the work",)
    )
    return (*bars, *arrows, *text_block(text.moved(place), lines)), bar_sizes
