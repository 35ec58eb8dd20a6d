"""Runs the command line for the tests, in this process or in one of its own."""

from __future__ import annotations

import contextlib
import io
import os
import shlex
import subprocess
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path

from jiggen.cli import run

PROJECT = Path(__file__).parent.parent

#: A tapered flap edge in mm, two skin angles at each end, 64 holes: invented.
FLAP = """\
format = 1
name = "Flap edge, left"
units = "mm"
sides = ["upper", "lower"]

[wedge]
rear_thickness = 0.8
depth = 20.0
[[wedge.station]]
at = 0.0
skin_angles = [7.5, 3.0]
plus_minus = 0.05
[[wedge.station]]
at = 1700.0
skin_angles = [5.5, 2.6]
plus_minus = 0.05

[skin]
thickness = 0.5

[holes]
drill = "#40"
line = 8.0
first = 15.0
pitch = 26.0
count = 64
keep_out = [1, 64]

[cut]
kerf = 0.15
"""

#: The same edge, with its holes too near to the trailing edge: a shop check fails.
TOO_NEAR = FLAP.replace("line = 8.0", "line = 3.0")


def bringing(extra: str) -> str:
    """Return the command that brings what pyproject.toml asks for in an extra.

    Asked for by jiggen's own name, a registry would give whatever bears it.
    """
    asked = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]
    libraries = asked["optional-dependencies"][extra]
    return shlex.join([sys.executable, "-m", "pip", "install", *libraries])


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What a run left behind.

    Attributes:
        status: the exit status.
        out: what it printed.
        err: what it printed on stderr.
    """

    status: int
    out: str
    err: str

    @property
    def faults(self) -> list[str]:
        """Return the lines on stderr."""
        return self.err.splitlines()


def said(*words: object) -> Said:
    """Run the command line in this process, its output into pipes."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = run([str(word) for word in words])
    return Said(status=status, out=out.getvalue(), err=err.getvalue())


def environment(**changes: str) -> dict[str, str]:
    """Return this process's environment, the checkout importable, with changes."""
    return {**os.environ, "PYTHONPATH": str(PROJECT), **changes}


def process(*words: object, folder: Path, **changes: str) -> Said:
    """Run the command line as a process in a folder, with changes to its environment."""
    done = subprocess.run(
        [sys.executable, "-m", "jiggen", *(str(word) for word in words)],
        capture_output=True,
        cwd=folder,
        env=environment(**changes),
        timeout=300,
        check=False,
    )
    return Said(
        status=done.returncode,
        out=done.stdout.decode("utf-8", "replace"),
        err=done.stderr.decode("utf-8", "replace"),
    )


def files_in(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder with its bytes."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
