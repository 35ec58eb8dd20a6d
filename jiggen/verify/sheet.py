"""What came off the printer, piece by piece: use it, do not use it, or the readings cannot tell.

A page that is a little small all over changes no angle: its guides are good and its strips are
not. A page that is stretched along one axis bends the guides, and how much depends on how each
lies. So every piece gets a verdict of its own, from the sheet's bars, with the doubt that the
rule leaves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from jiggen.errors import Sentence
from jiggen.geometry.distortion import Bar, Distortion, Estimate, estimate
from jiggen.geometry.plausible import Question, questions
from jiggen.geometry.quarrel import unlike
from jiggen.units import joined
from jiggen.verify.limits import (
    CANNOT_TELL,
    USE,
    Limits,
    angle_checks,
    length_checks,
    worst_of,
)
from jiggen.verify.placed import PlacedPiece, RecordedSheet
from jiggen.verify.records import SheetReadings
from jiggen.verify.words import asked_together, reason, what_would_decide


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceVerdict:
    """The verdict on one piece as it lies on its sheet.

    Attributes:
        name: of the piece.
        kind: which jig made it.
        sheet: where it lies.
        angle_name: of the check angle that came out worst, the first of several that are alike;
            empty without angles.
        angle_nominal: the same as drawn, radians; None without angles.
        angle_as_printed: the same angle on the sheet, radians; None where it is not known.
        plus_minus: about 95 %, radians.
        length_error_worst: the largest error of its check dimensions, mm, without sign; None
            without any, and where one axis was not measured.
        verdict: ``use``, ``do not use`` or ``cannot tell``.
        why: in plain words, lengths in mm.
        to_decide: what would decide it where it is open; empty otherwise.
    """

    name: str
    kind: str
    sheet: str
    angle_name: str
    angle_nominal: float | None
    angle_as_printed: float | None
    plus_minus: float | None
    length_error_worst: float | None
    verdict: str
    why: Sentence
    to_decide: Sentence = ""


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
            has readings that can be used, or if they did not come out alike.
        reprint: what the next print is corrected for: the correction that these pages were
            printed with, refined by what was found.
        apart: names of the pages that came out unlike one another, beyond what the readings
            leave in doubt; empty where one printer can have made them all.
    """

    sheets: tuple[SheetVerdict, ...]
    found: Estimate | None
    reprint: Distortion
    apart: tuple[str, ...] = ()

    @property
    def verdict(self) -> str:
        """Return the worst verdict of all pieces."""
        return worst_of([sheet.verdict for sheet in self.sheets if sheet.pieces])


def judge_sheets(
    sheets: Sequence[RecordedSheet],
    readings: Mapping[str, SheetReadings],
    *,
    printed_with: Distortion | None = None,
    one_run: bool = False,
    units: str = "mm",
) -> Verdict:
    """Judge every piece on every sheet, and work out the correction for a reprint.

    Args:
        sheets: as drawn.
        readings: what was measured, by name of the sheet; a sheet may be missing.
        printed_with: the correction that the pages were printed with; none if left out.
        one_run: the readings of all pages are one set, taken on one page for all of them.
        units: of the rule, ``mm`` or ``in``: which slips along it are looked for.

    Returns:
        The verdict. Pages that did not come out alike are judged each by itself, and correct
        nothing. The reprint's correction comes from the pages alone, never from cut sheets.
    """
    before = printed_with or Distortion()
    judged = tuple(
        judge_sheet(
            sheet.pieces,
            readings.get(sheet.name),
            sheet=sheet.name,
            printed=sheet.printed,
            units=units,
        )
        for sheet in sheets
    )
    known = [v for v in judged if v.found and v.printed]
    apart = () if one_run else unlike({v.sheet: v.bars for v in known})
    bars = [bar for v in (known[:1] if one_run else known) for bar in v.bars.values()]
    found = estimate(bars) if bars and not apart else None
    after = found.distortion if found else Distortion()
    return Verdict(sheets=judged, found=found, reprint=before.combined(after=after), apart=apart)


