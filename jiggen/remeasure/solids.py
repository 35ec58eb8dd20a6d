r"""Reads a solid back from its own facets, 3MF or STL, and measures its base and its bore.

Nothing of what wrote it is used. What it should be comes from the record in the 3MF, or from the
manifest beside the file; it helps to find the right facets, and is then what they are held to::

    facets that face as the base does, the outermost ---> plane   \
                                                                   >  angle forward, lean
    facets round the stated line, square to it ---> least singular
        direction of their normals ---> axis, diameter, gap       /
"""

from __future__ import annotations

import contextlib
import io
import json
import math
import struct
import zipfile
import zlib
from collections.abc import Mapping
from typing import Any
from xml.etree import ElementTree

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from jiggen.errors import DrawingFileError
from jiggen.remeasure.answer import Measured, MeasuredPage, MeasuredPiece, Measurement
from jiggen.remeasure.limits import DAMAGED
from jiggen.remeasure.record import Manifest
from jiggen.remeasure.shapes import NOTE, OFF, Finding

ANGLE_OFF, LENGTH_OFF = 0.001, 0.01  # degrees and mm: what a solid may be off by
MEANT = 2.0  # degrees. Facets that turn less from a stated direction may be those that are meant
#: Bytes of an unpacked model, and facets; the largest that are written have a hundredth.
MOST_BYTES, MOST_FACETS = 200_000_000, 2_000_000
#: mm in a unit of 3MF (core specification 1.2, the attribute unit of model).
UNITS = {
    "micron": 0.001,
    "millimeter": 1.0,
    "centimeter": 10.0,
    "inch": 25.4,
    "foot": 304.8,
    "meter": 1000.0,
}
MODEL = "3D/3dmodel.model"

_DAMAGE = (
    ValueError,
    LookupError,
    ArithmeticError,
    EOFError,
    RuntimeError,  # a part that is locked, or packed in a way that is not known
    struct.error,
    zipfile.BadZipFile,
    zlib.error,
    ElementTree.ParseError,
)

Array = NDArray[np.float64]


class Facets(Struct, frozen=True, kw_only=True, eq=False):
    """A solid as it is in a file."""

    kind: str  # ``stl`` or ``3mf``
    points: Array  # corners, mm, shape (n, 3), none twice
    facets: NDArray[np.int64]  # indices of them, shape (m, 3)
    record: Mapping[str, Any] | None = None  # what it should be, as it travels inside, if it does

    @property
    def corners(self) -> Array:
        """Return the corners of each facet, shape (m, 3, 3)."""
        return self.points[self.facets]

    @property
    def squares(self) -> Array:
        """Return each facet's outward normal, as long as its area, shape (m, 3)."""
        p = self.corners
        return np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]) / 2.0

    @property
    def volume(self) -> float:
        """Return the volume, mm3; negative where it is inside out. Source: divergence theorem."""
        p = self.corners
        return float(np.einsum("ij,ij->i", p[:, 0], np.cross(p[:, 1], p[:, 2])).sum() / 6.0)

    @property
    def open_edges(self) -> int:
        """Return how many edges have not exactly one partner that runs the other way."""
        f = self.facets
        edges = np.concatenate([f[:, [0, 1]], f[:, [1, 2]], f[:, [2, 0]]])
        ways, counts = np.unique(edges, axis=0, return_counts=True)
        there = {tuple(way) for way in ways.tolist()}
        alone = sum((b, a) not in there for a, b in there)
        return alone + int((counts - 1).sum())


def is_solid(data: bytes) -> bool:
    """Return whether a file is a 3MF or an STL, by its bytes."""
    if data.startswith(b"PK\x03\x04"):
        return MODEL.encode() in data
    return _binary_stl(data) or (data.startswith(b"solid") and b"facet" in data[:2000])


