"""Reads a survey of an edge from a table (CSV) or a TOML file, every fault gathered.

What goes with the readings (limit, step, ways ...) stands in the TOML file or comes with the
command; what comes with the command goes before the file.
"""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from itertools import pairwise
from pathlib import Path

from jiggen.errors import Fault, JobError
from jiggen.geometry.straightness import FEWEST
from jiggen.job.fields import ANGLE, FAULTS_A_LIST, LENGTH, POSITIVE, FaultList, Limits, Table
from jiggen.mistaken import NAMES, kind_of
from jiggen.straight.columns import POSITION, Columns, read_columns
from jiggen.straight.survey import DATUM, LIMIT_ON, LINES, PAIRS, Settings, Survey
from jiggen.units import say_length

FORMAT = 1

FILE_MOST = 2_000_000
"""A readings file is never so large (bytes); a larger one is some other file."""

READINGS_MOST = 2000
"""Places of one survey. More come from a machine; take every tenth."""

SAME_PLACE = 1e-6
"""mm: positions nearer than this are the same place."""

COMMAND = "jiggen straight"

_STEPS = Limits(above=0.0, at_most=10.0)
_SETTINGS = tuple(field.name for field in fields(Settings))
_TOP = ("format", *_SETTINGS, "readings")


def read_survey(path: str, options: Mapping[str, str] | None = None) -> Survey:
    """Read a survey from disk.

    Args:
        path: a TOML file by its ending; anything else is read as a table.
        options: settings that came with the command, by key, as typed; blank ones count as unsaid.

    Returns:
        The survey, in mm, places rising.

    Raises:
        JobError: the file cannot be read, or file or options hold faults; it carries all of them.
    """
    return read_survey_text(_text_of(path), path, options)


def read_survey_text(text: str, path: str, options: Mapping[str, str] | None = None) -> Survey:
    """Read a survey from the text of its file; see `read_survey`.

    Args:
        text: of the file.
        path: its name, whose ending tells how it is read.
        options: settings that came with the command.
    """
    asked = FaultList(file=COMMAND)
    given = {key: text for key, text in (options or {}).items() if text.strip()}
    typed = _typed(given, asked, "mm")
    found = FaultList(file=path)
    if path.lower().endswith(".toml"):
        table, columns = _of_toml(text, found)
        settings = _settings(table)
        settings = replace(settings, units=typed.units or table.units)
    else:
        columns = read_columns(text, found, typed.units)
        settings = Settings(
            units=typed.units or columns.units, name=Path(path).stem.replace("\n", " ")[:80]
        )
    asked = FaultList(file=COMMAND)
    typed = _typed(given, asked, settings.units or "mm")
    said = {k: v for k in _SETTINGS if (v := getattr(typed, k)) is not None}
    settings = replace(settings, **said)
    survey = _in_order(columns, settings, found)
    if survey is not None:
        _check_settings(survey, given, found, asked)
    options_faults = [replace(f, key=f"--{f.key.replace('_', '-')}") for f in asked.faults]
    if survey is None or found.faults or options_faults:
        raise JobError([*found.faults, *options_faults])
    return survey


def _text_of(path: str) -> str:
    data, problem, remedy = b"", "", "give the name of a readings file"
    try:
        with open(path, "rb") as stream:
            data = stream.read(FILE_MOST + 1)
        # A spreadsheet's "Unicode text" is UTF-16 with a mark in front.
        wide = data.startswith((b"\xff\xfe", b"\xfe\xff"))
        text = data.decode("utf-16" if wide else "utf-8-sig")
        if len(data) > FILE_MOST:
            problem = "is too large to be a readings file"
    except UnicodeDecodeError:
        problem, remedy = "is not UTF-8 text", "save it as CSV, UTF-8"
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "bad name"
        problem = f"cannot be read ({reason})"
    if data and (kind := kind_of(data)):
        problem = f"is {NAMES[kind]}, not readings along an edge"
        remedy = "jiggen straight --form FILE writes a blank form for them"
    if problem:
        raise JobError([Fault(file=path, key="", problem=problem, remedy=remedy)])
    return text


