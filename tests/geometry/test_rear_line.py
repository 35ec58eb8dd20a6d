"""The rear line lies forward of the trailing edge: its thickness is carried to the edge.

Measured on true wedges whose faces are known point by point, so that nothing of the program's own
formulas is taken for granted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from samplejobs import a_job, offsets, row_of_holes, skins, thick

from jiggen.errors import JobError
from jiggen.job.sections import Job, Rivet
from jiggen.solution import Check, Solution
from jiggen.solve import solve

LINE = 8.0
LONG = 600.0
INCH = 25.4


@dataclass(frozen=True)
class Face:
    """One face of a true wedge: straight threads from its edge line to its front line.

    At both ends the height over the chord plane at the edge and at the front, mm, and how far
    forward the front lies there.
    """

    edge: tuple[float, float]
    front: tuple[float, float]
    deep: tuple[float, float]

    def height(self, x: float, y: float) -> float:
        """Return the height of the face over a place of the chord plane, mm."""
        s = y / LONG
        low, high, deep = (
            pair[0] + s * (pair[1] - pair[0]) for pair in (self.edge, self.front, self.deep)
        )
        return low + (high - low) * x / deep


def slopes(face: Face, x: float, y: float, h: float = 1e-4) -> tuple[float, float]:
    """Return a face's slope forward and along the span, by differences."""
    return (
        (face.height(x + h, y) - face.height(x - h, y)) / (2 * h),
        (face.height(x, y + h) - face.height(x, y - h)) / (2 * h),
    )


def measured(a: Face, b: Face, lines: tuple[tuple[float, float], ...]) -> Job:
    """Return a job from offsets read at a rear and a front line at each end of a true wedge."""
    rows = []
    for at, (rear, front) in zip((0.0, LONG), lines, strict=True):
        up = tuple(face.height(front, at) for face in (a, b))
        low = tuple(face.height(rear, at) for face in (a, b))
        rows.append(offsets(up, low, front - rear, at, rear_at=rear))
    places = tuple(np.linspace(10.0, LONG - 10.0, 9).tolist())
    return a_job(*rows, holes=row_of_holes(9, line=LINE, positions=places), skin=(0.4, 0.4))


def checks(of: Job) -> dict[str, Check]:
    return {check.id: check for check in solve(of).checks}


@given(
    edge=st.floats(0.1, 1.0),
    front=st.floats(1.5, 4.0),
    thinner=st.floats(0.6, 1.0),
    deep=st.floats(16.0, 26.0),
    rear=st.floats(0.0, 4.0),
    lopsided=st.floats(0.3, 1.0),
)
def test_a_true_tapered_wedge_is_found_again_wherever_the_rear_line_was_drawn(
    edge: float, front: float, thinner: float, deep: float, rear: float, lopsided: float
) -> None:
    """Land, grip and lean all count from the edge, and nobody puts calliper jaws on the edge."""
    deeps = (deep, deep * 0.9)
    a = Face((edge, edge * thinner), (front, front * thinner), deeps)
    b = Face((edge, edge), (edge + lopsided * front, edge + 0.8 * lopsided * front), deeps)
    # The front line is the wedge's own front: edge and front run straight from end to end.
    of = measured(a, b, ((rear, deeps[0]), (rear * 0.7, deeps[1])))
    for hole in solve(of).holes:
        for face, skin, along in (
            (a, hole.angles.skin_a, hole.angles.slope_y_a),
            (b, hole.angles.skin_b, hole.angles.slope_y_b),
        ):
            forward, spanwise = slopes(face, LINE, hole.at)
            assert math.tan(skin) == pytest.approx(forward, abs=1e-8)
            assert along == pytest.approx(spanwise, abs=1e-8)
        true = a.height(LINE, hole.at) + b.height(LINE, hole.at)
        assert hole.thickness == pytest.approx(true, abs=1e-9)


def test_the_wedge_is_as_deep_as_the_front_line_lies_from_the_edge() -> None:
    """The distance to the front edge was short by as much as the rear line lay forward."""
    at_edge = a_job(thick(4.0, 0.6, 18.0, rear_at=0.0), holes=row_of_holes())
    drawn = a_job(thick(4.0, 1.0, 15.0, rear_at=3.0), holes=row_of_holes())
    assert checks(at_edge)["edge-front"].value == pytest.approx(10.0)
    assert checks(drawn)["edge-front"].value == pytest.approx(10.0)


