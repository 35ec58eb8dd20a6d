"""Replaces a set of drawings whole or not at all, and touches nothing that it does not own.

How a run goes, so that it may be killed at any moment:

1. The folder is held against other runs: the second of two waits.
2. Every file in the way is looked at. It is ours if the manifest in the folder, or the note of a
   run that was cut short, lists it with the hash that it has now; or if it already is what we are
   about to write. Anything else belongs to the user, and nothing is written.
3. A line of a note (`PENDING`) says which hashes are about to be ours, old and new, and what the
   parts are called.
4. The parts, which are the new files under random names, are written beside the old ones, never
   over a file nor through a link, and flushed.
5. Each is renamed over the old one, the manifest last; files that are no longer made are removed.
6. The note is removed.

Killed between any two steps, each file is the old one or the new one, whole, and the next run
finds in the note that both are ours, and which parts to sweep. A step that fails, or a signal
before step 5, puts back what was there; a signal after that waits until the set is whole.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import secrets
import signal
import threading
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from pathlib import Path, PurePosixPath

from msgspec import Struct

from jiggen.errors import DrawingFileError
from jiggen.write.manifest import MANIFEST, job_in, listed_files, relisted, sha256
from jiggen.write.numbers import RECORD_FORMAT

try:
    import fcntl
except ImportError:  # Windows: two runs at once are not kept apart there
    fcntl = None  # type: ignore[assignment]

#: The note of a run under way; it stays behind only when a run is killed.
PENDING = ".jiggen-pending"

PART = ".jiggen-part-"  # how the names of parts start, those of half-written files
MOST_NAMES = 1000  # names that are tried for a file that the user writes in; nobody keeps so many

_REMEDY = "move it away, or choose another folder with --out"

_NOTE_HEAD = b'{"jiggen": %d, ' % RECORD_FORMAT  # how each line of a note begins

#: Signals that stop a process; not every system has the last.
_STOPS = [
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
]


class _Found(Struct, frozen=True, kw_only=True):
    """What earlier runs left."""

    listed: Mapping[str, set[str]]  # by path, of manifest and note: a file of such a hash is ours
    parts: tuple[str, ...]  # paths of half-written files of runs that were killed
    cut_short: bool  # the last run was killed, and its note is still needed to know our own files


def replace_files(
    folder: str | os.PathLike[str],
    files: Mapping[str, bytes],
    waiting: Callable[[str], None] | None = None,
) -> None:
    """Put a set of drawings in a folder, in the place of those of an earlier run.

    Args:
        folder: where to; made if it is not there.
        files: bytes by path in the folder, with ``/``; ``manifest.json`` among them lists the
            others, and is how the next run knows its own files.
        waiting: told a sentence where another run writes there, which is waited for.

    Raises:
        DrawingFileError: a file in the way is not ours or was changed since, the drawings there
            are another job's, or the disk refuses; what was there is there still.
        KeyboardInterrupt: a signal came in time; what was there is there still.
        ValueError: a path that leads out of the folder, or no manifest.
    """
    with sole_writer(folder, waiting) as home:
        put(home, files)


@contextlib.contextmanager
def sole_writer(
    folder: str | os.PathLike[str], waiting: Callable[[str], None] | None = None
) -> Iterator[Path]:
    """Hold a folder against other runs that would write there, while it is read and written.

    Args:
        folder: to hold; made if it is not there, and removed again if nothing is put there.
        waiting: told a sentence where another run holds it, which is waited for.

    Raises:
        DrawingFileError: it is a file, or the disk refuses.
    """
    home = Path(folder)
    made: list[Path] = []
    with _plain_errors(home):
        if home.exists() and not home.is_dir():
            raise DrawingFileError(f"{home}: is a file, not a folder; choose another --out")
        handle = _hold(home, made, waiting or (lambda said: None))
    try:
        yield home
    finally:
        _remove_empty(made)
        if handle is not None:
            os.close(handle)


def _hold(home: Path, made: list[Path], waiting: Callable[[str], None]) -> int | None:
    """Make a folder and lock it; return the handle whose closing frees it."""
    if fcntl is None:
        _make_folder(home, made)
        return None
    while True:
        _make_folder(home, made)
        try:
            handle = os.open(home, os.O_RDONLY)
        except FileNotFoundError:
            if home.is_symlink():  # it leads nowhere
                raise
            continue
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            waiting(f"{home}: another run of jiggen is writing there; waiting until it is done")
            fcntl.flock(handle, fcntl.LOCK_EX)
        except OSError:  # a network folder that knows no locks
            return handle
        if home.exists() and os.path.samestat(os.fstat(handle), os.stat(home)):
            return handle
        os.close(handle)  # the other run had nothing to put there, and removed it


def put(home: Path, files: Mapping[str, bytes], keep: str = "") -> str:
    """Put a set of drawings in a folder that is held, see `sole_writer` and `replace_files`.

    Args:
        home: the folder.
        files: bytes by path, the manifest among them.
        keep: a file among them that the user writes in. One that was changed stays, and ours goes
            beside it under the next of `names_beside`.

    Returns:
        The name under which `keep` was put there; empty where it is not among the files.
    """
    _check_paths(files)
    with _undisturbed() as stopped, _plain_errors(home):
        found = _find(home, files)
        name = keep if keep in files else ""
        if name:
            blank = files[keep]
            name = next(
                one
                for one in names_beside(keep)
                if not _is_users(_read(home / one), blank, found.listed.get(one, ()))
            )
            if name != keep:
                manifest = relisted(files[MANIFEST], add={name: blank}, drop={keep})
                rest = {path: files[path] for path in files if path not in (keep, MANIFEST)}
                files = {**rest, name: blank, MANIFEST: manifest}
        _replace(home, files, found, stopped)
    return name


def names_beside(name: str) -> Iterator[str]:
    """Yield a file's name, then ``NAME-new``, ``NAME-new-2`` and so on, each with its suffix."""
    yield name
    stem, dot, suffix = name.rpartition(".")
    yield f"{stem}-new{dot}{suffix}"
    for number in range(2, MOST_NAMES):
        yield f"{stem}-new-{number}{dot}{suffix}"


