"""What the tests of the commands share: a job file on disk."""

from pathlib import Path

import pytest
from commandline import FLAP


@pytest.fixture
def flap(tmp_path: Path) -> Path:
    """Return a good job file on disk."""
    job = tmp_path / "flap.toml"
    job.write_text(FLAP, "utf-8")
    return job
