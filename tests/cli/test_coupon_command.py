"""The kerf coupon from the drawing to the lines of the job: by bars, rows and slots."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from commandline import FLAP, said

from jiggen.readings.names import FORM

KERF, BARS, ROW, BAR = 0.18, 8, 40.0, 50.0
#: Per axis: a calliper's step of 0.05 mm over all bars and on the bar that tells the scale, twice
#: each so that the rounding of both readings always is inside.
NEAR = 2 * (0.05 + 0.05 * ROW / BAR) / BARS

Fill = Callable[..., None]


@pytest.fixture
def folder(flap: Path, tmp_path: Path) -> Path:
    """Return the folder of a kerf coupon."""
    out = tmp_path / "coupon"
    assert said("make", flap, "--only", "coupon", "--as", "svg", "--out", out).status == 0
    return out


@pytest.fixture
def fill(folder: Path) -> Fill:
    """Return what fills in the form: rows and bars along x and y, and a slot; None for a blank."""
    blank = (folder / FORM).read_text("utf-8")

    def filled(
        *,
        rows: tuple[float | None, float | None],
        bars: tuple[float | None, float | None] = (None, None),
        slot: str = '""',
    ) -> None:
        text = blank.replace('slot = ""', f"slot = {slot}")
        for axis, row, bar in zip("xy", rows, bars, strict=True):
            if row is not None:
                text = text.replace(f'fingers_{axis} = ""', f"fingers_{axis} = {row}")
            if bar is not None:
                text = re.sub(
                    rf'(bar-{axis}-50-mm", nominal = "[^"]*", measured = )""', rf"\g<1>{bar}", text
                )
        (folder / FORM).write_text(text, "utf-8")

    return filled


def judged(flap: Path, folder: Path) -> tuple[int, dict, str]:
    """Return the exit status, the JSON object and the report on one line."""
    as_json = said("verify", flap, "--out", folder, "--json")
    return as_json.status, json.loads(as_json.out), report(flap, folder)


def report(flap: Path, folder: Path) -> str:
    return " ".join(said("verify", flap, "--out", folder).out.split())


def calliper(mm: float) -> float:
    return round(round(mm / 0.05) * 0.05, 2)


def cut_row(scale: float) -> float:
    """Return what a row measures that a machine of this scale cut.

    Source: derived: the machine lays the cut lines out by its scale; the beam is as wide as it is.
    """
    return calliper(scale * ROW - BARS * KERF)


@pytest.mark.parametrize("scales", [(1.01, 1.01), (0.992, 0.992), (1.01, 0.994), (1.0, 1.0)])
def test_a_machine_that_is_off_its_size_does_not_pass_for_kerf(
    scales: tuple[float, float], flap: Path, folder: Path, fill: Fill
) -> None:
    """One per cent of a row shared by eight cuts is 0.05 mm: every piece came out loose."""
    fill(rows=tuple(map(cut_row, scales)), bars=tuple(calliper(BAR * s) for s in scales))
    status, found, said_so = judged(flap, folder)
    coupon = found["coupon"]
    assert (status, coupon["scale_by_bars"], coupon["rows_alike"]) == (0, True, True)
    assert coupon["kerf"] == pytest.approx(KERF, abs=NEAR)
    assert "the machine's scale; it is taken off" in said_so
    assert ("steps per mm" in said_so) == (scales != (1.0, 1.0))


def test_the_bars_own_doubt_is_in_the_kerfs(flap: Path, folder: Path, fill: Fill) -> None:
    """A scale that is known to 0.06 % leaves its share in the kerf, or the doubt is a lie.

    Source: derived: two steps of 0.05 mm, rectangular, the bar's times 40/50; over eight cuts.
    """
    fill(rows=(cut_row(1.01), None), bars=(50.5, 50.5))
    coupon = judged(flap, folder)[1]["coupon"]
    step = 0.05 / 12**0.5
    expected = 2 * (step**2 + (step * ROW / BAR) ** 2) ** 0.5 / BARS
    assert coupon["plus_minus_kerf"] == pytest.approx(expected, rel=0.01)


def test_the_stair_of_slots_is_laid_out_by_the_same_machine(
    flap: Path, folder: Path, fill: Fill
) -> None:
    """A slot drawn 2.9 is 2.93 wide on a machine of 101 %, before the beam widens it."""
    fill(rows=(cut_row(1.01), cut_row(1.01)), bars=(50.5, 50.5), slot="2.9")
    coupon = judged(flap, folder)[1]["coupon"]
    assert coupon["sheet"] == pytest.approx(1.01 * 2.85 + coupon["kerf"], abs=1e-3)


def test_a_bar_along_one_axis_does_not_answer_for_the_other(
    flap: Path, folder: Path, fill: Fill
) -> None:
    """The unread axis may be as far off, and would put all of it into the kerf."""
    fill(rows=(cut_row(1.01), cut_row(1.01)), bars=(50.5, None))
    status, found, said_so = judged(flap, folder)
    assert (status, found["coupon"], found["verdict"]) == (1, None, "cannot tell")
    assert "Measure the bar along y too" in found["finished"][0]["why"]
    assert "kerf =" not in said_so
    fill(rows=(38.6, 38.6), bars=(50.0, None))
    assert judged(flap, folder)[0] == 0


def test_bars_that_are_asked_about_hold_the_lines_back(
    flap: Path, folder: Path, fill: Fill
) -> None:
    """A 2 in bar read for 50 mm, on one axis, would take 0.08 mm off the kerf."""
    fill(rows=(38.6, 38.6), bars=(60.0, 50.0))
    status, found, said_so = judged(flap, folder)
    assert (status, found["coupon"]) == (1, None)
    assert "bar-x-50-mm" in found["finished"][0]["why"]
    assert "kerf =" not in said_so


def test_lines_without_any_bar_say_what_they_take_for_granted(
    flap: Path, folder: Path, fill: Fill
) -> None:
    """Who skipped the bars should know that his machine's scale is in the number."""
    fill(rows=(38.6, 38.6))
    status, found, said_so = judged(flap, folder)
    assert (status, found["coupon"]["scale_by_bars"]) == (0, False)
    assert "taken to be true to size" in said_so


