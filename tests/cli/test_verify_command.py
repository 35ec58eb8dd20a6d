"""``jiggen verify``: from a rule on the page to a verdict, a corrected page and a record."""

import atexit
import functools
import json
import math
import re
import shutil
import tempfile
from pathlib import Path

import pypdfium2
import pytest
from commandline import FLAP, files_in, process, said
from hypothesis import given, settings
from hypothesis import strategies as st
from readback import read_pdf

from jiggen.geometry.distortion import Distortion
from jiggen.readings.names import FORM

BAD_PRINTER = Distortion(scale_x=0.985, scale_y=1.012, skew=math.radians(0.3))
TRUE = Distortion()

#: The page's ticks in the order in which they are drawn: bar, first and second tick.
TICKS = ("bar-x-in", "bar-x", "bar-y-in", "bar-y")


@pytest.fixture
def drawn(flap: Path, tmp_path: Path) -> Path:
    """Return the folder of its printed page and cut files."""
    out = tmp_path / "out"
    assert said("make", flap, "--as", "pdf,svg", "--out", out).status == 0
    return out


def marks_on_paper(pdf: bytes, made: Distortion) -> dict[str, tuple]:
    """Return where the ends of bars and diagonals of the second page lie on paper, mm.

    The file is read by another library, and its coordinates are put through the printer.
    """
    page = read_pdf(pdf)[1]
    walks = page.paths[""]
    filled = [w for w, paint in zip(walks, page.paints, strict=False) if paint == "f"]
    ends = {}
    for number, name in enumerate(TICKS):
        boxes = filled[2 * number : 2 * number + 2]
        ends[name] = tuple(_centre(box[:-1:2]) for box in boxes)
    strokes = [
        w
        for w, paint in zip(walks, page.paints, strict=False)
        if paint == "S" and len(w) == 3 and 4.2 < math.dist(w[0], w[2]) < 4.6
    ]
    crosses = [_centre([a[0], a[2], b[0], b[2]]) for a, b in _pairs_that_cross(strokes)]
    crosses.sort(key=lambda p: (round(p[1] / 50), p[0]))
    assert len(crosses) == 4
    ends["diagonal-1"] = (crosses[0], crosses[3])
    ends["diagonal-2"] = (crosses[1], crosses[2])
    return {name: tuple(made.vector(p) for p in two) for name, two in ends.items()}


def _centre(points: list) -> tuple[float, float]:
    return tuple(sum(p[k] for p in points) / len(points) for k in (0, 1))


def _pairs_that_cross(strokes: list) -> list:
    middles = [(s, _centre([s[0], s[2]])) for s in strokes]
    return [
        (a, b)
        for n, (a, p) in enumerate(middles)
        for b, q in middles[n + 1 :]
        if math.dist(p, q) < 0.01
    ]


def options(pdf: bytes, made: Distortion, step: float = 0.01, **slips: float) -> list[str]:
    """Return what is typed after measuring the page with a rule of this step."""
    words = []
    for name, (start, end) in marks_on_paper(pdf, made).items():
        if not name.endswith("-in"):
            length = math.dist(start, end) + slips.get(name.replace("-", "_"), 0.0)
            words += [f"--{name}", f"{round(length / step) * step:.3f} mm"]
    return [*words, "--step", f"{step} mm"]


