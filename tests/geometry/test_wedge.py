"""The wedge between its stations: rulings, rise along the span, and what is refused."""

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from strategies import wedges

from jiggen.errors import ImpossibleWedge
from jiggen.geometry.wedge import Faces, Station, Wedge, covers

LINE = 8.0


def height(faces: Faces, side: str, rear: float, line: float) -> float:
    """Return a face's height off the chord plane at the hole line, at the first place."""
    slope = faces.slope_a if side == "a" else faces.slope_b
    return rear + line * float(slope[0])


@given(wedges())
@settings(max_examples=200)
def test_at_its_stations_a_wedge_is_what_was_measured(wedge: Wedge) -> None:
    """A number that changes between measuring and printing is a number nobody can check."""
    faces = wedge.faces_at([station.at for station in wedge.stations], LINE)
    for k, station in enumerate(wedge.stations):
        assert faces.slope_a[k] == pytest.approx(station.slope_a, rel=1e-12, abs=1e-12)
        assert faces.slope_b[k] == pytest.approx(station.slope_b, rel=1e-12, abs=1e-12)
        assert faces.rear[k] == pytest.approx(station.rear_thickness, rel=1e-12)
        for found, known in (
            (faces.plus_minus_a[k], station.plus_minus_a),
            (faces.plus_minus_b[k], station.plus_minus_b),
        ):
            assert math.isnan(found) if known is None else found == known


@given(wedges(least=2, most=2), st.floats(0.0, 1.0))
@settings(max_examples=200)
def test_between_two_stations_slopes_stay_between_theirs_and_the_wedge_keeps_a_thickness(
    wedge: Wedge, share: float
) -> None:
    """An overshoot between stations would cut guides steeper than any measured section."""
    one, other = wedge.stations
    faces = wedge.faces_at([one.at + share * (other.at - one.at)], LINE)
    low, high = sorted((one.slope_a, other.slope_a))
    assert low - 1e-12 <= float(faces.slope_a[0]) <= high + 1e-12
    assert float(faces.rear[0] + LINE * (faces.slope_a[0] + faces.slope_b[0])) > 0.0


def test_thickness_stations_span_straight_threads_from_front_to_front_and_rear_to_rear() -> None:
    """The ruled wedge is what a string stretched over two measured ribs shows."""
    one = Station(at=0.0, slope_a=0.1, slope_b=0.1, rear_a=0.4, rear_b=0.4, width=20.0)
    other = Station(at=400.0, slope_a=0.2, slope_b=0.2, rear_a=0.3, rear_b=0.3, width=10.0)
    # fronts 0.4 + 2.0 and 0.3 + 2.0, so a quarter of the way: front 2.375, rear 0.375, width 17.5
    faces = Wedge(stations=(one, other)).faces_at([100.0])
    assert float(faces.slope_a[0]) == pytest.approx(2.0 / 17.5, rel=1e-14)
    assert float(faces.rear[0]) == pytest.approx(0.75, rel=1e-14)
    assert float(faces.depth[0]) == pytest.approx(17.5, rel=1e-14)


def test_angle_stations_span_slopes_that_run_straight() -> None:
    """Angles, not their tangents, run straight would be wrong by a little everywhere."""
    one = Station(at=0.0, slope_a=0.1, slope_b=0.05)
    other = Station(at=400.0, slope_a=0.2, slope_b=0.07, width=10.0, rear_a=0.3, rear_b=0.3)
    faces = Wedge(stations=(one, other)).faces_at([100.0])
    assert float(faces.slope_a[0]) == pytest.approx(0.125, rel=1e-14)
    assert float(faces.slope_b[0]) == pytest.approx(0.055, rel=1e-14)
    assert math.isnan(float(faces.rear[0])), "a rear known at one end only is not known between"


@given(wedge=wedges(least=2, most=4), share=st.floats(0.02, 0.98), line=st.floats(2.0, 30.0))
@example(
    # A span so short and steep that a difference over a hundredth of it is too coarse.
    wedge=Wedge(
        stations=(
            Station(at=0.0, slope_a=0.0, slope_b=0.57735, rear_a=0.0, rear_b=0.0, width=5.0),
            Station(at=50.0, slope_a=0.0, slope_b=0.01746, rear_a=0.0, rear_b=0.0, width=29.0),
        )
    ),
    share=0.021484375,
    line=14.0,
)
@settings(max_examples=200)
def test_rise_along_the_span_is_the_change_of_the_faces_height_at_the_hole_line(
    wedge: Wedge, share: float, line: float
) -> None:
    """The lean printed for a tapered wedge is this slope; a wrong sign leans the drill outboard."""
    one, other = wedge.stations[0], wedge.stations[1]
    y, step = one.at + share * (other.at - one.at), 0.001 * (other.at - one.at)
    here = wedge.faces_at([y], line)
    for side in ("a", "b"):
        ends = []
        for where in (y - step, y + step):
            along = (where - one.at) / (other.at - one.at)
            rears = [getattr(s, f"rear_{side}") for s in (one, other)]
            rear = rears[0] + along * (rears[1] - rears[0])
            ends.append(height(wedge.faces_at([where], line), side, rear, line))
        by_difference = (ends[1] - ends[0]) / (2.0 * step)
        told = float((here.slope_y_a if side == "a" else here.slope_y_b)[0])
        assert told == pytest.approx(by_difference, abs=2e-4 * (1.0 + abs(told)))


