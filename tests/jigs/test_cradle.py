"""The cradle: folded from its flat pieces and measured in space, its set, its refusals, its words.

Space is the table's own frame: x forward of the trailing edge, y along it, z up from the base.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
from folding import Leaf, Vector, angle_between, unit
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from samplejobs import a_job, bulging, in_unit, included, row_of_holes, skins, thick
from shapely.geometry import LineString, Point, Polygon

from jiggen.drawing.affine import Affine
from jiggen.drawing.piece import Piece
from jiggen.drawing.room import segments_of
from jiggen.drawing.shapes import Text
from jiggen.errors import DoesNotFit
from jiggen.jigs import cradle as module
from jiggen.jigs.cradle import JIG, Cradle, cradles, plan_cradle
from jiggen.jigs.plan import Plan
from jiggen.job import sections
from jiggen.job.sections import Cut
from jiggen.solution import Solution
from jiggen.solve import solve

UP = unit(0.0, 0.0, 1.0)
ALONG = unit(0.0, 1.0, 0.0)
SHEET = 3.0


def job(*stations, count: int = 9, line: float = 8.0, row=None, asked=None, **more):
    """Return a job that asks for cradles."""
    given = {"rear_thickness": 1.2, "depth": 16.0, **more}
    holes = row or row_of_holes(count, line=line)
    return a_job(*stations, holes=holes, cradle=sections.Cradle(**(asked or {})), **given)


def tapered(**more):
    return job(
        thick(4.2, 0.8, 16.0),
        thick(2.6, 0.7, 14.0, at=1000.0),
        count=38,
        rear_thickness=None,
        **more,
    )


def planned(*stations, **more) -> tuple[Solution, Plan]:
    solution = solve(job(*stations, **more))
    return solution, plan_cradle(solution)


def part(plan: Plan, name: str) -> Piece:
    (found,) = (piece for piece in plan.pieces if piece.name == name)
    return found


# --- folded


def seat_way(rib: Piece) -> Vector:
    """Return the direction of a rib's seat edge in its plane, forward, from the outline alone.

    It is the one sloping direction of an outline whose other edges are all level or upright.
    """
    slopes = [
        (b.x - a.x, b.y - a.y)
        for a, b in segments_of(rib.outline)
        if abs(b.x - a.x) > 1e-9 and abs(b.y - a.y) > 1e-9
    ]
    assert slopes, "a level seat has no sloping edge"
    ways = [unit(*way) if way[0] > 0 else -unit(*way) for way in slopes]
    assert max(np.linalg.norm(way - ways[0]) for way in ways) < 1e-9, "one plane carries the seat"
    return ways[0]


def folded(rib: Piece, seat: Piece) -> Leaf:
    """Return the seat as it lies: the rib stands on its feet, the seat lies on the rib's edge."""
    level = min(p.y for p, _ in segments_of(rib.outline) if p.y > -1e-9)
    assert level == pytest.approx(0.0, abs=1e-9), "feet at the base's upper face"
    way = seat_way(rib)
    fall = np.array([way[0], 0.0, way[1]])
    normal = np.cross(fall, ALONG)
    # A point of the rib's seat edge, one sheet up along the normal, is a point of the seat's face.
    a = next(a for a, b in segments_of(rib.outline) if min(abs(b.x - a.x), abs(b.y - a.y)) > 1e-9)
    foot = np.array([a.x, 0.0, a.y]) + SHEET * normal
    # The seat's own y = 0 lies at x = 0.
    origin = foot - (foot[0] / fall[0]) * fall
    return Leaf(origin, ALONG, fall)


def chord_normal(slope_x: float, slope_y: float, seat: Leaf) -> Vector:
    """Return the chord plane's normal of a wedge whose lower face lies on the seat.

    In the wedge's frame that face falls forward and along by its slopes; its line along the edge
    comes to lie along the stop.
    """
    edge, up = unit(0.0, 1.0, -slope_y), unit(slope_x, slope_y, 1.0)
    wedge = np.array([edge, up, np.cross(edge, up)])
    normal = -np.cross(seat.along_x, seat.along_y)
    table = np.array([seat.along_x, normal, np.cross(seat.along_x, normal)])
    return np.asarray(table.T @ wedge @ UP)


