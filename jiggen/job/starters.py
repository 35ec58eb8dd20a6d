"""Finds the starter job files, and what of each is to be written beside the user's work.

They lie in the package when it is installed from a wheel, and in ``templates/`` at the top of a
checkout when it is installed editable, where the package folder has none.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from jiggen.errors import JiggenError
from jiggen.job.fields import nearest

if TYPE_CHECKING:
    from importlib.abc import Traversable

    from jiggen.job.wedge import Station

JOB_NAMES = {
    "Canard edge, countersinking": "cradle",
    "Flap edge, inner bay": "flap-mm",
    "Fin tab edge": "level-readings",
    "Trim tab edge": "one-sided",
    "Elevator edge": "outline",
    "Airbrake edge, trial piece": "prismatic",
    "Spoiler edge, outboard": "stock",
    "Aileron edge, starboard": "tapered-inch",
}
"""The name that stands in each starter: a job of any other name need not open one."""


class StarterError(JiggenError, OSError):
    """A starter that is not there."""


def _places() -> tuple[Traversable, ...]:
    from importlib.resources import files  # slow to import, and angles needs it for a starter alone

    package = files("jiggen")
    return (package / "templates", Path(str(package)).parent / "templates")


def starter_files() -> dict[str, Traversable]:
    """Return the starter job files by name, in alphabetical order.

    Raises:
        StarterError: neither the package nor the checkout has any; it names both places.
    """
    for place in _places():
        found = {item.name.removesuffix(".toml"): item for item in _job_files(place)}
        if found:
            return dict(sorted(found.items()))
    looked = " nor in ".join(str(place) for place in _places())
    raise StarterError(f"no starter job files in {looked}; install jiggen again")


@lru_cache(maxsize=len(JOB_NAMES))
def example_stations(job_name: str) -> tuple[Station, ...]:
    """Return the stations of the starter whose job has this name; none where none has it.

    Args:
        job_name: as a job file states it.
    """
    from jiggen.job.read import read_job

    with suppress(JiggenError):  # an installation without starters is told by `jiggen new`
        if job_name in JOB_NAMES:
            return read_job(str(starter_files()[JOB_NAMES[job_name]])).wedge.stations
    return ()


def _job_files(place: Traversable) -> Iterator[Traversable]:
    if place.is_dir():
        yield from (item for item in place.iterdir() if item.name.endswith(".toml"))


def starter_contents(name: str, out: str | Path | None = None) -> dict[Path, bytes]:
    """Return a starter job file, and the coordinate files that it names, as they are to be written.

    Args:
        name: one of `starter_files`.
        out: the file to write, or a folder; ``NAME.toml`` in the working folder if left out.

    Returns:
        Bytes by path, the job file first. A coordinate file that is there already is left out.

    Raises:
        StarterError: no such starter.
    """
    starters = starter_files()
    if name not in starters:
        near = nearest(name, tuple(starters))
        listed = ", ".join(starters)
        raise StarterError(f'no starter "{name}"; nearest is "{near}" of {listed}')
    job = starters[name]
    target = Path(out) if out else Path(f"{name}.toml")
    if target.is_dir():
        target /= f"{name}.toml"
    contents = {target: job.read_bytes()}
    for outline in _outline_files(job):
        place, data = target.parent / outline.name, outline.read_bytes()
        # The same coordinate file from an earlier starter serves this one too.
        if not (place.is_file() and place.read_bytes() == data):
            contents[place] = data
    return contents


def _outline_files(job: Traversable) -> list[Traversable]:
    stations = tomllib.loads(job.read_text("utf-8"))["wedge"]["station"]
    names = dict.fromkeys(each["outline"]["file"] for each in stations if "outline" in each)
    folder = next(place for place in _places() if (place / job.name).is_file())
    return [folder / name for name in names]
