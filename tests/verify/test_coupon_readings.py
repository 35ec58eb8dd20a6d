"""The kerf coupon's readings, from the form to two lines of the job file."""

import math
import tomllib

import pytest
from verifysamples import guide, length, manifest

from jiggen.errors import JobError
from jiggen.geometry.distortion import Bar, estimate
from jiggen.readings import print_mark, read_readings_text, readings_template
from jiggen.verify import (
    CouponReadings,
    LengthReading,
    PlacedPiece,
    questions_of_coupon,
    read_coupon,
    recorded_sheets,
)

BARS = 8


def coupon() -> dict:
    """Return the record of a coupon: two rows of 40 mm, slots from 2.4 to 2.8 mm."""
    sizes = [length(f"slot-{w / 10:.1f}", (0, 0), (w / 10, 0)) for w in range(24, 29)]
    sizes += [length("fingers-x", (0, 0), (40, 0)), length("fingers-y", (0, 0), (0, 40))]
    sizes.append(length("bar-x-50-mm", (0, 5), (50, 5), bar=True))
    return {"name": "coupon", "kind": "coupon", "angles": [], "dimensions": sizes}


def with_coupon() -> dict:
    """Return a manifest of a page with a guide and a bed with a coupon."""
    drawn = manifest([guide()])
    bed = {"sheet": "cut-1", "pieces": [coupon()], "dimensions": []}
    rows = [row for row in drawn["files"] if row["format"] == "pdf"]
    return {**drawn, "files": [*rows, {"file": "cut-1.svg", "format": "svg", "sheets": [bed]}]}


def placed() -> PlacedPiece:
    return recorded_sheets(with_coupon())[1].pieces[0]


def over(axis: str, mm: float, step: float = 0.05) -> LengthReading:
    return LengthReading(name=f"fingers-{axis}", measured=mm, step=step)


def test_a_coupon_has_a_table_of_its_own_in_the_form() -> None:
    """Its slots are no lengths to measure: nobody gets a jaw into them."""
    form = tomllib.loads(readings_template(with_coupon(), "mm"))
    assert form["coupon"] == {"step": 0.05, "fingers_x": "", "fingers_y": "", "slot": ""}
    assert [piece["name"] for piece in form["piece"]] == ["guide-a1"]
    assert "coupon" not in tomllib.loads(readings_template(manifest([guide()]), "mm"))


def test_the_blank_table_is_no_reading() -> None:
    """A form straight from the folder says nothing about the machine."""
    blank = readings_template(with_coupon(), "in")
    readings = read_readings_text(blank, "readings.toml", with_coupon())
    assert readings.coupon is None
    assert readings.is_blank


@pytest.mark.parametrize("given", ["2.6", '"2.6"', '"2.6 mm"'])
def test_a_slot_is_read_as_it_is_lettered_whatever_the_units(given: str) -> None:
    """The plate says 2.6; in a form in inches that is still not 66 mm."""
    form = readings_template(with_coupon(), "in").replace('slot = ""', f"slot = {given}")
    form = form.replace('fingers_x = ""', "fingers_x = 1.52")
    found = read_readings_text(form, "readings.toml", with_coupon()).coupon
    assert found is not None
    assert found.slot == pytest.approx(2.6)
    assert found.fingers_x is not None
    assert found.fingers_x.measured == pytest.approx(1.52 * 25.4)
    assert found.fingers_x.step == pytest.approx(0.0254)


def test_faults_in_the_table_are_named_by_key() -> None:
    """Two slips, two lines."""
    form = readings_template(with_coupon(), "mm").replace('slot = ""', 'slot = "wide"')
    form = form.replace('fingers_x = ""', "fingers_x = -1")
    with pytest.raises(JobError) as caught:
        read_readings_text(form, "readings.toml", with_coupon())
    assert [fault.key for fault in caught.value.faults] == ["coupon.fingers_x", "coupon.slot"]


def test_the_kerf_is_the_loss_of_a_row_shared_by_its_bars() -> None:
    """One cut is too narrow for a calliper; eight of them are not.

    Source: derived, a sum of equal cuts; the same division stands in a university workshop page
    (ten pieces pushed to one side, the gap over eleven cuts).
    """
    found = read_coupon(placed(), CouponReadings(fingers_x=over("x", 38.6)), BARS)
    assert found.kerf is not None
    assert found.kerf.value == pytest.approx(1.4 / 8)
    assert found.kerf.standard == pytest.approx(0.05 / math.sqrt(12) / 8)
    assert (found.kerf_y, found.sheet, found.alike) == (None, None, True)


def test_two_rows_that_differ_are_told_and_widen_the_doubt() -> None:
    """A machine that burns wider along one axis has no single kerf."""
    rows = CouponReadings(fingers_x=over("x", 38.6), fingers_y=over("y", 38.2))
    found = read_coupon(placed(), rows, BARS)
    assert found.kerf is not None
    assert not found.alike
    assert found.kerf.value == pytest.approx((0.175 + 0.225) / 2)
    assert 2 * found.kerf.standard >= 0.025
    same = read_coupon(
        placed(), CouponReadings(fingers_x=over("x", 38.6), fingers_y=over("y", 38.6)), BARS
    )
    assert same.alike


def test_the_slots_bracket_the_sheet_as_cut() -> None:
    """A slot comes out one kerf wider than drawn; the sheet lies between two of them."""
    rows = CouponReadings(fingers_x=over("x", 38.4), slot=2.6)
    found = read_coupon(placed(), rows, BARS)
    assert found.sheet is not None
    assert found.sheet.value == pytest.approx(2.55 + 0.2)
    assert found.sheet.standard > 0.05 / math.sqrt(3)


