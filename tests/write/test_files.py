import contextlib
import errno
import hashlib
import json
import os
import random
import signal
import stat
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest

import jiggen
from jiggen.errors import DrawingFileError
from jiggen.write import files as module
from jiggen.write.files import (
    PART,
    PENDING,
    names_beside,
    put,
    replace_files,
    sole_writer,
    write_new,
)


def job_files(
    text: str,
    names: tuple[str, ...] = ("print.pdf", "cut-1.svg", "pieces/a.svg"),
    job: str = "Invented edge",
) -> Any:
    """Return a set of files that all say `text`, with its manifest."""
    files = {name: f"{name} {text}".encode() * 50 for name in names}
    rows = [
        {"file": name, "sha256": hashlib.sha256(data).hexdigest()} for name, data in files.items()
    ]
    manifest = {"jiggen": 1, "job": job, "of": text, "files": rows}
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


def test_a_linked_folder_is_not_written_through(tmp_path: Path) -> None:
    """What lies at its other end is somewhere else, and somebody's."""
    home, elsewhere = tmp_path / "jigs", tmp_path / "elsewhere"
    home.mkdir()
    elsewhere.mkdir()
    (home / "pieces").symlink_to(elsewhere, target_is_directory=True)
    with pytest.raises(DrawingFileError, match="pieces: is a link, not a folder; move it away"):
        replace_files(home, OLD)
    assert on_disk(tmp_path) == {}


def test_what_is_no_longer_made_is_not_removed_through_a_link(tmp_path: Path) -> None:
    """Moved to another disk and linked, the pieces are the user's to keep."""
    home, elsewhere = tmp_path / "jigs", tmp_path / "elsewhere"
    replace_files(home, OLD)
    (home / "pieces").rename(elsewhere)
    (home / "pieces").symlink_to(elsewhere, target_is_directory=True)
    replace_files(home, job_files("flat", ("print.pdf",)))
    assert on_disk(elsewhere) == {"a.svg": OLD["pieces/a.svg"]}


def test_a_link_named_like_a_part_is_not_followed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its target was overwritten; the names are random now, and even a guess does no harm."""
    home = tmp_path / "jigs"
    home.mkdir()
    (tmp_path / "precious.txt").write_text("precious")
    monkeypatch.setattr("jiggen.write.files.secrets.token_hex", lambda size: "ab" * size)
    (home / f"{PART}{'ab' * 8}").symlink_to(tmp_path / "precious.txt")
    with pytest.raises(DrawingFileError, match=r"jigs/[^.].*: cannot be written: File exists"):
        replace_files(home, OLD)
    assert (tmp_path / "precious.txt").read_text() == "precious"
    assert [path.is_symlink() for path in home.iterdir()] == [True]


def test_a_folder_that_is_a_link_to_nowhere_is_one_line(tmp_path: Path) -> None:
    """Its disk is not there; the folder is not waited for, nor made elsewhere."""
    (tmp_path / "jigs").symlink_to(tmp_path / "unplugged")
    with pytest.raises(DrawingFileError, match="jigs: cannot be written: No such file"):
        replace_files(tmp_path / "jigs", OLD)


def test_a_link_named_like_the_note_is_not_followed(tmp_path: Path) -> None:
    """Nor is one that leads nowhere, through which a new file would be made."""
    home = tmp_path / "jigs"
    home.mkdir()
    (home / PENDING).symlink_to(tmp_path / "made-by-jiggen")
    with pytest.raises(DrawingFileError, match="not a plain file"):
        replace_files(home, OLD)
    assert on_disk(tmp_path) == {}


def test_a_user_s_file_named_like_a_part_stays(tmp_path: Path) -> None:
    """Whatever began like that was swept away, whoever had put it there."""
    mine = {f"{PART}mine": b"mine", f"pieces/{PART}{'0' * 16}": b"mine too"}
    (tmp_path / "pieces").mkdir()
    for name, data in mine.items():
        (tmp_path / name).write_bytes(data)
    replace_files(tmp_path, OLD)
    replace_files(tmp_path, NEW)
    assert on_disk(tmp_path) == {**NEW, **mine}


def test_the_parts_of_a_killed_run_are_swept_and_nothing_else(tmp_path: Path) -> None:
    """A note is a text file that anybody can write: it sweeps nothing but parts in the folder."""
    home, elsewhere = tmp_path / "jigs", tmp_path / "elsewhere"
    replace_files(home, OLD)
    elsewhere.mkdir()
    (home / "linked").symlink_to(elsewhere, target_is_directory=True)
    kept = [
        tmp_path / f"{PART}above",
        elsewhere / f"{PART}linked",
        home / "notes.txt",
        home / f"{PART}unlisted",
    ]
    swept = [home / f"{PART}{'1' * 16}", home / "pieces" / f"{PART}{'2' * 16}"]
    for path in (*kept, *swept):
        path.write_text("x")
    rows = [
        {"file": name, "sha256": "0"}
        for name in (
            *(f"../{PART}above", f"linked/{PART}linked", "notes.txt"),
            *(path.relative_to(home).as_posix() for path in swept),
        )
    ]
    (home / PENDING).write_text(json.dumps({"jiggen": 1, "files": rows}) + "\n")
    replace_files(home, OLD)
    assert [path.exists() for path in kept] == [True] * len(kept)
    assert [path.exists() for path in swept] == [False] * len(swept)
    assert not (home / PENDING).exists()


@pytest.mark.parametrize("torn", ["", '{"jig', '{"jiggen": 1, "files": [{"file": "pri'])
def test_a_note_that_was_cut_short_is_ours(torn: str, tmp_path: Path) -> None:
    """Killed in the middle of the note, a run had written nothing else yet."""
    replace_files(tmp_path, OLD)
    (tmp_path / PENDING).write_text(torn)
    # Killed once more, after a note of its own that must be read past the torn one.
    assert run_and_kill(tmp_path, NEW, 9) == 9
    assert (tmp_path / PENDING).exists()
    last = job_files("last")
    replace_files(tmp_path, last)
    assert on_disk(tmp_path) == last


def test_the_drawings_of_another_job_are_not_replaced(tmp_path: Path) -> None:
    """Two jobs in one folder: the second took the first one's place without a word."""
    replace_files(tmp_path, OLD)
    with pytest.raises(DrawingFileError) as caught:
        replace_files(tmp_path, job_files("new", job="Another edge"))
    assert 'holds the drawings of another job, "Invented edge"' in str(caught.value)
    assert "choose another folder with --out" in str(caught.value)
    assert on_disk(tmp_path) == OLD


