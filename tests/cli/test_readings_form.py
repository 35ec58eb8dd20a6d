"""The form as `make` writes it, filled in by somebody who read nothing but the form."""

import json
import math
import re
import tomllib
from pathlib import Path

import pytest
from commandline import FLAP, said

from jiggen.readings.names import FORM

LENGTH = re.compile(r'nominal = "([\d.]+) (mm|in)", measured = ""( \},  # needed)')


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Return a job and the folder of all its drawings."""
    folder = tmp_path_factory.mktemp("form")
    job = folder / "flap.toml"
    job.write_text(FLAP, "utf-8")
    assert said("make", job, "--out", folder / "out").status == 0
    return job, folder / "out"


def judged(job: Path, out: Path, form: str) -> tuple[int, dict]:
    """Return the exit status and the JSON object for a form filled in so."""
    blank = (out / FORM).read_bytes()
    (out / FORM).write_text(form, "utf-8")
    answer = said("verify", job, "--out", out, "--json")
    (out / FORM).write_bytes(blank)
    assert answer.err == ""
    return answer.status, json.loads(answer.out)


def test_the_blanks_that_are_marked_as_needed_decide_every_piece(made: tuple[Path, Path]) -> None:
    """Who measured all that was asked for, truly but no better than his tools, is done."""
    job, out = made

    def read(found: re.Match[str]) -> str:
        nominal = float(found[1])
        # Every reading falls on the mark below: as badly rounded as honest ones can be.
        mm = math.floor(nominal * 20) / 20
        return f'nominal = "{found[1]} mm", measured = "{mm}"{found[3]}'

    form, count = LENGTH.subn(read, (out / FORM).read_text("utf-8"))
    status, found = judged(job, out, form)
    assert (status, found["verdict"]) == (0, "use")
    names = {piece["name"] for piece in found["pieces"]}
    assert {piece["verdict"] for piece in found["pieces"]} == {"use"}
    assert {"guide-a1", "foot", "block-a1-solid-2"} <= names
    assert {piece["verdict"] for piece in found["finished"]} == {"use"}
    assert {"wrap-a1", "block-a1-solid"} <= {piece["name"] for piece in found["finished"]}
    assert count < form.count("measured = ")


def test_every_blank_of_a_made_form_says_what_it_is(made: tuple[Path, Path]) -> None:
    """Letters and names mean nothing to somebody who holds a calliper, not the program."""
    form = (made[1] / FORM).read_text("utf-8")
    rows = [line for line in form.splitlines() if "measured = " in line]
    assert rows
    assert [row for row in rows if not re.search(r"  # .*\w \w", row)] == []
    assert "over corners A and B" in form
    assert "1 1/2 in bar" not in form  # a bed in mm lists no inch bars
    wraps = form[form.index('name = "wrap-a1"') :]
    assert "# left end of the first face, base line to top" in wraps.replace("needed; ", "")
    assert len(tomllib.loads(form)["piece"]) == form.count("[[piece]]")


def test_a_test_hole_is_judged_in_the_degrees_that_stand_on_the_guide(
    made: tuple[Path, Path],
) -> None:
    """A tilt of -6.5 deg means nothing to somebody whose guide says 83.48."""
    job, out = made
    lean = 25.0 * math.tan(math.radians(90.0 - 83.48 + 4.0))
    filled = (out / FORM).read_text("utf-8")
    for blank, typed in {
        'piece = ""': 'piece = "block-a1"',
        'thickness = ""': 'thickness = "25"',
        'entry = ["", ""]': 'entry = ["20", "15"]',
        'exit = ["", ""]': f'exit = ["{20.0 - lean:.2f}", "15"]',
    }.items():
        assert filled.count(f"\n{blank}") == 1
        filled = filled.replace(f"\n{blank}", f"\n{typed}")
    status, found = judged(job, out, filled)
    (hole,) = found["test_holes"]
    assert (status, hole["piece"], hole["verdict"]) == (1, "block-a1", "do not use")
    assert hole["worst_hole"] is not None
    assert "on its forward side drawn 83.48 deg came out 79.4" in hole["why"]
