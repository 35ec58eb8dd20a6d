"""The drawing language as checks on finished files: what every page, piece and cut file must hold.

Each check reads a file back and returns its complaints, one line each; none is good. Pages are read
by pikepdf's tokens and looked at as pictures of pypdfium2, cut files by ElementTree and by their
pairs: nothing of the writers is used. `complaints` runs all of them on what `make` made of a job.

    for line in complaints(made):     # any job, any set of jigs
        ...

Rules and numbers: heights, widths, greys and word budgets of the project's drawing language (own
choice); line widths in the ratio 1 : 2 and the series of heights after ISO 128-2 and ISO 3098-1,
from memory.
"""

from __future__ import annotations

import io
import json
import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Any

import pikepdf
import pypdfium2
from msgspec import Struct, field
from PIL import Image, ImageDraw
from readback import dxf_pairs, svg_root
from shapely import STRtree
from shapely.geometry import LineString, MultiPolygon, Polygon, box
from shapely.ops import unary_union

MM = 25.4 / 72.0
INCH = 25.4
#: mm. Heights of a capital; height of a capital over the size of the font.
HEIGHTS, CAP = (2.5, 3.5, 5.0, 7.0), 0.7
#: mm. Widths of black lines; a clipped outline is written at twice its width.
WIDTHS, OUTLINE = (0.18, 0.25, 0.35, 0.5, 1.0), 1.0
#: Share of black of the waste and of the band, and width that the band is written at, mm.
TINT, BAND, BAND_WRITTEN = 0.10, 0.45, 2.5
FACES = tuple(f"BarlowSemiCondensed-{cut}" for cut in ("Medium", "SemiBold", "Bold"))
COLOURS = {"rg", "RG", "k", "K", "cs", "CS", "sc", "SC", "scn", "SCN", "sh", "Do", "gs"}
#: Most words and numbers by what a page is; on strip and order pages besides what is said at holes.
BUDGETS = {"cover": 260, "piece": 67, "strip": 67, "numbers": 400, "card": 60, "order": 150}
#: Most steps of a jig, and their words; they stand beside the page's own budget.
STEPS, IN_STEPS = 6, 80
OF_TITLE = {"NUMBERS": "numbers", "SEQUENCE": "order", "CARD": "card", "MEASURE": "order",
            "SHOP HEAD": "order"}  # fmt: skip
ON_A_PIECE = 12
#: mm. Words on a piece keep so far inside it.
RIM = 2.0
#: mm. What rounding in a file may take.
SLACK = 1e-3


# --- reading


class Word(Struct, frozen=True, dict=True):
    """One run of lettering: its text, height in mm, face, place, share of black, and piece."""

    text: str
    height: float
    face: str
    at: tuple[float, float]
    turn: float
    width: float
    black: float
    piece: str

    def box(self, low: float | None = None) -> Polygon:
        """Return the box of its ink: as deep as its letters go, as high as a capital."""
        deep = 0.24 if re.search(r"[gjpqy,;()Q/]", self.text) else 0.0
        down = -(deep if low is None else low) * self.height
        cos, sin = math.cos(self.turn), math.sin(self.turn)
        corners = [(0.0, down), (self.width, down), (self.width, self.height), (0.0, self.height)]
        x, y = self.at
        return Polygon([(x + u * cos - v * sin, y + u * sin + v * cos) for u, v in corners])


class Line(Struct, frozen=True, dict=True):
    """A stroke: points in mm, width, share of black, whether it is clipped or broken, and piece."""

    points: tuple[tuple[float, float], ...]
    width: float
    black: float
    clipped: bool
    dashed: bool
    piece: str

    @property
    def shape(self) -> LineString:
        """Return its middle line."""
        return LineString(self.points)


class Area(Struct, frozen=True, dict=True):
    """A filled area: corners in mm, share of black, and piece."""

    points: tuple[tuple[float, float], ...]
    black: float
    piece: str

    @property
    def shape(self) -> Polygon:
        """Return it as a polygon."""
        return Polygon(self.points)


class Page(Struct, dict=True):
    """What a page of a PDF shows."""

    number: int
    width: float
    height: float
    words: list[Word] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    areas: list[Area] = field(default_factory=list)
    operators: set[str] = field(default_factory=set)
    fonts: dict[str, bool] = field(default_factory=dict)
    record: dict[str, Any] = field(default_factory=dict)

    @property
    def pieces(self) -> list[dict[str, Any]]:
        """Return the records of its pieces."""
        return list(self.record.get("pieces", []))

    @property
    def title(self) -> str:
        """Return its title: the first words of the largest height."""
        return next((w.text for w in self.words if not w.piece and w.height > 6.5), "")


