"""Measures a drawing that is on disk, and says whether it still is what was written.

The readers know nothing of the writers. What a drawing should measure comes from the record that
travels inside it; where another program lost that, from the manifest beside the file:

    bytes --reader--> lines, words, record --page by page--> sizes, and what is off
                                              ^
              record inside, else manifest ---+--- neither: measured, but not judged
"""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from msgspec.structs import replace

from jiggen.errors import DrawingFileError, installing
from jiggen.file_kinds import DRAWING, wrong_kind
from jiggen.limits import TooMuch, plain_bytes
from jiggen.remeasure.answer import MeasuredPage, MeasuredPiece, Measurement, count_of
from jiggen.remeasure.limits import BYTES_MOST, EXAMPLES, GIVE, Budget
from jiggen.remeasure.page import (
    LEAST_SHARE,
    PageMeasurer,
    find_place,
    not_in_place,
    say_place,
    unnamed_pieces,
    words_off,
)
from jiggen.remeasure.record import Manifest, NominalSheet, find_manifest, nominal_sheet
from jiggen.remeasure.shapes import NOTE, OFF, Finding, FoundDrawing, FoundPage
from jiggen.remeasure.solids import is_solid, measure_solid

SAME_PAGE = 0.05  # mm. Page sizes that differ less are the same paper
#: How many sheets of a manifest are tried on a page that nothing names.
MOST_TRIED = 40
MISSING = f"reading a PDF needs one more library: {installing('pikepdf>=10.18')}"


def remeasure(path: str | os.PathLike[str]) -> Measurement:
    """Measure a drawing from its own geometry, and compare it with what was written.

    Args:
        path: a PDF, SVG or DXF.

    Returns:
        Outlines, angles and bars in mm and degrees, and what is to be said about the file.

    Raises:
        DrawingFileError: no such file, or none that can be read.
    """
    name = os.fspath(path)
    try:
        data = plain_bytes(name, BYTES_MOST, "a drawing")
    except TooMuch as trouble:
        raise DrawingFileError(f"{name}: {trouble.problem}; {GIVE}") from None
    except (OSError, ValueError) as trouble:
        why = (trouble.strerror if isinstance(trouble, OSError) else "") or "bad name"
        remedy = f"give one of the drawings in it, {EXAMPLES}" if os.path.isdir(name) else GIVE
        raise DrawingFileError(f"{name}: cannot be read: {why}; {remedy}") from None
    if mistake := wrong_kind(data, DRAWING, name):
        raise DrawingFileError(f"{name}: {'; '.join(mistake)}")
    if is_solid(data):
        return measure_solid(name, data, find_manifest(Path(path), data))
    try:
        return _Judgement(name, read_drawing(data), find_manifest(Path(path), data)).measure()
    except DrawingFileError as trouble:
        raise DrawingFileError(f"{name}: {trouble}") from trouble


def read_drawing(data: bytes) -> FoundDrawing:
    """Return what a PDF, SVG or DXF draws, by its first bytes, whatever it is called.

    Raises:
        DrawingFileError: it is none of these, damaged, or beyond all measure; or pikepdf is not
            installed, or too old to hold a PDF to a size.
    """
    head = data[:4096].lstrip(b"\xef\xbb\xbf\xff\xfe\0 \t\r\n")
    if b"%PDF-" in data[:1024]:
        try:
            from jiggen.remeasure.pdf import read_pdf
        except ImportError:
            raise DrawingFileError(MISSING) from None
        return read_pdf(data)
    if head.startswith(b"<"):
        from jiggen.remeasure.svg import read_svg

        return read_svg(data)
    if (head.startswith((b"0", b"999", b"AutoCAD")) and b"SECTION" in data) or b"AutoCAD" in head:
        from jiggen.remeasure.dxf import read_dxf

        return read_dxf(data)
    raise DrawingFileError(f"is neither a PDF nor an SVG nor a DXF; {GIVE}")


