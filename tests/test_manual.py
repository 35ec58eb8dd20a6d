"""The manual is held to the program: its keys, examples, commands, excerpts, words and links."""

from __future__ import annotations

import math
import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer
from commandline import PROJECT, said

from jiggen import manual
from jiggen.cli import app
from jiggen.job import fields
from jiggen.job.read import read_job_text
from jiggen.job.schema import keys_of, tables_of
from jiggen.job.sections import Job
from jiggen.report.manual import page_text
from jiggen.report.terminal import Terminal
from jiggen.solve import solve

FOLDER = PROJECT / "jiggen" / "manual"
SECTIONS = PROJECT / "samples" / "elevon"
PAGES = {topic: (FOLDER / f"{topic}.md").read_text("utf-8") for topic in manual.TOPICS}
README = (PROJECT / "README.md").read_text("utf-8")

#: Longest page; the one of the keys is as long as there are keys.
LONGEST = 120

#: What the trade does not say, or what means two things.
NOT_SAID = (
    r"practice piece", r"grey left", r"let in\b", r"low side", r"head edge", r"dimple axis",
    r"bore tilt", r"along x\b", r"along y\b", r"\bnest\b", r"\bcheek", r"as counted", r"low end",
    r"not now", r"may lean, uses",
)  # fmt: skip

#: Every table that a job file can have; the stations hold every form and each one's plus-minus.
EVERYTHING = """
format = 1
name = "x"
units = "mm"
[wedge]
[[wedge.station]]
at = 0
included_angle = 10
plus_minus = { angle = 0.1 }
[[wedge.station]]
at = 1
skin_angles = [5, 5]
plus_minus = { a = 0.1 }
[[wedge.station]]
at = 2
thickness = { front = 3, rear = 1, width = 10 }
plus_minus = { front = 0.1 }
[[wedge.station]]
at = 3
offsets = { front = [2, 2], rear = [1, 1], width = 10 }
plus_minus = { front = 0.1 }
[[wedge.station]]
at = 4
readings = { a = 5, b = -5, chord = 0 }
plus_minus = { a = 0.1 }
[[wedge.station]]
at = 5
taper_rate = 0.1
plus_minus = { rate = 0.1 }
[[wedge.station]]
at = 6
outline = { file = "section.dat", from = 0.9, chord = 100 }
plus_minus = { z = 0.1 }
[skin]
thickness = 1
[holes]
drill = 2
line = 5
positions = [0]
[drill]
[rivet]
[countersink]
[allow]
[guide]
[block]
[stock]
length = 10
trim = [0, 5]
[stock.lightening]
at = 1
diameter = 1
line = 1
[gauge]
[strip]
[cradle]
[sequence]
[[row]]
name = "r"
pitch = 1
count = 2
[print]
[cut.colours]
"""


