"""Reads a filled-in readings file, gathering every fault before it gives up.

Names and nominal values are held against the drawings' manifest: readings of last week's page
must not pass for those of today's.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from jiggen.errors import Fault, JobError
from jiggen.job.fields import LENGTH, POSITIVE, FaultList, Table, nearest, say_given
from jiggen.job.read import beyond_limits, syntax_faults
from jiggen.limits import TooMuch, plain_bytes, toml_tables
from jiggen.readings.names import FORMAT, earlier_prints, print_mark
from jiggen.readings.trial import HoleReadings, Rule, is_blank, read_coupon_table, read_hole
from jiggen.units import say_length, words
from jiggen.verify.coupon import CouponReadings
from jiggen.verify.placed import PlacedLength
from jiggen.verify.records import LengthReading, recorded_sheets

FILE_MOST = 5_000_000
"""A readings file is never so large (bytes); a larger one is some other file."""

NOMINAL_AGREES = 0.02
"""mm: a nominal value in the file that is further off than this belongs to other drawings."""

_AS_WRITTEN = 'a reading is written measured = 99.5 or measured = "3 7/8 in"'

NAME_SAID = 60
"""A longer name is not repeated in a fault."""

_PLACE = re.compile(r"(sheet|piece|test_hole)\[(\d+)\](?:\.lengths\[(\d+)\])?", re.ASCII)
_TOP = (
    *("format", "job", "units", "step", "plus_minus", "print", "date", "by"),
    *("sheet", "piece", "test_hole", "coupon"),
)
_GROUP = ("name", "step", "plus_minus", "lengths")
_LENGTH = ("name", "nominal", "measured", "step", "plus_minus", "how")
_HOLE = ("piece", "thickness", "entry", "exit", "step", "plus_minus")


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """A readings file, in mm.

    Attributes:
        file: its name as given.
        job: the job that it says it belongs to; empty if it does not say.
        date: as written; empty if not.
        by: who measured; empty if not.
        print: mark of the print.pdf that it belongs to; empty if it does not say.
        sheets: what was measured on each page or sheet, by its name; blanks left out.
        pieces: what was measured on each finished piece, by its name; blanks left out.
        test_holes: the drilled test holes.
        coupon: of the kerf coupon; None where nothing was measured on it.
    """

    file: str
    job: str = ""
    date: str = ""
    by: str = ""
    print: str = ""
    sheets: dict[str, tuple[LengthReading, ...]] = field(default_factory=dict)
    pieces: dict[str, tuple[LengthReading, ...]] = field(default_factory=dict)
    test_holes: tuple[HoleReadings, ...] = ()
    coupon: CouponReadings | None = None

    @property
    def is_blank(self) -> bool:
        """Return whether nothing at all was measured."""
        lengths = [*self.sheets.values(), *self.pieces.values()]
        return not (any(lengths) or self.test_holes or self.coupon)


def read_readings(path: str | Path, manifest: Mapping[str, Any] | None = None) -> Readings:
    """Read a readings file from disk.

    Args:
        path: the TOML file.
        manifest: of the drawings that were measured, to check the names and nominal values
            against; None to take them as they are.

    Returns:
        The readings, in mm.

    Raises:
        JobError: the file cannot be read, or holds faults; it carries all of them.
    """
    file = str(path)
    try:
        text = plain_bytes(path, FILE_MOST, "a readings file").decode("utf-8-sig")
    except TooMuch as beyond:
        raise _whole(file, beyond.problem, beyond.remedy) from None
    except UnicodeDecodeError:
        raise _whole(file, "is not UTF-8 text", "save the file as UTF-8") from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "bad name"
        remedy = "give the name of a readings file"
        raise _whole(file, f"cannot be read ({reason})", remedy) from None
    return read_readings_text(text, file, manifest)


def read_readings_text(
    text: str, file_name: str, manifest: Mapping[str, Any] | None = None
) -> Readings:
    """Read readings from the text of their file.

    Args:
        text: the TOML text.
        file_name: the file's name as faults say it.
        manifest: of the drawings that were measured, or None.

    Returns:
        The readings, in mm.

    Raises:
        JobError: the text holds faults; it carries all of them.
    """
    try:
        raw = toml_tables(text)
    except TooMuch as beyond:
        raise JobError([beyond_limits(beyond, file_name)]) from None
    except ValueError as error:
        raise JobError(syntax_faults(text, file_name, error, _AS_WRITTEN)) from None
    found = FaultList(file=file_name)
    readings = _read(raw, found, manifest)
    if found.faults:
        raise JobError([_placed(fault, raw) for fault in found.faults])
    return readings


def _whole(file: str, problem: str, remedy: str) -> JobError:
    return JobError([Fault(file=file, key="", problem=problem, remedy=remedy)])


def _placed(fault: Fault, raw: Mapping[str, Any]) -> Fault:
    """Return a fault that says its place as the user sees it: the page and the bar by name."""
    found = _PLACE.match(fault.key)
    if found is None:
        return fault
    kind, number, row = found.groups()
    table = _item(raw.get(kind), number)
    place = f"{kind.replace('_', ' ')} {number}"
    if kind != "test_hole":
        place = _called(table) or place
    if row is not None:
        place += f", {_called(_item(table.get('lengths'), row)) or f'length {row}'}"
    return replace(fault, problem=words("{place}: {what}", place=place, what=fault.problem))


def _item(listed: object, number: str) -> Mapping[str, Any]:
    """Return a table of a list by its number, an empty one where there is no such table."""
    some = listed if isinstance(listed, list) else []
    item = some[int(number) - 1] if int(number) <= len(some) else None
    return item if isinstance(item, dict) else {}


def _called(table: Mapping[str, Any]) -> str:
    """Return the name in a table; empty where it has none that can be printed."""
    name = table.get("name")
    return name if isinstance(name, str) and name.isprintable() and len(name) <= NAME_SAID else ""


def _read(raw: dict[str, Any], found: FaultList, manifest: Mapping[str, Any] | None) -> Readings:
    sheets = None if manifest is None else recorded_sheets(manifest)
    given_units = raw.get("units", "mm")
    units = given_units if given_units in ("mm", "in") else "mm"
    blanks = ("date", "by", "job", "print")
    filled = {k: v for k, v in raw.items() if not (k in blanks and v == "")}
    if isinstance(filled.get("date"), datetime.date):
        filled["date"] = str(filled["date"])
    top = Table(
        filled,
        "",
        found,
        units,
        _TOP,
    )
    if top.require("format", f"write format = {FORMAT}") and raw["format"] is not FORMAT:
        top.fault("format", "is not known", f"write format = {FORMAT}")
    top.choice("units", ("mm", "in"))
    rule = Rule().refined(top)
    mark = _check_print(top, manifest)
    on_sheets = on_pieces = pieces = None
    if sheets is not None:
        on_sheets = {sheet.name: sheet.measurable() for sheet in sheets}
        pieces = [piece for sheet in sheets for piece in sheet.pieces]
        on_pieces = {piece.name: {n.name: n for n in piece.lengths} for piece in pieces}
    holes = _tables(top, "test_hole", _HOLE)
    return Readings(
        file=found.file,
        job=top.text("job", 200) or "",
        date=top.text("date", 60) or "",
        by=top.text("by", 80) or "",
        print=mark,
        sheets=_groups(top, "sheet", rule, on_sheets),
        pieces=_groups(top, "piece", rule, on_pieces),
        test_holes=tuple(h for table in holes if (h := read_hole(table, rule, pieces)) is not None),
        coupon=read_coupon_table(top, rule),
    )


def _check_print(top: Table, manifest: Mapping[str, Any] | None) -> str:
    """Return which print the readings were taken on; put down a fault where that is an unknown one.

    One that a reprint took the place of is known: what a machine cut still counts.
    """
    mark = (top.text("print", 80) or "").strip()
    now = print_mark(manifest) if manifest else ""
    if mark and manifest and now and mark not in (now, *earlier_prints(manifest)):
        top.fault("print", *of_another_print(now))
    return mark


def of_another_print(now: str) -> tuple[str, str]:
    """Return what is wrong with readings of another print, and what would do.

    Args:
        now: mark of the print that lies there.
    """
    return (
        f'is of another print.pdf than the one that lies there now ("{now}")',
        "measure the new print, and fill in the form that was written with it",
    )


def _tables(above: Table, key: str, known: Sequence[str]) -> list[Table]:
    """Return a list of tables under a key, without the blanks of the form."""
    given = above.raw.get(key, [])
    if not isinstance(given, list):
        above.fault(key, "must be a list of tables", f"write [[{key}]] above each")
        return []
    read = []
    for number, item in enumerate(given, start=1):
        place = f"{above.where(key)}[{number}]"
        if not isinstance(item, dict):
            above.found.add(place, "must be a table", item, f"it holds {', '.join(known)}")
            continue
        filled = {k: v for k, v in item.items() if not (k == "measured" and is_blank(v))}
        read.append(Table(filled, place, above.found, above.units, known))
    return read


def _groups(
    top: Table,
    key: str,
    rule: Rule,
    drawn: Mapping[str, Mapping[str, PlacedLength]] | None,
) -> dict[str, tuple[LengthReading, ...]]:
    """Return the readings of each sheet or piece."""
    groups: dict[str, tuple[LengthReading, ...]] = {}
    for table in _tables(top, key, _GROUP):
        name = _name(table, drawn, groups)
        own = rule.refined(table)
        lengths: dict[str, LengthReading | None] = {}
        known = None if drawn is None or name is None else drawn.get(name)
        for row in _tables(table, "lengths", _LENGTH):
            _length(row, own, known, lengths)
        if name is not None:
            groups[name] = tuple(r for r in lengths.values() if r is not None)
    return groups


def _name(
    table: Table, known: Mapping[str, object] | None, taken: Mapping[str, object]
) -> str | None:
    """Return the name in a table; None where it is missing, unknown or used before."""
    if not table.require("name", "keep the name that the form had"):
        return None
    name = table.text("name", 200)
    if name is None:
        return None
    if known is not None and name not in known:
        table.found.add_unknown(
            table.where("name"),
            "on the drawings",
            name,
            lambda: f"nearest is {say_given(nearest(name, list(known)))}" if known else "",
        )
        return None
    if name in taken:
        table.fault("name", "is there twice", "keep one of them")
        return None
    return name


def _length(
    row: Table,
    rule: Rule,
    drawn: Mapping[str, PlacedLength] | None,
    lengths: dict[str, LengthReading | None],
) -> None:
    """Read one length into `lengths`; None where it is blank or at fault."""
    name = _name(row, drawn, lengths)
    nominal = row.value(LENGTH, "nominal", POSITIVE)
    measured = row.value(LENGTH, "measured", POSITIVE)
    own = rule.refined(row)
    if name is None:
        return
    if drawn is not None and nominal is not None:
        there = drawn[name].nominal
        if abs(nominal - there) > NOMINAL_AGREES:
            row.fault(
                "nominal",
                f"differs from the drawing's {say_length(there, row.units)}",
                "these readings belong to other drawings: write a new form",
            )
    lengths[name] = None if measured is None else own.reading(name, measured)