def read_pages(data: bytes) -> list[Page]:
    """Return what each page of a PDF shows."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return [_read_page(number, page) for number, page in enumerate(pdf.pages, start=1)]


class _State(Struct, dict=True):
    matrix: tuple[float, ...] = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    width: float = 1.0
    stroke: float = 1.0
    fill: float = 1.0
    clipped: bool = False
    dashed: bool = False


def _read_page(number: int, page: Any) -> Page:
    size = [float(v) for v in page.MediaBox]
    found = Page(number, (size[2] - size[0]) * MM, (size[3] - size[1]) * MM)
    fonts = {}
    for name, font in dict(page.Resources.get("/Font", {})).items():
        fonts[str(name)] = _Font(font)
        found.fonts[str(font.BaseFont).lstrip("/")] = fonts[str(name)].embedded
    state, stack, piece, said = _State(), [], "", ""
    walks: list[list[tuple[float, float]]] = []
    clip = False
    run: _Run | None = None
    for instruction in pikepdf.parse_content_stream(page):
        op, args = str(instruction.operator), instruction.operands
        found.operators.add(op)
        numbers = [float(v) for v in args] if op in _NUMERIC else []
        if op == "q":
            stack.append(_State(**vars(state)))
        elif op == "Q":
            state = stack.pop()
        elif op == "cm":
            state.matrix = _times(tuple(numbers), state.matrix)
        elif op == "w":
            state.width = numbers[0] * MM * math.sqrt(abs(_turned(state.matrix)))
        elif op in ("G", "g"):
            setattr(state, "stroke" if op == "G" else "fill", 1.0 - numbers[0])
        elif op == "d":
            state.dashed = len(args[0]) > 0
        elif op == "BDC" and str(args[0]) == "/JiggenPiece":
            piece = str(args[1]["/Name"])
        elif op == "EMC":
            piece = ""
        elif op == "DP":
            said += str(args[1]["/Json"])
        elif op == "m":
            walks.append([_mm(state.matrix, *numbers)])
        elif op == "l":
            walks[-1].append(_mm(state.matrix, *numbers))
        elif op == "c":
            walks[-1] += _curve(walks[-1][-1], [_mm(state.matrix, *numbers[k : k + 2])
                                                for k in (0, 2, 4)])  # fmt: skip
        elif op == "h":
            walks[-1].append(walks[-1][0])
        elif op in ("W", "W*"):
            clip = True
        elif op in ("S", "f", "B", "n"):
            for walk in walks:
                if op in ("f", "B") and len(walk) > 2:
                    found.areas.append(Area(tuple(walk), state.fill, piece))
                if op in ("S", "B") and len(walk) > 1:
                    found.lines.append(Line(tuple(walk), state.width, state.stroke,
                                            state.clipped, state.dashed, piece))  # fmt: skip
            state.clipped = state.clipped or clip
            walks, clip = [], False
        elif op == "BT":
            run = _Run()
        elif op == "Tf" and run is not None:
            run.font, run.size = fonts[str(args[0])], float(args[1])
        elif op == "Tm" and run is not None:
            run.matrix = _times(tuple(numbers), state.matrix)
        elif op == "Tj" and run is not None:
            run.add(bytes(args[0]))
        elif op == "ET" and run is not None:
            if run.text.strip():
                found.words.append(run.word(state.fill, piece))
            run = None
    found.record = json.loads(said) if said else {}
    return found


_NUMERIC = {"cm", "w", "G", "g", "m", "l", "c", "Tm"}


class _Font:
    """A font of a page: its face, what its codes say and how far they run."""

    def __init__(self, font: Any) -> None:
        self.face = str(font.BaseFont).lstrip("/").split("+")[-1]
        first = int(font.FirstChar)
        self.widths = {first + k: float(w) / 1000.0 for k, w in enumerate(font.Widths)}
        self.embedded = "/FontFile2" in font.get("/FontDescriptor", {})
        self.said = _to_unicode(font.ToUnicode.read_bytes().decode("latin-1"))


def _to_unicode(text: str) -> dict[int, str]:
    """Return what each code says, from a ToUnicode map (ISO 32000-1, 9.10.3, from memory)."""
    found = {}
    for block in re.findall(r"beginbfrange(.*?)endbfrange", text, re.S):
        for first, last, to in re.findall(r"<(\w+)>\s*<(\w+)>\s*(\[.*?\]|<\w+>)", block, re.S):
            codes = range(int(first, 16), int(last, 16) + 1)
            if to.startswith("["):
                each = re.findall(r"<(\w+)>", to)
            else:
                each = [f"{int(to[1:-1], 16) + k:04x}" for k in range(len(codes))]
            found.update({c: chr(int(e, 16)) for c, e in zip(codes, each, strict=False)})
    for block in re.findall(r"beginbfchar(.*?)endbfchar", text, re.S):
        found.update(
            {int(a, 16): chr(int(b, 16)) for a, b in re.findall(r"<(\w+)>\s*<(\w+)>", block)}
        )
    return found


class _Run(Struct, dict=True):
    font: _Font | None = None
    size: float = 0.0
    matrix: tuple[float, ...] = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    text: str = ""
    run: float = 0.0

    def add(self, codes: bytes) -> None:
        assert self.font is not None
        for code in codes:
            self.text += self.font.said.get(code, "\ufffd")
            self.run += self.font.widths.get(code, 0.0) * self.size

    def word(self, black: float, piece: str) -> Word:
        a, b = self.matrix[:2]
        scale = math.hypot(a, b) * MM
        return Word(self.text, self.size * CAP * scale, self.font.face if self.font else "",
                    _mm(self.matrix, 0.0, 0.0), math.atan2(b, a), self.run * scale, black,
                    piece)  # fmt: skip


def _times(m: Sequence[float], n: Sequence[float]) -> tuple[float, ...]:
    """Return the matrix that applies m first, then n."""
    return (m[0] * n[0] + m[1] * n[2], m[0] * n[1] + m[1] * n[3],
            m[2] * n[0] + m[3] * n[2], m[2] * n[1] + m[3] * n[3],
            m[4] * n[0] + m[5] * n[2] + n[4], m[4] * n[1] + m[5] * n[3] + n[5])  # fmt: skip


def _turned(m: Sequence[float]) -> float:
    return m[0] * m[3] - m[1] * m[2]


def _mm(m: Sequence[float], x: float, y: float) -> tuple[float, float]:
    return ((m[0] * x + m[2] * y + m[4]) * MM, (m[1] * x + m[3] * y + m[5]) * MM)


def _curve(p: tuple[float, float], rest: list[tuple[float, float]]) -> list[tuple[float, float]]:
    (a, b, q), found = rest, []
    for k in (1, 2, 3, 4):
        t, s = k / 4.0, 1.0 - k / 4.0
        weights = (s**3, 3 * s * s * t, 3 * s * t * t, t**3)
        found.append(tuple(sum(w * v[i] for w, v in zip(weights, (p, a, b, q), strict=True))
                           for i in (0, 1)))  # fmt: skip
    return found


def outline_of(record: Mapping[str, Any]) -> Polygon:
    """Return a piece's outline, or a hole's, from its record."""
    if "centre" in record:
        from shapely.geometry import Point

        return Point(record["centre"]).buffer(record["radius"], quad_segs=32)
    corners, bulges = record["corners"], dict(record["bulges"])
    points: list[tuple[float, float]] = []
    for n, (start, end) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True)):
        points.append(tuple(start))
        points += _arc(start, end, bulges.get(n, 0.0))
    return Polygon(points)


def _arc(start: Sequence[float], end: Sequence[float], bulge: float) -> list[tuple[float, float]]:
    """Return points between the ends of an arc, whose sagitta is the bulge times half the chord."""
    if not bulge:
        return []
    dx, dy = end[0] - start[0], end[1] - start[1]
    across = (1.0 - bulge * bulge) / (4.0 * bulge)
    cx, cy = (start[0] + end[0]) / 2 - dy * across, (start[1] + end[1]) / 2 + dx * across
    sweep, first = 4.0 * math.atan(bulge), math.atan2(start[1] - cy, start[0] - cx)
    radius = math.dist(start, (cx, cy))
    turns = [first + sweep * k / 12 for k in range(1, 12)]
    return [(cx + radius * math.cos(t), cy + radius * math.sin(t)) for t in turns]


# --- the checks of a page


def heights(page: Page) -> list[str]:
    """Only four heights of lettering."""
    return [
        f"{w.text!r} is {w.height:.3f} high"
        for w in page.words
        if min(abs(w.height - h) for h in HEIGHTS) > 0.01
    ]


def widths(page: Page) -> list[str]:
    """Only the widths of the language; an outline is clipped and written at twice its width."""
    found = []
    for line in page.lines:
        if line.black < 0.99:
            wide = (BAND_WRITTEN,) if abs(line.black - BAND) < 0.01 else (6.0, 8.0)
        else:
            wide = (OUTLINE,) if line.clipped else WIDTHS
        if min(abs(line.width - w) for w in wide) > SLACK:
            found.append(f"a line of {line.black:.2f} black is {line.width:.3f} wide")
    return found


def greys(page: Page) -> list[str]:
    """Black, two greys for waste and band, white; text in black or white; no colour, no picture."""
    found = [f"operator {op}" for op in sorted(page.operators & COLOURS)]
    for areas in page.areas:
        if min(abs(areas.black - g) for g in (0.0, TINT, BAND, 1.0)) > 1e-3:
            found.append(f"an area of {areas.black:.3f} black")
    for line in page.lines:
        if min(abs(line.black - g) for g in (TINT, BAND, 1.0)) > 1e-3:
            found.append(f"a line of {line.black:.3f} black")
    found += [f"{w.text!r} in {w.black:.2f} black" for w in page.words if 1e-3 < w.black < 0.999]
    return found


def fonts(page: Page) -> list[str]:
    """Only the three cuts, embedded, as subsets."""
    found = []
    for name, embedded in page.fonts.items():
        prefix, _, face = name.rpartition("+")
        if face not in FACES or not embedded or len(prefix) != 6:
            found.append(f"font {name}, {'embedded' if embedded else 'not embedded'}")
    return found


def words(page: Page) -> list[str]:
    """No page and no piece says more than its budget; the job's own name counts as one word."""
    found = []
    kinds = {p["kind"] for p in page.pieces}
    kind = page_kind(page)
    said = [
        w
        for w in page.words
        if not (_is_label(w.text) and (kind == "order" or (kind == "strip" and w.piece)))
    ]
    listed = steps(page)
    if len([w for w in listed if w.text.isdigit()]) > STEPS:
        found.append(f"more than {STEPS} steps")
    if (told := sum(len(counted(w.text)) for w in listed)) > IN_STEPS:
        found.append(f"{told} words in its steps, {IN_STEPS} are allowed")
    said = [w for w in said if w not in listed]
    names = [w for w in said if _is_job_name(page, w)]
    count = sum(len(counted(w.text)) for w in said if w not in names) + len(names)
    if count > BUDGETS[kind]:
        found.append(f"{count} words on a page of kind {kind}, {BUDGETS[kind]} are allowed")
    for piece in {w.piece for w in page.words} - {""}:
        on = [t for w in page.words if w.piece == piece and not _is_label(w.text)
              for t in counted(w.text) if not _NUMBER.fullmatch(t)]  # fmt: skip
        if len(on) > ON_A_PIECE:
            found.append(f"{len(on)} words on {piece}: {' '.join(on)}")
    assert kinds or kind != "strip"
    return found


