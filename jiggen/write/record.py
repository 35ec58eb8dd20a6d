"""What a drawing is meant to measure, small enough to travel inside every file.

A reader that finds the record knows which two edges of a piece are its product and what each bar
should be, in the coordinates of the file it sits in, even after another program has saved the
file again at another scale. The writer that draws a sheet adds what it drew: how many lines on
which layer, which live words, how many pages; so what is lost later is missed.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from jiggen.drawing.affine import Point
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Bounds, Circle, Edge, Path, Shape, Text
from jiggen.drawing.sheet import Sheet
from jiggen.write.numbers import RECORD_FORMAT, file_number


def sheet_record(sheet: Sheet) -> dict[str, Any]:
    """Return what is on a sheet and what it should measure, ready for JSON.

    Args:
        sheet: one page or one bed, as drawn (for cut files with the kerf applied).

    Returns:
        ``jiggen`` (format of the record), ``sheet`` (its name), ``mark``, ``width`` and ``height``
        in mm, ``pieces`` in the order of the sheet, and ``dimensions``, the sheet's own bars. All
        points in mm from the sheet's lower left corner, y up; angles in degrees.
    """
    return {
        "jiggen": RECORD_FORMAT,
        "sheet": sheet.name,
        "mark": sheet.mark,
        "width": _length(sheet.width),
        "height": _length(sheet.height),
        "pieces": [piece_record(placed.on_sheet) for placed in sheet.placed],
        "dimensions": [_dimension(d) for d in sheet.dimensions],
    }


def drawn_record(
    sheet: Sheet, shapes: Iterable[Shape], *, lines: Mapping[str, int] | None = None, pages: int = 0
) -> dict[str, Any]:
    """Return the record of a sheet with what a writer draws on it.

    Args:
        sheet: as for `sheet_record`.
        shapes: all that is drawn, mm; texts only where they stay text.
        lines: how many lines each layer holds; None in a format without layers.
        pages: how many pages the file has; 0 in a format without pages.

    Returns:
        The sheet's record and ``drawn``: ``pieces`` (their names), ``lines``, ``words`` (the live
        texts), ``pages`` and ``extent`` (left, bottom, right and top of all lines, mm), of these
        what there is.
    """
    some = list(shapes)
    corners = [point for shape in some if not isinstance(shape, Text) for point in _corners(shape)]
    drawn: dict[str, Any] = {"pieces": [placed.piece.name for placed in sheet.placed]}
    drawn |= {"lines": dict(lines)} if lines else {}
    drawn |= {"words": words} if (words := _words(some)) else {}
    drawn |= {"pages": pages} if pages else {}
    if corners:
        box = Bounds.around(corners)
        drawn["extent"] = [_length(v) for v in (box.left, box.bottom, box.right, box.top)]
    return sheet_record(sheet) | {"drawn": drawn}


def _corners(shape: Path | Circle) -> list[tuple[float, float]]:
    """Return places that span a shape; of strokes, of which there are thousands, their own."""
    if isinstance(shape, Path) and not any(edge.bulge for edge in shape.edges):
        return [*(edge.start for edge in shape.edges), shape.edges[-1].end]
    box = shape.bounds()
    return [(box.left, box.bottom), (box.right, box.top)]


def _words(shapes: Sequence[Shape]) -> list[str]:
    return [s.text for s in shapes if isinstance(s, Text) and s.text.strip()]


def piece_record(piece: Piece) -> dict[str, Any]:
    """Return the part of the record that belongs to one piece.

    Args:
        piece: the piece where it lies on the sheet, mm.

    Returns:
        ``name``, ``title``, ``kind``, ``mark``, ``code``, ``angles`` and ``dimensions`` with their
        nominal values; ``outline`` and ``holes`` are the cut lines as drawn: ``corners`` in order,
        with ``bulges`` as pairs of the number of an edge and its bulge, or ``centre`` and
        ``radius`` of a round hole. Where the piece states them, ``side``, ``leads`` (the forward
        corner of a bit that it leads, degrees), ``serves`` (numbers of the part's holes),
        ``allowed_angle`` in degrees and ``allowed_length`` in mm.
    """
    stated = {
        "side": piece.side or None,
        "leads": None if piece.leads is None else float(file_number(piece.leads, 9)),
        "serves": list(piece.serves) or None,
        "allowed_angle": piece.allowed_angle,
        "allowed_length": piece.allowed_length,
    }
    return {
        "name": piece.name,
        "title": piece.title,
        "kind": piece.kind,
        "mark": piece.mark,
        "code": piece.code,
        **{key: value for key, value in stated.items() if value is not None},
        "angles": [_angle(a) for a in piece.angles],
        "dimensions": [_dimension(d) for d in piece.dimensions],
        "outline": _cut_line(piece.outline),
        "holes": [_cut_line(shape) for shape in piece.inner],
    }


def record_text(record: dict[str, Any]) -> str:
    """Return a record as one line of ASCII JSON, keys in the order in which they were laid."""
    return json.dumps(record, ensure_ascii=True, allow_nan=False, separators=(",", ":"))


def told_apart(names: Sequence[str]) -> list[str]:
    """Return a name for each piece on a sheet that no other one on it has.

    The first of several equal pieces keeps the piece's name, the next ones are called ``name-2``,
    ``name-3``; a number that is the name of another piece is passed over.
    """
    taken, own = set(names), dict[str, None]()
    for name in names:
        one, number = name, 2
        while one in own or (one != name and one in taken):
            one, number = f"{name}-{number}", number + 1
        own[one] = None
    return list(own)


def _length(value: float) -> float:
    return float(file_number(value))


def _point(point: Point) -> list[float]:
    return [_length(point.x), _length(point.y)]


def _edge(edge: Edge) -> list[list[float]]:
    return [_point(edge.start), _point(edge.end)]


def _cut_line(shape: Path | Circle) -> dict[str, Any]:
    if isinstance(shape, Circle):
        return {"centre": _point(shape.centre), "radius": _length(shape.radius)}
    bulges = [[n, float(file_number(e.bulge, 12))] for n, e in enumerate(shape.edges) if e.bulge]
    return {"corners": [_point(edge.start) for edge in shape.edges], "bulges": bulges}


def _angle(angle: CheckAngle) -> dict[str, Any]:
    return {
        "name": angle.name,
        "nominal": float(file_number(angle.nominal, 9)),
        "base": _edge(angle.base),
        "working": _edge(angle.working),
    }


def _dimension(dimension: CheckDimension) -> dict[str, Any]:
    return {
        "name": dimension.name,
        "nominal": _length(dimension.nominal),
        "ends": [_point(dimension.start), _point(dimension.end)],
        "bar": dimension.is_bar,
    }