def words_on(pdf: Path) -> list[str]:
    """Return the text of each page, by a reader of another house."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [page.get_textpage().get_text_bounded() for page in document]
    finally:
        document.close()


def pages_with_pieces(folder: Path) -> list[int]:
    """Return the numbers of the printed pages that have pieces on them."""
    rows = json.loads((folder / "manifest.json").read_text("utf-8"))["files"]
    pages = next(row["sheets"] for row in rows if row["format"] == "pdf")
    return [page["page"] for page in pages if page["pieces"]]


def verdict(*words: object) -> tuple[int, dict]:
    """Return the exit status and the JSON object."""
    answer = said("verify", *words, "--json")
    assert answer.err == ""
    return answer.status, json.loads(answer.out)


def test_a_true_page_says_use_and_ends_with_status_0(flap: Path, drawn: Path) -> None:
    """A script that prints a batch goes on only on 0."""
    typed = options((drawn / "print.pdf").read_bytes(), TRUE, step=0.05)
    status, found = verdict(flap, "--out", drawn, *typed)
    assert (status, found["verdict"]) == (0, "use")
    assert found["scale_x"] == pytest.approx(1.0, abs=1e-3)
    pages = pages_with_pieces(drawn)
    assert {piece["sheet"] for piece in found["pieces"]} == {f"page {n}" for n in pages}
    answer = said("verify", flap, "--out", drawn, *typed)
    assert answer.out.split("\n")[2].strip() == "USE"


def test_a_small_page_spares_guides_and_condemns_wraps(flap: Path, drawn: Path) -> None:
    """Fit-to-page is the commonest fault; its guides need not be thrown away."""
    typed = options((drawn / "print.pdf").read_bytes(), Distortion(scale_x=0.91, scale_y=0.91))
    status, found = verdict(flap, "--out", drawn, *typed)
    judged = {piece["name"]: piece["verdict"] for piece in found["pieces"]}
    assert status == 1
    assert judged["guide-a1"] == judged["guide-b1"] == "use"
    assert judged["wrap-a1"] == "do not use"
    words = " ".join(said("verify", flap, "--out", drawn, *typed).out.split())
    assert "spares the angle guides" in words
    assert "again at 100 %" in words


def test_nothing_measured_cannot_be_told_and_says_what_to_measure(flap: Path, drawn: Path) -> None:
    """Silence is no pass; someone without a rule is told of the bank card."""
    answer = said("verify", flap, "--out", drawn)
    assert answer.status == 1
    words = " ".join(answer.out.split())
    assert answer.out.split("\n")[2].strip() == "CANNOT TELL"
    assert "Measure the 100 mm bar along x and along y" in words
    # ISO/IEC 7810 ID-1, as in tests/published/test_card.py.
    assert "85.60 x 53.98 mm" in words
    status, found = verdict(flap, "--out", drawn)
    assert (status, found["scale_x"]) == (1, None)


def test_a_slip_is_asked_about_and_no_number_is_built_on_it(flap: Path, drawn: Path) -> None:
    """The next print would be corrected for a fault that it never had."""
    pdf = (drawn / "print.pdf").read_bytes()
    typed = options(pdf, TRUE, step=0.5, diagonal_1=-10.0)
    status, found = verdict(flap, "--out", drawn, *typed)
    assert (status, found["verdict"], found["scale_x"]) == (1, "cannot tell", None)
    assert found["questions"][0]["readings"] == ["diagonal-1"]
    answer = said("verify", flap, "--out", drawn, *typed)
    assert "10 mm slip" in " ".join(answer.out.split())
    refused = said("verify", flap, "--out", drawn, *typed, "--reprint")
    assert (refused.status, refused.err) == (1, "")
    words = " ".join(refused.out.split())
    assert "10 mm slip" in words
    assert "No reprint was written: the readings that it would correct by are asked about" in words
    assert (drawn / "print.pdf").read_bytes() == pdf


def test_a_reading_in_inches_for_millimetres_is_asked_about(flap: Path, drawn: Path) -> None:
    """A bare 3.94 in a mm job is a bar in inches, or the wrong bar: never a page at 4 %."""
    status, found = verdict(flap, "--out", drawn, "--bar-x", "3.94", "--bar-y", "100")
    assert (status, found["questions"][0]["likely"]) == (1, "unit")


@pytest.mark.parametrize(
    ("typed", "bar"),
    [
        ("100", "bar-x"),
        ("98.5 mm", "bar-x"),
        ("101.2", "bar-x"),
        ("4 in", "bar-x-in"),
        ('4 1/64"', "bar-x-in"),
    ],
)
def test_the_unit_tells_which_bar_was_measured(
    typed: str, bar: str, flap: Path, drawn: Path
) -> None:
    """100 mm and 4 in differ by 1.6 %: the wrong one is a false scale."""
    _, found = verdict(flap, "--out", drawn, "--bar-x", typed)
    assert [reading["name"] for reading in found["readings"]] == [bar]


def test_a_reading_that_may_be_either_bar_is_asked_about(flap: Path, drawn: Path) -> None:
    """101.6 beside a 100: the 4 in bar, or a page stretched along x alone, which bends guides."""
    answer = said("verify", flap, "--out", drawn, "--bar-x", "101.6", "--bar-y", "100")
    assert answer.status == 2
    assert len(answer.faults) == 1
    assert "--bar-x" in answer.err


def test_in_an_inch_job_the_bar_that_was_read_is_told_by_the_diagonals_or_asked(
    tmp_path: Path,
) -> None:
    """3.94 in is a true 100 mm bar or a short 4 in bar: a wrong guess condemns a true print."""
    inches = tmp_path / "inches.toml"
    inches.write_text(FLAP.replace('units = "mm"', 'units = "in"'), "utf-8")
    short = FLAP.replace('units = "mm"', 'units = "in"').replace("[cut]", "[guide]\n[cut]")
    for key, mm in (("rear_thickness", 0.8), ("depth", 20.0), ("thickness", 0.5), ("line", 8.0),
                    ("first", 15.0), ("pitch", 26.0), ("kerf", 0.15)):  # fmt: skip
        short = re.sub(rf"(?m)^{key} = .*$", f'{key} = "{mm} mm"', short)
    inches.write_text(short.replace("at = 1700.0", 'at = "1700 mm"'), "utf-8")
    drawn = tmp_path / "inch-drawings"
    assert said("make", inches, "--out", drawn, "--as", "pdf").status == 0
    bars = ("--bar-x", "3.94", "--bar-y", "3.94")
    asked = said("verify", inches, "--out", drawn, *bars)
    assert asked.status == 2
    assert "--bar-x: may be the 100 mm bar" in asked.err
    pages = json.loads((drawn / "manifest.json").read_text())["files"]
    sizes = next(f for f in pages if f["format"] == "pdf")["sheets"][0]["dimensions"]
    across = next(d["nominal"] for d in sizes if d["name"] == "diagonal-1") / 25.4
    for scale, suffix in ((1.0, ""), (0.985, "-in")):
        diagonal = f"{across * scale:.4f}"
        _, found = verdict(
            inches, "--out", drawn, *bars, "--diagonal-1", diagonal, "--diagonal-2", diagonal
        )
        names = [r["name"] for r in found["readings"] if r["name"].startswith("bar")]
        assert names == [f"bar-x{suffix}", f"bar-y{suffix}"]
        assert found["scale_x"] == pytest.approx(scale, abs=0.002)
    _, found = verdict(inches, "--out", drawn, "--bar-x", "4.00", "--bar-y", "4.00")
    assert [r["name"] for r in found["readings"]] == ["bar-x-in", "bar-y-in"]


def test_one_page_may_be_measured_by_itself(flap: Path, drawn: Path) -> None:
    """A page that went through the feed twice says nothing of its neighbours."""
    typed = options((drawn / "print.pdf").read_bytes(), TRUE, step=0.05)
    pages = pages_with_pieces(drawn)
    assert len(pages) > 1
    _, found = verdict(flap, "--out", drawn, *typed, "--page", pages[-1])
    assert {piece["sheet"] for piece in found["pieces"]} == {f"page {pages[-1]}"}
    assert any(f"page {pages[-1]} alone" in note for note in found["notes"])
    _, all_pages = verdict(flap, "--out", drawn, *typed)
    assert any(f"all {len(pages)} pages" in note for note in all_pages["notes"])


def test_all_faults_of_options_and_form_come_at_once(flap: Path, drawn: Path) -> None:
    """Nobody mends a command line a word at a time."""
    answer = said(
        "verify", flap, "--out", drawn, "--bar-x", "98,5", "--bar-y", "long", "--step", "0",
        "--page", "1", "--readings", "none.toml",
    )  # fmt: skip
    assert answer.status == 2
    assert answer.out == ""
    starts = [line.split(": ")[1] for line in answer.faults]
    assert starts == [
        *("cannot be read (No such file or directory); give the name of a readings file",),
        *("--page", "--bar-x", "--bar-y", "--step"),
    ]


@pytest.mark.parametrize("tiny", ["5e-324", "1e-320", "1e-200", "1e-12", "-0.0"])
@pytest.mark.parametrize("name", ["bar-x", "bar-y", "diagonal-1", "diagonal-2", "step"])
def test_a_length_that_is_none_is_a_fault_of_the_option(
    name: str, tiny: str, flap: Path, drawn: Path
) -> None:
    """Such numbers ended as a fault of jiggen's own, and a step of 1e-200 mm never ended."""
    good = ("--bar-x", "100", "--bar-y", "100", "--diagonal-1", "257", "--diagonal-2", "257")
    answer = said("verify", flap, "--out", drawn, *good, f"--{name}", tiny)
    assert answer.status == 2
    assert answer.out == ""
    (line,) = answer.faults
    assert line.startswith(f"jiggen verify: --{name}: must be more than 0, given ")