def steps(page: Page) -> list[Word]:
    """Return the words of a numbered list: figures, and the lines that stand 4.5 mm in from one."""
    small = [w for w in page.words if not w.piece and not w.turn and abs(w.height - 2.5) < 0.01]
    figures = [w for w in small if re.fullmatch(r"[1-9]", w.text)]
    lines = [w for w in small if any(abs(w.at[0] - f.at[0] - 4.5) < 0.01 for f in figures)]
    return [*(f for f in figures if any(abs(w.at[1] - f.at[1]) < 0.01 for w in lines)), *lines]


def page_kind(page: Page) -> str:
    """Return what a page is by its pieces and its title: a key of `BUDGETS`."""
    kinds = {p["kind"] for p in page.pieces}
    if kinds:
        return "strip" if kinds == {"strip"} else "piece"
    return OF_TITLE.get(page.title, "cover" if page.number == 1 else "piece")


_NO_WORD = re.compile(r"\w|[A-Z]{2,4}-[0-9A-F]{4}")
_NUMBER = re.compile(r"[-+]?\d+(\.\d+)?")


def counted(text: str) -> list[str]:
    """Return the words and numbers of a text; corner letters, signs and codes are none."""
    return [t for t in text.split() if re.search(r"\w", t) and not _NO_WORD.fullmatch(t)]


