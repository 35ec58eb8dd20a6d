"""Reads an SVG as a cutter's program would: unit of the page, viewBox, transforms, every shape.

Widths without a unit are pixels, 96 to the inch. Transforms of groups and of shapes, nested
``svg`` elements and ``use`` of shapes are followed; what stands in ``defs``, ``symbol``,
``clipPath`` and their like is not drawn, and style sheets are not read for geometry.

Source: SVG 1.1, chapters 7 to 9, and CSS 2.1, 4.3.2 for units (from memory).
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

from jiggen.errors import DrawingFileError
from jiggen.remeasure.contour import (
    IDENTITY,
    Contour,
    Matrix,
    Point,
    Tracer,
    arc_cubics,
    times,
)
from jiggen.remeasure.found import DAMAGED, NOTE, OFF, Finding, FoundDrawing, FoundPage
from jiggen.remeasure.svgpath import NUMBER, trace_path

#: mm in each unit. Source: CSS 2.1, 4.3.2 (from memory): 1 in = 2.54 cm = 96 px = 72 pt = 6 pc.
UNITS_MM = {
    "": 25.4 / 96,
    "px": 25.4 / 96,
    "mm": 1.0,
    "cm": 10.0,
    "in": 25.4,
    "pt": 25.4 / 72,
    "pc": 25.4 / 6,
    "q": 0.25,
}
LAYERS = ("CUT", "SCORE", "ENGRAVE", "NOTE")
_LENGTH = re.compile(rf"\s*({NUMBER.pattern})\s*([a-zA-Z%]*)\s*")
_TRANSFORM = re.compile(r"(\w+)\s*\(([^)]*)\)")
_NOT_DRAWN = {
    "defs", "symbol", "clipPath", "mask", "pattern", "marker", "metadata", "title", "desc",
    "style", "script", "linearGradient", "radialGradient", "filter", "namedview",
}  # fmt: skip
_HREF = ("href", "{http://www.w3.org/1999/xlink}href")
_DEEPEST = 40


def read_svg(data: bytes) -> FoundDrawing:
    """Return what an SVG draws, in mm by the unit that it states, y up.

    Args:
        data: the file.

    Raises:
        DrawingFileError: no XML, or no SVG.
    """
    try:
        root = ElementTree.fromstring(data)
    except (ElementTree.ParseError, ValueError, LookupError) as trouble:
        raise DrawingFileError(
            f"is not an SVG that can be read: it is cut short or damaged ({trouble}); {DAMAGED}"
        ) from trouble
    if _tag(root) != "svg":
        raise DrawingFileError(
            f"is XML, but its first element is {_tag(root)}, not svg; give the drawing itself, as "
            "SVG, PDF or DXF"
        )
    return _Reader(root).read()


def _tag(element: ElementTree.Element) -> str:
    return str(element.tag).rpartition("}")[2]


def length_of(text: str | None) -> tuple[float, str] | None:
    """Return a length's number and its unit in lower case; None for none that can be read."""
    match = _LENGTH.fullmatch(text or "")
    return (float(match[1]), match[2].lower()) if match else None


def transform_matrix(text: str) -> Matrix:
    """Return the matrix of a ``transform`` attribute.

    Raises:
        ValueError: one of its functions is not known or lacks a number.
    """
    whole = IDENTITY
    for name, words in _TRANSFORM.findall(text):
        whole = times(_one_transform(name, [float(v) for v in NUMBER.findall(words)]), whole)
    return whole


def _one_transform(name: str, values: list[float]) -> Matrix:
    match name, values:
        case "matrix", [a, b, c, d, e, f]:
            return (a, b, c, d, e, f)
        case "translate", [x, *y] if len(y) < 2:
            return (1.0, 0.0, 0.0, 1.0, x, y[0] if y else 0.0)
        case "scale", [x, *y] if len(y) < 2:
            return (x, 0.0, 0.0, y[0] if y else x, 0.0, 0.0)
        case "rotate", [turn, *about] if len(about) in (0, 2):
            cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            px, py = about or (0.0, 0.0)
            return (cos, sin, -sin, cos, px - cos * px + sin * py, py - sin * px - cos * py)
        case "skewX", [turn]:
            return (1.0, 0.0, math.tan(math.radians(turn)), 1.0, 0.0, 0.0)
        case "skewY", [turn]:
            return (1.0, math.tan(math.radians(turn)), 0.0, 1.0, 0.0, 0.0)
    raise ValueError(f"transform {name} with {len(values)} numbers")


