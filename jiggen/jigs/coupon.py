"""Kerf coupon: a small plate that finds the slot's width and the sheet's real thickness.

One cut is too narrow for a calliper, so the plate holds two rows of loose bars that share their
cut lines. Taken out and pushed together, a row is shorter than it was drawn by one kerf for each
bar; the calliper's error is divided by their number. One row lies along x, one along y, since a
machine's two axes may burn differently. A stair of slots along the edge brackets the thickness:
the sheet enters one slot and not the next narrower one.

The coupon is drawn without kerf, whatever the job says: it is there to find it.

::

       _   _   _   _   _   _   _   _
      | |_| |_| |_| |_| |_| |_| |_| |     slots, each a tenth wider than the last
      |  2.4 2.5 2.6 ...            |
      |   ________________     __   |
      |  | | | | | | | | |    |__|  |     bars side by side along x,
      |  |_|_|_|_|_|_|_|_|    |__|  |     bars one above the other along y
      |                       |__|  |
      |___bars 50 mm, 2 in____|__|__|
"""

from __future__ import annotations

from jiggen.drawing.affine import Point
from jiggen.drawing.bars import bar_pair, pair_room
from jiggen.drawing.labels import Line, text_block, wrapped
from jiggen.drawing.piece import CheckDimension, Piece
from jiggen.drawing.shapes import Anchor, Bounds, Mark, Op, Path
from jiggen.errors import DoesNotFit
from jiggen.units import joined, or_more, size

#: Bars in a row: the calliper's error is divided by it.
BARS = 8
#: mm. Width and length of one bar: wide enough to survive, long enough to hold.
BAR_WIDTH, BAR_LENGTH = 5.0, 16.0
#: Slots, and their step in mm; the middle one is as wide as the stated sheet less a usual kerf.
SLOTS, STEP = 9, 0.1
#: mm. Material between two slots, depth of a slot, edge of the plate.
BETWEEN, DEPTH, EDGE = 6.0, 10.0, 5.0
#: mm. Thinnest sheet that the stair can bracket with slots that a beam leaves open.
SHEET_MIN = 1.0


def slot_widths(sheet: float) -> tuple[float, ...]:
    """Return the drawn widths of the slots in mm, narrowest first, in whole tenths.

    Args:
        sheet: stated thickness of the material, mm.
    """
    middle = round(sheet - 0.1, 1)
    return tuple(round(middle + STEP * (k - SLOTS // 2), 1) for k in range(SLOTS))


def build_coupon(name: str, job: str, sheet: float) -> Piece:
    """Build the coupon.

    Args:
        name: file name of the piece.
        job: name of the job.
        sheet: stated thickness of the material, mm.

    Returns:
        The piece, for cutting only, to be drawn without kerf.

    Raises:
        DoesNotFit: the sheet is too thin for a stair of slots.
    """
    if sheet < SHEET_MIN:
        raise DoesNotFit(
            "the sheet is too thin for a stair of slots",
            key="cut.sheet",
            given=size(sheet),
            remedy=joined(
                [or_more(SHEET_MIN), "or more; measure thinner sheet with a calliper"], " "
            ),
        )
    widths = slot_widths(sheet)
    row = BARS * BAR_WIDTH
    width = max(2 * EDGE + sum(widths) + BETWEEN * (SLOTS - 1), 2 * EDGE + 84.0)
    height = 74.0
    left = (width - sum(widths) - BETWEEN * (SLOTS - 1)) / 2
    corners: list[tuple[float, float]] = [(0.0, 0.0), (width, 0.0), (width, height)]
    labels: list[Mark] = []
    sizes: list[CheckDimension] = []
    x = left
    stair = []
    for slot in widths:
        stair.append((x, x + slot))
        labels += text_block(
            Bounds(x - 2.8, height - DEPTH - 4.2, x + slot + 2.8, height - DEPTH - 0.6),
            [Line(text=f"{slot:.1f}", height=1.8)],
            anchor=Anchor.MIDDLE,
        )
        sizes.append(
            CheckDimension(
                name=f"slot-{slot:.1f}",
                nominal=slot,
                start=Point(x, height),
                end=Point(x + slot, height),
                how="drawn width of a slot; one kerf wider as cut",
            )
        )
        x += slot + BETWEEN
    for x0, x1 in reversed(stair):
        corners += [(x1, height), (x1, height - DEPTH), (x0, height - DEPTH), (x0, height)]
    corners.append((0.0, height))
    lying = Bounds(EDGE, 36.0, EDGE + row, 36.0 + BAR_LENGTH)
    standing = Bounds(width - EDGE - BAR_LENGTH, EDGE, width - EDGE, EDGE + row)
    inner = (*_row(lying, along_y=False), *_row(standing, along_y=True))
    for axis, box in (("x", lying), ("y", standing)):
        end = Point(box.right, box.bottom) if axis == "x" else Point(box.left, box.top)
        sizes.append(
            CheckDimension(
                name=f"fingers-{axis}",
                nominal=row,
                start=Point(box.left, box.bottom),
                end=end,
                how=f"over all {BARS} loose bars pushed together, as drawn; shorter as cut",
            )
        )
    labels += text_block(
        Bounds(lying.right + 1.0, lying.bottom, lying.right + 16.0, lying.bottom + 4.0),
        [Line(text="row x", height=2.0)],
    )
    labels += text_block(
        Bounds(standing.left, standing.top + 0.6, standing.right, standing.top + 4.4),
        [Line(text="row y", height=2.0)],
        anchor=Anchor.MIDDLE,
    )
    column = standing.left - 2.4 - pair_room()
    bars_x, sizes_x = bar_pair(Bounds(EDGE, 3.0, column - 1.0, 3.0 + pair_room()))
    bars_y, sizes_y = bar_pair(
        Bounds(column, 3.0, column + pair_room(), height - DEPTH - 5.0), along_y=True
    )
    text = Bounds(EDGE, 3.8 + pair_room(), column - 1.0, lying.bottom - 1.2)
    words = text_block(
        text,
        [
            Line(text="Kerf coupon", height=3.4, bold=True),
            *wrapped(job, 2.3, text.width),
            Line(text=f"sheet stated {sheet:g} mm, drawn without kerf", height=2.0),
            Line(text=f"{BARS} bars a row, {row:g} mm drawn", height=2.0),
        ],
    )
    return Piece(
        name=name,
        title="Kerf coupon",
        kind="coupon",
        outline=Path.closed(corners),
        inner=inner,
        marks=(*labels, *bars_x, *bars_y, *words),
        dimensions=(*sizes, *sizes_x, *sizes_y),
        notes=("drawn without kerf; push the bars of each row together and measure over them",),
        for_print=False,
    )


def _row(box: Bounds, *, along_y: bool) -> tuple[Mark, ...]:
    """Return a row of bars as one window and the cuts between them: no line is cut twice."""
    window = Path.closed(
        [
            (box.left, box.bottom),
            (box.right, box.bottom),
            (box.right, box.top),
            (box.left, box.top),
        ]
    )
    cuts = []
    for k in range(1, BARS):
        if along_y:
            y = box.bottom + k * BAR_WIDTH
            cuts.append(Path.open([(box.left, y), (box.right, y)]))
        else:
            x = box.left + k * BAR_WIDTH
            cuts.append(Path.open([(x, box.bottom), (x, box.top)]))
    return tuple(Mark(shape=path, op=Op.CUT) for path in (window, *cuts))
