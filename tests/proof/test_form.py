"""The blank form: few numbers first, each said in words, and read back as people fill it in."""

import re
import tomllib

import pytest
from commandline import FLAP, PROJECT
from hypothesis import given, settings
from hypothesis import strategies as st
from measuring import FIRST, Bench, blanks

from jiggen.errors import Fault, JobError
from jiggen.proof.form import MORE, form_text
from jiggen.proof.readings import Readings, read_form, read_form_text
from jiggen.proof.record import LengthRecord, PieceRecord, Record, SheetRecord, read_record

#: One hole and a wedge alike on both sides: one guide serves both.
ONE_GUIDE = FLAP.replace("[7.5, 3.0]", "[5.0, 5.0]").replace("[5.5, 2.6]", "[5.0, 5.0]")


def only_guide(tmp_path, job=ONE_GUIDE):
    """Return a job with one guide on one page."""
    bench = Bench(folder=tmp_path, job=job)
    bench.make(only=("guide",))
    return bench


def halves(bench):
    """Return the blanks above the line and those below it."""
    first, _, more = bench.form.read_text("utf-8").partition(MORE)
    return blanks(first), blanks(more)


def test_a_job_with_one_guide_is_asked_for_at_most_twelve_numbers_first(tmp_path):
    """A form of a hundred blanks stays blank."""
    first, more = halves(only_guide(tmp_path))
    assert len(first) <= 12
    assert [(kind, name) for kind, _, name in first[:4]] == [
        ("page", "bar-x"), ("page", "bar-y"), ("page", "diagonal-1"), ("page", "diagonal-2"),
    ]  # fmt: skip
    assert {(kind, name) for kind, name, _ in first[4:]} == {
        ("piece", "guide-1"), ("piece", "guide-1-edge"),
    }  # fmt: skip
    assert {kind for kind, _, _ in more} == {"page", "test_hole"}


def test_the_numbers_asked_first_decide_the_page_and_the_guide(tmp_path):
    """Who measured all that was asked for, truly but as badly rounded as can be, is done."""
    bench = only_guide(tmp_path)
    first, _ = halves(bench)
    sizes = {"page": bench.record.pages[0].measurable()}
    sizes |= {name: piece.sizes for name, piece in bench.record.pieces.items()}
    for kind, name, length in first:
        size, step = sizes.get(name, sizes["page"])[length], 0.5 if kind == "page" else 0.05
        bench.fill(kind, name, {length: int(size.nominal / step) * step})
    found = bench.verify()
    assert {piece["verdict"] for piece in (*found["pieces"], *found["finished"])} == {"use"}
    assert {piece["name"] for piece in found["finished"]} == {"guide-1", "guide-1-edge"}


def test_of_an_edge_one_length_more_is_asked_than_fixes_its_shape(bench):
    """Five lengths that fix five unknowns contradict nothing: a burr goes into the angle unseen."""
    first, more = halves(bench)
    forward = [name for kind, piece, name in first if (kind, piece) == ("piece", "guide-a1")]
    # A, B, C and E are four points, eight numbers, less the three of their place on the sheet.
    assert {letter for name in forward for letter in name.split("-")} == set("ABCE")
    assert len(forward) == 2 * 4 - 3 + 1
    assert {name for kind, piece, name in more if piece == "guide-a1"} & set(forward) == set()


def test_a_gauge_is_asked_for_one_length_more_too(tmp_path):
    """A plate whose V is a hair off passes the wrong wedge."""
    bench = Bench(folder=tmp_path, job=FLAP)
    bench.make(only=("gauge",))
    first, _ = halves(bench)
    asked = [name for kind, piece, name in first if piece == "gauge-1-thin"]
    assert len(asked) == 2 * 4 - 3 + 1


def test_all_else_stands_below_the_line_and_what_tells_most_comes_first(tmp_path):
    """A page is printed like the first, or its one diagonal tells; a row is measured as a whole."""
    bench = Bench(folder=tmp_path, job=ONE_GUIDE + "\n[gauge]\n[strip]\n")
    bench.make()
    first, more = halves(bench)
    assert len(first) <= 12
    assert more[0] == ("piece", "strip-joined", "whole")
    whole = bench.record.pieces["strip-joined"].lengths[0].nominal
    assert f"{whole:.2f} mm; lower cross to lower cross" in bench.form.read_text("utf-8")
    assert not any(re.fullmatch(r"strip-\d", name) for _, name, _ in more)
    told = {name: length for _, name, length in reversed(more) if name.startswith("page")}
    assert told.pop(FIRST) == "side-x"
    assert len(told) >= 2
    assert set(told.values()) == {"diagonal-1"}


