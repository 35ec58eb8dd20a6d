"""Kerf as published: which way the cut line moves, and by how much."""

import pytest

from jiggen.drawing.affine import Point
from jiggen.drawing.kerf import with_kerf
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Circle, Path


def rectangle(width: float, height: float, left: float = 0.0, bottom: float = 0.0) -> Path:
    right, top = left + width, bottom + height
    return Path.closed([(left, bottom), (right, bottom), (right, top), (left, top)])


def test_a_2_by_4_part_is_drawn_larger_and_a_2_by_4_hole_smaller():
    """A compensation of the wrong sign doubles the error that it should remove.

    Source: a laser guide on kerf width (query "kerf width 2.2 x 4.2 mm"): with a kerf of 0.2 mm
    draw 2.2 x 4.2 for a part of 2 x 4, and 1.8 x 3.8 for a hole of 2 x 4. READ.
    """
    part = Piece(name="part", kind="test", label="P", outline=rectangle(2, 4))
    box = with_kerf(part, 0.2).outline.bounds()
    assert (box.width, box.height) == pytest.approx((2.2, 4.2), abs=1e-12)

    hole = rectangle(2, 4, left=5, bottom=5)
    frame = Piece(name="frame", kind="test", label="P", outline=rectangle(20, 20), inner=(hole,))
    box = with_kerf(frame, 0.2).inner[0].bounds()
    assert (box.width, box.height) == pytest.approx((1.8, 3.8), abs=1e-12)


def test_a_40_mm_square_drawn_with_kerf_comes_out_at_40_mm():
    """The kerf in the job file is what the guides measure: the full width of the slot.

    Source: a laser guide (query "laser burns away 40 mm 39.8"): a 40 mm square cut without
    compensation at a kerf of 0.2 mm leaves a part of 39.8 mm and a hole of 40.2 mm. READ.
    """
    lost = 40.0 - 39.8
    plate = Piece(
        name="plate",
        kind="test",
        label="P",
        outline=rectangle(40, 40),
        inner=(Circle(Point(20, 20), 5.0),),
    )
    drawn = with_kerf(plate, lost)
    assert drawn.outline.bounds().width - lost == pytest.approx(40.0, abs=1e-12)
    assert drawn.inner[0].bounds().width + lost == pytest.approx(10.0, abs=1e-12)


def test_a_part_of_half_an_inch_is_drawn_by_one_whole_kerf_larger_not_two():
    """Two conventions are abroad; taking the other one makes every fit loose by a kerf.

    Source: kerf pages disagree: one draws 0.5 in less 2 kerfs for a slot (kerf on each side),
    others 0.5 in less 1 kerf (kerf is the whole slot); jiggen takes the latter. READ.
    """
    half_inch, kerf = 12.7, 0.173  # kerf: plywood, measured by students (engi210.blogs.rice.edu)
    part = Piece(name="part", kind="test", label="P", outline=rectangle(half_inch, half_inch))
    grown = with_kerf(part, kerf).outline.bounds().width - half_inch
    assert grown == pytest.approx(kerf, abs=1e-12)
