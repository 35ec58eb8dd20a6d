"""Which few blanks of the form a verdict takes: the ones to fill in first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from jiggen.verify.across import sizes_of, still_needed
from jiggen.verify.placed import ON_AXIS, PlacedLength, PlacedPiece, is_inch_bar

NEEDED = "needed"
"""What the form says of a blank without which there is no verdict."""


def needed_on_sheet(
    lengths: Mapping[str, PlacedLength], units: str = "mm", sheet: str = "page"
) -> dict[str, str]:
    """Return what a sheet is judged by: a bar along each axis, and what lies aslant.

    Args:
        lengths: what can be measured on it.
        units: ``mm`` or ``in``: which of two bars side by side is meant.
        sheet: what it is called in a sentence.

    Returns:
        What to say of each length, by its name, bars first: a piece may be judged by the bars,
        but only what lies aslant tells whether the sheet came out square. The longest bar along
        an axis, since a rule's error weighs least on it; then the two diagonals of a page, or of
        a cut sheet the length aslant on one of its pieces that says most about its squareness.
    """
    found = {}
    for axis in (0, 1):
        bars = [name for name, n in lengths.items() if _axis(n) == axis and _is_bar(name)]
        own = _of_units(bars, units)
        if own:
            found[max(own, key=lambda name: lengths[name].nominal)] = NEEDED
    aslant = [name for name, n in lengths.items() if _axis(n) is None]
    of_pieces = _of_units([name for name in aslant if "/" in name], units)
    if of_pieces:
        aslant = [max(of_pieces, key=lambda name: lengths[name].says_of_skew)]
    square = f"{NEEDED} to tell whether the {sheet} came out square"
    return found | dict.fromkeys(aslant[:2], square)


def _of_units(names: Sequence[str], units: str) -> Sequence[str]:
    """Return the names of lengths in these units; all of them where there is none."""
    return [name for name in names if is_inch_bar(name) == (units == "in")] or names


def needed_on_piece(piece: PlacedPiece) -> dict[str, str]:
    """Return what a finished piece is judged by: for each check edge the lengths that fix it.

    Args:
        piece: as drawn.

    Returns:
        What to say of each length, by its name: that it is needed, and for which edge where the
        piece has several. Every size of a piece that has no check edge.
    """
    if not piece.angles:
        return dict.fromkeys(sizes_of(piece), NEEDED)
    edges: dict[str, list[str]] = {}
    for angle in piece.angles:
        for name in still_needed(piece, angle) or ():
            edges.setdefault(name, []).append(angle.name)
    if len(piece.angles) == 1:
        return dict.fromkeys(edges, NEEDED)
    return {
        name: f"{NEEDED}, {' and '.join(some)} edge{'s' if len(some) > 1 else ''}"
        for name, some in edges.items()
    }


def _axis(length: PlacedLength) -> int | None:
    """Return 0 for a length along x of the sheet, 1 along y, None for one across."""
    x, y = (abs(part) for part in length.vector)
    if min(x, y) > ON_AXIS * max(x, y):
        return None
    return int(x < y)


def _is_bar(name: str) -> bool:
    """Return whether it is a bar by its name, not the side of a square of crosses."""
    return name.rsplit("/", 1)[-1].startswith("bar-")
