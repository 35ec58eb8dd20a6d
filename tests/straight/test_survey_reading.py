"""Readings along an edge as spreadsheets, hands and forms write them."""

import string
from pathlib import Path

import pytest
from commandline import said as ran
from hypothesis import given, settings
from hypothesis import strategies as st

from jiggen.errors import JobError
from jiggen.straight.judge import judge
from jiggen.straight.read import blank_form, read_gap, read_survey, read_survey_text
from jiggen.straight.survey import Survey

PLAIN = "position (mm),height (mm)\n0,0\n100,0.25\n200,-0.5\n300,0\n"
HEAD = "position (mm),height (mm)\n"
BLADES = "position (mm),go (mm),no go (mm)\n0,0,0.05\n250,0.30,0.35\n500,0.40,0.50\n1000,0,0.05\n"
TWO = "position (mm),front height (mm),rear height (mm)\n"

TOML = """\
format = 1
name = "Tab edge"
units = "in"
step = "1/64 in"
limit = 0.05
[readings]
position = [0, 4, 8, 12]
height = [0, "1/32 in", "0.4 mm", 0]
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
        PLAIN.replace(",", " , "),
        PLAIN.replace("0.25", '"0.25"').replace("-0.5", "\N{MINUS SIGN}0.5"),
        PLAIN.replace("-0.5", "-5E-1").replace("0.25", ".25"),
        PLAIN.replace("(mm)", "[mm]").replace("position", "Position"),
        PLAIN.replace("height", "HEIGHT"),
        PLAIN.replace("position (mm)", "position (cm)").replace("00,", "0,"),
        PLAIN.replace("t (mm)\n", "t (um)\n").replace("0.25", "250").replace("-0.5", "-500"),
        "# read on the bench\n\n" + PLAIN + "\n,\n\n",
        PLAIN.replace("(mm)\n", "(mm),note\n").replace("0.25", '0.25,"second try, cold"'),
        PLAIN.replace("0.25\n", "0.25\n150,\n"),
        "height (mm),position (mm)\n0,300\n0.25,100\n0,0\n-0.5,200\n",
    ],
)  # fmt: skip
def test_every_usual_way_to_write_a_table_reads_the_same(text: str) -> None:
    """Whoever has the readings in a spreadsheet must not type them again."""
    read = survey(text)
    assert read.at == pytest.approx((0.0, 100.0, 200.0, 300.0))
    assert read.line("deviation") == (read.at, pytest.approx((0.0, 0.25, -0.5, 0.0)))


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    """Spreadsheets put it there and nobody sees it."""
    place = tmp_path / "Edge 2.csv"
    place.write_bytes(PLAIN.encode("utf-8-sig"))
    read = read_survey(str(place))
    assert (read.name, len(read.at)) == ("Edge 2", 4)


@pytest.mark.parametrize("name", ["deviation", "front", "lower", "a"])
def test_a_column_that_is_neither_gap_nor_height_is_asked_about(name: str) -> None:
    """A hollow taken for a hump is pulled the wrong way, and the advice with it."""
    text = PLAIN.replace("height", name)
    ask = f'edge.csv: {name}: are these gaps or heights? Put "gap" (larger is lower) or '
    (said,) = faults(text)
    assert said.startswith(ask)
    gaps = text.replace("-0.5", "0.5")
    (high,), (low,) = (survey(gaps, reads=reads).lines.values() for reads in ("heights", "gaps"))
    assert high == (0.0, 0.25, 0.5, 0.0)
    assert low == (0.0, -0.25, -0.5, 0.0)
    assert faults(gaps.replace("0.5", "-0.5"), reads="gaps") == [
        f'edge.csv: line 4, {name}: is a gap below zero; heights stand in a column "height"'
    ]


def test_ways_that_were_said_answer_the_question_too() -> None:
    """Where a number above zero goes is all that is asked."""
    text = PLAIN.replace("height", "deviation").replace("-0.5", "0.5")
    read = survey(text, ways="down,up")
    assert (read.lines["deviation"][2], read.ways) == (0.5, ("down", "up"))
    gaps = survey(text.replace("deviation", "gap"), ways="down,up")
    assert (gaps.lines["deviation"][2], gaps.ways) == (-0.5, ("up", "down"))


@pytest.mark.parametrize(
    ("text", "options", "said"),
    [
        (PLAIN, {"reads": "gaps"}, "height: is said to be a height and a gap"),
        (PLAIN.replace("(mm)\n", "(mm),gap rear (mm)\n").replace("0\n", "0,0\n"), {}, "mixes gaps"),
        (BLADES.replace("no go", "note"), {}, "reads deviation by go; keep one column"),
        (BLADES.replace("position (mm),go", "position (mm),gap"), {}, "by gap and no-go"),
        (BLADES.replace("250,0.30", "250,"), {}, "line 3, go: is blank; write 0 where no blade"),
        (BLADES.replace("0.30,0.35", "0.30,"), {}, "line 3, no go: is blank; write the smallest"),
        (BLADES.replace("0.30,0.35", "0.35,0.35"), {}, "line 3, no go: is no thicker"),
        (BLADES.replace("0.50", "50"), {}, "line 4, no go: is a gap of more than 10.00 mm"),
        (BLADES.replace("go (mm)", "go a (mm)"), {"ways": "x,y"}, "--ways: says again"),
        (PLAIN.replace("height", "sag"), {}, 'is not known, given "sag"; the nearest is'),
        (PLAIN.replace("height", "gap front rear"), {}, "names a column that is not known"),
    ],
)  # fmt: skip
def test_readings_that_contradict_their_names_are_named(
    text: str, options: dict[str, str], said: str
) -> None:
    """Meaning is asked for, not guessed."""
    assert any(said in line for line in faults(text, **options)), faults(text, **options)


def test_blades_read_midway_with_half_of_what_they_leave_open() -> None:
    """0.30 goes and 0.35 does not: the gap is 0.325, give or take 0.025."""
    read = survey(BLADES)
    assert read.reads == "gap"
    assert read.lines["deviation"] == pytest.approx((-0.025, -0.325, -0.45, -0.025))
    assert read.half == pytest.approx(0.05)
    assert survey(BLADES, step="0.01").half == pytest.approx(0.05)
    assert survey(PLAIN, step="0.01").half == pytest.approx(0.005)


def test_both_sides_are_one_line_read_twice() -> None:
    """Side B up, a bow toward A is a hollow: its gaps count the other way round."""
    text = "position (mm),gap a (mm),gap b (mm)\n0,0.1,0\n1,0,0.4\n2,0.1,0\n"
    read = survey(text)
    assert dict(read.lines) == {"deviation": (-0.1, 0.0, -0.1), "turned": (0.0, 0.4, 0.0)}
    assert read.ways == ("toward side A", "toward side B")
    alone = survey(text.replace("gap a", "note"))
    assert dict(alone.lines) == {"deviation": (0.0, 0.4, 0.0)}
    high = survey(text.replace("gap", "height"))
    assert dict(high.lines) == {"deviation": (0.1, 0.0, 0.1), "turned": (0.0, -0.4, 0.0)}


def test_toml_reads_units_fractions_and_settings() -> None:
    """A form has all that a table has no room for."""
    read = survey(TOML, "tab.toml")
    assert read.at == pytest.approx((0.0, 101.6, 203.2, 304.8))
    assert read.lines["deviation"] == pytest.approx((0.0, 25.4 / 32, 0.4, 0.0))
    assert read.half == pytest.approx(25.4 / 128)
    assert (read.name, read.units, read.settings.limit) == ("Tab edge", "in", pytest.approx(1.27))
    blades = TOML.replace("height =", "no_go_a = [0.01, 0.05, 0.02, 0.01]\ngo_a =")
    found = survey(blades, "tab.toml")
    assert found.lines["deviation"] == pytest.approx((-0.127, -1.03187, -0.454, -0.127), abs=1e-4)
    assert found.has_sides


def test_options_go_before_the_file_and_count_in_its_units() -> None:
    """A bare 0.03 typed beside an inch file is inches, or the verdict is off by 25."""
    read = survey(TOML, "tab.toml", limit="0.03", step="0.1 mm", ways="down, up")
    assert read.settings.limit == pytest.approx(0.762)
    assert read.half == 0.05
    assert read.ways == ("down", "up")
    inches = PLAIN.replace("height (mm)", "height (in)")
    assert survey(inches, limit="0.03").settings.limit == pytest.approx(0.762)
    assert survey("position,height\n0,0\n1,1\n2,0\n", units="in").at[1] == pytest.approx(25.4)


def test_a_line_read_at_fewer_places_keeps_to_its_own() -> None:
    """Two lines are compared only where both were read."""
    read = survey(TWO + "0,0,0\n1,1,\n2,2,4\n3,3,5\n4,,6\n")
    assert read.line("front")[0] == (0.0, 1.0, 2.0, 3.0)
    assert read.line("rear")[0] == (0.0, 2.0, 3.0, 4.0)
    assert read.line("front", "rear") == ((0.0, 2.0, 3.0), (0.0, 2.0, 3.0), (0.0, 4.0, 5.0))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", 'holds no readings; begin with "position (mm),gap (mm)"'),
        ("0,1\n2,3\n", "line 1: has numbers where the heading should be"),
        ("position (mm)\n1\n", "names no column of gaps or heights"),
        ("height (mm)\n1\n", 'names no column "position"'),
        (PLAIN.replace("height", "hight"), 'nearest is "height"'),
        (PLAIN.replace("height (mm)", "height"), "names no unit for height"),
        (PLAIN.replace("height (mm)", "height (furlong)"), "unit that is not known"),
        (PLAIN.replace("height (mm)", "position (mm)"), "names a column twice"),
        (PLAIN.replace(",", ";"), "has semicolons or tabs between the cells; save it with commas"),
        (PLAIN.replace(",", "\t"), "has semicolons or tabs between the cells; save it with commas"),
        (PLAIN.replace("0.25", "abc"), 'line 3, height: is not a length, given "abc"'),
        (PLAIN.replace("0.25", "nan"), "line 3, height: is not a length"),
        (PLAIN.replace("0.25", "1e999"), "line 3, height: has more than 40 digits"),
        (PLAIN.replace("0.25", "1e999999999"), "line 3, height: has more than 40 digits"),
        (PLAIN.replace("0.25", "9" * 400), "line 3, height: has more than 40 digits"),
        (PLAIN.replace("100,", ","), "line 3, position: is blank"),
        (PLAIN.replace("0.25", "0,25"), "decimals take a point here"),
        (PLAIN.replace("0.25", '"0,25"'), "line 3, height: has a comma"),
        (PLAIN.replace("300", "100.0"), "line 5, position: reads 100.00 mm again, as line 3"),
        (HEAD + "0,0\n1,1\n", "holds only 2 readings of the edge"),
        (HEAD + "0,\n1,\n", "holds no reading"),
        (TWO.replace("rear", "upper") + "0,0,0\n1,1,1\n2,0,0\n", "tell nothing together"),
        (TWO.replace("rear", "a") + "0,0,0\n1,1,1\n2,0,0\n", "tell nothing together"),
        (TWO + "0,0,\n1,1,\n2,0,0\n3,0,1\n4,,1\n", "together at only 2"),
        (PLAIN.replace("0.25", '"0.25'), "line 3: is not a row of a table"),
    ],
)  # fmt: skip
def test_a_slip_in_a_table_is_named_with_its_line(text: str, said: str) -> None:
    """A reading passed over in silence is a bow that nobody sees."""
    assert any(said in line for line in faults(text)), faults(text)


@pytest.mark.parametrize(
    ("text", "name", "said"),
    [
        (",".join(["position (mm)"] * 100_000), "t.csv", "line 1: has more than 4000 char"),
        (",".join(["gap"] * 100) + "\n1\n", "t.csv", "line 1: names 100 columns, more than 12"),
        (HEAD + "".join(f"{n},0\n" for n in range(2001)), "t.csv", "line 2002, position: is"),
        (HEAD + "1,0," * 1001, "t.csv", "line 2: has more than 4000 characters"),
        ("a" + ".a" * 20_000 + " = 1", "t.toml", "line 1: has more than 4000 characters"),
        ("a" + ".a" * 1900 + " = 1", "t.toml", "line 1: is neither a key nor a list"),
        ("n = 1\n'a,'" + '."\\\",".b' * 90 + " = 1", "t.toml", "line 2: is neither a key"),
        ("".join(f"a{n} = 1\n" for n in range(9000)), "t.toml", "holds 9000 keys in one table"),
        ("a = " + "[" * 3000, "t.toml", "is not TOML that can be read"),
        ("limit = " + "9" * 3999, "t.toml", "line 1: has more than 4000"),
        ("format = " + "9" * 400, "t.toml", "format: is not known, given a very large number"),
    ],
)  # fmt: skip
def test_a_table_or_form_past_every_limit_is_refused_in_one_line(
    text: str, name: str, said: str
) -> None:
    """A hundred thousand columns hold up the bench for nothing; so does a number of 400 digits."""
    lines = faults(text, name)
    assert said in lines[0]
    assert len(lines) <= 4


def test_all_slips_of_a_table_are_named_at_once() -> None:
    """Mending them one by one takes the patience that measuring needs."""
    text = HEAD + "0,0,1\n100,abc\n200,0.2\n,0.3\n201,0.4\n"
    lines = faults(text, limit="x", step="-1")
    starts = [" ".join(line.split(": ")[1:2]) for line in lines]
    assert starts == ["line 2, position", "line 3, height", "line 5, position", "--step", "--limit"]
    many = faults(HEAD + "a,b\n" * 500)
    assert (len(many), many[-1]) == (21, "edge.csv: has 980 faults more")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("format = 1\n", "", "format: is missing; write format = 1"),
        ("format = 1\n", "format = 2\n", "format: is not known"),
        ('units = "in"\n', "", "units: is missing"),
        ('"in"', '"cm"', "units: is not known"),
        ("limit = 0.05", "limit = 0", "limit: must be more than 0"),
        ("limit = 0.05", "limit = inf", "limit"),
        ("limit = 0.05", f"limit = {'9' * 400}", "limit: is too large for a length"),
        ("limit = 0.05", "limit = 1e999", "limit: is not a finite number"),
        ("limit = 0.05", "limt = 0.05", "limt: is not a known key"),
        ("limit = 0.05", 'limit_on = "zones"', 'the nearest is "zone"'),
        ("limit = 0.05", 'reads = "gap"', 'the nearest is "gaps"'),
        ("limit = 0.05", "twist_limit = 1", "twist_limit: cannot be judged"),
        ("limit = 0.05", "apart = 1", "apart: has no front and rear line"),
        ("limit = 0.05", 'datum = "each"', "datum: has no front and rear line"),
        ("limit = 0.05", 'limit_on = "ends"\nover = 4', "over: goes with limit_on"),
        ("[readings]", "[reading]", "readings: is missing"),
        ("position = [0, 4, 8, 12]", "", 'readings: names no column "position"'),
        ("position = [0, 4, 8, 12]", "position = 4", "readings: must be a table of lists"),
        ("[0, 4, 8, 12]", "[0, 4, 8]", "readings.position: holds 3 where another list holds 4"),
        ("[0, 4, 8, 12]", "[0, 4, 4, 12]", "readings.position[3]: reads 4.0000 in again"),
        ('"0.4 mm"', '"0.4 cubits"', "readings.height[3]"),
        ('"0.4 mm"', "true", "readings.height[3]"),
        ('"0.4 mm"', "9" * 400, "readings.height[3]: has more than 40 digits"),
        ('"0.4 mm"', "1e999", "readings.height[3]: is not a length"),
        ("height =", "hieght =", 'readings: names a column that is not known, given "hieght"'),
        ("[readings]", "[readings", "is not TOML"),
    ],
)
def test_a_slip_in_a_form_is_named_with_its_key(old: str, new: str, said: str) -> None:
    """The key is where the finger goes."""
    lines = faults(TOML.replace(old, new), "tab.toml")
    assert any(said in line for line in lines), lines


def test_the_twist_of_two_straightedges_is_not_judged() -> None:
    """Neither knows how the other lay: a steady twist would pass unseen."""
    text = TWO + "0,0,0\n1,1,1\n2,2,4\n"
    wanted = [
        "jiggen straight: --twist-limit: cannot be judged where each line had its own "
        'straightedge; read both against one flat surface, datum = "one"'
    ]
    assert faults(text, twist_limit="1", apart="30", datum="each") == wanted
    assert faults(text.replace("height", "gap"), twist_limit="1", apart="30") == wanted


@pytest.mark.parametrize("name", ["f.toml", "f.csv", "F.CSV"])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_blank_form_asks_for_gaps_at_three_places_between_the_ends(name: str, units: str) -> None:
    """Between passes people read the middle and both quarter points; a form must read back."""
    text = blank_form(name, units).decode("utf-8")
    assert faults(text, name) == [f"{name}: holds no reading; straightness needs 3 places or more"]
    rows, blades = text.splitlines(), ("0, 0.01, 0.02, 0.01, 0", "0.01, 0.02, 0.03, 0.02, 0.01")
    if name.endswith(".toml"):
        filled = text.replace('limit = ""', "limit = 9")
        for blade in blades:
            filled = filled.replace(", ".join(['""'] * 5), blade, 1)
    else:
        cells = zip(*(blade.split(", ") for blade in blades), strict=True)
        filled = "\n".join(
            row.replace(",,", ",{},{}".format(*next(cells))) if row.endswith(",,") else row
            for row in rows
        )
    read = survey(filled, name)
    assert (read.units, read.reads) == (units, "gap")
    first, *between, last = read.at
    assert [at / (last - first) for at in between] == [0.25, 0.5, 0.75]
    assert judge(read).is_good


def test_other_endings_and_other_files_are_refused(tmp_path: Path) -> None:
    """The wrong file read to its end gives a dozen faults that say nothing."""
    with pytest.raises(JobError, match=r"--form: is neither, given .form\.xls"):
        blank_form("form.xls", "mm")
    for name, data, said in (
        ("job.toml", b"format = 1\n[wedge]\n", "is a job file, not readings along an edge"),
        ("print.pdf", b"%PDF-1.7\n", "is a drawing, not readings"),
        ("old.csv", "position (mm),h\xe9ight".encode("latin-1"), "is not UTF-8 text"),
        ("wide.csv", PLAIN.encode("utf-16"), "is not UTF-8 text"),
        ("big.csv", b"# \xc3\xa9" * 100_000, "cannot be read .it is larger than 250000 bytes"),
    ):
        place = tmp_path / name
        place.write_bytes(data)
        with pytest.raises(JobError, match=said):
            read_survey(str(place))
    for name, why in (
        (str(tmp_path / "none.csv"), "No such file"),
        ("a\0b.csv", "bad name"),
        ("/dev/zero", "it is a folder or a device"),
        (str(tmp_path), "it is a folder or a device"),
    ):
        with pytest.raises(JobError, match=rf"cannot be read \({why}"):
            read_survey(name)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"gap": "0.5"}, '--gap: names no unit, given "0.5"; write as in "0.5 mm"'),
        ({"gap": "0.5 mm", "limit": "0.7"}, "--limit: names no unit"),
        ({"gap": "0,5", "units": "mm"}, "--gap[1]: must be more than 0"),
        ({"gap": "50", "units": "mm"}, "--gap[1]: must be at most 10 mm"),
        ({"gap": "0.5,0.4", "units": "mm"}, "--gap: names no blade that goes and a thicker one"),
        ({"gap": "1,2,3", "units": "mm"}, "--gap: is a list of more than 2"),
        ({"gap": "1e999", "units": "mm"}, "--gap[1]: is not a finite number"),
        ({"gap": "0.5 mm", "over": "3"}, "--over: does not go with --gap"),
        ({"gap": "0.5 mm", "plot": "a.svg"}, "--plot: does not go with --gap"),
        ({"gap": "0.5 mm", "units": "cm"}, "--units: is not known"),
    ],
)
def test_a_slip_in_a_single_gap_is_named(options: dict[str, str], said: str) -> None:
    """A bare 0.5 is half a millimetre to one and half an inch to another."""
    with pytest.raises(JobError) as caught:
        read_gap(options)
    assert any(said in str(fault) for fault in caught.value.faults), caught.value.faults


def test_a_second_gap_is_not_taken_for_the_first() -> None:
    """Three places, three options: only the last counted, and a bowed edge was within its limit."""
    answer = ran("straight", "--gap", "0.3 mm", "--gap", "0.5 mm", "--limit", "0.4 mm")
    assert (answer.status, answer.out) == (2, "")
    assert "--gap is given more than once; give the largest" in answer.err


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
@settings(max_examples=150, deadline=None)
def test_whatever_a_table_holds_it_is_read_or_refused(head: str, spoilt: str, at: int) -> None:
    """A cat on the keyboard gets a sentence, not a traceback."""
    text = head[:at] + spoilt + head[at:]
    assert all(line.startswith("edge.csv: ") for line in refusal(text, "edge.csv"))


@given(
    key=st.sampled_from(
        ["step", "limit", "ways", "name", "units", "position", "height", "format", "by", "over"]
    ),
    value=st.sampled_from(
        ["nan", "-inf", "true", "[]", "{}", '""', "1979-05-27", "[[1]]", "-1", "1e308", '"x"',
         '["", ""]', '["a", "A"]', '[0, 1, 2, "3 in"]', "[nan, 1, 2, 3]", "[1e-300, 0, 1, 2]"]
    ),
)  # fmt: skip
@settings(max_examples=80, deadline=None)
def test_whatever_a_form_holds_it_is_read_or_refused(key: str, value: str) -> None:
    """The same for TOML, whose values have types."""
    lines = [line for line in TOML.splitlines() if not line.startswith(f"{key} ")]
    place = len(lines) if key in ("position", "height") else 0
    lines.insert(place, f"{key} = {value}")
    said = refusal("\n".join(lines), "tab.toml")
    assert all(line.startswith("tab.toml: ") for line in said)
