"""Trim templates and tags: holes and cut read back in space, slanting cuts, what is drawn."""

import math

import numpy as np
import pytest
from folding import Leaf, angle_between, unit
from hypothesis import example, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from readback import read_dxf, read_pdf, read_svg
from samplejobs import a_job, included, row_of_holes, skins
from shapely.geometry import LineString
from shapely.geometry import Point as GeometryPoint
from shapely_pieces import points, polygon

from jiggen.drawing.affine import Affine
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Circle, Dash, On, Path, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs import plan as registry
from jiggen.jigs.trim import ARM, CLEAR, FAR, JIG, EndHole, TrimEnd
from jiggen.job.sections import LighteningHole, Stock, Strip
from jiggen.make import make_drawings
from jiggen.solution import Solution
from jiggen.solve import solve

PITCH = 26.0
STOCK = Stock(
    length=262.0,
    positions=tuple(8.0 + PITCH * n for n in range(10)),
    lightening=tuple(
        LighteningHole(at=8.0 + PITCH * n, diameter=14.0, line=20.0) for n in range(10)
    ),
    trim=(9.0, 203.0),
    fairing=(8.0, 14.0),
    turn=False,
)


#: The same, longer by two holes at each end: as far as the steepest cut reaches at the front.
LONG = replace(
    STOCK,
    length=STOCK.length + 4 * PITCH,
    positions=tuple(8.0 + PITCH * n for n in range(14)),
    lightening=(),
)


def solution(stock: Stock = STOCK, skin: float = 5.7, **more: object) -> Solution:
    job = a_job(
        skins(skin, skin), holes=row_of_holes(8), rear_thickness=0.8, depth=30.0, stock=stock
    )
    return solve(replace(job, **more))


def pieces(case: Solution) -> tuple[Piece, Piece]:
    start, end = (p for p in JIG.plan(case).pieces if "tag" not in p.name)
    return start, end


def tags(case: Solution) -> list[Piece]:
    return [p for p in JIG.plan(case).pieces if "tag" in p.name]


def circles(piece: Piece) -> list[Circle]:
    return [shape for shape in piece.inner if isinstance(shape, Circle)]


def said(piece: Piece) -> str:
    return " ".join(m.shape.text for m in piece.marks if isinstance(m.shape, Text))


def leaf_of(trim: float, slope: float) -> Leaf:
    """Lay a template on face A: forward away from the reader the zero end lies at the right."""
    return Leaf(
        origin=np.array([0.0, trim, 0.8 / 2]),
        along_x=unit(0.0, -1.0, 0.0),
        along_y=unit(math.cos(slope), 0.0, math.sin(slope)),
    )


@pytest.mark.parametrize("skin", [0.5, 5.7, 25.0])
def test_folded_onto_the_face_the_holes_lie_over_the_skins_holes_and_the_cut_on_its_line(skin):
    """A template off by a millimetre cuts the part a millimetre short."""
    templates = pieces(solution(skin=skin))
    for piece, trim, inward in zip(templates, STOCK.trim, (1.0, -1.0), strict=True):
        leaf = leaf_of(trim, math.radians(skin))
        for hole in circles(piece):
            there = leaf.point(hole.centre)
            nearest = min((15.0 + PITCH * n for n in range(8)), key=lambda y: abs(y - there[1]))
            assert there[:2] == pytest.approx((8.0, nearest), abs=1e-9)
            assert hole.radius == pytest.approx(1.25)
        (check,) = piece.angles
        te = leaf.direction(check.base.start, check.base.end)
        cut = leaf.direction(check.working.start, check.working.end)
        assert te @ np.array([0.0, inward, 0.0]) == pytest.approx(1.0)
        assert angle_between(te, cut) == pytest.approx(90.0, abs=1e-9)
        assert leaf.point(check.base.start) == pytest.approx((0.0, trim, 0.4))
        # Square to the edge in the chord plane too: nothing of the cut runs along the edge.
        assert cut[1] == pytest.approx(0.0, abs=1e-12)
        assert len(circles(piece)) >= 3


