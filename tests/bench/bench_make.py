"""`jiggen make` against a process that imports the same libraries and writes as much, bare.

The floor draws nothing that means anything: it opens each file that make wrote, counts what is in
it, and writes the same numbers of lines, curves, circles and texts with the same library, straight
from a loop. What make takes beyond that is geometry, layout, and care. 1.6 x at most.
"""

from __future__ import annotations

import json
import re
import shutil
import sys
import tempfile
from collections import Counter
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

from clock import DEMO, PROJECT, jiggen, medians, one_run, say_ratio

TARGET = 1.6
FLOOR = Path(__file__).with_name("floor_make.py")


def counts_of(folder: Path) -> dict[str, dict[str, object]]:
    """Return what each drawing in a folder holds, by its path there."""
    counters = {".dxf": _of_dxf, ".svg": _of_svg, ".pdf": _of_pdf}
    return {
        path.relative_to(folder).as_posix(): counters[path.suffix](path)
        for path in sorted(folder.rglob("*"))
        if path.suffix in counters
    }


def _of_dxf(path: Path) -> dict[str, object]:
    lines = [line.strip() for line in path.read_text("ascii").splitlines()]
    found: Counter[str] = Counter()
    vertices = []
    kind = ""
    for code, value in pairs(lines):
        if code == "0":
            kind = value
            found[kind] += 1
        elif code == "90" and kind == "LWPOLYLINE":
            vertices.append(int(value))
    return {"polylines": vertices, "circles": found["CIRCLE"], "texts": found["TEXT"]}


def pairs(lines: list[str]) -> list[tuple[str, str]]:
    """Return the group codes of a DXF file with their values."""
    return [pair for place, pair in enumerate(pairwise(lines)) if place % 2 == 0]


def _of_svg(path: Path) -> dict[str, object]:
    paths = []
    texts = circles = 0
    for element in ElementTree.parse(path).iter():
        name = element.tag.rpartition("}")[2]
        if name == "path":
            paths.append(len(re.findall("[A-Za-z]", element.get("d", ""))))
        texts += name == "text"
        circles += name == "circle"
    return {"paths": paths, "circles": circles, "texts": texts}


def _of_pdf(path: Path) -> dict[str, object]:
    data = path.read_bytes()
    pages = data.count(b"/Type /Page\n") or len(re.findall(rb"/Type /Page\b(?!s)", data))

    def drawn(operator: bytes) -> int:
        return len(re.findall(rb"(?<![\w.])" + operator + rb"(?=\s)", data))

    return {
        "pages": pages,
        "moves": drawn(b"m"),
        "lines": drawn(b"l"),
        "curves": drawn(b"c"),
        "texts": drawn(b"Tj"),
    }


def clear(folder: Path) -> None:
    """Remove what make and the floor wrote."""
    for made in folder.iterdir():
        if made.is_dir():
            shutil.rmtree(made)


def main() -> None:
    """Time make in two ways, and the floor for each."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        commands = {}
        for formats in ("pdf", "pdf,svg,dxf"):
            made = folder / formats.replace(",", "-")
            make = jiggen("make", DEMO, "--as", formats, "--out", made)
            one_run(make)
            counts = folder / f"{made.name}.json"
            counts.write_text(json.dumps(counts_of(made)), "utf-8")
            commands[formats] = make
            floor = [sys.executable, str(FLOOR), str(counts), str(folder / "floor")]
            commands[f"floor {formats}"] = floor
        # A drawing that is there already and does not change would not be written again.
        found = medians(commands, starts=9, before=lambda: clear(folder))
    print(f"the demo is {DEMO.relative_to(PROJECT)}")
    for formats in ("pdf", "pdf,svg,dxf"):
        say_ratio(f"make --as {formats}", found[formats][0], found[f"floor {formats}"][0], TARGET)
        print(f"{'peak memory':<34} {found[formats][1]:8.1f} MB")


if __name__ == "__main__":
    main()
