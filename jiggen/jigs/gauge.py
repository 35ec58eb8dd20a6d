"""Taper gauge: a plate with a V that fits the wedge, its thin and thick mates, and their master.

The wedge goes into the V with its trailing edge first. In a V of its own taper it touches all
along both faces and no light comes through. In one that is too open only its rear corners touch,
and there is light at the mouth; in one too narrow the mouth touches, and there is light at the
trailing edge. Between a V that is thin by the tolerance and one that is thick by it, the light
tells whether the wedge is inside. A gauge that is wrong calls a good wedge bad, or lets the wrong
piece through to the drill: so a male V of the same taper, which a calliper can measure, checks it.

Only the angle between the two flanks is the product; nothing rests on the plate's outer edges.

::

      ____________________________ top
     /                            |
    |                       ___---| Ma
    |                 R  _--      |
    )  words          (o_    V    |   mouth, FORWARD ->
    |        chord plane   --__   |
    |                          ---| Mb
    |_____________________________|
    ^ notches: one thin, two nominal, three thick
"""

from __future__ import annotations

import math
from itertools import pairwise

from jiggen.drawing.affine import Point
from jiggen.drawing.labels import (
    witness_band,
)
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Edge, Path
from jiggen.errors import DoesNotFit
from jiggen.jigs.gauge_lettering import (
    BEHIND,
    BESIDE,
    BEYOND,
    CHAMFER,
    HANDLE,
    HANDLE_HALF,
    LEAST_SHARE,
    NOTCH,
    NOTCH_STEP,
    RELIEF,
    ROLES,
    GaugeLabels,
    GaugeSizes,
    how_to_read,
    master_marks,
    plate_marks,
    tongue_marks,
)
from jiggen.units import Length, or_more, size, words


def light_gap(touching: float, error: float) -> float:
    """Return the gap that an error of taper shows as, mm.

    Args:
        touching: length along which wedge and V would touch, mm.
        error: of the angle between the faces, radians.

    Returns:
        The gap at the end that does not touch, with the wedge held against one flank.

    Source: derived: two lines through one end, apart by the error at the other.
    """
    return touching * math.tan(abs(error))


def build_gauge(name: str, sizes: GaugeSizes, error: float, labels: GaugeLabels) -> Piece:
    """Build one plate with a V.

    Args:
        name: file name of the piece; its last word is its role, ``thin``, ``nominal`` or
            ``thick``.
        sizes: of the nominal V.
        error: what this V is more open than the nominal one, radians.
        labels: see `GaugeLabels`.

    Returns:
        The piece; the chord plane lies along x, the mouth to the right.

    Raises:
        DoesNotFit: a V that would not take the wedge.
    """
    role = name.rsplit("-", 1)[-1]
    a, b = sizes.skin_a + error / 2, sizes.skin_b + error / 2
    mouth = sizes.mouth
    _refuse_narrow(sizes, a, b)
    flank_a = _flank(a, RELIEF * math.cos(a), mouth, 1)
    flank_b = _flank(b, RELIEF * math.cos(b), mouth, -1)
    sided = abs(sizes.skin_a - sizes.skin_b) > 1e-6
    top, low, back = flank_a.end.y + BESIDE, flank_b.end.y - BESIDE, -BEHIND
    outline = Path(
        (
            Edge(Point(back, low), Point(mouth, low)),
            Edge(Point(mouth, low), flank_b.end),
            flank_b.reversed(),
            *_relief(flank_b.start, flank_a.start),
            flank_a,
            Edge(flank_a.end, Point(mouth, top)),
            *_back(Point(mouth, top), back, low, ROLES[role], CHAMFER if sided else 0.0),
        )
    )
    marks, bars = plate_marks(sizes, labels, name, (flank_a, flank_b), (top, low, back), a + b)
    return Piece(
        name=name,
        title=f"Gauge {name.split('-')[1]} {role}",
        kind="gauge",
        outline=outline,
        marks=marks,
        angles=(
            CheckAngle(
                name="V",
                nominal=math.degrees(a + b),
                base=flank_b,
                working=flank_a,
            ),
        ),
        dimensions=(*_v_sizes(flank_a, flank_b), *bars),
        notes=(how_to_read(role),),
    )


def build_master(name: str, sizes: GaugeSizes, labels: GaugeLabels) -> Piece:
    """Build the male V that the nominal gauge is checked with.

    Args:
        name: file name of the piece.
        sizes: of the nominal V.
        labels: see `GaugeLabels`.

    Returns:
        The piece; the chord plane lies along x, the tip to the left.

    Raises:
        DoesNotFit: a taper so slight that the tongue would have no tip.
    """
    tip, shoulder = sizes.tip, sizes.mouth + BEYOND
    if not sizes.takes_master:
        raise DoesNotFit(
            words(
                "the master's tongue would be {opening} thick at its root",
                opening=Length(sizes.mouth * sizes.opening),
            ),
            key="gauge.depth",
            given=size(sizes.depth),
            remedy=words(
                "a V {edge} deep or more makes it stout enough", edge=or_more(2 * tip - sizes.edge)
            ),
        )
    flank_a = _flank(sizes.skin_a, tip, shoulder, 1)
    flank_b = _flank(sizes.skin_b, tip, shoulder, -1)
    right = shoulder + HANDLE
    half = max(HANDLE_HALF, flank_a.end.y + 8.0, 8.0 - flank_b.end.y)
    outline = Path(
        (
            flank_b,
            *Path.open(
                [flank_b.end, (shoulder, -half), (right, -half), (right, half), (shoulder, half)]
            ).edges,
            Edge(Point(shoulder, half), flank_a.end),
            flank_a.reversed(),
            Edge(flank_a.start, flank_b.start),
        )
    )
    marks, bars = master_marks(sizes, labels, name, shoulder, half)
    return Piece(
        name=name,
        title=f"Gauge {name.split('-')[1]} master",
        kind="gauge",
        outline=outline,
        marks=(
            witness_band(flank_a, waste_left=True),
            witness_band(flank_b, waste_left=False),
            *tongue_marks(flank_a, flank_b),
            *marks,
        ),
        angles=(
            CheckAngle(
                name="V",
                nominal=math.degrees(sizes.skin_a + sizes.skin_b),
                base=flank_b,
                working=flank_a,
            ),
        ),
        dimensions=(*_tongue_sizes(flank_a, flank_b), *bars),
        notes=("goes into the nominal gauge: no light anywhere, or the gauge is wrong",),
    )


