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
from itertools import pairwise
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing import looks
from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.crossing import rim_parts
from jiggen.drawing.lettering import LEADING, MIDDLE, SMALL, text_corners, text_width
from jiggen.drawing.looks import NARROW, forward_arrow
from jiggen.drawing.piece import WASTE, CheckAngle, CheckDimension, Piece
from jiggen.drawing.room import STEP, TO_EDGE, Room, clearance, segments_of, thinnest
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
    readable,
)
from jiggen.errors import DoesNotFit
from jiggen.units import INCH

#: mm. The least material between two cuts, unless a jig means less.
LEAST_WEB = 2.0
#: mm. From the baseline of the name to that of the number.
DROP = 12.0
#: mm. How far from its corner a letter may stand.
LETTER_REACH = 8.0
#: mm. From an edge to a corner's letter, and to the short name of a tiny piece.
TIGHT = 2.0
#: mm. From an edge to the words along it.
WORDS_OFF = 4.0
#: mm. Between the parts of a name in one row, and from the tip of an arrow to an edge.
ROW_GAP, ARROW_TO_EDGE = 4.0, 1.5
#: Lengths of a bar that a machine is checked by, mm, by the job's unit: as wished, then small.
BARS = {"mm": ((50.0, "50 mm"), (10.0, "10 mm")), "in": ((2 * INCH, "2 in"), (INCH / 2, "1/2 in"))}

#: mm. Heights of name, variant and number: as wished, and each a step smaller.
SIZES = ((5.0, 3.5, 7.0), (3.5, 2.5, 5.0), (2.5, 2.5, 3.5))

#: mm. Radius of a notch that tells pieces apart in the hand, and the distance of two.
NOTCH, NOTCH_STEP = 1.6, 7.0

Spot = tuple[float, float]
#: Words, height, weight, and how far the baseline lies below the first of its block.
_Row = tuple[str, float, Weight, float]

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
    """Return the two letters that a job's codes begin with."""
    plain = unicodedata.normalize("NFD", name).encode("ascii", "ignore").decode()
    found = "".join(word[0] for word in plain.replace("-", " ").split() if word[0].isalpha())
    letters = "".join(c for c in plain if c.isalpha())
    return (found[:2] if len(found) > 1 else letters[:2] or "JG").upper()


def notches(count: int, x: float, middle: float, up: float) -> list[tuple[float, float, float]]:
    """Return the corners of half rounds in an upright edge at x, material at its left hand.

    Args:
        count: of notches.
        x: of the edge, mm.
        middle: height of the middle of them, mm.
        up: 1 where the edge runs up, -1 where it runs down.

    Returns:
        For each three corners, with the bulge of the edge after it, see `Path.closed`.
    """
    quarter = -math.tan(math.pi / 8)
    found = []
    for k in range(count):
        y = middle + up * NOTCH_STEP * (k - (count - 1) / 2)
        found += [
            (x, y - up * NOTCH, quarter),
            (x - up * NOTCH, y, quarter),
            (x, y + up * NOTCH, 0.0),
        ]
    return found


