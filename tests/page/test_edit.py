"""The text of a job file after a field was changed: that line differs, and nothing else."""

import tomllib
from collections.abc import Iterable
from pathlib import Path

import pytest
from commandline import PROJECT
from hypothesis import given, settings
from hypothesis import strategies as st

from jiggen.page.edit import (
    CannotEdit,
    add_table,
    blocks,
    change,
    change_was,
    drop_table,
    exchange_ways,
    flat,
    raw_at,
    raw_of,
    spans,
    typed_at,
    typed_of,
    was_at,
)
from jiggen.straight.read import blank_form

#: Lists of tables in turn, as in a form of readings: tomlkit writes them list by list.
MIXED = """\
units = "mm"

# page 2, by rule
[[page]]
name = "page 2"
bar-x = ""      # 100.00 mm; the bar, lower side

[[piece]]
name = "guide-1"
A-B = 19.10      # 19.18 mm

# more
[[page]]
name = "page 2"
side-x = ""      # 180.00 mm

[[piece]]
name = "foot"
"foot/bar-x" = { measured = 8.0, step = 0.1 }

[[test_hole]]
entry = ["", 20.00]      # on the near face
[marks]
"page 2" = "ed5d44fa"
"""

#: Every starter, sample job and form of readings in the repository, and a blank form of `straight`.
TEXTS = {
    str(path.relative_to(PROJECT)): path.read_bytes().decode("utf-8")
    for folder in ("templates", "samples")
    for path in sorted((PROJECT / folder).rglob("*.toml"))
} | {f"edge-{units}.toml": blank_form("edge.toml", units).decode() for units in ("mm", "in")}
TEXTS["readings.toml"] = MIXED
#: One of each kind in every run, all of them with the large budgets.
USUAL = ("templates/tapered-inch.toml", "samples/canard/job.toml", "edge-mm.toml", "readings.toml")
WHOLE = [pytest.param(n, marks=() if n in USUAL else pytest.mark.slow) for n in TEXTS]


def endings(text: str) -> list[str]:
    """Return the text with both line ends."""
    return [text, text.replace("\n", "\r\n")]


