"""Folds flat pieces back into space, to measure there what they would do on the real wedge.

Space is the wedge's own frame: x forward of the trailing edge, y along it, z off the chord plane.
Nothing here is taken from the package: only plane vectors and numpy.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

CHORD_NORMAL: Vector = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class Leaf:
    """A flat piece stood up in space: where its own origin and its own x and y axes go."""

    origin: Vector
    along_x: Vector
    along_y: Vector

    def __post_init__(self) -> None:
        x, y = self.along_x, self.along_y
        assert math.isclose(float(x @ x), 1.0, abs_tol=1e-12), "the x axis must have length 1"
        assert math.isclose(float(y @ y), 1.0, abs_tol=1e-12), "the y axis must have length 1"
        assert abs(float(x @ y)) < 1e-12, "a flat piece stays flat: its axes are square"

    def point(self, at: tuple[float, float]) -> Vector:
        """Return where a point of the flat piece lies in space."""
        return self.origin + at[0] * self.along_x + at[1] * self.along_y

    def direction(self, start: tuple[float, float], end: tuple[float, float]) -> Vector:
        """Return the direction in space of an edge of the flat piece, of length 1."""
        way = self.point(end) - self.point(start)
        return np.asarray(way / np.linalg.norm(way))

    @property
    def normal(self) -> Vector:
        """Return the direction square to the piece."""
        return np.cross(self.along_x, self.along_y)


def unit(*parts: float) -> Vector:
    """Return a direction of length 1."""
    vector = np.array(parts, dtype=float)
    return np.asarray(vector / np.linalg.norm(vector))


def angle_between(first: Vector, second: Vector) -> float:
    """Return the angle between two directions in degrees, by atan2 of cross and dot."""
    return math.degrees(
        math.atan2(float(np.linalg.norm(np.cross(first, second))), float(first @ second))
    )


def off_drill_axis(direction: Vector) -> float:
    """Return how far a line is from the chord plane's normal, degrees, either way round."""
    angle = angle_between(direction, CHORD_NORMAL)
    return min(angle, 180.0 - angle)


def face_normal(slope_x: float, slope_y: float = 0.0, side: str = "a") -> Vector:
    """Return the outward normal of a face that rises by these slopes forward and along the edge.

    Slopes are counted outward on both sides, so side B lies below the chord plane.
    """
    up = unit(-slope_x, -slope_y, 1.0)
    return up if side == "a" else up * np.array([1.0, 1.0, -1.0])


def forward_on_face(slope_x: float, side: str = "a") -> Vector:
    """Return the direction straight forward on a face, in the section square to the edge."""
    return unit(1.0, 0.0, slope_x if side == "a" else -slope_x)
