"""What a set of drawings should measure, read from its manifest: once, for all who judge or ask.

The form that is filled in, the verdict on a page, a bed or a cut piece, and the reprint all read
this record and nothing else of the drawings. Lengths are in mm, angles in radians (degrees in the
manifest), places from a sheet's lower left corner.

::

    Record
    ├── sheets    pages of paper, then beds that a machine cuts
    │   ├── lengths   the page's own: bars, diagonals and sides of its check figure
    │   └── pieces    where they lie: check angles, sizes, engraved bars
    └── rows      pieces that are put together and measured as one

What each thing *is* has a mark. Readings belong to a mark, so what did not change keeps them.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Mapping
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from jiggen.drawing.shapes import Path
from jiggen.geometry.distortion import Distortion, undone_by
from jiggen.write.manifest import ROLL
from jiggen.write.record import told_apart

Point = tuple[float, float]

ON_AXIS = 0.02  # a bar whose slope to an axis of the sheet is less than this lies along it
#: How the length aslant from one engraved bar of a piece to the other is called.
BAR_TO_BAR = "bar-to-bar"
#: How the kerf coupon's own dimensions begin: its rows of loose bars, and its slots.
ROW, SLOT = "fingers-", "slot-"
#: radians. The layers of one block lead the drill at angles that agree so well.
SAME_LEAN = math.radians(0.001)


class LengthRecord(Struct, frozen=True, kw_only=True):
    """A length that can be measured, where it lies."""

    name: str
    nominal: float  # what it should measure, mm
    start: Point
    end: Point
    is_bar: bool = False  # a bar that checks printer or machine rather than a size of a piece
    how: str = ""  # to measure it, in words; may be empty

    @property
    def vector(self) -> Point:
        """Return the vector from one end to the other, mm."""
        return (self.end[0] - self.start[0], self.end[1] - self.start[1])

    @property
    def axis(self) -> int | None:
        """Return 0 for a length along x of its sheet, 1 along y, None for one aslant."""
        x, y = (abs(part) for part in self.vector)
        return None if min(x, y) > ON_AXIS * max(x, y) else int(x < y)


class AngleRecord(Struct, frozen=True, kw_only=True):
    """A check angle, where it lies."""

    name: str
    nominal: float  # radians
    base: tuple[Point, Point]  # two points of the edge on the work, away from the corner, mm
    working: tuple[Point, Point]  # the same of the edge that leads the bit


class PieceRecord(Struct, frozen=True, kw_only=True):
    """A piece where it lies on its sheet, or a row of pieces that is measured as one."""

    name: str
    title: str  # as it is called in lists
    mark: str = ""  # what the piece is
    code: str = ""  # as lettered on it; empty for a row
    kind: str = ""  # which jig made it
    side: str = ""  # that it is for, or empty
    leads: float | None = None  # forward corner between skin and a bit that it leads, radians
    serves: tuple[int, ...] = ()  # numbers of the part's holes that it is used at
    angles: tuple[AngleRecord, ...] = ()
    lengths: tuple[LengthRecord, ...] = ()  # its check dimensions, its bars included
    allowed_angle: float | None = None  # largest angle error, radians; None for the default
    allowed_length: float | None = None  # largest length error, mm; None where it states none
    copy_of: str = ""  # name of the first of its copies on the same sheet; empty for that one
    parts: tuple[tuple[str, str], ...] = ()  # of a row: each piece in it, its dimension
    drawn: tuple[Mapping[str, Any], ...] = ()  # outline, then holes, as in the manifest

    @property
    def cuts(self) -> tuple[Path, ...]:
        """Return its outline, then its holes, where it lies."""
        return tuple(map(_cut, self.drawn))

    @property
    def sizes(self) -> dict[str, LengthRecord]:
        """Return the check dimensions of the piece itself by name, without its bars."""
        return {length.name: length for length in self.lengths if not length.is_bar}

    @property
    def is_checked(self) -> bool:
        """Return whether anything of it can be judged; else it is as good as what it lies on."""
        return bool(self.angles or self.sizes)

    @property
    def is_coupon(self) -> bool:
        """Return whether its dimensions are those of the kerf coupon, which is not judged."""
        return any(length.name.startswith(ROW) for length in self.lengths)

    @property
    def lean(self) -> float | None:
        """Return the tilt along x that it gives a hole in flat scrap, radians.

        Negative toward the trailing edge: the axis leans forward going out of the skin, so the
        hole comes out nearer to it. None for a piece that leads no bit.
        """
        return None if self.leads is None else self.leads - math.pi / 2

    @property
    def leading_edge(self) -> AngleRecord | None:
        """Return the check angle that the bit turns with, or adds to; None where it has none."""
        leading = (angle for angle in self.angles if self.turns(angle.name))
        return next(leading, self.glued_edge)

    @property
    def glued_edge(self) -> AngleRecord | None:
        """Return the edges drawn parallel of a plate that leads a bit by what it is glued to.

        What they run apart adds to the forward corner of the piece that it goes with.
        """
        if self.leads is None:
            return None
        return next((angle for angle in self.angles if angle.nominal <= SAME_LEAN), None)

    def turns(self, angle: str) -> int:
        """Return how the bit turns with a check angle: 1 or -1 by as much, 0 not at all.

        The corner between skin and bit may stand on the piece itself, or as the slope of its seat,
        square to the bit.
        """
        nominal = next(one.nominal for one in self.angles if one.name == angle)
        if self.leads is None or nominal <= SAME_LEAN:
            return 0
        falls = self.leads - math.pi / 2
        ways = ((self.leads, 1), (-falls, -1), (falls, 1))
        near = (way for at, way in ways if abs(nominal - at) <= SAME_LEAN)
        return next(near, 0)

    def goes_with(self, other: PieceRecord) -> bool:
        """Return whether both are parts of one guide or block, for a hole of one side."""
        sides = not self.side or not other.side or set(self.side) & set(other.side)
        return bool(self.kind == other.kind and sides and set(self.serves) & set(other.serves))


class SheetRecord(Struct, frozen=True, kw_only=True):
    """One page or bed as it was drawn."""

    name: str  # ``page 2`` or ``cut-1``
    mark: str = ""  # of a page, what can be measured on it and what its print was corrected for
    pieces: tuple[PieceRecord, ...] = ()
    lengths: tuple[LengthRecord, ...] = ()  # the sheet's own bars, diagonals and sides
    printed: bool = True  # a page of paper, which a reprint corrects; else a machine cuts it
    size: Point = (0.0, 0.0)  # width and height, mm

    @property
    def lying(self) -> bool:
        """Return whether it is wider than high: the printer feeds it turned by a quarter."""
        return self.size[0] > self.size[1]

    def measurable(self) -> dict[str, LengthRecord]:
        """Return every length that can be read on the sheet, by the name that a reading has.

        A page's own; of a bed the bars of its pieces as ``piece/bar-x``, and a length aslant from
        bar to bar where a piece has one each way. Sizes of pieces would do too, but they go over
        cut edges, and change with the kerf.
        """
        if self.lengths:
            return {length.name: length for length in self.lengths}
        found: dict[str, LengthRecord] = {}
        for piece in (p for p in self.pieces if not p.copy_of):
            bars = [length for length in piece.lengths if length.is_bar]
            found |= {f"{piece.name}/{bar.name}": bar for bar in bars}
            along, up = (next((b for b in bars if b.axis == axis), None) for axis in (0, 1))
            if along is not None and up is not None:
                found[f"{piece.name}/{BAR_TO_BAR}"] = _bar_to_bar(along, up)
        return found


class Record(Struct, frozen=True, kw_only=True):
    """All that a set of drawings should measure."""

    job: str
    sheets: tuple[SheetRecord, ...]  # every page, then every bed once
    rows: tuple[PieceRecord, ...] = ()
    made_for: Distortion = field(default_factory=Distortion)  # what the print was corrected for
    corrected_by: str = ""  # mark of the readings that it was corrected by; empty for none

    @property
    def pages(self) -> tuple[SheetRecord, ...]:
        """Return the pages of paper with pieces on them."""
        return tuple(s for s in self.sheets if s.printed and s.pieces and s.lengths)

    @property
    def beds(self) -> tuple[SheetRecord, ...]:
        """Return what a machine cuts or prints for itself."""
        return tuple(sheet for sheet in self.sheets if not sheet.printed and sheet.pieces)

    @property
    def pieces(self) -> dict[str, PieceRecord]:
        """Return each piece and row once by name, as it is printed rather than as it is cut."""
        found: dict[str, PieceRecord] = {}
        for piece in (p for sheet in self.sheets for p in sheet.pieces if not p.copy_of):
            found.setdefault(piece.name, piece)
        return found | {row.name: row for row in self.rows}

    def drilled_with(self, stem: str) -> tuple[PieceRecord, ...]:
        """Return the pieces that may be meant by the name of what a test hole was drilled with.

        The piece of that name; else those whose names begin so and a dash, as the layers of a
        block do; else those whose names begin so. Only pieces that lead a drill.
        """
        leading = [piece for piece in self.pieces.values() if piece.lean is not None]
        exact = [piece for piece in leading if piece.name == stem]
        layers = [piece for piece in leading if piece.name.startswith(f"{stem}-")]
        return tuple(exact or layers or [p for p in leading if p.name.startswith(stem)])

    def put_together(self, stem: str) -> tuple[PieceRecord, ...]:
        """Return every piece that a test hole drilled with this name proves, the leading first."""
        leading = self.drilled_with(stem)
        rest = (piece for piece in self.pieces.values() if piece not in leading)
        return (*leading, *(p for p in rest if any(p.goes_with(one) for one in leading)))


def alike(pieces: Iterable[PieceRecord]) -> bool:
    """Return whether pieces lead a drill at one and the same angle."""
    leans = [piece.lean for piece in pieces if piece.lean is not None]
    return bool(leans) and max(leans) - min(leans) <= SAME_LEAN


def read_record(manifest: Mapping[str, Any]) -> Record:
    """Return what a manifest says that its drawings should measure.

    Args:
        manifest: as parsed from ``manifest.json``. The files of single pieces and a bed's second
            format show nothing that is not on pages and beds.

    Raises:
        KeyError, TypeError, ValueError, IndexError, AttributeError: it is damaged.
    """
    how = manifest.get("how", {})
    turned = [row["correction"] for row in manifest["files"] if row.get("correction")]
    made_for = undone_by(turned[0]) if turned else Distortion()
    suffix = f"-{hashlib.sha256(repr(turned[0]).encode()).hexdigest()[:4]}" if turned else ""
    sheets: dict[tuple[str, bool], SheetRecord] = {}
    for row in (r for r in manifest["files"] if "/" not in r["file"]):
        for record in row["sheets"]:
            printed = row["format"] == "pdf" and row["file"] != ROLL
            sheet = SheetRecord(
                name=str(record["sheet"]),
                mark=f"{record.get('mark', '')}{suffix if printed else ''}",
                pieces=_numbered([_piece(piece, how) for piece in record["pieces"]]),
                lengths=tuple(_length(one, how, "") for one in record["dimensions"]),
                printed=printed,
                size=(float(record.get("width", 0.0)), float(record.get("height", 0.0))),
            )
            sheets.setdefault((sheet.name, printed), sheet)
    found = Record(
        job=str(manifest["job"]),
        sheets=tuple(sorted(sheets.values(), key=lambda sheet: not sheet.printed)),
        made_for=made_for,
        corrected_by=str(manifest.get("corrected_by", "")),
    )
    rows = [_row(row, found.pieces) for row in manifest.get("joined", ())]
    return replace(found, rows=tuple(row for row in rows if row is not None))


def _numbered(pieces: list[PieceRecord]) -> tuple[PieceRecord, ...]:
    """Return the pieces, each copy of an earlier one with a name of its own."""
    names = told_apart([piece.name for piece in pieces])
    return tuple(
        piece if name == piece.name else replace(piece, name=name, copy_of=piece.name)
        for piece, name in zip(pieces, names, strict=True)
    )


def _piece(row: Mapping[str, Any], how: Mapping[str, str]) -> PieceRecord:
    angle, length, leads = (row.get(key) for key in ("allowed_angle", "allowed_length", "leads"))
    name = str(row["name"])
    return PieceRecord(
        name=name,
        title=str(row.get("title", name)),
        mark=str(row.get("mark", "")),
        code=str(row.get("code", "")),
        kind=str(row["kind"]),
        side=str(row.get("side", "")),
        leads=None if leads is None else math.radians(float(leads)),
        serves=tuple(int(number) for number in row.get("serves", ())),
        angles=tuple(
            AngleRecord(
                name=str(one["name"]),
                nominal=math.radians(float(one["nominal"])),
                base=_pair(one["base"]),
                working=_pair(one["working"]),
            )
            for one in row["angles"]
        ),
        lengths=tuple(_length(one, how, f"{name}/") for one in row["dimensions"]),
        allowed_angle=None if angle is None else math.radians(float(angle)),
        allowed_length=None if length is None else float(length),
        drawn=tuple(one for one in (row.get("outline"), *row.get("holes", ())) if one),
    )


def _cut(row: Mapping[str, Any]) -> Path:
    """Return an outline or a hole; a round one as two halves."""
    if "centre" in row:
        (x, y), r = row["centre"], float(row["radius"])
        return Path.closed([(float(x) + r, float(y), 1.0), (float(x) - r, float(y), 1.0)])
    bulges = {int(edge): float(bulge) for edge, bulge in row["bulges"]}
    return Path.closed(
        (float(x), float(y), bulges.get(n, 0.0)) for n, (x, y) in enumerate(row["corners"])
    )


def _length(row: Mapping[str, Any], how: Mapping[str, str], of: str) -> LengthRecord:
    name, (start, end) = str(row["name"]), _pair(row["ends"])
    return LengthRecord(
        name=name,
        nominal=float(row["nominal"]),
        start=start,
        end=end,
        is_bar=bool(row["bar"]),
        how=str(how.get(f"{of}{name}", "")),
    )


def _pair(ends: Any) -> tuple[Point, Point]:
    (x0, y0), (x1, y1) = ends
    return (float(x0), float(y0)), (float(x1), float(y1))


def _row(row: Mapping[str, Any], pieces: Mapping[str, PieceRecord]) -> PieceRecord | None:
    """Return a row as one piece; None where a part of it was not drawn."""
    parts = tuple((str(name), str(size)) for name, size in row["parts"])
    shares = [pieces[name].sizes.get(size) for name, size in parts if name in pieces]
    if len(shares) < len(parts) or not parts or not all(shares):
        return None
    nominal = math.fsum(share.nominal for share in shares if share is not None)
    said = f"{row['name']}|{nominal:.4f}|{parts}"
    whole = LengthRecord(
        name="whole", nominal=nominal, start=(0.0, 0.0), end=(nominal, 0.0), how=str(row["how"])
    )
    return PieceRecord(
        name=str(row["name"]),
        title=str(row["title"]),
        mark=hashlib.sha256(said.encode()).hexdigest()[:16],
        lengths=(whole,),
        allowed_length=float(row["allowed_length"]),
        parts=parts,
    )


def _bar_to_bar(along: LengthRecord, up: LengthRecord) -> LengthRecord:
    """Return the longest length from an end of one bar to an end of the other."""
    pairs = [(a, b) for a in (along.start, along.end) for b in (up.start, up.end)]
    start, end = max(pairs, key=lambda pair: math.dist(*pair))
    side = "right" if start[0] == max(along.start[0], along.end[0]) else "left"
    height = "upper" if end[1] == max(up.start[1], up.end[1]) else "lower"
    return LengthRecord(
        name=BAR_TO_BAR,
        nominal=math.dist(start, end),
        start=start,
        end=end,
        is_bar=True,
        how=f"from the {side} end of {along.name} to the {height} end of {up.name}, as they lie "
        "on the bed",
    )
