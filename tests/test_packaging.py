"""The wheel, as somebody gets it who has no checkout: built, installed, run in an empty folder."""

import os
import subprocess
import sys
import sysconfig
import tomllib
import venv
import zipfile
from collections.abc import Mapping
from importlib.metadata import requires
from pathlib import Path

import pytest
from commandline import PROJECT
from packaging.requirements import Requirement

from jiggen.job.starters import starter_files

#: The tests' own environment, without what would lead a process back to the checkout.
PLAIN = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}


def run_in(
    folder: Path, *command: object, environment: Mapping[str, str] = PLAIN
) -> "subprocess.CompletedProcess[str]":
    """Run a command in a folder to its end."""
    return subprocess.run(
        [str(word) for word in command],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


def test_no_library_is_promised_older_than_the_others_bear() -> None:
    """`rich>=13` was a promise that typer, which asks for 13.8, did not let anybody keep.

    What each library asks for is read from its own metadata, as installed here.
    """
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]
    ours = {one.name: one.specifier for one in map(Requirement, project["dependencies"])}
    lowest = {
        name: next(s.version for s in specifier if s.operator == ">=")
        for name, specifier in ours.items()
    }
    asked = [(name, Requirement(line)) for name in ours for line in requires(name) or ()]
    among_us = [(name, r) for name, r in asked if r.name in lowest and r.marker is None]
    assert {("typer", "rich"), ("ezdxf", "numpy")} <= {(name, r.name) for name, r in among_us}
    assert [
        f"{name} asks for {r}" for name, r in among_us if lowest[r.name] not in r.specifier
    ] == []


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a wheel that was built from the checkout, with what is installed here."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder]
    built = run_in(folder, *command, PROJECT)
    assert built.returncode == 0, built.stdout + built.stderr
    (found,) = folder.glob("jiggen-*.whl")
    return found


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the programs' folder of a new environment that holds the wheel.

    The libraries are those of the tests' environment, reached through a path file: to download
    them again would test the network. The wheel's own copy of jiggen comes before them.
    """
    folder = tmp_path_factory.mktemp("installed")
    venv.create(folder, with_pip=False)
    programs = folder / ("Scripts" if os.name == "nt" else "bin")
    options = ["--no-deps", "--no-index", "--disable-pip-version-check", "--quiet"]
    pip = [sys.executable, "-m", "pip", "--python", programs / "python", "install", *options]
    done = run_in(folder, *pip, wheel)
    assert done.returncode == 0, done.stdout + done.stderr
    places = sysconfig.get_paths(vars={"base": str(folder), "platbase": str(folder)})
    libraries = Path(places["purelib"])
    assert (libraries / "jiggen").is_dir()
    (libraries / "libraries.pth").write_text(sysconfig.get_paths()["purelib"] + "\n")
    where = run_in(folder, programs / "python", "-c", "import jiggen; print(jiggen.__file__)")
    assert Path(where.stdout.strip()).is_relative_to(folder)
    return programs


def test_the_wheel_holds_the_package_its_starters_and_its_notices(wheel: Path) -> None:
    """What is left out is missed on the first evening; tests and samples are nobody's there."""
    names = zipfile.ZipFile(wheel).namelist()
    starters = {path.name for path in (PROJECT / "templates").iterdir()}
    assert {name.split("/")[-1] for name in names if name.startswith("jiggen/templates/")} == (
        starters
    )
    pages = {path.name for path in (PROJECT / "jiggen" / "manual").glob("*.md")}
    assert {n.split("/")[-1] for n in names if n.startswith("jiggen/manual/")} >= pages
    assert len(pages) > 20
    own = {f"jiggen/page/{p}" for p in ("own/style.css", "own/script.js", "html/screen.html")}
    assert own <= set(names)
    for wanted in ("jiggen/py.typed", "jiggen/LICENSE", "jiggen/drawing/fonts/NOTICE-strokes"):
        assert wanted in names
    tops = {name.split("/")[0] for name in names}
    assert len(tops) == 2
    assert "jiggen" in tops
    notices = {name.split("/")[-1] for name in names if ".dist-info/licenses/" in name}
    assert notices == {"LICENSE", "NOTICE-strokes", "OFL.txt"}


def test_the_installed_command_lists_the_starters_of_the_checkout(
    installed: Path, tmp_path: Path
) -> None:
    """Both ways to have jiggen offer the same starters."""
    listed = run_in(tmp_path, installed / "jiggen", "new", "--list")
    assert listed.stderr == ""
    assert [line.split()[0] for line in listed.stdout.splitlines()] == list(starter_files())
    source = {**PLAIN, "PYTHONPATH": str(PROJECT)}
    here = run_in(tmp_path, sys.executable, "-m", "jiggen", "new", "--list", environment=source)
    assert here.stderr == ""
    assert here.stdout == listed.stdout
    assert list(tmp_path.iterdir()) == []


def test_the_manual_reads_from_the_wheel(installed: Path, tmp_path: Path) -> None:
    """Whoever has no checkout has no other manual."""
    for words, start in ((["manual"], "measuring "), (["manual", "cutting"], "# Cutting by hand")):
        done = run_in(tmp_path, installed / "jiggen", *words)
        assert (done.returncode, done.stderr) == (0, "")
        assert done.stdout.startswith(start)


def test_a_starter_from_the_wheel_is_written_solved_and_drawn_in_an_empty_folder(
    installed: Path, tmp_path: Path
) -> None:
    """The first five minutes with jiggen, on a machine that has nothing else of it."""
    for words in (
        ["new", "outline"],
        ["angles", "outline.toml"],
        ["make", "outline.toml", "--out", "jigs"],
    ):
        done = run_in(tmp_path, installed / "jiggen", *words)
        assert (done.returncode, done.stderr) == (0, ""), words
        assert done.stdout
    assert (tmp_path / "outline-section.dat").is_file()
    assert (tmp_path / "jigs" / "print.pdf").read_bytes().startswith(b"%PDF-")
