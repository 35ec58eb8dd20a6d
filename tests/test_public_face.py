"""The names that a program gets from ``import jiggen``."""

import ast
import inspect
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import jiggen

HERE = Path(__file__).parent
PROJECT = HERE.parent


def test_the_public_names_are_sorted_and_each_is_there() -> None:
    """A name that is promised and missing breaks the user's script at its first line."""
    assert jiggen.__all__ == sorted(jiggen.__all__)
    missing = [name for name in jiggen.__all__ if getattr(jiggen, name, None) is None]
    assert missing == []


def test_a_star_import_brings_exactly_the_public_names() -> None:
    """What is not promised must not leak out, or someone will rely on it."""
    found: dict[str, object] = {}
    exec("from jiggen import *", found)
    assert set(found) - {"__builtins__"} == set(jiggen.__all__)


def test_the_names_for_the_type_checker_are_the_names_that_load() -> None:
    """An editor would otherwise offer names that fail when the script runs."""
    source = inspect.getsource(jiggen)
    block = source.split("if TYPE_CHECKING:\n", 1)[1].split("\n\n", 1)[0]
    offered = {
        name.split(" as ")[-1].strip()
        for line in block.splitlines()
        for name in line.split("#")[0].split(" import ", 1)[1].split(",")
    }
    assert offered == set(jiggen.__all__) - {"__version__"}


def test_no_public_name_is_also_a_module_of_the_package() -> None:
    """The name would mean the function or the module, by which was imported first."""
    package = Path(jiggen.__file__).parent
    modules = {path.stem for path in package.glob("*.py")}
    modules |= {path.name for path in package.iterdir() if path.is_dir()}
    assert modules & set(jiggen.__all__) == set()


def test_an_unknown_name_is_an_attribute_error() -> None:
    """Tools that ask with hasattr must not crash."""
    with pytest.raises(AttributeError, match="no attribute 'solve_everything'"):
        _ = jiggen.solve_everything


def test_every_public_function_and_class_says_what_it_is() -> None:
    """The first thing that a stranger types is help()."""
    silent = [n for n in jiggen.__all__ if n != "__version__" and not getattr(jiggen, n).__doc__]
    assert silent == []


def test_the_version_is_the_one_that_the_packager_knows() -> None:
    """The manifest records the version: two answers would make a drawing untraceable."""
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]
    assert jiggen.__version__ == project["version"]


def test_importing_jiggen_loads_nothing_else() -> None:
    """A script that only reads the version must not wait for a PDF library."""
    code = "import sys, jiggen; print(*sorted(m for m in sys.modules if m.startswith('jiggen')))"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=PROJECT
    )
    assert done.stdout.split() == ["jiggen"]


def test_the_public_face_stays_short() -> None:
    """A face of under 60 lines can be read at a glance."""
    assert len(inspect.getsource(jiggen).splitlines()) < 60


def test_every_public_formula_and_fact_says_where_it_comes_from() -> None:
    """A number without a source is believed by those who should ask."""
    package = Path(jiggen.__file__).parent
    silent = [
        f"{path.parent.name}.{path.stem}.{node.name}"
        for part in ("geometry", "facts")
        for path in sorted((package / part).glob("*.py"))
        for node in ast.parse(path.read_text("utf-8")).body
        if isinstance(node, ast.FunctionDef)
        and not node.name.startswith("_")
        and "Source:" not in (ast.get_docstring(node) or "")
    ]
    assert silent == []
