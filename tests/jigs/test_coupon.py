"""The coupons: loose bars give back the kerf that cut them, slots the sheet, holes the fit."""

import math
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from samplejobs import a_job, row_of_holes, skins
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union
from shapely_pieces import points, polygon

from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Circle, Path, Text
from jiggen.errors import DoesNotFit
from jiggen.geometry.coupon import kerf_from_fingers, sheet_from_slots
from jiggen.geometry.leastsquares import WithDoubt
from jiggen.jigs.beds import lay_beds
from jiggen.jigs.coupon import BARS, FITS, JIG, SLOTS, slot_widths
from jiggen.job.sections import Block, Cut
from jiggen.solve import solve


def coupons(sheet: float = 3.0, **more: object) -> tuple[Piece, ...]:
    job = a_job(skins(5.0, 4.0), holes=row_of_holes(3), rear_thickness=0.8)
    cut = replace(more.pop("cut", Cut(kerf=0.15)), sheet=sheet)
    return JIG.plan(solve(replace(job, cut=cut, **more))).pieces


def texts(piece: Piece) -> list[str]:
    return [m.shape.text for m in piece.marks if isinstance(m.shape, Text)]


def burnt(piece: Piece, kerf: float) -> list[Polygon]:
    """Return what falls apart when a beam `kerf` wide runs along every cut line."""
    lines = [LineString(points(piece.outline))]
    lines += [LineString(points(path)) for path in piece.inner]
    slot = unary_union([line.buffer(kerf / 2, cap_style="flat") for line in lines])
    return list(polygon(piece.outline).difference(slot).geoms)


@settings(max_examples=30)
@given(kerf=st.floats(0.05, 0.5))
def test_the_loose_bars_pushed_together_give_the_kerf(kerf):
    """Cut by an independent geometry library, measured as a calliper would, read by our formula."""
    (piece,) = coupons()
    parts = burnt(piece, kerf)
    loose = sorted(parts, key=lambda p: p.area)[:-1]
    bars = [p.bounds for p in loose if p.area > 20.0]
    lying = [b for b in bars if b[3] - b[1] > b[2] - b[0]]
    standing = [b for b in bars if b[2] - b[0] > b[3] - b[1]]
    assert (len(lying), len(standing)) == (BARS, BARS)
    for total in (sum(b[2] - b[0] for b in lying), sum(b[3] - b[1] for b in standing)):
        found = kerf_from_fingers(40.0, total, BARS, 0.02)
        assert found.value == pytest.approx(kerf, abs=1e-6)
        assert found.standard == pytest.approx(0.02 / BARS)


@settings(max_examples=60)
@given(stated=st.sampled_from([1.5, 2.0, 3.0, 4.0, 6.0]), off=st.floats(-0.3, 0.3))
def test_the_stair_brackets_a_sheet_near_what_was_stated(stated, off):
    """Ply sold as 3 mm is 2.7 to 3.2: the stair must hold it."""
    real, kerf = stated + off, 0.15
    widths = slot_widths(stated)
    passed = [w for w in widths if w + kerf >= real]
    found = sheet_from_slots(widths, min(passed), WithDoubt(value=kerf, standard=0.005))
    assert abs(found.value - real) <= 0.05 + 1e-9


@pytest.mark.parametrize("sheet", [1.0, 3.0, 6.35, 12.0])
def test_the_slots_are_as_wide_as_their_labels_and_the_labels_stand_under_them(sheet):
    """Read off the outline, not off the list."""
    (piece,) = coupons(sheet)
    level = [e for e in piece.outline.edges if e.start.y == e.end.y and e.chord < sheet + 1.0]
    rows = Counter(round(e.start.y, 6) for e in level)
    foot = min(y for y, count in rows.items() if count >= SLOTS)
    bottoms = [e for e in level if e.start.y == pytest.approx(foot)]
    said = {m.shape.text: m.shape for m in piece.marks if isinstance(m.shape, Text)}
    assert len(bottoms) == SLOTS
    for edge in bottoms:
        label = said[f"{edge.chord:.1f}"]
        assert label.at.x == pytest.approx((edge.start.x + edge.end.x) / 2)
        assert foot - 8.0 < label.at.y < foot - 2.0
    assert piece.number.startswith(f"{sheet:g}")


