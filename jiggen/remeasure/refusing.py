"""What is no drawing that could be measured, and what to give in its place."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from jiggen.errors import DrawingFileError
from jiggen.remeasure.contour import FAR
from jiggen.remeasure.found import FoundDrawing
from jiggen.remeasure.nominal import NominalSheet

#: Drawings that `make` writes, as remedies name them.
EXAMPLES = "such as print.pdf or cut-1.svg"
#: What to do about a file that is none.
GIVE = f"give the name of a PDF, SVG or DXF, {EXAMPLES}"


def refuse_far(drawing: FoundDrawing) -> None:
    """Refuse what draws to a place that is no number, or that no sheet has.

    Args:
        drawing: as found.

    Raises:
        DrawingFileError: it does.
    """
    for page in drawing.pages:
        for contour in page.contours:
            points = [
                *contour.nodes,
                *(p for row in contour.curves.values() for c in row for p in c),
            ]
            # Not "> FAR": what is no number is not larger than anything.
            if not all(-FAR <= x <= FAR and -FAR <= y <= FAR for x, y in points):
                raise DrawingFileError(
                    "holds a place that is no number, or kilometres away: it is damaged; save or "
                    "copy it again from where it came"
                )


def refuse_words_alone(sheets: Sequence[NominalSheet | None]) -> None:
    """Refuse a page of words, such as a record to sign: of nothing measured nothing is true.

    Args:
        sheets: what each page should be; None where that is not known.

    Raises:
        DrawingFileError: each page is known, and holds nothing to measure.
    """
    if all(sheet is not None and not any(True for _ in expected(sheet)) for sheet in sheets):
        raise DrawingFileError(
            "is no drawing: by its record it holds neither a piece nor a bar that could be "
            f"measured; {GIVE}"
        )


def expected(sheet: NominalSheet) -> Iterable[object]:
    """Yield what there is to measure on a sheet: its bars, then its pieces.

    Args:
        sheet: as it should be.
    """
    yield from sheet.sizes
    yield from sheet.pieces
