"""The verdict as one JSON object: mm and degrees, full precision."""

from __future__ import annotations

import math
from typing import Any

from msgspec.structs import asdict

from jiggen.geometry.distortion import Distortion
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.proof.checks import Judged
from jiggen.proof.prove import Outcome, Proof
from jiggen.proof.sheets import SheetVerdict
from jiggen.report.record import degrees


def proof_as_json(proof: Proof, outcome: Outcome) -> dict[str, Any]:
    """Return the proof ready for JSON.

    Returns:
        The keys of the interface (``scale_x``, ``scale_y``, ``skew``: null where the readings
        cannot be used; ``pieces``, ``verdict``, ``reprint``), then ``answers`` (the last word on
        each piece), ``changed``, ``sheets``, ``pages_apart``, ``questions``, ``finished``,
        ``test_holes``, ``coupon``, ``readings``, ``notes``, ``readings_spent``, ``written`` and
        ``not_reprinted``: why a reprint that was asked for was not written, else null.
    """
    units, found = proof.units, proof.sheets.found
    asked = [("", q) for q in proof.coupon.questions] if proof.coupon else []
    asked += [(sheet.sheet, q) for sheet in proof.sheets.sheets for q in sheet.questions]
    asked += [(one.name, q) for one in (*proof.cut, *proof.holes) for q in one.questions]
    return {
        **_distortion(found.distortion if found else None),
        "pieces": [_lying(proof, p) for sheet in proof.sheets.sheets for p in sheet.pieces],
        "verdict": proof.verdict,
        "reprint": _distortion(proof.reprint),
        "answers": [
            {"name": a.name, "verdict": a.verdict, "by": a.stage, "why": a.why.said(units)}
            for a in proof.answers
        ],
        "changed": [asdict(changed) for changed in proof.changed],
        "sheets": [_sheet(sheet) for sheet in proof.sheets.sheets],
        "pages_apart": list(proof.sheets.apart),
        "questions": [
            {
                "sheet": where,
                "readings": list(q.readings),
                "likely": q.likely,
                "text": q.text.said(units),
            }
            for where, q in asked
        ],
        "finished": [_cut(proof, piece) for piece in proof.cut],
        "test_holes": [
            {
                "piece": hole.name,
                "tilt": hole.tilt and [math.degrees(v) for v in hole.tilt[0]],
                "plus_minus": hole.tilt and [math.degrees(v) for v in hole.tilt[1]],
                "drift": hole.drift and list(hole.drift),
                "worst_hole": hole.worst_hole,
                "verdict": hole.verdict,
                "why": hole.why.said(units),
            }
            for hole in proof.holes
        ],
        "coupon": _coupon(proof),
        "readings": [
            {
                "where": where,
                "name": one.name,
                "nominal": one.nominal,
                "measured": one.measured,
                "plus_minus": COVERAGE * one.standard,
            }
            for where, one in proof.given
        ],
        "notes": [note.said(units) for note in proof.notes],
        "readings_spent": proof.spent,
        "written": list(outcome.written),
        "not_reprinted": outcome.not_reprinted or outcome.nothing_to_correct or None,
    }


def _distortion(made: Distortion | None) -> dict[str, float | None]:
    return {
        "scale_x": made.scale_x if made else None,
        "scale_y": made.scale_y if made else None,
        "skew": math.degrees(made.skew) if made else None,
    }


def _lying(proof: Proof, piece: Judged) -> dict[str, Any]:
    worst, drawn = piece.worst, proof.record.pieces.get(piece.name)
    first = drawn.angles[0] if worst is None and drawn is not None and drawn.angles else None
    return {
        "name": piece.name,
        "angle_nominal": degrees(worst.nominal if worst else first.nominal if first else None),
        "angle_as_printed": degrees(worst.nominal + worst.error if worst else None),
        "plus_minus": degrees(worst.doubt if worst else None),
        "length_error_worst": piece.length_error_worst,
        "verdict": piece.verdict,
        "why": piece.why.said(proof.units),
        "sheet": piece.sheet,
        "angle_name": worst.what if worst else first.name if first else None,
    }


def _sheet(sheet: SheetVerdict) -> dict[str, Any]:
    found = sheet.found
    x, y, skew = found.standards if found else (None, None, None)
    return {
        "sheet": sheet.sheet,
        **_distortion(found.distortion if found else None),
        "plus_minus_scale_x": None if x is None else COVERAGE * x,
        "plus_minus_scale_y": None if y is None else COVERAGE * y,
        "plus_minus_skew": None if skew is None else math.degrees(COVERAGE * skew),
        "skew_measured": bool(found and found.skew_measured),
        "verdict": sheet.verdict,
    }


def _cut(proof: Proof, piece: Judged) -> dict[str, Any]:
    return {
        "name": piece.name,
        "angles": [
            {
                "name": a.name,
                "angle_nominal": math.degrees(a.nominal),
                "angle": math.degrees(a.value),
                "plus_minus": math.degrees(a.plus_minus),
                "drift": a.drift,
                "drift_plus_minus": a.drift_plus_minus,
                "hole": a.hole,
                "residuals": a.residuals,
                "determined": a.determined,
                "consistent": a.consistent,
                "missing": None if a.missing is None else list(a.missing),
                "verdict": a.verdict,
            }
            for a in piece.angles
        ],
        "length_error_worst": piece.length_error_worst,
        "worst_hole": piece.worst_hole,
        "verdict": piece.verdict,
        "why": piece.why.said(proof.units),
    }


def _coupon(proof: Proof) -> dict[str, Any] | None:
    found = proof.coupon
    if found is None or found.questions:
        return None
    sizes = {
        "kerf": found.kerf,
        "kerf_x": found.by_row.get("fingers-x"),
        "kerf_y": found.by_row.get("fingers-y"),
        "sheet": found.sheet,
    }
    record: dict[str, Any] = {}
    for name, size in sizes.items():
        record[name] = None if size is None else size.value
        record[f"plus_minus_{name}"] = None if size is None else COVERAGE * size.standard
    return {**record, "rows_alike": found.alike, "scale_by_bars": found.by_bars}
