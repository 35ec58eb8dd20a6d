"""What ``verify`` says: the answer by piece first, at most 15 lines, all of it with ``--all``."""

import math
import re
import subprocess
import sys

import pypdfium2
import pytest
from commandline import FLAP, PROJECT, environment, said
from measuring import FIRST, SECOND, Bench, flat

from jiggen.geometry.distortion import Distortion
from jiggen.report.verdict import LINES

OFF = Distortion(scale_x=0.985, scale_y=1.012, skew=math.radians(0.3))
SMALL = Distortion(scale_x=0.96, scale_y=0.96)


@pytest.fixture
def many(tmp_path):
    """Return a job with guides, gauges and a strip: 18 pieces on several pages."""
    bench = Bench(folder=tmp_path, job=FLAP + "\n[gauge]\ntolerance = 0.3\n\n[strip]\n")
    bench.make()
    return bench


def cut_pieces(bench, off=0.0):
    """Fill in every piece, its lengths off by as much."""
    for name, piece in bench.record.pieces.items():
        bench.fill("piece", name, {n: round(s.nominal + off, 2) for n, s in piece.sizes.items()})


def test_the_first_line_is_the_answer_by_piece(many):
    """A good guide read as CANNOT TELL, because of a piece that nobody asked for."""
    for name in ("guide-a1", "guide-a1-edge"):
        sizes = many.record.pieces[name].sizes.values()
        many.fill("piece", name, {size.name: round(size.nominal, 2) for size in sizes})
    many.fill("page", FIRST, many.page())
    many.fill("page", SECOND, many.page(name=SECOND))
    first, second, *_ = many.report().splitlines()
    assert first == "Use: guide-a1, guide-a1-edge."
    assert second.startswith("Cut: guide-b1, guide-b1-edge, guide-foot, gauge-1-thin,")


def test_a_job_that_says_stop_says_it_beside_the_answer(tmp_path):
    """A -5 rivet in a #40 hole: "Cut: guide-a1" without a word sent it to the drill."""
    rivet = '\n[rivet]\nsize = "-5"\nshop_head = "bucked"\n'
    stop = Bench(folder=tmp_path, job=FLAP + rivet)
    stop.make()
    band = said("angles", stop.file).out.splitlines()
    assert band[0].startswith("STOP ")
    for words in ([], ["--all"]):
        first, second, third, *_ = filter(None, stop.report(*stop.options(), *words).split("\n"))
        assert first.startswith("Cut: guide-a1, ")
        assert f"The job says STOP: {band[1].strip()}" in (second, third)
    assert stop.report().splitlines()[0] == "Cannot tell: nothing was measured."
    (tmp_path / "good").mkdir()
    good = Bench(folder=tmp_path / "good", job=FLAP)
    good.make()
    assert "STOP" not in good.report(*good.options())


def test_no_test_hole_is_asked_for_with_a_guide_that_is_not_to_be_used(many):
    """Its edge plate was good, and so the bad guide was sent to the drill."""
    many.fill("piece", "guide-a1", many.cut("guide-a1", 3.0))
    for name in ("guide-a1-edge", "guide-b1", "guide-b1-edge"):
        sizes = many.record.pieces[name].sizes.values()
        many.fill("piece", name, {size.name: round(size.nominal, 2) for size in sizes})
    report = flat(many.report())
    assert report.startswith("Use: guide-a1-edge, guide-b1, guide-b1-edge. Not: guide-a1.")
    assert "Measure guide-a1 once more" in report
    assert "Drill a test hole in scrap with guide-b1, write" in report


def test_every_group_has_its_own_word_and_the_rest_is_counted(many):
    """Twenty names in a row are read by nobody."""
    lines = many.report(*many.options(SMALL)).splitlines()
    assert lines[0].startswith("Cut: guide-a1, guide-a1-edge, guide-b1,")
    assert lines[0].count(",") + lines[1].count(",") <= 8
    assert re.search(r"and \d more\.", flat(" ".join(lines[:3])))
    assert "Not: strip-joined." in lines


