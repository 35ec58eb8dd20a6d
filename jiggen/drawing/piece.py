"""`Piece`: shapes by operation, with a name, check edges and check dimensions.

A piece is what comes off the paper or the sheet. It knows which of its edges are the product (the
check edges), and what a calliper should read on it (the check dimensions); nothing about pages,
files or wedges. What it *is* (outline, inner cuts, check edges, nominal sizes) has a short mark:
readings belong to a piece and its mark, so a piece that did not change keeps its readings.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Iterator

from msgspec import Struct
from msgspec.structs import force_setattr, replace

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.shapes import Bounds, Circle, Edge, Mark, Path

#: mm. How far the waste that is tinted on paper reaches round an outline.
WASTE = 4.0


class CheckDimension(Struct, frozen=True, kw_only=True):
    """A length that can be measured on the finished piece.

    Attributes:
        name: short and unique in the piece, e.g. ``A-B`` or ``bar-x``.
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


class CheckAngle(Struct, frozen=True, kw_only=True):
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


class Piece(Struct, frozen=True, kw_only=True):
    """One part to cut, with everything that is drawn on it.

    Attributes:
        name: file-name safe and unique in a job: lower-case ASCII letters, digits, ``-``.
        kind: which jig made it: ``guide``, ``block``, ``wrap`` ...
        label: type and number as lettered, e.g. ``GUIDE 1``.
        variant: what tells it from others of that label, e.g. ``thin`` or ``holes 2-14``.
        number: the one number that matters, as lettered, e.g. ``84.3°``; may be empty.
        outline: the closed cut line, counter-clockwise, true size, without kerf.
        inner: closed cut lines and circles inside (holes), true size, without kerf.
        marks: all else: score, engrave and note shapes. No CUT here.
        true_edges: the edges that must be true: on paper a band says "file this away".
        angles: the check angles.
        dimensions: the check dimensions, bars included.
        code: the job's letters and the first of the piece's mark, as lettered.
        left_out: what had no room on the piece; the numbers page tells it.
        count: how many of it are needed.
        side: ``a``, ``b``, or ``ab`` where one piece serves both; empty where it has no side.
        forward: the direction of forward on it, a unit vector, or None where it has none.
        allowed_angle: largest error of the check angles in degrees that the work permits, or None.
        allowed_length: largest error of the check dimensions in mm, or None.
        on_paper: laid out on pages of paper.
        on_bed: laid out on a bed of sheet material.
        is_sheet: cut from sheet at all; otherwise it is paper or wood and has no cut file.
        as_drawn: a machine cuts it without kerf: it is there to find it.
        waste: how far the tint reaches round it on paper, mm.
        shows: what is drawn on it that makes it what it is, such as the places of holes, as text;
            it counts in the mark.
        leads: forward corner between the skin and a bit that it leads, degrees; None where it
            leads none.
        serves: numbers of the part's holes that it is used at.
        mark: 16 hexadecimal digits that stand for what it is; worked out where it is left out,
            and kept when the piece is moved or drawn with a kerf.
    """

    name: str
    kind: str
    label: str
    outline: Path
    variant: str = ""
    number: str = ""
    inner: tuple[Path | Circle, ...] = ()
    marks: tuple[Mark, ...] = ()
    true_edges: tuple[Edge, ...] = ()
    angles: tuple[CheckAngle, ...] = ()
    dimensions: tuple[CheckDimension, ...] = ()
    code: str = ""
    left_out: tuple[str, ...] = ()
    count: int = 1
    side: str = ""
    forward: Point | None = None
    allowed_angle: float | None = None
    allowed_length: float | None = None
    on_paper: bool = True
    on_bed: bool = True
    is_sheet: bool = True
    as_drawn: bool = False
    waste: float = WASTE
    shows: str = ""
    leads: float | None = None
    serves: tuple[int, ...] = ()
    mark: str = ""

    def __post_init__(self) -> None:
        """Work the mark out where the piece is made."""
        if not self.mark:
            force_setattr(self, "mark", _shape_mark(self))

    @property
    def title(self) -> str:
        """Return the whole name as it stands in lists: label and variant."""
        return f"{self.label} {self.variant}".strip()

    def bounds(self) -> Bounds:
        """Return the rectangle around the piece and all that is drawn with it."""
        boxes = [self.outline.bounds(), *(m.bounds() for m in self.marks)]
        return Bounds.union(boxes)

    def on_page(self) -> Bounds:
        """Return the rectangle that the piece takes on paper, its waste included."""
        return Bounds.union([self.outline.bounds().grown(self.waste), self.bounds()])

    def moved(self, place: Affine) -> Piece:
        """Return the piece at a rigid `place`."""
        # A direction goes by the turn alone.
        turn = place._replace(e=0.0, f=0.0)
        return replace(
            self,
            outline=self.outline.moved(place),
            inner=tuple(shape.moved(place) for shape in self.inner),
            marks=tuple(m.moved(place) for m in self.marks),
            true_edges=tuple(e.moved(place) for e in self.true_edges),
            angles=tuple(a.moved(place) for a in self.angles),
            dimensions=tuple(d.moved(place) for d in self.dimensions),
            forward=None if self.forward is None else turn.point(self.forward),
        )

    def cuts(self) -> tuple[Path | Circle, ...]:
        """Return every cut line, the outline last: a machine makes the holes first."""
        return (*self.inner, self.outline)


class Joined(Struct, frozen=True, kw_only=True):
    """Pieces that are put together in a row, and are measured as one: the tiles of a strip.

    Each part may be true and all of them together too long, so the whole has a length of its own.

    Attributes:
        name: file-name safe and unlike that of any piece, e.g. ``strip``.
        title: as it is called in lists, e.g. ``STRIP, joined``.
        parts: for each piece in the row its name, and the name of its check dimension that is its
            share of the whole.
        how: to measure the whole, in words.
        allowed_length: largest error of the whole, mm.
    """

    name: str
    title: str
    parts: tuple[tuple[str, str], ...]
    how: str
    allowed_length: float


def digits(words: Iterable[str]) -> str:
    """Return 16 hexadecimal digits that stand for some words: the first of a SHA-256."""
    return hashlib.sha256("|".join(words).encode()).hexdigest()[:16]


def _shape_mark(piece: Piece) -> str:
    """Return what stands for what a piece is; bars are not what it is.

    Places count to a tenth of a micrometre: the same on every machine, whatever the last digit of a
    sine.
    """
    words = [piece.kind]
    for shape in (piece.outline, *piece.inner):
        words += _said(shape)
    words += [f"{angle.name} {angle.nominal:.5f}" for angle in piece.angles]
    words += [f"{d.name} {d.nominal:.4f}" for d in piece.dimensions if not d.is_bar]
    words += [piece.shows] if piece.shows else []
    return digits(words)


def _said(shape: Path | Circle) -> Iterator[str]:
    if isinstance(shape, Circle):
        yield f"o {shape.centre.x:z.4f} {shape.centre.y:z.4f} {shape.radius:z.4f}"
        return
    for edge in shape.edges:
        yield f"- {edge.start.x:z.4f} {edge.start.y:z.4f} {edge.bulge:z.6f}"
