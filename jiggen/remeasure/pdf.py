"""Reads a PDF's pages as a printer would: content streams, forms, boxes, unit and preferences.

pikepdf opens the file and splits its streams into words; the graphics state, the matrices, the
paths and the fonts' maps to letters are followed here. A page's origin is the lower left corner of
its MediaBox; /Rotate turns what a viewer shows and nothing of what is measured.

Source: ISO 32000-1, 7.8, 8.3 to 8.5, 8.10, 9.4, 9.10.3, 12.2, 14.6, 14.11 (from memory).
"""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from typing import Any

import pikepdf
from msgspec.structs import replace
from pikepdf.settings import set_qpdf_limits

from jiggen.errors import DrawingFileError
from jiggen.remeasure.limits import DAMAGED, DEEPEST, Budget, no_number, number, too_deep
from jiggen.remeasure.record import record_of
from jiggen.remeasure.shapes import (
    NOTE,
    OFF,
    Contour,
    Finding,
    FoundDrawing,
    FoundPage,
    Matrix,
    Point,
    Tracer,
    times,
)

POINT_MM = 25.4 / 72.0  # mm in a point. Source: ISO 32000-1, 8.3.2.3 (from memory): 1/72 inch

STREAM_MOST = 16_000_000
"""Bytes that one stream may unfold to: pages of millions of lines are no pages of jigs."""

# What following a page runs into where a number is missing or something else stands in its place.
_NOT_AS_THE_FORMAT_SAYS = (
    *(TypeError, ValueError, LookupError, AttributeError, ArithmeticError, RuntimeError),
)
_OWN_NAME = re.compile(r"(?:stream )?<_io\.\w+[^>]*>:?")
_STROKES = {"S": False, "s": True}
_FILLS = {"f": False, "F": False, "f*": False, "B": False, "B*": False, "b": True, "b*": True}
_PATH = {"m", "l", "c", "v", "y", "h", "re"}
_SHOWS_TEXT = {"Tj", "TJ", "'", '"'}
_OPERANDS_MOST = 1_000
#: The packings that are unfolded; the others are older, and are not held to a size.
_UNPACKED = {"/FlateDecode", "/Fl", "/ASCII85Decode", "/A85", "/ASCIIHexDecode", "/AHx"}
_NAME = re.compile(rb"/[^\s/<>\[\](){}%\0]{3,40}")
_HEX_IN_NAME = re.compile(rb"#([0-9a-fA-F]{2})")
_MAPPED = re.compile(rb"<([0-9a-fA-F\s]*+)>|([\[\]])")
_OPEN, _SHUT = object(), object()
_MARKS = {b"[": _OPEN, b"]": _SHUT}


def read_pdf(data: bytes) -> FoundDrawing:
    """Return what the pages of a PDF draw, in mm, y up.

    Raises:
        DrawingFileError: the file is damaged, locked or beyond all measure.
    """
    # Damage is said in the finding or the error; the library would print it a second time.
    logging.getLogger("pikepdf").addHandler(logging.NullHandler())
    _refuse_old_packing(data)
    findings: list[Finding] = []
    budget = Budget()
    try:
        with _held_to_size(), pikepdf.open(io.BytesIO(data)) as pdf:
            budget.spend("pages", len(pdf.pages))
            if pdf.get_warnings():
                findings.append(Finding(OFF, _SAVED_FROM_DAMAGE))
            findings += _preferences(pdf)
            fonts: dict[Any, _Font] = {}
            pages = tuple(
                _Page(page, at, budget, fonts).read(findings)
                for at, page in enumerate(pdf.pages, start=1)
            )
    except pikepdf.PasswordError:
        raise DrawingFileError("is locked with a password; save it without") from None
    except (pikepdf.PikepdfError, *_NOT_AS_THE_FORMAT_SAYS) as trouble:
        why = _OWN_NAME.sub("", str(trouble)).strip()
        if "memory limit" in why:
            raise DrawingFileError(
                f"is too large to be measured: a stream in it unfolds to more than "
                f"{STREAM_MOST // 1_000_000} MB; give the drawing alone"
            ) from None
        why = f" ({why})" if why and isinstance(trouble, pikepdf.PikepdfError) else ""
        said = f"is not a PDF that can be read: it is cut short or damaged{why}"
        raise DrawingFileError(f"{said}; {DAMAGED}") from None
    return FoundDrawing(
        kind="pdf", pages=pages, findings=tuple(findings), unit="points", as_stated=POINT_MM
    )


_SAVED_FROM_DAMAGE = (
    "the file is cut short or damaged: what is below is what could be saved of it, and more may "
    f"have been there; {DAMAGED}"
)


