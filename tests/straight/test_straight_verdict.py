"""From readings to a verdict, in words, and what is advised."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jiggen.errors import JobError
from jiggen.report.terminal import Terminal
from jiggen.straight.chart import plot_lines
from jiggen.straight.judge import BEYOND, CANNOT_TELL, NO_LIMIT, WITHIN, Judged, hold_gap, judge
from jiggen.straight.read import read_survey_text
from jiggen.straight.report import advice, gap_text, named_bows, straight_as_json, straight_text

BOW = "position (mm),height (mm)\n0,0\n150,0.3\n300,0.4\n450,0.3\n600,0\n"
WAVE = "position (mm),height (mm)\n0,0\n150,0.2\n300,0\n450,-0.2\n600,0\n"
TURNED = "position (mm),height (mm),turned height (mm)\n0,0,0\n1,0.5,0.1\n2,0.6,-0.2\n3,0,0\n"
PAIR = "position (mm),front height (mm),rear height (mm)\n"
TWISTED = f"{PAIR}0,0,0\n100,0.6,0.4\n200,0.5,0.1\n300,0.3,-0.3\n"
FACES = "position (mm),upper height (mm),lower height (mm)\n0,0,0\n"
FACES += "100,0.3,-0.1\n200,0.4,-0.2\n300,0,0\n"

SCREEN = Terminal(width=80)


def judged(text: str, **options: str) -> Judged:
    """Return the verdict on a table."""
    return judge(read_survey_text(text, "edge.csv", options))


def words(text: str, **options: str) -> str:
    """Return the whole report on one line."""
    return " ".join(straight_text(judged(text, **options), SCREEN, everything=True).split())


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
    assert straight_text(found, SCREEN).startswith(f"{verdict.upper()}\n")


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
    width = judged("position (mm),height (mm)\n" + rows).held.value
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
    assert "The straightedge's own error is 0.40 mm at 2.0 mm; it is taken out." in words(TURNED)


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
    assert "For the angle give --apart." in words(TWISTED)


def test_two_straightedges_show_no_steady_twist() -> None:
    """Each lies on its own ends; what they cannot know is not said."""
    steady = f"{PAIR}0,0,0\n100,0.5,0.1\n200,0.8,0\n300,0.6,-0.6\n"
    found = judged(steady, apart="60", datum="each")
    assert found.twist is not None
    assert found.twist.end_to_end == pytest.approx(0.0)
    assert "beside a steady twist, which two straightedges cannot show" in words(
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
    assert "thickness over both faces changes by 0.20 mm." in words(FACES)


def test_the_advice_names_the_place_and_the_way_of_the_largest_bow() -> None:
    """Fastened elsewhere, or riveted from the wrong side, the edge goes farther off."""
    said = " ".join(advice(judged(BOW)))
    assert "Put the first temporary fastener at 300.0 mm, where it bows up" in said
    assert "Form the next shop heads near there pointing down" in said
    assert "common practice, no published source" in words(BOW)
    gaps = " ".join(advice(judged(BOW, ways="down,up")))
    assert "where it bows down" in gaps
    assert "Form the next shop heads near there pointing up" in gaps
    sideways = " ".join(advice(judged(BOW, ways="forward,aft")))
    assert "shop heads" not in sideways  # these ways are not the two skins
    assert [(b.at, b.way) for b in named_bows(judged(WAVE))] == [(150.0, "up"), (450.0, "down")]


def test_an_edge_within_its_step_is_not_said_to_bow() -> None:
    """Fastening what the feeler blade cannot tell chases noise."""
    found = judged(BOW, step="0.5", limit="2")
    assert named_bows(found) == []
    assert "has no bow that these readings show" in words(BOW, step="0.5", limit="2")


def test_a_slip_and_exchanged_columns_are_asked_about() -> None:
    """Read again is cheaper than drill out."""
    rows = "".join(f"{100 * n},{'0.5' if n == 4 else '0.0'}\n" for n in range(9))
    said = words("position (mm),height (mm)\n" + rows)
    assert "Read the edge at 400.0 mm again" in said
    exchanged = words("position (mm),height (mm)\n0,0\n0.1,100\n0.2,200\n0.15,300\n")
    assert "are position and reading in their own columns and units?" in exchanged


def test_without_a_step_the_report_says_that_it_takes_readings_as_exact() -> None:
    """A verdict without its doubt looks surer than it is."""
    assert "taken as exact" in words(BOW, limit="1")
    assert "taken as exact" not in words(BOW, limit="1", step="0.05")
    assert "Take the limit from the plans" in words(BOW)


def test_the_report_is_said_in_the_units_of_the_readings() -> None:
    """Inches on the plan, inches on the screen."""
    inches = BOW.replace("(mm)", "(in)")
    said = words(inches, limit="0.5", step="1/64 in")
    assert "0.4000 in, give or take 0.0156 in; the limit is 0.5000 in." in said
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
    """A hollow drawn as a hump is fastened from the wrong side."""
    assert any(line.strip() == "^ down" for line in plot_lines(judged(BOW, ways="down,up"), 80))
    assert not any("^" in line for line in plot_lines(judged(BOW), 80))


def test_equal_lines_with_a_reading_left_out_of_each_do_not_twist() -> None:
    """By number in the list and not by place, equal lines were told to twist by 1.60 mm."""
    rows = [(0.0, 0.0), (0.4, 0.4), (0.8, None), (1.2, 1.2), (None, 1.6), (2.0, 2.0)]
    lines = (",".join(["" if v is None else str(v) for v in row]) for row in rows)
    text = PAIR + "".join(f"{n}00,{row}\n" for n, row in enumerate(lines))
    for left_out in (text, text.replace("400,,1.6\n", "")):
        found = judged(left_out)
        assert found.parting is not None
        assert found.parting.tolist() == [0.0] * 4
        assert "the section turns" not in words(left_out)
        assert judged(left_out, apart="60").twist.largest == 0.0  # type: ignore[union-attr]


def table(*columns: str, rows: str) -> str:
    """Return a table in mm."""
    return ",".join(f"{name} (mm)" for name in ("position", *columns)) + f"\n{rows}"


HOLLOW = table("gap", rows="0,0\n250,0.3\n500,0.4\n750,0.3\n1000,0\n")
HUMP = table("gap", rows="0,0.4\n250,0.1\n500,0\n750,0.1\n1000,0.4\n")


def test_a_hollow_bows_away_from_the_straightedge_and_a_hump_toward_it() -> None:
    """Gaps typed as heights made of one the other, and sent the pull the wrong way."""
    for text, value, way in ((HOLLOW, -0.4, "away from"), (HUMP, 0.4, "toward")):
        found = judged(text, limit="0.4")
        assert (found.verdict, found.held.at_most) == (WITHIN, None)
        (bow,) = named_bows(found)
        assert (bow.at, bow.value) == (500.0, pytest.approx(value))
        assert bow.way == f"{way} the straightedge"
        kind = "hump" if value > 0 else "hollow"
        assert f"bows {way} the straightedge ({kind}) by 0.40 mm at 500.0 mm" in words(text)
        assert [line["deviation"] for line in straight_as_json(found)["lines"].values()] == [
            [-gap for gap in (0.0, 0.3, 0.4, 0.3, 0.0)]
            if value < 0
            else [-gap for gap in (0.4, 0.1, 0.0, 0.1, 0.4)]
        ]


def test_a_straightedge_left_to_fall_to_one_side_gives_the_same_verdict() -> None:
    """Pressed down at one end of a hump of 0.4 it shows 1.2 at the other; the edge is the same."""
    fallen = table("gap", rows="0,1.2\n250,0.6\n500,0.2\n750,0\n1000,0\n")
    for text in (fallen, HUMP):
        found = judged(text, limit="0.4")
        assert found.held.value == pytest.approx(0.4)
        assert found.verdict == WITHIN
    # Touching between two places, it might hide there what nobody read.
    between = table("gap", rows="0,1.6\n250,0.9\n500,0.4\n750,0.1\n1000,0\n")
    assert judged(between, limit="0.4").verdict == CANNOT_TELL
    assert "Rock it until its largest gap is smallest" in words(between, limit="0.4")


@pytest.mark.parametrize(
    ("limit", "verdict"), [("0.31", WITHIN), ("0.29", CANNOT_TELL), ("0.09", BEYOND)]
)
def test_three_gaps_between_the_ends_are_not_taken_for_the_whole_edge(
    limit: str, verdict: str
) -> None:
    """Alone they lie in a strip of 0.10; with the ends, where it touches, in one of 0.30."""
    text = table("gap", rows="250,0.2\n500,0.3\n750,0.2\n")
    found = judged(text, limit=limit)
    assert found.held.value == pytest.approx(0.1)
    assert found.held.at_most == pytest.approx(0.3)
    assert found.verdict == verdict
    assert "at least 0.10 mm" in words(text, limit=limit).replace("0.100", "0.10")
    assert straight_as_json(found)["held"]["at_most"] == pytest.approx(0.3)
    ends = text + "0,0\n1000,0\n"
    assert judged(ends, limit="0.29").verdict == BEYOND
    blades = table("go", "no go", rows="250,0.2,0.25\n500,0.3,0.35\n750,0.2,0.25\n")
    assert judged(blades, limit="0.35").verdict == WITHIN
    assert judged(blades, limit="0.34").verdict == CANNOT_TELL


def test_a_hump_held_level_by_hand_is_not_nagged_about_and_not_flattered() -> None:
    """End gaps of 0.40 and 0.38 are as equal as a hand holds them; the limit counts the same."""
    text = HUMP.replace("1000,0.4", "1000,0.38")
    assert "It can be as wide as" not in words(text, limit="0.5")
    assert judged(text, limit="0.395").verdict == CANNOT_TELL
    assert "It can be as wide as the largest gap, 0.40 mm" in words(text, limit="0.395")


def test_both_ways_up_the_straightedge_is_told_from_the_edge() -> None:
    """The edge bows 0.3 toward B; the straightedge, hollow by 0.1, would make it 0.4 or 0.2."""
    text = table(
        "gap a", "gap b", rows="0,0,0.2\n250,0.3,0.05\n500,0.4,0\n750,0.3,0.05\n1000,0,0.2\n"
    )
    found = judged(text, limit="0.3")
    assert found.lines["deviation"].largest.value == pytest.approx(-0.3)
    assert found.own is not None
    assert abs(found.own.largest.value) == pytest.approx(0.1)
    assert found.verdict == WITHIN
    said = words(text)
    assert "The edge bows toward side B (hollow with side A up) by 0.30 mm at 500.0 mm." in said
    assert "(with half of any change of thickness) is 0.10 mm at 500.0 mm; it is taken out." in said
    assert "shop heads near there pointing toward side A" in said
    assert "5 places from 0.0 mm to 1000.0 mm, gaps, read again turned over." in said


@pytest.mark.parametrize(
    ("gaps", "limit", "verdict"),
    [
        ((0.5,), 0.5, WITHIN),
        ((0.5,), 0.49, CANNOT_TELL),
        ((0.45, 0.5), 0.5, WITHIN),
        ((0.45, 0.5), 0.49, CANNOT_TELL),
        ((0.45, 0.5), 0.45, CANNOT_TELL),
        ((0.45, 0.5), 0.44, BEYOND),
        ((0.45, 0.5), None, NO_LIMIT),
    ],
)
def test_one_blade_or_two_judge_the_edge_by_what_it_can_be(
    gaps: tuple[float, ...], limit: float | None, verdict: str
) -> None:
    """Nothing over X goes: X at most. X goes, Y does not: X or more, and less than Y."""
    held = hold_gap(gaps, limit)
    assert held.verdict == verdict
    said = " ".join(gap_text(gaps, held, "mm", SCREEN).split())
    first = (
        "Nothing over 0.50 mm goes under" if len(gaps) == 1 else "0.45 mm goes, 0.50 mm does not"
    )
    assert said.startswith(f"{verdict.upper()} {first}")
    assert "rocked until its largest gap was smallest" in said
    assert "Pressed flat by its own weight it hides a bow" in said
    assert ("Try a blade of" in said) == (verdict == CANNOT_TELL)


@pytest.mark.parametrize("text", [BOW, WAVE, TURNED, TWISTED, FACES, HOLLOW, HUMP])
@pytest.mark.parametrize(
    "options", [{}, {"limit": "0.2", "step": "0.05"}, {"limit": "0.45"}, {"limit": "5"}]
)
def test_the_answer_fits_on_a_screen_with_the_verdict_first(
    text: str, options: dict[str, str]
) -> None:
    """What it rests on is for those who ask for all of it."""
    found = judged(text, **options)
    lines = straight_text(found, Terminal(width=100)).splitlines()
    assert lines[0] == found.verdict.upper()
    assert len(lines) <= 15
    everything = straight_text(found, Terminal(width=100), everything=True)
    assert "minimum zone" in everything
    assert all(line in everything.splitlines() for line in lines[:4])
