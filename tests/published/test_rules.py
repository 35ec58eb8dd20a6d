"""Riveting rules against an independent copy; each check names its source and its status."""

import math

import pytest

from jiggen.facts import rules
from jiggen.facts.rivets import FLUSH_RIVETS

INCH = 25.4


@pytest.mark.parametrize(
    ("rivet", "sheet"), [(3 / 32, 0.040), (1 / 8, 0.050), (5 / 32, 0.064), (3 / 16, 0.072)]
)
def test_least_sheet_for_a_machine_countersink(rivet, sheet):
    """Source: US Army TM 9-2320-363-34-2 Table 4 (status: READ)."""
    least = rules.countersink_min_sheet(rivet * INCH)
    assert least == pytest.approx(sheet * INCH, abs=1e-9)


def test_edge_distance_of_a_three_thirty_second_rivet():
    """Source: 2D AC 43.13-1B para 4-57 (READ as quoted); 2.5D FAA-H-8083-31 (MEM); .0001 in."""
    edges = [times * 3 / 32 for times in (rules.EDGE_DISTANCE_MIN, rules.EDGE_DISTANCE_COUNTERSUNK)]
    assert edges == pytest.approx([0.1875, 0.2344], abs=1e-4)


def test_pitch_of_an_eighth_inch_rivet():
    """Source: Navy training manual 14018 p. 547: 3D, usual 4D to 8D (status: READ)."""
    assert rules.PITCH_MIN / 8 == 0.375
    assert [times / 8 for times in rules.PITCH_USUAL] == [0.5, 1.0]


@pytest.mark.parametrize(
    ("dash", "least", "most"),
    [("-4", 0.222, 0.228), ("-5", 0.283, 0.289), ("-6", 0.350, 0.356)],
)
def test_flush_heads_lie_within_the_published_countersinks(dash, least, most):
    """Source: US Army TM 9-2320-363-34-2 Table 3 (READ); our head diameters are from memory."""
    assert least < FLUSH_RIVETS[dash].head / INCH < most


@pytest.mark.parametrize("dash", sorted(FLUSH_RIVETS))
def test_a_flush_head_is_as_high_as_its_cone(dash):
    """Source: geometry of a 100 degree cone (DERIVED); heights from memory, within .001 in."""
    rivet = FLUSH_RIVETS[dash]
    cone = (rivet.head - rivet.diameter) / (2 * math.tan(math.radians(50)))
    assert rivet.head_height == pytest.approx(cone, abs=0.001 * INCH)


@pytest.mark.parametrize(("dash", "step"), [("-3", 0.00468), ("-4", 0.00589), ("-5", 0.00748)])
def test_head_edge_step_at_three_degrees(dash, step):
    """Source: (head / 2) sin 3 deg (DERIVED), head diameters from memory; .00001 in."""
    proud = FLUSH_RIVETS[dash].head / INCH / 2 * math.sin(math.radians(3))
    assert proud == pytest.approx(step, abs=1e-5)
