"""The verdict on what was cut: the finished piece by calliper.

A true page does not make a true piece; scissors, a laser's focus and sanding come after it. Here
the lengths across the finished piece give its real angle, and the real angle gives the drift that
drilling with it would cause.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Mapping, Sequence

from msgspec.structs import replace

from jiggen.geometry.distortion import Bar
from jiggen.geometry.finished import ON_LINE, Reading, RealAngle, needed_lengths, real_angle
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.geometry.slips import Slip, slips_of_each
from jiggen.proof.checks import (
    CANNOT_TELL,
    DO_NOT_USE,
    USE,
    Check,
    CutAngle,
    Judged,
    angle_limit,
    asked_about,
    length_limit,
    question_of,
    worst_of,
)
from jiggen.proof.readings import REACH, LengthReading
from jiggen.proof.record import AngleRecord, PieceRecord, Point, Record
from jiggen.units import Words, joined, words

SNAP = 1.0
"""mm: an edge of a cut file is drawn half a kerf off the corners that a calliper reaches; its ends
are taken for those corners within this distance."""

SNAP_TURN = math.radians(0.02)
"""Taking corners for edge ends may not turn the angle by more than this."""

FAR = 1.0  # mm: a reading that is off by less is judged, however small the length

LEFT_BY_A_FILE = 0.75
"""mm: who files to a line leaves or takes less. Common practice, no published source."""

UNHEARD = 1e3  # mm: a reading of this doubt says nothing beside the others


def judge_piece(piece: PieceRecord, taken: Sequence[LengthReading]) -> Judged:
    """Judge a cut piece by what a calliper reads across it.

    A check angle that the readings, at least one, do not tell leaves the verdict open. A row is
    judged by its whole length.
    """
    drawn = {one.name: piece.sizes[one.name].nominal for one in taken}
    bars = {
        one.name: Bar(vector=(drawn[one.name], 0.0), measured=one.measured, standard=one.standard)
        for one in taken
    }
    slips = slips_of_each(bars, FAR)
    angles = tuple(_as_cut(angle, piece, taken) for angle in piece.angles)
    if (
        angles
        and {slip.kind for slip in slips} == {"far"}
        and all(angle.determined and angle.consistent for angle in angles)
    ):
        # Far off, and all lengths tell one shape: it was not misread, it was cut so.
        slips = ()
    asked = [question_of(slip, "piece") for slip in slips]
    if asked:
        angles = ()
    elif any(not angle.consistent for angle in angles):
        asked = [question_of(_contradiction(piece, taken, angles), "piece")]
    worst = max(abs(one.measured - drawn[one.name]) for one in taken)
    if asked:
        open_ = asked_about(piece.name, "piece", asked)
        return replace(open_, angles=angles, length_error_worst=worst)
    verdict, why, to_decide = _verdict(piece, angles, taken)
    return Judged(
        name=piece.name,
        stage="piece",
        verdict=verdict,
        why=why,
        to_decide=to_decide,
        length_error_worst=worst,
        angles=angles,
    )


def judge_pieces(record: Record, taken: Mapping[str, Sequence[LengthReading]]) -> dict[str, Judged]:
    """Judge every cut piece that was measured; plates glued on add to what they are glued to."""
    found = {name: judge_piece(record.pieces[name], some) for name, some in taken.items()}
    return {name: _with_plates(one, record, found) for name, one in found.items()}


def _with_plates(judged: Judged, record: Record, found: Mapping[str, Judged]) -> Judged:
    """Return the verdict on a piece that is good, with the good plates that are glued to it."""
    piece = record.pieces[judged.name]
    own = next((angle for angle in judged.angles if piece.turns(angle.name)), None)
    plates = {
        name: angle
        for name, other in found.items()
        for angle in other.angles
        if other.verdict == USE
        and record.pieces[name].glued_edge is not None
        and record.pieces[name].goes_with(piece)
    }
    if judged.verdict != USE or own is None or not plates:
        return judged
    added = sum(angle.value - angle.nominal for angle in plates.values()) * piece.turns(own.name)
    whole = Check(
        what=own.name,
        nominal=own.nominal,
        error=own.value - own.nominal + added,
        doubt=math.hypot(own.plus_minus, *(angle.plus_minus for angle in plates.values())),
        limit=angle_limit(piece),
        is_angle=True,
    )
    angles = tuple(replace(a, added=added) if a is own else a for a in judged.angles)
    if whole.verdict == USE:
        return replace(judged, angles=angles)
    finer = words("measure both again with a finer calliper, or drill a test hole")
    return replace(
        judged,
        angles=angles,
        verdict=whole.verdict,
        why=words("with {plates} glued on, {check}", plates=", ".join(plates), check=whole.said()),
        to_decide=finer if whole.verdict == CANNOT_TELL else None,
    )


def still_needed(
    piece: PieceRecord, angle: AngleRecord, have: Collection[str] = ()
) -> tuple[str, ...] | None:
    """Return which lengths must be measured for a check angle, beside those that were.

    Names in the order of the piece; None where even all of its lengths do not fix the angle.
    """
    lengths = {name: (size.start, size.end) for name, size in piece.sizes.items()}
    needed = needed_lengths(*_on_corners(angle, piece), lengths)
    return None if needed is None else tuple(name for name in needed if name not in have)


def _as_cut(angle: AngleRecord, piece: PieceRecord, taken: Sequence[LengthReading]) -> CutAngle:
    """Return one check angle as cut, judged by itself."""
    unknown = CutAngle(name=angle.name, nominal=angle.nominal, value=angle.nominal)
    real = _shape(angle, piece, taken)
    if real is None:
        return unknown
    have = {one.name for one in taken}
    found = replace(
        unknown,
        value=angle.nominal + real.error,
        plus_minus=COVERAGE * real.standard,
        residuals=real.residuals,
        determined=real.determined,
        consistent=real.consistent,
        missing=() if real.determined else still_needed(piece, angle, have),
    )
    # What the readings do not determine can condemn an edge, but never pass it.
    check = _angle_check(found, piece)
    told = real.consistent and (real.determined or check.verdict == DO_NOT_USE)
    return replace(found, verdict=check.verdict) if told else found


def _shape(
    angle: AngleRecord, piece: PieceRecord, taken: Sequence[LengthReading]
) -> RealAngle | None:
    """Return the likeliest shape at a check angle; None where the readings are of no shape."""
    try:
        return real_angle(*_on_corners(angle, piece), _across(piece, taken))
    except ValueError:
        return None


def _across(piece: PieceRecord, taken: Sequence[LengthReading]) -> list[Reading]:
    sizes = piece.sizes
    return [
        Reading(
            name=one.name,
            start=sizes[one.name].start,
            end=sizes[one.name].end,
            measured=one.measured,
            standard=one.standard,
        )
        for one in taken
    ]


def _on_corners(
    angle: AngleRecord, piece: PieceRecord
) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
    """Return base and working edge with their ends taken for the corners that are measured from."""
    corners = [end for size in piece.sizes.values() for end in (size.start, size.end)]

    def snapped(point: Point) -> Point:
        near = min(corners, key=lambda corner: math.dist(corner, point), default=point)
        return near if ON_LINE < math.dist(near, point) <= SNAP else point

    def laid(edge: tuple[Point, Point]) -> tuple[Point, Point]:
        ends = (snapped(edge[0]), snapped(edge[1]))
        if ends != edge or not corners:
            return ends
        # Measured between its ends: the whole edge is shifted to where the jaws touch it.
        (x0, y0), (x1, y1) = edge
        long = math.dist(*edge)
        normal = ((y0 - y1) / long, (x1 - x0) / long)
        offs = (normal[0] * (x - x0) + normal[1] * (y - y0) for x, y in corners)
        off = min(offs, key=abs)
        by = off if ON_LINE < abs(off) <= SNAP else 0.0
        dx, dy = by * normal[0], by * normal[1]
        return (x0 + dx, y0 + dy), (x1 + dx, y1 + dy)

    base, working = laid(angle.base), laid(angle.working)
    apart = all(math.dist(*edge) > SNAP for edge in (base, working))
    if apart and abs(real_angle(base, working, []).nominal - angle.nominal) <= SNAP_TURN:
        return base, working
    return angle.base, angle.working


def _angle_check(angle: CutAngle, piece: PieceRecord) -> Check:
    return Check(
        what=angle.name,
        nominal=angle.nominal,
        error=angle.value - angle.nominal,
        doubt=angle.plus_minus,
        limit=angle_limit(piece),
        is_angle=True,
    )


def _contradiction(
    piece: PieceRecord, taken: Sequence[LengthReading], angles: Sequence[CutAngle]
) -> Slip:
    """Return what to ask about readings that no shape has: two swapped, or the worst of them."""

    def fits(some: Sequence[LengthReading]) -> bool:
        shapes = (_shape(angle, piece, some) for angle in piece.angles)
        return all(shape is not None and shape.consistent for shape in shapes)

    drawn = {name: size.nominal for name, size in piece.sizes.items()}
    for one, other in itertools.combinations(taken, 2):
        pair = (replace(one, measured=other.measured), replace(other, measured=one.measured))
        off, turned = (
            sum(abs(some.measured - drawn[some.name]) for some in both)
            for both in ((one, other), pair)
        )
        rest = (reading for reading in taken if reading not in (one, other))
        if turned < 0.5 * off and fits([*rest, *pair]):
            return Slip(
                kind="swapped",
                readings=(one.name, other.name),
                given=(one.measured, other.measured),
                expected=(drawn[one.name], drawn[other.name]),
            )
    bad = next(n for n, angle in enumerate(angles) if not angle.consistent)
    worst, chance, expected = taken[0], -1.0, drawn[taken[0].name]
    for one in taken:
        # What the others make of it: its own word counts for nothing.
        unheard = [replace(one, standard=UNHEARD), *(other for other in taken if other != one)]
        shape = _shape(piece.angles[bad], piece, unheard)
        if shape is not None and shape.chance > chance:
            worst, chance = one, shape.chance
            expected = one.measured - shape.residuals[one.name]
    return Slip(
        kind="contradiction",
        readings=(worst.name,),
        given=(worst.measured,),
        expected=(expected,),
    )


def _verdict(
    piece: PieceRecord, angles: Sequence[CutAngle], taken: Sequence[LengthReading]
) -> tuple[str, Words, Words | None]:
    """Return the verdict on a finished piece, what it rests on, and what would decide it."""
    sizes = piece.sizes
    checks = [
        _angle_check(angle, piece)
        for angle in angles
        if angle.determined or angle.verdict == DO_NOT_USE
    ]
    if (limit := length_limit(piece)) is not None:
        checks += [
            Check(
                what=one.name,
                nominal=sizes[one.name].nominal,
                error=one.measured - sizes[one.name].nominal,
                doubt=COVERAGE * one.standard,
                limit=limit,
            )
            for one in taken
        ]
    verdict = worst_of(check.verdict for check in checks)
    open_ones = [angle for angle in angles if not angle.determined]
    if open_ones and verdict != DO_NOT_USE:
        return CANNOT_TELL, *_not_determined(open_ones[0])
    parts = [check.said() for check in checks if check.verdict == verdict]
    unread = [name for name in sizes if all(one.name != name for one in taken)]
    if not angles and unread:
        parts.append(words("not measured: {unread}", unread=", ".join(unread)))
    to_decide = None
    if verdict == USE and (odd := _odd(piece, taken)):
        to_decide = words("{odd} is off its line: measure it again", odd=", ".join(odd))
    if verdict == CANNOT_TELL:
        finer = "rule" if any(sizes[one.name].nominal > REACH for one in taken) else "calliper"
        more = ", or more of its lengths" if unread else ""
        to_decide = words(
            "measure again with a finer {tool}, or several times over and state the "
            "plus_minus{more}",
            tool=finer,
            more=more,
        )
    return verdict, joined(parts), to_decide


def _odd(piece: PieceRecord, taken: Sequence[LengthReading]) -> list[str]:
    """Return lengths that change no angle, and are farther off than a file leaves them."""
    drawn = {one.name: piece.sizes[one.name].nominal for one in taken}
    scale = sorted(one.measured / drawn[one.name] for one in taken)[len(taken) // 2]
    return [o.name for o in taken if abs(o.measured - scale * drawn[o.name]) > LEFT_BY_A_FILE]


def _not_determined(angle: CutAngle) -> tuple[Words, Words]:
    """Say that the readings determine no check angle, and which lengths would."""
    why = words("the {name} angle is not determined by these readings", name=angle.name)
    if angle.missing is None:
        return why, words(
            "no length in the form tells it: measure the page or the bed that it lies on"
        )
    return why, words("measure {missing} too", missing=", ".join(angle.missing))
