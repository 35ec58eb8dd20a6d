"""The Measure screen: the job as typed, its drill angles, and what is wrong with it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from jiggen.errors import JobError, blamed_on, say
from jiggen.job.read import read_job_text
from jiggen.page.fields import Mark, marks_of
from jiggen.page.screen import Screen, Shown
from jiggen.page.store import Kept
from jiggen.solution import AnglesAt, Solution
from jiggen.solve import solve
from jiggen.units import say_length


def solved(job: Path, text: str) -> Solution:
    """Solve a job from its text.

    Args:
        job: the file; what it names is looked for beside it, and nowhere else.
        text: of the file.

    Raises:
        JobError: the text holds faults.
    """
    read = read_job_text(text, job.name, job.parent, within=job.parent)
    with blamed_on(job.name, read.units):
        return solve(read)


def show(job: Path, text: str, kept: Kept, view: Mapping[str, str]) -> Shown:
    """Return what the screen shows of a job's text."""
    try:
        solution = solved(job, text)
    except JobError as bad:
        return Shown(faults=tuple(marks_of(bad.faults)))
    units = solution.job.units
    holes = solution.holes
    at = holes[len(holes) // 2].angles if holes else solution.stations[0]
    where = f"hole {holes[len(holes) // 2].number}" if holes else say_length(at.at, units)
    look = [c for c in solution.checks if c.status in ("warn", "fail")]
    return Shown(
        numbers={
            "where": where,
            "rows": [_row(at, n, side) for n, side in enumerate(solution.job.sides)],
            "guides": len(solution.guides),
            "drilled": sum(hole.drill_now for hole in holes),
            "holes": len(holes),
            "look": [Mark(keys=(c.name,), text=say(c.why, units)) for c in look],
        }
    )


def _row(at: AnglesAt, side: int, name: str) -> dict[str, Any]:
    """Return one side's angles as they are said, degrees."""
    slope = math.degrees((at.skin_a, at.skin_b)[side])
    words = (slope, 90.0 - slope, 90.0 + slope)
    return {
        "side": "AB"[side],
        "name": name,
        "angles": [f"{each:.2f}\N{DEGREE SIGN}" for each in words],
    }


MEASURE_SCREEN = Screen(name="measure", label="Measure", show=show)
