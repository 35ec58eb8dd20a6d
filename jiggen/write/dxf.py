"""One sheet as DXF R2000: always millimetres, one layer an operation, arcs stay arcs.

What a reader of the file may rely on:

- ``$INSUNITS`` is 4 (mm) and ``$MEASUREMENT`` 1; extents and limits are set;
- the layers ENGRAVE, SCORE, CUT and NOTE are there, always all four, and carry colour and line
  width; every entity has them by layer; entities stand in that order, every hole before every
  outline;
- closed contours are closed LWPOLYLINEs with bulges, round holes are CIRCLEs, lettering is open
  LWPOLYLINEs (or TEXT when it is to stay live), and the file is plain ASCII;
- each outline carries its piece's part of `cutting.cut_record` as extended data of the application
  JIGGEN, in strings of at most 250 characters to be joined; the layer CUT carries the sheet's part
  of it, without the pieces;
- no two cut edges lie on one another.

Older than R2000 loses the unit; newer ones vary in the order of their classes from run to run.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from io import StringIO
from typing import Any

from ezdxf import colors
from ezdxf._options import options
from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace

from jiggen.drawing.shapes import Anchor, Circle, Op, Path, Text
from jiggen.errors import DrawingError
from jiggen.write.colours import OPERATIONS, Looks
from jiggen.write.cutting import CutDrawing, CutShape, drawn_bounds
from jiggen.write.numbers import file_number
from jiggen.write.record import piece_record, record_text

APPLICATION = "JIGGEN"  # the name under which the record is kept in extended data

#: Characters in one string of extended data; the reference allows 255 bytes. From memory.
RECORD_PART = 250

#: Characters of record on one entity: the reference allows 16 kB of extended data. From memory.
RECORD_ROOM = 15000

#: Line widths in 1/100 mm that the format knows. Source: the table in ezdxf, `lldxf.const`.
LINE_WIDTHS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140)

_EXPONENT = re.compile(r"-?\d+(\.\d+)?e-\d+")
_TEXT_CODES = {"°": "%%d", "±": "%%p", "⌀": "%%c", "Ø": "%%c"}
_ANCHORS = {
    Anchor.START: TextEntityAlignment.LEFT,
    Anchor.MIDDLE: TextEntityAlignment.CENTER,
    Anchor.END: TextEntityAlignment.RIGHT,
}


def dxf_bytes(cut: CutDrawing, looks: Looks) -> bytes:
    """Return a bed of sheet material, or one piece by itself, as a DXF file.

    Colours become the nearest of the format's 255.

    Raises:
        DrawingError: a coordinate is not a finite number, or a piece has more check dimensions than
            the file can carry.
    """
    text = StringIO()
    with _same_bytes_every_time():
        document = new("R2000", units=4)  # the library's own default is metres
        document.header["$MEASUREMENT"] = 1
        document.appids.add(APPLICATION)
        _add_layers(document, cut.record, looks)
        space = document.modelspace()
        for group in cut.groups:
            for shape in group.shapes:
                for entity in _draw(space, shape, group.op.value):
                    if group.piece is not None and group.is_outline(shape):
                        _attach(entity, piece_record(group.piece))
        bounds = drawn_bounds(cut.groups)
        if bounds is not None:
            # Set in the layout: the same variables set in the header are lost on saving.
            space.reset_extents((bounds.left, bounds.bottom, 0.0), (bounds.right, bounds.top, 0.0))
        space.reset_limits((0.0, 0.0), (cut.sheet.width, cut.sheet.height))
        document.write(text)
    return _without_exponents(text.getvalue()).encode("ascii")


@cache
def nearest_colour(colour: str) -> int:
    """Return the colour index (1 to 255) nearest to a colour.

    The colour is ``#rrggbb``; black and white are 7, which shows as whichever is visible.
    """
    wanted = colors.RGB.from_hex(colour)
    if tuple(wanted) in ((0, 0, 0), (255, 255, 255)):
        return 7
    return min(
        range(1, 256),
        key=lambda aci: sum((a - b) ** 2 for a, b in zip(colors.aci2rgb(aci), wanted, strict=True)),
    )


def _add_layers(document: Drawing, record: dict[str, Any], looks: Looks) -> None:
    width = min(LINE_WIDTHS, key=lambda known: abs(known - looks.line * 100.0))
    for op in OPERATIONS:
        layer = document.layers.add(
            op.value, color=nearest_colour(looks.colour(op)), lineweight=width
        )
        if op is Op.CUT:
            own = record | {"pieces": []}
            if len(record_text(own)) > RECORD_ROOM:
                own["drawn"] = {k: v for k, v in record["drawn"].items() if k != "words"}
            _attach(layer, own)


def _draw(space: Modelspace, shape: CutShape, layer: str) -> Iterator[Any]:
    attributes = {"layer": layer}
    if isinstance(shape, Circle):
        centre = (_number(shape.centre.x), _number(shape.centre.y))
        yield space.add_circle(centre, _number(shape.radius), dxfattribs=attributes)
    elif isinstance(shape, Text):
        text = space.add_text(
            "".join(_TEXT_CODES.get(c, c if c.isascii() else "?") for c in shape.text),
            height=_number(shape.height),
            rotation=_number(shape.turn),
            dxfattribs=attributes,
        )
        yield text.set_placement(
            (_number(shape.at.x), _number(shape.at.y)), align=_ANCHORS[shape.anchor]
        )
    else:
        for path in (shape,) if isinstance(shape, Path) else shape.paths:
            yield _polyline(space, path, attributes)


def _polyline(space: Modelspace, path: Path, attributes: dict[str, Any]) -> Any:
    # The first corner is not repeated at the end of a closed one: that edge would have no length.
    # A bulge keeps all its digits: with four of them a shallow arc is micrometres off.
    rows = [(_number(e.start.x), _number(e.start.y), e.bulge) for e in path.edges]
    if not path.is_closed:
        end = path.edges[-1].end
        rows.append((_number(end.x), _number(end.y), 0.0))
    return space.add_lwpolyline(rows, format="xyb", close=path.is_closed, dxfattribs=attributes)


def _number(value: float) -> float:
    return float(file_number(value))


def _attach(entity: Any, record: dict[str, Any]) -> None:
    text = record_text(record)
    if len(text) > RECORD_ROOM:
        raise DrawingError(
            f"{record.get('name', 'the sheet')} has more check dimensions than a DXF can carry; "
            "write it as SVG or PDF"
        )
    parts = [text[at : at + RECORD_PART] for at in range(0, len(text), RECORD_PART)]
    entity.set_xdata(APPLICATION, [(1000, part) for part in parts])


def _without_exponents(text: str) -> str:
    """Return the file with its small numbers in fixed notation, which every reader knows."""
    lines = text.split("\n")
    for at in range(1, len(lines), 2):
        if "e-" not in lines[at]:  # nearly all of them
            continue
        code = lines[at - 1].strip()
        if _EXPONENT.fullmatch(lines[at]) and code.isdigit() and 10 <= int(code) % 1000 <= 59:
            lines[at] = file_number(float(lines[at]), 20)
    return "\n".join(lines)


@contextmanager
def _same_bytes_every_time() -> Iterator[None]:
    """Keep clock and random ids out of the file; the option is global, so put it back."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
