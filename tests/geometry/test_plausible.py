import math
from dataclasses import replace

import numpy as np
import pytest

from jiggen.geometry.distortion import Bar, Distortion
from jiggen.geometry.plausible import questions
from jiggen.geometry.quarrel import unlike

BAD_PRINTER = Distortion(scale_x=0.985, scale_y=1.012, skew=math.radians(0.3))
DRAWN = {
    "bar-x": (120.0, 0.0),
    "bar-y": (0.0, 100.0),
    "diagonal-1": (100.0, 100.0),
    "diagonal-2": (100.0, -100.0),
}


def page(made: Distortion = BAD_PRINTER, **slips: float) -> dict[str, Bar]:
    """Return the readings of a page; a keyword adds millimetres to one of them."""
    bars = {
        name: Bar(vector=v, measured=made.length(v), standard=0.15) for name, v in DRAWN.items()
    }
    for name, slip in slips.items():
        key = name.replace("_", "-")
        bars[key] = replace(bars[key], measured=bars[key].measured + slip)
    return bars


def test_the_honest_readings_of_a_bad_printer_raise_no_question() -> None:
    """Asking about a true reading sends the user round in circles."""
    rng = np.random.default_rng(7)
    for _ in range(200):
        made = Distortion(
            scale_x=rng.uniform(0.94, 1.03),
            scale_y=rng.uniform(0.94, 1.03),
            skew=math.radians(rng.uniform(-0.5, 0.5)),
        )
        if abs(math.log(made.scale_x / made.scale_y)) > 0.035:
            continue
        bars = {n: replace(b, measured=round(b.measured * 2) / 2) for n, b in page(made).items()}
        assert questions(bars) == ()


def test_a_page_fitted_to_another_paper_is_believed() -> None:
    """A4 art on Letter is 0.94 of its size: common, and no slip of the rule."""
    assert questions(page(Distortion(scale_x=0.9407, scale_y=0.9407))) == ()


@pytest.mark.parametrize("scale", [0.89, 0.9122, 0.925, 1.11])
def test_a_page_fitted_with_the_printers_own_margins_is_believed(scale: float) -> None:
    """Its guides are good: a question in place of the verdict would throw them away."""
    bars = page(Distortion(scale_x=scale, scale_y=scale * 1.003))
    bars = {n: replace(b, measured=round(b.measured * 2) / 2) for n, b in bars.items()}
    assert questions(bars) == ()


def test_one_bar_that_is_a_tenth_short_is_still_asked_about() -> None:
    """A slip of 10 mm looks like a fitted page as long as nothing else was measured."""
    for slipped in (["bar-x"], ["bar-x", "bar-y"]):
        bars = {n: b for n, b in page(Distortion()).items() if n in slipped}
        bars["bar-x"] = replace(bars["bar-x"], measured=bars["bar-x"].measured - 12.0)
        (question,) = questions(bars)
        assert question.readings == ("bar-x",)


def test_no_reading_raises_no_question() -> None:
    """Nothing measured is not a mistake."""
    assert questions({}) == ()


def test_two_bars_written_down_for_one_another_are_recognised() -> None:
    """Swapped bars of unlike length would become a stretch of 20 %."""
    bars = page()
    bars["bar-x"], bars["bar-y"] = (
        replace(bars["bar-x"], measured=bars["bar-y"].measured),
        replace(bars["bar-y"], measured=bars["bar-x"].measured),
    )
    (question,) = questions(bars)
    assert question.likely == "swapped"
    assert set(question.readings) == {"bar-x", "bar-y"}


def test_two_bars_of_nearly_one_length_are_recognised_as_swapped_by_the_rest() -> None:
    """The 100 mm and the 4 in bar lie side by side, and differ by no more than a bad print."""
    true = Distortion()
    bars = page(true)
    bars["metric"] = Bar(vector=(100.0, 0.0), measured=101.6, standard=0.05)
    bars["inch"] = Bar(vector=(101.6, 0.0), measured=100.0, standard=0.05)
    (question,) = questions(bars)
    assert question.likely == "swapped"
    assert set(question.readings) == {"metric", "inch"}


