"""The real tilt of a drilled test hole, from where it enters and leaves a piece of scrap.

Drill a hole in flat scrap of known thickness with the guide or block that is to be proved, and
measure from two edges of the scrap, square to one another, to the hole on the near face and on
the far face. The difference over the thickness is the tilt, which no protractor on a bit shows.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from jiggen.geometry.frame import Array, Point
from jiggen.geometry.leastsquares import propagated, widening


class TestHole(Struct, frozen=True, kw_only=True):
    """One hole in flat scrap."""

    __test__ = False  # the name starts with Test, but it is no test case

    entry: Point  # distance of the hole from the two edges on the near face, along x and y, mm
    exit: Point  # the same on the far face, from the same two edges, mm
    thickness: float  # of the scrap, mm
    standard: float  # standard uncertainty of each of the four distances, mm
    thickness_standard: float  # standard uncertainty of the thickness, mm


class Tilt(Struct, frozen=True, kw_only=True):
    """How far a drilled axis leans from the square to the face."""

    x: float  # radians, positive where the exit lies further along x than the entry
    y: float  # the same along y
    covariance: Array  # (2, 2) float64 of x and y, rad^2

    @property
    def standards(self) -> tuple[float, float]:
        """Return the standard uncertainties of the tilt along x and along y, radians."""
        x, y = np.sqrt(np.diag(self.covariance)).tolist()
        return (x, y)


def drilled_tilt(holes: Sequence[TestHole]) -> Tilt:
    """Return the tilt that one or more test holes show, the mean weighed by their doubts.

    Args:
        holes: drilled with the same guide in the same position.

    Raises:
        ValueError: no hole, or a thickness or uncertainty not above zero.

    Source: derived: atan(offset / thickness); weighted mean and propagation as in JCGM 100:2008.
    """
    if not holes:
        raise ValueError("a tilt needs at least one test hole")
    tilts, weights = [], []
    for hole in holes:
        tilt, covariance = _one(hole)
        tilts.append(tilt)
        weights.append(np.linalg.inv(covariance))
    covariance = np.linalg.inv(np.sum(weights, axis=0))
    mean = covariance @ np.sum([w @ t for w, t in zip(weights, tilts, strict=True)], axis=0)
    off = [tilt - mean for tilt in tilts]
    chi_square = float(sum(o @ w @ o for o, w in zip(off, weights, strict=True)))
    return Tilt(
        x=float(mean[0]),
        y=float(mean[1]),
        covariance=covariance * widening(chi_square, 2 * (len(holes) - 1)),
    )


def _one(hole: TestHole) -> tuple[Array, Array]:
    """Return one hole's tilt along x and y, and its covariance."""
    if not (hole.thickness > 0.0 and hole.standard > 0.0 and hole.thickness_standard >= 0.0):
        raise ValueError("a test hole needs a thickness and an uncertainty above zero")
    offset = np.array([hole.exit[0] - hole.entry[0], hole.exit[1] - hole.entry[1]])
    # d atan(o/t) = (t do - o dt) / (t^2 + o^2); both faces are read, so do has two readings in it.
    square = hole.thickness**2 + offset**2
    sensitivity = np.column_stack([np.diag(hole.thickness / square), -offset / square])
    inputs = np.diag([2.0 * hole.standard**2, 2.0 * hole.standard**2, hole.thickness_standard**2])
    return np.arctan2(offset, hole.thickness), propagated(sensitivity, inputs)
