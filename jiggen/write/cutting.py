"""What a cut file draws, in the order in which a machine should do it.

SVG and DXF draw the same shapes in the same groups; here it is decided once. What is for paper
only stays out, a filled area becomes its outline, text becomes single strokes unless it is to
stay live, and holes come before the outline, so that a piece is not loose while its holes are cut.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

from jiggen.drawing.check import refuse_doubled
from jiggen.drawing.lettering import strokes
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Circle, Mark, Op, Path, Shape, Text
from jiggen.drawing.sheet import Sheet
from jiggen.write.looks import OPERATIONS
from jiggen.write.record import drawn_record, instance_names


@dataclass(frozen=True, slots=True, kw_only=True)
class Letters:
    """A text as the pen runs it.

    Attributes:
        text: what it says.
        paths: the strokes in place, mm.
    """

    text: str
    paths: tuple[Path, ...]


CutShape = Path | Circle | Text | Letters


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Everything that one operation does on one piece, or on the sheet round the pieces.

    Attributes:
        op: the operation.
        piece: the piece where it lies on the sheet; None for the sheet's own marks.
        instance: the piece's name, made unique on the sheet; empty for the sheet's own marks.
        shapes: in the order of work, mm, y up.
    """

    op: Op
    piece: Piece | None
    instance: str
    shapes: tuple[CutShape, ...]

    def is_outline(self, shape: CutShape) -> bool:
        """Return whether `shape` is the outline of this group's piece."""
        return self.piece is not None and shape is self.piece.outline


def cut_groups(sheet: Sheet, *, live_text: bool) -> tuple[Group, ...]:
    """Return what to draw on a sheet for a machine, operation by operation.

    Args:
        sheet: a bed of sheet material, or one piece by itself, kerf applied.
        live_text: leave text as text.

    Returns:
        Groups that hold at least one shape, ordered CUT, SCORE, ENGRAVE, NOTE, and by place on the
        sheet within each; the sheet's own marks come last.

    Raises:
        DrawingError: two cut edges lie on one another, so that the machine would cut twice.
    """
    pieces = [placed.on_sheet for placed in sheet.placed]
    names = instance_names(sheet)
    owners = [*zip(pieces, names, strict=True), (None, "")]
    groups = []
    for op in OPERATIONS:
        for piece, name in owners:
            marks = sheet.marks if piece is None else _in_cutting_order(piece)
            drawn = (mark.shape for mark in marks if mark.op is op and not mark.paper_only)
            shapes = tuple(_as_cut(shape, live_text) for shape in drawn if not _is_blank(shape))
            if shapes:
                groups.append(Group(op=op, piece=piece, instance=name, shapes=shapes))
    refuse_doubled(
        shape
        for group in groups
        if group.op is Op.CUT
        for shape in group.shapes
        if isinstance(shape, Path | Circle)
    )
    return tuple(groups)


def drawn_bounds(groups: tuple[Group, ...]) -> Bounds | None:
    """Return the rectangle around all that is drawn, mm; None for an empty sheet."""
    boxes = []
    for group in groups:
        for shape in group.shapes:
            if isinstance(shape, Letters):
                boxes += [path.bounds() for path in shape.paths]
            else:
                boxes.append(shape.bounds())
    return Bounds.union(boxes) if boxes else None


def cut_record(sheet: Sheet, groups: tuple[Group, ...]) -> dict[str, Any]:
    """Return the record of a sheet and of the lines that a machine is given.

    Args:
        sheet: as drawn, kerf applied.
        groups: what is drawn of it.
    """
    shapes: list[Shape] = []
    lines = Counter[str]()
    for group in groups:
        for shape in group.shapes:
            parts = shape.paths if isinstance(shape, Letters) else (shape,)
            shapes += parts
            lines[group.op.value] += sum(1 for part in parts if not isinstance(part, Text))
    return drawn_record(sheet, shapes, lines=+lines)


def _in_cutting_order(piece: Piece) -> tuple[Mark, ...]:
    outline = Mark(shape=piece.outline, op=Op.CUT)
    return (*piece.inner, *piece.marks, outline)


def _is_blank(shape: Shape) -> bool:
    return isinstance(shape, Text) and not shape.text.strip()


def _as_cut(shape: Shape, live_text: bool) -> CutShape:
    if isinstance(shape, Text) and not live_text:
        return Letters(text=shape.text, paths=strokes(shape))
    return shape
