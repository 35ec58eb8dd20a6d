"""The fields of a form: what each is called, what was typed, and what is wrong with it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from jiggen.errors import Fault
from jiggen.job.read import syntax_faults
from jiggen.page.edit import change, raw_of, typed_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One value that can be typed.

    Attributes:
        key: in the file, as faults name it; also the field's name and id.
        label: visible, the trade's words.
        unit: what a bare number counts in; empty where there is none.
        kind: see `jiggen.page.edit.raw_of`.
        choices: the values that can be picked, each with its words; empty where it is typed.
        blank: what stands in the file where nothing is typed; empty to take the key out.
        value: as typed, or as it stands in the file.
        fault: what is wrong with it, in words.
    """

    key: str
    label: str
    unit: str = ""
    kind: str = "number"
    choices: tuple[tuple[str, str], ...] = ()
    blank: str = ""
    value: str = ""
    fault: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A thing to mend or to look at, the fields that it is about, and what the first is called."""

    keys: tuple[str, ...]
    text: str
    label: str = ""


def filled(fields: Iterable[Field], text: str, marks: Sequence[Mark] = ()) -> list[Field]:
    """Return fields with their values in a text, and with what is wrong with them."""
    faults = {key: mark.text for mark in reversed(marks) for key in mark.keys}
    return [
        replace(each, value=typed_at(text, each.key), fault=faults.get(each.key, ""))
        for each in fields
    ]


def typed_in(
    fields: Iterable[Field], text: str, form: Mapping[str, str], units: str
) -> dict[str, str]:
    """Return what a form changes in a text, as `jiggen.page.edit.change` takes it."""
    return {
        each.key: raw_of(form[each.key], each.kind, units) or each.blank
        for each in fields
        if each.key in form and form[each.key].strip() != typed_at(text, each.key).strip()
    }


def changed_by(fields: Iterable[Field], text: str, form: Mapping[str, str], units: str) -> str:
    """Return a text with what a form changes in it.

    Raises:
        CannotEdit: see `jiggen.page.edit.change`.
    """
    return change(text, typed_in(fields, text, form, units))


def marks_of(faults: Iterable[Fault], labels: Mapping[str, str] | None = None) -> list[Mark]:
    """Return faults without the file's name, which the page shows already.

    Args:
        faults: of the file.
        labels: what the fields are called, by key; a key without one is shown itself.
    """
    marks, labels = [], labels or {}
    for fault in faults:
        line = str(fault).removeprefix(f"{fault.file}: ")
        if fault.key:
            line = line.removeprefix(f"{fault.key}: ")
        keys = (fault.key,) if fault.key else ()
        marks.append(Mark(keys=keys, text=line, label=labels.get(fault.key, fault.key)))
    return marks


def marks_of_text(text: str, file: str) -> list[Mark]:
    """Return what keeps a text from being TOML, line by line; nothing where it is TOML."""
    try:
        tomllib.loads(text)
    except RecursionError:
        return [Mark(keys=("_text",), text="is nested too deeply", label="line 1")]
    except ValueError as error:
        marks = marks_of(syntax_faults(text, file, error))
        return [replace(mark, keys=("_text",)) for mark in marks]
    return []
