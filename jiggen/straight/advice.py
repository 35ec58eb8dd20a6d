"""What to do about an edge that is not straight: what to read again, where to pin, how to rivet on.

Pinning from the largest bow outward and alternating the rivets are common practice; no published
source was found for either.
"""

from __future__ import annotations

from typing import NamedTuple

from jiggen.geometry.bow import bows
from jiggen.geometry.straightness import Deviation
from jiggen.straight.judge import BEYOND, CANNOT_TELL, Judged
from jiggen.units import say_length

STEEP = 1.0 / 32.0
"""A slope of the readings beyond this is no straightedge laid along an edge: columns exchanged?"""


class NamedBow(NamedTuple):
    """A bow with its direction in words.

    Attributes:
        at: place of its summit, mm.
        value: off the line through the ends, mm.
        way: which way it goes.
        back: the other way.
    """

    at: float
    value: float
    way: str
    back: str


def say(judged: Judged, mm: float) -> str:
    """Say a length of a survey in its units, with a third decimal of mm where it is small."""
    units = judged.survey.units
    fine = units == "mm" and max(s.zone.width for s in judged.lines.values()) < 0.1
    return say_length(mm, units, 3 if fine else None)


def place(judged: Judged, mm: float) -> str:
    """Say a place along the edge, without decimals that nobody measured."""
    return say_length(mm, judged.survey.units, 1 if judged.survey.units == "mm" else 2)


def named_bows(judged: Judged) -> list[NamedBow]:
    """Return the bows of the shape, the largest first, each with its way in words."""
    faces = judged.survey.pair == ("upper", "lower")
    ways = ("toward the upper face", "toward the lower face") if faces else judged.survey.ways
    return [_named(b, ways) for b in bows(judged.shape, judged.doubt or 0.0)]


def _named(bow: Deviation, ways: tuple[str, str]) -> NamedBow:
    way, back = ways if bow.value > 0.0 else ways[::-1]
    return NamedBow(bow.at, bow.value, way, back)


def advice(judged: Judged) -> list[str]:
    """Say what to do next. Pinning and alternating are common practice, no published source."""
    survey = judged.survey
    lines = [
        f"Read {name} at {place(judged, r.at)} again: by itself it stands "
        f"{say(judged, abs(r.value))} off a line that all others keep. A slip, a burr or a dent."
        for name, r in judged.questions.items()
    ]
    if any(abs(s.least_squares.slope) > STEEP for s in judged.lines.values()):
        lines.append(
            "The readings climb steeply along the edge: are position and deviation in their own "
            "columns and units? Lay the straightedge nearer to the edge's direction."
        )
    if judged.verdict == CANNOT_TELL:
        lines.append(
            "The limit lies within what the readings may be off: read again with a finer step, "
            "such as feeler blades or a dial gauge."
        )
    named = named_bows(judged)
    if named:
        lines.append(_pin(judged, named[0]))
        across = set(survey.ways) == {"up", "down"} or survey.pair == ("upper", "lower")
        if across:
            lines.append(
                f"A rivet stretches the skin most where its shop head is formed, and the edge bows "
                f"toward that side. Form the next shop heads near {place(judged, named[0].at)} on "
                f"the other side ({named[0].back}), alternate from then on, and read again after "
                "a few rivets. Common practice, no published source."
            )
    if judged.verdict == BEYOND:
        lines.append("Is it riveted already? Then ask whoever signs for it before you bend it.")
    if not named and judged.is_good:
        lines.append("Write it into the builder's log; read again when all rivets are in.")
    return lines


def _pin(judged: Judged, bow: NamedBow) -> str:
    twist = judged.twist
    apart = judged.survey.settings.apart
    sentence = (
        f"Pin first at {place(judged, bow.at)}, where it bows {bow.way}, drawn straight against a "
        "stiff bar; then from there out to both ends."
    )
    if twist is not None and apart and twist.largest > 2.0 * (judged.doubt or 0.0) / apart:
        sentence += " It twists too: hold front and rear line down on a flat surface meanwhile."
    return sentence
