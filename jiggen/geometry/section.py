"""The last part of a section's outline, fitted to two faces off the chord line.

::

      upper (side A)   .-''''-._
                     (           ''--..__          first point: trailing edge, upper
      leading edge   (-------------------=  TE     chord line: mid trailing edge to the
                      '-..___......---'''          farthest point
      lower (side B)                     |<- from    last point: trailing edge, lower

The outline is measured from the trailing edge forward along the chord line, and each side's height
is counted outward from it, so that both sides read alike and like the rest of the geometry.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from jiggen.errors import ImpossibleWedge
from jiggen.geometry.frame import Array, Side
from jiggen.geometry.measured import Measured
from jiggen.units import size

SAMPLES = 201
"""Even samples along the chord for the fit: the spacing of the file's points must not weigh."""

SLIVER = 1e-6
"""Distances along the chord below this share of it are rounding, and have no direction."""

WIDEST_EDGE = 0.10
"""Thickest trailing edge, as a share of the chord, that still counts as one."""


class Fit(Struct, frozen=True, kw_only=True):
    """Two straight faces laid through the last part of an outline."""

    slope_a: float  # tan of skin angle A, ratio
    slope_b: float  # tan of skin angle B, ratio
    bend_a: float  # largest angle between the outline of side A and its straight face, radians
    bend_b: float  # the same for side B
    reach: float  # length of chord that the fit covers, mm


class Section(Struct, frozen=True, kw_only=True, eq=False):
    """A section's outline in the frame of its trailing edge."""

    chord: float  # length of the chord in mm, square to the trailing edge
    x_a: Array  # distances forward of the trailing edge of side A's corners, mm, rising, shape (n,)
    height_a: Array  # heights of these corners off the chord plane, mm, outward, shape (n,)
    x_b: Array  # the same for side B, shape (m,)
    height_b: Array  # the same for side B

    def height(self, side: Side, x: float) -> float:
        """Return a side's height outward off the chord plane, straight from point to point, mm.

        Args:
            side: which skin.
            x: distance forward of the trailing edge, mm.

        Source: definition.
        """
        return float(self.heights(side, np.array([x]))[0])

    def heights(self, side: Side, x: Array) -> Array:
        """Return the same at several places, mm, shape (n,)."""
        return np.interp(x, *self._corners(side))

    def fit(self, start: float) -> Fit:
        """Lay a straight face through each side's last part.

        Args:
            start: where the part begins, as a share of the chord from the leading edge, 0 to 1.

        Returns:
            Slopes relative to the chord line, and how far the outline bends away from them.

        Raises:
            ImpossibleWedge: nothing is left to fit, or the sides cross.

        Source: least squares through even samples along the chord; derived.
        """
        reach = (1.0 - start) * self.chord
        if not SLIVER * self.chord < reach < self.chord:
            raise ImpossibleWedge(
                "nothing is left of the outline to lay a face through",
                key="from",
                given=f"{start:.4g}",
                remedy="from is a share of the chord between 0 and 1, e.g. 0.9",
            )
        x = np.linspace(0.0, reach, SAMPLES)
        heights = {side: self.heights(side, x) for side in ("a", "b")}
        if float((heights["a"] + heights["b"]).min()) < -1e-9 * self.chord:
            raise ImpossibleWedge(
                "the two sides of the outline cross before the trailing edge",
                remedy="check the order of its points: trailing edge, upper side, leading edge, "
                "lower side, trailing edge",
            )
        slopes = {side: _slope(x, heights[side]) for side in heights}
        return Fit(
            slope_a=slopes["a"],
            slope_b=slopes["b"],
            bend_a=self._bend("a", reach, slopes["a"]),
            bend_b=self._bend("b", reach, slopes["b"]),
            reach=reach,
        )

    def _corners(self, side: Side) -> tuple[Array, Array]:
        return (self.x_a, self.height_a) if side == "a" else (self.x_b, self.height_b)

    def _bend(self, side: Side, reach: float, slope: float) -> float:
        x, height = self._corners(side)
        step = SLIVER * self.chord
        inside = (x[:-1] < reach - step) & (x[1:] > step) & (np.diff(x) > step)
        local = np.arctan2(np.diff(height), np.diff(x))[inside]
        return float(np.abs(local - math.atan(slope)).max(initial=0.0))


