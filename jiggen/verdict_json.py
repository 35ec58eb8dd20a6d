"""The verdict as one JSON object: mm and degrees, full precision."""

from __future__ import annotations

import math
from typing import Any

from jiggen.advice import spent_words
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.given import Given
from jiggen.proof import Outcome, Proof
from jiggen.verify import USE, FinishedPiece, verdict_as_json


def proof_as_json(proof: Proof, outcome: Outcome | None = None) -> dict[str, Any]:
    """Return the proof ready for JSON: mm and degrees, full precision.

    Args:
        proof: what was judged.
        outcome: what was written beside the verdict; None for nothing.

    Returns:
        The keys of the interface (``verdict`` is ``use`` where a coupon alone was measured and
        gave its kerf), then ``sheets`` and ``questions``, then ``finished``,
        ``test_holes``, ``coupon``, ``readings``, ``notes``, ``drawings_found`` (false where the
        verdict is for the job as it is now, as no drawings lay in the folder), ``readings_spent``
        (they corrected the print that lies there now), ``written`` and ``not_reprinted``: why a
        reprint that was asked for was not written, else null.
    """
    outcome = outcome or Outcome()
    notes = [note for note in (proof.absent, spent_words(proof), *proof.notes) if note]
    return {
        **verdict_as_json(proof.printed),
        "verdict": USE if proof.coupon_alone else proof.verdict,
        "finished": [_finished_as_json(proof, p) for p in proof.finished],
        "test_holes": [_test_hole_as_json(proof, name) for name in proof.test_holes],
        "coupon": _coupon_as_json(proof),
        "readings": [_given_as_json(one) for one in proof.given],
        "notes": notes,
        "drawings_found": not proof.absent,
        "readings_spent": proof.spent,
        "written": list(outcome.written),
        "not_reprinted": outcome.not_reprinted or outcome.nothing_to_correct or None,
    }


def _finished_as_json(proof: Proof, piece: FinishedPiece) -> dict[str, Any]:
    hole = proof.served.get(piece.name)
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
        "worst_hole": hole.hole if hole else None,
        "verdict": piece.verdict,
        "why": piece.why,
    }


def _test_hole_as_json(proof: Proof, name: str) -> dict[str, Any]:
    t, hole = proof.test_holes[name], proof.served.get(name)
    return {
        "piece": name,
        "tilt": [math.degrees(v) for v in t.tilt],
        "plus_minus": [math.degrees(v) for v in t.plus_minus],
        "drift": None if t.drift is None else list(t.drift),
        "worst_hole": hole.hole if hole else None,
        "verdict": t.verdict,
        "why": t.why,
    }


def _coupon_as_json(proof: Proof) -> dict[str, Any] | None:
    found = proof.coupon
    if found is None:
        return None
    sizes = {
        "kerf": found.kerf,
        "kerf_x": found.kerf_x,
        "kerf_y": found.kerf_y,
        "sheet": found.sheet,
    }
    record: dict[str, Any] = {}
    for name, size in sizes.items():
        record[name] = None if size is None else size.value
        record[f"plus_minus_{name}"] = None if size is None else COVERAGE * size.standard
    return {**record, "rows_alike": found.alike, "scale_by_bars": found.by_bars}


def _given_as_json(one: Given) -> dict[str, Any]:
    return {
        "where": one.where,
        "name": one.name,
        "nominal": one.nominal,
        "measured": one.measured,
        "plus_minus": one.plus_minus,
    }