def fences(language: str, text: str) -> list[str]:
    """Return the contents of the fenced blocks in a language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def listed_keys(text: str) -> set[str]:
    """Return the keys in the tables of the job-file page, dotted."""
    listed: set[str] = set()
    for section in text.split("\n### ")[1:]:
        heading = section.splitlines()[0].strip("`[] ")
        above = "" if heading == "Top of the file" else f"{heading}."
        for key in re.findall(r"^\| `([\w.]+)` \|", section, re.MULTILINE):
            assert above + key not in listed, f"{above}{key} is there twice"
            listed.add(above + key)
    return listed


def known_keys(monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """Return every key that the reader knows, as it says when it opens each table."""
    known: set[str] = set()
    build = fields.Table.__init__

    def opened(self: fields.Table, *given: Any) -> None:
        build(self, *given)
        path = re.sub(r"\[\d+\]", "", self.path)
        known.update(f"{path}.{key}" if path else key for key in given[4])

    monkeypatch.setattr(fields.Table, "__init__", opened)
    read_job_text(EVERYTHING, "job.toml", SECTIONS)
    return known


def gone_keys(holds: type, above: str = "") -> set[str]:
    """Return the keys that are answered with where they went: they have no label."""
    found: set[str] = set()
    for name, key in keys_of(holds).items():
        if not key.label:
            found.add(f"{above}{name}")
        elif key.holds is not None:
            found |= gone_keys(key.holds, f"{above}{name}.")
    return found


# --- the command


def test_every_topic_is_listed_and_reads() -> None:
    """Whoever stands in the shed without the web has this and nothing else."""
    assert {path.stem for path in FOLDER.glob("*.md")} == set(manual.TOPICS)
    listed = said("manual")
    assert (listed.status, listed.err) == (0, "")
    rows = dict(line.split(None, 1) for line in listed.out.split("\n\n")[0].splitlines())
    assert rows == {topic: manual.title(topic) for topic in manual.TOPICS}
    for topic in manual.TOPICS:
        answer = said("manual", topic)
        assert (answer.status, answer.err) == (0, "")
        assert answer.out.startswith(f"# {rows[topic]}\n")


def test_a_topic_in_capitals_or_with_its_ending_is_found() -> None:
    """A name that was seen in a link is typed as it was seen."""
    assert (
        said("manual", "Guide").out == said("manual", "guide.md").out == said("manual", "guide").out
    )


def test_an_unknown_topic_is_one_line_with_the_nearest() -> None:
    """One letter wrong costs one line, not a search."""
    answer = said("manual", "gage")
    assert (answer.status, answer.out) == (2, "")
    assert answer.faults == ['jiggen: the manual has no topic "gage"; see gauge, or jiggen manual']


def test_a_word_that_is_no_topic_leads_to_the_pages_that_say_it() -> None:
    """The word "land" led to "commands", "countersink" to "cutting": spelt alike, no more."""
    for word in ("land", "countersink", "dimple"):
        (fault,) = said("manual", word).faults
        assert "riveting" in fault


def test_a_pipe_gets_plain_text_and_a_terminal_a_drawn_page() -> None:
    """What goes to a file or through grep must not hold the codes of a terminal."""
    plain = said("manual", "cutting").out
    assert "\x1b" not in plain
    assert "![" not in plain
    assert "](" not in plain
    assert "<!--" not in said("manual", "commands").out
    drawn = page_text(plain, Terminal(width=80, colour=True))
    assert "\x1b[" in drawn
    assert "**" not in drawn
    assert "The line stays." in drawn
    assert max(len(re.sub(r"\x1b\[[0-9;]*m", "", line)) for line in drawn.splitlines()) <= 80


def test_a_link_becomes_the_name_of_its_topic() -> None:
    """A link that cannot be pressed must still lead on."""
    assert manual.without_links("see [the blade](cutting.md#x), [guide](guide.md)") == (
        "see the blade (cutting), guide"
    )


# --- its pages


@pytest.mark.parametrize("topic", [topic for topic in manual.TOPICS if topic != "job-file"])
def test_a_page_stays_short(topic: str) -> None:
    """A page that nobody reads to its end hides what stands there."""
    lines = PAGES[topic].splitlines()
    assert len(lines) <= LONGEST
    assert max(map(len, (line for line in lines if not line.startswith(("|", "!"))))) <= 250


def test_the_books_stay_short() -> None:
    """README is to be looked at more than read."""
    assert len(README.splitlines()) <= 300
    assert len((PROJECT / "DEVELOPERS.md").read_text("utf-8").splitlines()) <= 250


@pytest.mark.parametrize("topic", manual.TOPICS)
def test_no_page_says_what_the_trade_does_not_say(topic: str) -> None:
    """Two words for one thing are two things to whoever reads."""
    text = " ".join(PAGES[topic].split())
    assert [word for word in NOT_SAID if re.search(word, text, re.IGNORECASE)] == []


def test_a_word_that_is_not_said_would_be_found() -> None:
    """The comparison above must be able to fail."""
    text = "Cut a practice piece. The low side is let in."
    found = [word for word in NOT_SAID if re.search(word, text)]
    assert found == [r"practice piece", r"let in\b", r"low side"]


def test_the_tables_of_keys_are_the_readers_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """A key that is not in the tables is not used; one that does not exist costs an evening.

    Where this fails: python samples/regenerate --keys.
    """
    head, _, below = PAGES["job-file"].partition("--keys -->\n")
    assert below.strip() == tables_of(Job).strip()
    assert "### " not in head
    assert listed_keys(below) == known_keys(monkeypatch) - gone_keys(Job)


def test_a_wrong_table_of_keys_would_be_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A comparison that sees no difference is no comparison."""
    fewer = tables_of(Job).replace("| `keep_out` |", "| `keep_in` |", 1)
    both = listed_keys(fewer) ^ known_keys(monkeypatch)
    assert {"holes.keep_out", "holes.keep_in"} <= both


