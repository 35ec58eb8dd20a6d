"""The file on disk: nothing is overwritten in silence, and what it is stays what it is."""

import os
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from jiggen.page import store as module
from jiggen.page.compare import compare, join
from jiggen.page.store import (
    BEFORE,
    STEPS_MOST,
    CannotSave,
    Changed,
    Store,
    WrittenMeanwhile,
)

TEXT = 'name = "a"\n[wedge]\ndepth = 24.0 # mm\n'


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return a file on disk."""
    path = tmp_path / "job.toml"
    path.write_text(TEXT, "utf-8")
    return path


def test_a_saved_text_is_in_the_file_and_the_old_one_beside_it(job: Path) -> None:
    """What was there before can be had again without this program."""
    store = Store(job)
    kept = store.read()
    now = store.save(TEXT.replace("24.0", "25.50"), kept.stamp)
    assert job.read_text() == TEXT.replace("24.0", "25.50") == now.text
    assert now.stamp != kept.stamp
    assert (job.parent / f"{BEFORE}job.toml").read_text() == TEXT
    assert sorted(p.name for p in job.parent.iterdir()) == [f"{BEFORE}job.toml", "job.toml"]


def test_an_old_stamp_writes_nothing(job: Path) -> None:
    """An editor's change must never be lost to a page that did not know of it."""
    store = Store(job)
    stamp = store.read().stamp
    job.write_text(TEXT.replace('"a"', '"editor"'))
    with pytest.raises(Changed):
        store.save("x = 1\n", stamp)
    assert job.read_text() == TEXT.replace('"a"', '"editor"')
    assert os.listdir(job.parent) == ["job.toml"]
    assert store.text_of(stamp) == TEXT


def written_in_place(job: Path) -> None:
    """Write as an editor does that keeps the file."""
    with job.open("r+b") as stream:
        stream.write(b"editor = 1")


def written_by_rename(job: Path) -> None:
    """Write as an editor does that makes a new file."""
    other = job.with_name("other")
    other.write_bytes(b"editor = 1")
    os.rename(other, job)


@pytest.mark.parametrize("editor", [written_in_place, written_by_rename])
def test_an_editor_that_writes_before_the_rename_is_found(
    job: Path, monkeypatch: pytest.MonkeyPatch, editor: Callable[[Path], None]
) -> None:
    """The stamp was right a moment ago."""
    store = Store(job)
    stamp, write = store.read().stamp, store._write_part

    def write_part(part: Path, data: bytes, place: Path) -> None:
        write(part, data, place)
        editor(job)

    monkeypatch.setattr(store, "_write_part", write_part)
    with pytest.raises(Changed):
        store.save("x = 1\n", stamp)
    assert job.read_bytes().startswith(b"editor = 1")
    assert not list(job.parent.glob(".jiggen-part*"))


