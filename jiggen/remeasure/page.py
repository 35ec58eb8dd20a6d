"""Measures one page: where its lines lie against its record, then pieces, bars, words and counts.

Corners, ticks and edges are looked for where the record puts them:

    record ----> are they there? ----yes---> measure bars, edges, outlines, holes
                     | no
                     +--> do all lines span another rectangle? Then it was moved, or drawn at
                     |        another scale: look there, and say so
                     +--> not there either: "cannot tell", and what the lines span instead

Nothing is searched for: a drawing that was turned, mirrored or sheared cannot be judged.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from jiggen.remeasure.answer import Measured, MeasuredPiece, count_of
from jiggen.remeasure.limits import Budget
from jiggen.remeasure.record import (
    NominalAngle,
    NominalPiece,
    NominalSheet,
    NominalSize,
    angle_between,
)
from jiggen.remeasure.shapes import (
    IDENTITY,
    NOTE,
    OFF,
    Array,
    Contour,
    Finding,
    FoundDrawing,
    FoundPage,
    Matrix,
    Point,
    joined,
    moved,
)

#: mm at true scale. A length or a line is off from here on. Other programs round to half of it at
#: most (measured: 1.5 um through the printing library of most free programs, 2 um of a circle in
#: four curves, 5 um in files of two decimals).
OFF_FROM = 0.01
_ROUNDED = 1e-5  # mm. The last digit of a file, so that 0.01 mm which was rounded is still 0.01 mm
NEAR = 0.02  # mm at true scale. A corner or tick this near to its place is the one that was meant
#: mm at true scale. A bar's tick or an edge's end may have been moved by this much and is still
#: recognised as what it was.
REACH = 0.6
SHORT = 1.0  # mm at true scale. A fold stops this much short of the edge that it runs to
#: Share of the corners and ticks that must lie in place for no other place to be tried.
PLAIN_SHARE = 0.8
#: Share below which the drawing is not what the record describes, or lies somewhere else.
LEAST_SHARE = 0.2
ENOUGH = 200  # how many corners and ticks are looked for; more cost time and tell nothing new
TRUE_ANGLE = 0.01  # degrees. No angle is asked to be truer
TRUE_SCALE = 5e-5  # a scale nearer to 1 than this is true: `OFF_FROM` in 200 mm
SMALLEST = 100.0  # mm2. A closed line round less is a hole or a letter
MOST_AT_THE_EDGE = 500  # how many lines at the edge of a drawing are walked to find what it spans
WORDS_SAID = 4  # how many words that are not there are named
LIKE = 5e-4  # factors nearer than this are one factor
#: What comparing is paid from.
COMPARED = "pairs of points to compare"
_AT_ONCE = 500_000

#: What a number in a file counts, in mm: a drawing is often large or small by two of these.
#: Source: 25.4 mm, 96 (older: 90) pixels and 72 points to the inch.
COUNTED_IN = {
    "mm": 1.0,
    "cm": 10.0,
    "metres": 1000.0,
    "inches": 25.4,
    "pixels (96 to the inch)": 25.4 / 96,
    "pixels (90 to the inch)": 25.4 / 90,
    "points (72 to the inch)": 25.4 / 72,
}


class Place(Struct, frozen=True, kw_only=True):
    """Where a drawing lies against its record."""

    matrix: Matrix = IDENTITY  # from record to file, mm: a shift, and a scale along x and y
    share: float = 0.0  # of the corners and ticks that lie where it takes them
    joined: bool = False  # lines were joined to outlines first, and are fewer than were drawn

    @property
    def scale(self) -> float:
        """Return the mean scale."""
        return math.sqrt(self.matrix[0] * self.matrix[3])

    @property
    def bends(self) -> bool:
        """Return whether it changes lengths by their direction: no one scale undoes it."""
        return abs(self.matrix[0] / self.matrix[3] - 1.0) > TRUE_SCALE


def find_place(sheet: NominalSheet, page: FoundPage, budget: Budget) -> tuple[FoundPage, Place]:
    """Return how a page lies against what it should be: in place, or by what its lines span.

    Returns the page, its lines joined to outlines where that is what it takes, and the best place;
    its share tells whether that is any good.
    """
    place = _best_place(sheet, page, budget)
    if place.share < PLAIN_SHARE and any(not contour.closed for contour in page.contours):
        whole = replace(page, contours=tuple(joined(page.contours)))
        other = _best_place(sheet, whole, budget)
        if other.share > place.share:
            return whole, replace(other, joined=True)
    return page, place


def _best_place(sheet: NominalSheet, page: FoundPage, budget: Budget) -> Place:
    corners = [piece.outline.corners for piece in sheet.pieces]
    sizes = [*(size for piece in sheet.pieces for size in piece.sizes), *sheet.sizes]
    ticks = [end for size in sizes if size.is_bar for end in size.ends]
    wanted = [_thinned(_rows(corners)), _thinned(np.array(ticks).reshape(-1, 2))]
    found = [_corners_of(page), _ticks_of(page)]
    count = sum(map(len, wanted))
    best = Place()
    for matrix in _matrices(sheet, page):
        near = NEAR * math.sqrt(matrix[0] * matrix[3])
        sources, targets = [], []
        for want, have in zip(wanted, found, strict=True):
            far, places = nearest(apply(matrix, want), have, budget)
            sources.append(want[far <= near])
            targets.append(places[far <= near])
        source, target = np.concatenate(sources), np.concatenate(targets)
        if count and len(source) / count > best.share:
            matrix = matrix if matrix == IDENTITY else _fitted(source, target, matrix)
            best = Place(matrix=matrix, share=len(source) / count)
        if best.share >= PLAIN_SHARE:
            break
    return best


def _matrices(sheet: NominalSheet, page: FoundPage) -> Iterator[Matrix]:
    """Yield the maps that are tried: none, and from what the lines should span to what they do."""
    yield IDENTITY
    spans = None if sheet.extent is None or sheet.corrected else _span(page)
    if spans is not None and sheet.extent is not None:
        left, bottom, right, top = sheet.extent
        if right - left > NEAR and top - bottom > NEAR:
            x, y = (spans[2] - spans[0]) / (right - left), (spans[3] - spans[1]) / (top - bottom)
            if x > 1e-6 and y > 1e-6:
                yield (x, 0.0, 0.0, y, spans[0] - x * left, spans[1] - y * bottom)


def _fitted(source: Array, target: Array, matrix: Matrix) -> Matrix:
    """Return the scale and the shift along x and along y that fit best, by least squares."""
    if (np.ptp(source, axis=0) < 1.0).any():
        return matrix
    (x, right), (y, up) = (np.polyfit(source[:, k], target[:, k], 1).tolist() for k in (0, 1))
    return (x, 0.0, 0.0, y, right, up)


def _span(page: FoundPage) -> tuple[float, float, float, float] | None:
    """Return left, bottom, right and top of all lines, mm; None where there are none."""
    if not page.contours:
        return None
    frames = np.array([contour.frame for contour in page.contours])
    low, high = frames[:, :2].min(axis=0), frames[:, 2:].max(axis=0)
    inset = 0.01 * (high - low)
    # The frame of a curve is a little larger than the curve: only those at the edge are walked.
    edge = (frames[:, :2] < low + inset).any(axis=1) | (frames[:, 2:] > high - inset).any(axis=1)
    at_edge = np.flatnonzero(edge)[:MOST_AT_THE_EDGE]
    boxes = np.array([page.contours[int(at)].box for at in at_edge])
    (left, bottom), (right, top) = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    return float(left), float(bottom), float(right), float(top)


def _rows(parts: Sequence[Array]) -> Array:
    return np.concatenate(parts) if parts else np.empty((0, 2))


def _corners_of(page: FoundPage) -> Array:
    return _rows([contour.corners for contour in page.contours if contour.closed])


def _ticks_of(page: FoundPage) -> Array:
    """Return the middles of all that may be a tick or the arm of a cross."""
    ticks = []
    for contour in page.contours:
        if len(contour.nodes) == (4 if contour.closed else 2) and not contour.curves:
            xs, ys = zip(*contour.nodes, strict=True)
            ticks.append((sum(xs) / len(xs), sum(ys) / len(ys)))
    return np.array(ticks, dtype=np.float64).reshape(-1, 2)


def _thinned(points: Array) -> Array:
    return points[:: math.ceil(len(points) / ENOUGH)] if len(points) > ENOUGH else points


def apply(matrix: Matrix, points: Array) -> Array:
    """Return points where a matrix takes them, (n, 2)."""
    a, b, c, d, e, f = matrix
    x, y = points[:, 0], points[:, 1]
    return np.stack([a * x + c * y + e, b * x + d * y + f], axis=1)


def nearest(points: Array, places: Array, budget: Budget) -> tuple[Array, Array]:
    """Return for each point how far the nearest place is, mm, and which place it is.

    Points are (n, 2), places (m, 2), distances infinite where there are no places.
    """
    if not len(places) or not len(points):
        return np.full(len(points), np.inf), np.full((len(points), 2), np.nan)
    budget.spend(COMPARED, len(points) * len(places))
    far, found = [], []
    for part in np.array_split(points, math.ceil(len(points) * len(places) / _AT_ONCE)):
        dx = part[:, 0, None] - places[None, :, 0]
        dy = part[:, 1, None] - places[None, :, 1]
        square = dx * dx + dy * dy
        which = square.argmin(axis=1)
        far.append(np.sqrt(square[np.arange(len(part)), which]))
        found.append(places[which])
    return np.concatenate(far), np.concatenate(found)


def not_in_place(sheet: NominalSheet, page: FoundPage) -> str:
    """Return what is said where neither outlines nor bars lie where the record puts them."""
    text = (
        "outlines and bars do not lie where the record puts them: turned, mirrored, sheared, "
        "changed, or another drawing"
    )
    spans = _span(page)
    if spans is None or sheet.extent is None:
        return text
    left, bottom, right, top = sheet.extent
    return (
        f"{text}; its lines span {spans[2] - spans[0]:.2f} x {spans[3] - spans[1]:.2f} mm, where "
        f"they should span {right - left:.2f} x {top - bottom:.2f} mm"
    )


def say_place(place: Place, drawing: FoundDrawing, page: int) -> Iterator[Finding]:
    """Yield what is to be said about a page's scale and shift."""
    x, y = place.matrix[0], place.matrix[3]
    if place.bends:
        bent = math.degrees(abs(math.atan((x / y - y / x) / 2)))
        yield Finding(
            OFF,
            f"it is drawn at {x:.6g} of true size along x and {y:.6g} along y, which bends angles "
            f"by up to {bent:.2g} degrees",
            page,
        )
    elif abs(place.scale - 1.0) > TRUE_SCALE:
        why, stated = likely_cause(place.scale), drawing.as_stated
        if drawing.kind == "dxf" and stated != 1.0 and abs(place.scale / stated - 1.0) < LIKE:
            why = f"the file says {drawing.unit}, but its numbers are mm"
        yield Finding(
            OFF,
            f"everything is drawn at {place.scale:.6g} of true size: 100 mm measure "
            f"{100 * place.scale:.6g} mm" + (f"; likely cause: {why}" if why else ""),
            page,
        )
    elif max(map(abs, place.matrix[4:])) > OFF_FROM:
        right, up = place.matrix[4:]
        text = f"everything is moved by ({right:.2f}, {up:.2f}) mm on its page, which does no harm"
        yield Finding(NOTE, text, page)


