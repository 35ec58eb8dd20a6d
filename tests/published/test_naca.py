"""The outline input against the NACA four-digit sections.

Source: thickness and camber formulas of NACA Report 460 (Jacobs, Ward and Pinkerton, 1933), quoted
in tickerdossier.com/wiki/nacas (READ-2nd; the report itself was not read). Angles by derivative and
chord-of-segment columns: DERIVED from that formula. Coordinates marked READ are from shipped
coordinate files.
"""

import math

import numpy as np
import pytest

from jiggen.geometry.frame import Array
from jiggen.geometry.section import Section, section_from_outline

SQUARES = np.linspace(0.0, 1.0, 401) ** 2  # crowded toward the leading edge
COS = (1.0 - np.cos(np.linspace(0.0, math.pi, 401))) / 2.0

# section: angle at the edge; thickness of the edge / chord; chord angle over .95-1, .9-1, .8-1
TABLE = {
    "0006": (8.026, 0.00126, 7.787, 7.562, 7.144),
    "0008": (10.688, 0.00168, 10.370, 10.071, 9.516),
    "0009": (12.015, 0.00189, 11.658, 11.322, 10.699),
    "0010": (13.338, 0.00210, 12.942, 12.571, 11.880),
    "0012": (15.974, 0.00252, 15.502, 15.058, 14.234),
    "0015": (19.896, 0.00315, 19.312, 18.763, 17.741),
    "0018": (23.771, 0.00378, 23.079, 22.428, 21.215),
    "0021": (27.591, 0.00441, 26.796, 26.047, 24.651),
    "0024": (31.350, 0.00504, 30.457, 29.614, 28.041),
}


def thickness(of: Section, x: float) -> float:
    return of.height("a", x) + of.height("b", x)


def half_thickness(x: Array, t: float, last: float = -0.1015) -> Array:
    """Return y_t / chord, Report 460."""
    shape = 0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 + last * x**4
    return np.asarray(5 * t * shape)


def half_thickness_slope(x: float, t: float, last: float = -0.1015) -> float:
    """Return the derivative of y_t."""
    return 5 * t * (0.14845 / math.sqrt(x) - 0.1260 - 0.7032 * x + 0.8529 * x**2 + 4 * last * x**3)


def four_digit(name: str, x: Array, last: float = -0.1015) -> list[tuple[float, float]]:
    """Return an outline of chord 1 by the report's formulas, one loop from the trailing edge."""
    m, p, t = int(name[0]) / 100, int(name[1]) / 10, int(name[2:]) / 100
    y_t = half_thickness(x, t, last)
    if m == 0.0:
        y_c = slope = np.zeros_like(x)
    else:
        fore = x < p
        y_c = np.where(
            fore,
            m / p**2 * (2 * p * x - x**2),
            m / (1 - p) ** 2 * (1 - 2 * p + 2 * p * x - x**2),
        )
        slope = np.where(fore, 2 * m / p**2 * (p - x), 2 * m / (1 - p) ** 2 * (p - x))
    turn = np.arctan(slope)
    upper = np.stack([x - y_t * np.sin(turn), y_c + y_t * np.cos(turn)], axis=-1)[::-1]
    lower = np.stack([x + y_t * np.sin(turn), y_c - y_t * np.cos(turn)], axis=-1)[1:]
    return [(float(a), float(b)) for a, b in np.concatenate([upper, lower])]


def section(name: str, spacing: Array = COS, last: float = -0.1015) -> Section:
    return section_from_outline(four_digit(name, spacing, last), 1000.0)


def included(of: Section, start: float) -> float:
    fit = of.fit(start)
    return math.degrees(math.atan(fit.slope_a) + math.atan(fit.slope_b))


@pytest.mark.parametrize("name", TABLE)
def test_faces_over_the_last_part_have_the_angle_of_the_formulas_own_chord(name: str) -> None:
    """A wedge that fills the last part of the section must fit it."""
    for start, told in zip((0.95, 0.90, 0.80), TABLE[name][2:], strict=True):
        # A least-squares line and the chord differ by the outline's third derivative only.
        assert included(section(name), start) == pytest.approx(told, abs=0.04)


@pytest.mark.parametrize("name", TABLE)
def test_faces_over_the_very_last_of_the_chord_have_the_angle_at_the_edge(name: str) -> None:
    """By derivative at the trailing edge."""
    fine = np.concatenate([COS[COS < 0.99], np.linspace(0.99, 1.0, 401)])
    assert included(section(name, fine), 0.999) == pytest.approx(TABLE[name][0], abs=0.02)


