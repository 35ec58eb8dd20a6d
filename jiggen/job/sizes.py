"""Sizes that cannot be meant: millimetres in an inch job, inches in a millimetre job.

Angles come out the same whatever the unit, so that nothing else shows a whole section that was
typed in the other one. Each length is held against what the trailing edge of a control surface or
a flap has; what lies far beyond it is asked about, and `allow.size = "as stated"` is the answer.

Source: common practice, no published source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from msgspec import Struct

from jiggen.errors import Action
from jiggen.job.fields import Table
from jiggen.units import INCH, Words, joined, say_length, size, words

# What it is: usual from, usual to, and beyond all sense under and over; mm.
_RANGES = {
    "depth": (6.0, 100.0, 2.0, 200.0),
    "thickness": (0.8, 30.0, 0.1, 60.0),
    "rear": (-math.inf, 8.0, -math.inf, 30.0),
    "skin": (0.2, 2.5, 0.1, 5.0),
    "line": (3.0, 60.0, 1.0, 150.0),
    "pitch": (6.0, 100.0, 3.0, 300.0),
}
_NAMES_SHOWN = 4


class Size(Struct, frozen=True, kw_only=True):
    """A length that a job states, with what is usual for it."""

    key: str  # of the job file
    mm: float  # the length
    kind: str  # one of the ranges

    def is_usual(self, factor: float = 1.0) -> bool:
        """Return whether the length, times `factor`, is one that such a part has."""
        low, high, _, _ = _RANGES[self.kind]
        return low <= self.mm * factor <= high

    @property
    def is_beyond_sense(self) -> bool:
        """Return whether no such part has this length."""
        _, _, least, most = _RANGES[self.kind]
        return not least <= self.mm <= most


def sizes_of(wedge: Any, skin: Any, holes: Any) -> list[Size]:
    """Return the lengths of a job's sections, or None, that a slip of the unit shows in."""
    found = [
        ("wedge.depth", wedge.depth, "depth"),
        ("wedge.rear_thickness", wedge.rear_thickness, "rear"),
    ]
    for number, station in enumerate(wedge.stations, start=1):
        for form in ("thickness", "offsets"):
            if (given := getattr(station, form)) is not None:
                at = f"wedge.station[{number}].{form}"
                found += [
                    (f"{at}.front", _over_both(given.front), "thickness"),
                    (f"{at}.rear", _over_both(given.rear), "rear"),
                    (f"{at}.width", given.width, "depth"),
                ]
    for thick in () if skin is None else sorted(set(skin.thickness)):
        found.append(("skin.thickness", thick, "skin"))
    if holes is not None:
        found.append(("holes.line", holes.line, "line"))
        gaps = [after - before for before, after in pairwise(holes.positions)]
        key = "holes.pitch" if holes.pitch is not None else "holes.positions"
        if gaps:
            found.append((key, sorted(gaps)[len(gaps) // 2], "pitch"))
    return [Size(key=key, mm=mm, kind=kind) for key, mm, kind in found if mm is not None]


def _over_both(given: float | tuple[float, float]) -> float:
    return sum(given) if isinstance(given, tuple) else given


def standing_out(sizes: list[Size]) -> list[Size]:
    """Return the lengths that are not usual, one a key, in the order of the file."""
    return list({one.key: one for one in sizes if not one.is_usual()}.values())


def listed(some: list[Size]) -> Words:
    """Return ``wedge.depth 24 in, holes.pitch 25 in and 2 more``, in the reader's unit."""
    shown = [words("{key} {mm}", key=one.key, mm=size(one.mm)) for one in some[:_NAMES_SHOWN]]
    more = len(some) - len(shown)
    return joined([*shown, *([f"{more} more"] if more else [])], ", ")


def ask_for_unit(found: Mapping[str, Any], table: Table) -> None:
    """Put down, before all other faults, sizes that are beyond all sense in the job's unit.

    Where most of what stands out would be usual in the other unit, `units` is to blame; else the
    first key that is beyond sense.
    """
    allow = found.get("allow")
    if found.get("wedge") is None or (allow is not None and allow.size):
        return
    sizes = sizes_of(found["wedge"], found.get("skin"), found.get("holes"))
    beyond = [one for one in sizes if one.is_beyond_sense]
    if not beyond:
        return
    out = standing_out(sizes)
    other, factor = ("mm", 1 / INCH) if table.units == "in" else ("in", INCH)
    cured = [one for one in out if one.is_usual(factor)]
    answer = 'or answer size = "as stated" in [allow] if they are meant'
    before = len(table.found.faults)
    if len(cured) > 1 and 2 * len(cured) > len(out):
        table.fault(
            "units",
            words("makes {listed}: is {other} meant?", listed=listed(beyond), other=other),
            f'write units = "{other}", {answer}',
            *(one.key for one in out),
            action=Action(said=f'set units = "{other}"', put=("units", f'"{other}"')),
        )
    else:
        one = beyond[0]
        written = say_length(one.mm * factor, other, 4).split(" ")[0].rstrip("0").rstrip(".")
        table.found.add(
            one.key,
            words("is {mm}, which no such part has: which unit is meant?", mm=size(one.mm)),
            remedy=(f'write "{written} {other}", {answer}' if one.is_usual(factor) else answer[3:]),
            others=[other.key for other in beyond[1:]],
        )
    # What is said of the unit is said before what follows from it.
    table.found.faults[:0] = [table.found.faults.pop() for _ in table.found.faults[before:]]
