"""The pieces of a job's cradles, and what is said about each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from jiggen.drawing.page import page_room
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds
from jiggen.errors import DoesNotFit, refuse_together
from jiggen.jigs.cradle import CradleLabels, CradleSizes, low_fence
from jiggen.jigs.cradle_layers import build_layers
from jiggen.jigs.cradle_ribs import build_ribs
from jiggen.jigs.cradle_set import (
    SIDES,
    Cradle,
    common_sizes,
    cradles,
    enough_error,
    hole_line,
    lying,
)
from jiggen.jigs.stand import say_short
from jiggen.job import sections
from jiggen.solution import Check, Solution
from jiggen.units import joined, say_size, words

#: Radians. A lean that would be told as 0.00 deg is told as none.
LEAST_SAID = math.radians(0.005)
HOW_BUILT = {
    "ribs": "Build: ribs into the base plate, fence down over the ribs, seat plate last; all ribs "
    "of one cradle are alike. Glue it on a flat, each rib held to a square.",
    "layers": "Build: layers face to face on two {dowel} dowels, post layers at both ends, all "
    "bases on one flat while the glue sets.",
}
HOW_USED = (
    "Use: clamp the cradle to the table and the wedge to both ends, hole over the slot, never held "
    "by hand. A level on the wedge's chord line tells whether all is well: then scrap first. A "
    "cradle with a clipped corner is for side A down; its notches count its number."
)
SOURCE = "derived: the lying face's two slopes against a straight seat"
#: mm. A cradle that is off by more does not go together.
LENGTH_ERROR = 0.3


def cradle_pieces(solution: Solution) -> list[Piece]:
    """Return the cradles of a job.

    Args:
        solution: the solved job.

    Returns:
        For each cradle its rib, seat plate, fence and base plate, or its layers.

    Raises:
        DoesNotFit: no holes, a curved skin, a taper or a lean beyond the allowed error, or sizes
            that leave no cradle.
    """
    try:
        found = cradles(solution)
    except DoesNotFit as twisted:
        refuse_together([twisted, *_refused_next(solution, twisted)])
        raise
    built = _built(solution, found)
    return [
        replace(
            piece,
            notes=(*(_notes(solution, cradle) if number == 0 else ()), *piece.notes),
            allowed_angle=math.degrees(cradle.margin) if piece.angles else None,
            allowed_length=LENGTH_ERROR,
            for_print=piece.for_print and _fits_paper(solution, piece),
        )
        for cradle in found
        for number, piece in enumerate(built[cradle.label])
    ]


def _built(solution: Solution, found: Sequence[Cradle]) -> dict[str, tuple[Piece, ...]]:
    """Return the pieces of each cradle by its label; what refuses them is told all at once."""
    asked = solution.job.cradle or sections.Cradle()
    build = build_ribs if asked.build == "ribs" else build_layers
    built: dict[str, tuple[Piece, ...]] = {}
    refused: dict[str, DoesNotFit] = {}
    # The steepest first: what is said to be enough for it is enough for all.
    for cradle in sorted(found, key=lambda one: -abs(one.seat)):
        name = f"cradle-{cradle.label}"
        try:
            built[cradle.label] = build(name, _sizes(solution, cradle), _labels(solution, cradle))
        except DoesNotFit as trouble:
            for one in (trouble, *trouble.others):
                refused.setdefault(one.key, one)
            trouble.others = ()
    refuse_together(list(refused.values()))
    return built


def _refused_next(solution: Solution, twisted: DoesNotFit) -> tuple[DoesNotFit, ...]:
    """Return what would be refused once the face is allowed its twist: it is told with it."""
    if twisted.key not in ("cradle.holes", "cradle.error"):
        return ()
    asked = solution.job.cradle or sections.Cradle()
    allowed = replace(asked, error=enough_error(solution))
    then = replace(solution, job=replace(solution.job, cradle=allowed))
    try:
        _built(then, cradles(then))
    except DoesNotFit as trouble:
        return (trouble, *trouble.others)
    return ()


def cradle_checks(solution: Solution) -> tuple[Check, ...]:
    """Return how level the cradles hold the chord plane, for each face that lies down.

    Args:
        solution: the solved job.

    Returns:
        One check a cradle, or that there can be none; empty where the job does not ask for them.
    """
    asked = solution.job.cradle
    if asked is None:
        return ()
    try:
        found = cradles(solution)
    except DoesNotFit as trouble:
        return (
            Check(
                id="cradle",
                name="cradle",
                status="fail",
                why=joined(
                    [
                        trouble.problem,
                        words("{remedy} ({key})", remedy=trouble.remedy, key=trouble.key),
                    ]
                ),
                source=SOURCE,
            ),
        )
    return tuple(
        Check(
            id=f"cradle-level-{cradle.label}",
            name=f"cradle {cradle.label}, chord plane level",
            status="ok",
            value=math.degrees(cradle.worst),
            limit=math.degrees(asked.error),
            unit="deg",
            why="; ".join(_notes(solution, cradle)[1:]),
            source=SOURCE,
        )
        for cradle in found
    )


def _sizes(solution: Solution, cradle: Cradle) -> CradleSizes:
    asked, holes = solution.job.cradle or sections.Cradle(), hole_line(solution)
    low = low_fence(holes.line, asked.stop, cradle.upper, asked.fence)
    return replace(common_sizes(solution, asked, holes), seat=cradle.seat, low=low)


def _labels(solution: Solution, cradle: Cradle) -> CradleLabels:
    each = max(last - first + 1 for first, last in cradle.stands)
    at_a_time = f", {each} at a time" if len(cradle.stands) > 1 else ""
    return CradleLabels(
        title=f"Cradle {cradle.label}",
        number=cradle.number,
        job=solution.job.name,
        down=lying(solution, cradle.side),
        holes=_range(cradle) + at_a_time,
        mirrored=cradle.side == "a",
        side=cradle.side,
    )


def _range(cradle: Cradle) -> str:
    first, last = cradle.stands[0][0], cradle.stands[-1][1]
    return f"hole {first}" if first == last else f"holes {first}-{last}"


def _notes(solution: Solution, cradle: Cradle) -> tuple[str, ...]:
    """Return the sentences about a cradle: which skin, how far it serves, how level."""
    asked, holes = solution.job.cradle or sections.Cradle(), hole_line(solution)
    first, last = cradle.stands[0][0], cradle.stands[-1][1]
    stretch = holes.positions[last - 1] - holes.positions[first - 1]
    lean = (
        "the lean along the edge is not known and taken as none (wedge.rear_thickness would tell)"
        if cradle.lean is None
        else f"the face's lean of {math.degrees(cradle.lean):.2f}° along the edge taken in"
        if cradle.lean >= LEAST_SAID
        else "the face does not lean along the edge"
    )
    places = [str(a) if a == b else f"{a}-{b}" for a, b in cradle.stands]
    turn = (
        "; turned over end for end, with the TE still to the fence, the wedge lies on its other "
        "skin on the same cradle"
        if cradle.side == "ab"
        else ""
    )
    return (
        f"{lying(solution, cradle.side)} skin DOWN, TE to the fence{turn}",
        f"serves {_range(cradle)}, {say_short(stretch, solution.job.units)} of the edge, standing "
        f"at {', '.join(places)}",
        f"chord plane off level by {math.degrees(cradle.worst):.2f}° at most, "
        f"{math.degrees(asked.error):.2f}° allowed, {lean}",
    )


def cradle_words(solution: Solution, pieces: Sequence[Piece]) -> tuple[str, ...]:
    """Return what the cover says of the cradles: each one's use, then how to build and to use them.

    Args:
        solution: the solved job.
        pieces: all pieces of the job.

    Returns:
        Paragraphs; none where no piece is of a cradle.
    """
    made = [piece for piece in pieces if piece.kind == "cradle"]
    if not made:
        return ()
    words = [
        f"Cradle {cradle.label}, seat {math.degrees(cradle.seat):.2f}°: "
        + "; ".join(_notes(solution, cradle))
        + "."
        for cradle in cradles(solution)
        if any(piece.name.startswith(f"cradle-{cradle.label}-") for piece in made)
    ]
    asked = solution.job.cradle or sections.Cradle()
    dowel = say_size(solution.job.block.dowel, solution.job.units)
    missing = {"a", "b"} - {side for cradle in cradles(solution) for side in cradle.side}
    words += [
        f"With the {lying(solution, side)} face down the wedge lies level on the bare table: it "
        "needs no cradle, only clamps and a hole under the pilot."
        for side in SIDES
        if side in missing
    ]
    if not any(piece.for_print for piece in made):
        words.append("The cradle's layers are in the cut files only.")
    return (*words, HOW_BUILT[asked.build].format(dowel=dowel), HOW_USED)


def _fits_paper(solution: Solution, piece: Piece) -> bool:
    """Return whether a piece fits a page; a larger one is cut from its file."""
    room = page_room(*solution.job.print.paper, solution.job.print.margin)
    return _goes_in(piece.bounds(), room)


def _goes_in(box: Bounds, room: Bounds) -> bool:
    return (box.width <= room.width and box.height <= room.height) or (
        box.height <= room.width and box.width <= room.height
    )
