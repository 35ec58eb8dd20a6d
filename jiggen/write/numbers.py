"""A length or a plain number to file text: fixed decimals, never an exponent, never ``-0``.

The only place where a coordinate is rounded. Six decimals of a millimetre are a nanometre, far
below what any machine can follow, and few enough that readers which count digits stay exact.
"""

from __future__ import annotations

import math

from jiggen.errors import DrawingError

RECORD_FORMAT = 1  # of the record in a drawing, and of the manifest that lists it


def file_number(value: float, decimals: int = 6) -> str:
    """Return a number as every drawing file can hold it.

    Fixed notation such as ``120.123457``, ``0`` or ``-3.5``; trailing zeros are dropped.

    Raises:
        DrawingError: the value is not a finite number.
    """
    if not math.isfinite(value):
        raise DrawingError(f"a drawing cannot hold the number {value}")
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