class _Judgement:
    """One file, from what was found in it to what is said about it."""

    def __init__(self, name: str, drawing: FoundDrawing, manifest: Manifest | None) -> None:
        self.name = name
        self.drawing = drawing
        self.manifest = manifest
        self.own = manifest.own if manifest else None
        self.budget = Budget()
        self.findings: list[Finding] = list(drawing.findings)
        self.pieces: list[MeasuredPiece] = []
        self.known = False

    def measure(self) -> Measurement:
        sheets = self._sheets()
        lost = self._pages_lost(sheets)
        if lost:
            self._say(OFF, lost)
        elif all(sheet is not None and sheet.is_blank for sheet in sheets):
            # A page of words, such as a record to sign: of nothing measured nothing is true.
            raise DrawingFileError(
                "is no drawing: by its record it holds neither a piece nor a bar that could be "
                f"measured; {GIVE}"
            )
        pages = tuple(self._page(at, sheet) for at, sheet in enumerate(sheets))
        if not any(sheets):
            self._say_unknown()
        return Measurement(
            file=self.name,
            kind=self.drawing.kind,
            pieces=tuple(self.pieces),
            pages=pages,
            findings=_sorted(self.findings),
            known=self.known,
        )

    def _say(self, severity: str, text: str, page: int = 0) -> None:
        self.findings.append(Finding(severity, text, page))

    def _say_unknown(self) -> None:
        """Say what nobody can know of a file that jiggen did not write, or whose record is lost."""
        unit = self.drawing.unit
        by = f"by its unit, {unit}," if unit else "as if it counted in mm,"
        self._say(
            OFF,
            f"nothing tells what it should measure: outlines are measured {by} and cannot be "
            "judged. If jiggen wrote it, put manifest.json beside it; else measure what is cut",
        )
        if not self.pieces:
            lines = sum(len(page.contours) for page in self.drawing.pages)
            self._say(NOTE, f"no line in it, of {lines}, closes round 1 cm2 or more")

    def _sheets(self) -> list[NominalSheet | None]:
        if self.manifest is not None and self.own is None:
            self._say(NOTE, f"{self.manifest.path.name} beside it does not list this file")
        elif self.manifest is not None and not self.manifest.unchanged:
            self._say(
                NOTE,
                "it is not byte for byte as it was written: another program saved it, or somebody "
                "changed it; it is judged by what it draws now",
            )
        pages = self.drawing.pages
        listed: Sequence[NominalSheet | None] = [None] * len(pages)
        if self.own is not None and len(self.own.records) == len(pages):
            try:
                listed = self.own.sheets()
            except ValueError as trouble:
                self._say(OFF, f"the manifest holds {trouble}")
        sheets = [self._sheet(at, sheet) for at, sheet in enumerate(listed)]
        lost = [
            at
            for at, (page, sheet) in enumerate(zip(pages, sheets, strict=True), start=1)
            if page.record is None and sheet is not None
        ]
        if lost:
            where = "" if len(lost) == len(pages) else f" on page {', '.join(map(str, lost))}"
            self._say(NOTE, f"the record inside it is gone{where}; judged by the manifest")
        return sheets

    def _sheet(self, at: int, listed: NominalSheet | None) -> NominalSheet | None:
        """Return what a page should be, given what the manifest lists for it."""
        page = self.drawing.pages[at]
        if page.record is None:
            return listed or self._sheet_that_fits(page)
        if listed is not None and self.own is not None:
            if _same_run(page.record, self.own.records[at]):
                return listed
            self._say(
                OFF,
                "the record inside it is of another run than the manifest beside it: make the "
                "drawings again",
                at + 1,
            )
        try:
            return nominal_sheet(page.record)
        except ValueError as trouble:
            self._say(OFF, f"it carries {trouble}", at + 1)
            return listed

    def _sheet_that_fits(self, page: FoundPage) -> NominalSheet | None:
        """Return the sheet of the manifest that a page shows, by its shape alone."""
        tried: dict[str, NominalSheet] = {}
        for row in self.manifest.rows if self.manifest else ():
            try:
                for record, sheet in zip(row.records, row.sheets(), strict=True):
                    tried.setdefault(json.dumps(record, sort_keys=True), sheet)
            except ValueError:
                continue
        best, most = None, LEAST_SHARE
        for sheet in sorted(tried.values(), key=lambda sheet: -len(sheet.pieces))[:MOST_TRIED]:
            share = find_place(sheet, page, self.budget)[1].share
            if share > most:
                best, most = sheet, share
        return best

    def _pages_lost(self, sheets: Sequence[NominalSheet | None]) -> str:
        """Return what is to be said of pages that are missing or too many; empty for nothing."""
        pages = self.drawing.pages
        written = max((sheet.pages for sheet in sheets if sheet is not None), default=0)
        written = len(self.own.records) if self.own is not None else written
        if self.drawing.kind != "pdf" or written in (0, len(pages)):
            return ""
        there = {page.record.get("page") for page in pages if page.record}
        missing = [str(n) for n in range(1, min(written, 1000) + 1) if n not in there]
        which = "" if len(there - {None}) < len(pages) else f": missing is {', '.join(missing[:9])}"
        return f"it has {count_of(len(pages), 'page')}, where it had {written}{which}"

    def _page(self, at: int, sheet: NominalSheet | None) -> MeasuredPage:
        page, number = self.drawing.pages[at], at + 1
        bare = MeasuredPage(
            name=sheet.name if sheet else "", number=number, width=page.width, height=page.height
        )
        if sheet is None:
            self.pieces += self._unnamed(page, number)
            return bare
        self._say_page(sheet, page, number)
        self.findings += words_off(sheet, page, number, self.budget)
        if sheet.is_blank:
            return bare
        page, place = find_place(sheet, page, self.budget)
        if place.share < LEAST_SHARE:
            self._say(OFF, not_in_place(sheet, page), number)
            self.pieces += self._unnamed(page, number)
            return bare
        self.known = True
        measurer = PageMeasurer(page, place, number, self.budget)
        bars = measurer.bars(sheet.sizes, "the page")
        self.pieces += [measurer.piece(piece) for piece in sheet.pieces]
        measurer.count(sheet)
        self.findings += say_place(place, self.drawing, number)
        self.findings += measurer.findings
        return replace(bare, bars=bars)

    def _unnamed(self, page: FoundPage, number: int) -> list[MeasuredPiece]:
        count = sum(1 for piece in self.pieces if piece.inside is not None)
        return list(unnamed_pieces(page, number, count + 1, self.budget))

    def _say_page(self, sheet: NominalSheet, page: FoundPage, number: int) -> None:
        """Say what there is to be said of the page before its lines are looked at."""
        if sheet.corrected:
            self._say(
                NOTE,
                "it carries a print correction: bars and angles are drawn wrong on purpose, and "
                "come out true on the printer that it was made for",
                number,
            )
        if page.width is None or page.height is None:
            return
        if max(abs(page.width - sheet.width), abs(page.height - sheet.height)) > SAME_PAGE:
            # A cutter takes the lines and not the page; a printer fits the page to its paper.
            self._say(
                OFF if self.drawing.kind == "pdf" else NOTE,
                f"the page is {page.width:.2f} x {page.height:.2f} mm, where it was "
                f"{sheet.width:.2f} x {sheet.height:.2f} mm",
                number,
            )


def _same_run(inside: dict[str, object], listed: dict[str, object]) -> bool:
    """Return whether two records are of one run; of one in a DXF outlines may have been deleted."""
    rest = ("sheet", "width", "height", "dimensions")
    same = all(inside.get(key) == listed.get(key) for key in rest)
    return same and _texts(inside) <= _texts(listed)


def _texts(record: dict[str, object]) -> Counter[str]:
    pieces = record.get("pieces")
    listed = pieces if isinstance(pieces, list) else []
    return Counter(json.dumps(piece, sort_keys=True) for piece in listed)


def _sorted(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Return findings without repeats, what is off first; what several pages share is said once."""
    pages: dict[tuple[str, str], list[int]] = {}
    for finding in findings:
        pages.setdefault((finding.severity, finding.text), []).append(finding.page)
    merged = []
    for (severity, text), on in pages.items():
        numbers = sorted(set(on))
        if len(numbers) > 1:
            text = f"pages {', '.join(map(str, numbers))}: {text}"
        merged.append(
            Finding(severity=severity, text=text, page=numbers[0] if len(numbers) == 1 else 0)
        )
    merged.sort(key=lambda f: (f.severity != OFF, f.page))
    return tuple(merged)
