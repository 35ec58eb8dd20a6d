"""The page against its budgets: an answer while somebody types, a screen, and what they weigh.

python tests/bench/bench_page.py; ends with status 1 where a budget is not kept.
"""

from __future__ import annotations

import re
import shutil
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import count
from pathlib import Path

from clock import PROJECT, jiggen

from jiggen.page.answers import Bench
from jiggen.page.request import Answer, Request

TRY, SCREEN, FIRST_BYTE = 60.0, 250.0, 600.0
"""Milliseconds: median of 25; a screen's second call; from the command to an answer.

The first two in time of the processor, so that nothing else on the machine counts.
"""
PAGE, SHEET, BED, STYLE, SCRIPT = 40, 60, 150, 16, 8
"""KiB."""
PICTURE = re.compile(r'<img src="([^"]*/([\w-]+)\.svg)"')

over: list[str] = []


def timed(ask: Callable[[], Answer], turns: int) -> tuple[float, Answer]:
    """Return the median time of an answer after a first one, ms; and that."""
    first, spent = ask(), []
    for _ in range(turns):
        began = time.process_time()
        ask()
        spent.append((time.process_time() - began) * 1000.0)
    return statistics.median(spent), first


def say(what: str, value: float, unit: str, most: float) -> None:
    """Print one line: a value, its budget, and whether it keeps it."""
    verdict = "within" if value <= most else "OVER"
    if value > most:
        over.append(what)
    print(f"{what:<44} {value:8.1f} {unit:<3}  budget {most:5.0f}  {verdict}")


def of_a_job(job: Path, folder: Path) -> None:
    """Ask for each screen of a job, each picture on it, and try a change of it."""
    for file in job.parent.iterdir():
        if file.is_file():
            shutil.copy(file, folder)
    bench, name = Bench(folder, folder / "job.toml"), job.parent.name
    form = {"_screen": "measure", "_job": "job.toml", "_stamp": "", "_part": "1"}
    turns = count()

    def typed() -> Answer:
        words = {"wedge.depth": f"30.{next(turns)}1"}  # a text that is in no cache
        return bench.answer(Request(method="POST", path="/try", form=form | words))

    say(f"{name}: /try", timed(typed, 25)[0], "ms", TRY)
    for path in ("/make", "/put"):  # Check has something to show
        bench.answer(Request(method="POST", path=path, form=form | {"_screen": "jigs"}))
        bench.jigs.making.wait(120.0)
    for screen in bench.screens:
        asked = Request(method="GET", path=f"/{screen.name}")
        took, page = timed(lambda: bench.answer(asked), 5)  # noqa: B023
        say(f"{name}: {screen.name}", took, "ms", SCREEN)
        say(f"{name}: {screen.name}", len(page.body) / 1024.0, "KiB", PAGE)
    began = time.process_time()
    pages = bench.answer(Request(method="GET", path="/jigs", query={"look": "1"})).body.decode()
    took = (time.process_time() - began) * 1000.0
    print(f"{name + ': pages and beds laid out, once':<44} {took:8.1f} ms")
    heaviest = {SHEET: 0.0, BED: 0.0}
    slowest = 0.0
    for address, sheet in PICTURE.findall(pages):
        most = BED if sheet.startswith("cut") else SHEET
        asked = Request(method="GET", path=address)
        took, picture = timed(lambda: bench.answer(asked), 1)  # noqa: B023
        slowest = max(slowest, took)
        heaviest[most] = max(heaviest[most], len(picture.body) / 1024.0)
    say(f"{name}: heaviest page", heaviest[SHEET], "KiB", SHEET)
    say(f"{name}: heaviest bed", heaviest[BED], "KiB", BED)
    say(f"{name}: slowest picture", slowest, "ms", SCREEN)


def first_byte() -> float:
    """Return the time from the command to the first answer, ms."""
    began = time.perf_counter()
    command = jiggen("bench", PROJECT / "samples" / "flaperon" / "job.toml", "--no-open")
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        address = process.stdout.readline().split()[-1]
        host, port = address.split("/")[2].split(":")
        with socket.create_connection((host, int(port)), timeout=5.0) as link:
            entry = f"GET /?{address.partition('?')[2]} HTTP/1.1\r\nHost: {host}:{port}\r\n\r\n"
            link.sendall(entry.encode())
            assert link.recv(1)
        took = (time.perf_counter() - began) * 1000.0
        process.send_signal(signal.SIGINT)
    return took


def main() -> int:
    """Measure, and return 1 where a budget is not kept."""
    for job in sorted((PROJECT / "samples").glob("*/job.toml")):
        with tempfile.TemporaryDirectory() as folder:
            of_a_job(job, Path(folder))
    own = PROJECT / "jiggen" / "page" / "own"
    say("style", (own / "style.css").stat().st_size / 1024.0, "KiB", STYLE)
    say("script", (own / "script.js").stat().st_size / 1024.0, "KiB", SCRIPT)
    say(
        "command to first byte", statistics.median(first_byte() for _ in range(5)), "ms", FIRST_BYTE
    )
    print(f"{len(over)} over" if over else "All within.")
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
