"""Reads a survey of an edge from a table (CSV) or a form (TOML), or one gap; every fault gathered.

A table is what a spreadsheet or a hand writes: commas between the cells, a point before decimals,
a heading that names each column and its unit, since 0.3 of what makes a factor of 25 between pass
and scrap. A form has the settings beside its lists. What comes with the command goes before the
file.
"""

from __future__ import annotations

import csv
import datetime
import os
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path

from msgspec.structs import replace

from jiggen.errors import Fault, JobError
from jiggen.file_kinds import NAMES, kind_of
from jiggen.job.fields import (
    ANGLE,
    LENGTH,
    POSITIVE,
    FaultList,
    Limits,
    Table,
    nearest,
    say_key,
)
from jiggen.report.terminal import harmless
from jiggen.straight.survey import (
    EDGE,
    GAP,
    GAP_MOST,
    GO,
    HEIGHT,
    LINES,
    PLACES,
    POSITION,
    Columns,
    Settings,
    Survey,
    looks_like_inches,
    meaning,
    survey_of,
)
from jiggen.units import UnitError, read_length

FORMAT = 1
COMMAND = "jiggen straight"

FILE_MOST = 250_000  # bytes of a readings file; a larger one is some other file
LINE_MOST = 4000  # characters of one line: a list of a form may be broken over several
COLUMNS_MOST, KEYS_MOST = 12, 40
"""Columns of a table: position, two of blades for each of two lines, and notes; keys of a form."""
READINGS_MOST = 2000  # places of one survey. More come from a machine; take every tenth
DOTS_MOST = 10
"""Dots of a form between two commas: a key of thousands of parts takes seconds and gigabytes."""
FAULTS_MOST = 20  # faults that are listed; a hundred more have the same cause

UNITS = ("mm", "in")
NOTES = ("", "note", "notes", "remark", "remarks")
"""Columns for the user's own words; they are not read."""
KNOWN = (POSITION, GAP, HEIGHT, GO, "no go", "note", EDGE)
BESIDE = f"beside a reading's name may stand {', '.join(LINES[1:])}, a or b"
EXAMPLE = 'begin with "position (mm),gap (mm)"'

_HEADING = re.compile(r"([^\[(]*?)\s*(?:[\[(]\s*([^\])]*?)\s*[\])])?")
_BARE = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_QUOTED = re.compile(r""" "(?:[^"\\]|\\.)*" | '[^']*' """, re.VERBOSE)
_DIGITS_MOST = 40
_STEPS = Limits(above=0.0, at_most=10.0)
_SETTINGS = Settings.__struct_fields__
TICKED = "ticked"
"""Table of a form for what was ticked off along the edge: the page's own, not read here."""
_TOP = ("format", *_SETTINGS, "readings", TICKED)


def read_survey(path: str, options: Mapping[str, str] | None = None) -> Survey:
    """Read a survey from disk.

    Args:
        path: a TOML file by its ending; anything else is read as a table.
        options: settings that came with the command, by key, as typed; blank ones count as unsaid.

    Returns:
        The survey, in mm, places rising.

    Raises:
        JobError: the file cannot be read, or file or options hold faults; it carries all of them;
            or its millimetres look like inches, and `options` do not say ``units``.
    """
    survey = read_survey_text(_text_of(path), path, options)
    if not (options or {}).get("units") and (question := looks_like_inches(survey)):
        written = 'units = "in"' if path.lower().endswith(".toml") else "(in) in the heading"
        remedy = f"write {written}, or answer --units mm"
        raise JobError([Fault(file=path, key=POSITION, problem=question, remedy=remedy)])
    return survey


def read_survey_text(text: str, path: str, options: Mapping[str, str] | None = None) -> Survey:
    """Read a survey from its file's text; the ending of `path` tells how. See `read_survey`."""
    given = {key: text for key, text in (options or {}).items() if text.strip()}
    found, asked = FaultList(file=path), FaultList(file=COMMAND)
    units = given.get("units") if given.get("units") in UNITS else None
    settings, columns = Settings(name=harmless(Path(path).stem)[:80].strip() or None), Columns()
    long = [n for n, line in enumerate(text.splitlines(), 1) if len(line) > LINE_MOST]
    if long:
        problem = f"has more than {LINE_MOST} characters"
        found.add(f"line {long[0]}", problem, remedy="write one place a line, or break the list")
    elif path.lower().endswith(".toml"):
        settings, columns = _of_toml(text, found)
    else:
        columns = _of_table(text, found, units)
    settings = replace(settings, units=units or columns.units)
    typed = _typed(given, asked, settings.units or "mm")
    said = {key: v for key in _SETTINGS if (v := getattr(typed, key)) is not None}
    settings = replace(settings, **said)
    survey = None if found.faults else survey_of(columns, settings, found)
    if survey is not None:
        _check_settings(survey, given, found, asked)
    if len(found.faults) > FAULTS_MOST:
        more = Fault(
            file=path, key="", problem=f"has {len(found.faults) - FAULTS_MOST} faults more"
        )
        found.faults[FAULTS_MOST:] = [more]
    if survey is None or found.faults or asked.faults:
        raise JobError([*found.faults, *_of_options(asked)])
    return survey


