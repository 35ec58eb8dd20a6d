import math
import re

import pytest

from jiggen.units import (
    UnitError,
    read_angle,
    read_length,
    read_rate,
    say_angle,
    say_fraction,
    say_length,
    say_size,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("2.5 mm", 2.5),
        ("2.5mm", 2.5),
        ("1.2 cm", 12.0),
        ("0.5 m", 500.0),
        ("80 um", 0.08),
        ("80 \N{MICRO SIGN}m", 0.08),
        ("80 \N{GREEK SMALL LETTER MU}m", 0.08),
        ("3/32 in", 2.38125),
        ("1 1/4 in", 31.75),
        ("1-1/4 in", 31.75),
        ("-1 1/4 in", -31.75),
        ('0.098"', 2.4892),
        ('1/4"', 6.35),
        ("1/4\N{DOUBLE PRIME}", 6.35),
        (".5 inch", 12.7),
        ("2 ft", 609.6),
        ("  3 MM ", 3.0),
        ("\N{MINUS SIGN}3 mm", -3.0),
    ],
)
def test_a_length_is_read_as_the_shop_writes_it(text, mm):
    """A fraction misread by a 64th puts every hole off by 0.4 mm."""
    assert mm == read_length(text, "in")


@pytest.mark.parametrize("number", [0.098, 0.1, 3, 1.0625, -0.75])
def test_a_bare_number_is_the_same_as_the_number_with_the_unit(number):
    """The same plan in a job with units = "in" and with "... in" texts must give one sheet."""
    assert read_length(f"{number} in") == read_length(number, "in")
    assert read_length(f"{number} mm", "in") == read_length(number, "mm")


def test_spellings_of_one_drill_size_give_one_number():
    """Two names of one size must not differ in the last digit, or pieces are drawn twice."""
    assert read_length("3/32 in") == read_length("0.09375 in") == read_length("2.38125 mm")


@pytest.mark.parametrize(
    "given", [5e-324, -1e-200, 9e-7, "0." + "0" * 40 + "1 mm", "1/999999999 in"]
)
def test_a_length_far_below_any_size_is_none(given):
    """Its square, or what is divided by it, is no number any more."""
    assert read_length(given) == 0.0
    assert read_length(1.1e-6) == 1.1e-6


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("2,5 mm", "write 2.5 mm"),
        ("1,250", "thousands have no mark"),
        ("1,250.5 mm", "after a point"),
        ("7/16", 'write "7/16 in"'),
        ("1/0 in", "divides by zero"),
        ("", "empty"),
        ("   ", "empty"),
        ("mm", "not a length"),
        ("1\N{VULGAR FRACTION ONE HALF} in", "unit"),
        ("\N{ARABIC-INDIC DIGIT THREE} mm", "not a length"),
        ("3 furlongs", "unit"),
        ("1 2 mm", "unit"),
        ("1e3 mm", "unit"),
        ("9" * 70 + " mm", "too long"),
        ("101 m", "100 m"),
        (100_001, "100 m"),
        (float("nan"), "finite"),
        (float("inf"), "finite"),
        (True, "not a length"),
        (None, "not a length"),
        ([1], "not a length"),
        (10**400, "too large"),
    ],
)
def test_what_is_not_a_length_is_refused_with_what_would_do(given, said):
    """A guess at what was meant would be cut into ply before anybody looks again."""
    with pytest.raises(UnitError, match=re.escape(said)):
        read_length(given)


@pytest.mark.parametrize(
    ("given", "degrees"),
    [
        (5.7, 5.7),
        ("5.7 deg", 5.7),
        ("5.7\N{DEGREE SIGN}", 5.7),
        ("5 deg 42 min", 5.7),
        ("5\N{DEGREE SIGN}42'", 5.7),
        ("5\N{DEGREE SIGN} 42\N{PRIME} 36\N{DOUBLE PRIME}", 5.71),
        ("-5 deg 42 min", -5.7),
        ("30 min", 0.5),
        ("23 deg 41 min 15 sec", 23.6875),
        ("1/2 deg", 0.5),
    ],
)
def test_an_angle_is_read_in_degrees_minutes_and_seconds(given, degrees):
    """42 minutes are 0.7 deg; read as 0.42 they are a guide off by a quarter of a degree."""
    assert read_angle(given) == pytest.approx(math.radians(degrees), abs=1e-15)


