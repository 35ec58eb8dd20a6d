"""Weighted least squares and first-order propagation: how readings become values with a plus-minus.

Every reading has a standard uncertainty. The fit weighs each by it, says how far each reading is
from the fitted value, and gives the covariance of what was found, so that an angle worked out of
it can be given its own plus-minus. Verdicts use the standard uncertainty times `COVERAGE`.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from msgspec import Struct

from jiggen.geometry.frame import Array

COVERAGE = 2.0
"""What a standard uncertainty is multiplied by for a verdict: about 95 % (JCGM 100:2008, 6.3.3)."""

BY_EYE = 0.1
"""mm, standard: what sighting the edges of two lines adds to a rule's step. Common practice, no
published source."""

BY_CALLIPER = 0.03
"""mm, standard: how far two readings of one length by one hand and one calliper lie apart, burr and
grip included, however fine its step. Common practice, no published source."""

MOST_STEPS = 50
CONVERGED = 1e-12
"""A step below this, relative to the size of the values, ends the search."""


def standard_from_step(step: float) -> float:
    """Return the standard uncertainty of one reading of a rule or calliper with this step.

    The true length lies anywhere within half a step of the reading, each value as likely:
    a uniform distribution, half-width over root three.

    Args:
        step: the smallest step that is read, in the reading's unit.

    Raises:
        ValueError: the step is not a positive number.

    Source: JCGM 100:2008 (GUM), 4.3.7 and F.2.2.1 (from memory).
    """
    if not (math.isfinite(step) and step > 0.0):
        raise ValueError(f"the step of a rule must be above zero, given {step}")
    return step / 2.0 / math.sqrt(3.0)


def standard_of_reading(step: float, repeats: float) -> float:
    """Return the standard uncertainty of a reading that falls on a step and does not repeat better.

    Args:
        step: as in `standard_from_step`.
        repeats: standard deviation of the same length read again, same unit.

    Source: JCGM 100:2008 (GUM), 5.1.2 (from memory).
    """
    return math.hypot(standard_from_step(step), repeats)


def propagated(sensitivity: Array, covariance: Array) -> Array:
    """Return the covariance of results from the covariance of what they were worked out of.

    Args:
        sensitivity: (m, n) float64, the change of each result per unit of each input.
        covariance: (n, n) float64, of the inputs.

    Source: JCGM 100:2008 (GUM), 5.2.2 equation (13) and H.2 (from memory).
    """
    result: Array = sensitivity @ covariance @ sensitivity.T
    return result


class WithDoubt(Struct, frozen=True, kw_only=True):
    """A value with its standard uncertainty, in the same unit (mm or rad)."""

    value: float
    standard: float


class Fit(Struct, frozen=True, kw_only=True):
    """What a weighted least-squares fit found."""

    values: Array  # (n,) float64, the fitted values
    covariance: Array  # (n, n) float64, from the readings' stated uncertainties
    residuals: Array  # (m,) float64, reading minus fitted reading, in the readings' units
    chi_square: float  # sum of the squared residuals over their standard uncertainties
    freedom: int  # readings beyond those needed, m - n

    @property
    def chance(self) -> float:
        """Return the chance that honest readings disagree by this much or more; 1 if none can."""
        return chance_of_chi_square(self.chi_square, self.freedom)


def weighted_fit(
    model: Callable[[Array], tuple[Array, Array]],
    start: Array,
    readings: Array,
    standards: Array,
) -> Fit:
    """Return the values that best explain the readings, each weighed by its own uncertainty.

    Gauss-Newton on the weighted residuals; for a linear model the first step is the answer.

    Args:
        model: takes (n,) values, gives the (m,) readings they imply and their (m, n) derivatives.
        start: (n,) float64, where to begin.
        readings: (m,) float64.
        standards: (m,) float64, standard uncertainty of each reading, above zero.

    Raises:
        ValueError: the readings do not determine the values, or the search does not settle.

    Source: JCGM 100:2008 (GUM), H.3 (least squares); Gauss-Newton from memory.
    """
    values = start.astype(np.float64)
    for _ in range(MOST_STEPS):
        predicted, slopes = model(values)
        weighted = slopes / standards[:, None]
        step, _, rank, _ = np.linalg.lstsq(
            weighted, (readings - predicted) / standards, rcond=1e-10
        )
        if rank < values.size:
            raise ValueError("the readings do not determine what is asked of them")
        values = values + step
        if np.all(np.abs(step) <= CONVERGED * (1.0 + np.abs(values))):
            break
    else:
        raise ValueError("no values explain these readings: the search does not settle")
    predicted, slopes = model(values)
    weighted = slopes / standards[:, None]
    residuals = readings - predicted
    covariance: Array = np.linalg.inv(weighted.T @ weighted).astype(np.float64)
    return Fit(
        values=values,
        covariance=covariance,
        residuals=residuals,
        chi_square=float(np.sum((residuals / standards) ** 2)),
        freedom=readings.size - values.size,
    )


def widening(chi_square: float, freedom: int) -> float:
    """Return what a variance is multiplied by where readings disagree more than they should.

    The step of a rule says nothing about sighting a line's edge; the readings themselves do.

    Args:
        chi_square: of what is left over.
        freedom: degrees of freedom.

    Source: the square of Birge's ratio (1932), where it is above 1; from memory.
    """
    return max(1.0, chi_square / freedom) if freedom > 0 else 1.0


def chance_of_chi_square(chi_square: float, freedom: int) -> float:
    """Return the chance that a chi-square of this size or larger comes from honest readings.

    Args:
        chi_square: at least zero.
        freedom: degrees of freedom.

    Returns:
        A probability, 0 to 1; 1 without freedom, since nothing is left over to disagree.

    Raises:
        ValueError: the chi-square lies below zero.

    Source: the recurrence of the upper tail over the degrees of freedom, Abramowitz and Stegun
    26.4.4 to 26.4.8 (from memory); held against scipy in the tests.
    """
    if not chi_square >= 0.0:
        raise ValueError(f"no chi-square {chi_square}")
    if freedom < 1:
        return 1.0
    half = chi_square / 2.0
    odd = freedom % 2 == 1
    tail = math.erfc(math.sqrt(half)) if odd else math.exp(-half)
    for twice in range(3 if odd else 4, freedom + 1, 2):
        order = twice / 2.0 - 1.0
        if half > 0.0:
            tail += math.exp(order * math.log(half) - half - math.lgamma(order + 1.0))
    return min(tail, 1.0)