@contextmanager
def _held_to_size() -> Iterator[None]:
    """Keep the library from unfolding forty kilobytes to six gigabytes; its limits are global."""
    before: Any = set_qpdf_limits(
        flate_max_memory=STREAM_MOST,
        png_max_memory=STREAM_MOST,
        tiff_max_memory=STREAM_MOST,
        run_length_max_memory=STREAM_MOST,
        max_stream_filters=3,
        parser_max_container_size=200_000,
        doc_max_warnings=1_000,
    )
    try:
        yield
    finally:
        set_qpdf_limits(**before)


def _refuse_old_packing(data: bytes) -> None:
    """Refuse LZW, a packing older than PDF 1.2, to which the library sets no limit."""
    for match in _NAME.finditer(data):
        name = match[0]
        if b"#" in name:
            name = _HEX_IN_NAME.sub(lambda code: bytes([int(code[1], 16)]), name)
        if name.startswith(b"/LZW"):
            raise DrawingFileError("is packed in an old way, LZW; save it again with any program")


def _preferences(pdf: Any) -> list[Finding]:
    preferences = pdf.Root.get("/ViewerPreferences") or {}
    if str(preferences.get("/PrintScaling", "")) != "/None":
        text = (
            "the wish to print without scaling (/PrintScaling /None) is gone: the print dialogue "
            "may shrink the page to fit; choose 100 % by hand and measure the bars"
        )
        return [Finding(OFF, text)]
    if preferences.get("/PickTrayByPDFSize") is not True:
        return [Finding(NOTE, "the wish to pick the paper by the page's size is gone")]
    return []


class _Font:
    """From the codes of shown strings to letters, by the font's own ToUnicode map."""

    def __init__(self, font: Any, budget: Budget) -> None:
        composite = str(font.get("/Subtype", "")) == "/Type0"
        self.width = 2 if composite else 1  # bytes to a code
        self.letters: dict[int, str] | None = {}  # None where codes mean nothing without a map
        stream = font.get("/ToUnicode")
        if hasattr(stream, "read_bytes"):
            try:
                self.width, self.letters = _letters(_unfolded(stream, budget), budget, self.width)
            except (ValueError, TypeError, OverflowError):  # a damaged map is as good as none
                self.letters = None
        elif composite or "+" in str(font.get("/BaseFont", "")) or "/FontMatrix" in font:
            self.letters = None

    def text(self, shown: bytes) -> str | None:
        """Return a shown string as text; None where one of its codes has no letter."""
        if self.letters is None:
            return None
        if not self.letters:
            return shown.decode("cp1252", "replace")
        codes = (shown[at : at + self.width] for at in range(0, len(shown), self.width))
        found = [self.letters.get(int.from_bytes(code)) for code in codes]
        return None if None in found else "".join(letter or "" for letter in found)


def _letters(data: bytes, budget: Budget, width: int) -> tuple[int, dict[int, str]]:
    """Return the bytes to a code and the letters of a ToUnicode map."""
    letters: dict[int, str] = {}
    for block in _blocks(data, b"codespacerange"):
        width = max(1, len(block[0])) if block else width
    for block in _blocks(data, b"bfchar"):
        budget.spend("characters of fonts", len(block))
        for code, text in zip(block[::2], block[1::2], strict=False):
            letters[int.from_bytes(code)] = text.decode("utf-16-be", "replace")
    for block in _blocks(data, b"bfrange"):
        at = 0
        while at + 2 < len(block):
            first, last = int.from_bytes(block[at]), int.from_bytes(block[at + 1])
            budget.spend("characters of fonts", max(1, last - first + 1))
            if block[at + 2] is _OPEN:
                end = block.index(_SHUT, at)
                texts = block[at + 3 : end]
                at = end + 1
            else:
                base, size = int.from_bytes(block[at + 2]), max(2, len(block[at + 2]))
                texts = [(base + n).to_bytes(size + 1)[1:] for n in range(last - first + 1)]
                at += 3
            for code, text in enumerate(texts, start=first):
                letters[code] = text.decode("utf-16-be", "replace")
    return width, letters


def _blocks(data: bytes, name: bytes) -> Iterator[list[Any]]:
    """Yield the strings between begin and end of one kind, `_OPEN` and `_SHUT` among them."""
    for part in data.split(b"begin" + name)[1:]:
        words = _MAPPED.findall(part.partition(b"end" + name)[0])
        yield [_MARKS.get(mark) or _hex(code) for code, mark in words]


def _hex(code: bytes) -> bytes:
    digits = b"".join(code.split()).decode()
    return bytes.fromhex(digits + "0" * (len(digits) % 2))


