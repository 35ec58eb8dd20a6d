"""The face of a piece: a jig says what it is, the face draws it, letters it and vouches for it.

A jig works in its own frame, side A, forward to the right, and states outline, cuts, check edges,
sizes, the one number, the arrow and the words at an edge. The face turns all of it over for side B,
gives every word a place, and refuses what could not be trusted: a hole too near another or the
rim, a web thinner than 2 mm, a piece too small for its name and its arrow.

::

     name zone          |                     rim: corner letters
      GUIDE 1           |
      holes 2-14        |        E
      84.3°             |
    ....................|..................   edge zone: the instruction, along its edge
     TE-90B2            |  FORWARD
                        |  ========>          arrow zone

Where a zone has no room the label slides, takes the opposite quarter, and shrinks by a step; bar,
code, letters and instruction then leave the piece for a flag beside it. Name, number and arrow
never vanish.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import replace

from jiggen.drawing import looks
from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.lettering import LEADING, MIDDLE, SMALL, text_width
from jiggen.drawing.looks import BAR, NARROW, forward_arrow, readable
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece, replace_offset, shape_mark
from jiggen.drawing.room import Room, clearance, segments_of, thinnest
from jiggen.drawing.shapes import (
    Anchor,
    Bounds,
    Circle,
    Dash,
    Edge,
    Mark,
    On,
    Op,
    Path,
    Text,
    Weight,
)
from jiggen.errors import DoesNotFit
from jiggen.units import INCH

#: mm. The least material between two cuts, unless a jig means less.
LEAST_WEB = 2.0
#: mm. From the baseline of the name to that of the number.
DROP = 12.0
#: mm. How far from its corner a letter may stand.
LETTER_REACH = 14.0
#: mm. From an edge to the words along it.
WORDS_OFF = 4.0
#: Lengths of a bar that a machine is checked by, mm, by the job's unit: as wished, then small.
BARS = {"mm": ((50.0, "50 mm"), (10.0, "10 mm")), "in": ((2 * INCH, "2 in"), (INCH / 2, "1/2 in"))}

Spot = tuple[float, float]

_UNLETTERED: ContextVar[bool] = ContextVar("unlettered", default=False)


@contextmanager
def unlettered() -> Iterator[None]:
    """Make pieces inside the block without lettering, bars or a look at their webs.

    For who asks only what the pieces are: their outlines, check edges, sizes and marks. Finding
    room for words takes ten times as long as all else.
    """
    token = _UNLETTERED.set(True)
    try:
        yield
    finally:
        _UNLETTERED.reset(token)


def job_letters(name: str) -> str:
    """Return the two to four letters that a job's codes begin with."""
    plain = unicodedata.normalize("NFD", name).encode("ascii", "ignore").decode()
    found = "".join(word[0] for word in plain.replace("-", " ").split() if word[0].isalpha())
    letters = "".join(c for c in plain if c.isalpha())
    return (found[:4] if len(found) > 1 else letters[:2] or "JG").upper()