def test_an_editor_that_writes_into_the_old_file_is_told_where_it_stands(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It had the file open when it was replaced; what it wrote is in the linked one."""
    store, real = Store(job), os.replace
    stamp = store.read().stamp
    with job.open("r+b") as held:

        def replace(part: Path, place: Path) -> None:
            real(part, place)
            held.write(b"editor = 1")
            held.flush()

        monkeypatch.setattr(module.os, "replace", replace)
        with pytest.raises(WrittenMeanwhile, match=BEFORE):
            store.save("x = 1\n", stamp)
    assert (job.parent / f"{BEFORE}job.toml").read_bytes().startswith(b"editor = 1")
    assert job.read_text() == "x = 1\n"


def test_undo_goes_back_one_saved_text_at_a_time(job: Path) -> None:
    """Fifty steps, and then no further."""
    store = Store(job)
    assert not store.can_undo
    for n in range(STEPS_MOST + 5):
        store.save(f"n = {n}\n", store.read().stamp)
    for n in range(STEPS_MOST + 3, 3, -1):
        assert store.undo(store.read().stamp).text == f"n = {n}\n"
    assert not store.can_undo
    with pytest.raises(Changed):
        store.undo(store.read().stamp)


def test_undo_leaves_an_editors_change_alone(job: Path) -> None:
    """Going back must not go back over somebody else's work."""
    store = Store(job)
    store.save("x = 1\n", store.read().stamp)
    job.write_text("x = 2\n")
    with pytest.raises(Changed):
        store.undo(store.read().stamp)
    assert job.read_text() == "x = 2\n"


@pytest.mark.parametrize("bom", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_mark_line_ends_and_mode_stay(job: Path, bom: bytes, newline: str) -> None:
    """Another system's file stays another system's file."""
    job.write_bytes(bom + TEXT.replace("\n", newline).encode())
    job.chmod(0o640)
    store = Store(job)
    kept = store.read()
    assert kept.newline == newline
    store.save(kept.with_ends(TEXT.replace("24.0", "25").replace("\n", "\r\n")), kept.stamp)
    assert job.read_bytes() == bom + TEXT.replace("24.0", "25").replace("\n", newline).encode()
    assert stat.S_IMODE(job.stat().st_mode) == 0o640
    store.undo(store.read().stamp)
    assert job.read_bytes() == bom + TEXT.replace("\n", newline).encode()


def test_a_link_stays_a_link_and_the_file_behind_it_is_written(job: Path, tmp_path: Path) -> None:
    """A folder that is shared by links must not fall apart."""
    folder = tmp_path / "desk"
    folder.mkdir()
    link = folder / "mine.toml"
    link.symlink_to(job)
    store = Store(link)
    store.save("x = 1\n", store.read().stamp)
    assert link.is_symlink()
    assert job.read_text() == "x = 1\n"
    assert os.listdir(folder) == ["mine.toml"]


def test_a_read_only_file_is_told_and_not_replaced(job: Path) -> None:
    """A rename would go through where a write would not."""
    job.chmod(0o444)
    store = Store(job)
    kept = store.read()
    assert kept.read_only
    with pytest.raises(CannotSave, match="read-only"):
        store.save("x = 1\n", kept.stamp)
    assert job.read_text() == TEXT
    assert os.listdir(job.parent) == ["job.toml"]


def test_a_file_that_is_not_there_yet_begins_as_its_blank(tmp_path: Path) -> None:
    """Nothing is written before the first Save; undoing it leaves no file."""
    store = Store(tmp_path / "new.toml", blank="x = 0\n")
    kept = store.read()
    assert (kept.text, kept.stamp) == ("x = 0\n", "")
    assert os.listdir(tmp_path) == []
    store.save("x = 1\n", "")
    assert (tmp_path / "new.toml").read_text() == "x = 1\n"
    with pytest.raises(Changed):
        store.save("x = 2\n", "")
    assert store.undo(store.read().stamp).stamp == ""
    assert not (tmp_path / "new.toml").exists()


def test_a_disk_that_refuses_leaves_the_file_as_it_was(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk costs the change, not the job."""
    store = Store(job)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(module.os, "fsync", full)
    with pytest.raises(CannotSave, match="No space left"):
        store.save("x = 1\n", store.read().stamp)
    assert job.read_text() == TEXT
    assert sorted(os.listdir(job.parent)) == [f"{BEFORE}job.toml", "job.toml"]


@pytest.mark.parametrize("data", [b"\xff\xfe", b"#" * 300_000])
def test_a_file_that_cannot_be_shown_is_told(job: Path, data: bytes) -> None:
    """One line, not a page of signs."""
    job.write_bytes(data)
    with pytest.raises(CannotSave, match=r"job\.toml"):
        Store(job).read()


WAS = "a = 1\nb = 2.0\nc = 3\n[[t]]\nx = 1\n"


def test_what_only_one_side_changed_is_joined_and_the_rest_is_asked() -> None:
    """Two people at one file: nobody's change goes without a word."""
    yours = WAS.replace("a = 1", "a = 10").replace("c = 3", "c = 30")
    theirs = WAS.replace("b = 2.0", "b = 2.50 # finer").replace("c = 3", "c = 33")
    found = compare(WAS, yours, theirs)
    assert found.can_join
    assert [(row.key, row.is_asked) for row in found.rows] == [
        *(("a", False), ("b", False), ("c", True))
    ]
    with pytest.raises(KeyError):
        join(theirs, found.rows, {})
    assert join(theirs, found.rows, {"c": "theirs"}) == theirs.replace("a = 1", "a = 10")
    mine = join(theirs, found.rows, {"c": "yours"})
    assert mine == theirs.replace("a = 1", "a = 10").replace("c = 33", "c = 30")


def test_the_same_change_on_both_sides_is_no_question() -> None:
    """It would only teach people to click questions away."""
    both = WAS.replace("c = 3", "c = 4")
    assert compare(WAS, both, both).rows == ()


def test_where_the_beginning_is_forgotten_all_that_differs_is_asked() -> None:
    """Without it nobody knows who changed what."""
    found = compare(None, WAS, WAS.replace("c = 3", "c = 4"))
    assert [(row.key, row.is_asked) for row in found.rows] == [("c", True)]


@pytest.mark.parametrize("theirs", [f"{WAS}[[t]]\nx = 2\n", "a = = 1"])
def test_stations_that_came_or_went_are_not_joined_by_number(theirs: str) -> None:
    """Station 2 may be another station by now; a broken file has no keys at all."""
    assert not compare(WAS, WAS.replace("a = 1", "a = 2"), theirs).can_join


def test_a_list_is_one_value_when_sides_are_compared() -> None:
    """Joined item by item two lists of holes would make a third one."""
    was = "k = [1, 2]\nd = { e = [1, 2], f = 1 }\n"
    found = compare(was, was.replace("[1, 2]", "[1, 3]"), was)
    assert [row.key for row in found.rows] == ["k", "d.e"]
    assert join(was, found.rows, {}) == was.replace("[1, 2]", "[1, 3]")
