import errno
import hashlib
import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

import jiggen
from jiggen.errors import DrawingFileError
from jiggen.write.files import PART, PENDING, replace_files


def job_files(
    text: str, names: tuple[str, ...] = ("print.pdf", "cut-1.svg", "pieces/a.svg")
) -> Any:
    """Return a set of files that all say `text`, with its manifest."""
    files = {name: f"{name} {text}".encode() * 50 for name in names}
    rows = [
        {"file": name, "sha256": hashlib.sha256(data).hexdigest()} for name, data in files.items()
    ]
    manifest = {"jiggen": 1, "job": text, "files": rows}
    return {**files, "manifest.json": json.dumps(manifest).encode()}


OLD, NEW = job_files("old"), job_files("new", ("print.pdf", "cut-1.svg", "pieces/b.svg"))


def on_disk(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_a_set_is_written_to_a_folder_that_is_not_there_yet(tmp_path: Path) -> None:
    """The usual first run."""
    replace_files(tmp_path / "a" / "jigs", OLD)
    assert on_disk(tmp_path / "a" / "jigs") == OLD


def test_a_later_set_takes_the_place_of_the_earlier_one(tmp_path: Path) -> None:
    """A guide that is no longer made must not lie there for somebody to cut."""
    replace_files(tmp_path, OLD)
    replace_files(str(tmp_path), NEW)
    assert on_disk(tmp_path) == NEW
    replace_files(tmp_path, job_files("flat", ("print.pdf",)))
    assert not (tmp_path / "pieces").exists()


def test_writing_the_same_set_again_changes_nothing(tmp_path: Path) -> None:
    """Nobody's copy program should see a hundred changed files."""
    replace_files(tmp_path, OLD)
    before = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")}
    replace_files(tmp_path, OLD)
    assert {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")} == before


def test_files_of_others_in_the_folder_stay(tmp_path: Path) -> None:
    """The folder may be the builder's whole project."""
    replace_files(tmp_path, OLD)
    (tmp_path / "notes.txt").write_text("mine")
    (tmp_path / "pieces" / "mine.svg").write_text("mine too")
    replace_files(tmp_path, job_files("flat", ("print.pdf",)))
    assert on_disk(tmp_path) == {
        **job_files("flat", ("print.pdf",)),
        "notes.txt": b"mine",
        "pieces/mine.svg": b"mine too",
    }


def test_a_file_of_the_same_name_that_is_not_ours_is_never_replaced(tmp_path: Path) -> None:
    """Somebody's only copy of something else."""
    (tmp_path / "cut-1.svg").write_text("a wedding card")
    with pytest.raises(DrawingFileError, match=r"cut-1\.svg: is not jiggen's; move it") as caught:
        replace_files(tmp_path, OLD)
    assert "\n" not in str(caught.value)
    assert on_disk(tmp_path) == {"cut-1.svg": b"a wedding card"}


def test_a_file_that_was_edited_since_is_not_replaced(tmp_path: Path) -> None:
    """Notes that somebody added to a drawing are work, too."""
    replace_files(tmp_path, OLD)
    (tmp_path / "print.pdf").write_text("with my notes")
    with pytest.raises(DrawingFileError, match=r"print\.pdf: was changed since jiggen wrote it"):
        replace_files(tmp_path, NEW)
    assert on_disk(tmp_path) == {**OLD, "print.pdf": b"with my notes"}


def test_a_file_that_was_edited_and_is_no_longer_made_stays(tmp_path: Path) -> None:
    """It is in nobody's way."""
    replace_files(tmp_path, OLD)
    (tmp_path / "pieces" / "a.svg").write_text("with my notes")
    replace_files(tmp_path, NEW)
    assert on_disk(tmp_path) == {**NEW, "pieces/a.svg": b"with my notes"}


@pytest.mark.parametrize("note", ["manifest.json", PENDING])
def test_a_manifest_of_another_program_is_refused(tmp_path: Path, note: str) -> None:
    """Many programs keep a manifest.json."""
    (tmp_path / note).write_text('{"name": "a web page", "files": []}')
    with pytest.raises(DrawingFileError, match="was not written by jiggen"):
        replace_files(tmp_path, OLD)
    assert list(on_disk(tmp_path)) == [note]


def test_a_manifest_cannot_make_us_delete_outside_of_the_folder(tmp_path: Path) -> None:
    """A manifest is a text file that anybody can write."""
    outside = tmp_path / "outside.txt"
    outside.write_bytes(b"precious")
    home = tmp_path / "jigs"
    home.mkdir()
    rows = [
        {"file": name, "sha256": hashlib.sha256(b"precious").hexdigest()}
        for name in ("../outside.txt", str(outside), "manifest.json")
    ]
    (home / "manifest.json").write_text(json.dumps({"jiggen": 1, "files": rows}))
    replace_files(home, OLD)
    assert outside.read_bytes() == b"precious"
    assert on_disk(home) == OLD


@pytest.mark.parametrize(
    "name", ["../a.svg", "/a.svg", "a/../../b.svg", "", "..\\a.svg", "c:a.svg"]
)
def test_a_path_out_of_the_folder_is_a_fault_of_ours(tmp_path: Path, name: str) -> None:
    """No piece's name may lead elsewhere."""
    with pytest.raises(ValueError, match="leads out"):
        replace_files(tmp_path / "jigs", {"manifest.json": b"", name: b"x"})
    with pytest.raises(ValueError, match="needs its"):
        replace_files(tmp_path / "jigs", {"a.svg": b"x"})
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("place", [".", "pieces", "print.pdf"])
def test_something_else_in_the_way_is_named(tmp_path: Path, place: str) -> None:
    """A file where the folder should be, and a folder where a file should be."""
    home = tmp_path / "jigs"
    if place == ".":
        home.write_text("a file")
    elif place == "pieces":
        home.mkdir()
        (home / "pieces").write_text("a file")
    else:
        (home / place).mkdir(parents=True)
    before = on_disk(tmp_path)
    with pytest.raises(DrawingFileError, match=r"a file, not a folder|not a plain file") as caught:
        replace_files(home, OLD)
    assert str((home / place).resolve()) in str(caught.value) or str(home) in str(caught.value)
    assert on_disk(tmp_path) == before


def test_a_link_in_the_way_is_not_followed(tmp_path: Path) -> None:
    """The file at its other end is somewhere else, and somebody's."""
    home = tmp_path / "jigs"
    home.mkdir()
    (tmp_path / "other.pdf").write_bytes(OLD["print.pdf"])
    (home / "print.pdf").symlink_to(tmp_path / "other.pdf")
    with pytest.raises(DrawingFileError, match="not a plain file"):
        replace_files(home, OLD)


@pytest.mark.parametrize("failing", range(1, 6))
@pytest.mark.parametrize("first_run", [True, False])
def test_a_rename_that_fails_puts_everything_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: int, first_run: bool
) -> None:
    """Half of a new set beside half of an old one would be cut together.

    On some systems a file that is open in a viewer cannot be replaced.
    """
    home = tmp_path / "jigs"
    if not first_run:
        replace_files(home, OLD)
    real, calls = os.replace, []

    def replace(source: Any, target: Any) -> None:
        calls.append(target)
        if len(calls) == failing:
            raise PermissionError(errno.EACCES, "Permission denied", str(target))
        real(source, target)

    monkeypatch.setattr(os, "replace", replace)
    with pytest.raises(
        DrawingFileError, match="cannot be written: Permission denied; close it"
    ) as caught:
        replace_files(home, NEW)
    assert "\n" not in str(caught.value)
    assert PART not in str(caught.value)
    assert len(calls) >= failing
    monkeypatch.undo()
    assert on_disk(tmp_path) == ({} if first_run else {f"jigs/{k}": v for k, v in OLD.items()})
    assert home.exists() is not first_run
    replace_files(home, NEW)
    assert on_disk(home) == NEW


def test_an_old_file_that_cannot_be_removed_puts_everything_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The new set is in place by then, but the folder would hold a guide that nobody lists."""
    replace_files(tmp_path, OLD)
    real = Path.unlink

    def unlink(self: Path, missing_ok: bool = False) -> None:
        if self.name == "a.svg":
            raise PermissionError(errno.EACCES, "Permission denied", str(self))
        real(self, missing_ok)

    monkeypatch.setattr(Path, "unlink", unlink)
    with pytest.raises(DrawingFileError, match=r"a\.svg: cannot be written: Permission denied"):
        replace_files(tmp_path, NEW)
    assert on_disk(tmp_path) == OLD


def test_where_putting_back_fails_too_the_next_run_still_knows_its_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that drops out in the middle must not lock the builder out of the own folder."""
    replace_files(tmp_path, OLD)
    real, calls = os.replace, []

    def replace(source: Any, target: Any) -> None:
        calls.append(target)
        if len(calls) >= 4:
            raise OSError(errno.EIO, "Input/output error", str(target))
        real(source, target)

    monkeypatch.setattr(os, "replace", replace)
    with pytest.raises(DrawingFileError, match="Input/output error"):
        replace_files(tmp_path, NEW)
    monkeypatch.undo()
    left = on_disk(tmp_path)
    assert left.pop(PENDING)
    assert all(data in (OLD.get(name), NEW.get(name)) for name, data in left.items())
    assert left != OLD
    newest = job_files("newest")
    replace_files(tmp_path, newest)
    assert on_disk(tmp_path) == newest


def test_a_run_that_fails_after_a_killed_one_keeps_the_killed_ones_note(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without it the files of the killed run would pass for somebody else's for ever."""
    replace_files(tmp_path, OLD)
    # The killed run came as far as its first drawing.
    assert next(n for n in range(40) if _killed_half_way(tmp_path, n)) > 3
    real = os.fsync

    def fsync(handle: int) -> None:
        real(handle)
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", fsync)
    with pytest.raises(DrawingFileError, match="No space left"):
        replace_files(tmp_path, job_files("third"))
    monkeypatch.undo()
    replace_files(tmp_path, job_files("last"))
    assert on_disk(tmp_path) == job_files("last")


def _killed_half_way(folder: Path, steps: int) -> bool:
    run_and_kill(folder, NEW, steps)
    return on_disk(folder)["print.pdf"] == NEW["print.pdf"]


def test_the_manifest_is_put_in_place_last(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who finds the new manifest shall find the new drawings."""
    real, order = os.replace, []

    def replace(source: Any, target: Any) -> None:
        order.append(Path(target).name)
        real(source, target)

    monkeypatch.setattr(os, "replace", replace)
    replace_files(tmp_path, dict(reversed(OLD.items())))
    assert (order[0], order[-1], len(order)) == (PENDING, "manifest.json", 5)


def test_a_full_disk_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is full while the third file is written: none of the old ones has been touched."""
    replace_files(tmp_path, OLD)
    real, calls = os.fsync, []

    def fsync(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 3:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    with pytest.raises(DrawingFileError, match="No space left on device; make room"):
        replace_files(tmp_path, NEW)
    assert on_disk(tmp_path) == OLD


def test_a_disk_that_really_refuses_gives_one_line(tmp_path: Path) -> None:
    """The same without a stand-in: the system allows this process no file over 2000 bytes."""
    replace_files(tmp_path, OLD)
    big = {**job_files("big"), "print.pdf": b"x" * 5000}
    program = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))\n"
        f"sys.path.insert(0, {str(Path(jiggen.__file__).parents[1])!r})\n"
        "from jiggen.write.files import replace_files\n"
        "try:\n"
        f"    replace_files({str(tmp_path)!r}, {big!r})\n"
        "except OSError as error:\n"
        "    print(type(error).__name__, error)\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60
    )
    assert run.stdout.startswith("DrawingFileError ")
    assert "File too large" in run.stdout
    assert run.stdout.count("\n") == 1
    assert on_disk(tmp_path) == OLD


def test_a_folder_that_cannot_be_made_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The administrator of this machine could write there all the same, so the refusal is acted."""

    def mkdir(self: Path, *_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied", str(self))

    monkeypatch.setattr(Path, "mkdir", mkdir)
    with pytest.raises(DrawingFileError, match="jigs: cannot be written: Permission denied"):
        replace_files(tmp_path / "jigs", OLD)


#: Runs in a process of its own and ends without a word after a number of steps on the disk.
KILLED = """
import json, os, sys
sys.path.insert(0, {root!r})
from pathlib import Path
from jiggen.write import files as module
left = int(sys.argv[2])
def counted(real):
    def step(*arguments, **words):
        global left
        if left == 0:
            os._exit(9)
        left -= 1
        return real(*arguments, **words)
    return step
os.replace, os.fsync, Path.unlink = counted(os.replace), counted(os.fsync), counted(Path.unlink)
files = {{name: text.encode("latin-1") for name, text in json.load(sys.stdin).items()}}
module.replace_files(sys.argv[1], files)
"""


def run_and_kill(folder: Path, files: dict[str, bytes], steps: int) -> int:
    program = KILLED.format(root=str(Path(jiggen.__file__).parents[1]))
    text = json.dumps({name: data.decode("latin-1") for name, data in files.items()})
    command = [sys.executable, "-c", program, str(folder), str(steps)]
    return subprocess.run(command, input=text, text=True, timeout=60, check=False).returncode


def test_killed_at_any_step_each_file_is_old_or_new_and_the_next_run_works(tmp_path: Path) -> None:
    """An empty battery must leave no half drawing, nor a folder that jiggen then refuses."""
    ended = []
    for steps in range(40):
        home = tmp_path / str(steps)
        replace_files(home, OLD)
        ended.append(run_and_kill(home, NEW, steps))
        left = on_disk(home)
        for name, data in left.items():
            if not Path(name).name.startswith(".jiggen-"):
                assert data in (OLD.get(name), NEW.get(name)), (steps, name)
        assert {"print.pdf", "cut-1.svg", "manifest.json"} <= set(left)
        # Now and then a second run, killed as well, with a third set; then one that may finish.
        if steps % 3 == 0:
            run_and_kill(home, job_files("third"), (steps * 7) % 11)
        last = job_files("last")
        replace_files(home, last)
        assert on_disk(home) == last, steps
        if ended[-1] == 0:
            break
    assert ended[-1] == 0
    assert set(ended[:-1]) == {9}
    assert len(ended) > 12


def test_killed_at_random_moments_each_file_is_whole(tmp_path: Path) -> None:
    """The same from outside, with a signal that no program can catch."""
    program = (
        "import sys, json\n"
        f"sys.path.insert(0, {str(Path(jiggen.__file__).parents[1])!r})\n"
        "from jiggen.write.files import replace_files\n"
        "a, b = ({k: v.encode('latin-1') for k, v in s.items()} for s in json.load(sys.stdin))\n"
        "print('ready', flush=True)\n"
        "while True:\n"
        f"    replace_files({str(tmp_path)!r}, a)\n"
        f"    replace_files({str(tmp_path)!r}, b)\n"
    )
    text = json.dumps([{k: v.decode("latin-1") for k, v in s.items()} for s in (OLD, NEW)])
    chance = random.Random(7)
    for _ in range(5):
        process = subprocess.Popen(
            [sys.executable, "-c", program],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(text)
        process.stdin.close()
        assert process.stdout.readline() == "ready\n"
        time.sleep(chance.uniform(0.0, 0.08))
        process.send_signal(signal.SIGKILL)
        process.wait(timeout=30)
        process.stdout.close()
        for name, data in on_disk(tmp_path).items():
            if not Path(name).name.startswith(".jiggen-"):
                assert data in (OLD.get(name), NEW.get(name)), name
    last = job_files("last")
    replace_files(tmp_path, last)
    assert on_disk(tmp_path) == last
