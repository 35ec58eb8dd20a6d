import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from verifysamples import DRAWN, faults_of, filled

from jiggen.errors import Fault, JobError
from jiggen.readings import read_readings, read_readings_text, readings_template


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_blank_form_reads_as_nothing_measured(units: str) -> None:
    """A form straight from the printer must not be an error, nor a reading."""
    form = readings_template(DRAWN, units)
    readings = read_readings_text(form, "readings.toml", DRAWN)
    assert readings.job == "demo flap"
    assert set(readings.sheets) == {"page 1", "page 2", "cut-1"}
    assert set(readings.pieces) == {"guide-a1", "strip-a", "guide-b1"}
    assert not any([*readings.sheets.values(), *readings.pieces.values()])


def test_the_form_lists_every_bar_with_its_nominal_value() -> None:
    """The user fills in beside the number that he should find."""
    form = tomllib.loads(readings_template(DRAWN, "mm"))
    first = form["sheet"][0]
    assert first["lengths"][0] == {
        "name": "bar-x",
        "nominal": "100.000 mm",
        "measured": "",
    }
    assert [n["name"] for n in first["lengths"]] == [
        *("bar-x", "bar-y", "diagonal-1", "diagonal-2", "bar-x-in")
    ]
    inches = tomllib.loads(readings_template(DRAWN, "in"))["sheet"][0]["lengths"]
    assert inches[0] == {"name": "bar-x-in", "nominal": "4.0000 in", "measured": ""}


def test_bare_numbers_count_in_the_files_units_and_text_in_its_own() -> None:
    """3 7/8 in among millimetres is read as what it says."""
    form = filled(readings_template(DRAWN, "mm"), "bar-x", "98.5")
    form = filled(form, "bar-y", '"3 7/8 in"')
    readings = read_readings_text(form, "readings.toml", DRAWN)
    assert [r.measured for r in readings.sheets["page 1"]] == [98.5, pytest.approx(98.425)]
    form = filled(readings_template(DRAWN, "in"), "bar-x", "3.94")
    (one,) = read_readings_text(form, "readings.toml", DRAWN).sheets["page 1"]
    assert one.measured == pytest.approx(100.076)
    assert one.step == pytest.approx(25.4 / 64)


def test_a_step_may_be_set_for_the_file_a_sheet_or_one_reading() -> None:
    """Bars by rule, the piece by calliper: each reading has its own doubt."""
    text = """
    format = 1
    step = 1.0
    [[sheet]]
    name = "page 1"
    step = 0.5
    lengths = [
      { name = "bar-x", measured = 99.5 },
      { name = "bar-y", measured = 99.9, plus_minus = 0.2 },
    ]
    [[piece]]
    name = "guide-a1"
    lengths = [ { name = "A-B", measured = 60.05, step = 0.05 } ]
    """
    readings = read_readings_text(text, "readings.toml", DRAWN)
    bar_x, bar_y = readings.sheets["page 1"]
    assert bar_x.standard == pytest.approx(0.5 / 12**0.5)
    assert bar_y.standard == pytest.approx(0.1)
    assert readings.pieces["guide-a1"][0].standard == pytest.approx(0.05 / 12**0.5)


def test_all_faults_are_said_at_once_each_with_its_key() -> None:
    """One run, one list: nobody mends a form a line at a time."""
    form = readings_template(DRAWN, "mm")
    form = filled(form, "bar-x", '"98,5 mm"')
    form = filled(form, "bar-y", "-3")
    form = form.replace("format = 1", "format = 7").replace("step = 0.5", "step = nan")
    form = form.replace('name = "strip-a"', 'name = "strip-b"').replace("by =", "bye =")
    found = faults_of(form)
    assert set(found) == {
        *("format", "step", "bye", "piece[2].name"),
        *("sheet[1].lengths[1].measured", "sheet[1].lengths[2].measured"),
    }
    assert "98,5 mm" in found["sheet[1].lengths[1].measured"]
    assert 'nearest is "by"' in found["bye"]
    assert "strip-a" in found["piece[2].name"]


