"""Readings that cannot be meant, and honest ones of a bad printer that can."""

import math

import numpy as np
import pytest
from msgspec.structs import replace

from jiggen.geometry.distortion import Bar, Distortion
from jiggen.geometry.slips import in_order, orders, slips, unlike

BAD_PRINTER = Distortion(scale_x=0.985, scale_y=1.012, skew=math.radians(0.3))
#: The check figure of an A4 page: sides 180 and 240, so that the diagonals are 300.
DRAWN = {
    "bar-x": (100.0, 0.0),
    "bar-y": (0.0, 100.0),
    "diagonal-1": (180.0, 240.0),
    "diagonal-2": (180.0, -240.0),
}
STANDARD = math.hypot(0.5 / math.sqrt(12), 0.1)


def page(made: Distortion = BAD_PRINTER, **off: float) -> dict[str, Bar]:
    """Return the readings of a page; a keyword adds millimetres to one of them."""
    bars = {n: Bar(vector=v, measured=made.length(v), standard=STANDARD) for n, v in DRAWN.items()}
    for name, mm in off.items():
        key = name.replace("_", "-")
        bars[key] = replace(bars[key], measured=bars[key].measured + mm)
    return bars


def test_the_honest_readings_of_a_bad_printer_raise_no_question():
    """Asking about a true reading sends the user round in circles."""
    rng = np.random.default_rng(7)
    for _ in range(300):
        x, y = rng.uniform(0.94, 1.03, 2)
        if abs(math.log(x / y)) <= 0.035:
            made = Distortion(scale_x=x, scale_y=y, skew=math.radians(rng.uniform(-0.5, 0.5)))
            bars = page(made)
            bars = {n: replace(b, measured=round(b.measured * 2) / 2) for n, b in bars.items()}
            assert slips(bars) == ()


@pytest.mark.parametrize("scale", [0.89, 0.9122, 0.9407, 1.11])
def test_a_page_fitted_to_another_paper_is_believed(scale):
    """A4 art on Letter is 0.94, less the printer's own margins: common, and no slip of the rule."""
    assert slips(page(Distortion(scale_x=scale, scale_y=scale * 1.003))) == ()


def test_one_bar_that_is_a_tenth_short_is_still_asked_about():
    """A slip of 10 mm looks like a fitted page as long as nothing else was measured."""
    bars = {"bar-x": page(Distortion(), bar_x=-12.0)["bar-x"]}
    (slip,) = slips(bars)
    assert (slip.kind, slip.readings) == ("far", ("bar-x",))


@pytest.mark.parametrize(
    ("factor", "kind"),
    [(1 / 25.4, "unit"), (25.4, "unit"), (0.1, "decimal"), (10.0, "decimal"), (100.0, "decimal")],
)
def test_another_unit_and_a_shifted_point_are_recognised(factor, kind):
    """The commonest slips of a keyboard: told what it was, nobody measures again for nothing."""
    bars = page()
    bars["bar-y"] = replace(bars["bar-y"], measured=bars["bar-y"].measured * factor)
    (slip,) = slips(bars)
    assert (slip.kind, slip.readings, slip.expected) == (kind, ("bar-y",), (100.0,))


def test_a_page_scaled_all_over_is_named_as_such():
    """A page at 80 % was printed for another paper; four separate questions would hide that."""
    (slip,) = slips(page(Distortion(scale_x=0.8, scale_y=0.8)))
    assert (slip.kind, set(slip.readings)) == ("scale", set(DRAWN))


def test_two_readings_that_fit_only_the_other_way_round_are_swapped():
    """Told to measure all again, nobody finds that two lines of the form were exchanged."""
    bars = page(Distortion(scale_x=0.97, scale_y=1.005))
    turned = {
        **bars,
        "bar-x": replace(bars["bar-x"], measured=bars["bar-y"].measured),
        "bar-y": replace(bars["bar-y"], measured=bars["bar-x"].measured),
    }
    (slip,) = slips(turned)
    assert (slip.kind, slip.readings) == ("swapped", ("bar-x", "bar-y"))


