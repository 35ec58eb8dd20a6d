"""Where a drawing lies is told by what its lines span, and by nothing else."""

import math
from functools import cache

import pytest
from drawingset import cut
from hypothesis import given, settings
from hypothesis import strategies as st
from samplesheets import full_sheet

from jiggen.remeasure.limits import Budget
from jiggen.remeasure.page import LEAST_SHARE, NEAR, find_place, likely_cause
from jiggen.remeasure.record import NominalSheet, nominal_sheet
from jiggen.remeasure.shapes import IDENTITY, FoundPage, Matrix
from jiggen.write.cutting import cut_groups, cut_record


@cache
def sheet() -> NominalSheet:
    """Return the bed of two guides and a block as it should be."""
    bed = cut(full_sheet())
    return nominal_sheet(cut_record(bed, cut_groups(bed, live_text=True)))


def page(by: Matrix) -> FoundPage:
    """Return the cut lines of the bed as a file without pages would show them, moved."""
    lines = [piece.outline for piece in sheet().pieces]
    lines += [hole for piece in sheet().pieces for hole in piece.holes]
    return FoundPage(width=None, height=None, contours=tuple(line.through(by) for line in lines))


def spanning(by: Matrix) -> FoundPage:
    """Return the bed with a frame round it of the extent that its record names."""
    left, bottom, right, top = sheet().extent or (0.0, 0.0, 0.0, 0.0)
    frame = sheet().pieces[0].outline
    corners = ((left, bottom), (right, bottom), (right, top), (left, top))
    square = type(frame)(nodes=corners, closed=True).through(by)
    return FoundPage(width=None, height=None, contours=(*page(by).contours, square))


@given(
    scale=st.floats(-3, 3).map(math.exp),
    stretch=st.floats(0.98, 1.02),
    x=st.floats(-500, 500),
    y=st.floats(-500, 500),
)
@settings(max_examples=40, deadline=None)
def test_scale_and_shift_are_found_again(scale: float, stretch: float, x: float, y: float) -> None:
    """The factor tells the cause, and what the bars measure is told in the file's own mm."""
    by: Matrix = (scale, 0.0, 0.0, scale * stretch, x, y)
    _, place = find_place(sheet(), spanning(by), Budget())
    assert place.share > 0.6  # all corners; the ticks of the bars are not drawn here
    assert place.matrix == pytest.approx(by, rel=1e-6, abs=2e-3)
    # Where every corner is near enough to its place, the drawing is left where it lies.
    exact = 1e-6 if place.matrix != IDENTITY else NEAR / 100.0
    assert place.scale == pytest.approx(scale * math.sqrt(stretch), rel=exact)
    assert place.bends == (abs(stretch - 1.0) > 5e-5)


@pytest.mark.parametrize(
    "by",
    [
        (0.0, 1.0, -1.0, 0.0, 250.0, 0.0),  # a quarter turn
        (-1.0, 0.0, 0.0, 1.0, 210.0, 0.0),  # mirrored
        (1.0, 0.0, 0.05, 1.0, 0.0, 0.0),  # sheared
    ],
)
def test_what_was_turned_mirrored_or_sheared_lies_nowhere(by: Matrix) -> None:
    """A place that is always found proves nothing."""
    assert find_place(sheet(), spanning(by), Budget())[1].share < LEAST_SHARE


def test_nothing_is_found_where_nothing_is() -> None:
    """An empty page is not a true one."""
    empty = FoundPage(width=210.0, height=297.0, contours=())
    assert find_place(sheet(), empty, Budget())[1].share == 0.0


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        # 1 in = 25.4 mm = 96 px = 72 pt: CSS 2.1, 4.3.2 (from memory); 90 px in older programs.
        (0.26458, "mm were taken as pixels (96 to the inch)"),
        (0.28222, "mm were taken as pixels (90 to the inch)"),
        (2.83465, "points (72 to the inch) were taken as mm"),
        (0.75, "points (72 to the inch) were taken as pixels (96 to the inch)"),
        (25.4, "mm were taken as inches"),
        (0.03937, "inches were taken as mm"),
        (39.37, "inches were taken as metres"),
        (10.0, "mm were taken as cm"),
        (0.9412, "fitted to the printable part"),
        (0.99878, "fitted to the printable part"),
        (0.5, ""),
        (7.3, ""),
    ],
)
def test_a_factor_tells_its_likely_cause(factor: float, words: str) -> None:
    """A cause that is named wrongly sends the user to mend what is not broken."""
    said = likely_cause(factor)
    assert words in said
    assert bool(said) == bool(words)
