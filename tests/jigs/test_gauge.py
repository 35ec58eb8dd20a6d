"""The taper gauge: its V read back, the light that it shows, its master, its place on the wedge."""

import math

import numpy as np
import pytest
from folding import Leaf, angle_between, face_normal
from hypothesis import example, given, settings
from hypothesis import strategies as st
from jiggen.jigs.gauge_lettering import RELIEF, GaugeLabels, GaugeSizes
from jiggen.jigs.gauge_pieces import gauge_checks, gauge_pieces
from shapely import affinity, difference, intersection
from shapely.geometry import LineString, Point, Polygon, box
from shapely_pieces import ink, material, polygon

from jiggen.drawing.piece import Piece
from jiggen.drawing.piece import angle_between as edge_angle
from jiggen.drawing.shapes import Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.gauge import build_gauge, build_master, light_gap
from jiggen.job.read import read_job_text
from jiggen.make import make_drawings
from jiggen.solve import solve

LABELS = GaugeLabels(
    job="Practice edge",
    place="for the wedge at 1480 mm, far end",
    sides=("upper", "lower"),
    light="0.1° of taper = 0.040 mm of light",
)
SKINS = st.floats(2.0, 9.0)
REARS = st.floats(0.2, 2.5)
DEPTHS = st.floats(14.0, 55.0)

JOB = """
format = 1
name = "Practice edge"
units = "UNITS"
sides = ["upper", "lower"]
[wedge]
depth = "24 mm"
[[wedge.station]]
at = 0
offsets = { front = ["2.9 mm", "1.55 mm"], rear = ["0.45 mm", "0.45 mm"], width = "20 mm" }
[[wedge.station]]
at = "1480 mm"
offsets = { front = ["2.72 mm", "1.41 mm"], rear = ["0.45 mm", "0.45 mm"], width = "20 mm" }
[gauge]
"""


def sizes(a: float = 5.0, b: float = 4.0, rear: float | None = 0.9, depth: float = 23.0):
    return GaugeSizes(skin_a=math.radians(a), skin_b=math.radians(b), rear=rear, depth=depth)


def solved(tmp_path, text: str = JOB, units: str = "mm"):
    return solve(read_job_text(text.replace("UNITS", units), "job.toml", tmp_path))


def wedge(one: GaugeSizes, error: float = 0.0, length: float = 70.0) -> Polygon:
    """Return the section of a wedge whose rear corners stand where the nominal gauge has them."""
    a, b = math.tan(one.skin_a + error / 2), math.tan(one.skin_b + error / 2)
    x, half = one.edge, one.rear or 0.0
    up = half * math.tan(one.skin_a) / one.opening
    down = half - up
    return Polygon(
        [
            (x, up),
            (x, -down),
            (x + length, -down - length * b),
            (x + length, up + length * a),
        ]
    )


@settings(max_examples=120, deadline=None)
@given(a=SKINS, b=SKINS, rear=REARS, depth=DEPTHS)
def test_the_v_read_back_from_the_outline_is_the_taper_asked_for(a, b, rear, depth):
    """A V that is off by a tenth of a degree calls a good wedge bad."""
    one = sizes(a, b, rear, depth)
    for name, error in (("gauge-1-thin", -0.25), ("gauge-1-nominal", 0.0), ("gauge-1-thick", 0.25)):
        piece = build_gauge(name, one, math.radians(error), LABELS)
        ends = {tuple(e.start) for e in piece.outline.edges}
        flanks = [e for e in piece.outline.edges if e.bulge == 0 and 0 < abs(e.direction().y) < 0.5]
        upper = next(e for e in flanks if e.start.y > 0 or e.end.y > 0)
        lower = next(e for e in flanks if e.start.y < 0 or e.end.y < 0)
        slopes = [
            abs(math.degrees(math.atan(e.direction().y / e.direction().x))) for e in (upper, lower)
        ]
        assert sum(slopes) == pytest.approx(a + b + error, abs=1e-9)
        assert edge_angle(piece.angles[0].base, piece.angles[0].working) == pytest.approx(
            piece.angles[0].nominal, abs=1e-9
        )
        assert tuple(piece.angles[0].working.start) in ends


