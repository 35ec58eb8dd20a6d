"""From plans to sheet material: beds with all pieces in rows, and a file for each piece alone.

The drawing is what the beam follows, so every piece is drawn with the kerf; the coupon that finds
the kerf is drawn without.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing.affine import Affine
from jiggen.drawing.kerf import with_kerf
from jiggen.drawing.layout import in_rows
from jiggen.drawing.lettering import SMALL, shortened
from jiggen.drawing.looks import words as lettered
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds
from jiggen.drawing.sheet import Placed, Sheet
from jiggen.errors import DoesNotFit, DrawingError
from jiggen.jigs.plan import failed
from jiggen.job.sections import Job
from jiggen.solution import Check
from jiggen.units import Length

#: mm. White around a bed and around a single piece's file, and between two pieces.
EDGE, GAP = 5.0, 4.0
#: Kind of the pieces that find kerf and fit; they guide no drill.
COUPON = "coupon"


class Beds(Struct, frozen=True, kw_only=True):
    """What a machine cuts, kerf applied: beds of sheet material, and single pieces.

    `refused` is why a piece cannot be cut or is larger than the bed, by its name.
    """

    sheets: tuple[Sheet, ...]
    singles: tuple[Sheet, ...]
    refused: dict[str, DoesNotFit]

    @property
    def checks(self) -> tuple[Check, ...]:
        """Return what cannot be cut as failed checks."""
        return tuple(failed(name, why) for name, why in self.refused.items())


def lay_beds(job: Job, pieces: Sequence[Piece]) -> Beds:
    """Lay out every piece that is cut from sheet; one that cannot be cut stops no other."""
    refused: dict[str, DoesNotFit] = {}
    drawn: list[Piece] = []
    for piece in pieces:
        if piece.is_sheet:
            try:
                drawn.append(_with_slot(piece, job.cut.kerf or 0.0))
            except DoesNotFit as trouble:
                refused[piece.name] = trouble
    width, height = job.cut.bed
    edge = min(EDGE, 0.02 * min(width, height))
    free = Bounds(edge, edge + 2 * SMALL, width - edge, height - edge)
    fitting = []
    for piece in (p for p in drawn if p.on_bed):
        try:
            in_rows([piece], free=free, gap=GAP)
            fitting.append(piece)
        except DoesNotFit as trouble:
            refused[piece.name] = trouble
    beds = in_rows(fitting, free=free, gap=max(GAP, 2 * (job.cut.kerf or 0.0)))
    sheets = tuple(
        Sheet(
            name=f"cut-{number}",
            width=width,
            height=height,
            placed=placed,
            marks=(lettered((edge, edge), _note(job, placed, number, len(beds), edge), SMALL),),
            title=f"{job.name}, sheet {number} of {len(beds)}",
        )
        for number, placed in enumerate(beds, start=1)
    )
    singles = tuple(_single(piece, job.name) for piece in drawn)
    return Beds(sheets=sheets, singles=singles, refused=refused)


def _note(job: Job, placed: Sequence[Placed], number: int, count: int, edge: float) -> str:
    """Say on a bed's lower edge for which material it is and what it allows for."""
    cut = job.cut
    kerf = "without kerf"
    if cut.kerf is not None and any(not p.piece.as_drawn for p in placed):
        kerf = f"kerf {Length(cut.kerf).said(job.units)}"
    sheet = Length(cut.sheet, None).said(job.units)
    said = f"sheet {number} of {count}   material {sheet}   {kerf}   drawn 1:1 in mm   {job.name}"
    return shortened(said, SMALL, cut.bed[0] - 2 * edge)


def _with_slot(piece: Piece, kerf: float) -> Piece:
    if piece.as_drawn:
        return piece
    try:
        return with_kerf(piece, kerf)
    except DrawingError as trouble:
        raise DoesNotFit(
            str(trouble),
            key="cut.kerf",
            given=Length(kerf),
            remedy="cut.kerf is the full width of the slot, 0.1 to 0.3 mm for most lasers",
        ) from trouble


def _single(piece: Piece, job_name: str) -> Sheet:
    box = piece.bounds()
    place = Affine.move(EDGE - box.left, EDGE - box.bottom)
    return Sheet(
        name=piece.name,
        width=math.ceil(box.width + 2 * EDGE),
        height=math.ceil(box.height + 2 * EDGE),
        placed=(Placed(piece=replace(piece, count=1), place=place),),
        title=f"{job_name}, {piece.title}",
    )
