"""The corner guide: put together in space from its flat plates, its play, its lettering."""

import dataclasses
import math
from itertools import pairwise

import numpy as np
import pytest
import readback
from folding import (
    CHORD_NORMAL,
    Leaf,
    RuledFace,
    Vector,
    crossing,
    face_normal,
    forward_on_face,
    off_drill_axis,
    unit,
)
from hypothesis import given, settings
from hypothesis import strategies as st
from jiggen.jigs.corner_guide import CornerLabels, build_corner_guide
from jiggen.jigs.corner_pieces import corner_checks, corner_pieces
from jiggen.jigs.corner_plates import CornerSizes, Standing
from samplejobs import a_job, bulging, included, offsets, row_of_holes, skins, thick
from shapely import affinity
from shapely.geometry import Point as GeometryPoint
from shapely.geometry import box
from shapely_pieces import badly_placed, polygon

from jiggen.drawing.affine import Affine
from jiggen.drawing.piece import Piece
from jiggen.drawing.piece import angle_between as edge_angle
from jiggen.drawing.shapes import Text
from jiggen.errors import DoesNotFit
from jiggen.geometry.finished import Reading, real_angle
from jiggen.jigs import build_pieces
from jiggen.job.sections import Allow, Corner, Cut
from jiggen.make import make_drawings
from jiggen.solve import solve

SIZES = CornerSizes(height=55, foot=70, fit=0.1, stock=3, relief=3, pin=12, chuck=36)
LABELS = CornerLabels(
    job="Test edge",
    title="Corner a1",
    side="upper",
    holes="holes 1-9",
    faces=("this face to hole 1", "this face to the last hole", "this face to the TE"),
    ends=("HOLE 1", "LAST HOLE"),
    extra=("for drill #40", "needs 65 mm of bit out of the chuck"),
)
DEGREES = st.floats(-4.0, 14.0)
RISES = st.floats(-0.05, 0.05)
BIT = 2.49


def sizes(**changes: float) -> CornerSizes:
    return dataclasses.replace(SIZES, **changes)


def plates(skin: float = 5.7, rise: float = 0.01, side: str = "a", **changes) -> dict[str, Piece]:
    """Return stop, cheek and cross plate of a guide for a skin angle in degrees."""
    made = build_corner_guide(
        "corner-a1",
        math.radians(skin),
        rise,
        changes.pop("bit", BIT),
        sizes(**changes),
        LABELS,
        pitch=26.0,
        mirrored=side == "b",
        side=side,
    )
    return {p.name.removeprefix("corner-a1-"): p for p in made}


class Assembled:
    """The plates put together on a skin, from their outlines and the skin's plane alone.

    The stop's base lies straight forward on the skin, and each plate's slot holds the other plate
    square. Two right angles and the two angles between base and slot are all that fixes where the
    line in which the plates cross stands; that it is the drill axis has to come out.
    """

    def __init__(self, made: dict[str, Piece], skin: float, rise: float, side: str) -> None:
        self.made, slope = made, math.tan(math.radians(skin))
        normal, ahead = face_normal(slope, rise, side), forward_on_face(slope, side)
        self.bases, walls = {}, {}
        for part, piece in made.items():
            base = piece.angles[0].base
            wall = max(self.slot_edges(piece), key=lambda e: e.chord)
            wall = wall if wall.end.y > wall.start.y else wall.reversed()
            walls[part] = math.radians(edge_angle(base, wall))
            self.bases[part] = base
        turn = 1.0 if side == "a" else -1.0
        corners = (walls["stop"], walls["cross"])
        self.axis: Vector = crossing(ahead, normal, corners, turn)
        between = math.acos(math.cos(corners[0]) * math.cos(corners[1]))
        aside = math.cos(between) * ahead + turn * math.sin(between) * np.cross(normal, ahead)
        self.leaves = {part: self.leaf(part, aside if part == "cross" else ahead) for part in made}

    @staticmethod
    def slot_edges(piece: Piece):
        """Return the two long walls of the slot: parallel edges that a sheet's width separates."""
        inside = piece.dimensions[[d.name for d in piece.dimensions].index("slot")]
        ends = (tuple(inside.start), tuple(inside.end))
        touching = [
            e for e in piece.outline.edges if tuple(e.start) in ends or tuple(e.end) in ends
        ]
        return [e for e in touching if abs(e.direction().y) > 0.8]

    def leaf(self, part: str, way: Vector) -> Leaf:
        """Return a plate with its base along `way` on the skin, in the plane of the slots' line."""
        base = self.bases[part].direction()
        along_x = way * (1.0 if base.x > 0 else -1.0)
        up = self.axis - float(self.axis @ along_x) * along_x
        return Leaf(np.zeros(3), along_x, unit(*up))