def measure_solid(file: str, data: bytes, manifest: Manifest | None) -> Measurement:
    """Measure a solid from its own facets.

    Angle and lean of its axis against its base, diameter and gap of its bore, its extent.

    Raises:
        DrawingFileError: it cannot be read.
    """
    try:
        found = read_solid(data)
    except DrawingFileError as trouble:
        raise DrawingFileError(f"{file}: {trouble}") from None
    findings: list[Finding] = []

    def say(severity: str, text: str) -> None:
        findings.append(Finding(severity, text))

    if found.open_edges:
        say(OFF, f"it is not closed: {found.open_edges} edges have no partner or too many")
    elif found.volume <= 0.0:
        say(OFF, "it is inside out: its facets face inward")
    listed = manifest.own.solid if manifest is not None and manifest.own is not None else None
    record = found.record or _usable(listed)
    if record is None:
        say(
            OFF,
            "nothing in it or beside it tells what it should measure: put manifest.json beside it",
        )
    elif found.record is None:
        say(NOTE, "judged by the manifest: an STL carries neither record nor unit, mm are taken")
    piece = _piece(found, record, say)
    return Measurement(
        file=file,
        kind=found.kind,
        pieces=(piece,),
        pages=(MeasuredPage(name=piece.name, number=1, width=None, height=None),),
        findings=tuple(sorted(findings, key=lambda f: f.severity != OFF)),
        known=record is not None,
    )


def read_solid(data: bytes) -> Facets:
    """Return the facets of a file.

    Raises:
        DrawingFileError: damaged, empty, or beyond all measure.
    """
    try:
        found = _read_3mf(data) if data.startswith(b"PK") else _read_stl(data)
    except _DAMAGE as trouble:
        raise DrawingFileError(f"is damaged ({str(trouble)[:80]}); {DAMAGED}") from None
    if not len(found.facets):
        raise DrawingFileError(f"holds no facet; {DAMAGED}")
    if not np.isfinite(found.points).all() or float(np.abs(found.points).max()) > 1e6:
        raise DrawingFileError(f"holds corners that no solid has; {DAMAGED}")
    return found


# --- readers


def _binary_stl(data: bytes) -> bool:
    return len(data) > 84 and len(data) == 84 + 50 * struct.unpack("<I", data[80:84])[0]


def _read_stl(data: bytes) -> Facets:
    if _binary_stl(data):
        rows = np.frombuffer(data, dtype="<u1", offset=84).reshape(-1, 50)
        corners = rows[:, 12:48].copy().view("<f4").reshape(-1, 3).astype(np.float64)
    else:
        words = data.decode("ascii", "replace").split()
        spots = [n for n, word in enumerate(words) if word == "vertex"]
        if len(spots) > 3 * MOST_FACETS or len(spots) % 3:
            raise ValueError("its facets are not of three corners")
        corners = np.array([[float(w) for w in words[n + 1 : n + 4]] for n in spots]).reshape(-1, 3)
    return _welded("stl", corners)


def _read_3mf(data: bytes) -> Facets:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        if archive.getinfo(MODEL).file_size > MOST_BYTES:
            raise ValueError("it unpacks beyond all measure")
        text = archive.read(MODEL)
    if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
        raise ValueError("it declares entities")
    root = ElementTree.fromstring(text)
    scale = UNITS[root.get("unit", "millimeter")]
    meshes: dict[str, Array] = {}
    for thing in root.iter():
        if _plain(thing.tag) == "object":
            corners = _mesh(thing)
            if corners is not None:
                meshes[thing.get("id", "")] = corners
    parts = []
    for item in (thing for thing in root.iter() if _plain(thing.tag) == "item"):
        if item.get("objectid", "") not in meshes:
            raise ValueError("it is put together of other objects")
        place = np.array(
            [float(v) for v in item.get("transform", "1 0 0 0 1 0 0 0 1 0 0 0").split()]
        )
        turn, shift = place[:9].reshape(3, 3), place[9:]
        parts.append(meshes[item.get("objectid", "")] @ turn + shift)
    if len(parts) != 1:
        raise ValueError(f"it holds {len(parts)} bodies, and one is expected")
    return _welded("3mf", parts[0] * scale, _record(root))


def _mesh(thing: ElementTree.Element) -> Array | None:
    """Return the corners of the triangles of one object, three to a triangle."""
    at = [e for e in thing.iter() if _plain(e.tag) == "vertex"]
    of = [e for e in thing.iter() if _plain(e.tag) == "triangle"]
    if not of:
        return None
    points = np.array([[float(e.attrib[k]) for k in "xyz"] for e in at])
    facets = np.array([[int(e.attrib[k]) for k in ("v1", "v2", "v3")] for e in of])
    if facets.min() < 0 or len(facets) > MOST_FACETS:
        raise ValueError("its triangles name no corners")
    return np.asarray(points[facets].reshape(-1, 3))


def _plain(tag: str) -> str:
    return tag.rpartition("}")[2]


