"""The verdict as the JSON object that other programs read: mm and degrees, full precision."""

from __future__ import annotations

import math
from typing import Any

from jiggen.geometry.distortion import Distortion
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.verify.sheet import PieceVerdict, SheetVerdict, Verdict


def verdict_as_json(verdict: Verdict) -> dict[str, Any]:
    """Return the verdict as the interface lays it down: mm and degrees, full precision.

    Args:
        verdict: of `judge_sheets`.

    Returns:
        ``scale_x``, ``scale_y``, ``skew`` (null where the readings cannot be used), ``pieces``,
        ``verdict``, ``reprint``, and beyond that ``sheets`` with each sheet's own map and
        uncertainty, ``pages_apart`` (those that did not come out alike), and ``questions``.
    """
    found = verdict.found.distortion if verdict.found else None
    return {
        **_distortion_as_json(found),
        "pieces": [_piece_as_json(p) for sheet in verdict.sheets for p in sheet.pieces],
        "verdict": verdict.verdict,
        "reprint": _distortion_as_json(verdict.reprint),
        "sheets": [_sheet_as_json(sheet) for sheet in verdict.sheets],
        "pages_apart": list(verdict.apart),
        "questions": [
            {
                "sheet": sheet.sheet,
                "readings": list(q.readings),
                "likely": q.likely,
                "text": str(q.text),
            }
            for sheet in verdict.sheets
            for q in sheet.questions
        ],
    }


def _distortion_as_json(made: Distortion | None) -> dict[str, float | None]:
    return {
        "scale_x": made.scale_x if made else None,
        "scale_y": made.scale_y if made else None,
        "skew": math.degrees(made.skew) if made else None,
    }


def _degrees(radians: float | None) -> float | None:
    return None if radians is None else math.degrees(radians)


def _piece_as_json(piece: PieceVerdict) -> dict[str, Any]:
    return {
        "name": piece.name,
        "angle_nominal": _degrees(piece.angle_nominal),
        "angle_as_printed": _degrees(piece.angle_as_printed),
        "plus_minus": _degrees(piece.plus_minus),
        "length_error_worst": piece.length_error_worst,
        "verdict": piece.verdict,
        "why": str(piece.why),
        "sheet": piece.sheet,
        "angle_name": piece.angle_name or None,
    }


def _sheet_as_json(sheet: SheetVerdict) -> dict[str, Any]:
    found = sheet.found
    x, y, skew = found.standards if found else (None, None, None)
    return {
        "sheet": sheet.sheet,
        **_distortion_as_json(found.distortion if found else None),
        "plus_minus_scale_x": None if x is None else COVERAGE * x,
        "plus_minus_scale_y": None if y is None else COVERAGE * y,
        "plus_minus_skew": None if skew is None else math.degrees(COVERAGE * skew),
        "skew_measured": bool(found and found.skew_measured),
        "residuals": dict(zip(sheet.bars, found.residuals, strict=True)) if found else {},
        "verdict": sheet.verdict,
    }
