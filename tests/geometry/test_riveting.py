"""Rivet length and distances along a face."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jiggen.geometry.riveting import along_the_face, rivet_length, standard_length

STEP = 25.4 / 16


@given(st.floats(0.5, 40.0), st.floats(0.5, 6.0), st.floats(0.3, 2.0))
def test_a_rivet_is_as_long_as_grip_and_allowance(grip, diameter, allowance):
    """Too short and there is nothing to buck; too long and the shank lies over."""
    assert rivet_length(grip, diameter, allowance) == pytest.approx(grip + allowance * diameter)


@given(st.floats(0.1, 60.0))
def test_the_next_standard_length_is_never_short_and_never_a_whole_step_over(length):
    """A rivet that is a sixteenth short fails inspection."""
    ordered = standard_length(length, STEP)
    assert ordered >= length - 1e-5
    assert ordered - length < STEP + 1e-5 or ordered == STEP
    assert ordered / STEP == pytest.approx(round(ordered / STEP))


@given(st.integers(1, 40))
def test_a_length_that_is_a_standard_one_is_taken_as_it_is(count):
    """A rounding error of the computer must not cost a sixteenth."""
    for noise in (-1e-12, 0.0, 1e-12):
        assert standard_length(count * STEP + noise, STEP) == pytest.approx(count * STEP)


def test_the_nearest_length_may_be_shorter():
    """Some shops order so; the job says it."""
    assert standard_length(4.2 * STEP, STEP, nearest=True) == pytest.approx(4 * STEP)
    assert standard_length(4.2 * STEP, STEP) == pytest.approx(5 * STEP)
    assert standard_length(0.1 * STEP, STEP, nearest=True) == pytest.approx(STEP)


@given(st.floats(0.5, 50.0), st.floats(-40.0, 40.0))
def test_a_distance_along_the_face_is_that_between_two_points_of_it(distance, degrees):
    """A rule laid on the skin reads this, not the distance of the drawing."""
    slope = math.tan(math.radians(degrees))
    found = along_the_face(distance, slope)
    assert found == pytest.approx(math.dist((0.0, 0.0), (distance, slope * distance)))
