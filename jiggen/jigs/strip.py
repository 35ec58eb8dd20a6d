"""Hole strip: the edge at true size, to lay on the part with its lower edge on the trailing edge.

It shows where each hole is, when it is drilled, from which side its pin goes in, which holes wait,
and where the stock's lightening holes lie. If it were short by one part in a thousand, the last
hole of a long edge would be a hole's width off: so every place on it is counted from the zero end,
a tile's crosses stand at places along the edge and not at distances from the tile before, and the
joined strip is measured from its first cross to its last.

On paper it comes in tiles that are joined half-way between two holes; for a roll and for a machine
in one length.

::

     W  ______________________________________________________
       |  :+  STRIP 2  holes 8-14  code           FORWARD ^ +:  |
       |  :                                               | :  |
       |  :   14      13      12      11  ...              :  |   number
       |  :  36 B    16 B    37 T                          :  |   order, side of the pin
       |__:___+_______+_______+_______+____________________:__|   chain: line of holes
     0 |__:+______________________________________________+:__|   TE
          join                                          join

Holes are drawn where they lie on the face: along it they are farther from the TE than in the chord
plane by 1 / cos(skin angle). x counts from a tile's end toward hole 1, to the left where the zero
end lies at the right.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import groupby, pairwise

from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing.affine import Point
from jiggen.drawing.face import Face
from jiggen.drawing.lettering import LARGE, MIDDLE, SMALL, text_width, wrap
from jiggen.drawing.looks import NARROW, Spot, words
from jiggen.drawing.page import SLIM, Figure, Paper, Picture, figure_of, key_width
from jiggen.drawing.piece import Joined, Piece
from jiggen.drawing.shapes import Bounds, Circle, Dash, Edge, Mark, Path, Weight
from jiggen.errors import DoesNotFit
from jiggen.geometry.frame import Side
from jiggen.jigs.plan import Jig, OwnPage, Plan, Table
from jiggen.jigs.stand import hole_range, needed_holes, side_letters
from jiggen.job.sections import Strip as Asked
from jiggen.solution import HoleResult, Solution
from jiggen.units import INCH, Length, span
from jiggen.units import words as sentence

KIND = "strip"

#: mm. What the strip goes on beyond the last thing that it shows, and its least length.
BEYOND, SHORTEST = 12.0, 150.0
#: mm. Baselines of the order and of the number above the TE, at least; and above a hole's middle,
#: from the order to the number, and what a number leaves free for name and arrow.
ORDER_AT, ORDER_OFF, NUMBER_OFF, OVER = 15.0, 5.5, 5.5, 18.5
#: mm. Half of a target, of a waiting hole's square; what they go beyond the drill; and what stays
#: free of them above the TE.
TARGET, WAIT, RIM, FLOOR = 4.0, 3.0, 1.3, 1.0
#: mm. Crosses of the joins: height above the TE, depth below the upper edge, half a cross.
LOWER, UPPER, CROSS = 3.4, 4.0, 2.5
#: mm. Between two words over neighbouring holes.
APART = 1.0
#: mm. How high the zero line and the trim lines go, and where their words stand.
LINE_TOP, LINE_WORDS = 1.5, 2.5
#: mm. A trim line nearer to the zero end than this is the zero line.
SAME_PLACE = 0.01
#: mm. Farther from a hole than this nothing of its words is found.
NEAR = 15.0
#: mm. From a join to a hole, where no place between two holes can be reached.
CLEAR = 7.0
#: mm. What rounding may take of a tile's room.
SLACK = 1e-6
#: mm. The tint round a tile, between two tiles, and from the check figure to a tile.
TINT_WIDE, BETWEEN, INSET = 3.0, 6.0, 5.0
#: mm. From the figure's edge to words beside it: its cross and some white.
CROSS_ROOM = 6.0
#: mm. Longest page of a roll: viewers refuse pages beyond 14400 units of 1/72 in. From memory.
ROLL_PAGE = 4900.0
#: mm. Name and arrow begin so far below the upper edge.
NAME_DOWN, ARROW_DOWN = 3.75, 1.5
#: mm. The part of a strip in one length that bears its name.
NAME_ROOM = 240.0
#: Names of the key's signs on a page of tiles.
KEYS = ("waste", "file this away", "join")
#: mm. Error of the length beyond which a hole leaves the edge of the punched one.
LENGTH_ERROR = 0.25


class Tile(Struct, frozen=True, kw_only=True):
    """One part of a strip, numbered from 1 at the zero end; places along the edge in mm.

    Its two pairs of crosses, but for the strip's own ends, repeat on the neighbours.
    """

    number: int
    count: int
    start: float
    end: float
    crosses: tuple[float, float]


class StripHole(Struct, frozen=True, kw_only=True):
    """A hole as a strip shows it, mm.

    Attributes:
        at: along the edge.
        forward: of the TE, on the face.
        number: as it is said.
        order: what stands under the number: its place in the order and the side of its pin.
        waits: whether it is drilled later.
        height: of its number; None where that has no room.
        ordered: whether the order has room.
    """

    at: float
    forward: float
    number: str
    order: str
    waits: bool
    height: float | None
    ordered: bool

    @property
    def halves(self) -> tuple[float, float]:
        """Return half the widths of number and order, 0 for one that has no room."""
        wide = text_width(self.number, self.height, Weight.SEMIBOLD) if self.height else 0.0
        return wide / 2.0, text_width(self.order, SMALL) / 2.0 if self.ordered else 0.0


class Strip(Struct, frozen=True, kw_only=True):
    """All that a strip shows, along the edge and forward of the TE on its face, mm.

    Attributes:
        start: along the edge.
        end: along the edge.
        width: of the strip.
        drill: diameter.
        side: the face that it lies on.
        hand: 1 where the zero end lies to the left of the reader, -1 where to the right.
        holes: every hole, rising.
        openings: places, distances forward and radii of the lightening holes, rising.
        lines: places of the zero line and of the trim lines at the TE, their words, and how far
            each goes along the edge for its way up the face.
    """

    start: float
    end: float
    width: float
    drill: float
    side: Side
    hand: int
    holes: tuple[StripHole, ...]
    openings: tuple[tuple[float, float, float], ...]
    lines: tuple[tuple[float, str, float], ...]

    @property
    def order_at(self) -> float:
        """Return the baseline of the order above the TE, mm."""
        return max(ORDER_AT, max((hole.forward for hole in self.holes), default=0.0) + ORDER_OFF)

    @property
    def number_at(self) -> float:
        """Return the baseline of the numbers above the TE, mm."""
        return self.order_at + NUMBER_OFF

    @property
    def needed(self) -> float:
        """Return the least width that holds numbers, name and arrow, mm."""
        return self.number_at + LARGE + OVER

    def between(self, low: float, high: float) -> range:
        """Return the holes from one place along the edge to another, by their place in `holes`."""
        first = bisect_left(self.holes, low, key=lambda hole: hole.at)
        return range(first, bisect_right(self.holes, high, key=lambda hole: hole.at))

    def x(self, tile: Tile, at: float) -> float:
        """Return where a place along the edge lies on a tile, mm."""
        return self.hand * (at - tile.start)


def plan_strip(solution: Solution) -> Plan:
    """Return the tiles of the hole strip for paper, and the strip in one length.

    Raises:
        DoesNotFit: a job without holes, or a strip that its width or its paper cannot hold.
    """
    job, asked = solution.job, solution.job.strip or Asked()
    strip = strip_of_job(solution)
    paper = job.print
    across, up = paper.paper
    figure = figure_of(
        Paper(width=across, height=up, name="", margin=0.0, units=job.units, job="").lying
    )
    room = figure.box.width - 2 * INSET
    rows = math.floor((figure.box.height - 2 * TINT_WIDE + BETWEEN) / (strip.width + BETWEEN))
    if rows < 1:
        most = math.floor(figure.box.height - 2 * TINT_WIDE)
        raise DoesNotFit(
            f"the strip is wider than the room on {paper.paper_name} paper",
            key="strip.width",
            given=Length(strip.width, 1),
            remedy=sentence("{most} or less, or larger print.paper", most=Length(most, 1)),
        )
    at = [hole.at for hole in strip.holes]
    cut = tiles(strip.start, strip.end, room, asked.overlap, at, _mark(job.units))
    pieces = tuple(_piece(solution, strip, tile, whole=False) for tile in cut)
    whole = _piece(solution, strip, whole_tile(strip, asked.overlap, job.units), whole=True)
    long = whole.outline.bounds().width
    return Plan(
        kind=KIND,
        pieces=(*pieces, whole),
        steps=(
            "Measure each tile from cross to cross; cut it out.",
            *(_JOINING if len(cut) > 1 else ()),
            sentence("First cross to last: {long}.", long=Length(cross_to_cross(whole))),
            "Lower edge on the TE, 0 on the zero end.",
        ),
        pages=lambda paper: _pages(solution, strip, pieces, rows, paper),
        tables=(_table(solution, strip, pieces, whole),),
        joined=(_joined(pieces),) if len(cut) > 1 else (),
        rolls=(whole,) if asked.roll and long <= ROLL_PAGE else (),
    )


JIG = Jig(kind=KIND, plan=plan_strip, asked_for=lambda solution: solution.job.strip is not None)

_JOINING = (
    "On each tile but the first cut again along the join toward hole 1.",
    "Lay it on the tile before, crosses on crosses; tape it.",
)


def _joined(tiles: Sequence[Piece]) -> Joined:
    """Return the taped strip, which is measured as one: each tile may be true and all too long."""
    return Joined(
        name=f"{KIND}-joined",
        title="STRIP joined",
        parts=tuple((tile.name, "crosses") for tile in tiles),
        how="lower cross to lower cross, from the first tile's to the last's",
        allowed_length=LENGTH_ERROR,
    )


def cross_to_cross(piece: Piece) -> float:
    """Return what a strip or a tile measures from its first cross to its last, mm."""
    return piece.dimensions[0].nominal


# --- tiles


def tiles(
    start: float,
    end: float,
    room: float,
    overlap: float,
    holes: Sequence[float] = (),
    mark: float = 1.0,
) -> tuple[Tile, ...]:
    """Return the tiles of a strip: as few as the room allows, about equally long.

    Args:
        start: of the strip, mm.
        end: of the strip, mm.
        room: the longest tile, mm; more than `overlap`.
        overlap: least length that two neighbours share, mm.
        holes: where holes are, mm, rising: a join lies half-way between two of them if it can.
        mark: the strip's own end crosses stand at whole multiples of this, mm: a tape has them.
    """
    first, last = start + overlap / 2.0, end - overlap / 2.0
    joins = _joins(first, last, room - overlap, holes)
    crosses = [
        mark * math.ceil(first / mark - SLACK),
        *joins[1:-1],
        mark * math.floor(last / mark + SLACK),
    ]
    ends = [start, *joins[1:-1], end]
    half = [0.0, *([overlap / 2.0] * (len(joins) - 2)), 0.0]
    return tuple(
        Tile(
            number=n,
            count=len(joins) - 1,
            start=ends[n - 1] - half[n - 1],
            end=ends[n] + half[n],
            crosses=(crosses[n - 1], crosses[n]),
        )
        for n in range(1, len(joins))
    )


def _joins(first: float, last: float, step: float, holes: Sequence[float]) -> list[float]:
    """Return where tiles are joined, the ends of the strip among them.

    Each join lies between the farthest that the tiles before it reach and the nearest from which
    those after it reach the end.
    """
    places = [(a + b) / 2.0 for a, b in pairwise(holes) if first < (a + b) / 2.0 < last]
    ahead = _farthest(first, last, step, places, holes)
    turned = _farthest(
        -last, -first, step, [-p for p in reversed(places)], [-h for h in reversed(holes)]
    )
    back = [-at for at in reversed(turned)]
    if len(back) != len(ahead):
        return ahead
    joins = [first]
    for k in range(1, len(ahead) - 1):
        high = min(ahead[k], joins[-1] + step)
        low = min(back[k], high)
        even = first + (last - first) * k / (len(ahead) - 1)
        within = places[bisect_left(places, low - SLACK) : bisect_right(places, high + SLACK)]
        joins.append(min(within or [_clear(low, high, holes)], key=lambda at: abs(at - even)))
    return [*joins, last]


def _clear(low: float, high: float, holes: Sequence[float]) -> float:
    """Return the farthest place between two that is clear of holes; the farther where none is."""
    near = [h for h in holes if low - CLEAR < h < high + CLEAR]
    free = [high, *(h - CLEAR for h in near)]
    good = [at for at in free if low <= at <= high and all(abs(at - h) >= CLEAR for h in near)]
    return max(good, default=high)


def _farthest(
    first: float, last: float, step: float, places: Sequence[float], holes: Sequence[float]
) -> list[float]:
    """Return joins each as far from the one before it as a tile reaches."""
    joins = [first]
    while joins[-1] + step < last - SLACK:
        reach = joins[-1] + step
        n = bisect_right(places, reach + SLACK)
        if n and places[n - 1] > joins[-1] + SLACK:
            joins.append(places[n - 1])
            continue
        near = next(iter(holes[bisect_left(holes, reach - CLEAR) :]), math.inf)
        clear = max(near - CLEAR, joins[-1] + step / 2.0)
        joins.append(clear if near < reach + CLEAR else reach)
    return [*joins, last]


def whole_tile(strip: Strip, overlap: float, units: str) -> Tile:
    """Return the strip in one length; its crosses stand where the first and the last tile's do."""
    long = strip.end - strip.start + 1.0
    (tile,) = tiles(strip.start, strip.end, long, overlap, mark=_mark(units))
    return tile


