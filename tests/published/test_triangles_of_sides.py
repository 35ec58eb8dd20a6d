"""Triangles of known sides, through the finished-piece fit.

Source: Army Ordnance correspondence course OD1640, Machine Shop Calculation, lesson 2 task 3,
p. 89 (armyordnance.tpub.com/od16407/od164070097.htm): a = 6, b = 5, c = 7, so cos A = 0.54286
and A = 57 deg 7' 18". READ.
"""

import math

import pytest

from jiggen.geometry.finished import Reading, real_angle

COURSE_ANGLE = 57 + 7 / 60 + 18 / 3600


def test_a_piece_measured_as_the_courses_triangle_has_that_angle() -> None:
    """The fit must give the handbook's angle for a piece drawn a little otherwise (scale 10)."""
    # Drawn with 58 deg at the corner; measured 50, 70 and 60 mm on the sides.
    corner, base = (0.0, 0.0), (50.0, 0.0)
    drawn = math.radians(58.0)
    top = (70.0 * math.cos(drawn), 70.0 * math.sin(drawn))
    sides = ((corner, base, 50.0), (corner, top, 70.0), (base, top, 60.0))
    readings = [
        Reading(name=str(n), start=p, end=q, measured=m, standard=0.01)
        for n, (p, q, m) in enumerate(sides)
    ]
    found = real_angle((corner, base), (corner, top), readings)
    assert math.degrees(found.value) == pytest.approx(COURSE_ANGLE, abs=0.001)
    assert found.determined


@pytest.mark.parametrize(
    ("sides", "drawn", "degrees"),
    [((50.0, 30.0, 40.0), 89.0, 90.0), ((60.0, 60.0, 60.0), 61.0, 60.0)],
)
def test_the_right_and_the_equal_sided_triangle_come_out(sides, drawn, degrees) -> None:
    """Source: Euclid, Elements I.47 and I.32. MEM."""
    opposite, one, other = sides
    top = (other * math.cos(math.radians(drawn)), other * math.sin(math.radians(drawn)))
    lengths = (((0.0, 0.0), (one, 0.0), one), ((0.0, 0.0), top, other), ((one, 0.0), top, opposite))
    readings = [
        Reading(name=str(n), start=p, end=q, measured=m, standard=0.001)
        for n, (p, q, m) in enumerate(lengths)
    ]
    found = real_angle(((0.0, 0.0), (one, 0.0)), ((0.0, 0.0), top), readings)
    assert math.degrees(found.value) == pytest.approx(degrees, abs=1e-4)
