"""The cradles: which ones a job needs, what is cut and lettered, what is refused."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from readback import MICROMETRE, model_walk, read_dxf, read_svg, worst_distance
from samplejobs import a_job, included, row_of_holes, skins, thick
from shapely.geometry import LineString
from shapely_pieces import ink, material, polygon

from jiggen.drawing.kerf import with_kerf
from jiggen.drawing.piece import Piece, angle_between
from jiggen.drawing.shapes import Text
from jiggen.errors import DoesNotFit
from jiggen.geometry.finished import Reading, real_angle
from jiggen.jigs.cradle_pieces import cradle_checks, cradle_pieces, cradle_words
from jiggen.jigs.cradle_set import cradles
from jiggen.jigs.plan import build_pieces
from jiggen.job.read import read_job, read_job_text
from jiggen.job.sections import Cradle, Cut, Job, Print, Rivet
from jiggen.make import make_drawings
from jiggen.solve import solve

SAMPLES = Path(__file__).parents[2] / "samples"


def job(*stations, holes: int = 9, **changes) -> Job:
    asked = changes.pop("asked", {})
    return a_job(
        *(stations or (skins(7.0, 3.0),)),
        holes=changes.pop("row", row_of_holes(holes)),
        rear_thickness=changes.pop("rear", 1.0),
        depth=30.0,
        cradle=Cradle(**asked),
        **changes,
    )


def pieces_of(*stations, **changes) -> list[Piece]:
    return cradle_pieces(solve(job(*stations, **changes)))


def tapered(**changes) -> Job:
    """Return a wedge of 6 deg at hole 1 and 4 deg at the far end, a metre on."""
    return job(included(12.0, at=0.0), included(8.0, at=1000.0), holes=38, **changes)


def all_sorts() -> list[Piece]:
    long = "A rather long name of a job that a tidy builder might write down, spare 2"
    found: list[Piece] = []
    for build in ("ribs", "layers"):
        for asked in ({}, {"holes": 1}, {"holes": 2}, {"holes": 9, "error": math.radians(1.0)}):
            found += pieces_of(asked={"build": build, "height": 58.0, **asked})
        found += pieces_of(skins(14.0, 1.5), asked={"build": build, "height": 62.0}, name=long)
        found += pieces_of(included(10.0), asked={"build": build}, rear=5.0)
        found += pieces_of(skins(9.0, -4.0), asked={"build": build, "height": 60.0})
        row = row_of_holes(14, line=15.0, drill=6.0)
        found += pieces_of(
            asked={"build": build, "height": 55.0},
            row=row,
            cut=Cut(kerf=0.15, sheet=6.0),
            units="in",
        )
    found += cradle_pieces(solve(tapered(asked={"holes": 3})))
    return found


@pytest.mark.parametrize("piece", all_sorts(), ids=lambda p: f"{p.name} {p.angles[:1]}"[:40])
def test_no_mark_leaves_the_piece_or_crosses_another(piece):
    """Lettering across a cut line is cut away; lettering across lettering is not read."""
    body = material(piece)
    inks = [(m, ink(m)) for m in piece.marks if not m.paper_only]
    for mark, shape in inks:
        assert body.contains(shape), mark.shape
        assert body.boundary.distance(shape) > 0.4, mark.shape
    texts = [(m, s) for m, s in inks if isinstance(m.shape, Text)]
    for mark, box in texts:
        for other, shape in inks:
            if other is not mark:
                assert not box.intersects(shape), (mark.shape, other.shape)


@pytest.mark.parametrize("piece", all_sorts(), ids=lambda p: f"{p.name} {p.angles[:1]}"[:40])
def test_every_piece_says_what_it_is_and_which_skin_lies_down(piece):
    """Two cradles in one drawer differ by a few degrees: the words must be on every part."""
    said = " ".join(m.shape.text for m in piece.marks if isinstance(m.shape, Text))
    assert "DOWN" in said
    assert piece.title.split()[0] == "Cradle"
    assert " ".join(piece.title.split()[:2]) in said
    assert "seat" in said
    assert "°" in said
    assert "hole" in said
    assert "mm" in said
    job_word = "rather" if "rather" in said or "A rath" in said else "flap"
    assert job_word in said
    if piece.name.endswith("fence"):
        assert "POST" in said
    else:
        assert {"FORWARD", "TE"} <= {m.shape.text for m in piece.marks if isinstance(m.shape, Text)}


@pytest.mark.parametrize("piece", all_sorts(), ids=lambda p: f"{p.name} {p.angles[:1]}"[:40])
def test_bars_and_sizes_are_as_long_as_they_say(piece):
    """A bar that is off by a tick would condemn a true print."""
    assert sum(d.is_bar for d in piece.dimensions) >= 2
    corners = {tuple(round(c, 9) for c in e.start) for e in piece.outline.edges}
    for size in piece.dimensions:
        assert math.dist(size.start, size.end) == pytest.approx(size.nominal, abs=1e-9)
        if not size.is_bar:
            assert tuple(round(c, 9) for c in size.start) in corners
            assert tuple(round(c, 9) for c in size.end) in corners
    assert piece.outline.area > 0
    assert polygon(piece.outline).is_valid


@settings(max_examples=40, deadline=None)
@given(a=st.floats(1.5, 12.0), b=st.floats(1.5, 12.0), build=st.sampled_from(["ribs", "layers"]))
def test_the_check_edges_say_the_seat_angle_that_they_have(a, b, build):
    """The figure on the piece and the edges that are judged must be one thing."""
    for piece in pieces_of(skins(a, b), asked={"build": build, "height": 60.0}):
        for check in piece.angles:
            assert angle_between(check.base, check.working) == pytest.approx(
                check.nominal, abs=1e-9
            )
            assert check.nominal == pytest.approx(a if piece.side == "a" else b, abs=1e-9)


def test_a_calliper_over_the_lettered_corners_finds_the_seat_angle():
    """The angle is small, and a protractor reads it to half a degree."""
    for build in ("ribs", "layers"):
        piece = pieces_of(asked={"build": build})[0]
        check = piece.angles[0]
        found = real_angle(
            (check.base.start, check.base.end),
            (check.working.start, check.working.end),
            [
                Reading(name=d.name, start=d.start, end=d.end, measured=d.nominal, standard=0.025)
                for d in piece.dimensions
                if not d.is_bar
            ],
        )
        assert found.determined
        assert math.degrees(2 * found.standard) < 0.1
        assert piece.allowed_angle is not None
        assert piece.allowed_angle > 0.16


def test_side_a_has_a_clipped_corner_and_the_notches_count():
    """The outline itself must tell the cradles apart, in the hand and in the dark."""
    pieces = {p.name: p for p in cradle_pieces(solve(tapered(asked={"holes": 3})))}
    stems = sorted({name.rsplit("-", 1)[0] for name in pieces})
    assert stems == ["cradle-1", "cradle-2", "cradle-3"] or len(stems) >= 2
    for name, piece in pieces.items():
        tips = [
            e
            for e, after in zip(piece.outline.edges, piece.outline.edges[1:], strict=False)
            if math.isclose(e.chord, math.hypot(1.5, 1.8)) and math.isclose(after.chord, e.chord)
        ]
        assert len(tips) == int(name.split("-")[1]), name
    both = {p.name: p for p in pieces_of()}
    for part in ("rib", "seat", "fence", "base"):
        for side, cut in (("a", 1), ("b", 0)):
            edges = both[f"cradle-{side}1-{part}"].outline.edges
            clips = [e for e in edges if e.chord == pytest.approx(7.0 * math.sqrt(2))]
            assert len(clips) == cut


@pytest.mark.parametrize("build", ["ribs", "layers"])
def test_the_arrows_point_the_way_the_piece_goes_and_the_letters_face_hole_1(build):
    """FORWARD at the fence would be believed, and the wedge laid in the wrong way round."""
    for piece in pieces_of(asked={"build": build}):
        where = {m.shape.text: m.shape.bounds() for m in piece.marks if isinstance(m.shape, Text)}
        if piece.angles:
            fall = piece.angles[0].working
            falls_right = fall.end.x > fall.start.x
            assert fall.end.y < fall.start.y
            assert (where["FORWARD"].left > where["TE"].right) == falls_right
            # Seen from hole 1 forward is to the right while side B lies down, else to the left.
            assert falls_right == (piece.side == "b")
        elif not piece.name.endswith("fence"):
            assert where["FORWARD"].bottom > where["TE"].top
            notch = min(piece.outline.edges, key=lambda e: abs(e.chord - math.hypot(1.5, 1.8)))
            middle = (piece.outline.bounds().left + piece.outline.bounds().right) / 2
            assert (notch.start.x > middle) == (piece.side == "b")


def test_one_cradle_serves_both_faces_of_an_even_wedge_and_says_so():
    """Nobody cuts the same thing twice, and nobody looks for the second one."""
    solution = solve(job(included(11.0)))
    names = {p.name for p in cradle_pieces(solution)}
    assert names == {"cradle-1-rib", "cradle-1-seat", "cradle-1-fence", "cradle-1-base"}
    (cradle,) = cradles(solution)
    assert cradle.side == "ab"
    words = " ".join(cradle_words(solution, cradle_pieces(solution)))
    assert "upper or lower skin DOWN" in words
    assert "end for end" in words


def test_a_face_that_is_the_chord_plane_needs_no_cradle():
    """It lies level on the bare table."""
    assert {p.side for p in pieces_of(skins(9.2, 0.0))} == {"a"}


def tilts(solution, cradle, side: str) -> list[float]:
    """Return in degrees how far from level each stand's ends and middle are, by vectors."""
    found = []
    for first, last in cradle.stands:
        y0, y1 = (solution.job.holes.positions[n - 1] for n in (first, last))
        for y in (y0, (y0 + y1) / 2, y1):
            faces = solution.wedge.faces_at([y], solution.job.holes.line)
            sx = float((faces.slope_a if side == "a" else faces.slope_b)[0])
            sy = float((faces.slope_y_a if side == "a" else faces.slope_y_b)[0])
            edge, up = np.array([0.0, 1.0, -sy]), np.array([sx, sy, 1.0])
            edge, up = edge / np.linalg.norm(edge), up / np.linalg.norm(up)
            wedge = np.array([edge, up, np.cross(edge, up)])
            rise = np.array([math.sin(cradle.seat), 0.0, math.cos(cradle.seat)])
            along = np.array([0.0, 1.0, 0.0])
            turn = np.array([along, rise, np.cross(along, rise)]).T @ wedge
            x, y_, z = turn @ np.array([0.0, 0.0, 1.0])
            found.append(math.degrees(math.atan2(math.hypot(x, y_), z)))
    return found


