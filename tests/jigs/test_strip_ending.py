"""What the last tile of a hole strip says of the whole: its length, and what an error in it is."""

import re

import pytest
from samplejobs import a_job, row_of_holes, skins

from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Text
from jiggen.jigs.strip_pieces import strip_pieces
from jiggen.job.sections import Strip
from jiggen.solve import solve

INCH = 25.4
COUNT, PITCH = 64, 26.0


def pieces(units: str, count: int = COUNT) -> list[Piece]:
    job = a_job(
        skins(7.5, 3.0),
        holes=row_of_holes(count),
        rear_thickness=0.8,
        depth=24.0,
        strip=Strip(),
        units=units,
    )
    return strip_pieces(solve(job))


def said(piece: Piece) -> str:
    return " ".join(m.shape.text for m in piece.marks if isinstance(m.shape, Text))


@pytest.mark.parametrize(
    ("units", "read", "mm"), [("mm", "1 mm", 1.0), ("in", "1/32 in", INCH / 32)]
)
def test_an_error_over_the_whole_strip_is_told_as_its_share_at_each_pitch(units, read, mm):
    """A builder must know whether half a millimetre over the edge matters at one hole.

    A strip that is off by 1 mm over its length is off by pitch / length of it at each pitch.
    """
    *tiles, whole = pieces(units)
    long = whole.dimensions[0].nominal
    assert long > 1500.0
    (share,) = re.findall(rf"{read} off: ([0-9.]+) {units} at each pitch", said(tiles[-1]))
    one = INCH if units == "in" else 1.0
    assert float(share) * one == pytest.approx(PITCH / long * mm, abs=0.00006 * one)
    assert float(share) * one < 0.02 * mm
    for tile in tiles[:-1]:
        assert "at each pitch" not in said(tile)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_last_tile_tells_what_rounding_adds_up_to_over_all_tiles(units):
    """A figure that is the same for one tile and for fourteen is not worked out.

    Each tile's length is written to the sixth decimal of a mm: so many tiles, so many of them.
    """
    figures = {}
    for count in (20, COUNT):
        *tiles, _ = pieces(units, count)
        (figure,) = re.findall(
            rf"Rounding, {len(tiles)} tiles: ([0-9.]+) {units} max", said(tiles[-1])
        )
        figures[len(tiles)] = float(figure) * (INCH if units == "in" else 1.0)
    assert len(figures) == 2
    for tiles, figure in figures.items():
        assert figure >= tiles * 1e-6 - 1e-12
        assert figure <= tiles * 1e-6 + (1e-7 * INCH if units == "in" else 0.0) + 1e-12


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("count", [1, 3, 5, 8, 12])
def test_on_a_short_strip_no_sentence_of_the_ending_is_left_half_said(units, count):
    """`1 mm off: 0.1940 mm at` is half a sentence, and the number in it is believed."""
    *tiles, whole = pieces(units, count)
    for piece in (tiles[-1], whole):
        words = said(piece)
        long = whole.dimensions[0].nominal / (INCH if units == "in" else 1.0)
        assert f"{long:.{2 if units == 'mm' else 3}f} {units}" in words
        assert re.search(rf" off: [0-9.]+ {units} (at each|a) pitch\.", words)
        assert re.search(rf"Rounding.*: [0-9.]+ {units} max\.", words)
