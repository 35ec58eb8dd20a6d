"""Countersunk skins, flush shop heads, and what is offered where countersinks meet."""

import dataclasses
import math
import re

import pytest
from samplejobs import a_job, included, row_of_holes, skins, thick

from jiggen.facts import rivets
from jiggen.job.sections import Allow, Job, Rivet, Skin
from jiggen.report.rivet import riveting_parts
from jiggen.solution import Check
from jiggen.solve import solve
from jiggen.report.terminal import Terminal, printed

INCH = 25.4


def dash(number: int, **more: object) -> Rivet:
    """Return a flush inch rivet of the table."""
    tabled = rivets.FLUSH_RIVETS[f"-{number}"]
    given = {"size": tabled.dash, "diameter": tabled.diameter, "head": tabled.head}
    return Rivet(**{**given, **more})


def job(rivet: Rivet, drill: float, degrees: float = 10.0, **changes: object) -> Job:
    """Return a wedge of one section with a rivet."""
    more = {
        "rear_thickness": 0.8,
        "depth": 26.0,
        "skin": (0.3, 0.3),
        "holes": row_of_holes(drill=drill, drill_name=f"{drill:g} mm", line=9.0),
        "rivet": rivet,
        **changes,
    }
    return a_job(included(degrees), **more)


def the_check(name: str, of: Job) -> Check:
    (found,) = (check for check in solve(of).checks if check.name == name)
    return found


def the_words(of: Job) -> str:
    """Return everything that is said of rivet and countersink, and on the cover."""
    solution = solve(of)
    lines = [part for line in solution.riveting for part in (str(line.said), str(line.brief))]
    return " ".join([*lines, *(str(check.why) for check in solution.checks)])


def test_under_a_countersunk_skin_nothing_is_sunk_for_a_dimple():
    """A sound land failed for a low side that no dimple has, and the stop was set too deep."""
    of = job(dash(3, skins="countersunk", shop_head="flush"), 2.5)
    for hole in solve(of).holes:
        depth = (dash(3).head - 2.5) / 2 / math.tan(math.radians(50)) - 0.3
        assert hole.countersink_a.sunk == pytest.approx(depth)
        assert hole.land == hole.straight == pytest.approx(hole.thickness - 2 * depth)
    (hole,) = solve(of).holes[:1]
    assert "fully down" not in the_words(of)
    assert "dimple's" not in the_words(of)
    limit = Allow(land=hole.land - 0.05)
    assert the_check("land", dataclasses.replace(of, allow=limit)).status == "ok"
    dimpled = job(dash(3, shop_head="flush"), 2.5)
    assert "The skin lies fully down at" in the_words(dimpled)


def test_where_the_skin_holds_the_whole_head_the_wedge_is_not_held_against_a_countersink():
    """A warning about a countersink that nobody cuts sends a good wedge back."""
    of = job(dash(3, skins="countersunk"), 2.5, 4.0, skin=(1.1, 1.1), rear_thickness=0.2)
    wedge = the_check("countersink in the wedge", of)
    assert max(hole.thickness for hole in solve(of).holes) < 0.040 * INCH
    assert (wedge.status, wedge.value, wedge.limit) == ("ok", None, None)
    assert "does not apply" in str(wedge.why)
    assert the_check("land", of).status == "ok"
    assert "the skins hold the whole head" in str(the_check("land", of).why)
    assert "countersink" not in {check.name for check in solve(of).checks}
    assert "countersink-depth" not in {number.id for number in solve(of).numbers}
    assert "land" not in {line.what for line in solve(of).riveting}
    through = dataclasses.replace(of, skin=Skin(thickness=(1.1, 0.5)))
    assert the_check("countersink in the wedge", through).status == "warn"


def test_a_head_narrower_than_its_hole_is_no_head_that_the_skin_holds():
    """Nothing to cut, because nothing was known, must not read as all well."""
    of = job(dash(3, skins="countersunk"), 5.0, skin=(1.1, 1.1))
    assert the_check("countersink", of).status == "fail"
    assert "skins hold" not in the_words(of)


@pytest.mark.parametrize("number", [3, 2])
def test_a_flush_shop_head_under_a_protruding_rivet_says_what_is_missing(number):
    """Silence on one side reads as nothing to be cut there."""
    of = job(dash(number, form="protruding", shop_head="flush", head=4.75), 2.5)
    (line,) = (line for line in solve(of).riveting if line.what == "shop head")
    assert "countersink, stop and land are not worked out" in str(line.said)
    assert "as your plans say" in str(line.brief)
    assert ("82 degree well" in str(line.said)) == (number == 3)
    check = the_check("flush shop head", of)
    assert check.status == "not checked"
    assert "countersink, stop and land for it are not worked out" in str(check.why)
    for other in (dash(3, form="protruding", shop_head="bucked"), dash(3, shop_head="flush")):
        assert "shop head" not in {line.what for line in solve(job(other, 2.5)).riveting}


