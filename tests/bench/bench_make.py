"""`jiggen make` against a process that imports the same libraries and writes the same marks.

The finished files are read back beforehand; the floor writes every line, curve, circle and text of
them again, with the same library and the numbers formatted anew, and does nothing else. What make
takes beyond that is geometry, layout and care.
"""

from __future__ import annotations

import json
import re
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from clock import PROJECT, jiggen, medians, one_run, say_ratio

FLOOR = Path(__file__).with_name("floor_make.py")

#: The whole edge with every jig, and a plain job: what make may take by its floor.
TARGETS = {"canard": 1.8, "flaperon": 1.4}

_SVG_WORD = re.compile(r"[A-Za-z]|-?[0-9.]+(?:e-?[0-9]+)?")
_PDF_TEXT = re.compile(rb"\((?:[^\\()]|\\.)*\) Tj")
_PDF_PAINT = re.compile(rb"((?:-?[0-9.]+ )*)(m|l|c|h|re|S|f|W\*|n|w|G|g|q|Q|cm|J|j|d)\n")


def marks_of(folder: Path) -> dict[str, Any]:
    """Return what each drawing in a folder holds, by its path there."""
    readers = {".dxf": _of_dxf, ".svg": _of_svg, ".pdf": _of_pdf}
    return {
        path.relative_to(folder).as_posix(): readers[path.suffix](path)
        for path in sorted(folder.rglob("*"))
        if path.suffix in readers
    }


def _of_dxf(path: Path) -> dict[str, Any]:
    import ezdxf

    document = ezdxf.readfile(path)
    space = document.modelspace()
    return {
        "layers": [
            layer.dxf.name for layer in document.layers if layer.dxf.name not in "0Defpoints"
        ],
        "polylines": [
            (one.dxf.layer, one.closed, [tuple(p) for p in one.get_points("xyb")])
            for one in space.query("LWPOLYLINE")
        ],
        "circles": [
            (one.dxf.layer, one.dxf.center.x, one.dxf.center.y, one.dxf.radius)
            for one in space.query("CIRCLE")
        ],
        "texts": [
            (one.dxf.layer, one.dxf.insert.x, one.dxf.insert.y, one.dxf.height, one.dxf.text)
            for one in space.query("TEXT")
        ],
    }


def _of_svg(path: Path) -> dict[str, Any]:
    found: dict[str, list[Any]] = {"paths": [], "circles": [], "texts": []}
    for element in ElementTree.parse(path).iter():
        name = element.tag.rpartition("}")[2]
        if name == "path":
            words = _SVG_WORD.findall(element.get("d", ""))
            found["paths"].append([w if w.isalpha() else float(w) for w in words])
        elif name == "circle":
            found["circles"].append([float(element.get(key, "0")) for key in ("cx", "cy", "r")])
        elif name == "text":
            found["texts"].append("".join(element.itertext()))
    return found


def _of_pdf(path: Path) -> list[dict[str, Any]]:
    import pikepdf

    pages = []
    with pikepdf.open(path) as document:
        for page in document.pages:
            data = page.Contents.read_bytes()
            drawn = [
                ([float(n) for n in numbers.split()], operator.decode())
                for numbers, operator in _PDF_PAINT.findall(data)
            ]
            texts = [text[1:-4].decode("latin-1") for text in _PDF_TEXT.findall(data)]
            pages.append({"operators": drawn, "texts": texts})
    return pages


def clear(folder: Path) -> None:
    """Remove what make and the floor wrote."""
    for made in folder.iterdir():
        if made.is_dir():
            shutil.rmtree(made)


def main() -> None:
    """Time make on each job, and the floor for each."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        commands = {}
        for name in TARGETS:
            made = folder / name
            make = jiggen("make", PROJECT / "samples" / name / "job.toml", "--out", made)
            one_run(make)
            marks = folder / f"{name}.json"
            found = marks_of(made)
            marks.write_text(json.dumps(found), "utf-8")
            print(f"{name}: {len(found)} drawings")
            commands[name] = make
            floor = [sys.executable, str(FLOOR), str(marks), str(folder / "floor")]
            commands[f"floor {name}"] = floor
        # A drawing that is there already and does not change would not be written again.
        times = medians(commands, starts=5, before=lambda: clear(folder))
    for name, target in TARGETS.items():
        say_ratio(f"make {name}", times[name][0], times[f"floor {name}"][0], target)
        print(f"{'peak memory':<34} {times[name][1]:8.1f} MB")


if __name__ == "__main__":
    main()
