"""Reads a job file's tables key by key; every fault is gathered and reading goes on.

A `Table` knows where it stands in the file (``wedge.station[2]``), so a fault names its key. What
cannot be read comes back as None and never stops the rest: the user mends the file in one go.
"""

from __future__ import annotations

import datetime
import difflib
import operator
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import replace

from jiggen.errors import Action, Fault, Sentence
from jiggen.facts.drills import read_drill
from jiggen.units import Angle, UnitError, read_angle, read_length, read_rate, size, words

FAULTS_A_LIST = 10
"""After so many faults in one list the rest is not listed: they have one cause."""

UNKNOWN_MOST = 20
"""So many unknown names of one kind are listed; the rest is counted."""

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]{1,40}", re.ASCII)
_UNSAID = object()


class Quantity(Struct, frozen=True, kw_only=True):
    """A kind of measured value: how it is read and how a limit of it is said."""

    noun: str  # what it is called in a fault, e.g. ``a length``
    # from what the user wrote and the job's units to mm, radians or a pure ratio
    read: Callable[[object, str], float]
    typed: Callable[[float], object]  # from such a value to what says it in a sentence


def _read_bore(given: object, units: str) -> float:
    return (
        read_drill(given, units).diameter if isinstance(given, str) else read_length(given, units)
    )


def _read_number(given: object, units: str) -> float:
    if isinstance(given, str):
        raise UnitError("is not a plain number", "write a number such as 0.9")
    return read_rate(given)


def _plainly(value: float) -> str:
    return f"{value:g}"


LENGTH = Quantity(noun="a length", read=read_length, typed=size)
ANGLE = Quantity(noun="an angle", read=lambda given, units: read_angle(given), typed=Angle)
BORE = Quantity(noun="a length or a drill", read=_read_bore, typed=size)
RATE = Quantity(noun="a taper rate", read=lambda given, units: read_rate(given), typed=_plainly)
NUMBER = Quantity(noun="a number", read=_read_number, typed=_plainly)


class Limits(Struct, frozen=True, kw_only=True):
    """What a value may be, in mm, radians or as a pure ratio; None where there is no limit."""

    above: float | None = None  # it must be larger than this
    at_least: float | None = None  # it may not be smaller than this
    below: float | None = None  # it must be smaller than this
    at_most: float | None = None  # it may not be larger than this

    def broken_by(self, value: float, quantity: Quantity) -> Sentence:
        """Return which limit `value` breaks, said for people; empty if it breaks none."""
        for limit, keeps, problem in (
            (self.above, operator.gt, "more than"),
            (self.at_least, operator.ge, "at least"),
            (self.below, operator.lt, "less than"),
            (self.at_most, operator.le, "at most"),
        ):
            if limit is not None and not keeps(value, limit):
                said = quantity.typed(limit) if limit else "0"
                return words("must be {problem} {limit}", problem=problem, limit=said)
        return ""


ANY = Limits()
POSITIVE = Limits(above=0.0)
NOT_NEGATIVE = Limits(at_least=0.0)


class FaultList(Struct, kw_only=True):
    """The faults found so far in one file."""

    file: str  # the file's name as the user gave it
    units: str = "mm"  # ``mm`` or ``in``: what lengths are said in, once that is known
    # where the files that a job names are looked for; None where it may name none
    folder: Path | None = None
    within: Path | None = None  # the folder that none of them may lie outside of; None for anywhere
    faults: list[Fault] = field(default_factory=list)  # what was found, in the order of reading
    # by kind, how many unknown names there are, and which fault counts them
    unknown: dict[str, tuple[int, int]] = field(default_factory=dict)

    def add(
        self,
        key: str,
        problem: Sentence,
        given: object = _UNSAID,
        remedy: Sentence = "",
        *,
        others: Sequence[str] = (),
        action: Action | None = None,
    ) -> None:
        """Put down one fault; `given` is what the user wrote, of any type."""
        text = "" if given is _UNSAID else say_given(given)
        self.faults.append(
            Fault(
                file=self.file,
                key=key,
                problem=problem,
                given=text,
                remedy=remedy,
                units=self.units,
                others=tuple(others),
                action=action,
            )
        )

    def add_unknown(
        self, key: str, kind: str, given: object, nearest_known: Callable[[], str]
    ) -> None:
        """Put down an unknown name; from `UNKNOWN_MOST` of one kind on they are only counted."""
        count, at = self.unknown.get(kind, (0, 0))
        left = count - UNKNOWN_MOST
        if left <= 0:
            at = len(self.faults)
            self.add(key, f"is not {kind}", given, nearest_known())
        else:
            self.faults[at] = replace(
                self.faults[at], problem=f"is not {kind}, nor are {left} more", remedy=""
            )
        self.unknown[kind] = (count + 1, at)


