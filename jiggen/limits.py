"""What is let in from outside: plain files of a sensible size, and text with sensible numbers.

Every file that is read is somebody else's. A device never ends, a number of five thousand digits
is no length, and a key of twenty thousand parts keeps a reader busy for minutes. All of these are
refused here, where bytes become text and text becomes tables, so that nobody further on meets one.
"""

from __future__ import annotations

import json
import math
import os
import re
import stat
import tomllib
from pathlib import Path
from typing import Any

LINE_MOST = 100_000
"""Characters in one line of a text file; a list of all the holes that a job may have has fewer."""

PARTS_MOST = 10  # parts of one dotted key; a job has three

DIGITS_MOST = 15
"""Digits of a whole number: what a float holds exactly, and more than any length or count has."""

_PART = r"""\.[ \t]*+(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+"""
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]{1,40}", re.ASCII)
_DOTTED = re.compile(rf"(?:{_PART}){{{PARTS_MOST}}}\.")


class TooMuch(ValueError):
    """Input beyond all measure: `problem` says what, `remedy` what would do, `key` where it is."""

    def __init__(self, problem: str, remedy: str, key: str = "") -> None:
        self.problem, self.remedy, self.key = problem, remedy, key
        super().__init__(f"{key}: {problem}" if key else problem)


def plain_bytes(path: str | os.PathLike[str], most: int, what: str) -> bytes:
    """Return the bytes of a file.

    Args:
        path: of a plain file: a device or a pipe may never end.
        most: bytes that such a file can have.
        what: such a file is called, e.g. ``a job file``.

    Raises:
        TooMuch: it is no plain file, or larger than that.
        OSError: it cannot be read.
    """
    place = Path(path)
    kind = place.stat().st_mode
    if not (stat.S_ISREG(kind) or stat.S_ISDIR(kind)):  # a folder is refused by the system itself
        raise TooMuch("is a device or a pipe, not a file", f"give the name of {what}")
    with place.open("rb") as stream:
        data = stream.read(most + 1)
    if len(data) > most:
        raise TooMuch(f"is too large to be {what}", f"give the name of {what}")
    return data


def toml_tables(text: str) -> dict[str, Any]:
    """Return the tables of a TOML text.

    Raises:
        TooMuch: a line, a key, a number or the depth of it is beyond all measure.
        ValueError: it is not TOML.
    """
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LINE_MOST:
            problem = f"is longer than {LINE_MOST:,} characters"
            raise TooMuch(problem, "break it into several lines", f"line {number}")
    if long := _DOTTED.search(text):
        number = text.count("\n", 0, long.start()) + 1
        raise TooMuch(
            f"has a key of more than {PARTS_MOST} parts", "write one [table.key]", f"line {number}"
        )
    try:
        tables = tomllib.loads(text)
    except RecursionError:
        raise TooMuch("is nested too deeply", "write tables in tables only") from None
    except tomllib.TOMLDecodeError:
        raise
    except ValueError:  # of the number itself, which TOML allows
        raise TooMuch("holds a number of thousands of digits", "write a length") from None
    _refuse_long_numbers(tables)
    return tables


def json_value(data: str | bytes) -> Any:
    """Return what a JSON text holds.

    Raises:
        TooMuch: a number or the depth of it is beyond all measure.
        ValueError: it is not JSON.
    """
    try:
        return json.loads(
            data, parse_int=_whole, parse_float=_decimal, parse_constant=_refuse_number
        )
    except RecursionError:
        raise TooMuch("is nested too deeply", "make it again") from None


def _refuse_long_numbers(tables: dict[str, Any]) -> None:
    left: list[tuple[str, Any]] = [("", tables)]
    while left:
        place, value = left.pop()
        if isinstance(value, dict):
            left += [(_below(place, key), item) for key, item in value.items()]
        elif isinstance(value, list):
            left += [(f"{place}[{n}]", item) for n, item in enumerate(value, start=1)]
        elif isinstance(value, int) and abs(value) >= 10**DIGITS_MOST:
            problem = f"is a number of more than {DIGITS_MOST} digits"
            raise TooMuch(problem, "write a length, an angle or a count", place[:100])


def _below(place: str, key: str) -> str:
    """Return the path of a key, quoted where it could confuse."""
    said = key if _BARE_KEY.fullmatch(key) else repr(key[:40])
    return f"{place}.{said}" if place else said


def _whole(text: str) -> int:
    return int(text) if len(text) <= DIGITS_MOST + 1 else _refuse_number(text)


def _decimal(text: str) -> float:
    value = float(text)
    return value if math.isfinite(value) else _refuse_number(text)


def _refuse_number(text: str) -> Any:
    raise TooMuch(f"holds a number that is none, {text[:20]}", "make it again")
