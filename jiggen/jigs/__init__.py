"""The jigs: pieces made from angles and sizes, without a thought of paper or files."""

from jiggen.jigs.plan import KINDS, bore_checks, build_pieces, skin_checks, stands

__all__ = ["KINDS", "bore_checks", "build_pieces", "skin_checks", "stands"]
