"""The trim plan: shifts against a fine search, notches and ligaments against shapely, turning."""

import math

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from samplejobs import a_job, included, row_of_holes, skins, thick
from shapely.geometry import LineString, Point, Polygon, box

from jiggen.geometry.shifts import (
    best_in_window,
    closest_shift,
    matching_windows,
    placements,
    reach,
)
from jiggen.geometry.trim import (
    CutLine,
    Part,
    Placement,
    RoundHole,
    Stock,
    placed,
)
from jiggen.job import sections
from jiggen.job.sections import LighteningHole
from jiggen.solve import solve

DEPTH = 32.0


def row(first: float, pitch: float, count: int) -> tuple[float, ...]:
    return tuple(first + pitch * n for n in range(count))


def openings(first: float, pitch: float, count: int, diameter=12.0, line=21.0):
    return tuple(RoundHole(at=at, diameter=diameter, line=line) for at in row(first, pitch, count))


PART = Part(
    trim=(0.0, 200.0),
    fairing=(5.0, 5.0),
    holes=row(15.0, 26.0, 7),
    line=8.0,
    drill=2.5,
    depth=DEPTH,
)


#: A rivet hole that is too near to a cut at every shift, and to a lightening hole at some.
NEAR_BOTH = (
    Stock(length=68.0, lightening=openings(0.0, 20.0, 2, 15.0, 16.5)),
    Part(
        trim=(0.0, 60.0),
        fairing=(4.0, 0.0),
        holes=row(0.0, 9.0, 3),
        line=6.0,
        drill=2.0,
        depth=DEPTH,
    ),
)


@st.composite
def cases(draw: st.DrawFn) -> tuple[Stock, Part]:
    """Return a stock with rivet and lightening holes, and a part that it is long enough for."""
    pitch = draw(st.floats(9.0, 30.0))
    length = draw(st.floats(60.0, 140.0))
    part = Part(
        trim=(0.0, length),
        fairing=(draw(st.floats(0.0, 15.0)), draw(st.floats(0.0, 15.0))),
        holes=row(draw(st.floats(-5.0, 12.0)), pitch, draw(st.integers(3, 9))),
        line=draw(st.floats(5.0, 10.0)),
        drill=draw(st.floats(2.0, 4.0)),
        depth=DEPTH,
    )
    diameter = draw(st.floats(4.0, 18.0))
    stock = Stock(
        length=length + draw(st.floats(0.5, 60.0)),
        holes=row(draw(st.floats(0.0, 12.0)), pitch, draw(st.integers(3, 12))),
        lightening=openings(
            draw(st.floats(0.0, 20.0)),
            draw(st.floats(20.0, 40.0)),
            draw(st.integers(1, 5)),
            diameter,
            draw(st.floats(16.0, 30.0)),
        ),
    )
    return stock, part


def worst_offsets(stock: Stock, part: Part, shifts: np.ndarray) -> np.ndarray:
    """Return the worst offset of the part's holes at each shift, by trying every pair."""
    apart = np.abs(
        np.array(part.wanted)[None, :, None]
        - np.array(stock.holes)[None, None, :]
        - shifts[:, None, None]
    )
    return apart.min(axis=2).max(axis=1)


@settings(max_examples=120, deadline=None)
@given(
    case=cases(),
    match=st.floats(0.05, 2.0),
    slips=st.lists(st.floats(-0.4, 0.4), min_size=12, max_size=12),
)
def test_the_windows_hold_every_shift_that_a_fine_search_finds_and_no_other(case, match, slips):
    """A shift that the plan overlooks is a notch that need not have been."""
    stock, part = case
    # Holes that were drilled by hand are never quite in step.
    stock = replace(
        stock, holes=tuple(at + slip for at, slip in zip(stock.holes, slips, strict=False))
    )
    within = reach(stock, part)
    if not part.wanted or within is None:
        return
    shifts = np.linspace(*within, 3001)
    good = worst_offsets(stock, part, shifts) <= match
    windows = matching_windows(stock.holes, part.wanted, match, within)
    inside = np.zeros_like(good)
    near = np.zeros_like(good)
    for low, high in windows:
        inside |= (shifts >= low) & (shifts <= high)
        near |= (np.abs(shifts - low) < 1e-6) | (np.abs(shifts - high) < 1e-6)
    assert (inside == good)[~near].all()
    for window in windows:
        best = best_in_window(stock.holes, part.wanted, window)
        assert window[0] <= best <= window[1]
        there = (shifts >= window[0]) & (shifts <= window[1])
        own = worst_offsets(stock, part, np.array([best]))[0]
        assert own <= match + 1e-6
        if there.any() and match < 4.0:
            assert own <= worst_offsets(stock, part, shifts[there]).min() + 1e-9


