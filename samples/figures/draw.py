#!/usr/bin/env python3
"""Draws the README's two figures as SVG beside this file.

    python samples/figures/draw.py

Needs jiggen installed: the guide in the second figure is the real one. Both are sketches to look
at, not to print; slopes in the first are exaggerated.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path as FilePath
from xml.sax.saxutils import escape

from jiggen.drawing.affine import Affine
from jiggen.drawing.shapes import Circle, Path
from jiggen.jigs.guide import GuideLabels, GuideSizes, build_guide

HERE = FilePath(__file__).resolve().parent
INK, DIM, WEDGE, SKIN, TOOL = "#222222", "#1b5e8a", "#e4e0d8", "#8d8a84", "#b4541a"

Spot = tuple[float, float]
Place = Callable[[float, float], Spot]


class Sheet:
    """A figure in the making: SVG elements, pixels, y down.

    Attributes:
        width: pixels.
        height: pixels.
        parts: the elements so far.
    """

    def __init__(self, width: float, height: float, title: str) -> None:
        self.width, self.height = width, height
        self.parts = [
            f"<title>{escape(title)}</title>",
            '<rect width="100%" height="100%" fill="white"/>',
        ]

    def line(
        self, *spots: Spot, colour: str = INK, wide: float = 1.4, dashed: bool = False
    ) -> None:
        """Draw a line through some spots."""
        dash = ' stroke-dasharray="7 4"' if dashed else ""
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in spots)
        self.parts.append(
            f'<polyline points="{points}" fill="none" stroke="{colour}" '
            f'stroke-width="{wide}"{dash}/>'
        )

    def area(self, *spots: Spot, fill: str, edge: str = INK) -> None:
        """Fill a polygon."""
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in spots)
        self.parts.append(f'<polygon points="{points}" fill="{fill}" stroke="{edge}"/>')

    def text(
        self, at: Spot, words: str, *, colour: str = INK, size: int = 13, anchor: str = "start",
        bold: bool = False, turn: float = 0.0,
    ) -> None:  # fmt: skip
        """Set a line of text; `turn` in degrees, clockwise as the eye sees it."""
        x, y = at
        weight = ' font-weight="bold"' if bold else ""
        rotate = f' transform="rotate({turn:.1f} {x:.1f} {y:.1f})"' if turn else ""
        self.parts.append(
            f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" fill="{colour}" '
            f'text-anchor="{anchor}"{weight}{rotate}>{escape(words)}</text>'
        )

    def size(self, one: Spot, two: Spot, words: str = "", *, beside: Spot = (6, 4)) -> None:
        """Draw a dimension with an arrowhead at each end; words stand `beside` its middle."""
        self.line(one, two, colour=DIM, wide=1.2)
        long = math.dist(one, two)
        ux, uy = (two[0] - one[0]) / long, (two[1] - one[1]) / long
        for (x, y), way in ((one, 1), (two, -1)):
            back = (x + way * 7 * ux, y + way * 7 * uy)
            left = (back[0] - 2.6 * uy, back[1] + 2.6 * ux)
            right = (back[0] + 2.6 * uy, back[1] - 2.6 * ux)
            self.area((x, y), left, right, fill=DIM, edge=DIM)
        if words:
            middle = ((one[0] + two[0]) / 2 + beside[0], (one[1] + two[1]) / 2 + beside[1])
            self.text(middle, words, colour=DIM)

    def arc(
        self, centre: Spot, radius: float, first: float, last: float, colour: str = DIM
    ) -> None:
        """Draw an arc between two directions in degrees, counter-clockwise as the eye sees it."""
        (x1, y1), (x2, y2) = (
            (centre[0] + radius * math.cos(math.radians(a)),
             centre[1] - radius * math.sin(math.radians(a)))
            for a in (first, last)
        )  # fmt: skip
        self.parts.append(
            f'<path d="M{x1:.1f},{y1:.1f} A{radius},{radius} 0 0 0 {x2:.1f},{y2:.1f}" '
            f'fill="none" stroke="{colour}" stroke-width="1.2"/>'
        )

    def svg(self) -> str:
        """Return the file's text."""
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width:g}" '
            f'height="{self.height:g}" viewBox="0 0 {self.width:g} {self.height:g}" '
            'font-family="sans-serif" role="img">'
        )
        return "\n".join([head, *self.parts, "</svg>"]) + "\n"


def measuring() -> str:
    """Draw the three ways to measure a wedge."""
    sheet = Sheet(760, 640, "Measuring a wedge: by thickness, by offsets from the chord, by level")
    _by_thickness(sheet, 108)
    _by_offsets(sheet, 322)
    _by_level(sheet, 530)
    return sheet.svg()