def test_radians_stay_as_they_are():
    """A number from a sheet of sums is taken as it stands."""
    assert read_angle("0.0995 rad") == 0.0995


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("5.7", "no unit"),
        ("5.5 deg 30 min", "fraction before"),
        ("42 min 5 deg", "mixes up"),
        ("5 deg 5 deg", "mixes up"),
        ("1 rad 5 min", "mixes up"),
        ("5 deg 60 min", "60 or more"),
        ("5 deg 5", "not an angle"),
        ("--5 deg", "not an angle"),
        ("-", "not an angle"),
        ("", "empty"),
        (361, "full turn"),
        ("1/0 deg", "zero"),
        (float("nan"), "finite"),
        (False, "not an angle"),
    ],
)
def test_what_is_not_an_angle_is_refused(given, said):
    """An angle with two meanings must be asked about, not chosen."""
    with pytest.raises(UnitError, match=re.escape(said)):
        read_angle(given)


@pytest.mark.parametrize(
    ("given", "rate"),
    [
        ("3/16 in per ft", 1 / 64),
        ("0.75 in/ft", 1 / 16),
        ("1:8", 1 / 8),
        ("1 : 20", 1 / 20),
        ("5 mm per 100 mm", 1 / 20),
        ("1 1/2 in per 12 in", 1 / 8),
        (0.2, 0.2),
    ],
)
def test_a_taper_rate_is_read_exactly(given, rate):
    """An inch per foot is 1:12 and nothing near it: these rates are exact in the books."""
    assert rate == read_rate(given)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("1 in 8", "not a taper rate"),
        ("3/16", "not a taper rate"),
        ("1:0", "no length"),
        ("5 mm per 0 mm", "no length"),
        ("5 per ft", "no unit"),
        ("", "empty"),
        (True, "not a taper rate"),
        (float("inf"), "finite"),
    ],
)
def test_what_is_not_a_rate_is_refused(given, said):
    """3/16 alone may be meant per foot: twelve times less than the pure ratio."""
    with pytest.raises(UnitError, match=re.escape(said)):
        read_rate(given)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (say_length(2.4892), "2.49 mm"),
        (say_length(2.4892, "in"), "0.0980 in"),
        (say_length(25.4, "in", places=1), "1.0 in"),
        (say_length(-0.0001), "0.00 mm"),
        (say_angle(math.radians(84.3)), "84.30 deg"),
        (say_angle(math.radians(84.3), places=1, mark="\N{DEGREE SIGN}"), "84.3\N{DEGREE SIGN}"),
        (say_fraction(31.75), "1 1/4 in"),
        (say_fraction(25.4), "1 in"),
        (say_fraction(0.0), "0 in"),
        (say_fraction(-3.175), "-1/8 in"),
        (say_fraction(2.4), "about 3/32 in"),
        (say_size(3.0), "3 mm"),
        (say_size(3.175), "3.175 mm"),
        (say_size(3.175, "in"), "1/8 in"),
        (say_size(38.1, "in"), "1 1/2 in"),
        (say_size(3.0, "in"), "0.118 in"),
    ],
)
def test_lengths_and_angles_are_said_plainly(said, expected):
    """What stands on a piece is read with a rule in hand, and never as "-0.00"."""
    assert expected == said


def test_a_fraction_without_a_unit_is_taken_for_inches_alone():
    """No rule has 15/16 of a millimetre: to offer it is to be laughed at."""
    with pytest.raises(UnitError) as caught:
        read_length("3 15/16")
    assert caught.value.remedy == 'write "3 15/16 in"'
    assert read_length("3 15/16", "in") == 100.0125


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_bare_number_counts_in_the_jobs_unit_with_quotes_or_without(unit):
    """A form's blanks are quotes: what is typed between them must not need a unit there only."""
    assert read_length("2.5", unit) == read_length(2.5, unit) == read_length(f"2.5 {unit}")
