"""The trim plan's rank, and what lies at the very ends of the part and at its front."""

import math

import pytest
from msgspec.structs import replace
from shapely.geometry import Point, box

from jiggen.geometry.shifts import placements
from jiggen.geometry.trim import Part, RoundHole, Stock, placed

PITCH = 26.0
PART = Part(trim=(-10.0, 90.0), holes=(14.0, 40.0, 66.0), line=8.0, drill=2.5, depth=32.0)


def stock(length: float, count: int, *lightening: tuple[float, float], spare: float | None = None):
    """Return stock whose holes line up at shifts of -16, -42 ... mm."""
    holes = [30.0 + PITCH * n for n in range(count)] + ([] if spare is None else [spare])
    return Stock(
        length=length,
        holes=tuple(sorted(holes)),
        lightening=tuple(RoundHole(at=at, diameter=6.0, line=line) for at, line in lightening),
    )


def shifts(of: Stock, part: Part = PART) -> list[float]:
    return [round(one.shift, 6) for one in placements(of, part, 0.25, turn=False)]


def test_of_equals_the_most_metal_comes_first_and_then_the_cut_nearest_to_the_middle():
    """The best way is the one that is sawn: it must not be the one with the least metal.

    At -94 mm a hole lies 4 mm beside a rivet hole, at the others 13 mm. Of those, 32 and 54 mm
    are left over at -42, 58 and 28 at -68, 6 and 80 at -16.
    """
    of = stock(186.0, 6, (69.0, 20.0), (164.0, 20.0))
    assert shifts(of) == [-42.0, -68.0, -16.0, -94.0]


def test_a_spare_hole_in_the_part_is_less_harm_than_a_notch_in_sight():
    """A spare hole is plugged with a rivet; a notch shows for as long as the part flies."""
    of = stock(140.0, 4, (106.0, 20.0), spare=121.0)
    with_spare, with_notch = placements(of, PART, 0.25, turn=False)
    assert (with_spare.shift, len(with_spare.spare), with_spare.notches) == (-42.0, 1, ())
    assert (with_notch.shift, with_notch.spare, len(with_notch.open_notches)) == (-16.0, (), 1)


@pytest.mark.parametrize(
    ("at", "spare"),
    [(-11.3, False), (-11.2, True), (-9.0, True), (89.0, True), (91.2, True), (91.3, False)],
)
def test_a_hole_of_the_stock_that_a_cut_passes_is_in_the_part_with_what_is_left_of_it(at, spare):
    """Half a hole in the end of the part is found when the cut is filed, unless it is told."""
    one = placed(Stock(length=300.0, holes=(at + 50.0,)), PART, 0.25, -50.0, (-50.0, -50.0))
    assert one.spare == (pytest.approx((at,)) if spare else ())


@pytest.mark.parametrize(("line", "diameter"), [(34.0, 10.0), (36.0, 14.0), (37.5, 12.0)])
@pytest.mark.parametrize("inside", [-2.0, 0.0, 2.2])
def test_a_hole_with_its_middle_ahead_of_the_front_notches_by_what_lies_in_the_wedge(
    line, diameter, inside
):
    """Counted by its whole circle the notch looks deeper than it is, and good stock is thrown out.

    Held against the circle less what lies ahead of the front, as shapely cuts it.
    """
    hole = RoundHole(at=inside, diameter=diameter, line=line)
    part = replace(PART, trim=(0.0, 90.0))
    one = placed(Stock(length=200.0, lightening=(hole,)), part, 0.25, 0.0, (0.0, 0.0))
    (notch,) = one.cuts[0].notches
    disc = Point(inside, line).buffer(diameter / 2, quad_segs=2000)
    lost = disc.intersection(box(0.0, 0.0, 90.0, 32.0)).bounds
    assert notch.depth == pytest.approx(lost[2], abs=1e-3)
    assert notch.behind == pytest.approx(lost[1], abs=1e-3)
    assert notch.open_front
    whole = disc.intersection(box(-90.0, 0.0, 90.0, 32.0)).bounds
    assert hole.half_span(32.0) == pytest.approx((whole[2] - whole[0]) / 2, abs=1e-3)
    beyond = replace(hole, line=32.0 + diameter / 2)
    assert math.isclose(beyond.half_span(32.0), 0.0)
