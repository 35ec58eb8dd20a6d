import os
import shutil
from pathlib import Path

import pytest

from jiggen.job import starters
from jiggen.job.read import read_job
from jiggen.job.sections import Form
from jiggen.job.starters import StarterError, starter_files, write_starter
from jiggen.solve import solve

NAMES = [
    *("cradle", "flap-mm", "level-readings", "one-sided", "outline", "prismatic", "stock"),
    "tapered-inch",
]


def test_the_starters_are_listed_by_name():
    """The list is what a new user sees first."""
    assert list(starter_files()) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_a_starter_reads_and_solves_where_it_was_written(name, tmp_path):
    """A starter that does not work teaches nothing; the outline one needs its coordinates."""
    written = write_starter(name, tmp_path / "mine.toml")
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(path.name for path in written)
    job = read_job(written[0])
    assert job.holes is not None
    solution = solve(job)
    assert len(solution.holes) == len(job.holes.positions)
    assert not [check for check in solution.checks if check.status == "fail"]


@pytest.mark.parametrize("name", NAMES)
def test_no_starter_has_the_textbook_corner(name, tmp_path):
    """A guide of 84 deg that came out of a starter by chance would look like a measurement."""
    solution = solve(read_job(write_starter(name, tmp_path)[0]))
    corners = [place.guide_forward_a for place in solution.stations]
    corners += [place.guide_forward_b for place in solution.stations]
    corners += [guide.angle for guide in solution.guides]
    degrees = [corner * 57.29577951308232 for corner in corners]
    assert not [corner for corner in degrees if abs(corner - 84) < 0.2]


def test_the_starters_show_each_way_to_measure(tmp_path):
    """Each form of input can be seen in a file that works, but for taper rate, in a comment."""
    paths = [write_starter(name, tmp_path)[0] for name in NAMES]
    forms = {read_job(path).wedge.stations[0].form for path in paths}
    assert set(Form) - forms == {Form.TAPER_RATE}
    assert any("# taper_rate" in path.read_text("utf-8") for path in paths)


def test_there_is_a_starter_for_each_situation(tmp_path):
    """Whoever has only the cradle to make, or a stock to trim, starts from a file like his."""
    jobs = {name: read_job(write_starter(name, tmp_path)[0]) for name in NAMES}
    assert jobs["cradle"].cradle is not None
    assert jobs["stock"].stock is not None
    assert jobs["stock"].stock.lightening
    assert len(jobs["prismatic"].wedge.stations) == 1
    assert len(jobs["tapered-inch"].wedge.stations) == 2


def test_the_outline_starter_brings_its_coordinates(tmp_path):
    """The job file alone would be refused at once."""
    written = write_starter("outline", tmp_path)
    assert [path.name for path in written] == ["outline.toml", "outline-section.dat"]


def test_a_starter_goes_to_the_working_folder_if_nothing_else_is_said(tmp_path, monkeypatch):
    """The file is where the user looks for it."""
    monkeypatch.chdir(tmp_path)
    assert write_starter("flap-mm") == [Path("flap-mm.toml")]
    assert (tmp_path / "flap-mm.toml").is_file()


@pytest.mark.parametrize("taken", ["outline.toml", "outline-section.dat"])
def test_nothing_is_overwritten_and_nothing_half_written(tmp_path, taken):
    """The file that is there may hold an evening's measurements."""
    (tmp_path / taken).write_text("mine")
    with pytest.raises(StarterError, match=f"{taken} is there already"):
        write_starter("outline", tmp_path)
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [(taken, "mine")]


def test_a_second_starter_shares_the_coordinate_file_that_is_there(tmp_path):
    """A second trial under another name must not end in the first one's coordinate file."""
    write_starter("outline", tmp_path)
    written = write_starter("outline", tmp_path / "second.toml")
    assert written == [tmp_path / "second.toml"]
    assert len(list(tmp_path.iterdir())) == 3


def test_a_dangling_link_is_not_written_through(tmp_path):
    """The link may point to a disk that is not plugged in."""
    (tmp_path / "flap-mm.toml").symlink_to(tmp_path / "away.toml")
    with pytest.raises(StarterError, match="is there already"):
        write_starter("flap-mm", tmp_path)
    assert not (tmp_path / "away.toml").exists()


def test_no_file_is_left_when_the_second_cannot_be_written(tmp_path, monkeypatch):
    """A job file without its coordinates would be a puzzle."""
    real_open = Path.open

    def full(self, *arguments, **options):
        if self.suffix == ".dat" and "x" in "".join(arguments):
            raise OSError(28, os.strerror(28), str(self))
        return real_open(self, *arguments, **options)

    monkeypatch.setattr(Path, "open", full)
    with pytest.raises(OSError, match="No space left"):
        write_starter("outline", tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_starter_is_answered_with_the_nearest(tmp_path):
    """The user typed it from memory."""
    with pytest.raises(StarterError, match='nearest is "tapered-inch"'):
        write_starter("tapered", tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_both_places_are_named_when_there_are_no_starters(tmp_path, monkeypatch):
    """The user, or who installed it, can look there."""
    monkeypatch.setattr(starters, "_places", lambda: (tmp_path / "one", tmp_path / "two"))
    with pytest.raises(StarterError, match=r"one nor in .*two"):
        starter_files()


def test_the_installed_folder_comes_before_the_checkout(tmp_path, monkeypatch):
    """A wheel carries the starters inside the package."""
    (tmp_path / "templates").mkdir()
    source = Path(str(starter_files()["one-sided"]))
    shutil.copy(source, tmp_path / "templates" / "only.toml")
    places = (tmp_path / "templates", source.parent)
    monkeypatch.setattr(starters, "_places", lambda: places)
    assert list(starter_files()) == ["only"]
