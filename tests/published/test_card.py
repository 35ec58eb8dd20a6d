import math

import pytest

from jiggen.facts.card import CARD_HEIGHT, CARD_WIDTH
from jiggen.geometry.distortion import Bar, estimate
from jiggen.geometry.leastsquares import standard_from_step


def test_a_bank_card_is_85_60_by_53_98_mm() -> None:
    """Source: ISO/IEC 7810, size ID-1, 85.60 x 53.98 mm. READ-2nd, as quoted on public pages."""
    assert (CARD_WIDTH, CARD_HEIGHT) == (85.60, 53.98)
    # The same pages give 3.370 x 2.125 in, rounded on their own.
    assert pytest.approx(3.370, abs=5e-4) == CARD_WIDTH / 25.4
    assert pytest.approx(2.125, abs=5e-4) == CARD_HEIGHT / 25.4


def test_a_card_laid_on_its_printed_frame_finds_a_page_fitted_to_another_paper() -> None:
    """Without a rule, a card frame that is 5 mm too small is seen at once.

    Source: size as above; 0.94 is A4 on Letter (trade sheet section 6). DERIVED.
    """
    half = standard_from_step(0.5)
    found = estimate(
        [
            Bar(vector=(CARD_WIDTH, 0.0), measured=0.9407 * 85.60, standard=half),
            Bar(vector=(0.0, CARD_HEIGHT), measured=0.9407 * 53.98, standard=half),
        ]
    )
    assert found.distortion.scale_x == pytest.approx(0.9407, abs=1e-9)
    # The rule's half millimetre, as a standard uncertainty over the card: the shrink is 35 of them.
    own = 0.5 / math.sqrt(12) / 85.60
    assert found.standards[0] == pytest.approx(own, rel=1e-6)
    assert (1.0 - found.distortion.scale_x) / found.standards[0] == pytest.approx(35.2, abs=0.1)
