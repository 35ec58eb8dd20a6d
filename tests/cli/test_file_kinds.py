"""A file that was given in another's place is named in one line."""

from pathlib import Path

import pytest
from commandline import FLAP, said

from jiggen.file_kinds import DRAWING, JOB, MANIFEST, READINGS, kind_of


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a job and its drawings."""
    place = tmp_path_factory.mktemp("file_kinds")
    (place / "flap.toml").write_text(FLAP, "utf-8")
    assert said("make", place / "flap.toml", "--only", "guide", "--out", place).status == 0
    return place


WRONG = [
    (("angles", "readings.toml"), "is a readings form, not a job file; give the job file"),
    (("verify", "readings.toml"), "jiggen verify JOB --readings {file}"),
    (("make", "manifest.json"), "is the manifest of a set of drawings, not a job file"),
    (("angles", "print.pdf"), "is a drawing, not a job file"),
    (("verify", "cut-1.svg"), "is a drawing, not a job file"),
    (("make", "cut-1.dxf"), "jiggen remeasure {file} measures it"),
    (("remeasure", "flap.toml"), "is a job file, not a drawing; jiggen make {file} draws it"),
    (("remeasure", "readings.toml"), "is a readings form, not a drawing"),
    (("remeasure", "manifest.json"), "give one of the drawings that it lists"),
]


@pytest.mark.parametrize(("words", "told"), WRONG)
def test_a_file_in_the_place_of_another_is_named_with_what_would_do(
    words: tuple[str, str], told: str, folder: Path
) -> None:
    """A dozen faults about keys send a user to mend a form that was right."""
    file = folder / words[1]
    answer = said(words[0], file)
    assert (answer.status, answer.out, len(answer.faults)) == (2, "", 1)
    assert answer.err.startswith(f"{file}: is ")
    assert told.format(file=file) in answer.err


@pytest.mark.parametrize("name", ["flap.toml", "manifest.json", "print.pdf", "cut-1.dxf"])
def test_what_is_given_as_readings_and_is_none_is_named(name: str, folder: Path) -> None:
    """The job file is the nearest at hand, and holds numbers too."""
    file = folder / name
    answer = said("verify", folder / "flap.toml", "--out", folder, "--readings", file)
    assert (answer.status, answer.out, len(answer.faults)) == (2, "", 1)
    assert answer.err.startswith(f"{file}: is ")
    assert "not a readings form" in answer.err
    assert "readings.toml" in answer.err


def test_each_of_the_jobs_files_is_known_by_what_is_in_it(folder: Path) -> None:
    """Files are renamed; what is in them stays."""
    kinds = {
        "flap.toml": JOB,
        "readings.toml": READINGS,
        "manifest.json": MANIFEST,
        "print.pdf": DRAWING,
        "cut-1.svg": DRAWING,
        "cut-1.dxf": DRAWING,
    }
    assert {name: kind_of((folder / name).read_bytes()) for name in kinds} == kinds


@pytest.mark.parametrize(
    "data",
    [b"", b"format = 1\n", b"[1, 2]", b'{"files": []}', b"\xff\xfe\x00", b"<html></html>", b"0\n"],
)
def test_a_file_that_is_none_of_them_keeps_its_own_fault(data: bytes) -> None:
    """A guess at what a file is meant to be would hide what is wrong with it."""
    assert kind_of(data) == ""


def test_a_job_with_a_slip_in_it_is_still_a_job(tmp_path: Path) -> None:
    """Its own faults are worth more than its name."""
    job = tmp_path / "flap.toml"
    job.write_text(FLAP.replace("pitch = ", "pich = ") + "[[sheet]]\nname = 1\n", "utf-8")
    answer = said("angles", job)
    assert answer.status == 2
    assert "holes.pich" in answer.err
    assert "readings form" not in answer.err
