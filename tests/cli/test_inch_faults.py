"""What is refused in an inch job is said in inches."""

import pytest
from commandline import said

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
        (("count = 30", "count = 45"), "angles", "0.000 to 40.000 in"),
        (("[holes]", "[guide]\nfoot = 2\n[holes]"), "make", "in"),
        (("[holes]", "[block]\nlength = 1\n[holes]"), "make", "in"),
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
