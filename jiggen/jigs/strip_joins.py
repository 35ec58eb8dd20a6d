"""Where the tiles of a strip are joined: crosses, the lines between them, what to do there."""

from __future__ import annotations

from jiggen.drawing.affine import Point
from jiggen.drawing.labels import Line, fitted_height
from jiggen.drawing.shapes import Anchor, Mark, Op, Path, Text
from jiggen.jigs.strip_frame import CROSS, LOWER, UPPER_IN, Frame

#: mm. Half a diamond round a cross.
DIAMOND = 1.3
#: mm. Capitals of the words at a join, and the room that two lines of them take beside it.
JOIN_WORDS, JOIN_ROOM = 1.9, 7.0


def join_marks(frame: Frame) -> tuple[Mark, ...]:
    """Return a tile's registration crosses and its joins.

    Args:
        frame: the tile.
    """
    crosses = [mark for at in frame.tile.crosses for mark in _crosses(frame, at)]
    return (*crosses, *_joins(frame))


def _line(x0: float, y0: float, x1: float, y1: float, *, dashed: bool = False) -> Mark:
    path = Path.open([(x0, y0), (x1, y1)])
    return Mark(shape=path, op=Op.ENGRAVE, line=0.12, dashed=dashed)


def _crosses(frame: Frame, at: float) -> list[Mark]:
    """Return the pair of crosses at a place, in diamonds, so that nobody drills there."""
    x, half = frame.x(at), DIAMOND
    marks = []
    for y in (LOWER, frame.plan.width - UPPER_IN):
        corners = [(x + half, y), (x, y + half), (x - half, y), (x, y - half)]
        marks += [
            Mark(shape=Path.closed(corners), op=Op.ENGRAVE, line=0.12),
            _line(x - CROSS, y, x + CROSS, y),
            _line(x, y - CROSS, x, y + CROSS),
        ]
    return marks


def _joins(frame: Frame) -> list[Mark]:
    """Return the lines between the crosses that a neighbour shares, with what to do there."""
    plan, tile = frame.plan, frame.tile
    top = plan.width - UPPER_IN - CROSS - 1.0
    marks = []
    before, after = tile.number - 1, tile.number + 1
    for number, at, end, words in (
        (before, tile.crosses[0], tile.start, ("cut here,", f"lay on tile {before}")),
        (after, tile.crosses[1], tile.end, (f"tile {after} lies", "up to here")),
    ):
        if not 1 <= number <= tile.count:
            continue
        x = frame.x(at)
        for y0, y1 in ((LOWER + CROSS + 0.6, plan.work_top), (plan.title_bottom, top)):
            marks.append(_line(x, y0, x, y1, dashed=True))
        marks += _join_words(x, frame.x(end), (plan.title_bottom + 0.3, top - 0.3), words)
    return marks


def _join_words(
    x: float, end: float, span: tuple[float, float], words: tuple[str, ...]
) -> list[Mark]:
    """Return what to do at a join, on the side of it that is cut away or covered.

    Args:
        x: of the join, mm.
        end: of the tile on that side, mm.
        span: from which y to which there is room, mm.
        words: in two lines; in one where the room is narrow.
    """
    rows = words if abs(end - x) >= JOIN_ROOM else (" ".join(words),)
    heights = (fitted_height(Line(text=row, height=JOIN_WORDS), span[1] - span[0]) for row in rows)
    height = min(heights)
    # Lines read from the right: the first is the leftmost. Descenders reach to the right.
    base = x - 0.7 - 0.35 * height - (len(rows) - 1) * 1.5 * height
    if end > x and len(rows) == 2:
        base = x + 0.7 + 1.1 * height
    middle = (span[0] + span[1]) / 2.0
    return [
        Mark(
            shape=Text(
                Point(base + 1.5 * height * line, middle),
                row,
                height,
                turn=90.0,
                anchor=Anchor.MIDDLE,
            ),
            op=Op.ENGRAVE,
        )
        for line, row in enumerate(rows)
    ]
