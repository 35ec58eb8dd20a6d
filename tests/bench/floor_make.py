"""The floor of `bench_make`: every mark of the finished files written again, and nothing else.

Arguments: a JSON file of the marks by path, and the folder to write to.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy  # noqa: F401  jiggen loads it whatever is drawn
import typer  # noqa: F401


def write_dxf(path: Path, marks: dict[str, Any]) -> None:
    """Write polylines, circles and texts with the DXF library."""
    import ezdxf
    from ezdxf import options

    options.write_fixed_meta_data_for_testing = True
    document = ezdxf.new("R2000", units=4)
    for layer in marks["layers"]:
        document.layers.add(layer)
    space = document.modelspace()
    for layer, closed, points in marks["polylines"]:
        space.add_lwpolyline(points, format="xyb", close=closed, dxfattribs={"layer": layer})
    for layer, x, y, radius in marks["circles"]:
        space.add_circle((x, y), radius, dxfattribs={"layer": layer})
    for layer, x, y, height, said in marks["texts"]:
        attributes = {"layer": layer}
        space.add_text(said, height=height, dxfattribs=attributes).set_placement((x, y))
    with path.open("w", encoding="ascii") as stream:
        document.write(stream)


def write_svg(path: Path, marks: dict[str, Any]) -> None:
    """Write the elements with the SVG library, the numbers of their paths formatted anew."""
    import svgwrite

    drawing = svgwrite.Drawing(size=("600mm", "400mm"), viewBox="0 0 600 400", debug=False)
    for words in marks["paths"]:
        data = " ".join(w if isinstance(w, str) else f"{w:.6f}".rstrip("0") for w in words)
        drawing.add(drawing.path(d=data, fill="none", stroke="#000000"))
    for x, y, radius in marks["circles"]:
        drawing.add(drawing.circle(center=(x, y), r=radius))
    for said in marks["texts"]:
        drawing.add(drawing.text(said, insert=(1, 2)))
    with path.open("w", encoding="utf-8") as stream:
        drawing.write(stream)


def write_pdf(path: Path, pages: list[dict[str, Any]]) -> None:
    """Write lines, curves and texts with the PDF library, in two fonts of the file's own."""
    import reportlab
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    fonts = Path(reportlab.__file__).parent / "fonts"
    for name in ("Vera", "VeraBd"):
        pdfmetrics.registerFont(TTFont(name, fonts / f"{name}.ttf"))
    canvas = Canvas(str(path), invariant=1, pageCompression=0)
    for page in pages:
        for numbers, operator in page["operators"]:
            canvas.addLiteral(" ".join([*(f"{n:.6f}".rstrip("0") for n in numbers), operator]))
        for said in page["texts"]:
            canvas.setFont("VeraBd", 8)
            canvas.drawString(20, 40, said)
        canvas.showPage()
    canvas.save()


def main() -> None:
    """Write every file of the marks."""
    marks, folder = json.loads(Path(sys.argv[1]).read_text("utf-8")), Path(sys.argv[2])
    writers = {".dxf": write_dxf, ".svg": write_svg, ".pdf": write_pdf}
    for name, held in marks.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        writers[path.suffix](path, held)


if __name__ == "__main__":
    main()
