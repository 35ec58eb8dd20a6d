"""What to say of a cut that runs through one of the stock's own rivet holes.

The part then ends in half a hole: no rivet fills it, a crack may start at it, and the metal to the
nearest rivet is less than the cut alone would leave.
"""

from __future__ import annotations

from jiggen.geometry.trim import Cut, Part, Placement, TrimPlan
from jiggen.solution import Check
from jiggen.units import say_length


def half_hole_depth(cut: Cut, at: float, part: Part) -> float:
    """Return how far half a hole goes into the part along the edge, mm.

    Args:
        cut: that passes it.
        at: its middle along the part, mm.
        part: what is cut.

    Source: definition: the hole's radius, more by what its middle lies inward of the cut.
    """
    inward = 1.0 if cut.at == part.trim[0] else -1.0
    return part.drill / 2.0 + (at - cut.at) * inward


def said_half_holes(one: Placement, part: Part, units: str) -> list[str]:
    """Return a clause for each rivet hole of the stock that a cut passes.

    Args:
        one: a placement.
        part: what is cut.
        units: the job's, ``mm`` or ``in``.
    """
    return [
        f"the cut at the {cut.end} passes a rivet hole of the stock and leaves "
        f"{say_length(half_hole_depth(cut, at, part), units)} of it in the part's end"
        for cut in one.cuts
        for at in cut.half_holes
    ]


def half_hole_checks(plan: TrimPlan, best: Placement, units: str) -> list[Check]:
    """Warn where the best placement leaves half a rivet hole in an end of the part.

    Args:
        plan: the whole.
        best: its best placement.
        units: the job's, ``mm`` or ``in``.

    Returns:
        One check, or none where no cut passes such a hole.

    Source: common practice, no published source.
    """
    said = said_half_holes(best, plan.part, units)
    if not said:
        return []
    deepest = max(half_hole_depth(cut, at, plan.part) for cut in best.cuts for at in cut.half_holes)
    avoided = any(not one.half_holes for one in plan.placements)
    why = "a shift without one is worse otherwise" if avoided else "no shift avoids it"
    return [
        Check(
            name="trim, half hole",
            status="warn",
            value=deepest,
            limit=None,
            unit="mm",
            why=f"{'; '.join(said)}; {why}: move the trim line clear of the hole, or dress its "
            "edges smooth and fill it",
            source="common practice, no published source",
        )
    ]
