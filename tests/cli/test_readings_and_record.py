"""The form that lies among the drawings, what it proves, and the record to sign."""

import json
import math
import re
from pathlib import Path

import pypdfium2
import pytest
from commandline import FLAP, files_in, said

from jiggen.readings.names import FORM

FORWARD = 83.48
NEW = "readings-new.toml"


@pytest.fixture
def drawn(flap: Path, tmp_path: Path) -> Path:
    """Return the folder of its printed page."""
    out = tmp_path / "out"
    assert said("make", flap, "--as", "pdf", "--out", out).status == 0
    return out


def fill_in(form: Path, part: str, readings: dict[str, float]) -> None:
    """Write readings into a form, in the part that has this name."""
    text = form.read_text("utf-8")
    at = text.index(f'name = "{part}"')
    for name, mm in readings.items():
        start = text.index(f'{{ name = "{name}"', at)
        blank = text.index('measured = ""', start)
        text = f"{text[:blank]}measured = {mm}{text[blank + len('measured = ') + 2 :]}"
    form.write_text(text, "utf-8")


def drawn_lengths(form: Path, part: str) -> dict[str, float]:
    """Return the nominal lengths of a part of a form, mm."""
    text = form.read_text("utf-8")
    body = text[text.index(f'name = "{part}"') :].split("]\n")[0]
    rows = re.findall(r'name = "([^"]+)", nominal = "([\d.]+) mm"', body)
    return {name: float(mm) for name, mm in rows}


def pages_of(form: Path) -> list[str]:
    """Return the names of the pages that a form asks about."""
    return re.findall(r'\[\[sheet\]\]\nname = "(page \d+)"', form.read_text("utf-8"))


def measure_page(form: Path) -> None:
    """Fill in a true first page of pieces."""
    page = pages_of(form)[0]
    sizes = drawn_lengths(form, page)
    names = ("bar-x", "bar-y", "diagonal-1", "diagonal-2")
    fill_in(form, page, {n: round(sizes[n] * 4) / 4 for n in names})


def judged(flap: Path, drawn: Path, *words: object) -> tuple[int, dict]:
    """Return the exit status and the JSON object."""
    answer = said("verify", flap, "--out", drawn, "--json", *words)
    assert answer.err == ""
    return answer.status, json.loads(answer.out)


def test_a_form_that_was_filled_in_is_never_replaced(flap: Path, drawn: Path) -> None:
    """An hour with the calliper must survive the next make."""
    form = drawn / FORM
    measure_page(form)
    mine = form.read_bytes()
    for line in ("7.5, 3.0", "7.4, 3.0", "7.3, 3.0"):
        flap.write_text(FLAP.replace("7.5, 3.0", line), "utf-8")
        answer = said("make", flap, "--as", "pdf", "--out", drawn)
        assert answer.status == 0, answer.err
        assert form.read_bytes() == mine
        assert f"the blank is {NEW}" in " ".join(answer.out.split())
    assert sorted(files_in(drawn)) == ["manifest.json", "print.pdf", NEW, FORM]
    listed = json.loads((drawn / "manifest.json").read_text("utf-8"))["files"]
    assert [row["file"] for row in listed] == ["print.pdf", NEW]


def test_a_second_form_that_was_filled_in_is_kept_too(flap: Path, drawn: Path) -> None:
    """The next blank finds a name of its own, however many there are."""
    kept = {}
    for name in (FORM, NEW):
        measure_page(drawn / name)
        kept[name] = (drawn / name).read_bytes()
        said("make", flap, "--as", "pdf", "--out", drawn)
    files = files_in(drawn)
    assert {name: files[name] for name in kept} == kept
    assert "readings-new-2.toml" in files


def test_a_blank_form_is_replaced_with_the_drawings(flap: Path, drawn: Path) -> None:
    """A form of last week's drawings beside today's would be filled in by somebody."""
    before = (drawn / FORM).read_bytes()
    flap.write_text(FLAP.replace("7.5, 3.0", "7.0, 3.0"), "utf-8")
    said("make", flap, "--as", "pdf", "--out", drawn)
    assert (drawn / FORM).read_bytes() != before
    assert sorted(files_in(drawn)) == ["manifest.json", "print.pdf", FORM]