@pytest.mark.parametrize("error", [0.3, 0.5, 1.0])
def test_on_a_tapered_wedge_every_hole_is_served_within_the_allowed_error(error):
    """The far end's countersinks would be as far off as the taper is."""
    solution = solve(tapered(asked={"holes": 3, "error": math.radians(error)}))
    served: list[int] = []
    for cradle in cradles(solution):
        for first, last in cradle.stands:
            served += range(first, last + 1)
        off = max(tilts(solution, cradle, "b"))
        assert off <= math.degrees(cradle.worst) + 1e-9
        assert math.degrees(cradle.worst) <= 2 / 3 * error + 1e-9
        assert math.degrees(cradle.margin) >= error / 3 - 1e-6
    assert set(served) == set(range(1, 39))


def test_no_fewer_cradles_would_do():
    """Each one is an evening's work."""
    solution = solve(tapered(asked={"holes": 3, "error": math.radians(0.5)}))
    found = cradles(solution)
    allowed = 2 / 3 * math.radians(0.5)
    groups = [stand for cradle in found for stand in cradle.stands]
    end = 13.0 + 2.0 + 24.0
    ranges = []
    for first, last in groups:
        # The last stand is moved back so that the whole cradle lies under the wedge.
        start = min(first, 36)
        y = [solution.job.holes.positions[n - 1] for n in (start, max(last, start + 2))]
        faces = solution.wedge.faces_at(np.linspace(y[0] - end, y[1] + end, 400).tolist(), 8.0)
        skin = np.arctan(faces.slope_b)
        spare = np.sqrt(allowed**2 - np.arctan(faces.slope_y_b) ** 2)
        ranges.append((float((skin - spare).max()), float((skin + spare).min())))
    best = [0] + [99] * len(ranges)
    for last in range(1, len(ranges) + 1):
        for first in range(last):
            run = ranges[first:last]
            if max(low for low, _ in run) <= min(high for _, high in run) + 1e-6:
                best[last] = min(best[last], best[first] + 1)
    assert len(found) == best[-1]


