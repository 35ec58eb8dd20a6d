"""The SVG reader against the specification's rules and against svgelements, a third reader."""

import io
import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from svgelements import SVG, Close, Move
from svgelements import Path as SvgPath

from jiggen.errors import DrawingFileError
from jiggen.remeasure.limits import Budget
from jiggen.remeasure.page import deviation
from jiggen.remeasure.shapes import OFF
from jiggen.remeasure.svg import read_svg, transform_matrix

PAGE = 'width="210mm" height="297mm" viewBox="0 0 210 297"'


def svg(body: str, page: str = PAGE) -> bytes:
    """Return a document round some elements."""
    return f'<svg xmlns="http://www.w3.org/2000/svg" {page}>{body}</svg>'.encode()


def nodes(body: str, page: str = PAGE) -> list[tuple[float, float]]:
    """Return the corners of the only line in a document."""
    (contour,) = read_svg(svg(body, page)).pages[0].contours
    return [(round(x, 9), round(y, 9)) for x, y in contour.nodes]


def by_svgelements(data: bytes) -> list[list[tuple[float, float]]]:
    """Return every path as many points in mm, y up, by another reader."""
    document = SVG.parse(io.BytesIO(data), ppi=96.0)
    height = float(document.height)
    walks = []
    for element in document.elements():
        if isinstance(element, SvgPath):
            walk = []
            for segment in element:
                steps = 1 if isinstance(segment, Move | Close) else 40
                for step in range(1, steps + 1):
                    p = segment.point(step / steps) if steps > 1 else segment.end
                    walk.append((p.x * 25.4 / 96, (height - p.y) * 25.4 / 96))
            walks.append(walk)
    return walks


def farthest(data: bytes) -> float:
    """Return how far our walks run from the places that svgelements finds, mm."""
    walks = [contour.walk.tolist() for contour in read_svg(data).pages[0].contours]
    places = [place for theirs in by_svgelements(data) for place in theirs]
    assert len(places) > 2
    return max(min(_to_walk(place, walk) for walk in walks) for place in places)


def _to_walk(p: tuple[float, float], walk: list[list[float]]) -> float:
    best = math.inf
    for (ax, ay), (bx, by) in pairwise(walk):
        dx, dy = bx - ax, by - ay
        square = dx * dx + dy * dy or 1e-30
        t = min(1.0, max(0.0, ((p[0] - ax) * dx + (p[1] - ay) * dy) / square))
        best = min(best, math.hypot(p[0] - ax - t * dx, p[1] - ay - t * dy))
    return best


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        # The equivalences of SVG 1.1, 8.3 (from memory): implicit lines, relative, H and V, no
        # blanks where none are needed.
        ("M 10 20 L 30 20 L 30 50", [(10, 277), (30, 277), (30, 247)]),
        ("m 10 20 20 0 0 30", [(10, 277), (30, 277), (30, 247)]),
        ("M10,20 30 20,30,50", [(10, 277), (30, 277), (30, 247)]),
        ("M10 20H30V50", [(10, 277), (30, 277), (30, 247)]),
        ("M10 20h20v30", [(10, 277), (30, 277), (30, 247)]),
        ("M10-20l.5.5-1e1-0", [(10, 317), (10.5, 316.5), (0.5, 316.5)]),
    ],
)
def test_every_spelling_of_a_line_is_the_same_line(
    data: str, expected: list[tuple[float, float]]
) -> None:
    """Programs write paths as short as they can; a lost sign is a lost edge."""
    assert nodes(f'<path d="{data}"/>') == expected


