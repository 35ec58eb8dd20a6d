"""From a survey to a verdict: is the edge straight enough, what is its shape.

No reading is off by more than its half (half a step, or half of what two blades leave open), so no
width between two lines, and no distance from a line, is off by more than twice that: the highest
reading may be that much high and the lowest that much low. Where the limit lies within that,
nobody can tell.

Gaps say one thing more. A straightedge touches the edge, so all places that were read lie in a
strip as wide as the largest gap. Where it touches at places that were not read, such as both ends,
the readings alone show a narrower strip than there is, and the largest gap goes beside it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct

from jiggen.errors import Fault, JobError
from jiggen.geometry.frame import Array
from jiggen.geometry.straightness import (
    Deviation,
    Straightness,
    Twist,
    Zone,
    bow_and_thickness,
    doubtful_reading,
    straightness,
    twist_of,
    without_own_error,
    worst_stretch,
)
from jiggen.straight.survey import GAP, Survey

WITHIN = "within the limit"
BEYOND = "beyond the limit"
CANNOT_TELL = "cannot tell"
NO_LIMIT = "no limit stated"

_GRAVEST_FIRST = (BEYOND, CANNOT_TELL, WITHIN, NO_LIMIT)

_ROUNDING = 1e-9
"""mm, and radians: a value that equals the limit but for the arithmetic is within it."""


class Held(Struct, frozen=True, kw_only=True):
    """One value held against one limit: mm, or radians for a twist."""

    verdict: str  # one of the four
    value: float
    limit: float | None  # None where none was stated
    doubt: float | None  # the most by which the value can be off; None if it is not known
    at_most: float | None = None  # what it can be where the readings alone do not say it


class Judged(Struct, frozen=True, kw_only=True):
    """A survey with all that follows from it. Lengths in mm, angles in radians."""

    survey: Survey
    lines: Mapping[str, Straightness]  # own error taken out where the straightedge was turned
    bow: Straightness | None = None  # of the middle between two lines
    parting: Array | None = None  # (n,) front less rear, at the places where both were read
    twist: Twist | None = None  # from a front and a rear line a known way apart
    thickness_change: Array | None = None  # (n,) of both faces together
    own: Straightness | None = None  # the straightedge's own shape, where it was turned
    doubt: float | None  # the most by which a width can be off; None if it is not known
    worst: str  # name of the line that is held against the limit
    zone: Zone  # its minimum zone, or that of its worst stretch
    stretch: tuple[float, float] | None  # its ends; None where the limit is for all
    held: Held
    twist_held: Held | None
    questions: Mapping[str, Deviation]  # readings that stand alone, by line

    @property
    def verdict(self) -> str:
        """Return the gravest word of all that was held against a limit."""
        words = {self.held.verdict, *([self.twist_held.verdict] if self.twist_held else [])}
        return next(word for word in _GRAVEST_FIRST if word in words)

    @property
    def is_good(self) -> bool:
        """Return whether nothing is beyond its limit, nor in doubt."""
        return self.verdict in (WITHIN, NO_LIMIT)

    @property
    def shape(self) -> Straightness:
        """Return the line whose bows tell where to fasten: the middle, or the worst line."""
        return self.bow or self.lines[self.worst]


def judge(survey: Survey) -> Judged:
    """Judge how straight an edge is.

    Raises:
        JobError: no stretch of the length that the limit is for holds three readings.
    """
    said = survey.settings
    doubt = None if survey.half is None else 2.0 * survey.half
    lines, parts = _parts(survey)
    worst, zone, stretch = _worst(survey, lines)
    value = abs(lines[worst].largest.value) if said.limit_on == "ends" else zone.width
    found = {name: doubtful_reading(line, doubt or 0.0) for name, line in lines.items()}
    twist, twist_held = parts.get("twist"), None
    if isinstance(twist, Twist) and said.twist_limit is not None and said.apart is not None:
        # Each of two angles hangs on two readings.
        give = None if doubt is None else 2.0 * doubt / said.apart
        twist_held = hold(twist.largest, said.twist_limit, give)
    return Judged(
        survey=survey,
        lines=lines,
        doubt=doubt,
        worst=worst,
        zone=zone,
        stretch=stretch,
        held=hold(value, said.limit, doubt, _largest_gap(survey)),
        twist_held=twist_held,
        questions={name: reading for name, reading in found.items() if reading is not None},
        **parts,
    )


def hold(
    value: float, limit: float | None, doubt: float | None, at_most: float | None = None
) -> Held:
    """Hold a value against a limit.

    Value, limit and doubt are mm, or radians. No limit was stated where it is None; the doubt is
    the most by which the value can be off, None counts as exact.
    """
    give = doubt or 0.0
    if limit is None:
        verdict = NO_LIMIT
    elif max(value + give, at_most or 0.0) <= limit + _ROUNDING:
        verdict = WITHIN
    elif value - give > limit + _ROUNDING:
        verdict = BEYOND
    else:
        verdict = CANNOT_TELL
    return Held(verdict=verdict, value=value, limit=limit, doubt=doubt, at_most=at_most)


def hold_gap(gaps: Sequence[float], limit: float | None) -> Held:
    """Hold what one blade or two told of the whole edge against a limit.

    Args:
        gaps: mm; X: nothing over X goes under, so the width is X at most; or X and Y: X goes and
            Y does not, so the width is X at least and less than Y.
        limit: mm; None where none was stated.

    Returns:
        The middle of what the width can be, in doubt by half of it, with its verdict.

    Source: the width is the largest gap under a straightedge that is rocked until that gap is
    smallest: see `jiggen.geometry.straightness`.
    """
    low, high = (0.0, *gaps)[-2:]
    return hold((low + high) / 2.0, limit, (high - low) / 2.0)


def _parts(survey: Survey) -> tuple[dict[str, Straightness], dict[str, Any]]:
    """Return the lines that are judged, and what two lines of readings hold together."""
    lines = {name: straightness(*survey.line(name)) for name in survey.lines}
    if survey.pair is None:
        return lines, {}
    at, firsts, seconds = survey.line(*survey.pair)
    one, two = straightness(at, firsts), straightness(at, seconds)
    if survey.pair[0] == "deviation":
        edge, rod = (straightness(at, off) for off in without_own_error(one.off, two.off))
        return {"deviation": edge}, {"own": rod}
    if survey.pair[0] == "upper":
        middle, change = bow_and_thickness(one.off, two.off)
        return lines, {"bow": straightness(at, middle), "thickness_change": change}
    front, rear, apart = one.off, two.off, survey.settings.apart
    if survey.own_datum:
        # Two straightedges do not know of each other's slope: only what bends is left.
        front, rear = front - one.ends.over(one.at), rear - two.ends.over(two.at)
    return lines, {
        "bow": straightness(at, (front + rear) / 2.0),
        "parting": None if survey.own_datum else front - rear,
        "twist": None if apart is None else twist_of(one.at, front, rear, apart),
    }


def _worst(
    survey: Survey, lines: Mapping[str, Straightness]
) -> tuple[str, Zone, tuple[float, float] | None]:
    """Return which line is farthest from straight, its zone, and on which stretch."""
    said = survey.settings
    if said.over is None:
        ends = said.limit_on == "ends"
        sizes = {n: abs(s.largest.value) if ends else s.zone.width for n, s in lines.items()}
        name = max(sizes, key=lambda n: sizes[n])
        return name, lines[name].zone, None
    stretches = {
        name: found
        for name, line in lines.items()
        if (found := worst_stretch(line.at, line.off, said.over)) is not None
    }
    if not stretches:
        problem = "is so short that no such stretch holds three readings"
        remedy = "take readings closer together"
        raise JobError([Fault(file=survey.file, key="over", problem=problem, remedy=remedy)])
    name = max(stretches, key=lambda n: stretches[n][0].width)
    zone, first, last = stretches[name]
    return name, zone, (first, last)


def _largest_gap(survey: Survey) -> float | None:
    """Return the largest gap, mm, where the straightedge touches at places that were not read.

    It touches at two places; or at one, held so that the gaps beside it are equal, and then the
    largest gap is the zone's width.
    """
    if survey.reads != GAP:
        return None
    largest, are_all_read = 0.0, True
    half = survey.half or 0.0
    for name in survey.lines:
        at, heights = survey.line(name)
        gaps = [abs(height) for height in heights]
        touching = sum(gap <= 2.0 * half + _ROUNDING for gap in gaps)
        held_level = straightness(at, heights).zone.width + 2.0 * half + _ROUNDING >= max(gaps)
        are_all_read = are_all_read and (touching >= 2 or held_level)
        largest = max(largest, max(gaps) + half)
    return None if are_all_read else largest