class Face:
    """Gathers what one piece is; `piece` draws it.

    Args:
        letters: that the job's codes begin with, see `job_letters`.
        units: the job's, ``mm`` or ``in``: what a bar is long in.
        mirrored: the piece is for side B: everything is turned over, words stay readable.
    """

    def __init__(self, letters: str, units: str = "mm", *, mirrored: bool = False) -> None:
        self.letters, self.units, self.mirrored = letters, units, mirrored
        self.inner: list[Path | Circle] = []
        self.marks: list[Mark] = []
        self.angles: list[CheckAngle] = []
        self.sizes: list[CheckDimension] = []
        self.true: list[Edge] = []
        self.free_of: list[tuple[Spot, Spot]] = []

    # --- what is cut and drawn, in the jig's own frame

    def hole(self, centre: Spot, radius: float) -> None:
        """Cut a round hole."""
        self.inner.append(Circle(Point(*centre), radius))

    def slot(self, corners: Iterable[Spot]) -> None:
        """Cut a hole with corners."""
        path = Path.closed(corners)
        self.inner.append(path if path.area > 0 else path.reversed())

    def line(self, *points: Spot, dash: Dash = Dash.NONE, op: Op = Op.ENGRAVE) -> None:
        """Draw a line on the piece; lettering keeps off it."""
        self.marks.append(Mark(shape=Path.open(points), op=op, line=NARROW, dash=dash))
        self.free_of += zip(points, points[1:], strict=False)

    def fold(self, start: Spot, end: Spot) -> None:
        """Draw a fold, scored by a machine."""
        self.line(start, end, dash=Dash.FOLD, op=Op.SCORE)

    def target(self, centre: Spot, arm: float = 4.0, ring: float = 0.0) -> None:
        """Draw a cross, with a ring where the drill's size is known."""
        x, y = centre
        self.line((x - arm, y), (x + arm, y))
        self.line((x, y - arm), (x, y + arm))
        if ring:
            self.marks.append(Mark(shape=Circle(Point(x, y), ring), line=NARROW))

    # --- what is measured

    def angle(self, name: str, degrees: float, base: Edge, working: Edge) -> None:
        """State a check angle between two edges that point away from the corner."""
        self.angles.append(CheckAngle(name=name, nominal=degrees, base=base, working=working))
        self.true += [edge for edge in (base, working) if edge not in self.true]

    def must_be_true(self, *edges: Edge) -> None:
        """Mark edges that must be true besides those of the check angles."""
        self.true += [edge for edge in edges if edge not in self.true]

    def size(self, name: str, start: Spot, end: Spot, how: str = "") -> None:
        """State a length that a calliper reads."""
        p, q = Point(*start), Point(*end)
        self.sizes.append(
            CheckDimension(name=name, nominal=math.dist(p, q), start=p, end=q, how=how)
        )

    def over(self, at: Mapping[str, Spot], pairs: Iterable[str]) -> None:
        """State lengths over pairs of lettered corners, ``AB`` for from A to B."""
        for p, q in pairs:
            self.size(f"{p}-{q}", at[p], at[q], f"over corners {p} and {q}")

    # --- the piece

    def piece(
        self,
        kind: str,
        name: str,
        label: str,
        outline: Path,
        *,
        variant: str = "",
        number: str = "",
        forward: Spot | None = (1.0, 0.0),
        letters: Mapping[str, Spot] | None = None,
        instruction: tuple[str, Edge] | None = None,
        name_at: Spot | None = None,
        arrow_at: Spot | None = None,
        least_web: float = LEAST_WEB,
        bars: bool = True,
        **more: object,
    ) -> Piece:
        """Return the piece, drawn and lettered.

        Args:
            kind: which jig makes it.
            name: its file name.
            label: type and number, e.g. ``GUIDE 1``.
            outline: closed, counter-clockwise.
            variant: what tells it from others of that label.
            number: the one number that matters.
            forward: its direction of forward, or None where it has none.
            letters: the corners that its sizes are named by.
            instruction: at most eight words, and the edge that they concern.
            name_at: where the upper aft corner of the name is wished; the upper aft corner of
                the outline if left out.
            arrow_at: where the lower forward corner of the arrow is wished; that of the outline.
            least_web: the least material that is meant between two cuts, mm.
            bars: whether a cut piece carries bars that check the machine.
            more: other attributes of `Piece`.

        Raises:
            DoesNotFit: a piece that would be unsound, or that has no room for name and arrow.
        """
        place = Affine.mirror_x() if self.mirrored else Affine()
        turn = replace_offset(place)
        path = outline.moved(place)
        path = path if path.area > 0 else path.reversed()
        inner = tuple(_counter_clockwise(shape.moved(place)) for shape in self.inner)
        angles = tuple(angle.moved(place) for angle in self.angles)
        sizes = tuple(size.moved(place) for size in self.sizes)
        code = f"{self.letters}-{shape_mark(kind, path, inner, angles, sizes)[:4].upper()}"
        if _UNLETTERED.get():
            return Piece(
                name=name,
                kind=kind,
                label=label,
                variant=variant,
                number=number,
                outline=path,
                inner=inner,
                angles=angles,
                dimensions=sizes,
                code=code,
                **more,  # type: ignore[arg-type]
            )
        _sound(name, path, inner, least_web)
        room = Room(path, inner)
        for start, end in self.free_of:
            room.line(place.point(start), place.point(end))
        way = None if forward is None else turn.point(forward)
        letterer = _Letterer(room, path.bounds(), way, name)
        letterer.name(label, variant, number, name_at and place.point(name_at))
        if way is not None:
            letterer.arrow(way, arrow_at and place.point(arrow_at))
        if instruction is not None:
            letterer.along(instruction[0], instruction[1].moved(place), path)
        for letter, spot in (letters or {}).items():
            letterer.corner(letter, place.point(spot))
        letterer.code(code)
        bar_sizes = letterer.bars(BARS[self.units]) if bars and more.get("is_sheet", True) else ()
        return Piece(
            name=name,
            kind=kind,
            label=label,
            variant=variant,
            number=number,
            outline=path,
            inner=inner,
            marks=(*(mark.moved(place) for mark in self.marks), *letterer.marks),
            true_edges=tuple(edge.moved(place) for edge in self.true),
            angles=angles,
            dimensions=(*sizes, *bar_sizes),
            code=code,
            left_out=tuple(letterer.left_out),
            forward=way,
            **more,  # type: ignore[arg-type]
        )


