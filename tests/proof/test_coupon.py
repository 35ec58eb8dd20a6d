"""The kerf coupon from its readings to the lines of the job: by bars, rows and slots."""

import re

import pytest
from commandline import FLAP
from measuring import Bench, flat

KERF, BARS, ROW = 0.18, 8, 40.0
#: Per axis: a calliper's step of 0.05 mm over all bars and on the bar that tells the scale, with
#: what neither repeats better than, twice each so that both readings always are inside.
NEAR = 2 * (0.05 + 0.06) * 2 / BARS


@pytest.fixture
def coupon(tmp_path):
    """Return the folder of a kerf coupon."""
    bench = Bench(folder=tmp_path, job=FLAP)
    bench.make(formats=("svg",), only=("coupon",))
    return bench


def calliper(mm: float) -> float:
    return round(round(mm / 0.05) * 0.05, 2)


def cut_row(scale: float) -> float:
    """Return what a row measures that a machine of this scale cut.

    Source: derived: the machine lays the cut lines out by its scale; the beam is as wide as it is.
    """
    return calliper(scale * ROW - BARS * KERF)


def judged(bench, x=None, y=None, slot=None, bars=(None, None)):
    """Return the JSON and the report on one line."""
    rows = {"fingers-x": x, "fingers-y": y, "slot": slot}
    text = bench.form.read_text("utf-8")
    for name, value in rows.items():
        if value is not None:
            written = value if isinstance(value, str) else f"{value}"
            text = re.sub(rf'(?m)^{name} = ""', f"{name} = {written}", text)
    bench.form.write_text(text, "utf-8")
    taken = {n: mm for n, mm in zip(("coupon/bar-x", "coupon/bar-y"), bars, strict=True) if mm}
    if taken:
        bench.fill("bed", "cut-1", taken)
    return bench.verify(), flat(bench.report())


def test_the_coupon_is_asked_for_first_and_in_its_own_words(coupon):
    """Its slots are no lengths to measure: nobody gets a jaw into them."""
    text = coupon.form.read_text("utf-8")
    head, _, _ = text.partition("more, if you like")
    assert "always in mm, one of 2.5, 2.6, 2.7, 2.8, 2.9, 3.0, 3.1, 3.2, 3.3.\n[coupon]" in head
    assert 'fingers-x = ""      # 40.00 mm; over all 8 loose bars pushed together' in head
    assert "[[piece]]" not in text


def test_a_coupon_gives_kerf_and_material_for_the_job_file(coupon):
    """Eight bars that lost one kerf each: the calliper's error is divided by eight.

    Source: derived, a sum of equal cuts; the same division stands in a university workshop page
    (ten pieces pushed to one side, the gap over eleven cuts).
    """
    found, report = judged(coupon, 38.6, 38.6, '"2.9"')
    kerf = (40.0 - 38.6) / 8
    assert (found["verdict"], found["coupon"]["kerf"]) == ("use", pytest.approx(kerf))
    one = (0.05**2 / 12 + 0.03**2) ** 0.5
    assert found["coupon"]["plus_minus_kerf_x"] == pytest.approx(2 * one / 8)
    # The material enters the slot drawn 2.9 and not the one drawn 2.8; both are a kerf wider.
    assert found["coupon"]["sheet"] == pytest.approx(2.85 + kerf)
    assert report.startswith("Kerf 0.175 mm, material 3.025 mm.")
    assert "[cut] kerf = 0.175 # give or take" in report
    assert " sheet = 3.025 # give or take" in report


@pytest.mark.parametrize("scales", [(1.01, 1.01), (0.992, 0.992), (1.01, 0.994), (1.0, 1.0)])
def test_a_machine_that_is_off_its_size_does_not_pass_for_kerf(scales, coupon):
    """One per cent of a row shared by eight cuts is 0.05 mm: every piece came out loose."""
    rows = [cut_row(scale) for scale in scales]
    found, report = judged(coupon, *rows, bars=tuple(calliper(50.0 * s) for s in scales))
    assert (found["coupon"]["scale_by_bars"], found["coupon"]["rows_alike"]) == (True, True)
    assert found["coupon"]["kerf"] == pytest.approx(KERF, abs=NEAR)
    assert "the machine's scale; it is taken off" in report
    assert ("steps per mm" in report) == (scales != (1.0, 1.0))


def test_a_bar_along_one_axis_does_not_answer_for_the_other(coupon):
    """The unread axis may be as far off, and would put all of it into the kerf."""
    found, report = judged(coupon, cut_row(1.01), cut_row(1.01), bars=(50.5, None))
    assert (found["coupon"], found["verdict"]) == (None, "cannot tell")
    assert "measure the bar up the bed too" in report
    assert "kerf =" not in report


