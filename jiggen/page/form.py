"""The form of the job file, which Measure and Jigs share: what is typed, and what its buttons do.

::

    what is typed     a value at its key
    way               another way of measuring a station, in the old one's place
    do                add NAME, drop NAME, exchange KEY KEY, put KEY VALUE

Whatever is taken out stays in the file as a comment, and comes back from it.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from jiggen.errors import Fault, blamed_on, say
from jiggen.job.read import read_job_text
from jiggen.job.schema import keys_of
from jiggen.job.sections import Job
from jiggen.job.wedge import REAR_LINED, Form, Station
from jiggen.page.catalogue import (
    all_known,
    count_of,
    field_of,
    known,
    label_of,
    tables_of,
    typed_changes,
)
from jiggen.page.edit import (
    CannotEdit,
    add_table,
    change,
    drop_table,
    exchange_ways,
    raw_at,
    spans,
    typed_at,
    was_at,
)
from jiggen.page.fields import Field, Mark, marks_of, mended
from jiggen.solution import Check, Solution
from jiggen.solve import solve

MEASURED = ("wedge", "holes", "drill", "rivet", "countersink", "allow")
"""Sections whose keys are typed on Measure, in the order of the job."""
DRAWN = ("guide", "block", "gauge", "strip", "cradle", "stock", "sequence", "row", "print", "cut")
"""Sections whose keys are typed on Jigs."""
CONTROLS = {"station", "way", "do", "at", "only", "formats"}
"""Names of a form that are no keys: what is shown or drawn of the job, and buttons."""
BLANK = {"one": '""', "pair": '["", ""]'}
"""What stands in the file where nothing is typed, at a key that says how it was measured."""


def solved(job: Path, text: str) -> Solution:
    """Solve a job from its text.

    Args:
        job: the file; what it names is looked for beside it, and nowhere else.
        text: of the file.

    Raises:
        JobError: the text holds faults.
    """
    read = read_job_text(text, job.name, job.parent, within=job.parent)
    with blamed_on(job.name, read.units):
        return solve(read)


def is_known(text: str, form: Mapping[str, str]) -> bool:
    """Return whether a form holds only fields of a job file and controls."""
    way = form.get("way", "")
    return all_known(text, form.keys() - CONTROLS) and (not way or way in set(Form))


def draft(text: str, form: Mapping[str, str]) -> str:
    """Return the text of the job as typed, and as its buttons change it.

    Raises:
        CannotEdit: see `jiggen.page.edit`.
    """
    keys = {name: value for name, value in form.items() if name not in CONTROLS}
    text = change(text, typed_changes(text, keys))
    number = station_of(text, form)
    way, now = form.get("way", ""), way_of(text, number)
    if way and now and way != now:
        text = _other_way(text, number, now, way)
    match form.get("do", "").split(" ", 1):
        case ["add", "wedge.station"]:
            return _added_station(text)
        case ["drop", "wedge.station"]:
            return drop_table(text, f"wedge.station[{number}]")
        case ["add", name] if name in (*MEASURED, *DRAWN):
            many = keys_of(Job)[name].is_list
            return add_table(text, f"{name}[{count_of(text, name) + 1}]" if many else name, {})
        case ["drop", name] if can_go(name.partition("[")[0]):
            return drop_table(text, name)
        case [("exchange" | "put") as does, what]:
            if not all_known(text, what.split(" ")[: 2 if does == "exchange" else 1]):
                raise CannotEdit("this page has no such button")
            return mended(text, f"{does} {what}")
    return text


def station_of(text: str, view: Mapping[str, str]) -> int:
    """Return the number of the station that is shown."""
    count = count_of(text, "wedge.station")
    if view.get("do") == "add wedge.station":
        return count
    asked = view.get("at") or view.get("station") or "1"
    number = int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 4 else 1
    return min(max(number, 1), max(count, 1))


def way_of(text: str, number: int) -> str:
    """Return how a station is measured; empty where the text does not say."""
    station = _station(text, number)
    return next((form for form in Form if form in station), "")


def _station(text: str, number: int) -> Mapping[str, Any]:
    stations = tables_of(text).get("wedge", {}).get("station", [])
    return stations[number - 1] if 1 <= number <= len(stations) else {}


def _other_way(text: str, number: int, old: str, new: str) -> str:
    """Return the text with another way of measuring in the old one's place, and its own again."""
    place = f"wedge.station[{number}]"
    key = keys_of(Station)[new]
    blank = BLANK["pair" if key.shape == "pair" else "one"]
    if key.holds is not None:
        needed = {name: one.shape for name, one in keys_of(key.holds).items() if one.needed}
        blank = f"{{ {', '.join(f'{name} = {BLANK[shape]}' for name, shape in needed.items())} }}"
    gone = [f"{place}.plus_minus"] if raw_at(text, f"{place}.plus_minus") else []
    if new not in REAR_LINED and raw_at(text, f"{place}.rear_at"):
        gone.append(f"{place}.rear_at")
    raw = was_at(text, f"{place}.{new}") or blank
    return exchange_ways(text, f"{place}.{old}", f"{place}.{new}", raw, tuple(gone))