def _counter_clockwise(shape: Path | Circle) -> Path | Circle:
    return shape.reversed() if isinstance(shape, Path) and shape.area < 0 else shape


def _sound(name: str, outline: Path, inner: Sequence[Path | Circle], least: float) -> None:
    """Refuse a piece whose cuts leave too little between them."""
    cuts = [segments_of(outline), *(segments_of(shape) for shape in inner)]
    boxes = [shape.bounds() for shape in (outline, *inner)]
    room = Room(outline)
    for n, some in enumerate(cuts[1:], start=1):
        middle = boxes[n]
        at = ((middle.left + middle.right) / 2, (middle.bottom + middle.top) / 2)
        if not room.holds(at):
            raise _unsound(name, 0.0, at)
        for m, other in enumerate(cuts[:n]):
            if m and not boxes[n].grown(least).overlaps(boxes[m]):
                continue
            web = clearance(some, other)
            if web < least - 1e-6:
                raise _unsound(name, web, at)
    web, where = thinnest(outline)
    if web < least - 1e-6:
        raise _unsound(name, web, where)


def _unsound(name: str, web: float, at: Spot) -> DoesNotFit:
    return DoesNotFit(
        f"{name} would be cut with a web of {web:.2f} mm near ({at[0]:.1f}, {at[1]:.1f}), which "
        "nobody could trust",
        remedy="other sizes for this jig, or another jig",
    )


