"""Kerf: the moved cut line leaves the part true to size, or is refused."""

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from strategies import outlines

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.crossing import edges_meet, first_crossing
from jiggen.drawing.kerf import offset_path, with_kerf
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece, angle_between
from jiggen.drawing.shapes import Circle, Edge, Mark, Op, Path, Text
from jiggen.errors import DrawingError

CHORDS = 256


def polygon(path: Path) -> shapely.Polygon:
    """Return the path for shapely, its arcs as many chords."""
    points = []
    for edge in path.edges:
        steps = CHORDS if edge.bulge else 1
        points += [edge.at(i / steps) for i in range(steps)]
    return shapely.Polygon(points)


def arc_error(path: Path) -> float:
    """Return the area in mm2 that the chords of `polygon` may be wrong by."""
    return sum(e.length * e.length**2 / (8 * e.radius * CHORDS**2) for e in path.edges if e.bulge)


def guide(degrees: float = 78.6) -> Piece:
    """Return a guide: base along x, a relieved corner, working edge at `degrees`, two holes."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    outline = Path.closed(
        [
            *[(3, 0), (40, 0), (40, 12, 0.2), (40 * c + 20, 40 * s)],
            *[(40 * c, 40 * s), (3 * c, 3 * s), (2, 2)],
        ]
    )
    return Piece(
        name="guide-a-1",
        kind="guide",
        label="P",
        outline=outline,
        inner=(
            Circle(Point(20, 20), 3),
            Path.closed([(25, 6), (30, 6, 1), (30, 8), (25, 8, 1)]),
        ),
        marks=(Mark(shape=Text(at=Point(9, 5), text="TE", height=3), op=Op.ENGRAVE),),
        angles=(
            CheckAngle(
                name="forward",
                nominal=degrees,
                base=outline.edges[0],
                working=outline.edges[4].reversed(),
            ),
        ),
        dimensions=(CheckDimension(name="base", nominal=37, start=Point(3, 0), end=Point(40, 0)),),
    )


@given(outlines(), st.floats(0.001, 0.5), st.sampled_from([-1, 1]))
def test_every_edge_moves_parallel_to_itself_and_arcs_keep_their_centre(outline, size, sign):
    """A bevelled corner or a flattened arc changes the angle that the piece is made for."""
    distance = sign * size
    drawn = offset_path(outline, distance)
    for old, new in zip(outline.edges, drawn.edges, strict=True):
        if old.bulge == 0.0:
            way = old.direction()
            assert new.bulge == 0.0
            assert new.direction() == pytest.approx(way, abs=1e-11)
            off = (new.start.x - old.start.x) * way.y - (new.start.y - old.start.y) * way.x
            assert off == pytest.approx(distance, abs=1e-9)
        else:
            assert new.centre == pytest.approx(old.centre, abs=1e-6)
            wanted = old.radius + math.copysign(distance, old.bulge * distance)
            assert new.radius == pytest.approx(wanted, abs=1e-6)
            assert new.sweep * old.sweep > 0


@given(outlines(), st.floats(0.05, 0.3), st.sampled_from([-1, 1]))
def test_the_moved_outline_covers_what_shapely_says(outline, distance, sign):
    """An independent library must see the same part. Source: shapely's buffer, mitre joins."""
    drawn = offset_path(outline, sign * distance)
    wanted = polygon(outline).buffer(sign * distance, join_style="mitre", mitre_limit=20)
    found = polygon(drawn)
    assert found.is_valid
    # An arc runs on as an arc into its corner, shapely's last chord as a line: a sliver as long
    # as the mitre (at 45 deg 2.4 d) and as wide as its sagitta, at both ends of an arc.
    sliver = sum(2 * (2.5 * distance) ** 3 / (6 * e.radius) for e in outline.edges if e.bulge)
    allowed = sliver + 4 * arc_error(outline) + 1e-9
    assert found.symmetric_difference(wanted).area <= allowed
    assert allowed < 0.02 * distance * outline.bounds().width * 4
    assert drawn.area == pytest.approx(found.area, abs=2 * arc_error(drawn) + 1e-6)


@given(outlines(), st.floats(0.02, 0.3))
def test_out_and_back_again_is_the_same_outline(outline, distance):
    """What cannot be undone has lost something of the part."""
    back = offset_path(offset_path(outline, distance), -distance)
    for old, new in zip(outline.edges, back.edges, strict=True):
        assert new.start == pytest.approx(old.start, abs=1e-7)
        assert new.bulge == pytest.approx(old.bulge, abs=1e-7)