def _record(root: ElementTree.Element) -> Mapping[str, Any] | None:
    for thing in root:
        if _plain(thing.tag) == "metadata" and thing.get("name", "").endswith(":record"):
            with contextlib.suppress(ValueError, RecursionError):
                return _usable(json.loads(thing.text or ""))
    return None


def _usable(record: Any) -> Mapping[str, Any] | None:
    """Return a record that can be used; None for any other."""
    try:
        ways = [
            [float(v) for v in record[key]] for key in ("base", "forward", "axis", "at", "extent")
        ]
        numbers = [float(record[key]) for key in ("bore", "gap")]
        good = all(len(way) == 3 for way in ways) and isinstance(record["solid"], str)
        lengths = [math.hypot(*way) for way in ways[:3]]
        good = good and all(math.isfinite(v) for v in numbers + [v for way in ways for v in way])
        good = good and all(abs(long - 1.0) < 1e-3 for long in lengths)
    except (ValueError, KeyError, TypeError, OverflowError):
        return None
    return record if good else None


def _welded(kind: str, corners: Array, record: Mapping[str, Any] | None = None) -> Facets:
    """Return facets whose equal corners are one point."""
    points, places = np.unique(corners, axis=0, return_inverse=True)
    facets = places.reshape(-1, 3)
    whole = (facets[:, 0] != facets[:, 1]) & (facets[:, 1] != facets[:, 2])
    whole &= facets[:, 2] != facets[:, 0]
    return Facets(kind=kind, points=points, facets=facets[whole], record=record)


# --- measuring


def _piece(found: Facets, record: Mapping[str, Any] | None, say: Any) -> MeasuredPiece:
    low, high = found.points.min(axis=0), found.points.max(axis=0)
    outline = ((low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1]))
    flat = tuple((float(x), float(y)) for x, y in outline)
    if record is None:
        return MeasuredPiece(name="piece 1", page=1, outline=flat, inside=0)
    sides = _sizes(("length", "width", "height"), high - low, record["extent"])
    base, forward, wanted = (_unit(record[key]) for key in ("base", "forward", "axis"))
    at, bore = np.asarray(record["at"], dtype=float), float(record["bore"])
    stands = _outermost(found, base)
    around = _bore(found, wanted, at, bore) if bore else _largest(found, wanted)
    sizes, angles = list(sides), _angles(None, None, forward, wanted, base)
    if stands is None or around is None:
        say(OFF, "its base or its bore is not where the record says")
    else:
        axis = around[0]
        angles = _angles(stands[0], axis, forward, wanted, base)
        if bore:
            off, gap = _across(found, around[1], axis, stands)
            sizes += _sizes(("bore", "gap"), (off, gap), (bore, float(record["gap"])))
    for angle in angles:
        if angle.error is None or abs(angle.error) > ANGLE_OFF:
            say(
                OFF,
                f"{angle.name}: measured {_said(angle.measured)} deg, meant {angle.nominal:.4f}",
            )
    for size in sizes:
        if size.error is None or abs(size.error) > LENGTH_OFF:
            say(OFF, f"{size.name}: measured {_said(size.measured)} mm, meant {size.nominal:.3f}")
    return MeasuredPiece(
        name=record["solid"],
        page=1,
        outline=flat,
        angles=angles,
        sizes=tuple(sizes),
        worst_shift=max(abs(side.error or 0.0) for side in sides),
    )


def _said(value: float | None) -> str:
    return "nothing" if value is None else f"{value:.4f}"


def _sizes(names: tuple[str, ...], found: Any, meant: Any) -> list[Measured]:
    return [
        Measured(name=name, measured=float(one), nominal=float(other), drawn=float(other))
        for name, one, other in zip(names, found, meant, strict=True)
    ]


def _angles(
    down: Array | None, axis: Array | None, forward: Array, wanted: Array, base: Array
) -> tuple[Measured, ...]:
    """Return angle forward and lean of an axis against the base, measured and meant, degrees."""

    def both(under: Array, way: Array) -> tuple[float, float]:
        ahead = _unit(forward - (forward @ under) * under)
        left = np.cross(-under, ahead)
        across = float(np.linalg.norm(np.cross(ahead, way)))
        return (
            math.degrees(math.atan2(across, float(ahead @ way))),
            math.degrees(math.asin(max(-1.0, min(1.0, float(left @ way))))),
        )

    meant = both(base, wanted)
    measured = (None, None) if down is None or axis is None else both(down, axis)
    return tuple(
        Measured(name=name, measured=one, nominal=other, drawn=other)
        for name, one, other in zip(("forward", "lean"), measured, meant, strict=True)
    )


