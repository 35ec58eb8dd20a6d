"""Solid rivets: heads, the drill for each, how long they must be, and how they are called.

None of the inch dimension tables was seen in print: the values are from memory. The flush heads
agree with the geometry of a 100 degree head, and for -4, -5 and -6 with a countersink table that
was read. So they are shown as such, and the job can state its own diameter and head instead.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

SOURCE = (
    "100 degree countersunk heads, MS20426 / NASM20426 (from memory, not seen in print;"
    " -4, -5, -6 agree with US Army TM 9-2320-363-34-2 Table 3, read)"
)
UNIVERSAL_SOURCE = "universal heads, MS20470 (from memory, not seen in print)"
METRIC_FLUSH_SOURCE = (
    "countersunk rivets, DIN 661, as tabled by a trade database of standards (read; the head angle"
    " of 75 degrees is from memory)"
)
METRIC_ROUND_SOURCE = "round head rivets, DIN 660 (from memory, not seen in print)"

INCH_FLUSH_ANGLE = 100.0
"""Included angle of an inch flush head, degrees."""

METRIC_FLUSH_ANGLE = 75.0
"""Included angle of a DIN 661 head, degrees, from memory."""


class RivetHead(Struct, frozen=True, kw_only=True):
    """What a table says of one size of rivet; mm."""

    diameter: float  # nominal, of the shank
    head: float  # its diameter
    head_height: float  # of the head


# dash: (head diameter, head height) in thousandths of an inch.
_HEADS = {2: (114, 22), 3: (179, 36), 4: (225, 42), 5: (286, 55), 6: (353, 70), 8: (476, 95)}
_UNIVERSAL = {3: (187, 40), 4: (250, 54), 5: (312, 67), 6: (375, 80)}
# diameter: (head diameter, head height) in mm.
_DIN_661 = {2.0: (3.5, 1.0), 2.5: (4.4, 1.2), 3.0: (5.2, 1.4), 3.5: (6.2, 1.8), 4.0: (7.0, 2.0),
            5.0: (8.8, 2.5)}  # fmt: skip
_DIN_660 = {2.0: (3.5, 1.2), 2.5: (4.4, 1.5), 3.0: (5.2, 1.8), 4.0: (7.0, 2.4), 5.0: (8.8, 3.0)}


def _inch(heads: Mapping[int, tuple[int, int]]) -> dict[str, RivetHead]:
    return {
        f"-{dash}": RivetHead(
            diameter=dash * 254 / 320, head=head * 254 / 10_000, head_height=height * 254 / 10_000
        )
        for dash, (head, height) in heads.items()
    }


def _metric(heads: Mapping[float, tuple[float, float]]) -> dict[str, RivetHead]:
    return {
        f"{d:g} mm": RivetHead(diameter=d, head=head, head_height=height)
        for d, (head, height) in heads.items()
    }


FLUSH_RIVETS = _inch(_HEADS)
"""Flush rivets by dash number, ``-3`` being 3/32 in; see `SOURCE`."""

UNIVERSAL_RIVETS = _inch(_UNIVERSAL)
"""Universal head rivets by dash number; see `UNIVERSAL_SOURCE`."""

METRIC_FLUSH = _metric(_DIN_661)
"""Metric countersunk rivets by diameter; see `METRIC_FLUSH_SOURCE`."""

METRIC_ROUND = _metric(_DIN_660)
"""Metric round head rivets by diameter; see `METRIC_ROUND_SOURCE`."""

BUCKED_ALLOWANCE = 1.5
"""How far the shank stands out before a round shop head is bucked, in rivet diameters."""
BUCKED_SOURCE = (
    "grip + 1.5D: Navy training manual 14018 p. 547 and an FAA handbook's text (read); that a"
    " countersunk rivet's length is over all, head included: from memory"
)
BUCKED_HEAD = (1.3, 0.3)
"""Least width and least height of a bucked head, in rivet diameters."""
BUCKED_HEAD_SOURCE = "MIL-HDBK-5H p. 8-9 (read): upset at least 1.3D wide and 0.3D high"

BUCKED_LIMITS = {"-3": (38 * 254 / 10_000, 50 * 254 / 10_000, 122 * 254 / 10_000)}
"""By dash number, least and largest height and least width of a bucked head, mm."""
BUCKED_LIMITS_SOURCE = "shop heads of 3/32 rivets: MIL-R-47196A (read as quoted elsewhere)"

FLUSH_HEAD_WIDE = 1.5
"""How wide a flush shop head on a thin dimpled edge is meant to be, in rivet diameters: filling
the dimple puckers the skin: builders' notes (read; common practice, no published source)."""
FLUSH_LENGTH_SOURCE = (
    "derived geometry: the rivet's metal against the holes and the well; the same sum gives the"
    " 0.667D of BS 4620:1970 Table 6 (read) for its 90 degree well"
)