@given(st.floats(0.05, 0.5), st.floats(0.5, 5.0), st.floats(0, 360))
def test_a_rounded_bar_with_smooth_joins_grows_by_its_radius(kerf, radius, turn):
    """Where line and arc run on smoothly their meeting point must not jitter."""
    half = kerf / 2
    bar = Path.closed([(0, -radius), (30, -radius, 1), (30, radius), (0, radius, 1)])
    drawn = offset_path(bar.moved(Affine.turn(turn)), half)
    wanted = Path.closed(
        [(0, -radius - half), (30, -radius - half, 1), (30, radius + half), (0, radius + half, 1)]
    ).moved(Affine.turn(turn))
    for one, other in zip(drawn.edges, wanted.edges, strict=True):
        assert one.start == pytest.approx(other.start, abs=1e-9)
        assert one.bulge == pytest.approx(other.bulge, abs=1e-9)


@given(st.floats(55, 125), st.floats(0, 0.6), st.floats(0, 360))
def test_the_check_angle_stays_exact_and_its_edges_lie_on_the_cut_line(degrees, kerf, turn):
    """The corner is the product: kerf must not touch it."""
    piece = guide(degrees).moved(Affine.turn(turn))
    drawn = with_kerf(piece, kerf)
    (angle,) = drawn.angles
    assert angle_between(angle.base, angle.working) == pytest.approx(degrees, abs=1e-9)
    for edge in (angle.base, angle.working):
        assert edge in drawn.outline.edges or edge.reversed() in drawn.outline.edges
    for old, new in zip(
        (piece.angles[0].base, piece.angles[0].working), (angle.base, angle.working), strict=True
    ):
        assert new.direction() == pytest.approx(old.direction(), abs=1e-9)


def test_a_base_on_two_feet_moves_with_both():
    """A guide that bridges a rivet tail stands on two feet of one line."""
    outline = Path.closed([(0, 0), (8, 0), (8, 3), (22, 3), (22, 0), (30, 0), (26, 30), (6, 30)])
    base = Edge(Point(0, 0), Point(30, 0))
    short = Edge(Point(29, 0), Point(1, 0))
    angle = CheckAngle(name="forward", nominal=0.0, base=base, working=short)
    piece = Piece(name="bridge", kind="guide", label="P", outline=outline, angles=(angle,))
    drawn = with_kerf(piece, 0.2)
    assert drawn.angles[0].base.start == drawn.outline.edges[0].start
    assert drawn.angles[0].base.end == drawn.outline.edges[4].end
    assert drawn.angles[0].working.start == pytest.approx((29, -0.1))
    assert drawn.angles[0].working.end == pytest.approx((1, -0.1))


def test_what_is_measured_and_what_is_engraved_stay_where_they_are():
    """Nominal sizes are those of the finished piece; a shifted bar would read wrong."""
    piece = guide()
    drawn = with_kerf(piece, 0.2)
    assert drawn.dimensions == piece.dimensions
    assert drawn.marks == piece.marks
    assert drawn.inner[0] == Circle(Point(20, 20), 2.9)
    assert with_kerf(piece, 0.0) is piece


@given(st.floats(0.05, 0.5))
def test_the_beam_leaves_the_piece_true_to_size(kerf):
    """Run a round beam along the drawn lines and see what is left on the table.

    Inside corners keep a fillet of the beam's radius (nothing can cut sharper), so the part may
    be larger by that, never smaller. Source: shapely's buffer as the beam.
    """
    piece = guide()
    drawn = with_kerf(piece, kerf)
    hole = piece.inner[0]
    holes = [polygon(drawn.inner[1]), Point(20, 20)]
    left = polygon(drawn.outline)
    left = left.difference(left.exterior.buffer(kerf / 2, quad_segs=64))
    wanted = polygon(piece.outline)
    assert wanted.difference(left).area < 2e-3
    fillets = len(piece.outline.edges) * (kerf / 2) ** 2
    assert left.difference(wanted).area < fillets + 2e-3
    slot = polygon(piece.inner[1])
    burnt = holes[0].union(holes[0].exterior.buffer(kerf / 2, quad_segs=64))
    assert burnt.symmetric_difference(slot).area < 4 * (kerf / 2) ** 2 + 2e-3
    assert drawn.inner[0].radius + kerf / 2 == pytest.approx(hole.radius)


def test_a_clockwise_outline_grows_and_a_clockwise_hole_shrinks_all_the_same():
    """The direction in which a line was drawn must not decide the sign of the kerf."""
    hole = Path.closed([(5, 5), (5, 9), (9, 9), (9, 5)])
    square = Path.closed([(0, 0), (0, 20), (20, 20), (20, 0)])
    inner = (hole, hole.reversed())
    piece = Piece(name="p", kind="test", label="P", outline=square, inner=inner)
    drawn = with_kerf(piece, 0.2)
    assert drawn.outline.bounds().width == pytest.approx(20.2)
    assert [m.bounds().width for m in drawn.inner] == pytest.approx([3.8, 3.8])


SLOTTED = [(0, 0), (20, 0), (20, 20), (10.05, 20), (10.05, 5), (9.95, 5), (9.95, 20), (0, 20)]


