"""Rivet and countersink for the terminal: what to buy, what to set, hole by hole; and as JSON.

Lengths are said in the job's units; JSON is always mm, unrounded.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from msgspec.structs import asdict

from jiggen.errors import say
from jiggen.report.tables import bare_length, said_rows
from jiggen.report.terminal import ruled_table
from jiggen.shop.countersink import has_land
from jiggen.solution import CountersinkAt, HoleResult, Solution


def riveting_parts(solution: Solution) -> list[object]:
    """Return rivet and countersink for the terminal: the answers, then the holes."""
    units = solution.job.units
    rows = [(line.what, f"{say(line.said, units)} [{line.source}]") for line in solution.riveting]
    parts: list[object] = [said_rows(rows)]
    if any(hole.rivet_length is not None or hole.land is not None for hole in solution.holes):
        parts += ["", _holes(solution)]
    return parts


def _holes(solution: Solution) -> object:
    """Return a row for each hole, without the columns that this job has nothing for."""
    holes, units = solution.holes, solution.job.units
    a, b = solution.job.sides

    def said(values: Iterable[float | None]) -> list[str]:
        return [bare_length(value, units) for value in values]

    columns = {
        "hole": [str(hole.number) for hole in holes],
        "grip": said(hole.grip for hole in holes),
        "length\nby grip": said(hole.rivet_length for hole in holes),
        "take": [_ordered(hole, units) for hole in holes],
        f"stop,\n{a}": [_stop(hole, hole.countersink_a, units) for hole in holes],
        f"stop,\n{b}": [_stop(hole, hole.countersink_b, units) for hole in holes],
        "land, square\nto chord": said(hole.land_chord for hole in holes),
        "land, square\nto face": said(hole.land_face for hole in holes),
        "plus\nor minus": said(hole.land_doubt for hole in holes),
    }
    known = {name: cells for name, cells in columns.items() if set(cells) - {"-", "leave"}}
    table = ruled_table(*known)
    for row in zip(*known.values(), strict=True):
        table.add_row(*row)
    return table


def _stop(hole: HoleResult, one: CountersinkAt | None, units: str) -> str:
    """Return what the stop is set to; none where the countersinks would leave nothing."""
    if one is not None and one.depth > 0.0 and not has_land(hole):
        return "no land"
    return bare_length(None if one is None or one.depth == 0.0 else one.stop, units)


def _ordered(hole: HoleResult, units: str) -> str:
    if not hole.drill_now:
        return "leave"
    return hole.rivet_code or bare_length(hole.rivet_ordered, units)


def rivet_as_json(solution: Solution, hole: HoleResult) -> dict[str, Any]:
    """Return what a hole needs of rivet and countersink; nothing where the job has no rivet.

    Lengths in mm; None where the job lacks an input.
    """
    if not solution.riveting:
        return {}
    a, b = hole.countersink_a, hole.countersink_b
    return {
        "rivet_length": hole.rivet_length,
        "rivet_ordered": hole.rivet_ordered,
        "rivet_code": hole.rivet_code or None,
        "countersink_a": None if a is None else asdict(a),
        "countersink_b": None if b is None else asdict(b),
        "land_on_axis": hole.straight,
        "land": hole.land,
        "land_square_to_chord": hole.land_chord,
        "land_square_to_face": hole.land_face,
        "land_plus_minus": hole.land_doubt,
    }
