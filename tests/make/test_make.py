"""The main job in one process: pages, beds, single pieces, and what is told about them."""

import json
import math

import pytest
from jiggen.sheets import correction, cut_sheets, print_sheets
from samplejobs import a_job, row_of_holes, skins, thick
from shapely.geometry import box
from shapely_pieces import ink, material

from jiggen.drawing.affine import Affine
from jiggen.drawing.shapes import Op, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.plan import build_pieces
from jiggen.job.sections import Allow, Cut, Print
from jiggen.make import make_drawings
from jiggen.solve import solve


def job(**more):
    return a_job(
        skins(6.5, 3.0), holes=row_of_holes(9), rear_thickness=0.8, skin=(0.5, 0.6), **more
    )


def tapered(**more):
    return a_job(
        thick(4.2, 0.8, 16.0),
        thick(2.6, 0.6, 12.0, at=1400.0),
        holes=row_of_holes(50),
        skin=(0.5, 0.5),
        allow=Allow(drift=0.01),
        **more,
    )


PAGES = [
    Print(),
    Print(paper=(215.9, 279.4)),
    Print(paper=(297.0, 420.0)),
    Print(paper=(279.4, 431.8)),
    Print(paper=(420.0, 297.0)),
]


@pytest.mark.parametrize("paper", PAGES, ids=lambda p: f"{p.paper[0]:.0f}x{p.paper[1]:.0f}")
@pytest.mark.parametrize("which", [job, tapered])
def test_nothing_on_a_page_touches_anything_else(which, paper):
    """Whole pages, cover included: no text over a line, no piece over a piece, no ink outside."""
    solution = solve(which(print=paper))
    pieces = build_pieces(solution)
    for sheet in print_sheets(solution, pieces, solution.checks):
        printable = box(10, 10, sheet.width - 10, sheet.height - 10).buffer(1e-6)
        bodies = [material(p.on_sheet) for p in sheet.placed]
        for k, body in enumerate(bodies):
            assert all(body.distance(other) >= 1.0 for other in bodies[k + 1 :])
        everything = [
            *sheet.marks,
            *(m for p in sheet.placed for m in p.on_sheet.all_marks() if m.fill is None),
        ]
        inks = [(m, ink(m)) for m in everything if m.fill is None]
        for mark, shape in inks:
            assert printable.contains(shape), mark.shape
        for mark, shape in inks:
            if not isinstance(mark.shape, Text):
                continue
            for other, more in inks:
                if other is not mark:
                    both = shape.buffer(-0.06).intersection(more)
                    assert both.is_empty, (sheet.name, mark.shape, other.shape)


def test_bases_lie_along_x_or_y_on_paper():
    """A slanted corner takes ten times the harm from a printer whose axes differ."""
    solution = solve(tapered())
    for sheet in print_sheets(solution, build_pieces(solution), ()):
        for placed in sheet.placed:
            for check in placed.on_sheet.angles:
                if placed.piece.kind == "guide":
                    d = check.base.direction()
                    assert min(abs(d.x), abs(d.y)) < 1e-12


def test_beds_hold_every_copy_and_paper_every_piece_once():
    """Four solid layers are four parts on the bed."""
    solution = solve(job())
    pieces = build_pieces(solution)
    beds, singles = cut_sheets(solution, pieces)
    placed = [p.piece.name for b in beds for p in b.placed]
    for piece in pieces:
        assert placed.count(piece.name) == (piece.count if piece.for_cut else 0)
    assert [s.name for s in singles] == [p.name for p in pieces if p.for_cut]
    pages = print_sheets(solution, pieces, ())
    on_paper = [p.piece.name for s in pages for p in s.placed]
    assert sorted(on_paper) == sorted(p.name for p in pieces if p.for_print)


def test_kerf_is_in_the_cut_files_only():
    """A printed template with kerf would be cut too large."""
    solution = solve(job(cut=Cut(kerf=0.2)))
    pieces = build_pieces(solution)
    width = {p.name: p.outline.bounds().width for p in pieces}
    _, singles = cut_sheets(solution, pieces)
    for sheet in singles:
        piece = sheet.placed[0].piece
        # Mitred corners reach further than half the kerf; never less.
        assert piece.outline.bounds().width >= width[piece.name] + 0.2 - 1e-9
        assert piece.outline.area > 0
    for page in print_sheets(solution, pieces, ()):
        for placed in page.placed:
            assert placed.piece.outline.bounds().width == width[placed.piece.name]


