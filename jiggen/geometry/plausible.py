"""Readings that cannot be meant: a swapped bar, inches for millimetres, a slip along the rule.

A wrong reading must be asked about, never averaged in: a 10 mm slip on one diagonal would turn
into a skew of several degrees, and the next print would be corrected for a fault it never had.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from jiggen.geometry.distortion import Bar, Estimate, corner, estimate, printed_length

SCALE_LIMIT = 0.08
"""A single reading that is further off is asked about: A4 art on Letter is 0.94, a slip of 10 mm
on a bar of 100 mm is 0.90."""

FIT_LIMIT = 0.12
"""Readings that are all off by the same share are believed up to here: a page fitted to another
paper, with the printer's own margins, comes out at 0.90 to 0.98. Common practice, no published
source."""

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

SLIP_MARGIN = 0.6
"""mm on either side of a slip, for the printer's own error and the rule's."""

_APART_USUAL = 0.01
_SKEW_USUAL = math.radians(0.2)
_ALIKE = 0.015
_TWO_WAYS = math.radians(5.0)
_SLIP_MARGIN_MOST = 2.0
_EXPLAINED = 12.0
_CLEARLY = 4.0
_INCH_BAR = 1.016
_INCH_BAR_MARGIN = 0.004

UNITS = (
    (25.4, "that is the bar in inches", 'give it with its unit, e.g. "3.94 in"'),
    (10.0, "that is the bar in centimetres", 'give it with its unit, e.g. "10.0 cm"'),
    (1 / 25.4, "that is millimetres, taken for inches", 'give it with its unit, e.g. "98.5 mm"'),
    (0.1, "that is millimetres, taken for centimetres", "give it with its unit"),
)


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
    text: str


def questions(bars: Mapping[str, Bar], *, printed: bool = True) -> tuple[Question, ...]:
    """Return what must be asked about one sheet's readings; empty if they can all be meant.

    Two bars of the same length, read well but written down for one another, cannot be told
    apart from a printer that differs by axis.

    Args:
        bars: the sheet's bars and diagonals by name, as drawn and as measured.
        printed: the sheet is paper; else a machine cut it, and no print dialog is to blame.

    Returns:
        The questions, those about single readings first.

    Raises:
        ValueError: a bar has no length, no reading or no uncertainty above zero.

    Source: common practice, no published source.
    """
    far = [name for name, bar in bars.items() if abs(_ratio(bar) - 1.0) > SCALE_LIMIT]
    if far and not _fitted(bars):
        return _about_far(bars, far, printed=printed)
    if len(bars) < 2:
        return ()
    if _in_order(bars):
        return ()
    return (_about_two_groups(bars) or _about_contradiction(bars),)


def _ratio(bar: Bar) -> float:
    return bar.measured / bar.nominal


def _fitted(bars: Mapping[str, Bar]) -> bool:
    """Return whether a page fitted to its paper explains readings along two ways or more."""
    ratios = [_ratio(bar) for bar in bars.values()]
    first = next(iter(bars.values())).vector
    two_ways = any(
        _TWO_WAYS < corner(first, bar.vector) < math.pi - _TWO_WAYS for bar in bars.values()
    )
    return (
        two_ways
        and max(ratios) / min(ratios) < 1.0 + _ALIKE
        and all(abs(ratio - 1.0) <= FIT_LIMIT for ratio in ratios)
    )


def _close(measured: float, nominal: float) -> bool:
    return abs(measured / nominal - 1.0) <= SCALE_LIMIT


def _say(mm: float) -> str:
    return f"{mm:.2f} mm ({mm / 25.4:.3f} in)"


def _about_far(bars: Mapping[str, Bar], far: list[str], *, printed: bool) -> tuple[Question, ...]:
    """Ask about readings that are further off than any printer or machine."""
    ratios = [_ratio(bar) for bar in bars.values()]
    alike = len(far) == len(bars) > 1 and max(ratios) / min(ratios) < 1.0 + _ALIKE
    if alike and _mistaken_unit(bars[far[0]]) is None:
        return (_about_all(bars, sum(ratios) / len(ratios), printed=printed),)
    near = [bar for name, bar in bars.items() if name not in far]
    found: list[Question] = []
    done: set[str] = set()
    for name in far:
        if name not in done:
            question = _swapped(bars, name) or _about_one(name, bars[name], near, printed)
            done.update(question.readings)
            found.append(question)
    return tuple(found)


def _about_all(bars: Mapping[str, Bar], ratio: float, *, printed: bool) -> Question:
    """Ask about a sheet on which everything is far off by the same share."""
    what = (
        "the page was scaled when it was printed; print it again at 100 % (actual size)"
        if printed
        else "the file was scaled when the machine's program took it in; import it in "
        "millimetres at its own size, and cut one piece again"
    )
    return Question(
        readings=tuple(bars),
        likely="scale",
        text=f"{', '.join(bars)} are all about {ratio:.1%} of their drawn lengths: {what}",
    )


def _swapped(bars: Mapping[str, Bar], name: str) -> Question | None:
    """Ask whether two readings were written down for one another."""
    bar = bars[name]
    for other, twin in bars.items():
        if _close(bar.measured, twin.nominal) and _close(twin.measured, bar.nominal):
            return Question(
                readings=(name, other),
                likely="swapped",
                text=f"{name} was given as {_say(bar.measured)} and {other} as "
                f"{_say(twin.measured)}, but they are drawn {_say(bar.nominal)} and "
                f"{_say(twin.nominal)} long: were the two swapped?",
            )
    return None


def _mistaken_unit(bar: Bar) -> tuple[str, str] | None:
    """Return which units were mistaken for one another, and what to do, if that explains it."""
    for factor, mistake, remedy in UNITS:
        if _close(bar.measured * factor, bar.nominal):
            return mistake, remedy
    return None


def _about_one(name: str, bar: Bar, near: list[Bar], printed: bool) -> Question:
    """Ask about one reading that is further off than any printer or machine."""
    opening = f"{name} was given as {_say(bar.measured)}, drawn {_say(bar.nominal)}: "
    unit = _mistaken_unit(bar)
    if unit:
        imported = "" if printed else "; or the file was imported in another unit than mm"
        text = f"{opening}{unit[0]}; {unit[1]}{imported}"
        return Question(readings=(name,), likely="unit", text=text)
    expected = printed_length(estimate(near), bar.vector)
    slip = _slip(bar.measured - expected.value, expected.standard)
    if slip:
        return Question(
            readings=(name,),
            likely="slip",
            text=f"{opening}a slip of {slip:g} mm along the rule? Measure it again",
        )
    further = (
        "further off than fitting a page to its paper makes it; measure it again, and if it is "
        "so, print at 100 %"
        if printed
        else "further off than a machine's steps; measure it again, and if it is so, import the "
        "file in millimetres at its own size"
    )
    text = f"{opening}that is {_ratio(bar):.1%} of its length, {further}"
    return Question(readings=(name,), likely="scale", text=text)


def _slip(off: float, doubt: float = 0.0) -> float:
    """Return the slip along the rule that a difference in mm looks like, or 0."""
    margin = min(max(SLIP_MARGIN, doubt), _SLIP_MARGIN_MOST)
    return next((slip for slip in SLIPS if abs(abs(off) - slip) <= margin), 0.0)


def _sighted(bars: Mapping[str, Bar]) -> dict[str, Bar]:
    return {n: replace(b, standard=math.hypot(b.standard, SIGHTING)) for n, b in bars.items()}


def _fit(bars: Mapping[str, Bar]) -> Estimate | None:
    """Return the printer that explains readings; None where they are so wild that none does."""
    try:
        return estimate(list(bars.values()))
    except ValueError:
        return None


def _in_order(bars: Mapping[str, Bar]) -> bool:
    """Return whether one printer can have made all these readings."""
    found = _fit(_sighted(bars))
    if found is None:
        return False
    made = found.distortion
    apart = abs(math.log(made.scale_x / made.scale_y))
    return found.chance >= CHANCE_LIMIT and apart <= APART_LIMIT and abs(made.skew) <= SKEW_LIMIT


def _strangeness(bars: Mapping[str, Bar]) -> float:
    """Return how far readings and printer are from what is usual, as a chi-square."""
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
    by_ratio = sorted(bars, key=lambda name: _ratio(bars[name]))
    gaps = [_ratio(bars[b]) - _ratio(bars[a]) for a, b in itertools.pairwise(by_ratio)]
    at = gaps.index(max(gaps)) + 1
    groups = [[n for n in bars if n in half] for half in (by_ratio[:at], by_ratio[at:])]
    if min(len(group) for group in groups) < 2 or not all(_alike(bars, g) for g in groups):
        return None
    groups.sort(key=lambda group: list(bars).index(group[0]))
    scales = [sum(_ratio(bars[n]) for n in group) / len(group) for group in groups]
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
    ratios = [_ratio(bars[name]) for name in names]
    doubt = math.hypot(*(math.hypot(bars[n].standard, SIGHTING) / bars[n].nominal for n in names))
    return max(ratios) - min(ratios) <= 2.0 * doubt


def _about_contradiction(bars: Mapping[str, Bar]) -> Question:
    """Ask which of several readings, each possible by itself, is the wrong one."""
    sighted = _sighted(bars)
    for first, second in itertools.combinations(sighted, 2):
        a, b = sighted[first], sighted[second]
        turned = {
            **sighted,
            first: replace(a, measured=b.measured),
            second: replace(b, measured=a.measured),
        }
        if a.nominal != b.nominal and _strangeness(turned) < _EXPLAINED:
            return Question(
                readings=(first, second),
                likely="swapped",
                text=f"{first} ({_say(a.measured)}) and {second} ({_say(b.measured)}) fit the "
                f"rest only the other way round: were the two swapped?",
            )
    costs = {}
    for name in sighted:
        rest = {other: bar for other, bar in sighted.items() if other != name}
        costs[name] = _strangeness(rest)
    least = min(costs.values())
    suspects = [name for name, cost in costs.items() if cost <= least + _CLEARLY]
    worst = max(suspects, key=lambda name: abs(_ratio(bars[name]) - 1.0))
    if least > _EXPLAINED:
        return _no_single_culprit(bars)
    expected = estimate([b for n, b in sighted.items() if n != worst]).distortion.length(
        bars[worst].vector
    )
    slip = _slip(bars[worst].measured - expected)
    guess = f"a {slip:g} mm slip along the rule?" if slip else "is it the right bar?"
    rest_names = ", ".join(name for name in bars if name != worst)
    return Question(
        readings=(worst,) if len(suspects) == 1 or slip else tuple(suspects),
        likely="slip" if slip else "contradiction",
        text=f"{worst} was given as {_say(bars[worst].measured)}, but by {rest_names} it should "
        f"be about {_say(expected)}: {guess} Measure it again",
    )


def _no_single_culprit(bars: Mapping[str, Bar]) -> Question:
    """Ask about readings of which no single one explains the quarrel."""
    said = ", ".join(f"{name} {_ratio(bar):.2%}" for name, bar in bars.items())
    return Question(
        readings=tuple(bars),
        likely="contradiction",
        text=f"the readings contradict one another (as shares of their drawn lengths: {said}); "
        f"no printer makes all of them: measure the bars and the diagonals again",
    )
