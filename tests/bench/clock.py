"""Times processes side by side, for the benchmarks: medians of many starts, in turns."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
DEMO = PROJECT / "samples" / "flaperon" / "job.toml"

STARTS = 11


def jiggen(*words: object) -> list[str]:
    """Return the command line of a jiggen command run from the checkout."""
    return [sys.executable, "-m", "jiggen", *(str(word) for word in words)]


#: Compiled modules are kept here, ours like the libraries', whatever the environment says.
COMPILED = tempfile.TemporaryDirectory(prefix="bench-pyc-")


def one_run(command: Sequence[str]) -> tuple[float, float]:
    """Run a command to its end; return its wall time in seconds and its peak memory in MB."""
    environment = {
        **os.environ,
        "PYTHONPATH": str(PROJECT),
        "PYTHONPYCACHEPREFIX": COMPILED.name,
        "PYTHONDONTWRITEBYTECODE": "",
    }
    started = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=environment)
    _, status, used = os.wait4(process.pid, 0)
    wall = time.perf_counter() - started
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        raise SystemExit(f"{' '.join(command)}: ended with status {process.returncode}")
    return wall, used.ru_maxrss / 1024


def medians(
    commands: Mapping[str, Sequence[str]],
    starts: int = STARTS,
    before: Callable[[], object] = lambda: None,
) -> dict[str, tuple[float, float]]:
    """Run commands in turns, so that a busy moment meets them all alike.

    Args:
        commands: command lines by name.
        starts: how many starts of each count; one more goes before, to warm the caches.
        before: called before each start, untimed.

    Returns:
        Median wall time in seconds and largest peak memory in MB, by name.
    """
    runs: dict[str, list[tuple[float, float]]] = {name: [] for name in commands}
    for turn in range(starts + 1):
        order = list(commands) if turn % 2 else list(reversed(commands))
        for name in order:
            before()
            runs[name].append(one_run(commands[name]))
    return {
        name: (statistics.median(wall for wall, _ in kept[1:]), max(peak for _, peak in kept))
        for name, kept in runs.items()
    }


def say_ratio(what: str, ours: float, floor: float, target: float) -> None:
    """Print one line: both times, their ratio, and the ratio that is wanted."""
    ratio = ours / floor
    verdict = "within" if ratio <= target else "OVER"
    times = f"{ours * 1000:8.1f} ms  floor {floor * 1000:8.1f} ms"
    print(f"{what:<34} {times}  ratio {ratio:5.2f}  target {target:.1f}  {verdict}")
