"""How much of a sawn rivet hole stays in the part, at either end."""

import pytest
from shapely.geometry import Point, box

from jiggen.geometry.trim import Part, Stock, placed
from jiggen.shop.trim_checks import half_hole_depth, said_half_holes

PART = Part(trim=(20.0, 120.0), holes=(40.0, 60.0, 80.0, 100.0), line=9.0, drill=3.0)


@pytest.mark.parametrize("at", [19.1, 20.0, 20.8, 119.2, 120.0, 120.9])
def test_what_is_told_of_half_a_hole_is_what_shapely_measures_in_the_part(at):
    """With the sign turned round a mere nick is called a deep hole, and the deep one a nick."""
    stock = Stock(length=300.0, holes=tuple(sorted((at, *PART.holes))))
    one = placed(stock, PART, 0.25, 0.0, (0.0, 0.0))
    ((cut, middle),) = [(c, h) for c in one.cuts for h in c.half_holes]
    assert cut.at == (20.0 if at < 70.0 else 120.0)
    in_part = box(20.0, 0.0, 120.0, 30.0).intersection(Point(at, 9.0).buffer(1.5, quad_segs=64))
    low, _, high, _ = in_part.bounds
    assert half_hole_depth(cut, middle, PART) == pytest.approx(high - low, abs=1e-9)
    (said,) = [str(one) for one in said_half_holes(one, PART)]
    assert said.startswith(f"the cut at the {cut.end} passes")
    assert f"leaves {high - low:.2f} mm of it" in said