class _Letterer:
    """Places the words of one piece, first fit first."""

    def __init__(self, room: Room, box: Bounds, forward: Point | None, name: str) -> None:
        self.room, self.box, self.piece_name = room, box, name
        self.marks: list[Mark] = []
        self.left_out: list[str] = []
        # Forward to the right unless the piece says otherwise: aft is then the left.
        self.right = forward is None or forward.x > -0.5
        self.arrow_tail: Point | None = None
        self._flags = 0

    def name(self, label: str, variant: str, number: str, wish: Spot | None) -> None:
        """Letter the name with its variant, and the one number under it."""
        b = self.box
        wish = wish or ((b.left if self.right else b.right), b.top)
        hold = (0.0 if self.right else 1.0, 1.0)
        for big, mid, tall in ((5.0, 3.5, 7.0), (3.5, 2.5, 5.0), (2.5, 2.5, 3.5)):
            whole = _block(label, variant, number, big, mid, tall)
            if self._set(whole, wish, hold):
                return
            parts = [_block(label, variant, "", big, mid, tall), _block("", "", number, big, mid, tall)]
            if number and all(self._set(part, wish, hold) for part in parts):
                return
        short = "".join(word[0] for word in label.split()[:1]) + "".join(label.split()[1:])
        short += variant[:1]
        if self._set(_block(short, "", number, 2.5, 2.5, 2.5), wish, hold):
            return
        for text in filter(None, (f"{label} {variant}".strip(), number)):
            self.flag(text)
        self.left_out.append(f"{label} {variant}".strip())

    def arrow(self, way: Point, wish: Spot | None) -> None:
        """Draw FORWARD in the lower forward quarter."""
        b = self.box
        degrees = math.degrees(math.atan2(way.y, way.x))
        turn = readable(degrees)
        backward = abs((degrees - turn) % 360.0 - 180.0) < 1e-6
        upright = abs(way.y) > 0.5
        if wish is None:
            wish = (b.left, (b.bottom + b.top) / 2) if upright else (
                b.right if self.right else b.left, b.bottom)
        hold = (0.5, 1.0) if upright else (1.0 if self.right else 0.0, 0.0)
        high = looks.FORWARD_HEAD[1] + 1.0 + SMALL
        for long in (looks.FORWARD_LONG, 22.0, 18.0, looks.FORWARD_LEAST):
            at = self.room.place(long, high, wish, turn, hold=hold)
            if at is None:
                continue
            mid = looks.FORWARD_HEAD[1] / 2
            ends = at.point((0.0, mid)), at.point((long, mid))
            tail, tip = ends[::-1] if backward else ends
            self.marks += forward_arrow(tail, tip, op=Op.ENGRAVE)
            self.room.take([at.point(p) for p in _corners(long, high)])
            self.arrow_tail = ends[0] if self.right else ends[1]
            return
        raise DoesNotFit(
            f"{self.piece_name} has no room for the arrow that says which way is forward",
            remedy="a larger piece, or another jig",
        )

    def along(self, text: str, edge: Edge, outline: Path) -> None:
        """Letter the instruction parallel to the edge that it concerns, on the material."""
        way = edge.direction()
        turn = readable(math.degrees(math.atan2(way.y, way.x)))
        mid = edge.at(0.5)
        inward = Point(-way.y, way.x)
        probe = Point(mid.x + 0.1 * inward.x, mid.y + 0.1 * inward.y)
        if not self.room.holds(probe):
            inward = Point(way.y, -way.x)
        for height in (MIDDLE, SMALL):
            wide = text_width(text, height, Weight.SEMIBOLD)
            off = WORDS_OFF + height / 2
            wish = (mid.x + off * inward.x, mid.y + off * inward.y)
            at = self.room.place(wide, height, wish, turn, within=max(12.0, edge.chord / 2))
            if at is not None:
                self._text(text, height, Weight.SEMIBOLD, at, wide, turn)
                return
        self.flag(text)

    def corner(self, letter: str, spot: Spot) -> None:
        """Letter a corner that a calliper's reading is named by."""
        for height in (MIDDLE, SMALL):
            wide = text_width(letter, height)
            at = self.room.place(wide, height, spot, within=LETTER_REACH, to_edge=2.0)
            if at is not None:
                self._text(letter, height, Weight.MEDIUM, at, wide, 0.0)
                return
        self.flag(letter, spot)

    def code(self, code: str) -> None:
        """Letter the code at the base, beside the arrow."""
        b, wide = self.box, text_width(code, SMALL)
        tail = self.arrow_tail or Point(b.left if self.right else b.right, b.bottom)
        wish = (tail.x + (-2.0 if self.right else 2.0), tail.y - looks.FORWARD_HEAD[1] / 2)
        for turn in (0.0, 90.0):
            at = self.room.place(wide, SMALL, wish, turn, hold=(1.0 if self.right else 0.0, 0.0))
            if at is not None:
                self._text(code, SMALL, Weight.MEDIUM, at, wide, turn)
                return
        self.flag(code)

    def bars(self, lengths: Sequence[tuple[float, str]]) -> tuple[CheckDimension, ...]:
        """Engrave a bar along x, and one along y where there is room for a long one."""
        found = []
        b = self.box
        for name, turn, some in (("bar-x", 0.0, lengths), ("bar-y", 90.0, lengths[:1])):
            for long, said in some:
                wide, high = max(long, text_width(said, SMALL)), SMALL + 3.0
                wish = ((b.left + b.right) / 2, b.bottom) if not turn else (b.right, b.top)
                at = self.room.place(wide + 0.5, high, wish, turn, hold=(0.5, 0.0))
                if at is None:
                    continue
                start = (wide + 0.5 - long) / 2
                p, q = at.point((start, 1.0)), at.point((start + long, 1.0))
                lines = [(p, q)] + [
                    (at.point((x, 0.0)), at.point((x, 2.0))) for x in (start, start + long)
                ]
                self.marks += [
                    Mark(shape=Path.open(ends), op=Op.ENGRAVE, line=NARROW, on=On.CUT)
                    for ends in lines
                ]
                middle = at.point((start + long / 2, 3.0))
                text = Text(middle, said, SMALL, turn=turn, anchor=Anchor.MIDDLE)
                self.marks.append(Mark(shape=text, op=Op.ENGRAVE, on=On.CUT))
                self.room.take([at.point(c) for c in _corners(wide + 0.5, high)])
                found.append(
                    CheckDimension(
                        name=name, nominal=long, start=p, end=q, how="the bar", is_bar=True
                    )
                )
                break
        return tuple(found)

    def flag(self, text: str, spot: Spot | None = None) -> None:
        """Put words beside the piece on paper, with a leader to where they belong."""
        b = self.box
        self.left_out.append(text)
        y = b.bottom - 8.0 - self._flags * LEADING * SMALL
        self._flags += 1
        tip = spot or ((b.left + b.right) / 2, (b.bottom + b.top) / 2)
        wide = text_width(text, SMALL)
        at = Point(b.left, y - SMALL)
        words = Text(at, text, SMALL)
        self.marks.append(Mark(shape=words, op=Op.NOTE, on=On.PAPER))
        self.marks += [
            replace(mark, on=On.PAPER)
            for mark in looks.leader((at.x + min(wide / 2, 6.0), y + 1.0), tip)
        ]

    def _set(self, rows: list[tuple[str, float, Weight, float]], wish: Spot, hold: Spot) -> bool:
        """Set rows of words as one block where there is room for it."""
        wide = max(text_width(text, height, weight) for text, height, weight, _ in rows)
        high = rows[0][1] + rows[-1][3]
        at = self.room.place(wide, high, wish, hold=hold)
        if at is None:
            return False
        for text, height, weight, down in rows:
            spot = at.point((0.0, high - rows[0][1] - down))
            self.marks.append(Mark(shape=Text(spot, text, height, weight=weight)))
        self.room.take([at.point(p) for p in _corners(wide, high)])
        return True

    def _text(
        self, text: str, height: float, weight: Weight, at: Affine, wide: float, turn: float
    ) -> None:
        shape = Text(at.point((0.0, 0.0)), text, height, turn=turn, weight=weight)
        self.marks.append(Mark(shape=shape))
        self.room.take([at.point(p) for p in _corners(wide, height)])


def _block(
    label: str, variant: str, number: str, big: float, mid: float, tall: float
) -> list[tuple[str, float, Weight, float]]:
    """Return rows of a name: text, height, weight, and how far each baseline lies below the first."""
    rows, down = [], 0.0
    if label:
        rows.append((label, big, Weight.SEMIBOLD, 0.0))
    if variant:
        down += LEADING * mid
        rows.append((variant, mid, Weight.SEMIBOLD, down))
    if number:
        down += 0.0 if not rows else DROP * tall / 7.0 if not variant else LEADING * tall * 0.9
        rows.append((number, tall, Weight.BOLD, down))
    return rows


def _corners(width: float, height: float) -> tuple[Spot, Spot, Spot, Spot]:
    return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))


__all__ = ["BAR", "Face", "job_letters"]