def read_gap(options: Mapping[str, str]) -> tuple[Settings, tuple[float, ...]]:
    """Read what one blade, or two, told of the whole edge.

    Args:
        options: as typed; ``gap`` holds one length, over which nothing goes under, or two with a
            comma between: the blade that goes, and the one that does not.

    Returns:
        The settings, of which units and limit count, and the one or two lengths, mm.

    Raises:
        JobError: a fault of an option.
    """
    given = {key: text for key, text in options.items() if text.strip()}
    asked, words = FaultList(file=COMMAND), [word.strip() for word in given["gap"].split(",")]
    for key in [key for key in given if key not in ("gap", "limit", "units")]:
        asked.add(key, "does not go with --gap", given[key], "leave it out")
    lengths = [*(("gap", word) for word in words), ("limit", given.get("limit", ""))]
    bare = [(key, word) for key, word in lengths if _BARE.fullmatch(word)]
    for key, word in bare if given.get("units") not in UNITS else ():
        asked.add(key, "names no unit", word, 'write as in "0.5 mm" or "0.02 in", or give --units')
    units = "in" if any(re.search('in|"', word) for _, word in lengths) else "mm"
    units = given.get("units", units)
    settings = replace(_typed(given, asked, units), units=units)
    table = Table({"gap": [_number_or_text(w) for w in words]}, "", asked, units, ("gap",))
    gaps = table.values(LENGTH, "gap", Limits(above=0.0, at_most=GAP_MOST)) or ()
    if not asked.faults and sorted(set(gaps)) != list(gaps):
        remedy = "write X,Y: X goes, Y is thicker and does not"
        asked.add("gap", "names no blade that goes and a thicker one", given["gap"], remedy)
    if asked.faults:
        raise JobError(_of_options(asked))
    return settings, tuple(gaps)


def _of_options(asked: FaultList) -> list[Fault]:
    return [replace(fault, key=f"--{fault.key.replace('_', '-')}") for fault in asked.faults]


def _text_of(path: str) -> str:
    data, problem, remedy = b"", "", "give the name of a readings file"
    try:
        if os.path.exists(path) and not os.path.isfile(path):
            raise OSError(0, "it is a folder or a device")
        with open(path, "rb") as stream:
            data = stream.read(FILE_MOST + 1)
        if len(data) > FILE_MOST:
            raise OSError(0, f"it is larger than {FILE_MOST} bytes")
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        problem, remedy = "is not UTF-8 text", "save it as CSV, UTF-8, with commas"
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "bad name"
        problem = f"cannot be read ({reason})"
    if data and (kind := kind_of(data)):
        problem = f"is {NAMES[kind]}, not readings along an edge"
        remedy = f"{COMMAND} --form FILE writes a blank form for them"
    if problem:
        raise JobError([Fault(file=path, key="", problem=problem, remedy=remedy)])
    return text


def _typed(given: Mapping[str, str], found: FaultList, units: str) -> Settings:
    raw: dict[str, object] = {k: _number_or_text(v) for k, v in given.items() if k in _SETTINGS}
    if "ways" in raw:
        raw["ways"] = words = [word.strip() for word in given["ways"].split(",")]
        if len(words) != 2:
            found.add("ways", "takes two words", given["ways"], "write --ways up,down")
            del raw["ways"]
    if "units" in raw:
        raw["units"] = given["units"]
    return _settings(Table(raw, "", found, units, _SETTINGS))


