"""Wedge arithmetic against published right triangles: bend chart, sine bar, and shop practice."""

import math

import numpy as np
import pytest

from jiggen.geometry import measured as forms
from jiggen.geometry.frame import guide_angle
from jiggen.geometry.holes import thickness
from jiggen.geometry.wedge import Wedge

# AC 43.13-1B p. 4-15, Table 4-7, K = tan(A/2), READ (landseaskyspace.com/ac4313/p4-15.html).
# 3, 5, 10 and 100 deg are cut off, not rounded, in the print.
K_CHART = [
    (1, 0.0087),
    (3, 0.0261),
    (5, 0.0436),
    (6, 0.0524),
    (8, 0.0699),
    (10, 0.0874),
    (20, 0.1763),
    (45, 0.4142),
    (90, 1.000),
]


@pytest.mark.parametrize(("degrees", "k"), K_CHART)
def test_wedge_thickness_is_twice_the_distance_by_the_bend_charts_k(
    degrees: float, k: float
) -> None:
    """Thickness is 2 x K for a sharp wedge, at any distance from its edge."""
    station = forms.from_included_angle(math.radians(degrees)).station(0.0, rear=(0.0, 0.0))
    for x in (1.0, 8.0):
        faces = Wedge(stations=(station,)).faces_at([0.0], x)
        assert float(thickness(faces, x)[0]) == pytest.approx(2 * x * k, abs=2e-4 * x)


# Sine bar of 5 in, height L sin A, READ: 18 deg 1.545 (shopdawg.com/sinebar.htm); 27 deg 2.270 (a
# sine-bar page); 23 deg 41 min 2.0084 and 30 deg 2.5000 (scienceinsights.org).
SINE_BAR = [(18.0, 1.545), (27.0, 2.270), (23 + 41 / 60, 2.0084), (30.0, 2.5000)]


@pytest.mark.parametrize(("degrees", "height"), SINE_BAR)
def test_a_sine_bar_is_a_one_sided_wedge_measured_along_its_face(
    degrees: float, height: float
) -> None:
    """Rise over slope length is a sine; both faces rising by it make twice the thickness."""
    found = forms.from_thickness(2 * height, 0.0, 5.0, "face")
    assert math.degrees(math.atan(found.slope_a)) == pytest.approx(degrees, abs=0.01)


def test_a_sine_bars_published_sensitivity() -> None:
    """.0001 in under a 5 in bar is .00132 deg at 30 deg and .00229 deg at 60 deg.

    Source: dA = dh/(L cos A), a machining forum, READ. The tool stops at 45 deg, so 30 only.
    """
    effect = forms.from_thickness(5.0, 0.0, 5.0, "face").effects["front"][0]
    assert math.degrees(2 * effect * 0.0001) == pytest.approx(0.00132, abs=5e-6)


def test_a_12_deg_wedge_takes_an_84_deg_corner() -> None:
    """Source: common practice, no published source."""
    found = forms.from_included_angle(math.radians(12.0))
    assert math.degrees(guide_angle(found.slope_a)) == pytest.approx(84.0, abs=1e-12)


def test_a_three_four_five_triangle() -> None:
    """Source: the 3-4-5 triangle, Euclid I.47; a face of slope 3/4 rises 36.8699 deg."""
    found = forms.from_offsets(3.0, 3.0, 0.0, 0.0, 4.0)
    assert np.degrees(np.arctan(found.slope_a)) == pytest.approx(36.8699, abs=5e-5)
