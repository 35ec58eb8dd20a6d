"""Reads an SVG as a cutter's program would: unit of the page, viewBox, transforms, every shape.

Widths without a unit are pixels, 96 to the inch. Transforms of groups and of shapes, nested
``svg`` elements and ``use`` of shapes are followed; what stands in ``defs``, ``symbol``,
``clipPath`` and their like is not drawn, and style sheets are not read for geometry. Path data is
read number by number with every command of the grammar; an arc's two flags are one digit each.

Source: SVG 1.1, chapters 7 to 9 and appendix F.6, and CSS 2.1, 4.3.2 for units (from memory).
"""

from __future__ import annotations

import codecs
import math
import re
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

from jiggen.errors import DrawingFileError
from jiggen.remeasure.limits import BUDGET, DAMAGED, DEEPEST, Budget, no_number, number, too_deep
from jiggen.remeasure.record import record_of
from jiggen.remeasure.shapes import (
    FLAT,
    IDENTITY,
    NOTE,
    OFF,
    Contour,
    Cubic,
    Finding,
    FoundDrawing,
    FoundPage,
    Matrix,
    Point,
    Tracer,
    arc_cubics,
    times,
)

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
#: Ids of the groups that say what a machine does; holes may have a group of their own.
LAYERS = ("CUT", "CUT-INNER", "SCORE", "ENGRAVE", "NOTE")

# Possessive throughout: what was read is never given back, so no text takes quadratic time.
_NUMBER = r"[-+]?+(?:\d++(?:\.\d*+)?+|\.\d++)(?:[eE][-+]?+\d++)?+"
_NUMBERS = re.compile(_NUMBER)
_LENGTH = re.compile(rf"\s*+({_NUMBER})\s*+([a-zA-Z%]*+)\s*+")
_TRANSFORM = re.compile(r"[\s,]*+(\w++)\s*+\(([^()]*+)\)[\s,]*+")
_COMMAND = re.compile(r"[\s,]*+([MmLlHhVvCcSsQqTtAaZz])")
_ARGUMENT = re.compile(rf"[\s,]*+({_NUMBER})")
_FLAG = re.compile(r"[\s,]*+([01])")
_REST = re.compile(r"[\s,]*+")
_ARGUMENTS = {
    **{
        name: (_ARGUMENT,) * count
        for name, count in zip("MLHVCSQT", (2, 2, 1, 1, 6, 4, 4, 2), strict=True)
    },
    "A": (_ARGUMENT, _ARGUMENT, _ARGUMENT, _FLAG, _FLAG, _ARGUMENT, _ARGUMENT),
}
_NOT_DRAWN = {
    "defs", "symbol", "clipPath", "mask", "pattern", "marker", "metadata", "title", "desc",
    "style", "script", "linearGradient", "radialGradient", "filter", "namedview",
}  # fmt: skip
_HREF = ("href", "{http://www.w3.org/1999/xlink}href")


def read_svg(data: bytes) -> FoundDrawing:
    """Return what an SVG draws, in mm by the unit that it states, y up.

    Raises:
        DrawingFileError: no XML, no SVG, damaged, or beyond all measure.
    """
    if data.count(b"<") > 2 * BUDGET["elements"]:
        Budget().spend("elements", data.count(b"<"))
    try:
        root = ElementTree.fromstring(_without_entities(data))
    except (ElementTree.ParseError, ValueError, LookupError) as trouble:
        raise DrawingFileError(
            f"is not an SVG that can be read: it is cut short or damaged ({trouble}); {DAMAGED}"
        ) from trouble
    if _tag(root) != "svg":
        raise DrawingFileError(
            f"is XML, but its first element is {_tag(root)[:40]}, not svg; give the drawing "
            "itself, as SVG, PDF or DXF"
        )
    return _Reader(root).read()


def _without_entities(data: bytes) -> str | bytes:
    """Return XML as it can be parsed; a word of its own can stand for a million others."""
    wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    text = data.decode("utf-16") if wide else data
    if ("<!ENTITY" in text) if isinstance(text, str) else (b"<!ENTITY" in text):
        raise DrawingFileError("declares entities of its own; save it as a plain SVG")
    return text


