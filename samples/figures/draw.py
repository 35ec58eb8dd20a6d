#!/usr/bin/env python3
"""Draws the pictures of README and manual as PNGs, in the hand of the pages; beside this file.

    python samples/figures/draw.py [FOLDER]

Needs jiggen installed, pdftoppm, and Pillow, which comes with the PDF library. A picture of a jig
is the jig's own, as it stands on its page; `page.png` is a page of a sample, too coarse to print.
"""

from __future__ import annotations

import math
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path as FilePath

from PIL import Image

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.lettering import MIDDLE, SMALL
from jiggen.drawing.looks import (
    FINE,
    FINE_WIDE,
    NARROW,
    WIDE,
    area,
    cross,
    dimension,
    forward_arrow,
    hatched,
    head,
    label,
    line,
    words,
)
from jiggen.drawing.page import Picture
from jiggen.drawing.room import segments_of
from jiggen.drawing.shapes import Anchor, Circle, Dash, Mark, Weight
from jiggen.drawing.sheet import Sheet
from jiggen.jigs.plan import Plan, plan_job
from jiggen.job.read import read_job
from jiggen.make import draw
from jiggen.solve import solve
from jiggen.write.pdf import pdf_bytes

HERE = FilePath(__file__).resolve().parent
TO = FilePath(sys.argv[1]) if len(sys.argv) > 1 else HERE
LEAD, WHOLE = (HERE.parent / name / "job.toml" for name in ("flaperon", "canard"))

#: Dots per inch: of a picture, which is shown at half its size, and of a whole page.
DPI, PAGE_DPI = 200, 84
#: mm. White round a picture; size of one of the six of the walk.
WHITE, WALK = 2.5, (84.0, 66.0)
#: The page of the walk, as a share of a true one.
PAGE_SHARE = 0.22
#: Shades of grey in a picture; lines and hatching need no more.
GREYS = 16

Spot = tuple[float, float]

#: How far a place along one of the faces of the wedge in `measuring` lies off the chord plane.
Face = Callable[[float], float]


def save(name: str, sheet: Sheet, dpi: int) -> None:
    """Write a sheet as a PNG."""
    data, _ = pdf_bytes([sheet], title=name)
    with tempfile.TemporaryDirectory() as folder:
        (FilePath(folder) / "one.pdf").write_bytes(data)
        command = ["pdftoppm", "-r", str(dpi), "-singlefile", "-png", "one.pdf", "one"]
        subprocess.run(command, cwd=folder, check=True)
        with Image.open(FilePath(folder) / "one.png") as image:
            few = image.convert("L").quantize(GREYS)
        few.save(TO / f"{name}.png", optimize=True)


def save_picture(name: str, picture: Picture, size: Spot | None = None) -> None:
    """Write a picture as a PNG, in the middle of a sheet of `size` mm, or of its own size."""
    wide, high = size or (picture.width + 2 * WHITE, picture.height + 2 * WHITE)
    marks = picture.at((wide - picture.width) / 2, (high - picture.height) / 2)
    save(name, Sheet(name=name, width=wide, height=high, marks=marks), DPI)


def in_a_row(pictures: Sequence[Picture], gap: float = 12.0) -> Picture:
    """Return pictures side by side, standing on one line."""
    marks: list[Mark] = []
    x = 0.0
    for picture in pictures:
        marks += picture.at(x, 0.0)
        x += picture.width + gap
    return Picture.around(marks)


# --- how a wedge is measured


def _wedge(a: Face, b: Face, front: float) -> list[Mark]:
    """Draw a wedge between its faces, trailing edge left, with the chord plane."""
    corners = [(0.0, -b(0.0)), (front, -b(front)), (front, a(front)), (0.0, a(0.0))]
    return [
        area(corners, 0.0, WIDE),
        line((-7.0, 0.0), (front + 9.0, 0.0), width=NARROW, dash=Dash.CHAIN),
        words((-2.0, 1.6), "TE", SMALL, Weight.SEMIBOLD, Anchor.END),
    ]


def _height(x: float, low: float, high: float, name: str, up: float) -> list[Mark]:
    """Draw what is read between two heights, with its name beside it."""
    marks = [line((x, low), (x, high))]
    marks += [head((x, y), way, (2.2, 0.9)) for y, way in
              ((low, -math.pi / 2), (high, math.pi / 2)) if y]  # fmt: skip
    return [*marks, words((x + 1.5, up), name, SMALL, Weight.SEMIBOLD)]


