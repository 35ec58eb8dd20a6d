"""Reads the columns of a readings table as a spreadsheet or a hand writes it.

Commas, semicolons or tabs between the cells, told from the heading; a decimal comma where commas
are free; a byte-order mark, blank lines and lines that begin with # are passed over. The heading
names each column and its unit, since 0.3 of what makes a factor of 25 between pass and scrap.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

from jiggen.job.fields import FAULTS_A_LIST, FaultList, nearest, say_given
from jiggen.straight.survey import LINES
from jiggen.units import UnitError, read_length

POSITION = "position"
NOTES = ("note", "notes", "remark", "remarks")
"""Columns for the user's own words; they are not read."""

EXAMPLE = "position (mm),deviation (mm)"

_UNITS = ("mm", "cm", "m", "um", "\N{MICRO SIGN}m", "in", "inch", "inches", "ft", "feet")
_HEADING = re.compile(r"\s*([^\[(]*?)\s*(?:[\[(]\s*([^\])]*?)\s*[\])])?\s*")
_BARE = re.compile(r"[+-]?\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?", re.ASCII)
_DIGITS_MOST = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """The table as read, in mm, in the order of the file.

    Attributes:
        at: place of each row; None where it is at fault.
        lines: by name, a deviation for each row; None where it was not read or is at fault.
        rows: what each row is called in a fault.
        units: ``mm`` or ``in``, by the heading of the deviations; None if there is none.
    """

    at: list[float | None] = field(default_factory=list)
    lines: dict[str, list[float | None]] = field(default_factory=dict)
    rows: list[str] = field(default_factory=list)
    units: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Column:
    name: str
    unit: str


def read_columns(text: str, found: FaultList, units: str | None) -> Columns:
    """Read a table of readings.

    Args:
        text: of the file.
        found: where faults go, each with the number of its line.
        units: ``mm`` or ``in``, for columns whose heading has no unit; None if not said.

    Returns:
        What could be read.
    """
    lines = text.splitlines()
    first = next((n for n, line in enumerate(lines) if _says_something(line)), None)
    if first is None:
        found.add("", "holds no readings", remedy=f'begin with "{EXAMPLE}"')
        return Columns()
    mark = re.fullmatch(r"\s*sep=(.)\s*", lines[first])
    between = mark[1] if mark else _between(lines[first])
    start = first + 1 if mark else first
    rows = _rows("\n".join(lines[start:]), between, start, found)
    heading = next(rows, None)
    columns = _columns(heading, found, units) if heading else None
    if columns is None:
        return Columns()
    table = Columns(
        lines={c.name: [] for c in columns if c.name in LINES},
        units=next(
            ("in" if c.unit.startswith(("in", "f")) else "mm" for c in columns if c.name in LINES),
            None,
        ),
    )
    _fill(table, list(rows), columns, found, between)
    return table


def _says_something(line: str) -> bool:
    return bool(line.strip(" ,;\t\ufeff")) and not line.lstrip(' \ufeff"').startswith("#")


def _between(heading: str) -> str:
    """Return what stands between the cells."""
    return next((mark for mark in ("\t", ";", ",") if mark in heading), ",")


