"""The one-way import rule: who may import whom, and where each library is at home.

Read from the source by `ast`, so imports inside functions and under TYPE_CHECKING count too.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from commandline import PROJECT

import jiggen

PACKAGE = Path(jiggen.__file__).parent

#: The rooms as they stand on one another, as DEVELOPERS.md draws them too: a room imports only
#: from rows below its own. What it may take from there is in the table below.
MAP = """\
  __main__
    cli
    page
  straight
   exits        reprint
         report
          make
         proof
         solve
    shop        jigs
  solution                          manual
    job                  write
 facts   geometry      drawing                remeasure
            units
            errors               limits     file_kinds
"""

#: part: what it may import from the package besides itself.
MAY_IMPORT = {
    "errors": set(),
    "units": {"errors"},
    "file_kinds": set(),
    "facts": {"units"},
    "geometry": {"errors", "units"},
    "drawing": {"errors", "units"},
    "job": {"errors", "limits", "units", "facts", "file_kinds"},
    "solution": {"errors", "geometry", "job"},
    "shop": {"errors", "units", "facts", "geometry", "job", "solution"},
    "solve": {"errors", "units", "geometry", "job", "solution", "shop"},
    "jigs": {"errors", "units", "facts", "geometry", "drawing", "job", "solution"},
    "write": {"errors", "drawing"},
    "limits": set(),
    "remeasure": {"errors", "limits", "file_kinds"},
    "proof": {
        "drawing", "errors", "geometry", "jigs", "job", "limits", "file_kinds", "solution", "solve",
        "units", "write",
    },
    "make": {"drawing", "errors", "geometry", "jigs", "job", "proof", "solution", "units", "write"},
    "reprint": {"errors", "geometry", "make", "proof", "report", "solution", "write"},
    "report": {
        "drawing", "errors", "facts", "geometry", "make", "proof", "shop", "solution", "units",
        "write",
    },
    "manual": {"errors", "job"},
    "exits": {"errors", "report"},
    "straight": {
        "drawing", "errors", "exits", "geometry", "job", "file_kinds", "report", "units", "write",
    },
    "page": {
        "drawing", "errors", "exits", "facts", "file_kinds", "jigs", "job", "make", "proof",
        "report", "reprint", "shop", "solution", "solve", "straight", "units", "write",
    },
    "__main__": {"cli"},
}  # fmt: skip

#: These stand on top: they may import everything, and nobody but those named imports them.
TOP = {"cli": {"__main__"}, "__init__": {"cli", "make", "page"}}

#: library: the only places where it may be imported.
AT_HOME = {
    "numpy": ("geometry", "drawing", "jigs", "solve", "remeasure", "write.solid"),
    "typer": ("cli", "exits", "page.command", "straight.command"),
    "rich": ("report",),
    "reportlab": ("write.pdf",),
    "svgwrite": ("write.svg",),
    "ezdxf": ("write.dxf",),
    "pikepdf": ("remeasure.pdf",),
    "manifold3d": ("drawing.solid",),
    "starlette": ("page.guard", "page.serve"),
    "uvicorn": ("page.serve",),
    "jinja2": ("page.frame",),
    "tomlkit": ("page.edit",),
}


def part_of(module: str) -> str:
    """Return the part that a dotted module of the package belongs to."""
    return module.split(".")[0]


def is_in(module: str, place: str) -> bool:
    """Tell whether a module is a place or lies in it."""
    return module == place or module.startswith(f"{place}.")


def imported_by(source: str, module: str) -> set[str]:
    """Return the absolute dotted names that a module's source imports."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module} imports by dots; write the whole name"
            if node.module == "jiggen":
                names |= {f"jiggen.{alias.name}" for alias in node.names}
            else:
                names.add(node.module or "")
    return names