@settings(max_examples=80, deadline=None)
@given(case=cases(), match=st.floats(0.05, 0.5), slip=st.floats(0.0, 1.0))
def test_the_nearest_miss_is_the_shift_that_lines_up_the_most_holes(case, match, slip):
    """Where no shift will do the builder must learn how far off the pattern is."""
    stock, part = case
    # A stock of another pitch: no shift lines up all of it.
    stock = replace(stock, holes=tuple(at * (1.0 + slip / 20.0) for at in stock.holes))
    within = reach(stock, part)
    if not part.wanted or within is None:
        return
    found = closest_shift(stock.holes, part.wanted, match, within)
    shifts = np.linspace(*within, 4001)
    apart = np.abs(
        np.array(part.wanted)[None, :, None]
        - np.array(stock.holes)[None, None, :]
        - shifts[:, None, None]
    ).min(axis=2)
    most = int((apart <= match).sum(axis=1).max())
    assert (0 if found is None else found[0]) >= most
    if found is not None:
        count, shift = found
        assert within[0] <= shift <= within[1]
        met = np.abs(np.subtract.outer(np.array(part.wanted) - shift, stock.holes)).min(axis=1)
        assert int((met <= match + 1e-9).sum()) == count


def solid(stock: Stock, part: Part, shift: float):
    """Return the part as a polygon, cut from the stock by an independent geometry library."""
    low, high = part.trim
    body = box(low, 0.0, high, DEPTH)
    for hole in stock.lightening:
        disc = Point(hole.at + shift, hole.line).buffer(hole.radius, quad_segs=512)
        body = body.difference(disc)
    return body


@settings(max_examples=100, deadline=None)
@given(case=cases(), share=st.floats(0.0, 1.0))
def test_ligaments_are_the_distances_that_shapely_measures(case, share):
    """The last rivet is the one that tears out."""
    stock, part = case
    one, shift = placed_at(stock, part, share)
    # Trailing edge and front are judged elsewhere: let them lie far away.
    low, high = part.trim
    body = box(low, -100.0, high, 100.0)
    for hole in one.lightening:
        body = body.difference(Point(hole.at, hole.line).buffer(hole.radius, quad_segs=512))
    # Of the stock's own rivet holes those that a cut passes open its edge.
    for at in (own + shift for own in stock.holes):
        covered = any(abs(at - there) <= 0.25 + 1e-9 for there in part.holes)
        passed = min(abs(at - low), abs(at - high)) < part.drill / 2 - 1e-9
        if passed and not covered:
            body = body.difference(Point(at, part.line).buffer(part.drill / 2, quad_segs=512))
    if hole_ahead(stock):
        return
    distance = {}
    for number, at in enumerate(part.holes, start=1):
        middle = Point(at, part.line)
        if low - part.drill / 2 < at < high + part.drill / 2:
            inside = body.contains(middle)
            distance[number] = min(b.distance(middle) for b in rims(body)) * (1 if inside else -1)
    limits = ((part.drill / 2, one.opened), (2 * part.drill, one.under_least))
    for limit, numbers in (*limits, (2.5 * part.drill, one.under_usual)):
        for number, far in distance.items():
            if abs(far - limit) > 2e-3:
                assert (number in numbers) == (far < limit), (number, far, limit)
    known = [f for f in (one.cuts[0].nearest, one.cuts[1].nearest, one.inner) if f is not None]
    if known and min(distance.values()) > 0.0:
        assert min(f.edge_distance for f in known) == pytest.approx(
            min(distance.values()), abs=2e-3
        )
        for f in known:
            assert f.metal == pytest.approx(f.edge_distance - part.drill / 2)


def hole_ahead(stock: Stock) -> bool:
    return any(hole.line >= DEPTH for hole in stock.lightening)


