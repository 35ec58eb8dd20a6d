"""The guide's corner: the named points of its outline, and what is checked on it.

Letters as in the picture of `jiggen.jigs.guide`; forward is to the right.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.drawing.affine import Point
from jiggen.drawing.piece import CheckAngle, CheckDimension
from jiggen.drawing.shapes import Bounds, Edge, Path

#: mm. The chuck may come this near to the piece.
CHUCK_CLEARANCE = 1.5
#: mm. Narrowest top that still takes a finger hole and a hand.
TOWER_MIN = 18.0
#: mm. How much the forward corner of the top stands above the aft one: seen at a glance.
BEAK = 6.0
#: mm. A finger goes through; a nail goes through.
FINGER_HOLE = 16.0
HANG_HOLE = 4.0
#: mm. Height of the slot in the guide; the foot's slot stops as high above its base.
LAP = 12.0
#: mm. What the lap's slot is wider than the material, for a sliding fit.
LAP_FIT = 0.1
#: mm. Length of each of the two feet on a curved skin, and the gap under the arch between them.
PAD = 4.0
ARCH = 1.5
#: mm. How far a curved-skin guide is cut back above the skin beyond its far foot.
STEP = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideSizes:
    """Sizes of an angle guide in mm.

    Attributes:
        foot: length of the base along the skin.
        edge: length of the working edges, up to the chuck's cut-back.
        height: height of the whole guide along the drill axis.
        pin: diameter of a sheet-holding pin's body.
        chuck: outside diameter of the chuck.
        relief: radius of the relieved corners.
        stock: thickness of the material.
        layers: sheets glued side by side.
    """

    foot: float
    edge: float
    height: float
    pin: float
    chuck: float
    relief: float
    stock: float
    layers: int = 1


class Corner:
    """The named points of a guide whose forward side is to the right; letters as in the picture."""

    def __init__(
        self, angle: float, bit: float, sizes: GuideSizes, feet: tuple[float, float] | None
    ) -> None:
        self.angle = angle
        self.bit = bit
        self.sizes = sizes
        self.feet = feet
        self.up = Point(math.cos(math.radians(angle)), math.sin(math.radians(angle)))
        self.foot = sizes.foot if feet is None else max(sizes.foot, feet[1] + PAD / 2 + 2.0)
        self.A = Point(sizes.relief, 0.0)
        self.B = (
            Point(self.foot - sizes.relief, 0.0) if feet is None else Point(feet[1] + PAD / 2, 0.0)
        )
        self.C = self.along(sizes.relief)
        self.D = self.along(sizes.edge)
        self.E = self.along(sizes.edge, self.foot)
        self.F = self.along(sizes.relief, self.foot)
        back = sizes.chuck / 2 - bit / 2 + CHUCK_CLEARANCE
        # The shoulders are square to the axis, as the chuck's face is.
        x, y = self.up
        self.tower_left = Point(self.D.x + back * y, self.D.y - back * x)
        self.tower_right = Point(self.E.x - back * y, self.E.y + back * x)
        self.slot = (self.foot / 2, (sizes.stock * sizes.layers + LAP_FIT) / 2)

    def along(self, far: float, start: float = 0.0) -> Point:
        """Return the point `far` mm up the drill axis from `start` on the base line."""
        return Point(start + far * self.up.x, far * self.up.y)

    def beak(self) -> tuple[Point, Point]:
        """Return the forward and the aft corner of the top."""
        rise = self.sizes.height - self.sizes.edge
        x, y = self.up
        right, left = self.tower_right, self.tower_left
        return (
            Point(right.x + rise * x, right.y + rise * y),
            Point(left.x + (rise - BEAK) * x, left.y + (rise - BEAK) * y),
        )

    def outline(self) -> Path:
        """Walk round the guide counter-clockwise from A."""
        relief_c = math.tan(-math.radians(self.angle) / 4)
        relief_f = math.tan(-math.radians(180.0 - self.angle) / 4)
        top = [self.tower_right, *self.beak(), self.tower_left, self.D, (*self.C, relief_c)]
        if self.feet is None:
            x, half = self.slot
            base: list[tuple[float, ...]] = [
                self.A,
                (x - half, 0.0),
                (x - half, LAP),
                (x + half, LAP),
                (x + half, 0.0),
                (*self.B, relief_f),
                self.F,
                self.E,
            ]
        else:
            near, far = self.A.x + PAD, self.B.x - PAD
            base = [self.A, (near, 0.0), (near + 1.0, ARCH), (far - 1.0, ARCH), (far, 0.0), self.B]
            # Beyond the far foot the body is cut back: nobody takes that edge for a working edge.
            base += [(self.B.x, STEP), self.along(STEP / self.up.y, self.foot), self.E]
        return Path.closed([tuple(p) for p in (*base, *top)])  # type: ignore[misc]

    def check_angles(self) -> tuple[CheckAngle, ...]:
        """Return the corner for each use; a curved skin has the forward one only."""
        forward = CheckAngle(
            name="forward",
            nominal=self.angle,
            base=Edge(self.A, self.B),
            working=Edge(self.C, self.D),
        )
        if self.feet is not None:
            return (forward,)
        aft = CheckAngle(
            name="aft",
            nominal=180.0 - self.angle,
            base=Edge(self.B, self.A),
            working=Edge(self.F, self.E),
        )
        return forward, aft

    def check_dimensions(self) -> tuple[CheckDimension, ...]:
        """Return the corner-to-corner distances that fix both working angles.

        Four distances tie each working edge to the base's two ends; all of them are taken with a
        calliper over two outside corners, none needs the relieved corner itself.
        """
        pairs = [("A", "B"), ("A", "D"), ("B", "D"), ("B", "C"), ("C", "D")]
        if self.feet is None:
            pairs += [("B", "E"), ("A", "E"), ("A", "F"), ("E", "F")]
        return tuple(
            CheckDimension(
                name=f"{p}-{q}",
                nominal=math.dist(getattr(self, p), getattr(self, q)),
                start=getattr(self, p),
                end=getattr(self, q),
                how=f"over corners {p} and {q}",
            )
            for p, q in pairs
        )

    def free_box(self) -> Bounds:
        """Return the upright room inside the body, clear of edge labels."""
        strip = 6.6
        lean = self.sizes.edge * self.up.x
        low = 3.6 if self.feet is None else STEP + 1.0
        return Bounds(
            max(lean, 0.0) + strip, low, self.foot + min(lean, 0.0) - strip, self.tower_left.y - 1
        )
