"""The error tree, and `Fault`: the one-line complaint that names file, key, value and remedy.

JiggenError
├── JobError(ValueError)          the job file is wrong; carries every fault found
├── ImpossibleWedge(ValueError)   measurements that no wedge can have
├── DoesNotFit(ValueError)        a piece that cannot be made, or is larger than its sheet
├── DrawingError(ValueError)      a shape that cannot be drawn or offset
└── DrawingFileError(OSError)     a drawing that cannot be read or written

What is wrong is told as a `Sentence`: plain text, or words with typed lengths in them, which are
said in the reader's unit where the line is shown and nowhere before.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Protocol

from msgspec import Struct


def installing(*libraries: str) -> str:
    """Return the command that brings libraries to the interpreter that runs.

    Args:
        libraries: each by its own name and versions, as pyproject.toml asks for it.
    """
    import shlex  # what most runs do not need

    return shlex.join([sys.executable, "-m", "pip", "install", *libraries])


class Said(Protocol):
    """What is said in the reader's unit: a length, an angle, words with these in them."""

    def said(self, units: str = "mm") -> str:
        """Return it as text, lengths in ``mm`` or ``in``."""


Sentence = str | Said
"""Plain text, or words that are said in a unit at the edge."""


def say(sentence: Sentence, units: str) -> str:
    """Return a sentence as text: the one place where lengths in it get their unit."""
    return sentence if isinstance(sentence, str) else sentence.said(units)


class Action(Struct, frozen=True, kw_only=True):
    """One change of the job file that would mend a fault, as a button would make it."""

    said: str  # what it does, e.g. ``exchange front and rear``
    exchange: tuple[str, str] | None = None  # two keys whose values change places
    put: tuple[str, str] | None = None  # a key and the value that it gets, as it stands in the file


class Fault(Struct, frozen=True, kw_only=True):
    """One thing wrong in a file, said so that the reader can mend it."""

    file: str  # the file's name as the user gave it
    # dotted path of the key, e.g. ``wedge.station[2].readings.a``; empty for the whole file
    key: str
    problem: Sentence  # what is wrong
    # the value that was given, as the user wrote it; empty when nothing was given
    given: Sentence = ""
    remedy: Sentence = ""  # what would do
    units: str = "mm"  # ``mm`` or ``in``: what lengths are said in
    # further keys that the fault lies between, to be marked with `key`
    others: tuple[str, ...] = ()
    action: Action | None = None  # a change of the file that would mend it

    @property
    def keys(self) -> tuple[str, ...]:
        """Return every key that the fault concerns, the one to blame first."""
        return (*((self.key,) if self.key else ()), *self.others)

    def __str__(self) -> str:
        """Return the contract line ``FILE: key.path: what, what was given, what would do``."""
        problem, given, remedy = (
            say(text, self.units) for text in (self.problem, self.given, self.remedy)
        )
        place = f"{self.file}: {self.key}: " if self.key else f"{self.file}: "
        if remedy and not given and problem.endswith("?"):
            remedy = f" {remedy[:1].upper()}{remedy[1:]}"
        elif remedy:
            remedy = f"; {remedy}"
        return " ".join(f"{place}{problem}{f', given {given}' if given else ''}{remedy}".split())


class JiggenError(Exception):
    """Root of everything that jiggen raises on purpose."""


class JobError(JiggenError, ValueError):
    """The job file is wrong; `faults` holds everything found, in file order."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class _Refusal(JiggenError, ValueError):
    """What geometry or a jig refuses: what is wrong, the key to blame, its value, what would do."""

    def __init__(
        self, problem: Sentence, *, key: str = "", given: Sentence = "", remedy: Sentence = ""
    ) -> None:
        self.problem = problem
        self.key = key
        self.given = given
        self.remedy = remedy
        super().__init__(problem, given, remedy)

    def __str__(self) -> str:
        problem, given, remedy = (say(t, "mm") for t in (self.problem, self.given, self.remedy))
        return f"{problem}{f', given {given}' if given else ''}{f'; {remedy}' if remedy else ''}"


class ImpossibleWedge(_Refusal):
    """Measurements that no wedge can have, or a hole that the wedge cannot hold.

    `key` says which input is to blame, relative to the thing being built (``readings``, ``line``).
    """


class DoesNotFit(_Refusal):
    """A piece that cannot be made with these sizes, or that is larger than its sheet.

    `key` names the job key that would mend it (``guide.foot``, ``print.paper``); `others` are what
    else of the same job cannot be made.
    """

    others: tuple[DoesNotFit, ...] = ()


def refuse_together(refused: Sequence[DoesNotFit]) -> None:
    """Raise the first of some refusals, which tells the others too; nothing where there are none.

    Raises:
        DoesNotFit: the first.
    """
    told: dict[tuple[str, str], DoesNotFit] = {}
    for trouble in refused:
        for one in (trouble, *trouble.others):
            told.setdefault((one.key, str(one)), one)
    if told:
        first, *others = told.values()
        first.others = tuple(others)
        raise first


class DrawingError(JiggenError, ValueError):
    """A shape that cannot be drawn or offset: open, crossing itself, an arc that kerf eats."""


class DrawingFileError(JiggenError, OSError):
    """A drawing that cannot be read or written; the message names the file and the remedy."""


def faults_of(error: JiggenError, file: str, units: str) -> tuple[Fault, ...]:
    """Return what geometry, jigs and drawing refuse as faults of the job file that asked for it."""
    if isinstance(error, JobError):
        return error.faults
    if not isinstance(error, _Refusal):
        return (Fault(file=file, key="", problem=str(error)),)
    return tuple(
        Fault(
            file=file,
            key=one.key,
            problem=one.problem,
            given=one.given,
            remedy=one.remedy,
            units=units,
        )
        for one in (error, *(error.others if isinstance(error, DoesNotFit) else ()))
    )


@contextmanager
def blamed_on(file: str, units: str = "mm") -> Iterator[None]:
    """Turn what geometry and drawing refuse into faults of the job file that asked for it.

    Raises:
        JobError: in the place of `ImpossibleWedge`, `DoesNotFit` and `DrawingError`.
    """
    try:
        yield
    except (_Refusal, DrawingError) as refused:
        raise JobError(faults_of(refused, file, units)) from refused
