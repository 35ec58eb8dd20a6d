from pathlib import Path

import pytest

from jiggen.errors import JobError, say
from jiggen.job.read import read_job, read_job_text
from jiggen.solve import solve

HEAD = 'format = 1\nname = "Tab"\nunits = "mm"\n'
ANGLE = "[[wedge.station]]\nincluded_angle = 9.4\n"
HOLES = '[holes]\ndrill = "#40"\nline = 8\n'
ROW = "first = 15\npitch = 26\ncount = 10\n"


def faults_of(text):
    with pytest.raises(JobError) as refused:
        read_job_text(text, "tab.toml", Path())
    return refused.value.faults


def station(body):
    return HEAD + "[[wedge.station]]\n" + body + "\n"


ONE_FAULT = [
    # the head
    (HEAD.replace("format = 1\n", "") + ANGLE, "format", "missing"),
    (HEAD.replace("1", "2") + ANGLE, "format", "given 2"),
    (HEAD.replace("1", "true") + ANGLE, "format", "given true"),
    (HEAD.replace("1", "1.0") + ANGLE, "format", "given 1.0"),
    (HEAD.replace('"Tab"', '""') + ANGLE, "name", "empty"),
    (HEAD.replace('"Tab"', "7") + ANGLE, "name", "must be text"),
    (HEAD.replace('"Tab"', '"a\\u001bb"') + ANGLE, "name", "cannot be printed"),
    (HEAD.replace("Tab", "T" * 81) + ANGLE, "name", "longer than 80"),
    (HEAD.replace('"mm"', '"inch"') + ANGLE, "units", 'nearest is "in"'),
    (HEAD.replace('units = "mm"', "") + ANGLE, "units", "missing"),
    (HEAD + 'sides = ["up"]\n' + ANGLE, "sides", "two texts"),
    (HEAD + 'sides = ["up", "UP"]\n' + ANGLE, "sides[2]", "same"),
    (HEAD + 'sides = ["up", 2]\n' + ANGLE, "sides[2]", "must be text"),
    (HEAD + "wegde = 1\n" + ANGLE, "wegde", 'nearest is "wedge"'),
    (HEAD + '"a b\\n" = 1\n' + ANGLE, '"a b\\n"', "not a known key"),
    # the wedge
    (HEAD, "wedge", "missing"),
    (HEAD + "wedge = 3\n", "wedge", "must be a table"),
    (HEAD + "[wedge]\n", "wedge.station", "missing"),
    (HEAD + "[wedge]\nstation = []\n", "wedge.station", "from 1 to 500"),
    (HEAD + "[wedge.station]\nincluded_angle = 9\n", "wedge.station", "two brackets"),
    (HEAD + ANGLE * 501, "wedge.station", "from 1 to 500"),
    (HEAD + "[wedge]\nrear_thickness = -1\n" + ANGLE, "wedge.rear_thickness", "at least 0"),
    (HEAD + "[wedge]\ndepth = 0\n" + ANGLE, "wedge.depth", "more than 0"),
    (HEAD + '[wedge]\nextend = "yes"\n' + ANGLE, "wedge.extend", "true or false"),
    (HEAD + '[wedge]\nmeasured = "rib"\n' + ANGLE, "wedge.measured", 'nearest is "ribs"'),
    (HEAD + '[wedge]\nmeasured = "ribs"\n' + ANGLE, "wedge.sweep", "missing"),
    (HEAD + "[wedge]\nsweep = 9\n" + ANGLE, "wedge.sweep", 'measured = "ribs" or drop'),
    (HEAD + '[wedge]\nmeasured = "ribs"\nsweep = 80\n' + ANGLE, "wedge.sweep", "60.00 deg"),
    # the stations
    (station("at = 3"), "wedge.station[1]", "found none"),
    (
        station('included_angle = 9\ntaper_rate = "1:8"'),
        "wedge.station[1]",
        "found included_angle, taper_rate",
    ),
    (station("incl_angle = 9\nincluded_angle = 9"), "wedge.station[1].incl_angle", "nearest"),
    (station("included_angle = 0"), "wedge.station[1].included_angle", "more than 0"),
    (station("included_angle = 91"), "wedge.station[1].included_angle", "90.00 deg"),
    (station("included_angle = nan"), "wedge.station[1].included_angle", "finite"),
    (station("included_angle = true"), "wedge.station[1].included_angle", "given true"),
    (station("skin_angles = [5]"), "wedge.station[1].skin_angles", "list of two"),
    (station("skin_angles = 5"), "wedge.station[1].skin_angles", "must be a list"),
    (station("skin_angles = [46, 5]"), "wedge.station[1].skin_angles[1]", "45.00 deg"),
    (station("skin_angles = [-5, 5]"), "wedge.station[1].skin_angles", "taper inverted"),
    (station('taper_rate = "1:-8"'), "wedge.station[1].taper_rate", "not a taper rate"),
    (station("taper_rate = 2.1"), "wedge.station[1].taper_rate", "at most 2"),
    (station("thickness = 5"), "wedge.station[1].thickness", "must be a table"),
    (
        station("thickness = { front = 1, rear = 2, width = 9 }"),
        "wedge.station[1].thickness.front",
        "taper inverted",
    ),
    (
        station("thickness = { front = 3, rear = -1, width = 9 }"),
        "wedge.station[1].thickness.rear",
        "at least 0",
    ),
    (
        station("thickness = { front = 30, rear = 1, width = 9 }"),
        "wedge.station[1].thickness.width",
        "45 deg a side",
    ),
    (
        station("thickness = { front = 3, rear = 1 }"),
        "wedge.station[1].thickness.width",
        "missing",
    ),
    (
        station('thickness = { front = 3, rear = 1, width = 9, along = "skin" }'),
        "wedge.station[1].thickness.along",
        '"chord" or "face"',
    ),
    (
        station("offsets = { front = [2, 1], rear = [0.4, -0.5], width = 9 }"),
        "wedge.station[1].offsets.rear",
        "negative thickness",
    ),
    (
        station("offsets = { front = [2, 1], rear = [2, 1], width = 9 }"),
        "wedge.station[1].offsets",
        "taper inverted",
    ),
    (
        station("offsets = { front = [20, 1], rear = [1, 1], width = 9 }"),
        "wedge.station[1].offsets",
        "45 deg a side",
    ),
    (
        station("readings = { a = -5.9, b = 5.6, chord = 0 }"),
        "wedge.station[1].readings",
        "taper inverted",
    ),
    (
        station("readings = { a = 5.9, b = -5.6 }"),
        "wedge.station[1].readings.chord",
        "missing",
    ),
    (
        station('outline = { file = "nowhere.dat", from = 0.9, chord = 400 }'),
        "wedge.station[1].outline.file",
        "no such file",
    ),
    (
        station('outline = { file = ".", from = 0.9, chord = 400 }'),
        "wedge.station[1].outline.file",
        "is a folder",
    ),
    (station("included_angle = 9\nplus_minus = -1"), "wedge.station[1].plus_minus", "at least 0"),
    (station("included_angle = 9\nplus_minus = {}"), "wedge.station[1].plus_minus", "empty"),
    (
        station("included_angle = 9\nplus_minus = { front = 1 }"),
        "wedge.station[1].plus_minus.front",
        'nearest is "angle"',
    ),
    (HEAD + ANGLE + "at = 5\n" + ANGLE + "at = 5\n", "wedge.station[2].at", "come after"),
    (HEAD + ANGLE + "at = 5\n" + ANGLE, "wedge.station[2].at", "missing"),
    # the holes
    (HEAD + ANGLE + HOLES.replace('"#40"', '"40"') + ROW, "holes.drill", 'write "#40"'),
    (HEAD + ANGLE + HOLES.replace("8", "0") + ROW, "holes.line", "more than 0"),
    (HEAD + ANGLE + HOLES + ROW.replace("10", "0"), "holes.count", "from 1 to 5000"),
    (HEAD + ANGLE + HOLES + ROW.replace("10", "5001"), "holes.count", "from 1 to 5000"),
    (HEAD + ANGLE + HOLES + ROW.replace("10", "5000"), "holes.count", "further than 100 m"),
    (HEAD + ANGLE + HOLES + ROW.replace("10", '"10"'), "holes.count", "whole number"),
    (HEAD + ANGLE + HOLES + ROW.replace("26", "0"), "holes.pitch", "more than 0"),
    (HEAD + ANGLE + HOLES + ROW + "positions = [1]\n", "holes.first", "not both"),
    (HEAD + ANGLE + HOLES + "positions = []\n", "holes.positions", "empty"),
    (HEAD + ANGLE + HOLES + "positions = [1, 3, 3]\n", "holes.positions[3]", "come after"),
    (
        HEAD + ANGLE + HOLES + f"positions = {list(range(5001))}\n",
        "holes.positions",
        "more than 5000",
    ),
    (HEAD + ANGLE + HOLES + ROW + "keep_out = [0]\n", "holes.keep_out[1]", "1 to 10"),
    (HEAD + ANGLE + HOLES + ROW + "keep_out = [3, 11]\n", "holes.keep_out[2]", "1 to 10"),
    (HEAD + ANGLE + HOLES + ROW + "keep_out = [3, 3]\n", "holes.keep_out[2]", "twice"),
    (HEAD + ANGLE + HOLES + ROW + "keep_out = [true]\n", "holes.keep_out[1]", "given true"),
    (HEAD + ANGLE + HOLES + ROW + "keep_out = 3\n", "holes.keep_out", "must be a list"),
    # the rest
    (HEAD + ANGLE + "[skin]\n", "skin.thickness", "missing"),
    (HEAD + ANGLE + "[skin]\nthickness = [0.5, 0]\n", "skin.thickness[2]", "more than 0"),
    (HEAD + ANGLE + '[rivet]\nsize = "-7"\n', "rivet.size", "no rivet in the tables"),
    (HEAD + ANGLE + '[rivet]\nsize = "-3"\nhead = 4\n', "rivet.size", "keep one"),
    (HEAD + ANGLE + "[allow]\ndrift = 0\n", "allow.drift", "more than 0"),
    (HEAD + ANGLE + "[guide]\nlayers = 3\n", "guide.layers", "glued on now"),
    (HEAD + ANGLE + "[guide]\nedge = 58\n", "guide.edge", "see drill.length"),
    (HEAD + ANGLE + "[guide]\nchuck = 36\n", "guide.chuck", "drill.nose"),
    (HEAD + ANGLE + "[block]\nheight = 40\n", "block.height", "see block.length"),
    (HEAD + ANGLE + "[corner]\nheight = 6\n", "corner", "see [guide]"),
    (HEAD + ANGLE + "[block]\nbore = 3\ninside = 3\n", "block.inside", "smaller than bore"),
    (HEAD + ANGLE + '[print]\npaper = "a44"\n', "print.paper", 'nearest is "a4"'),
    (HEAD + ANGLE + "[print]\npaper = [0, 100]\n", "print.paper[1]", "at least 50 mm"),
    (HEAD + ANGLE + "[print]\nmargin = 105\n", "print.margin", "no paper"),
    (HEAD + ANGLE + "[print]\nscale_x = 0\n", "print.scale_x", "at least 0.5"),
    (HEAD + ANGLE + '[print]\nscale_x = "1:2"\n', "print.scale_x", "plain number"),
    (HEAD + ANGLE + "[cut]\nkerf = -0.1\n", "cut.kerf", "at least 0"),
    (HEAD + ANGLE + "[cut]\nkerf = 5.1\n", "cut.kerf", "at most 5 mm"),
    (HEAD + ANGLE + "[cut]\nkerf = 2026-01-01\n", "cut.kerf", "a date"),
    (HEAD + ANGLE + '[cut]\ntext = "dead"\n', "cut.text", "not known"),
    (HEAD + ANGLE + '[cut]\ncolours = { CUT = "red" }\n', "cut.colours.CUT", "#rrggbb"),
    (HEAD + ANGLE + '[cut]\ncolours = { CUTS = "#000000" }\n', "cut.colours.CUTS", "nearest"),
]