def _is_label(text: str) -> bool:
    """Return whether a text is what stands over a hole: its number, its order, its pin's side."""
    return bool(re.fullmatch(r"\d+|\d+ \w|WAIT", text))


def _is_job_name(page: Page, word: Word) -> bool:
    """Return whether a text is the job's name: at the right of the page's title."""
    ends = word.at[0] + word.width
    return not word.piece and abs(word.height - 3.5) < 0.01 and ends > page.width - 45.0 and (
        word.at[1] > page.height - 20.0)  # fmt: skip


def overlap(page: Page, margin: float = 10.0) -> list[str]:
    """No two texts meet, none leaves the margins, none lies on a line, a grey or a black area."""
    found = []
    inside = box(margin, margin, page.width - margin, page.height - margin).buffer(0.05)
    boxes = [w.box().buffer(-0.05) for w in page.words]
    for word, one in zip(page.words, boxes, strict=True):
        if not inside.contains(one):
            found.append(f"{word.text!r} leaves the margins")
    tree = STRtree(boxes)
    for a, b in tree.query(boxes, predicate="intersects").T:
        if a < b:
            found.append(f"{page.words[a].text!r} meets {page.words[b].text!r}")
    grey = greys_seen(page)
    strokes = [l for l in page.lines if l.black > 0.99 and not l.clipped]
    lines = STRtree([l.shape for l in strokes])
    dark = [a.shape for a in page.areas if a.black > 0.99]
    for word, one in zip(page.words, boxes, strict=True):
        white = word.black < 0.01
        if one.intersects(grey):
            found.append(f"{word.text!r} lies on a grey")
        if white != any(d.contains(one) for d in dark):
            found.append(f"{word.text!r}, white, lies on no black area" if white
                         else f"{word.text!r} lies on black")  # fmt: skip
        for n in lines.query(one, predicate="intersects"):
            found.append(f"{word.text!r} lies on a line {strokes[n].width:g} wide")
    return found


def greys_seen(page: Page) -> Any:
    """Return where a page is grey: waste and bands as far as no piece lies on them, and holes."""
    tints = [l.shape.buffer(l.width / 2, cap_style="flat" if l.black > 0.2 else "round")
             for l in page.lines if l.black < 0.99]  # fmt: skip
    bodies = unary_union([outline_of(p["outline"]) for p in page.pieces])
    holes = [a.shape for a in page.areas if 0.01 < a.black < 0.99]
    return unary_union([unary_union(tints).difference(bodies), *holes])


