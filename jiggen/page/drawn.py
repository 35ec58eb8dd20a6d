r"""What is typed, drawn: the section, the edge along the span, and the wedge beside a bank card.

::

     |<- hole line 11 ->|        front 5.60
                95.2° | 84.8°      :   ___---  A top       blue, hatched
     TRAILING   ______|______------'''
     EDGE      :- - - | - - - - - -:- - - - -  FORWARD
               :''''''|''''''------...__
                95.2° | 84.8°      :     ---  B bottom     brown, dotted
               :<----- width ----->:

Letters, names, colours and patterns tell the sides apart, and what was typed stands at what it is
the size of. What a wedge cannot be is drawn as it was typed: sides, ends or lines exchanged are
seen before they are read. Looks are the style file's; nothing here is for cutting.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from html import escape

from msgspec import Struct

from jiggen.facts.card import CARD_HEIGHT, CARD_WIDTH
from jiggen.jigs.section import SectionView, parts

WIDE, HIGH = 480.0, 226.0
"""Of the section's picture, in its own units."""
LEFT, RIGHT, TOP, BOTTOM = 104.0, 112.0, 60.0, 56.0
"""White round the wedge, for what is lettered there."""
SPAN_WIDE, SPAN_HIGH, EDGE_HIGH = 480.0, 109.0, 40.0
"""Of the picture of the span, and the edge in it where it is thickest."""
CARD_WIDE, CARD_HIGH = 250.0, 72.0
"""Most of the picture with the card."""
SKIN_LEAST = 5.0
"""A skin is drawn at least so thick: its pattern must show."""
NAME_MOST = 14
"""Letters of a side's name that there is room for."""

Spot = tuple[float, float]
At = Callable[[float, float], Spot]
Edge = Callable[[int, float], float]


class Label(Struct, frozen=True, kw_only=True):
    """What stands at a size in the picture.

    Attributes:
        key: of its field.
        text: what it is and what was typed.
        state: ``bad`` or ``blank``, or nothing.
    """

    key: str
    text: str
    state: str = ""


def section_svg(
    view: SectionView,
    labels: Mapping[str, Label],
    *,
    look: str,
    said: str,
    angles: Sequence[str] = (),
    outline: Sequence[Sequence[Spot]] = (),
) -> str:
    """Return the section, TRAILING EDGE left, FORWARD right, side A above.

    Args:
        view: its numbers.
        labels: by what they are of: ``rear``, ``front``, ``width``, ``rear_at``, ``line``,
            ``depth``, and what else is said of face A (``a``), face B (``b``) or both (``both``).
        look: ``ok``, ``wrong`` or ``ghost``.
        said: what it shows, for those who cannot see it.
        angles: forward and aft of side A, then of side B, at the drill's axis; or none.
        outline: the section's own corners of each side, mm; or none.
    """
    front = view.lines[1] if view.lines else 0.0
    reach = view.depth or max(1.08 * front, 1.5 * (view.line or 0.0) + 4.0)
    far = max(reach, front, view.line or 0.0)
    tall = [max(view.outer(side, x) for x in (0.0, reach)) for side in (0, 1)]
    scale = min((WIDE - LEFT - RIGHT) / far, (HIGH - TOP - BOTTOM) / max(sum(tall), 1e-9))
    middle = TOP + (HIGH - TOP - BOTTOM - scale * sum(tall)) / 2.0 + scale * tall[0]
    low = HIGH - BOTTOM + 22.0

    def at(x: float, z: float) -> Spot:
        return LEFT + x * scale, middle - z * scale

    def edge(side: int, x: float) -> float:
        """Return where a skin's outside is drawn."""
        sign = -1.0 if side == 0 else 1.0
        face = middle + sign * view.face(side, x) * scale
        return face + sign * max(view.skin[side] * scale, SKIN_LEAST)

    out = []
    for part in parts(view, 0.0, reach):
        if part.role == "wedge":
            out.append(f'<path class="wedge" d="{_closed([at(*c) for c in part.corners])}"/>')
    for side in (0, 1):
        sign = 1.0 if side == 0 else -1.0
        inside = [at(x, sign * view.face(side, x)) for x in (0.0, reach)]
        band = [*inside, *((at(x, 0.0)[0], edge(side, x)) for x in (reach, 0.0))]
        out.append(f'<path class="skin-{"ab"[side]}" d="{_closed(band)}"/>')
        if len(outline) > side:
            curve = [at(x, sign * z) for x, z in outline[side] if 0.0 <= x <= reach]
            if len(curve) > 1:
                out.append(f'<path class="outline" d="M{_way(curve)}"/>')
    end = LEFT + reach * scale
    out.append(f'<path class="chord" d="M{LEFT - 12:.1f} {middle:.1f}H{end + 12:.1f}"/>')
    out += _names(view, LEFT + far * scale + 8.0, middle, edge, reach)
    out += _edge_words(view, labels, middle)
    out += _lines(view, labels, at, edge, middle, low)
    if view.line is not None:
        out += _axis(view.line, at, edge, labels.get("line"), angles)
    for name, y in (("a", edge(0, reach)), ("b", edge(1, reach)), ("both", middle)):
        if name in labels:
            below = {"a": -10.0, "b": 20.0, "both": -5.0}[name]
            out.append(_label(labels[name], end - 6.0, y + below, "end"))
    if "depth" in labels and view.depth:
        out += _across(labels["depth"], LEFT, end, HIGH - 6.0)
        out.append(f'<path class="thin" d="M{end:.1f} {middle:.1f}V{HIGH - 4:.1f}"/>')
    return _svg(f"section {look}", (WIDE, HIGH), said, [_PATTERNS, *out])