def off_level(plan: Plan, solution: Solution, cradle: Cradle, side: str, places) -> list[float]:
    """Return in degrees how far the chord plane is from the table at places along the edge."""
    label = cradle.label
    rib, seat = part(plan, f"cradle-{label}-rib"), part(plan, f"cradle-{label}-seat")
    lies = folded(rib, seat)
    faces = solution.wedge.faces_at(list(places), solution.job.holes.line)
    slope, along = (
        (faces.slope_a, faces.slope_y_a) if side == "a" else (faces.slope_b, faces.slope_y_b)
    )
    return [
        angle_between(chord_normal(x, y, lies), UP)
        for x, y in zip(slope.tolist(), along.tolist(), strict=True)
    ]


ANGLES = st.floats(1.5, 13.0)


@settings(max_examples=15, deadline=None)
@given(a=ANGLES, b=ANGLES, depth=st.floats(15.0, 30.0), front=st.booleans())
def test_the_chord_plane_lies_level_within_a_thousandth_of_a_degree(a, b, depth, front):
    """A seat that is off by half a degree makes every countersink oval by it."""
    stop = {"stop_at": "front" if front else "TE"}
    asked = {**stop, "height": 70.0, "holes": 2}
    solution, plan = planned(skins(a, b), count=3, depth=depth, asked=asked)
    for cradle in cradles(solution):
        for side in cradle.side:
            for off in off_level(plan, solution, cradle, side, (15.0, 90.0)):
                assert off < 0.001


@pytest.mark.parametrize("error", [0.3, 0.5, 1.0])
def test_on_a_tapered_wedge_every_hole_is_level_within_the_allowed_error(error):
    """The far end's countersinks would be as far off as the taper is."""
    solution = solve(tapered(asked={"holes": 3, "error": math.radians(error)}))
    plan = plan_cradle(solution)
    served: list[int] = []
    for cradle in cradles(solution):
        assert math.degrees(cradle.worst) <= 2 / 3 * error + 1e-9
        assert math.degrees(cradle.margin) >= error / 3 - 1e-6
        for first, last in cradle.stands:
            served += range(first, last + 1)
            places = [solution.job.holes.positions[n - 1] for n in (first, last)]
            for side in cradle.side:
                off = off_level(plan, solution, cradle, side, places)
                assert max(off) <= math.degrees(cradle.worst) + 1e-6
    assert set(served) == set(range(1, 39))


def test_a_wrong_seat_is_seen_in_space():
    """A measurement that calls all level proves nothing: turn the seat, exchange the sides."""
    solution, plan = planned(skins(6.5, 3.0))
    on_b, _ = cradles(solution)
    assert max(off_level(plan, solution, on_b, "b", [40.0])) < 0.001
    assert off_level(plan, solution, on_b, "a", [40.0])[0] == pytest.approx(3.5, abs=1e-6)
    rib = part(plan, "cradle-b1-rib")
    turned = replace(rib, outline=rib.outline.moved(Affine(a=1.0, b=0.0, c=0.0, d=0.98)))
    other = replace(plan, pieces=(turned, *plan.pieces[1:]))
    off = off_level(other, solution, on_b, "b", [40.0])[0]
    assert off == pytest.approx(3.0 - math.degrees(math.atan(0.98 * math.tan(math.radians(3)))))
    assert off > 0.05


def heights_over(piece_points, low: float, high: float) -> list[float]:
    return [z for x, z in piece_points if low <= x <= high]


@settings(max_examples=15, deadline=None)
@given(a=ANGLES, b=ANGLES, depth=st.floats(15.0, 30.0), front=st.booleans(),
       line=st.floats(7.0, 9.0))  # fmt: skip
