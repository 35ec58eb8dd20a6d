"""What a jig gives: one plan, asked for by everybody who draws, lists, checks or explains it.

A jig is a module with a `Jig`: its kind, which section of the job asks for it, and a function from
a solved job to its `Plan`. The plan holds the pieces, the shop checks that only the jig can make,
how it is used, its pictures, and its numbers. Cover, order page, numbers page, bench card, form
and verdict read plans; none of them holds a list of kinds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from importlib import import_module

from msgspec import Struct, field
from msgspec.structs import replace

from jiggen.drawing.page import Paper, Picture
from jiggen.drawing.piece import Joined, Piece
from jiggen.drawing.solid import Solid
from jiggen.errors import DoesNotFit, Sentence
from jiggen.job.sections import Job
from jiggen.solution import Check, Solution
from jiggen.units import Length, Words, words

#: The jigs, in the order of their pages. A module named here has a `JIG`.
JIGS = (
    "jiggen.jigs.guide",
    "jiggen.jigs.gauge",
    "jiggen.jigs.cradle",
    "jiggen.jigs.trim",
    "jiggen.jigs.strip",
    "jiggen.jigs.wrap",
    "jiggen.jigs.block",
    "jiggen.jigs.coupon",
    "jiggen.jigs.shophead",
    "jiggen.jigs.sequence",
)

#: How the id of a check ends that says that something cannot be made.
CANNOT = "-cannot-be-made"


class Table(Struct, frozen=True, kw_only=True):
    """A small table for the numbers page: what each row is, and its value as said to people."""

    title: str
    rows: tuple[tuple[str, str], ...]


class OwnPage(Struct, frozen=True, kw_only=True):
    """A page that a jig composes by itself, inside the frame that every page has.

    Attributes:
        title: in capitals, as on the page.
        subtitle: beside it, a few words.
        landscape: whether the page lies.
        pieces: with the lower left corner of each piece's outline box on the page, mm.
        picture: what else is drawn, in page coordinates.
        figure: whether the page has the check figure; a page without pieces has none.
        keys: names of the key's signs; None for those that the marks call for.
    """

    title: str
    subtitle: str = ""
    landscape: bool = False
    pieces: tuple[tuple[Piece, tuple[float, float]], ...] = ()
    picture: Picture | None = None
    figure: bool = True
    keys: tuple[str, ...] | None = None


class Plan(Struct, frozen=True, kw_only=True):
    """All that one jig is for one job.

    Attributes:
        kind: of the jig, also of its pieces.
        pieces: true size.
        checks: the shop checks that only the jig can make.
        steps: how it is put together and used, one short sentence each, in order; they stand on
            its page.
        use: the jig at work; the cover and the bench card show the one that leads the drill.
        pictures: for the jig's page, the most wanted first: how it goes together, what to file.
        pages: what returns whole pages that the jig composes itself, for a paper; None where its
            pieces are laid out like those of any jig.
        tables: for the numbers page.
        card: what the cover's list says of it in place of its parts, a few words.
        leads_drill: whether a bit is led or sighted along it.
        slotted: whether its pieces fit into one another by the thickness of their material.
        rolls: pieces that also go onto a roll of paper, one a page.
        solids: what builds the bodies that a printer makes of it, called only when they are asked
            for; None where there are none.
        joined: which of the pieces are put together and measured as one.
    """

    kind: str
    pieces: tuple[Piece, ...] = ()
    checks: tuple[Check, ...] = ()
    steps: tuple[Sentence, ...] = ()
    use: Picture | None = None
    pictures: tuple[Picture, ...] = ()
    pages: Callable[[Paper], tuple[OwnPage, ...]] | None = None
    tables: tuple[Table, ...] = ()
    card: tuple[str | Words, ...] = ()
    leads_drill: bool = False
    slotted: bool = False
    rolls: tuple[Piece, ...] = ()
    solids: Callable[[], tuple[Solid, ...]] | None = None
    joined: tuple[Joined, ...] = ()


class Jig(Struct, frozen=True, kw_only=True):
    """One jig, as the registry knows it.

    Attributes:
        kind: its name in a job's piece names, in ``--only`` and in the form.
        plan: what makes its plan; raises DoesNotFit, or returns a plan without pieces where the
            job lacks what it needs.
        asked_for: whether a job asks for it; a name after ``--only`` always does.
    """

    kind: str
    plan: Callable[[Solution], Plan]
    asked_for: Callable[[Solution], bool]


class Planned(Struct, frozen=True, kw_only=True):
    """The plans of a job in the order of their pages.

    `refused` is why a jig that was asked for cannot be made, by its kind.
    """

    plans: tuple[Plan, ...]
    refused: Mapping[str, DoesNotFit] = field(default_factory=dict)

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Return every piece, jig by jig."""
        return tuple(piece for plan in self.plans for piece in plan.pieces)

    @property
    def joined(self) -> tuple[Joined, ...]:
        """Return every row of pieces that is measured as one."""
        return tuple(row for plan in self.plans for row in plan.joined)

    @property
    def checks(self) -> tuple[Check, ...]:
        """Return what the jigs checked; what cannot be made comes first, as a failed check."""
        return (
            *(failed(kind, why) for kind, why in self.refused.items()),
            *(check for plan in self.plans for check in plan.checks),
        )


