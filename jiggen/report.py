"""The solution as text for people and as JSON for programs.

What a person reads on the terminal is worded here, so that it can be tested without a process.
Lengths are said in the job's units, angles in degrees; JSON is always mm and degrees, unrounded.
"""

from __future__ import annotations

import json
import math
import os
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from jiggen.terminal import Terminal, heading, printed, ruled_table
from jiggen.units import say_angle, say_length

if TYPE_CHECKING:
    from rich.table import Table

    from jiggen.make import Made
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

#: A lean smaller than this cannot be sighted, so its column is left out of the table, degrees.
_LEAN_SHOWN = 0.05

#: Longer lists of holes show only where a guide begins and ends.
_HOLES_SHOWN = 16

#: Sentences on what limits the angles that are shown without --all.
_LIMITS_SHOWN = 4

_STATUS_STYLES = {"ok": "green", "warn": "bold yellow", "fail": "bold red", "not checked": "dim"}

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
    return {
        "format": 1,
        "job": solution.job.name,
        "sides": list(solution.job.sides),
        "stations": [_station_as_json(station) for station in solution.stations],
        "holes": [_hole_as_json(hole) for hole in solution.holes],
        "guides": [_guide_as_json(guide) for guide in solution.guides],
        "checks": [_check_as_json(check) for check in solution.checks],
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


def _check_as_json(check: Check) -> dict[str, Any]:
    return {
        "name": check.name,
        "status": check.status,
        "value": check.value,
        "limit": check.limit,
        "unit": check.unit,
        "why": check.why,
        "source": check.source,
    }


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
    parts: list[object] = [heading(job.name), opening, _stations_table(solution, terminal)]
    if solution.guides:
        parts += [heading("Guide set"), _guides_table(solution)]
    if solution.holes:
        shown = solution.holes if every_hole else _holes_worth_showing(solution)
        parts += [heading("Holes"), _holes_table(solution, shown), _order_sentence(solution.holes)]
        if len(shown) < len(solution.holes):
            parts.append(
                f"{len(shown)} of {len(solution.holes)} holes shown, where each guide begins and "
                "ends; --all shows every one."
            )
    parts.append(heading(_tally(solution.checks)))
    parts.append(_check_rows(solution.checks, job.units, sources=every_hole))
    if solution.limits:
        parts += [heading("What limits the angles"), *_limits(solution.limits, every_hole)]
    return printed(parts, terminal)


def closing_text(made: Made, units: str, folder: str, terminal: Terminal) -> str:
    """Return the closing lines of ``jiggen make``: where, what to open first, what to measure.

    Args:
        made: what was drawn and written.
        units: the job's, ``mm`` or ``in``.
        folder: where it was written, as the user gave it.
        terminal: what it is printed on.

    Returns:
        Text with line ends.
    """
    count = len(made.files)
    parts: list[object] = [
        f"Wrote {count} {'file' if count == 1 else 'files'} to {folder}{os.sep}",
        f"Open first: {os.path.join(folder, *made.open_first.split('/'))}",
    ]
    if made.measure:
        parts += [heading("Measure"), *made.measure]
    troubles = [check for check in made.checks if check.status in ("warn", "fail")]
    if troubles:
        parts += [heading(_tally(made.checks)), _check_rows(troubles, units, sources=False)]
    return printed([*parts, "", CAUTION], terminal)


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


def _length(mm: float | None, units: str) -> str:
    """Say a length without its unit, which the heading names."""
    return "-" if mm is None else say_length(mm, units).rsplit(" ", 1)[0]


def _drift(mm: float | None, units: str) -> str:
    """Say a drift without its unit, to the thousandth of a mm or the tenth of a thousandth inch."""
    places = 4 if units == "in" else 3
    return "-" if mm is None else say_length(mm, units, places).rsplit(" ", 1)[0]


def _angle(radians: float | None) -> str:
    return "-" if radians is None else say_angle(radians, 2, "")


def _stations_table(solution: Solution, terminal: Terminal) -> Table:
    leans = [lean for s in solution.stations for lean in (s.lean_a, s.lean_b) if lean is not None]
    leaning = any(abs(math.degrees(lean) - 90.0) >= _LEAN_SHOWN for lean in leans)
    names = ["station at", "included", "side", "skin angle", "forward", "aft"]
    table = ruled_table(*names, *(["lean"] if leaning else []))
    sign = " \u00b1" if terminal.signs else " +-"
    for at in solution.stations:
        sides = (
            (at.skin_a, at.plus_minus_a, at.guide_forward_a, at.guide_aft_a, at.lean_a),
            (at.skin_b, at.plus_minus_b, at.guide_forward_b, at.guide_aft_b, at.lean_b),
        )
        place = [_length(at.at, solution.job.units), _angle(at.included)]
        for letter, (skin, plus_minus, forward, aft, lean) in zip("AB", sides, strict=True):
            known = "" if plus_minus is None else f"{sign}{_angle(plus_minus)}"
            row = [*place, letter, _angle(skin) + known, _angle(forward), _angle(aft)]
            table.add_row(*row, *([_angle(lean)] if leaning else []))
            place = ["", ""]
    return table


def _guides_table(solution: Solution) -> Table:
    table = ruled_table(
        "guide", "side", "holes", "forward", "worst angle error", "worst drift", left=3
    )
    for guide in solution.guides:
        holes = "-" if guide.first_hole is None else f"{guide.first_hole} to {guide.last_hole}"
        table.add_row(
            guide.name,
            guide.side.upper(),
            holes,
            _angle(guide.angle),
            _angle(guide.worst_angle_error),
            _drift(guide.worst_drift, solution.job.units),
        )
    return table


def _holes_worth_showing(solution: Solution) -> Sequence[HoleResult]:
    """Return all of a short list; of a long one the holes where a guide begins or ends."""
    holes = solution.holes
    if len(holes) <= _HOLES_SHOWN:
        return holes
    wanted = {holes[0].number, holes[-1].number}
    for guide in solution.guides:
        wanted |= {n for n in (guide.first_hole, guide.last_hole) if n is not None}
    return [hole for hole in holes if hole.number in wanted]


def _holes_table(solution: Solution, holes: Sequence[HoleResult]) -> Table:
    units = solution.job.units
    table = ruled_table(
        "hole",
        "at",
        "order",
        "thickness",
        "grip",
        "forward A",
        "forward B",
        "drift if\nsquare to A",
        "drift if\nsquare to B",
        "guides",
    )
    for hole in holes:
        table.add_row(
            str(hole.number),
            _length(hole.at, units),
            "not now" if hole.order is None else str(hole.order),
            _length(hole.thickness, units),
            _length(hole.grip, units),
            _angle(hole.angles.guide_forward_a),
            _angle(hole.angles.guide_forward_b),
            _drift(hole.drift_a, units),
            _drift(hole.drift_b, units),
            " ".join(g.name for g in solution.guides if hole.drill_now and _covers(g, hole)),
        )
    return table


def _covers(guide: GuideResult, hole: HoleResult) -> bool:
    first, last = guide.first_hole, guide.last_hole
    return first is not None and last is not None and first <= hole.number <= last


def _order_sentence(holes: Sequence[HoleResult]) -> str:
    """Say the drilling order: from the middle to one end, then back from the middle."""
    ordered = sorted((h for h in holes if h.order is not None), key=lambda h: h.order or 0)
    later = [str(hole.number) for hole in holes if not hole.drill_now]
    numbers = [hole.number for hole in ordered]
    if not numbers:
        return "No hole is drilled now."
    turn = numbers.index(max(numbers)) + 1
    runs = [
        str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}"
        for run in (numbers[:turn], numbers[turn:])
        if run
    ]
    kept = f" Not now: {', '.join(later)}." if later else ""
    return f"Drill from the middle out: {', then '.join(runs)}.{kept}"


