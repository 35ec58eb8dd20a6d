"""What was cut and drilled to try: finished pieces, test holes and the kerf coupon.

The solved job says how thick the wedge is where a piece is used, and with that how far a hole
drilled with it would come out from where it should.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from jiggen.geometry.distortion import Bar, Estimate, estimate
from jiggen.geometry.finished import drift_from
from jiggen.geometry.plausible import Question, questions
from jiggen.job.fields import FaultList
from jiggen.solution import Solution
from jiggen.units import joined
from jiggen.verify import (
    CANNOT_TELL,
    DEFAULT_ALLOWED_ANGLE,
    CouponFound,
    CouponReadings,
    FinishedAngle,
    FinishedPiece,
    PlacedPiece,
    RecordedSheet,
    TestHoleVerdict,
    judge_finished,
    judge_test_holes,
    questions_of_coupon,
    read_coupon,
    sheet_readings,
)
from jiggen.verify.placed import drilled_with

if TYPE_CHECKING:
    from jiggen.geometry.testhole import TestHole
    from jiggen.readings import HoleReadings, Readings


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """The hole that makes most of a piece's error.

    Attributes:
        hole: its number.
        thickness: of the wedge there, mm.
    """

    hole: int
    thickness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Needed(Served):
    """A hole that a piece is used at, and how far its corner is from the piece's as drawn.

    Attributes:
        off: the forward corner that the hole needs less the guide's, radians.
    """

    off: float


WAYS = {"forward": 1.0, "aft": -1.0}
"""Corners that lead a drill: what opens the forward one closes the aft one."""


def piece_named(sheets: Sequence[RecordedSheet], name: str) -> PlacedPiece | None:
    """Return a piece by name, as it was printed rather than as it was cut."""
    return next((p for sheet in sheets for p in sheet.pieces if p.name == name), None)


def judge_pieces(
    readings: Readings, sheets: Sequence[RecordedSheet], solution: Solution
) -> tuple[tuple[FinishedPiece, ...], dict[str, Served]]:
    """Judge every cut piece that was measured; a coupon only where it must be asked about."""
    verdicts = []
    at: dict[str, Served] = {}
    for name, taken in readings.pieces.items():
        piece = piece_named(sheets, name)
        if not taken or piece is None:
            continue
        hole = _served(solution, name)
        verdict = judge_finished(piece, taken, thickness=hole.thickness if hole else None)
        if hole is not None:
            verdict, at[name] = _at_its_worst(verdict, _holes_of(solution, name), hole)
        verdicts.append(verdict)
    verdicts += _coupon_asked_about(readings, sheets, solution.job.units)
    return tuple(verdicts), at


def _at_its_worst(
    verdict: FinishedPiece, holes: Sequence[Needed], otherwise: Served
) -> tuple[FinishedPiece, Served]:
    """Return the verdict with the drift at the hole that the piece as cut fits least.

    A guide serves a run of holes and is cut for the middle of them: what it is off by as drawn
    adds to what the cut is off by, or takes from it.
    """
    known = [a for a in verdict.angles if a.name in WAYS and a.determined]
    if not known or not holes:
        return verdict, otherwise

    def off(angle: FinishedAngle, hole: Needed) -> float:
        return angle.value - angle.nominal - WAYS[angle.name] * hole.off

    def drift(angle: FinishedAngle, hole: Needed) -> float:
        return drift_from(off(angle, hole), hole.thickness)

    worst = {a.name: max(holes, key=partial(_size, drift, a)) for a in known}
    angles = tuple(
        replace(
            a,
            drift=drift(a, worst[a.name]),
            drift_plus_minus=drift_from(a.plus_minus, worst[a.name].thickness),
            hole=worst[a.name].hole,
        )
        if a in known
        else a
        for a in verdict.angles
    )
    most = worst[max(known, key=lambda a: abs(drift(a, worst[a.name]))).name]
    return replace(verdict, angles=angles), Served(hole=most.hole, thickness=most.thickness)


def _size(
    drift: Callable[[FinishedAngle, Needed], float], angle: FinishedAngle, hole: Needed
) -> float:
    return abs(drift(angle, hole))


def _coupon_asked_about(
    readings: Readings, sheets: Sequence[RecordedSheet], units: str
) -> Iterator[FinishedPiece]:
    """Yield an open verdict on a coupon whose rows cannot be meant: it gives no lines then."""
    piece, bars = _coupon(readings, sheets)
    if readings.coupon is None or piece is None:
        return
    if asked := _questions_of(piece, bars, readings.coupon, units):
        yield FinishedPiece(
            name=piece.name,
            angles=(),
            length_error_worst=None,
            questions=asked,
            verdict=CANNOT_TELL,
            why=joined(question.text for question in asked),
        )


def _questions_of(
    piece: PlacedPiece, bars: Mapping[str, Bar], taken: CouponReadings, units: str
) -> tuple[Question, ...]:
    """Return what is asked about the engraved bars of a coupon's sheet, else about its rows."""
    from jiggen.jigs.coupon import BARS

    asked = questions(bars, printed=False, units=units) if bars else ()
    return asked or questions_of_coupon(piece, taken, BARS, units, _as_cut(bars))