def placed_at(stock: Stock, part: Part, share: float) -> tuple[Placement, float]:
    """Return the stock as laid, and its shift: `share` of the way through all that reach."""
    within = reach(stock, part)
    assert within is not None
    shift = within[0] + share * (within[1] - within[0])
    return placed(stock, part, 0.25, shift, within), shift


def rims(body):
    pieces = getattr(body, "geoms", [body])
    return [ring for piece in pieces for ring in (piece.exterior, *piece.interiors)]


@settings(max_examples=100, deadline=None)
@given(case=cases(), share=st.floats(0.0, 1.0))
def test_notches_are_what_shapely_cuts_out_of_the_end(case, share):
    """A notch deeper than it was told stands out from under the fairing."""
    stock, part = case
    one, _ = placed_at(stock, part, share)
    section = box(*(-1e4, 0.0, 1e4, DEPTH))
    for cut, inward, fairing in zip(one.cuts, (1, -1), part.fairing, strict=True):
        beyond = box(
            min(cut.at, cut.at + inward * 1e4), -1e4, max(cut.at, cut.at + inward * 1e4), 1e4
        )
        line = box(cut.at - 1e-7, -1e4, cut.at + 1e-7, 1e4)
        expected = []
        for hole in one.lightening:
            disc = Point(hole.at, hole.line).buffer(hole.radius, quad_segs=512)
            disc = disc.intersection(section)
            mouth = disc.intersection(line)
            if mouth.is_empty or mouth.bounds[3] - mouth.bounds[1] < 0.5:
                continue
            lost = disc.intersection(beyond).bounds
            kept = disc.intersection(beyond)
            across = [
                kept.intersection(LineString([(x, -50), (x, 50)]))
                for x in np.linspace(lost[0], lost[2], 801)
            ]
            wide = max(row.bounds[3] - row.bounds[1] for row in across if not row.is_empty)
            sizes = (mouth.bounds[3] - mouth.bounds[1], lost[2] - lost[0], mouth.bounds[1])
            expected.append((*sizes, wide, lost[1]))
        found = [
            (n.width, n.depth, n.rear, n.widest, n.behind) for n in cut.notches if n.width >= 0.5
        ]
        assert len(found) == len(expected)
        for (width, depth, rear, widest, behind), want in zip(
            found, sorted(expected, key=lambda r: r[2]), strict=True
        ):
            assert width == pytest.approx(want[0], abs=0.01)
            assert depth == pytest.approx(want[1], abs=0.01)
            assert rear == pytest.approx(want[2], abs=0.01)
            assert widest == pytest.approx(want[3], abs=0.02)
            assert behind == pytest.approx(want[4], abs=0.01)
        assert all(n.hidden == (n.depth <= fairing + 1e-9) for n in cut.notches)


def trouble(one: Placement) -> tuple[int, ...]:
    return (
        len(one.opened),
        len(one.under_least),
        len(one.open_notches),
        len(one.spare),
        len(one.under_usual),
        len(one.notches),
    )


@settings(max_examples=40, deadline=None)
@given(case=cases())
@example(case=NEAR_BOTH)
def test_no_shift_of_a_fine_search_is_better_than_the_best_of_an_undrilled_stock(case):
    """The gap between two notches may be a millimetre wide: the plan has to find it."""
    stock, part = case
    stock = replace(stock, holes=())
    within = reach(stock, part)
    assert within is not None
    found = placements(stock, part, 0.25, turn=False)
    best = found[0]
    assert [trouble(one) for one in found] == sorted(trouble(one) for one in found)
    # Never quite a round number: a rim that just grazes a cut at one shift alone helps nobody.
    for share in (np.arange(200) + math.sqrt(2.0) / 3.0) / 201.0:
        shift = within[0] + share * (within[1] - within[0])
        one = placed(stock, part, 0.25, float(shift), within)
        assert trouble(best) <= trouble(one), shift
        if trouble(best) == trouble(one):
            depths = [sum(n.depth for n in p.notches) for p in (best, one)]
            # Both ends of the part may have a notch, and each may be a thousandth off.
            assert depths[0] <= depths[1] + 2.1e-3


