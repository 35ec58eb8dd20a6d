"""The cover pages: this wedge's section drawn to scale, its angles, and what to measure.

Whoever finds the sheets a month later should learn from the cover alone which wedge they belong
to, which way round the pieces go, and how to prove that they are still true.
"""

from __future__ import annotations

import math

from jiggen.drawing.piece import Piece
from jiggen.drawing.table import Strip, heading, paragraph, space, table
from jiggen.jigs.picture import section_picture
from jiggen.jigs.stand import Stand, holes_text, sliver, stands
from jiggen.solution import Check, Solution
from jiggen.units import say_length

#: Most rows of stations that the cover shows.
MOST_STATIONS = 12
ON_FEET = (
    "On a curved skin a guide stands on two feet, forward of the hole only. Its corner is cut for "
    "where they stand, so it may differ from the fitted angle above."
)
CAUTION = (
    "Eye protection. Clamp the work. Deburr; swarf is sharp. "
    "Where plans, rules or inspector differ, they win."
)
STEPS = (
    "1. Measure the bars of each page along x and y, then the diagonals. Uniform scale does not "
    "change a corner, unequal scale does.",
    "2. Glue to card or thin ply. Cut on the hairline: the grey band is waste and must be gone, "
    "the line must stay.",
    "3. Measure the piece over its lettered corners and compare. 4. Base on the skin, high corner "
    "FORWARD, sight the bit along the edge. 5. Drill scrap first.",
)
CAUTIONS = (
    "Eye protection. Clamp the work, never hold it by hand under a drill press; no gloves or loose "
    "clothing there. Deburr; swarf is sharp. Laser: know the material (PVC and other chlorinated "
    "plastics give off toxic and corrosive gas) and never leave a laser alone. These numbers are "
    "shop aids: the plans, the kit or type documents, local rules and the responsible inspector or "
    "licensed mechanic decide; where they differ from this page, they win.",
)


def cover_strips(
    solution: Solution, pieces: tuple[Piece, ...], checks: tuple[Check, ...], width: float
) -> tuple[Strip, ...]:
    """Return the cover as strips, top first.

    Args:
        solution: the solved job.
        pieces: those on the printed pages.
        checks: shop checks; those that warn or fail are told.
        width: of the page's room, mm.
    """
    job = solution.job
    strips: list[Strip] = [
        heading("Drill-angle jigs", 5.0),
        *paragraph(
            "Drill square to the chord plane, not to either skin. "
            f"Side A is {job.sides[0]}, side B is {job.sides[1]}.",
            width,
        ),
        space(2.0),
        *section_picture(solution, width),
        *_angle_table(solution, width),
        *_guide_table(solution, pieces, width),
        *_size_tables(solution, pieces, width),
    ]
    # Kerf concerns the cut files alone: the terminal tells of it.
    told = [c for c in checks if c.status in ("warn", "fail") and c.name != "kerf"]
    if told:
        strips.append(heading("Look at this first"))
        for check in told:
            strips += paragraph(f"{check.status.upper()}  {check.name}: {check.why}.", width)
    strips.append(heading("How to use these pages"))
    for step in STEPS:
        strips += paragraph(step, width)
    strips.append(heading("Cautions"))
    for caution in CAUTIONS:
        strips += paragraph(caution, width)
    return tuple(strips)


def _angle_table(solution: Solution, width: float) -> tuple[Strip, ...]:
    job = solution.job
    rows = []
    for s in solution.stations[:MOST_STATIONS]:
        cells = [say_length(s.at, job.units)]
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
        head += [f"skin {letter}", "", f"forward {letter}", f"aft {letter}"]
    more = len(solution.stations) - MOST_STATIONS
    tail = paragraph(f"and {more} more stations", width) if more > 0 else ()
    return (heading("Angles between skin and drill axis"), *table(head, rows, width), *tail)


def _guide_table(solution: Solution, pieces: tuple[Piece, ...], width: float) -> tuple[Strip, ...]:
    job = solution.job
    made = {p.name: p for p in pieces}
    rows = []
    on_feet = False
    for stand in stands(solution):
        piece = made.get(f"guide-{stand.label}")
        corners = [a.nominal for a in piece.angles] if piece is not None else [stand.angle]
        on_feet = on_feet or len(corners) == 1
        rows.append(
            [
                f"{stand.label}  {_side_names(solution, stand)}",
                f"{corners[0]:.2f}°",
                f"{corners[1]:.2f}°" if len(corners) > 1 else "",
                " / ".join(dict.fromkeys(holes_text(solution, g) for g in stand.guides)),
                f"{math.degrees(max(g.worst_angle_error for g in stand.guides)):.2f}°",
                _worst_drift(solution, stand),
                f"{math.degrees(stand.margin):.2f}°",
                say_length(sliver(solution, stand), job.units, 3 if job.units == "in" else 1),
            ]
        )
    head = ["guide, skin", "forward", "aft", "for", "off by", "drift", "left", "sliver"]
    return (
        heading("Guide set"),
        *table(head, rows, width),
        *paragraph(
            "off by, drift: at the hole that the guide fits least. left: what its holes leave for "
            "cutting. sliver: how wide a rest of grey at one end of a check edge still passes.",
            width,
        ),
        *(paragraph(ON_FEET, width) if on_feet else ()),
    )


def _side_names(solution: Solution, stand: Stand) -> str:
    sides = solution.job.sides
    if stand.side == "ab":
        return f"{sides[0]} and {sides[1]}"
    return sides[0] if stand.side == "a" else sides[1]


def _worst_drift(solution: Solution, stand: Stand) -> str:
    drifts = [g.worst_drift for g in stand.guides if g.worst_drift is not None]
    return say_length(max(drifts), solution.job.units) if drifts else ""


def _size_tables(solution: Solution, pieces: tuple[Piece, ...], width: float) -> tuple[Strip, ...]:
    """Return tables of what a calliper should read on the finished pieces, one a kind of size."""
    units = solution.job.units
    groups: dict[tuple[str, ...], list[Piece]] = {}
    for piece in pieces:
        names = tuple(d.name for d in piece.dimensions if not d.is_bar)
        if names and piece.kind != "foot":
            groups.setdefault(names, []).append(piece)
    if not groups:
        return ()
    strips: list[Strip] = [heading(f"What a calliper should read on the cut piece, {units}")]
    for names, some in groups.items():
        rows = []
        for piece in some:
            sizes = [d for d in piece.dimensions if not d.is_bar]
            rows.append(
                [
                    piece.title,
                    *(say_length(d.nominal, units).removesuffix(f" {units}") for d in sizes),
                ]
            )
        strips += table(["piece", *names], rows, width)
        strips.append(space(1.6))
    return tuple(strips)
