"""What a drawing should measure: the record inside the file, or the manifest beside it.

The record is written once, by the writers, and read here without knowing them: pieces with their
outlines, holes, check edges and sizes, the sheet's own bars, and ``drawn``, a count of what was
put on the sheet: names of pieces, lines by layer, live words, pages, and the extent of all lines.
"""

from __future__ import annotations

import hashlib
import math
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from jiggen.errors import DrawingFileError
from jiggen.limits import TooMuch, json_value, plain_bytes
from jiggen.remeasure.limits import BYTES_MOST, FAR, Budget
from jiggen.remeasure.shapes import (
    Contour,
    Matrix,
    Point,
    Tracer,
    moved,
    trace_bulges,
)

#: The format of record and manifest that this reader knows.
KNOWN_FORMAT = 1
MANIFEST = "manifest.json"


class NominalSize(Struct, frozen=True, kw_only=True):
    """A bar or a size, where it should lie."""

    name: str
    nominal: float  # what it is on the finished work, mm
    ends: tuple[Point, Point]  # mm, where they are drawn
    is_bar: bool  # a calibration bar, drawn to be measured

    @property
    def drawn(self) -> float:
        """What it should measure in the file, mm: another length only under a correction."""
        ratio = math.dist(*self.ends) / self.nominal if self.nominal else 1.0
        return self.nominal if abs(ratio - 1.0) < 1e-6 else math.dist(*self.ends)


class NominalAngle(Struct, frozen=True, kw_only=True):
    """Two check edges, where they should lie."""

    name: str
    nominal: float  # degrees, on the finished work
    base: tuple[Point, Point]  # ends of the edge on the work, mm
    working: tuple[Point, Point]  # ends of the edge that is sighted along, mm
    drawn: float  # degrees that the file should show: others only under a correction


class NominalPiece(Struct, frozen=True, kw_only=True):
    """A piece as it should be."""

    name: str  # unique on its sheet: the second of two equal ones gets ``-2``
    angles: tuple[NominalAngle, ...]
    sizes: tuple[NominalSize, ...]  # its bars and sizes
    outline: Contour
    holes: tuple[Contour, ...]  # the cut lines inside


class NominalSheet(Struct, frozen=True, kw_only=True):
    """A page or a bed as it should be, mm, y up from its lower left corner."""

    name: str
    width: float
    height: float
    pieces: tuple[NominalPiece, ...]  # in their order
    sizes: tuple[NominalSize, ...]  # the sheet's own bars
    corrected: bool = False  # drawn with a print correction, which all places here include
    names: tuple[str, ...] = ()  # of the pieces, also of those whose own record is lost
    lines: Mapping[str, int] = field(default_factory=dict)  # by layer; empty if not known
    words: tuple[str, ...] = ()  # live text that was written; empty where that is not known
    pages: int = 0  # how many pages the file had; 0 where that is not known
    extent: tuple[float, ...] | None = None  # left, bottom, right, top of all lines, if known

    @property
    def is_blank(self) -> bool:
        """Return whether there is nothing on it to measure, as on a page of words."""
        return not (self.pieces or any(size.is_bar for size in self.sizes))


class ManifestRow(Struct, frozen=True, kw_only=True):
    """What a manifest says of one file."""

    file: str  # its path in the folder
    sha256: str
    records: tuple[dict[str, Any], ...]  # of its sheets, raw
    correction: tuple[float, ...] | None  # a, b, c, d of the print correction; None for none
    solid: Any  # record of a body to print, raw; None for a drawing

    def sheets(self) -> tuple[NominalSheet, ...]:
        """Return its sheets as they should be drawn.

        Raises:
            ValueError: a record is damaged.
        """
        own = {} if self.correction is None else {"correction": self.correction}
        return tuple(nominal_sheet(own | record) for record in self.records)


class Manifest(Struct, frozen=True, kw_only=True):
    """A manifest that was found."""

    path: Path
    rows: tuple[ManifestRow, ...]  # one a file
    own: ManifestRow | None  # of the file that is measured, by its path or its hash
    unchanged: bool  # the file is, byte for byte, as it was written