@pytest.mark.parametrize(("text", "key", "said"), ONE_FAULT)
def test_a_fault_names_its_key_and_what_would_do(text, key, said):
    """One slip gives one line that says where it is: a second line would send the user astray."""
    faults = faults_of(text)
    assert [key] == [fault.key for fault in faults]
    line = str(faults[0])
    assert line.startswith(f"tab.toml: {key}: ")
    assert said in line


def test_all_faults_of_a_file_are_told_at_once():
    """The user mends the file in one go."""
    text = (
        'format = 1\nname = ""\nunits = "cm"\n[wedge]\ndept = 3\n[[wedge.station]]\n'
        "at = inf\nskin_angles = [1, 99]\n[skin]\nthickness = -1\n[holes]\ndrill = 2.5\n"
    )
    assert [fault.key for fault in faults_of(text)] == [
        "name",
        "units",
        "wedge.dept",
        "wedge.station[1].at",
        "wedge.station[1].skin_angles[2]",
        "skin.thickness",
        "holes.line",
        "holes.first",
        "holes.pitch",
        "holes.count",
    ]


def test_a_list_full_of_faults_does_not_flood_the_terminal():
    """Ten lines show the cause; five thousand hide every other fault."""
    faults = faults_of(HEAD + ANGLE + HOLES + f"positions = {['x'] * 5000}\n")
    assert len(faults) == 10