def write_new(path: str, data: bytes) -> str:
    """Write a file that is not there yet, whole or not at all; return its path.

    Raises:
        DrawingFileError: it is there already, or the disk refuses.
    """
    write_all_new({Path(path): data})
    return path


def write_all_new(contents: Mapping[Path, bytes]) -> None:
    """Write files that are not there yet, all of them or none.

    Raises:
        DrawingFileError: one is there already, or the disk refuses.
    """
    written: list[Path] = []
    with _undisturbed():
        try:
            for path, data in contents.items():
                with _plain_errors(path):
                    try:
                        _write_whole(path, data)
                    except FileExistsError:
                        said = f"{path}: is there already; give another name"
                        raise DrawingFileError(said) from None
                written.append(path)
        except BaseException:
            for path in written:
                path.unlink()
            raise


def _write_whole(path: Path, data: bytes) -> None:
    """Write a file that is not there, and flush it; where that fails it is not there either."""
    # "x" never opens what is there already, be it a link.
    stream = open(path, "xb")  # noqa: SIM115  closed below, and only what is ours removed
    try:
        with stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
    except BaseException:
        path.unlink()
        raise


@contextlib.contextmanager
def _undisturbed() -> Iterator[list[int]]:
    """Hold back what would stop the process; yield what came, the first of which is obeyed last."""
    came: list[int] = []
    held = {}
    if threading.current_thread() is threading.main_thread():  # no other hears a signal
        for number in _STOPS:
            if (handler := signal.getsignal(number)) not in (signal.SIG_IGN, None):
                held[number] = handler
                signal.signal(number, lambda number, _frame: came.append(number))
    try:
        yield came
    finally:
        for number, handler in held.items():
            signal.signal(number, handler)
        for number in came[:1]:
            signal.raise_signal(number)


def _check_paths(files: Mapping[str, bytes]) -> None:
    if MANIFEST not in files:
        raise ValueError(f"a set of drawings needs its {MANIFEST}")
    for name in files:
        if _leads_out(name):
            raise ValueError(f"{name!r} leads out of the folder")
        if _is_under_way(name):
            raise ValueError(f"{name!r} is kept for files under way")