def span_svg(
    places: Sequence[tuple[float, float]],
    holes: Sequence[tuple[int, float, bool]],
    stations: Sequence[tuple[float, str, bool]],
    *,
    zero_left: bool,
    said: str,
) -> str:
    """Return the edge from aft, side A up, as thick as it is along the span.

    Args:
        places: place along the span and thickness there, rising, mm.
        holes: number, place, and whether it is drilled now.
        stations: place, what is said there, and whether it is the one that is shown.
        zero_left: at which hand the zero end lies.
        said: what it shows, in words.
    """
    first, last = places[0][0], places[-1][0]
    most = max(thick for _, thick in places) or 1.0
    left, right = 30.0, SPAN_WIDE - 30.0
    middle = 48.0

    def x(place: float) -> float:
        share = (place - first) / ((last - first) or 1.0)
        return left + (share if zero_left else 1.0 - share) * (right - left)

    def half(thick: float) -> float:
        return thick / most * EDGE_HIGH / 2.0

    top = [(x(at), middle - half(thick)) for at, thick in places]
    under = [(x(at), middle + half(thick)) for at, thick in reversed(places)]
    out = [f'<path class="wedge" d="{_closed([*top, *under])}"/>']
    for place, text, shown in stations:
        here = x(place)
        look = "station shown" if shown else "station"
        out.append(f'<path class="{look}" d="M{here:.1f} 20V{middle + 26:.1f}"/>')
        if text:
            anchor = "start" if here < 160.0 else "end" if here > SPAN_WIDE - 160.0 else "middle"
            off = {"start": -14.0, "end": 14.0, "middle": 0.0}[anchor]
            out.append(_words(text, here + off, 14.0, anchor, "shown" if shown else ""))
    for _, place, now in holes:
        look = "hole" if now else "hole waits"
        out.append(f'<path class="{look}" d="M{x(place):.1f} {middle - 8:.1f}v16"/>')
    for number, place, _ in dict.fromkeys([*holes[:1], *holes[-1:]]):
        out.append(_words(f"hole {number}", x(place), SPAN_HIGH - 22.0, "middle"))
    out.append(
        _words("trailing edge toward you, side A up", SPAN_WIDE / 2.0, SPAN_HIGH - 6.0, "middle")
    )
    return _svg("span", (SPAN_WIDE, SPAN_HIGH), said, out)


