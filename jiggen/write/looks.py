"""How each operation looks: pen widths and greys on paper, colours in cut files.

The colours are this project's own and mean nothing to a machine: which layer is cut, scored or
engraved is said by the layer's name. A job may set others.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from jiggen.drawing.shapes import Op

#: The order in which operations stand in every file.
OPERATIONS = (Op.CUT, Op.SCORE, Op.ENGRAVE, Op.NOTE)

#: ``#rrggbb`` by operation: earth tones that a screen tells apart and nobody takes for a code.
COLOURS: Mapping[str, str] = MappingProxyType(
    {"CUT": "#8a3b12", "SCORE": "#1f6f5c", "ENGRAVE": "#4b4f8f", "NOTE": "#7d7468"}
)

#: Pen width on paper by operation, mm. CUT is a hairline that the knife covers.
PAPER_LINES: Mapping[Op, float] = MappingProxyType(
    {Op.CUT: 0.1, Op.SCORE: 0.18, Op.ENGRAVE: 0.25, Op.NOTE: 0.18}
)

#: Grey on paper by operation, 0 black to 1 white.
PAPER_GREYS: Mapping[Op, float] = MappingProxyType(
    {Op.CUT: 0.0, Op.SCORE: 0.0, Op.ENGRAVE: 0.0, Op.NOTE: 0.25}
)

#: mm on and off of a hidden or an axis line on paper.
PAPER_DASHES = (2.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """How cut files look; the geometry does not depend on it, except for the lettering.

    Attributes:
        colours: ``#rrggbb`` by operation name; operations left out keep the project's own.
        line: pen width in mm.
        live_text: leave text as text instead of drawing it in single strokes.
    """

    colours: Mapping[str, str] = field(default_factory=dict)
    line: float = 0.1
    live_text: bool = False

    def colour(self, op: Op) -> str:
        """Return the colour of an operation as ``#rrggbb``."""
        return self.colours.get(op.value, COLOURS[op.value])
