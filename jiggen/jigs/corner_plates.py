"""The corner guide's plates: where they stand, what their slots' play does, their shapes.

Letters as in the picture of `jiggen.jigs.corner_guide`.

A plate's base is cut square through the sheet. On a face that slopes across the plate it touches
the skin along one of its two lower edges only; every base is placed so that those edges lie in one
plane.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.piece import CheckAngle, CheckDimension
from jiggen.drawing.shapes import Edge, Path
from jiggen.errors import DoesNotFit
from jiggen.jigs.corner import BEAK, CHUCK_CLEARANCE, LAP
from jiggen.jigs.lamination import bore_tilt
from jiggen.jigs.pins import PIN_CLEARANCE, room_between
from jiggen.units import Length, or_more, size, words

#: mm. How far the cheek reaches aft past the bit.
TAIL = 3.0
#: mm. Length of the slope up to the high corner.
BEAK_LENGTH = 12.0
#: mm. How much the forward corner stands above the aft one, square to the skin: seen at a glance.
ABOVE_AFT = 4.0
#: Where the cross plate stands along the stop, as a share of its foot: near its middle.
CROSS_AT = 0.47
#: mm. Least material of a chordwise plate forward of its slot.
FORWARD_LEAST = 14.0
#: mm. A shorter plate has no room for its name and a bar.
FOOT_LEAST = 65.0
#: mm. A slot that holds less of a plate lets it nod.
ENGAGED_LEAST = 20.0
#: Degrees. On a steeper skin the plates have no room for a slot and lettering.
STEEPEST = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerSizes:
    """Sizes of a corner guide in mm.

    Attributes:
        height: of the corner above the skin, along the drill axis.
        foot: length of the stop's base along the skin, its relieved corner counted, and of the
            cross plate's.
        fit: what a slot is wider than the sheet in it.
        stock: thickness of the sheet.
        relief: how far the corner is cut back above the skin, for burr and chips.
        pin: diameter of a sheet-holding pin's body.
        chuck: outside diameter of the chuck.
    """

    height: float
    foot: float
    fit: float
    stock: float
    relief: float
    pin: float
    chuck: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """What the slots' play does to the bit, each with the worst that it can be.

    Attributes:
        chordwise: radians. Stop and base are one plate, so only a stop that stands askew in the
            slots counts.
        spanwise: radians: play by the length of cheek and stop that the cross plate's slot holds.
        askew: how far the plates may stand askew to one another, seen from above, radians.
    """

    chordwise: float
    spanwise: float
    askew: float

    @property
    def both(self) -> float:
        """Return the lean of the bit from both together, radians."""
        return math.hypot(self.chordwise, self.spanwise)


class Standing:
    """The plates as they stand on a skin, in plumb coordinates: along x or y, and up the axis.

    The bit's axis goes through (0, 0), where the skin has height 0. x forward, y along the edge
    away from hole 1; the plates stand on the side of larger y.
    """

    def __init__(self, skin: float, rise: float, bit: float, sizes: CornerSizes) -> None:
        """Place the plates.

        Args:
            skin: the skin angle, radians.
            rise: how the skin rises along the span, ratio.
            bit: diameter of the drill, mm.
            sizes: see `CornerSizes`.
        """
        r, t = bit / 2, sizes.stock
        self.sizes, self.skin, self.rise, self.radius = sizes, skin, rise, r
        self.slope = math.tan(skin)
        #: The stop lies from r - t to r, the cheek from there to r + t. A bit that is thicker than
        #: two stops touches the stop's arris, not its edge.
        self.edge = r if t >= r else math.sqrt(r * r - (r - t) ** 2)
        self.tail = -(r + TAIL)
        self.end = self.edge + sizes.foot * math.cos(skin)
        self.cross = max(
            self.edge + CROSS_AT * sizes.foot * math.cos(skin),
            sizes.pin / 2 + PIN_CLEARANCE,
            sizes.chuck / 2 + CHUCK_CLEARANCE,
        )
        touch_y = r + t if rise > 0 else r - t
        touch_x = self.cross + t if self.slope > 0 else self.cross
        self._under_chord = rise * touch_y
        self._under_cross = self.slope * touch_x
        self.slot_at = self.cross + t / 2
        self.meet = self.floor(self.slot_at) + LAP

    def floor(self, x: float) -> float:
        """Return the height of the stop's and the cheek's base at x, mm."""
        return self.slope * x + self._under_chord

    def cross_floor(self, y: float) -> float:
        """Return the height of the cross plate's base at y, mm."""
        return self.rise * y + self._under_cross

    @property
    def engaged(self) -> float:
        """Return the length of cheek and stop that the cross plate's slot holds, mm."""
        return self.sizes.height - self.meet - self.sizes.fit / 2

    def play(self) -> Play:
        """Return what the slots' play does to the bit.

        Source: derived, see DEVELOPERS.md, Corner guide.
        """
        s = self.sizes
        askew = math.atan2(s.fit, 2 * s.stock)
        return Play(
            chordwise=max(
                abs(
                    math.atan(self.slope * math.cos(askew) + way * self.rise * math.sin(askew))
                    - self.skin
                )
                for way in (1, -1)
            ),
            spanwise=bore_tilt(s.fit, self.engaged),
            askew=askew,
        )