def all_jigs() -> tuple[Jig, ...]:
    """Return the jigs of the registry."""
    return tuple(import_module(name).JIG for name in JIGS)


def plan_job(solution: Solution, only: Sequence[str] = ()) -> Planned:
    """Plan every jig that a job asks for, or `only` some kinds or names of pieces.

    A jig that cannot be made is told and does not stop the others.

    Raises:
        DoesNotFit: a name in `only` that neither a jig nor a piece has.
    """
    plans: list[Plan] = []
    refused: dict[str, DoesNotFit] = {}
    known: list[str] = []
    heard: set[str] = set()
    for jig in all_jigs():
        known.append(jig.kind)
        if only and not any(_names(jig.kind, name) for name in only):
            continue
        if not only and not jig.asked_for(solution):
            continue
        try:
            plan = jig.plan(solution)
        except DoesNotFit as trouble:
            refused[jig.kind] = trouble
            heard.update(name for name in only if _names(jig.kind, name))
            continue
        said = assumed(solution.job)
        if plan.slotted and said:
            plan = replace(plan, steps=(said, *plan.steps))
        wanted, names = _wanted(plan, only)
        heard |= names
        known += [piece.name for piece in plan.pieces if only]
        plans.append(wanted)
    for name in only:
        if name not in heard:
            raise DoesNotFit(
                "no piece of this job has that name",
                key="--only",
                given=repr(name),
                remedy=f"known are {', '.join(dict.fromkeys(known))}",
            )
    return Planned(plans=tuple(plans), refused=refused)


def assumed(job: Job) -> Sentence:
    """Say for which material slots are drawn where the job does not; empty where it does."""
    if {"cut.sheet", "guide.sheet"} & job.stated:
        return ""
    return words(
        "Slots fit material {t} thick: if yours differs, state cut.sheet.",
        t=Length(job.cut.sheet, None),
    )


def _names(kind: str, name: str) -> bool:
    return name == kind or name.startswith(f"{kind}-")


def _wanted(plan: Plan, only: Sequence[str]) -> tuple[Plan, set[str]]:
    """Return the plan with the pieces that are wanted, and the names that it answers to."""
    asked = [name for name in only if _names(plan.kind, name)]
    heard = {name for name in asked if any(_is_named(p.name, [name]) for p in plan.pieces)}
    if not only or plan.kind in only:
        return plan, {plan.kind, *heard}
    pieces = tuple(p for p in plan.pieces if _is_named(p.name, asked))
    if plan.solids is None:
        return replace(plan, pieces=pieces), heard
    solids = plan.solids

    def some() -> tuple[Solid, ...]:
        return tuple(solid for solid in solids() if _is_named(solid.name, asked))

    # Only a name that no piece has makes the solids be built to see whether one of them has it.
    left = [name for name in asked if name not in heard]
    heard |= {name for name in left if any(_is_named(one.name, [name]) for one in some())}
    return replace(plan, pieces=pieces, solids=some), heard


def _is_named(own: str, names: Sequence[str]) -> bool:
    return any(own == name or own.startswith(f"{name}-") for name in names)


def failed(kind: str, why: DoesNotFit) -> Check:
    """Return what cannot be made as a failed check."""
    return Check(
        id=f"{kind}{CANNOT}",
        name=f"{kind} cannot be made",
        status="fail",
        value=None,
        limit=None,
        unit="",
        why=words("{problem}; {remedy}", problem=why.problem, remedy=why.remedy),
        source="derived: see the jig",
        keys=(why.key,) if why.key else (),
        act=f"No {kind} can be made: see page NUMBERS.",
    )
