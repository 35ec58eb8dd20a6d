import pytest

from jiggen.geometry.coupon import kerf_from_fingers, kerf_pooled, sheet_from_slots
from jiggen.geometry.leastsquares import WithDoubt

SLOTS = [2.6, 2.7, 2.8, 2.9, 3.0]


def test_the_callipers_error_is_divided_by_the_number_of_cuts() -> None:
    """One cut is narrower than a calliper's error; that is why the coupon has a row of them."""
    found = kerf_from_fingers(66.0, 66.0 - 1.65, 11, 0.0144)
    assert found.value == pytest.approx(0.15)
    assert found.standard == pytest.approx(0.0144 / 11)


@pytest.mark.parametrize("kerf", [0.08, 0.15, 0.23])
def test_fingers_pushed_together_are_short_by_all_the_cuts(kerf: float) -> None:
    """A count that is off by one puts ten per cent on the kerf."""
    fingers, width = 10, 6.0
    # Ten fingers drawn edge to edge; the beam takes half a kerf from either side of each.
    measured = sum(width - kerf / 2 - kerf / 2 for _ in range(fingers))
    found = kerf_from_fingers(fingers * width, measured, fingers, 0.0144)
    assert found.value == pytest.approx(kerf, abs=1e-12)


def test_kerfs_that_differ_by_axis_widen_the_doubt_of_their_mean() -> None:
    """Many machines cut wider along one axis; a mean with a tiny doubt would hide that."""

    def pooled(*kerfs: float) -> WithDoubt:
        return kerf_pooled([WithDoubt(value=kerf, standard=0.002) for kerf in kerfs])

    alike = kerf_pooled(
        [WithDoubt(value=0.15, standard=0.002), WithDoubt(value=0.151, standard=0.002)]
    )
    apart = kerf_pooled(
        [WithDoubt(value=0.12, standard=0.002), WithDoubt(value=0.18, standard=0.002)]
    )
    assert alike.standard == pytest.approx(0.002 / 2**0.5)
    assert apart.value == pytest.approx(0.15)
    assert apart.standard > 0.02


@pytest.mark.parametrize("sheet", [2.83, 2.9, 2.99, 3.04])
@pytest.mark.parametrize("kerf", [0.08, 0.15])
def test_the_sheet_lies_inside_the_bracket_of_its_slots(sheet: float, kerf: float) -> None:
    """A slot that is as drawn on paper is a kerf wider in the sheet."""
    enters = [s for s in SLOTS if s + kerf >= sheet]
    found = sheet_from_slots(SLOTS, min(enters), WithDoubt(value=kerf, standard=1e-4))
    assert abs(found.value - sheet) <= 0.05 + 1e-9
    assert found.standard == pytest.approx(0.05 / 3**0.5, rel=1e-3)


def test_a_sheet_outside_the_row_of_slots_is_not_guessed() -> None:
    """Below the narrowest slot there is no bracket."""
    kerf = WithDoubt(value=0.15, standard=0.002)
    with pytest.raises(ValueError, match="thinner"):
        sheet_from_slots(SLOTS, 2.6, kerf)
    with pytest.raises(ValueError, match=r"2\.65"):
        sheet_from_slots(SLOTS, 2.65, kerf)


def test_a_kerf_from_no_cut_is_refused() -> None:
    """No cut, no kerf."""
    with pytest.raises(ValueError, match="kerf"):
        kerf_from_fingers(1.0, 1.0, 0, 0.01)
