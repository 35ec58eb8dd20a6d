"""The error tree, and `Fault`: the one-line complaint that names file, key, value and remedy.

JiggenError
├── JobError(ValueError)          the job file is wrong; carries every fault found
├── ImpossibleWedge(ValueError)   measurements that no wedge can have
├── DoesNotFit(ValueError)        a piece that cannot be made, or is larger than its sheet
├── DrawingError(ValueError)      a shape that cannot be drawn or offset
└── DrawingFileError(OSError)     a drawing that cannot be read or written
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong in a file, said so that the reader can mend it.

    Attributes:
        file: the file's name as the user gave it.
        key: dotted path of the key, e.g. ``wedge.station[2].readings.a``; empty for the whole file.
        problem: what is wrong.
        given: the value that was given, as text; empty when nothing was given.
        remedy: what would do.
    """

    file: str
    key: str
    problem: str
    given: str = ""
    remedy: str = ""

    def __str__(self) -> str:
        """Return the contract line ``FILE: key.path: what, what was given, what would do``."""
        place = f"{self.file}: {self.key}: " if self.key else f"{self.file}: "
        given = f", given {self.given}" if self.given else ""
        remedy = f"; {self.remedy}" if self.remedy else ""
        if remedy and not given and self.problem.endswith("?"):
            remedy = f" {self.remedy[:1].upper()}{self.remedy[1:]}"
        return " ".join(f"{place}{self.problem}{given}{remedy}".split())


class JiggenError(Exception):
    """Root of everything that jiggen raises on purpose."""


class JobError(JiggenError, ValueError):
    """The job file is wrong; `faults` holds everything found, in file order."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class ImpossibleWedge(JiggenError, ValueError):
    """Measurements that no wedge can have, or a hole that the wedge cannot hold.

    `key` says which input is to blame, relative to the thing being built (``readings``, ``line``).
    """

    def __init__(self, problem: str, *, key: str = "", given: str = "", remedy: str = "") -> None:
        self.problem = problem
        self.key = key
        self.given = given
        self.remedy = remedy
        super().__init__(_sentence(problem, given, remedy))


class DoesNotFit(JiggenError, ValueError):
    """A piece that cannot be made with these sizes, or that is larger than its sheet.

    `key` names the job key that would mend it (``guide.foot``, ``print.paper``); `others` are what
    else of the same job cannot be made.
    """

    def __init__(self, problem: str, *, key: str = "", given: str = "", remedy: str = "") -> None:
        self.problem = problem
        self.key = key
        self.given = given
        self.remedy = remedy
        self.others: tuple[DoesNotFit, ...] = ()
        super().__init__(_sentence(problem, given, remedy))


def refuse_together(refused: Sequence[DoesNotFit]) -> None:
    """Raise the first of some refusals, which tells the others too; nothing where there are none.

    Args:
        refused: what does not fit; the same refusal twice is told once.

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


@contextmanager
def blamed_on(file: str, say: Callable[[str], str] = str) -> Iterator[None]:
    """Turn what geometry and drawing refuse into faults of the job file that asked for it.

    Args:
        file: the job file, as the user gave it.
        say: puts a sentence with lengths in mm into the job's own units; as it is if left out.

    Raises:
        JobError: in the place of `ImpossibleWedge`, `DoesNotFit` and `DrawingError`.
    """
    try:
        yield
    except (ImpossibleWedge, DoesNotFit) as refused:
        some = [refused, *(refused.others if isinstance(refused, DoesNotFit) else ())]
        faults = [
            Fault(
                file=file,
                key=one.key,
                problem=say(one.problem),
                given=say(one.given),
                remedy=say(one.remedy),
            )
            for one in some
        ]
        raise JobError(faults) from refused
    except DrawingError as refused:
        raise JobError([Fault(file=file, key="", problem=str(refused))]) from refused


def _sentence(problem: str, given: str, remedy: str) -> str:
    return f"{problem}{f', given {given}' if given else ''}{f'; {remedy}' if remedy else ''}"
