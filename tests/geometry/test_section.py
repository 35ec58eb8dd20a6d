"""Outlines laid into the frame of the trailing edge, and two straight faces through their end."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jiggen.errors import ImpossibleWedge
from jiggen.geometry.section import Section, measured_from_fit, section_from_outline

Points = list[tuple[float, float]]


def thickness(of: Section, x: float) -> float:
    return of.height("a", x) + of.height("b", x)


def flat_tail(a: float, b: float, blunt: float = 0.004, spacing: int = 12) -> Points:
    """Return an outline of chord 1 whose last 30 % is two straight faces of slopes a and b."""
    aft = np.linspace(1.0, 0.7, spacing)
    round_nose = np.linspace(0.0, math.pi, 41)[1:-1]
    up, down = blunt / 2 + 0.3 * a, -blunt / 2 - 0.3 * b
    nose = [
        (0.7 - 0.7 * math.sin(t), (up + down) / 2 + (up - down) / 2 * math.cos(t))
        for t in round_nose
    ]
    # The farthest point must be the nose's tip on the chord line itself.
    upper = [(float(x), blunt / 2 + (1.0 - float(x)) * a) for x in aft]
    lower = [(float(x), -blunt / 2 - (1.0 - float(x)) * b) for x in aft[::-1]]
    return upper + nose + lower


def lens(count: int = 60, thickness: float = 0.12) -> Points:
    """Return a sharp-edged outline of two parabolas, chord 1."""
    x = np.linspace(1.0, 0.0, count)
    half = 2 * thickness * x * (1 - x)
    upper = list(zip(x.tolist(), half.tolist(), strict=True))
    return upper + [(x, -z) for x, z in reversed(upper[:-1])]


def turned(points: Points, angle: float, scale: float, shift: tuple[float, float]) -> Points:
    c, s = scale * math.cos(angle), scale * math.sin(angle)
    return [(c * x - s * z + shift[0], s * x + c * z + shift[1]) for x, z in points]


@given(
    st.floats(0.02, 0.2),
    st.floats(-1.2, 1.2),
    st.floats(0.01, 500.0),
    st.floats(-50.0, 50.0),
    st.floats(50.0, 3000.0),
)
@settings(max_examples=100)
def test_a_straight_tail_gives_its_own_slopes_however_the_file_is_scaled_turned_or_shifted(
    slope: float, turn: float, scale: float, shift: float, chord: float
) -> None:
    """A section in per cent, in inches or drawn at incidence is still the same section."""
    points = turned(flat_tail(slope, slope), turn, scale, (shift, -shift))
    fit = section_from_outline(points, chord).fit(0.8)
    assert fit.slope_a == pytest.approx(slope, abs=1e-9)
    assert fit.slope_b == pytest.approx(slope, abs=1e-9)
    assert fit.bend_a < 1e-7
    assert fit.reach == pytest.approx(0.2 * chord)


def test_the_spacing_of_the_points_does_not_weigh() -> None:
    """Published sections crowd their points at the edge; the wedge does not know that."""
    even = lens(400)
    crowded_x = 1.0 - np.linspace(0.0, 1.0, 400) ** 2
    half = 0.24 * crowded_x * (1 - crowded_x)
    upper = list(zip(crowded_x.tolist(), half.tolist(), strict=True))
    crowded = upper + [(x, -z) for x, z in reversed(upper[:-1])]
    one = section_from_outline(even, 100.0).fit(0.9)
    other = section_from_outline(crowded, 100.0).fit(0.9)
    # The parabola 0.24 x (1-x) over its last tenth has the slope at the middle, 0.24 (1 - 0.1).
    assert one.slope_a == pytest.approx(0.216, abs=2e-5)
    assert other.slope_a == pytest.approx(one.slope_a, abs=2e-5)


def test_bend_is_the_largest_angle_between_outline_and_face() -> None:
    """A curved skin under a straight guide rocks; the card says by how much."""
    fit = section_from_outline(lens(2000), 100.0).fit(0.9)
    steepest = math.atan(0.24) - math.atan(0.216)
    assert fit.bend_a == pytest.approx(steepest, abs=2e-4)
    assert fit.bend_b == pytest.approx(steepest, abs=2e-4)


def test_heights_count_outward_on_both_sides_and_add_up_to_the_thickness() -> None:
    """A side counted inward would turn its guide over."""
    section = section_from_outline(flat_tail(0.10, 0.10, blunt=0.004), 500.0)
    assert thickness(section, 0.0) == pytest.approx(2.0, abs=1e-9)
    assert section.height("a", 100.0) == pytest.approx(1.0 + 10.0, abs=1e-9)
    assert section.height("b", 100.0) == pytest.approx(1.0 + 10.0, abs=1e-9)
    assert thickness(section, 100.0) == pytest.approx(22.0, abs=1e-9)
    assert thickness(section_from_outline(lens(), 500.0), 0.0) == pytest.approx(0.0, abs=1e-12)


def test_a_blunt_edge_cut_slantwise_is_carried_on_to_the_chord_plane() -> None:
    """The two corners of a trailing edge rarely lie at the same x."""
    points = flat_tail(0.10, 0.10, blunt=0.004)
    points[0] = (0.999, 0.0021)  # the upper corner was filed back along its own face
    section = section_from_outline(points, 500.0)
    assert section.x_a[0] == 0.0
    # Half-way along the slanting cut, 0.9995, the two faces are 0.0041 of the chord apart.
    assert thickness(section, 0.0) == pytest.approx(2.05, abs=0.005)
    assert section.fit(0.8).slope_a + section.fit(0.8).slope_b == pytest.approx(0.2, abs=2e-3)
    rising = [after > before for before, after in pairwise(section.x_a.tolist())]
    assert all(rising)


def test_an_outline_taken_along_a_swept_rib_is_squeezed_square_to_the_edge() -> None:
    """Ribs of a swept surface carry the file's section; the guide stands square to the edge."""
    sweep = math.radians(25.0)
    rib = section_from_outline(flat_tail(0.1, 0.1), 500.0)
    true = section_from_outline(flat_tail(0.1, 0.1), 500.0, sweep)
    assert true.fit(0.8).slope_a == pytest.approx(rib.fit(0.8).slope_a / math.cos(sweep))
    assert thickness(true, 0.0) == pytest.approx(thickness(rib, 0.0))
    assert true.chord == pytest.approx(500.0 * math.cos(sweep))


