"""The drill block's side view: its named points, dowels and check edges."""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.drawing.affine import Point
from jiggen.drawing.piece import CheckAngle, CheckDimension
from jiggen.drawing.shapes import Edge

#: mm. Length and height of the ledge that a clamp presses on, parallel to the skin.
LEDGE_LENGTH = 22.0
LEDGE_HEIGHT = 12.0
#: mm. Least material between a hole and an edge.
WALL = 3.0
#: mm. Length of a pad on a curved skin, and the gap under the arch between two.
PAD, ARCH = 4.0, 1.5
#: mm. From the channel to the first pad.
PAD_CLEAR = 2.0


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


class Profile:
    """The block's side view, forward to the right, its base along x and the axis through (0, 0).

    `pad` is None for a flat skin; for a curved one where the first of two pads begins, in mm
    forward of the axis along the base line.
    """

    def __init__(self, angle: float, sizes: BlockSizes, pad: float | None = None) -> None:
        self.angle = angle
        self.floor = 0.0 if pad is None else ARCH
        self.pad = pad
        self.sizes = sizes
        self.up = Point(math.cos(math.radians(angle)), math.sin(math.radians(angle)))
        self.out = Point(self.up.y, -self.up.x)
        half = sizes.length / 2
        self.base_aft = self.on_base(-half, self.floor)
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

    @property
    def first_contact(self) -> Point:
        """Return the aft end of what touches the skin."""
        return self.base_aft if self.pad is None else Point(self.pad, 0.0)

    def base_forward_of(self, across: float) -> tuple[Point, ...]:
        """Return the base's corners from the line `across` mm forward of the axis to its end.

        On a curved skin the block stands on two pads forward of the hole, with an arch between
        them and clear of the skin aft of them.
        """
        start = self.on_base(across, self.floor)
        if self.pad is None:
            return start, self.base_end
        near, far = self.pad, self.base_end.x - PAD
        return (
            start,
            Point(near, ARCH),
            Point(near, 0.0),
            Point(near + PAD, 0.0),
            Point(near + PAD, ARCH),
            Point(far, ARCH),
            Point(far, 0.0),
            self.base_end,
        )

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
            base=Edge(self.first_contact, self.base_end),
            working=Edge(self.base_aft, self.top_aft),
        )

    def sized(self, pairs: dict[str, tuple[Point, Point, str]]) -> tuple[CheckDimension, ...]:
        """Return check dimensions from named pairs of points."""
        return tuple(
            CheckDimension(name=name, nominal=math.dist(a, b), start=a, end=b, how=how)
            for name, (a, b, how) in pairs.items()
        )
