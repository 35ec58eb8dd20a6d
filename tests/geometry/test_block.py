"""The drill block's numbers: the bushing that leads the bit, and how layers and feet hold it."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jiggen.geometry import block
from jiggen.geometry.block import BlockSection, block_section
from jiggen.geometry.frame import lean_over
from jiggen.geometry.uncertainty import root_of_squares

NUMBER_40 = 2.4892
SLOPE = math.tan(math.radians(5.7))

CLEARANCE = 0.0004 * 25.4 + 0.014


@pytest.mark.parametrize(
    ("bearing", "degrees"), [(5, 0.28), (6.35, 0.22), (9.5, 0.15), (12.7, 0.11)]
)
def test_how_far_a_number_40_tilts_in_its_bushing(bearing, degrees):
    """Source: DERIVED from bore and drill tolerances (READ): clearance 0.0242."""
    assert pytest.approx(0.0242, abs=5e-5) == CLEARANCE
    assert math.degrees(lean_over(CLEARANCE, bearing)) == pytest.approx(degrees, abs=5e-3)


@given(st.floats(0.005, 0.3), st.floats(4.0, 20.0), st.floats(1.0, 6.0))
def test_a_bit_that_touches_both_ends_of_its_bushing_tilts_by_clearance_over_bearing(
    clearance, bearing, diameter
):
    """The slack of a bushing is spread over what touches the bit, not over the block.

    A tilted bar of the drill's width just goes through a slot of the bore's: by bisection.
    """

    def width_needed(tilt: float) -> float:
        return diameter / math.cos(tilt) + bearing * math.tan(tilt)

    low, high = 0.0, 0.5
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if width_needed(middle) < diameter + clearance else (low, middle)
    # The bar's slanting width takes a little of the clearance, so the formula is on the safe side.
    told = lean_over(clearance, bearing)
    assert told >= low - 1e-12
    assert told == pytest.approx(low, rel=0.06)


def test_the_parts_of_a_blocks_error():
    """Source: DERIVED, by hand; a foot's grit and saw are common practice."""
    parts = block.block_error(
        clearance=CLEARANCE, bearing=12.7, slack=0.05, length=12.7, base=14.0, cut=0.1
    )
    told = {name: math.degrees(part) for name, part in parts.items()}
    wanted = {"clearance": 0.11, "set in": 0.23, "stand": 0.20, "cut": 0.41}
    assert told == pytest.approx(wanted, abs=5e-3)
    assert math.degrees(root_of_squares(parts)) == pytest.approx(0.52, abs=5e-3)
    # With feet only 11 apart for the grit, as where their inner ends carry:
    parts["stand"] = lean_over(0.05, 11.0)
    total = root_of_squares(parts)
    assert math.degrees(parts["stand"]) == pytest.approx(0.26, abs=5e-3)
    assert math.degrees(total) == pytest.approx(0.55, abs=5e-3)
    drifts = [thick * math.tan(total) for thick in (3.6, 6, 10)]
    assert drifts == pytest.approx([0.034, 0.057, 0.095], abs=5e-4)


@pytest.mark.parametrize(
    ("slack", "over", "degrees"),
    [(0.05, 12.7, 0.23), (0.2, 12.7, 0.90), (0.3, 40, 0.43), (0.3, 14, 1.2)],
)
def test_what_slack_comes_to(slack, over, degrees):
    """A worn or glued bushing, and a wrap sawn 0.3 off over 40 and over 14: DERIVED."""
    digits = len(str(degrees).partition(".")[2])
    assert round(math.degrees(lean_over(slack, over)), digits) == degrees


def test_a_bushing_is_trusted_over_two_diameters_unless_it_was_measured():
    """Counterbored bushings lead over their last few mm alone."""
    assert block.bearing(12.7, NUMBER_40) == pytest.approx(2 * NUMBER_40)
    assert block.bearing(4.0, NUMBER_40) == 4.0
    assert block.bearing(12.7, NUMBER_40, 12.7) == 12.7


@given(st.floats(3.0, 13.0), st.floats(0.0, 44.0), st.floats(1.0, 7.0))
def test_a_bushings_high_side_clears_the_skin_or_is_ground(body, degrees, diameter):
    """A steel bushing scores the skin round every hole."""
    slope = math.tan(math.radians(degrees))
    gap, ground = block.chip_gap(body, slope, diameter)
    clear = gap - body / 2 * slope  # over the skin at the bushing's forward rim
    assert gap <= 1.5 * diameter + 1e-9
    assert (clear >= 0.5 - 1e-9) != ground


@given(st.floats(8.0, 20.0), st.floats(0.0, 6.0), st.floats(1.0, 6.0))
def test_as_many_layers_as_there_is_room_for(top, lowest, sheet):
    """One layer less and the bushing leans more than it need; one more and it scores the skin."""
    count = block.layers(top, lowest, sheet)
    assert top - count * sheet >= lowest - 1e-6
    assert top - (count + 1) * sheet < lowest
    assert block.layers(13.2, 4.2, 3.0) == 3


