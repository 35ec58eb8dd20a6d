"""Jobs made by hand for the tests, in mm and radians as `job.read` would leave them."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

from jiggen.job.model import (
    AllowInput,
    BlockInput,
    CutInput,
    Form,
    GuideInput,
    HolesInput,
    Job,
    PrintInput,
    StationInput,
    WedgeInput,
)


def included(degrees: float, at: float = 0.0, **more: Any) -> StationInput:
    """Return a station known by its included angle."""
    return StationInput(
        at=at, form=Form.INCLUDED_ANGLE, values={"angle": math.radians(degrees)}, **more
    )


def skins(a: float, b: float, at: float = 0.0, **more: Any) -> StationInput:
    """Return a station known by its two skin angles, degrees."""
    values = {"a": math.radians(a), "b": math.radians(b)}
    return StationInput(at=at, form=Form.SKIN_ANGLES, values=values, **more)


def thick(front: float, rear: float, width: float, at: float = 0.0, **more: Any) -> StationInput:
    """Return a station known by its thickness."""
    values = {"front": front, "rear": rear, "width": width}
    return StationInput(at=at, form=Form.THICKNESS, values=values, **more)


def bulging_points() -> tuple[tuple[float, float], ...]:
    """Return an outline whose skins bulge, in chords, from the trailing edge round and back."""
    n = 60
    xs = [(1 + math.cos(math.pi * k / n)) / 2 for k in range(n + 1)]
    upper = [(x, 0.30 * (1 - x) * math.sqrt(x + 1e-9) * 0.6 + 0.001 * x) for x in xs]
    lower = [(x, -0.26 * (1 - x) * math.sqrt(x + 1e-9) * 0.6 - 0.001 * x) for x in reversed(xs)]
    return (*upper, *lower[1:])


def bulging(at: float = 0.0, chord: float = 800.0) -> StationInput:
    """Return a station known by the outline of a section whose skins bulge."""
    return StationInput(
        at=at,
        form=Form.OUTLINE,
        values={"from": 0.9, "chord": chord},
        outline=bulging_points(),
        outline_file="x.dat",
    )


def row_of_holes(count: int = 5, **changes: Any) -> HolesInput:
    """Return holes 26 mm apart from y = 15, 8 mm forward of the edge."""
    holes = HolesInput(
        drill=2.5,
        drill_name="2.5 mm",
        line=8.0,
        positions=tuple(15.0 + 26.0 * n for n in range(count)),
    )
    return dataclasses.replace(holes, **changes)


def a_job(*stations: StationInput, holes: HolesInput | None = None, **changes: Any) -> Job:
    """Return a job; `rear_thickness`, `sweep`, `depth` and `extend` go to its wedge."""
    of_wedge = {name: changes.pop(name) for name in _WEDGE if name in changes}
    job = Job(
        file="flap.toml",
        name="flap",
        units="mm",
        sides=("upper", "lower"),
        wedge=WedgeInput(stations=stations, **of_wedge),
        holes=holes,
        skin=None,
        rivet_head=None,
        allow=AllowInput(),
        guide=GuideInput(),
        block=BlockInput(),
        print=PrintInput(),
        cut=CutInput(kerf=0.15),
    )
    return dataclasses.replace(job, **changes)


_WEDGE = ("rear_thickness", "sweep", "depth", "extend")
