"""Readings along an edge as spreadsheets, hands and forms write them."""

import string
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jiggen.errors import JobError
from jiggen.straight.form import blank_form
from jiggen.straight.judge import judge
from jiggen.straight.read import read_survey, read_survey_text
from jiggen.straight.survey import Survey

PLAIN = "position (mm),deviation (mm)\n0,0\n100,0.25\n200,-0.5\n300,0\n"
HEAD = "position (mm),deviation (mm)\n"
SEMI = HEAD.replace(",", ";")
TWO = "position (mm),front (mm),rear (mm)\n"

TOML = """\
format = 1
name = "Tab edge"
units = "in"
step = "1/64 in"
limit = 0.05
[readings]
position = [0, 4, 8, 12]
deviation = [0, "1/32 in", "0.4 mm", 0]
"""


def survey(text: str, name: str = "edge.csv", **options: str) -> Survey:
    """Return the survey in a text."""
    return read_survey_text(text, name, options)


def faults(text: str, name: str = "edge.csv", **options: str) -> list[str]:
    """Return the fault lines of a text."""
    with pytest.raises(JobError) as caught:
        read_survey_text(text, name, options)
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize(
    "text",
    [
        PLAIN,
        PLAIN.replace("\n", "\r\n"),
        PLAIN.replace(",", ";"),
        PLAIN.replace(",", "\t"),
        PLAIN.replace(",", ";").replace(".", ","),
        PLAIN.replace(",", " , "),
        PLAIN.replace("0.25", '"0.25"').replace("-0.5", "\N{MINUS SIGN}0.5"),
        PLAIN.replace("-0.5", "-5E-1"),
        PLAIN.replace("(mm)", "[mm]").replace("position", "Position"),
        PLAIN.replace("deviation", "DEVIATION"),
        PLAIN.replace("position (mm)", "position (cm)").replace("00,", "0,"),
        PLAIN.replace("n (mm)\n", "n (um)\n").replace("0.25", "250").replace("-0.5", "-500"),
        "sep=,\n" + PLAIN,
        "# read on the bench\n\n" + PLAIN + "\n,\n\n",
        PLAIN.replace("(mm)\n", "(mm),note\n").replace("0.25", "0.25,second try"),
        PLAIN.replace("0.25\n", "0.25\n150,\n"),
        "position (mm),deviation (mm)\n300,0\n100,0.25\n0,0\n200,-0.5\n",
        "deviation mm;position mm\n0;0\n0,25;100\n-0,5;200\n0;300\n",
    ],
)  # fmt: skip
def test_every_usual_way_to_write_a_table_reads_the_same(text: str) -> None:
    """Whoever has the readings in a spreadsheet must not type them again."""
    read = survey(text)
    assert read.at == pytest.approx((0.0, 100.0, 200.0, 300.0))
    assert read.line("deviation") == (read.at, pytest.approx((0.0, 0.25, -0.5, 0.0)))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_byte_order_marks_are_passed_over(encoding: str, tmp_path: Path) -> None:
    """Spreadsheets put them there and nobody sees them."""
    place = tmp_path / "Edge 2.csv"
    place.write_bytes(PLAIN.encode(encoding))
    read = read_survey(str(place))
    assert (read.name, len(read.at)) == ("Edge 2", 4)


def test_toml_reads_units_fractions_and_settings() -> None:
    """A form has all that a table has no room for."""
    read = survey(TOML, "tab.toml")
    assert read.at == pytest.approx((0.0, 101.6, 203.2, 304.8))
    assert read.lines["deviation"] == pytest.approx((0.0, 25.4 / 32, 0.4, 0.0))
    assert read.settings.half == pytest.approx(25.4 / 128)
    assert (read.name, read.units, read.settings.limit) == ("Tab edge", "in", pytest.approx(1.27))


def test_options_go_before_the_file_and_count_in_its_units() -> None:
    """A bare 0.03 typed beside an inch file is inches, or the verdict is off by 25."""
    read = survey(TOML, "tab.toml", limit="0.03", step="0.1 mm", ways="down, up")
    assert read.settings.limit == pytest.approx(0.762)
    assert read.settings.half == 0.05
    assert read.ways == ("down", "up")
    inches = PLAIN.replace("deviation (mm)", "deviation (in)")
    assert survey(inches, limit="0.03").settings.limit == pytest.approx(0.762)
    assert survey("position,deviation\n0,0\n1,1\n2,0\n", units="in").at[1] == pytest.approx(25.4)


