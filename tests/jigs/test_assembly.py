"""The thumb sketches: which plate goes where, drawn on paper and kept inside the page."""

import pytest
from jiggen.drawing.table import INSET
from jiggen.jigs.assembly import corner_sketch, cradle_sketch
from shapely_pieces import ink

from jiggen.drawing.page import page_room
from jiggen.drawing.shapes import Op, Text
from jiggen.facts.papers import PAPERS

ROOM = page_room(*PAPERS["a4"], 10.0).width
SAID = ("Ribs into the base plate, fence down over the ribs, seat plate last.",)
SKETCHES = {"corner": corner_sketch(ROOM), "cradle": cradle_sketch(ROOM, SAID)}


def words(name: str) -> list[str]:
    return [m.shape.text for m in SKETCHES[name].marks if isinstance(m.shape, Text)]


@pytest.mark.parametrize("name", SKETCHES)
def test_a_sketch_stays_in_its_strip_and_is_never_cut(name):
    """What runs into the next heading, or into a cut file, does harm."""
    strip = SKETCHES[name]
    boxes = [m.bounds() for m in strip.marks]
    assert max(b.top for b in boxes) <= 0.0
    assert min(b.bottom for b in boxes) >= -strip.height
    assert min(b.left for b in boxes) >= -1e-9
    assert max(b.right for b in boxes) <= ROOM - INSET
    assert {m.op for m in strip.marks} == {Op.NOTE}


@pytest.mark.parametrize("name", SKETCHES)
def test_no_word_of_a_sketch_lies_on_a_line(name):
    """A name that is struck through is not read."""
    inks = [(m, ink(m)) for m in SKETCHES[name].marks]
    for mark, box in inks:
        if isinstance(mark.shape, Text):
            for other, shape in inks:
                if other is not mark:
                    # A word may stand on the blank of a plate, not on its outline.
                    solid = shape.geom_type == "Polygon" and not isinstance(other.shape, Text)
                    line = shape.exterior if solid else shape
                    assert not box.intersects(line), (mark.shape, other.shape)


def test_every_plate_of_the_two_assemblies_is_named():
    """The sketch is for whoever does not know which plate is which."""
    assert {"stop", "cheek", "cross plate", "bit", "skin", "TE", "FORWARD"} <= set(words("corner"))
    assert {"base plate", "rib", "seat plate", "fence", "wedge", "TE"} <= set(words("cradle"))
    assert " ".join(words("cradle")).endswith(SAID[0])
