"""What the rows over the holes of a strip are, said at the rows."""

from __future__ import annotations

from collections.abc import Sequence

from jiggen.drawing.affine import Point
from jiggen.drawing.lettering import text_width
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Text
from jiggen.jigs.strip_frame import CROSS, Frame
from jiggen.jigs.strip_plan import NUMBER_ROW, ORDER_ROW, PIN_ROW, PLACE_ROW

#: What the rows over a hole are, from the lowest, and the capitals of that, mm.
ROW_WORDS = ("hole", "order", "pin")
KEY_WORDS = 1.8
#: mm. White beside it.
BESIDE = 0.8


def row_keys(frame: Frame, labels: Sequence[Bounds]) -> list[Mark]:
    """Return what the holes' rows are, one over the other where two holes leave room.

    Args:
        frame: the tile.
        labels: what stands in the rows.
    """
    plan = frame.plan
    low, high = _inside(frame)
    # Clear of the lines that run through the rows: changes of guide, zero end, trim, stations.
    lines = [frame.x(served.end) for row in plan.guides for served in row if served.ends]
    lines += [frame.x(place.at) for place in plan.places]
    stops = [Bounds(x, 0.0, x, plan.width) for x in lines if low < x < high]
    # All in one gap: the widest word says which.
    wide = max(text_width(words, KEY_WORDS) for words in ROW_WORDS)
    marks: list[Mark] = []
    y = plan.work_top
    for words, row in zip(ROW_WORDS, (NUMBER_ROW, ORDER_ROW, PIN_ROW), strict=True):
        marks += _key(frame, words, [*labels, *stops], y + 0.4, wide=wide)
        y += row
    return marks


def pin_key(frame: Frame, taken: Sequence[Bounds]) -> list[Mark]:
    """Return which sides the pins' letters are, just over their row.

    Args:
        frame: the tile.
        taken: what stands over the holes' rows.
    """
    plan = frame.plan
    y = plan.place_bottom
    # The row above hangs down a little.
    beside = [box for box in taken if box.top > y and box.bottom < y + PLACE_ROW - 0.6]
    return _key(frame, plan.pin_words, beside, y + 0.8, aside=True)


def _inside(frame: Frame) -> tuple[float, float]:
    """Return between which x the tile is neither cut away nor covered, clear of the crosses, mm."""
    low, high = frame.between
    return low + CROSS, high - CROSS


def _gaps(
    low: float, high: float, taken: Sequence[tuple[float, float]]
) -> list[tuple[float, float]]:
    """Return what is free between `low` and `high`, with white to both sides."""
    found, reach = [], low
    for left, right in [*taken, (high, high)]:
        stop = min(left, high)
        if reach < stop:
            found.append((reach + BESIDE, stop - BESIDE))
        reach = max(reach, right)
    return found


def _key(
    frame: Frame,
    words: str,
    taken: Sequence[Bounds],
    baseline: float,
    *,
    wide: float = 0.0,
    aside: bool = False,
) -> list[Mark]:
    """Return words in the first gap of a row, from the end toward hole 1, that they fit.

    Args:
        frame: the tile.
        words: what is said.
        taken: what stands in the row.
        baseline: mm.
        wide: the least gap that will do, mm.
        aside: at the gap's end toward hole 1, not in its middle.
    """
    wide = max(wide, text_width(words, KEY_WORDS))
    gaps = _gaps(*_inside(frame), sorted((box.left, box.right) for box in taken))
    for low, high in sorted(gaps, key=lambda gap: frame.plan.hand * gap[0]):
        if wide <= high - low:
            toward = low + wide / 2.0 if frame.plan.hand > 0 else high - wide / 2.0
            x = toward if aside else (low + high) / 2.0
            shape = Text(Point(x, baseline), words, KEY_WORDS, anchor=Anchor.MIDDLE)
            return [Mark(shape=shape, op=Op.ENGRAVE)]
    return []
