"""The cradle's low fence: high enough to hold the edge, and never in the way of the stop."""

import pytest

from jiggen.jigs.cradle import low_fence


@pytest.mark.parametrize(
    ("line", "stop", "high"),
    [
        # The stop turns on the hole's axis, so it comes half its diameter toward the fence.
        (15.0, 26.0, 6.0),
        (15.1, 26.0, 6.0),
        (14.9, 26.0, 2.5),
        (8.0, 12.0, 6.0),
        (8.0, 12.2, 2.5),
        (8.0, 26.0, 2.5),
    ],
)
def test_the_fence_is_low_only_where_half_the_stop_comes_within_2_mm_of_it(line, stop, high):
    """Cut away for a stop that does not reach it, the fence no longer holds the trailing edge."""
    assert low_fence(line, stop, upper=3.0, fence=6.0) == high


def test_a_low_fence_stays_below_the_face_that_the_stop_rests_on_or_is_left_out():
    """A stop that runs up on the fence leaves the countersink shallow."""
    assert low_fence(8.0, 26.0, upper=7.5, fence=6.0) == 6.0
    assert low_fence(8.0, 26.0, upper=6.0, fence=6.0) == 5.5
    assert low_fence(8.0, 26.0, upper=1.5, fence=6.0) == 1.0
    assert low_fence(8.0, 26.0, upper=1.4, fence=6.0) == 0.0
