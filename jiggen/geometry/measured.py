"""Each way to know the skin angles, one function a form.

Every form ends as the slopes of the two faces off the chord plane, and where thicknesses were
measured also as the rear heights and the width. Beside each slope stands what a small error in
each reading does to the angle (`effects`), so that formula and error are read together.

Two formulas go by "included angle": symmetric about the chord plane, 2 atan(dt/(2 w)), which is
meant here everywhere; and one face square to the drill, atan(dt/w), which is not.

Along a rib of a swept edge, at L to the square, a face rises by tan a cos L + q sin L for each
mm, q being its rise along the span. tan a = tan(rib) / cos L is exact where q = 0; on a wedge
that tapers too it is off by q tan L, which a shop check tells where it counts.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from jiggen.errors import ImpossibleWedge
from jiggen.geometry.frame import square_to_edge
from jiggen.geometry.wedge import Station
from jiggen.units import Length, or_less, size, words

Effects = Mapping[str, tuple[float, float]]

MOST_SWEEP = math.radians(75.0)
"""Most sweep, radians, that a rib measurement can be turned square to the edge from."""


class Measured(Struct, frozen=True, kw_only=True):
    """What one station's readings say."""

    slope_a: float  # tan of skin angle A, ratio
    slope_b: float  # tan of skin angle B, ratio
    rear_a: float | None = None  # height of face A off the chord plane at the trailing edge, mm
    rear_b: float | None = None  # the same for face B, mm
    # distance along the chord between the front and the rear reading, mm, or None; from the
    # trailing edge to the front reading once the rear is carried there
    width: float | None = None
    # for each reading the change of (skin angle A, skin angle B) in radians for a change of one mm,
    # radian or ratio of that reading
    effects: Effects = field(default_factory=dict)
    # for each reading the change of the rear thickness in mm, the same way
    rear_effects: Mapping[str, float] = field(default_factory=dict)

    def station(
        self,
        at: float,
        *,
        rear: tuple[float, float] | None = None,
        plus_minus: tuple[float, float] | None = None,
    ) -> Station:
        """Return the station that these readings make.

        Args:
            at: position along the span, mm.
            rear: heights of face A and face B at the trailing edge, mm, where the readings do not
                give their own, or in their stead.
            plus_minus: uncertainty of skin angle A and of skin angle B, radians.

        Raises:
            ImpossibleWedge: no wedge can have these angles.

        Source: definition.
        """
        rear_a, rear_b = rear if rear is not None else (self.rear_a, self.rear_b)
        pm_a, pm_b = plus_minus if plus_minus is not None else (None, None)
        return Station(
            at=at,
            slope_a=self.slope_a,
            slope_b=self.slope_b,
            rear_a=rear_a,
            rear_b=rear_b,
            width=self.width,
            plus_minus_a=pm_a,
            plus_minus_b=pm_b,
        )


def from_included_angle(angle: float) -> Measured:
    """Turn one angle between the skins, symmetric about the chord plane, into face slopes.

    Args:
        angle: included angle, radians.

    Source: definition, symmetric about the chord plane.
    """
    slope = math.tan(_in_reach(angle / 2.0))
    return Measured(slope_a=slope, slope_b=slope, effects={"angle": (0.5, 0.5)})


def from_skin_angles(a: float, b: float) -> Measured:
    """Turn the two angles between the skins and the chord plane into face slopes.

    Args:
        a: skin angle A, radians.
        b: skin angle B, radians; one of them may be 0 (the one-sided wedge).

    Source: definition.
    """
    return Measured(
        slope_a=math.tan(_in_reach(a)),
        slope_b=math.tan(_in_reach(b)),
        effects={"a": (1.0, 0.0), "b": (0.0, 1.0)},
    )


