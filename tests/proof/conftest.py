"""What the tests of proof share: a job, and drawings of it in a folder."""

from pathlib import Path

import pytest
from commandline import FLAP
from measuring import Bench

#: A short job with one guide a side, in mm.
ONE_A_SIDE = FLAP.replace("5.5, 2.6", "7.4, 2.9")


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """Return a job on disk with its drawings: pages and beds."""
    bench = Bench(folder=tmp_path, job=ONE_A_SIDE)
    bench.make()
    return bench
