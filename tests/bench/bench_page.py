"""The page against its budgets: an answer while somebody types, a screen, and what they weigh."""

from __future__ import annotations

import shutil
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

from clock import PROJECT

from jiggen.page.answers import Bench
from jiggen.page.request import Answer, Request

TRY, SCREEN = 60.0, 250.0
"""Milliseconds, median of 25; and of a screen's second call."""
PAGE, STYLE, SCRIPT = 40, 16, 8
"""KiB."""


def timed(ask: Callable[[], Answer], turns: int) -> tuple[float, int]:
    """Return the median time of an answer, ms, after a first one; and its size, bytes."""
    size, spent = len(ask().body), []
    for _ in range(turns):
        began = time.perf_counter()
        ask()
        spent.append((time.perf_counter() - began) * 1000.0)
    return statistics.median(spent), size


def say(what: str, value: float, unit: str, most: float) -> None:
    """Print one line: a value, its budget, and whether it keeps it."""
    verdict = "within" if value <= most else "OVER"
    print(f"{what:<44} {value:8.1f} {unit:<3}  budget {most:5.0f}  {verdict}")


def main() -> None:
    """Ask for each screen of each sample job, and try a change of it."""
    for job in sorted((PROJECT / "samples").glob("*/job.toml")):
        with tempfile.TemporaryDirectory() as folder:
            for file in job.parent.iterdir():
                if file.is_file():
                    shutil.copy(file, folder)
            bench = Bench(Path(folder), Path(folder, "job.toml"))
            text = job.read_text("utf-8")
            form = {"_screen": "measure", "_job": "job.toml", "_stamp": "", "_part": "1"}
            turns = count()

            def typed(
                bench: Bench = bench, text: str = text, form: dict[str, str] = form,
                turns: Iterator[int] = turns,
            ) -> Answer:  # fmt: skip
                words = {"_text": f"{text}# {next(turns)}\n"}  # a text that is in no cache
                return bench.answer(Request(method="POST", path="/try", form=form | words))

            milliseconds, _ = timed(typed, 25)
            say(f"{job.parent.name}: /try", milliseconds, "ms", TRY)
            for name in ("measure", "jigs", "check", "edge"):
                asked = Request(method="GET", path=f"/{name}")
                milliseconds, size = timed(lambda: bench.answer(asked), 5)  # noqa: B023
                say(f"{job.parent.name}: {name}", milliseconds, "ms", SCREEN)
                say(f"{job.parent.name}: {name}", size / 1024.0, "KiB", PAGE)
    own = PROJECT / "jiggen" / "page" / "own"
    say("style", (own / "style.css").stat().st_size / 1024.0, "KiB", STYLE)
    say("script", (own / "script.js").stat().st_size / 1024.0, "KiB", SCRIPT)


if __name__ == "__main__":
    main()
