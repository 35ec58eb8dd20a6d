"""The hole strip of a job: its tiles for paper, and the whole for a roll and for cutting."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from jiggen.drawing.bars import INCH_MM
from jiggen.drawing.labels import BAND
from jiggen.drawing.page import page_room
from jiggen.drawing.piece import Piece
from jiggen.errors import DoesNotFit
from jiggen.geometry.frame import Side
from jiggen.jigs.stand import holes_text, is_curved, stands
from jiggen.jigs.strip import KIND, build_strip
from jiggen.jigs.strip_plan import Opening, PlaceLine, Served, StripHole, StripPlan, along_face
from jiggen.jigs.strip_words import ending_words, pin_words, title_words
from jiggen.jigs.tiling import Tile, tiles
from jiggen.job.sections import Strip
from jiggen.solution import AnglesAt, Solution
from jiggen.units import or_less, or_more, say_length, size, words

#: mm. What the strip goes on beyond the last thing that it shows, at least.
BEYOND = 12.0
#: mm. The strip goes on to a station that is no further beyond its ends than this.
NEAR = 60.0
#: mm. A trim line nearer to the zero end than this is drawn on it.
SAME_PLACE = 0.01
#: mm. Room for the words over a hole that has no neighbour.
LONE = 40.0
#: mm. A shorter strip has no room for its words.
SHORTEST = 150.0
#: mm. Longest page of a roll: viewers refuse pages beyond 5080 mm (14400 units of 1/72 in; as
#: told in format manuals, see facts), and a margin is wanted too.
ROLL_PAGE = 4900.0
#: mm. Room that rounding and a line's width take on a page.
PAGE_SLACK = 0.5


def strip_pieces(solution: Solution) -> list[Piece]:
    """Return the tiles of the hole strip, and the strip in one length.

    Args:
        solution: the solved job.

    Raises:
        DoesNotFit: a job without holes, or a strip that its width or its paper cannot hold.
    """
    plan, asked = strip_plan(solution), solution.job.strip or Strip()
    pieces = [
        build_strip(
            f"{KIND}-{tile.number}",
            f"Strip {tile.number} of {tile.count}" if tile.count > 1 else "Strip",
            plan,
            tile,
        )
        for tile in _cut(solution, plan, asked)
    ]
    return [*pieces, build_strip(KIND, "Strip, whole", plan, _whole(plan, asked), whole=True)]


def strip_tiles(solution: Solution) -> tuple[Tile, ...]:
    """Return where the tiles of `strip_pieces` lie along the edge, the zero end's first.

    Args:
        solution: the solved job.

    Raises:
        DoesNotFit: see `strip_pieces`.
    """
    return _cut(solution, strip_plan(solution), solution.job.strip or Strip())


def _cut(solution: Solution, plan: StripPlan, asked: Strip) -> tuple[Tile, ...]:
    room = _room(solution, plan, asked)
    return tiles(plan.start, plan.end, room, asked.overlap, plan.holes_at, _mark(plan))


def roll_pieces(solution: Solution) -> list[Piece]:
    """Return the strip as it goes onto a roll: in one length, or in as few as viewers bear.

    Args:
        solution: the solved job.
    """
    plan, asked = strip_plan(solution), solution.job.strip or Strip()
    room = ROLL_PAGE - 2 * solution.job.print.margin
    cut = tiles(plan.start, plan.end, room, asked.overlap, plan.holes_at, _mark(plan))
    if len(cut) == 1:
        return [build_strip(KIND, "Strip, whole", plan, _whole(plan, asked), whole=True)]
    return [
        build_strip(
            f"{KIND}-roll-{t.number}", f"Strip, roll {t.number} of {t.count}", plan, t, whole=True
        )
        for t in cut
    ]


def _whole(plan: StripPlan, asked: Strip) -> Tile:
    long = plan.end - plan.start + 1.0
    (tile,) = tiles(plan.start, plan.end, long, asked.overlap, mark=_mark(plan))
    return tile


def _mark(plan: StripPlan) -> float:
    """Return the marks of a tape measure that crosses stand at, mm."""
    return 1.0 if plan.units == "mm" else INCH_MM / 16.0


def _room(solution: Solution, plan: StripPlan, asked: Strip) -> float:
    """Return how long a tile may be on the job's paper, mm: along the longer side of its room."""
    paper = solution.job.print
    room = page_room(*paper.paper, paper.margin)
    across, along = sorted((room.width, room.height))
    if plan.width + BAND > across - PAGE_SLACK:
        raise DoesNotFit(
            f"the strip is wider than the room on {paper.paper_name} paper",
            key="strip.width",
            given=size(plan.width),
            remedy=words(
                "{page_slack} or less, or larger print.paper",
                page_slack=or_less(math.floor(across - BAND - PAGE_SLACK)),
            ),
        )
    least = 2.0 * plan.arm
    if asked.overlap < least:
        raise DoesNotFit(
            "two tiles share too little for a hole on the join to be whole on one of them",
            key="strip.overlap",
            given=size(asked.overlap),
            remedy=words("{least} or more", least=or_more(math.ceil(least))),
        )
    return along - PAGE_SLACK