def inside(page: Page) -> list[str]:
    """Each piece's words lie on it, off its rim and its holes; or off its waste, as a flag."""
    found = []
    for piece in page.pieces:
        body = outline_of(piece["outline"])
        room = body.buffer(-RIM + 0.01)
        holes = unary_union([outline_of(h) for h in piece["holes"] if _is_closed(h)])
        for word in (w for w in page.words if w.piece == piece["name"]):
            one = word.box(low=0.0)
            flag = not one.intersects(body.buffer(3.0))
            if not flag and (not room.contains(one) or one.intersects(holes)):
                found.append(f"{word.text!r} leaves {piece['name']}, or lies in a hole of it")
    return found


def _is_closed(cut: Mapping[str, Any]) -> bool:
    return "centre" in cut or len(cut["corners"]) > 2


def figure(page: Page) -> list[str]:
    """One check figure on a page with pieces: sides, diagonal, bars and crosses as they claim."""
    frames = [l for l in page.lines if abs(l.width - 0.18) < SLACK and l.black > 0.99
              and not l.piece and _is_rectangle(l.points)
              and math.dist(l.points[0], l.points[2]) > 100.0]  # fmt: skip
    if not page.pieces:
        return [f"{len(frames)} check figures on a page without pieces"] if frames else []
    if len(frames) != 1:
        return [f"{len(frames)} check figures"]
    xs, ys = zip(*frames[0].points, strict=True)
    left, low, right, up = min(xs), min(ys), max(xs), max(ys)
    found = []
    ratio = min(right - left, up - low) / max(right - left, up - low)
    if abs(ratio - 0.75) > 1e-6:
        found.append(f"its sides are as {ratio:.4f} to 1, not as 3 to 4")
    bars = [l for l in page.lines if abs(l.width - 1.0) < SLACK and not l.piece and not l.clipped
            and _on_side(l.points, right, low)]  # fmt: skip
    if len(bars) != 2:
        return [*found, f"{len(bars)} bars on its lower and right sides"]
    lengths = {round(math.dist(l.points[0], l.points[-1]), 3) for l in bars}
    said = " ".join(w.text for w in page.words)
    inches = bool(re.search(r"\d in\b|\binch", said))
    if inches and re.search(r"\bmm\b", said):
        found.append("two units on one page")
    step, longs = (INCH, (4 * INCH, 2 * INCH)) if inches else (20.0, (100.0, 50.0))
    bar = next(long for long in longs if long <= min(right - left, up - low) - 3.0)
    if lengths != {round(bar, 3)}:
        found.append(f"bars of {sorted(lengths)} mm")
    steps = math.hypot(right - left, up - low) / step
    if abs(steps - round(steps)) * step > SLACK:
        found.append(f"its diagonal is {steps * step:.3f} mm")
    crosses = [l for l in page.lines if abs(l.width - 0.25) < SLACK and len(l.points) == 2
               and abs(math.dist(*l.points) - 8.0) < SLACK]  # fmt: skip
    rings = [l for l in page.lines if len(l.points) > 8 and not l.piece
             and abs(_wide(l) - 3.0) < 0.01]  # fmt: skip
    for corner in ((left, low), (right, low), (right, up), (left, up)):
        if sum(_middle(l, corner) for l in crosses) != 2 or not any(
            _middle(l, corner) for l in rings
        ):
            found.append(f"no true corner at {corner[0]:.1f}, {corner[1]:.1f}")
    frame = box(left, low, right, up)
    for piece in page.pieces:
        if not frame.contains(outline_of(piece["outline"])):
            found.append(f"{piece['name']} leaves it")
    return found


def _is_rectangle(points: Sequence[tuple[float, float]]) -> bool:
    if len(points) != 5 or math.dist(points[0], points[-1]) > SLACK:
        return False
    return all(min(abs(a[0] - b[0]), abs(a[1] - b[1])) < SLACK for a, b in pairwise(points))


def _on_side(points: Sequence[tuple[float, float]], right: float, low: float) -> bool:
    return any(all(abs(p[k] - at) < SLACK for p in points) for k, at in ((0, right), (1, low)))


def _wide(line: Line) -> float:
    xs = [p[0] for p in line.points]
    return max(xs) - min(xs)


def _middle(line: Line, at: tuple[float, float]) -> bool:
    x0, y0, x1, y1 = line.shape.bounds
    return math.dist(((x0 + x1) / 2, (y0 + y1) / 2), at) < SLACK


def arrows(page: Page, forward: Mapping[str, tuple[float, float] | None]) -> list[str]:
    """One FORWARD on each piece that has a forward, and its head points there.

    Args:
        page: as read.
        forward: the direction of forward on the page by the piece's name, None where it has none.
    """
    found = []
    for piece in page.pieces:
        name = piece["name"]
        said = [w for w in page.words if w.piece == name and w.text == "FORWARD"]
        way = forward[name]
        if len(said) != (way is not None):
            found.append(f"{name} says FORWARD {len(said)} times")
            continue
        if way is None:
            continue
        heads = [d for a in page.areas if a.piece == name and (d := _head(a.points)) is not None]
        if len(heads) != 1:
            found.append(f"{name} has {len(heads)} heads of a FORWARD arrow")
        elif math.dist(heads[0], way) > 0.01:
            found.append(f"{name} points to {heads[0]}, forward is {way}")
    return found


