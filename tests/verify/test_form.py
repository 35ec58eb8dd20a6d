"""The form says which few blanks are needed, what each means, and reads what people type."""

import re
import tomllib

import pytest
from verifysamples import DRAWN, faults_of, filled, guide, length, manifest, strip

from jiggen.readings import read_readings_text, readings_template
from jiggen.units import UnitError, read_length

HOLE = 'format = 1\n[[test_hole]]\npiece = "{}"\nthickness = 20\nentry = [9, 9]\nexit = [8, 9]\n'


def block(name: str, angle: str, degrees: float) -> dict:
    """Return the record of a layer of a block, with the corner that it leads a drill at."""
    record = guide(name, angle=degrees)
    return record | {"kind": "block", "angles": [record["angles"][0] | {"name": angle}]}


def foot() -> dict:
    sizes = [length("width", (0, 0), (60, 0))]
    return {"name": "foot", "kind": "foot", "angles": [], "dimensions": sizes}


BLOCKS = manifest(
    [
        *(guide("guide-a1"), guide("guide-b1", angle=87.0), foot(), strip()),
        *(block("block-a1-solid", "forward", 84.3), block("block-a1-half", "aft", 95.7)),
        block("block-b1-solid", "forward", 87.0),
    ]
)


def test_a_number_between_the_forms_own_quotes_is_read_like_a_bare_one() -> None:
    """The blank is "" and the reader types into it: that is no fault of his."""
    form = filled(readings_template(DRAWN, "mm"), "bar-x", '"99.5"')
    (one,) = read_readings_text(form, "readings.toml", DRAWN).sheets["page 1"]
    assert one.measured == 99.5
    form = filled(readings_template(DRAWN, "in"), "bar-x-in", '"3 63/64"')
    (one,) = read_readings_text(form, "readings.toml", DRAWN).sheets["page 1"]
    assert one.measured == pytest.approx(101.203125)
    hole = HOLE.format("").replace("[9, 9]", '["9.0", "9"]').replace("= 20", '= "20"')
    (read,) = read_readings_text(hole, "readings.toml").test_holes
    assert [r.measured for r in read.entry] == [9.0, 9.0]
    assert read.thickness.measured == 20.0


def test_a_comma_is_refused_with_the_number_to_write() -> None:
    """Half of the world writes 99,5; it must not be read as 995, nor leave him puzzled."""
    form = filled(readings_template(DRAWN, "mm"), "bar-x", '"99,5"')
    assert faults_of(form)["sheet[1].lengths[1].measured"].endswith("write 99.5")
    with pytest.raises(UnitError, match=r"write 3\.94 in"):
        read_length("3,94 in")
    with pytest.raises(UnitError, match="thousands have no mark"):
        read_length("1,250")
    with pytest.raises(UnitError, match="has no unit"):
        read_length("3 7/8", "mm")


def test_a_fault_names_its_place_as_the_page_and_the_bar() -> None:
    """Nobody counts to the third length of the second sheet with a page in his hand."""
    form = filled(readings_template(DRAWN, "mm"), "bar-y", '"wide"')
    form = filled(form, "A-D", '"57,7"')
    form = form.replace('name = "strip-a"', 'name = "strip-b"')
    form = form.replace('thickness = ""', 'thickness = "25"')
    found = faults_of(form)
    assert "measured: page 1, bar-y: is not a length" in found["sheet[1].lengths[2].measured"]
    assert "measured: guide-a1, A-D: has a comma" in found["piece[1].lengths[2].measured"]
    assert "name: strip-b: is not on the drawings" in found["piece[2].name"]
    assert "entry: test hole 1: is blank" in found["test_hole[1].entry"]


def needed(form: str, part: str) -> list[str]:
    """Return the names of the blanks that are marked as needed, in a part of a form."""
    body = form[form.index(f'name = "{part}"') :].split("\n]\n")[0]
    rows = re.findall(r'\{ name = "([^"]+)", .* \},  # needed', body)
    every = re.findall(r'\{ name = "([^"]+)", ', body)
    assert every[: len(rows)] == rows, "needed blanks stand first"
    return rows


def test_the_few_blanks_that_a_verdict_takes_are_marked_and_stand_first() -> None:
    """A form of a hundred blanks stays blank."""
    form = readings_template(DRAWN, "mm")
    head = form.split("format =")[0]
    assert "those marked needed" in head
    assert needed(form, "page 1") == ["bar-x", "bar-y", "diagonal-1", "diagonal-2"]
    bars = ["bar-x-50-mm", "bar-y-30-mm", "bar-to-bar"]
    assert needed(form, "cut-1") == [f"guide-a1/{bar}" for bar in bars]
    assert needed(form, "guide-a1") == ["A-B", "A-D", "B-D"]
    assert needed(form, "strip-a") == ["over-all"]


def test_beds_and_test_holes_have_the_step_of_a_calliper_and_pages_that_of_a_rule() -> None:
    """A bed that is judged with a rule's doubt ends in "cannot tell" for most of its pieces."""
    form = tomllib.loads(readings_template(DRAWN, "mm"))
    assert form["step"] == 0.5
    steps = {sheet["name"]: sheet.get("step") for sheet in form["sheet"]}
    assert steps == {"page 1": None, "page 2": None, "cut-1": 0.05}
    assert form["test_hole"][0]["step"] == 0.05
    inches = tomllib.loads(readings_template(DRAWN, "in"))
    assert inches["test_hole"][0]["step"] == inches["sheet"][2]["step"] == 0.001


