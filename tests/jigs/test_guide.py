"""The angle guide: its corner read back from the outline, its refusals, its lettering."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jiggen.jigs.corner import GuideSizes
from jiggen.jigs.foot import FOOT_WIDTH, FOOT_WIDTH_MIN, build_foot, foot_width
from jiggen.jigs.guide_lettering import GuideLabels
from shapely.geometry import LineString
from shapely.geometry import Point as GeometryPoint
from shapely_pieces import check_marks, polygon

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.piece import Piece, angle_between
from jiggen.drawing.shapes import Circle, Mark, Path, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.guide import build_guide

SIZES = GuideSizes(foot=84, edge=58, height=84, pin=12, chuck=36, relief=3, stock=3)
LABELS = GuideLabels(
    job="Test edge",
    title="Guide a1",
    side="upper",
    holes="holes 1-9",
    face="lettered face toward hole 1",
    extra=("bit out of the chuck 70 mm", "a sliver up to 0.5 mm passes"),
)
ANGLES = st.floats(72.0, 89.9)


def guide(angle: float = 84.7, **more: object) -> Piece:
    return build_guide("guide-a1", angle, 2.49, SIZES, LABELS, pitch=26.0, **more)


def corner_from_outline(piece: Piece, forward_right: bool) -> tuple[float, float]:
    """Return forward and aft corner in degrees from the outline alone.

    The base is what lies at height 0; the working edges are the longest edges on either side.
    """
    long = sorted(
        (e for e in piece.outline.edges if e.bulge == 0 and e.start.y != e.end.y),
        key=lambda e: -e.chord,
    )[:2]
    ups = [e if e.start.y < e.end.y else e.reversed() for e in long]
    left, right = sorted(ups, key=lambda e: e.start.x)
    lean = [math.degrees(math.atan2(e.end.y - e.start.y, e.end.x - e.start.x)) for e in ups]
    assert lean[0] == pytest.approx(lean[1], abs=1e-9)
    first = math.degrees(math.atan2(left.end.y - left.start.y, left.end.x - left.start.x))
    second = 180 - math.degrees(
        math.atan2(right.end.y - right.start.y, right.end.x - right.start.x)
    )
    return (first, second) if forward_right else (second, first)


@settings(max_examples=150, deadline=None)
@given(angle=ANGLES, mirrored=st.booleans())
def test_the_corner_read_back_from_the_outline_is_the_angle_asked_for(angle, mirrored):
    """A corner that is off by half a degree puts every hole beside its mate."""
    try:
        piece = guide(angle, mirrored=mirrored)
    except DoesNotFit as trouble:
        # A slanted guide has less room for its name; the remedy is a longer foot.
        refused = (trouble.key, angle < 78.0)
    else:
        refused = None
    if refused is not None:
        assert refused == ("guide.foot", True)
        return
    forward, aft = corner_from_outline(piece, forward_right=not mirrored)
    assert forward == pytest.approx(angle, abs=1e-9)
    assert aft == pytest.approx(180.0 - angle, abs=1e-9)


@given(angle=st.floats(80.0, 89.9), mirrored=st.booleans())
@settings(max_examples=60, deadline=None)
def test_the_check_edges_say_the_angle_that_they_have(angle, mirrored):
    """The figure on the piece and the edges that are judged must be one thing."""
    for check in guide(angle, mirrored=mirrored).angles:
        assert angle_between(check.base, check.working) == pytest.approx(check.nominal, abs=1e-9)


def test_a_guide_of_side_b_is_the_mirror_image_of_side_a():
    """Side B's guide cut as side A's would lean the drill the wrong way by twice the angle."""
    a, b = guide(), guide(mirrored=True)
    assert polygon(b.outline).symmetric_difference(
        polygon(a.outline.moved(Affine.mirror_x()))
    ).area == pytest.approx(0.0, abs=1e-9)
    assert a.outline.area == pytest.approx(b.outline.area)
    assert b.outline.area > 0


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_high_corner_points_forward(mirrored):
    """At 1.5 deg a side the two edges look alike: the outline has to tell them apart."""
    piece = guide(88.5, mirrored=mirrored)
    points = [e.start for e in piece.outline.edges]
    highest = max(points, key=lambda p: p.y)
    box = piece.outline.bounds()
    middle = (box.left + box.right) / 2
    assert (highest.x > middle) == (not mirrored)
    flipped = polygon(piece.outline)
    turned = polygon(Path.closed([(2 * middle - p.x, p.y) for p in reversed(points)]))
    assert flipped.symmetric_difference(turned).area > 60.0


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_arrows_point_the_way_the_piece_goes(mirrored):
    """FORWARD on the wrong half would be believed."""
    piece = guide(mirrored=mirrored)
    where = {m.shape.text: m.shape.bounds() for m in piece.marks if isinstance(m.shape, Text)}
    assert (where["FORWARD"].left > where["TE"].right) == (not mirrored)
    forward_edge, aft_edge = piece.angles[0].working, piece.angles[1].working
    assert (forward_edge.start.x < aft_edge.start.x) == (not mirrored)


def all_sorts() -> list[Piece]:
    long = GuideLabels(
        job="A rather long name of a job that a tidy builder might write down, spare 2",
        title="Guide 12",
        side="inboard upper + inboard lower",
        holes="holes 101-180 / 99-181",
        face="fits both sides: inboard lower, turn it over",
        extra=LABELS.extra,
    )
    pieces = [guide(a, mirrored=m) for a in (80.0, 84.7, 88.5) for m in (False, True)]
    pieces += [guide(84.0 + m, mirrored=bool(m), feet=(5.0, 60.0)) for m in (0, 1)]
    pieces += [guide(83.0, feet=(5.0, 50.0))]
    pieces += [build_guide("guide-12", a, 6.5, SIZES, long, pitch=26.0) for a in (82.3, 86.0)]
    pieces.append(build_foot("foot", 2.49, SIZES, long.job, pitch=26.0))
    return pieces


@pytest.mark.parametrize("piece", all_sorts(), ids=lambda p: f"{p.name} {p.angles[:1]}"[:40])
def test_no_mark_leaves_the_piece_or_crosses_another(piece):
    """Lettering across a cut line is cut away; lettering across lettering is not read."""
    check_marks(piece)


@pytest.mark.parametrize("piece", all_sorts(), ids=lambda p: f"{p.name} {p.angles[:1]}"[:40])
def test_witness_bands_lie_in_the_waste_hard_against_the_line(piece):
    """A band inside the piece would ask for a cut that makes the corner wrong."""
    body = polygon(piece.outline)
    bands = [polygon(m.shape) for m in piece.marks if m.paper_only]
    assert len(bands) == (0 if piece.kind == "foot" else 3 if len(piece.angles) == 2 else 2)
    for band in bands:
        assert body.intersection(band).area < 1e-9
        assert body.distance(band) < 1e-9


def test_every_line_of_the_name_block_is_on_the_piece():
    """A piece found in a drawer must say what it is."""
    said = " ".join(m.shape.text for m in guide().marks if isinstance(m.shape, Text))
    for word in (
        "84.70°",
        "95.30°",
        "Guide a1",
        "upper",
        "holes 1-9",
        "Test edge",
        "FORWARD",
        "TE",
    ):
        assert word in said
    assert "50 mm" in said
    assert "2 in" in said


def test_bars_measure_what_they_claim():
    """A bar that is off by a tick would condemn a true print."""
    piece = guide()
    bars = [d for d in piece.dimensions if d.is_bar]
    assert {d.name for d in bars} == {
        "bar-x-50-mm",
        "bar-x-2-in",
        "bar-y-50-mm",
        "bar-y-2-in",
    }
    for bar in bars:
        assert math.dist(bar.start, bar.end) == pytest.approx(bar.nominal, abs=1e-9)
        assert bar.nominal == pytest.approx(50.0 if "mm" in bar.name else 50.8)


def test_check_dimensions_are_the_distances_between_their_corners():
    """The table on the cover and the piece must agree."""
    for piece in (guide(), guide(mirrored=True), guide(feet=(5.0, 60.0))):
        corners = {tuple(round(c, 9) for c in e.start) for e in piece.outline.edges}
        sizes = [d for d in piece.dimensions if not d.is_bar]
        assert len(sizes) == (9 if len(piece.angles) == 2 else 5)
        for size in sizes:
            assert math.dist(size.start, size.end) == pytest.approx(size.nominal, abs=1e-9)
            assert tuple(round(c, 9) for c in size.start) in corners
            assert tuple(round(c, 9) for c in size.end) in corners


def test_both_check_edges_are_long_enough_to_trust():
    """Relief and chuck must not eat the product: 50 mm shows half a degree as 0.4 mm."""
    for check in guide().angles:
        assert check.base.chord >= 60.0
        assert check.working.chord >= 50.0


def test_the_corner_is_relieved_for_burr_and_drill_point():
    """A corner that sits on a burr leans."""
    piece = guide()
    assert polygon(piece.outline).distance(GeometryPoint(0.0, 0.0)) == pytest.approx(3.0, abs=0.02)


def test_the_chuck_has_room_above_the_working_edge():
    """The chuck would push the guide over just as the drill breaks through."""
    piece = guide()
    working = piece.angles[0].working
    up = working.direction()
    # The chuck's flank: parallel to the axis, 18 mm from the bit's middle.
    start = Point(working.end.x - up.y * 1.245, working.end.y + up.x * 1.245)
    flank = [
        (start.x + up.y * 18.0 + up.x * k, start.y - up.x * 18.0 + up.y * k) for k in (1.2, 40.0)
    ]
    assert polygon(piece.outline).distance(LineString(flank)) > 1.0


def test_a_curved_skins_guide_stands_on_two_feet_and_has_no_aft_edge():
    """On a bulging skin a straight base rocks."""
    piece = guide(84.7, feet=(5.0, 60.0))
    at_base = [e for e in piece.outline.edges if e.start.y == 0.0 == e.end.y]
    assert [round(e.chord, 6) for e in at_base] == [4.0, 4.0]
    middles = sorted((e.start.x + e.end.x) / 2 for e in at_base)
    assert middles == pytest.approx([5.0, 60.0])
    assert [a.name for a in piece.angles] == ["forward"]


def test_the_hand_and_the_nail_find_a_hole():
    """Small things that make a guide come back to its place."""
    radii = sorted(m.shape.radius for m in guide().inner if isinstance(m.shape, Circle))
    assert radii == pytest.approx([2.0, 8.0])


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"foot": 50.0}, "guide.foot"),
        ({"edge": 20.0}, "guide.edge"),
        ({"height": 70.0}, "guide.height"),
        ({"relief": 0.2}, "guide.relief"),
        ({"relief": 12.0}, "guide.relief"),
    ],
)
def test_sizes_that_leave_no_guide_are_refused_with_the_way_out(change, key):
    """Never a drawing that looks usable and is not."""
    sizes = GuideSizes(**{**{f: getattr(SIZES, f) for f in SIZES.__slots__}, **change})
    with pytest.raises(DoesNotFit) as caught:
        build_guide("g", 84.7, 2.49, sizes, LABELS, pitch=26.0)
    assert caught.value.key == key
    assert "mm" in str(caught.value.remedy)


def test_a_guide_thicker_than_the_room_between_pins_is_refused_with_both_numbers():
    """It would be found out on the wing."""
    with pytest.raises(DoesNotFit, match=r"3 mm thick .* 12 mm at a pitch of 8 mm") as caught:
        build_guide("g", 84.7, 2.49, SIZES, LABELS, pitch=8.0)
    assert caught.value.key == "guide.pin"


def test_the_foot_bridges_the_row_or_fits_between_pins():
    """A foot that stands on a pin lifts the guide."""
    assert foot_width(2.49, SIZES, 26.0) == FOOT_WIDTH
    fat = GuideSizes(**{**{f: getattr(SIZES, f) for f in SIZES.__slots__}, "pin": 90.0})
    assert foot_width(2.49, fat, 70.0) == pytest.approx(2 * (70 - 45 - 1))
    with pytest.raises(DoesNotFit, match=f"tips below {FOOT_WIDTH_MIN:g} mm"):
        foot_width(2.49, fat, 50.0)


def test_guide_and_foot_slide_into_each_other():
    """Half-lap: the slot of each ends where the other's ends, and is as wide as the stock."""
    base = [e for e in guide().outline.edges if e.start.y == 12.0 == e.end.y]
    foot = [
        e
        for e in build_foot("foot", 2.49, SIZES, "Test edge").outline.edges
        if e.start.y == 12.0 == e.end.y
    ]
    assert [e.chord for e in base] == pytest.approx([3.1])
    assert [e.chord for e in foot] == pytest.approx([3.1])


def test_marks_know_no_cut():
    """Only outline and holes are cut; an engraved line on the CUT layer would fall out."""
    piece = guide()
    assert all(m.op.value != "CUT" for m in piece.marks)
    assert all(isinstance(m, Mark) and m.op.value == "CUT" for m in piece.inner)
