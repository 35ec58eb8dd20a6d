"""What every verdict is made of: checks of an error against its limit, and questions.

A check is an error with its doubt against what is allowed; a verdict is the worst of its checks. A
reading that cannot be meant makes a question instead, and no number is built on it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Literal

from msgspec import Struct, field

from jiggen.geometry.slips import Slip
from jiggen.proof.record import PieceRecord
from jiggen.units import Angle, Length, Words, joined, words

USE, DO_NOT_USE, CANNOT_TELL = "use", "do not use", "cannot tell"

ALLOWED_ANGLE = math.radians(0.5)
"""Angle error allowed where the piece does not say: the step of a workshop protractor."""

ALLOWED_LENGTH = 0.25
"""mm, where a piece has no check angle and does not say: a hole of a template must stay inside the
punched hole's edge. Common practice, no published source."""

SAID_TRUE = 0.005  # mm: an error of less is no number to anybody

Stage = Literal["page", "bed", "piece", "hole"]


def worst_of(verdicts: Iterable[str]) -> str:
    """Return the verdict on a whole: one bad part condemns it, one doubtful one leaves doubt."""
    some = set(verdicts)
    for word in (DO_NOT_USE, CANNOT_TELL):
        if word in some:
            return word
    return USE if some else CANNOT_TELL


class Check(Struct, frozen=True, kw_only=True):
    """One thing that must hold: an error with its doubt against its limit."""

    what: str  # name of a check angle or a check dimension
    nominal: float  # as drawn, radians or mm
    error: float  # as it came out less nominal
    doubt: float  # about 95 %, same unit
    limit: float  # largest error allowed; infinite where it does not count
    is_angle: bool = False  # radians, not mm

    @property
    def verdict(self) -> str:
        """Return whether the error is inside its limit, outside, or cannot be told."""
        if abs(self.error) + self.doubt <= self.limit:
            return USE
        return DO_NOT_USE if abs(self.error) - self.doubt > self.limit else CANNOT_TELL

    @property
    def share_of_limit(self) -> float:
        """Return how much of the limit error and doubt take; rounded, so no last digit chooses."""
        return round((abs(self.error) + self.doubt) / max(self.limit, 1e-9), 6)

    def said(self) -> Words:
        """Say it: as drawn, as it came out, give or take what, and what is allowed."""
        if self.is_angle:
            return words(
                "{what} angle drawn {nominal} came out {is_}, give or take {doubt}; {limit} is "
                "allowed",
                what=self.what,
                nominal=Angle(self.nominal),
                is_=Angle(self.nominal + self.error),
                doubt=Angle(math.radians(rounded_up(math.degrees(self.doubt)))),
                limit=Angle(self.limit),
            )
        way = "{error} short" if self.error < 0.0 else "{error} long"
        off = way if abs(self.error) >= SAID_TRUE else "as drawn"
        return words(
            f"{{what}} of {{nominal}} came out {off}, give or take {{doubt}}; {{limit}} is allowed",
            what=self.what,
            nominal=Length(self.nominal),
            error=Length(abs(self.error)),
            doubt=Length(rounded_up(self.doubt)),
            limit=Length(self.limit),
        )


def rounded_up(doubt: float, places: int = 2) -> float:
    """Return a doubt rounded up to the decimals that are said: never less than it is."""
    share = 10.0**places
    return math.ceil(doubt * share - 1e-9) / share


def angle_limit(piece: PieceRecord) -> float:
    """Return the largest angle error of a piece, radians."""
    return ALLOWED_ANGLE if piece.allowed_angle is None else piece.allowed_angle


def length_limit(piece: PieceRecord) -> float | None:
    """Return the largest length error of a piece, mm; None where only its angles count."""
    if piece.allowed_length is not None:
        return piece.allowed_length
    return None if piece.angles else ALLOWED_LENGTH


class Question(Struct, frozen=True, kw_only=True):
    """Readings that are asked about and left out of the sums."""

    readings: tuple[str, ...]
    likely: str  # what went wrong, most likely; see `Slip.kind`
    text: Words  # for the person who measured, with the numbers and what to do


