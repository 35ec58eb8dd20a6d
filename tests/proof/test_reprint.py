"""Print, measure, print again: once by one set of readings, and never by a guess."""

import json
import math
import re

import numpy as np
import pytest
from commandline import FLAP
from measuring import FIRST, Bench, flat
from readback import read_pdf

from jiggen.geometry.distortion import Distortion, from_matrix
from jiggen.proof.record import read_record

OFF = Distortion(scale_x=0.985, scale_y=1.012, skew=math.radians(0.3))


@pytest.fixture
def drawn(tmp_path):
    """Return a job with two printed pages and a bed."""
    bench = Bench(folder=tmp_path, job=FLAP + "\n[strip]\n")
    bench.make()
    return bench


def test_two_rounds_on_a_bad_printer_end_true(drawn):
    """The loop that the tool promises: measure, print again, measure again, and be there."""
    for _ in range(2):
        now = from_matrix(OFF.matrix @ drawn.record.made_for.inverse)
        found = drawn.verify(*drawn.options(now, 0.2), "--step", "0.2", "--reprint")
        assert found["not_reprinted"] is None or "nothing" not in found["not_reprinted"]
    left = from_matrix(OFF.matrix @ drawn.record.made_for.inverse)
    assert left.scale_x == pytest.approx(1.0, abs=1.5e-3)
    assert left.scale_y == pytest.approx(1.0, abs=1.5e-3)
    assert abs(math.degrees(left.skew)) < 0.08


def test_the_corrected_page_is_drawn_by_the_inverse_of_the_printer(drawn):
    """Measured on the file by a reader of another house, as the bad printer would print it."""
    drawn.verify(*drawn.options(OFF, 0.01), "--step", "0.01", "--reprint")
    number = int(FIRST.split()[1]) - 1
    page = read_pdf((drawn.out / "print.pdf").read_bytes())[number]
    points = [point for walk in page.paths["guide-a1"] for point in walk]
    rows = next(r for r in drawn.manifest["files"] if r["file"] == "print.pdf")["sheets"]
    (piece,) = (p for p in rows[number]["pieces"] if p["name"] == "guide-a1")
    middle = np.array([105.0, 148.5])
    assert len(piece["outline"]["corners"]) == 14
    for corner in piece["outline"]["corners"]:
        where = middle + np.linalg.inv(OFF.matrix) @ (np.array(corner) - middle)
        assert min(math.dist(where, point) for point in points) < 0.02


def test_a_lying_page_is_corrected_as_the_printer_feeds_it(drawn):
    """Corrected across where the printer is off up the page, a strip is off twice as far."""
    drawn.verify(*drawn.options(OFF, 0.01), "--step", "0.01", "--reprint")
    lying = next(page.name for page in drawn.record.pages if page.lying)
    number = int(lying.split()[1]) - 1
    page = read_pdf((drawn.out / "print.pdf").read_bytes())[number]
    rows = next(r for r in drawn.manifest["files"] if r["file"] == "print.pdf")["sheets"]
    piece = rows[number]["pieces"][0]
    points = [point for walk in page.paths[piece["name"]] for point in walk]
    quarter = np.array([[0.0, -1.0], [1.0, 0.0]])
    fed = quarter @ OFF.matrix @ quarter.T
    middle = np.array([148.5, 105.0])
    for corner in piece["outline"]["corners"]:
        where = middle + np.linalg.inv(fed) @ (np.array(corner) - middle)
        assert min(math.dist(where, point) for point in points) < 0.02
    # The reader of the file finds the same correction in the page's own record.
    a, b, c, d = page.record["correction"]
    assert np.array([[a, c], [b, d]]) == pytest.approx(np.linalg.inv(fed), abs=1e-4)


def test_one_set_of_readings_corrects_a_print_once(drawn):
    """The same command again, after a look at the screen, would double the correction."""
    words = drawn.options(OFF)
    first = drawn.verify(*words, "--reprint")
    page = (drawn.out / "print.pdf").read_bytes()
    assert "--reprint: was done by these very readings" in drawn.refused(*words, "--reprint")
    assert "was done by these very" in drawn.refused(*words, "--step", "0.25", "--reprint")
    assert (drawn.out / "print.pdf").read_bytes() == page
    again = drawn.verify(*words)
    assert (again["readings_spent"], again["scale_x"]) == (True, None)
    assert again["reprint"] == pytest.approx(first["reprint"])
    assert "These very readings corrected the print.pdf" in " ".join(again["notes"])
    assert drawn.verify(*drawn.options())["readings_spent"] is False


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--bar-x", "98"), "there are readings along one axis only; measure both bars"),
        ((), "no page has readings; measure both bars and both diagonals"),
        (("--bar-x", "3.9", "--bar-y", "100"), "are asked about above"),
    ],
)
def test_what_was_not_measured_is_not_corrected(words, told, drawn):
    """A guess along y, written into the job file, spoils a true axis."""
    page = (drawn.out / "print.pdf").read_bytes()
    found = drawn.verify(*words, "--reprint")
    assert told in found["not_reprinted"]
    assert (drawn.out / "print.pdf").read_bytes() == page
    assert "No reprint was written: " in flat(drawn.report(*words, "--reprint"))
    assert "scale_y = " not in drawn.report(*words, "--all")