def _tag(element: ElementTree.Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _numbers(text: str) -> list[float]:
    return [number(v) for v in _NUMBERS.findall(text)]


def length_of(text: str | None) -> tuple[float, str] | None:
    """Return a length's number and its unit in lower case; None for none that can be read."""
    match = _LENGTH.fullmatch(text or "")
    return (number(match[1]), match[2].lower()) if match else None


def transform_matrix(text: str) -> Matrix:
    """Return the matrix of a ``transform`` attribute.

    Raises:
        ValueError: one of its functions is not known or lacks a number.
    """
    whole, at = IDENTITY, 0
    while match := _TRANSFORM.match(text, at):
        whole, at = times(_one_transform(match[1], _numbers(match[2])), whole), match.end()
    if at < len(text.rstrip()):
        raise ValueError(f"transform {text[at : at + 40]}")
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
    raise ValueError(f"transform {name[:40]} with {len(values)} numbers")


class _Reader:
    """One walk through a document."""

    def __init__(self, root: ElementTree.Element) -> None:
        self.root = root
        self.budget = Budget()
        self.contours: list[Contour] = []
        self.findings: list[Finding] = []
        self.words: list[str] = []
        self.unreadable = False
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
            words=None if self.unreadable else tuple(self.words),
        )
        return FoundDrawing(
            kind="svg",
            pages=(page,),
            findings=tuple(dict.fromkeys(self.findings)),
            unit=self.unit,
            as_stated=self.stated,
        )

    def _say(self, severity: str, text: str) -> None:
        self.findings.append(Finding(severity, text))

    def _page(self) -> tuple[float, float, Matrix]:
        """Return width, height, mm, and the matrix from user units to mm, y up."""
        box = _numbers(self.root.get("viewBox", ""))
        if len(box) != 4 or box[2] <= 0 or box[3] <= 0:
            box = []
        width = self._size("width", box[2] if box else None)
        height = self._size("height", box[3] if box else None)
        x, y, wide, high = box or (0.0, 0.0, width / UNITS_MM[""], height / UNITS_MM[""])
        if min(width, height, wide, high) <= 0:
            no_number("a size of its page")
        inner = _view((x, y, wide, high), width, height, self.root.get("preserveAspectRatio", ""))
        self.stated = inner[0]
        return width, height, times(inner, (1.0, 0.0, 0.0, -1.0, 0.0, height))

    def _size(self, name: str, of_box: float | None) -> float:
        given = self.root.get(name)
        found = length_of(given)
        if found is None or found[1] not in UNITS_MM:
            why = f"{name} is {given[:40]!r}" if given else f"there is no {name}"
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
            if _tag(element) == "metadata":
                text = (element.text or "").strip()
                if element.get("id") == "jiggen-record" or text.startswith('{"jiggen"'):
                    return record_of(text)
        return None

    def _children(self, parent: ElementTree.Element, matrix: Matrix, layer: str, deep: int) -> None:
        self._open.append(parent)
        for child in parent:
            self._element(child, matrix, layer, deep + 1)
        self._open.pop()

    def _element(self, element: ElementTree.Element, matrix: Matrix, layer: str, deep: int) -> None:
        self.budget.spend("elements")
        tag = _tag(element)
        style = element.get("style", "").replace(" ", "")
        hidden = element.get("display") == "none" or "display:none" in style
        if tag in _NOT_DRAWN or hidden:
            return
        if deep > DEEPEST:
            too_deep()
        given = element.get("transform")
        if given:
            try:
                matrix = times(transform_matrix(given), matrix)
            except ValueError as trouble:
                self._say(OFF, f"a transform that cannot be read is left out: {trouble}")
        layer = next((n.replace("-", "_") for n in LAYERS if element.get("id") == n), layer)
        if tag == "text":
            self.words.append("".join(element.itertext()))
        elif tag == "image":
            self._say(NOTE, "it holds a picture, which cannot be measured")
        elif tag == "svg":
            self._children(element, times(self._nested(element), matrix), layer, deep)
        elif tag == "use":
            self._use(element, matrix, layer, deep)
        elif tag in ("g", "a", "switch"):
            self._children(element, matrix, layer, deep)
        else:
            fill = element.get("fill") or ("none" if "fill:none" in style else "")
            tracer = Tracer(self.budget, matrix, layer=layer, filled=fill not in ("", "none"))
            _trace(tag, element, tracer)
            self.contours += tracer.contours

    def _nested(self, element: ElementTree.Element) -> Matrix:
        place: Matrix = (1.0, 0.0, 0.0, 1.0, _user(element, "x"), _user(element, "y"))
        box = _numbers(element.get("viewBox", ""))
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
            self.unreadable = self.unreadable or "glyph" in name
            return
        if any(target is element for element in self._open):
            # A group that uses itself is in error and is not drawn there: SVG 2, 5.6, from memory.
            return
        place: Matrix = (1.0, 0.0, 0.0, 1.0, _user(element, "x"), _user(element, "y"))
        self._element(target, times(place, matrix), layer, deep + 1)


