"""What a readings form is called, and which print it belongs to: known without reading one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

FORMAT = 1

FORM = "readings.toml"
"""The form's own name, in the folder of the drawings."""

MARK = 12
"""Characters of the print's hash that tell one print.pdf from the next."""


def print_mark(manifest: Mapping[str, Any]) -> str:
    """Return what tells the print that was measured from an earlier or a later one.

    Args:
        manifest: as parsed from ``manifest.json``.

    Returns:
        The beginning of the hash of its PDF; empty where it lists none.
    """
    prints = (row for row in manifest["files"] if row["format"] == "pdf")
    return next((str(row.get("sha256", ""))[:MARK] for row in prints), "")


def earlier_prints(manifest: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the marks of the prints that corrected ones took the place of, the job unchanged.

    Args:
        manifest: as parsed from ``manifest.json``.
    """
    marks = manifest.get("earlier_prints", ())
    return tuple(str(mark) for mark in marks) if isinstance(marks, list | tuple) else ()
