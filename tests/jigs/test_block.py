"""The drill block: how the layers hold a round, the tilt it permits, and its profiles."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, box
from shapely.ops import unary_union
from shapely_pieces import ink, material, polygon

from jiggen.drawing.piece import angle_between
from jiggen.drawing.shapes import Circle, Op, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.block import build_block
from jiggen.jigs.lamination import bore_play, bore_tilt, laminate
from jiggen.jigs.profile import BlockSizes

SIZES = BlockSizes(bore=6.35, inside=2.5, height=40, length=80, dowel=4, fit=0.05, stock=3, pin=12)


def block(
    angle: float = 84.3, mirrored: bool = False, sizes: BlockSizes = SIZES, on_pads: bool = False
):
    return build_block(
        "block-a1",
        angle,
        2.49,
        sizes,
        "Test edge",
        "upper",
        "holes 1-9",
        "Block a1",
        pitch=26.0,
        mirrored=mirrored,
        on_pads=on_pads,
    )


@settings(max_examples=300, deadline=None)
@given(bore=st.floats(1.0, 16.0), stock=st.floats(0.8, 8.0))
def test_the_round_is_held_by_the_layers_without_being_cut(bore, stock):
    """Seen along the axis: the round goes in, and touches what should hold it."""
    fit = 0.05
    layers = laminate(bore, stock, fit)
    depth = layers.channel_layers * stock
    assert layers.depth == pytest.approx(depth)
    free = [box(-layers.channel / 2, -depth / 2, layers.channel / 2, depth / 2)]
    if layers.nest_slot is not None:
        for low in (-depth / 2 - stock, depth / 2):
            free.append(box(-layers.nest_slot / 2, low, layers.nest_slot / 2, low + stock))
    hollow = unary_union(free).buffer(1e-9)
    with_fit = Point(0, 0).buffer((bore + fit) / 2, quad_segs=256)
    if layers.nest_slot is None:
        assert hollow.contains(Point(0, 0).buffer(bore / 2))
        assert layers.play_y == pytest.approx(max(depth - bore, 0.0))
    else:
        assert hollow.buffer(1e-6).contains(with_fit)
        corner = math.hypot(layers.nest_slot / 2, depth / 2)
        assert corner == pytest.approx((bore + fit) / 2)
        assert layers.play_y == fit
    assert layers.layers == layers.channel_layers + (0 if layers.nest_slot is None else 2) + 4


def test_a_bit_thinner_than_the_sheet_rattles_and_it_is_said():
    """#40 in 3 mm ply: half a millimetre of play along the span."""
    layers = laminate(2.489, 3.0, 0.05)
    assert (layers.channel_layers, layers.nest_slot) == (1, None)
    assert layers.play_y == pytest.approx(0.511)
    assert bore_play(layers, 2.489, None) == pytest.approx(math.hypot(0.05, 0.511))


def test_the_tilt_is_clearance_over_length():
    """0.5 mm over 30 mm is almost a degree.

    Source: right triangle; 0.5/30 = 0.016667, atan = 0.95484 deg (a pocket calculator).
    """
    assert math.degrees(bore_tilt(0.5, 30.0)) == pytest.approx(0.95484, abs=5e-6)


def test_a_bushing_adds_its_own_play():
    """The bit may lean in the bushing, and the bushing in its channel."""
    layers = laminate(6.35, 3.0, 0.05)
    assert bore_play(layers, 2.49, 2.5) == pytest.approx(math.hypot(0.05, 0.05) + 0.01)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("angle", [80.0, 84.3, 88.6])
def test_base_sides_and_top_stand_as_they_must(angle, mirrored):
    """Base to axis is the guide angle; sides lie along the axis; the top is square to it."""
    solid = block(angle, mirrored)[0]
    check = solid.angles[0]
    assert angle_between(check.base, check.working) == pytest.approx(angle, abs=1e-9)
    axis = next(m.shape for m in solid.marks if m.op is Op.SCORE)
    edge = axis.edges[0]
    assert angle_between(check.working, edge) == pytest.approx(0.0, abs=1e-9)
    top = max(solid.outline.edges, key=lambda e: e.start.y + e.end.y)
    assert angle_between(top, edge) == pytest.approx(90.0, abs=1e-9)
    # The axis leans forward at the top on side A: the skin rises forward under it.
    assert (edge.end.x > edge.start.x) == (not mirrored)


@pytest.mark.parametrize("mirrored", [False, True])
def test_halves_and_slot_make_up_the_solid_profile(mirrored):
    """The halves lie on the solid layers with a gap that is exactly the channel."""
    pieces = {p.name: p for p in block(84.3, mirrored)}
    solid = polygon(pieces["block-a1-solid"].outline)
    for kind, slot in (("channel", 6.40), ("nest", math.sqrt(6.4**2 - 36))):
        halves = [polygon(pieces[f"block-a1-{kind}-{part}"].outline) for part in ("aft", "forward")]
        assert halves[0].distance(halves[1]) == pytest.approx(slot, abs=1e-9)
        both = unary_union(halves)
        assert both.difference(solid.buffer(1e-6)).area < 4.0  # the solid's sight notch
        missing = solid.difference(both)
        up = pieces["block-a1-solid"].angles[0].working.direction()
        axis = LineString([(0, 0), (up.x * 60, up.y * 60)]).buffer(
            slot / 2 + 1e-6, cap_style="flat"
        )
        low = LineString([(0, 0), (-up.x * 3, -up.y * 3)]).buffer(slot / 2 + 1e-6, cap_style="flat")
        assert missing.difference(unary_union([axis, low])).area < 1e-3


