"""What still counts when a page is printed again, and readings that meet from two sources."""

import json
import re
from pathlib import Path

import pypdfium2
import pytest
from commandline import FLAP, PROJECT, said

from jiggen.readings.names import FORM

NEW = "readings-new.toml"

#: Readings of a page that a printer made 1.5 % narrow and 1.2 % tall.
OFF = (
    *("--bar-x", "98.5", "--bar-y", "101.2"),
    *("--diagonal-1", "260.5", "--diagonal-2", "259.2"),
)


@pytest.fixture
def drawn(flap: Path, tmp_path: Path) -> Path:
    """Return the folder of its printed pages and its bed."""
    out = tmp_path / "out"
    assert said("make", flap, "--as", "pdf,svg", "--out", out).status == 0
    return out


def flat(text: str) -> str:
    """Return a report on one line."""
    return " ".join(text.split())


def judged(flap: Path, out: Path, *words: object) -> dict:
    """Return the JSON object of a run that has nothing to complain about."""
    answer = said("verify", flap, "--out", out, "--json", *words)
    assert answer.err == ""
    return json.loads(answer.out)


def fill_in(form: Path, part: str, readings: dict[str, float] | None = None) -> None:
    """Write readings into a part of a form; without any, every length as drawn."""
    text = form.read_text("utf-8")
    start = text.index(f'name = "{part}"')
    if readings is None:
        start = text.index(f'[[piece]]\nname = "{part}"')
    end = text.index("\n]", start)
    body = text[start:end]
    for name, nominal in re.findall(r'name = "([^"]+)", nominal = "([\d.]+) mm"', body):
        mm = nominal if readings is None else readings.get(name)
        if mm is not None:
            row = f'name = "{name}", nominal = "{nominal} mm", measured = '
            body = body.replace(f'{row}""', f"{row}{mm}")
    form.write_text(text[:start] + body + text[end:], "utf-8")


BED = {
    "guide-a1/bar-x-50-mm": 50.0,
    "guide-a1/bar-y-50-mm": 50.0,
    "guide-a1/bar-to-bar": 70.49,
}


def words_of(pdf: Path) -> str:
    """Return the text of a PDF by a reader of another house."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return flat(document[0].get_textpage().get_text_bounded())
    finally:
        document.close()


def test_another_step_of_the_rule_makes_no_new_readings(flap: Path, drawn: Path) -> None:
    """The same four lengths would correct the page twice, and it comes out as far off again."""
    first = judged(flap, drawn, *OFF, "--reprint")
    page = (drawn / "print.pdf").read_bytes()
    answer = said("verify", flap, "--out", drawn, *OFF, "--step", "0.25", "--reprint")
    assert answer.status == 2
    assert "--reprint: was done by these very readings" in answer.err
    assert (drawn / "print.pdf").read_bytes() == page
    again = judged(flap, drawn, *OFF, "--step", "0.25")
    assert again["readings_spent"] is True
    assert again["reprint"] == pytest.approx(first["reprint"])


def test_a_reading_is_recorded_for_the_sheet_that_it_was_taken_on(
    flap: Path, drawn: Path, tmp_path: Path
) -> None:
    """A signed page that credits the laser's bed with readings of the paper, and loses its own."""
    fill_in(drawn / FORM, "cut-1", BED)
    record = tmp_path / "record.pdf"
    typed = ("--bar-x", "100", "--bar-y", "99.5", "--diagonal-1", "260.2", "--diagonal-2", "259.5")
    found = judged(flap, drawn, *typed, "--record", record)
    taken = {(row["where"], row["name"]): row["measured"] for row in found["readings"]}
    pages = {where for where, name in taken if name == "bar-x"}
    assert [page for page in pages if "cut" in page] == []
    assert {name: mm for (where, name), mm in taken.items() if where == "cut-1"} == BED
    said_there = words_of(record)
    assert "cut-1 guide-a1/bar-x-50-mm 50.00 50.00" in said_there
    assert "cut-1 guide-a1/bar-to-bar" in said_there
    assert "cut-1 bar-x" not in said_there


