"""Test holes: the tilt that the guide has, the drift each way, and what nobody can have drilled."""

import math

import pytest
from commandline import FLAP, PROJECT
from measuring import FIRST, Bench, flat, words_of


def hole(bench, off: float = 0.0, along: float = 0.0, thick: float = 20.0, **more):
    """Return a hole in flat scrap, drilled with guide a1 and so many degrees off."""
    (forward,) = (a.nominal for a in bench.record.pieces["guide-a1"].angles if a.name == "forward")
    x = thick * math.tan(forward - math.pi / 2 + math.radians(off))
    y = thick * math.tan(math.radians(along))
    given = {"thickness": thick, "entry": [30.0, 25.0], "exit": [30.0 + x, 25.0 + y]}
    return {"piece": "guide-a1", "step": 0.02, **given, **more}


def drilled(bench, **of):
    bench.fill("test_hole", "", hole(bench, **of))
    found = bench.verify()
    (judged,) = found["test_holes"]
    return judged, found


def test_a_hole_leans_as_the_guide_has_it(bench):
    """A guide of 82.5 deg on flat scrap drills 7.5 deg off square, and that is right."""
    judged, found = drilled(bench)
    assert (judged["verdict"], words_of(found)) == (
        "use", {"guide-a1": "use", "guide-a1-edge": "use", "guide-foot": "use"},
    )  # fmt: skip
    assert judged["tilt"] == pytest.approx([0.0, 0.0], abs=0.01)
    report = flat(bench.report())
    assert report.startswith("Use: guide-a1, guide-a1-edge, guide-foot.")
    assert "Drill the part with guide-a1: from the middle out, a temporary fastener" in report


def test_the_drift_along_each_axis_is_that_axis_own(bench):
    """Exchanged, a lean along the edge is filed off the guide's forward side."""
    judged, _ = drilled(bench, off=0.3, along=-0.2)
    thick = max(h["thickness"] for h in _holes(bench) if h["drill_now"])
    assert judged["drift"] == pytest.approx(
        [thick * math.tan(math.radians(0.3)), thick * math.tan(math.radians(-0.2))], rel=0.02
    )


def _holes(bench):
    import json

    from commandline import said

    return json.loads(said("angles", bench.file, "--json").out)["holes"]


def test_a_bad_hole_leaves_the_part_alone(bench):
    """Ten minutes of scrap against a control surface."""
    judged, _ = drilled(bench, off=4.0)
    assert judged["verdict"] == "do not use"
    assert "the hole's forward angle drawn 82.55 deg came out 86.55 deg" in judged["why"]
    report = flat(bench.report())
    assert report.startswith("Not: guide-a1.")
    assert "Leave the part alone until a test hole is good" in report


def test_a_hole_drilled_with_the_piece_turned_round_is_told_so(bench):
    """The piece stood the wrong way round: that is for the bin, not for the calliper."""
    judged, _ = drilled(bench, off=2 * 7.45)
    assert judged["verdict"] == "do not use"
    assert "did the piece stand the wrong way round?" in judged["why"]


def test_a_hole_read_by_rule_cannot_tell_and_says_what_would(bench):
    """Two readings to a millimetre over 20 mm of scrap leave more than two degrees."""
    judged, _ = drilled(bench, off=1.0, step=1.0)
    assert judged["verdict"] == "cannot tell"
    assert "To decide, use thicker scrap or a finer calliper" in flat(bench.report())


def test_several_holes_of_one_guide_are_judged_together(bench):
    """The more holes, the surer."""
    one, _ = drilled(bench)
    for _ in range(3):
        bench.fill("test_hole", "", hole(bench, entry=[31.0, 25.0], exit=[31.0 - 2.6155, 25.0]))
    (four,) = bench.verify()["test_holes"]
    assert four["plus_minus"][0] < one["plus_minus"][0]


@pytest.mark.parametrize(
    ("changed", "asked"),
    [
        ({"thickness": 508.0}, ["thickness"]),
        ({"thickness": 0.15}, ["thickness"]),
        ({"exit": [254.0, 25.0]}, ["entry x", "exit x"]),
        ({"entry": [30.0, 0.984]}, ["entry y", "exit y"]),
    ],
)
def test_a_hole_that_cannot_be_is_asked_about(changed, asked, bench):
    """A slip of the unit makes a bad hole look perfect, or a perfect one 80 deg off."""
    judged, found = drilled(bench, **changed)
    assert judged["verdict"] == "cannot tell"
    assert judged["tilt"] is None
    (question,) = found["questions"]
    assert question["readings"] == asked