@settings(max_examples=120, deadline=None)
@given(skin=DEGREES, rise=RISES, side=st.sampled_from("ab"))
def test_put_together_on_the_skin_the_bits_corner_stands_along_the_drill_axis(skin, rise, side):
    """The bit is not sighted any more: where the corner leads it, it goes."""
    found = Assembled(plates(skin, rise, side), skin, rise, side)
    assert off_drill_axis(found.axis) < 0.001
    for part, piece in found.made.items():
        leaf = found.leaves[part]
        for check in piece.angles:
            assert off_drill_axis(leaf.direction(check.working.start, check.working.end)) < 0.001
        # The bit also lies along the cheek's face, and no face may lean over its length.
        assert abs(float(leaf.normal @ CHORD_NORMAL)) < math.radians(0.001)


@settings(max_examples=40, deadline=None)
@given(
    fronts=st.tuples(st.floats(2.2, 4.2), st.floats(0.8, 3.2)),
    thinner=st.floats(0.5, 1.0),
    side=st.sampled_from("ab"),
)
def test_for_a_hole_of_a_tapered_lopsided_wedge_it_stands_true_on_the_real_face(
    fronts, thinner, side
):
    """From the readings to the plates, and back onto the face that was read."""
    ends, rows = {"a": [], "b": []}, []
    for at, share in ((0.0, 1.0), (400.0, thinner)):
        for name, front in zip("ab", fronts, strict=True):
            ends[name].append((0.4 * share, front * share, 20.0))
        up = (fronts[0] * share, fronts[1] * share)
        rows.append(offsets(up, (0.4 * share, 0.4 * share), 20.0, at))
    solution = solve(a_job(*rows, holes=row_of_holes(1, positions=(150.0,)), depth=24.0))
    face = RuledFace(ends[side][0], ends[side][1], 400.0, side)
    slope, rise = face.slopes(8.0, 150.0)
    made = {p.name.rsplit("-")[-1]: p for p in corner_pieces(solution) if p.side in (side, "ab")}
    found = Assembled(made, math.degrees(math.atan(slope)), rise, side)
    # Plates that serve both sides are square, and off by what little lean there is.
    shared = made["stop"].side == "ab"
    assert off_drill_axis(found.axis) < (0.021 if shared else 0.001)


@settings(max_examples=40, deadline=None)
@given(along_rib=st.floats(2.0, 8.0), sweep=st.floats(0.0, 30.0), side=st.sampled_from("ab"))
def test_read_along_the_ribs_of_a_swept_edge_it_stands_true_square_to_the_edge(
    along_rib, sweep, side
):
    """The face is that through the edge and a rib, whatever the formula says."""
    job = a_job(
        skins(along_rib, along_rib / 2 + 1.0),
        holes=row_of_holes(3),
        rear_thickness=0.8,
        sweep=math.radians(sweep),
        depth=24.0,
    )
    read = along_rib if side == "a" else along_rib / 2 + 1.0
    turn = math.radians(sweep)
    rib = np.array([math.cos(turn), math.sin(turn), math.tan(math.radians(read))])
    normal = np.cross(rib, np.array([0.0, 1.0, 0.0]))
    slope = float(-normal[0] / normal[2])
    made = {p.name.rsplit("-")[-1]: p for p in corner_pieces(solve(job)) if p.side in (side, "ab")}
    found = Assembled(made, math.degrees(math.atan(slope)), 0.0, side)
    assert off_drill_axis(found.axis) < 0.001


def plumb(piece: Piece, degrees: float):
    """Return a plate's outline with the drill axis upright and forward or the last hole right."""
    outline = polygon(piece.outline)
    if piece.angles[0].base.direction().x < 0:
        outline = affinity.scale(outline, xfact=-1, origin=(0, 0))
    return affinity.rotate(outline, 90.0 - degrees, origin=(0, 0))