EXAMPLES = [(topic, text) for topic in PAGES for text in fences("toml", PAGES[topic])]


@pytest.mark.parametrize(("topic", "example"), EXAMPLES)
def test_every_example_of_a_job_reads_and_gives_the_angles_that_it_says(
    topic: str, example: str
) -> None:
    """Examples are copied before anything is read."""
    text = example
    if "format = " not in text:
        text = f'format = 1\nname = "x"\nunits = "mm"\n{text}'
    if "[[wedge.station]]" not in text:
        text += "\n[[wedge.station]]\nincluded_angle = 9.4\n"
    if "shop_head" in text or "[holes]" not in text:
        text += "\n[holes]\ndrill = '#30'\nline = 11\nfirst = 20\npitch = 29\ncount = 40\n"
    job = read_job_text(text, f"{topic}.md", SECTIONS)
    told = re.search(r"# ([\d.]+)(?: and ([\d.]+))? deg", example)
    if told is None:
        assert job.wedge.stations
        return
    station = solve(job).stations[0]
    angles = [math.degrees(angle) for angle in (station.skin_a, station.skin_b)]
    a, b = float(told[1]), float(told[2] or told[1])
    assert angles == pytest.approx([a, b], abs=0.005)


def test_enough_examples_say_their_angle() -> None:
    """The test above would be glad of none."""
    assert sum(" deg" in example for topic, example in EXAMPLES if topic == "measuring") >= 5


def commands(text: str) -> Iterator[list[str]]:
    """Yield the words of every command that a page shows, after `jiggen`."""
    lines = [line for block in fences("sh", text) for line in block.splitlines()]
    shown = [re.split(r"(?:^|&& )(?:\.venv/bin/)?jiggen ", line)[-1].partition("  #")[0]
             for line in lines if re.search(r"(^|/bin/|&& )jiggen ", line)]  # fmt: skip
    inline = re.findall(r"`(?:\.venv/bin/)?jiggen ([a-z-][^`]*)`", " ".join(text.split()))
    for words in [*shown, *inline]:
        yield shlex.split(re.sub(r"[\[\]]", " ", words))


@pytest.mark.parametrize("name", [*manual.TOPICS, "README"])
def test_every_command_that_is_shown_exists_with_its_options(name: str) -> None:
    """A command that only the manual knows is a bad first minute."""
    group: Any = typer.main.get_command(app)
    for words in commands(README if name == "README" else PAGES[name]):
        if words[0].startswith("-"):
            assert said(words[0]).status == 0
            continue
        assert words[0] in group.commands, words
        known = {opt for parameter in group.commands[words[0]].params for opt in parameter.opts}
        assert {word for word in words if word.startswith("--")} <= known, words


def test_every_command_and_each_of_its_options_is_in_the_manual() -> None:
    """An option that stands nowhere is found by nobody."""
    text = PAGES["commands"]
    group: Any = typer.main.get_command(app)
    for name, command in group.commands.items():
        assert f"`jiggen {name}" in text, name
        options = {opt for one in command.params for opt in one.opts if opt.startswith("--")}
        missing = {opt for opt in options - {"--help"} if f"`{opt}" not in text}
        assert missing == set(), name


def test_every_exit_status_is_in_the_manual() -> None:
    """A script that calls jiggen is written from this table."""
    from jiggen import exits

    known = {exits.DONE, exits.CHECK_SAYS_NO, exits.BAD_INPUT, exits.INTERNAL_FAULT,
             exits.READER_LEFT, 128 + 2, 128 + 15}  # fmt: skip
    table = PAGES["commands"].split("## Exit status")[1]
    rows = re.findall(r"^\| ([\d, ]+) \|", table, re.MULTILINE)
    assert {int(number) for row in rows for number in row.split(",")} == known


def test_the_stop_words_promise_what_the_manual_says() -> None:
    """130 and 143 are worth nothing if files may be half written then."""
    from jiggen.__main__ import STOPPED

    assert b"every file is whole" in STOPPED
    assert "every file is whole" in PAGES["commands"]


# --- what is printed