def test_scrap_whose_unit_was_written_is_believed(bench):
    """Thicker scrap is what an open verdict asks for; who has it must not be asked for ever."""
    thick = hole(bench, thick=40.0) | {"thickness": "40 mm"}
    bench.fill("test_hole", "", thick)
    (judged,) = bench.verify()["test_holes"]
    assert judged["verdict"] == "use"


def test_a_piece_that_was_drilled_with_is_judged_by_its_hole(bench):
    """The hole is what counts: what the page or the calliper said before is its past."""
    bench.fill("page", FIRST, bench.page())
    bench.fill("test_hole", "", hole(bench, off=4.0))
    found = bench.verify()
    assert words_of(found) == {
        "guide-a1": "do not use", "guide-a1-edge": "use", "guide-foot": "use",
        "guide-b1": "use", "guide-b1-edge": "use",
    }  # fmt: skip


def test_a_hole_proves_all_that_it_was_drilled_with_and_nothing_of_another_guide(tmp_path):
    """A guide is glued up of plates on a foot; its neighbour was not in the vice."""
    job = (PROJECT / "samples" / "flaperon" / "job.toml").read_text("utf-8")
    bench = Bench(folder=tmp_path, job=job)
    bench.make(formats=("pdf",), only=("guide", "block"))
    lean = bench.record.pieces["guide-1"].lean
    out = 20.0 * math.tan(lean)
    given = {"thickness": "20 mm", "entry": ["30 mm", "25 mm"], "plus_minus": "0.02 mm"}
    true = {**given, "exit": [f"{30.0 + out:.3f} mm", "25 mm"]}
    bench.fill("test_hole", "", {"piece": "guide-1", **true})
    assert words_of(bench.verify()) == dict.fromkeys(
        ("guide-1", "guide-1-edge", "guide-foot"), "use"
    )
    # Whatever part of it is named, it is the guide; and a block is all of its layers.
    blank = bench.form.read_text("utf-8")
    for name, stem in (
        ("guide-1-edge", "guide-1"),
        ("block-1", "block-1"),
        ("block-1-foot", "block-1"),
    ):
        text = blank.replace('"piece" = "guide-1"', f'"piece" = "{name}"')
        assert text != blank
        bench.form.write_text(text, "utf-8")
        assert words_of(bench.verify())[stem] == "use"
    # A bad hole says nothing of the foot, which the other guide stands on too.
    bench.form.write_text(blank.replace(f"{30.0 + out:.3f} mm", "30 mm"), "utf-8")
    assert words_of(bench.verify()) == {"guide-1": "do not use"}


def test_a_hole_is_left_out_when_any_part_was_drawn_anew(bench):
    """Drilled along an edge plate that is another one now, it proves nothing of today's guide."""
    bench.fill("test_hole", "", hole(bench))
    mark = bench.record.pieces["guide-a1-edge"].mark
    text = bench.form.read_text("utf-8")
    bench.form.write_text(text.replace(mark, "0" * len(mark)), "utf-8")
    found = bench.verify()
    assert found["test_holes"] == []
    assert "guide-a1-edge was 0000 when it was measured" in " ".join(found["notes"])


def test_a_foot_that_only_the_other_side_has_is_not_proved_by_this_sides_hole(tmp_path):
    """Where the skins climb unlike each other along the span, each guide has a foot of its own."""
    job = FLAP.replace("at = 1700.0", "at = 120.0").replace("count = 64", "count = 4")
    job = job.replace("keep_out = [1, 64]", "").replace("[7.5, 3.0]", "[9.0, 3.0]")
    bench = Bench(folder=tmp_path, job=job)
    bench.make(formats=("pdf",), only=("guide",))
    assert {"guide-a1-foot", "guide-b1-foot"} <= set(bench.record.pieces)
    bench.fill("test_hole", "", hole(bench))
    assert set(words_of(bench.verify())) == {"guide-a1", "guide-a1-edge", "guide-a1-foot"}
