"""The command ``jiggen bench``: opens the page in the browser, on this machine only."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from jiggen.errors import installing
from jiggen.exits import DONE, complain

if TYPE_CHECKING:
    from jiggen.page.answers import Bench

NEEDED = ("starlette>=1.0", "uvicorn>=0.40", "jinja2>=3.1", "tomlkit>=0.13")


def bench(
    job: Annotated[
        str, typer.Argument(metavar="[JOB]", help="The job file.  [default: choose from a list]")
    ] = "",
    no_open: Annotated[
        bool, typer.Option("--no-open", help="Print the address, and open no browser.")
    ] = False,
) -> int:
    """Open the job as a page in your browser, served by this machine to itself.

    Type what you measured and see the angles at once; draw the files and take them away; judge the
    riveted edge. Without JOB: the job files of this folder, and the starters. It ends with Ctrl-C,
    or after 30 minutes without use.
    """
    try:
        from jiggen.page.serve import serve

        for name in ("jinja2", "tomlkit"):  # which are loaded while the browser starts
            if find_spec(name) is None:
                raise ModuleNotFoundError(name=name)
    except ModuleNotFoundError as missing:
        if (missing.name or "").partition(".")[0] == "jiggen":
            raise
        lacking = f"needs {missing.name}, which is not there: {installing(*NEEDED)}"
        return complain([f"jiggen bench: {lacking}"])

    place = Path(job).resolve() if job else Path.cwd()
    if job and (trouble := _no_job(place, job)):
        return complain([trouble])

    def load() -> Bench:
        from jiggen.page.answers import Bench

        return Bench(place.parent, place) if job else Bench(place)

    serve(load, print, opens=not no_open)
    return DONE


def _no_job(place: Path, said: str) -> str:
    """Return why a file cannot be opened as a job; empty where it can."""
    from jiggen.file_kinds import JOB, wrong_kind
    from jiggen.page.store import CannotSave, Store

    if not place.is_file():
        return f"{said}: cannot be read; give the name of a job file, or none"
    try:
        Store(place).read()
    except CannotSave as bad:
        return str(bad)
    mistake = wrong_kind(place.read_bytes(), JOB, said)
    return f"{said}: {'; '.join(mistake)}" if mistake else ""