def _user(element: ElementTree.Element, name: str) -> float:
    """Return an attribute in user units, 0 where it is not there."""
    found = length_of(element.get(name))
    if found is None or found[1] not in UNITS_MM:
        return 0.0
    return found[0] * UNITS_MM[found[1]] / UNITS_MM[""] if found[1] else found[0]


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
    right, below = across * (width - sx * wide) - sx * x, down * (height - sy * high) - sy * y
    return (sx, 0.0, 0.0, sy, right, below)


def _trace(tag: str, element: ElementTree.Element, tracer: Tracer) -> None:
    if tag == "path":
        trace_path(element.get("d", ""), tracer, element.get("id", ""))
    elif tag == "line":
        tracer.start((_user(element, "x1"), _user(element, "y1")))
        tracer.line((_user(element, "x2"), _user(element, "y2")))
    elif tag in ("polyline", "polygon"):
        values = _numbers(element.get("points", ""))
        for at in range(0, len(values) - 1, 2):
            (tracer.line if at else tracer.start)((values[at], values[at + 1]))
        if tag == "polygon" and values:
            tracer.close()
    elif tag == "rect":
        _trace_rect(element, tracer)
    elif tag in ("circle", "ellipse"):
        rx = _user(element, "r" if tag == "circle" else "rx")
        ry = _user(element, "r" if tag == "circle" else "ry")
        if rx > 0 and ry > 0:
            centre = (_user(element, "cx"), _user(element, "cy"))
            tracer.arc(centre, (rx, ry), 0.0, math.tau, 0.0)
    tracer.end()


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


def trace_path(data: str, tracer: Tracer, name: str = "") -> None:
    """Follow the path data of a ``d`` attribute with a tracer, in user units.

    Raises:
        DrawingFileError: it cannot be read to its end: what it lacks would be cut as something
            else.
    """
    walk = _Walk(tracer)
    at, letter = 0, ""
    while True:
        command = _COMMAND.match(data, at)
        if command is not None:
            letter, at = command[1], command.end()
        elif not letter:
            break
        if letter in "Zz":
            if not walk.begun:
                break
            walk.close()
            letter = ""
            continue
        row, end = _row(letter.upper(), data, at)
        if row is None or not (walk.begun or letter in "Mm"):
            if command is not None:
                at = command.start()
            break
        # Further pairs after a move are lines.
        step = "L" if letter in "Mm" and command is None else letter.upper()
        walk.step(step, row, relative=letter.islower())
        at = end
    at = at + len(_REST.match(data, at)[0])  # type: ignore[index]  # it matches everywhere
    if at < len(data):
        raise DrawingFileError(
            f"is a damaged SVG: path {name[:40]!r} cannot be read from its character {at + 1} on, "
            f"{data[at : at + 20]!r}; {DAMAGED}"
        )
    tracer.end()


def _row(name: str, data: str, at: int) -> tuple[list[float] | None, int]:
    """Return the arguments of a command at a place, None where one is missing, and their end."""
    row = []
    for pattern in _ARGUMENTS[name]:
        match = pattern.match(data, at)
        if match is None:
            return None, at
        row.append(number(match[1]))
        at = match.end()
    return row, at


