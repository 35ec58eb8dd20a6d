"""What edge distances are counted in: the rivet's diameter, or the hole's where it is not known."""

from __future__ import annotations

from msgspec import Struct


class RivetSize(Struct, frozen=True, kw_only=True):
    """The diameter that edge distances are counted in.

    Attributes:
        rivet: diameter of the rivet, mm; None where it is not known.
        drill: diameter of its hole, mm, a little wider and so a little stricter; 0 without holes.
    """

    rivet: float | None = None
    drill: float = 0.0

    @property
    def one(self) -> float:
        """Return the diameter that counts, mm."""
        return self.drill if self.rivet is None else self.rivet

    @property
    def called(self) -> str:
        """Return what that diameter is, for people."""
        return "hole diameters" if self.rivet is None else "rivet diameters"
