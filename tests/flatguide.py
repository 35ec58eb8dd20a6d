"""A guide read from its flat pieces as drawn, put together in space, and laid on a skin.

Nothing of how it was drawn is used: slots go into slots, the edge plate is glued flush with the
back plate's corner, the foot turns the face forward that says so, and the whole lies on its lowest
points. A body's own frame is x to the right along the row, y forward, z up its drill axis.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np
from folding import Vector, off_drill_axis, turn_onto_face, unit
from msgspec import Struct
from scipy.spatial import ConvexHull

from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Op, Path, Text

Spot = tuple[float, float]


def rim(piece: Piece, steps: int = 24) -> np.ndarray:
    """Return points round an outline, arcs as `steps` chords, shape (n, 2)."""
    found = [
        tuple(edge.at(k / n))
        for edge in piece.outline.edges
        for n in (1 if edge.bulge == 0.0 else steps,)
        for k in range(n)
    ]
    return np.array(found)


def said(piece: Piece) -> str:
    """Return all that is lettered on a piece."""
    return " ".join(mark.shape.text for mark in piece.marks if isinstance(mark.shape, Text))


def way(piece: Piece) -> float:
    """Return which way forward lies on a back plate as drawn: 1 to the right, -1 to the left."""
    assert piece.forward is not None
    assert abs(piece.forward.y) < 1e-12
    return piece.forward.x


def slot(piece: Piece) -> tuple[Vector, Vector, float]:
    """Return the middle of a slot's bottom, the way out of it, and its width.

    Its bottom is the one edge between two corners that turn inward and two walls over 6 mm long.
    """
    points = rim(piece)
    n = len(points)
    area = 0.5 * sum(
        points[k - 1][0] * points[k][1] - points[k][0] * points[k - 1][1] for k in range(n)
    )
    run = math.copysign(1.0, area)

    def inward(k: int) -> bool:
        before, after = points[k] - points[k - 1], points[(k + 1) % n] - points[k]
        return run * float(before[0] * after[1] - before[1] * after[0]) < -1e-9

    found = []
    for k in range(n):
        a, b = points[k], points[(k + 1) % n]
        walls = points[k - 1] - a, points[(k + 2) % n] - b
        longs = [float(np.linalg.norm(wall)) for wall in walls]
        if inward(k) and inward((k + 1) % n) and min(longs) > 6.0:
            found.append(((a + b) / 2, walls[0] / longs[0], float(np.linalg.norm(b - a))))
    (one,) = found
    return one


def pieces_of_side(
    pieces: Sequence[Piece], sides: tuple[str, str], side: str
) -> tuple[list[Piece], float]:
    """Return back plate, edge plate and foot for a side, and 1 where the foot's words face forward.

    A foot that serves both sides says for which its lettered face looks forward.
    """
    back = next(p for p in pieces if p.forward is not None and side in p.side)
    (edge,) = (p for p in pieces if p.name == f"{back.name}-edge")
    feet = {p.name: p for p in pieces if p.variant.startswith("foot")}
    names = (f"{back.name}-foot-{side}", f"{back.name}-foot", *feet)
    foot = next(feet[name] for name in names if name in feet)
    words, facing = said(foot), 1.0
    if "FACE FORWARD" in words and ":" in words:
        (name,) = [n for n in sides if f"{n.upper()}: THIS FACE FORWARD" in words]
        facing = 1.0 if "ab"[sides.index(name)] == side else -1.0
    return [back, edge, foot], facing


def axis_lines(back: Piece) -> list[tuple[Spot, Spot]]:
    """Return the two lines along which the bit stands, each from below, the aft one first."""
    lines = [
        (tuple(mark.shape.edges[0].start), tuple(mark.shape.edges[0].end))
        for mark in back.marks
        if mark.op is Op.ENGRAVE
        and isinstance(mark.shape, Path)
        and len(mark.shape.edges) == 1
        and abs(mark.shape.edges[0].direction().y) > 0.5
    ]
    ups = [line if line[0][1] < line[1][1] else line[::-1] for line in lines]
    return sorted(ups, key=lambda line: way(back) * line[0][0])


def working_edge(edge: Piece, forward: float) -> tuple[Vector, Vector]:
    """Return the edge of an edge plate that touches the bit, from below: the long one aft."""
    straight = [e for e in edge.outline.edges if e.bulge == 0.0 and abs(e.direction().y) > 0.5]
    aft = min(straight, key=lambda e: forward * (e.start.x + e.end.x) - e.chord * 1e-6)
    low, high = sorted((aft.start, aft.end), key=lambda p: p.y)
    return np.array(low), np.array(high)


class Guide(Struct, frozen=True, dict=True):
    """A guide put together; points of shape (n, 3), lengths in mm.

    Attributes:
        back: the rim of the back plate, in its middle plane.
        foot: the base of the foot: two ends on its forward face, two on its aft face.
        axis: a point of the drill axis, and its direction as the two lines show it.
        edge: the lower and the upper end of the edge that touches the bit.
        lines: foot of the aft and of the forward line.
        sheet: thickness of the plates.
    """

    back: np.ndarray
    foot: np.ndarray
    axis: tuple[Vector, Vector]
    edge: tuple[Vector, Vector]
    lines: tuple[Vector, Vector]
    sheet: float

    @property
    def plane(self) -> tuple[Vector, Vector]:
        """Return a point of the plane that it rests on, pressed down at the bit, and its normal."""
        every = np.vstack([self.back, self.foot])
        x, y, _ = self.axis[0]
        low = [row for row in ConvexHull(every).equations if row[2] < -1e-6]
        # Over any spot the lowest face of a convex body is the highest of its lower planes.
        normal = max(low, key=lambda row: -(row[0] * x + row[1] * y + row[3]) / row[2])
        at = every[np.argmax(every @ normal[:3])]
        return at, -normal[:3]

    def laid(self, slopes: tuple[float, float], side: str) -> Laid:
        """Lay it on a face that rises by these slopes forward and along y, outward.

        The row runs square to forward, as far from the trailing edge at one end of the foot as at
        the other.
        """
        at, normal = self.plane
        toward = -1.0 if side == "a" else 1.0
        turn = turn_onto_face(normal, 1.0, slopes, side, toward)
        axis, way = self.axis
        mouth = axis + way * float((at - axis) @ normal) / float(way @ normal)
        heights = (self.back - at) @ normal
        touching = self.back[np.abs(heights) < 1e-6]
        foot = self.foot[np.abs((self.foot - at) @ normal) < 1e-6]
        return Laid(turn=turn, mouth=mouth, pads=touching, foot=foot, guide=self)


class Laid(Struct, frozen=True, dict=True):
    """A guide on its skin.

    Attributes:
        turn: from the guide's own frame to space.
        mouth: where its drill axis meets the skin, in its own frame.
        pads: points of the back plate that touch the skin, in its own frame.
        foot: points of the foot that do.
    """

    turn: Vector
    mouth: Vector
    pads: np.ndarray
    foot: np.ndarray
    guide: Guide

    @property
    def off(self) -> float:
        """Return how far the bit leans from the chord plane's normal at worst, degrees."""
        low, high = self.guide.edge
        ways = (self.guide.axis[1], unit(*(high - low)))
        return max(off_drill_axis(self.turn @ one) for one in ways)

    def forward(self, points: np.ndarray, line: float) -> np.ndarray:
        """Return how far points lie forward of the trailing edge, mm, the hole on its line."""
        return np.asarray(line + (self.turn @ (points - self.mouth).T)[0])


