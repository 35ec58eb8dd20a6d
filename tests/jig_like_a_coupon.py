"""A jig for the tests of proof: the dimensions of a kerf coupon on a plain plate."""

from jiggen.drawing.face import Face, job_letters
from jiggen.drawing.shapes import Path
from jiggen.jigs.plan import Jig, Plan

KIND = "coupon"


def _plan(solution):
    face = Face(job_letters(solution.job.name), solution.job.units)
    for tenths in range(25, 34):
        face.size(f"slot-{tenths / 10:.1f}", (0.0, 0.0), (tenths / 10, 0.0))
    face.size("fingers-x", (5.0, 5.0), (45.0, 5.0), "over all 8 loose bars pushed together")
    face.size("fingers-y", (5.0, 5.0), (5.0, 45.0), "over all 8 loose bars pushed together")
    plate = Path.closed([(0.0, 0.0), (110.0, 0.0), (110.0, 90.0), (0.0, 90.0)])
    piece = face.piece(KIND, KIND, "COUPON", plate, forward=None, on_paper=False)
    return Plan(kind=KIND, pieces=(piece,))


JIG = Jig(kind=KIND, plan=_plan, asked_for=lambda solution: False)
