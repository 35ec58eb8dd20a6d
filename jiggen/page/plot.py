"""The plot of an edge for the screen: readings, zone and limit off a straight line, where to pin.

The same curves and strips as on the chart for the builder's log; looks are the style file's, so
that it goes dark with the page. Heights are drawn much larger than they are.
"""

from __future__ import annotations

from html import escape

from jiggen.straight.chart import Picture
from jiggen.straight.judge import Judged
from jiggen.straight.report import named_bows, place, say
from jiggen.straight.survey import spoken

WIDTH, HEIGHT = 640.0, 300.0
"""Of the picture, in its own units; it is scaled to the screen."""
LEFT, TOP, RIGHT, BOTTOM = 16.0, 44.0, 624.0, 252.0
"""Room of the curves."""
DOT = 4.5
"""Half the size of a reading's mark."""


def edge_plot(judged: Judged, sentence: str) -> str:
    """Return the plot as SVG.

    Args:
        judged: the survey.
        sentence: what it shows, for those who cannot see it.
    """
    picture = Picture(judged)
    first, last = picture.span

    def x_of(at: float) -> float:
        return LEFT + (at - first) / (last - first) * (RIGHT - LEFT)

    def y_of(off: float) -> float:
        return (TOP + BOTTOM) / 2.0 - off / picture.reach * (BOTTOM - TOP) / 2.0

    parts = [f'<path class="zero" d="M{LEFT} {y_of(0.0):.1f}H{RIGHT}"/>']
    for strip in picture.strips:
        corners = [
            (x_of(at), y_of(edge.height + edge.slope * at))
            for edge, span in zip(strip.edges, (strip.span, strip.span[::-1]), strict=True)
            for at in span
        ]
        a, b, c, d = (f"{x:.1f} {y:.1f}" for x, y in corners)
        if strip.name == "zone":
            parts.append(f'<path class="zone-area" d="M{a}L{b}L{c}L{d}Z"/>')
        parts.append(f'<path class="{strip.name}" d="M{a}L{b}M{c}L{d}"/>')
    for number, curve in enumerate(picture.curves):
        points = [
            (x_of(at), y_of(off))
            for at, off in zip(curve.at.tolist(), curve.off.tolist(), strict=True)
        ]
        line = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        parts.append(f'<path class="line line-{number}" d="M{line}"/>')
        parts += [_dot(x, y, number) for x, y in points]
    for bow in named_bows(judged)[:1]:
        x = x_of(bow.at)
        parts.append(f'<path class="pin" d="M{x:.1f} {TOP - 8}V{BOTTOM + 8}"/>')
        anchor = "start" if x < WIDTH / 4 else "end" if x > 0.75 * WIDTH else "middle"
        parts.append(
            _text(x, TOP - 14, f"pin first at {place(judged, bow.at)}", anchor, "pin-word")
        )
    up, down = judged.survey.ways
    parts += [
        _text(LEFT, 16.0, f"{say(judged, picture.reach)} {up}"),
        _text(LEFT, HEIGHT - 6.0, f"{say(judged, picture.reach)} {down}"),
        _text(LEFT, BOTTOM + 22.0, place(judged, first)),
        _text(RIGHT, BOTTOM + 22.0, place(judged, last), "end"),
    ]
    return (
        f'<svg class="plot" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" '
        f'aria-label="{escape(sentence)}">{"".join(parts)}</svg>'
    )


def legend(judged: Judged) -> list[tuple[str, str]]:
    """Return what the lines of the plot mean: the class of each, and its words."""
    picture = Picture(judged)
    curves = [(f"line-{n}", spoken(curve.name)) for n, curve in enumerate(picture.curves)]
    strips = [(strip.name, strip.words) for strip in picture.strips]
    return [*curves, *strips, ("zero", picture.about)]


def _dot(x: float, y: float, number: int) -> str:
    if number:
        return (
            f'<rect class="dot line-{number}" x="{x - DOT:.1f}" y="{y - DOT:.1f}" '
            f'width="{2 * DOT}" height="{2 * DOT}"/>'
        )
    return f'<circle class="dot line-0" cx="{x:.1f}" cy="{y:.1f}" r="{DOT}"/>'


def _text(x: float, y: float, words: str, anchor: str = "start", name: str = "word") -> str:
    place = f'x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"'
    return f'<text class="{name}" {place}>{escape(words)}</text>'
