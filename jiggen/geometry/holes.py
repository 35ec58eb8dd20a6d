"""The hole line: thickness, grip, drift, order, pins, and what wedge and rivet do not bear.

::

            |<---- c ---->|
            |             :  drill axis
            |        _.-''|''-  face A
         TE |__.--''      | h   thickness along the axis
            |''--..__     |
            |        ''-..|..-  face B

A hole drilled square to face A starts where it should, at x = c, and goes in along that face's
inward normal, which advances tan a for each unit down. With s the depth at which it leaves by
face B, which falls away forward by tan b,

    s = h + (s tan a) tan b      =>      s = h / (1 - tan a tan b)
    drift = s tan a = h tan a / (1 - tan a tan b)

forward: how far it misses at the far skin. For a = b it is (h/2) tan 2a. Where tan a tan b
reaches 1 the drill runs along face B and never leaves.

A guide that is wrong by e sends the drill off by h tan e at the height of the true exit; the
slope of face B changes that by 1 / (1 - tan e tan b), left out since e is half a degree. From the
drift d that is allowed follows the error that each hole can bear, e = atan(d / h).

Order: let the drilled holes be counted 0 ... n - 1 and m = floor(n / 2). Pass k of p holds those
whose i - m leaves k when divided by p; each goes from i = m up, then from m down. The fastener of
hole i goes in from side A where floor((i - m) / p) is even, so that neighbours of one pass are
fastened from opposite sides and both sides hold as many, give or take p.
"""

from __future__ import annotations

import math
from collections.abc import Collection

import numpy as np

from jiggen.errors import ImpossibleWedge
from jiggen.geometry.frame import Array, Side
from jiggen.geometry.wedge import Faces
from jiggen.units import or_less, or_more, size, words

NO_EXIT = 1e-9
"""Where 1 - tan a tan b is below this, a drill square to one skin never leaves by the other."""
MOST_DRIFT = 0.10
"""Drift that is allowed where no hole limit is known, mm: common practice, no published source."""
LEAST_DRIFT = 0.03
"""No default asks for less, mm: nobody drills better."""


def thickness(faces: Faces, line: float) -> Array:
    """Return the wedge's thickness along the drill axis.

    Args:
        faces: the two faces at n places.
        line: distance of the hole line forward of the trailing edge, mm.

    Returns:
        Thickness h = t_rear + c (tan a + tan b), mm, shape (n,); NaN where the rear is not known.

    Source: derived: two straight faces.
    """
    return faces.rear + line * (faces.slope_a + faces.slope_b)


def grip(wedge_thickness: Array, faces: Faces, skin: tuple[float, float] | None) -> Array:
    """Return what the rivet holds together: the wedge and both skins along the drill axis.

    Args:
        wedge_thickness: thickness of the wedge along the axis, mm, shape (n,).
        faces: the two faces at the same places.
        skin: thickness of skin A and of skin B, mm, or None.

    Returns:
        Grip, mm, shape (n,): each skin counts thickness / cos(skin angle); NaN where not known.

    Source: derived: a sheet crossed at an angle.
    """
    if skin is None:
        return np.full_like(wedge_thickness, np.nan)
    across_a = skin[0] * np.sqrt(1.0 + faces.slope_a**2)  # 1/cos of an arc tangent
    across_b = skin[1] * np.sqrt(1.0 + faces.slope_b**2)
    return np.asarray(wedge_thickness + across_a + across_b)


def drift_if_square(wedge_thickness: Array, near_slope: Array, far_slope: Array) -> Array:
    """Return where a hole drilled square to the near skin leaves the far one.

    Args:
        wedge_thickness: thickness along the drill axis, mm, shape (n,).
        near_slope: tan of the skin angle on the side that the drill stands on, ratio.
        far_slope: tan of the other skin angle, ratio.

    Returns:
        Distance along x from the hole's true place on the far face, mm, positive forward; NaN
        where the thickness is not known, or where the drill would never come out.

    Source: derived: h tan a / (1 - tan a tan b).
    """
    opening = 1.0 - near_slope * far_slope
    comes_out = opening > NO_EXIT
    exit_at = wedge_thickness * near_slope / np.where(comes_out, opening, 1.0)
    return np.where(comes_out, exit_at, np.nan)


def skin_hole(punched: float, drill: float, slope: float, skin: float, drift: float) -> float:
    """Return how wide a hole comes out that is punched square to a skin and drilled slanting.

    Args:
        punched: diameter of the hole in the skin, mm; the drill's own where it was not punched.
        drill: diameter that the bit really cuts, mm.
        slope: tan of the skin angle, ratio; of the lean, for the width along the row.
        skin: thickness, mm.
        drift: how far beside the punched hole's middle the bit passes half way through, mm.

    Returns:
        mm along the slope: of the two outlines together, where they lie farthest apart. At least
        the wider of the two alone.

    Source: derived: the bit's trace in the skin is d / cos a wide and moves by t tan a through it.
    """
    trace = drill * math.hypot(1.0, slope)
    apart = abs(drift) + skin / 2.0 * abs(slope)
    return max(punched, trace, (punched + trace) / 2.0 + apart)