def test_without_drawings_the_job_is_judged_as_it_would_be_drawn(
    flap: Path, drawn: Path, tmp_path: Path
) -> None:
    """The page may have been made in another folder, or the folder thrown away."""
    typed = options((drawn / "print.pdf").read_bytes(), BAD_PRINTER)
    _, there = verdict(flap, "--out", drawn, *typed)
    _, absent = verdict(flap, "--out", tmp_path / "none", *typed)
    assert absent["pieces"] == there["pieces"]
    assert "no drawings" in absent["notes"][0]
    assert not (tmp_path / "none").exists()


def test_a_manifest_that_is_not_ours_is_one_line(flap: Path, drawn: Path) -> None:
    """Another program's manifest.json must not end in a crash."""
    for text in ("{}", "[1", '{"jiggen": 1, "files": [{"file": "a", "sha256": "b"}]}'):
        (drawn / "manifest.json").write_text(text, "utf-8")
        answer = said("verify", flap, "--out", drawn, "--bar-x", "100")
        assert answer.status == 2
        assert len(answer.faults) == 1
        assert str(drawn / "manifest.json") in answer.err


def test_two_rounds_on_a_bad_printer_end_true(flap: Path, drawn: Path) -> None:
    """The promise of the loop: print, measure, print again, measure again, and be there."""
    before = files_in(drawn)
    for _ in range(2):
        pdf = (drawn / "print.pdf").read_bytes()
        typed = options(pdf, BAD_PRINTER)
        answer = said("verify", flap, "--out", drawn, *typed, "--reprint")
        assert answer.err == ""
    ends = marks_on_paper((drawn / "print.pdf").read_bytes(), BAD_PRINTER)
    for name in ("bar-x", "bar-y"):
        assert math.dist(*ends[name]) == pytest.approx(100.0, rel=2e-4)
    (x0, x1), (y0, y1) = ends["bar-x"], ends["bar-y"]
    corner = math.atan2(y1[1] - y0[1], y1[0] - y0[0]) - math.atan2(x1[1] - x0[1], x1[0] - x0[0])
    assert math.degrees(corner) == pytest.approx(90.0, abs=0.01)
    typed = options((drawn / "print.pdf").read_bytes(), BAD_PRINTER)
    status, found = verdict(flap, "--out", drawn, *typed)
    assert (status, found["verdict"]) == (0, "use")
    assert found["reprint"]["scale_x"] == pytest.approx(0.985, rel=2e-4)
    after = files_in(drawn)
    changed = {name for name in before if before[name] != after[name]}
    assert changed == {"print.pdf", "manifest.json", FORM}
    assert after.keys() == before.keys()


