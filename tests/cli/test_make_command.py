"""``jiggen make``: what is written, what is refused, and what is said at the end."""

import errno
import io
import json
import os
from hashlib import sha256
from pathlib import Path

import pytest
from commandline import FLAP, TOO_NEAR, files_in, process, said

import jiggen
from jiggen.proof.folder import folder_of
from jiggen.report.terminal import progress_on


class Screen(io.StringIO):
    """A terminal that keeps what it was sent."""

    def isatty(self) -> bool:
        """Say that it is a terminal."""
        return True


def test_the_folder_is_named_after_the_job_and_lies_where_the_user_is(
    flap: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Drawings that land beside the job file of another folder are not found again."""
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    answer = said("make", flap, "--as", "pdf")
    assert answer.status == 0, answer.err
    assert sorted(files_in(elsewhere)) == [
        "flap-edge-left-jigs/manifest.json",
        "flap-edge-left-jigs/print.pdf",
        "flap-edge-left-jigs/readings.toml",
    ]


@pytest.mark.parametrize(
    ("name", "folder"),
    [
        ("Flap edge, left", "flap-edge-left"),
        ("  --Qu\u00e9 \u00c5rm!  ", "qu\u00e9-\u00e5rm"),
        ("Que\u0301", "qu\u00e9"),  # written as two signs or as one, it is one name
        ("\u4e00\u4e8c", "\u4e00\u4e8c"),
        ("\u041a\u0440\u044b\u043b\u043e 2", "\u043a\u0440\u044b\u043b\u043e-2"),
        ("\u092a\u0902\u0916", "\u092a\u0902\u0916"),  # its second sign is a mark, no letter
        ("../../etc", "etc"),
        ("?!", "job"),
    ],
)
def test_a_name_of_any_script_makes_a_folder_name_of_its_letters(name: str, folder: str) -> None:
    """All names without Latin letters came to one folder; one with a slash would lead elsewhere."""
    assert folder_of(name) == f"{folder}-jigs"


def test_long_names_that_begin_alike_have_folders_of_their_own() -> None:
    """Cut to one length, the left edge's and the right edge's were the same."""
    names = [f"{sign * 70} {end}" for sign in ("x", "\U0002000b") for end in ("left", "right")]
    folders = {folder_of(name) for name in names}
    assert len(folders) == 4
    # The longest name of a file that common systems take is of 255 bytes; from memory.
    assert all(len(folder.encode("utf-8")) <= 255 for folder in folders)
    assert folder_of(names[0]).startswith("x" * 40)


def test_every_format_and_the_manifest_are_written(flap: Path, tmp_path: Path) -> None:
    """What the contract promises is there, and the manifest is true of every file."""
    out = tmp_path / "out"
    assert said("make", flap, "--out", out).status == 0
    files = files_in(out)
    assert {"print.pdf", "cut-1.svg", "cut-1.dxf", "manifest.json"} <= files.keys()
    singles = {Path(name).suffix for name in files if name.startswith("pieces/")}
    assert singles == {".svg", ".dxf"}
    manifest = json.loads(files["manifest.json"])
    listed = {row["file"]: row["sha256"] for row in manifest["files"]}
    assert listed == {
        name: sha256(data).hexdigest() for name, data in files.items() if name != "manifest.json"
    }
    assert jiggen.__version__ in files["manifest.json"].decode()


def test_making_again_gives_the_same_bytes(flap: Path, tmp_path: Path) -> None:
    """A drawing that changes by itself cannot be compared with the one on the wall."""
    out = tmp_path / "out"
    said("make", flap, "--only", "guide", "--out", out)
    first = files_in(out)
    assert said("make", flap, "--only", "guide", "--out", out).status == 0
    assert files_in(out) == first
    assert len(first) > 5


@pytest.mark.parametrize("words", [["--as", "svg"], ["--as", " SVG ,svg"]])
def test_only_the_formats_that_were_asked_for_are_written(
    words: list[str], flap: Path, tmp_path: Path
) -> None:
    """A shop that only prints does not want a folder of cut files."""
    assert said("make", flap, "--out", tmp_path / "out", *words).status == 0
    assert {Path(name).suffix for name in files_in(tmp_path / "out")} == {".svg", ".json", ".toml"}


def test_only_the_pieces_that_were_asked_for_are_drawn(flap: Path, tmp_path: Path) -> None:
    """One guide that was cut wrong is drawn again alone."""
    answer = said("make", flap, "--as", "svg", "--only", "guide-a1", "--out", tmp_path / "out")
    assert answer.status == 0, answer.err
    singles = [name for name in files_in(tmp_path / "out") if name.startswith("pieces/")]
    assert singles == ["pieces/guide-a1.svg"]


def test_an_unknown_piece_is_answered_with_the_known_ones(flap: Path, tmp_path: Path) -> None:
    """Piece names come from the guide set, which the user has not seen yet."""
    answer = said("make", flap, "--only", "guide,gauge-9", "--out", tmp_path / "out")
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert "gauge-9" in answer.err
    assert "guide-a1" in answer.err
    assert not (tmp_path / "out").exists()


def test_a_choice_that_draws_nothing_is_refused(flap: Path, tmp_path: Path) -> None:
    """An empty folder that calls itself done is a puzzle: a paper wrap has no cut file."""
    answer = said("make", flap, "--only", "wrap", "--as", "dxf", "--out", tmp_path / "out")
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert "wrap" in answer.err
    assert not (tmp_path / "out").exists()


def test_the_closing_lines_say_where_what_first_and_what_to_measure(
    flap: Path, tmp_path: Path
) -> None:
    """Whoever cuts before measuring the bars finds out on the wedge."""
    out = tmp_path / "out"
    answer = said("make", flap, "--only", "guide", "--out", out)
    lines = " ".join(answer.out.split())
    assert f"to {out}{os.sep}" in lines
    assert lines.endswith(f"Open first, and print at 100 %: {out / 'print.pdf'}")
    assert f"Wrote {len(files_in(out))} files" in lines
    for words in ("Measure", "100 mm bar", "Eye protection", "laser", "inspector", "warn"):
        assert words in lines


def test_a_failed_check_draws_nothing_under_strict(tmp_path: Path) -> None:
    """A gate that lets the drawing through is no gate."""
    job = tmp_path / "near.toml"
    job.write_text(TOO_NEAR, "utf-8")
    strict = said("make", job, "--strict", "--as", "pdf", "--out", tmp_path / "out")
    assert strict.status == 1
    assert strict.out == ""
    assert all(line.startswith(f"{job}: check ") for line in strict.faults)
    assert strict.faults
    assert not (tmp_path / "out").exists()
    relaxed = said("make", job, "--as", "pdf", "--out", tmp_path / "out")
    assert relaxed.status == 0
    assert "fail" in relaxed.out


def test_a_page_too_small_names_the_key_and_writes_nothing(tmp_path: Path) -> None:
    """The user mends the paper, so the line says which key of which file holds it."""
    job = tmp_path / "small.toml"
    job.write_text(FLAP + "[guide]\nheight = 320\nedge = 250\n", "utf-8")
    answer = said("make", job, "--out", tmp_path / "out")
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert answer.err.startswith(f"{job}: ")
    assert not (tmp_path / "out").exists()


def test_a_file_that_is_not_ours_is_never_touched(flap: Path, tmp_path: Path) -> None:
    """The user's own print.pdf in that folder may be the only copy."""
    out = tmp_path / "out"
    out.mkdir()
    (out / "print.pdf").write_bytes(b"mine")
    (out / "notes.txt").write_bytes(b"also mine")
    answer = said("make", flap, "--as", "pdf", "--out", out)
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert str(out / "print.pdf") in answer.err
    assert files_in(out) == {"print.pdf": b"mine", "notes.txt": b"also mine"}


def test_a_file_in_the_folder_s_place_is_one_line(flap: Path) -> None:
    """`--out flap.toml` is a slip, and must not cost the job file."""
    answer = said("make", flap, "--as", "pdf", "--out", flap)
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert answer.err.startswith(f"{flap}: is a file, not a folder")
    assert flap.read_text("utf-8") == FLAP


def test_a_disk_that_refuses_is_one_line_and_leaves_what_was_there(
    flap: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder without the right to write, or a full disk, must not lose the old page."""
    out = tmp_path / "out"
    said("make", flap, "--as", "pdf", "--out", out)
    before = files_in(out)
    flap.write_text(FLAP.replace("7.5, 3.0", "7.0, 3.0"), "utf-8")

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    answer = said("make", flap, "--as", "pdf", "--out", out)
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert "No space left" in answer.err
    assert files_in(out) == before


def test_a_place_where_no_folder_can_be_made_is_one_line(flap: Path) -> None:
    """An unplugged stick or a system folder: the path is in the line."""
    answer = process("make", flap, "--as", "pdf", "--out", "/proc/jigs", folder=flap.parent)
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert "/proc/jigs" in answer.err


def clock(monkeypatch: pytest.MonkeyPatch, *seconds: float) -> None:
    """Let the bar's clock show these seconds, one a look, and stay at the last."""
    shown = iter(seconds)
    monkeypatch.setattr("jiggen.report.terminal.time.monotonic", lambda: next(shown, seconds[-1]))


def test_no_bar_while_less_than_a_second_is_ahead(monkeypatch: pytest.MonkeyPatch) -> None:
    """A bar that flashes for a moment is noise."""
    clock(monkeypatch, 0.0, 0.1, 0.2, 0.3)
    screen = Screen()
    with progress_on(screen) as step:
        for done in (1, 2, 3):
            step(done, 3)
    assert screen.getvalue() == ""


def test_a_bar_as_soon_as_more_than_a_second_is_ahead(monkeypatch: pytest.MonkeyPatch) -> None:
    """A long run without a sign of life looks like a hang, and is killed."""
    clock(monkeypatch, 0.0, 1.0)
    screen = Screen()
    with progress_on(screen) as step:
        step(1, 10)  # one second for one of ten
    assert "Drawing" in screen.getvalue()


def test_no_bar_where_nobody_sees_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Bars in a log file are rubbish."""
    clock(monkeypatch, 0.0, 5.0)
    pipe = io.StringIO()
    with progress_on(pipe) as step:
        step(1, 10)
    assert pipe.getvalue() == ""


def test_the_run_ends_without_a_bar_on_a_pipe(flap: Path, tmp_path: Path) -> None:
    """A good run leaves stderr empty, so that a script may treat any line on it as trouble."""
    assert said("make", flap, "--only", "guide", "--out", tmp_path / "out").err == ""


def test_all_that_cannot_be_made_is_told_in_one_go(flap: Path, tmp_path: Path) -> None:
    """Mended one a run, four wrong sizes cost four evenings."""
    wrong = "[guide]\nfoot = 41\n[strip]\nwidth = 20\n[cradle]\nheight = 5\n[corner]\nheight = 6\n"
    flap.write_text(flap.read_text("utf-8") + wrong, "utf-8")
    answer = said("make", flap, "--out", tmp_path / "out")
    assert answer.status == 2
    keys = [line.split(": ")[1].split(".")[0] for line in answer.faults]
    assert set(keys) >= {"guide", "strip", "cradle", "corner"}
    assert not (tmp_path / "out").exists()


def test_an_empty_choice_of_pieces_is_refused(flap: Path, tmp_path: Path) -> None:
    """A script whose list came out empty must not get eleven pages."""
    answer = said("make", flap, "--out", tmp_path / "out", "--only", " , ")
    assert answer.status == 2
    assert "--only is empty" in answer.faults[0]
