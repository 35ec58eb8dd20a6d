"""Measures pieces, check edges and bars where the fit says that they lie."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from jiggen.remeasure.contour import IDENTITY, Array, Contour, Point, inverse, moved
from jiggen.remeasure.fit import Fit, Marks, apply, marks_of_page, nearest
from jiggen.remeasure.found import NOTE, OFF, Finding, FoundPage
from jiggen.remeasure.measurement import MeasuredAngle, MeasuredPiece, MeasuredSize
from jiggen.remeasure.nominal import (
    NominalAngle,
    NominalPiece,
    NominalSheet,
    NominalSize,
    angle_between,
)

#: mm at true scale. A bar's tick or an edge's end may have been moved by this much and is still
#: recognised as what it was.
REACH = 0.6
#: mm at true scale. A fold stops this much short of the edge that it runs to.
SHORT = 1.0
#: mm at true scale. What another program rounds off stays below this (measured: 1.5 um through the
#: printing library of most free programs, 2 um of a circle in four curves); a hundredth of a mm
#: does not.
TRUE = 0.005
#: mm2. A closed line round less is a hole or a letter.
SMALLEST = 100.0
#: Degrees. `TRUE` at the end of an edge of 30 mm.
TRUE_ANGLE = 0.01


class PageMeasurer:
    """Measures the pieces of one page.

    Args:
        page: as found.
        fit: how it lies against its record.
        number: of the page, from 1.
        bars_lie: how its bars lie where they do not go along with the outlines; None where they do.
    """

    def __init__(
        self, page: FoundPage, fit: Fit, number: int, *, bars_lie: Fit | None = None
    ) -> None:
        self.fit = fit
        self._bars_lie = bars_lie or fit
        self.number = number
        self.findings: list[Finding] = []
        self._marks: Marks = marks_of_page(page)
        self._closed = [contour for contour in page.contours if contour.closed]
        # Lines are compared at true scale and in their place: a drawing a thousand times too large
        # would fall into millions of chords.
        back = inverse(fit.matrix)
        in_place = max(abs(v - w) for v, w in zip(back, IDENTITY, strict=True)) < 1e-6
        self._placed = [c if in_place else c.through(back) for c in self._closed]
        lines = [contour.corners for contour in page.contours if not contour.closed]
        self._line_ends: Array = np.concatenate(lines) if lines else np.empty((0, 2))
        self._boxes: Array = np.array([c.frame for c in self._placed]).reshape(-1, 4)

    def bars(self, sizes: Sequence[NominalSize], owner: str) -> tuple[MeasuredSize, ...]:
        """Return bars as they measure, tick to tick.

        Args:
            sizes: check dimensions, of which only the bars are measured.
            owner: whose they are, for what is said about them.
        """
        bars = [size for size in sizes if size.is_bar]
        lengths = self._lengths(bars, self._marks.ticks, REACH, self._bars_lie)
        measured = []
        for bar, length in zip(bars, lengths, strict=True):
            measured.append(_sized(bar, length))
            if length is None:
                self._say(f"{owner}: {bar.name} of {bar.nominal:g} mm is not there")
        return tuple(measured)

    def piece(self, nominal: NominalPiece) -> MeasuredPiece:
        """Return a piece as it measures.

        Args:
            nominal: as it should be.
        """
        outline, shift = self._cut_line(nominal.outline, nominal.name, "its outline")
        if nominal.outline is None:
            outline = self._outline_with(nominal.angles)
            self._note(f"{nominal.name}: the record does not hold its outline: not compared")
        shifts = [] if shift is None else [shift]
        for number, hole in enumerate(nominal.holes, start=1):
            _, shift = self._cut_line(hole, nominal.name, f"hole {number} of {len(nominal.holes)}")
            shifts += [] if shift is None else [shift]
        corners = self._marks.corners if outline is None else self._closed[outline].corners
        sizes = [size for size in nominal.sizes if not size.is_bar]
        # In a file with kerf the corners lie half a slot outside, and what they measure is not
        # the size of the piece: then there is nothing within reach.
        lengths = self._lengths(sizes, corners, 2 * TRUE, self.fit)
        return MeasuredPiece(
            name=nominal.name,
            page=self.number,
            outline=() if outline is None else self._points(outline),
            angles=tuple(self._angle(angle, corners, nominal.name) for angle in nominal.angles),
            bars=self.bars(nominal.sizes, nominal.name),
            sizes=tuple(
                _sized(size, length)
                for size, length in zip(sizes, lengths, strict=True)
                if length is not None
            ),
            worst_shift=max(shifts, default=None),
        )

    def doubled(self, sheet: NominalSheet, page: FoundPage) -> None:
        """Find what would be cut beyond outlines and holes, in a file that names its cuts.

        Args:
            sheet: as it should be.
            page: as found.
        """
        if any(piece.outline is None for piece in sheet.pieces):
            return
        wanted = sum(1 + len(piece.holes) for piece in sheet.pieces)
        found = sum(1 for contour in page.contours if contour.layer == "CUT")
        if found > wanted:
            self._say(
                f"CUT holds {found} lines, where the pieces have {wanted}: what is more would be "
                "cut as well"
            )

    def _points(self, at: int) -> tuple[Point, ...]:
        """Return a closed line as points where the file has them, mm."""
        return _tuples(apply(self.fit.matrix, self._placed[at].walk[:-1]))

    def _outline_with(self, angles: Sequence[NominalAngle]) -> int | None:
        """Return which closed line runs through the check edges."""
        ends = [end for angle in angles for end in (*angle.base, *angle.working)]
        if not ends or not self._closed:
            return None
        wanted = apply(self.fit.matrix, np.array(ends))
        far = [float(nearest(wanted, c.corners)[0].sum()) for c in self._closed]
        return far.index(min(far))

    def _note(self, text: str) -> None:
        self.findings.append(Finding(severity=NOTE, text=text, page=self.number))

    def _say(self, text: str) -> None:
        self.findings.append(Finding(severity=OFF, text=text, page=self.number))

    def _places(
        self, points: Sequence[Point], among: Array, reach: float, fit: Fit
    ) -> list[Point | None]:
        """Return for each nominal point what is drawn there, None where nothing is in reach."""
        if not points:
            return []
        wanted = apply(fit.matrix, np.array(points, dtype=np.float64))
        off, places = nearest(wanted, among)
        return [
            (float(x), float(y)) if far <= reach * fit.scale else None
            for far, (x, y) in zip(off, places, strict=True)
        ]

    def _lengths(
        self, sizes: Sequence[NominalSize], among: Array, reach: float, fit: Fit
    ) -> list[float | None]:
        ends = self._places([end for size in sizes for end in size.ends], among, reach, fit)
        return [
            None if a is None or b is None else math.dist(a, b)
            for a, b in zip(ends[::2], ends[1::2], strict=True)
        ]

    def _angle(self, angle: NominalAngle, corners: Array, owner: str) -> MeasuredAngle:
        wanted = (*angle.base, *angle.working)
        # An edge that is no part of the outline is a fold: a line, a little shorter.
        ends = [
            corner or fold
            for corner, fold in zip(
                self._places(wanted, corners, REACH, self.fit),
                self._places(wanted, self._line_ends, SHORT, self.fit),
                strict=True,
            )
        ]
        measured = None
        if all(end is not None for end in ends):
            a, b, c, d = (end for end in ends if end is not None)
            measured = angle_between((a, b), (c, d))
        else:
            self._say(f"{owner}: a check edge of its {angle.name} angle is not there")
        return MeasuredAngle(
            name=angle.name, measured=measured, nominal=angle.nominal, drawn=angle.drawn
        )

    def _cut_line(
        self, nominal: Contour | None, owner: str, what: str
    ) -> tuple[int | None, float | None]:
        """Return which line is drawn for a nominal one, and how far it runs from it, mm."""
        if nominal is None:
            return None, None
        near = []
        for at in self._candidates(nominal):
            near.append((deviation(nominal, self._placed[at]), at))
            if near[-1][0][0] < TRUE:
                break
        if not near:
            self._say(f"{owner}: {what} is not there")
            return None, None
        (off, place), at = min(near)
        if off > TRUE:
            x, y = moved(place, self.fit.matrix)
            self._say(
                f"{owner}: {what} runs {off:.3f} mm off where it should, at ({x:.2f}, {y:.2f}) mm"
            )
        return at, off

    def _candidates(self, wanted: Contour) -> Iterator[int]:
        """Yield the numbers of the few closed lines whose extent is nearest to the wanted one's."""
        if not self._closed:
            return
        left, bottom, right, top = wanted.frame
        off = np.abs(self._boxes - np.array(wanted.frame)).max(axis=1)
        limit = 0.05 * max(right - left, top - bottom) + REACH
        for at in np.argsort(off, kind="stable")[:3]:
            if off[at] <= limit:
                yield int(at)


