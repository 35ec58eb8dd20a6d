"""Sentences with typed lengths: said in the reader's unit, never a word of the user's changed."""

from __future__ import annotations

import math

from jiggen.units import Angle, Length, fine, joined, or_less, or_more, size, span, words


def test_lengths_are_said_in_the_readers_unit() -> None:
    """A builder who measures in inches must not be told millimetres."""
    said = words("the hole comes out {w} across", w=Length(2.54))
    assert said.said("mm") == "the hole comes out 2.54 mm across"
    assert said.said("in") == "the hole comes out 0.100 in across"


def test_what_the_user_wrote_stays_as_written() -> None:
    """A side called "2 mm skin" came out as "0.079 in skin"."""
    said = words("{side} lies up, {far} away", side="2 mm skin {w}", far=Length(25.4, 1))
    assert said.said("in") == "2 mm skin {w} lies up, 1.00 in away"


def test_sentences_stand_in_sentences() -> None:
    whole = joined([words("leave {x}", x=Length(25.4, None)), "ask your plans"])
    assert whole.said("in") == "leave 1 in; ask your plans"
    assert words("{all}, at {a}", all=whole, a=Angle(math.pi / 2, 1)).said("mm") == (
        "leave 25.4 mm; ask your plans, at 90.0 deg"
    )


def test_what_must_do_is_never_rounded_to_where_it_does_not() -> None:
    """Told "28 mm or more" as 1.102 in, a builder cuts 27.99 mm and is refused again."""
    assert or_more(28.0).said("in") == "1.103 in"
    assert or_more(28.0).said("mm") == "28 mm"
    assert or_more(27.93).said("mm") == "28 mm"
    assert or_less(28.0).said("in") == "1.102 in"
    assert or_less(27.97).said("mm") == "27.9 mm"
    for mm in (3.175, 12.7, 25.4):
        assert float(or_more(mm).said("in").split()[0]) == mm / 25.4


def test_a_span_names_its_unit_once_and_one_length_where_both_are_said_alike() -> None:
    assert span([2.41, 2.5, 2.62]).said("mm") == "2.41 to 2.62 mm"
    assert span([2.54, 2.5400001]).said("in") == "0.1000 in"


def test_a_calliper_reads_finer_in_inches_than_a_rule() -> None:
    """A land of .0169 in told as .017 in is more than there is."""
    assert fine(0.42926).said("in") == "0.0169 in"
    assert size(3.175).said("in") == "1/8 in"
