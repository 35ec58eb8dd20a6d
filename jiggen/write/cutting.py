"""What a cut file draws, in the order in which a machine should do it.

SVG and DXF draw the same shapes in the same groups; here it is decided once. What is for paper
only stays out, a filled area becomes its outline, text becomes single strokes unless it is to stay
live. Engraving comes first, then scoring, then every hole, then every outline: nothing is cut loose
before all that is done on it is done.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

from msgspec import Struct

from jiggen.drawing.check import refuse_doubled
from jiggen.drawing.lettering import strokes
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Circle, Mark, On, Op, Path, Shape, Text
from jiggen.drawing.sheet import Sheet
from jiggen.write.record import drawn_record, told_apart


class Letters(Struct, frozen=True, kw_only=True):
    """A text as the pen runs it."""

    text: str
    paths: tuple[Path, ...]


CutShape = Path | Circle | Text | Letters


class Group(Struct, frozen=True, kw_only=True):
    """Everything that one operation does on one piece, or on the sheet round the pieces."""

    op: Op
    part: str  # ``inner`` or ``outer`` for CUT; empty for other operations
    piece: Piece | None  # the piece where it lies on the sheet; None for the sheet's own marks
    instance: str  # the piece's name, made unique on the sheet; empty for the sheet's own marks
    shapes: tuple[CutShape, ...]  # in the order of work, mm, y up

    @property
    def parts(self) -> tuple[Shape, ...]:
        """Return its shapes, each text as the strokes that draw it."""
        rows = (one.paths if isinstance(one, Letters) else (one,) for one in self.shapes)
        return tuple(part for row in rows for part in row)

    def is_outline(self, shape: CutShape) -> bool:
        """Return whether `shape` is the outline of this group's piece."""
        return self.piece is not None and shape is self.piece.outline


class CutDrawing(Struct, frozen=True, kw_only=True):
    """A sheet as a machine is given it; every format draws the same."""

    sheet: Sheet  # a bed of sheet material, or one piece by itself, kerf applied
    groups: tuple[Group, ...]  # what is drawn; see `cut_groups`
    record: dict[str, Any]  # of the sheet and of these lines


def cut_drawing(sheet: Sheet, *, live_text: bool) -> CutDrawing:
    """Return what every format draws of a sheet; see `cut_groups`."""
    groups = cut_groups(sheet, live_text=live_text)
    return CutDrawing(sheet=sheet, groups=groups, record=cut_record(sheet, groups))


def cut_groups(sheet: Sheet, *, live_text: bool) -> tuple[Group, ...]:
    """Return what to draw on a sheet for a machine, operation by operation.

    Args:
        sheet: a bed of sheet material, or one piece by itself, kerf applied.
        live_text: leave text as text.

    Returns:
        Groups that hold at least one shape: ENGRAVE, SCORE, inner CUT, outer CUT, NOTE, and by
        place on the sheet within each; the sheet's own marks come last in their operation.

    Raises:
        DrawingError: two cut edges lie on one another, so that the machine would cut twice.
    """
    names = told_apart([placed.piece.name for placed in sheet.placed])
    pieces = list(zip((p.on_sheet for p in sheet.placed), names, strict=True))
    groups: list[Group] = []

    def add(op: Op, part: str, piece: Piece | None, name: str, shapes: list[CutShape]) -> None:
        if shapes:
            groups.append(Group(op=op, part=part, piece=piece, instance=name, shapes=tuple(shapes)))

    for op in (Op.ENGRAVE, Op.SCORE):
        for piece, name in pieces:
            add(op, "", piece, name, _drawn(piece.marks, op, live_text))
        add(op, "", None, "", _drawn(sheet.marks, op, live_text))
    for piece, name in pieces:
        add(Op.CUT, "inner", piece, name, [*piece.inner])
    for piece, name in pieces:
        add(Op.CUT, "outer", piece, name, [piece.outline])
    for piece, name in pieces:
        add(Op.NOTE, "", piece, name, _drawn(piece.marks, Op.NOTE, live_text))
    add(Op.NOTE, "", None, "", _drawn(sheet.marks, Op.NOTE, live_text))
    cuts = (part for group in groups if group.op is Op.CUT for part in group.parts)
    refuse_doubled(part for part in cuts if not isinstance(part, Text))
    return tuple(groups)


def drawn_bounds(groups: tuple[Group, ...]) -> Bounds | None:
    """Return the rectangle around all that is drawn, mm; None for an empty sheet."""
    boxes = [part.bounds() for group in groups for part in group.parts]
    return Bounds.union(boxes) if boxes else None


def cut_record(sheet: Sheet, groups: tuple[Group, ...]) -> dict[str, Any]:
    """Return the record of a sheet and of the lines that a machine is given."""
    shapes = [(group.op, part) for group in groups for part in group.parts]
    lines = Counter(op.value for op, part in shapes if not isinstance(part, Text))
    return drawn_record(sheet, [part for _, part in shapes], lines=lines)


def _drawn(marks: tuple[Mark, ...], op: Op, live_text: bool) -> list[CutShape]:
    return [
        _as_cut(mark.shape, live_text)
        for mark in marks
        if mark.op is op and mark.on is not On.PAPER and not _is_blank(mark.shape)
    ]


def _is_blank(shape: Shape) -> bool:
    return isinstance(shape, Text) and not shape.text.strip()


def _as_cut(shape: Shape, live_text: bool) -> CutShape:
    if isinstance(shape, Text) and not live_text:
        return Letters(text=shape.text, paths=strokes(shape))
    return shape
