"""Edge distance is one rule for every edge: trailing edge, front, ends and lightening holes."""

import math
from typing import Any

import pytest
from samplejobs import a_job, included, row_of_holes, skins

from jiggen.geometry.riveting import along_the_face
from jiggen.job.sections import Allow, Job, LighteningHole, Rivet, Stock
from jiggen.report.trim import reasons
from jiggen.solution import Check
from jiggen.solve import solve

#: A rivet that is a little thinner than its hole: 2 D is 4.8 mm, 2.5 D 6.0 mm.
FLUSH = Rivet(diameter=2.4, head=4.6)
PROTRUDING = Rivet(diameter=2.4, head=4.6, form="protruding")


def job(rivet: Rivet | None = FLUSH, stock: dict[str, Any] | None = None, **more: Any) -> Job:
    """Return a job whose hole 1 lies 15 mm from the zero end, 10 mm forward of the edge."""
    given = {"length": 260.0, "positions": tuple(8.0 + 26.0 * n for n in range(9)), "turn": False}
    return a_job(
        *more.pop("stations", (included(11.0),)),
        holes=row_of_holes(7, line=10.0),
        rivet=rivet,
        stock=None if stock is None else Stock(**{**given, **stock}),
        **{"rear_thickness": 0.8, "depth": 30.0, **more},
    )


def cut_at(start: float, rivet: Rivet | None = FLUSH, **more: Any) -> Job:
    return job(rivet, {"trim": (start, 190.0)}, **more)


def the_check(name: str, of: Job) -> Check:
    (found,) = (check for check in solve(of).checks if check.name == name)
    return found


@pytest.mark.parametrize(("far", "status"), [(4.7, "fail"), (4.9, "warn"), (6.1, "ok")])
def test_the_same_shortfall_is_judged_alike_at_a_cut_and_at_a_lightening_hole(far, status):
    """A rivet tears out of the end as it does of the trailing edge: one must not pass `--strict`.

    Source: 2D: FAA AC 43.13-1B para 4-57, READ-2nd; 2.5D countersunk: FAA-H-8083-31, MEM.
    """
    cut = the_check("trim, edge distance", cut_at(15.0 - far))
    assert (cut.status, cut.value) == (status, pytest.approx(far))
    assert cut.limit == pytest.approx(4.8 if status == "fail" else 6.0)
    assert f"{far / 2.4:.1f} rivet diameters" in str(cut.why)
    # 3 mm of radius, straight forward of hole 3: the stock lies 7 mm along.
    light = LighteningHole(at=60.0, diameter=6.0, line=10.0 + 3.0 + far)
    ring = job(FLUSH, {"trim": (0.0, 190.0), "lightening": (light,)}, depth=60.0)
    assert the_check("edge distance, lightening holes", ring).status == status
    assert the_check("trim, edge distance", ring).status == status
    front = job(FLUSH, depth=10.0 + far)
    assert the_check("edge distance, front", front).status == status


def test_a_notch_is_an_edge_like_the_cut():
    """The rim of a notch is nearer than the cut is, and a rivet beside it tears out as well."""
    light = LighteningHole(at=2.0, diameter=10.0, line=12.0)
    # The stock is so short that it can lie at 7 mm alone.
    given = {"length": 184.0, "positions": tuple(8.0 + 26.0 * n for n in range(7))}
    of = job(FLUSH, {**given, "trim": (9.0, 190.0), "lightening": (light,)})
    check = the_check("trim, edge distance", of)
    assert "notch" in str(check.why)
    assert check.value == pytest.approx(math.hypot(6.0, 2.0) - 5.0)
    assert check.status == "fail"


