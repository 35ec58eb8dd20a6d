"""Readings typed as options: which bar was meant, and on which page."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from jiggen.geometry.quarrel import sighted, strangeness
from jiggen.job.fields import LENGTH, POSITIVE, FaultList, Limits, Table
from jiggen.readings.trial import STEP_MOST
from jiggen.units import INCH
from jiggen.verify.placed import RecordedSheet
from jiggen.verify.records import (
    DEFAULT_STEP,
    LengthReading,
    readings_of_options,
    sheet_readings,
)

LENGTHS = ("bar-x", "bar-y", "diagonal-1", "diagonal-2")
"""What can be typed, by the page's own names."""

INCH_BAR = 4 * INCH
METRIC_BAR = 100.0
"""mm: the bar beside the 100 mm one."""

SURELY_INCH = 0.05
"""mm: a reading in mm this near to the 4 in bar is taken for it."""

CLEARLY = 4.0
"""One bar fits the other readings better than its neighbour if its chi-square is less by this."""

NO_PAGE = (
    "run jiggen make with pdf among its formats (--as pdf,svg) and print it, or fill in the form "
    "for what a machine cut"
)
"""What would do where page readings are typed and no page was made."""

_INCH_WORDS = ("in", '"', "'", "ft", "foot", "feet")


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedReadings:
    """Options as they were typed.

    Attributes:
        lengths: by name of `LENGTHS`, text with a unit or a bare number in the job's units.
        step: of the rule, the same way; empty for the default.
        page: the page that was measured; None for every page of one print run.
    """

    lengths: Mapping[str, str] = field(default_factory=dict)
    step: str = ""
    page: int | None = None


def typed_readings(lengths: Sequence[str], step: str, page: int | None) -> TypedReadings:
    """Return options as they were typed, without those that were left out.

    Args:
        lengths: texts in the order of `LENGTHS`; empty where nothing was typed.
        step: of the rule; empty for the default.
        page: the page that was measured, or None.
    """
    named = {name: text for name, text in zip(LENGTHS, lengths, strict=True) if text}
    return TypedReadings(lengths=named, step=step, page=page)


def measured_by_options(
    typed: TypedReadings, pages: Sequence[RecordedSheet], units: str, found: FaultList
) -> tuple[dict[str, tuple[LengthReading, ...]], list[str]]:
    """Return readings typed as options, by page.

    Args:
        typed: the options.
        pages: the printed pages with pieces on them.
        units: ``mm`` or ``in``: what bare numbers count in.
        found: where faults go.

    Returns:
        The readings of each page that they count for, and sentences on how they were taken.
    """
    _check_page(typed, pages, found)
    given = {f"--{name}": _number_or_text(text) for name, text in typed.lengths.items()}
    table = Table(given, "", found, units, tuple(given))
    taken = {name: table.value(LENGTH, f"--{name}", POSITIVE) for name in typed.lengths}
    step = _step(typed.step, units, found)
    if not pages and given:
        found.add("", "there is no printed page among the drawings", remedy=NO_PAGE)
    inches, doubtful = _inch_bars(typed.lengths, taken, units, step, pages)
    for name in doubtful:
        table.fault(f"--{name}", *_which_bar(name, typed.lengths, units))
    if found.faults or not given or not pages:
        return {}, []
    chosen = [p for p in pages if typed.page is None or p.name == f"page {typed.page}"]
    readings = {
        page.name: tuple(
            reading
            for name, mm in taken.items()
            if mm is not None
            for reading in _one(page, name, mm, step, inch=name in inches)
        )
        for page in chosen
    }
    return readings, [_how_taken(inches, taken), _which_pages(typed.page, chosen)]


def _check_page(typed: TypedReadings, pages: Sequence[RecordedSheet], found: FaultList) -> None:
    names = [page.name for page in pages]
    if typed.page is not None and f"page {typed.page}" not in names:
        numbers = ", ".join(name.removeprefix("page ") for name in names) or "none"
        found.add("--page", "has no piece on it", typed.page, f"pages with pieces: {numbers}")