def likely_cause(factor: float) -> str:
    """Return what likely scaled a drawing by a factor of true size; empty if nothing known does."""
    for meant, its in COUNTED_IN.items():
        for taken, other in COUNTED_IN.items():
            if meant != taken and abs(factor * its / other - 1.0) < LIKE:
                return f"{meant} were taken as {taken}"
    if 0.88 <= factor <= 1.12:
        return "the page was fitted to the printable part of a sheet, or to another paper"
    return ""


def words_off(
    sheet: NominalSheet, page: FoundPage, number: int, budget: Budget
) -> Iterator[Finding]:
    """Yield what is to be said of the live text of a page: which words are not there."""
    if not sheet.words:
        return
    if page.words is None or not any(word.strip() for word in page.words):
        text = "its lettering was outlined, or lost: words are not compared"
        yield Finding(NOTE, text, number)
        return
    runs = Counter(map(_plain, page.words))
    broken = []
    for word in sheet.words:
        plain = _plain(word)
        if runs[plain]:
            runs[plain] -= 1
        else:
            broken.append(word)
    # What is left may be the same words, broken into other runs.
    rest = "".join(run for word in page.words if (run := _plain(word)) and runs[run] > 0)
    missing = []
    for word in sorted(broken, key=len, reverse=True):
        budget.spend(COMPARED, len(rest))
        at = rest.find(_plain(word))
        if at < 0:
            missing.append(word)
        else:
            rest = f"{rest[:at]}\0{rest[at + len(_plain(word)) :]}"
    if missing:
        said = ", ".join(f'"{word[:40]}"' for word in missing[:WORDS_SAID])
        more = f" and {len(missing) - WORDS_SAID} more" if len(missing) > WORDS_SAID else ""
        yield Finding(OFF, f"words are not there, or were changed: {said}{more}", number)