@pytest.mark.parametrize(
    "data",
    [
        "M 20 30 C 40 10 60 90 80 40 S 120 10 140 60",
        "m 20 30 c 20 -20 40 60 60 10 s 40 -30 60 20 z",
        "M 20 30 Q 60 90 80 40 T 120 60 T 150 20",
        "m 20 30 q 40 60 60 10 t 40 20 t 30 -40",
        "M 20 30 S 60 90 80 40",
        "M 20 30 T 60 90",
        "M 50 60 A 30 20 25 0 0 90 80",
        "M 50 60 A 30 20 25 0 1 90 80",
        "M 50 60 A 30 20 25 1 0 90 80",
        "M 50 60 A 30 20 25 1 1 90 80 Z",
        "M 50 60 a 30 20 25 1140 20",
        "M 50 60 A 3 2 70 0 1 90 80",
        "M 50 60 L 60 60 Z l 5 5 Z m 40 40 l 10 0 l 0 10 z",
        "M 5 5 L 10 10 M 20 20 L 30 20 L 30 30 Z",
    ],
)
def test_every_command_runs_where_another_reader_sees_it(data: str) -> None:
    """An arc that is read the wrong way round measures a bay where there is a nose."""
    assert farthest(svg(f'<path d="{data}"/>')) < 2e-3


@given(
    rx=st.floats(5, 60),
    ry=st.floats(5, 60),
    turn=st.floats(-180, 180),
    large=st.integers(0, 1),
    sweep=st.integers(0, 1),
    end=st.tuples(st.floats(20, 180), st.floats(20, 180)),
)
@settings(max_examples=40, deadline=None)
def test_any_arc_runs_where_another_reader_sees_it(
    rx: float, ry: float, turn: float, large: int, sweep: int, end: tuple[float, float]
) -> None:
    """The four arcs through two points differ in two flags only."""
    if math.dist(end, (100, 100)) < 1:
        end = (150.0, 100.0)
    # svgelements compares the radii with the chord after rounding; keep off the half turn.
    data = f"M 100 100 A {rx:.3f} {ry:.3f} {turn:.2f} {large} {sweep} {end[0]:.3f} {end[1]:.3f}"
    assert farthest(svg(f'<path d="{data}"/>')) < 5e-3


@pytest.mark.parametrize(
    "transform",
    [
        "translate(5 7)",
        "translate(5)",
        "scale(2)",
        "scale(2,-3)",
        "rotate(30)",
        "rotate(30, 40, 50)",
        "skewX(20)",
        "skewY(-10)",
        "matrix(1 0.2 -0.3 1.1 4 5)",
        "translate(3,4) rotate(20) scale(1.5 0.5)",
    ],
)
def test_every_transform_of_a_group_is_followed(transform: str) -> None:
    """A program that scales writes a transform and leaves the path as it was."""
    # Without arcs: the other reader bends them when a transform stretches one way (seen here).
    path = '<path d="M 20 30 L 80 30 C 90 40 90 60 60 70 Z" transform="rotate(3)"/>'
    assert farthest(svg(f'<g transform="{transform}"><g>{path}</g></g>')) < 2e-3


def test_an_arc_under_a_transform_is_the_transform_of_the_arc() -> None:
    """A circle that is stretched one way is an ellipse, and its corners go where points go."""
    path = '<path d="M 20 30 A 12 12 0 0 1 60 70 Z"/>'
    stretched = svg(f'<g transform="matrix(1 0.2 -0.3 1.1 4 5)">{path}</g>')
    (plain,) = read_svg(svg(path)).pages[0].contours
    (found,) = read_svg(stretched).pages[0].contours
    # With y up from the bottom of a page of 297 mm.
    wanted = plain.through((1, -0.2, 0.3, 1.1, 4 - 0.3 * 297, 297 - 5 - 1.1 * 297))
    assert deviation(found, wanted, Budget())[0] < 1e-3
    assert found.area == pytest.approx(plain.area * (1.1 + 0.06), rel=1e-4)


def test_a_transform_that_is_not_known_is_named() -> None:
    """A scale that is passed over in silence is the very fault that is looked for."""
    with pytest.raises(ValueError, match="rotate3d"):
        transform_matrix("rotate3d(1 2 3)")
    found = read_svg(svg('<g transform="twist(3)"><path d="M0 0L9 9"/></g>')).findings
    assert [f.severity for f in found] == [OFF]
    assert "twist" in found[0].text


