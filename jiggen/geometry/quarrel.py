"""Readings that each can be meant, but not all together: which one is wrong, and is it one.

Which of them was misread is worked out where it can be, and asked where it cannot: blaming a good
reading sends whoever measured round in circles.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from jiggen.errors import Sentence
from jiggen.geometry.distortion import Bar, Estimate, estimate
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.units import fine, words

APART_LIMIT = 0.04
"""Scales along x and y that differ by more are a reading's fault before they are the printer's.

Common practice, no published source; printers that differ by almost 3 % must still pass.
"""

SKEW_LIMIT = math.radians(1.0)
"""A corner further out than this is a diagonal misread: 1 deg is 1.7 mm in 100 mm."""

CHANCE_LIMIT = 1e-3
"""Readings that would disagree this much less often than once in a thousand are asked about."""

SIGHTING = 0.1
"""mm, what sighting the edge of a printed line adds to a reading before it is called a mistake."""

SLIPS = (10.0, 5.0)
"""mm: the whole numbers along a rule that are most easily misread."""

INCH_SLIPS = {"1 in": 25.4, "1/2 in": 12.7}
"""mm, as they are said: the same along an inch rule."""

SLIP_MARGIN = 0.6
"""mm on either side of a slip, for the printer's own error and the rule's."""

ALIKE = 0.015
"""Shares of drawn lengths that differ by less are called one scale."""

_APART_USUAL = 0.01
_SKEW_USUAL = math.radians(0.2)
_SLIP_MARGIN_MOST = 2.0
_EXPLAINED = 12.0
_CLEARLY = 4.0
_INCH_BAR = 1.016
_INCH_BAR_MARGIN = 0.004


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A reading that is asked about and left out of the sums.

    Attributes:
        readings: names of the readings in doubt.
        likely: what went wrong, most likely: ``swapped``, ``unit``, ``slip``, ``scale`` or
            ``contradiction``.
        text: one sentence for the person who measured, with the numbers and what to do.
    """

    readings: tuple[str, ...]
    likely: str
    text: Sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What readings were taken on, and with what rule.

    Attributes:
        printed: on paper; else on what a machine cut, and no print dialog is to blame.
        finished: over one cut piece, with a calliper, and neither printer nor import is to blame.
        units: of the rule, ``mm`` or ``in``: which whole numbers are misread along it.
    """

    printed: bool = True
    finished: bool = False
    units: str = "mm"


def share(bar: Bar) -> float:
    """Return a reading as a share of the length that was drawn.

    Args:
        bar: a length as drawn and as read, mm.

    Source: definition.
    """
    return bar.measured / bar.nominal


def slip_of(off: float, units: str, doubt: float = 0.0) -> str:
    """Return the slip along the rule that a difference looks like, as it is said, or nothing.

    Args:
        off: the difference, mm.
        units: of the rule, ``mm`` or ``in``.
        doubt: of the difference, mm.

    Source: common practice, no published source: a rule is misread by its numbered lines.
    """
    margin = min(max(SLIP_MARGIN, doubt), _SLIP_MARGIN_MOST)
    slips = INCH_SLIPS if units == "in" else {f"{slip:g} mm": slip for slip in SLIPS}
    return next((said for said, slip in slips.items() if abs(abs(off) - slip) <= margin), "")


def sighted(bars: Mapping[str, Bar]) -> dict[str, Bar]:
    """Return readings with what sighting a line's edge adds to their doubt.

    Args:
        bars: by name.

    Returns:
        The same, each standard uncertainty enlarged, mm.

    Source: uncertainties add as squares, JCGM 100:2008 (GUM) 5.1.2, from memory.
    """
    return {n: replace(b, standard=math.hypot(b.standard, SIGHTING)) for n, b in bars.items()}


def _fit(bars: Mapping[str, Bar]) -> Estimate | None:
    """Return the printer that explains readings; None where they are so wild that none does."""
    try:
        return estimate(list(bars.values()))
    except ValueError:
        return None


def quarrel(bars: Mapping[str, Bar], taken: Taken) -> Question | None:
    """Return what must be asked about readings that cannot all be meant; None where they can.

    Args:
        bars: two or more, each possible by itself.
        taken: what they were taken on.

    Source: common practice, no published source: the reading without which the others agree.
    """
    if _in_order(bars):
        return None
    return _about_two_groups(bars) or _about_contradiction(bars, taken)


def _in_order(bars: Mapping[str, Bar]) -> bool:
    """Return whether one printer can have made all these readings."""
    found = _fit(sighted(bars))
    if found is None:
        return False
    made = found.distortion
    apart = abs(math.log(made.scale_x / made.scale_y))
    return found.chance >= CHANCE_LIMIT and apart <= APART_LIMIT and abs(made.skew) <= SKEW_LIMIT


def strangeness(bars: Mapping[str, Bar]) -> float:
    """Return how far readings, and the printer that explains them, are from what is usual.

    Args:
        bars: by name.

    Returns:
        A chi-square; infinite where no printer explains them.

    Source: common practice, no published source.
    """
    found = _fit(bars)
    if found is None:
        return math.inf
    made = found.distortion
    apart = math.log(made.scale_x / made.scale_y)
    return found.chi_square + (apart / _APART_USUAL) ** 2 + (made.skew / _SKEW_USUAL) ** 2


def _about_two_groups(bars: Mapping[str, Bar]) -> Question | None:
    """Ask about readings that fall into two groups, each of one scale but not of the same.

    Bars that agree with each other and diagonals that agree with each other: which of the two was
    read wrong, no sum can tell.
    """
    by_ratio = sorted(bars, key=lambda name: share(bars[name]))
    gaps = [share(bars[b]) - share(bars[a]) for a, b in itertools.pairwise(by_ratio)]
    at = gaps.index(max(gaps)) + 1
    groups = [[n for n in bars if n in half] for half in (by_ratio[:at], by_ratio[at:])]
    if min(len(group) for group in groups) < 2 or not all(_alike(bars, g) for g in groups):
        return None
    groups.sort(key=lambda group: list(bars).index(group[0]))
    scales = [sum(share(bars[n]) for n in group) / len(group) for group in groups]
    inch = ""
    if abs(max(scales) / min(scales) - _INCH_BAR) <= _INCH_BAR_MARGIN:
        inch = ". They differ as the 4 in bar and the 100 mm bar do: was one read for the other?"
    said = [f"{' and '.join(g)} agree on {s:.2%}" for g, s in zip(groups, scales, strict=True)]
    return Question(
        readings=tuple(bars),
        likely="contradiction",
        text=f"{said[0]} of their drawn lengths, but {said[1]}: no printer makes both, and which "
        "were misread cannot be told. Measure all of them again, bars from the middle of one tick "
        f"to the middle of the other, diagonals from cross to cross{inch}",
    )


def _alike(bars: Mapping[str, Bar], names: list[str]) -> bool:
    """Return whether readings show one scale, as well as a rule can tell."""
    ratios = [share(bars[name]) for name in names]
    doubt = math.hypot(*(math.hypot(bars[n].standard, SIGHTING) / bars[n].nominal for n in names))
    return max(ratios) - min(ratios) <= 2.0 * doubt


def _about_contradiction(bars: Mapping[str, Bar], taken: Taken) -> Question:
    """Ask which of several readings, each possible by itself, is the wrong one."""
    seen = sighted(bars)
    for first, second in itertools.combinations(seen, 2):
        a, b = seen[first], seen[second]
        turned = {
            **seen,
            first: replace(a, measured=b.measured),
            second: replace(b, measured=a.measured),
        }
        if a.nominal != b.nominal and strangeness(turned) < _EXPLAINED:
            return Question(
                readings=(first, second),
                likely="swapped",
                text=words(
                    "{first} ({a}) and {second} ({b}) fit the rest only the other way round: were "
                    "the two swapped?",
                    first=first,
                    a=fine(a.measured),
                    second=second,
                    b=fine(b.measured),
                ),
            )
    costs = {}
    for name in seen:
        rest = {other: bar for other, bar in seen.items() if other != name}
        costs[name] = strangeness(rest)
    least = min(costs.values())
    suspects = [name for name, cost in costs.items() if cost <= least + _CLEARLY]
    worst = max(suspects, key=lambda name: abs(share(bars[name]) - 1.0))
    if least > _EXPLAINED:
        return _no_single_culprit(bars)
    expected = estimate([b for n, b in seen.items() if n != worst]).distortion.length(
        bars[worst].vector
    )
    slip = slip_of(bars[worst].measured - expected, taken.units)
    guess = f"a {slip} slip along the rule?" if slip else "is it the right bar?"
    rest_names = ", ".join(name for name in bars if name != worst)
    return Question(
        readings=(worst,) if len(suspects) == 1 or slip else tuple(suspects),
        likely="slip" if slip else "contradiction",
        text=words(
            "{worst} was given as {measured}, but by {rest} it should be about {expected}: {guess} "
            "Measure it again{more}",
            worst=worst,
            measured=fine(bars[worst].measured),
            rest=rest_names,
            expected=fine(expected),
            guess=guess,
            more=_if_not_square(bars[worst], taken),
        ),
    )


def _if_not_square(bar: Bar, taken: Taken) -> str:
    """Return what else a length aslant on a cut sheet may say: axes that are not square."""
    aslant = min(abs(part) for part in bar.vector) > ALIKE * bar.nominal
    if taken.printed or not aslant:
        return ""
    return "; if it is so, the axes of the machine are not square: square them, and cut again"


def _no_single_culprit(bars: Mapping[str, Bar]) -> Question:
    """Ask about readings of which no single one explains the quarrel."""
    said = ", ".join(f"{name} {share(bar):.2%}" for name, bar in bars.items())
    return Question(
        readings=tuple(bars),
        likely="contradiction",
        text=f"the readings contradict one another (as shares of their drawn lengths: {said}); "
        f"no printer makes all of them: measure the bars and the diagonals again",
    )


def unlike(pages: Mapping[str, Mapping[str, Bar]]) -> tuple[str, ...]:
    """Return the pages that came out unlike one another, beyond what their readings leave in doubt.

    One correction for pages that were not printed alike spoils the good one and does not cure
    the bad one.

    Args:
        pages: the readings of each page, by its name.

    Returns:
        Their names, in order; empty where one printer can have made them all.

    Source: common practice, no published source: intervals of about 95 % that do not meet.
    """
    found = {name: estimate(list(sighted(bars).values())) for name, bars in pages.items()}
    apart: set[str] = set()
    for one, other in itertools.combinations(found, 2):
        if _differ(found[one], found[other]):
            apart |= {one, other}
    return tuple(name for name in pages if name in apart)


def _differ(one: Estimate, other: Estimate) -> bool:
    """Return whether two pages differ in a scale or in squareness that both were measured for."""
    rows = [(made.scale_x, made.scale_y, made.skew) for made in (one.distortion, other.distortion)]
    known = [(*e.scales_measured, e.skew_measured) for e in (one, other)]
    return any(
        here and there and abs(a - b) > COVERAGE * (doubt + doubt_there)
        for here, there, a, b, doubt, doubt_there in zip(
            *known, *rows, one.standards, other.standards, strict=True
        )
    )