def from_thickness(front: float, rear: float, width: float, along: str = "chord") -> Measured:
    """Turn a front and a rear thickness into face slopes, symmetric about the chord plane.

    Args:
        front: thickness at the front, mm.
        rear: thickness at the rear line, mm.
        width: distance between the two, mm, along the chord or along the sloping face.
        along: ``chord``: tan(alpha) = (front - rear)/(2 width); ``face``: sin(alpha) = the same.

    Returns:
        Slopes, rear heights (half the rear thickness each) and the width along the chord.

    Raises:
        ImpossibleWedge: no width, or a face shorter than its own rise.

    Source: right triangle; derived.
    """
    _some_width(width)
    rise = (front - rear) / 2.0
    if along == "chord":
        slope, chord_width = rise / width, width
        per_rise, per_width = _chord_effects(slope, width)
    else:
        if abs(rise) > math.sin(math.pi / 4) * width * (1.0 + 1e-9):
            raise ImpossibleWedge(
                "a skin stands steeper than 45 deg to the chord plane: "
                "the face is too short for its rise",
                given=words(
                    "front {front}, rear {rear}, width {width}",
                    front=size(front),
                    rear=size(rear),
                    width=size(width),
                ),
                remedy="check the width along the face, and its unit",
            )
        chord_width = math.sqrt(width * width - rise * rise)
        slope = rise / chord_width
        per_rise, per_width = 1.0 / chord_width, -slope / width
    return Measured(
        slope_a=slope,
        slope_b=slope,
        rear_a=rear / 2.0,
        rear_b=rear / 2.0,
        width=chord_width,
        effects={
            "front": (per_rise / 2.0, per_rise / 2.0),
            "rear": (-per_rise / 2.0, -per_rise / 2.0),
            "width": (per_width, per_width),
        },
        rear_effects={"rear": 1.0},
    )


def from_offsets(
    front_a: float, front_b: float, rear_a: float, rear_b: float, width: float
) -> Measured:
    """Turn each face's own heights off the chord plane into face slopes.

    Args:
        front_a: height of face A at the front, mm.
        front_b: height of face B at the front, mm.
        rear_a: height of face A at the rear line, mm.
        rear_b: height of face B at the rear line, mm.
        width: distance between front and rear along the chord, mm.

    Raises:
        ImpossibleWedge: no width.

    Source: right triangle; derived.
    """
    _some_width(width)
    slope_a, slope_b = (front_a - rear_a) / width, (front_b - rear_b) / width
    a_mm, a_width = _chord_effects(slope_a, width)
    b_mm, b_width = _chord_effects(slope_b, width)
    return Measured(
        slope_a=slope_a,
        slope_b=slope_b,
        rear_a=rear_a,
        rear_b=rear_b,
        width=width,
        effects={
            "front_a": (a_mm, 0.0),
            "front_b": (0.0, b_mm),
            "rear_a": (-a_mm, 0.0),
            "rear_b": (0.0, -b_mm),
            "width": (a_width, b_width),
        },
        rear_effects={"rear_a": 1.0, "rear_b": 1.0},
    )


def carried_to_edge(measured: Measured, rear_at: float, within: float = 0.0) -> Measured:
    """Carry the rear heights along the straight faces aft to the trailing edge.

    Whoever measures between drawn lines keeps the jaws off the rounded edge: the rear line then
    lies a little forward of the edge, where the wedge is thicker already::

              front line        rear line   edge
        ----------|-----------------|--------|
                  |<---- width ---->|<------>|  rear_at

    Args:
        measured: as read, with rear heights and a width.
        rear_at: how far the rear line lies forward of the trailing edge, mm, along the chord.
        within: how far below 0 the thickness there may come out and still be a sharp edge, mm.

    Returns:
        The rear heights at the trailing edge, the width from there, and what each reading does
        to the thickness there.

    Raises:
        ImpossibleWedge: the faces meet forward of the trailing edge.

    Source: derived: thickness at the edge = rear - rear_at (tan a + tan b).
    """
    if rear_at == 0.0 or measured.rear_a is None or measured.rear_b is None:
        return measured
    opening = measured.slope_a + measured.slope_b
    rear_a = measured.rear_a - rear_at * measured.slope_a
    rear_b = measured.rear_b - rear_at * measured.slope_b
    thick = rear_a + rear_b
    if thick < -within - 1e-9:
        raise ImpossibleWedge(
            words(
                "the faces meet {forward} forward of the trailing edge, the rear line lying "
                "{rear_at} forward of it",
                forward=Length(-thick / opening),
                rear_at=size(rear_at),
            ),
            key="rear_at",
            given=size(rear_at),
            remedy=words(
                "at most {most}, by the thickness at the two lines: measure again",
                most=or_less((measured.rear_a + measured.rear_b) / opening),
            ),
        )
    if thick < 0.0:  # a sharp edge, read a little thin
        rear_a, rear_b = rear_a - thick / 2.0, rear_b - thick / 2.0
    per_a, per_b = 1.0 + measured.slope_a**2, 1.0 + measured.slope_b**2
    return replace(
        measured,
        rear_a=rear_a,
        rear_b=rear_b,
        width=None if measured.width is None else measured.width + rear_at,
        rear_effects={
            name: measured.rear_effects.get(name, 0.0) - rear_at * (a * per_a + b * per_b)
            for name, (a, b) in measured.effects.items()
        },
    )


