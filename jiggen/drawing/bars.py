"""Calibration bars: drawn from the number they claim, so that the two cannot disagree.

A bar is two ticks and a line between them, its name set into a gap of the line. It is measured
from the middle of one tick to the middle of the other, which neither ink spread nor the width of
a burnt line can change.
"""

from __future__ import annotations

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.lettering import text_width
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path, Text

INCH_MM = 25.4
#: What a bar may claim, longest first: (name, length in mm). A shorter one is drawn where the
#: longer does not fit.
METRIC_BARS = (("50 mm", 50.0), ("40 mm", 40.0), ("30 mm", 30.0), ("20 mm", 20.0), ("10 mm", 10.0))
INCH_BARS = (
    ("2 in", 2 * INCH_MM),
    ("1 1/2 in", 1.5 * INCH_MM),
    ("1 in", INCH_MM),
    ("3/4 in", 0.75 * INCH_MM),
    ("1/2 in", 0.5 * INCH_MM),
)
#: mm of white on each side of a bar's name.
NAME_GAP = 0.8
#: A name that takes up more of its bar than this is set above an unbroken line: within it, what is
#: left of the line would be read as part of the number.
NAME_SHARE = 0.62
#: mm. Length of a tick below such a name, and the largest capital that leaves room for it.
LOW_TICK, LOW_NAME = 1.2, 1.6
#: Heights of a capital from the line up to the baseline of a name above it, and from the middle of
#: the row down to that line.
LIFTED, BELOW_NAME = 0.45, 0.66
#: mm. Width of a tick that is drawn as an area; its middle is what is measured.
TICK_WIDTH = 0.3


def calibration_bar(
    label: str,
    length: float,
    start: tuple[float, float],
    *,
    along_y: bool = False,
    tick: float = 2.4,
    text_height: float = 1.9,
    op: Op = Op.ENGRAVE,
    solid_ticks: bool = False,
    name: str | None = None,
) -> tuple[tuple[Mark, ...], CheckDimension]:
    """Draw one bar and state what it must measure.

    Args:
        label: what it claims, e.g. ``50 mm``.
        length: the same in mm.
        start: the middle of its first tick, mm.
        along_y: stand it up instead of laying it along x.
        tick: length of a tick, mm.
        text_height: capital height of the label, mm.
        op: the operation that draws it.
        solid_ticks: draw the ticks as areas `TICK_WIDTH` wide (paper) instead of lines.
        name: name of the check dimension; made from label and direction when left out.

    Returns:
        The marks, and the check dimension with the ticks' middles as its ends.
    """
    place = Affine.move(*start) @ Affine.turn(90.0 if along_y else 0.0)
    above = text_width(label, text_height) > NAME_SHARE * length
    if above:
        tick, text_height = min(tick, LOW_TICK), min(text_height, LOW_NAME)
        # Line and name together stand in the middle of the row that a bar of two parts would take.
        place = place @ Affine.move(0.0, -(BELOW_NAME * text_height))
    marks: list[Mark] = []
    for x in (0.0, length):
        if solid_ticks:
            half, up = TICK_WIDTH / 2, tick / 2
            box = Path.closed([(x - half, -up), (x + half, -up), (x + half, up), (x - half, up)])
            marks.append(Mark(shape=box, op=op, fill=0.0))
        else:
            marks.append(Mark(shape=Path.open([(x, -tick / 2), (x, tick / 2)]), op=op))
    room = length - 2 * NAME_GAP
    text_height = min(text_height, text_height * room / (text_width(label, text_height) * 1.05))
    clear = text_width(label, text_height) / 2 + NAME_GAP
    middle = length / 2
    for x0, x1 in ((0.0, length),) if above else ((0.0, middle - clear), (middle + clear, length)):
        marks.append(Mark(shape=Path.open([(x0, 0.0), (x1, 0.0)]), op=op))
    baseline = LIFTED * text_height if above else -text_height / 2
    text = Text(Point(middle, baseline), label, text_height, anchor=Anchor.MIDDLE)
    marks.append(Mark(shape=text, op=op))
    axis = "y" if along_y else "x"
    dimension = CheckDimension(
        name=name or f"bar-{axis}-{label.replace(' ', '-').replace('/', '.')}",
        nominal=length,
        start=place.point((0.0, 0.0)),
        end=place.point((length, 0.0)),
        how=f"{label} bar along {axis}, middle of tick to middle of tick",
        is_bar=True,
    )
    return tuple(m.moved(place) for m in marks), dimension


def longest_bar(choices: tuple[tuple[str, float], ...], room: float) -> tuple[str, float] | None:
    """Return the longest of `choices` that fits `room` mm, or None."""
    for label, length in choices:
        if length <= room:
            return label, length
    return None


def bar_pair(
    box: Bounds,
    *,
    along_y: bool = False,
    tick: float = 2.4,
    text_height: float = 1.9,
    op: Op = Op.ENGRAVE,
) -> tuple[tuple[Mark, ...], tuple[CheckDimension, ...]]:
    """Draw a metric and an inch bar side by side in `box`, each as long as the box allows.

    Args:
        box: the room, mm; `pair_room` says how much a pair needs across.
        along_y: stand them up.
        tick: length of a tick, mm.
        text_height: capital height of the labels, mm.
        op: the operation that draws them.

    Returns:
        The marks and the check dimensions; empty where not even the shortest bar fits.
    """
    row = pair_room(tick=tick, text_height=text_height) / 2
    along, across = (box.height, box.width) if along_y else (box.width, box.height)
    marks: list[Mark] = []
    dimensions: list[CheckDimension] = []
    for number, choices in enumerate((METRIC_BARS, INCH_BARS)):
        bar = longest_bar(choices, along - TICK_WIDTH)
        if bar is None or row * (number + 1) > across + 1e-9:
            continue
        off = row * (number + 0.5)
        half = TICK_WIDTH / 2
        start = (
            (box.left + off, box.bottom + half) if along_y else (box.left + half, box.bottom + off)
        )
        some, one = calibration_bar(
            *bar, start, along_y=along_y, tick=tick, text_height=text_height, op=op
        )
        marks += some
        dimensions.append(one)
    return tuple(marks), tuple(dimensions)


def pair_room(*, tick: float = 2.4, text_height: float = 1.9) -> float:
    """Return how much a pair of bars takes up across their direction, mm."""
    return 2 * (max(tick, 1.45 * text_height) + 0.8)
