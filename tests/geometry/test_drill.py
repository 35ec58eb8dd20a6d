"""The bit that is there: its reach and its bending, and the bushing that leads it."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from jiggen.geometry import drill
from jiggen.geometry.frame import lean_over
from jiggen.geometry.uncertainty import root_of_squares

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
    assert 1 / (2 * math.tan(math.radians(59))) == pytest.approx(drill.POINT, abs=5e-4)


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
    assert drill.nose_needs(nose, slope) == pytest.approx(highest)
    assert drill.nose_needs(nose, -slope) == pytest.approx(highest)


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


CLEARANCE = 0.0004 * 25.4 + 0.014


@pytest.mark.parametrize(
    ("bearing", "degrees"), [(5, 0.28), (6.35, 0.22), (9.5, 0.15), (12.7, 0.11)]
)
def test_how_far_a_number_40_tilts_in_its_bushing(bearing, degrees):
    """Source: DERIVED from bore and drill tolerances (READ): clearance 0.0242."""
    assert pytest.approx(0.0242, abs=5e-5) == CLEARANCE
    assert math.degrees(lean_over(CLEARANCE, bearing)) == pytest.approx(degrees, abs=5e-3)


@given(st.floats(0.005, 0.3), st.floats(4.0, 20.0), st.floats(1.0, 6.0))
def test_a_bit_that_touches_both_ends_of_its_bushing_tilts_by_clearance_over_bearing(
    clearance, bearing, diameter
):
    """The slack of a bushing is spread over what touches the bit, not over the block.

    A tilted bar of the drill's width just goes through a slot of the bore's: by bisection.
    """

    def width_needed(tilt: float) -> float:
        return diameter / math.cos(tilt) + bearing * math.tan(tilt)

    low, high = 0.0, 0.5
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if width_needed(middle) < diameter + clearance else (low, middle)
    # The bar's slanting width takes a little of the clearance, so the formula is on the safe side.
    told = lean_over(clearance, bearing)
    assert told >= low - 1e-12
    assert told == pytest.approx(low, rel=0.06)


def test_the_parts_of_a_blocks_error():
    """Source: DERIVED, by hand; a foot's grit and saw are common practice."""
    parts = drill.block_error(
        clearance=CLEARANCE, bearing=12.7, slack=0.05, length=12.7, base=14.0, cut=0.1
    )
    told = {name: math.degrees(part) for name, part in parts.items()}
    wanted = {"clearance": 0.11, "set in": 0.23, "stand": 0.20, "cut": 0.41}
    assert told == pytest.approx(wanted, abs=5e-3)
    assert math.degrees(root_of_squares(parts)) == pytest.approx(0.52, abs=5e-3)
    # With feet only 11 apart for the grit, as where their inner ends carry:
    parts["stand"] = lean_over(0.05, 11.0)
    total = root_of_squares(parts)
    assert math.degrees(parts["stand"]) == pytest.approx(0.26, abs=5e-3)
    assert math.degrees(total) == pytest.approx(0.55, abs=5e-3)
    drifts = [thick * math.tan(total) for thick in (3.6, 6, 10)]
    assert drifts == pytest.approx([0.034, 0.057, 0.095], abs=5e-4)


@pytest.mark.parametrize(
    ("slack", "over", "degrees"),
    [(0.05, 12.7, 0.23), (0.2, 12.7, 0.90), (0.3, 40, 0.43), (0.3, 14, 1.2)],
)
def test_what_slack_comes_to(slack, over, degrees):
    """A worn or glued bushing, and a wrap sawn 0.3 off over 40 and over 14: DERIVED."""
    digits = len(str(degrees).partition(".")[2])
    assert round(math.degrees(lean_over(slack, over)), digits) == degrees


def test_a_bushing_is_trusted_over_two_diameters_unless_it_was_measured():
    """Counterbored bushings lead over their last few mm alone."""
    assert drill.bearing(12.7, NUMBER_40) == pytest.approx(2 * NUMBER_40)
    assert drill.bearing(4.0, NUMBER_40) == 4.0
    assert drill.bearing(12.7, NUMBER_40, 12.7) == 12.7


@given(st.floats(3.0, 13.0), st.floats(0.0, 44.0), st.floats(1.0, 7.0))
def test_a_bushings_high_side_clears_the_skin_or_is_ground(body, degrees, diameter):
    """A steel bushing scores the skin round every hole."""
    slope = math.tan(math.radians(degrees))
    gap, ground = drill.chip_gap(body, slope, diameter)
    clear = gap - body / 2 * slope  # over the skin at the bushing's forward rim
    assert gap <= 1.5 * diameter + 1e-9
    assert (clear >= 0.5 - 1e-9) != ground


@given(st.floats(5.0, 20.0), st.floats(1.0, 6.0))
def test_layers_carry_the_bushing_over_its_length(length, sheet):
    """One layer short and the bushing leans in its hole."""
    count = drill.layers(length, sheet)
    assert count * sheet >= length - 1e-6
    assert (count - 1) * sheet < length
    assert drill.layers(12.0, 3.0) == 4


def test_what_index_pins_add_up_to():
    """Source: DERIVED: 0.03 a hole over 60 holes is 0.23 or 1.8."""
    found = drill.index_error(60)
    assert found == pytest.approx((0.23, 1.8), abs=3e-3)
    draw = np.random.default_rng(3).normal(0.0, 0.03, (20_000, 60)).sum(axis=1)
    assert float(draw.std()) == pytest.approx(found[0], rel=0.02)


SOUND = {
    "base": 14.0, "body": 5.16, "length": 12.7, "gap": 0.76, "reach": 7.0, "slope": SLOPE,
    "room": 33.7, "needs": 5.1, "flutes": 34.9, "pitch": 20.0, "pin": 6.0,
}  # fmt: skip


@pytest.mark.parametrize(
    ("changed", "fault"),
    [
        ({}, None),
        ({"base": 11.1}, "base"),
        ({"pitch": 9.5}, "pitch"),
        ({"room": 13.4}, "drill too short"),
        ({"flutes": 18.5}, "flutes too short"),
        ({"slope": 0.88}, "bushing stands out"),
        ({"slope": 0.87}, None),
    ],
)
def test_what_forbids_a_block(changed, fault):
    """Each limit is named by what would mend it."""
    found = drill.block_faults(**{**SOUND, **changed})
    assert found == (() if fault is None else (fault,))


def test_where_a_block_reaches_along_the_row():
    """Over its index pin on one side, clear of the next pin on the other."""
    assert drill.block_along(20.0, 6.0) == (-26.0, 16.0)
    assert drill.block_along(40.0, 6.0) == (-46.0, 18.0)
    assert drill.lowest_layer(7.0, -SLOPE) == pytest.approx(7.0 * SLOPE + 1.0)
