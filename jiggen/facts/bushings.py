"""Press-fit drill bushings without a head: bodies, the bores that each comes with, lengths.

::

          |<-  body  ->|
           ____________  _
          |    |  |    | ^
          |    |  |    | length       bore: what leads the bit
          |____|__|____| v

A body is ground over its nominal size, so that it presses into a hole of that size. None of the
standards was seen; what was read was read in tables after them, and which bore comes in which body
is mostly from memory: the bushing in the hand decides.
"""

from __future__ import annotations

from msgspec import Struct

from jiggen.units import INCH

INCH_SOURCE = (
    "headless press-fit bushings after ASME B94.33 type P: bodies and lengths in a public table"
    " (read); bores of the 5/16, 13/32 and 1/2 in bodies (read), of the smaller ones from memory"
)
METRIC_SOURCE = (
    "headless press-fit bushings after DIN 179: bodies of 4 to 12 mm in a public document (read);"
    " which bore comes in which body, lengths, and the 3 mm body from memory"
)
BORE_SOURCE = (
    "bores: inch +.0001/+.0004 to 1/4 in, +.0001/+.0005 to 3/4; metric +.002/+.008 mm to 3 mm,"
    " +.004/+.012 to 6: public tables (read)"
)
LENGTH_SOURCE = (
    "1/2 in or 12 mm at most: common practice; a handbook of workholding asks for 1.5 to 2.5 bores"
    " (read), and so short ones are not made for the smallest drills"
)


class Body(Struct, frozen=True, kw_only=True):
    """One outside diameter that bushings come in."""

    name: str  # as it is called, e.g. ``13/64 in``
    nominal: float  # of the hole that it presses into, mm
    # least and largest diameter of the body, mm; None where none was found
    limits: tuple[float, float] | None
    bore: float  # largest bore that it comes with, mm
    lengths: tuple[float, ...]  # mm, the shortest first
    bore_read: bool = False  # that bore was seen in print; else it is from memory


# name, nominal and limits and largest bore in ten-thousandths of an inch, lengths in sixteenths.
_SHORT, _MIDDLE = (4, 5, 6, 8), (4, 5, 6, 8, 12)
_INCH: tuple[tuple[str, float, tuple[int, int], int, tuple[int, ...], bool], ...] = (
    ("5/32 in", 1562.5, (1575, 1578), 625, _SHORT, False),
    ("13/64 in", 2031.25, (2043, 2046), 995, _SHORT, False),
    ("1/4 in", 2500.0, (2513, 2516), 1406, _MIDDLE, False),
    ("5/16 in", 3125.0, (3138, 3141), 1935, (*_MIDDLE, 16), True),
    ("13/32 in", 4062.5, (4075, 4078), 2570, (*_MIDDLE, 16, 22), True),
    ("1/2 in", 5000.0, (5014, 5017), 3160, (6, 8, 12, 16, 22, 28), True),
)
# nominal, largest bore and lengths, mm.
_METRIC = (
    (3.0, 1.0, (6, 9)),
    (4.0, 1.8, (6, 9)),
    (5.0, 2.6, (6, 9)),
    (6.0, 3.3, (8, 12, 16)),
    (7.0, 4.0, (8, 12, 16)),
    (8.0, 5.0, (8, 12, 16)),
    (10.0, 6.0, (10, 16, 20)),
    (12.0, 8.0, (10, 16, 20)),
)

INCH_BODIES = tuple(
    Body(
        name=name,
        nominal=nominal * 2.54e-3,
        limits=(least * 2.54e-3, largest * 2.54e-3),
        bore=bore * 2.54e-3,
        lengths=tuple(sixteenths * INCH / 16 for sixteenths in lengths),
        bore_read=read,
    )
    for name, nominal, (least, largest), bore, lengths, read in _INCH
)
"""Inch bodies, the smallest first; see `INCH_SOURCE`."""

METRIC_BODIES = tuple(
    Body(
        name=f"{nominal:g} mm",
        nominal=nominal,
        limits=None,
        bore=bore,
        lengths=tuple(float(length) for length in lengths),
    )
    for nominal, bore, lengths in _METRIC
)
"""Metric bodies, the smallest first; see `METRIC_SOURCE`."""

USUAL_LENGTH = 12.7
"""A bushing is taken as long as it comes up to this, mm: 1/2 in, or 12 mm."""


def body_for(drill: float, *, inch: bool) -> Body | None:
    """Return the smallest body that comes with a bore for a drill; None where none does.

    Source: see `INCH_SOURCE` and `METRIC_SOURCE`.
    """
    bodies = INCH_BODIES if inch else METRIC_BODIES
    return next((body for body in bodies if drill <= body.bore + 1e-6), None)


def usual_length(body: Body) -> float:
    """Return the length that is taken where none is stated, mm.

    Source: see `LENGTH_SOURCE`.
    """
    return max(length for length in body.lengths if length <= USUAL_LENGTH + 1e-6)


def bore_limits(drill: float, *, inch: bool) -> tuple[float, float] | None:
    """Return the least and the largest bore of a bushing for a drill, mm, or None.

    Source: see `BORE_SOURCE`.
    """
    if inch:
        over = [(INCH / 4, 2.54e-3, 4 * 2.54e-3), (INCH * 3 / 4, 2.54e-3, 5 * 2.54e-3)]
    else:
        over = [(3.0, 0.002, 0.008), (6.0, 0.004, 0.012)]
    for most, least, largest in over:
        if drill <= most + 1e-6:
            return drill + least, drill + largest
    return None
