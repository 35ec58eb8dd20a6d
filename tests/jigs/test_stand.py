"""What stands on the wedge: the guide set with its twins, which hand the part has, the drill."""

from __future__ import annotations

import math

import pytest
from offsetjobs import solved
from samplejobs import a_job, row_of_holes, skins, thick

from jiggen.errors import DoesNotFit
from jiggen.jigs.guide import plan_guide
from jiggen.jigs.stand import drill_length, drill_room, hole_1_left, solid_depth, stands, variant
from jiggen.jigs.strip import strip_of_job
from jiggen.job.sections import Allow, Drill, Stock, Strip
from jiggen.solution import Solution
from jiggen.solve import solve


def tapered(**more: object) -> Solution:
    stations = thick(4.2, 0.8, 16.0), thick(2.6, 0.6, 12.0, at=400.0)
    return solve(a_job(*stations, holes=row_of_holes(15), skin=(0.5, 0.5), depth=16.0, **more))


@pytest.mark.parametrize(
    ("side", "zero", "left"),
    [
        ("a", "", False), ("a", "right", False), ("a", "left", True),
        ("b", "", False), ("b", "left", False), ("b", "right", True),
    ],
)  # fmt: skip
def test_the_hand_of_the_part_follows_from_the_strip_on_either_side(side, zero, left):
    """Taken for the other hand, the guide's foot would lean every hole by twice the climb.

    How a guide of either hand stands is tried in space.
    """
    stock = Stock(length=300.0, positions=tuple(8.0 + 26.0 * n for n in range(11)),
                  trim=(0.0, 190.0), turn=False)  # fmt: skip
    job = a_job(skins(7.5, 3.0), holes=row_of_holes(7), rear_thickness=0.8, depth=30.0,
                stock=stock, strip=Strip(zero=zero, side=side), extend=True)  # fmt: skip
    assert hole_1_left(job) is left
    # Side B up shows the part mirrored: the strip's own hand is then the other.
    assert (strip_of_job(solve(job)).hand > 0) == (left == (side == "a"))


def test_every_drilled_hole_has_exactly_one_guide_of_each_side():
    """A hole without a guide gets drilled by eye; one with two, by the wrong one."""
    some = stands(tapered(allow=Allow(drift=0.01)))
    assert len(some) > 2
    for side in "ab":
        served = [n for stand in some if side in stand.side for n in stand.serves]
        assert sorted(served) == list(range(1, 16))
    # Each is told from the others by its own words.
    of = tapered(allow=Allow(drift=0.01))
    assert len({variant(of, stand, stands(of)) for stand in some}) == len(some)


def test_what_is_left_for_cutting_is_the_worst_holes_rest():
    """Allowed atan(drift / h) less what the hole is off, smallest over the range."""
    of = tapered(allow=Allow(drift=0.02))
    pieces = {p.name: p for p in plan_guide(of).pieces}
    for stand in stands(of):
        rest = min(
            math.atan2(0.02, hole.thickness)
            - abs(math.pi / 2 - hole.angles.skin(guide.side) - guide.angle)
            for guide in stand.guides
            for hole in of.holes
            if guide.first_hole <= hole.number <= guide.last_hole
        )
        assert stand.margin == pytest.approx(rest, abs=1e-12)
        allowed = pieces[f"guide-{stand.label}"].allowed_angle
        assert allowed == pytest.approx(math.degrees(rest))


@pytest.mark.parametrize(
    ("drill", "length", "grip", "source"),
    [
        ("#40", 60.325, 20.0, "jobber, from memory"),
        ("1/8 in", 69.85, 20.0, "jobber, read"),
        ("4.0 mm", 75.0, 20.0, "jobber, read"),
    ],
)
def test_the_drill_that_is_there_is_a_jobber_drill_unless_it_was_measured(
    drill, length, grip, source
):
    """Source: lengths of ASME B94.11M and DIN 338 as in tests/published; grip common practice."""
    units = "in" if "in" in drill else "mm"
    of = solved(5.7, drill=drill, units=units)
    assert drill_length(of.job) == (pytest.approx(length), grip, source)
    own = solved(5.7, drill=drill, sections={"drill": 'length = "90 mm"\ngrip = "15 mm"'})
    assert drill_length(own.job) == (90.0, 15.0, "the job's own drill")


def test_what_may_stand_beside_the_bit():
    """#40, TE 0.8, line 8, 5.7 deg on both sides, skins 0.5: room 33.676. DERIVED by hand."""
    assert drill_room(solved(5.7, 5.7)) == pytest.approx(33.676, abs=5e-4)


@pytest.mark.parametrize(
    ("more", "key"),
    [({"depth": None}, "wedge.depth"), ({"holes": row_of_holes(drill=0.3)}, "drill.length")],
)
def test_what_is_not_known_is_asked_for_by_its_key(more, key):
    """A guess at the wedge's depth stands a jig on hollow skin."""
    of = {"holes": row_of_holes(), "depth": 20.0, "rear_thickness": 0.8, **more}
    job = a_job(skins(5.0, 5.0), **of)
    with pytest.raises(DoesNotFit) as asked:
        plan_guide(solve(job))
    assert asked.value.key == key
    known = a_job(skins(5.0, 5.0), **{**of, "depth": 20.0}, drill=Drill(length=60.0))
    assert drill_room(solve(known)) > 0.0
    assert solid_depth(solve(known)) == 20.0