@settings(max_examples=40, deadline=None)
@given(case=cases())
def test_every_placement_reaches_both_trim_lines_and_leaves_what_it_says(case):
    """A part that ends short of its trim line is scrap."""
    stock, part = case
    for one in placements(replace(stock, holes=()), part, 0.25, turn=True):
        start, end = one.cuts
        assert start.left >= -1e-9
        assert end.left >= -1e-9
        kept = part.trim[1] - part.trim[0]
        assert start.left + kept + end.left == pytest.approx(stock.length)
        assert abs(end.on_stock - start.on_stock) == pytest.approx(kept)
        on_stock = start.left if not one.turned else stock.length - start.left
        assert start.on_stock == pytest.approx(on_stock)


#: A lightening hole whose rim touches the cut at the one shift that lines up, to the last digit.
TOUCHING = (
    Stock(
        length=63.0,
        holes=(4.8, 13.8, 22.8),
        lightening=(RoundHole(at=1.0, diameter=4.0, line=16.0),),
    ),
    Part(trim=(0.0, 60.0), holes=(1.8, 10.8, 19.8), line=5.0, drill=2.0, depth=DEPTH),
)


@settings(max_examples=60, deadline=None)
@example(case=TOUCHING, match=1.0)
@given(case=cases(), match=st.floats(0.05, 1.0))
def test_turning_the_stock_twice_is_not_turning_it(case, match):
    """Turned end for end the plan of the turned stock is the plan of the stock."""
    stock, part = case
    once = placements(stock, part, match, turn=True)
    back = placements(stock.turned(), part, match, turn=True)
    assert len(once) == len(back)
    assert sorted(one.shift for one in once) == pytest.approx(sorted(one.shift for one in back))
    assert sorted(trouble(one) for one in once) == sorted(trouble(one) for one in back)


def test_a_stock_turned_end_for_end_is_cut_at_the_mirrored_places():
    """Counting from the wrong end of the stock is the classic way to lose it."""
    stock = Stock(length=250.0, holes=row(7.0, 26.0, 9), lightening=openings(40.0, 52.0, 2))
    (turned,) = [p for p in placements(stock, PART, 0.25, turn=True) if p.turned and p.shift > -40]
    # From the far end the stock's last hole comes first: 250 - 215 = 35 from its start.
    assert turned.shift == pytest.approx(15.0 - 35.0)
    assert turned.cuts[0].on_stock == pytest.approx(250.0 - 20.0)
    assert turned.cuts[1].on_stock == pytest.approx(250.0 - 220.0)
    assert [h.at for h in turned.lightening] == pytest.approx([250 - 92 - 20, 250 - 40 - 20])


def test_a_hand_worked_notch():
    """10 mm hole, its middle 3 mm inside the cut: 8 mm deep, mouth twice the root of 25 - 9."""
    stock = Stock(length=200.0, lightening=openings(3.0, 1.0, 1, diameter=10.0))
    (notch,) = placed(stock, PART, 0.25, 0.0, (0.0, 0.0)).cuts[0].notches
    assert (notch.depth, notch.width, notch.rear) == pytest.approx((8.0, 8.0, 17.0))
    # More than half of the hole is in the part: there it is 10 mm wide, with 16 mm behind it.
    assert (notch.widest, notch.behind) == pytest.approx((10.0, 16.0))
    assert not notch.hidden
    assert not notch.open_front
    near = placed(stock, replace(PART, depth=22.0), 0.25, 0.0, (0.0, 0.0)).cuts[0].notches[0]
    assert near.open_front
    assert near.width == pytest.approx(22.0 - 17.0)


def job(*stations, stock: dict | None = None, **more):
    given = {
        "length": 260.0,
        "positions": row(8.0, 26.0, 9),
        "trim": (0.0, 190.0),
        **(stock or {}),
    }
    return a_job(
        *(stations or (included(11.0),)),
        holes=row_of_holes(7),
        stock=sections.Stock(**given),
        **{"rear_thickness": 0.8, "depth": 30.0, **more},
    )


def checks(solution):
    return {check.name: check for check in solution.checks if check.name.startswith("trim")}


LIGHT = (LighteningHole(at=60.0, diameter=14.0, line=18.0),)


