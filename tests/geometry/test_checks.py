"""The shop checks: each one passing, each one biting, and each one without its input."""

import dataclasses
import math
from typing import Any

import pytest
from samplejobs import a_job, included, row_of_holes, skins, thick

from jiggen.job.model import AllowInput, CutInput, HolesInput, Job
from jiggen.solution import Check
from jiggen.solve import solve

INCH = 25.4


def the_check(name: str, job: Job) -> Check:
    """Return the one check of that name."""
    (found,) = (check for check in solve(job).checks if check.name == name)
    return found


def job(holes: HolesInput | None = None, **changes: Any) -> Job:
    """Return a job whose wedge is prismatic, with a known rear and a depth."""
    more: dict[str, Any] = {"rear_thickness": 0.8, "depth": 20.0, **changes}
    return a_job(included(11.4), holes=holes or row_of_holes(), **more)


def test_every_check_says_why_and_by_whose_authority() -> None:
    """A verdict without a reason is not believed, one without a source should not be."""
    for check in solve(job()).checks:
        assert check.why
        assert check.source
        assert check.status in {"ok", "warn", "fail", "not checked"}


def test_measurement_is_held_against_what_the_tightest_hole_can_bear() -> None:
    """A protractor that reads to half a degree may or may not be good enough."""
    coarse, fine = (
        a_job(included(11.4, plus_minus={"angle": math.radians(pm)}), holes=row_of_holes(), **more)
        for pm, more in ((6.0, {"rear_thickness": 0.8}), (1.0, {"rear_thickness": 0.8}))
    )
    tangent = 0.1 / (0.8 + 16 * math.tan(math.radians(5.7)))
    for judged, status, value in ((coarse, "warn", 3.0), (fine, "ok", 0.5)):
        check = the_check("measurement", judged)
        assert check.status == status
        assert check.value == pytest.approx(value)
        assert check.limit == pytest.approx(math.degrees(math.atan(tangent)))
        assert "the included angle limits it" in check.why
    assert the_check("measurement", job()).status == "not checked"


def test_without_a_thickness_the_measurement_is_held_against_the_allowed_angle() -> None:
    """Half a degree, unless the job says otherwise."""
    judged = a_job(included(11.4, plus_minus={"angle": math.radians(1.2)}), holes=row_of_holes())
    check = the_check("measurement", judged)
    assert check.status == "warn"
    assert check.limit == pytest.approx(0.5)
    assert the_check("rear thickness", judged).status == "not checked"


def test_edge_distance_fails_under_2_d_and_warns_under_the_countersunk_2_5_d() -> None:
    """A rivet too near the edge tears out.

    Source: 2D: FAA AC 43.13-1B para 4-57, READ-2nd; 2.5D countersunk: FAA-H-8083-31, MEM. Rivet of
    3/32 in: .1875 and .2344 in.
    """
    d = 3 / 32 * INCH
    for line, status, limit in (
        (0.187, "fail", 0.1875),
        (0.188, "warn", 0.2344),
        (0.234, "warn", 0.2344),
        (0.235, "ok", 0.2344),
    ):
        check = the_check(
            "edge distance, trailing edge", job(row_of_holes(drill=d, line=line * INCH))
        )
        assert check.status == status
        assert check.limit == pytest.approx(limit * INCH, abs=1e-4 * INCH)


def test_edge_distance_to_the_front_needs_the_depth() -> None:
    """A hole line too far forward leaves the wedge's front edge to tear."""
    front = "edge distance, front"
    assert the_check(front, job(depth=None)).status == "not checked"
    tight = the_check(front, job(row_of_holes(drill=2.5, line=8.0), depth=12.9))
    assert tight.status == "fail"
    assert tight.value == pytest.approx(4.9)
    measured = a_job(thick(3.9, 0.7, 16.0), holes=row_of_holes(drill=2.5, line=8.0))
    assert the_check(front, measured).value == pytest.approx(8.0)


def test_pitch_under_3_d_fails() -> None:
    """Holes too close leave nothing between them.

    Source: 3D, Navy training manual 14018 ch. 13 (page 14018_547), READ; D 1/8 in: .375 in.
    """
    for pitch, status in ((0.374, "fail"), (0.376, "ok")):
        positions = (0.0, 1.0 * INCH, (1.0 + pitch) * INCH)
        check = the_check("pitch", job(row_of_holes(drill=INCH / 8, positions=positions)))
        assert check.status == status
        assert check.limit == pytest.approx(0.375 * INCH)
    assert the_check("pitch", job(row_of_holes(1))).status == "not checked"


def test_drift_if_drilled_square_to_a_skin_is_told_in_figures() -> None:
    """This is the error that the guide is made to avoid; it is no fault of the job."""
    check = the_check("drift if square to upper", job())
    assert check.status == "ok"
    assert "what the guides are for" in check.why
    assert check.value > solve(job()).drift
    loose = job(allow=AllowInput(drift=0.5))
    assert "would still meet" in the_check("drift if square to lower", loose).why
    assert the_check("drift if square to lower", job(rear_thickness=None)).status == "not checked"