def _typed(given: Mapping[str, str], found: FaultList, units: str) -> Settings:
    """Return the settings that came with the command."""
    raw: dict[str, object] = {key: _number_or_text(text) for key, text in given.items()}
    if "ways" in raw:
        words = [word.strip() for word in given["ways"].split(",")]
        raw["ways"] = words
        if len(words) != 2:
            found.add("ways", "takes two words", given["ways"], "write --ways down,up")
            del raw["ways"]
    for key in ("name", "units"):
        if key in raw:
            raw[key] = given[key]
    return _settings(Table(raw, "", found, units, _SETTINGS))


def _number_or_text(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _settings(table: Table) -> Settings:
    return Settings(
        units=table.choice("units", ("mm", "in")),
        name=table.text("name", 80),
        date=table.text("date", 60),
        by=table.text("by", 80),
        ways=table.two_texts("ways", 24),
        step=table.value(LENGTH, "step", _STEPS),
        plus_minus=table.value(LENGTH, "plus_minus", _STEPS),
        limit=table.value(LENGTH, "limit", POSITIVE),
        limit_on=table.choice("limit_on", LIMIT_ON),
        over=table.value(LENGTH, "over", POSITIVE),
        twist_limit=table.value(ANGLE, "twist_limit", POSITIVE),
        apart=table.value(LENGTH, "apart", POSITIVE),
        datum=table.choice("datum", DATUM),
    )


def _of_toml(text: str, found: FaultList) -> tuple[Table, Columns]:
    try:
        raw = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        found.add("", f"is not TOML: {error}" if str(error) else "is not TOML", remedy="mend it")
        return Table({}, "", found, "mm", _TOP), Columns()
    units = raw.get("units", "mm")
    # Blanks of the form were not filled in, and say nothing.
    filled = {k: v for k, v in raw.items() if v not in ("", ["", ""]) or k in ("format", "units")}
    if isinstance(filled.get("date"), datetime.date):
        filled["date"] = str(filled["date"])
    top = Table(filled, "", found, units if units in ("mm", "in") else "mm", _TOP)
    if top.require("format", f"write format = {FORMAT}") and raw["format"] is not FORMAT:
        top.fault("format", "is not known", f"write format = {FORMAT}")
    top.require("units", 'write units = "mm" or units = "in"')
    top.require("readings", "write [readings], with position and deviation below it")
    readings = top.section("readings", (POSITION, *LINES))
    if top.has("readings") and readings.require(POSITION, "list where the readings were taken"):
        return top, _lists(readings)
    return top, Columns()


def _lists(table: Table) -> Columns:
    """Read the lists of a TOML file, blanks left out."""
    lists: dict[str, list[float | None]] = {}
    for key in table.raw:
        if key in (POSITION, *LINES):
            given = table.raw[key]
            if isinstance(given, list):
                lists[key] = _one_list(table, key, given)
            else:
                table.fault(key, "must be a list of lengths")
    count = len(lists.get(POSITION, []))
    for key, values in lists.items():
        if len(values) != count:
            problem = f"holds {len(values)} readings for {count} positions"
            table.fault(key, problem, 'write "" where nothing was read')
    rows = [f"{table.where(POSITION)}[{n}]" for n in range(1, count + 1)]
    lines = {key: values for key, values in lists.items() if key in LINES}
    return Columns(at=lists.get(POSITION, []), lines=lines, rows=rows, units=table.units)


def _one_list(table: Table, key: str, given: list[object]) -> list[float | None]:
    before, values = len(table.found.faults), list[float | None]()
    for number, item in enumerate(given[: READINGS_MOST + 1], start=1):
        if isinstance(item, str) and not item.strip() and key != POSITION:
            values.append(None)
            continue
        one = Table({"it": item}, "", FaultList(file=table.found.file), table.units, ("it",))
        values.append(one.value(LENGTH, "it"))
        table.found.faults.extend(
            replace(fault, key=f"{table.where(key)}[{number}]") for fault in one.found.faults
        )
        if len(table.found.faults) - before >= FAULTS_A_LIST:
            break
    return values


def _in_order(columns: Columns, settings: Settings, found: FaultList) -> Survey | None:
    """Return the survey with its places rising; None where the readings are at fault."""
    used = {name: line for name, line in columns.lines.items() if any(v is not None for v in line)}
    names = set(used)
    if len(names) > 1 and not any(names == set(pair) for pair in PAIRS):
        pairs = ", ".join(f"{one} with {two}" for one, two in PAIRS)
        problem = f"holds {', '.join(used)}, which tell nothing together"
        found.add("", problem, remedy=f"keep one of them, or two: {pairs}")
    if len(columns.at) > READINGS_MOST:
        found.add("", f"holds more than {READINGS_MOST} places", remedy="keep every tenth")
    rows = sorted(
        (at, n, where)
        for n, (at, where) in enumerate(zip(columns.at, columns.rows, strict=True))
        if at is not None
    )
    _check_twice(rows, settings.units or "mm", found)
    if found.faults:
        return None
    order = [n for _, n, _ in rows]
    survey = Survey(
        file=found.file,
        settings=settings,
        at=tuple(at for at, _, _ in rows),
        lines={name: tuple(line[n] for n in order) for name, line in used.items()},
    )
    _check_enough(survey, found)
    return None if found.faults else survey


def _check_twice(rows: Sequence[tuple[float, int, str]], units: str, found: FaultList) -> None:
    """Put down places that were read twice."""
    for (at, _, where), (following, _, again) in pairwise(rows):
        if following - at < SAME_PLACE and len(found.faults) < FAULTS_A_LIST:
            problem = f"reads {say_length(at, units)} again, as {where} did"
            found.add(again, problem, remedy="keep one of the two readings")


def _check_enough(survey: Survey, found: FaultList) -> None:
    """Put down a line, or two lines together, with too few readings."""
    counts = {name: sum(v is not None for v in line) for name, line in survey.lines.items()}
    remedy = f"straightness needs {FEWEST} places or more"
    for name, count in counts.items():
        if count < FEWEST:
            found.add("", f"holds only {count} of {name}", remedy=remedy)
    if not counts:
        found.add("", "holds no reading", remedy=remedy)
    if survey.pair is not None and not found.faults:
        shared = sum(None not in row for row in zip(*survey.lines.values(), strict=True))
        if shared < FEWEST:
            one, two = survey.pair
            problem = f"reads {one} and {two} together at only {shared}"
            found.add("", problem, remedy=remedy)


def _check_settings(
    survey: Survey, given: Mapping[str, str], found: FaultList, asked: FaultList
) -> None:
    """Put down settings that do not go with the readings, where they were said."""
    said = survey.settings

    def fault(key: str, problem: str, remedy: str) -> None:
        (asked if key in given else found).add(key, problem, remedy=remedy)

    twisting = survey.pair == ("front", "rear")
    if said.twist_limit is not None and not (twisting and said.apart):
        fault(
            "twist_limit",
            "cannot be judged by these readings",
            "read a front and a rear line, and say how far apart they are with apart",
        )
    if said.apart is not None and not twisting:
        fault("apart", "has no front and rear line to lie between", "leave it out")
    if said.datum is not None and not twisting:
        fault("datum", "has no front and rear line to go with", "leave it out")
    if said.twist_limit is not None and said.datum == "each":
        fault(
            "twist_limit",
            'cannot be judged with datum = "each"',
            "read both lines against one flat surface",
        )
    if said.over is not None and said.limit_on == "ends":
        fault("over", 'goes with limit_on = "zone" only', "leave one of the two out")