def _mark(units: str) -> float:
    """Return the marks of a tape measure, mm."""
    return 1.0 if units == "mm" else INCH / 16.0


# --- what the strip shows


def strip_of_job(solution: Solution) -> Strip:
    """Return what the hole strip of a job shows.

    Raises:
        DoesNotFit: the job has no holes, or the strip is too narrow for them.
    """
    job, asked = solution.job, solution.job.strip or Asked()
    holes = needed_holes(job, "a hole strip needs holes, and the job has none")
    side: Side = "a" if asked.side == "a" else "b"
    openings = _openings(solution, side)
    low, high = _reach(solution, openings)
    strip = Strip(
        start=low,
        end=high,
        width=asked.width,
        drill=holes.drill,
        side=side,
        hand={"left": 1, "right": -1, "": -1 if side == "a" else 1}[asked.zero],
        holes=_shown_holes(solution, holes.line, side),
        openings=openings,
        lines=_lines(solution, side),
    )
    return _wide_enough(strip, stated="strip.width" in job.stated)


def _wide_enough(strip: Strip, *, stated: bool) -> Strip:
    """Return the strip, wider where the usual width is too little; refuse a stated one."""
    if strip.width >= strip.needed - SLACK:
        return strip
    if not stated:
        return replace(strip, width=math.ceil(strip.needed))
    raise DoesNotFit(
        "the strip is too narrow to show the holes and say what is on it",
        key="strip.width",
        given=Length(strip.width, 1),
        remedy=sentence("{least} or more", least=Length(math.ceil(strip.needed), 1)),
    )


