"""What the tests of proof share: a job, jigs of their own, and drawings of it in a folder."""

from pathlib import Path

import pytest
from commandline import FLAP
from measuring import Bench

#: The modules of the jigs that these tests draw.
JIGS = ("jig_like_a_guide", "jiggen.jigs.gauge", "jig_like_a_strip", "jig_like_a_coupon")

#: A short job with one guide a side, in mm.
ONE_A_SIDE = FLAP.replace("5.5, 2.6", "7.4, 2.9")


@pytest.fixture(autouse=True)
def _jigs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("jiggen.jigs.plan.JIGS", JIGS)


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """Return a job on disk with its drawings: pages and beds."""
    bench = Bench(folder=tmp_path, job=ONE_A_SIDE)
    bench.make()
    return bench