def put_together(
    back: Piece, edge: Piece, foot: Piece, *, facing: float = 1.0, sheet: float = 3.0
) -> Guide:
    """Put a guide together from its flat pieces.

    Args:
        back: the back plate.
        edge: the edge plate.
        foot: the foot.
        facing: 1 with the foot's lettered face forward, -1 with it aft.
        sheet: thickness of the plates, mm.
    """
    forward = way(back)

    def space(spot: Vector | Spot) -> Vector:
        return np.array([0.0, forward * spot[0], spot[1]])

    (at, out, wide), (low, up, _) = slot(back), slot(foot)
    assert out[1] < -1.0 + 1e-12, "the back plate's slot opens downward, square to its top"
    # The foot goes in against the slot's forward wall.
    front = float(space(at)[1]) + wide / 2
    across = np.array([up[1], -up[0]])
    points = rim(foot)
    base = points[np.abs(points[:, 1] - points[:, 1].min()) < 1e-9]
    ends = base[np.argsort(base[:, 0])][[0, -1]]
    assert ends[1][0] - ends[0][0] > 20.0
    stood = [
        (-facing * float((p - low) @ across), face, at[1] + float((p - low) @ up))
        for face in (front, front - sheet)
        for p in ends
    ]
    aft, fore = axis_lines(back)
    ways = [unit(*(space(b) - space(a))) for a, b in (aft, fore)]
    assert np.linalg.norm(np.cross(*ways)) < 1e-9, "the two lines are parallel"
    # Glued flush: the upper forward corners lie on each other, and so do their upper edges.
    corners = [max(rim(p), key=lambda q: (round(q[1], 6), forward * q[0])) for p in (back, edge)]
    shift = corners[0] - corners[1]
    low_end, high_end = (space(end + shift) for end in working_edge(edge, forward))
    return Guide(
        back=np.array([space(p) for p in rim(back)]),
        foot=np.array(stood),
        axis=((space(aft[0]) + space(fore[0])) / 2, ways[0]),
        edge=(low_end, high_end),
        lines=(space(aft[0]), space(fore[0])),
        sheet=sheet,
    )