def _unfolded(stream: Any, budget: Budget) -> bytes:
    """Return a stream's own bytes, and pay for them.

    Raises:
        DrawingFileError: it is packed in a way that has no limit.
    """
    packed = stream.get("/Filter")
    ways = [] if packed is None else [packed] if str(packed).startswith("/") else list(packed)
    if strange := [str(way) for way in ways if str(way) not in _UNPACKED]:
        raise DrawingFileError(
            f"is packed in an old way, {strange[0][1:20]}; save it again with any program"
        )
    data = bytes(stream.read_bytes())
    budget.spend("bytes of unpacked drawing", len(data))
    return data


class _Page:
    """One page, followed operator by operator."""

    def __init__(self, page: Any, number: int, budget: Budget, fonts: dict[Any, _Font]) -> None:
        self.page = page
        self.number = number
        self.budget = budget
        self.fonts = fonts
        self.contours: list[Contour] = []
        self.parts: list[str] = []
        self.words: list[str] = []
        self.unreadable = False
        self.pictures = 0

    def read(self, findings: list[Finding]) -> FoundPage:
        left, bottom, right, top = (number(str(v)) for v in self.page.mediabox)
        left, right = min(left, right), max(left, right)
        bottom, top = min(bottom, top), max(bottom, top)
        unit = number(str(self.page.obj.get("/UserUnit", 1.0)))
        mm = POINT_MM * unit
        width, height = (right - left) * mm, (top - bottom) * mm
        if not (width > 0 and height > 0):
            no_number("a size of its page")
        place: Matrix = (mm, 0.0, 0.0, mm, -left * mm, -bottom * mm)
        self.follow(self.page, self.inherited("/Resources"), place, 0)
        self._boxes(findings, (left, bottom, right, top), unit)
        return FoundPage(
            width=width,
            height=height,
            contours=tuple(self.contours),
            record=record_of("".join(self.parts)) if self.parts else None,
            words=None if self.unreadable else tuple(self.words),
        )

    def follow(self, page: Any, resources: Any, matrix: Matrix, deep: int) -> None:
        """Follow the content of a page, or of a form on it that is laid out as a page."""
        if deep > DEEPEST:
            too_deep()
        contents = page.obj.get("/Contents")
        if contents is None:
            return
        for part in contents if isinstance(contents, pikepdf.Array) else [contents]:
            _unfolded(part, self.budget)
        page.parse_contents(_Stream(self, resources, matrix, deep))

    def font(self, resources: Any, name: str) -> _Font | None:
        """Return one of the fonts of some resources; None where they do not have it."""
        font = (resources or {}).get("/Font", {}).get(name)
        if font is None:
            return None
        if font.objgen not in self.fonts or not font.is_indirect:
            self.fonts[font.objgen] = _Font(font, self.budget)
        return self.fonts[font.objgen]

    def marked(self, operands: list[Any], resources: Any) -> None:
        """Keep a part of the record, which stands in the content or among the properties."""
        if len(operands) != 2 or str(operands[0]) != "/JiggenRecord":
            return
        properties = operands[1]
        if isinstance(properties, pikepdf.Name):
            properties = (resources or {}).get("/Properties", {}).get(str(properties), {})
        self.parts.append(str(properties.get("/Json", "")))

    def form(self, name: Any, resources: Any, matrix: Matrix, deep: int) -> None:
        """Follow what a page draws by its name."""
        form = (resources or {}).get("/XObject", {}).get(str(name))
        if form is None:
            return
        if str(form.get("/Subtype", "")) == "/Image":
            self.pictures += 1
        elif str(form.get("/Subtype", "")) == "/Form":
            self.budget.spend("forms")
            a, b, c, d, e, f = (number(str(v)) for v in form.get("/Matrix", (1, 0, 0, 1, 0, 0)))
            content = pikepdf.Dictionary(Type=pikepdf.Name.Page, Contents=form)
            inner = times((a, b, c, d, e, f), matrix)
            page = pikepdf.Page(content)
            self.follow(page, form.get("/Resources", resources), inner, deep + 1)

    def inherited(self, key: str) -> Any:
        """Return a value of the page or of what it hangs from."""
        node = self.page.obj
        for _ in range(50):
            if key in node:
                return node[key]
            node = node.get("/Parent")
            if node is None:
                break
        return None

    def _boxes(self, findings: list[Finding], sheet: tuple[float, ...], unit: float) -> None:
        def say(severity: str, text: str) -> None:
            findings.append(Finding(severity, text, self.number))

        if unit != 1.0:
            say(
                OFF,
                f"the page counts in units of {unit:g}/72 inch (/UserUnit): some programs obey it "
                "and others do not, so the print may come out at either size",
            )
        turn = self.inherited("/Rotate")
        if turn:
            say(NOTE, f"the page is shown turned by {int(turn) % 360} degrees, which does no harm")
        for name in ("/CropBox", "/TrimBox", "/BleedBox", "/ArtBox"):
            box = self.inherited(name) if name == "/CropBox" else self.page.obj.get(name)
            if box is None:
                continue
            inset = max(abs(a - number(str(b))) for a, b in zip(sheet, box, strict=False))
            if not inset <= 0.01:
                say(
                    OFF,
                    f"{name} lies up to {inset * POINT_MM * unit:.2f} mm off the edge of the "
                    "sheet: print filters fit that box to the paper and change the scale",
                )
        if self.pictures:
            drawn = "" if self.contours else ", and no line: the drawing was turned into pixels"
            say(NOTE if self.contours else OFF, f"it holds a picture{drawn}")


