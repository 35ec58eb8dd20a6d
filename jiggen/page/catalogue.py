"""The catalogue of fields: every key of the job file, from where it is declared.

A form's field is called by its key as faults name it. What it is labelled, what it counts in, what
can be picked and what it means stand in the declaration of its section and nowhere else::

    wedge.station[2].thickness.front      Front       mm or in   thickness at the front line
    skin_angles[1]                        one of a pair: side A
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from jiggen.facts.papers import PAPERS
from jiggen.job.fields import FaultList, Table
from jiggen.job.schema import Key, default_said, keys_of, read_section
from jiggen.job.sections import Job
from jiggen.job.wedge import Form
from jiggen.page.edit import raw_at, raw_of, spans, typed_at
from jiggen.page.fields import Field
from jiggen.units import say_angle, say_length

_PART = re.compile(r"([A-Za-z_]+)(?:\[(\d{1,4})\])?", re.ASCII)
_STATION = re.compile(r"wedge\.station\[(\d+)\]\.", re.ASCII)
_BY_SIDE = re.compile(r"sides|skin_angles|offsets")


class Known(NamedTuple):
    """A key of the job file that can be typed, and which of its pair it is: 0 for the whole."""

    key: Key
    item: int


def known(path: str) -> Known | None:
    """Return what a path names; None where it is no value of a job file."""
    holds: type = Job
    parts = path.split(".")
    for number, part in enumerate(parts, start=1):
        match = _PART.fullmatch(part)
        key = keys_of(holds).get(match[1]) if match else None
        if match is None or key is None or not key.label:
            return None
        item = int(match[2] or 0)
        if number == len(parts):
            pair = key.shape == "pair" or key.name == "sides"
            is_table = key.holds is not None and key.name != "plus_minus"
            return None if is_table or (item and not (pair and item <= 2)) else Known(key, item)
        if key.holds is None or (key.is_list and not 1 <= item <= key.most):
            return None
        holds = key.holds
    return None


def field_of(path: str, text: str, label: str = "") -> Field:
    """Return the field of a key, with what stands in the text.

    Args:
        path: the key; it must be `known`.
        text: of the job file.
        label: in place of the declared one.
    """
    found = known(path)
    assert found is not None, path
    key, item = found
    units = units_of(text)
    value = typed_at(text, path)
    return Field(
        key=path,
        label=label or label_of(path),
        unit="" if key.name == "paper" else key.unit(units),
        kind=_kind(key, item),
        choices=_choices(key, value, units),
        blank='""' if _is_reading(path) else "",
        value=value,
        hint=_hint(key),
        usual="" if value else _usual(key, units),
    )


def label_of(path: str, text: str = "") -> str:
    """Return what a key is called: its label, side A or B of a pair, and its station.

    Args:
        path: the key; one that is no value of a job file is returned itself.
        text: of the job file; with it the station is named where there are several.
    """
    found = known(path)
    if found is None:
        return path
    label = found.key.label
    if found.item:
        by_side = _BY_SIDE.search(path)
        label = "Side" if found.key.name == "sides" else label
        label = f"{label} {'AB'[found.item - 1] if by_side else found.item}"
    place = _STATION.match(path)
    if place and text and count_of(text, "wedge.station") > 1:
        label = f"{label}, station {place[1]}"
    return label


def units_of(text: str) -> str:
    """Return what the bare numbers of a job, or of a form of readings, count in."""
    return "in" if typed_at(text, "units") == "in" else "mm"


def typed_changes(text: str, form: Mapping[str, str]) -> dict[str, str]:
    """Return what a form changes in the text of a job, as `jiggen.page.edit.change` takes it.

    Args:
        text: as it stands.
        form: what is typed, by key; each must be `known`.
    """
    units, changes = units_of(text), dict[str, str]()
    pairs: dict[str, dict[int, str]] = {}
    for path, typed in form.items():
        found = known(path)
        if found is None or typed.strip() == typed_at(text, path).strip():
            continue
        raw = raw_of(typed, _kind(*found), units)
        if found.item:
            pairs.setdefault(path[: path.rindex("[")], {})[found.item] = raw
        else:
            changes[path] = raw or ('""' if _is_reading(path) else "")
    for path, items in pairs.items():
        places = {n: f"{path}[{n}]" for n in (1, 2)}
        both = [items.get(n, raw_at(text, place)) or '""' for n, place in places.items()]
        if set(both) == {'""'} and not _is_reading(path):
            changes[path] = ""
        elif all(place in spans(text) for place in places.values()):
            changes |= {places[n]: raw or '""' for n, raw in items.items()}
        else:
            changes[path] = f"[{', '.join(both)}]"
    return changes


def value_of(text: str, path: str, folder: Path | None = None) -> Any:
    """Return what a key of a job holds, mm and radians; None where it is blank or at fault.

    Args:
        text: of the job file; it may be half typed.
        path: the key, a whole table such as ``wedge.station[1]`` too.
        folder: that holds what the job names; None to look for nothing.
    """
    holds: type = Job
    raw = tables_of(text)
    parts = _PART.findall(path)
    for name, number in parts[:-1]:
        key = keys_of(holds)[name]
        raw = _in(raw, name, number)
        assert key.holds is not None, path
        holds = key.holds
    name, number = parts[-1]
    key, found = keys_of(holds)[name], FaultList(file="", folder=folder, within=folder)
    if key.holds is None:
        return key.read(Table(raw, "", found, units_of(text), tuple(raw)), key)
    inside = _in(raw, name, number)
    table = Table(inside, "", found, units_of(text), tuple(inside))
    return read_section(key.holds, table) if inside else None


def _in(raw: Mapping[str, Any], name: str, number: str) -> Mapping[str, Any]:
    inside: Any = raw.get(name)
    if number:
        row = inside if isinstance(inside, list) else []
        inside = row[int(number) - 1] if 1 <= int(number) <= len(row) else None
    return inside if isinstance(inside, dict) else {}


def all_known(text: str, names: Iterable[str]) -> bool:
    """Return whether names are keys of the job file, in lists only of tables that the text has."""
    return all(
        known(name) is not None
        and all(
            1 <= int(match[1]) <= count_of(text, name[: match.start()])
            for match in re.finditer(r"\[(\d+)\](?=\.)", name)
        )
        for name in names
    )


def count_of(text: str, path: str) -> int:
    """Return how many tables a list of them has, e.g. ``wedge.station``; a table counts as one."""
    value: object = tables_of(text)
    for part in path.split("."):
        value = value.get(part) if isinstance(value, dict) else None
    return len(value) if isinstance(value, list) else int(isinstance(value, dict))


@lru_cache(maxsize=16)
def tables_of(text: str) -> Mapping[str, Any]:
    """Return the tables of a text; none where it is no TOML."""
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError):
        return {}


def _is_reading(path: str) -> bool:
    """Return whether a station is known by it: where it is blank, it keeps its place."""
    match, found = _STATION.match(path), known(path)
    rest = path[match.end() :] if match else ""
    name = re.split(r"[.\[]", rest)[0]
    return found is not None and name in set(Form) and (found.key.needed or "." not in rest)


def _kind(key: Key, item: int) -> str:
    if key.kind == "true or false":
        return "flag"
    if key.kind.startswith(("text", "two texts", "size or part", "`")) or key.name == "paper":
        return "text"
    if key.kind == "list of hole numbers":
        return "numbers"
    if key.shape == "one or pair":
        return "one or list"
    if (key.shape == "pair" and not item) or key.kind == "list of lengths":
        return "list"
    return "number"


def _choices(key: Key, value: str, units: str) -> tuple[tuple[str, str], ...]:
    """Return what can be picked; the empty value stands for the one that holds if none is."""
    choices: tuple[str, ...]
    default = key.default
    if key.kind == "true or false":
        choices, default = ("false", "true"), "true" if default else "false"
    elif key.name == "paper":
        choices, default = tuple(PAPERS), "letter" if units == "in" else "a4"
    elif key.choices and key.kind.startswith("`"):
        choices = key.choices
    else:
        return ()
    if not key.needed and default not in choices:
        choices, default = ("", *choices), ""
    if value and value not in choices:
        choices = (*choices, value)
    said = {"": "not said", "false": "no", "true": "yes"}
    return tuple(
        ("" if word == default and not value and not key.needed else word, said.get(word, word))
        for word in choices
    )


def _hint(key: Key) -> str:
    """Return what a field is, and what holds where it is left empty."""
    said = default_said(key).replace("`", "").replace("*", "")
    if key.needed or not key.default_said:
        return key.meaning
    return f"{key.meaning}; if left out: {said}"


def _usual(key: Key, units: str) -> str:
    """Return the number that holds where nothing is typed; empty where there is none."""
    if key.needed or key.default_said or not isinstance(key.default, int | float):
        return ""
    if isinstance(key.default, bool):
        return ""
    unit = key.unit(units)
    if unit == "deg":
        said = say_angle(key.default, 4, "")
    elif unit:
        said = say_length(key.default, units, 4).split()[0]
    else:
        return f"{key.default:g}"
    return said.rstrip("0").rstrip(".") if "." in said else said
