"""`jiggen angles --json` against a bare Python that imports numpy and typer: 2 x at most."""

from __future__ import annotations

import sys

from clock import DEMO, jiggen, medians, say_ratio

TARGET = 1.5


def main() -> None:
    """Time both and print the ratio."""
    found = medians(
        {
            "angles": jiggen("angles", DEMO, "--json"),
            "floor": [sys.executable, "-c", "import numpy, typer"],
            "help": jiggen("--help"),
        },
        starts=15,
    )
    say_ratio("angles --json", found["angles"][0], found["floor"][0], TARGET)
    print(f"{'--help, for comparison':<34} {found['help'][0] * 1000:8.1f} ms")
    print(f"{'peak memory of angles --json':<34} {found['angles'][1]:8.1f} MB")


if __name__ == "__main__":
    main()
