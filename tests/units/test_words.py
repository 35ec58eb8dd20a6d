"""Sentences with typed lengths: said in the reader's unit, never a word of the user's changed."""

from __future__ import annotations

import math

from jiggen.units import Angle, Length, joined, words


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
