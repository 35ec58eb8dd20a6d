"""The folder of a job's drawings: what is put there, and what is found there again.

The form for the readings lies among the drawings, and is the only file there that the user writes
in. One that was filled in is never replaced nor removed: the next blank goes beside it, under a
name of its own.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from jiggen.errors import DrawingFileError
from jiggen.geometry.distortion import Distortion
from jiggen.record import read_record
from jiggen.write.files import is_users, replace_files
from jiggen.write.manifest import MANIFEST, listed_files, relisted, sha256

FORM = "readings.toml"
"""The form's own name, in the folder of the drawings."""

MOST_FORMS = 1000
"""Names that are tried for a form; nobody keeps so many."""

SAME_SCALE, SAME_SKEW = 2e-6, math.radians(2e-4)
"""Corrections that differ by less were read off the same lines of a job file."""


def form_names() -> Iterator[str]:
    """Yield the names of forms, the usual one first."""
    yield FORM
    stem = FORM.removesuffix(".toml")
    yield f"{stem}-new.toml"
    for number in range(2, MOST_FORMS):
        yield f"{stem}-new-{number}.toml"


def put_drawings(folder: str, files: Mapping[str, bytes]) -> str:
    """Put a set of drawings in a folder; a form that was filled in there stays as it is.

    Args:
        folder: where to; made if it is not there.
        files: bytes by path, the blank form and the manifest among them.

    Returns:
        The name under which the blank form was put there; empty if there is none.

    Raises:
        DrawingFileError: as `replace_files`.
    """
    form = files.get(FORM)
    if form is None:
        replace_files(folder, files)
        return ""
    name = next(name for name in form_names() if not is_users(folder, name, form))
    if name != FORM:
        rest = {path: data for path, data in files.items() if path not in (FORM, MANIFEST)}
        manifest = relisted(files[MANIFEST], add={name: form}, drop=(FORM,))
        files = {**rest, name: form, MANIFEST: manifest}
    replace_files(folder, files)
    return name


def what_to_fill_in(form: str, job: str) -> str:
    """Say where the readings go.

    Args:
        form: the name under which the blank form was put in the folder.
        job: the job file, as the user gave it.
    """
    kept = "" if form == FORM else f"{FORM} was filled in and stays as it is: the blank is {form}. "
    return f"{kept}Write what you read into {form}, or give it as options, to jiggen verify {job}."


def drawings_in(folder: str) -> dict[str, Any] | None:
    """Return the manifest of the drawings in a folder; None where there is none.

    Args:
        folder: of the drawings.

    Raises:
        DrawingFileError: it cannot be read, or is not what jiggen writes.
    """
    path = Path(folder) / MANIFEST
    try:
        data = path.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise DrawingFileError(f"{path}: cannot be read: {error.strerror}") from error
    if listed_files(data) is None:
        raise DrawingFileError(f"{path}: was not written by jiggen; give another folder with --out")
    manifest: dict[str, Any] = json.loads(data)
    try:
        read_record(manifest)
    except (KeyError, TypeError, ValueError, IndexError, AttributeError):
        raise DrawingFileError(f"{path}: is damaged; run jiggen make again") from None
    return manifest


def reprint_in(folder: str) -> Distortion | None:
    """Return what the page in a folder was printed again for; None where it never was.

    Args:
        folder: of the drawings. What jiggen did not write there is no reprint.
    """
    try:
        manifest = drawings_in(folder)
    except DrawingFileError:
        return None
    if manifest is None or not manifest.get("corrected_by"):
        return None
    return read_record(manifest).made_for


def print_lines(made: Distortion) -> tuple[str, ...]:
    """Return the lines of the job file that correct the next print."""
    return (
        "[print]",
        f"scale_x = {made.scale_x:.6f}",
        f"scale_y = {made.scale_y:.6f}",
        f"skew = {math.degrees(made.skew):z.4f}",
    )


def correction_lost(before: Distortion | None, folder: str) -> tuple[str, ...]:
    """Return what to say where a new set of drawings drops the correction of a reprint.

    Args:
        before: of `reprint_in`, from before the new drawings were put there.
        folder: of the drawings.

    Returns:
        Sentences and lines for the job file; empty where nothing was lost.
    """
    manifest = drawings_in(folder)
    if before is None or manifest is None:
        return ()
    now = read_record(manifest).made_for
    page = any(row["format"] == "pdf" for row in manifest["files"])
    if page and _is_same(before, now):
        return ()
    drawn = "uncorrected again" if _is_same(now, Distortion()) else "corrected as the job says"
    what = f"print.pdf is {drawn}" if page else "print.pdf is gone from the folder"
    return (
        f"The page that lay here was a reprint, corrected for your printer; now {what}. To have "
        "the correction of the reprint, put these lines into the job file and run jiggen make "
        "again; then it stays.",
        *print_lines(before),
    )


def _is_same(one: Distortion, other: Distortion) -> bool:
    return (
        abs(one.scale_x - other.scale_x) <= SAME_SCALE
        and abs(one.scale_y - other.scale_y) <= SAME_SCALE
        and abs(one.skew - other.skew) <= SAME_SKEW
    )


def filled_in(folder: str, manifest: Mapping[str, Any]) -> list[str]:
    """Return the paths of the forms in a folder that somebody wrote in, the usual name first.

    Args:
        folder: of the drawings.
        manifest: of them; a form that it lists by its hash is blank.
    """
    blanks = {row["sha256"] for row in manifest["files"]}
    found = []
    for name in form_names():
        path = Path(folder, name)
        try:
            if sha256(path.read_bytes()) not in blanks:
                found.append(str(path))
        except FileNotFoundError:
            if name != FORM:
                break
        except OSError:
            found.append(str(path))  # reading it will say what is wrong
    return found
