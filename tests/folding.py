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


def turn_onto_face(
    normal: Vector, row: float, slopes: tuple[float, float], side: str, toward: float
) -> Vector:
    """Lay a body on a face, its row on the line of holes; return the turn from its frame to space.

    Args:
        normal: of the plane that the body rests on, upward, in its own frame: x along the row, y
            forward, z up its bore.
        row: 1 where its row runs along x, -1 where it runs against it.
        slopes: of the face forward and along the edge, outward.
        side: of the face.
        toward: 1 where the row is to run toward larger y of space, else -1.

    Returns:
        A matrix of shape (3, 3).
    """
    # Along the row in the plane that it rests on, straight under bore and pin.
    own_row = unit(row, 0.0, -row * normal[0] / normal[2])
    own = np.column_stack([own_row, np.cross(normal, own_row), normal])
    face = face_normal(*slopes, side)
    out = slopes[1] if side == "a" else -slopes[1]
    on_face = unit(0.0, toward, toward * out)
    space = np.column_stack([on_face, np.cross(face, on_face), face])
    return np.asarray(space @ own.T)


def laid_on_face(
    normal: Vector, row: float, slopes: tuple[float, float], side: str, toward: float
) -> Vector:
    """Lay a block on a face as `turn_onto_face` does; return where its own z points."""
    turn = turn_onto_face(normal, row, slopes, side, toward)
    return np.asarray(turn @ np.array([0.0, 0.0, 1.0]))


@dataclass(frozen=True)
class RuledFace:
    """A face of a tapered wedge: rear and front edges run straight from end to end.

    Heights are counted outward, mm; each end is (rear, front, width between them).
    """

    first: tuple[float, float, float]
    last: tuple[float, float, float]
    length: float
    side: str = "a"

    def point(self, x: float, y: float) -> Vector:
        """Return the point of the face x forward of the trailing edge and y along it."""
        share = y / self.length
        rear, front, width = (
            (1.0 - share) * one + share * other
            for one, other in zip(self.first, self.last, strict=True)
        )
        high = rear + (front - rear) * x / width
        return np.array([x, y, high if self.side == "a" else -high])

    def slopes(self, x: float, y: float, step: float = 1e-3) -> tuple[float, float]:
        """Return the outward rise of the face forward and along the edge, from its points."""
        sign = 1.0 if self.side == "a" else -1.0
        ahead, back = self.point(x + step, y), self.point(x - step, y)
        far, near = self.point(x, y + step), self.point(x, y - step)
        rises = (float(ahead[2] - back[2]), float(far[2] - near[2]))
        return (sign * rises[0] / (2 * step), sign * rises[1] / (2 * step))
