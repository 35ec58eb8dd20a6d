"""What ``verify`` says to do next: for paper, for a machine, for what was cut and drilled."""

import json
import math
import re
from pathlib import Path

import pypdfium2
import pytest
from commandline import FLAP, said

from jiggen.readings.names import FORM

#: Of a page of the job's: both bars and diagonals, as drawn (mm).
DIAGONAL = 260.215


@pytest.fixture
def drawn(flap: Path, tmp_path: Path) -> Path:
    """Return the folder of its drawings: a page, a bed and single pieces."""
    out = tmp_path / "out"
    assert said("make", flap, "--as", "pdf,svg", "--out", out).status == 0
    return out


def typed(scale_x: float, scale_y: float, diagonal: float) -> tuple[str, ...]:
    """Return four readings as options, by the share of their drawn lengths."""
    return (
        *("--bar-x", f"{100 * scale_x:.2f}", "--bar-y", f"{100 * scale_y:.2f}"),
        *("--diagonal-1", f"{DIAGONAL * diagonal:.2f}"),
        *("--diagonal-2", f"{DIAGONAL * diagonal:.2f}", "--step", "0.1"),
    )


def words_of(*words: object) -> str:
    """Return a report on one line."""
    answer = said("verify", *words)
    assert answer.err == ""
    return " ".join(answer.out.split())


def next_of(report: str) -> str:
    """Return what a report says to do next."""
    return report.split(" Next ", 1)[1]


def write_readings(folder: Path, text: str) -> None:
    """Put readings into the form, with nothing else in it."""
    (folder / FORM).write_text(f'format = 1\nunits = "mm"\nstep = 0.02\n{text}', "utf-8")


def on_bed(x: float, y: float) -> str:
    """Return readings of the bars of guide-a1 on the bed."""
    return (
        '[[sheet]]\nname = "cut-1"\nlengths = [\n'
        f'  {{ name = "guide-a1/bar-x-50-mm", measured = {x} }},\n'
        f'  {{ name = "guide-a1/bar-y-50-mm", measured = {y} }},\n]\n'
    )


def true_piece(drawn: Path, name: str) -> str:
    """Return readings of a cut piece that came out as drawn."""
    rows = json.loads((drawn / "manifest.json").read_text("utf-8"))["files"]
    piece = next(p for r in rows for s in r["sheets"] for p in s["pieces"] if p["name"] == name)
    lengths = "".join(
        f'  {{ name = "{d["name"]}", measured = {d["nominal"]:.3f} }},\n'
        for d in piece["dimensions"]
        if not d["bar"]
    )
    return f'[[piece]]\nname = "{name}"\nlengths = [\n{lengths}]\n'


def true_hole(drawn: Path, name: str) -> str:
    """Return readings of a test hole that leans as the guide makes it lean."""
    rows = json.loads((drawn / "manifest.json").read_text("utf-8"))["files"]
    piece = next(p for r in rows for s in r["sheets"] for p in s["pieces"] if p["name"] == name)
    forward = next(a["nominal"] for a in piece["angles"] if a["name"] == "forward")
    off = 20.0 * math.tan(math.radians(90.0 - forward))
    return (
        f'[[test_hole]]\npiece = "{name}"\nthickness = 20.0\n'
        f"entry = [30.0, 25.0]\nexit = [{30.0 - off:.3f}, 25.0]\n"
    )


def test_a_bed_that_came_out_wrong_gets_a_machines_advice(flap: Path, drawn: Path) -> None:
    """Whoever cut a bed with a laser has no page to print again and no D1 to measure."""
    write_readings(drawn, on_bed(49.25, 50.6))
    report = words_of(flap, "--out", drawn)
    advice = next_of(report)
    # 50 mm drawn, 49.25 and 50.6 cut: derived.
    assert "along x times 1.0152" in advice
    assert "along y times 0.9881" in advice
    assert "steps per mm" in advice
    assert "millimetres" in advice
    assert "kerf" in advice
    assert re.search(r"print|D1|diagonal|100 mm bar|paper", advice) is None


def test_an_axis_of_the_machine_that_is_true_is_left_alone(flap: Path, drawn: Path) -> None:
    """A correction of nothing but the calliper's own doubt would spoil a true axis."""
    write_readings(drawn, on_bed(49.25, 50.01))
    advice = next_of(words_of(flap, "--out", drawn))
    assert "along x times 1.0152" in advice
    assert "along y" not in advice


def test_a_bed_that_is_all_one_scale_off_is_not_sent_to_a_print_dialog(
    flap: Path, drawn: Path
) -> None:
    """A bed at 80 % was imported wrong; no setting of a printer mends that."""
    write_readings(drawn, on_bed(40.0, 40.0))
    report = words_of(flap, "--out", drawn)
    assert "import it in millimetres" in report
    assert "print it again" not in report


