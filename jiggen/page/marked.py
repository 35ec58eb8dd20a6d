"""What is to be measured, marked on the picture of the page, the bed or the piece it stands on.

::

    o------------o           2     a page or a bed: numbered lines, and each piece with its
    | guide-a1   |           |     verdict in words, in colour and by the stroke of its rim
    |  ✓ use     |           |
    o------------o     3     |     a piece: the letters of its corners
     ------1------

Outlines and ends come from the record of what was drawn, so the picture is that of the paper in
the hand, whatever the job says by now. Looks are the style file's; nothing here is for cutting.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any

from msgspec import Struct

from jiggen.drawing.shapes import Bounds
from jiggen.proof.record import LengthRecord, PieceRecord, Point, SheetRecord
from jiggen.write.svg import path_data

CORNERS = re.compile(r"([A-Z])-([A-Z])")
"""The name of a length from one lettered corner to another."""
BADGES = {
    "use": "✓ USE",
    "cut": "✓ CUT",
    "do not use": "✗ DO NOT USE",
    "cannot tell": "? CANNOT TELL",
}
"""What stands on a piece, by its verdict."""
ASIDE = 0.28
"""Share of a length at which its number stands where another lies across its middle."""
LEAST = 1.4
"""The smallest letters of a name, in hundredths of the picture's width."""


class Asked(Struct, frozen=True, kw_only=True):
    """A length that is asked for.

    Attributes:
        key: of its field.
        mark: its number on the picture; empty where its corners are lettered.
        length: where it lies.
        aside: it is not asked first, or another one crosses its middle.
        state: ``bad``, ``look`` (it is asked about), ``read`` or nothing.
    """

    key: str
    mark: str
    length: LengthRecord
    aside: bool = False
    state: str = ""


def sheet_svg(sheet: SheetRecord, asked: Iterable[Asked], states: Mapping[str, str]) -> str:
    """Return a page or a bed with what is asked for on it.

    Args:
        sheet: as drawn.
        asked: what is measured on it.
        states: by the name of each piece its verdict, ``cut`` where it is good as drawn,
            ``no check`` or ``not measured``.
    """
    said = f"{sheet.name}: " + ", ".join(f"{p.name} {states[p.name]}" for p in sheet.pieces)
    box = Bounds(0.0, 0.0, *sheet.size)
    return _Picture(box, max(box.width, 0.72 * box.height) / 100.0).svg(
        said, [(piece, states[piece.name]) for piece in sheet.pieces], asked, named=True
    )


def piece_svg(piece: PieceRecord, asked: Sequence[Asked], state: str) -> str:
    """Return a piece by itself, large, with the letters of its corners."""
    box = piece.cuts[0].bounds()
    unit = max(box.width, 0.72 * box.height) / 80.0
    return _Picture(box.grown(8.0 * unit), unit).svg(
        f"{piece.title}: {state}", [(piece, state)], asked, named=False
    )


def row_svg(row: PieceRecord, asked: Sequence[Asked]) -> str:
    """Return what is measured over pieces that are put together: one long line."""
    long = sum(one.length.nominal for one in asked)
    box = Bounds(0.0, 0.0, long, 0.0).grown(0.06 * long)
    return _Picture(box, long / 80.0).svg(row.title, [], asked, named=False)


def hole_svg(keys: Sequence[str]) -> str:
    """Return where a test hole is measured: its four distances on two faces, and the thickness.

    Args:
        keys: of the fields of thickness, entry and exit.
    """
    faces = (("near face", 0.0, 22.0, 1), ("far face, seen through", 50.0, 14.0, 3))
    thick = LengthRecord(name="", nominal=1.0, start=(-6.0, 0.0), end=(-6.0, 8.0))
    asked, words = [Asked(key=keys[0], mark="1", length=thick)], [(0.0, 3.0, "thickness")]
    for name, left, x, n in faces:
        hole = (left + x, 22.0)
        for k, start in enumerate(((left, hole[1]), (hole[0], 12.0))):
            length = LengthRecord(name="", nominal=1.0, start=start, end=hole)
            asked.append(Asked(key=keys[n + k], mark=str(n + k + 1), length=length))
        words += [(left, 50.0, name), (left + 1.0, 35.0, "TE side")]
    sides = [(0.0, 0.0, 36.0, 8.0), *((left, 12.0, left + 36.0, 48.0) for _, left, _, _ in faces)]
    scrap = PieceRecord(name="", title="", drawn=tuple(_box(*side) for side in sides))
    picture = _Picture(Bounds(-10.0, -2.0, 90.0, 54.0), 0.8)
    return picture.svg(
        "A hole in flat scrap: its thickness, and two distances on each face",
        *([(scrap, "not measured")], asked), named=False, words=words,
    )  # fmt: skip


def _box(left: float, bottom: float, right: float, top: float) -> dict[str, Any]:
    corners = [(left, bottom), (right, bottom), (right, top), (left, top)]
    return {"corners": corners, "bulges": []}


