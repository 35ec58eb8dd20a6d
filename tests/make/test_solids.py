"""Solids through `make`: where they go, who asks for them, and what is said without the library."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from commandline import bringing, said
from offsetjobs import job_text, solved

from jiggen.errors import DoesNotFit, DrawingError
from jiggen.jigs import plan as plans
from jiggen.make import draw, make_drawings
from jiggen.remeasure.measure import remeasure
from jiggen.write.files import replace_files

BLOCK_ONLY = ("jiggen.jigs.block",)


@pytest.fixture(autouse=True)
def _blocks_alone(monkeypatch):
    """Plan no jig but the block: the others have no part in this."""
    monkeypatch.setattr(plans, "JIGS", BLOCK_ONLY)


def job(**more: object):
    return solved(7.0, 4.0, sections={"block": ""}, **more)


def test_solids_are_made_only_where_their_formats_are_asked_for():
    """Nobody without a printer is given files for one, or needs the library."""
    assert not [f for f in make_drawings(job()).files if f.startswith("solids/")]
    files = make_drawings(job(), formats=("3mf", "stl")).files
    assert sorted(files) == [
        "manifest.json",
        "solids/block-a1-caul-mm.stl", "solids/block-a1-caul.3mf",
        "solids/block-a1-solid-mm.stl", "solids/block-a1-solid.3mf",
        "solids/block-b1-caul-mm.stl", "solids/block-b1-caul.3mf",
        "solids/block-b1-solid-mm.stl", "solids/block-b1-solid.3mf",
    ]  # fmt: skip


def test_what_is_written_measures_true_on_the_disk(tmp_path: Path):
    """With the manifest beside it an STL is judged too."""
    made = make_drawings(job(), formats=("pdf", "3mf", "stl"))
    replace_files(tmp_path, made.files)
    for path in sorted((tmp_path / "solids").iterdir()):
        found = remeasure(path)
        assert found.ok, found.findings
        assert found.worst_angle_error < 0.001
    rows = json.loads((tmp_path / "manifest.json").read_text())["files"]
    told = {row["file"]: row["solid"]["turned"] for row in rows if "solid" in row}
    assert len(told) == 8
    assert all(words.startswith("on its end") for words in told.values())
    again = make_drawings(job(), formats=("pdf", "3mf", "stl"))
    assert again.files == made.files


@pytest.mark.parametrize(
    ("only", "names"),
    [
        (["block-a1-caul"], ["block-a1-caul"]),
        (["block-a1"], ["block-a1-solid", "block-a1-caul"]),
        (["block"], ["block-a1-solid", "block-a1-caul", "block-b1-solid", "block-b1-caul"]),
    ],
)
def test_a_solid_is_asked_for_by_its_own_name(only, names):
    """The pieces of sheet stay out where a solid alone is named."""
    drawn = draw(job(), formats=("3mf",), only=only)
    assert [solid.name for solid in drawn.solids] == names
    assert bool(drawn.planned.pieces) == (only != ["block-a1-caul"])


def test_a_name_that_nothing_has_is_refused():
    """Known names are told."""
    with pytest.raises(DoesNotFit, match="no piece of this job has that name"):
        draw(job(), formats=("3mf",), only=["block-a1-cowl"])


def test_drawing_sheets_needs_no_library_of_solids(monkeypatch):
    """It is an extra."""
    monkeypatch.setitem(sys.modules, "manifold3d", None)
    assert make_drawings(job(), formats=("svg",)).files
    with pytest.raises(DrawingError, match="manifold3d"):
        make_drawings(job(), formats=("svg", "3mf"))


def test_the_command_says_in_one_line_what_to_install(monkeypatch, tmp_path: Path):
    """Exit 2, nothing written."""
    monkeypatch.setitem(sys.modules, "manifold3d", None)
    path = tmp_path / "job.toml"
    path.write_text(job_text(7.0, 4.0, sections={"block": ""}))
    answer = said("make", path, "--as", "3mf", "--out", tmp_path / "out")
    assert answer.status == 2
    assert answer.faults == [
        f"{path}: building a solid needs one more library: {bringing('solid')}"
    ]
    assert not (tmp_path / "out").exists()


def test_the_command_says_what_is_printed_and_what_to_drill_out(tmp_path: Path):
    """A bushing is not pressed into a printed pocket."""
    path = tmp_path / "job.toml"
    path.write_text(job_text(7.0, 4.0, sections={"block": ""}))
    answer = said("make", path, "--as", "3mf", "--out", tmp_path / "out")
    assert answer.status == 0, answer.err
    assert "4 solids to print" in answer.out
    assert "drill the block's pocket out, 13/64 in wide, the block on its top" in answer.out
    solid = tmp_path / "out" / "solids" / "block-a1-solid.3mf"
    answer = said("remeasure", solid)
    assert answer.status == 0
    assert answer.out.startswith("True to size")


def test_a_format_that_is_not_known_names_those_that_are(tmp_path: Path):
    """3mf and stl among them."""
    path = tmp_path / "job.toml"
    path.write_text(job_text(7.0, 4.0))
    answer = said("make", path, "--as", "obj")
    assert answer.status == 2
    assert "pdf, svg, dxf, 3mf, stl" in answer.faults[0]