def _across(a: Face, b: Face, rear: float, ahead: float, low: float, *, at: bool) -> list[Mark]:
    """Draw the two lines, the width between them, and how far the rear one lies from the edge."""
    marks = [line((x, -b(x) - 3.0), (x, a(x) + 3.0), dash=Dash.HIDDEN) for x in (rear, ahead)]
    marks += [line((x, -b(x) - 4.0), (x, low - 2.0), width=FINE) for x in (rear, ahead)]
    marks += dimension((rear, low), (ahead, low), "width", off=-0.01)[2:]
    if at:
        marks.append(line((0.0, -b(0.0) - 1.5), (0.0, low - 2.0), width=FINE))
        marks += dimension((0.0, low), (rear, low), "rear_at", off=-0.01)[2:]
    return marks


def by_thickness(front: float = 54.0, *, named: bool = True) -> Picture:
    """Draw the two lines and what a calliper reads there."""

    def half(x: float) -> float:
        return 2.6 + 0.12 * x

    rear, ahead = 12.0, front - 12.0
    marks = _wedge(half, half, front)
    marks += _across(half, half, rear, ahead, -half(front) - 7.0, at=True)
    for x, name in ((rear, "rear"), (ahead, "front")):
        marks += _height(x, -half(x), half(x), name, 1.2)
    if named:
        marks.append(words((0.0, half(front) + 6.0), "thickness", MIDDLE, Weight.SEMIBOLD))
    marks += forward_arrow((front - 14.0, half(front) + 6.0), (front + 8.0, half(front) + 6.0))
    return Picture.around(marks)


def by_offsets(front: float = 54.0) -> Picture:
    """Draw the heights of both faces off the scribed chord line."""

    def upper(x: float) -> float:
        return 4.0 + 0.14 * x

    def lower(x: float) -> float:
        return 3.6 + 0.05 * x

    rear, ahead = 12.0, front - 12.0
    marks = _wedge(upper, lower, front)
    marks += _across(upper, lower, rear, ahead, -lower(front) - 7.0, at=False)
    for x, name in ((rear, "rear"), (ahead, "front")):
        marks += _height(x, 0.0, upper(x), f"{name} A", 1.2)
        marks += _height(x, -lower(x), 0.0, f"{name} B", -3.6)
    marks.append(words((0.0, upper(front) + 4.0), "offsets", MIDDLE, Weight.SEMIBOLD))
    return Picture.around(marks)


def by_level(front: float = 54.0) -> Picture:
    """Draw one level at three places."""

    def upper(x: float) -> float:
        return 2.4 + 0.12 * x

    def lower(x: float) -> float:
        return 2.0 + 0.08 * x

    marks = _wedge(upper, lower, front)
    for x, slope, height, name in (
        (24.0, 0.12, upper(24.0), "a"),
        (24.0, -0.08, -lower(24.0) - 6.0, "b, held from below"),
        (front + 2.0, 0.0, 0.0, "chord"),
    ):
        turn = Affine.move(x, height) @ Affine.turn(math.degrees(math.atan(slope)))
        box = [(0.0, 0.0), (22.0, 0.0), (22.0, 6.0), (0.0, 6.0)]
        marks.append(area([turn.point(p) for p in box], 0.0, FINE_WIDE))
        marks.append(Mark(shape=Circle(Point(*turn.point((11.0, 3.0))), 1.2), line=FINE_WIDE))
        below = height < 0.0
        marks.append(words(turn.point((6.0, -4.0 if below else 7.6)), name))
    marks.append(words((0.0, upper(front) + 4.0), "readings", MIDDLE, Weight.SEMIBOLD))
    return Picture.around(marks)


def stacked(pictures: Sequence[Picture], gap: float = 9.0) -> Picture:
    """Return pictures one above the other, the first on top."""
    marks: list[Mark] = []
    y = 0.0
    for picture in pictures:
        y -= picture.height
        marks += picture.at(0.0, y)
        y -= gap
    return Picture.around(marks)


# --- the walk