def _unit(way: Any) -> Array:
    vector = np.asarray(way, dtype=float)
    return np.asarray(vector / np.linalg.norm(vector))


def _plane(found: Facets, some: NDArray[np.int64]) -> tuple[Array, Array]:
    """Return the mean normal of some facets, and the middle of their areas."""
    squares = found.squares[some]
    areas = np.linalg.norm(squares, axis=1)
    middle = (found.corners[some].mean(axis=1) * areas[:, None]).sum(axis=0) / areas.sum()
    return _unit(squares.sum(axis=0)), middle


def _outermost(found: Facets, way: Array) -> tuple[Array, Array] | None:
    """Return the plane of the outermost of all faces that face so."""
    groups = _parallel(found, way)
    return _plane(found, groups[0][0]) if groups else None


def _largest(found: Facets, way: Array) -> tuple[Array, NDArray[np.int64]] | None:
    groups = _parallel(found, way)
    if not groups:
        return None
    some = max(groups, key=lambda group: group[1])[0]
    return _plane(found, some)[0], some


def _parallel(found: Facets, way: Array) -> list[tuple[NDArray[np.int64], float]]:
    """Return planes that face so as groups of facets with their share of area, outermost first."""
    squares = found.squares
    areas = np.linalg.norm(squares, axis=1)
    faces = (squares @ way) / np.where(areas > 0.0, areas, 1.0)
    some = np.flatnonzero(faces > math.cos(math.radians(MEANT)))
    if not len(some):
        return []
    areas = areas[some]
    normal = _unit(squares[some].sum(axis=0))
    out = found.corners[some].mean(axis=1) @ normal
    order = np.argsort(-out)
    breaks = np.flatnonzero(np.diff(-out[order]) > 0.05) + 1
    return [
        (some[part], float(areas[part].sum() / areas.sum())) for part in np.split(order, breaks)
    ]


def _bore(
    found: Facets, wanted: Array, at: Array, bore: float
) -> tuple[Array, NDArray[np.int64]] | None:
    """Return the axis of the bore about a stated line, and the facets of its wall."""
    squares, corners = found.squares, found.corners
    areas = np.linalg.norm(squares, axis=1)
    off = corners - at
    away = np.linalg.norm(off - (off @ wanted)[..., None] * wanted, axis=2)
    flat = np.abs(squares @ wanted) < math.sin(math.radians(MEANT)) * areas
    # The wall faces its own axis.
    inward = np.einsum("ij,ij->i", squares, off.mean(axis=1)) < 0.0
    near = (np.abs(away - bore / 2.0) < 0.1 * bore).all(axis=1)
    some = np.flatnonzero(near & flat & inward & (areas > 0.0))
    if len(some) < 8:
        return None
    _, _, ways = np.linalg.svd(squares[some], full_matrices=False)
    axis = ways[2] * math.copysign(1.0, float(ways[2] @ wanted))
    return axis, some


def _across(
    found: Facets, some: NDArray[np.int64], axis: Array, stands: tuple[Array, Array]
) -> tuple[float, float]:
    """Return the diameter of a bore, and how far along it lies its beginning off the base, mm."""
    points = found.points[np.unique(found.facets[some])]
    side = _unit(np.cross(axis, (0.0, 0.0, 1.0) if abs(axis[2]) < 0.9 else (1.0, 0.0, 0.0)))
    flat = np.column_stack([points @ side, points @ np.cross(axis, side)])
    # Circle of least squares: x^2 + y^2 = 2 a x + 2 b y + c.
    rows = np.column_stack([2.0 * flat, np.ones(len(flat))])
    a, b, c = np.linalg.lstsq(rows, (flat**2).sum(axis=1), rcond=None)[0]
    middle = a * side + b * np.cross(axis, side)
    along = points @ axis
    low = along < (along.min() + along.max()) / 2.0
    rim = np.column_stack([flat[low] - (a, b), np.ones(int(low.sum()))])
    begins = float(np.linalg.lstsq(rim, along[low], rcond=None)[0][2])
    down, on = stands
    meets = float(down @ (on - middle)) / float(down @ axis)
    return 2.0 * math.sqrt(c + a * a + b * b), begins - meets
