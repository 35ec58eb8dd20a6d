"""The fields of a job: every key has one, and it changes its own value and nothing else."""

import random
import re
import shutil
from pathlib import Path

import pytest
from asking import form_in, form_of, got, posted, text_of
from commandline import PROJECT

from jiggen.job.schema import keys_of
from jiggen.job.sections import Job
from jiggen.page.answers import Bench
from jiggen.page.catalogue import known
from jiggen.page.edit import flat
from jiggen.page.form import DRAWN, MEASURED

JOBS = [
    path for where in ("templates/*.toml", "samples/*/job.toml") for path in PROJECT.glob(where)
]
#: Two in every run, all of them with the large budgets.
USUAL = ("tapered-inch.toml", "split-flap")
WHOLE = [
    pytest.param(path, marks=() if {path.name, path.parent.name} & set(USUAL) else pytest.mark.slow)
    for path in JOBS
]
ENDINGS = (("", "\n"), ("\ufeff", "\r\n"))
EACH = 12
"""Fields tried of each form."""
ANOTHER = {"mm": "3.25", "in": "0.125", "deg": "2.5", "": "7"}


def opened(tmp_path: Path, job: Path, mark: str = "", newline: str = "\n") -> tuple[Bench, Path]:
    """Return a bench with a copy of a job, and of what it names, in a folder of its own."""
    for file in job.parent.glob("*.dat"):
        shutil.copy(file, tmp_path)
    copy = tmp_path / "job.toml"
    copy.write_text(mark + job.read_text("utf-8"), "utf-8", newline=newline)
    return Bench(tmp_path, copy), copy


@pytest.mark.parametrize("job", WHOLE, ids=lambda job: f"{job.parent.name}-{job.stem}")
@pytest.mark.parametrize("screen", ["measure", "jigs"])
def test_a_field_changes_its_own_value_only(tmp_path: Path, job: Path, screen: str) -> None:
    """Comments, order, digits, line ends and a byte order mark stay; Undo brings all of it back."""
    for mark, newline in ENDINGS:
        bench, copy = opened(tmp_path, job, mark, newline)
        before = copy.read_bytes()
        form = form_of(bench, screen)
        assert "As in the file." in text_of(posted(bench, "/try", **form))
        posted(bench, "/save", **form)
        assert copy.read_bytes() == before
        keys = [key for key in form if known(key) is not None]
        chosen = random.Random(f"{job}{screen}").sample(keys, min(EACH, len(keys)))
        for key in chosen:
            page = got(bench, f"/{screen}").body.decode()
            is_picked = f'<select id="{key}"' in page
            unit = page.partition(f'<label for="{key}">')[2].partition("</label>")[0]
            unit = unit.partition("<span>")[2].partition("</span>")[0]
            typed = "" if is_picked else ANOTHER.get(unit, "7")
            posted(bench, "/save", **(form | {key: typed}))
            new = copy.read_bytes()
            was, now = (
                flat(data.decode("utf-8-sig").replace("\r\n", "\n")) for data in (before, new)
            )
            changed = {name for name in {*was, *now} if repr(was.get(name)) != repr(now.get(name))}
            empty = key.rpartition(".")[0]  # the table whose only key it was
            odd = {n for n in changed if not n.startswith(key.partition("[")[0])} - {empty}
            assert odd == set(), (key, typed)
            assert len(re.findall(rb"#(?!\d)", new)) >= len(re.findall(rb"#(?!\d)", before))
            assert new.startswith(mark.encode("utf-8"))
            assert new.count(b"\n") == new.count(newline.encode())
            if new != before:
                posted(bench, "/undo", **form_of(bench, screen))
            assert copy.read_bytes() == before


def test_every_section_is_typed_on_one_of_the_two_screens() -> None:
    """A section that a job can have and no field can change would be forgotten."""
    sections = {name for name, key in keys_of(Job).items() if key.holds is not None}
    assert sections == {*MEASURED, *DRAWN, "skin"}
    assert set(MEASURED).isdisjoint(DRAWN)


def test_each_key_of_a_whole_job_has_a_field(tmp_path: Path) -> None:
    """Whatever the sample that has everything states can be typed."""
    bench, copy = opened(tmp_path, PROJECT / "samples" / "canard" / "job.toml")
    fields = {*form_of(bench, "measure"), *form_of(bench, "jigs")}
    stated = {key for key in flat(copy.read_text()) if not key.startswith("format")}
    whole = {key.rpartition("[")[0] if key.endswith("]") else key for key in stated}
    assert {key for key in whole if not ({key, f"{key}[1]"} & fields)} == set()


@pytest.mark.parametrize(
    "key",
    [
        *("nonsense", "wedge", "wedge.station", "wedge.station[1]", "wedge.station[2].at"),
        *("wedge.station[0].at", "wedge.station[1].nonsense", "wedge.station[1].at[1]"),
        *("holes.count[1]", "row[1].name", "format.x", "stated", "__proto__", "print.", ".print"),
        *("sides[3]", "readings.go[1]", "wedge.station[1].thickness.front.x", "cut.colours"),
    ],
)
def test_a_key_that_is_no_field_is_refused(bench: Bench, job: Path, key: str) -> None:
    """The page never made such a form, and nothing is written."""
    before = job.read_bytes()
    for screen in ("measure", "jigs"):
        for path in ("/try", "/save", "/both", "/make"):
            answer = posted(bench, path, **(form_of(bench, screen) | {key: "1"}))
            assert answer.status == 400, (screen, path)
    assert job.read_bytes() == before


@pytest.mark.parametrize(
    "press",
    [
        *("nonsense", "add nonsense", "drop wedge", "put format 2 = 3", "exchange a"),
        *("exchange name nonsense", "put wedge.station[9].at 1", "add wedge.station extra"),
    ],
)
def test_a_button_that_is_not_there_changes_nothing(bench: Bench, job: Path, press: str) -> None:
    """What a button would do is looked up; the form stays as it was typed."""
    before = job.read_bytes()
    answer = posted(bench, "/save", **form_of(bench, "measure"), do=press)
    assert answer.status in (303, 400)
    assert job.read_bytes() == before
    if answer.status == 400:
        assert form_in(answer)["wedge.depth"] == "27.0"