def test_readings_of_an_earlier_print_are_left_out(flap: Path, drawn: Path) -> None:
    """After a reprint the old readings would correct the page a second time."""
    form = drawn / FORM
    sizes = drawn_lengths(form, pages_of(form)[0])
    off = {"bar-x": 98.5, "bar-y": 101.2}
    off |= {name: sizes[name] for name in ("diagonal-1", "diagonal-2")}
    for page in pages_of(form):
        fill_in(form, page, off)
    status, first = judged(flap, drawn, "--reprint")
    assert (status, first["written"][1]) == (1, str(drawn / NEW))
    assert first["reprint"]["scale_x"] == pytest.approx(0.985, abs=0.005)
    status, second = judged(flap, drawn)
    assert (status, second["scale_x"]) == (1, None)
    assert second["reprint"] == pytest.approx(first["reprint"])
    assert any("earlier print" in note for note in second["notes"])
    refused = said("verify", flap, "--out", drawn, "--readings", form)
    assert refused.status == 2
    assert f"{form}: print: " in refused.err


def test_pages_that_nobody_measured_keep_the_verdict_open(flap: Path, drawn: Path) -> None:
    """Each page has its own line in the form; a blank one is no pass."""
    measure_page(drawn / FORM)
    _, found = judged(flap, drawn)
    words = {piece["sheet"]: piece["verdict"] for piece in found["pieces"]}
    assert words[pages_of(drawn / FORM)[-1]] == "cannot tell"
    guide = next(piece for piece in found["pieces"] if piece["name"] == "guide-a1")
    assert guide["verdict"] == "use"


def cut_at(form: Path, error: float) -> None:
    """Fill in guide a1 as cut with its forward corner `error` degrees off, by calliper."""
    sizes = drawn_lengths(form, "guide-a1")
    up, far = sizes["A-D"], sizes["A-B"]
    near = up - sizes["C-D"]
    angle = math.radians(FORWARD + error)
    b, d = (far, 0.0), (up * math.cos(angle), up * math.sin(angle))
    c = (near * math.cos(angle), near * math.sin(angle))
    fill_in(
        form,
        "guide-a1",
        {
            "A-B": far,
            "A-D": up,
            "C-D": sizes["C-D"],
            "B-D": round(math.dist(b, d) / 0.05) * 0.05,
            "B-C": round(math.dist(b, c) / 0.05) * 0.05,
        },
    )


def test_each_edge_of_a_guide_has_its_drift_at_its_own_worst_hole(flap: Path, drawn: Path) -> None:
    """Told for the other edge's worst hole, an edge looks better than it is."""
    off = {"A-D": 0.0, "B-D": -0.4, "B-E": 0.0, "A-E": 0.6}
    readings = {
        name: size + off.get(name, 0.0)
        for name, size in drawn_lengths(drawn / FORM, "guide-a1").items()
    }
    fill_in(drawn / FORM, "guide-a1", readings)
    (piece,) = judged(flap, drawn)[1]["finished"]
    holes = {h["number"]: h for h in json.loads(said("angles", flap, "--json").out)["holes"]}
    for angle in piece["angles"]:
        key = f"guide_{angle['name']}_a"
        drifts = {
            n: h["thickness"] * math.tan(math.radians(angle["angle"] - h[key]))
            for n, h in holes.items()
            if h["drill_now"]
        }
        worst = max(drifts, key=lambda number: abs(drifts[number]))
        assert angle["hole"] == worst
        assert angle["drift"] == pytest.approx(drifts[worst], rel=1e-6)


