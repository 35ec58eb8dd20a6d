"""Layout: pieces onto pages or beds without overlap, each base along x or along y, never slanted.

A printer or a cutter may be out of scale along one axis. A base that lies along an axis shows that
as a plain length error, and the bars beside it measure it; a slanted one would turn it into a
false angle. So a piece stands as it was drawn, or turned by a quarter, and is never mirrored.

The method: tallest first, each piece as high up on the first sheet that has room for it as the
pieces above allow (a skyline that grows downward from the top edge). Simple, repeatable, and close
to full use for the handful of shapes that a job has.

Source: common practice for packing rectangles, no published source.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field

from jiggen.drawing.affine import Affine
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds
from jiggen.drawing.sheet import Placed
from jiggen.errors import DoesNotFit
from jiggen.units import Length, words

# mm. Room that rounding may take: far below what a sheet can be measured to.
_SLACK_MM = 1e-9

#: mm. Places nearer than this in height are level: the leftmost is taken, and no hole is left.
LEVEL = 3.0

#: Turns that keep a base along an axis, degrees; the first is preferred.
TURNS = (0, 90)


def lay_out(pieces: Sequence[Piece], *, free: Bounds, gap: float) -> list[tuple[Placed, ...]]:
    """Return the pieces with their places on paper, sheet by sheet.

    Args:
        pieces: each is laid out once; their order decides between equals and is kept on a sheet.
        free: the part of the sheet that may be used, mm, in sheet coordinates.
        gap: at least this much between two pieces, with their waste and all that is drawn, mm.

    Returns:
        One tuple of placed pieces a sheet; no sheet without a piece. The same input gives the
        same places.

    Raises:
        DoesNotFit: a piece is larger than the usable part in both turns.
    """
    boxes = [piece.on_page() for piece in pieces]
    for piece, box in zip(pieces, boxes, strict=True):
        _refuse_larger(piece, box, free, "print.paper")
    packed = _packed(boxes, free, gap, TURNS)
    if len(packed) > 1:
        # Lying pieces stood up, or standing ones laid down, may save a sheet.
        turned = _packed(boxes, free, gap, TURNS[::-1])
        packed = turned if len(turned) < len(packed) else packed
    return [
        tuple(
            Placed(piece=pieces[n], place=_place(boxes[n], spot, free))
            for n, spot in sorted(rows, key=lambda row: row[0])
        )
        for rows in packed
    ]


def _packed(
    boxes: Sequence[Bounds], free: Bounds, gap: float, turns: tuple[int, ...]
) -> list[list[tuple[int, _Spot]]]:
    """Return pieces by number with their spots, sheet by sheet, trying `turns` in that order."""
    tallest_first = sorted(
        range(len(boxes)),
        key=lambda n: (-round(_standing(boxes[n], free, turns[0]) / (2 * LEVEL)), n),
    )
    sheets: list[_Skyline] = []
    first_open: dict[tuple[float, float], int] = {}
    found: list[list[tuple[int, _Spot]]] = []
    for n in tallest_first:
        size = _size(boxes[n], 0)
        # A sheet that had no room for this size never gets room for it again.
        number, spot = _first_room(sheets, first_open.get(size, 0), size, free, gap, turns)
        first_open[size] = number
        if number == len(found):
            found.append([])
        sheets[number].take(spot)
        found[number].append((n, spot))
    return found


def in_rows(pieces: Sequence[Piece], *, free: Bounds, gap: float) -> list[tuple[Placed, ...]]:
    """Return pieces in rows with level tops, in their order: what belongs together lies together.

    Each is laid out `count` times, as drawn, or turned by a quarter where it is too wide; one tuple
    of placed pieces a bed, in the part of it that is free, mm.

    Raises:
        DoesNotFit: a piece is larger than the bed in both turns.
    """
    rows: list[_Row] = []
    found: list[list[Placed]] = []
    for piece in pieces:
        box = piece.bounds()
        _refuse_larger(piece, box, free, "cut.bed")
        for _ in range(piece.count):
            turn = 0 if box.width <= free.width and box.height <= free.height else 90
            size = _size(box, turn)
            row = next((r for r in rows if r.takes(size, free)), None)
            if row is None:
                row = _Row.below(rows, size[1], free, gap)
                rows.append(row)
            while len(found) <= row.bed:
                found.append([])
            place = _place(box, _Spot(row.used, row.top, *size, turn), free)
            found[row.bed].append(Placed(piece=piece, place=place))
            row.used += size[0] + gap
    return [tuple(placed) for placed in found]


class _Row(Struct):
    """A row on a bed: how far down its top lies, how high it is, and how far it is used, mm."""

    bed: int
    top: float
    height: float
    used: float = 0.0

    def takes(self, size: tuple[float, float], free: Bounds) -> bool:
        fits = self.used + size[0] <= free.width + _SLACK_MM
        return fits and size[1] <= self.height + _SLACK_MM

    @classmethod
    def below(cls, rows: Sequence[_Row], high: float, free: Bounds, gap: float) -> _Row:
        if not rows:
            return cls(0, 0.0, high)
        last = rows[-1]
        top = last.top + last.height + gap
        fits = top + high <= free.height + _SLACK_MM
        return cls(last.bed, top, high) if fits else cls(last.bed + 1, 0.0, high)


class _Spot(Struct, frozen=True):
    """Room found on a sheet: from the left and from the top of the usable part, mm."""

    across: float
    down: float
    width: float
    height: float
    turn: int


class _Skyline(Struct):
    """How far down a sheet is taken, as steps (left, right, depth) from left to right, mm."""

    width: float
    height: float
    gap: float
    steps: list[tuple[float, float, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.steps = [(0.0, self.width, 0.0)]

    def room(self, width: float, height: float, turn: int) -> _Spot | None:
        """Return the highest place for a rectangle, or None; the leftmost of those level."""
        best: _Spot | None = None
        for i, (left, _, _) in enumerate(self.steps):
            if left + width > self.width + _SLACK_MM:
                break
            down = 0.0
            for start, _, depth in self.steps[i:]:
                if start >= left + width + self.gap - _SLACK_MM:
                    break
                down = max(down, depth)
            higher = best is None or down < best.down - LEVEL
            if down + height <= self.height + _SLACK_MM and higher:
                best = _Spot(left, down, width, height, turn)
        return best

    def take(self, spot: _Spot) -> None:
        """Let the skyline step down to below the rectangle and its gap."""
        right = min(spot.across + spot.width + self.gap, self.width)
        kept = [s for s in self.steps if s[0] < spot.across]
        rest = [(max(a, right), b, d) for a, b, d in self.steps if b > right + _SLACK_MM]
        if kept:
            kept[-1] = (kept[-1][0], spot.across, kept[-1][2])
        self.steps = [*kept, (spot.across, right, spot.down + spot.height + self.gap), *rest]


def _first_room(
    sheets: list[_Skyline],
    start: int,
    size: tuple[float, float],
    free: Bounds,
    gap: float,
    turns: tuple[int, ...],
) -> tuple[int, _Spot]:
    """Return the first sheet with room and the spot on it; a new sheet is added when none has."""
    number = start
    while True:
        if number == len(sheets):
            sheets.append(_Skyline(free.width, free.height, gap))
        for turn in turns:
            width, height = size if turn == 0 else size[::-1]
            spot = sheets[number].room(width, height, turn)
            if spot is not None:
                return number, spot
        number += 1


def _place(box: Bounds, spot: _Spot, free: Bounds) -> Affine:
    """Return the place that takes a piece with this box to its spot."""
    left, bottom = free.left + spot.across, free.top - spot.down - spot.height
    if spot.turn == 0:
        return Affine.move(left - box.left, bottom - box.bottom)
    # A quarter turn takes (x, y) to (-y, x): the old top becomes the left, the old left the bottom.
    return Affine.move(left + box.top, bottom - box.left) @ Affine.turn(90)


def _size(box: Bounds, turn: int) -> tuple[float, float]:
    return (box.width, box.height) if turn == 0 else (box.height, box.width)


def _standing(box: Bounds, free: Bounds, turn: int) -> float:
    """Return the height at which a piece will stand: turned as wished where the sheet allows."""
    width, height = _size(box, turn)
    return height if width <= free.width + _SLACK_MM else width


def _refuse_larger(piece: Piece, box: Bounds, free: Bounds, key: str) -> None:
    """Refuse a piece that no sheet can hold in either turn."""
    room_x, room_y = free.width + _SLACK_MM, free.height + _SLACK_MM
    if any(x <= room_x and y <= room_y for x, y in (_size(box, turn) for turn in TURNS)):
        return
    raise DoesNotFit(
        words(
            "{name} is {width} x {height} with its marks, larger than the usable part of the "
            "sheet in both directions",
            name=piece.name,
            width=Length(box.width, 1),
            height=Length(box.height, 1),
        ),
        key=key,
        given=words("{w} x {h}", w=Length(free.width, 1), h=Length(free.height, 1)),
        remedy=f"a larger {key} would hold it",
    )
