"""What goes wrong is said in one line each on stderr, with the exit status of the contract."""

import contextlib
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from commandline import FLAP, environment, files_in, process, said

from jiggen import exits, solve
from jiggen.errors import DoesNotFit, DrawingError


def test_all_faults_of_a_file_are_said_at_once(tmp_path: Path) -> None:
    """Mending one line, running again and finding the next is how an evening goes."""
    job = tmp_path / "bad.toml"
    text = FLAP.replace('drill = "#40"', 'drill = "#400"').replace(
        "line = 8.0", 'line = "8 furlong"'
    )
    job.write_text(
        text.replace("keep_out", "keepout").replace("pitch = 26.0", "pitch = -1"), "utf-8"
    )
    answer = said("angles", job)
    assert answer.status == 2
    assert answer.out == ""
    for key in ("holes.drill", "holes.line", "holes.keepout", "holes.pitch"):
        assert sum(line.startswith(f"{job}: {key}: ") for line in answer.faults) == 1
    assert "keep_out" in next(line for line in answer.faults if "holes.keepout" in line)


def test_an_impossible_wedge_names_the_key_too(tmp_path: Path) -> None:
    """Numbers that each look right can still not be a wedge: the line says which to look at."""
    job = tmp_path / "bad.toml"
    job.write_text(FLAP.replace("line = 8.0", "line = 25.0"), "utf-8")
    answer = said("angles", job)
    assert answer.status == 2
    assert any(line.startswith(f"{job}: holes.line: ") for line in answer.faults)


@pytest.mark.parametrize("command", ["angles", "make"])
def test_a_file_that_cannot_be_read_is_one_line(command: str, tmp_path: Path) -> None:
    """A slip in the path is the commonest fault of all."""
    binary = tmp_path / "binary.toml"
    binary.write_bytes(b"\xff\xfe\x00name")
    for path in (tmp_path / "none.toml", tmp_path, binary):
        answer = said(command, path)
        assert answer.status == 2
        assert len(answer.faults) == 1
        assert answer.err.startswith(f"{path}: ")


@pytest.mark.parametrize(
    "words",
    [
        ["frobnicate"],
        ["angles"],
        ["angles", "a.toml", "b.toml"],
        ["angles", "a.toml", "--jsn"],
        ["make", "a.toml", "--out"],
        ["make", "a.toml", "--as", "pdf,png"],
        ["make", "a.toml", "--as", ","],
        ["--frobnicate"],
    ],
)
def test_a_wrong_command_line_is_one_line_and_exit_2(words: list[str]) -> None:
    """A page of usage hides the one word that was wrong."""
    answer = said(*words)
    assert answer.status == 2
    assert answer.out == ""
    assert len(answer.faults) == 1
    assert answer.err.startswith("jiggen")


def test_a_wrong_format_is_answered_with_the_known_ones() -> None:
    """Nobody should have to look up which formats there are."""
    assert "pdf, svg, dxf" in said("make", "a.toml", "--as", "png").err


def test_a_fault_of_jiggen_s_own_is_exit_70_and_one_line(
    flap: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Status 1 would read as a failed check, and a page of Python helps nobody in the shop."""

    def broken(_job: object, **_more: object) -> None:
        raise ZeroDivisionError("division\nby zero")

    monkeypatch.setattr(solve, "solve", broken)
    answer = said("angles", flap)
    assert answer.status == 70
    assert len(answer.faults) == 1
    assert "ZeroDivisionError" in answer.err
    assert "send this line and the job file" in answer.err


@pytest.mark.parametrize(
    ("refused", "line"),
    [
        (
            DoesNotFit("is too long", key="guide.foot", given="60 mm", remedy="45 mm would do"),
            "guide.foot: is too long, given 60 mm; 45 mm would do",
        ),
        (DrawingError("the kerf eats the notch of guide-a1"), "the kerf eats the notch"),
    ],
)
def test_a_piece_that_cannot_be_made_is_the_job_s_fault(
    refused: Exception, line: str, flap: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The user mends the job file, so the line names the file and the key in it."""

    def refuse(_job: object, **_more: object) -> None:
        raise refused

    monkeypatch.setattr(solve, "solve", refuse)
    answer = said("angles", flap)
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert answer.err.startswith(f"{flap}: {line}")


def takes_signals(process: "subprocess.Popen[bytes]") -> bool:
    """Tell by proc(5) whether the command has taken its signals yet; before, Python has them."""
    status = Path(f"/proc/{process.pid}/status").read_text()
    caught = int(
        next(line for line in status.splitlines() if line.startswith("SigCgt")).split()[1], 16
    )
    return bool(caught >> (signal.SIGTERM - 1) & 1)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_stopped_at_any_moment_it_says_so_in_one_line(
    number: signal.Signals, flap: Path, tmp_path: Path
) -> None:
    """Ctrl-C is a wish, not an accident: while libraries loaded it showed a page of Python."""
    command = [sys.executable, "-m", "jiggen", "make", str(flap), "--out", str(tmp_path / "out")]
    ended = []
    for delay in (0.0, 0.02, 0.05, 0.1, 0.2, 0.4, 3.0):
        process = subprocess.Popen(
            command, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, env=environment()
        )
        while not takes_signals(process):
            assert process.poll() is None
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(timeout=delay)
        process.send_signal(number)
        said_at_last = process.communicate(timeout=60)[1].decode()
        ended.append(process.returncode)
        if process.returncode:
            assert process.returncode == 128 + number
            assert said_at_last.startswith("jiggen: stopped; every file is whole")
            assert said_at_last.count("\n") == 1
        else:
            assert said_at_last == ""
    assert ended[0] == ended[1] == ended[2] == 128 + number


def test_a_job_in_the_background_leaves_ctrl_c_to_others(flap: Path) -> None:
    """A shell starts it so that Ctrl-C, meant for the job in front, does not reach it."""
    process = subprocess.Popen(
        [sys.executable, "-m", "jiggen", "angles", str(flap)],
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        env=environment(),
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_IGN),
    )
    while not takes_signals(process):
        assert process.poll() is None
    process.send_signal(signal.SIGINT)
    assert process.communicate(timeout=60)[1] == b""
    assert process.returncode == 0