def lowest_over_skin(shape, slope: float, across: float, sheet: tuple[float, float]) -> float:
    """Return how high a plate that is `sheet` wide stands over the skin at its nearest point."""
    return min(v - slope * u - across * w for u, v in shape.exterior.coords[:-1] for w in sheet)


@settings(max_examples=60, deadline=None)
@given(
    skin=DEGREES,
    rise=RISES,
    side=st.sampled_from("ab"),
    stock=st.floats(1.5, 4.5),
    fit=st.floats(0.0, 0.3),
)
def test_slots_meet_and_every_base_reaches_the_skin(skin, rise, side, stock, fit):
    """Slots that meet too soon hold a base off the skin, and the guide rocks on the others."""
    made = plates(skin, rise, side, stock=stock, fit=fit)
    slope, r = math.tan(math.radians(skin)), BIT / 2
    stop, cross = (plumb(made[p], made[p].angles[0].nominal) for p in ("stop", "cross"))
    # Let the stop down until it touches, cheek and all, anywhere along the wide base of the two.
    stop = affinity.translate(
        stop, yoff=-lowest_over_skin(stop, slope, rise, (r - stock, r + stock))
    )
    slot_x, roof = slot_of(stop, from_below=True)
    # The cross plate stands in the middle of that slot, with its own slot over both plates.
    slot_y, _ = slot_of(cross, from_below=False)
    cross = affinity.translate(cross, xoff=r - slot_y)
    around = (slot_x - stock / 2, slot_x + stock / 2)
    cross = affinity.translate(cross, yoff=-lowest_over_skin(cross, rise, slope, around))
    _, floor = slot_of(cross, from_below=False)
    assert roof - floor == pytest.approx(fit, abs=1e-6)
    # Depth and depth make up the height at the crossing, and what the fit leaves free.
    tops = [box_top(shape, at) for shape, at in ((stop, slot_x), (cross, r - 2 * stock))]
    assert tops[0] == pytest.approx(tops[1], abs=1e-6)


def slot_of(shape, *, from_below: bool) -> tuple[float, float]:
    """Return middle and inner end of the slot: the level edge that lies inside the plate."""
    points = list(shape.exterior.coords)
    level = [
        ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        for p, q in pairwise(points)
        if abs(p[1] - q[1]) < 1e-9 and abs(p[0] - q[0]) > 1.0
    ]
    low, high = shape.bounds[1], shape.bounds[3]
    inner = [
        (x, y)
        for x, y in level
        if low + 4.0 < y < high - 15.0
        and shape.contains(GeometryPoint(x, y + 1e-3 * (1 if from_below else -1)))
    ]
    assert len(inner) == 1
    return inner[0]


def box_top(shape, x: float) -> float:
    """Return the height of a plate's upper edge at x."""
    low, high = shape.bounds[1] - 1, shape.bounds[3] + 1
    return shape.intersection(box(x - 1e-7, low, x + 1e-7, high)).bounds[3]


@pytest.mark.parametrize("stock", [1.0, 3.0])
@pytest.mark.parametrize("bit", [1.6, 2.49, 6.5])
def test_the_bit_touches_stop_and_cheek_and_neither_is_in_its_way(bit, stock):
    """Seen along the axis: a round that touches both, also where it is thicker than the stop."""
    r, standing = bit / 2, Standing(0.1, 0.0, bit, sizes(stock=stock))
    stop = box(standing.edge, r - stock, 60.0, r)
    cheek = box(standing.tail, r, 60.0, r + stock)
    axis = GeometryPoint(0.0, 0.0)
    assert stop.distance(axis) == pytest.approx(r)
    assert cheek.distance(axis) == pytest.approx(r)
    assert cheek.bounds[0] < -r


