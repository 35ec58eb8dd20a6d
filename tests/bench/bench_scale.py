"""How work grows with the job: 2,000 holes at 40 stations against 64 holes at 2; jobs a second."""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from clock import jiggen, medians, say_ratio

import jiggen as library

TARGET = 3.0
#: Four times the holes take no more than this many times as long to draw on a strip.
STRIP_TARGET = 5.0
JOBS = 200
DRAWN = 10


def job_text(holes: int, stations: int, name: str = "Long edge", twist: float = 0.0) -> str:
    """Return an invented job: skin angles that fall along a span of 26 mm a hole."""
    span = 26.0 * (holes + 1)
    places = [span * n / (stations - 1) for n in range(stations)]
    rows = "".join(
        "[[wedge.station]]\n"
        f"at = {at:.3f}\n"
        f"skin_angles = [{7.5 + twist - 2.0 * at / span:.4f}, {3.0 - 0.4 * at / span:.4f}]\n"
        "plus_minus = 0.05\n"
        for at in places
    )
    return (
        f'format = 1\nname = "{name}"\nunits = "mm"\n'
        f"[wedge]\nrear_thickness = 0.8\ndepth = 20.0\n{rows}"
        "[skin]\nthickness = 0.5\n"
        f'[holes]\ndrill = "#40"\nline = 8.0\nfirst = 15.0\npitch = 26.0\ncount = {holes}\n'
        "[cut]\nkerf = 0.15\n"
    )


def seconds(work: Callable[[], object], times: int = 9) -> float:
    """Return the median time of some work in this process."""
    found = []
    for _ in range(times):
        started = time.perf_counter()
        work()
        found.append(time.perf_counter() - started)
    return statistics.median(found)


def solved(text: str) -> object:
    """Read and solve a job."""
    return library.solve_job(library.read_job_text(text, "job.toml", "."))


def main() -> None:
    """Time both sizes as processes and in this one, then many jobs in a row."""
    small, large = job_text(64, 2), job_text(2000, 40)
    with tempfile.TemporaryDirectory() as folder:
        commands = {}
        for name, text in (("small", small), ("large", large)):
            job = Path(folder) / f"{name}.toml"
            job.write_text(text, "utf-8")
            commands[name] = jiggen("angles", job, "--json")
        found = medians(commands)
    say_ratio("angles --json, 2000 v. 64 holes", found["large"][0], found["small"][0], TARGET)
    print(f"{'peak memory, 2000 holes':<34} {found['large'][1]:8.1f} MB")
    times = [seconds(lambda text=text: solved(text)) for text in (large, small)]
    print(
        f"{'read and solve alone':<34} {times[0] * 1000:8.1f} ms  against {times[1] * 1000:8.1f} ms"
        f"  ratio {times[0] / times[1]:5.2f}"
    )
    texts = [job_text(64, 2, f"Edge {n}", twist=n / JOBS) for n in range(JOBS)]
    all_solved = seconds(lambda: [solved(text) for text in texts], times=3)
    print(f"{f'{JOBS} jobs read and solved':<34} {JOBS / all_solved:8.1f} jobs a second")
    strips = [solved(f"{job_text(holes, 2)}[strip]\n") for holes in (960, 240)]
    times = [seconds(lambda s=s: library.make_drawings(s, formats=("pdf",)), 3) for s in strips]
    say_ratio("a strip as pdf, 960 v. 240 holes", *times, STRIP_TARGET)
    for formats in (("pdf",), ("pdf", "svg", "dxf")):
        solutions = [solved(text) for text in texts[:DRAWN]]
        drawn = seconds(
            lambda some=solutions, kinds=formats: [
                library.make_drawings(one, formats=kinds) for one in some
            ],
            times=1,
        )
        what = f"drawn as {','.join(formats)}"
        print(f"{what:<34} {DRAWN / drawn:8.1f} jobs a second")


if __name__ == "__main__":
    main()