def _refuse_narrow(sizes: GaugeSizes, a: float, b: float) -> None:
    opening = math.tan(a) + math.tan(b)
    goes_in = (sizes.mouth * opening - (sizes.rear or 0.0)) / sizes.opening
    if a + b <= 0.0 or goes_in < LEAST_SHARE * sizes.depth:
        inc = math.degrees(sizes.skin_a + sizes.skin_b)
        # What the V may close by until half of the depth no longer goes in, rounded down.
        closes = (1.0 - LEAST_SHARE) * sizes.depth * sizes.opening / sizes.mouth
        would_do = math.floor(95.0 * math.degrees(closes)) / 100.0
        raise DoesNotFit(
            words(
                "a V of {b} deg takes only {goes_in} of a wedge of {inc} deg",
                b=f"{math.degrees(a + b):.2f}",
                goes_in=Length(max(goes_in, 0.0), 1),
                inc=f"{inc:.2f}",
            ),
            key="gauge.tolerance",
            given=f"{inc - math.degrees(a + b):.4g} deg",
            remedy=f"{would_do:.2f} deg or less"
            if would_do > 0.0
            else "the wedge is too slight for a thin gauge; leave out [gauge]",
        )


def _flank(skin: float, start: float, end: float, way: int) -> Edge:
    """Return a flank from `start` to `end` mm forward of the apex, `way` 1 on side A."""
    tan = way * math.tan(skin)
    return Edge(Point(start, start * tan), Point(end, end * tan))


def _relief(start: Point, end: Point) -> tuple[Edge, ...]:
    """Return the hole round the apex from flank B clockwise to flank A, as four arcs.

    One arc of nearly a whole turn would lose its middle in the last digit of its ends.
    """
    first, last = math.atan2(start.y, start.x), math.atan2(end.y, end.x) - math.tau
    step = (last - first) / 4
    turns = [first + k * step for k in (1, 2, 3)]
    between = [Point(RELIEF * math.cos(turn), RELIEF * math.sin(turn)) for turn in turns]
    bulge = math.tan(step / 4)
    return tuple(Edge(p, q, bulge) for p, q in pairwise([start, *between, end]))


def _back(corner: Point, back: float, low: float, notches: int, chamfer: float) -> tuple[Edge, ...]:
    """Return top edge, chamfer and the back edge with its notches, down to the lower corner."""
    top = corner.y
    edges = [Edge(corner, Point(back + chamfer, top))]
    if chamfer:
        edges.append(Edge(Point(back + chamfer, top), Point(back, top - chamfer)))
    here = Point(back, top - chamfer)
    middle = (top - chamfer + low) / 2
    for k in range(notches):
        y = middle + NOTCH_STEP * ((notches - 1) / 2 - k)
        edges.append(Edge(here, Point(back, y + NOTCH)))
        # A half round into the plate, run clockwise about its middle.
        side = Point(back + NOTCH, y)
        quarter = -math.tan(math.pi / 8)
        edges.append(Edge(Point(back, y + NOTCH), side, quarter))
        edges.append(Edge(side, Point(back, y - NOTCH), quarter))
        here = Point(back, y - NOTCH)
    return (*edges, Edge(here, Point(back, low)))


def _v_sizes(flank_a: Edge, flank_b: Edge) -> tuple[CheckDimension, ...]:
    """Return what fixes the V: its width at mouth and relief, its flanks, one diagonal."""
    rows = (
        ("mouth", flank_a.end, flank_b.end, "across the V at the mouth, inside jaws"),
        (
            "root",
            flank_a.start,
            flank_b.start,
            "across the V where it meets the relief, by feeler blades or a drill's shank",
        ),
        ("flank-a", flank_a.start, flank_a.end, "along side A's flank, relief to mouth"),
        ("flank-b", flank_b.start, flank_b.end, "along side B's flank, relief to mouth"),
        ("across", flank_b.start, flank_a.end, "from side B's flank at the relief to A's mouth"),
    )
    return _sizes(rows)


def _tongue_sizes(flank_a: Edge, flank_b: Edge) -> tuple[CheckDimension, ...]:
    """Return what fixes the tongue: thickness at tip and root, its flanks, one diagonal."""
    rows = (
        ("root", flank_a.end, flank_b.end, "over the tongue at the shoulder"),
        ("tip", flank_a.start, flank_b.start, "over the tongue at its tip"),
        ("flank-a", flank_a.start, flank_a.end, "along side A, tip to shoulder"),
        ("flank-b", flank_b.start, flank_b.end, "along side B, tip to shoulder"),
        ("across", flank_b.start, flank_a.end, "from the tip on side B to the shoulder on side A"),
    )
    return _sizes(rows)


def _sizes(rows: tuple[tuple[str, Point, Point, str], ...]) -> tuple[CheckDimension, ...]:
    return tuple(
        CheckDimension(name=name, nominal=math.dist(p, q), start=p, end=q, how=how)
        for name, p, q, how in rows
    )
