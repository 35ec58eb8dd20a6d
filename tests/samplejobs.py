"""Jobs made by hand for the tests, in mm and radians as `job.read` would leave them."""

from __future__ import annotations

import math
from typing import Any

from msgspec.structs import replace

from jiggen.job.sections import Cut, Holes, Job, Skin
from jiggen.job.wedge import Offsets, Outline, Station, Thickness, Wedge
from jiggen.units import words


def included(degrees: float, at: float = 0.0, **more: Any) -> Station:
    """Return a station known by its included angle."""
    return Station(at=at, included_angle=math.radians(degrees), **more)


def skins(a: float, b: float, at: float = 0.0, **more: Any) -> Station:
    """Return a station known by its two skin angles, degrees."""
    return Station(at=at, skin_angles=(math.radians(a), math.radians(b)), **more)


def thick(front: float, rear: float, width: float, at: float = 0.0, **more: Any) -> Station:
    """Return a station known by its thickness."""
    along = more.pop("along", "chord")
    reading = Thickness(front=front, rear=rear, width=width, along=along)
    return Station(at=at, thickness=reading, **more)


def bulging_points() -> tuple[tuple[float, float], ...]:
    """Return an outline whose skins bulge, in chords, from the trailing edge round and back."""
    n = 60
    xs = [(1 + math.cos(math.pi * k / n)) / 2 for k in range(n + 1)]
    upper = [(x, 0.30 * (1 - x) * math.sqrt(x + 1e-9) * 0.6 + 0.001 * x) for x in xs]
    lower = [(x, -0.26 * (1 - x) * math.sqrt(x + 1e-9) * 0.6 - 0.001 * x) for x in reversed(xs)]
    return (*upper, *lower[1:])


def bulging(at: float = 0.0, chord: float = 800.0) -> Station:
    """Return a station known by the outline of a section whose skins bulge."""
    return Station(
        at=at, outline=Outline(file="x.dat", begin=0.9, chord=chord, points=bulging_points())
    )


def row_of_holes(count: int = 5, **changes: Any) -> Holes:
    """Return holes 26 mm apart from y = 15, 8 mm forward of the edge."""
    holes = Holes(
        drill=2.5,
        drill_name="2.5 mm",
        line=8.0,
        positions=tuple(15.0 + 26.0 * n for n in range(count)),
    )
    return replace(holes, **changes)


def a_job(*stations: Station, holes: Holes | None = None, **changes: Any) -> Job:
    """Return a job; `rear_thickness`, `sweep`, `depth` and `extend` go to its wedge.

    `skin` may be the two thicknesses.
    """
    if isinstance(changes.get("skin"), tuple):
        changes["skin"] = Skin(thickness=changes["skin"])
    of_wedge = {name: changes.pop(name) for name in _WEDGE if name in changes}
    job = Job(
        file="flap.toml",
        format=1,
        name="flap",
        units="mm",
        sides=("upper", "lower"),
        wedge=Wedge(stations=stations, **of_wedge),
        holes=holes,
        cut=Cut(kerf=0.15),
    )
    return replace(job, **changes)


_WEDGE = ("rear_thickness", "sweep", "depth", "extend")


def offsets(
    front: tuple[float, float],
    rear: tuple[float, float],
    width: float,
    at: float = 0.0,
    **more: Any,
) -> Station:
    """Return a station known by the heights of each face off the chord plane."""
    return Station(at=at, offsets=Offsets(front=front, rear=rear, width=width), **more)


def in_unit(said: object, units: str) -> str:
    """Return a sentence or a length as a reader in ``mm`` or ``in`` gets it."""
    return words("{said}", said=said).said(units)