@pytest.mark.parametrize("side", ["a", "b"])
def test_stop_and_cheek_lie_on_one_another_with_bases_and_slots_flush(side):
    """They are glued face to face: what does not agree would be glued in."""
    made = plates(side=side)
    stop, cheek = (plumb(made[p], made[p].angles[0].nominal) for p in ("stop", "cheek"))
    # Only the relieved corners differ, and the cheek's tail behind the bit.
    assert stop.difference(cheek.buffer(1e-6)).area < SIZES.relief**2
    tail = cheek.difference(stop.buffer(1e-6))
    assert tail.bounds[2] - tail.bounds[0] < 2 * BIT + 3.0 + SIZES.relief
    assert slot_of(stop, from_below=True) == pytest.approx(slot_of(cheek, from_below=True))


def test_lettered_faces_look_outward_and_side_b_is_the_mirror_image():
    """Turned over, a plate of a tapered wedge leans the bit the wrong way by twice its lean."""
    for part, forward_right in (("stop", True), ("cheek", False), ("cross", False)):
        a, b = plates()[part], plates(side="b")[part]
        assert (a.angles[0].base.direction().x > 0) == forward_right
        mirrored = polygon(a.outline.moved(Affine.mirror_x()))
        assert mirrored.symmetric_difference(polygon(b.outline)).area < 1e-9
        assert a.outline.area > 0
        assert b.outline.area > 0
        assert mirrored.symmetric_difference(polygon(a.outline)).area > 60.0


@pytest.mark.parametrize("side", ["a", "b"])
def test_the_high_corner_points_forward_and_toward_the_last_hole(side):
    """Which way round, without reading."""
    for piece in plates(side=side).values():
        check = piece.angles[0]
        up, base = check.working.direction(), check.base
        peak = max((e.start for e in piece.outline.edges), key=lambda p: p.x * up.x + p.y * up.y)
        assert math.dist(peak, base.end) < math.dist(peak, base.start)


def largest_tilt(thick: float, slot: float, held: float) -> float:
    """Return by trial how far a sheet may turn in a slot that holds a length of it, radians."""
    free = box(-slot / 2, -held / 2, slot / 2, held / 2).buffer(1e-9)
    window = box(-500, -held / 2, 500, held / 2)
    low, high = 0.0, 0.3
    for _ in range(50):
        middle = (low + high) / 2
        sheet = affinity.rotate(box(-thick / 2, -200, thick / 2, 200), math.degrees(middle))
        if free.contains(sheet.intersection(window)):
            low = middle
        else:
            high = middle
    return low


@pytest.mark.parametrize("fit", [0.05, 0.1, 0.25])
@pytest.mark.parametrize(("skin", "rise"), [(5.7, 0.01), (0.0, 0.0), (9.0, -0.02)])
def test_the_play_is_what_a_sheet_can_turn_in_its_slot(skin, rise, fit):
    """A play that is told too small is believed."""
    standing = Standing(math.radians(skin), rise, BIT, sizes(fit=fit))
    play = standing.play()
    made = plates(skin, rise, fit=fit)
    stop = plumb(made["stop"], made["stop"].angles[0].nominal)
    slot_x, roof = slot_of(stop, from_below=True)
    held = box_top(stop, slot_x) - roof
    assert standing.engaged == pytest.approx(held, abs=1e-6)
    assert play.spanwise == pytest.approx(largest_tilt(6.0, 6.0 + fit, held), rel=0.02)
    assert play.askew == pytest.approx(largest_tilt(3.0, 3.0 + fit, 6.0), rel=0.06)
    # Askew by that much the stop's base lies along another line of the skin, and tilts.
    slope, worst = math.tan(math.radians(skin)), 0.0
    for turn in (play.askew, -play.askew):
        flat = np.array([math.cos(turn), math.sin(turn), 0.0])
        base = unit(*(flat + np.array([0, 0, slope * flat[0] + rise * flat[1]])))
        lean = math.atan2(float(base[2]), math.hypot(base[0], base[1])) - math.radians(skin)
        worst = max(worst, abs(lean))
    assert play.chordwise == pytest.approx(worst, abs=1e-12)
    assert play.both == pytest.approx(math.sqrt(worst**2 + play.spanwise**2))