@pytest.mark.parametrize("name", ["bar_x", "bar_y", "diagonal_1", "diagonal_2"])
@pytest.mark.parametrize("off", [-10.0, -5.0, 5.0, 7.0])
def test_a_slip_along_the_rule_contradicts_the_rest_and_both_numbers_are_told(name, off):
    """5 mm on one of four must never be averaged in."""
    true = page(Distortion())
    (slip,) = slips(page(Distortion(), **{name: off}))
    key = name.replace("_", "-")
    assert slip.readings == (key,)
    if slip.kind == "contradiction":
        assert slip.given == (pytest.approx(true[key].measured + off),)
        assert slip.expected == (pytest.approx(true[key].nominal, abs=1.0),)


def test_a_corner_no_printer_makes_is_asked_about():
    """A degree out of square is a diagonal misread: 1 deg is 1.7 mm in 100 mm."""
    assert slips(page(Distortion(skew=math.radians(0.8)))) == ()
    (slip,) = slips(page(Distortion(skew=math.radians(1.6))))
    assert slip.kind == "contradiction"


def test_wild_readings_end_in_a_question_and_never_in_a_crash():
    """Whatever is typed in the workshop, the answer is which reading to take again."""
    rng = np.random.default_rng(11)
    for _ in range(300):
        bars = {
            name: Bar(
                vector=v,
                measured=math.hypot(*v)
                * rng.choice((1.0, 1 / 25.4, 25.4, 10.0, 0.1))
                * rng.uniform(0.2, 2.0),
                standard=float(rng.choice([0.001, 0.15, 3.0])),
            )
            for name, v in DRAWN.items()
        }
        asked = slips(bars)
        assert asked
        assert {name for slip in asked for name in slip.readings} <= set(DRAWN)


def test_the_orders_of_readings_are_those_that_one_printer_can_have_made():
    """Bars that differ by little may be on each other's line; unlike diagonals rule much out."""
    near = orders(page(Distortion(scale_x=0.999, scale_y=1.001)))
    assert [set(names) for names, _ in near] == [
        set(), {"bar-x", "bar-y"}, {"diagonal-1", "diagonal-2"}, set(DRAWN),
    ]  # fmt: skip
    far = orders(page(Distortion(scale_x=0.97, scale_y=1.005)))
    assert [set(names) for names, _ in far] == [set(), {"diagonal-1", "diagonal-2"}]
    assert all(in_order(bars) for _, bars in (*near, *far))


def test_a_whole_bed_of_bars_is_looked_at_without_a_wait():
    """Every choice among thirty bars would be tried for longer than the cutting took."""
    bars = {
        f"p{n}/bar-{axis}": Bar(
            vector=(50.0, 0.0) if axis == "x" else (0.0, 50.0), measured=50.0, standard=0.03
        )
        for n in range(15)
        for axis in "xy"
    }
    turned = orders(bars)
    assert [len(names) for names, _ in turned] == [0, 30]


@pytest.mark.parametrize(
    ("apart", "names"),
    [(0.985, ("page 2", "page 3")), (0.9985, ()), (1.0, ())],
)
def test_pages_are_unlike_only_beyond_what_their_readings_leave_in_doubt(apart, names):
    """Pooled, a fitted page spoils its neighbour; refused for a hair, nobody gets a reprint."""
    pages = {"page 2": page(Distortion()), "page 3": page(Distortion(scale_x=apart, scale_y=apart))}
    assert unlike(pages) == names


def test_an_axis_that_only_one_page_was_measured_along_tells_nothing_of_the_other():
    """An assumption is no reading: two pages must not be called unlike by it."""
    half = {"bar-x": page(Distortion())["bar-x"]}
    assert unlike({"page 2": half, "page 3": page(Distortion(scale_y=1.03))}) == ()
    one = {"diagonal-1": page(Distortion(), diagonal_1=-4.0)["diagonal-1"]}
    assert unlike({"page 2": one, "page 3": page(Distortion())}) == ("page 2", "page 3")
