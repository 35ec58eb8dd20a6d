"""Readings typed as options: which bar was meant, and on which page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from jiggen.job.fields import FaultList, Table
from jiggen.job.quantities import LENGTH, POSITIVE, Limits
from jiggen.readings.trial import STEP_MOST
from jiggen.units import INCH
from jiggen.verify.placed import RecordedSheet
from jiggen.verify.records import DEFAULT_STEP, LengthReading, readings_of_options

LENGTHS = ("bar-x", "bar-y", "diagonal-1", "diagonal-2")
"""What can be typed, by the page's own names."""

INCH_BAR = 4 * INCH
METRIC_BAR = 100.0
"""mm: the bar beside the 100 mm one."""

SURELY_INCH = 0.05
"""mm: a reading in mm this near to the 4 in bar is taken for it."""

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
        found.add("", "there is no printed page among the drawings", remedy="fill in the form")
    inches, doubtful = _of_inch_bar(typed.lengths, taken, units, _page_scale(taken, pages))
    for name in doubtful:
        table.fault(
            f"--{name}",
            "may be the 100 mm bar, which is 3.937 in, or the 4 in bar printed short",
            "give both diagonals too, or the 100 mm bar in mm, or fill in the form",
        )
    mixed = _mixed(typed.lengths, taken, inches, units)
    if mixed and not doubtful:
        table.fault(
            f"--{mixed}",
            "may be the 4 in bar, or the 100 mm bar printed 1.6 % long",
            "measure the bar of the same name along x and along y, or fill in the form",
        )
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
    if isinstance(_number_or_text(text), float):
        return units == "in"
    word = text.strip().lower().lstrip("0123456789./- ")
    return word.startswith(_INCH_WORDS)


def _page_scale(taken: Mapping[str, float | None], pages: Sequence[RecordedSheet]) -> float | None:
    """Return the scale that the diagonals show, which tells one bar from the other, or None."""
    if not pages:
        return None
    drawn = pages[0].to_measure()
    ratios = [
        mm / drawn[name].nominal
        for name, mm in taken.items()
        if name.startswith("diagonal") and mm is not None and name in drawn
    ]
    return sum(ratios) / len(ratios) if ratios else None


def _of_inch_bar(
    typed: Mapping[str, str], taken: Mapping[str, float | None], units: str, scale: float | None
) -> tuple[set[str], list[str]]:
    """Return which bars are the 4 in ones, and which may be either.

    A reading in inches need not be of the inch bar: 3.94 in is a true 100 mm bar, or a 4 in bar
    printed 1.5 % short. The diagonals tell; without them nobody can, and it is asked.
    """
    inches: set[str] = set()
    doubtful: list[str] = []
    for name, mm in taken.items():
        if not name.startswith("bar") or mm is None:
            continue
        if not _in_inches(typed[name], units):
            if abs(mm - INCH_BAR) <= SURELY_INCH:
                inches.add(name)
        elif mm >= (METRIC_BAR + INCH_BAR) / 2.0:
            inches.add(name)
        elif scale is None:
            doubtful.append(name)
        elif abs(mm / INCH_BAR - scale) < abs(mm / METRIC_BAR - scale):
            inches.add(name)
    return inches, doubtful


def _mixed(
    typed: Mapping[str, str], taken: Mapping[str, float | None], inches: set[str], units: str
) -> str:
    """Return a bar that was read as 101.6 mm while the other one is the 100 mm bar, or nothing."""
    bars = [name for name in taken if name.startswith("bar") and taken[name] is not None]
    doubtful = [name for name in inches if not _in_inches(typed[name], units)]
    return doubtful[0] if doubtful and len(inches) < len(bars) else ""


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
