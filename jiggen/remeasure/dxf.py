"""Reads a DXF by its pairs of group code and value, as a cutter's program would.

Read are LWPOLYLINE and POLYLINE with bulges, LINE, ARC, CIRCLE, ELLIPSE, and SPLINE where it is a
row of Bezier curves; lines and arcs that meet end to end are joined. Blocks that are inserted are
not followed, and the reader says so.

Source: the DXF reference (from memory), ENTITIES and HEADER; the codes of $INSUNITS from there.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from jiggen.errors import DrawingFileError
from jiggen.remeasure.contour import (
    IDENTITY,
    Contour,
    Matrix,
    Point,
    Tracer,
    arc_cubics,
    bulge_cubics,
)
from jiggen.remeasure.found import NOTE, OFF, Finding, FoundDrawing, FoundPage
from jiggen.remeasure.joining import joined

#: $INSUNITS: name and mm. Source: the DXF reference, HEADER (from memory).
UNITS = {
    1: ("inches", 25.4),
    2: ("feet", 304.8),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("metres", 1000.0),
    8: ("microinches", 25.4e-6),
    9: ("thousandths of an inch", 0.0254),
    10: ("yards", 914.4),
    13: ("micrometres", 1e-3),
    14: ("decimetres", 100.0),
}
APPLICATION = "JIGGEN"

Pair = tuple[int, str]
Entity = tuple[str, list[Pair]]


def read_dxf(data: bytes) -> FoundDrawing:
    """Return what a DXF draws, in mm by the unit that it states, y up.

    Args:
        data: the file.

    Raises:
        DrawingFileError: no DXF, or one in binary form.
    """
    if data.startswith(b"AutoCAD Binary DXF"):
        raise DrawingFileError("is a DXF in binary form; save it as text")
    return _Reader(dxf_pairs(data)).read()


def dxf_pairs(data: bytes) -> list[Pair]:
    """Return the group codes and values of a DXF.

    Raises:
        DrawingFileError: a group code is no number.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    lines = text.splitlines()
    try:
        codes = list(map(int, lines[::2]))
    except ValueError:
        bad = next(n for n, line in enumerate(lines[::2]) if not line.strip().lstrip("-").isdigit())
        raise DrawingFileError(
            f"is not a DXF: line {2 * bad + 1} should be a group code, given "
            f"{lines[2 * bad][:30]!r}"
        ) from None
    return list(zip(codes, map(str.strip, lines[1::2]), strict=False))


def sections(pairs: Sequence[Pair]) -> dict[str, list[Pair]]:
    """Return the pairs of each section by its name."""
    found: dict[str, list[Pair]] = {}
    starts = [n for n, pair in enumerate(pairs) if pair == (0, "SECTION")]
    for start in starts:
        name = pairs[start + 1][1] if start + 1 < len(pairs) else ""
        end = start + 2
        while end < len(pairs) and pairs[end] != (0, "ENDSEC"):
            end += 1
        found[name] = list(pairs[start + 2 : end])
    return found


def _entities(pairs: Sequence[Pair]) -> Iterator[Entity]:
    starts = [n for n, pair in enumerate(pairs) if pair[0] == 0]
    for start, end in zip(starts, [*starts[1:], len(pairs)], strict=True):
        yield pairs[start][1], list(pairs[start + 1 : end])


def _numbers(pairs: Sequence[Pair]) -> dict[int, float]:
    """Return the first value of each number code."""
    found: dict[int, float] = {}
    for code, value in pairs:
        if code == 1001:
            break
        if (10 <= code <= 79 or 210 <= code <= 239) and code not in found:
            found[code] = _float(value)
    return found


