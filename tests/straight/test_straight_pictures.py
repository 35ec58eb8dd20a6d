"""The edge as plain characters, and as a drawing that is read back from its SVG."""

import io
import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon, box
from svgelements import SVG, Path

from jiggen.drawing.shapes import Bounds
from jiggen.straight.chart import (
    LETTERS,
    MARGIN,
    NARROW,
    PAGE,
    ROWS,
    WIDE,
    Chart,
    Picture,
    plot_lines,
)
from jiggen.straight.judge import Judged, judge
from jiggen.straight.read import read_survey_text
from jiggen.straight.report import taken, why

BOW = "position (mm),height (mm)\n0,0\n150,0.3\n300,0.4\n450,0.3\n600,0\n"
TWO = "position (mm),front height (mm),rear height (mm)\n"
TWO += "0,0,0\n100,0.6,0.4\n200,0.5,\n300,0.3,-0.3\n400,0,0.1\n"


def judged(text: str, **options: str) -> Judged:
    """Return the verdict on a table."""
    return judge(read_survey_text(text, "edge.csv", options))


def field_of(lines: list[str]) -> list[str]:
    """Return what stands right of the axis, row by row."""
    return [line.partition("|")[2] for line in lines[:ROWS]]


@given(
    offs=st.lists(st.integers(-200, 200), min_size=3, max_size=80),
    width=st.integers(60, 100),
    unit=st.sampled_from(["mm", "in", "um"]),
    limit=st.sampled_from(["", "0.5", "40"]),
    on=st.sampled_from(["zone", "ends"]),
)
@settings(max_examples=60, deadline=None)
def test_the_plot_keeps_to_its_columns_and_shows_every_reading(
    offs: list[int], width: int, unit: str, limit: str, on: str
) -> None:
    """A plot that wraps, or loses a reading, shows a shape that is not there."""
    rows = "".join(f"{n * 10},{off * 0.01:.2f}\n" for n, off in enumerate(offs))
    found = judged(f"position (mm),height ({unit})\n{rows}", limit=limit, limit_on=on)
    lines = plot_lines(found, width)
    assert max(len(line) for line in lines) <= width
    assert all(line.isascii() and line.isprintable() for line in lines)
    picture, field = Picture(found), field_of(lines)
    columns = width - len(lines[0].partition("|")[0]) - 2
    first, last = picture.span
    for at, off in zip(picture.curves[0].at, picture.curves[0].off, strict=True):
        column = round((at - first) / (last - first) * (columns - 1))
        row = (1.0 - off / picture.reach) * (ROWS - 1) / 2.0
        # A reading halfway between two rows may stand on either.
        assert "o" in {field[round(row + e)].ljust(columns)[column] for e in (-1e-6, 1e-6)}


def test_the_plot_of_a_bow_has_its_summit_on_top_and_its_ends_at_the_bottom() -> None:
    """Upside down it would send the pins to the wrong side."""
    lines = plot_lines(judged(BOW, limit="0.6"), 70)
    with_marks = [row for row in field_of(lines) if "o" in row]
    assert [row.count("o") for row in with_marks] == [1, 2, 2]
    assert re.fullmatch(r" *0\.30 mm \|=+", lines[0])  # half of the limit on either side
    assert re.fullmatch(r" *-0\.30 mm \|=+", lines[ROWS - 1])
    assert re.fullmatch(r" *0\.0 mm +600\.0 mm", lines[ROWS + 1])
    key = "   ".join(lines[ROWS + 2 :])
    assert key.endswith("-- zone, 0.40 mm wide   == limit, 0.60 mm wide")


def test_two_lines_have_marks_of_their_own() -> None:
    """Which line is high is the direction of the twist."""
    lines = plot_lines(judged(TWO), 80)
    field = "".join(field_of(lines))
    assert field.count("*") == 1
    assert field.count("o") + field.count("*") == 5
    assert field.count("x") + field.count("*") == 4
    assert lines[ROWS + 2].startswith("o front   x rear   * both")


