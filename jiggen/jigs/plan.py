"""Which pieces a solved job needs: the jigs that every job has, and those that it asks for.

A section of the job file asks for its jig; so does the jig's name after ``--only``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from importlib import import_module

from jiggen.drawing.piece import Piece
from jiggen.errors import DoesNotFit
from jiggen.jigs.stand import Stand, stands
from jiggen.jigs.stand_pieces import block_pieces, foot_pieces, guide_pieces, wrap_pieces
from jiggen.solution import Solution

Maker = Callable[[Solution], list[Piece]]
StandMaker = Callable[[Solution, tuple[Stand, ...]], list[Piece]]

#: Made for every job, in this order.
ALWAYS: dict[str, StandMaker] = {
    "guide": guide_pieces,
    "foot": foot_pieces,
    "block": block_pieces,
    "wrap": wrap_pieces,
}


#: kind: the section of the job that asks for it; empty where only its name does. What makes it is
#: ``<kind>_pieces`` in the module of that name, loaded when it is wanted.
ASKED_FOR = {
    "coupon": "",
    "corner": "corner",
    "gauge": "gauge",
    "cradle": "cradle",
    "strip": "strip",
    "trim": "stock",
}
#: Kinds whose pieces are parts of one jig: the jig's name asks for all of them.
IN_PARTS = ("block", "corner", "cradle")
#: The kinds of piece, in the order in which they are made.
KINDS = (*ALWAYS, *ASKED_FOR)


def build_pieces(solution: Solution, only: tuple[str, ...] = ()) -> tuple[Piece, ...]:
    """Build every piece that a solved job needs.

    Args:
        solution: the solved job.
        only: kinds or names of pieces; empty for all that the job asks for.

    Returns:
        The pieces: guides, the foot, blocks and wraps, then what a section of the job asks for.

    Raises:
        DoesNotFit: a piece that cannot be made with the job's sizes, or a name in `only` that no
            piece has.
    """
    some = stands(solution)
    pieces = _all_made(_makers(solution, some, only))
    for name in only:
        if not any(_is_called(p, name) for p in pieces):
            if name in KINDS:
                raise DoesNotFit(
                    f"no {name} piece can be made for this job",
                    key="--only",
                    given=repr(name),
                    remedy="the shop checks of `jiggen angles` say why",
                )
            raise DoesNotFit(
                "no piece of this job has that name",
                key="--only",
                given=repr(name),
                remedy=f"known are {', '.join(_known(solution, some, only))}",
            )
    return tuple(p for p in pieces if not only or any(_is_called(p, name) for name in only))


def _makers(
    solution: Solution, some: tuple[Stand, ...], only: tuple[str, ...]
) -> list[Callable[[], list[Piece]]]:
    """Return what makes the pieces that are wanted, one a kind."""
    found: list[Callable[[], list[Piece]]] = []
    for kind, stand_maker in ALWAYS.items():
        if not only or _asks_for(kind, only):
            found.append(partial(stand_maker, solution, some))
    for kind, section in ASKED_FOR.items():
        in_job = bool(section) and getattr(solution.job, section) is not None
        if (in_job and not only) or _asks_for(kind, only):
            found.append(partial(_maker(kind), solution))
    return found


def _maker(kind: str) -> Maker:
    """Return what makes the pieces of a kind that is not made for every job."""
    name = f"{kind}_pieces"
    made: Maker = getattr(import_module(f"jiggen.jigs.{name}"), name)
    return made


def _all_made(makers: Sequence[Callable[[], list[Piece]]]) -> list[Piece]:
    """Return every piece; what cannot be made is told all at once, not one a run."""
    pieces: list[Piece] = []
    refused: list[DoesNotFit] = []
    for maker in makers:
        try:
            pieces += maker()
        except DoesNotFit as trouble:
            if str(trouble) not in map(str, refused):
                refused.append(trouble)
    if refused:
        refused[0].others = tuple(refused[1:])
        raise refused[0]
    return pieces


def _asks_for(kind: str, only: tuple[str, ...]) -> bool:
    """Return whether a name in `only` is a kind, or that of a piece of it."""
    return any(name == kind or name.startswith(f"{kind}-") for name in only)


def _is_called(piece: Piece, name: str) -> bool:
    """Return whether `name` is a piece's kind, its name, or that of the jig it is a part of."""
    return name in (piece.kind, piece.name) or (
        piece.kind in IN_PARTS and piece.name.startswith(f"{name}-")
    )


def _known(solution: Solution, some: tuple[Stand, ...], only: tuple[str, ...]) -> list[str]:
    """Return the kinds, and the names of the pieces of the kinds that were asked for."""
    asked = [kind for kind in ALWAYS if _asks_for(kind, only)] or list(ALWAYS)
    names = [p.name for kind in asked for p in ALWAYS[kind](solution, some)]
    return [*KINDS, *(name for name in dict.fromkeys(names) if name not in KINDS)]
