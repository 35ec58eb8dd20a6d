"""The Check screen: what is asked, what it shows of each verdict, and what it writes.

Readings are made from the nominal lengths of the drawings, by a printer or a saw of a known error.
"""

import json
import math
import re
import shutil
import tomllib
from html import unescape
from pathlib import Path
from xml.etree import ElementTree

import pytest
from asking import form_in, form_of, got, posted, text_of
from commandline import PROJECT, files_in, process, said
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from readings_taken import HOME, form_path, guide_read, lengths, page_read

from jiggen.page.answers import Bench
from jiggen.page.request import Answer
from jiggen.proof.form import MORE


@pytest.fixture
def job(drawn: Path, tmp_path: Path) -> Path:
    """Return the job, its drawings beside it."""
    return shutil.copytree(drawn, tmp_path / "shop") / "trial.toml"


def tried(bench: Bench, **fields: str) -> Answer:
    """Type something, and look."""
    return posted(bench, "/try", **form_of(bench, "check") | fields)


def saved(bench: Bench, **fields: str) -> Answer:
    """Type something, save it, and look."""
    assert posted(bench, "/save", **form_of(bench, "check") | fields).status == 303
    return got(bench, "/check")


def shown(answer: Answer) -> dict[str, str]:
    """Return the look of each piece on the picture, by its name."""
    picture = re.search(r'<svg class="marked.*?</svg>', answer.body.decode(), re.DOTALL)
    assert picture is not None
    names = re.findall(r'<text class="([\w-]+)"[^>]*>([\w-]+)<tspan', picture[0])
    return {name: look for look, name in names}


def badges(answer: Answer) -> dict[str, str]:
    """Return what stands on each piece on the picture, by its name."""
    words = r'<text[^>]*>([\w-]+)<tspan class="word"[^>]*>\S ([A-Z ]+)</tspan>'
    return dict(re.findall(words, answer.body.decode()))


def heads(answer: Answer) -> list[tuple[str, str]]:
    """Return the look and the words of each verdict."""
    found = re.findall(r'class="verdict ([\w-]+)"><h2>(.*?)</h2>', answer.body.decode())
    return [(look, unescape(words)) for look, words in found]


# ---------------------------------------------------------------- what is asked


def test_without_drawings_it_says_where_they_come_from(bench: Bench, job: Path) -> None:
    """There is nothing to measure, and nothing to save."""
    shutil.rmtree(job.parent / HOME)
    answer = got(bench, "/check")
    assert "No drawings yet" in text_of(answer)
    assert 'href="/jigs"' in answer.body.decode()
    assert posted(bench, "/save", **form_in(answer)).status in (303, 409)
    assert not (job.parent / HOME).exists()


def test_fields_come_in_the_order_of_the_form_the_rest_folded(bench: Bench, job: Path) -> None:
    """First the few numbers that a verdict takes."""
    form = tomllib.loads(form_path(job).read_text().partition(MORE)[0])
    places = [one["name"] for one in form["page"] + form["piece"]]
    page = got(bench, "/check").body.decode()
    tabs = re.findall(r'<button class="tab[^"]*" name="at" value="([^"]*)"', page)
    assert tabs == places
    asked, _, folded = page.partition("More, if you like")
    few = [key for key in form["page"][0] if key != "name"]
    assert re.findall(r'<input id="page\[1\]\.([^"]*)"', asked) == few
    assert re.findall(r'<input id="page\[2\]\.([^"]*)"', folded) == ["side-x", "side-y"]
    for name, nominal in lengths(job, "page 2").items():
        assert re.search(rf'\.{name}">.*?should be {nominal:.2f} mm', page)


@pytest.mark.slow
def test_each_place_of_every_form_has_a_picture_with_its_own_fields(tmp_path: Path) -> None:
    """A job with all that can be measured: pages, beds, pieces, a row, test holes."""
    shutil.copytree(PROJECT / "samples" / "canard", tmp_path / "shop")
    job = tmp_path / "shop" / "job.toml"
    home = job.parent / "canard-edge-whole-job-sample-jigs"
    assert said("make", job, "--out", home).status in (0, 1)
    bench = Bench(job.parent, job)
    page = got(bench, "/check").body.decode()
    places = dict.fromkeys(re.findall(r'name="at" value="([^"]*)"', page))
    places |= dict.fromkeys(re.findall(r'<option value="([^"]*)"', page))
    written = tomllib.loads((home / "readings.toml").read_text())
    kinds = ("page", "bed", "piece")
    assert set(places) == {one["name"] for kind in kinds for one in written[kind]} | {"test hole"}
    for name in places:
        page = unescape(got(bench, "/check", at=name).body.decode())
        fields = set(re.findall(r'<input id="((?:page|bed|piece|test_hole)\[.*?)" name', page))
        marked = set(re.findall(r'data-key="(.*?)"[> ]', page))
        assert marked
        assert marked <= fields, name
        assert len(page) < 40 * 1024  # the budget of a screen
        assert fields - marked <= {"test_hole[1].piece"}, name


