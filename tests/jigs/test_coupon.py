"""The kerf coupon: cut on the drawing, its loose bars give back the kerf that cut them."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, box
from shapely.ops import unary_union
from shapely_pieces import ink, material, points, polygon

from jiggen.drawing.shapes import Op, Text
from jiggen.errors import DoesNotFit
from jiggen.geometry.coupon import kerf_from_fingers, sheet_from_slots
from jiggen.jigs.coupon import BARS, SLOTS, build_coupon, slot_widths


def burnt(piece, kerf):
    """Return what falls apart when a beam `kerf` wide runs along every cut line."""
    lines = [LineString(points(piece.outline))]
    lines += [LineString(points(m.shape)) for m in piece.inner]
    slot = unary_union([line.buffer(kerf / 2, cap_style="flat") for line in lines])
    return list(polygon(piece.outline).difference(slot).geoms)


@settings(max_examples=30, deadline=None)
@given(kerf=st.floats(0.05, 0.5))
def test_the_loose_bars_pushed_together_give_the_kerf(kerf):
    """Cut by an independent geometry library, measured as a calliper would, read by our formula."""
    parts = burnt(build_coupon("coupon", "Test", 3.0), kerf)
    loose = sorted(parts, key=lambda p: p.area)[:-1]
    bars = [p.bounds for p in loose if p.area > 20.0]
    lying = [b for b in bars if b[3] - b[1] > b[2] - b[0]]
    standing = [b for b in bars if b[2] - b[0] > b[3] - b[1]]
    assert (len(lying), len(standing)) == (BARS, BARS)
    for total in (sum(b[2] - b[0] for b in lying), sum(b[3] - b[1] for b in standing)):
        found = kerf_from_fingers(40.0, total, BARS, 0.02)
        assert found.value == pytest.approx(kerf, abs=1e-6)
        assert found.standard == pytest.approx(0.02 / BARS)


@settings(max_examples=60, deadline=None)
@given(stated=st.sampled_from([1.5, 2.0, 3.0, 4.0, 6.0]), off=st.floats(-0.3, 0.3))
def test_the_stair_brackets_a_sheet_near_what_was_stated(stated, off):
    """Ply sold as 3 mm is 2.7 to 3.2: the stair must hold it."""
    real, kerf = stated + off, 0.15
    widths = slot_widths(stated)
    passed = [w for w in widths if w + kerf >= real]
    from jiggen.geometry.coupon import Found

    found = sheet_from_slots(widths, min(passed), Found(value=kerf, standard=0.005))
    assert abs(found.value - real) <= 0.05 + 1e-9


def test_the_slots_are_as_wide_as_their_labels():
    """Read off the outline, not off the list."""
    piece = build_coupon("coupon", "Test", 3.0)
    bottoms = [
        e.chord
        for e in piece.outline.edges
        if e.start.y == e.end.y == pytest.approx(64.0) and e.chord < 5
    ]
    labels = [m.shape.text for m in piece.marks if isinstance(m.shape, Text)]
    assert len(bottoms) == SLOTS
    for width in bottoms:
        assert f"{width:.1f}" in labels


@pytest.mark.parametrize("sheet", [1.0, 3.0, 6.35, 12.0])
def test_nothing_on_the_coupon_touches_anything(sheet):
    """And it carries both bars in both directions."""
    piece = build_coupon("coupon", "A rather long name of a job", sheet)
    windows = [m for m in piece.inner if m.shape.is_closed]
    body = material(piece.__class__(**{**_fields(piece), "inner": tuple(windows)}))
    inks = [(m, ink(m)) for m in piece.marks]
    for mark, shape in inks:
        assert body.contains(shape), mark.shape
    for mark, shape in inks:
        if isinstance(mark.shape, Text):
            assert not any(shape.intersects(o) for m, o in inks if m is not mark), mark.shape
    bars = {d.name for d in piece.dimensions if d.is_bar}
    assert bars == {"bar-x-50-mm", "bar-x-2-in", "bar-y-50-mm", "bar-y-2-in"}


def _fields(piece):
    return {name: getattr(piece, name) for name in piece.__slots__}


def test_no_cut_line_lies_on_another():
    """A line burnt twice is wider than the kerf it is to show."""
    piece = build_coupon("coupon", "Test", 3.0)
    lines = [LineString(points(m.shape)) for m in piece.inner]
    for k, one in enumerate(lines):
        for other in lines[k + 1 :]:
            assert one.intersection(other).length == 0.0
    assert all(m.op is Op.CUT for m in piece.inner)
    frame = box(*polygon(piece.outline).bounds)
    assert all(frame.buffer(-4.0).contains(line) for line in lines)


def test_too_thin_a_sheet_is_refused():
    """A beam does not leave a slot of a tenth open."""
    with pytest.raises(DoesNotFit) as caught:
        build_coupon("coupon", "Test", 0.5)
    assert caught.value.key == "cut.sheet"
    assert math.isclose(slot_widths(3.0)[4], 2.9)
