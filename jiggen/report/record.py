"""The solution as JSON for programs: mm and degrees, full precision, whatever the job's units."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from msgspec.structs import asdict

from jiggen.errors import say

if TYPE_CHECKING:
    from jiggen.solution import AnglesAt, Check, GuideResult, HoleResult, Solution

#: JSON key and attribute of the nine angles that stations and holes share, in the page's order.
_NINE = (
    ("skin_angle_a", "skin_a"),
    ("skin_angle_b", "skin_b"),
    ("included_angle", "included"),
    ("guide_forward_a", "guide_forward_a"),
    ("guide_aft_a", "guide_aft_a"),
    ("guide_forward_b", "guide_forward_b"),
    ("guide_aft_b", "guide_aft_b"),
    ("lean_a", "lean_a"),
    ("lean_b", "lean_b"),
)


def solution_as_json(solution: Solution) -> dict[str, Any]:
    """Return the numbers of a solved job, ready for JSON.

    Lengths in mm, angles in degrees, full double precision; None where the job lacks an input.
    """
    units = solution.job.units
    return {
        "format": 1,
        "job": solution.job.name,
        "sides": list(solution.job.sides),
        "stations": [_station_as_json(station) for station in solution.stations],
        "holes": _holes_as_json(solution),
        "guides": [_guide_as_json(guide) for guide in solution.guides],
        "checks": [_check_as_json(check, units) for check in solution.checks],
        "numbers": [asdict(n) | {"note": say(n.note, units)} for n in solution.numbers],
        **_trim_as_json(solution),
    }


def json_line(record: Mapping[str, Any]) -> str:
    """Return a record as one line of ASCII JSON; a NaN in it is a fault of jiggen's own."""
    return json.dumps(record, allow_nan=False) + "\n"


def degrees(radians: float | None) -> float | None:
    """Return an angle in degrees, where it is known."""
    return None if radians is None else math.degrees(radians)


def _nine(angles: AnglesAt) -> dict[str, float | None]:
    return {key: degrees(getattr(angles, name)) for key, name in _NINE}


def _station_as_json(station: AnglesAt) -> dict[str, Any]:
    return {
        "at": station.at,
        **_nine(station),
        "plus_minus_a": degrees(station.plus_minus_a),
        "plus_minus_b": degrees(station.plus_minus_b),
    }


def _hole_as_json(hole: HoleResult) -> dict[str, Any]:
    return {
        "number": hole.number,
        "at": hole.at,
        "drill_now": hole.drill_now,
        "order": hole.order,
        "thickness": hole.thickness,
        "grip": hole.grip,
        **_nine(hole.angles),
        "drift_if_square_to_a": hole.drift_a,
        "drift_if_square_to_b": hole.drift_b,
    }


def _holes_as_json(solution: Solution) -> list[dict[str, Any]]:
    """Return every hole, with what it needs of rivet and countersink where the job has a rivet."""
    if not solution.riveting:
        return [_hole_as_json(hole) for hole in solution.holes]
    from jiggen.report.rivet import rivet_as_json

    return [{**_hole_as_json(hole), **rivet_as_json(solution, hole)} for hole in solution.holes]


def _guide_as_json(guide: GuideResult) -> dict[str, Any]:
    turned = {key: degrees(getattr(guide, key)) for key in ("angle", "worst_angle_error")}
    return asdict(guide) | turned


def _check_as_json(check: Check, units: str) -> dict[str, Any]:
    return {
        "name": check.name,
        "status": check.status,
        "value": check.value,
        "limit": check.limit,
        "unit": check.unit,
        "why": say(check.why, units),
        "source": check.source,
        "id": check.id,
        "keys": list(check.keys),
    }


def _trim_as_json(solution: Solution) -> dict[str, Any]:
    """Return the trim plan under its key; nothing where the job has no stock."""
    if solution.trim is None:
        return {}
    from jiggen.report.trim import trim_as_json

    return {"trim": trim_as_json(solution.trim, solution.job.units)}
