"""The corner guide's slot play where the kerf is not stated, and where nothing is left for it."""

import re

import pytest
from jiggen.jigs.corner_pieces import corner_checks, corner_pieces
from jiggen.jigs.judge import bore_checks, skin_checks
from samplejobs import a_job, included, row_of_holes

from jiggen.job.sections import Allow, Corner, Cut
from jiggen.solution import Solution
from jiggen.solve import solve


def edge(kerf: float | None, fit: float = 0.1, drift: float = 0.1, units: str = "mm") -> Solution:
    job = a_job(
        included(11.0),
        holes=row_of_holes(),
        rear_thickness=0.8,
        corner=Corner(fit=fit),
        cut=Cut(kerf=kerf),
        allow=Allow(drift=drift),
        units=units,
    )
    return solve(job)


@pytest.mark.parametrize(("units", "wider"), [("mm", 0.1), ("in", 0.004 * 25.4)])
def test_without_a_kerf_the_play_of_machine_cut_slots_is_not_vouched_for(units, wider):
    """The slots come out a kerf wider than they are drawn: the play that is told is not theirs."""
    (stated,) = corner_checks(edge(0.15, units=units))
    (unknown,) = corner_checks(edge(None, units=units))
    assert stated.status == "ok"
    assert "kerf" not in str(stated.why)
    assert unknown.status == "not checked"
    assert unknown.value == stated.value
    assert str(unknown.why).endswith("state cut.kerf")
    (told,) = re.findall(r"of it makes ([0-9.]+) deg", str(unknown.why))
    (as_wide,) = corner_checks(edge(0.15, fit=0.1 + wider, units=units))
    assert float(told) == pytest.approx(as_wide.value, abs=0.0051)
    notes = [
        " ".join(note for p in corner_pieces(edge(k)) for note in p.notes) for k in (None, 0.1)
    ]
    assert ["a machine adds it" in note for note in notes] == [True, False]


def test_play_that_is_too_much_as_drawn_warns_whatever_the_kerf():
    """More of it does not make it better."""
    (check,) = corner_checks(edge(None, drift=0.005))
    assert check.status == "warn"
    assert "state cut.kerf" in str(check.why)


def test_a_limit_that_is_only_rounding_is_told_as_none():
    """`limit 8.697e-15 deg` is noise: somebody will try to work to it.

    A drift of 0.02 mm over a strong taper makes guides of which one uses up all of it at a hole.
    """
    inch = 25.4
    places = tuple((0.6 + n) * inch for n in range(40))
    job = a_job(
        included(14.0),
        included(8.0, at=40.0 * inch),
        holes=row_of_holes(positions=places, drill=0.098 * inch, line=0.4 * inch),
        rear_thickness=0.05 * inch,
        corner=Corner(),
        allow=Allow(drift=0.0008 * inch),
    )
    solution = solve(job)
    checks = (*corner_checks(solution), *bore_checks(solution), *skin_checks(solution))
    limits = [c.limit for c in checks if c.unit == "deg"]
    values = [c.value for c in checks if c.unit == "deg"]
    assert len(limits) > 6
    for told in (*limits, *values):
        assert told == 0.0 or told > 1e-6
    assert 0.0 in (*limits, *values)
