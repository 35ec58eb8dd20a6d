"""The kinds of measured value in a job file, and the limits that a value may have."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from jiggen.facts.drills import read_drill
from jiggen.units import (
    UnitError,
    read_angle,
    read_length,
    read_rate,
    say_angle,
    say_length,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A kind of measured value: how it is read and how it is said.

    Attributes:
        noun: what it is called in a fault, e.g. ``a length``.
        read: from what the user wrote and the job's units to mm, radians or a pure ratio.
        say: from that value and the job's units to text.
    """

    noun: str
    read: Callable[[object, str], float]
    say: Callable[[float, str], str]


LENGTH = Quantity(noun="a length", read=read_length, say=say_length)
ANGLE = Quantity(
    noun="an angle",
    read=lambda given, units: read_angle(given),
    say=lambda value, units: say_angle(value),
)
BORE = Quantity(
    noun="a length or a drill",
    read=lambda given, units: (
        read_drill(given, units).diameter if isinstance(given, str) else read_length(given, units)
    ),
    say=say_length,
)
RATE = Quantity(
    noun="a taper rate",
    read=lambda given, units: read_rate(given),
    say=lambda value, units: f"{value:g}",
)


def _read_share(given: object, units: str) -> float:
    if isinstance(given, str):
        raise UnitError("is not a plain number", "write a number such as 0.9")
    return read_rate(given)


NUMBER = Quantity(noun="a number", read=_read_share, say=RATE.say)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a value may be, in mm, radians or as a pure ratio; None where there is no limit.

    Attributes:
        above: it must be larger than this.
        at_least: it may not be smaller than this.
        below: it must be smaller than this.
        at_most: it may not be larger than this.
    """

    above: float | None = None
    at_least: float | None = None
    below: float | None = None
    at_most: float | None = None

    def broken_by(self, value: float, quantity: Quantity, units: str) -> str:
        """Return which limit `value` breaks, said for people; empty if it breaks none."""
        if self.above is not None and not value > self.above:
            return f"must be more than {self._say(self.above, quantity, units)}"
        if self.at_least is not None and not value >= self.at_least:
            return f"must be at least {self._say(self.at_least, quantity, units)}"
        if self.below is not None and not value < self.below:
            return f"must be less than {self._say(self.below, quantity, units)}"
        if self.at_most is not None and not value <= self.at_most:
            return f"must be at most {self._say(self.at_most, quantity, units)}"
        return ""

    def _say(self, limit: float, quantity: Quantity, units: str) -> str:
        return quantity.say(limit, units) if limit else "0"


ANY = Limits()
POSITIVE = Limits(above=0.0)
NOT_NEGATIVE = Limits(at_least=0.0)
