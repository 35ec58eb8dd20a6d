"""``jiggen --help`` reads like a shop card, and costs little."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from commandline import environment, process, said

import jiggen

WRITERS = {"reportlab", "ezdxf", "svgwrite"}


def libraries_loaded_by(*words: str, folder: Path) -> set[str]:
    """Return the top-level names of what a run has imported, from a process of its own."""
    code = (
        "import json, sys\n"
        "from jiggen.cli import run\n"
        "status = run(json.loads(sys.argv[1]))\n"
        "print(json.dumps(sorted({m.split('.')[0] for m in sys.modules})), file=sys.stderr)\n"
        "sys.exit(status)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, json.dumps(words)],
        capture_output=True,
        text=True,
        cwd=folder,
        env=environment(),
        timeout=60,
        check=True,
    )
    return set(json.loads(done.stderr.splitlines()[-1]))


def test_the_card_names_every_command_and_the_five_steps_in_order() -> None:
    """Someone who has the wedge on the bench needs the next step, not a manual."""
    card = said("--help").out
    steps = [card.index(f"\n    {n}. ") for n in range(1, 6)]
    assert steps == sorted(steps)
    for words in ("jiggen new --list", "jiggen angles JOB", "jiggen make JOB",
                  "jiggen verify JOB", "100 %"):  # fmt: skip
        assert words in card
    for command in ("new", "angles", "make", "verify"):
        assert f"\n  {command} " in card


def test_the_card_carries_the_cautions_and_who_decides() -> None:
    """Every page carries them; the screen is a page."""
    card = " ".join(said("--help").out.split())
    for words in ("eye protection", "Clamp the work", "Deburr", "PVC", "Never leave a laser alone",
                  "responsible inspector", "they win"):  # fmt: skip
        assert words in card


def test_the_card_comes_without_asking() -> None:
    """A bare `jiggen` is a question, and -h is what fingers type."""
    assert said().out == said("--help").out == said("-h").out
    assert said().status == 0


@pytest.mark.parametrize("command", ["new", "angles", "make", "verify", "manual"])
def test_each_command_explains_itself(command: str) -> None:
    """Bracketed words and option names must survive the formatting of help."""
    answer = said(command, "--help")
    assert answer.status == 0
    assert answer.err == ""
    assert f"Usage: jiggen {command}" in answer.out


def test_help_keeps_to_eighty_columns(tmp_path: Path) -> None:
    """A card that wraps in a small window cannot be read."""
    card = process("--help", folder=tmp_path, COLUMNS="80").out
    assert max(len(line) for line in card.splitlines()) <= 80


def test_the_version_is_printed() -> None:
    """It is what a report of a fault needs first."""
    assert said("--version").out == f"jiggen {jiggen.__version__}\n"


def test_help_loads_neither_numpy_nor_a_writer(tmp_path: Path) -> None:
    """Help that takes a second is not asked for."""
    loaded = libraries_loaded_by("--help", folder=tmp_path)
    assert loaded & {*WRITERS, "numpy"} == set()
    assert "typer" in loaded


def test_the_manual_loads_neither_numpy_nor_a_writer(tmp_path: Path) -> None:
    """A page of words must not wait for libraries that compute and draw."""
    loaded = libraries_loaded_by("manual", "guide", folder=tmp_path)
    assert loaded & {*WRITERS, "numpy"} == set()


def test_angles_loads_no_writer(flap: Path) -> None:
    """Numbers should not wait for libraries that draw; only tables for the one that rules them."""
    short = libraries_loaded_by("angles", flap.name, folder=flap.parent)
    program = libraries_loaded_by("angles", flap.name, "--json", folder=flap.parent)
    whole = libraries_loaded_by("angles", flap.name, "--all", folder=flap.parent)
    assert (short | program | whole) & WRITERS == set()
    assert "numpy" in short
    assert "rich" in whole
    assert "rich" not in short | program


@pytest.mark.parametrize(
    ("formats", "library"), [("pdf", "reportlab"), ("svg", "svgwrite"), ("dxf", "ezdxf")]
)
def test_make_loads_only_the_writer_that_it_needs(formats: str, library: str, flap: Path) -> None:
    """The DXF library alone takes longer to load than a page takes to draw."""
    loaded = libraries_loaded_by(
        "make", flap.name, "--as", formats, "--out", "out", folder=flap.parent
    )
    assert loaded & WRITERS == {library}
