"""Readers of written files that share no code with the writers, and one comparator.

Each reader returns the outlines by piece as walks: the start, then the middle and the end of every
segment, in mm, y up. PDF goes through pikepdf's tokens and a matrix of our own, SVG through
svgelements (which applies width, height and viewBox), DXF through dxfgrabber; GDAL and ElementTree
are used beside them in the tests.
"""

from __future__ import annotations

import io
import json
import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any
from xml.etree import ElementTree

Walk = list[tuple[float, float]]

#: mm. A micrometre: what the files are held to.
MICROMETRE = 1e-3


@dataclass
class PdfPage:
    """What a page of a PDF draws, in mm: closed and open paths by piece ("" outside pieces)."""

    paths: dict[str, list[Walk]] = field(default_factory=dict)
    paints: list[str] = field(default_factory=list)
    widths: list[float] = field(default_factory=list)
    record: dict[str, Any] = field(default_factory=dict)
    matrix: tuple[float, ...] = (1, 0, 0, 1, 0, 0)
    operators: list[str] = field(default_factory=list)


def read_pdf(data: bytes) -> list[PdfPage]:
    """Return the pages of a PDF by following its operators with a matrix of our own."""
    import pikepdf

    with pikepdf.open(io.BytesIO(data)) as pdf:
        return [_read_page(list(pikepdf.parse_content_stream(page))) for page in pdf.pages]


def _read_page(instructions: list[Any]) -> PdfPage:
    page, stack, matrix = PdfPage(), [], (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    piece, json_text, walk = "", "", []
    here: list[Walk] = []
    for operands, operator in ((i.operands, str(i.operator)) for i in instructions):
        page.operators.append(operator)
        if operator == "q":
            stack.append(matrix)
        elif operator == "Q":
            matrix = stack.pop()
        elif operator == "cm":
            matrix = _times([float(v) for v in operands], matrix)
            page.matrix = matrix
        elif operator == "BDC":
            piece = str(operands[1]["/Name"])
        elif operator == "EMC":
            piece = ""
        elif operator == "DP":
            json_text += str(operands[1]["/Json"])
        elif operator == "w":
            page.widths.append(float(operands[0]))
        elif operator == "m":
            walk = [_in_mm(matrix, *(float(v) for v in operands))]
            here.append(walk)
        elif operator == "l":
            end = _in_mm(matrix, *(float(v) for v in operands))
            walk += [_middle(walk[-1], end), end]
        elif operator == "c":
            values = [float(v) for v in operands]
            a, b, end = (_in_mm(matrix, *values[i : i + 2]) for i in (0, 2, 4))
            start = walk[-1]
            half = tuple((start[i] + 3 * a[i] + 3 * b[i] + end[i]) / 8 for i in (0, 1))
            walk += [half, end]
        elif operator == "h" and math.dist(walk[-1], walk[0]) > 1e-9:
            walk += [_middle(walk[-1], walk[0]), walk[0]]
        elif operator in ("S", "f", "B"):
            page.paths.setdefault(piece, []).extend(here)
            page.paints += [operator] * len(here)
            here = []
        elif operator == "n":
            # A path that only clips is not drawn.
            here = []
    page.record = json.loads(json_text) if json_text else {}
    return page


def read_svg(data: bytes) -> dict[str, Walk]:
    """Return the outlines of an SVG by id, with its units applied by svgelements."""
    from svgelements import SVG, Close, Line, Move
    from svgelements import Path as SvgPath

    svg = SVG.parse(io.BytesIO(data), ppi=96.0)
    to_mm = 25.4 / 96.0
    height = float(svg.height) * to_mm
    walks: dict[str, Walk] = {}
    for element in svg.elements():
        if isinstance(element, SvgPath) and element.id is not None:
            walk: list[Any] = []
            for segment in element:
                if isinstance(segment, Move):
                    walk.append(segment.end)
                elif isinstance(segment, Line | Close):
                    if abs(complex(segment.start) - complex(segment.end)) > 1e-9:
                        walk += [segment.point(0.5), segment.end]
                else:
                    walk += [segment.point(0.5), segment.end]
            walks[element.id] = [(p.x * to_mm, height - p.y * to_mm) for p in walk]
    return walks


def read_dxf(data: bytes) -> dict[str, Walk]:
    """Return the outlines of a DXF by piece name, by dxfgrabber; the second equal one gets -2."""
    import dxfgrabber

    drawing = dxfgrabber.read(io.StringIO(data.decode("ascii")))
    # dxfgrabber does not give extended data; our own pairs do, in the same order.
    names = [record.get("name") for record in polyline_records(data)]
    polylines = [e for e in drawing.entities if e.dxftype == "LWPOLYLINE"]
    walks: dict[str, Walk] = {}
    for name, line in zip(names, polylines, strict=True):
        if name is not None:
            points = [(p[0], p[1]) for p in line.points]
            key = name if name not in walks else f"{name}-2"
            walks[key] = walk_of(points, list(line.bulge), closed=line.is_closed)
    return walks


def dxf_pairs(data: bytes) -> list[tuple[int, str]]:
    """Return a DXF as (group code, value) pairs."""
    lines = data.decode("ascii").split("\n")
    return [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=False)]


