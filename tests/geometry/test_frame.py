"""The corner of a guide against vectors: a ray on the skin and the drill axis in space."""

import math

import numpy as np
import pytest
from folding import angle_between, face_normal
from hypothesis import given
from strategies import skin_angle_pairs

from jiggen.drawing.piece import Edge
from jiggen.drawing.piece import angle_between as edge_angle
from jiggen.drawing.shapes import Point
from jiggen.geometry.frame import guide_angle

AFT, SPANWISE = math.pi, math.pi / 2


def test_guide_angle_is_the_angle_between_skin_ray_and_drill_axis_on_20000_faces() -> None:
    """A guide cut to anything else sends every hole off to one side."""
    draw = np.random.default_rng(20)
    slope_x = np.tan(draw.uniform(-0.7, 0.7, 20_000))
    slope_y = draw.uniform(-0.3, 0.3, 20_000)
    heading = draw.uniform(-math.pi, math.pi, 20_000)
    run = np.stack([np.cos(heading), np.sin(heading)])
    # Where the plane z = p x + q y lies above the ray's track: from two points of it.
    rise = slope_x * run[0] + slope_y * run[1]
    by_vectors = np.arctan2(np.hypot(*run), rise)  # from the axis: across over along
    by_formula = [
        guide_angle(x, y, turn)
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
        assert guide_angle(slope) == pytest.approx(math.pi / 2 - angle, abs=1e-12)
        assert guide_angle(slope, 0.0, AFT) == pytest.approx(math.pi / 2 + angle, abs=1e-12)
        assert guide_angle(slope, 0.0, SPANWISE) == pytest.approx(math.pi / 2, abs=1e-12)


@given(skin_angle_pairs())
def test_both_guides_and_the_included_angle_make_half_a_turn(angles: tuple[float, float]) -> None:
    """The taper gauge and the angle table must name the same wedge."""
    a, b = (math.tan(angle) for angle in angles)
    between = 180.0 - angle_between(face_normal(a, side="a"), face_normal(b, side="b"))
    guides = math.degrees(guide_angle(a) + guide_angle(b))
    assert guides + between == pytest.approx(180.0, abs=1e-9)


def test_small_angles_are_not_lost() -> None:
    """A half-hundredth of a degree is a real shop error; an arc cosine loses it."""
    tiny = 0.00005
    far = Point(math.cos(math.radians(tiny)), math.sin(math.radians(tiny)))
    found = edge_angle(Edge(Point(0.0, 0.0), Point(1.0, 0.0)), Edge(Point(0.0, 0.0), far))
    assert found == pytest.approx(tiny, rel=1e-9)