class _Stream(pikepdf.StreamParser):
    """The graphics state along one content stream: the page's own, or that of a form on it.

    The library hands over word by word, so that no stream need be kept as a list.
    """

    def __init__(self, page: _Page, resources: Any, matrix: Matrix, deep: int) -> None:
        super().__init__()
        self.page = page
        self.resources = resources
        self.deep = deep
        self._operands: list[Any] = []
        self._matrix = matrix
        self._font: _Font | None = None
        self._stack: list[tuple[Matrix, _Font | None]] = []
        self._tracer = Tracer(page.budget, matrix)
        self._here: Point = (0.0, 0.0)
        self._begin: Point = (0.0, 0.0)

    def handle_object(self, found: Any, offset: int, length: int) -> None:
        """Keep an operand, or obey an operator with those that came before it."""
        self.page.budget.spend("operators and numbers")
        if type(found) not in (int, Decimal) and isinstance(found, pikepdf.Operator):
            self._obey(str(found), self._operands)
            self._operands = []
        elif len(self._operands) < _OPERANDS_MOST:
            self._operands.append(found)

    def handle_eof(self) -> None:
        """Do nothing: what is open at the end is not drawn."""

    def _obey(self, name: str, operands: list[Any]) -> None:
        """Do what one operator says."""
        if name in _PATH:
            self._draw(name, [float(v) for v in operands])
        elif name in _STROKES or name in _FILLS:
            if _STROKES.get(name) or _FILLS.get(name):
                self._tracer.close()
            self._paint(filled=name in _FILLS)
        elif name == "n":
            self._tracer = Tracer(self.page.budget, self._matrix)
        elif name == "q":
            self._stack.append((self._matrix, self._font))
        elif name == "Q":
            if self._stack:
                self._matrix, self._font = self._stack.pop()
            self._tracer.matrix = self._matrix
        elif name == "cm":
            a, b, c, d, e, f = (float(v) for v in operands)
            self._matrix = times((a, b, c, d, e, f), self._matrix)
            self._tracer.matrix = self._matrix
        elif name == "DP":
            self.page.marked(operands, self.resources)
        elif name == "Do":
            self.page.form(operands[0], self.resources, self._matrix, self.deep)
        elif name == "Tf":
            self._font = self.page.font(self.resources, str(operands[0]))
        elif name in _SHOWS_TEXT:
            self._show(operands[-1])
        elif name == "EI":
            self.page.pictures += 1

    def _paint(self, *, filled: bool) -> None:
        self._tracer.filled = filled
        self._tracer.end()
        found = self._tracer.contours
        self.page.contours += [replace(c, filled=True) for c in found] if filled else found
        self._tracer = Tracer(self.page.budget, self._matrix)

    def _show(self, shown: Any) -> None:
        """Keep the letters of a string, or of those in an array with kerning between them."""
        for part in shown if isinstance(shown, pikepdf.Array) else [shown]:
            if isinstance(part, pikepdf.String):
                text = None if self._font is None else self._font.text(bytes(part))
                self.page.unreadable = self.page.unreadable or text is None
                self.page.words.append(text or "")

    def _draw(self, name: str, v: list[float]) -> None:
        """Follow one path operator."""
        tracer, here = self._tracer, self._here
        if name == "m":
            self._begin = (v[0], v[1])
            tracer.start(self._begin)
        elif name == "re":
            x, y, wide, high = v
            tracer.start((x, y))
            for corner in ((x + wide, y), (x + wide, y + high), (x, y + high)):
                tracer.line(corner)
            tracer.close()
            self._begin = self._here = (x, y)
            return
        elif name == "h":
            tracer.close()
            self._here = self._begin
            return
        elif not tracer.begun:
            tracer.start(here)
        if name == "l":
            tracer.line((v[0], v[1]))
        elif name == "c":
            tracer.cubics((((v[0], v[1]), (v[2], v[3]), (v[4], v[5])),))
        elif name == "v":
            tracer.cubics(((here, (v[0], v[1]), (v[2], v[3])),))
        elif name == "y":
            tracer.cubics((((v[0], v[1]), (v[2], v[3]), (v[2], v[3])),))
        self._here = (v[-2], v[-1])
