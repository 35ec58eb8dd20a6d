"""Every kind of jig goes through the whole proof: drawn, measured, judged."""

import json
import re
from pathlib import Path

import pytest
from commandline import said

JOB = Path(__file__).parents[2] / "samples" / "canard" / "job.toml"
ROW = re.compile(r'nominal = "([\d.]+) mm", measured = ""')
STEP = 0.02


def rounded(nominal: float) -> float:
    """Return what a calliper of 0.02 mm shows for a true piece."""
    return round(nominal / STEP) * STEP


def filled(form: str, wrong: int = 0, off: float = 0.0) -> str:
    """Return the form with every length of a finished piece filled in.

    Args:
        form: as `make` wrote it.
        wrong: which length of each piece is off, counted from 0.
        off: by how much, mm.
    """
    head, *parts = form.split("[[piece]]")
    return "[[piece]]".join([head, *(_part_filled(part, wrong, off) for part in parts)])


def _part_filled(part: str, wrong: int, off: float) -> str:
    """Fill in one piece; what stands behind the last one is another section's."""
    end = re.search(r"(?m)^\[", part)
    body, rest = (part, "") if end is None else (part[: end.start()], part[end.start() :])
    count = 0

    def put(match: re.Match[str]) -> str:
        nonlocal count
        value = rounded(float(match[1]) + (off if count == wrong else 0.0))
        count += 1
        return f'nominal = "{match[1]} mm", measured = {value:.2f}'

    return ROW.sub(put, body.replace("step = 0.05", f"step = {STEP}")) + rest


@pytest.fixture(scope="module")
def drawn(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("whole") / "jigs"
    assert said("make", str(JOB), "--out", str(folder)).status == 0
    return folder


def verdicts(drawn: Path, folder: Path, wrong: int = 0, off: float = 0.0) -> dict[str, str]:
    readings = folder / "filled.toml"
    readings.write_text(filled((drawn / "readings.toml").read_text("utf-8"), wrong, off), "utf-8")
    answer = said("verify", str(JOB), "--out", str(drawn), "--readings", str(readings), "--json")
    return {piece["name"]: piece["verdict"] for piece in json.loads(answer.out)["finished"]}


def test_a_true_piece_of_every_kind_is_good_by_calliper(drawn, tmp_path):
    """A jig that cannot be proved true is a jig that is trusted blindly."""
    found = verdicts(drawn, tmp_path)
    kinds = {name.split("-")[0] for name in found}
    assert kinds >= {"guide", "foot", "block", "wrap", "gauge", "corner", "cradle", "trim"}
    assert {name: verdict for name, verdict in found.items() if verdict != "use"} == {}


def test_in_every_piece_some_length_that_is_off_by_3_mm_condemns_it(drawn, tmp_path):
    """A verdict that cannot say no is none."""
    passed = None
    for wrong in range(4):
        found = verdicts(drawn, tmp_path, wrong, 3.0)
        good = {name for name, verdict in found.items() if verdict == "use"}
        passed = good if passed is None else passed & good
    assert passed == set()
