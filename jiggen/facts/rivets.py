"""Flush-rivet heads: how wide and how high, for the figure of a head edge that stands proud.

None of the dimension table was seen in print: the values are from memory. They agree with the
geometry of a 100 degree head, and for -4, -5 and -6 with a countersink table that was read.
So they are shown as such, and `[rivet] head` in the job overrides them.
"""

from __future__ import annotations

from dataclasses import dataclass

SOURCE = (
    "100 degree countersunk heads, MS20426 / NASM20426 (from memory, not seen in print;"
    " -4, -5, -6 agree with US Army TM 9-2320-363-34-2 Table 3, read)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlushRivet:
    """A solid rivet with a 100 degree countersunk head.

    Attributes:
        dash: the size as it is called, e.g. ``-3``: the diameter in 32nds of an inch.
        diameter: nominal shank diameter, mm.
        head: head diameter, mm.
        head_tolerance: plus or minus of the head diameter, mm.
        head_height: mm.
    """

    dash: str
    diameter: float
    head: float
    head_tolerance: float
    head_height: float


# dash: (head diameter, head height) in thousandths of an inch.
_HEADS = {2: (114, 22), 3: (179, 36), 4: (225, 42), 5: (286, 55), 6: (353, 70), 8: (476, 95)}

FLUSH_RIVETS: dict[str, FlushRivet] = {
    f"-{dash}": FlushRivet(
        dash=f"-{dash}",
        diameter=dash * 254 / 320,
        head=head * 254 / 10_000,
        head_tolerance=4 * 254 / 10_000,
        head_height=height * 254 / 10_000,
    )
    for dash, (head, height) in _HEADS.items()
}
"""Flush rivets by dash number; see `SOURCE`."""
