"""Sheets as one PDF: a page for each at its true size, vector only, fonts embedded.

What a reader of the file may rely on:

- the MediaBox is the sheet of paper; there is no other box and no UserUnit, since print filters
  and viewers disagree on both; the viewer is asked not to scale and to pick the tray by page size;
- coordinates are multiplied by 72/25.4 here, so the page's matrix is the identity, except for a
  print correction, which is one ``cm`` round everything on the page;
- an outline is drawn inside its true edge: clipped to the piece and stroked at twice its width;
- each piece stands between ``/JiggenPiece <</Name (name)>> BDC`` and ``EMC``;
- each page starts with the record of `record.drawn_record` as ``/JiggenRecord <</Json (...)>> DP``,
  in several parts one after another when it is long; it holds the uncorrected, nominal places,
  and the ``correction`` (a, b, c, d, about the middle of the page) where there is one;
- the content is not compressed, so that equal input gives equal bytes with every zlib.
"""

from __future__ import annotations

import math
import os
import unicodedata
from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.pdfdoc import PDFName
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.fonts import CAP_EM, font_bytes
from jiggen.drawing.looks import BAND, BAND_WIDE, DASHES, FINE_WIDE, NARROW, TINT, WIDE
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Anchor, Circle, Dash, Edge, Mark, On, Path, Text, Weight
from jiggen.drawing.sheet import Sheet
from jiggen.write.numbers import file_number
from jiggen.write.record import drawn_record, record_text

#: Points in a millimetre. Source: ISO 32000-1, 8.3.2.3 (from memory): a unit is 1/72 inch.
POINTS_PER_MM = 72.0 / 25.4

ARC_ERROR = 1e-5  # mm. An arc is drawn as cubics that leave it by no more

#: By how much of its radius one cubic leaves a quarter circle. For shorter arcs it falls with the
#: sixth power of the sweep (measured against points of the circle in the tests of this writer).
QUARTER_ERROR = 2.73e-4

#: Characters of JSON in one part of the record: readers may refuse strings past 32767 bytes.
RECORD_PART = 30000


def pdf_bytes(
    sheets: Sequence[Sheet], *, title: str, correction: Affine | None = None
) -> tuple[bytes, list[dict[str, Any]]]:
    """Return sheets of paper as one PDF, to be printed at 100 %, and the record of each page.

    Args:
        sheets: the pages in order, mm; at least one.
        title: the document's title.
        correction: what undoes the printer's own distortion, applied about the middle of each page
            to all that is drawn on it, bars included; need not be rigid. None for none.

    Raises:
        DrawingError: a coordinate is not a finite number.
    """
    _register_fonts()
    buffer = BytesIO()
    canvas = _blank_canvas(buffer)
    canvas.setTitle(title)
    canvas.setAuthor("jiggen")
    canvas.setCreator("jiggen")
    canvas.setSubject("Print at 100 %, without scaling, then measure the bars.")
    canvas.setCatalogEntry("ViewerPreferences", _viewer_preferences())
    records = []
    for number, sheet in enumerate(sheets, start=1):
        own = correction
        if own is not None and sheet.width > sheet.height:
            # The printer feeds it turned by a quarter: to its height it does what to a width.
            own = Affine.turn(90.0) @ own @ Affine.turn(-90.0)
        records.append(_page_record(sheet, number, len(sheets), own))
        canvas.setPageSize((sheet.width * POINTS_PER_MM, sheet.height * POINTS_PER_MM))
        _draw_sheet(canvas, sheet, records[-1], own)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue(), records


def _blank_canvas(buffer: BytesIO) -> Canvas:
    """Return a canvas that always has the same date: the library would heed the environment's."""
    asked = os.environ.pop("SOURCE_DATE_EPOCH", None)
    try:
        return Canvas(
            buffer,
            invariant=1,
            pageCompression=0,
            pdfVersion=(1, 7),
            initialFontName=_font(Weight.MEDIUM),
            lang="en",
        )
    finally:
        if asked is not None:
            os.environ["SOURCE_DATE_EPOCH"] = asked