def all_sorts() -> list[Piece]:
    long = CornerLabels(
        job="A rather long name of a job that a tidy builder might write down",
        title="Corner 12",
        side="inboard upper + inboard lower",
        holes="holes 101-180 / 99-181",
        faces=(
            "on inboard upper, this face to hole 1",
            "on inboard upper, this face to the last hole",
            "this face to the TE; stop to the word STOP",
        ),
        ends=("STOP", "CHEEK"),
        extra=LABELS.extra,
    )
    found = [p for a in (-2.0, 0.0, 5.7, 12.0) for s in "ab" for p in plates(a, 0.02, s).values()]
    found += plates(3.0, -0.04, bit=6.5, stock=1.5).values()
    found += build_corner_guide("corner-12", 0.1, 0.0, 3.3, sizes(foot=76), long, pitch=None)
    return found


@pytest.mark.parametrize("piece", all_sorts(), ids=lambda p: f"{p.name} {p.angles[0].nominal:.1f}")
def test_every_label_lies_on_the_plate_and_on_nothing_else(piece):
    """Lettering across a cut line is cut away; lettering across lettering is not read."""
    assert badly_placed(piece) == []
    body = polygon(piece.outline)
    bands = [polygon(m.shape) for m in piece.marks if m.paper_only]
    assert len(bands) == 2 + (piece.name.endswith("cross"))
    for band in bands:
        assert body.intersection(band).area < 1e-9
        assert body.distance(band) < 1e-9


def said(piece: Piece) -> str:
    return " ".join(m.shape.text for m in piece.marks if isinstance(m.shape, Text))


def test_plates_for_both_sides_say_which_way_they_look_on_each():
    """On the second skin the guide is turned round, and the stop's face with it."""
    straight = solve(a_job(included(11.0), holes=row_of_holes(9), rear_thickness=0.8))
    stop, cheek, cross = (said(p) for p in corner_pieces(straight))
    assert "on upper: this face to hole 1 on lower: to the last hole" in stop
    assert "on upper: this face to the last hole on lower: to hole 1" in cheek
    assert "this face to the TE, the stop on the side of its arrow" in cross
    assert "edge to base 90.00°" in cross
    assert "slot to base 90.00°" in cross


def test_each_plate_says_what_it_is_and_which_way_it_looks():
    """Six plates of two guides lie on one bench."""
    made = plates()
    for part, words in {
        "stop": ("84.30°", "STOP", "FORWARD", "TE", "to hole 1", "bit here", "for drill #40"),
        "cheek": ("84.30°", "CHEEK", "FORWARD", "TE", "to the last hole", "glue its back"),
        "cross": ("89.43°", "CROSS PLATE", "HOLE 1", "LAST HOLE", "0.15°"),
    }.items():
        for word in (
            *words,
            "Corner a1",
            "upper",
            "holes 1-9",
            "Test edge",
            "30 mm" if part == "cross" else "40 mm",
        ):
            assert word in said(made[part]), (part, word)


def test_check_edges_and_sizes_are_those_of_the_outline():
    """`verify` judges the plates by these numbers."""
    for piece in (*plates().values(), *plates(8.0, -0.03, "b").values()):
        for check in piece.angles:
            assert edge_angle(check.base, check.working) == pytest.approx(check.nominal, abs=1e-9)
        rim = polygon(piece.outline).exterior
        for size in piece.dimensions:
            assert math.dist(size.start, size.end) == pytest.approx(size.nominal, abs=1e-9)
            if not size.is_bar:
                assert rim.distance(GeometryPoint(size.start)) < 1e-9
                assert rim.distance(GeometryPoint(size.end)) < 1e-9


def read_back(piece: Piece, check, off: dict[str, float]):
    """Return a check angle from its sizes as a calliper would read them, some of them off."""
    readings = [
        Reading(
            name=size.name,
            start=tuple(size.start),
            end=tuple(size.end),
            measured=size.nominal + off.get(size.name, 0.0),
            standard=0.02,
        )
        for size in piece.dimensions
        if not size.is_bar
    ]
    edges = [(tuple(e.start), tuple(e.end)) for e in (check.base, check.working)]
    return real_angle(*edges, readings)


@pytest.mark.parametrize("part", ["stop", "cheek", "cross"])
def test_a_calliper_over_the_plate_fixes_every_check_angle(part):
    """Else `verify` could only shrug at a plate that is cut."""
    piece = plates()[part]
    for check in piece.angles:
        found = read_back(piece, check, {})
        assert found.determined
        assert math.degrees(found.error) == pytest.approx(0.0, abs=1e-6)


