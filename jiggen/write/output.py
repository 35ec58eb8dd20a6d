"""All files of a job in memory: which format draws which sheets, and under which name.

A format's library is loaded only when that format is asked for: the DXF library alone takes longer
to load than everything else together.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Any

from jiggen.drawing.affine import Affine
from jiggen.drawing.sheet import Sheet
from jiggen.drawing.solid import Solid
from jiggen.write.colours import Looks
from jiggen.write.cutting import CutDrawing, cut_drawing
from jiggen.write.manifest import FORMATS, MANIFEST, PAGES, ROLL, manifest_bytes

#: A file's bytes, and the record that each of its sheets carries in it.
_Written = tuple[bytes, list[dict[str, Any]]]


def make_files(
    *,
    print_sheets: Sequence[Sheet],
    cut_sheets: Sequence[Sheet],
    piece_sheets: Sequence[Sheet],
    roll_sheets: Sequence[Sheet] = (),
    solids: Sequence[Solid] = (),
    formats: Collection[str],
    looks: Looks,
    correction: Affine | None,
    title: str,
    job_name: str,
    version: str,
    on_file: Callable[[str], None] | None = None,
) -> dict[str, bytes]:
    """Return every file of a job, the manifest last, as bytes by path in the folder.

    Args:
        print_sheets: pages of ``print.pdf`` in order, mm, without kerf.
        cut_sheets: beds of sheet material, kerf applied; the name of each is the stem of its file.
        piece_sheets: one piece each, kerf applied; named after the piece, they go to ``pieces/``.
        roll_sheets: long pages for a roll, in order, without kerf; they go to ``strip-roll.pdf``.
            Another machine prints them, so they are drawn without the correction.
        solids: bodies to print; they go to ``solids/``.
        formats: of `FORMATS`.
        looks: of the cut files.
        correction: what undoes the printer's distortion; None for none.
        title: of the PDF.
        job_name: for the manifest.
        version: of jiggen, for the manifest.
        on_file: told each path when its bytes are ready, for a progress bar.

    Returns:
        The files; empty formats and empty lists of sheets leave theirs out.

    Raises:
        DrawingError: something on a sheet cannot be drawn.
        ValueError: a format that is not known, or two sheets with one name.
    """
    unknown = sorted(set(formats) - set(FORMATS))
    if unknown:
        raise ValueError(f"unknown format {unknown[0]}; known are {', '.join(FORMATS)}")
    files: dict[str, bytes] = {}
    sheets: dict[str, Sequence[Sheet]] = {}
    records: dict[str, list[dict[str, Any]]] = {}

    def keep(path: str, written: _Written, drawn: Sequence[Sheet]) -> None:
        if path in files:
            raise ValueError(f"two sheets would be written to {path}")
        files[path], records[path] = written
        sheets[path] = drawn
        if on_file is not None:
            on_file(path)

    if "pdf" in formats and print_sheets:
        keep(PAGES, _pdf(print_sheets, title, correction), print_sheets)
    if "pdf" in formats and roll_sheets:
        keep(ROLL, _pdf(roll_sheets, title, None), roll_sheets)
    cut = [suffix for suffix in ("svg", "dxf") if suffix in formats]
    for folder, some in (("", cut_sheets), ("pieces/", piece_sheets)):
        for sheet in some if cut else ():
            drawing = cut_drawing(sheet, live_text=looks.live_text)
            for suffix in cut:
                keep(f"{folder}{sheet.name}.{suffix}", _cut_file(suffix, drawing, looks), (sheet,))
    printed: dict[str, dict[str, Any]] = {}
    for suffix in ("3mf", "stl"):
        if suffix in formats:
            from jiggen.write.solid import solid_bytes, solid_path, solid_record

            for solid in solids:
                path = solid_path(solid, suffix)
                keep(path, (solid_bytes(solid, suffix), []), ())
                printed[path] = solid_record(solid)
    files[MANIFEST] = manifest_bytes(
        files,
        sheets,
        records,
        solids=printed,
        job_name=job_name,
        version=version,
        correction=None if correction is None else correction[:4],
    )
    return files


def _pdf(sheets: Sequence[Sheet], title: str, correction: Affine | None) -> _Written:
    from jiggen.write.pdf import pdf_bytes

    return pdf_bytes(sheets, title=title, correction=correction)


def _cut_file(suffix: str, cut: CutDrawing, looks: Looks) -> _Written:
    if suffix == "svg":
        from jiggen.write.svg import svg_bytes

        return svg_bytes(cut, looks), [cut.record]
    from jiggen.write.dxf import dxf_bytes

    return dxf_bytes(cut, looks), [cut.record]
