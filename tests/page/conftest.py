"""What the tests of the page share: a folder with a job, a bench, and a bench that listens."""

import shutil
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from commandline import PROJECT

from jiggen.page.answers import Bench
from jiggen.page.serve import Server


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return a job file in a folder of its own."""
    folder = tmp_path / "shop"
    folder.mkdir()
    return Path(shutil.copy(PROJECT / "templates" / "prismatic.toml", folder / "trial.toml"))


@pytest.fixture
def bench(job: Path) -> Bench:
    """Return a bench with the job open."""
    return Bench(job.parent, job)


@pytest.fixture
def server(bench: Bench) -> Iterator[Server]:
    """Return a bench that listens; it ends with the test."""
    listening = Server(bench)
    thread = threading.Thread(target=listening.run, daemon=True)
    thread.start()
    yield listening
    listening.stop()
    thread.join(10.0)
    assert not thread.is_alive()
