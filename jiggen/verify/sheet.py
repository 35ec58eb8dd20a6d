"""What came off the printer, piece by piece: use it, do not use it, or the readings cannot tell.

A page that is a little small all over changes no angle: its guides are good and its strips are
not. A page that is stretched along one axis bends the guides, and how much depends on how each
lies. So every piece gets a verdict of its own, from the sheet's bars, with the doubt that the
rule leaves.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from jiggen.geometry.distortion import (
    Bar,
    Distortion,
    Estimate,
    estimate,
    printed_angle,
    printed_length,
)
from jiggen.geometry.leastsquares import COVERAGE, standard_from_step
from jiggen.geometry.plausible import Question, questions
from jiggen.verify.records import PlacedPiece, RecordedSheet, SheetReadings

USE, DO_NOT_USE, CANNOT_TELL = "use", "do not use", "cannot tell"

DEFAULT_ALLOWED_ANGLE = math.radians(0.5)
"""Angle error allowed where the piece's record does not say: the step of a workshop protractor."""

DEFAULT_ALLOWED_LENGTH: Mapping[str, float] = {"block": 0.2, "wrap": 0.3, "strip": 0.25}
"""mm by kind, for pieces whose length counts: a hole of a strip must stay inside the punched
hole's edge, a block must lie flat and take its bushing. Common practice, no published source."""

OTHER_ALLOWED_LENGTH = 0.25
"""mm, for a piece without check angles whose kind is not listed."""

FINER_STEPS = (0.05, 0.02)
"""mm: callliper steps that are proposed where a rule cannot decide."""

UNIFORM = 0.002
"""Scales along x and y that are this close are called uniform, in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceVerdict:
    """The verdict on one piece as it lies on its sheet.

    Attributes:
        name: of the piece.
        kind: which jig made it.
        sheet: where it lies.
        angle_nominal: of the check angle that came out worst, radians; None without angles.
        angle_as_printed: the same angle on the sheet, radians; None where it is not known.
        plus_minus: about 95 %, radians.
        length_error_worst: the largest error of its check dimensions, mm, without sign.
        verdict: ``use``, ``do not use`` or ``cannot tell``.
        why: in plain words.
    """

    name: str
    kind: str
    sheet: str
    angle_nominal: float | None
    angle_as_printed: float | None
    plus_minus: float | None
    length_error_worst: float | None
    verdict: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetVerdict:
    """The verdict on one sheet.

    Attributes:
        sheet: its name.
        found: what the printer did to it; None where the readings are asked about or missing.
        questions: readings that are asked about, not averaged in.
        pieces: a verdict for each piece on it.
        bars: the readings that `found` came from.
        printed: paper, not cut material.
    """

    sheet: str
    found: Estimate | None
    questions: tuple[Question, ...]
    pieces: tuple[PieceVerdict, ...]
    bars: dict[str, Bar] = field(default_factory=dict)
    printed: bool = True

    @property
    def verdict(self) -> str:
        """Return the worst verdict of its pieces."""
        return worst_of([piece.verdict for piece in self.pieces])


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The verdict on all sheets that were measured or should have been.

    Attributes:
        sheets: one verdict each.
        found: what the printer did, from the readings of all pages together; None if no page
            has readings that can be used.
        reprint: what the next print is corrected for: the correction that these pages were
            printed with, refined by what was found.
    """

    sheets: tuple[SheetVerdict, ...]
    found: Estimate | None
    reprint: Distortion

    @property
    def verdict(self) -> str:
        """Return the worst verdict of all pieces."""
        return worst_of([sheet.verdict for sheet in self.sheets if sheet.pieces])


def worst_of(verdicts: Sequence[str]) -> str:
    """Return the verdict on a whole: one bad piece condemns it, one doubtful one leaves doubt."""
    for word in (DO_NOT_USE, CANNOT_TELL):
        if word in verdicts:
            return word
    return USE if verdicts else CANNOT_TELL