def test_every_blank_says_what_it_should_be_and_how_it_is_read(bench):
    """Letters and names mean nothing to somebody who holds a calliper, not the program."""
    text = bench.form.read_text("utf-8")
    rows = [line for line in text.splitlines() if re.match(r'"?[\w/ -]+"? = ""  ', line)]
    lengths = [row for row in rows if not row.startswith(("piece", "thickness"))]
    assert len(lengths) > 20
    assert [row for row in lengths if not re.search(r"# \d+\.\d\d mm; .*\w \w", row)] == []
    across = bench.record.pieces["guide-a1"].sizes["A-B"].nominal
    assert f'A-B = ""      # {across:.2f} mm; over corners A and B' in text


def test_the_blank_form_reads_as_nothing_measured(bench):
    """A form straight from the folder must not be an error, nor a reading."""
    record = bench.record
    assert read_form(bench.form, record) == Readings(files=(str(bench.form),))
    inches = form_text(record, "in")
    assert read_form_text(inches, "f", record) == Readings(files=("f",))
    assert tomllib.loads(inches)["rule"] == "1/64 in"
    assert not re.search(r"\d mm\b", inches.partition("format")[2])


def test_one_line_of_strange_words_stays_a_remark(bench):
    """A line end in the words of a length would begin a line of the file."""
    manifest = bench.manifest
    manifest["how"]["guide-a1/A-B"] = 'over "A"\nand = "B"'
    text = form_text(read_record(manifest), "mm")
    assert ' mm; over "A" and = "B"' in text
    assert read_form_text(text, "f", bench.record).pieces == {}


def one(bench, written, units="mm", kind="page", name=FIRST, length="bar-x"):
    """Return the reading of one length as it is written in a form."""
    text = form_text(bench.record, units).replace(f'\n{length} = ""', f"\n{length} = {written}", 1)
    readings = read_form_text(text, "f", bench.record)
    (reading,) = (readings.sheets if kind == "page" else readings.pieces)[name]
    return reading


def test_numbers_count_in_the_forms_units_and_text_in_its_own(bench):
    """The blank is "" and the reader types into it: that is no fault of his."""
    assert one(bench, "98.5").measured == one(bench, '"98.5"').measured == 98.5
    assert one(bench, '"3 7/8 in"').measured == pytest.approx(98.425)
    assert one(bench, "3.94", "in").measured == pytest.approx(100.076)
    assert one(bench, '"3 63/64"', "in").measured == pytest.approx(101.203125)
    assert one(bench, '"99.5 mm"', "in").measured == 99.5


def test_pages_are_read_by_rule_and_pieces_by_calliper_unless_it_is_stated(bench):
    """Bars by rule, the piece by calliper: each reading has its own doubt, and none is nothing."""
    rule, calliper = (
        one(bench, "98.5"),
        one(bench, "15.10", kind="piece", name="guide-a1", length="A-B"),
    )
    # 0.5 and 0.05 mm of step (GUM 4.3.7: over the root of twelve) with what repeats no better.
    assert rule.standard == pytest.approx((0.5**2 / 12 + 0.1**2) ** 0.5)
    assert calliper.standard == pytest.approx((0.05**2 / 12 + 0.03**2) ** 0.5)
    stated = one(bench, "{ measured = 99.9, plus_minus = 0.2 }")
    assert stated.standard == pytest.approx(0.1)
    fine = one(bench, "{ measured = 99.9, step = 0.2 }")
    assert fine.standard == pytest.approx((0.2**2 / 12 + 0.1**2) ** 0.5)


def faults_of(text, record):
    """Return the faults of a form by their keys."""
    with pytest.raises(JobError) as caught:
        read_form_text(text, "readings.toml", record)
    assert all(fault.file == "readings.toml" for fault in caught.value.faults)
    return {fault.key: str(fault) for fault in caught.value.faults}