def test_a_protruding_rivet_is_not_asked_for_what_a_countersunk_one_wants():
    """A warning that does not concern the job teaches to skip warnings.

    Source: 2.5D is told of countersunk rivets alone, FAA-H-8083-31, MEM.
    """
    for far, status in ((4.9, "ok"), (4.7, "fail")):
        check = the_check("trim, edge distance", cut_at(15.0 - far, PROTRUDING))
        assert (check.status, check.limit) == (status, pytest.approx(4.8))
        assert "countersunk" not in str(check.why)
    best = solve(cut_at(10.1, PROTRUDING)).trim
    assert best.best.under_usual == ()
    assert not [why for why in reasons(best.best, best) if "countersunk" in str(why)]
    flush = solve(cut_at(10.1)).trim
    assert flush.best.under_usual == (1,)
    assert [why for why in reasons(flush.best, flush) if "2.5 rivet diameters" in str(why)]


def test_a_shift_is_ranked_by_what_the_rivets_own_form_wants():
    """5.5 mm to a rim is short for a flush rivet, enough for a protruding one: no reason to slide.

    The rim lies 5.5 mm from hole 7 at a shift of -45 mm; at -19 its hole is beyond the part.
    """
    light = (LighteningHole(at=216.0, diameter=4.0, line=17.5),)
    given = {"length": 262.0, "lightening": light, "trim": (0.0, 190.0)}
    flush, plain = (solve(job(rivet, given)).trim for rivet in (FLUSH, PROTRUDING))
    by_shift = {round(one.shift): one.under_usual for one in flush.placements}
    assert by_shift[-45] == (7,)
    assert by_shift[-19] == ()
    assert round(flush.best.shift) == -19
    assert all(one.under_usual == () for one in plain.placements)


def test_without_a_rivet_the_hole_counts_and_the_head_is_taken_as_flush():
    """The hole is a little wider, so what is not known is judged a little stricter."""
    check = the_check("trim, edge distance", cut_at(10.1, None))
    assert (check.status, check.limit) == ("fail", pytest.approx(5.0))
    assert "2.0 hole diameters" in str(check.why)
    better = the_check("trim, edge distance", cut_at(8.9, None))
    assert (better.status, better.limit) == ("warn", pytest.approx(6.25))


def test_without_stock_the_ends_are_not_checked_and_the_keys_are_named():
    """Silence about the last rivet would be taken for a yes."""
    check = the_check("edge distance, ends", job())
    assert check.status == "not checked"
    assert "stock.length" in str(check.why)
    assert "stock.trim" in str(check.why)
    names = [one.name for one in solve(cut_at(0.0)).checks]
    assert "edge distance, ends" not in names
    assert "trim, edge distance" in names


def test_at_the_exit_a_front_that_is_not_known_is_told():
    """An ok that looked at one of two edges must say so."""
    name = "edge distance at the exit"
    blind = the_check(name, job(depth=None))
    assert blind.status == "not checked"
    assert "the front needs wedge.depth" in str(blind.why)
    assert the_check(name, job()).status == "ok"
    near = the_check(name, job(depth=None, allow=Allow(drift=4.5)))
    assert near.status == "warn"
    assert "wedge.depth" not in str(the_check(name, job()).why)


def test_at_the_exit_the_flattest_face_at_any_hole_counts():
    """Along a steep face the way to the edge is longer: counted there, a thin edge passes."""
    lopsided = job(stations=(skins(9.0, 4.0), skins(9.0, 2.0, at=200.0)), allow=Allow(drift=0.1))
    flattest = min(hole.angles.skin_b for hole in solve(lopsided).holes)
    assert math.degrees(flattest) < 2.5
    check = the_check("edge distance at the exit", lopsided)
    assert check.value == pytest.approx(9.9 / math.cos(flattest), abs=1e-9)
    assert check.value == pytest.approx(along_the_face(9.9, math.tan(flattest)), abs=1e-9)
    turned = job(stations=(skins(4.0, 9.0), skins(2.0, 9.0, at=200.0)), allow=Allow(drift=0.1))
    assert the_check("edge distance at the exit", turned).value == pytest.approx(check.value)