def strip_plan(solution: Solution) -> StripPlan:
    """Return what the hole strip of a job shows.

    Args:
        solution: the solved job.

    Raises:
        DoesNotFit: the job has no holes.
    """
    job, asked = solution.job, solution.job.strip or Strip()
    if job.holes is None:
        raise DoesNotFit(
            "a hole strip needs holes, and the job has none",
            key="holes",
            remedy="state [holes] with drill, line, first, pitch and count",
        )
    side: Side = "a" if asked.side == "a" else "b"
    hand = {"left": 1, "right": -1, "": -1 if side == "a" else 1}[asked.zero]
    holes = _holes(solution, side)
    openings = _openings(solution, side)
    places = _places(solution, side)
    start, end = _reach(solution, holes, openings)
    plan = StripPlan(
        start=start,
        end=end,
        width=asked.width,
        drill=job.holes.drill,
        depth=max(along_face(job.wedge.depth or 0.0, s.skin(side)) for s in solution.stations),
        side=side,
        hand=hand,
        holes=holes,
        openings=openings,
        guides=_guides(solution),
        places=places,
        pin_words=pin_words(job.sides),
        words=title_words(solution, side, opened=bool(openings)),
        ending=(),
        units=job.units,
    )
    return replace(plan, ending=ending_words(plan, _whole(plan, asked).crosses))


def _holes(solution: Solution, side: Side) -> tuple[StripHole, ...]:
    assert solution.job.holes is not None
    line, at = solution.job.holes.line, solution.job.holes.positions
    apart = [math.inf, *(b - a for a, b in pairwise(at)), math.inf]
    return tuple(
        StripHole(
            number=hole.number,
            at=hole.at,
            forward=along_face(line, hole.angles.skin(side)),
            order=hole.order,
            pin=hole.pin,
            angles=_angles(hole.angles, solution),
            room=min(*apart[n : n + 2], LONE),
        )
        for n, hole in enumerate(solution.holes)
    )


def _corner(solution: Solution) -> str:
    """Return what the skins' forward angle is called: on curved skins no guide has that corner."""
    curved = any(is_curved(solution, side) for side in ("a", "b"))
    return "forward angle" if curved else "forward corner"


def _angles(at: AnglesAt, solution: Solution) -> str:
    sides = solution.job.sides
    a, b = (math.degrees(angle) for angle in (at.guide_forward_a, at.guide_forward_b))
    return f"{_corner(solution)} on {sides[0]} {a:.2f}°, on {sides[1]} {b:.2f}°"


def _openings(solution: Solution, side: Side) -> tuple[Opening, ...]:
    """Return the lightening holes that lie in the part, as the best trim plan lays the stock."""
    best = solution.trim.best if solution.trim is not None else None
    stock = solution.job.stock
    if best is None or stock is None:
        return ()
    low, high = stock.trim
    return tuple(
        Opening(
            at=hole.at,
            forward=along_face(hole.line, solution.skin_at(hole.at, side)),
            radius=hole.diameter / 2.0,
        )
        for hole in best.lightening
        if low - hole.diameter / 2.0 < hole.at < high + hole.diameter / 2.0
    )


