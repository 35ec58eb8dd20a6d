"""What a hole strip says in its title band and in the rows over its holes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from jiggen.drawing.bars import INCH_MM
from jiggen.geometry.frame import Side
from jiggen.jigs.strip_plan import StripPlan, along_face
from jiggen.solution import Solution
from jiggen.units import say_length

#: mm. Places of the hole line that differ by less are told as one.
SAME_LINE = 0.1
#: mm. Holes nearer to one another than this leave no room to say what their rows are.
CROWDED = 14.0
#: mm. The last digit of a place in a file: a millionth of a mm, or of a point, which is less. Both
#: crosses of a tile are rounded by half of it at most, so that its length is off by one
#: such digit.
LAST_DIGIT = 1e-6


def title_words(solution: Solution, side: Side, *, opened: bool) -> tuple[str, ...]:
    """Return what the title band says on every tile, the job's name first.

    Args:
        solution: the solved job, with holes.
        side: the face that the strip lies on.
        opened: whether lightening holes are drawn.
    """
    job = solution.job
    assert job.holes is not None
    name = job.sides[0] if side == "a" else job.sides[1]
    places = 3 if job.units == "in" else 2
    line = say_length(job.holes.line, job.units, places)
    found = {along_face(job.holes.line, hole.angles.skin(side)) for hole in solution.holes}
    low, high = (say_length(mm, job.units, places) for mm in (min(found), max(found)))
    # Where no row has room to say what it is, the title does.
    crowded = all(b - a < CROWDED for a, b in pairwise(job.holes.positions))
    near = max(found) - min(found) < SAME_LINE
    along = high if near else f"{low.split(' ')[0]} to {high}"
    said = [
        job.name,
        f"Lies on {name}: lower edge on the TE, arrow to hole 1.",
        "Measure cross to cross before use. The plans win.",
        f"Drill {job.holes.drill_name}; holes {line} forward, {along} on the skin.",
        f"Over a hole: number, drilling order, {pin_words(job.sides)}." if crowded else "",
        "Hatched and crossed out: not drilled now." if job.holes.keep_out else "",
        "Dashed circles: lightening holes." if opened else "",
    ]
    return tuple(text for text in said if text)


def pin_words(sides: Sequence[str]) -> str:
    """Return which sides the pins' letters are.

    Args:
        sides: what the job calls its sides.
    """
    return f"pin from: A {sides[0]}, B {sides[1]}"


def ending_words(plan: StripPlan, crosses: tuple[float, float]) -> tuple[tuple[str, str], ...]:
    """Return what the last tile says of the whole strip's length and of an error in its scale.

    Args:
        plan: what the strip shows.
        crosses: the first and the last place of the whole strip's crosses, mm.

    Returns:
        Each sentence, and the same in brief for a short tile.
    """
    long = crosses[1] - crosses[0]
    at, units = plan.holes_at, plan.units
    one = 1.0 if units == "mm" else INCH_MM / 32.0
    said = "1 mm" if units == "mm" else "1/32 in"
    each = (at[-1] - at[0]) / max(len(at) - 1, 1) * one / long
    share = say_length(each, units, 4)
    both = (f"{long:.2f} mm", f"{long / INCH_MM:.3f} in")
    whole = ", ".join(both if units == "mm" else reversed(both))
    return (
        (f"First cross to last: {whole}.", f"First to last: {whole.split(', ')[0]}."),
        (f"{said} off: {share} at each pitch.", f"{said} off: {share} a pitch."),
    )


def rounding_words(count: int, units: str) -> tuple[str, str]:
    """Return what the rounding of all tiles' lengths in a file adds up to at most.

    Args:
        count: of the tiles that are joined.
        units: ``mm`` or ``in``.

    Returns:
        The sentence, and the same in brief for a short tile.

    Source: derived: every tile's length is off by the last digit of a place at most.
    """
    places = 6 if units == "mm" else 7
    digit = 10.0**-places * (1.0 if units == "mm" else INCH_MM)
    most = math.ceil(count * LAST_DIGIT / digit - 1e-6) * digit
    joined = "1 tile" if count == 1 else f"{count} tiles"
    told = say_length(most, units, places)
    return f"Rounding, {joined}: {told} max.", f"Rounding: {told} max."