def test_a_tapered_wedge_is_not_turned_even_if_the_job_says_so():
    """Its thin end would come where the thick one belongs."""
    stations = (thick(4.2, 0.8, 16.0), thick(2.6, 0.6, 12.0, at=400.0))
    solution = solve(job(*stations, stock={"turn": True}))
    plan = solution.trim
    assert plan.turn_refused
    assert not any(one.turned for one in plan.placements)
    check = checks(solution)["trim, end for end"]
    assert check.status == "warn"
    assert "a tapered wedge may not be turned end for end" in str(check.why)
    quiet = solve(job(*stations))
    assert "trim, end for end" not in checks(quiet)
    assert "tapered" in quiet.trim.turning


def test_a_wedge_with_unlike_sides_is_not_turned():
    """Turned end for end face A lies on side B: every angle would be the other one's."""
    solution = solve(job(skins(7.5, 3.0), stock={"turn": True}))
    assert "its sides differ" in str(checks(solution)["trim, end for end"].why)
    assert not any(one.turned for one in solution.trim.placements)


def test_a_prismatic_wedge_is_tried_both_ways_and_says_when_nobody_allowed_it():
    """A builder who marked one end must be able to say so."""
    open_question = solve(job())
    assert any(one.turned for one in open_question.trim.placements)
    assert checks(open_question)["trim, end for end"].status == "not checked"
    assert "stock.turn" in str(checks(open_question)["trim, end for end"].why)
    allowed = solve(job(stock={"turn": True}))
    assert any(one.turned for one in allowed.trim.placements)
    assert "trim, end for end" not in checks(allowed)
    refused = solve(job(stock={"turn": False}))
    assert not any(one.turned for one in refused.trim.placements)
    assert "trim, end for end" not in checks(refused)


def test_stock_of_another_pitch_fails_with_how_near_it_comes():
    """27 mm beside 26 mm: the third hole is already 2 mm out."""
    solution = solve(job(stock={"positions": row(8.0, 27.0, 9)}))
    check = checks(solution)["trim, holes"]
    assert check.status == "fail"
    assert "no shift lines up all 7 holes within 0.25 mm" in str(check.why)
    assert solution.trim.best is None
    assert solution.trim.closest[0] == 1


def test_stock_that_ends_short_where_its_holes_line_up_says_by_how_much():
    """The row fits only with the stock's end 9 mm inside the trim line."""
    solution = solve(job(stock={"length": 200.0, "positions": row(6.0, 26.0, 7), "turn": False}))
    check = checks(solution)["trim, holes"]
    assert check.status == "fail"
    assert "9.00 mm short of a trim line" in str(check.why)


def test_holes_that_are_kept_out_count_for_lining_up():
    """They are in the skins all the same."""
    holes = replace(row_of_holes(7), keep_out=frozenset({1, 2, 3, 4, 5, 6, 7}))
    solution = solve(replace(job(stock={"positions": row(8.0, 27.0, 9)}), holes=holes))
    assert checks(solution)["trim, holes"].status == "fail"


def test_a_notch_that_no_shift_avoids_is_an_answer_with_its_numbers():
    """Sometimes the notch has to be: then its size decides about the fairing."""
    light = tuple(LighteningHole(at=a, diameter=20.0, line=18.0) for a in row(8.0, 26.0, 10))
    given = {"lightening": light, "turn": False, "positions": row(8.0, 26.0, 9)}
    open_notch = checks(solve(job(stock={**given, "trim": (10.0, 166.0)})))["trim, notch"]
    assert open_notch.status == "warn"
    assert str(open_notch.why).startswith("no shift avoids the notch: the best leaves one at the")
    # Middles 5 mm beside the cut, radius 10: 15 mm deep, 2 sqrt(100 - 25) = 17.32 mm wide.
    assert open_notch.value == pytest.approx(15.0)
    assert "20.00 mm wide" in str(open_notch.why)
    assert "state stock.fairing" in str(open_notch.why)
    hidden = solve(job(stock={**given, "trim": (10.0, 166.0), "fairing": (15.0, 15.0)}))
    assert checks(hidden)["trim, notch"].status == "ok"


def test_a_rivet_hole_too_near_to_a_cut_fails_and_one_in_the_cut_says_so():
    """2 D is 5 mm: hole 1 at 15 mm has 4 mm to a cut at 11 mm and none to one at 14 mm."""
    near = checks(solve(job(stock={"trim": (11.0, 190.0)})))["trim, edge distance"]
    assert (near.status, near.value) == ("fail", pytest.approx(4.0))
    assert "2 are the least: look at hole 1" in str(near.why)
    through = checks(solve(job(stock={"trim": (14.0, 190.0)})))["trim, edge distance"]
    assert through.status == "fail"
    assert "rivet hole 1 runs into a cut" in str(through.why)
    better = checks(solve(job(stock={"trim": (9.0, 190.0)})))["trim, edge distance"]
    assert (better.status, better.limit) == ("warn", pytest.approx(6.25))


