"""What was written: every file with its hash, and what is on each of its sheets.

The manifest is how a later run knows its own files, and where a check finds the nominal sizes.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from jiggen.write.numbers import RECORD_FORMAT

if TYPE_CHECKING:
    from jiggen.drawing.sheet import Sheet

MANIFEST = "manifest.json"  # the manifest's own name, in the folder of the drawings

#: What is written unless something else is asked for, and what can be.
USUAL = ("pdf", "svg", "dxf")
FORMATS = (*USUAL, "3mf", "stl")

#: The pages of paper, and the long pages for a roll: only the first are drawn corrected.
PAGES, ROLL = "print.pdf", "strip-roll.pdf"
SOLID_FOLDER = "solids"  # folder of the solids among the drawings


def manifest_bytes(
    files: Mapping[str, bytes],
    sheets: Mapping[str, Sequence[Sheet]],
    records: Mapping[str, Sequence[Mapping[str, Any]]],
    *,
    solids: Mapping[str, Mapping[str, Any]] | None = None,
    job_name: str,
    version: str,
    correction: Sequence[float] | None = None,
) -> bytes:
    """Return the manifest of a set of drawings.

    Args:
        files: the drawings' bytes by path in the folder, with ``/``.
        sheets: for each of these paths the sheets in it, in order.
        records: for each of these paths the records that it carries, one a sheet.
        solids: for each path of a solid its record; it has no sheets.
        job_name: the job's name.
        version: of jiggen.
        correction: a, b, c, d of the print correction that a PDF is drawn with; None for none.

    Returns:
        JSON, UTF-8: ``jiggen`` (format), ``version``, ``job``, ``how`` (in words, how each bar and
        dimension is measured, by its name or ``piece/name``) and ``files``, sorted by path, each
        with ``file``, ``format``, ``bytes``, ``sha256`` and ``sheets``: the records of its sheets,
        with a ``page`` number each in a PDF, ``correction`` where it has one, and ``solid``, the
        record of a body to print.
    """
    rows = []
    for path in sorted(files):
        row = _row(path, files[path])
        if path == PAGES and correction is not None:
            row["correction"] = list(correction)
        if solids and path in solids:
            row["solid"] = dict(solids[path])
        rows.append(row | {"sheets": list(records[path])})
    return manifest_text(
        {
            "jiggen": RECORD_FORMAT,
            "version": version,
            "job": job_name,
            "how": _how(sheets.values()),
            "files": rows,
        }
    )


def relisted(
    manifest: bytes,
    *,
    add: Mapping[str, bytes] | None = None,
    drop: Collection[str] = (),
    rows: Sequence[Mapping[str, Any]] = (),
) -> bytes:
    """Return a manifest that lists other files too, or some no longer.

    Args:
        manifest: of `manifest_bytes`.
        add: bytes by path of files that are no drawings and have no sheets, such as a form.
        drop: paths that it shall not list.
        rows: of another manifest, for files that it describes; they go before its own.

    Returns:
        JSON, UTF-8.
    """
    whole = json.loads(manifest)
    listed = {row["file"]: row for row in whole["files"]}
    listed.update({row["file"]: dict(row) for row in rows})
    for path, data in (add or {}).items():
        listed[path] = _row(path, data) | {"sheets": []}
    kept = [listed[path] for path in sorted(listed) if path not in drop]
    return manifest_text({**whole, "files": kept})


def _row(path: str, data: bytes) -> dict[str, Any]:
    return {
        "file": path,
        "format": path.rsplit(".", 1)[-1],
        "bytes": len(data),
        "sha256": sha256(data),
    }


def manifest_text(whole: Mapping[str, Any]) -> bytes:
    """Return a manifest's bytes: JSON, a line a file, a line each for all else."""
    rows = ",\n".join(f"  {_json(row)}" for row in whole["files"])
    lines = [f" {_json(key)}: {_json(value)}" for key, value in whole.items() if key != "files"]
    text = ",\n".join([*lines, f' "files": [\n{rows}\n ]'])
    return f"{{\n{text}\n}}\n".encode()


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def sha256(data: bytes) -> str:
    """Return the SHA-256 of a file's bytes in hexadecimal.

    Source: FIPS 180-4.
    """
    return hashlib.sha256(data).hexdigest()


def listed_files(data: bytes) -> dict[str, set[str]] | None:
    """Return hashes by path of what a manifest lists; None where the bytes are none of ours."""
    try:
        whole = json.loads(data)
        if whole["jiggen"] != RECORD_FORMAT:
            return None
        listed: dict[str, set[str]] = {}
        for row in whole["files"]:
            listed.setdefault(str(row["file"]), set()).add(str(row["sha256"]))
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
    return listed


def job_in(manifest: bytes) -> str:
    """Return the name of the job that a manifest is of; empty where it names none."""
    try:
        return str(json.loads(manifest)["job"])
    except (ValueError, KeyError, TypeError, RecursionError):
        return ""


def _how(sheets: Iterable[Sequence[Sheet]]) -> dict[str, str]:
    """Return how each length is measured, in words; the records leave it out to stay small."""
    said: dict[str, str] = {}
    for sheet in (one for some in sheets for one in some):
        said |= {d.name: d.how for d in sheet.dimensions if d.how}
        for piece in (placed.piece for placed in sheet.placed):
            said |= {f"{piece.name}/{d.name}": d.how for d in piece.dimensions if d.how}
    return dict(sorted(said.items()))
