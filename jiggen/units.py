"""Lengths, angles and taper rates from text to mm and radians, and back to text for people.

Everything is read as an exact fraction and turned into a float once, at the end, so that
3/32 in, 0.09375 in and 2.38125 mm are the same number, and 3/16 in per ft is exactly 1/64.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct, field

from jiggen.errors import JiggenError, Sentence

INCH = 25.4
"""One inch in mm, exactly, by the international inch of 1959."""

_INCH_EXACTLY = Decimal("25.4")

LONGEST = 100_000.0
"""No length in a job is longer than this, mm: 100 m. More is a slip of the unit."""

SHORTEST = 1e-6
"""A length nearer to 0 than this, mm, is 0: a millionth of a mm is no size, and divides badly."""

_LENGTH_UNITS: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "um": Fraction(1, 1000),
    "in": Fraction(254, 10),
    "ft": Fraction(3048, 10),
}
# The micro sign and the Greek mu look the same and both are on keyboards.
_LENGTH_WORDS = {
    "inch": "in",
    "inches": "in",
    '"': "in",
    "foot": "ft",
    "feet": "ft",
    "'": "ft",
    "\N{MICRO SIGN}m": "um",
    "\N{GREEK SMALL LETTER MU}m": "um",
}
_ANGLE_WORDS = {
    "deg": ("deg", "degree", "degrees", "\N{DEGREE SIGN}"),
    "min": ("min", "minute", "minutes", "'"),
    "sec": ("sec", "second", "seconds", '"'),
    "rad": ("rad", "radian", "radians"),
}
_ANGLE_UNITS = {word: unit for unit, words in _ANGLE_WORDS.items() for word in words}
_ANGLE_SHARES = {"deg": Fraction(1), "min": Fraction(1, 60), "sec": Fraction(1, 3600)}

_QUOTES = str.maketrans(
    {
        "\N{PRIME}": "'",
        "\N{RIGHT SINGLE QUOTATION MARK}": "'",
        "\N{DOUBLE PRIME}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
        "\N{MINUS SIGN}": "-",
        "\N{NO-BREAK SPACE}": " ",
    }
)
# 1 1/4 | 1-1/4 | 3/32 | 12 | 12.5 | .5
_NUMBER = r"(?:\d+(?:\s+|-)\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d+\.\d*|\.\d+|\d+)"
_VALUE = re.compile(rf"([+-]?)\s*({_NUMBER})\s*(.*)", re.ASCII | re.DOTALL)
_ANGLE_PART = re.compile(rf"\s*({_NUMBER})\s*([a-z]+|[\"'\N{{DEGREE SIGN}}])\s*", re.ASCII)
_RATIO = re.compile(rf"({_NUMBER})\s*:\s*({_NUMBER})", re.ASCII)
_PER = re.compile(r"\s+per\s+|\s*/\s*(?=[a-z\"'])", re.ASCII)
_COMMA = re.compile(r"([+-]?\d+),(\d+)\s*([^\d\s,][^\d,]*)?", re.ASCII)
_THOUSANDS = 3
_LONGEST_TEXT = 60

_LENGTH_REMEDY = 'write a number, or text with a unit such as "2.5 mm", "3/32 in" or "1 1/4 in"'
_ANGLE_REMEDY = 'write degrees as a number, or "5.7 deg", "5 deg 42 min" or "0.0995 rad"'
_RATE_REMEDY = 'write "3/16 in per ft", "1:8" or a plain number'


class UnitError(JiggenError, ValueError):
    """A length, angle, rate or drill that cannot be understood.

    Attributes:
        problem: what is wrong.
        remedy: what would do.
    """

    def __init__(self, problem: str, remedy: str = "") -> None:
        self.problem = problem
        self.remedy = remedy
        super().__init__(f"{problem}; {remedy}" if remedy else problem)


def read_length(given: object, unit: str = "mm", noun: str = "a length") -> float:
    """Read a length as a person writes it, in a job file, a form or an option.

    Args:
        given: a number, or text: a number with its own unit (mm, cm, m, um, in, ft), or a bare one.
        unit: what a bare number counts in, ``mm`` or ``in``. A bare fraction counts in inches
            alone: no rule is divided into fractions of a millimetre.
        noun: what it is called where it is none.

    Returns:
        The length in mm; 0 where it is nearer to 0 than `SHORTEST`.

    Raises:
        UnitError: not a length, not finite, or longer than 100 m; a fraction without a unit where
            bare numbers are millimetres; a decimal comma, answered with the number to write.
    """
    if isinstance(given, str):
        return _bounded(_as_float(_length_of(given, unit, noun), "length"))
    number = _plain(given, noun, _LENGTH_REMEDY)
    return _bounded(number if unit == "mm" else _inches(number))


def read_angle(given: object) -> float:
    """Read an angle as a person writes it, radians.

    Args:
        given: degrees as a number, or text: "5.7 deg", "5 deg 42 min 10 sec", "0.0995 rad".

    Raises:
        UnitError: not an angle, not finite, or more than a full turn.
    """
    if isinstance(given, str):
        radians = _angle_of(given)
    else:
        radians = math.radians(_plain(given, "an angle", _ANGLE_REMEDY))
    if not abs(radians) <= math.tau:
        raise UnitError("is more than a full turn", _ANGLE_REMEDY)
    return radians


def read_rate(given: object) -> float:
    """Read a taper rate as a pure ratio: how much thickness changes per length.

    Args:
        given: a pure ratio as a number, or text: "3/16 in per ft", "5 mm per 100 mm", "1:8".

    Raises:
        UnitError: not a rate, per no length, or not finite.
    """
    if not isinstance(given, str):
        return _plain(given, "a taper rate", _RATE_REMEDY)
    text = _tidy(given, _RATE_REMEDY)
    if ratio := _RATIO.fullmatch(text):
        rise, run = (_fraction(part, _RATE_REMEDY) for part in ratio.groups())
    else:
        parts = _PER.split(text)
        if len(parts) != 2:
            raise UnitError("is not a taper rate", _RATE_REMEDY)
        over = parts[1] if parts[1][:1] in tuple("0123456789.") else f"1 {parts[1]}"
        rise, run = _length_of(parts[0]), _length_of(over)
    if run <= 0:
        raise UnitError("is a rate per no length", _RATE_REMEDY)
    return _as_float(rise / run, "taper rate")


def say_length(mm: float, units: str = "mm", places: int | None = None) -> str:
    """Say a length to a person in `units`, ``mm`` or ``in``: ``2.49 mm``, ``0.0980 in``.

    With 2 decimals in mm and 4 in inches, if `places` is left out.
    """
    value = mm / INCH if units == "in" else mm
    decimals = places if places is not None else (4 if units == "in" else 2)
    return f"{value:z.{decimals}f} {units}"


def say_size(mm: float, units: str = "mm") -> str:
    """Say a size of stock in `units` as it is bought: a fraction of an inch where it is one.

    For example ``3 mm``, ``1/8 in``, or ``0.118 in`` where no rule has such a fraction.
    """
    if units == "in":
        fraction = say_fraction(mm, 32)
        return fraction if not fraction.startswith("about") else say_length(mm, units, 3)
    return f"{mm:.3f}".rstrip("0").rstrip(".") + " mm"


class Length(Struct, frozen=True):
    """A length that is said in the reader's own unit, at the last moment."""

    mm: float  # the length in mm
    # decimals where it is said in mm; one more in inches. None says it as stock is bought, see
    # `say_size`
    places: int | None = 2
    toward: int = 0  # 1 or -1 where it may be rounded up or down only: told "or more", it must do
    inches: int | None = None  # decimals of an inch, where they are not one more

    def said(self, units: str = "mm") -> str:
        """Return the length with its unit, ``mm`` or ``in``."""
        places = self._places(units)
        if places is None:
            return say_size(self.mm, units)
        mm = self.mm
        if self.toward:
            step = (INCH if units == "in" else 1.0) / 10.0**places
            mm = (math.ceil if self.toward > 0 else math.floor)(
                mm / step - self.toward * 1e-6
            ) * step
        if self.places is None:
            return say_size(mm, "mm") if units == "mm" else say_length(mm, units, places)
        return say_length(mm, units, places)

    def _places(self, units: str) -> int | None:
        if self.places is None:
            return (3 if units == "in" else 1) if self.toward else None
        if units == "mm":
            return self.places
        return self.places + 1 if self.inches is None else self.inches


