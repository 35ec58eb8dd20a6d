"""A slip of the unit is asked about before anything is drawn from it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from commandline import said

from jiggen.errors import Fault, JobError
from jiggen.job.read import read_job_text
from jiggen.job.sizes import sizes_of
from jiggen.job.starters import starter_files
from jiggen.solve import solve

METRIC = """
format = 1
name = "Tab"
units = "{units}"
[wedge]
depth = 24.0
[[wedge.station]]
thickness = {{ front = 5.30, rear = 1.00, width = 21.5 }}
rear_at = 1.0
[skin]
thickness = {skin}
[holes]
drill = "#40"
line = 9.5
first = 18.0
pitch = {pitch}
count = 40
[cut]
kerf = {kerf}
{more}
"""
INCHES = """
format = 1
name = "Tab"
units = "mm"
[wedge]
depth = 0.9
[[wedge.station]]
offsets = { front = [0.1, 0.1], rear = [0.02, 0.02], width = 0.8 }
[skin]
thickness = 0.02
[holes]
drill = "2.5 mm"
line = 0.36
first = 0.7
pitch = 1.0
count = 30
"""


def metric(units: str = "mm", skin: object = 0.5, pitch: object = 25.0, kerf: object = 0.15,
           more: str = "") -> str:  # fmt: skip
    return METRIC.format(units=units, skin=skin, pitch=pitch, kerf=kerf, more=more)


def faults(text: str) -> list[Fault]:
    try:
        read_job_text(text, "tab.toml", Path())
    except JobError as bad:
        return list(bad.faults)
    return []


def test_millimetre_numbers_in_an_inch_job_are_blamed_on_the_units_alone() -> None:
    """It gave exit 0, rivets of 4 in and a guide for a part 33 m long; then the kerf was blamed."""
    for kerf in (0.15, 0.2, 0.4):
        first, *others = faults(metric(units="in", kerf=kerf))
        assert first.key == "units"
        assert 'write units = "mm"' in str(first)
        assert {"wedge.depth", "skin.thickness", "holes.pitch"} <= set(first.keys)
        assert first.action is not None
        assert first.action.put == ("units", '"mm"')
        assert [fault.key for fault in others] == (["cut.kerf"] if kerf > 0.19 else [])
    assert not faults(metric())


def test_every_starter_with_the_other_unit_is_caught_by_its_units(tmp_path: Path) -> None:
    """Whoever fills in a starter and changes one word of it must be stopped at that word."""
    caught = 0
    for name, place in starter_files().items():
        text = place.read_text("utf-8")
        own = "in" if re.search(r'^units = "in"', text, re.MULTILINE) else "mm"
        other = {"in": "mm", "mm": "in"}[own]
        slipped = text.replace(f'units = "{own}"', f'units = "{other}"')
        job = tmp_path / f"{name}.toml"
        job.write_text(slipped, "utf-8")
        for companion in Path(str(place)).parent.glob("*.dat"):
            (tmp_path / companion.name).write_bytes(companion.read_bytes())
        answer = said("make", str(job), "--out", str(tmp_path / "out"))
        assert answer.status == 2
        assert answer.faults[0].startswith(f"{job}: units: "), name
        assert not (tmp_path / "out").exists()
        caught += 1
    assert caught == 8


def test_inch_numbers_in_a_millimetre_job_are_blamed_on_the_units_too() -> None:
    """The angles come out the same, and nothing else shows it."""
    (fault,) = faults(INCHES)
    assert fault.key == "units"
    assert 'write units = "in"' in str(fault)
    assert not faults(INCHES.replace('units = "mm"', 'units = "in"'))


def test_one_number_in_the_other_unit_is_blamed_on_its_own_key() -> None:
    """All else is right: told to change the unit, the builder would make the rest wrong."""
    (fault,) = faults(metric(skin="[0.5, 12.7]"))
    assert fault.key == "skin.thickness"
    assert "which unit is meant?" in str(fault)
    (fault,) = faults(metric(pitch='"25 in"'))
    assert fault.key == "holes.pitch"


TWO = """
format = 1
name = "Tab"
units = "in"
[wedge]
depth = 0.9
[[wedge.station]]
at = 0
thickness = { front = 0.24, rear = 0.04, width = 0.85 }
rear_at = 0.04
[[wedge.station]]
at = 20
thickness = { front = 6.10, rear = 1.00, width = 21.5 }
rear_at = 0.04
[skin]
thickness = 0.02
[holes]
drill = "#40"
line = 0.37
first = 0.7
pitch = 0.9
count = 20
"""


def test_one_station_in_the_other_unit_is_mended_number_by_number() -> None:
    """Told to write mm, the builder was told to write inches next, and round again."""
    keys = [f"wedge.station[2].thickness.{name}" for name in ("front", "rear", "width")]
    found = faults(TWO)
    assert [fault.key for fault in found] == keys
    mended = TWO
    for fault, number in zip(found, ("6.10", "1.00", "21.5"), strict=True):
        written = f'"{float(number):g} mm"'
        assert f"which unit is meant? Write {written}, or answer" in str(fault)
        mended = mended.replace(f" = {number}", f" = {written}")
    assert not faults(mended)
    turned = faults(TWO.replace('units = "in"', 'units = "mm"'))
    assert [fault.key for fault in turned] == ["units"]
    assert 'write units = "in"' in str(turned[0])


def test_a_sum_of_offsets_is_not_told_as_a_number_to_write() -> None:
    """The file holds two numbers there, and neither of them is their sum."""
    inches = TWO.replace(
        "thickness = { front = 6.10, rear = 1.00,",
        "offsets = { front = [3.0, 3.1], rear = [0.5, 0.5],",
    )
    first = faults(inches)[0]
    assert first.key == "wedge.station[2].offsets.front"
    assert "Write mm with each number, or answer" in str(first)


@pytest.mark.parametrize(
    ("plus_minus", "key"),
    [("{ front = 0.03, rear = 0.03, width = 0.2 }", "plus_minus.width"), ("0.2", "plus_minus")],
)
def test_a_plus_minus_in_the_other_unit_is_asked_about(plus_minus: str, key: str) -> None:
    """0.2 mm typed in an inch job makes every angle doubtful by degrees, and was only unusual."""
    job = TWO.replace(
        "front = 6.10, rear = 1.00, width = 21.5", "front = 0.24, rear = 0.04, width = 0.85"
    )
    (fault,) = faults(f"{job}".replace("[skin]", f"plus_minus = {plus_minus}\n[skin]"))
    assert fault.key == f"wedge.station[2].{key}"
    assert 'Write "0.2 mm", or answer' in str(fault)
    assert not faults(job.replace("[skin]", "plus_minus = 0.03\n[skin]"))
    degrees = job.replace(
        "thickness = { front = 0.24, rear = 0.04, width = 0.85 }", "skin_angles = [4, 4]"
    )
    degrees = degrees.replace("rear_at = 0.04\n", "").replace("[skin]", "plus_minus = 4.0\n[skin]")
    assert not faults(degrees)


@pytest.mark.parametrize(
    ("given", "key"),
    [
        ({"skin": 5.2}, "skin.thickness"),
        ({"pitch": 301}, "holes.pitch"),
    ],
)
def test_what_is_meant_can_be_said(given: dict[str, object], key: str) -> None:
    """A question that cannot be answered stops an honest job."""
    (fault,) = faults(metric(**given))
    assert fault.key == key
    assert 'size = "as stated" in [allow]' in str(fault)
    meant = metric(**given, more='[allow]\nsize = "as stated"\n')
    assert not faults(meant)
    check = solve(read_job_text(meant, "tab.toml", Path())).checks[0]
    assert (check.id, check.status) == ("size", "ok")
    assert "taken as stated" in str(check.why)


@pytest.mark.parametrize(
    ("text", "key"),
    [
        (metric().replace("depth = 24.0", "depth = 201"), "wedge.depth"),
        (metric().replace("front = 5.30", "front = 61").replace("21.5", "150"), "front"),
    ],
)
def test_a_wedge_beyond_all_sense_is_asked_about(text: str, key: str) -> None:
    """No trailing edge is 200 mm deep or 60 thick."""
    assert key in faults(text)[0].key


def test_what_is_only_unusual_is_a_check_the_first_of_all_with_its_keys() -> None:
    """Read first, it saves reading the rest."""
    of = read_job_text(metric(pitch=150), "tab.toml", Path())
    check = solve(of).checks[0]
    assert (check.id, check.status, check.keys) == ("size", "warn", ("holes.pitch",))
    assert "holes.pitch 150 mm" in str(check.why)
    usual = solve(read_job_text(metric(), "tab.toml", Path())).checks[0]
    assert (usual.id, usual.status, usual.keys) == ("size", "ok", ())


def test_the_samples_and_starters_as_they_are_stand_out_in_nothing(tmp_path: Path) -> None:
    """A question asked of every job is answered without being read."""
    for name, place in starter_files().items():
        answer = said("angles", str(place), "--json")
        check = json.loads(answer.out)["checks"][0]
        assert (check["id"], check["status"]) == ("size", "ok"), name


def test_an_even_row_and_a_list_of_holes_are_held_against_the_same_pitch() -> None:
    """One odd gap at the ribs is no slip of the unit."""
    row = read_job_text(metric(), "tab.toml", Path())
    listed = "positions = [18, 43, 68, 93, 500]"
    text = re.sub(r"first = .*\npitch = .*\ncount = .*", listed, metric())
    of = read_job_text(text, "tab.toml", Path())
    for job, key in ((row, "holes.pitch"), (of, "holes.positions")):
        (pitch,) = (s for s in sizes_of(job.wedge, job.skin, job.holes) if s.kind == "pitch")
        assert (pitch.key, pitch.mm) == (key, 25.0)