def card_svg(view: SectionView, deep: float, *, look: str, said: str) -> str:
    """Return the wedge beside a bank card, at one scale.

    Args:
        view: the wedge.
        deep: how deep it is, mm.
        look: ``look`` where the size is not usual, else ``ok``.
        said: what it shows, in words.

    Source: the card's size is ISO/IEC 7810, format ID-1 (see `jiggen.facts.card`).
    """
    high = sum(max(view.face(side, x) for x in (0.0, deep)) for side in (0, 1))
    gap = 8.0
    wide, tall = CARD_WIDE - gap - 2.0, CARD_HIGH - 2.0
    scale = min(wide / (deep + CARD_WIDTH), tall / max(high, CARD_HEIGHT))
    middle = CARD_HIGH / 2.0
    wedge = [
        (1.0 + x * scale, middle - sign * view.face(side, x) * scale)
        for side, sign, x in ((0, 1.0, 0.0), (0, 1.0, deep), (1, -1.0, deep), (1, -1.0, 0.0))
    ]
    left, wide, tall = 1.0 + deep * scale + gap, CARD_WIDTH * scale, CARD_HEIGHT * scale
    out = [
        f'<path class="wedge" d="{_closed(wedge)}"/>',
        f'<rect class="card" x="{left:.1f}" y="{middle - tall / 2:.1f}" width="{wide:.1f}" '
        f'height="{tall:.1f}" rx="{3.18 * scale:.1f}"/>',
        f'<rect class="chip" x="{left + 0.12 * wide:.1f}" y="{middle - 0.1 * tall:.1f}" '
        f'width="{0.14 * wide:.1f}" height="{0.18 * tall:.1f}" rx="1"/>',
    ]
    return _svg(f"beside {look}", (round(left + wide + 2.0), CARD_HIGH), said, out)


# ---------------------------------------------------------------- parts of the section


def _names(view: SectionView, x: float, middle: float, edge: Edge, reach: float) -> list[str]:
    """Return the sides' letters and names at the front, never one on another."""
    a = min((edge(0, reach) + middle) / 2.0 + 4.0, middle - 15.0)
    b = max((edge(1, reach) + middle) / 2.0 + 4.0, middle + 25.0)
    names = [name if len(name) <= NAME_MOST else f"{name[:NAME_MOST]}…" for name in view.sides]
    return [
        _words(f"A {names[0]}", x, a, "start", "name-a"),
        _words("FORWARD →", x, middle + 5.0, "start", "strong"),
        _words(f"B {names[1]}", x, b, "start", "name-b"),
    ]


def _edge_words(view: SectionView, labels: Mapping[str, Label], middle: float) -> list[str]:
    x = LEFT - 16.0
    out = [
        _words("TRAILING", x, middle - 1.0, "end", "strong"),
        _words("EDGE", x, middle + 13.0, "end", "strong"),
    ]
    if view.lines and view.lines[0] == 0.0:
        out.append(_words("= rear line", x, middle + 28.0, "end"))
    if "rear" in labels:
        out.append(_label(labels["rear"], x, middle - 18.0, "end"))
    return out


def _lines(
    view: SectionView,
    labels: Mapping[str, Label],
    at: At,
    edge: Edge,
    middle: float,
    low: float,
) -> list[str]:
    """Return the rear and the front line of the calliper, and how far apart they lie."""
    if view.lines is None:
        return []
    rear, front = (at(x, 0.0)[0] for x in view.lines)
    top = TOP - 16.0
    out = []
    for name, x, start in (("rear", rear, middle), ("front", front, top)):
        if name not in labels:
            continue
        on = view.lines[name == "front"]
        faces = [at(0.0, sign * view.face(side, on))[1] for side, sign in ((0, 1.0), (1, -1.0))]
        out.append(f'<path class="jaw" d="M{x:.1f} {start:.1f}V{low + 4:.1f}"/>')
        out.append(_arrow(labels[name], (x, faces[0]), (x, faces[1])))
    if "front" in labels:
        out.append(_label(labels["front"], front, top - 4.0, "middle"))
    if "width" in labels:
        out += _across(labels["width"], rear, front, low)
    if "rear_at" in labels and view.lines[0] > 0.0:
        out.append(f'<path class="jaw" d="M{LEFT:.1f} {middle:.1f}V{low + 4:.1f}"/>')
        out.append(_arrow(labels["rear_at"], (LEFT, low), (rear, low)))
        out.append(_label(labels["rear_at"], LEFT - 4.0, low + 4.0, "end"))
    return out