def test_nothing_comes_up_to_the_cutters_nose(a, b, depth, front, line):
    """A nose that lands on the jig leaves the countersink shallow, and nobody knows why."""
    stop = {"stop_at": "front" if front else "TE", "height": 70.0, "holes": 2}
    solution, plan = planned(skins(a, b), count=3, depth=depth, line=line, asked=stop)
    for cradle in cradles(solution):
        rib = part(plan, f"cradle-{cradle.label}-rib")
        seat = part(plan, f"cradle-{cradle.label}-seat")
        comb = part(plan, f"cradle-{cradle.label}-stop")
        lies = folded(rib, seat)
        over = {"a": b, "b": a}[cradle.side[0]]
        # The upper face at the hole, and at the front, above the base.
        at_te = float(lies.origin[2])
        upper = [at_te + 1.2 + x * math.tan(math.radians(over)) for x in (line, depth)]
        rim = [p for p, _ in segments_of(rib.outline)]
        rim += [lies.point((0.0, y))[[0, 2]] for y in _span_of(seat)]
        under = heights_over(rim, line - 13.0, line + 13.0)
        assert max(under) <= upper[0] + 1e-9
        top = comb.outline.bounds().top
        assert top <= (upper[1] - 0.8 if front else upper[0]) + 1e-9
        # And the stop holds: it reaches above the face that lies down.
        at_stop = lies.point((0.0, (depth if front else 0.0) / lies.along_y[0]))[2]
        assert top >= at_stop + 0.6 - 1e-9


def _span_of(seat: Piece) -> tuple[float, float]:
    box = seat.outline.bounds()
    return box.bottom, box.top


@pytest.mark.parametrize("asked", [{}, {"stop_at": "TE"}, {"holes": 1}])
@pytest.mark.parametrize("angles", [(5.7, 5.7), (9.0, 3.0)])
def test_ribs_stop_base_and_seat_go_together_with_the_fit_and_nothing_stands_proud(asked, angles):
    """A slot that is a tenth too tight splits; a tab that stands proud rocks the base."""
    _, plan = planned(skins(*angles), asked=asked)
    label = next(p.label for p in plan.pieces).removeprefix("CRADLE ")
    rib, comb = part(plan, f"cradle-{label}-rib"), part(plan, f"cradle-{label}-stop")
    base, seat = part(plan, f"cradle-{label}-base"), part(plan, f"cradle-{label}-seat")
    lies = folded(rib, seat)
    # Tabs of the rib, from its outline: all that lies below the feet.
    low = Polygon([p for p, _ in segments_of(rib.outline)]).intersection(_band(-9.0, -1e-6))
    tabs = sorted((g.bounds for g in low.geoms), key=lambda b: b[0])
    slots = sorted({(h.bounds().bottom, h.bounds().top) for h in base.inner})
    for (left, deep, right, _), (start, end) in zip(tabs, slots, strict=True):
        assert end - start == pytest.approx(right - left + 0.1)
        assert (start + end) / 2 == pytest.approx((left + right) / 2)
        assert -SHEET < deep < -SHEET + 0.5
    assert {round(h.bounds().width, 6) for h in base.inner} == {3.1}
    # Rib and stop: slots as wide as the other's sheet and the fit, together deeper than the lap.
    slot = _open_below(rib)
    assert slot[1] - slot[0] == pytest.approx(3.1)
    face = 0.0 if asked.get("stop_at") == "TE" else 16.0
    assert face in (pytest.approx(slot[0]), pytest.approx(slot[1]))
    notches = _open_above(comb)
    assert [round(b - a, 6) for a, b, _ in notches] == [3.1] * len(notches)
    assert all(depth <= slot[2] for _, _, depth in notches)
    # Both plates stand where the ribs stand.
    ribs = sorted({round(h.bounds().left + 1.55, 6) for h in base.inner})
    assert ribs == pytest.approx([a + 1.55 for a, _, _ in notches])
    assert comb.outline.bounds().width == base.outline.bounds().width
    # The seat, both its edges, stays off the stop.
    edges = [lies.point((0.0, y)) + k * SHEET * np.cross(lies.along_x, lies.along_y)
             for y in _span_of(seat) for k in (0, 1)]  # fmt: skip
    xs = [float(point[0]) for point in edges]
    gap = min(xs) if face == 0.0 else face - max(xs)
    assert gap == pytest.approx(0.2, abs=0.01)


