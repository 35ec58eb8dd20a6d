"""The jigs: pieces made from angles and sizes, without a thought of paper or files.

Each name is loaded when it is first asked for: a verdict needs to know where guides stand, and none
of what draws them.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jiggen.jigs.checks import jig_checks
    from jiggen.jigs.plan import KINDS, build_pieces
    from jiggen.jigs.stand import stands
else:
    _NAMES_AT = {
        "checks": ("jig_checks",),
        "plan": ("KINDS", "build_pieces"),
        "stand": ("stands",),
    }

    def __getattr__(name: str) -> object:
        for module, names in _NAMES_AT.items():
            if name in names:
                return getattr(import_module(f"{__name__}.{module}"), name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


__all__ = ["KINDS", "build_pieces", "jig_checks", "stands"]