def test_a_cut_guide_is_judged_with_its_drift_at_the_worst_hole(flap: Path, drawn: Path) -> None:
    """What counts is where the drill comes out, at the hole where it matters most."""
    cut_at(drawn / FORM, 0.4)
    status, found = judged(flap, drawn)
    (piece,) = found["finished"]
    forward = next(a for a in piece["angles"] if a["name"] == "forward")
    assert forward["angle"] == pytest.approx(FORWARD + 0.4, abs=forward["plus_minus"])
    holes = json.loads(said("angles", flap, "--json").out)["holes"]
    # The guide is cut for the middle of its holes: at each it is off by that too.
    drifts = {
        h["number"]: h["thickness"]
        * math.tan(math.radians(forward["angle"] - h["guide_forward_a"]))
        for h in holes
        if h["drill_now"]
    }
    worst = max(drifts, key=lambda number: abs(drifts[number]))
    assert piece["worst_hole"] == forward["hole"] == worst
    assert forward["drift"] == pytest.approx(drifts[worst])
    assert set(forward["residuals"]) == {"A-B", "A-D", "C-D", "B-D", "B-C"}
    # The page itself was not measured, and the aft corner of this piece was not either.
    assert (status, found["pieces"], piece["verdict"]) == (0, [], "use")
    assert piece["why"].startswith(
        "forward edge only; the aft edge was not measured: it takes B-E, A-E, A-F, E-F; "
    )
    assert {a["name"]: a["verdict"] for a in piece["angles"]} == {
        "forward": "use", "aft": "cannot tell",
    }  # fmt: skip
    text = " ".join(said("verify", flap, "--out", drawn).out.split())
    # Five readings fix the shape with one over; none is off by more than its step.
    assert "likeliest shape" not in text
    # An angle that nobody measured has no number that could be taken for a reading.
    assert re.search(
        r"guide-a1 USE forward 83\.48 83\.\d\d .* guide-a1 CANNOT TELL aft 96\.52 not measured",
        text,
    )


def test_a_cut_piece_settles_what_the_page_left_open(flap: Path, tmp_path: Path) -> None:
    """A calliper on the finished guide knows more than a rule on the paper it came from."""
    out = tmp_path / "one"
    said("make", flap, "--as", "pdf", "--only", "guide-a1", "--out", out)
    fill_in(out / FORM, "guide-a1", drawn_lengths(out / FORM, "guide-a1"))
    status, found = judged(flap, out, "--bar-x", "100")
    assert [piece["verdict"] for piece in found["pieces"]] == ["cannot tell"]
    assert [piece["verdict"] for piece in found["finished"]] == ["use"]
    assert (status, found["verdict"]) == (0, "use")


def hole_text(x: float, piece: str = "guide-a1") -> str:
    return (
        f'\n[[test_hole]]\npiece = "{piece}"\nstep = 0.02\nthickness = 25.0\n'
        f"entry = [20.0, 15.0]\nexit = [{x}, 15.0]\n"
    )


def test_a_test_hole_leans_toward_the_trailing_edge_as_the_guide_has_it(
    flap: Path, drawn: Path
) -> None:
    """A guide of 83.5 deg on flat scrap drills 6.5 deg off square, and that is right."""
    form = drawn / FORM
    blank = form.read_text("utf-8")
    lean = 25.0 * math.tan(math.radians(90.0 - FORWARD))
    form.write_text(blank + hole_text(round(20.0 - lean, 2)), "utf-8")
    status, found = judged(flap, drawn)
    assert (status, found["verdict"]) == (0, "use")
    (hole,) = found["test_holes"]
    assert hole["tilt"][0] == pytest.approx(0.0, abs=hole["plus_minus"][0])
    form.write_text(blank + hole_text(round(20.0 + lean, 2)), "utf-8")
    status, found = judged(flap, drawn)
    assert (status, found["verdict"]) == (1, "do not use")
    assert "the wrong way round" in found["test_holes"][0]["why"]


def test_a_test_hole_of_an_unknown_piece_is_a_fault(flap: Path, drawn: Path) -> None:
    """A hole of no guide would be judged as if it should be square."""
    form = drawn / FORM
    form.write_text(form.read_text("utf-8") + hole_text(17.0, "guide-a7"), "utf-8")
    answer = said("verify", flap, "--out", drawn)
    assert answer.status == 2
    assert answer.err.startswith(f"{form}: test_hole[2].piece: test hole 2: ")
    assert 'nearest is "guide-a1"' in answer.err


@pytest.fixture
def coupon(flap: Path, tmp_path: Path) -> Path:
    """Return the folder of a kerf coupon."""
    out = tmp_path / "coupon"
    assert said("make", flap, "--only", "coupon", "--as", "svg", "--out", out).status == 0
    return out


