"""Cradles that are refused: the remedy works, and what else stands in the way is told with it."""

import math
from dataclasses import replace

import pytest
from samplejobs import a_job, row_of_holes, skins

from jiggen.errors import DoesNotFit
from jiggen.jigs.cradle_pieces import cradle_pieces
from jiggen.jigs.cradle_seat import hundredths, least_error, suits
from jiggen.job.sections import Cradle, Job
from jiggen.solve import solve


def twisted(**asked) -> Job:
    """Return a wedge with one flat side, whose other side loses 4 deg in half a metre."""
    holes = row_of_holes(24, line=12.0, positions=tuple(20.0 + 20.0 * n for n in range(24)))
    return a_job(
        skins(0.0, 13.5),
        skins(0.0, 9.5, at=500.0),
        holes=holes,
        rear_thickness=0.8,
        depth=25.0,
        cradle=Cradle(build="layers", **asked),
    )


def refusal(job: Job) -> DoesNotFit:
    with pytest.raises(DoesNotFit) as caught:
        cradle_pieces(solve(job))
    return caught.value


@pytest.mark.parametrize("holes", [1, 2, 3, 5])
def test_fewer_holes_are_not_offered_where_no_number_helps(holes):
    """One hole is the least there is: whoever has it and is told "fewer" is stuck."""
    trouble = refusal(twisted(holes=holes))
    assert trouble.key == "cradle.error"
    assert "hole" not in str(trouble.remedy)
    assert "a cradle.error of" in str(trouble.remedy)


def test_the_number_of_holes_that_is_offered_works_and_one_more_does_not():
    """Somebody tries 19, then 18, then 17."""
    job = twisted(holes=20, error=math.radians(0.8), height=60.0)
    trouble = refusal(job)
    assert trouble.key == "cradle.holes"
    offered = int(str(trouble.remedy).split(" hole")[0])

    def key_of(holes: int) -> str:
        """Return the key that is to blame with so many holes; empty where they work."""
        try:
            cradle_pieces(solve(replace(job, cradle=replace(job.cradle, holes=holes))))
        except DoesNotFit as again:
            return again.key
        return ""

    # Every number is tried: the one that is offered is the largest that works.
    keys = {holes: key_of(holes) for holes in range(1, 20)}
    assert offered == max(holes for holes, key in keys.items() if not key)
    assert {key for holes, key in keys.items() if holes > offered} == {"cradle.holes"}


def test_the_remedies_of_one_run_are_enough_together():
    """Remedies that come one at a time are as many evenings."""
    job = twisted(holes=3, fence=0.5)
    trouble = refusal(job)
    found = {one.key: one for one in (trouble, *trouble.others)}
    assert set(found) == {"cradle.error", "cradle.height", "cradle.fence"}
    error = float(str(found["cradle.error"].remedy).split(" of ")[1].split(" deg")[0])
    mended = Cradle(
        build="layers",
        holes=3,
        error=math.radians(error),
        height=float(str(found["cradle.height"].remedy).split(" mm")[0]),
        fence=float(str(found["cradle.fence"].remedy).split(" mm")[0]),
    )
    assert cradle_pieces(solve(replace(job, cradle=mended)))


def test_an_error_beyond_what_the_key_takes_is_not_offered():
    """The reader of the job refuses it, and sends him back."""
    job = twisted(holes=24)
    steep = replace(
        job,
        wedge=replace(job.wedge, stations=(skins(0.0, 16.0), skins(0.0, 3.0, at=500.0))),
    )
    assert "cradle.error of" not in str(refusal(steep).remedy)


def test_the_least_error_is_the_least():
    """A hundredth less leaves some face without a seat."""
    faces = [((0.10, 0.004), (0.12, 0.001)), ((0.2, -0.002), (0.19, 0.0))]
    enough = least_error(faces)
    assert all(suits(slopes, hundredths(enough)) for slopes in faces)
    assert not all(suits(slopes, hundredths(enough - 1)) for slopes in faces)
