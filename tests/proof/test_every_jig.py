"""Every kind of jig goes through the whole proof: drawn, measured, judged."""

import json
import math
from pathlib import Path

import pytest
from commandline import said

from jiggen.proof.record import Record, read_record

JOB = Path(__file__).parents[2] / "samples" / "canard" / "job.toml"
#: mm. Every length is read thrice to a fiftieth, which is good for 0.03 mm.
STEP = 0.02


@pytest.fixture(autouse=True)
def _jigs() -> None:
    """Leave the package's own jigs in their place."""


@pytest.fixture(scope="module")
def drawn(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("whole") / "jigs"
    assert said("make", str(JOB), "--out", str(folder)).status == 0
    return folder


@pytest.fixture(scope="module")
def record(drawn) -> Record:
    return read_record(json.loads((drawn / "manifest.json").read_text("utf-8")))


def verdicts(drawn: Path, record: Record, folder: Path, wrong: int = 0, off: float = 0.0):
    """Return the verdict on each piece whose lengths a calliper read; one of them is off, mm."""
    text = (drawn / "readings.toml").read_text("utf-8")
    head, marks = text[: text.index("\n\n# ")], text[text.index("[marks]") :]
    tables = []
    for piece in (p for p in record.pieces.values() if p.sizes and not p.parts):
        rows = [
            f'"{name}" = {round((size.nominal + (off if n == wrong else 0.0)) / STEP) * STEP:.2f}'
            for n, (name, size) in enumerate(piece.sizes.items())
        ]
        tables.append(
            "\n".join(("[[piece]]", f'name = "{piece.name}"', "plus_minus = 0.03", *rows))
        )
    form = folder / "filled.toml"
    form.write_text("\n\n".join([head, *tables, marks]), "utf-8")
    answer = said("verify", str(JOB), "--out", str(drawn), "--readings", str(form), "--json")
    assert answer.err == ""
    return {piece["name"]: piece["verdict"] for piece in json.loads(answer.out)["finished"]}


def answers(drawn: Path, *words: str) -> dict[str, str]:
    """Return the last word on each piece by its name."""
    answer = said("verify", str(JOB), "--out", str(drawn), "--json", *words)
    assert answer.err == ""
    return {one["name"]: one["verdict"] for one in json.loads(answer.out)["answers"]}


def page(scale: float = 1.0) -> list[str]:
    """Return the readings of page 2 of a print at this scale, as options."""
    lengths = {"bar-x": 100, "bar-y": 100, "diagonal-1": 300, "diagonal-2": 300}
    return [word for name, mm in lengths.items() for word in (f"--{name}", f"{mm * scale:.2f}")]


def test_a_piece_without_any_check_bars_none_that_is_good(drawn, record):
    """A seat or a tag is as good as the page that it lies on; nobody can ever tell more of it."""
    idle = {name for name, piece in record.pieces.items() if not piece.is_checked}
    assert idle >= {"cradle-1-seat", "trim-tag-0"}
    found = answers(drawn, *page(), "--step", "0.05")
    assert not idle & set(found)
    assert set(found.values()) == {"use", "cannot tell"}
    assert {name for name, verdict in found.items() if verdict != "use"} == {"strip-joined"}


def test_a_strip_whose_tiles_are_each_a_hair_long_is_not_good(drawn, record, tmp_path):
    """Seven tiles at 100.13 %: none is off by a quarter of a mm, all together by 1.5."""
    tables = [
        "\n".join(
            (
                *("[[page]]", f'name = "{sheet.name}"', "plus_minus = 0.02"),
                *(f"{n} = {size.nominal * 1.0013:.3f}" for n, size in sheet.measurable().items()),
            )
        )
        for sheet in record.pages
    ]
    text = (drawn / "readings.toml").read_text("utf-8")
    head, marks = text[: text.index("\n\n# ")], text[text.index("[marks]") :]
    form = tmp_path / "long.toml"
    form.write_text("\n\n".join([head, *tables, marks]), "utf-8")
    found = answers(drawn, "--readings", str(form))
    assert found["strip-joined"] == "do not use"
    assert not [name for name in found if name.startswith("strip-") and name != "strip-joined"]
    assert found["guide-1"] == "use"


@pytest.mark.parametrize(("lean", "verdict"), [(6.9, "use"), (0.0, "do not use")])
def test_a_block_is_judged_by_the_hole_that_it_drilled(lean, verdict, drawn, tmp_path):
    """Its seat gives the bit 6.9 deg; a hole square to the scrap was drilled on another seat."""
    text = (drawn / "readings.toml").read_text("utf-8")
    out = 20.0 - 19.0 * math.tan(math.radians(lean))
    hole = (
        f'[[test_hole]]\npiece = "block-1"\nthickness = 19\nentry = [20, 30]\n'
        f"exit = [{out:.2f}, 30]\n"
    )
    form = tmp_path / "hole.toml"
    form.write_text(text.replace("[marks]", f"{hole}[marks]"), "utf-8")
    assert answers(drawn, "--readings", str(form)) == {"block-1": verdict}


def test_a_true_piece_of_every_kind_is_good_by_calliper(drawn, record, tmp_path):
    """A jig that cannot be proved true is a jig that is trusted blindly."""
    found = verdicts(drawn, record, tmp_path)
    kinds = {name.split("-")[0] for name in found}
    assert kinds >= {"guide", "block", "gauge", "cradle", "trim", "strip"}
    assert {name: verdict for name, verdict in found.items() if verdict != "use"} == {}


def test_in_every_piece_some_length_that_is_off_by_3_mm_condemns_it(drawn, record, tmp_path):
    """A verdict that cannot say no is none."""
    passed = None
    for wrong in range(4):
        found = verdicts(drawn, record, tmp_path, wrong, 3.0)
        good = {name for name, verdict in found.items() if verdict == "use"}
        passed = good if passed is None else passed & good
    assert passed == set()