def _float(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def _first(pairs: Sequence[Pair], code: int) -> str:
    return next((value for c, value in pairs if c == code), "")


def _record(pairs: Sequence[Pair]) -> dict[str, Any] | None:
    """Return the record in an entity's extended data; empty when it is damaged."""
    ours, parts = False, []
    for code, value in pairs:
        if code == 1001:
            ours = value == APPLICATION
        elif code == 1000 and ours:
            parts.append(value)
    if not parts:
        return None
    try:
        record = json.loads("".join(parts))
    except (ValueError, RecursionError):
        return {}
    return record if isinstance(record, dict) else {}


class _Reader:
    """One walk through a document."""

    def __init__(self, pairs: Sequence[Pair]) -> None:
        self.parts = sections(pairs)
        if "ENTITIES" not in self.parts:
            raise DrawingFileError("is not a DXF that can be measured: it has no ENTITIES section")
        self.findings: list[Finding] = []
        self.whole: list[Contour] = []
        self.loose: list[Contour] = []
        self.records: list[dict[str, Any]] = []
        self.ignored: Counter[str] = Counter()
        self.has_text = False

    def read(self) -> FoundDrawing:
        unit, factor = self._unit()
        scale: Matrix = (factor, 0.0, 0.0, factor, 0.0, 0.0)
        entities = list(_entities(self.parts["ENTITIES"]))
        at = 0
        while at < len(entities):
            at = self._entity(entities, at, scale)
        for name, count in sorted(self.ignored.items()):
            self.findings.append(
                Finding(severity=NOTE, text=f"{count} {name} in it cannot be measured")
            )
        page = FoundPage(
            width=None,
            height=None,
            contours=(*self.whole, *joined(self.loose)),
            record=self._sheet_record(),
            has_text=self.has_text,
        )
        return FoundDrawing(
            kind="dxf",
            pages=(page,),
            findings=tuple(self.findings),
            unit=unit,
            as_stated=factor,
        )

    def _unit(self) -> tuple[str, float]:
        header = self.parts.get("HEADER", [])
        code = 0
        for number, pair in enumerate(header[:-1]):
            if pair == (9, "$INSUNITS"):
                code = int(_float(header[number + 1][1]) or 0)
        if code in UNITS:
            return UNITS[code]
        said = f"$INSUNITS is {code}" if code else "$INSUNITS is 0 or not there"
        self.findings.append(
            Finding(
                severity=OFF,
                text=f"the file states no unit that is known ({said}): one program will take its "
                "numbers as mm, another as inches or metres; read here as mm",
            )
        )
        return "", 1.0

    def _sheet_record(self) -> dict[str, Any] | None:
        sheet = None
        for name, pairs in _entities(self.parts.get("TABLES", [])):
            if name == "LAYER":
                sheet = sheet or _record(pairs)
        if sheet is None and not self.records:
            return None
        return (sheet or {}) | {"pieces": self.records}

    def _entity(self, entities: list[Entity], at: int, scale: Matrix) -> int:
        """Read the entity at a place; return the place of the next."""
        name, pairs = entities[at]
        end = at + 1
        vertices: list[list[Pair]] = []
        if name == "POLYLINE":
            while end < len(entities) and entities[end][0] == "VERTEX":
                vertices.append(entities[end][1])
                end += 1
        if _first(pairs, 67) == "1":  # on a layout sheet, not in the drawing itself
            return end
        numbers = _numbers(pairs)
        if any(math.isnan(v) for v in numbers.values()):
            self.findings.append(
                Finding(severity=OFF, text=f"a {name} has a number that cannot be read")
            )
            return end
        # Drawn from behind: the whole plane of such an entity is mirrored in x.
        behind: Matrix = (-1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
        seen = behind if numbers.get(230, 1.0) < 0 and name != "LINE" else IDENTITY
        matrix: Matrix = (
            seen[0] * scale[0], 0.0, 0.0, scale[3], 0.0, 0.0,
        )  # fmt: skip
        tracer = Tracer(matrix, layer=_first(pairs, 8))
        if not self._trace(name, pairs, numbers, vertices, tracer):
            if name in ("TEXT", "MTEXT"):
                self.has_text = True
            elif name != "SEQEND":
                self.ignored["inserted block" if name == "INSERT" else name] += 1
            return end
        tracer.end()
        loose = name in ("LINE", "ARC", "SPLINE", "ELLIPSE")
        (self.loose if loose else self.whole).extend(tracer.contours)
        record = _record(pairs)
        if record is not None:
            self.records.append(record)
        return end

    def _trace(
        self,
        name: str,
        pairs: list[Pair],
        numbers: dict[int, float],
        vertices: list[list[Pair]],
        tracer: Tracer,
    ) -> bool:
        """Follow one entity; return False for one that is not a line."""
        get = numbers.get
        if name == "LWPOLYLINE":
            _trace_polyline(_light_vertices(pairs), bool(int(get(70, 0.0)) & 1), tracer)
        elif name == "POLYLINE":
            rows = [_numbers(v) for v in vertices]
            points = [(r.get(10, 0.0), r.get(20, 0.0), r.get(42, 0.0)) for r in rows]
            _trace_polyline(points, bool(int(get(70, 0.0)) & 1), tracer)
        elif name == "LINE":
            tracer.start((get(10, 0.0), get(20, 0.0)))
            tracer.line((get(11, 0.0), get(21, 0.0)))
        elif name in ("CIRCLE", "ARC"):
            _trace_arc(numbers, tracer, full=name == "CIRCLE")
        elif name == "ELLIPSE":
            _trace_ellipse(numbers, tracer)
        elif name == "SPLINE":
            return _trace_spline(pairs, numbers, tracer)
        else:
            return False
        return True


def _light_vertices(pairs: list[Pair]) -> list[tuple[float, float, float]]:
    rows: list[list[float]] = []
    for code, value in pairs:
        if code == 1001:
            break
        if code == 10:
            rows.append([float(value), 0.0, 0.0])
        elif code == 20 and rows:
            rows[-1][1] = float(value)
        elif code == 42 and rows:
            rows[-1][2] = float(value)
    return [(x, y, bulge) for x, y, bulge in rows]


def _trace_polyline(
    rows: Sequence[tuple[float, float, float]], closed: bool, tracer: Tracer
) -> None:
    if len(rows) < 2:
        return
    tracer.start(rows[0][:2])
    following = [*rows[1:], rows[0]] if closed else rows[1:]
    for (x, y, bulge), (to_x, to_y, _) in zip(rows, following, strict=closed):
        start, end = (x, y), (to_x, to_y)
        if bulge and start != end:
            tracer.cubics(bulge_cubics(start, end, bulge))
        elif start != end:
            tracer.line(end)
    tracer.end()


def _trace_arc(numbers: dict[int, float], tracer: Tracer, *, full: bool) -> None:
    centre: Point = (numbers.get(10, 0.0), numbers.get(20, 0.0))
    radius = numbers.get(40, 0.0)
    if radius <= 0:
        return
    first = 0.0 if full else math.radians(numbers.get(50, 0.0))
    sweep = math.tau if full else (math.radians(numbers.get(51, 360.0)) - first) % math.tau
    _trace_sweep(centre, (radius, radius), first, sweep or math.tau, 0.0, tracer)


def _trace_ellipse(numbers: dict[int, float], tracer: Tracer) -> None:
    centre: Point = (numbers.get(10, 0.0), numbers.get(20, 0.0))
    along = (numbers.get(11, 0.0), numbers.get(21, 0.0))
    long = math.hypot(*along)
    first, last = numbers.get(41, 0.0), numbers.get(42, math.tau)
    if long <= 0:
        return
    sweep = (last - first) % math.tau or math.tau
    turn = math.atan2(along[1], along[0])
    _trace_sweep(centre, (long, long * numbers.get(40, 1.0)), first, sweep, turn, tracer)


def _trace_sweep(
    centre: Point, radii: Point, first: float, sweep: float, turn: float, tracer: Tracer
) -> None:
    # A whole turn as two edges: a closed line of one node would have no extent of corners.
    parts = 2 if sweep > math.pi else 1
    for part in range(parts):
        cubics = arc_cubics(centre, radii, first + part * sweep / parts, sweep / parts, turn)
        if part == 0:
            tracer.start(_on(centre, radii, first, turn))
        tracer.cubics(cubics)
    tracer.end()


def _on(centre: Point, radii: Point, angle: float, turn: float) -> Point:
    x, y = radii[0] * math.cos(angle), radii[1] * math.sin(angle)
    cos, sin = math.cos(turn), math.sin(turn)
    return (centre[0] + cos * x - sin * y, centre[1] + sin * x + cos * y)


def _trace_spline(pairs: list[Pair], numbers: dict[int, float], tracer: Tracer) -> bool:
    """Follow a spline whose knots make it a row of cubic Bezier curves or of straight lines."""
    xs = [_float(v) for c, v in pairs if c == 10]
    ys = [_float(v) for c, v in pairs if c == 20]
    points = list(zip(xs, ys, strict=False))
    knots = [_float(v) for c, v in pairs if c == 40]
    degree = int(numbers.get(71, 3.0))
    if len(points) < 2 or any(c == 41 for c, _ in pairs):
        return False
    tracer.start(points[0])
    if degree == 1:
        for point in points[1:]:
            tracer.line(point)
        return True
    inner = Counter(knots[4:-4])
    bezier = degree == 3 and len(points) % 3 == 1 and len(knots) == len(points) + 4
    if not bezier or any(count != 3 for count in inner.values()):
        return False
    for at in range(1, len(points), 3):
        tracer.cubics(((points[at], points[at + 1], points[at + 2]),))
    return True
