"""Lettering: the strokes that engrave a text, and how wide and high it is in every format.

Two faces letter the same words: the single strokes of `fonts.strokes` in cut files, which a laser
or a pen can follow, and Barlow Semi Condensed on paper. Both stand on the same baseline with the
same height of capital, and a text is measured by whichever of the two runs wider, so that what
fits on the drawing fits in each file. A sign that the strokes lack becomes its nearest plain
spelling, and ``?`` where there is none: never a silent gap.
"""

from __future__ import annotations

import math
import re
import unicodedata
from functools import lru_cache
from itertools import pairwise

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.fonts import advances
from jiggen.drawing.fonts import strokes as stroke_font
from jiggen.drawing.shapes import Anchor, Edge, Path, Text, Weight

#: Heights of a capital, mm: each step is the root of two. Source: ISO 3098-1, from memory.
SMALL, MIDDLE, LARGE, TITLE = 2.5, 3.5, 5.0, 7.0

#: Distance of two baselines of running text, in heights of a capital.
LEADING = 1.7

#: The strokes run this much narrower than they were drawn, to be as wide as the letters on paper.
STROKE_SCALE = 0.75

#: Ink beside the advance: the widest overhang of any letter of either face, in heights of a
#: capital.
OVERHANG = 0.06

# What the strokes say instead. Not a compatibility decomposition: that would turn 1½ into 11/2.
_SPELLED = str.maketrans(
    {"ß": "ss", "ẞ": "SS", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE"}
    | {"ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "\u0131": "i", "\u03bc": "µ"}
    | {"½": "1/2", "¼": "1/4", "¾": "3/4", "\u2026": "...", "•": "·"}
    | dict.fromkeys("\u2018\u2019\u201a\u2032", "'")  # single quotes, prime
    | dict.fromkeys("\u201c\u201d\u201e\u2033", '"')  # double quotes, double prime
    | dict.fromkeys("\u2010\u2011\u2212", "-")  # hyphens, minus
    | dict.fromkeys("\u2044\u2215", "/")  # fraction bars
    | dict.fromkeys("\u00a0\u2009\u202f", " ")  # hard and thin blanks
)
_FRACTION_AFTER_DIGIT = re.compile(r"(?<=\d)(?=[½¼¾])")

# Characters that reach lower than a comma's tail, or higher than a capital, in either face.
_LOW = frozenset("#§¶†‡gjpqyJQ,;()[]{}|/\\$@_µ¢¦þƒ∏∑∫◊„\u00b8\u02db\u201a\u2215\u2044\u03bc")
_HIGH = frozenset("#()[]{}|/$√◊˚⌀\u2215\u2044")

_ADVANCE = {char: glyph[0] for char, glyph in (stroke_font.OWN | stroke_font.HERSHEY).items()}

_Strokes = tuple[tuple[tuple[float, float], ...], ...]


def strokes(text: Text) -> tuple[Path, ...]:
    """Return the pen strokes of a line of lettering, in place; every weight has the same.

    Open and closed paths of straight edges, mm; none for blanks.
    """
    scale = text.height / stroke_font.CAP
    letters = [_letter(base, accent) for base, accent in _letters(text.text)]
    pen = -_share_before(text.anchor) * sum(advance for advance, _ in letters)
    place = Affine.move(*text.at) @ Affine.turn(text.turn)
    paths: list[Path] = []
    for advance, lines in letters:
        for line in lines:
            points = [place.point(((pen + x) * scale * STROKE_SCALE, y * scale)) for x, y in line]
            paths.append(Path(tuple(Edge(a, b) for a, b in pairwise(points))))
        pen += advance
    return tuple(paths)


def text_width(text: str, height: float, weight: Weight = Weight.MEDIUM) -> float:
    """Return how far a text runs along its baseline, in the wider of the two faces, mm."""
    return height * max(_stroke_run(text), _paper_run(text, weight))


def text_corners(text: Text) -> list[Point]:
    """Return the four corners of the box that holds a text's ink in every format, mm.

    Lower left, lower right, upper right, upper left as the text is read.
    """
    width = text_width(text.text, text.height, text.weight)
    left = -_share_before(text.anchor) * width - OVERHANG * text.height
    right = left + width + 2 * OVERHANG * text.height
    low, high = _reach(text.text)
    bottom, top = -low * text.height, high * text.height
    place = Affine.move(*text.at) @ Affine.turn(text.turn)
    return [place.point(p) for p in ((left, bottom), (right, bottom), (right, top), (left, top))]


def shortened(text: str, height: float, width: float, weight: Weight = Weight.MEDIUM) -> str:
    """Return a text cut at a word, with ``…`` after it, where it runs wider than `width` mm."""
    if text_width(text, height, weight) <= width:
        return text
    words = text.split()
    while len(words) > 1:
        words.pop()
        cut = " ".join(words).rstrip(",;:.") + " …"
        if text_width(cut, height, weight) <= width:
            return cut
    letters = text.split()[0] if text.split() else text
    while len(letters) > 1 and text_width(f"{letters}…", height, weight) > width:
        letters = letters[:-1]
    return f"{letters}…"


def wrap(text: str, height: float, width: float, weight: Weight = Weight.MEDIUM) -> list[str]:
    """Return a text broken into lines that fit a width; a word too long has its own line."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, height, weight) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _share_before(anchor: Anchor) -> float:
    """Return the share of the width that lies before the anchor."""
    return {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[anchor]


def _reach(text: str) -> tuple[float, float]:
    """Return how far the ink reaches below and above the baseline, in heights of a capital."""
    low, high = 0.1, 1.1
    for base, marks in _clusters(text):
        if base in _LOW or "\u0327" in marks or "\u0328" in marks:  # cedilla, ogonek
            low = 0.35
        if marks and (base not in "acegmnopqrsuvwxyzij" or "\u030a" in marks):
            high = 1.4
        elif base in _HIGH:
            high = max(high, 1.25)
    return low, high


def _clusters(text: str) -> list[tuple[str, str]]:
    """Return (character, its combining marks) for each character, in order."""
    found: list[tuple[str, str]] = []
    for char in unicodedata.normalize("NFD", text):
        if unicodedata.combining(char) and found:
            found[-1] = (found[-1][0], found[-1][1] + char)
        else:
            found.append((char, ""))
    return found


@lru_cache(maxsize=4096)
def _letters(text: str) -> tuple[tuple[str, str], ...]:
    """Return (letter, accent or nothing) for each stroke letter that the text becomes."""
    spelled = _FRACTION_AFTER_DIGIT.sub(" ", text).translate(_SPELLED)
    found: list[tuple[str, str]] = []
    for base, marks in _clusters(spelled):
        # A mark may be dropped from a letter, never from a sign: "not equal" must not read "equal".
        if not _is_drawn(base) or (marks and not base.isalpha()):
            found.append(("?", ""))
        else:
            found.append((base, next((m for m in marks if m in stroke_font.ACCENTS), "")))
    return tuple(found)


def _is_drawn(char: str) -> bool:
    return char in stroke_font.HERSHEY or char in stroke_font.OWN


@lru_cache(maxsize=512)
def _letter(base: str, accent: str) -> tuple[float, _Strokes]:
    """Return the advance and the strokes of one letter, in units of the stroke font."""
    advance, data = stroke_font.HERSHEY.get(base) or stroke_font.OWN[base]
    lines = _parsed(data)
    if not accent:
        return advance, lines
    if base in "ij":
        lines = tuple(line for line in lines if min(y for _, y in line) < stroke_font.CAP - 1)
    xs = [x for line in lines for x, _ in line]
    middle = (min(xs) + max(xs)) / 2
    above = max(y for line in lines for _, y in line) + 2
    mark = _parsed(stroke_font.ACCENTS[accent])
    moved = tuple(tuple((middle + x, above + y) for x, y in line) for line in mark)
    return advance, lines + moved


def _parsed(data: str) -> _Strokes:
    """Return the strokes of a glyph's text as points."""
    return tuple(
        tuple((float(x), float(y)) for x, y in (point.split(",") for point in line.split()))
        for line in data.split(";")
        if line
    )


@lru_cache(maxsize=4096)
def _stroke_run(text: str) -> float:
    """Return the strokes' advance in heights of a capital."""
    unit = STROKE_SCALE / stroke_font.CAP
    if text.isascii():  # most of what is lettered, and nothing in it to spell otherwise
        unknown = _ADVANCE["?"]
        return sum(_ADVANCE.get(char, unknown) for char in text) * unit
    return math.fsum(_letter(*letter)[0] for letter in _letters(text)) * unit


@lru_cache(maxsize=4096)
def _paper_run(text: str, weight: Weight) -> float:
    """Return the paper face's advance in heights of a capital; ``?`` for what it lacks."""
    widths = advances(weight.value)
    unknown = widths[ord("?")]
    return math.fsum(widths.get(ord(c), unknown) for c in unicodedata.normalize("NFC", text))