@settings(max_examples=8)
@example(angles=(-44.0, 26.0), skin=1.0)
@given(
    angles=st.tuples(st.floats(-45.0, 45.0), st.floats(-45.0, 45.0)),
    skin=st.sampled_from([1.0, 5.7, 20.0]),
)
def test_a_slanting_cut_lies_on_the_face_as_it_is_meant_in_the_chord_plane(angles, skin):
    """The end cut is y_te + x tan e: laid on a steep face the template itself slants less.

    Source: jigs as designed: e from square, positive where the front is farther from the zero end.
    """
    turned = tuple(math.radians(e) for e in angles)
    case = solution(replace(LONG, end_angles=turned), skin=skin)
    slope = math.radians(skin)
    for piece, trim, e, inward in zip(pieces(case), STOCK.trim, turned, (1, -1), strict=True):
        leaf = leaf_of(trim, slope)
        (check,) = piece.angles
        for share in (0.0, 0.3, 0.9):
            x, y, _ = leaf.point(check.working.at(share))
            assert y == pytest.approx(trim + x * math.tan(e), abs=1e-9)
        # And the stated angle is that between the two edges, off the outline.
        te = leaf.direction(check.base.start, check.base.end)
        cut = leaf.direction(check.working.start, check.working.end)
        assert angle_between(te, cut) == pytest.approx(check.nominal, abs=1e-9)
        assert check.nominal == pytest.approx(
            90.0 - inward * math.degrees(math.atan(math.tan(e) * math.cos(slope)))
        )
        ends = [points(piece.outline)[k] for k in range(len(points(piece.outline)))]
        on_outline = LineString([*ends, ends[0]])
        assert on_outline.distance(GeometryPoint(check.working.end)) < 1e-9


def test_the_calliper_reads_from_a_slanting_cut_square_to_it():
    """Read along the edge, a template cut at 30 degrees looks 15 % too long and is thrown away."""
    stock = replace(STOCK, end_angles=(math.radians(20.0), math.radians(-30.0)))
    for piece in pieces(solution(stock)):
        (check,) = piece.angles
        line = LineString([check.working.start, check.working.end])
        told = [d for d in piece.dimensions if d.name.startswith("hole-")]
        assert told
        for size in told:
            far = GeometryPoint(size.end)
            assert far.distance(line) == pytest.approx(size.nominal)
            hole = min(circles(piece), key=lambda c: math.dist(c.centre, size.end))
            assert math.dist(hole.centre, size.end) == pytest.approx(hole.radius)
            assert GeometryPoint(hole.centre).distance(line) < size.nominal


@pytest.mark.parametrize(
    ("e", "metal", "front"),
    [(0.0, 15.00, 1000.00), (-12.0, 13.01, 996.60), (12.0, 16.34, 1003.40)],
)
def test_the_numbers_state_te_hole_line_front_and_the_metal_left(e, metal, front):
    """Test values of the design: y_te 1000, c 8, hole at 985; metal to the hole's rim is less.

    Source: derived: y = y_te + x tan e and |y_te + c tan e - y| cos e, worked by hand.
    """
    stock = Stock(length=1300.0, trim=(0.0, 1000.0), end_angles=(0.0, math.radians(e)), turn=False)
    holes = row_of_holes(2, positions=(15.0, 985.0))
    job = a_job(skins(5.7, 5.7), holes=holes, rear_thickness=0.8, depth=16.0, stock=stock)
    table = next(t for t in JIG.plan(solve(job)).tables if t.title == "TRIM end")
    rows = dict(table.rows)
    assert rows["at the TE"] == "1000.00 mm"
    if e:
        assert rows["at the front"] == f"{front:.2f} mm"
    assert rows["hole 2 to the cut"] == f"{metal - 1.25:.1f} mm"


def test_the_start_is_at_the_right_and_the_end_at_the_left():
    """A template at the wrong end puts the cut where the other one belongs."""
    start, end = pieces(solution())
    assert start.angles[0].base.end.x < start.angles[0].base.start.x
    assert end.angles[0].base.end.x > end.angles[0].base.start.x
    for piece in (start, end):
        assert piece.forward == (0.0, 1.0)


