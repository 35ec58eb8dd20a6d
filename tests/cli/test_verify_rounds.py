"""Print, measure, print again: pages that differ, prints that need nothing, readings used twice."""

import json
import math
import re
from pathlib import Path

import pypdfium2
import pytest
from commandline import PROJECT, said

from jiggen.readings.names import FORM

#: Both diagonals of a page as drawn, mm.
DIAGONAL = 260.215


@pytest.fixture
def drawn(flap: Path, tmp_path: Path) -> Path:
    """Return the folder of its printed pages and cut files."""
    out = tmp_path / "out"
    assert said("make", flap, "--as", "pdf,svg", "--out", out).status == 0
    return out


@pytest.fixture
def inches(tmp_path: Path) -> tuple[Path, Path]:
    """Return a job in inches and the folder of its pages."""
    job, out = PROJECT / "templates" / "tapered-inch.toml", tmp_path / "inch"
    assert said("make", job, "--as", "pdf", "--out", out).status == 0
    return job, out


def flat(text: str) -> str:
    """Return a report on one line."""
    return " ".join(text.split())


def told(*words: object) -> str:
    """Return a report on one line, of a run that has nothing to complain about."""
    answer = said("verify", *words)
    assert answer.err == ""
    return flat(answer.out)


def typed(x: float, y: float, diagonal: float, step: float = 0.5) -> tuple[str, ...]:
    """Return four readings as options, mm."""
    return (
        *("--bar-x", f"{x}", "--bar-y", f"{y}", "--step", f"{step}"),
        *("--diagonal-1", f"{diagonal}", "--diagonal-2", f"{diagonal}"),
    )


def pages_of(folder: Path) -> list[str]:
    """Return the names of the pages with pieces on them."""
    rows = json.loads((folder / "manifest.json").read_text("utf-8"))["files"]
    sheets = next(row["sheets"] for row in rows if row["format"] == "pdf")
    return [sheet["sheet"] for sheet in sheets if sheet["pieces"]]


def form_of(folder: Path, scales: dict[str, float], top: str = "") -> None:
    """Write readings of some pages, each of one scale all over."""
    parts = ['format = 1\nunits = "mm"\nstep = 0.5\n', top]
    for page, scale in scales.items():
        parts.append(
            f'[[sheet]]\nname = "{page}"\nlengths = [\n'
            + "".join(
                f'  {{ name = "{name}", measured = {mm * scale:.1f} }},\n'
                for name, mm in (
                    *(("bar-x", 100.0), ("bar-y", 100.0)),
                    *(("diagonal-1", DIAGONAL), ("diagonal-2", DIAGONAL)),
                )
            )
            + "]\n"
        )
    (folder / FORM).write_text("".join(parts), "utf-8")


@pytest.mark.parametrize("small", [0.94, 0.985])
def test_pages_that_came_out_unlike_are_not_corrected_together(
    small: float, flap: Path, drawn: Path
) -> None:
    """One correction for both spoils the good page, and does not cure the bad one."""
    good, bad = pages_of(drawn)
    form_of(drawn, {good: 1.0, bad: small})
    before = (drawn / "print.pdf").read_bytes()
    answer = said("verify", flap, "--out", drawn, "--reprint", "--json")
    found = json.loads(answer.out)
    assert (answer.status, found["pages_apart"], found["scale_x"]) == (1, [good, bad], None)
    assert f"{good} and {bad} came out unlike one another" in found["not_reprinted"]
    assert (drawn / "print.pdf").read_bytes() == before
    # Each page by itself, as it came out.
    words = {piece["sheet"]: piece["verdict"] for piece in found["pieces"]}
    assert words == {good: "use", bad: "do not use"}
    report = told(flap, "--out", drawn)
    shares = dict(re.findall(r"(Page \d+) came out ([\d.]+)% along x", report))
    assert float(shares[good.capitalize()]) == pytest.approx(100.0, abs=0.05)
    assert float(shares[bad.capitalize()]) == pytest.approx(100.0 * small, abs=0.05)
    advice = report.split(" Next ", 1)[1]
    assert f"Print {bad} again at 100 %" in advice
    assert "scale_x" not in advice


