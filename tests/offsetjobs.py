"""Jobs as text, as a user would write them: the wedge by offsets, so that it can lean."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path

from jiggen.job.read import read_job_text
from jiggen.solution import Solution
from jiggen.solve import solve


def job_text(
    a: float = 5.7,
    b: float = 5.7,
    *,
    lean_a: float = 0.0,
    lean_b: float = 0.0,
    rear: float = 0.8,
    depth: float = 20.0,
    line: float = 8.0,
    pitch: float = 26.0,
    count: int = 5,
    drill: str = "#40",
    units: str = "mm",
    sections: Mapping[str, str] | None = None,
) -> str:
    """Return a job file's text: skin and lean angles in degrees, lengths in mm.

    Args:
        a: skin angle of side A.
        b: of side B.
        lean_a: how far side A climbs along the row, toward the last hole.
        lean_b: the same of side B.
        rear: thickness at the trailing edge, at hole 1 at least.
        depth: of the solid wedge.
        line: distance of the holes forward of the trailing edge.
        pitch: of the holes.
        count: of the holes.
        drill: as the shop calls it.
        units: of the file; the lengths are in mm all the same.
        sections: further lines by section, ``{"block": 'index = "round"'}``.
    """
    end = 30.0 + pitch * (count - 1)
    climbs = [math.tan(math.radians(x)) * end for x in (lean_a, lean_b)]
    rises = [math.tan(math.radians(x)) * 20.0 for x in (a, b)]
    stations = []
    for at, share in ((0.0, 0.0), (end, 1.0)):
        # Where a side falls along the row it begins so much higher.
        rears = [rear / 2 + max(-climb, 0.0) + share * climb for climb in climbs]
        fronts = [low + rise for low, rise in zip(rears, rises, strict=True)]
        stations.append(
            f'[[wedge.station]]\nat = "{at} mm"\noffsets = {{ front = {_pair(fronts)}, '
            f'rear = {_pair(rears)}, width = "20 mm" }}\nrear_at = 0\n'
        )
    more = {
        "wedge": f'depth = "{depth} mm"',
        "holes": f'drill = "{drill}"\nline = "{line} mm"\nfirst = "15 mm"\n'
        f'pitch = "{pitch} mm"\ncount = {count}',
        "skin": 'thickness = "0.5 mm"',
    }
    for name, lines in (sections or {}).items():
        more[name] = f"{more.get(name, '')}\n{lines}".strip()
    text = f'format = 1\nname = "Trial edge"\nunits = "{units}"\nsides = ["upper", "lower"]\n'
    text += f"[wedge]\n{more.pop('wedge')}\n" + "".join(stations)
    return text + "".join(f"[{name}]\n{lines}\n" for name, lines in more.items())


def solved(*args: float, **more: object) -> Solution:
    """Return a job of `job_text`, solved."""
    return solve(read_job_text(job_text(*args, **more), "trial.toml", Path()))  # type: ignore[arg-type]


def _pair(values: list[float]) -> str:
    return "[" + ", ".join(f'"{value:.9f} mm"' for value in values) + "]"
