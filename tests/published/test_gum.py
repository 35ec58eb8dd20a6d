"""The GUM's own worked examples, through the propagation and the fit that verdicts use.

Source: JCGM 100:2008 (GUM), annex H.2 (resistance and reactance, correlated inputs) and H.3
(calibration of a thermometer, least squares). READ-2nd: the input values and the results, to the
digits given here, as reprinted in the documentation of a national metrology institute's
uncertainty calculator (pages "GUM H2" and "GUM H3"); the Guide itself was not opened.
"""

import math

import numpy as np
import pytest

from jiggen.geometry.leastsquares import propagated, weighted_fit

H2_VALUES = (4.999, 19.661e-3, 1.04446)  # volt, ampere, radian
H2_DOUBTS = (3.2e-3, 9.5e-6, 7.5e-4)
H2_CORRELATIONS = ((1.0, -0.36, 0.86), (-0.36, 1.0, -0.65), (0.86, -0.65, 1.0))

H3_READINGS = (
    *(21.521, 22.012, 22.512, 23.003, 23.507, 23.999),
    *(24.513, 25.002, 25.503, 26.010, 26.511),
)
H3_CORRECTIONS = (
    *(-0.171, -0.169, -0.166, -0.159, -0.164, -0.165),
    *(-0.156, -0.157, -0.159, -0.161, -0.160),
)


def test_correlated_readings_are_propagated_as_in_the_guides_resistance_example() -> None:
    """The skew and the two scales are correlated; dropping that misstates every angle's doubt."""
    v, i, phi = H2_VALUES
    doubts = np.diag(H2_DOUBTS)
    covariance = doubts @ np.array(H2_CORRELATIONS) @ doubts
    sensitivity = np.array(
        [
            [math.cos(phi) / i, -v * math.cos(phi) / i**2, -v * math.sin(phi) / i],
            [math.sin(phi) / i, -v * math.sin(phi) / i**2, v * math.cos(phi) / i],
            [1 / i, -v / i**2, 0.0],
        ]
    )
    values = (v * math.cos(phi) / i, v * math.sin(phi) / i, v / i)
    out = propagated(sensitivity, covariance)
    standards = np.sqrt(np.diag(out))
    correlations = out / np.outer(standards, standards)
    assert values == pytest.approx((127.732, 219.85, 254.26), abs=0.005)
    # R = 127.732(70), X = 219.85(30), Z = 254.26(24)
    assert standards == pytest.approx((0.070, 0.30, 0.24), abs=0.005)
    assert correlations[0, 1] == pytest.approx(-0.59, abs=0.005)
    assert correlations[0, 2] == pytest.approx(-0.49, abs=0.005)
    assert correlations[1, 2] == pytest.approx(0.99, abs=0.005)


def test_without_the_correlations_the_resistance_example_comes_out_wrong() -> None:
    """Shows that the check above does see the correlations."""
    v, i, phi = H2_VALUES
    row = np.array([[math.cos(phi) / i, -v * math.cos(phi) / i**2, -v * math.sin(phi) / i]])
    alone = propagated(row, np.diag(np.square(H2_DOUBTS)))
    assert math.sqrt(alone[0, 0]) > 0.18


def test_the_fit_gives_the_guides_thermometer_line_and_its_doubts() -> None:
    """The same fit turns bars and diagonals into scales and skew."""
    t = np.array(H3_READINGS) - 20.0
    b = np.array(H3_CORRECTIONS)

    def line(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return values[0] + values[1] * t, np.column_stack([np.ones_like(t), t])

    # The guide takes the readings' own scatter, with 9 degrees of freedom, for their doubt.
    scatter = weighted_fit(line, np.zeros(2), b, np.ones(11))
    assert scatter.freedom == 9
    assert scatter.chi_square == pytest.approx(0.000110096583109, rel=1e-9)
    s = math.sqrt(scatter.chi_square / scatter.freedom)
    fit = weighted_fit(line, np.zeros(2), b, np.full(11, s))
    standards = np.sqrt(np.diag(fit.covariance))
    assert fit.values[0] == pytest.approx(-0.1712, abs=5e-5)
    assert fit.values[1] == pytest.approx(0.00218, abs=5e-6)
    assert standards[0] == pytest.approx(0.0029, abs=5e-5)
    assert standards[1] == pytest.approx(0.00067, abs=5e-6)
    correlation = fit.covariance[0, 1] / (standards[0] * standards[1])
    assert correlation == pytest.approx(-0.93, abs=0.005)
    # Correction at 30 deg C: -0.1494(41)
    row = np.array([[1.0, 10.0]])
    assert float((row @ fit.values)[0]) == pytest.approx(-0.1494, abs=5e-5)
    assert math.sqrt(propagated(row, fit.covariance)[0, 0]) == pytest.approx(0.0041, abs=5e-5)