def drift_left(punched: float, drill: float, slope: float, skin: float, limit: float) -> float:
    """Return the drift that the hole of a rivet bears at a skin.

    Arguments are those of `skin_hole`; `limit` is the widest hole that the rivet may have, mm.

    Returns:
        mm; 0 or less where none is left: the slope alone makes the hole too wide.

    Source: derived, from `skin_hole`.
    """
    trace = drill * math.hypot(1.0, slope)
    left = limit - (punched + trace) / 2.0 - skin / 2.0 * abs(slope)
    return min(left, limit - max(punched, trace)) if max(punched, trace) > limit else left


def usual_drift(left: float | None) -> float:
    """Return the drift allowed where none is stated: what the hole bears, within limits, mm.

    Args:
        left: see `drift_left`, mm; None where no limit was found for the rivet.

    Source: common practice, no published source.
    """
    return MOST_DRIFT if left is None else max(min(MOST_DRIFT, left), LEAST_DRIFT)


def drilling_runs(
    count: int, keep_out: Collection[int] = (), passes: int = 1
) -> list[list[list[int]]]:
    """Return the numbers of the holes in the order of drilling, as runs that go one way.

    Args:
        count: how many holes there are.
        keep_out: numbers (from 1) of holes that are not drilled now.
        passes: 1 to drill hole after hole; 2 to drill every other hole of those that are drilled
            first, the middle one among them, then those between.

    Returns:
        For each pass with holes one or two runs: from the hole nearest to the middle of the drilled
        holes to the high end, then from the middle down to the first.

    Source: common practice, no published source: a seam pinned from the middle cannot trap a bulge.
    """
    drilled = [number for number in range(1, count + 1) if number not in keep_out]
    middle = len(drilled) // 2
    found = []
    for turn in range(passes):
        own = [n for n in range(len(drilled)) if (n - middle) % passes == turn]
        up = [drilled[n] for n in own if n >= middle]
        down = [drilled[n] for n in reversed(own) if n < middle]
        found.append([run for run in (up, down) if run])
    return [of_pass for of_pass in found if of_pass]


def drilling_order(
    count: int, keep_out: Collection[int] = (), passes: int = 1
) -> tuple[int | None, ...]:
    """Return the place of each hole in the drilling order, counted from 1; None if kept out.

    Source: see `drilling_runs`.
    """
    runs = drilling_runs(count, keep_out, passes)
    sequence = [number for of_pass in runs for run in of_pass for number in run]
    place = {number: order for order, number in enumerate(sequence, start=1)}
    return tuple(place.get(number) for number in range(1, count + 1))


def pin_sides(
    count: int, keep_out: Collection[int] = (), passes: int = 1
) -> tuple[Side | None, ...]:
    """Return from which side the sheet-holding pin of each hole goes in.

    Returns:
        ``a`` or ``b`` for each hole, None if it is kept out. The middle one is pinned from side A,
        and neighbours of one pass from opposite sides: after either pass the springs pull the
        edge as much to one side as to the other.

    Source: common practice, no published source: pins on alternating sides do not bow the edge.
    """
    drilled = [number for number in range(1, count + 1) if number not in keep_out]
    middle = len(drilled) // 2
    side: dict[int, Side] = {
        number: "b" if (n - middle) // passes % 2 else "a" for n, number in enumerate(drilled)
    }
    return tuple(side.get(number) for number in range(1, count + 1))


def check_rear_edge(line: float, drill: float) -> None:
    """Check that no hole breaks out through the trailing edge.

    Args:
        line: distance of the hole line forward of the trailing edge, mm.
        drill: diameter, mm.

    Raises:
        ImpossibleWedge: the line is nearer to the edge than the drill's radius.

    Source: definition.
    """
    if line - drill / 2.0 <= 0.0:
        raise ImpossibleWedge(
            "the holes run out at the trailing edge",
            key="holes.line",
            given=words(
                "a line at {line} with a {drill} drill",
                line=size(line),
                drill=size(drill),
            ),
            remedy=words(
                "the line must lie more than {drill} forward of the edge",
                drill=or_more(drill / 2.0),
            ),
        )


def check_depth(line: float, drill: float, depth: float) -> None:
    """Check that the wedge is deep enough, front to back, for its holes.

    Args:
        line: distance of the hole line forward of the trailing edge, mm.
        drill: diameter, mm.
        depth: least distance from the trailing edge to the front of the wedge at a hole, mm.

    Raises:
        ImpossibleWedge: the drill is wider than the wedge, or the line ahead of its front.

    Source: definition.
    """
    if drill >= depth:
        raise ImpossibleWedge(
            "the drill is wider than the wedge is deep",
            key="holes.drill",
            given=words(
                "a {drill} drill in a wedge {depth} deep",
                drill=size(drill),
                depth=size(depth),
            ),
            remedy="check the drill's unit and the wedge's depth",
        )
    if line + drill / 2.0 > depth:
        raise ImpossibleWedge(
            "the hole line lies ahead of the wedge, or its holes break out at the front",
            key="holes.line",
            given=words(
                "a line at {line} in a wedge {depth} deep", line=size(line), depth=size(depth)
            ),
            remedy=words(
                "the line can lie at most {drill} forward of the trailing edge; if the wedge is "
                "deeper than it was measured, state wedge.depth",
                drill=or_less(depth - drill / 2.0),
            ),
        )
