"""The samples: what lies in the repository is whole, small, and what it says it is.

That the drawings are those that jiggen makes today is checked by .ci/run, with
``samples/regenerate --check``, so that this suite does not fail halfway through a change.
"""

import hashlib
import json
import math
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from commandline import PROJECT, environment, files_in

from jiggen.job.outline import read_outline_file
from jiggen.job.read import read_job
from jiggen.solve import solve

SAMPLES = PROJECT / "samples"
NAMES = ("asymmetric-flap", "section-outline", "tapered-wedge", "whole-edge")


def drawings_of(name: str) -> Path:
    (folder,) = (SAMPLES / name).glob("*-jigs")
    return folder


def test_every_sample_has_its_place_in_the_gallery() -> None:
    """A sample that nobody is shown is dead weight, and a picture that is not there is a hole."""
    assert sorted(job.parent.name for job in SAMPLES.glob("*/job.toml")) == list(NAMES)
    gallery = (SAMPLES / "README.md").read_text("utf-8")
    shown = set(re.findall(r"\]\(([^)]+)\)", gallery))
    pictures = {path.relative_to(SAMPLES).as_posix() for path in SAMPLES.glob("*/pictures/*.png")}
    # Cover, guides and bed of each, and three more pages of the whole job.
    assert len(pictures) == 3 * len(NAMES) + 3
    assert pictures | set(NAMES) <= shown
    assert not [target for target in shown if not (SAMPLES / target).exists()]
    for name in NAMES:
        assert f"`jiggen make samples/{name}/job.toml`" in gallery


@pytest.mark.parametrize("name", NAMES)
def test_a_samples_manifest_lists_what_lies_there(name: str) -> None:
    """Half of a new set beside half of an old one would be a sample of the worst."""
    files = files_in(drawings_of(name))
    rows = json.loads(files.pop("manifest.json"))["files"]
    assert {row["file"]: row["sha256"] for row in rows} == {
        path: hashlib.sha256(data).hexdigest() for path, data in files.items()
    }
    assert {Path(path).suffix for path in files} >= {".pdf", ".svg", ".dxf"}


@pytest.mark.parametrize("name", NAMES)
def test_no_sample_has_the_textbook_corner(name: str) -> None:
    """An 84 deg corner would look right for a 12 deg wedge whatever the tool had worked out."""
    solution = solve(read_job(SAMPLES / name / "job.toml"))
    corners = [math.degrees(guide.angle) for guide in solution.guides]
    for place in solution.stations:
        corners += [math.degrees(place.guide_forward_a), math.degrees(place.guide_forward_b)]
        assert abs(math.degrees(place.included) - 12.0) > 0.5
    assert min(abs(corner - 84.0) for corner in corners) > 0.2
    assert not [check for check in solution.checks if check.status == "fail"]


def test_the_samples_show_what_the_gallery_says() -> None:
    """Units, paper and skins are what sets them apart."""
    jobs = {name: read_job(SAMPLES / name / "job.toml") for name in NAMES}
    assert {name: (job.units, job.print.paper_name) for name, job in jobs.items()} == {
        "asymmetric-flap": ("mm", "a4"),
        "section-outline": ("mm", "a4"),
        "tapered-wedge": ("in", "letter"),
        "whole-edge": ("mm", "a4"),
    }
    assert len(set(jobs["asymmetric-flap"].skin.thickness)) == 2
    assert all(job.cut.kerf for job in jobs.values())
    tapered = solve(jobs["tapered-wedge"])
    assert {guide.side for guide in tapered.guides} == {"a", "b"}
    assert tapered.stations[0].included > tapered.stations[-1].included


def test_the_samples_section_is_the_one_that_its_file_names() -> None:
    """Computed points that are called a published section must be that section.

    Source: thickness and camber formulas of NACA Report 460 (Jacobs, Ward and Pinkerton, 1933),
    quoted in tickerdossier.com/wiki/nacas (READ-2nd; the report itself was not read).
    """
    m, p, t = 0.01, 0.4, 0.11
    points = read_outline_file(SAMPLES / "section-outline" / "section.dat")
    assert len(points) == 81
    for number, (x, z) in enumerate(points):
        along = (1 + math.cos(math.pi * number / 40)) / 2
        half = (
            t
            / 0.2
            * (
                0.2969 * math.sqrt(along)
                - 0.1260 * along
                - 0.3516 * along**2
                + 0.2843 * along**3
                - 0.1015 * along**4
            )
        )
        part, share = (m / p**2, 0.0) if along < p else (m / (1 - p) ** 2, 1 - 2 * p)
        camber = part * (share + 2 * p * along - along**2)
        turn = math.atan(2 * part * (p - along))
        side = 1 if number <= 40 else -1
        assert x == pytest.approx(along - side * half * math.sin(turn), abs=6e-7)
        assert z == pytest.approx(camber + side * half * math.cos(turn), abs=6e-7)


def test_the_samples_stay_small() -> None:
    """Everyone who fetches the repository fetches them."""
    sizes = {path: path.stat().st_size for path in SAMPLES.rglob("*") if path.is_file()}
    assert sum(sizes.values()) < 7_000_000
    assert max(sizes.values()) < 800_000
    assert max(size for path, size in sizes.items() if path.suffix == ".png") < 60_000


def test_a_changed_byte_in_a_sample_is_found(tmp_path: Path) -> None:
    """A comparison that never bites compares nothing."""
    shutil.copy(SAMPLES / "regenerate", tmp_path)
    shutil.copytree(SAMPLES / "section-outline", tmp_path / "section-outline")
    shutil.rmtree(tmp_path / "section-outline" / drawings_of("section-outline").name)
    command = [sys.executable, tmp_path / "regenerate"]
    subprocess.run(command, env=environment(), check=True, timeout=60)
    same = check_samples(tmp_path)
    assert (same.returncode, same.stdout) == (0, "The samples are as they are made.\n")
    folder = tmp_path / "section-outline" / drawings_of("section-outline").name
    drawing = folder / "cut-1.svg"
    drawing.write_bytes(drawing.read_bytes().replace(b"mm", b"cm", 1))
    (folder / "print.pdf").unlink()
    (folder / "cut-9.svg").write_text("left over")
    changed = check_samples(tmp_path)
    assert changed.returncode == 1
    lines = changed.stdout.splitlines()
    assert len(lines) == 3
    assert f"{drawing}: differs from line " in changed.stdout
    assert f"{folder / 'print.pdf'}: not here" in lines
    assert f"{folder / 'cut-9.svg'}: not made" in lines


def check_samples(folder: Path) -> "subprocess.CompletedProcess[str]":
    """Run the comparison on a copy of the samples."""
    return subprocess.run(
        [sys.executable, folder / "regenerate", "--check"],
        capture_output=True,
        text=True,
        env=environment(),
        check=False,
        timeout=60,
    )
