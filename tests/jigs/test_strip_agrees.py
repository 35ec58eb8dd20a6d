"""The hole strip, its map and its guides agree with one another."""

import re
from dataclasses import replace

from samplejobs import a_job, bulging, row_of_holes, skins

from jiggen.drawing.shapes import Text
from jiggen.drawing.table import Setting
from jiggen.jigs.strip_map import map_strips
from jiggen.jigs.strip_pieces import strip_pieces
from jiggen.job.sections import Print, Stock, Strip
from jiggen.solve import solve

INCH = 25.4


def test_the_map_names_the_holes_of_a_tile_as_the_tile_itself_does():
    """Told apart by their holes, two tiles were joined in the wrong place."""
    at = tuple(INCH * (0.5 + n) for n in range(52))
    stock = Stock(length=56 * INCH, trim=(0.0, 52 * INCH))
    holes = row_of_holes(52, positions=at, drill=2.489, line=0.375 * INCH)
    job = a_job(skins(6.0, 3.0), holes=holes, stock=stock, strip=Strip())
    letter = Print(paper=(215.9, 279.4), paper_name="letter")
    found = solve(replace(job, units="in", print=letter))
    tiles = [piece for piece in strip_pieces(found) if piece.for_print]
    drawn = [
        mark.shape.text
        for strip in map_strips(found, tiles, Setting(width=180.0), {})
        for mark in strip.marks
        if isinstance(mark.shape, Text)
    ]
    assert len(tiles) > 3
    named = [text for text in drawn if re.fullmatch(r"holes \d+-\d+", text)]
    assert named == [tile.notes[0] for tile in tiles]


def words_of(*stations) -> str:
    holes = row_of_holes(12, line=15.0)
    found = solve(a_job(*stations, holes=holes, strip=Strip()))
    return " ".join(
        mark.shape.text
        for piece in strip_pieces(found)
        for mark in piece.marks
        if isinstance(mark.shape, Text)
    )


def test_on_a_curved_skin_the_strip_gives_no_guide_a_corner_that_it_has_not():
    """Set by the strip's figure a guide on feet is taken for the wrong one, or filed to it."""
    curved, flat = words_of(bulging()), words_of(skins(6.0, 3.0))
    assert "guide a1" in curved
    assert "corner: see the guide" in curved
    assert "forward corner" not in curved
    assert re.search(r"guide a1, [^°]*, forward corner 84\.00°", flat)
