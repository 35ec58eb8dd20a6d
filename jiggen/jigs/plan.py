"""Which pieces a solved job needs: the jigs that every job has, and those that it asks for.

A section of the job file asks for its jig; so does the jig's name after ``--only``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import partial
from importlib import import_module

from jiggen.drawing.piece import Piece
from jiggen.errors import DoesNotFit, refuse_together
from jiggen.jigs.stand import Stand, stands
from jiggen.jigs.stand_pieces import block_pieces, foot_pieces, guide_pieces, wrap_pieces
from jiggen.solution import Solution
from jiggen.units import joined

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
#: Kinds that a guide can do without: where one does not fit, and nobody asked for it, the rest of
#: the job is drawn, and a check says why it is left out.
IF_IT_FITS = ("block", "wrap")
#: Kinds of which each belongs to a guide, and bears its name.
OF_A_GUIDE = ("guide", "block", "wrap", "corner")
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
    pieces = _all_made(solution, _makers(solution, some, only), rest=not only)
    called = {name: (name, _of_twin(some, name)) for name in only}
    for name, either in called.items():
        if not any(_is_called(p, one) for p in pieces for one in either):
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
    wanted = [one for either in called.values() for one in either]
    return tuple(p for p in pieces if not only or any(_is_called(p, one) for one in wanted))


def left_out(solution: Solution) -> dict[str, DoesNotFit]:
    """Return why a jig that the job does not ask for by name is left out, by its kind.

    Args:
        solution: the solved job.
    """
    some, why = stands(solution), {}
    for kind in IF_IT_FITS:
        if _may_be_left_out(solution, kind):
            try:
                ALWAYS[kind](solution, some)
            except DoesNotFit as trouble:
                why[kind] = trouble
    return why


def _may_be_left_out(solution: Solution, kind: str) -> bool:
    return kind in IF_IT_FITS and not (kind == "block" and "block" in solution.job.stated)


def _makers(
    solution: Solution, some: tuple[Stand, ...], only: tuple[str, ...]
) -> dict[str, Callable[[], list[Piece]]]:
    """Return what makes the pieces that are wanted, by their kind."""
    found: dict[str, Callable[[], list[Piece]]] = {}
    for kind, stand_maker in ALWAYS.items():
        if not only or _asks_for(kind, only):
            found[kind] = partial(stand_maker, solution, some)
    for kind in ASKED_FOR:
        if (not only and _in_job(solution, kind)) or _asks_for(kind, only):
            found[kind] = partial(_maker(kind), solution)
    return found


def _in_job(solution: Solution, kind: str) -> bool:
    """Return whether a section of the job asks for a kind."""
    section = ASKED_FOR[kind]
    return bool(section) and getattr(solution.job, section) is not None


def _of_twin(some: tuple[Stand, ...], name: str) -> str:
    """Return the name of the piece that serves both sides where `name` is that of one side's."""
    kind, _, rest = name.partition("-")
    for stand in some:
        for guide in stand.guides:
            own, _, part = rest.partition("-")
            if kind in OF_A_GUIDE and own == guide.name != stand.label:
                return "-".join([kind, stand.label, *([part] if part else [])])
    return name


def _maker(kind: str) -> Maker:
    """Return what makes the pieces of a kind that is not made for every job."""
    name = f"{kind}_pieces"
    made: Maker = getattr(import_module(f"jiggen.jigs.{name}"), name)
    return made


def _all_made(
    solution: Solution, makers: Mapping[str, Callable[[], list[Piece]]], *, rest: bool
) -> list[Piece]:
    """Return every piece; what cannot be made is told all at once, not one a run.

    Args:
        solution: the solved job.
        makers: what makes the pieces, by their kind.
        rest: whether all that the job needs is made, and not what was asked for by name.
    """
    pieces: list[Piece] = []
    refused: dict[str, DoesNotFit] = {}
    for kind, maker in makers.items():
        try:
            pieces += maker()
        except DoesNotFit as trouble:
            if not (rest and _may_be_left_out(solution, kind)):
                refused[kind] = trouble
    without = ",".join(kind for kind in makers if kind not in refused)
    refuse_together(
        [
            _says_how_without(trouble, without) if rest and kind in IF_IT_FITS else trouble
            for kind, trouble in refused.items()
        ]
    )
    return pieces


def _says_how_without(trouble: DoesNotFit, kinds: str) -> DoesNotFit:
    """Return a refusal that tells how the rest of the job is drawn all the same."""
    return DoesNotFit(
        trouble.problem,
        key=trouble.key,
        given=trouble.given,
        remedy=joined(
            [*([trouble.remedy] if trouble.remedy else []), f"--only {kinds} draws the rest"]
        ),
    )


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
    wanted = tuple(kind for kind in KINDS if _asks_for(kind, only))
    names: list[str] = []
    for maker in _makers(solution, some, wanted).values():
        # A kind that cannot be made has no names; that it cannot is told when it is asked for.
        with suppress(DoesNotFit):
            names += [piece.name for piece in maker()]
    return [*KINDS, *(name for name in dict.fromkeys(names) if name not in KINDS)]
