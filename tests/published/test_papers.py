"""Paper sizes against an independent copy.

Source: ISO 216 sizes as in the data of the papersize package, and 8.5 x 11, 11 x 17 in (status:
READ); A5, A2 and legal as in the LilyPond notation manual A.5 and the JavaFX Paper class (READ).
"""

import pytest

from jiggen.facts.papers import PAPERS

MM = {"a5": (148, 210), "a4": (210, 297), "a3": (297, 420), "a2": (420, 594)}
INCHES = {"letter": (8.5, 11), "legal": (8.5, 14), "tabloid": (11, 17)}


@pytest.mark.parametrize("name", MM)
def test_an_iso_sheet_has_its_published_size(name):
    """A sheet wrong by a millimetre makes the printer scale the page."""
    assert MM[name] == PAPERS[name]


@pytest.mark.parametrize("name", INCHES)
def test_an_inch_sheet_has_its_published_size(name):
    """The same for Letter, Legal and Tabloid."""
    assert PAPERS[name] == pytest.approx([side * 25.4 for side in INCHES[name]], abs=1e-12)


def test_no_paper_is_listed_without_a_published_size():
    """A size added to the list must bring its source."""
    assert set(PAPERS) == {*MM, *INCHES}


@pytest.mark.parametrize(
    ("name", "points"), [("a4", (595.276, 841.890)), ("letter", (612.0, 792.0))]
)
def test_paper_sizes_in_points(name, points):
    """Source: arithmetic with 1/72 in (status: DERIVED); tolerance 0.001 pt."""
    assert [side / 25.4 * 72 for side in PAPERS[name]] == pytest.approx(points, abs=1e-3)


@pytest.mark.parametrize(("small", "large"), [("a5", "a4"), ("a4", "a3"), ("a3", "a2")])
def test_half_an_iso_sheet_is_the_next_size(small, large):
    """Source: ISO 216, the halving rule, rounded down to whole mm (from memory)."""
    width, height = PAPERS[large]
    assert PAPERS[small] == (height // 2, width)
