import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jiggen.geometry.distortion import (
    SKEW_UNMEASURED,
    Bar,
    Distortion,
    estimate,
    from_matrix,
    printed_angle,
    printed_length,
    undone_by,
)

BAD_PRINTER = Distortion(scale_x=0.985, scale_y=1.012, skew=math.radians(0.3))
SQUARE = ((100.0, 0.0), (0.0, 100.0), (100.0, 100.0), (100.0, -100.0))

distortions = st.builds(
    Distortion,
    scale_x=st.floats(0.92, 1.08),
    scale_y=st.floats(0.92, 1.08),
    skew=st.floats(-0.02, 0.02),
)


def measured(made: Distortion, vectors=SQUARE, standard: float = 0.05) -> list[Bar]:
    return [Bar(vector=v, measured=made.length(v), standard=standard) for v in vectors]


@given(distortions)
def test_two_bars_and_two_diagonals_give_back_what_the_printer_did(made: Distortion) -> None:
    """The whole proof of scale rests on this inverse."""
    found = estimate(measured(made)).distortion
    assert found.scale_x == pytest.approx(made.scale_x, abs=1e-10)
    assert found.scale_y == pytest.approx(made.scale_y, abs=1e-10)
    assert found.skew == pytest.approx(made.skew, abs=1e-10)


def test_a_positive_skew_closes_the_corner_and_lengthens_the_rising_diagonal() -> None:
    """A skew with the wrong sign would double the error at the reprint."""
    made = Distortion(skew=math.radians(1.0))
    assert math.atan2(made.vector((0, 1))[1], made.vector((0, 1))[0]) == pytest.approx(
        math.radians(89.0)
    )
    assert made.length((100, 100)) > made.length((100, -100))


@given(distortions)
def test_the_inverse_undoes_the_printer(made: Distortion) -> None:
    """A corrected page, printed by the same printer, must be the page as drawn."""
    assert made.matrix @ made.inverse == pytest.approx(np.eye(2), abs=1e-14)


@given(distortions, distortions)
def test_two_distortions_in_a_row_keep_every_length_but_for_a_turn(
    first: Distortion, second: Distortion
) -> None:
    """The total correction of a second round must hold for all directions on the page."""
    both = first.combined(after=second)
    for v in SQUARE:
        assert both.length(v) == pytest.approx(second.length(first.vector(v)), rel=1e-12)


def test_a_mirrored_or_flattened_page_is_refused() -> None:
    """No correction may turn the page over: the piece would fit the other side."""
    with pytest.raises(ValueError, match="no printer"):
        from_matrix(np.array([[1.0, 0.0], [0.0, -1.0]]))
    with pytest.raises(ValueError, match="no printer"):
        Distortion(scale_x=0.0)
    with pytest.raises(ValueError, match="no printer"):
        Distortion(skew=math.nan)


@given(distortions, st.floats(-math.pi, math.pi), st.floats(-1.0, 1.0), st.floats(0.0005, 0.003))
def test_the_doubt_of_an_angle_is_what_small_changes_of_the_map_make_of_it(
    made: Distortion, heading: float, opening: float, size: float
) -> None:
    """A doubt that is too small says "use" where nobody can know."""
    u = (math.cos(heading), math.sin(heading))
    v = (math.cos(heading + 1.4 + opening), math.sin(heading + 1.4 + opening))
    found = estimate(measured(made, standard=size * 100))

    def angle(values: np.ndarray) -> float:
        shifted = Distortion(scale_x=values[0], scale_y=values[1], skew=values[2])
        (a, b), (c, d) = shifted.vector(u), shifted.vector(v)
        return math.atan2(abs(a * d - b * c), a * c + b * d)

    at = np.array([made.scale_x, made.scale_y, made.skew])
    slopes = np.array([(angle(at + h) - angle(at - h)) / 2e-6 for h in 1e-6 * np.eye(3)])
    expected = math.sqrt(slopes @ found.covariance @ slopes)
    assert printed_angle(found, u, v).standard == pytest.approx(expected, rel=1e-5, abs=1e-9)
    assert printed_angle(found, u, v).value == pytest.approx(angle(at), abs=1e-9)


def test_the_stated_doubts_hold_in_95_of_100_simulated_pages() -> None:
    """Verdicts are worth what their plus-minus is worth."""
    rng = np.random.default_rng(20)
    inside = np.zeros(4)
    rounds = 1000
    u, v = (1.0, 0.0), (math.cos(math.radians(84.3)), math.sin(math.radians(84.3)))
    true = printed_angle(estimate(measured(BAD_PRINTER)), u, v).value
    for _ in range(rounds):
        bars = [
            Bar(vector=w, measured=BAD_PRINTER.length(w) + rng.normal(0, 0.1), standard=0.1)
            for w in SQUARE
        ]
        found = estimate(bars)
        made, doubts = found.distortion, found.standards
        off = (
            made.scale_x - BAD_PRINTER.scale_x,
            made.scale_y - BAD_PRINTER.scale_y,
            made.skew - BAD_PRINTER.skew,
        )
        there = printed_angle(found, u, v)
        inside[:3] += [abs(o) <= 2 * d for o, d in zip(off, doubts, strict=True)]
        inside[3] += abs(there.value - true) <= 2 * there.standard
    assert np.all(inside >= 0.95 * rounds)
    assert np.all(inside < rounds)


