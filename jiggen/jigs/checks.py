"""The shop checks that need the jigs: what each of them can do, and where it stops."""

from __future__ import annotations

from jiggen.jigs.corner_pieces import corner_checks
from jiggen.jigs.cradle_pieces import cradle_checks
from jiggen.jigs.gauge_pieces import gauge_checks
from jiggen.jigs.judge import bore_checks, skin_checks
from jiggen.solution import Check, Solution


def jig_checks(solution: Solution) -> tuple[Check, ...]:
    """Return the checks of every jig that the job makes.

    Args:
        solution: the solved job.
    """
    return (
        *skin_checks(solution),
        *bore_checks(solution),
        *gauge_checks(solution),
        *cradle_checks(solution),
        *corner_checks(solution),
    )