def _rows(
    text: str, between: str, before: int, found: FaultList
) -> Iterator[tuple[int, list[str]]]:
    """Yield the number of each line that says something, and its cells without blank ends."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=between, skipinitialspace=True)
    try:
        for cells in reader:
            row = [cell.strip() for cell in cells]
            while row and not row[-1]:
                row.pop()
            if row and not row[0].startswith("#"):
                yield before + reader.line_num, row
    except csv.Error as error:
        found.add(f"line {before + reader.line_num}", f"is not a row of a table ({error})")


def _columns(
    heading: tuple[int, list[str]], found: FaultList, units: str | None
) -> list[_Column] | None:
    """Return what each column is; None where the heading is at fault."""
    number, cells = heading
    place, before = f"line {number}", len(found.faults)
    if all(not cell or _BARE.fullmatch(cell) for cell in cells):
        found.add(
            place, "has numbers where the heading should be", remedy=f'begin with "{EXAMPLE}"'
        )
        return None
    columns = [_column(cell, place, found, units) for cell in cells]
    names = [c.name for c in columns if c.name and c.name not in NOTES]
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            found.add(place, f'names "{name}" twice', remedy="keep one column of each name")
    if len(found.faults) == before and POSITION not in names:
        found.add(place, f'names no column "{POSITION}"', remedy=f'begin with "{EXAMPLE}"')
    if len(found.faults) == before and not set(names) & set(LINES):
        remedy = f'name one "deviation", or two "front" and "rear", as in "{EXAMPLE}"'
        found.add(place, "names no column of deviations", remedy=remedy)
    return columns if len(found.faults) == before else None


def _column(cell: str, place: str, found: FaultList, units: str | None) -> _Column:
    match = _HEADING.fullmatch(cell)
    name, unit = (match[1], match[2] or "") if match else (cell, "")
    if not unit and len(words := name.replace(",", " ").split()) == 2 and words[1] in _UNITS:
        name, unit = words
    name = name.strip().lower()
    if not name or name in NOTES:
        return _Column(name=name, unit="")
    known = (POSITION, *LINES)
    if name not in known:
        listed = ", ".join((*known, "note"))
        remedy = f'the nearest is "{nearest(name, known)}" of {listed}; or leave the column out'
        found.add(place, "names a column that is not known", cell, remedy)
    elif unit and unit.lower() not in _UNITS:
        found.add(place, f"has a unit that is not known for {name}", unit, "write (mm) or (in)")
    elif not unit and units is None:
        remedy = f'write "{name} (mm)" or "{name} (in)", or give --units'
        found.add(place, f"names no unit for {name}", cell, remedy)
    return _Column(name=name, unit=unit.lower() or units or "")


def _fill(
    table: Columns,
    rows: Sequence[tuple[int, list[str]]],
    columns: Sequence[_Column],
    found: FaultList,
    between: str,
) -> None:
    """Read the rows under the heading into the table."""
    before = len(found.faults)
    points = _decimal_mark(rows, columns, found, between)
    for number, cells in rows:
        if len(found.faults) - before >= FAULTS_A_LIST:
            return
        place = f"line {number}"
        if len(cells) > len(columns):
            comma = between == "," and all(_BARE.fullmatch(cell) for cell in cells)
            remedy = (
                "decimals take a point here; for a decimal comma put semicolons between the cells"
                if comma
                else "write one cell for each column of the heading"
            )
            problem = f"has {len(cells)} cells, more than the {len(columns)} columns of the heading"
            found.add(place, problem, remedy=remedy)
            continue
        given = dict(zip((c.name for c in columns), [*cells, *[""] * len(columns)], strict=False))
        if not any(given.get(name) for name in table.lines):
            continue  # a place of the form that was not read
        if not given.get(POSITION):
            found.add(f"{place}, {POSITION}", "is blank", remedy="say where the reading was taken")
        units = {c.name: c.unit for c in columns}
        read = {
            name: _length(given[name], units[name], f"{place}, {name}", found, points)
            for name in (POSITION, *table.lines)
        }
        table.at.append(read[POSITION])
        table.rows.append(place)
        for name, deviations in table.lines.items():
            deviations.append(read[name])


def _decimal_mark(
    rows: Sequence[tuple[int, list[str]]],
    columns: Sequence[_Column],
    found: FaultList,
    between: str,
) -> str:
    """Return the decimal mark of the table, ``.`` or ``,``; both at once are a fault."""
    marks: dict[str, tuple[int, str]] = {}
    for number, cells in rows:
        for column, cell in zip(columns, cells, strict=False):
            if column.name not in NOTES and _BARE.fullmatch(cell):
                marks.update({m: (number, cell) for m in ".," if m in cell and m not in marks})
    if len(marks) == 2 and between != ",":
        (first, one), (last, other) = sorted(marks.values())
        problem = f"writes decimals as in {other}, line {first} as in {one}"
        found.add(f"line {last}", problem, remedy="use a point or a comma for all")
    return "," if "," in marks else "."


def _length(cell: str, unit: str, place: str, found: FaultList, mark: str) -> float | None:
    """Return a cell in mm; None where it is blank or at fault."""
    if not cell:
        return None
    text = cell.replace("\N{MINUS SIGN}", "-")
    if mark == "," and _BARE.fullmatch(text):
        text = text.replace(",", ".")
    try:
        if not _BARE.fullmatch(text):
            own = re.search(r"[a-z\"']", text.lower())
            return read_length(text if own else f"{text} {unit}")
        return read_length(f"{_written_out(text)} {unit}")
    except UnitError as error:
        remedy = "write a number" if "has no unit" in error.problem else error.remedy
        problem = "has a comma" if "," in cell and _BARE.fullmatch(cell) else error.problem
        found.add(place, problem, cell, remedy)
    return None


def _written_out(number: str) -> str:
    """Return a number without an exponent, as loggers and spreadsheets write small ones."""
    try:
        plain = format(Decimal(number), "f") if "e" in number.lower() else number
    except InvalidOperation:
        plain = number
    if len(plain) > _DIGITS_MOST:
        raise UnitError(f"has more than {_DIGITS_MOST} digits", f"not {say_given(number)}")
    return plain
