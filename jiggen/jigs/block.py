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
from jiggen.drawing.labels import check_edge_marks
from jiggen.drawing.piece import CheckAngle, Piece
from jiggen.drawing.shapes import Circle, Edge, Mark, Op, Path
from jiggen.errors import DoesNotFit, Sentence
from jiggen.jigs.block_lettering import Words, half_lettering, solid_lettering
from jiggen.jigs.lamination import SOLID_LAYERS, Lamination, laminate, stack_of
from jiggen.jigs.pins import room_between
from jiggen.jigs.profile import LEDGE_HEIGHT, PAD, PAD_CLEAR, WALL, BlockSizes, Profile
from jiggen.units import INCH, Length, or_less, or_more, size, words

#: mm. Depth and half width of the notch that shows the axis at the base.
NOTCH = 2.5
NOTCH_HALF = 1.25


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
    drill: str = "",
    pitch: float | None = None,
    mirrored: bool = False,
    on_pads: bool = False,
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
        drill: the drill as the user calls it.
        pitch: smallest distance between neighbouring holes, mm, or None.
        mirrored: forward is to the left (side B, seen from the same end of the span).
        on_pads: for a curved skin: stand on two pads forward of the hole, see `pad_places`.
        side: ``a``, ``b`` or ``ab``.
        notes: sentences for the cover page.

    Returns:
        One piece a kind of layer, with its count: solid, channel halves, nesting halves.

    Raises:
        DoesNotFit: the bore leaves no wall, or the block does not fit between the pins.
    """
    layers = laminate(sizes.bore, sizes.stock, sizes.fit)
    _refuse_impossible(sizes, layers)
    _refuse_thick(sizes, layers, pitch)
    profile = Profile(angle, sizes, pad_places(angle, sizes)[0] if on_pads else None)
    place = Affine.mirror_x() if mirrored else Affine()
    words = Words(
        title=title,
        job=job,
        line=f"{side_name}, {holes}",
        angle=angle,
        total=stack_of(layers),
        drill=f"for drill {drill}" if drill else "",
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


def pad_places(angle: float, sizes: BlockSizes) -> tuple[float, float]:
    """Return where the two pads of a block on a curved skin begin and end.

    Args:
        angle: forward guide angle in degrees.
        sizes: see `BlockSizes`.

    Returns:
        The near pad's aft end and the far pad's forward end, mm forward of the axis along the
        base line.
    """
    channel = laminate(sizes.bore, sizes.stock, sizes.fit).channel
    start = channel / 2 / math.sin(math.radians(angle)) + PAD_CLEAR
    return start, Profile(angle, sizes).base_end.x


def _refuse_impossible(sizes: BlockSizes, layers: Lamination) -> None:
    wall = sizes.length / 2 - layers.channel / 2
    least = 2 * (2 * WALL + sizes.dowel) + layers.channel
    if wall < 2 * WALL + sizes.dowel:
        raise DoesNotFit(
            words(
                "a block {length} long has no wall for dowels beside a channel of {channel}",
                length=size(sizes.length),
                channel=Length(layers.channel),
            ),
            key="block.bore",
            given=size(sizes.bore),
            remedy=words(
                "{length} or less", length=or_less(math.floor(sizes.bore - least + sizes.length))
            ),
        )
    low = LEDGE_HEIGHT + sizes.dowel + 2 * WALL
    if sizes.height < low + 6.0:
        raise DoesNotFit(
            "the block is too low for two rows of dowels above its clamp flat",
            key="block.height",
            given=size(sizes.height),
            remedy=words("{low} or more", low=or_more(math.ceil(low + 6.0))),
        )
    if sizes.inside is not None and sizes.inside >= sizes.bore:
        raise DoesNotFit(
            "the bushing's bore is not smaller than its body",
            key="block.inside",
            given=size(sizes.inside),
            remedy=words("less than block.bore, {bore}", bore=size(sizes.bore)),
        )


def _refuse_thick(sizes: BlockSizes, layers: Lamination, pitch: float | None) -> None:
    """Refuse a block that is too thick for the pins beside it, with the sheet that would do."""
    if pitch is None:
        return
    thick = layers.layers * sizes.stock
    room = room_between(sizes.pin, pitch)
    if thick > room:
        raise DoesNotFit(
            words(
                "a block of {layers} layers is {thick} thick and does not fit between pins of "
                "{pin} at a pitch of {pitch}, which leave {room}",
                layers=layers.layers,
                thick=size(thick),
                pin=size(sizes.pin),
                pitch=size(pitch),
                room=Length(room, 1),
            ),
            key="cut.sheet",
            given=size(sizes.stock),
            remedy=_thinner(sizes, room) or "leave out the block: an angle guide goes between them",
        )


def _thinner(sizes: BlockSizes, room: float) -> Sentence:
    """Say which sheet makes a block that goes into `room` mm; empty where none does."""
    for tenth in range(math.floor(10 * sizes.stock), 5, -1):
        # Told in inches it may be rounded up by half a thousandth.
        sheets = (tenth / 10, tenth / 10 + 0.0005 * INCH)
        if all(laminate(sizes.bore, s, sizes.fit).layers * s <= room for s in sheets):
            bushing = "" if sizes.inside is None else ", or a smaller bushing"
            return words(
                "sheet {thick} thick would do{bushing}", thick=size(tenth / 10), bushing=bushing
            )
    return ""


def _solid(
    name: str,
    profile: Profile,
    words: Words,
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
            (-NOTCH_HALF, p.floor),
            p.on_base(0.0, p.floor + NOTCH),
            *p.base_forward_of(NOTCH_HALF * p.out.x),
            p.flat_end,
            p.flat_start,
            p.top_forward,
            p.top_aft,
        ]
    ).moved(place)
    axis = Path.open([p.at(0.0, p.floor + NOTCH + 1.0), p.at(0.0, p.sizes.height - 1.0)]).moved(
        place
    )
    angle = p.check_angle().moved(place)
    top = Edge(p.top_forward, p.top_aft).moved(place)
    mirrored = place.a < 0
    dimensions = p.sized(
        {
            "base": (p.first_contact, p.base_end, "along the base, over what touches the skin"),
            "aft-side": (p.base_aft, p.top_aft, "base corner to top corner, aft"),
            "top": (p.top_aft, p.top_forward, "along the top"),
            "diagonal": (p.base_end, p.top_aft, "base, forward corner, to top, aft corner"),
        }
    )
    lettering, bar_sizes = solid_lettering(p, words, place)
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
            *_base_marks(p, angle.base, inside_left=not mirrored),
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


def _halves(
    name: str,
    p: Profile,
    slot: float,
    words: Words,
    place: Affine,
    count: int,
    side: str,
) -> tuple[Piece, Piece]:
    """Return the aft and the forward part of a layer that is split by a slot along the axis."""
    kind = "nest" if name.endswith("nest") else "channel"
    first, second = p.dowels()[:2], p.dowels()[2:]
    pieces = []
    for part, half, holes in (
        ("aft", _aft_half(p, slot), first),
        ("forward", _forward_half(p, slot), second),
    ):
        outline = Path.closed(half.corners).moved(place)
        angle, edges = half.angle, half.edges
        lettering, bar_sizes = half_lettering(p, words, place, slot, part, kind)
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
                    *_base_marks(p, turned.base, inside_left=inside),
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


def _base_marks(p: Profile, base: Edge, *, inside_left: bool) -> tuple[Mark, ...]:
    """Return the marks of a base: on a curved skin's block over the pads, never over the arch."""
    if p.pad is None:
        return check_edge_marks(base, inside_left=inside_left)
    if abs(base.start.y) > p.floor / 2:
        # The aft half hangs clear of a curved skin: its base checks nothing.
        return ()
    share = PAD / 2 / base.chord
    return check_edge_marks(base, inside_left=inside_left, at=(share, 1.0 - share))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Half:
    corners: tuple[Point, ...]
    angle: CheckAngle
    edges: dict[str, tuple[Point, Point, str]]


