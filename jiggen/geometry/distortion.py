"""The plane affine map that measured bars imply, and what it does to an angle.

A printer stretches the page along x and along y, each by its own factor, and may close or open
the corner between them. Two bars give the factors; the two diagonals of a square give the
corner. The map keeps the direction of the x axis:

    x' = scale_x x + scale_y sin(skew) y
    y' =             scale_y cos(skew) y

so a positive skew closes the corner between x and y below 90 degrees and makes the rising
diagonal the longer one. A turn of the whole page is left out: it changes no length and no angle.
If skew were ignored, a guide could pass its bars and still send the bit off to one side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from jiggen.geometry.frame import Array
from jiggen.geometry.leastsquares import WithDoubt, propagated, weighted_fit, widening

Vector = tuple[float, float]

_ALONG = 1e-3
"""A length this close (as a slope) to an axis tells nothing about the other axis."""

SKEW_UNMEASURED = math.radians(0.2)
"""Standard uncertainty of a skew that nobody measured.

Twice this is 0.4 deg, 1.3 mm over the width of a page, which shows against the paper's edge; a
printer that is worse is noticed. Common practice, no published source.
"""

SCALES_APART = 0.02
"""Standard uncertainty of the difference of the two scales where only one of them was measured.

Fitting a page to another paper changes both alike; printers differ by axis by 0.1 to 0.5 %, in
poor cases by more than 2 %. From memory and common practice, no published source.
"""

SCALE_UNMEASURED = 0.05
"""Standard uncertainty of the scale where nothing was measured: covers a page fitted to another
paper (A4 on Letter, 0.94). Derived from the paper sizes."""


class Distortion(Struct, frozen=True, kw_only=True):
    """What a printer or cutter does to a drawing."""

    scale_x: float = 1.0  # what becomes of 1 along x
    scale_y: float = 1.0  # what becomes of 1 along y
    skew: float = 0.0  # radians by which the corner between x and y closes

    def __post_init__(self) -> None:
        """Refuse a map that turns the page inside out or flattens it."""
        sizes_good = all(math.isfinite(s) and s > 0.0 for s in (self.scale_x, self.scale_y))
        if not (sizes_good and abs(self.skew) < math.pi / 2.0):
            raise ValueError(
                f"no printer does this: scale_x {self.scale_x}, scale_y {self.scale_y}, "
                f"skew {self.skew} rad"
            )

    @property
    def matrix(self) -> Array:
        """Return the (2, 2) float64 matrix of the map."""
        return np.array(
            [
                [self.scale_x, self.scale_y * math.sin(self.skew)],
                [0.0, self.scale_y * math.cos(self.skew)],
            ]
        )

    @property
    def inverse(self) -> Array:
        """Return the (2, 2) float64 matrix that a page is drawn with so that it comes out true."""
        inverse: Array = np.linalg.inv(self.matrix).astype(np.float64)
        return inverse

    def vector(self, v: Vector) -> Vector:
        """Return what becomes of the vector `v` (mm)."""
        across = self.scale_x * v[0] + self.scale_y * math.sin(self.skew) * v[1]
        return (across, self.scale_y * math.cos(self.skew) * v[1])

    def length(self, v: Vector) -> float:
        """Return the length that is printed for the vector `v`, mm."""
        return math.hypot(*self.vector(v))

    def combined(self, after: Distortion) -> Distortion:
        """Return this distortion followed by another, less the turn between them.

        A page already corrected for this distortion and measured again as `after` came from a
        printer that does the combination; correcting for that refines the first correction.

        Source: derived: the upper-triangular part of the product of the two matrices.
        """
        return from_matrix(after.matrix @ self.matrix)


def from_matrix(matrix: Array) -> Distortion:
    """Return the distortion with the same lengths and angles as a plane linear map.

    Args:
        matrix: (2, 2) float64; its turn is left out.

    Raises:
        ValueError: the map mirrors the page or flattens it.

    Source: derived: lengths of the images of the two axes and the angle between them.
    """
    (a, c), (b, d) = matrix.tolist()
    turn = math.atan2(a * d - b * c, a * c + b * d)
    return Distortion(scale_x=math.hypot(a, b), scale_y=math.hypot(c, d), skew=math.pi / 2.0 - turn)


def undone_by(correction: Sequence[float]) -> Distortion:
    """Return the distortion that a print correction undoes.

    Args:
        correction: a, b, c, d of the map x' = a x + c y, y' = b x + d y that a page was drawn with.

    Raises:
        ValueError: the map mirrors the page or flattens it.

    Source: derived: the inverse of the inverse.
    """
    a, b, c, d = correction
    try:
        return from_matrix(np.linalg.inv(np.array([[a, c], [b, d]])).astype(np.float64))
    except np.linalg.LinAlgError:
        raise ValueError(f"no page is drawn with the correction {list(correction)}") from None


class Bar(Struct, frozen=True, kw_only=True):
    """A straight length on the sheet, as drawn and as measured."""

    vector: Vector  # from one end to the other on the drawing, mm
    measured: float  # mm
    standard: float  # standard uncertainty of the reading, mm

    @property
    def nominal(self) -> float:
        """Return the length on the drawing, mm."""
        return math.hypot(*self.vector)


class Estimate(Struct, frozen=True, kw_only=True):
    """A distortion with its uncertainty."""

    distortion: Distortion  # the most likely map
    covariance: Array  # (3, 3) float64 of scale_x, scale_y, skew (rad)
    residuals: tuple[float, ...]  # mm, measured less fitted, one a bar
    chi_square: float  # of the residuals, in their standard uncertainties
    chance: float  # the chance that honest readings disagree this much; 1 if nothing is left over
    skew_measured: bool  # False where the skew is only bounded by `SKEW_UNMEASURED`
    # along x and along y; False where only an assumption bounds it
    scales_measured: tuple[bool, bool]

    @property
    def standards(self) -> tuple[float, float, float]:
        """Return the standard uncertainties of scale_x, scale_y and skew (rad)."""
        x, y, skew = np.sqrt(np.diag(self.covariance)).tolist()
        return (x, y, skew)


def estimate(bars: Sequence[Bar]) -> Estimate:
    """Return the distortion that the measured bars and diagonals imply.

    Weighted least squares over all of them. What they cannot tell (the skew without a diagonal,
    a scale without a bar) is assumed, with the wide uncertainties named above. Readings that
    disagree by more than their steps allow widen the uncertainty of everything.

    Args:
        bars: any straight lengths on one sheet, in any direction.

    Returns:
        The estimate; its residuals are in the order of `bars`.

    Raises:
        ValueError: a bar has no length, or no uncertainty above zero, or no map explains them.

    Source: derived: the length of a mapped vector and its derivatives.
    """
    for bar in bars:
        if not (bar.nominal > 0.0 and bar.measured > 0.0 and bar.standard > 0.0):
            raise ValueError("a bar needs a length, a reading and an uncertainty above zero")
    vectors = np.array([bar.vector for bar in bars], dtype=np.float64).reshape(-1, 2)
    readings = np.array([bar.measured for bar in bars], dtype=np.float64)
    standards = np.array([bar.standard for bar in bars], dtype=np.float64)
    scale_x_known, scale_y_known, skew_known, size_known = _what_is_known(vectors)
    size_known = size_known or scale_x_known or scale_y_known
    rows, assumed, widths = _assumptions(scale_x_known and scale_y_known, skew_known, size_known)

    def model(values: Array) -> tuple[Array, Array]:
        lengths, slopes = _lengths(values, vectors)
        return np.concatenate([lengths, rows @ values]), np.vstack([slopes, rows])

    fit = weighted_fit(
        model,
        np.array([1.0, 1.0, 0.0]),
        np.concatenate([readings, assumed]),
        np.concatenate([standards, widths]),
    )
    scale_x, scale_y, skew = fit.values.tolist()
    return Estimate(
        distortion=Distortion(scale_x=scale_x, scale_y=scale_y, skew=skew),
        covariance=fit.covariance * widening(fit.chi_square, fit.freedom),
        residuals=tuple(fit.residuals[: len(bars)].tolist()),
        chi_square=fit.chi_square,
        chance=fit.chance,
        skew_measured=skew_known,
        scales_measured=(scale_x_known, scale_y_known),
    )


def _what_is_known(vectors: Array) -> tuple[bool, bool, bool, bool]:
    """Return whether scale_x, scale_y, skew and the mean scale follow from lengths along these."""
    if vectors.shape[0] == 0:
        return (False, False, False, False)
    _, slopes = _lengths(np.array([1.0, 1.0, 0.0]), vectors)
    slopes = slopes / np.linalg.norm(vectors, axis=1)[:, None]
    rank = int(np.linalg.matrix_rank(slopes, tol=_ALONG))
    asked = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.5, 0.5, 0.0]])
    scale_x, scale_y, skew, size = (
        int(np.linalg.matrix_rank(np.vstack([slopes, row]), tol=_ALONG)) == rank for row in asked
    )
    return (scale_x, scale_y, skew, size)


def _assumptions(
    scales_known: bool, skew_known: bool, size_known: bool
) -> tuple[Array, Array, Array]:
    """Return what stands in for readings that nobody took: rows, their values, their widths."""
    taken = []
    if not skew_known:
        taken.append(((0.0, 0.0, 1.0), 0.0, SKEW_UNMEASURED))
    if not scales_known:
        taken.append(((1.0, -1.0, 0.0), 0.0, SCALES_APART))
    if not size_known:
        taken.append(((0.5, 0.5, 0.0), 1.0, SCALE_UNMEASURED))
    rows = np.array([row for row, _, _ in taken], dtype=np.float64).reshape(-1, 3)
    return rows, np.array([value for _, value, _ in taken]), np.array([w for _, _, w in taken])


def _lengths(values: Array, vectors: Array) -> tuple[Array, Array]:
    """Return the printed lengths of (n, 2) `vectors` and their (n, 3) derivatives."""
    scale_x, scale_y, skew = values
    sin, cos = np.sin(skew), np.cos(skew)
    x, y = vectors[:, 0], vectors[:, 1]
    along, up = scale_x * x + scale_y * sin * y, scale_y * cos * y
    lengths = np.hypot(along, up)
    slopes = np.column_stack(
        [along * x, along * sin * y + up * cos * y, scale_y * y * (along * cos - up * sin)]
    )
    return lengths, slopes / lengths[:, None]


def corner(u: Vector, v: Vector) -> float:
    """Return the angle between two directions, radians in [0, pi].

    Source: derived: atan2 of cross and dot product; acos of a rounded cosine loses small angles.
    """
    return math.atan2(abs(u[0] * v[1] - u[1] * v[0]), u[0] * v[0] + u[1] * v[1])


def printed_angle(found: Estimate, base: Vector, working: Vector) -> WithDoubt:
    """Return the angle that a drawn corner has on the sheet, radians in [0, pi], with its doubt.

    Args:
        found: the sheet's distortion.
        base: direction of the base edge on the sheet, away from the corner, any length.
        working: direction of the working edge, away from the corner.

    Source: derived: design geometry "Printed truth", the angle between A u and A v.
    """
    value = corner(found.distortion.vector(base), found.distortion.vector(working))
    # The sign of the turn from base to working edge does not matter: the slopes are squared.
    slopes = _direction_slopes(found.distortion, working) - _direction_slopes(
        found.distortion, base
    )
    variance = float(propagated(slopes[None, :], found.covariance)[0, 0])
    return WithDoubt(value=value, standard=math.sqrt(variance))


def _direction_slopes(distortion: Distortion, v: Vector) -> Array:
    """Return the derivatives of a mapped direction by scale_x, scale_y and skew, radians."""
    along, up = distortion.vector(v)
    sin, cos = math.sin(distortion.skew), math.cos(distortion.skew)
    moves = (
        (v[0], 0.0),
        (sin * v[1], cos * v[1]),
        (distortion.scale_y * cos * v[1], -distortion.scale_y * sin * v[1]),
    )
    square = along * along + up * up
    return np.array([(along * dy - up * dx) / square for dx, dy in moves])


def printed_length(found: Estimate, vector: Vector) -> WithDoubt:
    """Return the length that a drawn line has on the sheet, mm, with its doubt.

    Source: derived: the length of the mapped vector.
    """
    d = found.distortion
    lengths, slopes = _lengths(
        np.array([d.scale_x, d.scale_y, d.skew]), np.array([vector], dtype=np.float64)
    )
    variance = float(propagated(slopes, found.covariance)[0, 0])
    return WithDoubt(value=float(lengths[0]), standard=math.sqrt(variance))
