"""The trim plan as a table, as sentences with the reason for each rank, and as JSON.

Lengths are said in the job's units; JSON is always mm, unrounded.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from msgspec.structs import asdict

from jiggen.errors import Sentence, say
from jiggen.geometry.trim import Cut, Notch, Placement, TrimPlan
from jiggen.report.tables import bare_length
from jiggen.report.terminal import ruled_table
from jiggen.shop.trim_checks import (
    ligaments,
    said_half_holes,
    said_holes,
    said_metal,
    thin_metal,
)
from jiggen.units import fine, say_length, span, words


def trim_parts(plan: TrimPlan, units: str) -> list[object]:
    """Return the trim plan for the terminal: the answer, a table, and the reason for each rank."""
    parts: list[object] = [f"{trim_answer(plan, units)} {_sentence(plan.turning)}"]
    if not plan.placements:
        return parts
    return [
        *parts,
        _table(plan.placements, units),
        *(
            f"{rank}. {_sentence('; '.join(say(reason, units) for reason in reasons(one, plan)))}"
            for rank, one in enumerate(plan.placements, start=1)
        ),
    ]


def _table(shown: Sequence[Placement], units: str) -> object:
    table = ruled_table(
        "no.",
        "way round",
        "start\nof stock at",
        "holes off",
        "end",
        "cut at,\non the stock",
        "left over",
        "notch, wide\nand deep",
        "metal to\nnearest hole",
        left=2,
    )
    for rank, one in enumerate(shown, start=1):
        first = [
            str(rank),
            "turned" if one.turned else "not turned",
            bare_length(one.shift, units),
            bare_length(one.offset, units),
        ]
        for cut in one.cuts:
            table.add_row(*first, *_cut_cells(cut, units))
            first = [""] * len(first)
    return table


def _sentence(said: str) -> str:
    return f"{said[:1].upper()}{said[1:]}." if said else ""


def _cut_cells(cut: Cut, units: str) -> list[str]:
    near = cut.nearest
    return [
        cut.end,
        bare_length(cut.on_stock, units),
        bare_length(cut.left, units),
        "; ".join(
            [
                *(
                    f"{bare_length(n.widest, units)} x {bare_length(n.depth, units)}"
                    for n in cut.notches
                ),
                *("half a rivet hole" for _ in cut.half_holes),
            ]
        )
        or "none",
        "-" if near is None else f"{bare_length(max(near.metal, 0.0), units)}, hole {near.number}",
    ]


def trim_answer(plan: TrimPlan, units: str) -> str:
    """Return what the plan comes to, in a sentence or two."""
    best = plan.best
    if plan.unknown:
        return f"No plan: {plan.unknown}."
    if best is None:
        return "No shift lines the stock up with the skins; the checks below say how near it comes."
    way = "end for end" if best.turned else "not turned"
    where = (
        f"Lay the stock {way}, its start at {say_length(best.shift, units)}, and cut it "
        f"{say_length(best.cuts[0].on_stock, units)} and "
        f"{say_length(best.cuts[1].on_stock, units)} from its own zero end."
    )
    if best.notches and all(one.notches for one in plan.placements):
        return f"No shift avoids the notch. {where}"
    return where


def reasons(one: Placement, plan: TrimPlan) -> list[Sentence]:
    """Return what speaks for and against a placement, the worst first.

    Plain clauses, without a full stop.
    """
    part = plan.part
    said: list[Sentence] = []
    if one.opened:
        said.append(f"{said_holes(one.opened)} will not hold a rivet: no metal to an edge")
    tight = [n for n in one.under_least if n not in one.opened]
    if tight:
        said.append(f"{said_holes(tight)} nearer to an edge than {part.least:g} {part.called}")
    said += [_notch_words(cut, notch) for cut in one.cuts for notch in cut.notches]
    said += said_half_holes(one, part)
    if one.spare:
        said.append(f"{len(one.spare)} of the stock's holes in the part to no use")
    wanting = [n for n in one.under_usual if n not in one.under_least]
    if wanting:
        said.append(
            f"{said_holes(wanting)} nearer to an edge than the {part.usual:g} {part.called} that "
            "countersunk rivets want"
        )
    if not one.notches:
        said.append("no cut passes a lightening hole")
    said += [
        words(
            "only {metal} of metal between the cut at the {end} and a lightening hole",
            metal=fine(metal),
            end=cut.end,
        )
        for metal, cut in thin_metal(plan, one)
    ]
    known = ligaments(one)
    if known and not one.opened:
        metal = said_metal(known[0], part)
        said.append(words("hole {n} {metal}", n=known[0].number, metal=metal))
    if one.window[1] - one.window[0] > 0.0 and one.offset is None:
        said.append(words("the same from {window}", window=span(one.window)))
    return said


def _notch_words(cut: Cut, notch: Notch) -> Sentence:
    return words(
        "a notch at the {end}, {wide} wide and {deep} deep, {hidden}, {behind} of metal behind it"
        "{open}",
        end=cut.end,
        wide=fine(notch.widest),
        deep=fine(notch.depth),
        hidden="hidden by the fairing" if notch.hidden else "that no fairing hides",
        behind=fine(notch.behind),
        open=", open to the front" if notch.open_front else "",
    )


def trim_as_json(plan: TrimPlan | None, units: str) -> dict[str, Any] | None:
    """Return the trim plan ready for JSON.

    Lengths in mm, full double precision; None where the job has no stock. `units` are for the
    reasons.
    """
    if plan is None:
        return None
    closest = plan.closest
    return {
        "match": plan.match,
        "turning": plan.turning,
        "unknown": plan.unknown or None,
        "short_of_trim": plan.short,
        "closest": None if closest is None else {"holes": closest[0], "shift": closest[1]},
        "placements": [_placement_as_json(one, plan, units) for one in plan.placements],
    }


def _placement_as_json(one: Placement, plan: TrimPlan, units: str) -> dict[str, Any]:
    return {
        "shift": one.shift,
        "window": list(one.window),
        "turned": one.turned,
        "worst_offset": one.offset,
        "spare_holes": list(one.spare),
        "cuts": [
            {
                "end": cut.end,
                "at": cut.at,
                "on_stock": cut.on_stock,
                "left_over": cut.left,
                "notches": [_notch_as_json(notch) for notch in cut.notches],
                "half_holes": list(cut.half_holes),
                "nearest_hole": None if cut.nearest is None else asdict(cut.nearest),
            }
            for cut in one.cuts
        ],
        "nearest_to_lightening": None if one.inner is None else asdict(one.inner),
        "opened_holes": list(one.opened),
        "holes_under_least": list(one.under_least),
        "holes_under_usual": list(one.under_usual),
        "reasons": [say(reason, units) for reason in reasons(one, plan)],
    }


def _notch_as_json(notch: Notch) -> dict[str, Any]:
    return {
        "lightening_hole_at": notch.hole.at,
        "width": notch.widest,
        "depth": notch.depth,
        "metal_behind": notch.behind,
        "open_to_front": notch.open_front,
        "hidden": notch.hidden,
    }