CASES = [
    (BOW, {"limit": "0.6", "step": "0.05"}),
    (BOW, {"limit": "0.1"}),
    (BOW, {"limit_on": "ends", "limit": "0.5"}),
    (BOW.replace("(mm)", "(in)"), {"limit": "0.3", "step": "1/64 in"}),
    (BOW, {"name": "W" * 80, "ways": f"{'m' * 24},{'w' * 24}", "step": "0.01", "over": "300"}),
    (BOW.replace("0.3", "0").replace("0.4", "0"), {}),
    (TWO, {"apart": "40", "twist_limit": "1", "limit": "0.2", "step": "0.02"}),
    (TWO, {"apart": "40", "datum": "each"}),
]


def chart(text: str, **options: str) -> Chart:
    """Return the chart of a table."""
    found = judged(text, **options)
    return Chart(found, [taken(found), *why(found)])


def rectangle(bounds: Bounds) -> Polygon:
    """Return a rectangle as shapely knows it."""
    return box(bounds.left, bounds.bottom, bounds.right, bounds.top)


@pytest.mark.parametrize(("text", "options"), CASES)
def test_no_word_of_the_chart_lies_on_another_on_a_line_or_off_the_page(
    text: str, options: dict[str, str]
) -> None:
    """A number with a line through it cannot be read in a cold workshop."""
    drawn = chart(text, **options)
    page = rectangle(PAGE.grown(0.5 - MARGIN / 2))
    words = [(text.text, rectangle(text.bounds())) for text in drawn.texts]
    assert len(words) > 10
    assert [word for word, here in words if not page.covers(here)] == []
    for number, (one, here) in enumerate(words):
        on_it = [other for other, there in words[number + 1 :] if here.overlaps(there)]
        assert on_it == [], one
    for stroke in drawn.strokes:
        line = LineString(stroke.points)
        assert page.covers(line)
        assert [word for word, here in words if line.crosses(here)] == []


@pytest.mark.parametrize(("text", "options"), CASES)
def test_readings_stand_on_the_chart_where_its_own_numbers_say(
    text: str, options: dict[str, str]
) -> None:
    """Read off the chart by its axes, a bow must be the one that was measured."""
    found, drawn = judged(text, **options), chart(text, **options)
    for curve in drawn.picture.curves:
        points, *marks = (s.points for s in drawn.strokes if s.part == curve.name)
        assert len(marks) == len(points)
        for at, off, point in zip(curve.at, curve.off, points, strict=True):
            assert drawn.place(float(at), float(off)) == pytest.approx(point, abs=1e-9)
    unit = 25.4 if found.survey.units == "in" else 1.0
    numbers = [t for t in drawn.texts if re.fullmatch(r"-?[\d.]+", t.text)]
    heights = [(float(t.text) * unit, t.at.y) for t in numbers if t.anchor.value == "end"]
    places = [(float(t.text) * unit, t.at.x) for t in numbers if t.anchor.value == "middle"]
    assert len(heights) >= 3
    assert len(places) >= 3
    for (mm, here), (more, there) in pairwise(heights):
        across = drawn.place(1.0, 0.0).x - drawn.place(0.0, 0.0).x
        assert (there - here) / (more - mm) == pytest.approx(drawn.exaggeration * across)
    for mm, x in places:
        assert drawn.place(mm, 0.0).x == pytest.approx(x)


def ends_of(data: str) -> list[tuple[float, float]]:
    """Return the points of path data, by a library that knows nothing of charts."""
    return [(float(p.x), float(p.y)) for p in Path(data).as_points()]