def test_without_a_diagonal_the_skew_stays_in_doubt() -> None:
    """Two perfect bars say nothing of the corner between them: an upright edge may lean."""
    found = estimate(measured(BAD_PRINTER, SQUARE[:2], standard=1e-6))
    assert not found.skew_measured
    assert found.distortion.skew == 0.0
    upright = printed_angle(found, (1.0, 0.0), (0.0, 1.0))
    assert upright.standard == pytest.approx(SKEW_UNMEASURED, rel=1e-6)


def test_one_bar_alone_leaves_the_other_axis_in_doubt() -> None:
    """A printer that differs by axis must not pass on the strength of one bar."""
    found = estimate(measured(BAD_PRINTER, SQUARE[:1]))
    assert found.scales_measured == (True, False)
    assert found.distortion.scale_x == pytest.approx(0.985, abs=1e-9)
    assert found.standards[1] > 0.015


def test_diagonals_alone_give_the_size_and_the_skew_but_not_each_axis() -> None:
    """Whoever measured only the diagonals must be told what is missing."""
    found = estimate(measured(BAD_PRINTER, SQUARE[2:]))
    assert found.scales_measured == (False, False)
    assert found.skew_measured
    mean = (found.distortion.scale_x + found.distortion.scale_y) / 2
    assert mean == pytest.approx((0.985 + 1.012) / 2, abs=2e-4)


def test_nothing_measured_leaves_everything_in_doubt() -> None:
    """A sheet that nobody measured may be anything."""
    found = estimate([])
    assert found.scales_measured == (False, False)
    assert found.standards[0] > 0.04


def test_readings_that_disagree_widen_the_doubt() -> None:
    """Sighting a line is worse than a calliper's step; the readings themselves show it."""
    calm = estimate(measured(BAD_PRINTER, standard=0.01))
    bars = measured(BAD_PRINTER, standard=0.01)
    bars[2] = Bar(vector=SQUARE[2], measured=bars[2].measured + 0.2, standard=0.01)
    assert estimate(bars).standards[0] > 3 * calm.standards[0]


def test_a_length_along_neither_axis_is_judged_with_both_scales() -> None:
    """The diagonal of a strip laid aslant is as wrong as the axes make it."""
    there = printed_length(estimate(measured(BAD_PRINTER)), (30.0, 40.0))
    assert there.value == pytest.approx(BAD_PRINTER.length((30.0, 40.0)), abs=1e-9)
    assert 0.0 < there.standard < 0.05


@pytest.mark.parametrize(
    "bar",
    [
        Bar(vector=(0.0, 0.0), measured=1.0, standard=0.1),
        Bar(vector=(1.0, 0.0), measured=0.0, standard=0.1),
        Bar(vector=(1.0, 0.0), measured=1.0, standard=0.0),
    ],
)
def test_a_bar_without_length_reading_or_doubt_is_refused(bar: Bar) -> None:
    """A reading of nothing must not become a scale of nothing."""
    with pytest.raises(ValueError, match="above zero"):
        estimate([bar])


def test_two_rounds_on_a_bad_printer_end_true() -> None:
    """A corrected reprint, measured again, must refine the correction and not undo it."""
    total = Distortion()
    for step in (0.5, 0.02):
        whole = from_matrix(BAD_PRINTER.matrix @ total.inverse)
        readings = [
            Bar(vector=v, measured=round(whole.length(v) / step) * step, standard=step / 3.5)
            for v in SQUARE
        ]
        total = total.combined(after=estimate(readings).distortion)
    left = from_matrix(BAD_PRINTER.matrix @ total.inverse)
    assert left.scale_x == pytest.approx(1.0, abs=2e-4)
    assert left.scale_y == pytest.approx(1.0, abs=2e-4)
    assert math.degrees(left.skew) == pytest.approx(0.0, abs=0.01)


def test_a_print_correction_tells_what_it_was_made_for() -> None:
    """The second round starts from what the first print was drawn with."""
    made = Distortion(scale_x=0.985, scale_y=1.012, skew=math.radians(0.3))
    (a, c), (b, d) = made.inverse.tolist()
    found = undone_by((a, b, c, d))
    assert found.scale_x == pytest.approx(made.scale_x, abs=1e-14)
    assert found.scale_y == pytest.approx(made.scale_y, abs=1e-14)
    assert found.skew == pytest.approx(made.skew, abs=1e-14)
    with pytest.raises(ValueError, match="correction"):
        undone_by((1.0, 1.0, 1.0, 1.0))
