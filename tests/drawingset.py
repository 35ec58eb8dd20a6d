"""A folder of drawings made from the invented sheets, for tests of what is read back from disk."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace
from samplesheets import block, full_sheet, guide, one_piece

from jiggen.drawing.affine import Affine
from jiggen.drawing.kerf import with_kerf
from jiggen.drawing.sheet import Sheet
from jiggen.write.colours import Looks
from jiggen.write.files import replace_files
from jiggen.write.output import make_files


def cut(sheet: Sheet, kerf: float = 0.15) -> Sheet:
    """Return a sheet with its pieces as a beam must cut them."""
    placed = tuple(replace(p, piece=with_kerf(p.piece, kerf)) for p in sheet.placed)
    return replace(sheet, placed=placed)


def write_set(folder: Path, *, kerf: float = 0.15, correction: Affine | None = None) -> Path:
    """Write print.pdf, cut-1 and two single pieces with their manifest; return the folder."""
    files = make_files(
        print_sheets=[full_sheet("page 1"), one_piece(block(), "page 2")],
        cut_sheets=[cut(full_sheet("cut-1"), kerf)],
        piece_sheets=[
            cut(one_piece(guide(), "guide-a"), kerf),
            cut(one_piece(block(), "block"), kerf),
        ],
        formats=("pdf", "svg", "dxf"),
        looks=Looks(),
        correction=correction,
        title="Invented flap",
        job_name="Invented flap",
        version="0",
    )
    replace_files(folder, files)
    return folder