def _aft_half(p: Profile, slot: float) -> _Half:
    """Return the part of a split layer that lies aft of the channel."""
    outer, inner = p.base_aft, p.on_base(-slot / 2, p.floor)
    top = p.at(-slot / 2, p.sizes.height)
    return _Half(
        corners=(outer, inner, top, p.top_aft),
        angle=CheckAngle(
            name="aft",
            nominal=180.0 - p.angle,
            base=Edge(inner, outer),
            working=Edge(inner, top),
        ),
        edges={
            "base": (outer, inner, "along the base"),
            "channel-side": (inner, top, "along the channel"),
            "diagonal": (outer, top, "outer base corner to top of the channel"),
        },
    )


def _forward_half(p: Profile, slot: float) -> _Half:
    """Return the part of a split layer that lies forward of the channel, with the clamp flat."""
    base = p.base_forward_of(slot / 2)
    top = p.at(slot / 2, p.sizes.height)
    contact = base[0] if p.pad is None else base[2]
    return _Half(
        corners=(*base, p.flat_end, p.flat_start, p.top_forward, top),
        angle=CheckAngle(
            name="forward",
            nominal=p.angle,
            base=Edge(contact, p.base_end),
            working=Edge(base[0], top),
        ),
        edges={
            "base": (contact, p.base_end, "along the base, over what touches the skin"),
            "channel-side": (base[0], top, "along the channel"),
            "diagonal": (p.base_end, top, "forward base corner to top of the channel"),
        },
    )
