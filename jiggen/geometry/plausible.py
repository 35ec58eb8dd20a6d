"""Readings that cannot be meant: a swapped bar, inches for millimetres, a slip along the rule.

A wrong reading must be asked about, never averaged in: a 10 mm slip on one diagonal would turn
into a skew of several degrees, and the next print would be corrected for a fault it never had.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from jiggen.errors import Sentence
from jiggen.geometry.distortion import Bar, corner, estimate, printed_length
from jiggen.geometry.quarrel import (
    ALIKE,
    SIGHTING,
    SLIP_MARGIN,
    SLIPS,
    Question,
    Taken,
    quarrel,
    share,
    sighted,
    slip_of,
    strangeness,
)
from jiggen.units import fine, joined, words

__all__ = ["SLIPS", "SLIP_MARGIN", "Question", "questions"]

SCALE_LIMIT = 0.08
"""A single reading that is further off is asked about: A4 art on Letter is 0.94, a slip of 10 mm
on a bar of 100 mm is 0.90."""

FIT_LIMIT = 0.12
"""Readings that are all off by the same share are believed up to here: a page fitted to another
paper, with the printer's own margins, comes out at 0.90 to 0.98. Common practice, no published
source."""

UNITS = (
    (25.4, "that is its length in inches", "in"),
    (10.0, "that is its length in centimetres", "cm"),
    (1 / 25.4, "that is millimetres, taken for inches", "mm"),
    (
        0.1,
        "that is ten times too long (a decimal point lost, or millimetres for centimetres)",
        "mm",
    ),
)
"""By what a reading is multiplied to be right, what happened, and the unit to give it in."""

SURELY_OTHER = 0.05
"""mm: a reading this near to the bar in the other unit is taken for it."""

CLEARLY = 4.0
"""The other readings tell two bars apart if the chi-squares differ by as much."""

_HALF_INCH, _CENTIMETRE = 12.7, 10.0
_LONGEST_PAIRED = 110.0
_IN_ONE = {"mm": 1.0, "cm": 10.0, "in": 25.4}
_TWO_WAYS = math.radians(5.0)
_PLACES = {"mm": 1, "cm": 2, "in": 3}


def questions(
    bars: Mapping[str, Bar], *, printed: bool = True, finished: bool = False, units: str = "mm"
) -> tuple[Question, ...]:
    """Return what must be asked about one sheet's readings; empty if they can all be meant.

    Two bars of the same length, read well but written down for one another, cannot be told
    apart from a printer that differs by axis.

    Args:
        bars: the sheet's bars and diagonals by name, as drawn and as measured.
        printed: the sheet is paper; else a machine cut it, and no print dialog is to blame.
        finished: the readings are of one cut piece, by calliper.
        units: of the rule, ``mm`` or ``in``.

    Returns:
        The questions, lengths in mm, those about single readings first.

    Raises:
        ValueError: a bar has no length, no reading or no uncertainty above zero.

    Source: common practice, no published source.
    """
    taken = Taken(printed=printed, finished=finished, units=units)
    far = [name for name, bar in bars.items() if abs(share(bar) - 1.0) > SCALE_LIMIT]
    if far and not _fitted(bars):
        return _about_far(bars, far, taken)
    other = None if finished else _about_other_bar(bars, taken)
    if other or len(bars) < 2:
        return (other,) if other else ()
    asked = quarrel(bars, taken)
    return (asked,) if asked else ()


def _fitted(bars: Mapping[str, Bar]) -> bool:
    """Return whether a page fitted to its paper explains readings along two ways or more."""
    ratios = [share(bar) for bar in bars.values()]
    first = next(iter(bars.values())).vector
    two_ways = any(
        _TWO_WAYS < corner(first, bar.vector) < math.pi - _TWO_WAYS for bar in bars.values()
    )
    return (
        two_ways
        and max(ratios) / min(ratios) < 1.0 + ALIKE
        and all(abs(ratio - 1.0) <= FIT_LIMIT for ratio in ratios)
    )


def _other_bar(name: str, bar: Bar, margin: float) -> tuple[float, str] | None:
    """Return the bar in the other unit that a reading is as long as, mm, and as it is said."""
    own = name.rsplit("/", 1)[-1]
    # Longer bars have no fellow in the other unit beside them: any of them is near some length.
    if not own.startswith(("bar-x", "bar-y")) or bar.nominal > _LONGEST_PAIRED:
        return None
    step = _CENTIMETRE if own.endswith("-in") else _HALF_INCH
    length = step * round(bar.nominal / step)
    if abs(bar.measured - length) > margin or abs(length - bar.nominal) <= 2.0 * margin:
        return None
    said = f"{length:g} mm bar" if step == _CENTIMETRE else f"{length / 25.4:g} in bar"
    return length, said


def _about_other_bar(bars: Mapping[str, Bar], taken: Taken) -> Question | None:
    """Ask whether bars were read for those in the other unit, which are drawn beside them.

    The 2 in bar read for the 50 mm one is a sheet that is 1.6 % large: only a length aslant tells
    the two apart, and that one must not be blamed for it.
    """
    margin = SURELY_OTHER + (0.0 if taken.printed else SIGHTING)
    found = {n: other for n, bar in bars.items() if (other := _other_bar(n, bar, margin))}
    aslant = sum(not n.rsplit("/", 1)[-1].startswith(("bar-x", "bar-y")) for n in bars)
    if not found or aslant > 1:  # two that agree outweigh the bars, and `quarrel` says so
        return None
    seen = sighted(bars)
    along = [[name for name in found if f"bar-{axis}" in name] for axis in "xy"]
    # One of them, all along one axis, or all: a whole sheet of bars would be too many choices.
    choices = [c for c in (list(found), *along, *([name] for name in found)) if c]
    costs = [strangeness(_read_as(seen, {n: found[n][0] for n in some})) for some in choices]
    if min(costs) >= strangeness(seen) + CLEARLY:
        return None
    names = choices[costs.index(min(costs))]
    return Question(
        readings=tuple(names),
        likely="swapped",
        text=_other_bar_words(names, bars, found, taken, aslant=aslant > 0),
    )


def _read_as(bars: Mapping[str, Bar], others: Mapping[str, float]) -> dict[str, Bar]:
    """Return readings with some taken as those of bars of other lengths along the same line."""
    return {
        name: bar
        if name not in others
        else replace(bar, vector=(bar.vector[0] * k, bar.vector[1] * k))
        for name, bar in bars.items()
        for k in (others.get(name, bar.nominal) / bar.nominal,)
    }


def _other_bar_words(
    names: list[str],
    bars: Mapping[str, Bar],
    found: Mapping[str, tuple[float, str]],
    taken: Taken,
    *,
    aslant: bool,
) -> Sentence:
    """Return what to ask about bars that may have been read for others, and what would tell."""
    given = joined(
        [words("{n} was given as {mm}", n=name, mm=fine(bars[name].measured)) for name in names],
        " and ",
    )
    other = " and ".join(dict.fromkeys(found[name][1] for name in names))
    off = share(bars[names[0]]) - 1.0
    what = f"came out {abs(off):.1%} {'large' if off > 0 else 'small'}"
    was = "was that bar" if len(names) == 1 else "were those bars"
    if aslant:
        todo = "measure the bars again, each by its own letters"
    else:
        more = "both diagonals" if taken.printed else "from bar to bar"
        todo = f"measure {more} too, or write each reading on the line of its own bar"
    thing = "page" if taken.printed else "sheet"
    return words(
        "{given}: that is the length of the {other}; {was} read, or is it a {thing} that {what}? "
        "To tell, {todo}",
        given=given,
        other=other,
        was=was,
        thing=thing,
        what=what,
        todo=todo,
    )


def _close(measured: float, nominal: float) -> bool:
    return abs(measured / nominal - 1.0) <= SCALE_LIMIT


def _about_far(bars: Mapping[str, Bar], far: list[str], taken: Taken) -> tuple[Question, ...]:
    """Ask about readings that are further off than any printer or machine."""
    ratios = [share(bar) for bar in bars.values()]
    alike = len(far) == len(bars) > 1 and max(ratios) / min(ratios) < 1.0 + ALIKE
    if alike and _mistaken_unit(bars[far[0]]) is None:
        return (_about_all(bars, sum(ratios) / len(ratios), printed=taken.printed),)
    near = [bar for name, bar in bars.items() if name not in far]
    found: list[Question] = []
    done: set[str] = set()
    for name in far:
        if name not in done:
            question = _swapped(bars, name) or _about_one(name, bars[name], near, taken)
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
                text=words(
                    "{name} was given as {a} and {other} as {b}, but they are drawn {drawn_a} and "
                    "{drawn_b} long: were the two swapped?",
                    name=name,
                    a=fine(bar.measured),
                    other=other,
                    b=fine(twin.measured),
                    drawn_a=fine(bar.nominal),
                    drawn_b=fine(twin.nominal),
                ),
            )
    return None


def _mistaken_unit(bar: Bar) -> tuple[str, str] | None:
    """Return which units were mistaken for one another, and what to do, if that explains it."""
    for factor, mistake, unit in UNITS:
        if _close(bar.measured * factor, bar.nominal):
            example = bar.measured * factor / _IN_ONE[unit]
            return mistake, f'give it with its unit, e.g. "{example:.{_PLACES[unit]}f} {unit}"'
    return None


def _about_one(name: str, bar: Bar, near: list[Bar], taken: Taken) -> Question:
    """Ask about one reading that is further off than any printer or machine."""
    opening = words(
        "{name} was given as {measured}, drawn {drawn}: ",
        name=name,
        measured=fine(bar.measured),
        drawn=fine(bar.nominal),
    )
    unit = _mistaken_unit(bar)
    if unit:
        bed = not (taken.printed or taken.finished)
        imported = "" if not bed else "; or the file was imported in another unit than mm"
        text = joined([opening, f"{unit[0]}; {unit[1]}{imported}"], "")
        return Question(readings=(name,), likely="unit", text=text)
    expected = printed_length(estimate(near), bar.vector)
    slip = slip_of(bar.measured - expected.value, taken.units, expected.standard)
    if slip:
        return Question(
            readings=(name,),
            likely="slip",
            text=joined([opening, f"a slip of {slip} along the rule? Measure it again"], ""),
        )
    further = (
        "further off than fitting a page to its paper makes it; measure it again, and if it is "
        "so, print at 100 %"
        if taken.printed
        else "further off than a machine's steps; measure it again, and if it is so, import the "
        "file in millimetres at its own size"
    )
    if taken.finished:
        further = "further off than anyone cuts; measure it again, over the letters that it names"
    text = joined([opening, f"that is {share(bar):.1%} of its length, {further}"], "")
    return Question(readings=(name,), likely="scale", text=text)
