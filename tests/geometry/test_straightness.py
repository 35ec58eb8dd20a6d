"""Lines laid through readings, against brute force, linear programming and numpy."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog, minimize_scalar
from scipy.spatial import ConvexHull

from jiggen.geometry.straightness import (
    Array,
    bow_and_thickness,
    bows,
    doubtful_reading,
    end_line,
    least_squares_line,
    minimum_zone,
    straightness,
    twist_of,
    without_own_error,
    worst_stretch,
)


@st.composite
def readings(draw: st.DrawFn, fewest: int = 3, most: int = 24) -> tuple[Array, Array]:
    """Return rising positions, mm, and deviations, some of them on a common line or parabola."""
    count = draw(st.integers(fewest, most))
    steps = draw(st.lists(st.integers(1, 400), min_size=count, max_size=count))
    at = np.cumsum(steps) * draw(st.sampled_from([0.5, 1.0, 25.4]))
    grid = st.integers(-40, 40).map(lambda n: n * 0.05)
    off = np.array(draw(st.lists(grid, min_size=count, max_size=count)))
    shape = draw(st.sampled_from(["free", "bow", "line"]))
    middle = (at - at.mean()) / np.ptp(at)
    if shape == "bow":
        off = off * 0.01 + middle**2
    elif shape == "line":
        off = 0.003 * at
    return at, off


def width_at(at: Array, off: Array, slope: float) -> float:
    """Return how wide the strip of a slope is that holds every reading."""
    return float(np.ptp(off - slope * at))


def brute_force(at: Array, off: Array) -> float:
    """Return the narrowest strip along a line through any two readings."""
    pairs = itertools.combinations(range(len(at)), 2)
    return min(width_at(at, off, (off[j] - off[i]) / (at[j] - at[i])) for i, j in pairs)


@given(readings())
def test_the_minimum_zone_is_that_of_all_pairs_of_readings(case: tuple[Array, Array]) -> None:
    """A zone that is too wide scraps a good edge; one too narrow passes a bent one."""
    at, off = case
    assert minimum_zone(at, off).width == pytest.approx(brute_force(at, off), abs=1e-9)


@given(readings(most=12))
@settings(max_examples=40)
def test_the_minimum_zone_is_that_of_a_linear_program(case: tuple[Array, Array]) -> None:
    """Least t with |y - m x - b| <= t/2 everywhere, by a solver that knows nothing of hulls."""
    at, off = case
    run = (at - at.mean()) / np.ptp(at)
    ones = np.ones_like(run)
    above, below = np.c_[-run, -ones, -ones / 2], np.c_[run, ones, -ones / 2]
    solved = linprog(
        [0.0, 0.0, 1.0],
        A_ub=np.r_[above, below],
        b_ub=np.r_[-off, off],
        bounds=[(None, None), (None, None), (0.0, None)],
    )
    assert minimum_zone(at, off).width == pytest.approx(solved.fun, abs=1e-6)


@given(readings())
def test_the_zone_holds_every_reading_and_is_the_narrowest_of_the_three(
    case: tuple[Array, Array],
) -> None:
    """MZ <= LS range and MZ <= end-point range, by definition (trade facts 7)."""
    found = straightness(*case)
    rest = found.off - found.zone.middle.over(found.at)
    assert np.abs(rest).max() <= found.zone.width / 2 + 1e-9
    assert found.zone.width <= found.least_squares_range + 1e-9
    assert found.zone.width <= found.ends_range + 1e-9
    touching = np.isin(found.at, found.zone.touches)
    assert np.abs(rest[touching]) == pytest.approx(found.zone.width / 2, abs=1e-9)


@given(readings())
def test_the_least_squares_line_is_numpys(case: tuple[Array, Array]) -> None:
    """A slip in the sums would tilt every plot."""
    at, off = case
    slope, height = np.polyfit(at - at.mean(), off, 1)
    line = least_squares_line(at, off)
    assert line.over(at) == pytest.approx(height + slope * (at - at.mean()), abs=1e-9)


@given(readings(), st.floats(-0.01, 0.01), st.floats(-5.0, 5.0))
def test_how_the_straightedge_lay_does_not_matter(
    case: tuple[Array, Array], tilt: float, shift: float
) -> None:
    """One end on a thicker block must not make a bow."""
    at, off = case
    here, there = straightness(at, off), straightness(at, off + shift + tilt * at)
    assert there.zone.width == pytest.approx(here.zone.width, abs=1e-9)
    assert there.largest.value == pytest.approx(here.largest.value, abs=1e-9)
    assert there.least_squares_range == pytest.approx(here.least_squares_range, abs=1e-9)


@given(readings(), st.data())
def test_readings_off_by_half_a_step_move_no_result_by_more_than_a_step(
    case: tuple[Array, Array], data: st.DataObject
) -> None:
    """The verdict "cannot tell" rests on this; were it wrong, it would be said too seldom."""
    at, off = case
    signs = st.lists(st.floats(-0.5, 0.5), min_size=len(at), max_size=len(at))
    step = 0.1
    moved = off + step * np.array(data.draw(signs))
    here, there = straightness(at, off), straightness(at, moved)
    assert abs(there.zone.width - here.zone.width) <= step + 1e-9
    assert abs(abs(there.largest.value) - abs(here.largest.value)) <= step + 1e-9


@given(readings(most=16), st.floats(1.0, 20_000.0))
@settings(deadline=None)
@example((np.array([0.0, 100.0, 200.0, 300.0]), np.array([0.0, 1.0, 0.0, 0.0])), 200.0)
def test_the_worst_stretch_is_that_of_a_look_at_every_stretch(
    case: tuple[Array, Array], length: float
) -> None:
    """A limit for any 600 mm is broken by one bad stretch, wherever it begins."""
    at, off = case
    widths = [
        brute_force(at[i:j], off[i:j])
        for i in range(len(at))
        for j in range(i + 3, len(at) + 1)
        if at[j - 1] - at[i] <= length + 1e-6
    ]
    found = worst_stretch(at, off, length)
    if found is None:
        assert widths == []
    else:
        assert found[0].width == pytest.approx(max(widths), abs=1e-9)
        assert found[2] - found[1] <= length + 1e-6


def test_a_single_bow_is_as_high_off_its_ends_as_its_zone_is_wide() -> None:
    """The commonest shape: what a feeler blade shows under the straightedge is the zone."""
    at = np.linspace(0.0, 1500.0, 31)
    found = straightness(at, 0.8 * (1.0 - ((at - 750.0) / 750.0) ** 2))
    assert found.zone.width == pytest.approx(0.8)
    assert (found.largest.at, found.largest.value) == (750.0, pytest.approx(0.8))
    assert [(b.at, round(b.value, 9)) for b in bows(found)] == [(750.0, 0.8)]


def test_both_bows_of_an_s_are_named_and_the_ripple_on_them_is_not() -> None:
    """Pinning only one of two bows moves the other."""
    at = np.linspace(0.0, 1600.0, 65)
    off = np.sin(at / 1600.0 * math.tau) * 0.5 + 0.02 * np.cos(at)
    found = bows(straightness(at, off - np.linspace(off[0], off[-1], 65)))
    assert [round(b.at / 100.0) for b in sorted(found)] == [4, 12]
    assert [b.value > 0 for b in sorted(found)] == [True, False]


def test_two_bows_to_one_side_are_both_named() -> None:
    """Two humps that meet at the line are two places to pin."""
    at = np.arange(9) * 100.0
    found = bows(straightness(at, [0, 0.3, 0.5, 0.2, 0, 0.2, 0.4, 0.2, 0]))
    assert [(b.at, b.value) for b in found] == [(200.0, 0.5), (600.0, 0.4)]


@given(readings(), st.floats(-0.05, 0.05), st.floats(5.0, 200.0))
def test_bow_and_twist_are_told_apart(case: tuple[Array, Array], turn: float, apart: float) -> None:
    """Made of a known bow and a known twist, both must come back, neither in the other."""
    at, bow = case
    angle = turn * (at - at[0]) / np.ptp(at)
    half = np.tan(angle) * apart / 2.0
    front, rear = bow + half, bow - half
    found = twist_of(at, front, rear, apart)
    assert found.angle == pytest.approx(angle, abs=1e-9)
    assert found.end_to_end == pytest.approx(turn, abs=1e-9)
    assert found.largest == pytest.approx(abs(turn), abs=1e-9)
    assert found.rate * np.ptp(at) == pytest.approx(turn, abs=1e-9)
    assert (front + rear) / 2.0 == pytest.approx(bow, abs=1e-12)


@given(readings(), readings())
@settings(max_examples=30)
def test_bow_and_thickness_are_told_apart(
    one: tuple[Array, Array], two: tuple[Array, Array]
) -> None:
    """A wedge that is thick in the middle is not bowed, and must not be bent."""
    count = min(len(one[0]), len(two[0]))
    bow, thicker = one[1][:count], two[1][:count]
    middle, change = bow_and_thickness(thicker / 2.0 + bow, thicker / 2.0 - bow)
    assert middle == pytest.approx(bow, abs=1e-12)
    assert change == pytest.approx(thicker, abs=1e-12)


@given(readings(), readings())
@settings(max_examples=30)
def test_a_straightedge_that_was_rolled_over_is_taken_out(
    one: tuple[Array, Array], two: tuple[Array, Array]
) -> None:
    """A bent straightedge must not bend the verdict."""
    count = min(len(one[0]), len(two[0]))
    edge, rod = one[1][:count], two[1][:count]
    found, own = without_own_error(edge + rod, edge - rod)
    assert found == pytest.approx(edge, abs=1e-12)
    assert own == pytest.approx(rod, abs=1e-12)


def gaps_under(at: Array, edge: Array, slope: float) -> Array:
    """Return the gaps under a straightedge that is let down on the edge at a slope, mm."""
    touching = max(float(y - slope * x) for x, y in zip(at, edge, strict=True))
    return np.array([touching + slope * x - y for x, y in zip(at, edge, strict=True)])


def rests(at: Array, edge: Array) -> list[float]:
    """Return the slopes at which a straightedge lies on two places of the edge, by qhull."""
    corners = ConvexHull(np.c_[at, edge])
    top = [line for line, normal in zip(corners.simplices, corners.equations, strict=True)
           if normal[1] > 1e-12]  # fmt: skip
    return [float((edge[j] - edge[i]) / (at[j] - at[i])) for i, j in top]


def test_the_smallest_largest_gap_under_a_rocked_straightedge_is_the_zone() -> None:
    """The rule that is told to people with feelers, on 300 edges, by rocking and nothing else."""
    random = np.random.default_rng(8)
    for _ in range(300):
        at = np.cumsum(random.uniform(20.0, 200.0, random.integers(5, 40)))
        share = (at - at[0]) / np.ptp(at)
        edge = random.uniform(-1.0, 1.0) * share * (1.0 - share) * 4.0
        edge += random.uniform(-0.2, 0.2) * np.sin(share * 9.0) + random.normal(0.0, 0.02, len(at))
        lies = rests(at, edge)
        rocked = minimize_scalar(
            lambda slope, at=at, edge=edge: gaps_under(at, edge, slope).max(),
            bounds=(min(lies) - 1e-3, max(lies) + 1e-3),
            method="bounded",
            options={"xatol": 1e-12},
        )
        zone = minimum_zone(at, edge).width
        assert rocked.fun == pytest.approx(zone, abs=1e-5)
        assert min(gaps_under(at, edge, slope).max() for slope in lies) >= zone - 1e-9


def test_a_hump_is_read_level_and_not_fallen_to_one_side() -> None:
    """Pressed down at one end a hump of 0.5 shows 1.8 at the other; by its own weight, 0.6."""
    at = np.linspace(0.0, 1000.0, 11)
    hump = 0.5 * (1.0 - ((at - 500.0) / 500.0) ** 2)
    level = gaps_under(at, hump, 0.0)
    assert level.max() == pytest.approx(minimum_zone(at, hump).width) == pytest.approx(0.5)
    assert level[0] == pytest.approx(level[-1]) == pytest.approx(0.5)
    fallen = sorted(gaps_under(at, hump, slope).max() for slope in rests(at, hump))
    assert (fallen[0], fallen[-1]) == (pytest.approx(0.6), pytest.approx(1.8))
    hollow = gaps_under(at, -hump, 0.0)
    assert rests(at, -hump) == [0.0]
    assert hollow.max() == pytest.approx(0.5)


@given(readings(), readings(), st.floats(-0.01, 0.01), st.floats(-0.01, 0.01))
def test_gaps_with_either_side_up_tell_the_edge_from_the_straightedge(
    one: tuple[Array, Array], two: tuple[Array, Array], tilt_a: float, tilt_b: float
) -> None:
    """However it lies each time: bow (g_a - g_b)/2 and own error (g_a + g_b)/2, but for a line."""
    count = min(len(one[0]), len(two[0]))
    at, edge, rod = one[0][:count], one[1][:count], two[1][:count]
    g_a = gaps_under(at, edge - rod, tilt_a)  # side A up: toward A is up
    g_b = gaps_under(at, -edge - rod, tilt_b)
    found, own = without_own_error(-g_a, g_b)
    assert found == pytest.approx(-(g_a - g_b) / 2.0)
    for wanted, got in ((edge, found), (-rod, own)):
        assert straightness(at, got).zone.width == pytest.approx(
            straightness(at, wanted).zone.width, abs=1e-9
        )
        line = np.polyfit(at - at.mean(), got - wanted, 1)
        assert got - wanted == pytest.approx(np.polyval(line, at - at.mean()), abs=1e-9)


def test_half_the_difference_at_a_place_is_half_the_bow_until_the_ends_are_taken_off() -> None:
    """Rocked level on the hump, the ends read half the bow: at the middle alone half is missing."""
    at = np.linspace(0.0, 1000.0, 5)
    edge = -0.4 * (1.0 - ((at - 500.0) / 500.0) ** 2)  # toward side B
    g_a, g_b = gaps_under(at, edge, 0.0), gaps_under(at, -edge, 0.0)
    bow = (g_a - g_b) / 2.0
    assert bow[2] == pytest.approx(0.2)
    assert bow[2] - bow[0] == pytest.approx(0.4)
    assert straightness(at, without_own_error(-g_a, g_b)[0]).largest.value == pytest.approx(-0.4)


def test_a_reading_that_stands_alone_is_asked_about_and_a_bow_is_not() -> None:
    """A slip of 5 mm for 0.5 mm would otherwise scrap the part; a true bow is no slip."""
    at = np.arange(11) * 100.0
    off = 0.02 * np.cos(np.arange(11))
    off[4] += 0.45
    slip = doubtful_reading(straightness(at, off))
    assert slip is not None
    assert slip.at == 400.0
    assert slip.value == pytest.approx(0.45, abs=0.04)
    assert doubtful_reading(straightness(at, off), doubt=1.0) is None
    assert doubtful_reading(straightness(at, (at / 500.0 - 1.0) ** 2)) is None


def test_far_along_the_edge_the_sums_keep_their_digits() -> None:
    """Positions counted from a far end must not swamp thousandths."""
    at = 90_000.0 + np.arange(10) * 0.1
    off = [-0.0003, 0.0009, 0.0015, 0.0025, 0.0029, 0.0036, 0.0042, 0.0051, 0.0059, 0.0072]
    near, far = straightness(at - 90_000.0, off), straightness(at, off)
    assert far.least_squares_range == pytest.approx(near.least_squares_range, abs=1e-9)
    assert far.zone.width == pytest.approx(near.zone.width, abs=1e-9)


@pytest.mark.parametrize(
    ("at", "off", "why"),
    [
        ([0.0, 1.0], [0.0, 0.0], "3 readings"),
        ([0.0, 1.0, 1.0], [0.0, 0.0, 0.0], "rise"),
        ([0.0, 2.0, 1.0], [0.0, 0.0, 0.0], "rise"),
        ([0.0, 1.0, 2.0], [0.0, math.nan, 0.0], "finite"),
        ([0.0, 1.0, 2.0], [0.0, 0.0], "readings"),
    ],
)
def test_readings_that_make_no_line_are_refused(
    at: list[float], off: list[float], why: str
) -> None:
    """Two readings are always straight; saying so would be a lie."""
    with pytest.raises(ValueError, match=why):
        straightness(at, off)
    with pytest.raises(ValueError, match="apart"):
        twist_of(np.arange(3.0), np.zeros(3), np.zeros(3), 0.0)


def test_the_line_through_the_ends_goes_through_both() -> None:
    """It is where the straightedge rests."""
    at, off = np.array([10.0, 20.0, 50.0]), np.array([1.0, 5.0, 3.0])
    assert end_line(at, off).over(at)[[0, 2]] == pytest.approx([1.0, 3.0])