def test_what_index_pins_add_up_to():
    """Source: DERIVED: 0.03 a hole over 60 holes is 0.23 or 1.8."""
    found = block.index_error(60)
    assert found == pytest.approx((0.23, 1.8), abs=3e-3)
    draw = np.random.default_rng(3).normal(0.0, 0.03, (20_000, 60)).sum(axis=1)
    assert float(draw.std()) == pytest.approx(found[0], rel=0.02)


SOUND = {
    "slope": SLOPE, "line": 8.0, "depth": 16.0, "margin": 1.0, "drill": NUMBER_40, "body": 5.19,
    "length": 12.7, "gap": 0.76, "sheet": 3.0, "pitch": 26.0, "pin": 12.0,
}  # fmt: skip


def a_block(**changed: float) -> BlockSection:
    return block_section(**{**SOUND, **changed})


@pytest.mark.parametrize(
    ("changed", "room", "fault"),
    [
        ({}, 33.7, None),
        ({"depth": 12.0, "line": 6.0, "body": 6.37}, 33.7, "base"),
        ({"pitch": 14.5}, 33.7, "pitch"),
        ({}, 13.4, "drill too short"),
        ({"sheet": 6.0}, 33.7, "stands out"),
    ],
)
def test_what_forbids_a_block(changed, room, fault):
    """Each limit is named by what would mend it."""
    found = a_block(**changed).faults(room=room)
    assert found[:1] == (() if fault is None else (fault,))


def test_how_much_of_the_row_a_block_takes():
    """Clear of a fastener in the next hole by 1, and beyond the index pin for the tongue.

    Source: DERIVED, by hand: pin of 6 at a pitch of 20, and 18 at most.
    """
    assert block.beside(20.0, 6.0) == 16.0
    assert block.beside(40.0, 6.0) == 18.0
    found = a_block(pitch=26.0)
    assert found.foot == (-18.0, -15.0)
    assert found.slot == pytest.approx((26.0 - 1.2446 - 1.5, 26.0 + 1.2446 + 1.5))
    assert found.tongue == pytest.approx((26.0 + 2.7446 + 2.5, 26.0 + 2.7446 + 8.5))


@given(
    st.floats(-5.0, 44.0), st.floats(14.0, 40.0), st.floats(1.0, 5.0), st.floats(-2.0, 2.0),
    st.sampled_from([5.0, 5.19, 6.37, 8.0]),
)  # fmt: skip
def test_layers_and_ribs_clear_the_skin_everywhere(degrees, depth, sheet, lean, body):
    """A layer on the skin would hold the feet up, and the whole row would lean."""
    slope, along = (math.tan(math.radians(x)) for x in (degrees, lean))
    gap, _ = block.chip_gap(body, slope, NUMBER_40)
    found = a_block(slope=slope, along=along, depth=depth, sheet=sheet, body=body, gap=gap)
    if found.faults(room=math.inf):
        return
    for r in (*found.foot, *found.tongue):
        # Behind the trailing edge there is no skin.
        for u in np.linspace(max(found.back, -8.0), found.front, 30):
            assert found.low - (slope * u + along * r) >= 1.0 - 1e-9
        lift = found.lift(found.foot if r < 0 else found.tongue)
        pads = [found.base_at(u, lift) - slope * u - along * r for u in (found.aft, found.fore)]
        assert min(pads) >= -1e-9
    assert found.carried >= found.length / 2
    assert -8.0 + 1.0 - 1e-9 <= found.aft < 0.0 < found.fore <= depth - 8.0 - 1.0 + 1e-9


@pytest.mark.parametrize("degrees", [5.0, 12.0, 20.0, 30.0])
def test_no_other_base_and_number_of_layers_leans_less(degrees):
    """On a steep skin a long base would leave hardly a layer for the bushing: by trying all."""
    slope = math.tan(math.radians(degrees))
    gap, _ = block.chip_gap(5.19, slope, NUMBER_40)
    found = a_block(slope=slope, depth=40.0, sheet=2.0, gap=gap)

    def lean(count: int, fore: float) -> float:
        base = (fore + 7.0) / math.cos(math.radians(degrees))
        return math.hypot(0.05 / (2.0 * count), 0.05 / base, 0.15 / base)

    def clears(count: int, fore: float) -> bool:
        low = gap + 12.7 - 2.0 * count
        arch = 0.5 / math.cos(math.radians(degrees))
        return low >= slope * fore + arch + 1.5 and 2.0 * count >= 12.7 / 2

    tried = [
        lean(count, fore)
        for count in range(1, 7)
        for fore in np.linspace(5.6, 24.0, 400)
        if clears(count, fore)
    ]
    assert clears(found.count, found.fore - 1e-9)
    assert lean(found.count, found.fore) <= min(tried) * 1.001