def test_the_templates_lie_as_the_part_does_on_either_hand():
    """A template of the other hand is laid at the wrong end, and the part sawn short."""
    for zero, right in (("", True), ("left", False)):
        start, end = pieces(solution(strip=Strip(zero=zero)))
        for piece in (start, end):
            box, (cut,) = piece.outline.bounds(), piece.angles
            at_right = cut.working.start.x > (box.left + box.right) / 2
            assert at_right == ((piece is start) == right)
        # Start sloped, end stepped, on either hand: neither is the other turned over.
        sloped = [
            piece.name
            for piece in (start, end)
            if any(
                min(abs(e.end.x - e.start.x), abs(e.end.y - e.start.y)) > 5.0
                for e in piece.outline.edges
            )
        ]
        assert sloped == ["trim-start"]


def test_neither_template_is_the_other_one_turned_over():
    """Laid face down it would look right and be cut on the wrong side."""
    start, end = pieces(solution())
    turned = polygon(start.outline.moved(Affine.mirror_x()))
    assert polygon(end.outline).symmetric_difference(turned).area > 60.0


def test_the_piece_says_which_end_it_cuts_where_and_how_it_lies():
    """A template found in a drawer must say which end it cuts, and no more than it must."""
    start, end = pieces(solution())
    for piece, number in ((start, "9 mm"), (end, "203 mm")):
        words = said(piece)
        assert piece.title in ("TRIM start", "TRIM end")
        assert piece.number == number
        for text in ("TRIM", number, "TE FLUSH BELOW", "FORWARD", piece.code):
            assert text in words
        assert set(piece.left_out) <= set("ABCD")  # a corner's letter may stand beside it
    inches = pieces(solution(units="in", stock=replace(STOCK, trim=(0.0, 8 * 25.4))))
    assert [p.number for p in inches] == ["0 in", "8 in"]


def test_what_the_cut_passes_is_drawn_on_paper_and_not_engraved():
    """Seen before the saw, a notch is a choice; engraved, its rim is taken for a cut."""
    case = solution()
    along = 1.0 / math.cos(math.radians(5.7))
    for piece, cut in zip(pieces(case), case.trim.best.cuts, strict=True):
        assert len(cut.notches) == 1
        hidden = [m for m in piece.marks if m.dash is Dash.HIDDEN and isinstance(m.shape, Path)]
        arcs = [m for m in hidden if m.shape.edges[0].bulge]
        assert arcs
        assert {m.on for m in hidden} == {On.PAPER}
        edge = piece.angles[0].base.start.x
        at_cut = [m.shape for m in arcs if abs(m.shape.edges[0].centre.x - edge) < 7.0]
        assert at_cut
        for arc in at_cut:
            assert arc.edges[0].radius == pytest.approx(7.0)
            assert arc.edges[0].centre.y == pytest.approx(20.0 * along)
            for end in (arc.edges[0].start, arc.edges[-1].end):
                assert polygon(piece.outline).buffer(1e-6).contains(GeometryPoint(end))


@pytest.mark.parametrize("first", [15.0, 18.0, 22.0, 26.0, 28.0])
def test_every_hole_away_from_the_cut_takes_a_pin(first):
    """A hole that is only drawn is pinned through by guess."""
    holes = replace(row_of_holes(8), positions=tuple(first + PITCH * n for n in range(8)))
    case = solution(replace(STOCK, positions=(), lightening=()), holes=holes)
    start, _ = pieces(case)
    assert len(circles(start)) >= 3
    assert not [m for m in start.marks if isinstance(m.shape, Circle)]
    named = {d.name for d in start.dimensions if d.name.startswith("hole-")}
    assert named == {f"hole-{n}" for n in range(1, min(len(circles(start)), 4) + 1)}


