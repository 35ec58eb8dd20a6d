"""Jobs, forms and manifests beyond all measure: refused where text becomes tables, in one line."""

import re
from pathlib import Path

import pytest
from commandline import FLAP, files_in, process, said


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a job and its drawings."""
    folder = tmp_path_factory.mktemp("made")
    (folder / "flap.toml").write_text(FLAP, "utf-8")
    job = folder / "flap.toml"
    assert (
        said("make", job, "--only", "guide-a1", "--as", "pdf", "--out", folder / "out").status == 0
    )
    return folder


MANY = 20_000


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ('name2 = "' + '\\"' * MANY + '"', "is not a known key"),
        ('name2 = "' + '\\"' * MANY, "is not valid TOML"),
        (".".join(["a"] * MANY) + " = 1", "line {at}: has a key of more than 10 parts"),
        ("[" + ".".join(["a"] * MANY) + "]", "has a key of more than 10 parts; write one [table"),
        ("x = {" + " . ".join(["a"] * 9000) + " = 1}", "has a key of more than 10 parts"),
        (".".join(['"a,b"'] * 9000) + " = 1", "has a key of more than 10 parts"),
        ("x = [" + "1," * 90_000 + "]", "line {at}: is longer than 100,000 characters; break it"),
        ("x = " + "[\n" * MANY, "is nested too deeply; write tables in tables only"),
    ],
)
@pytest.mark.parametrize("file", ["job", "form"])
def test_text_that_kept_a_reader_busy_for_minutes_is_one_line(
    more: str, words: str, file: str, made: Path, tmp_path: Path
) -> None:
    """Whoever pastes a line too long must learn which, and not wait for it."""
    text = FLAP if file == "job" else "format = 2\n[more]\n"
    (tmp_path / "flap.toml").write_text(FLAP, "utf-8")
    (tmp_path / "given.toml").write_text(f"{text}{more}\n", "utf-8")
    asked = {
        "job": ("angles", "given.toml"),
        "form": ("verify", "flap.toml", "--out", made / "out", "--readings", "given.toml"),
    }[file]
    answer = process(*asked, folder=tmp_path)
    assert (answer.status, answer.out) == (2, "")
    assert len(answer.faults) <= 2
    assert words.format(at=text.count("\n") + 1) in answer.err


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("9" * 400, "is a number of more than 15 digits; write a length, an angle or a count"),
        ("9" * 5000, "holds a number of thousands of digits"),
        ("0x" + "f" * 9000, "is a number of more than 15 digits"),
    ],
)
def test_a_number_of_hundreds_of_digits_is_one_line(
    number: str, words: str, made: Path, tmp_path: Path
) -> None:
    """Status 70 asks for the job file to be sent to the makers of the program."""
    job = tmp_path / "flap.toml"
    job.write_text(FLAP.replace("line = 8.0", f"line = {number}"), "utf-8")
    answer = said("angles", job)
    assert (answer.status, answer.out, len(answer.faults)) == (2, "", 1)
    assert words in answer.err
    form = tmp_path / "readings.toml"
    text, count = re.subn(r'bar-x = ""', f"bar-x = {number}", blank(made), count=1)
    assert count == 1
    form.write_text(text, "utf-8")
    read = said("verify", made / "flap.toml", "--out", made / "out", "--readings", form)
    assert (read.status, read.out, len(read.faults)) == (2, "", 1)
    assert words in read.err


def blank(made: Path) -> str:
    """Return the form that lies beside the drawings."""
    return (made / "out" / "readings.toml").read_text("utf-8")


@pytest.mark.parametrize("number", ["9" * 400, "9" * 5000, "1e999", "NaN"])
def test_a_manifest_with_a_number_beyond_all_measure_is_one_line(
    number: str, made: Path, tmp_path: Path
) -> None:
    """The manifest is a text file among others, and an editor opens it."""
    for name, data in files_in(made / "out").items():
        (tmp_path / name).write_bytes(data)
    path = tmp_path / "manifest.json"
    path.write_text(path.read_text("utf-8").replace('"width": 210.0', f'"width": {number}', 1))
    answer = said("verify", made / "flap.toml", "--out", tmp_path, "--bar-x", "100")
    assert (answer.status, answer.out, len(answer.faults)) == (2, "", 1)
    assert f"{path}: holds a number that is none, " in answer.err
    assert "run jiggen make again" in answer.err


def test_unknown_keys_are_listed_to_twenty_and_counted(tmp_path: Path) -> None:
    """A form of another program pushed into a job hid its first line behind thousands."""
    job = tmp_path / "flap.toml"
    job.write_text(FLAP + "".join(f"k{at} = 1\n" for at in range(1000)) + "[more]\n", "utf-8")
    answer = said("angles", job)
    assert answer.status == 2
    listed = [line for line in answer.faults if "is not a known key" in line]
    assert len(listed) == len(answer.faults) == 21
    assert f"{job}: more: is not a known key" in listed[0]
    assert f"{job}: cut.k19: is not a known key, nor are 980 more" in listed[-1]


def test_names_that_are_not_on_the_drawings_are_listed_to_twenty_and_counted(
    made: Path, tmp_path: Path
) -> None:
    """Readings of another job, in one file of all jobs of a year."""
    form = tmp_path / "readings.toml"
    pages = "".join(f'[[page]]\nname = "s{at}"\n' for at in range(500))
    form.write_text(blank(made).split("[[page]]")[0] + pages, "utf-8")
    answer = said("verify", made / "flap.toml", "--out", made / "out", "--readings", form)
    assert answer.status == 2
    assert len(answer.faults) == 21
    assert "page[21].name: is not on the drawings, nor are 479 more" in answer.err


def test_lines_that_are_not_toml_are_listed_to_twenty(tmp_path: Path) -> None:
    """One wrong habit in a file of a thousand lines is one thing to learn."""
    job = tmp_path / "flap.toml"
    job.write_text("a = 1/2\n" * 1000, "utf-8")
    answer = said("angles", job)
    assert (answer.status, len(answer.faults)) == (2, 20)
