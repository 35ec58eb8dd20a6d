"""Finds how a drawing was moved, scaled, turned or mirrored on its way through other programs.

The corners of the outlines and the ticks of the bars are known from the record. First they are
looked for where they should be. If they are not there, long edges of an outline are laid on long
edges of every outline in the file, either way round and mirrored, and what carries the most
corners and ticks along wins; it is then refined to the general affine map by least squares, with
what was tampered with left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from jiggen.remeasure.contour import IDENTITY, Array, Contour, Matrix
from jiggen.remeasure.found import FoundPage
from jiggen.remeasure.nominal import NominalPiece, NominalSheet

#: mm at true scale. A corner or tick this near to its place is the one that was meant.
NEAR = 0.02
#: Share of the corners and ticks that must lie in place for a map to be taken without a search.
PLAIN_SHARE = 0.8
#: Share below which the drawing is not what the record describes.
LEAST_SHARE = 0.5
#: How many corners and ticks are looked for; more cost time and tell nothing new.
ENOUGH = 200
#: Scales that are tried on pages without outlines, where only the page itself can be laid on.
_SCALES = (
    1.0, 25.4 / 96, 96 / 25.4, 0.75, 4 / 3, 25.4 / 72, 72 / 25.4, 25.4, 1 / 25.4, 0.9375,
    96 / 90, 2.0, 0.5, 10.0, 0.1,
)  # fmt: skip
_TURNS: tuple[tuple[float, float, float, float], ...] = (
    (1, 0, 0, 1), (0, 1, -1, 0), (-1, 0, 0, -1), (0, -1, 1, 0),
    (-1, 0, 0, 1), (1, 0, 0, -1), (0, 1, 1, 0), (0, -1, -1, 0),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """How the drawing in a file lies against its record.

    Attributes:
        matrix: from the places in the record to those in the file, mm.
        share: of the corners and ticks that lie where it takes them.
    """

    matrix: Matrix
    share: float

    @property
    def scale(self) -> float:
        """Return the mean scale."""
        a, b, c, d = self.matrix[:4]
        return math.sqrt(abs(a * d - b * c))


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """Places that can be recognised.

    Attributes:
        corners: of outlines, (n, 2), mm.
        ticks: middles of ticks of bars, (m, 2), mm.
    """

    corners: Array
    ticks: Array


def marks_of_page(page: FoundPage) -> Marks:
    """Return the corners of every closed line and the middle of everything that may be a tick."""
    corners = [c.corners for c in page.contours if c.closed]
    ticks = []
    for contour in page.contours:
        if len(contour.nodes) == (4 if contour.closed else 2) and not contour.curves:
            xs, ys = zip(*contour.nodes, strict=True)
            ticks.append((sum(xs) / len(xs), sum(ys) / len(ys)))
    return Marks(corners=_rows(np.concatenate(corners) if corners else ()), ticks=_rows(ticks))


def marks_of_sheet(sheet: NominalSheet, pieces: Sequence[NominalPiece] | None = None) -> Marks:
    """Return the corners and ticks that a sheet should have.

    Args:
        sheet: as it should be.
        pieces: only these of its pieces, without the sheet's own bars; None for all.
    """
    chosen = sheet.pieces if pieces is None else pieces
    corners = [piece.outline.corners for piece in chosen if piece.outline is not None]
    sizes = [size for piece in chosen for size in piece.sizes]
    if pieces is None:
        sizes += sheet.sizes
    ticks = [end for size in sizes if size.is_bar for end in size.ends]
    return Marks(
        corners=_thinned(_rows(np.concatenate(corners) if corners else ())),
        ticks=_thinned(_rows(ticks)),
    )


def fit_sheet(
    sheet: NominalSheet, page: FoundPage, hints: Sequence[Matrix] = (), *, search: bool = True
) -> Fit | None:
    """Return how a page lies against what it should be.

    Args:
        sheet: as it should be.
        page: as found.
        hints: maps that other pages of the file turned out to have.
        search: look further when neither the true place nor a hint will do.

    Returns:
        None when the page has nothing to recognise, or does not show it.
    """
    wanted, found = marks_of_sheet(sheet), marks_of_page(page)
    if len(wanted.corners) + len(wanted.ticks) < 2:
        return None
    for matrix in (IDENTITY, *hints):
        if _share(matrix, wanted, found) >= PLAIN_SHARE:
            return _refined(matrix, wanted, found, (NEAR,))
    if not search:
        return None
    best: Fit | None = None
    best_worth = LEAST_SHARE
    for matrix in _guesses(sheet, page, wanted, found):
        fit = _refined(matrix, wanted, found, (2.0, 0.5, 0.1, NEAR))
        # Many outlines look the same mirrored and sheared: what distorts least is believed.
        worth = fit.share - 0.5 * min(1.0, distortion_of(fit.matrix))
        if worth > best_worth:
            best, best_worth = fit, worth
        if worth > 0.97:
            break
    return best


def distortion_of(matrix: Matrix) -> float:
    """Return by how much the larger stretch of a map exceeds the smaller, as a ratio less one."""
    a, b, c, d = matrix[:4]
    stretches = np.linalg.svd(np.array([[a, c], [b, d]]), compute_uv=False)
    return float(stretches[0] / stretches[1] - 1.0) if stretches[1] > 1e-12 else math.inf


def nearest(points: Array, places: Array) -> tuple[Array, Array]:
    """Return for each point how far the nearest place is, mm, and which place it is.

    Args:
        points: (n, 2).
        places: (m, 2).

    Returns:
        Distances, infinite where there are no places, and the places themselves, (n, 2).
    """
    if not len(places) or not len(points):
        return np.full(len(points), np.inf), np.full((len(points), 2), np.nan)
    dx = points[:, 0, None] - places[None, :, 0]
    dy = points[:, 1, None] - places[None, :, 1]
    square = dx * dx + dy * dy
    which = square.argmin(axis=1)
    return np.sqrt(square[np.arange(len(points)), which]), places[which]


def apply(matrix: Matrix, points: Array) -> Array:
    """Return points where a matrix takes them, (n, 2)."""
    a, b, c, d, e, f = matrix
    x, y = points[:, 0], points[:, 1]
    return np.stack([a * x + c * y + e, b * x + d * y + f], axis=1)


def _rows(points: Sequence[object] | Array | tuple[()]) -> Array:
    return np.array(points, dtype=np.float64).reshape(-1, 2)


def _thinned(points: Array) -> Array:
    return points[:: math.ceil(len(points) / ENOUGH)] if len(points) > ENOUGH else points


def _scale_of(matrix: Matrix) -> float:
    return math.sqrt(abs(matrix[0] * matrix[3] - matrix[1] * matrix[2])) or 1.0


def _matched(
    matrix: Matrix, wanted: Marks, found: Marks, reach: float
) -> tuple[Array, Array, float]:
    """Return wanted places, the found ones within `reach` (mm at true scale), and their share."""
    near = reach * _scale_of(matrix)
    sources, targets, count = [], [], 0
    for want, have in ((wanted.corners, found.corners), (wanted.ticks, found.ticks)):
        if len(want):
            far, places = nearest(apply(matrix, want), have)
            keep = far <= near
            sources.append(want[keep])
            targets.append(places[keep])
            count += len(want)
    source, target = np.concatenate(sources), np.concatenate(targets)
    return source, target, len(source) / count


def _share(matrix: Matrix, wanted: Marks, found: Marks) -> float:
    return _matched(matrix, wanted, found, NEAR)[2]


def _refined(matrix: Matrix, wanted: Marks, found: Marks, reaches: Sequence[float]) -> Fit:
    """Return the least-squares affine map near a guess, from ever nearer neighbours."""
    for reach in reaches:
        source, target, _ = _matched(matrix, wanted, found, reach)
        matrix = _least_squares(source, target, matrix)
    return Fit(matrix=matrix, share=_share(matrix, wanted, found))


def _least_squares(source: Array, target: Array, guess: Matrix) -> Matrix:
    """Return the affine map of pairs of points, those that stand out left out.

    Source: ordinary least squares; trimming at three times the median residual is common practice,
    no published source.
    """
    matrix = guess
    for _ in range(3):
        if len(source) < 3:
            return matrix
        middle = source.mean(axis=0)
        spread = np.linalg.svd(source - middle, compute_uv=False)
        if spread[1] < 1e-3 * spread[0]:
            return matrix  # all on one line: nothing to be learned across it
        rows = np.column_stack([source - middle, np.ones(len(source))])
        answer, *_ = np.linalg.lstsq(rows, target, rcond=None)
        (a, b), (c, d), (e, f) = answer.tolist()
        matrix = (
            a,
            b,
            c,
            d,
            e - a * float(middle[0]) - c * float(middle[1]),
            f - b * float(middle[0]) - d * float(middle[1]),
        )
        off = np.hypot(*(apply(matrix, source) - target).T)
        keep = off <= 3.0 * np.median(off) + 1e-6
        if keep.all():
            break
        source, target = source[keep], target[keep]
    return matrix


def _guesses(sheet: NominalSheet, page: FoundPage, wanted: Marks, found: Marks) -> Iterator[Matrix]:
    """Yield maps worth refining, the likeliest first."""
    few = Marks(corners=wanted.corners[::8], ticks=wanted.ticks[::4])
    by_page = sorted(_page_on_page(sheet, page), key=lambda m: -_share(m, few, found))
    yield from by_page[:2]
    for piece in _telling_pieces(sheet)[:3]:
        yield from _outline_on_outlines(sheet, piece, page)
    yield from by_page[2:4]


def _page_on_page(sheet: NominalSheet, page: FoundPage) -> Iterator[Matrix]:
    """Yield maps that lay the middle, or a corner, of the page on that of the page found."""
    if page.width is None or page.height is None:
        return
    w, h = sheet.width, sheet.height
    fits = (page.width / w, page.height / h, page.width / h, page.height / w)
    for scale in dict.fromkeys((*_SCALES, *fits)):
        for turn in _TURNS:
            a, b, c, d = (scale * v for v in turn)
            ex, ey = a * w / 2 + c * h / 2, b * w / 2 + d * h / 2
            yield (a, b, c, d, page.width / 2 - ex, page.height / 2 - ey)
            low_x = min(0.0, a * w, c * h, a * w + c * h)
            low_y = min(0.0, b * w, d * h, b * w + d * h)
            high_y = max(0.0, b * w, d * h, b * w + d * h)
            yield (a, b, c, d, -low_x, -low_y)
            yield (a, b, c, d, -low_x, page.height - high_y)


def _telling_pieces(sheet: NominalSheet) -> list[NominalPiece]:
    """Return the pieces with outlines, those that look like no other first, then the largest."""
    pieces = [p for p in sheet.pieces if p.outline is not None and len(p.outline.nodes) > 2]

    def key(piece: NominalPiece) -> tuple[int, float]:
        assert piece.outline is not None
        size = _size_of(piece.outline)
        alike = sum(
            1
            for other in pieces
            if other.outline is not None
            and len(other.outline.nodes) == len(piece.outline.nodes)
            and abs(_size_of(other.outline) - size) < 0.01 * size
        )
        return (alike, -size)

    return sorted(pieces, key=key)


def _size_of(contour: Contour) -> float:
    return float(np.hypot(*(contour.corners.max(axis=0) - contour.corners.min(axis=0))))


def _long_edges(contour: Contour, most: int) -> list[tuple[Array, Array]]:
    edges = []
    for number in range(len(contour.nodes)):
        if number not in contour.curves:
            start = contour.corners[number]
            end = contour.corners[(number + 1) % len(contour.nodes)]
            edges.append((float(np.hypot(*(end - start))), number, start, end))
    edges.sort(key=lambda edge: (-edge[0], edge[1]))
    return [(start, end) for length, _, start, end in edges[:most] if length > 0]


def _outline_on_outlines(
    sheet: NominalSheet, piece: NominalPiece, page: FoundPage
) -> Iterator[Matrix]:
    """Yield maps that lay the longest edge of an outline on long edges of outlines found."""
    outline = piece.outline
    if outline is None or not (edges := _long_edges(outline, 1)):
        return
    (start, end), corners = edges[0], outline.corners
    size = _size_of(outline)
    rated: list[tuple[float, Matrix]] = []
    closed = [c for c in page.contours if c.closed and len(c.nodes) > 2]
    closed.sort(key=_size_of, reverse=True)
    for contour in closed[:60]:
        for a, b in _long_edges(contour, 12):
            for matrix in _edge_on_edge(start, end, a, b):
                off, _ = nearest(apply(matrix, corners), contour.corners)
                share = off / (size * _scale_of(matrix))
                rated.append((float(np.minimum(share, 0.05).mean()), matrix))
    rated.sort(key=lambda pair: pair[0])
    local = marks_of_sheet(sheet, [piece])
    found = marks_of_page(page)
    for cost, matrix in rated[:10]:
        if cost < 0.025:
            yield _refined(matrix, local, found, (0.03 * size, 0.01 * size, 0.5, 0.1)).matrix


def _edge_on_edge(start: Array, end: Array, to: Array, to_end: Array) -> Iterator[Matrix]:
    """Yield the four similar maps, two of them mirrored, that lay one edge on another."""
    along = complex(*(end - start))
    for first, last in ((to, to_end), (to_end, to)):
        wanted = complex(*(last - first))
        turn = wanted / along
        mirror = wanted / along.conjugate()
        p, q = float(start[0]), float(start[1])
        for a, b, c, d in (
            (turn.real, turn.imag, -turn.imag, turn.real),
            (mirror.real, mirror.imag, mirror.imag, -mirror.real),
        ):
            yield (a, b, c, d, float(first[0]) - a * p - c * q, float(first[1]) - b * p - d * q)