def _sized(size: NominalSize, length: float | None) -> MeasuredSize:
    return MeasuredSize(name=size.name, measured=length, nominal=size.nominal, drawn=size.drawn)


def _tuples(points: Array) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in points)


def deviation(one: Contour, other: Contour) -> tuple[float, Point]:
    """Return how far two closed lines run apart at most, mm, and where.

    From every point of each to the nearest place on the other, so that neither a bay that is lost
    nor one that is new can hide.

    Source: the Hausdorff distance of two curves.
    """
    there, back = _one_way(one.walk, other.walk), _one_way(other.walk, one.walk)
    return max(there, back)


def _one_way(points: Array, walk: Array) -> tuple[float, Point]:
    """Return the largest distance of any point from a row of chords, and the point."""
    x, y = walk[:-1].T
    along_x, along_y = np.diff(walk, axis=0).T
    square = np.maximum(along_x * along_x + along_y * along_y, 1e-30)
    to_x, to_y = points[:, 0, None] - x, points[:, 1, None] - y
    share = np.clip((to_x * along_x + to_y * along_y) / square, 0.0, 1.0)
    to_x -= share * along_x
    to_y -= share * along_y
    far = np.sqrt((to_x * to_x + to_y * to_y).min(axis=1))
    worst = int(far.argmax())
    return float(far[worst]), (float(points[worst, 0]), float(points[worst, 1]))