class Face:
    """Gathers what one piece is; `piece` draws it.

    Args:
        job: its name, see `job_letters`.
        units: the job's, ``mm`` or ``in``: what a bar is long in.
        mirrored: the piece is for side B: everything is turned over, words stay readable.
    """

    def __init__(self, job: str, units: str = "mm", *, mirrored: bool = False) -> None:
        self.letters, self.units, self.mirrored = job_letters(job), units, mirrored
        self.inner: list[Path | Circle] = []
        self.marks: list[Mark] = []
        self.angles: list[CheckAngle] = []
        self.sizes: list[CheckDimension] = []
        self.true: list[Edge] = []
        self.free_of: list[tuple[Spot, Spot]] = []
        self.covered: list[Bounds] = []
        self.said: list[Text] = []
        self.loose: list[Path] = []
        self.left_out: list[str] = []

    # --- what is cut and drawn, in the jig's own frame

    def hole(self, centre: Spot, radius: float) -> None:
        """Cut a round hole."""
        self.inner.append(Circle(Point(*centre), radius))

    def slot(self, corners: Iterable[Spot | tuple[float, float, float]]) -> None:
        """Cut a hole with corners; a third number is the bulge of the edge that begins there."""
        self.inner.append(Path.closed(corners))

    def across(self, *points: Spot) -> None:
        """Cut a line across a hole: what falls out of it falls apart there."""
        self.loose.append(Path.open(points))

    def line(
        self, *points: Spot, dash: Dash = Dash.NONE, op: Op = Op.ENGRAVE, on: On = On.BOTH
    ) -> None:
        """Draw a line on the piece; lettering keeps off it."""
        self.marks.append(Mark(shape=Path.open(points), op=op, line=NARROW, dash=dash, on=on))
        self.free_of += pairwise(points)

    def cover(self, box: Bounds) -> None:
        """Keep name, arrow and code off a box that another part will cover."""
        self.covered.append(box)

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

    def hidden(
        self,
        centre: Spot,
        radius: float,
        within: Path,
        clear_of: Sequence[Bounds] = (),
        on: On = On.BOTH,
    ) -> None:
        """Draw the rim of a hole that is there already, as far as it lies within an outline.

        The outline is of straight edges; the rim is broken at the rectangles in `clear_of`.
        """
        for shape in rim_parts(Circle(Point(*centre), radius), within, clear_of):
            self.marks.append(Mark(shape=shape, line=NARROW, dash=Dash.HIDDEN, on=on))
            self.free_of += segments_of(shape)

    def pointer(self, start: Spot, tip: Spot) -> None:
        """Draw a narrow line with an arrowhead at its tip."""
        self.marks += looks.leader(start, tip, op=Op.ENGRAVE)
        self.free_of.append((start, tip))

    def say(
        self,
        at: Spot,
        text: str,
        height: float = SMALL,
        weight: Weight = Weight.MEDIUM,
        anchor: Anchor = Anchor.MIDDLE,
    ) -> Bounds:
        """Letter what belongs to one place, such as a hole's number, and keep all else off it.

        Returns:
            The rectangle that it takes.
        """
        self.said.append(Text(Point(*at), text, height, anchor=anchor, weight=weight))
        return self.said[-1].bounds()

    # --- what is measured

    def angle(self, name: str, degrees: float, base: Edge, working: Edge) -> None:
        """State a check angle between two edges that point away from the corner."""
        self.angles.append(CheckAngle(name=name, nominal=degrees, base=base, working=working))
        self.true += [edge for edge in (base, working) if edge not in self.true]

    def must_be_true(self, *edges: Edge) -> None:
        """Mark edges that must be true besides those of the check angles."""
        self.true += [edge for edge in edges if edge not in self.true]

    def size(
        self, name: str, start: Spot, end: Spot, how: str = "", nominal: float | None = None
    ) -> None:
        """State a length that a calliper reads; `nominal` where it is known better than by them."""
        p, q = Point(*start), Point(*end)
        long = math.dist(p, q) if nominal is None else nominal
        self.sizes.append(CheckDimension(name=name, nominal=long, start=p, end=q, how=how))

    def over(self, at: Mapping[str, Spot], pairs: Iterable[str]) -> None:
        """State lengths over pairs of lettered corners, ``AB`` for from A to B."""
        for pair in pairs:
            p, q = pair[0], pair[1]
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
        also: Sequence[tuple[str, Edge]] = (),
        name_at: Spot | None = None,
        arrow_at: Spot | None = None,
        least_web: float = LEAST_WEB,
        bars: bool = True,
        flat: bool = False,
        window: Bounds | None = None,
        shows: str = "",
        **more: Any,
    ) -> Piece:
        """Return the piece, drawn and lettered.

        What is not told here is an attribute of `Piece`:

        - letters: the corners that its sizes are named by.
        - instruction: at most eight words, and the edge that they concern.
        - also: what other edges or faces are called, along them.
        - name_at: where the upper aft corner of the name is wished; that of the outline if left
          out. arrow_at: the same for the lower forward corner of the arrow.
        - least_web: the least material that is meant between two cuts, mm.
        - bars: whether a cut piece carries bars that check the machine.
        - flat: a low, long piece: name, variant, number and code stand in one row, the word FORWARD
          beside its arrow, and what has no room is left out.
        - window: the part of a long piece in which name and arrow are looked for.

        Raises:
            DoesNotFit: a piece that would be unsound, or that has no room for name and arrow.
        """
        place = Affine.mirror_x() if self.mirrored else Affine()
        path = outline.moved(place)
        path = path if path.area > 0 else path.reversed()
        inner = tuple(_counter_clockwise(shape.moved(place)) for shape in self.inner)
        way = None if forward is None else place.point(forward)
        sizes = tuple(size.moved(place) for size in self.sizes)
        bare = Piece(
            name=name,
            kind=kind,
            label=label,
            variant=variant,
            number=number,
            outline=path,
            # What falls out is cut apart while it is still held.
            inner=(*(loose.moved(place) for loose in self.loose), *inner),
            true_edges=tuple(edge.moved(place) for edge in self.true),
            angles=tuple(angle.moved(place) for angle in self.angles),
            dimensions=sizes,
            forward=way,
            shows=shows,
            **more,
        )
        code = f"{self.letters}-{bare.mark[:4].upper()}"
        if _UNLETTERED.get():
            return replace(bare, code=code)
        _sound(name, path, inner, least_web)
        drawn, said_here = tuple(self.marks), tuple(self.said)
        if self.mirrored:
            drawn = tuple(mark.moved(place) for mark in drawn)
            said_here = tuple(text.moved(place) for text in said_here)
        view = window and window.moved(place)
        room = Room(path, inner, view)
        for start, end in self.free_of:
            room.line(place.point(start), place.point(end))
        for text in said_here:
            room.take(text_corners(text))
        for box in self.covered:
            room.cover(box.moved(place).corners)
        wish = _Wishes(
            name=(label, variant, number),
            code=code,
            along=tuple(
                (text, edge.moved(place))
                for text, edge in (*((instruction,) if instruction else ()), *also)
            ),
            letters={letter: place.point(spot) for letter, spot in (letters or {}).items()},
            box=view or path.bounds(),
            flat=flat,
            waste=more.get("waste", WASTE),
            way=way,
            name_at=name_at and place.point(name_at),
            arrow_at=arrow_at and place.point(arrow_at),
        )
        letterer = (_lettered_flat if flat else _lettered)(room, wish)
        if letterer is None:
            raise DoesNotFit(
                f"{name} has no room for its name and the arrow that says which way is forward",
                remedy="a larger piece, or another jig",
            )
        bar_sizes = letterer.bars(BARS[self.units]) if bars and more.get("is_sheet", True) else ()
        return replace(
            bare,
            marks=(*drawn, *(Mark(shape=text) for text in said_here), *letterer.marks),
            dimensions=(*sizes, *bar_sizes),
            code=code,
            left_out=(*self.left_out, *letterer.left_out),
        )


