"""Prints what re-measuring each sample file costs, as a ratio to a reader library's bare parse.

Run from the project's folder: ``python tests/bench/bench_remeasure.py [FOLDER ...]``. The floors are
measured in the same run: PDF, pikepdf's parse of every page; SVG, svgelements' parse; DXF,
dxfgrabber's. The floors parse; `remeasure` parses, finds, fits and compares.
"""

from __future__ import annotations

import io
import sys
import time
from collections.abc import Callable
from pathlib import Path

import dxfgrabber
import pikepdf
from svgelements import SVG

from jiggen.remeasure.measure import remeasure

#: What the ratio must stay under.
LIMIT = 3.0
#: Runs of each; the quickest counts.
RUNS = 3


def main(folders: list[str]) -> int:
    """Print a row for each file; return 1 when one is over the limit."""
    here = Path(__file__).parents[2] / "samples"
    roots = [Path(folder) for folder in folders] or [here]
    files = sorted(p for r in roots for p in r.rglob("*") if p.suffix in (".pdf", ".svg", ".dxf"))
    files = [path for path in files if "pictures" not in path.parts]
    worst = 0.0
    for path in files:
        floor = _quickest(lambda path=path: _FLOORS[path.suffix](path.read_bytes()))
        ours = _quickest(lambda path=path: remeasure(path))
        worst = max(worst, ours / floor)
        print(f"{ours / floor:5.2f}  {1000 * ours:7.1f} ms  {1000 * floor:7.1f} ms  {path.name}")
    print(f"{worst:5.2f}  worst of {len(files)} files; limit {LIMIT}")
    return int(worst > LIMIT or not files)


def _quickest(work: Callable[[], object]) -> float:
    times = []
    for _ in range(RUNS):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return min(times)


def _parse_pdf(data: bytes) -> None:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            pikepdf.parse_content_stream(page)


def _parse_svg(data: bytes) -> None:
    SVG.parse(io.BytesIO(data), ppi=96.0)


def _parse_dxf(data: bytes) -> None:
    dxfgrabber.read(io.StringIO(data.decode()))


_FLOORS: dict[str, Callable[[bytes], None]] = {
    ".pdf": _parse_pdf,
    ".svg": _parse_svg,
    ".dxf": _parse_dxf,
}

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
