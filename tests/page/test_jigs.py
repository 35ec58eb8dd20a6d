"""The Jigs screen: pages to look at, files to take away, and what the job asks for."""

import re
import time
import zipfile
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import pytest
from asking import form_in, form_of, got, posted, text_of
from commandline import files_in, said

from jiggen.page.answers import Bench
from jiggen.page.request import Answer

HOME = "airbrake-edge-trial-piece-jigs"


def draw(bench: Bench, **asked: str) -> Answer:
    """Press the button, and wait for the files."""
    answer = posted(bench, "/make", **(form_of(bench, "jigs") | asked))
    bench.jigs.making.wait(60.0)
    return answer


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({}, ()),
        ({"only": "wrap"}, ("--only", "wrap")),
        ({"only": "sheet"}, ("--only", "sheet")),
        ({"formats": "3mf"}, ("--as", "pdf,svg,dxf,3mf")),
        ({"only": "block", "formats": "stl"}, ("--only", "block", "--as", "pdf,svg,dxf,stl")),
    ],
)
def test_the_files_are_those_of_make_byte_by_byte(
    bench: Bench, job: Path, asked: dict[str, str], words: tuple[str, ...]
) -> None:
    """To take away one by one, as a ZIP, or into the folder; whatever was asked for."""
    assert said("make", job, "--out", job.parent / "by-command", *words).status == 0
    wanted = files_in(job.parent / "by-command")
    assert draw(bench, **asked).place.startswith("/jigs")
    for name in wanted:
        assert got(bench, f"/file/{name}").body == wanted[name]
    whole = got(bench, "/file/all.zip")
    archive = zipfile.ZipFile(BytesIO(whole.body))
    assert {name: archive.read(name) for name in archive.namelist()} == wanted
    put = posted(bench, "/put", **form_of(bench, "jigs"))
    assert f"They are in {HOME}." in text_of(put)
    assert files_in(job.parent / HOME) == wanted


def test_only_what_can_be_asked_for_is_drawn(bench: Bench) -> None:
    """A choice that the page never offered draws nothing."""
    for asked in ({"only": "nonsense"}, {"formats": "exe"}):
        assert draw(bench, **asked).status == 400
        assert bench.jigs.making.drawn is None


def test_files_are_older_than_a_job_that_was_changed(bench: Bench, job: Path) -> None:
    """Cut from yesterday's numbers."""
    draw(bench)
    for page in ("/jigs", "/made"):
        assert "Older than the job" not in text_of(got(bench, page))
    job.write_text(job.read_text().replace("27.0", "27.5"))
    for page in ("/jigs", "/made"):
        assert "Older than the job: draw again" in text_of(got(bench, page))


def test_how_far_it_is_is_told_and_it_stops_when_it_is_told(bench: Bench) -> None:
    """Between two files; nothing is left over, and what is typed stays."""
    posted(bench, "/make", **form_of(bench, "jigs"))
    deadline = time.monotonic() + 30.0
    while bench.is_drawing and not bench.jigs.making.done and time.monotonic() < deadline:
        time.sleep(0.001)
    form = form_of(bench, "jigs") | {"cut.kerf": "0.17"}
    assert re.search(r"\d+ of \d+ steps Stop", text_of(got(bench, "/made")))
    answer = posted(bench, "/halt", **form)
    assert not bench.is_drawing
    assert got(bench, "/file/print.pdf").status == 404
    assert "Take away" not in text_of(answer)
    assert form_in(answer)["cut.kerf"] == "0.17"


def test_a_job_that_cannot_be_drawn_says_why(bench: Bench, job: Path) -> None:
    """The same words as the command's, on the screen and after a press."""
    job.write_text(job.read_text().replace("depth = 27.0", "depth = -27.0"))
    shown = got(bench, "/jigs", look="1")
    assert 'href="/measure#wedge.depth"' in shown.body.decode()
    draw(bench)
    assert "Nothing was drawn" in text_of(got(bench, "/jigs"))
    assert posted(bench, "/put", **form_of(bench, "jigs")).status == 409