class _Reader:
    """One walk through a document."""

    def __init__(self, root: ElementTree.Element) -> None:
        self.root = root
        self.contours: list[Contour] = []
        self.findings: list[Finding] = []
        self.record: dict[str, Any] | None = None
        self.has_text = False
        self.unit = ""
        self.stated = UNITS_MM[""]
        self._by_id: dict[str, ElementTree.Element] | None = None
        self._open: list[ElementTree.Element] = []

    def read(self) -> FoundDrawing:
        width, height, matrix = self._page()
        self._children(self.root, matrix, "", 0)
        page = FoundPage(
            width=width,
            height=height,
            contours=tuple(self.contours),
            record=self._record(),
            has_text=self.has_text,
        )
        return FoundDrawing(
            kind="svg",
            pages=(page,),
            findings=tuple(dict.fromkeys(self.findings)),
            unit=self.unit,
            as_stated=self.stated,
        )

    def _say(self, severity: str, text: str) -> None:
        self.findings.append(Finding(severity=severity, text=text))

    def _page(self) -> tuple[float, float, Matrix]:
        """Return width, height, mm, and the matrix from user units to mm, y up."""
        box = [float(v) for v in NUMBER.findall(self.root.get("viewBox", ""))]
        if len(box) != 4 or box[2] <= 0 or box[3] <= 0:
            box = []
        sizes = [
            self._size(name, box[at] if box else None) for name, at in (("width", 2), ("height", 3))
        ]
        width, height = sizes
        x, y, wide, high = box or (0.0, 0.0, width / UNITS_MM[""], height / UNITS_MM[""])
        inner = _view((x, y, wide, high), width, height, self.root.get("preserveAspectRatio", ""))
        self.stated = inner[0]
        return width, height, times(inner, (1.0, 0.0, 0.0, -1.0, 0.0, height))

    def _size(self, name: str, of_box: float | None) -> float:
        given = self.root.get(name)
        found = length_of(given)
        if found is None or found[1] not in UNITS_MM:
            why = f"{name} is {given!r}" if given else f"there is no {name}"
            self._say(
                OFF,
                f"the page states no size ({why}), so each program chooses its own scale; "
                "read here as pixels of 1/96 inch",
            )
            return (of_box or 100.0) * UNITS_MM[""]
        if not found[1]:
            self._say(
                OFF,
                f"{name}={given!r} has no unit: it counts as pixels of 1/96 inch here, and as mm, "
                "points or something else in other programs",
            )
        self.unit = self.unit or found[1] or "px"
        return found[0] * UNITS_MM[found[1]]

    def _record(self) -> dict[str, Any] | None:
        for element in self.root.iter():
            if _tag(element) != "metadata":
                continue
            text = "".join(element.itertext()).strip()
            if element.get("id") == "jiggen-record" or text.startswith('{"jiggen"'):
                try:
                    record = json.loads(text)
                except (ValueError, RecursionError):
                    return {}
                return record if isinstance(record, dict) else {}
        return None

    def _children(self, parent: ElementTree.Element, matrix: Matrix, layer: str, deep: int) -> None:
        self._open.append(parent)
        for child in parent:
            self._element(child, matrix, layer, deep + 1)
        self._open.pop()

    def _element(self, element: ElementTree.Element, matrix: Matrix, layer: str, deep: int) -> None:
        tag = _tag(element)
        if tag in _NOT_DRAWN or element.get("display") == "none" or deep > _DEEPEST:
            return
        given = element.get("transform")
        if given:
            try:
                matrix = times(transform_matrix(given), matrix)
            except ValueError as trouble:
                self._say(OFF, f"a transform that cannot be read is left out: {trouble}")
        layer = next((n for n in LAYERS if element.get("id") == n), layer)
        if tag == "text":
            self.has_text = True
        elif tag == "image":
            self._say(NOTE, "it holds a picture, which cannot be measured")
        elif tag == "svg":
            self._children(element, times(self._nested(element), matrix), layer, deep)
        elif tag == "use":
            self._use(element, matrix, layer, deep)
        elif tag in ("g", "a", "switch"):
            self._children(element, matrix, layer, deep)
        else:
            self._shape(tag, element, matrix, layer)

    def _nested(self, element: ElementTree.Element) -> Matrix:
        place: Matrix = (1.0, 0.0, 0.0, 1.0, _user(element, "x"), _user(element, "y"))
        box = [float(v) for v in NUMBER.findall(element.get("viewBox", ""))]
        if len(box) != 4 or not (element.get("width") and element.get("height")):
            return place
        size = (_user(element, "width"), _user(element, "height"))
        x, y, wide, high = box
        if min(wide, high, *size) <= 0:
            return place
        ratio = element.get("preserveAspectRatio", "")
        return times(_view((x, y, wide, high), *size, ratio), place)

    def _use(self, element: ElementTree.Element, matrix: Matrix, layer: str, deep: int) -> None:
        name = next((v for key in _HREF if (v := element.get(key))), "")
        if self._by_id is None:
            self._by_id = {i: e for e in self.root.iter() if (i := e.get("id"))}
        target = self._by_id.get(name.removeprefix("#"))
        if target is None or _tag(target) == "symbol" or "glyph" in name:
            self.has_text = self.has_text or "glyph" in name
            return
        if any(target is element for element in self._open):
            # A group that uses itself is in error and is not drawn there: SVG 2, 5.6, from memory.
            return
        place: Matrix = (1.0, 0.0, 0.0, 1.0, _user(element, "x"), _user(element, "y"))
        self._element(target, times(place, matrix), layer, deep + 5)

    def _shape(self, tag: str, element: ElementTree.Element, matrix: Matrix, layer: str) -> None:
        fill = element.get("fill") or ("none" if "fill:none" in element.get("style", "") else "")
        tracer = Tracer(matrix, layer=layer, filled=fill not in ("", "none"))
        if tag == "path":
            if not trace_path(element.get("d", ""), tracer):
                self._say(OFF, "a path has data that cannot be read to its end")
        elif tag == "line":
            tracer.start((_user(element, "x1"), _user(element, "y1")))
            tracer.line((_user(element, "x2"), _user(element, "y2")))
        elif tag in ("polyline", "polygon"):
            points = list(_points(element.get("points", "")))
            for number, point in enumerate(points):
                (tracer.line if number else tracer.start)(point)
            if tag == "polygon" and points:
                tracer.close()
        elif tag == "rect":
            _trace_rect(element, tracer)
        elif tag in ("circle", "ellipse"):
            _trace_ellipse(tag, element, tracer)
        tracer.end()
        self.contours += tracer.contours