def test_a_prismatic_wedge_has_no_rise_along_the_span_even_without_a_rear_thickness() -> None:
    """One station says that the section is the same everywhere: square along the span is sure."""
    faces = Wedge(stations=(Station(at=0.0, slope_a=0.1, slope_b=0.1),)).faces_at([-5.0, 900.0])
    assert faces.slope_y_a.tolist() == [0.0, 0.0]
    assert faces.slope_y_b.tolist() == [0.0, 0.0]


def test_a_tapered_wedge_without_rear_thickness_or_hole_line_keeps_its_lean_to_itself() -> None:
    """A lean invented from half the inputs would be drilled."""
    bare = (
        Station(at=0.0, slope_a=0.1, slope_b=0.1),
        Station(at=500.0, slope_a=0.12, slope_b=0.1),
    )
    assert np.isnan(Wedge(stations=bare).faces_at([100.0], LINE).slope_y_a).all()
    known = tuple(
        Station(at=s.at, slope_a=s.slope_a, slope_b=s.slope_b, rear_a=0.4, rear_b=0.4) for s in bare
    )
    assert np.isnan(Wedge(stations=known).faces_at([100.0]).slope_y_a).all()
    told = Wedge(stations=known).faces_at([100.0], LINE).slope_y_a
    assert float(told[0]) == pytest.approx(8.0 * 0.02 / 500.0, rel=1e-12)


def test_at_an_inner_station_the_rise_is_that_of_the_bay_toward_larger_y() -> None:
    """Two bays meet there with two rises; which one is told must not be left to chance."""
    row = tuple(
        Station(at=at, slope_a=slope, slope_b=0.1, rear_a=0.4, rear_b=0.4)
        for at, slope in ((0.0, 0.10), (100.0, 0.12), (200.0, 0.18))
    )
    rises = Wedge(stations=row).faces_at([0.0, 99.0, 100.0, 200.0], LINE).slope_y_a
    assert rises.tolist() == pytest.approx([0.0016, 0.0016, 0.0048, 0.0048], rel=1e-9)


def test_beyond_its_end_stations_a_wedge_goes_on_as_its_end_section() -> None:
    """Holding the end section is what `extend` promises; running on would cross the faces."""
    one = Station(at=0.0, slope_a=0.1, slope_b=0.1, rear_a=0.4, rear_b=0.4)
    other = Station(at=500.0, slope_a=0.12, slope_b=0.1, rear_a=0.4, rear_b=0.4)
    faces = Wedge(stations=(one, other), extend=True).faces_at([-50.0, 600.0], LINE)
    assert faces.slope_a.tolist() == [0.1, 0.12]
    assert faces.slope_y_a.tolist() == [0.0, 0.0]


@given(wedges(least=2))
@settings(max_examples=100)
def test_a_wedge_seen_from_the_other_side_swaps_a_and_b(wedge: Wedge) -> None:
    """Side B's guide is made from side A's rules on the mirrored wedge."""
    swapped = Wedge(
        stations=tuple(
            Station(
                at=s.at,
                slope_a=s.slope_b,
                slope_b=s.slope_a,
                rear_a=s.rear_b,
                rear_b=s.rear_a,
                width=s.width,
            )
            for s in wedge.stations
        )
    )
    places = np.linspace(wedge.stations[0].at, wedge.stations[-1].at, 7).tolist()
    one, other = wedge.faces_at(places, LINE), swapped.faces_at(places, LINE)
    assert one.slope_a.tolist() == other.slope_b.tolist()
    assert one.slope_y_b.tolist() == other.slope_y_a.tolist()


@pytest.mark.parametrize(
    ("a", "b", "rear", "says"),
    [
        (46.0, 5.0, 1.0, "steeper than 45 deg"),
        (5.0, -46.0, 1.0, "steeper than 45 deg"),
        (-3.0, 2.0, 1.0, "taper inverted"),
        (4.0, -4.0, 1.0, "taper inverted"),
        (5.0, 5.0, -0.1, "cross at the trailing edge"),
        (math.nan, 5.0, 1.0, "not a number"),
    ],
)
def test_a_station_that_no_wedge_can_have_is_refused(
    a: float, b: float, rear: float, says: str
) -> None:
    """A guide for an impossible wedge looks usable, and is not."""
    with pytest.raises(ImpossibleWedge, match=says):
        Station(
            at=0.0,
            slope_a=math.tan(math.radians(a)),
            slope_b=math.tan(math.radians(b)),
            rear_a=rear / 2,
            rear_b=rear / 2,
        )


def test_stations_out_of_order_are_refused_by_number() -> None:
    """Two stations exchanged would turn the taper round."""
    one, other = (Station(at=at, slope_a=0.1, slope_b=0.1) for at in (0.0, 100.0))
    with pytest.raises(ImpossibleWedge) as refused:
        Wedge(stations=(other, one))
    assert refused.value.key == "station[2].at"
    with pytest.raises(ImpossibleWedge, match="no station"):
        Wedge(stations=())


def test_a_hole_beyond_the_end_stations_is_refused_but_one_station_reaches_everywhere() -> None:
    """Angles guessed beyond the last measurement are no measurement."""
    covers([0.0], [-100.0, 5000.0])
    covers([0.0, 500.0], [0.0, 500.0])
    with pytest.raises(ImpossibleWedge, match="do not reach hole 3") as refused:
        covers([0.0, 500.0], [10.0, 400.0, 500.1])
    assert refused.value.key == "wedge.station"
    assert "extend" in str(refused.value.remedy)
