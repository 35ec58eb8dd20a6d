"""One sheet as SVG: one user unit is one millimetre, arcs stay arcs, layers are named groups.

What a reader of the file may rely on:

- width and height in mm and a viewBox in mm, so that a program which applies units and one which
  ignores them agree;
- the groups ENGRAVE, SCORE, CUT and NOTE in this order, always all four; in each, one group a piece
  (``ENGRAVE-<piece>``) that names its piece in ``data-piece``, then the sheet's own marks; CUT has
  all holes in ``CUT-inner`` before all outlines in ``CUT-outer``;
- the outline of a piece is the path whose id is the piece's name;
- absolute coordinates only, six decimals, y down as SVG has it; no fills, no style sheet;
- the record of `cutting.cut_record` as JSON in ``<metadata id="jiggen-record">``, y up.

y is turned over here and nowhere else.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

from jiggen.drawing.affine import Point
from jiggen.drawing.shapes import Anchor, Circle, Edge, Op, Path, Text, Weight
from jiggen.drawing.sheet import Sheet
from jiggen.write.colours import OPERATIONS, Looks
from jiggen.write.cutting import CutDrawing, CutShape, Group, Letters
from jiggen.write.numbers import file_number
from jiggen.write.record import record_text

#: Height of a capital over the font size in the common sans-serif faces, for live text only.
#: From memory; a machine that knows another face letters a little larger or smaller.
CAP_HEIGHT_EM = 0.729


#: An arc is written in parts of at most this sweep. SVG gives an arc by its ends and its radius,
#: and near half a turn the radius's last digit moves the middle by micrometres (measured: 4.4 um
#: at a radius of 36 mm); up to a third of a turn it moves it by no more than itself.
LARGEST_ARC = math.radians(120.0)


def svg_bytes(cut: CutDrawing, looks: Looks) -> bytes:
    """Return a bed of sheet material, or one piece by itself, as an SVG file.

    Raises:
        DrawingError: a coordinate is not a finite number.
    """
    import svgwrite  # here: it takes longer to load than all that only wants `path_data`

    sheet = cut.sheet
    width, height = file_number(sheet.width), file_number(sheet.height)
    # The library's own checks cost 500 times the writing, and it prints numbers with exponents:
    # every number reaches it as text.
    drawing = svgwrite.Drawing(
        size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False
    )
    drawing.attribs["role"] = "img"
    drawing.set_desc(title=sheet.title or sheet.name, desc=_description(sheet))
    for op in OPERATIONS:
        layer = drawing.g(id=op.value, fill="none", stroke=looks.colour(op))
        layer.attribs["stroke-width"] = file_number(looks.line)
        for part in ("inner", "outer") if op is Op.CUT else ("",):
            target = drawing.g(id=f"CUT-{part}") if part else layer
            for group in cut.groups:
                if group.op is op and group.part == part:
                    _add_group(drawing, target, group, sheet.height)
            if part:
                layer.add(target)
        drawing.add(layer)
    root = drawing.get_xml()
    metadata = ElementTree.Element("metadata", {"id": "jiggen-record"})
    metadata.text = record_text(cut.record)
    root.insert(1 + [child.tag for child in root].index("desc"), metadata)
    ElementTree.indent(root, " ")
    data: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return data + b"\n"


def path_data(path: Path, height: float, decimals: int = 6) -> str:
    """Return a path as SVG path data.

    Args:
        path: lines and arcs, mm, y up.
        height: of the sheet, mm: y up becomes ``height - y``.
        decimals: of a coordinate.

    Returns:
        Absolute M, L, A and Z commands; an arc past `LARGEST_ARC` in parts. A straight
        edge back to the start is left to Z.
    """
    words = [f"M {_place(path.edges[0].start, height, decimals)}"]
    edges = path.edges
    if path.is_closed and edges[-1].bulge == 0.0 and len(edges) > 1:
        edges = edges[:-1]
    for edge in edges:
        end = path.edges[0].start if path.is_closed and edge is path.edges[-1] else edge.end
        words += _commands(edge, end, height, decimals)
    if path.is_closed:
        words.append("Z")
    return " ".join(words)


def _commands(edge: Edge, end: Point, height: float, decimals: int) -> Iterator[str]:
    if edge.bulge == 0.0:
        yield f"L {_place(end, height, decimals)}"
        return
    radius = file_number(edge.radius, decimals)
    # Counter-clockwise with y up is the negative direction of SVG's y down.
    sweep = int(edge.bulge < 0)
    parts = math.ceil(abs(edge.sweep) / LARGEST_ARC - 1e-9)
    for part in range(1, parts + 1):
        to = end if part == parts else edge.at(part / parts)
        yield f"A {radius} {radius} 0 0 {sweep} {_place(to, height, decimals)}"


def _place(point: Point, height: float, decimals: int) -> str:
    return f"{file_number(point.x, decimals)} {file_number(height - point.y, decimals)}"


def _add_group(drawing: Any, layer: Any, group: Group, height: float) -> None:
    """Add one piece's shapes to a layer, or the sheet's own marks without a group of their own."""
    target = layer
    if group.piece is not None:
        target = drawing.g(id="-".join(filter(None, (group.op.value, group.part, group.instance))))
        target.attribs["data-piece"] = group.piece.name
        layer.add(target)
    for shape in group.shapes:
        element = _element(drawing, shape, height)
        if group.is_outline(shape):
            element.attribs["id"] = group.instance
        target.add(element)


def _element(drawing: Any, shape: CutShape, height: float) -> Any:
    if isinstance(shape, Circle):
        centre = (file_number(shape.centre.x), file_number(height - shape.centre.y))
        return drawing.circle(center=centre, r=file_number(shape.radius))
    if isinstance(shape, Text):
        return _live_text(drawing, shape, height)
    if isinstance(shape, Letters):
        element = drawing.path(d=" ".join(path_data(path, height) for path in shape.paths))
        element.attribs["data-text"] = shape.text
        return element
    return drawing.path(d=path_data(shape, height))


def _live_text(drawing: Any, text: Text, height: float) -> Any:
    x, y = file_number(text.at.x), file_number(height - text.at.y)
    element = drawing.text(text.text, insert=(x, y))
    element.attribs["font-family"] = "sans-serif"
    element.attribs["font-size"] = file_number(text.height / CAP_HEIGHT_EM)
    if text.weight is not Weight.MEDIUM:
        element.attribs["font-weight"] = "bold"
    if text.anchor is not Anchor.START:
        element.attribs["text-anchor"] = text.anchor.value
    if text.turn % 360.0 != 0.0:
        element.attribs["transform"] = f"rotate({file_number(-text.turn)} {x} {y})"
    return element


def _description(sheet: Sheet) -> str:
    names = ", ".join(placed.piece.title or placed.piece.name for placed in sheet.placed)
    size = f"{file_number(sheet.width, 2)} x {file_number(sheet.height, 2)} mm"
    return f"Drawn at true size on {size}, one unit is one millimetre. Pieces: {names or 'none'}."
