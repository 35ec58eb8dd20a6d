"""What ``jiggen make`` prints when it is done: at most eight lines."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING

from jiggen.report.angles import band_lines
from jiggen.report.terminal import harmless
from jiggen.solution import band_of

if TYPE_CHECKING:
    from jiggen.make import Made

CAUTION = "Eye protection. Clamp the work. Deburr. Where plans or rules differ, they win."


def made_text(made: Made, name: str, units: str, folder: str, lost: Sequence[str] = ()) -> str:
    """Return the closing lines of ``jiggen make``: where, what to open, the one length to check.

    Args:
        made: what was drawn and written.
        name: of the job.
        units: the job's, ``mm`` or ``in``.
        folder: where it was written, as the user gave it.
        lost: what to say of a correction that these drawings no longer have.

    Returns:
        Text with line ends. The last line says which file to open first.
    """
    drawn = made.drawn
    said = [f"{len(drawn.pages)} pages on {drawn.paper}"] if drawn.pages else []
    if drawn.beds.singles:
        count = len(drawn.beds.sheets)
        beds = "1 bed" if count == 1 else f"{count} beds"
        said.append(f"{beds} and {len(drawn.beds.singles)} pieces to cut")
    if drawn.solids:
        said.append(f"{len(drawn.solids)} solids to print")
    lines = band_lines(band_of(drawn.checks), name, units) if drawn.checks else []
    lines.append(f"Wrote {len(made.files)} files to {folder}{os.sep}: {', '.join(said)}.")
    lines += list(lost)[:1]
    page = next((n for n, sheet in enumerate(drawn.pages, 1) if sheet.dimensions), None)
    if page is not None:
        lines.append(f"Print at 100 %. On page {page} both diagonals: {drawn.diagonal}.")
    if any(piece.is_sheet for piece in made.pieces) and drawn.beds.sheets:
        told = ": page NUMBERS" if drawn.pages else ""
        lines.append(f"Cut one piece first and measure it{told}.")
    for after in dict.fromkeys(solid.after for solid in drawn.solids if solid.after):
        lines.append(f"Printed: {after}.")
    lines.append(f"Open first: {os.path.join(folder, *made.open_first.split('/'))}")
    return "".join(f"{harmless(line)}\n" for line in lines)
