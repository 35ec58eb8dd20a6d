"""How each operation looks in cut files: its place in the file, its colour, the pen.

The colours are this project's own and mean nothing to a machine: which layer is cut, scored or
engraved is said by the layer's name. A job may set others.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from msgspec import Struct, field

from jiggen.drawing.shapes import Op

#: The order in which operations stand in every file: what is cut comes after what is drawn on it.
OPERATIONS = (Op.ENGRAVE, Op.SCORE, Op.CUT, Op.NOTE)

#: ``#rrggbb`` by operation: earth tones that show on white and on black, and that a screen tells
#: apart and nobody takes for a code.
COLOURS: Mapping[str, str] = MappingProxyType(
    {"CUT": "#b5582a", "SCORE": "#2f8f76", "ENGRAVE": "#7478c8", "NOTE": "#8c8378"}
)


class Looks(Struct, frozen=True, kw_only=True):
    """How cut files look; the geometry does not depend on it, except for the lettering."""

    colours: Mapping[str, str] = field(default_factory=dict)  # ``#rrggbb`` by operation
    line: float = 0.1  # pen width in mm
    live_text: bool = False  # leave text as text instead of drawing it in single strokes

    def colour(self, op: Op) -> str:
        """Return the colour of an operation as ``#rrggbb``."""
        return self.colours.get(op.value, COLOURS[op.value])
