"""README.md is held to the program: its reference, its examples, its commands, its excerpts."""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer
from commandline import PROJECT, said

from jiggen.cli import app
from jiggen.job import fields
from jiggen.job.read import read_job_text
from jiggen.job.sections import Allow, Block, Corner, Cradle, Cut, Guide, Print, Strip
from jiggen.units import read_angle, read_length
from jiggen.write.looks import COLOURS

README = (PROJECT / "README.md").read_text("utf-8")
DEVELOPERS = (PROJECT / "DEVELOPERS.md").read_text("utf-8")

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
[rivet]
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
[corner]
[cut.colours]
"""

SECTIONS = PROJECT / "samples" / "section-outline"


def fences(language: str, text: str = README) -> list[str]:
    """Return the contents of the fenced blocks in a language, without a list's indent."""
    found = re.findall(rf"^( *)```{language}\n(.*?)^ *```$", text, re.MULTILINE | re.DOTALL)
    return [re.sub(rf"^{indent}", "", body, flags=re.MULTILINE) for indent, body in found]


def reference(text: str = README) -> dict[str, tuple[str, str, str]]:
    """Return the rows of the job-file reference: type, default, meaning by dotted key."""
    part = text.split("\n## The job file\n")[1].split("\n## ")[0]
    rows: dict[str, tuple[str, str, str]] = {}
    for section in part.split("\n### ")[1:]:
        heading = section.splitlines()[0].strip("`[] ")
        above = "" if heading == "Top of the file" else f"{heading}."
        for row in re.findall(r"^\| `([\w.]+)` \| (.*) \| (.*) \| (.*) \|$", section, re.MULTILINE):
            assert above + row[0] not in rows, f"{above}{row[0]} is there twice"
            rows[above + row[0]] = row[1:]
    return rows


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


def commands() -> list[list[str]]:
    """Return the words of every command that the README shows, after `jiggen`."""
    lines = [line for block in fences("sh") for line in block.splitlines()]
    shown = [re.split(r"(?:^|.*&& ?)(?:\.venv/bin/)?jiggen ", line)[-1] for line in lines
             if re.search(r"(^|/bin/|&& )jiggen ", line)]  # fmt: skip
    rows = re.findall(r"^\| `jiggen ([^`]*)` \|", README, re.MULTILINE)
    inline = re.findall(r"(?<!\| )`jiggen ([a-z][^`]*)`", README)
    return [shlex.split(re.sub(r"[\[\]]", " ", words)) for words in [*shown, *rows, *inline]]


def test_it_opens_with_one_paragraph_that_states_the_job() -> None:
    """A builder decides in half a minute whether this is for him."""
    title, paragraph, then = README.split("\n\n")[:3]
    assert title == "# jiggen"
    assert paragraph[0].isalpha()
    assert len(paragraph.split()) > 50
    assert "chord plane" in paragraph
    assert then.startswith("![")


def test_the_reference_lists_every_key_and_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """A key that is not in the reference is not used; one that does not exist costs an evening."""
    assert set(reference()) == known_keys(monkeypatch)


@pytest.mark.parametrize(
    ("section", "record"),
    [
        ("allow", Allow()),
        ("guide", Guide()),
        ("block", Block()),
        ("print", Print()),
        ("cut", Cut()),
        ("strip", Strip()),
        ("cradle", Cradle()),
        ("corner", Corner()),
    ],
)
def test_the_defaults_in_the_reference_are_the_readers(section: str, record: object) -> None:
    """Someone who leaves a key out relies on what stands here."""
    compared = 0
    for key, (kind, default, _) in reference().items():
        table, _, name = key.partition(".")
        value = getattr(record, name, None)
        if table != section or isinstance(value, str | tuple) or not hasattr(record, name):
            continue
        if value is None:
            assert default in {"none", "the drill"}, key
        elif isinstance(value, float) and "angle" in kind:
            assert read_angle(default) == pytest.approx(value, abs=1e-12), key
        elif isinstance(value, float) and "length" in kind:
            assert read_length(default) == value, key
        elif isinstance(value, bool):
            assert default == str(value).lower(), key
        elif isinstance(value, int | float):
            assert float(default) == value, key
        else:
            continue
        compared += 1
    assert compared >= 2
    if isinstance(record, Cut):
        assert reference()["cut.bed"][1] == "`[600, 400]` mm"
        assert record.bed == (600.0, 400.0)
        for name, colour in COLOURS.items():
            assert reference()[f"cut.colours.{name}"][1] == f'`"{colour}"`'