def from_readings(a: float, b: float, chord: float) -> Measured:
    """Turn level readings on face A, face B and the chord into face slopes.

    Args:
        a: reading on face A, radians, positive rising forward.
        b: reading on face B, radians, in the same frame: not turned over, positive rising forward.
        chord: reading along the chord, radians, in the same frame.

    Source: derived: differences of directions in one frame.
    """
    return Measured(
        slope_a=math.tan(_in_reach(a - chord)),
        slope_b=math.tan(_in_reach(chord - b)),
        effects={"a": (1.0, 0.0), "b": (0.0, -1.0), "chord": (-1.0, 1.0)},
    )


def from_taper_rate(rate: float) -> Measured:
    """Turn a taper (thickness gained per length) into face slopes, symmetric about the chord plane.

    Args:
        rate: thickness gained per length, ratio; 3/16 in per foot is 1/64.

    Source: included angle 2 atan(rate / 2): the taper tables of machine shops, e.g. Turning and
        Boring Tapers (1902).
    """
    slope = rate / 2.0
    effect = 0.5 / (1.0 + slope * slope)
    return Measured(slope_a=slope, slope_b=slope, effects={"rate": (effect, effect)})


def square(measured: Measured, sweep: float) -> Measured:
    """Turn what was measured along the ribs of a swept edge into the section square to the edge.

    Args:
        measured: as measured along the rib line.
        sweep: angle between the rib line and the square to the trailing edge, radians.

    Returns:
        Steeper slopes and a shorter width; thicknesses stay as they are.

    Raises:
        ImpossibleWedge: a sweep of more than 75 deg.

    Source: tan(alpha) = tan(alpha_rib)/cos(sweep), the relation of apparent to true dip in
        structural geology.
    """
    if not abs(sweep) <= MOST_SWEEP:
        raise ImpossibleWedge(
            "the ribs lie almost along the trailing edge",
            key="wedge.sweep",
            given=f"{math.degrees(sweep):.4g} deg",
            remedy="sweep is the angle between a rib and the square to the trailing edge, "
            "75 deg at most",
        )
    if sweep == 0.0:
        return measured
    slope_a = square_to_edge(measured.slope_a, sweep)
    slope_b = square_to_edge(measured.slope_b, sweep)
    gain_a = _gain(measured.slope_a, slope_a, sweep)
    gain_b = _gain(measured.slope_b, slope_b, sweep)
    return replace(
        measured,
        slope_a=slope_a,
        slope_b=slope_b,
        width=None if measured.width is None else measured.width * math.cos(sweep),
        effects={name: (a * gain_a, b * gain_b) for name, (a, b) in measured.effects.items()},
    )


def _gain(rib_slope: float, slope: float, sweep: float) -> float:
    """Return the change of the true angle for a small change of the angle along the rib."""
    return (1.0 + rib_slope * rib_slope) / (1.0 + slope * slope) / math.cos(sweep)


def _chord_effects(slope: float, width: float) -> tuple[float, float]:
    """Return the change of atan(rise/width) for 1 mm of rise and for 1 mm of width, radians."""
    flat = 1.0 / (1.0 + slope * slope)
    return flat / width, -flat * slope / width


def _in_reach(angle: float) -> float:
    """Return the angle if its tangent makes sense; a station judges the finer limits."""
    if not abs(angle) < math.radians(89.0):
        raise ImpossibleWedge(
            "a skin stands steeper than 45 deg to the chord plane",
            given=f"{math.degrees(angle):.4g} deg",
            remedy="measure each skin against the chord plane; both lie within 45 deg of it",
        )
    return angle


def _some_width(width: float) -> None:
    if not 0.0 < width < math.inf:
        raise ImpossibleWedge(
            "front and rear were measured at the same place",
            key="width",
            given=words("a width of {width}", width=size(width)),
            remedy="the width is the distance between the two measurements, more than 0",
        )