def test_a_line_read_at_fewer_places_keeps_to_its_own() -> None:
    """Two lines are compared only where both were read."""
    read = survey("position (mm),front (mm),rear (mm)\n0,0,0\n1,1,\n2,2,4\n3,3,5\n4,,6\n")
    assert read.line("front")[0] == (0.0, 1.0, 2.0, 3.0)
    assert read.line("rear")[0] == (0.0, 2.0, 3.0, 4.0)
    assert read.both() == ((0.0, 2.0, 3.0), (0.0, 2.0, 3.0), (0.0, 4.0, 5.0))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", 'holds no readings; begin with "position (mm),deviation (mm)"'),
        ("0,1\n2,3\n", "line 1: has numbers where the heading should be"),
        ("position (mm)\n1\n", "names no column of deviations"),
        ("deviation (mm)\n1\n", 'names no column "position"'),
        (PLAIN.replace("deviation", "deviaton"), 'nearest is "deviation"'),
        (PLAIN.replace("deviation (mm)", "deviation"), "names no unit for deviation"),
        (PLAIN.replace("deviation (mm)", "deviation (furlong)"), "unit that is not known"),
        (PLAIN.replace("deviation (mm)", "position (mm)"), 'names "position" twice'),
        (PLAIN.replace("0.25", "abc"), 'line 3, deviation: is not a length, given "abc"'),
        (PLAIN.replace("0.25", "nan"), "line 3, deviation: is not a length"),
        (PLAIN.replace("0.25", "1e999"), "line 3, deviation: has more than 40 digits"),
        (PLAIN.replace("100,", ","), "line 3, position: is blank"),
        (PLAIN.replace("0.25", "0,25"), "for a decimal comma put semicolons"),
        (PLAIN.replace("300", "100.0"), "line 5: reads 100.00 mm again, as line 3 did"),
        (SEMI + "0;0\n1;0,5\n2;0.5\n", "line 4: writes decimals as in 0.5, line 3 as in 0,5"),
        ("position (mm),deviation (mm)\n0,0\n1,1\n", "holds only 2 of deviation"),
        ("position (mm),deviation (mm)\n0,\n1,\n", "holds no reading"),
        ("position (mm),front (mm),upper (mm)\n0,0,0\n1,1,1\n2,0,0\n", "tell nothing together"),
        (TWO + "0,0,\n1,1,\n2,0,0\n3,0,1\n4,,1\n", "together at only 2"),
        (HEAD + "".join(f"{n},0\n" for n in range(2001)), "more than 2000"),
        (PLAIN.replace("0.25", '"0.25'), "line"),
    ],
)  # fmt: skip
def test_a_slip_in_a_table_is_named_with_its_line(text: str, said: str) -> None:
    """A reading passed over in silence is a bow that nobody sees."""
    assert any(said in line for line in faults(text)), faults(text)


def test_all_slips_of_a_table_are_named_at_once() -> None:
    """Mending them one by one takes the patience that measuring needs."""
    text = "position (mm),deviation (mm)\n0,0,1\n100,abc\n200,0.2\n,0.3\n200,0.4\n"
    lines = faults(text, limit="x", step="-1")
    starts = [" ".join(line.split(": ")[1:2]) for line in lines]
    assert starts == [
        "line 2",
        "line 3, deviation",
        "line 5, position",
        "line 6",
        "--step",
        "--limit",
    ]
    assert len(faults("position (mm),deviation (mm)\n" + "a,b\n" * 500)) < 30


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("format = 1\n", "", "format: is missing; write format = 1"),
        ("format = 1\n", "format = 2\n", "format: is not known"),
        ('units = "in"\n', "", "units: is missing"),
        ('"in"', '"cm"', "units: is not known"),
        ("limit = 0.05", "limit = 0", "limit: must be more than 0"),
        ("limit = 0.05", "limit = inf", "limit"),
        ("limit = 0.05", "limt = 0.05", "limt: is not a known key"),
        ("limit = 0.05", 'limit_on = "zones"', 'the nearest is "zone"'),
        ("limit = 0.05", "twist_limit = 1", "twist_limit: cannot be judged"),
        ("limit = 0.05", "apart = 1", "apart: has no front and rear line"),
        ("limit = 0.05", 'datum = "each"', "datum: has no front and rear line"),
        ("limit = 0.05", 'limit_on = "ends"\nover = 4', "over: goes with limit_on"),
        ("[readings]", "[reading]", "readings: is missing"),
        ("position = [0, 4, 8, 12]", "", "readings.position: is missing"),
        ("position = [0, 4, 8, 12]", "position = 4", "readings.position: must be a list"),
        ("[0, 4, 8, 12]", "[0, 4, 8]", "readings.deviation: holds 4 readings for 3 positions"),
        ("[0, 4, 8, 12]", "[0, 4, 4, 12]", "readings.position[3]: reads 4.0000 in again"),
        ('"0.4 mm"', '"0.4 cubits"', "readings.deviation[3]"),
        ('"0.4 mm"', "true", "readings.deviation[3]"),
        ("[readings]", "[readings", "is not TOML"),
    ],
)
def test_a_slip_in_a_form_is_named_with_its_key(old: str, new: str, said: str) -> None:
    """The key is where the finger goes."""
    assert any(said in line for line in faults(TOML.replace(old, new), "tab.toml"))