def section_from_outline(
    points: Sequence[tuple[float, float]], chord: float, sweep: float = 0.0
) -> Section:
    """Lay an outline's points into the frame of the trailing edge.

    Args:
        points: x, y pairs in any unit, in one loop: trailing edge, over the upper side to the
            leading edge, back along the lower side to the trailing edge.
        chord: length of the chord as the outline was taken, mm.
        sweep: angle between the outline's plane and the square to the trailing edge, radians;
            lengths along the chord shorten by its cosine, heights stay.

    Raises:
        ImpossibleWedge: no usable trailing edge, sides exchanged, or an outline that turns back.

    Source: chord line from the middle of the trailing edge to the farthest point; common practice
        for coordinate files, no published source.
    """
    outline = np.asarray(points, dtype=np.float64)
    if outline.ndim != 2 or len(outline) < 5 or not bool(np.isfinite(outline).all()):
        raise ImpossibleWedge(
            "the outline is no row of at least 5 points",
            given=f"{len(points)} points",
            remedy="give x and y of each point, from the trailing edge round and back to it",
        )
    if not 0.0 < chord < math.inf:
        raise ImpossibleWedge(
            "the chord has no length", key="chord", given=size(chord), remedy="more than 0"
        )
    edge = (outline[0] + outline[-1]) / 2.0
    away = np.hypot(*(outline - edge).T)
    nose, length = int(away.argmax()), float(away.max())
    gap = float(np.hypot(*(outline[0] - outline[-1])))
    _usable_edge(gap, length, nose, len(outline))
    x, height = _in_frame(outline - edge, outline[nose] - edge, length, chord)
    x_a, height_a = _side("upper", x[: nose + 1], height[: nose + 1], chord)
    x_b, height_b = _side("lower", x[nose:][::-1], -height[nose:][::-1], chord)
    if float(np.mean(height_a)) + float(np.mean(height_b)) <= 0.0:
        raise ImpossibleWedge(
            "the outline runs over the lower side first, or is flat",
            remedy="start at the trailing edge and go over the upper side to the leading edge",
        )
    narrow = math.cos(sweep)
    return Section(
        chord=chord * narrow,
        x_a=x_a * narrow,
        height_a=height_a,
        x_b=x_b * narrow,
        height_b=height_b,
    )


def measured_from_fit(fit: Fit) -> Measured:
    """Turn the two fitted faces into a station's slopes.

    Args:
        fit: faces laid through the last part of an outline, square to the trailing edge.

    Returns:
        The slopes. `z`, the error of a coordinate, counts at both ends of the face; `bend` is the
        outline's own bend away from the face, as if it were a reading good to the whole of it.

    Source: derived; the bend as a bound is common practice, no published source.
    """
    flat_a = 1.0 / (1.0 + fit.slope_a**2)
    flat_b = 1.0 / (1.0 + fit.slope_b**2)
    both_ends = math.sqrt(2.0) / fit.reach
    return Measured(
        slope_a=fit.slope_a,
        slope_b=fit.slope_b,
        effects={
            "bend": (fit.bend_a, fit.bend_b),
            "z": (both_ends * flat_a, both_ends * flat_b),
        },
    )


def _slope(x: Array, height: Array) -> float:
    off = x - x.mean()
    return float(off @ height / (off @ off))


def _usable_edge(gap: float, length: float, nose: int, count: int) -> None:
    if length <= 0.0 or gap > WIDEST_EDGE * length or nose in (0, count - 1):
        raise ImpossibleWedge(
            "the outline has no usable trailing edge: its first and last points lie too far apart",
            given=f"{gap:.4g} apart, in the file's unit, on a chord of {length:.4g}",
            remedy="start and end the outline at the trailing edge, the two ends not more than "
            f"{WIDEST_EDGE:.0%} of the chord apart",
        )


def _in_frame(from_edge: Array, forward: Array, length: float, chord: float) -> tuple[Array, Array]:
    """Return distances forward and heights, mm, of points relative to the trailing edge."""
    unit = forward / length
    scale = chord / length
    # Files run x aft from the leading edge and y up; turning `forward` clockwise points up.
    return from_edge @ unit * scale, from_edge @ np.array([unit[1], -unit[0]]) * scale


def _side(name: str, x: Array, height: Array, chord: float) -> tuple[Array, Array]:
    """Return one side's corners with x rising from 0, the trailing edge."""
    steps = np.diff(x)
    if bool((steps[x[1:] < 0.9 * chord] < -1e-9 * chord).any()):
        raise ImpossibleWedge(
            f"the {name} side of the outline turns back on itself",
            remedy="list the points of each side in order along the chord",
        )
    # Doubled points, and the last few round the leading edge, may stand still or step back.
    ahead = np.concatenate([[True], x[1:] > np.maximum.accumulate(x)[:-1] + 1e-12 * chord])
    x, height = x[ahead], height[ahead]
    if len(x) < 3:
        raise ImpossibleWedge(
            f"the {name} side of the outline has too few points",
            remedy="give at least three points along each side",
        )
    if abs(x[0]) < SLIVER * chord:
        x = np.concatenate([[0.0], x[1:]])
    elif x[0] > 0.0:  # a blunt edge cut square to another line than the chord
        at_edge = height[0] - x[0] * (height[1] - height[0]) / (x[1] - x[0])
        x, height = np.concatenate([[0.0], x]), np.concatenate([[at_edge], height])
    return x, height
