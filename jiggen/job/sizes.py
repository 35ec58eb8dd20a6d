"""Sizes that cannot be meant: millimetres in an inch job, inches in a millimetre job.

Angles come out the same whatever the unit, so that nothing else shows a whole section that was
typed in the other one. Each length is held against what the trailing edge of a control surface or
a flap has; what lies far beyond it is asked about, and `allow.size = "as stated"` is the answer.

Source: common practice, no published source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from jiggen.errors import Action
from jiggen.job.fields import Table
from jiggen.units import INCH, Words, joined, say_length, size, words

if TYPE_CHECKING:
    from jiggen.job.wedge import Station

# What it is: usual from, usual to, and beyond all sense under and over; mm.
_RANGES = {
    "depth": (6.0, 100.0, 2.0, 200.0),
    "thickness": (0.8, 30.0, 0.1, 60.0),
    "rear": (-math.inf, 8.0, -math.inf, 30.0),
    "skin": (0.2, 2.5, 0.1, 5.0),
    "line": (3.0, 60.0, 1.0, 150.0),
    "pitch": (6.0, 100.0, 3.0, 300.0),
    "plus-minus": (-math.inf, 1.0, -math.inf, 3.0),
}
_PLUS_MINUS = ("front", "rear", "front_a", "front_b", "rear_a", "rear_b", "width", "z")
"""What of a plus-minus is a length; the rest are angles."""
_NAMES_SHOWN = 4


class Size(Struct, frozen=True, kw_only=True):
    """A length that a job states, with what is usual for it."""

    key: str  # of the job file
    mm: float  # the length
    kind: str  # one of the ranges
    typed: bool = True  # it stands in the file as it is, and not as two numbers or more

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
    """Return the lengths of a job that a slip of the unit shows in.

    Args:
        wedge: see `sections.Wedge`.
        skin: see `sections.Skin`, or None.
        holes: see `sections.Holes`, or None.
    """
    return [*_of_wedge(wedge), *_of_skin(skin), *_of_holes(holes)]


def _of_wedge(wedge: Any) -> Iterator[Size]:
    if wedge.depth is not None:
        yield Size(key="wedge.depth", mm=wedge.depth, kind="depth")
    if wedge.rear_thickness is not None:
        yield Size(key="wedge.rear_thickness", mm=wedge.rear_thickness, kind="rear")
    for number, station in enumerate(wedge.stations, start=1):
        yield from _of_station(station, f"wedge.station[{number}]")


def _of_station(station: Station, place: str) -> Iterator[Size]:
    if station.thickness is not None:
        one, at = station.thickness, f"{place}.thickness"
        yield Size(key=f"{at}.front", mm=one.front, kind="thickness")
        yield Size(key=f"{at}.rear", mm=one.rear, kind="rear")
        yield Size(key=f"{at}.width", mm=one.width, kind="depth")
    if station.offsets is not None:
        both, at = station.offsets, f"{place}.offsets"
        yield Size(key=f"{at}.front", mm=sum(both.front), kind="thickness", typed=False)
        yield Size(key=f"{at}.rear", mm=sum(both.rear), kind="rear", typed=False)
        yield Size(key=f"{at}.width", mm=both.width, kind="depth")
    lengths = {name: mm for name, mm in station.plus_minus.items() if name in _PLUS_MINUS}
    for name, mm in lengths.items():
        key = f"{place}.plus_minus" + (f".{name}" if len(set(lengths.values())) > 1 else "")
        yield Size(key=key, mm=mm, kind="plus-minus")


def _of_skin(skin: Any) -> Iterator[Size]:
    for thick in () if skin is None else sorted(set(skin.thickness)):
        yield Size(key="skin.thickness", mm=thick, kind="skin")


def _of_holes(holes: Any) -> Iterator[Size]:
    if holes is None:
        return
    yield Size(key="holes.line", mm=holes.line, kind="line")
    gaps = [after - before for before, after in pairwise(holes.positions)]
    if gaps:
        key = "holes.pitch" if holes.pitch is not None else "holes.positions"
        middle = sorted(gaps)[len(gaps) // 2]
        yield Size(key=key, mm=middle, kind="pitch", typed=holes.pitch is not None)


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

    Where more of all the lengths would be usual in the other unit, `units` is to blame; else each
    number that stands out. So no mend of one question raises the other.

    Args:
        found: what was read of the whole file, by field.
        table: the whole file.
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
    as_is, turned = (sum(one.is_usual(f) for one in sizes) for f in (1.0, factor))
    answer = 'or answer size = "as stated" in [allow] if they are meant'
    before = len(table.found.faults)
    if len(cured) > 1 and turned > as_is:
        table.fault(
            "units",
            words("makes {listed}: is {other} meant?", listed=listed(beyond), other=other),
            f'write units = "{other}", {answer}',
            *(one.key for one in out),
            action=Action(said=f'set units = "{other}"', put=("units", f'"{other}"')),
        )
    for one in out if len(table.found.faults) == before else ():
        if not (one.is_beyond_sense or one in cured):
            continue
        written = say_length(one.mm * factor, other, 4).split(" ")[0].rstrip("0").rstrip(".")
        mend = f'write "{written} {other}"' if one.typed else f"write {other} with each number"
        problem = "which no such part has" if one.is_beyond_sense else "unusual for such a part"
        problem = "which no reading is off by" if one.kind == "plus-minus" else problem
        table.found.add(
            one.key,
            words("is {mm}, {problem}: which unit is meant?", mm=size(one.mm), problem=problem),
            remedy=f"{mend}, {answer}" if one in cured else answer[3:],
        )
    # What is said of the unit is said before what follows from it.
    asked = table.found.faults[before:]
    table.found.faults[:] = [*asked, *table.found.faults[:before]]
