"""The verdict on test holes drilled in flat scrap with a guide or a block.

A reading in the wrong unit makes a hole look square, or look drilled sideways, and the doubt look
like none. So what no drill does is asked about before anything is worked out from it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from jiggen.geometry.finished import drift_from
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.geometry.testhole import TestHole, drilled_tilt
from jiggen.proof.checks import CANNOT_TELL, Check, Judged, Question, asked_about, worst_of
from jiggen.proof.readings import HoleReading
from jiggen.units import INCH, Length, joined, words

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


def judge_holes(
    name: str,
    holes: Sequence[HoleReading],
    *,
    allowed_angle: float,
    lean: float = 0.0,
    thickness: float | None = None,
    units: str = "mm",
) -> Judged:
    """Judge a guide by the tilt of the holes that were drilled with it in flat scrap.

    Args:
        name: what they were drilled with.
        holes: at least one.
        allowed_angle: largest angle error, radians.
        lean: the tilt that it should have given along x, radians: a guide whose forward corner is
            80 deg drills -10 deg along x in flat scrap, toward the trailing edge.
        thickness: the largest of the part at the holes it serves, mm, for the drift.
        units: ``mm`` or ``in``: what bare numbers counted in.
    """
    if asked := [question for hole in holes for question in _asked(hole, lean, units)]:
        return asked_about(name, "hole", asked)
    found = drilled_tilt([_drilled(hole) for hole in holes])
    errors = (found.x - lean, found.y)
    doubts = (COVERAGE * found.standards[0], COVERAGE * found.standards[1])
    # Said as the corner between hole and scrap: the number that stands on the guide.
    checks = [
        Check(
            what=f"the hole's {way}",
            nominal=math.pi / 2 + meant,
            error=error,
            doubt=doubt,
            limit=allowed_angle,
            is_angle=True,
        )
        for way, meant, error, doubt in zip(
            ("forward", "spanwise"), (lean, 0.0), errors, doubts, strict=True
        )
    ]
    verdict = worst_of(check.verdict for check in checks)
    parts = [check.said() for check in checks if check.verdict == verdict]
    if abs(errors[0] + 2.0 * lean) <= doubts[0] < abs(errors[0]):
        parts.append(
            words(
                "the hole leans as it should, but the other way: was it measured from the forward "
                "edge, or did the piece stand the wrong way round?"
            )
        )
    finer = words("use thicker scrap or a finer calliper, or drill more holes")
    drift = None
    if thickness is not None:
        drift = (drift_from(errors[0], thickness), drift_from(errors[1], thickness))
    return Judged(
        name=name,
        stage="hole",
        verdict=verdict,
        why=joined(parts),
        to_decide=finer if verdict == CANNOT_TELL else None,
        tilt=(errors, doubts),
        drift=drift,
    )


def _drilled(hole: HoleReading) -> TestHole:
    return TestHole(
        entry=(hole.entry[0].measured, hole.entry[1].measured),
        exit=(hole.exit[0].measured, hole.exit[1].measured),
        thickness=hole.thickness.measured,
        standard=hole.entry[0].standard,
        thickness_standard=hole.thickness.standard,
    )


def _asked(hole: HoleReading, lean: float, units: str) -> Iterator[Question]:
    """Yield what must be asked about one hole: the thickness alone where that is out of reason."""
    thick = hole.thickness.measured
    if not hole.thickness_has_unit and not SCRAP_LEAST <= thick <= SCRAP_MOST + 1e-9:
        bare = f"{thick / INCH if units == 'in' else thick:g}"
        text = words(
            "the thickness {thick} is very {how} for a piece of scrap: was another unit meant? "
            'Write it with its unit: "{bare}{other}", or "{bare}{units}" if it is so',
            thick=Length(thick),
            how="thick" if thick > SCRAP_MOST else "thin",
            bare=bare,
            other="mm" if units == "in" else "in",
            units=units,
        )
        yield Question(readings=("thickness",), likely="unit", text=text)
        return
    for way, meant, near, far in zip("xy", (lean, 0.0), hole.entry, hole.exit, strict=True):
        off = math.atan2(far.measured - near.measured, thick) - meant
        if min(near.measured, far.measured) < EDGE_LEAST:
            what = "nearer than any drill leaves standing"
        elif abs(off) > max(STRAY_LEAST, 2.0 * abs(meant) + OTHER_WAY):
            what = f"{abs(math.degrees(off)):.0f} deg from where it should lean"
        else:
            continue
        text = words(
            "the hole goes in {near} and comes out {far} from the {edge} edge, {what}: was one of "
            "them, or the thickness of {thick}, given in another unit, or misread? Measure again",
            near=Length(near.measured),
            far=Length(far.measured),
            edge="TE" if way == "x" else "other",
            what=what,
            thick=Length(thick),
        )
        yield Question(readings=(near.name, far.name), likely="unit", text=text)