def test_a_kerf_that_eats_a_detail_is_refused():
    """The relieved corner has a radius of 3 mm."""
    solution = solve(job(cut=Cut(kerf=4.9)))
    with pytest.raises(DoesNotFit) as caught:
        cut_sheets(solution, build_pieces(solution))
    assert caught.value.key == "cut.kerf"


def test_a_piece_larger_than_the_page_names_the_paper_that_holds_it():
    """Not a page with half a guide."""
    from jiggen.job.sections import Guide

    solution = solve(job(guide=Guide(foot=300.0)))
    with pytest.raises(DoesNotFit) as caught:
        print_sheets(solution, build_pieces(solution, ("guide",)), ())
    assert caught.value.key == "print.paper"
    assert "a3" in str(caught.value.remedy) or "tabloid" in str(caught.value.remedy)


def test_the_manifest_knows_every_file_and_piece():
    """What verify reads later."""
    made = make_drawings(solve(job()), version="test")
    manifest = json.loads(made.files["manifest.json"])
    assert sorted(f["file"] for f in manifest["files"]) == sorted(
        set(made.files) - {"manifest.json"}
    )
    pages = next(f for f in manifest["files"] if f["file"] == "print.pdf")["sheets"]
    guide = next(p for s in pages for p in s["pieces"] if p["name"] == "guide-a1")
    assert guide["angles"][0]["nominal"] == pytest.approx(83.5)
    assert guide["allowed_angle"] > 0
    assert {d["name"] for d in guide["dimensions"]} >= {"A-B", "B-D", "bar-x-50-mm"}
    assert {d["name"] for d in pages[0]["dimensions"]} >= {"bar-x", "bar-y", "diagonal-1"}


def test_formats_and_only_leave_out_the_rest():
    """`--as pdf --only guide` is one file."""
    made = make_drawings(solve(job()), formats=("pdf",), only=("guide",))
    assert set(made.files) == {"print.pdf", "readings.toml", "manifest.json"}
    assert made.open_first == "print.pdf"
    made = make_drawings(solve(job()), formats=("svg",), only=("guide",))
    assert set(made.files) == {
        "cut-1.svg",
        "pieces/guide-a1.svg",
        "pieces/guide-b1.svg",
        "readings.toml",
        "manifest.json",
    }
    assert made.open_first == "cut-1.svg"


def test_progress_begins_with_the_pieces_and_ends_with_the_last_drawing():
    """Told of files alone, the bar of a long strip came when its pages had taken all the time."""
    seen = []
    made = make_drawings(solve(job()), progress=lambda done, total: seen.append((done, total)))
    drawings = made.files.keys() - {"readings.toml", "manifest.json"}
    assert [done for done, _ in seen] == list(range(1, len(drawings) + 4))
    assert {total for _, total in seen[2:]} == {len(drawings) + 3}
    assert all(abs(total - len(drawings) - 3) <= 2 for _, total in seen)


def test_the_correction_undoes_what_the_printer_does():
    """Printer after correction is the identity."""
    asked = Print(scale_x=0.985, scale_y=1.012, skew=math.radians(0.3))
    inverse = correction(asked)
    # The printer as the job file states it: x keeps its direction, y leans toward it by the skew.
    printer = Affine(
        a=0.985, b=0.0, c=1.012 * math.sin(math.radians(0.3)), d=1.012 * math.cos(math.radians(0.3))
    )
    both = printer @ inverse
    assert tuple(both) == pytest.approx((1, 0, 0, 1, 0, 0), abs=1e-12)
    assert correction(Print()) is None


def test_a_bed_says_its_material_in_the_jobs_units_and_what_its_layers_are_for():
    """Who works in inches buys no sheet of 3.175 mm; who has no legend burns the words through."""
    for units, sheet, kerf in (
        ("in", "material 1/8 in", "kerf 0.008 in"),
        ("mm", "material 3 mm", "kerf 0.20 mm"),
    ):
        cut = Cut(sheet=25.4 / 8 if units == "in" else 3.0, kerf=0.2032 if units == "in" else 0.2)
        solution = solve(job(cut=cut, units=units))
        beds, _ = cut_sheets(solution, build_pieces(solution))
        for bed in beds:
            (line,) = (m for m in bed.marks if isinstance(m.shape, Text))
            assert line.op is Op.NOTE
            assert sheet in line.shape.text
            assert kerf in line.shape.text
            for layer in ("CUT", "SCORE", "ENGRAVE", "NOTE"):
                assert layer in line.shape.text
            assert line.bounds().right <= bed.width
