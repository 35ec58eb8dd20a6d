"""The kerf coupon of a job."""

from __future__ import annotations

from jiggen.drawing.piece import Piece
from jiggen.jigs.coupon import build_coupon
from jiggen.solution import Solution


def coupon_pieces(solution: Solution) -> list[Piece]:
    """Return the kerf coupon of a job.

    Args:
        solution: the solved job.
    """
    return [build_coupon("coupon", solution.job.name, solution.job.cut.sheet)]
