"""A page's own marks: bars, square, head and foot keep clear of each other and of the room."""

import math
from dataclasses import replace

import pytest
from jiggen.drawing.bars import calibration_bar, pair_room
from jiggen.drawing.table import flow, heading, paragraph, table
from shapely.geometry import box
from shapely_pieces import ink

from jiggen.drawing.page import PageWords, page_furniture, page_room
from jiggen.drawing.shapes import Text
from jiggen.errors import DoesNotFit
from jiggen.facts.papers import PAPERS

SIZES = [*PAPERS.values(), (297.0, 210.0), (279.4, 215.9), (300.0, 700.0)]
WORDS = PageWords(
    job="A rather long name of a job that a tidy builder might write down, and then some",
    number=3,
    count=12,
    caution="Eye protection. Clamp the work. Deburr; swarf is sharp.",
    card=85.60,
)


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]:.0f}x{s[1]:.0f}")
def test_furniture_stays_inside_the_margins_and_out_of_the_room(size):
    """Ink in the margin is not printed; ink in the room is cut."""
    width, height = size
    marks, _ = page_furniture(width, height, 10.0, WORDS)
    printable = box(10.0, 10.0, width - 10.0, height - 10.0).buffer(1e-6)
    r = page_room(width, height, 10.0)
    room = box(r.left, r.bottom, r.right, r.top)
    side = min(width, height) - 50
    for mark in marks:
        shape = ink(mark)
        assert printable.contains(shape), mark.shape
        # The two upper crosses stand beside the room, not in it.
        assert not room.buffer(-0.3).intersects(shape), mark.shape
    assert side > 0


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]:.0f}x{s[1]:.0f}")
def test_no_text_of_the_furniture_touches_anything(size):
    """A bar that is read wrong is worse than none."""
    marks, _ = page_furniture(*size, 10.0, WORDS)
    inks = [(m, ink(m)) for m in marks]
    for mark, shape in inks:
        if isinstance(mark.shape, Text):
            for other, more in inks:
                if other is not mark:
                    assert not shape.intersects(more), (mark.shape, other.shape)


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]:.0f}x{s[1]:.0f}")
def test_bars_and_square_measure_what_they_claim(size):
    """100 mm and 4 in along both axes, and a square whose diagonals are equal."""
    _, sizes = page_furniture(*size, 10.0, WORDS)
    found = {d.name: d for d in sizes}
    assert set(found) == {
        "bar-x",
        "bar-y",
        "bar-x-in",
        "bar-y-in",
        "diagonal-1",
        "diagonal-2",
        "square-x",
        "square-y",
    }
    for d in sizes:
        assert math.dist(d.start, d.end) == pytest.approx(d.nominal, abs=1e-9)
    assert found["bar-x"].nominal == found["bar-y"].nominal == 100.0
    assert found["bar-x-in"].nominal == pytest.approx(101.6)
    assert found["diagonal-1"].nominal == pytest.approx(math.sqrt(2) * found["square-x"].nominal)
    assert found["square-x"].nominal == found["square-y"].nominal >= 110.0
    assert found["bar-x"].start.y == found["bar-x"].end.y
    assert found["bar-y"].start.x == found["bar-y"].end.x


def test_paper_too_small_for_the_bars_is_refused():
    """A page without a bar proves nothing."""
    with pytest.raises(DoesNotFit) as caught:
        page_room(105.0, 148.0, 10.0)
    assert caught.value.key == "print.paper"


def test_flow_loses_no_strip_and_stays_in_the_room():
    """A table that runs off the page hides the last guide."""
    r = page_room(210.0, 297.0, 10.0)
    strips = (
        heading("One"),
        *paragraph("word " * 300, r.width),
        heading("Two"),
        *table(
            ["piece", "A-B", "A-D"], [[f"Guide {n}", "1.00", "2.00"] for n in range(90)], r.width
        ),
    )
    pages = flow(strips, r)
    assert len(pages) > 1
    assert sum(len(p) for p in pages) == sum(len(s.marks) for s in strips)
    room = box(r.left, r.bottom, r.right, r.top).buffer(1e-6)
    for page in pages:
        inks = [(m, ink(m)) for m in page]
        for mark, shape in inks:
            assert room.contains(shape), mark.shape
        texts = [s for m, s in inks if isinstance(m.shape, Text)]
        for k, one in enumerate(texts):
            assert not any(one.buffer(-0.05).intersects(o.buffer(-0.05)) for o in texts[k + 1 :])


def test_a_heading_is_never_left_alone_at_the_foot():
    """It belongs to what follows."""
    r = page_room(210.0, 297.0, 10.0)
    lines = paragraph("a", r.width)
    fill = int(r.height // lines[0].height) - 1
    pages = flow((*lines * fill, heading("Last"), *lines), r)
    assert any(m.shape.text == "Last" for m in pages[1] if isinstance(m.shape, Text))


def test_who_works_in_inches_is_told_what_to_measure_in_inches():
    """Half a millimetre is no mark on an inch rule."""
    foot = {}
    for units in ("mm", "in"):
        marks, _ = page_furniture(215.9, 279.4, 10.16, replace(WORDS, units=units))
        foot[units] = " / ".join(m.shape.text for m in marks if isinstance(m.shape, Text))
    assert "alike within 0.5 mm" in foot["mm"]
    assert "alike within 0.019 in" in foot["in"]
    assert "4 in within 0.008 in" in foot["in"]
    assert "within 0.5 mm" not in foot["in"]
    diagonal = foot["in"].split("D1-D1 and D2-D2: ")[1].split(" / ")[0]
    inches, mm = (float(part.split()[0]) for part in diagonal.split(", "))
    assert diagonal.split()[1] == "in,"
    assert inches == pytest.approx(mm / 25.4, abs=0.003)


def test_a_bar_that_its_name_would_fill_has_an_unbroken_line_below_the_name():
    """`1/2 in` in the gap of a short bar, a stub of line before it, was read as 1 1/2 in."""
    for label, length, whole in (
        ("1/2 in", 12.7, True),
        ("10 mm", 10.0, True),
        ("2 in", 50.8, False),
    ):
        marks, size = calibration_bar(label, length, (0.0, 0.0))
        (name,) = (m for m in marks if isinstance(m.shape, Text))
        lines = [m.shape.edges[0] for m in marks if not isinstance(m.shape, Text)]
        level = [e for e in lines if e.start.y == e.end.y]
        assert (len(level) == 1) == whole
        if whole:
            assert level[0].chord == pytest.approx(length)
            assert name.shape.bounds().bottom > level[0].start.y
        ticks = sorted(e.start.x for e in lines if e.start.x == e.end.x)
        assert ticks == pytest.approx([size.start.x, size.end.x])
        assert ticks[1] - ticks[0] == pytest.approx(length)
        top = max(m.bounds().top for m in marks)
        low = min(m.bounds().bottom for m in marks)
        assert top - low <= pair_room() / 2