def test_holes_that_wait_are_not_promised():
    """A number on the cradle that is not drilled now would be drilled now."""
    row = row_of_holes(9, keep_out=frozenset({1, 9}))
    (one, other) = cradles(solve(job(row=row)))
    assert (one.stands[0][0], one.stands[-1][1]) == (2, 8)
    assert (other.side, one.side) == ("a", "b")


def test_the_checks_tell_how_level_and_fail_where_there_can_be_no_cradle():
    """Whoever reads the angles must not find out at the saw."""
    assert cradle_checks(solve(a_job(skins(7, 3), holes=row_of_holes(9)))) == ()
    told = cradle_checks(solve(tapered(asked={"holes": 3})))
    assert {c.status for c in told} == {"ok"}
    assert all(c.value is not None and c.limit == pytest.approx(0.5) for c in told)
    bad = cradle_checks(solve(tapered(asked={"holes": 20, "error": math.radians(0.2)})))
    assert [c.status for c in bad] == ["fail"]
    assert "cradle.holes" in str(bad[0].why)


def test_an_unknown_lean_is_said():
    """Taken as none in silence, it would be found on the part."""
    asked = Cradle(holes=3)
    wedge = a_job(
        included(12.0, at=0.0), included(8.0, at=1000.0), holes=row_of_holes(30), cradle=asked
    )
    solution = solve(wedge)
    assert solution.holes[0].angles.slope_y_b is None
    assert "wedge.rear_thickness" in " ".join(cradle_words(solution, cradle_pieces(solution)))


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"asked": {"height": 30.0}}, "cradle.height"),
        ({"asked": {"height": 30.0, "build": "layers"}}, "cradle.height"),
        ({"asked": {"fence": 0.5}}, "cradle.fence"),
        ({"asked": {"stop": 3.0}, "rivet": Rivet(head=4.5)}, "cradle.stop"),
        ({"cut": Cut(sheet=1.0)}, "cut.sheet"),
        ({"cut": Cut(sheet=12.0)}, "cut.sheet"),
        ({"row": row_of_holes(9, line=4.0)}, "holes.line"),
        (
            {"row": row_of_holes(30, positions=tuple(7.0 * n for n in range(30))),
             "asked": {"holes": 8}},
            "cradle.build",
        ),
        ({"row": row_of_holes(9, positions=(0.0, 20.0, 45.0, 70.0, 80.0))}, "cradle.build"),
        (
            {"row": row_of_holes(9, positions=tuple(6.0 * n for n in range(30))),
             "asked": {"holes": 12}},
            "cradle.build",
        ),
    ],
)  # fmt: skip
def test_what_could_not_be_used_is_refused_with_the_way_out(change, key):
    """Never a drawing that looks usable and is not."""
    with pytest.raises(DoesNotFit) as caught:
        pieces_of(**change)
    assert caught.value.key == key
    assert str(caught.value.remedy)