def test_what_is_numbered_on_the_picture_is_as_long_as_it_should_be(
    bench: Bench, job: Path
) -> None:
    """The lines read from the SVG by an XML parser: their lengths are those of the manifest."""
    for place in ("page 2", "guide-a1", "guide-b1-edge"):
        page = got(bench, "/check", at=place).body.decode()
        picture = re.search(r"<svg class=.marked.*?</svg>", page, re.DOTALL)
        assert picture is not None
        nominal, found = lengths(job, place), {}
        for line in ElementTree.fromstring(picture[0]).iter("path"):
            if "asked" in line.get("class", ""):
                words = line.get("d", "").split()
                start, end = ([float(v) for v in words[n : n + 2]] for n in (1, 4))
                found[line.get("data-key", "").partition(".")[2]] = math.dist(start, end)
        assert found == pytest.approx(nominal, abs=0.02)


# ---------------------------------------------------------------- each state


def test_nothing_measured_is_said_in_grey(bench: Bench, job: Path) -> None:
    """Not a verdict."""
    answer = got(bench, "/check")
    assert "Not measured yet" in text_of(answer)
    assert heads(answer) == []
    assert set(shown(answer).values()) <= {"not-measured", "no-check"}


def test_a_true_print_is_to_be_cut(bench: Bench, job: Path) -> None:
    """Green on every piece of the page, but nothing is there to use yet."""
    answer = tried(bench, **page_read(job))
    ((look, words),) = heads(answer)
    assert look == "use"
    assert words.startswith("Cut: guide-a1")
    assert shown(answer)["guide-a1"] == "use"
    assert set(badges(answer).values()) == {"CUT"}


def test_the_picture_says_of_each_piece_what_the_list_says(bench: Bench, job: Path) -> None:
    """None is cut; one is; one was sawn badly. The others are on paper still."""
    for more in ({}, guide_read(job), guide_read(job, turn=4.0)):
        answer = tried(bench, **page_read(job), **more)
        listed = {
            name: row.partition(":")[0].upper()
            for _, row in heads(answer)
            for name in row.partition(": ")[2].removesuffix(".").split(", ")
        }
        assert badges(answer)
        assert badges(answer).items() <= listed.items()


def test_how_a_cut_piece_came_out_is_said_by_the_piece(bench: Bench, job: Path) -> None:
    """Good enough, yet not as drawn: the builder sees by how much."""
    form = form_of(bench, "check") | page_read(job) | guide_read(job, turn=0.2)
    for place, count in (("guide-a1", 1), ("guide-b1", 0)):
        answer = posted(bench, "/try", **(form | {"at": place}))
        page = answer.body.decode().partition("<summary>All numbers")[0]
        came = re.findall(r'<li class="use">(guide-a1: [^<]*)</li>', page)
        assert len(came) == count
    assert re.search(r"drawn 82\.61 deg came out 82\.(?!61)\d\d deg, give or take", text_of(answer))


def test_a_bad_print_is_not_used_and_names_its_pieces(bench: Bench, job: Path) -> None:
    """A printer whose corner is 1 degree off square, for a job that allows a third of it."""
    job.write_text(job.read_text().replace("drift = 0.12", "drift = 0.02"))
    assert said("make", job, "--out", job.parent / HOME).status == 0
    off = 240 * math.tan(math.radians(1.0))
    slant = [math.hypot(180 + way * off, 240) / 300 for way in (1, -1)]
    answer = tried(bench, **page_read(job, diagonal_1=slant[0], diagonal_2=slant[1]))
    assert dict(heads(answer))["do-not-use"].startswith("Do not use: guide-a1")
    assert shown(answer)["guide-a1"] == "do-not-use"
    assert "✗ DO NOT USE" in text_of(answer)


def test_what_cannot_be_told_says_what_would_decide_it(bench: Bench, job: Path) -> None:
    """One bar alone says little."""
    form = page_read(job)
    answer = tried(bench, **{"page[1].bar-x": form["page[1].bar-x"]})
    assert "cannot-tell" in {look for look, _ in heads(answer)}
    assert "To decide" in text_of(answer)
    assert shown(answer)["guide-a1"] == "cannot-tell"