def test_a_reprint_leaves_what_a_machine_cut_as_it_was_judged(flap: Path, drawn: Path) -> None:
    """An hour with the calliper on laser-cut guides is not lost because a page is printed anew."""
    form = drawn / FORM
    fill_in(form, "cut-1", BED)
    fill_in(form, "guide-a1")
    fill_in(form, "wrap-a1")
    before = judged(flap, drawn)
    assert {piece["name"] for piece in before["finished"]} == {"guide-a1", "wrap-a1"}
    judged(flap, drawn, *OFF, "--reprint")
    after = judged(flap, drawn)
    assert after["pieces"] == before["pieces"]
    # The wrap is paper: it was cut from the page that is thrown away.
    assert [piece["name"] for piece in after["finished"]] == ["guide-a1"]
    (note,) = (note for note in after["notes"] if "earlier print" in note)
    assert "What a machine cut still counts: cut-1, guide-a1." in note
    named = judged(flap, drawn, "--readings", form)
    assert named["finished"] == after["finished"]


def test_the_new_form_and_what_counts_of_the_old_one_are_judged_together(
    flap: Path, drawn: Path
) -> None:
    """Else the page's new readings would drop the bed's, and nobody sees both in one record."""
    form = drawn / FORM
    fill_in(form, "cut-1", BED)
    page = re.findall(r'\[\[sheet\]\]\nname = "(page \d+)"', form.read_text("utf-8"))[0]
    worn = {"bar-x": 98.5, "bar-y": 101.2, "diagonal-1": 260.5, "diagonal-2": 259.2}
    fill_in(form, page, worn)
    judged(flap, drawn, "--reprint")
    true = {"bar-x": 100.0, "bar-y": 100.0, "diagonal-1": 260.2, "diagonal-2": 260.2}
    fill_in(drawn / NEW, page, true)
    found = judged(flap, drawn)
    taken = {(row["where"], row["name"]): row["measured"] for row in found["readings"]}
    assert taken == {(page, n): mm for n, mm in true.items()} | {
        ("cut-1", n): mm for n, mm in BED.items()
    }
    # A bed that is measured anew on the new form counts as it is now.
    fill_in(drawn / NEW, "cut-1", {name: mm * 1.02 for name, mm in BED.items()})
    again = judged(flap, drawn)
    bed = [row["measured"] for row in again["readings"] if row["where"] == "cut-1"]
    assert bed == [pytest.approx(mm * 1.02) for mm in BED.values()]


def test_make_depends_on_nothing_that_lay_in_the_folder_and_says_what_it_left_out(
    flap: Path, drawn: Path
) -> None:
    """The same job gives the same bytes; a form of other drawings is named, never passed over."""
    fill_in(drawn / FORM, "cut-1", BED)
    job = flap.read_text("utf-8")
    flap.write_text(job + "\n[print]\nscale_x = 0.985\nscale_y = 1.012\n", "utf-8")
    assert said("make", flap, "--as", "pdf,svg", "--out", drawn).status == 0
    elsewhere = drawn.parent / "elsewhere"
    assert said("make", flap, "--as", "pdf,svg", "--out", elsewhere).status == 0
    pages = [(where / "print.pdf").read_bytes() for where in (drawn, elsewhere)]
    assert pages[0] == pages[1]
    after = judged(flap, drawn)
    assert [row for row in after["readings"] if row["where"] == "cut-1"] == []
    assert any(note.startswith("Left out, since") for note in after["notes"])


def test_readings_of_the_form_that_options_push_aside_are_told(flap: Path, drawn: Path) -> None:
    """With both listed as sources, the true diagonals of the form seem to stand behind it all."""
    form = drawn / FORM
    page = re.findall(r'\[\[sheet\]\]\nname = "(page \d+)"', form.read_text("utf-8"))[0]
    fill_in(form, page, {"bar-x": 100.0, "bar-y": 100.0, "diagonal-1": 260.2})
    notes = judged(flap, drawn, "--bar-x", "98", "--bar-y", "98")["notes"]
    assert f"Put aside: all that {form} says of {page};" in " ".join(notes)
    assert "Put aside" not in " ".join(judged(flap, drawn)["notes"])


