"""The edge as plain characters, and as a drawing that is read back from SVG and PDF."""

import io
import re
from itertools import pairwise
from xml.etree import ElementTree

import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon, box

from jiggen.drawing.shapes import Bounds, Circle, Op, Path, Text
from jiggen.straight.chart import MARGIN, PAGE, chart_bytes, chart_sheet, exaggeration, place_on
from jiggen.straight.curves import picture_of
from jiggen.straight.judge import Judged, judge
from jiggen.straight.plot import ROWS, plot_lines
from jiggen.straight.read import read_survey_text

BOW = "position (mm),deviation (mm)\n0,0\n150,0.3\n300,0.4\n450,0.3\n600,0\n"
TWO = "position (mm),front (mm),rear (mm)\n0,0,0\n100,0.6,0.4\n200,0.5,\n300,0.3,-0.3\n400,0,0.1\n"


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
@settings(max_examples=60)
def test_the_plot_keeps_to_its_columns_and_shows_every_reading(
    offs: list[int], width: int, unit: str, limit: str, on: str
) -> None:
    """A plot that wraps, or loses a reading, shows a shape that is not there."""
    rows = "".join(f"{n * 10},{off * 0.01:.2f}\n" for n, off in enumerate(offs))
    found = judged(f"position (mm),deviation ({unit})\n{rows}", limit=limit, limit_on=on)
    lines = plot_lines(found, width)
    assert max(len(line) for line in lines) <= width
    assert all(line.isascii() and line.isprintable() for line in lines)
    picture, field = picture_of(found), field_of(lines)
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
    assert "".join(lines[ROWS + 2 :]).endswith("- - zone   === limit")


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


def rectangle(bounds: Bounds) -> Polygon:
    """Return a rectangle as shapely knows it."""
    return box(bounds.left, bounds.bottom, bounds.right, bounds.top)


@pytest.mark.parametrize(("text", "options"), CASES)
def test_no_word_of_the_chart_lies_on_another_on_a_line_or_off_the_page(
    text: str, options: dict[str, str]
) -> None:
    """A number with a line through it cannot be read in a cold workshop."""
    sheet = chart_sheet(judged(text, **options))
    page = Bounds(MARGIN / 2, MARGIN / 2, PAGE[0] - MARGIN / 2, PAGE[1] - MARGIN / 2)
    assert all(page.contains(mark.bounds()) for mark in sheet.marks)
    texts = [m.shape for m in sheet.marks if isinstance(m.shape, Text)]
    words = [(text.text, rectangle(text.bounds())) for text in texts]
    assert len(words) > 10
    for number, (one, here) in enumerate(words):
        on_it = [other for other, there in words[number + 1 :] if here.overlaps(there)]
        assert on_it == [], one
    for path in (m.shape for m in sheet.marks if isinstance(m.shape, Path)):
        line = LineString([path.edges[0].start, *(edge.end for edge in path.edges)])
        assert [word for word, here in words if line.crosses(here)] == []


@pytest.mark.parametrize(("text", "options"), CASES)
def test_readings_stand_on_the_chart_where_its_own_numbers_say(
    text: str, options: dict[str, str]
) -> None:
    """Read off the chart by its axes, a bow must be the one that was measured."""
    found = judged(text, **options)
    sheet, picture = chart_sheet(found), picture_of(found)
    drawn = [m.shape.centre for m in sheet.marks if isinstance(m.shape, Circle)]
    for at, off in zip(picture.curves[0].at, picture.curves[0].off, strict=True):
        where = place_on(picture, float(at), float(off))
        assert any(where == pytest.approx(centre, abs=1e-9) for centre in drawn)
    numbers = [
        (m.shape.text, m.shape.anchor.value, m.shape.at)
        for m in sheet.marks
        if isinstance(m.shape, Text) and re.fullmatch(r"-?[\d.]+", m.shape.text)
    ]
    unit = 25.4 if found.survey.units == "in" else 1.0
    heights = [(float(word) * unit, at.y) for word, anchor, at in numbers if anchor == "end"]
    places = [(float(word) * unit, at.x) for word, anchor, at in numbers if anchor == "middle"]
    assert len(heights) >= 3
    assert len(places) >= 3
    for (mm, here), (more, there) in pairwise(heights):
        across = place_on(picture, 1.0, 0.0).x - place_on(picture, 0.0, 0.0).x
        assert (there - here) / (more - mm) == pytest.approx(exaggeration(picture) * across)
    for mm, x in places:
        assert place_on(picture, mm, 0.0).x == pytest.approx(x)


def test_the_svg_is_its_page_in_mm_and_holds_zone_and_limit_in_groups() -> None:
    """Opened elsewhere it must come out as the page that was drawn."""
    found = judged(BOW, limit="0.6")
    root = ElementTree.fromstring(chart_bytes(found, "svg"))
    assert (root.get("width"), root.get("height")) == ("210mm", "148mm")
    groups = {
        g.get("id"): g for g in root.iter() if g.tag.endswith("}g") and g.get("id") is not None
    }
    said = {e.get("data-text") for e in groups["ENGRAVE"] if e.get("data-text")}
    assert {"WITHIN THE LIMIT", "Straightness: edge", "minimum zone", "limit"} <= said
    assert len(groups["SCORE"]) > 20  # the limit's dashes
    heights = {
        round(float(y), 3)
        for path in groups["SCORE"]
        for y in re.findall(r"[ML] [-\d.]+ ([-\d.]+)", path.get("d") or "")
    }
    picture = picture_of(found)
    for sign in (1, -1):
        wanted = PAGE[1] - place_on(picture, 0.0, sign * 0.3).y
        assert min(abs(y - wanted) for y in heights) < 1e-3


def test_the_pdf_is_one_page_that_says_the_verdict() -> None:
    """It goes into the builder's log."""
    with pikepdf.open(io.BytesIO(chart_bytes(judged(BOW, limit="0.1"), "pdf"))) as pdf:
        assert len(pdf.pages) == 1
        box = [float(v) * 25.4 / 72.0 for v in pdf.pages[0].MediaBox]
        assert box == pytest.approx([0.0, 0.0, 210.0, 148.0], abs=1e-3)
        assert pdf.docinfo["/Title"] == "edge: straightness"
    assert chart_bytes(judged(BOW), "pdf") == chart_bytes(judged(BOW), "pdf")


def test_nothing_of_the_chart_is_cut() -> None:
    """A machine that is handed the chart must have nothing to cut."""
    for text, options in CASES:
        assert all(m.op is not Op.CUT for m in chart_sheet(judged(text, **options)).marks)