@pytest.mark.parametrize("rows", [(38.5, 39.5), (39.7, 38.4), (39.2, 39.75)])
def test_rows_that_contradict_each_other_give_no_lines(
    rows: tuple[float, float], flap: Path, folder: Path, fill: Fill
) -> None:
    """A kerf of 0.125 give or take 0.125 is a bar with a burr on it, pasted into the job."""
    fill(rows=rows)
    status, found, said_so = judged(flap, folder)
    assert (status, found["verdict"], found["coupon"]) == (1, "cannot tell", None)
    assert "Measure both rows again" in found["finished"][0]["why"]
    assert "kerf =" not in said_so
    assert "KERF FOUND" not in said_so


def test_an_axis_that_burns_somewhat_wider_is_told_not_refused(
    flap: Path, folder: Path, fill: Fill
) -> None:
    """Some beams are wider one way; their owner gets the mean and is told so."""
    fill(rows=(38.6, 38.2))
    status, _, said_so = judged(flap, folder)
    assert status == 0
    assert "KERF FOUND" in said_so
    assert "burns wider along one axis" in said_so


@pytest.mark.parametrize(
    ("rows", "bars"),
    [((40.0, 40.0), (None, None)), ((39.95, 38.6), (None, None)), ((40.4, 40.4), (50.5, 50.5))],
)
def test_a_row_that_nothing_cut_is_asked_about(
    rows: tuple[float, float],
    bars: tuple[float | None, float | None],
    flap: Path,
    folder: Path,
    fill: Fill,
) -> None:
    """A cutting program that allows for kerf by itself reads so; "kerf = 0" would hide it."""
    fill(rows=rows, bars=bars)
    status, found, said_so = judged(flap, folder)
    assert (status, found["coupon"]) == (1, None)
    why = found["finished"][0]["why"]
    assert "was the file cut without kerf correction" in why
    assert "A cutting program that allows for kerf" in why
    assert "kerf =" not in said_so


@pytest.mark.parametrize("bars", [(None, None), (50.0, 50.0)])
def test_the_json_of_a_good_coupon_says_what_the_report_says(
    bars: tuple[float | None, float | None], flap: Path, folder: Path, fill: Fill
) -> None:
    """A program that reads "cannot tell" beside status 0 throws a good kerf away."""
    fill(rows=(38.6, 38.6), bars=bars)
    status, found, said_so = judged(flap, folder)
    assert (status, found["verdict"]) == (0, "use")
    assert "KERF FOUND" in said_so


