"""The cover pages: this wedge's section drawn to scale, its angles, and what to measure.

Whoever finds the sheets a month later should learn from the cover alone which wedge they belong
to, which way round the pieces go, and how to prove that they are still true.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from jiggen.drawing.piece import Piece
from jiggen.drawing.table import Setting, Strip, heading, space
from jiggen.errors import say
from jiggen.jigs.cover_details import told_under
from jiggen.jigs.picture import section_picture
from jiggen.jigs.stand import Stand, bit_reach, holes_text, say_at_most, say_short, sliver, stands
from jiggen.solution import Check, Solution
from jiggen.units import say_length

#: Most rows of stations that the cover shows.
MOST_STATIONS = 12
#: Most hole numbers that a sentence lists.
MOST_NUMBERS = 24
ON_FEET = (
    "On a curved skin guides and blocks stand on two feet forward of the hole. Each corner is cut "
    "for where its feet stand, so it differs a little from the fitted angle above. A guide has no "
    "slot for the foot there: hold it upright against a small square."
)
CAUTION = (
    "Eye protection. Clamp the work. Deburr; swarf is sharp. "
    "Where plans, rules or inspector differ, they win."
)
#: What to do with the pages, in order: each step, and the kinds of piece that it is about.
STEPS: tuple[tuple[str, frozenset[str]], ...] = (
    (
        "Measure the bars of each page along x and y, then the diagonals; what they should read "
        "stands beside them. No rule? A bank card laid along a 100 mm bar from its first tick "
        "ends at the tick marked card. Uniform scale does not change a corner, unequal scale does.",
        frozenset(),
    ),
    (
        "Glue to sheet of the thickness that the slots are drawn for. Cut in the grey, then file "
        "to the line until the grey is gone; the line stays.",
        frozenset({"guide", "block", "gauge", "corner", "cradle", "foot"}),
    ),
    (
        "Gauge: a lamp behind it, the wedge in with its TE first. No light in the nominal V is the "
        "true taper; thin shows light at the TE, thick at the mouth, where the wedge is good.",
        frozenset({"gauge"}),
    ),
    (
        "Trim: template flush with the TE, pins through its holes, scribe along the cut; saw "
        "beside the line and file to it.",
        frozenset({"trim"}),
    ),
    (
        "Strip: join the tiles at their crosses, lower edge on the TE; its own page says how.",
        frozenset({"strip"}),
    ),
    (
        "Guide: base on the skin, arrow and high corner FORWARD, one working edge beside the bit, "
        "which is sighted along it. Check along the span too, with a small square or the foot.",
        frozenset({"guide"}),
    ),
    (
        "Corner guide: stop and cheek glued back to back, cross plate over both; the bit rests in "
        "the corner between them.",
        frozenset({"corner"}),
    ),
    (
        "Paper wrap: glue round squared wood, top edge flush; bore down the axis from the top, "
        "then saw the base line: that end sits on the skin, arrow FORWARD.",
        frozenset({"wrap"}),
    ),
    ("Drill scrap first.", frozenset({"guide", "block", "wrap", "corner", "cradle", "strip"})),
)
CAUTIONS = (
    "Eye protection. Clamp the work, never hold it by hand under a drill press; no gloves or loose "
    "clothing there. Deburr; swarf is sharp. Laser: know the material (PVC and other chlorinated "
    "plastics give off toxic and corrosive gas) and never leave a laser alone. These numbers are "
    "shop aids: the plans, the kit or type documents, local rules and the responsible inspector or "
    "licensed mechanic decide; where they differ from this page, they win.",
)


def cover_strips(
    solution: Solution,
    pieces: tuple[Piece, ...],
    checks: tuple[Check, ...],
    setting: Setting,
    *,
    one_a_line: bool = True,
) -> tuple[Strip, ...]:
    """Return what everybody reads of the cover as strips, top first; `detail_strips` go on.

    Args:
        solution: the solved job.
        pieces: all pieces; sizes are told of those on the printed pages.
        checks: shop checks; those that warn or fail are told.
        setting: width of the page's room and size of the type.
        one_a_line: begin a line with each step; else they run on in one paragraph.
    """
    # Kerf concerns the cut files alone: the terminal tells of it.
    told = [c for c in checks if c.status in ("warn", "fail") and c.name != "kerf"]
    # A land that nobody set a limit for is looked at by eye, or by nobody.
    told += [c for c in checks if c.status == "not checked" and c.name == "land" and c.value]
    warnings = [f"{c.status.upper()}  {c.name}: {say(c.why, solution.job.units)}." for c in told]
    steps = _steps(pieces)
    return (
        heading("Drill-angle jigs", 5.0),
        space(0.8),
        *setting.paragraph(_purpose(solution)),
        *_riveting(solution, setting),
        space(1.0),
        *section_picture(solution, setting.width),
        *_angle_table(solution, setting),
        *_guide_table(solution, pieces, setting),
        *told_under("Look at this first", warnings, setting),
        *told_under("How to use these pages", steps if one_a_line else [" ".join(steps)], setting),
        *told_under("Cautions", CAUTIONS, setting),
    )


def _steps(pieces: Sequence[Piece]) -> list[str]:
    """Return the steps that the pieces call for, counted."""
    made = {piece.kind for piece in pieces if piece.for_print}
    wanted = [step for step, kinds in STEPS if not kinds or kinds & made]
    return [f"{number}. {step}" for number, step in enumerate(wanted, start=1)]


def _purpose(solution: Solution) -> str:
    job = solution.job
    words = "Drill square to the chord plane, not to either skin."
    if job.sides != ("side A", "side B"):
        words += f" Side A is {job.sides[0]}, side B is {job.sides[1]}."
    if job.holes is None:
        return words
    words += f" For drill {job.holes.drill_name}, {say_length(job.holes.drill, job.units)}."
    if job.holes.keep_out:
        numbers = ", ".join(str(n) for n in sorted(job.holes.keep_out)[:MOST_NUMBERS])
        more = len(job.holes.keep_out) - MOST_NUMBERS
        words += f" Not drilled now: {numbers}{f' and {more} more' if more > 0 else ''}."
    return words


def _angle_table(solution: Solution, setting: Setting) -> tuple[Strip, ...]:
    job = solution.job
    rows = []
    for s in solution.stations[:MOST_STATIONS]:
        alone = len(solution.stations) == 1
        cells = ["whole length" if alone else say_length(s.at, job.units)]
        for skin, plus_minus in ((s.skin_a, s.plus_minus_a), (s.skin_b, s.plus_minus_b)):
            cells += [
                f"{math.degrees(skin):.2f}°",
                "" if plus_minus is None else f"± {math.degrees(plus_minus):.2f}°",
                f"{90 - math.degrees(skin):.2f}°",
                f"{90 + math.degrees(skin):.2f}°",
            ]
        rows.append(cells)
    head = ["station"]
    for letter in ("A", "B"):
        head += [f"{letter} to chord", "known to", f"forward {letter}", f"aft {letter}"]
    more = len(solution.stations) - MOST_STATIONS
    tail = setting.paragraph(f"and {more} more stations") if more > 0 else ()
    return (heading("Angles between skin and drill axis"), *setting.table(head, rows), *tail)


def _guide_table(
    solution: Solution, pieces: tuple[Piece, ...], setting: Setting
) -> tuple[Strip, ...]:
    job = solution.job
    made = {p.name: p for p in pieces}
    if not any(p.kind in ("guide", "block", "wrap", "corner") for p in pieces):
        return ()
    rows = []
    on_feet = False
    for stand in stands(solution):
        piece = made.get(f"guide-{stand.label}")
        corners = [a.nominal for a in piece.angles] if piece is not None else [stand.angle]
        on_feet = on_feet or (piece is not None and len(corners) == 1)
        rows.append(
            [
                f"{stand.label}  {_side_names(solution, stand)}",
                f"{corners[0]:.2f}°",
                f"{corners[1]:.2f}°" if len(corners) > 1 else "",
                " / ".join(dict.fromkeys(holes_text(solution, g) for g in stand.guides)),
                f"{math.degrees(stand.allowed):.2f}°",
                f"{math.degrees(max(g.worst_angle_error for g in stand.guides)):.2f}°",
                f"{math.degrees(stand.margin):.2f}°",
                say_at_most(sliver(solution, stand), job.units),
            ]
        )
    head = ["guide, skin", "forward", "aft", "for", "may lean", "uses", "leaves", "grey left"]
    return (
        heading("Guide set"),
        *setting.table(head, rows),
        *setting.paragraph(
            f"may lean: what a drift of {say_length(job.allow.drift, job.units)} at the exit "
            "allows the worst hole. uses: of it, where the guide fits least. leaves: for cutting "
            "and drilling. grey left: how wide a rest at one end of a check edge still passes."
            + _bit_words(solution),
        ),
        *(setting.paragraph(ON_FEET) if on_feet else ()),
    )


def _bit_words(solution: Solution) -> str:
    reach = bit_reach(solution, solution.job.guide.edge)
    if reach is None:
        return ""
    said = say_short(reach, solution.job.units)
    return f" The bit must show {said} below the chuck; for a shorter one lessen guide.edge."


def _side_names(solution: Solution, stand: Stand) -> str:
    sides = solution.job.sides
    if stand.side == "ab":
        return f"{sides[0]} and {sides[1]}"
    return sides[0] if stand.side == "a" else sides[1]


def _riveting(solution: Solution, setting: Setting) -> tuple[Strip, ...]:
    """Say what to order and what to set the countersink to; nothing without a rivet."""
    units = solution.job.units
    if not solution.riveting:
        return ()
    return setting.paragraph(
        ". ".join(say(line.brief, units) for line in solution.riveting if line.brief) + "."
    )