def test_the_coupon_is_cut_as_it_is_drawn_and_the_bars_before_the_windows():
    """Cut with the kerf that it is to find, it finds none; loosened first, the bars shift."""
    job = a_job(skins(5.0, 4.0), cut=Cut(kerf=0.2), rear_thickness=0.8)
    (piece,) = JIG.plan(solve(job)).pieces
    (sheet,) = lay_beds(job, [piece]).singles
    assert sheet.placed[0].piece.outline == piece.outline
    assert piece.as_drawn
    closed = [path.is_closed for path in piece.inner]
    assert closed == [False] * 2 * (BARS - 1) + [True] * 2
    assert not piece.on_paper


def test_no_cut_line_lies_on_another():
    """A line burnt twice is wider than the kerf it is to show."""
    (piece,) = coupons()
    lines = [LineString(points(path)) for path in piece.inner]
    for k, one in enumerate(lines):
        for other in lines[k + 1 :]:
            assert one.intersection(other).length == 0.0
    frame = Polygon(polygon(piece.outline).envelope)
    assert all(frame.buffer(-4.0).contains(line) for line in lines)


def test_it_says_what_a_calliper_reads_and_where():
    """Both rows are known by their letters, and the machine is checked by bars of its own."""
    (piece,) = coupons()
    names = {d.name for d in piece.dimensions}
    assert {"fingers-x", "fingers-y", *(f"slot-{w:.1f}" for w in slot_widths(3.0))} <= names
    assert {"x", "y", "COUPON", piece.code} <= set(texts(piece))
    bars = {d.name: d.nominal for d in piece.dimensions if d.is_bar}
    assert set(bars) == {"bar-x", "bar-y"}
    assert piece.left_out == ()


def test_too_thin_a_sheet_is_refused():
    """A beam does not leave a slot of a tenth open."""
    with pytest.raises(DoesNotFit) as caught:
        coupons(0.5)
    assert caught.value.key == "cut.sheet"
    assert math.isclose(slot_widths(3.0)[4], 2.9)


@pytest.mark.parametrize("body", [5.19, 7.97, 10.0])
def test_the_ladder_holds_five_holes_about_the_bushing_each_with_its_fit(body):
    """The one that takes the bushing with a vice is block.press, in its own words.

    Source: the design of the drill block: body -0.10 to +0.10 mm by 0.05.
    """
    _, ladder = coupons(block=Block(bore=body))
    holes = sorted((c for c in ladder.inner if isinstance(c, Circle)), key=lambda c: c.centre.x)
    assert [2 * h.radius for h in holes] == pytest.approx(
        [body - 0.10, body - 0.05, body, body + 0.05, body + 0.10]
    )
    said = {m.shape.text: m.shape.at.x for m in ladder.marks if isinstance(m.shape, Text)}
    for hole, label in zip(holes, ("-0.10", "-0.05", "0", "+0.05", "+0.10"), strict=True):
        assert said[label] == pytest.approx(hole.centre.x)
    assert len(FITS) == 5
    assert ladder.title == "COUPON press fit"
    assert not [p for p in ladder.inner if isinstance(p, Path)]


def test_the_ladder_is_cut_with_the_kerf_as_the_block_is_and_waits_until_it_is_known():
    """Cut without, the hole that fits here is a kerf too tight in the block."""
    job = a_job(skins(5.0, 4.0), cut=Cut(kerf=0.2), rear_thickness=0.8, block=Block(bore=6.35))
    coupon, ladder = JIG.plan(solve(job)).pieces
    assert not ladder.as_drawn
    drawn = {s.placed[0].piece.name: s.placed[0].piece for s in lay_beds(job, [ladder]).singles}
    radii = sorted(c.radius for c in drawn["coupon-press"].inner)
    assert radii == pytest.approx(sorted((6.35 + fit - 0.2) / 2 for fit in FITS))
    unknown = replace(job, cut=Cut(kerf=None))
    plan = JIG.plan(solve(unknown))
    assert [p.name for p in plan.pieces] == ["coupon"]
    assert any("cut.kerf" in str(step) for step in plan.steps)
    # The coupon itself is the same piece before and after.
    assert plan.pieces[0].mark == coupon.mark
