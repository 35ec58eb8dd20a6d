"""How parts go together: plates in space, drawn apart, in parallel projection.

x runs to the lower right, y to the upper right, z up; parts are drawn back to front, and chain
lines join what meets. Source: ISO 5456-3, from memory.

::

         z
         |   .-'  y
         |.-'
          '-.
              '-.  x
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from jiggen.drawing.lettering import SMALL, text_width
from jiggen.drawing.looks import FINE, FINE_WIDE, area, leader, line, words
from jiggen.drawing.page import Picture
from jiggen.drawing.room import corners_of, segments_of
from jiggen.drawing.shapes import Anchor, Circle, Dash, Mark, Path

#: What is farther to the left, as a share of the picture, is named at its left.
LEFT_PART = 0.4
#: Where x, y and z of space go on paper, for each mm.
ACROSS, UP = np.array([0.80, 0.62, 0.0]), np.array([-0.30, 0.42, 0.92])
#: Toward who looks: what both of these leave out.
TOWARD = np.cross(ACROSS, UP)

Array = NDArray[np.float64]
Space = tuple[float, float, float]
Spot = tuple[float, float]


class Plate(Struct, frozen=True):
    """One flat part in space.

    Attributes:
        outline: in its own plane.
        origin: where the plane's (0, 0) stands, mm.
        right: where its x points, a unit vector.
        up: where its y points.
        thick: mm, from the plane toward right x up.
        label: what it is called; empty for none.
        holes: in its own plane.
    """

    outline: Path
    origin: Space
    right: Space
    up: Space
    thick: float
    label: str = ""
    holes: tuple[Path | Circle, ...] = ()


def exploded(
    plates: Sequence[Plate],
    joins: Sequence[tuple[Space, Space]] = (),
    *,
    width: float,
    height: float,
) -> Picture:
    """Draw plates that stand apart in space, as large as a room on paper allows, mm.

    Labels stand at the sides with leaders; `joins` are chain lines in space, from where a part
    leaves to where it goes.
    """
    named = [plate for plate in plates if plate.label]
    flat = np.array([_flat(q) for plate in plates for q in _solid(plate)])
    low, high = flat.min(axis=0), flat.max(axis=0)
    span = np.maximum(high - low, 1.0)
    # Each label at the nearer side: a leader across the whole picture crosses other parts.
    at_left = [p for p in named if _flat(_label_spot(p))[0] < low[0] + LEFT_PART * span[0]]
    sides = (at_left, [p for p in named if p not in at_left])
    room = sum(max(text_width(p.label, SMALL) for p in some) + 10.0 for some in sides if some)
    scale = float(min((width - room) / span[0], height / span[1]))
    shift = -low * scale

    def paper(q: Space | Array) -> Spot:
        x, y = _flat(q) * scale + shift
        return float(x), float(y)

    marks: list[Mark] = []
    for plate in sorted(plates, key=lambda p: float(_middle(p) @ TOWARD)):
        marks += _drawn(plate, paper)
    for start, end in joins:
        marks.append(line(paper(start), paper(end), width=FINE, dash=Dash.CHAIN))
    for some, x, off, anchor in (
        (sides[0], -8.0, 1.0, Anchor.END),
        (sides[1], float(span[0]) * scale + 8.0, -1.0, Anchor.START),
    ):
        used: list[float] = []
        for plate in sorted(some, key=lambda p: -paper(_label_spot(p))[1]):
            tip = paper(_label_spot(plate))
            y = min(tip[1], height - SMALL)
            while any(abs(y - other) < 2 * SMALL for other in used):
                y -= SMALL
            used.append(y)
            marks.append(words((x, y - SMALL / 2), plate.label, anchor=anchor))
            marks += leader((x + off, y), tip)
    return Picture.around(marks)


def _drawn(plate: Plate, paper: Callable[[Array], Spot]) -> list[Mark]:
    """Draw one plate: the walls that show, then the face that is nearer."""
    near, far = _faces(plate)
    marks, walls = [], []
    run = 1.0 if plate.outline.area > 0 else -1.0
    for a, b in segments_of(plate.outline):
        outward = (run * (b[1] - a[1]), run * (a[0] - b[0]))
        if float((near(outward) - near((0.0, 0.0))) @ TOWARD) > 0.0:
            walls.append([near(a), near(b), far(b), far(a)])
    for wall in sorted(walls, key=lambda w: float(np.mean(w, axis=0) @ TOWARD)):
        marks.append(area([paper(q) for q in wall], 0.0, FINE_WIDE))
    for rim, width in ((plate.outline, FINE_WIDE), *((hole, FINE) for hole in plate.holes)):
        marks.append(area([paper(near(a)) for a in corners_of(rim)], 0.0, width))
    return marks


def _faces(plate: Plate) -> tuple[Callable[[Spot], Array], Callable[[Spot], Array]]:
    """Return what takes a point of the plate's plane to its nearer and to its farther face."""
    origin, right, up = (np.array(v, dtype=float) for v in (plate.origin, plate.right, plate.up))
    normal = np.cross(right, up) * plate.thick

    def on(q: Spot, lift: float) -> Array:
        return np.asarray(origin + q[0] * right + q[1] * up + lift * normal)

    front = float(normal @ TOWARD) > 0.0
    return (lambda q: on(q, float(front))), (lambda q: on(q, float(not front)))


def _solid(plate: Plate) -> list[Array]:
    near, far = _faces(plate)
    return [face(a) for a in corners_of(plate.outline) for face in (near, far)]


def _middle(plate: Plate) -> Array:
    return np.asarray(np.mean(_solid(plate), axis=0))


def _label_spot(plate: Plate) -> Array:
    near, _ = _faces(plate)
    box = plate.outline.bounds()
    return np.asarray(near(((box.left + 2 * box.right) / 3, (box.bottom + box.top) / 2)))


def _flat(q: Space | Array) -> Array:
    p = np.asarray(q, dtype=float)
    return np.array([ACROSS @ p, UP @ p])
