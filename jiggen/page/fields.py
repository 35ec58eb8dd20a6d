"""The fields of a form: what each is called, what was typed, and what is wrong with it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from jiggen.errors import Action, Fault
from jiggen.job.read import syntax_faults
from jiggen.page.edit import CannotEdit, change, raw_at, raw_of, typed_at


class Field(Struct, frozen=True, kw_only=True):
    """One value that can be typed.

    Attributes:
        key: in the file, as faults name it; also the field's name and id.
        label: visible, the trade's words.
        unit: what a bare number counts in; empty where there is none.
        kind: see `jiggen.page.edit.raw_of`.
        choices: the values that can be picked, each with its words; empty where it is typed.
        blank: what stands in the file where nothing is typed; empty to take the key out.
        value: as typed, or as it stands in the file.
        fault: where it is told what is wrong with it; empty where nothing is.
        hint: what it is, in a line.
        usual: what holds where nothing is typed; empty where that is no number.
        look: whether a check asks to look at it.
    """

    key: str
    label: str
    unit: str = ""
    kind: str = "number"
    choices: tuple[tuple[str, str], ...] = ()
    blank: str = ""
    value: str = ""
    fault: str = ""
    hint: str = ""
    usual: str = ""
    look: bool = False


class Mark(Struct, frozen=True, kw_only=True):
    """A thing to mend or to look at.

    Attributes:
        keys: the fields that it is about, the one to blame first.
        text: what is wrong.
        label: what the first field is called.
        remedy: a change of the form that would mend it, as `mended` takes it, and its words; empty
            where there is none.
        place: where the field is, if it is on another page.
        tab: number of the station that it is of, if that is not shown.
        is_grave: it must not be worked with.
        also: marks that lead to the further fields.
    """

    keys: tuple[str, ...]
    text: str
    label: str = ""
    remedy: tuple[str, str] = ("", "")
    place: str = ""
    tab: str = ""
    is_grave: bool = False
    also: tuple[Mark, ...] = ()


def filled(fields: Iterable[Field], text: str, marks: Sequence[Mark] = ()) -> list[Field]:
    """Return fields with their values in a text, and with what is wrong with them."""
    return told([replace(each, value=typed_at(text, each.key)) for each in fields], marks)


def told(fields: Iterable[Field], marks: Sequence[Mark], look: Sequence[Mark] = ()) -> list[Field]:
    """Return fields with what is wrong with them, and whether to look at them."""
    wrong = places_of(marks)
    warned = {key for mark in look for key in mark.keys}
    return [
        replace(each, fault=wrong.get(each.key, ""), look=each.key in warned) for each in fields
    ]


def places_of(marks: Sequence[Mark]) -> dict[str, str]:
    """Return where it is told what is wrong, by the key of each field that it is about."""
    found = dict[str, str]()
    for number, mark in enumerate(marks, start=1):
        for key in mark.keys:
            found.setdefault(key, f"fault-{number}")
    return found


def typed_in(
    fields: Iterable[Field], text: str, form: Mapping[str, str], units: str
) -> dict[str, str]:
    """Return what a form changes in a text, as `jiggen.page.edit.change` takes it."""
    return {
        each.key: raw_of(form[each.key], each.kind, units) or each.blank
        for each in fields
        if each.key in form and form[each.key].strip() != typed_at(text, each.key).strip()
    }


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
        label = labels.get(fault.key, fault.key)
        marks.append(Mark(keys=fault.keys, text=line, label=label, remedy=_pressed(fault.action)))
    return marks


def _pressed(action: Action | None) -> tuple[str, str]:
    """Return what a button says to the form that mends a fault, and its words."""
    if action is None:
        return "", ""
    does = f"exchange {' '.join(action.exchange)}" if action.exchange else ""
    does = f"put {' '.join(action.put)}" if action.put else does
    return does, f"{action.said[:1].upper()}{action.said[1:]}"


def mended(text: str, does: str) -> str:
    """Return a text with what a button of `Mark.remedy` does.

    Args:
        text: TOML.
        does: ``exchange KEY KEY`` or ``put KEY VALUE``.

    Raises:
        CannotEdit: it is neither, or cannot be done.
    """
    match does.split(" ", 2):
        case ["exchange", one, two]:
            return change(text, {one: raw_at(text, two), two: raw_at(text, one)})
        case ["put", key, raw]:
            return change(text, {key: raw})
    raise CannotEdit("this page has no such button")


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