class _Walk:
    """Where the pen is, and what the smooth commands need to remember."""

    def __init__(self, tracer: Tracer) -> None:
        self.tracer = tracer
        self.begun = False
        self._here: Point = (0.0, 0.0)
        self._begin: Point = (0.0, 0.0)
        self._cubic: Point | None = None
        self._quad: Point | None = None
        self._open = False

    def close(self) -> None:
        self.tracer.close()
        self._here, self._open = self._begin, False
        self._cubic = self._quad = None

    def step(self, name: str, row: list[float], *, relative: bool) -> None:
        dx, dy = self._here if relative else (0.0, 0.0)
        if name == "M":
            self._here = self._begin = (row[0] + dx, row[1] + dy)
            self.tracer.start(self._here)
            self.begun = self._open = True
            self._cubic = self._quad = None
            return
        if not self._open:
            # After Z the next line begins where the last one did.
            self.tracer.start(self._here)
            self._open = True
        if name == "A":
            self._arc(row, (row[5] + dx, row[6] + dy))
        elif name in "LHV":
            self._line(name, row, dx, dy)
        else:
            pairs = [(row[i] + dx, row[i + 1] + dy) for i in range(0, len(row), 2)]
            self._curve(name, pairs)

    def _line(self, name: str, row: list[float], dx: float, dy: float) -> None:
        x, y = self._here
        if name == "L":
            x, y = row[0] + dx, row[1] + dy
        elif name == "H":
            x = row[0] + dx
        else:
            y = row[0] + dy
        self._here = (x, y)
        self.tracer.line(self._here)
        self._cubic = self._quad = None

    def _curve(self, name: str, pairs: list[Point]) -> None:
        start, end = self._here, pairs[-1]
        if name in "CS":
            first = pairs[0] if name == "C" else _mirrored(self._cubic, start)
            cubic: Cubic = (first, pairs[-2], end)
            self._cubic, self._quad = pairs[-2], None
        else:
            middle = pairs[0] if name == "Q" else _mirrored(self._quad, start)
            cubic = (_third(start, middle), _third(end, middle), end)
            self._cubic, self._quad = None, middle
        self.tracer.cubics((cubic,))
        self._here = end

    def _arc(self, row: list[float], end: Point) -> None:
        start = self._here
        self._here = end
        self._cubic = self._quad = None
        if start == end:
            return
        if row[0] == 0.0 or row[1] == 0.0 or math.dist(start, end) < FLAT:
            self.tracer.line(end)
            return
        cubics = tuple(_svg_arc(start, row, end))
        self.tracer.cubics((*cubics[:-1], (cubics[-1][0], cubics[-1][1], end)))


def _mirrored(control: Point | None, here: Point) -> Point:
    return here if control is None else (2 * here[0] - control[0], 2 * here[1] - control[1])


def _third(end: Point, middle: Point) -> Point:
    return (end[0] + 2 * (middle[0] - end[0]) / 3, end[1] + 2 * (middle[1] - end[1]) / 3)


def _svg_arc(start: Point, row: list[float], end: Point) -> Iterator[Cubic]:
    """Yield an arc that is given by its ends, as cubics.

    Source: SVG 1.1, F.6.5 and F.6.6 (from memory): from ends to centre, radii that are too small
    are grown.
    """
    rx, ry, turn = abs(row[0]), abs(row[1]), math.radians(row[2])
    large, sweep_up = row[3] != 0.0, row[4] != 0.0
    cos, sin = math.cos(turn), math.sin(turn)
    hx, hy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    # In the ellipse's own frame, as a unit circle, with the origin in the middle of the chord.
    ux, uy = (cos * hx + sin * hy) / rx, (-sin * hx + cos * hy) / ry
    square = ux * ux + uy * uy
    if square > 1.0:
        grown = math.sqrt(square)
        rx, ry, ux, uy, square = rx * grown, ry * grown, ux / grown, uy / grown, 1.0
    side = math.sqrt(max(0.0, 1.0 / square - 1.0)) * (-1.0 if large == sweep_up else 1.0)
    cx, cy = side * uy, -side * ux
    first = math.atan2(uy - cy, ux - cx)
    last = math.atan2(-uy - cy, -ux - cx)
    sweep = (last - first) % math.tau
    if not sweep_up:
        sweep -= math.tau
    centre = (
        cos * rx * cx - sin * ry * cy + (start[0] + end[0]) / 2,
        sin * rx * cx + cos * ry * cy + (start[1] + end[1]) / 2,
    )
    yield from arc_cubics(centre, (rx, ry), first, sweep, turn)
