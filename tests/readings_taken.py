"""Readings of a sample job's drawings, by a printer or a saw of a known error."""

from __future__ import annotations

import cmath
import json
import math
from pathlib import Path

HOME = "split-flap-sample-jigs"
TRUE = {"bar-x": 1.0, "bar-y": 1.0, "diagonal-1": 1.0, "diagonal-2": 1.0}


def form_path(job: Path) -> Path:
    """Return the form of readings."""
    return job.parent / HOME / "readings.toml"


def lengths(job: Path, place: str) -> dict[str, float]:
    """Return what a page or a piece should measure, mm, by the manifest."""
    manifest = json.loads((job.parent / HOME / "manifest.json").read_text())
    pages = next(row for row in manifest["files"] if row["file"] == "print.pdf")["sheets"]
    pieces = [piece for page in pages for piece in page["pieces"]]
    names = {one["sheet"]: one for one in pages} | {one["name"]: one for one in pieces}
    return {one["name"]: one["nominal"] for one in names[place]["dimensions"]}


def page_read(job: Path, **shares: float) -> dict[str, str]:
    """Return fields of page 2 as a printer of these shares of each length would give them."""
    nominal = lengths(job, "page 2")
    return {
        f"page[1].{name}": f"{nominal[name] * share:.1f}"
        for name, share in (TRUE | {k.replace("_", "-"): v for k, v in shares.items()}).items()
    }


def guide_read(job: Path, turn: float = 0.0) -> dict[str, str]:
    """Return fields of guide-a1, cut with its edge from E to C turned by some degrees."""
    nominal = lengths(job, "guide-a1")
    corner = {"A": 0j, "B": complex(nominal["A-B"])}
    for letter in "EC":
        a, b, ab = nominal[f"A-{letter}"], nominal[f"B-{letter}"], nominal["A-B"]
        x = (a * a - b * b + ab * ab) / (2 * ab)
        corner[letter] = complex(x, math.sqrt(a * a - x * x))
    along = corner["C"] - corner["E"]
    corner["C"] = corner["E"] + along * cmath.rect(1.0, math.radians(turn))
    return {f"piece[1].{n}": f"{abs(corner[n[2]] - corner[n[0]]):.2f}" for n in nominal}
