"""What a drawing should measure: the record inside the file, or the manifest beside it."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from jiggen.remeasure.contour import (
    FAR,
    Contour,
    Matrix,
    Point,
    Tracer,
    bulge_cubics,
    circle_contour,
    moved,
)

#: The format of record and manifest that this reader knows.
KNOWN_FORMAT = 1
MANIFEST = "manifest.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class NominalSize:
    """A bar or a size, where it should lie.

    Attributes:
        name: of the check dimension.
        nominal: what it is on the finished work, mm.
        ends: mm, where they are drawn.
        is_bar: a calibration bar, drawn to be measured.
    """

    name: str
    nominal: float
    ends: tuple[Point, Point]
    is_bar: bool

    @property
    def drawn(self) -> float:
        """What it should measure in the file, mm: another length only under a correction."""
        ratio = math.dist(*self.ends) / self.nominal if self.nominal else 1.0
        return self.nominal if abs(ratio - 1.0) < 1e-6 else math.dist(*self.ends)


@dataclass(frozen=True, slots=True, kw_only=True)
class NominalAngle:
    """Two check edges, where they should lie.

    Attributes:
        name: of the check angle.
        nominal: degrees, on the finished work.
        base: ends of the edge on the work, mm.
        working: ends of the edge that is sighted along, mm.
        drawn: degrees that the file should show: others only under a correction.
    """

    name: str
    nominal: float
    base: tuple[Point, Point]
    working: tuple[Point, Point]
    drawn: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NominalPiece:
    """A piece as it should be.

    Attributes:
        name: unique on its sheet: the second of two equal ones gets ``-2``.
        kind: which jig it is.
        angles: its check edges.
        sizes: its bars and sizes.
        outline: the cut line round it; None where the record has none.
        holes: the cut lines inside.
    """

    name: str
    kind: str
    angles: tuple[NominalAngle, ...]
    sizes: tuple[NominalSize, ...]
    outline: Contour | None
    holes: tuple[Contour, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NominalSheet:
    """A page or a bed as it should be, mm, y up from its lower left corner.

    Attributes:
        name: of the page or sheet.
        width: mm.
        height: mm.
        pieces: in their order.
        sizes: the sheet's own bars.
        corrected: drawn with a print correction, which all places here include.
    """

    name: str
    width: float
    height: float
    pieces: tuple[NominalPiece, ...]
    sizes: tuple[NominalSize, ...]
    corrected: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ManifestRow:
    """What a manifest says of one file.

    Attributes:
        file: its path in the folder.
        sha256: of its bytes, as it was written.
        records: of its sheets, raw.
        correction: a, b, c, d of the print correction; None for none.
    """

    file: str
    sha256: str
    records: tuple[dict[str, Any], ...]
    correction: tuple[float, ...] | None

    def sheets(self) -> tuple[NominalSheet, ...]:
        """Return its sheets as they should be drawn.

        Raises:
            ValueError: a record is damaged.
        """
        own = {} if self.correction is None else {"correction": self.correction}
        return tuple(nominal_sheet(record | own) for record in self.records)


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """A manifest that was found.

    Attributes:
        path: of the manifest.
        rows: one a file.
        own: the row of the file that is measured, by its path or its hash; None for none.
        unchanged: the file is, byte for byte, as it was written.
    """

    path: Path
    rows: tuple[ManifestRow, ...]
    own: ManifestRow | None
    unchanged: bool


def find_manifest(file: Path, data: bytes) -> Manifest | None:
    """Return the manifest beside a file, or one folder up for a single piece's drawing.

    Args:
        file: the drawing.
        data: its bytes.

    Returns:
        None when there is none, or none that this reader knows.

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
        whole = json.loads(path.read_bytes())
        if whole["jiggen"] != KNOWN_FORMAT:
            return None
        return tuple(
            ManifestRow(
                file=str(row["file"]),
                sha256=str(row["sha256"]),
                records=tuple(dict(record) for record in row["sheets"]),
                correction=_four(row.get("correction")),
            )
            for row in whole["files"]
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def nominal_sheet(record: Mapping[str, Any]) -> NominalSheet:
    """Return a record as what should be drawn, its print correction applied.

    Args:
        record: as it travels with the drawing.

    Raises:
        ValueError: something in it is missing, or is not what it should be.
    """
    try:
        if record["jiggen"] != KNOWN_FORMAT:
            raise ValueError(f"format {record['jiggen']!r} is not known")
        width, height = _number(record["width"]), _number(record["height"])
        correction = _four(record.get("correction"))
        matrix = _about_the_middle(correction, width, height)
        pieces = tuple(_piece(p, matrix) for p in record["pieces"])
        return NominalSheet(
            name=str(record["sheet"]),
            width=width,
            height=height,
            pieces=_named_apart(pieces),
            sizes=tuple(_size(d, matrix) for d in record["dimensions"]),
            corrected=correction is not None,
        )
    except (KeyError, TypeError, IndexError, AttributeError, ValueError) as trouble:
        raise ValueError(f"a record that cannot be used ({trouble})") from trouble


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


def _named_apart(pieces: Sequence[NominalPiece]) -> tuple[NominalPiece, ...]:
    """Return the pieces with a number behind the name of the second and further equal ones."""
    taken = {piece.name for piece in pieces}
    seen: set[str] = set()
    named = []
    for piece in pieces:
        name, number = piece.name, 2
        while name in seen or (name != piece.name and name in taken):
            name, number = f"{piece.name}-{number}", number + 1
        seen.add(name)
        named.append(replace(piece, name=name))
    return tuple(named)


def _piece(record: Mapping[str, Any], matrix: Matrix | None) -> NominalPiece:
    outline = record.get("outline")
    return NominalPiece(
        name=str(record["name"]),
        kind=str(record["kind"]),
        angles=tuple(_angle(a, matrix) for a in record["angles"]),
        sizes=tuple(_size(d, matrix) for d in record["dimensions"]),
        outline=None if outline is None else _cut_line(outline, matrix),
        holes=tuple(_cut_line(hole, matrix) for hole in record.get("holes", ())),
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


def _cut_line(record: Mapping[str, Any], matrix: Matrix | None) -> Contour:
    if "radius" in record:
        contour = circle_contour(_point(record["centre"], None), _number(record["radius"]))
    else:
        corners = [_point(corner, None) for corner in record["corners"]]
        bulges = {int(number): _number(bulge) for number, bulge in record["bulges"]}
        tracer = Tracer()
        tracer.start(corners[0])
        for number, (start, end) in enumerate(
            zip(corners, [*corners[1:], corners[0]], strict=True)
        ):
            bulge = bulges.get(number, 0.0)
            if bulge:
                tracer.cubics(bulge_cubics(start, end, bulge))
            else:
                tracer.line(end)
        tracer.close()
        contour = tracer.contours[0]
    return contour if matrix is None else contour.through(matrix)