def _added_station(text: str) -> str:
    """Return the text with one more station, measured like the last, its numbers blank."""
    count = count_of(text, "wedge.station")
    if count == 1 and not raw_at(text, "wedge.station[1].at"):
        text = change(text, {"wedge.station[1].at": "0.0"})
    values = {"at": '""'}
    if plus_minus := raw_at(text, f"wedge.station[{count}].plus_minus"):
        values["plus_minus"] = plus_minus
    return add_table(text, f"wedge.station[{count + 1}]", values)


def blanked(text: str) -> str:
    """Return a starter without what is another's: its numbers, its name and its rivet.

    They stay as comments, and come back to their places as somebody types.
    """
    return change(text, typed_changes(text, dict.fromkeys(filter(_is_example, spans(text)), "")))


def _is_example(key: str) -> bool:
    """Return whether a key of a starter holds a number, the name, or what belongs to the rivet."""
    if known(key) is None or known(f"{key}[1]") is not None or ".plus_minus." in key:
        return False  # no value, or one that goes item by item, or with its table
    if key.startswith(("format", "units", "sides")):
        return False
    return key.startswith("rivet.") or not field_of(key, "").choices


# ---------------------------------------------------------------- sections, and where they are


def sections(
    names: Iterable[str], text: str, above: Collection[str] = ()
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return sections that can be there or not, and those that always hold.

    Args:
        names: of the sections.
        text: of the job.
        above: keys that have a field elsewhere on the screen.

    Returns:
        Dictionaries for the template: those that are there have ``fields``, the others what they
        ask for, ``asks``.
    """
    optional, always = list[dict[str, Any]](), list[dict[str, Any]]()
    for name in names:
        key = keys_of(Job)[name]
        assert key.holds is not None
        count = count_of(text, name)
        drops = can_go(name)
        places = [f"{name}[{n}]" for n in range(1, count + 1)] if key.is_list else [name]
        for place in places if count or not drops else []:
            fields = list(_fields_below(place, key.holds, text, above))
            one = {"name": place, "label": key.label, "fields": fields, "drops": drops}
            (optional if drops else always).append(one)
        if drops and (key.is_list or not count):
            optional.append({"name": name, "label": key.label, "asks": key.meaning, "fields": []})
    return optional, always


def can_go(name: str) -> bool:
    """Return whether a section is asked for by being there, and may be taken out by a press."""
    key = keys_of(Job).get(name)
    if key is None or name not in (*MEASURED, *DRAWN):
        return False
    return name != "holes" and (key.default is None or key.is_list or name == "block")


def _fields_below(place: str, holds: type, text: str, above: Collection[str]) -> Iterable[Field]:
    for name, key in keys_of(holds).items():
        path = f"{place}.{name}"
        if path in above or not key.label or (key.is_list and key.holds is not None):
            continue
        if key.holds is None:
            yield field_of(path, text)
        elif name == "lightening" and not raw_at(text, path).startswith("["):
            yield from (
                field_of(f"{path}.{n}", text, f"{key.label}: {k.label.lower()}")
                for n, k in keys_of(key.holds).items()
                if k.label
            )


def marks_at(
    faults: Sequence[Fault], text: str, here: Collection[str], number: int = 1
) -> list[Mark]:
    """Return faults as marks that lead to their fields.

    Args:
        faults: of the job.
        text: of the job.
        here: sections whose fields are on the screen.
        number: of the station that is shown.
    """
    labels = {key: label_of(key, text) for fault in faults for key in fault.keys}
    return [placed(mark, here, number) for mark in marks_of(faults, labels)]


def looked_at(
    checks: Iterable[Check], text: str, units: str, here: Collection[str], number: int = 1
) -> list[Mark]:
    """Return the checks that ask to look at something as marks, the grave ones first.

    Args:
        checks: of the job.
        text: of the job.
        units: of the job.
        here: sections whose fields are on the screen.
        number: of the station that is shown.
    """
    marks = []
    for check in sorted(checks, key=lambda check: check.status != "fail"):
        if check.status not in ("warn", "fail"):
            continue
        mark = Mark(
            keys=tuple(key for key in check.keys if known(key)),
            text=say(check.why, units),
            label=check.name,
            is_grave=check.status == "fail",
        )
        also = []
        for key in mark.keys[1:]:
            section = re.split(r"[.\[]", key)[0]
            if not can_go(section) or count_of(text, section):
                label = f"{keys_of(Job)[section].label}: {label_of(key, text)}"
                also.append(placed(Mark(keys=(key,), text="", label=label), here, number))
        marks.append(placed(replace(mark, also=tuple(also)), here, number))
    return marks


def placed(mark: Mark, here: Collection[str], number: int = 1) -> Mark:
    """Return a mark that leads to its field: here, at another station, or on the other screen."""
    key = mark.keys[0] if mark.keys else ""
    section = re.split(r"[.\[]", key)[0]
    if (section in DRAWN) != (here is DRAWN) and key:
        return replace(mark, place=f"/{'jigs' if section in DRAWN else 'measure'}#{key}")
    station = key.removeprefix("wedge.station[").partition("]")[0]
    other = station if station.isdigit() and int(station) != number else ""
    return replace(mark, tab=other)


def is_blank(text: str, key: str) -> bool:
    """Return whether a fault is that nothing is typed yet."""
    if known(key) is not None:
        return not typed_at(text, key)
    place, _, rest = key.partition("wedge.station[")
    return not place and rest[:-1].isdigit() and not way_of(text, int(rest[:-1]))