def _band(low: float, high: float) -> Polygon:
    return Polygon([(-500, low), (500, low), (500, high), (-500, high)])


def _open_below(rib: Piece) -> tuple[float, float, float]:
    """Return the ends and the height of the gap in a rib's feet."""
    shape = Polygon([p for p, _ in segments_of(rib.outline)])
    runs = sorted(g.bounds[:3:2] for g in shape.intersection(_level(0.05)).geoms)
    left, right = runs[0][1], runs[1][0]
    middle = (left + right) / 2
    up = shape.intersection(LineString([(middle, -1.0), (middle, 500.0)]))
    return left, right, up.bounds[1]


def _open_above(comb: Piece) -> list[tuple[float, float, float]]:
    """Return ends and foot of each slot of a stop."""
    shape = Polygon([p for p, _ in segments_of(comb.outline)])
    runs = sorted(g.bounds[:3:2] for g in shape.intersection(_level(shape.bounds[3] - 0.05)).geoms)
    found = []
    for (_, left), (right, _) in pairwise(runs):
        middle = (left + right) / 2
        foot = shape.intersection(LineString([(middle, -1.0), (middle, 500.0)])).bounds[3]
        found.append((left, right, foot))
    return found


def _level(y: float) -> LineString:
    return LineString([(-500, y), (500, y)])


@pytest.mark.parametrize("angles", [(5.7, 5.7), (11.0, 2.0)])
def test_the_drill_goes_down_the_channel_at_each_hole(angles):
    """A pilot that meets the seat lifts the wedge."""
    solution, plan = planned(skins(*angles))
    holes = solution.job.holes
    for cradle in cradles(solution):
        rib = part(plan, f"cradle-{cradle.label}-rib")
        seat = part(plan, f"cradle-{cradle.label}-seat")
        lies = folded(rib, seat)
        body = Polygon([p for p, _ in segments_of(rib.outline)])
        top = max(p.y for p, _ in segments_of(rib.outline))
        path = LineString([(holes.line, top + 9.0), (holes.line, top - 10.0)]).buffer(
            holes.drill / 2, cap_style="flat"
        )
        assert not path.intersects(body)
        (slot,) = seat.inner
        box = slot.bounds()
        middle = seat.outline.bounds().width / 2
        for k in range(-2, 3):
            y = middle + 26.0 * k
            for depth in (0.0, SHEET):
                # Where the axis passes the seat's upper and lower face, in the seat's plane.
                across = (holes.line - depth * lies.normal[0]) / lies.along_y[0]
                assert Point(y, across).buffer(holes.drill / 2).within(
                    Polygon([(box.left, box.bottom), (box.right, box.bottom), (box.right, box.top),
                             (box.left, box.top)])
                )  # fmt: skip


# --- the set


def test_one_cradle_serves_both_faces_of_an_even_wedge():
    """Two alike are made twice and mixed up once."""
    solution, plan = planned(included(11.4))
    (cradle,) = cradles(solution)
    assert (cradle.side, cradle.label) == ("ab", "1")
    names = [piece.name.removeprefix("cradle-1-") for piece in plan.pieces]
    assert names == ["rib", "seat", "stop", "base"]
    assert "upper or lower" in dict(plan.tables[0].rows)["lies down"]