def _as_cut(bars: Mapping[str, Bar]) -> Estimate | None:
    """Return what the machine did to a sheet; None where no engraved bar was measured."""
    return estimate(list(bars.values())) if bars else None


def _coupon(
    readings: Readings, sheets: Sequence[RecordedSheet]
) -> tuple[PlacedPiece | None, Mapping[str, Bar]]:
    """Return the coupon where it lies, and the engraved bars that were measured on its sheet."""
    for sheet in sheets:
        for piece in sheet.pieces:
            if piece.kind == "coupon":
                return piece, sheet_readings(sheet, readings.sheets.get(sheet.name, ()))[0].bars
    return None, {}


def judge_holes(
    readings: Readings, sheets: Sequence[RecordedSheet], solution: Solution
) -> tuple[dict[str, TestHoleVerdict], dict[str, Served]]:
    """Judge the test holes, those of one piece together."""
    groups: dict[str, list[HoleReadings]] = {}
    for hole in readings.test_holes:
        groups.setdefault(hole.piece, []).append(hole)
    verdicts: dict[str, TestHoleVerdict] = {}
    at: dict[str, Served] = {}
    for name, some in groups.items():
        piece = next(iter(drilled_with(_pieces(sheets), name)), None) if name else None
        allowed = piece.allowed_angle if piece else None
        served = _served(solution, name)
        if served is not None:
            at[name] = served
        lean = (piece.lean if piece else None) or 0.0
        verdict = judge_test_holes(
            [_drilled(hole) for hole in some],
            allowed_angle=DEFAULT_ALLOWED_ANGLE if allowed is None else allowed,
            intended=(lean, 0.0),
            thickness=served.thickness if served else None,
            units=solution.job.units,
            sure=[hole.thickness_has_unit for hole in some],
        )
        verdicts[name] = _other_way(verdict, lean)
    return verdicts, at


def _drilled(hole: HoleReadings) -> TestHole:
    from jiggen.geometry.testhole import TestHole

    return TestHole(
        entry=(hole.entry[0].measured, hole.entry[1].measured),
        exit=(hole.exit[0].measured, hole.exit[1].measured),
        thickness=hole.thickness.measured,
        standard=hole.entry[0].standard,
        thickness_standard=hole.thickness.standard,
    )


def _pieces(sheets: Sequence[RecordedSheet]) -> list[PlacedPiece]:
    return [piece for sheet in sheets for piece in sheet.pieces]


def _other_way(verdict: TestHoleVerdict, lean: float) -> TestHoleVerdict:
    """Say so where a hole leans as it should, but to the other side."""
    if verdict.questions:
        return verdict
    mirrored = abs(verdict.tilt[0] + 2.0 * lean) <= verdict.plus_minus[0]
    if not mirrored or abs(verdict.tilt[0]) <= verdict.plus_minus[0]:
        return verdict
    other = (
        "the hole leans as it should, but the other way: was it measured from the forward edge, or "
        "did the piece stand the wrong way round?"
    )
    return replace(verdict, why=joined([verdict.why, other]))


def _served(solution: Solution, name: str) -> Served | None:
    """Return the thickest hole that a piece is used at; None for a piece without one."""
    return max(_holes_of(solution, name), key=lambda needed: needed.thickness, default=None)


def _holes_of(solution: Solution, name: str) -> list[Needed]:
    """Return every hole that a piece is used at, with the corner that it needs."""
    from jiggen.jigs import stands

    parts = name.split("-")
    stand = next((s for s in stands(solution) if parts[1:2] == [s.label]), None)
    if stand is None:
        return []
    return [
        Needed(
            hole=hole.number,
            thickness=hole.thickness,
            off=math.pi / 2 - hole.angles.skin(guide.side) - guide.angle,
        )
        for guide in stand.guides
        if guide.first_hole is not None and guide.last_hole is not None
        for hole in solution.holes
        if guide.first_hole <= hole.number <= guide.last_hole and hole.thickness is not None
    ]


def coupon_says(
    readings: Readings, sheets: Sequence[RecordedSheet], found: FaultList
) -> CouponFound | None:
    """Return what the coupon says, or a fault where its readings cannot be.

    None too where they must be asked about first; `judge_pieces` has the questions.
    """
    if readings.coupon is None:
        return None
    from jiggen.jigs.coupon import BARS

    piece, bars = _coupon(readings, sheets)
    theirs = FaultList(file=readings.file)
    if piece is None:
        theirs.add("coupon", "there is no coupon on the drawings", remedy="make --only coupon")
        found.faults.extend(theirs.faults)
        return None
    if _questions_of(piece, bars, readings.coupon, "mm"):
        return None
    try:
        return read_coupon(piece, readings.coupon, BARS, _as_cut(bars))
    except ValueError as trouble:
        theirs.add("coupon", str(trouble), remedy="correct the form, or measure again")
        found.faults.extend(theirs.faults)
        return None
