"""Lengths as people type them into the form: between its quotes or in their place."""

from __future__ import annotations

import re

from jiggen.job.quantities import Quantity
from jiggen.units import UnitError, read_length, say_length

_BARE = re.compile(r"[+-]?\s*(?:\d+\.?\d*|\.\d+)", re.ASCII)
_FRACTION = re.compile(r"(?:\d+(?:\s+|-))?\d+\s*/\s*\d+", re.ASCII)
_COMMA = re.compile(r"([+-]?\d+),(\d+)\s*([^\d\s,][^\d,]*)?", re.ASCII)
_THOUSANDS = 3


def read_typed(given: object, units: str = "mm") -> float:
    """Read a length from a blank of the form.

    Args:
        given: as in `read_length`; a bare number may stand between quotes too, as the blank has
            them, and then counts in the file's units. So does a fraction where these are inches.
        units: of the file.

    Returns:
        The length in mm.

    Raises:
        UnitError: as `read_length`; a comma is answered with the number to write.
    """
    if not isinstance(given, str):
        return read_length(given, units)
    text = given.strip()
    if comma := _COMMA.fullmatch(text):
        whole, part, unit = comma.groups(default="")
        written = f"{whole}.{part} {unit}".strip()
        if len(part) == _THOUSANDS:
            written += ", if the comma stands before the decimals; thousands have no mark"
        raise UnitError("has a comma", f"write {written}")
    if _BARE.fullmatch(text) or (units == "in" and _FRACTION.fullmatch(text)):
        return read_length(f"{text} {units}")
    return read_length(given, units)


TYPED = Quantity(noun="a length", read=read_typed, say=say_length)
"""A length in the form of readings."""
