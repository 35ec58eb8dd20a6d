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
from jiggen.remeasure.contour import IDENTITY, Contour, Matrix, Tracer
from jiggen.remeasure.dxfcurves import (
    Pair,
    light_vertices,
    number_of,
    trace_arc,
    trace_ellipse,
    trace_polyline,
    trace_spline,
)
from jiggen.remeasure.found import DAMAGED, NOTE, OFF, Finding, FoundDrawing, FoundPage
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

Entity = tuple[str, list[Pair]]


def read_dxf(data: bytes) -> FoundDrawing:
    """Return what a DXF draws, in mm by the unit that it states, y up.

    Args:
        data: the file.

    Raises:
        DrawingFileError: no DXF, one in binary form, or one that holds what is no number.
    """
    if data.startswith(b"AutoCAD Binary DXF"):
        raise DrawingFileError("is a DXF in binary form; save it as a text DXF (ASCII)")
    try:
        return _Reader(dxf_pairs(data)).read()
    except ValueError as trouble:
        raise DrawingFileError(f"is a damaged DXF: {trouble}; {DAMAGED}") from None


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
        bad = next(n for n, line in enumerate(lines[::2]) if not _is_code(line))
        if 2 * bad + 1 == len(lines):
            raise DrawingFileError(f"is a DXF that is cut short or damaged; {DAMAGED}") from None
        raise DrawingFileError(
            f"is not a DXF: line {2 * bad + 1} should be a group code, given "
            f"{lines[2 * bad][:30]!r}; {DAMAGED}"
        ) from None
    return list(zip(codes, map(str.strip, lines[1::2]), strict=False))


def _is_code(line: str) -> bool:
    try:
        int(line)
    except ValueError:
        return False
    return True


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
    for start, end in zip(starts, [*starts, len(pairs)][1:], strict=True):
        yield pairs[start][1], list(pairs[start + 1 : end])


def _numbers(pairs: Sequence[Pair]) -> dict[int, float]:
    """Return the first value of each number code."""
    found: dict[int, float] = {}
    for code, value in pairs:
        if code == 1001:
            break
        if (10 <= code <= 79 or 210 <= code <= 239) and code not in found:
            found[code] = number_of(value)
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
    if not parts:
        return None
    try:
        record = json.loads("".join(parts))
    except (ValueError, RecursionError):
        return {}
    return record if isinstance(record, dict) else {}


def _refuse_cut_short(pairs: Sequence[Pair]) -> None:
    """Refuse a DXF whose drawing breaks off: what it lacks would be called missing, line by line.

    What comes after the ENTITIES draws nothing, and a program may leave it out.
    """
    start = list(pairs).index((2, "ENTITIES"))
    if (0, "ENDSEC") not in pairs[start:]:
        raise DrawingFileError(
            "is not a DXF that can be measured: its ENTITIES section breaks off, so it is cut "
            f"short or damaged; {DAMAGED}"
        )


class _Reader:
    """One walk through a document."""

    def __init__(self, pairs: Sequence[Pair]) -> None:
        self.parts = sections(pairs)
        if "ENTITIES" not in self.parts:
            raise DrawingFileError(
                "is not a DXF that can be measured: it has no ENTITIES section, so it is cut short "
                f"or damaged; {DAMAGED}"
            )
        self.findings: list[Finding] = []
        _refuse_cut_short(pairs)
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
                code = int(number_of(header[number + 1][1]) or 0)
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
            trace_polyline(light_vertices(pairs), bool(int(get(70, 0.0)) & 1), tracer)
        elif name == "POLYLINE":
            rows = [_numbers(v) for v in vertices]
            points = [(r.get(10, 0.0), r.get(20, 0.0), r.get(42, 0.0)) for r in rows]
            trace_polyline(points, bool(int(get(70, 0.0)) & 1), tracer)
        elif name == "LINE":
            tracer.start((get(10, 0.0), get(20, 0.0)))
            tracer.line((get(11, 0.0), get(21, 0.0)))
        elif name in ("CIRCLE", "ARC"):
            trace_arc(numbers, tracer, full=name == "CIRCLE")
        elif name == "ELLIPSE":
            trace_ellipse(numbers, tracer)
        elif name == "SPLINE":
            return trace_spline(pairs, numbers, tracer)
        else:
            return False
        return True