@pytest.mark.parametrize(
    ("text", "key", "said"),
    [
        (HEAD + "x =\n", "line 4", "not valid TOML"),
        (HEAD + "name = 2\n", "line 4", "not valid TOML"),
        (HEAD + 'x = "', "last line", "not valid TOML"),
        (HEAD + f"x = {'9' * 5000}\n", "", "holds a number of thousands of digits"),
        ("x = " + "[" * 5000, "", "nested too deeply"),
    ],
)
def test_text_that_is_not_toml_is_a_fault_with_its_line(text, key, said):
    """A missing quote is the usual slip of somebody who has never seen such a file."""
    (fault,) = faults_of(text)
    assert key == fault.key
    assert said in str(fault)


@pytest.mark.parametrize(
    ("line", "remedy"),
    [
        ("drill = 7/16", '"7/16 in"'),
        ("thickness = { front = 1 1/4, rear = 0 }", '"1 1/4 in"'),
        ("line = 8,5", "8.5"),
        ("line = 8.5 mm", '"8.5 mm"'),
        ("sweep = 9 deg", '"9 deg"'),
        ("drill = #40", 'write "#40"'),
        ("drill = #40  # as punched", 'write "#40"'),
        ("thickness = .187", "write 0.187"),
        ("skin = [.016, .020]", "write 0.016"),
        ("thickness = { front = .187, rear = 0.05 }", "write 0.187"),
        ("at = -.5", "write -0.5"),
        ("offsets = { front = [3,45, 1,05], width = 20 }", "[3.45, 1.05]"),
        ("front = [3,45, 1,05]", "[3.45, 1.05]"),
        ("units = mm", 'write "mm"'),
        ("drill = letter F", 'write "letter F"'),
        ("thickness = { front = 3, along = chord }", 'write "chord"'),
    ],
)
def test_the_first_slips_in_a_file_are_answered_with_what_to_write(line, remedy):
    """Somebody who writes as he would on paper must not need to learn TOML's grammar first."""
    (fault,) = faults_of(HEAD + line + "\n")
    assert remedy in str(fault.remedy)


