"""Measures a drawing that is on disk, and says whether it still is what was written.

The readers know nothing of the writers. What a drawing should measure comes from the record that
travels inside it; where another program lost that, from the manifest beside the file.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from jiggen.errors import DrawingFileError
from jiggen.mistaken import DRAWING, mistaken_for
from jiggen.remeasure.apart import bars_left_true, say_apart
from jiggen.remeasure.contour import Matrix
from jiggen.remeasure.fit import Fit, fit_sheet
from jiggen.remeasure.found import NOTE, OFF, Finding, FoundDrawing, FoundPage
from jiggen.remeasure.joining import joined
from jiggen.remeasure.judge import say_errors, say_lie, say_page
from jiggen.remeasure.measurement import MeasuredPage, MeasuredPiece, Measurement
from jiggen.remeasure.nominal import (
    Manifest,
    NominalSheet,
    find_manifest,
    nominal_sheet,
)
from jiggen.remeasure.pieces import PageMeasurer, unnamed_pieces
from jiggen.remeasure.refusing import EXAMPLES, GIVE, expected, refuse_far, refuse_words_alone
from jiggen.remeasure.solids import is_solid, measure_solid

#: How many sheets of a manifest are tried on a page that nothing names.
MOST_TRIED = 40


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
        data = Path(path).read_bytes()
    except OSError as trouble:
        why = trouble.strerror or str(trouble)
        remedy = f"give one of the drawings in it, {EXAMPLES}" if Path(path).is_dir() else GIVE
        raise DrawingFileError(f"{name}: cannot be read: {why}; {remedy}") from None
    if mistake := mistaken_for(data, DRAWING, name):
        raise DrawingFileError(f"{name}: {'; '.join(mistake)}")
    if is_solid(data):
        return measure_solid(name, data, find_manifest(Path(path), data))
    try:
        drawing = read_drawing(data)
        refuse_far(drawing)
        return _Judgement(name, drawing, find_manifest(Path(path), data)).measure()
    except DrawingFileError as trouble:
        raise DrawingFileError(f"{name}: {trouble}") from trouble


def read_drawing(data: bytes) -> FoundDrawing:
    """Return what a file draws, by its first bytes, whatever it is called.

    Args:
        data: a PDF, SVG or DXF.

    Raises:
        DrawingFileError: it is none of these, or damaged.
    """
    head = data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n")
    if b"%PDF-" in data[:1024]:
        from jiggen.remeasure.pdf import read_pdf

        return read_pdf(data)
    if head.startswith(b"<"):
        from jiggen.remeasure.svg import read_svg

        return read_svg(data)
    if (head.startswith((b"0", b"999", b"AutoCAD")) and b"SECTION" in data) or b"AutoCAD" in head:
        from jiggen.remeasure.dxf import read_dxf

        return read_dxf(data)
    raise DrawingFileError(f"is neither a PDF nor an SVG nor a DXF; {GIVE}")


def _with_lines_joined(page: FoundPage) -> FoundPage:
    """Return a page whose lines, drawn edge by edge, are joined to outlines."""
    return replace(page, contours=tuple(joined(page.contours)))


class _Judgement:
    """One file, from what was found in it to what is said about it."""

    def __init__(self, name: str, drawing: FoundDrawing, manifest: Manifest | None) -> None:
        self.name = name
        self.drawing = drawing
        self.manifest = manifest
        self.findings: list[Finding] = list(drawing.findings)
        self.hints: list[Matrix] = []
        self.pages: list[MeasuredPage] = []
        self.pieces: list[MeasuredPiece] = []

    def measure(self) -> Measurement:
        self._compare_records()
        sheets = self._sheets()
        refuse_words_alone(sheets)
        known = any(sheet is not None for sheet in sheets)
        if not known:
            self._say_unknown()
        # Pages with pieces first: what they turn out to be helps to find a page of bars only.
        order = sorted(range(len(sheets)), key=lambda n: -len(s.pieces) if (s := sheets[n]) else 0)
        done = {n: self._page(n, sheets[n]) for n in order}
        for number in range(len(sheets)):
            page, pieces = done[number]
            self.pages.append(page)
            self.pieces += pieces
        self._name_the_unnamed()
        if not known and not self.pieces:
            lines = sum(len(page.contours) for page in self.drawing.pages)
            self._say(
                NOTE,
                f"no line in it, of {lines}, closes round 1 cm2 or more: there is no outline to "
                "measure",
            )
        return Measurement(
            file=self.name,
            kind=self.drawing.kind,
            pieces=tuple(self.pieces),
            pages=tuple(self.pages),
            findings=_sorted(self.findings),
            known=known,
        )

    def _say(self, severity: str, text: str, page: int = 0) -> None:
        self.findings.append(Finding(severity=severity, text=text, page=page))

    def _say_unknown(self) -> None:
        """Say what nobody can know of a file that jiggen did not write, or whose record is lost."""
        unit = self.drawing.unit
        by = f"by its unit, {unit}," if unit else "as if it counted in mm,"
        self._say(
            OFF,
            "nothing in it or beside it tells what it should measure: the outlines below are "
            f"measured {by} and cannot be judged",
        )
        self._say(
            NOTE,
            "what cannot be known of it: whether the sizes are those that were meant, which piece "
            "is which and which way round, what its angles should be, and whether kerf is in the "
            "lines. If jiggen wrote it, put manifest.json beside it; else measure what is cut",
        )

    def _compare_records(self) -> None:
        """Say what manifest and record have to say about one another."""
        manifest = self.manifest
        carries = any(page.record is not None for page in self.drawing.pages)
        if manifest is None:
            if carries:
                self._say(NOTE, "there is no manifest beside it; judged by the record inside it")
            return
        own = manifest.own
        if own is None:
            self._say(NOTE, f"{manifest.path.name} beside it does not list this file")
            return
        if not manifest.unchanged:
            self._say(
                NOTE,
                "it is not byte for byte as it was written: another program saved it, or somebody "
                "changed it; it is judged by what it draws now",
            )
        if len(own.records) != len(self.drawing.pages):
            self._say(
                OFF, f"it has {len(self.drawing.pages)} pages, and had {len(own.records)} of them"
            )
            return
        for number, (page, record) in enumerate(
            zip(self.drawing.pages, own.records, strict=True), start=1
        ):
            if page.record and not _same(page.record, record):
                self._say(
                    OFF,
                    f"the record inside it is not the one in {manifest.path.name}: file and "
                    "manifest come from different runs; make the drawings again",
                    number,
                )

    def _sheets(self) -> list[NominalSheet | None]:
        """Return what each page should be; None where that is not known."""
        pages = self.drawing.pages
        own = self.manifest.own if self.manifest else None
        known: Sequence[NominalSheet | None] = [None] * len(pages)
        if own is not None and len(own.records) == len(pages):
            try:
                known = own.sheets()
            except ValueError as trouble:
                self._say(OFF, f"the manifest holds {trouble}")
        sheets: list[NominalSheet | None] = []
        lost = []
        for number, (page, fallback) in enumerate(zip(pages, known, strict=True), start=1):
            sheet = fallback
            if page.record is not None:
                try:
                    sheet = nominal_sheet(page.record)
                except ValueError as trouble:
                    self._say(OFF, f"it carries {trouble}", number)
            else:
                lost.append(number)
                sheet = sheet or self._sheet_that_fits(page)
            sheets.append(sheet)
        if lost and any(sheets[number - 1] is not None for number in lost):
            where = "" if len(lost) == len(pages) else f" on page {', '.join(map(str, lost))}"
            self._say(
                NOTE,
                f"the record of nominal sizes inside it is gone{where}; judged by the manifest",
            )
        return sheets

    def _sheet_that_fits(self, page: FoundPage) -> NominalSheet | None:
        """Return the sheet of the manifest that a page shows, by its shape alone."""
        if self.manifest is None:
            return None
        tried: dict[str, NominalSheet] = {}
        for row in self.manifest.rows:
            try:
                for record, sheet in zip(row.records, row.sheets(), strict=True):
                    tried.setdefault(json.dumps(record, sort_keys=True), sheet)
            except ValueError:
                continue
        candidates = sorted(tried.values(), key=lambda sheet: -len(sheet.pieces))[:MOST_TRIED]
        whole = _with_lines_joined(page)
        for shown, search in ((page, False), (page, True), (whole, False), (whole, True)):
            best: tuple[float, NominalSheet] | None = None
            for sheet in candidates:
                fit = fit_sheet(sheet, shown, self.hints, search=search)
                if fit is not None and (best is None or fit.share > best[0]):
                    best = (fit.share, sheet)
            if best is not None:
                return best[1]
        return None

    def _page(
        self, at: int, sheet: NominalSheet | None
    ) -> tuple[MeasuredPage, tuple[MeasuredPiece, ...]]:
        page, number = self.drawing.pages[at], at + 1
        name = sheet.name if sheet else ""
        bare = MeasuredPage(name=name, number=number, width=page.width, height=page.height)
        if sheet is None:
            return bare, unnamed_pieces(_with_lines_joined(page), number, 1)
        fit = fit_sheet(sheet, page, self.hints)
        if fit is None:
            whole = _with_lines_joined(page)
            fit = fit_sheet(sheet, whole, self.hints)
            page = page if fit is None else whole
        self.findings += say_page(sheet, page, fit, self.drawing, number)
        if sheet.corrected:
            self._say(
                NOTE,
                "it carries a print correction: bars and angles are drawn wrong on purpose, and "
                "come out true on the printer that it was made for",
                number,
            )
        if fit is None:
            if any(True for _ in expected(sheet)):
                self._say(
                    OFF,
                    "what is drawn is not what the record describes: neither its outlines nor its "
                    "bars can be found",
                    number,
                )
            return bare, unnamed_pieces(_with_lines_joined(page), number, 1)
        bars = bars_left_true(sheet, page, fit)
        self.hints.append((bars or fit).matrix)
        return self._measured(bare, sheet, page, fit, bars)

    def _measured(
        self, bare: MeasuredPage, sheet: NominalSheet, page: FoundPage, fit: Fit, bars: Fit | None
    ) -> tuple[MeasuredPage, tuple[MeasuredPiece, ...]]:
        measurer = PageMeasurer(page, fit, bare.number, bars_lie=bars)
        measured = MeasuredPage(
            name=bare.name,
            number=bare.number,
            width=bare.width,
            height=bare.height,
            bars=measurer.bars(sheet.sizes, "the page"),
        )
        pieces = tuple(measurer.piece(piece) for piece in sheet.pieces)
        measurer.doubled(sheet, page)
        if bars is None:
            self.findings += say_lie(fit, self.drawing, bare.number)
        else:
            self.findings += say_apart(fit, bare.number)
        self.findings += measurer.findings
        self.findings += say_errors(measured, pieces, fit, bars or fit)
        if self.drawing.kind == "pdf" and not page.has_text:
            self._say(NOTE, "there is no text on it: lettering was outlined, or lost", bare.number)
        return measured, pieces

    def _name_the_unnamed(self) -> None:
        """Number the nameless pieces through over all pages."""
        count = 0
        for at, piece in enumerate(self.pieces):
            if piece.name.startswith("piece "):
                count += 1
                self.pieces[at] = replace(piece, name=f"piece {count}")


def _same(one: dict[str, object], other: dict[str, object]) -> bool:
    ignored = ("page", "correction")
    return {k: v for k, v in one.items() if k not in ignored} == {
        k: v for k, v in other.items() if k not in ignored
    }


def _sorted(findings: Iterable[Finding]) -> tuple[Finding, ...]:
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
