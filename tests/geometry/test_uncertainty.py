"""The plus-or-minus of an angle against a thousand repeated measurements."""

import math

import numpy as np
import pytest

from jiggen.errors import ImpossibleWedge
from jiggen.geometry import measured as forms
from jiggen.geometry.uncertainty import contributions, limiting, together


def test_plus_minus_is_the_scatter_of_repeated_measuring() -> None:
    """First order and root-sum-square must agree with drawing the readings at random."""
    front, rear, width = 3.9, 0.7, 16.0
    doubt = {"front": 0.03, "rear": 0.02, "width": 0.25}
    told = together(contributions(forms.from_thickness(front, rear, width).effects, doubt))
    draw = np.random.default_rng(4)
    angles = [
        math.atan(forms.from_thickness(*row).slope_a)
        for row in draw.normal([front, rear, width], list(doubt.values()), (20_000, 3)).tolist()
    ]
    assert told is not None
    assert told[0] == pytest.approx(float(np.std(angles)), rel=0.03)
    assert told[0] == told[1]


def test_thickness_doubt_worked_by_hand() -> None:
    """0.02 mm on the front of a 16 mm wide wedge is 0.0354 deg.

    Source: DERIVED: 0.02/(2 x 16) rad, by cos^2 of 5.7106 deg.
    """
    parts = contributions(forms.from_thickness(3.9, 0.7, 16.0).effects, {"front": 0.02})
    of_side_a = math.degrees(parts["front"][0])
    assert of_side_a == pytest.approx(0.02 / 32 * 57.29578 * 0.990099, rel=1e-5)
    assert of_side_a == pytest.approx(0.0355, abs=1e-4)


def test_the_reading_that_limits_an_angle_is_named_for_each_side() -> None:
    """It tells which tool to change first."""
    effects = forms.from_readings(0.1, -0.1, 0.0).effects
    parts = contributions(effects, {"a": 0.001, "b": 0.004, "chord": 0.002})
    side_a, side_b = limiting(parts, "a"), limiting(parts, "b")
    assert side_a is not None
    assert side_b is not None
    assert (side_a[0], side_b[0]) == ("chord", "b")
    assert together(parts) == pytest.approx((math.hypot(0.001, 0.002), math.hypot(0.004, 0.002)))


def test_nothing_stated_is_nothing_known_and_not_zero() -> None:
    """A plus-or-minus of 0 would be a boast."""
    assert together({}) is None
    assert limiting({}, "a") is None
    only_b = contributions(forms.from_skin_angles(0.1, 0.1).effects, {"b": 0.01})
    assert limiting(only_b, "a") is None


def test_a_doubt_about_a_reading_that_was_not_taken_is_refused() -> None:
    """A misnamed key must not vanish."""
    with pytest.raises(ImpossibleWedge, match="no such reading") as refused:
        contributions(forms.from_skin_angles(0.1, 0.1).effects, {"front": 0.01})
    assert refused.value.key == "plus_minus.front"
