"""What stands on a bag of rivets: a size, or a part number with head, shank and length.

A part number of the open standards reads ``MS20426AD3-5``: 426 a 100 degree countersunk head (470
a universal one), AD the alloy, 3 the shank in 32nds of an inch, 5 the length in 16ths.
"""

from __future__ import annotations

import re

from msgspec import Struct

from jiggen.facts.rivets import FLUSH_RIVETS, METRIC_FLUSH
from jiggen.units import INCH, UnitError, read_length

SOURCE = (
    "part numbers of MS20426 / AN426 and MS20470 / AN470: FAA AC 43.13-1B para 4-57a(4) (read:"
    " letters, 32nds and 16ths); which number is which head from memory"
)

SAME_SHANK = 0.01
"""Shanks within this, mm, are of one size."""

_HEADS = {"426": "flush", "470": "protruding"}
_PART = re.compile(
    r"(?:(?:ms|an|nas|nasm)[ -]?(?:20)?(?P<head>\d{3}))?[ -]*(?P<alloy>[a-z]{1,2})?[ -]*"
    r"(?P<shank>\d{1,2})[ -]+(?P<length>\d{1,2}(?:\.5)?)",
    re.ASCII,
)
_DIN = re.compile(
    r"(?:din ?(?P<norm>66[01])[ -]*)?(?P<shank>\d(?:\.\d)?) ?x ?(?P<length>\d{1,2})(?: ?mm)?",
    re.ASCII,
)
_SIZES = (*FLUSH_RIVETS, *METRIC_FLUSH)
_ALLOYS = ("a", "ad", "b", "c", "d", "dd", "e", "f", "m")
_REMEDY = 'write "-3", "3 mm", "3/32 in", or what stands on the bag, such as "MS20426AD3-5"'


class RivetName(Struct, frozen=True, kw_only=True):
    """A rivet by its name."""

    size: str  # as the tables call it, ``-3`` or ``3 mm``
    form: str = ""  # ``flush`` or ``protruding``; empty where the name does not tell
    # over all of a flush rivet, under the head of a protruding one, mm; None where the name does
    # not tell
    length: float | None = None


def read_rivet_name(given: object) -> RivetName:
    """Read a rivet as it is called.

    Args:
        given: a size (``-3``, ``3 mm``, ``3/32``), or the part number on the bag
            (``MS20426AD3-5``, ``AD3-5``, ``3-5``, ``DIN 661 3 x 8``).

    Raises:
        UnitError: no such rivet in the tables; no other size is proposed.

    Source: see `SOURCE`.
    """
    if not isinstance(given, str):
        raise UnitError("must be text", _REMEDY)
    text = " ".join(given.lower().replace("\N{MULTIPLICATION SIGN}", "x").split())
    if text in _SIZES:
        return RivetName(size=text)
    if text.isascii() and text.isdigit():
        ways = [f'"{way}"' for way in (f"-{text}", f"{text} mm") if way in _SIZES]
        raise UnitError("could be a dash number or millimetres", f"write {' or '.join(ways)}")
    if part := _PART.fullmatch(text):
        return _of_part(part)
    if din := _DIN.fullmatch(text):
        form = {"661": "flush", "660": "protruding"}.get(din["norm"] or "", "")
        size = f"{float(din['shank']):g} mm"
        if size in METRIC_FLUSH:
            return RivetName(size=size, form=form, length=float(din["length"]))
    return RivetName(size=_of_diameter(text))


def _of_part(part: re.Match[str]) -> RivetName:
    head, alloy, size = part["head"], part["alloy"], f"-{int(part['shank'])}"
    if head is not None and head not in _HEADS:
        raise UnitError("is no solid rivet that is in the tables (426, 470)", _REMEDY)
    if alloy is not None and alloy not in _ALLOYS:
        raise UnitError("has letters that no alloy of rivets has", _REMEDY)
    if size not in FLUSH_RIVETS:
        raise UnitError(f"has a shank of {part['shank']}/32 in, which no table has", _REMEDY)
    return RivetName(
        size=size, form=_HEADS.get(head or "", ""), length=float(part["length"]) * INCH / 16
    )


def _of_diameter(text: str) -> str:
    """Return the size whose shank is this wide; a bare fraction is one of an inch."""
    try:
        wide = read_length(text, "in" if "/" in text else "mm")
    except UnitError:
        wide = 0.0
    for name, one in (FLUSH_RIVETS | METRIC_FLUSH).items():
        if abs(one.diameter - wide) <= SAME_SHANK:
            return name
    raise UnitError("is no rivet in the tables", f"{_REMEDY}; or give diameter and head")