@pytest.mark.parametrize(
    ("text", "options", "zone", "limit", "span"),
    [
        (BOW, {"limit": "0.6"}, 0.4, 0.6, (0.0, 600.0)),
        (TWO, {"limit": "0.9", "apart": "40"}, 0.6, 0.9, (0.0, 400.0)),
        (BOW, {"limit": "0.5", "limit_on": "ends"}, 0.4, 1.0, (0.0, 600.0)),
        (BOW, {"limit": "0.2", "over": "300"}, 0.1, 0.2, (150.0, 450.0)),
    ],
)
def test_the_svg_draws_the_zone_and_the_limit_as_wide_as_they_are(
    text: str, options: dict[str, str], zone: float, limit: float, span: tuple[float, float]
) -> None:
    """A limit that is told and not drawn leaves the eye without a measure."""
    drawn = chart(text, **options)
    root = ElementTree.fromstring(drawn.svg())
    assert (root.get("width"), root.get("height")) == ("210mm", "148mm")
    parts = {g.get("id"): g for g in root.iter("{http://www.w3.org/2000/svg}g")}
    mm = drawn.place(0.0, 1.0).y - drawn.place(0.0, 0.0).y
    for name, width in (("zone", zone), ("limit", limit)):
        lower, upper, sample = (ends_of(path.get("d") or "") for path in parts[name])
        assert sample[0][1] == sample[1][1] > drawn.field.bottom
        for (x, low), (x2, high) in ((lower[0], upper[0]), (lower[-1], upper[-1])):
            assert x2 == pytest.approx(x, abs=0.002)
            assert (low - high) / mm == pytest.approx(width, abs=0.002 / mm)
        across = (lower[0][0], lower[-1][0])
        assert across == pytest.approx([drawn.place(at, 0.0).x for at in span], abs=0.002)
        said = next(t.text for t in drawn.texts if t.text.startswith(name))
        assert f"{width / 2 if 'either' in said else width:.2f} mm" in said.replace("0.100", "0.10")


def test_the_chart_says_its_name_once_in_four_heights_and_two_widths() -> None:
    """As the drawing language has it: 2.5, 3.5, 5 and 7; 0.5 and 0.25; black."""
    for text, options in CASES:
        drawn = chart(text, **options)
        assert {t.height for t in drawn.texts} <= set(LETTERS) == {2.5, 3.5, 5.0, 7.0}
        root = ElementTree.fromstring(drawn.svg())
        widths = {e.get("stroke-width") for e in root.iter() if e.get("stroke-width")}
        assert widths == {f"{WIDE:g}", f"{NARROW:g}"} == {"0.5", "0.25"}
        assert {e.get("stroke") for e in root.iter()} == {None, "#000000"}
        verdict, name, *_ = (t.text for t in drawn.texts)
        assert verdict == judged(text, **options).verdict.upper()
        assert [t.text for t in drawn.texts].count(name) == 1
    found = judge(read_survey_text(BOW, "straightness.csv"))
    drawn = Chart(found, [taken(found), *why(found)])
    said = [drawn.title, *(t.text for t in drawn.texts)]
    assert sum("straightness" in text.lower() for text in said[1:]) == 1
    assert said[0] == "straightness"


def test_an_outside_reader_finds_the_drawing_on_its_page() -> None:
    """Opened elsewhere it must come out as the page that was drawn."""
    for text, options in CASES:
        read = SVG.parse(io.BytesIO(chart(text, **options).svg()), ppi=25.4)
        left, top, right, bottom = read.bbox()
        assert (left, top) >= (MARGIN - 1.0, MARGIN - 1.0)
        assert right <= PAGE.right - MARGIN + 3.0
        assert bottom <= PAGE.top - MARGIN + 3.0
        assert (read.width, read.height) == pytest.approx((210.0, 148.0), abs=0.001)


@pytest.mark.parametrize(("text", "options"), CASES)
def test_the_plot_draws_zone_and_limit_too(text: str, options: dict[str, str]) -> None:
    """The terminal is where most people look."""
    lines = plot_lines(judged(text, **options), 80)
    field, key = "".join(field_of(lines)), " ".join(lines[ROWS + 2 :])
    assert "-- zone" in key
    assert "-" in field
    assert ("== limit" in key) == ("==" in field) == ("limit" in options)