def _reach(
    solution: Solution, openings: Sequence[tuple[float, float, float]]
) -> tuple[float, float]:
    """Return where the strip starts and ends, mm along the edge."""
    stock = solution.job.stock
    shown = [0.0, *(hole.at for hole in solution.holes), *(stock.trim if stock else ())]
    low = min(*shown, *(o[0] - o[2] for o in openings), 0.0) - BEYOND
    high = max(*shown, *(o[0] + o[2] for o in openings), 0.0) + BEYOND
    return low, max(high, low + SHORTEST)


def _openings(solution: Solution, side: Side) -> tuple[tuple[float, float, float], ...]:
    """Return the lightening holes that lie in the part, as the best trim plan lays the stock."""
    best = solution.trim.best if solution.trim is not None else None
    stock = solution.job.stock
    if best is None or stock is None:
        return ()
    low, high = stock.trim
    return tuple(
        (hole.at, hole.line / math.cos(solution.skin_at(hole.at, side)), hole.radius)
        for hole in sorted(best.lightening, key=lambda one: one.at)
        if low - hole.radius < hole.at < high + hole.radius
    )


def _lines(solution: Solution, side: Side) -> tuple[tuple[float, str, float], ...]:
    """Return the zero line and the trim lines, see `Strip.lines`."""
    stock = solution.job.stock
    found = [(0.0, "0", 0.0)]
    for at, angle in zip(stock.trim, stock.end_angles, strict=True) if stock else ():
        slope = math.tan(angle) * math.cos(solution.skin_at(at, side))
        if abs(at) < SAME_PLACE and not slope:
            found[0] = (0.0, "0 TRIM", 0.0)
        else:
            found.append((at, "TRIM", slope))
    return tuple(found)


