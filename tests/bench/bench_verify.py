"""`jiggen verify` on a 64-hole job against a bare Python with numpy and typer: 2 x at most."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from bench_scale import job_text
from clock import jiggen, medians, one_run, say_ratio

TARGET = 2.0

#: A page of guides that came out true, to the step of a rule.
READINGS = ("--bar-x", "100", "--bar-y", "100", "--diagonal-1", "300", "--diagonal-2", "300")


def main() -> None:
    """Time the verdict on drawings that are there, as a report and as JSON, and the floor."""
    with tempfile.TemporaryDirectory() as place:
        job, out = Path(place) / "job.toml", Path(place) / "out"
        job.write_text(job_text(64, 2), "utf-8")
        one_run(jiggen("make", job, "--only", "guide", "--out", out))
        verify = jiggen("verify", job, "--out", out, *READINGS)
        found = medians(
            {
                "json": [*verify, "--json"],
                "report": verify,
                "floor": [sys.executable, "-c", "import numpy, typer"],
            },
            starts=15,
        )
    say_ratio("verify --json, 64 holes", found["json"][0], found["floor"][0], TARGET)
    say_ratio("verify, as a report", found["report"][0], found["floor"][0], TARGET)
    print(f"{'peak memory of verify --json':<34} {found['json'][1]:8.1f} MB")


if __name__ == "__main__":
    main()
