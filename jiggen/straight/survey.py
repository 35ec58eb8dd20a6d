"""The readings taken along an edge, as heights, and what the plans ask of it.

Two things are measured, and they go opposite ways::

      ==================================  straightedge
                     ^ gap: larger is lower
      -----._________v_________.--------  the edge
                     ^ height: larger is higher
      ___________________________________ table

So the name of each column says which it is: ``gap`` or ``height``, with the line that was read
before or after it (``front gap``, ``height b``). A name that says neither is asked about, since a
hollow taken for a hump is pulled the wrong way. A gap read with blades is two columns, ``go`` and
``no go``: it lies between. In a survey all are heights: a gap of 0.3 mm is 0.3 mm below zero.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import cast

from msgspec import Struct, field

from jiggen.geometry.straightness import FEWEST
from jiggen.job.fields import FaultList
from jiggen.units import INCH, say_length

POSITION = "position"
GAP, HEIGHT, GO, NO_GO = "gap", "height", "go", "no-go"
BLADES = (GO, NO_GO)
KINDS = (GAP, HEIGHT, *BLADES)
EDGE = "deviation"  # the line of a column that names none
LINES = (EDGE, "turned", "front", "rear", "upper", "lower")
PAIRS = ((EDGE, "turned"), ("front", "rear"), ("upper", "lower"))
"""Two lines that tell more together: each pair by itself."""
SIDES = ("a", "b")  # the side that was up. Read with both, the second is the first line, turned

GAP_MOST = 10.0
"""mm: no blade measures a wider gap; more is a slip of the unit or of the decimal point."""
# mm: an edge is usually longer than the first and shorter than the second, and read at places
# further apart than the third. Common practice, no published source.
SHORT, LONG, CLOSE = 150.0, 6000.0, 5.0
SAME_PLACE = 1e-6  # mm: positions nearer than this are the same place

ASK = 'put "gap" (larger is lower) or "height" (larger is higher) into the name, or give --reads'


class Settings(Struct, frozen=True, kw_only=True):
    """What goes with the readings; None where it was not said. Lengths in mm."""

    units: str | None = None  # mm or in: what lengths are said in
    name: str | None = None  # of the edge
    date: str | None = None  # as written
    by: str | None = None  # who measured
    reads: str | None = None  # gaps or heights, for columns whose name does not say
    ways: tuple[str, str] | None = None  # which way a reading above zero goes, and one below
    step: float | None = None  # smallest step of what was read
    plus_minus: float | None = None  # largest error of one reading; goes before the step
    limit: float | None = None  # from the plans
    limit_on: str | None = None  # zone: its width; ends: the farthest off the line through them
    over: float | None = None  # length of edge that the limit is for; None for all that was read
    twist_limit: float | None = None  # radians, from the plans
    apart: float | None = None  # from the front line to the rear line
    datum: str | None = None  # one flat surface for both lines, or a straightedge for each


class Survey(Struct, frozen=True, kw_only=True):
    """A walk along the edge. Lengths in mm."""

    file: str  # where the readings came from, as the user gave it
    settings: Settings
    at: tuple[float, ...]  # places along the edge, rising, none twice
    lines: Mapping[str, tuple[float | None, ...]]  # heights at each; None where it was not read
    reads: str  # GAP or HEIGHT; either way the lines are heights, a gap below zero
    has_sides: bool  # the columns say which side was up: a height above zero is toward side A
    half: float | None  # the most by which one reading can be off; None if it is not known

    @property
    def name(self) -> str:
        """Return the edge's name, or the file's where it has none."""
        return self.settings.name or self.file

    @property
    def units(self) -> str:
        """Return ``mm`` or ``in``."""
        return self.settings.units or "mm"

    @property
    def ways(self) -> tuple[str, str]:
        """Return which way a height above zero goes, and one below."""
        if said := self.settings.ways:
            return (said[1], said[0]) if self.reads == GAP else said
        if self.has_sides:
            return "toward side A", "toward side B"
        if set(self.lines) & {"upper", "lower"}:
            return "outward", "inward"
        if self.reads == GAP:
            return "toward the straightedge", "away from the straightedge"
        return "up", "down"

    @property
    def pair(self) -> tuple[str, str] | None:
        """Return the two lines that were read, in the order of `PAIRS`; None for a single one."""
        return next((pair for pair in PAIRS if set(pair) <= set(self.lines)), None)

    @property
    def own_datum(self) -> bool:
        """Return whether each line had a straightedge of its own, as gaps have."""
        return (self.settings.datum or ("each" if self.reads == GAP else "one")) == "each"

    def line(self, *names: str) -> tuple[tuple[float, ...], ...]:
        """Return the places where all of the lines were read, and the heights of each, mm."""
        rows = zip(self.at, *(self.lines[name] for name in names), strict=True)
        full = cast(list[tuple[float, ...]], [row for row in rows if None not in row])
        return tuple(zip(*full, strict=True))


def spoken(line: str) -> str:
    """Return what a line of readings is called to people."""
    return "the edge" if line == EDGE else line


Key = tuple[str, str]
"""A line and a kind of reading, either of `KINDS` or empty where the name does not say it."""

PLACES: Key = (POSITION, "")


class Columns(Struct, frozen=True, kw_only=True):
    """The readings as written, in mm, in the order of the file; None where blank or at fault."""

    names: Mapping[Key, str] = field(default_factory=dict)  # as written, position among them
    values: Mapping[Key, list[float | None]] = field(default_factory=dict)  # one for each row
    rows: list[int] = field(default_factory=list)  # the number of each row
    where: str = ""  # how a value is named in a fault, with {name} and {row} in it
    units: str | None = None  # mm or in, to say them in; None if there is no column

    def place(self, key: Key, row: int) -> str:
        """Return how a value is named in a fault, by the row's place in `rows`."""
        return self.where.format(name=self.names[key], row=self.rows[row])