def _shown_holes(solution: Solution, line: float, side: Side) -> tuple[StripHole, ...]:
    """Return the holes, all numbers of one height.

    Where even the smallest letters run into one another, those that do are left out.
    """
    holes, letters = solution.holes, side_letters(solution.job.sides)
    at = [hole.at for hole in holes]
    numbers = [str(hole.number) for hole in holes]
    for height in (LARGE, MIDDLE, SMALL):
        shown = _shown(at, [text_width(text, height, Weight.SEMIBOLD) for text in numbers])
        if all(shown):
            break
    orders = [_order(hole, letters) for hole in holes]
    ordered = _shown(at, [text_width(text, SMALL) for text in orders])
    return tuple(
        StripHole(
            at=hole.at,
            forward=line / math.cos(hole.angles.skin(side)),
            number=numbers[n],
            order=orders[n],
            waits=hole.order is None,
            height=height if shown[n] else None,
            ordered=ordered[n],
        )
        for n, hole in enumerate(holes)
    )


def _shown(at: Sequence[float], wide: Sequence[float]) -> list[bool]:
    """Return which of some words about their places do not run into the one before them."""
    found, reach = [], -math.inf
    for place, width in zip(at, wide, strict=True):
        fits = place - width / 2.0 >= reach
        found.append(fits)
        if fits:
            reach = place + width / 2.0 + 2.0 * APART
    return found