def _leads_out(name: str) -> bool:
    parts = PurePosixPath(name).parts
    return not parts or parts[0] == "/" or ".." in parts or "\\" in name or ":" in name


def _is_under_way(name: str) -> bool:
    return PurePosixPath(name).name.startswith((PART, PENDING))


def _find(home: Path, files: Mapping[str, bytes]) -> _Found:
    """Return what earlier runs left, or refuse a folder of another program or another job."""
    manifest, note = _read(home / MANIFEST), _read(home / PENDING)
    lines = [line for line in (note or b"").split(b"\n") if line]
    if manifest is not None and listed_files(manifest) is None:
        raise DrawingFileError(f"{home / MANIFEST}: was not written by jiggen; {_REMEDY}")
    if not all(_NOTE_HEAD.startswith(line[: len(_NOTE_HEAD)]) for line in lines):
        raise DrawingFileError(f"{home / PENDING}: was not written by jiggen; {_REMEDY}")
    theirs, ours = job_in(manifest or b""), job_in(files[MANIFEST])
    if theirs and ours and theirs != ours:
        raise DrawingFileError(
            f'{home}: holds the drawings of another job, "{theirs}"; choose another folder with '
            "--out, or move this one away if the job was only given another name"
        )
    listed = dict(listed_files(manifest or b"") or {})
    parts = []
    for line in lines:
        # A line that was cut short says nothing: nothing was written after it.
        for name, hashes in (listed_files(line) or {}).items():
            listed[name] = listed.get(name, set()) | hashes
            parts += [name] if PurePosixPath(name).name.startswith(PART) else []
    return _Found(listed=listed, parts=tuple(parts), cut_short=note is not None)


def _is_users(there: bytes | None, data: bytes, ours: Collection[str]) -> bool:
    """Return whether what is there is the user's: not ours, or edited since, and not `data`."""
    return not (there is None or there == data or sha256(there) in ours)


def _before(home: Path, files: Mapping[str, bytes], found: _Found) -> dict[str, bytes]:
    """Return our own files that are in the folder, by path, or refuse what is in the way."""
    before: dict[str, bytes] = {}
    for name, data in files.items():
        if (link := _link_above(home, name)) is not None:
            raise DrawingFileError(f"{link}: is a link, not a folder; {_REMEDY}")
        there = _read(home / name)
        if name != MANIFEST and _is_users(there, data, found.listed.get(name, ())):
            changed = name in found.listed
            why = "was changed since jiggen wrote it" if changed else "is not jiggen's"
            raise DrawingFileError(f"{home / name}: {why}; {_REMEDY}")
        if there is not None:
            before[name] = there
    for name in sorted(found.listed.keys() - files.keys()):
        # A manifest that somebody wrote by hand shall not make us delete elsewhere.
        if name == MANIFEST or _leads_out(name) or _is_under_way(name) or _link_above(home, name):
            continue
        if (home / name).is_file() and not (home / name).is_symlink():
            data = (home / name).read_bytes()
            if sha256(data) in found.listed[name]:
                before[name] = data
    return before


def _link_above(home: Path, name: str) -> Path | None:
    """Return the link among the folders that lead to a file, or None."""
    above = [home / folder for folder in PurePosixPath(name).parents[:-1]]
    return next((folder for folder in above if folder.is_symlink()), None)


def _read(path: Path) -> bytes | None:
    with _plain_errors(path):
        if path.is_symlink() or (path.exists() and not path.is_file()):
            raise DrawingFileError(f"{path}: is in the way and is not a plain file; {_REMEDY}")
        try:
            return path.read_bytes()
        except FileNotFoundError:
            return None
        except NotADirectoryError:
            raise DrawingFileError(f"{path.parent}: is a file, not a folder; {_REMEDY}") from None