def note_of(flap: Path, out: Path, *kinds: str) -> list[str]:
    """Return the lines under the beds of a job with a kerf."""
    cut = '[cut]\nkerf = 0.15\ntext = "live"\n'
    assert FLAP.count("[cut]\n") == 1
    flap.write_text(re.sub(r"(?m)^(kerf|text) = .*\n", "", FLAP).replace("[cut]\n", cut), "utf-8")
    assert said("make", flap, "--only", ",".join(kinds), "--as", "svg", "--out", out).status == 0
    texts = [path.read_text("utf-8") for path in sorted(out.glob("cut-*.svg"))]
    return [
        line
        for text in texts
        for line in re.findall(r"<text[^>]*>([^<]*drawn 1:1 in mm[^<]*)<", text)
    ]


def test_a_coupons_bed_does_not_claim_a_kerf_that_its_plate_denies(
    flap: Path, tmp_path: Path
) -> None:
    """Whoever reads the bed's line reckons with a kerf that was never drawn."""
    (alone,) = note_of(flap, tmp_path / "alone", "coupon")
    assert "without kerf" in alone
    assert "allowed" not in alone
    (mixed,) = note_of(flap, tmp_path / "mixed", "coupon", "foot")
    assert "kerf 0.15 mm allowed for except on the coupon" in mixed
    (other,) = note_of(flap, tmp_path / "other", "foot")
    assert "kerf 0.15 mm allowed for, " in other


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("0.126", "slot is in mm, as it is lettered: write 3.2 where 0.126 stands"),
        ("4.0", "no slot is lettered 4; they are 2.7, 2.8,"),
    ],
)
def test_a_slot_in_an_inch_job_is_asked_for_as_it_is_lettered(
    given: str, words: str, tmp_path: Path
) -> None:
    """A sentence of "0.0050 in wide" beside slots of 2.7 and 2.8 mm helps nobody at the bench."""
    job, out = tmp_path / "aileron.toml", tmp_path / "inch"
    said("new", "tapered-inch", "--out", job)
    said("make", job, "--only", "coupon", "--as", "svg", "--out", out)
    text = (out / FORM).read_text("utf-8").replace('fingers_x = ""', "fingers_x = 1.52")
    (out / FORM).write_text(text.replace('slot = ""', f"slot = {given}"), "utf-8")
    answer = said("verify", job, "--out", out)
    assert answer.status == 2
    assert words in answer.err
    assert " in wide" not in answer.err


def test_a_slot_written_as_a_fraction_of_an_inch_means_its_slot(tmp_path: Path) -> None:
    """0.126 in is the slot lettered 3.2: nobody types 3.2004."""
    job, out = tmp_path / "aileron.toml", tmp_path / "inch"
    said("new", "tapered-inch", "--out", job)
    said("make", job, "--only", "coupon", "--as", "svg", "--out", out)
    blank = (out / FORM).read_text("utf-8").replace('fingers_x = ""', "fingers_x = 1.52")
    sheets = []
    for given in ('"0.126 in"', "3.2"):
        (out / FORM).write_text(blank.replace('slot = ""', f"slot = {given}"), "utf-8")
        answer = said("verify", job, "--out", out, "--json")
        assert answer.status == 0, answer.err
        sheets.append(json.loads(answer.out)["coupon"]["sheet"])
    assert sheets[0] == sheets[1]


def test_a_machine_out_of_square_is_told_with_its_coupon(
    flap: Path, folder: Path, fill: Fill
) -> None:
    """The coupon is cut first: the axes are squared before a guide is spoilt.

    Source: derived: 77.162 mm at 45 deg or so loses about 0.34 mm when the axes close by half a
    degree (half the length times the angle, near enough for a sign).
    """
    fill(rows=(38.6, 38.6), bars=(50.0, 50.0))
    form = folder / FORM
    square = form.read_text("utf-8")
    (drawn,) = re.findall(r'bar-to-bar", nominal = "([\d.]+) mm"', square)
    for off, told in ((0.0, False), (0.35, True)):
        aslant = re.sub(
            r'(bar-to-bar", nominal = "[^"]*", measured = )""',
            rf"\g<1>{float(drawn) - off:.2f}",
            square,
        )
        form.write_text(aslant, "utf-8")
        said_so = report(flap, folder)
        assert "KERF FOUND" in said_so
        assert ("deg off square" in said_so) is told