def test_of_two_runs_at_once_the_second_waits_and_says_so(tmp_path: Path) -> None:
    """Both looked, both wrote: the folder held some files of each, and both said it was done."""
    replace_files(tmp_path, OLD)
    told, saw = [], threading.Event()

    def waiting(line: str) -> None:
        told.append(line)
        saw.set()

    with sole_writer(tmp_path):
        second = threading.Thread(target=replace_files, args=(tmp_path, NEW, waiting))
        second.start()
        assert saw.wait(30)
        assert on_disk(tmp_path) == OLD
    second.join(30)
    assert on_disk(tmp_path) == NEW
    assert told == [f"{tmp_path}: another run of jiggen is writing there; waiting until it is done"]


def test_the_second_run_makes_the_folder_anew_where_the_first_removed_it(tmp_path: Path) -> None:
    """The first had made it, and was refused: the second waits for a folder that goes away."""
    home, saw = tmp_path / "jigs", threading.Event()
    with sole_writer(home):
        waiting = lambda line: saw.set()  # noqa: E731
        second = threading.Thread(target=replace_files, args=(home, NEW, waiting))
        second.start()
        assert saw.wait(30)
    second.join(30)
    assert on_disk(home) == NEW


def test_the_second_run_never_holds_a_folder_that_was_made_anew_by_a_third(tmp_path: Path) -> None:
    """It waited for a folder that is gone, while a third run writes in the one that is there."""
    home, told, saw = tmp_path / "jigs", [], threading.Semaphore(0)

    def waiting(line: str) -> None:
        told.append(line)
        saw.release()

    home.mkdir()
    with contextlib.ExitStack() as third:
        with sole_writer(home):
            second = threading.Thread(target=replace_files, args=(home, NEW, waiting))
            second.start()
            assert saw.acquire(timeout=30)
            home.rmdir()
            third.enter_context(sole_writer(home))
        assert saw.acquire(timeout=30)
        assert on_disk(home) == {}
    second.join(30)
    assert len(told) == 2
    assert on_disk(home) == NEW


#: Writes a set of files so many times.
IN_TURNS = """
import json, sys
sys.path.insert(0, {root!r})
from jiggen.write.files import replace_files
files = {{name: text.encode("latin-1") for name, text in json.load(sys.stdin).items()}}
for _ in range(int(sys.argv[2])):
    replace_files(sys.argv[1], files)
"""