def test_a_reading_that_is_asked_about_is_marked_and_asked_once(bench: Bench, job: Path) -> None:
    """With the pieces that it concerns."""
    answer = tried(bench, **page_read(job, bar_x=0.97))
    page = answer.body.decode()
    assert text_of(answer).count("these contradict each other") == 1
    assert 'data-look="page[1].bar-x"' in page
    assert re.search(r'<div class="field" data-look>\s*<label for="page\[1\]\.bar-x"', page)
    assert not re.search(r'<div class="field" data-look>\s*<label for="page\[1\]\.bar-y"', page)


def test_a_cut_piece_has_the_last_word_on_itself(bench: Bench, job: Path) -> None:
    """The page was good, the saw was not."""
    good = tried(bench, **page_read(job), **guide_read(job))
    assert ("use", "Use: guide-a1.") in heads(good)
    bad = tried(bench, **page_read(job), **guide_read(job, turn=4.0))
    assert ("do-not-use", "Do not use: guide-a1.") in heads(bad)
    assert shown(bad)["guide-a1"] == "do-not-use"
    assert shown(bad)["guide-b1"] == "use"
    assert [look for look, _ in heads(bad)] == ["do-not-use", "use"]
    tab = re.search(r'<button class="tab([^"]*)" name="at" value="guide-a1"', bad.body.decode())
    assert tab is not None
    assert tab[1] == " do-not-use"


def test_a_test_hole_is_judged_and_one_more_can_be_typed(bench: Bench, job: Path) -> None:
    """A hole drilled as the guide leads it; then the lines for another."""
    manifest = json.loads((job.parent / HOME / "manifest.json").read_text())
    pieces = manifest["files"][0]["sheets"][0]["pieces"]
    leads = next(one["leads"] for one in pieces if one["name"] == "guide-a1")
    lean = 20.0 * math.tan(math.radians(leads - 90.0))
    hole = {
        "piece": "guide-a1", "thickness": "20.0", "entry[1]": "40.00", "entry[2]": "30.00",
        "exit[1]": f"{40 + lean:.2f}", "exit[2]": "30.00",
    }  # fmt: skip
    form = form_of(bench, "check") | {"at": "test hole"}
    form |= {f"test_hole[1].{name}": value for name, value in hole.items()}
    answer = posted(bench, "/try", **form)
    assert dict(heads(answer))["use"].startswith("Use: guide-a1, ")
    assert posted(bench, "/save", **form, do="add test_hole").status == 303
    page = got(bench, "/check", at="test hole").body.decode()
    assert 'id="test_hole[2].exit[2]"' in page
    assert len(tomllib.loads(form_path(job).read_text())["test_hole"]) == 2


def test_readings_of_another_print_are_told_and_not_judged(bench: Bench, job: Path) -> None:
    """The job was changed and drawn again after the page was measured."""
    saved(bench, **page_read(job))
    job.write_text(re.sub(r"(?m)^line = .*$", "line = 14.0", job.read_text()))
    assert said("make", job, "--out", job.parent / HOME).status == 0
    answer = got(bench, "/check")
    assert ("cannot-tell", "Readings of another print") in heads(answer)
    assert [look for look, _ in heads(answer)] == ["cannot-tell"]
    assert "its readings are left out" in text_of(answer)
    assert "use" not in shown(answer).values()


def test_a_form_that_was_written_for_other_drawings_says_no_lengths(
    bench: Bench, job: Path
) -> None:
    """What should be measured is not what it is for."""
    text = form_path(job).read_text()
    form_path(job).write_text(re.sub(r'(?m)^"(page 2|guide-b1)" = ".*"$', r'"\1" = "0123"', text))
    for place, count in (("page 2", 0), ("guide-b1", 0), ("guide-a1", 6)):
        page = got(bench, "/check", at=place).body.decode()
        assert page.count("should be") == count
        assert page.count('class="asked') == count


def test_pieces_that_the_job_has_otherwise_now_are_not_used(bench: Bench, job: Path) -> None:
    """The drawings are older than the job: the picture stays that of the paper."""
    saved(bench, **page_read(job))
    before = got(bench, "/check").body.decode()
    job.write_text(re.sub(r"(?m)^line = .*$", "line = 14.0", job.read_text()))
    answer = got(bench, "/check")
    assert shown(answer)["guide-a1"] == "do-not-use"
    assert "the job was changed since" in text_of(answer)
    outlines = [
        re.findall(r'class="rim [\w-]+" d="([^"]*)"', p) for p in (before, answer.body.decode())
    ]
    assert outlines[0] == outlines[1]