@pytest.mark.parametrize(
    ("factor", "words"),
    [(1 / 25.4, "inches"), (25.4, "millimetres"), (0.1, "centimetres"), (10.0, "millimetres")],
)
def test_a_reading_in_another_unit_is_recognised(factor: float, words: str) -> None:
    """3.94 for a 100 mm bar is the bar in inches, not a printer gone mad."""
    bars = page()
    bars["bar-x"] = replace(bars["bar-x"], measured=bars["bar-x"].measured * factor)
    (question,) = questions(bars)
    assert question.likely == "unit"
    assert question.readings == ("bar-x",)
    assert words in str(question.text)


@pytest.mark.parametrize("name", sorted(DRAWN))
@pytest.mark.parametrize("slip", [10.0, -10.0, 5.0, -5.0])
def test_a_slip_along_the_rule_is_recognised_and_named(name: str, slip: float) -> None:
    """Averaged in, a slip on one diagonal becomes a skew of degrees in the next print."""
    (question,) = questions(page(**{name.replace("-", "_"): slip}))
    assert question.likely == "slip"
    assert question.readings == (name,)
    assert f"{abs(slip):g} mm" in str(question.text)


def test_a_slip_on_one_of_two_bars_is_recognised_without_diagonals() -> None:
    """Most people measure the two bars and nothing else."""
    true = Distortion(scale_x=1.003, scale_y=0.998)
    bars = {n: bar for n, bar in page(true, bar_y=-5.0).items() if n.startswith("bar")}
    (question,) = questions(bars)
    assert question.likely == "slip"
    assert question.readings == ("bar-y",)


def test_diagonals_that_contradict_the_bars_are_asked_about() -> None:
    """Both diagonals 5 mm short with true bars: no printer does that, so no correction for it."""
    (question,) = questions(page(diagonal_1=-5.0, diagonal_2=-5.0))
    assert question.likely == "contradiction"
    assert "diagonals" in str(question.text)


@pytest.mark.parametrize(("bars", "diagonals"), [(0.985, 1.0), (1.0, 0.985), (1.012, 0.99)])
def test_bars_and_diagonals_that_each_agree_are_asked_about_together(
    bars: float, diagonals: float
) -> None:
    """Blaming one bar sends the user to read it anew, and he reads the same again."""
    taken = {
        name: Bar(
            vector=v,
            measured=math.hypot(*v) * (bars if name.startswith("bar") else diagonals),
            standard=0.15,
        )
        for name, v in DRAWN.items()
    }
    (question,) = questions(taken)
    assert question.readings == tuple(DRAWN)
    assert question.likely == "contradiction"
    assert f"bar-x and bar-y agree on {bars:.2%}" in str(question.text)
    assert f"diagonal-1 and diagonal-2 agree on {diagonals:.2%}" in str(question.text)
    assert "cannot be told" in str(question.text)


@pytest.mark.parametrize(("apart", "asked"), [(1.016, True), (1.03, False)])
def test_bars_that_are_all_long_by_the_inch_bar_are_asked_about_by_name(
    apart: float, asked: bool
) -> None:
    """The 4 in bar lies beside the 100 mm one and is 1.6 % longer: 101.6 to 100, derived."""
    taken = {
        name: Bar(
            vector=v,
            measured=math.hypot(*v) * (apart if name.startswith("bar") else 1.0),
            standard=0.15,
        )
        for name, v in DRAWN.items()
    }
    (question,) = questions(taken)
    assert ("the 4 in bar and the 100 mm bar" in str(question.text)) == asked


def test_two_readings_of_four_that_do_not_agree_are_no_group() -> None:
    """A single slip keeps its own question, however the others fall."""
    (question,) = questions(page(Distortion(), bar_x=2.5))
    assert question.readings == ("bar-x",)


def test_two_pairs_that_do_not_agree_within_themselves_are_not_said_to() -> None:
    """Told that two readings agree which do not, nobody believes the rest of the sentence."""
    ratios = dict(zip(DRAWN, (0.965, 0.98, 1.0, 1.015), strict=True))
    taken = {
        n: Bar(vector=v, measured=math.hypot(*v) * ratios[n], standard=0.05)
        for n, v in DRAWN.items()
    }
    (question,) = questions(taken)
    assert "agree on" not in str(question.text)