def off_on_outline(guide: Guide, skin: Callable[[np.ndarray], np.ndarray], line: float) -> float:
    """Press a guide down on the outline of a skin; return how the bit leans, degrees.

    Seen from the side, the rim of its back plate and the flat base of its foot. There is no skin
    aft of the trailing edge.

    Args:
        guide: put together.
        skin: height over the chord plane by the distance forward of the trailing edge, mm.
        line: distance of the hole forward of the trailing edge, mm.

    Returns:
        From the chord plane's normal, positive where it leans forward.
    """
    base = np.vstack([fine(guide.back[:, 1:]), fine(guide.foot[:, 1:])])
    _, at, up = guide.axis[0]
    turn = resting(base - (at, up), skin, line)
    return turn + math.degrees(math.atan2(guide.axis[1][1], guide.axis[1][2]))


def resting(base: np.ndarray, skin: Callable[[np.ndarray], np.ndarray], line: float) -> float:
    """Return how far a stiff base turns forward, degrees, until it rests aft and forward of a hole.

    Args:
        base: points (forward of the hole, up), mm, shape (n, 2).
        skin: as above.
        line: as above.
    """
    u, v = base.T

    def gap(turn: float, points: np.ndarray) -> float:
        """Return how far points stand over the skin at least, turned about the hole."""
        du, dv = u[points], v[points]
        x = line + du * math.cos(turn) + dv * math.sin(turn)
        over = dv * math.cos(turn) - du * math.sin(turn) - skin(x)
        return float(over[x >= 0.0].min())

    aft, fore = u < 0.0, u > 0.0
    low, high = -0.3, 0.3
    for _ in range(40):
        turn = (low + high) / 2
        # Turned forward the fore foot comes down; at rest both touch.
        low, high = (turn, high) if gap(turn, fore) > gap(turn, aft) else (low, turn)
    return math.degrees(turn)


def fine(rim: np.ndarray, step: float = 0.05) -> np.ndarray:
    """Return a closed rim with points as near to one another as that, mm."""
    rows = [
        start + (end - start) * share
        for start, end in pairwise([*rim, rim[0]])
        for share in np.linspace(0.0, 1.0, max(2, int(np.linalg.norm(end - start) / step)))
    ]
    return np.array(rows)
