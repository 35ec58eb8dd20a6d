"""Each way to know the skin angles, held against wedges that were built first and then measured."""

import inspect
import math
from collections.abc import Callable, Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import skin_angle_pairs

from jiggen.errors import ImpossibleWedge
from jiggen.geometry import measured as forms
from jiggen.geometry.measured import Measured

widths = st.floats(3.0, 200.0)
rears = st.floats(0.0, 5.0)


def angles(found: Measured) -> tuple[float, float]:
    return math.atan(found.slope_a), math.atan(found.slope_b)


@given(skin_angle_pairs(), widths, rears, rears, st.floats(-0.6, 0.6))
@settings(max_examples=200)
def test_every_form_finds_the_angles_of_a_wedge_that_was_built_first(
    pair: tuple[float, float], width: float, rear_a: float, rear_b: float, tilt: float
) -> None:
    """Whatever was measured, the same wedge must get the same guide."""
    a, b = pair
    half = (a + b) / 2.0
    rise = width * math.tan(half)
    rear = rear_a + rear_b
    both = [
        forms.from_included_angle(a + b),
        forms.from_thickness(rear + 2 * rise, rear, width),
        forms.from_thickness(rear + 2 * rise, rear, width / math.cos(half), "face"),
        forms.from_taper_rate(2 * math.tan(half)),
    ]
    for found in both:
        assert angles(found) == pytest.approx((half, half), abs=1e-9)
    each = [
        forms.from_skin_angles(a, b),
        forms.from_readings(tilt + a, tilt - b, tilt),
        forms.from_offsets(
            rear_a + width * math.tan(a), rear_b + width * math.tan(b), rear_a, rear_b, width
        ),
    ]
    for found in each:
        assert angles(found) == pytest.approx((a, b), abs=1e-9)


def test_width_along_the_face_is_turned_into_width_along_the_chord() -> None:
    """The wedge's depth decides whether the hole line still lies inside it."""
    found = forms.from_thickness(10.0, 4.0, 5.0, "face")  # 3-4-5 triangle
    assert found.width == pytest.approx(4.0, rel=1e-14)
    assert found.slope_a == pytest.approx(0.75, rel=1e-14)
    assert (found.rear_a, found.rear_b) == (2.0, 2.0)


@pytest.mark.parametrize(
    ("form", "readings", "fixed"),
    [
        (forms.from_included_angle, {"angle": 0.2}, {}),
        (forms.from_skin_angles, {"a": 0.13, "b": 0.05}, {}),
        (forms.from_thickness, {"front": 3.9, "rear": 0.7, "width": 16.0}, {"along": "chord"}),
        (forms.from_thickness, {"front": 9.0, "rear": 0.7, "width": 16.0}, {"along": "face"}),
        (
            forms.from_offsets,
            {"front_a": 2.1, "front_b": 1.4, "rear_a": 0.4, "rear_b": 0.3, "width": 16.0},
            {},
        ),
        (forms.from_readings, {"a": 0.103, "b": -0.098, "chord": 0.002}, {}),
        (forms.from_taper_rate, {"rate": 0.3}, {}),
    ],
)
@pytest.mark.parametrize("sweep", [0.0, 0.3])
def test_effect_of_each_reading_is_what_a_small_change_of_it_does(
    form: Callable[..., Measured],
    readings: Mapping[str, float],
    fixed: Mapping[str, str],
    sweep: float,
) -> None:
    """The plus-or-minus on the card is built from these; a lost factor of 2 would flatter it."""
    effects = forms.square(form(**readings, **fixed), sweep).effects
    assert set(effects) == set(readings)
    assert set(inspect.signature(form).parameters) == {*readings, *fixed}
    step = 1e-6
    for name, told in effects.items():
        ends = [
            angles(forms.square(form(**{**readings, name: readings[name] + d}, **fixed), sweep))
            for d in (-step, step)
        ]
        by_change = [(high - low) / (2 * step) for low, high in zip(*ends, strict=True)]
        assert told == pytest.approx(by_change, rel=1e-6, abs=1e-9)


def test_ribs_of_a_swept_edge_show_less_taper_than_the_section_square_to_it() -> None:
    """5.5 deg along ribs swept 18 deg is 5.7812 deg square to the edge.

    Source: DERIVED: tan 5.5 deg = 0.096289, over cos 18 deg = 0.951057, is tan 5.7812 deg.
    """
    along_rib = forms.from_skin_angles(math.radians(5.5), math.radians(5.5))
    true = forms.square(along_rib, math.radians(18.0))
    assert math.degrees(angles(true)[0]) == pytest.approx(5.7812, abs=5e-5)


def test_widths_along_swept_ribs_shorten_and_thicknesses_stay() -> None:
    """The hole line is measured square to the edge; the rib's width is not."""
    found = forms.square(forms.from_thickness(3.9, 0.7, 16.0), math.radians(20.0))
    assert found.width == pytest.approx(16.0 * math.cos(math.radians(20.0)), rel=1e-14)
    assert found.rear_a == 0.35
    again = forms.from_thickness(3.9, 0.7, found.width or 0.0)
    assert found.slope_a == pytest.approx(again.slope_a, rel=1e-12)


@pytest.mark.parametrize(
    ("build", "says"),
    [
        (lambda: forms.from_thickness(3.9, 0.7, 0.0), "same place"),
        (lambda: forms.from_offsets(2.0, 2.0, 0.4, 0.4, -1.0), "same place"),
        (lambda: forms.from_thickness(9.0, 1.0, 5.0, "face"), "too short"),
        (lambda: forms.from_included_angle(math.radians(179.0)), "steeper than 45"),
        (lambda: forms.from_readings(1.7, 0.0, 0.0), "steeper than 45"),
        (lambda: forms.from_skin_angles(math.nan, 0.1), "steeper than 45"),
        (lambda: forms.square(forms.from_taper_rate(0.2), math.radians(80.0)), "ribs lie"),
        (lambda: forms.from_thickness(0.7, 3.9, 16.0).station(0.0), "taper inverted"),
        (lambda: forms.from_offsets(1.0, 1.0, 0.5, -0.6, 9.0).station(0.0), "cross"),
    ],
)
def test_readings_that_no_wedge_can_give_are_refused(
    build: Callable[[], object], says: str
) -> None:
    """A slip of the pencil must stop here and not at the drill."""
    with pytest.raises(ImpossibleWedge, match=says):
        build()


def test_the_one_sided_wedge_is_legal() -> None:
    """One flat skin and one sloping one is a real part."""
    station = forms.from_skin_angles(math.radians(6.0), 0.0).station(0.0, rear=(0.0, 0.0))
    assert station.angle_b == 0.0
    assert station.rear_thickness == 0.0
