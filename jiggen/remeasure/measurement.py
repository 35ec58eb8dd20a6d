"""What a drawing measures, and what is to be said about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from jiggen.remeasure.contour import Point
from jiggen.remeasure.found import OFF, Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredSize:
    """A bar or a size as it measures in the file.

    Attributes:
        name: of the bar.
        measured: mm, tick to tick or corner to corner; None when it is not there.
        nominal: mm, on the finished work.
        drawn: mm that the file should show: the nominal size, but for a print correction.
    """

    name: str
    measured: float | None
    nominal: float
    drawn: float

    @property
    def error(self) -> float | None:
        """Return by how much it measures too long, mm."""
        return None if self.measured is None else self.measured - self.drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredAngle:
    """A check angle as it measures in the file.

    Attributes:
        name: of the check angle.
        measured: degrees; None when an edge is not there.
        nominal: degrees, on the finished work.
        drawn: degrees that the file should show.
    """

    name: str
    measured: float | None
    nominal: float
    drawn: float

    @property
    def error(self) -> float | None:
        """Return by how much it measures too wide, degrees."""
        return None if self.measured is None else self.measured - self.drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredPiece:
    """A piece as it is in the file.

    Attributes:
        name: of the piece; ``piece 1`` where no record tells its name.
        page: on which it lies, from 1.
        outline: points round it, mm, y up from the page's lower left corner; arcs as chords that
            stay within half a micrometre; empty when it is not there.
        angles: its check angles.
        bars: its calibration bars.
        sizes: its other sizes, where both ends are corners in the file.
        worst_shift: how far outline and holes run from where they should, at most, mm; None where
            that is not known.
        inside: how many closed lines lie inside it; None where a record tells what they are.
    """

    name: str
    page: int
    outline: tuple[Point, ...]
    angles: tuple[MeasuredAngle, ...] = ()
    bars: tuple[MeasuredSize, ...] = ()
    sizes: tuple[MeasuredSize, ...] = ()
    worst_shift: float | None = None
    inside: int | None = None

    @property
    def extent(self) -> tuple[float, float] | None:
        """Return width and height of its outline as it lies, mm; None where it is not there."""
        if not self.outline:
            return None
        xs, ys = zip(*self.outline, strict=True)
        return max(xs) - min(xs), max(ys) - min(ys)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredPage:
    """A page or sheet as it is in the file.

    Attributes:
        name: of the sheet; empty where no record tells it.
        number: from 1.
        width: mm; None in a format without pages.
        height: mm.
        bars: the page's own.
    """

    name: str
    number: int
    width: float | None
    height: float | None
    bars: tuple[MeasuredSize, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """A drawing, measured.

    Attributes:
        file: its name as it was given.
        kind: ``pdf``, ``svg`` or ``dxf``.
        pieces: over all pages, in order.
        pages: in order.
        findings: what there is to say, worst first.
        known: its nominal sizes are known, so that it can be judged.
    """

    file: str
    kind: str
    pieces: tuple[MeasuredPiece, ...]
    pages: tuple[MeasuredPage, ...]
    findings: tuple[Finding, ...]
    known: bool

    @property
    def ok(self) -> bool:
        """Return whether it was measured against its nominal sizes and nothing is off."""
        return self.known and not any(finding.severity == OFF for finding in self.findings)

    @property
    def worst_length_error(self) -> float | None:
        """Return the largest error of a bar or size, mm, without its sign; None without any."""
        lists = [page.bars for page in self.pages]
        lists += [(*piece.bars, *piece.sizes) for piece in self.pieces]
        errors = [abs(e) for sizes in lists for size in sizes if (e := size.error) is not None]
        return max(errors, default=None)

    @property
    def worst_angle_error(self) -> float | None:
        """Return the largest error of a check angle, degrees, without its sign; None without."""
        angles = [angle for piece in self.pieces for angle in piece.angles]
        return max((abs(e) for angle in angles if (e := angle.error) is not None), default=None)

    def as_json(self) -> dict[str, Any]:
        """Return the object that ``remeasure --json`` prints: mm and degrees, full precision."""
        return {
            "file": self.file,
            "format": self.kind,
            "unit": "mm",
            "pieces": [_piece_as_json(piece) for piece in self.pieces],
            "worst_length_error": self.worst_length_error,
            "worst_angle_error": self.worst_angle_error,
            "ok": self.ok,
            "pages": [
                {
                    "name": page.name,
                    "page": page.number,
                    "width": page.width,
                    "height": page.height,
                    "bars": [_size_as_json(bar) for bar in page.bars],
                }
                for page in self.pages
            ],
            "findings": [
                {"severity": f.severity, "page": f.page or None, "text": f.text}
                for f in self.findings
            ],
        }


def _piece_as_json(piece: MeasuredPiece) -> dict[str, Any]:
    first = piece.angles[0] if piece.angles else None
    extent = piece.extent
    return {
        "name": piece.name,
        "outline": [[x, y] for x, y in piece.outline],
        "angle": first.measured if first else None,
        "angle_nominal": first.nominal if first else None,
        "bars": [_size_as_json(bar) for bar in piece.bars],
        "page": piece.page,
        "angles": [
            {"name": angle.name, "measured": angle.measured, "nominal": angle.nominal}
            for angle in piece.angles
        ],
        "sizes": [_size_as_json(size) for size in piece.sizes],
        "worst_shift": piece.worst_shift,
        "width": extent[0] if extent else None,
        "height": extent[1] if extent else None,
        "inside": piece.inside,
    }


def _size_as_json(size: MeasuredSize) -> dict[str, Any]:
    row = {"name": size.name, "measured": size.measured, "nominal": size.nominal}
    return row if size.drawn == size.nominal else row | {"drawn": size.drawn}
