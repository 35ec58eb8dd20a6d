"""Killed, refused or out of room while `make` writes: what was there stays whole."""

import json
import random
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from commandline import FLAP, environment, files_in, said

from jiggen.write.files import PENDING, sole_writer

MAKE = [sys.executable, "-m", "jiggen", "make"]

#: The same job measured again: every drawing of it differs.
AGAIN = FLAP.replace("skin_angles = [7.5, 3.0]", "skin_angles = [7.1, 3.2]")


def job_in(folder: Path, text: str, name: str = "flap.toml") -> Path:
    job = folder / name
    job.write_text(text, "utf-8")
    return job


#: What is drawn: enough to be killed in the middle of.
SOME = ("--as", "pdf,svg", "--only", "guide")


def made_from(text: str, folder: Path) -> dict[str, bytes]:
    """Return what `make` writes for a job, from a folder of its own."""
    folder.mkdir()
    answer = said("make", job_in(folder, text), *SOME, "--out", folder / "out")
    assert answer.status == 0
    return files_in(folder / "out")


def note_of_a_run_under_way(folder: Path) -> int | None:
    """Return when a run noted which files it is about to replace; None where none is noted."""
    try:
        return (folder / PENDING).stat().st_mtime_ns
    except FileNotFoundError:
        return None


@pytest.mark.slow
def test_make_killed_at_any_moment_leaves_whole_files_and_the_next_one_works(
    tmp_path: Path,
) -> None:
    """An empty battery in the middle of it must not leave half a guide for somebody to cut."""
    old, new = made_from(FLAP, tmp_path / "old"), made_from(AGAIN, tmp_path / "new")
    assert {name for name in old if old[name] != new.get(name)} >= {"print.pdf", "manifest.json"}
    jobs = [job_in(tmp_path, text, f"{n}.toml") for n, text in enumerate((FLAP, AGAIN))]
    home = tmp_path / "jigs"
    assert said("make", jobs[0], *SOME, "--out", home).status == 0
    chance = random.Random(11)
    killed = under_way = turn = 0
    while turn < 6 or (under_way < 1 and turn < 20):
        command = [*MAKE, jobs[turn % 2 == 0], *SOME]
        left_behind = note_of_a_run_under_way(home)
        process = subprocess.Popen(
            [*command, "--out", home], stdout=subprocess.DEVNULL, env=environment()
        )
        if turn < 2:  # some while it still draws, the others while it writes
            time.sleep(chance.uniform(0.02, 0.2))
        else:
            began = time.monotonic()
            while process.poll() is None and note_of_a_run_under_way(home) in (None, left_behind):
                assert time.monotonic() - began < 30
            time.sleep(chance.uniform(0.0, 0.003) * (turn - 2))
        process.send_signal(signal.SIGKILL)
        killed += process.wait(timeout=30) == -signal.SIGKILL
        left = files_in(home)
        under_way += PENDING in left
        for row in json.loads(left["manifest.json"])["files"]:
            name = row["file"]
            assert left[name] in (old.get(name), new.get(name)), (turn, name)
        turn += 1
    assert killed >= 3
    assert under_way >= 1
    answer = said("make", jobs[1], *SOME, "--out", home)
    assert answer.err == ""
    assert answer.status == 0
    assert files_in(home) == new


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_make_stopped_while_it_writes_sweeps_its_parts(
    number: signal.Signals, tmp_path: Path
) -> None:
    """SIGTERM, as a machine sends it that shuts down, left half-written files behind."""
    old, new = made_from(FLAP, tmp_path / "old"), made_from(AGAIN, tmp_path / "new")
    home = tmp_path / "old" / "out"
    for _ in range(5):
        with subprocess.Popen(
            [*MAKE, job_in(tmp_path, AGAIN), *SOME, "--out", home],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            env=environment(),
        ) as process:
            while process.poll() is None and note_of_a_run_under_way(home) is None:
                pass
            process.send_signal(number)
            told = process.communicate(timeout=60)[1]
        assert files_in(home) in (old, new)
        if process.returncode:
            break
    assert process.returncode == 128 + number
    assert told.startswith("jiggen: stopped; every file is whole")
    assert told.count("\n") == 1


