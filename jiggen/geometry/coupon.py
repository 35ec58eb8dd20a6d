"""Kerf and the material's thickness from the readings of a cut coupon.

One cut is too narrow for a calliper. A row of loose bars, cut apart and pushed together, is shorter
than it was drawn by the sum of all the cuts: the calliper's error is divided by their number.
Slots in steps bracket the material's real thickness. Kerf is the full width of the slot.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from jiggen.geometry.leastsquares import WithDoubt, widening
from jiggen.units import INCH

BARS = 8
"""Loose bars in a row of the coupon: the calliper's error is divided by it."""

SLOT_LETTERED = 0.01
"""mm. A width that is nearer than this to a slot's lettering means it: 0.126 in is 3.2 mm."""


def kerf_from_fingers(drawn: float, measured: float, cuts: int, standard: float) -> WithDoubt:
    """Return the kerf from the length of all loose bars pushed together.

    Args:
        drawn: length over all of them, cut line to cut line, without kerf correction, mm; as the
            machine lays it out, where that is known to differ.
        measured: length over all of them after cutting, mm.
        cuts: cuts between and beside them; n bars cut out of a sheet have n of them, since each
            loses half a cut on either side.
        standard: standard uncertainty of what all cuts took, mm.

    Returns:
        The full width of one cut; what cuts could not have taken makes it zero.

    Raises:
        ValueError: fewer than one cut.

    Source: derived: a sum of equal cuts; example in a university workshop page (trade facts 6).
    """
    if cuts < 1:
        raise ValueError(f"kerf needs at least one cut, given {cuts}")
    return WithDoubt(value=max(drawn - measured, 0.0) / cuts, standard=standard / cuts)


def kerf_pooled(kerfs: Sequence[WithDoubt]) -> WithDoubt:
    """Return the kerf from several readings of it (at least one), along x and along y.

    Where they differ by more than their doubts allow, the uncertainty covers the difference.

    Source: derived: weighted mean; widened where the readings disagree.
    """
    weights = [1.0 / kerf.standard**2 for kerf in kerfs]
    value = sum(w * k.value for w, k in zip(weights, kerfs, strict=True)) / sum(weights)
    chi_square = sum(w * (k.value - value) ** 2 for w, k in zip(weights, kerfs, strict=True))
    wider = widening(chi_square, len(kerfs) - 1)
    return WithDoubt(value=value, standard=math.sqrt(wider / sum(weights)))


def sheet_from_slots(
    slots: Sequence[float], tightest_passed: float, kerf: WithDoubt, scale: float = 1.0
) -> WithDoubt:
    """Return the material's thickness from the narrowest slot that it enters.

    It is no thicker than that slot, which came out a kerf wider than drawn, and thicker than the
    next narrower one; in between every value is as likely.

    Args:
        slots: drawn widths, without kerf correction, mm.
        tightest_passed: the narrowest drawn width that it enters by hand, mm.
        kerf: of the same coupon.
        scale: of the machine along the stair, as a share of what was drawn.

    Returns:
        The middle of the bracket; its uncertainty covers the step and the kerf's own doubt.

    Raises:
        ValueError: it enters every slot, so that there is no bracket; or the width is not one of
            the slots.

    Source: derived: uniform distribution over a step, JCGM 100:2008 4.3.7 (from memory).
    """
    steps = sorted(slots)
    place = _slot_place(steps, tightest_passed)
    if place is None:
        raise ValueError(_no_such_slot(steps, tightest_passed))
    if place == 0:
        raise ValueError("the material enters even the narrowest slot: it is thinner than that")
    wide, narrow = scale * steps[place], scale * steps[place - 1]
    half = (wide - narrow) / 2.0
    return WithDoubt(
        value=(wide + narrow) / 2.0 + kerf.value,
        standard=math.hypot(half / math.sqrt(3.0), kerf.standard),
    )


def _slot_place(steps: Sequence[float], width: float) -> int | None:
    return next((i for i, s in enumerate(steps) if abs(s - width) < SLOT_LETTERED), None)


def _no_such_slot(steps: Sequence[float], given: float) -> str:
    """Say which slot may be meant.

    Lettering is in mm whatever the job counts in: no unit stands behind these numbers, since a
    sentence has its lengths turned into the job's unit.
    """
    inches = _slot_place(steps, given * INCH)
    if inches is not None:
        return f"slot is in mm, as it is lettered: write {steps[inches]:g} where {given:g} stands"
    said = ", ".join(f"{step:g}" for step in steps)
    return f"slot is in mm, as it is lettered: no slot is lettered {given:g}; they are {said}"
