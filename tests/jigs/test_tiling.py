"""How a strip is cut into tiles: what every set of tiles must hold, whatever the strip."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jiggen.jigs.tiling import CLEAR, tiles


@st.composite
def cases(draw: st.DrawFn) -> tuple[float, float, float, float, list[float], float]:
    """Return start, end, room, overlap, holes and the tape's marks."""
    start = draw(st.floats(-300.0, 50.0))
    long = draw(st.floats(150.0, 6000.0))
    room = draw(st.floats(110.0, 400.0))
    overlap = draw(st.floats(8.0, 30.0))
    pitch = draw(st.floats(4.0, 120.0))
    first = draw(st.floats(0.0, pitch))
    holes = [start + first + pitch * n for n in range(int(long / pitch))]
    return start, start + long, room, overlap, holes, draw(st.sampled_from([1.0, 25.4 / 16.0]))


@given(case=cases())
def test_tiles_cover_the_strip_and_share_what_was_asked(case):
    """A gap between two tiles is a hole that nobody sees; too little overlap cannot be joined."""
    start, end, room, overlap, holes, mark = case
    found = tiles(start, end, room, overlap, holes, mark)
    assert found[0].start == pytest.approx(start)
    assert found[-1].end == pytest.approx(end)
    assert {tile.length for tile in found} == {found[0].length}
    assert found[0].length <= room + 1e-6
    for tile, following in pairwise(found):
        assert tile.end - following.start >= overlap - 1e-6
        shared = tile.crosses[1]
        assert shared == following.crosses[0]
        assert following.start + overlap / 2 - 1e-6 <= shared <= tile.end - overlap / 2 + 1e-6


@given(case=cases())
def test_there_are_as_few_tiles_as_the_room_allows(case):
    """Each tile more is a join more, and paper."""
    start, end, room, overlap, holes, mark = case
    count, reach = 1, start + room
    while reach < end - 1e-3:
        count, reach = count + 1, reach + room - overlap
    assert len(tiles(start, end, room, overlap, holes, mark)) in {
        count,
        # A strip that fits to the last micrometre may be counted either way.
        *([count + 1] if math.isclose(reach, end, abs_tol=1e-2) else []),
    }


@given(case=cases())
def test_crosses_stand_inward_of_the_strips_ends(case):
    """A cross that is half cut away cannot be measured from."""
    start, end, room, overlap, holes, mark = case
    found = tiles(start, end, room, overlap, holes, mark)
    assert overlap / 2 - 1e-6 <= found[0].crosses[0] - start < overlap / 2 + mark
    assert overlap / 2 - 1e-6 <= end - found[-1].crosses[1] < overlap / 2 + mark


@pytest.mark.parametrize("pitch", [18.0, 26.0, 55.0])
def test_no_join_runs_through_a_hole_at_a_usual_pitch(pitch):
    """A hole under the tape of a join is a hole in the wrong place."""
    holes = [15.0 + pitch * n for n in range(int(1600 / pitch))]
    found = tiles(-12.0, holes[-1] + 12.0, 230.0, 15.0, holes)
    joins = [tile.crosses[1] for tile in found[:-1]]
    assert len(joins) >= 6
    assert min(abs(hole - join) for hole in holes for join in joins) >= CLEAR
    assert all(join == round(join) for join in joins)
