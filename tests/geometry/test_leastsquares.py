import math

import numpy as np
import pytest
from scipy.stats import chi2

from jiggen.geometry.leastsquares import (
    chance_of_chi_square,
    standard_from_step,
    standard_of_reading,
    weighted_fit,
    widening,
)


def test_a_step_of_half_a_millimetre_leaves_a_standard_doubt_of_0_14_mm() -> None:
    """If the rule's step were taken for its uncertainty, every verdict would be too shy."""
    assert standard_from_step(0.5) == pytest.approx(0.5 / math.sqrt(12), rel=1e-15)
    readings = np.random.default_rng(5).uniform(-0.25, 0.25, 200_000)
    assert standard_from_step(0.5) == pytest.approx(readings.std(), rel=0.01)


def test_a_fine_step_does_not_make_a_hand_that_repeats_no_better() -> None:
    """A calliper of 0.01 mm in a hand of 0.03 reads to 0.03: simulated, and GUM 5.1.2."""
    rng = np.random.default_rng(9)
    for step, repeats in ((0.05, 0.03), (0.01, 0.03), (0.5, 0.1)):
        true = rng.uniform(10.0, 20.0, 200_000)
        read = np.round((true + rng.normal(0.0, repeats, true.size)) / step) * step
        assert standard_of_reading(step, repeats) == pytest.approx((read - true).std(), rel=0.01)


@pytest.mark.parametrize("bad", [0.0, -0.1, math.nan, math.inf])
def test_a_rule_without_a_step_is_refused(bad: float) -> None:
    """A perfect rule would outweigh every honest one."""
    with pytest.raises(ValueError, match="above zero"):
        standard_from_step(bad)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 8, 13, 40])
@pytest.mark.parametrize("size", [0.0, 0.01, 0.7, 3.84, 11.0, 60.0])
def test_the_chance_of_a_quarrel_is_that_of_scipy(freedom: int, size: float) -> None:
    """A wrong tail would call honest readings contradictory, or let a slip pass."""
    assert chance_of_chi_square(size, freedom) == pytest.approx(
        chi2.sf(size, freedom), rel=1e-10, abs=1e-300
    )


def test_without_freedom_nothing_can_disagree() -> None:
    """A reading too few to check is no contradiction, and no reason to doubt it more."""
    assert chance_of_chi_square(3.0, 0) == 1.0
    assert widening(3.0, 0) == 1.0
    assert (widening(3.0, 2), widening(1.0, 2)) == (1.5, 1.0)


def test_readings_that_leave_a_value_open_are_refused() -> None:
    """A value that nothing determines must not come out as a number."""

    def model(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return np.array([values[0] + values[1]]), np.array([[1.0, 1.0]])

    with pytest.raises(ValueError, match="do not determine"):
        weighted_fit(model, np.zeros(2), np.array([1.0]), np.array([0.1]))
