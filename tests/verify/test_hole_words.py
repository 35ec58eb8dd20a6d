"""What a test hole's verdict says: drift along each axis, and a thickness in a wrong unit."""

import pytest

from jiggen.geometry.testhole import TestHole as Drilled
from jiggen.verify.hole import judge_test_holes, questions_of_hole


def test_the_drift_along_each_axis_is_that_axis_own():
    """Exchanged, a lean along the edge is filed off the guide's forward side."""
    hole = Drilled(
        entry=(20.0, 30.0),
        exit=(20.4, 29.9),
        thickness=20.0,
        standard=0.01,
        thickness_standard=0.01,
    )
    found = judge_test_holes([hole], allowed_angle=0.01, thickness=10.0)
    assert found.drift == pytest.approx((0.2, -0.05), abs=1e-3)


@pytest.mark.parametrize(("units", "bare", "other"), [("mm", "400", "in"), ("in", "15.748", "mm")])
def test_the_thickness_is_repeated_as_it_was_typed(units, bare, other):
    """Told to write 400in, nobody finds his own 15.748 again."""
    hole = Drilled(
        entry=(20.0, 30.0), exit=(20.0, 30.0), thickness=400.0, standard=0.1, thickness_standard=0.1
    )
    (asked,) = questions_of_hole(hole, (0.0, 0.0), units)
    assert f'"{bare}{other}"' in str(asked.text)
