"""`Solid`: a closed body of triangles that a printer makes, with what a reader finds again on it.

A solid knows the face that it stands on in use, which way is forward there, and the direction that
is its product: the axis of a bore, or the square to a working face. It lies in its file as it is to
be printed, not as it stands in use; the three directions say how it was turned.

::

             axis, the product
        ____ | ____
       |     |     |     up = against `base`
       |     |     |_____
       |_____|___________|__ forward
          base (the pads)

Bodies are put together by a library that is an extra of its own; without it nothing is built, and
the message says what to install.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from jiggen.drawing.room import segments_of
from jiggen.drawing.shapes import Path
from jiggen.errors import DrawingError, installing

if TYPE_CHECKING:
    from manifold3d import Manifold

Space = tuple[float, float, float]
Turn = tuple[Space, Space, Space]
Vertices = NDArray[np.float64]
Triangles = NDArray[np.int64]

MISSING = f"building a solid needs one more library: {installing('manifold3d>=3.5,<4')}"
#: Facets round a bore: an edge of it lies 0.001 mm off the circle of a bore of 5.
ROUND = 96
#: mm. A first layer squashes outward: its edges are cut back by this, in two layers.
SQUASH = 0.4
#: mm. Corners of these layers that are nearer together are one.
HAIR = 0.005
#: As it was built.
UPRIGHT: Turn = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
#: What of a solid is given in the frame of its body.
WAYS = ("base", "forward", "axis", "at")


class Solid(Struct, frozen=True, kw_only=True, eq=False):
    """One body to print.

    Attributes:
        name: file-name safe and unique in a job, e.g. ``block-a1-solid``.
        title: as it stands in lists, e.g. ``BLOCK a1 solid``.
        turned: how it lies in the file, a few words.
        after: what is done to it after printing; empty for nothing.
        vertices: shape (n, 3), mm, in the file's frame: z up from the printer's bed, all above 0.
        triangles: shape (m, 3), indices of `vertices`, counter-clockwise seen from outside.
        base: outward normal of the face that it stands on in use.
        forward: direction on that face, square to `base`.
        axis: of the bore, pointing away from the base; or outward normal of the working face.
        at: a point of that axis, or of that face, in the file's frame.
        bore: diameter of the bore, mm; 0 where a face is the product.
        gap: along the bore from the base to where it begins, mm; 0 without a bore.
        count: how many of it are printed.
    """

    name: str
    title: str
    turned: str
    vertices: Vertices
    triangles: Triangles
    base: Space
    forward: Space
    axis: Space
    at: Space
    bore: float = 0.0
    gap: float = 0.0
    count: int = 1
    after: str = ""

    @property
    def angle(self) -> float:
        """Return the nominal angle between forward and axis, degrees."""
        return math.degrees(math.acos(float(np.dot(self.forward, self.axis))))

    @property
    def lean(self) -> float:
        """Return by how much the axis leans to the left of forward, degrees, seen from above."""
        left = np.cross(-np.asarray(self.base), self.forward)
        return math.degrees(math.asin(float(np.dot(left, self.axis))))

    @property
    def extent(self) -> Space:
        """Return length, width and height of the body as it lies, mm."""
        x, y, z = (self.vertices.max(axis=0) - self.vertices.min(axis=0)).tolist()
        return x, y, z


class Body:
    """A body under construction, in a frame of its own: x and y in its section, z along it."""

    def __init__(self, body: Manifold) -> None:
        self._body = body

    @classmethod
    def prism(cls, outline: Path | Sequence[tuple[float, float]], low: float, high: float) -> Body:
        """Return an outline made long from z = `low` to z = `high`.

        Raises:
            DrawingError: the library that builds solids is not installed.
        """
        if isinstance(outline, Path):
            outline = [(start.x, start.y) for start, _ in segments_of(outline)]
        library = _library()
        section = library.CrossSection([list(outline)])
        return cls(library.Manifold.extrude(section, high - low).translate((0.0, 0.0, low)))

    @classmethod
    def rod(cls, start: Space, end: Space, diameter: float) -> Body:
        """Return a round rod from one point to another."""
        way = np.subtract(end, start)
        long = float(np.linalg.norm(way))
        up = way / long
        side = np.cross(up, (0.0, 0.0, 1.0) if abs(up[2]) < 0.9 else (1.0, 0.0, 0.0))
        side /= np.linalg.norm(side)
        turn = np.column_stack([side, np.cross(up, side), up, start])
        rod = _library().Manifold.cylinder(long, diameter / 2, diameter / 2, ROUND)
        return cls(rod.transform(turn.tolist()))

    def turned(self, turn: Turn) -> Body:
        """Return it at a rotation, given by its rows."""
        return Body(self._body.transform([(*row, 0.0) for row in turn]))

    def without(self, other: Body) -> Body:
        """Return what is left when another body is cut out of it."""
        return Body(self._body - other._body)

    def above(self, normal: Space, offset: float) -> Body:
        """Return what of it lies on the side of a plane that its normal points to.

        The offset is the scalar product of the normal with any point of the plane.
        """
        long = math.hypot(*normal)
        unit = tuple(part / long for part in normal)
        return Body(self._body.trim_by_plane(unit, offset / long))

    def solid(self, *, turn: Turn = UPRIGHT, mirrored: bool = False, **more: Any) -> Solid:
        """Return it as a solid that lies on z = 0, its lowest edges cut back to print true.

        Args:
            turn: rows of the rotation that lays it down for printing.
            mirrored: turn it over then, x to -x.
            more: other attributes of `Solid`; directions and points in the frame of the body.

        Raises:
            DrawingError: nothing is left of it, or more than one part.
        """
        body = _eased(self.turned(turn)._body)
        parts = body.decompose()
        if len(parts) != 1:
            raise DrawingError(f"a solid in {len(parts)} parts cannot be printed as one")
        mirror = np.diag([-1.0 if mirrored else 1.0, 1.0, 1.0])
        mesh = body.to_mesh64()
        points = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3] @ mirror
        faces = np.asarray(mesh.tri_verts, dtype=np.int64)
        low, place = points.min(axis=0), mirror @ np.asarray(turn)
        ways = {key: place @ np.asarray(more.pop(key), dtype=float) for key in WAYS}
        ways["at"] = ways["at"] - low
        said: dict[str, Any] = {key: tuple(way.tolist()) for key, way in ways.items()}
        return Solid(
            vertices=points - low,
            triangles=faces[:, ::-1] if mirrored else faces,
            **said,
            **more,
        )


def _eased(body: Manifold) -> Manifold:
    """Return a body with the edges of its lowest layers cut back."""
    library, parts, half = _library(), [], SQUASH / 2
    low = body.bounding_box()[2]
    for step, back in ((0, SQUASH), (1, half)):
        at = low + step * half
        cut = body.slice(at + half / 2).simplify(HAIR)
        cut = cut.offset(-back, library.JoinType.Miter, 2.0, 0).simplify(HAIR)
        # Each reaches into the next, so that the two are one.
        parts.append(library.Manifold.extrude(cut, 1.5 * half).translate((0.0, 0.0, at)))
    rest = body.trim_by_plane((0.0, 0.0, 1.0), low + SQUASH)
    return library.Manifold.batch_boolean([*parts, rest], library.OpType.Add)


def _library() -> Any:
    try:
        import manifold3d
    except ImportError:
        raise DrawingError(MISSING) from None
    return manifold3d