def test_the_first_print_of_the_bad_printer_is_far_off(flap: Path, drawn: Path) -> None:
    """The loop's test would prove nothing on a printer that needed no correction."""
    ends = marks_on_paper((drawn / "print.pdf").read_bytes(), BAD_PRINTER)
    assert math.dist(*ends["bar-x"]) == pytest.approx(98.5, abs=1e-3)
    assert math.dist(*ends["bar-y"]) == pytest.approx(101.2, abs=1e-3)


def test_a_reprint_is_what_make_draws_from_the_lines_that_it_prints(
    flap: Path, drawn: Path, tmp_path: Path
) -> None:
    """Two roads to one page: the command, and the job file for next month."""
    typed = options((drawn / "print.pdf").read_bytes(), BAD_PRINTER)
    answer = said("verify", flap, "--out", drawn, *typed, "--reprint")
    lines = answer.out[answer.out.index("[print]") :].split("\n")[:4]
    again = tmp_path / "again.toml"
    again.write_text(FLAP + "\n".join(lines) + "\n", "utf-8")
    said("make", again, "--as", "pdf", "--out", tmp_path / "again")
    ends = [
        marks_on_paper((folder / "print.pdf").read_bytes(), TRUE)
        for folder in (drawn, tmp_path / "again")
    ]
    for name, (start, end) in ends[0].items():
        assert math.dist(start, ends[1][name][0]) < 1e-3
        assert math.dist(end, ends[1][name][1]) < 1e-3
    assert words_on(drawn / "print.pdf") == words_on(tmp_path / "again" / "print.pdf")


