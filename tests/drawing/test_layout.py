"""Layout: every piece once, apart, inside, and square to the sheet."""

import math
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely_pieces import holds

from jiggen.drawing import layout
from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.layout import lay_out
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Mark, Op, Path, Text
from jiggen.drawing.sheet import Placed
from jiggen.errors import DoesNotFit

A4 = Bounds(10, 20, 200, 277)


def plate(name: str, width: float, height: float, *, label: str = "", waste: float = 0) -> Piece:
    """Return a plate with its lower left corner off the origin, and a label that may stick out."""
    outline = Path.closed([(-3, 5), (width - 3, 5), (width - 3, height + 5), (-3, height + 5)])
    text = Text(at=Point(0, height + 4), text=label, height=3)
    marks = (Mark(shape=text, op=Op.ENGRAVE),) if label else ()
    return Piece(name=name, kind="plate", label="P", outline=outline, marks=marks, waste=waste)


@st.composite
def plates(draw: st.DrawFn) -> list[Piece]:
    side = st.one_of(st.floats(4, 180), st.sampled_from([20.0, 40.0, 60.0, 90.0, 180.0]))
    sizes = draw(st.lists(st.tuples(side, side), max_size=14))
    found = []
    for n, size in enumerate(sizes):
        label = draw(st.sampled_from(["", "TE", "FORWARD hole 1-12"]))
        waste = draw(st.sampled_from([0, 4]))
        found += [plate(f"plate-{n}", *size, label=label, waste=waste)] * draw(st.integers(1, 4))
    return found


def turn(placed: Placed) -> float:
    base = placed.on_sheet.outline.edges[0].direction()
    return math.degrees(math.atan2(base.y, base.x))


@given(plates(), st.one_of(st.floats(0, 12), st.sampled_from([5.0, 10.0])))
def test_pieces_keep_apart_stay_inside_and_are_all_there(pieces, gap):
    """Two pieces that share a cut, a lost one, or one in the printer's dead margin: all waste."""
    sheets = lay_out(pieces, free=A4, gap=gap)
    assert all(sheets)
    count = Counter(placed.piece.name for sheet in sheets for placed in sheet)
    assert count == Counter(piece.name for piece in pieces)
    for sheet in sheets:
        boxes = [placed.on_sheet.on_page() for placed in sheet]
        for n, box in enumerate(boxes):
            assert holds(A4, box)
            grown = box.grown(gap - 2e-6) if gap > 1e-5 else box
            assert not any(grown.overlaps(other) for other in boxes[n + 1 :])


@given(plates(), st.floats(0, 12))
def test_a_base_lies_along_x_or_y_and_no_piece_is_mirrored(pieces, gap):
    """A slanted base would turn a printer's error of scale into a false angle."""
    for sheet in lay_out(pieces, free=A4, gap=gap):
        for placed in sheet:
            assert turn(placed) in (0.0, 90.0)
            assert placed.place.determinant == 1.0
            a, b, c, d, *_ = placed.place
            assert (a * a + b * b, c * c + d * d, a * c + b * d) == (1.0, 1.0, 0.0)


@given(plates())
def test_pieces_stand_in_their_own_order_on_a_sheet_and_always_in_the_same_place(pieces):
    """The cover's table and the page must agree, today and at the next print."""
    order = [piece.name for piece in pieces]
    once = lay_out(pieces, free=A4, gap=4)
    for sheet in once:
        numbers = [order.index(placed.piece.name) for placed in sheet]
        assert numbers == sorted(numbers)
    assert lay_out(pieces, free=A4, gap=4) == once


def test_each_piece_comes_once_however_many_are_needed():
    """A page shows one of each: its number tells how many are cut."""
    pieces = [replace(plate("a", 20, 10), count=5), replace(plate("b", 30, 10), count=2)]
    (sheet,) = lay_out(pieces, free=A4, gap=4)
    assert [placed.piece.name for placed in sheet] == ["a", "b"]


def test_nothing_to_lay_out_gives_no_sheet():
    """A blank page in the file looks like a fault of the printer."""
    assert lay_out([], free=A4, gap=4) == []


def test_a_piece_is_turned_only_where_it_does_not_fit_as_drawn():
    """The reader expects a base at the bottom."""
    (sheet,) = lay_out([plate("wide", 140, 20), plate("long", 250, 30)], free=A4, gap=4)
    assert [turn(placed) for placed in sheet] == [0.0, 90.0]