def _user(element: ElementTree.Element, name: str) -> float:
    """Return an attribute in user units, 0 where it is not there."""
    found = length_of(element.get(name))
    if found is None or found[1] not in UNITS_MM:
        return 0.0
    return found[0] * UNITS_MM[found[1]] / UNITS_MM[""] if found[1] else found[0]


def _points(text: str) -> Iterator[Point]:
    values = [float(v) for v in NUMBER.findall(text)]
    yield from zip(values[::2], values[1::2], strict=False)


def _view(
    box: tuple[float, float, float, float], width: float, height: float, ratio: str
) -> Matrix:
    """Return the matrix from a viewBox to a page of `width` by `height`."""
    x, y, wide, high = box
    sx, sy = width / wide, height / high
    words = ratio.split() or ["xMidYMid"]
    if words[0] != "none":
        sx = sy = max(sx, sy) if "slice" in words else min(sx, sy)
    shares = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    match = re.fullmatch(r"x(Min|Mid|Max)Y(Min|Mid|Max)", words[0])
    across, down = (shares[match[1]], shares[match[2]]) if match else (0.5, 0.5)
    return (
        sx,
        0.0,
        0.0,
        sy,
        across * (width - sx * wide) - sx * x,
        down * (height - sy * high) - sy * y,
    )


def _trace_rect(element: ElementTree.Element, tracer: Tracer) -> None:
    x, y = _user(element, "x"), _user(element, "y")
    wide, high = _user(element, "width"), _user(element, "height")
    if wide <= 0 or high <= 0:
        return
    rx = _user(element, "rx") or _user(element, "ry")
    ry = _user(element, "ry") or rx
    rx, ry = min(rx, wide / 2), min(ry, high / 2)
    corners = [
        ((x + wide, y), (-rx, 0.0), (x + wide - rx, y + ry), -90.0),
        ((x + wide, y + high), (0.0, -ry), (x + wide - rx, y + high - ry), 0.0),
        ((x, y + high), (rx, 0.0), (x + rx, y + high - ry), 90.0),
        ((x, y), (0.0, ry), (x + rx, y + ry), 180.0),
    ]
    tracer.start((x + rx, y))
    for (cx, cy), (dx, dy), centre, first in corners:
        tracer.line((cx + dx, cy + dy))
        if rx and ry:
            tracer.cubics(arc_cubics(centre, (rx, ry), math.radians(first), math.pi / 2))
    tracer.close()


def _trace_ellipse(tag: str, element: ElementTree.Element, tracer: Tracer) -> None:
    centre = (_user(element, "cx"), _user(element, "cy"))
    rx = _user(element, "r" if tag == "circle" else "rx")
    ry = _user(element, "r" if tag == "circle" else "ry")
    if rx <= 0 or ry <= 0:
        return
    tracer.start((centre[0] + rx, centre[1]))
    for first in (0.0, math.pi):
        tracer.cubics(arc_cubics(centre, (rx, ry), first, math.pi))
    tracer.close()
