"""What ``jiggen angles`` prints: the verdict, the guides, what to buy; and with ``--all`` the rest.

Lengths are said in the job's units, angles in degrees.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from jiggen.errors import say
from jiggen.report.tables import (
    check_rows,
    guides_table,
    holes_table,
    limits,
    number_rows,
    order_sentence,
    stations_table,
    tally,
    tick_list,
)
from jiggen.report.terminal import Terminal, harmless, heading, printed
from jiggen.solution import Band, GuideResult, Solution, band_of
from jiggen.units import Length

#: Sentences of the verdict, and guides, that the short answer has room for.
SENTENCES, GUIDES = 3, 12
SIDE_SHOWN = 10  # letters of a side's name that leave room for several holes in a line to tick off


def angles_text(
    solution: Solution, terminal: Terminal, *, file: str = "", every: bool = False
) -> str:
    """Return the report of ``jiggen angles``: every number, or the answer in 25 lines at most.

    The job file is named as the user gave it.
    """
    if every:
        return printed(_everything(solution, terminal), terminal)
    job = solution.job
    lines = band_lines(band_of(solution.checks), job.name, job.units)
    lines += ["", *_guides(solution, terminal), *_setting(solution)]
    left = len(solution.checks) + len(solution.numbers) + len(solution.holes) + len(solution.limits)
    lines += ["", f"{left} numbers more: jiggen angles {file or 'JOB'} --all"]
    return "".join(f"{harmless(line)}\n" for line in lines)


def band_lines(band: Band, name: str, units: str, most: int = SENTENCES) -> list[str]:
    """Return a verdict as lines: its word, and at most three sentences, the act first."""
    most = min(most, SENTENCES)
    said = [say(text, units) for text in band.lines]
    if len(said) > most:
        said = [*said[: most - 1], f"And {len(said) - most + 1} more: see angles --all."]
    return [f"{band.word:<5} {name}", *(f"      {text}" for text in said)]


def _guides(solution: Solution, terminal: Terminal) -> list[str]:
    sides = dict(zip("ab", solution.job.sides, strict=True))
    sign = "\u00b1" if terminal.signs else "+-"
    twins = {a.name: b for a, b in solution.twins}
    twin_names = {b.name for b in twins.values()}
    lines = []
    for guide in solution.guides:
        if guide.name in twin_names:
            continue
        both = guide.name in twins
        name = guide.name[1:] if both else guide.name
        side = f"{sides['a']} and {sides['b']}" if both else sides[guide.side]
        off = _doubt(solution, guide)
        known = "" if off is None else f"  {sign}{math.degrees(off):.2f} deg"
        holes = (
            "" if guide.first_hole is None else f"  holes {guide.first_hole} to {guide.last_hole}"
        )
        lines.append(f"guide {name:<11} {math.degrees(guide.angle):.1f} deg  {side}{holes}{known}")
    if len(lines) > GUIDES:
        lines = [*lines[:GUIDES], f"and {len(lines) - GUIDES} guides more"]
    if lines and any(station.outline is not None for station in solution.job.wedge.stations):
        lines.append(f"{'on a bent skin':<17} a guide's own corner stands on its page")
    return lines


def _doubt(solution: Solution, guide: GuideResult) -> float | None:
    """Return how well the angle under a guide is known, radians, at the worst station."""
    known = [s.plus_minus_a if guide.side == "a" else s.plus_minus_b for s in solution.stations]
    told = [off for off in known if off is not None]
    return max(told) if told else None


def _setting(solution: Solution) -> list[str]:
    """Return drill, countersink and rivets in a line each, as far as the job tells them."""
    job = solution.job
    lines = []
    if job.holes is not None:
        place = Length(job.holes.line, 2 if job.units == "in" else 1).said(job.units)
        lines.append(
            f"{'drill':<17} {job.holes.drill_name}, square to the chord plane, {place} from TE"
        )
    lines += [f"{what:<17} {say(value, job.units)}" for what, value in solution.brief]
    later = [str(hole.number) for hole in solution.holes if not hole.drill_now]
    if later:
        lines.append(f"{'wait':<17} hole{'s' if len(later) > 1 else ''} {', '.join(later)}")
    return lines


def _everything(solution: Solution, terminal: Terminal) -> list[object]:
    job = solution.job
    unit = "inches" if job.units == "in" else "mm"
    opening = (
        f"Lengths in {unit}, angles in degrees. Side A is {job.sides[0]}, side B is "
        f"{job.sides[1]}. Forward and aft are the angles between skin and drill on the two sides "
        "of the hole; aft is toward the trailing edge."
    )
    parts: list[object] = [
        "\n".join(band_lines(band_of(solution.checks), job.name, job.units)),
        opening,
        stations_table(solution, terminal),
    ]
    if solution.guides:
        parts += [heading("Guides"), guides_table(solution)]
    if solution.holes:
        parts += [heading("Holes"), holes_table(solution, solution.holes), order_sentence(solution)]
        parts += _sequence(solution, terminal)
    if solution.riveting:
        from jiggen.report.rivet import riveting_parts

        parts += [heading("Rivet and countersink"), *riveting_parts(solution)]
    if solution.trim is not None:
        from jiggen.report.trim import trim_parts

        parts += [heading("Trim plan"), *trim_parts(solution.trim, job.units)]
    parts += [heading(tally(solution.checks)), check_rows(solution.checks, job.units)]
    if solution.numbers:
        parts += [heading("Numbers"), number_rows(solution.numbers, job.units)]
    if solution.limits:
        parts += [heading("What limits the angles"), *limits(solution.limits)]
    return parts


def _sequence(solution: Solution, terminal: Terminal) -> list[object]:
    if not any(hole.drill_now for hole in solution.holes):
        return []
    a, b = solution.job.sides
    named = max(len(a), len(b)) <= SIDE_SHOWN
    key = (
        "from the side that is named" if named else f"A: the fastener goes in from {a}; B: from {b}"
    )
    return [
        heading("Tick off"),
        f"Fasten each hole again before the next, {key}.",
        tick_list(solution, terminal.width, solution.job.sides if named else ("A", "B")),
    ]


def starters_text(starters: Mapping[str, str]) -> str:
    """Return a line for each starter job file: its name, and what its first comment says."""
    width = max((len(name) for name in starters), default=0)
    lines = []
    for name, text in starters.items():
        comments = (line.lstrip("# ").strip() for line in text.splitlines() if line[:1] == "#")
        lines.append(f"{name:<{width}}  {next(filter(None, comments), '')}".rstrip())
    return "".join(f"{line}\n" for line in lines)
