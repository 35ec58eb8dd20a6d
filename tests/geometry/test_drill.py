"""The bit that is there: its reach and its bending."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from jiggen.geometry import drill
from jiggen.geometry.frame import rise_out

NUMBER_40, NUMBER_40_LENGTH, NUMBER_40_FLUTES = 2.4892, 60.325, 34.925
SLOPE = math.tan(math.radians(5.7))


def test_what_a_number_40_leaves_beside_it():
    """Worked: edge 0.8 thick, line 8, 5.7 deg each side, skins 0.5: 40.325, 5.149, 33.676.

    Source: DERIVED, by hand.
    """
    stack = 0.8 + 2 * 8 * SLOPE + 2 * 0.5 / math.cos(math.radians(5.7))
    needs = drill.needed(stack, NUMBER_40)
    shows = NUMBER_40_LENGTH - drill.GRIP
    assert shows == pytest.approx(40.325)
    assert needs == pytest.approx(5.149, abs=5e-4)
    assert drill.room(NUMBER_40_LENGTH, drill.GRIP, needs) == pytest.approx(33.676, abs=5e-4)


@given(st.floats(1.0, 30.0), st.floats(1.0, 8.0), st.floats(40.0, 150.0), st.floats(5.0, 30.0))
def test_a_thing_of_that_room_lets_the_bit_through_before_the_chuck_lands(
    stack, diameter, length, grip
):
    """A guide that is 1 mm too tall holds the drill up in the last hole, not in the first."""
    tall = drill.room(length, grip, drill.needed(stack, diameter))
    chuck = tall + drill.SPARE  # where the chuck stands over the mouth at full depth
    tip = chuck - (length - grip)
    assert tip == pytest.approx(-stack - drill.THROUGH - drill.POINT * diameter, abs=1e-9)


def test_the_point_of_a_118_degree_drill():
    """Source: DERIVED: its height is d / (2 tan 59 deg)."""
    assert pytest.approx(1 / (2 * math.tan(math.radians(59))), abs=5e-4) == drill.POINT


def test_a_chuck_never_swallows_flutes():
    """A jaw on a flute slips, and the bit comes down by itself."""
    assert drill.usual_grip(NUMBER_40_LENGTH, NUMBER_40_FLUTES) == 20.0
    assert drill.usual_grip(NUMBER_40_LENGTH, NUMBER_40_FLUTES, collet=True) == 15.0
    assert drill.usual_grip(44.45, 33.0) == pytest.approx(11.45)


@given(st.floats(10.0, 60.0), st.floats(0.5, 44.0))
def test_a_chucks_rim_over_a_sloping_skin(nose, degrees):
    """The rim meets the skin first where it rises, not at the axis."""
    slope = math.tan(math.radians(degrees))
    rim = np.linspace(0, 2 * math.pi, 721)
    highest = float((slope * nose / 2 * np.cos(rim)).max())
    assert rise_out(nose, slope) == pytest.approx(highest)
    assert rise_out(nose, -slope) == pytest.approx(highest)


def bent_by_steps(diameter: float, shows: float) -> tuple[float, float]:
    """Return deflection and turn of the tip, stepped along M = E I y'' by a solver."""
    stiffness = 210_000 * 0.45 * math.pi * diameter**4 / 64
    found = solve_ivp(
        lambda x, y: [y[1], (shows - x) / stiffness], (0.0, shows), [0.0, 0.0], rtol=1e-10
    )
    return float(found.y[0, -1]), float(found.y[1, -1])


@pytest.mark.parametrize(("shows", "aside", "degrees"), [(40.0, 0.12, 0.26), (60.0, 0.40, 0.58)])
def test_how_far_a_number_40_bends_under_a_newton(shows, aside, degrees):
    """Pressed against its guide a bit tells nothing of the guide's angle.

    Source: DERIVED, by hand; the stiffness that flutes leave is common practice.
    """
    found = drill.bend(NUMBER_40, shows)
    assert found.aside == pytest.approx(aside, abs=5e-3)
    assert math.degrees(found.turned) == pytest.approx(degrees, abs=5e-3)


@given(st.floats(1.0, 8.0), st.floats(15.0, 100.0))
def test_the_bending_is_that_of_a_beam_solved_step_by_step(diameter, shows):
    """A factor 2 in the slope would call a pressed bit harmless."""
    found = drill.bend(diameter, shows)
    assert (found.aside, found.turned) == pytest.approx(bent_by_steps(diameter, shows), rel=1e-6)
