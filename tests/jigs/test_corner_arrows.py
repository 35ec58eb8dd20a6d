"""The arrows on a corner guide's plates point the way that the word beside them says."""

import math

import pytest
from jiggen.jigs.corner_guide import CornerLabels, build_corner_guide
from jiggen.jigs.corner_plates import CornerSizes

from jiggen.drawing.shapes import Path, Text

SIZES = CornerSizes(height=55, foot=70, fit=0.1, stock=3, relief=3, pin=12, chuck=36)
LABELS = CornerLabels(
    job="Test edge",
    title="Corner a1",
    side="upper",
    holes="holes 1-9",
    faces=("this face to hole 1", "this face to the last hole", "this face to the TE"),
    ends=("HOLE 1", "LAST HOLE"),
)
ENDS = {"stop": ("TE", "FORWARD"), "cheek": ("TE", "FORWARD"), "cross": ("HOLE 1", "LAST HOLE")}


@pytest.mark.parametrize("mirrored", [False, True])
def test_each_arrow_points_to_its_words_end_of_the_base(mirrored):
    """Stood the wrong way round, the guide leans the bit by twice the skin angle."""
    skin = math.radians(5.7)
    for piece in build_corner_guide(
        "corner-a1", skin, 0.01, 2.49, SIZES, LABELS, pitch=26.0, mirrored=mirrored
    ):
        # The base runs toward the forward corner, or toward the last hole.
        way = piece.angles[0].base.direction().x
        shapes = [mark.shape for mark in piece.marks]
        arrows = [s for s in shapes if isinstance(s, Path) and s.is_closed and len(s.edges) == 7]
        assert len(arrows) == 2
        for word, sign in zip(ENDS[piece.name.rsplit("-", 1)[-1]], (-way, way), strict=True):
            (said,) = [s.bounds() for s in shapes if isinstance(s, Text) and s.text == word]
            middle = (said.left + said.right) / 2
            arrow = min(arrows, key=lambda a: abs(a.bounds().left - middle))
            box = arrow.bounds()
            (tip,) = [
                edge.start.x
                for edge in arrow.edges
                if abs(edge.start.y - (box.bottom + box.top) / 2) < 1e-9
            ]
            assert (tip - (box.left + box.right) / 2) * sign > 0.0