def test_a_corner_that_no_printer_bends_so_far_is_asked_about() -> None:
    """Both diagonals taken in one wrong way fit each other, and would skew the next print."""
    made = Distortion(skew=math.radians(1.4))
    (question,) = questions(page(made))
    assert question.likely == "contradiction"
    assert questions(page(Distortion(skew=math.radians(0.8)))) == ()


@pytest.mark.parametrize("scale", [0.87, 0.5])
def test_a_cut_sheet_is_never_sent_to_a_print_dialog(scale: float) -> None:
    """A laser has no "actual size"; its program asks for a unit when it imports the file."""
    made = Distortion(scale_x=scale, scale_y=scale)
    bars = {n: b for n, b in page(made).items() if n.startswith("bar")}
    lone = {"bar-x": bars["bar-x"]}
    for taken in (bars, lone):
        for question in questions(taken, printed=False):
            assert "print" not in str(question.text)
            assert "millimetres" in str(question.text)
        assert any("print" in str(q.text) for q in questions(taken))


def test_a_page_scaled_all_over_is_named_as_such() -> None:
    """A page at 87 % was printed for another paper; four separate questions would hide that."""
    (question,) = questions(page(Distortion(scale_x=0.8722, scale_y=0.8722)))
    assert question.likely == "scale"
    assert "87.2%" in str(question.text)
    assert set(question.readings) == set(DRAWN)


def test_a_lone_reading_that_nothing_explains_is_asked_about() -> None:
    """Half the length of a bar is somebody's other bar."""
    bars = page()
    bars["bar-x"] = replace(bars["bar-x"], measured=47.0)
    (question,) = questions(bars)
    assert question.likely == "scale"


def test_wild_readings_end_in_a_question_and_never_in_a_crash() -> None:
    """Whatever is typed in the workshop, the answer is which bar to measure again."""
    rng = np.random.default_rng(11)
    factors = (1.0, 1 / 25.4, 25.4, 10.0, 0.1)
    for _ in range(300):
        bars = {
            name: Bar(
                vector=v,
                measured=math.hypot(*v) * rng.choice(factors) * rng.uniform(0.2, 2.0),
                standard=float(rng.choice([0.001, 0.15, 3.0])),
            )
            for name, v in DRAWN.items()
        }
        asked = questions(bars)
        assert asked
        assert {name for question in asked for name in question.readings} <= set(DRAWN)


def test_a_cut_piece_is_sent_neither_to_a_printer_nor_to_an_import() -> None:
    """A calliper on a cut piece knows of no print dialog: the reading itself was mistyped."""
    bar = {"A-D": Bar(vector=(58.0, 0.0), measured=38.7, standard=0.02)}
    (question,) = questions(bar, printed=False, finished=True)
    assert "further off than anyone cuts" in str(question.text)
    assert not any(word in str(question.text) for word in ("print", "import", "paper", "machine"))
    (unit,) = questions({"A-D": replace(bar["A-D"], measured=58.0 / 25.4)}, printed=False,
                        finished=True)  # fmt: skip
    assert "inches" in str(unit.text)
    assert "imported" not in str(unit.text)


def test_a_length_aslant_on_a_bed_may_mean_axes_that_are_not_square() -> None:
    """Only "is it the right bar?" sends whoever read it well back to read it well again."""
    bars = {n: b for n, b in page(Distortion()).items() if n != "diagonal-2"}
    bars["diagonal-1"] = replace(bars["diagonal-1"], measured=bars["diagonal-1"].measured * 1.024)
    (bed,) = questions(bars, printed=False)
    assert "if it is so, the axes of the machine are not square: square them" in str(bed.text)
    (paper,) = questions(bars)
    assert "machine" not in str(paper.text)


def test_ten_times_the_bar_is_no_centimetre() -> None:
    """1000 for a bar of 101.6 is a decimal point lost; the remedy names the bar that was read."""
    (question,) = questions({"bar-x-in": Bar(vector=(101.6, 0.0), measured=1016.0, standard=0.15)})
    assert "a decimal point lost" in str(question.text)
    assert '"101.6 mm"' in str(question.text)