def test_a_form_of_other_drawings_is_refused() -> None:
    """Last week's readings must not judge today's page."""
    form = readings_template(DRAWN, "mm").replace("100.000 mm", "120.000 mm", 1)
    found = faults_of(form)
    assert "other drawings" in found["sheet[1].lengths[1].nominal"]


def test_a_name_that_is_there_twice_is_refused() -> None:
    """Two readings of one bar: which one is meant?"""
    form = readings_template(DRAWN, "mm")
    form = form.replace('name = "bar-x-in"', 'name = "bar-x"', 1)
    assert "twice" in faults_of(form)["sheet[1].lengths[5].name"]


def test_a_test_hole_is_read_whole_or_left_blank() -> None:
    """Half a test hole is a forgotten reading."""
    head = 'format = 1\nunits = "mm"\nstep = 0.05\n[[test_hole]]\n'
    blank = head + 'piece = ""\nthickness = ""\nentry = ["", ""]\nexit = ["", ""]\n'
    assert read_readings_text(blank, "readings.toml", DRAWN).test_holes == ()
    half = head + "thickness = 20.0\nentry = [10.0, 12.0]\n"
    assert set(faults_of(half)) == {"test_hole[1].exit"}
    whole = half + 'exit = [12.0, 12.05]\npiece = "guide-a1"\n'
    (hole,) = read_readings_text(whole, "readings.toml", DRAWN).test_holes
    assert [r.measured for r in hole.exit] == [12.0, 12.05]
    assert hole.thickness.step == 0.05


def test_a_date_may_be_written_as_a_date() -> None:
    """TOML has dates, and people who know it use them."""
    text = 'format = 1\ndate = 2026-03-01\nby = "K."\n'
    readings = read_readings_text(text, "readings.toml")
    assert (readings.date, readings.by) == ("2026-03-01", "K.")


def test_a_file_that_cannot_be_read_is_one_clear_fault(tmp_path) -> None:
    """No traceback in the workshop."""
    with pytest.raises(JobError, match="cannot be read"):
        read_readings(tmp_path / "none.toml")
    bad = tmp_path / "bad.toml"
    bad.write_bytes(b"\xff\xfe")
    with pytest.raises(JobError, match="UTF-8"):
        read_readings(bad)
    bad.write_text("measured = = 3")
    with pytest.raises(JobError, match="TOML"):
        read_readings(bad)


values = st.recursive(
    st.one_of(
        st.none().map(lambda _: ""),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=8),
        st.sampled_from(["3 7/8 in", "98.5 mm", "page 1", "bar-x", "A-B"]),
    ),
    lambda inner: st.lists(inner, max_size=3),
    max_leaves=4,
)
keys = st.sampled_from(
    ["name", "nominal", "measured", "step", "plus_minus", "lengths", "entry", "exit", "thickness"]
)
rows = st.dictionaries(keys, st.one_of(values, st.lists(st.dictionaries(keys, values), max_size=3)))


def as_toml(value: object) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            escaped = "".join(f"\\U{ord(c):08x}" for c in value)
            return f'"{escaped}"'
        case list():
            return "[" + ", ".join(as_toml(v) for v in value) + "]"
        case dict():
            return "{" + ", ".join(f"{k} = {as_toml(v)}" for k, v in value.items()) + "}"
        case _:
            return str(value)


def faults_found(text: str) -> tuple[Fault, ...]:
    """Return the faults of a text; none where it can be read."""
    try:
        read_readings_text(text, "readings.toml", DRAWN)
    except JobError as error:
        return error.faults or (Fault(file="", key="", problem=""),)
    return ()


@settings(max_examples=150, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["sheet", "piece", "test_hole", "step", "by"]),
        st.one_of(values, st.lists(rows, max_size=2)),
    )
)
def test_nonsense_ends_in_faults_that_name_the_key(raw: dict) -> None:
    """Whatever is in the file, the answer is a list of what to mend, never a crash."""
    text = "format = 1\n" + "\n".join(f"{k} = {as_toml(v)}" for k, v in raw.items())
    for fault in faults_found(text):
        assert str(fault.problem)
        assert fault.key or "TOML" in str(fault.problem)
