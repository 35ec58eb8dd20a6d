"""From a survey to a verdict: is the edge straight enough, what is its shape, what would help.

No reading is off by more than half a step, so no width between two lines, and no distance from a
line, is off by more than a whole one: the highest reading may be half a step high and the lowest
half a step low. Where the limit lies within that, nobody can tell.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from jiggen.errors import Fault, JobError
from jiggen.geometry.bow import (
    Twist,
    bow_and_thickness,
    doubtful_reading,
    twist_of,
    without_own_error,
)
from jiggen.geometry.straightness import (
    Array,
    Deviation,
    Straightness,
    straightness,
    worst_stretch,
)
from jiggen.straight.survey import Survey

WITHIN = "within the limit"
BEYOND = "beyond the limit"
CANNOT_TELL = "cannot tell"
NO_LIMIT = "no limit stated"

_GRAVEST_FIRST = (BEYOND, CANNOT_TELL, WITHIN, NO_LIMIT)

_ROUNDING = 1e-9
"""mm, and radians: a value that equals the limit but for the arithmetic is within it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """One value held against one limit.

    Attributes:
        verdict: one of the four words.
        value: mm, or radians for a twist.
        limit: the same unit; None where none was stated.
        doubt: the most by which the value can be off, same unit; None if it is not known.
    """

    verdict: str
    value: float
    limit: float | None
    doubt: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A survey with all that follows from it. Lengths in mm, angles in radians.

    Attributes:
        survey: as read.
        lines: each line of readings by itself; a straightedge's own error is taken out of
            ``deviation`` where it was turned.
        bow: of the middle between two lines; None for a single line.
        twist: from a front and a rear line that are a known way apart; else None.
        thickness_change: (n,) of both faces together; None without both.
        own: the straightedge's own shape, where it was turned; else None.
        doubt: the most by which a width or a distance from a line can be off; None if not known.
        worst: name of the line that is held against the limit.
        stretch: first and last position of the worst stretch; None where the limit is for all.
        held: that line against the limit.
        twist_held: the twist against its limit; None where none was stated.
        questions: readings that stand alone, by line.
    """

    survey: Survey
    lines: Mapping[str, Straightness]
    bow: Straightness | None
    twist: Twist | None
    thickness_change: Array | None
    own: Straightness | None
    doubt: float | None
    worst: str
    stretch: tuple[float, float] | None
    held: Held
    twist_held: Held | None
    questions: Mapping[str, Deviation]

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
        """Return the line whose bows tell where to pin: the middle, or the worst line."""
        return self.bow or self.lines[self.worst]


def judge(survey: Survey) -> Judged:
    """Judge how straight an edge is.

    Args:
        survey: as read.

    Returns:
        The verdict and what it rests on.

    Raises:
        JobError: no stretch of the length that the limit is for holds three readings.
    """
    said = survey.settings
    doubt = None if said.half is None else 2.0 * said.half
    parts = _parts(survey)
    worst, value, stretch = _worst(survey, parts.lines)
    found = {name: doubtful_reading(line, doubt or 0.0) for name, line in parts.lines.items()}
    return Judged(
        survey=survey,
        lines=parts.lines,
        bow=parts.bow,
        twist=parts.twist,
        thickness_change=parts.thickness_change,
        own=parts.own,
        doubt=doubt,
        worst=worst,
        stretch=stretch,
        held=_held(value, said.limit, doubt),
        twist_held=_twist_held(survey, parts.twist),
        questions={name: reading for name, reading in found.items() if reading is not None},
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Parts:
    """What the lines of a survey are made of, told apart; see `Judged`."""

    lines: Mapping[str, Straightness]
    bow: Straightness | None = None
    twist: Twist | None = None
    thickness_change: Array | None = None
    own: Straightness | None = None


def _parts(survey: Survey) -> _Parts:
    """Tell apart what two lines of readings hold together."""
    lines = {name: straightness(*survey.line(name)) for name in survey.lines}
    if survey.pair is None:
        return _Parts(lines=lines)
    places, firsts, seconds = survey.both()
    one, two = straightness(places, firsts), straightness(places, seconds)
    if survey.pair[0] == "deviation":
        edge, rod = (straightness(one.at, off) for off in without_own_error(one.off, two.off))
        return _Parts(lines={"deviation": edge}, own=rod)
    if survey.pair[0] == "front":
        said = survey.settings
        bow, twist = _bow_and_twist(one, two, said.apart, said.datum == "each")
        return _Parts(lines=lines, bow=bow, twist=twist)
    middle, change = bow_and_thickness(one.off, two.off)
    return _Parts(lines=lines, bow=straightness(one.at, middle), thickness_change=change)


def _bow_and_twist(
    front: Straightness, rear: Straightness, apart: float | None, own_datum: bool
) -> tuple[Straightness, Twist | None]:
    """Return the bow of the middle, and the twist where the lines are a known way apart."""
    ahead, behind = front.off, rear.off
    if own_datum:
        # Two straightedges do not know of each other's slope: only what bends is left.
        ahead = ahead - front.ends.over(front.at)
        behind = behind - rear.ends.over(rear.at)
    bow = straightness(front.at, (ahead + behind) / 2.0)
    return bow, None if apart is None else twist_of(front.at, ahead, behind, apart)


def _worst(
    survey: Survey, lines: Mapping[str, Straightness]
) -> tuple[str, float, tuple[float, float] | None]:
    """Return which line is farthest from straight, by how much, and on which stretch."""
    said = survey.settings
    if said.over is None:
        ends = said.limit_on == "ends"
        sizes = {n: abs(s.largest.value) if ends else s.zone.width for n, s in lines.items()}
        name = max(sizes, key=lambda n: sizes[n])
        return name, sizes[name], None
    stretches = {
        name: found
        for name, line in lines.items()
        if (found := worst_stretch(line.at, line.off, said.over)) is not None
    }
    if not stretches:
        raise JobError(
            [
                Fault(
                    file=survey.file,
                    key="over",
                    problem="is so short that no such stretch holds three readings",
                    remedy="take readings closer together",
                )
            ]
        )
    name = max(stretches, key=lambda n: stretches[n][0].width)
    zone, first, last = stretches[name]
    return name, zone.width, (first, last)


def _held(value: float, limit: float | None, doubt: float | None) -> Held:
    """Hold a value against a limit."""
    give = doubt or 0.0
    if limit is None:
        verdict = NO_LIMIT
    elif value + give <= limit + _ROUNDING:
        verdict = WITHIN
    elif value - give > limit + _ROUNDING:
        verdict = BEYOND
    else:
        verdict = CANNOT_TELL
    return Held(verdict=verdict, value=value, limit=limit, doubt=doubt)


def _twist_held(survey: Survey, twist: Twist | None) -> Held | None:
    said = survey.settings
    if twist is None or said.twist_limit is None or said.apart is None:
        return None
    # Each of two angles hangs on two readings.
    doubt = None if said.half is None else 4.0 * said.half / said.apart
    return _held(twist.largest, said.twist_limit, doubt)