def _plain(text: str) -> str:
    """Return a text without blanks, and with ``?`` for all that a font or format may lack."""
    return "".join(char if char.isascii() else "?" for char in text if not char.isspace())


class PageMeasurer:
    """Measures the pieces of one page where the record and the place put them."""

    def __init__(self, page: FoundPage, place: Place, number: int, budget: Budget) -> None:
        self.page = page
        self.place = place
        self.number = number
        self.budget = budget
        self.findings: list[Finding] = []
        self._ticks = _ticks_of(page)
        self._corners = _corners_of(page)
        self._closed = [contour for contour in page.contours if contour.closed]
        # Lines are compared at true scale and in their place: a drawing a thousand times too large
        # would fall into millions of chords.
        x, _, _, y, right, up = place.matrix
        back: Matrix = (1 / x, 0.0, 0.0, 1 / y, -right / x, -up / y)
        self._placed = [c if back == IDENTITY else c.through(back) for c in self._closed]
        self._line_ends = _rows([c.corners for c in page.contours if not c.closed])
        self._boxes: Array = np.array([c.frame for c in self._placed]).reshape(-1, 4)
        self._not_cut = np.array([not c.layer.startswith("CUT") for c in self._closed])

    def bars(self, sizes: Sequence[NominalSize], owner: str) -> tuple[Measured, ...]:
        """Return bars as they measure, tick to tick, and say which are off or not there."""
        bars = [size for size in sizes if size.is_bar]
        measured = self._lengths(bars, self._ticks, REACH)
        for bar in measured:
            if bar.measured is None:
                self._say(f"{owner}: {bar.name} of {bar.nominal:g} mm is not there")
            self._say_length(bar, owner)
        return measured

    def piece(self, nominal: NominalPiece) -> MeasuredPiece:
        """Return a piece as it measures, and say what is off or not there."""
        name = nominal.name
        outline, shift = self._cut_line(nominal.outline, name, "its outline")
        shifts = [] if shift is None else [shift]
        for number, hole in enumerate(nominal.holes, start=1):
            _, shift = self._cut_line(hole, name, f"hole {number} of {len(nominal.holes)}")
            shifts += [] if shift is None else [shift]
        corners, points = self._corners, tuple[Point, ...]()
        if outline is not None:
            corners = self._closed[outline].corners
            points = _tuples(apply(self.place.matrix, self._placed[outline].walk[:-1]))
        # In a file with kerf the corners lie half a slot outside, and what they measure is not
        # the size of the piece: then there is nothing within reach.
        sizes = self._lengths([s for s in nominal.sizes if not s.is_bar], corners, 2 * OFF_FROM)
        for size in sizes:
            self._say_length(size, name)
        return MeasuredPiece(
            name=name,
            page=self.number,
            outline=points,
            angles=tuple(self._angle(angle, corners, name) for angle in nominal.angles),
            bars=self.bars(nominal.sizes, name),
            sizes=tuple(size for size in sizes if size.measured is not None),
            worst_shift=max(shifts, default=None),
        )

    def count(self, sheet: NominalSheet) -> None:
        """Say where pieces, cut lines or the lines of a layer are missing or too many."""
        lost = Counter(sheet.names) - Counter(piece.name for piece in sheet.pieces)
        for name in lost:
            self._say(f"{name}: its outline is not there")
        found = Counter(contour.layer for contour in self.page.contours)
        if sheet.lines and not any(found[layer] for layer in sheet.lines):
            self._say(
                f"its layers {', '.join(sheet.lines)} are gone: a machine cannot tell what to cut"
            )
            return
        cuts = sum(count for layer, count in found.items() if layer.startswith("CUT"))
        wanted = sum(count for layer, count in sheet.lines.items() if layer.startswith("CUT"))
        wanted = wanted or sum(1 + len(piece.holes) for piece in sheet.pieces)
        if cuts > wanted:
            self._say(
                f"CUT holds {count_of(cuts, 'line')}, where the pieces have {wanted}: what is more "
                "would be cut as well"
            )
        for layer, count in sheet.lines.items():
            if found[layer] < count and not (layer.startswith("CUT") or self.place.joined):
                self._say(f"{layer} holds {count_of(found[layer], 'line')}, where it had {count}")

    def _say_length(self, size: Measured, owner: str) -> None:
        """Say where a length is off beyond what the whole page is."""
        if size.measured is None or self.place.bends:
            return
        off = size.measured / self.place.scale - size.drawn
        if abs(off) > OFF_FROM - _ROUNDED:
            way = "long" if off > 0 else "short"
            self._say(
                f"{owner}: {size.name} of {size.nominal:g} mm measures {abs(off):.3f} mm too {way}"
            )

    def _say(self, text: str) -> None:
        self.findings.append(Finding(OFF, text, self.number))

    def _places(self, points: Sequence[Point], among: Array, reach: float) -> list[Point | None]:
        """Return for each nominal point what is drawn there, None where nothing is in reach."""
        if not points:
            return []
        wanted = apply(self.place.matrix, np.array(points, dtype=np.float64))
        off, places = nearest(wanted, among, self.budget)
        return [
            (float(x), float(y)) if far <= reach * self.place.scale else None
            for far, (x, y) in zip(off, places, strict=True)
        ]

    def _lengths(
        self, sizes: Sequence[NominalSize], among: Array, reach: float
    ) -> tuple[Measured, ...]:
        ends = self._places([end for size in sizes for end in size.ends], among, reach)
        return tuple(
            Measured(
                name=size.name,
                measured=None if a is None or b is None else math.dist(a, b),
                nominal=size.nominal,
                drawn=size.drawn,
            )
            for size, a, b in zip(sizes, ends[::2], ends[1::2], strict=True)
        )

    def _angle(self, angle: NominalAngle, corners: Array, owner: str) -> Measured:
        wanted = (*angle.base, *angle.working)
        # An edge that is no part of the outline is a fold: a line, a little shorter.
        ends = [
            corner or fold
            for corner, fold in zip(
                self._places(wanted, corners, REACH),
                self._places(wanted, self._line_ends, SHORT),
                strict=True,
            )
        ]
        # Each edge may turn by what its ends may be off.
        shortest = [max(math.dist(*edge), OFF_FROM) for edge in (angle.base, angle.working)]
        limit = max(TRUE_ANGLE, math.degrees(sum(OFF_FROM / length for length in shortest)))
        measured = None
        if all(end is not None for end in ends):
            a, b, c, d = (end for end in ends if end is not None)
            measured = angle_between((a, b), (c, d))
            if abs(measured - angle.drawn) > limit:
                self._say(
                    f"{owner}: its {angle.name} angle measures {measured:.3f} degrees, where it "
                    f"should be {angle.drawn:.3f}"
                )
        else:
            self._say(f"{owner}: a check edge of its {angle.name} angle is not there")
        return Measured(
            name=angle.name, measured=measured, nominal=angle.nominal, drawn=angle.drawn
        )

    def _cut_line(self, nominal: Contour, owner: str, what: str) -> tuple[int | None, float | None]:
        """Return which line is drawn for a nominal one, and how far it runs from it, mm."""
        near = []
        for at in self._candidates(nominal):
            near.append((deviation(nominal, self._placed[at], self.budget), at))
            if near[-1][0][0] < OFF_FROM / 2:
                break
        if not near:
            self._say(f"{owner}: {what} is not there")
            return None, None
        (off, place), at = min(near)
        if off > OFF_FROM - _ROUNDED:
            x, y = moved(place, self.place.matrix)
            self._say(
                f"{owner}: {what} runs {off:.3f} mm off where it should, at ({x:.2f}, {y:.2f}) mm"
            )
        layer = self._closed[at].layer
        if layer and not layer.startswith("CUT"):
            self._say(f"{owner}: {what} is in layer {layer[:40]}, not in CUT")
        return at, off

    def _candidates(self, wanted: Contour) -> Iterator[int]:
        """Yield the numbers of the few closed lines whose extent is nearest to the wanted one's."""
        if not self._closed:
            return
        self.budget.spend(COMPARED, len(self._boxes))
        left, bottom, right, top = wanted.frame
        off = np.abs(self._boxes - np.array(wanted.frame)).max(axis=1)
        limit = 0.05 * max(right - left, top - bottom) + REACH
        # A mark may run along the same outline as the cut, which goes before it.
        for at in np.lexsort((self._not_cut, np.round(off, 4)))[:3]:
            if off[at] <= limit:
                yield int(at)


