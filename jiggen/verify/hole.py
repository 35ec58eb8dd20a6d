"""The verdict on test holes drilled in flat scrap with a guide or a block.

A reading in the wrong unit makes a hole look square, or look drilled sideways, and the doubt look
like none. So what no drill does is asked about before anything is worked out from it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from jiggen.errors import Sentence
from jiggen.geometry.finished import drift_from
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.geometry.plausible import Question
from jiggen.geometry.testhole import TestHole, drilled_tilt
from jiggen.units import INCH, joined, say_length
from jiggen.verify.limits import CANNOT_TELL, Check, worst_of
from jiggen.verify.words import say_check

SCRAP_LEAST, SCRAP_MOST = 0.2, INCH
"""mm: thinner scrap shows no tilt, and thicker is not what lies about a workshop for a test; common
practice, no published source."""

EDGE_LEAST = 1.5
"""mm: the middle of a hole is no nearer to an edge of the scrap, or the drill breaks out."""

STRAY_LEAST = math.radians(15.0)
"""A hole this far from where it should lean was misread before it was drilled so."""

OTHER_WAY = math.radians(5.0)
"""How much further than twice its lean a hole may be off: one drilled with the piece turned round
is off by twice the lean, and that is a verdict and no question."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TestHoleVerdict:
    """The verdict on test holes drilled with a guide or block.

    Attributes:
        tilt: along x and y, as drilled less as intended, radians.
        plus_minus: about 95 %, along x and y, radians.
        drift: at the exit of a hole of the wedge, along x and y, mm; None without a thickness.
        verdict: ``use``, ``do not use`` or ``cannot tell``.
        why: in plain words.
        questions: readings that are asked about; tilt and plus-minus then mean nothing.
    """

    __test__ = False  # the name starts with Test, but it is no test case

    tilt: tuple[float, float]
    plus_minus: tuple[float, float]
    drift: tuple[float, float] | None
    verdict: str
    why: Sentence
    questions: tuple[Question, ...] = ()


def judge_test_holes(
    holes: Sequence[TestHole],
    *,
    allowed_angle: float,
    intended: tuple[float, float] = (0.0, 0.0),
    thickness: float | None = None,
    units: str = "mm",
    sure: Sequence[bool] = (),
) -> TestHoleVerdict:
    """Judge a guide by the tilt of the holes that were drilled with it in flat scrap.

    Args:
        holes: at least one.
        allowed_angle: largest angle error, radians.
        intended: the tilt that it should have given along x and y, radians; a guide of 84 deg
            standing on flat scrap drills -6 deg along x, toward the trailing edge, and stands at
            84 deg to its forward side.
        thickness: the largest of the wedge at the holes it serves, mm, for the drift.
        units: ``mm`` or ``in``: what lengths are said in.
        sure: of each hole whether the thickness of its scrap was given with its unit; none if
            left out.

    Returns:
        The verdict; an open one where readings must be asked about.

    Raises:
        ValueError: no hole, or a hole that cannot be.
    """
    found = drilled_tilt(holes)
    known = sure or [False] * len(holes)
    asked = tuple(
        question
        for hole, with_unit in zip(holes, known, strict=True)
        for question in questions_of_hole(hole, intended, units, thickness_is_sure=with_unit)
    )
    errors = (found.x - intended[0], found.y - intended[1])
    doubts = (COVERAGE * found.standards[0], COVERAGE * found.standards[1])
    if asked:
        return TestHoleVerdict(
            tilt=errors,
            plus_minus=doubts,
            drift=None,
            verdict=CANNOT_TELL,
            why=joined(question.text for question in asked),
            questions=asked,
        )
    # Said as the corner between hole and scrap: the number that stands on the guide.
    checks = [
        Check(
            what=f"angle of the hole {way}",
            nominal=math.pi / 2 + meant,
            error=e,
            doubt=d,
            limit=allowed_angle,
        )
        for way, meant, e, d in zip(
            ("on its forward side", "along the edge"), intended, errors, doubts, strict=True
        )
    ]
    verdict = worst_of([check.verdict for check in checks])
    parts = [say_check(check) for check in checks if check.verdict == verdict]
    if verdict == CANNOT_TELL:
        parts.append("to decide, use thicker scrap, a finer calliper, or drill more holes")
    why = joined(parts)
    drift = None
    if thickness is not None:
        drift = (drift_from(errors[0], thickness), drift_from(errors[1], thickness))
    return TestHoleVerdict(tilt=errors, plus_minus=doubts, drift=drift, verdict=verdict, why=why)


def questions_of_hole(
    hole: TestHole,
    intended: tuple[float, float],
    units: str = "mm",
    *,
    thickness_is_sure: bool = False,
) -> tuple[Question, ...]:
    """Return what must be asked about one test hole's readings; empty if they can be meant.

    Args:
        hole: as measured.
        intended: the tilt that it should have along x and y, radians.
        units: ``mm`` or ``in``: what lengths are said in.
        thickness_is_sure: the thickness was given with its unit, so that it is no slip of it.

    Returns:
        The questions. About the thickness alone where that is out of all reason, since nothing
        else can be told then.

    Source: common practice, no published source.
    """
    thick = hole.thickness
    if not thickness_is_sure and not SCRAP_LEAST <= thick <= SCRAP_MOST + 1e-9:
        how = "thick" if thick > SCRAP_MOST else "thin"
        bare = f"{thick / INCH if units == 'in' else thick:g}"
        other, its_name = ("mm", "millimetres") if units == "in" else ("in", "inches")
        text = (
            f"thickness was given as {say_length(thick, units)}, very {how} for a piece of scrap: "
            f'were {its_name} meant? Write it with its unit: "{bare}{other}", or "{bare}{units}" '
            "if it is so"
        )
        return (Question(readings=("thickness",), likely="unit", text=text),)
    return tuple(_about_places(hole, intended, units))


def _about_places(hole: TestHole, intended: tuple[float, float], units: str) -> Iterator[Question]:
    """Yield what must be asked about the distances from the two edges."""
    for way, meant, near, far in zip("xy", intended, hole.entry, hole.exit, strict=True):
        names = (f"entry {way}", f"exit {way}")
        said = (
            f"along {way} the hole goes in {say_length(near, units)} and comes out "
            f"{say_length(far, units)} from the edge"
        )
        off = math.atan2(far - near, hole.thickness) - meant
        if min(near, far) < EDGE_LEAST:
            what = "nearer than any drill leaves standing"
        elif abs(off) > max(STRAY_LEAST, 2.0 * abs(meant) + OTHER_WAY):
            what = f"{abs(math.degrees(off)):.0f} deg from where it should lean"
        else:
            continue
        text = (
            f"{said}, {what}: was one of them, or the thickness of "
            f"{say_length(hole.thickness, units)}, given in another unit, or misread? Measure "
            "again, and write each with its unit"
        )
        yield Question(readings=names, likely="unit", text=text)