def test_a_wrong_reference_would_be_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A comparison that sees no difference is no comparison."""
    fewer = README.replace("| `keep_out` |", "| `keep_in` |")
    assert set(reference(fewer)) ^ known_keys(monkeypatch) == {"holes.keep_out", "holes.keep_in"}


@pytest.mark.parametrize("example", fences("toml"))
def test_every_example_of_a_job_reads_without_faults(example: str) -> None:
    """Examples are copied before anything is read."""
    if "format = " not in example:
        head = 'format = 1\nname = "x"\nunits = "mm"\n'
        station = "" if "wedge.station" in example else "\n[[wedge.station]]\nincluded_angle = 11\n"
        example = f"{head}{example}{station}"
    job = read_job_text(example, "README.md", SECTIONS)
    assert job.wedge.stations


def test_every_command_that_is_shown_exists_with_its_options() -> None:
    """A command that only the README knows is a bad first minute."""
    shown = commands()
    assert {words[0] for words in shown} >= {"new", "angles", "make", "verify", "remeasure"}
    group = typer.main.get_command(app)
    for words in shown:
        if words[0].startswith("-"):
            assert said(words[0]).status == 0
            continue
        command = group.commands[words[0]]  # type: ignore[attr-defined]
        options = {opt for parameter in command.params for opt in parameter.opts}
        assert {word for word in words if word.startswith("--")} <= options, words


def marked(mark: str) -> Iterator[tuple[str, list[str]]]:
    """Yield what a mark names and the lines of the block that follows it."""
    for name, body in re.findall(
        rf"^<!-- {mark}: ([^\n]*) -->\n```text\n(.*?)^```$", README, re.MULTILINE | re.DOTALL
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


def test_the_excerpts_are_what_the_commands_print(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An excerpt from last month's version makes the reader doubt his own machine."""
    names = ("tapered-wedge", "asymmetric-flap")
    for name in names:
        (tmp_path / "samples" / name).mkdir(parents=True)
        shutil.copy(PROJECT / "samples" / name / "job.toml", tmp_path / "samples" / name)
    monkeypatch.chdir(tmp_path)
    for name in names:
        assert said("make", f"samples/{name}/job.toml").status == 0
    for status, mark in ((0, "output"), (1, "output, status 1")):
        excerpts = list(marked(mark))
        assert excerpts
        for command, lines in excerpts:
            answer = said(*shlex.split(command)[1:])
            assert (answer.status, answer.err) == (status, "")
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
    text = job.read_text("utf-8").replace("pitch = ", "pich = ")
    job.write_text(text.replace("rear = 0.036", "rear = 0.336", 1), "utf-8")
    answer = said("angles", "aileron.toml")
    assert (answer.status, answer.faults) == (2, lines)


def test_the_python_of_the_readme_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever uses the library begins by copying these lines."""
    (code,) = fences("python")
    job = PROJECT / "samples" / "asymmetric-flap" / "job.toml"
    (tmp_path / "samples" / "asymmetric-flap").mkdir(parents=True)
    shutil.copy(job, tmp_path / "samples" / "asymmetric-flap")
    monkeypatch.chdir(tmp_path)
    exec(compile(code, "README.md", "exec"), {})
    assert (tmp_path / "flap-jigs" / "print.pdf").stat().st_size > 10_000


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", "samples/README.md"])
def test_every_link_leads_to_a_file_or_a_heading(page: str) -> None:
    """A dead link to the cautions is no caution."""
    place = PROJECT / page
    text = place.read_text("utf-8")
    links = re.findall(r"\]\(([^)]+)\)", text)
    assert links
    for link in links:
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


def test_the_map_names_every_part_of_the_package_and_no_other() -> None:
    """A contributor who cannot find the kerf in a minute writes it a second time."""
    table = DEVELOPERS.split("\n## Map\n")[1].split("\n## ")[0]
    package = PROJECT / "jiggen"
    named = set(
        re.findall(r"`(\w+(?:\.py|/))`", "\n".join(re.findall(r"^\| (.*?) \|", table, re.M)))
    )
    files = {path.name for path in package.glob("*.py")} - {"__init__.py"}
    folders = {f"{path.parent.name}/" for path in package.glob("*/__init__.py")}
    assert named == files | folders


def test_the_derivations_that_docstrings_point_to_are_there() -> None:
    """A formula whose derivation is missing cannot be checked by anybody."""
    headings = set(re.findall(r"^### (.*)$", DEVELOPERS, re.MULTILINE))
    sources = " ".join(
        " ".join(path.read_text("utf-8").split()) for path in (PROJECT / "jiggen").rglob("*.py")
    )
    pointed = set(re.findall(r"DEVELOPERS\.md, ([A-Z][a-z]+(?: [a-z]+)*)", sources))
    assert pointed == {
        "Drift",
        "Along the span",
        "Countersink",
        "Trim plan",
        "On a cradle",
        "Corner guide",
    }
    assert pointed <= headings
