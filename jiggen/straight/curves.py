"""What the picture of an edge shows, whoever draws it: curves about a straight line, and bands.

Readings are shown as they are off a straight line, so that the slope at which the straightedge lay
does not hide the bow.
"""

from __future__ import annotations

from dataclasses import dataclass

from jiggen.geometry.straightness import Array, Straightness
from jiggen.straight.judge import Judged

LEAST_REACH = 0.01
"""mm: a straighter edge than this fills the picture no further; nobody reads finer by hand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """One line of readings.

    Attributes:
        name: of the line.
        at: (n,) positions, mm.
        off: (n,) distances from the straight line that the picture is about, mm.
    """

    name: str
    at: Array
    off: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """The curves and what they are held against.

    Attributes:
        curves: one or two.
        about: what the straight line at 0 is, in words.
        zone: half the width of the minimum zone, mm; None for two lines.
        limit: half the width of the band that the limit allows, mm; None where there is none for
            the whole length.
        reach: the largest height that is shown, mm, above zero.
        span: first and last position, mm.
    """

    curves: tuple[Curve, ...]
    about: str
    zone: float | None
    limit: float | None
    reach: float
    span: tuple[float, float]


def picture_of(judged: Judged) -> Picture:
    """Return what to show of a survey.

    Args:
        judged: the survey.
    """
    said = judged.survey.settings
    on_ends = said.limit_on == "ends"
    lines = dict(judged.lines)
    if judged.bow is not None and judged.survey.pair == ("front", "rear") and said.datum != "each":
        # Both about the middle's line: their distance from each other is the twist.
        line, about = judged.bow.zone.middle, "the middle of the zone of front and rear together"
        curves = [Curve(name=n, at=s.at, off=s.off - line.over(s.at)) for n, s in lines.items()]
        limit = zone = None
    else:
        curves = [Curve(name=n, at=s.at, off=_about(s, on_ends)) for n, s in lines.items()]
        about = "the line through the ends" if on_ends else "the middle of the minimum zone"
        zone = judged.lines[judged.worst].zone.width / 2.0 if len(curves) == 1 else None
        zone = None if on_ends else zone
        limit = said.limit if said.over is None else None
        limit = limit / 2.0 if limit is not None and not on_ends else limit
    highest = max(abs(float(v)) for curve in curves for v in curve.off)
    places = [float(x) for curve in curves for x in curve.at]
    return Picture(
        curves=tuple(curves),
        about=about,
        zone=zone,
        limit=limit,
        reach=max(highest, zone or 0.0, limit or 0.0, LEAST_REACH),
        span=(min(places), max(places)),
    )


def _about(line: Straightness, on_ends: bool) -> Array:
    return line.off - (line.ends if on_ends else line.zone.middle).over(line.at)