def test_drift_and_lean_without_an_input_name_the_key_that_is_missing() -> None:
    """Told to state what is stated already, a builder looks for the slip in the wrong place."""
    tapered = (included(11.0), included(9.0, at=900.0))
    for name in ("drift if square to upper", "drift if square to lower", "lean"):
        no_rear = the_check(name, a_job(*tapered, holes=row_of_holes()))
        assert no_rear.status == "not checked"
        assert "wedge.rear_thickness" in no_rear.why
        assert "hole" not in no_rear.why.replace("holes.", "")
        no_holes = the_check(name, a_job(*tapered, rear_thickness=0.8))
        assert "[holes]" in no_holes.why
        assert "rear_thickness" not in no_holes.why
        neither = the_check(name, a_job(*tapered)).why
        assert "[holes]" in neither
        assert "wedge.rear_thickness" in neither


def test_a_kerf_that_is_not_stated_is_warned_of_for_slots_as_well() -> None:
    """Plates that rattle in their slots let the bit lean, and nobody measures a slot."""
    check = the_check("kerf", dataclasses.replace(job(), cut=CutInput()))
    assert check.status == "warn"
    assert "come out small by half the kerf" in check.why
    assert "slots and holes wide by a whole kerf" in check.why
    assert "slots" not in the_check("kerf", job()).why


def test_head_edge_is_told_where_the_head_is_known() -> None:
    """A -3 head of .179 in tilted 3 deg stands .00468 in proud.

    Source: DERIVED: (Dh/2) sin(tilt); the head diameter is MEM.
    """
    tilted = a_job(included(6.0), rivet_head=0.179 * INCH)
    check = the_check("head edge", tilted)
    assert check.value == pytest.approx(0.00468 * INCH, abs=5e-6 * INCH)
    assert (check.status, check.limit) == ("ok", None)
    assert the_check("head edge", job()).status == "not checked"


def test_a_strong_lean_is_pointed_out() -> None:
    """Sighted along x only, the drill would still stand wrong."""
    steep = a_job(
        thick(9.0, 0.8, 16.0),
        thick(2.0, 0.8, 16.0, at=30.0),
        holes=row_of_holes(2, positions=(5.0, 25.0)),
        allow=AllowInput(drift=0.1),
    )
    check = the_check("lean", steep)
    assert check.status == "warn"
    assert check.value == pytest.approx(math.degrees(math.atan(1.75 / 30)))
    one_skin = a_job(skins(10.0, 5.0), skins(2.0, 5.0, at=30.0), rear_thickness=0.8)
    told = the_check("lean", dataclasses.replace(one_skin, holes=row_of_holes(1)))
    fall = 8.0 * (math.tan(math.radians(2.0)) - math.tan(math.radians(10.0))) / 30.0
    assert told.value == pytest.approx(math.degrees(math.atan(-fall)))
    assert the_check("lean", job()).value == 0.0
    untold = a_job(included(11.0), included(9.0, at=900.0))
    assert the_check("lean", untold).status == "not checked"


def test_a_skin_that_thins_forward_and_a_kerf_that_is_not_stated_are_pointed_out() -> None:
    """Both are legal, and both are usually slips."""
    check = the_check("skin angle, lower", a_job(skins(9.0, -1.0)))
    assert check.status == "warn"
    assert check.value == pytest.approx(-1.0)
    assert the_check("kerf", dataclasses.replace(job(), cut=CutInput())).status == "warn"
    assert the_check("kerf", job()).value == 0.15


def test_an_inch_job_is_told_about_its_rear_thickness_in_inches() -> None:
    """The numbers in a reason should be those of the file."""
    inch = a_job(thick(3.9, 0.7, 16.0), rear_thickness=0.9, units="in")
    assert "0.0354 in" in the_check("rear thickness", inch).why


def test_a_taper_in_readings_along_swept_ribs_is_told_by_what_it_hides() -> None:
    """The rib conversion holds for an even wedge: on a strong taper it is off, unseen."""
    sweep = math.radians(18.0)
    stations = (included(16.0), included(6.0, at=120.0))
    strong = a_job(*stations, holes=row_of_holes(), rear_thickness=0.8, sweep=sweep)
    check = the_check("sweep and taper together", strong)
    assert check.status == "warn"
    # By vectors: at a hole, a face that rises by a forward and q along the edge.
    hole = max(solve(strong).holes, key=lambda h: abs(h.angles.slope_y_a or 0.0))
    a, q = math.tan(hole.angles.skin_a), hole.angles.slope_y_a
    assert q is not None
    along_rib = a * math.cos(sweep) + q * math.sin(sweep)
    converted = along_rib / math.cos(sweep)
    assert check.value == pytest.approx(
        abs(math.degrees(math.atan(converted) - math.atan(a))), rel=0.03
    )
    slight = a_job(
        included(11.4),
        included(11.0, at=1500.0),
        holes=row_of_holes(),
        rear_thickness=0.8,
        sweep=sweep,
    )
    assert the_check("sweep and taper together", slight).status == "ok"
    names = {c.name for c in solve(job(sweep=sweep)).checks}
    assert "sweep and taper together" not in names
