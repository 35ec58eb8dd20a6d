"""Reads a PDF's pages as a printer would: content streams, forms, boxes, unit and preferences.

pikepdf splits the file into operators; the graphics state, the matrices and the paths are followed
here. A page's origin is the lower left corner of its MediaBox as it is viewed, after /Rotate.

Source: ISO 32000-1, 7.8, 8.3 to 8.5, 8.10, 12.2, 14.6, 14.11 (from memory).
"""

from __future__ import annotations

import io
import json
import logging
import re
from typing import Any

from jiggen.errors import DrawingFileError
from jiggen.remeasure.contour import Contour, Matrix, Point, Tracer, times
from jiggen.remeasure.found import DAMAGED, NOTE, OFF, Finding, FoundDrawing, FoundPage

#: mm in a point. Source: ISO 32000-1, 8.3.2.3 (from memory): 1/72 inch.
POINT_MM = 25.4 / 72.0
# What following a page runs into where a number is missing or something else stands in its place.
_NOT_AS_THE_FORMAT_SAYS = (
    *(TypeError, ValueError, LookupError, AttributeError, ArithmeticError, RuntimeError),
)
_OWN_NAME = re.compile(r"(?:stream )?<_io\.\w+[^>]*>:?")
_STROKES = {"S": False, "s": True}
_FILLS = {"f": False, "F": False, "f*": False, "B": False, "B*": False, "b": True, "b*": True}
_SHOWS_TEXT = {"Tj", "TJ", "'", '"'}
_OPERATORS = "q Q cm m l c v y h re S s f F f* B B* b b* n Do BDC BMC EMC DP Tj TJ ' \" BI ID EI sh"
_DEEPEST = 8
MISSING = "reading a PDF needs one more library: pip install 'jiggen[proof]'"


def read_pdf(data: bytes) -> FoundDrawing:
    """Return what the pages of a PDF draw, in mm, y up.

    Args:
        data: the file.

    Raises:
        DrawingFileError: pikepdf is not installed, or the file is damaged or locked.
    """
    try:
        import pikepdf
    except ImportError:
        raise DrawingFileError(MISSING) from None
    # Damage is said in the finding or the error; the library would print it a second time.
    logging.getLogger("pikepdf").addHandler(logging.NullHandler())
    findings: list[Finding] = []
    try:
        with pikepdf.open(io.BytesIO(data)) as pdf:
            findings += _saved_from_damage(pdf)
            findings += _preferences(pdf)
            pages = tuple(
                _Page(page, number, pikepdf).read(findings)
                for number, page in enumerate(pdf.pages, start=1)
            )
    except pikepdf.PasswordError:
        raise DrawingFileError("is locked with a password; save it without") from None
    except (pikepdf.PikepdfError, *_NOT_AS_THE_FORMAT_SAYS) as trouble:
        why = _why(trouble) if isinstance(trouble, pikepdf.PikepdfError) else ""
        said = f"is not a PDF that can be read: it is cut short or damaged{why}"
        raise DrawingFileError(f"{said}; {DAMAGED}") from None
    if not pages:
        raise DrawingFileError(f"is a PDF without any page, perhaps cut short; {DAMAGED}")
    return FoundDrawing(
        kind="pdf", pages=pages, findings=tuple(findings), unit="points", as_stated=POINT_MM
    )


def _why(trouble: Exception) -> str:
    """Return what a library says of a file, without the library's own name for the file."""
    said = _OWN_NAME.sub("", str(trouble)).strip()
    return f" ({said})" if said else ""


def _saved_from_damage(pdf: Any) -> list[Finding]:
    """Say so where the file is damaged and only what was left of it is measured."""
    warnings = pdf.get_warnings()
    if not warnings:
        return []
    text = (
        f"the file is cut short or damaged: what is below is what could be saved of it, and more "
        f"may have been there; {DAMAGED}"
    )
    return [Finding(severity=OFF, text=text)]


