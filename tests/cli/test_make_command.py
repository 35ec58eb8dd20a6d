"""``jiggen make``: what is written, what is refused, and what is said at the end."""

import errno
import io
import json
import os
import re
from hashlib import sha256
from pathlib import Path

import pytest
from commandline import FLAP, PROJECT, TOO_NEAR, files_in, process, said
from language import read_pages
from measuring import Bench

import jiggen
from jiggen.geometry.distortion import Distortion
from jiggen.proof.folder import folder_of
from jiggen.report.terminal import progress_on

#: The same edge, too thin for its countersinks: a shop check fails, and it can be drawn.
KNIFE = FLAP.replace("[cut]", '[rivet]\nsize = "-3"\nshop_head = "flush"\n[cut]')


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
    assert singles == ["pieces/guide-a1-edge.svg", "pieces/guide-a1.svg"]


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
    """Whoever cuts before measuring the figure finds out on the wedge."""
    out = tmp_path / "out"
    lines = said("make", flap, "--only", "guide", "--out", out).out.splitlines()
    assert lines[0].split()[0] == "LOOK"
    assert lines[-1] == f"Open first: {out / 'print.pdf'}"
    pages = len(read_pages((out / "print.pdf").read_bytes()))
    wrote = f"Wrote {len(files_in(out))} files to {out}{os.sep}: {pages} pages on A4, 1 bed, "
    assert sum(line.startswith(wrote) for line in lines) == 1
    assert "Print at 100 %. On page 2 both diagonals: 300 mm." in lines


@pytest.mark.parametrize(
    "job", sorted(PROJECT.glob("samples/*/job.toml")), ids=lambda p: p.parent.name
)
def test_the_closing_lines_are_eight_at_most(job: Path, tmp_path: Path) -> None:
    """A warning in the ninth line is not read; one of a laser, where none burns, is noise."""
    paper = said("make", job, "--as", "pdf", "--out", tmp_path / "paper")
    whole = said("make", job, "--out", tmp_path / "whole")
    for answer in (paper, whole):
        assert (answer.status, answer.err) == (0, "")
        assert len(answer.out.splitlines()) <= 8
    assert "aser" not in paper.out
    assert "Cut one piece first" not in paper.out
    burnt = "kerf" in job.read_text("utf-8")
    assert ("Laser: never PVC, never alone." in whole.out) == burnt


def test_a_thickness_that_nobody_stated_is_said_where_slots_are_drawn_for_it(
    tmp_path: Path,
) -> None:
    """Slots for 3 mm in silence: in 1/8 in ply nothing goes together, after it was all cut."""
    job = tmp_path / "job.toml"
    for sheet in ("", "sheet = 3.0\n"):
        job.write_text(FLAP.replace("[cut]\n", f"[cut]\n{sheet}"), "utf-8")
        folder = tmp_path / f"drawn{len(sheet)}"
        answer = said("make", job, "--out", folder)
        pages = " ".join(
            w.text for page in read_pages((folder / "print.pdf").read_bytes()) for w in page.words
        )
        asked = "Slots fit material 3 mm thick: if yours differs, state cut.sheet."
        assert (asked in answer.out) == (not sheet)
        assert (asked in pages) == (not sheet)
    gauges = said("make", job, "--only", "gauge", "--out", tmp_path / "gauges")
    assert "cut.sheet" not in gauges.out


def test_the_closing_lines_are_eight_at_most_where_everything_is_to_be_said(tmp_path: Path) -> None:
    """Four reasons to stop, a reprint that is lost, solids to drill out: still one look."""
    text = KNIFE.replace("line = 8.0", "line = 5.9").replace("[cut]", "[block]\n[cut]")
    bench = Bench(folder=tmp_path, job=text)
    bench.make()
    small = Distortion(scale_x=0.985, scale_y=0.99)
    said("verify", bench.file, "--out", bench.out, *bench.options(small, 0.1), "--step", "0.1",
         "--reprint")  # fmt: skip
    answer = said("make", bench.file, "--as", "pdf,svg,3mf", "--out", bench.out)
    lines = answer.out.splitlines()
    assert len(lines) == 8
    assert lines[0].startswith("STOP ")
    assert re.fullmatch(r" +And \d+ more: see angles --all\.", lines[2])
    kept = re.search(r"put under \[print\] in the job file: (.+)\.$", lines[4])
    assert kept
    # The correction that was lost is there to be typed in, and gives the reprint again.
    keys = dict(part.split(" = ") for part in kept[1].split("; "))
    assert float(keys["scale_x"]) == pytest.approx(0.985, abs=2e-3)
    assert float(keys["scale_y"]) == pytest.approx(0.99, abs=2e-3)
    assert "Printed: drill" in lines[6]
    assert lines[7].startswith("Open first: ")