def _order(hole: HoleResult, letters: dict[str, str]) -> str:
    """Return what stands under a hole's number: its place in the order and the side of its pin."""
    if hole.order is None:
        return "WAIT"
    return f"{hole.order} {letters[hole.pin]}" if hole.pin else str(hole.order)


# --- a piece


def _piece(solution: Solution, strip: Strip, tile: Tile, *, whole: bool) -> Piece:
    """Return one tile, or the strip in one length for a roll and for a machine."""
    job = solution.job
    face = Face(job.name, job.units)
    left, right = sorted(strip.x(tile, at) for at in (tile.start, tile.end))
    box = Bounds(left, 0.0, right, strip.width)
    face.must_be_true(Edge(Point(left, 0.0), Point(right, 0.0)))
    _sizes(face, strip, tile, whole=whole)
    _join_marks(face, strip, tile)
    _lines_across(face, strip, tile)
    labels = _holes(face, strip, tile)
    _hidden(face, strip, tile, labels, Path.closed(box.grown(-0.5).corners))
    zero = left if strip.hand > 0 else right - NAME_ROOM
    window = Bounds(zero, 0.0, zero + NAME_ROOM, strip.width) if right - left > NAME_ROOM else None
    # Name and arrow begin beside the joins; on a strip in one length, within its window.
    low, high = sorted(strip.x(tile, at) for at in tile.crosses)
    if window is not None:
        low, high = max(low, window.left), min(high, window.right)
    numbers = [int(strip.holes[n].number) for n in strip.between(*tile.crosses)]
    served = hole_range(min(numbers), max(numbers)) if numbers else "no holes"
    return face.piece(
        KIND,
        KIND if whole else f"{KIND}-{tile.number}",
        "STRIP" if whole or tile.count == 1 else f"STRIP {tile.number}",
        Path.closed(box.corners),
        variant="whole" if whole else served,
        forward=(0.0, 1.0),
        name_at=(low + CROSS + 1.75, strip.width - NAME_DOWN),
        arrow_at=(high - CROSS - 1.75, strip.width - ARROW_DOWN),
        flat=True,
        bars=False,
        window=window,
        side=strip.side,
        shows=_shown_as_text(strip, tile),
        allowed_length=LENGTH_ERROR,
        on_paper=not whole,
        on_bed=False,
        is_sheet=whole,
        waste=TINT_WIDE,
    )