def size(mm: float) -> Length:
    """Return a length that is said as stock is bought, or as the user stated it: no idle zeros."""
    return Length(mm, None)


def fine(mm: float) -> Length:
    """Return a length that a calliper reads: 0.01 mm, or .0001 in."""
    return Length(mm, 2, inches=4)


def or_more(mm: float) -> Length:
    """Return the least that will do, never rounded below itself."""
    return Length(mm, None, 1)


def or_less(mm: float) -> Length:
    """Return the most that will do, never rounded above itself."""
    return Length(mm, None, -1)


class Span(Struct, frozen=True):
    """The least and the greatest of some lengths, said as one where they are said alike."""

    low: Length  # the least
    high: Length  # the greatest

    def said(self, units: str = "mm") -> str:
        """Return ``2.41 to 2.62 mm``, or the one length."""
        low, high = self.low.said(units), self.high.said(units)
        return low if low == high else f"{low.rsplit(' ', 1)[0]} to {high}"


def span(values: Iterable[float]) -> Span:
    """Return the least and the greatest of some lengths, mm, at least one, as a calliper reads."""
    some = tuple(values)
    return Span(fine(min(some)), fine(max(some)))


class Angle(Struct, frozen=True):
    """An angle in a sentence: radians, said in degrees."""

    radians: float
    places: int = 2

    def said(self, units: str = "mm") -> str:
        """Return the angle in degrees, whatever the unit of lengths."""
        return say_angle(self.radians, self.places)