def _tuples(points: Array) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in points)


def deviation(one: Contour, other: Contour, budget: Budget) -> tuple[float, Point]:
    """Return how far two closed lines run apart at most, mm, and where.

    From every point of each to the nearest place on the other, so that neither a bay that is lost
    nor one that is new can hide.

    Source: the Hausdorff distance of two curves.
    """
    for contour in (one, other):
        budget.spend("points along curves", len(contour.walk) if contour.curves else 0)
    budget.spend(COMPARED, 2 * len(one.walk) * len(other.walk))
    there, back = _one_way(one.walk, other.walk), _one_way(other.walk, one.walk)
    return max(there, back)


def _one_way(points: Array, walk: Array) -> tuple[float, Point]:
    """Return the largest distance of any point from a row of chords, and the point."""
    x, y = walk[:-1].T
    along_x, along_y = np.diff(walk, axis=0).T
    square = np.maximum(along_x * along_x + along_y * along_y, 1e-30)
    worst, where = -1.0, points[0]
    for part in np.array_split(points, math.ceil(len(points) * len(walk) / _AT_ONCE)):
        to_x, to_y = part[:, 0, None] - x, part[:, 1, None] - y
        share = np.clip((to_x * along_x + to_y * along_y) / square, 0.0, 1.0)
        to_x -= share * along_x
        to_y -= share * along_y
        far = (to_x * to_x + to_y * to_y).min(axis=1)
        at = int(far.argmax())
        if far[at] > worst:
            worst, where = float(far[at]), part[at]
    return math.sqrt(worst), (float(where[0]), float(where[1]))


