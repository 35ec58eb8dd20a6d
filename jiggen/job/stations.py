"""Reads the wedge's stations: at each, exactly one way in which the skin angles are known.

Faults that need no geometry are found here: a taper that is upside down, a face steeper than
45 deg, a list that does not go forward. What needs the whole wedge is left to `geometry`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from jiggen.job.fields import Table, given_or
from jiggen.job.model import Form, StationInput, WedgeInput
from jiggen.job.outline import OutlineError, read_outline_file
from jiggen.job.quantities import (
    ANGLE,
    ANY,
    LENGTH,
    NOT_NEGATIVE,
    NUMBER,
    POSITIVE,
    RATE,
    Limits,
    Quantity,
)
from jiggen.units import say_angle

STATIONS_MOST = 500
"""More stations than anyone measures; a longer list is a slip of a program."""

STEEPEST = math.radians(45.0)
"""A face steeper than this to the chord plane is not a trailing edge but a slip."""

SWEEP_MOST = math.radians(60.0)
"""Largest sweep of the trailing edge that is taken at its word."""

_STATION_KEYS = ("at", *(form.value for form in Form), "plus_minus")
_WEDGE_KEYS = ("rear_thickness", "measured", "sweep", "depth", "extend", "station")

# What is measured in each form, by the names of `StationInput.values`.
_MEASURED: dict[Form, tuple[Quantity, tuple[str, ...]]] = {
    Form.INCLUDED_ANGLE: (ANGLE, ("angle",)),
    Form.SKIN_ANGLES: (ANGLE, ("a", "b")),
    Form.THICKNESS: (LENGTH, ("front", "rear", "width")),
    Form.OFFSETS: (LENGTH, ("front_a", "front_b", "rear_a", "rear_b", "width")),
    Form.READINGS: (ANGLE, ("a", "b", "chord")),
    Form.TAPER_RATE: (RATE, ("rate",)),
    Form.OUTLINE: (LENGTH, ("z",)),
}
_INVERTED = "taper inverted: the faces must come together toward the trailing edge"
_TURN_ROUND = "measure again, or exchange front and rear"

Values = dict[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reading:
    """What one form gave: its values, and what only thickness and outline have besides."""

    values: Values
    along: str = "chord"
    outline: tuple[tuple[float, float], ...] = ()
    outline_file: str = ""


def read_wedge(job: Table, folder: Path) -> WedgeInput | None:
    """Read the wedge and all its stations.

    Args:
        job: the whole job file.
        folder: where outline files are looked for.

    Returns:
        The wedge in mm and radians; None if there is no station to build it from.
    """
    job.require("wedge", "start a table [wedge] with at least one [[wedge.station]]")
    table = job.table("wedge", _WEDGE_KEYS)
    if table is None:
        return None
    stations = _read_stations(table, folder)
    wedge = WedgeInput(
        stations=tuple(stations),
        rear_thickness=table.value(LENGTH, "rear_thickness", NOT_NEGATIVE),
        sweep=_read_sweep(table),
        depth=table.value(LENGTH, "depth", POSITIVE),
        extend=given_or(table.flag("extend"), False),
    )
    return wedge if stations else None


def _read_sweep(table: Table) -> float:
    measured = table.choice("measured", ("square", "ribs"))
    sweep = table.value(ANGLE, "sweep", Limits(at_least=-SWEEP_MOST, at_most=SWEEP_MOST))
    if measured == "ribs":
        table.require("sweep", "give the angle between the ribs and the square to the edge")
    elif table.has("sweep") and (measured == "square" or not table.has("measured")):
        table.fault("sweep", "is not used", 'say measured = "ribs" or drop sweep')
    return given_or(sweep, 0.0)


def _read_stations(table: Table, folder: Path) -> list[StationInput]:
    remedy = "write [[wedge.station]] with one way to know the skin angles"
    if not table.require("station", remedy):
        return []
    given = table.raw["station"]
    if not isinstance(given, list) or not all(isinstance(item, dict) for item in given):
        table.fault("station", "must be a list of tables", "write [[wedge.station]], two brackets")
        return []
    if not 1 <= len(given) <= STATIONS_MOST:
        table.fault("station", f"must hold from 1 to {STATIONS_MOST} stations", remedy)
        return []
    stations: list[StationInput] = []
    last: float | None = None
    for number, raw in enumerate(given, start=1):
        place = f"{table.where('station')}[{number}]"
        station = Table(raw, place, table.found, table.units, _STATION_KEYS)
        at = _read_at(station, alone=len(given) == 1)
        if at is not None and last is not None and at <= last:
            station.fault("at", "does not come after the station before it", "sort them by at")
        last = given_or(at, last)
        read = _read_station(station, given_or(at, 0.0), folder)
        stations += [read] if read else []
    return stations


def _read_at(station: Table, *, alone: bool) -> float | None:
    if alone and not station.has("at"):
        return 0.0
    station.require("at", "give its place along the span")
    return station.value(LENGTH, "at")


def _read_station(station: Table, at: float, folder: Path) -> StationInput | None:
    forms = [form for form in Form if station.has(form.value)]
    readings = [_read_form(station, form, folder) for form in forms]
    if len(forms) != 1:
        found = f"found {', '.join(forms)}" if forms else "found none"
        remedy = f"give one of {', '.join(form.value for form in Form)}"
        station.fault("", f"needs exactly one way to know the skin angles, {found}", remedy)
        return None
    plus_minus = _read_plus_minus(station, forms[0])
    reading = readings[0]
    if reading is None:
        return None
    return StationInput(
        at=at,
        form=forms[0],
        values=reading.values,
        along=reading.along,
        plus_minus=plus_minus,
        outline=reading.outline,
        outline_file=reading.outline_file,
    )


def _read_form(station: Table, form: Form, folder: Path) -> _Reading | None:
    match form:
        case Form.INCLUDED_ANGLE:
            limits = Limits(above=0.0, at_most=2 * STEEPEST)
            return _one(station.value(ANGLE, form.value, limits), "angle")
        case Form.TAPER_RATE:
            limits = Limits(above=0.0, at_most=2 * math.tan(STEEPEST))
            return _one(station.value(RATE, form.value, limits), "rate")
        case Form.SKIN_ANGLES:
            return _skin_angles(station)
        case Form.READINGS:
            return _level_readings(station)
        case Form.THICKNESS:
            return _thickness(station)
        case Form.OFFSETS:
            return _offsets(station)
        case Form.OUTLINE:
            return _outline(station, folder)


def _one(value: float | None, name: str) -> _Reading | None:
    return None if value is None else _Reading(values={name: value})


def _skin_angles(station: Table) -> _Reading | None:
    angles = station.pair(ANGLE, "skin_angles", Limits(at_least=-STEEPEST, at_most=STEEPEST))
    if angles is None:
        return None
    _check_faces(station, "skin_angles", *angles)
    return _Reading(values={"a": angles[0], "b": angles[1]})


def _level_readings(station: Table) -> _Reading | None:
    names = ("a", "b", "chord")
    table = station.table("readings", names)
    values = _all_of(table, ANGLE, dict.fromkeys(names, ANY)) if table else None
    if values is None:
        return None
    _check_faces(station, "readings", values["a"] - values["chord"], values["chord"] - values["b"])
    return _Reading(values=values)


def _thickness(station: Table) -> _Reading | None:
    table = station.table("thickness", ("front", "rear", "width", "along"))
    if table is None:
        return None
    along = given_or(table.choice("along", ("chord", "face")), "chord")
    limits = {"front": POSITIVE, "rear": NOT_NEGATIVE, "width": POSITIVE}
    values = _all_of(table, LENGTH, limits)
    if values is None:
        return None
    slope = (values["front"] - values["rear"]) / (2 * values["width"])
    if slope <= 0:
        table.fault("front", f"must be more than rear ({_INVERTED})", _TURN_ROUND)
    elif slope > (math.sin(STEEPEST) if along == "face" else math.tan(STEEPEST)):
        table.fault("width", "is too short: no more than 45 deg a side", "measure again")
    return _Reading(values=values, along=along)


def _offsets(station: Table) -> _Reading | None:
    table = station.table("offsets", ("front", "rear", "width"))
    if table is None:
        return None
    for key in ("front", "rear", "width"):
        table.require(key, "give front = [a, b], rear = [a, b] and width")
    front, rear = table.pair(LENGTH, "front"), table.pair(LENGTH, "rear")
    width = table.value(LENGTH, "width", POSITIVE)
    if front is None or rear is None or width is None:
        return None
    if sum(rear) < 0:
        table.fault("rear", "adds up to a negative thickness", "measure both from the chord plane")
    a, b = (math.atan2(ahead - behind, width) for ahead, behind in zip(front, rear, strict=True))
    _check_faces(station, "offsets", a, b)
    ends = {"front_a": front[0], "front_b": front[1], "rear_a": rear[0], "rear_b": rear[1]}
    return _Reading(values={**ends, "width": width})


def _outline(station: Table, folder: Path) -> _Reading | None:
    table = station.table("outline", ("file", "from", "chord"))
    if table is None:
        return None
    for key in ("file", "from", "chord"):
        table.require(key, "give file, from (a share of the chord, such as 0.9) and chord")
    begin = table.value(NUMBER, "from", Limits(above=0.0, below=1.0))
    chord = table.value(LENGTH, "chord", POSITIVE)
    name = table.text("file", 200)
    points = _read_points(table, folder / name) if name else ()
    if begin is None or chord is None or name is None:
        return None
    values = {"from": begin, "chord": chord}
    return _Reading(values=values, outline=points, outline_file=name)


def _read_points(table: Table, path: Path) -> tuple[tuple[float, float], ...]:
    try:
        return read_outline_file(path)
    except OutlineError as error:
        for problem in error.problems:
            table.fault("file", problem, error.remedy)
        return ()


def _all_of(table: Table, quantity: Quantity, limits: Mapping[str, Limits]) -> Values | None:
    """Read every value that has limits; None if one is absent or at fault."""
    values: Values = {}
    for name, limit in limits.items():
        table.require(name, f"give {', '.join(limits)}")
        value = table.value(quantity, name, limit)
        if value is not None:
            values[name] = value
    return values if len(values) == len(limits) else None


def _check_faces(station: Table, key: str, a: float, b: float) -> None:
    """Put down a fault if these skin angles (radians) are not those of a trailing edge."""
    both = f"makes skin angles of {say_angle(a)} and {say_angle(b)}"
    # 45 deg reached by a difference of readings may be out in the last digit.
    if a + b <= 0:
        station.fault(key, f"{both} ({_INVERTED})", _TURN_ROUND)
    elif max(abs(a), abs(b)) > STEEPEST + 1e-12:
        station.fault(key, f"{both}: no more than 45 deg a side", "measure again")


def _read_plus_minus(station: Table, form: Form) -> Values:
    """Return the uncertainty of each value by name; empty when not stated."""
    quantity, names = _MEASURED[form]
    if not isinstance(station.raw.get("plus_minus"), dict):
        same = station.value(quantity, "plus_minus", NOT_NEGATIVE)
        return {} if same is None else dict.fromkeys(names, same)
    # For offsets, `front` counts for front_a and front_b unless these are given too.
    both = {"front": ("front_a", "front_b"), "rear": ("rear_a", "rear_b")}
    groups = both if form is Form.OFFSETS else {}
    table = station.section("plus_minus", (*groups, *names))
    if not table.raw:
        station.fault("plus_minus", "is empty", f"give one of {', '.join((*groups, *names))}")
    read: Values = {}
    for key in (*groups, *names):
        value = table.value(quantity, key, NOT_NEGATIVE)
        if value is not None:
            read.update(dict.fromkeys(groups.get(key, (key,)), value))
    return read
