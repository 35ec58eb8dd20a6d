"""The countersink of a solved job: sizes, both lands, their plus-minus, its tools, its setting."""

import math

import pytest
from samplejobs import in_unit, included, skins
from shopjobs import INCH, change, dash, holes, job, tapered, the_check, the_line, words_of

from jiggen.job.sections import Allow, Rivet
from jiggen.solution import band_of
from jiggen.solve import solve

#: 5.7 deg a side, hole line 8 mm forward of a rear edge that leaves 2.6 mm on the axis.
WORKED = {
    "rear_thickness": 2.6 - 16.0 * math.tan(math.radians(5.7)),
    "skin": (0.016 * INCH, 0.016 * INCH),
    "holes": holes(line=8.0),
}


def worked(**more):
    return job(dash(), included(11.4), **{**WORKED, **more})


def test_the_countersink_takes_the_dimple_of_its_own_skin():
    """Skins of two thicknesses make two dimples.

    Source: DERIVED, Dh + 2 t (1 - sin q) / cos q; inches .179, .016, 50 deg, .098: D .19065,
    depth .03887.
    """
    hole = solve(job(skin=(0.016 * INCH, 0.025 * INCH))).holes[0]
    a, b = hole.countersink_a, hole.countersink_b
    assert (a.diameter / INCH, a.depth / INCH) == pytest.approx((0.19065, 0.03887), abs=5e-6)
    assert b.depth / INCH == pytest.approx(0.0416, abs=5e-5)
    slope = math.tan(math.radians(5.0))
    assert a.sunk == pytest.approx(a.depth + a.diameter / 2 * slope)
    assert a.stop == pytest.approx(a.depth + 0.049 * INCH * slope)
    assert a.rim_high > a.diameter / 2 * slope > a.rim_low > 0.0
    assert hole.straight == pytest.approx(hole.thickness - a.depth - b.depth)
    assert hole.land_chord == pytest.approx(hole.thickness - a.sunk - b.sunk)


def test_both_lands_of_the_worked_example():
    """-3 in skin .016 in, h 2.6, 5.7 deg: chord 0.14, face 0.53. DERIVED, by hand.

    Which one is cut, the plans decide: who sees one alone does not know what the other would cost.
    """
    hole = solve(worked()).holes[0]
    assert (hole.land_chord, hole.land_face) == pytest.approx((0.14, 0.53), abs=0.005)
    assert hole.land == hole.land_chord
    assert hole.countersink_a.walls == pytest.approx((0.953, 1.035), abs=5e-4)
    face = solve(worked(sunk={"square_to": "face"})).holes[0]
    assert (face.land_chord, face.land_face) == (hole.land_chord, hole.land_face)
    assert face.land == face.land_face
    said = str(the_check("land", worked()).why)
    assert "0.14 mm square to the chord plane, the skin fully down" in said
    assert "0.53 mm square to the face" in said


def test_the_land_carries_its_plus_minus():
    """At 5.7 deg 0.15 is printed, twice the root of squares, more for the low side. DERIVED.

    Worked: 0.025, 0.25 (m + m), 2 x 0.05 k, 2 x 0.02 k, 2 x 0.013; k = 1 / (2 tan 50 deg).
    """
    m, k = math.tan(math.radians(5.7)), 1 / (2 * math.tan(math.radians(50)))
    parts = [0.025, 0.25 * 2 * m, 2 * 0.05 * k, 2 * 0.02 * k, 2 * 0.013]
    face = solve(worked(sunk={"square_to": "face"})).holes[0]
    assert face.land_doubt == pytest.approx(2 * math.hypot(*parts))
    assert face.land_doubt == pytest.approx(0.15, abs=0.005)
    chord = solve(worked()).holes[0]
    parts[2] += m * 0.05
    assert chord.land_doubt == pytest.approx(2 * math.hypot(*parts))
    tried = solve(worked(sunk={"tried": True})).holes[0]
    parts[2] = 0.0
    assert tried.land_doubt == pytest.approx(2 * math.hypot(*parts))
    assert f"plus or minus {chord.land_doubt:.2f} mm" in str(the_check("land", worked()).why)