def test_a_coupon_gives_kerf_and_sheet_for_the_job_file(flap: Path, coupon: Path) -> None:
    """Eight bars that lost one kerf each: the calliper's error is divided by eight."""
    form = coupon / FORM
    text = form.read_text("utf-8")
    assert "[[piece]]" not in text
    text = text.replace('fingers_x = ""', "fingers_x = 38.6").replace(
        'fingers_y = ""', "fingers_y = 38.6"
    )
    form.write_text(text.replace('slot = ""', 'slot = "2.9"'), "utf-8")
    status, found = judged(flap, coupon)
    kerf = (40.0 - 38.6) / 8
    assert (status, found["coupon"]["kerf"]) == (0, pytest.approx(kerf))
    assert found["coupon"]["plus_minus_kerf_x"] == pytest.approx(2 * 0.05 / math.sqrt(12) / 8)
    # The sheet enters the slot drawn 2.9 and not the one drawn 2.8; both are one kerf wider.
    assert found["coupon"]["sheet"] == pytest.approx(2.85 + kerf)
    answer = said("verify", flap, "--out", coupon)
    assert "[cut]\nkerf = 0.175" in answer.out
    assert "\nsheet = 3.025" in answer.out


@pytest.mark.parametrize(
    ("blank", "given", "words"),
    [
        ('slot = ""', "slot = 2.9", "measure a row of bars"),
        ('slot = ""', "fingers_y = 38.6\nslot = 2.5", "narrowest"),
    ],
)
def test_a_slot_that_says_nothing_is_a_fault(
    blank: str, given: str, words: str, flap: Path, coupon: Path
) -> None:
    """A wrong thickness goes into every slot that is cut after it."""
    form = coupon / FORM
    text = form.read_text("utf-8")
    if "fingers_y" in given:
        text = text.replace('fingers_y = ""', "")
    form.write_text(re.sub(f"{blank}[^\n]*", given, text, count=1), "utf-8")
    answer = said("verify", flap, "--out", coupon)
    assert answer.status == 2
    assert answer.err.startswith(f"{form}: coupon: ")
    assert words in answer.err


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [
        ("20.0", "20.0", "a cut 2.50 mm wide: were all 8 bars pushed together?"),
        ("1.52", "1.52", "were inches meant?"),
        ('"38.6 in"', "38.6", "were millimetres meant?"),
        ("41.0", "38.6", "is it the right row"),
        ("38.6", "33.9", "the other row says 0.17 mm: measure both again"),
        ("33.9", '""', "measure the other row too"),
    ],
)
def test_rows_that_cannot_be_meant_are_asked_about_and_give_no_lines(
    x: str, y: str, words: str, flap: Path, coupon: Path
) -> None:
    """A kerf of 2.5 mm, pasted into the job, spoils every piece that is cut after it."""
    form = coupon / FORM
    text = form.read_text("utf-8").replace('fingers_x = ""', f"fingers_x = {x}")
    form.write_text(text.replace('fingers_y = ""', f"fingers_y = {y}"), "utf-8")
    status, found = judged(flap, coupon)
    assert (status, found["verdict"], found["coupon"]) == (1, "cannot tell", None)
    (asked,) = found["finished"]
    assert words in asked["why"].replace("Is it", "is it").replace("The other", "the other")
    text = said("verify", flap, "--out", coupon).out
    assert "KERF FOUND" not in text
    assert "kerf =" not in text


def with_lines(job: Path, lines: str) -> None:
    """Paste lines into the part of a job that is about cutting, as the report says."""
    kept = re.sub(r"(?m)^(kerf|sheet) = .*$", "", job.read_text("utf-8"))
    assert kept.count("[cut]") == 1
    job.write_text(kept.replace("[cut]", f"[cut]\n{lines}"), "utf-8")


@pytest.mark.parametrize("lines", ["kerf = 0.175", "kerf = 0.175\nsheet = 3.025"])
def test_the_coupons_own_lines_do_not_make_it_stale(lines: str, flap: Path, coupon: Path) -> None:
    """Who pastes the kerf into the job and looks again was told to print new pages."""
    form = coupon / FORM
    form.write_text(form.read_text("utf-8").replace('fingers_x = ""', "fingers_x = 38.6"), "utf-8")
    before = said("verify", flap, "--out", coupon)
    assert before.status == 0
    with_lines(flap, lines)
    after = said("verify", flap, "--out", coupon)
    assert (after.status, after.out, after.err) == (0, before.out, "")


def test_a_new_kerf_makes_cut_pieces_stale(flap: Path, tmp_path: Path) -> None:
    """Their lines lie elsewhere with it: what was cut before is another piece."""
    out = tmp_path / "cut"
    said("make", flap, "--only", "foot,coupon", "--as", "svg", "--out", out)
    with_lines(flap, "kerf = 0.175")
    answer = said("verify", flap, "--out", out)
    assert answer.status == 2
    assert "it was changed since" in answer.err