def test_drawings_of_another_job_are_not_judged(bench: Bench, job: Path) -> None:
    """Two names that make one folder."""
    job.write_text(job.read_text().replace("Split flap, sample", "Split-flap sample"))
    answer = got(bench, "/check")
    assert heads(answer) == [("cannot-tell", "Nothing is judged")]
    assert "are of another" in text_of(answer)
    assert str(job.parent) not in text_of(answer)


@pytest.mark.parametrize(
    ("place", "key", "typed", "blamed"),
    [
        ("page 2", "page[1].bar-x", "99,5", "page[1].bar-x"),
        ("page 2", "page[2].side-x", "-4", "page[2].side-x"),
        ("guide-a1", "piece[1].A-B", "19.1 cubits", "piece[1].A-B"),
        ("test hole", "test_hole[1].exit[2]", "3", "test_hole[1].thickness"),
        ("page 2", "rule", "0", "rule"),
    ],
)
def test_a_fault_stands_at_its_field_or_leads_there(
    bench: Bench, job: Path, place: str, key: str, typed: str, blamed: str
) -> None:
    """Also where its place is not the one that is shown."""
    form = form_of(bench, "check")
    for at in (place, "guide-b1"):
        answer = posted(bench, "/try", **form | {"at": at, key: typed})
        page = answer.body.decode()
        assert "to mend" in text_of(answer)
        assert heads(answer) == []
        if at == place or key == "rule":
            assert re.search(rf'id="{re.escape(blamed)}"[^>]*aria-invalid="true"', page)
        else:
            assert re.search(rf'name="at" value="{place}" formaction="/try">{place}, ', page)


# ---------------------------------------------------------------- what is written


def test_readings_are_kept_as_typed_in_the_form_of_verify(bench: Bench, job: Path) -> None:
    """One line differs for each; comments stay; nothing is written before Save."""
    before = form_path(job).read_text().splitlines()
    typed = {"page[1].bar-x": "99.50", "page[1].bar-y": "3 15/16", "piece[1].A-B": "19.0 mm"}
    form = form_of(bench, "check") | typed
    posted(bench, "/try", **form)
    assert form_path(job).read_text().splitlines() == before
    assert posted(bench, "/save", **form).place == "/check?done=saved&at=page+2"
    after = form_path(job).read_text().splitlines()
    assert len(after) == len(before)
    changed = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert [b.partition("      #")[0] for _, b in changed] == [
        "bar-x = 99.50", 'bar-y = "3 15/16 mm"', 'A-B = "19.0 mm"',
    ]  # fmt: skip
    assert [a.partition("#")[2] for a, _ in changed] == [b.partition("#")[2] for _, b in changed]
    assert posted(bench, "/undo", **form_of(bench, "check")).status == 303
    assert form_path(job).read_text().splitlines() == before


def test_what_was_read_in_an_older_form_counts_and_is_shown(bench: Bench, job: Path) -> None:
    """``make`` leaves a form that was filled in, and puts a blank one beside it."""
    saved(bench, **page_read(job))
    old = form_path(job).read_bytes()
    assert said("make", job, "--out", job.parent / HOME).status == 0
    answer = got(bench, "/check")
    assert 'name="page[1].bar-x" value="" placeholder="(100.00 mm)"' in answer.body.decode()
    assert shown(answer)["guide-a1"] == "use"
    saved(bench, **{"page[1].bar-x": "100.1"})
    assert form_path(job).read_bytes() == old
    assert "bar-x = 100.1" in (job.parent / HOME / "readings-new.toml").read_text()


def test_a_job_that_cannot_be_read_is_mended_first(bench: Bench, job: Path) -> None:
    """Its name tells where the drawings are."""
    job.write_text(job.read_text().replace("[wedge]", "[wedge"))
    answer = got(bench, "/check")
    assert answer.status == 409
    assert "mend it on Measure" in text_of(answer)


def test_a_folder_that_leads_out_is_not_read(bench: Bench, job: Path, tmp_path: Path) -> None:
    """A link among the job's own files."""
    shutil.move(job.parent / HOME, tmp_path / "elsewhere")
    (job.parent / HOME).symlink_to(tmp_path / "elsewhere")
    answer = got(bench, "/check")
    assert answer.status == 409
    assert "is not in this folder" in text_of(answer)