def test_lines_without_any_bar_say_what_they_take_for_granted(coupon):
    """Who skipped the bars should know that his machine's scale is in the number."""
    found, report = judged(coupon, 38.6, 38.6)
    assert (found["verdict"], found["coupon"]["scale_by_bars"]) == ("use", False)
    assert "taken to be true to size" in report


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [
        ("20.0", "20.0", "were all 8 bars of that row pushed together?"),
        ("1.52", "1.52", "was another unit meant? Write it with its unit"),
        ('"38.6 in"', "38.6", "was another unit meant?"),
        ("41.0", "38.6", "were all 8 bars of that row pushed together?"),
        ("40.0", "40.0", "Was the file cut without kerf correction?"),
        ("38.6", "33.9", "these contradict each other"),
        ("38.5", "39.5", "these contradict each other"),
        ("33.9", None, "measure the other row too"),
    ],
)
def test_rows_that_cannot_be_meant_are_asked_about_and_give_no_lines(x, y, words, coupon):
    """A kerf of 2.5 mm, pasted into the job, spoils every piece that is cut after it."""
    found, report = judged(coupon, x, y)
    assert (found["verdict"], found["coupon"]) == ("cannot tell", None)
    assert words in " ".join(q["text"] for q in found["questions"])
    assert report.startswith("Cannot tell: the kerf.")
    assert "kerf =" not in report


@pytest.mark.parametrize(("x", "y"), [(38.6, 38.2), (33.6, 33.65), (39.9, 39.85)])
def test_rows_that_two_axes_can_have_burnt_are_believed(x, y, coupon):
    """Some beams are wider one way; a small router bit takes 0.8 mm; a step is how jaws closed."""
    found, _ = judged(coupon, x, y) if x != 39.9 else judged(coupon, 39.1, 39.05)
    assert found["verdict"] == "use"


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("2.6", None), ('"2.6"', None), ('"2.6 mm"', None), ('"0.102 in"', None),
        ("4.0", "no slot is lettered 4; they are 2.5, 2.6,"),
        ("0.102", "slot is in mm, as it is lettered: write 2.6 where 0.102 stands"),
        ("2.5", "narrowest"),
    ],
)  # fmt: skip
def test_a_slot_is_read_as_it_is_lettered_whatever_the_units(written, told, coupon):
    """The plate says 2.6; in a form in inches that is still not 66 mm."""
    text = coupon.form.read_text("utf-8").replace('units = "mm"', 'units = "in"')
    text = text.replace('fingers-x = ""', "fingers-x = 1.52").replace(
        "calliper = 0.05", "calliper = 0.001"
    )
    text = text.replace('slot = ""', f"slot = {written}").replace("rule = 0.5 ", "rule = 0.02 ")
    coupon.form.write_text(text, "utf-8")
    if told:
        assert told in coupon.refused()
    else:
        kerf = (40.0 - 1.52 * 25.4) / 8
        assert coupon.verify()["coupon"]["sheet"] == pytest.approx(2.55 + kerf, abs=1e-6)


def test_a_slot_without_a_row_is_a_fault(coupon):
    """A wrong thickness goes into every slot that is cut after it."""
    text = coupon.form.read_text("utf-8").replace('slot = ""', "slot = 2.9")
    coupon.form.write_text(text, "utf-8")
    assert "coupon: a slot says nothing without the kerf" in coupon.refused()


def test_the_coupons_own_lines_do_not_make_it_stale(coupon):
    """Who pastes the kerf into the job and looks again was told to print new pages."""
    before, _ = judged(coupon, 38.6, 38.6, "2.9")
    coupon.job = coupon.job.replace("kerf = 0.15", "kerf = 0.175\nsheet = 3.025")
    assert coupon.verify()["coupon"] == before["coupon"]
    assert coupon.verify()["changed"] == []


def test_an_axis_that_is_not_square_is_told_with_the_coupon(coupon):
    """The coupon is cut first: the axes are squared before a guide is spoilt."""
    bars = coupon.bed()
    (aslant,) = (name for name in bars if name.endswith("bar-to-bar"))
    bars[aslant] *= 1.006
    text = coupon.form.read_text("utf-8").replace('fingers-x = ""', "fingers-x = 38.6")
    coupon.form.write_text(text, "utf-8")
    coupon.fill("bed", "cut-1", bars)
    assert "deg off square: square them" in flat(coupon.report())


def test_a_ladder_of_press_fits_beside_it_is_no_kerf_coupon(tmp_path):
    """Its holes are tried with the bushing: there is nothing to measure, and nothing to judge."""
    job = FLAP + "\n[block]\nbore = 6.35\n"
    bench = Bench(folder=tmp_path, job=job)
    bench.make(formats=("svg",), only=("coupon",))
    record = bench.record
    assert set(record.pieces) == {"coupon", "coupon-press"}
    assert [name for name, piece in record.pieces.items() if piece.is_coupon] == ["coupon"]
    text = bench.form.read_text("utf-8")
    assert "[coupon]" in text.partition("more, if you like")[0]
    assert "coupon-press" not in text.partition("[marks]")[0]
    found, report = judged(bench, 38.6, 38.6)
    assert (found["verdict"], found["answers"]) == ("use", [])
    assert report.startswith("Kerf 0.175 mm.")