def meaning(name: str) -> Key | None:
    """Return what a column's name says: a line (or `POSITION`) and a kind; None if not known."""
    words = re.sub(r"[\s_-]+", " ", name.lower()).replace("no go", NO_GO).split()
    if words == [POSITION]:
        return PLACES
    line = [word for word in words if word in (*LINES, *SIDES)]
    kind = [word for word in words if word in KINDS]
    is_known = words and len(line) + len(kind) == len(words) and max(len(line), len(kind)) == 1
    return ("".join(line) or EDGE, "".join(kind)) if is_known else None


def survey_of(columns: Columns, settings: Settings, found: FaultList) -> Survey | None:
    """Return the survey, places rising, readings as heights; None where they are at fault."""
    used = [k for k, vs in columns.values.items() if k != PLACES and any(v is not None for v in vs)]
    reads = _gap_or_height(used, columns, settings, found)
    doubts = [0.0]
    names = dict.fromkeys(line for line, _ in used)
    lines = {line: _line(line, used, columns, doubts, found) for line in names}
    if len(lines) > 1 and not any(set(lines) == set(pair) for pair in (*PAIRS, SIDES)):
        pairs = ", ".join(f"{one} with {two}" for one, two in (*PAIRS, SIDES))
        problem = f"holds {', '.join(lines)}, which tell nothing together"
        found.add("", problem, remedy=f"keep one of them, or two: {pairs}")
    if reads == GAP:
        _check_gaps(used, columns, found)
    at = columns.values.get(PLACES, [])
    rows = sorted((x, n) for n, x in enumerate(at) if x is not None)
    for (x, n), (following, again) in pairwise(rows):
        if following - x < SAME_PLACE:
            first, where = columns.place(PLACES, n), columns.place(PLACES, again)
            problem = f"reads {say_length(x, settings.units or 'mm')} again, as {first} did"
            found.add(where, problem, remedy="keep one of the two readings")
    if found.faults:
        return None
    heights = _heights(lines, reads)
    step = None if settings.step is None else settings.step / 2.0
    survey = Survey(
        file=found.file,
        settings=settings,
        at=tuple(x for x, _ in rows),
        lines={name: tuple(line[n] for _, n in rows) for name, line in heights.items()},
        reads=reads,
        has_sides=not set(lines).isdisjoint(SIDES),
        half=settings.plus_minus or max(doubts) or step,
    )
    _check_enough(survey, found)
    return None if found.faults else survey


def looks_like_inches(survey: Survey) -> str:
    """Return a question where millimetres are unusual and the same numbers in inches would not be.

    Args:
        survey: as read.

    Returns:
        The question; empty where the unit is believed.
    """
    at, spreads = survey.at, [0.0]
    for name in survey.lines:
        heights = survey.line(name)[1]
        spreads.append(max(heights) - min(heights))
    long = at[-1] - at[0]
    apart = long / (len(at) - 1)
    is_odd = survey.units == "mm" and (long < SHORT or apart < CLOSE)
    usual = SHORT <= long * INCH <= LONG and apart * INCH >= CLOSE
    usual = usual and max(spreads) * INCH <= GAP_MOST
    if not (is_odd and usual):
        return ""
    edge, steps = say_length(long, "mm", 1), say_length(apart, "mm", 1)
    return f"makes the edge {edge} long, read every {steps}: is in meant?"