def test_a_face_that_is_the_chord_plane_needs_no_cradle():
    """It lies level on the bare table, and that is said."""
    _, plan = planned(skins(9.2, 0.0))
    assert {p.side for p in plan.pieces} == {"a"}
    assert "lower face down it lies level on the bare table." in plan.steps


def test_no_fewer_cradles_would_do():
    """Each one is an evening's work: held against all ways to part the row."""
    solution = solve(tapered(asked={"holes": 3, "error": math.radians(0.5)}))
    found = [cradle for cradle in cradles(solution) if "b" in cradle.side]
    allowed = 2 / 3 * math.radians(0.5)
    ranges = []
    for first, last in (stand for cradle in found for stand in cradle.stands):
        start = min(first, 36)  # the last stand is moved back, all of it under the wedge
        y = [solution.job.holes.positions[n - 1] for n in (start, max(last, start + 2))]
        places = np.linspace(y[0] - module.END, y[1] + module.END, 400).tolist()
        faces = solution.wedge.faces_at(places, 8.0)
        skin = np.arctan(faces.slope_b)
        spare = np.sqrt(allowed**2 - np.arctan(faces.slope_y_b) ** 2)
        ranges.append((float((skin - spare).max()), float((skin + spare).min())))
    best = [0] + [99] * len(ranges)
    for last in range(1, len(ranges) + 1):
        for first in range(last):
            run = ranges[first:last]
            if max(low for low, _ in run) <= min(high for _, high in run) + 1e-6:
                best[last] = min(best[last], best[first] + 1)
    assert len(found) == best[-1]


def test_holes_that_wait_are_not_promised():
    """A number on the cradle that is not drilled now would be drilled now."""
    row = row_of_holes(9, keep_out=frozenset({1, 9}))
    (one, other) = cradles(solve(job(skins(7.0, 3.0), row=row)))
    assert (one.stands[0][0], one.stands[-1][1]) == (2, 8)
    assert (other.side, one.side) == ("a", "b")


def test_unevenly_spaced_holes_are_served_too():
    """The channel runs under every hole, wherever a rib stands."""
    row = row_of_holes(positions=(15.0, 38.0, 71.0, 90.0, 127.0))
    _, plan = planned(included(11.4), row=row)
    (slot,) = part(plan, "cradle-1-seat").inner
    assert slot.bounds().width >= 112.0 + 2.5


def test_how_often_it_is_clamped_is_said():
    """64 holes, 5 at a time: 26. DERIVED."""
    _, plan = planned(included(11.4), count=64)
    assert plan.card == ("26 clampings",)
    assert "26 clampings, 5 holes at a time." in plan.steps


# --- how it is used


def test_the_simple_way_is_said_in_the_first_picture():
    """Who has a table that tilts needs no cradle. 100 mm at 5.7 deg: 9.93. DERIVED."""
    _, plan = planned(included(11.4))
    said = [m.shape.text for m in plan.pictures[0].marks if isinstance(m.shape, Text)]
    assert "or tilt the table 5.7°, forward side down" in said
    assert dict(plan.tables[0].rows)["which rises"] == "9.93 mm in 100 mm"
    uneven = [in_unit(step, "mm") for step in planned(skins(7.0, 3.0))[1].steps]
    assert any("3.00 deg with the lower face down, 7.00 deg with the upper" in s for s in uneven)


def test_the_wedge_is_pushed_to_its_stop_where_it_does_not_slide_there():
    """Dry aluminium holds on a slope of 0.2, 11.3 deg: common practice, no published source."""
    said = {
        a: " ".join(in_unit(s, "mm") for s in planned(included(2 * a), depth=24.0)[1].steps)
        for a in (5.7, 12.5)
    }
    assert "Push it to the stop" in said[5.7]
    assert "by itself" in said[12.5]
    assert "Push" not in said[12.5]
    at_te = planned(included(11.4), asked={"stop_at": "TE"})[1].steps
    assert any("A clamp pushes it aft" in in_unit(step, "mm") for step in at_te)