def judge_sheets(
    sheets: Sequence[RecordedSheet],
    readings: Mapping[str, SheetReadings],
    *,
    printed_with: Distortion | None = None,
) -> Verdict:
    """Judge every piece on every sheet, and work out the correction for a reprint.

    Args:
        sheets: as drawn.
        readings: what was measured, by name of the sheet; a sheet may be missing.
        printed_with: the correction that the pages were printed with; none if left out.

    Returns:
        The verdict. The reprint's correction comes from the pages alone, never from cut sheets.
    """
    before = printed_with or Distortion()
    judged = tuple(
        judge_sheet(sheet.pieces, readings.get(sheet.name), sheet=sheet.name, printed=sheet.printed)
        for sheet in sheets
    )
    bars = [bar for v in judged if v.found and v.printed for bar in v.bars.values()]
    found = estimate(bars) if bars else None
    after = found.distortion if found else Distortion()
    return Verdict(sheets=judged, found=found, reprint=before.combined(after=after))


def judge_sheet(
    pieces: Sequence[PlacedPiece],
    readings: SheetReadings | None,
    *,
    allowed_angle: Mapping[str, float] | None = None,
    allowed_length: Mapping[str, float] | None = None,
    sheet: str = "page 1",
    printed: bool = True,
) -> SheetVerdict:
    """Judge the pieces on one sheet from its bars and diagonals.

    Args:
        pieces: as they lie on the sheet.
        readings: what was measured on it, or None.
        allowed_angle: largest angle error by piece name, radians; for the others the piece's own
            or `DEFAULT_ALLOWED_ANGLE`.
        allowed_length: largest length error by kind, mm; for the others the piece's own or
            `DEFAULT_ALLOWED_LENGTH`.
        sheet: its name.
        printed: whether it is paper.

    Returns:
        The verdict. Guides are judged by angle only: a uniform error of scale changes none.
    """
    bars = readings.bars if readings else {}
    limits = _Limits(by_name=allowed_angle or {}, by_kind=allowed_length or {})
    asked = questions(bars) if bars else ()
    if asked or not bars or readings is None:
        why = "; ".join(q.text for q in asked) or (
            f"nothing was measured on {sheet}: measure its two bars and its two diagonals"
        )
        verdicts = tuple(_unknown(piece, sheet, why) for piece in pieces)
        return SheetVerdict(
            sheet=sheet, found=None, questions=asked, pieces=verdicts, bars=bars, printed=printed
        )
    found = estimate(list(bars.values()))
    verdicts = tuple(_judge(piece, sheet, found, readings, limits) for piece in pieces)
    return SheetVerdict(
        sheet=sheet, found=found, questions=(), pieces=verdicts, bars=bars, printed=printed
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Limits:
    by_name: Mapping[str, float]
    by_kind: Mapping[str, float]

    def angle(self, piece: PlacedPiece) -> float:
        own = DEFAULT_ALLOWED_ANGLE if piece.allowed_angle is None else piece.allowed_angle
        return self.by_name.get(piece.name, own)

    def length(self, piece: PlacedPiece) -> float | None:
        """Return the largest length error, mm; None for a piece whose length does not count."""
        if piece.kind in self.by_kind:
            return self.by_kind[piece.kind]
        if piece.angles and piece.kind not in DEFAULT_ALLOWED_LENGTH:
            return None
        if piece.allowed_length is not None:
            return piece.allowed_length
        return DEFAULT_ALLOWED_LENGTH.get(piece.kind, OTHER_ALLOWED_LENGTH)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Test:
    """One thing about a piece that must hold: an error with its doubt against its limit."""

    what: str
    nominal: float
    error: float
    doubt: float
    limit: float

    @property
    def verdict(self) -> str:
        if abs(self.error) + self.doubt <= self.limit:
            return USE
        return DO_NOT_USE if abs(self.error) - self.doubt > self.limit else CANNOT_TELL


def _unknown(piece: PlacedPiece, sheet: str, why: str) -> PieceVerdict:
    return PieceVerdict(
        name=piece.name,
        kind=piece.kind,
        sheet=sheet,
        angle_nominal=piece.angles[0].nominal if piece.angles else None,
        angle_as_printed=None,
        plus_minus=None,
        length_error_worst=None,
        verdict=CANNOT_TELL,
        why=why,
    )


def _judge(
    piece: PlacedPiece, sheet: str, found: Estimate, readings: SheetReadings, limits: _Limits
) -> PieceVerdict:
    """Judge one piece on a sheet whose readings can be used."""
    angles = _angle_tests(piece, found, limits)
    lengths = _length_tests(piece, found, limits.length(piece))
    counted = [*angles, *(lengths if limits.length(piece) is not None else [])]
    worst_angle = max(angles, key=lambda t: abs(t.error) + t.doubt, default=None)
    worst_length = max((abs(t.error) for t in lengths), default=None)
    verdict = worst_of([test.verdict for test in counted])
    if verdict == USE and not all(found.scales_measured):
        verdict = CANNOT_TELL
    return PieceVerdict(
        name=piece.name,
        kind=piece.kind,
        sheet=sheet,
        angle_nominal=worst_angle.nominal if worst_angle else None,
        angle_as_printed=worst_angle.nominal + worst_angle.error if worst_angle else None,
        plus_minus=worst_angle.doubt if worst_angle else None,
        length_error_worst=worst_length,
        verdict=verdict,
        why=_why(piece, verdict, counted, found, readings, limits),
    )


def _angle_tests(piece: PlacedPiece, found: Estimate, limits: _Limits) -> list[_Test]:
    tests = []
    for angle in piece.angles:
        base, working = (_vector(edge) for edge in (angle.base, angle.working))
        there = printed_angle(found, base, working)
        drawn = printed_angle(_TRUE, base, working).value
        tests.append(
            _Test(
                what=f"angle {angle.name}" if len(piece.angles) > 1 else "angle",
                nominal=angle.nominal,
                error=there.value - drawn,
                doubt=COVERAGE * there.standard,
                limit=limits.angle(piece),
            )
        )
    return tests


def _length_tests(piece: PlacedPiece, found: Estimate, limit: float | None) -> list[_Test]:
    sizes = [n for n in piece.lengths if not n.is_bar] or list(piece.lengths)
    tests = []
    for size in sizes:
        there = printed_length(found, size.vector)
        share = size.nominal / math.hypot(*size.vector)
        tests.append(
            _Test(
                what=size.name,
                nominal=size.nominal,
                error=there.value * share - size.nominal,
                doubt=COVERAGE * there.standard * share,
                limit=math.inf if limit is None else limit,
            )
        )
    return tests


def _vector(edge: tuple[tuple[float, float], tuple[float, float]]) -> tuple[float, float]:
    return (edge[1][0] - edge[0][0], edge[1][1] - edge[0][1])


_TRUE = estimate([])


def _why(
    piece: PlacedPiece,
    verdict: str,
    tests: Sequence[_Test],
    found: Estimate,
    readings: SheetReadings,
    limits: _Limits,
) -> str:
    """Say in plain words what the verdict rests on, and what would decide an open one."""
    if not tests:
        return "the piece has no check angle and no check dimension to judge it by"
    said = [_say_test(test) for test in tests if test.verdict == verdict] or [_say_test(tests[0])]
    parts = [max(said, key=len) if verdict == USE else said[0]]
    if verdict == CANNOT_TELL:
        parts.append(_what_would_decide(piece, found, readings, limits))
    parts.append(_say_scale(piece, verdict, found, limits))
    return "; ".join(part for part in parts if part)


def _say_test(test: _Test) -> str:
    if test.what.startswith("angle"):
        nominal, error, doubt, limit = (
            math.degrees(v) for v in (test.nominal, test.error, test.doubt, test.limit)
        )
        return (
            f"{test.what} drawn {nominal:.2f} deg came out {nominal + error:.2f} deg, "
            f"give or take {doubt:.2f}; {limit:.2f} deg of error is allowed"
        )
    way = "short" if test.error < 0 else "long"
    return (
        f"{test.what} of {test.nominal:.2f} mm came out {abs(test.error):.2f} mm {way}, "
        f"give or take {test.doubt:.2f}; {test.limit:.2f} mm is allowed"
    )


def _say_scale(piece: PlacedPiece, verdict: str, found: Estimate, limits: _Limits) -> str:
    """Say what a uniform error of scale does to this kind of piece."""
    made = found.distortion
    mean = (made.scale_x + made.scale_y) / 2.0
    if abs(made.scale_x - made.scale_y) > UNIFORM or abs(mean - 1.0) <= UNIFORM:
        return ""
    size = f"the sheet is {abs(mean - 1.0):.1%} {'small' if mean < 1.0 else 'large'} all over"
    if limits.length(piece) is None:
        return f"{size}, which changes no angle"
    if verdict == DO_NOT_USE:
        return f"{size}: that spares the angle guides, but not a piece whose lengths count"
    return size


def _what_would_decide(
    piece: PlacedPiece, found: Estimate, readings: SheetReadings, limits: _Limits
) -> str:
    """Return the least trouble that would decide an open verdict, worked out, not guessed."""
    bars = {
        n: replace(b, measured=found.distortion.length(b.vector)) for n, b in readings.bars.items()
    }
    coarsest = max(bar.standard for bar in bars.values())
    more = {
        name: Bar(vector=v, measured=found.distortion.length(v), standard=coarsest)
        for name, v in readings.unread.items()
    }
    names = ", ".join(more)
    proposals = []
    if more:
        proposals.append((f"measure {names} with the same rule", {**bars, **more}))
    for step in FINER_STEPS:
        fine = standard_from_step(step)
        how = f"with a calliper that reads {step:g} mm"
        every = {**bars, **more}
        if any(bar.standard > fine for bar in bars.values()):
            again = {n: replace(b, standard=min(b.standard, fine)) for n, b in bars.items()}
            proposals.append((f"measure {', '.join(bars)} again {how}", again))
        if more:
            again = {n: replace(b, standard=min(b.standard, fine)) for n, b in every.items()}
            proposals.append((f"measure {', '.join(every)} {how}", again))
    for text, proposal in proposals:
        if _decided(piece, estimate(list(proposal.values())), limits):
            return f"to decide, {text}"
    return (
        "no finer reading of this sheet would decide it, the error is too near the limit: "
        "print it again with the correction"
    )


def _decided(piece: PlacedPiece, found: Estimate, limits: _Limits) -> bool:
    """Return whether a verdict would be reached with readings of this quality."""
    limit = limits.length(piece)
    tests = _angle_tests(piece, found, limits)
    tests += _length_tests(piece, found, limit) if limit is not None else []
    verdict = worst_of([test.verdict for test in tests])
    return verdict == DO_NOT_USE or (verdict == USE and all(found.scales_measured))


def verdict_as_json(verdict: Verdict) -> dict[str, Any]:
    """Return the verdict as the interface lays it down: mm and degrees, full precision.

    Args:
        verdict: of `judge_sheets`.

    Returns:
        ``scale_x``, ``scale_y``, ``skew`` (null where the readings cannot be used), ``pieces``,
        ``verdict``, ``reprint``, and beyond that ``sheets`` with each sheet's own map and
        uncertainty, and ``questions``.
    """
    found = verdict.found.distortion if verdict.found else None
    return {
        **_distortion_as_json(found),
        "pieces": [_piece_as_json(p) for sheet in verdict.sheets for p in sheet.pieces],
        "verdict": verdict.verdict,
        "reprint": _distortion_as_json(verdict.reprint),
        "sheets": [_sheet_as_json(sheet) for sheet in verdict.sheets],
        "questions": [
            {"sheet": sheet.sheet, "readings": list(q.readings), "likely": q.likely, "text": q.text}
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
        "why": piece.why,
        "sheet": piece.sheet,
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
