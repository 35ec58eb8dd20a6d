"""Each check edge stands by itself, and what is missing for one is named."""

import math
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from verifysamples import ANGLE, corner_points, guide, length, page

from jiggen.geometry.finished import real_angle
from jiggen.verify import LengthReading, PlacedPiece, judge_finished
from jiggen.verify.across import across, on_corners, sizes_of, still_needed

FORWARD = ("A-B", "A-D", "B-D", "B-C", "C-D")
AFT = ("B-E", "A-E", "A-F", "E-F")


def six_corners(forward: float, aft: float) -> dict[str, Any]:
    """Return the corners A to F of a guide cut at these angles, degrees, its tips cut away."""
    at = corner_points(forward)
    up = np.array([-math.cos(math.radians(aft)), math.sin(math.radians(aft))])
    tip = np.array(at["B"])
    ends = {"A": (3.0, 0.0), "B": tuple(tip - (3.0, 0.0))}
    return at | ends | {"E": tuple(tip + 50 * up), "F": tuple(tip + 3 * up)}


def two_edged(*, more: tuple[str, ...] = ()) -> PlacedPiece:
    """Return a guide with a forward and an aft check edge."""
    at = six_corners(ANGLE, 180.0 - ANGLE)
    sizes = [length(n, at[n[0]], at[n[2]]) for n in (*FORWARD, *AFT, *more)]
    aft = {
        "name": "aft",
        "nominal": 180.0 - ANGLE,
        "base": [at["B"], at["A"]],
        "working": [at["F"], at["E"]],
    }
    edges = {"base": [at["A"], at["B"]], "working": [at["C"], at["D"]]}
    angles = [{"name": "forward", "nominal": ANGLE, **edges}, aft]
    return page(guide() | {"angles": angles, "dimensions": sizes}).pieces[0]


def taken(names: tuple[str, ...], forward: float = ANGLE, aft: float = 180.0 - ANGLE):
    """Return what a calliper reads over these corners of a guide cut so."""
    cut = six_corners(forward, aft)
    return [
        LengthReading(name=n, measured=round(math.dist(cut[n[0]], cut[n[2]]) * 20) / 20, step=0.05)
        for n in names
    ]


def test_a_guide_with_one_edge_measured_is_passed_for_that_edge_and_says_so() -> None:
    """Who drills with the forward edge alone must not be sent back for the other one."""
    found = judge_finished(two_edged(), taken(FORWARD))
    assert found.verdict == "use"
    assert str(found.why).startswith(
        "forward edge only; the aft edge was not measured: it takes B-E, A-E, A-F, E-F; "
    )
    forward, aft = found.angles
    assert (forward.verdict, forward.missing) == ("use", ())
    assert (aft.verdict, aft.missing) == ("cannot tell", AFT)
    # The same the other way round: A-B is shared, the rest belongs to the forward edge.
    other = judge_finished(two_edged(), taken(("A-B", *AFT)))
    assert other.verdict == "use"
    assert "aft edge only; the forward edge was not measured: it takes A-D, B-D, B-C, C-D" in (
        str(other.why)
    )


def test_a_bad_edge_condemns_the_guide_and_the_good_one_is_named() -> None:
    """A guide whose other edge is true may still drill: the builder decides, if he is told."""
    found = judge_finished(two_edged(), taken((*FORWARD, *AFT), aft=97.2))
    assert found.verdict == "do not use"
    assert "angle aft drawn 95.70 deg came out 97.2" in str(found.why)
    assert "the forward edge by itself is good" in str(found.why)
    assert [angle.verdict for angle in found.angles] == ["use", "do not use"]
    # An edge that is bad is bad, whether or not the other one was measured.
    assert judge_finished(two_edged(), taken(FORWARD, forward=83.2)).verdict == "do not use"


def test_where_no_edge_is_determined_exactly_the_missing_lengths_are_named() -> None:
    """Asking for "more" sends a builder round the guide nine times; a name sends him once."""
    found = judge_finished(two_edged(), taken(("A-B", "A-D", "C-D")))
    assert found.verdict == "cannot tell"
    assert "forward angle is not determined by these readings: measure B-D, B-C too" in str(
        found.why
    )
    assert "for the aft edge B-E, A-E, A-F, E-F" in str(found.why)


@settings(max_examples=60, deadline=None)
@given(st.sets(st.sampled_from((*FORWARD, *AFT))), st.sampled_from((0, 1)))
def test_what_is_named_as_missing_is_enough_and_no_length_of_it_too_many(
    have: set[str], edge: int
) -> None:
    """A blank too few leaves the verdict open, a blank too many is an evening's trust lost."""
    piece = two_edged(more=("C-E", "D-F"))
    angle = piece.angles[edge]
    missing = still_needed(piece, angle, have)
    assert missing is not None
    assert not set(missing) & have

    def doubt(names: set[str]) -> float:
        lengths = [across(r, sizes_of(piece)[r.name]) for r in taken(tuple(names))]
        base, working = on_corners(angle, lengths) if lengths else (angle.base, angle.working)
        return real_angle(base, working, lengths, loose=10.0).standard

    best = doubt(set(sizes_of(piece)))
    assert doubt(have | set(missing)) <= 2.05 * best
    for name in missing:
        assert doubt((have | set(missing)) - {name}) > 1.95 * best


def test_a_piece_whose_lengths_cannot_tell_its_angle_says_what_can() -> None:
    """A wrap without a diagonal may be sheared as one likes; asking for "more" would be idle."""
    at = corner_points(ANGLE)
    top = {"T": (0.0, 40.0), "U": (60.0, 40.0)}
    sizes = [
        length("width", top["T"], top["U"]),
        length("left end", at["A"], top["T"]),
        length("first fold", at["B"], top["U"]),
    ]
    edges = {"base": [at["A"], at["B"]], "working": [at["A"], top["T"]]}
    record = {"name": "wrap-1", "kind": "wrap", "dimensions": sizes}
    wrap = page(record | {"angles": [{"name": "forward", "nominal": 90.0, **edges}]}).pieces[0]
    assert still_needed(wrap, wrap.angles[0]) is None
    read = [LengthReading(name=n, measured=v.nominal, step=0.05) for n, v in sizes_of(wrap).items()]
    found = judge_finished(wrap, read)
    assert found.verdict == "cannot tell"
    assert "no length in the form tells it" in str(found.why)
    assert "bars and diagonals of the page" in str(found.why)


def test_a_piece_without_check_edges_says_which_of_its_sizes_nobody_measured() -> None:
    """A foot that was measured one way only is half measured."""
    sizes = [length("width", (0, 0), (60, 0)), length("height", (0, 0), (0, 30))]
    foot = page({"name": "foot", "kind": "foot", "angles": [], "dimensions": sizes}).pieces[0]
    found = judge_finished(foot, [LengthReading(name="width", measured=60.05, step=0.05)])
    assert found.verdict == "use"
    assert str(found.why).endswith("; not measured: height")


def test_a_corner_that_is_not_cut_away_takes_three_lengths_and_a_relieved_one_five() -> None:
    """Three sides fix a triangle; where its corner is gone, two more points must be placed."""
    sharp = page(guide()).pieces[0]
    assert still_needed(sharp, sharp.angles[0]) == ("A-B", "A-D", "B-D")
    relieved = two_edged()
    assert still_needed(relieved, relieved.angles[0]) == FORWARD
    assert still_needed(relieved, relieved.angles[1]) == ("A-B", *AFT)
