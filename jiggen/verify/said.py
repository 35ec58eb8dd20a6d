"""Verdicts with their sentences in the job's own unit.

Whoever has an inch rule in his hand should not have to work out a reason given in millimetres.
Most sentences are made in mm; what is not yet in inches where the job is becomes so here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import partial

from jiggen.geometry.plausible import Question
from jiggen.units import in_units
from jiggen.verify.hole import TestHoleVerdict
from jiggen.verify.piece import FinishedPiece
from jiggen.verify.sheet import SheetVerdict, Verdict

PLACES = 4
"""Decimals of an inch: a doubt of 0.01 mm would vanish with fewer."""


def verdict_in(verdict: Verdict, units: str) -> Verdict:
    """Return a verdict on sheets with its sentences in a unit.

    Args:
        verdict: of `judge_sheets`.
        units: ``mm`` or ``in``.
    """
    if units == "mm":
        return verdict
    return replace(verdict, sheets=tuple(_sheet_in(sheet, units) for sheet in verdict.sheets))


def finished_in(piece: FinishedPiece, units: str) -> FinishedPiece:
    """Return a verdict on a cut piece with its sentences in a unit.

    Args:
        piece: of `judge_finished`.
        units: ``mm`` or ``in``.
    """
    why, asked = in_units(piece.why, units, PLACES), _asked_in(piece.questions, units)
    return replace(piece, why=why, questions=asked)


def hole_in(hole: TestHoleVerdict, units: str) -> TestHoleVerdict:
    """Return a verdict on test holes with its reason in a unit.

    Args:
        hole: of `judge_test_holes`.
        units: ``mm`` or ``in``.
    """
    why, asked = in_units(hole.why, units, PLACES), _asked_in(hole.questions, units)
    return replace(hole, why=why, questions=asked)


def _sheet_in(sheet: SheetVerdict, units: str) -> SheetVerdict:
    say = partial(in_units, units=units, places=PLACES)
    pieces = tuple(replace(p, why=say(p.why), to_decide=say(p.to_decide)) for p in sheet.pieces)
    return replace(sheet, pieces=pieces, questions=_asked_in(sheet.questions, units))


def _asked_in(questions: Iterable[Question], units: str) -> tuple[Question, ...]:
    return tuple(replace(q, text=in_units(q.text, units, PLACES)) for q in questions)