def test_a_coupon_alone_has_no_page_and_nothing_to_print(flap: Path, tmp_path: Path) -> None:
    """It is only cut: a page of bars and guides beside it gets printed and measured for nothing."""
    out = tmp_path / "alone"
    answer = said("make", flap, "--only", "coupon", "--out", out)
    assert "print.pdf" not in files_in(out)
    assert answer.out.splitlines()[-1] == f"Open first: {out / 'cut-1.svg'}"
    text = " ".join(answer.out.split())
    for idle in ("rint at 100 %", "diagonals", "Shop checks", "Cut one piece first"):
        assert idle not in text
    assert "loose bars of each row" in text
    assert said("make", flap, "--only", "coupon", "--as", "pdf", "--out", out).status == 2


def test_blocks_alone_keep_the_page_that_says_how_they_are_stacked(
    flap: Path, tmp_path: Path
) -> None:
    """Layers without a word on their order are a puzzle; but none of them is printed to cut."""
    out = tmp_path / "blocks"
    answer = said("make", flap, "--only", "block", "--out", out)
    assert "print.pdf" in files_in(out)
    # A long path goes on a line of its own.
    assert " ".join(answer.out.split()).endswith(f"Open first: {out / 'print.pdf'}")
    assert "rint at 100 %" not in answer.out


def test_a_test_hole_without_its_piece_is_a_fault_that_lists_the_pieces(
    flap: Path, drawn: Path
) -> None:
    """Judged against a right angle, a perfect hole was thrown out and the guide blamed."""
    form = drawn / FORM
    form.write_text(form.read_text("utf-8") + hole_text(17.15, ""), "utf-8")
    answer = said("verify", flap, "--out", drawn)
    assert answer.status == 2
    assert "test_hole[2].piece: test hole 2: is blank" in answer.err
    assert "name what the hole was drilled with: guide-a1" in answer.err


def test_scrap_a_foot_thick_is_a_slip_of_the_unit(tmp_path: Path) -> None:
    """Millimetres typed bare in an inch form made a hole look 25 times surer: "drill the part"."""
    job, out = tmp_path / "aileron.toml", tmp_path / "inch"
    said("new", "tapered-inch", "--out", job)
    said("make", job, "--as", "pdf", "--only", "guide-1", "--out", out)
    form = out / FORM
    blank = form.read_text("utf-8")
    hole = (
        '\n[[test_hole]]\npiece = "guide-1"\nstep = 0.001\nthickness = {}\nentry = {}\nexit = {}\n'
    )
    for bad in (
        hole.format(12.7, [0.59, 0.59], [0.53, 0.59]),
        hole.format(12.7, [15.0, 15.0], [13.5, 15.0]),
        hole.format('"12.7 mm"', [15.0, 15.0], [13.5, 15.0]),
    ):
        form.write_text(blank + bad, "utf-8")
        status, found = judged(job, out)
        (one,) = found["test_holes"]
        assert (status, one["verdict"]) == (1, "cannot tell")
        assert "thickness" in one["why"]
        assert " mm" not in one["why"]
        text = said("verify", job, "--out", out).out
        assert "Drill the part" not in text
        assert "leans" not in text
    form.write_text(blank + hole.format('"30 mm"', [0.59, 0.59], [0.56, 0.59]), "utf-8")
    assert "very thick" not in judged(job, out)[1]["test_holes"][0]["why"]


def test_slips_of_writing_are_named_line_by_line(flap: Path, drawn: Path) -> None:
    """One a run, in the words of a TOML reader, is an evening's work."""
    form = drawn / FORM
    text = form.read_text("utf-8").replace("step = 0.5 ", "step = 0,5 ", 1)
    for written in ("99,5", "259 mm", "3 7/8"):
        text = text.replace('measured = ""', f"measured = {written}", 1)
    form.write_text(text, "utf-8")
    answer = said("verify", flap, "--out", drawn)
    assert answer.status == 2
    assert [
        line.partition(": line ")[2].partition(": ")[2] for line in answer.err.splitlines()
    ] == [
        "has a comma in a number; write a decimal point: 0.5",
        "has a comma in a number; write a decimal point: 99.5",
        'has a unit without quotes; write "259 mm"',
        'has a fraction without quotes; write it with its unit, "3 7/8 in"',
    ]


