"""What a job asks of the order sheet, the strip and the trim templates, defaults filled in.

One place reads the sections that may be left out, so that a jig never has to.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

from jiggen.job.edge import StripInput
from jiggen.job.model import Job

#: Which holes apart the first riveting pass is, and how its sides change; see `geometry.sequence`.
FIRST, SIDE = 8, "pass"


class PlainRow(Protocol):
    """A plain row of holes without wedge or guide, mm: ``[[row]]`` of the job file."""

    name: str
    first: float
    pitch: float
    count: int
    keep_out: frozenset[int]
    order: str


def strip_of(job: Job) -> StripInput:
    """Return what is asked of the hole strip."""
    return job.strip or StripInput()


def end_angles(job: Job) -> tuple[float, float]:
    """Return the angles of both end cuts from square, radians.

    Positive where the front of the cut is farther from the zero end.
    """
    first, last = getattr(job.stock, "end_angles", (0.0, 0.0))
    return first, last


def sequence_of(job: Job) -> tuple[int, str]:
    """Return the step of the first riveting pass, and by what its sides change."""
    asked = getattr(job, "sequence", None)
    return getattr(asked, "first", FIRST), getattr(asked, "side", SIDE)


def asks_for_sequence(job: Job) -> bool:
    """Return whether the job asks for the sheet of an order."""
    return getattr(job, "sequence", None) is not None or bool(rows_of(job))


def rows_of(job: Job) -> Sequence[PlainRow]:
    """Return the plain rows of the job."""
    rows: Any = getattr(job, "rows", ())
    return tuple(rows)
