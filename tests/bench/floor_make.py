"""The floor of `bench_make`: the same libraries, as many entities, and no geometry.

Arguments: a JSON file of counts by path, and the folder to write to.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy  # noqa: F401  jiggen loads it whatever is drawn
import rich.console
import rich.table  # noqa: F401
import typer  # noqa: F401


def write_dxf(path: Path, counts: dict[str, Any]) -> None:
    """Write polylines, circles and texts with the DXF library."""
    import ezdxf
    from ezdxf import options

    options.write_fixed_meta_data_for_testing = True
    document = ezdxf.new("R2000", units=4)
    space = document.modelspace()
    for number, vertices in enumerate(counts["polylines"]):
        points = [(n * 0.731 + number, n * 0.319, 0.0) for n in range(vertices)]
        space.add_lwpolyline(points, format="xyb", close=True)
    for number in range(counts["circles"]):
        space.add_circle((number, 1.0), 2.5)
    for number in range(counts["texts"]):
        space.add_text("Guide a1", height=3.0).set_placement((number, 2.0))
    with path.open("w", encoding="ascii") as stream:
        document.write(stream)


def write_svg(path: Path, counts: dict[str, Any]) -> None:
    """Write paths, circles and texts with the SVG library."""
    import svgwrite

    drawing = svgwrite.Drawing(size=("600mm", "400mm"), viewBox="0 0 600 400", debug=False)
    for number, steps in enumerate(counts["paths"]):
        data = "".join(f"L{n * 0.731 + number:.6f} {n * 0.319:.6f}" for n in range(steps - 1))
        drawing.add(drawing.path(d=f"M0 0{data}"))
    for number in range(counts["circles"]):
        drawing.add(drawing.circle(center=(number, 1), r=2.5))
    for number in range(counts["texts"]):
        drawing.add(drawing.text("Guide a1", insert=(number, 2)))
    with path.open("w", encoding="utf-8") as stream:
        drawing.write(stream)


def write_pdf(path: Path, counts: dict[str, Any]) -> None:
    """Write lines, curves and texts with the PDF library, in a font of the file's own."""
    import reportlab
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    fonts = Path(reportlab.__file__).parent / "fonts"
    for name in ("Vera", "VeraBd"):
        pdfmetrics.registerFont(TTFont(name, fonts / f"{name}.ttf"))
    canvas = Canvas(str(path), invariant=1, pageCompression=0)
    pages = max(counts["pages"], 1)
    for _ in range(pages):
        for number in range(counts["moves"] // pages):
            walk = canvas.beginPath()
            walk.moveTo(number, 0)
            for n in range(counts["lines"] // max(counts["moves"], 1)):
                walk.lineTo(n * 0.731, n * 0.319)
            for n in range(counts["curves"] // max(counts["moves"], 1)):
                walk.curveTo(n, 1, n, 2, n, 3)
            canvas.drawPath(walk)
        for number in range(counts["texts"] // pages):
            canvas.setFont("VeraBd" if number % 3 == 0 else "Vera", 8)
            canvas.drawString(number, 40, "Guide a1 forward")
        canvas.showPage()
    canvas.save()


def main() -> None:
    """Write every file of the counts."""
    counts, folder = json.loads(Path(sys.argv[1]).read_text("utf-8")), Path(sys.argv[2])
    writers = {".dxf": write_dxf, ".svg": write_svg, ".pdf": write_pdf}
    for name, held in counts.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        writers[path.suffix](path, held)


if __name__ == "__main__":
    main()