def _number_or_text(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _step(text: str, units: str, found: FaultList) -> float:
    if not text:
        return DEFAULT_STEP
    table = Table({"--step": _number_or_text(text)}, "", found, units, ("--step",))
    return table.value(LENGTH, "--step", Limits(above=0.0, at_most=STEP_MOST)) or DEFAULT_STEP


def _in_inches(text: str, units: str) -> bool:
    """Return whether a length was typed in inches."""
    word = text.strip().lower().lstrip("+-0123456789./ ")
    return word.startswith(_INCH_WORDS) if word else units == "in"


def _inch_bars(
    typed: Mapping[str, str],
    taken: Mapping[str, float | None],
    units: str,
    step: float,
    pages: Sequence[RecordedSheet],
) -> tuple[set[str], list[str]]:
    """Return which bars are the 4 in ones, and which may be either.

    A reading in inches need not be of the inch bar: 3.94 in is a true 100 mm bar, or a 4 in bar
    printed 1.5 % short; 101.6 mm is a true 4 in bar, or a 100 mm bar printed 1.6 % long. Bars and
    diagonals together tell, whatever the printer does to each axis; without diagonals nobody can.
    """
    inches: set[str] = set()
    either: list[str] = []
    for name, mm in taken.items():
        if not name.startswith("bar") or mm is None:
            continue
        if not _in_inches(typed[name], units):
            either += [name] if abs(mm - INCH_BAR) <= SURELY_INCH else []
        elif mm >= (METRIC_BAR + INCH_BAR) / 2.0:
            inches.add(name)
        else:
            either.append(name)
    if not either or not pages:
        return inches, []
    if not any(mm is not None for name, mm in taken.items() if name.startswith("diagonal")):
        return inches, either
    choices = [
        inches | {name for name, inch in zip(either, kinds, strict=True) if inch}
        for kinds in itertools.product((False, True), repeat=len(either))
    ]
    ranked = sorted(
        ((_strange(pages[0], taken, step, some), number) for number, some in enumerate(choices))
    )
    if ranked[1][0] - ranked[0][0] < CLEARLY:
        return inches, either
    return choices[ranked[0][1]], []


def _strange(
    page: RecordedSheet, taken: Mapping[str, float | None], step: float, inches: Collection[str]
) -> float:
    """Return how strange the readings are if these bars are the 4 in ones, as a chi-square."""
    readings = [
        reading
        for name, mm in taken.items()
        if mm is not None
        for reading in _one(page, name, mm, step, inch=name in inches)
    ]
    return strangeness(sighted(sheet_readings(page, readings)[0].bars))


def _which_bar(name: str, typed: Mapping[str, str], units: str) -> tuple[str, str]:
    """Return what to ask about a bar that may be either, and what would tell."""
    problem = "may be the 4 in bar, or the 100 mm bar printed 1.6 % long"
    if _in_inches(typed[name], units):
        problem = "may be the 100 mm bar, which is 3.937 in, or the 4 in bar printed short"
    if any(other.startswith("diagonal") for other in typed):
        return problem, (
            "the diagonals fit both: measure again with a finer rule, or fill in the form, where "
            "each bar has its own line"
        )
    return problem, "give both diagonals too, or fill in the form, where each bar has its own line"


def _one(
    page: RecordedSheet, name: str, mm: float, step: float, *, inch: bool
) -> tuple[LengthReading, ...]:
    options = {name.replace("-", "_"): mm}
    return readings_of_options(page, step=step, units="in" if inch else "mm", **options)


def _how_taken(inches: set[str], taken: Mapping[str, float | None]) -> str:
    bars = [name for name in taken if name.startswith("bar")]
    if not bars:
        return "Readings from the command line."
    kinds = [f"{name} is the {'4 in' if name in inches else '100 mm'} bar" for name in bars]
    return f"Readings from the command line; {', '.join(kinds)}."


def _which_pages(page: int | None, chosen: Sequence[RecordedSheet]) -> str:
    if page is not None:
        return f"They count for page {page} alone; no other page was judged."
    if len(chosen) == 1:
        return f"They count for {chosen[0].name}."
    return (
        f"They count for all {len(chosen)} pages with pieces, taken to come from one printer in "
        "one go; if one went through by itself, measure it and give --page."
    )
