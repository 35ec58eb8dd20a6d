"""README and DEVELOPERS: what a newcomer sees first, and what a contributor goes by."""

from __future__ import annotations

import re

from commandline import PROJECT

README = (PROJECT / "README.md").read_text("utf-8")
DEVELOPERS = (PROJECT / "DEVELOPERS.md").read_text("utf-8")


def test_it_opens_with_one_paragraph_that_states_the_job_and_a_page() -> None:
    """A builder decides in half a minute whether this is for him."""
    title, paragraph, then = README.split("\n\n")[:3]
    assert title == "# jiggen"
    assert paragraph[0].isalpha()
    assert 50 < len(paragraph.split()) < 150
    assert "chord plane" in paragraph
    assert then.startswith('<img src="samples/figures/page.png"')


def test_the_two_commands_stand_under_their_marks() -> None:
    """What is documented is what .ci/run runs."""
    for mark in ("try", "test"):
        (command,) = re.findall(rf"<!-- command: {mark} -->\n```sh\n(.*)\n```\n", README)
        assert command.startswith("python3 -m venv .venv && ")
    assert "jiggen make samples/flaperon/job.toml\n" in README


def test_the_walk_has_six_pictures_and_begins_with_the_page_in_the_browser() -> None:
    """Who looks at nothing but the pictures must still get it right."""
    walk = README.split("\n## Your first guide\n")[1].split("\n## ")[0]
    assert re.findall(r"`jiggen (\w+)", walk)[0] == "bench"
    pictures = re.findall(r'<img src="(\S+/walk-\w+\.png)" width="250" alt="\w', walk)
    assert len(pictures) == len(set(pictures)) == 6
    assert "never runs while it stands there" in walk
    assert walk.index("walk-scrap") > walk.index("walk-stand") > walk.index("walk-print")


def test_the_cautions_and_who_decides_are_there() -> None:
    """They are what the pages of a job have no room for."""
    text = " ".join(README.split())
    for words in ("eye protection", "Clamp the work", "drill stopped", "PVC", "leave a laser alone",
                  "Drill scrap first", "responsible inspector", "they win"):  # fmt: skip
        assert words in text


def test_no_example_is_the_textbook_corner() -> None:
    """12 deg with 84 deg looks right whatever a tool has worked out."""
    shown = ["*.md", "samples/**/*.toml", "samples/*.md", "jiggen/manual/*.md", "templates/*.toml"]
    for place in (path for pattern in shown for path in PROJECT.glob(pattern)):
        text = place.read_text("utf-8")
        assert not re.search(r"(?<![\d.])(12(\.0)?|84(\.[03])?) ?(deg|°)", text), place


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


def test_no_docstring_points_to_a_derivation_that_is_elsewhere() -> None:
    """A derivation stands at the head of the module that uses it."""
    pointing = [
        path
        for path in (PROJECT / "jiggen").rglob("*.py")
        if "DEVELOPERS" in path.read_text("utf-8")
    ]
    assert pointing == []