def test_error_of_a_coordinate_counts_at_both_ends_of_the_face() -> None:
    """Ten times the reach, a tenth of the doubt."""
    section = section_from_outline(flat_tail(0.1, 0.1), 500.0)
    near, far = (measured_from_fit(section.fit(start)) for start in (0.98, 0.8))
    assert near.effects["z"][0] == pytest.approx(10 * far.effects["z"][0], rel=1e-6)
    assert far.effects["z"][0] == pytest.approx(math.sqrt(2) / 100.0 / 1.01, rel=1e-9)


def crossing() -> Points:
    points = flat_tail(0.1, 0.1, blunt=0.0)
    return [(x, z - 0.03 if 0.9 < x < 1.0 and z > 0 else z) for x, z in points]


@pytest.mark.parametrize(
    ("points", "says"),
    [
        (flat_tail(0.1, 0.1, blunt=0.3), "no usable trailing edge"),
        (flat_tail(0.1, 0.1)[::-1], "lower side first"),
        ([(1.0, 0.0), (0.0, 0.0), (1.0, 0.0)], "at least 5 points"),
        ([(1.0, 0.0)] * 8, "no usable trailing edge"),
        ([(1.0, math.nan), *flat_tail(0.1, 0.1)], "at least 5 points"),
        (crossing(), "sides of the outline cross"),
        (flat_tail(0.1, 0.1)[:6] + flat_tail(0.1, 0.1), "turns back"),
    ],
)
def test_an_outline_that_is_no_section_is_refused(points: Points, says: str) -> None:
    """A file of something else must not become a guide."""
    with pytest.raises(ImpossibleWedge, match=says):
        section_from_outline(points, 500.0).fit(0.8)


def test_a_fit_over_nothing_or_a_chord_of_nothing_is_refused() -> None:
    """A share of the chord typed as per cent is the usual slip."""
    section: Section = section_from_outline(lens(), 500.0)
    for start in (90.0, 1.0, 0.0, math.nan):
        with pytest.raises(ImpossibleWedge, match="nothing is left") as refused:
            section.fit(start)
        assert refused.value.key == "from"
    with pytest.raises(ImpossibleWedge, match="chord has no length"):
        section_from_outline(lens(), 0.0)