def test_a_reprint_of_a_choice_of_pieces_has_that_choice(flap: Path, tmp_path: Path) -> None:
    """Whoever printed one guide does not want the whole set on the second print."""
    out = tmp_path / "one"
    said("make", flap, "--as", "pdf", "--only", "guide-a1", "--out", out)
    typed = options((out / "print.pdf").read_bytes(), BAD_PRINTER)
    _, found = verdict(flap, "--out", out, *typed, "--reprint")
    assert found["written"] == [str(out / "print.pdf"), str(out / FORM)]
    listed = json.loads((out / "manifest.json").read_text("utf-8"))["files"]
    pieces = [piece["name"] for sheet in listed[0]["sheets"] for piece in sheet["pieces"]]
    assert pieces == ["guide-a1"]


def test_the_manifest_of_a_reprint_is_true_and_make_goes_on_from_it(
    flap: Path, drawn: Path
) -> None:
    """A manifest that no longer fits its files would lock the folder."""
    first = files_in(drawn)
    typed = options((drawn / "print.pdf").read_bytes(), BAD_PRINTER)
    said("verify", flap, "--out", drawn, *typed, "--reprint")
    manifest = json.loads((drawn / "manifest.json").read_text("utf-8"))
    rows = {row["file"]: row for row in manifest["files"]}
    assert len(rows["print.pdf"]["correction"]) == 4
    assert rows.keys() == first.keys() - {"manifest.json"}
    assert said("make", flap, "--as", "pdf,svg", "--out", drawn).status == 0
    assert files_in(drawn) == first


def test_a_correction_that_runs_off_the_paper_does_not_hide_the_verdict(
    flap: Path, drawn: Path
) -> None:
    """A page fitted at 90 % cannot be blown up by a ninth, but its guides are good all the same."""
    pdf = (drawn / "print.pdf").read_bytes()
    typed = options(pdf, Distortion(scale_x=0.9, scale_y=0.9))
    status, found = verdict(flap, "--out", drawn, *typed, "--reprint")
    assert (status, found["verdict"], found["written"]) == (1, "do not use", [])
    assert "run off the paper" in found["not_reprinted"]
    assert (drawn / "print.pdf").read_bytes() == pdf


def test_a_page_file_that_the_user_changed_is_not_replaced(flap: Path, drawn: Path) -> None:
    """A reprint obeys the same rule as make."""
    typed = options((drawn / "print.pdf").read_bytes(), BAD_PRINTER)
    (drawn / "print.pdf").write_bytes(b"mine")
    answer = said("verify", flap, "--out", drawn, *typed, "--reprint")
    assert answer.status == 2
    assert (drawn / "print.pdf").read_bytes() == b"mine"


