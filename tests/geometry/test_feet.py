"""Where the two feet of a guide stand on a curved skin."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jiggen.errors import ImpossibleWedge
from jiggen.geometry.feet import feet_for_slope
from jiggen.geometry.section import Section


def dome(bend: float = 0.001) -> Section:
    """Return a section whose skins are parabolas: height 1 + 0.1 x - bend x^2."""
    x = np.linspace(0.0, 100.0, 401)
    height = 1.0 + 0.1 * x - bend * x**2
    return Section(chord=100.0, x_a=x, height_a=height, x_b=x, height_b=height)


@given(st.floats(0.0, 0.09), st.sampled_from(["forward", "aft"]))
@settings(max_examples=100)
def test_the_far_foot_gives_the_wanted_slope_where_the_skin_can(slope: float, way: str) -> None:
    """Both feet on the skin and the wrong slope is a guide that looks right."""
    section = dome()
    near, low, high = (4.0, 8.0, 88.0) if way == "forward" else (-2.0, -10.0, -4.0)
    feet = feet_for_slope(section, "a", 10.0, near, low, high, slope)
    rise = section.height("a", 10.0 + feet.far) - section.height("a", 10.0 + near)
    assert feet.slope == pytest.approx(rise / (feet.far - near), abs=1e-12)
    assert low <= feet.far <= high
    # On this parabola the chord from x0 to x1 has the slope 0.1 - bend (x0 + x1).
    x1 = (0.1 - slope) / 0.001 - (10.0 + near)
    if low + 0.5 <= x1 - 10.0 <= high - 0.5:
        assert feet.slope == pytest.approx(slope, abs=1e-9)
        assert feet.far == pytest.approx(x1 - 10.0, abs=0.5)


def test_of_several_places_the_widest_stance_is_taken() -> None:
    """Feet close together rock."""
    x = np.array([0.0, 10.0, 20.0, 30.0, 40.0, 100.0])
    height = np.array([0.0, 1.0, 3.0, 3.0, 4.0, 4.0])  # crosses the slope 0.1 three times
    section = Section(chord=100.0, x_a=x, height_a=height, x_b=x, height_b=height)
    feet = feet_for_slope(section, "a", 0.0, 0.0, 5.0, 60.0, 0.1)
    assert feet.far == pytest.approx(40.0, abs=1e-9)


def test_a_slope_that_the_skin_never_has_gives_the_nearest_and_says_so() -> None:
    """The caller must be able to refuse."""
    feet = feet_for_slope(dome(), "b", 10.0, 4.0, 20.0, 40.0, 0.5)
    assert feet.far == pytest.approx(20.0)
    assert feet.slope == pytest.approx(0.1 - 0.001 * (14.0 + 30.0), abs=1e-9)


@pytest.mark.parametrize(
    ("hole", "near", "low", "high"),
    [(10.0, -11.0, -20.0, -15.0), (10.0, 4.0, 95.0, 120.0), (10.0, 4.0, 2.0, 40.0)],
)
def test_feet_off_the_skin_are_refused(hole: float, near: float, low: float, high: float) -> None:
    """A foot over the edge stands on nothing."""
    with pytest.raises(ImpossibleWedge, match="stand on the skin") as refused:
        feet_for_slope(dome(), "a", hole, near, low, high, 0.05)
    assert refused.value.key == "guide.foot"
