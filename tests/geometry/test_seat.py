"""A wedge on a sloping seat, held against vectors: what is level, and by how much it is not."""

import math

import numpy as np
import pytest
from folding import angle_between, unit
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from jiggen.geometry.seat import (
    free_sag,
    least_error,
    left_by_lean,
    off_level,
    seated_angle,
    set_ups,
    slides,
    suits,
    support_spacing,
    tilt_rise,
)

SLOPES = st.floats(-0.3, 0.4)
LEANS = st.floats(-0.05, 0.05)


def chord_normal_on_seat(slope_x: float, slope_y: float, seat: float) -> np.ndarray:
    """Return the chord plane's normal after the wedge is laid down, by turning one triad on one.

    The wedge's frame is x forward, y along the edge, z up; its lower face falls by the slopes.
    The edge's direction on that face comes to lie along the fence, the face on the seat.
    """
    edge = unit(0.0, 1.0, -slope_y)
    up = unit(slope_x, slope_y, 1.0)
    wedge = np.array([edge, up, np.cross(edge, up)])
    rise = unit(math.sin(seat), 0.0, math.cos(seat))
    along = np.array([0.0, 1.0, 0.0])
    table = np.array([along, rise, np.cross(along, rise)])
    return table.T @ wedge @ np.array([0.0, 0.0, 1.0])


@given(slope_x=SLOPES, slope_y=LEANS, seat=st.floats(-0.3, 0.3))
def test_how_far_from_level_is_what_turning_the_wedge_onto_the_seat_gives(slope_x, slope_y, seat):
    """A formula that forgot the lean would call a tilted countersink square."""
    turned = angle_between(chord_normal_on_seat(slope_x, slope_y, seat), unit(0.0, 0.0, 1.0))
    assert math.degrees(off_level(slope_x, slope_y, seat)) == pytest.approx(turned, abs=1e-6)


@given(slope_x=SLOPES, slope_y=LEANS)
def test_on_its_own_seat_only_the_lean_is_left(slope_x, slope_y):
    """The seat angle must be the best there is, or the lean is counted twice."""
    seat = seated_angle(slope_x, slope_y)
    left = off_level(slope_x, slope_y, seat)
    assert left == pytest.approx(abs(math.atan(slope_y)), abs=1e-12)
    for step in (-1e-4, 1e-4):
        assert off_level(slope_x, slope_y, seat + step) > left


@given(slope_x=SLOPES, slope_y=LEANS, allowed=st.floats(0.001, 0.2))
def test_what_the_lean_leaves_is_just_what_may_be_used(slope_x, slope_y, allowed):
    """Too much would be out of level, too little would make cradles that nobody needs."""
    left = left_by_lean(slope_y, allowed)
    assert (left is None) == (math.atan(abs(slope_y)) > allowed)
    if left is not None:
        best = seated_angle(slope_x, slope_y)
        for seat in (best - left, best + left):
            assert off_level(slope_x, slope_y, seat) == pytest.approx(allowed, abs=1e-9)


def test_without_lean_the_seat_is_at_the_skin_angle():
    """5.7 deg of skin want 5.7 deg of seat."""
    assert math.degrees(seated_angle(math.tan(math.radians(5.7)), 0.0)) == pytest.approx(5.7)


def sag_by_steps(length: float, thickness: float) -> float:
    """Return the sag of a strip's free end, mm, stepped along by a solver."""
    stiffness = 70_000 * thickness**3 / 12  # a strip 1 mm wide
    load = 2.7e-6 * 9.81 * thickness
    found = solve_ivp(
        lambda x, y: [y[1], load * (length - x) ** 2 / 2 / stiffness],
        (0.0, length),
        [0.0, 0.0],
        rtol=1e-10,
        atol=1e-14,
    )
    return float(found.y[0, -1])


@pytest.mark.parametrize(("thickness", "spacing"), [(2.0, 244), (2.6, 278), (3.5, 322)])
def test_how_far_apart_end_supports_stand(thickness, spacing):
    """A wedge that hangs free turns its seat. Source: DERIVED, by hand."""
    assert support_spacing(thickness) == pytest.approx(spacing, abs=0.5)
    assert free_sag(1000.0, 2.6) == pytest.approx(84.0, abs=0.5)


@given(st.floats(1.0, 8.0), st.floats(0.1, 2.0))
def test_a_wedge_that_hangs_so_far_sags_so_much(thickness, sag):
    """The beam's formula against a solver, and the spacing against both."""
    length = support_spacing(thickness, sag)
    assert free_sag(length, thickness) == pytest.approx(sag)
    assert sag_by_steps(length, thickness) == pytest.approx(sag, rel=1e-5)


@given(st.floats(0.2, 2.0), st.floats(2.0, 6.0), st.floats(10.0, 30.0))
def test_a_wedge_is_stiffer_than_a_strip_of_its_mean_thickness(rear, front, depth):
    """So the spacing is on the safe side: its section's stiffness by numeric integration."""
    rear, front = min(rear, front), max(rear, front)
    stiffness = quad(lambda x: (rear + (front - rear) * x / depth) ** 3 / 12, 0, depth)[0]
    assert stiffness >= depth * ((rear + front) / 2) ** 3 / 12 - 1e-9


@pytest.mark.parametrize(("at_a_time", "clampings"), [(5, 26), (10, 14), (64, 2)])
def test_how_often_a_row_of_64_is_clamped(at_a_time, clampings):
    """Both sides, each in so many set-ups."""
    assert set_ups(64, at_a_time) == clampings


def test_a_tilted_table_is_proved_by_its_rise():
    """Source: DERIVED: 100 sin 5.7 deg is 9.93."""
    assert tilt_rise(math.radians(5.7)) == pytest.approx(9.93, abs=5e-3)


@pytest.mark.parametrize(("degrees", "by_itself"), [(5.7, False), (11.3, False), (11.4, True)])
def test_a_wedge_finds_its_stop_by_itself_on_a_steep_seat_only(degrees, by_itself):
    """Left where it was put, it is countersunk off its place.

    Source: dry aluminium holds to about 0.2 (common practice, no published source).
    """
    assert slides(math.tan(math.radians(degrees))) == by_itself


@given(
    seats=st.lists(st.tuples(SLOPES, st.floats(-0.01, 0.01)), min_size=1, max_size=5),
    other=st.tuples(SLOPES, st.floats(-0.01, 0.01)),
)
def test_the_least_error_is_the_least(seats, other):
    """What is offered must work, and a hundredth of a degree less must not."""
    faces = [seats, [other]]
    least = least_error(faces)
    assert all(suits(slopes, least) for slopes in faces)
    less = least - math.radians(0.01)
    assert less < 1e-9 or not all(suits(slopes, less) for slopes in faces)
    seat = seated_angle(*other)
    assert off_level(*other, seat) <= 2 / 3 * least + 1e-12
