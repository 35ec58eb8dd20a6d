"""The rivet holes of a trim template: what a calliper reads to them, and which take a pin."""

import pytest
from samplejobs import a_job, included, row_of_holes

from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Circle, Mark
from jiggen.jigs.trim_pieces import trim_pieces
from jiggen.job.sections import LighteningHole, Stock
from jiggen.solve import solve


def templates(*lightening: LighteningHole, trim=(9.0, 203.0)) -> tuple[Piece, Piece]:
    """Return both templates of a part with holes of 2.5 mm at 15, 41 ... 197 mm."""
    stock = Stock(
        length=202.0,
        positions=tuple(8.0 + 26.0 * n for n in range(8)),
        lightening=lightening,
        trim=trim,
        turn=False,
    )
    job = a_job(included(11.0), holes=row_of_holes(8), rear_thickness=0.8, depth=30.0, stock=stock)
    start, end = trim_pieces(solve(job))
    return start, end


def test_the_calliper_reads_from_the_cut_over_the_far_rim_of_a_hole():
    """Told to its middle, a sound template is thrown away, or a wrong one kept.

    From the cut at 9 mm to the middle at 15 it is 6 mm, and half of 2.5 mm more to the far rim.
    """
    start, end = templates()
    for piece, first in ((start, 1), (end, 8)):
        step = 1 if first == 1 else -1
        told = {d.name: d for d in piece.dimensions if d.name.startswith("hole-")}
        assert len(told) >= 3
        for n in range(3):
            size = told[f"hole-{first + step * n}"]
            assert size.nominal == pytest.approx(6.0 + 26.0 * n + 1.25)
            assert "far side of the hole" in size.how
            # It ends on the rim that is cut, on the side away from the cut.
            rims = [m.shape for m in piece.inner if isinstance(m.shape, Circle)]
            hole = min(rims, key=lambda c: abs(c.centre.x - size.end.x))
            edge = piece.angles[0].base.start.x
            assert abs(size.end.x - hole.centre.x) == pytest.approx(1.25)
            assert abs(size.end.x - edge) > abs(hole.centre.x - edge)


def rounds(marks: tuple[Mark, ...], radius: float) -> list[float]:
    return [
        round(abs(m.shape.centre.x), 6)
        for m in marks
        if isinstance(m.shape, Circle) and m.shape.radius == radius and not m.paper_only
    ]


def test_a_hole_that_a_notch_opens_is_drawn_and_takes_no_pin():
    """It lies clear of the cut, and yet a pin in it holds nothing: the template swings about it.

    The notch is part of a hole of 10 mm at the cut, on the hole line: 1 mm from the middle of
    rivet hole 1, whose half is 1.25 mm.
    """
    start, _ = templates(LighteningHole(at=2.0, diameter=10.0, line=8.0))
    assert 6.0 not in rounds(start.inner, 1.25)
    assert 6.0 in rounds(start.marks, 1.25)
    assert {32.0, 58.0} <= set(rounds(start.inner, 1.25))
    assert "hole-1" not in {d.name for d in start.dimensions}
    # A notch that stays clear of it leaves it for a pin.
    clear, _ = templates(LighteningHole(at=2.0, diameter=6.0, line=8.0))
    assert 6.0 in rounds(clear.inner, 1.25)