def test_each_blank_says_in_words_what_its_name_means() -> None:
    """A name such as "first fold" is in nobody's head who did not draw the wrap."""
    how = {"diagonal-1": "cross D1 to cross D1", "guide-a1/A-D": 'over corners A\nand "D"'}
    form = readings_template(DRAWN | {"how": how}, "mm")
    rows = {line.split("# ")[-1] for line in form.splitlines() if "diagonal-1" in line}
    assert rows == {"needed to tell whether the page came out square; cross D1 to cross D1"}
    # A line end in the words would begin a line of the file: it must stay a remark.
    assert '# needed; over corners A and "D"' in form
    assert read_readings_text(form, "readings.toml", DRAWN).is_blank


def test_a_form_from_before_is_still_read() -> None:
    """The form that was filled in last week is not measured again for a new layout."""
    old = """
    format = 1
    job = "demo flap"
    units = "mm"
    step = 0.5
    [[sheet]]
    name = "cut-1"
    lengths = [
      { name = "guide-a1/bar-x-50-mm", nominal = "50.000 mm", measured = 49.95, step = 0.05 },
      { name = "guide-a1/bar-y-30-mm", nominal = "30.000 mm", measured = "" },
    ]
    """
    (one,) = read_readings_text(old, "readings.toml", DRAWN).sheets["cut-1"]
    assert (one.measured, one.step) == (49.95, 0.05)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("block-a1", "block-a1"), ("block-a1-solid", "block-a1-solid"), ("guide-b", "guide-b1")],
)
def test_a_test_hole_may_name_its_block_or_any_beginning_that_tells(typed: str, meant: str) -> None:
    """The block in his hand is block a1; that a layer of it is called solid he need not know."""
    (hole,) = read_readings_text(HOLE.format(typed), "readings.toml", BLOCKS).test_holes
    assert hole.piece == meant


def test_a_test_hole_of_a_foot_or_of_two_guides_at_once_is_refused() -> None:
    """A hole judged as square for a foot, or by the other side's guide, passes what is bad."""
    refused = faults_of(HOLE.format("foot"), BLOCKS)["test_hole[1].piece"]
    assert "has no angle to drill at" in refused
    assert refused.endswith("guide-a1 or guide-b1 or block-a1 or block-b1")
    assert "has no angle" in faults_of(HOLE.format("strip-a"), BLOCKS)["test_hole[1].piece"]
    both = faults_of(HOLE.format("guide"), BLOCKS)["test_hole[1].piece"]
    assert both.endswith('may be more than one piece, given "guide"; write guide-a1 or guide-b1')
    near = faults_of(HOLE.format("blok-b1"), BLOCKS)["test_hole[1].piece"]
    assert near.endswith('nearest is "block-b1"')


def test_the_diagonals_are_needed_to_tell_that_the_page_is_square() -> None:
    """A form that calls them needed, and a verdict that does without, make one of them a liar."""
    form = readings_template(DRAWN, "mm")
    rows = [line for line in form.splitlines() if 'name = "diagonal-' in line]
    assert len(rows) == 4
    assert all("# needed to tell whether the page came out square" in row for row in rows)
    (aslant,) = (line for line in form.splitlines() if "bar-to-bar" in line)
    assert "# needed to tell whether the sheet came out square; from the" in aslant
    assert not any("square" in line for line in form.splitlines() if 'name = "bar-x"' in line)


def test_an_inch_form_tells_its_length_aslant_from_inch_bars() -> None:
    """From the end of the mm bar it is 2 % longer, and the machine looks out of square."""
    record = guide()
    record["dimensions"] += [
        length("bar-x-2-in", (85, 99), (135.8, 99), bar=True),
        length("bar-y-1-in", (81, 95), (81, 120.4), bar=True),
    ]
    bed = {"sheet": "cut-1", "pieces": [record], "dimensions": []}
    drawn = {**DRAWN, "files": [{"file": "cut-1.svg", "format": "svg", "sheets": [bed]}]}
    form = readings_template(drawn, "in")
    (row,) = (line for line in form.splitlines() if "bar-to-bar" in line)
    assert 'name = "guide-a1/bar-to-bar-in"' in row
    assert "end of bar-x-2-in to the" in row
    assert "mm" not in row
    assert "-mm" not in form


def test_the_slots_of_the_coupon_stand_in_the_form_as_they_are_lettered() -> None:
    """An inch form, a plate lettered in mm: nobody should have to guess which number to copy."""
    sizes = [length("slot-2.4", (0, 0), (2.4, 0)), length("slot-2.5", (9, 0), (11.5, 0))]
    piece = {"name": "coupon", "kind": "coupon", "angles": [], "dimensions": sizes}
    bed = {"sheet": "cut-1", "pieces": [piece], "dimensions": []}
    drawn = {**DRAWN, "files": [{"file": "cut-1.svg", "format": "svg", "sheets": [bed]}]}
    assert "lettered:\n# always in mm, one of 2.4, 2.5.\n[coupon]" in readings_template(drawn, "in")
