"""Reads the hole line: where the holes are, with which drill, which ones wait."""

from __future__ import annotations

from jiggen.facts.drills import Drill, read_drill
from jiggen.job.fields import FAULTS_A_LIST, Table, given_or
from jiggen.job.model import HolesInput
from jiggen.job.quantities import ANY, LENGTH, POSITIVE
from jiggen.units import LONGEST, UnitError

HOLES_MOST = 5000
"""More holes than any edge has; a longer list is a slip of a program."""

_HOLES_KEYS = ("drill", "line", "first", "pitch", "count", "positions", "keep_out", "passes")
_ROW = ("first", "pitch", "count")


def read_holes(job: Table) -> HolesInput | None:
    """Read the hole line.

    Args:
        job: the whole job file.

    Returns:
        The holes in mm; None if the job has none, or if they are at fault.
    """
    table = job.table("holes", _HOLES_KEYS)
    if table is None:
        return None
    drill = _read_drill(table)
    table.require("line", "give the distance of the hole line forward of the trailing edge")
    line = table.value(LENGTH, "line", POSITIVE)
    positions = _read_positions(table)
    keep_out = _read_keep_out(table, len(positions) if positions else None)
    passes = table.count("passes", 1, 2)
    if drill is None or line is None or not positions:
        return None
    return HolesInput(
        drill=drill.diameter,
        drill_name=drill.name,
        line=line,
        positions=positions,
        keep_out=keep_out,
        passes=given_or(passes, 1),
    )


def _read_drill(table: Table) -> Drill | None:
    if not table.require("drill", 'give the drill, such as "#40" or "2.5 mm"'):
        return None
    try:
        return read_drill(table.raw["drill"], table.units)
    except UnitError as error:
        table.fault("drill", error.problem, error.remedy)
        return None


def _read_positions(table: Table) -> tuple[float, ...] | None:
    in_row = [key for key in _ROW if table.has(key)]
    listed = _read_list(table) if table.has("positions") else None
    row = _read_row(table) if in_row or not table.has("positions") else None
    if in_row and table.has("positions"):
        table.fault(
            in_row[0],
            "is given besides positions",
            "give positions, or first, pitch and count, not both",
        )
        return None
    return listed or row


def _read_list(table: Table) -> tuple[float, ...] | None:
    positions = table.values(LENGTH, "positions", ANY, HOLES_MOST)
    if positions is None:
        return None
    if not positions:
        table.fault("positions", "is empty", "give the place of each hole along the span")
    faults = 0
    for number in range(1, len(positions)):
        if positions[number] <= positions[number - 1]:
            place = f"{table.where('positions')}[{number + 1}]"
            item = table.raw["positions"]
            given = item[number] if isinstance(item, list) else item
            table.found.add(place, "does not come after the hole before it", given, "sort them")
            faults += 1
        if faults == FAULTS_A_LIST:
            break
    return None if faults else tuple(positions)


def _read_row(table: Table) -> tuple[float, ...] | None:
    alone = table.raw.get("count") == 1
    for key in _ROW:
        if key != "pitch" or not alone:
            table.require(key, "give positions, or first, pitch and count")
    first = table.value(LENGTH, "first")
    pitch = table.value(LENGTH, "pitch", POSITIVE)
    count = table.count("count", 1, HOLES_MOST)
    if first is None or count is None or (pitch is None and not alone):
        return None
    step = given_or(pitch, 0.0)
    if first + step * (count - 1) > LONGEST:
        table.fault("count", "puts the last hole further than 100 m", "check pitch and its unit")
        return None
    return tuple(first + step * number for number in range(count))


def _read_keep_out(table: Table, holes: int | None) -> frozenset[int]:
    """Return the numbers of the holes that wait; `holes` is how many there are, if known."""
    given = table.raw.get("keep_out", [])
    most = given_or(holes, HOLES_MOST)
    if not isinstance(given, list):
        table.fault("keep_out", "must be a list of hole numbers", "write [1, 64]")
        return frozenset()
    if len(given) > HOLES_MOST:
        table.fault("keep_out", f"is a list of more than {HOLES_MOST}", "name each hole once")
        return frozenset()
    seen: set[int] = set()
    faults = 0
    for number, item in enumerate(given, start=1):
        whole = isinstance(item, int) and not isinstance(item, bool)
        if whole and 1 <= item <= most and item not in seen:
            seen.add(item)
            continue
        twice = whole and item in seen
        problem = "is given twice" if twice else f"is not a hole number from 1 to {most}"
        table.found.add(f"{table.where('keep_out')}[{number}]", problem, item)
        faults += 1
        if faults == FAULTS_A_LIST:
            break
    return frozenset(seen)
