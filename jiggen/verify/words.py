"""The reasons of a verdict in plain words, and what would decide an open one."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from jiggen.geometry.distortion import Bar, Estimate, Vector, corner, estimate
from jiggen.geometry.leastsquares import standard_from_step
from jiggen.verify.limits import CANNOT_TELL, DO_NOT_USE, Check, Limits, decided
from jiggen.verify.placed import PlacedPiece
from jiggen.verify.records import SheetReadings

FINER_STEPS = (0.05, 0.02)
"""mm: calliper steps that are proposed where a rule cannot decide."""

PARALLEL = math.radians(5.0)
"""A length that lies closer to the direction of one already read tells nothing new."""

UNIFORM = 0.002
"""Scales along x and y that are this close are called uniform, in words."""


def reason(
    piece: PlacedPiece,
    verdict: str,
    checks: Sequence[Check],
    found: Estimate,
    readings: SheetReadings,
    limits: Limits,
    *,
    printed: bool = True,
) -> str:
    """Say what a verdict on a piece rests on, and what would decide an open one.

    Args:
        piece: as it lies on the sheet.
        verdict: ``use``, ``do not use`` or ``cannot tell``.
        checks: what counted.
        found: what was done to the sheet.
        readings: what was measured on it.
        limits: what is allowed.
        printed: the sheet is paper; else a machine cut it.

    Returns:
        One line.
    """
    if not checks:
        return "the piece has no check angle and no check dimension to judge it by"
    by_margin = sorted(
        checks, key=lambda c: (abs(c.error) + c.doubt) / max(c.limit, 1e-9), reverse=True
    )
    decisive = [check for check in by_margin if check.verdict == verdict] or by_margin
    parts = [say_check(decisive[0])]
    if verdict == CANNOT_TELL:
        parts.append(_what_would_decide(piece, found, readings, limits, printed=printed))
    parts.append(_say_scale(piece, verdict, found, limits))
    return "; ".join(part for part in parts if part)


def _share_of_limit(check: Check) -> float:
    return (abs(check.error) + check.doubt) / max(check.limit, 1e-9)


def say_check(check: Check) -> str:
    """Say one check: as drawn, as it came out, give or take what, and what is allowed."""
    if check.what.startswith("angle"):
        nominal, error, doubt, limit = (
            math.degrees(v) for v in (check.nominal, check.error, check.doubt, check.limit)
        )
        return (
            f"{check.what} drawn {nominal:.2f} deg came out {nominal + error:.2f} deg, "
            f"give or take {_up(doubt):.2f}; {limit:.2f} deg of error is allowed"
        )
    way = "short" if check.error < 0 else "long"
    return (
        f"{check.what} of {check.nominal:.2f} mm came out {abs(check.error):.2f} mm {way}, "
        f"give or take {_up(check.doubt):.2f}; {check.limit:.2f} mm is allowed"
    )


def edges_open(told: Sequence[str], missing: Mapping[str, Sequence[str] | None]) -> str:
    """Say which check edges were measured, and what the others take.

    Args:
        told: names of the check angles that the readings determine.
        missing: for each of the others the lengths that it takes; None where none would do.
    """
    rest = "; ".join(_takes(name, names) for name, names in missing.items())
    return f"{' and '.join(told)} edge only; {rest}"


def not_determined(missing: Mapping[str, Sequence[str] | None]) -> str:
    """Say that the readings determine no check angle, and which lengths would.

    Args:
        missing: for each check angle the lengths that it takes; None where none would do.
    """
    first, *others = missing.items()
    if first[1] is None:
        return (
            f"the {first[0]} angle is not determined: no length in the form tells it. Measure the "
            "bars and diagonals of the page or the sheet that the piece lies on, before it is cut"
        )
    said = (
        f"the {first[0]} angle is not determined by these readings: measure "
        f"{', '.join(first[1])} too"
    )
    more = [f"for the {name} edge {', '.join(names)}" for name, names in others if names]
    return "; ".join([said, *more])


def _takes(name: str, names: Sequence[str] | None) -> str:
    if names is None:
        return f"the {name} edge cannot be told by the lengths in the form"
    return f"the {name} edge was not measured: it takes {', '.join(names)}"


def _up(doubt: float) -> float:
    """Return a doubt rounded up to the two decimals that are said: never less than it is."""
    return math.ceil(doubt * 100.0 - 1e-9) / 100.0


def _say_scale(piece: PlacedPiece, verdict: str, found: Estimate, limits: Limits) -> str:
    """Say what a uniform error of scale does to this kind of piece."""
    made = found.distortion
    mean = (made.scale_x + made.scale_y) / 2.0
    if abs(made.scale_x - made.scale_y) > UNIFORM or abs(mean - 1.0) <= UNIFORM:
        return ""
    size = f"the sheet is {abs(mean - 1.0):.1%} {'small' if mean < 1.0 else 'large'} all over"
    if limits.length(piece) is None:
        return f"{size}, which changes no angle"
    if verdict == DO_NOT_USE:
        return f"{size}: that spares the angle guides, but not a piece whose lengths count"
    return size


def _what_would_decide(
    piece: PlacedPiece,
    found: Estimate,
    readings: SheetReadings,
    limits: Limits,
    *,
    printed: bool,
) -> str:
    """Return the least trouble that would decide an open verdict, worked out, not guessed."""
    bars = {
        n: replace(b, measured=found.distortion.length(b.vector)) for n, b in readings.bars.items()
    }
    coarsest = max(bar.standard for bar in bars.values())
    more = {
        name: Bar(vector=v, measured=found.distortion.length(v), standard=coarsest)
        for name, v in _other_ways(readings).items()
    }
    names = ", ".join(more)
    proposals = []
    if more:
        proposals.append((f"measure {names} with the same rule", {**bars, **more}))
    for step in FINER_STEPS:
        fine = standard_from_step(step)
        how = f"with a calliper that reads {step:g} mm"
        every = {**bars, **more}
        if any(bar.standard > fine for bar in bars.values()):
            again = {n: replace(b, standard=min(b.standard, fine)) for n, b in bars.items()}
            proposals.append((f"measure {', '.join(bars)} again {how}", again))
        if more:
            again = {n: replace(b, standard=min(b.standard, fine)) for n, b in every.items()}
            proposals.append((f"measure {', '.join(every)} {how}", again))
    for text, proposal in proposals:
        if decided(piece, estimate(list(proposal.values())), limits):
            return f"to decide, {text}"
    remedy = (
        "print it again with the correction" if printed else "set the machine right and cut again"
    )
    return (
        f"no finer reading of this sheet would decide it, the error is too near the limit: {remedy}"
    )


def _other_ways(readings: SheetReadings) -> dict[str, Vector]:
    """Return unread lengths that lie another way than those read, one for each way."""
    ways = [bar.vector for bar in readings.bars.values()]
    found: dict[str, Vector] = {}
    for name, vector in readings.unread.items():
        if all(PARALLEL < corner(vector, way) < math.pi - PARALLEL for way in ways):
            ways.append(vector)
            found[name] = vector
    return found
