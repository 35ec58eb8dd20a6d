"""How layers of sheet hold a round, and how far the bit may lean in them.

A round in a square channel is held only where it touches. Where whole layers do not add up to
its diameter, the next layer on each side gets a narrower slot, just as wide as the round is at
that depth, so that it nests in four edges instead of rattling.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

#: mm. Solid layers on each side of the bore: enough for a dowel to hold.
SOLID_LAYERS = 2
#: mm. A channel deeper than the bore by less than this holds it without nesting layers.
SNUG = 0.05


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


def stack_of(layers: Lamination) -> str:
    """Say how the layers lie, from one face of the block to the other."""
    nest = [] if layers.nest_slot is None else ["1 nest"]
    solid = f"{SOLID_LAYERS} solid"
    return ", ".join([solid, *nest, f"{layers.channel_layers} channel", *nest, solid])


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