def bezier_arc(arc: Edge) -> Iterator[tuple[Point, Point, Point]]:
    """Yield an arc as cubic Bezier curves that leave it by no more than `ARC_ERROR`.

    Args:
        arc: an edge with a bulge, mm.

    Yields:
        The two control points and the end of each curve, mm.

    Source: the usual tangent length 4/3 tan(sweep/4) of a cubic that meets a circular arc in its
    ends and its middle; derived by setting the cubic's middle on the circle.
    """
    centre, radius = arc.centre, arc.radius
    longest = math.pi / 2 * min(1.0, (ARC_ERROR / (QUARTER_ERROR * radius)) ** (1 / 6))
    count = max(1, math.ceil(abs(arc.sweep) / longest - 1e-9))
    step = arc.sweep / count
    reach = radius * 4.0 / 3.0 * math.tan(step / 4.0)
    first = math.atan2(arc.start.y - centre.y, arc.start.x - centre.x)
    start, angle = arc.start, first
    for number in range(1, count + 1):
        next_angle = first + step * number
        end = arc.end if number == count else _on_circle(centre, radius, next_angle)
        yield (
            Point(start.x - reach * math.sin(angle), start.y + reach * math.cos(angle)),
            Point(end.x + reach * math.sin(next_angle), end.y - reach * math.cos(next_angle)),
            end,
        )
        start, angle = end, next_angle


def _on_circle(centre: Point, radius: float, angle: float) -> Point:
    return Point(centre.x + radius * math.cos(angle), centre.y + radius * math.sin(angle))


def _page_record(sheet: Sheet, page: int, pages: int, correction: Affine | None) -> dict[str, Any]:
    pieces = [placed.on_sheet for placed in sheet.placed]
    marks = [*sheet.marks, *(mark for piece in pieces for mark in piece.marks)]
    shapes = [mark.shape for mark in marks if mark.on is not On.CUT]
    shapes += [cut for piece in pieces for cut in piece.cuts()]
    own = {} if correction is None else {"correction": list(correction[:4])}
    return {"page": page} | drawn_record(sheet, shapes, pages=pages) | own


def _draw_sheet(
    canvas: Any, sheet: Sheet, record: dict[str, Any], correction: Affine | None
) -> None:
    text = record_text(record)
    for at in range(0, len(text), RECORD_PART):
        part = _string(text[at : at + RECORD_PART])
        canvas.addLiteral(f"/JiggenRecord <</Json {part}>> DP")
    canvas.addLiteral("q")
    if correction is not None:
        canvas.addLiteral(_about_the_middle(correction, sheet))
    pieces = [placed.on_sheet for placed in sheet.placed]
    for piece in pieces:
        _draw_waste(canvas, piece)
    for piece in pieces:
        _draw_piece(canvas, piece)
    for mark in sheet.marks:
        _draw_mark(canvas, mark)
    canvas.addLiteral("Q")


def _draw_waste(canvas: Any, piece: Piece) -> None:
    """Tint what falls away round a piece, and band the edges that must be true."""
    canvas.addLiteral(
        "\n".join(
            [
                *("q", "1 j", f"{_pt(2 * piece.waste)} w", f"{_grey(TINT)} G"),
                *_path_words(piece.outline),
                *("S", "Q"),
            ]
        )
    )
    words = ["q", "0 J", f"{_pt(2 * BAND_WIDE)} w", f"{_grey(BAND)} G"]
    for edge in piece.true_edges:
        words += [*_path_words(Path((edge,))), "S"]
    canvas.addLiteral("\n".join([*words, "Q"]))


def _draw_piece(canvas: Any, piece: Piece) -> None:
    """Draw a piece: white, its holes tinted, every line inside the true edge, then its marks."""
    canvas.addLiteral(f"/JiggenPiece <</Name {_string(piece.name)}>> BDC")
    outline = _path_words(piece.outline)
    words = ["q", f"{_grey(0.0)} g", *outline, "f"]
    for hole in piece.inner:
        words += [f"{_grey(TINT)} g", *_path_words(hole), "f"]
    words += ["Q", *_inside(outline, outline, ())]
    for hole in piece.inner:
        words += _inside(_path_words(hole), outline, _path_words(hole))
    canvas.addLiteral("\n".join(words))
    for mark in piece.marks:
        if mark.on is not On.CUT:
            _draw_mark(canvas, mark)
    canvas.addLiteral("EMC")


def _inside(line: Sequence[str], outline: Sequence[str], hole: Sequence[str]) -> list[str]:
    """Stroke a cut line on the side of the material only."""
    clip = ["q", *outline, *hole, "W*", "n"]
    return [*clip, "0 J", "0 j", f"{_pt(2 * WIDE)} w", f"{_grey(1.0)} G", *line, "S", "Q"]


