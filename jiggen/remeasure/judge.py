"""What a file's scale, turn and page mean, in words: what came of it, and what likely did it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from jiggen.remeasure.fit import Fit
from jiggen.remeasure.found import NOTE, OFF, Finding, FoundDrawing, FoundPage
from jiggen.remeasure.measurement import MeasuredPage, MeasuredPiece, MeasuredSize
from jiggen.remeasure.nominal import NominalSheet
from jiggen.remeasure.pieces import TRUE, TRUE_ANGLE

#: A scale nearer to 1 than this is true: 5 um in 100 mm.
TRUE_SCALE = 5e-5
#: mm. Page sizes that differ less are the same paper.
SAME_PAGE = 0.05
#: A factor this near to a known one is that one.
_LIKE = 5e-4

#: Factors that programs are known to make out of a unit that was lost or misread, and why.
#: Source: derived from 25.4 mm, 96, 90 and 72 units to the inch.
CAUSES = (
    (25.4 / 96, "mm were taken as pixels, 96 to the inch: a unit was lost"),
    (96 / 25.4, "pixels, 96 to the inch, were taken as mm"),
    (25.4 / 90, "mm were taken as pixels, 90 to the inch: a unit was lost"),
    (90 / 25.4, "pixels, 90 to the inch, were taken as mm"),
    (25.4 / 72, "mm were taken as points, 72 to the inch: a unit was lost"),
    (72 / 25.4, "points, 72 to the inch, were taken as mm"),
    (72 / 96, "96 and 72 units to the inch were mixed up"),
    (96 / 72, "72 and 96 units to the inch were mixed up"),
    (90 / 96, "90 and 96 units to the inch were mixed up"),
    (96 / 90, "96 and 90 units to the inch were mixed up"),
    (72 / 90, "90 and 72 units to the inch were mixed up"),
    (90 / 72, "72 and 90 units to the inch were mixed up"),
    (25.4, "mm were taken as inches"),
    (1 / 25.4, "inches were taken as mm, or the numbers were turned into inches"),
    (304.8, "mm were taken as feet"),
    (1000.0, "mm were taken as metres"),
    (1 / 1000, "metres were taken as mm"),
    (1000 / 25.4, "metres and inches were mixed up"),
    (10.0, "mm were taken as cm"),
    (1 / 10, "cm were taken as mm"),
    (2.0, "a page unit of 2 was obeyed, or the drawing was doubled"),
)


def likely_cause(factor: float) -> str:
    """Return what likely scaled a drawing by a factor, in words; empty where none is known.

    Args:
        factor: size in the file over true size.
    """
    for known, why in CAUSES:
        if abs(factor / known - 1.0) < _LIKE:
            return why
    if abs(factor - 1.0) < 2e-3:
        return "a page size or scale was rounded on the way"
    if 0.88 <= factor < 1.0:
        return "the page was shrunk to fit the printable part of a sheet, or another paper"
    if 1.0 < factor <= 1.12:
        return "the page was stretched to fill another paper"
    return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lie:
    """How a drawing lies against what it should be.

    Attributes:
        scale_x: of what should run along x.
        scale_y: of what should run along y.
        skew: degrees by which the right angle between them has closed.
        turn: degrees, of x, in (-180, 180]; of the image before mirroring where it is mirrored.
        mirrored: it is a mirror image.
    """

    scale_x: float
    scale_y: float
    skew: float
    turn: float
    mirrored: bool


def lie_of(fit: Fit) -> Lie:
    """Return a fit taken apart.

    Args:
        fit: of a page.
    """
    a, b, c, d = fit.matrix[:4]
    between = math.degrees(math.atan2(abs(a * d - b * c), a * c + b * d))
    return Lie(
        scale_x=math.hypot(a, b),
        scale_y=math.hypot(c, d),
        skew=90.0 - between,
        turn=math.degrees(math.atan2(b, a)),
        mirrored=a * d - b * c < 0.0,
    )


def say_lie(fit: Fit, drawing: FoundDrawing, page: int) -> Iterator[Finding]:
    """Yield what is to be said about a page's scale, skew, mirroring, turn and shift.

    Args:
        fit: of the page.
        drawing: the file.
        page: its number.
    """
    lie = lie_of(fit)
    yield from _say_scale(lie, drawing, page)
    if abs(lie.skew) > TRUE_ANGLE:
        yield _off(f"a right angle measures {90.0 - lie.skew:.3f} degrees: it was sheared", page)
    if lie.mirrored:
        yield _off(_say_mirror(lie.turn), page)
    elif abs(lie.turn) > TRUE_ANGLE:
        yield _note(f"everything is turned by {lie.turn:.4g} degrees, which does no harm", page)
    elif abs(fit.scale - 1.0) <= TRUE_SCALE:
        x, y = fit.matrix[4:]
        if math.hypot(x, y) > 0.01:
            yield _note(
                f"everything is moved by ({x:.2f}, {y:.2f}) mm on its page, which does no harm",
                page,
            )


def _say_scale(lie: Lie, drawing: FoundDrawing, page: int) -> Iterator[Finding]:
    x, y = lie.scale_x, lie.scale_y
    if abs(x / y - 1.0) > TRUE_SCALE:
        bent = math.degrees(abs(math.atan((x / y - y / x) / 2)))
        yield _off(
            f"it is drawn at {x:.6g} of true size along x and {y:.6g} along y, which bends angles "
            f"by up to {bent:.2g} degrees",
            page,
        )
        return
    factor = math.sqrt(x * y)
    if abs(factor - 1.0) <= TRUE_SCALE:
        return
    why = likely_cause(factor)
    stated = drawing.as_stated
    if drawing.kind == "dxf" and stated != 1.0 and abs(factor / stated - 1.0) < _LIKE:
        why = f"the file says {drawing.unit}, but its numbers are mm"
    yield _off(
        f"everything is drawn at {factor:.6g} of true size: 100 mm measure {100 * factor:.6g} mm"
        + (f"; likely cause: {why}" if why else ""),
        page,
    )


def _say_mirror(turn: float) -> str:
    ways = {
        0.0: "flipped top for bottom (y counted the other way)",
        180.0: "mirrored left for right",
        90.0: "mirrored: x and y are exchanged",
        -90.0: "mirrored: x and y are exchanged, and turned over",
    }
    for angle, words in ways.items():
        if abs((turn - angle + 180.0) % 360.0 - 180.0) < 0.5:
            return f"everything is {words}: each piece is for the other side"
    return f"everything is mirrored and turned by {turn:.2f} degrees: each is for the other side"


def say_page(
    sheet: NominalSheet, page: FoundPage, fit: Fit | None, drawing: FoundDrawing, number: int
) -> Iterator[Finding]:
    """Yield what is to be said when a page has another size than it should.

    Args:
        sheet: as it should be.
        page: as found.
        fit: how it lies; None where it could not be found.
        drawing: the file.
        number: of the page.
    """
    if page.width is None or page.height is None:
        return
    wide, high = sheet.width, sheet.height
    if fit is not None and round(lie_of(fit).turn / 90.0) % 2:
        wide, high = high, wide
    if max(abs(page.width - wide), abs(page.height - high)) > SAME_PAGE:
        text = (
            f"the page is {page.width:.2f} x {page.height:.2f} mm, where it was "
            f"{wide:.2f} x {high:.2f} mm"
        )
        # A cutter takes the lines and not the page; a printer fits the page to its paper.
        yield (_off if drawing.kind == "pdf" else _note)(text, number)


def say_errors(
    page: MeasuredPage, pieces: tuple[MeasuredPiece, ...], fit: Fit, bars: Fit
) -> Iterator[Finding]:
    """Yield the bars, sizes and angles that are wrong beyond what the whole page is.

    Args:
        page: its bars.
        pieces: on it.
        fit: how the outlines lie; a scale that all share is not said again for each.
        bars: how the bars lie.
    """
    owners: list[tuple[str, Fit, tuple[MeasuredSize, ...]]] = [("the page", bars, page.bars)]
    for piece in pieces:
        owners += [(piece.name, bars, piece.bars), (piece.name, fit, piece.sizes)]
    for owner, lies, sizes in owners:
        for size in sizes:
            if size.measured is None or _bends(lies):
                continue
            off = size.measured / lies.scale - size.drawn
            if abs(off) > 2 * TRUE:
                way = "long" if off > 0 else "short"
                yield _off(
                    f"{owner}: {size.name} of {size.nominal:g} mm measures {abs(off):.3f} mm "
                    f"too {way}",
                    page.number,
                )
    for piece in pieces:
        for angle in piece.angles:
            if angle.error is not None and abs(angle.error) > TRUE_ANGLE:
                yield _off(
                    f"{piece.name}: its {angle.name} angle measures {angle.measured:.3f} degrees, "
                    f"where it should be {angle.drawn:.3f}",
                    page.number,
                )


def _bends(fit: Fit) -> bool:
    """Return whether a map changes lengths by their direction: no one scale undoes it."""
    lie = lie_of(fit)
    return abs(lie.scale_x / lie.scale_y - 1.0) > TRUE_SCALE or abs(lie.skew) > TRUE_ANGLE


def _off(text: str, page: int) -> Finding:
    return Finding(severity=OFF, text=text, page=page)


def _note(text: str, page: int) -> Finding:
    return Finding(severity=NOTE, text=text, page=page)
