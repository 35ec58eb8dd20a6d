"""The shop checks that need the jigs: what each of them can do, and where it stops.

The checks of a jig are loaded with it, where one of its pieces is made.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from importlib import import_module

from jiggen.drawing.piece import Piece
from jiggen.solution import Check, Solution

#: Which kinds of piece a check is about, its module, and its name there.
CHECKS = (
    (frozenset({"guide", "block", "wrap"}), "judge", "skin_checks"),
    (frozenset({"block"}), "judge", "bore_checks"),
    (frozenset({"gauge"}), "gauge_pieces", "gauge_checks"),
    (frozenset({"cradle"}), "cradle_pieces", "cradle_checks"),
    (frozenset({"corner"}), "corner_pieces", "corner_checks"),
)


def jig_checks(solution: Solution, pieces: Iterable[Piece]) -> tuple[Check, ...]:
    """Return the checks of the jigs that are made.

    Args:
        solution: the solved job.
        pieces: what is made of it.
    """
    made = {piece.kind for piece in pieces}
    found: list[Check] = []
    for kinds, module, name in CHECKS:
        if kinds & made:
            check: Callable[[Solution], tuple[Check, ...]] = getattr(
                import_module(f"jiggen.jigs.{module}"), name
            )
            found += check(solution)
    return tuple(found)
