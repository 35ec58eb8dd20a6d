"""The main job in one process: pages, beds, single pieces, and what is told about them."""

import json
import math
from functools import cache
from pathlib import Path

import pytest
from extremes import PLAIN, changed
from language import read_pages
from samplejobs import a_job, row_of_holes, skins, thick

from jiggen.drawing.affine import Affine
from jiggen.drawing.shapes import Op, Text
from jiggen.jigs.plan import CANNOT
from jiggen.job.read import read_job_text
from jiggen.job.sections import Allow, Cut, Print
from jiggen.make import Made, correction, make_drawings
from jiggen.solution import Solution
from jiggen.solve import solve


def plain(**more) -> Solution:
    """Return an edge with holes, solved."""
    job = a_job(
        skins(6.5, 3.0), holes=row_of_holes(9), rear_thickness=0.8, skin=(0.5, 0.6), depth=24.0,
        **more,
    )  # fmt: skip
    return solve(job)


def extreme(**changes: str) -> Solution:
    """Return the job that asks for most jigs, solved."""
    return solve(read_job_text(changed(**changes) if changes else PLAIN, "job.toml", Path()))


@cache
def everything() -> Made:
    """Return all that is made of that job."""
    return make_drawings(extreme(), version="test")


def test_one_edge_of_a_guides_corner_lies_along_x_or_y_on_paper():
    """A slanted corner takes ten times the harm from a printer whose axes differ."""
    tapered = a_job(
        thick(4.2, 0.8, 16.0), thick(2.6, 0.6, 12.0, at=1400.0), holes=row_of_holes(50),
        skin=(0.5, 0.5), allow=Allow(drift=0.01), depth=24.0,
    )  # fmt: skip
    pages = make_drawings(solve(tapered), formats=("pdf",)).drawn.pages
    corners = [
        (check.base.direction(), check.working.direction())
        for sheet in (*pages, *everything().drawn.pages)
        for placed in sheet.placed
        for check in placed.on_sheet.angles
        if placed.piece.kind == "guide" and check.name == "forward"
    ]
    assert len(corners) > 4
    for edges in corners:
        assert min(abs(v) for way in edges for v in way) < 1e-12


def test_beds_hold_every_copy_and_paper_every_piece_once():
    """Four solid layers are four parts on the bed."""
    made = everything()
    placed = [p.piece.name for bed in made.drawn.beds.sheets for p in bed.placed]
    cut = [piece for piece in made.pieces if piece.is_sheet]
    assert any(piece.count > 1 for piece in cut)
    for piece in made.pieces:
        on_bed = piece.count if piece.is_sheet and piece.on_bed else 0
        assert placed.count(piece.name) == on_bed, piece.name
    assert [sheet.name for sheet in made.drawn.beds.singles] == [piece.name for piece in cut]
    on_paper = [p.piece.name for sheet in made.drawn.pages for p in sheet.placed]
    assert sorted(on_paper) == sorted(p.name for p in made.pieces if p.on_paper)


def test_kerf_is_in_the_cut_files_only():
    """A printed template with kerf would be cut too large."""
    made = make_drawings(extreme(cut__kerf="0.2"))
    true = {piece.name: piece.outline.bounds().width for piece in made.pieces}
    as_drawn = {piece.name for piece in made.pieces if piece.as_drawn}
    assert len(made.drawn.beds.singles) > len(as_drawn) + 10
    for sheet in made.drawn.beds.singles:
        (placed,) = sheet.placed
        kerf = 0.0 if sheet.name in as_drawn else 0.2
        width = placed.piece.outline.bounds().width
        # Mitred corners reach further than half the kerf on either side; never less.
        assert width >= true[sheet.name] + kerf - 1e-9
        assert width <= true[sheet.name] + 20 * kerf + 1e-9
    for page in made.drawn.pages:
        for placed in page.placed:
            assert placed.piece.outline.bounds().width == true[placed.piece.name]


@pytest.mark.parametrize(("included", "kerf"), [(5.0, 0.12), (10.0, 0.25)])
def test_a_gauge_takes_an_ordinary_kerf(included: float, kerf: float):
    """A V of 5 deg shut at 0.12 mm, and "the cut line meets itself" stopped every jig."""
    half = f"[{included / 2}, {included / 2}]"
    made = make_drawings(extreme(wedge__skin_angles=half, cut__kerf=f"{kerf}"))
    assert made.drawn.refusals == ()
    drawn = {sheet.name for sheet in made.drawn.beds.singles}
    assert {piece.name for piece in made.pieces if piece.kind == "gauge"} <= drawn


