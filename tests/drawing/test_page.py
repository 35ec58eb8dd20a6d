"""The check figure of a page: what it should be on each paper, and where there is room for it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jiggen.drawing.page import ABOVE, BELOW, BESIDE, Paper, figure_of, figure_sizes
from jiggen.errors import DoesNotFit

#: Sides and diagonal by paper, in mm and in inches: the table of the drawing language (own choice;
#: 3, 4, 5 is the oldest right angle that there is).
TABLE = {
    "a5": ((148.0, 210.0), (120, 160, 200), (4.2, 5.6, 7)),
    "a4": ((210.0, 297.0), (180, 240, 300), (6.6, 8.8, 11)),
    "a4 landscape": ((297.0, 210.0), (208, 156, 260), (8.0, 6.0, 10)),
    "a3": ((297.0, 420.0), (264, 352, 440), (10.2, 13.6, 17)),
    "letter": ((215.9, 279.4), (168, 224, 280), (6.6, 8.8, 11)),
    "letter landscape": ((279.4, 215.9), (208, 156, 260), (8.8, 6.6, 11)),
    "tabloid": ((279.4, 431.8), (240, 320, 400), (9.6, 12.8, 16)),
}


def paper(size: tuple[float, float], units: str = "mm") -> Paper:
    return Paper(width=size[0], height=size[1], name="x", margin=10.0, units=units, job="Tab edge")


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", TABLE)
def test_the_figure_of_each_paper_is_that_of_the_table(name: str, units: str) -> None:
    """Everybody measures one length that ends on a long mark of the rule."""
    size, in_mm, in_inches = TABLE[name]
    unit, wanted = (25.4, in_inches) if units == "in" else (1.0, in_mm)
    figure = figure_of(paper(size, units))
    found = (figure.box.width / unit, figure.box.height / unit, figure.diagonal / unit)
    assert found == pytest.approx(wanted, abs=1e-9)
    assert figure.said == f"{wanted[2]} {units}"
    assert figure.bar == pytest.approx(101.6 if units == "in" else 100.0)


@given(st.floats(60, 500), st.floats(60, 500), st.sampled_from(["mm", "in"]))
def test_a_figure_measures_what_it_claims_and_lies_on_its_page_or_the_paper_is_refused(
    width: float, height: float, units: str
) -> None:
    """A figure that runs off the paper, or that is too small to tell, proves nothing."""
    unit, least, step = (25.4, 6, 1) if units == "in" else (1.0, 160, 20)
    across, up = (3, 4) if height >= width else (4, 3)
    if across * least * unit / 5 > width - BESIDE + 1e-6 or (
        up * least * unit / 5 > height - ABOVE - BELOW + 1e-6
    ):
        with pytest.raises(DoesNotFit) as refused:
            figure_of(paper((width, height), units))
        assert refused.value.key == "print.paper"
        return
    figure = figure_of(paper((width, height), units))
    diagonal = figure.diagonal / unit
    assert diagonal > least - 1e-9
    assert diagonal / step == pytest.approx(round(diagonal / step), abs=1e-9)
    box = figure.box
    assert box.left >= 8.0
    assert box.right <= width - 8.0
    assert box.bottom >= BELOW - 1e-9
    assert box.top == pytest.approx(height - ABOVE)
    sizes = {size.name: size for size in figure_sizes(figure)}
    assert set(sizes) == {"bar-x", "bar-y", "diagonal-1", "diagonal-2", "side-x", "side-y"}
    for size in sizes.values():
        assert math.dist(size.start, size.end) == pytest.approx(size.nominal, abs=1e-9)
    # Sides that are alike could be read one for the other.
    assert min(sizes["side-x"].nominal, sizes["side-y"].nominal) == pytest.approx(
        0.75 * max(sizes["side-x"].nominal, sizes["side-y"].nominal)
    )
    assert sizes["bar-x"].start.y == sizes["bar-x"].end.y == box.bottom
    assert sizes["bar-y"].start.x == sizes["bar-y"].end.x == box.right