@pytest.mark.parametrize("mirrored", [False, True])
def test_dowel_holes_line_up_through_all_layers(mirrored):
    """A dowel must go through the stack."""
    pieces = block(84.3, mirrored)
    solid = {tuple(round(c, 9) for c in m.shape.centre) for m in pieces[0].inner}
    assert len(solid) == 4
    for kind in ("channel", "nest"):
        found = {
            tuple(round(c, 9) for c in m.shape.centre)
            for p in pieces
            if f"-{kind}-" in p.name
            for m in p.inner
        }
        assert found == solid


def test_the_block_counts_its_layers():
    """Six half-millimetres too few and the bushing falls out."""
    counts = {p.name.removeprefix("block-a1-"): p.count for p in block()}
    assert counts == {
        "solid": 4,
        "channel-aft": 2,
        "channel-forward": 2,
        "nest-aft": 2,
        "nest-forward": 2,
    }


@pytest.mark.parametrize(
    "piece",
    [
        p
        for a in (79.0, 84.3, 88.6)
        for m in (False, True)
        for pads in (False, True)
        for p in block(a, m, on_pads=pads)
    ],
    ids=lambda p: f"{p.name} {p.angles[0].nominal:.0f}",
)
def test_no_mark_leaves_a_layer_or_crosses_another(piece):
    """Lettering across a hole or a cut line cannot be read."""
    body = material(piece)
    inks = [(m, ink(m)) for m in piece.marks if m.op is not Op.SCORE]
    for mark, shape in inks:
        assert body.contains(shape), mark.shape
        assert body.boundary.distance(shape) > 0.3, mark.shape
    for mark, rect in inks:
        if isinstance(mark.shape, Text):
            for other, shape in ((m, ink(m)) for m in piece.marks):
                if other is not mark:
                    assert not rect.intersects(shape), (mark.shape, other.shape)


@pytest.mark.parametrize("piece", block(), ids=lambda p: p.name)
def test_each_layer_says_what_it_is(piece):
    """Eight parts on a bench look alike."""
    said = " ".join(m.shape.text for m in piece.marks if isinstance(m.shape, Text))
    for word in ("Block a1", "84.30°", "upper", "holes 1-9", "Test edge", "TE"):
        assert word in said
    assert "FORWARD" in said or "FWD" in said
    bars = [d for d in piece.dimensions if d.is_bar]
    assert {d.name[:5] for d in bars} == {"bar-x", "bar-y"}
    for bar in bars:
        assert math.dist(bar.start, bar.end) == pytest.approx(bar.nominal)


def test_holes_are_the_dowels():
    """The hole is drawn true size; kerf is somebody else's business."""
    assert all(
        isinstance(m.shape, Circle) and m.shape.radius == 2.0 for p in block() for m in p.inner
    )


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"length": 24.0}, "block.bore"),
        ({"height": 20.0}, "block.height"),
        ({"inside": 6.4}, "block.inside"),
        ({"stock": 6.0, "bore": 12.0}, "cut.sheet"),
    ],
)
def test_blocks_that_cannot_be_are_refused(change, key):
    """With the number that would do."""
    sizes = BlockSizes(**{**{f: getattr(SIZES, f) for f in SIZES.__slots__}, **change})
    with pytest.raises(DoesNotFit) as caught:
        block(sizes=sizes)
    assert caught.value.key == key
    assert str(caught.value.remedy)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("angle", [80.0, 84.3, 95.0])
def test_the_words_stand_on_the_side_that_they_name_and_the_arrow_points_on(angle, mirrored):
    """FORWARD lettered at the trailing edge is believed, and the block set the wrong way round."""
    for piece in block(angle, mirrored):
        where = {m.shape.text: m.shape.bounds() for m in piece.marks if isinstance(m.shape, Text)}
        forward = where.get("FORWARD") or where["FWD"]
        te, way = where["TE"], -1.0 if mirrored else 1.0
        assert (forward.left + forward.right - te.left - te.right) * way > 0.0
        arrows = [
            m.shape
            for m in piece.marks
            if not isinstance(m.shape, Text | Circle) and len(m.shape.edges) == 7
        ]
        for word, side in ((forward, way), (te, -way)):
            level = (word.bottom + word.top) / 2
            (arrow,) = (a for a in arrows if any(abs(e.start.y - level) < 1e-6 for e in a.edges))
            (tip,) = (e.start for e in arrow.edges if abs(e.start.y - level) < 1e-6)
            tail = arrow.bounds()
            assert (tip.x - (tail.left + tail.right) / 2) * side > 0.0
            near = word.left if side > 0 else word.right
            assert (near - tip.x) * side == pytest.approx(0.8)


def test_the_high_corner_is_the_aft_one_and_the_clamp_flat_is_said_to_be_forward():
    """Two shapes tell the way round; the words name the one that is always there."""
    solid = block(84.3)[0]
    high = max((e.start for e in solid.outline.edges), key=lambda p: p.y)
    assert high.x == pytest.approx(min(e.start.x for e in solid.outline.edges if e.start.y > 20.0))
    said = " ".join(m.shape.text for m in solid.marks if isinstance(m.shape, Text))
    assert "low clamp flat goes forward" in said


@pytest.mark.parametrize("piece", [p for a in (79.0, 84.3, 88.6) for p in block(a)[:1]])
def test_the_solid_layer_tells_the_whole_stack(piece):
    """`2 solid, 1 channel, 2` and no more leaves a layer out."""
    said = " ".join(m.shape.text for m in piece.marks if isinstance(m.shape, Text))
    assert "stack: 2 solid, 1 nest, 2 channel, 1 nest, 2 solid" in said
