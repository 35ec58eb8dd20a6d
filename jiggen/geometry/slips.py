"""Readings that cannot be meant: another unit, a shifted point, two swapped, a contradiction.

A wrong reading must be asked about, never averaged in: 10 mm too much on one diagonal would turn
into a skew of several degrees, and the next print would be corrected for a fault it never had.
Which of several readings that contradict one another is the wrong one is not guessed further than
these three slips: what was read and what the others make of it is told, and all is read again.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from jiggen.geometry.distortion import Bar, Estimate, corner, estimate
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.units import INCH

Kind = Literal["unit", "decimal", "swapped", "scale", "far", "contradiction"]

SCALE_LIMIT = 0.08
"""A single reading that is further off is asked about: A4 art on Letter is 0.94, a slip of 10 mm
on a bar of 100 mm is 0.90."""

FIT_LIMIT = 0.12
"""Readings that are all off by the same share are believed up to here: a page fitted to another
paper, with the printer's own margins, comes out at 0.90 to 0.98. Common practice, no published
source."""

ALIKE = 0.015
"""Shares of drawn lengths that differ by less are called one scale."""

APART_LIMIT = 0.04
"""Scales along x and y that differ by more are a reading's fault before they are the printer's.
Common practice, no published source; printers that differ by almost 3 % must still pass."""

SKEW_LIMIT = math.radians(1.0)
"""A corner further out than this is a diagonal misread: 1 deg is 1.7 mm in 100 mm."""

CHANCE_LIMIT = 1e-3
"""Readings that would disagree so much less often than once in a thousand are asked about."""

UNIT_FACTORS: tuple[tuple[float, Kind], ...] = (
    (INCH, "unit"),
    (1.0 / INCH, "unit"),
    *((factor, "decimal") for factor in (10.0, 0.1, 100.0, 0.01)),
)
"""By what a reading is multiplied to be right, and what happened."""

_APART_USUAL, _SKEW_USUAL = 0.01, math.radians(0.2)
_TWO_WAYS = math.radians(5.0)


class Slip(Struct, frozen=True, kw_only=True):
    """Readings that are asked about and left out of the sums."""

    # ``unit`` (inches for mm or the other way round), ``decimal`` (the point shifted), ``swapped``,
    # ``scale`` (all alike, further off than fitting a page makes it), ``far`` (one further off than
    # anything explains), ``contradiction``
    kind: Kind
    readings: tuple[str, ...]  # names of the readings
    given: tuple[float, ...]  # what was read, mm, one a reading
    expected: tuple[float, ...]  # what it should be as drawn or by the others, mm, one a reading


def slips(bars: Mapping[str, Bar], least: float = 0.0) -> tuple[Slip, ...]:
    """Return what must be asked about readings taken together; empty if they can all be meant.

    Args:
        bars: lengths by name, as drawn and as measured.
        least: mm. What a reading must be off by besides its share before it is called far off.

    Returns:
        Those about single readings first; about all of them together only where none is far off.

    Raises:
        ValueError: a bar has no length, no reading or no uncertainty above zero.

    Source: common practice, no published source.
    """
    if far := slips_of_each(bars, least):
        return far
    return () if len(bars) < 2 or in_order(bars) else (_together(bars),)


def slips_of_each(bars: Mapping[str, Bar], least: float = 0.0) -> tuple[Slip, ...]:
    """Return what must be asked about readings one by one, by what was drawn alone.

    Source: common practice, no published source.
    """
    far = [
        name
        for name, bar in bars.items()
        if abs(_share(bar) - 1.0) > SCALE_LIMIT and abs(bar.measured - bar.nominal) > least
    ]
    if not far or _fitted(bars):
        return ()
    ratios = [_share(bar) for bar in bars.values()]
    alike = len(far) == len(bars) > 1 and max(ratios) / min(ratios) < 1.0 + ALIKE
    if alike and _factor(bars[far[0]]) is None:
        return (_slip("scale", bars, far),)
    found: dict[Kind, list[str]] = {}
    pairs: list[Slip] = []
    for name in far:
        if any(name in pair.readings for pair in pairs):
            continue
        if twin := _swapped_with(bars, name):
            pairs.append(_slip("swapped", bars, (name, twin)))
        else:
            found.setdefault(_factor(bars[name]) or "far", []).append(name)
    return (*pairs, *(_slip(kind, bars, names) for kind, names in found.items()))


def in_order(bars: Mapping[str, Bar]) -> bool:
    """Return whether one printer or machine can have made all these readings.

    Source: common practice, no published source; the limits above.
    """
    found = _fit(bars)
    if found is None:
        return False
    made = found.distortion
    apart = abs(math.log(made.scale_x / made.scale_y))
    return found.chance >= CHANCE_LIMIT and apart <= APART_LIMIT and abs(made.skew) <= SKEW_LIMIT


def orders(bars: Mapping[str, Bar]) -> list[tuple[tuple[str, ...], dict[str, Bar]]]:
    """Return the readings, and the same with two of one drawn length written on each other's line.

    The two bars of a page are of one length, and so are its two diagonals, and the two bars of a
    cut piece may be: what was read on one may stand on the line of the other. Only orders that one
    printer can have made are returned.

    Args:
        bars: lengths by name, all of them to be meant; ``piece/name`` on a bed.

    Returns:
        For each order the names that were exchanged, none in the first, and the readings.

    Source: derived: the permutations of equal drawn lengths, checked by `in_order`.
    """
    groups: dict[bool, list[tuple[str, str]]] = {}
    for one, other in itertools.combinations(bars, 2):
        a, b = bars[one], bars[other]
        same = one.rpartition("/")[0] == other.rpartition("/")[0]
        if same and math.isclose(a.nominal, b.nominal, rel_tol=1e-6):
            aslant = min(abs(part) for part in a.vector) > _TWO_WAYS * a.nominal
            groups.setdefault(aslant, []).append((one, other))
    found: list[tuple[tuple[str, ...], dict[str, Bar]]] = [((), dict(bars))]
    for pairs in groups.values():
        names = tuple(name for pair in pairs for name in pair)
        for before, order in list(found):
            for pair in pairs:
                order = _exchanged(order, *pair)
            found.append(((*before, *names), order))
    return [found[0], *(order for order in found[1:] if in_order(order[1]))]


def unlike(pages: Mapping[str, Mapping[str, Bar]]) -> tuple[str, ...]:
    """Return the pages that came out unlike one another, beyond what their readings leave in doubt.

    One correction for pages that were not printed alike spoils the good one and does not cure
    the bad one.

    Source: common practice, no published source: intervals of about 95 % that do not meet, or all
    readings together in no order that one printer makes.
    """
    found = {name: estimate(list(bars.values())) for name, bars in pages.items() if bars}
    apart: set[str] = set()
    for one, other in itertools.combinations(found, 2):
        both = {(n, k): bar for n in (one, other) for k, bar in pages[n].items()}
        together = estimate(list(both.values()))
        if _differ(found[one], found[other]) or together.chance < CHANCE_LIMIT:
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


def _share(bar: Bar) -> float:
    return bar.measured / bar.nominal


def _slip(kind: Kind, bars: Mapping[str, Bar], names: Sequence[str]) -> Slip:
    return Slip(
        kind=kind,
        readings=tuple(names),
        given=tuple(bars[name].measured for name in names),
        expected=tuple(bars[name].nominal for name in names),
    )


def _fitted(bars: Mapping[str, Bar]) -> bool:
    """Return whether a page fitted to its paper explains readings along two ways or more."""
    ratios = [_share(bar) for bar in bars.values()]
    first = next(iter(bars.values())).vector
    two_ways = any(
        _TWO_WAYS < corner(first, bar.vector) < math.pi - _TWO_WAYS for bar in bars.values()
    )
    return (
        two_ways
        and max(ratios) / min(ratios) < 1.0 + ALIKE
        and all(abs(ratio - 1.0) <= FIT_LIMIT for ratio in ratios)
    )


def _close(measured: float, nominal: float) -> bool:
    return abs(measured / nominal - 1.0) <= SCALE_LIMIT


def _factor(bar: Bar) -> Kind | None:
    factors = (k for factor, k in UNIT_FACTORS if _close(bar.measured * factor, bar.nominal))
    return next(factors, None)


def _swapped_with(bars: Mapping[str, Bar], name: str) -> str | None:
    """Return which reading was written down for this one and the other way round, or None."""
    bar = bars[name]
    for other, twin in bars.items():
        if _close(bar.measured, twin.nominal) and _close(twin.measured, bar.nominal):
            return other
    return None


def _exchanged(bars: Mapping[str, Bar], one: str, other: str) -> dict[str, Bar]:
    """Return the readings with two of them written on each other's line."""
    a, b = bars[one], bars[other]
    swapped = {
        one: replace(a, measured=b.measured, standard=b.standard),
        other: replace(b, measured=a.measured, standard=a.standard),
    }
    return {**bars, **swapped}


