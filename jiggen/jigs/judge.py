"""Shop checks that only the jigs can make: bore tilt, room for cutting."""

from __future__ import annotations

import math

from jiggen.jigs.lamination import bore_play, bore_tilt, laminate
from jiggen.jigs.profile import BlockSizes
from jiggen.jigs.stand import block_sizes, blocks_stand, stands
from jiggen.solution import Check, Solution
from jiggen.units import say_length

#: Radians. With less left for cutting, a guide by hand is luck.
LEAST_MARGIN = math.radians(0.2)


def bore_checks(solution: Solution) -> tuple[Check, ...]:
    """Return a check of the tilt that each block's bore permits.

    Args:
        solution: the solved job.

    Returns:
        One check a block; a warning says which length or sheet would do.

    Source: atan(clearance / length), see `jiggen.jigs.block.bore_tilt`.
    """
    job = solution.job
    if job.holes is None:
        return ()
    sizes = block_sizes(solution)
    layers = laminate(sizes.bore, sizes.stock, sizes.fit)
    play = bore_play(layers, job.holes.drill, sizes.inside)
    tilt = bore_tilt(play, sizes.height)
    checks = []
    for stand in stands(solution):
        limit = stand.margin
        good = tilt <= limit
        why = (
            f"the bit may shift {say_length(play, job.units)} in a bore "
            f"{say_length(sizes.height, job.units)} long; the holes allow "
            f"{math.degrees(stand.allowed):.2f} deg, and this range of holes leaves "
            f"{math.degrees(stand.margin):.2f} of it"
        )
        if not good:
            why += "; " + _bore_remedy(solution, sizes, play, limit)
        checks.append(
            Check(
                id=f"bore-tilt-{stand.label}",
                name=f"bore tilt, block {stand.label}",
                status="ok" if good else "warn",
                value=math.degrees(tilt),
                limit=math.degrees(limit),
                unit="deg",
                why=why,
                source="derived: atan(clearance / length)",
            )
        )
    return tuple(checks)


def skin_checks(solution: Solution) -> tuple[Check, ...]:
    """Return what the skin does to guides and blocks: curvature, and room for cutting."""
    job = solution.job
    checks = []
    if job.holes is not None and not blocks_stand(solution):
        checks.append(
            Check(
                id="wraps",
                name="wraps",
                status="warn",
                why="no paper wraps are drawn: the skin is curved and a sawn flat base would rock "
                "on it; the guides and the sheet blocks stand on two feet",
                source="common practice, no published source",
            )
        )
    for stand in stands(solution):
        if stand.margin < LEAST_MARGIN:
            checks.append(
                Check(
                    id=f"room-for-cutting-{stand.label}",
                    name=f"room for cutting, guide {stand.label}",
                    status="warn",
                    value=math.degrees(stand.margin),
                    limit=math.degrees(LEAST_MARGIN),
                    unit="deg",
                    why="its range of holes uses nearly all of the allowed error and leaves this "
                    "for cutting and drilling; a smaller allow.drift makes more guides, each with "
                    "a shorter range, nearer to its holes",
                    source="common practice, no published source",
                )
            )
    return tuple(checks)


def _bore_remedy(solution: Solution, sizes: BlockSizes, play: float, limit: float) -> str:
    """Say which length of bore, or which sheet, keeps the tilt within `limit`."""
    units = solution.job.units
    ways = []
    if limit > 0.0:
        length = math.ceil(play / math.tan(limit))
        if length <= 150:
            ways.append(f"block.height = {say_length(length, units, 0 if units == 'mm' else 2)}")
        thin = sizes.bore / max(round(sizes.bore / sizes.stock), 1)
        better = laminate(sizes.bore, thin, sizes.fit)
        drill = solution.job.holes.drill if solution.job.holes is not None else sizes.bore
        if bore_tilt(bore_play(better, drill, sizes.inside), sizes.height) <= limit:
            ways.append(f"sheet {say_length(thin, units)} thick")
    if sizes.inside is None:
        ways.append("a bushing: give its block.bore and block.inside")
    if not ways:
        ways.append("a longer bore with less play, or a larger allow.drift")
    return "would do: " + ", or ".join(ways)
