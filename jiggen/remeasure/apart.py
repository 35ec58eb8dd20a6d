"""Tells a drawing whose outlines alone were changed from one that was changed all over.

Outlines have more corners than there are ticks, so the map that fits the drawing best follows the
outlines: bars that stayed true would be called missing, and the blame laid on page and paper.
"""

from __future__ import annotations

from collections.abc import Iterator

from jiggen.remeasure.contour import IDENTITY
from jiggen.remeasure.fit import (
    NEAR,
    PLAIN_SHARE,
    Fit,
    apply,
    marks_of_page,
    marks_of_sheet,
    nearest,
)
from jiggen.remeasure.found import OFF, Finding, FoundPage
from jiggen.remeasure.judge import TRUE_SCALE, lie_of
from jiggen.remeasure.nominal import NominalSheet
from jiggen.remeasure.pieces import TRUE_ANGLE

LEAST_TICKS = 4
"""Ends of two bars: with fewer nothing can be told of the bars alone."""


def bars_left_true(sheet: NominalSheet, page: FoundPage, fit: Fit) -> Fit | None:
    """Return how the bars lie where they stayed in place and the outlines did not.

    Args:
        sheet: as it should be.
        page: as found.
        fit: of the outlines and bars together.

    Returns:
        None where the bars go along with the outlines, or are not in place either.
    """
    wanted, found = marks_of_sheet(sheet).ticks, marks_of_page(page).ticks
    if len(wanted) < LEAST_TICKS:
        return None
    shares = [
        float((nearest(apply(matrix, wanted), found)[0] <= reach).mean())
        for matrix, reach in ((fit.matrix, NEAR * fit.scale), (IDENTITY, NEAR))
    ]
    along, in_place = shares
    if along >= PLAIN_SHARE or in_place < PLAIN_SHARE:
        return None
    return Fit(matrix=IDENTITY, share=in_place)


def say_apart(outlines: Fit, page: int) -> Iterator[Finding]:
    """Yield what is to be said of outlines that were changed while the bars stayed true.

    Args:
        outlines: how they lie.
        page: its number.
    """
    lie = lie_of(outlines)
    done = []
    if abs(lie.scale_x / lie.scale_y - 1.0) > TRUE_SCALE:
        done.append(f"drawn at {lie.scale_x:.6g} of true size along x, {lie.scale_y:.6g} along y")
    elif abs(lie.scale_x - 1.0) > TRUE_SCALE:
        done.append(f"drawn at {lie.scale_x:.6g} of true size")
    if abs(lie.skew) > TRUE_ANGLE:
        done.append(f"sheared, so that a right angle measures {90.0 - lie.skew:.3f} degrees")
    if lie.mirrored:
        done.append("mirrored")
    elif abs(lie.turn) > TRUE_ANGLE:
        done.append(f"turned by {lie.turn:.4g} degrees")
    what = ", and ".join(done) or "moved"
    yield Finding(
        severity=OFF,
        text=f"only a part was changed: the outlines are {what}, and the bars are true; what is "
        "cut is not what the bars show",
        page=page,
    )