@pytest.mark.parametrize(
    ("page", "mm"),
    [
        # CSS 2.1, 4.3.2 (from memory): 1 in = 2.54 cm = 96 px = 72 pt = 6 pc.
        ('width="100mm" height="100mm" viewBox="0 0 100 100"', 1.0),
        ('width="10cm" height="10cm" viewBox="0 0 100 100"', 1.0),
        ('width="10in" height="10in" viewBox="0 0 100 100"', 2.54),
        ('width="72pt" height="72pt" viewBox="0 0 100 100"', 0.254),
        ('width="6pc" height="6pc" viewBox="0 0 100 100"', 0.254),
        ('width="96px" height="96px" viewBox="0 0 100 100"', 0.254),
        ('width="96" height="96" viewBox="0 0 100 100"', 0.254),
        ('width="400Q" height="400Q" viewBox="0 0 100 100"', 1.0),
        ('width="100mm" height="100mm"', 25.4 / 96),
        ('width="200mm" height="100mm" viewBox="0 0 100 100"', 1.0),
    ],
)
def test_a_user_unit_is_worth_what_page_and_viewbox_say(page: str, mm: float) -> None:
    """The scale of the whole drawing hangs on two attributes of the first element."""
    (contour,) = read_svg(svg('<path d="M 10 10 L 60 10"/>', page)).pages[0].contours
    assert math.dist(*contour.nodes) == pytest.approx(50 * mm, rel=1e-12)


@pytest.mark.parametrize(
    ("ratio", "expected"),
    [
        # A box of 100 x 100 on a page of 200 x 100 mm; y is counted from the bottom here.
        ("", [(60, 90), (100, 90)]),
        ("xMinYMin", [(10, 90), (50, 90)]),
        ("xMaxYMid meet", [(110, 90), (150, 90)]),
        ("none", [(20, 90), (100, 90)]),
        ("xMidYMin slice", [(20, 80), (100, 80)]),
        ("xMidYMid slice", [(20, 130), (100, 130)]),
    ],
)
def test_a_page_of_another_shape_is_filled_as_it_asks(
    ratio: str, expected: list[tuple[float, float]]
) -> None:
    """A page of the wrong shape may stretch a guide along x alone."""
    page = 'width="200mm" height="100mm" viewBox="0 0 100 100"'
    page += f' preserveAspectRatio="{ratio}"' if ratio else ""
    assert nodes('<path d="M 10 10 L 50 10"/>', page) == expected


@pytest.mark.parametrize(
    "page", ['viewBox="0 0 50 50"', 'width="100%" height="100%" viewBox="0 0 50 50"', ""]
)
def test_a_page_without_a_size_is_off(page: str) -> None:
    """Every program then chooses its own scale."""
    found = read_svg(svg('<path d="M 10 10 L 60 10"/>', page)).findings
    assert any("states no size" in f.text and f.severity == OFF for f in found)


def test_shapes_run_where_the_same_paths_run() -> None:
    """A program may turn a hole's path into a circle, or a tick into a rect, and back."""
    shapes = (
        '<circle cx="50" cy="60" r="12.5"/><ellipse cx="90" cy="60" rx="20" ry="8"/>'
        '<rect x="10" y="100" width="40" height="30" rx="5" ry="7"/>'
        '<rect x="60" y="100" width="40" height="30"/>'
        '<polygon points="10,150 50,150 50,180"/>'
    )
    paths = (
        '<path d="M 62.5 60 A 12.5 12.5 0 0 1 37.5 60 A 12.5 12.5 0 0 1 62.5 60 Z"/>'
        '<path d="M 110 60 A 20 8 0 0 1 70 60 A 20 8 0 0 1 110 60 Z"/>'
        '<path d="M 15 100 H 45 A 5 7 0 0 1 50 107 V 123 A 5 7 0 0 1 45 130 H 15 A 5 7 0 0 1 10 123'
        ' V 107 A 5 7 0 0 1 15 100 Z"/>'
        '<path d="M 60 100 H 100 V 130 H 60 Z"/><path d="M 10 150 L 50 150 L 50 180 Z"/>'
    )
    ones = read_svg(svg(shapes)).pages[0].contours
    others = read_svg(svg(paths)).pages[0].contours
    assert len(ones) == len(others) == 5
    for one, other in zip(ones, others, strict=True):
        assert one.closed
        assert one.area == pytest.approx(other.area)
        assert deviation(one, other, Budget())[0] < 1e-9


