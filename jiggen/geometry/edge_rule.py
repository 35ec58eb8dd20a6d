"""How near to an edge a rivet may stand, and what that is counted in.

Distances count in diameters of the rivet, or of its hole where the rivet is not known.
"""

from __future__ import annotations

from msgspec import Struct


class EdgeRule(Struct, frozen=True, kw_only=True):
    """The least edge distance of a rivet, and what its form wants."""

    rivet: float | None = None  # diameter of the rivet, mm; None where it is not known
    # diameter of its hole, mm, a little wider and so a little stricter; 0 without holes
    drill: float = 0.0
    least: float = 2.0  # edge distance that no hole may go below, in diameters
    # what the rivet's form wants, in diameters; for a protruding head the least will do
    usual: float = 2.5

    @property
    def one(self) -> float:
        """Return the diameter that counts, mm."""
        return self.drill if self.rivet is None else self.rivet

    @property
    def called(self) -> str:
        """Return what that diameter is, for people."""
        return "hole diameters" if self.rivet is None else "rivet diameters"

    @property
    def least_edge(self) -> float:
        """Return the least distance from a rivet's middle to an edge, mm."""
        return self.least * self.one

    @property
    def usual_edge(self) -> float:
        """Return the distance from its middle to an edge that the rivet's form wants, mm."""
        return self.usual * self.one
