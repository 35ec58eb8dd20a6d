"""A jig in one file, for the tests: a try square, that the bit is sighted along.

::

        D__C
        |  |
        |  |
        |  | square
        |__|________
        A           B        skin
"""

from jiggen.drawing.face import Face
from jiggen.drawing.shapes import Edge, Path
from jiggen.jigs.plan import Jig, Plan, Table

KIND = "square"
#: mm. Blade and stock, and how wide each is.
LONG, HIGH, WIDE = 90.0, 80.0, 40.0


def _plan(solution):
    face = Face(solution.job.name, solution.job.units)
    at = {"A": (0.0, 0.0), "B": (LONG, 0.0), "C": (WIDE, HIGH), "D": (0.0, HIGH)}
    outline = Path.closed([at["A"], at["B"], (LONG, WIDE), (WIDE, WIDE), at["C"], at["D"]])
    face.hole((WIDE / 2, HIGH - 8.0), 3.0)
    base, blade, *_ = (outline.edges[0], outline.edges[-1].reversed())
    face.angle("square", 90.0, base, Edge(blade.start, blade.end))
    face.over(at, ("AB", "AD", "BD", "AC", "BC", "CD"))
    piece = face.piece(
        KIND, "square-1", "SQUARE 1", outline, letters=at, number="90.0°", allowed_angle=0.5
    )
    return Plan(
        kind=KIND,
        pieces=(piece,),
        steps=("Stand it on the skin, blade up.", "Sight the bit along the blade."),
        tables=(Table(title="SQUARE 1", rows=(("blade", "90.00°"),)),),
    )


JIG = Jig(kind=KIND, plan=_plan, asked_for=lambda solution: True)