def _head(points: Sequence[tuple[float, float]]) -> tuple[float, float] | None:
    """Return where a filled triangle of 6 by 4 mm points, or None."""
    corners = list(points[:-1]) if math.dist(points[0], points[-1]) < SLACK else list(points)
    if len(corners) != 3:
        return None
    for n, tip in enumerate(corners):
        a, b = corners[n - 1], corners[n - 2]
        base = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        long = math.dist(tip, base)
        if abs(long - 6.0) < 0.01 and abs(math.dist(a, b) - 4.0) < 0.01:
            return ((tip[0] - base[0]) / long, (tip[1] - base[1]) / long)
    return None


#: The checks that need no more than the page.
OF_A_PAGE: dict[str, Callable[[Page], list[str]]] = {
    "heights": heights,
    "widths": widths,
    "greys": greys,
    "fonts": fonts,
    "words": words,
    "overlap": overlap,
    "inside": inside,
    "figure": figure,
}


# --- the checks of a page as a picture


def picture(data: bytes, number: int, dpi: float) -> Image.Image:
    """Return a page as a picture in greys; `number` counts from 1."""
    document = pypdfium2.PdfDocument(data)
    try:
        return document[number - 1].render(scale=dpi / 72.0, grayscale=True).to_pil().convert("L")
    finally:
        document.close()


def one_bit(page: Page, data: bytes) -> list[str]:
    """Printed in one bit, waste, band and white still differ: their means of black tell."""
    dots = 300.0 / INCH
    image = picture(data, page.number, 300.0).convert("1").convert("L")
    ink = unary_union([
        *(w.box(low=0.3).buffer(0.5) for w in page.words),
        *(l.shape.buffer(l.width / 2 + 0.3) for l in page.lines
          if l.black > 0.99 and not l.clipped),
        *(a.shape.buffer(0.3) for a in page.areas if a.black > 0.01),
    ])  # fmt: skip
    found = []
    bands = [l for l in page.lines if abs(l.black - BAND) < 0.01]
    bodies = unary_union([outline_of(p["outline"]) for p in page.pieces])
    band = unary_union([l.shape.buffer(1.05, cap_style="flat") for l in bands])
    wide = unary_union([l.shape.buffer(1.6) for l in bands])
    waste = unary_union([l.shape.buffer(l.width / 2 - 0.3) for l in page.lines
                         if abs(l.black - TINT) < 0.01])  # fmt: skip
    holes = unary_union([outline_of(h).buffer(0.7) for p in page.pieces for h in p["holes"]
                         if _is_closed(h)])  # fmt: skip
    regions = (
        ("waste", waste.difference(bodies.buffer(0.3)).difference(wide).difference(ink), 5.0, 15.0),
        ("band", band.difference(bodies.buffer(0.2)).difference(ink), 35.0, 55.0),
        ("inside", bodies.buffer(-1.0).difference(holes).difference(ink), 0.0, 0.2),
    )
    for name, region, least, most in regions:
        if region.area < 4.0:
            continue
        mask = Image.new("1", image.size, 0)
        draw = ImageDraw.Draw(mask)
        for part in region.geoms if isinstance(region, MultiPolygon) else [region]:
            draw.polygon(_dots(part.exterior.coords, dots, image.height), fill=1)
            for ring in part.interiors:
                draw.polygon(_dots(ring.coords, dots, image.height), fill=0)
        counts = image.histogram(mask.convert("L"))
        black = 100.0 * counts[0] / max(sum(counts), 1)
        if not least <= black <= most:
            found.append(f"{name} is {black:.1f} % black in one bit")
    return found


def _dots(points: Iterable[Any], dots: float, height: int) -> list[tuple[float, float]]:
    return [(x * dots, height - y * dots) for x, y in points]


def line_inside(page: Page, data: bytes) -> list[str]:
    """The outer side of each outline's stroke is the true outline within 0.05 mm.

    At 900 dpi: the reader sets an upright clip to whole dots, which are 0.04 mm at 600.
    """
    dots = 900.0 / INCH
    image = picture(data, page.number, 900.0)
    pixels = image.load()
    black = [l.shape for l in page.lines if l.black > 0.99 and not l.clipped]
    marks = STRtree([*(w.box(low=0.3) for w in page.words), *black])
    found = []

    def grey(x: float, y: float) -> float:
        u, v = x * dots - 0.5, image.height - y * dots - 0.5
        i, j = math.floor(u), math.floor(v)
        du, dv = u - i, v - j
        return sum(
            wx
            * wy
            * pixels[min(max(i + k, 0), image.width - 1), min(max(j + n, 0), image.height - 1)]
            for k, wx in ((0, 1 - du), (1, du))
            for n, wy in ((0, 1 - dv), (1, dv))
        )

    for piece in page.pieces:
        corners, body = piece["outline"]["corners"], outline_of(piece["outline"])
        bulged = {n for n, _ in piece["outline"]["bulges"]}
        for n, (p, q) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True)):
            long = math.dist(p, q)
            if n in bulged or long < 8.0:
                continue
            ux, uy = (q[0] - p[0]) / long, (q[1] - p[1]) / long
            for share in (0.31, 0.52, 0.73):
                x, y = p[0] + ux * long * share, p[1] + uy * long * share
                ray = LineString([(x + uy * 1.2, y - ux * 1.2), (x - uy * 1.2, y + ux * 1.2)])
                ahead = LineString([(x + uy * 0.1, y - ux * 0.1), (x + uy * 1.4, y - ux * 1.4)])
                # In a V as narrow as that the other flank's line would be taken for this one's.
                if len(marks.query(ray, predicate="intersects")) or ahead.intersects(body):
                    continue
                off = _outer_side(lambda s: grey(x + uy * s, y - ux * s))  # noqa: B023
                if off is None or abs(off) > 0.05:
                    told = "not found" if off is None else f"{off:+.3f} mm off"
                    found.append(f"{piece['name']}, edge {n}: the line's outer side is {told}")
    return found