def test_what_no_calliper_spans_is_read_by_rule():
    """A strip of a metre is not known to a fiftieth of a millimetre."""
    sizes = tuple(
        LengthRecord(name=name, nominal=mm, start=(0.0, 0.0), end=(mm, 0.0))
        for name, mm in (("whole", 1173.0), ("across", 38.6))
    )
    piece = PieceRecord(name="strip", title="", mark="ab" * 8, lengths=sizes)
    record = Record(job="j", sheets=(SheetRecord(name="roll", pieces=(piece,), printed=False),))
    form = form_text(record, "mm")
    assert 'whole = ""      # 1173.00 mm; by rule' in form
    filled = form.replace('whole = ""', "whole = 1173.5").replace('across = ""', "across = 38.6")
    whole, across = read_form_text(filled, "f.toml", record).pieces["strip"]
    assert (whole.step, across.step) == (0.5, 0.05)
    assert whole.standard > 4.0 * across.standard


def test_all_faults_are_said_at_once_each_by_the_name_of_its_thing(bench):
    """Nobody counts to the third length of the second table with a page in his hand."""
    text = bench.form.read_text("utf-8")
    for blank, written in (
        ('bar-x = ""', 'bar-x = "wide"'),
        ('bar-y = ""', "bar-y = -3"),
        ('A-E = ""', 'A-E = "57,7"'),
        ("format = 2", "format = 7"),
        ("rule = 0.5", "rule = nan"),
        ('name = "guide-b1"', 'name = "giude-b1"'),
        ('by = ""', 'bye = ""'),
        ('thickness = ""', 'thickness = "25"'),
        ('job = "Flap edge, left"', 'job = "Other"'),
    ):
        assert blank in text
        text = text.replace(blank, written, 1)
    found = faults_of(text, bench.record)
    assert set(found) == {
        *("format", "rule", "bye", "job", "piece[3].name"),
        *(
            f"{FIRST}.bar-x",
            f"{FIRST}.bar-y",
            "guide-a1.A-E",
            "test_hole[1].entry",
            "test_hole[1].exit",
        ),
    }
    assert 'nearest is "guide-b1"' in found["piece[3].name"]
    assert 'nearest is "by"' in found["bye"]
    assert 'is not the job of these drawings, which is "Flap edge, left"' in found["job"]
    assert "comma" in found["guide-a1.A-E"]


def test_two_readings_of_one_thing_that_differ_are_refused(bench):
    """Which of the two is meant?"""
    text = bench.form.read_text("utf-8").replace('side-x = ""', 'side-x = ""\nbar-x = 99.0', 1)
    text = text.replace('bar-x = ""', "bar-x = 99.5", 1)
    assert "twice" in faults_of(text, bench.record)[f"{FIRST}.bar-x"]


def test_a_form_of_an_earlier_jiggen_is_told_so(bench):
    """Its names and its bars are others."""
    old = 'format = 1\n[[sheet]]\nname = "page 1"\nlengths = []\n'
    found = faults_of(old, bench.record)
    assert "fill in the form of a new make" in found["format"]


def test_a_test_hole_is_read_whole_or_left_blank(bench):
    """Half a test hole is a forgotten reading."""
    head = "format = 2\n[[test_hole]]\n"
    blank = head + 'piece = ""\nthickness = ""\nentry = ["", ""]\nexit = ["", ""]\n'
    assert read_form_text(blank, "f", bench.record).holes == ()
    half = head + "thickness = 20.0\nentry = [10.0, 12.0]\n"
    assert set(faults_of(half, bench.record)) == {"test_hole[1].exit"}
    whole = half + 'exit = ["12.0", "12.05"]\npiece = "guide-a1"\n'
    (hole,) = read_form_text(whole, "f", bench.record).holes
    assert [r.measured for r in hole.exit] == [12.0, 12.05]
    assert hole.thickness.step == 0.05


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("", 'is blank, so nobody can tell how the hole should lean, given ""; name what the'),
        ("guide", 'may be more than one piece, given "guide"; write guide-a1 or guide-b1'),
        ("guide-foot", "leads no drill, so a test hole says nothing of it"),
        ("giude-b1", 'is not on the drawings, given "giude-b1"; nearest is "guide-b1"'),
    ],
)
def test_a_test_hole_names_what_it_was_drilled_with(typed, told, bench):
    """A hole judged as square, or by the other side's guide, passes what is bad."""
    text = (
        f'format = 2\n[[test_hole]]\npiece = "{typed}"\nthickness = 20\nentry = [9, 9]\n'
        "exit = [8, 9]\n"
    )
    assert told in faults_of(text, bench.record)["test_hole[1].piece"]