def _sizes(face: Face, strip: Strip, tile: Tile, *, whole: bool) -> None:
    """State the lengths between the crosses."""
    near, far = (strip.x(tile, at) for at in tile.crosses)
    high = strip.width - UPPER
    if whole:
        face.size(
            "whole", (near, LOWER), (far, LOWER), "first lower cross to the last, along the TE"
        )
        face.size("across", (near, LOWER), (near, high), "lower to upper cross")
        return
    face.size("crosses", (near, LOWER), (far, LOWER), "lower cross to lower cross, along the TE")
    face.size("crosses-up", (near, high), (far, high), "upper cross to upper cross")
    face.size("across", (near, LOWER), (near, high), "lower to upper cross, toward hole 1")
    face.size("diagonal", (near, LOWER), (far, high), "lower cross toward hole 1 to the far upper")


def _join_marks(face: Face, strip: Strip, tile: Tile) -> None:
    """Draw the crosses, and a long dashed line through those that a neighbour shares."""
    high = strip.width - UPPER
    shared = (tile.number > 1, tile.number < tile.count)
    for at, joined in zip(tile.crosses, shared, strict=True):
        x = strip.x(tile, at)
        if joined:
            face.line((x, 0.5), (x, strip.width - 0.5), dash=Dash.FOLD)
        for y in (LOWER, high):
            face.target((x, y), CROSS)


def _lines_across(face: Face, strip: Strip, tile: Tile) -> None:
    """Draw the zero line and the trim lines to over the numbers, where their words stand."""
    top = strip.number_at + LARGE
    last = -math.inf
    for at, said, slope in strip.lines:
        wide = text_width(said, SMALL) / 2.0
        if not tile.start + wide + 1.0 < at < tile.end - wide - 1.0:
            continue

        def spot(high: float, at: float = at, slope: float = slope) -> Spot:
            return strip.x(tile, at + slope * high), high

        # A slanting one ends where it would leave the piece.
        room = (tile.end - 1.0 if slope > 0.0 else tile.start + 1.0) - at
        ends = min(top + LINE_TOP, room / slope if slope else math.inf)
        low = min(_free_below(strip, at), ends)
        face.line(spot(0.5), spot(low))
        if strip.order_at < low < ends:
            face.line(spot(low), spot(ends))
        if at - last > 2.0 * wide + 2.0:
            face.say((spot(0.0)[0], top + LINE_WORDS), said)
            last = at


def _free_below(strip: Strip, at: float) -> float:
    """Return how high a line may go at a place: below a hole's words, or past them, mm."""
    n = bisect_left(strip.holes, at, key=lambda hole: hole.at)
    near = strip.holes[max(n - 1, 0) : n + 1]
    if any(abs(hole.at - at) < max(hole.halves) + 0.5 for hole in near):
        return strip.order_at - 1.0
    return strip.number_at + LARGE