def record_of(text: str) -> dict[str, Any]:
    """Return the record that travels in a file; an empty one where it is damaged.

    Raises:
        DrawingFileError: it holds numbers or depths beyond all measure.
    """
    try:
        record = json_value(text)
    except TooMuch as trouble:
        raise DrawingFileError(f"carries a record that {trouble.problem}; make it again") from None
    except ValueError:
        return {}
    return record if isinstance(record, dict) else {}


def find_manifest(file: Path, data: bytes) -> Manifest | None:
    """Return the manifest beside a file, or one folder up for a single piece's drawing.

    Args:
        file: the drawing.
        data: its bytes.

    Returns:
        None when there is none, or none that this reader knows.

    Raises:
        DrawingFileError: it holds numbers or depths beyond all measure.

    Source: the hash is SHA-256, FIPS 180-4.
    """
    place = file.resolve()
    for folder in (place.parent, place.parent.parent):
        path = folder / MANIFEST
        rows = _manifest_rows(path)
        if rows is None:
            continue
        own_hash = hashlib.sha256(data).hexdigest()
        by_path = place.relative_to(folder).as_posix()
        own = next((r for r in rows if r.file == by_path), None)
        if own is None:
            own = next((r for r in rows if r.sha256 == own_hash), None)
            if own is None and folder != place.parent:
                continue
        return Manifest(
            path=path,
            rows=rows,
            own=own,
            unchanged=own is not None and own.sha256 == own_hash,
        )
    return None


def _manifest_rows(path: Path) -> tuple[ManifestRow, ...] | None:
    try:
        data = plain_bytes(path, BYTES_MOST, "a manifest")
        if b'"jiggen"' not in data[:200]:  # many programs call a file of theirs so
            return None
        whole = json_value(data)
        if whole["jiggen"] != KNOWN_FORMAT:
            return None
        return tuple(
            ManifestRow(
                file=str(row["file"]),
                sha256=str(row["sha256"]),
                records=tuple(dict(record) for record in row["sheets"]),
                correction=_four(row.get("correction")),
                solid=row.get("solid"),
            )
            for row in whole["files"]
        )
    except TooMuch as trouble:
        problem = f"{path.name} beside it {trouble.problem}"
        raise DrawingFileError(f"{problem}; run jiggen make again, or take it away") from None
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def nominal_sheet(record: Mapping[str, Any]) -> NominalSheet:
    """Return a record as what should be drawn, its print correction applied.

    Raises:
        ValueError: something in it is missing, or is not what it should be.
    """
    try:
        if record["jiggen"] != KNOWN_FORMAT:
            raise ValueError(f"format {record['jiggen']!r} is not known")
        width, height = _number(record["width"]), _number(record["height"])
        correction = _four(record.get("correction"))
        matrix = _about_the_middle(correction, width, height)
        budget = Budget()
        pieces = [_piece(p, matrix, budget) for p in record["pieces"]]
        names = _apart([piece.name for piece in pieces])
        drawn = record.get("drawn", {})
        extent = drawn.get("extent")
        return NominalSheet(
            name=str(record["sheet"]),
            width=width,
            height=height,
            pieces=tuple(replace(p, name=n) for p, n in zip(pieces, names, strict=True)),
            sizes=tuple(_size(d, matrix) for d in record["dimensions"]),
            corrected=correction is not None,
            names=_apart([str(name) for name in drawn.get("pieces", [p.name for p in pieces])]),
            lines={str(k).replace("-", "_"): int(n) for k, n in drawn.get("lines", {}).items()},
            words=tuple(str(word) for word in drawn.get("words", ())),
            pages=int(drawn.get("pages", 0)),
            extent=None if extent is None else tuple(_number(v) for v in extent),
        )
    except (KeyError, TypeError, IndexError, AttributeError, ValueError) as trouble:
        raise ValueError(f"a record that cannot be used ({str(trouble)[:80]})") from trouble


