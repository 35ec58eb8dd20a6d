"""Reads a DXF by its pairs of group code and value, as a cutter's program would.

Read are LWPOLYLINE and POLYLINE with bulges, LINE, ARC, CIRCLE, ELLIPSE, and SPLINE where it is a
row of Bezier curves. Blocks that are inserted are not followed, and the reader says so.

Source: the DXF reference (from memory), ENTITIES and HEADER; the codes of $INSUNITS from there.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from jiggen.errors import DrawingFileError
from jiggen.remeasure.limits import DAMAGED, Budget, number
from jiggen.remeasure.record import record_of
from jiggen.remeasure.shapes import (
    NOTE,
    OFF,
    Contour,
    Finding,
    FoundDrawing,
    FoundPage,
    Matrix,
    Tracer,
    trace_bulges,
)

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

_SIGNS = {"%%d": "°", "%%p": "±", "%%c": "⌀"}
# What a paragraph of text says besides its words: a new line, or a font and its size up to ";".
_FORMAT = re.compile(r"\\P|\\[A-Za-z][^;{}\\]*;|[{}]")

Pair = tuple[int, str]
Entity = tuple[str, list[Pair]]


def read_dxf(data: bytes) -> FoundDrawing:
    """Return what a DXF draws, in mm by the unit that it states, y up.

    Raises:
        DrawingFileError: no DXF, one in binary form, damaged, or beyond all measure.
    """
    if data.startswith(b"AutoCAD Binary DXF"):
        raise DrawingFileError("is a DXF in binary form; save it as a text DXF (ASCII)")
    try:
        return _Reader(_sections(_pairs(data))).read()
    except ValueError as trouble:
        raise DrawingFileError(f"is a damaged DXF: {trouble}; {DAMAGED}") from None


def _pairs(data: bytes) -> list[Pair]:
    """Return the group codes and values of a DXF; refuse one whose code is no number."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if lines[-1].strip() == "":
        lines.pop()
    try:
        codes = list(map(int, lines[::2]))
    except ValueError:
        bad = next(at for at in range(0, len(lines), 2) if not _is_code(lines[at]))
        if bad + 1 == len(lines):
            raise DrawingFileError(f"is a DXF that is cut short or damaged; {DAMAGED}") from None
        raise DrawingFileError(
            f"is not a DXF: line {bad + 1} should be a group code, given {lines[bad][:30]!r}; "
            f"{DAMAGED}"
        ) from None
    return list(zip(codes, map(str.strip, lines[1::2]), strict=False))


def _is_code(line: str) -> bool:
    try:
        int(line)
    except ValueError:
        return False
    return True


def _sections(pairs: Sequence[Pair]) -> dict[str, list[Pair]]:
    """Return the pairs of each section by its name; refuse a file whose drawing breaks off.

    What it lacks would be called missing, line by line. What comes after may be left out.
    """
    found: dict[str, list[Pair]] = {}
    inside: list[Pair] | None = None
    name = ""
    for before, pair in zip([(0, ""), *pairs], pairs, strict=False):
        if before == (0, "SECTION") and pair[0] == 2:
            name, inside = pair[1], []
        elif pair == (0, "ENDSEC"):
            if inside is not None:
                found[name] = inside
            inside = None
        elif inside is not None:
            inside.append(pair)
    if "ENTITIES" not in found:
        why = "ENTITIES section breaks off" if name == "ENTITIES" else "has no ENTITIES section"
        its = "its" if name == "ENTITIES" else "it"
        raise DrawingFileError(
            f"is not a DXF that can be measured: {its} {why}, so it is cut short or damaged; "
            f"{DAMAGED}"
        )
    return found


def _entities(pairs: Sequence[Pair]) -> Iterator[Entity]:
    starts = [n for n, pair in enumerate(pairs) if pair[0] == 0]
    for start, end in zip(starts, [*starts, len(pairs)][1:], strict=True):
        yield pairs[start][1], list(pairs[start + 1 : end])


