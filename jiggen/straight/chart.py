"""The edge as a drawing for the builder's log: readings, zone and limit over the span.

Heights are drawn much larger than they are, and the chart says by how much; it is no template.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from io import BytesIO

from jiggen.drawing.affine import Point
from jiggen.drawing.lettering import fitted, wrap
from jiggen.drawing.shapes import Anchor, Bounds, Circle, Mark, Op, Path, Text
from jiggen.drawing.sheet import Sheet
from jiggen.straight.curves import Curve, Picture, picture_of
from jiggen.straight.judge import Judged
from jiggen.straight.words import taken, why
from jiggen.units import INCH

PAGE = (210.0, 148.0)
"""mm: half of a common sheet, A5 lying."""

MARGIN = 12.0
"""mm of white on each side."""

PLOT = Bounds(MARGIN + 20.0, MARGIN + 22.0, PAGE[0] - MARGIN - 4.0, PAGE[1] - 56.0)
"""The field of the curves, mm."""

HEADROOM = 1.12
"""The highest reading keeps this much below the field's edge."""

TICKS_MOST = 9
"""More numbers on an axis than this are in each other's way."""

DOT = 0.8
"""mm: radius of a reading's mark, or half the side of a square one."""

BODY, KEY = 2.6, 2.2
"""mm: capital height of the numbers on the axes, and of the words round the field."""


SIZES, ROWS = (KEY, 2.0, 1.8, 1.6), 6
"""mm: capital heights that are tried until the words above the field take no more than so many
rows."""


def chart_sheet(judged: Judged) -> Sheet:
    """Return the chart as a sheet.

    Args:
        judged: the survey.
    """
    picture = picture_of(judged)
    marks = [*_words(judged), *_axes(judged, picture), *_bands(picture), *_key(picture)]
    for number, curve in enumerate(picture.curves):
        marks += _curve(curve, picture, square=number > 0)
    return Sheet(
        name="straightness",
        width=PAGE[0],
        height=PAGE[1],
        marks=tuple(marks),
        title=f"{judged.survey.name}: straightness",
    )


def chart_bytes(judged: Judged, kind: str) -> bytes:
    """Return the chart as a file.

    Args:
        judged: the survey.
        kind: ``svg`` or ``pdf``.

    Returns:
        The bytes of the file.
    """
    sheet, stream = chart_sheet(judged), BytesIO()
    if kind == "svg":
        from jiggen.write.looks import Looks
        from jiggen.write.svg import write_svg

        write_svg(sheet, stream, Looks(line=0.25))
    else:
        from jiggen.write.pdf import write_pdf

        write_pdf([sheet], stream, title=sheet.title)
    return stream.getvalue()


def place_on(picture: Picture, at: float, off: float) -> Point:
    """Return where a reading stands on the chart, mm."""
    first, last = picture.span
    return Point(
        PLOT.left + (at - first) / (last - first) * PLOT.width,
        (PLOT.bottom + PLOT.top) / 2.0 + off * exaggeration(picture) * _across(picture),
    )


def exaggeration(picture: Picture) -> float:
    """Return how many times larger heights are drawn than lengths."""
    return PLOT.height / 2.0 / HEADROOM / picture.reach / _across(picture)


def _across(picture: Picture) -> float:
    """Return mm of paper for one mm of the edge."""
    return PLOT.width / (picture.span[1] - picture.span[0])


def _words(judged: Judged) -> Iterator[Mark]:
    """Yield name, verdict and what it rests on, above the field."""
    room, left, top = PAGE[0] - 2.0 * MARGIN, MARGIN, PAGE[1] - MARGIN
    title = f"Straightness: {judged.survey.name}"
    size = fitted(title, room, 4.0, 1.0, bold=True)
    yield _text(left, top - 4.0, title, size, bold=True)
    yield _text(left, top - 12.0, judged.verdict.upper(), 5.0, bold=True)
    texts = (taken(judged), *why(judged))
    for size in SIZES:
        lines = [row for text in texts for row in wrap(text, size, room)]
        if len(lines) <= ROWS:
            break
    for number, row in enumerate(lines):
        yield _text(left, top - 17.5 - 3.8 * number, row, size)


