"""The fewest guides, against trying every way to cut the row into runs."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jiggen.geometry.guideset import allowed_errors, guide_set, left_over

rows = st.lists(st.tuples(st.floats(0.0, 0.3), st.floats(0.001, 0.06)), min_size=1, max_size=24)


def fewest_by_trying_everything(angles: list[float], allowed: list[float]) -> int:
    """Return the least number of runs whose holes share an angle, by dynamic programming."""
    best = [0] + [len(angles) + 1] * len(angles)
    for last in range(1, len(angles) + 1):
        for first in range(last):
            run = range(first, last)
            low = max(angles[k] - allowed[k] for k in run)
            high = min(angles[k] + allowed[k] for k in run)
            if low <= high:
                best[last] = min(best[last], best[first] + 1)
    return best[-1]


@given(rows)
@settings(max_examples=300)
def test_fewer_guides_cannot_serve_the_row(row: list[tuple[float, float]]) -> None:
    """Each guide more is one more to cut, and to mistake for another."""
    angles, allowed = [g for g, _ in row], [e for _, e in row]
    guides = guide_set(angles, allowed, np.full(len(row), 3.0))
    assert len(guides) == fewest_by_trying_everything(angles, allowed)


@given(rows, st.floats(0.02, 0.5), st.floats(0.5, 20.0))
@settings(max_examples=200)
def test_every_hole_is_served_once_and_within_the_allowed_drift(
    row: list[tuple[float, float]], drift: float, thick: float
) -> None:
    """The drift is what the builder asked for; the guide set is only the means."""
    angles = [g for g, _ in row]
    thickness = thick + np.array([100.0 * e for _, e in row])
    guides = guide_set(angles, allowed_errors(thickness, drift, 0.01), thickness)
    served = [hole for guide in guides for hole in range(guide.first, guide.last + 1)]
    assert served == list(range(len(row)))
    for guide in guides:
        worst = max(
            float(thickness[k]) * math.tan(abs(angles[k] - guide.angle))
            for k in range(guide.first, guide.last + 1)
        )
        assert worst <= drift * (1 + 1e-9)
        assert guide.worst_drift == pytest.approx(worst, abs=1e-12)


def test_a_guide_is_cut_to_the_middle_of_its_holes_unless_a_tight_hole_pulls_it() -> None:
    """The middle halves the worst error; a thick hole may not bear even that."""
    thickness = np.array([1.0, 1.0, 1.0])
    (easy,) = guide_set([0.10, 0.11, 0.14], [0.05, 0.05, 0.05], thickness)
    assert easy.angle == pytest.approx(0.12)
    assert easy.worst_angle_error == pytest.approx(0.02)
    (pulled,) = guide_set([0.10, 0.11, 0.14], [0.05, 0.05, 0.005], thickness)
    assert pulled.angle == pytest.approx(0.135)
    assert pulled.worst_angle_error == pytest.approx(0.035)


def test_without_a_thickness_the_allowed_angle_rules_and_no_drift_is_claimed() -> None:
    """A drift from a guessed thickness would be a guess."""
    unknown = np.array([math.nan, math.nan])
    allowed = allowed_errors(unknown, 0.1, 0.0087)
    assert allowed.tolist() == [0.0087, 0.0087]
    guides = guide_set([0.10, 0.13], allowed, unknown)
    assert [guide.worst_drift for guide in guides] == [None, None]


def test_allowed_error_is_the_angle_whose_exit_is_off_by_the_drift() -> None:
    """0.10 mm through 2.6 mm is 2.2026 deg.

    Source: DERIVED: atan(0.1/2.6).
    """
    found = allowed_errors(np.array([2.6, 0.0]), 0.1, 0.01)
    assert math.degrees(float(found[0])) == pytest.approx(2.2026, abs=5e-5)
    assert float(found[1]) == pytest.approx(math.pi / 2)


def test_no_holes_need_no_guide() -> None:
    """A row that is all kept out is not an error."""
    assert guide_set([], [], np.array([])) == ()


def test_guides_share_the_allowance_instead_of_spending_it_on_the_first() -> None:
    """A guide that uses all of it leaves nothing for the knife."""
    angles = np.linspace(0.0, 0.10, 101)
    allowed = np.full(101, 0.03)
    guides = guide_set(angles, allowed, np.full(101, 3.0))
    assert len(guides) == 2
    left = [0.03 - guide.worst_angle_error for guide in guides]
    # 101 holes in two runs: the longer one spans 50 steps of a thousandth, half of it either way.
    assert min(left) == pytest.approx(0.03 - 0.025, abs=1e-6)


@given(
    st.lists(st.floats(-0.05, 0.2), min_size=1, max_size=9),
    st.data(),
)
def test_no_other_choice_of_as_few_guides_leaves_more(
    angles: list[float], data: st.DataObject
) -> None:
    """Every way to cut the row into as few runs, tried one by one."""
    from itertools import combinations

    allowed = data.draw(
        st.lists(st.floats(0.005, 0.05), min_size=len(angles), max_size=len(angles))
    )
    guides = guide_set(angles, allowed, np.full(len(angles), 3.0))

    def left(runs: list[tuple[int, int]]) -> float:
        # The most that one angle a run can leave to the run's worst hole.
        return min(
            (
                min(g + e for g, e in zip(angles[a : b + 1], allowed[a : b + 1], strict=True))
                - max(g - e for g, e in zip(angles[a : b + 1], allowed[a : b + 1], strict=True))
            )
            / 2.0
            for a, b in runs
        )

    n = len(angles)
    ways = [
        list(zip((0, *cuts), (*[c - 1 for c in cuts], n - 1), strict=True))
        for cuts in combinations(range(1, n), len(guides) - 1)
    ]
    best = max(left(way) for way in ways)
    chosen = left([(g.first, g.last) for g in guides])
    assert chosen >= best - 2e-6 * max(allowed) - 1e-12


def test_what_is_left_of_an_error_is_nothing_where_only_the_last_digit_is() -> None:
    """A limit of 8.697e-15 deg is noise: a builder reads it as a number that means something."""
    angle = math.radians(0.3)
    assert left_over(angle + 1.5e-16, angle) == 0.0
    assert left_over(angle, angle + 0.01) == 0.0
    assert left_over(angle, angle / 4) == angle * 0.75
