"""What is refused in an inch job is said in inches."""

import re

import pytest
from commandline import FLAP, said

JOB = """\
format = 1
name = "Inch edge"
units = "in"
[wedge]
depth = 1.0
rear_thickness = 0.03
[[wedge.station]]
at = 0
included_angle = 11
[[wedge.station]]
at = 40
included_angle = 10
[holes]
drill = "#40"
line = 0.4
first = 1
pitch = 1
count = 30
"""


@pytest.mark.parametrize(
    ("wrong", "command", "inches"),
    [
        (("line = 0.4", "line = 1.4"), "angles", "1.400 in"),
        (("count = 30", "count = 45"), "angles", "from 0 in to 40 in"),
        (("[holes]", "[guide]\nfoot = 2\n[holes]"), "make", "in"),
        (("[holes]", "[cut]\nsheet = 0.01\n[holes]"), "make --only coupon", "0.010 in"),
    ],
)
def test_no_millimetre_is_spoken_in_an_inch_job(wrong, command, inches, tmp_path, monkeypatch):
    """A remedy in the other unit is a number typed in wrong."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "j.toml").write_text(JOB.replace(*wrong), "utf-8")
    name, *options = command.split()
    answer = said(name, "j.toml", *options)
    assert answer.status == 2
    told = " ".join(answer.faults)
    assert " mm" not in told
    assert inches in told


@pytest.mark.parametrize(
    ("option", "given"), [("--bar-x", "3 15/16"), ("--bar-x", "15/16"), ("--step", "1/32")]
)
def test_a_fraction_counts_in_inches_in_an_inch_job_alone(option, given, tmp_path, monkeypatch):
    """The job file, the form and the options read one number in one way."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "j.toml").write_text(JOB, "utf-8")
    assert said("make", "j.toml", "--as", "pdf").status == 0
    lengths = [] if option == "--bar-x" else ["--bar-x", "4 in"]
    bare = said("verify", "j.toml", *lengths, option, given)
    full = said("verify", "j.toml", *lengths, option, f"{given} in")
    assert (bare.status, bare.out) == (full.status, full.out)
    assert bare.err == full.err.replace(f"{given} in", given)
    (tmp_path / "j.toml").write_text(FLAP, "utf-8")
    said("make", "j.toml", "--as", "pdf")
    answer = said("verify", "j.toml", *lengths, option, given)
    assert answer.status == 2
    assert f'write "{given} in"' in answer.err
    assert re.search(r"/\d+\.\d", answer.err) is None


def test_millimetres_taken_for_inches_are_asked_about(tmp_path, monkeypatch):
    """99 typed for 99 mm is no page that came out 25 times too large."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "j.toml").write_text(JOB, "utf-8")
    said("make", "j.toml", "--as", "pdf")
    answer = said("verify", "j.toml", "--bar-x", "99", "--bar-y", "4 in")
    text = " ".join(answer.out.split())
    assert answer.status == 1
    assert text.startswith("Cannot tell: ")
    assert "bar-x 99.000 in, drawn 4.000 in: was it read in another unit?" in text


def test_a_side_that_is_called_by_a_length_keeps_its_name_everywhere(tmp_path, monkeypatch):
    """A side called "2 mm skin" came out as "0.079 in skin": nobody knew which skin that was."""
    monkeypatch.chdir(tmp_path)
    sides = 'sides = ["2 mm skin", "3.2 mm spar"]\n'
    rivet = '[skin]\nthickness = 0.02\n[rivet]\nsize = "-3"\n'
    (tmp_path / "j.toml").write_text(JOB.replace("[wedge]", f"{sides}[wedge]", 1) + rivet, "utf-8")
    told = [said("angles", "j.toml", "--all"), said("angles", "j.toml", "--json"),
            said("make", "j.toml"), said("verify", "j.toml", "--bar-x", "3.9")]  # fmt: skip
    for answer in told:
        text = answer.out + answer.err
        assert "0.079 in" not in text
        assert "0.126 in" not in text
        assert not re.search(r"[\d.]+ in (skin|spar)\b", text)
    assert "2 mm skin" in told[0].out
    assert "3.2 mm spar" in told[1].out
