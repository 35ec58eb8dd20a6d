"""The plot of an edge for the screen: readings, zone and limit off a straight line, where to pin.

The same curves and strips as on the chart for the builder's log; looks are the style file's, so
that it goes dark with the page. Heights are drawn much larger than they are.
"""

from __future__ import annotations

from html import escape

from jiggen.straight.chart import Picture
from jiggen.straight.judge import Judged
from jiggen.straight.report import NamedBow, named_bows, place, say
from jiggen.straight.survey import spoken

WIDTH, HEIGHT = 640.0, 230.0
"""Of the picture, in its own units; it is scaled to the screen."""
LEFT, TOP, RIGHT, BOTTOM = 8.0, 10.0, 632.0, 220.0
"""Room of the curves."""
DOT = 4.5
"""Half the size of a reading's mark."""


def edge_plot(judged: Judged, sentence: str) -> str:
    """Return the plot: an SVG with its scale in words round it.

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

    parts = []
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
    parts.append(f'<path class="zero" d="M{LEFT} {y_of(0.0):.1f}H{RIGHT}"/>')
    for number, curve in enumerate(picture.curves):
        points = [
            (x_of(at), y_of(off))
            for at, off in zip(curve.at.tolist(), curve.off.tolist(), strict=True)
        ]
        line = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        parts.append(f'<path class="line line-{number}" d="M{line}"/>')
        parts += [_dot(x, y, number) for x, y in points]
    for bow in _pin(judged):
        parts.append(f'<path class="pin" d="M{x_of(bow.at):.1f} 0V{HEIGHT:g}"/>')
    up, down = judged.survey.ways
    reach, ends = say(judged, picture.reach), [place(judged, mm) for mm in picture.span]
    return (
        f'<figure class="edge-plot"><p>{escape(f"{reach} {up}")}</p>'
        f'<svg class="plot" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" '
        f'aria-label="{escape(sentence)}">{"".join(parts)}</svg>'
        f"<p>{escape(f'{reach} {down}')}</p>"
        f"<p><span>{escape(ends[0])}</span><span>{escape(ends[1])}</span></p></figure>"
    )


def _pin(judged: Judged) -> list[NamedBow]:
    """Return the bow at which to fasten first; none where there is no bow."""
    return named_bows(judged)[:1]


def legend(judged: Judged) -> list[tuple[str, str]]:
    """Return what the lines of the plot mean: the class of each, and its words."""
    picture = Picture(judged)
    curves = [(f"line-{n}", spoken(curve.name)) for n, curve in enumerate(picture.curves)]
    strips = [(strip.name, strip.words) for strip in picture.strips]
    pins = [("pin", f"pin first, at {place(judged, bow.at)}") for bow in _pin(judged)]
    return [*curves, *pins, *strips, ("zero", picture.about)]


def _dot(x: float, y: float, number: int) -> str:
    if number:
        return (
            f'<rect class="dot line-{number}" x="{x - DOT:.1f}" y="{y - DOT:.1f}" '
            f'width="{2 * DOT}" height="{2 * DOT}"/>'
        )
    return f'<circle class="dot line-0" cx="{x:.1f}" cy="{y:.1f}" r="{DOT}"/>'
