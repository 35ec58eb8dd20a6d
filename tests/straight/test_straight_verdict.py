"""From readings to a verdict, in words, and what is advised."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jiggen.errors import JobError
from jiggen.straight.advice import advice, named_bows
from jiggen.straight.as_json import straight_as_json
from jiggen.straight.judge import BEYOND, CANNOT_TELL, NO_LIMIT, WITHIN, Judged, judge
from jiggen.straight.plot import plot_lines
from jiggen.straight.read import read_survey_text
from jiggen.straight.words import straight_text
from jiggen.terminal import Terminal

BOW = "position (mm),deviation (mm)\n0,0\n150,0.3\n300,0.4\n450,0.3\n600,0\n"
WAVE = "position (mm),deviation (mm)\n0,0\n150,0.2\n300,0\n450,-0.2\n600,0\n"
TURNED = "position (mm),deviation (mm),turned (mm)\n0,0,0\n1,0.5,0.1\n2,0.6,-0.2\n3,0,0\n"
TWISTED = "position (mm),front (mm),rear (mm)\n0,0,0\n100,0.6,0.4\n200,0.5,0.1\n300,0.3,-0.3\n"
FACES = "position (mm),upper (mm),lower (mm)\n0,0,0\n100,0.3,-0.1\n200,0.4,-0.2\n300,0,0\n"

SCREEN = Terminal(width=80)


def judged(text: str, **options: str) -> Judged:
    """Return the verdict on a table."""
    return judge(read_survey_text(text, "edge.csv", options))


def words(text: str, **options: str) -> str:
    """Return the whole report on one line."""
    return " ".join(straight_text(judged(text, **options), SCREEN).split())


@pytest.mark.parametrize(
    ("limit", "step", "verdict"),
    [
        ("0.4", "", WITHIN),
        ("0.3999", "", BEYOND),
        ("0.5", "0.1", WITHIN),
        ("0.49", "0.1", CANNOT_TELL),
        ("0.4", "0.1", CANNOT_TELL),
        ("0.3", "0.1", CANNOT_TELL),
        ("0.29", "0.1", BEYOND),
        ("", "0.1", NO_LIMIT),
        ("", "", NO_LIMIT),
    ],
)
def test_the_verdict_turns_at_the_limit_and_at_a_step_on_either_side(
    limit: str, step: str, verdict: str
) -> None:
    """Too kind a verdict flies a bent edge; too hard a one scraps a good one."""
    found = judged(BOW, limit=limit, step=step)
    assert found.verdict == verdict
    assert found.is_good == (verdict in (WITHIN, NO_LIMIT))
    assert verdict.upper() in straight_text(found, SCREEN)


@given(
    st.floats(0.05, 1.0),
    st.floats(0.01, 0.3),
    st.lists(st.floats(-0.5, 0.5), min_size=5, max_size=5),
)
def test_a_sure_verdict_holds_whatever_the_true_edge_is_within_half_a_step(
    limit: float, step: float, errors: list[float]
) -> None:
    """Within and beyond are promises about the edge, not about the readings."""
    found = judged(BOW, limit=f"{limit} mm", step=f"{step} mm")
    true = [y + step * e for y, e in zip((0.0, 0.3, 0.4, 0.3, 0.0), errors, strict=True)]
    rows = "".join(f"{150 * n},{y:.12f}\n" for n, y in enumerate(true))
    width = judged("position (mm),deviation (mm)\n" + rows).held.value
    if found.verdict == WITHIN:
        assert width <= limit + 1e-9
    if found.verdict == BEYOND:
        assert width > limit - 1e-9


def test_a_limit_off_the_line_through_the_ends_counts_one_side() -> None:
    """On an S the zone is wider than what a straightedge across the ends shows."""
    # By hand: the strip lies along (150, 0.2) and (600, 0); at 450 it is 0.2/3 + 0.2 high.
    assert judged(WAVE).held.value == pytest.approx(0.8 / 3.0)
    assert judged(WAVE, limit_on="ends").held.value == pytest.approx(0.2)
    assert judged(WAVE, limit_on="ends", limit="0.2").verdict == WITHIN
    assert judged(WAVE, limit_on="zone", limit="0.2").verdict == BEYOND


def test_a_limit_for_a_length_is_held_against_the_worst_such_stretch() -> None:
    """A long edge may bow by more than any one stretch of it may."""
    found = judged(BOW, over="300", limit="0.2")
    assert found.verdict == WITHIN
    assert found.held.value == pytest.approx(0.1)
    assert found.stretch in ((0.0, 300.0), (150.0, 450.0), (300.0, 600.0))
    with pytest.raises(JobError, match="no such stretch holds three readings"):
        judged(BOW, over="200")


def test_a_turned_straightedge_takes_its_own_bow_out_before_the_verdict() -> None:
    """The edge here is off by 0.3; a bent rod alone would make it 0.6."""
    found = judged(TURNED, limit="0.35")
    assert found.lines["deviation"].off.tolist() == pytest.approx([0.0, 0.3, 0.2, 0.0])
    assert found.own is not None
    assert found.own.off.tolist() == pytest.approx([0.0, 0.2, 0.4, 0.0])
    assert found.verdict == WITHIN
    assert "The straightedge is off by 0.40 mm of its own at 2.0 mm; that is taken out." in words(
        TURNED
    )


def test_front_and_rear_give_bow_and_twist_with_its_sign() -> None:
    """Untwisting the wrong way doubles it."""
    found = judged(TWISTED, apart="60", step="0.02", twist_limit="0.4", limit="5")
    assert found.twist is not None
    assert found.twist.end_to_end == pytest.approx(math.atan(0.6 / 60.0))
    assert found.bow is not None
    assert found.bow.off.tolist() == pytest.approx([0.0, 0.5, 0.3, 0.0])
    assert found.twist_held is not None
    assert found.twist_held.doubt == pytest.approx(4 * 0.01 / 60.0)
    assert found.twist_held.verdict == BEYOND
    assert found.verdict == BEYOND
    said = words(TWISTED, apart="60", twist_limit="0.4")
    assert "the front line goes up against the rear one by 0.57 deg" in said
    assert "The section turns by 0.57 deg; the limit is 0.40 deg: beyond the limit." in said
    assert "hold front and rear line down on a flat surface" in said
    assert "has no angle" in words(TWISTED)


def test_two_straightedges_show_no_steady_twist() -> None:
    """Each lies on its own ends; what they cannot know is not said."""
    steady = "position (mm),front (mm),rear (mm)\n0,0,0\n100,0.5,0.1\n200,0.8,0\n300,0.6,-0.6\n"
    found = judged(steady, apart="60", datum="each")
    assert found.twist is not None
    assert found.twist.end_to_end == pytest.approx(0.0)
    assert "Beside a steady twist, which two straightedges cannot show" in words(
        steady, apart="60", datum="each"
    )


def test_two_faces_give_bow_and_thickness_and_no_twist() -> None:
    """A hump on one face with a hollow on the other is a bow."""
    found = judged(FACES)
    assert found.bow is not None
    assert found.bow.off.tolist() == pytest.approx([0.0, 0.2, 0.3, 0.0])
    assert found.thickness_change is not None
    assert found.thickness_change.tolist() == pytest.approx([0.0, 0.2, 0.2, 0.0])
    assert "The middle bows toward the upper face by 0.30 mm at 200.0 mm." in words(FACES)
    assert "changes by 0.20 mm along the edge" in words(FACES)


def test_the_advice_names_the_place_and_the_way_of_the_largest_bow() -> None:
    """Pinned elsewhere, or riveted from the wrong side, the edge goes farther off."""
    said = " ".join(advice(judged(BOW)))
    assert "Pin first at 300.0 mm, where it bows up" in said
    assert "Form the next shop heads near 300.0 mm on the other side (down)" in said
    assert "Common practice, no published source." in said
    gaps = " ".join(advice(judged(BOW, ways="down,up")))
    assert "where it bows down" in gaps
    assert "Form the next shop heads near 300.0 mm on the other side (up)" in gaps
    sideways = " ".join(advice(judged(BOW, ways="forward,aft")))
    assert "shop heads" not in sideways  # these ways are not the two skins
    assert [(b.at, b.way) for b in named_bows(judged(WAVE))] == [(150.0, "up"), (450.0, "down")]


def test_an_edge_within_its_step_is_not_said_to_bow() -> None:
    """Pinning what the feeler blade cannot tell chases noise."""
    found = judged(BOW, step="0.5", limit="2")
    assert named_bows(found) == []
    assert "has no bow that these readings show" in words(BOW, step="0.5", limit="2")


def test_a_slip_and_exchanged_columns_are_asked_about() -> None:
    """Read again is cheaper than drill out."""
    rows = "".join(f"{100 * n},{'0.5' if n == 4 else '0.0'}\n" for n in range(9))
    said = words("position (mm),deviation (mm)\n" + rows)
    assert "Read deviation at 400.0 mm again" in said
    exchanged = words("position (mm),deviation (mm)\n0,0\n0.1,100\n0.2,200\n0.15,300\n")
    assert "are position and deviation in their own columns and units?" in exchanged


def test_without_a_step_the_report_says_that_it_takes_readings_as_exact() -> None:
    """A verdict without its doubt looks surer than it is."""
    assert "taken as exact" in words(BOW, limit="1")
    assert "taken as exact" not in words(BOW, limit="1", step="0.05")
    assert "Take the limit from the plans" in words(BOW)


def test_the_report_is_said_in_the_units_of_the_readings() -> None:
    """Inches on the plan, inches on the screen."""
    inches = BOW.replace("(mm)", "(in)")
    said = words(inches, limit="0.5", step="1/64 in")
    assert "0.4000 in, give or take 0.0156 in; the limit is 0.5000 in: within the limit." in said
    assert " mm" not in said


def test_json_is_in_mm_and_degrees_whatever_the_units() -> None:
    """A program must not have to guess."""
    inches = TWISTED.replace("(mm)", "(in)")
    record = straight_as_json(judged(inches, apart="60", limit="0.7", twist_limit="9"), ["a.svg"])
    assert record["lines"]["front"]["position"][-1] == pytest.approx(300 * 25.4)
    widths = {name: line["minimum_zone"]["width"] for name, line in record["lines"].items()}
    assert record["held"]["value"] == max(widths.values()) == widths[record["worst_line"]]
    assert record["held"]["limit"] == pytest.approx(0.7 * 25.4)
    assert record["twist"]["end_to_end"] == pytest.approx(math.degrees(math.atan(0.01)))
    assert record["twist_held"]["limit"] == pytest.approx(9.0)
    assert (record["verdict"], record["written"]) == (WITHIN, ["a.svg"])
    assert set(record["lines"]) == {"front", "rear"}


def test_a_twist_whose_angle_is_not_known_is_told_all_the_same() -> None:
    """Two straight lines that part by a millimetre are no straight edge."""
    said = words(TWISTED, limit="2")
    assert "the front line goes up against the rear one by 0.60 mm: the section turns" in said
    assert "give --apart" in said
    assert "the section turns" not in words(TWISTED, limit="2", datum="each")


def test_a_plot_of_gaps_says_which_way_is_up_on_it() -> None:
    """A hollow drawn as a hump is pinned from the wrong side."""
    assert any(line.strip() == "^ down" for line in plot_lines(judged(BOW, ways="down,up"), 80))
    assert not any("^" in line for line in plot_lines(judged(BOW), 80))
