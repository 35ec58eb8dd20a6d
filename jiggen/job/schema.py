"""What a key of the job file is, said once: its reader, faults, tables and form fields follow.

A section is a frozen record, and each of its fields one key of a table of the file::

    class Gauge(Section):
        tolerance: float = deg(0.25, "Tolerance", "how far ...", above=0, at_most=3)
        |                      |     |            |              |
        key              default   label       meaning          limits, in mm or degrees

`read_section` reads a table into the record; a class may `settle` what lies between its keys.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from typing import Any, TypeVar, cast, dataclass_transform

from msgspec import NODEFAULT, Struct, StructMeta
from msgspec.structs import replace

from jiggen.facts.drills import LIMITS, read_drill
from jiggen.job.fields import ANGLE, BORE, LENGTH, NUMBER, RATE, Limits, Quantity, Table
from jiggen.units import UnitError, say_angle, say_length

S = TypeVar("S")

NEEDED: Any = object()
"""The default of a key that has none: it must be given."""


class Key(Struct, frozen=True):
    """One key of a table of the job file."""

    kind: str  # what is written there, as the tables of the manual say it
    # from the table and this key to what the record holds; None if absent or at fault
    read: Callable[[Table, Key], Any]
    # what holds where the key is left out, in mm and radians; `NEEDED` where it must be given
    default: Any
    label: str  # a few words for a form field or the head of a table
    meaning: str  # what it is, in one line
    quantity: Quantity | None = None  # of a measured value, else None
    limits: Limits = Limits()  # of a measured value, in mm, radians or as a ratio
    choices: tuple[str, ...] = ()  # the words that may be written; empty for any
    least: int = 0
    most: int = 0  # the largest whole number, list or text; `least` the smallest
    holds: type | None = None  # the section of a table, or of each table of a list
    instead: str = ""  # the key that this one is another way of giving; empty for none
    unless: str = ""  # the key that may be given in place of this one, where it is needed
    default_said: str = ""  # the default in words, where a number would not tell it
    name: str = ""  # in the file
    field: str = ""  # of the record

    @property
    def needed(self) -> bool:
        """Return whether it must be given."""
        return self.default is NEEDED

    @property
    def is_list(self) -> bool:
        """Return whether it is a list of tables, in two brackets each."""
        return self.kind.startswith("list of tables")

    @property
    def shape(self) -> str:
        """Return how many values there are: ``one``, ``pair``, or ``one or pair``."""
        return next((shape for shape, read in _SHAPES.items() if read is self.read), "one")

    @property
    def remedy(self) -> str:
        """Return what to do where the key is missing."""
        if self.choices:
            return "write " + " or ".join(f'{self.name} = "{word}"' for word in self.choices)
        return f"give {self.meaning}{f', or {self.unless}' if self.unless else ''}"

    def unit(self, units: str) -> str:
        """Return what a bare number counts in: the job's ``mm`` or ``in``, ``deg``, or nothing."""
        if self.quantity is None:
            return ""
        return {LENGTH: units, BORE: units, ANGLE: "deg"}.get(self.quantity, "")


def _measured(
    quantity: Quantity,
    kind: str,
    default: Any,
    label: str,
    meaning: str,
    *,
    shape: str = "one",
    above: float | None = 0,
    at_least: float | None = None,
    below: float | None = None,
    at_most: float | None = None,
    **more: Any,
) -> Any:
    turn = math.radians if quantity is ANGLE else float
    limits = {
        "above": above if at_least is None else None,
        "at_least": at_least,
        "below": below,
        "at_most": at_most,
    }
    if quantity is ANGLE and isinstance(default, int | float):
        default = math.radians(default)
    return Key(
        _SHAPED[shape].format(one=kind, many=f"{kind}s"),
        _SHAPES[shape],
        default,
        label,
        meaning,
        quantity=quantity,
        limits=Limits(**{name: turn(one) for name, one in limits.items() if one is not None}),
        **more,
    )


def _quantity(key: Key) -> Quantity:
    assert key.quantity is not None
    return key.quantity


def _one(table: Table, key: Key) -> float | None:
    return table.value(_quantity(key), key.name, key.limits)


def _pair(table: Table, key: Key) -> tuple[float, float] | None:
    return table.pair(_quantity(key), key.name, key.limits)


def _one_or_pair(table: Table, key: Key) -> tuple[float, float] | None:
    if isinstance(table.raw.get(key.name), list):
        return _pair(table, key)
    both = _one(table, key)
    return None if both is None else (both, both)


_SHAPES = {"one": _one, "pair": _pair, "one or pair": _one_or_pair}
_SHAPED = {"one": "{one}", "pair": "two {many}", "one or pair": "{one}"}


