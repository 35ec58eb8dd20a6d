"""The taper gauge: its V read back, the light that it shows, its master, its place on the wedge."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from folding import Leaf, angle_between, face_normal
from hypothesis import example, given, settings
from hypothesis import strategies as st
from samplejobs import a_job, bulging, included, offsets, skins
from shapely import affinity, difference, intersection
from shapely.geometry import LineString, Point, Polygon, box
from shapely_pieces import assert_sound, material, polygon

from jiggen.drawing.face import unlettered
from jiggen.drawing.piece import Piece
from jiggen.drawing.piece import angle_between as edge_angle
from jiggen.drawing.shapes import Edge, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.gauge import light_gap, plan_gauge
from jiggen.jigs.plan import Plan
from jiggen.job.sections import Gauge
from jiggen.solve import solve

#: mm. Round the apex a hole of this radius gives a burr room.
RELIEF = 1.5
SKINS = st.floats(2.0, 9.0)
REARS = st.floats(0.2, 2.5)
DEPTHS = st.floats(14.0, 55.0)


def planned(
    *stations, depth: float = 24.0, rear: float | None = 0.9, v: float | None = None, **asked
) -> Plan:
    """Return the gauges of a job; `v` is the depth of theirs, a tolerance is in degrees."""
    if "tolerance" in asked:
        asked["tolerance"] = math.radians(asked["tolerance"])
    asked["depth"] = v
    job = a_job(*stations, depth=depth, rear_thickness=rear, gauge=Gauge(**asked))
    return plan_gauge(solve(job))


@dataclass(frozen=True)
class Wedge:
    """A true wedge, and its gauges; the apex of its faces at (0, 0), forward to the right."""

    a: float
    b: float
    rear: float
    depth: float

    def piece(self, role: str) -> Piece:
        """Return one of its gauges, without lettering."""
        face = skins(self.a, self.b)
        with unlettered():
            plan = planned(face, rear=self.rear, depth=self.depth + 1.0, v=self.depth)
        return next(p for p in plan.pieces if p.name == f"gauge-1-{role}")

    @property
    def slopes(self) -> tuple[float, float]:
        """Return how much its faces rise for each mm forward."""
        return math.tan(math.radians(self.a)), math.tan(math.radians(self.b))

    @property
    def edge(self) -> float:
        """Return where its trailing edge stands, mm forward of the apex."""
        return self.rear / sum(self.slopes)

    def section(self, error: float = 0.0, length: float = 70.0) -> Polygon:
        """Return its section, its taper off by `error` degrees, its rear corners where they are."""
        x, (a, b) = self.edge, self.slopes
        off_a, off_b = (math.tan(math.radians(s + error / 2)) for s in (self.a, self.b))
        return Polygon([
            (x, x * a), (x, -x * b),
            (x + length, -x * b - length * off_b), (x + length, x * a + length * off_a),
        ])  # fmt: skip


def flanks(piece: Piece) -> tuple[Edge, Edge]:
    """Return the flank of side A and of side B: the two straight edges that slope a little."""
    found = [e for e in piece.outline.edges if e.bulge == 0 and 0 < abs(e.direction().y) < 0.5]
    upper = max(found, key=lambda e: e.start.y + e.end.y)
    lower = min(found, key=lambda e: e.start.y + e.end.y)
    return upper, lower


@settings(max_examples=40)
@given(a=SKINS, b=SKINS, rear=REARS, depth=DEPTHS)
def test_the_v_read_back_from_the_outline_is_the_taper_asked_for(a, b, rear, depth):
    """A V that is off by a tenth of a degree calls a good wedge bad."""
    for role, error in (("thin", -0.25), ("nominal", 0.0), ("thick", 0.25)):
        piece = Wedge(a, b, rear, depth).piece(role)
        slopes = [
            abs(math.degrees(math.atan(e.direction().y / e.direction().x))) for e in flanks(piece)
        ]
        assert slopes == pytest.approx([a + error / 2, b + error / 2], abs=1e-9)
        (check,) = piece.angles
        assert check.nominal == pytest.approx(sum(slopes))
        assert edge_angle(check.base, check.working) == pytest.approx(sum(slopes), abs=1e-9)
        assert float(piece.number.removesuffix("°")) == pytest.approx(sum(slopes), abs=0.0501)


@settings(max_examples=40)
@example(a=6.0, b=2.0, rear=0.203125, depth=14.0)
@given(a=SKINS, b=SKINS, rear=REARS, depth=DEPTHS)
def test_a_true_wedge_lies_in_the_true_v_without_light_and_without_overlap(a, b, rear, depth):
    """The relief must clear a thick trailing edge: held up there, the wedge shows light."""
    one = Wedge(a, b, rear, depth)
    plate, body = material(one.piece("nominal")), one.section()
    assert intersection(plate, body, grid_size=1e-6).area == pytest.approx(0.0, abs=1e-4)
    mouth = one.edge + depth
    half = mouth * sum(one.slopes) + 5.0
    touching = box(max(one.edge, RELIEF), -half, mouth, half)
    # On a grid of a millionth: edges that lie on one another are no matter of the last digit.
    open_v = difference(touching, plate, grid_size=1e-6)
    light = difference(open_v, body, grid_size=1e-6)
    assert light.area == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize("error", [-0.25, -0.1, 0.1, 0.25])
def test_the_light_is_what_is_told(error):
    """The builder judges the wedge by that figure: it must be what he sees."""
    one = Wedge(5.0, 4.0, 1.2, 24.0)
    piece = one.piece("nominal")
    plate, flank = material(piece), flanks(piece)[0]
    # Lay face B on flank B, then slide along it until the other flank or the apex stops it.
    body = affinity.rotate(one.section(error), error / 2, origin=(0, 0))
    b = math.radians(one.b)
    corner = np.array(body.exterior.coords[1])
    normal = np.array([math.sin(b), math.cos(b)])
    body = affinity.translate(body, *(-normal * float(corner @ normal)))
    inside, outside = -6.0, 6.0
    for _ in range(50):
        middle = (inside + outside) / 2
        moved = affinity.translate(body, -math.cos(b) * middle, math.sin(b) * middle)
        if plate.intersection(moved).area > 1e-7:
            outside = middle
        else:
            inside = middle
    seated = affinity.translate(body, -math.cos(b) * inside, math.sin(b) * inside)
    corner, mouth = Point(seated.exterior.coords[0]), max(flank.start, flank.end)
    face = LineString([seated.exterior.coords[0], seated.exterior.coords[3]])
    gaps = [LineString([flank.start, flank.end]).distance(corner), face.distance(Point(mouth))]
    told = light_gap(one.depth, math.radians(error))
    assert max(gaps) == pytest.approx(told, rel=0.12)
    assert (gaps[1] > gaps[0]) == (error < 0)  # too thin a wedge: light at the mouth


@settings(max_examples=40)
@given(a=SKINS, b=SKINS, rear=REARS, depth=st.floats(26.0, 55.0))
def test_the_master_goes_into_the_true_v_and_nowhere_touches_its_apex(a, b, rear, depth):
    """A tongue that stands on the relief rocks, and would prove a wrong V right."""
    one = Wedge(a, b, rear, depth)
    master = one.piece("master")
    tongue = polygon(master.outline)
    plate = material(one.piece("nominal"))
    assert intersection(plate, tongue, grid_size=1e-6).area == pytest.approx(0.0, abs=1e-4)
    assert edge_angle(master.angles[0].base, master.angles[0].working) == pytest.approx(a + b)
    tip = min(x for x, _ in tongue.exterior.coords)
    assert RELIEF < tip < (one.edge + depth) / 2


@pytest.mark.parametrize(
    ("angles", "more"),
    [((5.0, 4.0), {}), ((9.0, 0.0), {"rear": 0.0, "v": 14.0}),
     ((2.0, 2.0), {"rear": 2.5, "depth": 61.0, "v": 60.0})],
)  # fmt: skip
def test_every_plate_is_sound_and_all_of_its_words_lie_on_it(angles, more):
    """A name across a cut line is lost with the offcut."""
    for piece in planned(skins(*angles), **more).pieces:
        assert_sound(piece, 0.79 if piece.variant == "master" else 2.0)  # its tip is meant


@settings(max_examples=25)
@given(a=SKINS, b=SKINS, rear=REARS)
def test_stood_in_space_on_the_wedge_its_flanks_lie_on_both_faces(a, b, rear):
    """Folded back into the section square to the edge, a flank and its face are one direction."""
    one = Wedge(a, b, rear, 23.0)
    leaf = Leaf(
        np.array([-one.edge, 700.0, 0.0]), np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    )
    for side, flank, slope in zip("ab", flanks(one.piece("nominal")), one.slopes, strict=True):
        along = leaf.direction(flank.start, flank.end)
        assert angle_between(along, face_normal(slope, side=side)) == pytest.approx(90, abs=1e-3)


def test_roles_are_told_apart_by_notches_in_the_hand():
    """Thin and thick taken for one another turn the verdict round."""
    counts = {}
    for role in ("thin", "nominal", "thick"):
        piece = Wedge(5.0, 4.0, 0.9, 23.0).piece(role)
        back = min(p.start.x for p in piece.outline.edges)
        arcs = [e for e in piece.outline.edges if e.bulge and max(e.start.x, e.end.x) < back + 5]
        counts[role] = len(arcs) / 2
    assert counts == {"thin": 1, "nominal": 2, "thick": 3}


@pytest.mark.parametrize(("b", "lopsided"), [(4.0, True), (5.0, False)])
def test_only_a_lopsided_wedge_has_a_plate_with_an_upper_side(b, lopsided):
    """A corner cut off where both ways fit would make the builder look for a difference."""
    for piece in planned(skins(5.0, b)).pieces:
        said = [m.shape.text for m in piece.marks if isinstance(m.shape, Text)]
        assert ("upper up" in said) == lopsided
        cut = [e for e in piece.outline.edges if e.bulge == 0 and
               abs(abs(e.direction().x) - abs(e.direction().y)) < 1e-9]  # fmt: skip
        assert bool(cut) == (lopsided and "master" not in piece.name)


def test_each_station_has_a_set_and_stations_alike_share_one():
    """Tried at the wrong end, the right gauge says that a good wedge is wrong."""

    def sets(*fronts: tuple[float, float]) -> list[Piece]:
        rows = [offsets(front, (0.45, 0.45), 20.0, at=1480.0 * n) for n, front in enumerate(fronts)]
        return list(planned(*rows, rear=None).pieces)

    roles = ("thin", "nominal", "thick", "master")
    two = sets((2.90, 1.55), (2.72, 1.41))
    assert [p.name for p in two] == [f"gauge-{n}-{role}" for n in (1, 2) for role in roles]
    first, second = (
        [math.degrees(math.atan(rise / 20)) for rise in rises]
        for rises in ((2.45, 1.10), (2.27, 0.96))
    )
    angles = [p.angles[0].nominal for p in two]
    assert angles[1] == angles[3] == pytest.approx(sum(first))
    assert angles[6] == pytest.approx(sum(second) + 0.25)
    assert len(sets((2.90, 1.55), (2.90, 1.55))) == 4
    assert len(sets((2.90, 1.55), (2.90, 1.41))) == 8, "one V for both would be right at one end"


def test_a_v_too_short_for_its_tolerance_is_warned_of_with_the_length_it_takes():
    """A gauge that shows nothing passes everything; 0.05 mm is seen by eye: common practice."""
    (good,) = planned(skins(5.0, 4.0)).checks
    assert (good.status, good.value) == ("ok", pytest.approx(23.0 * math.tan(math.radians(0.25))))
    (fine,) = planned(skins(5.0, 4.0), tolerance=0.05).checks
    assert fine.status == "warn"
    assert f"{0.05 / math.tan(math.radians(0.05)):.1f} mm" in str(fine.why)
    (blade,) = planned(skins(5.0, 4.0), feeler=0.15).checks
    assert (blade.status, blade.limit) == ("warn", 0.15)


def test_a_wedge_too_thin_for_a_master_still_gets_its_gauges():
    """The gauges are of use without it: they compare one piece with another."""
    names = [p.name for p in planned(included(3.0), depth=12.0, rear=0.4).pieces]
    assert names == ["gauge-1-thin", "gauge-1-nominal", "gauge-1-thick"]


@pytest.mark.parametrize(
    ("station", "more", "key", "said"),
    [
        (bulging(), {"rear": None}, "gauge", "curved faces"),
        (included(9.0), {"rear": None}, "wedge.rear_thickness", "how thick its edge is"),
        (skins(5.0, 4.0), {"v": 30.0}, "gauge.depth", "deeper than the wedge"),
        (included(1.2), {"depth": 30.0, "rear": 1.0}, "gauge.tolerance", "takes only"),
    ],
)
def test_what_would_call_a_good_wedge_bad_is_refused(station, more, key, said):
    """Light on a good wedge would send it to the scrap."""
    with pytest.raises(DoesNotFit, match=said) as trouble:
        planned(station, **more)
    assert trouble.value.key == key
    # A number that is offered passes.
    told = str(trouble.value.remedy).split()
    if key == "gauge.depth":
        assert planned(station, v=float(told[0])).pieces
    if key == "gauge.tolerance":
        assert float(told[0]) > 0.1
        assert planned(station, **more, tolerance=float(told[0])).pieces