def test_drawings_without_a_page_ask_for_the_bars_of_a_cut_piece(
    flap: Path, tmp_path: Path
) -> None:
    """Someone with a router and no printer is asked for what he can measure."""
    out = tmp_path / "beds"
    assert said("make", flap, "--as", "dxf", "--out", out).status == 0
    advice = next_of(words_of(flap, "--out", out))
    assert "engraved bars" in advice
    assert "D1" not in advice


def test_a_page_and_a_bed_each_get_their_own_advice(flap: Path, drawn: Path) -> None:
    """The printer's error is none of the laser's, and the other way about."""
    write_readings(drawn, on_bed(49.25, 49.25))
    advice = next_of(words_of(flap, "--out", drawn, *typed(0.985, 0.985, 0.985)))
    assert "scale_x = 0.98" in advice
    assert "cut-1 came out 98.50% along x and 98.50% along y" in advice


def test_after_a_reprint_the_new_page_is_measured_not_printed_once_more(
    flap: Path, drawn: Path
) -> None:
    """The same command again corrects twice, or measures a page that is in the bin."""
    readings = typed(0.985, 1.005, 0.99712)
    before = next_of(words_of(flap, "--out", drawn, *readings))
    assert "the same command with --reprint" in before
    after = next_of(words_of(flap, "--out", drawn, *readings, "--reprint"))
    assert "the same command with --reprint" not in after
    assert f"Print the new {drawn / 'print.pdf'} at 100 %" in after
    assert "Measure the NEW page" in after
    assert "D1 to D1" in after
    assert "with the new readings" in after


def test_a_reprint_that_cannot_be_written_does_not_offer_its_lines(flap: Path, drawn: Path) -> None:
    """Lines that run off the paper spoil the next page as surely as the reprint would have."""
    report = words_of(flap, "--out", drawn, *typed(0.9, 0.9, 0.9), "--reprint")
    assert "DO NOT USE" in report
    assert "spares the angle guides" in report
    advice = next_of(report)
    assert "No reprint was written: the corrected page would run off the paper" in advice
    assert "scale_x = " not in advice


def test_good_guides_without_the_reprint_that_was_asked_for_do_not_end_with_0(
    flap: Path, tmp_path: Path
) -> None:
    """A script that goes on to print would print the old page."""
    out = tmp_path / "guides"
    assert said("make", flap, "--as", "pdf", "--only", "guide", "--out", out).status == 0
    small = typed(0.9, 0.9, 0.9)
    assert said("verify", flap, "--out", out, *small).status == 0
    answer = said("verify", flap, "--out", out, *small, "--reprint", "--json")
    found = json.loads(answer.out)
    assert (answer.status, found["verdict"]) == (1, "use")
    assert "run off the paper" in found["not_reprinted"]


def test_make_says_that_it_dropped_the_correction_of_a_reprint(flap: Path, drawn: Path) -> None:
    """A page printed a week later would be as wrong as the first, and nobody would measure it."""
    said("verify", flap, "--out", drawn, *typed(0.985, 1.005, 0.99712), "--reprint")
    closing = said("make", flap, "--as", "pdf,svg", "--out", drawn).out
    words = " ".join(closing.split())
    assert "The print is no longer corrected" in words
    assert "now print.pdf is uncorrected again" in words
    lines = closing[closing.index("[print]") :].split("\n")[:4]
    flap.write_text(FLAP + "\n".join(lines) + "\n", "utf-8")
    kept = said("make", flap, "--as", "pdf,svg", "--out", drawn)
    assert "no longer corrected" not in kept.out
    rows = json.loads((drawn / "manifest.json").read_text("utf-8"))["files"]
    turned = next(r for r in rows if r["format"] == "pdf")["correction"]
    assert turned[0] == pytest.approx(1 / float(lines[1].split("=")[1]), abs=2e-6)
    assert turned[0] > 1.01


def test_make_with_the_reprints_own_lines_in_the_job_says_nothing_was_lost(
    flap: Path, drawn: Path
) -> None:
    """A warning that comes without cause is soon read past."""
    answer = said("verify", flap, "--out", drawn, *typed(0.985, 1.005, 0.99712), "--reprint")
    lines = answer.out[answer.out.index("[print]") :].split("\n")[:4]
    flap.write_text(FLAP + "\n".join(lines) + "\n", "utf-8")
    assert "no longer corrected" not in said("make", flap, "--out", drawn).out


def test_make_without_a_page_says_that_the_reprint_is_gone(flap: Path, drawn: Path) -> None:
    """The corrected page goes from the folder with its numbers."""
    said("verify", flap, "--out", drawn, *typed(0.985, 1.005, 0.99712), "--reprint")
    words = " ".join(said("make", flap, "--as", "svg", "--out", drawn).out.split())
    assert "print.pdf is gone from the folder" in words
    assert "scale_x = 0.98" in words