def test_the_land_under_one_countersink_is_surer():
    """One stop and one cutter: of two countersinks the errors add up, of one there is one."""
    m, k = math.tan(math.radians(5.7)), 1 / (2 * math.tan(math.radians(50)))
    parts = [0.025, 0.25 * 2 * m, (k + m / 2) * 0.05, 0.02 * k, 0.013]
    hole = solve(change(worked(), rivet=dash(shop_head="bucked"))).holes[0]
    assert hole.land_doubt == pytest.approx(2 * math.hypot(*parts))


@pytest.mark.parametrize(
    ("over", "limit", "status"),
    [
        (0.02, None, "not checked"),
        (-0.02, None, "warn"),
        (-0.30, None, "warn"),
        (-0.40, None, "fail"),
        (0.02, 0.0, "ok"),
        (0.02, 0.2, "warn"),
        (0.02, 0.5, "fail"),
    ],
)
def test_a_land_is_called_by_what_is_sure_of_it(over, limit, status):
    """0.01 mm was called no knife edge, far inside what the readings themselves may be off by.

    `over` is how far the land lies above its own plus-minus; a limit counts from nothing.
    """
    base = solve(worked()).holes[0]
    more = base.land_doubt + over - base.land
    of = worked(rear_thickness=WORKED["rear_thickness"] + more)
    if limit is not None:
        limit += 0.001
        of = change(of, allow=Allow(land=limit))
    check = the_check("land", of)
    assert check.value == pytest.approx(base.land_doubt + over)
    assert (check.status, check.limit) == (status, limit)
    said = str(check.why)
    assert ("knife edge" in said) == (limit is None)
    assert "derived geometry: try it in scrap first" in said
    if limit is None:
        assert ("meet in a knife edge" in said) == (status == "fail")
        assert ("may be" in said) == (status == "warn")
    assert words_of(check) <= 10
    acts = band_of([check]).lines
    if status in ("warn", "fail"):
        assert acts == (check.act,)
        assert str(check.act).startswith("Ask your plans: ")
    else:
        assert check.act not in acts


def test_the_hole_with_least_land_is_named():
    """It is the one to try first in scrap."""
    solution = solve(tapered())
    least = min(solution.holes, key=lambda hole: hole.land)
    assert least.number == 35
    check = the_check("land", tapered())
    assert "at hole 35" in str(check.why)
    row = tapered().holes
    kept = tapered(holes=holes(line=row.line, positions=row.positions,
                               keep_out=frozenset({1, 2, 35})))  # fmt: skip
    assert "at hole 34" in str(the_check("land", kept).why)
    told = in_unit(the_line("land, least", solution).brief, "in")
    assert told == f"{least.land / INCH:.4f} ± {least.land_doubt / INCH:.4f} in"
    thin = solve(job(rear_thickness=0.7))
    assert in_unit(the_line("land, least", thin).brief, "mm").startswith("LOOK ")


def test_no_rivet_of_another_size_is_ever_proposed():
    """A -2 was proposed for a control part, below the 3/32 in that published rules set for it."""
    for number, rear in ((3, 0.2), (5, 1.6), (8, 1.0)):
        of = job(dash(number), rear_thickness=rear, holes=holes(drill=number / 32 * INCH + 0.1))
        solution = solve(of)
        assert the_check("land", of).status in ("fail", "warn")
        texts = [*(str(c.why) + str(c.act) for c in solution.checks),
                 *(str(line.said) + str(line.brief) for line in solution.riveting)]  # fmt: skip
        named = {f"-{n}" for n in (2, 3, 4, 5, 6, 8) if any(f"-{n} " in text for text in texts)}
        assert named <= {f"-{number}"}
        assert not any("smaller" in text for text in texts)
        assert "Ask your plans" in str(the_check("land", of).act)


def test_a_bucked_head_needs_one_countersink_at_each_hole():
    """Which side the heads lie on is not known: the land that is told must hold for both."""
    skin = (0.016 * INCH, 0.025 * INCH)
    for sheets, angles in ((skin, (8.0, 2.0)), (skin[::-1], (2.0, 8.0))):
        of = job(dash(shop_head="bucked"), skins(*angles), skin=sheets)
        hole = solve(of).holes[0]
        a, b = hole.countersink_a, hole.countersink_b
        assert abs(a.depth - b.depth) > 0.05
        assert hole.straight == pytest.approx(hole.thickness - max(a.depth, b.depth))
        assert hole.land_chord == pytest.approx(hole.thickness - max(a.sunk, b.sunk))
        deepest = max(max(a.walls), max(b.walls))
        assert hole.land_face == pytest.approx(hole.thickness - deepest)


