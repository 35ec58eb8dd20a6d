"""Kerf: the drawn line moved to the waste side, so that what the beam leaves is true to size.

The kerf is the **full width of the slot** that the beam burns, not the half of it on each side.
The outline is drawn half a kerf larger and each hole half a kerf smaller. Lines stay lines, arcs
stay arcs about the same centre, and a corner keeps its angle: the moved lines and circles are
intersected, never rounded or bevelled. Where that cannot be done (an arc smaller than half the
kerf, a slot that grows shut, a tip so sharp that its mitre would run away) nothing is drawn.

Source: the intersection of offset lines and circles is elementary geometry; derived here. The
convention is that of tests/published/test_kerf.py, which cites it.
"""

from __future__ import annotations

import math

from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing.affine import Point
from jiggen.drawing.crossing import circles_meet, first_crossing, line_meets_circle
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import SAME_POINT_MM, Circle, Edge, Path
from jiggen.errors import DrawingError

#: rad. A mitre at a tip sharper than this would stick out more than 5.7 half kerfs.
SHARPEST_TIP = math.radians(20.0)

# rad. Directions nearer than this run on smoothly: their mitre point is within a nanometre of both
# moved edges, while the intersection of two nearly equal curves would be lost in rounding.
_SMOOTH = 1e-6


def with_kerf(piece: Piece, kerf: float) -> Piece:
    """Return the piece as it must be drawn for the beam to leave it true to size.

    Outline and holes move to the waste side by half the kerf, and the check edges move with the
    edges of the outline that they lie on. Check dimensions and all other marks stay: they are
    those of the finished piece.

    Raises:
        DrawingError: the piece cannot be cut with this kerf; the message names piece and remedy.
    """
    if not (math.isfinite(kerf) and kerf >= 0.0):
        raise DrawingError(f"{piece.name}: the kerf must be 0 mm or more, given {kerf}")
    if kerf == 0.0:
        return piece
    half = kerf / 2.0
    try:
        outline = offset_path(piece.outline, half if piece.outline.area > 0 else -half)
        inner = tuple(_shrunk(hole, half) for hole in piece.inner)
        angles = tuple(
            replace(
                angle,
                base=_moved_check_edge(angle.base, angle.name, piece.outline, outline, half),
                working=_moved_check_edge(angle.working, angle.name, piece.outline, outline, half),
            )
            for angle in piece.angles
        )
    except DrawingError as trouble:
        raise DrawingError(f"{piece.name}: with a kerf of {kerf:g} mm {trouble}") from trouble
    return replace(piece, outline=outline, inner=inner, angles=angles)


def offset_path(path: Path, distance: float) -> Path:
    """Return a closed path moved sideways by `distance` mm, outward if counter-clockwise.

    As many edges in the same order, each parallel to its own.

    Raises:
        DrawingError: the path is open, an arc or an edge vanishes, a tip is too sharp for a mitre,
            or the moved path would cross itself.
    """
    if not path.is_closed:
        raise DrawingError("an open line has no waste side; close it")
    if distance == 0.0:
        return path
    moved = [_Offset.of(edge, distance) for edge in path.edges]
    starts = [_join(moved[i - 1], moved[i], distance) for i in range(len(moved))]
    ends = [*starts[1:], starts[0]]
    drawn = Path(tuple(o.between(a, b) for o, a, b in zip(moved, starts, ends, strict=True)))
    crossing = first_crossing(drawn)
    if crossing is not None:
        raise DrawingError(
            f"the cut line meets itself {_near(crossing)}; widen the slot or the web there"
        )
    return drawn


class _Offset(Struct, frozen=True):
    """One edge with the line or circle that it moves to.

    Attributes:
        edge: as drawn, true size.
        shift: mm to the right of its direction.
        centre: of an arc; None for a line.
        radius: of the moved arc, mm; 0 for a line.
    """

    edge: Edge
    shift: float
    centre: Point | None = None
    radius: float = 0.0

    @classmethod
    def of(cls, edge: Edge, shift: float) -> _Offset:
        """Return the edge's offset, or refuse an arc that has no room for it."""
        if edge.bulge == 0.0:
            return cls(edge, shift)
        radius = edge.radius + (shift if edge.bulge > 0 else -shift)
        if radius <= SAME_POINT_MM:
            raise DrawingError(
                f"the arc of radius {edge.radius:.3f} mm {_near(edge.start)} vanishes; "
                f"make its radius larger than {abs(shift):g} mm"
            )
        return cls(edge, shift, edge.centre, radius)

    def between(self, start: Point, end: Point) -> Edge:
        """Return the moved edge from corner to corner, or refuse one that has turned round."""
        if self.centre is None:
            way = self.edge.direction()
            along = (end.x - start.x) * way.x + (end.y - start.y) * way.y
            if along <= SAME_POINT_MM:
                raise _vanished(self.edge)
            return Edge(start, end)
        sweep = (
            self.edge.sweep
            + _turn(self.centre, self.edge.end, end)
            - _turn(self.centre, self.edge.start, start)
        )
        if sweep * self.edge.sweep <= 0.0 or self.radius * abs(sweep) <= SAME_POINT_MM:
            raise _vanished(self.edge)
        if abs(sweep) >= math.tau - 1e-9:
            raise DrawingError(f"the arc {_near(start)} would close on itself; enlarge its gap")
        return Edge(start, end, math.tan(sweep / 4.0))


