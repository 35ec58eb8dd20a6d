"""The solution as text for people and as JSON for programs.

What a person reads on the terminal is worded here, so that it can be tested without a process.
Lengths are said in the job's units, angles in degrees; JSON is always mm and degrees, unrounded.
"""

from __future__ import annotations

import json
import math
import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from jiggen.errors import say
from jiggen.tables import (
    check_rows,
    guides_table,
    holes_table,
    holes_worth_showing,
    limits,
    number_rows,
    order_sentence,
    stations_table,
    tally,
    tick_list,
)
from jiggen.terminal import Terminal, heading, printed

if TYPE_CHECKING:
    from jiggen.make import Made
    from jiggen.solution import AnglesAt, Check, GuideResult, HoleResult, Number, Solution

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

#: A longer drilling order than this is listed only with ``--all``.
TICKED = 240
#: Letters of a side's name that leave room for several holes in a line to tick off.
SIDE_SHOWN = 10

CAUTION = (
    "Eye protection on, work clamped, edges deburred; never leave a laser alone, and know what it "
    "cuts. The plans and the responsible inspector or licensed mechanic decide, not this tool."
)


def solution_as_json(solution: Solution) -> dict[str, Any]:
    """Return the numbers of a solved job, ready for JSON.

    Args:
        solution: a solved job.

    Returns:
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
        "numbers": [_number_as_json(number, units) for number in solution.numbers],
        **_trim_as_json(solution),
    }


def json_line(record: Mapping[str, Any]) -> str:
    """Return a record as one line of JSON in ASCII, with its line end.

    Args:
        record: of plain values; a NaN or an infinity in it is a fault of jiggen's own.

    Returns:
        One line.
    """
    return json.dumps(record, allow_nan=False) + "\n"


def _degrees(radians: float | None) -> float | None:
    return None if radians is None else math.degrees(radians)


def _nine(angles: AnglesAt) -> dict[str, float | None]:
    return {key: _degrees(getattr(angles, name)) for key, name in _NINE}


def _station_as_json(station: AnglesAt) -> dict[str, Any]:
    return {
        "at": station.at,
        **_nine(station),
        "plus_minus_a": _degrees(station.plus_minus_a),
        "plus_minus_b": _degrees(station.plus_minus_b),
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
    from jiggen.rivet_text import rivet_as_json

    return [{**_hole_as_json(hole), **rivet_as_json(solution, hole)} for hole in solution.holes]


def _guide_as_json(guide: GuideResult) -> dict[str, Any]:
    return {
        "name": guide.name,
        "side": guide.side,
        "angle": _degrees(guide.angle),
        "first_hole": guide.first_hole,
        "last_hole": guide.last_hole,
        "worst_angle_error": _degrees(guide.worst_angle_error),
        "worst_drift": guide.worst_drift,
    }


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


def _number_as_json(number: Number, units: str) -> dict[str, Any]:
    return {
        "id": number.id,
        "label": number.label,
        "value": number.value,
        "unit": number.unit,
        "source": number.source,
        "note": say(number.note, units),
    }


def _trim_as_json(solution: Solution) -> dict[str, Any]:
    """Return the trim plan under its key; nothing where the job has no stock."""
    if solution.trim is None:
        return {}
    from jiggen.trim_text import trim_as_json

    return {"trim": trim_as_json(solution.trim, solution.job.units)}


def angles_text(solution: Solution, terminal: Terminal, *, every_hole: bool = False) -> str:
    """Return the report of ``jiggen angles``.

    Args:
        solution: a solved job.
        terminal: what it is printed on.
        every_hole: list every hole however many there are, and the source of every check.

    Returns:
        Text with line ends; with colour codes if the terminal takes them.
    """
    job = solution.job
    unit = "inches" if job.units == "in" else "mm"
    opening = (
        f"Lengths in {unit}, angles in degrees. Side A is {job.sides[0]}, side B is "
        f"{job.sides[1]}. Forward and aft are the angles between skin and drill on the two sides "
        "of the hole; aft is toward the trailing edge."
    )
    parts: list[object] = [heading(job.name), opening, stations_table(solution, terminal)]
    if solution.guides:
        parts += [heading("Guide set"), guides_table(solution), *_joined_guides(solution)]
        parts += _on_curved_skins(solution)
    if solution.holes:
        shown = solution.holes if every_hole else holes_worth_showing(solution)
        parts += [heading("Holes"), holes_table(solution, shown), order_sentence(solution)]
        if len(shown) < len(solution.holes):
            parts.append(
                f"{len(shown)} of {len(solution.holes)} holes shown, where each guide begins and "
                "ends; --all shows every one."
            )
        parts += _order_parts(solution, terminal, every_hole)
    if solution.riveting:
        from jiggen.rivet_text import riveting_parts

        parts += [heading("Rivet and countersink")]
        parts += riveting_parts(solution, every_hole=every_hole)
    if solution.trim is not None:
        from jiggen.trim_text import trim_parts

        parts += [heading("Trim plan")]
        parts += trim_parts(solution.trim, job.units, every_one=every_hole)
    parts.append(heading(tally(solution.checks)))
    parts.append(check_rows(solution.checks, job.units, sources=every_hole))
    if solution.numbers:
        parts += [heading("Numbers"), number_rows(solution.numbers, job.units, every=every_hole)]
    if solution.limits:
        parts += [heading("What limits the angles"), *limits(solution.limits, every_hole)]
    return printed(parts, terminal)


def _joined_guides(solution: Solution) -> list[str]:
    """Say which guides of the two sides are drawn as one piece, and how that is called."""
    pieces = [f"{a.name} and {b.name} are one piece, guide-{a.name[1:]}" for a, b in solution.twins]
    return [f"On the drawings {'; '.join(pieces)}."] if pieces else []


def _on_curved_skins(solution: Solution) -> list[str]:
    """Say why a guide on a curved skin bears another figure than the table of the guide set."""
    bent = [guide.name for guide in solution.guides if solution.is_curved(guide.side)]
    if not bent:
        return []
    return [
        f"On a curved skin ({', '.join(bent)}) a guide stands on two feet forward of the hole. Its "
        "corner is cut for where the feet stand, so the figure lettered on it differs a little "
        "from the fitted angle above: measure the guide against its own figure."
    ]


def _order_parts(solution: Solution, terminal: Terminal, every_hole: bool) -> list[object]:
    """Return the drilling order as a list to tick off; a very long one only where asked for."""
    drilled = sum(hole.drill_now for hole in solution.holes)
    if not drilled:
        return []
    if drilled > TICKED and not every_hole:
        return [f"--all lists the {drilled} holes to tick off, in the order of drilling."]
    a, b = solution.job.sides
    named = max(len(a), len(b)) <= SIDE_SHOWN
    key = "from the side that is named" if named else f"A: the pin goes in from {a}; B: from {b}"
    return [
        heading("Tick off"),
        f"Pin each hole again before the next, {key}.",
        tick_list(solution, terminal.width, solution.job.sides if named else ("A", "B")),
    ]


def closing_text(
    made: Made, units: str, folder: str, terminal: Terminal, lost: Sequence[str] = ()
) -> str:
    """Return the closing lines of ``jiggen make``: where, what to open first, what to measure.

    Args:
        made: what was drawn and written.
        units: the job's, ``mm`` or ``in``.
        folder: where it was written, as the user gave it.
        terminal: what it is printed on.
        lost: what to say of a correction that these drawings no longer have.

    Returns:
        Text with line ends.
    """
    count = len(made.files)
    parts: list[object] = [
        f"Wrote {count} {'file' if count == 1 else 'files'} to {folder}{os.sep}",
    ]
    if made.measure:
        parts += [heading("Measure"), *made.measure]
    troubles = [check for check in made.checks if check.status in ("warn", "fail")]
    if troubles:
        parts += [heading(tally(made.checks)), check_rows(troubles, units, sources=False)]
    if lost:
        parts += [heading("The print is no longer corrected"), *lost]
    # Last, where the eye is when the command is done.
    printed_out = made.open_first.endswith(".pdf") and any(p.for_print for p in made.pieces)
    how = ", and print at 100 %" if printed_out else ""
    first = f"Open first{how}: {os.path.join(folder, *made.open_first.split('/'))}"
    return printed([*parts, "", CAUTION, "", first], terminal)


def starters_text(starters: Mapping[str, str]) -> str:
    """Return the list of starter job files, each with what its first comment says.

    Args:
        starters: the text of each file by name.

    Returns:
        One line a starter, with line ends.
    """
    width = max((len(name) for name in starters), default=0)
    lines = []
    for name, text in starters.items():
        comments = (line.lstrip("# ").strip() for line in text.splitlines() if line[:1] == "#")
        lines.append(f"{name:<{width}}  {next(filter(None, comments), '')}".rstrip())
    return "".join(f"{line}\n" for line in lines)