def _limits(sentences: Iterable[str], every_one: bool) -> list[str]:
    """Say once what holds for several stations; cut a long list short, and say so."""
    places: dict[str, list[str]] = {}
    for sentence in sentences:
        place, _, limit = sentence.partition(": ")
        places.setdefault(limit, []).append(place)
    said = [": ".join(filter(None, ("; ".join(at), limit))) for limit, at in places.items()]
    if every_one or len(said) <= _LIMITS_SHOWN:
        return said
    left = len(said) - _LIMITS_SHOWN
    return [*said[:_LIMITS_SHOWN], f"... and {left} more; --all shows every one."]


def _tally(checks: Iterable[Check]) -> str:
    counts: Counter[str] = Counter(check.status for check in checks)
    said = [f"{counts[status]} {status}" for status in _STATUS_STYLES if counts[status]]
    return f"Shop checks: {', '.join(said) or 'none'}"


def _check_rows(checks: Iterable[Check], units: str, *, sources: bool) -> Table:
    """Lay the checks out as status and sentence, the worst first."""
    from rich.table import Table
    from rich.text import Text

    worst_first = ("fail", "warn", "not checked", "ok")
    table = Table.grid(padding=(0, 2))
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for check in sorted(checks, key=lambda c: worst_first.index(c.status)):
        figures = [_figure(check.value, check.unit, units)]
        if check.limit is not None:
            figures.append(f"limit {_figure(check.limit, check.unit, units)}")
        said = "" if check.value is None else f" ({', '.join(figures)})"
        source = f" [{check.source}]" if sources and check.source else ""
        table.add_row(
            Text(check.status, style=_STATUS_STYLES[check.status]),
            Text(f"{check.name}{said}: {check.why}{source}"),
        )
    return table


def _figure(value: float | None, unit: str, units: str) -> str:
    if value is None:
        return "-"
    return say_length(value, units) if unit == "mm" else f"{value:.4g} {unit}".rstrip()