def test_a_print_that_is_true_is_not_corrected(drawn):
    """A correction smaller than its own doubt replaces a good print by a guess."""
    page = (drawn.out / "print.pdf").read_bytes()
    found = drawn.verify(*drawn.options(), "--reprint")
    assert (found["written"], found["not_reprinted"][:9]) == ([], "the print")
    assert (drawn.out / "print.pdf").read_bytes() == page
    assert "Nothing to correct: the print is off by no more" in flat(
        drawn.report(*drawn.options(), "--reprint")
    )


def test_a_correction_that_runs_off_the_paper_does_not_hide_the_verdict(drawn):
    """A page fitted at 90 % cannot be blown up by a ninth, but its guides are good all the same."""
    pdf = (drawn.out / "print.pdf").read_bytes()
    words = drawn.options(Distortion(scale_x=0.9, scale_y=0.9))
    found = drawn.verify(*words, "--reprint")
    assert (found["verdict"], found["written"]) == ("do not use", [])
    assert "run off the paper" in found["not_reprinted"]
    assert (drawn.out / "print.pdf").read_bytes() == pdf
    report = flat(drawn.report(*words, "--reprint"))
    assert report.startswith("Cut: guide-a1, guide-a1-edge, guide-b1,")
    assert "scale_x = " not in report


@pytest.mark.parametrize("in_job", [False, True])
def test_a_second_correction_that_runs_off_says_what_the_page_carries(in_job, drawn):
    """Nobody read 0.9069: the user looks for a reading that he never took."""
    if in_job:
        drawn.job += "\n[print]\nscale_x = 0.97\nscale_y = 0.97\n"
        drawn.make()
    else:
        words = drawn.options(Distortion(scale_x=0.97, scale_y=0.97))
        assert drawn.verify(*words, "--reprint")["not_reprinted"] is None
    told = drawn.verify(*drawn.options(Distortion(scale_x=0.935, scale_y=0.935)), "--reprint")[
        "not_reprinted"
    ]
    assert "carries a correction already, for a printer of scale 0.97" in told
    assert re.search(r"came out at 0\.93\d\d x 0\.93\d\d on top of it", told)
    assert ("out of [print] in the job file" in told) == in_job


def test_only_the_page_the_form_and_the_manifest_are_new(drawn):
    """A reprint touches nothing that a machine cuts, and make goes on from it."""
    before = {p.name: p.read_bytes() for p in drawn.out.rglob("*") if p.is_file()}
    drawn.verify(*drawn.options(OFF), "--reprint")
    after = {p.name: p.read_bytes() for p in drawn.out.rglob("*") if p.is_file()}
    changed = {name for name in after if after[name] != before.get(name)}
    assert changed == {"print.pdf", "manifest.json", "readings.toml"}
    listed = {row["file"] for row in drawn.manifest["files"]}
    assert {name.rpartition("/")[2] for name in listed} == set(after) - {"manifest.json"}
    assert read_record(drawn.manifest).rows
    drawn.make()
    again = {p.name: p.read_bytes() for p in drawn.out.rglob("*") if p.is_file()}
    assert again == before


def test_the_lines_for_the_job_file_draw_the_same_page(drawn, tmp_path):
    """Who takes the lines instead of the reprint gets the same correction."""
    words = drawn.options(OFF)
    report = drawn.report(*words, "--all")
    lines = report[report.index("[print]") :].split("\n")[:4]
    other = Bench(folder=tmp_path / "other", job=drawn.job + "\n".join(["", *lines, ""]))
    other.folder.mkdir()
    other.make()
    drawn.verify(*words, "--reprint")
    assert drawn.record.made_for.scale_x == pytest.approx(other.record.made_for.scale_x, abs=2e-6)
    assert drawn.record.made_for.skew == pytest.approx(other.record.made_for.skew, abs=2e-6)
    pages = [[p.mark[:16] for p in bench.record.pages] for bench in (drawn, other)]
    assert pages[0] == pages[1]


def test_a_reprint_of_a_choice_of_pieces_has_that_choice(tmp_path):
    """Whoever printed one guide does not want the whole set on the second print."""
    bench = Bench(folder=tmp_path, job=FLAP)
    bench.make(formats=("pdf",), only=("guide-a1",))
    found = bench.verify(*bench.options(OFF), "--reprint")
    assert found["written"] == [str(bench.out / "print.pdf"), str(bench.form)]
    assert set(bench.record.pieces) == {"guide-a1", "guide-a1-edge"}


def test_a_page_file_that_the_user_changed_is_not_replaced(drawn):
    """A reprint obeys the same rule as make."""
    words = drawn.options(OFF)
    (drawn.out / "print.pdf").write_bytes(b"mine")
    drawn.refused(*words, "--reprint")
    assert (drawn.out / "print.pdf").read_bytes() == b"mine"


def test_good_guides_without_the_reprint_that_was_asked_for_do_not_end_with_0(tmp_path):
    """A script that goes on to print would print the old page."""
    bench = Bench(folder=tmp_path, job=FLAP)
    bench.make(formats=("pdf",), only=("guide-a1",))
    words = bench.options(Distortion(scale_x=0.9, scale_y=0.9))
    from commandline import said

    answer = said("verify", bench.file, "--out", bench.out, *words, "--reprint", "--json")
    assert (answer.status, json.loads(answer.out)["verdict"]) == (1, "use")


def test_without_a_page_the_way_to_one_is_said(tmp_path):
    """Filling in the form prints no page."""
    bench = Bench(folder=tmp_path, job=FLAP)
    bench.make(formats=("svg",))
    assert "--as pdf" in bench.refused("--bar-x", "98")
    assert "there is no printed page among the drawings" in flat(bench.report("--reprint"))