def test_a_rivet_hole_in_a_lightening_hole_fails():
    """There is nothing to rivet to."""
    light = tuple(LighteningHole(at=a, diameter=8.0, line=8.0) for a in row(21.0, 26.0, 8))
    clear = solve(job(stock={"lightening": light}))
    assert clear.trim.best.opened == ()
    light = tuple(LighteningHole(at=a, diameter=8.0, line=8.0) for a in row(8.0, 26.0, 9))
    solution = solve(job(stock={"lightening": light}))
    assert solution.trim.best.opened == (1, 2, 3, 4, 5, 6, 7)
    assert checks(solution)["trim, edge distance"].status == "fail"


def test_what_lacks_an_input_is_not_checked_and_names_the_key():
    """Silence would be taken for a yes."""
    blind = solve(job(depth=None, stock={"lightening": LIGHT}))
    check = checks(blind)["trim, lightening holes"]
    assert (check.status, "wedge.depth" in str(check.why)) == ("not checked", True)
    no_holes = solve(replace(job(), holes=None))
    assert checks(no_holes)["trim, holes"].status == "not checked"
    assert "[holes]" in str(checks(no_holes)["trim, holes"].why)
    assert no_holes.trim.placements == ()


def test_lightening_holes_that_break_out_are_told():
    """A hole drawn through the trailing edge is a slip of a unit."""
    cases = {"at the trailing edge": (10.0, 4.0), "at the front": (14.0, 25.0)}
    for words, (diameter, line) in cases.items():
        light = (LighteningHole(at=60.0, diameter=diameter, line=line),)
        check = checks(solve(job(stock={"lightening": light})))["trim, lightening holes"]
        assert check.status == "warn"
        assert words in str(check.why)


def test_holes_beyond_the_trim_lines_and_spare_holes_are_told():
    """A pin through the skins with no wedge between them dents both."""
    solution = solve(job(stock={"trim": (30.0, 190.0)}))
    assert str(checks(solution)["trim, holes beyond"].why).startswith("hole 1 of the skins")
    spare = solve(job(stock={"positions": tuple(sorted((*row(8.0, 26.0, 9), 100.0)))}))
    assert checks(spare)["trim, spare holes"].status == "warn"


def test_a_job_without_stock_has_no_trim_plan():
    """Nothing new is said to those who did not ask."""
    solution = solve(a_job(included(11.0), holes=row_of_holes(5), rear_thickness=0.8))
    assert solution.trim is None
    assert checks(solution) == {}


def test_an_undrilled_stock_without_lightening_holes_may_lie_anywhere():
    """The whole reach is one answer, not a hundred."""
    stock = Stock(length=250.0)
    (one,) = placements(stock, PART, 0.25, turn=False)
    assert one.window == (-50.0, 0.0)
    assert one.shift == pytest.approx(-25.0)
    assert one.offset is None
    assert math.isclose(one.cuts[0].left, one.cuts[1].left)


def test_the_stretch_in_which_both_fairings_hide_their_notches_is_found():
    """At one cut the notch grows as it shrinks at the other; only 2 mm of shift hide both."""
    # Holes of radius 10 whose middles lie on the cuts at shift 0: 10 + s and 10 - s deep.
    stock = Stock(
        length=110.0,
        lightening=tuple(RoundHole(at=at, diameter=20.0, line=18.0) for at in (7.0, 107.0)),
    )
    part = Part(trim=(7.0, 107.0), fairing=(11.0, 11.0), depth=DEPTH)
    best = placements(stock, part, 0.25, turn=False)[0]
    assert len(best.notches) == 2
    assert best.open_notches == ()
    assert -1.0 - 1e-9 <= best.shift <= 1.0 + 1e-9
    assert best.window[0] >= -1.0 - 1e-9
    assert best.window[1] <= 1.0 + 1e-9