def test_a_rear_line_taken_for_the_edge_hides_a_knife_edge() -> None:
    """With the line 1/8 in forward of the edge the countersinks meet, and it was told as land.

    Inches; by hand: the opening is (.158 - .044) / .7, the edge .044 less an eighth of it.
    """
    rivet = Rivet(size="-3", diameter=3 / 32 * INCH, head=0.179 * INCH)
    row = row_of_holes(drill=0.098 * INCH, drill_name="#40", line=0.36 * INCH)

    def lands(**more: float) -> Solution:
        station = thick(0.158 * INCH, 0.044 * INCH, 0.7 * INCH, **more)
        return solve(a_job(station, holes=row, rivet=rivet, skin=(0.016 * INCH,) * 2))

    drawn, at_edge, untold = lands(rear_at=INCH / 8), lands(rear_at=0.0), lands()
    opening = (0.158 - 0.044) / 0.7
    thickness = drawn.holes[0].thickness
    assert thickness is not None
    assert thickness / INCH == pytest.approx(0.044 + (0.36 - 0.125) * opening)
    true, edge, unknown = (
        next(c for c in one.checks if c.id == "land") for one in (drawn, at_edge, untold)
    )
    assert (true.status, true.value < 0.0) == ("fail", True)
    assert edge.value - true.value == pytest.approx(opening * INCH / 8)
    assert edge.value == unknown.value > 0.0
    assert unknown.status not in ("ok", "fail")


def test_a_rear_line_nobody_says_the_place_of_is_asked_about_and_nothing_on_it_is_good() -> None:
    """A default that is taken in silence is found when the countersinks meet."""
    rivet = Rivet(size="-3", diameter=3 / 32 * INCH, head=0.179 * INCH, shop_head="bucked")
    more = {"holes": row_of_holes(), "skin": (0.4, 0.4), "rivet": rivet}
    for station in (thick(5.0, 2.0, 18.0), offsets((2.5, 2.5), (1.0, 1.0), 18.0)):
        of = a_job(station, **more)
        asked = checks(of)["rear-line"]
        assert asked.status == "warn"
        assert "rear_at" in str(asked.why)
        assert asked.keys == ("wedge.station[1].rear_at",)
        unsure = ("land", "edge-te", "edge-front", "edge-exit")
        assert {checks(of)[one].status for one in unsure} == {"not checked"}
        assert all("rear_at" in str(checks(of)[one].why) for one in unsure)
        for known in (
            a_job(replace(station, rear_at=0.0), **more),
            a_job(station, rear_thickness=1.7, **more),
        ):
            found = checks(known)
            assert "rear-line" not in found
            assert found["edge-te"].status == "ok"
    assert "rear-line" not in checks(a_job(skins(5.0, 5.0), **more))


def test_a_fault_is_no_less_a_fault_because_the_rear_line_is_not_known() -> None:
    """Not checked must not hide what fails anyhow."""
    close = a_job(thick(5.0, 2.0, 18.0), holes=row_of_holes(line=3.0))
    assert checks(close)["edge-te"].status == "fail"


@pytest.mark.parametrize(("rear_at", "fine"), [(7.9, True), (8.0, False), (9.5, False)])
def test_a_rear_line_at_or_forward_of_the_hole_line_is_a_fault(rear_at: float, fine: bool) -> None:
    """The holes would lie where nothing was measured."""
    of = a_job(thick(8.0, 4.0, 18.0, rear_at=rear_at), holes=row_of_holes(line=8.0))
    if fine:
        assert solve(of).holes
        return
    with pytest.raises(JobError) as refused:
        solve(of)
    (fault,) = refused.value.faults
    assert fault.keys == ("wedge.station[1].rear_at", "holes.line")
    assert "at or forward of the hole line (8 mm)" in str(fault)


