"""Riveting rules that a job can be checked against, each with its source.

The user's plans win over every number here; see the cautions in the README.
"""

from __future__ import annotations

EDGE_DISTANCE_MIN = 2.0
"""Least distance from hole centre to sheet edge, in rivet diameters."""
EDGE_DISTANCE_SOURCE = (
    "2D: FAA AC 43.13-1B para 4-57 (read as quoted elsewhere); US Army TM 10-5410-229-13&P"
    " para 5-6(3)(b) (read)"
)

EDGE_DISTANCE_COUNTERSUNK = 2.5
"""The same for countersunk rivets, in rivet diameters."""
EDGE_DISTANCE_COUNTERSUNK_SOURCE = (
    "2.5D for countersunk rivets: FAA-H-8083-31 fig 4-78 (from memory, not seen in print)"
)

PITCH_MIN = 3.0
"""Least distance between hole centres in a single row, in rivet diameters."""
PITCH_SOURCE = (
    "3D: US Army TM 10-5410-229-13&P para 5-6 (read); Navy training manual 14018 ch. 13 (read)"
)

PITCH_USUAL = (4.0, 8.0)
"""Usual distance between hole centres in a single row, in rivet diameters."""
PITCH_USUAL_SOURCE = "4D to 8D: Navy training manual 14018 ch. 13 (read)"

PITCH_MOST = 10.0
"""Largest distance between hole centres in a single row, in rivet diameters."""
PITCH_MOST_SOURCE = (
    "10D: an aviation trade magazine's article on riveting (read); FAA handbook (from memory)"
)

THIN_METAL = 2.0
"""Metal between a saw cut and a lightening hole that is called thin below this, mm: it bends as
the cut is filed. Common practice, no published source."""

_COUNTERSINK_MIN_SHEET = {
    2.38125: 1.016,
    3.175: 1.27,
    3.96875: 1.6256,
    4.7625: 1.8288,
    6.35: 1.8288,
}
COUNTERSINK_MIN_SHEET_SOURCE = (
    "thinnest sheet for a 100 degree machine countersink: US Army TM 9-2320-363-34-2 Table 4"
    " (read); other books say .042 or .051 in for a 1/8 rivet"
)
HEAD_HEIGHT_SOURCE = (
    "countersink only sheet thicker than the head is high: FAA AC 65-15A ch. 5 (read as quoted"
    " elsewhere)"
)

DIMPLE_MOST = 1.016
"""Sheet up to this, mm, takes a dimple best."""
DIMPLE_SOURCE = "dimple best up to .040 in: FAA AC 65-15A ch. 5 (read as quoted elsewhere)"

NESTING_SOURCE = (
    "derived geometry: a cone moved out by the skin's thickness;"
    " dimpled skin over a countersunk part: Navy training manual 14018 p. 548 (read)"
)
COUNTERSUNK_SKIN_SOURCE = (
    "derived geometry: what the cone of the rivet's head cuts of the wedge below a countersunk skin"
)
LAND_SOURCE = "derived geometry: what two cones leave of the hole"


def countersink_min_sheet(rivet: float) -> float | None:
    """Return the thinnest sheet that takes a machine countersink for this rivet.

    Args:
        rivet: nominal rivet diameter, mm.

    Returns:
        Sheet thickness in mm; None where the table has no row within 0.05 mm of that diameter.

    Source: US Army TM 9-2320-363-34-2 Table 4 (read): 3/32 .040, 1/8 .050, 5/32 .064,
        3/16 .072, 1/4 .072 in.
    """
    for size, sheet in _COUNTERSINK_MIN_SHEET.items():
        if abs(size - rivet) <= 0.05:
            return sheet
    return None
