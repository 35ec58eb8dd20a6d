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
    answer = said("straight", "--form", name, "--units", "in")
    assert (answer.status, answer.out.splitlines()[0]) == (0, f"Wrote {name}")
    assert "(in)" in (text := Path(name).read_text("utf-8")) or 'units = "in"' in text
    Path(name).write_text("mine", "utf-8")
    again = said("straight", "--form", name, "--units", "in")
    assert again.status == 2
    assert Path(name).read_text("utf-8") == "mine"
    assert said("straight", "edge.csv", "--form", "new.csv").status == 2
    assert not Path("new.csv").exists()


@pytest.mark.parametrize("name", ["form.toml", "form.csv"])
def test_a_form_asks_for_its_unit(name: str) -> None:
    """Inches typed under (mm) are judged within any limit: the edge is riveted bent."""
    answer = said("straight", "--form", name)
    assert (answer.status, answer.out) == (2, "")
    assert answer.faults == [
        "jiggen straight: --units: is not said: mm or in? Give --units mm or --units in"
    ]
    assert not Path(name).exists()


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("m.csv", "position (mm),gap (mm)\n0,0\n7.5,0.05\n15,0.060\n22.5,0.04\n30,0\n"),
        (
            "m.toml",
            'format = 1\nunits = "mm"\n[readings]\nposition = [0, 15, 30]\ngap = [0, 0.06, 0]\n',
        ),
        (
            "long.csv",
            "position (mm),height (mm)\n0,9\n" + "".join(f"{4 * n},9.1\n" for n in range(1, 40)),
        ),
    ],
)
def test_inches_under_a_heading_of_millimetres_are_asked_about(name: str, text: str) -> None:
    """A gap of 0.060 in is twice the limit; taken for millimetres it was WITHIN."""
    Path(name).write_text(text, "utf-8")
    answer = said("straight", name, "--limit", "0.030 in")
    assert answer.status == 2
    ask = f"{name}: position: makes the edge "
    assert [line for line in answer.faults if line.startswith(ask) and "is in meant?" in line]
    assert len(answer.faults) == 1
    assert said("straight", name, "--limit", "0.030 in", "--units", "mm").status == 0
    Path(name).write_text(text.replace("mm", "in"), "utf-8")
    assert said("straight", name, "--limit", "0.030 in").status == 1


@pytest.mark.parametrize(
    "rows",
    [
        "0,0\n40,0.30\n80,0.50\n120,0\n",  # 0.50 in is no gap of an edge
        "".join(f"{n},0.1\n" for n in range(400)),  # 400 in: 33 ft
        "0,0\n1,0.1\n2,0\n",  # 2 in is no edge either
        "0,0\n250,0.3\n500,0\n",
    ],
)
def test_no_question_where_inches_would_be_no_better(rows: str) -> None:
    """A question that is wrong once is not read the next time."""
    Path("edge.csv").write_text(f"position (mm),gap (mm)\n{rows}", "utf-8")
    assert said("straight", "edge.csv").status == 0


def test_heights_that_look_like_gaps_are_questioned_before_the_advice() -> None:
    """Feelers under a straightedge, headed height, turn a hollow into a hump and pull it worse."""
    rows = "0,0\n250,0.3\n500,0.4\n750,0.3\n1000,0\n"
    Path("e.csv").write_text(f"position (mm),height (mm)\n{rows}", "utf-8")
    ask = "0 at both ends and above 0 between: if these are gaps, head the column gap;"
    out = said("straight", "e.csv", "--limit", "1").out
    assert out.index(ask) < out.index("Put the first temporary fastener")
    Path("d.csv").write_text(f"position (mm),deviation (mm)\n{rows}", "utf-8")
    assert ask in said("straight", "d.csv", "--reads", "heights").out
    assert ask not in said("straight", "d.csv", "--reads", "gaps").out
    assert ask not in said("straight", "e.csv", "--ways", "up,down").out
    Path("f.csv").write_text(f"position (mm),height (mm)\n{rows}".replace(",0\n250", ",0.1\n250"))
    assert ask not in said("straight", "f.csv").out


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
    assert said("straight", "--form", "all.toml", "--units", "mm").status == 0
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