def test_a_steep_seat_a_taper_a_lean_and_missing_holes_are_refused():
    """Each of them slides, rocks or tilts, or has no place for the slot."""
    cases = {
        "cradle": job(skins(24.0, 3.0), asked={"height": 90.0}),
        "cradle.holes": tapered(asked={"holes": 20, "error": math.radians(0.2)}),
        "cradle.error": job(
            thick(4.0, 1.0, 16.0, at=0.0), thick(14.0, 11.0, 16.0, at=300.0), rear=None
        ),
        "holes": replace(job(), holes=None),
    }
    for key, wrong in cases.items():
        with pytest.raises(DoesNotFit) as caught:
            cradle_pieces(solve(wrong))
        assert caught.value.key == key
        assert str(caught.value.remedy)


def test_a_curved_skin_is_refused_by_name():
    """On a straight seat it rocks, and no two countersinks come out alike."""
    wedge = read_job(str(SAMPLES / "section-outline" / "job.toml"))
    with pytest.raises(DoesNotFit, match="skin is curved") as caught:
        cradle_pieces(solve(replace(wedge, cradle=Cradle())))
    assert caught.value.key == "cradle"


def test_the_remedies_do():
    """An error that sends somebody to another error costs an evening."""
    for build in ("ribs", "layers"):
        with pytest.raises(DoesNotFit) as caught:
            pieces_of(asked={"height": 30.0, "build": build})
        enough = float(str(caught.value.remedy).split(" mm")[0])
        assert pieces_of(asked={"height": enough, "build": build})
    with pytest.raises(DoesNotFit) as caught:
        cradle_pieces(solve(tapered(asked={"holes": 20, "error": math.radians(0.2)})))
    wide = float(str(caught.value.remedy).split("cradle.error of ")[1].split(" deg")[0])
    assert cradle_pieces(solve(tapered(asked={"holes": 20, "error": math.radians(wide)})))


