"""The reader of lengths and angles against pint, a general-purpose units library."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jiggen.units import SHORTEST, read_angle, read_length, read_rate

PINT = pint.UnitRegistry()
PLAIN = st.decimals(min_value=0, max_value=300, places=4, allow_nan=False, allow_infinity=False)
UNITS = {"mm": "mm", "cm": "cm", "m": "m", "um": "um", "in": "inch", '"': "inch", "ft": "foot"}
SHARES = st.tuples(st.integers(0, 20), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))


@given(number=PLAIN.filter(lambda number: number < 100), unit=st.sampled_from(sorted(UNITS)))
def test_lengths_agree_with_pint(number, unit):
    """An independent library turns the same text into the same millimetres."""
    expected = PINT.Quantity(float(number), UNITS[unit]).to("mm").magnitude
    expected = expected if expected >= SHORTEST else 0.0
    assert read_length(f"{number:f} {unit}") == pytest.approx(expected, rel=1e-12, abs=1e-12)


@given(shares=SHARES)
def test_fractions_of_an_inch_agree_with_pint(shares):
    """A mixed fraction is the whole plus the fraction, not their product nor 11/4."""
    whole, top, bottom = shares
    expected = PINT.Quantity(whole + top / bottom, "inch").to("mm").magnitude
    assert read_length(f"{whole} {top}/{bottom} in") == pytest.approx(expected, abs=1e-12)


@given(degrees=st.integers(0, 89), minutes=st.integers(0, 59), seconds=st.integers(0, 59))
def test_degrees_minutes_and_seconds_agree_with_pint(degrees, minutes, seconds):
    """Source of the units: pint's arcminute and arcsecond."""
    expected = (
        PINT.Quantity(degrees, "degree")
        + PINT.Quantity(minutes, "arcminute")
        + PINT.Quantity(seconds, "arcsecond")
    )
    read = read_angle(f"{degrees} deg {minutes} min {seconds} sec")
    assert read == pytest.approx(expected.to("radian").magnitude, abs=1e-12)


@given(rise=PLAIN, run=PLAIN.filter(lambda number: 0 < number < 100))
def test_rates_agree_with_pint(rise, run):
    """Inches per foot, the usual unit of a taper in American books."""
    expected = PINT.Quantity(float(rise), "inch") / PINT.Quantity(float(run), "foot")
    read = read_rate(f"{rise:f} in per {run:f} ft")
    assert read == pytest.approx(expected.to("dimensionless").magnitude, rel=1e-12, abs=1e-15)