def test_the_second_of_two_makes_waits_for_the_first_and_says_so(tmp_path: Path) -> None:
    """Both ended well, one time in fifty with files of both jobs in the folder."""
    home = tmp_path / "jigs"
    words = [job_in(tmp_path, FLAP), *SOME, "--out", home]
    with sole_writer(home):
        second = subprocess.Popen(
            [*MAKE, *words],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            env=environment(),
        )
        assert second.stderr is not None
        told = second.stderr.readline()
        assert files_in(home) == {}
    assert told == f"{home}: another run of jiggen is writing there; waiting until it is done\n"
    assert second.communicate(timeout=60)[1] == ""
    assert second.returncode == 0


def test_two_makes_at_once_leave_the_drawings_of_one(tmp_path: Path) -> None:
    """Measured twice, the same job is made in two windows: never a guide of each."""
    whole = [made_from(text, tmp_path / str(n)) for n, text in enumerate((FLAP, AGAIN))]
    home = tmp_path / "jigs"
    runs = [
        subprocess.Popen(
            [*MAKE, tmp_path / str(n) / "flap.toml", *SOME, "--out", home],
            stdout=subprocess.DEVNULL,
            env=environment(),
        )
        for n in range(2)
    ]
    assert [run.wait(60) for run in runs] == [0, 0]
    assert files_in(home) in whole


def test_the_drawings_of_a_job_of_another_name_are_not_replaced(tmp_path: Path) -> None:
    """Names that come to the same folder: the second job took the first one's place in silence."""
    old = made_from(FLAP, tmp_path / "old")
    home = tmp_path / "old" / "out"
    job = job_in(tmp_path, FLAP.replace("Flap edge, left", "Flap edge, right"))
    answer = said("make", job, *SOME, "--out", home)
    assert (answer.status, answer.out) == (2, "")
    assert answer.err == (
        f'{home}: holds the drawings of another job, "Flap edge, left"; choose another folder '
        "with --out, or move this one away if the job was only given another name\n"
    )
    assert files_in(home) == old


def test_a_disk_without_room_is_one_line_and_the_old_drawings_stay(tmp_path: Path) -> None:
    """The system allows the process no file as large as the page: as on a full disk."""
    old = made_from(FLAP, tmp_path / "old")
    home = tmp_path / "old" / "out"
    command = [*MAKE, job_in(tmp_path, AGAIN), *SOME]
    done = subprocess.run(
        [*command, "--out", home],
        capture_output=True,
        text=True,
        env=environment(),
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (30_000, 30_000)),
        timeout=60,
        check=False,
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith(str(home))
    assert "choose another --out" in done.stderr
    assert done.stderr.count("\n") == 1
    assert files_in(home) == old


#: Runs the command, and gives up being the administrator, whom no folder refuses, before it
#: writes. By then everything is loaded, so it does not matter what else nobody may read.
AS_NOBODY = """
import os, sys
from jiggen import cli
from jiggen.write import files
real = files.sole_writer
def as_nobody(*words):
    if os.geteuid() == 0:
        os.setuid(65534)
    return real(*words)
files.sole_writer = as_nobody
sys.exit(cli.run(sys.argv[1:]))
"""


@pytest.mark.parametrize("there", [True, False])
def test_a_folder_that_may_not_be_written_is_one_line_and_stays_as_it_is(
    tmp_path: Path, there: bool
) -> None:
    """Somebody else's folder, or a stick with its switch set to read only."""
    home = tmp_path / "home"
    old = made_from(FLAP, home) if there else {}
    home.mkdir(exist_ok=True)
    folders = [path for path in (home, *home.rglob("*")) if path.is_dir()]
    job = job_in(tmp_path, AGAIN)
    for folder in folders:
        folder.chmod(0o555)
    try:
        done = subprocess.run(
            [sys.executable, "-c", AS_NOBODY, "make", job, *SOME, "--out", "out"],
            capture_output=True,
            text=True,
            cwd=home,
            env=environment(),
            timeout=60,
            check=False,
        )
    finally:
        for folder in folders:
            folder.chmod(0o755)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("out")
    assert "Permission denied" in done.stderr
    assert done.stderr.count("\n") == 1
    assert files_in(home / "out") == old
    assert (home / "out").exists() is there