def _numbers(pairs: Sequence[Pair]) -> dict[int, float]:
    """Return the first value of each number code."""
    found: dict[int, float] = {}
    for code, value in pairs:
        if code == 1001:
            break
        if (10 <= code <= 79 or 210 <= code <= 239) and code not in found:
            found[code] = number(value)
    return found


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
    return record_of("".join(parts)) if parts else None


class _Reader:
    """One walk through a document."""

    def __init__(self, parts: dict[str, list[Pair]]) -> None:
        self.parts = parts
        self.budget = Budget()
        self.findings: list[Finding] = []
        self.contours: list[Contour] = []
        self.records: list[dict[str, Any]] = []
        self.ignored: Counter[str] = Counter()
        self.words: list[str] = []

    def read(self) -> FoundDrawing:
        unit, factor = self._unit()
        entities = list(_entities(self.parts["ENTITIES"]))
        self.budget.spend("elements", len(entities))
        at = 0
        while at < len(entities):
            at = self._entity(entities, at, factor)
        for name, count in sorted(self.ignored.items())[:20]:
            self.findings.append(Finding(NOTE, f"{count} {name} in it cannot be measured"))
        page = FoundPage(
            width=None,
            height=None,
            contours=tuple(self.contours),
            record=self._sheet_record(),
            words=tuple(self.words),
        )
        return FoundDrawing(
            kind="dxf",
            pages=(page,),
            findings=tuple(dict.fromkeys(self.findings)),
            unit=unit,
            as_stated=factor,
        )

    def _unit(self) -> tuple[str, float]:
        header = self.parts.get("HEADER", [])
        code = 0
        for at, pair in enumerate(header[:-1]):
            if pair == (9, "$INSUNITS"):
                code = int(number(header[at + 1][1]))
        if code in UNITS:
            return UNITS[code]
        said = f"$INSUNITS is {code}" if code else "$INSUNITS is 0 or not there"
        self.findings.append(
            Finding(
                OFF,
                f"the file states no unit that is known ({said}): one program will take its "
                "numbers as mm, another as inches or metres; read here as mm",
            )
        )
        return "", 1.0

    def _sheet_record(self) -> dict[str, Any] | None:
        """Return the sheet's record, which a layer carries, with those of the outlines."""
        layers = (p for name, p in _entities(self.parts.get("TABLES", [])) if name == "LAYER")
        sheet = next((found for p in layers if (found := _record(p)) is not None), None)
        if sheet is None and not self.records:
            return None
        return (sheet or {}) | {"pieces": self.records}

    def _entity(self, entities: list[Entity], at: int, factor: float) -> int:
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
            text = f"a {name[:20]} has a number that cannot be read"
            self.findings.append(Finding(OFF, text))
            return end
        # Drawn from behind: the whole plane of such an entity is mirrored in x.
        behind = numbers.get(230, 1.0) < 0 and name != "LINE"
        matrix: Matrix = (-factor if behind else factor, 0.0, 0.0, factor, 0.0, 0.0)
        layer = _first(pairs, 8).replace("-", "_")
        tracer = Tracer(self.budget, matrix, layer=layer)
        if not _trace(name, pairs, numbers, vertices, tracer):
            if name in ("TEXT", "MTEXT"):
                self.words.append(_words(pairs, whole=name == "TEXT"))
            elif name != "SEQEND":
                self.ignored["inserted block" if name == "INSERT" else name[:20]] += 1
            return end
        tracer.end()
        self.contours += tracer.contours
        record = _record(pairs)
        if record is not None:
            self.records.append(record)
        return end


def _words(pairs: Sequence[Pair], *, whole: bool) -> str:
    text = "".join(value for code, value in pairs if code in ((1,) if whole else (1, 3)))
    for sign, char in _SIGNS.items():
        text = text.replace(sign, char)
    return text if whole else _FORMAT.sub("", text)