def marked(mark: str) -> Iterator[tuple[str, list[str]]]:
    """Yield what a mark names and the lines of the block that follows it."""
    for text in PAGES.values():
        for name, body in re.findall(
            rf"^<!-- {mark}: ([^\n]*) -->\n```text\n(.*?)^```$", text, re.MULTILINE | re.DOTALL
        ):
            yield name, body.splitlines()


def missing_lines(excerpt: list[str], printed: str) -> list[str]:
    """Return the lines of an excerpt that are not printed in this order; ... stands for any."""
    left = iter(printed.splitlines())
    missing = []
    for line in excerpt:
        if line == "...":
            continue
        pattern = ".*".join(re.escape(part) for part in line.rstrip().split("..."))
        if not any(re.fullmatch(pattern, there.rstrip()) for there in left):
            missing.append(line)
    return missing


def test_the_excerpts_are_what_the_commands_print(monkeypatch: pytest.MonkeyPatch) -> None:
    """An excerpt from last month's version makes the reader doubt his own machine."""
    monkeypatch.chdir(PROJECT)
    excerpts = list(marked("output"))
    assert excerpts
    for command, lines in excerpts:
        answer = said(*shlex.split(command)[1:])
        assert (answer.status, answer.err) == (0, "")
        assert missing_lines(lines, answer.out) == []


def test_an_excerpt_that_is_not_printed_is_noticed() -> None:
    """The comparison above must be able to fail."""
    printed = "one\ntwo 22 parts\nthree\n"
    assert missing_lines(["one", "...", "three"], printed) == []
    assert missing_lines(["two ... parts"], printed) == []
    assert missing_lines(["three", "one"], printed) == ["one"]
    assert missing_lines(["two 23 parts"], printed) == ["two 23 parts"]


def test_the_faults_are_those_of_the_starter_with_the_slips_that_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The form of a fault line is a promise to whoever greps for it."""
    monkeypatch.chdir(tmp_path)
    ((starter, lines),) = marked("faults")
    assert said("new", starter, "--out", "aileron.toml").status == 0
    job = Path("aileron.toml")
    text = job.read_text("utf-8").replace("\npitch = ", "\npich = ")
    job.write_text(text.replace("rear = 0.084", "rear = 0.384", 1), "utf-8")
    answer = said("angles", "aileron.toml")
    assert (answer.status, answer.faults) == (2, lines)


def test_the_python_of_the_manual_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever uses the library begins by copying these lines."""
    (code,) = fences("python", PAGES["python"])
    place = tmp_path / "samples" / "split-flap"
    place.mkdir(parents=True)
    shutil.copy(PROJECT / "samples" / "split-flap" / "job.toml", place)
    monkeypatch.chdir(tmp_path)
    exec(compile(code, "python.md", "exec"), {})
    assert (tmp_path / "flap-jigs" / "print.pdf").stat().st_size > 10_000


# --- where it leads


BOOKS = ["README.md", "DEVELOPERS.md", "samples/README.md",
         *(f"jiggen/manual/{topic}.md" for topic in manual.TOPICS)]  # fmt: skip


@pytest.mark.parametrize("page", BOOKS)
def test_every_link_leads_to_a_file_or_a_heading(page: str) -> None:
    """A dead link to the cautions is no caution."""
    place = PROJECT / page
    text = place.read_text("utf-8")
    for link in [*re.findall(r"\]\(([^)]+)\)", text), *re.findall(r'src="([^"]+)"', text)]:
        if link.startswith("https://"):
            continue
        file, _, heading = link.partition("#")
        there = place.parent / file if file else place
        assert there.exists(), f"{page}: {link}"
        if heading:
            assert heading in anchors(there.read_text("utf-8")), f"{page}: {link}"


def anchors(text: str) -> set[str]:
    """Return the link names of a page's headings, as the usual viewers make them."""
    titles = re.findall(r"^#+ (.*)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-") for title in titles}


def test_every_page_can_be_reached_from_readme() -> None:
    """A page that nothing leads to is not read."""
    seen, left = set(), [PROJECT / "README.md"]
    while left:
        place = left.pop().resolve()
        if place in seen:
            continue
        seen.add(place)
        for link in re.findall(r"\]\(([^)#]+\.md)", place.read_text("utf-8")):
            left.append(place.parent / link)
    assert {FOLDER / f"{topic}.md" for topic in manual.TOPICS} <= seen
