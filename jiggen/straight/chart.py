"""The edge as a picture: plain characters for a terminal, and an SVG for the builder's log.

Readings are shown as they are off a straight line, so that the slope at which the straightedge lay
does not hide the bow. Zone and limit are strips about the same line: the zone as narrow as the
readings let it be, the limit as wide as the plans allow, both over the length that is judged.
Heights are drawn much larger than they are, and the chart says by how much; it is no template.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple
from xml.etree import ElementTree

from jiggen.drawing.affine import Point
from jiggen.drawing.lettering import shortened, strokes, text_width, wrap
from jiggen.drawing.shapes import Anchor, Bounds, Text
from jiggen.geometry.frame import Array
from jiggen.geometry.straightness import Line
from jiggen.straight.judge import Judged
from jiggen.straight.survey import spoken
from jiggen.units import INCH, say_length

LEAST_REACH = 0.01
"""mm: a straighter edge than this fills the picture no further; nobody reads finer by hand."""

ROWS = 15  # rows of the plain picture; odd, so that the straight line has one of its own
MARKS, BOTH = "ox", "*"
"""A reading of the first and of the second line, and two that fall on one place."""
SIGNS = {"zone": "-", "limit": "="}

PAGE = Bounds(0.0, 0.0, 210.0, 148.0)  # mm: half of a common sheet, A5 lying
MARGIN = 10.0  # mm of white on each side
LETTERS = (7.0, 5.0, 3.5, 2.5)
"""mm: the heights of a capital: the verdict, the name as large as it fits, and all else."""
SMALL = LETTERS[-1]
WIDE, NARROW = 0.5, 0.25  # mm: the two widths of line: readings and large letters; all else
LEADING = 1.7  # from one baseline to the next, in heights of a capital
HEADROOM = 1.12  # the highest reading keeps this much below the field's edge
TICKS_MOST = 9  # more numbers on an axis than this are in each other's way
DOT = 0.8  # mm: radius of a reading's mark, or half the side of a square one
DASHES = {"zone": "1.5 0.75", "limit": "9 1.5", "zero": "9 1 1 1"}  # mm on and off


class Curve(NamedTuple):
    """One line of readings, off the straight line that the picture is about. Lengths in mm."""

    name: str
    at: Array  # (n,)
    off: Array  # (n,)


class Strip(NamedTuple):
    """The room between two parallel lines, over some of the edge. Lengths in mm."""

    name: str  # zone or limit
    words: str  # what it is, for people
    edges: tuple[Line, Line]  # off the straight line that the picture is about
    span: tuple[float, float]  # first and last position


class Picture:
    """The curves and what they are held against. Lengths in mm.

    Attributes:
        curves: one or two.
        about: what the straight line at 0 is, in words.
        strips: the zone, and the limit where one was stated.
        reach: the largest height that is shown, above zero.
        span: first and last position.
    """

    def __init__(self, judged: Judged) -> None:
        """Gather what to show of a survey."""
        said, units, name = judged.survey.settings, judged.survey.units, judged.worst
        on_ends = said.limit_on == "ends"
        bases = {n: s.ends if on_ends else s.zone.middle for n, s in judged.lines.items()}
        base, of = bases[name], f" of {name}" if len(bases) > 1 else ""
        self.about = "the line through the ends" if on_ends else "the middle of the zone"
        if judged.parting is not None:  # both off one line: how they part is the twist
            bases, self.about = dict.fromkeys(bases, base), self.about + of
        self.curves = [
            Curve(n, line.at, line.off - bases[n].over(line.at)) for n, line in judged.lines.items()
        ]
        places = [float(x) for curve in self.curves for x in curve.at]
        self.span = min(places), max(places)
        span = judged.stretch or (float(judged.lines[name].at[0]), float(judged.lines[name].at[-1]))
        width, (slope, height) = judged.zone.width, judged.zone.middle
        middle = Line(slope - base.slope, height - base.height)
        words = f"zone{of}, {_said(width, units)} wide"
        self.strips = [Strip("zone", words, _strip(middle, width), span)]
        if said.limit is not None:
            words = f"limit, {_said(said.limit, units)} {'either side' if on_ends else 'wide'}"
            level = _strip(Line(0.0, 0.0), 2.0 * said.limit)
            edges = level if on_ends else _strip(middle, said.limit)
            self.strips.append(Strip("limit", words, edges, span))
        heights = [float(v) for curve in self.curves for v in curve.off]
        heights += [e.height + e.slope * x for s in self.strips for e in s.edges for x in s.span]
        self.reach = max(LEAST_REACH, *map(abs, heights))


def _strip(middle: Line, width: float) -> tuple[Line, Line]:
    slope, height = middle
    return Line(slope, height - width / 2.0), Line(slope, height + width / 2.0)


def _said(mm: float, units: str) -> str:
    return say_length(mm, units, 3 if units == "mm" and mm < 0.1 else None)


def plot_lines(judged: Judged, width: int) -> list[str]:
    """Return the readings over the straight line as plain text, its scale and its marks below.

    No line is longer than `width`, which is 40 columns at least.
    """
    picture, units = Picture(judged), judged.survey.units
    places = (3 if picture.reach < 0.1 else 2) if units == "mm" else 4
    labels = {
        row: say_length(picture.reach * (1.0 - 2.0 * row / (ROWS - 1)), units, places)
        for row in range(0, ROWS, ROWS // 2)
    }
    room = max(len(label) for label in labels.values())
    columns = width - room - 3
    lines = [
        f"{labels.get(number, ''):>{room}} |{''.join(row).rstrip()}"
        for number, row in enumerate(_cells(picture, columns))
    ]
    lines.append(f"{'':{room}} +{'-' * columns}")
    first, last = (say_length(mm, units, 1 if units == "mm" else 2) for mm in picture.span)
    lines.append(f"{'':{room}}  {first}{last:>{columns - len(first)}}")
    if judged.survey.ways[0] != "up":
        lines.insert(0, f"{'':{room}} ^ {judged.survey.ways[0]}")
    words = [f"{m} {spoken(c.name)}" for m, c in zip(MARKS, picture.curves, strict=False)]
    words += [f"{BOTH} both"] if len(picture.curves) > 1 else []
    words.append(f". {picture.about}")
    words += [f"{SIGNS[strip.name] * 2} {strip.words}" for strip in picture.strips]
    key = [""]
    for word in words:
        joined = f"{key[-1]}   {word}" if key[-1] else word
        key[-1:] = [joined] if len(joined) <= width else [key[-1], word]
    return [*lines, *key]


def _cells(picture: Picture, columns: int) -> list[list[str]]:
    """Return the plain picture's characters, row by row from the top."""
    cells = [[" "] * columns for _ in range(ROWS)]
    first, last = picture.span

    def column(at: float) -> int:
        return round((at - first) / (last - first) * (columns - 1))

    def row(height: float) -> int:
        return round((1.0 - height / picture.reach) * (ROWS - 1) / 2.0)

    cells[row(0.0)] = [".", " "] * (columns // 2) + ["."] * (columns % 2)
    for strip in picture.strips:
        for edge in strip.edges:
            for n in range(column(strip.span[0]), column(strip.span[1]) + 1):
                at = first + (last - first) * n / (columns - 1)
                if strip.name == "limit" or n % 2 == 0:
                    cells[row(edge.height + edge.slope * at)][n] = SIGNS[strip.name]
    for mark, curve in zip(MARKS, picture.curves, strict=False):
        other = MARKS.replace(mark, "")
        for at, off in zip(curve.at.tolist(), curve.off.tolist(), strict=True):
            here = cells[row(off)]
            here[column(at)] = BOTH if here[column(at)] in (other, BOTH) else mark
    return cells


class Stroke(NamedTuple):
    """A line of the chart. Lengths in mm."""

    part: str  # axes, zone, limit, or the name of a line of readings
    points: tuple[Point, ...]  # y up
    width: float = NARROW
    dashes: str = ""  # on and off; empty for a continuous line


class Chart:
    """The picture as a drawing, mm, y up, origin at the page's lower left corner.

    Attributes:
        title: for programs that read the file.
        picture: what is drawn.
        field: the room of the curves.
        texts: the lettering, all of it single strokes.
        strokes: the lines, marks of readings among them.
    """

    def __init__(self, judged: Judged, words: Sequence[str]) -> None:
        """Draw it, with sentences above the field."""
        name, units = judged.survey.name, judged.survey.units
        self.title = name if "straight" in name.lower() else f"{name}: straightness"
        self.picture = Picture(judged)
        self.texts: list[Text] = []
        self.strokes: list[Stroke] = []
        up, down = judged.survey.ways
        axis = f"Heights in {units}: above 0 {up}, below {down}; 0 is {self.picture.about}."
        top = self._head(judged.verdict.upper(), name, [*words, axis])
        self.field = Bounds(MARGIN + 15.0, MARGIN + 20.0, PAGE.right - MARGIN - 4.0, top - 3.0)
        self._axes(INCH if units == "in" else 1.0)
        times = f"place along the edge, {units}; heights drawn {self.exaggeration:.0f} times larger"
        self._text(self.field.right, self.field.bottom - 10.0, times, anchor=Anchor.END)
        for strip in self.picture.strips:
            for edge in strip.edges:
                ends = (self.place(at, edge.height + edge.slope * at) for at in strip.span)
                self._line(strip.name, *ends, dashes=strip.name)
        for number, curve in enumerate(self.picture.curves):
            self._curve(curve, is_square=number > 0)
        self._key()

    def place(self, at: float, off: float) -> Point:
        """Return where a reading stands on the page, mm."""
        first, last = self.picture.span
        field, high = self.field, self.picture.reach * HEADROOM
        return Point(
            field.left + (at - first) / (last - first) * field.width,
            field.bottom + (1.0 + off / high) * field.height / 2.0,
        )

    @property
    def exaggeration(self) -> float:
        """Return how many times larger heights are drawn than lengths."""
        (x, y), (ahead, above) = self.place(0.0, 0.0), self.place(1.0, 1.0)
        return (above - y) / (ahead - x)

    def svg(self) -> bytes:
        """Return the drawing as an SVG file, one user unit a millimetre."""
        width, height = f"{PAGE.width:g}", f"{PAGE.height:g}"
        root = ElementTree.Element(
            "svg", xmlns="http://www.w3.org/2000/svg", width=f"{width}mm", height=f"{height}mm"
        )
        root.attrib |= {"viewBox": f"0 0 {width} {height}", "role": "img"}
        ElementTree.SubElement(root, "title").text = self.title
        looks = {"fill": "none", "stroke": "#000000", "stroke-linecap": "round"}
        page = ElementTree.SubElement(root, "g", {**looks, "stroke-linejoin": "round"})
        parts: dict[str, ElementTree.Element] = {}
        for stroke in self.strokes:
            if stroke.part not in parts:
                parts[stroke.part] = ElementTree.SubElement(page, "g", id=stroke.part)
            looks = {"d": _data(stroke.points), "stroke-width": f"{stroke.width:g}"}
            looks |= {"stroke-dasharray": stroke.dashes} if stroke.dashes else {}
            ElementTree.SubElement(parts[stroke.part], "path", looks)
        words = ElementTree.SubElement(page, "g", id="words")
        for text in self.texts:
            lines = [(path.edges[0].start, *(e.end for e in path.edges)) for path in strokes(text)]
            width = f"{WIDE if text.height >= LETTERS[1] else NARROW:g}"
            looks = {"d": " ".join(map(_data, lines)), "stroke-width": width}
            looks["data-text"] = text.text
            ElementTree.SubElement(words, "path", looks)
        ElementTree.indent(root, " ")
        data: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
        return data + b"\n"

    def _line(
        self, part: str, *points: tuple[float, float], width: float = NARROW, dashes: str = ""
    ) -> None:
        where = tuple(Point(*point) for point in points)
        self.strokes.append(Stroke(part, where, width, DASHES.get(dashes, "")))

    def _text(
        self, x: float, y: float, text: str, height: float = SMALL, anchor: Anchor = Anchor.START
    ) -> None:
        self.texts.append(Text(Point(x, y), text, height, anchor=anchor))

    def _head(self, verdict: str, name: str, words: Sequence[str]) -> float:
        """Write verdict, name and sentences; return how low they reach, mm."""
        room, y = PAGE.width - 2.0 * MARGIN, PAGE.top - MARGIN - LETTERS[0]
        self._text(MARGIN, y, verdict, LETTERS[0])
        height = next((h for h in LETTERS[1:] if text_width(name, h) <= room), SMALL)
        y -= LEADING * LETTERS[1]
        self._text(MARGIN, y, shortened(name, height, room), height)
        y -= LEADING * SMALL / 2.0
        for row in [row for sentence in words for row in wrap(sentence, SMALL, room)]:
            y -= LEADING * SMALL
            self._text(MARGIN, y, row)
        return y

    def _axes(self, unit: float) -> None:
        """Draw frame, zero line and the numbers along both axes, in units of so many mm."""
        field = self.field
        left, bottom, right, top = field.left, field.bottom, field.right, field.top
        self._line("axes", (left, top), (left, bottom), (right, bottom))
        zero = self.place(self.picture.span[0], 0.0).y
        self._line("axes", (left, zero), (right, zero), dashes="zero")
        high = self.picture.reach * HEADROOM / unit
        for value, said in _ticks(-high, high):
            y = self.place(0.0, value * unit).y
            self._line("axes", (left - 1.2, y), (left, y))
            self._text(left - 2.0, y - SMALL / 2.0, said, anchor=Anchor.END)
        for value, said in _ticks(*(mm / unit for mm in self.picture.span)):
            x = self.place(value * unit, 0.0).x
            self._line("axes", (x, bottom - 1.2), (x, bottom))
            self._text(x, bottom - 5.0, said, anchor=Anchor.MIDDLE)

    def _curve(self, curve: Curve, *, is_square: bool) -> None:
        points = [
            self.place(x, y) for x, y in zip(curve.at.tolist(), curve.off.tolist(), strict=True)
        ]
        self._line(curve.name, *points, width=WIDE)
        for point in points:
            self._dot(curve.name, point, is_square=is_square)

    def _dot(self, part: str, centre: Point, *, is_square: bool) -> None:
        corners = 4 if is_square else 12
        radius = DOT * (math.sqrt(2.0) if is_square else 1.0)
        turns = [math.tau * (n + 0.5) / corners for n in range(corners + 1)]
        ring = [(centre.x + radius * math.cos(t), centre.y + radius * math.sin(t)) for t in turns]
        self._line(part, *ring, width=WIDE)

    def _key(self) -> None:
        """Say below the field what marks and lines mean."""
        x, y = MARGIN, MARGIN + LEADING * SMALL
        rows = [(spoken(curve.name), "", 4.0) for curve in self.picture.curves]
        rows += [(strip.words, strip.name, 19.0) for strip in self.picture.strips]
        for number, (words, name, sample) in enumerate(rows):
            if x > MARGIN and x + sample + text_width(words, SMALL) > PAGE.right - MARGIN:
                x, y = MARGIN, y - LEADING * SMALL
            middle = y + SMALL / 2.0
            if name:
                self._line(name, (x, middle), (x + sample - 3.0, middle), dashes=name)
            else:
                self._dot("key", Point(x + DOT, middle), is_square=number > 0)
            self._text(x + sample, y, words)
            x = self.texts[-1].bounds().right + 5.0


def _data(points: Iterable[tuple[float, float]]) -> str:
    """Return a line as SVG path data, y down."""
    return "M " + " L ".join(f"{x:.3f} {PAGE.height - y:.3f}" for x, y in points)


def _ticks(low: float, high: float) -> Iterator[tuple[float, str]]:
    """Yield round numbers from low to high, and how each is said."""
    rough = (high - low) / TICKS_MOST
    power = math.floor(math.log10(rough))
    step = next(f * 10.0**power for f in (1.0, 2.0, 5.0, 10.0) if f * 10.0**power >= rough)
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    for number in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1):
        yield number * step, f"{number * step:z.{digits}f}"