def a_page(page: Sheet, diagonal: str) -> Picture:
    """Draw a page, small, its check figure, and a rule from cross to cross."""
    small = Affine(a=PAGE_SHARE, d=PAGE_SHARE)
    rim = [(0.0, 0.0), (page.width, 0.0), (page.width, page.height), (0.0, page.height)]
    marks = [area([small.point(p) for p in rim], 0.0, FINE_WIDE)]
    sizes = {size.name: size for size in page.dimensions}
    one, two = sizes["diagonal-1"], sizes["diagonal-2"]
    corners = [small.point(p) for p in (one.start, two.start, one.end, two.end)]
    marks.append(line(*corners, corners[0], width=FINE))
    for corner in corners:
        marks += cross(corner, 1.6, 0.6)
    for placed in page.placed:
        outline = segments_of(placed.on_sheet.outline)
        marks.append(area([small.point(start) for start, _ in outline], 0.0, FINE))
    (left, low), (right, top) = corners[0], corners[2]
    way = Affine.move(left, low) @ Affine.turn(math.degrees(math.atan2(top - low, right - left)))
    long = math.hypot(right - left, top - low)
    rule = [(-3.0, 0.0), (long + 4.0, 0.0), (long + 4.0, 5.0), (-3.0, 5.0)]
    marks.append(area([way.point(p) for p in rule], 0.0, FINE_WIDE))
    for k in range(int(long / 2.0) + 1):
        ends = (k * 2.0, 0.0), (k * 2.0, 2.4 if k % 5 == 0 else 1.3)
        marks.append(line(*(way.point(p) for p in ends), width=FINE))
    marks += label((PAGE_SHARE * page.width + 6.0, top - 1.25), f"{diagonal}?", (right, top))
    return Picture.around(marks)


def scrap() -> Picture:
    """Draw a drilled scrap: where does the bit come out?"""

    def half(x: float) -> float:
        return 3.5 + 0.14 * x

    front, skin, hole, r = 46.0, 1.1, 20.0, 1.7
    marks = []
    for sign in (1.0, -1.0):
        ends = [(x, sign * (half(x) + off)) for off in (0.0, skin) for x in (0.0, front)]
        marks.append(area([ends[0], ends[1], ends[3], ends[2]], 1.0))
    corners = [(0.0, -half(0)), (front, -half(front)), (front, half(front)), (0.0, half(0))]
    marks += [area(corners, 0.0, WIDE), *hatched(corners)]
    top, low = half(hole) + skin + 0.5, -half(hole) - skin - 0.5
    marks.append(area([(hole - r, low), (hole + r, low), (hole + r, top), (hole - r, top)], 0.0))
    marks += [line((x, low + 0.3), (x, top - 0.3), width=FINE_WIDE) for x in (hole - r, hole + r)]
    marks.append(line((hole, low - 7.0), (hole, top + 9.0), dash=Dash.CHAIN))
    marks.append(line((-6.0, 0.0), (front + 6.0, 0.0), dash=Dash.CHAIN))
    marks += label((hole + 9.0, low - 6.5), "in the middle here too?", (hole + r, low))
    marks.append(words((hole + 6.0, top + 6.0), "SCRAP", MIDDLE, Weight.SEMIBOLD))
    return Picture.around(marks)


def plan_of(job: FilePath, kind: str) -> Plan:
    """Return the plan of one jig of a job; an empty one where the job does not bear it."""
    planned = plan_job(solve(read_job(job)), (kind,))
    for why in planned.refused.values():
        raise why
    return next((plan for plan in planned.plans if plan.kind == kind), Plan(kind=kind))


#: Jigs whose own pictures the manual shows, and how many of them.
SHOWN = {"guide": 3, "cradle": 2, "trim": 1, "block": 2, "wrap": 1}


def figures() -> dict[str, Callable[[], None]]:
    """Return what draws each picture, by its name."""
    drawn = draw(solve(read_job(LEAD)))
    guide = plan_of(LEAD, "guide")
    in_use, apart, filing = guide.pictures[:3]
    walk = {
        "walk-measure": by_thickness(58.0, named=False),
        "walk-print": a_page(drawn.pages[1], drawn.diagonal),
        "walk-cut": filing,
        "walk-join": apart,
        "walk-stand": in_use,
        "walk-scrap": scrap(),
    }
    found: dict[str, Callable[[], None]] = {
        name: lambda name=name, one=one: save_picture(name, one, WALK) for name, one in walk.items()
    }
    ways = stacked([by_thickness(), by_offsets(), by_level()])
    found["measuring"] = lambda: save_picture("measuring", ways)
    for kind, count in SHOWN.items():
        found[kind] = lambda kind=kind, count=count: save_picture(
            kind, in_a_row(plan_of(WHOLE, kind).pictures[:count])
        )
    found["page"] = lambda: save("page", drawn.pages[1], PAGE_DPI)
    return found


def main() -> None:
    """Draw every picture."""
    for make in figures().values():
        make()


if __name__ == "__main__":
    main()