def test_a_countersunk_skin_cuts_the_wedge_only_below_itself():
    """Its land is that of the cone that comes through, and no low side is let in."""
    skin = 0.5
    of = job(dash(skins="countersunk"), skin=(skin, 2.0))
    hole = solve(of).holes[0]
    deep = (0.179 - 0.098) * INCH / 2 / math.tan(math.radians(50))
    assert hole.countersink_a.depth == hole.countersink_a.sunk == pytest.approx(deep - skin)
    assert hole.countersink_b.depth == 0.0
    assert hole.straight == hole.land_chord == pytest.approx(hole.thickness - (deep - skin))
    assert "low side" not in str(the_check("land", of).why)
    assert "skin fully down at" not in [line.what for line in solve(of).riveting]


def test_where_the_skin_holds_the_whole_head_no_countersink_is_judged():
    """A warning about a countersink that nobody cuts sends a good wedge back."""
    of = job(dash(skins="countersunk"), included(4.0), skin=(1.1, 1.1), rear_thickness=0.2)
    check = the_check("land", of)
    assert (check.status, check.value) == ("ok", None)
    assert "the skins hold the whole head" in str(check.why)
    assert in_unit(the_line("countersink", solve(of)).brief, "mm") == "none"


def test_a_head_that_is_no_wider_than_the_hole_is_refused():
    """A slip of the unit would give a countersink of less than nothing."""
    for rivet in (Rivet(head=2.4), dash(skins="countersunk", head=2.4)):
        check = the_check("countersink", job(rivet, skin=(1.1, 1.1)))
        assert check.status == "fail"
        assert "rivet.head" in str(check.act)
        assert words_of(check) <= 10


def test_a_face_as_steep_as_the_cone_cannot_be_countersunk():
    """The cutter would never stop being in metal on the low side."""
    steep = job(dash(angle=math.radians(130)), skins(30.0, 2.0))
    check = the_check("countersink", steep)
    assert check.status == "fail"
    assert words_of(check) <= 10


@pytest.mark.parametrize(("number", "least"), [(3, 0.040), (4, 0.050), (5, 0.064), (6, 0.072)])
def test_a_skin_under_the_published_thickness_must_be_dimpled(number, least):
    """A countersink through a thin skin leaves a sharp hole and a head that pulls through.

    Source: US Army TM 9-2320-363-34-2 Table 4, READ.
    """
    for off, status in ((-0.001, "fail"), (0.001, "ok")):
        sheet = (least + off) * INCH
        of = job(dash(number, skins="countersunk"), skin=(sheet, sheet), rear_thickness=4.0)
        check = the_check("sheet-a", of)
        assert check.status == status
        assert check.limit == pytest.approx(least * INCH)
        asked = " ".join(str(line) for line in band_of([check]).lines)
        assert ("dimple" in asked.lower()) == (status == "fail")
        assert words_of(check) <= 10


def test_a_dimple_is_best_in_thin_sheet():
    """Source: dimple best up to .040 in, AC 65-15A ch. 5, READ-2nd."""
    for off, status in ((-0.001, "ok"), (0.001, "warn")):
        sheet = (0.040 + off) * INCH
        check = the_check("sheet-b", job(skin=(0.4, sheet), rear_thickness=4.0))
        assert (check.status, check.limit) == (status, pytest.approx(0.040 * INCH))


def test_a_size_that_the_table_lacks_goes_by_the_height_of_its_head():
    """Source: countersink if the sheet is thicker than the head, AC 65-15A ch. 5, READ-2nd."""
    metric = Rivet(size="3 mm", diameter=3.0, head=5.2, angle=math.radians(75),
                        skins="countersunk")  # fmt: skip
    check = the_check("sheet-b", job(metric, holes=holes(drill=3.1)))
    assert check.limit == pytest.approx(1.1 / math.tan(math.radians(37.5)))


