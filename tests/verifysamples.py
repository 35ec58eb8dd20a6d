"""Invented sheets for the tests of verdicts and readings: records as a drawing carries them."""

import math
from typing import Any

import pytest

from jiggen.errors import JobError
from jiggen.readings import read_readings_text
from jiggen.verify import RecordedSheet, SheetReadings, readings_of_options, recorded_sheets
from jiggen.verify import sheet_readings as matched

ANGLE = 84.3


def corner_points(angle: float, foot: float = 60.0, edge: float = 50.0) -> dict[str, Any]:
    """Return the four corners of a guide: base A to B, working edge C to D, A the corner's tip."""
    up = (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    return {
        "A": (0.0, 0.0),
        "B": (foot, 0.0),
        "C": (3 * up[0], 3 * up[1]),
        "D": (edge * up[0], edge * up[1]),
    }


def length(name: str, start: Any, end: Any, *, bar: bool = False) -> dict[str, Any]:
    ends = [list(start), list(end)]
    return {"name": name, "nominal": math.dist(start, end), "ends": ends, "bar": bar}


def guide(name: str = "guide-a1", turn: float = 0.0, angle: float = ANGLE) -> dict[str, Any]:
    """Return the record of an angle guide that lies turned by `turn` degrees on its page."""
    t = math.radians(turn)
    at = {
        letter: (
            80 + p[0] * math.cos(t) - p[1] * math.sin(t),
            90 + p[0] * math.sin(t) + p[1] * math.cos(t),
        )
        for letter, p in corner_points(angle).items()
    }
    sizes = [length(f"{p}-{q}", at[p], at[q]) for p, q in ("AB", "AD", "BD", "BC", "CD")]
    sizes.append(length("bar-x-50-mm", (85, 95), (135, 95), bar=True))
    sizes.append(length("bar-y-30-mm", (85, 95), (85, 125), bar=True))
    edges = {"base": [at["A"], at["B"]], "working": [at["C"], at["D"]]}
    forward = {"name": "forward", "nominal": angle, **edges}
    return {"name": name, "kind": "guide", "angles": [forward], "dimensions": sizes}


def strip(name: str = "strip-a") -> dict[str, Any]:
    """Return the record of a hole strip 160 mm long."""
    sizes = [length("over-all", (20, 240), (180, 240))]
    return {"name": name, "kind": "strip", "angles": [], "dimensions": sizes}


def sheet_bars(y_length: float = 100.0) -> list[dict[str, Any]]:
    return [
        length("bar-x", (20, 20), (120, 20), bar=True),
        length("bar-y", (15, 20), (15, 20 + y_length), bar=True),
        length("bar-x-in", (20, 25), (121.6, 25), bar=True),
        length("diagonal-1", (90, 100), (190, 200), bar=True),
        length("diagonal-2", (90, 200), (190, 100), bar=True),
    ]


def manifest(
    *pages: list[dict[str, Any]], bars: list[dict[str, Any]] | None = None
) -> dict[str, Any]:
    """Return a manifest: a page for each list of pieces, and a bed with two copies of a guide."""
    records = [
        {
            "page": number,
            "sheet": f"page {number}",
            "pieces": pieces,
            "dimensions": bars or sheet_bars(),
        }
        for number, pieces in enumerate(pages or ([guide(), strip()],), start=1)
    ]
    bed = {"sheet": "cut-1", "pieces": [guide(), guide()], "dimensions": []}
    files = [
        {"file": "cut-1.dxf", "format": "dxf", "sheets": [bed]},
        {"file": "cut-1.svg", "format": "svg", "sheets": [bed]},
        {"file": "pieces/guide-a1.svg", "format": "svg", "sheets": [bed]},
        {"file": "print.pdf", "format": "pdf", "sheets": records},
    ]
    return {"jiggen": 1, "job": "demo flap", "files": files}


def page(*pieces: dict[str, Any], bars: list[dict[str, Any]] | None = None) -> RecordedSheet:
    """Return one page with these pieces on it."""
    return recorded_sheets(manifest(list(pieces) or [guide(), strip()], bars=bars))[0]


def read_on(sheet: RecordedSheet, step: float = 0.5, **lengths: float) -> SheetReadings:
    """Return what was measured on a sheet, by the words of the command line."""
    readings, strange = matched(sheet, readings_of_options(sheet, step=step, **lengths))
    assert strange == ()
    return readings


#: Two pages and a bed, as a form is filled in for them.
DRAWN = manifest([guide(), strip()], [guide("guide-b1")])


def filled(text: str, name: str, measured: str) -> str:
    """Return the form with the first blank after this name filled in."""
    start = text.index(f'name = "{name}"')
    blank = text.index('measured = ""', start)
    return text[:blank] + f"measured = {measured}" + text[blank + len('measured = ""') :]


def faults_of(text: str, drawn: dict[str, Any] = DRAWN) -> dict[str, str]:
    """Return the faults of a readings file by their keys."""
    with pytest.raises(JobError) as caught:
        read_readings_text(text, "readings.toml", drawn)
    assert all(fault.file == "readings.toml" for fault in caught.value.faults)
    return {fault.key: str(fault) for fault in caught.value.faults}