def _reach(
    solution: Solution, holes: tuple[StripHole, ...], openings: tuple[Opening, ...]
) -> tuple[float, float]:
    """Return where the strip starts and ends, mm along the edge."""
    stock = solution.job.stock
    shown = [0.0, *(hole.at for hole in holes), *(stock.trim if stock else ())]
    low = min(*shown, *(o.at - o.radius for o in openings), 0.0)
    high = max(*shown, *(o.at + o.radius for o in openings), 0.0)
    near = [s.at for s in solution.stations if low - NEAR <= s.at <= high + NEAR]
    low, high = min(low, *near, low), max(high, *near, high)
    return low - BEYOND, max(high + BEYOND, low - BEYOND + SHORTEST)


def _places(solution: Solution, side: Side) -> tuple[PlaceLine, ...]:
    """Return the zero end, the trim lines and the stations."""
    units = solution.job.units
    trim = () if solution.job.stock is None else solution.job.stock.trim
    if any(abs(at) < SAME_PLACE for at in trim):
        words = ("0: zero end, TRIM here", "0: TRIM", "TRIM")
        lines = [PlaceLine(at=0.0, kind="trim", words=words)]
    else:
        lines = [PlaceLine(at=0.0, kind="zero", words=("0: zero end", "0"))]
    for at in (at for at in trim if abs(at) >= SAME_PLACE):
        said = say_length(at, units)
        lines.append(PlaceLine(at=at, kind="trim", words=(f"TRIM at {said}", "TRIM")))
    for station in solution.stations:
        said = say_length(station.at, units)
        own = f"{_corner(solution)} {90.0 - math.degrees(station.skin(side)):.2f}°"
        choice = (
            f"station {said}: {_angles(station, solution)}",
            f"station {said}: {own}",
            own,
            own.removeprefix(f"{_corner(solution)} "),
        )
        lines.append(PlaceLine(at=station.at, kind="station", words=choice))
    return tuple(lines)


def _guides(solution: Solution) -> tuple[tuple[Served, ...], ...]:
    """Return which guide serves where, a row a side; one row where both sides share them all."""
    at = {hole.number: hole.at for hole in solution.holes}
    sides = solution.job.sides
    rows = []
    for side in ("a", "b"):
        row = [s for s in stands(solution) if side in s.side]
        found: list[tuple[float, float, tuple[str, ...]]] = []
        for stand in row:
            guide = next(g for g in stand.guides if g.side == side)
            if guide.first_hole is None or guide.last_hole is None:
                continue
            names = [name for letter, name in zip("ab", sides, strict=True) if letter in stand.side]
            # On a curved skin the guide stands on two feet, and its own corner is another.
            curved = any(is_curved(solution, letter) for letter in stand.side)
            corner = "corner: see the guide" if curved else f"forward corner {stand.angle:.2f}°"
            words = (
                f"guide {stand.label}, for {' and '.join(names)}, "
                f"{holes_text(solution, guide)}, {corner}",
                f"guide {stand.label}, {holes_text(solution, guide)}",
                f"guide {stand.label}",
                stand.label,
            )
            # Up to the next hole, drilled now or not: no line runs through a hole's marks.
            last = at[guide.last_hole]
            after = at.get(guide.last_hole + 1, last + BEYOND)
            found.append((at[guide.first_hole], (last + after) / 2.0, words))
        rows.append(tuple(found))
    if rows[0] == rows[1]:
        rows.pop()
    return tuple(_stretches(row) for row in rows if row)


def _stretches(row: tuple[tuple[float, float, tuple[str, ...]], ...]) -> tuple[Served, ...]:
    """Return stretches that follow one another, each from where the one before it ends."""
    row = tuple(sorted(row, key=lambda one: one[0]))
    edges = [row[0][0] - BEYOND / 2.0, *(end for _, end, _ in row)]
    return tuple(
        Served(start=edges[n], end=edges[n + 1], words=one[2], ends=n + 1 < len(row))
        for n, one in enumerate(row)
    )
