import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jiggen.errors import DrawingError
from jiggen.write.numbers import file_number


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (120.0, "120"),
        (0.1 + 0.2, "0.3"),
        (1e-7, "0"),
        (-1e-7, "0"),
        (-0.0, "0"),
        (1e15, "1000000000000000"),
        (1 / 3, "0.333333"),
        (100.0, "100"),
        (-2.5, "-2.5"),
    ],
)
def test_a_number_is_fixed_notation_without_loose_zeros(value: float, text: str) -> None:
    """Some cutters stop at an exponent, and "-0" makes two equal corners look unequal."""
    assert file_number(value) == text


def test_a_whole_number_without_decimals_keeps_its_zeros() -> None:
    """A sheet of 200 mm must not become one of 2 mm."""
    assert file_number(200.0, 0) == "200"


@given(st.floats(-1e6, 1e6))
def test_a_number_read_back_is_within_half_a_nanometre(value: float) -> None:
    """The only rounding on the way to the machine is smaller than anything it can follow."""
    text = file_number(value)
    assert abs(float(text) - value) <= 0.5000001e-6
    assert "e" not in text
    assert text != "-0"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_number_that_is_none_is_refused(value: float) -> None:
    """A drawing with NaN in it opens in some programs with the corner left out."""
    with pytest.raises(DrawingError, match="cannot hold the number"):
        file_number(value)