def _holes(face: Face, strip: Strip, tile: Tile) -> dict[int, list[Bounds]]:
    """Draw line of holes, targets, numbers and order; return the words' boxes by hole."""
    clear = max(TARGET, strip.drill / 2.0 + RIM)
    shown = strip.between(tile.start + clear + 0.5, tile.end - clear - 0.5)
    spots = [(strip.x(tile, strip.holes[n].at), strip.holes[n].forward) for n in shown]
    ends = [strip.hand * d for d in (0.5, tile.end - tile.start - 0.5)]
    if spots:
        along = [(ends[0], spots[0][1]), *spots, (ends[1], spots[-1][1])]
        # One straight stroke as far as the line of holes is straight.
        bent = [p for k, p in enumerate(along) if k in (0, len(along) - 1)
                or not along[k - 1][1] == p[1] == along[k + 1][1]]  # fmt: skip
        face.line(*bent, dash=Dash.CHAIN)
    own = strip.between(*tile.crosses)
    # What a join would cut in two is left out.
    low = tile.crosses[0] if tile.number > 1 else -math.inf
    high = tile.crosses[1] if tile.number < tile.count else math.inf
    said: dict[int, list[Bounds]] = {}
    whole = True
    for n, (x, y) in zip(shown, spots, strict=True):
        hole = strip.holes[n]
        _target(face, (x, y), strip.drill / 2.0, waits=hole.waits)
        if n not in own:
            continue
        boxes = said.setdefault(n, [])
        room = min(hole.at - low, high - hole.at) - APART
        number, order = (half <= room for half in hole.halves)
        whole &= bool(hole.height and number and hole.ordered and order)
        if hole.height and number:
            weight = Weight.MEDIUM if hole.waits else Weight.SEMIBOLD
            boxes.append(face.say((x, strip.number_at), hole.number, hole.height, weight))
        if hole.ordered and order:
            boxes.append(face.say((x, strip.order_at), hole.order))
    if not whole:
        face.left_out.append("order of crowded holes: angles --all")
    return said


def _target(face: Face, spot: tuple[float, float], radius: float, *, waits: bool) -> None:
    """Draw a hole's target, or the crossed square of one that waits; none reaches the TE."""
    x, y = spot
    arm = max(WAIT if waits else TARGET, radius + RIM)
    low = y - min(arm, y - FLOOR)
    if not waits:
        face.line((x - arm, y), (x + arm, y))
        face.line((x, low), (x, y + arm))
        face.marks.append(Mark(shape=Circle(Point(x, y), radius), line=NARROW))
        return
    corners = Bounds(x - arm, low, x + arm, y + arm).corners
    face.line(*corners, corners[0])
    face.line(corners[0], corners[2])
    face.line(corners[1], corners[3])


def _hidden(
    face: Face, strip: Strip, tile: Tile, labels: dict[int, list[Bounds]], within: Path
) -> None:
    """Draw the lightening holes, broken where a hole's words stand."""
    most = max((radius for _, _, radius in strip.openings), default=0.0)
    for at, forward, radius in strip.openings[bisect_left(strip.openings, (tile.start - most,)) :]:
        if at - radius > tile.end:
            break
        near = strip.between(at - radius - NEAR, at + radius + NEAR)
        boxes = [box.grown(1.0) for n in near for box in labels.get(n, ())]
        face.hidden((strip.x(tile, at), forward), radius, within, boxes)


def _shown_as_text(strip: Strip, tile: Tile) -> str:
    """Return which holes a tile shows, where and in which order: what makes it that tile."""
    shown = (strip.holes[n] for n in strip.between(tile.start, tile.end))
    holes = [f"{one.number} {one.at:z.4f} {one.forward:z.4f} {one.order}" for one in shown]
    return f"{strip.drill:.4f} {'; '.join(holes)}"


# --- pages and numbers