def some(keys: Iterable[str]) -> list[str]:
    """Return every key of a job, and a dozen of a form of readings, which has hundreds."""
    every = list(keys)
    return every if len(every) < 100 else every[:: len(every) // 12]


def leaves(text: str) -> list[str]:
    """Return the keys of values that hold no others."""
    keys = list(spans(text))
    return [k for k in keys if not any(o != k and o.startswith((f"{k}.", f"{k}[")) for o in keys)]


@pytest.mark.parametrize("name", WHOLE)
def test_each_value_of_each_file_changes_its_own_line_only(name: str) -> None:
    """A comment that is lost is a measurement that nobody can trace."""
    for text in endings(TEXTS[name]):
        keys = leaves(text)
        assert {k for k, v in flat(text).items() if v not in ({}, [])} == {
            k for k in keys if raw_at(text, k) not in ("[]", "{}")
        }
        for key in some(keys):
            new = change(text, {key: "17.250"})
            rows = [
                (a, b) for a, b in zip(text.splitlines(), new.splitlines(), strict=True) if a != b
            ]
            assert len(rows) == 1, key
            old = raw_at(text, key)
            assert rows[0][1].replace("17.250", old) == rows[0][0], key
            assert change(new, {key: old}) == text


@pytest.mark.parametrize("name", WHOLE)
def test_each_value_that_goes_and_comes_again_leaves_the_file_as_it_was(name: str) -> None:
    """A field that is cleared by mistake must not cost the comment beside it."""
    for text in endings(TEXTS[name]):
        table = {block.key for block in blocks(text)}
        for key in some(spans(text)):
            above, _, last = key.rpartition(".")
            if above not in table or last.endswith("]") or not raw_at(text, key).strip('[]", '):
                continue
            gone = change(text, {key: ""})
            assert key not in spans(gone)
            if "\n" not in raw_at(text, key):
                assert change(gone, {key: raw_at(text, key)}) == text, key


@pytest.mark.parametrize("name", WHOLE)
def test_values_as_fields_show_them_come_back_as_they_stand(name: str) -> None:
    """What nobody changed must not change its digits."""
    text = TEXTS[name]
    for key in leaves(text):
        raw, typed = raw_at(text, key), typed_at(text, key)
        kind = "text" if raw.startswith('"') else "flag" if raw in ("true", "false") else "number"
        if typed and not raw.startswith("["):
            assert raw_of(typed, kind) == raw


@pytest.mark.parametrize(
    ("typed", "kind", "units", "raw"),
    [
        ("0.90", "number", "mm", "0.90"),
        (" 5.4 mm ", "number", "mm", '"5.4 mm"'),
        ("#40", "number", "in", '"#40"'),
        ("3 7/8", "number", "in", '"3 7/8 in"'),
        ("1/8 in", "number", "mm", '"1/8 in"'),
        ("0,9", "number", "mm", '"0,9"'),
        (".5", "number", "mm", "0.5"),
        ("-5.", "number", "mm", "-5.0"),
        ("007", "number", "mm", "7"),
        ("00.5", "number", "mm", '"00.5"'),
        ("nan", "number", "mm", '"nan"'),
        ("2.5e1", "number", "mm", "2.5e1"),
        ("1, 64", "numbers", "mm", "[1, 64]"),
        ("[1,64]", "numbers", "mm", "[1, 64]"),
        ("15,5, 41.0", "list", "mm", '["15,5", 41.0]'),
        ('say "left"\\', "text", "mm", '"say \\"left\\"\\\\"'),
        ("5", "text", "mm", '"5"'),
        ("true", "flag", "mm", "true"),
        ("", "number", "mm", ""),
    ],
)
def test_what_is_typed_stands_in_the_file_with_its_own_digits(
    typed: str, kind: str, units: str, raw: str
) -> None:
    """A comma is never guessed at, and a unit is never dropped."""
    assert raw_of(typed, kind, units) == raw
    if raw:
        tomllib.loads(f"x = {raw}")


JOB = """\
format = 1   # of the file
name = "n"

[wedge]
depth = 24.0      # from the front
# what follows is about the stations

# Measured with a calliper.
[[wedge.station]]
at = 0.0
thickness = { front = 5.30, rear = 1.00, width = 21.5 }  # twice
plus_minus = { front = 0.02 }

# The far end.
[[wedge.station]]
at = 900.0
included_angle = 9.0

# Holes are last.
[holes]
drill = "#40"     # a "hash" # in quotes
keep_out = [
  1,   # the first
  64,
]
# [gauge]
"""


@pytest.mark.parametrize("text", endings(JOB))
def test_a_new_key_comes_after_the_last_key_of_its_table(text: str) -> None:
    """Behind the comments it would seem to belong to the next table."""
    new = change(text, {"wedge.rear_thickness": "0.9", "wedge.station[1].rear_at": "0.0"})
    rows = new.splitlines()
    assert rows[rows.index("depth = 24.0      # from the front") + 1] == "rear_thickness = 0.9"
    assert rows[rows.index("plus_minus = { front = 0.02 }") + 1] == "rear_at = 0.0"
    assert len(rows) == len(text.splitlines()) + 2
    assert new.count("\r\n") == (new.count("\n") if "\r" in text else 0)


@pytest.mark.parametrize("text", endings(JOB))
def test_a_new_table_or_station_has_an_empty_line_before_it(text: str) -> None:
    """A file that grows by fields must read as one that was typed."""
    one = change(text, {"rivet.size": '"-3"'})
    assert one.splitlines()[-3:] == ["", "[rivet]", 'size = "-3"']
    two = add_table(text, "wedge.station[3]", {"at": "1700.0", "taper_rate": '"1:8"'})
    rows = two.splitlines()
    at = rows.index("included_angle = 9.0")
    assert rows[at + 1 : at + 6] == [
        *("", "[[wedge.station]]", "at = 1700.0", 'taper_rate = "1:8"', "")
    ]
    assert flat(two)["wedge.station[3].at"] == 1700.0


def test_a_table_that_stands_in_a_comment_is_switched_on_where_it_stands() -> None:
    """The starters say: take the # away."""
    on = add_table(JOB, "gauge", {})
    assert on == JOB.replace("# [gauge]", "[gauge]")
    assert drop_table(on, "gauge") == JOB.replace("# [gauge]", "# was: [gauge]")


@pytest.mark.parametrize("text", endings(JOB))
def test_the_old_way_of_measuring_stays_as_a_comment_with_its_own(text: str) -> None:
    """What was measured once is worth more than the file's looks."""
    old, new = "wedge.station[1].thickness", "wedge.station[1].skin_angles"
    one = exchange_ways(text, old, new, "[7.5, 3.0]", ("wedge.station[1].plus_minus",))
    rows = one.splitlines()
    at = rows.index("at = 0.0")
    assert rows[at + 1 : at + 4] == [
        "# was: thickness = { front = 5.30, rear = 1.00, width = 21.5 }  # twice",
        "skin_angles = [7.5, 3.0]",
        "# was: plus_minus = { front = 0.02 }  # was with thickness",
    ]
    raw = raw_at(text, old)
    two = exchange_ways(one, new, old, raw).splitlines()
    assert two[at + 1 : at + 4] == [
        "thickness = { front = 5.30, rear = 1.00, width = 21.5 }  # twice",
        "# was: skin_angles = [7.5, 3.0]",
        "plus_minus = { front = 0.02 }",
    ]


def test_a_part_of_a_table_in_braces_comes_and_goes() -> None:
    """Each plus-minus has a field of its own."""
    new = change(JOB, {"wedge.station[1].plus_minus.rear": "0.03"})
    assert "plus_minus = { front = 0.02, rear = 0.03 }" in new
    assert change(new, {"wedge.station[1].plus_minus.rear": ""}) == JOB
    both = change(JOB, {"wedge.station[2].plus_minus.angle": "0.1"})
    assert "included_angle = 9.0\nplus_minus = { angle = 0.1 }\n" in both


def test_a_list_over_several_lines_keeps_its_comments_where_one_item_changes() -> None:
    """Holes that are left alone have reasons beside them."""
    new = change(JOB, {"holes.keep_out[2]": "63"})
    assert new == JOB.replace("  64,", "  63,")
    gone = change(JOB, {"holes.keep_out": ""})
    assert "# was: keep_out = [\n#        1,   # the first\n" in gone


def test_a_list_over_several_lines_comes_back_whole() -> None:
    """What is read another way for a while is not lost for how it was written down."""
    rows = '[r]\nat = [0, 1]\ngo = [\n  0.10,  # left\n  0.20,\n]\nby = "M"\n'
    for text in endings(rows):
        out = change(text, {"r.go": ""})
        assert "go" not in tomllib.loads(out)["r"]
        assert was_at(out, "r.go") == raw_at(text, "r.go")
        assert change(out, {"r.go": was_at(out, "r.go")}) == text
        shorter = change_was(out, "r.go", "[0.20]")
        assert was_at(shorter, "r.go") == "[0.20]"
        assert tomllib.loads(shorter) == tomllib.loads(out)


def test_a_station_that_is_taken_out_stays_as_a_comment() -> None:
    """The other station is the first one then, with all its values."""
    new = drop_table(JOB, "wedge.station[1]")
    assert flat(new)["wedge.station[1].at"] == 900.0
    assert "wedge.station[2].at" not in flat(new)
    assert "# was: [[wedge.station]]\n#      at = 0.0\n" in new
    assert "# The far end.\n" in new


@pytest.mark.parametrize("key", ["wedge", "holes.keep_out[3]", "wedge.station"])
def test_what_a_field_cannot_change_is_refused(key: str) -> None:
    """Rather no change than one that was not asked for."""
    with pytest.raises(CannotEdit):
        change(JOB, {key: "1"})


def test_a_value_that_is_no_toml_is_refused() -> None:
    """No field may break the file."""
    with pytest.raises(CannotEdit, match="cannot be read"):
        change(JOB, {"wedge.depth": "1 2"})
    with pytest.raises(CannotEdit, match="not TOML"):
        spans('drill = #40\nname = "')


def test_a_value_that_would_add_a_key_of_its_own_is_refused() -> None:
    """Text that comes from elsewhere must not write lines."""
    with pytest.raises(CannotEdit):
        change(JOB, {"wedge.depth": "1\nsweep = 30"})


def test_dotted_and_quoted_keys_are_found(tmp_path: Path) -> None:
    """Other ways to write TOML are files of users too."""
    text = 'wedge.depth = 24.0 # one\n"a b".c = 1\n[x.y]\nz = "last"'
    assert change(text, {"wedge.depth": "25"}) == text.replace("24.0", "25")
    assert change(text, {'"a b".c': "2"}) == text.replace("c = 1", "c = 2")
    assert change(text, {"x.y.w": "3"}) == text + "\nw = 3\n"
    with pytest.raises(CannotEdit):
        change(text, {"wedge.sweep": "1"})


NUMBERS = st.from_regex(r"[+-]?[0-9]*[.,/ ]?[0-9]*( (mm|in))?", fullmatch=True)


@settings(deadline=None)
@given(
    typed=st.text(max_size=60) | NUMBERS,
    kind=st.sampled_from(["number", "text", "flag", "list", "numbers"]),
    units=st.sampled_from(["mm", "in"]),
)
def test_whatever_is_typed_is_one_value_and_comes_back_as_typed(
    typed: str, kind: str, units: str
) -> None:
    """No text of a field writes a key of its own, or leaves a file that cannot be read."""
    raw = raw_of(typed, kind, units)
    if not raw:
        assert not typed.strip()
        return
    assert list(tomllib.loads(f"x = {raw}\n")) == ["x"]
    if kind == "text":
        assert typed_of(raw) == "".join(c if c.isprintable() else " " for c in typed.strip())
    new = change(JOB, {"wedge.depth": raw})
    assert len(new.splitlines()) == len(JOB.splitlines())
    others = [{k: v for k, v in flat(t).items() if "depth" not in k} for t in (new, JOB)]
    assert others[0] == others[1]