def _fit(bars: Mapping[str, Bar]) -> Estimate | None:
    """Return the printer that explains readings; None where they are so wild that none does."""
    try:
        return estimate(list(bars.values()))
    except ValueError:
        return None


def _strangeness(bars: Mapping[str, Bar]) -> float:
    """Return how far readings, and the printer that explains them, are from what is usual."""
    found = _fit(bars)
    if found is None:
        return math.inf
    made = found.distortion
    apart = math.log(made.scale_x / made.scale_y)
    return found.chi_square + (apart / _APART_USUAL) ** 2 + (made.skew / _SKEW_USUAL) ** 2


def _together(bars: Mapping[str, Bar]) -> Slip:
    """Return what to ask about readings that each can be meant, but not all together."""
    for one, other in itertools.combinations(bars, 2):
        if in_order(_exchanged(bars, one, other)):
            return _slip("swapped", bars, (one, other))
    rests = {n: {k: bar for k, bar in bars.items() if k != n} for n in bars}
    worst = min(bars, key=lambda name: _strangeness(rests[name]))
    found = _fit(rests[worst])
    expected = bars[worst].nominal if found is None else found.distortion.length(bars[worst].vector)
    return Slip(
        kind="contradiction",
        readings=(worst,),
        given=(bars[worst].measured,),
        expected=(expected,),
    )
