"""Angle guide: the corner of card or ply that shows the drill direction on a skin.

It stands on the skin beside the hole, square to the edge, and the eye lines the bit up with its
upright edge. One edge serves with the guide standing forward of the hole, the other with it
standing aft; both are parallel to the drill axis, so one piece shows both.

If it were wrong, every hole drilled by it would come out beside the punched hole of the far skin.
A guide the wrong way round is as bad as a wrong guide: so the outline itself is lopsided, and its
high corner always points forward.

::

                     ______------|        high corner: FORWARD
                    |   (O)     o|        finger hole, hang hole
        D ___cut-back            |cut-back___ E
         /                                  /
        /                                  /
       /  working edge                    /   working edge
      /   (guide forward of the hole)    /    (guide aft of the hole)
     C                                  F
      ) relief                         ( relief
       A_________________|  |_________B        base: sits on the skin
                         slot for the foot
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import (
    Line,
    along_edge,
    block_arrow,
    check_edge_marks,
    fitted_height,
    text_block,
    wrapped,
    witness_band,
)
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Anchor, Bounds, Circle, Edge, Mark, Op, Path, Text
from jiggen.errors import DoesNotFit

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
#: mm. Clear room between a pin and anything of the jig.
PIN_CLEARANCE = 1.0
#: mm. Widest and narrowest foot; below it the guide tips.
FOOT_WIDTH = 60.0
FOOT_WIDTH_MIN = 24.0
FOOT_HEIGHT = 30.0
#: mm. With less of the base on the skin a guide no longer stands by itself.
BASE_ON_SKIN_MIN = 15.0
#: mm. Length of each of the two feet on a curved skin, and the gap under the arch between them.
PAD = 4.0
ARCH = 1.5
#: mm. How far a curved-skin guide is cut back above the skin beyond its far foot.
STEP = 10.0
#: mm. Shortest edge that shows half a degree as a quarter of a millimetre.
EDGE_MIN = 30.0


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


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideLabels:
    """What is lettered on a guide.

    Attributes:
        job: name of the job.
        title: name of the piece.
        side: name of the skin it stands on.
        holes: the holes that it serves.
        face: which way the lettered face looks.
        extra: more lines, most important first.
    """

    job: str
    title: str
    side: str
    holes: str
    face: str
    extra: tuple[str, ...] = field(default=())


def build_guide(
    name: str,
    angle: float,
    bit: float,
    sizes: GuideSizes,
    labels: GuideLabels,
    *,
    pitch: float | None = None,
    mirrored: bool = False,
    feet: tuple[float, float] | None = None,
    side: str = "",
    notes: tuple[str, ...] = (),
) -> Piece:
    """Build one angle guide.

    Args:
        name: file name of the piece.
        angle: forward guide angle in degrees: between the skin, going forward, and the drill axis.
        bit: diameter of the drill, mm.
        sizes: see `GuideSizes`.
        labels: see `GuideLabels`.
        pitch: smallest distance between neighbouring holes, mm; None where there is one hole.
        mirrored: forward is to the left (side B, seen from the same end of the span).
        feet: for a curved skin, the middles of the two feet, mm from the corner along their
            common line; the guide then has a forward edge only.
        side: ``a``, ``b`` or ``ab``.
        notes: sentences for the cover page.

    Returns:
        The piece; its base lies along x.

    Raises:
        DoesNotFit: the sizes leave no guide that could be trusted; says which and what would do.
    """
    _refuse_impossible(sizes, bit, pitch)
    corner = _Corner(angle, bit, sizes, feet)
    place = Affine.mirror_x() if mirrored else Affine()
    outline = corner.outline().moved(place)
    inner = tuple(m.moved(place) for m in _holes(corner))
    angles = tuple(a.moved(place) for a in corner.check_angles())
    sized = tuple(d.moved(place) for d in corner.check_dimensions())
    bars, bar_sizes, label_box = _bars(corner, place)
    marks = (
        *bars,
        *_lettering(corner, labels, label_box, place),
        *_edge_labels(corner, angles, mirrored),
        *_corner_letters(corner, place),
        *(
            witness_band(edge, waste_left=left != mirrored)
            for edge, left in _checked_edges(corner, angles)
        ),
    )
    return Piece(
        name=name,
        title=labels.title,
        kind="guide",
        outline=outline.reversed() if mirrored else outline,
        inner=inner,
        marks=marks,
        angles=angles,
        dimensions=(*sized, *bar_sizes),
        side=side,
        notes=notes,
        count=sizes.layers,
    )


def build_foot(
    name: str, bit: float, sizes: GuideSizes, job: str, *, pitch: float | None = None
) -> Piece:
    """Build the foot that slides across any straight guide and keeps it from tipping.

    It stands clear of the pinned row and bridges it where the guide is long enough; else it is
    made narrow enough to stand between two pins.

    Args:
        name: file name of the piece.
        bit: diameter of the drill, mm.
        sizes: those of the guides.
        job: name of the job.
        pitch: smallest distance between neighbouring holes, mm, or None.

    Returns:
        The piece; its base lies along x.

    Raises:
        DoesNotFit: no foot wide enough to be of use fits between the pins.
    """
    width = foot_width(bit, sizes, pitch)
    half, height = width / 2, FOOT_HEIGHT
    slot = (sizes.stock * sizes.layers + LAP_FIT) / 2
    right = half - 3 - pair_room()
    outline = Path.closed(
        [
            (-half, 0),
            (half, 0),
            (half, height),
            (slot, height),
            (slot, LAP),
            (-slot, LAP),
            (-slot, height),
            (-half, height),
        ]
    )
    lying, lying_sizes = bar_pair(Bounds(-half + 2, 1.6, half - 10.5, LAP - 1.5))
    standing, standing_sizes = bar_pair(
        Bounds(half - 2 - pair_room(), 1.6, half - 2, height - 1.6), along_y=True
    )
    words = (
        *text_block(
            Bounds(-half + 2, LAP + 1, -slot - 1.5, height - 1.2),
            [Line(text="FOOT", height=3.5, bold=True), Line(text="fits every guide", height=2.2)],
        ),
        *text_block(
            Bounds(slot + 1.5, LAP + 1, right, height - 1.2),
            [*wrapped(job, 2.3, right - slot - 1.5, most=4)],
        ),
    )
    return Piece(
        name=name,
        title="Foot",
        kind="foot",
        outline=outline,
        marks=(*lying, *standing, *words),
        dimensions=(
            CheckDimension(
                name="width",
                nominal=width,
                start=Point(-half, 0),
                end=Point(half, 0),
                how="over the two ends",
            ),
            CheckDimension(
                name="height",
                nominal=height,
                start=Point(-half, 0),
                end=Point(-half, height),
                how="base to top",
            ),
            *lying_sizes,
            *standing_sizes,
        ),
        side="ab",
        notes=("slides into the slot in the base of every guide, square to it",),
    )


def foot_width(bit: float, sizes: GuideSizes, pitch: float | None) -> float:
    """Return how wide the foot may be in mm.

    Args:
        bit: diameter of the drill, mm.
        sizes: those of the guides.
        pitch: smallest distance between neighbouring holes, mm, or None.

    Raises:
        DoesNotFit: less than `FOOT_WIDTH_MIN` is left between the pins.
    """
    from_row = sizes.foot / 2 + bit / 2 - sizes.stock / 2
    if pitch is None or from_row >= sizes.pin / 2 + PIN_CLEARANCE:
        return FOOT_WIDTH
    width = min(FOOT_WIDTH, 2 * (pitch - sizes.pin / 2 - PIN_CLEARANCE))
    if width < FOOT_WIDTH_MIN:
        raise DoesNotFit(
            f"the foot would be {width:.1f} mm wide between pins of {sizes.pin:g} mm at a pitch of "
            f"{pitch:g} mm, and tips below {FOOT_WIDTH_MIN:g} mm",
            key="guide.foot",
            given=f"{sizes.foot:g} mm",
            remedy=f"a guide.foot of {sizes.pin + 2 * PIN_CLEARANCE + sizes.stock:.0f} mm or more "
            "stands clear of the pins",
        )
    return width


def _refuse_impossible(sizes: GuideSizes, bit: float, pitch: float | None) -> None:
    cut_back = sizes.chuck / 2 - bit / 2 + CHUCK_CLEARANCE
    least = 2 * max(cut_back, 0.0) + TOWER_MIN
    if sizes.foot < max(least, 40.0):
        raise DoesNotFit(
            f"a guide with a foot of {sizes.foot:g} mm has no top left beside a chuck of "
            f"{sizes.chuck:g} mm",
            key="guide.foot",
            given=f"{sizes.foot:g} mm",
            remedy=f"{math.ceil(max(least, 40.0))} mm or more",
        )
    if sizes.edge < EDGE_MIN:
        raise DoesNotFit(
            "the working edge is too short to show half a degree",
            key="guide.edge",
            given=f"{sizes.edge:g} mm",
            remedy=f"{EDGE_MIN:g} mm or more",
        )
    if sizes.height < sizes.edge + FINGER_HOLE + BEAK:
        raise DoesNotFit(
            "the guide is not tall enough for a finger hole above its working edges",
            key="guide.height",
            given=f"{sizes.height:g} mm",
            remedy=f"{sizes.edge + FINGER_HOLE + BEAK:g} mm or more, or a shorter guide.edge",
        )
    if not 1.0 <= sizes.relief <= min(8.0, sizes.edge / 6):
        raise DoesNotFit(
            "the relieved corner leaves no trustworthy edge, or no room for a burr",
            key="guide.relief",
            given=f"{sizes.relief:g} mm",
            remedy=f"1 mm to {min(8.0, sizes.edge / 6):.1f} mm",
        )
    if pitch is None:
        return
    room = 2 * (pitch - sizes.pin / 2 - PIN_CLEARANCE)
    thick = sizes.stock * sizes.layers
    if thick > room:
        raise DoesNotFit(
            f"a guide {thick:g} mm thick does not fit between pins of {sizes.pin:g} mm at a pitch "
            f"of {pitch:g} mm, which leave {max(room, 0.0):.1f} mm",
            key="guide.pin",
            given=f"{sizes.pin:g} mm",
            remedy="drill with every other hole pinned, thinner pins, or thinner stock",
        )


class _Corner:
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


def _holes(corner: _Corner) -> tuple[Mark, ...]:
    """Return the finger hole and, where it fits, the hang hole."""
    forward, aft = corner.beak()
    left, right = corner.tower_left, corner.tower_right
    middle = Point(
        (left.x + right.x + aft.x + forward.x) / 4, (left.y + right.y + aft.y + forward.y) / 4
    )
    wide = right.x - left.x
    radius = min(FINGER_HOLE, wide - 8.0) / 2
    hang = Point(forward.x - 5.0 - HANG_HOLE / 2, forward.y - 5.0 - HANG_HOLE / 2)
    marks = []
    if math.dist(hang, middle) < radius + HANG_HOLE / 2 + 3.0:
        # Make room: the hand wins over the nail only where both cannot be had.
        shifted = Point(middle.x - 6.0, middle.y - 0.8)
        if wide >= FINGER_HOLE + HANG_HOLE + 18.0:
            middle = shifted
    marks.append(Mark(shape=Circle(middle, radius), op=Op.CUT))
    if math.dist(hang, middle) >= radius + HANG_HOLE / 2 + 3.0 and wide > 24.0:
        marks.append(Mark(shape=Circle(hang, HANG_HOLE / 2), op=Op.CUT))
    return tuple(marks)


def _flipped(box: Bounds, place: Affine) -> Bounds:
    """Return the box where `place` (identity or mirror image) takes it."""
    return Bounds.around([place.point((box.left, box.bottom)), place.point((box.right, box.top))])


def _bars(
    corner: _Corner, place: Affine
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...], Bounds]:
    """Return bars, their dimensions, and the room that is left for lettering."""
    box = corner.free_box()
    across = pair_room()
    above_slot = LAP + 1.0 if corner.feet is None else STEP + 1.0
    column = Bounds(box.right - across, box.bottom, box.right, box.top)
    row = Bounds(box.left, above_slot, box.right - across - 0.8, above_slot + across)
    standing, standing_sizes = bar_pair(_flipped(column, place), along_y=True)
    lying, lying_sizes = bar_pair(_flipped(row, place))
    free = Bounds(box.left, row.top + 0.6, column.left - 0.8, box.top)
    return (*standing, *lying), (*standing_sizes, *lying_sizes), free


def _lettering(
    corner: _Corner, labels: GuideLabels, box: Bounds, place: Affine
) -> tuple[Mark, ...]:
    """Return the name block, and the arrows FORWARD and TE in the base row."""
    lines = [
        Line(text=f"{corner.angle:.2f}°  {labels.title}", height=4.6, bold=True),
        Line(text=f"{labels.side}, {labels.holes}", height=3.2),
        *wrapped(labels.job, 2.6, box.width),
        Line(text=labels.face, height=2.3),
        *(Line(text=text, height=2.1) for text in labels.extra),
    ]
    words = text_block(_flipped(box, place), lines)
    if len(words) < 4:
        raise DoesNotFit(
            f"{labels.title} has no room for its lettering at {corner.angle:.1f} deg",
            key="guide.foot",
            given=f"{corner.sizes.foot:g} mm",
            remedy=f"{corner.sizes.foot + 20:g} mm would do",
        )
    free = corner.free_box()
    low, high = 3.2, LAP - 1.2
    if corner.feet is not None:
        low, high = ARCH + 2.8, STEP - 0.6
    first = max(corner.A.x + 6.0, 8.0)
    last = free.right - pair_room() - 1.6 if corner.feet is None else corner.B.x - 2.0
    x, half = corner.slot if corner.feet is None else ((first + last) / 2, 0.0)
    left = Bounds(first, low, x - half - 1.6, high)
    right = Bounds(x + half + 1.6, low, last, high)
    forward_right = place.a > 0
    return (
        *words,
        *_named_arrow(_flipped(left, place), "TE", points_right=not forward_right),
        *_named_arrow(_flipped(right, place), "FORWARD", points_right=forward_right),
    )


def _named_arrow(box: Bounds, name: str, *, points_right: bool) -> tuple[Mark, ...]:
    """Return a word and an arrow beside it, the arrow on the side it points to."""
    height = fitted_height(
        Line(text=name, height=min(2.6, box.height * 0.55), bold=True), max(box.width - 6.4, 1.0)
    )
    words = text_block(
        Bounds(box.left, box.bottom, box.right, box.bottom + box.height),
        [Line(text=name, height=height, bold=True)],
        anchor=Anchor.START if points_right else Anchor.END,
    )
    if not words:
        return ()
    edge = words[0].bounds()
    y = (box.bottom + box.top) / 2
    shape = words[0].shape
    assert isinstance(shape, Text)
    words = (
        Mark(
            shape=Text(
                Point(shape.at.x, y - shape.height / 2),
                name,
                shape.height,
                anchor=shape.anchor,
                bold=True,
            ),
            op=Op.ENGRAVE,
        ),
    )
    tall = min(box.height, 4.4)
    if points_right:
        room = Bounds(edge.right + 1.2, y - tall / 2, min(box.right, edge.right + 11), y + tall / 2)
    else:
        room = Bounds(max(box.left, edge.left - 11), y - tall / 2, edge.left - 1.2, y + tall / 2)
    return (*words, *block_arrow(room, points_right=points_right))


def _checked_edges(
    corner: _Corner, angles: tuple[CheckAngle, ...]
) -> tuple[tuple[Edge, bool], ...]:
    """Return each check edge once, with whether the waste is to its left before mirroring."""
    edges = [(angles[0].working, True), (angles[0].base, False)]
    if len(angles) > 1:
        edges.append((angles[1].working, False))
    return tuple(edges)


def _edge_labels(
    corner: _Corner, angles: tuple[CheckAngle, ...], mirrored: bool
) -> tuple[Mark, ...]:
    """Return the check-edge triangles and what each working edge is for."""
    marks: list[Mark] = []
    for edge, waste_left in _checked_edges(corner, angles):
        if edge is angles[0].base and corner.feet is not None:
            continue
        marks += check_edge_marks(edge, inside_left=waste_left == mirrored)
    if corner.feet is not None:
        for near, far in ((corner.A.x, corner.A.x + PAD), (corner.B.x - PAD, corner.B.x)):
            pad = Edge(Point(near, 0.0), Point(far, 0.0))
            place = Affine.mirror_x() if mirrored else Affine()
            marks += check_edge_marks(pad.moved(place), inside_left=not mirrored, at=(0.5,))
    forward = angles[0]
    marks += along_edge(
        forward.working,
        f"guide forward  {forward.nominal:.2f}°",
        2.2,
        inside_left=mirrored,
    )
    if len(angles) > 1:
        aft = angles[1]
        marks += along_edge(
            aft.working,
            f"guide aft  {aft.nominal:.2f}°",
            2.2,
            inside_left=not mirrored,
        )
    else:
        plain = Edge(corner.along(STEP / corner.up.y, corner.foot), corner.E).moved(
            Affine.mirror_x() if mirrored else Affine()
        )
        marks += along_edge(plain, "not a check edge", 2.0, inside_left=not mirrored)
    return tuple(marks)


def _corner_letters(corner: _Corner, place: Affine) -> tuple[Mark, ...]:
    """Return the letters by which the check dimensions name the corners."""
    size = 1.9
    spots = {
        "A": (corner.A.x + 1.9, 1.0),
        "B": (corner.B.x - 1.9, 1.0),
        "C": (corner.C.x + 2.1, corner.C.y + 1.0),
        "D": (corner.D.x + 2.1, corner.D.y - 1.8 - size),
    }
    spots["E"] = (corner.E.x - 2.1, corner.E.y - 1.4 - size)
    spots["F"] = (corner.F.x - 2.1, corner.F.y + 1.0)
    if corner.feet is not None:
        spots["A"], spots["B"] = (corner.A.x + 5.4, 2.4), (corner.B.x - 5.4, 2.4)
        del spots["E"], spots["F"]
    return tuple(
        Mark(shape=Text(place.point(at), letter, size, anchor=Anchor.MIDDLE), op=Op.ENGRAVE)
        for letter, at in spots.items()
    )
