"""What ``jiggen make`` prints when it is done: at most eight lines."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING

from jiggen.errors import say
from jiggen.report.angles import band_lines
from jiggen.report.terminal import harmless
from jiggen.solution import band_of

if TYPE_CHECKING:
    from jiggen.make import Made

CAUTION = "Eye protection. Clamp the work. Deburr. Where plans or rules differ, they win."
LASER = "Laser: never PVC, never alone."
LINES = 8  # at most


def made_text(made: Made, name: str, units: str, folder: str, lost: Sequence[str] = ()) -> str:
    """Return the closing lines of ``jiggen make``: where, what to open, the one length to check.

    The last line says which file to open first. `lost` is what to say of a correction that these
    drawings no longer have.
    """
    drawn = made.drawn
    said = [_counted(len(drawn.pages), "page", f"on {drawn.paper}")] if drawn.pages else []
    if drawn.beds.singles:
        if drawn.beds.sheets:
            said.append(_counted(len(drawn.beds.sheets), "bed"))
        said.append(_counted(len(drawn.beds.singles), "piece", "to cut"))
    if drawn.solids:
        said.append(_counted(len(drawn.solids), "solid", "to print"))
    lines = [f"Wrote {len(made.files)} files to {folder}{os.sep}: {', '.join(said)}.", *lost]
    page = next((n for n, sheet in enumerate(drawn.pages, 1) if sheet.dimensions), None)
    if page is not None:
        lines.append(f"Print at 100 %. On page {page} both diagonals: {drawn.diagonal}.")
    first = []
    if drawn.beds.sheets:
        where = ": page NUMBERS" if drawn.pages else ""
        laser = f" {LASER}" if drawn.lasered else ""
        first.append(f"Cut one piece first and measure it{where}.{laser}")
    afters = dict.fromkeys(solid.after for solid in drawn.solids if solid.after)
    first += [f"Printed: {after}." for after in afters]
    if not drawn.pages:  # what has no page says here how it is used
        lines += [say(step, units) for plan in drawn.planned.plans for step in plan.steps]
    first += [say(drawn.assumed, units)] if drawn.assumed else []
    if first:
        lines.append(" ".join(first))
    lines.append(f"Open first: {os.path.join(folder, *made.open_first.split('/'))}")
    band = []
    if drawn.checks:
        band = band_lines(band_of(drawn.checks), name, units, LINES - len(lines) - 1)
    return "".join(f"{harmless(line)}\n" for line in [*band, *lines])


def _counted(count: int, what: str, rest: str = "") -> str:
    return f"{count} {what}{'' if count == 1 else 's'} {rest}".rstrip()
