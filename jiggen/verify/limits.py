"""What is allowed, and the checks that a piece on a sheet must pass.

Each check is an error with its doubt against its limit; a verdict is the worst of them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from jiggen.geometry.distortion import Estimate, corner, printed_angle, printed_length
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.verify.placed import PlacedPiece

USE, DO_NOT_USE, CANNOT_TELL = "use", "do not use", "cannot tell"

DEFAULT_ALLOWED_ANGLE = math.radians(0.5)
"""Angle error allowed where the piece's record does not say: the step of a workshop protractor."""

DEFAULT_ALLOWED_LENGTH: Mapping[str, float] = {
    "block": 0.2,
    "wrap": 0.3,
    "strip": 0.25,
    "trim": 0.25,
    "foot": 1.0,
    "cradle": 0.3,
}
"""mm by kind, for pieces whose length counts: a hole of a strip must stay inside the punched
hole's edge, a block must take its bushing; a foot only has to stand. Common practice, no
published source."""

OTHER_ALLOWED_LENGTH = 0.25
"""mm, for a piece without check angles whose kind is not listed."""


def worst_of(verdicts: Sequence[str]) -> str:
    """Return the verdict on a whole: one bad piece condemns it, one doubtful one leaves doubt."""
    for word in (DO_NOT_USE, CANNOT_TELL):
        if word in verdicts:
            return word
    return USE if verdicts else CANNOT_TELL


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What is allowed for the pieces of a sheet.

    Attributes:
        by_name: largest angle error by piece name, radians.
        by_kind: largest length error by kind, mm.
    """

    by_name: Mapping[str, float] = field(default_factory=dict)
    by_kind: Mapping[str, float] = field(default_factory=dict)

    def angle(self, piece: PlacedPiece) -> float:
        """Return the largest angle error, radians."""
        own = DEFAULT_ALLOWED_ANGLE if piece.allowed_angle is None else piece.allowed_angle
        return self.by_name.get(piece.name, own)

    def length(self, piece: PlacedPiece) -> float | None:
        """Return the largest length error, mm; None for a piece whose length does not count."""
        if piece.kind in self.by_kind:
            return self.by_kind[piece.kind]
        if piece.angles and piece.kind not in DEFAULT_ALLOWED_LENGTH:
            return None
        if piece.allowed_length is not None:
            return piece.allowed_length
        return DEFAULT_ALLOWED_LENGTH.get(piece.kind, OTHER_ALLOWED_LENGTH)


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One thing about a piece that must hold: an error with its doubt against its limit.

    Attributes:
        what: ``angle``, ``angle forward`` or the name of a check dimension.
        nominal: as drawn, radians or mm.
        error: as it came out less nominal.
        doubt: about 95 %, same unit.
        limit: largest error allowed.
    """

    what: str
    nominal: float
    error: float
    doubt: float
    limit: float

    @property
    def verdict(self) -> str:
        """Return whether the error is inside its limit, outside, or cannot be told."""
        if abs(self.error) + self.doubt <= self.limit:
            return USE
        return DO_NOT_USE if abs(self.error) - self.doubt > self.limit else CANNOT_TELL


def angle_checks(piece: PlacedPiece, found: Estimate, limits: Limits) -> list[Check]:
    """Return each check angle of a piece as it came out on its sheet.

    Args:
        piece: as it lies on the sheet.
        found: what was done to the sheet.
        limits: what is allowed.

    Returns:
        One check an angle, radians.
    """
    checks = []
    for angle in piece.angles:
        base, working = (_vector(edge) for edge in (angle.base, angle.working))
        there = printed_angle(found, base, working)
        drawn = corner(base, working)
        checks.append(
            Check(
                what=f"angle {angle.name}" if len(piece.angles) > 1 else "angle",
                nominal=angle.nominal,
                error=there.value - drawn,
                doubt=COVERAGE * there.standard,
                limit=limits.angle(piece),
            )
        )
    return checks


def length_checks(piece: PlacedPiece, found: Estimate, limit: float | None) -> list[Check]:
    """Return each check dimension of a piece (its bars where it has none) as it came out.

    Args:
        piece: as it lies on the sheet.
        found: what was done to the sheet.
        limit: largest error, mm; None where lengths do not count.

    Returns:
        One check a dimension, mm.
    """
    sizes = [n for n in piece.lengths if not n.is_bar] or list(piece.lengths)
    checks = []
    for size in sizes:
        there = printed_length(found, size.vector)
        share = size.nominal / math.hypot(*size.vector)
        checks.append(
            Check(
                what=size.name,
                nominal=size.nominal,
                error=there.value * share - size.nominal,
                doubt=COVERAGE * there.standard * share,
                limit=math.inf if limit is None else limit,
            )
        )
    return checks


def _vector(edge: tuple[tuple[float, float], tuple[float, float]]) -> tuple[float, float]:
    return (edge[1][0] - edge[0][0], edge[1][1] - edge[0][1])


def decided(piece: PlacedPiece, found: Estimate, limits: Limits) -> bool:
    """Return whether a verdict would be reached with readings of this quality.

    Args:
        piece: as it lies on the sheet.
        found: what readings of that quality would say.
        limits: what is allowed.

    Returns:
        True for ``use`` or ``do not use``.
    """
    limit = limits.length(piece)
    checks = angle_checks(piece, found, limits)
    checks += length_checks(piece, found, limit) if limit is not None else []
    verdict = worst_of([check.verdict for check in checks])
    return verdict == DO_NOT_USE or (verdict == USE and all(found.scales_measured))
