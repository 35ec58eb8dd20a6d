"""The folder of a job's drawings: what is put there, and what is found there again.

The form for the readings lies among the drawings, and is the only file there that the user writes
in. One that was filled in is never replaced nor removed: the next blank goes beside it, under a
name of its own. Each form says which print it belongs to, so that what was measured on an earlier
print is never taken for a reading of the one that lies there now.
"""

from __future__ import annotations

import json
import math
import os
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jiggen.errors import DrawingFileError
from jiggen.geometry.distortion import Distortion, undone_by
from jiggen.readings.names import FORM, earlier_prints, print_mark
from jiggen.verify.records import recorded_sheets
from jiggen.write.files import is_users, replace_files
from jiggen.write.manifest import MANIFEST, listed_files, manifest_text, relisted, sha256

if TYPE_CHECKING:
    from jiggen.readings.read import Readings

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


def put_drawings(folder: str, files: Mapping[str, bytes], *, reprinted: bool = False) -> str:
    """Put a set of drawings in a folder; a form that was filled in there stays as it is.

    Args:
        folder: where to; made if it is not there.
        files: bytes by path, the blank form and the manifest among them.
        reprinted: they are the old drawings with a corrected print: what was measured on the
            others still counts. Drawings of `make` never depend on what lay there before.

    Returns:
        The name under which the blank form was put there; empty if there is none.

    Raises:
        DrawingFileError: as `replace_files`.
    """
    if reprinted:
        files = _after_the_last(folder, files)
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


def _after_the_last(folder: str, files: Mapping[str, bytes]) -> Mapping[str, bytes]:
    """Return drawings that name the prints they take the place of, where all else stays the same.

    What was measured on a cut sheet stays true when nothing but the print's correction changed.
    """
    try:
        old = drawings_in(folder)
    except DrawingFileError:
        return files
    if old is None:
        return files
    new = json.loads(files[MANIFEST])
    same = old.get("drawn_from") == new.get("drawn_from")
    marks = [mark for mark in prints_up_to(old) if mark and mark != print_mark(new)]
    if not (same and marks and recorded_sheets(old) == recorded_sheets(new)):
        return files
    return {**files, MANIFEST: manifest_text({**new, "earlier_prints": marks})}


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
        recorded_sheets(manifest)
        for row in manifest["files"]:
            if row["format"] == "pdf" and row.get("correction"):
                undone_by(row["correction"])
        print_mark(manifest)
        str(manifest["job"])
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
    return printed_with(manifest)


def printed_with(manifest: Mapping[str, Any]) -> Distortion:
    """Return the distortion that the print in a manifest was corrected for."""
    for row in manifest["files"]:
        if row["format"] == "pdf" and row.get("correction"):
            return undone_by(row["correction"])
    return Distortion()


def prints_up_to(manifest: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the marks of the print in a manifest and of those that it took the place of."""
    return (*earlier_prints(manifest), print_mark(manifest))


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
    now = printed_with(manifest)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundForms:
    """The forms in a folder that were filled in.

    Attributes:
        readings: of the first that belongs to the drawings; None if there is none.
        unused: paths of others that belong to them too.
        earlier: paths of those that belong to an earlier print.
        before: those that belong to a print which a corrected one took the place of, the oldest
            first: what they say of cut sheets still counts.
    """

    readings: Readings | None
    unused: tuple[str, ...] = ()
    earlier: tuple[str, ...] = ()
    before: tuple[Readings, ...] = ()


def filled_forms(folder: str, manifest: Mapping[str, Any]) -> FoundForms:
    """Return what was filled in on the forms that lie among the drawings.

    Args:
        folder: of the drawings.
        manifest: of them.

    Raises:
        JobError: the first form that belongs to the drawings holds faults, or one of a print that
            a corrected one took the place of.
    """
    blanks = {row["sha256"] for row in manifest["files"]}
    readings: Readings | None = None
    unused, earlier, before = [], [], []
    for name in form_names():
        path = os.path.join(folder, name)
        try:
            data = Path(path).read_bytes()
        except OSError:
            if name == FORM:
                continue
            break
        if sha256(data) in blanks:
            continue
        mark, now = _mark_in(data), print_mark(manifest)
        reprinted = mark in earlier_prints(manifest)
        if mark and now and mark != now and not reprinted:
            earlier.append(path)
            continue
        # `make` reads no form: it need not wait for the reader of one.
        from jiggen.readings.read import read_readings

        if reprinted:
            before.append(read_readings(path, manifest))
        elif readings is None:
            read = read_readings(path, manifest)
            readings = None if read.is_blank else read
        else:
            unused.append(path)
    return FoundForms(
        readings=readings, unused=tuple(unused), earlier=tuple(earlier), before=tuple(before)
    )


def _mark_in(form: bytes) -> str:
    """Return which print a form says that it belongs to; empty where it does not say."""
    try:
        mark = tomllib.loads(form.decode("utf-8-sig")).get("print")
    except (ValueError, RecursionError):
        return ""  # reading it will say what is wrong
    return mark.strip() if isinstance(mark, str) else ""