def _axis(line: float, at: At, edge: Edge, label: Label | None, angles: Sequence[str]) -> list[str]:
    """Return the drill's axis, what it is from the edge, and its angles to the skins."""
    x, _ = at(line, 0.0)
    top, under = edge(0, line), edge(1, line)
    out = [f'<path class="axis" d="M{x:.1f} {top - 26:.1f}V{under + 26:.1f}"/>']
    if angles:
        for word, off, y, anchor, look in (
            (angles[0], 6.0, top - 12.0, "start", "strong"),
            (angles[1], -6.0, top - 12.0, "end", ""),
            (angles[2], 6.0, under + 20.0, "start", "strong"),
            (angles[3], -6.0, under + 20.0, "end", ""),
        ):
            out.append(_words(word, x + off, y, anchor, f"angle {look}".strip()))
    if label is not None:
        middle = at(0.0, 0.0)[1]
        out.append(f'<path class="thin" d="M{LEFT:.1f} 26V{middle:.1f}M{x:.1f} 26V{top:.1f}"/>')
        out += _across(label, LEFT, x, 30.0)
    return out


# ---------------------------------------------------------------- strokes and words


def _across(label: Label, x0: float, x1: float, y: float) -> list[str]:
    """Return a dimension along the chord, its words above it."""
    return [_arrow(label, (x0, y), (x1, y)), _label(label, (x0 + x1) / 2.0, y - 5.0, "middle")]


def _arrow(label: Label, start: Spot, end: Spot) -> str:
    """Return a line between two points with a head at each that there is room for."""
    long = math.dist(start, end)
    heads = ""
    if long > 12.0:
        ux, uy = (end[0] - start[0]) / long, (end[1] - start[1]) / long
        for tip, off in ((start, 6.0), (end, -6.0)):
            back = (tip[0] + off * ux, tip[1] + off * uy)
            sides = [(back[0] - way * uy, back[1] + way * ux) for way in (2.0, -2.0)]
            heads += _closed([tip, *sides])
    return f'<path {_of(label, "arrow")} d="M{_way([start, end])}{heads}"/>'


def _label(label: Label, x: float, y: float, anchor: str) -> str:
    return (
        f'<text {_of(label, "label")} x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">'
        f"{escape(label.text)}</text>"
    )


def _of(label: Label, look: str) -> str:
    return f'class="{f"{look} {label.state}".strip()}" data-key="{escape(label.key)}"'


def _words(text: str, x: float, y: float, anchor: str, look: str = "") -> str:
    named = f' class="{look}"' if look else ""
    return f'<text{named} x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'


def _way(points: Sequence[Spot]) -> str:
    return "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def _closed(points: Sequence[Spot]) -> str:
    return f"M{_way(points)}Z"


def _svg(look: str, size: Spot, said: str, inside: Sequence[str]) -> str:
    return (
        f'<svg class="drawn {look}" viewBox="0 0 {size[0]:g} {size[1]:g}" role="img" '
        f'aria-label="{escape(said)}">{"".join(inside)}</svg>'
    )


_PATTERNS = (
    '<defs><pattern id="hatch" width="5" height="5" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path d="M0 0V5"/></pattern>'
    '<pattern id="dots" width="5" height="5" patternUnits="userSpaceOnUse">'
    '<circle cx="2.5" cy="2.5" r="1.1"/></pattern></defs>'
)
