"""The trim templates: where holes and cut lie, read back from the outline; their lettering."""

import math
from dataclasses import replace

import numpy as np
import pytest
from folding import Leaf, angle_between, unit
from readback import read_dxf, read_pdf, read_svg
from samplejobs import a_job, included, row_of_holes, skins
from shapely.geometry import LineString
from shapely_pieces import check_marks, ink, polygon

from jiggen.drawing.affine import Affine
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Circle, Path, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs import build_pieces
from jiggen.jigs.trim_pieces import trim_pieces
from jiggen.job.edge import LighteningHole, StockInput
from jiggen.make import make_drawings
from jiggen.solution import Solution
from jiggen.solve import solve

PITCH = 26.0
STOCK = StockInput(
    length=262.0,
    holes=tuple(8.0 + PITCH * n for n in range(10)),
    lightening=tuple(
        LighteningHole(at=8.0 + PITCH * n, diameter=14.0, line=20.0) for n in range(10)
    ),
    trim=(9.0, 203.0),
    fairing=(8.0, 14.0),
    may_turn=False,
)


def solution(stock: StockInput = STOCK, skin: float = 5.7, **more: object) -> Solution:
    job = a_job(
        skins(skin, skin), holes=row_of_holes(8), rear_thickness=0.8, depth=30.0, stock=stock
    )
    return solve(replace(job, **more))


def both(**more: object) -> tuple[Piece, Piece]:
    start, end = trim_pieces(solution(**more))
    return start, end


def all_sorts() -> list[Piece]:
    long = "A rather long name of a job that a tidy builder might write down, spare 2"
    named = {"name": long, "sides": ("inboard upper skin", "inboard lower skin"), "units": "in"}
    small = replace(row_of_holes(30), positions=tuple(15.0 + 7.0 * n for n in range(30)))
    cases = [
        solution(),
        solution(**named),
        solution(replace(STOCK, lightening=(), fairing=(0.0, 0.0))),
        solution(replace(STOCK, holes=()), skin=20.0),
        solution(replace(STOCK, trim=(14.5, 203.0), fairing=(60.0, 3.0))),
        solution(replace(STOCK, holes=(), fairing=(1.0, 100.0)), holes=small),
        solution(replace(STOCK, holes=()), holes=None),
        solution(replace(STOCK, length=194.0, holes=(), trim=(9.0, 203.0))),
    ]
    return [piece for case in cases for piece in trim_pieces(case)]


SORTS = all_sorts()
NAMES = [f"{number} {piece.name}" for number, piece in enumerate(SORTS)]


def circles(piece: Piece) -> list[Circle]:
    return [m.shape for m in piece.inner if isinstance(m.shape, Circle)]


def said(piece: Piece) -> str:
    return " ".join(m.shape.text for m in piece.marks if isinstance(m.shape, Text))


@pytest.mark.parametrize("skin", [0.5, 5.7, 25.0])
def test_folded_onto_the_face_the_holes_lie_over_the_skins_holes_and_the_cut_on_its_line(skin):
    """A template off by a millimetre cuts the part a millimetre short."""
    for piece, trim, inward in zip(both(skin=skin), STOCK.trim, (1.0, -1.0), strict=True):
        slope = math.radians(skin)
        # On side A with forward up, seen from outside, the zero end lies to the right.
        leaf = Leaf(
            origin=np.array([0.0, trim, 0.8 / 2]),
            along_x=unit(0.0, -1.0, 0.0),
            along_y=unit(math.cos(slope), 0.0, math.sin(slope)),
        )
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


def test_the_start_is_at_the_right_and_the_end_at_the_left():
    """A template at the wrong end puts the cut where the other one belongs."""
    start, end = both()
    assert start.angles[0].base.end.x < start.angles[0].base.start.x
    assert end.angles[0].base.end.x > end.angles[0].base.start.x


def test_neither_template_is_the_other_one_turned_over():
    """Laid face down it would look right and be cut on the wrong side."""
    start, end = both()
    turned = polygon(start.outline.moved(Affine.mirror_x()))
    assert polygon(end.outline).symmetric_difference(turned).area > 60.0


@pytest.mark.parametrize("piece", SORTS, ids=NAMES)
def test_no_mark_leaves_the_piece_and_no_text_crosses_another_mark(piece):
    """Lettering across a cut line is cut away; lettering across lettering is not read."""
    check_marks(piece)


@pytest.mark.parametrize("piece", SORTS, ids=NAMES)
def test_what_is_drawn_for_paper_lies_in_the_waste_or_is_the_notch(piece):
    """A grey that is part of the part would be cut away."""
    body = polygon(piece.outline)
    for mark in (m for m in piece.marks if m.paper_only):
        if mark.fill == 0.85:
            assert body.buffer(1e-6).contains(polygon(mark.shape))
        elif isinstance(mark.shape, Path) and mark.fill is not None:
            assert body.intersection(polygon(mark.shape)).area < 1e-9
        else:
            assert not body.intersects(ink(mark)), mark.shape