def _draw_mark(canvas: Any, mark: Mark) -> None:
    if isinstance(mark.shape, Text):
        _draw_text(canvas, mark.shape)
        return
    width = mark.line if mark.line is not None else NARROW if mark.fill is None else None
    # Bevelled joins and butt ends: no line runs on past the corner or the end that it marks.
    words = ["q", "0 J", "2 j"]
    if width is not None:
        words += [f"{_pt(width)} w", f"{_grey(1.0)} G"]
        if mark.dash is not Dash.NONE:
            fine = 0.5 if width < NARROW or width == FINE_WIDE else 1.0
            words.append(f"[{' '.join(_pt(fine * part) for part in DASHES[mark.dash])}] 0 d")
    if mark.fill is not None:
        words.append(f"{_grey(mark.fill)} g")
    words += _path_words(mark.shape)
    words += ["S" if mark.fill is None else "f" if width is None else "B", "Q"]
    canvas.addLiteral("\n".join(words))


def _grey(black: float) -> str:
    return file_number(1.0 - black, 4)


def _path_words(shape: Path | Circle) -> list[str]:
    if isinstance(shape, Circle):
        c, r = shape.centre, shape.radius
        right, left = Point(c.x + r, c.y), Point(c.x - r, c.y)
        shape = Path((Edge(right, left, 1.0), Edge(left, right, 1.0)))
    words = [f"{_at(shape.edges[0].start)} m"]
    edges = shape.edges
    if shape.is_closed and edges[-1].bulge == 0.0 and len(edges) > 1:
        edges = edges[:-1]
    for edge in edges:
        if edge.bulge == 0.0:
            words.append(f"{_at(edge.end)} l")
        else:
            words += [f"{_at(a)} {_at(b)} {_at(end)} c" for a, b, end in bezier_arc(edge)]
    if shape.is_closed:
        words.append("h")
    return words


def _draw_text(canvas: Any, text: Text) -> None:
    face = _font(text.weight)
    line = _drawable(text.text, face)
    size = text.height / CAP_EM * POINTS_PER_MM
    share = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[text.anchor]
    back = share * pdfmetrics.stringWidth(line, face, size)
    turn = Affine.turn(text.turn)
    x = text.at.x * POINTS_PER_MM - back * turn.a
    y = text.at.y * POINTS_PER_MM - back * turn.b
    canvas.addLiteral(f"q {_grey(0.0 if text.white else 1.0)} g")
    run = canvas.beginText()
    run.setTextTransform(turn.a, turn.b, turn.c, turn.d, x, y)
    run.setFont(face, size)
    run.textOut(line)
    canvas.drawText(run)
    canvas.addLiteral("Q")


def _drawable(text: str, face: str) -> str:
    """Return the text with a question mark for each character that the font lacks."""
    known = pdfmetrics.getFont(face).face.charToGlyph
    whole = unicodedata.normalize("NFC", text)
    return "".join(char if ord(char) in known else "?" for char in whole)


def _about_the_middle(correction: Affine, sheet: Sheet) -> str:
    middle = (sheet.width / 2, sheet.height / 2)
    whole = Affine.move(*middle) @ correction @ Affine.move(-middle[0], -middle[1])
    turn = " ".join(file_number(part, 12) for part in whole[:4])
    return f"{turn} {_pt(whole.e)} {_pt(whole.f)} cm"


def _viewer_preferences() -> dict[str, Any]:
    # The library's own setter does not know PickTrayByPDFSize, so the entry is laid whole.
    return {
        "PrintScaling": PDFName("None"),
        "PickTrayByPDFSize": "true",
        "Duplex": PDFName("Simplex"),
        "DisplayDocTitle": "true",
    }


def _register_fonts() -> None:
    for weight in Weight:
        if _font(weight) not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(_font(weight), BytesIO(font_bytes(weight.value))))


def _font(weight: Weight) -> str:
    return f"BarlowSemiCondensed-{weight.value}"


def _pt(length: float) -> str:
    return file_number(length * POINTS_PER_MM)


def _at(point: Point) -> str:
    return f"{_pt(point.x)} {_pt(point.y)}"


def _string(text: str) -> str:
    ascii_text = text.encode("ascii", "backslashreplace").decode("ascii")
    for char in "\\()":
        ascii_text = ascii_text.replace(char, f"\\{char}")
    return f"({ascii_text})"
