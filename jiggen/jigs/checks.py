"""The shop checks that need the jigs: what each of them can do, and where it stops."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from jiggen.drawing.piece import Piece
from jiggen.jigs.corner_pieces import corner_checks
from jiggen.jigs.cradle_pieces import cradle_checks
from jiggen.jigs.gauge_pieces import gauge_checks
from jiggen.jigs.judge import bore_checks, skin_checks
from jiggen.solution import Check, Solution

#: Which kinds of piece a check is about: it is only made where one of them is.
CHECKS: tuple[tuple[frozenset[str], Callable[[Solution], tuple[Check, ...]]], ...] = (
    (frozenset({"guide", "block", "wrap"}), skin_checks),
    (frozenset({"block"}), bore_checks),
    (frozenset({"gauge"}), gauge_checks),
    (frozenset({"cradle"}), cradle_checks),
    (frozenset({"corner"}), corner_checks),
)


def jig_checks(solution: Solution, pieces: Iterable[Piece]) -> tuple[Check, ...]:
    """Return the checks of the jigs that are made.

    Args:
        solution: the solved job.
        pieces: what is made of it.
    """
    made = {piece.kind for piece in pieces}
    return tuple(
        check for kinds, check_of in CHECKS if kinds & made for check in check_of(solution)
    )