def test_a_name_that_is_empty_is_not_answered_with_leave_it_out():
    """The name is needed: a remedy that makes the next fault is none."""
    (fault,) = faults_of('format = 1\nname = ""\nunits = "mm"\n' + ANGLE)
    assert "leave" not in str(fault.remedy)


def test_a_whole_number_too_long_to_be_printed_is_a_fault():
    """TOML takes hexadecimal numbers of any length."""
    (fault,) = faults_of(HEAD + ANGLE + f"at = 0x{'f' * 9000}\n")
    assert fault.key == "wedge.station[1].at"
    assert "is a number of more than 15 digits" in str(fault)


@pytest.mark.parametrize("given", [b"\xff\xfe", b"a = 1\nb = '\xe9'\n"])
def test_a_file_that_is_not_utf8_is_a_fault(tmp_path, given):
    """An old editor may save accents in another encoding."""
    path = tmp_path / "job.toml"
    path.write_bytes(given)
    with pytest.raises(JobError, match="is not UTF-8 text"):
        read_job(path)


def test_a_file_that_is_not_there_or_is_a_folder_is_a_fault(tmp_path):
    """The line names the file as the user typed it."""
    for place, said in ((tmp_path, "directory"), (tmp_path / "no.toml", "No such file")):
        with pytest.raises(JobError, match=said) as refused:
            read_job(place)
        assert str(refused.value).startswith(f"{place}: cannot be read")


def test_a_file_name_with_a_null_character_is_a_fault():
    """A name that no disk can hold must not end in a traceback."""
    with pytest.raises(JobError, match="bad name"):
        read_job("a\0b")


def test_an_enormous_file_is_refused_before_it_is_read(tmp_path):
    """Somebody gave the name of a film."""
    path = tmp_path / "film.toml"
    with path.open("wb") as stream:
        stream.truncate(5_000_001)
    with pytest.raises(JobError, match="too large"):
        read_job(path)