def _replace(home: Path, files: Mapping[str, bytes], found: _Found, stopped: Sequence[int]) -> None:
    """Write the new files beside the old ones, then put each in its place."""
    before = _before(home, files, found)
    changed = [name for name in files if files[name] != before.get(name)]
    changed.sort(key=lambda name: name == MANIFEST)
    stale = [name for name in before if name not in files]
    if not changed and not stale and not found.cut_short:
        return
    parts = {
        name: str(PurePosixPath(name).with_name(PART + secrets.token_hex(8)))
        for name in (*changed, *stale)  # a removed file may have to be put back
    }
    made: list[Path] = []
    written: list[str] = []
    done: list[str] = []
    try:
        _add_to_note(home, (*files.items(), *before.items(), *((p, b"") for p in parts.values())))
        for name in changed:
            if stopped:
                raise KeyboardInterrupt
            _make_folder((home / name).parent, made)
            with _plain_errors(home / name):
                _write_whole(home / parts[name], files[name])
            written.append(parts[name])
        for name in changed:
            with _plain_errors(home / name):
                os.replace(home / parts[name], home / name)
            done.append(name)
        for name in stale:
            with _plain_errors(home / name):
                (home / name).unlink()
            done.append(name)
    except BaseException:
        keep_note = not _put_back(home, before, parts, done) or found.cut_short
        _tidy(home, (*found.parts, *written), made, keep_note=keep_note)
        raise
    folders = [(home / name).parent for name in stale]
    _flush({home, *((home / name).parent for name in files)})
    _tidy(home, found.parts, [folder for folder in folders if folder != home])


def _add_to_note(home: Path, files: Iterable[tuple[str, bytes]]) -> None:
    """Say in the note what is about to be ours; what it says of a killed run stays."""
    rows = [{"file": name, "sha256": sha256(data)} for name, data in files]
    line = json.dumps({"jiggen": RECORD_FORMAT, "files": rows}).encode("ascii")
    flags = os.O_WRONLY | os.O_APPEND | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)
    with _plain_errors(home / PENDING), open(os.open(home / PENDING, flags, 0o666), "wb") as note:
        # The line before may have been cut short.
        note.write(b"\n" + line + b"\n")
        note.flush()
        os.fsync(note.fileno())


def _put_back(
    home: Path, before: Mapping[str, bytes], parts: Mapping[str, str], done: Sequence[str]
) -> bool:
    """Undo what was done; return whether all of it could be undone."""
    whole = True
    for name in reversed(done):
        try:
            if name in before:  # a part that stays behind here is swept by the next run
                _write_whole(home / parts[name], before[name])
                os.replace(home / parts[name], home / name)
            else:
                (home / name).unlink()
        except OSError:
            whole = False
    return whole


def _tidy(
    home: Path, parts: Iterable[str], folders: Sequence[Path], *, keep_note: bool = False
) -> None:
    """Sweep half-written files, folders that are empty, and then the note that tells of them."""
    for part in parts:
        if not _leads_out(part) and _link_above(home, part) is None:
            with contextlib.suppress(OSError):
                (home / part).unlink()
    _remove_empty(folders)
    if not keep_note:
        with contextlib.suppress(OSError):  # a note too many does no harm
            (home / PENDING).unlink()


def _remove_empty(folders: Sequence[Path]) -> None:
    for folder in reversed(folders):
        with contextlib.suppress(OSError):  # still in use
            folder.rmdir()


def _make_folder(folder: Path, made: list[Path]) -> None:
    missing = [p for p in (folder, *folder.parents) if not p.exists()]
    for parent in reversed(missing):
        with _plain_errors(parent), contextlib.suppress(FileExistsError):
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
def _plain_errors(place: Path) -> Iterator[None]:
    """Say what the disk refused in one line that names the file and the way out."""
    try:
        yield
    except DrawingFileError:
        raise
    except OSError as error:
        remedy = {
            errno.ENOSPC: "make room on the disk, or choose another --out",
            errno.EDQUOT: "make room in your quota, or choose another --out",
            errno.EFBIG: "the disk allows no file of this size; choose another --out",
        }.get(error.errno or 0, "close it elsewhere, allow writing, or choose another --out")
        reason = error.strerror or type(error).__name__
        raise DrawingFileError(f"{place}: cannot be written: {reason}; {remedy}") from error
