"""`Sheet`: pieces with a place on paper or on a bed, and what is drawn around them."""

from __future__ import annotations

from dataclasses import dataclass

from jiggen.drawing.affine import Affine
from jiggen.drawing.piece import CheckDimension, Piece
from jiggen.drawing.shapes import Mark


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A piece and the rigid place that takes its own frame to the sheet's."""

    piece: Piece
    place: Affine

    @property
    def on_sheet(self) -> Piece:
        """Return the piece in sheet coordinates."""
        return self.piece.moved(self.place)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One page of paper, or one bed of sheet material; the origin is its lower left corner.

    Attributes:
        name: ``page 1`` or ``sheet 1``; also the stem of a cut file.
        width: mm.
        height: mm.
        placed: the pieces, with their places.
        marks: page furniture in sheet coordinates: frame, bars, headings, cover pictures.
        dimensions: bars, square and diagonals of the sheet itself, in sheet coordinates.
        title: document title for readers and accessibility.
        mark: stands for what can be measured on a page: see `Piece.mark`.
    """

    name: str
    width: float
    height: float
    placed: tuple[Placed, ...] = ()
    marks: tuple[Mark, ...] = ()
    dimensions: tuple[CheckDimension, ...] = ()
    title: str = ""
    mark: str = ""