def test_a_hole_that_the_cut_or_a_notch_runs_into_is_drawn_and_takes_no_pin():
    """A pin in half a hole holds nothing: the template swings about it."""
    start, _ = pieces(solution(replace(STOCK, trim=(14.5, 203.0))))
    edge = start.angles[0].base.start.x
    assert all(abs(hole.centre.x - edge) > 10.0 for hole in circles(start))
    # A notch of 10 mm on the hole line, 1 mm from the middle of rivet hole 1.
    stock = Stock(
        length=202.0, positions=tuple(8.0 + PITCH * n for n in range(8)), trim=(9.0, 203.0),
        lightening=(LighteningHole(at=2.0, diameter=10.0, line=8.0),), turn=False,
    )  # fmt: skip
    start, _ = pieces(solution(stock))
    assert {round(abs(c.centre.x), 6) for c in circles(start)} >= {32.0, 58.0}
    assert 6.0 not in {round(abs(c.centre.x), 6) for c in circles(start)}
    assert "hole-1" not in {d.name for d in start.dimensions}
    clear = replace(stock, lightening=(LighteningHole(at=2.0, diameter=6.0, line=8.0),))
    start, _ = pieces(solution(clear))
    assert 6.0 in {round(abs(c.centre.x), 6) for c in circles(start)}


def test_the_calliper_reads_from_the_cut_over_the_far_rim_of_a_hole():
    """Told to its middle, a sound template is thrown away, or a wrong one kept.

    From the cut at 9 mm to the middle at 15 it is 6 mm, and half of 2.5 mm more to the far rim.
    """
    start, end = pieces(solution(replace(STOCK, lightening=())))
    for piece, first, step in ((start, 1, 1), (end, 8, -1)):
        told = {d.name: d for d in piece.dimensions if d.name.startswith("hole-")}
        for n in range(3):
            size = told[f"hole-{first + step * n}"]
            assert size.nominal == pytest.approx(6.0 + 26.0 * n + 1.25)
            assert "far side of the hole" in size.how


@pytest.mark.parametrize("zero", ["", "left"])
def test_sizes_measure_what_they_claim(zero):
    """The table and the piece must agree."""
    for piece in pieces(solution(strip=Strip(zero=zero))):
        for size in piece.dimensions:
            assert math.dist(size.start, size.end) == pytest.approx(size.nominal, abs=1e-9)
        names = {d.name for d in piece.dimensions if not d.is_bar}
        assert {"A-B", "A-D", "B-C", "B-D", "A-C"} <= names
        assert {m.shape.text for m in piece.marks if isinstance(m.shape, Text)} >= set("ABCD")
        assert polygon(piece.outline).exterior.is_ccw


def end_of(*rivets: EndHole, passed: tuple[EndHole, ...] = ()) -> TrimEnd:
    return TrimEnd(rivets=rivets, passed=passed, depth=None, fairing=0.0)


def rivet(inward: float, forward: float = 9.0, radius: float = 1.5) -> EndHole:
    return EndHole(inward=inward, forward=forward, radius=radius, number=1)


def test_a_hole_at_the_far_end_is_shown_whole_or_not_at_all():
    """Half a hole leads a drill into the edge of the template."""
    for tenth in range(980, 1120):
        one = end_of(rivet(20.0), rivet(tenth / 10.0, radius=2.4))
        last, clear = tenth / 10.0 + 2.4, one.length - FAR
        shown = one.rivets[1] in one.pinned()
        assert shown == (last + ARM + 0.5 <= clear)
        assert shown or last - 2 * 2.4 >= clear


def test_the_template_is_as_deep_as_its_most_forward_hole():
    """Counted from how far inward the holes lie, it ends below a hole or is all white."""
    holes = (rivet(15.0, forward=31.0), rivet(41.0, forward=12.0))
    assert end_of(*holes).work_top == pytest.approx(31.0 + 1.5 + ARM + CLEAR)
    big = EndHole(inward=60.0, forward=44.0, radius=10.0)
    assert end_of(*holes, passed=(big,)).work_top == pytest.approx(44.0 + 10.0 + ARM + CLEAR)


