"""Jobs at the ends of what a builder may bring, as job files: every page must hold on all of them.

Each is the same invented edge with one thing driven far: paper, units, taper, length, names, sheet.
"""

from __future__ import annotations

import re
from pathlib import Path

from jiggen.job.read import read_job_text
from jiggen.solution import Solution
from jiggen.solve import solve

PLAIN = """
format = 1
name = "Fence flap, port"
units = "mm"
sides = ["outer", "inner"]
[wedge]
rear_thickness = 0.9
depth = 24.0
[[wedge.station]]
skin_angles = [4.6, 3.4]
[skin]
thickness = 0.6
[holes]
drill = "#30"
line = 9.0
first = 14.0
pitch = 28.0
count = 20
keep_out = [1, 20]
passes = 2
[stock]
length = 640.0
first = 21.0
pitch = 28.0
count = 22
lightening = { first = 35.0, pitch = 56.0, count = 11, diameter = 9.0, line = 17.0 }
trim = [0.0, 560.0]
fairing = 6.0
[gauge]
[strip]
[block]
bore = "6.35 mm"
[rivet]
size = "-4"
[sequence]
[[row]]
name = "Rib 2, flange"
first = 10.0
pitch = 22.0
count = 17
keep_out = [17]
[print]
paper = "a4"
[cut]
sheet = 3.0
kerf = 0.15
bed = [600, 400]
"""


def changed(**changes: str) -> str:
    """Return the plain job with keys set; `section__key` for one in a section."""
    text = PLAIN
    for name, value in changes.items():
        section, _, key = name.rpartition("__")
        start = text.index(f"[{section}]") if section else 0
        head, tail = text[:start], text[start:]
        key = key.replace("__", ".")
        new, count = re.subn(
            rf"(?m)^{key} = .*$", lambda _, k=key, v=value: f"{k} = {v}", tail, count=1
        )
        if not count:
            new = tail.replace("]\n", f"]\n{key} = {value}\n", 1)
        text = head + new
    return text


def row(count: int, pitch: float, **more: str) -> str:
    """Return the plain job with another row of holes, and stock to go with it."""
    part = 14.0 + pitch * (count - 1) + 16.0
    changes = {
        "holes__pitch": f"{pitch}", "holes__count": f"{count}",
        "holes__keep_out": f"[1, {count}]" if count > 2 else "[]",
        "stock__length": f"{part + 80.0}", "stock__first": "21.0", "stock__pitch": f"{pitch}",
        "stock__count": f"{count + int(60 / pitch)}", "stock__trim": f"[0.0, {part}]",
        "stock__lightening": "[{ at = 40.0, diameter = 8.0, line = 17.0 }]",
    }  # fmt: skip
    return changed(**(changes | more))


IN_INCHES = """
format = 1
name = "Fence flap, starboard"
units = "in"
sides = ["outer", "inner"]
[wedge]
rear_thickness = 0.035
depth = 0.94
[[wedge.station]]
skin_angles = [4.6, 3.4]
[skin]
thickness = 0.025
[holes]
drill = "#30"
line = 0.36
first = 0.56
pitch = 1.125
count = 20
keep_out = [1, 20]
[stock]
length = 25.0
lightening = { first = 1.4, pitch = 2.25, count = 10, diameter = 0.35, line = 0.66 }
trim = [0.0, 22.5]
fairing = 0.25
[gauge]
[strip]
[block]
bore = "0.3140 in"
[sequence]
side = "hole"
[[row]]
name = "Spar web"
pitch = 1.0
count = 30
order = "ends-in"
[print]
paper = "letter"
[cut]
sheet = "1/8 in"
kerf = "0.006 in"
bed = [24, 16]
"""

LONG_SIDES = '["outboard-upper-face-skin", "outboard-lower-face-skin"]'
LONG_NAME = '"A rather long name of a job that a tidy builder might write down, and then some"'

JOBS: dict[str, str] = {
    "plain": PLAIN,
    "a5 upright": changed(print__paper="[148, 210]"),
    "a5 lying": changed(print__paper="[210, 148]"),
    "a3": changed(print__paper='"a3"'),
    "tabloid": changed(print__paper="[279.4, 431.8]"),
    "inches": IN_INCHES,
    "1.5 deg a side": changed(wedge__skin_angles="[1.5, 1.5]"),
    "40 deg a side": changed(wedge__skin_angles="[40.0, 40.0]", wedge__depth="60.0"),
    "3.2 m, 130 holes": row(130, 24.6),
    "two holes": row(2, 28.0),
    "crowded holes": row(60, 9.0),
    "very crowded holes": row(120, 5.0, holes__drill='"2 mm"'),
    "side names of 12 letters": changed(sides='["outboardtop1", "outboardlow2"]'),
    "side names of 24 letters": changed(sides=LONG_SIDES),
    "job name of 80": changed(name=LONG_NAME),
    "sheet of 1": changed(cut__sheet="1.0"),
    "sheet of 12": changed(cut__sheet="12.0"),
    "narrow bed": changed(cut__bed="[130, 400]"),
    "zero at the left": changed(strip__zero='"left"'),
    "side b": changed(strip__side='"b"', strip__roll="false"),
    "line far forward": changed(holes__line="17.0", stock__lightening="[]"),
}  # fmt: skip


def solution_of(name: str, folder: Path = Path()) -> Solution:
    """Return one of the extreme jobs, solved."""
    return solve(read_job_text(JOBS[name], f"{name}.toml", folder))
