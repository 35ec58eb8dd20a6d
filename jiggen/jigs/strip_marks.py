"""What a hole strip shows as it lies on the part: holes, openings, lines across, crosses."""

from __future__ import annotations

import math
from itertools import pairwise

from jiggen.drawing.affine import Point
from jiggen.drawing.labels import TINIEST, Line, fitted_height
from jiggen.drawing.lettering import text_width
from jiggen.drawing.shapes import Anchor, Bounds, Circle, Edge, Mark, Op, Path, Text
from jiggen.jigs.strip_frame import EVERY, Frame
from jiggen.jigs.strip_keys import pin_key, row_keys
from jiggen.jigs.strip_plan import (
    GUIDE_ROW,
    NUMBER_ROW,
    ORDER_ROW,
    PIN_ROW,
    PLACE_ROW,
    Opening,
    PlaceLine,
    Served,
    StripHole,
)

#: mm. Between two hatch lines.
HATCH = 1.2
#: mm. White beside a text.
BESIDE = 0.8


def work_marks(frame: Frame) -> tuple[Mark, ...]:
    """Return all below the title band but the crosses and joins.

    Args:
        frame: the tile.
    """
    plan = frame.plan
    shown = frame.shown
    marks = [mark for opening in plan.openings for mark in _opening(frame, opening)]
    for hole in shown:
        marks += _hole(frame, hole)
    rows = [_hole_words(frame, hole) for hole in shown]
    labels = [mark for row in rows for mark in row]
    labels += row_keys(frame, [mark.bounds() for mark in labels])
    marks += labels
    taken = [mark.bounds() for mark in labels]
    places = _places(frame, taken)
    marks += places
    marks += pin_key(frame, [mark.bounds() for mark in places])
    for row, stretches in enumerate(plan.guides):
        bottom = plan.place_bottom + 2 * PLACE_ROW + row * GUIDE_ROW
        marks += [m for served in stretches for m in _served(frame, served, bottom)]
    return tuple(marks)


def _line(x0: float, y0: float, x1: float, y1: float, line: float, *, dashed: bool = False) -> Mark:
    return Mark(shape=Path.open([(x0, y0), (x1, y1)]), op=Op.ENGRAVE, line=line, dashed=dashed)


def _words(x: float, y: float, text: str, height: float, *, bold: bool = False) -> Mark:
    at = Point(x, y)
    return Mark(shape=Text(at, text, height, anchor=Anchor.MIDDLE, bold=bold), op=Op.ENGRAVE)


