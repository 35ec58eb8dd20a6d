"""The cover's details: how pieces are stacked, what is measured on them, on which page each is.

They may run on to a page of their own; the cover's first page is read without them.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from jiggen.drawing.piece import Piece
from jiggen.drawing.table import Setting, Strip, heading, space
from jiggen.errors import say
from jiggen.jigs.lamination import laminate, stack_of
from jiggen.jigs.stand import block_sizes
from jiggen.solution import Check, Solution
from jiggen.units import say_length, say_size

#: The name of a size between two lettered corners.
_LETTERS = re.compile(r"[A-Z]-[A-Z]")
#: With so many pages of pieces, the cover says which piece is on which.
MANY_PAGES = 3


def detail_strips(
    solution: Solution,
    pieces: Sequence[Piece],
    checks: Sequence[Check],
    setting: Setting,
    pages: tuple[tuple[int, tuple[str, ...]], ...],
) -> tuple[Strip, ...]:
    """Return the details as strips, top first.

    Args:
        solution: the solved job.
        pieces: all pieces; sizes are told of those on the printed pages.
        checks: shop checks.
        setting: width of the page's room and size of the type.
        pages: the page numbers with the titles of the pieces on each.
    """
    return (
        *_block_lines(solution, pieces, setting),
        *_cradle_lines(solution, pieces, setting),
        *_sketches(solution, pieces, setting),
        *_size_tables(solution, [p for p in pieces if p.for_print], setting),
        *_page_lines(pages, setting),
        *_check_lines(solution, checks, setting),
    )


def told_under(title: str, paragraphs: Sequence[str], setting: Setting) -> tuple[Strip, ...]:
    """Return paragraphs under a heading; nothing where there are none.

    Args:
        title: the heading.
        paragraphs: in order.
        setting: width of the page's room and size of the type.
    """
    strips = [strip for text in paragraphs for strip in setting.paragraph(text)]
    return (heading(title), *strips) if strips else ()


def _check_lines(
    solution: Solution, checks: Sequence[Check], setting: Setting
) -> tuple[Strip, ...]:
    """Say which shop checks came out well, with their figures, and which lack an input."""
    units = solution.job.units
    good = [
        f"{c.name} {_figure(c.value, c.unit, units)}".rstrip() for c in checks if c.status == "ok"
    ]
    lacking = [f"{c.name}: {say(c.why, units)}" for c in checks if c.status == "not checked"]
    told = [f"Good: {'; '.join(good)}."] if good else []
    told += [f"Not checked: {'; '.join(lacking)}."] if lacking else []
    return told_under("Shop checks", told, setting)


def _figure(value: float | None, unit: str, units: str) -> str:
    if value is None:
        return ""
    return (
        say_length(value, units) if unit == "mm" else f"{value:.3g}{'°' if unit == 'deg' else ''}"
    )


def _page_lines(
    pages: tuple[tuple[int, tuple[str, ...]], ...], setting: Setting
) -> tuple[Strip, ...]:
    """Say which piece is on which page, where there are enough of them to look for one."""
    if len(pages) < MANY_PAGES:
        return ()
    lines = [f"Page {number}: {', '.join(titles)}." for number, titles in pages]
    return told_under("Which piece is on which page", [" ".join(lines)], setting)


def _block_lines(
    solution: Solution, pieces: Sequence[Piece], setting: Setting
) -> tuple[Strip, ...]:
    """Say how each sheet block is stacked, and at which corner it stands."""
    solids = [p for p in pieces if p.kind == "block" and p.name.endswith("-solid")]
    if not solids or solution.job.holes is None:
        return ()
    sizes = block_sizes(solution)
    stack = stack_of(laminate(sizes.bore, sizes.stock, sizes.fit))
    halved = "channel and nest" if "nest" in stack else "channel"
    units = solution.job.units
    corners = ", ".join(
        f"{p.title.removesuffix(', solid layer')} {p.angles[0].nominal:.2f}°" for p in solids
    )
    return (
        heading("Blocks from sheet, in the cut files"),
        *setting.paragraph(
            f"{corners}. Stack {stack}, each {halved} layer an aft and a forward half, on "
            f"{say_size(sizes.dowel, units)} dowels, in sheet {say_size(sizes.stock, units)} "
            f"thick; the gap takes {say_length(sizes.bore, units)}. Notch over the punched hole, "
            "low clamp flat FORWARD; the high corner of a block is at the TE.",
        ),
    )


def _cradle_lines(
    solution: Solution, pieces: Sequence[Piece], setting: Setting
) -> tuple[Strip, ...]:
    """Say what each cradle is for, how it is built and how it is used."""
    if not any(piece.kind == "cradle" for piece in pieces):
        return ()
    from jiggen.jigs.cradle_pieces import cradle_words

    words = cradle_words(solution, pieces)
    return (heading("Cradles"), *(strip for text in words for strip in setting.paragraph(text)))


def _sketches(solution: Solution, pieces: Sequence[Piece], setting: Setting) -> tuple[Strip, ...]:
    """Draw how the plates of a corner guide and of a cradle of ribs go together."""
    if not any(piece.kind in ("corner", "cradle") for piece in pieces):
        return ()
    from jiggen.jigs.assembly import corner_sketch, cradle_sketch
    from jiggen.jigs.stand import edge_ends

    found: list[Strip] = []
    if any(piece.kind == "corner" for piece in pieces):
        sketch = corner_sketch(setting.width, edge_ends(solution.job)[0])
        found += [heading("Corner guide, put together"), sketch]
    if any(piece.kind == "cradle" and piece.name.endswith("-rib") for piece in pieces):
        found += [heading("Cradle, put together"), cradle_sketch(setting.width)]
    return tuple(found)


def _size_tables(
    solution: Solution, pieces: Sequence[Piece], setting: Setting
) -> tuple[Strip, ...]:
    """Return tables of what a calliper should read on the finished pieces, one a kind of size."""
    units = solution.job.units
    groups: dict[tuple[str, ...], list[Piece]] = {}
    for piece in pieces:
        names = tuple(d.name for d in piece.dimensions if not d.is_bar)
        # A strip's tiles have a table of their own, beside the map that shows them.
        if names and piece.kind not in ("foot", "strip"):
            groups.setdefault(names, []).append(piece)
    if not groups:
        return ()
    strips: list[Strip] = [heading(f"What a calliper should read on the cut piece, {units}")]
    for names, some in groups.items():
        rows = []
        for piece in some:
            sizes = [d for d in piece.dimensions if not d.is_bar]
            rows.append(
                [
                    piece.title,
                    *(
                        say_length(d.nominal, units, 3 if units == "in" else 2).split(" ")[0]
                        for d in sizes
                    ),
                ]
            )
        strips += setting.table(["piece", *names], rows)
        strips += _what_is_measured(some[0], setting)
        strips.append(space(1.6))
    return tuple(strips)


def _what_is_measured(piece: Piece, setting: Setting) -> tuple[Strip, ...]:
    """Say what each size is that is not named by the letters of two corners."""
    told: dict[str, list[str]] = {}
    for size in piece.dimensions:
        if not (size.is_bar or _LETTERS.fullmatch(size.name)) and size.how:
            told.setdefault(size.how, []).append(size.name)
    words = "; ".join(f"{', '.join(names)}: {how}" for how, names in told.items())
    return setting.paragraph(f"{words}.") if words else ()