def test_a_tapered_stock_that_may_be_slid_is_warned_of():
    """Slid by 100 mm a tapered wedge brings another angle to every hole, and nobody looks again."""
    holes = tuple(11.0 + 26.0 * n for n in range(15))
    given = {"length": 400.0, "positions": holes, "trim": (0.0, 130.0)}
    tapered = job(included(12.0), included(8.0, at=200.0), stock=given)
    check = checks(solve(tapered))["trim, taper"]
    assert check.status == "warn"
    assert "0.20 deg for each 10 mm" in str(check.why)
    assert "trim, taper" not in checks(solve(job(included(12.0), stock=given)))


@pytest.mark.parametrize(("degrees", "metal"), [(0, 15.00), (-12, 13.01), (12, 16.34)])
def test_the_metal_at_a_slanting_end(degrees, metal):
    """Cut at 1000 on the edge, line 8, hole at 985; the front 16 deep at 5 deg is at 1001.40.

    Source: DERIVED, by hand.
    """
    cut = CutLine(1000.0, math.radians(degrees), -1.0)
    assert cut.inside(985.0, 8.0) == pytest.approx(metal, abs=5e-3)
    assert CutLine(1000.0, math.radians(5), -1.0).at(16.0) == pytest.approx(1001.40, abs=5e-3)


@settings(max_examples=60, deadline=None)
@given(case=cases(), degrees=st.tuples(st.floats(-40.0, 40.0), st.floats(-40.0, 40.0)))
def test_slanting_cuts_are_what_shapely_measures(case, degrees):
    """Checked square to the edge, the last rivet of a raked end stands too near to it."""
    stock, part = case
    part = replace(part, angles=tuple(math.radians(e) for e in degrees))
    deep = part.depth or 50.0
    lines = []
    for rear, e in zip(part.trim, part.angles, strict=True):
        lines.append(LineString([(rear + x * math.tan(e), x) for x in (-9000.0, 9000.0)]))
    (low, high), (low_front, high_front) = part.trim, part.span_at(deep)
    assume(high_front - low_front > 1.0)
    whole = Polygon([(low, 0.0), (high, 0.0), (high_front, deep), (low_front, deep)])
    within = reach(stock, part)
    assume(within is not None)
    one = placed(replace(stock, holes=()), part, 0.25, within[0], within)
    assert one.cuts[0].left >= -1e-9
    assert one.cuts[1].left >= -1e-9
    bounds = LineString([(part.span[0], 0.0), (part.span[1], 0.0)]).bounds
    assert bounds[0] <= whole.bounds[0] + 1e-9
    assert bounds[2] >= whole.bounds[2] - 1e-9
    inside = [n for n, at in enumerate(part.holes, 1) if whole.covers(Point(at, part.line))]
    assert list(part.numbers) == inside
    for cut, line in zip(one.cuts, lines, strict=True):
        if cut.nearest is not None and cut.nearest.to == "cut" and cut.nearest.number in inside:
            hole = Point(part.holes[cut.nearest.number - 1], part.line)
            assert cut.nearest.edge_distance == pytest.approx(hole.distance(line), abs=1e-6)
        for notch in cut.notches:
            disc = Point(notch.hole.at, notch.hole.line).buffer(notch.hole.radius, quad_segs=512)
            disc = disc.intersection(box(-9e3, 0.0, 9e3, deep))
            assert notch.width == pytest.approx(disc.intersection(line).length, abs=0.02)
            lost = disc.intersection(whole)
            if not notch.open_front and not lost.is_empty and lost.geom_type == "Polygon":
                far = max(Point(at).distance(line) for at in lost.exterior.coords)
                assert notch.depth == pytest.approx(far, abs=0.02)
                assert notch.behind == pytest.approx(lost.bounds[1], abs=0.02)


def test_a_rake_brings_the_last_rivet_under_its_edge_distance():
    """Square, the last hole has 6 mm; raked 40 degrees towards it, two of them are gone."""
    part = replace(PART, trim=(0.0, 177.0), rivet=2.4)
    stock = Stock(length=400.0)
    square = placed(stock, part, 0.25, -50.0, (-50.0, -50.0))
    raked = replace(part, angles=(0.0, math.radians(-40.0)))
    there = placed(stock, raked, 0.25, -50.0, (-50.0, -50.0))
    assert (square.under_least, square.under_usual) == ((), ())
    assert there.under_least == (7,)