def _hole(frame: Frame, hole: StripHole) -> list[Mark]:
    """Return a hole's circle and cross; one that is not drilled now is hatched and crossed out."""
    x, y, arm = frame.x(hole.at), hole.forward, frame.plan.arm
    circle = Mark(shape=Circle(Point(x, y), frame.plan.drill / 2.0), op=Op.ENGRAVE, line=0.2)
    if hole.order is not None:
        return [circle, _line(x - arm, y, x + arm, y, 0.12), _line(x, y - arm, x, y + arm, 0.12)]
    half = min(arm, y - 0.4)
    box = Path.closed(
        [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
    )
    marks = [circle, Mark(shape=box, op=Op.ENGRAVE, line=0.2)]
    count = math.floor(2.0 * half / HATCH - 1e-9)
    for off in (HATCH * k for k in range(-count, count + 1) if k):
        low, high = max(-half, -half - off), min(half, half - off)
        marks.append(_line(x + low, y + low + off, x + high, y + high + off, 0.12))
    marks += [_line(x - half, y - s * half, x + half, y + s * half, 0.45) for s in (1, -1)]
    return marks


def _hole_words(frame: Frame, hole: StripHole) -> list[Mark]:
    """Return a hole's number, its place in the drilling order and its pin's side, in their rows."""
    x, y = frame.x(hole.at), frame.plan.work_top
    order = "no" if hole.order is None else str(hole.order)
    room = hole.room - BESIDE
    rows = [(str(hole.number), 3.0, NUMBER_ROW, True), (order, 2.2, ORDER_ROW, False)]
    if hole.pin is not None:
        rows.append((hole.pin.upper(), 2.2, PIN_ROW, False))
    marks = []
    for text, wanted, row, bold in rows:
        height = fitted_height(Line(text=text, height=wanted, bold=bold), room)
        marks.append(_words(x, y + 0.4, text, height, bold=bold))
        y += row
    box = Bounds.union(mark.bounds() for mark in marks)
    return marks if frame.holds(box.left, box.right) else []


def _opening(frame: Frame, opening: Opening) -> list[Mark]:
    """Return what of a lightening hole lies on the tile: arcs where it runs out."""
    centre = Point(frame.x(opening.at), opening.forward)
    # A hair inside the outline, so that an arc's rounding never makes one tile the wider.
    box = Bounds(frame.left, 0.0, frame.right, frame.plan.width).grown(-0.05)
    return [
        Mark(shape=shape, op=Op.ENGRAVE, line=0.25, dashed=True)
        for shape in circle_within(centre, opening.radius, box)
    ]


def circle_within(centre: Point, radius: float, box: Bounds) -> list[Circle | Path]:
    """Return the parts of a circle that lie within a rectangle: itself, arcs, or nothing.

    Args:
        centre: of the circle, mm.
        radius: of the circle, mm.
        box: the rectangle, mm.

    Source: derived.
    """
    cuts = []
    for limit, along, turn in (
        (box.left, centre.x, 0.0),
        (box.right, centre.x, 0.0),
        (box.bottom, centre.y, math.pi / 2),
        (box.top, centre.y, math.pi / 2),
    ):
        share = (limit - along) / radius
        if abs(share) < 1.0:
            half = math.acos(share)
            cuts += [(turn + half) % math.tau, (turn - half) % math.tau]
    if not cuts:
        inside = box.contains(Circle(centre, radius).bounds())
        return [Circle(centre, radius)] if inside else []
    cuts.sort()
    found: list[Circle | Path] = []
    for first, last in pairwise([*cuts, cuts[0] + math.tau]):
        middle = _on(centre, radius, (first + last) / 2.0)
        within = box.left < middle.x < box.right and box.bottom < middle.y < box.top
        if within and (last - first) * radius > 0.05:
            start, end = _on(centre, radius, first), _on(centre, radius, last)
            bulge = math.tan((last - first) / 8.0)
            found.append(Path((Edge(start, middle, bulge), Edge(middle, end, bulge))))
    return found


def _on(centre: Point, radius: float, angle: float) -> Point:
    return Point(centre.x + radius * math.cos(angle), centre.y + radius * math.sin(angle))


def _places(frame: Frame, taken: list[Bounds]) -> list[Mark]:
    """Return the lines across with their words: zero end and trim lines, stations above them."""
    plan = frame.plan
    marks: list[Mark] = []
    shown = [place for place in plan.places if frame.holds(frame.x(place.at), frame.x(place.at))]
    ticks = [frame.x(place.at) for place in shown]
    used: dict[bool, list[tuple[float, float]]] = {False: [], True: []}
    for place, x in zip(shown, ticks, strict=True):
        station = place.kind == "station"
        bottom = plan.place_bottom + (PLACE_ROW if station else 0.0)
        top = bottom + PLACE_ROW - 0.2
        line = 0.2 if station else 0.4
        # A line passes by the holes' labels, never through one.
        if any(box.left - 0.4 < x < box.right + 0.4 for box in taken):
            marks.append(_line(x, 0.6, x, plan.work_top, line, dashed=station))
            marks.append(_line(x, plan.place_bottom + 0.2, x, top, line, dashed=station))
        elif not station or all(x != other for other in ticks[: shown.index(place)]):
            marks.append(_line(x, 0.6, x, top, line, dashed=station))
        # The lines of the lower row end below the stations' words.
        above = [t for t, p in zip(ticks, shown, strict=True) if p.kind == "station"]
        near = above if station else ticks
        marks += _place_words(frame, place, used[station], near, bottom + 0.8)
    if not any(place.kind == "station" for place in shown):
        marks += _angles_here(frame)
    return marks


def _angles_here(frame: Frame) -> list[Mark]:
    """Return the angles at a tile's middle hole, where no station lies on the tile."""
    shown = frame.shown
    if not shown:
        return []
    hole = shown[len(shown) // 2]
    text = f"at hole {hole.number}: {hole.angles}"
    low, high = frame.between
    half = text_width(text, 2.0) / 2.0
    if 2.0 * half > high - low:
        return []
    x = min(max(frame.x(hole.at), low + half), high - half)
    return [_words(x, frame.plan.place_bottom + PLACE_ROW + 0.8, text, 2.0)]


def _place_words(
    frame: Frame,
    place: PlaceLine,
    used: list[tuple[float, float]],
    ticks: list[float],
    baseline: float,
) -> list[Mark]:
    """Return a line's words on that side of it where they fit, the longest that do."""
    x, (low, high) = frame.x(place.at), frame.between
    for words in place.words:
        wide = text_width(words, 2.0) + BESIDE
        for start in (x + BESIDE, x - BESIDE - wide):
            end = start + wide
            clear = all(end <= a or start >= b for a, b in used)
            clear = clear and not any(start < tick < end for tick in ticks)
            if clear and low - 2.0 <= start and end <= high + 2.0:
                used.append((start, end))
                return [_words((start + end) / 2.0, baseline, words, 2.0)]
    return []


def _served(frame: Frame, served: Served, bottom: float) -> list[Mark]:
    """Return a guide's stretch as a line with its name in the middle, and where the next begins."""
    plan = frame.plan
    low, high = sorted((frame.x(served.start), frame.x(served.end)))
    left, right = max(low, frame.left + 0.6), min(high, frame.right - 0.6)
    marks: list[Mark] = []
    change = frame.x(served.end)
    if served.ends and frame.holds(change, change):
        marks.append(_line(change, 0.6, change, plan.place_bottom, 0.15, dashed=True))
    if right - left < 1.0:
        return marks
    middle = bottom + GUIDE_ROW / 2.0
    for x in (low, high):
        if left <= x <= right:
            marks.append(_line(x, bottom + 0.4, x, bottom + GUIDE_ROW - 0.4, 0.25))
    inner = (max(left, frame.between[0] - 2.0) + 0.4, min(right, frame.between[1] + 2.0) - 0.4)
    room = inner[1] - inner[0] - 2 * BESIDE
    fits = [w for w in served.words if text_width(w, TINIEST) <= room]
    if not fits:
        return [*marks, _line(left, middle, right, middle, 0.15)]
    height = fitted_height(Line(text=fits[0], height=2.0), room)
    half = text_width(fits[0], height) / 2.0 + BESIDE
    # Said again and again on a long stretch: nobody has all of a metre before him.
    count = max(1, math.floor((inner[1] - inner[0]) / EVERY))
    ends = [left]
    for n in range(count):
        at = inner[0] + (n + 0.5) * (inner[1] - inner[0]) / count
        marks.append(_words(at, middle - height / 2.0, fits[0], height))
        ends += [at - half, at + half]
    for x0, x1 in zip(ends[::2], [*ends[1::2], right], strict=True):
        if x1 - x0 > 0.3:
            marks.append(_line(x0, middle, x1, middle, 0.15))
    return marks