def test_a_print_that_is_true_is_not_corrected(flap: Path, drawn: Path) -> None:
    """A correction smaller than its own doubt replaces a good print by a guess."""
    readings = typed(100.0, 100.0, 260.0)
    before = (drawn / "print.pdf").read_bytes()
    answer = said("verify", flap, "--out", drawn, *readings, "--reprint")
    assert (answer.status, answer.err) == (0, "")
    assert (drawn / "print.pdf").read_bytes() == before
    advice = flat(answer.out).split(" Next ", 1)[1]
    assert "Nothing to correct: the print is off by no more than" in advice
    assert "Cut on the hairline" in advice
    assert "throw the old page away" not in advice
    found = json.loads(said("verify", flap, "--out", drawn, *readings, "--reprint", "--json").out)
    assert (found["written"], found["not_reprinted"][:9]) == ([], "the print")


def test_where_a_page_is_printed_again_nobody_is_sent_to_cut_the_old_one(
    flap: Path, tmp_path: Path
) -> None:
    """Cutting on the hairline and throwing the old page away cannot both be done."""
    out = tmp_path / "guides"
    assert said("make", flap, "--as", "pdf", "--only", "guide", "--out", out).status == 0
    report = told(flap, "--out", out, *typed(98.5, 98.5, 256.5), "--reprint")
    assert " USE " in report
    assert "throw the old page away" in report
    assert "hairline" not in report


def test_readings_that_corrected_a_print_do_not_count_for_the_new_one(
    flap: Path, drawn: Path, tmp_path: Path
) -> None:
    """Corrected twice by one set of readings, the next print is off as far the other way."""
    readings = typed(98.5, 101.0, 259.5)
    first = json.loads(said("verify", flap, "--out", drawn, *readings, "--reprint", "--json").out)
    assert first["readings_spent"] is False
    page = pages_of(drawn)[-1].removeprefix("page ")
    record = tmp_path / "record.pdf"
    for more in ((), ("--page", page), ("--record", record)):
        answer = said("verify", flap, "--out", drawn, *readings, *more)
        assert answer.err == ""
        head, _, rest = flat(answer.out).partition("====")
        assert "These very readings corrected the print.pdf that lies there now" in head
        assert "scale_x" not in rest
        assert "Print the page that lies there now at 100 %" in rest
    assert "These very readings corrected" in flat(text_of(record))
    again = json.loads(said("verify", flap, "--out", drawn, *readings, "--json").out)
    assert again["readings_spent"] is True
    assert again["reprint"] == pytest.approx(first["reprint"])
    new = typed(100.0, 100.0, 260.0)
    assert "These very readings" not in told(flap, "--out", drawn, *new)