# --- tools and setting


def test_a_cage_on_a_sloping_face_is_warned_of():
    """Its foot of R 13 stands off 1.30 at 5.7 deg, more than the whole depth. DERIVED."""
    check = the_check("cage", worked(sunk={"cage": 26.0}))
    assert (check.status, check.value) == ("warn", pytest.approx(1.30, abs=0.005))
    assert str(check.act) == "Use the quill stop: the cage stands off 1.30 mm."
    assert words_of(check) <= 10
    flat = job(dash(), skins(0.05, 0.05), rear_thickness=2.6, sunk={"cage": 26.0})
    assert the_check("cage", flat).status == "ok"
    idents = {c.id for c in solve(worked(sunk={"cage": 26.0, "square_to": "face"})).checks}
    assert "cage" not in idents


def test_a_pilot_that_stands_askew_binds():
    """Clearance .002 in: a pilot of 4 binds above 0.73 deg, at 5.7 one may be 0.51 long. DERIVED.

    That a pilot is .002 in smaller than its hole: READ.
    """
    asked = {"square_to": "face", "pilot": 4.0}
    check = the_check("pilot", worked(sunk=asked))
    assert (check.status, check.limit) == ("warn", pytest.approx(0.51, abs=0.005))
    assert "binds above 0.73 deg" in str(check.why)
    assert words_of(check) <= 10
    assert the_check("pilot", worked(sunk={**asked, "pilot": 0.5})).status == "ok"
    loose = {**asked, "clearance": 0.5}
    assert the_check("pilot", worked(sunk=loose)).status == "ok"
    assert "pilot" not in {c.id for c in solve(worked(sunk={"pilot": 4.0})).checks}


def test_the_stop_is_told_in_clicks_from_touch():
    """Stops are marked in .001 in: READ. Counted from where the cutter touches the hole's edge."""
    hole = solve(worked()).holes[0]
    one = hole.countersink_a
    line = the_line("stop from touch", solve(worked()))
    assert in_unit(line.brief, "mm") == f"{one.stop:.2f} mm"
    assert f"{round(one.stop / 0.0254)} clicks of .001 in" in str(line.said)
    down = the_line("skin fully down at", solve(worked()))
    low = one.stop + one.sunk - one.depth
    assert in_unit(down.brief, "mm") == f"{low:.2f} mm"
    assert f"{round(low / 0.0254)} clicks" in str(down.said)
    # Square to the face the cutter touches all round the hole at once.
    face = solve(worked(sunk={"square_to": "face"})).holes[0].countersink_a
    assert face.stop == pytest.approx(face.depth)


def test_the_loose_rivet_tells_when_to_stop():
    """In skin .016 in: 4.9 clicks; at 5.7 deg .0049 below, aft .0040 proud, forward .0138 below.

    DERIVED. A loose rivet is at every bench, a dimpled scrap is not.
    """
    line = the_line("loose rivet, below", solve(change(worked(), units="in")))
    assert in_unit(line.brief, "in") == "0.0049 in"
    said = in_unit(line.said, "in")
    assert "its forward edge 0.0138 in below, its aft edge 0.0040 in proud" in said
    assert "5 clicks after it lies flush" in said
    face = the_line("loose rivet, below", solve(worked(sunk={"square_to": "face"})))
    assert "edge" not in str(face.said)


def test_no_stop_is_told_where_no_land_is_kept():
    """A number in the table gets set on the stop."""
    line = the_line("stop from touch", solve(worked(rear_thickness=0.1)))
    assert in_unit(line.brief, "mm") == "no land"


def test_the_steeper_face_has_the_deeper_stop_and_each_side_is_told():
    """Side A's stop on side B would be wrong on both."""
    solution = solve(job(dash(), skins(8.0, 2.0)))
    a, b = solution.holes[0].countersink_a, solution.holes[0].countersink_b
    assert a.stop > b.stop
    assert a.depth == pytest.approx(b.depth)
    said = str(the_line("stop from touch", solution).said)
    assert said.startswith(f"upper {a.stop:.2f} mm, lower {b.stop:.2f} mm")
