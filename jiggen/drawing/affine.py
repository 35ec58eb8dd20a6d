"""The plane affine map and its named constructors: how a piece gets its place on a sheet."""

from __future__ import annotations

import math
from typing import NamedTuple


class Point(NamedTuple):
    """A point or a vector of the plane, in mm, y up."""

    x: float
    y: float


class Affine(NamedTuple):
    """The map ``x' = a x + c y + e``, ``y' = b x + d y + f``; offsets in mm.

    `p @ q` applies q first. The identity is `Affine()`.
    """

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @classmethod
    def move(cls, dx: float, dy: float) -> Affine:
        """Return a translation by (dx, dy) mm."""
        return cls(e=dx, f=dy)

    @classmethod
    def turn(cls, degrees: float) -> Affine:
        """Return a rotation about the origin, counter-clockwise; exact for quarter turns."""
        quarter, rest = divmod(degrees, 90.0)
        if rest == 0.0:
            cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
        else:
            cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return cls(a=cos, b=sin, c=-sin, d=cos)

    @classmethod
    def mirror_x(cls) -> Affine:
        """Return the mirror image left for right: x changes its sign."""
        return cls(a=-1.0)

    def __matmul__(self, other: Affine) -> Affine:
        """Return the map that applies `other` first and this one after."""
        return Affine(
            a=self.a * other.a + self.c * other.b,
            b=self.b * other.a + self.d * other.b,
            c=self.a * other.c + self.c * other.d,
            d=self.b * other.c + self.d * other.d,
            e=self.a * other.e + self.c * other.f + self.e,
            f=self.b * other.e + self.d * other.f + self.f,
        )

    def point(self, p: tuple[float, float]) -> Point:
        """Return where the map takes the point `p` (mm)."""
        x, y = p
        return Point(self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    @property
    def determinant(self) -> float:
        """Return the area factor; negative for a mirror image."""
        return self.a * self.d - self.b * self.c

    @property
    def turn_degrees(self) -> float:
        """Return the direction of the mapped x axis in degrees."""
        return math.degrees(math.atan2(self.b, self.a))
