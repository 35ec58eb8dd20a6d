"""The two trim templates of a job: the ends of the part as the best placement cuts them.

Holes are drawn where they lie on the face, so distances forward of the trailing edge are longer
than in the chord plane by 1 / cos(skin angle) of the face at the hole itself; the front is drawn as
it is at the cut. Side A is seen from outside with forward up: the end that the job counts from then
lies to the right, or to the left where the job says so.
"""

from __future__ import annotations

from jiggen.drawing.piece import Piece
from jiggen.errors import DoesNotFit
from jiggen.facts.rules import THIN_METAL
from jiggen.geometry.trim import Cut, Placement, TrimPlan
from jiggen.jigs.stand import hole_1_left, say_short
from jiggen.jigs.strip_plan import along_face
from jiggen.jigs.trim import build_trim
from jiggen.jigs.trim_end import EndHole, TrimEnd
from jiggen.jigs.trim_lettering import TrimLabels
from jiggen.solution import Solution


def trim_pieces(solution: Solution) -> list[Piece]:
    """Return the templates of both ends; none where no shift lines the holes up.

    Args:
        solution: the solved job.

    Raises:
        DoesNotFit: the job has no stock.
    """
    plan = solution.trim
    if plan is None:
        raise DoesNotFit(
            "the trim templates need the stock that the part is cut from",
            key="stock",
            given="none",
            remedy="state [stock] with length, trim and its holes",
        )
    best = plan.best
    if best is None:
        return []
    return [
        build_trim(
            f"trim-{cut.end}",
            _end(solution, plan, best, cut),
            _labels(solution, plan, best, cut),
            cut_right=(cut is best.cuts[0]) != hole_1_left(solution.job),
            sloped=cut is best.cuts[0],
        )
        for cut in best.cuts
    ]


def _end(solution: Solution, plan: TrimPlan, best: Placement, cut: Cut) -> TrimEnd:
    """Return what lies near a cut, along the face of side A."""
    part = plan.part
    first = cut is best.cuts[0]
    inward = 1.0 if first else -1.0
    rivets = [
        EndHole(
            inward=(at - cut.at) * inward,
            forward=along_face(part.line, solution.skin_at(at, "a")),
            radius=part.drill / 2.0,
            number=number,
            sound=number not in best.opened,
        )
        for number, at in enumerate(part.holes, start=1)
    ]
    lightening = [
        EndHole(
            inward=(hole.at - cut.at) * inward,
            forward=along_face(hole.line, solution.skin_at(hole.at, "a")),
            radius=hole.radius,
        )
        for hole in best.lightening
    ]
    half_holes = [
        EndHole(
            inward=(at - cut.at) * inward,
            forward=along_face(part.line, solution.skin_at(at, "a")),
            radius=part.drill / 2.0,
            sound=False,
        )
        for at in cut.half_holes
    ]
    return TrimEnd(
        rivets=tuple(sorted(rivets, key=lambda hole: hole.inward)),
        lightening=tuple(sorted(lightening, key=lambda hole: hole.inward)),
        depth=None if part.depth is None else along_face(part.depth, solution.skin_at(cut.at, "a")),
        fairing=part.fairing[0 if first else 1],
        waste=cut.left,
        half_holes=tuple(half_holes),
    )


def _labels(solution: Solution, plan: TrimPlan, best: Placement, cut: Cut) -> TrimLabels:
    job, units = solution.job, solution.job.units
    fairing = plan.part.fairing[0 if cut is best.cuts[0] else 1]
    hand = "left" if hole_1_left(job) else "right"
    way = "turned end for end" if best.turned else "not turned"
    lines = [
        f"FORWARD away from you: hole 1 at your {hand};",
        # Whoever counts from the other end sees a mirror image: the piece then lies face down.
        "if it is not, turn this over, face down",
        "TE edge flush, scribe along the edge marked CUT",
        f"cut {say_short(cut.on_stock, units)} from the stock's zero end, {way}",
        *_passes(best, cut, plan.part.depth, units),
    ]
    if cut.nearest is not None:
        metal, to = cut.nearest.metal, cut.nearest.to
        lines.append(
            f"hole {cut.nearest.number}: {say_short(metal, units)} of metal to the {to}"
            if metal > 0.0
            else f"hole {cut.nearest.number} runs into the {to}"
        )
    if plan.part.holes and not plan.stock.holes:
        lines.append("undrilled stock: drill it through the skins first")
    lay = f"on {job.sides[0]}, this face up" + (
        ", pins through its holes" if plan.part.holes else ""
    )
    return TrimLabels(
        title=f"Trim {cut.end}",
        place=f"at {say_short(cut.at, units)}",
        job=job.name,
        lay=lay,
        lines=tuple(lines),
        fairing=say_short(fairing, units) if fairing > 0.0 else "",
        waste="waste" if cut.left > 0.0 else "",
        side_letter="a",
        notes=(
            f"lies on {job.sides[0]}, lettered face up; clamp the wedge, saw beside the line, file "
            "to it, deburr",
        ),
    )


def _passes(best: Placement, cut: Cut, depth: float | None, units: str) -> list[str]:
    """Say what the cut passes, and how near it comes to what it does not."""
    said = [
        f"notch {say_short(n.widest, units)} wide, {say_short(n.depth, units)} deep, "
        + ("hidden" if n.hidden else "in sight")
        for n in cut.notches
    ]
    said += ["the cut passes a rivet hole of the stock" for _ in cut.half_holes]
    metal = best.to_lightening(cut, depth)
    if metal is not None and metal < THIN_METAL:
        return [*said, f"THIN: lightening hole {say_short(metal, units)} from the cut"]
    return said or ["the cut passes no lightening hole"]