def _counter_clockwise(shape: Path | Circle) -> Path | Circle:
    return shape.reversed() if isinstance(shape, Path) and shape.area < 0 else shape


def _sound(name: str, outline: Path, inner: Sequence[Path | Circle], least: float) -> None:
    """Refuse a piece whose cuts leave too little between them."""
    cuts = [segments_of(outline), *(segments_of(shape) for shape in inner)]
    boxes = [shape.bounds() for shape in (outline, *inner)]
    room = Room(outline)
    for n, some in enumerate(cuts[1:], start=1):
        at = boxes[n].middle
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


class _Wishes(Struct, frozen=True, kw_only=True):
    """What is lettered on one piece, and where that is wished in its own frame."""

    name: tuple[str, str, str]
    code: str
    along: tuple[tuple[str, Edge], ...]
    letters: Mapping[str, Point]
    box: Bounds
    flat: bool
    waste: float
    way: Point | None
    name_at: Spot | None
    arrow_at: Spot | None


def _lettered(room: Room, wish: _Wishes) -> _Letterer | None:
    """Letter a piece as large as leaves room for all; the fewest flags win, then the largest.

    Returns:
        None where the arrow has no room however small the name is.
    """
    label, variant, number = wish.name
    first, *rest = label.split()
    short = first[:1] + "".join(rest) + variant[:1]
    ways = [[_block(label, variant, number, *size)] for size in SIZES]
    if number:
        ways += [[_block(label, variant, "", *s), _block("", "", number, *s)] for s in SIZES]
    shorter = [_block(short, "", number, *SIZES[-1])]
    # A tiny piece is lettered nearer to its edges before its name is shortened or leaves it.
    tries = [(way, to_edge) for to_edge in (TO_EDGE, TIGHT) for way in ways]
    last = [(way, to_edge) for way in (shorter, []) for to_edge in (TO_EDGE, TIGHT)]
    start, best = room.state, None
    for blocks, to_edge in (*tries, *last):
        if best is not None and (to_edge == TIGHT or blocks not in ways):
            break
        for turn in (0.0, 90.0):
            room.state = start
            letterer = _Letterer(room, wish, to_edge)
            if not letterer.name_and_arrow(blocks, turn):
                continue
            if blocks is shorter:
                letterer.flag(f"{label} {variant}".strip())
            elif not blocks:
                for text in filter(None, (f"{label} {variant}".strip(), number)):
                    letterer.flag(text)
            letterer.rest(wish.code)
            if best is None or len(letterer.left_out) < len(best.left_out):
                best, after = letterer, room.state
            if not letterer.left_out:
                return letterer
    if best is not None:
        room.state = after
    return best