@pytest.mark.parametrize(
    ("made", "cut", "stale"),
    [
        (None, None, False),
        (OFF, None, False),
        (SMALL, None, True),
        (Distortion(scale_x=0.8), None, False),
        (None, 0.0, False),
        (None, 0.6, True),
        (OFF, 0.0, True),
        (Distortion(), 30.0, False),
    ],
)
def test_no_report_is_longer_than_fifteen_lines(made, cut, stale, many):
    """It is read at the bench, on a small screen, with gloves on."""
    words = [] if made is None else many.options(made, 0.05)
    if cut is not None:
        cut_pieces(many, cut)
    if stale:
        many.job = many.job.replace("[7.5, 3.0]", "[7.2, 3.1]")
    report = many.report(*words)
    assert len(report.splitlines()) <= LINES == 15
    assert all(len(line) <= 100 for line in report.splitlines())
    assert "Next: " in report
    everything = many.report(*words, "--all")
    assert "More: the same command with --all." not in everything
    if made is not None or cut is not None:
        assert len(everything.splitlines()) > LINES


def test_all_of_it_has_the_reasons_tables_and_readings(many):
    """What is left out of the short report is not lost."""
    cut_pieces(many)
    report = many.report(*many.options(OFF), "--all")
    for head in ("Pieces on pages and beds", "Pieces as cut", "Readings, mm"):
        assert f"\n{head}\n" in report
    assert "readings less the likeliest shape: A-B " in report
    assert "bank card is 85.60 mm by 53.98 mm (ISO/IEC 7810, ID-1)" in flat(report)
    assert "scale_x = 0.98" in report


def test_nothing_measured_says_what_to_measure_and_how_long_it_should_be(many):
    """The first run comes before the first reading."""
    report = many.report()
    assert report.startswith("Cannot tell: nothing was measured.\nNext: Print at 100 % and measure")
    assert f"{FIRST}: bar-x 100.00 mm, bar-y 100.00 mm, diagonal-1 300.00 mm" in flat(report)


def test_after_a_good_page_the_piece_is_cut_and_after_a_good_piece_scrap_is_drilled(many):
    """Each stage ends in the next one; told to cut what was cut, a user begins again."""
    page = flat(many.report(*many.options()))
    assert "Next: Cut, and file to the line: the line stays." in page
    cut_pieces(many)
    piece = flat(many.report())
    assert "Next: Drill a test hole in scrap with guide-a1, guide-b1," in piece
    assert "file to the line" not in piece


def test_a_page_at_97_per_cent_is_asked_whether_it_was_fitted(many):
    """A correction made for "Fit" runs wild as soon as somebody prints at 100 %."""
    fitted = flat(many.report(*many.options(Distortion(scale_x=0.97, scale_y=0.97))))
    assert "most likely scaled to fit its paper: print it again at 100 % (actual size)" in fitted
    assert "If it was at 100 %: the same command with --reprint." in fitted
    little = flat(many.report(*many.options(Distortion(scale_x=0.985, scale_y=0.985))))
    assert "scaled to fit" not in little
    assert "the same command with --reprint; then measure the new page" in little


@pytest.mark.parametrize("made", [Distortion(), OFF, Distortion(scale_x=0.8)])
def test_no_verdict_in_an_inch_job_speaks_of_millimetres(made, tmp_path):
    """Whoever has an inch rule in his hand works out every reason for himself, or gives up."""
    job = (PROJECT / "templates" / "tapered-inch.toml").read_text("utf-8")
    bench = Bench(folder=tmp_path, job=job)
    bench.make(only=("guide",))
    record = tmp_path / "record.pdf"
    for words in (bench.options(made), bench.options(made)[:2], []):
        for report in (bench.report(*words), bench.report(*words, "--all")):
            assert not re.search(r"\d ?mm\b", flat(report)), report
    cut_pieces_in_inches(bench)
    bench.report(*bench.options(made), "--record", record)
    assert not re.search(r"\d ?mm\b", text_of(record))
    assert not re.search(r"\d ?mm\b", flat(bench.report("--all")))


def cut_pieces_in_inches(bench):
    for name, piece in bench.record.pieces.items():
        lengths = {n: round(s.nominal / 25.4 + 0.004, 3) for n, s in piece.sizes.items()}
        bench.fill("piece", name, lengths)


def test_words_of_the_trade_and_of_the_drawing_are_used(many):
    """The words "along x" and "sheet" mean two things each to somebody at a bench."""
    cut_pieces(many)
    many.fill("bed", "cut-1", many.bed(OFF))
    text = flat(many.report(*many.options(OFF), "--all")) + many.form.read_text("utf-8")
    for gone in ("along x", "along y", "sheet", "drift", "hairline", "grey band", "pinned"):
        assert gone not in text, gone