def _trace(
    name: str,
    pairs: list[Pair],
    numbers: dict[int, float],
    vertices: list[list[Pair]],
    tracer: Tracer,
) -> bool:
    """Follow one entity; return False for one that is not a line."""
    get = numbers.get
    if name == "LWPOLYLINE":
        trace_bulges(_light_vertices(pairs), bool(int(get(70, 0.0)) & 1), tracer)
    elif name == "POLYLINE":
        rows = [_numbers(v) for v in vertices]
        points = [(r.get(10, 0.0), r.get(20, 0.0), r.get(42, 0.0)) for r in rows]
        trace_bulges(points, bool(int(get(70, 0.0)) & 1), tracer)
    elif name == "LINE":
        tracer.start((get(10, 0.0), get(20, 0.0)))
        tracer.line((get(11, 0.0), get(21, 0.0)))
    elif name in ("CIRCLE", "ARC"):
        radius, first = get(40, 0.0), math.radians(get(50, 0.0)) if name == "ARC" else 0.0
        sweep = math.radians(get(51, 360.0)) - first if name == "ARC" else math.tau
        _trace_sweep(numbers, (radius, radius), first, sweep, 0.0, tracer)
    elif name == "ELLIPSE":
        along = (get(11, 0.0), get(21, 0.0))
        long = math.hypot(*along)
        first, last = get(41, 0.0), get(42, math.tau)
        radii, turn = (long, long * get(40, 1.0)), math.atan2(along[1], along[0])
        _trace_sweep(numbers, radii, first, last - first, turn, tracer)
    elif name == "SPLINE":
        return _trace_spline(pairs, numbers, tracer)
    else:
        return False
    return True


def _trace_sweep(
    numbers: dict[int, float],
    radii: tuple[float, float],
    first: float,
    sweep: float,
    turn: float,
    tracer: Tracer,
) -> None:
    if radii[0] > 0:
        centre = (numbers.get(10, 0.0), numbers.get(20, 0.0))
        tracer.arc(centre, radii, first, sweep % math.tau or math.tau, turn)


def _light_vertices(pairs: list[Pair]) -> list[tuple[float, float, float]]:
    """Return x, y and bulge of each vertex of an LWPOLYLINE."""
    rows: list[list[float]] = []
    for code, value in pairs:
        if code == 1001:
            break
        if code == 10:
            rows.append([_coordinate(value), 0.0, 0.0])
        elif code == 20 and rows:
            rows[-1][1] = _coordinate(value)
        elif code == 42 and rows:
            rows[-1][2] = _coordinate(value)
    return [(x, y, bulge) for x, y, bulge in rows]


def _coordinate(text: str) -> float:
    value = number(text)
    if math.isnan(value):
        raise ValueError(f"{text[:30]!r} is no number")
    return value


def _trace_spline(pairs: list[Pair], numbers: dict[int, float], tracer: Tracer) -> bool:
    """Follow a spline whose knots make it a row of cubic Bezier curves or of straight lines."""
    xs = [_coordinate(v) for c, v in pairs if c == 10]
    ys = [_coordinate(v) for c, v in pairs if c == 20]
    points = list(zip(xs, ys, strict=False))
    knots = [number(v) for c, v in pairs if c == 40]
    degree = int(numbers.get(71, 3.0))
    if len(points) < 2 or any(c == 41 for c, _ in pairs):
        return False
    tracer.start(points[0])
    if degree == 1:
        for point in points[1:]:
            tracer.line(point)
        return True
    inner = Counter(knots[4:-4])
    clamped = len(set(knots[:4])) == 1 and len(set(knots[-4:])) == 1
    bezier = degree == 3 and len(points) % 3 == 1 and len(knots) == len(points) + 4
    if not (bezier and clamped) or any(count != 3 for count in inner.values()):
        return False
    for at in range(1, len(points), 3):
        tracer.cubics(((points[at], points[at + 1], points[at + 2]),))
    return True