def _four(given: Any) -> tuple[float, ...] | None:
    if given is None:
        return None
    values = tuple(_number(v) for v in given)
    if len(values) != 4 or abs(values[0] * values[3] - values[1] * values[2]) < 1e-9:
        raise ValueError("its print correction is damaged")
    return values


def _about_the_middle(
    correction: tuple[float, ...] | None, width: float, height: float
) -> Matrix | None:
    if correction is None:
        return None
    a, b, c, d = correction
    x, y = width / 2, height / 2
    return (a, b, c, d, x - a * x - c * y, y - b * x - d * y)


def _apart(names: Sequence[str]) -> tuple[str, ...]:
    """Return names with a number behind the second and further equal ones."""
    taken, count, apart = set(names), Counter[str](), []
    for name in names:
        count[name] += 1
        own = name
        while count[name] > 1 and (own := f"{name}-{count[name]}") in taken:
            count[name] += 1
        apart.append(own)
    return tuple(apart)


def _piece(record: Mapping[str, Any], matrix: Matrix | None, budget: Budget) -> NominalPiece:
    return NominalPiece(
        name=str(record["name"]),
        angles=tuple(_angle(a, matrix) for a in record["angles"]),
        sizes=tuple(_size(d, matrix) for d in record["dimensions"]),
        outline=_cut_line(record["outline"], matrix, budget),
        holes=tuple(_cut_line(hole, matrix, budget) for hole in record.get("holes", ())),
    )


def _number(given: Any) -> float:
    value = float(given)
    # Not "> FAR": what is no number is not larger than anything.
    if not abs(value) <= FAR:
        raise ValueError(f"{value} is no size or place")
    return value


def _point(given: Any, matrix: Matrix | None) -> Point:
    x, y = (_number(v) for v in given)
    return (x, y) if matrix is None else moved((x, y), matrix)


def _pair(given: Any, matrix: Matrix | None) -> tuple[Point, Point]:
    first, second = given
    return (_point(first, matrix), _point(second, matrix))


def _size(record: Mapping[str, Any], matrix: Matrix | None) -> NominalSize:
    return NominalSize(
        name=str(record["name"]),
        nominal=_number(record["nominal"]),
        ends=_pair(record["ends"], matrix),
        is_bar=bool(record["bar"]),
    )


def _angle(record: Mapping[str, Any], matrix: Matrix | None) -> NominalAngle:
    base, working = _pair(record["base"], matrix), _pair(record["working"], matrix)
    nominal = _number(record["nominal"])
    return NominalAngle(
        name=str(record["name"]),
        nominal=nominal,
        base=base,
        working=working,
        drawn=nominal if matrix is None else angle_between(base, working),
    )


def angle_between(base: tuple[Point, Point], working: tuple[Point, Point]) -> float:
    """Return the angle between two edges as directions, degrees in [0, 180].

    By atan2 of cross and dot product: acos of a rounded cosine loses small angles.
    """
    ax, ay = base[1][0] - base[0][0], base[1][1] - base[0][1]
    bx, by = working[1][0] - working[0][0], working[1][1] - working[0][1]
    return math.degrees(math.atan2(abs(ax * by - ay * bx), ax * bx + ay * by))


def _cut_line(record: Mapping[str, Any], matrix: Matrix | None, budget: Budget) -> Contour:
    tracer = Tracer(budget)
    if "radius" in record:
        radius = _number(record["radius"])
        tracer.arc(_point(record["centre"], None), (radius, radius), 0.0, math.tau, 0.0)
    else:
        bulges = {int(at): _number(bulge) for at, bulge in record["bulges"]}
        corners = [_point(corner, None) for corner in record["corners"]]
        rows = [(x, y, bulges.get(at, 0.0)) for at, (x, y) in enumerate(corners)]
        trace_bulges(rows, True, tracer)
    (contour,) = tracer.contours
    return contour if matrix is None else contour.through(matrix)
