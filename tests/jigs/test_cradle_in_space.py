"""The cradle put together in space from its flat pieces, with the wedge laid in it.

Space is the drill press table's: X forward of the fence, Y along the edge, Z up from the table.
Edges are read from the outlines; nothing of how they were computed is used.
"""

import math
from dataclasses import dataclass

import numpy as np
import pytest
from folding import Leaf, angle_between, unit
from hypothesis import given, settings
from hypothesis import strategies as st
from samplejobs import a_job, row_of_holes, skins
from shapely.geometry import Point as Spot
from shapely_pieces import material, polygon

from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Edge
from jiggen.jigs.cradle_pieces import cradle_pieces
from jiggen.job.sections import Cradle, Cut
from jiggen.solve import solve

SHEET, FIT, LINE, DRILL, STOP = 3.0, 0.1, 8.0, 2.5, 26.0
UP, ALONG = unit(0, 0, 1), unit(0, 1, 0)
ANGLES = st.floats(1.5, 14.0)


def built(a: float, b: float, rear: float = 1.0, **asked) -> dict[str, Piece]:
    job = a_job(
        skins(a, b),
        holes=row_of_holes(9),
        rear_thickness=rear,
        depth=30.0,
        cradle=Cradle(fit=FIT, stop=STOP, **asked),
        cut=Cut(kerf=0.15, sheet=SHEET),
    )
    return {piece.name: piece for piece in cradle_pieces(solve(job))}


def forward(piece: Piece) -> float:
    """Return 1 where forward is to the right, -1 where to the left: TE lies where the fence is."""
    slopes = [e for e in piece.outline.edges if e.chord > 8.0 and is_slope(e)]
    tall = max(slopes, key=lambda e: e.chord)
    high, low = sorted((tall.start, tall.end), key=lambda p: -p.y)
    return math.copysign(1.0, low.x - high.x)


def is_slope(edge: Edge) -> bool:
    """Return whether an edge is neither upright nor flat, and no chamfer."""
    d = edge.direction()
    return 0.001 < abs(d.y) < 0.5


def seat_edge(piece: Piece) -> Edge:
    """Return the longest run of the seat, from its high end to its low end."""
    edges = [e for e in piece.outline.edges if is_slope(e)]
    edge = max(edges, key=lambda e: e.chord)
    return edge if edge.start.y > edge.end.y else edge.reversed()


def base_height(piece: Piece) -> float:
    """Return the height of the line that the piece stands on: the longest flat edges."""
    flats: dict[float, float] = {}
    for e in piece.outline.edges:
        if e.start.y == e.end.y:
            flats[e.start.y] = flats.get(e.start.y, 0.0) + e.chord
    return max(flats, key=lambda y: flats[y])


def boxes(piece: Piece) -> list[tuple[float, float, float, float]]:
    """Return the rectangular holes as left, bottom, right, top."""
    found = [mark.shape.bounds() for mark in piece.inner]
    return [(b.left, b.bottom, b.right, b.top) for b in found]


@dataclass
class Seat:
    """The seat's upper face in space: a point at the fence, and its upward normal."""

    corner: np.ndarray
    normal: np.ndarray

    def height(self, x: float) -> float:
        """Return the height above the table at X."""
        return float(self.corner[2] - (x - self.corner[0]) * self.normal[0] / self.normal[2])


@dataclass
class Laid:
    """The wedge on a seat: its frame (x forward, y along, z up on its upper face) in space."""

    turn: np.ndarray
    origin: np.ndarray

    def put(self, x: float, y: float, z: float) -> np.ndarray:
        """Return where a point of the wedge comes to lie."""
        return self.origin + self.turn @ np.array([x, y, z])


def lay(seat: Seat, slope_down: float, rear_down: float) -> Laid:
    """Lay a wedge with a lower face of this slope on a seat, its trailing edge at the fence."""
    inward = unit(slope_down, 0.0, 1.0)
    wedge = np.array([ALONG, inward, np.cross(ALONG, inward)])
    table = np.array([ALONG, seat.normal, np.cross(ALONG, seat.normal)])
    turn = table.T @ wedge
    return Laid(turn, seat.corner - turn @ np.array([0.0, 0.0, -rear_down]))


def rib_in_space(rib: Piece, y: float) -> Leaf:
    """Stand a rib on the base plate, its slot's forward wall at X = 0."""
    way = forward(rib)
    return Leaf(np.array([0.0, y, SHEET]), unit(way, 0, 0), unit(0, 0, 1))


