"""How near a rivet may stand to an edge, for the job's own rivet.

Distances count in diameters of the rivet where the job states it, else of the hole, which is a
little wider and so a little stricter. A countersunk head wants more metal than a protruding one.
"""

from __future__ import annotations

from dataclasses import dataclass

from jiggen.facts import rules
from jiggen.geometry.rivet_size import RivetSize
from jiggen.job.sections import Job


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeRule(RivetSize):
    """The least edge distance, and what the rivet's form wants.

    Attributes:
        countersunk: whether the head is flush, or not known and so taken as flush.
    """

    countersunk: bool

    @property
    def least(self) -> float:
        """Return what no rivet may go below, in diameters."""
        return rules.EDGE_DISTANCE_MIN

    @property
    def usual(self) -> float:
        """Return what the form wants, in diameters; for a protruding head the least will do."""
        return rules.EDGE_DISTANCE_COUNTERSUNK if self.countersunk else rules.EDGE_DISTANCE_MIN

    @property
    def usual_source(self) -> str:
        """Return where `usual` comes from."""
        if self.countersunk:
            return rules.EDGE_DISTANCE_COUNTERSUNK_SOURCE
        return rules.EDGE_DISTANCE_SOURCE


def edge_rule(job: Job) -> EdgeRule:
    """Return the rule of edge distance for a job's rivet.

    Args:
        job: what was asked.

    Source: see `jiggen.facts.rules`.
    """
    return EdgeRule(
        rivet=None if job.rivet is None else job.rivet.diameter,
        drill=0.0 if job.holes is None else job.holes.drill,
        countersunk=job.rivet is None or job.rivet.form == "flush",
    )