def _wedge(
    sheet: Sheet, mid: float, a: tuple[float, float], b: tuple[float, float], caption: str
) -> None:
    """Draw a wedge whose faces stand `a` above and `b` below the chord, rear then front."""
    rear, front = 120.0, 600.0
    sheet.area(
        (rear, mid - a[0]), (front, mid - a[1]), (front, mid + b[1]), (rear, mid + b[0]), fill=WEDGE
    )  # fmt: skip
    sheet.line((rear - 40, mid), (front + 40, mid), wide=1.0, dashed=True)
    sheet.text((rear - 46, mid + 5), "TE", anchor="end", bold=True)
    sheet.text((front + 46, mid - 4), "FORWARD", bold=True)
    sheet.text((front + 46, mid + 13), "chord plane")
    sheet.text((20, mid - 88), caption, bold=True, size=14)


def _by_thickness(sheet: Sheet, mid: float) -> None:
    _wedge(sheet, mid, (13, 58), (13, 58), "thickness: calliper square to the chord, at two lines")
    for x, half, word in ((165, 17.2, "rear"), (555, 53.8, "front")):
        sheet.line((x, mid - half - 12), (x, mid + half + 12), colour=TOOL, wide=1.0)
        sheet.size((x, mid - half), (x, mid + half), word, beside=(7, -8))
    sheet.line((165, mid + 30), (165, mid + 84), colour=DIM, wide=0.8)
    sheet.line((555, mid + 66), (555, mid + 84), colour=DIM, wide=0.8)
    sheet.size((165, mid + 79), (555, mid + 79), 'width, along = "chord"', beside=(-70, -6))
    lift = 12.0
    sheet.size(
        (165, mid - 17.2 - lift), (555, mid - 53.8 - lift), 'or width, along = "face"',
        beside=(-110, -16),
    )  # fmt: skip


def _by_offsets(sheet: Sheet, mid: float) -> None:
    _wedge(
        sheet, mid, (13, 66), (13, 36), "offsets: from the scribed chord line to each face"
    )  # fmt: skip
    for x, up, down, word, beside_a, beside_b in (
        (165, 18.0, 15.2, "rear", (-18, -18), (9, 24)),
        (555, 61.0, 33.8, "front", (-52, 4), (-52, 6)),
    ):
        sheet.size((x, mid), (x, mid - up), f"{word} A", beside=beside_a)
        sheet.size((x, mid), (x, mid + down), f"{word} B", beside=beside_b)
    sheet.line((165, mid + 25), (165, mid + 66), colour=DIM, wide=0.8)
    sheet.line((555, mid + 44), (555, mid + 66), colour=DIM, wide=0.8)
    sheet.size((165, mid + 60), (555, mid + 60), "width, along the chord", beside=(-70, -6))


def _by_level(sheet: Sheet, mid: float) -> None:
    _wedge(
        sheet, mid, (13, 58), (13, 46),
        "readings: one level, three places, positive where it rises forward",
    )  # fmt: skip
    slope_a, slope_b = 45 / 480, 33 / 480
    for x, z, slope, under, word, dx, dz in (
        (230, -13 - 110 * slope_a, -slope_a, False, "a", -22, -31),
        (430, 13 + 310 * slope_b, slope_b, True, "b (held from below)", 128, 64),
        (400, 0, 0, False, "chord (straightedge on the chord line)", -70, 18),
    ):
        thick = 16.0 if under else -16.0
        ends = [(x, mid + z), (x + 120, mid + z + 120 * slope)]
        sheet.area(
            *ends, *[(px, pz + thick) for px, pz in reversed(ends)], fill="#f6d9b8", edge=TOOL
        )
        cx, cy = x + 60, mid + z + 60 * slope + thick / 2
        sheet.parts.append(
            f'<ellipse cx="{cx:.1f}" cy="{cy:.1f}" rx="11" ry="4" fill="white" stroke="{TOOL}"/>'
        )
        sheet.text((x + dx, mid + dz), word, colour=TOOL)