def test_only_what_fits_the_paper_is_printed():
    """A page that cannot hold it must not stop the job: it is cut from its file."""
    small = pieces_of(print=Print(paper=(148.0, 210.0), paper_name="a5"))
    assert {p.name.split("-")[-1] for p in small if p.for_print} == {"rib"}
    assert all(p.for_cut for p in small)


def test_the_job_asks_for_it_and_the_name_of_one_cradle_asks_for_all_its_parts():
    """Without the section nothing changes; with a name only that one is drawn."""
    solution = solve(job())
    kinds = {p.kind for p in build_pieces(solution)}
    assert "cradle" in kinds
    plain = solve(replace(job(), cradle=None))
    assert "cradle" not in {p.kind for p in build_pieces(plain)}
    assert {p.name for p in build_pieces(plain, ("cradle-a1",))} == {
        f"cradle-a1-{part}" for part in ("rib", "seat", "fence", "base")
    }


def test_the_section_is_read_with_its_units():
    """An inch for a millimetre would be a cradle for a boat."""
    text = """
format = 1
name = "x"
units = "in"
[wedge]
[[wedge.station]]
included_angle = 10
[holes]
drill = "#40"
line = 0.4
first = 1
pitch = 1
count = 9
[cradle]
holes = 3
build = "layers"
height = 2
fence = 0.25
stop = 1
fit = 0.004
error = 0.4
"""
    read = read_job_text(text, "job.toml", Path()).cradle
    assert read == Cradle(
        holes=3,
        build="layers",
        height=pytest.approx(50.8),
        fence=pytest.approx(6.35),
        stop=pytest.approx(25.4),
        fit=pytest.approx(0.1016),
        error=pytest.approx(math.radians(0.4)),
    )


@pytest.mark.parametrize("build", ["ribs", "layers"])
def test_the_cut_files_hold_the_outlines_to_a_micrometre(build):
    """What the machine follows is what was computed, half a kerf outside."""
    asked = {"build": build, "holes": 2, "height": 56.0}
    solution = solve(job(asked=asked, cut=Cut(kerf=0.15, sheet=6.0, bed=(900.0, 900.0))))
    files = make_drawings(solution, formats=("svg", "dxf"), only=("cradle",)).files
    for piece in cradle_pieces(solution):
        wanted = with_kerf(piece, 0.15)
        box = wanted.bounds()
        walk = [(x + 5.0 - box.left, y + 5.0 - box.bottom) for x, y in model_walk(wanted.outline)]
        for form, read in (("svg", read_svg), ("dxf", read_dxf)):
            found = read(files[f"pieces/{piece.name}.{form}"])
            assert worst_distance(walk, found[piece.name]) < MICROMETRE


