"""The verdict on what was cut: the finished piece by calliper.

A true page does not make a true piece; scissors, a laser's focus and sanding come after it. Here
the lengths across the finished piece give its real angle, and the real angle gives the drift
that drilling with it would cause.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from jiggen.errors import Sentence
from jiggen.geometry.distortion import Bar
from jiggen.geometry.finished import drift_from, real_angle
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.geometry.plausible import SLIP_MARGIN, SLIPS, Question, questions
from jiggen.units import fine, joined, size, words
from jiggen.verify.across import across, on_corners, sizes_of, still_needed
from jiggen.verify.limits import CANNOT_TELL, DO_NOT_USE, USE, Check, Limits, worst_of
from jiggen.verify.placed import PlacedAngle, PlacedPiece
from jiggen.verify.records import LengthReading
from jiggen.verify.words import edges_open, not_determined, say_check

UNIT_SLIP = "unit"
"""What a question says is likely where a length was given in another unit."""

ONE_EDGE_DOES = "guide"
"""Kind of the pieces that may be used along one edge alone: a wrap or a block is used whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishedAngle:
    """One check angle of a finished piece.

    Attributes:
        name: of the check angle.
        nominal: as drawn, radians.
        value: as cut, radians.
        plus_minus: about 95 %, radians.
        drift: at the exit of a hole drilled with it, mm; None without a thickness.
        drift_plus_minus: about 95 %, mm; None without a thickness.
        hole: number of the hole that the drift is told for; None where it is the piece's.
        residuals: reading less fitted length by name, mm.
        determined: False where the readings say little about this angle.
        consistent: False where they contradict one another.
        quarrels: there are more readings than the shape takes, and one of them is further from
            it than its own step or plus-minus: only then the residuals say anything.
        missing: names of the lengths that it still takes to determine it; empty where it is, and
            None where no lengths of the piece would do.
        verdict: on this check edge by itself.
    """

    name: str
    nominal: float
    value: float
    plus_minus: float
    drift: float | None
    drift_plus_minus: float | None
    residuals: dict[str, float]
    determined: bool
    consistent: bool
    quarrels: bool
    missing: tuple[str, ...] | None
    verdict: str
    hole: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishedPiece:
    """The verdict on a finished piece.

    Attributes:
        name: of the piece.
        angles: its check angles as cut.
        length_error_worst: largest error of the measured lengths, mm, without sign; None if
            nothing was measured.
        questions: readings that are asked about, not averaged in.
        verdict: ``use``, ``do not use`` or ``cannot tell``.
        why: in plain words.
    """

    name: str
    angles: tuple[FinishedAngle, ...]
    length_error_worst: float | None
    questions: tuple[Question, ...]
    verdict: str
    why: Sentence


def judge_finished(
    piece: PlacedPiece,
    readings: Sequence[LengthReading],
    *,
    thickness: float | None = None,
    allowed_angle: float | None = None,
    allowed_length: Mapping[str, float] | None = None,
) -> FinishedPiece:
    """Judge a cut piece by what a calliper reads across it.

    Args:
        piece: as drawn, in any place.
        readings: by name of its check dimensions; a name that it does not have is left out.
        thickness: the largest of the wedge at the holes it serves, mm, for the drift.
        allowed_angle: largest angle error, radians; its own or the default if left out.
        allowed_length: largest length error by kind, mm.

    Returns:
        The verdict, with every angle's plus-minus and the residuals.
    """
    drawn = {length.name: length for length in piece.lengths}
    known = [reading for reading in readings if reading.name in drawn]
    by_name = {} if allowed_angle is None else {piece.name: allowed_angle}
    limits = Limits(by_name=by_name, by_kind=allowed_length or {})
    asked = _once(q for r in known for q in _asked(r, drawn[r.name].nominal))
    errors = [abs(r.measured - drawn[r.name].nominal) for r in known]
    if asked or not known:
        why: Sentence = (
            joined(q.text for q in asked) if asked else "nothing was measured on this piece"
        )
        return FinishedPiece(
            name=piece.name,
            angles=(),
            length_error_worst=max(errors, default=None),
            questions=asked,
            verdict=CANNOT_TELL,
            why=why,
        )
    angles = tuple(_finished(a, piece, known, limits, thickness) for a in piece.angles)
    checks = [_angle_check(angle, limits.angle(piece)) for angle in angles]
    # What the readings do not determine can condemn an edge, but never pass it or leave it open.
    checks = [
        check
        for check, angle in zip(checks, angles, strict=True)
        if angle.determined or check.verdict == DO_NOT_USE
    ]
    limit = limits.length(piece)
    if limit is not None:
        checks += [_length_check(r, drawn[r.name].nominal, limit) for r in known]
    unread = [name for name in sizes_of(piece) if all(r.name != name for r in known)]
    one_edge_does = piece.kind == ONE_EDGE_DOES
    verdict, why = _verdict(angles, checks, () if angles else unread, one_edge_does=one_edge_does)
    return FinishedPiece(
        name=piece.name,
        angles=angles,
        length_error_worst=max(errors),
        questions=(),
        verdict=verdict,
        why=why,
    )


