"""The jigs: pieces made from angles and sizes, without a thought of paper or files."""

from jiggen.jigs.judge import bore_checks, skin_checks
from jiggen.jigs.plan import KINDS, build_pieces
from jiggen.jigs.stand import stands

__all__ = ["KINDS", "bore_checks", "build_pieces", "skin_checks", "stands"]
