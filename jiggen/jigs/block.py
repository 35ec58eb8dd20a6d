"""Drill block: a lamination of sheet profiles that carries the bit along the drill axis.

The block stands on the skin over the punched hole. Its base is cut to the skin angle, its sides
are parallel to the drill axis and its top is square to it, so that it can be checked, clamped and
stood on its head. The bore is a channel: the middle layers are split, and the gap between their
two halves holds the bushing, or the bit itself.

If the channel were wide, the bit would lean in it by as much as the channel is wider than it,
over its length; that tilt is computed here and judged by whoever knows what is allowed.

::

          side view (all layers)              along the span (looking aft)
        _______________                        solid, nest | channel | nest, solid
       |   |  :  |     |                          ____________________
       |   |  :  |     |     top, square         |    |   |   |   |   |
       | o |  :  |  o  |     to the axis         |    |   | o |   |   |
       |   |  :  |     |______                   |    |   | o |   |   |
       | o |  :  |  o       o |   clamp flat     |    |   | o |   |   |
       |___|__v__|____________|                  |____|___|_._|___|___|
         base on the skin        forward ->

A round bushing in a square channel is held only where it touches. Where whole layers do not add
up to its diameter, the next layer on each side gets a narrower slot, just as wide as the round is
at that depth, so that it nests in four edges instead of rattling.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import Line, block_arrow, check_edge_marks, text_block, wrapped
from jiggen.drawing.lettering import text_width
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Anchor, Bounds, Circle, Edge, Mark, Op, Path
from jiggen.errors import DoesNotFit

#: mm. Length and height of the ledge that a clamp presses on, parallel to the skin.
LEDGE_LENGTH = 22.0
LEDGE_HEIGHT = 12.0
#: mm. Depth and half width of the notch that shows the axis at the base.
NOTCH = 2.5
NOTCH_HALF = 1.25
#: mm. Solid layers on each side of the bore: enough for a dowel to hold.
SOLID_LAYERS = 2
#: mm. Least material between a hole and an edge.
WALL = 3.0
#: mm. A channel deeper than the bore by less than this holds it without nesting layers.
SNUG = 0.05
#: mm. Narrowest column that takes a half's name.
NARROWEST_COLUMN = 14.0
#: mm. Clear room between a pin and the block.
PIN_CLEARANCE = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockSizes:
    """Sizes of a drill block in mm.

    Attributes:
        bore: diameter of what the channel holds: the bushing's body, or the bit.
        inside: bore of the bushing; None where the bit runs in the channel itself.
        height: length of the bore along the drill axis.
        length: length of the body across the axis.
        dowel: diameter of the aligning pins.
        fit: what the channel is wider than the bore.
        stock: thickness of the material.
        pin: diameter of a sheet-holding pin's body.
    """

    bore: float
    inside: float | None
    height: float
    length: float
    dowel: float
    fit: float
    stock: float
    pin: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Lamination:
    """How the layers make up the bore.

    Attributes:
        channel_layers: split layers with the full channel.
        nest_slot: width of the slot in the next layer on each side, mm; None for no such layers.
        channel: width of the full channel, mm.
        depth: depth of the full channel along the span, mm.
        play_x: what the bore may shift along x, mm.
        play_y: what it may shift along the span, mm.
        layers: all layers.
    """

    channel_layers: int
    nest_slot: float | None
    channel: float
    depth: float
    play_x: float
    play_y: float
    layers: int


def laminate(bore: float, stock: float, fit: float) -> Lamination:
    """Choose the layers that hold a round of diameter `bore` in sheets of thickness `stock`.

    Args:
        bore: diameter held, mm.
        stock: thickness of one layer, mm.
        fit: what the channel is wider than the bore, mm.

    Returns:
        The lamination with the least play. With nesting layers the round touches the edges of
        their slots, and is as loose along the span as `fit` allows.
    """
    channel = bore + fit
    whole = int((channel + 1e-9) // stock)
    if whole == 0 or channel - whole * stock <= SNUG:
        count = max(whole, 1)
        depth = count * stock
        return Lamination(
            channel_layers=count,
            nest_slot=None,
            channel=channel,
            depth=depth,
            play_x=fit,
            play_y=max(depth - bore, 0.0),
            layers=count + 2 * SOLID_LAYERS,
        )
    depth = whole * stock
    # The slot is the chord of the round (with its fit) at the face between the two layers.
    slot = math.sqrt(channel * channel - depth * depth)
    return Lamination(
        channel_layers=whole,
        nest_slot=slot,
        channel=channel,
        depth=depth,
        play_x=fit,
        play_y=fit,
        layers=whole + 2 + 2 * SOLID_LAYERS,
    )


def bore_play(lamination: Lamination, bit: float, inside: float | None) -> float:
    """Return how far the bit may shift across the bore in mm, worst direction.

    Args:
        lamination: the layers.
        bit: diameter of the bit, mm.
        inside: bore of the bushing, mm; its play adds to the channel's. None for no bushing.
    """
    loose = math.hypot(lamination.play_x, lamination.play_y)
    return loose if inside is None else loose + max(inside - bit, 0.0)


def bore_tilt(play: float, height: float) -> float:
    """Return the worst tilt of a bit in radians: atan(clearance / length).

    Source: triangle of the bore's play over its length, common practice, no published source.
    """
    return math.atan2(play, height)


def build_block(
    name: str,
    angle: float,
    bit: float,
    sizes: BlockSizes,
    job: str,
    side_name: str,
    holes: str,
    title: str,
    *,
    pitch: float | None = None,
    mirrored: bool = False,
    side: str = "",
    notes: tuple[str, ...] = (),
) -> tuple[Piece, ...]:
    """Build the layers of one drill block.

    Args:
        name: stem of the pieces' names.
        angle: forward guide angle in degrees: between the skin, going forward, and the drill axis.
        bit: diameter of the drill, mm.
        sizes: see `BlockSizes`.
        job: name of the job.
        side_name: name of the skin it stands on.
        holes: the holes that it serves.
        title: what the block is called.
        pitch: smallest distance between neighbouring holes, mm, or None.
        mirrored: forward is to the left (side B, seen from the same end of the span).
        side: ``a``, ``b`` or ``ab``.
        notes: sentences for the cover page.

    Returns:
        One piece a kind of layer, with its count: solid, channel halves, nesting halves.

    Raises:
        DoesNotFit: the bore leaves no wall, or the block does not fit between the pins.
    """
    layers = laminate(sizes.bore, sizes.stock, sizes.fit)
    _refuse_impossible(sizes, layers, pitch)
    profile = _Profile(angle, sizes)
    place = Affine.mirror_x() if mirrored else Affine()
    words = _Words(
        title=title,
        job=job,
        line=f"{side_name}, {holes}",
        angle=angle,
        total=f"{layers.layers} layers",
    )
    pieces = [
        _solid(f"{name}-solid", profile, words, place, 2 * SOLID_LAYERS, side, notes),
        *_halves(
            f"{name}-channel", profile, layers.channel, words, place, layers.channel_layers, side
        ),
    ]
    if layers.nest_slot is not None:
        pieces += _halves(f"{name}-nest", profile, layers.nest_slot, words, place, 2, side)
    return tuple(pieces)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Words:
    title: str
    job: str
    line: str
    angle: float
    total: str


def _refuse_impossible(sizes: BlockSizes, layers: Lamination, pitch: float | None) -> None:
    wall = sizes.length / 2 - layers.channel / 2
    least = 2 * (2 * WALL + sizes.dowel) + layers.channel
    if wall < 2 * WALL + sizes.dowel:
        raise DoesNotFit(
            f"a block {sizes.length:g} mm long has no wall for dowels beside a channel of "
            f"{layers.channel:.2f} mm",
            key="block.length",
            given=f"{sizes.length:g} mm",
            remedy=f"{math.ceil(least)} mm or more",
        )
    low = LEDGE_HEIGHT + sizes.dowel + 2 * WALL
    if sizes.height < low + 6.0:
        raise DoesNotFit(
            "the block is too low for two rows of dowels above its clamp flat",
            key="block.height",
            given=f"{sizes.height:g} mm",
            remedy=f"{math.ceil(low + 6.0)} mm or more",
        )
    if sizes.inside is not None and sizes.inside >= sizes.bore:
        raise DoesNotFit(
            "the bushing's bore is not smaller than its body",
            key="block.inside",
            given=f"{sizes.inside:g} mm",
            remedy=f"less than block.bore, {sizes.bore:g} mm",
        )
    if pitch is None:
        return
    thick = layers.layers * sizes.stock
    room = 2 * (pitch - sizes.pin / 2 - PIN_CLEARANCE)
    if thick > room:
        raise DoesNotFit(
            f"a block of {layers.layers} layers is {thick:g} mm thick and does not fit between "
            f"pins of {sizes.pin:g} mm at a pitch of {pitch:g} mm, which leave {max(room, 0):.1f} mm",
            key="cut.sheet",
            given=f"{sizes.stock:g} mm",
            remedy="use thinner sheet, a smaller bushing, or pin every other hole",
        )


class _Profile:
    """The block's side view, forward to the right, its base along x and the axis through (0, 0)."""

    def __init__(self, angle: float, sizes: BlockSizes) -> None:
        self.angle = angle
        self.sizes = sizes
        self.up = Point(math.cos(math.radians(angle)), math.sin(math.radians(angle)))
        self.out = Point(self.up.y, -self.up.x)
        half = sizes.length / 2
        self.base_aft = self.on_base(-half)
        self.base_forward = self.on_base(half)
        self.top_aft = self.at(-half, sizes.height)
        self.top_forward = self.at(half, sizes.height)
        self.flat_start = self.on_base(half, LEDGE_HEIGHT)
        self.flat_end = Point(self.flat_start.x + LEDGE_LENGTH, LEDGE_HEIGHT)
        self.base_end = Point(self.flat_end.x, 0.0)
        self.lean = sizes.height * self.up.x
        self.keep = WALL + sizes.dowel + 1.5

    def at(self, across: float, along: float) -> Point:
        """Return the point `across` mm forward of the axis and `along` mm up it."""
        return Point(
            across * self.out.x + along * self.up.x, across * self.out.y + along * self.up.y
        )

    def on_base(self, across: float, height: float = 0.0) -> Point:
        """Return where the line `across` mm forward of the axis is `height` mm above the skin."""
        along = (height - across * self.out.y) / self.up.y
        return self.at(across, along)

    def dowels(self) -> tuple[Point, ...]:
        """Return the dowel holes: two in each half, clear of channel and edges."""
        s = self.sizes
        inset = WALL + s.dowel / 2
        x = s.length / 2 - inset
        high = s.height - inset
        return (
            self.on_base(-x, inset + 1.0),
            self.at(-x, high),
            self.at(x, high),
            Point(self.flat_end.x - inset, LEDGE_HEIGHT / 2),
        )

    def check_angle(self) -> CheckAngle:
        """Return the angle between base and aft side: the forward guide angle."""
        return CheckAngle(
            name="forward",
            nominal=self.angle,
            base=Edge(self.base_aft, self.base_end),
            working=Edge(self.base_aft, self.top_aft),
        )

    def sized(self, pairs: dict[str, tuple[Point, Point, str]]) -> tuple[CheckDimension, ...]:
        """Return check dimensions from named pairs of points."""
        return tuple(
            CheckDimension(name=name, nominal=math.dist(a, b), start=a, end=b, how=how)
            for name, (a, b, how) in pairs.items()
        )


