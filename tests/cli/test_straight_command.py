"""``jiggen straight`` on the command line: form, files, exit status, the manual's case."""

import json
import re
import shlex
from pathlib import Path

import pytest
from commandline import PROJECT, process, said

MANUAL = (PROJECT / "jiggen/manual/straightness.md").read_text("utf-8")

EDGE = "position (mm),height (mm)\n0,0\n150,0.3\n300,0.4\n450,0.3\n600,0\n"


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
        (("--limit", "0.5", "--plot", "edge.pdf"), 2),
        (("--gap", "0.5 mm"), 2),
    ],
)
def test_the_exit_status_follows_the_verdict(words: tuple[str, ...], status: int) -> None:
    """A script that files the part must stop at a bent one, and at one nobody can tell."""
    answer = said("straight", "edge.csv", *words)
    assert answer.status == status
    assert (answer.err == "") == (status != 2)
    assert (answer.out == "") == (status == 2)


@pytest.mark.parametrize("name", ["plot.svg", "PLOT.SVG"])
def test_a_plot_is_written_once_and_never_over_a_file(name: str) -> None:
    """The plot of pass 1 is the record of pass 1."""
    assert said("straight", "edge.csv", "--plot", name).status == 0
    first = Path(name).read_bytes()
    assert first.startswith(b"<?xml")
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


def test_without_readings_the_ways_to_give_them_are_said() -> None:
    """The first question has an answer."""
    answer = said("straight")
    assert answer.status == 2
    assert answer.faults == [
        "jiggen straight: give READINGS, or --gap X, or --form FILE; one of them"
    ]


@pytest.mark.parametrize(
    ("gap", "limit", "status", "verdict"),
    [
        ("0.5 mm", "0.5 mm", 0, "within the limit"),
        ("0.02 in", "0.5 mm", 1, "cannot tell"),
        ("0.45 mm,0.5 mm", "0.4 mm", 1, "beyond the limit"),
        ("0.45 mm,0.5 mm", "", 0, "no limit stated"),
    ],
)
def test_one_gap_is_judged_without_a_file(gap: str, limit: str, status: int, verdict: str) -> None:
    """Between passes nobody writes a table."""
    answer = said("straight", "--gap", gap, "--limit", limit)
    assert (answer.status, answer.err) == (status, "")
    assert answer.out.startswith(f"{verdict.upper()}\n")
    record = json.loads(said("straight", "--gap", gap, "--limit", limit, "--json").out)
    assert record["verdict"] == record["held"]["verdict"] == verdict
    assert record["held"]["value"] + record["held"]["plus_minus"] == pytest.approx(
        0.508 if "in" in gap else 0.5
    )


def test_an_old_table_is_asked_about_and_an_option_answers() -> None:
    """Exit 2 with what to write, and no verdict on a guess."""
    Path("old.csv").write_text(EDGE.replace("height", "deviation"), "utf-8")
    answer = said("straight", "old.csv", "--limit", "0.5")
    assert (answer.status, answer.out) == (2, "")
    assert answer.faults == [
        'old.csv: deviation: are these gaps or heights? Put "gap" (larger is lower) or "height" '
        "(larger is higher) into the name, or give --reads"
    ]
    ways = {
        reads: said("straight", "old.csv", "--limit", "0.5", "--reads", reads).out
        for reads in ("gaps", "heights")
    }
    assert "bows away from the straightedge (hollow) by 0.40 mm" in ways["gaps"]
    assert "bows up by 0.40 mm" in ways["heights"]


def test_faults_of_file_and_options_come_one_a_line() -> None:
    """All at once, on stderr, and nothing is written."""
    Path("edge.csv").write_text(EDGE.replace("0.4", "\x1b[2J"), "utf-8")
    answer = said("straight", "edge.csv", "--limit", "two", "--plot", "p.svg")
    assert answer.status == 2
    assert [line.split(": ")[:2] for line in answer.faults] == [
        ["edge.csv", "line 4, height"],
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


def test_the_manual_shows_what_the_command_prints() -> None:
    """The example is copied before the text is read."""
    ((name, table),) = re.findall(r"<!-- file: (\S+) -->\n```csv\n(.*?)^```", MANUAL, re.S | re.M)
    (shown,) = re.findall(rf"<!-- straight: {name} -->\n```text\n(.*?)^```", MANUAL, re.S | re.M)
    (command,) = re.findall(rf"`jiggen (straight {name} .*?)`", MANUAL)
    Path(name).write_text(table, "utf-8")
    answer = said(*shlex.split(command))
    assert (answer.status, answer.err) == (0, "")
    assert len(shown.splitlines()) >= 4
    assert answer.out.startswith(shown)
    gaps = re.findall(r"^jiggen (straight --gap .*?)  ", MANUAL, re.M)
    assert len(gaps) == 2
    for line in gaps:
        assert said(*shlex.split(line)).out.startswith("WITHIN THE LIMIT")


def test_the_manual_names_every_key_of_the_form_and_keeps_to_a_page() -> None:
    """A key that stands nowhere is a key that nobody fills in."""
    assert len(MANUAL.splitlines()) <= 60
    assert said("straight", "--form", "all.toml").status == 0
    in_form = set(re.findall(r"^#? *(\w+) = ", Path("all.toml").read_text("utf-8"), re.M))
    assert len(in_form) > 15
    named = set(re.findall(r"`(\w+)`", MANUAL)) | {"format", "date", "by", "no_go"}
    assert in_form <= named


def test_one_way_alone_is_answered_with_two() -> None:
    """A list of texts is no answer to somebody at a prompt."""
    answer = said("straight", "edge.csv", "--ways", "down")
    assert answer.status == 2
    assert answer.faults == [
        'jiggen straight: --ways: takes two words, given "down"; write --ways up,down'
    ]
