"""The trim plan on the terminal and as JSON, and the templates that `make` draws from it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from commandline import files_in, said

JOB = """\
format = 1
name = "Tab edge"
units = "mm"
[wedge]
rear_thickness = 0.8
depth = 30
[[wedge.station]]
at = 0
included_angle = 11
[holes]
drill = 2.5
line = 8
first = 15
pitch = 26
count = 7
[stock]
length = 300
first = 8
pitch = 26
count = 11
trim = [0, 190]
fairing = 10
turn = true
[stock.lightening]
first = 21
pitch = 52
count = 6
diameter = 14
line = 20
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "tab.toml"
    path.write_text(JOB, "utf-8")
    return path


def test_the_answer_comes_first_and_each_rank_has_its_reason(job: Path):
    """A table alone does not say why."""
    plan = said("angles", job, "--all").out.split("Trim plan\n")[1].split("Shop checks")[0]
    answer = " ".join(plan.splitlines()[:3])
    # The part is 190 mm long and the lightening holes 52 mm apart: one cut or the other meets one.
    assert answer.startswith("No shift avoids the notch. Lay the stock")
    assert "from its own zero end" in answer
    assert "tried both ways round" in answer
    placements = json.loads(said("angles", job, "--json").out)["trim"]["placements"]
    assert len(placements) > 4
    for rank in range(1, len(placements) + 1):
        assert f"\n{rank}. " in plan
    assert plan.count("turned  ") == len(placements)


def test_the_json_has_every_placement_with_cuts_notches_and_reasons(job: Path):
    """A spreadsheet can rank them by its own lights."""
    answer = json.loads(said("angles", job, "--json").out)["trim"]
    assert answer["match"] == 0.25
    first = answer["placements"][0]
    assert [cut["end"] for cut in first["cuts"]] == ["start", "end"]
    assert first["worst_offset"] == pytest.approx(0.0, abs=1e-9)
    assert all(cut["left_over"] >= 0.0 for cut in first["cuts"])
    assert all(one["reasons"] for one in answer["placements"])
    notches = [n for one in answer["placements"] for c in one["cuts"] for n in c["notches"]]
    assert notches
    assert {"width", "depth", "hidden", "metal_behind"} <= notches[0].keys()
    assert any(one["turned"] for one in answer["placements"])


def test_a_job_without_stock_says_nothing_of_trimming(job: Path):
    """Who does not trim is not asked about it."""
    job.write_text(JOB.split("[stock]")[0], "utf-8")
    assert "rim plan" not in said("angles", job).out
    assert "trim" not in json.loads(said("angles", job, "--json").out)


def test_a_pattern_that_does_not_line_up_fails_under_strict_with_the_reason(job: Path):
    """The wrong pitch is found out on the bench, not on the wing."""
    job.write_text(JOB.replace("first = 8\npitch = 26", "first = 8\npitch = 27"), "utf-8")
    found = said("angles", job, "--strict")
    assert found.status == 1
    assert found.out.startswith("STOP ")
    assert "No shift of the stock" in found.out
    whole = " ".join(said("angles", job, "--all").out.split())
    assert "No shift lines the stock up with the skins" in whole
    assert "lines up 1" in whole
    assert said("make", job, "--only", "trim", "--out", job.parent / "out").status == 2


def test_make_draws_both_templates_and_a_job_without_stock_as_before(job: Path):
    """Asked for by the section, and by nothing else."""
    out = job.parent / "out"
    assert said("make", job, "--out", out, "--as", "svg").status == 0
    names = files_in(out)
    assert {"pieces/trim-start.svg", "pieces/trim-end.svg"} <= names.keys()
    plain = job.parent / "plain"
    job.write_text(JOB.split("[stock]")[0], "utf-8")
    assert said("make", job, "--out", plain, "--as", "svg").status == 0
    assert not any("trim" in name for name in files_in(plain))