def test_a_slot_that_is_cut_askew_is_found_by_measuring_it_from_the_end():
    """The slot is what holds the bit true along the span, and no protractor goes into it."""
    piece = plates()["cross"]
    lean, slot = piece.angles
    # The mouth of the slot lies 0.3 mm further from the end than it should.
    d, e, a = (
        np.array(p) for p in (piece.angles[0].working.end, slot.working.end, lean.base.start)
    )
    shifted = e + 0.3 * (e - d) / np.linalg.norm(e - d)
    off = {
        "D-E": 0.3,
        "A-E": float(np.linalg.norm(shifted - a) - np.linalg.norm(e - a)),
    }
    assert abs(math.degrees(read_back(piece, lean, off).error)) < 0.05
    turned = math.degrees(math.atan2(0.3, slot.working.chord))
    assert abs(math.degrees(read_back(piece, slot, off).error)) == pytest.approx(turned, rel=0.1)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"foot": 36.0}, "corner.foot"),
        ({"foot": 50.0}, "corner.foot"),
        ({"chuck": 110.0}, "corner.foot"),
        ({"height": 32.0}, "corner.height"),
        ({"stock": 18.0, "foot": 120.0}, "guide.pin"),
    ],
)
def test_sizes_that_leave_no_corner_guide_are_refused_with_the_way_out(change, key):
    """Never a drawing that looks usable and is not."""
    with pytest.raises(DoesNotFit) as caught:
        plates(**change)
    assert caught.value.key == key
    assert str(caught.value.remedy)
    if key == "corner.foot":
        long = float(str(caught.value.remedy).split()[0])
        assert len(plates(**{**change, "foot": long})) == 3


def test_a_steep_skin_is_refused():
    """At 25 deg no slot is left."""
    with pytest.raises(DoesNotFit, match="no room for its slots"):
        plates(25.0)


def tapered(thin_front: float = 3.1, thin_rear: float = 0.4, **more):
    """Return a wedge that thins toward its end, and leans there by 0.04 deg and more."""
    return solve(
        a_job(
            thick(4.2, 0.8, 16.0),
            thick(thin_front, thin_rear, 14.0, at=400.0),
            holes=row_of_holes(15),
            skin=(0.5, 0.5),
            allow=Allow(drift=0.1),
            **more,
        )
    )


def test_twins_that_lean_along_the_span_are_made_once_for_each_side():
    """On the far side a joined guide would lean the other way."""
    names = [p.name for p in corner_pieces(tapered())]
    assert names == [f"corner-{s}1-{p}" for s in "ab" for p in ("stop", "cheek", "cross")]
    straight = solve(a_job(included(11.0), holes=row_of_holes(9), rear_thickness=0.8))
    pieces = corner_pieces(straight)
    assert [p.name for p in pieces] == [f"corner-1-{p}" for p in ("stop", "cheek", "cross")]
    assert {p.side for p in pieces} == {"ab"}
    assert pieces[2].angles[0].nominal == 90.0


def test_a_lean_that_no_file_takes_off_does_not_call_for_a_second_set():
    """Six plates with the same figures are three plates, and three to be mixed up."""
    slight = tapered(thin_front=3.4, thin_rear=0.7)
    leans = [abs(math.degrees(h.angles.slope_y_a)) for h in slight.holes]
    assert 0.001 < max(leans) < 0.02
    pieces = corner_pieces(slight)
    assert [p.name for p in pieces] == [f"corner-1-{p}" for p in ("stop", "cheek", "cross")]
    assert pieces[2].angles[0].nominal == 90.0
    # The lean that is not cut is taken from what the cutting may be off.
    forward = pieces[0].angles[0].nominal
    left = [
        math.degrees(math.atan2(0.1, h.thickness))
        - math.hypot(90.0 - forward - math.degrees(h.angles.skin("a")), lean)
        for h, lean in zip(slight.holes, leans, strict=True)
        if h.drill_now
    ]
    assert pieces[0].allowed_angle == pytest.approx(min(left), abs=1e-6)


