"""Strategies that several test folders share."""

import math

from hypothesis import assume
from hypothesis import strategies as st

from jiggen.drawing.crossing import first_crossing
from jiggen.drawing.shapes import Path
from jiggen.geometry.wedge import Station, Wedge


@st.composite
def outlines(draw: st.DrawFn) -> Path:
    """Return a closed counter-clockwise outline, 40 to 80 mm across, of lines and shallow arcs.

    No corner is sharper than 45 deg, and no edge crosses another.
    """
    count = draw(st.integers(4, 8))
    spread = [draw(st.floats(0.8, 1.2)) for _ in range(count)]
    angle, corners = draw(st.floats(0.0, 6.0)), []
    for share in spread:
        radius = draw(st.floats(24.0, 40.0))
        bulge = draw(st.one_of(st.just(0.0), st.floats(0.02, 0.2), st.floats(-0.2, -0.02)))
        corners.append((radius * math.cos(angle), radius * math.sin(angle), bulge))
        angle += math.tau * share / sum(spread)
    path = Path.closed(corners)
    for before, after in zip((path.edges[-1], *path.edges), path.edges, strict=False):
        u, v = before.direction(at_end=True), after.direction()
        assume(u.x * v.x + u.y * v.y > math.cos(math.radians(135)))
    assume(first_crossing(path) is None)
    return path


@st.composite
def skin_angle_pairs(draw: st.DrawFn) -> tuple[float, float]:
    """Return two skin angles, radians, that open forward; one of them may be 0 or thin forward."""
    a = draw(st.floats(-10.0, 44.0))
    b = draw(st.floats(max(-10.0, 0.05 - a), 44.0))
    return math.radians(a), math.radians(b)


@st.composite
def stations(draw: st.DrawFn, at: float = 0.0) -> Station:
    """Return a station with a known rear, measured by angles or (with a width) by thickness."""
    a, b = draw(skin_angle_pairs())
    return Station(
        at=at,
        slope_a=math.tan(a),
        slope_b=math.tan(b),
        rear_a=draw(st.floats(0.0, 3.0)),
        rear_b=draw(st.floats(0.0, 3.0)),
        width=draw(st.one_of(st.none(), st.floats(5.0, 60.0))),
        plus_minus_a=draw(st.one_of(st.none(), st.floats(0.0, 0.02))),
        plus_minus_b=draw(st.one_of(st.none(), st.floats(0.0, 0.02))),
    )


@st.composite
def wedges(draw: st.DrawFn, least: int = 1, most: int = 5) -> Wedge:
    """Return a wedge of some stations, 50 to 900 mm apart."""
    at, row = draw(st.floats(-200.0, 200.0)), []
    for _ in range(draw(st.integers(least, most))):
        row.append(draw(stations(at=at)))
        at += draw(st.floats(50.0, 900.0))
    return Wedge(stations=tuple(row))