def _number_or_text(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _settings(table: Table) -> Settings:
    return Settings(
        units=table.choice("units", UNITS),
        name=table.text("name", 80),
        date=table.text("date", 60),
        by=table.text("by", 80),
        reads=table.choice("reads", ("gaps", "heights")),
        ways=table.two_texts("ways", 24),
        step=table.value(LENGTH, "step", _STEPS),
        plus_minus=table.value(LENGTH, "plus_minus", _STEPS),
        limit=table.value(LENGTH, "limit", POSITIVE),
        limit_on=table.choice("limit_on", ("zone", "ends")),
        over=table.value(LENGTH, "over", POSITIVE),
        twist_limit=table.value(ANGLE, "twist_limit", POSITIVE),
        apart=table.value(LENGTH, "apart", POSITIVE),
        datum=table.choice("datum", ("one", "each")),
    )


def _check_settings(
    survey: Survey, given: Mapping[str, str], found: FaultList, asked: FaultList
) -> None:
    """Put down settings that do not go with the readings, where they were said."""
    said, twisting = survey.settings, survey.pair == ("front", "rear")

    def fault(key: str, problem: str, remedy: str) -> None:
        (asked if key in given else found).add(key, problem, remedy=remedy)

    if said.twist_limit is not None and not (twisting and said.apart):
        remedy = "read a front and a rear line, and say how far apart they are with apart"
        fault("twist_limit", "cannot be judged by these readings", remedy)
    elif said.twist_limit is not None and survey.own_datum:
        problem = "cannot be judged where each line had its own straightedge"
        fault("twist_limit", problem, 'read both against one flat surface, datum = "one"')
    if said.apart is not None and not twisting:
        fault("apart", "has no front and rear line to lie between", "leave it out")
    if said.datum is not None and not twisting:
        fault("datum", "has no front and rear line to go with", "leave it out")
    if said.over is not None and said.limit_on == "ends":
        fault("over", 'goes with limit_on = "zone" only', "leave one of the two out")
    if said.ways is not None and survey.has_sides:
        fault("ways", "says again what the columns a and b say", "leave it out")


def _of_table(text: str, found: FaultList, units: str | None) -> Columns:
    """Read a table of readings; `units` are for columns whose heading has none."""
    rows = _rows(text, found)
    number, cells = next(rows, (0, []))
    where, before = f"line {number}", len(found.faults)
    if not cells and not before:
        found.add("", "holds no readings", remedy=EXAMPLE)
    elif len(cells) > COLUMNS_MOST:
        found.add(where, f"names {len(cells)} columns, more than {COLUMNS_MOST}", remedy=EXAMPLE)
    elif len(cells) == 1 and re.search("[;\t]", cells[0]):
        remedy = "save it with commas between the cells and a point before decimals"
        found.add(where, "has semicolons or tabs between the cells", remedy=remedy)
    elif all(not cell or _BARE.fullmatch(cell) for cell in cells):
        found.add(where, "has numbers where the heading should be", remedy=EXAMPLE)
    if found.faults:
        return Columns()
    matches = [_HEADING.fullmatch(cell) for cell in cells]
    names = [match[1] if match else cell for match, cell in zip(matches, cells, strict=True)]
    written = [((match and match[2]) or "").lower() or units or "" for match in matches]
    for name, unit in zip(names, written, strict=True):
        if name.lower() in NOTES or (unit and _is_unit(unit)):
            continue
        problem = "has a unit that is not known" if unit else "names no unit"
        remedy = f'write "{name} (mm)" or "{name} (in)", or give --units'
        found.add(where, f"{problem} for {name}", unit or name, remedy)
    return _filled(names, written, rows, (where, "line {row}, {name}"), found)


def _is_unit(unit: str) -> bool:
    try:
        read_length(f"1 {unit}")
    except UnitError:
        return False
    return True


def _rows(text: str, found: FaultList) -> Iterator[tuple[int, list[str]]]:
    """Yield the number of each line that says something, and its cells without blank ends."""
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip(" ,") or line.lstrip(' "').startswith("#"):
            continue
        try:
            cells = next(csv.reader([line.strip()], skipinitialspace=True, strict=True))
        except csv.Error as error:
            found.add(f"line {number}", f"is not a row of a table ({error})")
            continue
        row = [cell.strip() for cell in cells]
        while row and not row[-1]:
            row.pop()
        yield number, row


def _filled(
    names: Sequence[str],
    units: Sequence[str],
    rows: Iterable[tuple[int, list[str]]],
    where: tuple[str, str],
    found: FaultList,
) -> Columns:
    """Read the rows, each with its number, under a heading of names and units of bare numbers.

    `where` is how faults name the heading, and a value as `Columns.where` has it.
    """
    keys = [None if name.lower() in NOTES else meaning(name) for name in names]
    for n, (name, key) in enumerate(zip(names, keys, strict=True)):
        if key is None and name.lower() not in NOTES:
            known = ", ".join(KNOWN)
            remedy = f'the nearest is "{nearest(name, KNOWN)}" of {known}; {BESIDE}'
            found.add(where[0], "names a column that is not known", name, remedy)
        elif key and keys.index(key) < n:
            found.add(where[0], "names a column twice", name, "keep one of each name")
    if not found.faults and PLACES not in keys:
        found.add(where[0], f'names no column "{POSITION}"', remedy=EXAMPLE)
    if not found.faults and not set(keys) - {PLACES, None}:
        found.add(where[0], "names no column of gaps or heights", remedy=EXAMPLE)
    if found.faults:
        return Columns()
    named = {key: name for key, name in zip(keys, names, strict=True) if key}
    said = next(unit for key, unit in zip(keys, units, strict=True) if key not in (None, PLACES))
    columns = Columns(
        names=named,
        values={key: [] for key in named},
        where=where[1],
        units="in" if said.startswith(("in", "f", "'", '"')) else "mm",
    )
    for number, cells in rows:
        given = {k: (c, u) for k, c, u in zip(keys, cells, units, strict=False) if k and c}
        if not given.keys() - {PLACES} and len(cells) <= len(keys):
            continue  # a place of the form that was not read
        columns.rows.append(number)
        place = columns.place(PLACES, -1)
        if len(columns.rows) > READINGS_MOST:
            found.add(place, f"is more than {READINGS_MOST} places", remedy="keep every tenth")
            break
        if len(cells) > len(keys):
            comma = all(_BARE.fullmatch(cell) for cell in cells)
            problem = f"has {len(cells)} cells, more than the {len(keys)} columns of the heading"
            remedy = "decimals take a point here" if comma else "write one cell for each column"
            found.add(place, problem, remedy=remedy)
        elif PLACES not in given:
            found.add(place, "is blank", remedy="say where the reading was taken")
        for key, values in columns.values.items():
            values.append(_length(*given.get(key, ("", "")), columns.place(key, -1), found))
    return columns


def _length(cell: str, unit: str, place: str, found: FaultList) -> float | None:
    """Return a cell in mm; None where it is blank or at fault."""
    if not cell:
        return None
    text = cell.replace("\N{MINUS SIGN}", "-")
    try:
        if _BARE.fullmatch(text):
            return read_length(f"{_without_exponent(text)} {unit}")
        own = re.search(r"[a-z\"']", text.lower())
        return read_length(text if own else f"{text} {unit}")
    except UnitError as error:
        found.add(place, error.problem, cell, error.remedy)
    return None


def _without_exponent(number: str) -> str:
    """Return a number without an exponent, as loggers and spreadsheets write small ones."""
    exact = Decimal(number)
    # A short exponent can stand for a gigabyte of digits.
    if len(number) > _DIGITS_MOST or abs(exact.adjusted()) > _DIGITS_MOST:
        raise UnitError(f"has more than {_DIGITS_MOST} digits", "round it")
    return format(exact, "f")


def _of_toml(text: str, found: FaultList) -> tuple[Settings, Columns]:
    for number, line in enumerate(text.splitlines(), start=1):
        parts = _QUOTED.sub("", line).partition("#")[0].split(",")
        if max(part.count(".") for part in parts) > DOTS_MOST:
            found.add(f"line {number}", "is neither a key nor a list", remedy="mend it")
            return Settings(), Columns()
    try:
        raw = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: a number of 5000 digits
        why = f": {error}" if isinstance(error, tomllib.TOMLDecodeError) else ""
        found.add("", f"is not TOML that can be read{why}", remedy="mend it")
        return Settings(), Columns()
    many = max(len(one) for one in (raw, *raw.values()) if isinstance(one, dict))
    if many > KEYS_MOST:
        found.add("", f"holds {many} keys in one table, more than {KEYS_MOST}", remedy="mend it")
        return Settings(), Columns()
    units = raw["units"] if raw.get("units") in UNITS else "mm"
    # Blanks of the form were not filled in, and say nothing.
    filled = {k: v for k, v in raw.items() if v not in ("", ["", ""]) or k in ("format", "units")}
    if isinstance(filled.get("date"), datetime.date):
        filled["date"] = str(filled["date"])
    top = Table(filled, "", found, units, _TOP)
    if top.require("format", f"write format = {FORMAT}") and raw["format"] is not FORMAT:
        top.fault("format", "is not known", f"write format = {FORMAT}")
    top.require("units", 'write units = "mm" or units = "in"')
    top.require("readings", "write [readings], with position and gap below it")
    settings, lists = _settings(top), raw.get("readings", {})
    if found.faults:
        return settings, Columns()
    if not isinstance(lists, dict) or not all(isinstance(one, list) for one in lists.values()):
        found.add("readings", "must be a table of lists", remedy="position = [0, 250, 500]")
        return settings, Columns()
    longest = max(map(len, lists.values()), default=0)
    for key, one in lists.items():
        if len(one) < longest:
            problem = f"holds {len(one)} where another list holds {longest}"
            found.add(f"readings.{say_key(key)}", problem, remedy='write "" where nothing was read')
    cells = [[str(item).strip() for item in row] for row in zip(*lists.values(), strict=False)]
    where = "readings", "readings.{name}[{row}]"
    return settings, _filled(list(lists), [units] * len(lists), enumerate(cells, 1), where, found)


FORM_PLACES = {"mm": (0, 250, 500, 750, 1000), "in": (0, 10, 20, 30, 40)}
"""Both ends, and between them the three places that are read after every pass."""

TOML_FORM = """\
# Gaps under a straightedge, for: jiggen straight {file}
# The edge upright, or hanging over the table's edge: lying flat, its own weight hides a bow.
# Rock the straightedge until its largest gap is smallest; on a hump, until the gaps at both ends
# are equal. Then at each place: go, the largest blade that goes under, 0 where none does; no_go,
# the smallest that does not. Between passes: the middle and both quarter points.
format = 1
units = "{units}"      # what bare numbers count in; "0.3 mm" and "1/64 in" carry their own
name = ""
date = ""
by = ""
limit = ""        # from the plans; without it nothing is judged
limit_on = "zone" # "zone": strip between two parallel lines; "ends": off the line through the ends
over = ""         # length of edge that the limit is for, where the plans say one

[readings]        # "" where nothing was read; put in your own places
position = [{position}]
go = [{blanks}]
no_go = [{blanks}]

# Read with side A up and again with side B up, which takes the straightedge's own error out:
#   go_a, no_go_a, go_b, no_go_b
# or, where one side can be reached, the straightedge rolled half a turn: gap and gap_turned.
# One number a place: gap; or height, where a larger number is higher (dial gauge, rule, table).
# Two lines on one side: front_height and rear_height; one on each face: upper_height, lower_height.
# What goes with these stands above [readings]:
#   step = ""             # smallest step of what you read with, or
#   plus_minus = ""       # the most by which a reading is off
#   apart = ""            # from the front line to the rear line
#   datum = "each"        # each line had its own straightedge; "one": one flat surface
#   twist_limit = ""      # degrees, from the plans
#   reads = "gaps"        # or "heights", for lists whose name does not say
#   ways = ["up", "down"] # which way a number above zero goes, and one below
"""

CSV_FORM = """\
# Gaps under a straightedge, for: jiggen straight {file} --limit L
# Rock it until its largest gap is smallest. go: the largest blade that goes, 0 where none does.
# no go: the smallest that does not. Between passes: the middle and both quarter points.
position ({units}),go ({units}),no go ({units})
{rows}
"""


def blank_form(file: str, units: str) -> bytes:
    """Return the bytes of a blank form, .toml or .csv by its name.

    Raises:
        JobError: another ending, other units, or none.
    """
    asked, places = FaultList(file=COMMAND), FORM_PLACES.get(units, ())
    ending = Path(file).suffix.lower()
    if not units:
        asked.add("units", "is not said: mm or in?", remedy="give --units mm or --units in")
    elif not places:
        asked.add("units", "is not known", units, "write mm or in")
    if ending not in (".toml", ".csv"):
        asked.add("form", "is neither", file, "end its name in .toml or .csv")
    if asked.faults:
        raise JobError(_of_options(asked))
    form = TOML_FORM if ending == ".toml" else CSV_FORM
    text = form.format(
        file=harmless(file),
        units=units,
        position=", ".join(map(str, places)),
        blanks=", ".join(['""'] * len(places)),
        rows="\n".join(f"{at},," for at in places),
    )
    return text.encode("utf-8")