def test_a_bucked_head_is_not_offered_where_one_countersink_goes_through_the_wedge():
    """The builder changes his plan, and meets the same knife edge."""
    of = job(
        dash(6, shop_head="flush", skins="countersunk"), 4.9, 4.0,
        skin=(0.8, 0.4), rear_thickness=0.5, depth=20.0,
    )  # fmt: skip
    land = the_check("land", of)
    assert land.status == "fail"
    assert "at every hole" in str(land.why)
    assert "one countersink alone, 1.31 mm deep, goes through the wedge" in str(land.why)
    assert "bucked head" not in str(land.why)
    assert "hole line more than" not in str(land.why)
    assert "no stop is told" in the_words(of).lower()
    assert "Stop: " not in the_words(of)


def test_each_remedy_that_is_offered_leaves_a_land_when_it_is_taken():
    """A remedy that does not help costs a second wedge."""
    rivet = dash(4, shop_head="flush")
    of = job(rivet, 3.26, skin=(0.4, 0.4), depth=40.0, allow=Allow(land=0.1))
    why = str(the_check("land", of).why)
    assert the_check("land", of).status == "fail"
    (line,) = re.findall(r"more than about ([0-9.]+) mm from the trailing edge", why)
    further = dataclasses.replace(of.holes, line=float(line) + 0.02)
    assert the_check("land", dataclasses.replace(of, holes=further)).status == "ok"
    nearer = dataclasses.replace(of.holes, line=float(line) - 0.1)
    assert the_check("land", dataclasses.replace(of, holes=nearer)).status != "ok"
    assert "a bucked head on one side (" in why
    bucked = dataclasses.replace(of, rivet=dataclasses.replace(rivet, shop_head="bucked"))
    assert the_check("land", bucked).status == "ok"


def test_a_hole_line_further_forward_is_offered_only_where_the_wedge_is_deep_enough():
    """Two diameters from the front edge the hole has no metal either."""
    rivet = dash(4, shop_head="flush")
    deep = job(rivet, 3.26, skin=(0.4, 0.4), depth=40.0)
    shallow = dataclasses.replace(deep, wedge=dataclasses.replace(deep.wedge, depth=16.0))
    assert "hole line more than" in str(the_check("land", deep).why)
    assert "hole line more than" not in str(the_check("land", shallow).why)


def test_with_no_remedy_left_it_says_so():
    """An empty sentence after a fail is a fault of its own."""
    of = job(dash(3, shop_head="flush"), 2.49, 3.0, rear_thickness=0.3, depth=16.0)
    why = str(the_check("land", of).why)
    assert "no hole line that the wedge has room for leaves enough: ask your plans" in why


@pytest.mark.parametrize("number", [3, 4, 5])
@pytest.mark.parametrize("rear", [0.2, 0.6, 1.0])
def test_no_other_size_of_rivet_is_ever_proposed(number, rear):
    """A -2 rivet lies below the 3/32 in that published rules set for parts of the controls.

    Source: design size of rivets in control surfaces, FAA AC 43.13-1B para 4-57 (from memory).
    """
    of = job(dash(number, shop_head="flush"), number / 32 * INCH + 0.1, rear_thickness=rear)
    wide = job(dash(number, shop_head="flush"), number / 32 * INCH * 1.3, rear_thickness=rear)
    for told in (the_words(of), the_words(wide)):
        sizes = set(re.findall(r"-(\d) (?:flush |protruding )?rivet", told))
        assert sizes <= {str(number)}
        assert "smaller" not in told
        assert "larger rivet" not in told
    if the_check("land", of).status == "fail":
        assert "ask your plans" in str(the_check("land", of).why)


def test_no_stop_is_tabled_for_a_hole_whose_countersinks_meet_on_the_axis():
    """A number in the table gets set on the stop."""
    rivet = dash(4, shop_head="flush")
    wedge = a_job(thick(4.2, 1.9, 14.0), thick(2.9, 0.9, 14.0, at=600.0),
                  rear_thickness=None, depth=26.0, skin=(0.4, 0.4),
                  rivet=rivet, holes=row_of_holes(drill=3.26, drill_name="#30", line=8.0,
                  positions=(20.0, 300.0, 580.0)))  # fmt: skip
    solution = solve(wedge)
    text = printed(riveting_parts(solution), Terminal(width=100))
    kept = [hole.straight > 0.0 for hole in solution.holes]
    assert kept[0]
    assert not kept[-1]
    rows = [line for line in text.splitlines() if re.match(r" +\d+ ", line)][-3:]
    assert ["no land" not in row for row in rows] == kept


def test_the_hole_line_that_is_offered_counts_both_faces_of_an_unlike_wedge():
    """Reckoned with one face twice, the line that is offered leaves no land, or none is offered."""
    unlike = job(dash(3, shop_head="flush"), 2.49, depth=60.0, allow=Allow(land=0.3))
    (station,) = unlike.wedge.stations
    sides = skins(8.0, 2.0)
    unlike = dataclasses.replace(
        unlike,
        wedge=dataclasses.replace(unlike.wedge, stations=(sides,), rear_thickness=0.5),
    )
    assert station.form != sides.form
    hole = min(solve(unlike).holes, key=lambda h: h.land)
    opening = math.tan(math.radians(8.0)) + math.tan(math.radians(2.0))
    needed = unlike.holes.line + (0.3 - hole.land) / opening
    offered = re.search(
        r"hole line more than about ([\d.]+) mm", str(the_check("land", unlike).why)
    )
    assert offered is not None
    assert float(offered[1]) == pytest.approx(needed, abs=0.006)