def test_the_first_pieces_stand_at_the_top_of_the_sheet():
    """A page is read from the top, and an off-cut at the bottom is of use."""
    (sheet,) = lay_out([plate("a", 40, 30), plate("b", 40, 20)], free=A4, gap=4)
    assert [placed.on_sheet.bounds().top for placed in sheet] == pytest.approx([277, 277])


def test_a_piece_exactly_as_large_as_the_usable_part_fits():
    """A strip made to fill the page must not be refused by rounding."""
    free = Bounds(0.1, 0.2, 190.4, 277.3)
    (sheet,) = lay_out([plate("full", free.width, free.height)], free=free, gap=5)
    assert holds(free, sheet[0].on_sheet.bounds())


def test_equal_plates_fill_a_sheet_to_the_last_row():
    """Paper is cheap, ply is not: 4 x 6 plates of 40 x 37 fit 190 x 257 with a gap of 8."""
    sheets = lay_out([plate("tile", 40, 37)] * 24, free=A4, gap=8)
    assert [len(sheet) for sheet in sheets] == [20, 4]
    sheets = lay_out([plate("tile", 40, 36)] * 24, free=A4, gap=8)
    assert [len(sheet) for sheet in sheets] == [24]


@given(plates())
def test_no_second_sheet_is_begun_while_the_first_is_less_than_a_quarter_full(pieces):
    """A page for each piece would be right and useless."""
    small = [p for p in pieces if max(p.bounds().width, p.bounds().height) <= 60]
    sheets = lay_out(small, free=A4, gap=2)
    for sheet in sheets[:-1]:
        used = sum(b.width * b.height for b in (p.on_sheet.bounds() for p in sheet))
        assert used > 0.25 * A4.width * A4.height


@pytest.mark.parametrize(("laid", "key"), [(lay_out, "print.paper"), (layout.in_rows, "cut.bed")])
@pytest.mark.parametrize(("width", "height"), [(230, 290), (265, 395), (900, 100), (100, 900)])
def test_a_piece_too_large_is_refused_with_the_key_that_mends_it(laid, key, width, height):
    """The user needs the way out, not a clipped guide."""
    with pytest.raises(DoesNotFit, match=f"a larger {key} would hold it") as refused:
        laid([plate("big-1", width, height)], free=A4, gap=4)
    assert "big-1" in str(refused.value)
    assert refused.value.key == key


def test_marks_outside_the_outline_need_their_room_too():
    """A label that sticks out would be printed over the next piece, or off the page."""
    piece = plate("labelled", 20, 40, label="hole 1 to 12, side upper, forward edge")
    assert piece.bounds().width > 30
    with pytest.raises(DoesNotFit):
        lay_out([piece], free=Bounds(0, 0, 30, 60), gap=2)
    (sheet,) = lay_out([piece, plate("next", 20, 40)], free=A4, gap=2)
    one, other = (placed.on_sheet.bounds() for placed in sheet)
    assert not one.overlaps(other)


def test_three_hundred_equal_plates_never_look_again_at_a_full_sheet(monkeypatch):
    """A long wedge with a guide at each hole must not make the user wait.

    Counted, not timed: one look a turn for each plate, and one more for each sheet begun.
    """
    looks = []
    room = layout._Skyline.room
    monkeypatch.setattr(
        layout._Skyline, "room", lambda *given: (looks.append(given[-1]), room(*given))[1]
    )
    sheets = lay_out([plate("tile", 40, 36)] * 300, free=A4, gap=8)
    assert [len(sheet) for sheet in sheets] == [24] * 12 + [12]
    assert len(looks) <= 4 * (300 + len(sheets))


def test_three_hundred_unequal_pieces_fill_few_sheets():
    """Paper use must not fall apart when no two pieces are alike."""
    pieces = [plate(f"p-{n}", 20 + (n * 37) % 61, 12 + (n * 53) % 47) for n in range(300)]
    sheets = lay_out(pieces, free=A4, gap=4)
    assert sum(len(sheet) for sheet in sheets) == 300
    used = sum(b.width * b.height for b in (piece.bounds() for piece in pieces))
    assert used > 0.7 * len(sheets) * A4.width * A4.height


def test_a_piece_drawn_at_a_slant_is_laid_by_its_box():
    """Turned pieces still must not touch."""
    slanted = plate("slanted", 50, 20).moved(Affine.turn(30))
    (sheet,) = lay_out([slanted, slanted], free=A4, gap=3)
    one, other = (placed.on_sheet.bounds() for placed in sheet)
    assert not one.grown(2.9).overlaps(other)