def _solid(
    name: str,
    profile: _Profile,
    words: _Words,
    place: Affine,
    count: int,
    side: str,
    notes: tuple[str, ...],
) -> Piece:
    """Return the whole side profile with a sight notch and the axis scored on it."""
    p = profile
    outline = Path.closed(
        [
            p.base_aft,
            (-NOTCH_HALF, 0.0),
            p.at(0.0, NOTCH),
            (NOTCH_HALF, 0.0),
            p.base_end,
            p.flat_end,
            p.flat_start,
            p.top_forward,
            p.top_aft,
        ]
    ).moved(place)
    axis = Path.open([p.at(0.0, NOTCH + 1.0), p.at(0.0, p.sizes.height - 1.0)]).moved(place)
    angle = p.check_angle().moved(place)
    top = Edge(p.top_forward, p.top_aft).moved(place)
    mirrored = place.a < 0
    dimensions = p.sized(
        {
            "base": (p.base_aft, p.base_end, "along the base"),
            "aft-side": (p.base_aft, p.top_aft, "base corner to top corner, aft"),
            "top": (p.top_aft, p.top_forward, "along the top"),
            "diagonal": (p.base_end, p.top_aft, "base, forward corner, to top, aft corner"),
        }
    )
    lettering, bar_sizes = _solid_lettering(p, words, place)
    return Piece(
        name=name,
        title=f"{words.title}, solid layer",
        kind="block",
        outline=outline.reversed() if mirrored else outline,
        inner=tuple(
            Mark(shape=Circle(d, p.sizes.dowel / 2), op=Op.CUT).moved(place) for d in p.dowels()
        ),
        marks=(
            Mark(shape=axis, op=Op.SCORE, dashed=True),
            *lettering,
            *check_edge_marks(angle.base, inside_left=not mirrored),
            *check_edge_marks(angle.working, inside_left=mirrored),
            *check_edge_marks(top, inside_left=not mirrored),
        ),
        angles=(angle,),
        dimensions=(*(d.moved(place) for d in dimensions), *bar_sizes),
        count=count,
        side=side,
        notes=notes,
        for_print=False,
    )


