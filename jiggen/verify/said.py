"""Verdicts with their sentences said in the job's own unit: the one place where that is done.

Whoever has an inch rule in his hand should not have to work out a reason given in millimetres.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from jiggen.errors import say
from jiggen.geometry.plausible import Question
from jiggen.verify.hole import TestHoleVerdict
from jiggen.verify.piece import FinishedPiece
from jiggen.verify.sheet import SheetVerdict, Verdict


def verdict_in(verdict: Verdict, units: str) -> Verdict:
    """Return a verdict on sheets with its sentences in a unit.

    Args:
        verdict: of `judge_sheets`.
        units: ``mm`` or ``in``.
    """
    return replace(verdict, sheets=tuple(_sheet_in(sheet, units) for sheet in verdict.sheets))


def finished_in(piece: FinishedPiece, units: str) -> FinishedPiece:
    """Return a verdict on a cut piece with its sentences in a unit.

    Args:
        piece: of `judge_finished`.
        units: ``mm`` or ``in``.
    """
    asked = _asked_in(piece.questions, units)
    return replace(piece, why=say(piece.why, units), questions=asked)


def hole_in(hole: TestHoleVerdict, units: str) -> TestHoleVerdict:
    """Return a verdict on test holes with its reason in a unit.

    Args:
        hole: of `judge_test_holes`.
        units: ``mm`` or ``in``.
    """
    asked = _asked_in(hole.questions, units)
    return replace(hole, why=say(hole.why, units), questions=asked)


def _sheet_in(sheet: SheetVerdict, units: str) -> SheetVerdict:
    pieces = tuple(
        replace(p, why=say(p.why, units), to_decide=say(p.to_decide, units)) for p in sheet.pieces
    )
    return replace(sheet, pieces=pieces, questions=_asked_in(sheet.questions, units))


def _asked_in(questions: Iterable[Question], units: str) -> tuple[Question, ...]:
    return tuple(replace(q, text=say(q.text, units)) for q in questions)