def test_a_tag_tells_the_end_the_side_and_both_directions():
    """Turned over between two holes, the stock is drilled at the other end's angle."""
    case = solution(replace(STOCK, turn=False))
    found = tags(case)
    assert [t.title for t in found] == ["TRIM tag 0", "TRIM tag 1"]
    for number, tag in enumerate(found):
        assert tag.number == "5.7°"
        words = said(tag)
        for text in ("upper up", "TE", "hole 1", f"tag {number}", tag.code):
            assert text in words
        assert tag.on_paper
        assert not tag.on_bed
        assert not tag.is_sheet
        # One notch for the zero end, two for the other, in the edge on the stock's end.
        arcs = [e for e in tag.outline.edges if e.bulge]
        assert len(arcs) == 2 * (number + 1)
        box = tag.outline.bounds()
        # Forward away from the reader, the zero end lies at the right.
        outer = box.right if number == 0 else box.left
        assert min(abs(e.start.x - outer) for e in arcs) < 1e-9
        heads = [m.shape for m in tag.marks if m.fill == 1.0 and isinstance(m.shape, Path)]
        tips = [h.edges[0].start for h in heads]
        down = min(tips, key=lambda p: p.y)
        along = max(tips, key=lambda p: p.y)
        assert down.y < 1.0
        # Hole 1 lies away from the end, whichever it is.
        word = next(m.shape for m in tag.marks if isinstance(m.shape, Text)
                    and m.shape.text == "hole 1")  # fmt: skip
        assert (along.x < word.at.x) == (number == 0)


def test_a_tag_of_a_tapering_wedge_has_the_angle_of_its_own_end():
    """The angle that stands there is the one to drill there."""
    job = a_job(
        skins(6.0, 6.0, 0.0), skins(4.0, 4.0, 240.0), holes=row_of_holes(8), rear_thickness=0.8,
        depth=30.0, stock=replace(STOCK, turn=None),
    )  # fmt: skip
    case = solve(job)
    first, last = tags(case)
    for tag, at in ((first, 9.0), (last, 203.0)):
        assert tag.number == f"{math.degrees(case.skin_at(at, 'a')):.1f}°"
    assert first.number != last.number
    assert first.mark != last.mark


def test_without_waste_there_is_nothing_to_glue_a_tag_on():
    """A tag on the part itself is glued over what the skins must lie on."""
    stock = Stock(length=194.0, trim=(9.0, 203.0))
    assert tags(solution(stock)) == []


def test_a_job_without_stock_gets_no_template_unless_it_is_named():
    """Then the answer is which section is missing."""
    plain = solve(a_job(included(11.0), holes=row_of_holes(5), rear_thickness=0.8))
    assert not JIG.asked_for(plain)
    with pytest.raises(DoesNotFit) as caught:
        JIG.plan(plain)
    assert caught.value.key == "stock"


def test_stock_that_does_not_line_up_gets_no_template():
    """A wrong pitch must not keep the other jigs from being drawn."""
    wrong = solution(replace(STOCK, positions=tuple(8.0 + 27.0 * n for n in range(9))))
    assert JIG.plan(wrong).pieces == ()


def extent(walk: list[tuple[float, float]]) -> tuple[float, float]:
    xs, ys = zip(*walk, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def test_written_and_read_back_every_corner_is_where_it_was_drawn(monkeypatch):
    """What reaches the printer is what counts."""
    monkeypatch.setattr(registry, "JIGS", ("jiggen.jigs.trim",))
    made = make_drawings(solution(), only=("trim",))
    found = {p.name: p for p in made.pieces if p.is_sheet}
    assert set(found) == {"trim-start", "trim-end"}
    pdf: dict[str, list] = {}
    for page in read_pdf(made.files["print.pdf"]):
        pdf.update(page.paths)
    kerf = 0.15
    for name, piece in found.items():
        (a, b) = piece.angles[0].base.start, piece.angles[0].base.end
        printed = max((extent(walk) for walk in pdf[name]), key=sum)
        box = piece.outline.bounds()
        assert sorted(printed) == pytest.approx(sorted((box.width, box.height)), abs=1e-3)
        for read, suffix in ((read_svg, "svg"), (read_dxf, "dxf")):
            walk = read(made.files[f"pieces/{name}.{suffix}"])[name]
            assert extent(walk)[0] == pytest.approx(math.dist(a, b) + kerf, abs=1e-3)