@settings(max_examples=60, deadline=None)
@example(a=6.0, b=2.0, rear=0.203125, depth=14.0)
@given(a=SKINS, b=SKINS, rear=REARS, depth=DEPTHS)
def test_a_true_wedge_lies_in_the_nominal_v_without_light_and_without_overlap(a, b, rear, depth):
    """The relief must clear a thick trailing edge: held up there, the wedge shows light."""
    one = sizes(a, b, rear, depth)
    plate = material(build_gauge("gauge-1-nominal", one, 0.0, LABELS))
    body = wedge(one)
    assert intersection(plate, body, grid_size=1e-6).area == pytest.approx(0.0, abs=1e-4)
    half = one.mouth * one.opening + 5.0
    touching = box(max(one.edge, RELIEF), -half, one.mouth, half)
    # On a grid of a millionth: edges that lie on one another are no matter of the last digit.
    open_v = difference(touching, plate, grid_size=1e-6)
    light = difference(open_v, body, grid_size=1e-6)
    assert light.area == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize("error", [-0.25, -0.1, 0.1, 0.25])
def test_the_light_is_what_is_printed_beside_the_v(error):
    """The builder judges the wedge by that figure: it must be what he sees."""
    one = sizes(5.0, 4.0, 1.2, 24.0)
    plate = material(build_gauge("gauge-1-nominal", one, 0.0, LABELS))
    # Lay face B on flank B, then slide along it until the other flank or the apex stops it.
    body = affinity.rotate(
        wedge(one, math.radians(error)), error / 2, origin=(0, 0), use_radians=False
    )
    way = np.array([-math.cos(one.skin_b), math.sin(one.skin_b)])
    corner = np.array(body.exterior.coords[1])
    on_flank = -corner[1] * math.cos(one.skin_b) - corner[0] * math.sin(one.skin_b)
    normal = np.array([math.sin(one.skin_b), math.cos(one.skin_b)])
    body = affinity.translate(body, *(normal * on_flank))
    inside, outside = -6.0, 6.0
    for _ in range(50):
        middle = (inside + outside) / 2
        moved = affinity.translate(body, *(way * middle))
        if plate.intersection(moved).area > 1e-7:
            outside = middle
        else:
            inside = middle
    seated = affinity.translate(body, *(way * inside))
    flank = build_gauge("gauge-1-nominal", one, 0.0, LABELS).angles[0].working
    corner, mouth = (Point(seated.exterior.coords[0]), Point(flank.end))
    face = LineString([seated.exterior.coords[0], seated.exterior.coords[3]])
    gaps = [LineString([flank.start, flank.end]).distance(corner), face.distance(mouth)]
    assert max(gaps) == pytest.approx(light_gap(one.touching, math.radians(error)), rel=0.12)
    assert (gaps[1] > gaps[0]) == (error < 0)  # too thin a wedge: light at the mouth


@settings(max_examples=60, deadline=None)
@given(a=SKINS, b=SKINS, rear=REARS, depth=st.floats(26.0, 55.0))
def test_the_master_goes_into_the_nominal_v_and_nowhere_touches_its_apex(a, b, rear, depth):
    """A tongue that stands on the relief rocks, and would prove a wrong V right."""
    one = sizes(a, b, rear, depth)
    plate = material(build_gauge("gauge-1-nominal", one, 0.0, LABELS))
    piece = build_master("gauge-1-master", one, LABELS)
    tongue = polygon(piece.outline)
    assert intersection(plate, tongue, grid_size=1e-6).area == pytest.approx(0.0, abs=1e-4)
    assert edge_angle(piece.angles[0].base, piece.angles[0].working) == pytest.approx(a + b)
    tip = min(x for x, _ in tongue.exterior.coords)
    assert tip > RELIEF
    assert tip < one.mouth / 2