mm = partial(_measured, LENGTH, "length")
"""Return a length, mm; `shape` is ``one``, ``pair``, or ``one or pair`` for ``[a, b]`` too.

Takes default (mm, or None, or `NEEDED`), label and meaning, see `Key`; the limits ``above`` (0
unless it is None or `at_least` is given), ``at_least``, ``below`` and ``at_most``, mm; and
``instead``, ``unless``, ``default_said``, and the ``name`` in the file where the field has another.
"""

deg = partial(_measured, ANGLE, "angle")
"""Return an angle; default and limits in degrees, the record holds radians. See `mm`."""

mm_or_drill = partial(_measured, BORE, "length or drill")
"""Return a diameter, mm, that may be written as a drill. See `mm`."""

rate = partial(_measured, RATE, "rate")
"""Return a taper rate, thickness over length. See `mm`."""

number = partial(_measured, NUMBER, "number")
"""Return a plain number. See `mm`."""


def drill(label: str, meaning: str) -> Any:
    """Return a drill that must be given; the record gets its diameter and its name."""

    def read(table: Table, key: Key) -> Any:
        if not table.has(key.name):
            return None
        try:
            return read_drill(table.raw[key.name], table.units)
        except UnitError as error:
            table.fault(key.name, error.problem, error.remedy)
            return None

    return Key(f"drill, {LIMITS.said('mm')}", read, NEEDED, label, meaning)


def whole(default: Any, label: str, meaning: str, least: int, most: int, **more: Any) -> Any:
    """Return a whole number from `least` to `most`."""

    def read(table: Table, key: Key) -> int | None:
        return table.count(key.name, least, most)

    return Key("whole number", read, default, label, meaning, least=least, most=most, **more)


def choice(default: Any, label: str, meaning: str, *choices: str, **more: Any) -> Any:
    """Return one of some words; the default may be another, such as '' for not said."""

    def read(table: Table, key: Key) -> str | None:
        return table.choice(key.name, choices)

    kind = _listed([f'`"{word}"`' for word in choices])
    return Key(kind, read, default, label, meaning, choices=choices, **more)


def _listed(words: list[str]) -> str:
    return " or ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def flag(default: Any, label: str, meaning: str) -> Any:
    """Return a yes or no."""
    return Key("true or false", lambda table, key: table.flag(key.name), default, label, meaning)


def text(default: Any, label: str, meaning: str, most: int) -> Any:
    """Return a line of text of at most `most` characters."""

    def read(table: Table, key: Key) -> str | None:
        return table.text(key.name, most, needed=key.needed)

    return Key(f"text, at most {most} characters", read, default, label, meaning, most=most)


def own(kind: str, default: Any, label: str, meaning: str, read: Any, **more: Any) -> Any:
    """Return a key with a reader of its own, see `Key.read`."""
    return Key(kind, read, default, label, meaning, **more)


def part(holds: type, label: str, meaning: str, default: Any = None) -> Any:
    """Return a table that is a section of its own; None where the file has none.

    With `default` another than None or `NEEDED` the section is always there: a file without it
    is read as if it stood there empty.
    """
    always = default is not None and default is not NEEDED

    def read(table: Table, key: Key) -> Any:
        known = tuple(keys_of(holds))
        below = table.section(key.name, known) if always else table.table(key.name, known)
        return None if below is None else read_section(holds, below)

    return Key("table", read, default, label, meaning, holds=holds)


def parts(
    holds: type,
    label: str,
    meaning: str,
    most: int,
    default: Any = (),
    read: Any = None,
    name: str = "",
) -> Any:
    """Return a list of tables, each a section of its own: `most` at most, `[[two brackets]]`."""

    def read_each(table: Table, key: Key) -> Any:
        below = table.tables(key.name, tuple(keys_of(holds)), most)
        found = [read_section(holds, one) for one in below]
        return tuple(found) if found and None not in found else None

    kind = f"list of tables, at most {most}"
    return Key(kind, read or read_each, default, label, meaning, holds=holds, most=most, name=name)


def gone(answer: str) -> Any:
    """Return a key, or a section, that is read no more: whoever writes it is told where it went."""

    def read(table: Table, key: Key) -> None:
        if table.has(key.name):
            table.fault(key.name, answer)

    return Key("", read, None, "", "")


@dataclass_transform(frozen_default=True, kw_only_default=True)
class _Keyed(StructMeta):
    """Takes the keys out of a section's fields, and leaves their defaults there."""

    def __new__(
        mcs, name: str, bases: tuple[type, ...], held: dict[str, Any], **more: Any
    ) -> _Keyed:
        keys: dict[str, Key] = {}
        for field, given in list(held.items()):
            if isinstance(given, Key):
                key = replace(given, name=given.name or field, field=field)
                keys[key.name] = key
                held[field] = NODEFAULT if key.needed else key.default
        more = {"frozen": True, "kw_only": True, **more}
        made = super().__new__(mcs, name, bases, held, **more)
        _KEYS[made] = keys
        return made