def test_what_the_kerf_eats_is_told_first_and_stops_no_other_piece():
    """One detail finer than the beam cost the whole evening's set."""
    made = make_drawings(extreme(cut__kerf="2.4"))
    refused = {**made.drawn.planned.refused, **made.drawn.beds.refused}
    assert "gauge" in refused
    assert {c.id.removesuffix(CANNOT) for c in made.drawn.refusals} == set(refused)
    told = [check.status for check in made.checks]
    assert told[: len(refused)] == ["fail"] * len(refused)
    assert all(trouble.key == "cut.kerf" for trouble in refused.values())
    drawn = {sheet.name for sheet in made.drawn.beds.singles}
    assert "guide-foot" in drawn
    assert not any(name in refused or name.startswith("gauge") for name in drawn)
    cover = " ".join(word.text for word in read_pages(made.files["print.pdf"])[0].words)
    assert "STOP" in cover.split()
    assert "can be made" in cover


def test_the_manifest_knows_every_file_and_piece():
    """What verify reads later."""
    made = make_drawings(plain(), version="test")
    manifest = json.loads(made.files["manifest.json"])
    assert {f["file"] for f in manifest["files"]} == set(made.files) - {"manifest.json"}
    pages = next(f for f in manifest["files"] if f["file"] == "print.pdf")["sheets"]
    guide = next(p for s in pages for p in s["pieces"] if p["name"] == "guide-a1")
    corner = next(angle for angle in guide["angles"] if angle["name"] == "forward")
    assert corner["nominal"] == pytest.approx(83.5)
    assert guide["allowed_angle"] > 0
    assert len(guide["dimensions"]) >= 5
    assert {d["name"] for d in pages[1]["dimensions"]} >= {"bar-x", "bar-y", "diagonal-1"}
    assert pages[0]["dimensions"] == []


def test_formats_and_only_leave_out_the_rest():
    """`--as pdf --only guide` is one file."""
    made = make_drawings(plain(), formats=("pdf",), only=("guide",))
    assert set(made.files) == {"print.pdf", "readings.toml", "manifest.json"}
    assert made.open_first == "print.pdf"
    made = make_drawings(plain(), formats=("svg",), only=("guide",))
    names = {piece.name for piece in made.pieces}
    assert {"guide-a1", "guide-b1"} <= names
    assert set(made.files) == {
        "cut-1.svg", "readings.toml", "manifest.json", *(f"pieces/{name}.svg" for name in names),
    }  # fmt: skip
    assert made.open_first == "cut-1.svg"


def test_progress_begins_with_the_pieces_and_ends_with_the_last_drawing():
    """Told of files alone, the bar of a long strip came when its pages had taken all the time."""
    seen = []
    made = make_drawings(plain(), progress=lambda done, total: seen.append((done, total)))
    drawings = made.files.keys() - {"readings.toml", "manifest.json"}
    assert [done for done, _ in seen] == list(range(1, len(seen) + 1))
    assert seen[-1][0] == seen[-1][1]
    assert len(seen) == len(drawings) + 2


def test_the_correction_undoes_what_the_printer_does():
    """Printer after correction is the identity."""
    asked = Print(scale_x=0.985, scale_y=1.012, skew=math.radians(0.3))
    # The printer as the job file states it: x keeps its direction, y leans toward it by the skew.
    printer = Affine(
        a=0.985, b=0.0, c=1.012 * math.sin(math.radians(0.3)), d=1.012 * math.cos(math.radians(0.3))
    )
    both = printer @ correction(asked)
    assert tuple(both) == pytest.approx((1, 0, 0, 1, 0, 0), abs=1e-12)
    assert correction(Print()) is None


@pytest.mark.parametrize(
    ("units", "sheet", "kerf", "said"),
    [
        ("in", 25.4 / 8, 0.2032, ("material 1/8 in", "kerf 0.008 in")),
        ("mm", 3.0, 0.2, ("material 3 mm", "kerf 0.20 mm")),
    ],
)
def test_a_bed_says_its_material_in_the_jobs_units(units, sheet, kerf, said):
    """Who works in inches buys no sheet of 3.175 mm."""
    made = make_drawings(plain(cut=Cut(sheet=sheet, kerf=kerf), units=units), formats=("svg",))
    assert made.drawn.beds.sheets
    for bed in made.drawn.beds.sheets:
        (line,) = (m for m in bed.marks if isinstance(m.shape, Text))
        assert line.op is Op.NOTE
        assert all(words in line.shape.text for words in said)
        assert line.bounds().right <= bed.width