def test_two_runs_close_together_never_mix_their_sets(tmp_path: Path) -> None:
    """Parts of one went under the names of the other, and the next run refused its own files."""
    home, runs = tmp_path / "jigs", []
    program = IN_TURNS.format(root=str(Path(jiggen.__file__).parents[1]))
    for number, files in enumerate((OLD, NEW)):
        contents = tmp_path / f"{number}.json"
        contents.write_text(json.dumps({n: data.decode("latin-1") for n, data in files.items()}))
        command = [sys.executable, "-c", program, str(home), "60"]
        with contents.open() as given:
            pipe = subprocess.PIPE
            runs.append(subprocess.Popen(command, stdin=given, stdout=pipe, stderr=pipe, text=True))
    for run in runs:
        assert run.communicate(timeout=60) == ("", "")
        assert run.returncode == 0
    assert on_disk(home) in (OLD, NEW)
    replace_files(home, job_files("last"))
    assert on_disk(home) == job_files("last")


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_signal_between_two_renames_waits_until_the_set_is_whole(
    number: signal.Signals, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ended there, SIGTERM left parts behind, and half of each set."""
    replace_files(tmp_path, OLD)
    real, heard = os.replace, []
    before = signal.signal(number, lambda *_: heard.append(on_disk(tmp_path)))

    def replace(source: Any, target: Any) -> None:
        signal.raise_signal(number)
        real(source, target)

    monkeypatch.setattr(os, "replace", replace)
    try:
        replace_files(tmp_path, NEW)
    finally:
        signal.signal(number, before)
    assert heard == [NEW]


def test_a_signal_before_the_first_rename_leaves_all_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a slow stick nobody wants to wait for all of it, nor to find half of it."""
    replace_files(tmp_path, OLD)
    real, written = os.fsync, []

    def fsync(handle: int) -> None:
        written.append(handle)
        if len(written) == 2:
            signal.raise_signal(signal.SIGINT)
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    with pytest.raises(KeyboardInterrupt):
        replace_files(tmp_path, NEW)
    assert len(written) == 2
    assert on_disk(tmp_path) == OLD


def test_a_signal_that_is_ignored_stays_ignored(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A job in the background writes to its end, whatever is pressed in front."""
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    real = os.fsync

    def fsync(handle: int) -> None:
        signal.raise_signal(signal.SIGINT)
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    try:
        replace_files(tmp_path, NEW)
    finally:
        signal.signal(signal.SIGINT, before)
    assert on_disk(tmp_path) == NEW


def test_a_new_file_is_whole_before_a_signal_is_obeyed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A record to sign that ends in the middle opens in no viewer."""
    heard = []
    before = signal.signal(signal.SIGTERM, lambda *_: heard.append(on_disk(tmp_path)))
    real = open

    def opened(*words: Any, **more: Any) -> Any:
        stream = real(*words, **more)
        signal.raise_signal(signal.SIGTERM)
        return stream

    monkeypatch.setattr(module, "open", opened, raising=False)
    try:
        write_new(str(tmp_path / "record.pdf"), b"whole")
    finally:
        signal.signal(signal.SIGTERM, before)
    assert heard == [{"record.pdf": b"whole"}]


def test_a_file_that_the_user_wrote_in_stays_and_ours_goes_beside_it(tmp_path: Path) -> None:
    """The readings form lies among the drawings, and is filled in there."""

    def put_again(text: str) -> str:
        files = job_files(text, ("print.pdf", "form.toml"))
        with sole_writer(tmp_path) as home:
            return put(home, files, keep="form.toml")

    assert put_again("one") == "form.toml"
    assert put_again("two") == "form.toml"
    (tmp_path / "form.toml").write_text("filled in")
    assert put_again("three") == "form-new.toml"
    (tmp_path / "form-new.toml").write_text("filled in, too")
    assert put_again("four") == "form-new-2.toml"
    left = on_disk(tmp_path)
    assert (left["form.toml"], left["form-new.toml"]) == (b"filled in", b"filled in, too")
    listed = {row["file"] for row in json.loads(left["manifest.json"])["files"]}
    assert listed == {"print.pdf", "form-new-2.toml"}
    assert next(names_beside("form.toml")) == "form.toml"


@pytest.mark.parametrize("failing", range(1, 5))
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
        if len(calls) >= 3:
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
    assert (order[-1], len(order)) == ("manifest.json", 4)


def test_files_and_then_their_folders_are_flushed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A rename that is not flushed is undone by a loss of power, for some files of a set."""
    real, flushed = os.fsync, []

    def fsync(handle: int) -> None:
        flushed.append(stat.S_ISDIR(os.fstat(handle).st_mode))
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    replace_files(tmp_path, OLD)
    assert flushed == [False] * 5 + [True] * 2


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
for home, name in [
    (os, "replace"), (os, "fsync"), (os, "open"), (Path, "unlink"), (Path, "mkdir"), (Path, "rmdir")
]:
    setattr(home, name, counted(getattr(home, name)))
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