def polyline_records(data: bytes) -> list[dict[str, Any]]:
    """Return the record in the extended data of each LWPOLYLINE, empty where there is none."""
    records: list[str] = []
    inside = False
    for code, value in dxf_pairs(data):
        if code == 0:
            inside = value == "LWPOLYLINE"
            if inside:
                records.append("")
        elif code == 1000 and inside:
            records[-1] += value
    return [json.loads(text) if text else {} for text in records]


def header(data: bytes, name: str) -> list[str]:
    """Return the values of a variable in the header of a DXF."""
    pairs = dxf_pairs(data)
    at = pairs.index((9, name)) + 1
    values = []
    while pairs[at][0] not in (9, 0):
        values.append(pairs[at][1].strip())
        at += 1
    return values


def svg_root(data: bytes) -> ElementTree.Element:
    """Return an SVG's root by ElementTree, tags without their namespace."""
    root = ElementTree.fromstring(data)
    for element in root.iter():
        element.tag = element.tag.rsplit("}", 1)[-1]
    return root


def walk_of(points: list[tuple[float, float]], bulges: list[float], *, closed: bool) -> Walk:
    """Return the walk along a polyline with bulges.

    Source of the middle of an arc: DXF reference, LWPOLYLINE, group 42: the bulge is the tangent of
    a quarter of the arc's angle, hence the sagitta is the bulge times half the chord (from memory);
    it lies to the right of the way when the bulge is positive.
    """
    walk = [points[0]]
    ends = [*points[1:], points[0]] if closed else points[1:]
    for start, end, bulge in zip(points, ends, bulges, strict=False):
        dx, dy = end[0] - start[0], end[1] - start[1]
        middle = _middle(start, end)
        walk += [(middle[0] + dy * bulge / 2, middle[1] - dx * bulge / 2), end]
    return walk


def model_walk(path: Any) -> Walk:
    """Return the walk along a path of the drawing model, from its points and bulges alone."""
    points = [(e.start.x, e.start.y) for e in path.edges]
    if not path.is_closed:
        points.append((path.edges[-1].end.x, path.edges[-1].end.y))
    return walk_of(points, [e.bulge for e in path.edges], closed=path.is_closed)


def worst_distance(expected: Walk, measured: Walk) -> float:
    """Return how far a measured walk is from the expected one, mm; the direction counts.

    Every expected corner and middle must be met in order by a measured point, and every measured
    point must lie on the expected line or arc at that place. An arc that is cut into curves has
    more points than expected, which is no fault.
    """
    worst, at = 0.0, 0
    reached = [0]
    for point in expected:
        rest = measured[at:]
        if not rest:
            return math.inf
        # The nearest of the points still ahead: the first one that is as near as it gets.
        gaps = [math.dist(point, other) for other in rest]
        best = min(gaps)
        step = next(i for i, gap in enumerate(gaps) if gap <= best + 1e-9)
        worst = max(worst, best)
        at += step
        reached.append(at)
    if at != len(measured) - 1:
        return math.inf
    for i in range(0, len(expected) - 2, 2):
        start, middle, end = expected[i : i + 3]
        for point in measured[reached[i + 1] : reached[i + 3] + 1]:
            worst = max(worst, _off_arc(start, middle, end, point))
    return worst


def corner_degrees(base: Iterator[Any] | list[Any], working: Iterator[Any] | list[Any]) -> float:
    """Return the angle between two directed edges, each two points, degrees."""
    (ax, ay), (bx, by) = base
    (cx, cy), (dx, dy) = working
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    return math.degrees(math.atan2(abs(ux * vy - uy * vx), ux * vx + uy * vy))


def _off_arc(start: Any, middle: Any, end: Any, point: Any) -> float:
    """Return the distance from the line or circle through three points."""
    ax, ay = middle[0] - start[0], middle[1] - start[1]
    bx, by = end[0] - start[0], end[1] - start[1]
    px, py = point[0] - start[0], point[1] - start[1]
    cross = 2 * (ax * by - ay * bx)
    if abs(cross) < 1e-9:
        return abs(px * by - py * bx) / math.hypot(bx, by)
    aa, bb = ax * ax + ay * ay, bx * bx + by * by
    cx, cy = (by * aa - ay * bb) / cross, (ax * bb - bx * aa) / cross
    return abs(math.hypot(px - cx, py - cy) - math.hypot(cx, cy))


def _middle(a: Any, b: Any) -> tuple[float, float]:
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)


def _times(m: Any, n: Any) -> tuple[float, ...]:
    """Return the matrix that applies m first, then n (PDF's order)."""
    return (
        m[0] * n[0] + m[1] * n[2],
        m[0] * n[1] + m[1] * n[3],
        m[2] * n[0] + m[3] * n[2],
        m[2] * n[1] + m[3] * n[3],
        m[4] * n[0] + m[5] * n[2] + n[4],
        m[4] * n[1] + m[5] * n[3] + n[5],
    )


def _in_mm(m: tuple[float, ...], x: float, y: float) -> tuple[float, float]:
    scale = 25.4 / 72.0
    return ((m[0] * x + m[2] * y + m[4]) * scale, (m[1] * x + m[3] * y + m[5]) * scale)
