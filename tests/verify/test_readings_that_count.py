"""Which readings count where two forms are laid together, and which bar a form asks for first."""

import pytest

from jiggen.readings.carried import laid_over
from jiggen.readings.needed import needed_on_sheet
from jiggen.readings.read import Readings
from jiggen.units import read_length
from jiggen.verify.coupon import CouponReadings
from jiggen.verify.placed import PlacedLength
from jiggen.verify.records import LengthReading


def form(
    pieces: dict[str, float], fingers: float | None = None, date: str = "", by: str = ""
) -> Readings:
    """Return a form with one length of each piece, and perhaps a row of the coupon."""
    row = None if fingers is None else LengthReading(name="fingers-x", measured=fingers)
    return Readings(
        file="readings.toml",
        date=date,
        by=by,
        pieces={n: (LengthReading(name="A-B", measured=mm),) for n, mm in pieces.items()},
        coupon=None if row is None else CouponReadings(fingers_x=row),
    )


def test_a_piece_that_was_measured_again_counts_as_measured_last():
    """A guide filed true and measured again would be judged by what was filed away."""
    both = laid_over(form({"one": 60.0, "two": 70.0}), form({"one": 61.0}))
    assert {name: row[0].measured for name, row in both.pieces.items()} == {
        "one": 61.0,
        "two": 70.0,
    }


def test_a_coupon_that_was_measured_again_counts_as_measured_last():
    """The kerf of the old nozzle would go into every slot that is cut with the new one."""
    again = laid_over(form({}, 99.0, "1 May", "A"), form({}, 98.0, "2 May", "B"))
    assert again.coupon is not None
    assert again.coupon.fingers_x is not None
    assert again.coupon.fingers_x.measured == 98.0
    assert (again.date, again.by) == ("2 May", "B")
    kept = laid_over(form({}, 99.0), form({}))
    assert kept.coupon is not None
    assert kept.coupon.fingers_x is not None
    assert kept.coupon.fingers_x.measured == 99.0


def bar(name: str, x: float, y: float) -> PlacedLength:
    return PlacedLength(name=name, nominal=max(x, y), start=(0.0, 0.0), end=(x, y), is_bar=True)


@pytest.mark.parametrize(("units", "wanted"), [("mm", ""), ("in", "-in")])
def test_of_several_bars_along_an_axis_the_longest_is_needed(units, wanted):
    """Half a millimetre of a rule is half a percent of 100 mm and a quarter of 200 mm."""
    rows = (("bar-x-short", 60.0, 0.0), ("bar-x-long", 150.0, 0.0), ("bar-x-mid", 100.0, 0.0))
    rows += (("bar-y-mid", 0.0, 100.0), ("bar-y-long", 0.0, 200.0), ("bar-y-short", 0.0, 50.0))
    lengths = {f"{n}{u}": bar(f"{n}{u}", x, y) for u in ("", "-in") for n, x, y in rows}
    assert list(needed_on_sheet(lengths, units)) == [f"bar-x-long{wanted}", f"bar-y-long{wanted}"]


def test_a_bare_number_between_quotes_counts_in_the_files_units():
    """Four inches taken for four millimetres would shrink a page twenty-five times."""
    assert read_length("4.25", "in") == pytest.approx(107.95)
    assert read_length("3 7/8", "in") == pytest.approx(98.425)
    assert read_length("4.25", "mm") == 4.25
