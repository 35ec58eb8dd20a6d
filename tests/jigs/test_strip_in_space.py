"""The hole strip laid on the wedge in space: its marks lie on the drill axes, face outward."""

import math

import numpy as np
import pytest
from folding import Leaf, face_normal, forward_on_face, off_drill_axis
from samplejobs import a_job, row_of_holes, skins

from jiggen.drawing.shapes import Circle
from jiggen.jigs.strip import JIG
from jiggen.job.sections import Strip
from jiggen.solve import solve

#: mm. From the strip's own x = 0 to the zero end: it begins 12 mm before it.
BEFORE = -12.0
PLACES = tuple(15.0 + 26.0 * n for n in range(9))


@pytest.mark.parametrize("skin_angles", [(5.7, 5.7), (12.0, 3.0), (24.0, 9.0)])
@pytest.mark.parametrize("side", ["a", "b"])
def test_on_its_face_every_mark_lies_on_a_drill_axis_with_the_print_outward(skin_angles, side):
    """Drawn by the chord, a mark on a steep skin would be short of its hole: 0.8 mm at 24 degrees.

    The strip lies with its lower edge on the trailing edge, its up direction forward on the face.
    With the print outward there is one way only that its x can then run.
    """
    job = a_job(
        skins(*skin_angles), holes=row_of_holes(9), rear_thickness=0.0, strip=Strip(side=side)
    )
    whole = JIG.plan(solve(job)).pieces[-1]
    slope = math.tan(math.radians(skin_angles[0 if side == "a" else 1]))
    forward = forward_on_face(slope, side)
    # Print outward: x to the right is forward turned by a quarter, as seen from outside.
    right = np.cross(forward, face_normal(slope, 0.0, side))
    along = float(right[1])
    assert abs(along) == pytest.approx(1.0)
    leaf = Leaf(np.array([0.0, BEFORE, 0.0]), right, forward)
    assert leaf.normal == pytest.approx(face_normal(slope, 0.0, side))
    marks = [m.shape.centre for m in whole.marks if isinstance(m.shape, Circle)]
    assert len(marks) == len(PLACES)
    found = sorted((leaf.point(mark) for mark in marks), key=lambda p: float(p[1]))
    for point, place in zip(found, PLACES, strict=True):
        axis = np.array([job.holes.line, place, 0.0])
        # From the mark straight down the chord normal to the hole's place in the chord plane.
        assert point[:2] == pytest.approx(axis[:2], abs=1e-9)
        assert off_drill_axis((point - axis) / np.linalg.norm(point - axis)) < 0.001
    # The band that is filed away lies on the trailing edge itself.
    (te,) = whole.true_edges
    assert leaf.point(te.start)[0] == pytest.approx(0.0, abs=1e-12)
    assert leaf.point(te.end)[0] == pytest.approx(0.0, abs=1e-12)
