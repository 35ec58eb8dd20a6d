"""The jigs: pieces made from angles and sizes, without a thought of paper or files."""

from jiggen.jigs.checks import jig_checks
from jiggen.jigs.plan import KINDS, build_pieces
from jiggen.jigs.stand import stands

__all__ = ["KINDS", "build_pieces", "jig_checks", "stands"]
