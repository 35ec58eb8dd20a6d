"""The folder of a job's drawings: what is put there, and what is found there again.

The form for the readings lies among the drawings, and is the only file there that the user writes
in. One that was filled in is never replaced nor removed: the next blank goes beside it, under a
name of its own.
"""

from __future__ import annotations

import json
import math
import unicodedata
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from jiggen.errors import DrawingFileError
from jiggen.geometry.distortion import Distortion
from jiggen.limits import TooMuch, json_value, plain_bytes
from jiggen.proof.record import read_record
from jiggen.write.files import names_beside, put, sole_writer
from jiggen.write.manifest import MANIFEST, listed_files, sha256

FORM = "readings.toml"  # the form's own name, in the folder of the drawings

LONGEST_NAME = 60
"""Characters of a folder's name: of four bytes each they stay below what file systems bear."""

MANIFEST_MOST = 50_000_000  # a manifest or a form is never so large (bytes)

SAME_SCALE, SAME_SKEW = 2e-6, math.radians(2e-4)
"""Corrections that differ by less were read off the same lines of a job file."""


def folder_of(job: str) -> str:
    """Return the name of the folder that a job's drawings go to, if no other is asked for.

    Its letters and digits of every script in lower case, hyphens between them, and ``-jigs``. A
    long name is cut, and told from others that begin alike by a mark of the whole of it.
    """
    plain = unicodedata.normalize("NFC", job.lower())
    # Letters, the marks that belong to them, and digits.
    kept = "".join(char if unicodedata.category(char)[0] in "LMN" else " " for char in plain)
    name = "-".join(kept.split()) or "job"
    if len(name) > LONGEST_NAME:
        name = f"{name[: LONGEST_NAME - 9].rstrip('-')}-{sha256(job.encode('utf-8'))[:8]}"
    return f"{name}-jigs"


def put_drawings(
    folder: str, files: Mapping[str, bytes], waiting: Callable[[str], None] | None = None
) -> tuple[str, tuple[str, ...]]:
    """Put a new set of drawings in a folder; a form that was filled in there stays as it is.

    Args:
        folder: where to; made if it is not there.
        files: bytes by path, the blank form and the manifest among them.
        waiting: as in `replace_files`.

    Returns:
        The name under which the blank form was put there, empty if there is none; and what to say
        where the correction of a reprint that lay there was dropped.

    Raises:
        DrawingFileError: as `replace_files`.
    """
    with sole_writer(folder, waiting) as home:
        before = _reprint_in(folder)
        form = put(home, files, keep=FORM)
    return form, _correction_lost(before, json.loads(files[MANIFEST]))


def drawings_in(folder: str) -> dict[str, Any] | None:
    """Return the manifest of the drawings in a folder; None where there is none.

    Raises:
        DrawingFileError: it cannot be read, or is not what jiggen writes.
    """
    path = Path(folder) / MANIFEST
    try:
        data = plain_bytes(path, MANIFEST_MOST, "a manifest")
        manifest: dict[str, Any] = json_value(data)
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise DrawingFileError(f"{path}: cannot be read: {error.strerror}") from error
    except TooMuch as beyond:
        raise DrawingFileError(f"{path}: {beyond.problem}; run jiggen make again") from None
    except ValueError:
        manifest, data = {}, b""
    if listed_files(data) is None:
        raise DrawingFileError(f"{path}: was not written by jiggen; give another folder with --out")
    try:
        read_record(manifest)
    except (KeyError, TypeError, ValueError, IndexError, AttributeError):
        raise DrawingFileError(f"{path}: is damaged; run jiggen make again") from None
    return manifest


def _reprint_in(folder: str) -> Distortion | None:
    """Return what the page in a folder was printed again for; None where it never was."""
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


def _correction_lost(before: Distortion | None, manifest: Mapping[str, Any]) -> tuple[str, ...]:
    """Return what to say, lines for the job file too, where new drawings drop a correction."""
    if before is None:
        return ()
    now = read_record(manifest).made_for
    page = any(row["format"] == "pdf" for row in manifest["files"])
    if page and _is_same(before, now):
        return ()
    drawn = "uncorrected again" if _is_same(now, Distortion()) else "corrected as the job says"
    what = f"print.pdf is {drawn}" if page else "print.pdf is gone from the folder"
    table, *keys = print_lines(before)
    return (
        f"A reprint corrected for your printer lay here; now {what}. To keep that correction, put "
        f"under {table} in the job file: {'; '.join(keys)}.",
    )


def _is_same(one: Distortion, other: Distortion) -> bool:
    return (
        abs(one.scale_x - other.scale_x) <= SAME_SCALE
        and abs(one.scale_y - other.scale_y) <= SAME_SCALE
        and abs(one.skew - other.skew) <= SAME_SKEW
    )


def filled_in(
    folder: str, manifest: Mapping[str, Any], typed: Mapping[str, str] | None = None
) -> list[str]:
    """Return the paths of the forms in a folder that somebody wrote in, the usual name first.

    A form that the manifest lists by its hash is blank. `typed` texts, by path, count in the place
    of what the files hold.
    """
    texts = typed or {}
    blanks = {row["sha256"] for row in manifest["files"]}
    found = []
    for name in names_beside(FORM):
        path = Path(folder, name)
        try:
            text = texts.get(str(path))
            data = plain_bytes(path, MANIFEST_MOST, "a form") if text is None else text.encode()
            if sha256(data) not in blanks:
                found.append(str(path))
        except FileNotFoundError:
            if name != FORM:
                break
        except (OSError, TooMuch):
            found.append(str(path))  # reading it will say what is wrong
    return found
