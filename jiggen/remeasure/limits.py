"""What a reader refuses: drawings beyond all measure, and numbers that no drawing has.

A few hundred bytes can ask for more work than a lifetime has: groups that use each other, streams
that unfold ten thousandfold, curves without end. So each file has a budget, and whoever goes on
reads, follows or compares pays from it. The largest drawings that jiggen writes need a tenth.
"""

from __future__ import annotations

import math
from typing import NoReturn

from jiggen.errors import DrawingFileError

BYTES_MOST = 50_000_000  # of a drawing
DEEPEST = 100  # groups in groups of an SVG, forms in forms of a PDF
FAR = 1e7  # mm. Nothing lies this far off, not even on a sheet whose mm were taken as metres

#: What may be spent on one file, by what it is spent on.
BUDGET = {
    "pages": 1_000,
    "forms": 5_000,
    "elements": 60_000,
    "points": 250_000,
    "points along curves": 2_000_000,
    "operators and numbers": 600_000,
    "bytes of unpacked drawing": 32_000_000,
    "characters of fonts": 300_000,
    "outlines of which nothing is known": 3_000,
    "pairs of points to compare": 60_000_000,
}

EXAMPLES = "such as print.pdf or cut-1.svg"  # drawings that `make` writes, as remedies name them
GIVE = f"give the name of a PDF, SVG or DXF, {EXAMPLES}"  # what to do about a file that is none

DAMAGED = "save or copy it again from where it came, or run jiggen make again"
"""What to do about a file that is cut short or damaged."""


class Budget:
    """What is left to spend on one file."""

    def __init__(self) -> None:
        self._left = dict(BUDGET)

    def spend(self, what: str, count: int = 1) -> None:
        """Pay for some work, one of `BUDGET`, before it is done.

        Raises:
            DrawingFileError: there is not so much left.
        """
        self._left[what] -= count
        if self._left[what] < 0:
            raise DrawingFileError(
                f"is too large to be measured: it has more than {BUDGET[what]:,} {what}; take out "
                "what is no piece and no bar, and save it again"
            )


def too_deep() -> NoReturn:
    """Refuse a drawing whose groups or forms lie too deep in one another."""
    raise DrawingFileError(
        f"is nested deeper than {DEEPEST} groups; ungroup what is in it, and save it again"
    )


def no_number(what: str = "a number or a place") -> NoReturn:
    """Refuse a drawing that holds what is no number, or a place that no sheet has."""
    raise DrawingFileError(
        f"holds {what} that is none, or kilometres away: it is damaged; save or copy it again "
        "from where it came"
    )


def number(text: str) -> float:
    """Return a number of a file; NaN where its text is none.

    Raises:
        DrawingFileError: it is beyond all measure.
    """
    try:
        value = float(text)
    except ValueError:
        return math.nan
    return no_number() if abs(value) > 1e12 else value
