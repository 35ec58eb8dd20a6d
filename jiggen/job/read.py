"""Reads a job file, gathering every fault before it gives up.

A user who mends one fault and meets the next a run later loses patience, and then guesses. So the
reader goes through the whole file, says all that is wrong, each with its key, and only then stops.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from itertools import islice
from pathlib import Path

from msgspec.structs import replace

from jiggen.errors import Fault, JobError
from jiggen.file_kinds import JOB, wrong_kind
from jiggen.job.fields import UNKNOWN_MOST, FaultList, Table
from jiggen.job.schema import keys_of, read_section
from jiggen.job.sections import Job
from jiggen.limits import TooMuch, plain_bytes, toml_tables

FILE_MOST = 5_000_000
"""A job file is never so large (bytes); a larger one is some other file."""

LINE_MOST = 2_000
"""Longest line, characters, that is searched for the usual slips."""

_QUOTED = re.compile(r"\"(?:[^\"\\]|\\.)*\"|'[^']*'")
_SYNTAX_PLACE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)\s*$")
# What keeps a line from being TOML, what is wrong with it, and what to write.
_SLIPS = (
    (
        re.compile(r"=\s*#\s*(\d{1,2})\b"),
        "has a drill without quotes, and what follows # is a comment",
        'write "#{1}"',
    ),
    (
        re.compile(r"=\s*\[\s*(-?\d+),(\d+)\s*,\s+(-?\d+),(\d+)\s*\]"),
        "has commas in its numbers",
        "write decimal points: [{1}.{2}, {3}.{4}]",
    ),
    (
        re.compile(r"=\s*((?:\d+[ -])?\d+/\d+)(?:\s*(?:in\b|\"))?"),
        "has a fraction without quotes",
        'write it with its unit, "{1} in"',
    ),
    (
        re.compile(r"=\s*([+-]?\d+)\s*,\s*(\d+)\s+?(mm|cm|in|deg)\b"),
        "has a comma in a number",
        'write a decimal point: "{1}.{2} {3}", in quotes since it has a unit',
    ),
    (
        re.compile(r"=\s*([+-]?\d+)\s*,\s*(\d+)"),
        "has a comma in a number",
        "write a decimal point: {1}.{2}",
    ),
    (
        re.compile(r"[=\[,]\s*([+-]?)(\.\d+)"),
        "has a number that begins with its point",
        "write {1}0{2}",
    ),
    (
        re.compile(r"=\s*([\d.]+)\s*(mm|cm|in|deg)\b"),
        "has a unit without quotes",
        'write "{1} {2}"',
    ),
    (
        re.compile(r"=\s*(?!(?:true|false|inf|nan)\b)([A-Za-z][\w -]*?)\s*(?:$|[,}\]])"),
        "has a word without quotes",
        'write "{1}"',
    ),
)


def read_job(path: str | Path, within: Path | None = None) -> Job:
    """Read a job file from disk.

    Args:
        path: the TOML file; outline files are looked for beside it.
        within: a folder that no file which the job names may lie outside of; None for anywhere.

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
    if mistake := wrong_kind(data, JOB, file):
        raise _whole_file(file, *mistake)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        problem = f"line {line} is not UTF-8 text"
        raise _whole_file(file, problem, "save the file as UTF-8") from None
    return read_job_text(text, file, place.parent, within)


def read_job_text(text: str, file_name: str, folder: Path, within: Path | None = None) -> Job:
    """Read a job from the text of its file.

    Args:
        text: the TOML text.
        file_name: the file's name as faults say it.
        folder: where outline files are looked for.
        within: a folder that none of them may lie outside of; None for anywhere.

    Raises:
        JobError: the text holds faults; it carries all of them.
    """
    found = FaultList(file=file_name, folder=folder, within=within)
    raw = _parse(text, file_name)
    job = read_section(Job, Table(raw, "", found, "mm", tuple(keys_of(Job))))
    if job is None or found.faults:
        raise JobError(found.faults)
    return replace(job, file=file_name, stated=frozenset(_stated(raw, "")))


def _stated(raw: Mapping[str, object], above: str) -> Iterator[str]:
    """Yield every key that the file holds, dotted, with those of the tables within."""
    for name, value in raw.items():
        key = f"{above}{name}"
        yield key
        if isinstance(value, dict):
            yield from _stated(value, f"{key}.")
        for number, item in enumerate(value if isinstance(value, list) else [], start=1):
            if isinstance(item, dict):
                yield from _stated(item, f"{key}[{number}].")


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
    bare = _QUOTED.sub('""', line[:LINE_MOST])
    if drill := _SLIPS[0][0].search(bare):
        return _SLIPS[0][1], _SLIPS[0][2].replace("{1}", drill[1])
    bare = bare.partition("#")[0]
    for pattern, problem, remedy in _SLIPS[1:]:
        if slip := pattern.search(bare):
            for number, group in enumerate(slip.groups(default=""), start=1):
                remedy = remedy.replace(f"{{{number}}}", group)
            return problem, remedy
    return None