def _outer_side(grey: Callable[[float], float]) -> float | None:
    """Return where black begins, coming from outside along s, mm; greys are 0 black to 255."""
    step, s = 0.01, 1.2
    while s > -0.6:
        if grey(s) < 64.0 and grey(s - 0.1) < 64.0:
            outside = grey(s + 0.25)
            half = outside / 2.0
            while grey(s) < half and s < 1.2:
                s += step / 2
            return s
        s -= step
    return None


# --- the checks of cut files and of the whole


def cut_order(data: bytes, suffix: str) -> list[str]:
    """A machine engraves, scores, cuts all holes, then all outlines; notes come last."""
    order = ["ENGRAVE", "SCORE", "CUT inner", "CUT outer", "NOTE"]
    seen = _svg_steps(data) if suffix == "svg" else _dxf_steps(data)
    places = [order.index(step) for step in seen]
    return [f"{order[b]} after {order[a]}" for a, b in pairwise(places) if b < a]


def _svg_steps(data: bytes) -> list[str]:
    found = []
    for layer in (g for g in svg_root(data) if g.tag == "g"):
        if layer.get("id") != "CUT":
            found += [str(layer.get("id"))] if len(layer) else []
            continue
        for shape in layer.iter():
            if shape.tag in ("path", "circle"):
                # An outline bears its piece's name.
                found.append("CUT outer" if shape.get("id") else "CUT inner")
    return found


def _dxf_steps(data: bytes) -> list[str]:
    found: list[list[str]] = []
    inside = False
    for code, value in dxf_pairs(data):
        if code == 2 and value == "ENTITIES":
            inside = True
        elif code == 0 and value == "ENDSEC":
            inside = False
        elif inside and code == 0:
            found.append(["", "inner"])
        elif inside and code == 8:
            found[-1][0] = value.strip()
        elif inside and code == 1001 and value == "JIGGEN":
            found[-1][1] = "outer"
    return [f"CUT {part}" if layer == "CUT" else layer for layer, part in found if layer]


def names(made: Any) -> list[str]:
    """The same pieces in pages, cut files and manifest; each bears its name, or its short one."""
    found = []
    wanted = {p.name: p for p in made.pieces}
    listed = json.loads(made.files["manifest.json"])
    rows = {row["file"]: row["sheets"] for row in listed["files"]}
    on = {name: {p["name"] for s in sheets for p in s["pieces"]} for name, sheets in rows.items()}
    pages = read_pages(made.files["print.pdf"]) if "print.pdf" in made.files else []
    drawn = {p["name"] for page in pages for p in page.pieces}
    for missing in {n for n, p in wanted.items() if p.on_paper} - drawn if pages else ():
        if any(_has_room(page, wanted[missing]) for page in pages):
            found.append(f"no page shows {missing}")
    if drawn - {n for n, p in wanted.items() if p.on_paper}:
        found.append(f"pages show {sorted(drawn)}")
    if pages and on["print.pdf"] != drawn:
        found.append(f"the manifest lists {sorted(on['print.pdf'])} on pages")
    refused = set(made.drawn.beds.refused)
    for suffix in ("svg", "dxf"):
        alone = {f.split("/")[1].rsplit(".", 1)[0] for f in made.files
                 if f.startswith("pieces/") and f.endswith(suffix)}  # fmt: skip
        if alone and alone != {n for n, p in wanted.items() if p.is_sheet and n not in refused}:
            found.append(f"pieces/*.{suffix} are {sorted(alone)}")
    for suffix in ("svg", "dxf"):
        beds = [names for file, names in on.items() if re.fullmatch(rf"cut-\d+\.{suffix}", file)]
        laid = {n for n, p in wanted.items() if p.is_sheet and p.on_bed and n not in refused}
        if beds and set().union(*beds) != laid:
            found.append(f"beds hold {sorted(set().union(*beds))}")
    numbers = {t for page in pages if page.title == "NUMBERS" for w in page.words
               for t in re.split(r"[ ,]+", w.text)}  # fmt: skip
    for name, piece in wanted.items() if numbers else ():
        title = re.split(r"[ ,]+", piece.title)
        if any(not size.is_bar for size in piece.dimensions) and not set(title) <= numbers:
            found.append(f"the pages of numbers do not name {name}")
    for page in pages:
        for piece in (p for p in page.pieces if p["name"] in wanted):
            if piece["title"] != wanted[piece["name"]].title:
                found.append(f"{piece['name']} is called {piece['title']!r} on its page")
            own = wanted[piece["name"]]
            said = " ".join(w.text for w in page.words if w.piece == piece["name"]).split()
            first, *rest = own.label.split()
            short = first[:1] + "".join(rest) + own.variant[:1]
            told = all(t in said for t in own.variant.split()) or own.variant in own.left_out
            if not (told and all(t in said for t in own.label.split())) and short not in said:
                found.append(f"{piece['name']} does not bear its name")
    return found


