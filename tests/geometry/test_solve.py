"""From a job to its solution: every form, the numbers at the holes, and all faults at once."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from samplejobs import a_job, included, offsets, row_of_holes, skins, thick

from jiggen.errors import Fault, JobError
from jiggen.job.sections import Allow, Job
from jiggen.job.wedge import Outline, Readings, Station
from jiggen.solve import Solution, solve

DEG = math.degrees


def outline_station(at: float = 0.0, begin: float = 0.9, **more: object) -> Station:
    """Return a station on a flat-tailed outline: slopes 0.1 and 0.1, blunt by 2 mm on 500 mm."""
    aft = np.linspace(1.0, 0.7, 12).tolist()
    nose = [(0.7 - 0.7 * math.sin(t), 0.032 * math.cos(t)) for t in np.linspace(0.0, math.pi, 31)]
    upper = [(x, 0.002 + (1.0 - x) * 0.1) for x in aft]
    return Station(
        at=at,
        outline=Outline(
            file="tail.dat",
            begin=begin,
            chord=500.0,
            points=(*upper, *nose[1:-1], *((x, -z) for x, z in reversed(upper))),
        ),
        **more,  # type: ignore[arg-type]
    )


def faults(job: Job) -> dict[str, str]:
    """Return what is wrong with a job, by key."""
    with pytest.raises(JobError) as refused:
        solve(job)
    assert all(fault.file == "flap.toml" for fault in refused.value.faults)
    assert all(str(fault.remedy) for fault in refused.value.faults), "a fault without a way out"
    return {fault.key: str(fault.problem) for fault in refused.value.faults}


def test_a_prismatic_wedge_reports_the_same_angles_at_every_hole() -> None:
    """The simplest job must be right to the last digit."""
    solution = solve(a_job(included(11.4), holes=row_of_holes(3), rear_thickness=0.8))
    for place in (*solution.stations, *(hole.angles for hole in solution.holes)):
        assert DEG(place.skin_a) == pytest.approx(5.7, abs=1e-12)
        assert DEG(place.included) == pytest.approx(11.4, abs=1e-12)
        assert DEG(place.guide_forward_a) == pytest.approx(84.3, abs=1e-12)
        assert DEG(place.guide_aft_b) == pytest.approx(95.7, abs=1e-12)
        assert place.lean_a == place.lean_b == math.pi / 2
    assert [hole.at for hole in solution.holes] == [15.0, 41.0, 67.0]
    t = math.tan(math.radians(5.7))
    assert solution.holes[0].thickness == pytest.approx(0.8 + 16 * t, rel=1e-12)
    assert solution.holes[0].drift_a == pytest.approx((0.8 + 16 * t) * t / (1 - t * t), rel=1e-12)
    assert [hole.order for hole in solution.holes] == [3, 1, 2]


@pytest.mark.parametrize(
    ("station", "a", "b", "rear"),
    [
        (included(11.4), 5.7, 5.7, None),
        (skins(7.5, 3.0), 7.5, 3.0, None),
        (thick(3.9, 0.7, 16.0), DEG(math.atan(0.1)), DEG(math.atan(0.1)), 0.7),
        (
            thick(3.9, 0.7, 16.0, along="face"),
            DEG(math.asin(0.1)),
            DEG(math.asin(0.1)),
            0.7,
        ),
        (
            offsets((2.1, 1.4), (0.4, 0.3), 16.0),
            DEG(math.atan(1.7 / 16)),
            DEG(math.atan(1.1 / 16)),
            0.7,
        ),
        (
            Station(
                readings=Readings(
                    a=math.radians(5.9), b=math.radians(-5.6), chord=math.radians(0.1)
                )
            ),
            5.8,
            5.7,
            None,
        ),
        (
            Station(taper_rate=0.125),
            DEG(math.atan(0.0625)),
            DEG(math.atan(0.0625)),
            None,
        ),
        (outline_station(), DEG(math.atan(0.1)), DEG(math.atan(0.1)), 2.0),
    ],
    ids=lambda value: value.form.value if isinstance(value, Station) else None,
)
@pytest.mark.parametrize("sweep", [0.0, 15.0])
def test_every_form_reaches_the_holes(
    station: Station, a: float, b: float, rear: float | None, sweep: float
) -> None:
    """Each way of measuring must end in the same columns of the card."""
    job = a_job(station, holes=row_of_holes(3), skin=(0.5, 0.4), sweep=math.radians(sweep))
    hole = solve(job).holes[1]
    slopes = [math.tan(math.radians(x)) / math.cos(math.radians(sweep)) for x in (a, b)]
    assert math.tan(hole.angles.skin_a) == pytest.approx(slopes[0], rel=1e-9)
    assert math.tan(hole.angles.skin_b) == pytest.approx(slopes[1], rel=1e-9)
    if rear is None:
        assert (hole.thickness, hole.grip, hole.drift_a, hole.drift_b) == (None,) * 4
    else:
        through = rear + 8.0 * sum(slopes)
        narrowing = 1.0 - slopes[0] * slopes[1]
        assert hole.thickness == pytest.approx(through, rel=1e-9)
        assert hole.drift_a == pytest.approx(through * slopes[0] / narrowing, rel=1e-9)
        assert hole.drift_b == pytest.approx(through * slopes[1] / narrowing, rel=1e-9)
        assert hole.grip == pytest.approx(
            rear
            + 8.0 * sum(slopes)
            + 0.5 / math.cos(math.atan(slopes[0]))
            + 0.4 / math.cos(math.atan(slopes[1])),
            rel=1e-9,
        )


def test_a_tapered_wedge_leans_along_the_span_by_the_change_of_half_its_thickness() -> None:
    """The sign tells which way to lean the drill: the face falls toward larger y here."""
    job = a_job(thick(5.0, 0.8, 16.0), thick(3.0, 0.8, 16.0, at=1000.0), holes=row_of_holes(5))
    hole = solve(job).holes[2]
    slope = -8.0 * (1.0 / 16.0) / 1000.0  # half of 2 mm at the front, half-way back
    assert hole.angles.slope_y_a == pytest.approx(slope, rel=1e-9)
    assert hole.angles.lean_a == pytest.approx(math.pi / 2 - math.atan(slope), abs=1e-15)
    bare = solve(a_job(included(11.0), included(9.0, at=900.0), holes=row_of_holes(5)))
    assert bare.holes[0].angles.lean_a is None
    no_holes = solve(a_job(included(11.0), included(9.0, at=900.0), rear_thickness=0.8))
    assert no_holes.stations[0].lean_b is None


def test_a_station_without_its_own_rear_takes_the_wedges() -> None:
    """One rear thickness for the whole wedge is the usual case."""
    job = a_job(included(11.0), included(9.0, at=900.0), holes=row_of_holes(5), rear_thickness=0.8)
    solution = solve(job)
    assert [station.rear_thickness for station in solution.wedge.stations] == [0.8, 0.8]
    assert not [check for check in solution.checks if check.name == "rear thickness"]


def test_a_stated_rear_thickness_beats_a_stations_own() -> None:
    """A rear line drawn forward of the edge is thicker than the edge: the grip follows the edge."""
    for station, used in ((thick(3.9, 0.7, 16.0), 0.9), (outline_station(), 0.9)):
        solution = solve(a_job(station, holes=row_of_holes(3), rear_thickness=0.9))
        assert solution.wedge.stations[0].rear_thickness == pytest.approx(used)
        (check,) = (check for check in solution.checks if check.name == "rear thickness")
        assert check.status == "warn"
        assert "0.90 mm" in str(check.why)
    drawn = solve(a_job(thick(3.9, 0.7, 16.0), holes=row_of_holes(3), rear_thickness=0.5))
    # The rear line was drawn 1 mm forward of the edge: 0.2 mm thicker there, as the taper has it.
    assert not [check for check in drawn.checks if check.name == "rear thickness"]
    (told,) = (number for number in drawn.numbers if number.id == "rear-line-1")
    assert told.value == pytest.approx(1.0)
    near = solve(a_job(thick(3.9, 0.7, 16.0), holes=row_of_holes(3), rear_thickness=0.715))
    assert not [check for check in near.checks if check.name == "rear thickness"]


def test_thickness_is_right_where_the_rear_line_was_drawn_forward_of_the_edge() -> None:
    """Calliper at 5 mm and 20 mm from an edge 0.9 mm thick, 0.2 mm a mm: 2.5 mm at the hole."""
    job = a_job(thick(0.9 + 4.0, 0.9 + 1.0, 15.0), holes=row_of_holes(3), rear_thickness=0.9)
    assert solve(job).holes[0].thickness == pytest.approx(0.9 + 8.0 * 0.2)


def test_guides_cover_the_drilled_holes_of_each_side_and_no_others() -> None:
    """A kept-out hole needs no guide; a drilled one without a guide is drilled by eye."""
    job = a_job(
        thick(5.0, 0.8, 16.0),
        thick(2.4, 0.8, 16.0, at=1000.0),
        holes=row_of_holes(38, keep_out=frozenset({1, 20, 38})),
        allow=Allow(drift=0.02),
    )
    solution = solve(job)
    for side in ("a", "b"):
        guides = [guide for guide in solution.guides if guide.side == side]
        assert [guide.name for guide in guides] == [f"{side}{n + 1}" for n in range(len(guides))]
        assert len(guides) > 1
        served = {
            hole.number
            for guide in guides
            for hole in solution.holes
            if guide.first_hole is not None
            and guide.last_hole is not None
            and guide.first_hole <= hole.number <= guide.last_hole
            and hole.drill_now
        }
        assert served == set(range(1, 39)) - {1, 20, 38}
        assert all((guide.worst_drift or 0.0) <= 0.02 * (1 + 1e-9) for guide in guides)
        assert all(math.radians(80) < guide.angle < math.radians(90) for guide in guides)


def test_a_job_without_holes_gets_a_guide_a_station_and_one_for_equal_stations() -> None:
    """A gauge for the ends is of use before the hole line is known."""
    solution = solve(a_job(skins(6.0, 5.0), skins(6.0, 4.0, at=500.0)))
    said = [(guide.name, round(DEG(guide.angle), 9), guide.first_hole) for guide in solution.guides]
    assert said == [("a1", 84.0, None), ("b1", 85.0, None), ("b2", 86.0, None)]
    assert solution.holes == ()


def test_holes_that_are_all_kept_out_need_no_guide_and_are_no_error() -> None:
    """A row drilled later with another part."""
    solution = solve(a_job(included(11.4), holes=row_of_holes(2, keep_out=frozenset({1, 2}))))
    assert solution.guides == ()
    assert [hole.order for hole in solution.holes] == [None, None]


def test_uncertainty_is_carried_to_the_holes_and_the_limiting_reading_is_named() -> None:
    """A card that hides its doubt will be trusted too far."""
    pm = {"front": 0.02, "rear": 0.02, "width": 0.5}
    solution = solve(
        a_job(
            thick(5.0, 0.8, 16.0, plus_minus=pm),
            thick(3.0, 0.8, 16.0, at=100.0, plus_minus=pm),
            holes=row_of_holes(3),
        )
    )
    one, other = (station.plus_minus_a for station in solution.stations)
    assert one is not None
    assert other is not None
    share = solution.holes[0].at / 100.0
    assert solution.holes[0].angles.plus_minus_a == pytest.approx((1 - share) * one + share * other)
    assert len(solution.limits) == 4
    assert "the width limits it" in solution.limits[0]
    plain = solve(a_job(included(11.4), holes=row_of_holes(3)))
    assert plain.stations[0].plus_minus_a is None
    assert plain.limits == ()


def test_an_outlines_bend_counts_without_being_stated() -> None:
    """A straight guide on a curved skin is only as good as the curve is flat."""
    (station,) = solve(a_job(outline_station())).stations
    assert station.plus_minus_a == pytest.approx(0.0, abs=1e-9)
    (stated,) = solve(a_job(outline_station(plus_minus={"z": 0.05}))).stations
    assert stated.plus_minus_a == pytest.approx(math.sqrt(2) * 0.05 / 50.0 / 1.01, rel=1e-6)
    solution = solve(a_job(outline_station(), included(11.0, at=50.0)))
    assert solution.section_at[0] is not None
    assert solution.section_at[1] is None


def test_everything_impossible_is_reported_at_once_under_the_jobs_own_keys() -> None:
    """One fault a run is one walk to the bench a run."""
    bad = a_job(
        skins(50.0, 3.0),
        thick(0.7, 3.9, 16.0, at=500.0),
        Station(
            at=900.0,
            readings=Readings(a=0.1, b=0.2, chord=0.1),
            plus_minus={"front": 0.1},
        ),
        holes=row_of_holes(40, line=1.0),
        depth=2.0,
    )
    told = faults(bad)
    assert set(told) == {
        "wedge.station[1].skin_angles",
        "wedge.station[2].thickness",
        "wedge.station[3].plus_minus.front",
        "wedge.station[3].readings",
        "holes.line",
        "wedge.station",
        "holes.drill",
    }
    assert "45 deg" in told["wedge.station[1].skin_angles"]
    assert "taper inverted" in told["wedge.station[2].thickness"]


@pytest.mark.parametrize(
    ("job", "key"),
    [
        (a_job(thick(3.9, 0.7, 0.0)), "wedge.station[1].thickness.width"),
        (a_job(included(11.0, at=5.0), included(9.0, at=5.0)), "wedge.station[2].at"),
        (a_job(included(11.0), sweep=1.5), "wedge.sweep"),
        (a_job(included(11.0), holes=row_of_holes(3), depth=9.0), "holes.line"),
        (a_job(thick(3.9, 0.7, 9.0), holes=row_of_holes(3)), "holes.line"),
        (
            a_job(included(11.0), included(9.0, at=50.0), holes=row_of_holes(3)),
            "wedge.station",
        ),
        (
            a_job(outline_station(begin=2.0)),
            "wedge.station[1].outline.from",
        ),
        (
            a_job(
                Station(
                    outline=Outline(
                        file="x.dat", begin=0.9, chord=500.0, points=((1.0, 0.0), (0.0, 0.0))
                    )
                )
            ),
            "wedge.station[1].outline",
        ),
    ],
)
def test_a_fault_names_the_key_that_would_mend_it(job: Job, key: str) -> None:
    """The key is what the user searches for in his file."""
    assert set(faults(job)) == {key}


def test_one_fault_of_the_whole_wedge_is_told_once() -> None:
    """Ten stations under one wrong sweep have one thing wrong."""
    job = a_job(*(included(11.0, at=10.0 * n) for n in range(10)), sweep=1.5)
    with pytest.raises(JobError) as refused:
        solve(job)
    assert len(refused.value.faults) == 1


def test_depth_that_is_stated_wins_over_the_measured_width() -> None:
    """Thickness is often measured over less than the whole wedge."""
    job = a_job(thick(3.9, 0.7, 9.0), holes=row_of_holes(3), depth=16.0)
    assert solve(job).holes[0].thickness == pytest.approx(0.7 + 8 * 3.2 / 9)


def test_extend_lets_holes_lie_beyond_the_stations_and_says_so() -> None:
    """Angles that were not measured there must not look as if they were."""
    job = a_job(included(11.0), included(9.0, at=50.0), holes=row_of_holes(3), extend=True)
    solution = solve(job)
    assert DEG(solution.holes[2].angles.included) == pytest.approx(9.0)
    (check,) = (check for check in solution.checks if check.name == "beyond the stations")
    assert check.status == "warn"
    assert check.value == pytest.approx(17.0)


numbers = st.floats(-1e6, 1e6, allow_nan=False)


@given(
    st.lists(
        st.tuples(st.sampled_from(["included", "skins", "thick"]), numbers, numbers, numbers),
        min_size=1,
        max_size=4,
    ),
    st.one_of(st.none(), st.floats(0.0, 100.0)),
    st.floats(0.001, 50.0),
    st.floats(0.0, 100.0),
    st.one_of(st.none(), st.floats(0.0, 200.0)),
    st.booleans(),
)
@settings(max_examples=300)
def test_wild_numbers_give_a_solution_of_numbers_or_faults_and_nothing_else(
    readings: list[tuple[str, float, float, float]],
    rear: float | None,
    drill: float,
    line: float,
    depth: float | None,
    extend: bool,
) -> None:
    """A traceback, or a NaN on a card, is the tool's own fault."""
    build = {
        "included": lambda x, y, z, at: included(x, at=at),
        "skins": lambda x, y, z, at: skins(x, y, at=at),
        "thick": lambda x, y, z, at: thick(x, y, z, at=at),
    }
    job = a_job(
        *(build[name](x, y, z, 40.0 * n) for n, (name, x, y, z) in enumerate(readings)),
        holes=row_of_holes(4, drill=drill, line=line),
        rear_thickness=rear,
        depth=depth,
        extend=extend,
    )
    solution, refused = _solved_or_refused(job)
    if solution is None:
        assert refused, "a refusal without a fault"
    else:
        _assert_only_numbers(solution)


