"""A jig for the tests of proof, in one file: guides with two check edges, and a foot.

::

        D______________E
       /              /
      / forward      / aft
     C              F
      A____________B         the tips at both corners are cut away

Every guide of the guide set is one piece; the foot has a length that must be true and no angle.
"""

import math

from jiggen.drawing.affine import Point
from jiggen.drawing.face import Face, job_letters
from jiggen.drawing.shapes import Edge, Path
from jiggen.jigs.plan import Jig, Plan

KIND = "guide"
#: mm. Length of the base with its tips, of the edges, and what is cut off the tips.
LONG, HIGH, TIP = 60.0, 50.0, 8.0
#: Which lengths the calliper table names: five that fix each edge, and one more for each.
OVER = ("AB", "AD", "BD", "BC", "CD", "AC", "BE", "AE", "AF", "EF", "BF")
ALLOWED = 0.5


def corners(forward: float, aft: float | None = None) -> dict[str, tuple[float, float]]:
    """Return the corners A to F of a guide with these angles, degrees; aft as drawn if left out."""
    up = [math.radians(forward), math.radians(180.0 - (180.0 - forward if aft is None else aft))]
    ahead, back = ((math.cos(a), math.sin(a)) for a in up)
    return {
        "A": (TIP, 0.0),
        "B": (LONG - TIP, 0.0),
        "C": (TIP * ahead[0], TIP * ahead[1]),
        "D": (HIGH * ahead[0], HIGH * ahead[1]),
        "E": (LONG + HIGH * back[0], HIGH * back[1]),
        "F": (LONG + TIP * back[0], TIP * back[1]),
    }


def _guide(solution, guide):
    forward = math.degrees(guide.angle)
    at = corners(forward)
    point = {name: Point(*spot) for name, spot in at.items()}
    face = Face(job_letters(solution.job.name), solution.job.units, mirrored=guide.side == "b")
    face.angle("forward", forward, Edge(point["A"], point["B"]), Edge(point["C"], point["D"]))
    face.angle("aft", 180.0 - forward, Edge(point["B"], point["A"]), Edge(point["F"], point["E"]))
    face.over(at, OVER)
    served = [hole.number for hole in solution.holes if hole.drill_now]
    return face.piece(
        KIND,
        f"{KIND}-{guide.name}",
        f"GUIDE {guide.name}",
        Path.closed([at[name] for name in "ABFEDC"]),
        letters=at,
        number=f"{forward:.1f}°",
        side=guide.side,
        allowed_angle=ALLOWED,
        leads=forward,
        serves=tuple(n for n in served if guide.first_hole <= n <= guide.last_hole),
    )


def _foot(solution):
    face = Face(job_letters(solution.job.name), solution.job.units)
    face.size("width", (0.0, 0.0), (70.0, 0.0), "over the foot")
    return face.piece(
        KIND,
        f"{KIND}-foot",
        "FOOT",
        Path.closed([(0.0, 0.0), (70.0, 0.0), (70.0, 35.0), (0.0, 35.0)]),
        allowed_length=1.0,
    )


def _plan(solution):
    guides = tuple(_guide(solution, guide) for guide in solution.guides)
    return Plan(kind=KIND, pieces=(*guides, _foot(solution)), leads_drill=True)


JIG = Jig(kind=KIND, plan=_plan, asked_for=lambda solution: True)