def test_the_status_tells_even_where_no_word_can_be_said(tmp_path: Path) -> None:
    """A log on a full disk turned bad input into status 1, which reads as a failed check."""
    for words in (["angles", "none.toml"], ["frobnicate"]):
        with open("/dev/full", "wb") as full:
            done = subprocess.run(
                [sys.executable, "-m", "jiggen", *words],
                stdout=subprocess.PIPE,
                stderr=full,
                cwd=tmp_path,
                env=environment(),
                timeout=60,
                check=False,
            )
        assert (done.returncode, done.stdout) == (2, b"")


def test_a_reader_that_leaves_early_is_no_fault(flap: Path) -> None:
    """`jiggen angles JOB | head -3` must not end in a complaint about a pipe."""
    for words in (["angles", str(flap), "--json"], ["--help"]):
        read, write = os.pipe()
        os.close(read)
        done = subprocess.run(
            [sys.executable, "-m", "jiggen", *words],
            stdout=write,
            stderr=subprocess.PIPE,
            env=environment(),
            timeout=60,
            check=False,
        )
        os.close(write)
        assert done.stderr == b""
        assert done.returncode == 128 + signal.SIGPIPE


def test_a_full_disk_under_the_output_is_one_line(flap: Path) -> None:
    """`jiggen angles JOB > log` on a full disk must not look like a success."""
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "jiggen", "angles", str(flap)],
            stdout=full,
            stderr=subprocess.PIPE,
            env=environment(),
            timeout=60,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr.count(b"\n") == 1
    assert b"No space left" in done.stderr


def test_a_job_name_that_no_terminal_can_show_does_no_harm(tmp_path: Path) -> None:
    """Accents, other scripts and a broken file name reach the screen as far as they can."""
    job = tmp_path / "b\u00e4d.toml"
    job.write_text(FLAP.replace("line = 8.0", 'line = "acht \u00b1 \u4e00"'), "utf-8")
    answer = process("angles", job.name, folder=tmp_path, PYTHONIOENCODING="ascii")
    assert answer.status == 2
    assert answer.err.startswith("b?d.toml: holes.line: ")
    assert len(answer.faults) == 1


def test_a_terminal_code_in_a_fault_is_not_obeyed(tmp_path: Path) -> None:
    """A job file from a stranger must not be able to hide the line that condemns it."""
    job = tmp_path / "bad.toml"
    job.write_text(FLAP.replace('"mm"', '"\\u001b[2Jmm\\u0007"'), "utf-8")
    answer = said("angles", job)
    assert answer.status == 2
    assert "\x1b" not in answer.err
    assert "\x07" not in answer.err


def test_bad_input_writes_no_file(tmp_path: Path) -> None:
    """A half-made set of drawings beside a fault would be used."""
    job = tmp_path / "bad.toml"
    job.write_text(FLAP.replace("count = 64", "count = 0"), "utf-8")
    before = files_in(tmp_path)
    assert said("make", job, "--out", tmp_path / "out").status == 2
    assert files_in(tmp_path) == before
    assert not (tmp_path / "out").exists()


def test_each_status_is_its_own_number() -> None:
    """A script tells a failed check from a bad file by the number alone."""
    numbers = [exits.DONE, exits.CHECK_SAYS_NO, exits.BAD_INPUT, exits.INTERNAL_FAULT]
    assert numbers == [0, 1, 2, 70]
