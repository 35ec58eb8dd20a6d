import math
from dataclasses import replace

import numpy as np
import pytest
from verifysamples import ANGLE, corner_points, guide, page, strip

from jiggen.geometry.testhole import TestHole
from jiggen.verify import LengthReading, judge_finished, judge_test_holes

PAIRS = ("AB", "AD", "BD", "BC", "CD")


def taken(angle: float, step: float = 0.05, **slips: float) -> list[LengthReading]:
    """Return what a calliper reads on a guide cut at `angle` degrees."""
    cut = corner_points(angle)
    readings = []
    for p, q in PAIRS:
        true = math.dist(cut[p], cut[q]) + slips.get(f"{p}{q}", 0.0)
        readings.append(
            LengthReading(name=f"{p}-{q}", measured=round(true / step) * step, step=step)
        )
    return readings


def the_guide():
    return page(guide()).pieces[0]


def test_a_well_cut_guide_is_passed_with_its_drift() -> None:
    """The report ends in the number that matters at the hole."""
    verdict = judge_finished(the_guide(), taken(84.4), thickness=4.0)
    angle = verdict.angles[0]
    assert verdict.verdict == "use"
    assert math.degrees(angle.value) == pytest.approx(84.4, abs=math.degrees(angle.plus_minus))
    assert angle.drift == pytest.approx(4.0 * math.tan(angle.value - angle.nominal))
    assert 0.0 < angle.drift_plus_minus < 0.01
    assert set(angle.residuals) == {r.name for r in taken(84.4)}


def test_a_badly_cut_guide_is_refused() -> None:
    """A degree off at the scissors is a degree off in every hole."""
    assert judge_finished(the_guide(), taken(83.2)).verdict == "do not use"


def test_a_guide_at_the_limit_cannot_be_told_with_a_rule() -> None:
    """Half-millimetre readings do not decide a tenth of a degree."""
    verdict = judge_finished(the_guide(), taken(84.7, step=0.5))
    assert verdict.verdict == "cannot tell"
    assert "to decide" in str(verdict.why)


def test_edges_alone_do_not_fix_the_angle() -> None:
    """Without a diagonal the guide may be any parallelogram."""
    edges = [r for r in taken(84.3) if r.name in ("A-B", "C-D")]
    verdict = judge_finished(the_guide(), edges)
    assert verdict.verdict == "cannot tell"
    assert "not determined" in str(verdict.why)


def test_a_slip_along_the_calliper_is_asked_about() -> None:
    """5 mm off is a misread scale, not a piece for the bin."""
    verdict = judge_finished(the_guide(), taken(84.3, BD=5.0))
    assert verdict.verdict == "cannot tell"
    assert verdict.questions[0].readings == ("B-D",)
    assert "5 mm" in str(verdict.why)


def test_contradicting_readings_are_called_out() -> None:
    """A burr under one jaw shows as readings that no shape has."""
    verdict = judge_finished(the_guide(), taken(84.3, BC=0.8))
    assert verdict.verdict == "cannot tell"
    assert "contradict" in str(verdict.why)


def test_nothing_measured_is_no_pass() -> None:
    """An unmeasured piece stays unproved."""
    verdict = judge_finished(the_guide(), [])
    assert verdict.verdict == "cannot tell"
    assert verdict.length_error_worst is None


def test_a_strip_is_judged_by_its_length() -> None:
    """Half a millimetre over the length of a strip is half a hole."""
    piece = page(strip()).pieces[0]
    good = [LengthReading(name="over-all", measured=160.05, step=0.05)]
    short = [LengthReading(name="over-all", measured=159.2, step=0.05)]
    assert judge_finished(piece, good).verdict == "use"
    assert judge_finished(piece, short).verdict == "do not use"


def test_edges_drawn_half_a_kerf_off_are_taken_for_the_corners() -> None:
    """A cut file's edges lie beside the corners that the jaws touch; the angle is the same."""
    record = guide()
    up = np.array([math.cos(math.radians(ANGLE)), math.sin(math.radians(ANGLE))])
    shift = {"base": np.array([0.0, -0.1]), "working": 0.1 * np.array([-up[1], up[0]])}
    for edge, off in shift.items():
        ends = record["angles"][0][edge]
        record["angles"][0][edge] = [tuple(np.add(end, off)) for end in ends]
    verdict = judge_finished(page(record).pieces[0], taken(83.2))
    assert verdict.angles[0].determined
    assert math.degrees(verdict.angles[0].value) == pytest.approx(83.2, abs=0.1)


