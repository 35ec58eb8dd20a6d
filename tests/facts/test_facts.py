import re

import pytest

from jiggen.facts import bushings, drills, papers, rivets, rules
from jiggen.facts.drills import letter_drill, number_drill, read_drill
from jiggen.units import UnitError


@pytest.mark.parametrize(
    ("given", "mm", "name"),
    [
        ("#40", 2.4892, "#40"),
        ("# 40", 2.4892, "#40"),
        ("No. 40", 2.4892, "#40"),
        ("number 40", 2.4892, "#40"),
        ("letter F", 6.5278, "letter F"),
        ("Letter f", 6.5278, "letter F"),
        ("1/8 in", 3.175, "1/8 in"),
        ("2.5 mm", 2.5, "2.5 mm"),
        (2.5, 2.5, "2.5 mm"),
    ],
)
def test_a_drill_is_read_as_the_shop_calls_it(given, mm, name):
    """The name goes on the piece, and the hand takes the drill that it names."""
    drill = read_drill(given, "mm")
    assert (mm, name) == (drill.diameter, drill.name)


def test_a_size_that_no_drill_has_is_not_offered():
    """No hand drill is 40 mm wide: offering it makes the builder doubt the sheet."""
    with pytest.raises(UnitError) as trouble:
        read_drill("40", "mm")
    assert "mm" not in str(trouble.value)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("F", 'write "letter F"'),
        ("40", 'write "#40"'),
        ("3", 'write "#3" or "3 mm"'),
        ("#61", "1 to 60"),
        ("#0", "1 to 60"),
        ("#-3", "not a drill"),
        ("letter FF", "not a drill"),
        ("", "empty"),
        ("drill", "not a drill"),
        (0, "from 0.2 to 32 mm"),
        (60, "from 0.2 to 32 mm"),
        (True, "not a drill"),
        ({}, "not a drill"),
    ],
)
def test_what_is_no_drill_is_refused_with_what_would_do(given, said):
    """40 may be a number drill or 40 mm: the wrong one ruins the part."""
    with pytest.raises(UnitError, match=re.escape(said)):
        read_drill(given, "mm")


def test_number_drills_get_smaller_and_the_largest_is_under_letter_a():
    """A slipped row in the table would send the hand to the wrong drill."""
    sizes = [number_drill(number) for number in range(1, 61)]
    assert sizes == sorted(set(sizes), reverse=True)
    assert sizes[0] < letter_drill("A")


def test_letter_drills_get_larger():
    """The same for the letters."""
    sizes = [letter_drill(letter) for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ"]
    assert sizes == sorted(set(sizes))


@pytest.mark.parametrize("letter", ["", "AB", "\N{LATIN SMALL LETTER SHARP S}", "1"])
def test_a_letter_that_is_no_drill_is_refused(letter):
    """Letters outside A to Z would otherwise count from the wrong end of the table."""
    with pytest.raises(UnitError, match="letter drill"):
        letter_drill(letter)


def test_papers_stand_upright():
    """A sheet that lies on its side would be printed with its edge cut off."""
    assert all(width < height for width, height in papers.PAPERS.values())


def test_every_table_says_where_it_comes_from():
    """A number without a source cannot be doubted by the one who must answer for it."""
    sources = [papers.SOURCE]
    for table in (rules, rivets, drills, bushings):
        sources += [text for name, text in vars(table).items() if "SOURCE" in name]
    assert len(sources) == 35
    words = ("(read", "from memory", "derived geometry", "common practice")
    assert not [text for text in sources if not any(word in text for word in words)]


def test_a_rivet_between_the_rows_has_no_least_sheet():
    """The table must not be stretched to sizes that it does not hold."""
    assert rules.countersink_min_sheet(2.8) is None
