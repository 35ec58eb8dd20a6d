"""The registry of jigs: who is asked for, what cannot be made, and what every plan holds."""

from __future__ import annotations

import pytest
from extremes import JOBS, solution_of
from offsetjobs import solved

from jiggen.drawing.shapes import Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.plan import Plan, all_jigs, plan_job
from jiggen.solution import Solution

ASKED = {
    "gauge": "", "block": "", "cradle": "", "strip": "", "sequence": "", "rivet": 'size = "-3"',
    "stock": 'length = "180 mm"\npositions = [15, 41, 67, 93, 119, 145]\ntrim = [0, 134]',
}  # fmt: skip


def everything() -> Solution:
    return solved(6.5, 3.0, sections=ASKED)


def of_kind(solution: Solution, kind: str, only: tuple[str, ...] = ()) -> Plan:
    (plan,) = (plan for plan in plan_job(solution, only).plans if plan.kind == kind)
    return plan


def test_guides_are_made_for_any_job_and_all_else_is_asked_for():
    """Nobody wants eight more pieces on paper who did not ask for them."""
    drawn = {plan.kind for plan in plan_job(solved(6.5, 3.0)).plans if plan.pieces or plan.pages}
    assert drawn == {"guide"}
    asked = {plan.kind for plan in plan_job(everything()).plans}
    assert asked >= {"guide", "gauge", "block", "cradle", "strip", "trim", "sequence"}
    for kind in ("wrap", "coupon", "gauge", "block"):
        assert {plan.kind for plan in plan_job(solved(6.5, 3.0), (kind,)).plans} == {kind}


@pytest.mark.parametrize("name", JOBS)
def test_every_piece_has_a_name_a_kind_and_a_title_of_its_own(name):
    """Two things called BLOCK 1 are taken for one."""
    planned = plan_job(solution_of(name))
    assert planned.pieces
    names = [piece.name for piece in planned.pieces]
    titles = [piece.title for piece in planned.pieces]
    assert len(set(names)) == len(names)
    assert len(set(titles)) == len(titles)
    for plan in planned.plans:
        assert all(p.kind == plan.kind for p in plan.pieces)
        assert all(f"{p.name}-".startswith(f"{plan.kind}-") for p in plan.pieces)
    ids = [check.id for check in planned.checks]
    assert len(set(ids)) == len(ids)
    assert all(ids)


def test_only_picks_kinds_and_names():
    """A builder who wants one block should not have to print the rest."""
    of = everything()
    assert {p.kind for p in plan_job(of, ("gauge",)).pieces} == {"gauge"}
    some = [p.name for p in plan_job(of, ("guide-b1", "gauge-1-thin")).pieces]
    assert some == ["guide-b1", "guide-b1-edge", "gauge-1-thin"]


def test_a_name_that_nothing_has_is_answered_with_all_that_are_known():
    """Who mistypes a plate's name looks for it in the list."""
    with pytest.raises(DoesNotFit, match="no piece of this job has that name") as caught:
        plan_job(everything(), ("gide",))
    assert caught.value.key == "--only"
    known = str(caught.value.remedy).removeprefix("known are ").split(", ")
    assert set(known) == {jig.kind for jig in all_jigs()}
    with pytest.raises(DoesNotFit, match="guide-foot"):
        plan_job(everything(), ("guide-b2",))


def test_what_cannot_be_made_is_told_first_and_does_not_stop_the_rest():
    """Somebody who wants card guides gets nothing at all because of a block of thick sheet."""
    of = solved(6.5, 3.0, sections={**ASKED, "block": 'bore = "14 mm"\ninside = "2.5 mm"'})
    planned = plan_job(of)
    drawn = {plan.kind for plan in planned.plans}
    assert "block" not in drawn
    assert {"guide", "gauge", "strip"} <= drawn
    first = planned.checks[0]
    assert (first.id, first.status) == ("block-cannot-be-made", "fail")
    why = planned.refused["block"]
    assert str(first.why) == f"{why.problem}; {why.remedy}"
    assert first.keys == (why.key,)
    # Asked for by name it is refused the same way, and not answered with a list of names.
    assert set(plan_job(of, ("block",)).refused) == {"block"}


def test_every_plate_of_a_jig_that_is_put_together_is_named_in_a_picture():
    """The picture is for whoever does not know which plate is which."""
    of = everything()
    for kind, names in (
        ("guide", {"edge", "foot"}),
        ("block", {"foot", "tongue"}),
        ("cradle", {"rib", "seat", "stop", "base"}),
    ):
        marks = [mark.shape for picture in of_kind(of, kind).pictures for mark in picture.marks]
        said = " ".join(shape.text for shape in marks if isinstance(shape, Text))
        assert names <= set(said.replace(",", " ").split()), kind


def test_a_job_whose_holes_all_wait_or_that_has_none_makes_no_jig_break_down():
    """Keep-outs are put in first and thinned out later: a traceback in between stops everything."""
    waiting = solved(6.5, 3.0, count=3, sections={**ASKED, "holes": "keep_out = [1, 2, 3]"})
    planned = plan_job(waiting)
    assert {plan.kind for plan in planned.plans if plan.leads_drill and plan.pieces} == set()
    assert {"gauge", "strip"} <= {piece.kind for piece in planned.pieces}
    for only in ("wrap", "coupon", "shophead"):
        assert {*plan_job(waiting, (only,)).refused} <= {only}
