"""Straightness against published worked examples."""

import numpy as np
import pytest

from jiggen.geometry.straightness import straightness

# A 1987 laser measurement user's guide, section 21, pp. 21-3, 21-4 and 21-7: both tables READ.
# X in m, Y in micrometres. The guide's own equation of axis 2 has a misprint (20.67X); its tables
# and slopes are used.
AXIS_1 = [-0.3, 0.9, 1.5, 2.5, 2.9, 3.6, 4.2, 5.1, 5.9, 7.2]
AXIS_2 = [-0.5, -1.2, -2.5, -3.8, -4.0, -4.8, -5.9, -6.2, -7.4, -8.8]


@pytest.mark.parametrize(
    ("pitch", "readings", "ends", "least_squares"),
    [(0.1, AXIS_1, 8.33, 7.65), (0.05, AXIS_2, -18.44, -17.42)],
)
def test_slopes_are_those_of_the_guide(
    pitch: float, readings: list[float], ends: float, least_squares: float
) -> None:
    """A line laid wrongly shows a bow that is not there. Published slopes, READ, two decimals."""
    found = straightness(np.arange(10) * pitch, readings)
    assert found.ends.slope == pytest.approx(ends, abs=0.005)
    assert found.least_squares.slope == pytest.approx(least_squares, abs=0.005)


def test_readings_off_the_line_through_the_ends_are_those_of_the_guide() -> None:
    """The bow is named by these numbers. Published residuals of axis 1, READ, one decimal."""
    found = straightness(np.arange(10) * 0.1, AXIS_1)
    off = found.off - found.ends.over(found.at)
    published = [0.0, 0.4, 0.1, 0.3, -0.1, -0.3, -0.5, -0.4, -0.5, 0.0]
    assert off.tolist() == pytest.approx(published, abs=0.051)
    assert found.largest.at == pytest.approx(0.6)
    assert found.largest.value == pytest.approx(-0.5)


@pytest.mark.parametrize(
    ("pitch", "readings", "ends", "fitted", "zone"),
    [
        (0.1, AXIS_1, 0.8667, 0.7036, 0.6500),
        (0.05, AXIS_2, 1.2889, 1.0836, 0.9333),
        # Autocollimator course notes, READ (columns rebuilt from garbled text): cumulative heights
        # each 100 mm; the notes state 3 off the line through the ends.
        (100.0, [0.0, 0.0, 1.5, 5.0, 4.0, 4.0, 6.0], 3.0000, 3.0357, 3.0000),
    ],
)
def test_ranges_and_minimum_zone_of_the_published_readings(
    pitch: float, readings: list[float], ends: float, fitted: float, zone: float
) -> None:
    """The zone is what the limit is on. DERIVED from the READ tables, by hull and by slope scan."""
    found = straightness(np.arange(len(readings)) * pitch, readings)
    assert found.ends_range == pytest.approx(ends, abs=5e-5)
    assert found.least_squares_range == pytest.approx(fitted, abs=5e-5)
    assert found.zone.width == pytest.approx(zone, abs=5e-5)


@pytest.mark.parametrize(("pitch", "readings"), [(0.1, AXIS_1), (0.05, AXIS_2)])
def test_no_slope_of_a_fine_scan_encloses_the_published_readings_more_narrowly(
    pitch: float, readings: list[float]
) -> None:
    """A search that knows nothing of hulls must end at the same width."""
    x, y = np.arange(10) * pitch, np.array(readings)
    slopes = np.linspace(-30.0, 30.0, 600_001)
    widths = np.ptp(y[:, None] - x[:, None] * slopes, axis=0)
    zone = straightness(x, y).zone
    assert zone.width <= widths.min() + 1e-12
    assert zone.width == pytest.approx(widths.min(), abs=1e-4)
    assert zone.middle.slope == pytest.approx(slopes[widths.argmin()], abs=1e-3)