def seat_on_ribs(rib: Piece, first: float, last: float) -> Seat:
    """Return the upper face of the seat plate that lies on the edges of two ribs."""
    edge = seat_edge(rib)
    one, other = rib_in_space(rib, first), rib_in_space(rib, last)
    a, b, c = one.point(edge.start), one.point(edge.end), other.point(edge.start)
    normal = np.cross(b - a, c - a)
    normal = normal / np.linalg.norm(normal) * math.copysign(1.0, normal[2])
    upper = Seat(a + SHEET * normal, normal)
    return Seat(np.array([0.0, 0.0, upper.height(0.0)]), normal)


def tab_boxes(rib: Piece) -> tuple[tuple[float, float], list[tuple[float, float]]]:
    """Return the upper tab's ends along the seat and the lower tabs' ends along the base, mm.

    Counted from the fence forward; the upper tab along the slope from the seat edge's own line.
    """
    way, edge = forward(rib), seat_edge(rib)
    d = edge.direction()
    lows, uppers = [], []
    for e in rib.outline.edges:
        if e.start.y == e.end.y and e.start.y < 0:
            lows.append(tuple(sorted((way * e.start.x, way * e.end.x))))
        off = [(p.x - edge.start.x) * -d.y + (p.y - edge.start.y) * d.x for p in (e.start, e.end)]
        if all(abs(abs(o) - (SHEET - 0.3)) < 1e-9 for o in off) and e.chord > 5:
            uppers.append(tuple(sorted(np.dot(np.subtract(p, edge.start), d)
                                       for p in (e.start, e.end))))  # fmt: skip
    (upper,) = uppers
    return upper, sorted(lows)


@settings(max_examples=60, deadline=None)
@given(a=ANGLES, b=ANGLES)
def test_on_ribs_the_chord_plane_lies_level_within_a_thousandth_of_a_degree(a, b):
    """A seat at the wrong angle makes every countersink oval and every head proud on one side."""
    pieces = built(a, b, height=60.0)
    for side, angle in (("a", a), ("b", b)):
        name = f"cradle-{side}1-rib" if f"cradle-{side}1-rib" in pieces else "cradle-1-rib"
        rib = pieces[name]
        assert base_height(rib) == 0.0
        seat = seat_on_ribs(rib, 20.0, 150.0)
        assert seat.height(0.0) == pytest.approx(60.0, abs=1e-9)
        laid = lay(seat, math.tan(math.radians(angle)), 0.5)
        assert angle_between(laid.turn @ UP, UP) < 0.001


@settings(max_examples=40, deadline=None)
@given(a=ANGLES, b=ANGLES)
def test_on_layers_the_chord_plane_lies_level_within_a_thousandth_of_a_degree(a, b):
    """Every layer is its own check: one that was cut for the other side would rock."""
    pieces = built(a, b, build="layers", height=60.0)
    for side, angle in (("a", a), ("b", b)):
        stem = f"cradle-{side}1" if f"cradle-{side}1-layer" in pieces else "cradle-1"
        for piece in (pieces[f"{stem}-post"], pieces[f"{stem}-layer"]):
            assert base_height(piece) == 0.0
            edge, way = seat_edge(piece), forward(piece)
            d = edge.direction()
            normal = unit(-d.y, 0.0, way * d.x)
            seat = Seat(np.array([0.0, 0.0, 60.0]), normal)
            laid = lay(seat, math.tan(math.radians(angle)), 0.5)
            assert angle_between(laid.turn @ UP, UP) < 0.001
            # The seat's line meets the fence at the height asked for.
            at_fence = edge.start.y - edge.start.x * d.y / d.x
            assert at_fence == pytest.approx(60.0, abs=1e-9)


def ribs_along(pieces: dict[str, Piece], stem: str) -> list[float]:
    """Return where the fence's slots put the ribs, mm from the fence's end at the notches."""
    fence = pieces[f"{stem}-fence"]
    roofs = [
        (e.start.x + e.end.x) / 2
        for e in fence.outline.edges
        if e.start.y == e.end.y and e.chord == pytest.approx(SHEET + FIT)
    ]
    return sorted(abs(x) for x in roofs)