typed_lengths = st.one_of(
    st.sampled_from(
        [
            *("100", "98.5 mm", "3 7/8 in", "0", "nan", "inf", "1e308", "1e-308", "1/0 in", "4'"),
            *("mm", "5e-324", "1e-200", "1e-160", "1e-12", "1e-6"),
        ]
    ),
    st.floats(0.1, 5000.0).map(repr),
    st.text(max_size=6).filter(lambda text: not text.startswith("-")),
)


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(st.sampled_from(["bar-x", "bar-y", "diagonal-1", "step"]), typed_lengths),
    st.one_of(st.none(), st.integers(-2, 9)),
)
def test_whatever_is_typed_ends_in_a_verdict_or_in_named_faults(
    typed: dict[str, str], page: int | None
) -> None:
    """A slip of the finger must not look like a fault of the program, nor like a pass."""
    job, out = _drawn_once()
    words = [word for name, text in typed.items() for word in (f"--{name}", text)]
    words += [] if page is None else ["--page", str(page)]
    answer = said("verify", job, "--out", out, "--json", *words)
    assert answer.status in (0, 1, 2)
    if answer.status == 2:
        assert answer.out == ""
        assert all("jiggen verify: " in line for line in answer.faults)
    else:
        assert answer.err == ""
        assert json.loads(answer.out)["verdict"] in ("use", "do not use", "cannot tell")


@functools.cache
def _drawn_once() -> tuple[Path, Path]:
    folder = Path(tempfile.mkdtemp(prefix="typed-"))
    atexit.register(shutil.rmtree, folder)
    job = folder / "flap.toml"
    job.write_text(FLAP, "utf-8")
    assert said("make", job, "--as", "pdf", "--out", folder / "out").status == 0
    return job, folder / "out"


def test_the_report_obeys_a_pipe_without_the_plus_minus_sign(flap: Path, drawn: Path) -> None:
    """A terminal in ASCII gets the verdict all the same."""
    answer = process(
        "verify", flap, "--out", drawn, "--bar-x", "99.7", "--bar-y", "99.7",
        folder=flap.parent, PYTHONIOENCODING="ascii",
    )  # fmt: skip
    assert answer.status == 1
    assert answer.err == ""
    assert "CANNOT TELL" in answer.out


def test_drawings_of_a_job_that_was_changed_since_are_not_judged(flap: Path, drawn: Path) -> None:
    """True to size and two degrees wrong: the wedge was measured again after the page was made."""
    lengths = ("--bar-x", "100", "--bar-y", "100", "--diagonal-1", "260.2", "--diagonal-2", "260.2")
    before = said("verify", flap, "--out", drawn, *lengths)
    assert "it was changed since" not in before.err
    text = flap.read_text()
    changed = text.replace("rear_thickness = ", "rear_thickness = 1", 1)
    if changed == text:
        changed = text.replace("drill = ", 'drill = "#40"  # ', 1)
    assert changed != text
    flap.write_text(changed)
    answer = said("verify", flap, "--out", drawn, *lengths)
    assert answer.status == 2
    assert answer.out == ""
    assert "it was changed since; run jiggen make again" in answer.err


def test_one_set_of_readings_corrects_a_print_once(flap: Path, drawn: Path) -> None:
    """The same command again, after a look at the screen, would double the correction."""
    typed = ("--bar-x", "98", "--bar-y", "99.5", "--diagonal-1", "257", "--diagonal-2", "257")
    first = said("verify", flap, "--out", drawn, *typed, "--reprint")
    assert first.err == ""
    page = (drawn / "print.pdf").read_bytes()
    again = said("verify", flap, "--out", drawn, *typed, "--reprint")
    assert again.status == 2
    assert "was done by these very readings" in again.err
    assert (drawn / "print.pdf").read_bytes() == page


def test_an_axis_that_nobody_measured_is_not_corrected(flap: Path, drawn: Path) -> None:
    """A guess along y, written into the job file, spoils a true axis."""
    page = (drawn / "print.pdf").read_bytes()
    answer = said("verify", flap, "--out", drawn, "--bar-x", "98", "--reprint")
    assert (answer.status, answer.err) == (1, "")
    assert "No reprint was written: there are readings along one axis only" in " ".join(
        answer.out.split()
    )
    assert (drawn / "print.pdf").read_bytes() == page
    assert "scale_y = " not in said("verify", flap, "--out", drawn, "--bar-x", "98").out