def say_given(given: object) -> str:
    """Return what the user wrote, short enough for one line and harmless on a terminal."""
    match given:
        case bool():
            return "true" if given else "false"
        case str():
            # repr makes control characters visible; the quotes are those of the job file.
            text = repr(given[:50])[1:-1].replace('"', "'").replace("\\'", "'")
            return f'"{text}{"..." if len(given) > 50 else ""}"'
        case int() if given.bit_length() > 200:
            return "a very large number"
        case int() | float():
            return str(given)
        case list():
            return f"a list of {len(given)}"
        case dict():
            return "a table"
        case datetime.date() | datetime.time():
            return "a date or time"
        case _:
            return f"a {type(given).__name__}"


def say_key(key: str) -> str:
    """Return a key as it is named in a fault: bare, or quoted where it could confuse."""
    return key if _BARE_KEY.fullmatch(key) else say_given(key)


def nearest(word: str, known: Sequence[str]) -> str:
    """Return the known word that is spelled most like `word`."""
    near = word.lower()[:40]
    return max(known, key=lambda k: difflib.SequenceMatcher(None, near, k.lower()).ratio())


class Table:
    """One table of a file.

    Attributes:
        raw: the table as TOML gave it.
        path: dotted path of the table, empty for the whole file.
        found: where its faults go.
        units: ``mm`` or ``in``: what bare numbers count in.
    """

    def __init__(
        self,
        raw: Mapping[str, object],
        path: str,
        found: FaultList,
        units: str,
        known: Sequence[str],
    ) -> None:
        self.raw, self.path, self.found, self.units = raw, path, found, units
        for key in (key for key in raw if key not in known):
            self._unknown(key, known)

    def has(self, key: str) -> bool:
        """Return whether the user wrote this key."""
        return key in self.raw

    def where(self, key: str) -> str:
        """Return the full path of a key of this table."""
        return f"{self.path}.{key}" if self.path else key

    def fault(
        self,
        key: str,
        problem: Sentence,
        remedy: Sentence = "",
        *others: str,
        action: Action | None = None,
    ) -> None:
        """Put down a fault of one key, with what was given there; '' for the table itself.

        `others` are further keys of this table that the fault lies between.
        """
        place = self.where(key) if key else self.path
        self.found.add(
            place,
            problem,
            self.raw.get(key, _UNSAID),
            remedy,
            others=[self.where(other) for other in others],
            action=action,
        )

    def require(self, key: str, remedy: str) -> bool:
        """Return whether the user wrote this key; put down a fault if not."""
        if key in self.raw:
            return True
        self.fault(key, "is missing", remedy)
        return False

    def value(self, quantity: Quantity, key: str, limits: Limits = ANY) -> float | None:
        """Return a measured value in mm, radians or as a ratio; None if absent or at fault."""
        if not self.has(key):
            return None
        return self._measure(quantity, self.where(key), self.raw[key], limits)

    def values(
        self, quantity: Quantity, key: str, limits: Limits = ANY, most: int = 2
    ) -> list[float] | None:
        """Return a list of at most `most` measured values; None if absent or at fault."""
        given = self.raw.get(key)
        if not self.has(key):
            return None
        if not isinstance(given, list):
            self.fault(key, f"must be a list, each {quantity.noun}")
            return None
        if len(given) > most:
            self.fault(key, f"is a list of more than {most}", f"give at most {most} values")
            return None
        before = len(self.found.faults)
        read: list[float] = []
        for number, item in enumerate(given, start=1):
            place = f"{self.where(key)}[{number}]"
            value = self._measure(quantity, place, item, limits)
            read.append(value if value is not None else 0.0)
            if len(self.found.faults) - before >= FAULTS_A_LIST:
                break
        return read if len(self.found.faults) == before else None

    def pair(
        self, quantity: Quantity, key: str, limits: Limits = ANY
    ) -> tuple[float, float] | None:
        """Return two measured values; None if absent or at fault."""
        given = self.raw.get(key)
        if isinstance(given, list) and len(given) != 2:
            self.fault(key, "must be a list of two", _two_of(given) or f"each {quantity.noun}")
            return None
        read = self.values(quantity, key, limits)
        return (read[0], read[1]) if read else None

    def text(self, key: str, longest: int, *, needed: bool = False) -> str | None:
        """Return a line of text; None if absent or at fault."""
        if not self.has(key):
            return None
        return self._line(self.where(key), self.raw[key], longest, needed)

    def two_texts(self, key: str, longest: int) -> tuple[str, str] | None:
        """Return two lines of text that differ; None if absent or at fault."""
        given = self.raw.get(key)
        if not self.has(key):
            return None
        if not isinstance(given, list) or len(given) != 2:
            self.fault(key, "must be a list of two texts")
            return None
        places = (f"{self.where(key)}[{number}]" for number in (1, 2))
        one, two = (self._line(*each, longest) for each in zip(places, given, strict=True))
        if one is None or two is None:
            return None
        if one.lower() == two.lower():
            self.found.add(
                f"{self.where(key)}[2]", "is the same as the first", two, "tell them apart"
            )
            return None
        return one, two

    def choice(self, key: str, known: Sequence[str]) -> str | None:
        """Return one of some known words; None if absent or at fault."""
        if not self.has(key):
            return None
        given = self.raw[key]
        if isinstance(given, str) and given in known:
            return given
        listed = " or ".join(f'"{word}"' for word in known)
        near = ""
        if isinstance(given, str) and len(known) > 1:
            near = f', the nearest is "{nearest(given, known)}"'
        self.fault(key, "is not known", f"write {listed}{near}")
        return None

    def flag(self, key: str) -> bool | None:
        """Return true or false; None if absent or at fault."""
        given = self.raw.get(key)
        if isinstance(given, bool):
            return given
        if self.has(key):
            self.fault(key, "must be true or false", "write it without quotes")
        return None

    def count(self, key: str, least: int, most: int) -> int | None:
        """Return a whole number; None if absent or at fault."""
        given = self.raw.get(key)
        if not self.has(key):
            return None
        if isinstance(given, bool) or not isinstance(given, int):
            self.fault(key, "must be a whole number", f"write a number from {least} to {most}")
        elif not least <= given <= most:
            self.fault(key, f"must be from {least} to {most}")
        else:
            return given
        return None

    def table(self, key: str, known: Sequence[str]) -> Table | None:
        """Return the table under a key; None if it is absent or at fault."""
        given = self.raw.get(key)
        if isinstance(given, dict):
            return Table(given, self.where(key), self.found, self.units, known)
        if self.has(key):
            self.fault(key, "must be a table", f"it holds {', '.join(known)}")
        return None

    def section(self, key: str, known: Sequence[str]) -> Table:
        """Return the table under a key, an empty one if it is absent or at fault."""
        return self.table(key, known) or Table({}, self.where(key), self.found, self.units, known)

    def tables(self, key: str, known: Sequence[str], most: int) -> list[Table]:
        """Return the list of tables under a key, at most `most`; those at fault are left out."""
        given = self.raw.get(key)
        if not self.has(key):
            return []
        if not isinstance(given, list) or not all(isinstance(item, dict) for item in given):
            heads = f"[[{self.where(key)}]], two brackets"
            self.fault(key, "must be a list of tables", f"write {heads}")
            return []
        if not 1 <= len(given) <= most:
            self.fault(key, f"must hold from 1 to {most} tables")
            return []
        return [
            Table(item, f"{self.where(key)}[{number}]", self.found, self.units, known)
            for number, item in enumerate(given, start=1)
        ]

    def _unknown(self, key: str, known: Sequence[str]) -> None:
        self.found.add_unknown(
            self.where(say_key(key)),
            "a known key",
            _UNSAID,
            lambda: f'the nearest is "{nearest(key, known)}" of {", ".join(known)}',
        )

    def _line(self, place: str, given: object, longest: int, needed: bool = False) -> str | None:
        if not isinstance(given, str):
            problem, remedy = "must be text", "put it in quotes"
        elif not given.strip():
            problem = "is empty"
            remedy = "write a word" if needed else "write a word, or leave the key out"
        elif not given.isprintable():
            problem, remedy = "holds a character that cannot be printed", "write it on one line"
        elif len(given.strip()) > longest:
            problem, remedy = f"is longer than {longest} characters", "shorten it"
        else:
            return given.strip()
        self.found.add(place, problem, given, remedy)
        return None

    def _measure(
        self, quantity: Quantity, place: str, given: object, limits: Limits
    ) -> float | None:
        try:
            value = quantity.read(given, self.units)
        except UnitError as error:
            self.found.add(place, error.problem, given, error.remedy)
            return None
        if broken := limits.broken_by(value, quantity):
            self.found.add(place, broken, given)
            return None
        return value


def _two_of(given: Sequence[object]) -> str:
    """Return what to write for two numbers with decimal commas, which TOML reads as three or four.

    ``[3,45, 1,85]`` holds 3, 45, 1 and 85.
    """
    plain = [item for item in given if isinstance(item, int) and not isinstance(item, bool)]
    if len(given) == 4 and len(plain) == 4:
        a, b, c, d = plain
        return f"write the decimals after a point: [{a}.{b}, {c}.{d}]"
    return ""