def test_the_folder_of_another_job_is_called_that(flap: Path, tmp_path: Path) -> None:
    """Sent to make and print again, the user loses the drawings of the other job."""
    other = tmp_path / "rudder.toml"
    other.write_text(FLAP.replace("Flap edge, left", "Rudder edge"), "utf-8")
    out = tmp_path / "rudder"
    said("make", other, "--as", "svg", "--only", "coupon", "--out", out)
    answer = said("verify", flap, "--out", out)
    assert (answer.status, len(answer.faults)) == (2, 1)
    assert f'is the job "Flap edge, left", but the drawings in {out} are of' in answer.err
    assert '"Rudder edge"' in answer.err
    assert "give the folder of its own drawings with --out" in answer.err
    assert "was changed since" not in answer.err


def test_a_record_has_the_name_of_a_pdf(flap: Path, drawn: Path, tmp_path: Path) -> None:
    """A PDF called rec.svg opens in no viewer, and is thrown out of the log as damaged."""
    for name in ("rec.svg", "rec"):
        record = tmp_path / name
        answer = said("verify", flap, "--out", drawn, "--bar-x", "100", "--record", record)
        assert answer.status == 2
        assert answer.err.startswith(f"{record}: ")
        assert "give --record a name that ends in .pdf" in answer.err
        assert not record.exists()


@pytest.mark.parametrize("in_job", [False, True])
def test_a_second_correction_that_runs_off_says_what_the_page_carries(
    in_job: bool, flap: Path, tmp_path: Path
) -> None:
    """Nobody read 0.9069: the user looks for a reading that he never took."""
    out = tmp_path / "out"
    assert said("make", flap, "--as", "pdf", "--out", out).status == 0

    def typed(scale: float) -> tuple[str, ...]:
        bar, across = f"{100 * scale:.1f}", f"{260.2 * scale:.1f}"
        return (
            *("--bar-x", bar, "--bar-y", bar),
            *("--diagonal-1", across, "--diagonal-2", across),
        )

    if in_job:
        lines = "\n[print]\nscale_x = 0.97\nscale_y = 0.97\n"
        flap.write_text(flap.read_text("utf-8") + lines, "utf-8")
        assert said("make", flap, "--as", "pdf", "--out", out).status == 0
    else:
        assert judged(flap, out, *typed(0.97), "--reprint")["not_reprinted"] is None
    told = judged(flap, out, *typed(0.935), "--reprint")["not_reprinted"]
    assert "carries a correction already, for a printer of scale 0.97" in told
    assert re.search(r"came out at 0\.93\d\d x 0\.93\d\d on top of it", told)
    assert "0.906" not in told
    assert "run jiggen make" in told
    assert ("out of [print] in the job file" in told) == in_job


def test_the_page_form_asks_about_the_bar_beside_it(flap: Path, drawn: Path) -> None:
    """USE or DO NOT USE for a page on which the 4 in bars were read for those of 100 mm."""
    form = drawn / FORM
    page = re.findall(r'\[\[sheet\]\]\nname = "(page \d+)"', form.read_text("utf-8"))[0]
    fill_in(form, page, {"bar-x": 101.6, "bar-y": 101.6})
    found = judged(flap, drawn)
    assert found["verdict"] == "cannot tell"
    (asked,) = found["questions"]
    assert "that is the length of the 4 in bar" in asked["text"]
    assert "measure both diagonals too" in asked["text"]
    text = form.read_text("utf-8").replace("measured = 101.6", "measured = 101.5")
    form.write_text(text, "utf-8")
    assert judged(flap, drawn)["questions"] == []


def test_an_inch_job_keeps_each_reading_on_its_own_sheet(tmp_path: Path) -> None:
    """The same record, by inch bars."""
    job, out = PROJECT / "templates" / "tapered-inch.toml", tmp_path / "inch"
    assert said("make", job, "--as", "pdf,svg", "--out", out).status == 0
    text = (out / FORM).read_text("utf-8")
    at = text.index('\n[[sheet]]\nname = "cut-1"')
    row = re.compile(r'nominal = "([\d.]+) in", measured = ""').search(text, at)
    assert row
    filled = row[0].replace('measured = ""', f"measured = {row[1]}")
    (out / FORM).write_text(text[: row.start()] + filled + text[row.end() :], "utf-8")
    found = judged(job, out, "--bar-x", "4.0", "--bar-y", "4.0")
    by_sheet = {row["where"]: row["name"] for row in found["readings"]}
    assert by_sheet["cut-1"].endswith("-in")
    assert "/" in by_sheet["cut-1"]
