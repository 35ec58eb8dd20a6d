"""Replaces a set of drawings whole or not at all, and touches nothing that it does not own.

How a run goes, so that it may be killed at any moment:

1. Every file in the way is looked at. It is ours if the manifest in the folder, or the note of a
   run that was cut short, lists it with the hash that it has now; or if it already is what we are
   about to write. Anything else belongs to the user, and nothing is written.
2. A note (`PENDING`) says which hashes are about to be ours, old and new.
3. The new files are written beside the old ones, under names that start with `PART`, and flushed.
4. Each is renamed over the old one, the manifest last; files that are no longer made are removed.
5. The note is removed.

Killed between any two steps, each file is the old one or the new one, whole, and the next run
finds in the note that both are ours. A step that fails puts back what the earlier ones replaced.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from jiggen.errors import DrawingFileError
from jiggen.write.manifest import MANIFEST, listed_files, sha256
from jiggen.write.numbers import RECORD_FORMAT

#: The note of a run under way; it stays behind only when a run is killed.
PENDING = ".jiggen-pending"

#: How the name of a half-written file starts; such names are ours.
PART = ".jiggen-part-"

_REMEDY = "move it away, or choose another folder with --out"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """What an earlier run left.

    Attributes:
        before: bytes of our own files by path, those that are no longer made among them.
        folders: where half-written files of a run that was killed may lie.
        cut_short: the last run was killed, and its note is still needed to know our own files.
    """

    before: dict[str, bytes]
    folders: frozenset[Path]
    cut_short: bool


def replace_files(folder: str | os.PathLike[str], files: Mapping[str, bytes]) -> None:
    """Put a set of drawings in a folder, in the place of those of an earlier run.

    Args:
        folder: where to; made if it is not there.
        files: bytes by path in the folder, with ``/``; ``manifest.json`` among them lists the
            others, and is how the next run knows its own files.

    Raises:
        DrawingFileError: a file in the way is not ours or was changed since, or the disk refuses;
            what was there is there still.
        ValueError: a path that leads out of the folder, or no manifest.
    """
    _check_paths(files)
    home = Path(folder)
    with _plain_errors(home):
        if home.exists() and not home.is_dir():
            raise DrawingFileError(f"{home}: is a file, not a folder; choose another --out")
        found = _what_is_ours(home, files)
    made: list[Path] = []
    try:
        with _plain_errors(home):
            for parent in sorted({(home / name).parent for name in files} | {home}):
                _make_folder(parent, made)
            _replace(home, files, found)
    except BaseException:
        for parent in reversed(made):
            with contextlib.suppress(OSError):
                parent.rmdir()
        raise


def write_new(path: str, data: bytes) -> str:
    """Write a file that is not there yet, whole or not at all.

    Args:
        path: of the new file.
        data: its bytes.

    Returns:
        The path.

    Raises:
        DrawingFileError: it is there already, or the disk refuses.
    """
    target = Path(path)
    with _plain_errors(target):
        try:
            stream = open(target, "xb")  # noqa: SIM115  closed below, and only what is ours removed
        except FileExistsError:
            raise DrawingFileError(f"{path}: is there already; give another name") from None
        try:
            with stream:
                stream.write(data)
        except BaseException:
            target.unlink(missing_ok=True)
            raise
    return path


def is_users(folder: str | os.PathLike[str], name: str, data: bytes) -> bool:
    """Return whether a file in the folder is the user's: not jiggen's, or edited since.

    Args:
        folder: of the drawings.
        name: of the file in it, with ``/``.
        data: what jiggen is about to write there; the same bytes are nobody's edit.

    Raises:
        DrawingFileError: the folder or the file cannot be read, or is no plain folder or file.
    """
    home = Path(folder)
    with _plain_errors(home):
        if home.exists() and not home.is_dir():
            raise DrawingFileError(f"{home}: is a file, not a folder; choose another --out")
        there = _read(home / name)
        if there is None or there == data:
            return False
        return sha256(there) not in _listed(home).get(name, ())


def _check_paths(files: Mapping[str, bytes]) -> None:
    if MANIFEST not in files:
        raise ValueError(f"a set of drawings needs its {MANIFEST}")
    for name in files:
        parts = PurePosixPath(name).parts
        if not parts or parts[0] == "/" or ".." in parts or "\\" in name or ":" in name:
            raise ValueError(f"{name!r} leads out of the folder")
        if parts[-1].startswith((PART, PENDING)):
            raise ValueError(f"{name!r} is kept for files under way")


def _what_is_ours(home: Path, files: Mapping[str, bytes]) -> _Found:
    """Return our own files that are in the folder, as we left them, or refuse."""
    listed = _listed(home)
    # A manifest that somebody wrote by hand shall not make us delete elsewhere.
    gone = sorted(name for name in listed if name not in files and _is_inside(name))
    before: dict[str, bytes] = {}
    for name in (*files, *gone):
        data = _read(home / name) if name in files else _read_if_file(home / name)
        if data is None:
            continue
        own = name == MANIFEST or sha256(data) in listed.get(name, ())
        if own or data == files.get(name):
            before[name] = data
        elif name in files:
            why = "was changed since jiggen wrote it" if name in listed else "is not jiggen's"
            raise DrawingFileError(f"{home / name}: {why}; {_REMEDY}")
    return _Found(
        before=before,
        folders=frozenset({home, *((home / name).parent for name in (*files, *gone))}),
        cut_short=(home / PENDING).exists(),
    )


def _listed(home: Path) -> dict[str, set[str]]:
    """Return the hashes by path that the manifest and the note of a killed run hold."""
    listed: dict[str, set[str]] = {}
    for note in (MANIFEST, PENDING):
        data = _read(home / note)
        if data is None:
            continue
        rows = listed_files(data)
        if rows is None:
            raise DrawingFileError(f"{home / note}: was not written by jiggen; {_REMEDY}")
        for name, hashes in rows.items():
            listed.setdefault(name, set()).update(hashes)
    return listed


def _is_inside(name: str) -> bool:
    try:
        _check_paths({MANIFEST: b"", name: b""})
    except ValueError:
        return False
    return name != MANIFEST


def _read(path: Path) -> bytes | None:
    if path.is_symlink() or (path.exists() and not path.is_file()):
        raise DrawingFileError(f"{path}: is in the way and is not a plain file; {_REMEDY}")
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except NotADirectoryError:
        raise DrawingFileError(f"{path.parent}: is a file, not a folder; {_REMEDY}") from None


def _read_if_file(path: Path) -> bytes | None:
    return path.read_bytes() if path.is_file() and not path.is_symlink() else None


def _replace(home: Path, files: Mapping[str, bytes], found: _Found) -> None:
    """Write the new files beside the old ones, then put each in its place."""
    changed = [name for name in files if files[name] != found.before.get(name)]
    changed.sort(key=lambda name: name == MANIFEST)
    stale = [name for name in found.before if name not in files]
    if not changed and not stale and not found.cut_short:
        return
    done: list[str] = []
    try:
        _write_part(home / PENDING, _note(files, found.before))
        os.replace(_part(home / PENDING), home / PENDING)
        for name in changed:
            _write_part(home / name, files[name])
        for name in changed:
            # Noted first: an interrupt may come between the rename and the next line.
            done.append(name)
            os.replace(_part(home / name), home / name)
        for name in stale:
            done.append(name)
            (home / name).unlink()
        _flush(found.folders)
    except BaseException:
        _put_back(home, found, done)
        raise
    with contextlib.suppress(OSError):  # a note too many does no harm
        (home / PENDING).unlink()
    _sweep(found.folders)
    for folder in {(home / name).parent for name in stale} - {home}:
        with contextlib.suppress(OSError):  # still in use
            folder.rmdir()


def _put_back(home: Path, found: _Found, done: list[str]) -> None:
    """Undo what was done; where that fails too, the note stays for the next run."""
    keep_note = found.cut_short
    for name in reversed(done):
        target = home / name
        try:
            if name not in found.before:
                target.unlink(missing_ok=True)
            elif _read(target) != found.before[name]:
                _write_part(target, found.before[name])
                os.replace(_part(target), target)
        except OSError:
            keep_note = True
    if not keep_note:
        with contextlib.suppress(OSError):
            (home / PENDING).unlink(missing_ok=True)
    _sweep(found.folders)


def _note(files: Mapping[str, bytes], before: Mapping[str, bytes]) -> bytes:
    both = (*files.items(), *before.items())
    rows = [{"file": name, "sha256": sha256(data)} for name, data in both]
    return json.dumps({"jiggen": RECORD_FORMAT, "files": rows}).encode("ascii")


def _part(path: Path) -> Path:
    return path.with_name(f"{PART}{path.name}")


def _write_part(path: Path, data: bytes) -> None:
    with open(_part(path), "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def _sweep(folders: Iterable[Path]) -> None:
    """Remove half-written files, this run's and those of one that was killed."""
    for folder in folders:
        for part in folder.glob(f"{PART}*"):
            with contextlib.suppress(OSError):
                part.unlink()


