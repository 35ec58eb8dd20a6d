"""Printed scale: arithmetic rows of the trade sheet, and other people's least squares."""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from jiggen.geometry.coupon import kerf_from_fingers
from jiggen.geometry.distortion import Bar, Distortion, estimate, printed_angle
from jiggen.geometry.leastsquares import standard_from_step


def bars(made, vectors, rng=None, standard=0.1):
    """Return readings of lengths that a matrix printed, with noise if asked for."""
    found = []
    for v in vectors:
        true = float(np.linalg.norm(made @ np.array(v)))
        noise = rng.normal(0, standard) if rng else 0.0
        found.append(Bar(vector=v, measured=true + noise, standard=standard))
    return found


def test_a_bar_of_98_5_for_100_is_corrected_by_1_01523() -> None:
    """Source: trade sheet table A row 42, arithmetic. DERIVED."""
    found = estimate([Bar(vector=(100.0, 0.0), measured=98.5, standard=0.1)]).distortion
    assert found.scale_x == pytest.approx(0.985, abs=1e-9)
    assert found.inverse[0, 0] == pytest.approx(1.01523, abs=1e-5)


def test_a_line_10_deg_off_x_prints_at_9_9020_deg_where_y_is_99_of_100() -> None:
    """Source: trade sheet table A row 43, tan' = 0.99 tan. DERIVED."""
    found = estimate(
        [
            Bar(vector=(100.0, 0.0), measured=100.0, standard=0.1),
            Bar(vector=(0.0, 100.0), measured=99.0, standard=0.1),
        ]
    )
    ten = math.radians(10.0)
    there = printed_angle(found, (1.0, 0.0), (math.cos(ten), math.sin(ten)))
    assert math.degrees(there.value) == pytest.approx(9.9020, abs=1e-4)


def test_a_gap_of_37_thousandths_over_11_cuts_is_a_kerf_of_3_36_thousandths() -> None:
    """Source: trade sheet table A row 40, a university's workshop page (rice.edu). READ."""
    gap = 0.037 * 25.4
    found = kerf_from_fingers(gap, 0.0, 11, standard_from_step(0.001 * 25.4))
    assert found.value / 25.4 == pytest.approx(0.00336, abs=1e-5)


def test_bars_and_diagonals_agree_with_numpys_own_linear_least_squares() -> None:
    """Squared lengths are linear in the metric tensor A^T A, which numpy solves in one step.

    Source: linear algebra, numpy.linalg.lstsq as the reference solver.
    """
    vectors = [(100, 0), (0, 100), (100, 100), (100, -100), (50.8, 0), (0, 101.6), (60, 80)]
    rng = np.random.default_rng(8)
    for _ in range(50):
        made = np.array([[rng.uniform(0.94, 1.06), 0.0], [0.0, rng.uniform(0.94, 1.06)]])
        made[0, 1] = rng.uniform(-0.01, 0.01)
        readings = bars(made, vectors)
        rows = np.array([[v[0] ** 2, 2 * v[0] * v[1], v[1] ** 2] for v in vectors])
        squares = np.array([bar.measured**2 for bar in readings])
        (xx, xy, yy), *_ = np.linalg.lstsq(rows, squares, rcond=None)
        found = estimate(readings).distortion
        assert found.scale_x == pytest.approx(math.sqrt(xx), rel=1e-9)
        assert found.scale_y == pytest.approx(math.sqrt(yy), rel=1e-9)
        assert math.sin(found.skew) == pytest.approx(xy / math.sqrt(xx * yy), abs=1e-9)


def test_over_determined_noisy_readings_agree_with_scipys_least_squares() -> None:
    """Source: scipy.optimize.least_squares as the reference solver, values and covariance."""
    vectors = [(100, 0), (0, 100), (100, 100), (100, -100), (180, 0), (0, 250)]
    rng = np.random.default_rng(9)
    for _ in range(20):
        readings = bars(np.array([[0.985, 0.004], [0.0, 1.012]]), vectors, rng)

        def off(p: np.ndarray, readings: list[Bar] = readings) -> np.ndarray:
            made = np.array([[p[0], p[1] * np.sin(p[2])], [0.0, p[1] * np.cos(p[2])]])
            return np.array(
                [
                    (np.linalg.norm(made @ np.array(bar.vector)) - bar.measured) / bar.standard
                    for bar in readings
                ]
            )

        best = least_squares(off, [1.0, 1.0, 0.0], xtol=1e-15, ftol=1e-15, gtol=1e-15)
        found = estimate(readings)
        made = found.distortion
        assert (made.scale_x, made.scale_y, made.skew) == pytest.approx(tuple(best.x), abs=1e-8)
        covariance = np.linalg.inv(best.jac.T @ best.jac)
        # Ours is widened where the readings disagree by more than their doubt.
        widening = max(1.0, 2 * best.cost / 3)
        assert found.covariance == pytest.approx(covariance * widening, rel=1e-4, abs=1e-12)
        assert found.residuals == pytest.approx(
            [-r * bar.standard for r, bar in zip(best.fun, readings, strict=True)], abs=1e-6
        )


def test_the_named_matrix_is_that_of_the_three_numbers() -> None:
    """Source: definition in the design pages; the x axis keeps its direction. DERIVED."""
    made = Distortion(scale_x=0.985, scale_y=1.012, skew=math.radians(0.3)).matrix
    corner = math.acos(made[:, 0] @ made[:, 1] / np.prod(np.linalg.norm(made, axis=0)))
    assert math.degrees(corner) == pytest.approx(90.0 - 0.3, abs=1e-9)
    assert made[1, 0] == 0.0