def test_slips_of_writing_are_named_line_by_line(bench):
    """One a run, in the words of a TOML reader, is an evening's work."""
    text = bench.form.read_text("utf-8").replace("rule = 0.5 ", "rule = 0,5 ", 1)
    for written in ("99,5", "259 mm", "3 7/8"):
        text = re.sub(r'(?m)^([a-z]+-[xy12]) = ""', rf"\1 = {written}", text, count=1)
    bench.form.write_text(text, "utf-8")
    lines = bench.refused().splitlines()
    assert [line.partition(": line ")[2].partition(": ")[2] for line in lines] == [
        "has a comma in a number; write a decimal point: 0.5",
        "has a comma in a number; write a decimal point: 99.5",
        'has a unit without quotes; write "259 mm"',
        'has a fraction without quotes; write it with its unit, "3 7/8 in"',
    ]


def test_a_file_that_cannot_be_read_is_one_clear_fault(bench, tmp_path):
    """No traceback in the workshop."""
    bad = tmp_path / "bad.toml"
    for data, told in (
        (b"\xff\xfe", "UTF-8"),
        (b"measured = = 3", "TOML"),
        (b" " * 6_000_000, "large"),
    ):
        bad.write_bytes(data)
        assert told in bench.refused("--readings", bad)
    assert "cannot be read" in bench.refused("--readings", tmp_path / "none.toml")
    assert "is a job file, not a readings form" in bench.refused("--readings", bench.file)


def test_a_date_may_be_written_as_a_date(bench):
    """TOML has dates, and people who know it use them."""
    readings = read_form_text('format = 2\ndate = 2026-03-01\nby = "K."\n', "f", bench.record)
    assert (readings.date, readings.by) == ("2026-03-01", "K.")


values = st.recursive(
    st.one_of(
        st.none().map(lambda _: ""),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=8),
        st.sampled_from(["3 7/8 in", "98.5 mm", "page 1", "bar-x", "A-B", "guide-a1"]),
    ),
    lambda inner: st.lists(inner, max_size=3),
    max_leaves=4,
)
keys = st.sampled_from(
    ["name", "bar-x", "A-B", "step", "plus_minus", "piece", "entry", "exit", "thickness", "slot"]
)
tables = st.dictionaries(keys, st.one_of(values, st.dictionaries(keys, values, max_size=2)))


def as_toml(value):
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return '"' + "".join(f"\\U{ord(c):08x}" for c in value) + '"'
        case list():
            return "[" + ", ".join(as_toml(v) for v in value) + "]"
        case dict():
            return "{" + ", ".join(f"{k} = {as_toml(v)}" for k, v in value.items()) + "}"
        case _:
            return str(value)


def faults_found(text, record):
    """Return the faults of a text; none where it can be read."""
    try:
        read_form_text(text, "readings.toml", record)
    except JobError as error:
        return error.faults or (Fault(file="", key="", problem=""),)
    return ()


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """Return the record of drawings."""
    bench = Bench(folder=tmp_path_factory.mktemp("fuzz"), job=ONE_GUIDE + "\n")
    bench.make(formats=("pdf",))
    return bench.record


@settings(max_examples=200, deadline=None)
@given(
    raw=st.dictionaries(
        st.sampled_from(["page", "bed", "piece", "test_hole", "coupon", "marks", "rule", "by"]),
        st.one_of(values, st.lists(tables, max_size=2), tables),
    )
)
def test_nonsense_ends_in_faults_that_name_the_key(raw, drawn):
    """Whatever is in the file, the answer is a list of what to mend, never a crash."""
    text = "format = 2\n" + "\n".join(f"{k} = {as_toml(v)}" for k, v in raw.items())
    for fault in faults_found(text, drawn):
        assert fault.problem
        assert fault.key or "TOML" in str(fault.problem)


def test_an_inch_job_asks_in_inches(tmp_path):
    """Whoever has an inch rule in his hand works out every length for himself, or gives up."""
    job = (PROJECT / "templates" / "tapered-inch.toml").read_text("utf-8")
    bench = Bench(folder=tmp_path, job=job)
    bench.make(only=("guide",))
    text = bench.form.read_text("utf-8")
    assert 'bar-x = ""      # 4.000 in; the bar, lower side' in text
    assert not re.search(r"\d mm\b", text.partition("format")[2])