@settings(max_examples=60, deadline=None)
@given(a=SKINS, b=SKINS, rear=REARS)
def test_stood_in_space_on_the_wedge_its_flanks_lie_on_both_faces(a, b, rear):
    """Folded back into the section square to the edge, a flank and its face are one direction."""
    one = sizes(a, b, rear)
    piece = build_gauge("gauge-1-nominal", one, 0.0, LABELS)
    leaf = Leaf(
        np.array([-one.edge, 700.0, 0.0]), np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    )
    for side, flank in (("a", piece.angles[0].working), ("b", piece.angles[0].base)):
        slope = math.tan(one.skin_a if side == "a" else one.skin_b)
        along = leaf.direction(flank.start, flank.end)
        assert angle_between(along, face_normal(slope, side=side)) == pytest.approx(90, abs=1e-3)


def test_roles_are_told_apart_by_notches_in_the_hand():
    """Thin and thick taken for one another turn the verdict round."""
    counts = {}
    for role in ("thin", "nominal", "thick"):
        piece = build_gauge(f"gauge-1-{role}", sizes(), 0.0, LABELS)
        back = min(p.start.x for p in piece.outline.edges)
        arcs = [e for e in piece.outline.edges if e.bulge and max(e.start.x, e.end.x) < back + 5]
        counts[role] = len(arcs) / 2
    assert counts == {"thin": 1, "nominal": 2, "thick": 3}


def test_only_a_lopsided_wedge_has_a_lopsided_plate():
    """A corner cut off where both ways fit would make the builder look for a difference."""
    cut = {
        b: any(
            abs(abs(e.direction().x) - abs(e.direction().y)) < 1e-9
            for e in build_gauge("gauge-1-thin", sizes(5.0, b), 0.0, LABELS).outline.edges
            if e.bulge == 0
        )
        for b in (4.0, 5.0)
    }
    assert cut == {4.0: True, 5.0: False}


def test_a_v_that_does_not_take_the_wedge_is_refused_with_a_tolerance_that_would_do():
    """A slight taper less a coarse tolerance leaves no V."""
    with pytest.raises(DoesNotFit, match="takes only") as trouble:
        build_gauge("gauge-1-thin", sizes(0.5, 0.5), math.radians(-0.6), LABELS)
    assert trouble.value.key == "gauge.tolerance"


def all_pieces() -> list[Piece]:
    lettered = GaugeLabels(
        job="A rather long name of a job that a tidy builder might write down, spare 2",
        place="for the wedge at 1480 mm, far end",
        sides=("upper starboard skin", "lower"),
        light="0.1° of taper = 0.0016 in of light",
    )
    pieces = []
    for one in (sizes(), sizes(9.0, 0.0, None, 14.0), sizes(2, 2, 2.5, 60.0)):
        for role in ("thin", "nominal", "thick"):
            pieces.append(build_gauge(f"gauge-12-{role}", one, 0.0, lettered))
        pieces.append(build_master("gauge-12-master", one, lettered))
    return pieces


@pytest.mark.parametrize("piece", all_pieces(), ids=lambda p: p.name)
def test_every_label_lies_on_the_piece_and_on_nothing_else(piece):
    """A name across a cut line is lost with the offcut; two over one another are not read."""
    body = material(piece)
    marks = [m for m in piece.marks if not m.paper_only]
    for mark in marks:
        assert body.buffer(1e-6).contains(ink(mark)), mark
    texts = [ink(m) for m in marks if isinstance(m.shape, Text)]
    others = [ink(m) for m in marks if not isinstance(m.shape, Text)]
    for k, text in enumerate(texts):
        assert not any(text.intersects(other) for other in [*texts[k + 1 :], *others])


