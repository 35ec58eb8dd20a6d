"""The command ``jiggen bench``: opens the page in the browser, on this machine only."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from jiggen.exits import DONE, complain

REMEDY = "pip install 'jiggen[page]' brings them"


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
        from jiggen.page.answers import Bench
        from jiggen.page.serve import serve
    except ModuleNotFoundError as missing:
        if (missing.name or "").partition(".")[0] == "jiggen":
            raise
        return complain([f"jiggen bench: needs {missing.name}, which is not there; {REMEDY}"])
    if not job:
        serve(Bench(Path.cwd()), print, opens=not no_open)
        return DONE
    from jiggen.file_kinds import JOB, wrong_kind
    from jiggen.page.store import CannotSave, Store

    place = Path(job).resolve()
    if not place.is_file():
        return complain([f"{job}: cannot be read; give the name of a job file, or none"])
    try:
        Store(place).read()
    except CannotSave as bad:
        return complain([f"{bad}"])
    if mistake := wrong_kind(place.read_bytes(), JOB, job):
        return complain([f"{job}: {'; '.join(mistake)}"])
    serve(Bench(place.parent, place), print, opens=not no_open)
    return DONE
