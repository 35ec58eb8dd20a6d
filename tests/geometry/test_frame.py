"""The short formulas against vectors: skins, rays and the drill axis in space."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import skin_angle_pairs

from jiggen.geometry import frame
from jiggen.geometry.frame import Side

SIDES: tuple[Side, Side] = ("a", "b")


@pytest.mark.parametrize("side", SIDES)
def test_guide_angle_is_the_angle_between_skin_ray_and_drill_axis_on_20000_faces(
    side: Side,
) -> None:
    """A guide cut to anything else sends every hole off to one side."""
    draw = np.random.default_rng(20)
    slope_x = np.tan(draw.uniform(-0.7, 0.7, 20_000))
    slope_y = draw.uniform(-0.3, 0.3, 20_000)
    heading = draw.uniform(-math.pi, math.pi, 20_000)
    rays = frame.skin_ray(side, slope_x, slope_y, heading)
    by_vectors = frame.angle_between(rays, frame.drill_axis(side))
    by_formula = [
        frame.guide_angle(x, y, turn)
        for x, y, turn in zip(slope_x.tolist(), slope_y.tolist(), heading.tolist(), strict=True)
    ]
    assert np.abs(by_vectors - by_formula).max() < 1e-12


@given(skin_angle_pairs())
def test_guide_is_90_less_the_skin_angle_forward_90_more_aft_and_square_along_the_edge(
    angles: tuple[float, float],
) -> None:
    """Forward and aft exchanged doubles the error that the guide is there to prevent."""
    for angle in angles:
        slope = math.tan(angle)
        assert frame.guide_angle(slope) == pytest.approx(math.pi / 2 - angle, abs=1e-12)
        assert frame.guide_angle(slope, 0.0, frame.AFT) == pytest.approx(
            math.pi / 2 + angle, abs=1e-12
        )
        assert frame.guide_angle(slope, 0.0, frame.SPANWISE) == pytest.approx(
            math.pi / 2, abs=1e-12
        )


@given(skin_angle_pairs())
def test_skins_of_a_prismatic_wedge_are_tilted_by_their_skin_angles_from_the_drill_axis(
    angles: tuple[float, float],
) -> None:
    """The tilt of the rivet head on each skin is read off this."""
    for side, angle in zip(SIDES, angles, strict=True):
        normal = frame.skin_normal(side, math.tan(angle), 0.0)
        tilt = float(frame.angle_between(normal, frame.drill_axis(side)))
        assert tilt == pytest.approx(abs(angle), abs=1e-12)


@given(skin_angle_pairs())
def test_angle_between_the_two_skins_is_the_included_angle(angles: tuple[float, float]) -> None:
    """The taper gauge and the angle table must name the same wedge."""
    a, b = angles
    rays = [
        frame.skin_ray(side, math.tan(angle), 0.0, frame.FORWARD)
        for side, angle in zip(SIDES, angles, strict=True)
    ]
    assert float(frame.angle_between(*rays)) == pytest.approx(a + b, abs=1e-12)


@given(
    st.sampled_from(SIDES),
    st.floats(-0.9, 0.9),
    st.floats(-0.3, 0.3),
    st.floats(-math.pi, math.pi),
)
@settings(max_examples=200)
def test_a_ray_at_any_heading_lies_in_its_skin(
    side: Side, slope_x: float, slope_y: float, heading: float
) -> None:
    """A base that does not lie on the skin rocks."""
    ray = frame.skin_ray(side, slope_x, slope_y, heading)
    assert abs(float(ray @ frame.skin_normal(side, slope_x, slope_y))) < 1e-12


def test_small_angles_are_not_lost() -> None:
    """A half-hundredth of a degree is a real shop error; an arc cosine loses it."""
    tiny = math.radians(0.00005)
    u, v = np.array([1.0, 0.0, 0.0]), np.array([math.cos(tiny), math.sin(tiny), 0.0])
    assert float(frame.angle_between(u, v)) == pytest.approx(tiny, rel=1e-9)