def text_of(pdf):
    """Return the text of a record, by a reader of another house."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        assert len(document) == 1
        return flat(document[0].get_textpage().get_text_bounded())
    finally:
        document.close()


def test_the_record_is_one_page_with_readings_verdict_and_a_place_to_sign(many, tmp_path):
    """It goes into the builder's log, where somebody asks for it years later."""
    form = many.form.read_text("utf-8").replace('date = ""', "date = 2026-03-01")
    many.form.write_text(form.replace('by = ""', 'by = "K. L."'), "utf-8")
    cut_pieces(many)
    many.fill("page", FIRST, many.page())
    record = tmp_path / "record.pdf"
    assert f"Wrote {record}" in flat(many.report("--record", record))
    page = text_of(record)
    for words in ("Record of measurement", "Flap edge, left", "2026-03-01", "K. L.",
                  "Use: guide-a1", "bar-x", "diagonal-2", "signed by", "and "):  # fmt: skip
        assert words in page, words
    assert re.search(r"and \d+ more", page)


def test_a_record_without_a_date_bears_the_day_of_the_verdict(many, tmp_path):
    """An undated record is no record."""
    record = tmp_path / "record.pdf"
    many.report("--bar-x", "100", "--record", record)
    assert re.search(r"Judged on \d{4}-\d\d-\d\d", text_of(record))


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("rec.svg", "give --record a name that ends in .pdf"),
        ("there.pdf", "is there already"),
        ("nodir/rec.pdf", "is not there; make it first"),
    ],
)
def test_a_record_that_cannot_be_written_replaces_nothing(name, told, many, tmp_path):
    """It may be the signed one."""
    (tmp_path / "there.pdf").write_bytes(b"signed")
    answer = many.refused("--bar-x", "100", "--record", tmp_path / name)
    assert answer.startswith(f"{tmp_path / name}: ")
    assert told in answer
    assert "--out" not in answer
    assert (tmp_path / "there.pdf").read_bytes() == b"signed"


def test_a_terminal_in_ascii_gets_the_verdict_all_the_same(many):
    """The process is one of its own: nothing of this one's helps it."""
    many.make(formats=("pdf",), only=("gauge",))
    words = ["verify", str(many.file), "--out", str(many.out), "--bar-x", "99.7", "--all"]
    program = (
        "from jiggen.jigs import plan; plan.JIGS = ('jiggen.jigs.gauge',)\n"
        f"from jiggen.cli import run; raise SystemExit(run({words!r}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        env=environment(PYTHONIOENCODING="ascii"),
        timeout=120,
        check=False,
    )
    assert (done.returncode, done.stderr) == (1, b"")
    assert done.stdout.decode("ascii").lstrip().startswith("Cannot tell: ")


OPTIONS = ("--bar-x", "--bar-y", "--diagonal-1", "--diagonal-2", "--step")
TYPED = (
    "100",
    "98.5 mm",
    "3 7/8 in",
    "0",
    "nan",
    "1e308",
    "1e-308",
    "5e-324",
    "1/0 in",
    "4'",
    "mm",
)


def test_whatever_is_typed_ends_in_a_verdict_or_in_named_faults(many):
    """A slip of the finger must not look like a fault of the program, nor like a pass."""
    for turn in range(len(TYPED)):
        words = [
            w for n, option in enumerate(OPTIONS) for w in (option, TYPED[(turn + 3 * n) % 11])
        ]
        for some in (words, words[:2]):
            answer = said("verify", many.file, "--out", many.out, *some)
            assert answer.status in (1, 2), (some, answer)
            assert (answer.out == "") == (answer.status == 2)
            assert all(line.startswith("jiggen verify: ") for line in answer.faults)


def test_readings_typed_count_for_all_pages_or_for_the_one_that_is_named(many):
    """One run of one printer, or the one page that went through by itself."""
    words = many.options()
    assert {p["sheet"] for p in many.verify(*words)["pieces"]} > {FIRST, SECOND}
    assert {p["sheet"] for p in many.verify(*words, "--page", SECOND.split()[1])["pieces"]} == {
        SECOND
    }
    assert "pages with pieces: 2, 3" in many.refused(*words, "--page", "99")


def test_readings_of_the_form_that_options_push_aside_are_told(many):
    """With both listed as sources, the true diagonals of the form seem to stand behind it all."""
    many.fill("page", FIRST, many.page())
    notes = " ".join(many.verify("--bar-x", "98", "--bar-y", "98")["notes"])
    assert f"Put aside: what the form says of {FIRST}" in notes
    assert "Put aside" not in " ".join(many.verify()["notes"])
