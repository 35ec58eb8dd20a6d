"""SVG path data: every command of the grammar, absolute and relative.

Source: SVG 1.1, section 8.3 (path data) and appendix F.6 (elliptical arcs); from memory.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from jiggen.remeasure.contour import Cubic, Point, Tracer, arc_cubics

_COMMAND = re.compile(r"([MmLlHhVvCcSsQqTtAaZz])([^MmLlHhVvCcSsQqTtAaZz]*)")
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
NUMBER = re.compile(_NUMBER)
# The two flags of an arc are one digit each, and nothing need stand between them and what follows.
_ARC = re.compile(
    rf"[\s,]*({_NUMBER})[\s,]*({_NUMBER})[\s,]*({_NUMBER})[\s,]*([01])[\s,]*([01])"
    rf"[\s,]*({_NUMBER})[\s,]*({_NUMBER})"
)
_SIZES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}
_BETWEEN = re.compile(r"[\s,]*")


def trace_path(data: str, tracer: Tracer) -> bool:
    """Follow path data with a tracer.

    Args:
        data: the ``d`` attribute.
        tracer: takes the lines, in user units.

    Returns:
        Whether all of it could be read; what stands before the first mistake is traced.
    """
    walk = _Walk(tracer)
    end = 0
    for match in _COMMAND.finditer(data):
        if data[end : match.start()].strip(" \t\r\n,"):
            return False
        end = match.end()
        letter, words = match.groups()
        if letter in "Zz":
            if words.strip(" \t\r\n,") or not walk.begun:
                return False
            walk.close()
            continue
        rows = _arguments(letter.upper(), words)
        if not rows or not (walk.begun or letter in "Mm"):
            return False
        for number, row in enumerate(rows):
            # Further pairs after a move are lines.
            name = letter.upper() if number == 0 or letter not in "Mm" else "L"
            walk.step(name, row, relative=letter.islower())
    tracer.end()
    return not data[end:].strip(" \t\r\n,")


def _arguments(name: str, words: str) -> list[tuple[float, ...]]:
    """Return the arguments of a command by repetition; empty when they are not complete."""
    if name == "A":
        found = list(_ARC.finditer(words))
        rest = _ARC.sub("", words)
        rows = [tuple(float(v) for v in match.groups()) for match in found]
        return [] if _BETWEEN.sub("", rest) else rows
    values = [float(v) for v in NUMBER.findall(words)]
    if _BETWEEN.sub("", NUMBER.sub("", words)):
        return []
    size = _SIZES[name]
    if not values or len(values) % size:
        return []
    return [tuple(values[at : at + size]) for at in range(0, len(values), size)]


class _Walk:
    """Where the pen is, and what the smooth commands need to remember."""

    def __init__(self, tracer: Tracer) -> None:
        self.tracer = tracer
        self.begun = False
        self._here: Point = (0.0, 0.0)
        self._begin: Point = (0.0, 0.0)
        self._cubic: Point | None = None
        self._quad: Point | None = None
        self._open = False

    def close(self) -> None:
        self.tracer.close()
        self._here, self._open = self._begin, False
        self._cubic = self._quad = None

    def step(self, name: str, row: tuple[float, ...], *, relative: bool) -> None:
        dx, dy = self._here if relative else (0.0, 0.0)
        if name == "M":
            self._here = self._begin = (row[0] + dx, row[1] + dy)
            self.tracer.start(self._here)
            self.begun = self._open = True
            self._cubic = self._quad = None
            return
        if not self._open:
            # After Z the next line begins where the last one did.
            self.tracer.start(self._here)
            self._open = True
        if name == "A":
            self._arc(row, (row[5] + dx, row[6] + dy))
        elif name in "LHV":
            self._line(name, row, dx, dy)
        else:
            pairs = [(row[i] + dx, row[i + 1] + dy) for i in range(0, len(row), 2)]
            self._curve(name, pairs)

    def _line(self, name: str, row: tuple[float, ...], dx: float, dy: float) -> None:
        x, y = self._here
        if name == "L":
            x, y = row[0] + dx, row[1] + dy
        elif name == "H":
            x = row[0] + dx
        else:
            y = row[0] + dy
        self._here = (x, y)
        self.tracer.line(self._here)
        self._cubic = self._quad = None

    def _curve(self, name: str, pairs: list[Point]) -> None:
        start, end = self._here, pairs[-1]
        if name in "CS":
            first = pairs[0] if name == "C" else _mirrored(self._cubic, start)
            cubic: Cubic = (first, pairs[-2], end)
            self._cubic, self._quad = pairs[-2], None
        else:
            middle = pairs[0] if name == "Q" else _mirrored(self._quad, start)
            cubic = (_third(start, middle), _third(end, middle), end)
            self._cubic, self._quad = None, middle
        self.tracer.cubics((cubic,))
        self._here = end

    def _arc(self, row: tuple[float, ...], end: Point) -> None:
        start = self._here
        self._here = end
        self._cubic = self._quad = None
        if start == end:
            return
        if row[0] == 0.0 or row[1] == 0.0:
            self.tracer.line(end)
            return
        cubics = tuple(_svg_arc(start, row, end))
        self.tracer.cubics((*cubics[:-1], (cubics[-1][0], cubics[-1][1], end)))


def _mirrored(control: Point | None, here: Point) -> Point:
    return here if control is None else (2 * here[0] - control[0], 2 * here[1] - control[1])


def _third(end: Point, middle: Point) -> Point:
    return (end[0] + 2 * (middle[0] - end[0]) / 3, end[1] + 2 * (middle[1] - end[1]) / 3)


def _svg_arc(start: Point, row: tuple[float, ...], end: Point) -> Iterator[Cubic]:
    """Yield an arc that is given by its ends, as cubics.

    Source: SVG 1.1, F.6.5 and F.6.6 (from memory): from ends to centre, radii that are too small
    are grown.
    """
    rx, ry, turn = abs(row[0]), abs(row[1]), math.radians(row[2])
    large, sweep_up = row[3] != 0.0, row[4] != 0.0
    cos, sin = math.cos(turn), math.sin(turn)
    hx, hy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    # In the ellipse's own frame, as a unit circle, with the origin in the middle of the chord.
    ux, uy = (cos * hx + sin * hy) / rx, (-sin * hx + cos * hy) / ry
    square = ux * ux + uy * uy
    if square > 1.0:
        grown = math.sqrt(square)
        rx, ry, ux, uy, square = rx * grown, ry * grown, ux / grown, uy / grown, 1.0
    side = math.sqrt(max(0.0, 1.0 / square - 1.0)) * (-1.0 if large == sweep_up else 1.0)
    cx, cy = side * uy, -side * ux
    first = math.atan2(uy - cy, ux - cx)
    last = math.atan2(-uy - cy, -ux - cx)
    sweep = (last - first) % math.tau
    if not sweep_up:
        sweep -= math.tau
    centre = (
        cos * rx * cx - sin * ry * cy + (start[0] + end[0]) / 2,
        sin * rx * cx + cos * ry * cy + (start[1] + end[1]) / 2,
    )
    yield from arc_cubics(centre, (rx, ry), first, sweep, turn)