def test_along_an_inch_rule_the_slip_is_half_an_inch() -> None:
    """Nobody misreads a rule in inches by 10 mm; told so, he looks for the wrong mistake."""
    bars = page(Distortion(), bar_y=-12.7)
    (inch,) = questions(bars, units="in")
    assert (inch.likely, inch.readings) == ("slip", ("bar-y",))
    assert "a slip of 1/2 in along the rule" in str(inch.text)
    (metric,) = questions(bars)
    assert metric.likely != "slip"


@pytest.mark.parametrize(
    ("apart", "names"),
    [(0.985, ("page 2", "page 3")), (0.9975, ()), (1.0, ())],
)
def test_pages_are_unlike_only_beyond_what_their_readings_leave_in_doubt(
    apart: float, names: tuple[str, ...]
) -> None:
    """Pooled, a fitted page spoils its neighbour; refused for a hair, nobody gets a reprint."""
    pages = {"page 2": page(Distortion()), "page 3": page(Distortion(scale_x=apart, scale_y=apart))}
    assert unlike(pages) == names


def test_an_axis_that_only_one_page_was_measured_along_tells_nothing_of_the_other() -> None:
    """An assumption is no reading: two pages must not be called unlike by it."""
    half = {"bar-x": page(Distortion())["bar-x"]}
    stretched = page(Distortion(scale_y=1.03))
    assert unlike({"page 2": half, "page 3": stretched}) == ()


def bed(**lengths: float) -> dict[str, Bar]:
    """Return calliper readings of two 50 mm bars of a bed, and of the length between their ends."""
    drawn = {"bar_x": (50.0, 0.0), "bar_y": (0.0, 50.0), "bar_to_bar": (49.844, 49.844)}
    return {
        f"guide-a1/{name.replace('_', '-')}-50-mm" if "to" not in name else "guide-a1/bar-to-bar": (
            Bar(vector=drawn[name], measured=mm, standard=0.015)
        )
        for name, mm in lengths.items()
    }


@pytest.mark.parametrize(
    ("taken", "asked"),
    [
        ({"bar_x": 50.8, "bar_y": 50.8, "bar_to_bar": 70.31}, ["bar-x", "bar-y"]),
        ({"bar_x": 50.8, "bar_y": 50.8}, ["bar-x", "bar-y"]),
        ({"bar_x": 50.8, "bar_y": 50.0}, ["bar-x"]),
        ({"bar_x": 50.8}, ["bar-x"]),
        # The length aslant grew too: the bed is 1.6 % large, and nothing was misread.
        ({"bar_x": 50.8, "bar_y": 50.8, "bar_to_bar": 71.62}, []),
        ({"bar_x": 50.2, "bar_y": 50.3}, []),
    ],
)
def test_the_2_in_bar_read_for_the_50_mm_one_is_asked_about_and_no_good_reading(
    taken: dict[str, float], asked: list[str]
) -> None:
    """Blamed for it, the one right reading is measured again, and the machine squared for nothing.

    2 in is 50.8 mm: derived.
    """
    found = questions(bed(**taken), printed=False)
    assert [name for q in found for name in q.readings] == [f"guide-a1/{n}-50-mm" for n in asked]
    for question in found:
        assert "that is the length of the 2 in bar" in str(question.text)
        assert "not square" not in str(question.text)


def test_a_metric_bar_read_for_the_inch_bar_is_asked_about_too() -> None:
    """The slip goes either way: 50 mm on the line of the 2 in bar is a bed 1.6 % small."""
    bars = {"guide-a1/bar-x-2-in": Bar(vector=(50.8, 0.0), measured=50.0, standard=0.015)}
    (question,) = questions(bars, printed=False)
    assert "that is the length of the 50 mm bar" in str(question.text)
    assert "1.6% small" in str(question.text)


def test_a_whole_bed_of_misread_bars_is_asked_about_without_a_wait() -> None:
    """Every choice among thirty bars would be tried for longer than the cutting took."""
    bars = {
        f"p{n}/bar-{axis}-50-mm": Bar(
            vector=(50.0, 0.0) if axis == "x" else (0.0, 50.0), measured=50.8, standard=0.015
        )
        for n in range(15)
        for axis in "xy"
    }
    (question,) = questions(bars, printed=False)
    assert len(question.readings) == 30
