"""Paper sizes in mm, with the standard that fixes them."""

from __future__ import annotations

from jiggen.units import INCH

SOURCE = (
    "a5 to a2: ISO 216 as tabled in the LilyPond notation manual, A.5 (read);"
    " letter 8.5 x 11, legal 8.5 x 14, tabloid 11 x 17 in: JavaFX Paper class (read)"
)

PAPERS: dict[str, tuple[float, float]] = {
    "a5": (148.0, 210.0),
    "a4": (210.0, 297.0),
    "a3": (297.0, 420.0),
    "a2": (420.0, 594.0),
    "letter": (8.5 * INCH, 11.0 * INCH),
    "legal": (8.5 * INCH, 14.0 * INCH),
    "tabloid": (11.0 * INCH, 17.0 * INCH),
}
"""Width and height of each paper, upright, mm; see `SOURCE`."""
