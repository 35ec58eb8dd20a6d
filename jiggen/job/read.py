"""Reads a job file, gathering every fault before it gives up.

A user who mends one fault and meets the next a run later loses patience, and then guesses. So the
reader goes through the whole file, says all that is wrong, each with its key, and only then stops.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import islice
from pathlib import Path

from jiggen.errors import Fault, JobError
from jiggen.job.edge_reading import (
    read_corner,
    read_cradle,
    read_gauge,
    read_stock,
    read_strip,
)
from jiggen.job.fields import UNKNOWN_MOST, FaultList, Table, given_or
from jiggen.job.holes import read_holes
from jiggen.job.making import read_allow, read_block, read_cut, read_guide, read_print
from jiggen.job.model import Job
from jiggen.job.quantities import LENGTH, Limits
from jiggen.job.rivet import read_rivet
from jiggen.job.stations import read_wedge
from jiggen.limits import TooMuch, plain_bytes, toml_tables
from jiggen.mistaken import JOB, mistaken_for

FORMAT = 1
FILE_MOST = 5_000_000
"""A job file is never so large (bytes); a larger one is some other file."""

SLIP_MOST = 500
"""A longer line holds no slip of the usual kind, and would take long to look through."""

NAME_MOST = 80
SIDE_MOST = 24
"""Longest name of the job and of a side, so that they fit on a piece."""

SIDES = ("side A", "side B")
"""What the sides are called where the job does not say."""

SKIN_MOST = 25.0
"""A skin thicker than this, mm, is a slip of the unit."""

_JOB_KEYS = (
    *("format", "name", "units", "sides", "wedge", "skin", "holes", "rivet", "allow"),
    *("guide", "block", "print", "cut", "stock", "gauge", "strip", "cradle", "corner"),
)
_FRACTION = re.compile(r"=\s*((?:\d+[ -])?\d+/\d+)")
_COMMA = re.compile(r"=\s*([+-]?\d+)\s*,\s*(\d+)\s*((?:mm|cm|in|deg)\b)?")
_UNIT = re.compile(r"=\s*([\d.]+)\s*(mm|cm|in|deg)\b")
_QUOTED = re.compile(r"\"(?:[^\"\\]|\\.)*\"|'[^']*'")
_SYNTAX_PLACE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)\s*$")


def read_job(path: str | Path) -> Job:
    """Read a job file from disk.

    Args:
        path: the TOML file; outline files are looked for beside it.

    Returns:
        The job, in mm and radians, defaults filled in.

    Raises:
        JobError: the file cannot be read, or holds faults; it carries all of them.
    """
    file, place = str(path), Path(path)
    try:
        data = plain_bytes(place, FILE_MOST, "a job file")
    except TooMuch as beyond:
        raise _whole_file(file, beyond.problem, beyond.remedy) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "bad name"
        problem = f"cannot be read ({reason})"
        raise _whole_file(file, problem, "give the name of a job file") from None
    if mistake := mistaken_for(data, JOB, file):
        raise _whole_file(file, *mistake)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        problem = f"line {line} is not UTF-8 text"
        raise _whole_file(file, problem, "save the file as UTF-8") from None
    return read_job_text(text, file, place.parent)


def read_job_text(text: str, file_name: str, folder: Path) -> Job:
    """Read a job from the text of its file.

    Args:
        text: the TOML text.
        file_name: the file's name as faults say it.
        folder: where outline files are looked for.

    Returns:
        The job, in mm and radians, defaults filled in.

    Raises:
        JobError: the text holds faults; it carries all of them.
    """
    found = FaultList(file=file_name)
    job = _read_tables(_parse(text, file_name), found, folder)
    if job is None or found.faults:
        raise JobError(found.faults)
    return job


def _whole_file(file: str, problem: str, remedy: str) -> JobError:
    return JobError([Fault(file=file, key="", problem=problem, remedy=remedy)])


def _parse(text: str, file: str) -> Mapping[str, object]:
    try:
        return toml_tables(text)
    except TooMuch as beyond:
        raise JobError([beyond_limits(beyond, file)]) from None
    except ValueError as error:
        raise JobError(syntax_faults(text, file, error)) from None


def beyond_limits(beyond: TooMuch, file: str) -> Fault:
    """Return what is to be said of text beyond all measure."""
    return Fault(file=file, key=beyond.key, problem=beyond.problem, remedy=beyond.remedy)


def syntax_faults(text: str, file: str, error: ValueError, remedy: str = "") -> list[Fault]:
    """Return what is wrong with text that is not TOML: each line that holds a usual slip.

    Args:
        text: of the whole file.
        file: its name as faults say it.
        error: what the reader of TOML said; it stops at the first line that it cannot read.
        remedy: what to do about a line with no slip that is known; how a job is written if left
            out.

    Returns:
        A fault for each line with a slip that builders make first, and one for the line that the
        reader stopped at.
    """
    lines = text.splitlines()
    said = " ".join(str(error).split())
    place = _SYNTAX_PLACE.search(said)
    stop = int(place[1]) if place and place[1] else 0
    slips = (
        Fault(file=file, key=f"line {number}", problem=slip[0], remedy=slip[1])
        for number, line in enumerate(lines, start=1)
        if (slip := _slip(line)) is not None
    )
    found = {int(fault.key.split()[1]): fault for fault in islice(slips, UNKNOWN_MOST)}
    if stop not in found:
        key = f"line {stop}" if stop else "last line" if place else ""
        problem = f"is not valid TOML: {_SYNTAX_PLACE.sub('', said)[:160]}"
        written = remedy or 'write key = value, text in "quotes", tables as [name]'
        found[stop or len(lines) + 1] = Fault(file=file, key=key, problem=problem, remedy=written)
    return [found[number] for number in sorted(found)]


def _slip(line: str) -> tuple[str, str] | None:
    """Return what keeps a line from being TOML and what to write, where the slip is a usual one."""
    if len(line) > SLIP_MOST:
        return None
    bare = _QUOTED.sub('""', line).partition("#")[0]
    if slip := _FRACTION.search(bare):
        return "has a fraction without quotes", f'write it with its unit, "{slip[1]} in"'
    if slip := _COMMA.search(bare):
        written = f"{slip[1]}.{slip[2]}"
        if slip[3]:
            written = f'"{written} {slip[3]}", in quotes since it has a unit'
        return "has a comma in a number", f"write a decimal point: {written}"
    if slip := _UNIT.search(bare):
        return "has a unit without quotes", f'write "{slip[1]} {slip[2]}"'
    return None


def _read_tables(raw: Mapping[str, object], found: FaultList, folder: Path) -> Job | None:
    job = Table(raw, "", found, "mm", _JOB_KEYS)
    _check_format(job)
    job.require("name", "name the job: it is printed on every piece")
    name = job.text("name", NAME_MOST, needed=True)
    job.require("units", 'write units = "mm" or units = "in"')
    job.units = given_or(job.choice("units", ("mm", "in")), "mm")
    sides = given_or(job.two_texts("sides", SIDE_MOST), SIDES)
    wedge = read_wedge(job, folder)
    skin = _read_skin(job)
    holes = read_holes(job)
    rivet = read_rivet(job)
    allow, guide, block = read_allow(job), read_guide(job), read_block(job)
    paper, cut = read_print(job), read_cut(job)
    stock, gauge, strip = read_stock(job), read_gauge(job), read_strip(job)
    cradle, corner = read_cradle(job), read_corner(job)
    if wedge is None or name is None:
        return None
    return Job(
        file=found.file,
        name=name,
        units=job.units,
        sides=sides,
        wedge=wedge,
        holes=holes,
        skin=skin,
        rivet_head=None if rivet is None else rivet.head,
        rivet=rivet,
        allow=allow,
        guide=guide,
        block=block,
        print=paper,
        cut=cut,
        stock=stock,
        gauge=gauge,
        strip=strip,
        cradle=cradle,
        corner=corner,
    )


def _check_format(job: Table) -> None:
    if not job.require("format", f"write format = {FORMAT}"):
        return
    given = job.raw["format"]
    if isinstance(given, bool) or not isinstance(given, int) or given != FORMAT:
        job.fault("format", "is not a format of job file that is known", f"write format = {FORMAT}")


def _read_skin(job: Table) -> tuple[float, float] | None:
    table = job.table("skin", ("thickness",))
    if table is None:
        return None
    table.require("thickness", "give the thickness of the skin, or [a, b]")
    limits = Limits(above=0.0, at_most=SKIN_MOST)
    if isinstance(table.raw.get("thickness"), list):
        return table.pair(LENGTH, "thickness", limits)
    both = table.value(LENGTH, "thickness", limits)
    return None if both is None else (both, both)