def test_the_forward_corner_stands_above_the_aft_one_on_the_skin():
    """Told by its high corner a plate with two of them goes on the wrong way round."""
    for skin in (-8.0, 0.0, 5.7, 12.0):
        made = plates(skin)
        for part in ("stop", "cheek"):
            aft = made[part].angles[0].working.end.y
            top = max(made[part].outline.edges, key=lambda e: e.start.y).start
            assert top.y >= aft + 4.0 - 1e-9, (skin, part)
            base = made[part].angles[0].base
            assert math.dist(top, base.end) < math.dist(top, base.start)


def test_the_cross_plate_has_the_middle_lean_of_its_holes():
    """The plates' angles are the job's, not a guess."""
    solution = tapered()
    cross = corner_pieces(solution)[2]
    leans = [math.degrees(h.angles.lean_a) for h in solution.holes]
    assert min(leans) < max(leans)
    assert cross.angles[0].nominal == pytest.approx((min(leans) + max(leans)) / 2, abs=1e-9)


def test_loose_slots_are_warned_of_and_the_remedy_really_does():
    """A number that is recommended must be enough."""
    allow = Allow(drift=0.02)
    job = a_job(skins(6.5, 3.0), holes=row_of_holes(9), rear_thickness=0.8, allow=allow)
    loose = dataclasses.replace(job, corner=Corner(fit=0.4))
    checks = corner_checks(solve(loose))
    assert [c.status for c in checks] == ["warn", "warn"]
    assert all("would do" in str(c.why) for c in checks)
    height, fit = (
        float(str(checks[0].why).split(f"corner.{key} = ")[1].split(" mm")[0])
        for key in ("height", "fit")
    )
    for good in (Corner(fit=0.4, height=height), Corner(fit=fit)):
        first = corner_checks(solve(dataclasses.replace(job, corner=good)))[0]
        assert first.status == "ok", good
        assert first.value <= first.limit
    assert corner_checks(solve(job)) == ()


def test_curved_skins_and_jobs_without_holes_or_rear_are_refused():
    """Three straight bases rock on a curve, and a bit that is not known touches nothing."""
    round_skin = solve(a_job(bulging(), holes=row_of_holes(5), corner=Corner()))
    with pytest.raises(DoesNotFit, match="rock on a curved skin"):
        corner_pieces(round_skin)
    assert corner_checks(round_skin) == ()
    with pytest.raises(DoesNotFit) as caught:
        corner_pieces(solve(a_job(included(11.0))))
    assert caught.value.key == "holes"
    unknown = a_job(included(11.0), included(9.0, at=500.0), holes=row_of_holes(5))
    with pytest.raises(DoesNotFit, match="lean") as caught:
        corner_pieces(solve(unknown))
    assert caught.value.key == "wedge.rear_thickness"
    with_section = dataclasses.replace(unknown, corner=Corner())
    assert corner_checks(solve(with_section)) == ()


def test_a_job_asks_for_it_by_its_section_or_by_its_name():
    """Nothing new is drawn unless it is asked for."""
    solution = tapered()
    assert "corner" not in {p.kind for p in build_pieces(solution)}
    assert len(build_pieces(solution, ("corner-a1",))) == 3
    assert [p.name for p in build_pieces(solution, ("corner-b1-cross",))] == ["corner-b1-cross"]
    asked = tapered(corner=Corner())
    assert [p.kind for p in build_pieces(asked)].count("corner") == 6


def test_cut_files_read_back_have_the_plates_outlines_and_angles():
    """What is cut is what was worked out."""
    solution = tapered(corner=Corner(), cut=Cut(kerf=None))
    made = make_drawings(solution, only=("corner-a1",), formats=("svg", "dxf"))
    assert any(c.name.startswith("slot play, corner guide a1") for c in made.checks)
    assert len(made.pieces) == 3
    for piece in made.pieces:
        wanted = readback.model_walk(piece.outline)
        for read, ending in ((readback.read_svg, "svg"), (readback.read_dxf, "dxf")):
            (walk,) = read(made.files[f"pieces/{piece.name}.{ending}"]).values()
            low = [np.min(points, axis=0) for points in (walk, wanted)]
            there = [(x + low[0][0] - low[1][0], y + low[0][1] - low[1][1]) for x, y in wanted]
            assert readback.worst_distance(there, walk) < readback.MICROMETRE