LENGTH_STEP = 25.4 / 16
"""From one inch length to the next, mm."""
HALF_LENGTH_STEP = 25.4 / 32
"""The same with half sizes, mm."""
METRIC_LENGTH_STEP = 1.0
"""From one metric length to the next, mm."""
NEAREST_ABOVE_SOURCE = (
    "the next standard length above: US Army TM 10-5410-229-13&P para 5-6 (read); sixteenths and"
    " half sizes: FAA AC 43.13-1B p. 4-16 (read)"
)
NEAREST_SOURCE = "the nearest standard length: a riveting course's worked example (read)"
METRIC_LENGTH_SOURCE = "no list of metric lengths was read: whole millimetres (common practice)"

USUAL_DRILLS: dict[str, tuple[str, ...]] = {
    "-2": ("#51",),
    "-3": ("#40", "#41"),
    "-4": ("#30",),
    "-5": ("#21", "#22", "#20"),
    "-6": ("#11", "#10", "#12"),
    "-8": ("letter F",),
}
"""The drills that are in use for an inch rivet, by dash number, the usual one first."""
USUAL_DRILL_SOURCE = (
    "usual drills: #30 and the tighter #41, #22, #12 a 1940s repair manual, #20 and F a US Army"
    " manual's table for blind rivets (read); #51, #40, #21, #11, #10 from memory"
)
METRIC_HOLES = {2.4: 2.5, 3.2: 3.3, 4.0: 4.1, 4.8: 4.9}
"""The usual hole for a metric rivet, by the diameter of its shank, mm."""
METRIC_HOLE_SOURCE = "usual holes for metric rivets (from memory)"

HOLE_LIMITS = {"-3": (93 * 254 / 10_000, 103 * 254 / 10_000)}
"""By dash number, the least and the largest hole for a rivet, mm. The least for -3 is .093 in by
this quotation, and .096 by one of another edition."""
HOLE_LIMIT_SOURCE = "hole limits: MIL-R-47196A para 3.2.1.3 Table I (read as quoted elsewhere)"
OVERSIZE = 1.2
"""A hole wider than this, in diameters of the shank, is for a larger rivet: no two neighbours among
the inch rivets are nearer (5/32 and 3/16 in)."""
OVERSIZE_SOURCE = (
    "a hole over 1.2D takes the next size of rivet (common practice, no published source)"
)


def dash_of(diameter: float | None) -> str:
    """Return the dash number of a shank diameter.

    Args:
        diameter: nominal shank diameter, mm, or None.

    Returns:
        For example ``-3``; empty where no inch rivet has that diameter within 0.01 mm.

    Source: first dash number = diameter in 1/32 in (read as quoted elsewhere).
    """
    if diameter is None:
        return ""
    near = (dash for dash, one in FLUSH_RIVETS.items() if abs(one.diameter - diameter) <= 0.01)
    return next(near, "")


def rivet_code(dash: str, sixteenths: float) -> str:
    """Return what a rivet of a length is called: diameter in 32nds, then length in 16ths.

    Args:
        dash: the rivet's size, e.g. ``-3``.
        sixteenths: its length in sixteenths of an inch; a half size has .5.

    Returns:
        For example ``3-4``, or ``4-3.5``, as it follows the letters of the alloy on the bag.

    Source: FAA AC 43.13-1B p. 4-16 para 4-57a(4) (read): "AD4-3.5".
    """
    return f"{dash.removeprefix('-')}-{sixteenths:g}"