def text_of(pdf: Path) -> str:
    """Return the text of a record, by a reader of another house."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return document[0].get_textpage().get_text_bounded()
    finally:
        document.close()


def test_a_page_at_97_per_cent_is_asked_whether_it_was_fitted(flap: Path, drawn: Path) -> None:
    """A correction made for "Fit" runs wild as soon as somebody prints at 100 %."""
    report = told(flap, "--out", drawn, *typed(97.0, 97.0, 252.5))
    assert "most likely scaled to fit its paper" in report
    assert "If it was printed at 100 %: the same command with --reprint" in report
    little = told(flap, "--out", drawn, *typed(98.5, 98.5, 256.5))
    assert "scaled to fit" not in little


def test_a_reprint_after_one_page_says_that_the_others_are_corrected_too(
    flap: Path, drawn: Path
) -> None:
    """The whole print.pdf is new; who prints only the page that he measured mixes two prints."""
    first, other = (page.removeprefix("page ") for page in pages_of(drawn))
    report = told(flap, "--out", drawn, *typed(98.5, 101.0, 259.5), "--page", first, "--reprint")
    assert f"Nothing was measured on page {other}, which is corrected like the rest" in report


def test_the_headline_names_the_page_when_one_was_measured(flap: Path, drawn: Path) -> None:
    """A share in the log, and no page that it is of."""
    first, other = pages_of(drawn)
    form_of(drawn, {other: 0.995})
    report = told(flap, "--out", drawn)
    assert f"{other.capitalize()} came out 99.5" in report
    assert f"On {first} nothing was measured: measure the 100 mm bar along x" in report


def test_an_axis_that_nobody_measured_has_no_number_in_the_headline(
    flap: Path, drawn: Path
) -> None:
    """A scale along y that was only assumed reads as if somebody had read it."""
    report = told(flap, "--out", drawn, "--bar-x", "98")
    assert "98.00% along x (give or take 0.29%); along y nobody measured" in report
    assert "% along y" not in report


def test_an_open_verdict_says_next_what_to_measure(flap: Path, drawn: Path) -> None:
    """A bank card alone tells nobody which length is missing."""
    advice = told(flap, "--out", drawn, "--bar-x", "100").split(" Next ", 1)[1]
    assert "to decide, measure the 100 mm bar along y too, with the same rule" in advice


def test_a_form_of_another_job_is_refused(flap: Path, drawn: Path) -> None:
    """Two flaps have a guide-a1 each; the readings of one must not pass the other."""
    form_of(drawn, {pages_of(drawn)[0]: 1.0}, top='job = "Other"\n')
    answer = said("verify", flap, "--out", drawn)
    assert (answer.status, answer.out) == (2, "")
    assert answer.err.startswith(f"{drawn / FORM}: job: is not the job of these drawings")
    assert '"Flap edge, left", given "Other"' in answer.err or "given Other" in answer.err
    named = said("verify", flap, "--out", drawn, "--readings", drawn / FORM)
    assert named.err == answer.err
    form_of(drawn, {pages_of(drawn)[0]: 1.0}, top='job = "Flap edge, left"\n')
    assert said("verify", flap, "--out", drawn).err == ""


def test_a_script_sees_that_no_drawings_lay_there(flap: Path, drawn: Path, tmp_path: Path) -> None:
    """It sees "use" and prints on; by this key it can stop."""
    for folder, there in ((drawn, True), (tmp_path / "none", False), (flap, False)):
        answer = said("verify", flap, "--out", folder, *typed(100.0, 100.0, 260.0), "--json")
        assert json.loads(answer.out)["drawings_found"] is there


def test_without_a_page_the_way_to_one_is_said(flap: Path, tmp_path: Path) -> None:
    """Filling in the form prints no page."""
    out = tmp_path / "beds"
    assert said("make", flap, "--as", "svg", "--out", out).status == 0
    assert "--as pdf" in said("verify", flap, "--out", out, "--bar-x", "98").err
    report = told(flap, "--out", out, "--reprint")
    assert "No reprint was written: there is no printed page among the drawings" in report
    assert "--as pdf" in report


def test_a_record_in_a_folder_that_is_not_there_names_its_own_option(
    flap: Path, drawn: Path, tmp_path: Path
) -> None:
    """Told to choose another --out, the user looks in the wrong folder."""
    record = tmp_path / "nodir" / "record.pdf"
    answer = said("verify", flap, "--out", drawn, "--bar-x", "100", "--record", record)
    assert answer.status == 2
    assert f"the folder {record.parent} is not there; make it first" in answer.err
    assert "--record" in answer.err
    assert "--out" not in answer.err


def test_the_printer_is_found_from_inch_bars_whatever_it_does_to_each_axis(
    inches: tuple[Path, Path],
) -> None:
    """A short x and a long y: taking x for the other bar blames the good reading, round and round.

    4 in bars of a printer of 98.5 % x 101.2 %, 0.30 deg out of square, as a calliper and as a rule
    in 64ths read them: derived.
    """
    job, drawn = inches
    bars = ("--bar-x", "3.94", "--bar-y", "4.048")
    for step in ("0.005", "1/64 in"):
        answer = said(
            "verify", job, "--out", drawn, *bars, "--step", step, "--json",
            "--diagonal-1", "10.536", "--diagonal-2", "10.481",
        )  # fmt: skip
        found = json.loads(answer.out)
        assert found["questions"] == []
        assert found["scale_x"] == pytest.approx(0.985, abs=0.002)
        assert found["scale_y"] == pytest.approx(1.012, abs=0.002)
        assert found["skew"] == pytest.approx(0.30, abs=0.05)


@pytest.mark.parametrize("length", ["101.6", "101.6 mm", "101.58"])
def test_two_bars_of_101_6_mm_may_be_either_and_are_asked_about(
    length: str, flap: Path, drawn: Path
) -> None:
    """USE for a page that is 1.6 % large, because its bar happened to read like the one beside."""
    answer = said("verify", flap, "--out", drawn, "--bar-x", length, "--bar-y", length)
    assert (answer.status, len(answer.faults)) == (2, 2)
    assert "may be the 4 in bar, or the 100 mm bar printed 1.6 % long" in answer.err
    for scale, names in ((1.0, ["bar-x-in", "bar-y-in"]), (1.016, ["bar-x", "bar-y"])):
        across = f"{DIAGONAL * scale:.2f}"
        found = json.loads(
            said(
                "verify", flap, "--out", drawn, "--bar-x", length, "--bar-y", length,
                "--diagonal-1", across, "--diagonal-2", across, "--json",
            ).out
        )  # fmt: skip
        read = [row["name"] for row in found["readings"] if row["name"].startswith("bar")]
        assert read == names
        assert found["scale_x"] == pytest.approx(scale, abs=0.002)


def test_no_verdict_in_an_inch_job_speaks_of_millimetres(
    inches: tuple[Path, Path], tmp_path: Path
) -> None:
    """Whoever has an inch rule in his hand works out every reason for himself, or gives up."""
    job, drawn = inches
    name = said("angles", job, "--json").out
    assert json.loads(name)["job"]
    record = tmp_path / "record.pdf"
    good = ("--bar-x", "4.0", "--bar-y", "4.0")
    for more in (
        (),
        (*good, "--step", "0.02"),
        ("--bar-x", "3.94", "--bar-y", "4.048", "--diagonal-1", "10.536", "--diagonal-2", "10.481"),
        (*good, "--diagonal-1", "10.0"),
        (*good, "--diagonal-1", "9.3"),
        ("--bar-x", "3.95 in", "--bar-y", "4.05", "--diagonal-1", "10.52", "--diagonal-2", "10.52"),
    ):
        answer = said("verify", job, "--out", drawn, *more)
        assert not re.search(r"\d ?mm\b", re.sub(r"100 mm bar", "", flat(answer.out + answer.err)))
    said("verify", job, "--out", drawn, *good, "--step", "0.02", "--record", record)
    assert not re.search(r"\d ?mm\b", re.sub(r"100 mm bar", "", flat(text_of(record))))


def cut_guide(drawn: Path, changes: dict[str, float], name: str = "guide-a1") -> None:
    """Write the readings of a cut piece, true but for some lengths."""
    rows = json.loads((drawn / "manifest.json").read_text("utf-8"))["files"]
    piece = next(p for r in rows for s in r["sheets"] for p in s["pieces"] if p["name"] == name)
    lengths = "".join(
        f'  {{ name = "{d["name"]}", measured = {mm:.3f} }},\n'
        for d in piece["dimensions"]
        if not d["bar"] and (mm := d["nominal"] + changes.get(d["name"], 0.0))
    )
    (drawn / FORM).write_text(
        f'format = 1\nunits = "mm"\nstep = 0.02\n[[piece]]\nname = "{name}"\nlengths = [\n'
        f"{lengths}]\n",
        "utf-8",
    )


def test_a_guide_with_one_bad_edge_is_not_thrown_away(flap: Path, drawn: Path) -> None:
    """Its other edge is as true as ever; but nobody must reach for the bad one."""
    # 1.5 mm over the diagonals of the aft edge, about 1.5 deg: derived.
    cut_guide(drawn, {"A-E": 1.5, "A-F": 1.5 * 0.1})
    report = told(flap, "--out", drawn)
    assert " DO NOT USE " in report
    advice = report.split(" Next ", 1)[1]
    assert "guide-a1: cross out the aft edge and use the forward edge only" in advice


def test_a_wrap_that_is_off_is_printed_again(flap: Path, drawn: Path) -> None:
    """No sheet is cut for a wrap, and none of its edges is used alone."""
    cut_guide(drawn, {"all four": -1.0}, "wrap-a1")
    report = told(flap, "--out", drawn)
    assert "Print wrap-a1 again, cut again and measure anew" in report
    assert "edge by itself is good" not in report
    assert "sheet that is good" not in report


def test_the_record_stamps_no_edge_that_nobody_measured(
    flap: Path, drawn: Path, tmp_path: Path
) -> None:
    """A signed "use" beside an angle that is worked out from nothing."""
    cut_guide(drawn, {})
    text = (drawn / FORM).read_text("utf-8")
    for name in ("B-E", "A-E", "A-F", "E-F"):
        text = re.sub(rf'  {{ name = "{name}".*\n', "", text)
    (drawn / FORM).write_text(text, "utf-8")
    record = tmp_path / "record.pdf"
    report = told(flap, "--out", drawn, "--record", record)
    assert re.search(r"guide-a1 CANNOT TELL aft [\d.]+ not measured", report)
    page = flat(text_of(record))
    assert re.search(r"guide-a1 aft [\d.]+ deg not measured cannot tell", page)
    assert re.search(r"guide-a1 forward [\d.]+ deg [\d.]+ deg .* use", page)


def test_a_hole_that_leans_aft_is_said_to(flap: Path, drawn: Path) -> None:
    """A minus sign before "forward" is read past, and the guide moved the wrong way."""
    rows = json.loads((drawn / "manifest.json").read_text("utf-8"))["files"]
    piece = next(p for s in rows[-2]["sheets"] for p in s["pieces"] if p["name"] == "guide-a1")
    lean = 90.0 - next(a["nominal"] for a in piece["angles"] if a["name"] == "forward")
    for off, way in ((3.0, "aft"), (-3.0, "forward")):
        out = 30.0 - 20.0 * math.tan(math.radians(lean + off))
        (drawn / FORM).write_text(
            'format = 1\nunits = "mm"\nstep = 0.02\n[[test_hole]]\npiece = "guide-a1"\n'
            f"thickness = 20.0\nentry = [30.0, 25.0]\nexit = [{out:.3f}, 25.0]\n",
            "utf-8",
        )
        report = told(flap, "--out", drawn)
        assert re.search(rf"leans [23]\.\d\d deg {way} and 0\.00 deg along the edge", report)
        assert re.search(rf"the exit would be off by [\d.]+ mm {way} and", report)
        assert "-" not in report.split("leans")[1].split("give or take")[0]


def test_a_hole_drilled_the_wrong_way_round_ends_in_one_mark(flap: Path, drawn: Path) -> None:
    """A question mark before a full stop looks as if a word were missing."""
    rows = json.loads((drawn / "manifest.json").read_text("utf-8"))["files"]
    piece = next(p for s in rows[-2]["sheets"] for p in s["pieces"] if p["name"] == "guide-a1")
    lean = 90.0 - next(a["nominal"] for a in piece["angles"] if a["name"] == "forward")
    out = 30.0 + 20.0 * math.tan(math.radians(lean))
    (drawn / FORM).write_text(
        'format = 1\nunits = "mm"\nstep = 0.02\n[[test_hole]]\npiece = "guide-a1"\n'
        f"thickness = 20.0\nentry = [30.0, 25.0]\nexit = [{out:.3f}, 25.0]\n",
        "utf-8",
    )
    report = told(flap, "--out", drawn)
    assert "the wrong way round?" in report
    assert "?." not in report
    assert "?;" not in report