def cover(made: Any) -> list[str]:
    """One cover, the first page; its word follows from the checks, and its list has every part."""
    if "print.pdf" not in made.files:
        return []
    pages = read_pages(made.files["print.pdf"])
    found = [f"page {p.number} is a cover" for p in pages[1:] if page_kind(p) == "cover"]
    said = [w.text for w in pages[0].words]
    statuses = {check.status for check in made.checks}
    word = "STOP" if "fail" in statuses else "LOOK" if "warn" in statuses else "GO"
    verdicts = [w.text for w in pages[0].words if w.text in ("GO", "LOOK", "STOP")]
    if verdicts != [word]:
        found.append(f"it says {verdicts}, the checks say {word}")
    rows = set(said)
    for text in said:
        if row := re.fullmatch(r"([A-Z]+) (\d+)\u2013(\d+)", text):
            rows |= {f"{row[1]} {n}" for n in range(int(row[2]), int(row[3]) + 1)}
    labels = {piece.label for piece in made.pieces if piece.on_paper or piece.is_sheet}
    found += [f"its list lacks {label}" for label in sorted(labels) if not _listed(label, rows)]
    return found


def _listed(label: str, rows: set[str]) -> bool:
    """Return whether a part is in the list by its own label, or all of its kind in one row."""
    kind, *number = label.split()
    return (
        label in rows or kind in rows or (not number and any(r.split()[:1] == [kind] for r in rows))
    )


def _has_room(page: Page, piece: Any) -> bool:
    """Return whether a page's figure would hold a piece with its waste."""
    ends = {d["name"]: d["ends"] for d in page.record.get("dimensions", [])}
    if "diagonal-1" not in ends:
        return False
    (x0, y0), (x1, y1) = ends["diagonal-1"]
    figure = sorted((abs(x1 - x0) - 10.0, abs(y1 - y0) - 10.0))
    size = sorted((piece.on_page().width, piece.on_page().height))
    return size[0] <= figure[0] and size[1] <= figure[1]


def grouping(pages: Sequence[Page]) -> list[str]:
    """A jig's pieces stand on consecutive pages, and the guide before all others."""
    kinds = [list(dict.fromkeys(p["kind"] for p in page.pieces)) for page in pages]
    order = [k for some in kinds for k in some]
    runs = [k for n, k in enumerate(order) if n == 0 or order[n - 1] != k]
    found = [f"{k} stands in {n} places" for k, n in Counter(runs).items() if n > 1]
    if "guide" in runs and runs[0] != "guide":
        found.append(f"{runs[0]} stands before the guide")
    return found


def complaints(made: Any, *, look: bool = False, margin: float = 10.0) -> list[str]:
    """Return all that is wrong with what `make` made of a job, file by file.

    Args:
        made: of `make_drawings`.
        look: look at each page as a picture too (slow).
        margin: of the job's pages, mm.
    """
    found = [f"names: {line}" for line in names(made)]
    found += [f"cover: {line}" for line in cover(made)]
    sheets = [("print.pdf", made.drawn.pages), ("strip-roll.pdf", made.drawn.rolls)]
    for file, drawn in sheets:
        if file not in made.files:
            continue
        data = made.files[file]
        pages = read_pages(data)
        if file == "print.pdf":
            found += [f"{file}: {line}" for line in grouping(pages)]
        for page, sheet in zip(pages, drawn, strict=True):
            on = [placed.on_sheet for placed in sheet.placed]
            forward = {p.name: None if p.forward is None else tuple(p.forward) for p in on}
            told = {name: check(page) for name, check in OF_A_PAGE.items() if name != "overlap"}
            told["overlap"] = overlap(page, margin)
            told["arrows"] = arrows(page, forward)
            if file != "print.pdf":
                # A roll has no room for a figure: its crosses are measured instead.
                del told["figure"], told["words"]
            if look:
                told["one-bit"] = one_bit(page, data)
                told["line inside"] = line_inside(page, data)
            found += [f"{file} {page.number}, {name}: {line}"
                      for name, lines in told.items() for line in lines]  # fmt: skip
    for file, data in made.files.items():
        suffix = file.rsplit(".", 1)[-1]
        if suffix in ("svg", "dxf"):
            found += [f"{file}: {line}" for line in cut_order(data, suffix)]
    return found
