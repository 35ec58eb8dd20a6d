"""What the tests of the page share: a folder with a job, a bench, one that listens, a browser."""

import re
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browsing import CHROMIUM, DESK, QUIET, SHOTS, WAIT
from commandline import PROJECT, said
from readings_taken import HOME

from jiggen.page.answers import Bench
from jiggen.page.serve import Server


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return a job file in a folder of its own."""
    folder = tmp_path / "shop"
    folder.mkdir()
    return Path(shutil.copy(PROJECT / "templates" / "prismatic.toml", folder / "trial.toml"))


@pytest.fixture(scope="session")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a job and its drawings; nobody writes there."""
    folder = tmp_path_factory.mktemp("drawn")
    shutil.copy(PROJECT / "samples" / "split-flap" / "job.toml", folder / "trial.toml")
    assert said("make", folder / "trial.toml", "--out", folder / HOME).status == 0
    return folder


@pytest.fixture
def bench(job: Path) -> Bench:
    """Return a bench with the job open."""
    return Bench(job.parent, job)


@pytest.fixture
def server(bench: Bench) -> Iterator[Server]:
    """Return a bench that listens; it ends with the test."""
    listening = Server(lambda: bench)
    thread = threading.Thread(target=listening.run, daemon=True)
    thread.start()
    yield listening
    listening.stop()
    thread.join(10.0)
    assert not thread.is_alive()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """Return the browser."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture
def page(chromium: Any, server: Server, request: pytest.FixtureRequest) -> Iterator[Any]:
    """Return the first page, at the size of a small laptop; `param` changes the window."""
    size = getattr(request, "param", {"viewport": DESK})
    width, height = size["viewport"]
    window = chromium.new_context(**{**size, "viewport": {"width": width, "height": height}})
    tab = window.new_page()
    tab.set_default_timeout(WAIT)
    troubles: list[str] = []
    asked: list[str] = []
    tab.on("pageerror", lambda error: troubles.append(str(error)))
    tab.on("console", lambda line: troubles.append(line.text) if line.type == "error" else None)
    tab.on("request", lambda one: asked.append(one.url))
    tab.troubles = troubles
    tab.goto(server.address)
    failed = request.session.testsfailed
    yield tab
    if request.session.testsfailed > failed:
        SHOTS.mkdir(parents=True, exist_ok=True)
        name = re.sub(r"[^\w-]+", "-", request.node.name)
        tab.screenshot(path=SHOTS / f"{name}.png", full_page=True)
    window.close()
    odd = [line for line in troubles if "409" not in line and "400" not in line]
    assert odd == []
    assert {url.split("/")[2] for url in asked} == {server.guard.host}
