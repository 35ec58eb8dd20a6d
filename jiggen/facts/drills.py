"""Twist drill sizes by number, letter, fraction and metric size.

A drill is called by its designation in the shop, and #40 is not 40 of anything: so a designation
is only read where a drill is meant, and a lone letter or number is refused.
"""

from __future__ import annotations

import re
from string import ascii_uppercase

from msgspec import Struct

from jiggen.units import INCH, Span, UnitError, read_length, size

SOURCE = (
    "number drills 1 to 60 and letter drills A to Z of ASME B94.11M, as tabled in two independent"
    " code files and in part in a public-domain chart of 2007 (read; the standard itself was not)"
)

# Drill #1 first, in ten-thousandths of an inch, ten to a line.
_NUMBERS = (
    *(2280, 2210, 2130, 2090, 2055, 2040, 2010, 1990, 1960, 1935),
    *(1910, 1890, 1850, 1820, 1800, 1770, 1730, 1695, 1660, 1610),
    *(1590, 1570, 1540, 1520, 1495, 1470, 1440, 1405, 1360, 1285),
    *(1200, 1160, 1130, 1110, 1100, 1065, 1040, 1015, 995, 980),
    *(960, 935, 890, 860, 820, 810, 785, 760, 730, 700),
    *(670, 635, 595, 550, 520, 465, 430, 420, 410, 400),
)
# Drill A first, in thousandths of an inch.
_LETTERS = (
    *(234, 238, 242, 246, 250, 257, 261, 266, 272, 277, 281, 290, 295),
    *(302, 316, 323, 332, 339, 348, 358, 368, 377, 386, 397, 404, 413),
)
_NUMBER_DRILL = re.compile(r"(?:#|no\.?|number)\s*([0-9]{1,4})")
_LETTER_DRILL = re.compile(r"letter\s+([a-z])")

METRIC_SOURCE = (
    "metric drills 1 to 2.95 mm by 0.05, 3 to 13.9 by 0.1, 14 to 25 by 0.25: the series of BS 328"
    " as tabled by a public encyclopedia (read; the standard itself was not)"
)
# First, last and step of each run, in hundredths of a mm.
_METRIC_RUNS = ((100, 295, 5), (300, 1390, 10), (1400, 2500, 25))

JOBBER_SOURCE = (
    "lengths of jobber drills, ASME B94.11M and DIN 338: 1/8, 3/16, 17/64 in and 1, 1.5, 3.2, 4, 7,"
    " 8, 8.5, 9, 9.5, 10 mm as printed in tool lists (read); the other sizes from memory; neither"
    " standard was seen. An inch length ends at the shoulder of the point, a metric one at its tip"
    " (read)"
)
# Largest drill of a step in ten-thousandths of an inch; overall and flutes in sixteenths.
_JOBBER_INCH = (
    (635, 30, 14), (785, 32, 16), (860, 34, 18), (938, 36, 20), (1015, 38, 22), (1065, 40, 23),
    (1130, 42, 24), (1285, 44, 26), (1406, 46, 28), (1540, 48, 30), (1570, 50, 32), (1719, 52, 34),
    (1820, 54, 35), (1910, 56, 37), (2031, 58, 39), (2188, 60, 40), (2344, 62, 42), (2500, 64, 44),
    (2660, 66, 46),
)  # fmt: skip
_JOBBER_INCH_READ = (1250, 1875, 2656)
# Largest drill of a step in hundredths of a mm; overall and flutes in mm.
_JOBBER_METRIC = (
    (106, 34, 12), (118, 36, 14), (132, 38, 16), (150, 40, 18), (170, 43, 20), (190, 46, 22),
    (212, 49, 24), (236, 53, 27), (265, 57, 30), (300, 61, 33), (335, 65, 36), (375, 70, 39),
    (425, 75, 43), (475, 80, 47), (530, 86, 52), (600, 93, 57), (670, 101, 63), (750, 109, 69),
    (850, 117, 75), (950, 125, 81), (1060, 133, 87),
)  # fmt: skip
_JOBBER_METRIC_READ = (100, 150, 320, 400, 700, 800, 850, 900, 950, 1000)

UNDERSIZE_SOURCE = (
    "drills are ground to h8, 0/-0.014 mm to 3 mm, 0/-0.018 to 6, 0/-0.022 to 10: a tool maker's"
    " table of tolerances (read)"
)
_UNDERSIZE = ((3.0, 0.014), (6.0, 0.018), (10.0, 0.022))

SMALLEST = 0.2
LARGEST = 32.0
"""What a hand drill in thin metal can sensibly hold, mm."""

LIMITS = Span(size(SMALLEST), size(LARGEST))

_REMEDY = 'write "#40", "letter F", "1/8 in", "2.5 mm" or a number'


class Drill(Struct, frozen=True, kw_only=True):
    """A twist drill."""

    diameter: float  # mm
    name: str  # what it is called, e.g. ``#40``, ``letter F``, ``1/8 in``