def _lettered_flat(room: Room, wish: _Wishes) -> _Letterer | None:
    """Letter a low, long piece: first the arrow, then name, variant, number and code in one row.

    Returns:
        None where arrow or name have no room.
    """
    letterer = _Letterer(room, wish, TO_EDGE)
    if wish.way is not None and not letterer.arrow_beside():
        return None
    label, variant, number = wish.name
    for variant_said in (variant, "") if variant else ("",):
        for big, mid, tall in SIZES:
            cells = [
                (label, big, Weight.SEMIBOLD),
                (variant_said, mid, Weight.SEMIBOLD),
                (number, tall, Weight.BOLD),
                (wish.code, SMALL, Weight.MEDIUM),
            ]
            cells = [cell for cell in cells if cell[0]]
            coded = letterer.row(cells)
            if coded or letterer.row(cells[:-1]):
                letterer.left_out += [variant] if variant and not variant_said else []
                letterer.rest("" if coded else wish.code)
                return letterer
    return None


class _Letterer:
    """Places the words of one piece, first fit first."""

    def __init__(self, room: Room, wish: _Wishes, to_edge: float) -> None:
        self.room, self.wish, self.box, self.to_edge = room, wish, wish.box, to_edge
        self.marks: list[Mark] = []
        self.left_out: list[str] = []
        # Forward to the right unless the piece says otherwise: aft is then the left.
        self.right = wish.way is None or wish.way.x > -0.5
        self.arrow_tail: Point | None = None
        self._flags = 0
        self._letters: list[Bounds] = []
        self._lines: list[Bounds] = []

    def name_and_arrow(self, blocks: list[list[_Row]], turn: float) -> bool:
        """Letter the name in blocks and draw FORWARD; False where either has no room."""
        b = self.box
        at = self.wish.name_at or ((b.left if self.right else b.right), b.top)
        if not all(self._set(block, at, turn) for block in blocks):
            return False
        return self.wish.way is None or self._arrow(self.wish.way, self.wish.arrow_at)

    def arrow_beside(self) -> bool:
        """Draw an upright FORWARD with its word beside it, along the upper edge from the right."""
        b, half, long = self.box, looks.FORWARD_HEAD[1] / 2, looks.FORWARD_LEAST
        wide = text_width("FORWARD", SMALL, Weight.SEMIBOLD) + 1.0 + 2 * half
        wish = self.wish.arrow_at or (b.right - ARROW_TO_EDGE, b.top - ARROW_TO_EDGE)
        for k in range(math.ceil(b.width / STEP)):
            at = self.room.place(
                wide,
                long,
                (wish[0] - k * STEP, wish[1]),
                hold=(1.0, 1.0),
                within=0.0,
                to_edge=ARROW_TO_EDGE,
                exact=True,
            )
            if at is None:
                continue
            tail, tip = at.point((wide - half, 0.0)), at.point((wide - half, long))
            self.marks += forward_arrow(tail, tip, op=Op.ENGRAVE, beside=True)
            self._take(at, wide, long)
            return True
        return False

    def row(self, cells: Sequence[tuple[str, float, Weight]]) -> bool:
        """Letter several texts in one row where there is room for it."""
        b = self.box
        wides = [text_width(*cell) for cell in cells]
        wide, high = sum(wides) + ROW_GAP * (len(cells) - 1), max(cell[1] for cell in cells)
        at = self.room.place(wide, high, self.wish.name_at or (b.left, b.top), hold=(0.0, 1.0))
        if at is None:
            return False
        x = 0.0
        for (text, height, weight), run in zip(cells, wides, strict=True):
            self.marks.append(Mark(shape=Text(at.point((x, 0.0)), text, height, weight=weight)))
            x += run + ROW_GAP
        self._take(at, wide, high)
        return True

    def rest(self, code: str) -> None:
        """Letter instruction, corners and code, in this order."""
        for text, edge in self.wish.along:
            self.along(text, edge)
        for letter, spot in self.wish.letters.items():
            self.corner(letter, spot)
        if code:
            self.code(code)

    def _arrow(self, way: Point, wish: Spot | None) -> bool:
        """Draw FORWARD in the lower forward quarter where there is room for it."""
        b = self.box
        degrees = math.degrees(math.atan2(way.y, way.x))
        turn = readable(degrees)
        backward = abs((degrees - turn) % 360.0 - 180.0) < 1e-6
        upright = abs(way.y) > 0.5
        if wish is None and upright:
            wish = (b.left, b.middle.y)
        elif wish is None:
            wish = (b.right if self.right else b.left, b.bottom)
        hold = (0.5, 1.0) if upright else (1.0 if self.right else 0.0, 0.0)
        high = looks.FORWARD_HEAD[1] + 1.0 + SMALL
        for long in (looks.FORWARD_LONG, 22.0, 18.0, looks.FORWARD_LEAST):
            at = self.room.place(long, high, wish, turn, hold=hold, to_edge=self.to_edge)
            if at is None:
                continue
            mid = looks.FORWARD_HEAD[1] / 2
            ends = at.point((0.0, mid)), at.point((long, mid))
            tail, tip = ends[::-1] if backward else ends
            self.marks += forward_arrow(tail, tip, op=Op.ENGRAVE)
            self._take(at, long, high)
            self.arrow_tail = ends[0] if self.right else ends[1]
            return True
        return False

    def along(self, text: str, edge: Edge) -> None:
        """Letter the instruction parallel to the edge that it concerns, on the material."""
        way, mid = edge.direction(), edge.at(0.5)
        turn = readable(math.degrees(math.atan2(way.y, way.x)))
        inward = Point(-way.y, way.x)
        if not self.room.holds((mid.x + 0.1 * inward.x, mid.y + 0.1 * inward.y)):
            inward = Point(way.y, -way.x)
        reach = max(12.0, edge.chord / 2)
        for height in (MIDDLE, SMALL):
            off = WORDS_OFF + height / 2
            wish = (mid.x + off * inward.x, mid.y + off * inward.y)
            if self._word(text, height, Weight.SEMIBOLD, wish, turn, within=reach):
                return
        self.flag(text)

    def corner(self, letter: str, spot: Spot) -> None:
        """Letter a corner that a calliper's reading is named by."""
        near = {"within": LETTER_REACH, "to_edge": TIGHT}
        if not any(
            self._word(letter, h, Weight.MEDIUM, spot, 0.0, of=spot, **near)
            for h in (MIDDLE, SMALL)
        ):
            self.flag(letter, spot)

    def code(self, code: str) -> None:
        """Letter the code at the base, beside the arrow."""
        b = self.box
        tail = self.arrow_tail or Point(b.left if self.right else b.right, b.bottom)
        wish = (tail.x + (-2.0 if self.right else 2.0), tail.y - looks.FORWARD_HEAD[1] / 2)
        hold = (1.0 if self.right else 0.0, 0.0)
        if not any(self._word(code, SMALL, Weight.MEDIUM, wish, t, hold=hold) for t in (0.0, 90.0)):
            self.flag(code)

    def bars(self, lengths: Sequence[tuple[float, str]]) -> tuple[CheckDimension, ...]:
        """Engrave a bar along x, and one along y where there is room for a long one."""
        found = []
        b = self.box
        for name, turn, some in (("bar-x", 0.0, lengths), ("bar-y", 90.0, lengths[:1])):
            for long, said in some:
                wide, high = max(long, text_width(said, SMALL)), SMALL + 3.0
                wish = (b.middle.x, b.bottom) if not turn else (b.right, b.top)
                at = self.room.place(wide + 0.5, high, wish, turn, hold=(0.5, 0.0))
                if at is None:
                    continue
                start = (wide + 0.5 - long) / 2
                p, q = at.point((start, 1.0)), at.point((start + long, 1.0))
                for x0, y0, x1, y1 in (
                    (start, 1.0, start + long, 1.0),
                    (start, 0.0, start, 2.0),
                    (start + long, 0.0, start + long, 2.0),
                ):
                    path = Path.open([at.point((x0, y0)), at.point((x1, y1))])
                    self.marks.append(Mark(shape=path, line=NARROW, on=On.CUT))
                middle = at.point((start + long / 2, 3.0))
                text = Text(middle, said, SMALL, turn=turn, anchor=Anchor.MIDDLE)
                self.marks.append(Mark(shape=text, on=On.CUT))
                self._take(at, wide + 0.5, high)
                found.append(
                    CheckDimension(
                        name=name, nominal=long, start=p, end=q, how="the bar", is_bar=True
                    )
                )
                break
        return tuple(found)

    def flag(self, text: str, spot: Spot | None = None) -> None:
        """Put words beside the piece on paper, with a leader to where they belong."""
        b, off = self.box, self.wish.waste + 2.0
        self.left_out.append(text)
        if self.wish.flat:
            return
        wide = text_width(text, SMALL)
        if spot is not None:
            away = spot[0] - b.middle.x, spot[1] - b.middle.y
            far = math.hypot(*away) or 1.0
            reach = (off + SMALL) / far
            middle = Point(spot[0] + away[0] * reach, spot[1] + away[1] * reach)
            tip = Point(*spot)
            while any(
                Bounds(middle.x, middle.y, middle.x, middle.y).grown(SMALL).overlaps(line)
                for line in self._lines
            ):
                middle = Point(middle.x - 0.5, middle.y)
            at = Point(middle.x - wide / 2, middle.y - SMALL / 2)
            start = Point(*(m - 0.3 * (m - t) for m, t in zip(middle, tip, strict=True)))
            self._letters.append(Bounds(at.x, at.y, at.x + wide, at.y + SMALL))
        else:
            down = b.bottom - off - SMALL - self._flags * LEADING * SMALL
            at = Point(self._beside_letters(b.left, down, wide), down)
            tip = Point(at.x + 1.0, b.bottom + 1.0)
            start = Point(tip.x, at.y + SMALL + 0.8)
            self._lines += [
                Bounds(at.x, at.y, at.x + wide, at.y + SMALL),
                Bounds(at.x, at.y, tip.x, tip.y),
            ]
        shown = [Mark(shape=Text(at, text, SMALL), op=Op.NOTE)]
        if spot is not None or not self._flags:
            # One leader for all lines under the piece: others would cross the words.
            shown += looks.leader(start, tip)
        self._flags += spot is None
        self.marks += [replace(mark, on=On.PAPER) for mark in shown]

    def _beside_letters(self, left: float, down: float, wide: float) -> float:
        """Return where a line under the piece begins that the flags of corners leave free."""
        high = 2 * SMALL
        while any(
            Bounds(left - 1.0, down - 1.0, left + wide + 1.0, down + high).overlaps(letter)
            for letter in self._letters
        ):
            left += 2.5
        return left

    def _set(self, rows: list[_Row], wish: Spot, turn: float) -> bool:
        """Set rows of words as one block where there is room for it."""
        wide = max(text_width(text, height, weight) for text, height, weight, _ in rows)
        high = rows[0][1] + rows[-1][3]
        hold = (0.0 if self.right else 1.0, 1.0) if not turn else (1.0, 1.0 if self.right else 0.0)
        at = self.room.place(wide, high, wish, turn, hold=hold, to_edge=self.to_edge)
        if at is None:
            return False
        for text, height, weight, down in rows:
            spot = at.point((0.0, high - rows[0][1] - down))
            self.marks.append(Mark(shape=Text(spot, text, height, turn=turn, weight=weight)))
        self._take(at, wide, high)
        return True

    def _word(
        self,
        text: str,
        height: float,
        weight: Weight,
        wish: Spot,
        turn: float,
        *,
        of: Spot | None = None,
        **more: Any,
    ) -> bool:
        """Set a word, which another part may cover, where no cut lies between it and `of`."""
        wide = text_width(text, height, weight)
        at = self.room.place(wide, height, wish, turn, seen=False, **more)
        if at is None:
            return False
        if of is not None and not self.room.reaches(at.point((wide / 2, height / 2)), of):
            return False
        shape = Text(at.point((0.0, 0.0)), text, height, turn=turn, weight=weight)
        self.marks.append(Mark(shape=shape))
        self._take(at, wide, height)
        return True

    def _take(self, at: Affine, wide: float, high: float) -> None:
        self.room.take([at.point(p) for p in Bounds(0.0, 0.0, wide, high).corners])


def _block(
    label: str, variant: str, number: str, big: float, mid: float, tall: float
) -> list[_Row]:
    """Return rows of a name: text, height, weight, and how far each lies below the first."""
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
