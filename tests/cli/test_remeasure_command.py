"""``jiggen remeasure`` in a process of the test: words, JSON and exit status."""

import json
from pathlib import Path

import pytest
from commandline import said as jiggen
from drawingset import write_set


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of drawings with kerf."""
    return write_set(tmp_path_factory.mktemp("made"))


def test_a_true_file_is_said_to_be_true_first(made: Path) -> None:
    """With gloves on, nobody reads to the end."""
    said = jiggen("remeasure", str(made / "cut-1.svg"))
    assert said.status == 0
    assert said.out.splitlines()[0] == f"True to size: {made / 'cut-1.svg'}"
    assert "3 outlines, 2 angles, 3 bars" in said.out
    assert all(len(line) <= 100 for line in said.out.splitlines()[1:])
    row = next(line for line in said.out.splitlines() if line.startswith("guide-a-2"))
    assert row.split() == ["guide-a-2", "1", "84.700", "84.700", "1", "0.0000", "0.000"]


def test_a_file_at_another_scale_ends_with_status_1(made: Path, tmp_path: Path) -> None:
    """A script that makes and cuts must stop here."""
    path = tmp_path / "cut-1.svg"
    path.write_text((made / "cut-1.svg").read_text().replace('width="210mm"', 'width="105mm"'))
    said = jiggen("remeasure", str(path))
    assert said.status == 1
    assert said.out.startswith("Not as it should be")
    assert "off   everything is drawn at 0.5 of true size" in said.out
    assert said.err == ""


def test_json_is_one_object_and_nothing_else(made: Path) -> None:
    """Other programs read it."""
    said = jiggen("remeasure", str(made / "print.pdf"), "--json")
    record = json.loads(said.out)
    assert said.status == 0
    assert said.out.count("\n") == 1
    assert record["ok"] is True
    assert [piece["name"] for piece in record["pieces"]][:2] == ["guide-a", "block"]


def test_what_cannot_be_read_ends_with_status_2(made: Path, tmp_path: Path) -> None:
    """Bad input is not a check that says no."""
    damaged = {"a.svg": b"<svg", "b.dxf": b"0\nSECTION\nx\n", "c.pdf": b"%PDF-", "d": b""}
    for name, content in damaged.items():
        path = tmp_path / name
        path.write_bytes(content)
        said = jiggen("remeasure", str(path))
        assert (said.status, said.out) == (2, "")
        assert said.err.startswith(f"{path}: ")
        assert said.err.count("\n") == 1
    assert jiggen("remeasure", str(made / "nothing.pdf")).status == 2
