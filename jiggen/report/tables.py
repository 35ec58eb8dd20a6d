"""The numbers of a solved job as tables and short sentences for the terminal.

Lengths are said in the job's units without naming them, as the heading of the report does;
angles in degrees.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from jiggen.errors import say
from jiggen.report.terminal import Terminal, ruled_table
from jiggen.units import say_angle, say_length

if TYPE_CHECKING:
    from rich.table import Table

    from jiggen.solution import Check, GuideResult, HoleResult, Number, Solution

#: A tilt smaller than this cannot be sighted, so its column is left out of the table, degrees.
_LEAN_SHOWN = 0.05

_PLACES_SHOWN = 4  # places that are named one by one where the same limit holds

_STATUS_STYLES = {"ok": "green", "warn": "bold yellow", "fail": "bold red", "not checked": "dim"}


def bare_length(mm: float | None, units: str) -> str:
    """Return a length without its unit, which the heading of the report names."""
    return "-" if mm is None else say_length(mm, units).rsplit(" ", 1)[0]


def _miss(mm: float | None, units: str) -> str:
    """Say a miss without its unit, to the thousandth of a mm or the tenth of a thousandth inch."""
    places = 4 if units == "in" else 3
    return "-" if mm is None else say_length(mm, units, places).rsplit(" ", 1)[0]


def _angle(radians: float | None) -> str:
    return "-" if radians is None else say_angle(radians, 2, "")


def stations_table(solution: Solution, terminal: Terminal) -> Table:
    """Return the angles at each station, a row for each side.

    The spanwise tilt stands there only where it is large enough to be sighted.
    """
    leans = [lean for s in solution.stations for lean in (s.lean_a, s.lean_b) if lean is not None]
    leaning = any(abs(math.degrees(lean) - 90.0) >= _LEAN_SHOWN for lean in leans)
    names = ["station at", "included", "side", "skin angle", "forward", "aft"]
    table = ruled_table(*names, *(["spanwise\ntilt"] if leaning else []))
    sign = " \u00b1" if terminal.signs else " +-"
    for at in solution.stations:
        sides = (
            (at.skin_a, at.plus_minus_a, at.guide_forward_a, at.guide_aft_a, at.lean_a),
            (at.skin_b, at.plus_minus_b, at.guide_forward_b, at.guide_aft_b, at.lean_b),
        )
        place = [bare_length(at.at, solution.job.units), _angle(at.included)]
        for letter, (skin, plus_minus, forward, aft, lean) in zip("AB", sides, strict=True):
            known = "" if plus_minus is None else f"{sign}{_angle(plus_minus)}"
            row = [*place, letter, _angle(skin) + known, _angle(forward), _angle(aft)]
            table.add_row(*row, *([_angle(lean)] if leaning else []))
            place = ["", ""]
    return table


def guides_table(solution: Solution) -> Table:
    """Return the guide set: the angle of each guide, the holes it serves, how well it does."""
    table = ruled_table(
        "guide", "side", "holes", "forward", "worst angle error", "worst miss", left=3
    )
    for guide in solution.guides:
        holes = "-" if guide.first_hole is None else f"{guide.first_hole} to {guide.last_hole}"
        table.add_row(
            guide.name,
            guide.side.upper(),
            holes,
            _angle(guide.angle),
            _angle(guide.worst_angle_error),
            _miss(guide.worst_drift, solution.job.units),
        )
    return table


def holes_table(solution: Solution, holes: Sequence[HoleResult]) -> Table:
    """Return what is to be known at each hole."""
    units = solution.job.units
    table = ruled_table(
        "hole",
        "at",
        "order",
        "thickness",
        "grip",
        "forward A",
        "forward B",
        "miss if\nsquare to A",
        "miss if\nsquare to B",
        "guides",
    )
    for hole in holes:
        table.add_row(
            str(hole.number),
            bare_length(hole.at, units),
            "leave" if hole.order is None else str(hole.order),
            bare_length(hole.thickness, units),
            bare_length(hole.grip, units),
            _angle(hole.angles.guide_forward_a),
            _angle(hole.angles.guide_forward_b),
            _miss(hole.drift_a, units),
            _miss(hole.drift_b, units),
            " ".join(g.name for g in solution.guides if hole.drill_now and _covers(g, hole)),
        )
    return table


def _covers(guide: GuideResult, hole: HoleResult) -> bool:
    first, last = guide.first_hole, guide.last_hole
    return first is not None and last is not None and first <= hole.number <= last


def order_sentence(solution: Solution) -> str:
    """Say the drilling order: from the middle to one end, then back from the middle."""
    runs = solution.drilling_runs
    if not runs:
        return "No hole is drilled now."
    said = [
        ", then ".join(str(r[0]) if len(r) == 1 else f"{r[0]} to {r[-1]}" for r in of_pass)
        for of_pass in runs
    ]
    later = [str(hole.number) for hole in solution.holes if not hole.drill_now]
    kept = f" Leave alone: {', '.join(later)}." if later else ""
    if len(said) == 1:
        return f"Drill from the middle out: {said[0]}.{kept}"
    return (
        f"Drill every other hole first, from the middle out: {said[0]}. Then those between: "
        f"{said[1]}.{kept}"
    )


def tick_list(solution: Solution, width: int, sides: Sequence[str]) -> str:
    """Return the holes in the order of drilling, each with a box and its fastener's side.

    Each run from the middle begins a line of its own; `width` is in columns.
    """
    named = dict(zip("ab", sides, strict=True))
    pins = {hole.number: named.get(hole.pin or "", "") for hole in solution.holes}
    digits, wide = len(str(max(pins))), max(len(side) for side in sides)
    in_row = max(1, (width + 2) // (digits + wide + 7))
    lines = []
    for run in (run for of_pass in solution.drilling_runs for run in of_pass):
        cells = [f"[ ] {number:>{digits}} {pins[number]:<{wide}}" for number in run]
        rows = (cells[at : at + in_row] for at in range(0, len(cells), in_row))
        lines += ["  ".join(row).rstrip() for row in rows]
    return "\n".join(lines)


def limits(sentences: Iterable[str]) -> list[str]:
    """Say once what holds for several stations.

    The sentences are of the form ``station 1, upper: what limits it``.
    """
    places: dict[str, list[str]] = {}
    for sentence in sentences:
        place, _, limit = sentence.partition(": ")
        places.setdefault(limit, []).append(place)
    return [": ".join(filter(None, (_places(at), limit))) for limit, at in places.items()]


def _places(places: Sequence[str]) -> str:
    if len(places) <= _PLACES_SHOWN:
        return "; ".join(places)
    return f"{places[0]} to {places[-1]}, {len(places)} in all"


def tally(checks: Iterable[Check]) -> str:
    """Count the checks by how they came out, as in ``Shop checks: 7 ok, 1 warn``."""
    counts: Counter[str] = Counter(check.status for check in checks)
    said = [f"{counts[status]} {status}" for status in _STATUS_STYLES if counts[status]]
    return f"Shop checks: {', '.join(said) or 'none'}"


def said_rows(rows: Iterable[tuple[str, str]]) -> Table:
    """Lay answers out as what they are about and a sentence, which is wrapped."""
    from rich.table import Table
    from rich.text import Text

    table = Table.grid(padding=(0, 2))
    table.add_column(max_width=24, overflow="fold")
    table.add_column(overflow="fold")
    for what, said in rows:
        table.add_row(Text(what), Text(said))
    return table


def check_rows(checks: Iterable[Check], units: str) -> Table:
    """Lay the checks out as status and sentence with the limit's source, the worst first."""
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
        source = f" [{check.source}]" if check.source else ""
        table.add_row(
            Text(check.status, style=_STATUS_STYLES[check.status]),
            Text(f"{check.name}{said}: {say(check.why, units)}{source}"),
        )
    return table


def number_rows(numbers: Iterable[Number], units: str) -> Table:
    """Lay out what is told and needs no decision: what it is good for and where it comes from."""
    rows = []
    for number in numbers:
        figure = _figure(number.value, number.unit, units)
        notes = " ".join(filter(None, (say(number.note, units), f"[{number.source}]")))
        rows.append((number.label, f"{figure}; {notes}"))
    return said_rows(rows)


def _figure(value: float | None, unit: str, units: str) -> str:
    if value is None:
        return "-"
    return say_length(value, units) if unit == "mm" else f"{value:.4g} {unit}".rstrip()
