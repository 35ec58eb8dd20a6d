"""The shop checks of a trim plan where its two ends differ."""

from typing import Any

import pytest
from samplejobs import a_job, included, row_of_holes

from jiggen.job.sections import LighteningHole, Stock
from jiggen.solution import Check
from jiggen.solve import solve


def checks(**given: Any) -> dict[str, Check]:
    """Return the checks of a part with holes at 15, 41 ... 171 mm."""
    stock = {"length": 260.0, "positions": tuple(8.0 + 26.0 * n for n in range(9)), "turn": False}
    job = a_job(
        included(11.0),
        holes=row_of_holes(7),
        rear_thickness=0.8,
        depth=30.0,
        stock=Stock(**{**stock, **given}),
    )
    return {check.name: check for check in solve(job).checks}


@pytest.mark.parametrize(
    ("fairing", "end", "deep", "covers"),
    [((2.0, 16.0), "start", 15.0, 2.0), ((16.0, 3.0), "end", 5.0, 3.0)],
)
def test_a_notch_is_held_against_the_fairing_of_its_own_end(fairing, end, deep, covers):
    """The other end's fairing hides nothing here.

    Middles at 15 and 171 mm, radius 10: 15 mm deep from a cut at 10, 5 mm from one at 166.
    """
    light = tuple(LighteningHole(at=8.0 + 26.0 * n, diameter=20.0, line=18.0) for n in range(9))
    check = checks(length=230.0, lightening=light, trim=(10.0, 166.0), fairing=fairing)[
        "trim, notch"
    ]
    assert check.status == "warn"
    assert (check.value, check.limit) == pytest.approx((deep, covers))
    assert f"leaves one at the {end}," in str(check.why)
    assert f"covers only {covers:.2f} mm" in str(check.why)


def test_what_is_left_over_is_told_of_the_nearer_trim_line():
    """It is the end with little left over that comes out short if the stock slips.

    At -19 mm the stock of 240 mm reaches 19 mm beyond the start and 31 beyond the end at 190.
    """
    check = checks(length=240.0, trim=(0.0, 190.0))["trim, reach"]
    assert check.value == pytest.approx(19.0)
