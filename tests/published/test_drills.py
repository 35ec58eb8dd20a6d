"""Twist drills against an independent copy of the tables.

Source: names of ASME B94.11M (the standard itself not read); values read in two independent code
files and in part in a public-domain chart of 2007 (status: READ).
"""

import pytest

from jiggen.facts.drills import letter_drill, number_drill, read_drill

NUMBERS = """
1 .2280  2 .2210  3 .2130  4 .2090  5 .2055  6 .2040  7 .2010  8 .1990  9 .1960  10 .1935
11 .1910 12 .1890 13 .1850 14 .1820 15 .1800 16 .1770 17 .1730 18 .1695 19 .1660 20 .1610
21 .1590 22 .1570 23 .1540 24 .1520 25 .1495 26 .1470 27 .1440 28 .1405 29 .1360 30 .1285
31 .1200 32 .1160 33 .1130 34 .1110 35 .1100 36 .1065 37 .1040 38 .1015 39 .0995 40 .0980
41 .0960 42 .0935 43 .0890 44 .0860 45 .0820 46 .0810 47 .0785 48 .0760 49 .0730 50 .0700
51 .0670 52 .0635 53 .0595 54 .0550 55 .0520 56 .0465 57 .0430 58 .0420 59 .0410 60 .0400
"""
LETTERS = """
A .234 B .238 C .242 D .246 E .250 F .257 G .261 H .266 I .272 J .277 K .281 L .290 M .295
N .302 O .316 P .323 Q .332 R .339 S .348 T .358 U .368 V .377 W .386 X .397 Y .404 Z .413
"""


def pairs(table):
    words = table.split()
    return [*zip(words[::2], map(float, words[1::2]), strict=True)]


@pytest.mark.parametrize(("number", "inches"), pairs(NUMBERS))
def test_a_number_drill_has_its_published_diameter(number, inches):
    """#5, #10, #18, #25 and #28 are rounded to .001 in in a table that is in wide use."""
    assert number_drill(int(number)) == pytest.approx(inches * 25.4, abs=1e-12)


@pytest.mark.parametrize(("letter", "inches"), pairs(LETTERS))
def test_a_letter_drill_has_its_published_diameter(letter, inches):
    """Letter F is the drill for a 1/4 rivet."""
    assert letter_drill(letter) == pytest.approx(inches * 25.4, abs=1e-12)


@pytest.mark.parametrize(("name", "mm"), [("#40", 2.4892), ("#30", 3.2639), ("#21", 4.0386)])
def test_the_usual_rivet_drills_in_mm(name, mm):
    """Source: arithmetic (status: DERIVED), tolerance 0.0001 mm."""
    assert read_drill(name).diameter == pytest.approx(mm, abs=1e-4)


def test_the_copies_of_the_tables_are_whole():
    """A check that has lost its rows would pass."""
    assert [name for name, _ in pairs(NUMBERS)] == [str(number) for number in range(1, 61)]
    assert "".join(name for name, _ in pairs(LETTERS)) == "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
