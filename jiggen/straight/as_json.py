"""A judged survey as plain values for JSON: lengths in mm, angles in degrees, full precision."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from jiggen.geometry.bow import Twist, bows
from jiggen.geometry.straightness import Deviation, Line, Straightness
from jiggen.straight.judge import Held, Judged

FORMAT = 1


def straight_as_json(judged: Judged, written: Sequence[str] = ()) -> dict[str, Any]:
    """Return what ``jiggen straight --json`` prints.

    Args:
        judged: the survey.
        written: paths of what was written.

    Returns:
        Lengths in mm, angles in degrees, whatever the file's units; null where it is not known.
    """
    survey, said = judged.survey, judged.survey.settings
    over = None if judged.stretch is None else list(judged.stretch)
    return {
        "format": FORMAT,
        "name": survey.name,
        "ways": list(survey.ways),
        "lines": {name: _line(line) for name, line in judged.lines.items()},
        "middle": None if judged.bow is None else _line(judged.bow),
        "bows": [_deviation(bow) for bow in bows(judged.shape, judged.doubt or 0.0)],
        "twist": None if judged.twist is None else _twist(judged.twist),
        "thickness_change": (
            None if judged.thickness_change is None else judged.thickness_change.tolist()
        ),
        "straightedge": None if judged.own is None else _line(judged.own),
        "limit_on": said.limit_on or "zone",
        "worst_line": judged.worst,
        "worst_stretch": over,
        "held": _held(judged.held),
        "twist_held": None if judged.twist_held is None else _held(judged.twist_held, math.degrees),
        "read_again": {name: _deviation(one) for name, one in judged.questions.items()},
        "verdict": judged.verdict,
        "written": list(written),
    }


def _line(line: Straightness) -> dict[str, Any]:
    return {
        "position": line.at.tolist(),
        "deviation": line.off.tolist(),
        "least_squares": {
            **_straight(line.least_squares),
            "range": line.least_squares_range,
            "largest": _deviation(line.least_squares_largest),
        },
        "ends": {
            **_straight(line.ends),
            "range": line.ends_range,
            "largest": _deviation(line.largest),
        },
        "minimum_zone": {
            **_straight(line.zone.middle),
            "width": line.zone.width,
            "touches": list(line.zone.touches),
        },
    }


def _straight(line: Line) -> dict[str, float]:
    return {"slope": line.slope, "at_zero": line.height}


def _deviation(one: Deviation) -> dict[str, float]:
    return {"position": one.at, "value": one.value}


def _twist(twist: Twist) -> dict[str, Any]:
    return {
        "position": twist.at.tolist(),
        "angle": [math.degrees(a) for a in twist.angle.tolist()],
        "end_to_end": math.degrees(twist.end_to_end),
        "largest": math.degrees(twist.largest),
        "per_mm": math.degrees(twist.rate),
    }


def _held(held: Held, turned: Any = float) -> dict[str, Any]:
    numbers = {"value": held.value, "limit": held.limit, "plus_minus": held.doubt}
    return {
        **{key: None if value is None else turned(value) for key, value in numbers.items()},
        "verdict": held.verdict,
    }