class Words(Struct, frozen=True):
    """A sentence with typed lengths in it: ``{name}`` stands for each of `values`.

    Lengths are said in the reader's unit when the sentence is shown, never before; what a user
    wrote goes in as a value and comes out as it was written.
    """

    template: str  # the sentence, with names in braces
    # a `Length`, a `Span`, an `Angle`, other `Words`, or what is said as it is
    values: Mapping[str, object] = field(default_factory=dict)

    def said(self, units: str = "mm") -> str:
        """Return the sentence with lengths in ``mm`` or ``in``."""
        return self.template.format_map({k: _in_unit(v, units) for k, v in self.values.items()})

    def __str__(self) -> str:
        return self.said()


def words(template: str, **values: object) -> Words:
    """Return a sentence whose ``{name}`` are `values`; a brace of its own is doubled."""
    return Words(template, values)


def joined(parts: Iterable[Sentence], between: str = "; ") -> Words:
    """Return several sentences as one; plain text among them is taken as it is."""
    some = {f"part{n}": part for n, part in enumerate(parts)}
    return Words(between.join(f"{{{name}}}" for name in some), some)


def bare(said: object, units: str) -> str:
    """Return lengths as text without their unit, for a table that has the unit in its head."""
    return re.sub(rf"(?<=\d) {units}\b", "", _in_unit(said, units))


def _in_unit(said: object, units: str) -> str:
    return said.said(units) if isinstance(said, Length | Span | Angle | Words) else str(said)


def say_angle(radians: float, places: int = 2, mark: str = " deg") -> str:
    """Say an angle to a person, in degrees: ``84.30 deg``.

    `mark` follows the number; it is a degree sign where there is room for nothing else.
    """
    return f"{math.degrees(radians):z.{places}f}{mark}"


def say_fraction(mm: float, denominator: int = 64) -> str:
    """Say a length as the nearest fraction on a rule that goes to 1/`denominator` in.

    For example ``1 1/4 in``; with ``about`` before it when it is off by more than 0.0005 in.
    """
    steps = round(abs(mm) / INCH * denominator)
    off = abs(abs(mm) / INCH - steps / denominator)
    whole, rest = divmod(Fraction(steps, denominator), 1)
    parts = [str(whole)] if whole or not rest else []
    if rest:
        parts.append(f"{rest.numerator}/{rest.denominator}")
    sign = "-" if mm < 0 and steps else ""
    return f"{'about ' if off > 0.0005 else ''}{sign}{' '.join(parts)} in"


def _plain(given: object, noun: str, remedy: str) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise UnitError(f"is not {noun}", remedy)
    try:
        number = float(given)
    except OverflowError:
        raise UnitError(f"is too large for {noun}", remedy) from None
    if not math.isfinite(number):
        raise UnitError("is not a finite number", remedy)
    return number


def _inches(number: float) -> float:
    # By way of its shortest text: 0.098 means 98/1000 in, not the nearest binary number. Decimal
    # holds all digits of such a product, and is quicker than Fraction on a list of holes.
    return float(Decimal(repr(number)) * _INCH_EXACTLY)