def _once(asked: Iterable[Question]) -> tuple[Question, ...]:
    """Return questions with a slip of the unit that runs through several readings asked once."""
    every = list(asked)
    slips = [question for question in every if question.likely == UNIT_SLIP]
    if len(slips) < 2:
        return tuple(every)
    names = tuple(name for question in slips for name in question.readings)
    text = joined([slips[0].text, f"and so with {', '.join(names[1:])}"])
    return (
        Question(readings=names, likely=UNIT_SLIP, text=text),
        *(question for question in every if question.likely != UNIT_SLIP),
    )


def _asked(reading: LengthReading, nominal: float) -> tuple[Question, ...]:
    """Ask about one reading that is further off than anyone cuts."""
    bar = Bar(vector=(nominal, 0.0), measured=reading.measured, standard=reading.standard)
    if found := questions({reading.name: bar}, printed=False, finished=True):
        return found
    off = abs(reading.measured - nominal)
    slip = next((slip for slip in SLIPS if abs(off - slip) <= SLIP_MARGIN), None)
    if slip is None:
        return ()
    return (
        Question(
            readings=(reading.name,),
            likely="slip",
            text=words(
                "{name} was given as {measured}, drawn {drawn}: a slip of {slip} along the rule? "
                "Measure it again",
                name=reading.name,
                measured=fine(reading.measured),
                drawn=fine(nominal),
                slip=size(slip),
            ),
        ),
    )


def _finished(
    angle: PlacedAngle,
    piece: PlacedPiece,
    taken: Sequence[LengthReading],
    limits: Limits,
    thickness: float | None,
) -> FinishedAngle:
    """Return one check angle as cut, judged by itself."""
    drawn = {length.name: length for length in piece.lengths}
    lengths = [across(r, drawn[r.name]) for r in taken]
    base, working = on_corners(angle, lengths)
    real = real_angle(base, working, lengths)
    doubt = COVERAGE * real.standard
    missing: tuple[str, ...] | None = ()
    if not real.determined:
        missing = still_needed(piece, angle, {reading.name for reading in lengths})
    found = FinishedAngle(
        name=angle.name,
        nominal=angle.nominal,
        value=angle.nominal + real.error,
        plus_minus=doubt,
        drift=None if thickness is None else drift_from(real.error, thickness),
        drift_plus_minus=None if thickness is None else drift_from(doubt, thickness),
        residuals=real.residuals,
        determined=real.determined,
        consistent=real.consistent,
        quarrels=real.chance < 1.0 and _further_off(real.residuals, taken),
        missing=missing,
        verdict=CANNOT_TELL,
    )
    check = _angle_check(found, limits.angle(piece))
    if real.consistent and (real.determined or check.verdict == DO_NOT_USE):
        return replace(found, verdict=check.verdict)
    return found


def _further_off(residuals: Mapping[str, float], taken: Sequence[LengthReading]) -> bool:
    """Return whether any reading is further from the likeliest shape than it is read to."""
    read_to = {r.name: r.step if r.plus_minus is None else r.plus_minus for r in taken}
    return any(abs(off) > read_to[name] for name, off in residuals.items())


def _angle_check(angle: FinishedAngle, limit: float) -> Check:
    return Check(
        what=f"angle {angle.name}",
        nominal=angle.nominal,
        error=angle.value - angle.nominal,
        doubt=angle.plus_minus,
        limit=limit,
    )


def _length_check(reading: LengthReading, nominal: float, limit: float) -> Check:
    return Check(
        what=reading.name,
        nominal=nominal,
        error=reading.measured - nominal,
        doubt=COVERAGE * reading.standard,
        limit=limit,
    )


def _verdict(
    angles: Sequence[FinishedAngle],
    checks: Sequence[Check],
    unread: Sequence[str],
    *,
    one_edge_does: bool,
) -> tuple[str, Sentence]:
    """Return the verdict on a finished piece, and why; each check edge stands by itself."""
    quarrel = [angle for angle in angles if not angle.consistent]
    if quarrel:
        worst = max(quarrel[0].residuals.items(), key=lambda item: abs(item[1]))
        return CANNOT_TELL, words(
            "the readings contradict one another: {name} is {off} {way} than the others put it; "
            "measure again, burrs off, square across the corners",
            name=worst[0],
            off=fine(abs(worst[1])),
            way="longer" if worst[1] > 0 else "shorter",
        )
    verdict = worst_of([check.verdict for check in checks])
    told = [angle.name for angle in angles if angle.determined]
    open_ones = {angle.name: angle.missing for angle in angles if not angle.determined}
    if open_ones and not told and verdict != DO_NOT_USE:
        return CANNOT_TELL, not_determined(open_ones)
    decisive = [check for check in checks if check.verdict == verdict]
    parts: list[Sentence] = [say_check(check) for check in decisive]
    parts = parts or ["nothing of it can be judged"]
    if verdict == CANNOT_TELL and decisive:
        parts.append(
            "to decide, measure again with a finer calliper or measure more of its lengths"
        )
    good = [angle.name for angle in angles if angle.verdict == USE]
    if verdict != USE and good and one_edge_does:
        parts.append(f"the {' and the '.join(good)} edge by itself is good")
    if open_ones and verdict != DO_NOT_USE:
        parts.insert(0, edges_open(told, open_ones))
    if unread:
        parts.append(f"not measured: {', '.join(unread)}")
    return verdict, joined(parts)