def _axes(judged: Judged, picture: Picture) -> Iterator[Mark]:
    """Yield the frame, the straight line at 0 and the numbers along both axes."""
    unit = INCH if judged.survey.units == "in" else 1.0
    corners = ((PLOT.left, PLOT.top), (PLOT.left, PLOT.bottom), (PLOT.right, PLOT.bottom))
    yield _line(*corners)
    yield _line((PLOT.left, place_on(picture, 0.0, 0.0).y), (PLOT.right, place_on(picture, 0, 0).y))
    reach = picture.reach * HEADROOM / unit
    for value, said in _ticks(-reach, reach):
        y = place_on(picture, 0.0, value * unit).y
        yield _line((PLOT.left - 1.2, y), (PLOT.left, y))
        yield _text(PLOT.left - 2.0, y - BODY / 2.0, said, BODY, anchor=Anchor.END)
    first, last = (mm / unit for mm in picture.span)
    for value, said in _ticks(first, last):
        x = place_on(picture, value * unit, 0.0).x
        yield _line((x, PLOT.bottom - 1.2), (x, PLOT.bottom))
        yield _text(x, PLOT.bottom - 5.0, said, BODY, anchor=Anchor.MIDDLE)
    up, down = judged.survey.ways
    units = judged.survey.units
    about = f"{units}, above 0: {up}, below: {down}; 0 is {picture.about}"
    size = fitted(about, PLOT.width + 18.0, KEY, 1.0)
    yield _text(PLOT.left - 18.0, PLOT.top + 3.4, about, size)
    times = f"place along the edge, {units}; heights drawn {exaggeration(picture):.0f} times larger"
    yield _text(PLOT.right, PLOT.bottom - 10.0, times, KEY, anchor=Anchor.END)
    largest = judged.lines[judged.worst].largest
    if len(picture.curves) == 1 and largest.value:
        curve = picture.curves[0]
        number = curve.at.tolist().index(largest.at)
        top = place_on(picture, largest.at, float(curve.off[number]))
        yield Mark(shape=Circle(top, 2.0 * DOT), op=Op.ENGRAVE, line=0.25)


def _ticks(low: float, high: float) -> Iterator[tuple[float, str]]:
    """Yield round numbers from low to high, and how each is said."""
    rough = (high - low) / TICKS_MOST
    power = math.floor(math.log10(rough))
    step = next(f * 10.0**power for f in (1.0, 2.0, 5.0, 10.0) if f * 10.0**power >= rough)
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    for number in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1):
        yield number * step, f"{number * step:z.{digits}f}"


def _broken_lines(picture: Picture) -> tuple[tuple[float | None, str, Op, float, float], ...]:
    """Return half a band's width, its name, and how its edges are drawn: operation, dash, pen."""
    return (
        (picture.zone, "minimum zone", Op.NOTE, 1.2, 0.18),
        (picture.limit, "limit", Op.SCORE, 5.0, 0.35),
    )


def _bands(picture: Picture) -> Iterator[Mark]:
    """Yield zone and limit as broken lines: long dashes for the limit, short ones for the zone."""
    for half, _, op, on, line in _broken_lines(picture):
        for height in (half, -half) if half is not None else ():
            start = place_on(picture, picture.span[0], height)
            yield from _dashes(start, PLOT.width, on, op, line)


def _dashes(
    start: tuple[float, float], length: float, on: float, op: Op, line: float
) -> Iterator[Mark]:
    """Yield dashes of their own, one at either end: a cut file's pen has no dashed line."""
    (x, y), gaps = start, round((length - on) / (1.6 * on))
    for number in range(gaps + 1):
        at = x + (length - on) * number / gaps
        yield Mark(shape=Path.open([(at, y), (at + on, y)]), op=op, line=line)


def _curve(curve: Curve, picture: Picture, *, square: bool) -> Iterator[Mark]:
    """Yield the readings as circles or squares, joined by straight lines."""
    points = [
        place_on(picture, x, y) for x, y in zip(curve.at.tolist(), curve.off.tolist(), strict=True)
    ]
    apart = points[:1]
    for point in points[1:]:
        if math.dist(point, apart[-1]) > DOT / 100.0:  # nearer than that no pen tells them apart
            apart.append(point)
    yield Mark(shape=Path.open(apart), op=Op.ENGRAVE, line=0.3)
    for point in points:
        yield _dot(point, square)


def _dot(point: Point, square: bool) -> Mark:
    if not square:
        return Mark(shape=Circle(point, DOT), op=Op.ENGRAVE, line=0.3)
    x, y = point
    corners = [(x - DOT, y - DOT), (x + DOT, y - DOT), (x + DOT, y + DOT), (x - DOT, y + DOT)]
    return Mark(shape=Path.closed(corners), op=Op.ENGRAVE, line=0.3)


def _key(picture: Picture) -> Iterator[Mark]:
    """Yield what the marks and lines mean, below the field."""
    x, y = MARGIN, MARGIN + 2.0
    for number, curve in enumerate(picture.curves):
        said = _text(x + 4.0, y, curve.name, KEY)
        yield from (_dot(Point(x + DOT, y + KEY / 2.0), number > 0), said)
        x = said.bounds().right + 7.0
    for half, word, op, on, line in _broken_lines(picture):
        if half is not None:
            said = _text(x + 17.0, y, word, KEY)
            yield from _dashes((x, y + KEY / 2.0), 15.0, on, op, line)
            yield said
            x = said.bounds().right + 7.0
    if len(picture.curves) == 1:
        centre = Point(x + 2.0 * DOT, y + KEY / 2.0)
        yield Mark(shape=Circle(centre, 2.0 * DOT), op=Op.ENGRAVE, line=0.25)
        yield _text(x + 6.0, y, "farthest off the line through the ends", KEY)


def _line(*points: tuple[float, float]) -> Mark:
    return Mark(shape=Path.open(points), op=Op.NOTE, line=0.18)


def _text(
    x: float,
    y: float,
    text: str,
    height: float,
    *,
    anchor: Anchor = Anchor.START,
    bold: bool = False,
) -> Mark:
    return Mark(shape=Text(Point(x, y), text, height, anchor=anchor, bold=bold), op=Op.ENGRAVE)
