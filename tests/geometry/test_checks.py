"""The shop checks: each one passing, each one biting, and each one without its input."""

import math
import re
from typing import Any

import pytest
from msgspec.structs import replace
from samplejobs import a_job, included, row_of_holes, skins, thick

from jiggen.errors import say
from jiggen.job.sections import Allow, Cut, Guide, Holes, Job, Rivet
from jiggen.solution import Check, Number
from jiggen.solve import solve

INCH = 25.4


def the_check(name: str, job: Job) -> Check:
    """Return the one check of that name."""
    (found,) = (check for check in solve(job).checks if check.name == name)
    return found


def job(holes: Holes | None = None, **changes: Any) -> Job:
    """Return a job whose wedge is prismatic, with a known rear and a depth."""
    more: dict[str, Any] = {"rear_thickness": 0.8, "depth": 20.0, **changes}
    return a_job(included(11.4), holes=holes or row_of_holes(), **more)


def test_every_check_says_why_and_by_whose_authority() -> None:
    """A verdict without a reason is not believed, one without a source should not be."""
    for check in solve(job()).checks:
        assert str(check.why)
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
        assert "the included angle limits it" in str(check.why)
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


def the_number(ident: str, of: Job) -> Number:
    """Return the one number of that id."""
    (found,) = (number for number in solve(of).numbers if number.id == ident)
    return found


def test_the_miss_if_drilled_square_to_a_skin_is_a_number_and_no_check() -> None:
    """This is the error that the guide is made to avoid; it is no fault of the job."""
    told = the_number("drift-if-square-a", job())
    assert told.label == "miss if drilled square to upper"
    assert "what the guides are for" in str(told.note)
    assert told.value > solve(job()).drift
    loose = the_number("drift-if-square-b", job(allow=Allow(drift=0.5)))
    assert "less than is allowed" in str(loose.note)
    unknown = {number.id for number in solve(job(rear_thickness=None)).numbers}
    assert "drift-if-square-a" not in unknown


def test_every_good_or_bad_check_has_a_limit() -> None:
    """A figure without a limit, called ok, teaches to read past it."""
    rivet = Rivet(size="-3", diameter=2.38125, head=4.5466, shop_head="bucked")
    rich = job(rivet=rivet, skin=(0.4, 0.4), allow=Allow(land=0.1))
    for check in (*solve(job()).checks, *solve(rich).checks):
        if check.status in ("ok", "fail") and check.value is not None:
            assert check.limit is not None, check.name


def test_no_id_holds_a_word_of_the_users() -> None:
    """A page that looks a check up by its id must find it whatever the sides are called."""
    named = job(sides=("2 mm skin", "Oberseite"), rivet=Rivet(head=4.5), skin=(0.4, 0.4))
    plain = job(rivet=Rivet(head=4.5), skin=(0.4, 0.4))
    for one, other in ((solve(named), solve(plain)),):
        assert [c.id for c in one.checks] == [c.id for c in other.checks]
        assert [n.id for n in one.numbers] == [n.id for n in other.numbers]
    ids = [check.id for check in solve(plain).checks]
    assert len(set(ids)) == len(ids)
    assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", ident) for ident in ids)


def test_drift_and_lean_without_an_input_name_the_key_that_is_missing() -> None:
    """Told to state what is stated already, a builder looks for the slip in the wrong place."""
    tapered = (included(11.0), included(9.0, at=900.0))
    for name in ("spanwise tilt",):
        no_rear = the_check(name, a_job(*tapered, holes=row_of_holes()))
        assert no_rear.status == "not checked"
        assert "wedge.rear_thickness" in str(no_rear.why)
        assert "hole" not in str(no_rear.why).replace("holes.", "")
        no_holes = the_check(name, a_job(*tapered, rear_thickness=0.8))
        assert "[holes]" in str(no_holes.why)
        assert "rear_thickness" not in str(no_holes.why)
        neither = str(the_check(name, a_job(*tapered)).why)
        assert "[holes]" in neither
        assert "wedge.rear_thickness" in neither


def test_a_kerf_that_is_not_stated_is_warned_of_for_slots_as_well() -> None:
    """Plates that rattle in their slots let the bit lean, and nobody measures a slot."""
    lasered = replace(job(), cut=Cut(), guide=Guide(cut="laser"))
    check = the_check("kerf", lasered)
    assert check.status == "warn"
    assert "come out small by half the kerf" in str(check.why)
    assert "slots and holes wide by a whole kerf" in str(check.why)
    assert the_number("kerf", job()).value == 0.15


def test_head_tilt_is_told_where_the_head_is_known() -> None:
    """A -3 head of .179 in tilted 3 deg stands .00468 in proud.

    Source: DERIVED: (Dh/2) sin(tilt); the head diameter is MEM.
    """
    tilted = a_job(included(6.0), rivet=Rivet(head=0.179 * INCH))
    assert the_number("head-tilt", tilted).value == pytest.approx(0.00468 * INCH, abs=5e-6 * INCH)
    assert "head-tilt" not in {number.id for number in solve(job()).numbers}


def test_a_strong_lean_is_pointed_out() -> None:
    """Sighted along x only, the drill would still stand wrong."""
    steep = a_job(
        thick(9.0, 0.8, 16.0),
        thick(2.0, 0.8, 16.0, at=30.0),
        holes=row_of_holes(2, positions=(5.0, 25.0)),
        allow=Allow(drift=0.1),
    )
    check = the_check("spanwise tilt", steep)
    assert check.status == "warn"
    assert check.value == pytest.approx(math.degrees(math.atan(1.75 / 30)))
    one_skin = a_job(skins(10.0, 5.0), skins(2.0, 5.0, at=30.0), rear_thickness=0.8)
    told = the_check("spanwise tilt", replace(one_skin, holes=row_of_holes(1)))
    fall = 8.0 * (math.tan(math.radians(2.0)) - math.tan(math.radians(10.0))) / 30.0
    assert told.value == pytest.approx(math.degrees(math.atan(-fall)))
    assert the_check("spanwise tilt", job()).value == 0.0
    untold = a_job(included(11.0), included(9.0, at=900.0))
    assert the_check("spanwise tilt", untold).status == "not checked"


def test_a_skin_that_thins_forward_and_a_kerf_that_is_not_stated_are_pointed_out() -> None:
    """Both are legal, and both are usually slips."""
    check = the_check("skin angle, lower", a_job(skins(9.0, -1.0)))
    assert check.status == "warn"
    assert check.value == pytest.approx(-1.0)
    bed = replace(job(), cut=Cut(), stated=frozenset({"cut", "cut.bed"}))
    assert the_check("kerf", bed).status == "warn"


def test_nobody_who_cuts_by_hand_is_warned_about_a_laser() -> None:
    """A warning that does not concern the reader hides the one that does."""
    for guide, stated in ((Guide(), ()), (Guide(cut="hand"), ("cut",)), (Guide(cut="printed"), ())):
        of = replace(job(), cut=Cut(), guide=guide, stated=frozenset(stated))
        assert "kerf" not in {check.id for check in solve(of).checks}


def test_an_inch_job_is_told_about_its_rear_thickness_in_inches() -> None:
    """The numbers in a reason should be those of the file."""
    inch = a_job(thick(3.9, 0.7, 16.0), rear_thickness=0.9, units="in")
    why = say(the_check("rear thickness", inch).why, "in")
    assert "0.0354 in" in why
    assert " mm" not in why


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
