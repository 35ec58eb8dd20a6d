"""`Sheet`: pieces with a place on paper or on a bed, and what is drawn around them."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from jiggen.drawing.affine import Affine
from jiggen.drawing.piece import CheckDimension, Piece, digits
from jiggen.drawing.shapes import Mark


class Placed(Struct, frozen=True, kw_only=True):
    """A piece and the rigid place that takes its own frame to the sheet's."""

    piece: Piece
    place: Affine

    @property
    def on_sheet(self) -> Piece:
        """Return the piece in sheet coordinates."""
        return self.piece.moved(self.place)


class Sheet(Struct, frozen=True, kw_only=True):
    """One page of paper, or one bed of sheet material; the origin is its lower left corner.

    Attributes:
        name: ``page 1`` or ``sheet 1``; also the stem of a cut file.
        width: mm.
        height: mm.
        placed: the pieces.
        marks: frame, bars, headings, pictures, in sheet coordinates.
        dimensions: bars and diagonals of the sheet itself, in sheet coordinates.
        title: document title for readers and accessibility.
        mark: of a page, stands for what can be measured on it: see `layout_mark`.
    """

    name: str
    width: float
    height: float
    placed: tuple[Placed, ...] = ()
    marks: tuple[Mark, ...] = ()
    dimensions: tuple[CheckDimension, ...] = ()
    title: str = ""
    mark: str = ""


def layout_mark(placed: Iterable[Placed], *said: str) -> str:
    """Return 16 hexadecimal digits that stand for what can be measured on a page.

    Readings of a page count as long as its pieces, their places and all that is `said` of it, such
    as the size of the paper, are the same.
    """
    places = (" ".join([one.piece.mark, *(f"{n:z.4f}" for n in one.place)]) for one in placed)
    return digits([*said, *places])
