"""From what a command raises to lines on stderr and an exit status.

The one place where exceptions end: every fault is one line on stderr, nobody sees a traceback,
and a closed pipe or a terminal without the plus-minus sign is no reason to fail.
"""

from __future__ import annotations

import codecs
import os
import sys
import traceback
from collections.abc import Iterable, Sequence
from io import StringIO
from typing import Any, TextIO

import typer

from jiggen.errors import DrawingFileError, JiggenError, JobError
from jiggen.report.terminal import harmless

DONE = 0
CHECK_SAYS_NO = 1
BAD_INPUT = 2
INTERNAL_FAULT = 70  # a fault of jiggen's own
READER_LEFT = 141  # whoever read the output stopped reading, as ``| head`` does

# Newer releases of typer carry their own copy of the parser, older ones import it: the class that
# both call UsageError is reached through the one that typer exports.
UsageFault: Any = typer.BadParameter.__base__


def option(takes: str, words: str, *names: str) -> Any:
    """Return an option of a command: what it takes, what it is for, its names."""
    return typer.Option(*names, metavar=takes, help=words)


def complain(lines: Iterable[object]) -> int:
    """Print each complaint as one line on stderr; return the exit status of bad input."""
    try:
        for line in lines:
            print(harmless(" ".join(str(line).split())), file=sys.stderr)
        sys.stderr.flush()
    except OSError:  # nobody takes the words; the status tells all the same
        _quietly_closed(sys.stderr)
    return BAD_INPUT


def _obey(app: typer.Typer, words: Sequence[str]) -> int:
    command = typer.main.get_command(app)
    try:
        # Not command.main(): that has its own ideas about broken pipes and keyboard interrupts.
        with command.make_context("jiggen", list(words)) as context:
            return int(command.invoke(context) or DONE)
    except typer.Exit as done:
        return done.exit_code
    except JobError as bad:
        return complain(bad.faults)
    except DrawingFileError as bad:
        return complain([bad])  # says which file by itself
    except JiggenError as bad:
        return complain([f"jiggen: {bad}"])
    except UsageFault as bad:
        path = bad.ctx.command_path if bad.ctx else "jiggen"
        return complain([f"{path}: {bad.format_message().rstrip('.?')}; see: {path} --help"])
    except OSError as trouble:
        if isinstance(trouble, BrokenPipeError):
            raise
        where = f"{trouble.filename}: " if trouble.filename else ""
        return complain([f"jiggen: {where}{trouble.strerror or trouble}"])
    except Exception as fault:
        complain([own_fault(fault)])
        return INTERNAL_FAULT


def own_fault(fault: Exception) -> str:
    """Say a fault of jiggen's own in one line that helps to find it."""
    frames = traceback.extract_tb(fault.__traceback__)
    home = os.path.dirname(__file__)
    place = next((f for f in reversed(frames) if f.filename.startswith(home)), frames[-1])
    return (
        f"jiggen: a fault of jiggen's own, not of your job: {type(fault).__name__} "
        f"({str(fault)[:200]}) at {os.path.relpath(place.filename, home)}:{place.lineno}; "
        "please send this line and the job file to the makers of jiggen"
    )


def _plain_signs(problem: UnicodeError) -> tuple[str, int]:
    """Stand in for characters that the terminal's encoding lacks."""
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    missing = problem.object[problem.start : problem.end]
    return "".join("+-" if c == "\u00b1" else "?" for c in missing), problem.end


def _quietly_closed(stream: TextIO) -> None:
    """Point a stream nobody reads at nothing, so that the interpreter's last flush is silent."""
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, stream.fileno())
    os.close(nothing)


def run_words(app: typer.Typer, words: Sequence[str]) -> int:
    """Run a command, see its output off, and return the exit status."""
    codecs.register_error("jiggen-plain-signs", _plain_signs)
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:  # closed by whoever started us
            setattr(sys, name, StringIO())
        elif hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="jiggen-plain-signs")
    try:
        status = _obey(app, words)
        sys.stdout.flush()
    except BrokenPipeError:
        _quietly_closed(sys.stdout)
        return READER_LEFT
    except OSError as trouble:
        _quietly_closed(sys.stdout)
        return complain([f"jiggen: cannot print the answer: {trouble.strerror or trouble}"])
    return status