_KEYS: dict[Any, dict[str, Key]] = {}


class Section(Struct, frozen=True, metaclass=_Keyed):
    """A frozen record whose fields are keys; its `settle` fills any others."""


def keys_of(holds: Any) -> dict[str, Key]:
    """Return the keys of a section by their names in the file, in the order of the record."""
    return _KEYS[holds]


def read_section(holds: type[S], table: Table) -> S | None:
    """Read a table of the file into its record.

    Args:
        holds: a section; its ``settle(found, table)``, if it has one, gets what was read by field
            (None where a key is absent or at fault) and fills or refuses what lies between keys.
        table: opened with the section's keys.

    Returns:
        The record in mm and radians, defaults filled in; None where a needed key is missing or at
        fault, which the table's faults then tell.
    """
    found: dict[str, Any] = {}
    keys = tuple(keys_of(cast(Any, holds)).values())
    for key in keys:
        if key.needed and not (key.unless and table.has(key.unless)):
            table.require(key.name, key.remedy)
        found[key.field] = key.read(table, key)
    settle = getattr(holds, "settle", None)
    if settle is not None:
        settle(found, table)
    for key in keys:
        if found[key.field] is None:
            if key.needed:
                return None
            del found[key.field]
    return holds(**found)


def key_rows(holds: type, above: str = "") -> Iterator[tuple[str, Key]]:
    """Yield the keys of a section by their names in its table, those of tables within included.

    Args:
        holds: a section.
        above: what leads each name, e.g. ``thickness.``.
    """
    for name, key in keys_of(holds).items():
        if not key.label:
            continue
        yield f"{above}{name}", key
        if key.holds is not None and not key.is_list:
            yield from key_rows(key.holds, f"{above}{name}.")


def tables_of(holds: type) -> str:
    """Return the key tables of the manual: a heading and a Markdown table for each section."""
    top = {name: key for name, key in keys_of(holds).items() if key.label}
    lines = ["### Top of the file", "", *_table((name, key) for name, key in top.items())]
    for name, key in top.items():
        if key.holds is not None:
            lines += _headed(key.holds, f"[[{name}]]" if key.is_list else f"[{name}]")
            for below, list_of in keys_of(key.holds).items():
                if list_of.holds is not None and list_of.is_list:
                    lines += _headed(list_of.holds, f"[[{name}.{below}]]")
    return "\n".join(lines)


def _headed(holds: type, heading: str) -> list[str]:
    about = (holds.__doc__ or "").split("\n")[0]
    return [f"### `{heading}`", "", about, "", *_table(key_rows(holds))]


def _table(rows: Iterable[tuple[str, Key]]) -> list[str]:
    return [
        "| key | type | default | meaning |",
        "| --- | --- | --- | --- |",
        *(f"| `{n}` | {kind_said(k)} | {default_said(k)} | {k.meaning} |" for n, k in rows),
        "",
    ]


def kind_said(key: Key) -> str:
    """Return what may be written at a key, with its limits."""
    if key.kind == "whole number":
        return f"whole number, {key.least} to {key.most}"
    if key.quantity is None:
        return key.kind
    limits, kind = key.limits, key.kind
    if limits.below is not None:
        kind += f" between {_number(limits.above or 0.0, key)} and {_value(limits.below, key)}"
    elif limits.at_least is not None and limits.at_most is not None:
        kind += f", {_number(limits.at_least, key)} to {_value(limits.at_most, key)}"
    elif limits.at_most is not None:
        kind += f" up to {_value(limits.at_most, key)}"
    elif limits.at_least is not None:
        kind += f", {_value(limits.at_least, key)} or more"
    return f"{kind}, or two" if key.read is _one_or_pair else kind


def default_said(key: Key) -> str:
    """Return what holds where a key is left out."""
    value = key.default
    if key.default_said:
        return key.default_said
    if key.needed:
        return f"*needed*, or `{key.unless}`" if key.unless else "*needed*"
    if value is None or value == "":
        return "none"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'`"{value}"`'
    if isinstance(value, tuple | frozenset):
        listed = ", ".join(f'"{v}"' if isinstance(v, str) else _number(v, key) for v in value)
        return f"`[{listed}]`{' mm' if value and key.quantity is LENGTH else ''}"
    if isinstance(value, int | float):
        return _value(value, key)
    return "see below"


def _value(value: float, key: Key) -> str:
    unit = key.unit("mm")
    return _number(value, key) + (f" {unit}" if unit and value else "")


def _number(value: float, key: Key) -> str:
    if key.quantity is ANGLE:
        said = say_angle(value, 4, "")
    elif key.quantity in (LENGTH, BORE):
        said = say_length(value, "mm", 4).removesuffix(" mm")
    else:
        return f"{value:g}"
    return said.rstrip("0").rstrip(".")