def test_the_notch_that_is_drawn_is_the_notch_that_is_reckoned():
    """The grey is what the builder sees of it."""
    case = solution()
    plan = case.trim.best
    along = 1.0 / math.cos(math.radians(5.7))
    for piece, cut in zip(trim_pieces(case), plan.cuts, strict=True):
        grey = [m.shape for m in piece.marks if m.fill == 0.85]
        assert len(grey) == len(cut.notches) == 1
        (notch,) = cut.notches
        box = grey[0].bounds()
        assert box.width == pytest.approx(notch.depth, abs=1e-6)
        mouth = LineString([tuple(grey[0].edges[-1].start), tuple(grey[0].edges[-1].end)])
        assert mouth.length == pytest.approx(notch.width, abs=1e-6)
        middle = (mouth.bounds[1] + mouth.bounds[3]) / 2
        assert middle == pytest.approx(20.0 * along, abs=1e-9)


def test_the_piece_says_where_it_goes_and_what_the_cut_passes():
    """A template found in a drawer must say which end it cuts."""
    start, end = both()
    for piece, words in ((start, "Trim start  at 9 mm"), (end, "Trim end  at 203 mm")):
        text = said(piece)
        assert words in text
        for word in ("flap", "on upper, this face up", "FORWARD", "TE", "CUT", "50 mm", "2 in"):
            assert word in text
        assert "from the stock's zero end, not turned" in text
        assert "hole 1's end lies right; else turn over" in text
        assert "notch" in text
    assert "fairing covers 8 mm" in said(start)
    assert {"1", "2", "3"} <= set(said(start).split())
    assert {"8", "7", "6"} <= set(said(end).split())


@pytest.mark.parametrize("piece", SORTS, ids=NAMES)
def test_sizes_measure_what_they_claim(piece):
    """The cover's table and the piece must agree."""
    bars = [d for d in piece.dimensions if d.is_bar]
    assert len(bars) == 4
    for size in piece.dimensions:
        assert math.dist(size.start, size.end) == pytest.approx(size.nominal, abs=1e-9)
    names = {d.name for d in piece.dimensions if not d.is_bar}
    assert {"A-B", "A-D", "B-D"} <= names
    assert sum(name.startswith("hole-") for name in names) == min(len(piece.inner), 4)
    assert piece.bounds().width < 185.0
    assert polygon(piece.outline).exterior.is_ccw


def test_a_hole_that_the_cut_runs_into_is_drawn_and_not_cut_out():
    """A pin in half a hole holds nothing."""
    start, _ = both(stock=replace(STOCK, trim=(14.5, 203.0)))
    cut_edge = start.angles[0].base.start.x
    assert all(abs(hole.centre.x - cut_edge) > 10.0 for hole in circles(start))
    assert "1" not in {m.shape.text for m in start.marks if isinstance(m.shape, Text)}


def test_a_job_without_stock_gets_no_template_unless_it_is_named():
    """Then the answer is which section is missing."""
    plain = solve(a_job(included(11.0), holes=row_of_holes(5), rear_thickness=0.8))
    assert not [p for p in build_pieces(plain) if p.kind == "trim"]
    with pytest.raises(DoesNotFit) as caught:
        build_pieces(plain, ("trim",))
    assert caught.value.key == "stock"
    assert [p.name for p in build_pieces(solution()) if p.kind == "trim"] == [
        "trim-start",
        "trim-end",
    ]


def test_stock_that_does_not_line_up_gets_no_template_and_the_other_pieces_all_the_same():
    """A wrong pitch must not keep the guides from being drawn."""
    wrong = solution(replace(STOCK, holes=tuple(8.0 + 27.0 * n for n in range(9))))
    kinds = {piece.kind for piece in build_pieces(wrong)}
    assert "trim" not in kinds
    assert "guide" in kinds
    with pytest.raises(DoesNotFit, match="no trim piece can be made"):
        build_pieces(wrong, ("trim",))


def extent(walk: list[tuple[float, float]]) -> tuple[float, float]:
    xs, ys = zip(*walk, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def test_written_and_read_back_every_corner_is_where_it_was_drawn():
    """What reaches the printer is what counts."""
    made = make_drawings(solution(), only=("trim",))
    pieces = {p.name: p for p in made.pieces}
    assert set(pieces) == {"trim-start", "trim-end"}
    pdf: dict[str, list] = {}
    for page in read_pdf(made.files["print.pdf"]):
        pdf.update(page.paths)
    kerf = 0.15
    for name, piece in pieces.items():
        (a, b) = piece.angles[0].base.start, piece.angles[0].base.end
        printed = max((extent(walk) for walk in pdf[name]), key=sum)
        box = piece.outline.bounds()
        assert sorted(printed) == pytest.approx(sorted((box.width, box.height)), abs=1e-3)
        for read, suffix in ((read_svg, "svg"), (read_dxf, "dxf")):
            walk = read(made.files[f"pieces/{name}.{suffix}"])[name]
            assert extent(walk)[0] == pytest.approx(math.dist(a, b) + kerf, abs=1e-3)