@pytest.mark.parametrize("last", [-0.1015, -0.1036])
@pytest.mark.parametrize("name", ["0006", "0009", "0012", "0018", "0024"])
def test_faces_have_the_derivative_at_the_middle_of_their_reach(name: str, last: float) -> None:
    """Blunt edges and the closed variant alike; a straight face has the slope of its middle."""
    t = int(name[2:]) / 100
    for start in (0.98, 0.95, 0.9):
        middle = half_thickness_slope((1 + start) / 2, t, last)
        told = math.degrees(2 * math.atan(-middle))
        assert included(section(name, last=last), start) == pytest.approx(told, abs=0.02)


@pytest.mark.parametrize("name", TABLE)
def test_the_trailing_edge_is_as_thick_as_the_formula_says(name: str) -> None:
    """It becomes the rear thickness of the wedge."""
    assert thickness(section(name), 0.0) / 1000.0 == pytest.approx(TABLE[name][1], abs=5e-6)
    closed = section(name, last=-0.1036)
    assert thickness(closed, 0.0) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("name", ["2412", "4412", "2415", "6409"])
def test_each_face_of_a_cambered_section_has_its_own_angle(name: str) -> None:
    """The two sides must not be averaged: each skin gets its own guide.

    The report's chord ends on the camber line at x = 0. The tool's chord goes to the farthest
    point, which camber lifts a little, so the directions by derivative are turned by that much.
    """
    outline = np.array(four_digit(name, COS))
    farthest = outline[np.hypot(outline[:, 0] - 1.0, outline[:, 1]).argmax()]
    tilt = math.degrees(math.atan2(farthest[1], 1.0 - farthest[0]))
    assert 0.05 < tilt < 0.3
    fit = section(name).fit(0.95)
    for side, found in ((1.0, fit.slope_a), (-1.0, fit.slope_b)):
        told = math.degrees(surface_angle(name, 0.975, side))
        assert math.degrees(math.atan(found)) == pytest.approx(told - side * tilt, abs=0.02)
    assert fit.slope_a > fit.slope_b


def surface_angle(name: str, at: float, side: float) -> float:
    """Return a surface's angle to the report's chord, by derivative, positive thickening forward.

    x = x_c - side y_t sin(turn), z = y_c + side y_t cos(turn), aft of the camber's crest.
    """
    m, p, t = int(name[0]) / 100, int(name[1]) / 10, int(name[2:]) / 100
    camber = 2 * m / (1 - p) ** 2 * (p - at)
    turning = -2 * m / (1 - p) ** 2 / (1 + camber**2)
    turn = math.atan(camber)
    y, dy = float(half_thickness(np.array([at]), t)[0]), half_thickness_slope(at, t)
    dx = 1.0 - side * (dy * math.sin(turn) + y * math.cos(turn) * turning)
    dz = camber + side * (dy * math.cos(turn) - y * math.sin(turn) * turning)
    return math.atan2(-side * dz, dx)


@pytest.mark.parametrize("name", ["0012", "2412"])
def test_the_spacing_of_the_points_changes_the_angle_by_less_than_it_can_be_cut(name: str) -> None:
    """Files of 35 and of 400 points describe one section."""
    fine = included(section(name), 0.9)
    assert included(section(name, SQUARES), 0.9) == pytest.approx(fine, abs=0.01)
    assert included(section(name, COS[::8]), 0.9) == pytest.approx(fine, abs=0.02)


@pytest.mark.parametrize(
    ("name", "x", "y", "digits"),
    [
        ("0012", 0.8990086, 0.0146005, 1e-7),
        ("0012", 0.7228692, 0.034378, 1e-6),
        ("0006", 0.95, 0.00403, 1e-5),
        ("0018", 0.95, 0.0121, 1e-5),
        ("0021", 0.95, 0.01412, 1e-5),
        ("0024", 0.95, 0.01613, 1e-5),
    ],
)
def test_heights_are_those_of_published_coordinate_files(
    name: str, x: float, y: float, digits: float
) -> None:
    """READ in shipped coordinate files; to one unit of their last digit."""
    fine = np.unique(np.concatenate([COS, [x]]))
    height = section(name, fine).height("a", (1.0 - x) * 1000.0)
    assert height / 1000.0 == pytest.approx(y, abs=digits)