@pytest.mark.parametrize("stem", ["cradle-a1", "cradle-b1"])
def test_tabs_and_slots_meet_with_the_fit_and_nothing_stands_proud(stem):
    """A tab that is longer than the plate is thick lifts the wedge, or rocks the base."""
    pieces = built(7.0, 3.0)
    rib, seat, fence, base = (pieces[f"{stem}-{p}"] for p in ("rib", "seat", "fence", "base"))
    places = ribs_along(pieces, stem)
    assert len(places) == rib.count == 4
    upper, lower = tab_boxes(rib)
    assert min(e.start.y for e in rib.outline.edges) == pytest.approx(-(SHEET - 0.3))
    slots = sorted(boxes(base), key=lambda b: (b[1], abs(b[0] + b[2])))
    assert len(slots) == 2 * len(places)
    for k, (left, low, right, high) in enumerate(slots):
        tab = lower[k // len(places)]
        assert abs(left + right) / 2 == pytest.approx(places[k % len(places)], abs=1e-9)
        assert right - left == pytest.approx(SHEET + FIT)
        assert (high - low) - (tab[1] - tab[0]) == pytest.approx(FIT)
        assert (high + low) / 2 == pytest.approx(sum(tab) / 2, abs=1e-9)
    for left, low, right, high in seat_slots(seat):
        assert min(abs(abs(left + right) / 2 - place) for place in places) < 1e-9
        assert right - left == pytest.approx(SHEET + FIT)
        assert (high - low) - (upper[1] - upper[0]) == pytest.approx(FIT)
    # Half laps: the fence stands on the base plate, not on the ribs, and both are let in.
    roof = max(e.start.y for e in fence.outline.edges
               if e.chord == pytest.approx(SHEET + FIT))  # fmt: skip
    floor = min(e.start.y for e in rib.outline.edges
                if e.start.y == e.end.y and e.chord == pytest.approx(SHEET + FIT))  # fmt: skip
    assert 0.0 < roof - floor <= 1.0


def seat_slots(seat: Piece) -> list[tuple[float, float, float, float]]:
    """Return the seat plate's slots for the ribs: all but the long one under the holes."""
    return [b for b in boxes(seat) if b[2] - b[0] < 10.0]


def plate_in_space(pieces: dict[str, Piece], stem: str) -> Leaf:
    """Drop the seat plate on the ribs, its slots over their tabs; its upper face is the leaf."""
    rib, plate = pieces[f"{stem}-rib"], pieces[f"{stem}-seat"]
    places = ribs_along(pieces, stem)
    way, edge = forward(rib), seat_edge(rib)
    d = edge.direction()
    upper, _ = tab_boxes(rib)
    stood = rib_in_space(rib, places[0])
    slope = unit(way * d.x, 0.0, d.y)
    normal = np.cross(slope, ALONG)
    normal = normal * math.copysign(1.0, normal[2])
    middle = stood.point(edge.start) + slope * sum(upper) / 2 + SHEET * normal
    slot = min(seat_slots(plate), key=lambda b: abs(b[0] + b[2]))
    hand = math.copysign(1.0, slot[0] + slot[2])
    on_plate = ((slot[0] + slot[2]) / 2, (slot[1] + slot[3]) / 2)
    along = ALONG * hand
    origin = middle - on_plate[0] * along - on_plate[1] * slope
    return Leaf(origin, along, slope)


@pytest.mark.parametrize("stem", ["cradle-a1", "cradle-b1"])
@pytest.mark.parametrize(("a", "b"), [(7.0, 3.0), (3.0, 11.0)])
def test_the_drill_axis_goes_through_the_slot_at_each_hole_and_past_the_ribs(stem, a, b):
    """A pilot that bites into the seat climbs, and takes the wedge with it."""
    pieces = built(a, b, height=60.0)
    down, other = (a, b) if stem.startswith("cradle-a") else (b, a)
    places = ribs_along(pieces, stem)
    leaf = plate_in_space(pieces, stem)
    plate = material(pieces[f"{stem}-seat"])
    seat = seat_on_ribs(pieces[f"{stem}-rib"], places[0], places[-1])
    # The plate as its slots hang it is the plate as the ribs carry it.
    assert angle_between(np.cross(leaf.along_x, leaf.along_y), seat.normal) in (
        pytest.approx(0.0, abs=1e-6),
        pytest.approx(180.0, abs=1e-6),
    )
    laid = lay(seat, math.tan(math.radians(down)), 0.5)
    length = max(abs(e.start.x) for e in pieces[f"{stem}-seat"].outline.edges)
    for k in range(5):
        y = length / 2 + 26.0 * (k - 2)
        hole = laid.put(LINE, y, 0.0)
        assert hole[0] == pytest.approx(LINE, abs=0.11), other
        for depth in (0.0, SHEET):
            face = seat.height(0.0) - depth / seat.normal[2]
            z = face - hole[0] * seat.normal[0] / seat.normal[2]
            at = np.array([hole[0], y, z]) - leaf.origin
            spot = Spot(float(at @ leaf.along_x), float(at @ leaf.along_y))
            assert plate.distance(spot) > DRILL / 2 + 1.0
        assert min(abs(y - place) for place in places) > SHEET / 2 + DRILL / 2 + 1.0


@pytest.mark.parametrize("stem", ["cradle-a1", "cradle-b1"])
@pytest.mark.parametrize(("rear", "gap"), [(0.0, True), (4.0, False)])
def test_the_fence_touches_the_edge_and_stays_clear_of_the_stop(stem, rear, gap):
    """A stop that runs on the fence leaves the countersink shallow; no fence, and it wanders."""
    pieces = built(7.0, 3.0, rear=rear)
    down, up = (7.0, 3.0) if stem.startswith("cradle-a") else (3.0, 7.0)
    fence, places = pieces[f"{stem}-fence"], ribs_along(pieces, stem)
    seat = seat_on_ribs(pieces[f"{stem}-rib"], places[0], places[-1])
    laid = lay(seat, math.tan(math.radians(down)), rear / 2)
    edge = laid.put(0.0, 0.0, -rear / 2)
    assert abs(edge[0]) < 1e-9
    shape = polygon(fence.outline)
    hand = math.copysign(1.0, fence.outline.bounds().right + fence.outline.bounds().left)
    length = fence.outline.bounds().width
    # At both posts there is fence behind the trailing edge, from its foot up.
    for y in (5.0, 20.0, length - 20.0, length - 5.0):
        for above in (0.05, 2.0):
            height = edge[2] + above - SHEET
            assert shape.covers(Spot(hand * y, height)) or (y > length - 8 and above > 1)
    # Where the stop turns, nothing stands above the upper face at the hole.
    face = laid.put(LINE, 0.0, rear / 2 + LINE * math.tan(math.radians(up)))[2]
    for k in range(5):
        middle = length / 2 + 26.0 * (k - 2)
        for off in np.linspace(-STOP / 2, STOP / 2, 14):
            assert not shape.covers(Spot(hand * (middle + off), face - SHEET))
    roofs = [e for e in fence.outline.edges if e.start.y == e.end.y > 40 and e.chord > 100]
    assert len(roofs) == 1
    tall = roofs[0].start.y + SHEET - edge[2]
    assert (tall < 0.0) == gap


@pytest.mark.parametrize("stem", ["cradle-a1", "cradle-b1"])
def test_it_stands_wherever_the_drill_presses(stem):
    """A cradle that tips under the quill breaks the bit, or the fingers."""
    pieces = built(12.0, 9.0, height=60.0)
    base, seat = pieces[f"{stem}-base"], pieces[f"{stem}-seat"]
    ground, carried = polygon(base.outline).bounds, polygon(seat.outline).bounds
    assert ground[0] <= carried[0]
    assert ground[2] >= carried[2]
    assert ground[3] >= carried[3] + 20.0
    assert ground[1] <= -20.0
    places = ribs_along(pieces, stem)
    length = carried[2] - carried[0]
    first, last = length / 2 - 52.0, length / 2 + 52.0
    assert places[0] < first - STOP / 2
    assert places[-1] > last + STOP / 2


def test_the_layers_stack_to_the_length_that_the_stop_and_the_clamps_need():
    """One layer short, and the stop runs on a post."""
    pieces = built(7.0, 3.0, build="layers")
    post, layer = pieces["cradle-b1-post"], pieces["cradle-b1-layer"]
    between = layer.count * SHEET
    assert 4 * 26.0 + STOP <= between < 4 * 26.0 + STOP + 4.0 + SHEET
    assert post.count % 2 == 0
    assert post.count // 2 * SHEET >= 24.0
    # Layers lie on each other: the same dowels, seat and window, whatever the fence.
    assert [m.shape for m in post.inner] == [m.shape for m in layer.inner]
    assert seat_edge(post) == seat_edge(layer)


def test_the_drill_axis_goes_down_the_channel_of_the_layers():
    """The pilot must have air round it, and the swarf a way out."""
    for stem, angle in (("cradle-a1", 7.0), ("cradle-b1", 3.0)):
        piece = built(7.0, 3.0, build="layers")[f"{stem}-layer"]
        shape, way = material(piece), forward(piece)
        seat = 50.0 - LINE * math.tan(math.radians(angle))
        for depth in (0.0, 3.0, 6.0):
            assert shape.distance(Spot(way * LINE, seat - depth)) > DRILL / 2 + 1.0