def test_a_fault_shows_no_control_characters_of_the_file():
    """A key with an escape sequence could otherwise repaint the terminal."""
    (fault,) = faults_of(HEAD + '"\\u001b[2J" = 1\n' + ANGLE)
    assert str(fault).isprintable()


def test_every_line_with_a_usual_slip_is_named_at_once() -> None:
    """The reader of TOML stops at the first; a job with four commas took five runs."""
    text = HEAD + 'x = 0,5\ny = "= 3,5"\nz = 1,5 mm # = 2,5\nw = 3/8\nv = 6 mm\n'
    with pytest.raises(JobError) as caught:
        read_job_text(text, "job.toml", Path())
    found = [(fault.key, str(fault.remedy)) for fault in caught.value.faults]
    first = len(HEAD.splitlines()) + 1
    assert found == [
        (f"line {first}", "write a decimal point: 0.5"),
        (f"line {first + 2}", 'write a decimal point: "1.5 mm", in quotes since it has a unit'),
        (f"line {first + 3}", 'write it with its unit, "3/8 in"'),
        (f"line {first + 4}", 'write "6 mm"'),
    ]


@pytest.mark.parametrize(
    ("body", "key", "said"),
    [
        ('thickness = { front = "3/16", rear = 1, width = 20 }', "front", 'write "3/16 in"'),
        ('thickness = { front = "3,45", rear = 1, width = 20 }', "front", "write 3.45"),
        ("offsets = { front = [3,45, 1,85], rear = [0.4, 0.4], width = 20 }", "front",
         "[3.45, 1.85]"),
        ("skin_angles = [5,5, 3,2]", "skin_angles", "[5.5, 3.2]"),
    ],
)  # fmt: skip
def test_a_fraction_or_a_comma_is_answered_with_what_to_write(body, key, said):
    """A list of four whole numbers is a list of two with commas, and no quarrel about length."""
    (fault,) = faults_of(station(body))
    assert fault.key.endswith(key)
    assert said in str(fault)


def test_a_bare_fraction_counts_in_inches_in_an_inch_job():
    """It is what stands on the rule."""
    head = HEAD.replace('"mm"', '"in"')
    body = '[[wedge.station]]\nthickness = { front = "3/16", rear = "1/32", width = "7/8" }\n'
    job = f'{head}{body}[holes]\ndrill = "3/32"\nline = "3/8"\n{ROW}'.replace("26", "1")
    job = read_job_text(job, "t", Path())
    assert job.wedge.stations[0].values["front"] == 4.7625
    assert (job.holes.drill, job.holes.drill_name) == (2.38125, "3/32 in")


def test_a_line_of_thousands_of_quotes_is_answered_at_once():
    """A file of another kind must not hang the reader."""
    text = HEAD + 'x = "' + '\\"' * 20_000 + "\nfront = .5\n"
    faults = faults_of(text)
    assert any("0.5" in fault.remedy for fault in faults)


def test_a_key_of_thousands_of_parts_is_a_fault():
    """Nobody nests so deep; whoever does must not see a traceback."""
    (fault,) = faults_of(HEAD + ANGLE + ".".join(["a"] * 20_000) + " = 1\n")
    assert fault.problem


def test_numbers_of_thousands_of_digits_are_faults():
    """They overflow what a length can be."""
    for number in ("9" * 400, "-" + "9" * 400, "1e999", "0x" + "f" * 5000):
        (fault,) = faults_of(station(f"thickness = {{ front = {number}, rear = 1, width = 20 }}"))
        assert fault.key.endswith("front")


def test_a_name_that_the_user_wrote_is_told_as_he_wrote_it():
    """A side called "2 mm skin" came out as "0.079 in skin"."""
    head = HEAD.replace('"mm"', '"in"').replace("Tab", "3 mm edge, 2.5 mm drill")
    text = (
        head
        + 'sides = ["2 mm skin", "12 mm spar"]\n'
        + station("skin_angles = [9.2, -3]")[len(HEAD) :]
    )
    solution = solve(read_job_text(text, "4 mm.toml", Path()))
    told = [say(check.why, "in") for check in solution.checks]
    assert any("the 12 mm spar face thins forward" in why for why in told)
    assert not any(" in skin" in why or " in spar" in why for why in told)
    (fault,) = faults_of(head + station('thickness = { front = "5 mm wide" }')[len(HEAD) :])[:1]
    assert '"5 mm wide"' in str(fault)