class _Picture:
    """A picture whose letters are as large on the screen, whatever it shows."""

    def __init__(self, box: Bounds, unit: float) -> None:
        self.box, self.unit, self.top = box, unit, box.top + box.bottom

    def svg(
        self,
        said: str,
        pieces: Iterable[tuple[PieceRecord, str]],
        asked: Iterable[Asked],
        *,
        named: bool,
        words: Iterable[tuple[float, float, str]] = (),
    ) -> str:
        box, out, lengths = self.box, list[str](), list(asked)
        for piece, state in pieces:
            look = "use" if state == "cut" else state.replace(" ", "-")
            shape = " ".join(path_data(cut, self.top, 2) for cut in piece.cuts)
            out.append(f'<path class="rim {look}" d="{shape}"/>')
            if named:
                out.append(self._name(piece, state, look))
        lettered = dict[str, Point]()
        for one in lengths:
            ends = self._at(one.length.start), self._at(one.length.end)
            data = f'data-key="{escape(one.key)}"'
            out.append(f'<path class="asked {one.state}" {data} d="{self._line(*ends)}"/>')
            if (corners := CORNERS.fullmatch(one.length.name)) is not None:
                lettered |= dict(zip(corners.groups(), ends, strict=True))
        middle = self._at(((box.left + box.right) / 2, (box.bottom + box.top) / 2))
        out += [self._corner(letter, at, middle) for letter, at in lettered.items()]
        out += [self._number(one) for one in lengths if one.mark]
        for left, low, text in words:
            x, y = self._at((left, low))
            out.append(f'<text x="{x:.2f}" y="{y:.2f}">{escape(text)}</text>')
        size = f"{box.left:.2f} {box.bottom:.2f} {box.width:.2f} {box.height:.2f}"
        if named:
            paper = f'<rect class="edge" width="{box.width:.2f}" height="{box.height:.2f}"/>'
            out.insert(0, paper)
        kind = "sheet" if named else "piece"
        return (
            f'<svg class="marked {kind}" viewBox="{size}" role="img" aria-label="{escape(said)}" '
            f'font-size="{2.9 * self.unit:.2f}">{"".join(out)}</svg>'
        )

    def _at(self, point: Point) -> Point:
        return point[0], self.top - point[1]

    def _line(self, start: Point, end: Point) -> str:
        """Return a line with a tick at each end."""
        long = math.dist(start, end) or 1.0
        x, y = (self.unit * (end[k] - start[k]) / long for k in (0, 1))
        ticks = (
            f"M {at[0] - y:.2f} {at[1] + x:.2f} l {2 * y:.2f} {-2 * x:.2f}" for at in (start, end)
        )
        return f"M {start[0]:.2f} {start[1]:.2f} L {end[0]:.2f} {end[1]:.2f} {' '.join(ticks)}"

    def _name(self, piece: PieceRecord, state: str, look: str) -> str:
        """Return what stands on a piece: where there is no room for its name, its sign alone."""
        box, word = piece.cuts[0].bounds(), BADGES.get(state, state)
        x, y = self._at(((box.left + box.right) / 2, (box.bottom + box.top) / 2))
        size = min(2.9 * self.unit, 1.5 * box.width / max(len(piece.name), len(word)))
        if state not in BADGES and size < 2.0 * self.unit:
            word = ""
        if size < LEAST * self.unit:
            sign = word[:1]
            return (
                f'<text class="{look}" text-anchor="middle" x="{x:.2f}" y="{y:.2f}">{sign}</text>'
            )
        return (
            f'<text class="{look}" text-anchor="middle" font-size="{size:.2f}" x="{x:.2f}" '
            f'y="{y:.2f}">{escape(piece.name)}<tspan class="word" x="{x:.2f}" dy="1.3em">'
            f"{word}</tspan></text>"
        )

    def _corner(self, letter: str, at: Point, middle: Point) -> str:
        """Return a corner's letter, outside of the piece as far as that can be."""
        far = math.dist(at, middle) or 1.0
        x, y = (at[k] + 3.6 * self.unit * (at[k] - middle[k]) / far for k in (0, 1))
        return self._words("corner", letter, x, y)

    def _number(self, one: Asked) -> str:
        share = ASIDE if one.aside or one.length.axis is None else 0.5
        start, end = self._at(one.length.start), self._at(one.length.end)
        x, y = (start[k] + share * (end[k] - start[k]) for k in (0, 1))
        ring = f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{2.4 * self.unit:.2f}"/>'
        words = self._words("", one.mark, x, y)
        return f'<g class="number {one.state}" data-key="{escape(one.key)}">{ring}{words}</g>'

    def _words(self, look: str, text: str, x: float, y: float) -> str:
        return (
            f'<text class="{look}" text-anchor="middle" x="{x:.2f}" y="{y:.2f}" dy=".36em">'
            f"{escape(text)}</text>"
        )