def test_the_mark_of_a_print_changes_with_its_bytes() -> None:
    """Readings of last week's page must not correct today's."""
    drawn = with_coupon()
    assert print_mark(drawn) == ""
    for row in drawn["files"]:
        row["sha256"] = "ab12" * 16
    assert print_mark(drawn) == "ab12ab12ab12"
    form = readings_template(drawn, "mm")
    read_readings_text(form, "readings.toml", drawn)
    for row in drawn["files"]:
        row["sha256"] = "cd34" * 16
    with pytest.raises(JobError, match=r"another print\.pdf"):
        read_readings_text(form, "readings.toml", drawn)


def test_rows_a_calliper_step_apart_are_alike() -> None:
    """One step is how the jaws closed; who hunts it in his machine's axes hunts a ghost."""
    for first, second, step in ((39.9, 39.85, 0.05), (1.524 * 25.4, 1.525 * 25.4, 0.0254)):
        rows = CouponReadings(fingers_x=over("x", first, step), fingers_y=over("y", second, step))
        assert read_coupon(placed(), rows, BARS).alike
    apart = CouponReadings(fingers_x=over("x", 39.2), fingers_y=over("y", 39.1))
    assert not read_coupon(placed(), apart, BARS).alike
    stated = CouponReadings(
        fingers_x=LengthReading(name="fingers-x", measured=39.2, plus_minus=0.02),
        fingers_y=LengthReading(name="fingers-y", measured=39.15, plus_minus=0.02),
    )
    assert not read_coupon(placed(), stated, BARS).alike


def test_two_rows_of_a_wide_cut_that_agree_are_believed() -> None:
    """A small router bit takes 0.8 mm: asked about for ever, its user would get no kerf at all."""
    wide = CouponReadings(fingers_x=over("x", 33.6), fingers_y=over("y", 33.65))
    assert questions_of_coupon(placed(), wide, BARS) == ()
    assert questions_of_coupon(placed(), CouponReadings(slot=2.6), BARS) == ()


def test_a_row_is_asked_about_in_the_jobs_own_unit() -> None:
    """An inch calliper in hand, nobody works out 983 mm."""
    slip = CouponReadings(fingers_x=over("x", 38.7 * 25.4, 0.0254))
    (asked,) = questions_of_coupon(placed(), slip, BARS, "in")
    assert str(asked.text).startswith("fingers-x of 38.7000 in, where 1.5748 in were drawn")
    assert "millimetres meant" in str(asked.text)
    assert " mm" not in str(asked.text)


def test_each_row_tells_the_kerf_along_its_own_axis() -> None:
    """A beam that is not round burns wider along one axis: told for the other, both get worse."""
    rows = {axis: over(axis, 40.0 - 8 * kerf) for axis, kerf in (("x", 0.20), ("y", 0.15))}
    readings = CouponReadings(fingers_x=rows["x"], fingers_y=rows["y"])
    found = read_coupon(placed(), readings, BARS)
    assert found.kerf_x is not None
    assert found.kerf_y is not None
    assert found.kerf_x.value == pytest.approx(0.20)
    assert found.kerf_y.value == pytest.approx(0.15)


def test_a_machine_out_of_scale_along_one_axis_is_taken_off_that_axis_alone() -> None:
    """By hand: 1 % long along x only; the slots lie along x, so the sheet follows it as well."""
    scaled = estimate(
        [
            Bar(vector=(50.0, 0.0), measured=50.5, standard=0.005),
            Bar(vector=(0.0, 50.0), measured=50.0, standard=0.005),
        ]
    )
    readings = CouponReadings(
        fingers_x=over("x", 40.4 - 8 * 0.18), fingers_y=over("y", 40.0 - 8 * 0.18), slot=2.6
    )
    found = read_coupon(placed(), readings, BARS, scaled)
    true = read_coupon(
        placed(),
        CouponReadings(
            fingers_x=over("x", 40.0 - 8 * 0.18), fingers_y=over("y", 40.0 - 8 * 0.18), slot=2.6
        ),
        BARS,
    )
    assert found.kerf_x is not None
    assert found.kerf_y is not None
    assert found.kerf_x.value == pytest.approx(0.18, abs=1e-6)
    assert found.kerf_y.value == pytest.approx(0.18, abs=1e-6)
    assert found.sheet is not None
    assert true.sheet is not None
    # The slots come out 1 % wider than drawn, the kerf beside them does not.
    assert found.sheet.value - true.sheet.value == pytest.approx(0.01 * 2.55, abs=0.002)


def test_a_bar_along_one_axis_tells_of_that_axis_only() -> None:
    """Nobody measured along y: that row is taken as drawn, and only the other one is corrected."""
    along_x = estimate([Bar(vector=(50.0, 0.0), measured=50.5, standard=0.005)])
    of_x = read_coupon(
        placed(), CouponReadings(fingers_x=over("x", 40.4 - 8 * 0.18)), BARS, along_x
    )
    of_y = read_coupon(
        placed(), CouponReadings(fingers_y=over("y", 40.0 - 8 * 0.18)), BARS, along_x
    )
    assert (of_x.by_bars, of_y.by_bars) == (True, False)
    assert of_x.kerf is not None
    assert of_y.kerf is not None
    assert of_x.kerf.value == pytest.approx(0.18, abs=1e-4)
    assert of_y.kerf.value == pytest.approx(0.18, abs=1e-6)
