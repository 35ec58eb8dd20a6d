import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from jiggen.geometry.finished import (
    LOOSE,
    STRAIGHT,
    Reading,
    drift_from,
    needed_lengths,
    real_angle,
)
from jiggen.geometry.leastsquares import BY_CALLIPER, standard_from_step, standard_of_reading


def corner_points(angle: float, foot: float = 60.0, edge: float = 50.0) -> dict:
    """Return four corners: base A to B, working edge C to D, the corner's tip at A."""
    up = (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    return {
        "A": (0.0, 0.0),
        "B": (foot, 0.0),
        "C": (3 * up[0], 3 * up[1]),
        "D": (edge * up[0], edge * up[1]),
    }


DRAWN = corner_points(84.3)
PAIRS = ("AB", "AD", "BD", "BC", "CD")
CALLIPER = 0.05


def readings(cut: dict, pairs=PAIRS, step: float | None = CALLIPER) -> list[Reading]:
    """Return what a calliper reads on a cut piece, on the drawing's points."""
    found = []
    for p, q in pairs:
        true = math.dist(cut[p], cut[q])
        found.append(
            Reading(
                name=f"{p}-{q}",
                start=DRAWN[p],
                end=DRAWN[q],
                measured=round(true / step) * step if step else true,
                standard=standard_from_step(step or 1e-4),
            )
        )
    return found


def angle_of(cut: dict) -> float:
    u = np.subtract(cut["B"], cut["A"])
    v = np.subtract(cut["D"], cut["C"])
    return math.atan2(u[0] * v[1] - u[1] * v[0], u @ v)


def judged(cut: dict, pairs=PAIRS, step: float | None = CALLIPER):
    return real_angle(
        (DRAWN["A"], DRAWN["B"]), (DRAWN["C"], DRAWN["D"]), readings(cut, pairs, step)
    )


def badly_cut(rng: np.random.Generator) -> dict:
    """Return a piece whose corners are off by some tenths; its edges are straight."""
    cut = {name: np.array(p) + rng.normal(0, 0.3, 2) for name, p in DRAWN.items()}
    # C lies on the working edge from A's corner to D, as the edge is cut in one go.
    along = (cut["D"] - cut["A"]) / math.dist(cut["D"], cut["A"])
    cut["C"] = cut["A"] + (3.0 + rng.normal(0, 0.3)) * along
    return cut


def test_true_lengths_give_the_angle_of_the_cut_piece() -> None:
    """Half a degree lost here is half a degree in every hole."""
    cut = badly_cut(np.random.default_rng(3))
    found = judged(cut, step=None)
    assert found.value == pytest.approx(angle_of(cut), abs=math.radians(0.002))
    assert found.determined
    assert found.consistent


def test_a_seeded_thousand_of_cut_pieces_lies_inside_the_stated_doubt_in_95_of_100() -> None:
    """The plus-minus that stands on the report must be true of the piece in the hand."""
    rng = np.random.default_rng(20_260)
    inside, doubts = 0, []
    for _ in range(1000):
        cut = badly_cut(rng)
        found = judged(cut)
        inside += abs(found.value - angle_of(cut)) <= 2 * found.standard
        doubts.append(2 * found.standard)
    assert inside >= 950
    # A doubt blown up to be safe would make the check above worthless.
    assert math.degrees(np.median(doubts)) < 0.1


def test_the_shape_is_that_of_scipys_least_squares() -> None:
    """A second solver that shares no code with ours must find the same piece."""
    cut = badly_cut(np.random.default_rng(11))
    taken = readings(cut)
    start = np.array([DRAWN[n] for n in "ABCD"]).ravel()
    at = {"A": 0, "B": 1, "C": 2, "D": 3}

    def off(values: np.ndarray) -> np.ndarray:
        p = values.reshape(-1, 2)
        spans = [
            (math.dist(p[at[r.name[0]]], p[at[r.name[2]]]) - r.measured) / r.standard for r in taken
        ]
        # A lies on the working edge by the drawing, and stays on it.
        u = p[3] - p[2]
        w = p[0] - p[2]
        line = (u[0] * w[1] - u[1] * w[0]) / math.hypot(*u) / STRAIGHT
        return np.array([*spans, line, *((values - start) / LOOSE)])

    best = least_squares(off, start, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    p = best.x.reshape(-1, 2)
    reference = angle_of(dict(zip("ABCD", p, strict=True)))
    ours = judged(cut)
    assert ours.value == pytest.approx(reference, abs=1e-7)
    covariance = np.linalg.inv(best.jac.T @ best.jac)
    slopes = np.zeros(8)
    for i in range(8):
        step = np.zeros(8)
        step[i] = 1e-6
        high = angle_of(dict(zip("ABCD", (best.x + step).reshape(-1, 2), strict=True)))
        low = angle_of(dict(zip("ABCD", (best.x - step).reshape(-1, 2), strict=True)))
        slopes[i] = (high - low) / 2e-6
    # Six tight rows for five freedoms of shape: one to spare, which widens a quarrel's doubt.
    widening = max(1.0, float(np.sum(best.fun[:6] ** 2)))
    expected = math.sqrt(slopes @ covariance @ slopes * widening)
    assert ours.standard == pytest.approx(expected, rel=1e-4)


def test_the_three_sides_of_a_triangle_give_the_law_of_cosines() -> None:
    """The least-squares road must meet the one that can be walked with a pocket calculator."""
    cut = dict(DRAWN)
    cut["D"] = (7.0, 49.0)
    cut["C"] = (0.42, 2.94)
    found = judged(cut, ("AB", "AD", "BD"), step=None)
    far, base, up = (math.dist(cut[p], cut[q]) for p, q in ("BD", "AB", "AD"))
    by_hand = math.acos((base**2 + up**2 - far**2) / (2 * base * up))
    assert found.value == pytest.approx(by_hand, abs=math.radians(0.05))
    assert found.error == pytest.approx(found.value - math.radians(84.3), abs=1e-12)


def test_readings_that_do_not_fix_the_angle_say_so() -> None:
    """Two edge lengths leave the corner free: the drawn angle must not pass for measured."""
    found = judged(DRAWN, ("AB", "CD"))
    assert not found.determined
    assert math.degrees(found.standard) > 0.5


def test_no_reading_at_all_leaves_the_drawing_in_full_doubt() -> None:
    """An unmeasured piece has no angle yet."""
    found = real_angle((DRAWN["A"], DRAWN["B"]), (DRAWN["C"], DRAWN["D"]), [])
    assert not found.determined
    assert found.value == pytest.approx(math.radians(84.3), abs=1e-12)


def test_a_reading_that_contradicts_the_others_is_called_out_by_its_residual() -> None:
    """A burr under one jaw must not be averaged into the angle in silence."""
    taken = readings(DRAWN, (*PAIRS, "AC"))
    worse = [
        Reading(name=r.name, start=r.start, end=r.end, measured=r.measured, standard=r.standard)
        if r.name != "A-C"
        else Reading(
            name=r.name,
            start=r.start,
            end=r.end,
            measured=r.measured + 1.0,
            standard=r.standard,
        )
        for r in taken
    ]
    calm = real_angle((DRAWN["A"], DRAWN["B"]), (DRAWN["C"], DRAWN["D"]), taken)
    loud = real_angle((DRAWN["A"], DRAWN["B"]), (DRAWN["C"], DRAWN["D"]), worse)
    assert calm.consistent
    assert not loud.consistent
    assert loud.standard > 3 * calm.standard
    assert max(abs(v) for v in loud.residuals.values()) > 0.1


ENDS = {f"{p}-{q}": (p, q) for p, q in ("AB", "AD", "BD", "BC", "CD", "AC")}
EDGES = ((DRAWN["A"], DRAWN["B"]), (DRAWN["C"], DRAWN["D"]))


def doubt_of(names, at=DRAWN) -> float:
    """Return the standard doubt that a calliper leaves with these lengths, by `real_angle`."""
    taken = [
        Reading(
            name=n,
            start=at[ENDS[n][0]],
            end=at[ENDS[n][1]],
            measured=math.dist(at[ENDS[n][0]], at[ENDS[n][1]]),
            standard=standard_of_reading(CALLIPER, BY_CALLIPER),
        )
        for n in names
    ]
    edges = ((at["A"], at["B"]), (at["C"], at["D"]))
    return real_angle(*edges, taken, loose=10.0).standard


@pytest.mark.parametrize("tip", [0.0, 8.0])
def test_what_the_form_asks_for_is_enough_and_one_length_can_be_told_by_the_others(tip) -> None:
    """A blank too few leaves the verdict open; a shape that is just fixed hides every burr."""
    at = {**DRAWN, "A": (tip, 0.0)}
    lengths = {name: (at[p], at[q]) for name, (p, q) in ENDS.items()}
    edges = ((at["A"], at["B"]), (at["C"], at["D"]))
    needed = needed_lengths(*edges, lengths)
    assert needed is not None
    assert doubt_of(needed, at) <= 2.05 * doubt_of(ENDS, at)
    points = {letter for name in needed for letter in ENDS[name]}
    assert len(needed) == 2 * len(points) - 3 + 1


def test_lengths_that_do_not_fix_the_angle_are_not_asked_for() -> None:
    """Three sides of a quadrilateral may be sheared as one likes."""
    lengths = {n: (DRAWN[p], DRAWN[q]) for n, (p, q) in ENDS.items() if n in ("A-B", "C-D")}
    assert needed_lengths(*EDGES, lengths) is None
    assert needed_lengths(*EDGES, {}) is None


def test_an_edge_or_a_dimension_without_length_is_refused() -> None:
    """Two points in one place have no direction."""
    with pytest.raises(ValueError, match="apart"):
        real_angle(((0, 0), (0, 0)), ((0, 0), (1, 9)), [])
    nothing = Reading(name="A-A", start=(0, 0), end=(0, 0), measured=1.0, standard=0.1)
    with pytest.raises(ValueError, match="A-A"):
        real_angle(((0, 0), (9, 0)), ((0, 0), (1, 9)), [nothing])


def test_the_drift_is_thickness_times_the_tangent() -> None:
    """Half a degree through 12 mm is a tenth of a millimetre at the exit."""
    assert drift_from(math.radians(0.5), 12.0) == pytest.approx(0.10472, abs=1e-5)
    assert drift_from(-0.01, 3.0) < 0.0