def _table(solution: Solution, strip: Strip, pieces: Sequence[Piece], whole: Piece) -> Table:
    """Return for the numbers page what tiles and strip measure; tiles alike in one row."""
    units = solution.job.units
    rows = [("first cross to last", Length(cross_to_cross(whole), 3).said(units))]
    measured = [Length(cross_to_cross(piece), 3).said(units) for piece in pieces]
    if len(pieces) > 1:
        for long, some in groupby(enumerate(measured, start=1), key=lambda row: row[1]):
            numbers = [n for n, _ in some]
            last = "" if len(numbers) == 1 else f" to {numbers[-1]}"
            rows.append((f"STRIP {numbers[0]}{last}, cross to cross", long))
    rows.append(
        (
            "holes forward of the TE, on the skin",
            span(hole.forward for hole in strip.holes).said(units),
        )
    )
    return Table(title="STRIP", rows=tuple(rows))


def _pages(
    solution: Solution, strip: Strip, pieces: Sequence[Piece], rows: int, paper: Paper
) -> tuple[OwnPage, ...]:
    """Return lying pages of tiles, the zero end's first."""
    lying = paper.lying
    figure = figure_of(lying)
    on = dict(zip("ab", solution.job.sides, strict=True))[strip.side]
    spare = figure.box.height - rows * strip.width - (rows - 1) * BETWEEN
    top = figure.box.top - min(BETWEEN, spare / 2.0) - strip.width
    found = []
    for first in range(0, len(pieces), rows):
        some = pieces[first : first + rows]
        placed = []
        for n, piece in enumerate(some):
            wide = piece.outline.bounds().width
            x = (figure.box.left + figure.box.right - wide) / 2.0
            placed.append((piece, (x, top - n * (strip.width + BETWEEN))))
        found.append(
            OwnPage(
                title="STRIP",
                subtitle=f"on {on}, lower edge on the TE",
                landscape=True,
                pieces=tuple(placed),
                picture=_legend(solution, strip, lying, figure),
                keys=KEYS if len(pieces) > 1 else KEYS[:2],
            )
        )
    return tuple(found)


def _legend(solution: Solution, strip: Strip, paper: Paper, figure: Figure) -> Picture | None:
    """Say what stands over a hole: in the foot beside the key, or at the left of the figure."""
    hole = next((h for h in reversed(strip.holes) if h.height and not h.waits), None)
    if hole is None:
        return None
    names = solution.job.sides
    letters = side_letters(names).values()
    by_name = all(s == name[:1].upper() for s, name in zip(letters, names, strict=True))
    sides = " or ".join(names) if by_name else f"A {names[0]} or B {names[1]}"
    said = f"order, pin from {sides}"
    number, order = hole.number, hole.order
    wide = text_width(number, LARGE, Weight.SEMIBOLD), text_width(order, SMALL)
    x, y = paper.margin + key_width(KEYS), paper.margin + 5.0
    free = paper.width - paper.margin - SLIM - x - 12.0 - sum(wide) - text_width("hole", SMALL)
    if free > 20.0 and len(wrap(said, SMALL, free)) <= 2:
        marks = [words((x, y - LARGE / 2), number, LARGE, Weight.SEMIBOLD)]
        x += wide[0] + 1.5
        marks.append(words((x, y - SMALL / 2), "hole"))
        x += text_width("hole", SMALL) + 5.0
        marks.append(words((x, y - SMALL / 2), order))
        rows = wrap(said, SMALL, free)
        for n, row in enumerate(rows):
            down = (n - (len(rows) - 1) / 2.0) * 4.25
            marks.append(words((x + wide[1] + 2.0, y - SMALL / 2 - down), row))
        return Picture(marks=tuple(marks), width=0.0, height=0.0)
    x, y = paper.margin, figure.box.top - LARGE
    free = figure.box.left - CROSS_ROOM - x
    rows = [row for text in ("hole", order, said) for row in wrap(text, SMALL, free)]
    if free < max((text_width(row, SMALL) for row in rows), default=0.0):
        return None
    marks = [words((x, y), number, LARGE, Weight.SEMIBOLD)]
    marks += [words((x, y - (n + 1) * 4.25), row) for n, row in enumerate(rows)]
    return Picture(marks=tuple(marks), width=0.0, height=0.0)
