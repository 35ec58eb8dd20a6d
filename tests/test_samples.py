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
NAMES = ("canard", "elevon", "flaperon", "split-flap")


def drawings_of(name: str) -> Path:
    (folder,) = (SAMPLES / name).glob("*-jigs")
    return folder


def test_every_sample_has_its_place_in_the_gallery() -> None:
    """A sample that nobody is shown is dead weight."""
    assert sorted(job.parent.name for job in SAMPLES.glob("*/job.toml")) == list(NAMES)
    gallery = (SAMPLES / "README.md").read_text("utf-8")
    for name in NAMES:
        assert gallery.count(f"[{name}]({name})") == 1
        assert f"`jiggen make samples/{name}/job.toml`" in gallery


def test_every_picture_that_the_books_show_is_one_that_is_drawn() -> None:
    """A picture that nothing draws anew shows last year's pieces."""
    drawn = "".join(path.read_text("utf-8") for path in (SAMPLES / "figures").glob("*.py"))
    books = [PROJECT / "README.md", *(PROJECT / "jiggen" / "manual").glob("*.md")]
    text = "".join(book.read_text("utf-8") for book in books)
    shown = set(re.findall(r"samples/figures/([\w-]+)\.png", text))
    assert shown == {path.stem for path in (SAMPLES / "figures").glob("*.png")}
    assert {name for name in shown if f'"{name}' not in drawn} == set()


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
        "canard": ("mm", "a4"),
        "elevon": ("mm", "a4"),
        "flaperon": ("in", "letter"),
        "split-flap": ("mm", "a4"),
    }
    split = jobs["split-flap"]
    assert len(set(split.skin.thickness)) == 2
    (outside, inside) = solve(split).guides
    assert math.pi / 2 - outside.angle > 2 * (math.pi / 2 - inside.angle)
    tapered = solve(jobs["flaperon"])
    assert [guide.name for guide in tapered.guides] == ["a1", "a2", "b1", "b2"]
    assert len(tapered.twins) == 2
    assert tapered.stations[0].included > tapered.stations[-1].included
    assert jobs["elevon"].guide_cut == "hand"
    whole = jobs["canard"]
    asked = {key.split(".")[0].split("[")[0] for key in whole.stated}
    assert asked >= {"gauge", "stock", "strip", "cradle", "block", "sequence", "countersink", "row"}
    assert whole.rivet.shop_head == "flush"


def test_no_sample_is_a_part_that_somebody_may_take_for_his() -> None:
    """The samples have a scenario of their own: surfaces, sides, rivets and drills."""
    for name in NAMES:
        job = read_job(SAMPLES / name / "job.toml")
        assert "rudder" not in job.name.lower()
        assert not {"left", "right"} & {side.lower() for side in job.sides}
        assert job.rivet.size != "-3"
        assert job.holes.drill_name != "#40"


def test_the_samples_section_is_the_one_that_its_file_names() -> None:
    """Computed points that are called a published section must be that section.

    Source: thickness and camber formulas of NACA Report 460 (Jacobs, Ward and Pinkerton, 1933),
    quoted in tickerdossier.com/wiki/nacas (READ-2nd; the report itself was not read).
    """
    m, p, t = 0.015, 0.35, 0.10
    points = read_outline_file(SAMPLES / "elevon" / "section.dat")
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
    assert max(sizes.values()) < 1_200_000
    pictures = {path: size for path, size in sizes.items() if path.suffix == ".png"}
    screens = {path for path in pictures if path.stem.startswith("bench-")}
    assert len(screens) == 2
    assert max(pictures[path] for path in screens) < 150_000
    assert max(size for path, size in pictures.items() if path not in screens) < 40_000


def test_a_changed_byte_in_a_sample_is_found(tmp_path: Path) -> None:
    """A comparison that never bites compares nothing."""
    shutil.copy(SAMPLES / "regenerate", tmp_path)
    drawings = shutil.ignore_patterns("*-jigs")
    shutil.copytree(SAMPLES / "elevon", tmp_path / "elevon", ignore=drawings)
    command = [sys.executable, tmp_path / "regenerate"]
    subprocess.run(command, env=environment(), check=True, timeout=60)
    same = check_samples(tmp_path)
    assert (same.returncode, same.stdout) == (0, "The samples are as they are made.\n")
    (folder,) = (tmp_path / "elevon").glob("*-jigs")
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