def test_the_twist_of_two_straightedges_is_not_judged() -> None:
    """Neither knows how the other lay: a steady twist would pass unseen."""
    text = "position (mm),front (mm),rear (mm)\n0,0,0\n1,1,1\n2,2,4\n"
    said = faults(text, twist_limit="1", apart="30", datum="each")
    assert said == [
        'jiggen straight: --twist-limit: cannot be judged with datum = "each"; '
        "read both lines against one flat surface"
    ]


@pytest.mark.parametrize("name", ["f.toml", "f.csv", "F.CSV"])
@pytest.mark.parametrize("units", ["mm", "in", None])
def test_a_blank_form_reads_back_blank_and_filled_in_it_is_judged(
    name: str, units: str | None
) -> None:
    """A form that its own reader refuses is a bad start."""
    text = blank_form(name, units).decode("utf-8")
    assert faults(text, name) == [f"{name}: holds no reading; straightness needs 3 places or more"]
    rows = text.splitlines()
    if name.endswith(".toml"):
        filled = text.replace('["", "", "", ', "[0, 0.5, 0.2, ").replace('limit = ""', "limit = 9")
    else:
        filled = "\n".join(
            f"{row}0.{n}" if row.endswith(",") else row for n, row in enumerate(rows)
        )
    read = survey(filled, name)
    assert read.units == (units or "mm")
    assert len(read.line("deviation")[0]) >= 3
    assert judge(read).is_good


def test_other_endings_and_other_files_are_refused(tmp_path: Path) -> None:
    """The wrong file read to its end gives a dozen faults that say nothing."""
    with pytest.raises(JobError, match=r"--form: is neither, given form\.xls"):
        blank_form("form.xls", None)
    for name, data, said in (
        ("job.toml", b"format = 1\n[wedge]\n", "is a job file, not readings along an edge"),
        ("print.pdf", b"%PDF-1.7\n", "is a drawing, not readings"),
        ("old.csv", "position (mm),d\xe9viation".encode("latin-1"), "is not UTF-8 text"),
        ("big.csv", b"0,1\n" * 600_000, "too large"),
    ):
        place = tmp_path / name
        place.write_bytes(data)
        with pytest.raises(JobError, match=said):
            read_survey(str(place))
    with pytest.raises(JobError, match="cannot be read"):
        read_survey(str(tmp_path / "none.csv"))
    with pytest.raises(JobError, match="cannot be read"):
        read_survey("a\0b.csv")


def refusal(text: str, name: str) -> list[str]:
    """Read and judge a text; return the fault lines, none where it was judged."""
    try:
        read = survey(text, name)
        assert list(read.at) == sorted(set(read.at))
        assert judge(read).held.value >= 0.0
    except JobError as refused:
        return [str(fault) for fault in refused.faults]
    return []


LETTERS = st.text(alphabet=string.digits + ',;.\t\n"-+eE#()mm in/' + "posita", max_size=60)


@given(
    head=st.sampled_from([PLAIN, PLAIN.replace(",", ";"), ""]),
    spoilt=LETTERS,
    at=st.integers(0, 60),
)
@settings(max_examples=150)
def test_whatever_a_table_holds_it_is_read_or_refused(head: str, spoilt: str, at: int) -> None:
    """A cat on the keyboard gets a sentence, not a traceback."""
    text = head[:at] + spoilt + head[at:]
    assert all(line.startswith("edge.csv: ") for line in refusal(text, "edge.csv"))


@given(
    key=st.sampled_from(
        ["step", "limit", "ways", "name", "units", "position", "deviation", "format", "by", "over"]
    ),
    value=st.sampled_from(
        ["nan", "-inf", "true", "[]", "{}", '""', "1979-05-27", "[[1]]", "-1", "1e308", '"x"',
         '["", ""]', '["a", "A"]', '[0, 1, 2, "3 in"]', "[nan, 1, 2, 3]", "[1e-300, 0, 1, 2]"]
    ),
)  # fmt: skip
@settings(max_examples=80)
def test_whatever_a_form_holds_it_is_read_or_refused(key: str, value: str) -> None:
    """The same for TOML, whose values have types."""
    lines = [line for line in TOML.splitlines() if not line.startswith(f"{key} ")]
    place = len(lines) if key in ("position", "deviation") else 0
    lines.insert(place, f"{key} = {value}")
    said = refusal("\n".join(lines), "tab.toml")
    assert all(line.startswith("tab.toml: ") for line in said)
