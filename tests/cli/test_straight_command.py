"""``jiggen straight`` on the command line: form, files, exit status, the README's case."""

import json
import re
import shlex
from pathlib import Path

import pytest
from commandline import PROJECT, process, said

README = (PROJECT / "README.md").read_text("utf-8")

EDGE = "position (mm),deviation (mm)\n0,0\n150,0.3\n300,0.4\n450,0.3\n600,0\n"


@pytest.fixture(autouse=True)
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder with one readings file."""
    monkeypatch.chdir(tmp_path)
    Path("edge.csv").write_text(EDGE, "utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("words", "status"),
    [
        ((), 0),
        (("--limit", "0.5"), 0),
        (("--limit", "0.3"), 1),
        (("--limit", "0.42", "--step", "0.1"), 1),
        (("--limit", "-1"), 2),
        (("--limit", "0.5", "--plot", "edge.dxf"), 2),
    ],
)
def test_the_exit_status_follows_the_verdict(words: tuple[str, ...], status: int) -> None:
    """A script that files the part must stop at a bent one, and at one nobody can tell."""
    answer = said("straight", "edge.csv", *words)
    assert answer.status == status
    assert (answer.err == "") == (status != 2)
    assert (answer.out == "") == (status == 2)


@pytest.mark.parametrize("name", ["plot.svg", "plot.pdf", "PLOT.SVG"])
def test_a_plot_is_written_once_and_never_over_a_file(name: str) -> None:
    """The plot of pass 1 is the record of pass 1."""
    assert said("straight", "edge.csv", "--plot", name).status == 0
    first = Path(name).read_bytes()
    assert first.startswith(b"%PDF" if name.endswith("pdf") else b"<?xml")
    answer = said("straight", "edge.csv", "--limit", "0.1", "--plot", name)
    assert answer.status == 2
    assert answer.faults == [f"{name}: is there already; give --plot the name of a new file"]
    assert Path(name).read_bytes() == first


def test_json_is_one_object_and_nothing_else() -> None:
    """Programs read it."""
    answer = said("straight", "edge.csv", "--limit", "0.3", "--json")
    record = json.loads(answer.out)
    assert answer.out.count("\n") == 1
    assert (record["verdict"], answer.status) == ("beyond the limit", 1)
    assert record["lines"]["deviation"]["minimum_zone"]["width"] == pytest.approx(0.4)


@pytest.mark.parametrize("name", ["form.toml", "form.csv"])
def test_a_blank_form_is_written_and_never_over_a_file(name: str) -> None:
    """A filled-in form is a day's measuring."""
    answer = said("straight", "--form", name)
    assert (answer.status, answer.out.splitlines()[0]) == (0, f"Wrote {name}")
    Path(name).write_text("mine", "utf-8")
    again = said("straight", "--form", name)
    assert again.status == 2
    assert Path(name).read_text("utf-8") == "mine"
    assert said("straight", "edge.csv", "--form", "new.csv").status == 2
    assert not Path("new.csv").exists()


def test_without_readings_the_way_to_a_form_is_said() -> None:
    """The first question has an answer."""
    answer = said("straight")
    assert answer.status == 2
    assert answer.faults == ["jiggen straight: which readings? For a blank form: --form FILE"]


def test_faults_of_file_and_options_come_one_a_line() -> None:
    """All at once, on stderr, and nothing is written."""
    Path("edge.csv").write_text(EDGE.replace("0.4", "\x1b[2J"), "utf-8")
    answer = said("straight", "edge.csv", "--limit", "two", "--plot", "p.svg")
    assert answer.status == 2
    assert [line.split(": ")[:2] for line in answer.faults] == [
        ["edge.csv", "line 4, deviation"],
        ["jiggen straight", "--limit"],
    ]
    assert "\x1b" not in answer.err
    assert not Path("p.svg").exists()


def test_the_answer_is_plain_text_in_any_terminal(bench: Path) -> None:
    """An old terminal, a log file, a pipe: no colour codes, no letters that it lacks."""
    answer = process(
        "straight", "edge.csv", "--limit", "0.5", folder=bench, PYTHONIOENCODING="ascii"
    )
    assert answer.status == 0
    assert answer.out.isascii()
    assert "\x1b" not in answer.out
    assert "?" not in answer.out.replace("already?", "")


def test_the_readme_shows_what_the_command_prints() -> None:
    """The example is copied before the text is read."""
    part = README.split("\n## Is the edge straight?\n")[1].split("\n## ")[0]
    ((name, table),) = re.findall(r"<!-- file: (\S+) -->\n```csv\n(.*?)^```", part, re.S | re.M)
    (excerpt,) = re.findall(rf"<!-- straight: {name} -->\n```text\n(.*?)^```", part, re.S | re.M)
    (command,) = re.findall(r"^jiggen (straight .*)$", part, re.M)
    Path(name).write_text(table, "utf-8")
    answer = said(*shlex.split(command))
    assert (answer.status, answer.err) == (0, "")
    printed = iter(answer.out.splitlines())
    wanted = [line for line in excerpt.splitlines() if line != "..."]
    assert len(wanted) >= 5
    assert [line for line in wanted if not any(line == there for there in printed)] == []
    keys = set(re.findall(r"`(\w+)`", part.split("A plot in plain characters")[1]))
    form = said("straight", "--form", "all.toml")
    assert form.status == 0
    in_form = set(re.findall(r"^#? ?(\w+) = ", Path("all.toml").read_text("utf-8"), re.M))
    assert in_form - {"format", "date", "by", "position", "deviation"} <= keys


def test_one_way_alone_is_answered_with_two() -> None:
    """A list of texts is no answer to somebody at a prompt."""
    answer = said("straight", "edge.csv", "--ways", "down")
    assert answer.status == 2
    assert answer.faults == [
        'jiggen straight: --ways: takes two words, given "down"; write --ways down,up'
    ]