def holes(tilt_deg: float, count: int = 1, step_standard: float = 0.015) -> list[TestHole]:
    leave = 10 + 20 * math.tan(math.radians(tilt_deg))
    one = TestHole(
        entry=(10.0, 10.0),
        exit=(leave, 10.0),
        thickness=20.0,
        standard=step_standard,
        thickness_standard=0.015,
    )
    return [one] * count


def test_a_test_hole_at_the_guides_own_tilt_passes() -> None:
    """A guide of 84.3 deg on flat scrap drills 5.7 deg off the square, and that is right."""
    good = judge_test_holes(
        holes(5.7),
        allowed_angle=math.radians(0.5),
        intended=(math.radians(5.7), 0.0),
        thickness=3.0,
    )
    assert good.verdict == "use"
    assert good.drift == pytest.approx((0.0, 0.0), abs=1e-9)
    wrong = judge_test_holes(holes(5.7), allowed_angle=math.radians(0.5))
    assert wrong.verdict == "do not use"


def test_a_test_hole_read_with_a_rule_cannot_tell() -> None:
    """Two readings to half a millimetre over 20 mm of scrap leave more than a degree."""
    verdict = judge_test_holes(holes(0.0, step_standard=0.15), allowed_angle=math.radians(0.5))
    assert verdict.verdict == "cannot tell"
    assert "thicker scrap" in str(verdict.why)


def test_what_is_left_over_is_told_only_where_it_says_something() -> None:
    """Rows of zeros under every piece teach the reader to skip the one that is not."""
    (good,) = judge_finished(the_guide(), taken(84.3)).angles
    assert not good.quarrels
    (burr,) = judge_finished(the_guide(), taken(84.3, BC=0.3)).angles
    assert burr.quarrels
    just_enough = [r for r in taken(84.3, BD=0.3) if r.name in ("A-B", "A-D", "B-D")]
    assert not judge_finished(the_guide(), just_enough).angles[0].quarrels


@pytest.mark.parametrize(
    ("changed", "asked"),
    [
        ({"thickness": 20.0 * 25.4}, ("thickness",)),
        ({"thickness": 0.15}, ("thickness",)),
        ({"exit": (10.0 * 25.4, 10.0)}, ("entry x", "exit x")),
        ({"entry": (10.0, 10.0 / 25.4)}, ("entry y", "exit y")),
        # All of it in inches, typed bare into a form in mm: no ratio is off.
        (
            {"thickness": 0.8, "entry": (0.6, 0.6), "exit": (0.6, 0.6)},
            ("entry x", "exit x", "entry y", "exit y"),
        ),
        ({"thickness": 25.4}, ()),
    ],
)
def test_a_test_hole_that_cannot_be_is_asked_about(changed: dict, asked: tuple) -> None:
    """A slip of the unit makes a bad hole look perfect, or a perfect one 80 deg off."""
    (hole,) = holes(0.0)
    verdict = judge_test_holes([replace(hole, **changed)], allowed_angle=math.radians(0.5))
    assert tuple(name for q in verdict.questions for name in q.readings) == asked
    assert (verdict.verdict == "cannot tell") == bool(asked)


def test_scrap_whose_unit_was_written_is_believed() -> None:
    """Thicker scrap is what an open verdict asks for; who has it must not be asked for ever."""
    (hole,) = holes(0.0)
    thick = replace(hole, thickness=40.0)
    assert judge_test_holes([thick], allowed_angle=0.01).questions
    assert not judge_test_holes([thick], allowed_angle=0.01, sure=[True]).questions


def test_a_hole_that_leans_the_other_way_is_judged_and_not_asked_about() -> None:
    """The piece stood the wrong way round: that is for the bin, not for the calliper."""
    lean = math.radians(12.0)
    turned = judge_test_holes(holes(-12.0), allowed_angle=0.01, intended=(lean, 0.0))
    assert turned.verdict == "do not use"
    assert judge_test_holes(holes(-30.0), allowed_angle=0.01, intended=(lean, 0.0)).questions


def test_a_whole_piece_in_another_unit_is_asked_about_once() -> None:
    """Nine lines that say the same hide the tenth that does not."""
    inches = [replace(r, measured=r.measured / 25.4) for r in taken(84.3)]
    verdict = judge_finished(the_guide(), inches)
    assert verdict.verdict == "cannot tell"
    (asked,) = verdict.questions
    assert asked.readings == ("A-B", "A-D", "B-D", "B-C", "C-D")
    assert str(asked.text).endswith("; and so with A-D, B-D, B-C, C-D")
    assert "inches" in str(asked.text)