def test_the_corrected_print_is_that_of_the_command(job: Path, tmp_path: Path) -> None:
    """Byte for byte; refused before the readings are saved, and by the same ones twice."""
    narrow = dict.fromkeys(("diagonal_1", "diagonal_2"), math.hypot(180 * 0.97, 240) / 300)
    bench, typed = Bench(job.parent, job), page_read(job, bar_x=0.97, **narrow)
    form = form_of(bench, "check") | typed
    assert b'formaction="/reprint"' in posted(bench, "/try", **form).body
    before = files_in(job.parent)
    assert "save the readings first" in text_of(posted(bench, "/reprint", **form))
    assert files_in(job.parent) == before
    posted(bench, "/save", **form)
    other = shutil.copytree(job.parent, tmp_path / "other")
    assert process("verify", "trial.toml", "--reprint", folder=other).status == 0
    assert (
        posted(bench, "/reprint", **form_of(bench, "check")).place
        == "/check?done=reprinted&at=page+2"
    )
    mine, theirs = (
        {k: v for k, v in files_in(f).items() if "before" not in k} for f in (job.parent, other)
    )
    assert mine == theirs
    answer = got(bench, "/check")
    assert ("cannot-tell", "Readings of another print") in heads(answer)
    assert "scale_x = 0.97" in text_of(answer)
    assert got(bench, "/print.pdf").body == (other / HOME / "print.pdf").read_bytes()
    posted(bench, "/reprint", **form_of(bench, "check"))
    assert files_in(job.parent)[f"{HOME}/print.pdf"] == theirs[f"{HOME}/print.pdf"]


def test_a_true_print_is_not_corrected(bench: Bench, job: Path) -> None:
    """It says why, and leaves the page as it is."""
    saved(bench, **page_read(job))
    assert b'formaction="/reprint"' not in got(bench, "/check").body
    before = files_in(job.parent)
    answer = posted(bench, "/reprint", **form_of(bench, "check"))
    assert answer.status == 409
    assert "off by no more than the readings leave in doubt" in text_of(answer)
    assert files_in(job.parent) == before


def test_the_record_for_the_log_is_that_of_the_command(bench: Bench, job: Path) -> None:
    """Byte for byte, and nothing is written for it."""
    saved(bench, **page_read(job), date="2026-05-04")
    before = files_in(job.parent)
    answer = got(bench, "/record.pdf")
    assert answer.file_name == "trial-record.pdf"
    assert files_in(job.parent) == before
    process("verify", "trial.toml", "--record", "log.pdf", folder=job.parent)
    assert answer.body == (job.parent / "log.pdf").read_bytes()


# ---------------------------------------------------------------- the same numbers


@settings(
    max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    x=st.floats(0.96, 1.02), y=st.floats(0.96, 1.02), turn=st.floats(-4.0, 4.0), cut=st.booleans()
)
def test_each_number_is_that_of_verify(
    drawn: Path, job: Path, x: float, y: float, turn: float, cut: bool
) -> None:
    """As it is typed, and once it is saved, on random readings of a page and of a cut guide."""
    shutil.copy(drawn / HOME / "readings.toml", form_path(job))
    slant = math.hypot(180 * x, 240 * y) / 300
    typed = page_read(job, bar_x=x, bar_y=y, diagonal_1=slant, diagonal_2=slant)
    typed |= guide_read(job, turn) if cut else {}
    bench = Bench(job.parent, job)
    before = tried(bench, **typed)
    after = saved(bench, **typed)
    numbers = json.loads(said("verify", job, "--out", job.parent / HOME, "--json").out)
    for answer in (before, after):
        page = text_of(answer)
        for piece in numbers["answers"]:
            assert shown(answer)[piece["name"]] == piece["verdict"].replace(" ", "-")
            assert piece["why"].rstrip(".?") in page
        for piece in numbers["pieces"]:
            row = (piece["name"], piece["verdict"], piece["sheet"], piece["angle_name"])
            if piece["angle_as_printed"] is not None:
                drawn, came = piece["angle_nominal"], piece["angle_as_printed"]
                assert " ".join([*row, f"{drawn:z.2f}", f"{came:z.2f}"]) in page
        for piece in numbers["finished"]:
            for angle in piece["angles"]:
                assert f"{angle['name']} {angle['angle_nominal']:.2f} {angle['angle']:.2f}" in page
        for one in numbers["readings"]:
            row = [f"{one[key]:.2f}" for key in ("nominal", "measured", "plus_minus")]
            assert " ".join([one["where"], one["name"], *row]) in page