def judge_sheet(
    pieces: Sequence[PlacedPiece],
    readings: SheetReadings | None,
    *,
    allowed_angle: Mapping[str, float] | None = None,
    allowed_length: Mapping[str, float] | None = None,
    sheet: str = "page 1",
    printed: bool = True,
    units: str = "mm",
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
        units: of the rule, ``mm`` or ``in``: which slips along it are looked for.

    Returns:
        The verdict. Guides are judged by angle only: a uniform error of scale changes none.
    """
    bars = readings.bars if readings else {}
    limits = Limits(by_name=allowed_angle or {}, by_kind=allowed_length or {})
    asked = questions(bars, printed=printed, units=units) if bars else ()
    if asked or not bars or readings is None:
        why = (
            asked_together(q.text for q in asked)
            if asked
            else (
                f"nothing was measured on {sheet}: measure its two bars and its two diagonals"
                if printed
                else f"nothing was measured on {sheet}: measure the bars on its pieces, x and y"
            )
        )
        verdicts = tuple(_unknown(piece, sheet, why) for piece in pieces)
        return SheetVerdict(
            sheet=sheet, found=None, questions=asked, pieces=verdicts, bars=bars, printed=printed
        )
    found = estimate(list(bars.values()))
    verdicts = tuple(
        _judge(piece, sheet, found, readings, limits, printed=printed) for piece in pieces
    )
    return SheetVerdict(
        sheet=sheet, found=found, questions=(), pieces=verdicts, bars=bars, printed=printed
    )


def _unknown(piece: PlacedPiece, sheet: str, why: Sentence) -> PieceVerdict:
    return PieceVerdict(
        name=piece.name,
        kind=piece.kind,
        sheet=sheet,
        angle_name=piece.angles[0].name if piece.angles else "",
        angle_nominal=piece.angles[0].nominal if piece.angles else None,
        angle_as_printed=None,
        plus_minus=None,
        length_error_worst=None,
        verdict=CANNOT_TELL,
        why=why,
    )


def _judge(
    piece: PlacedPiece,
    sheet: str,
    found: Estimate,
    readings: SheetReadings,
    limits: Limits,
    *,
    printed: bool,
) -> PieceVerdict:
    """Judge one piece on a sheet whose readings can be used."""
    angles = angle_checks(piece, found, limits)
    lengths = length_checks(piece, found, limits.length(piece))
    counted = [*angles, *(lengths if limits.length(piece) is not None else [])]
    # Rounded: forward and aft are often off by the same, and the last digit must not choose.
    worst = max(
        range(len(angles)),
        key=lambda n: (round(abs(angles[n].error) + angles[n].doubt, 9), -n),
        default=None,
    )
    worst_angle = None if worst is None else angles[worst]
    # Along an axis that nobody measured an error of length is only an assumption.
    known = lengths if all(found.scales_measured) else []
    worst_length = max((abs(t.error) for t in known), default=None)
    verdict = worst_of([check.verdict for check in counted])
    if verdict == USE and not all(found.scales_measured):
        verdict = CANNOT_TELL
    why = reason(piece, verdict, counted, found, limits)
    to_decide: Sentence = ""
    if verdict == CANNOT_TELL and counted:
        to_decide = what_would_decide(piece, found, readings, limits, printed=printed)
    return PieceVerdict(
        name=piece.name,
        kind=piece.kind,
        sheet=sheet,
        angle_name="" if worst is None else piece.angles[worst].name,
        angle_nominal=worst_angle.nominal if worst_angle else None,
        angle_as_printed=worst_angle.nominal + worst_angle.error if worst_angle else None,
        plus_minus=worst_angle.doubt if worst_angle else None,
        length_error_worst=worst_length,
        verdict=verdict,
        why=joined([why, to_decide]) if to_decide else why,
        to_decide=to_decide,
    )
