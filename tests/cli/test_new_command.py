"""``jiggen new``: a starter job file to fill in."""

from pathlib import Path

import pytest
from commandline import files_in, said
from language import read_pages

from jiggen.job.starters import starter_files


def test_the_list_names_every_starter_and_says_what_it_is_for() -> None:
    """Someone with a wedge in hand has to find the starter for the way they can measure it."""
    lines = said("new", "--list").out.splitlines()
    assert [line.split()[0] for line in lines] == list(starter_files())
    assert all(len(line.split()) > 4 for line in lines)


@pytest.mark.parametrize("name", list(starter_files()))
def test_a_starter_is_solved_and_drawn_as_it_comes(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first thing a new user does must not be to repair our file."""
    monkeypatch.chdir(tmp_path)
    answer = said("new", name)
    assert answer.status == 0, answer.err
    assert f"Wrote {name}.toml" in answer.out
    assert f"jiggen angles {name}.toml" in answer.out
    assert said("angles", f"{name}.toml", "--strict").status == 0
    drawn = said("make", f"{name}.toml", "--strict", "--as", "pdf,svg", "--out", "out")
    assert (drawn.status, drawn.err) == (0, "")


def test_a_starter_never_overwrites(tmp_path: Path) -> None:
    """An evening of measuring lives in that file."""
    mine = tmp_path / "mine.toml"
    mine.write_text("my readings", "utf-8")
    answer = said("new", "flap-mm", "--out", mine)
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert "mine.toml" in answer.err
    assert files_in(tmp_path) == {"mine.toml": b"my readings"}


def test_an_unknown_starter_is_answered_with_the_known_ones(tmp_path: Path) -> None:
    """A slip of the key should cost a second, not a search."""
    answer = said("new", "flap-mn", "--out", tmp_path / "x.toml")
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert "flap-mm" in answer.err
    assert files_in(tmp_path) == {}


def test_no_name_is_answered_with_the_way_to_the_list() -> None:
    """The card says `jiggen new NAME`; whoever forgets the name is told where names are."""
    answer = said("new")
    assert answer.status == 2
    assert "jiggen new --list" in answer.err


def test_a_folder_that_is_not_there_is_one_clear_line(tmp_path: Path) -> None:
    """The user sees which path was wrong."""
    answer = said("new", "flap-mm", "--out", tmp_path / "none" / "x.toml")
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert "x.toml" in answer.err


@pytest.mark.parametrize("name", list(starter_files()))
def test_the_measuring_sheet_lies_beside_the_job_and_is_one_side_of_paper(
    name: str, tmp_path: Path
) -> None:
    """Who walks to the part with the job file in his head comes back without the third number."""
    job = tmp_path / "mine.toml"
    answer = said("new", name, "--sheet", "--out", job)
    assert answer.status == 0, answer.err
    sheet = tmp_path / "mine-sheet.pdf"
    assert f"Wrote {sheet}" in answer.out
    assert sheet in tmp_path.iterdir()
    (page,) = read_pages(sheet.read_bytes())
    assert page.title == "MEASURE"
    # Its blanks are numbered from 1 on, and each is named once.
    numbers = sorted(int(w.text) for w in page.words if w.text.isdigit())
    assert set(range(1, max(numbers) + 1)) <= set(numbers)
    assert max(numbers) >= 6
    assert said("angles", job).status == 0


def test_a_measuring_sheet_that_lies_there_is_not_overwritten_and_no_job_is_left(
    tmp_path: Path,
) -> None:
    """The sheet with the readings in pencil was scanned under that very name."""
    (tmp_path / "mine-sheet.pdf").write_bytes(b"my readings")
    answer = said("new", "flap-mm", "--sheet", "--out", tmp_path / "mine.toml")
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert "mine-sheet.pdf" in answer.err
    assert files_in(tmp_path) == {"mine-sheet.pdf": b"my readings"}