def guide_in_use() -> str:
    """Draw a guide on the skin beside a bit, with its lettered corners."""
    alpha, drill, line, rear = 5.3, 3.2, 12.0, 1.0
    piece = build_guide(
        "guide", 90.0 - alpha, drill,
        GuideSizes(foot=84.0, edge=58.0, height=84.0, pin=12.0, chuck=36.0, relief=3.0, stock=3.0),
        GuideLabels(job="", title="Guide", side="", holes="", face=""),
    )  # fmt: skip
    scale, left, base = 4.6, 110.0, 500.0
    tan = math.tan(math.radians(alpha))

    def spot(x: float, z: float) -> Spot:
        return left + scale * x, base - scale * z

    sheet = Sheet(700, 610, "A guide stands forward of the hole; the bit is sighted along its edge")
    reach, skin, depth = 104.0, 1.4, 30.0
    half = rear / 2
    wedge = [(0, half), (depth, half + depth * tan), (depth, -half - depth * tan), (0, -half)]
    sheet.area(*(spot(*p) for p in wedge), fill=WEDGE)
    for side in (1, -1):
        band = [
            (0, half),
            (reach, half + reach * tan),
            (reach, half + reach * tan + skin),
            (0, half + skin),
        ]
        sheet.area(*(spot(x, side * z) for x, z in band), fill=SKIN)
    sheet.line(spot(-12, 0), spot(reach + 3, 0), wide=1.0, dashed=True)
    sheet.text(spot(reach - 24, 1.5), "chord plane")
    sheet.text(spot(-14, -0.8), "TE", anchor="end", bold=True)
    sheet.text(spot(reach - 12, -3.6), "FORWARD →", bold=True)
    sheet.line(spot(24, -1.2), spot(27, -7.5), wide=0.8)
    sheet.text(spot(27.5, -9.0), "wedge")
    _bit(sheet, spot, line, drill)
    top = half + skin
    place = Affine.move(line + drill / 2, top + (line + drill / 2) * tan) @ Affine.turn(alpha)
    outline = piece.outline.moved(place)
    sheet.parts.append(_filled(outline, spot))
    for mark in piece.inner:
        if isinstance(mark.shape, Circle):
            hole = mark.shape.moved(place)
            x, y = spot(*hole.centre)
            sheet.parts.append(
                f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{scale * hole.radius:.1f}" '
                f'fill="white" stroke="{INK}"/>'
            )
    forward, aft = piece.angles
    inward = {
        "A": (1.5, 2.2),
        "B": (-3.5, 2.2),
        "C": (1.6, 0.8),
        "D": (1.6, -3.6),
        "E": (-4, -3.6),
        "F": (-4, 0.8),
    }
    ends = {
        "A": forward.base.start, "B": forward.base.end, "C": forward.working.start,
        "D": forward.working.end, "E": aft.working.end, "F": aft.working.start,
    }  # fmt: skip
    for letter, point in ends.items():
        x, z = place.point(point)
        px, py = spot(x, z)
        sheet.parts.append(f'<circle cx="{px:.1f}" cy="{py:.1f}" r="3" fill="{DIM}"/>')
        dx, dz = inward[letter]
        sheet.text(spot(x + dx, z + dz), letter, colour=DIM, bold=True, size=15)
    corner = spot(line + drill / 2, top + (line + drill / 2) * tan)
    sheet.arc(corner, 100, alpha, 90)
    sheet.text((corner[0] + 76, corner[1] - 92), f"forward angle {90 - alpha:.1f}°", colour=DIM)
    _words(sheet, spot)
    return sheet.svg()


def _bit(sheet: Sheet, spot: Place, line: float, drill: float) -> None:
    """Draw the bit through the wedge, and the chuck above."""
    low, high = -7.0, 72.0
    r = drill / 2
    shank = [
        (line - r, low + r),
        (line - r, high),
        (line + r, high),
        (line + r, low + r),
        (line, low),
    ]
    sheet.area(*(spot(*p) for p in shank), fill="#d9d9d9")
    chuck = [(line - 18, high + 30), (line - 18, high), (line + 18, high), (line + 18, high + 30)]
    sheet.area(*(spot(*p) for p in chuck), fill="#eeeeee")
    sheet.text(spot(line, high + 14), "chuck", anchor="middle")
    sheet.line(spot(line, low - 5), spot(line, high + 10), colour=TOOL, wide=1.0, dashed=True)


def _words(sheet: Sheet, spot: Place) -> None:
    sheet.text(spot(8.5, 40), "bit", anchor="end")
    sheet.text(spot(60, 9.7), "base A-B on the skin", size=12, turn=-5.3)
    sheet.text(spot(18.2, 28), "working edge C-D", size=12, turn=-90)
    sheet.text(spot(91, 30), "edge F-E: the same with", size=12, turn=-90)
    sheet.text(spot(94.5, 30), "the guide aft of the hole", size=12, turn=-90)
    sheet.text(spot(39, 95.5), "high corner: FORWARD", bold=True)
    sheet.text(
        spot(-16, -14.6), "Sight the bit along C-D, then look along the span as well.", size=13
    )
    sheet.text(
        spot(-16, -18.6),
        "A calliper on the finished piece goes over the lettered corners: A-B, A-D, B-D, ...",
    )


def _filled(outline: Path, spot: Place) -> str:
    """Return a closed outline as an SVG path; arcs are drawn through points."""
    points = [
        spot(*edge.at(k / 8))
        for edge in outline.edges
        for k in (range(8) if edge.bulge else range(1))
    ]
    data = " L".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return f'<path d="M{data} Z" fill="#f7ead2" stroke="{INK}" stroke-width="1.6"/>'


def main() -> None:
    """Write both figures."""
    (HERE / "measuring.svg").write_text(measuring(), "utf-8")
    (HERE / "guide-in-use.svg").write_text(guide_in_use(), "utf-8")


if __name__ == "__main__":
    main()