@pytest.mark.parametrize(
    ("corners", "kerf", "says"),
    [
        ([(0, 0), (20, 0), (20, 20, -1), (19.8, 20), (0, 20)], 0.3, "arc of radius 0.100 mm"),
        (SLOTTED, 0.3, "vanishes; make it longer"),
        ([(0, 0), (40, 0), (40, 5), (39, 0.2 + 4)], 0.2, "too sharp for a mitre; blunt it"),
        ([(0, 0), (20, 0), (20, 20), (10.4, 20, -3), (9.6, 20), (0, 20)], 0.3, "meet"),
    ],
)
def test_a_piece_that_the_kerf_would_spoil_is_refused_by_name(corners, kerf, says):
    """A drawing that looks usable and is not costs a sheet of ply."""
    piece = Piece(name="gauge-7", kind="gauge", label="P", outline=Path.closed(corners))
    with pytest.raises(DrawingError, match=rf"^gauge-7: with a kerf of {kerf} mm .*{says}"):
        with_kerf(piece, kerf)


def test_a_slot_that_grows_shut_between_its_mouth_and_its_bottom_is_refused():
    """Edges may all survive and the cut line still meet itself: shapely only drops the slot."""
    pocket = Path.closed(
        [
            *[(0, 0), (20, 0), (20, 20), (12, 20), (10.05, 17), (13, 12)],
            *[(10, 8), (7, 12), (9.95, 17), (8, 20), (0, 20)],
        ]
    )
    assert first_crossing(pocket) is None
    with pytest.raises(DrawingError, match="the cut line meets itself near"):
        offset_path(pocket, 0.1)


@pytest.mark.parametrize("kerf", [-0.1, math.nan, math.inf])
def test_a_kerf_that_is_no_width_is_refused(kerf):
    """A negative kerf would shrink the part twice."""
    with pytest.raises(DrawingError, match="kerf must be 0 mm or more"):
        with_kerf(guide(), kerf)


def test_holes_that_vanish_and_open_cuts_are_refused():
    """Each would leave a hole that is not there, or a stroke with no waste side."""
    for shape, says in (
        (Circle(Point(20, 20), 0.1), "hole of 0.200 mm"),
        (Path.closed([(20, 20), (20.2, 20), (20.2, 25), (20, 25)]), "vanishes"),
        (Path.open([(20, 20), (25, 20)]), "open line has no waste side"),
    ):
        inner = (shape,)
        piece = Piece(name="p", kind="test", label="P", outline=guide().outline, inner=inner)
        with pytest.raises(DrawingError, match=says):
            with_kerf(piece, 0.3)


def test_a_check_edge_that_is_not_on_the_outline_is_refused():
    """Judging a line that is not cut would pass a bad piece."""
    stray = Edge(Point(0, 1), Point(30, 1))
    angle = CheckAngle(name="forward", nominal=0, base=stray, working=stray)
    piece = Piece(name="p", kind="g", label="P", outline=guide().outline, angles=(angle,))
    with pytest.raises(DrawingError, match="check edge of 'forward' lies on no straight edge"):
        with_kerf(piece, 0.2)


def edges() -> st.SearchStrategy[Edge]:
    at = st.integers(-6, 6).map(float)
    bulge = st.sampled_from([0.0, 0.0, 1.0, -1.0, 0.4, -0.4, 2.0])
    points = st.tuples(at, at)
    return (
        st.tuples(points, points, bulge)
        .filter(lambda e: e[0] != e[1])
        .map(lambda e: Edge(Point(*e[0]), Point(*e[1]), e[2]))
    )


@given(edges(), edges())
def test_two_edges_meet_where_shapely_sees_them_meet(one, other):
    """A crossing that goes unseen lets a closed slot through. Source: shapely's intersects."""
    lines = [
        shapely.LineString(
            [e.at(i / CHORDS) for i in range(CHORDS + 1)] if e.bulge else [e.start, e.end]
        )
        for e in (one, other)
    ]
    apart = lines[0].distance(lines[1])
    sagitta = max(e.length**2 / (8 * e.radius * CHORDS**2) for e in (one, other)) + 1e-9
    meetings = edges_meet(one, other)
    if meetings:
        assert apart <= 2 * sagitta
        for point in meetings:
            assert all(line.distance(shapely.Point(point)) <= 2e-6 + sagitta for line in lines)
    elif one.bulge == 0.0 and other.bulge == 0.0:
        assert apart > 0
    else:
        # Chords cannot tell a touch from a near miss; a true crossing they can.
        crossing = lines[0].crosses(lines[1]) and not _grazes(lines, sagitta)
        assert not crossing


def _grazes(lines: list[shapely.LineString], sagitta: float) -> bool:
    """Return whether the shared points are so shallow that the chords alone may have made them."""
    shared = lines[0].intersection(lines[1])
    near = shared.buffer(50 * sagitta + 1e-6)
    rest = [line.difference(near) for line in lines]
    return (
        any(r.is_empty for r in rest)
        or lines[0].buffer(2 * sagitta).intersection(lines[1]).length > 100 * sagitta
    )