def test_lines_and_open_rows_of_points_stay_open() -> None:
    """A tick of a bar is a line of two ends."""
    body = '<line x1="1" y1="2" x2="3" y2="4"/><polyline points="1 2 3 4 9 4"/>'
    contours = read_svg(svg(body)).pages[0].contours
    assert [(c.closed, len(c.nodes)) for c in contours] == [(False, 2), (False, 3)]


def test_what_is_used_is_drawn_and_what_is_defined_is_not() -> None:
    """A copy that is drawn by reference is cut like any other."""
    body = (
        '<defs><path id="a" d="M 0 0 L 10 0"/><clipPath id="c"><path d="M0 0H9V9Z"/></clipPath>'
        '<symbol id="s"><path d="M0 0H9V9Z"/></symbol></defs>'
        '<use href="#a" x="5" y="7" transform="scale(2)"/><use href="#s"/><use href="#nothing"/>'
    )
    assert nodes(body) == [(10, 283), (30, 283)]


def test_a_drawing_that_uses_itself_comes_to_an_end() -> None:
    """A damaged file must not hang the check, nor show a cut line several times over.

    Source: SVG 2, 5.6: a use element that refers to what it stands in is not drawn. From memory.
    """
    inside = '<g id="a"><path d="M0 0L9 0"/><use href="#a"/></g>'
    round_about = (
        '<g id="a"><path d="M0 0L9 0"/><use href="#b"/></g>'
        '<defs><g id="b"><path d="M0 5L9 5"/><use href="#a"/></g></defs>'
    )
    assert len(read_svg(svg(inside)).pages[0].contours) == 1
    assert len(read_svg(svg(round_about)).pages[0].contours) == 2
    twice = '<path id="a" d="M0 0L9 0"/><use href="#a" y="1"/><use href="#a" y="2"/>'
    assert len(read_svg(svg(twice)).pages[0].contours) == 3


def test_a_nested_page_is_followed() -> None:
    """Programs that arrange sheets put one page into another."""
    body = (
        '<svg x="10" y="20" width="50" height="50" viewBox="0 0 100 100"><path d="M0 0H100"/></svg>'
    )
    assert nodes(body) == [(10, 277), (60, 277)]


def test_what_is_hidden_is_not_measured() -> None:
    """A hidden outline is not cut."""
    body = '<g display="none"><path d="M0 0L9 0"/></g>'
    assert read_svg(svg(body)).pages[0].contours == ()


@pytest.mark.parametrize(
    "data",
    [
        *("M 0 0 L 5", "L 5 5", "M 0 0 L a 5", "M 0 0 Z 4", "M 0 0 X 5 5", "M 0 0 L 1 1 1"),
        # Without its last number the arc to (90, 80) was read as another one, to (9, 0).
        *("M 50 60 A 30 20 25 0 0 90", "M 50 60 a 30 20 25 0090", "M 50 60 A 30 20 25 0 2 9 0"),
    ],
)
def test_a_damaged_path_is_refused(data: str) -> None:
    """A path that ends early is a cut that ends early."""
    with pytest.raises(DrawingFileError, match=r"path 'a' cannot be read .*copy it again"):
        read_svg(svg(f'<path id="a" d="{data}"/>'))


@pytest.mark.parametrize(
    "data", [b"<svg", b"<html/>", b"<?xml version='1.0'?>", b"<svg>\xff</svg>"]
)
def test_what_is_no_svg_is_refused(data: bytes) -> None:
    """A download that failed must not pass for a drawing with nothing wrong."""
    with pytest.raises(DrawingFileError):
        read_svg(data)


def test_the_corners_of_a_rect_are_never_rounder_than_half_its_side() -> None:
    """A plate with asked-for corners larger than itself would be measured inside out.

    Source: SVG 1.1, 9.2 (from memory): rx and ry are held to half of width and height.
    """
    rect = '<rect x="10" y="10" width="20" height="10" rx="8" ry="8"/>'
    (contour,) = read_svg(svg(rect)).pages[0].contours
    # Four quarters of an ellipse of 8 x 5 are missing from their boxes: derived.
    assert abs(contour.area) == pytest.approx(200.0 - (4.0 - math.pi) * 8.0 * 5.0, abs=0.02)