def broken_rules(source: str, module: str) -> list[str]:
    """Return a sentence for each import in `source` that its module may not have."""
    part, broken = part_of(module), []
    for name in sorted(imported_by(source, module)):
        library, _, rest = name.partition(".")
        if library == "jiggen":
            other = part_of(rest or "__init__")
            other = other if other in {*MAY_IMPORT, *TOP} else "__init__"
            if other == part or part in TOP:
                continue
            allowed = part in TOP.get(other, set()) or other in MAY_IMPORT.get(part, set())
            if not allowed:
                may = ", ".join(sorted(MAY_IMPORT.get(part, set()))) or "nothing"
                broken.append(f"{module} imports {name}: {part} may import {may}")
        elif library in AT_HOME and not any(is_in(module, home) for home in AT_HOME[library]):
            broken.append(f"{module} imports {library}: at home in {', '.join(AT_HOME[library])}")
    return broken


def modules() -> dict[str, Path]:
    """Return every module of the package by its dotted name below jiggen."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        name = ".".join(parts[:-1] if len(parts) > 1 and parts[-1] == "__init__" else parts)
        found[name] = path
    return found


def test_every_import_points_down_the_layers() -> None:
    """A writer that knew of wedges, or a formula that knew of paper, could not be checked alone."""
    broken = [
        line for name, path in modules().items() for line in broken_rules(path.read_text(), name)
    ]
    assert broken == []


def test_every_part_of_the_package_has_a_rule() -> None:
    """A new folder without a rule would be free to import anything."""
    assert {part_of(name) for name in modules()} <= {*MAY_IMPORT, *TOP}


@pytest.mark.parametrize(
    ("module", "source", "complaint"),
    [
        ("jigs.strip", "from jiggen.write.svg import svg_bytes", "jigs.strip imports jiggen.write"),
        ("geometry.holes", "import jiggen.drawing.shapes", "geometry may import errors, units"),
        ("drawing.kerf", "from jiggen.geometry import frame", "drawing may import errors, units"),
        (
            "remeasure.dxf",
            "from jiggen import write",
            "remeasure may import errors, file_kinds, limits",
        ),
        ("remeasure.svg", "import ezdxf", "at home in write.dxf"),
        ("write.svg", "def f():\n    from reportlab.pdfgen import canvas", "at home in write.pdf"),
        ("solve", "import typer", "at home in cli"),
        ("make", "from jiggen.report import closing_text", "make imports jiggen.report"),
        ("write.files", "import jiggen.cli", "write.files imports jiggen.cli"),
        ("page.answers", "from starlette.requests import Request", "at home in page.guard"),
        ("job.read", "if TYPE_CHECKING:\n    import numpy as np", "at home in geometry"),
    ],
)
def test_a_planted_import_against_the_rule_is_caught(
    module: str, source: str, complaint: str
) -> None:
    """A guard that never bites guards nothing."""
    said = broken_rules(source, module)
    assert len(said) == 1
    assert complaint in said[0]


def test_the_map_is_the_rule_and_the_book_shows_it() -> None:
    """Two rooms that may import each other are one room with two names; no row is in a circle."""
    rows = [line.split() for line in MAP.splitlines()]
    height = {room: -n for n, row in enumerate(rows) for room in row}
    assert set(height) == {*MAY_IMPORT, *TOP} - {"__init__"}
    for room, others in MAY_IMPORT.items():
        for other in others:
            assert height[other] < height[room], f"{room} imports {other}, which is not below it"
    assert MAP in (PROJECT / "DEVELOPERS.md").read_text("utf-8")


def test_no_room_may_import_what_it_does_not() -> None:
    """A rule that nobody needs is a door left open."""
    used: dict[str, set[str]] = {part: set() for part in MAY_IMPORT}
    for name, path in modules().items():
        for imported in imported_by(path.read_text(), name):
            library, _, rest = imported.partition(".")
            if library == "jiggen":
                used.setdefault(part_of(name), set()).add(part_of(rest))
    idle = {part: may - used[part] for part, may in MAY_IMPORT.items() if may - used[part]}
    assert idle == {}
