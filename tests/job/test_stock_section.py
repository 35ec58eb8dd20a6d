"""The section on the stock: what it may say, and what it is refused for."""

from __future__ import annotations

from pathlib import Path

import pytest

from jiggen.errors import JobError
from jiggen.job.read import read_job_text
from jiggen.job.sections import LighteningHole, Stock

HEAD = 'format = 1\nname = "Tab"\nunits = "mm"\n[[wedge.station]]\nincluded_angle = 9.4\n'
LEAST = "[stock]\nlength = 600\ntrim = [0, 524]\n"
ROW = "first = 8\npitch = 26\ncount = 3\n"


def stock(body: str) -> Stock:
    found = read_job_text(HEAD + body, "tab.toml", Path()).stock
    assert found is not None
    return found


def faults(body: str) -> list[tuple[str, str]]:
    with pytest.raises(JobError) as refused:
        read_job_text(HEAD + body, "tab.toml", Path())
    return [(fault.key, str(fault)) for fault in refused.value.faults]


def test_two_lines_are_enough_and_the_rest_has_defaults():
    """An undrilled length without fairings is the simplest stock there is."""
    assert stock(LEAST) == Stock(
        length=600.0,
        positions=(),
        lightening=(),
        trim=(0.0, 524.0),
        fairing=(0.0, 0.0),
        turn=None,
        match=0.25,
    )
    assert read_job_text(HEAD, "tab.toml", Path()).stock is None


def test_a_row_of_holes_and_a_list_say_the_same():
    """Holes of the stock are measured or counted, whichever is easier."""
    assert stock(LEAST + ROW).positions == (8.0, 34.0, 60.0)
    assert stock(LEAST + "positions = [8, 34, 60]\n").positions == (8.0, 34.0, 60.0)


def test_the_part_is_given_by_its_cuts_or_by_its_length():
    """Whoever counts from the end of the part has only one number."""
    assert stock("[stock]\nlength = 600\npart_length = 524\n").trim == (0.0, 524.0)
    assert stock("[stock]\nlength = 600\ntrim = [-5, 500]\n").trim == (-5.0, 500.0)


def test_one_fairing_covers_both_ends_and_two_each_its_own():
    """The fairings at root and tip are seldom alike."""
    assert stock(LEAST + "fairing = 12\n").fairing == (12.0, 12.0)
    assert stock(LEAST + "fairing = [12, 5]\n").fairing == (12.0, 5.0)


def test_lightening_holes_come_as_a_row_or_as_a_list_of_single_ones():
    """The last hole of a bought wedge is often out of step."""
    row = stock(LEAST + "[stock.lightening]\nfirst = 21\npitch = 52\ncount = 2\n"
                "diameter = 12\nline = 20\n")  # fmt: skip
    assert row.lightening == (
        LighteningHole(at=21.0, diameter=12.0, line=20.0),
        LighteningHole(at=73.0, diameter=12.0, line=20.0),
    )
    mixed = stock(
        LEAST + "lightening = [{ at = 90, diameter = 9, line = 18 }, "
        "{ first = 21, pitch = 30, count = 2, diameter = 12, line = 20 }]\n"
    )
    assert [hole.at for hole in mixed.lightening] == [21.0, 51.0, 90.0]


def test_inches_are_turned_into_millimetres():
    """A stock in the wrong unit would be 25 times too short."""
    head = HEAD.replace('"mm"', '"in"')
    body = "[stock]\nlength = 24\ntrim = [0, 20]\nfirst = 0.5\npitch = 1\ncount = 2\n"
    found = read_job_text(head + body, "tab.toml", Path()).stock
    assert found is not None
    assert found.length == pytest.approx(609.6)
    assert found.positions == pytest.approx((12.7, 38.1))


@pytest.mark.parametrize(
    ("body", "key", "words"),
    [
        ("[stock]\ntrim = [0, 524]\n", "stock.length", "missing"),
        ("[stock]\nlength = 600\n", "stock.trim", "part_length"),
        ("[stock]\nlength = 500\ntrim = [0, 524]\n", "stock.length", "shorter than the part"),
        ("[stock]\nlength = 600\ntrim = [524, 0]\n", "stock.trim", "must rise"),
        (LEAST + "part_length = 500\n", "stock.part_length", "besides trim"),
        (LEAST + ROW + "positions = [1]\n", "stock.first", "besides positions"),
        (LEAST + "first = 8\n", "stock.count", "missing"),
        (LEAST + "positions = [30, 8]\n", "stock.positions[2]", "does not come after"),
        (LEAST + "positions = [8, 601]\n", "stock.positions", "beyond the stock"),
        (LEAST + "first = 8\npitch = 300\ncount = 3\n", "stock.first", "beyond the stock"),
        (LEAST + "match = 4\n", "stock.match", "at most 3"),
        (LEAST + 'turn = "no"\n', "stock.turn", "true or false"),
        (LEAST + "fairing = -1\n", "stock.fairing", "at least 0"),
        (LEAST + "lightening = 3\n", "stock.lightening", "must be a table"),
        (LEAST + "lightening = [3]\n", "stock.lightening[1]", "must be a table"),
        (LEAST + "[stock.lightening]\nat = 1\nline = 9\n", "stock.lightening.diameter", "missing"),
        (LEAST + "[stock.lightening]\nat = 1\ndiameter = 9\n", "stock.lightening.line", "missing"),
        (LEAST + "[stock.lightening]\ndiameter = 9\nline = 9\n", "stock.lightening.at", "missing"),
    ],
)
def test_what_no_stock_can_be_is_refused_by_its_key(body: str, key: str, words: str):
    """The builder mends one line instead of looking for it."""
    found = faults(body)
    assert key in [name for name, _ in found]
    assert any(name == key and words in text for name, text in found), found