def _join(before: _Offset, after: _Offset, shift: float) -> Point:
    """Return where two moved neighbours meet."""
    corner = after.edge.start
    u, v = before.edge.direction(at_end=True), after.edge.direction()
    cross, dot = u.x * v.y - u.y * v.x, u.x * v.x + u.y * v.y
    turn = math.atan2(cross, dot)
    tip = math.pi - abs(turn)
    if turn * shift > 0.0 and tip < SHARPEST_TIP:
        raise DrawingError(
            f"the tip of {math.degrees(tip):.1f} deg {_near(corner)} is too sharp for a mitre; "
            f"blunt it, or make it {math.degrees(SHARPEST_TIP):.0f} deg or more"
        )
    if tip < 1e-9:
        raise DrawingError(f"the edges double back {_near(corner)}; take the spur away")
    # The sum of the unit normals to the right, over 1 + cos(turn), ends on both moved tangents:
    # exact for two lines, and better than any intersection where the edges run on smoothly.
    mitre = Point(
        corner.x + shift * (u.y + v.y) / (1.0 + dot),
        corner.y - shift * (u.x + v.x) / (1.0 + dot),
    )
    if abs(turn) < _SMOOTH or (before.centre is None and after.centre is None):
        return mitre
    meetings = _meet(before, after)
    if not meetings:
        raise DrawingError(f"the edges no longer meet {_near(corner)}; enlarge the arc there")
    return min(meetings, key=lambda p: math.dist(p, mitre))


def _meet(one: _Offset, other: _Offset) -> list[Point]:
    """Return where the moved edges meet as endless line and circle; one of them is an arc."""
    if one.centre is not None and other.centre is not None:
        return circles_meet(one.centre, one.radius, other.centre, other.radius)
    line, arc = (one, other) if one.centre is None else (other, one)
    way, foot, centre = line.edge.direction(), line.edge.start, arc.edge.centre
    moved = Point(foot.x + line.shift * way.y, foot.y - line.shift * way.x)
    return line_meets_circle(moved, way, centre, arc.radius)


def _turn(centre: Point, old: Point, new: Point) -> float:
    """Return the angle at `centre` from `old` to `new`, in (-pi, pi]."""
    ox, oy, nx, ny = old.x - centre.x, old.y - centre.y, new.x - centre.x, new.y - centre.y
    return math.atan2(ox * ny - oy * nx, ox * nx + oy * ny)


def _near(point: Point) -> str:
    return f"near ({point.x:.2f}, {point.y:.2f})"


def _vanished(edge: Edge) -> DrawingError:
    return DrawingError(
        f"the edge of {edge.length:.3f} mm {_near(edge.start)} vanishes; make it longer"
    )


def _shrunk(hole: Path | Circle, half: float) -> Path | Circle:
    """Return a hole's cut line half a kerf smaller all round."""
    if isinstance(hole, Path):
        return offset_path(hole, -half if hole.area > 0 else half)
    if hole.radius - half <= SAME_POINT_MM:
        raise DrawingError(
            f"the hole of {2 * hole.radius:.3f} mm {_near(hole.centre)} vanishes; "
            "make it wider than the kerf"
        )
    return replace(hole, radius=hole.radius - half)


def _moved_check_edge(check: Edge, name: str, outline: Path, drawn: Path, shift: float) -> Edge:
    """Return a check edge moved with the outline's edge, or edges, that it lies along."""
    pairs = zip(outline.edges, drawn.edges, strict=True)
    under = [(old, new) for old, new in pairs if _lie_along(old, check)]
    if not under:
        raise DrawingError(f"the check edge of '{name}' lies on no straight edge of the outline")
    way = under[0][0].direction()

    def moved(end: Point) -> Point:
        for old, new in under:
            if math.dist(end, old.start) <= SAME_POINT_MM:
                return new.start
            if math.dist(end, old.end) <= SAME_POINT_MM:
                return new.end
        return Point(end.x + shift * way.y, end.y - shift * way.x)

    return Edge(moved(check.start), moved(check.end))


def _lie_along(old: Edge, check: Edge) -> bool:
    """Return whether a straight edge of the outline runs along a check edge and overlaps it."""
    if old.bulge != 0.0:
        return False
    (a, off_a), (b, off_b) = (check.along_and_off(end) for end in (old.start, old.end))
    if max(abs(off_a), abs(off_b)) > SAME_POINT_MM:
        return False
    return max(a, b) > SAME_POINT_MM and min(a, b) < check.chord - SAME_POINT_MM
