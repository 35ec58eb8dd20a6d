import math
import os
import re
import shutil
import tomllib
from pathlib import Path

import pytest
from commandline import said as ran
from msgspec.structs import replace

from jiggen.errors import DrawingFileError
from jiggen.job import starters
from jiggen.job.read import read_job
from jiggen.job.schema import Key, key_rows
from jiggen.job.sections import Job
from jiggen.job.starters import StarterError, starter_contents, starter_files
from jiggen.job.wedge import REAR_LINED, Form, Station
from jiggen.solution import band_of
from jiggen.solve import solve
from jiggen.write.files import write_all_new

NAMES = [
    *("cradle", "flap-mm", "level-readings", "one-sided", "outline", "prismatic", "stock"),
    "tapered-inch",
]

ASKED = "The wedge's numbers are the example's: put in yours."


def write_starter(name, out=None):
    """Write a starter as `jiggen new` does; return what was written, the job file first."""
    contents = starter_contents(name, out)
    write_all_new(contents)
    return list(contents)


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
def test_the_example_s_own_numbers_are_not_taken_for_the_user_s(name, tmp_path):
    """GO, nothing stands out: and the wedge that was drilled was the example's."""
    file = write_starter(name, tmp_path / "mine.toml")[0]
    job = read_job(file)
    assert starters.JOB_NAMES[job.name] == name
    assert ASKED in band_of(solve(job).checks).lines
    answer = ran("angles", file, "--strict")
    assert (answer.status, answer.out.split()[0]) == (0, "LOOK")
    own = replace(job, name="My own edge")
    assert ASKED not in band_of(solve(own).checks).lines


def test_a_station_left_as_the_example_has_it_is_named(tmp_path):
    """One end was measured, and the other was forgotten."""
    file = write_starter("flap-mm", tmp_path)[0]
    text = file.read_text("utf-8")
    (one,) = (line for line in text.splitlines() if "front = [3.95" in line)
    file.write_text(text.replace(one, one.replace("3.95", "3.97")), "utf-8")
    (check,) = (c for c in solve(read_job(file)).checks if c.id == "example")
    assert check.act == "Station 2 has the example's numbers: put in yours."
    assert check.keys == ("wedge.station[2].offsets",)
    mine = text.replace("3.95", "3.97").replace("3.78", "3.80")
    file.write_text(mine, "utf-8")
    assert not [c for c in solve(read_job(file)).checks if c.id == "example"]


@pytest.mark.parametrize("name", NAMES)
def test_no_starter_has_the_textbook_corner(name, tmp_path):
    """A guide of 84 deg that came out of a starter by chance would look like a measurement."""
    solution = solve(read_job(write_starter(name, tmp_path)[0]))
    corners = [place.guide_forward_a for place in solution.stations]
    corners += [place.guide_forward_b for place in solution.stations]
    corners += [guide.angle for guide in solution.guides]
    degrees = [math.degrees(corner) for corner in corners]
    assert not [corner for corner in degrees if 83.4 < corner < 84.9]
    opened = [math.degrees(place.included) for place in solution.stations]
    assert not [angle for angle in opened if abs(angle - 12.0) < 0.5]


def test_the_starters_are_of_different_parts_and_none_of_one_builders():
    """Whoever opens one must see that it is an example, and not somebody's part."""
    texts = {name: place.read_text("utf-8") for name, place in starter_files().items()}
    jobs = {name: tomllib.loads(text) for name, text in texts.items()}
    assert len({tuple(job["sides"]) for job in jobs.values()}) >= 6
    assert len({job["holes"]["drill"] for job in jobs.values()}) >= 6
    assert len({job["rivet"]["size"] for job in jobs.values() if "rivet" in job}) >= 4
    assert len({job["name"].split()[0] for job in jobs.values()}) == 8
    for text in texts.values():
        assert "practice piece" not in text
        assert not ("rudder" in text.lower() and "left" in text and "#40" in text)


def meanings() -> dict[str, Key]:
    """Return every key of the job file by its dotted name, without the numbers of lists."""
    found = {}
    for name, key in key_rows(Job):
        found[name] = key
        for below, of_list in key_rows(key.holds) if key.holds is not None and key.is_list else ():
            found[f"{name}.{below}"] = of_list
    return {
        **found,
        **{f"wedge.station.{name}": key for name, key in key_rows(Station)},
    }


def commented(text: str) -> list[tuple[str, str]]:
    """Return each key of a starter that has a comment on its line, dotted, with the comment.

    A key that is commented out counts; so does ``# key: meaning`` above a table.
    """
    found, table = [], ""
    for line in text.splitlines():
        if head := re.fullmatch(r"(?:# )?\[\[?([\w.]+)\]\]?", line.strip()):
            table = f"{head[1]}."
        elif row := re.fullmatch(r"(?:# )?(\w+) = (?:\"[^\"]*\"|[^#\"]|\"#\d+\")*# +(.*)", line):
            found.append((f"{table}{row[1]}", row[2]))
        elif row := re.fullmatch(r"# (file|from|chord): (.*)", line):
            found.append((f"wedge.station.outline.{row[1]}", row[2]))
    return found


@pytest.mark.parametrize("name", NAMES)
def test_the_comments_of_a_starter_are_the_declared_meanings(name):
    """Said in two ways in two places, one of them is wrong in a year."""
    known = meanings()
    rows = commented(starter_files()[name].read_text("utf-8"))
    assert len(rows) >= 8
    for key, said in rows:
        meaning = known[key].meaning
        assert said == meaning or meaning.startswith(f"{said}; "), (key, said, meaning)


@pytest.mark.parametrize("name", NAMES)
def test_a_starter_that_is_measured_from_a_rear_line_says_where_it_lies(name, tmp_path):
    """The starter is what people copy: without the key nobody would learn of it."""
    job = read_job(write_starter(name, tmp_path)[0])
    for station in job.wedge.stations:
        assert (station.form in REAR_LINED) == (station.rear_at is not None)
    assert "rear-line" not in {check.id for check in solve(job).checks}


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
    with pytest.raises(DrawingFileError, match=f"{taken}: is there already"):
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
    with pytest.raises(DrawingFileError, match="is there already"):
        write_starter("flap-mm", tmp_path)
    assert not (tmp_path / "away.toml").exists()


def test_no_file_is_left_when_the_second_cannot_be_written(tmp_path, monkeypatch):
    """A job file without its coordinates would be a puzzle."""
    real, written = os.fsync, []

    def full(handle):
        written.append(handle)
        if len(written) == 2:
            raise OSError(28, os.strerror(28))
        real(handle)

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(DrawingFileError, match=r"outline-section\.dat: .*No space left"):
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
