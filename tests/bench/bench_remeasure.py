"""`jiggen remeasure` of each sample file against a reader library's bare parse: 3 x at most.

The floor is a process that imports numpy and typer, as any command of this kind must, and the
reader library, and parses the same file and measures nothing: pikepdf for PDF, svgelements for SVG,
dxfgrabber for DXF. What remeasure takes beyond that is the search for each piece and the comparison
of every line.
"""

from __future__ import annotations

import sys
from pathlib import Path

from clock import PROJECT, jiggen, medians, say_ratio

TARGET = 3.0

FLOORS = {
    ".pdf": """
import sys, numpy, typer, pikepdf
with pikepdf.open(sys.argv[1]) as pdf:
    for page in pdf.pages:
        pikepdf.parse_content_stream(page)
""",
    ".svg": "import sys, numpy, typer; from svgelements import SVG; SVG.parse(sys.argv[1])",
    ".dxf": "import sys, numpy, typer, dxfgrabber; dxfgrabber.readfile(sys.argv[1])",
}


def sample_files() -> list[Path]:
    """Return the drawings in the samples: pages, beds, and the largest single piece of each."""
    files: list[Path] = []
    for manifest in sorted((PROJECT / "samples").rglob("manifest.json")):
        folder = manifest.parent
        files += sorted(p for p in folder.iterdir() if p.suffix in FLOORS)
        for suffix in (".svg", ".dxf"):
            single = sorted(folder.glob(f"pieces/*{suffix}"), key=lambda p: p.stat().st_size)
            files += single[-1:]
    return files


def main() -> None:
    """Time all and print the ratios."""
    for path in sample_files():
        found = medians(
            {
                "remeasure": jiggen("remeasure", path),
                "floor": [sys.executable, "-c", FLOORS[path.suffix], str(path)],
            },
            starts=5,
        )
        name = f"{path.name} ({path.stat().st_size // 1000} kB)"
        say_ratio(name, found["remeasure"][0], found["floor"][0], TARGET)


if __name__ == "__main__":
    main()