def _gap_or_height(
    used: Sequence[Key], columns: Columns, settings: Settings, found: FaultList
) -> str:
    """Return `GAP` or `HEIGHT` for all the columns; ask where their names do not say."""
    said = {"gaps": GAP, "heights": HEIGHT}.get(settings.reads or "", "")
    if settings.ways and not any(kind for _, kind in used):
        said = said or HEIGHT  # which way a number above zero goes is just what is asked
    kinds = {key: GAP if key[1] in BLADES else key[1] or said for key in used}
    for key, kind in kinds.items():
        if not kind:
            found.add(columns.names[key], "are these gaps or heights?", remedy=ASK)
        elif said and kind != said:
            remedy = "leave reads out, or rename it"
            found.add(columns.names[key], f"is said to be a {kind} and a {said}", remedy=remedy)
    if not found.faults and len(set(kinds.values())) > 1:
        found.add("", "mixes gaps and heights", remedy="keep one kind")
    return GAP if GAP in kinds.values() else HEIGHT


def _line(
    line: str, used: Sequence[Key], columns: Columns, doubts: list[float], found: FaultList
) -> list[float | None]:
    """Return a line's readings, mm: midway between two blades, and half of that to `doubts`."""
    kinds = sorted(kind for other, kind in used if other == line)
    if len(kinds) == 1 and kinds[0] not in BLADES:
        return columns.values[line, kinds[0]]
    middles: list[float | None] = []
    if kinds != sorted(BLADES):
        remedy = "keep one column of gaps or heights, or two: go and no go"
        found.add("", f"reads {line} by {' and '.join(kinds)}", remedy=remedy)
        return middles
    low, high = ((line, kind) for kind in BLADES)
    for n, (go, no_go) in enumerate(zip(columns.values[low], columns.values[high], strict=True)):
        middles.append(None if go is None or no_go is None else (go + no_go) / 2.0)
        if go is not None and no_go is not None and go < no_go:
            doubts.append((no_go - go) / 2.0)
        elif go is not None and no_go is not None:
            problem = f"is no thicker than the blade that goes, {columns.names[low]}"
            found.add(columns.place(high, n), problem, remedy="are the two exchanged?")
        elif no_go is not None:
            found.add(columns.place(low, n), "is blank", remedy="write 0 where no blade goes")
        elif go is not None:
            remedy = "write the smallest blade that does not go"
            found.add(columns.place(high, n), "is blank", remedy=remedy)
    return middles


def _heights(lines: Mapping[str, list[float | None]], reads: str) -> dict[str, list[float | None]]:
    """Return each line as heights, those of side B turned to be toward side A."""
    heights = {}
    for line, values in lines.items():
        low = (reads == GAP) != (line == "b")
        name = line if line not in SIDES else EDGE if line == "a" or "a" not in lines else "turned"
        heights[name] = [-v if v and low else v for v in values]
    return heights


def _check_gaps(used: Sequence[Key], columns: Columns, found: FaultList) -> None:
    """Put down gaps that no blade can show."""
    most = say_length(GAP_MOST, columns.units or "mm")
    for key, n, gap in ((k, n, v) for k in used for n, v in enumerate(columns.values[k])):
        if gap is not None and gap < 0.0:
            remedy = 'heights stand in a column "height"'
            found.add(columns.place(key, n), "is a gap below zero", remedy=remedy)
        elif gap is not None and gap > GAP_MOST:
            remedy = "check unit and decimal point"
            found.add(columns.place(key, n), f"is a gap of more than {most}", remedy=remedy)


def _check_enough(survey: Survey, found: FaultList) -> None:
    """Put down a line, or two lines together, with too few readings."""
    remedy = f"straightness needs {FEWEST} places or more"
    for name, line in survey.lines.items():
        if (count := len(line) - line.count(None)) < FEWEST:
            found.add("", f"holds only {count} readings of {spoken(name)}", remedy=remedy)
    if not survey.lines:
        found.add("", "holds no reading", remedy=remedy)
    if survey.pair is not None and not found.faults:
        rows = zip(*survey.lines.values(), strict=True)
        if (shared := sum(None not in row for row in rows)) < FEWEST:
            problem = f"reads {' and '.join(survey.pair)} together at only {shared}"
            found.add("", problem, remedy=remedy)