def _make_folder(folder: Path, made: list[Path]) -> None:
    missing = [p for p in (folder, *folder.parents) if not p.exists()]
    for parent in reversed(missing):
        parent.mkdir()
        made.append(parent)


def _flush(folders: Iterable[Path]) -> None:
    """Make the renames survive a loss of power, on systems that can flush a folder."""
    for folder in folders:
        try:
            handle = os.open(folder, os.O_RDONLY)
        except OSError:
            continue
        with contextlib.suppress(OSError):
            os.fsync(handle)
        os.close(handle)


@contextlib.contextmanager
def _plain_errors(home: Path) -> Iterator[None]:
    """Say what the disk refused in one line that names the file and the way out."""
    try:
        yield
    except DrawingFileError:
        raise
    except OSError as error:
        place = str(error.filename or home).replace(PART, "")
        remedy = {
            errno.ENOSPC: "make room on the disk, or choose another --out",
            errno.EDQUOT: "make room in your quota, or choose another --out",
            errno.EFBIG: "the disk allows no file of this size; choose another --out",
        }.get(error.errno or 0, "close it elsewhere, allow writing, or choose another --out")
        reason = error.strerror or type(error).__name__
        raise DrawingFileError(f"{place}: cannot be written: {reason}; {remedy}") from error
