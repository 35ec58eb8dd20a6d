"""Kerf and sheet thickness from the readings of a cut coupon.

One cut is too narrow for a calliper. A row of fingers, cut apart and pushed together, is shorter
than it was drawn by the sum of all the cuts: the calliper's error is divided by their number.
Slots in steps bracket the sheet's real thickness. Kerf is the full width of the slot.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

MM_PER_INCH = 25.4
"""Exactly, by the international inch of 1959."""

BARS = 8
"""Loose bars in a row of the coupon: the calliper's error is divided by it."""

KERF_MOST = 3.5
"""mm. A wider slot leaves no bar of the coupon standing; common practice, no published source."""

SLOT_LETTERED = 0.01
"""mm. A width that is nearer than this to a slot's lettering means it: 0.126 in is 3.2 mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A size found from a coupon.

    Attributes:
        value: mm.
        standard: standard uncertainty, mm.
    """

    value: float
    standard: float


def kerf_from_gap(gap: float, cuts: int, standard: float) -> Found:
    """Return the kerf from the gap that opens when the fingers are pushed to one side.

    Args:
        gap: between the last finger and the frame, mm.
        cuts: how many cuts the gap gathers; n fingers in a frame have n + 1.
        standard: standard uncertainty of the gap, mm.

    Returns:
        The full width of one cut, and its uncertainty, both divided by the number of cuts.

    Raises:
        ValueError: fewer than one cut, or a gap below zero.

    Source: derived: a sum of equal cuts; example in a university workshop page (trade facts 6).
    """
    if cuts < 1:
        raise ValueError(f"kerf needs at least one cut, given {cuts}")
    if not (gap >= 0.0 and standard > 0.0):
        raise ValueError(f"the gap cannot be negative nor exact, given {gap} and {standard}")
    return Found(value=gap / cuts, standard=standard / cuts)


def kerf_from_fingers(drawn: float, measured: float, cuts: int, standard: float) -> Found:
    """Return the kerf from the length of all fingers pushed together.

    Args:
        drawn: length over all fingers on the drawing, cut line to cut line, without kerf
            correction, mm; as the machine lays it out, where that is known to differ.
        measured: length over all fingers after cutting, mm.
        cuts: cuts between and beside the fingers; n fingers cut out of a sheet have n of them,
            since each loses half a cut on either side.
        standard: standard uncertainty of what all cuts took, mm.

    Returns:
        The full width of one cut.

    Raises:
        ValueError: fewer than one cut, fingers longer than drawn by more than the doubt, or so
            much shorter that some were left out.

    Source: derived: a sum of equal cuts.
    """
    lost = drawn - measured
    if lost < -4.0 * standard:
        raise ValueError(
            f"the fingers measure {measured:.2f} mm, more than the {drawn:.2f} mm drawn: "
            f"is it the right row, and was the file cut without kerf correction?"
        )
    if lost / cuts > KERF_MOST:
        raise ValueError(
            f"the row measures {measured:.2f} mm where {drawn:.2f} mm were drawn, which would be a "
            f"slot of {lost / cuts:.2f} mm: were all {cuts} bars pushed together?"
        )
    return kerf_from_gap(max(lost, 0.0), cuts, standard)


def kerf_pooled(kerfs: Sequence[Found]) -> Found:
    """Return the kerf from several readings of it, along x and along y or from two coupons.

    Where they differ by more than their doubts allow, the uncertainty covers the difference.

    Args:
        kerfs: at least one.

    Returns:
        The mean weighed by the doubts.

    Raises:
        ValueError: no kerf was given.

    Source: derived: weighted mean; widened where the readings disagree.
    """
    if not kerfs:
        raise ValueError("no kerf was measured")
    weights = [1.0 / kerf.standard**2 for kerf in kerfs]
    value = sum(w * k.value for w, k in zip(weights, kerfs, strict=True)) / sum(weights)
    chi_square = sum(w * (k.value - value) ** 2 for w, k in zip(weights, kerfs, strict=True))
    widening = max(1.0, chi_square / (len(kerfs) - 1)) if len(kerfs) > 1 else 1.0
    return Found(value=value, standard=math.sqrt(widening / sum(weights)))


def slot_as_cut(drawn: float, kerf: float) -> float:
    """Return how wide a slot comes out that was drawn without kerf correction.

    Args:
        drawn: between the two cut lines, mm.
        kerf: full width of the cut, mm.

    Returns:
        mm: half a cut wider on each side.

    Source: derived: trade facts table A, row 38, the hole of a 40 mm square.
    """
    return drawn + kerf


def sheet_from_slots(
    slots: Sequence[float], tightest_passed: float | None, kerf: Found, scale: float = 1.0
) -> Found:
    """Return the sheet's thickness from the narrowest slot that it enters.

    The sheet is no thicker than that slot, and thicker than the next narrower one; in between
    every value is as likely.

    Args:
        slots: drawn widths, without kerf correction, mm.
        tightest_passed: the narrowest drawn width that the sheet enters by hand, mm; None if
            it enters none.
        kerf: of the same coupon.
        scale: of the machine along the stair, as a share of what was drawn.

    Returns:
        The middle of the bracket; its uncertainty covers the step and the kerf's own doubt.

    Raises:
        ValueError: the sheet enters every slot or none, so that there is no bracket; or the
            width is not one of the slots.

    Source: derived: uniform distribution over a step, JCGM 100:2008 4.3.7 (from memory).
    """
    steps = sorted(slots)
    if tightest_passed is None:
        raise ValueError("the sheet enters no slot: it is thicker than the widest one")
    place = _slot_place(steps, tightest_passed)
    if place is None:
        raise ValueError(_no_such_slot(steps, tightest_passed))
    if place == 0:
        raise ValueError("the sheet enters even the narrowest slot: it is thinner than that")
    wide, narrow = scale * steps[place], scale * steps[place - 1]
    half = (wide - narrow) / 2.0
    return Found(
        value=slot_as_cut((wide + narrow) / 2.0, kerf.value),
        standard=math.hypot(half / math.sqrt(3.0), kerf.standard),
    )


def _slot_place(steps: Sequence[float], width: float) -> int | None:
    return next((i for i, s in enumerate(steps) if abs(s - width) < SLOT_LETTERED), None)


def _no_such_slot(steps: Sequence[float], given: float) -> str:
    """Say which slot may be meant.

    Lettering is in mm whatever the job counts in: no unit stands behind these numbers, since a
    sentence has its lengths turned into the job's unit.
    """
    inches = _slot_place(steps, given * MM_PER_INCH)
    if inches is not None:
        return f"slot is in mm, as it is lettered: write {steps[inches]:g} where {given:g} stands"
    said = ", ".join(f"{step:g}" for step in steps)
    return f"slot is in mm, as it is lettered: no slot is lettered {given:g}; they are {said}"
