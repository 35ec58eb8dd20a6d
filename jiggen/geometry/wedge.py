r"""`Station` and `Wedge`: slopes and thickness of the two faces anywhere along a wedge.

Two stations span a ruled wedge, as if straight threads ran from one to the other::

        station 0          station 1
          front ------------- front     fronts, rears and widths run straight
            \                   /
           rear ----------- rear        trailing edge, y ->

Where both stations were measured by thickness (fronts, rears and a width), these run straight and
the slopes follow. Where only angles are known, the slopes and the rear thickness run straight.

With s = (y - y0) / (y1 - y0), rears r, widths w, and l = front - rear of one face,

    l(s) = (1-s) l0 + s l1      w(s) = (1-s) w0 + s w1      tan a(s) = l(s) / w(s)
    d(tan a)/dy = (l' - tan a w') / w

The face rises along the span, at the hole line c, by dz/dy = r' + c d(tan a)/dy; the corner on
the side of larger y, the spanwise tilt, is 90 deg - atan(dz/dy). At an inner station it is that
of the bay toward larger y; beyond the end stations the section is held and it is 0. A skin of
sheet bends to such a surface without stretching only nearly; the faces are taken as ruled.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from jiggen.errors import ImpossibleWedge
from jiggen.geometry.frame import Array
from jiggen.units import size, words

STEEPEST = math.radians(45.0)
"""Steepest skin angle, radians: past it the piece is no trailing edge and a guide falls over."""

CLOSEST_STATIONS = 0.001
"""Least distance between two stations, mm; below it their difference means nothing."""


class Station(Struct, frozen=True, kw_only=True):
    """The wedge's section at one place along the span.

    Raises:
        ImpossibleWedge: a face steeper than 45 deg, faces that close forward or cross.
    """

    at: float  # position along the span, mm
    slope_a: float  # tan of skin angle A, ratio; positive where the section thickens forward
    slope_b: float  # tan of skin angle B, ratio
    rear_a: float | None = None  # height of face A off the chord plane at the trailing edge, mm
    rear_b: float | None = None  # height of face B off the chord plane at the trailing edge, mm
    # distance forward over which thicknesses were measured, mm, square to the trailing edge; None
    # where angles were measured
    width: float | None = None
    plus_minus_a: float | None = None  # uncertainty of skin angle A, radians
    plus_minus_b: float | None = None  # uncertainty of skin angle B, radians

    def __post_init__(self) -> None:
        """Refuse what no wedge can be."""
        angles = (math.atan(self.slope_a), math.atan(self.slope_b))
        said = " and ".join(f"{math.degrees(angle):.4g} deg" for angle in angles)
        if not all(math.isfinite(angle) for angle in (self.at, *angles)):
            raise ImpossibleWedge("a skin angle or a position is not a number", given=said)
        if max(abs(angle) for angle in angles) > STEEPEST + 1e-9:
            raise ImpossibleWedge(
                "a skin stands steeper than 45 deg to the chord plane",
                given=said,
                remedy="measure each skin against the chord plane; both lie within 45 deg of it",
            )
        if self.slope_a + self.slope_b <= 0.0:
            raise ImpossibleWedge(
                "the faces do not open forward: taper inverted, or no taper",
                given=said,
                remedy="check signs and which end is the front; the two skin angles must add up "
                "to more than 0",
            )
        if self.rear_thickness is not None and not 0.0 <= self.rear_thickness < math.inf:
            raise ImpossibleWedge(
                "the faces cross at the trailing edge",
                given=words(
                    "a rear thickness of {rear_thickness}", rear_thickness=size(self.rear_thickness)
                ),
                remedy="the rear thickness cannot be less than 0",
            )

    @property
    def angle_a(self) -> float:
        """Return skin angle A, radians."""
        return math.atan(self.slope_a)

    @property
    def angle_b(self) -> float:
        """Return skin angle B, radians."""
        return math.atan(self.slope_b)

    @property
    def rear_thickness(self) -> float | None:
        """Return the thickness at the trailing edge, mm, or None."""
        if self.rear_a is None or self.rear_b is None:
            return None
        return self.rear_a + self.rear_b


class Faces(Struct, frozen=True, kw_only=True, eq=False):
    """The two faces at n places along the span; every array has shape (n,), NaN where unknown."""

    at: Array  # positions along the span, mm
    slope_a: Array  # tan of skin angle A, ratio
    slope_b: Array  # tan of skin angle B, ratio
    rear: Array  # thickness at the trailing edge, mm
    depth: Array  # distance forward over which thicknesses were measured, mm
    slope_y_a: Array  # rise of face A along the span at the hole line, ratio
    slope_y_b: Array  # rise of face B along the span at the hole line, ratio
    plus_minus_a: Array  # uncertainty of skin angle A, radians
    plus_minus_b: Array  # uncertainty of skin angle B, radians


class Wedge(Struct, frozen=True, kw_only=True):
    """A wedge known at its stations.

    Raises:
        ImpossibleWedge: no station, or stations out of order or on top of each other.
    """

    # one for a prismatic wedge, more for a tapered one, by increasing `at`
    stations: tuple[Station, ...]
    extend: bool = False  # hold the end stations' sections beyond them

    def __post_init__(self) -> None:
        """Refuse stations that do not follow each other along the span."""
        if not self.stations:
            raise ImpossibleWedge("no station is given", key="station", remedy="give at least one")
        for number, (one, next_one) in enumerate(pairwise(self.stations), start=2):
            if next_one.at - one.at < CLOSEST_STATIONS:
                raise ImpossibleWedge(
                    "a station lies on or before the one that precedes it",
                    key=f"station[{number}].at",
                    given=words("{at} after {at2}", at=size(next_one.at), at2=size(one.at)),
                    remedy=words(
                        "stations go up along the span, at least {closest_stations} apart",
                        closest_stations=size(CLOSEST_STATIONS),
                    ),
                )

    def faces_at(self, at: Sequence[float], line: float | None = None) -> Faces:
        """Return both faces at places along the span.

        Args:
            at: positions along the span, mm, n of them; places beyond the end stations get the
                end station's section.
            line: distance of the hole line forward of the trailing edge, mm. The rise along the
                span is taken there; without it a tapered wedge has none to tell.

        Returns:
            The faces, arrays of shape (n,). At an inner station the rise along the span is that
            of the bay toward larger y.

        Source: derived: straight rulings between stations.
        """
        y = np.asarray(at, dtype=np.float64)
        if len(self.stations) == 1:
            return _prismatic(self.stations[0], y)
        return _between(self.stations, y, line)


def covers(stations_at: Sequence[float], positions: Sequence[float]) -> None:
    """Check that every hole lies between the end stations; one station covers any hole.

    Raises:
        ImpossibleWedge: some hole lies beyond an end station.

    Source: definition.
    """
    if len(stations_at) < 2 or not positions:
        return
    low, high = min(stations_at), max(stations_at)
    beyond = [number for number, y in enumerate(positions, start=1) if not low <= y <= high]
    if beyond:
        which = f"hole {beyond[0]}" if len(beyond) == 1 else f"{len(beyond)} holes"
        raise ImpossibleWedge(
            f"the stations do not reach {which}",
            key="wedge.station",
            given=words(
                "stations from {low} to {high}, holes from {positions} to {positions2}",
                low=size(low),
                high=size(high),
                positions=size(min(positions)),
                positions2=size(max(positions)),
            ),
            remedy="measure a station at or beyond the last hole, or set wedge.extend = true",
        )


def _prismatic(station: Station, y: Array) -> Faces:
    def everywhere(value: float | None) -> Array:
        return np.full_like(y, math.nan if value is None else value)

    return Faces(
        at=y,
        slope_a=everywhere(station.slope_a),
        slope_b=everywhere(station.slope_b),
        rear=everywhere(station.rear_thickness),
        depth=everywhere(station.width),
        slope_y_a=np.zeros_like(y),
        slope_y_b=np.zeros_like(y),
        plus_minus_a=everywhere(station.plus_minus_a),
        plus_minus_b=everywhere(station.plus_minus_b),
    )


def _between(stations: Sequence[Station], y: Array, line: float | None) -> Faces:
    knots = np.array([station.at for station in stations])
    low = np.clip(np.searchsorted(knots, y, side="right") - 1, 0, len(knots) - 2)
    bay = _Bays(
        low=low,
        span=knots[low + 1] - knots[low],
        share=np.clip((y - knots[low]) / (knots[low + 1] - knots[low]), 0.0, 1.0),
        outside=(y < knots[0]) | (y > knots[-1]),
    )
    width = _column([station.width for station in stations])
    slope_a, slope_y_a = _face(bay, stations, "a", width, line)
    slope_b, slope_y_b = _face(bay, stations, "b", width, line)
    return Faces(
        at=y,
        slope_a=slope_a,
        slope_b=slope_b,
        rear=bay.mix(_column([station.rear_thickness for station in stations])),
        depth=bay.mix(width),
        slope_y_a=slope_y_a,
        slope_y_b=slope_y_b,
        plus_minus_a=bay.mix(_column([station.plus_minus_a for station in stations])),
        plus_minus_b=bay.mix(_column([station.plus_minus_b for station in stations])),
    )


class _Bays(Struct, frozen=True, kw_only=True, eq=False):
    """For each place the bay between two stations that it lies in, and how far along it."""

    low: npt.NDArray[np.intp]
    span: Array
    share: Array
    outside: npt.NDArray[np.bool_]

    def mix(self, column: Array) -> Array:
        """Return the straight-line value; at a station that station's own, exactly."""
        low, high = column[self.low], column[self.low + 1]
        mixed = (1.0 - self.share) * low + self.share * high
        return np.where(self.share == 0.0, low, np.where(self.share == 1.0, high, mixed))

    def rise(self, column: Array) -> Array:
        """Return the change per mm along the span."""
        return np.asarray((column[self.low + 1] - column[self.low]) / self.span)


def _face(
    bay: _Bays, stations: Sequence[Station], side: str, width: Array, line: float | None
) -> tuple[Array, Array]:
    """Return one face's slope forward, and its rise along the span at the hole line."""
    slopes = _column([getattr(station, f"slope_{side}") for station in stations])
    rear = _column([getattr(station, f"rear_{side}") for station in stations])
    lift = width * slopes  # front less rear: what runs straight on a ruled wedge
    ruled = np.isfinite(width[bay.low]) & np.isfinite(width[bay.low + 1])
    wide = np.where(ruled, bay.mix(width), 1.0)
    slope = np.where(ruled, bay.mix(lift) / wide, bay.mix(slopes))
    slope_change = np.where(
        ruled, (bay.rise(lift) - slope * bay.rise(width)) / wide, bay.rise(slopes)
    )
    if line is None:
        return slope, np.full_like(slope, math.nan)
    along = np.where(bay.outside, 0.0, bay.rise(rear) + line * slope_change)
    return slope, np.where(np.isfinite(bay.mix(rear)), along, math.nan)


def _column(values: Sequence[float | None]) -> Array:
    return np.array([math.nan if value is None else value for value in values], dtype=np.float64)