def test_a_tapered_wedge_has_a_set_for_each_station_and_says_which_end(tmp_path):
    """Tried at the wrong end, the right gauge says that a good wedge is wrong."""
    pieces = gauge_pieces(solved(tmp_path))
    assert [p.name for p in pieces] == [
        f"gauge-{n}-{role}" for n in (1, 2) for role in ("thin", "nominal", "thick", "master")
    ]
    words = {
        p.name: " ".join(m.shape.text for m in p.marks if isinstance(m.shape, Text)) for p in pieces
    }
    assert "zero end" in words["gauge-1-thin"]
    assert "far end" not in words["gauge-1-thin"]
    assert "far end" in words["gauge-2-master"]
    assert "1480 mm" in words["gauge-2-master"]
    angle = {p.name: p.angles[0].nominal for p in pieces}
    exact = [
        math.degrees(math.atan(f / 20) + math.atan(g / 20)) for f, g in ((2.45, 1.10), (2.27, 0.96))
    ]
    assert angle["gauge-1-nominal"] == pytest.approx(exact[0])
    assert angle["gauge-2-master"] == pytest.approx(exact[1])
    assert angle["gauge-2-thick"] == pytest.approx(exact[1] + 0.25)


def test_stations_of_one_section_share_one_set(tmp_path):
    """Two equal sets invite the question which is right."""
    text = JOB.replace('"2.72 mm", "1.41 mm"', '"2.9 mm", "1.55 mm"')
    pieces = gauge_pieces(solved(tmp_path, text))
    assert len(pieces) == 4


def test_an_inch_job_reads_inches_on_its_gauges(tmp_path):
    """A figure in the other unit is a figure misread."""
    pieces = gauge_pieces(solved(tmp_path, units="in"))
    words = " ".join(m.shape.text for m in pieces[1].marks if isinstance(m.shape, Text))
    assert " in of light" in words
    assert " mm of" not in words


def test_a_v_too_short_for_its_tolerance_is_warned_of_with_the_length_it_takes(tmp_path):
    """A gauge that shows nothing passes everything."""
    fine = solved(tmp_path, JOB + "tolerance = 0.05\n")
    (check,) = gauge_checks(fine)
    assert check.status == "warn"
    assert f"{0.05 / math.tan(math.radians(0.05)):.1f} mm" in str(check.why)
    assert gauge_checks(solved(tmp_path))[0].status == "ok"
    thick = solved(tmp_path, JOB + 'feeler = "0.15 mm"\n')
    assert gauge_checks(thick)[0].status == "warn"


def test_curved_faces_are_refused_a_straight_v(tmp_path):
    """Light on a good wedge would send it to the scrap."""
    rows = [(x / 50, 0.06 * math.sqrt(1 - x / 50) * (x / 50)) for x in range(50, -1, -1)]
    (tmp_path / "s.dat").write_text(
        "\n".join(f"{x:.6f} {z:.6f}" for x, z in rows)
        + "\n"
        + "\n".join(f"{x:.6f} {-z:.6f}" for x, z in rows[::-1][1:])
    )
    text = """
format = 1
name = "Curved"
units = "mm"
[[wedge.station]]
at = 0
outline = { file = "s.dat", from = 0.85, chord = 400.0 }
[gauge]
"""
    solution = solved(tmp_path, text)
    with pytest.raises(DoesNotFit, match="curved faces") as trouble:
        gauge_pieces(solution)
    assert trouble.value.key == "gauge"
    assert gauge_checks(solution) == ()


def test_gauges_are_drawn_when_the_job_asks_and_only_then(tmp_path):
    """Nobody wants eight more pieces on paper who did not ask for them."""
    asked = {p.kind for p in make_drawings(solved(tmp_path), formats=("svg",)).pieces}
    silent = solved(tmp_path, JOB.replace("[gauge]", ""))
    assert "gauge" in asked
    assert "gauge" not in {p.kind for p in make_drawings(silent, formats=("svg",)).pieces}
    named = make_drawings(silent, formats=("svg",), only=("gauge",))
    assert {p.kind for p in named.pieces} == {"gauge"}


@pytest.mark.parametrize("one", [sizes(), sizes(2.0, 2.0, 0.5, 40.0), sizes(9.0, 0.0, None, 14.0)])
def test_the_grey_lies_inside_the_v(one):
    """Grey on the plate beside the V would be filed away: the root of the V is lost."""
    piece = build_gauge("gauge-1-nominal", one, 0.0, LABELS)
    body = material(piece)
    bands = [polygon(m.shape) for m in piece.marks if m.paper_only]
    assert len(bands) == 2
    assert bands[0].intersection(bands[1]).area == pytest.approx(0.0, abs=1e-9)
    assert all(band.intersection(body).area == pytest.approx(0.0, abs=1e-6) for band in bands)


