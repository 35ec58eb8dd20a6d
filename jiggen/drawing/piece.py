"""`Piece`: shapes by operation, with a name, check edges and check dimensions.

A piece is what comes off the paper or the sheet. It knows which two of its edges are the product
(the check edges), what a calliper should read on it (the check dimensions), and the calibration
bars drawn on it; nothing about pages, files or wedges.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.shapes import Bounds, Edge, Mark, Op, Path


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckDimension:
    """A length that can be measured on the finished piece.

    Attributes:
        name: short and unique in the piece, e.g. ``base`` or ``bar-50``.
        nominal: what the calliper should read, mm.
        start: one end on the drawing, mm.
        end: the other end on the drawing, mm.
        how: how to measure it, in words.
        is_bar: True for a calibration bar, False for a size of the piece itself.
    """

    name: str
    nominal: float
    start: Point
    end: Point
    how: str = ""
    is_bar: bool = False

    def moved(self, place: Affine) -> CheckDimension:
        """Return the dimension at a rigid `place`."""
        return replace(self, start=place.point(self.start), end=place.point(self.end))


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckAngle:
    """Two edges of the outline whose angle is the product.

    Attributes:
        name: e.g. ``forward``.
        nominal: degrees, between the two edges as directions.
        base: the edge that sits on the work, pointing away from the corner.
        working: the edge that the bit is sighted along, pointing away from the corner.
    """

    name: str
    nominal: float
    base: Edge
    working: Edge

    def moved(self, place: Affine) -> CheckAngle:
        """Return the angle at a rigid `place`."""
        return replace(self, base=self.base.moved(place), working=self.working.moved(place))


def angle_between(first: Edge, second: Edge) -> float:
    """Return the angle between two straight edges as directions, degrees in [0, 180].

    By atan2 of cross and dot product: acos of a rounded cosine loses small angles.
    """
    a, b = first.direction(), second.direction()
    return math.degrees(math.atan2(abs(a.x * b.y - a.y * b.x), a.x * b.x + a.y * b.y))


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One part to cut, with everything that is drawn on it.

    Attributes:
        name: file-name safe and unique in a job: lower-case ASCII letters, digits, ``-``.
        title: what the piece is called on paper and in tables.
        kind: which jig made it: ``guide``, ``block``, ``wrap`` ...
        outline: the closed cut line, counter-clockwise, true size, without kerf.
        inner: closed cut lines and circles inside (holes), true size, without kerf.
        marks: all else: score, engrave and note shapes. No CUT here.
        angles: the check edges.
        dimensions: the check dimensions, bars included.
        count: how many of it are needed.
        side: ``a``, ``b``, or ``ab`` where one piece serves both; empty where it has no side.
        notes: short sentences about the piece for the cover page and the manifest.
        allowed_angle: largest error of the check angles in degrees that the work permits, or None.
        allowed_length: largest error of the check dimensions in mm, or None.
        for_print: laid out on paper.
        for_cut: drawn for a machine that cuts sheet.
        on_bed: laid out on a bed of sheet material too, not only in a file of its own.
    """

    name: str
    title: str
    kind: str
    outline: Path
    inner: tuple[Mark, ...] = ()
    marks: tuple[Mark, ...] = ()
    angles: tuple[CheckAngle, ...] = ()
    dimensions: tuple[CheckDimension, ...] = ()
    count: int = 1
    side: str = ""
    notes: tuple[str, ...] = field(default=())
    allowed_angle: float | None = None
    allowed_length: float | None = None
    for_print: bool = True
    for_cut: bool = True
    on_bed: bool = True

    def bounds(self) -> Bounds:
        """Return the rectangle around the piece and all that is drawn with it."""
        boxes = [self.outline.bounds()]
        boxes += [m.bounds() for m in self.inner]
        boxes += [m.bounds() for m in self.marks]
        return Bounds.union(boxes)

    def moved(self, place: Affine) -> Piece:
        """Return the piece at a rigid `place`."""
        return replace(
            self,
            outline=self.outline.moved(place),
            inner=tuple(m.moved(place) for m in self.inner),
            marks=tuple(m.moved(place) for m in self.marks),
            angles=tuple(a.moved(place) for a in self.angles),
            dimensions=tuple(d.moved(place) for d in self.dimensions),
        )

    def all_marks(self) -> tuple[Mark, ...]:
        """Return every shape, the outline first, as marks with their operation."""
        return (Mark(shape=self.outline, op=Op.CUT), *self.inner, *self.marks)
