"""The shop checks that need the jigs: what each of them can do, and where it stops.

The checks of a jig are loaded with it, where one of its pieces is made.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from importlib import import_module

from jiggen.drawing.piece import Piece
from jiggen.jigs.plan import IF_IT_FITS, left_out
from jiggen.solution import Check, Solution
from jiggen.units import words

#: Which kinds of piece a check is about, its module, and its name there.
CHECKS = (
    (frozenset({"guide", "block", "wrap"}), "judge", "skin_checks"),
    (frozenset({"block"}), "judge", "bore_checks"),
    (frozenset({"gauge"}), "gauge_pieces", "gauge_checks"),
    (frozenset({"cradle"}), "cradle_pieces", "cradle_checks"),
    (frozenset({"corner"}), "corner_pieces", "corner_checks"),
)


def jig_checks(
    solution: Solution, pieces: Iterable[Piece], only: Sequence[str] = ()
) -> tuple[Check, ...]:
    """Return the checks of the jigs that are made, and of those that are left out.

    Args:
        solution: the solved job.
        pieces: what is made of it.
        only: the kinds or names that were asked for; empty for all that the job needs.
    """
    made = {piece.kind for piece in pieces}
    found: list[Check] = [] if only or made >= set(IF_IT_FITS) else list(_left_out(solution))
    for kinds, module, name in CHECKS:
        if kinds & made:
            check: Callable[[Solution], tuple[Check, ...]] = getattr(
                import_module(f"jiggen.jigs.{module}"), name
            )
            found += check(solution)
    return tuple(found)


def _left_out(solution: Solution) -> tuple[Check, ...]:
    """Return a warning for each jig that does not fit and that nobody asked for by name."""
    return tuple(
        Check(
            id=f"no-{kind}",
            name=kind,
            status="warn",
            why=words(
                "no {kind} is drawn: {problem}; {remedy} ({key})",
                kind=kind,
                problem=trouble.problem,
                remedy=trouble.remedy,
                key=trouble.key,
            ),
            keys=(trouble.key,) if trouble.key else (),
            source="derived: its size against the room that the job leaves it",
        )
        for kind, trouble in left_out(solution).items()
    )