def _solid_lettering(
    p: _Profile, words: _Words, place: Affine
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return bars and words of a solid layer, clear of its axis, dowels and check marks."""
    lean, half, keep = p.lean, p.sizes.length / 2, p.keep
    top = min(p.top_forward.y, p.top_aft.y)
    across = pair_room()
    left = -half + max(lean, 0.0)
    aft = Bounds(left + keep, 3.2, min(lean, 0.0) - 1.6, top - 3.0)
    text = Bounds(max(lean, 0.0) + 1.6, 3.2 + across, half + min(lean, 0.0) - 3.2, top - keep - 0.6)
    return _panel(
        place,
        lying=Bounds(2.8, 2.8, p.base_end.x - keep - 2.0, 2.8 + across),
        standing=Bounds(left + 2.6, keep + 3.0, left + 2.6 + across, top - keep - 1.0),
        arrows=Bounds(max(aft.left, left + 3.4 + across), aft.bottom, aft.right, aft.top),
        text=text,
        lines=[
            Line(text=words.title, height=2.8, bold=True),
            Line(text=f"{words.angle:.2f}°", height=2.8, bold=True),
            *wrapped(words.line, 2.0, text.width),
            *wrapped(words.job, 2.0, text.width),
            Line(text=words.total, height=1.9),
        ],
    )


def _panel(
    place: Affine,
    *,
    lying: Bounds,
    standing: Bounds,
    arrows: Bounds,
    text: Bounds,
    lines: list[Line],
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return a layer's bars, arrows and words, each in its own box (given as for side A)."""

    def flipped(box: Bounds) -> Bounds:
        return Bounds.around(
            [place.point((box.left, box.bottom)), place.point((box.right, box.top))]
        )

    lie, lie_sizes = bar_pair(flipped(lying))
    stand, stand_sizes = bar_pair(flipped(standing), along_y=True)
    words = text_block(flipped(text), lines)
    pointers = _direction(flipped(arrows), forward_right=place.a > 0)
    return (*lie, *stand, *words, *pointers), (*lie_sizes, *stand_sizes)


def _direction(box: Bounds, *, forward_right: bool) -> tuple[Mark, ...]:
    """Return FORWARD and TE with their arrows, one above the other, from the bottom of `box`."""
    rows: list[Mark] = []
    row, height, tail = 3.5, 1.8, 5.4
    for number, (name, right) in enumerate((("TE", not forward_right), ("FORWARD", forward_right))):
        y = box.bottom + row * number
        if box.width - tail < text_width(name, height):
            name = "FWD" if number else name
        anchor = Anchor.START if right else Anchor.END
        word = Bounds(box.left, y, box.right, y + row)
        marks = text_block(word, [Line(text=name, height=height)], anchor=anchor)
        if not marks:
            continue
        ink = marks[0].bounds()
        middle = (ink.bottom + ink.top) / 2
        start, end = (ink.right + 0.8, box.right) if right else (box.left, ink.left - 0.8)
        if end - start >= 3.0:
            wide = min(end - start, 6.0)
            start = start if right else end - wide
            rows += block_arrow(
                Bounds(start, middle - 1.4, start + wide, middle + 1.4), points_right=right
            )
        rows += marks
    return tuple(rows)


def _halves(
    name: str,
    p: _Profile,
    slot: float,
    words: _Words,
    place: Affine,
    count: int,
    side: str,
) -> tuple[Piece, Piece]:
    """Return the aft and the forward part of a layer that is split by a slot along the axis."""
    h = p.sizes.height
    aft = [p.base_aft, p.on_base(-slot / 2), p.at(-slot / 2, h), p.top_aft]
    forward = [
        p.on_base(slot / 2),
        p.base_end,
        p.flat_end,
        p.flat_start,
        p.top_forward,
        p.at(slot / 2, h),
    ]
    a, b, c, d = p.dowels()
    kind = "nest" if name.endswith("nest") else "channel"
    pieces = []
    for part, corners, holes in (("aft", aft, (a, b)), ("forward", forward, (c, d))):
        outline = Path.closed(corners).moved(place)
        edges = (
            {
                "base": (aft[0], aft[1], "along the base"),
                "channel-side": (aft[1], aft[2], "along the channel"),
                "diagonal": (aft[0], aft[2], "outer base corner to top of the channel"),
            }
            if part == "aft"
            else {
                "base": (forward[0], forward[1], "along the base"),
                "channel-side": (forward[0], forward[5], "along the channel"),
                "diagonal": (forward[1], forward[5], "forward base corner to top of the channel"),
            }
        )
        angle = (
            CheckAngle(
                name="aft",
                nominal=180.0 - p.angle,
                base=Edge(aft[1], aft[0]),
                working=Edge(aft[1], aft[2]),
            )
            if part == "aft"
            else CheckAngle(
                name="forward",
                nominal=p.angle,
                base=Edge(forward[0], forward[1]),
                working=Edge(forward[0], forward[5]),
            )
        )
        lettering, bar_sizes = _half_lettering(p, words, place, slot, part, kind)
        turned = angle.moved(place)
        inside = (part == "forward") == (place.a > 0)
        pieces.append(
            Piece(
                name=f"{name}-{part}",
                title=f"{words.title}, {kind} layer, {part} half",
                kind="block",
                outline=outline.reversed() if place.a < 0 else outline,
                inner=tuple(
                    Mark(shape=Circle(q, p.sizes.dowel / 2), op=Op.CUT).moved(place) for q in holes
                ),
                marks=(
                    *lettering,
                    *check_edge_marks(turned.base, inside_left=inside),
                    *check_edge_marks(turned.working, inside_left=not inside),
                ),
                angles=(turned,),
                dimensions=(*(x.moved(place) for x in p.sized(edges)), *bar_sizes),
                count=count,
                side=side,
                for_print=False,
            )
        )
    return pieces[0], pieces[1]


def _half_lettering(
    p: _Profile, words: _Words, place: Affine, slot: float, part: str, kind: str
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Return bars and words on one half: which block, which half, which layer."""
    lean, half, keep = p.lean, p.sizes.length / 2, p.keep
    across = pair_room()
    top = (p.at(-slot / 2, p.sizes.height) if part == "aft" else p.top_forward).y
    short = "fwd" if part == "forward" else part
    if part == "aft":
        left, right = -half + max(lean, 0.0), -slot / 2 + min(lean, 0.0) - 2.8
        column = Bounds(left + keep, 2.8, right, top - 1.6)
        standing = Bounds(left + 1.6, keep + 3.0, left + 1.6 + across, top - keep - 1.0)
        lying = Bounds(column.left, 2.8, right, 2.8 + across)
    else:
        left, right = slot / 2 + max(lean, 0.0) + 2.8, half + min(lean, 0.0)
        column = Bounds(left, 2.8, right - keep, top - 1.6)
        standing = Bounds(right - 1.0 - across, LEDGE_HEIGHT, right - 1.0, top - keep - 1.0)
        lying = Bounds(left, 2.8, p.base_end.x - keep - 2.0, 2.8 + across)
    column = Bounds(
        max(column.left, standing.right + 0.8) if part == "aft" else column.left,
        column.bottom,
        column.right if part == "aft" else min(column.right, standing.left - 0.8),
        column.top,
    )
    lines = [
        *wrapped(words.title, 2.1, column.width),
        *wrapped(f"{words.angle:.2f}° {kind} {short}", 2.1, column.width),
        *wrapped(words.line, 1.8, column.width),
        *wrapped(words.job, 1.8, column.width),
    ]
    if column.width < NARROWEST_COLUMN:
        raise DoesNotFit(
            "half a block has no room for its lettering beside dowels and bars",
            key="block.length",
            given=f"{p.sizes.length:g} mm",
            remedy=f"{math.ceil(p.sizes.length + 2 * (NARROWEST_COLUMN - column.width))} mm",
        )
    return _panel(
        place,
        lying=lying,
        standing=standing,
        arrows=Bounds(column.left, lying.top, column.right, lying.top + 7.2),
        text=Bounds(column.left, lying.top + 7.2, column.right, column.top),
        lines=lines,
    )