def unnamed_pieces(page: FoundPage, number: int, first: int) -> tuple[MeasuredPiece, ...]:
    """Return the outlines of a page of which nothing is known but what it shows.

    An outline is a closed line of at least 1 cm2 that lies in no other, in the layer CUT if there
    is one; a frame round the whole page is none, unless there is nothing else.

    Args:
        page: as found.
        number: of the page, from 1.
        first: number of the first piece.
    """
    closed = [c for c in page.contours if c.closed and not c.filled]
    lines = [c for c in closed if c.layer == "CUT"] or closed
    large = [c for c in lines if abs(c.area) >= SMALLEST]
    large = [c for c in large if not _frames(c, page)] or large
    outer = [c for c in large if not any(_inside(c, other) for other in large if other is not c)]
    return tuple(
        MeasuredPiece(
            name=f"piece {count}",
            page=number,
            outline=_tuples(contour.walk[:-1]),
            inside=sum(1 for c in lines if c is not contour and _inside(c, contour)),
        )
        for count, contour in enumerate(outer, start=first)
    )


def _frames(contour: Contour, page: FoundPage) -> bool:
    if page.width is None or page.height is None:
        return False
    left, bottom, right, top = contour.box.tolist()
    return bool(right - left > 0.8 * page.width and top - bottom > 0.8 * page.height)


def _inside(inner: Contour, outer: Contour) -> bool:
    a, b = inner.box, outer.box
    return bool((a[:2] >= b[:2]).all() and (a[2:] <= b[2:]).all() and (a != b).any())