def test_what_hangs_over_lies_on_loose_seats_of_the_same_ribs():
    """A metre of 2.6 mm wedge that hangs free sags 84 mm and turns its seat. DERIVED."""
    solution, plan = planned(included(11.4), count=44)
    loose, base = part(plan, "cradle-1-loose-seat"), part(plan, "cradle-1-loose-base")
    hangs = 43 * 26.0 - 4 * 26.0
    assert loose.count == base.count
    assert hangs / (loose.count + 1) <= 250.0 < hangs / loose.count
    ribs = len(part(plan, "cradle-1-base").inner) // 2
    assert part(plan, "cradle-1-rib").count == ribs + 2 * loose.count
    # The same slope from the same ribs: their tabs go into both bases alike.
    feet = [{(h.bounds().bottom, h.bounds().top) for h in part(plan, f"cradle-1-{name}").inner}
            for name in ("base", "loose-base")]  # fmt: skip
    assert feet[0] == feet[1]
    assert len(planned(included(11.4), count=9)[1].pieces) == 4
    (check,) = (c for c in plan.checks if c.id == "cradle-support")
    assert check.status == "ok"
    wide = plan_cradle(solve(replace(solution.job, cradle=sections.Cradle(support=500.0))))
    (check,) = (c for c in wide.checks if c.id == "cradle-support")
    # Beam held at one end, q L^4 / (8 E I), by hand: 1.5 q L^4 / (E h^2).
    mean = 1.2 + 16.0 * math.tan(math.radians(5.7))
    sag = 1.5 * 2.7e-6 * 9.81 * 500.0**4 / (70_000 * mean**2)
    assert check.value == pytest.approx(sag)
    assert check.status == "warn"
    assert in_unit(check.act, "mm") == "Put a loose seat every 285 mm under the wedge."


def test_an_unknown_lean_is_not_called_level():
    """Taken as none in silence, it would be found on the part."""
    wedge = job(included(12.0), included(8.0, at=1000.0), count=30, rear_thickness=None,
                asked={"holes": 3})  # fmt: skip
    checks = plan_cradle(solve(wedge)).checks
    level = [c for c in checks if c.id.startswith("cradle-level")]
    assert level
    assert {c.status for c in level} == {"not checked"}
    assert all("wedge.rear_thickness" in in_unit(c.why, "mm") for c in level)


def test_without_the_wedges_depth_the_stop_stands_at_the_trailing_edge():
    """The stop would stand where the front face is not, and the hole beside its channel."""
    solution, plan = planned(included(11.4), depth=None)
    (cradle,) = cradles(solution)
    assert cradle.section.depth is None
    assert dict(plan.tables[0].rows)["stop"] == "at the TE; state wedge.depth for the front"


# --- refused


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"cut": Cut(sheet=1.0)}, "cut.sheet"),
        ({"cut": Cut(sheet=9.0)}, "cut.sheet"),
        ({"asked": {"height": 30.0}}, "cradle.height"),
        ({"line": 4.0}, "holes.line"),
        ({"depth": 12.0}, "holes.line"),
        ({"depth": 16.0, "rear_thickness": 0.0, "stations": skins(1.5, 1.5)}, "cradle.stop_at"),
        ({"stations": skins(1.0, 35.0), "asked": {"height": 90.0}}, "cradle"),
        ({"stations": bulging()}, "cradle"),
    ],
)
def test_what_could_not_be_used_is_refused_with_the_way_out(change, key):
    """Half a cradle is found out at the drill press."""
    stations = change.pop("stations", included(11.4))
    with pytest.raises(DoesNotFit) as caught:
        planned(stations, **change)
    assert caught.value.key == key
    assert str(caught.value.remedy)


def test_holes_are_needed_for_the_channel():
    """Without them nobody knows where the pilot goes."""
    with pytest.raises(DoesNotFit) as caught:
        plan_cradle(solve(a_job(included(11.4), cradle=sections.Cradle())))
    assert caught.value.key == "holes"