def _solved_or_refused(job: Job) -> tuple[Solution | None, tuple[Fault, ...]]:
    try:
        return solve(job), ()
    except JobError as error:
        return None, error.faults


def _assert_only_numbers(solution: Solution) -> None:
    for hole in solution.holes:
        assert hole.thickness is None or hole.thickness >= 0.0
        found = [hole.thickness, hole.grip, hole.drift_a, hole.drift_b, hole.angles.lean_a]
        assert all(value is None or math.isfinite(value) for value in found)
        assert 0.0 < hole.angles.included <= math.pi / 2 + 1e-6
    assert all(math.isfinite(guide.angle) for guide in solution.guides)
    for check in solution.checks:
        assert all(x is None or math.isfinite(x) for x in (check.value, check.limit))


def test_a_sharp_edge_out_in_its_last_digit_is_a_sharp_edge() -> None:
    """A file whose two ends differ by 6e-16 was refused for faces that cross at the edge."""
    xs = np.linspace(1.0, 0.0, 40).tolist()
    upper = [(x, 0.24 * x * (1 - x)) for x in xs]
    lower = [(x, -0.2 * x * (1 - x)) for x in reversed(xs[:-1])]
    for last in ((1.0, 0.0), (1.0 - 6e-16, 0.0), (1.0, 4e-17), (1.0 - 6e-16, -3e-17)):
        points = (*upper, *lower[:-1], last)
        outline = Outline(file="sharp.dat", begin=0.93, chord=450.0, points=points)
        solution = solve(a_job(Station(outline=outline), holes=row_of_holes(3)))
        assert solution.wedge.stations[0].rear_thickness == pytest.approx(0.0, abs=1e-9)
        assert solution.holes[0].thickness is not None