def test_a_v_deeper_than_the_wedge_is_refused(tmp_path):
    """What stands out in front of the wedge shows no light: the figure beside the V would lie."""
    with pytest.raises(DoesNotFit, match="deeper than the wedge") as trouble:
        gauge_pieces(solved(tmp_path, JOB + 'depth = "30 mm"\n'))
    assert (trouble.value.key, str(trouble.value.remedy)[:5]) == ("gauge.depth", "23 mm")
    (nominal,) = (
        p
        for p in gauge_pieces(solved(tmp_path, JOB + 'depth = "20 mm"\n'))
        if p.name == "gauge-1-nominal"
    )
    words = " ".join(m.shape.text for m in nominal.marks if isinstance(m.shape, Text))
    assert "0.035 mm of light" in words


def test_a_wedge_too_thin_for_a_master_still_gets_its_gauges(tmp_path):
    """The gauges are of use without it: they compare one piece with another."""
    thin = """
format = 1
name = "Thin"
units = "mm"
[wedge]
depth = 12.0
rear_thickness = 0.4
[[wedge.station]]
at = 0
included_angle = 3.0
[gauge]
"""
    names = [p.name for p in gauge_pieces(solved(tmp_path, thin))]
    assert names == ["gauge-1-thin", "gauge-1-nominal", "gauge-1-thick"]
    with pytest.raises(DoesNotFit, match="tongue"):
        build_master("gauge-1-master", sizes(1.5, 1.5, 0.4, 11.0), LABELS)


def test_the_tolerance_that_is_offered_passes(tmp_path):
    """A remedy that is refused in its turn goes round in a circle."""
    slight = """
format = 1
name = "Slight"
units = "mm"
[wedge]
depth = 30.0
rear_thickness = 1.0
[[wedge.station]]
at = 0
included_angle = 1.2
[gauge]
"""
    with pytest.raises(DoesNotFit) as trouble:
        gauge_pieces(solved(tmp_path, slight))
    offered = float(str(trouble.value.remedy).split()[0])
    assert offered > 0.1
    assert gauge_pieces(solved(tmp_path, slight + f"tolerance = {offered}\n"))


def test_without_the_edges_thickness_no_v_is_drawn(tmp_path):
    """A V for a sharp edge never lets a blunt one in, and calls every wedge too thick."""
    blunt = """
format = 1
name = "Blunt"
units = "mm"
[wedge]
depth = 30.0
[[wedge.station]]
at = 0
included_angle = 9
[gauge]
"""
    with pytest.raises(DoesNotFit) as trouble:
        gauge_pieces(solved(tmp_path, blunt))
    assert trouble.value.key == "wedge.rear_thickness"


def test_each_flank_has_the_slope_of_its_own_side(tmp_path):
    """The names beside the V say which face goes where: swapped, the axis of the V is the other."""
    nominal = gauge_pieces(solved(tmp_path))[1]
    check = nominal.angles[0]
    upper, lower = (e.direction().y / e.direction().x for e in (check.working, check.base))
    assert upper == pytest.approx((2.90 - 0.45) / 20.0)
    assert lower == pytest.approx(-(1.55 - 0.45) / 20.0)
    top, bottom = (
        next(m.shape.bounds().bottom for m in nominal.marks if getattr(m.shape, "text", "") == side)
        for side in ("upper", "lower")
    )
    assert top > check.working.end.y > check.base.end.y > bottom


def test_stations_that_differ_on_one_side_only_have_sets_of_their_own(tmp_path):
    """One V for both would be right at one end."""
    text = JOB.replace('"2.72 mm", "1.41 mm"', '"2.9 mm", "1.41 mm"')
    assert len(gauge_pieces(solved(tmp_path, text))) == 8