def unnamed_pieces(
    page: FoundPage, number: int, first: int, budget: Budget
) -> Iterator[MeasuredPiece]:
    """Yield the outlines of a page of which nothing is known but what it shows.

    An outline is a closed line of at least 1 cm2 that lies in no other, in the layer CUT if there
    is one; a frame round the whole page is none, unless there is nothing else. What was drawn edge
    by edge is joined first.

    Args:
        page: as found.
        number: of the page, from 1.
        first: number of the first piece.
        budget: of the file.
    """
    closed = [c for c in joined(page.contours) if c.closed and not c.filled]
    lines = [c for c in closed if c.layer.startswith("CUT")] or closed
    frames = np.array([c.frame for c in lines]).reshape(-1, 4)
    sides = (frames[:, 2:] - frames[:, :2]).prod(axis=1)
    large = [c for c, area in zip(lines, sides, strict=True) if area >= SMALLEST]
    budget.spend("outlines of which nothing is known", len(large))
    large = [c for c in large if abs(_area(c, budget)) >= SMALLEST]
    large = [c for c in large if not _frames(c, page)] or large
    boxes = np.array([c.box for c in large]).reshape(-1, 4)
    budget.spend(COMPARED, len(large) * (len(large) + len(lines)))
    outer = [c for c in large if not _around(boxes, c.box).any()]
    for count, contour in enumerate(outer, start=first):
        yield MeasuredPiece(
            name=f"piece {count}",
            page=number,
            outline=_tuples(contour.walk[:-1]),
            inside=int(_around(contour.box, frames).sum()),
        )


def _area(contour: Contour, budget: Budget) -> float:
    budget.spend("points along curves", len(contour.walk) if contour.curves else 0)
    return contour.area


def _frames(contour: Contour, page: FoundPage) -> bool:
    if page.width is None or page.height is None:
        return False
    left, bottom, right, top = contour.box.tolist()
    return bool(right - left > 0.8 * page.width and top - bottom > 0.8 * page.height)


def _around(outer: Array, inner: Array) -> Array:
    """Return where a box holds another and is larger: one of the two is a row of boxes."""
    low = (outer[..., :2] <= inner[..., :2]).all(axis=-1)
    high = (outer[..., 2:] >= inner[..., 2:]).all(axis=-1)
    return np.asarray(low & high & (outer != inner).any(axis=-1))