def test_faces_that_meet_forward_of_the_edge_are_a_fault_that_says_how_far_they_reach() -> None:
    """1.0 thick at the line and 0.2 a mm: the faces meet 5 mm aft of it, not 6."""
    with pytest.raises(JobError) as refused:
        solve(a_job(thick(4.0, 1.0, 15.0, rear_at=6.0)))
    (fault,) = refused.value.faults
    assert fault.key == "wedge.station[1].rear_at"
    assert "meet 1.00 mm forward of the trailing edge" in str(fault)
    assert "at most 5 mm" in str(fault)
    sharp = solve(a_job(thick(4.0, 1.0, 15.0, rear_at=5.05)))
    assert sharp.wedge.stations[0].rear_thickness == pytest.approx(0.0, abs=1e-12)


def test_a_stated_edge_wins_and_a_contradiction_beyond_the_readings_is_told() -> None:
    """Two statements of one thickness, and the builder knows of only one of them."""
    station = thick(4.0, 1.0, 15.0, rear_at=3.0)  # 0.4 at the edge
    for stated, status in ((0.40, None), (0.41, None), (0.50, "warn")):
        found = solve(a_job(station, rear_thickness=stated, holes=row_of_holes()))
        assert found.wedge.stations[0].rear_thickness == pytest.approx(stated)
        told = [c for c in found.checks if c.id == "rear-thickness-1"]
        assert [c.status for c in told] == ([] if status is None else [status])
    coarse = replace(station, plus_minus={"front": 0.1, "rear": 0.1, "width": 0.5})
    assert "rear-thickness-1" not in checks(a_job(coarse, rear_thickness=0.5))
    # t = rear - r (front - rear) / w: by hand, root of the sum of squares.
    rear, front, width = (1 + 3 / 15) * 0.1, (3 / 15) * 0.1, 3 * 3.0 / 15**2 * 0.5
    (check,) = (
        c for c in solve(a_job(coarse, rear_thickness=0.9)).checks if c.id == "rear-thickness-1"
    )
    assert check.limit == pytest.approx(math.hypot(rear, front, width))


def test_along_the_face_and_along_the_ribs_it_is_measured_as_the_width_was() -> None:
    """A rule laid on the sloping face, or along a rib, reads more than the way to the edge."""
    flat = solve(a_job(thick(8.0, 4.0, 16.0, rear_at=6.0), holes=row_of_holes())).wedge.stations[0]
    alpha = math.atan(4.0 / 32.0)
    sloped = thick(8.0, 4.0, 16.0 / math.cos(alpha), along="face", rear_at=6.0 / math.cos(alpha))
    on_face = solve(a_job(sloped, holes=row_of_holes())).wedge.stations[0]
    sweep = math.radians(20.0)
    ribs = thick(8.0, 4.0, 16.0 / math.cos(sweep), rear_at=6.0 / math.cos(sweep))
    along = solve(a_job(ribs, sweep=sweep, holes=row_of_holes())).wedge.stations[0]
    for other in (on_face, along):
        assert other.rear_thickness == pytest.approx(flat.rear_thickness, abs=1e-9)
        assert other.width == pytest.approx(flat.width, abs=1e-9)
        assert other.slope_a == pytest.approx(flat.slope_a, abs=1e-12)


def test_the_angles_and_their_plus_minus_do_not_depend_on_where_the_edge_lies() -> None:
    """The taper is read between two lines, wherever the edge is."""
    known = {"plus_minus": {"front": 0.02, "rear": 0.02, "width": 0.2}}
    one = solve(a_job(thick(4.0, 1.0, 15.0, **known))).stations[0]
    other = solve(a_job(thick(4.0, 1.0, 15.0, rear_at=3.0, **known))).stations[0]
    assert (one.skin_a, one.plus_minus_a) == (other.skin_a, other.plus_minus_a)


@pytest.mark.parametrize(("depth", "asked"), [(24.0, False), (20.4, False), (18.0, True)])
def test_a_front_line_forward_of_the_wedge_is_asked_about(depth: float, asked: bool) -> None:
    """Measured over the hollow skin, or the depth read wrong: jigs stand where no wedge is."""
    station = replace(thick(4.0, 1.0, 18.0), rear_at=2.0)
    job = a_job(station, holes=row_of_holes(5), depth=depth)
    found = [check for check in solve(job).checks if check.id == "front-line-1"]
    assert [check.status for check in found] == ["warn"] * asked
    if asked:
        assert found[0].value == pytest.approx(20.0, abs=0.2)
        assert found[0].limit == depth