class Jobber(Struct, frozen=True, kw_only=True):
    """How long a jobber drill of a size is."""

    overall: float  # mm, to the shoulder of the point (inch sizes) or to its tip (metric ones)
    flutes: float  # length of the flutes, mm
    read: bool  # the length of this very size was seen in print; else it is from memory


def jobber(diameter: float, *, inch: bool) -> Jobber | None:
    """Return how long a jobber drill of a size is.

    Args:
        diameter: mm.
        inch: it is a number, letter or fraction drill, not a metric one.

    Returns:
        Its lengths; None where the table does not reach. Inch sizes begin at 1/16 in and metric
        ones at 1 mm, since no rivet takes a smaller hole.

    Source: see `JOBBER_SOURCE`.
    """
    unit, rows = (2.54e-3, _JOBBER_INCH) if inch else (0.01, _JOBBER_METRIC)
    of_length, read = (INCH / 16, _JOBBER_INCH_READ) if inch else (1.0, _JOBBER_METRIC_READ)
    size = round(diameter / unit)
    if size < (625 if inch else 100):
        return None
    for largest, overall, flutes in rows:
        if size <= largest:
            return Jobber(overall=overall * of_length, flutes=flutes * of_length, read=size in read)
    return None


def smallest_drill(diameter: float) -> float | None:
    """Return the smallest that a drill of a size may be, mm; None over 10 mm.

    Source: see `UNDERSIZE_SOURCE`.
    """
    return next((diameter - under for most, under in _UNDERSIZE if diameter <= most), None)


def number_drill(number: int) -> float:
    """Return the diameter of a number drill, 1 to 60, mm.

    Raises:
        UnitError: no such number in the table.

    Source: see `SOURCE`.
    """
    if not 1 <= number <= len(_NUMBERS):
        raise UnitError("is not a number drill from 1 to 60", "write its diameter instead")
    return _NUMBERS[number - 1] * 254 / 100_000


def letter_drill(letter: str) -> float:
    """Return the diameter of a letter drill, A to Z, mm.

    Raises:
        UnitError: not one letter from A to Z.

    Source: see `SOURCE`.
    """
    place = ascii_uppercase.find(letter.upper()) if len(letter) == 1 else -1
    if place < 0:
        raise UnitError("is not a letter drill from A to Z", "write its diameter instead")
    return _LETTERS[place] * 254 / 10_000


def metric_drills() -> tuple[float, ...]:
    """Return the metric drills that are sold, mm, the smallest first.

    Source: see `METRIC_SOURCE`.
    """
    return tuple(
        size / 100 for first, last, step in _METRIC_RUNS for size in range(first, last + 1, step)
    )


def next_metric_drill(hole: float) -> float | None:
    """Return the smallest metric drill that is not smaller than a hole, mm; None if none is.

    Source: see `METRIC_SOURCE`.
    """
    return next((size for size in metric_drills() if size >= hole - 1e-9), None)


def read_drill(given: object, unit: str = "mm") -> Drill:
    """Read a drill as the shop calls it.

    Args:
        given: "#40", "No. 40", "letter F", a length with a unit, or a number, which counts in
            `unit`.
        unit: what a bare number counts in, ``mm`` or ``in``.

    Raises:
        UnitError: not a drill, or none that this work could use.

    Source: number and letter drills see `SOURCE`; fractions and metric sizes are what they say.
    """
    text = " ".join(given.split()) if isinstance(given, str) else ""
    if match := _NUMBER_DRILL.fullmatch(text.lower()):
        return Drill(diameter=number_drill(int(match[1])), name=f"#{int(match[1])}")
    if match := _LETTER_DRILL.fullmatch(text.lower()):
        return Drill(diameter=letter_drill(match[1]), name=f"letter {match[1].upper()}")
    if len(text) == 1 and text.isascii() and text.isalpha():
        raise UnitError("could be a slip of the hand", f'write "letter {text.upper()}"')
    if text.isascii() and text.isdigit():  # as "#40" or as 40 mm, nobody can tell
        number = int(text[:4])
        ways = [f'"#{number}"'] if 1 <= number <= len(_NUMBERS) else []
        ways += (
            [f'"{number} {unit}"'] if number * (1.0 if unit == "mm" else INCH) <= LARGEST else []
        )
        raise UnitError("could be a number drill or a size", f"write {' or '.join(ways)}".strip())
    try:
        diameter = read_length(given, unit, "a drill")
    except UnitError as error:
        remedy = error.remedy if error.problem in ("has no unit", "has a comma") else _REMEDY
        raise UnitError(error.problem, remedy) from None
    if not SMALLEST <= diameter <= LARGEST:
        raise UnitError(f"is not a drill from {LIMITS.said(unit)}", _REMEDY)
    bare = not text or text[-1:].isdigit()
    return Drill(diameter=diameter, name=f"{text or given} {unit}" if bare else text)