def _as_float(exact: Fraction, noun: str) -> float:
    try:
        return float(exact)
    except OverflowError:
        raise UnitError(f"is too large for a {noun}") from None


def _bounded(mm: float) -> float:
    if abs(mm) > LONGEST:
        raise UnitError("is longer than 100 m", "check the unit")
    return mm if abs(mm) >= SHORTEST else 0.0


def _tidy(text: str, remedy: str) -> str:
    if not text.strip():
        raise UnitError("is empty", remedy)
    if len(text) > _LONGEST_TEXT:
        raise UnitError("is too long to be a measurement", remedy)
    return text.translate(_QUOTES).strip().lower()


def _fraction(text: str, remedy: str) -> Fraction:
    """Return the exact value of a number that matched `_NUMBER`."""
    *whole, last = re.split(r"(?<=\d)(?:\s+|-)(?=\d+\s*/)", text)
    try:
        return sum((Fraction(int(part)) for part in whole), Fraction("".join(last.split())))
    except ZeroDivisionError:
        raise UnitError("divides by zero", remedy) from None


def _length_of(given: str, bare: str = "", noun: str = "a length") -> Fraction:
    """Return an exact length, mm; without `bare` a number needs a unit of its own."""
    text = _tidy(given, _LENGTH_REMEDY)
    if comma := _COMMA.fullmatch(text):
        raise UnitError("has a comma", f"write {_with_a_point(*comma.groups(default=''))}")
    match = _VALUE.fullmatch(text)
    if match is None:
        raise UnitError(f"is not {noun}", _LENGTH_REMEDY)
    sign, number, word = match.groups()
    if not word and (not bare or (bare == "mm" and "/" in number)):
        mm = "" if "/" in number else f'"{text} mm" or '
        raise UnitError("has no unit", f'write {mm}"{text} in"')
    word = word or bare
    unit = _LENGTH_WORDS.get(word, word)
    if unit not in _LENGTH_UNITS:
        if word.startswith(","):
            raise UnitError("has a comma", "write the decimals after a point, as in 2.5")
        raise UnitError("has a unit that is not known", _LENGTH_REMEDY)
    exact = _fraction(number, _LENGTH_REMEDY) * _LENGTH_UNITS[unit]
    return -exact if sign == "-" else exact


def _with_a_point(whole: str, part: str, unit: str) -> str:
    written = f"{whole}.{part}{' ' if unit else ''}{unit}"
    if len(part) == _THOUSANDS:
        written += ", if the comma stands before the decimals; thousands have no mark"
    return written


def _angle_of(given: str) -> float:
    text = _tidy(given, _ANGLE_REMEDY)
    negative = text.startswith("-")
    parts = _angle_parts(text[1:] if text[0] in "+-" else text)
    units = [unit for _, unit in parts]
    if units == ["rad"]:
        radians = _as_float(parts[0][0], "angle")
    elif "rad" in units or units != sorted(set(units), key=list(_ANGLE_WORDS).index):
        raise UnitError("mixes up degrees, minutes and seconds", _ANGLE_REMEDY)
    else:
        if any(value.denominator != 1 for value, _ in parts[:-1]):
            raise UnitError("has a fraction before the last part", _ANGLE_REMEDY)
        if any(value >= 60 for value, _ in parts[1:]):
            raise UnitError("has 60 or more minutes or seconds", _ANGLE_REMEDY)
        degrees = sum((value * _ANGLE_SHARES[unit] for value, unit in parts), Fraction(0))
        radians = math.radians(_as_float(degrees, "angle"))
    return -radians if negative else radians


def _angle_parts(text: str) -> list[tuple[Fraction, str]]:
    parts: list[tuple[Fraction, str]] = []
    place = 0
    while place < len(text):
        match = _ANGLE_PART.match(text, place)
        if match is None or match[2] not in _ANGLE_UNITS:
            bare = re.fullmatch(_NUMBER, text.strip(), re.ASCII) is not None
            raise UnitError("has no unit" if bare else "is not an angle", _ANGLE_REMEDY)
        parts.append((_fraction(match[1], _ANGLE_REMEDY), _ANGLE_UNITS[match[2]]))
        place = match.end()
    if not parts:
        raise UnitError("is not an angle", _ANGLE_REMEDY)
    return parts
