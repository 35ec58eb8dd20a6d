"""Whatever moved a drawing as a whole is found again."""

import math
from functools import cache

import pytest
from drawingset import cut
from hypothesis import given, settings
from hypothesis import strategies as st
from samplesheets import full_sheet

from jiggen.remeasure.contour import Matrix, inverse, times
from jiggen.remeasure.fit import fit_sheet
from jiggen.remeasure.found import FoundPage
from jiggen.remeasure.judge import lie_of, likely_cause
from jiggen.remeasure.nominal import NominalSheet, nominal_sheet
from jiggen.write.record import sheet_record


@cache
def sheet() -> NominalSheet:
    """Return the bed of two guides and a block as it should be."""
    return nominal_sheet(sheet_record(cut(full_sheet())))


def page(by: Matrix) -> FoundPage:
    """Return the bed as a file without pages would show it, moved by a matrix."""
    lines = [piece.outline for piece in sheet().pieces if piece.outline is not None]
    lines += [hole for piece in sheet().pieces for hole in piece.holes]
    contours = tuple(line.through(by) for line in lines)
    return FoundPage(width=None, height=None, contours=contours)


@given(
    scale=st.floats(-3, 3).map(math.exp),
    turn=st.floats(-180, 180),
    mirrored=st.booleans(),
    stretch=st.floats(0.99, 1.01),
    x=st.floats(-500, 500),
    y=st.floats(-500, 500),
)
@settings(max_examples=40, deadline=None)
def test_scale_turn_and_mirror_are_found_again(
    scale: float, turn: float, mirrored: bool, stretch: float, x: float, y: float
) -> None:
    """The factor tells the cause; a mirror image that goes unseen is a guide for the other skin."""
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    flip = -1.0 if mirrored else 1.0
    by: Matrix = (
        scale * cos, scale * sin, -flip * scale * stretch * sin, flip * scale * stretch * cos, x, y,
    )  # fmt: skip
    fit = fit_sheet(sheet(), page(by))
    assert fit is not None
    # All corners are recognised; the six ticks of the bars are not drawn here.
    assert fit.share == pytest.approx(14 / 20)
    lie = lie_of(fit)
    assert lie.mirrored == mirrored
    assert lie.scale_x == pytest.approx(scale, rel=1e-6)
    assert lie.scale_y == pytest.approx(scale * stretch, rel=1e-6)
    assert math.cos(math.radians(lie.turn - turn)) == pytest.approx(1.0, abs=1e-9)
    back = times(fit.matrix, inverse(by))
    assert back == pytest.approx((1, 0, 0, 1, 0, 0), abs=1e-4)


def test_nothing_is_found_where_nothing_is() -> None:
    """A fit that is always found proves nothing."""
    empty = FoundPage(width=210.0, height=297.0, contours=())
    assert fit_sheet(sheet(), empty) is None
    other = tuple(hole for piece in sheet().pieces for hole in piece.holes)
    assert fit_sheet(sheet(), FoundPage(width=210.0, height=297.0, contours=other)) is None


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (25.4 / 96, "96 to the inch"),
        (0.2822, "90 to the inch"),
        (2.8346, "72 to the inch"),
        (39.37, "metres and inches"),
        (0.9412, "shrunk to fit"),
        (1.03, "stretched"),
        (0.99878, "rounded"),
        (0.5, ""),
        (7.3, ""),
    ],
)
def test_a_factor_tells_its_likely_cause(factor: float, words: str) -> None:
    """A cause that is named wrongly sends the user to mend what is not broken."""
    said = likely_cause(factor)
    assert words in said
    assert bool(said) == bool(words)