def test_every_comma_of_a_form_is_named_in_one_run(flap: Path, drawn: Path) -> None:
    """Whoever writes commas writes them on every line, and with a space now and then."""
    form = drawn / FORM
    text = form.read_text("utf-8")
    for written in ("99,5", "99, 5", "100 ,25", "259,5 mm"):
        text = text.replace('measured = ""', f"measured = {written}", 1)
    form.write_text(text, "utf-8")
    answer = said("verify", flap, "--out", drawn)
    assert answer.status == 2
    assert [line.rpartition("decimal point: ")[2] for line in answer.err.splitlines()] == [
        "99.5", "99.5", "100.25", '"259.5 mm", in quotes since it has a unit',
    ]  # fmt: skip


def test_commas_in_a_test_hole_are_called_commas(flap: Path, drawn: Path) -> None:
    """To the reader of TOML 20,5 and 15,0 are four numbers, and "a list of two" says nothing."""
    form = drawn / FORM
    hole = hole_text(17.0).replace("[20.0, 15.0]", "[20,5, 15,0]")
    form.write_text(form.read_text("utf-8") + hole, "utf-8")
    answer = said("verify", flap, "--out", drawn)
    assert answer.status == 2
    assert "has commas in its numbers" in answer.err
    assert "entry = [20.5, 15.0]" in answer.err


def words_of(pdf: Path) -> str:
    """Return the text of a PDF by a reader of another house."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        assert len(document) == 1
        return document[0].get_textpage().get_text_bounded()
    finally:
        document.close()


def test_the_record_is_one_page_with_readings_verdict_and_a_place_to_sign(
    flap: Path, drawn: Path, tmp_path: Path
) -> None:
    """It goes into the builder's log, where somebody asks for it years later."""
    form = drawn / FORM
    text = form.read_text("utf-8").replace('date = ""', "date = 2026-03-01")
    form.write_text(text.replace('by = ""', 'by = "K. L."'), "utf-8")
    measure_page(form)
    cut_at(form, 0.0)
    record = tmp_path / "record.pdf"
    answer = said("verify", flap, "--out", drawn, "--record", record)
    assert answer.err == ""
    page = words_of(record)
    for words in ("Record of measurement", "Flap edge, left", "2026-03-01", "K. L.", "CANNOT TELL",
                  "bar-x", "diagonal-2", "guide-a1", "signed by", "inspector"):  # fmt: skip
        assert words in page


def test_a_record_without_a_date_bears_the_day_of_the_verdict(
    flap: Path, drawn: Path, tmp_path: Path
) -> None:
    """An undated record is no record."""
    record = tmp_path / "record.pdf"
    said("verify", flap, "--out", drawn, "--bar-x", "100", "--record", record)
    assert re.search(r"Judged on \d{4}-\d\d-\d\d", words_of(record))


def test_a_long_record_still_is_one_page(flap: Path, tmp_path: Path) -> None:
    """A second sheet gets lost; what does not fit is counted."""
    out = tmp_path / "all"
    said("make", flap, "--as", "pdf,svg", "--out", out)
    form = out / FORM
    text = re.sub(
        r'nominal = "([\d.]+) mm", measured = ""', r'nominal = "\1 mm", measured = \1',
        form.read_text("utf-8"),
    )  # fmt: skip
    form.write_text(text, "utf-8")
    record = tmp_path / "record.pdf"
    answer = said("verify", flap, "--out", out, "--record", record)
    assert answer.err == ""
    page = words_of(record)
    assert re.search(r"and \d+ more", page)
    assert "signed by" in page


def test_a_record_never_replaces_a_file(flap: Path, drawn: Path, tmp_path: Path) -> None:
    """It may be the signed one."""
    record = tmp_path / "record.pdf"
    record.write_bytes(b"signed")
    before = files_in(drawn)
    answer = said(
        "verify", flap, "--out", drawn, "--bar-x", "98", "--bar-y", "100",
        "--record", record, "--reprint",
    )  # fmt: skip
    assert answer.status == 2
    assert str(record) in answer.err
    assert record.read_bytes() == b"signed"
    assert files_in(drawn) == before
