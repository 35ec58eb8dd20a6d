"""One sheet as SVG to look at: a page of paper or a bed as it will come out, never to be cut.

Coordinates have two decimals and letters are those of the screen, stretched to the width that the
true ones have. Looks are attributes, because the page in the browser allows no inline style.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape

from jiggen.drawing.lettering import text_width
from jiggen.drawing.looks import BAND, BAND_WIDE, DASHES, NARROW, TINT, WIDE
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Anchor, Circle, Dash, Edge, Mark, On, Op, Path, Text, Weight
from jiggen.drawing.sheet import Sheet
from jiggen.write.colours import COLOURS
from jiggen.write.numbers import file_number
from jiggen.write.svg import CAP_HEIGHT_EM, path_data

PLACES = 2  # decimals: a hundredth of a millimetre is less than a pixel


def screen_svg(sheet: Sheet, *, on: On) -> bytes:
    """Return a sheet as an SVG file for the screen.

    A page, or a bed with its kerf, mm. `on` paper or cut tells which marks are drawn, and whether
    colours tell what is done.
    """
    high = sheet.height
    size = f"{_said(sheet.width)} {_said(high)}"
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size}" fill="none" '
        f'stroke-width="{NARROW}" font-family="Barlow Semi Condensed,sans-serif">',
        f"<title>{escape(sheet.title or sheet.name)}</title>",
        f'<path fill="#fff" d="M0 0H{size.replace(" ", "V")}H0Z"/>',
    ]
    pieces = [placed.on_sheet for placed in sheet.placed]
    if on is On.PAPER:
        out += [line for piece in pieces for line in _waste(piece, high)]
    for piece in pieces:
        out += _piece(piece, high, on)
    out += _marks(sheet.marks, high, on)
    return "\n".join([*out, "</svg>", ""]).encode("utf-8")


def _waste(piece: Piece, high: float) -> Iterator[str]:
    """Tint what falls away round a piece, and band the edges that must be true."""
    yield _path(piece.outline, high, stroke=_grey(TINT), width=2 * piece.waste)
    for edge in piece.true_edges:
        yield _path(Path((edge,)), high, stroke=_grey(BAND), width=2 * BAND_WIDE)


def _piece(piece: Piece, high: float, on: On) -> list[str]:
    ink = _grey(1.0) if on is On.PAPER else COLOURS[Op.CUT]
    hole = _grey(TINT) if on is On.PAPER else "none"
    return [
        _path(piece.outline, high, stroke=ink, width=WIDE, fill="#fff"),
        *(_path(inner, high, stroke=ink, width=WIDE, fill=hole) for inner in piece.inner),
        *_marks(piece.marks, high, on),
    ]


def _marks(marks: Iterable[Mark], high: float, on: On) -> Iterator[str]:
    for mark in marks:
        if mark.on not in (On.BOTH, on):
            continue
        ink = _grey(1.0) if on is On.PAPER else COLOURS[mark.op]
        if isinstance(mark.shape, Text):
            yield _text(mark.shape, high, ink)
            continue
        is_area = mark.fill is not None and on is On.PAPER  # a machine draws round it
        width = mark.line if mark.line is not None else 0.0 if is_area else NARROW
        fill = _grey(mark.fill or 0.0) if is_area else "none"
        stroke = ink if width else "none"
        yield _path(mark.shape, high, stroke=stroke, width=width, fill=fill, dash=mark.dash)


def _path(
    shape: Path | Circle,
    high: float,
    *,
    stroke: str,
    width: float,
    fill: str = "none",
    dash: Dash = Dash.NONE,
) -> str:
    if isinstance(shape, Circle):
        ends = [(shape.centre.x + dx, shape.centre.y) for dx in (shape.radius, -shape.radius)]
        right, left = (type(shape.centre)(*end) for end in ends)
        shape = Path((Edge(right, left, 1.0), Edge(left, right, 1.0)))
    looks = f' stroke="{stroke}"' if stroke != "none" else ""
    looks += f' stroke-width="{_said(width)}"' if looks and width != NARROW else ""
    looks += f' fill="{fill}"' if fill != "none" else ""
    if dash is not Dash.NONE:
        looks += f' stroke-dasharray="{" ".join(_said(part) for part in DASHES[dash])}"'
    return f'<path{looks} d="{path_data(shape, high, PLACES)}"/>'


def _text(text: Text, high: float, ink: str) -> str:
    x, y = _said(text.at.x), _said(high - text.at.y)
    looks = (
        f'font-size="{_said(text.height / CAP_HEIGHT_EM)}" fill="{"#fff" if text.white else ink}"'
    )
    looks += f' textLength="{_said(text_width(text.text, text.height, text.weight))}"'
    looks += ' lengthAdjust="spacingAndGlyphs"'
    if text.weight is not Weight.MEDIUM:
        looks += ' font-weight="bold"'
    if text.anchor is not Anchor.START:
        looks += f' text-anchor="{text.anchor.value}"'
    if text.turn % 360.0:
        looks += f' transform="rotate({_said(-text.turn)} {x} {y})"'
    return f'<text x="{x}" y="{y}" {looks}>{escape(text.text)}</text>'


def _grey(black: float) -> str:
    """Return a share of black as a colour."""
    level = round(255 * (1.0 - black))
    return f"#{level:02x}{level:02x}{level:02x}"


def _said(value: float) -> str:
    return file_number(value, PLACES)
