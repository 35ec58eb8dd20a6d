"""The command that opens the page: as a process, as a user starts it."""

import os
import re
import signal
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from commandline import bringing, environment, process


def begun(folder: Path, *words: str) -> "subprocess.Popen[str]":
    """Start ``jiggen bench`` in a folder."""
    command = [sys.executable, "-u", "-m", "jiggen", "bench", *words, "--no-open"]
    return subprocess.Popen(
        command, cwd=folder, env=environment(), text=True, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )  # fmt: skip


def address_of(run: "subprocess.Popen[str]") -> str:
    """Return the address that it prints."""
    assert run.stdout is not None
    found = re.search(r"http://127\.0\.0\.1:\d+/\?t=\S+", run.stdout.readline())
    assert found is not None
    return found[0]


@pytest.mark.parametrize("words", [["trial.toml"], []])
def test_it_prints_an_address_that_answers_at_once_and_ends_with_ctrl_c(
    job: Path, words: list[str]
) -> None:
    """Status 0: this is how it is ended every evening."""
    run = begun(job.parent, *words)
    try:
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        page = opener.open(address_of(run), timeout=30).read().decode()
        assert ("1</b> Measure" in page) if words else ("Which job?" in page)
        run.send_signal(signal.SIGINT)
        out, err = run.communicate(timeout=30)
    finally:
        run.kill()
    assert (run.returncode, err) == (0, "")
    assert out.splitlines()[-1] == "The bench has ended."


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("none.toml", None, "none.toml: cannot be read"),
        (".", None, "cannot be read"),
        ("x.toml", b"\xff\xfe\x00", "x.toml: is not UTF-8 text"),
        ("x.toml", b"<svg xmlns='http://www.w3.org/2000/svg'/>", "x.toml: is a drawing"),
        ("x.toml", b"#" * 300_000, "x.toml: is too large"),
    ],
)
def test_a_file_that_is_no_job_is_one_line(
    tmp_path: Path, name: str, data: bytes | None, words: str
) -> None:
    """Before any address is printed."""
    if data is not None:
        (tmp_path / name).write_bytes(data)
    done = process("bench", name, "--no-open", folder=tmp_path)
    assert (done.status, done.out) == (2, "")
    assert len(done.faults) == 1
    assert words in done.err


@pytest.mark.parametrize("missing", ["starlette", "uvicorn", "jinja2", "tomlkit"])
def test_where_a_library_of_the_extra_is_absent_one_line_says_what_brings_it(
    job: Path, tmp_path: Path, missing: str
) -> None:
    """Most people have installed jiggen without it."""
    (tmp_path / "sitecustomize.py").write_text(
        "import sys\n"
        "class Absent:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        f"        if name.partition('.')[0] == {missing!r}:\n"
        f"            raise ModuleNotFoundError('absent', name=name)\n"
        "sys.meta_path.insert(0, Absent())\n"
    )
    path = os.pathsep.join([str(tmp_path), environment()["PYTHONPATH"]])
    done = process("bench", "trial.toml", "--no-open", folder=job.parent, PYTHONPATH=path)
    assert (done.status, done.out) == (2, "")
    assert done.faults == [f"jiggen bench: needs {missing}, which is not there: {bringing('page')}"]
    assert process("angles", "trial.toml", folder=job.parent, PYTHONPATH=path).status == 0


def test_other_commands_do_not_load_the_server(job: Path) -> None:
    """Nobody waits for what is not used."""
    code = (
        "import sys; from jiggen.cli import run; run(['new', '--list']); "
        "print([m for m in ('starlette', 'uvicorn', 'jinja2', 'tomlkit') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], env=environment(), capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "[]"


def test_it_ends_when_the_page_says_so(job: Path) -> None:
    """Without going back to the terminal."""
    run = begun(job.parent, "trial.toml")
    try:
        address = address_of(run)
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        opener.open(address, timeout=30).read()
        origin = address.partition("/?")[0]
        asked = urllib.request.Request(f"{origin}/stop", b"", {"Origin": origin})
        assert b"The bench has ended" in opener.open(asked, timeout=30).read()
        began = time.monotonic()
        run.communicate(timeout=30)
        assert time.monotonic() - began < 25.0
    finally:
        run.kill()
    assert run.returncode == 0