def test_without_drawings_it_says_so_before_the_verdict(flap: Path, tmp_path: Path) -> None:
    """USE for a page of last week's job, by a folder's name typed wrong, is a false USE."""
    folder = tmp_path / "elsewhere"
    answer = said("verify", flap, "--out", folder, *typed(1.0, 1.0, 1.0))
    assert answer.status == 0
    before, _, after = answer.out.partition("====")
    assert f"There are no drawings in {folder}" in " ".join(before.split())
    assert "--out DIR" in " ".join(before.split())
    banner = after.strip("= \n").splitlines()[:2]
    assert [line.strip() for line in banner] == ["USE", "for the job as it is now"]
    assert "no drawings" not in after


def test_with_drawings_the_verdict_stands_first(flap: Path, drawn: Path) -> None:
    """The notice is for the wrong folder alone; with gloves on nobody reads past a paragraph."""
    answer = said("verify", flap, "--out", drawn, *typed(1.0, 1.0, 1.0))
    assert answer.out.split("\n")[1:4] == ["=" * 20, "  USE", "=" * 20]


def test_after_a_good_page_the_piece_is_cut(flap: Path, drawn: Path) -> None:
    """The page is good; what comes off the knife is not known yet."""
    advice = next_of(words_of(flap, "--out", drawn, *typed(1.0, 1.0, 1.0)))
    assert advice.startswith("Cut on the hairline")


def test_after_a_good_bed_nobody_is_sent_to_a_hairline(flap: Path, drawn: Path) -> None:
    """A laser leaves no grey band; its piece is measured before the rest is cut."""
    write_readings(drawn, on_bed(50.0, 50.0))
    report = words_of(flap, "--out", drawn)
    assert " USE " in report
    assert next_of(report).startswith("The machine cuts to size. Measure one cut piece")


def test_after_a_good_piece_a_test_hole_is_due_with_that_piece(flap: Path, drawn: Path) -> None:
    """A true guide stood the wrong way round shows in scrap, not in the part."""
    write_readings(drawn, true_piece(drawn, "guide-a1"))
    advice = next_of(words_of(flap, "--out", drawn))
    assert advice.startswith("Drill a test hole in scrap with guide-a1 first.")
    assert "hairline" not in advice


def test_after_one_good_layer_nobody_is_sent_to_drill_with_it(flap: Path, drawn: Path) -> None:
    """Half a channel leads no drill: the block is glued up before it is tried in scrap."""
    layers = ("block-a1-channel-aft", "block-a1-solid")
    write_readings(drawn, "".join(true_piece(drawn, name) for name in layers))
    advice = next_of(words_of(flap, "--out", drawn))
    assert "When every part of block-a1 is measured and good, glue it up." in advice
    assert "Drill a test hole in scrap with block-a1 first." in advice
    assert not any(name in advice for name in layers)


def test_after_a_good_foot_alone_the_guides_are_measured(flap: Path, drawn: Path) -> None:
    """No hole goes through a foot; "drill a test hole" leaves its reader asking with what."""
    write_readings(drawn, true_piece(drawn, "foot"))
    advice = next_of(words_of(flap, "--out", drawn))
    assert advice.startswith("No drill is led by what was measured: measure the guides or blocks")
    assert "Drill a test hole in scrap with those first." in advice


def test_after_a_good_test_hole_the_part_is_drilled(flap: Path, drawn: Path) -> None:
    """Told to cut what was cut and tried, a user begins again or stops believing."""
    write_readings(drawn, true_hole(drawn, "guide-a1"))
    report = words_of(flap, "--out", drawn)
    assert " USE " in report
    advice = next_of(report)
    assert advice.startswith("Drill the part with guide-a1: from the middle out")
    assert "Cut on the hairline" not in advice
    assert "every other piece" not in advice


def test_a_good_test_hole_speaks_for_its_own_piece_alone(flap: Path, drawn: Path) -> None:
    """Side B is drilled with another guide, which nobody tried."""
    write_readings(drawn, true_hole(drawn, "guide-a1") + true_piece(drawn, "guide-b1"))
    advice = next_of(words_of(flap, "--out", drawn))
    assert advice.startswith("Drill the part with guide-a1")
    assert "Drill scrap first with every other piece" in advice


def test_after_a_bad_test_hole_the_part_is_left_alone(flap: Path, drawn: Path) -> None:
    """Ten minutes of scrap against a control surface."""
    hole = true_hole(drawn, "guide-a1").replace("entry = [30.0,", "entry = [28.0,")
    write_readings(drawn, hole)
    advice = next_of(words_of(flap, "--out", drawn))
    assert "Leave the part alone until a test hole is good" in advice


def test_the_record_says_that_no_drawings_were_found(flap: Path, tmp_path: Path) -> None:
    """A signed USE in the log must not vouch for a page that the program never knew of."""
    record = tmp_path / "record.pdf"
    said("verify", flap, "--out", tmp_path / "none", *typed(1, 1, 1), "--record", record)
    document = pypdfium2.PdfDocument(record)
    try:
        text = " ".join(document[0].get_textpage().get_text_bounded().split())
    finally:
        document.close()
    assert "This holds for the job as it is now. There are no drawings in" in text