def test_what_does_not_fit_says_so_before_anything_is_drawn(bench: Bench, job: Path) -> None:
    """A bed that is smaller than the pieces."""
    job.write_text(job.read_text().replace("sheet = 3.0", "sheet = 3.0\nbed = [30, 30]"))
    shown = text_of(got(bench, "/jigs", look="1"))
    assert "guide-1 cannot be made" in shown
    assert "STOP" in shown
    assert "print.pdf" in text_of(got(bench, "/made")) or draw(bench).status == 303


def test_a_press_asks_for_a_jig_and_takes_it_back(bench: Bench, job: Path) -> None:
    """The job file says what is drawn, so a press changes it, and Save writes it."""
    before = job.read_text()
    shown = posted(bench, "/try", **form_of(bench, "jigs"), do="add strip")
    assert 'name="strip.width"' in shown.body.decode()
    assert job.read_text() == before
    assert posted(bench, "/save", **(form_in(shown) | {"strip.width": "50.0"})).status == 303
    assert job.read_text() == f"{before}\n[strip]\nwidth = 50.0\n"
    assert "STRIP 1" in text_of(got(bench, "/jigs", look="1"))
    shown = posted(bench, "/try", **form_of(bench, "jigs"), do="drop strip")
    assert posted(bench, "/save", **form_in(shown)).status == 303
    assert job.read_text() == f"{before}\n# was: [strip]\n#      width = 50.0\n"
    assert "STRIP 1" not in text_of(got(bench, "/jigs", look="1"))


def test_a_jig_that_lacks_something_says_what(bench: Bench) -> None:
    """A trim plan needs to know the stock."""
    shown = posted(bench, "/try", **form_of(bench, "jigs"), do="add stock")
    assert "Still to type Stock" in text_of(shown)
    assert 'href="#stock.length"' in shown.body.decode()
    measure = posted(bench, "/try", **(form_in(shown) | {"_screen": "measure"}))
    assert 'href="/jigs#stock.length"' in measure.body.decode()


def pictures(answer: Answer) -> list[str]:
    """Return the addresses of the pictures on a page."""
    return re.findall(r'<img src="([^"]*)"', answer.body.decode())


def test_the_screen_is_there_before_its_pictures(bench: Bench, job: Path) -> None:
    """Each page and bed is drawn when it is looked at, and is known by what it was drawn from."""
    first = got(bench, "/jigs")
    assert pictures(first) == []
    assert 'data-later="/jigs?look=1"' in first.body.decode()
    addresses = pictures(got(bench, "/jigs", look="1"))
    assert [address.rpartition("/")[2] for address in addresses] == [
        *(f"page-{n}.svg" for n in range(1, 5)), "cut-1.svg",
    ]  # fmt: skip
    for address in addresses:
        answer = got(bench, address)
        assert answer.kind == "image/svg+xml"
        assert len(answer.body) < (150 if "cut" in address else 60) * 1024
        assert ElementTree.fromstring(answer.body).tag.endswith("svg")
    assert pictures(got(bench, "/jigs")) == addresses
    typed = posted(bench, "/try", **(form_of(bench, "jigs") | {"cut.kerf": "0.2"}))
    assert b'class="paper grey"' in typed.body
    job.write_text(job.read_text().replace("27.0", "27.5"))
    assert 'data-later="/jigs?look=1"' in got(bench, "/jigs").body.decode()
    assert set(pictures(got(bench, "/jigs", look="1"))).isdisjoint(addresses)
    assert got(bench, addresses[0]).status == 200  # a window may show them grey
    job.write_text(job.read_text().replace("27.5", "28.0"))
    got(bench, "/jigs", look="1")
    assert got(bench, addresses[0]).status == 404


@pytest.mark.parametrize("name", ["", "x/page-1.svg", "../../etc/passwd", "%2e%2e"])
def test_there_is_no_other_picture(bench: Bench, name: str) -> None:
    """Names are looked up, never opened."""
    got(bench, "/jigs", look="1")
    assert got(bench, f"/picture/{name}").status == 404


def test_nothing_is_drawn_past_what_is_not_saved(bench: Bench) -> None:
    """Files are of the job as it is saved; what is typed stays in the form."""
    answer = draw(bench, **{"cut.kerf": "0.2"})
    assert answer.status == 409
    assert "Save first; then draw." in text_of(answer)
    assert form_in(answer)["cut.kerf"] == "0.2"
    assert bench.jigs.making.drawn is None