class CutAngle(Struct, frozen=True, kw_only=True):
    """One check angle of a finished piece."""

    name: str
    nominal: float  # as drawn, radians
    value: float  # as cut, radians
    plus_minus: float = math.pi  # about 95 %, radians
    residuals: dict[str, float] = field(
        default_factory=dict
    )  # reading less fitted length by name, mm
    determined: bool = False  # False where the readings say little about this angle
    consistent: bool = False  # False where they contradict one another
    missing: tuple[str, ...] | None = ()  # lengths that would determine it; None where none would
    verdict: str = CANNOT_TELL  # on this check edge by itself
    added: float = 0.0  # what plates glued on turn the bit further, as if of this angle, radians
    drift: float | None = None  # where a hole drilled with it comes out, mm; None without a hole
    drift_plus_minus: float | None = None  # about 95 %, mm; None without a hole
    hole: int | None = None  # number of the hole that the drift is told for; None without one


class Judged(Struct, frozen=True, kw_only=True):
    """A verdict on one piece, a row of pieces, or the test holes drilled with one."""

    name: str
    stage: Stage  # what it rests on: the page or bed where it lies, the cut piece, or a test hole
    verdict: str
    why: Words  # what it rests on, in words
    to_decide: Words | None = None  # what would decide it where it is open
    questions: tuple[Question, ...] = ()  # what is asked about; no number then means anything
    sheet: str = ""  # where it lies; empty for what was cut or drilled
    worst: Check | None = None  # of its check angles on a sheet the one that came out worst
    length_error_worst: float | None = None  # mm, without sign; None where it is not known
    angles: tuple[CutAngle, ...] = ()  # its check angles as cut
    tilt: tuple[tuple[float, float], tuple[float, float]] | None = None  # along x and y, off; 95 %
    drift: tuple[float, float] | None = None  # at the exit of a hole of the part, along x and y, mm
    worst_hole: int | None = None  # number of the part's hole that makes most of its error


def asked_about(name: str, stage: Stage, questions: Sequence[Question], sheet: str = "") -> Judged:
    """Return the open verdict on what cannot be judged before its readings are asked about."""
    return Judged(
        name=name,
        stage=stage,
        verdict=CANNOT_TELL,
        why=joined([question.text for question in questions], " "),
        questions=tuple(questions),
        sheet=sheet,
    )


_SCALED = {
    "page": "the page was scaled when it was printed. Print it again at 100 % (actual size)",
    "bed": "the file was scaled when the machine's program took it in. Import it in millimetres at "
    "its own size, and cut one piece again",
    "piece": "was it cut at another scale? Measure it again",
}
_FURTHER = {
    "page": "than fitting a page to its paper makes it. Measure again; if it stays, print at 100 %",
    "bed": "than a machine's steps make it. Measure again; if it stays, import the file in "
    "millimetres",
    "piece": "than anyone cuts. Measure again, over the letters that it names",
}
_AGAIN = {
    "page": "Measure again: bars between the middles of their ticks, the rest from cross to cross",
    "bed": "Measure again; if it stays, the axes of the machine are not square",
    "piece": "Measure again, burrs off, square across the corners",
}


def question_of(slip: Slip, on: Stage) -> Question:
    """Return the question that a slip makes, by what was measured.

    Paper has a print dialog, a machine has an import.
    """
    one = len(slip.readings) == 1
    share = sum(slip.given) / sum(slip.expected)
    opening = joined(
        [
            words("{name} {given}, drawn {drawn}", name=name, given=Length(g), drawn=Length(e))
            for name, g, e in zip(slip.readings, slip.given, slip.expected, strict=True)
        ][:4]
    )
    if slip.kind == "scale":
        text = words(
            "{names} are all about {share} of their drawn lengths: {todo}",
            names=", ".join(slip.readings),
            share=f"{share:.1%}",
            todo=_SCALED[on],
        )
    elif slip.kind == "contradiction":
        text = words(
            "{name} was read as {given}, where the other readings put it at {expected}: these "
            "contradict each other. {again}",
            name=slip.readings[0],
            given=Length(slip.given[0]),
            expected=Length(slip.expected[0]),
            again=_AGAIN[on],
        )
    else:
        what = {
            "unit": f"{'was it' if one else 'were they'} read in another unit? Write "
            f'{"it" if one else "each"} with its unit, such as "mm" or "in"',
            "decimal": "a decimal point shifted, or centimetres? Measure again",
            "swapped": "were the two swapped? Measure again",
            "far": f"that is {share:.1%} of what was drawn, further off {_FURTHER[on]}",
        }[slip.kind]
        rest = len(slip.readings) - 4
        more = f" and {rest} more" if rest > 0 else ""
        text = words("{opening}{more}: {what}", opening=opening, more=more, what=what)
    return Question(readings=slip.readings, likely=slip.kind, text=text)
