"""Three texts of one file: as it was when the page was opened, as typed, and as it is now.

A key that only one side changed is joined; one that both changed is asked about. Where stations
were added or taken out, keys by number mean other stations, so such files are not joined by key:
one of the two is chosen whole.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from msgspec import Struct

from jiggen.page.edit import change, is_toml, spans


class Row(NamedTuple):
    """A key that differs; empty where it has no value."""

    key: str
    was: str
    yours: str
    theirs: str

    @property
    def is_asked(self) -> bool:
        """Return whether both sides changed it, and not to the same."""
        return self.was not in (self.yours, self.theirs) and self.yours != self.theirs


class Compared(Struct, frozen=True, kw_only=True):
    """What differs among three texts.

    Attributes:
        rows: the keys that differ, in the order of the file as it is now.
        can_join: the sides can be joined key by key.
    """

    rows: tuple[Row, ...]
    can_join: bool


def compare(was: str | None, yours: str, theirs: str) -> Compared:
    """Compare three texts.

    Args:
        was: what the page began from; None if it is forgotten, then whatever differs is asked.
        yours: as typed.
        theirs: the file as it is now.
    """
    if not all(is_toml(each) for each in (was or "", yours, theirs)):
        return Compared(rows=(), can_join=False)
    mine, file = _values(yours), _values(theirs)
    before = {} if was is None else _values(was)
    rows = []
    for key in dict.fromkeys((*file, *mine, *before)):
        row = Row(key, before.get(key, ""), mine.get(key, ""), file.get(key, ""))
        if row.yours != row.theirs:
            rows.append(row)
    counts = {_counts(each) for each in ((was,) if was is not None else ()) + (yours, theirs)}
    return Compared(rows=tuple(rows), can_join=len(counts) == 1)


def join(theirs: str, rows: tuple[Row, ...], chosen: Mapping[str, str]) -> str:
    """Return the file as it is now with what only the page changed, and what was chosen.

    Args:
        theirs: the file as it is now.
        rows: see `Compared`.
        chosen: ``yours`` or ``theirs`` for each key that is asked about.

    Raises:
        KeyError: a key that is asked about was not chosen.
        CannotEdit: see `jiggen.page.edit.change`.
    """
    mine = {}
    for row in rows:
        if (chosen[row.key] == "yours") if row.is_asked else (row.theirs == row.was):
            mine[row.key] = row.yours
    return change(theirs, mine)


def _values(text: str) -> dict[str, str]:
    """Return values as they stand, by key; lists whole, tables in braces by their parts."""
    known = spans(text)
    return {
        key: text[where.start : where.end]
        for key, where in known.items()
        if not text.startswith("{", where.start)
        and not any(
            text.startswith("[", known[above].start)
            for above in _lists_above(key)
            if above in known
        )
    }


def _lists_above(key: str) -> list[str]:
    return [key[: match.start()] for match in re.finditer(r"\[\d+\]", key)]


def _counts(text: str) -> frozenset[str]:
    """Return the numbered tables that a text has, e.g. ``wedge.station[2]``."""
    keys = (
        match[0] for key in spans(text) for match in [re.match(r".*\[\d+\](?=\.)", key)] if match
    )
    return frozenset(keys)
