"""The registration crosses of a strip stand where its check dimensions are measured from."""

import pytest
from samplejobs import a_job, row_of_holes, skins

from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Path
from jiggen.jigs.strip_pieces import strip_pieces
from jiggen.job.sections import Job, Strip
from jiggen.solve import solve

HALF = 2.2


def job(zero: str) -> Job:
    """Return an edge whose strip has several tiles."""
    return a_job(skins(7.5, 3.0), holes=row_of_holes(30), depth=24.0, strip=Strip(zero=zero))


def drawn_crosses(piece: Piece) -> set[tuple[float, float]]:
    """Return the middles of strokes of a cross's length along both axes."""
    lying, upright = set(), set()
    for mark in piece.marks:
        if not isinstance(mark.shape, Path) or len(mark.shape.edges) != 1 or mark.dashed:
            continue
        box = mark.shape.bounds()
        middle = (round((box.left + box.right) / 2, 6), round((box.bottom + box.top) / 2, 6))
        if box.width == pytest.approx(2 * HALF) and box.height == pytest.approx(0.0, abs=1e-9):
            lying.add(middle)
        if box.height == pytest.approx(2 * HALF) and box.width == pytest.approx(0.0, abs=1e-9):
            upright.add(middle)
    return lying & upright


@pytest.mark.parametrize("zero", ["left", "right"])
def test_every_length_between_crosses_ends_on_crosses_that_are_drawn(zero):
    """Drawn elsewhere than they are told, a true print is corrected until it is a wrong one."""
    *tiles, _ = strip_pieces(solve(job(zero)))
    assert len(tiles) > 1
    for tile in tiles:
        told = [d for d in tile.dimensions if "cross" in d.how or d.name == "crosses"]
        ends = {(round(point.x, 6), round(point.y, 6)) for d in told for point in (d.start, d.end)}
        assert len(ends) == 4
        assert ends == drawn_crosses(tile)
