import math

import numpy as np
import pytest

from jiggen.geometry.leastsquares import standard_from_step
from jiggen.geometry.testhole import TestHole, drilled_tilt

STANDARD = standard_from_step(0.05)


def hole(tilt=(0.0, 0.0), thickness: float = 20.0, noise=(0.0, 0.0, 0.0, 0.0)) -> TestHole:
    """Return a hole drilled at a tilt through flat scrap, entering 15, 12 mm from the edges."""
    leave = (15 + thickness * math.tan(tilt[0]), 12 + thickness * math.tan(tilt[1]))
    return TestHole(
        entry=(15 + noise[0], 12 + noise[1]),
        exit=(leave[0] + noise[2], leave[1] + noise[3]),
        thickness=thickness,
        standard=STANDARD,
        thickness_standard=STANDARD,
    )


def test_the_tilt_of_a_hole_comes_back_along_both_axes() -> None:
    """A sign error here would have the user file the wrong side of the guide."""
    found = drilled_tilt([hole((math.radians(5.7), math.radians(-1.2)))])
    assert math.degrees(found.x) == pytest.approx(5.7, abs=1e-9)
    assert math.degrees(found.y) == pytest.approx(-1.2, abs=1e-9)


def test_the_stated_doubt_of_the_tilt_holds_in_95_of_100_simulated_holes() -> None:
    """A test hole is trusted above all other proof, so its plus-minus must be true."""
    rng = np.random.default_rng(4)
    true = math.radians(5.7)
    inside = 0
    for _ in range(1000):
        found = drilled_tilt([hole((true, 0.0), noise=rng.normal(0, STANDARD, 4))])
        inside += abs(found.x - true) <= 2 * found.standards[0]
    assert 950 <= inside < 1000


def test_four_holes_halve_the_doubt_of_one() -> None:
    """Drilling more holes is the cheapest way to know better."""
    one, four = drilled_tilt([hole()]), drilled_tilt([hole()] * 4)
    assert four.standards[0] == pytest.approx(one.standards[0] / 2, rel=1e-9)


def test_holes_that_disagree_widen_the_doubt() -> None:
    """A guide that rocks gives another hole each time; the mean must not look sure."""
    steady = drilled_tilt([hole(), hole()])
    rocking = drilled_tilt([hole((0.03, 0.0)), hole((-0.03, 0.0))])
    assert rocking.standards[0] > 5 * steady.standards[0]


def test_no_hole_and_no_thickness_are_refused() -> None:
    """Nothing drilled proves nothing."""
    with pytest.raises(ValueError, match="at least one"):
        drilled_tilt([])
    with pytest.raises(ValueError, match="thickness"):
        drilled_tilt([hole(thickness=0.0)])
