"""A cut through one of the stock's own rivet holes is told, judged as an edge, and ranked."""

import math

import pytest
from msgspec.structs import replace
from samplejobs import a_job, included, row_of_holes
from shapely.geometry import Point, box

from jiggen.drawing.shapes import Dash, Path
from jiggen.geometry.shifts import placements
from jiggen.geometry.trim import Part, Stock, placed
from jiggen.jigs.trim import JIG
from jiggen.job import sections
from jiggen.report.trim import reasons, trim_as_json, trim_parts
from jiggen.solve import solve

PART = Part(trim=(0.0, 100.0), holes=(10.0, 30.0, 50.0, 70.0, 90.0), line=9.0, drill=3.0)


@pytest.mark.parametrize("middle", [-1.2, 0.0, 1.1])
def test_half_a_rivet_hole_in_the_end_is_as_near_to_the_first_rivet_as_shapely_measures(middle):
    """Counted from the sawn edge alone the last rivet seems to hold more metal than it has."""
    holes = (5.0, *PART.holes[1:])
    one = placed(
        Stock(length=300.0, holes=(middle, *holes)),
        replace(PART, holes=holes),
        0.25,
        0.0,
        (0.0, 0.0),
    )
    start, end = one.cuts
    assert (start.half_holes, end.half_holes) == ((middle,), ())
    body = box(0.0, -99.0, 100.0, 99.0).difference(Point(middle, 9.0).buffer(1.5, quad_segs=2000))
    assert start.nearest is not None
    assert start.nearest.to == "half hole"
    expected = body.exterior.distance(Point(5.0, 9.0))
    assert start.nearest.edge_distance == pytest.approx(expected, abs=1e-4)
    assert one.under_least == (1,)


@pytest.mark.parametrize("covered", [0.0, 0.2])
def test_a_hole_of_the_stock_under_one_of_the_skins_is_that_rivet_hole_and_no_other(covered):
    """Told twice, as a rivet hole and as half a hole, it would count against a shift twice."""
    part = replace(PART, holes=(0.5, *PART.holes))
    one = placed(Stock(length=300.0, holes=(0.5 + covered,)), part, 0.25, 0.0, (0.0, 0.0))
    assert one.half_holes == ()
    assert one.opened == (1,)


def test_a_shift_that_saws_through_a_rivet_hole_comes_after_those_with_spare_holes():
    """A rivet fills a spare hole; half a hole at the sawn end is where a crack starts."""
    # At 0 mm the first hole lies on the start; at -80 mm both odd ones lie in mid part.
    row = (0.0, *(10.0 + 20.0 * n for n in range(9)), 135.0, 155.0)
    found = placements(Stock(length=190.0, holes=tuple(sorted(row))), PART, 0.25, turn=False)
    ranks = [(round(one.shift), len(one.spare), len(one.half_holes)) for one in found]
    assert ranks[-1] == (0, 1, 1)
    assert (-80, 2, 0) in ranks[:-1]


def solved():
    """Return a part that no shift can cut clear of the stock's even row of holes."""
    stock = sections.Stock(
        length=15 * 20.0, positions=tuple(10.0 + 20.0 * n for n in range(14)), trim=(0.0, 100.0)
    )
    holes = row_of_holes(4, positions=(20.0, 40.0, 60.0, 80.0), drill=3.0, line=9.0)
    return solve(a_job(included(11.4), holes=holes, depth=30.0, rear_thickness=0.8, stock=stock))


def test_the_plan_says_that_the_cut_passes_a_rivet_hole_and_does_not_call_it_clear():
    """Both ends came out of the saw with half a hole, and the plan had said: notch none."""
    found = solved()
    plan = found.trim
    assert plan is not None
    assert plan.best is not None
    (check,) = [c for c in found.checks if c.name == "trim, half hole"]
    assert check.status == "warn"
    assert "passes a rivet hole of the stock" in str(check.why)
    assert "no shift avoids it" in str(check.why)
    assert check.value == pytest.approx(1.5)
    said = "; ".join([str(one) for one in reasons(plan.best, plan)])
    assert "the cut at the start passes a rivet hole of the stock" in said
    assert len(trim_parts(plan, "mm")) > 1
    as_json = trim_as_json(plan, "mm")
    assert as_json is not None
    assert as_json["placements"][0]["cuts"][0]["half_holes"] == [pytest.approx(0.0)]


def test_the_template_shows_half_the_hole_at_the_cut():
    """Scribed along an edge that shows nothing, the hole is found by the saw."""
    start = JIG.plan(solved()).pieces[0]
    arcs = [
        mark.shape
        for mark in start.marks
        if mark.dash is Dash.HIDDEN and isinstance(mark.shape, Path) and mark.shape.edges[0].bulge
    ]
    (half,) = [arc for arc in arcs if arc.edges[0].radius == pytest.approx(1.5)]
    # The part lies to the left of its start, at x = 0; the rim begins clear of the outline.
    there = half.bounds()
    assert (there.left, there.right) == (pytest.approx(-1.5), pytest.approx(-0.5))
    middle = half.edges[0].centre
    assert middle == pytest.approx((0.0, 9.0 / math.cos(math.radians(5.7))), abs=1e-6)


def test_a_cut_between_two_holes_of_the_stock_is_not_told_to_pass_one():
    """A warning at every cut is read at none."""
    found = solved()
    job = replace(found.job, stock=replace(found.job.stock, trim=(11.0, 89.0)))
    assert [c for c in solve(job).checks if c.name == "trim, half hole"] == []