def _preferences(pdf: Any) -> list[Finding]:
    preferences = pdf.Root.get("/ViewerPreferences") or {}
    found = []
    if str(preferences.get("/PrintScaling", "")) != "/None":
        found.append(
            Finding(
                severity=OFF,
                text="the wish to print without scaling (/PrintScaling /None) is gone: the print "
                "dialogue may shrink the page to fit; choose 100 % by hand and measure the bars",
            )
        )
    elif preferences.get("/PickTrayByPDFSize") is not True:
        found.append(
            Finding(severity=NOTE, text="the wish to pick the paper by the page's size is gone")
        )
    return found


class _Page:
    """One page, followed operator by operator."""

    def __init__(self, page: Any, number: int, pikepdf: Any) -> None:
        self.page = page
        self.number = number
        self.pikepdf = pikepdf
        self.contours: list[Contour] = []
        self.parts: list[str] = []
        self.has_text = False
        self.pictures = 0

    def read(self, findings: list[Finding]) -> FoundPage:
        left, bottom, right, top = (float(v) for v in self.page.mediabox)
        left, right = min(left, right), max(left, right)
        bottom, top = min(bottom, top), max(bottom, top)
        unit = float(self.page.obj.get("/UserUnit", 1.0))
        turn = int(self._inherited("/Rotate") or 0) % 360
        mm = POINT_MM * unit
        place: Matrix = (mm, 0.0, 0.0, mm, -left * mm, -bottom * mm)
        width, height = (right - left) * mm, (top - bottom) * mm
        for _ in range(turn // 90):
            # A quarter turn clockwise.
            place = times(place, (0.0, -1.0, 1.0, 0.0, 0.0, width))
            width, height = height, width
        self._stream(self.page, self._inherited("/Resources"), place, 0)
        self._boxes(findings, (left, bottom, right, top), unit, turn)
        return FoundPage(
            width=width,
            height=height,
            contours=tuple(self.contours),
            record=self._record(),
            has_text=self.has_text,
        )

    def _inherited(self, key: str) -> Any:
        node = self.page.obj
        for _ in range(50):
            if key in node:
                return node[key]
            node = node.get("/Parent")
            if node is None:
                break
        return None

    def _boxes(
        self, findings: list[Finding], sheet: tuple[float, ...], unit: float, turn: int
    ) -> None:
        def say(severity: str, text: str) -> None:
            findings.append(Finding(severity=severity, text=text, page=self.number))

        if unit != 1.0:
            say(
                OFF,
                f"the page counts in units of {unit:g}/72 inch (/UserUnit): some programs obey it "
                "and others do not, so the print may come out at either size",
            )
        if turn:
            say(NOTE, f"the page is shown turned by {turn} degrees")
        for name in ("/CropBox", "/TrimBox", "/BleedBox", "/ArtBox"):
            box = self._inherited(name) if name == "/CropBox" else self.page.obj.get(name)
            if box is None:
                continue
            inset = max(
                abs(a - float(b)) for a, b in zip(sheet, (float(v) for v in box), strict=False)
            )
            if inset > 0.01:
                say(
                    OFF,
                    f"{name} lies up to {inset * POINT_MM * unit:.2f} mm off the edge of the "
                    "sheet: print filters fit that box to the paper and change the scale",
                )
        if self.pictures:
            drawn = "" if self.contours else ", and no line: the drawing was turned into pixels"
            say(NOTE if self.contours else OFF, f"it holds a picture{drawn}")

    def _record(self) -> dict[str, Any] | None:
        if not self.parts:
            return None
        try:
            record = json.loads("".join(self.parts))
        except (ValueError, RecursionError):
            return {}
        return record if isinstance(record, dict) else {}

    def _stream(self, owner: Any, resources: Any, matrix: Matrix, deep: int) -> None:
        """Follow one content stream: the page's own, or that of a form on it."""
        stack: list[Matrix] = []
        tracer = Tracer(matrix)
        here: Point = (0.0, 0.0)
        begin: Point = (0.0, 0.0)
        for operands, operator in self.pikepdf.parse_content_stream(owner, _OPERATORS):
            name = str(operator)
            if name in "mlcvyh" or name == "re":
                here, begin = _draw(tracer, name, [float(v) for v in operands], here, begin)
            elif name in _STROKES or name in _FILLS:
                if _STROKES.get(name) or _FILLS.get(name):
                    tracer.close()
                self._paint(tracer, filled=name in _FILLS)
                tracer = Tracer(matrix)
            elif name == "n":
                tracer = Tracer(matrix)
            elif name == "q":
                stack.append(matrix)
            elif name == "Q":
                matrix = stack.pop() if stack else matrix
                tracer.matrix = matrix
            elif name == "cm":
                a, b, c, d, e, f = (float(v) for v in operands)
                matrix = times((a, b, c, d, e, f), matrix)
                tracer.matrix = matrix
            elif name == "DP":
                self._marked(operands, resources)
            elif name == "Do":
                self._form(operands[0], resources, matrix, deep)
            elif name in _SHOWS_TEXT:
                self.has_text = True
            elif name == "INLINE IMAGE":
                self.pictures += 1

    def _paint(self, tracer: Tracer, *, filled: bool) -> None:
        tracer.filled = filled
        tracer.end()
        if filled and any(not contour.filled for contour in tracer.contours):
            tracer.contours = [_as_area(contour) for contour in tracer.contours]
        self.contours += tracer.contours

    def _marked(self, operands: Any, resources: Any) -> None:
        if len(operands) != 2 or str(operands[0]) != "/JiggenRecord":
            return
        properties = operands[1]
        if isinstance(properties, self.pikepdf.Name):
            known = (resources or {}).get("/Properties", {})
            properties = known.get(str(properties), {})
        self.parts.append(str(properties.get("/Json", "")))

    def _form(self, name: Any, resources: Any, matrix: Matrix, deep: int) -> None:
        known = (resources or {}).get("/XObject", {})
        form = known.get(str(name))
        if form is None or deep >= _DEEPEST:
            return
        if str(form.get("/Subtype", "")) == "/Image":
            self.pictures += 1
        elif str(form.get("/Subtype", "")) == "/Form":
            own = [float(v) for v in form.get("/Matrix", (1, 0, 0, 1, 0, 0))]
            a, b, c, d, e, f = own
            inner = times((a, b, c, d, e, f), matrix)
            self._stream(form, form.get("/Resources", resources), inner, deep + 1)


def _as_area(contour: Contour) -> Contour:
    return Contour(nodes=contour.nodes, curves=contour.curves, closed=contour.closed, filled=True)


def _draw(
    tracer: Tracer, name: str, v: list[float], here: Point, begin: Point
) -> tuple[Point, Point]:
    """Follow one path operator; return where the pen is and where the line began."""
    if name == "m":
        tracer.start((v[0], v[1]))
        return (v[0], v[1]), (v[0], v[1])
    if name in "lcvy" and not tracer.begun:
        tracer.start(here)
    if name == "l":
        tracer.line((v[0], v[1]))
    elif name == "c":
        tracer.cubics((((v[0], v[1]), (v[2], v[3]), (v[4], v[5])),))
    elif name == "v":
        tracer.cubics(((here, (v[0], v[1]), (v[2], v[3])),))
    elif name == "y":
        tracer.cubics((((v[0], v[1]), (v[2], v[3]), (v[2], v[3])),))
    elif name == "h":
        tracer.close()
        return begin, begin
    elif name == "re":
        x, y, wide, high = v
        tracer.start((x, y))
        for corner in ((x + wide, y), (x + wide, y + high), (x, y + high)):
            tracer.line(corner)
        tracer.close()
        return (x, y), (x, y)
    return (v[-2], v[-1]), begin