def test_no_page_is_named_that_is_not_drawn(flap: Path, tmp_path: Path) -> None:
    """Who cuts from SVG alone looks for a page NUMBERS that nobody printed."""
    answer = said("make", flap, "--as", "svg", "--out", tmp_path / "out")
    assert "Cut one piece first and measure it. " in answer.out
    assert not re.search(r"NUMBERS|[Pp]age \d|pages", answer.out)


def test_the_measuring_sheet_is_one_side_of_paper(flap: Path, tmp_path: Path) -> None:
    """Numbers on a scrap of card, without the letters of the section, are typed in crossed over."""
    out = tmp_path / "out"
    answer = said("make", flap, "--only", "sheet", "--out", out)
    assert (answer.status, answer.err) == (0, "")
    assert "1 page on A4" in answer.out
    (page,) = read_pages((out / "print.pdf").read_bytes())
    assert page.title == "MEASURE"
    assert not [name for name in files_in(out) if name.startswith(("cut-", "pieces/"))]


def test_a_failed_check_draws_nothing_under_strict(tmp_path: Path) -> None:
    """A gate that lets the drawing through is no gate."""
    job = tmp_path / "thin.toml"
    job.write_text(KNIFE, "utf-8")
    strict = said("make", job, "--strict", "--as", "pdf", "--out", tmp_path / "out")
    assert strict.status == 1
    assert strict.out == ""
    assert all(line.startswith(f"{job}: check ") for line in strict.faults)
    assert strict.faults
    assert not (tmp_path / "out").exists()
    relaxed = said("make", job, "--as", "pdf", "--out", tmp_path / "out")
    assert relaxed.status == 0
    assert relaxed.out.startswith("STOP ")


def test_a_jig_that_cannot_be_made_is_told_first_and_stops_no_other(tmp_path: Path) -> None:
    """One size that does not go held back eleven good pieces."""
    job, out = tmp_path / "near.toml", tmp_path / "out"
    job.write_text(TOO_NEAR.replace("line = 3.0", "line = 6.0") + "[gauge]\n", "utf-8")
    answer = said("make", job, "--out", out)
    assert answer.status == 1
    assert answer.out.splitlines()[0].startswith("STOP ")
    assert answer.out.splitlines()[1].strip() == "No guide can be made: see page NUMBERS."
    assert len(answer.faults) == 1
    assert answer.err.startswith(f"{job}: check guide cannot be made says no: ")
    assert "sheet of 2.2 mm or thinner" in answer.err
    names = {Path(name).stem for name in files_in(out) if name.startswith("pieces/")}
    assert names
    assert all(name.startswith("gauge") for name in names)
    cover = " ".join(w.text for w in read_pages((out / "print.pdf").read_bytes())[0].words)
    assert "STOP" in cover.split()
    assert "No guide can be made" in cover
    # Said in one place and with one exit status: what was drawn is whole.
    assert all(said("remeasure", out / name).status == 0 for name in ("print.pdf", "cut-1.svg"))


def test_where_no_jig_can_be_made_each_is_a_fault_and_nothing_is_written(tmp_path: Path) -> None:
    """Mended one a run, three wrong sizes cost three evenings."""
    job = tmp_path / "near.toml"
    job.write_text(TOO_NEAR.replace("line = 3.0", "line = 6.0") + "[cradle]\nheight = 5\n", "utf-8")
    answer = said("make", job, "--only", "guide,cradle", "--out", tmp_path / "out")
    assert answer.status == 2
    assert {line.split(": ")[1] for line in answer.faults} == {"guide.sheet", "cradle.height"}
    assert all(line.startswith(f"{job}: ") for line in answer.faults)
    assert not (tmp_path / "out").exists()


def test_a_page_too_small_for_its_figure_names_the_key_and_writes_nothing(
    flap: Path, tmp_path: Path
) -> None:
    """A page that cannot be proved true is not drawn; who cuts from SVG alone needs none."""
    flap.write_text(FLAP + "[print]\npaper = [105, 148]\n", "utf-8")
    answer = said("make", flap, "--out", tmp_path / "out")
    assert answer.status == 2
    assert answer.err == (
        f"{flap}: print.paper: the page has no room for its check figure, given 105×148; "
        "take paper of A5 or larger\n"
    )
    assert not (tmp_path / "out").exists()
    assert said("make", flap, "--as", "svg", "--out", tmp_path / "out").status == 0


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


def test_an_empty_choice_of_pieces_is_refused(flap: Path, tmp_path: Path) -> None:
    """A script whose list came out empty must not get eleven pages."""
    answer = said("make", flap, "--out", tmp_path / "out", "--only", " , ")
    assert answer.status == 2
    assert "--only is empty" in answer.faults[0]
