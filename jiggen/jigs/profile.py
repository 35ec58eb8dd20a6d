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