def refuse_impossible(standing: Standing, pitch: float | None) -> None:
    """Refuse a corner guide that could not be used.

    Args:
        standing: its plates.
        pitch: smallest distance between neighbouring holes, mm, or None.

    Raises:
        DoesNotFit: which size is at fault, and what would do.
    """
    s, degrees, cos = standing.sizes, math.degrees(standing.skin), math.cos(standing.skin)
    if abs(degrees) > STEEPEST:
        raise DoesNotFit(
            f"a corner guide on a skin of {degrees:.1f} deg has no room for its slots",
            key="corner",
            given=f"{degrees:.1f} deg",
            remedy=f"use the angle guide; corner guides go to {STEEPEST:g} deg",
        )
    spare = standing.end - standing.cross - s.stock - FORWARD_LEAST
    if spare < 0.0:
        raise DoesNotFit(
            words(
                "the cross plate has to stand {cross} forward of the hole, clear of chuck and "
                "pins, and too little of the plates is left forward of it",
                cross=Length(standing.cross, 1),
            ),
            key="corner.foot",
            given=size(s.foot),
            remedy=words(
                "{foot_least} or more",
                foot_least=or_more(
                    math.ceil(max(s.foot - spare / ((1 - CROSS_AT) * cos), FOOT_LEAST))
                ),
            ),
        )
    if s.foot < FOOT_LEAST:
        raise DoesNotFit(
            "the plates of a corner guide are too short to be lettered, and stand unsteadily",
            key="corner.foot",
            given=size(s.foot),
            remedy=words("{foot_least} or more", foot_least=or_more(FOOT_LEAST)),
        )
    if standing.engaged < ENGAGED_LEAST:
        raise DoesNotFit(
            words(
                "the cross plate's slot would hold {engaged} of the cheek, which nods in it",
                engaged=Length(max(standing.engaged, 0.0), 1),
            ),
            key="corner.height",
            given=size(s.height),
            remedy=words(
                "{engaged} or more",
                engaged=or_more(math.ceil(s.height + ENGAGED_LEAST - standing.engaged)),
            ),
        )
    if pitch is None:
        return
    room = room_between(s.pin, pitch)
    if 2 * (standing.radius + s.stock) > room:
        raise DoesNotFit(
            words(
                "a cheek of {stock} beside a bit of {radius} touches the next pin: pins of {pin} "
                "at a pitch of {pitch} leave {room} beside the hole",
                stock=size(s.stock),
                radius=size(2 * standing.radius),
                pin=size(s.pin),
                pitch=size(pitch),
                room=Length(room / 2, 1),
            ),
            key="guide.pin",
            given=size(s.pin),
            remedy="drill with every other hole pinned, thinner pins, or thinner sheet",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """One flat plate, its base along x and its own left end at the origin, seen as it is lettered.

    Attributes:
        outline: the cut line, before it is mirrored.
        spots: named corners, mm.
        angles: check angles.
        dimensions: check dimensions.
        degrees: the angle that it is cut to.
    """

    outline: Path
    spots: dict[str, Point]
    angles: tuple[CheckAngle, ...]
    dimensions: tuple[CheckDimension, ...]
    degrees: float


def chordwise_plate(standing: Standing, *, cheek: bool) -> Plate:
    """Return the stop or the cheek, forward to the right.

    Args:
        standing: the plates as they stand.
        cheek: the cheek; else the stop.
    """
    s, w = standing, (standing.sizes.stock + standing.sizes.fit) / 2
    relief, top = s.sizes.relief, s.sizes.height
    degrees = 90.0 - math.degrees(s.skin)
    start = s.edge + relief * math.cos(s.skin)
    back = s.tail if cheek else s.edge
    slot_top = s.meet + s.sizes.fit / 2
    plumb = {
        "A": (start, s.floor(start)),
        "B": (s.end, s.floor(s.end)),
        "C": (back, s.floor(back) + relief),
        "D": (back, top),
        "beak": (s.end, top + _beak(s)),
        "shoulder": (s.end - BEAK_LENGTH, top),
        "step": (start, s.floor(start) + relief),
        "slot-aft": (s.slot_at - w, s.floor(s.slot_at - w)),
        "slot-aft-top": (s.slot_at - w, slot_top),
        "slot-forward-top": (s.slot_at + w, slot_top),
        "slot-forward": (s.slot_at + w, s.floor(s.slot_at + w)),
    }
    at = _laid(plumb, math.degrees(s.skin))
    slot = ("slot-aft", "slot-aft-top", "slot-forward-top", "slot-forward")
    walk: list[tuple[float, ...]] = [
        tuple(at[k]) for k in ("A", *slot, "B", "beak", "shoulder", "D")
    ]
    walk += (
        [tuple(at["C"]), tuple(at["step"])]
        if cheek
        else [(*at["C"], math.tan(-math.radians(degrees) / 4))]
    )
    return Plate(
        outline=Path.closed(walk),  # type: ignore[arg-type]
        spots=at,
        angles=(_angle("forward", degrees, at["A"], at["B"], at["C"], at["D"]),),
        dimensions=(
            *(_over(at, p, q) for p, q in ("AB", "AD", "BD", "BC", "CD")),
            _sized("slot", at["slot-aft"], at["slot-forward"], "width of the slot at the base"),
        ),
        degrees=degrees,
    )


def cross_plate(standing: Standing) -> Plate:
    """Return the cross plate, the last hole to the right.

    Args:
        standing: the plates as they stand.
    """
    s, w = standing, (2 * standing.sizes.stock + standing.sizes.fit) / 2
    top, half = s.sizes.height, s.sizes.foot * math.cos(math.atan(s.rise)) / 2
    middle, slot_floor = s.radius, s.meet - s.sizes.fit / 2
    low, high = middle - half, middle + half
    plumb = {
        "A": (low, s.cross_floor(low)),
        "B": (high, s.cross_floor(high)),
        "beak": (high, top + BEAK),
        "shoulder": (high - BEAK_LENGTH, top),
        "slot-far-top": (middle + w, top),
        "slot-far": (middle + w, slot_floor),
        "F": (middle - w, slot_floor),
        "E": (middle - w, top),
        "D": (low, top),
    }
    lean = math.degrees(math.atan(s.rise))
    at, degrees = _laid(plumb, lean), 90.0 - lean
    around = ("A", "B", "beak", "shoulder", "slot-far-top", "slot-far", "F", "E", "D")
    return Plate(
        outline=Path.closed([at[k] for k in around]),
        spots=at,
        angles=(
            _angle("lean", degrees, at["A"], at["B"], at["A"], at["D"]),
            _angle("slot", degrees, at["A"], at["B"], at["F"], at["E"]),
        ),
        dimensions=(
            *(_over(at, p, q) for p, q in ("AB", "AD", "BD", "DE", "AE")),
            *(
                _sized(f"{p}-F", at[p], at["F"], f"corner {p} to the slot's inner corner F")
                for p in "AD"
            ),
            _sized("slot", at["E"], at["slot-far-top"], "width of the slot at the top"),
        ),
        degrees=degrees,
    )


def _beak(standing: Standing) -> float:
    """Return the rise to the high corner, mm: on a rising skin the aft corner comes up.

    The cheek is the longer plate, and its corner is flush with the stop's.
    """
    falls = (standing.end - standing.tail) * math.sin(standing.skin)
    return max(BEAK, (ABOVE_AFT + falls) / math.cos(standing.skin))


def _laid(plumb: dict[str, tuple[float, float]], slope: float) -> dict[str, Point]:
    """Return plumb points with A at the origin and the base along x."""
    x, y = plumb["A"]
    place = Affine.turn(-slope) @ Affine.move(-x, -y)
    return {name: place.point(p) for name, p in plumb.items()}


def _angle(name: str, degrees: float, a: Point, b: Point, low: Point, high: Point) -> CheckAngle:
    return CheckAngle(name=name, nominal=degrees, base=Edge(a, b), working=Edge(low, high))


def _over(at: dict[str, Point], p: str, q: str) -> CheckDimension:
    return _sized(f"{p}-{q}", at[p], at[q], f"over corners {p} and {q}")


def _sized(name: str, start: Point, end: Point, how: str) -> CheckDimension:
    return CheckDimension(name=name, nominal=math.dist(start, end), start=start, end=end, how=how)
