"""The section that asks for a hole strip, and the passes of the drilling order."""

from pathlib import Path

import pytest
from commandline import FLAP

from jiggen.errors import JobError
from jiggen.job.read import read_job_text
from jiggen.job.sections import Job, Strip


def job_with(section: str, text: str = FLAP) -> Job:
    return read_job_text(f"{text}\n{section}\n", "flap.toml", Path())


def test_an_empty_section_asks_for_a_strip_with_the_usual_sizes():
    """Somebody who writes two words in brackets wants the strip, not a form to fill in."""
    assert job_with("[strip]").strip == Strip()
    assert job_with("").strip is None


def test_each_key_of_the_section_is_taken():
    """A key that is read and not used is worse than an unknown one."""
    given = '[strip]\nwidth = "3 in"\noverlap = 20\nside = "b"\nzero = "left"\nroll = false'
    wanted = Strip(width=76.2, overlap=20.0, side="b", zero="left", roll=False)
    assert job_with(given).strip == wanted


@pytest.mark.parametrize(
    ("key", "given"),
    [
        ("overlap", "4"),
        ("overlap", "200"),
        ("width", "0"),
        ("side", '"c"'),
        ("zero", '"middle"'),
        ("roll", '"yes"'),
    ],
)
def test_what_makes_no_strip_is_refused_with_its_key(key: str, given: str):
    """A silent correction is found when the paper is cut."""
    with pytest.raises(JobError) as caught:
        job_with(f"[strip]\n{key} = {given}")
    (fault,) = caught.value.faults
    assert fault.key == f"strip.{key}"
    assert str(fault.remedy) or "must be" in str(fault)


@pytest.mark.parametrize(("given", "fine"), [("1", True), ("2", True), ("3", False), ("0", False)])
def test_the_order_has_one_pass_or_two(given: str, fine: bool):
    """Three passes would leave holes that no pin is near."""
    text = FLAP.replace("keep_out = ", f"passes = {given}\nkeep_out = ")
    if fine:
        assert job_with("", text).holes.passes == int(given)
        return
    with pytest.raises(JobError) as caught:
        job_with("", text)
    assert [fault.key for fault in caught.value.faults] == ["holes.passes"]
