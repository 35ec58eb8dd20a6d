"""Rivet length, flush shop heads by volume, distances along a face, and the order of riveting."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.integrate import quad

from jiggen.geometry.riveting import (
    FlushSet,
    along_the_face,
    made_head_sides,
    rivet_length,
    riveting_passes,
    standard_length,
)

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


FIFTY = math.radians(50)
DASH_3 = FlushSet(diameter=0.09375, head=0.179, hole=0.098, half_angle=FIFTY)
DASH_4 = FlushSet(diameter=0.125, head=0.225, hole=0.1285, half_angle=FIFTY)

# Worked in inches, by hand, DERIVED: S0 full and half, share of the grip, S full at G .125 and
# .200, a hole .001 wider at .125, what 1/32 fills, 1.5D wide: share of the well and how low.
WORKED = [
    (DASH_3, 0.0359, -0.0022, 0.0927, 0.0475, 0.0545, 0.0013, 0.41, 0.38, 0.016, 0.452),
    (DASH_4, 0.0378, -0.0036, 0.0568, 0.0449, 0.0492, 0.0007, 0.38, 0.48, 0.016, 0.340),
]


@pytest.mark.parametrize(
    ("of", "full", "half", "by_grip", "at_125", "at_200", "wider", "step", "share", "low", "tight"),
    WORKED,
)
def test_how_long_a_flush_set_rivet_must_be(
    of, full, half, by_grip, at_125, at_200, wider, step, share, low, tight
):
    """A rivet for a bucked head is about 1/10 in too long for a flush one."""
    assert (of.allowance(1.0), of.allowance(0.5)) == pytest.approx((full, half), abs=5e-5)
    assert of.length(1.0) - of.allowance(1.0) - 1.0 == pytest.approx(by_grip, abs=5e-5)
    over = (of.length(0.125) - 0.125, of.length(0.200) - 0.200)
    assert over == pytest.approx((at_125, at_200), abs=5.1e-5)
    more = replace(of, hole=of.hole + 0.001).length(0.125) - of.length(0.125)
    assert more == pytest.approx(wider, abs=5e-5)
    filled = of.fill(0.30 + 1 / 32, 0.15) - of.fill(0.30, 0.15)
    assert filled == pytest.approx(step, abs=5e-3)
    assert of.head_of(1.5 * of.diameter) == pytest.approx((share, low), abs=5e-3)
    assert round(of.head_of(1.5 * of.diameter)[1], 3) == low
    snug = replace(of, hole=of.diameter)
    assert snug.allowance(1.0) / of.diameter == pytest.approx(tight, abs=5e-4)


@pytest.mark.parametrize(
    ("of", "grip", "fills"),
    [
        (DASH_3, 0.134, (0.66, 1.07, 1.48)),
        (DASH_3, 0.150, (0.43, 0.84, 1.25)),
        (DASH_4, 0.150, (0.52, 0.89, 1.27)),
    ],
)
def test_what_three_lengths_fill(of, grip, fills):
    """Length codes 2.5, 3 and 3.5. Source: DERIVED, by hand."""
    found = [of.fill(code / 16, grip) for code in (2.5, 3.0, 3.5)]
    assert found == pytest.approx(fills, abs=5e-3)


def test_the_trial_is_of_the_longest_that_does_not_overfill_and_its_neighbours():
    """2.5 for a grip of .134 and 3 for .150. Source: DERIVED, by hand."""
    for grip, code in ((0.134, 2.5), (0.150, 3.0)):
        shorter, best, longer = (16 * length for length in DASH_3.trial(grip, 1 / 32))
        assert (shorter, best, longer) == pytest.approx((code - 0.5, code, code + 0.5))
    assert DASH_3.length(0.125) - 0.125 == pytest.approx(1.5 * 0.09375 - 0.09, abs=5e-3)


def test_how_much_the_grip_matters():
    """Source: DERIVED: .005 in of grip is about .07 of the well of a -3 rivet."""
    for step in (0.005, -0.005):
        change = DASH_3.fill(0.2, 0.130 + step) - DASH_3.fill(0.2, 0.130)
        assert abs(change) == pytest.approx(0.07, abs=5e-3)


SETS = st.builds(
    lambda diameter, head, gap, half: FlushSet(
        diameter=diameter, head=head * diameter, hole=(1 + gap) * diameter, half_angle=half
    ),
    st.floats(1.5, 6.5), st.floats(1.6, 2.2), st.floats(0.0, 0.1),
    st.floats(math.radians(37.5), math.radians(60.0)),
)  # fmt: skip


def turned(radius, low: float, high: float) -> float:
    """Return the volume of a body of revolution, by numeric integration of its discs."""
    return quad(lambda z: math.pi * radius(z) ** 2, low, high, epsabs=1e-12)[0]


@given(SETS, st.floats(1.5, 8.0), st.floats(0.0, 1.0))
def test_the_fill_is_what_integration_of_rivet_and_hole_leaves(of, grip_share, fill):
    """The metal of the shank goes somewhere: into the hole first, then into the well."""
    grip = grip_share * of.head
    assume(of.fill(2 * grip, grip) is not None)
    length = of.length(grip, fill)
    steep = math.tan(of.half_angle)

    def narrowing(wide: float, narrow: float):
        return lambda z: max(wide / 2 - z * steep, narrow / 2)

    kink = (of.head - of.diameter) / 2 / steep
    rivet = turned(narrowing(of.head, of.diameter), 0, kink)
    rivet += turned(narrowing(of.head, of.diameter), kink, length)
    kink = (of.head - of.hole) / 2 / steep
    well = turned(narrowing(of.head, of.hole), 0, kink)
    between = turned(lambda _: of.hole / 2, kink, grip - kink)
    assert of.fill(length, grip) == pytest.approx(fill, abs=1e-9)
    assert rivet == pytest.approx(well + between + fill * well, rel=1e-8)


@given(SETS, st.floats(0.0, 1.0))
def test_a_head_of_a_width_is_the_well_filled_up_to_it(of, share):
    """What a calliper reads on the trial tells what is filled."""
    width = of.hole + share * (of.head - of.hole)
    filled, low = of.head_of(width)
    steep = math.tan(of.half_angle)
    deep = (of.head - of.hole) / 2 / steep
    part = turned(lambda z: of.head / 2 - z * steep, low, deep)
    assert filled == pytest.approx(part / of.well, abs=1e-9)


def test_where_the_countersinks_meet_no_length_is_told():
    """A knife edge holds no rivet, whatever its length."""
    assert DASH_3.fill(0.2, 0.06) is None
    assert DASH_3.fill(0.2, 0.07) is not None


def test_the_first_pass_of_64_holes_by_tens():
    """Written down at the bench, not computed."""
    passes = riveting_passes(64, step=10)
    assert passes[0] == (32, 42, 22, 52, 12, 62, 2)
    assert len(passes) == 4
    assert riveting_passes(27)[:2] == ((14, 22, 6), (18, 10, 26, 2))


def test_every_hole_is_riveted_once_and_from_the_middle_out():
    """A hole named twice is driven twice; a lopsided pass bows the edge."""
    for count in range(201):
        for step in range(2, 17):
            passes = riveting_passes(count, step=step)
            assert sorted(n for of_pass in passes for n in of_pass) == [*range(1, count + 1)]
            middle = (count + 1) // 2
            for of_pass in passes:
                away = [abs(n - middle) for n in of_pass]
                assert away == sorted(away)
                right = 0
                for n in of_pass:
                    right += (n > middle) - (n < middle)
                    assert abs(right) <= 1


@given(st.integers(1, 60), st.sets(st.integers(1, 60)), st.integers(2, 16))
def test_kept_out_holes_are_not_riveted(count, keep_out, step):
    """They belong to another part."""
    found = {n for of_pass in riveting_passes(count, keep_out, step) for n in of_pass}
    assert found == set(range(1, count + 1)) - keep_out


def test_made_heads_change_sides_by_pass():
    """Neighbours from opposite sides push half-set rivets out again on a back plate."""
    passes = riveting_passes(27)
    sides = made_head_sides(passes)
    assert {sides[n] for n in passes[0]} == {"a"}
    assert {sides[n] for n in passes[1]} == {"b"}
    by_hole = made_head_sides(passes, "hole")
    assert [by_hole[n] for n in (1, 2, 3, 4)] == ["a", "b", "a", "b"]
    assert set(made_head_sides(passes, "b").values()) == {"b"}