@pytest.mark.parametrize("build", ["ribs", "layers"])
def test_the_part_is_named_in_the_largest_words_with_how_many_to_cut(build):
    """`top or bottom DOWN` on all of them tells no fence from a seat."""
    for piece in pieces_of(included(11.0), asked={"build": build}):
        texts = [m.shape for m in piece.marks if isinstance(m.shape, Text)]
        part = piece.title.split(" ", 2)[2].upper()
        (name,) = (t for t in texts if t.text.startswith(part))
        rest = [t for t in texts if "DOWN" in t.text or t.text.startswith("Cradle")]
        assert len(rest) == 2
        # The longest name is as wide as its room, and no larger than the next line.
        assert all(name.height > t.height - 0.01 for t in rest)
        if piece.count > 1:
            assert name.text == f"{part}, cut {piece.count}"


def test_the_fence_says_which_way_up_and_which_face_the_wedge_is_at():
    """Turned round, its notch is at the wrong end, and number and side are lost."""
    pieces = {p.name: p for p in pieces_of(included(11.0))}
    fence, seat = pieces["cradle-1-fence"], pieces["cradle-1-seat"]
    where = {m.shape.text: m.shape.bounds() for m in fence.marks if isinstance(m.shape, Text)}
    assert where["UP"].bottom > where["BASE"].top
    assert "FENCE, aft face" in where
    assert "the wedge's TE goes to its other face" in where
    # Seen from behind, hole 1 lies on the same hand as on the seat plate seen from above.
    for piece in (fence, seat):
        notch = min(piece.outline.edges, key=lambda e: abs(e.chord - math.hypot(1.5, 1.8)))
        assert notch.start.x > (piece.outline.bounds().left + piece.outline.bounds().right) / 2


def test_every_place_where_a_cradle_stands_is_told():
    """Three dots in the middle of a list are no place."""
    solution = solve(job(included(11.0), holes=43, asked={"holes": 4}))
    (cradle,) = cradles(solution)
    words = " ".join(cradle_words(solution, cradle_pieces(solution)))
    assert len(cradle.stands) > 9
    assert "..." not in words
    for first, last in cradle.stands:
        assert f"{first}-{last}" in words
    assert "0.00°, counted" not in words
    assert "does not lean along the edge" in words


@pytest.mark.parametrize("piece", all_sorts(), ids=lambda p: f"{p.name} {p.angles[:1]}"[:40])
def test_no_arrow_of_a_plate_runs_across_a_bar(piece):
    """A tick that is lost in an arrow's shaft is measured from the wrong line."""
    lines = [ink(m) for m in piece.marks if not isinstance(m.shape, Text) and not m.paper_only]
    bars = [LineString([d.start, d.end]) for d in piece.dimensions if d.is_bar]
    for bar in bars:
        for line in lines:
            if line.geom_type == "LineString" and line.length > 12.0:
                assert not line.crosses(bar)


def test_the_face_that_needs_no_cradle_is_told_of(tmp_path):
    """Somebody with one cradle for two faces looks for the other one."""
    text = """
format = 1
name = "Flat below"
units = "mm"
sides = ["top", "bottom"]
[wedge]
rear_thickness = 1.5
depth = 24.0
[[wedge.station]]
at = 0
skin_angles = [9.0, 0.0]
[holes]
drill = "#40"
line = 10
first = 15
pitch = 26
count = 12
[cradle]
holes = 3
height = 60
"""
    solution = solve(read_job_text(text, "job.toml", tmp_path))
    words = " ".join(cradle_words(solution, build_pieces(solution, ("cradle",))))
    assert "With the bottom face down the wedge lies level on the bare table" in words
    layers = solve(read_job_text(text + 'build = "layers"\n', "job.toml", tmp_path))
    assert "in the cut files only" in " ".join(
        cradle_words(layers, build_pieces(layers, ("cradle",)))
    )