def test_the_number_of_holes_that_is_offered_works_and_one_more_does_not():
    """Somebody tries 19, then 18, then 17."""
    stations = (skins(0.0, 13.5), skins(0.0, 9.5, at=500.0))
    row = row_of_holes(line=12.0, positions=tuple(20.0 + 20.0 * n for n in range(24)))

    def refusal(holes: int) -> DoesNotFit | None:
        asked = {"holes": holes, "error": math.radians(0.8), "height": 70.0}
        try:
            cradles(solve(job(*stations, row=row, depth=25.0, asked=asked)))
        except DoesNotFit as trouble:
            return trouble
        return None

    first = refusal(20)
    assert first is not None
    assert first.key == "cradle.holes"
    offered = int(str(first.remedy).split("cradle.holes = ")[1].split()[0])
    keys = {holes: refusal(holes) for holes in range(1, 20)}
    assert offered == max(holes for holes, trouble in keys.items() if trouble is None)


def test_the_error_that_is_offered_works_and_less_does_not():
    """Where no number of holes helps, the error must be what is offered."""
    stations = (skins(0.0, 13.5), skins(0.0, 9.5, at=500.0))
    with pytest.raises(DoesNotFit) as caught:
        planned(*stations, depth=25.0, asked={"holes": 1, "error": math.radians(0.1)})
    assert caught.value.key == "cradle.error"
    said = str(caught.value.remedy)
    offered = float(said.split("cradle.error of ")[1].split()[0])
    for error, works in ((offered, True), (offered - 0.01, False)):
        asked = {"holes": 1, "error": math.radians(error), "height": 70.0}
        if works:
            planned(*stations, depth=25.0, asked=asked)
        else:
            with pytest.raises(DoesNotFit, match=r"leans|changes"):
                planned(*stations, depth=25.0, asked=asked)


# --- on the pieces


@pytest.mark.parametrize("asked", [{}, {"stop_at": "TE"}, {"holes": 1}])
def test_a_piece_says_little_and_all_of_it_on_the_piece(asked):
    """At most 12 words, corner letters not counted; what has no room on it is missed at the saw."""
    _, plan = planned(skins(7.0, 4.0), count=44, asked=asked)
    for piece in plan.pieces:
        texts = [m.shape for m in piece.marks if isinstance(m.shape, Text) and m.on.name != "CUT"]
        words = [w for t in texts if len(t.text) > 1 for w in t.text.split()]
        assert len(words) <= 12, piece.name
        assert piece.title.split()[0] == "CRADLE"
        assert not [text for text in piece.left_out if len(text) > 1], piece.name


def test_a_calliper_over_the_lettered_corners_finds_the_seat_angle():
    """Six lengths over four corners fix the angle: the law of cosines, twice."""
    _, plan = planned(skins(7.0, 4.0))
    for label, angle in (("b1", 4.0), ("a1", 7.0)):
        rib = part(plan, f"cradle-{label}-rib")
        d = {size.name: size.nominal for size in rib.dimensions if not size.is_bar}

        def corner(opposite: float, one: float, other: float) -> float:
            cos = (one**2 + other**2 - opposite**2) / (2 * one * other)
            return math.degrees(math.acos(cos))

        at_d = corner(d["A-C"], d["A-D"], d["C-D"])
        at_a = corner(d["B-D"], d["A-B"], d["A-D"])
        # A-B is level; the seat edge D-C turns away from it by what is missing to two squares.
        assert 180.0 - at_a - at_d == pytest.approx(angle, abs=1e-6)
        assert rib.number == f"{angle:.1f}°"


def test_the_job_asks_for_it():
    """A section in the job file is the only asking."""
    assert JIG.asked_for(solve(job(included(11.4))))
    assert not JIG.asked_for(solve(a_job(included(11.4), holes=row_of_holes(9))))
